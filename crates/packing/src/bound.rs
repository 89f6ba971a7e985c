//! From float prices to a bound that is exact.
//!
//! Prices become whole numbers by rounding down. Every sheet is priced again in whole numbers: where its best layout
//! is worth more than it costs, a limited sheet gets the difference as its `mu`, and for the others all prices are
//! scaled down by the worst ratio. What is left is exact, and the bound is the worth of the demand.

use crate::certificate::{Certificate, Leaf};
use crate::master::{DEAREST, Prices};
use crate::normalise::Job;
use crate::pricing::Table;

/// Whole-number prices are minor units of money times a scale that makes the dearest sheet cost about this: twelve
/// digits, so that rounding prices down loses nothing that a sum of sheet prices could notice, and a sheet's worth,
/// which is a sum of at most some thousand prices, stays far inside an `i64`.
const WHOLE_DEAREST: i64 = 1_000_000_000_000;

/// A bound, exact.
#[derive(Clone, Debug)]
pub(crate) struct Bound {
    /// Minor units of money, rounded up: no plan costs less.
    pub(crate) money: i64,
    /// What proves it.
    pub(crate) certificate: Certificate,
}

/// Makes prices whole and exact. Any prices give a valid bound; good ones give a good bound.
pub(crate) fn exact(job: &Job, pieces: usize, tables: &[Table], prices: &Prices, work: &mut u64) -> Bound {
    let dearest = job.sheets.iter().map(|s| s.price).max().unwrap_or(0).max(1);
    let scale = (WHOLE_DEAREST / dearest).max(1);
    let to_whole = (scale as f64) * (dearest as f64) / DEAREST;
    let whole = |p: f64| (p.max(0.0) * to_whole).min(1e15) as i64;
    let mut sizes: Vec<i64> = prices.sizes.iter().map(|&p| whole(p)).collect();
    // A free sheet without limit makes all that fits it worthless.
    for (size, price) in sizes.iter_mut().enumerate() {
        let free = |sheet: usize| {
            job.sheets[sheet].price == 0
                && job.sheets[sheet].limit.is_none()
                && job.lies(size).any(|lie| job.may_lie(sheet, lie))
        };
        if (0..job.sheets.len()).any(free) {
            *price = 0;
        }
    }
    let mut upper = vec![0; job.sheets.len()];
    // Scaling down by a ratio is exact up to rounding down, which only helps: one round is enough, the second
    // computes the `mu` of the scaled prices.
    for _ in 0..2 {
        let best = best_worth(job, tables, &sizes, work);
        let (mut top, mut bottom) = (1i128, 1i128);
        for (sheet, &worth) in best.iter().enumerate() {
            let cost = job.sheets[sheet].price * scale;
            if job.sheets[sheet].limit.is_some() {
                upper[sheet] = (worth - cost).max(0);
            } else if i128::from(cost) * bottom < i128::from(worth) * top {
                (top, bottom) = (i128::from(cost), i128::from(worth));
            }
        }
        if top == bottom {
            break;
        }
        for price in &mut sizes {
            *price = (i128::from(*price) * top / bottom) as i64;
        }
    }
    let mut covers: Vec<i64> = prices.covers.iter().map(|&p| whole(p)).collect();
    let (mut top, mut bottom) = (1i128, 1i128);
    for make in &job.makes {
        let uses: i128 = make.uses.iter().map(|&(s, n)| i128::from(sizes[s]) * i128::from(n)).sum();
        let yields: i128 = make.yields.iter().map(|&(c, n)| i128::from(covers[c]) * i128::from(n)).sum();
        if uses * bottom < yields * top {
            (top, bottom) = (uses, yields);
        }
    }
    covers.iter_mut().for_each(|price| *price = (i128::from(*price) * top / bottom.max(1)) as i64);
    let worth: i128 =
        job.sizes.iter().zip(&sizes).map(|(s, &p)| i128::from(s.count) * i128::from(p)).sum::<i128>()
            + job.covers.iter().zip(&covers).map(|(&c, &p)| i128::from(c) * i128::from(p)).sum::<i128>()
            - job
                .sheets
                .iter()
                .zip(&upper)
                .map(|(s, &mu)| i128::from(s.limit.unwrap_or(0)) * i128::from(mu))
                .sum::<i128>();
    let money = if worth <= 0 { 0 } else { (worth + i128::from(scale) - 1) / i128::from(scale) };
    let by_piece = |piece: usize| job.size_of[piece].map_or(0, |size| sizes[size]);
    let leaf = Leaf {
        branches: Vec::new(),
        pieces: (0..pieces).map(by_piece).collect(),
        covers,
        upper,
        lower: vec![0; job.sheets.len()],
    };
    let certificate = Certificate { scale, proper: true, leaves: vec![leaf] };
    Bound { money: i64::try_from(money).unwrap_or(i64::MAX), certificate }
}

/// The most that one layout of each sheet is worth, exactly.
pub(crate) fn best_worth(job: &Job, tables: &[Table], sizes: &[i64], work: &mut u64) -> Vec<i64> {
    let need: Vec<i64> = job.sizes.iter().map(|s| s.need).collect();
    let mut best = vec![0; job.sheets.len()];
    for table in tables {
        for found in table.price::<i64>(sizes, &need, 1, true, work) {
            best[found.stock] = best[found.stock].max(found.worth);
        }
    }
    best
}

/// The smallest sum of sheet prices, within the limits, that is not below `money`. Gives up (and returns `money`)
/// past a table of [`MOST_SUMS`] sums.
pub(crate) fn raise(job: &Job, money: i64, at_most: i64) -> i64 {
    /// Sums of up to four prices around a bound are some thousands; this many take milliseconds.
    const MOST_SUMS: usize = 1 << 20;
    let prices: Vec<(i64, i64)> = job
        .sheets
        .iter()
        .filter(|s| s.price > 0 && s.limit != Some(0))
        .map(|s| (s.price, s.limit.unwrap_or(i64::MAX)))
        .collect();
    let dearest = prices.iter().map(|p| p.0).max().unwrap_or(0);
    let limit = at_most.min(money.saturating_add(dearest));
    match crate::knapsack::reachable(&prices, limit.max(0), MOST_SUMS) {
        Some(sums) => sums.into_iter().find(|&s| s >= money).unwrap_or(at_most).max(money),
        None => money,
    }
}
