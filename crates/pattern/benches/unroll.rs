//! Unrolling whole tops: `cargo bench -p stripwright-pattern`.
//!
//! Bars: any fixture top under 5 ms, a 1.2 m round top of 12 mm strips under 50 ms.

#[path = "../tests/common/mod.rs"]
mod common;

fn main() {
    divan::main();
}

#[divan::bench(args = common::unrolled().into_iter().map(|(name, ..)| name))]
fn unroll(bencher: divan::Bencher, name: &str) {
    let tops = common::unrolled();
    let (.., spec) = tops.iter().find(|(own, ..)| *own == name).expect("one of these");
    bencher.bench(|| common::whole(spec));
}
