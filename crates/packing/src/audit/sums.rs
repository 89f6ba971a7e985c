//! Reachable sums, and the most worth that fits below each.

/// The check would take more steps or memory than the audit allows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Beyond;

/// Elementary steps that one audit may take: about a minute on a workshop laptop. Shop jobs take a thousandth of it;
/// the budget is there so that a hostile file cannot keep a machine busy.
pub(super) const BUDGET: u64 = 40_000_000_000;

/// Longest list of sums kept. Lengths on a common mark give a few ten thousand.
const MOST_SUMS: usize = 1 << 23;

/// Bits in the widest table of marks; beyond that, sums are merged one by one.
const WIDEST_TABLE: i64 = 1 << 28;

/// What is left of the budget.
#[derive(Clone, Debug)]
pub(super) struct Work(u64);

impl Work {
    pub(super) fn new() -> Work {
        Work(BUDGET)
    }

    pub(super) fn spend(&mut self, steps: usize) -> Result<(), Beyond> {
        self.0 = self.0.checked_sub(steps as u64).ok_or(Beyond)?;
        Ok(())
    }
}

pub(super) fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// All sums of sizes, each taken any number of times, up to a capacity; ascending, the first is zero.
///
/// Sizes are lengths in nanometres, so a table over all lengths is out of the question; but on a saw set to a mark
/// the sums that can occur are few.
#[derive(Clone, Debug)]
pub(super) struct Sums {
    sums: Vec<i64>,
}

impl Sums {
    /// # Errors
    /// When there are more sums than [`MOST_SUMS`].
    pub(super) fn new(
        sizes: impl Iterator<Item = i64>,
        capacity: i64,
        work: &mut Work,
    ) -> Result<Sums, Beyond> {
        let mut sizes: Vec<i64> = sizes.filter(|&s| s > 0 && s <= capacity).collect();
        sizes.sort_unstable();
        sizes.dedup();
        let mark = sizes.iter().fold(0, |g, &s| gcd(g, s.unsigned_abs())).max(1) as i64;
        let marks = capacity.max(0) / mark;
        let sums = if marks < WIDEST_TABLE {
            let sizes: Vec<usize> = sizes.iter().map(|s| (s / mark) as usize).collect();
            by_table(&sizes, marks as usize, work)?.into_iter().map(|i| i * mark).collect()
        } else {
            by_merging(&sizes, capacity, work)?
        };
        Ok(Sums { sums })
    }

    pub(super) fn len(&self) -> usize {
        self.sums.len()
    }

    pub(super) fn last(&self) -> usize {
        self.sums.len() - 1
    }

    pub(super) fn at(&self, index: usize) -> i64 {
        self.sums[index]
    }

    /// The largest sum not above `room`, for `room >= 0`.
    pub(super) fn floor(&self, room: i64) -> usize {
        self.sums.partition_point(|&s| s <= room).saturating_sub(1)
    }
}

fn by_table(sizes: &[usize], marks: usize, work: &mut Work) -> Result<Vec<i64>, Beyond> {
    let mut table = Bits::new(marks + 1);
    for &size in sizes {
        if table.get(size) {
            continue; // a sum of smaller sizes: adds nothing
        }
        // After shifting by 1, 2, 4, ... times the size, every multiple has been added.
        let mut shift = size;
        while shift <= marks {
            work.spend(table.words.len())?;
            table.or_shifted(shift);
            shift *= 2;
        }
    }
    let sums: Vec<i64> = table.ones().take(MOST_SUMS + 1).map(|i| i as i64).collect();
    if sums.len() > MOST_SUMS { Err(Beyond) } else { Ok(sums) }
}

fn by_merging(sizes: &[i64], capacity: i64, work: &mut Work) -> Result<Vec<i64>, Beyond> {
    let mut sums = vec![0i64];
    for &size in sizes {
        let mut merged: Vec<i64> = Vec::with_capacity(sums.len() * 2);
        let (mut old, mut new) = (0, 0);
        loop {
            let grown = merged.get(new).map(|m| m + size).filter(|&s| s <= capacity);
            let next = match (sums.get(old).copied(), grown) {
                (None, None) => break,
                (Some(a), None) => a,
                (None, Some(b)) => b,
                (Some(a), Some(b)) => a.min(b),
            };
            if sums.get(old) == Some(&next) {
                old += 1;
            }
            if grown == Some(next) {
                new += 1;
            }
            merged.push(next);
            if merged.len() > MOST_SUMS {
                return Err(Beyond);
            }
        }
        work.spend(merged.len())?;
        sums = merged;
    }
    Ok(sums)
}

/// A row of bits.
#[derive(Clone, Debug)]
pub(super) struct Bits {
    pub(super) words: Vec<u64>,
    len: usize,
}

impl Bits {
    /// All clear but the first: the empty sum.
    pub(super) fn new(len: usize) -> Bits {
        let mut words = vec![0; len.div_ceil(64).max(1)];
        words[0] = 1;
        Bits { words, len }
    }

    pub(super) fn get(&self, index: usize) -> bool {
        self.words[index / 64] >> (index % 64) & 1 == 1
    }

    /// Sets bit i + shift for every bit i that is set.
    pub(super) fn or_shifted(&mut self, shift: usize) {
        let (words, bits) = (shift / 64, shift % 64);
        for i in (words..self.words.len()).rev() {
            let mut moved = self.words[i - words] << bits;
            if bits > 0 && i > words {
                moved |= self.words[i - words - 1] >> (64 - bits);
            }
            self.words[i] |= moved;
        }
    }

    /// Indices of set bits, ascending.
    pub(super) fn ones(&self) -> impl Iterator<Item = usize> + '_ {
        let bits = |(w, &word): (usize, &u64)| {
            let mut rest = word;
            std::iter::from_fn(move || {
                (rest != 0).then(|| {
                    let bit = rest.trailing_zeros() as usize;
                    rest &= rest - 1;
                    w * 64 + bit
                })
            })
        };
        self.words.iter().enumerate().flat_map(bits).take_while(|&i| i < self.len)
    }
}

/// The most worth that fits below each sum, any number of each thing; where a fence limits a stack of strips, also
/// with one wide thing at most.
///
/// Things are added one kind after another. An entry is the best over all selections of the things added so far with
/// that sum or less, so entries never fall from left to right.
#[derive(Clone, Debug)]
pub(super) struct Stack<'s> {
    sums: &'s Sums,
    /// Without wide things.
    plain: Vec<i64>,
    /// With one wide thing at most; kept only once there is a wide thing.
    one_wide: Option<Vec<i64>>,
}

impl<'s> Stack<'s> {
    pub(super) fn new(sums: &'s Sums) -> Stack<'s> {
        Stack { sums, plain: vec![0; sums.len()], one_wide: None }
    }

    pub(super) fn clear(&mut self) {
        self.plain.fill(0);
        self.one_wide = None;
    }

    /// The best with this sum or less.
    pub(super) fn best(&self, index: usize) -> i64 {
        self.one_wide.as_ref().map_or(self.plain[index], |wide| wide[index])
    }

    /// True when a thing of this size and worth would change nothing: others of that size in all are worth as much.
    pub(super) fn beats(&self, size: i64, worth: i64, wide: bool) -> bool {
        let index = self.sums.floor(size);
        worth <= if wide { self.best(index) } else { self.plain[index] }
    }

    /// Lets this kind of thing be taken.
    pub(super) fn add(&mut self, size: i64, worth: i64, wide: bool, work: &mut Work) -> Result<(), Beyond> {
        let from = self.sums.sums.partition_point(|&s| s < size);
        work.spend(self.sums.len() - from + 1)?;
        if wide {
            let table = self.one_wide.get_or_insert_with(|| self.plain.clone());
            self.sums
                .each(from, size, |i, left| table[i] = table[i].max(self.plain[left].saturating_add(worth)));
            return Ok(());
        }
        let plain = &mut self.plain;
        self.sums.each(from, size, |i, left| plain[i] = plain[i].max(plain[left].saturating_add(worth)));
        if let Some(table) = &mut self.one_wide {
            self.sums.each(from, size, |i, left| table[i] = table[i].max(table[left].saturating_add(worth)));
        }
        Ok(())
    }
}

impl Sums {
    /// Calls `visit(i, left)` for every sum from index `from` up, ascending; `left` is the index of the largest sum
    /// that leaves room for `size`.
    fn each(&self, from: usize, size: i64, mut visit: impl FnMut(usize, usize)) {
        let mut left = 0;
        for (i, &sum) in self.sums.iter().enumerate().skip(from) {
            let room = sum - size;
            while self.sums[left + 1] <= room {
                left += 1;
            }
            visit(i, left);
        }
    }
}
