//! Whole layouts by taking sheets apart and filling them again.
//!
//! A sheet is *filled* from what is left to place: the best strip of every width (one knapsack along), then the best
//! strips together (one across), each strip no oftener than its pieces are left; again with what is left of the sheet,
//! until nothing fits. What a piece is worth there is its price in the fractional plan, varied by chance, so that every
//! filling is near the best and no two are alike.
//!
//! A packing of given sheets is bettered a few sheets at a time: their pieces are taken out and the sheets are filled
//! again, in another order, from these and from what had found no place yet. A tight sheet filled first leaves its waste
//! to the last one, and so, step by step, waste gathers until the last piece finds its place.

use crate::budget::Search;
use crate::cells::{Cells, MOST_CELLS};
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

/// A way to fill a kind of sheet: one view of it, in cells.
struct Way {
    view: View,
    stock: usize,
    /// (item, u, v), by ascending v.
    items: Vec<(Lie, usize, usize)>,
    u: usize,
    v: usize,
    /// Whether strips may run the whole sheet.
    whole: bool,
    /// Whether there are panels shorter than the sheet, as in three stages.
    panelled: bool,
    /// Lengths in cells of panels that good layouts have, the latest last.
    proved: Vec<usize>,
}

/// Filling and filling again.
pub(crate) struct Repack<'a> {
    job: &'a Job,
    ways: Vec<Way>,
    cost: Vec<f64>,
    /// What a piece of each size is worth.
    worth: Vec<f64>,
    /// What missing a piece of each size counts for: no less than by its area.
    missed: Vec<f64>,
    /// Whether no more pieces are laid on a sheet than are left, or only no more in a strip.
    counted: bool,
    along: Cells,
    across: Cells,
    sheet: Cells,
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

/// Lengths of panels tried for each panel that is cut.
const PANELS: usize = 40;

/// A panel that comes to this part of what was hoped of it is cut.
const STILL_GOOD: f32 = 0.98;

/// Layouts sought roughly besides the best, for each kind of sheet and way to cut it.
const RUNNERS_UP: usize = 4;

/// Cells along and across in which panels are weighed against each other before one is filled: a quarter and a tenth of
/// those in which it then is.
const ROUGH: (usize, usize) = (1024, 400);

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
            counted: true,
            along: Cells::default(),
            across: Cells::default(),
            sheet: Cells::default(),
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
        self.counted = false;
        let mut found = Vec::new();
        for at in 0..self.ways.len() {
            if self.ways[at].panelled {
                for panels in self.several_panels(at, need, &values) {
                    found.push(Pattern { stock: self.ways[at].stock, view: self.ways[at].view, panels });
                }
            }
        }
        self.counted = true;
        self.spend(search);
        found
    }

    /// Remembers the lengths of the panels of a good layout.
    pub(crate) fn approve(&mut self, pattern: &Pattern) {
        for way in self.ways.iter_mut().filter(|way| way.view == pattern.view && way.panelled) {
            let extent = |lie: Lie| way.items.iter().find(|i| i.0 == lie).map(|i| i.1);
            for panel in &pattern.panels {
                let strip = |strip: &Strip| {
                    strip.iter().map(|&(lie, n)| Some(extent(lie)? * n as usize)).sum::<Option<usize>>()
                };
                let Some(length) = panel.iter().map(strip).max().flatten() else { continue };
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
        search.work += A_SHEET + (self.along.work + self.across.work + self.sheet.work) / CELLS_A_UNIT;
        (self.along.work, self.across.work, self.sheet.work) = (0, 0, 0);
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
        for at in 0..self.ways.len() {
            let view = self.ways[at].view;
            if self.ways[at].stock != stock || self.keep.view.is_some_and(|only| only != view) {
                continue;
            }
            if self.ways[at].whole {
                let mut left = left.to_vec();
                let length = self.ways[at].u;
                let (worth, strips) = self.strips(at, length, &mut left, values);
                if worth > best.as_ref().map_or(0.0, |b| b.0) {
                    best = Some((worth, view, vec![strips]));
                }
            }
            if self.ways[at].panelled && !self.keep.flat {
                let (worth, panels) = self.panels(at, left, values);
                if worth > best.as_ref().map_or(0.0, |b| b.0) {
                    best = Some((worth, view, panels));
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

    /// The knapsack along: after each width, a mark and the width.
    fn lay(
        &mut self,
        way: usize,
        length: usize,
        room: usize,
        left: &[i64],
        values: &[f32],
    ) -> Vec<(usize, usize)> {
        self.lay_in(length, way, length, room, left, values)
    }

    /// Likewise in so many cells; where they are fewer than the length has, sizes are rounded to the nearest.
    fn lay_in(
        &mut self,
        cells: usize,
        way: usize,
        length: usize,
        room: usize,
        left: &[i64],
        values: &[f32],
    ) -> Vec<(usize, usize)> {
        let way = &self.ways[way];
        let fits = |&&(lie, u, v): &&(Lie, usize, usize)| v <= room && u <= length && left[lie.size] > 0;
        let densest = way.items.iter().filter(fits).map(|&(lie, u, _)| values[lie.size] / u.max(1) as f32);
        self.along.clear(cells, densest.fold(0.0, f32::max) * length as f32);
        let mut widths: Vec<(usize, usize)> = Vec::new();
        for (index, &(lie, u, v)) in way.items.iter().enumerate() {
            if v > room {
                break;
            }
            if left[lie.size] <= 0 || u > length || self.keep.barred.binary_search(&lie).is_ok() {
                continue;
            }
            self.along.add(index, in_cells(u, length, cells), values[lie.size], left[lie.size]);
            match widths.last_mut() {
                Some((mark, width)) if *width == v => *mark = self.along.mark(),
                _ => widths.push((self.along.mark(), v)),
            }
        }
        widths
    }

    /// The knapsack across of strips of a length: worth, and (width, how many).
    fn stack(
        &mut self,
        way: usize,
        length: usize,
        room: usize,
        widths: &[(usize, usize)],
        left: &[i64],
    ) -> (f32, Vec<(usize, u32)>) {
        self.stack_in(room, way, (length, length), room, widths, left);
        let mark = self.across.mark();
        (self.across.best(mark, room), self.across.trace(mark, room))
    }

    /// The knapsack across in so many cells. `length` is that of the panel, and where it stands in the knapsack along.
    fn stack_in(
        &mut self,
        cells: usize,
        way: usize,
        (length, along): (usize, usize),
        room: usize,
        widths: &[(usize, usize)],
        left: &[i64],
    ) {
        let worths = widths.iter().map(|&(mark, v)| self.along.best(mark, along) / v.max(1) as f32);
        self.across.clear(cells, worths.fold(0.0, f32::max) * room as f32);
        let mut before = 0.0;
        let items = &self.ways[way].items;
        let mut from = 0;
        for (index, &(mark, v)) in widths.iter().enumerate() {
            let worth = self.along.best(mark, along);
            // A strip is as wide as its widest piece: there are no more of a width than pieces of just that width.
            let mut most = 0;
            while from < items.len() && items[from].2 <= v {
                if items[from].2 == v && items[from].1 <= length {
                    most += left[items[from].0.size].max(0);
                }
                from += 1;
            }
            if worth > before {
                self.across.add(index, in_cells(v, room, cells), worth, most.min((room / v) as i64));
                if most >= (room / v) as i64 {
                    before = worth;
                }
            }
        }
    }

    /// Strips of a length stacked across the whole sheet, as long as any fits; takes their pieces out of `left`.
    fn strips(&mut self, way: usize, length: usize, left: &mut [i64], values: &[f32]) -> (f32, Vec<Strip>) {
        let mut room = self.ways[way].v;
        let mut strips: Vec<Strip> = Vec::new();
        let mut total = 0.0;
        loop {
            let widths = self.lay(way, length, room, left, values);
            let (_, mut chosen) = self.stack(way, length, room, &widths, left);
            if chosen.is_empty() {
                return (total, strips);
            }
            chosen.sort_unstable_by(|a, b| b.cmp(a));
            let before = strips.len();
            'chosen: for &(index, n) in &chosen {
                let (mark, width) = widths[index];
                let found = self.along.trace(mark, length);
                let mut strip: Strip = Vec::new();
                for &(item, n) in &found {
                    let lie = self.ways[way].items[item].0;
                    match strip.iter_mut().find(|(known, _)| *known == lie) {
                        Some((_, more)) => *more += n,
                        None => strip.push((lie, n)),
                    }
                }
                strip.sort_unstable();
                for _ in 0..n {
                    let mut wanted = 0;
                    for &(lie, n) in &strip {
                        wanted += i64::from(left[lie.size] < i64::from(n));
                    }
                    // Turned and unturned pieces of a size may ask for more together than each alone.
                    let both = |&(lie, n): &(Lie, u32)| {
                        let other: u32 =
                            strip.iter().filter(|(o, _)| o.size == lie.size && *o != lie).map(|o| o.1).sum();
                        left[lie.size] < i64::from(n + other)
                    };
                    if wanted > 0 || strip.iter().any(both) {
                        if strips.len() > before {
                            break 'chosen;
                        }
                        // Too many of a turning piece: leave some out, so that there is always a step.
                        self.trim(&mut strip, left);
                    }
                    if strip.is_empty() {
                        return (total, strips);
                    }
                    for &(lie, n) in &strip {
                        left[lie.size] -= if self.counted { i64::from(n) } else { 0 };
                        total += values[lie.size] * n as f32;
                    }
                    room -= width;
                    strips.push(strip.clone());
                }
            }
        }
    }

    fn trim(&self, strip: &mut Strip, left: &[i64]) {
        let mut left = left.to_vec();
        for (lie, n) in strip.iter_mut() {
            *n = (i64::from(*n).min(left[lie.size])).max(0) as u32;
            left[lie.size] -= i64::from(*n);
        }
        strip.retain(|s| s.1 > 0);
    }

    /// Panels one after the other along the sheet: of some lengths, the one whose strips make the best of it
    /// together with what the rest of the sheet may hold.
    fn panels(&mut self, way: usize, left: &[i64], values: &[f32]) -> (f32, Vec<Vec<Strip>>) {
        let mut left = left.to_vec();
        let mut rest = self.ways[way].u;
        let mut panels = Vec::new();
        let mut total = 0.0;
        loop {
            let room = self.ways[way].v;
            let rough = (rest.min(ROUGH.0), room.min(ROUGH.1));
            let widths = self.lay_in(rough.0, way, rest, room, &left, values);
            let Some(&(mark, _)) = widths.last() else { return (total, panels) };
            if self.along.best(mark, rough.0) <= 0.0 {
                return (total, panels);
            }
            let worths = self.weigh(rough, way, rest, &widths, &left);
            let chosen = self.sheet.trace(self.sheet.mark(), rest);
            let mut chosen: Vec<usize> =
                chosen.iter().flat_map(|&(l, n)| std::iter::repeat_n(l, n as usize)).collect();
            chosen.sort_unstable_by(|a, b| b.cmp(a));
            let before = panels.len();
            for length in chosen {
                let mut after = left.clone();
                let (worth, strips) = self.strips(way, length, &mut after, values);
                let hoped = worths.iter().find(|known| known.0 == length).map_or(0.0, |known| known.1);
                // Once the panels before have taken what this one was chosen for, others may do better.
                if strips.is_empty() || panels.len() > before && worth < STILL_GOOD * hoped {
                    break;
                }
                left = after;
                total += worth;
                panels.push(strips);
                rest -= length;
            }
            if panels.len() == before {
                return (total, panels);
            }
        }
    }

    /// About what panels of some lengths are worth, in so many cells along and across, and the knapsack of them along what
    /// is left of the sheet.
    fn weigh(
        &mut self,
        (along, across): (usize, usize),
        way: usize,
        rest: usize,
        widths: &[(usize, usize)],
        left: &[i64],
    ) -> Vec<(usize, f32)> {
        let room = self.ways[way].v;
        let mut worths = Vec::new();
        for length in self.lengths(way, rest, left) {
            self.stack_in(across, way, (length, length * along / rest), room, widths, left);
            worths.push((length, self.across.best(self.across.mark(), across)));
        }
        let densest = worths.iter().map(|&(length, worth)| worth / length.max(1) as f32);
        self.sheet.clear(rest, densest.fold(0.0, f32::max) * rest as f32);
        worths.iter().for_each(|&(length, worth)| self.sheet.add(length, length, worth, 64));
        worths
    }

    /// Some ways to cut a whole sheet into panels that are worth much, each piece no oftener in a strip than needed.
    fn several_panels(&mut self, way: usize, need: &[i64], values: &[f32]) -> Vec<Vec<Vec<Strip>>> {
        let (whole, room) = (self.ways[way].u, self.ways[way].v);
        let widths = self.lay(way, whole, room, need, values);
        let mut worths = self.weigh((whole, room), way, whole, &widths, need);
        let mark = self.sheet.mark();
        let with = |length: usize, worth: f32| worth + self.sheet.best(mark, whole - length);
        worths.sort_by(|a, b| with(b.0, b.1).total_cmp(&with(a.0, a.1)));
        let mut choices = vec![self.sheet.trace(mark, whole)];
        for &(length, _) in worths.iter().take(RUNNERS_UP) {
            let mut chosen = self.sheet.trace(mark, whole - length);
            match chosen.iter_mut().find(|known| known.0 == length) {
                Some(known) => known.1 += 1,
                None => chosen.push((length, 1)),
            }
            chosen.sort_unstable_by(|a, b| b.cmp(a));
            if !choices.contains(&chosen) {
                choices.push(chosen);
            }
        }
        let mut known: Vec<(usize, Vec<Strip>)> = Vec::new();
        let mut cuts = Vec::new();
        for chosen in choices {
            let mut panels = Vec::new();
            for (length, times) in chosen {
                let at = known.iter().position(|known| known.0 == length).unwrap_or_else(|| {
                    let (_, strips) = self.strips(way, length, &mut need.to_vec(), values);
                    known.push((length, strips));
                    known.len() - 1
                });
                panels.extend(std::iter::repeat_n(known[at].1.clone(), times as usize));
            }
            cuts.push(panels);
        }
        cuts
    }

    /// Lengths to try for a panel: those that good layouts have, and sums of a few pieces by chance, along the panel
    /// or along what it leaves.
    fn lengths(&mut self, way: usize, rest: usize, left: &[i64]) -> Vec<usize> {
        let Way { items, proved, whole, u, .. } = &self.ways[way];
        let sizes: Vec<usize> =
            items.iter().filter(|i| left[i.0.size] > 0 && i.1 <= rest).map(|i| i.1).collect();
        let mut lengths: Vec<usize> = proved.iter().copied().filter(|&l| l <= rest).collect();
        // What is laid out at once is tried with more panels than one of a thousand fillings of a dive.
        let most = if self.counted { PANELS / 2 } else { PANELS };
        while lengths.len() > most / 2 {
            let drop = self.draw.between(0, lengths.len() as i64 - 1) as usize;
            lengths.swap_remove(drop);
        }
        for _ in 0..most - lengths.len() {
            if sizes.is_empty() {
                break;
            }
            let mut sum = 0;
            for _ in 0..self.draw.low(1, 3) {
                let more = sum + sizes[self.draw.between(0, sizes.len() as i64 - 1) as usize];
                sum = if more <= rest { more } else { sum };
            }
            let length = if self.draw.between(0, 3) == 0 { rest - sum } else { sum };
            lengths.extend((length > 0).then_some(length));
        }
        let (whole, u) = (*whole, *u);
        // The whole rest, when strips may run it.
        if whole || rest < u {
            lengths.push(rest);
        }
        lengths.sort_unstable();
        lengths.dedup();
        lengths
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
            let empty = Filled {
                pattern: Pattern { stock, view, panels: Vec::new() },
                counts: Vec::new(),
                worth: 0.0,
            };
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
            let many = self.draw.between(1, 5).min(sheets.len() as i64) as usize;
            let mut picked = self.pick(&sheets, many);
            let mut loose = left.clone();
            picked.iter().for_each(|&at| sheets[at].counts.iter().for_each(|&(s, n)| loose[s] += n));
            // In an order by chance.
            for at in (1..picked.len()).rev() {
                let with = self.draw.between(0, at as i64) as usize;
                picked.swap(at, with);
            }
            let values = self.varied();
            let mut new = Vec::new();
            for &at in &picked {
                let stock = sheets[at].pattern.stock;
                let filled = self.fill(stock, &loose, &values, search).unwrap_or_else(|| Filled {
                    pattern: Pattern { stock, view: sheets[at].pattern.view, panels: Vec::new() },
                    counts: Vec::new(),
                    worth: 0.0,
                });
                filled.counts.iter().for_each(|&(s, n)| loose[s] -= n);
                new.push(filled);
            }
            let now = worth(&loose, &self.worth);
            let slack = 2.0 * self.chance();
            if now <= missing + slack {
                missing = now;
                left = loose;
                picked.iter().zip(new).for_each(|(&at, filled)| sheets[at] = filled);
            }
        }
        Some(layouts(sheets))
    }
}

/// An extent in cells, to the nearest where a whole has fewer of them than it is long.
fn in_cells(extent: usize, whole: usize, cells: usize) -> usize {
    if cells == whole { extent } else { ((extent * cells + whole / 2) / whole).max(1) }
}

/// As a plan's layouts.
pub(crate) fn layouts(sheets: Vec<Filled>) -> Vec<(Pattern, u32)> {
    sheets.into_iter().filter(|s| !s.counts.is_empty()).map(|s| (s.pattern, 1)).collect()
}
