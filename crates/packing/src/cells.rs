//! A knapsack over cells: quick and rough, for searching.
//!
//! An axis is divided into some thousands of cells and every size is rounded up to whole ones, so what it fills
//! truly fits; what rounding costs is a few tenths of a millimetre a piece. What things are worth is rounded to some
//! ten thousand steps. One pass is a plain loop over two rows of short numbers, which compilers turn into a few wide
//! instructions, some twenty times quicker than the exact table of sums in [`crate::knapsack`]. Nothing found here is a
//! bound.

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

/// A knapsack that keeps every row, so that what was best at any time can be traced back.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cells {
    /// Row after row: the most that fits within so many cells, before the first pass and after each, in steps.
    rows: Vec<i16>,
    passes: Vec<Pass>,
    width: usize,
    /// What a step is worth.
    step: f32,
    /// How many steps there are to one of worth.
    steps: f32,
    /// Cells looked at since it was made.
    pub(crate) work: u64,
}

impl Cells {
    /// Empties it, for this many cells; no filling is expected to be worth more than `most`.
    pub(crate) fn clear(&mut self, cells: usize, most: f32) {
        self.width = cells + 1;
        self.step = most.max(f32::MIN_POSITIVE) / STEPS;
        self.steps = 1.0 / self.step;
        self.passes.clear();
        if self.rows.len() < self.width {
            self.rows.resize(self.width, 0);
        }
        self.rows[..self.width].fill(0);
    }

    /// How many passes there were: a point in time for [`Cells::best`] and [`Cells::trace`].
    pub(crate) fn mark(&self) -> usize {
        self.passes.len()
    }

    /// The most that fits within so many cells, as it was at `mark`.
    pub(crate) fn best(&self, mark: usize, cells: usize) -> f32 {
        f32::from(self.rows[mark * self.width + cells]) * self.step
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
        let from = self.passes.len() * self.width;
        if self.rows.len() < from + 2 * self.width {
            self.rows.resize(from + 2 * self.width, 0);
        }
        let (before, after) = self.rows[from..from + 2 * self.width].split_at_mut(self.width);
        let (low, high) = after.split_at_mut(pass.size);
        low.copy_from_slice(&before[..pass.size]);
        let shifted = &before[..self.width - pass.size];
        crate::wide::offer_short(high, &before[pass.size..], shifted, worth);
        self.passes.push(pass);
        // A pass over few cells costs more than its cells.
        self.work += self.width as u64 + 1000;
    }

    /// Which items make up the best filling within so many cells as it was at `mark`: (item, copies), last first.
    pub(crate) fn trace(&self, mark: usize, mut cells: usize) -> Vec<(usize, u32)> {
        let mut found: Vec<(usize, u32)> = Vec::new();
        for at in (0..mark).rev() {
            if self.rows[(at + 1) * self.width + cells] > self.rows[at * self.width + cells] {
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
        sack.clear(16, 28.0);
        sack.add(0, 3, 4.0, 9);
        sack.add(1, 5, 9.0, 1);
        let early = sack.mark();
        sack.add(2, 7, 10.0, 9);
        // 7 + 5 + 3 = 15 is worth 23; without the seven, 5 and three threes make 14, worth 21.
        assert!((sack.best(sack.mark(), 16) - 23.0).abs() < 1e-3);
        assert_eq!(sack.trace(sack.mark(), 16), [(2, 1), (1, 1), (0, 1)]);
        assert_eq!(sack.trace(early, 16), [(1, 1), (0, 3)]);
    }
}
