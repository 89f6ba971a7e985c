//! Unrolling whole tops.

use std::time::{Duration, Instant};

use crate::{row, tops};

/// How long each top is unrolled over and over.
const LOOKED_AT: Duration = Duration::from_millis(300);

pub(crate) fn rows() -> Vec<Vec<String>> {
    let of = |(name, bar, spec): (&str, &str, stripwright_pattern::TopSpec)| {
        tops::whole(&spec);
        let (begun, mut times) = (Instant::now(), Vec::new());
        while begun.elapsed() < LOOKED_AT {
            let one = Instant::now();
            std::hint::black_box(tops::whole(std::hint::black_box(&spec)));
            times.push(one.elapsed().as_secs_f64());
        }
        let (median, worst) = crate::spread(times);
        let found = format!("{:.2} ms, worst {:.2} ms", median * 1000.0, worst * 1000.0);
        row![format!("unroll {name}"), bar, found]
    };
    tops::unrolled().into_iter().map(of).collect()
}
