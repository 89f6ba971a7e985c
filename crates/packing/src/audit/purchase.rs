//! What a leaf shows, and whether the leaves together speak about every purchase below the bound.
//!
//! Sheets of one group share no piece and no make with those of another. Whatever pieces of a group are worth, sheets of that
//! group have to pay for; so a leaf shows, for each group by itself, the smallest sum of its sheets' prices that does, and
//! the sum of these.
//!
//! A box may have several leaves, told apart by their forks. It is spoken about when these are all sides of all forks:
//! whatever a plan has of what the first fork counts, it is on one side of it, and so on with the next, until there is
//! a leaf for it.

use std::collections::BTreeMap;

use super::Claim;
use super::groups::Groups;
use super::objection::Objection;
use super::sums::{Beyond, Bits, Work, gcd};
use crate::certificate::{Fork, Leaf};
use crate::problem::Problem;

/// More sheets than any purchase has.
const NO_LIMIT: u64 = u64::MAX;

/// Widest table of purchase sums, in marks of money. Beyond that a sum is only rounded up to a whole mark.
const WIDEST_TABLE: i128 = 1 << 27;

/// How many sheets of one kind: from `least` to `most`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Range {
    least: u64,
    most: u64,
}

/// Each leaf's bound, and the purchases the leaves speak about.
pub(super) fn check(problem: &Problem, claim: &Claim, objections: &mut Vec<Objection>) {
    let prices: Vec<i128> = problem.stocks.iter().map(|s| i128::from(s.price.minor())).collect();
    let limits: Vec<Range> = problem
        .stocks
        .iter()
        .map(|s| Range { least: 0, most: s.limit.map_or(NO_LIMIT, u64::from) })
        .collect();
    let claimed = i128::from(claim.bound.minor());
    let mut work = Work::new();
    let groups = Groups::of(problem);
    let mut leaves: BTreeMap<Vec<Range>, Vec<usize>> = BTreeMap::new();
    for (i, leaf) in claim.certificate.leaves.iter().enumerate() {
        let confined = confine(&limits, leaf);
        if confined.iter().any(|r| r.least > r.most) {
            continue; // no purchase at all: it need show nothing
        }
        let unlimited = |&j: &usize| leaf.upper[j] > 0 && confined[j].most == NO_LIMIT;
        if let Some(j) = (0..confined.len()).find(unlimited) {
            let stock = problem.stocks[j].name.clone();
            objections.push(Objection::NoLimitToPrice { leaf: i + 1, stock });
            continue;
        }
        let joined = if leaf.forks.is_empty() { None } else { Some(groups.with_forks(leaf)) };
        let groups = joined.as_ref().unwrap_or(&groups);
        let worths = worths(problem, leaf, groups, &confined);
        match shows(&worths, claim.certificate.scale, &prices, &confined, groups, &mut work) {
            Ok(Some(shows)) if shows < claimed => {
                objections.push(Objection::WeakLeaf { leaf: i + 1, shows, claimed: claim.bound });
            }
            Ok(_) => {}
            Err(Beyond) => {
                objections.push(Objection::TooMuchWork {
                    what: format!("the sums of sheet prices in leaf {}", i + 1),
                });
                return;
            }
        }
        leaves.entry(confined).or_default().push(i);
    }
    let mut boxes = Vec::with_capacity(leaves.len());
    for (confined, leaves) in leaves {
        let forks: Vec<&[Fork]> =
            leaves.iter().map(|&i| claim.certificate.leaves[i].forks.as_slice()).collect();
        if all_cases(&forks, 0) {
            boxes.push(confined);
        } else {
            objections.push(Objection::CaseLeftOut { leaf: leaves[0] + 1, leaves: leaves.len() });
        }
    }
    match unspoken(&prices, &limits, &boxes, claimed, &mut work) {
        Ok(None) => {}
        Ok(Some(purchase)) => {
            let names = problem.stocks.iter().map(|s| s.name.clone());
            let purchase = names.zip(purchase).filter(|&(_, count)| count > 0).collect();
            objections.push(Objection::Gap { purchase, claimed: claim.bound });
        }
        Err(Beyond) => {
            objections.push(Objection::TooMuchWork {
                what: "that the leaves hold every purchase below the bound".into(),
            });
        }
    }
}

/// Whether these leaves, alike in their first `depth` forks, have every case between them: one of them has no fork
/// more, or all fork next in the same way and each side has every case.
fn all_cases(leaves: &[&[Fork]], depth: usize) -> bool {
    if leaves.iter().any(|forks| forks.len() == depth) {
        return true;
    }
    let Some(Fork { count, at, .. }) = leaves.first().map(|forks| &forks[depth]) else { return false };
    if leaves.iter().any(|forks| forks[depth].count != *count || forks[depth].at != *at) {
        return false;
    }
    let (more, fewer): (Vec<&[Fork]>, Vec<&[Fork]>) = leaves.iter().partition(|forks| forks[depth].more);
    all_cases(&more, depth + 1) && all_cases(&fewer, depth + 1)
}

fn confine(limits: &[Range], leaf: &Leaf) -> Vec<Range> {
    let mut confined = limits.to_vec();
    for branch in &leaf.branches {
        let range = &mut confined[branch.stock];
        range.least = range.least.max(u64::from(branch.least));
        range.most = range.most.min(branch.most.map_or(NO_LIMIT, u64::from));
    }
    confined
}

/// What a leaf shows: of every group the smallest sum of its sheets' prices that pays for what the group is worth, all
/// together; `None` where sheets of some group cannot pay within their ranges.
fn shows(
    worths: &[i128],
    scale: i64,
    prices: &[i128],
    confined: &[Range],
    groups: &Groups,
    work: &mut Work,
) -> Result<Option<i128>, Beyond> {
    let scale = i128::from(scale);
    let mut all = 0;
    for (group, worth) in worths.iter().enumerate() {
        let target = worth.div_euclid(scale) + i128::from(worth.rem_euclid(scale) > 0);
        let own = |&j: &usize| groups.stocks[j] == group;
        let own_prices: Vec<i128> = (0..prices.len()).filter(own).map(|j| prices[j]).collect();
        let ranges: Vec<Range> = (0..confined.len()).filter(own).map(|j| confined[j]).collect();
        work.spend(prices.len())?;
        let Some(paid) = raise(target, &own_prices, &ranges, work)? else { return Ok(None) };
        all += paid;
    }
    Ok(Some(all))
}

/// For each group `sum(count y) + sum(count w) - sum(most mu) + sum(least nu)`, in minor units times the scale; and for each
/// fork its price for as many as there are at least, or less its price for as many as there are at most.
fn worths(problem: &Problem, leaf: &Leaf, groups: &Groups, confined: &[Range]) -> Vec<i128> {
    let product = |count: u64, price: i64| i128::from(count) * i128::from(price);
    let mut worths = vec![0; groups.number];
    for ((piece, &y), &group) in problem.pieces.iter().zip(&leaf.pieces).zip(&groups.pieces) {
        worths[group] += product(u64::from(piece.count), y);
    }
    for ((cover, &w), &group) in problem.covers.iter().zip(&leaf.covers).zip(&groups.covers) {
        worths[group] += product(u64::from(cover.count), w);
    }
    for (j, &group) in groups.stocks.iter().enumerate() {
        if leaf.upper[j] > 0 {
            worths[group] -= product(confined[j].most, leaf.upper[j]);
        }
        worths[group] += product(confined[j].least, leaf.lower[j]);
    }
    for fork in &leaf.forks {
        // (On no sheet there is nothing: at most so many says nothing, and more than so many is never so.)
        let Some(group) = groups.of_fork(fork) else { continue };
        worths[group] += if fork.more {
            product(u64::from(fork.at) + 1, fork.price)
        } else {
            -product(u64::from(fork.at), fork.price)
        };
    }
    worths
}

/// The smallest sum of sheet prices, each sheet within its range, that is not below `target`; `None` when there is
/// no such sum, so that no purchase within the ranges can be a plan.
///
/// Lower limits are bought first. A smallest sum overshoots by less than the dearest sheet, or one could be left out.
fn raise(target: i128, prices: &[i128], ranges: &[Range], work: &mut Work) -> Result<Option<i128>, Beyond> {
    let base: i128 = prices.iter().zip(ranges).map(|(p, r)| p * i128::from(r.least)).sum();
    if base >= target {
        return Ok(Some(base));
    }
    let open = target - base;
    let more: Vec<(i128, i128)> = prices
        .iter()
        .zip(ranges)
        .map(|(&price, r)| (price, i128::from(r.most) - i128::from(r.least)))
        .filter(|&(price, room)| price > 0 && room > 0)
        .map(|(price, room)| (price, room.min((open + price - 1) / price)))
        .collect();
    if more.iter().map(|(price, room)| price * room).sum::<i128>() < open {
        return Ok(None);
    }
    let mark = more.iter().fold(0, |g, &(price, _)| gcd(g, price as u64)).max(1);
    let mark = i128::from(mark);
    let least = (open + mark - 1) / mark;
    let dearest = more.iter().map(|&(price, _)| price / mark).max().unwrap_or(0);
    if least + dearest >= WIDEST_TABLE {
        return Ok(Some(base + least * mark));
    }
    let mut sums = Bits::new((least + dearest) as usize + 1);
    for (price, room) in more {
        // Any number from 0 to room is a sum of 1, 2, 4, ... and a rest, each taken or not.
        let (mut open, mut part) = (room, 1);
        while open > 0 {
            let taken = part.min(open);
            let shift = taken * (price / mark);
            if shift <= least + dearest {
                work.spend(sums.words.len())?;
                sums.or_shifted(shift as usize);
            }
            open -= taken;
            part *= 2;
        }
    }
    Ok(sums.ones().find(|&s| s as i128 >= least).map(|s| base + s as i128 * mark))
}

/// A purchase cheaper than the bound, within the limits, that lies in no box; `None` when there is none.
///
/// The space of purchases is split along the faces of boxes until each part is inside a box, or dearer than the
/// bound, or outside all boxes. Each split takes a face of some box, so with n boxes over s kinds of sheet there are
/// at most `(2n + 1)^s` parts; boxes that come from branching one sheet count at a time give about as many parts as
/// boxes.
fn unspoken(
    prices: &[i128],
    limits: &[Range],
    boxes: &[Vec<Range>],
    bound: i128,
    work: &mut Work,
) -> Result<Option<Vec<u64>>, Beyond> {
    if limits.iter().any(|r| r.least > r.most) {
        return Ok(None);
    }
    let mut parts = vec![limits.to_vec()];
    while let Some(mut part) = parts.pop() {
        work.spend((boxes.len() + 1) * (part.len() + 1))?;
        let base: i128 = prices.iter().zip(&part).map(|(p, r)| p * i128::from(r.least)).sum();
        if base >= bound {
            continue;
        }
        for (range, &price) in part.iter_mut().zip(prices) {
            if price > 0 {
                let affordable = (bound - 1 - base) / price;
                let most = i128::from(range.least) + affordable;
                range.most = range.most.min(u64::try_from(most).unwrap_or(NO_LIMIT));
            }
        }
        let meets =
            |b: &&Vec<Range>| part.iter().zip(b.iter()).all(|(p, b)| p.least <= b.most && b.least <= p.most);
        let Some(met) = boxes.iter().find(meets) else {
            return Ok(Some(part.iter().map(|r| r.least).collect()));
        };
        // Cut off what lies outside the box, side by side; what is then left lies inside.
        for (j, inside) in met.iter().enumerate() {
            if part[j].least < inside.least {
                let mut outside = part.clone();
                outside[j].most = inside.least - 1;
                parts.push(outside);
                part[j].least = inside.least;
            }
            if part[j].most > inside.most {
                let mut outside = part.clone();
                outside[j].least = inside.most + 1;
                parts.push(outside);
                part[j].most = inside.most;
            }
        }
    }
    Ok(None)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::generate::Seed;

    /// Purchases within ranges, up to `most` of each kind.
    fn purchases(ranges: &[Range], most: u64) -> Vec<Vec<u64>> {
        ranges.iter().fold(vec![Vec::new()], |all, range| {
            let counts = range.least..=range.most.min(most);
            let with = |before: Vec<u64>| counts.clone().map(move |n| [before.as_slice(), &[n]].concat());
            all.into_iter().flat_map(with).collect()
        })
    }

    fn money(prices: &[i128], purchase: &[u64]) -> i128 {
        prices.iter().zip(purchase).map(|(p, &n)| p * i128::from(n)).sum()
    }

    fn range(seed: &mut Seed) -> Range {
        let least = seed.low(0, 3) as u64;
        let most = if seed.between(0, 2) == 0 { NO_LIMIT } else { least + seed.low(0, 6) as u64 };
        Range { least, most }
    }

    #[test]
    fn the_next_sum_of_prices_is_found() {
        let mut seed = Seed(3);
        for _ in 0..3000 {
            let kinds = seed.between(1, 3);
            let prices: Vec<i128> =
                (0..kinds).map(|_| i128::from(seed.between(0, 12) * seed.between(1, 2) * 5)).collect();
            let ranges: Vec<Range> = (0..kinds).map(|_| range(&mut seed)).collect();
            let target = i128::from(seed.between(-3, 120));
            let all = purchases(&ranges, 40);
            let expected = all.iter().map(|p| money(&prices, p)).filter(|&m| m >= target).min();
            let found = raise(target, &prices, &ranges, &mut Work::new()).unwrap();
            assert_eq!(found, expected, "{target} {prices:?} {ranges:?}");
        }
    }

    /// Prices without a common mark, too many sums for a table: the target itself is shown, on the mark.
    #[test]
    fn sums_beyond_a_table_are_left_at_the_target() {
        let free = Range { least: 0, most: NO_LIMIT };
        let prices = [2_000_000_006, 3_000_000_008];
        let ranges = [Range { least: 1, ..free }, free];
        let target = 40_000_000_001;
        assert_eq!(raise(target, &prices, &ranges, &mut Work::new()), Ok(Some(40_000_000_002)));
    }

    /// Boxes at random: what is said to be outside all of them is, and is cheaper than the bound; and when nothing is
    /// said, nothing is.
    #[test]
    fn purchases_in_no_box_are_found() {
        let mut seed = Seed(4);
        let mut gaps = 0;
        for _ in 0..3000 {
            let kinds = seed.between(1, 3);
            let prices: Vec<i128> = (0..kinds).map(|_| i128::from(seed.between(1, 9))).collect();
            let limits: Vec<Range> = (0..kinds).map(|_| Range { least: 0, ..range(&mut seed) }).collect();
            let boxes: Vec<Vec<Range>> = (0..seed.between(1, 6))
                .map(|_| {
                    let within = limits.iter().map(|limit| {
                        let Range { least, most } = range(&mut seed);
                        let least = if seed.between(0, 1) == 0 { 0 } else { least };
                        Range { least, most: most.min(limit.most) }
                    });
                    within.collect()
                })
                .collect();
            let bound = i128::from(seed.between(0, 40));
            let outside = |p: &Vec<u64>| {
                let inside = |b: &Vec<Range>| b.iter().zip(p).all(|(r, n)| (r.least..=r.most).contains(n));
                money(&prices, p) < bound && !boxes.iter().any(inside)
            };
            let open: Vec<Vec<u64>> = purchases(&limits, 41).into_iter().filter(outside).collect();
            match unspoken(&prices, &limits, &boxes, bound, &mut Work::new()).unwrap() {
                Some(purchase) => assert!(open.contains(&purchase), "{purchase:?} {boxes:?}"),
                None => assert_eq!(open.first(), None, "{boxes:?}"),
            }
            gaps += usize::from(!open.is_empty());
        }
        assert!((500..2500).contains(&gaps), "{gaps} of 3000 have a gap: too few of one kind");
    }
}
