//! From float prices to a bound that is exact.
//!
//! Prices become whole numbers by rounding down. Every sheet is priced again in whole numbers: where its best layout
//! is worth more than it costs, a limited sheet gets the difference as its `mu`, and for the others all prices are
//! scaled down by the worst ratio. What is left is exact, and the bound is the worth of the demand. The pricing is done once
//! for a [`Tariff`]; a [`Proof`] is what it shows in one box of purchases.

use crate::budget::Search;
use crate::certificate::{Branch, Leaf};
use crate::master::{DEAREST, Prices};
use crate::normalise::Job;
use crate::pricing::{Aim, Table, gcd, price};

/// Prices are raised to so many times what they are at most: what a sheet that is worth next to nothing would ask for is of no
/// use, and the numbers stay small.
const MOST_RAISED: i64 = 8;

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

/// Whole prices of pieces and covers, and what the best layout of each sheet is worth at them: nothing about purchases yet.
///
/// From these alone follows a proof for every box of purchases ([`Tariff::prove`]). Pricing layouts is what takes long, and
/// it is done once for a tariff, however many boxes there are.
#[derive(Clone, Debug)]
pub(crate) struct Tariff {
    sizes: Vec<i64>,
    covers: Vec<i64>,
    /// No layout of a sheet is worth more.
    best: Vec<i64>,
}

/// What a tariff shows in a box.
#[derive(Clone, Debug)]
pub(crate) struct Shown {
    pub(crate) proof: Proof,
    /// How many sheets of each kind are the cheapest that are worth enough, were fractions of them to be had: at most one
    /// kind's number is not whole.
    pub(crate) counts: Vec<f64>,
    /// By how much prices are turned for it.
    pub(crate) turn: Turn,
}

/// What prices are turned by: (of, cost) is cost over of.
pub(crate) type Turn = (i64, i64);

/// Makes prices whole and works out exactly what the best layouts are worth at them, or a little above: no more than
/// `slack` ten-thousandths above it, or above `least` where it is less than that.
pub(crate) fn tariff(
    job: &Job,
    tables: &[Table],
    prices: &Prices,
    least: &[f64],
    slack: i64,
    search: &mut Search,
) -> Tariff {
    let (sizes, covers) = whole(job, prices);
    let least: Vec<i64> = least.iter().map(|&worth| whole_price(job, worth)).collect();
    let best = best_worth(job, tables, &sizes, &least, slack, search);
    Tariff::new(job, sizes, covers, best)
}

/// Money of the program, with the dearest sheet at [`DEAREST`], as a whole price.
pub(crate) fn whole_price(job: &Job, price: f64) -> i64 {
    (price.max(0.0) * (job.scale as f64) * (dearest(job) as f64) / DEAREST).min(1e15) as i64
}

/// Whole prices of pieces and covers. What fits a free sheet without limit is worth nothing.
pub(crate) fn whole(job: &Job, prices: &Prices) -> (Vec<i64>, Vec<i64>) {
    let free = |sheet: &usize| job.sheets[*sheet].price == 0 && job.sheets[*sheet].limit.is_none();
    let free: Vec<usize> = (0..job.sheets.len()).filter(free).collect();
    let sizes = prices.sizes.iter().enumerate().map(|(size, &price)| {
        let lies = |&sheet: &usize| job.lies(size).any(|lie| job.may_lie(sheet, lie));
        if free.iter().any(lies) { 0 } else { whole_price(job, price) }
    });
    (sizes.collect(), prices.covers.iter().map(|&price| whole_price(job, price)).collect())
}

/// Lowers the prices of covers, all alike, until no make yields more than it uses.
fn lower_covers(job: &Job, sizes: &[i64], covers: &mut [i64]) {
    let (mut top, mut bottom) = (1i128, 1i128);
    for make in &job.makes {
        let uses: i128 = make.uses.iter().map(|&(s, n)| i128::from(sizes[s]) * i128::from(n)).sum();
        let yields: i128 = make.yields.iter().map(|&(c, n)| i128::from(covers[c]) * i128::from(n)).sum();
        if uses * bottom < yields * top {
            (top, bottom) = (uses, yields);
        }
    }
    covers.iter_mut().for_each(|price| *price = (i128::from(*price) * top / bottom.max(1)) as i64);
}

fn dearest(job: &Job) -> i64 {
    job.sheets.iter().map(|s| s.price).max().unwrap_or(0).max(1)
}

impl Tariff {
    /// Where no layout of a sheet is worth more than `best`.
    pub(crate) fn new(job: &Job, sizes: Vec<i64>, mut covers: Vec<i64>, mut best: Vec<i64>) -> Self {
        lower_covers(job, &sizes, &mut covers);
        for (sheet, worth) in best.iter_mut().enumerate() {
            let fits = |size: usize| job.lies(size).any(|lie| job.may_lie(sheet, lie));
            if (0..sizes.len()).all(|size| sizes[size] == 0 || !fits(size)) {
                *worth = 0;
            }
        }
        Tariff { sizes, covers, best }
    }

    /// What is wanted is worth this, at these prices.
    fn wanted(&self, job: &Job) -> i128 {
        let sizes = job.sizes.iter().zip(&self.sizes).map(|(s, &p)| i128::from(s.count) * i128::from(p));
        let covers = job.covers.iter().zip(&self.covers).map(|(&n, &p)| i128::from(n) * i128::from(p));
        sizes.chain(covers).sum()
    }

    /// Whether these sheets may hold what is wanted: they are worth as much, by the best layout of each.
    pub(crate) fn allows(&self, job: &Job, have: &[i64]) -> bool {
        let held =
            have.iter().zip(&self.best).map(|(&n, &worth)| i128::from(n) * i128::from(worth)).sum::<i128>();
        held >= self.wanted(job)
    }

    /// What it shows in a box: with all prices raised or lowered alike, as far as shows most.
    ///
    /// The sheets of the box must be worth what is wanted. Bought in the order of what they are worth for their money, a
    /// last kind is bought in part. With prices such that the best layout of that kind is worth just what its sheet costs, a
    /// better kind is worth more than it costs, and all of it that there is is bought; a worse one less, and only what must
    /// be bought is. No layout of a sheet without limit may be worth more than it costs.
    pub(crate) fn prove(&self, job: &Job, within: &Box) -> Shown {
        let scale = job.scale;
        let kinds = || job.sheets.iter().zip(within).zip(&self.best);
        // (what it is worth, its price): by how much prices are turned is the second over the first.
        let mut turns: Vec<(i64, i64)> = kinds()
            .filter(|((sheet, _), worth)| sheet.price > 0 && **worth > 0)
            .map(|((sheet, _), worth)| (*worth, sheet.price * scale))
            .collect();
        let cheaper = |a: &(i64, i64), b: &(i64, i64)| {
            (i128::from(a.1) * i128::from(b.0)).cmp(&(i128::from(b.1) * i128::from(a.0)))
        };
        let most = kinds()
            .filter(|((sheet, range), worth)| range.most.is_none() && sheet.price > 0 && **worth > 0)
            .map(|((sheet, _), worth)| (*worth, sheet.price * scale))
            .min_by(cheaper);
        turns.push((1, 1));
        turns.retain(|turn| {
            turn.1 / MOST_RAISED <= turn.0 && most.is_none_or(|most| cheaper(turn, &most).is_le())
        });
        turns.extend(most);
        turns.sort_unstable_by(cheaper);
        turns.dedup_by(|a, b| cheaper(a, b).is_eq());
        let wanted = self.wanted(job);
        let worth = |&(of, cost): &(i64, i64)| -> f64 {
            let times = cost as f64 / of as f64;
            let sheets = kinds().map(|((sheet, range), &worth)| {
                let above = worth as f64 * times - (sheet.price * scale) as f64;
                if above > 0.0 { above * range.most.unwrap_or(0) as f64 } else { above * range.least as f64 }
            });
            wanted as f64 * times - sheets.sum::<f64>()
        };
        // The least of those that show the same: prices are then near what sheets cost.
        let turn = turns.iter().rev().max_by(|a, b| worth(a).total_cmp(&worth(b))).copied().unwrap_or((1, 1));
        let mut shown_by = turn;
        let mut proof = self.turned(job, within, turn);
        if proof.money.is_some() {
            // Rounding must not hide that all the sheets of the box are not worth enough.
            // (Sheets without number that hold nothing of worth count for nothing.)
            let most = |(range, &worth): (&Range, &i64)| range.most.or((worth == 0).then_some(0));
            let all: Option<Vec<i64>> = within.iter().zip(&self.best).map(most).collect();
            if all.is_some_and(|all| !self.allows(job, &all)) {
                shown_by = (1, 1);
                proof = self.turned(job, within, shown_by);
            }
        }
        Shown { proof, counts: self.counts(job, within, turn), turn: shown_by }
    }

    /// The proof with prices turned as for another box; none where a sheet without limit in this box would be worth more than
    /// it costs.
    pub(crate) fn turned_as(&self, job: &Job, within: &Box, turn: Turn) -> Option<Proof> {
        let dear = |sheet: usize| {
            let cost = i128::from(job.sheets[sheet].price * job.scale) * i128::from(turn.0);
            within[sheet].most.is_none() && i128::from(self.best[sheet]) * i128::from(turn.1) > cost
        };
        (!(0..within.len()).any(dear)).then(|| self.turned(job, within, turn))
    }

    /// The proof with all prices turned by the same.
    fn turned(&self, job: &Job, within: &Box, (of, cost): Turn) -> Proof {
        let scale = job.scale;
        let turn = |price: i64| (i128::from(price) * i128::from(cost) / i128::from(of)) as i64;
        // Turned and rounded down, no layout is worth more than its worth turned.
        let sizes: Vec<i64> = self.sizes.iter().map(|&price| turn(price)).collect();
        let up = i128::from(of) - 1;
        let best =
            self.best.iter().map(|&worth| (i128::from(worth) * i128::from(cost) + up) / i128::from(of));
        let best: Vec<i64> = best.map(|worth| worth as i64).collect();
        let mut upper = vec![0; best.len()];
        let mut lower = vec![0; best.len()];
        for (sheet, &worth) in best.iter().enumerate() {
            let cost = job.sheets[sheet].price * scale;
            upper[sheet] = if within[sheet].most.is_some() { (worth - cost).max(0) } else { 0 };
            lower[sheet] = (cost - worth).max(0);
        }
        let mut covers: Vec<i64> = self.covers.iter().map(|&price| turn(price)).collect();
        lower_covers(job, &sizes, &mut covers);
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

    /// How many sheets of each kind are bought with prices so turned.
    fn counts(&self, job: &Job, within: &Box, (of, cost): Turn) -> Vec<f64> {
        let scale = job.scale;
        let mut open = self.wanted(job) as f64;
        let mut counts: Vec<f64> = within.iter().map(|range| range.least as f64).collect();
        let above = |sheet: usize| {
            let paid = i128::from(job.sheets[sheet].price * scale) * i128::from(of);
            (i128::from(self.best[sheet]) * i128::from(cost)).cmp(&paid)
        };
        for sheet in 0..counts.len() {
            if above(sheet).is_gt() {
                counts[sheet] = within[sheet].most.map_or(counts[sheet], |most| most as f64);
            }
            open -= counts[sheet] * self.best[sheet] as f64;
        }
        for sheet in (0..counts.len()).filter(|&sheet| above(sheet).is_eq() && job.sheets[sheet].price > 0) {
            let room = within[sheet].most.map_or(f64::INFINITY, |most| most as f64 - counts[sheet]);
            let more = (open / self.best[sheet] as f64).clamp(0.0, room);
            counts[sheet] += more;
            open -= more * self.best[sheet] as f64;
        }
        counts
    }
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
    let scale = job.scale;
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
    let aim = Aim { several: 1, deep: true, least, slack, until };
    for found in price::<i64>(tables, sizes, &need, aim, search) {
        best[found.stock] = best[found.stock].max(found.worth);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::budget::{Budget, Progress};
    use crate::generate::{Seed, Wish, shop_job};

    /// Every purchase of a box, up to `most` sheets of a kind.
    fn purchases(within: &Box, most: i64) -> Vec<Vec<i64>> {
        within.iter().fold(vec![Vec::new()], |all, range| {
            let counts = range.least..=range.most.unwrap_or(most).min(most.max(range.least));
            let with = |before: Vec<i64>| counts.clone().map(move |n| [before.as_slice(), &[n]].concat());
            all.into_iter().flat_map(with).collect()
        })
    }

    /// Prices at random, boxes at random: what is shown in a box is no more than the cheapest purchase that is allowed, is no
    /// less than the cheapest in fractions, and follows from the numbers that the proof hands on.
    #[test]
    fn what_a_tariff_shows_is_so_for_every_purchase() {
        let mut draw = Seed(21);
        let (mut whole, mut nothing, mut raised) = (0, 0, 0);
        for seed in 0..40 {
            let wish = Wish { sizes: Some(3), kinds: Some(2 + (seed % 2) as usize), stages: Some(2) };
            let problem = shop_job(seed, wish);
            let job = Job::new(&problem).unwrap();
            let tables = crate::pricing::tables(&job).unwrap();
            let mut ask = |_: &Progress| true;
            let mut search = Search::new(&Budget::default(), &mut ask);
            let area = |size: &crate::normalise::Size| size.length as f64 * 1e-9 * (size.width as f64 * 1e-9);
            let sizes =
                job.sizes.iter().map(|s| DEAREST * area(s) * draw.between(10, 60) as f64 / 100.0).collect();
            let prices = Prices { sizes, covers: Vec::new(), upper: Vec::new() };
            let tariff = tariff(&job, &tables, &prices, &[], 0, &mut search);
            let wanted = tariff.wanted(&job) as f64;
            let most = (wanted / *tariff.best.iter().min().unwrap() as f64).ceil() as i64 + 1;
            for _ in 0..20 {
                let mut within = everything(&job);
                for range in &mut within {
                    let least = draw.low(0, most / 2 + 1);
                    range.least = least.min(range.most.unwrap_or(least));
                    if draw.between(0, 2) > 0 {
                        let most = range.least + draw.low(0, most);
                        range.most = Some(range.most.map_or(most, |limit| limit.min(most)));
                    }
                }
                let money = |have: &Vec<i64>| -> i64 {
                    have.iter().zip(&job.sheets).map(|(&n, sheet)| n * sheet.price).sum()
                };
                let all = purchases(&within, most);
                let cheapest = all.iter().filter(|have| tariff.allows(&job, have)).map(money).min();
                let Shown { proof, .. } = tariff.prove(&job, &within);
                match (proof.money, cheapest) {
                    (Some(shown), Some(cheapest)) => assert!(shown <= cheapest, "seed {seed}: {within:?}"),
                    (None, Some(cheapest)) => panic!("seed {seed}: {within:?} {cheapest}"),
                    _ => {}
                }
                // In fractions, the best kinds for their money first.
                let mut open = wanted;
                let mut least = 0.0;
                for (range, (sheet, &best)) in within.iter().zip(job.sheets.iter().zip(&tariff.best)) {
                    open -= range.least as f64 * best as f64;
                    least += (range.least * sheet.price) as f64;
                }
                let mut kinds: Vec<usize> = (0..job.sheets.len()).collect();
                let rate = |&kind: &usize| job.sheets[kind].price as f64 / tariff.best[kind] as f64;
                kinds.sort_by(|a, b| rate(a).total_cmp(&rate(b)));
                for kind in kinds {
                    let room = within[kind].most.map_or(f64::INFINITY, |n| (n - within[kind].least) as f64);
                    let more = (open.max(0.0) / tariff.best[kind] as f64).min(room);
                    open -= more * tariff.best[kind] as f64;
                    least += more * job.sheets[kind].price as f64;
                }
                if open > 1e-6 * wanted {
                    assert_eq!(proof.money, None, "seed {seed}: {within:?}");
                    nothing += 1;
                } else if let Some(shown) = proof.money {
                    assert!(shown as f64 >= least - 1e-6 * least, "seed {seed}: {shown} {least} {within:?}");
                    whole += i32::from(cheapest == Some(shown));
                    raised += i32::from(shown as f64 > least + 1.0);
                }
                // What the proof hands on is enough to follow it.
                let scale = i128::from(job.scale);
                let product = |n: i64, price: i64| i128::from(n) * i128::from(price);
                let mut worth: i128 =
                    job.sizes.iter().zip(&proof.sizes).map(|(s, &price)| product(s.count, price)).sum();
                let best = best_worth(&job, &tables, &proof.sizes, &[], 0, &mut search);
                for (kind, range) in within.iter().enumerate() {
                    let (upper, lower) = (proof.upper[kind], proof.lower[kind]);
                    let cost = product(job.sheets[kind].price, scale as i64) + i128::from(upper - lower);
                    assert!(i128::from(best[kind]) <= cost, "seed {seed}: kind {kind}");
                    assert!(upper == 0 || range.most.is_some(), "seed {seed}: kind {kind} has no limit");
                    worth += product(range.least, lower) - product(range.most.unwrap_or(0), upper);
                }
                let shows = raise(&job, ((worth + scale - 1) / scale).max(0) as i64, &within);
                assert_eq!(shows, proof.money, "seed {seed}: {within:?}");
            }
        }
        assert!(whole > 100 && nothing > 20 && raised > 100, "{whole} {nothing} {raised}");
    }
}
