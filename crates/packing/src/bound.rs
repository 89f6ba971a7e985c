//! From float prices to a bound that is exact.
//!
//! Prices become whole numbers by rounding down. Every sheet is priced again in whole numbers: where its best layout
//! is worth more than it costs, a limited sheet gets the difference as its `mu`, and for the others all prices are
//! scaled down by the worst ratio. What is left is exact, and the bound is the worth of the demand.

use crate::budget::Search;
use crate::certificate::{Branch, Leaf};
use crate::master::{DEAREST, Prices};
use crate::normalise::Job;
use crate::pricing::{Aim, Table, gcd};

/// Whole-number prices are minor units of money times a scale that makes the dearest sheet cost about this: twelve
/// digits, so that rounding prices down loses nothing that a sum of sheet prices could notice, and a sheet's worth,
/// which is a sum of at most some thousand prices, stays far inside an `i64`.
const WHOLE_DEAREST: i64 = 1_000_000_000_000;

/// How many sheets of each kind may be bought: from `least` to `most`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Range {
    pub(crate) least: i64,
    /// `None` is any number.
    pub(crate) most: Option<i64>,
}

/// A box of purchases.
pub(crate) type Box = Vec<Range>;

/// Every purchase within the sheets' limits.
pub(crate) fn everything(job: &Job) -> Box {
    job.sheets.iter().map(|s| Range { least: 0, most: s.limit }).collect()
}

/// Prices of a leaf, exact, and what they show.
#[derive(Clone, Debug)]
pub(crate) struct Proof {
    /// Minor units of money, raised to a sum of sheet prices in the box: no purchase in the box costs less and does.
    /// `None` when no purchase in the box does at all.
    pub(crate) money: Option<i64>,
    sizes: Vec<i64>,
    covers: Vec<i64>,
    upper: Vec<i64>,
    lower: Vec<i64>,
}

/// Prices are whole numbers of money divided by this.
pub(crate) fn scale(job: &Job) -> i64 {
    (WHOLE_DEAREST / job.sheets.iter().map(|s| s.price).max().unwrap_or(0).max(1)).max(1)
}

/// Makes prices whole and exact within a box. Any prices give a valid bound; good ones give a good bound, and
/// `slack` ten-thousandths of it may be given up for speed.
pub(crate) fn exact(
    job: &Job,
    tables: &[Table],
    prices: &Prices,
    within: &Box,
    slack: i64,
    search: &mut Search,
) -> Proof {
    let dearest = job.sheets.iter().map(|s| s.price).max().unwrap_or(0).max(1);
    let scale = scale(job);
    let to_whole = (scale as f64) * (dearest as f64) / DEAREST;
    let whole = |p: f64| (p.max(0.0) * to_whole).min(1e15) as i64;
    let mut sizes: Vec<i64> = prices.sizes.iter().map(|&p| whole(p)).collect();
    // A free sheet without limit makes all that fits it worthless.
    for (size, price) in sizes.iter_mut().enumerate() {
        let free = |sheet: usize| {
            job.sheets[sheet].price == 0
                && within[sheet].most.is_none()
                && job.lies(size).any(|lie| job.may_lie(sheet, lie))
        };
        if (0..job.sheets.len()).any(free) {
            *price = 0;
        }
    }
    let mut upper = vec![0; job.sheets.len()];
    let mut lower = vec![0; job.sheets.len()];
    // Less than it costs is of interest only where a sheet must be bought.
    let least: Vec<i64> = (0..job.sheets.len())
        .map(|sheet| if within[sheet].least > 0 { 0 } else { job.sheets[sheet].price * scale })
        .collect();
    let best = best_worth(job, tables, &sizes, &least, slack, search);
    let (mut top, mut bottom) = (1i128, 1i128);
    for (sheet, &worth) in best.iter().enumerate() {
        let cost = job.sheets[sheet].price * scale;
        if within[sheet].most.is_none() && i128::from(cost) * bottom < i128::from(worth) * top {
            (top, bottom) = (i128::from(cost), i128::from(worth));
        }
    }
    // Scaled down and rounded down, no layout is worth more than its worth scaled down.
    for price in &mut sizes {
        *price = (i128::from(*price) * top / bottom) as i64;
    }
    for (sheet, &worth) in best.iter().enumerate() {
        let cost = job.sheets[sheet].price * scale;
        let worth = ((i128::from(worth) * top + bottom - 1) / bottom) as i64;
        upper[sheet] = if within[sheet].most.is_some() { (worth - cost).max(0) } else { 0 };
        lower[sheet] = if within[sheet].least > 0 { (cost - worth).max(0) } else { 0 };
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
    let product = |n: i64, p: i64| i128::from(n) * i128::from(p);
    let mut worth: i128 = job.sizes.iter().zip(&sizes).map(|(s, &p)| product(s.count, p)).sum();
    worth += job.covers.iter().zip(&covers).map(|(&c, &p)| product(c, p)).sum::<i128>();
    for (sheet, range) in within.iter().enumerate() {
        worth += product(range.least, lower[sheet]) - product(range.most.unwrap_or(0), upper[sheet]);
    }
    let money = if worth <= 0 { 0 } else { (worth + i128::from(scale) - 1) / i128::from(scale) };
    let money = i64::try_from(money).ok().and_then(|money| raise(job, money, within));
    Proof { money, sizes, covers, upper, lower }
}

/// The proof that no plan fits a purchase, which has all sheets in `have` and no others; `None` when these prices do not
/// show it. `best` is what the best layout of each sheet is worth, `paid` what the forks of the case come to.
///
/// As so many sheets are bought, neither more nor fewer, what the best layout of one is worth beyond its price, or short
/// of it, is the price of that limit. All that has to be shown is that what is wanted is worth more than all sheets hold.
pub(crate) fn exact_fixed(
    job: &Job,
    sizes: Vec<i64>,
    best: &[i64],
    have: &[i64],
    paid: i128,
) -> Option<Proof> {
    let product = |n: i64, p: i64| i128::from(n) * i128::from(p);
    let wanted: i128 = job.sizes.iter().zip(&sizes).map(|(s, &p)| product(s.count, p)).sum();
    let held: i128 = have.iter().zip(best).map(|(&n, &worth)| product(n, worth)).sum();
    if wanted + paid <= held {
        return None;
    }
    let scale = scale(job);
    let cost = |sheet: usize| job.sheets[sheet].price * scale;
    let upper = best.iter().enumerate().map(|(sheet, &worth)| (worth - cost(sheet)).max(0)).collect();
    let lower = best.iter().enumerate().map(|(sheet, &worth)| (cost(sheet) - worth).max(0)).collect();
    Some(Proof { money: None, sizes, covers: Vec::new(), upper, lower })
}

impl Proof {
    /// As a leaf of a certificate.
    pub(crate) fn leaf(&self, job: &Job, within: &Box) -> Leaf {
        let branches = within
            .iter()
            .enumerate()
            .filter(|&(sheet, range)| range.least > 0 || range.most != job.sheets[sheet].limit)
            .map(|(stock, range)| Branch {
                stock,
                least: range.least as u32,
                most: range.most.map(|most| most as u32),
            })
            .collect();
        Leaf {
            branches,
            pieces: job.size_of.iter().map(|size| size.map_or(0, |size| self.sizes[size])).collect(),
            covers: self.covers.clone(),
            upper: self.upper.clone(),
            lower: self.lower.clone(),
            forks: Vec::new(),
        }
    }
}

/// The most that one layout of each sheet is worth, or a little above: no more than `slack`
/// ten-thousandths above it, or above `least` where it is less than that.
pub(crate) fn best_worth(
    job: &Job,
    tables: &[Table],
    sizes: &[i64],
    least: &[i64],
    slack: i64,
    search: &mut Search,
) -> Vec<i64> {
    let need: Vec<i64> = job.sizes.iter().map(|s| s.need).collect();
    let mut best = vec![0; job.sheets.len()];
    let until = search.enough_to_prove();
    for table in tables {
        let aim = Aim { several: 1, deep: true, least, slack, until };
        for found in table.price::<i64>(sizes, &need, aim, search) {
            best[found.stock] = best[found.stock].max(found.worth);
        }
    }
    best
}

/// The smallest sum of sheet prices in a box that is not below `money`; `None` when there is none. Past a table of
/// [`MOST_SUMS`] sums it is `money` itself.
pub(crate) fn raise(job: &Job, money: i64, within: &Box) -> Option<i64> {
    /// Sums of up to four prices around a bound are some thousands; this many take milliseconds.
    const MOST_SUMS: usize = 1 << 20;
    let base: i64 = job.sheets.iter().zip(within).map(|(s, r)| s.price * r.least).sum();
    if base >= money {
        return Some(base);
    }
    let open = money - base;
    let more: Vec<(i64, i64)> = job
        .sheets
        .iter()
        .zip(within)
        .map(|(s, r)| (s.price, r.most.map_or(i64::MAX, |most| most - r.least)))
        .filter(|&(price, room)| price > 0 && room > 0)
        .collect();
    let enough: i128 = more.iter().map(|&(p, n)| i128::from(p) * i128::from(n)).sum();
    if enough < i128::from(open) {
        return None;
    }
    let mark = more.iter().fold(0, |g, &(price, _)| gcd(price, g)).max(1);
    let more: Vec<(i64, i64)> = more.into_iter().map(|(p, n)| (p / mark, n)).collect();
    let least = (open + mark - 1) / mark;
    let dearest = more.iter().map(|m| m.0).max().unwrap_or(0);
    match crate::knapsack::reachable(&more, least + dearest, MOST_SUMS) {
        Some(sums) => sums.into_iter().find(|&s| s >= least).map(|s| base + s * mark),
        None => Some(base + least * mark),
    }
}
