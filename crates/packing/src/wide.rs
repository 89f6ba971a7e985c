//! Passes over rows of numbers, in the widest instructions that the processor has.
//!
//! All but one are plain loops that compilers turn into such instructions by themselves, once for every width there is;
//! which of them runs is found out while running. Every number is worked out by itself, so the outcome is the same on
//! every machine.

use fearless_simd::prelude::*;
use fearless_simd::{Level, dispatch, i16x32, mask16x32};

use crate::knapsack::Worth;

/// Numbers before the first one of a row for [`offer_short`].
pub(crate) const BEFORE: usize = WORD;

/// Numbers to a word of bits.
pub(crate) const WORD: usize = u64::BITS as usize;

/// Each number becomes the greater of itself and what was `size` before it, and `worth`. There are whole words of them; in
/// front of them stand so many as [`BEFORE`] says that are [`i16::MIN`] and never count.
pub(crate) fn raise_short(row: &mut [i16], size: usize, worth: i16) {
    #[inline(always)]
    fn pass<S: Simd>(simd: S, row: &mut [i16], size: usize, worth: i16) {
        let more = i16x32::splat(simd, worth);
        // From the right, so that what is added to has not grown yet.
        for at in (size / WORD..(row.len() - BEFORE) / WORD).rev() {
            raise_word(simd, row, BEFORE + at * WORD, size, more);
        }
    }
    dispatch!(Level::new(), simd => pass(simd, row, size, worth));
}

/// Likewise; `grown` has one bit for each number, sixty-four to a word: whether it became greater. No bit is set yet.
pub(crate) fn offer_short(row: &mut [i16], grown: &mut [u64], size: usize, worth: i16) {
    #[inline(always)]
    fn pass<S: Simd>(simd: S, row: &mut [i16], grown: &mut [u64], size: usize, worth: i16) {
        let more = i16x32::splat(simd, worth);
        for (at, bits) in grown.iter_mut().enumerate().skip(size / WORD).rev() {
            let [low, high] = raise_word(simd, row, BEFORE + at * WORD, size, more);
            *bits = low.narrow(high).to_bitmask();
        }
    }
    dispatch!(Level::new(), simd => pass(simd, row, grown, size, worth));
}

/// Raises the numbers of one word, and says which became greater. All are read before any is written.
#[inline(always)]
fn raise_word<S: Simd>(
    simd: S,
    row: &mut [i16],
    here: usize,
    size: usize,
    more: i16x32<S>,
) -> [mask16x32<S>; 2] {
    let below = &row[here - size..][..WORD];
    let low = i16x32::from_slice(simd, &below[..32]).saturating_add(more);
    let high = i16x32::from_slice(simd, &below[32..]).saturating_add(more);
    let kept = &mut row[here..][..WORD];
    let (kept_low, kept_high) =
        (i16x32::from_slice(simd, &kept[..32]), i16x32::from_slice(simd, &kept[32..]));
    low.max(kept_low).store_slice(&mut kept[..32]);
    high.max(kept_high).store_slice(&mut kept[32..]);
    [low.simd_gt(kept_low), high.simd_gt(kept_high)]
}

/// `new[i]` is the greater of `old[i]` and what is `size` before it in `old`, and `worth`.
pub(crate) fn offer<T: Worth>(new: &mut [T], old: &[T], size: usize, worth: T) {
    #[inline(always)]
    fn pass<T: Worth>(new: &mut [T], kept: &[T], below: &[T], worth: T) {
        for ((new, &kept), &below) in new.iter_mut().zip(kept).zip(below) {
            let with = below + worth;
            *new = if with > kept { with } else { kept };
        }
    }
    let (low, high) = new.split_at_mut(size);
    low.copy_from_slice(&old[..size]);
    dispatch!(Level::new(), _ => pass(high, &old[size..], old, worth));
}

/// Up to this size, what depends on what is just worked out is worked out one by one.
const NARROW: usize = 16;

/// `new[i]` is the greater of `old[i]` and what is `size` before it in `new`, and `worth`.
pub(crate) fn offer_again<T: Worth>(new: &mut [T], old: &[T], size: usize, worth: T) {
    #[inline(always)]
    fn pass<T: Worth>(new: &mut [T], old: &[T], size: usize, worth: T) {
        let mut from = size;
        while from < new.len() {
            let (below, rest) = new.split_at_mut(from);
            let below = &below[from - size..];
            for ((new, &kept), &below) in rest.iter_mut().zip(&old[from..]).zip(below) {
                let with = below + worth;
                *new = if with > kept { with } else { kept };
            }
            from += size;
        }
    }
    new[..size].copy_from_slice(&old[..size]);
    if size < NARROW {
        for at in size..old.len() {
            let with = new[at - size] + worth;
            new[at] = if with > old[at] { with } else { old[at] };
        }
        return;
    }
    dispatch!(Level::new(), _ => pass(new, old, size, worth));
}

/// One bit for each number, sixty-four to a word: whether it is greater than it was.
pub(crate) fn mark_greater<T: Worth>(marks: &mut [u64], new: &[T], old: &[T]) {
    #[inline(always)]
    fn word<T: Worth>(new: &[T], old: &[T]) -> u64 {
        new.iter().zip(old).enumerate().fold(0, |bits, (at, (new, old))| bits | u64::from(new > old) << at)
    }
    #[inline(always)]
    fn pass<T: Worth>(marks: &mut [u64], new: &[T], old: &[T]) {
        let (new, last_new) = new.as_chunks::<64>();
        let (old, last_old) = old.as_chunks::<64>();
        for ((mark, new), old) in marks.iter_mut().zip(new).zip(old) {
            *mark = word(new, old);
        }
        if !last_new.is_empty() {
            marks[new.len()] = word(last_new, last_old);
        }
    }
    dispatch!(Level::new(), _ => pass(marks, new, old));
}

/// Adds so many times another row.
pub(crate) fn add_times(row: &mut [f64], other: &[f64], times: f64) {
    #[inline(always)]
    fn pass(row: &mut [f64], other: &[f64], times: f64) {
        for (number, other) in row.iter_mut().zip(other) {
            *number += times * other;
        }
    }
    dispatch!(Level::new(), _ => pass(row, other, times));
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows of every length against one number at a time.
    #[test]
    fn passes_do_what_they_say() {
        let mut draw = crate::generate::Seed(5);
        for length in 1..200 {
            let size = draw.between(1, length) as usize;
            let old: Vec<i64> = (0..length).map(|_| draw.between(0, 40)).collect();
            let (mut once, mut again) = (old.clone(), old.clone());
            for at in size..old.len() {
                once[at] = old[at].max(old[at - size] + 7);
                again[at] = old[at].max(again[at - size] + 7);
            }
            let mut new = vec![-1; old.len()];
            offer(&mut new, &old, size, 7);
            assert_eq!(new, once, "{length} {size}");
            let mut marks = vec![0; old.len().div_ceil(64)];
            mark_greater(&mut marks, &new, &old);
            for at in 0..old.len() {
                assert_eq!(marks[at / 64] >> (at % 64) & 1 == 1, new[at] > old[at], "{length} {at}");
            }
            offer_again(&mut new, &old, size, 7);
            assert_eq!(new, again, "{length} {size}");
            let mut row = vec![i16::MIN; BEFORE];
            row.extend(old.iter().map(|&n| n as i16));
            row.resize(row.len().next_multiple_of(64), 0);
            let mut grown = vec![0; row.len() / 64 - 1];
            let mut raised = row.clone();
            raise_short(&mut raised, size, 7);
            offer_short(&mut row, &mut grown, size, 7);
            assert_eq!(raised, row, "{length} {size}");
            for at in 0..old.len() {
                assert_eq!(i64::from(row[BEFORE + at]), once[at], "{length} {size}");
                assert_eq!(grown[at / 64] >> (at % 64) & 1 == 1, once[at] > old[at], "{length} {size} {at}");
            }
        }
        let mut most = [i16::MIN; BEFORE + 64];
        most[BEFORE..].fill(i16::MAX - 2);
        offer_short(&mut most, &mut [0], 1, 7);
        assert_eq!(most[BEFORE..][..3], [i16::MAX - 2, i16::MAX, i16::MAX]);
    }
}
