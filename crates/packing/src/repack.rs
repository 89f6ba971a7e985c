//! Whole layouts by taking sheets apart and filling them again.
//!
//! A sheet is *filled* from what is left to place: the best strip of every width (one knapsack along), then the best
//! strips together (one across), each strip no oftener than its pieces are left; again with what is left of the sheet,
//! until nothing fits. What a piece is worth there is its price in the fractional plan, varied by chance, so that every
//! filling is near the best and no two are alike.
//!
//! A packing of given sheets is bettered a few sheets at a time: their pieces are taken out and the sheets are filled
//! again, in another order, from these and from what had found no place yet. A tight sheet filled first leaves its waste
//! to the last one, and so, step by step, waste gathers until the last piece finds its place. Mostly only some strips of a
//! panel are taken out of each ([`hole`]): that is so much quicker that far more can be tried.

mod hole;

use crate::budget::Search;
use crate::cells::MOST_CELLS;
use crate::filling::{Filling, Sacks, Way};
use crate::generate::Seed;
use crate::master::{DEAREST, Prices, scaled_costs};
use crate::normalise::{Job, Lie, View};
use crate::pricing::{Pattern, Strip, Table};

/// A filled sheet.
#[derive(Clone, Debug)]
pub(crate) struct Filled {
    pub(crate) pattern: Pattern,
    /// (size, how many), ascending.
    pub(crate) counts: Vec<(usize, i64)>,
    /// At the fractional plan's prices.
    pub(crate) worth: f64,
}

impl Filled {
    fn empty(stock: usize, view: View) -> Self {
        Filled { pattern: Pattern { stock, view, panels: Vec::new() }, counts: Vec::new(), worth: 0.0 }
    }
}

/// Filling and filling again.
#[derive(Clone)]
pub(crate) struct Repack<'a> {
    job: &'a Job,
    ways: Vec<Way>,
    cost: Vec<f64>,
    /// What a piece of each size is worth.
    worth: Vec<f64>,
    /// What missing a piece of each size counts for: no less than by its area.
    missed: Vec<f64>,
    sacks: Sacks,
    /// Those of another worker.
    others: Sacks,
    keep: Keep,
    pub(crate) draw: Seed,
}

/// What a filling keeps to besides the sheet.
#[derive(Clone, Debug, Default)]
pub(crate) struct Keep {
    /// Ways to lie that are not used, ascending.
    pub(crate) barred: Vec<Lie>,
    /// The only view, if there is to be but one.
    pub(crate) view: Option<View>,
    /// No panels.
    pub(crate) flat: bool,
    /// How much of the sheet stays empty along u and v, in parts of [`PARTS`].
    pub(crate) empty: (usize, usize),
}

/// Into how many parts a sheet is divided where some of it is to stay empty.
pub(crate) const PARTS: usize = 1024;

/// One unit of work is about so many cells looked at.
const CELLS_A_UNIT: u64 = 30;

/// What filling a sheet costs besides the cells: so that tiny jobs, too, come to the end of a budget.
const A_SHEET: u64 = 1000;

/// How often only parts of sheets are filled again. Where it never was, 5 of 104 generated shop jobs of several kinds of sheet
/// that are hard to prove were proven, and with this 9.
const BY_PARTS: f64 = 0.9;

/// By how much more may be missing after a step than before, at most: a fraction of a piece, so that it goes on where
/// nothing gets better at once. Ten times as much proved fewer.
const SLACK: f64 = 4.0;

/// What is left after a step, and the sheets that it filled again.
type Again = (Vec<i64>, Vec<(usize, Filled)>);

/// Lengths of panels remembered.
const PROVED: usize = 60;

impl<'a> Repack<'a> {
    /// With pieces worth nothing so far.
    pub(crate) fn new(job: &'a Job, tables: &[Table]) -> Self {
        let mut ways = Vec::new();
        // What is left of a sheet is of any width. A saw that cannot cut every width takes only what the exact pricing
        // finds, which knows the limits.
        let any_cut = job.fence_reach.is_none() && job.smallest_rip.is_none() && job.longest_rip.is_none();
        for table in tables.iter().filter(|_| any_cut) {
            let longest = table.ends.iter().map(|e| e.u).max().unwrap_or(1);
            let widest = table.ends.iter().map(|e| e.v).max().unwrap_or(1);
            let cell = |extent: i64| (extent + MOST_CELLS - 1) / MOST_CELLS;
            let (du, dv) = (cell(longest).max(1), cell(widest).max(1));
            for end in &table.ends {
                let items = table
                    .items
                    .iter()
                    .map(|i| (i.lie, ((i.u + du - 1) / du) as usize, ((i.v + dv - 1) / dv) as usize))
                    .collect();
                ways.push(Way {
                    view: table.view,
                    stock: end.stock,
                    items,
                    u: (end.u / du) as usize,
                    v: (end.v / dv) as usize,
                    whole: end.whole,
                    panelled: end.panels.iter().any(|&length| length < end.u),
                    proved: Vec::new(),
                });
            }
        }
        Repack {
            job,
            ways,
            cost: scaled_costs(job),
            worth: vec![0.0; job.sizes.len()],
            missed: vec![0.0; job.sizes.len()],
            sacks: Sacks::default(),
            others: Sacks::default(),
            keep: Keep::default(),
            draw: Seed(1),
        }
    }

    /// From now on pieces are worth about their prices. One whose price is nothing, because others bring it along,
    /// still is worth its area a little.
    pub(crate) fn value(&mut self, prices: &Prices) {
        let largest = self.job.sheets.iter().map(|s| s.area).fold(1e-9, f64::max);
        for (at, size) in self.job.sizes.iter().enumerate() {
            let area = size.length as f64 * 1e-6 * (size.width as f64 * 1e-6);
            let by_area = DEAREST * area / largest;
            self.worth[at] = prices.sizes.get(at).copied().unwrap_or(0.0) + 0.05 * by_area;
            self.missed[at] = self.worth[at].max(by_area);
        }
    }

    /// Layouts of three stages that are worth much at these prices, each piece no oftener in a strip than needed:
    /// found in a fraction of the time that the one worth most takes.
    pub(crate) fn likely(&mut self, prices: &[f64], need: &[i64], search: &mut Search) -> Vec<Pattern> {
        let values: Vec<f32> = prices.iter().map(|&p| p as f32).collect();
        let Repack { ways, sacks, others, keep, draw, .. } = self;
        let ways: Vec<&Way> = ways.iter().filter(|way| way.panelled).collect();
        // Two workers take turns at the ways, each with chances of its own.
        let mut other = if ways.len() > 1 { Seed(draw.bits()) } else { Seed(0) };
        let some = |from: usize, sacks: &mut Sacks, draw: &mut Seed| -> Vec<Vec<Pattern>> {
            let fill = |way: &&Way| {
                let mut filling = Filling { way, sacks, draw, keep, counted: false };
                let pattern = |panels| Pattern { stock: way.stock, view: way.view, panels };
                filling.several_panels(need, &values).into_iter().map(pattern).collect()
            };
            ways.iter().skip(from).step_by(2).map(fill).collect()
        };
        let (even, odd) = search.crew.both(|| some(0, sacks, draw), || some(1, others, &mut other));
        self.spend(search);
        let mut odd = odd.into_iter();
        even.into_iter().flat_map(|even| [even, odd.next().unwrap_or_default()]).flatten().collect()
    }

    /// Remembers the lengths of the panels of a good layout.
    pub(crate) fn approve(&mut self, pattern: &Pattern) {
        for way in self.ways.iter_mut().filter(|way| way.view == pattern.view && way.panelled) {
            for panel in &pattern.panels {
                let Some(length) = panel.iter().map(|strip| way.along(strip)).max().flatten() else {
                    continue;
                };
                way.proved.retain(|&known| known != length);
                if way.proved.len() == PROVED {
                    way.proved.remove(0);
                }
                way.proved.push(length);
            }
        }
    }

    /// What missing a piece of a size counts for.
    pub(crate) fn missed(&self, size: usize) -> f64 {
        self.missed[size]
    }

    /// What some pieces are worth.
    pub(crate) fn worth_of(&self, counts: &[(usize, i64)]) -> f64 {
        counts.iter().map(|&(s, n)| self.worth[s] * n as f64).sum()
    }

    /// Whether there are three stages.
    pub(crate) fn panelled(&self) -> bool {
        self.job.stages == 3
    }

    fn spend(&mut self, search: &mut Search) {
        search.work += A_SHEET + (self.sacks.worked() + self.others.worked()) / CELLS_A_UNIT;
    }

    /// A layout with its counts and worth.
    pub(crate) fn filled(&self, pattern: Pattern) -> Filled {
        let counts = pattern.counts();
        let worth = self.worth_of(&counts);
        Filled { pattern, counts, worth }
    }

    /// These prices, varied by chance; a piece that is worth nothing still is worth a little.
    pub(crate) fn near(&mut self, prices: &[f64], spread: f64) -> Vec<f32> {
        (0..prices.len())
            .map(|s| {
                let price = prices[s].max(1e-4 * self.worth[s]).min(10.0 * DEAREST);
                (price * (1.0 + spread * (2.0 * self.chance() - 1.0))) as f32
            })
            .collect()
    }

    /// Between nothing and one.
    pub(crate) fn chance(&mut self) -> f64 {
        (self.draw.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Worths varied by chance.
    fn varied(&mut self) -> Vec<f32> {
        const SPREADS: [f64; 6] = [0.0, 0.01, 0.02, 0.05, 0.1, 0.2];
        let spread = SPREADS[self.draw.between(0, 5) as usize];
        (0..self.worth.len())
            .map(|s| (self.worth[s] * (1.0 + spread * (2.0 * self.chance() - 1.0))) as f32)
            .collect()
    }

    /// The best filling of one sheet of a kind out of what is left.
    pub(crate) fn fill(
        &mut self,
        stock: usize,
        left: &[i64],
        values: &[f32],
        search: &mut Search,
    ) -> Option<Filled> {
        let mut best: Option<(f32, View, Vec<Vec<Strip>>)> = None;
        let Repack { ways, sacks, draw, keep, .. } = self;
        for way in ways.iter().filter(|way| way.stock == stock) {
            if keep.view.is_some_and(|only| only != way.view) {
                continue;
            }
            let mut filling = Filling { way, sacks, draw, keep, counted: true };
            let mut found = Vec::new();
            if way.whole {
                let (worth, strips) = filling.strips(way.u, &mut left.to_vec(), values);
                found.push((worth, vec![strips]));
            }
            if way.panelled && !filling.keep.flat {
                found.push(filling.panels(left, values));
            }
            for (worth, panels) in found {
                if worth > best.as_ref().map_or(0.0, |b| b.0) {
                    best = Some((worth, way.view, panels));
                }
            }
        }
        self.spend(search);
        let (_, view, panels) = best?;
        Some(self.filled(Pattern { stock, view, panels }))
    }

    /// Likewise, keeping to something.
    pub(crate) fn fill_keeping(
        &mut self,
        keep: &Keep,
        stock: usize,
        left: &[i64],
        values: &[f32],
        search: &mut Search,
    ) -> Option<Filled> {
        let whole: Vec<(usize, usize)> = self.ways.iter().map(|way| (way.u, way.v)).collect();
        for way in &mut self.ways {
            way.u -= way.u * keep.empty.0 / PARTS;
            way.v -= way.v * keep.empty.1 / PARTS;
        }
        self.keep = keep.clone();
        let filled = self.fill(stock, left, values, search);
        self.keep = Keep::default();
        self.ways.iter_mut().zip(whole).for_each(|(way, (u, v))| (way.u, way.v) = (u, v));
        filled
    }

    /// Whether sheets can be filled here at all.
    pub(crate) fn fills(&self) -> bool {
        !self.ways.is_empty()
    }

    /// Fills sheets out of `have`, the best for their money first, until nothing is left. `None` when `have` is used
    /// up or the money would be more than `most`.
    fn build(
        &mut self,
        left: &mut [i64],
        have: &mut [i64],
        most: f64,
        search: &mut Search,
    ) -> Option<Vec<Filled>> {
        let values = self.varied();
        let mut out = Vec::new();
        let mut money = 0.0;
        let mut last = None;
        while left.iter().any(|&n| n > 0) {
            // When the budget is used up, some plan is wanted soon: of the kind of sheet that was best before, if it will do.
            let again = last.filter(|_| search.over());
            let mut best: Option<(f64, Filled)> = None;
            for only in again.map(Some).into_iter().chain([None]) {
                for (stock, &there) in have.iter().enumerate() {
                    let other = only.is_some_and(|only: usize| only != stock);
                    if other || there <= 0 || money + self.cost[stock] > most {
                        continue;
                    }
                    if let Some(filled) = self.fill(stock, left, &values, search) {
                        let tilt = 1.0 + 0.04 * self.chance();
                        let rate = tilt * filled.worth / (self.cost[stock] + 1e-6 * DEAREST);
                        if best.as_ref().is_none_or(|(known, _)| rate > *known) {
                            best = Some((rate, filled));
                        }
                    }
                }
                if best.is_some() {
                    break;
                }
            }
            let (_, filled) = best?;
            let stock = filled.pattern.stock;
            last = Some(stock);
            have[stock] -= 1;
            money += self.cost[stock];
            filled.counts.iter().for_each(|&(s, n)| left[s] -= n);
            out.push(filled);
        }
        Some(out)
    }

    /// A plan from nothing.
    pub(crate) fn start(
        &mut self,
        demand: &[i64],
        have: &[i64],
        search: &mut Search,
    ) -> Option<Vec<(Pattern, u32)>> {
        let sheets = self.build(&mut demand.to_vec(), &mut have.to_vec(), f64::INFINITY, search)?;
        Some(layouts(sheets))
    }

    /// Sheet by sheet.
    pub(crate) fn state(&self, plan: &[(Pattern, u32)]) -> Vec<Filled> {
        let mut sheets = Vec::new();
        for (pattern, n) in plan {
            sheets.extend(std::iter::repeat_n(self.filled(pattern.clone()), *n as usize));
        }
        sheets
    }

    /// Some sheets by chance, those with more waste sooner.
    pub(crate) fn pick(&mut self, sheets: &[Filled], many: usize) -> Vec<usize> {
        let mut keyed: Vec<(f64, usize)> = Vec::new();
        for (at, sheet) in sheets.iter().enumerate() {
            let cost = self.cost[sheet.pattern.stock].max(1.0);
            let waste = (1.0 - sheet.worth / cost).clamp(0.0, 1.0) + 0.03;
            let weight = waste.sqrt();
            keyed.push((self.chance() * weight, at));
        }
        keyed.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut picked: Vec<usize> = keyed.into_iter().take(many).map(|k| k.1).collect();
        picked.sort_unstable_by(|a, b| b.cmp(a));
        picked
    }

    /// As [`Repack::within`], with no piece lying in a barred way on a sheet that is filled.
    pub(crate) fn within_keeping(
        &mut self,
        keep: &Keep,
        plan: &[(Pattern, u32)],
        demand: &[i64],
        have: &[i64],
        search: &mut Search,
    ) -> Option<Vec<(Pattern, u32)>> {
        self.keep = keep.clone();
        let placed = self.within(plan, demand, have, search);
        self.keep = Keep::default();
        placed
    }

    /// Places everything on just these sheets, starting from a plan; `None` when something was left over.
    pub(crate) fn within(
        &mut self,
        plan: &[(Pattern, u32)],
        demand: &[i64],
        have: &[i64],
        search: &mut Search,
    ) -> Option<Vec<(Pattern, u32)>> {
        let mut have: Vec<i64> = have.to_vec();
        let mut sheets: Vec<Filled> = Vec::new();
        let mut left = demand.to_vec();
        let mut known = self.state(plan);
        known.sort_by(|a, b| {
            let rate = |f: &Filled| f.worth / self.cost[f.pattern.stock].max(1.0);
            rate(b).total_cmp(&rate(a))
        });
        for filled in known {
            let stock = filled.pattern.stock;
            if have[stock] > 0 && filled.counts.iter().all(|&(s, n)| n <= left[s]) {
                have[stock] -= 1;
                filled.counts.iter().for_each(|&(s, n)| left[s] -= n);
                sheets.push(filled);
            }
        }
        let pieces: i64 = demand.iter().sum();
        for (stock, &there) in have.iter().enumerate() {
            let view = self.job.views()[0];
            let empty = Filled::empty(stock, view);
            let more = there.clamp(0, pieces) as usize;
            // Of a kind without number an empty one is enough: what is left over never fills more.
            sheets.extend(std::iter::repeat_n(empty, more.min(64)));
        }
        let worth =
            |left: &[i64], worth: &[f64]| -> f64 { left.iter().zip(worth).map(|(&n, w)| n as f64 * w).sum() };
        let mut missing = worth(&left, &self.worth);
        while left.iter().any(|&n| n > 0) {
            if search.slice_over() || sheets.is_empty() {
                return None;
            }
            let (loose, new) = if self.chance() < BY_PARTS {
                self.parts_again(&sheets, &left, search)
            } else {
                self.sheets_again(&sheets, &left, search)
            };
            let now = worth(&loose, &self.worth);
            let slack = SLACK * self.chance();
            if now <= missing + slack {
                missing = now;
                left = loose;
                new.into_iter().for_each(|(at, filled)| sheets[at] = filled);
            }
        }
        Some(layouts(sheets))
    }

    /// A few sheets by chance, in an order by chance.
    fn pick_some(&mut self, sheets: &[Filled], most: i64) -> Vec<usize> {
        let many = self.draw.between(1, most).min(sheets.len() as i64) as usize;
        let mut picked = self.pick(sheets, many);
        for at in (1..picked.len()).rev() {
            let with = self.draw.between(0, at as i64) as usize;
            picked.swap(at, with);
        }
        picked
    }

    /// A few sheets filled again out of what they held and what is left: what is left then, and the sheets.
    fn sheets_again(&mut self, sheets: &[Filled], left: &[i64], search: &mut Search) -> Again {
        let picked = self.pick_some(sheets, 5);
        let mut loose = left.to_vec();
        picked.iter().for_each(|&at| sheets[at].counts.iter().for_each(|&(s, n)| loose[s] += n));
        let values = self.varied();
        let mut new = Vec::new();
        for at in picked {
            let Pattern { stock, view, .. } = sheets[at].pattern;
            let filled =
                self.fill(stock, &loose, &values, search).unwrap_or_else(|| Filled::empty(stock, view));
            filled.counts.iter().for_each(|&(s, n)| loose[s] -= n);
            new.push((at, filled));
        }
        (loose, new)
    }
}

/// As a plan's layouts.
pub(crate) fn layouts(sheets: Vec<Filled>) -> Vec<(Pattern, u32)> {
    sheets.into_iter().filter(|s| !s.counts.is_empty()).map(|s| (s.pattern, 1)).collect()
}
