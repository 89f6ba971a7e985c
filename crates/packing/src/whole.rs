//! A dive over whole filled sheets.
//!
//! The fractional plan's layouts hold no more of a size in one strip than is wanted, but together they may: near the
//! end of a dive that is what keeps them from being used. Here every layout is a sheet filled out of what is still
//! wanted ([`Repack::fill`] with the program's prices), so that it can be used as it is. The sheet that the program
//! uses most is kept, and what is left is priced again. With three stages layouts that hold more than is still wanted are
//! used, too: what they hold beyond it is left out. With few pieces left there is seldom a better filling than a good
//! layout with a gap, and the program has hundreds of them to choose from.

use std::collections::BTreeSet;

use crate::budget::Search;
use crate::master::{Column, DEAREST};
use crate::pricing::Pattern;
use crate::repack::{Filled, Repack};
use crate::simplex::{Program, Row};

/// What missing one piece costs: more than any sheet.
const MISS: f64 = 20.0 * DEAREST;

/// What missing a piece costs where all sheets are bought, in times what it is worth. It has to be more than once; much more
/// would make small pieces worth as much as large ones as soon as something is missed, and the large ones would be left over.
const MISSED: f64 = 4.0;

/// A layout without what is not wanted is of use down to this part of its worth.
const GAPPED: f64 = 0.5;

/// What a dive is for.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Goal {
    /// A plan for no more than this, in money with the dearest sheet at [`DEAREST`].
    Money(f64),
    /// As much as these sheets hold, which are bought in any case.
    Purchase,
}

/// The layouts known, which grow as dives go on.
#[derive(Clone)]
pub(crate) struct Whole {
    sheets: Vec<Filled>,
    known: BTreeSet<(usize, Vec<(usize, i64)>)>,
    cost: Vec<f64>,
    sizes: usize,
}

/// Pricing rounds after each sheet that is kept.
const ROUNDS: usize = 8;

/// How far prices are varied for the layouts of a round.
const SPREADS: [f64; 2] = [0.0, 0.05];

/// Three stages: so many sheets are the last ones, for which layouts are sought harder. Most of what finds no place is lost
/// there, where few pieces are left for each filling to choose from. Of eight shop jobs of four kinds of sheet dives left 0.4 %
/// of the area over with one filling a round, 0.2 % with six. Two stages are no better for it.
const LAST: i64 = 3;

/// How far prices are varied for these.
const LAST_SPREADS: [f64; 6] = [0.0, 0.03, 0.06, 0.1, 0.15, 0.2];

/// What a step costs besides pricing and the program: so that tiny jobs, too, come to the end of a budget.
const A_STEP: u64 = 2000;

/// More layouts than this make the program slow; it then starts anew with those that plans were made of.
const MOST: usize = 3000;

impl Whole {
    pub(crate) fn new(sizes: usize, cost: Vec<f64>) -> Self {
        Whole { sheets: Vec::new(), known: BTreeSet::new(), cost, sizes }
    }

    fn learn(&mut self, filled: Filled) -> bool {
        let stock = filled.pattern.stock;
        if filled.counts.is_empty() || !self.known.insert((stock, filled.counts.clone())) {
            return false;
        }
        self.sheets.push(filled);
        true
    }

    fn entries(&self, stock: usize, counts: &[(usize, i64)]) -> Vec<(usize, f64)> {
        let sizes = counts.iter().map(|&(s, n)| (s, n as f64));
        sizes.chain([(self.sizes + stock, 1.0)]).collect()
    }

    /// Betters a plan by diving anew for what a few of its sheets held, until the slice of work ends. Returns it if it
    /// got cheaper.
    pub(crate) fn better(
        &mut self,
        repack: &mut Repack,
        plan: &[(Pattern, u32)],
        demand: &[i64],
        have: &[i64],
        step: f64,
        search: &mut Search,
    ) -> Option<Vec<(Pattern, u32)>> {
        let mut sheets = repack.state(plan);
        let mut best = None;
        while !search.slice_over() && !sheets.is_empty() {
            let many = repack.draw.between(3, 7).min(sheets.len() as i64) as usize;
            let picked = repack.pick(&sheets, many);
            let mut left = demand.to_vec();
            let mut have = have.to_vec();
            let mut freed = 0.0;
            for (at, sheet) in sheets.iter().enumerate() {
                let stock = sheet.pattern.stock;
                if picked.contains(&at) {
                    freed += self.cost[stock];
                } else {
                    have[stock] -= 1;
                    sheet.counts.iter().for_each(|&(s, n)| left[s] = (left[s] - n).max(0));
                }
            }
            let cheaper = repack.chance() < 0.5;
            let most = if cheaper { freed - step } else { freed } + 1e-6;
            let (new, left) = self.dive(repack, &left, &have, 0.2, Goal::Money(most), search);
            let cost = self.money(&new);
            if left.iter().any(|&n| n > 0) || cost > most {
                continue;
            }
            picked.iter().for_each(|&at| {
                sheets.swap_remove(at);
            });
            sheets.extend(repack.state(&new));
            if cost < freed - 1e-6 {
                best = Some(crate::repack::layouts(sheets.clone()));
            }
        }
        best
    }

    /// The layouts known.
    pub(crate) fn columns(&self) -> impl Iterator<Item = Column> + '_ {
        self.sheets.iter().map(|filled| Column::new(filled.pattern.clone()))
    }

    /// Learns layouts known from elsewhere.
    pub(crate) fn take(&mut self, column: &Column, repack: &Repack) {
        self.learn(repack.filled(column.pattern.clone()));
    }

    /// The layouts that can be used for what is wanted within these sheets, with three stages each without what is not
    /// wanted: (index of the layout, what of it is used). Sheets of two stages are filled so well that there it only takes
    /// time.
    fn usable(
        &self,
        repack: &Repack,
        gaps: bool,
        wanted: &[i64],
        have: &[i64],
    ) -> Vec<(usize, Vec<(usize, i64)>)> {
        let mut gapped: BTreeSet<(usize, Vec<(usize, i64)>)> = BTreeSet::new();
        let mut usable = Vec::new();
        for (at, sheet) in self.sheets.iter().enumerate().filter(|(_, sheet)| have[sheet.pattern.stock] > 0) {
            if sheet.counts.iter().all(|&(s, n)| n <= wanted[s]) {
                usable.push((at, sheet.counts.clone()));
                continue;
            }
            if !gaps {
                continue;
            }
            let counts = sheet.counts.iter().map(|&(s, n)| (s, n.min(wanted[s]))).filter(|&(_, n)| n > 0);
            let key = (sheet.pattern.stock, counts.collect::<Vec<_>>());
            if repack.worth_of(&key.1) >= GAPPED * sheet.worth
                && !self.known.contains(&key)
                && gapped.insert(key.clone())
            {
                usable.push((at, key.1));
            }
        }
        usable
    }

    /// One dive for a demand within these sheets: what it placed, and what found no place. It ends early when even
    /// the fractional plan would cost too much.
    pub(crate) fn dive(
        &mut self,
        repack: &mut Repack,
        demand: &[i64],
        have: &[i64],
        noise: f64,
        goal: Goal,
        search: &mut Search,
    ) -> (Vec<(Pattern, u32)>, Vec<i64>) {
        // A first plan, which may cost anything, is found without.
        let gaps = repack.panelled() && !matches!(goal, Goal::Money(most) if most == f64::INFINITY);
        let miss = |size: usize, repack: &Repack| match goal {
            Goal::Money(_) => MISS,
            Goal::Purchase => MISSED * repack.missed(size),
        };
        let mut wanted = demand.to_vec();
        let mut have = have.to_vec();
        let mut plan: Vec<(Pattern, u32)> = Vec::new();
        let mut money = 0.0;
        while wanted.iter().any(|&n| n > 0) && !search.slice_over() {
            let enough = wanted.iter().sum::<i64>() + 1;
            search.work += A_STEP + 60 * self.sheets.len() as u64;
            let rows: Vec<(Row, f64, f64)> = wanted
                .iter()
                .enumerate()
                .map(|(size, &n)| (Row::Wanted, n as f64, miss(size, repack)))
                .chain(have.iter().map(|&n| (Row::Limit, n.clamp(0, enough) as f64, 100.0 * MISS)))
                .collect();
            // A program of its own for each step, of the layouts that can still be used: it stays small and exact.
            let mut program = Program::new(&rows);
            let mut used: Vec<(usize, usize)> = Vec::new();
            for (at, counts) in self.usable(repack, gaps, &wanted, &have) {
                let stock = self.sheets[at].pattern.stock;
                used.push((at, program.column(self.cost[stock], self.entries(stock, &counts))));
            }
            for round in 0..=ROUNDS {
                let before = program.work;
                let solved = program.solve();
                search.work += (program.work - before) / 2;
                if !solved || round == ROUNDS || search.slice_over() {
                    break;
                }
                let prices = program.prices().to_vec();
                let (sizes, upper) = prices.split_at(self.sizes);
                let spreads: &[f64] = match repack.panelled() {
                    false => &SPREADS,
                    true if have.iter().sum::<i64>() <= LAST => &LAST_SPREADS,
                    // Panels differ by chance anyway.
                    true => &SPREADS[..1],
                };
                let mut learned = false;
                for stock in 0..have.len() {
                    if have[stock] <= 0 {
                        continue;
                    }
                    for &spread in spreads {
                        let values = repack.near(sizes, spread);
                        let Some(filled) = repack.fill(stock, &wanted, &values, search) else { continue };
                        let worth: f64 = filled.counts.iter().map(|&(s, n)| sizes[s] * n as f64).sum();
                        if worth > self.cost[stock] - upper[stock] + 1e-6 * DEAREST {
                            let entries = self.entries(stock, &filled.counts);
                            if self.learn(filled) {
                                learned = true;
                                used.push((self.sheets.len() - 1, program.column(self.cost[stock], entries)));
                            }
                        }
                    }
                }
                if !learned {
                    break;
                }
            }
            if matches!(goal, Goal::Money(most) if money + program.objective() > most) {
                break;
            }
            let amounts = program.amounts();
            let mut chosen: Vec<(usize, i64)> = Vec::new();
            let mut best: Option<(f64, usize)> = None;
            for &(at, column) in &used {
                let amount = amounts[column];
                if amount >= 1.0 - 1e-6 {
                    chosen.push((at, (amount + 1e-6) as i64));
                }
                if amount > 1e-6 {
                    let score = amount + noise * repack.chance();
                    if best.is_none_or(|(known, _)| score > known) {
                        best = Some((score, at));
                    }
                }
            }
            if chosen.is_empty() {
                let Some((_, at)) = best else { break };
                chosen.push((at, 1));
            }
            let mut step = false;
            for (at, times) in chosen {
                let sheet = repack.filled(without(&self.sheets[at].pattern, &wanted));
                let stock = sheet.pattern.stock;
                let fits = sheet.counts.iter().map(|&(s, n)| wanted[s] / n).min().unwrap_or(0);
                let times = times.min(fits).min(have[stock]);
                if times <= 0 {
                    continue;
                }
                step = true;
                have[stock] -= times;
                money += self.cost[stock] * times as f64;
                sheet.counts.iter().for_each(|&(s, n)| wanted[s] -= n * times);
                plan.push((sheet.pattern.clone(), times as u32));
            }
            if !step {
                break;
            }
        }
        (plan, wanted)
    }

    /// What layouts cost, with the dearest sheet at [`DEAREST`].
    pub(crate) fn money(&self, layouts: &[(Pattern, u32)]) -> f64 {
        layouts.iter().map(|(pattern, n)| self.cost[pattern.stock] * f64::from(*n)).sum()
    }

    /// How many layouts are known.
    pub(crate) fn mark(&self) -> usize {
        self.sheets.len()
    }

    /// Forgets what was learned since a mark.
    pub(crate) fn go_back(&mut self, mark: usize) {
        for sheet in self.sheets.drain(mark..) {
            self.known.remove(&(sheet.pattern.stock, sheet.counts));
        }
    }

    /// Learns what another learned between two marks.
    pub(crate) fn follow(&mut self, other: &Whole, marks: std::ops::Range<usize>) {
        other.sheets[marks].iter().for_each(|filled| {
            self.learn(filled.clone());
        });
    }

    /// Starts anew with the latest layouts, those that plans were made of, where there are too many.
    pub(crate) fn tidy(&mut self) {
        if self.sheets.len() > MOST {
            let keep: Vec<Filled> = self.sheets.split_off(self.sheets.len() - MOST / 3);
            *self = Whole::new(self.sizes, self.cost.clone());
            keep.into_iter().for_each(|filled| {
                self.learn(filled);
            });
        }
    }
}

/// The layout without what is not wanted.
fn without(pattern: &Pattern, wanted: &[i64]) -> Pattern {
    let mut left = wanted.to_vec();
    let mut pattern = pattern.clone();
    for panel in &mut pattern.panels {
        for strip in panel.iter_mut() {
            for (lie, n) in strip.iter_mut() {
                *n = i64::from(*n).min(left[lie.size].max(0)) as u32;
                left[lie.size] -= i64::from(*n);
            }
            strip.retain(|&(_, n)| n > 0);
        }
        panel.retain(|strip| !strip.is_empty());
    }
    pattern.panels.retain(|panel| !panel.is_empty());
    pattern
}
