//! The layouts known so far, and column generation: price, learn the layouts that are worth more than they cost,
//! and again, until none is.

use std::collections::BTreeSet;

use crate::bound::Proof;
use crate::budget::Search;
use crate::master::{Column, Master, Prices, scaled_costs};
use crate::normalise::{Job, View};
use crate::pricing::{Aim, Pattern, Table};
use crate::repack::Repack;

/// Every layout priced so far, each once by sheet and counts.
#[derive(Default)]
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
    /// What they show, where that is known already.
    pub(crate) proof: Option<Proof>,
    /// How far the prices are from the best, in ten-thousandths, if column generation came to its end.
    pub(crate) slack: i64,
}

/// The budget, or a failure of the program's numbers, ended it at this step.
fn unfinished(prices: Prices, stage: usize) -> Generated {
    Generated { prices, proof: None, slack: SLACKS[stage.saturating_sub(1)] }
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
    let mut prices = master.prices().unwrap_or_default();
    prices.sizes.resize(job.sizes.len(), 0.0);
    let mut deep = false;
    let mut stage = 0usize;
    loop {
        let mut learned = 0;
        let mut share = 1.0f64;
        let upper = |stock: usize| prices.upper.get(stock).copied().unwrap_or(0.0);
        let least: Vec<f64> = (0..cost.len())
            .map(|stock| cost[stock] + upper(stock) + SURPLUS * crate::master::DEAREST)
            .collect();
        // Three stages: what is likely good comes first, for as long as it is.
        for _ in 0..if deep { ROUGH_TRIES } else { 0 } {
            for pattern in repack.likely(&prices.sizes, &need, search) {
                let column = Column::new(pattern);
                let surplus = column.worth(&prices.sizes) - least[column.stock()];
                if surplus > ROUGH_SURPLUS * crate::master::DEAREST
                    && let Some(at) = pool.take(column)
                {
                    learned += 1;
                    repack.approve(&pool.columns[at].pattern);
                    if !master.learn(&pool.columns[at]) {
                        return unfinished(prices, stage);
                    }
                }
            }
            if learned > 0 {
                break;
            }
        }
        if learned > 0 && !search.slice_over() {
            match master.prices() {
                Some(now) => prices = now,
                None => return unfinished(prices, stage),
            }
            continue;
        }
        let aim = Aim { several: SEVERAL, deep, least: &least, slack: SLACKS[stage] };
        for table in tables {
            for found in table.price::<f64>(&prices.sizes, &need, aim, &mut search.work) {
                let allowed = least[found.stock] - SURPLUS * crate::master::DEAREST;
                if found.worth > allowed {
                    share = share.min(cost[found.stock] / (found.worth - allowed + cost[found.stock]));
                }
                for (worth, pattern) in found.patterns {
                    if worth <= least[found.stock] {
                        continue;
                    }
                    if let Some(at) = pool.take(Column::new(pattern)) {
                        learned += 1;
                        if deep {
                            repack.approve(&pool.columns[at].pattern);
                        }
                        if !master.learn(&pool.columns[at]) {
                            return unfinished(prices, stage);
                        }
                    }
                }
            }
        }
        if deep && let Some(proof) = settled(job, tables, &prices, share, SLACKS[stage], search) {
            return Generated { prices, proof: Some(proof), slack: SLACKS[stage] };
        }
        match master.prices() {
            Some(now) => prices = now,
            None => return unfinished(prices, stage),
        }
        if learned == 0 {
            let last = SLACKS.len() - if several { 2 } else { 1 };
            if job.stages == 2 || deep && stage == last {
                return Generated { prices, proof: None, slack: SLACKS[stage] };
            }
            stage += usize::from(deep);
            deep = true;
        }
        if search.slice_over() {
            return unfinished(prices, stage);
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

/// Whether better prices could not raise the bound: what these prices show, `share` of the fractional plan's money,
/// is raised to the same sum of sheet prices as the fractional plan itself, which better prices only make cheaper.
/// With three stages, where every round of pricing is long, this saves most of them.
fn settled(
    job: &Job,
    tables: &[Table],
    prices: &Prices,
    share: f64,
    slack: i64,
    search: &mut Search,
) -> Option<Proof> {
    let dearest = job.sheets.iter().map(|s| s.price).max().unwrap_or(0).max(1);
    let pieces: f64 = job.sizes.iter().zip(&prices.sizes).map(|(s, p)| s.count as f64 * p).sum();
    let covers: f64 = job.covers.iter().zip(&prices.covers).map(|(&n, p)| n as f64 * p).sum();
    let above: f64 = job.sheets.iter().zip(&prices.upper).map(|(s, p)| s.limit.unwrap_or(0) as f64 * p).sum();
    let money = (pieces + covers - above) * dearest as f64 / crate::master::DEAREST;
    let whole = crate::bound::everything(job);
    // A millionth of a minor unit is rounding noise of the linear program; the exact proof below decides.
    let raised = |money: f64| crate::bound::raise(job, (money - 1e-6).ceil().max(0.0) as i64, &whole);
    if !money.is_finite() || raised(money * share) != raised(money) {
        return None;
    }
    let proof = crate::bound::exact(job, tables, prices, &whole, slack, &mut search.work);
    (proof.money.is_some() && proof.money == raised(money)).then_some(proof)
}
