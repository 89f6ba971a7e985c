//! One knapsack, used at every level: pieces along a strip, strips across a panel, panels along a sheet.
//!
//! Its table has no entry for every nanometre but one for every sum that sizes can reach: a strip that is filled to
//! a length no sum reaches is as good as one filled to the next lower sum. With thirty sizes of furniture parts
//! these sums are some thousands, on any unit.
//!
//! Where sizes are whole millimetres, and so all multiples of a fifth of one with the kerf, most multiples are sums. There the
//! table has them all: the entry that an item is added to then stands a fixed way off, and one instruction adds it to
//! several entries ([`crate::wide`]). That is some six times as quick as looking up where each sum goes.

use std::collections::BTreeMap;
use std::ops::{Add, Deref};
use std::sync::{Arc, Mutex, PoisonError};

use crate::wide;

/// What a piece is worth: a float while prices are sought, a whole number when a bound is to be stated.
pub(crate) trait Worth: Copy + PartialOrd + Default + Add<Output = Self> + Send + Sync {
    /// Worth of several.
    fn times(self, n: i64) -> Self;

    /// This much for every `per`, over `whole`: never less than it is.
    fn share(self, whole: i64, per: i64) -> Self;
}

impl Worth for f64 {
    fn times(self, n: i64) -> f64 {
        self * n as f64
    }

    fn share(self, whole: i64, per: i64) -> f64 {
        self * (whole as f64 / per as f64)
    }
}

impl Worth for i64 {
    fn times(self, n: i64) -> i64 {
        self.saturating_mul(n)
    }

    fn share(self, whole: i64, per: i64) -> i64 {
        let exact = (i128::from(self) * i128::from(whole) + i128::from(per) - 1) / i128::from(per);
        i64::try_from(exact).unwrap_or(i64::MAX)
    }
}

/// One item, or a bundle of copies of one, as it went through the table.
#[derive(Clone, Copy, Debug)]
struct Pass {
    item: usize,
    size: i64,
    copies: i64,
    /// Whether it may be taken again and again.
    again: bool,
}

/// Ascending sums, the first zero, over which many knapsacks are filled with much the same sizes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sums {
    sums: Vec<i64>,
    /// Whether they are all whole numbers up to the last.
    whole: bool,
    /// By size, where they are not.
    rests: Arc<Mutex<BTreeMap<i64, Arc<[u32]>>>>,
}

impl From<Vec<i64>> for Sums {
    fn from(sums: Vec<i64>) -> Self {
        let whole = sums.last().is_some_and(|&last| last + 1 == sums.len() as i64);
        Sums { sums, whole, rests: Arc::default() }
    }
}

impl Deref for Sums {
    type Target = [i64];

    fn deref(&self) -> &[i64] {
        &self.sums
    }
}

/// Whole numbers take the place of sums that are no fewer than one in so many: a table over all of them is one plain loop,
/// several entries at a time, where sums are looked up one by one.
const WHOLE: usize = 6;

impl Sums {
    /// These sums, or all whole numbers up to the last where that is quicker.
    pub(crate) fn quickest(sums: Vec<i64>) -> Self {
        match sums.last() {
            Some(&last) if last / (sums.len() * WHOLE) as i64 == 0 => (0..=last).collect::<Vec<i64>>().into(),
            _ => sums.into(),
        }
    }

    /// For every sum from the `first` that holds a size on: the index of the sum that is left when the size is set aside.
    fn rests(&self, size: i64, first: usize) -> Arc<[u32]> {
        // (Nothing panics while it holds the lock; what is there is whole.)
        let mut known = self.rests.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(rests) = known.get(&size) {
            return rests.clone();
        }
        let mut below = 0;
        let rest = |sum: &i64| {
            while self.sums[below + 1] <= sum - size {
                below += 1;
            }
            below as u32
        };
        let rests: Arc<[u32]> = self.sums[first..].iter().map(rest).collect();
        if (known.len() + 1) * self.sums.len() <= MOST_RESTS {
            known.insert(size, rests.clone());
        }
        rests
    }
}

/// Rests kept by a list of sums: 4 MB, enough for some hundred sizes over ten thousand sums. Others are made anew each time.
const MOST_RESTS: usize = 1 << 20;

/// How many entries of a table over whole numbers are looked at in the time of one over sums, and what a pass over them
/// costs besides. Without what was taken it is half of that.
const AT_ONCE: usize = 4;
const A_PASS: usize = 40;

/// A knapsack to which items are added one after the other; what was best at any time can be traced back.
pub(crate) struct Knapsack<'a, T> {
    sums: &'a Sums,
    /// The most that fits within each sum.
    pub(crate) best: Vec<T>,
    /// What `best` was before the last pass.
    before: Vec<T>,
    passes: Vec<Pass>,
    /// For each pass one bit a sum: taken there.
    taken: Vec<u64>,
    words: usize,
    /// Whether it can be traced back.
    traced: bool,
}

impl<'a, T: Worth> Knapsack<'a, T> {
    pub(crate) fn new(sums: &'a Sums) -> Self {
        let best = vec![T::default(); sums.len()];
        let before = if sums.whole { best.clone() } else { Vec::new() };
        let words = sums.len().div_ceil(64);
        Knapsack { sums, best, before, passes: Vec::new(), taken: Vec::new(), words, traced: true }
    }

    /// Only for what is best, not for what it is made of.
    pub(crate) fn untraced(sums: &'a Sums) -> Self {
        Knapsack { traced: !sums.whole, ..Knapsack::new(sums) }
    }

    /// The greatest of the sums.
    pub(crate) fn room(&self) -> i64 {
        self.sums[self.sums.len() - 1]
    }

    /// How many items have gone through: pass to [`Knapsack::trace`] to see what was best at this time.
    pub(crate) fn mark(&self) -> usize {
        self.passes.len()
    }

    /// Adds an item that may be taken up to `most` times.
    pub(crate) fn add(&mut self, item: usize, size: i64, worth: T, most: i64) {
        let last = self.room();
        let fits = last / size;
        if fits == 0 || most <= 0 || worth <= T::default() {
            return;
        }
        if most >= fits {
            self.pass(Pass { item, size, copies: 1, again: true }, worth);
            return;
        }
        // Bundles of 1, 2, 4, .. copies and the rest give every number up to `most`.
        let (mut left, mut bundle) = (most, 1);
        while left > 0 {
            let copies = bundle.min(left);
            let size = size * copies;
            if size <= last {
                self.pass(Pass { item, size, copies, again: false }, worth.times(copies));
            }
            left -= copies;
            bundle *= 2;
        }
    }

    fn pass(&mut self, pass: Pass, worth: T) {
        let Pass { size, again, .. } = pass;
        self.passes.push(pass);
        let from = self.taken.len();
        if self.traced {
            self.taken.resize(from + self.words, 0);
        }
        if self.sums.whole {
            std::mem::swap(&mut self.before, &mut self.best);
            let (before, best) = (&self.before, &mut self.best);
            if again {
                wide::offer_again(best, before, size as usize, worth);
            } else {
                wide::offer(best, before, size as usize, worth);
            }
            if self.traced {
                wide::mark_greater(&mut self.taken[from..], best, before);
            }
        } else if again {
            self.take_again(from, size, worth);
        } else {
            self.take_once(from, size, worth);
        }
    }

    fn take_again(&mut self, from: usize, size: i64, worth: T) {
        let sums = self.sums;
        let (taken, best) = (&mut self.taken[from..], &mut self.best[..sums.len()]);
        let first = sums.partition_point(|&s| s < size);
        let rests = sums.rests(size, first);
        for (word, marks) in taken.iter_mut().enumerate().skip(first / 64) {
            let mut bits = 0;
            for k in first.max(64 * word)..sums.len().min(64 * word + 64) {
                let with = best[rests[k - first] as usize] + worth;
                let better = with > best[k];
                best[k] = if better { with } else { best[k] };
                bits |= u64::from(better) << (k % 64);
            }
            *marks = bits;
        }
    }

    fn take_once(&mut self, from: usize, size: i64, worth: T) {
        let sums = self.sums;
        let (taken, best) = (&mut self.taken[from..], &mut self.best[..sums.len()]);
        let first = sums.partition_point(|&s| s < size);
        let rests = sums.rests(size, first);
        for (word, marks) in taken.iter_mut().enumerate().skip(first / 64).rev() {
            let mut bits = 0;
            for k in (first.max(64 * word)..sums.len().min(64 * word + 64)).rev() {
                let with = best[rests[k - first] as usize] + worth;
                let better = with > best[k];
                best[k] = if better { with } else { best[k] };
                bits |= u64::from(better) << (k % 64);
            }
            *marks = bits;
        }
    }

    /// Which items make up the best filling of `sums[k]` as it was at `mark`: (item, copies), last added first.
    pub(crate) fn trace(&self, mark: usize, mut k: usize) -> Vec<(usize, u32)> {
        let mut found: Vec<(usize, u32)> = Vec::new();
        for pass in (0..mark).rev() {
            let Pass { item, size, copies, again } = self.passes[pass];
            while self.taken[pass * self.words + k / 64] >> (k % 64) & 1 == 1 {
                match found.last_mut() {
                    Some((known, n)) if *known == item => *n += copies as u32,
                    _ => found.push((item, copies as u32)),
                }
                k = if self.sums.whole { k - size as usize } else { floor(self.sums, self.sums[k] - size) };
                if !again {
                    break;
                }
            }
        }
        found
    }

    /// Work done so far, in table entries looked at one by one.
    pub(crate) fn work(&self) -> u64 {
        let entries = self.sums.len();
        let pass = match (self.sums.whole, self.traced) {
            (false, _) => entries,
            (true, true) => A_PASS + entries / AT_ONCE,
            (true, false) => (A_PASS + entries / AT_ONCE) / 2,
        };
        (self.passes.len() * pass) as u64
    }
}

/// Index of the greatest sum not above `limit`; sums start at zero and `limit` is not below it.
pub(crate) fn floor(sums: &[i64], limit: i64) -> usize {
    sums.partition_point(|&s| s <= limit) - 1
}

/// Every sum up to `limit` of sizes, each taken at most so many times: ascending, from zero.
/// `None` when there are more than `most_sums` of them.
pub(crate) fn reachable(sizes: &[(i64, i64)], limit: i64, most_sums: usize) -> Option<Vec<i64>> {
    /// Up to this limit a plain bit array is smaller and faster than a sorted list.
    const DENSE: i64 = 1 << 20;
    if limit <= DENSE {
        let mut used = vec![u32::MAX; limit as usize + 1];
        used[0] = 0;
        for &(size, most) in sizes {
            for at in 0..=limit as usize {
                if used[at] != u32::MAX {
                    used[at] = 0;
                } else if let Some(below) = at.checked_sub(size as usize)
                    && used[below] != u32::MAX
                    && i64::from(used[below]) < most
                {
                    used[at] = used[below] + 1;
                }
            }
        }
        let sums: Vec<i64> = (0..=limit).filter(|&at| used[at as usize] != u32::MAX).collect();
        return (sums.len() <= most_sums).then_some(sums);
    }
    let mut sums = vec![0];
    for &(size, most) in sizes {
        let mut layer = sums.clone();
        for _ in 0..most.min(limit / size) {
            layer.retain(|&s| s <= limit - size);
            layer.iter_mut().for_each(|s| *s += size);
            let before = sums.len();
            sums.extend_from_slice(&layer);
            sums.sort_unstable();
            sums.dedup();
            if sums.len() == before {
                break;
            }
            if sums.len() > most_sums {
                return None;
            }
        }
    }
    Some(sums)
}

/// The sums that are enough to know what is best within each of `limits`, these included.
///
/// Of the sums above half a limit only those matter that leave room for a sum: if `s` is set aside first, what is
/// left is `limit - s`, and so on. So the sums up to half the limit and what these leave of it are enough (reduced
/// raster points: Scheithauer and Terno 1996). With several limits this is done for each, unless plain sums are fewer.
pub(crate) fn raster(sums: &[i64], limits: &[i64]) -> Vec<i64> {
    let longest = limits.iter().copied().max().unwrap_or(0);
    let low = |limit: i64| sums.iter().copied().take_while(move |&s| 2 * s <= limit);
    let mut points: Vec<i64> = low(longest).collect();
    for &limit in limits {
        points.extend(low(limit).map(|s| limit - s));
    }
    points.sort_unstable();
    points.dedup();
    let mut plain: Vec<i64> = sums.iter().copied().take_while(|&s| s <= longest).collect();
    plain.extend_from_slice(limits);
    plain.sort_unstable();
    plain.dedup();
    if points.len() < plain.len() { points } else { plain }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fills_and_traces_back() {
        let sums = Sums::from(reachable(&[(3, 9), (5, 1), (7, 9)], 16, 100).unwrap());
        let mut sack = Knapsack::<i64>::new(&sums);
        sack.add(0, 3, 4, 9);
        sack.add(1, 5, 9, 1);
        let early = sack.mark();
        sack.add(2, 7, 10, 9);
        // 5 once and 3 three times make 14: worth 21. With 7: 7 + 5 + 3 = 15, worth 23.
        assert_eq!(sack.best[sums.len() - 1], 23);
        assert_eq!(sack.trace(sack.mark(), sums.len() - 1), [(2, 1), (1, 1), (0, 1)]);
        assert_eq!(sack.trace(early, sums.len() - 1), [(1, 1), (0, 3)]);
    }

    /// A table over all whole numbers says at every sum what a table over the sums says, and what it is traced back to is
    /// worth that and fits.
    #[test]
    fn whole_numbers_say_what_sums_say() {
        let mut draw = crate::generate::Seed(3);
        for round in 0..200 {
            let limit = draw.between(20, 400);
            let items: Vec<(i64, i64, i64)> = (0..draw.between(1, 8))
                .map(|_| (draw.low(1, limit), draw.between(1, 100), draw.low(1, 60)))
                .collect();
            let sizes: Vec<(i64, i64)> = items.iter().map(|&(size, _, most)| (size, most)).collect();
            let sums = Sums::from(reachable(&sizes, limit, 1000).unwrap());
            let whole = Sums::from((0..=limit).collect::<Vec<i64>>());
            assert!(whole.whole);
            let mut by_sums = Knapsack::<i64>::new(&sums);
            let mut traced = Knapsack::<i64>::new(&whole);
            let mut untraced = Knapsack::<f64>::untraced(&whole);
            for (at, &(size, worth, most)) in items.iter().enumerate() {
                by_sums.add(at, size, worth, most);
                traced.add(at, size, worth, most);
                untraced.add(at, size, worth as f64, most);
            }
            for (k, &sum) in sums.iter().enumerate() {
                assert_eq!(by_sums.best[k], traced.best[sum as usize], "round {round}, {sum}");
                assert_eq!(by_sums.best[k] as f64, untraced.best[sum as usize], "round {round}, {sum}");
            }
            for sum in 0..=limit {
                let found = traced.trace(traced.mark(), sum as usize);
                let all = |of: fn((i64, i64, i64)) -> i64| -> i64 {
                    found.iter().map(|&(item, n)| of(items[item]) * i64::from(n)).sum()
                };
                assert!(found.iter().all(|&(item, n)| i64::from(n) <= items[item].2), "round {round}, {sum}");
                assert!(all(|item| item.0) <= sum, "round {round}, {sum}");
                assert_eq!(all(|item| item.1), traced.best[sum as usize], "round {round}, {sum}");
            }
        }
    }

    #[test]
    fn whole_numbers_take_the_place_of_many_sums() {
        assert_eq!(Sums::quickest(vec![0, 5, 10, 17]).len(), 18);
        assert_eq!(Sums::quickest(vec![0, 5, 10, 24]).len(), 4);
        assert_eq!(Sums::quickest(vec![0]).len(), 1);
        assert!(Sums::quickest(Vec::new()).is_empty());
    }

    #[test]
    fn dense_and_sorted_sums_agree() {
        let sizes = [(36, 2), (25, 40), (61, 1)];
        let dense = reachable(&sizes, 200, 1000).unwrap();
        let scaled: Vec<(i64, i64)> = sizes.iter().map(|&(s, n)| (s * 1_000_003, n)).collect();
        let sparse = reachable(&scaled, 200 * 1_000_003, 1000).unwrap();
        assert_eq!(sparse, dense.iter().map(|s| s * 1_000_003).collect::<Vec<_>>());
    }
}
