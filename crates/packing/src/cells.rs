//! A knapsack over cells: quick and rough, for searching.
//!
//! An axis is divided into some thousands of cells and every size is rounded up to whole ones, so what it fills
//! truly fits; what rounding costs is a few tenths of a millimetre a piece. One pass is a plain loop over two rows of
//! numbers, which compilers turn into a few wide instructions, some ten times quicker than the exact table of sums in
//! [`crate::knapsack`]. Nothing found here is a bound.

/// How many cells an axis has at most. With 4096 a sheet of 2440 mm has cells of 0.6 mm.
pub(crate) const MOST_CELLS: i64 = 4096;

/// An item as it went through a pass: some copies at once.
#[derive(Clone, Copy, Debug)]
struct Pass {
    item: usize,
    copies: u32,
    size: usize,
}

/// A knapsack that keeps every row, so that what was best at any time can be traced back.
#[derive(Debug, Default)]
pub(crate) struct Cells {
    /// Row after row: the most that fits within so many cells, before the first pass and after each.
    rows: Vec<f32>,
    passes: Vec<Pass>,
    width: usize,
    /// Cells looked at since it was made.
    pub(crate) work: u64,
}

impl Cells {
    /// Empties it, for this many cells.
    pub(crate) fn clear(&mut self, cells: usize) {
        self.width = cells + 1;
        self.passes.clear();
        self.rows.clear();
        self.rows.resize(self.width, 0.0);
    }

    /// How many passes there were: a point in time for [`Cells::best`] and [`Cells::trace`].
    pub(crate) fn mark(&self) -> usize {
        self.passes.len()
    }

    /// The most that fits within so many cells, as it was at `mark`.
    pub(crate) fn best(&self, mark: usize, cells: usize) -> f32 {
        self.rows[mark * self.width + cells]
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
        let from = self.passes.len() * self.width;
        self.rows.extend_from_within(from..from + self.width);
        let (before, after) = self.rows[from..].split_at_mut(self.width);
        let shifted = &before[..self.width - pass.size];
        for (new, below) in after[pass.size..].iter_mut().zip(shifted) {
            let with = below + worth;
            *new = if with > *new { with } else { *new };
        }
        self.passes.push(pass);
        // A pass over few cells costs more than its cells.
        self.work += self.width as u64 + 500;
    }

    /// Which items make up the best filling within so many cells as it was at `mark`: (item, copies), last first.
    pub(crate) fn trace(&self, mark: usize, mut cells: usize) -> Vec<(usize, u32)> {
        let mut found: Vec<(usize, u32)> = Vec::new();
        for at in (0..mark).rev() {
            if self.best(at + 1, cells) > self.best(at, cells) {
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
        sack.clear(16);
        sack.add(0, 3, 4.0, 9);
        sack.add(1, 5, 9.0, 1);
        let early = sack.mark();
        sack.add(2, 7, 10.0, 9);
        // 7 + 5 + 3 = 15 is worth 23; without the seven, 5 and three threes make 14, worth 21.
        assert_eq!(sack.best(sack.mark(), 16), 23.0);
        assert_eq!(sack.trace(sack.mark(), 16), [(2, 1), (1, 1), (0, 1)]);
        assert_eq!(sack.trace(early, 16), [(1, 1), (0, 3)]);
    }
}
