//! A knapsack over cells: quick and rough, for searching.
//!
//! An axis is divided into some thousands of cells and every size is rounded up to whole ones, so what it fills
//! truly fits; what rounding costs is a few tenths of a millimetre a piece. What things are worth is rounded to some
//! ten thousand steps. One pass goes through a row of short numbers, many in one instruction ([`crate::wide`]), some
//! twenty times quicker than the exact table of sums in [`crate::knapsack`]; with one row and a bit a cell for what was
//! taken all of it stays near the processor. Nothing found here is a bound.

use crate::wide::{BEFORE, WORD, offer_short, raise_short};

/// How many cells an axis has at most. With 4096 a sheet of 2440 mm has cells of 0.6 mm.
pub(crate) const MOST_CELLS: i64 = 4096;

/// Into how many steps the most that is expected to fit is divided. Beyond [`i16::MAX`] everything counts alike.
const STEPS: f32 = 28_000.0;

/// An item as it went through a pass: some copies at once.
#[derive(Clone, Copy, Debug)]
struct Pass {
    item: usize,
    copies: u32,
    size: usize,
}

/// What is asked of a knapsack of cells. Noting what was taken makes a pass two thirds longer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Asked {
    /// What fillings are worth, within any number of cells.
    #[default]
    Worths,
    /// Fillings, within any number of cells at the end and within all of them before.
    Fillings,
}

/// A knapsack of one row. Where fillings are asked for it notes what was taken in every pass, so that what was best at any
/// time can be traced back.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cells {
    /// The most that fits within so many cells, in steps, after [`BEFORE`] numbers of no meaning; filled up to whole words
    /// of bits.
    row: Vec<i16>,
    /// For each pass one bit a cell: taken there.
    taken: Vec<u64>,
    /// Rows as they were at a [`Mark`], one after the other.
    kept: Vec<i16>,
    asked: Asked,
    passes: Vec<Pass>,
    width: usize,
    /// What a step is worth.
    step: f32,
    /// How many steps there are to one of worth.
    steps: f32,
    /// Cells looked at since it was made.
    pub(crate) work: u64,
}

/// A point in time.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Mark {
    passes: usize,
    /// Where its row is kept, if it is.
    row: Option<usize>,
    /// The most that fits at all, in steps.
    best: i16,
}

impl Cells {
    /// Empties it, for this many cells; no filling is expected to be worth more than `most`.
    pub(crate) fn clear(&mut self, cells: usize, most: f32, asked: Asked) {
        self.width = cells + 1;
        self.asked = asked;
        self.step = most.max(f32::MIN_POSITIVE) / STEPS;
        self.steps = 1.0 / self.step;
        self.passes.clear();
        self.taken.clear();
        self.kept.clear();
        self.row.clear();
        self.row.resize(BEFORE, i16::MIN);
        self.row.resize(BEFORE + self.words() * WORD, 0);
    }

    /// Words of bits that a pass has.
    fn words(&self) -> usize {
        self.width.div_ceil(WORD)
    }

    /// Keeps what is best now, for [`Cells::best_at`] and [`Cells::trace_at`].
    pub(crate) fn mark(&mut self) -> Mark {
        let row = (self.asked == Asked::Worths).then_some(self.kept.len());
        if row.is_some() {
            self.kept.extend_from_slice(&self.row[BEFORE..][..self.width]);
        }
        let best = self.row[BEFORE + self.width - 1];
        Mark { passes: self.passes.len(), row, best }
    }

    /// The most that fits within so many cells.
    pub(crate) fn best(&self, cells: usize) -> f32 {
        f32::from(self.row[BEFORE + cells]) * self.step
    }

    /// Likewise, as it was; where fillings are asked for, the most that fits at all.
    pub(crate) fn best_at(&self, mark: Mark, cells: usize) -> f32 {
        f32::from(mark.row.map_or(mark.best, |row| self.kept[row + cells])) * self.step
    }

    /// Adds up to `copies` of an item, in bundles of 1, 2, 4 and so on.
    pub(crate) fn add(&mut self, item: usize, size: usize, worth: f32, copies: i64) {
        if size == 0 || size >= self.width || worth <= 0.0 {
            return;
        }
        let mut left = copies.min(((self.width - 1) / size) as i64) as u32;
        let mut bundle = 1;
        while left > 0 {
            let copies = bundle.min(left);
            self.pass(Pass { item, copies, size: size * copies as usize }, worth * copies as f32);
            left -= copies;
            bundle *= 2;
        }
    }

    fn pass(&mut self, pass: Pass, worth: f32) {
        // (A float beyond the range becomes the last number in it.)
        let worth = ((worth * self.steps + 0.5) as i16).max(1);
        if self.asked == Asked::Fillings {
            let from = self.taken.len();
            self.taken.resize(from + self.words(), 0);
            offer_short(&mut self.row, &mut self.taken[from..], pass.size, worth);
            self.passes.push(pass);
        } else {
            raise_short(&mut self.row, pass.size, worth);
        }
        // A pass over few cells costs more than its cells.
        self.work += self.width as u64 + 1000;
    }

    /// Which items make up the best filling within so many cells: (item, copies), last first.
    pub(crate) fn trace(&self, cells: usize) -> Vec<(usize, u32)> {
        self.traced(self.passes.len(), cells)
    }

    /// Likewise, as it was.
    pub(crate) fn trace_at(&self, mark: Mark, cells: usize) -> Vec<(usize, u32)> {
        self.traced(mark.passes, cells)
    }

    fn traced(&self, passes: usize, mut cells: usize) -> Vec<(usize, u32)> {
        debug_assert_eq!(self.asked, Asked::Fillings, "what was taken is noted only then");
        let words = self.words();
        let mut found: Vec<(usize, u32)> = Vec::new();
        for at in (0..passes).rev() {
            if self.taken[at * words + cells / WORD] >> (cells % WORD) & 1 == 1 {
                let Pass { item, copies, size } = self.passes[at];
                match found.last_mut() {
                    Some((known, n)) if *known == item => *n += copies,
                    _ => found.push((item, copies)),
                }
                cells -= size;
            }
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fills_and_traces_back() {
        let mut sack = Cells::default();
        // 7 + 5 + 3 = 15 is worth 23; without the seven, 5 and three threes make 14, worth 21.
        for asked in [Asked::Worths, Asked::Fillings] {
            sack.clear(16, 28.0, asked);
            sack.add(0, 3, 4.0, 9);
            sack.add(1, 5, 9.0, 1);
            let early = sack.mark();
            sack.add(2, 7, 10.0, 9);
            assert!((sack.best(16) - 23.0).abs() < 1e-3);
            assert!((sack.best_at(early, 16) - 21.0).abs() < 1e-3);
            if asked == Asked::Worths {
                assert!((sack.best_at(early, 3) - 4.0).abs() < 1e-3);
            } else {
                assert_eq!(sack.trace(16), [(2, 1), (1, 1), (0, 1)]);
                assert_eq!(sack.trace_at(early, 16), [(1, 1), (0, 3)]);
            }
        }
    }
}
