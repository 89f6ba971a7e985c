//! Any number of a right claim is changed to any other: the audit refuses, or what is claimed is still true.

use proptest::prelude::*;
use stripwright_units::{Length, Money};

use super::oracle::{least_money, sawable};
use super::support::{best, certificate, claim, leaf, placed, runs, tiny};
use crate::audit::{Claim, Sheets, audit};
use crate::certificate::Branch;
use crate::problem::Problem;

/// A plan of one piece a sheet, with the proof that prices in proportion to area give.
fn plain_claim(problem: &Problem) -> Option<Claim> {
    let mut layouts: Vec<Sheets> = Vec::new();
    for (r, piece) in problem.pieces.iter().enumerate() {
        let fits = |&j: &usize| {
            let stock = &problem.stocks[j];
            stock.limit.is_none() && piece.length <= stock.length && piece.width <= stock.width
        };
        let stock = (0..problem.stocks.len()).find(fits)?;
        layouts.push(Sheets { stock, times: piece.count, placed: vec![placed(problem, r, 0, 0, false)] });
    }
    let money: i64 = layouts.iter().map(|l| i64::from(l.times) * problem.stocks[l.stock].price.minor()).sum();
    let area: Vec<i64> =
        problem.pieces.iter().map(|p| (p.length.area_nm2(p.width) / 1_000_000_000_000) as i64).collect();
    // Worth of a square millimetre: what the dearest layout of each sheet makes of it, the least of all sheets.
    let (mut top, mut bottom) = (1_000_000i64, 1i64);
    for (j, stock) in problem.stocks.iter().enumerate() {
        let worth = best(problem, j, &area, None);
        if worth > 0 && stock.price.minor() * bottom < top * worth {
            (top, bottom) = (stock.price.minor(), worth);
        }
    }
    let scale = 1000;
    let prices: Vec<i64> = area.iter().map(|a| a * scale * top / bottom).collect();
    let shown = raised(problem, &prices, scale);
    let mut claim = claim(layouts, money, shown.min(money), certificate(scale, vec![leaf(problem, prices)]));
    claim.proven = claim.bound == claim.money;
    Some(claim)
}

/// What one leaf without branches shows, by trying every purchase of up to 40 sheets of each kind.
fn raised(problem: &Problem, prices: &[i64], scale: i64) -> i64 {
    let worth: i64 = problem.pieces.iter().zip(prices).map(|(p, y)| i64::from(p.count) * y).sum();
    let mut sums = vec![0i64];
    for stock in &problem.stocks {
        let most = i64::from(stock.limit.unwrap_or(40).min(40));
        sums = sums.iter().flat_map(|s| (0..=most).map(move |n| s + n * stock.price.minor())).collect();
    }
    sums.into_iter().filter(|s| s * scale >= worth).min().unwrap_or(i64::MAX)
}

/// Every number of a claim, as something that can be changed.
fn numbers(claim: &mut Claim) -> Vec<Box<dyn FnMut(i64) + '_>> {
    fn length(l: &mut Length) -> Box<dyn FnMut(i64) + '_> {
        Box::new(move |by| *l = Length::from_nm(l.nm().wrapping_add(by)))
    }
    fn index(i: &mut usize) -> Box<dyn FnMut(i64) + '_> {
        Box::new(move |by| *i = i.wrapping_add(by as usize))
    }
    fn count(n: &mut u32) -> Box<dyn FnMut(i64) + '_> {
        Box::new(move |by| *n = n.wrapping_add(by as u32))
    }
    fn whole(n: &mut i64) -> Box<dyn FnMut(i64) + '_> {
        Box::new(move |by| *n = n.wrapping_add(by))
    }
    fn money(m: &mut Money) -> Box<dyn FnMut(i64) + '_> {
        Box::new(move |by| *m = Money::from_minor(m.minor().wrapping_add(by)))
    }
    let mut all: Vec<Box<dyn FnMut(i64) + '_>> = Vec::new();
    for layout in &mut claim.layouts {
        all.push(index(&mut layout.stock));
        all.push(count(&mut layout.times));
        for placed in &mut layout.placed {
            all.push(index(&mut placed.piece));
            all.extend([&mut placed.x, &mut placed.y, &mut placed.length, &mut placed.width].map(length));
            let turned = &mut placed.turned;
            all.push(Box::new(move |by| *turned ^= by % 2 != 0));
        }
    }
    for list in [&mut claim.makes, &mut claim.spare] {
        for (i, n) in list {
            all.push(index(i));
            all.push(count(n));
        }
    }
    all.push(money(&mut claim.money));
    all.push(money(&mut claim.bound));
    let proven = &mut claim.proven;
    all.push(Box::new(move |by| *proven ^= by % 2 != 0));
    all.push(whole(&mut claim.certificate.scale));
    let proper = &mut claim.certificate.proper;
    all.push(Box::new(move |by| *proper ^= by % 2 != 0));
    for leaf in &mut claim.certificate.leaves {
        for branch in &mut leaf.branches {
            all.push(index(&mut branch.stock));
            all.push(count(&mut branch.least));
            if let Some(most) = &mut branch.most {
                all.push(count(most));
            }
        }
        for list in [&mut leaf.pieces, &mut leaf.covers, &mut leaf.upper, &mut leaf.lower] {
            all.extend(list.iter_mut().map(whole));
        }
    }
    all
}

/// Whether a confirmed claim is true, by brute force.
fn assert_true(problem: &Problem, claim: &Claim, least: i64) {
    assert!(claim.bound.minor() <= least, "bound {} above the optimum {least}", claim.bound);
    assert!(claim.money.minor() >= least, "money {} below the optimum {least}", claim.money);
    assert!(!claim.proven || claim.money.minor() == least);
    let mut made = vec![0u64; problem.pieces.len()];
    let mut money = 0;
    for layout in &claim.layouts {
        money += i64::from(layout.times) * problem.stocks[layout.stock].price.minor();
        let whole = |l: Length| {
            assert_eq!(l.nm() % 1_000_000, 0, "the tiny job's sizes are whole, and nothing fits in between");
            l.nm() / 1_000_000
        };
        let rects: Vec<[i64; 4]> = layout
            .placed
            .iter()
            .map(|p| {
                made[p.piece] += u64::from(layout.times);
                [whole(p.x), whole(p.y), whole(p.x + p.length), whole(p.y + p.width)]
            })
            .collect();
        assert!(sawable(problem, layout.stock, &rects), "{rects:?}");
    }
    assert_eq!(money, claim.money.minor());
    for (r, piece) in problem.pieces.iter().enumerate() {
        let spare: u64 = claim.spare.iter().filter(|s| s.0 == r).map(|s| u64::from(s.1)).sum();
        assert_eq!(made[r], u64::from(piece.count) + spare);
    }
}

fn change() -> impl Strategy<Value = i64> {
    prop_oneof![
        3 => -3..4i64,
        2 => (-4..5i64).prop_map(|n| n * 1_000_000),
        2 => -5000..5000i64,
        1 => any::<i64>(),
        1 => prop_oneof![Just(i64::MAX), Just(i64::MIN), Just(i64::from(u32::MAX))],
    ]
}

proptest! {
    #![proptest_config(runs(300))]

    #[test]
    fn a_changed_number_is_refused_or_harmless(
        problem in tiny(1..3, false),
        branches in proptest::collection::vec((0..2usize, 0..3u32, proptest::option::of(0..4u32)), 0..2),
        which in any::<prop::sample::Index>(),
        by in change(),
    ) {
        let right = plain_claim(&problem);
        prop_assume!(right.is_some());
        let mut claim = right.expect("assumed");
        prop_assert!(audit(&problem, &claim).is_ok(), "{:?}", audit(&problem, &claim));
        let least = least_money(&problem).expect("there is a plan");
        assert_true(&problem, &claim, least);
        let inside = |b: &(usize, u32, Option<u32>)| b.0 < problem.stocks.len();
        claim.certificate.leaves[0].branches = branches
            .into_iter()
            .filter(inside)
            .map(|(stock, least, most)| Branch { stock, least, most })
            .collect();
        let mut numbers = numbers(&mut claim);
        which.get_mut(&mut numbers)(by);
        drop(numbers);
        // A piece moved by less than a millimetre within waste can be cut, but brute force looks at millimetres.
        let whole = |l: Length| l.nm() % 1_000_000 == 0;
        prop_assume!(claim.layouts.iter().all(|l| l.placed.iter().all(|p| whole(p.x) && whole(p.y))));
        if audit(&problem, &claim).is_ok() {
            assert_true(&problem, &claim, least);
        }
    }

    /// A claim above what its own prices show is refused even where it happens to be true.
    #[test]
    fn a_bound_above_what_the_prices_show_is_refused(
        problem in tiny(1..3, false),
        which in any::<prop::sample::Index>(),
        less in 1..100_000i64,
    ) {
        let right = plain_claim(&problem);
        prop_assume!(right.is_some());
        let mut claim = right.expect("assumed");
        let prices = &mut claim.certificate.leaves[0].pieces;
        let price = which.get_mut(prices);
        *price = (*price - less).max(0);
        let shown = raised(&problem, prices, claim.certificate.scale);
        prop_assert_eq!(audit(&problem, &claim).is_ok(), claim.bound.minor() <= shown);
    }
}
