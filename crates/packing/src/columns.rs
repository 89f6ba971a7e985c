//! The layouts known so far, and column generation: price, learn the layouts that are worth more than they cost,
//! and again, until none is.

use std::collections::BTreeSet;

use crate::bound::Tariff;
use crate::budget::Search;
use crate::master::{Column, Master, Prices, scaled_costs};
use crate::normalise::{Job, View};
use crate::pricing::{Aim, Pattern, Table, price};
use crate::repack::Repack;

/// Every layout priced so far, each once by sheet and counts.
#[derive(Clone, Default)]
pub(crate) struct Pool {
    pub(crate) columns: Vec<Column>,
    known: BTreeSet<(usize, Vec<(usize, i64)>)>,
}

impl Pool {
    /// Takes a layout in if it is new; returns its index then.
    pub(crate) fn take(&mut self, column: Column) -> Option<usize> {
        if column.counts.is_empty() || !self.known.insert((column.stock(), column.counts.clone())) {
            return None;
        }
        self.columns.push(column);
        Some(self.columns.len() - 1)
    }
}

/// How many layouts a sheet and view a round may bring. More rounds cost pricing, more layouts cost the program.
const SEVERAL: usize = 6;

/// A layout is new when it is worth more than its sheet costs by this part of the dearest sheet; what a smaller
/// surplus takes off the bound is seen only when it already meets a sum of sheet prices.
pub(crate) const SURPLUS: f64 = 1e-6;

/// Three stages: column generation goes as far as this many ten-thousandths first, then further. The last of them take
/// most of the time, and cost a bound no more than they say; with one kind of sheet they may be a whole sheet, and all
/// are sought.
const SLACKS: [i64; 4] = [50, 20, 5, 0];

/// As [`SURPLUS`], for layouts found roughly: near the end, when they bring little, those worth most are sought instead.
pub(crate) const ROUGH_SURPLUS: f64 = 1e-4;

/// How often layouts are sought roughly, each time with other panels, before those worth most are.
const ROUGH_TRIES: usize = 8;

/// One layout of each size on each sheet and in each view: a plain grid.
pub(crate) fn grids(job: &Job) -> Vec<Column> {
    let mut pool = Pool::default();
    for size in 0..job.sizes.len() {
        for lie in job.lies(size) {
            for stock in (0..job.sheets.len()).filter(|&s| job.may_lie(s, lie)) {
                for view in job.views() {
                    let sheet = &job.sheets[stock];
                    if view == View::Along && job.stages == 2 && !job.ripping_allowed(sheet.length) {
                        continue;
                    }
                    let (u_kerf, v_kerf) = job.kerfs(view);
                    let (u, v) = view.turn(job.extents(lie));
                    let (whole_u, whole_v) = view.turn((sheet.length, sheet.width));
                    let across = ((whole_v + v_kerf) / (v + v_kerf)).min(job.sizes[size].need);
                    let mut along = ((whole_u + u_kerf) / (u + u_kerf)).min(job.sizes[size].need);
                    if view == View::Along && !job.ripping_allowed(sheet.length) {
                        along = 1;
                    }
                    let strip = vec![(lie, along as u32)];
                    let panels = vec![vec![strip; across as usize]];
                    pool.take(Column::new(Pattern { stock, view, panels }));
                }
            }
        }
    }
    pool.columns
}

/// What column generation came to.
pub(crate) struct Generated {
    pub(crate) prices: Prices,
    /// Made exact, where they are already.
    pub(crate) tariff: Option<Tariff>,
    /// How far the prices are from the best, in ten-thousandths, if column generation came to its end.
    pub(crate) slack: i64,
}

/// How near the steady prices layouts are sought at first. Nearer them, each round shows more; farther, fewer rounds bring
/// nothing: of 0.15, 0.3 and 0.6 the second was quickest on jobs of one kind of sheet and three stages.
const STEADY: f64 = 0.3;

/// Prices that change little from round to round, for pricing.
///
/// The latest prices of the program jump from corner to corner of what its few layouts allow, and layouts that are worth
/// much at one corner are seldom those of the next. So layouts are sought between the latest prices and the *steady*
/// ones, those that showed most so far (Wentges 1997); only where that brings nothing, at the latest ones.
struct Steady {
    prices: Prices,
    /// What the steady prices show, in the program's money; zero before there are any.
    shown: f64,
    /// Whether the last round brought nothing.
    missed: bool,
}

impl Steady {
    /// Whether layouts are sought at the latest prices themselves.
    fn at_latest(&self) -> bool {
        self.shown <= 0.0 || self.missed
    }

    /// Where to seek layouts.
    fn between(&self, latest: &Prices) -> Prices {
        if self.at_latest() {
            return latest.clone();
        }
        let mix = |steady: &[f64], latest: &[f64]| -> Vec<f64> {
            steady.iter().zip(latest).map(|(s, l)| STEADY * s + (1.0 - STEADY) * l).collect()
        };
        Prices {
            sizes: mix(&self.prices.sizes, &latest.sizes),
            covers: mix(&self.prices.covers, &latest.covers),
            upper: mix(&self.prices.upper, &latest.upper),
        }
    }

    /// Learns what prices show.
    fn see(&mut self, prices: &Prices, shown: f64) {
        if shown > self.shown {
            self.shown = shown;
            self.prices = prices.clone();
        }
    }
}

/// What the demand is worth at prices.
fn demanded(job: &Job, prices: &Prices) -> f64 {
    let pieces: f64 = job.sizes.iter().zip(&prices.sizes).map(|(s, p)| s.count as f64 * p).sum();
    let covers: f64 = job.covers.iter().zip(&prices.covers).map(|(&n, p)| n as f64 * p).sum();
    pieces + covers
}

/// What all sheets that there are only so many of are worth above their cost, `upper` each.
fn above(job: &Job, upper: &[f64]) -> f64 {
    job.sheets.iter().zip(upper).map(|(sheet, upper)| sheet.limit.unwrap_or(0) as f64 * upper).sum()
}

/// What prices show where the best layout of each sheet is worth `best`: with all prices lowered until no layout of a
/// sheet without limit is worth more than it costs, and what is above the cost of the others taken off.
fn shown(job: &Job, prices: &Prices, best: &[f64], cost: &[f64]) -> f64 {
    let dear = |&stock: &usize| job.sheets[stock].limit.is_none() && best[stock] > cost[stock];
    let share = (0..cost.len()).filter(dear).map(|stock| cost[stock] / best[stock]).fold(1.0, f64::min);
    let upper: Vec<f64> = best.iter().zip(cost).map(|(best, cost)| (best * share - cost).max(0.0)).collect();
    share * demanded(job, prices) - above(job, &upper)
}

/// Column generation from scratch. Returns the last prices; whole when no layout is worth more than it costs, and
/// still good for a bound when the budget ended it. `known` are layouts to begin with, besides plain grids.
pub(crate) fn generate(
    job: &Job,
    tables: &[Table],
    known: Vec<Column>,
    repack: &mut Repack,
    pool: &mut Pool,
    search: &mut Search,
) -> Generated {
    let several = job.priced().len() > 1;
    let mut first = grids(job);
    known.iter().for_each(|column| repack.approve(&column.pattern));
    first.extend(known);
    let mut master = Master::new(job, &first);
    for column in first {
        pool.take(column);
    }
    let cost = scaled_costs(job);
    let need: Vec<i64> = job.sizes.iter().map(|s| s.need).collect();
    let mut prices = master.prices(search).unwrap_or_default();
    prices.sizes.resize(job.sizes.len(), 0.0);
    let mut steady = Steady { prices: Prices::default(), shown: 0.0, missed: false };
    let mut deep = false;
    let mut stage = 0usize;
    if let Some((by_area, shown)) = crate::area::prices(job).filter(|_| job.stages == 3) {
        steady.see(&by_area, shown);
    }
    // The budget, or a failure of the program's numbers, ends it with the prices that show most.
    let unfinished = |steady: Steady, latest: Prices, stage: usize| Generated {
        prices: if steady.shown > 0.0 { steady.prices } else { latest },
        tariff: None,
        slack: SLACKS[stage.saturating_sub(1)],
    };
    loop {
        let mut learned = 0;
        let most = |prices: &Prices, stock: usize| -> f64 {
            cost[stock] + prices.upper.get(stock).copied().unwrap_or(0.0) + SURPLUS * crate::master::DEAREST
        };
        // Three stages: what is likely good comes first, for as long as it is.
        for _ in 0..if deep { ROUGH_TRIES } else { 0 } {
            for pattern in repack.likely(&prices.sizes, &need, search) {
                let column = Column::new(pattern);
                let surplus = column.worth(&prices.sizes) - most(&prices, column.stock());
                if surplus > ROUGH_SURPLUS * crate::master::DEAREST
                    && let Some(at) = pool.take(column)
                {
                    learned += 1;
                    repack.approve(&pool.columns[at].pattern);
                    if !master.learn(&pool.columns[at]) {
                        return unfinished(steady, prices, stage);
                    }
                }
            }
            if learned > 0 {
                break;
            }
        }
        if learned > 0 && !search.slice_over() {
            match master.prices(search) {
                Some(now) => prices = now,
                None => return unfinished(steady, prices, stage),
            }
            continue;
        }
        let here = if deep { steady.between(&prices) } else { prices.clone() };
        let least: Vec<f64> = (0..cost.len()).map(|stock| most(&here, stock)).collect();
        let until = search.of.min(search.slice_end);
        let aim = Aim { several: SEVERAL, deep, least: &least, slack: SLACKS[stage], until };
        let mut best = vec![0.0f64; cost.len()];
        for found in price::<f64>(tables, &here.sizes, &need, aim, search) {
            best[found.stock] = best[found.stock].max(found.worth);
            for (_, pattern) in found.patterns {
                let column = Column::new(pattern);
                if column.worth(&prices.sizes) <= most(&prices, found.stock) {
                    continue;
                }
                if let Some(at) = pool.take(column) {
                    learned += 1;
                    if deep {
                        repack.approve(&pool.columns[at].pattern);
                    }
                    if !master.learn(&pool.columns[at]) {
                        return unfinished(steady, prices, stage);
                    }
                }
            }
        }
        let all = demanded(job, &prices) - above(job, &prices.upper);
        let shown = shown(job, &here, &best, &cost);
        if deep || job.stages == 2 {
            steady.see(&here, shown);
        }
        if deep && let Some(tariff) = settled(job, tables, &here, shown, all, SLACKS[stage], search) {
            return Generated { prices: here, tariff: Some(tariff), slack: SLACKS[stage] };
        }
        match master.prices(search) {
            Some(now) => prices = now,
            None => return unfinished(steady, prices, stage),
        }
        if learned == 0 && deep && !steady.at_latest() {
            steady.missed = true;
        } else if learned == 0 {
            let last = SLACKS.len() - if several { 2 } else { 1 };
            if job.stages == 2 || deep && stage == last {
                return Generated { prices, tariff: None, slack: SLACKS[stage] };
            }
            stage += usize::from(deep);
            deep = true;
            steady.missed = false;
        } else {
            steady.missed = false;
        }
        if search.slice_over() {
            return unfinished(steady, prices, stage);
        }
    }
}

/// Whether no layout found roughly is worth more than a little above its sheet's price: only then may prices be the
/// right ones for three stages.
pub(crate) fn near(job: &Job, prices: &Prices, repack: &mut Repack, search: &mut Search) -> bool {
    let need: Vec<i64> = job.sizes.iter().map(|s| s.need).collect();
    let cost = scaled_costs(job);
    repack.likely(&prices.sizes, &need, search).into_iter().all(|pattern| {
        let column = Column::new(pattern);
        let upper = prices.upper.get(column.stock()).copied().unwrap_or(0.0);
        column.worth(&prices.sizes) <= 1.02 * (cost[column.stock()] + upper)
    })
}

/// Whether better prices could not raise the bound: what these prices show is raised to the same sum of sheet prices as `all`, the money of the fractional plan over the layouts known, which
/// more layouts only make cheaper. With three stages, where every round of pricing is long, this saves most of them.
fn settled(
    job: &Job,
    tables: &[Table],
    prices: &Prices,
    shown: f64,
    all: f64,
    slack: i64,
    search: &mut Search,
) -> Option<Tariff> {
    let dearest = job.sheets.iter().map(|s| s.price).max().unwrap_or(0).max(1);
    let money = |worth: f64| worth * dearest as f64 / crate::master::DEAREST;
    let whole = crate::bound::everything(job);
    // A millionth of a minor unit is rounding noise of the linear program; the exact proof below decides.
    let raised = |money: f64| crate::bound::raise(job, (money - 1e-6).ceil().max(0.0) as i64, &whole);
    let (low, high) = (money(shown), money(all));
    if !high.is_finite() || raised(low) != raised(high) {
        return None;
    }
    let tariff = crate::bound::tariff(
        job,
        tables,
        prices,
        &crate::purchase::least(job, &scaled_costs(job)),
        slack,
        search,
    );
    let money = tariff.prove(job, &whole).proof.money;
    (money.is_some() && money == raised(high)).then_some(tariff)
}
