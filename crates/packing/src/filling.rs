//! Fills one sheet, cut in one way, out of what is left to place.

use crate::cells::{Asked, Cells, Mark};
use crate::generate::Seed;
use crate::normalise::{Lie, View};
use crate::pricing::Strip;
use crate::repack::Keep;

/// A way to fill a kind of sheet: one view of it, in cells.
#[derive(Clone)]
pub(crate) struct Way {
    pub(crate) view: View,
    pub(crate) stock: usize,
    /// (item, u, v), by ascending v.
    pub(crate) items: Vec<(Lie, usize, usize)>,
    pub(crate) u: usize,
    pub(crate) v: usize,
    /// Whether strips may run the whole sheet.
    pub(crate) whole: bool,
    /// Whether there are panels shorter than the sheet, as in three stages.
    pub(crate) panelled: bool,
    /// Lengths in cells of panels that good layouts have, the latest last.
    pub(crate) proved: Vec<usize>,
}

impl Way {
    /// How far a piece reaches along and across. `None` for one that may not lie so here.
    fn extents(&self, lie: Lie) -> Option<(usize, usize)> {
        self.items.iter().find(|item| item.0 == lie).map(|item| (item.1, item.2))
    }

    /// How long a strip is.
    pub(crate) fn along(&self, strip: &Strip) -> Option<usize> {
        strip.iter().map(|&(lie, n)| Some(self.extents(lie)?.0 * n as usize)).sum()
    }

    /// How wide it is: as its widest piece.
    pub(crate) fn across(&self, strip: &Strip) -> Option<usize> {
        strip.iter().map(|&(lie, _)| Some(self.extents(lie)?.1)).try_fold(0, |most, v| Some(most.max(v?)))
    }
}

/// Lengths of panels tried for each panel that is cut.
const PANELS: usize = 40;

/// A panel that comes to this part of what was hoped of it is cut.
const STILL_GOOD: f32 = 0.98;

/// Layouts sought roughly besides the best, for each kind of sheet and way to cut it.
const RUNNERS_UP: usize = 4;

/// Cells along and across in which panels are weighed against each other before one is filled: a quarter and a tenth of
/// those in which it then is.
const ROUGH: (usize, usize) = (1024, 400);

/// The knapsacks of a filling, kept for the next one.
#[derive(Clone, Default)]
pub(crate) struct Sacks {
    along: Cells,
    across: Cells,
    sheet: Cells,
}

impl Sacks {
    /// Cells looked at since this was asked last.
    pub(crate) fn worked(&mut self) -> u64 {
        [&mut self.along, &mut self.across, &mut self.sheet]
            .map(|cells| std::mem::take(&mut cells.work))
            .iter()
            .sum()
    }
}

/// Fills a sheet in one way.
pub(crate) struct Filling<'f> {
    pub(crate) way: &'f Way,
    pub(crate) sacks: &'f mut Sacks,
    pub(crate) draw: &'f mut Seed,
    pub(crate) keep: &'f Keep,
    /// Whether no more pieces are laid on a sheet than are left, or only no more in a strip.
    pub(crate) counted: bool,
}

impl Filling<'_> {
    /// The knapsack along in so many cells: after each width, a mark and the width. Where cells are fewer than the length has,
    /// sizes are rounded to the nearest. It is asked what strips of any length are worth, or which are best in all of it.
    fn lay(
        &mut self,
        (cells, asked): (usize, Asked),
        length: usize,
        room: usize,
        left: &[i64],
        values: &[f32],
    ) -> Vec<(Mark, usize)> {
        let way = self.way;
        let fits = |&&(lie, u, v): &&(Lie, usize, usize)| v <= room && u <= length && left[lie.size] > 0;
        let densest = way.items.iter().filter(fits).map(|&(lie, u, _)| values[lie.size] / u.max(1) as f32);
        self.sacks.along.clear(cells, densest.fold(0.0, f32::max) * length as f32, asked);
        let mut widths: Vec<(Mark, usize)> = Vec::new();
        let mut width = None;
        for (index, &(lie, u, v)) in way.items.iter().enumerate() {
            if v > room {
                break;
            }
            if left[lie.size] <= 0 || u > length || self.keep.barred.binary_search(&lie).is_ok() {
                continue;
            }
            if let Some(width) = width.filter(|&width| width != v) {
                widths.push((self.sacks.along.mark(), width));
            }
            width = Some(v);
            self.sacks.along.add(index, in_cells(u, length, cells), values[lie.size], left[lie.size]);
        }
        widths.extend(width.map(|width| (self.sacks.along.mark(), width)));
        widths
    }

    /// The knapsack across of strips of a length: worth, and (width, how many).
    fn stack(
        &mut self,
        length: usize,
        room: usize,
        widths: &[(Mark, usize)],
        left: &[i64],
    ) -> (f32, Vec<(usize, u32)>) {
        self.stack_in((room, Asked::Fillings), (length, length), room, widths, left);
        (self.sacks.across.best(room), self.sacks.across.trace(room))
    }

    /// The knapsack across in so many cells. `length` is that of the panel, and where it stands in the knapsack along.
    fn stack_in(
        &mut self,
        (cells, asked): (usize, Asked),
        (length, along): (usize, usize),
        room: usize,
        widths: &[(Mark, usize)],
        left: &[i64],
    ) {
        let worths = widths.iter().map(|&(mark, v)| self.sacks.along.best_at(mark, along) / v.max(1) as f32);
        self.sacks.across.clear(cells, worths.fold(0.0, f32::max) * room as f32, asked);
        let mut before = 0.0;
        let items = &self.way.items;
        let mut from = 0;
        for (index, &(mark, v)) in widths.iter().enumerate() {
            let worth = self.sacks.along.best_at(mark, along);
            // A strip is as wide as its widest piece: there are no more of a width than pieces of just that width.
            let mut most = 0;
            while from < items.len() && items[from].2 <= v {
                if items[from].2 == v && items[from].1 <= length {
                    most += left[items[from].0.size].max(0);
                }
                from += 1;
            }
            if worth > before {
                self.sacks.across.add(index, in_cells(v, room, cells), worth, most.min((room / v) as i64));
                if most >= (room / v) as i64 {
                    before = worth;
                }
            }
        }
    }

    /// Strips of a length stacked across the whole sheet, as long as any fits; takes their pieces out of `left`.
    pub(crate) fn strips(&mut self, length: usize, left: &mut [i64], values: &[f32]) -> (f32, Vec<Strip>) {
        self.strips_in((length, self.way.v), left, values)
    }

    /// Likewise, across a part of the sheet.
    pub(crate) fn strips_in(
        &mut self,
        (length, mut room): (usize, usize),
        left: &mut [i64],
        values: &[f32],
    ) -> (f32, Vec<Strip>) {
        let mut strips: Vec<Strip> = Vec::new();
        let mut total = 0.0;
        loop {
            let widths = self.lay((length, Asked::Fillings), length, room, left, values);
            let (_, mut chosen) = self.stack(length, room, &widths, left);
            if chosen.is_empty() {
                return (total, strips);
            }
            chosen.sort_unstable_by(|a, b| b.cmp(a));
            let before = strips.len();
            'chosen: for &(index, n) in &chosen {
                let (mark, width) = widths[index];
                let found = self.sacks.along.trace_at(mark, length);
                let mut strip: Strip = Vec::new();
                for &(item, n) in &found {
                    let lie = self.way.items[item].0;
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
    pub(crate) fn panels(&mut self, left: &[i64], values: &[f32]) -> (f32, Vec<Vec<Strip>>) {
        let mut left = left.to_vec();
        let mut rest = self.way.u;
        let mut panels = Vec::new();
        let mut total = 0.0;
        loop {
            let room = self.way.v;
            let rough = (rest.min(ROUGH.0), room.min(ROUGH.1));
            let widths = self.lay((rough.0, Asked::Worths), rest, room, &left, values);
            if self.sacks.along.best(rough.0) <= 0.0 {
                return (total, panels);
            }
            let worths = self.weigh(rough, rest, &widths, &left);
            let chosen = self.sacks.sheet.trace(rest);
            let mut chosen: Vec<usize> =
                chosen.iter().flat_map(|&(l, n)| std::iter::repeat_n(l, n as usize)).collect();
            chosen.sort_unstable_by(|a, b| b.cmp(a));
            let before = panels.len();
            for length in chosen {
                let mut after = left.clone();
                let (worth, strips) = self.strips(length, &mut after, values);
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
        rest: usize,
        widths: &[(Mark, usize)],
        left: &[i64],
    ) -> Vec<(usize, f32)> {
        let room = self.way.v;
        let mut worths = Vec::new();
        for length in self.lengths(rest, left) {
            self.stack_in((across, Asked::Worths), (length, length * along / rest), room, widths, left);
            worths.push((length, self.sacks.across.best(across)));
        }
        let densest = worths.iter().map(|&(length, worth)| worth / length.max(1) as f32);
        self.sacks.sheet.clear(rest, densest.fold(0.0, f32::max) * rest as f32, Asked::Fillings);
        worths.iter().for_each(|&(length, worth)| self.sacks.sheet.add(length, length, worth, 64));
        worths
    }

    /// Some ways to cut a whole sheet into panels that are worth much, each piece no oftener in a strip than needed.
    pub(crate) fn several_panels(&mut self, need: &[i64], values: &[f32]) -> Vec<Vec<Vec<Strip>>> {
        let (whole, room) = (self.way.u, self.way.v);
        let widths = self.lay((whole, Asked::Worths), whole, room, need, values);
        let mut worths = self.weigh((whole, room), whole, &widths, need);
        let with = |length: usize, worth: f32| worth + self.sacks.sheet.best(whole - length);
        worths.sort_by(|a, b| with(b.0, b.1).total_cmp(&with(a.0, a.1)));
        let mut choices = vec![self.sacks.sheet.trace(whole)];
        for &(length, _) in worths.iter().take(RUNNERS_UP) {
            let mut chosen = self.sacks.sheet.trace(whole - length);
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
                    let (_, strips) = self.strips(length, &mut need.to_vec(), values);
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
    fn lengths(&mut self, rest: usize, left: &[i64]) -> Vec<usize> {
        let Way { items, proved, whole, u, .. } = self.way;
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
}

/// An extent in cells, to the nearest where a whole has fewer of them than it is long.
fn in_cells(extent: usize, whole: usize, cells: usize) -> usize {
    if cells == whole { extent } else { ((extent * cells + whole / 2) / whole).max(1) }
}
