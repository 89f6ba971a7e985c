//! Whole layouts out of a fractional plan.
//!
//! The fractional plan is kept in two levels: *strips*, each filled with pieces, and *sheets*, each divided into
//! places for strips of certain widths. There are far fewer of either than of whole layouts, and a strip can be fixed
//! without saying yet which strips it will lie beside: so a plan that is nearly whole in strips is found where a
//! search over whole layouts has to guess.
//!
//! A *dive* fixes strips one after the other (those used at least once first, then the one nearest to being used),
//! asks after each what is still wanted, and prices strips and sheets again for that: only strips that hold nothing
//! beyond what is still wanted. When all pieces lie in strips the sheets are fixed in the same way. Layouts of three
//! stages take part as whole layouts.

use std::collections::{BTreeMap, BTreeSet};

use crate::budget::Search;
use crate::columns::Pool;
use crate::generate::Seed;
use crate::master::{Column, DEAREST, scaled_costs};
use crate::normalise::Job;
use crate::pricing::{Pattern, Strip, Table};
use crate::simplex::{Program, Row};

/// What missing one piece costs: more than any sheet.
const MISS: f64 = 20.0 * DEAREST;

/// The cost of a column that must not be used now: dearer than missing all that it could hold.
const BARRED: f64 = 1e4 * DEAREST;

/// (size, how many), ascending.
type Counts = Vec<(usize, i64)>;

/// (width, how many places), ascending.
type Places = Vec<(usize, u32)>;

/// Where strips lie: one length of strip in one table. Its rows are the table's widths.
#[derive(Clone, Debug)]
struct Lane {
    table: usize,
    /// Index into the table's sums.
    along: usize,
    /// Indices into the table's ends: the sheets with strips of this length.
    ends: Vec<usize>,
    /// First row of its widths.
    row: usize,
}

/// What a column of the program stands for.
#[derive(Clone, Debug)]
enum Use {
    /// Pieces in a place of a width.
    Strip { lane: usize, width: usize, strip: Strip, counts: Vec<(usize, i64)> },
    /// Places on a sheet: (width, how many).
    Sheet { lane: usize, stock: usize, places: Vec<(usize, u32)> },
    /// A layout of three stages, all at once.
    Whole(Column),
}

/// The fractional plan for what is still wanted within what is still to be had.
pub(crate) struct Residual<'a> {
    job: &'a Job,
    tables: &'a [Table],
    lanes: Vec<Lane>,
    program: Program,
    uses: Vec<Use>,
    /// Program column of each use.
    columns: Vec<usize>,
    real_cost: Vec<f64>,
    known_strips: BTreeSet<(usize, usize, Counts)>,
    known_sheets: BTreeSet<(usize, Vec<(usize, u32)>)>,
    known_whole: BTreeSet<(usize, Vec<(usize, i64)>)>,
    cost: Vec<f64>,
    rows: usize,
}

/// What a dive may choose.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Style {
    /// Draws that vary the choice; zero never does.
    pub(crate) seed: u64,
    /// How much the choice is varied, in uses of a strip.
    pub(crate) noise: f64,
    /// Pricing rounds after each fixing.
    pub(crate) rounds: usize,
    /// How often a dive that has come to nothing may take some strips back and go on.
    pub(crate) jumps: usize,
}

fn strip_counts(strip: &Strip) -> Vec<(usize, i64)> {
    let mut counts: BTreeMap<usize, i64> = BTreeMap::new();
    strip.iter().for_each(|&(lie, n)| *counts.entry(lie.size).or_default() += i64::from(n));
    counts.into_iter().collect()
}

impl<'a> Residual<'a> {
    pub(crate) fn new(job: &'a Job, tables: &'a [Table], pool: &Pool) -> Self {
        let cost = scaled_costs(job);
        let mut rows: Vec<(Row, f64, f64)> = job.sizes.iter().map(|_| (Row::Wanted, 0.0, MISS)).collect();
        rows.extend(job.sheets.iter().map(|_| (Row::Limit, 0.0, 100.0 * MISS)));
        let mut lanes: Vec<Lane> = Vec::new();
        for (table, t) in tables.iter().enumerate() {
            let mut by_length: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
            for (end, e) in t.ends.iter().enumerate().filter(|(_, e)| e.whole) {
                by_length.entry(e.along).or_default().push(end);
            }
            for (along, ends) in by_length {
                lanes.push(Lane { table, along, ends, row: rows.len() });
                rows.extend(t.widths.iter().map(|_| (Row::Wanted, 0.0, 2.0 * MISS)));
            }
        }
        let mut residual = Residual {
            job,
            tables,
            lanes,
            rows: rows.len(),
            program: Program::new(&rows),
            uses: Vec::new(),
            columns: Vec::new(),
            real_cost: Vec::new(),
            known_strips: BTreeSet::new(),
            known_sheets: BTreeSet::new(),
            known_whole: BTreeSet::new(),
            cost,
        };
        residual.plain();
        pool.columns.iter().for_each(|column| residual.learn(column));
        residual
    }

    /// One piece a strip, and sheets of one width: enough to hold anything, so that every price is bounded.
    fn plain(&mut self) {
        for lane in 0..self.lanes.len() {
            let table = &self.tables[self.lanes[lane].table];
            for (width, &(v, to)) in table.widths.iter().enumerate() {
                for e in self.lanes[lane].ends.clone() {
                    let end = &table.ends[e];
                    if v <= end.v {
                        self.take_sheet(lane, end.stock, vec![(width, 1)]);
                    }
                }
                let from = if width == 0 { 0 } else { table.widths[width - 1].1 };
                for item in &table.items[from..to] {
                    if item.u <= table.ends[self.lanes[lane].ends[0]].u {
                        self.take_strip(lane, width, vec![(item.lie, 1)]);
                    }
                }
                for e in self.lanes[lane].ends.clone() {
                    let end = &table.ends[e];
                    if v <= end.v {
                        self.take_sheet(lane, end.stock, vec![(width, (end.v / v) as u32)]);
                    }
                }
            }
        }
    }

    /// Takes a layout apart into strips and a sheet; three stages are taken whole.
    pub(crate) fn learn(&mut self, column: &Column) {
        let pattern = &column.pattern;
        let [strips] = pattern.panels.as_slice() else {
            self.take_whole(column.clone());
            return;
        };
        let lane = self.lanes.iter().position(|lane| {
            let table = &self.tables[lane.table];
            table.view == pattern.view && lane.ends.iter().any(|&e| table.ends[e].stock == pattern.stock)
        });
        let Some(lane) = lane else {
            self.take_whole(column.clone());
            return;
        };
        let table = &self.tables[self.lanes[lane].table];
        let mut places: BTreeMap<usize, u32> = BTreeMap::new();
        let mut found = Vec::new();
        for strip in strips {
            let widest = strip
                .iter()
                .filter_map(|(lie, _)| table.items.iter().find(|i| i.lie == *lie))
                .map(|i| i.v)
                .max()
                .unwrap_or(0);
            let Some(width) = table.widths.iter().position(|w| w.0 == widest) else { return };
            *places.entry(width).or_default() += 1;
            found.push((width, strip.clone()));
        }
        for (width, strip) in found {
            self.take_strip(lane, width, strip);
        }
        self.take_sheet(lane, pattern.stock, places.into_iter().collect());
    }

    fn take_strip(&mut self, lane: usize, width: usize, strip: Strip) -> bool {
        let counts = strip_counts(&strip);
        if counts.is_empty() || !self.known_strips.insert((lane, width, counts.clone())) {
            return false;
        }
        let mut entries: Vec<(usize, f64)> = counts.iter().map(|&(s, n)| (s, n as f64)).collect();
        entries.push((self.lanes[lane].row + width, -1.0));
        self.add(0.0, entries, Use::Strip { lane, width, strip, counts });
        true
    }

    fn take_sheet(&mut self, lane: usize, stock: usize, places: Vec<(usize, u32)>) -> bool {
        if places.is_empty() || !self.known_sheets.insert((stock * self.lanes.len() + lane, places.clone())) {
            return false;
        }
        let row = self.lanes[lane].row;
        let mut entries: Vec<(usize, f64)> = places.iter().map(|&(w, n)| (row + w, f64::from(n))).collect();
        entries.push((self.job.sizes.len() + stock, 1.0));
        self.add(self.cost[stock], entries, Use::Sheet { lane, stock, places });
        true
    }

    fn take_whole(&mut self, column: Column) -> bool {
        if column.counts.is_empty() || !self.known_whole.insert((column.stock(), column.counts.clone())) {
            return false;
        }
        let mut entries: Vec<(usize, f64)> = column.counts.iter().map(|&(s, n)| (s, n as f64)).collect();
        entries.push((self.job.sizes.len() + column.stock(), 1.0));
        self.add(self.cost[column.stock()], entries, Use::Whole(column));
        true
    }

    fn add(&mut self, cost: f64, entries: Vec<(usize, f64)>, what: Use) {
        self.columns.push(self.program.column(cost, entries));
        self.real_cost.push(cost);
        self.uses.push(what);
    }

    /// Keeps out every strip and layout that holds more of a size than is wanted, and every sheet with more places of
    /// a width than there can be strips.
    fn keep_proper(&mut self, wanted: &[i64], taken: &[i64]) {
        let first_row = self.job.sizes.len() + self.job.sheets.len();
        let most: Vec<Vec<i64>> = self.tables.iter().map(|table| table.most_strips(wanted)).collect();
        for (at, what) in self.uses.iter().enumerate() {
            let proper = match what {
                Use::Strip { counts, .. } => counts.iter().all(|&(s, n)| n <= wanted[s]),
                Use::Whole(column) => column.counts.iter().all(|&(s, n)| n <= wanted[s]),
                Use::Sheet { lane, places, .. } => {
                    let Lane { table, row, .. } = self.lanes[*lane];
                    let there = |w: usize| taken[row - first_row + w] + most[table][w];
                    places.iter().all(|&(width, n)| i64::from(n) <= there(width))
                }
            };
            self.program.set_cost(self.columns[at], if proper { self.real_cost[at] } else { BARRED });
        }
    }

    /// Solves for what is wanted, the places already taken and the sheets to be had, pricing at most `rounds` times.
    /// Returns false when it gave up.
    fn solve(
        &mut self,
        wanted: &[i64],
        sheets: &[i64],
        taken: &[i64],
        rounds: usize,
        search: &mut Search,
    ) -> bool {
        // No more sheets than pieces are ever needed: keeps the numbers near each other.
        let enough = wanted.iter().chain(taken).sum::<i64>() + 1;
        let have = sheets.iter().map(|&n| n.clamp(0, enough));
        let right: Vec<f64> = wanted
            .iter()
            .copied()
            .chain(have)
            .chain(taken.iter().copied())
            .map(|n| n.max(0) as f64)
            .collect();
        self.keep_proper(wanted, taken);
        self.program.ask(&right);
        for round in 0..=rounds {
            let before = self.program.work;
            let solved = self.program.solve();
            search.work += (self.program.work - before) / 2;
            if !solved {
                return false;
            }
            if round == rounds || !self.price(wanted, sheets, taken, search) {
                break;
            }
        }
        true
    }

    /// Prices strips, sheets and, with three stages, layouts; false when nothing new is worth its cost.
    fn price(&mut self, wanted: &[i64], have: &[i64], taken: &[i64], search: &mut Search) -> bool {
        let first_row = self.job.sizes.len() + self.job.sheets.len();
        const SURPLUS: f64 = 1e-6 * DEAREST;
        let prices = self.program.prices().to_vec();
        let sizes = &prices[..self.job.sizes.len()];
        let upper = &prices[self.job.sizes.len()..][..self.job.sheets.len()];
        let mut learned = false;
        let any_wanted = wanted.iter().any(|&n| n > 0);
        for (index, table) in self.tables.iter().enumerate() {
            let strips = any_wanted.then(|| table.strips::<f64>(sizes, wanted, &mut search.work));
            for lane in 0..self.lanes.len() {
                let Lane { table: of, along, ref ends, row } = self.lanes[lane];
                if of != index {
                    continue;
                }
                let ends: Vec<usize> =
                    ends.iter().copied().filter(|&e| have[table.ends[e].stock] > 0).collect();
                let Some(&first) = ends.first() else { continue };
                let places = &prices[row..][..table.widths.len()];
                // A sheet holds no more strips than there are or can still be.
                let mut most = table.most_strips(wanted);
                most.iter_mut().zip(&taken[row - first_row..]).for_each(|(m, t)| *m += t);
                if let Some(strips) = &strips {
                    let best = strips.at_end(first);
                    let mut before = 0.0;
                    for (width, &worth) in best.iter().enumerate() {
                        if worth > before + 1e-9 && worth > places[width] + SURPLUS {
                            let strip = strips.strip(width, along);
                            learned |= self.take_strip(lane, width, strip);
                        }
                        before = worth;
                    }
                }
                for &e in &ends {
                    let end = &table.ends[e];
                    let sack = table.panel(places, &most, end, &mut search.work);
                    let allowed = self.cost[end.stock] - upper[end.stock];
                    if sack.best[end.across.len() - 1] > allowed + SURPLUS {
                        let mut found = sack.trace(sack.mark(), end.across.len() - 1);
                        found.sort_unstable();
                        learned |= self.take_sheet(lane, end.stock, found);
                    }
                }
            }
        }
        learned
    }

    /// One dive for a demand within these sheets. `None` when it found no plan within them or the work ran out.
    pub(crate) fn dive(
        &mut self,
        demand: &[i64],
        have: &[i64],
        style: Style,
        search: &mut Search,
    ) -> Option<Vec<(Pattern, u32)>> {
        let mut draw = Seed(style.seed);
        let mut wanted = demand.to_vec();
        let start = have;
        let mut have = have.to_vec();
        let mut jumps = style.jumps;
        let mut taken = vec![0i64; self.rows - self.job.sizes.len() - self.job.sheets.len()];
        let first_row = self.job.sizes.len() + self.job.sheets.len();
        let mut strips: Vec<(usize, usize, Strip)> = Vec::new();
        let mut sheets: Vec<(usize, usize, Places)> = Vec::new();
        let mut layouts: Vec<(Pattern, u32)> = Vec::new();
        loop {
            let open = wanted.iter().any(|&n| n > 0);
            if !open && taken.iter().all(|&n| n <= 0) {
                break;
            }
            let mut solved = self.solve(&wanted, &have, &taken, style.rounds, search);
            if search.slice_over() {
                return None;
            }
            if !solved || self.program.missed() > 1e-6 {
                // Once more with all the pricing it takes; then some strips are taken back.
                solved = self.solve(&wanted, &have, &taken, 50, search);
                if !solved || self.program.missed() > 1e-6 {
                    if jumps == 0 {
                        return None;
                    }
                    jumps -= 1;
                    have.copy_from_slice(start);
                    sheets.clear();
                    wanted.copy_from_slice(demand);
                    taken.fill(0);
                    // Something between a sixth and a half of the strips, by chance.
                    let keep = draw.between(50, 84);
                    strips.retain(|_| draw.between(0, 99) < keep);
                    layouts.retain(|_| draw.between(0, 99) < keep);
                    for (lane, width, strip) in &strips {
                        taken[self.lanes[*lane].row + width - first_row] += 1;
                        strip.iter().for_each(|&(lie, n)| wanted[lie.size] -= i64::from(n));
                    }
                    for (pattern, n) in &layouts {
                        have[pattern.stock] -= i64::from(*n);
                        pattern.counts().iter().for_each(|&(s, c)| wanted[s] -= c * i64::from(*n));
                    }
                    continue;
                }
            }
            let all = self.program.amounts();
            let amounts: Vec<f64> = self.columns.iter().map(|&c| all[c]).collect();
            let candidate = |at: usize| match &self.uses[at] {
                Use::Strip { .. } | Use::Whole(_) => open,
                Use::Sheet { .. } => !open,
            };
            let mut chosen: Vec<(usize, i64)> = (0..amounts.len())
                .filter(|&at| amounts[at] >= 1.0 - 1e-6 && candidate(at))
                .map(|at| (at, (amounts[at] + 1e-6) as i64))
                .collect();
            if chosen.is_empty() {
                let mut best: Option<(f64, usize)> = None;
                for at in (0..amounts.len()).filter(|&at| amounts[at] > 1e-6 && candidate(at)) {
                    let noise = if style.noise > 0.0 {
                        style.noise * (draw.bits() >> 11) as f64 / (1u64 << 53) as f64
                    } else {
                        0.0
                    };
                    let score = amounts[at] + noise;
                    if best.is_none_or(|(known, _)| score > known + 1e-9) {
                        best = Some((score, at));
                    }
                }
                chosen.push((best?.1, 1));
            }
            for (at, times) in chosen {
                match &self.uses[at] {
                    Use::Strip { lane, width, strip, counts } => {
                        let fits = counts.iter().map(|&(s, n)| wanted[s] / n).min().unwrap_or(0);
                        let times = times.min(fits);
                        counts.iter().for_each(|&(s, n)| wanted[s] -= n * times);
                        taken[self.lanes[*lane].row + width - first_row] += times;
                        strips.extend((0..times).map(|_| (*lane, *width, strip.clone())));
                    }
                    Use::Whole(column) => {
                        let fits = column.counts.iter().map(|&(s, n)| wanted[s] / n).min().unwrap_or(0);
                        let times = times.min(fits).min(have[column.stock()]);
                        column.counts.iter().for_each(|&(s, n)| wanted[s] -= n * times);
                        have[column.stock()] -= times;
                        layouts.extend((0..times).map(|_| (column.pattern.clone(), 1)));
                    }
                    Use::Sheet { lane, stock, places } => {
                        let row = self.lanes[*lane].row - first_row;
                        let fits = places.iter().map(|&(w, n)| taken[row + w].div_euclid(i64::from(n)));
                        // Places beyond the strips that are left stay empty: only when nothing else is left to do.
                        let times = times.min(have[*stock]).min(fits.min().unwrap_or(0).max(1));
                        have[*stock] -= times;
                        for &(width, n) in places {
                            let left = &mut taken[self.lanes[*lane].row + width - first_row];
                            *left = (*left - i64::from(n) * times).max(0);
                        }
                        sheets.extend((0..times).map(|_| (*lane, *stock, places.clone())));
                    }
                }
            }
        }
        layouts.extend(self.assemble(strips, &sheets)?);
        Some(layouts)
    }

    /// Puts strips into the places of sheets.
    fn assemble(
        &self,
        mut strips: Vec<(usize, usize, Strip)>,
        sheets: &[(usize, usize, Places)],
    ) -> Option<Vec<(Pattern, u32)>> {
        strips.sort();
        let mut layouts = Vec::new();
        for (lane, stock, places) in sheets {
            let mut panel: Vec<Strip> = Vec::new();
            for &(width, n) in places.iter().rev() {
                for _ in 0..n {
                    if let Some(at) = strips.iter().position(|s| s.0 == *lane && s.1 == width) {
                        panel.push(strips.remove(at).2);
                    }
                }
            }
            if !panel.is_empty() {
                let view = self.tables[self.lanes[*lane].table].view;
                layouts.push((Pattern { stock: *stock, view, panels: vec![panel] }, 1));
            }
        }
        strips.is_empty().then_some(layouts)
    }
}
