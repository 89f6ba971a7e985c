//! Reachable sums, and the most worth that fits below each.

use fearless_simd::{Level, dispatch};

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

    /// What is left of it when two did something side by side, each of whom has so much left of it.
    pub(super) fn less_both(&self, one: &Work, other: &Work) -> Result<Work, Beyond> {
        one.0.checked_sub(self.0 - other.0).map(Work).ok_or(Beyond)
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
    /// Sizes are multiples of this.
    mark: i64,
    /// Whether every multiple of the mark is there, a sum or not.
    whole: bool,
}

/// Every multiple of the mark takes the place of sums that are no fewer than one in so many of them: the entry left of one
/// by some size then stands a fixed way off, and several are looked at in one instruction.
const DENSE: usize = 6;

/// How far off it has to stand for that: nearer, entries of one instruction would depend on each other.
const FAR: usize = 16;

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
        Ok(Sums { sums, mark, whole: false })
    }

    /// These sums, or every multiple of their mark where that is quicker. What is not a sum holds what the sum below it does.
    pub(super) fn quickest(self) -> Sums {
        let Sums { sums, mark, .. } = &self;
        let marks = sums[sums.len() - 1] / mark;
        if marks / (sums.len() * DENSE) as i64 > 0 {
            return self;
        }
        Sums { sums: (0..=marks).map(|i| i * mark).collect(), mark: *mark, whole: true }
    }

    /// How many entries to the left the one stands that a size leaves, where every multiple of the mark has one and it is far
    /// enough for several to be looked at in one instruction.
    fn far(&self, size: i64) -> Option<usize> {
        let marks = ((size - 1) / self.mark + 1).max(0) as usize;
        (self.whole && marks >= FAR).then_some(marks)
    }

    /// Steps of looking at so many entries.
    fn steps(&self, entries: usize) -> usize {
        if self.whole { entries / DENSE + 1 } else { entries + 1 }
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

/// The most worth that fits below each sum.
///
/// Things are added one kind after another. An entry is the best over all selections of the things added so far with
/// that sum or less, so entries never fall from left to right.
#[derive(Clone, Debug)]
pub(super) struct Stack<'s> {
    sums: &'s Sums,
    best: Vec<i64>,
}

impl<'s> Stack<'s> {
    pub(super) fn new(sums: &'s Sums) -> Stack<'s> {
        Stack { sums, best: vec![0; sums.len()] }
    }

    pub(super) fn clear(&mut self) {
        self.best.fill(0);
    }

    /// The largest sum.
    pub(super) fn room(&self) -> i64 {
        self.sums.at(self.sums.last())
    }

    /// The best with this sum or less.
    pub(super) fn best(&self, index: usize) -> i64 {
        self.best[index]
    }

    /// The best with the largest sum.
    pub(super) fn top(&self) -> i64 {
        self.best[self.sums.last()]
    }

    /// True when a thing of this size and worth would change nothing: others of that size in all are worth as much.
    pub(super) fn beats(&self, size: i64, worth: i64) -> bool {
        worth <= self.best[self.sums.floor(size)]
    }

    /// Lets this thing be taken any number of times.
    pub(super) fn add(&mut self, size: i64, worth: i64, work: &mut Work) -> Result<(), Beyond> {
        let sums = &self.sums.sums;
        let from = sums.partition_point(|&s| s < size);
        work.spend(self.sums.steps(sums.len() - from))?;
        if let Some(by) = self.sums.far(size) {
            dispatch!(Level::new(), _ => take_again(&mut self.best, by, worth));
            return Ok(());
        }
        let mut left = 0;
        for i in from..sums.len() {
            let room = sums[i] - size;
            while sums[left + 1] <= room {
                left += 1;
            }
            self.best[i] = self.best[i].max(self.best[left].saturating_add(worth));
        }
        Ok(())
    }

    /// Lets this thing be taken up to `most` times.
    pub(super) fn add_some(
        &mut self,
        size: i64,
        worth: i64,
        most: u64,
        work: &mut Work,
    ) -> Result<(), Beyond> {
        let top = self.room();
        if i128::from(most) * i128::from(size) > i128::from(top) - i128::from(size) {
            return self.add(size, worth, work);
        }
        // Any number from 0 to most is a sum of 1, 2, 4, ... and a rest, each taken or not.
        let (mut open, mut part) = (most as i64, 1);
        while open > 0 {
            let taken = part.min(open);
            self.add_once(size * taken, worth.saturating_mul(taken), work)?;
            open -= taken;
            part *= 2;
        }
        Ok(())
    }

    fn add_once(&mut self, size: i64, worth: i64, work: &mut Work) -> Result<(), Beyond> {
        let sums = &self.sums.sums;
        let from = sums.partition_point(|&s| s < size);
        work.spend(self.sums.steps(sums.len() - from))?;
        if let Some(by) = self.sums.far(size) {
            dispatch!(Level::new(), _ => take_once(&mut self.best, by, worth));
            return Ok(());
        }
        // From the right, so that what is taken from has not yet got this thing.
        let mut left = sums.len() - 1;
        for i in (from..sums.len()).rev() {
            let room = sums[i] - size;
            while sums[left] > room {
                left -= 1;
            }
            self.best[i] = self.best[i].max(self.best[left].saturating_add(worth));
        }
        Ok(())
    }
}

/// From left to right: what is `by` entries to the left of one has got the thing already. So many entries at a time do not
/// depend on each other.
#[inline(always)]
fn take_again(best: &mut [i64], by: usize, worth: i64) {
    let mut from = by;
    while from < best.len() {
        let (left, right) = best.split_at_mut(from);
        take(right, &left[from - by..], worth);
        from += by;
    }
}

/// From right to left: what is `by` entries to the left of one has not got the thing yet.
#[inline(always)]
fn take_once(best: &mut [i64], by: usize, worth: i64) {
    let mut end = best.len();
    while end > by {
        let from = (end - by).max(by);
        let (left, right) = best[..end].split_at_mut(from);
        take(right, &left[from - by..], worth);
        end = from;
    }
}

#[inline(always)]
fn take(best: &mut [i64], left: &[i64], worth: i64) {
    for (best, left) in best.iter_mut().zip(left) {
        *best = (*best).max(left.saturating_add(worth));
    }
}

/// A thing that may be taken up to `most` times while the class is `from` or more and less than `until`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Thing {
    pub(super) size: i64,
    pub(super) worth: i64,
    pub(super) most: u64,
    pub(super) from: usize,
    pub(super) until: usize,
}

/// Shows `visit` each class from 0 up, with the best of the things that may be taken in it.
///
/// A thing cannot be taken out of a [`Stack`] again, so the classes are halved and halved again, and a thing is added
/// to a copy where the whole part of the classes has it.
pub(super) fn each_class(
    sums: &Sums,
    things: &[Thing],
    classes: usize,
    work: &mut Work,
    visit: &mut dyn FnMut(usize, &Stack, &mut Work) -> Result<(), Beyond>,
) -> Result<(), Beyond> {
    halve((0, classes), Stack::new(sums), things, work, visit)
}

fn halve(
    (low, high): (usize, usize),
    mut stack: Stack,
    things: &[Thing],
    work: &mut Work,
    visit: &mut dyn FnMut(usize, &Stack, &mut Work) -> Result<(), Beyond>,
) -> Result<(), Beyond> {
    work.spend(stack.best.len() + things.len())?;
    let mut partly = Vec::new();
    for thing in things {
        if thing.from <= low && high <= thing.until {
            stack.add_some(thing.size, thing.worth, thing.most, work)?;
        } else if thing.from < high && low < thing.until {
            partly.push(*thing);
        }
    }
    if high - low <= 1 {
        return if low < high { visit(low, &stack, work) } else { Ok(()) };
    }
    let middle = low.midpoint(high);
    halve((low, middle), stack.clone(), &partly, work, visit)?;
    halve((middle, high), stack, &partly, work, visit)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::generate::Seed;

    /// Every sum up to a capacity, one addition after another.
    fn every_sum(sizes: &[i64], capacity: i64) -> Vec<i64> {
        let mut sums = BTreeSet::from([0]);
        let mut open = vec![0];
        while let Some(sum) = open.pop() {
            let next = sizes.iter().map(|size| sum + size).filter(|&s| s <= capacity);
            open.extend(next.filter(|&s| sums.insert(s)).collect::<Vec<i64>>());
        }
        sums.into_iter().collect()
    }

    /// Tables of several words and merged lists hold the same sums, all of them.
    #[test]
    fn sums_are_all_there_either_way() {
        let mut seed = Seed(1);
        for _ in 0..600 {
            let capacity = seed.low(0, 400);
            let kinds = seed.between(0, 4);
            let mut sizes: Vec<i64> = (0..kinds).map(|_| seed.between(1, 130)).collect();
            sizes.retain(|&s| s <= capacity);
            sizes.sort_unstable();
            sizes.dedup();
            let expected = every_sum(&sizes, capacity);
            let whole: Vec<usize> = sizes.iter().map(|&s| s as usize).collect();
            let mut work = Work::new();
            assert_eq!(
                by_table(&whole, capacity as usize, &mut work).unwrap(),
                expected,
                "{sizes:?} {capacity}"
            );
            assert_eq!(by_merging(&sizes, capacity, &mut work).unwrap(), expected, "{sizes:?} {capacity}");
            let sums = Sums::new(sizes.iter().copied(), capacity, &mut work).unwrap();
            assert_eq!(sums.sums, expected);
            for room in 0..capacity {
                let floor = expected.iter().rposition(|&s| s <= room).unwrap();
                assert_eq!(sums.floor(room), floor);
            }
        }
    }

    /// A metre on a nanometre's mark is wider than any table: the sums are merged.
    #[test]
    fn sums_without_a_common_mark_are_merged() {
        let sizes = [333_333_331, 499_999_993];
        let sums = Sums::new(sizes.into_iter(), 1_000_000_000, &mut Work::new()).unwrap();
        assert_eq!(sums.sums, every_sum(&sizes, 1_000_000_000));
        assert_eq!(gcd(84, 36), 12);
        assert_eq!(gcd(0, 7), 7);
    }

    /// Half and quarter millimetres are on a common mark, so a table does for lengths that would not fit one.
    #[test]
    fn a_common_mark_shortens_the_table() {
        let sizes = [500_000, 750_000];
        let mut work = Work::new();
        let sums = Sums::new(sizes.into_iter(), 100_000_000_000, &mut work).unwrap();
        assert_eq!(sums.len(), 400_000);
        assert_eq!((sums.at(1), sums.at(2), sums.at(sums.last())), (500_000, 750_000, 100_000_000_000));
        assert!(BUDGET - work.0 < 1_000_000, "{}", BUDGET - work.0);
    }

    #[test]
    fn work_runs_out() {
        let mut work = Work(10);
        assert_eq!(work.spend(7), Ok(()));
        assert_eq!(work.spend(4), Err(Beyond));
        assert_eq!(Work::new().spend(BUDGET as usize), Ok(()));
        assert_eq!(Work::new().spend(BUDGET as usize + 1), Err(Beyond));
        assert!(by_table(&[3], 100, &mut Work(3)).is_err());
        assert!(by_merging(&[3], 100, &mut Work(3)).is_err());
    }

    /// The longest list of sums is allowed, one more is not.
    #[test]
    fn lists_of_sums_have_an_end() {
        let most = MOST_SUMS as i64;
        for (capacity, fits) in [(most - 1, true), (most, false)] {
            assert_eq!(by_table(&[1], capacity as usize, &mut Work::new()).is_ok(), fits);
            assert_eq!(by_merging(&[1], capacity, &mut Work::new()).is_ok(), fits);
        }
    }

    /// Multiples of the mark are taken where there are not far more of them than sums, and nothing larger than the last sum.
    #[test]
    fn sums_become_every_multiple_where_they_are_dense() {
        let sums =
            |sizes: &[i64], capacity| Sums::new(sizes.iter().copied(), capacity, &mut Work::new()).unwrap();
        let dense = sums(&[30, 50], 104).quickest();
        assert_eq!(dense.sums, (0..=10).map(|i| i * 10).collect::<Vec<i64>>());
        let sparse = sums(&[60, 70], 120).quickest();
        assert_eq!(sparse.sums, [0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100, 110, 120]);
        let sparser = sums(&[600, 610], 1200).quickest();
        assert_eq!(sparser.sums, [0, 600, 610, 1200]);
        assert_eq!(sums(&[7], 5).quickest().sums, [0]);
        // A thing between two marks takes the room of the greater one.
        let dense = sums(&[30, 50], 1004).quickest();
        for (size, room) in
            [(1, 1), (10, 1), (11, 2), (150, 15), (151, 16), (160, 16), (161, 17), (1000, 100)]
        {
            for once in [true, false] {
                let mut stack = Stack::new(&dense);
                let add = if once { Stack::add_once } else { Stack::add };
                add(&mut stack, size, 5, &mut Work::new()).unwrap();
                assert_eq!(stack.best.iter().position(|&b| b == 5), Some(room), "{size}");
                let top = if once { 5 } else { 5 * (100 / room as i64) };
                assert_eq!(stack.top(), top, "{size}");
                add(&mut stack, 1001, 9000, &mut Work::new()).unwrap();
                add(&mut stack, i64::MAX, 9000, &mut Work::new()).unwrap();
                assert_eq!(stack.top(), top, "{size}");
            }
        }
        for size in [30, 300] {
            let mut stack = Stack::new(&dense);
            stack.add(size, i64::MAX / 2, &mut Work::new()).unwrap();
            assert_eq!(stack.top(), i64::MAX);
        }
    }

    /// Over every multiple of the mark stacks hold what they hold over the sums.
    #[test]
    fn stacks_over_multiples_hold_what_those_over_sums_do() {
        let mut seed = Seed(4);
        let mut far = 0;
        for _ in 0..300 {
            let capacity = seed.between(100, 600);
            let things: Vec<(i64, i64, u64)> = (0..seed.between(2, 6))
                .map(|_| (seed.between(1, capacity / 2), seed.between(0, 50), seed.low(1, 40) as u64))
                .collect();
            let mut work = Work::new();
            let plain = Sums::new(things.iter().map(|t| t.0), capacity, &mut work).unwrap();
            let dense = plain.clone().quickest();
            let (mut one, mut other) = (Stack::new(&plain), Stack::new(&dense));
            for &(size, worth, most) in &things {
                far += u32::from(dense.far(size).is_some());
                one.add_some(size, worth, most, &mut work).unwrap();
                other.add_some(size, worth, most, &mut work).unwrap();
                for at in 0..plain.len() {
                    let same = dense.floor(plain.at(at));
                    assert_eq!(one.best(at), other.best(same), "{things:?} in {}", plain.at(at));
                }
            }
        }
        assert!(far > 300, "{far}");
    }

    /// The most worth within each room, trying every number of every thing.
    fn best_by_hand(things: &[(i64, i64, u64)], room: i64) -> i64 {
        let Some((&(size, worth, most), rest)) = things.split_first() else { return 0 };
        let fit = (room / size).min(i64::try_from(most).unwrap_or(i64::MAX));
        (0..=fit).map(|n| n * worth + best_by_hand(rest, room - n * size)).max().unwrap_or(0)
    }

    #[test]
    fn stacks_hold_the_most_worth() {
        let mut seed = Seed(2);
        let mut whole = 0;
        for _ in 0..400 {
            let things: Vec<(i64, i64, u64)> = (0..seed.between(1, 4))
                .map(|_| (seed.between(2, 12), seed.between(0, 20), seed.low(1, 14) as u64))
                .collect();
            let capacity = seed.between(12, 40);
            let mut work = Work::new();
            let sums = Sums::new(things.iter().map(|t| t.0), capacity, &mut work).unwrap();
            let sums = if seed.between(0, 1) == 0 { sums } else { sums.quickest() };
            whole += u32::from(sums.whole);
            let mut stack = Stack::new(&sums);
            for (i, &(size, worth, most)) in things.iter().enumerate() {
                let room = sums.at(sums.floor(size));
                assert_eq!(stack.beats(size, worth), worth <= best_by_hand(&things[..i], room));
                stack.add_some(size, worth, most, &mut work).unwrap();
                for at in 0..sums.len() {
                    let expected = best_by_hand(&things[..=i], sums.at(at));
                    assert_eq!(stack.best(at), expected, "{:?} in {}", &things[..=i], sums.at(at));
                }
            }
            assert_eq!(stack.top(), stack.best(sums.last()));
        }
        assert!((100..300).contains(&whole), "{whole}");
    }
}
