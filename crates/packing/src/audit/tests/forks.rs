//! Leaves with forks: their best layouts against every layout of a tiny sheet, their worth against plans that lie on
//! their side of every fork, and what becomes of a proof by cases when one of its cases is missing or changed.

use std::collections::BTreeMap;

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use stripwright_units::Length;

use super::oracle::{firsts, least_money};
use super::support::{leaf, runs, tiny};
use crate::audit::sums::Work;
use crate::audit::worth::{need, tilted};
use crate::audit::{Objection, answer as audited};
use crate::certificate::{Branch, Count, Counted, Fork, Leaf};
use crate::problem::{Direction, Piece, Problem};
use crate::{Answer, Budget, Layout, Region, Within, solve};

/// Extents along the first cuts and across them.
fn along_and_across(first: Direction, x: Length, y: Length) -> (Length, Length) {
    if first == Direction::Rip { (x, y) } else { (y, x) }
}

/// The ways a piece may lie: along the strips and across them.
fn ways(piece: &Piece, first: Direction) -> Vec<(Length, Length)> {
    let mut ways = vec![along_and_across(first, piece.length, piece.width)];
    if piece.may_turn {
        ways.push(along_and_across(first, piece.width, piece.length));
    }
    ways
}

fn signed(fork: &Fork) -> i64 {
    if fork.more { fork.price } else { -fork.price }
}

/// What a fork counts in strips, each a width with how many of each piece: those of one sheet cut this way.
fn counted(fork: &Fork, stock: usize, first: Direction, strips: &[(Length, Vec<u32>)]) -> i64 {
    let Count { stocks, first: own, what } = &fork.count;
    if !stocks.contains(&stock) || *own != first {
        return 0;
    }
    let of = |width: Length| strips.iter().filter(move |strip| strip.0 == width);
    match what {
        Counted::Sheets => 1,
        Counted::Strips { width } => of(*width).count() as i64,
        Counted::Pieces { width, pieces } => {
            of(*width).flat_map(|strip| pieces.iter().map(|&r| i64::from(strip.1[r]))).sum()
        }
    }
}

/// Every strip of a sheet cut this way, by width: one piece of just that width, and any no wider beside it.
fn every_strip(problem: &Problem, stock: usize, first: Direction) -> BTreeMap<Length, Vec<Vec<u32>>> {
    let sheet = &problem.stocks[stock];
    let (room, across) = along_and_across(first, sheet.usable_length(), sheet.usable_width());
    let kerf = if first == Direction::Rip { problem.cutting.crosscut_kerf } else { problem.cutting.rip_kerf };
    let fits = |&(l, w): &(Length, Length)| l <= room && w <= across;
    let widths = problem.pieces.iter().flat_map(|p| ways(p, first)).filter(fits).map(|way| way.1);
    let mut all = BTreeMap::new();
    for width in widths {
        let mut rows = vec![(room + kerf, vec![0u32; problem.pieces.len()])];
        for (r, piece) in problem.pieces.iter().enumerate() {
            let least = ways(piece, first).into_iter().filter(|way| way.1 <= width).map(|way| way.0).min();
            let Some(least) = least.filter(|&l| l <= room) else { continue };
            let mut grown = Vec::new();
            for (mut left, mut counts) in rows {
                grown.push((left, counts.clone()));
                for _ in 0..piece.count {
                    left = left - least - kerf;
                    counts[r] += 1;
                    if left < Length::ZERO {
                        break;
                    }
                    grown.push((left, counts.clone()));
                }
            }
            rows = grown;
        }
        let mut strips = Vec::new();
        for (r, piece) in problem.pieces.iter().enumerate() {
            for (l, _) in ways(piece, first).into_iter().filter(|way| way.1 == width && way.0 <= room) {
                let with = rows.iter().filter(|(left, counts)| *left >= l + kerf && counts[r] < piece.count);
                for (_, counts) in with {
                    let mut counts = counts.clone();
                    counts[r] += 1;
                    strips.push(counts);
                }
            }
        }
        all.insert(width, strips);
    }
    all
}

/// The best layout by trying every number of the best strip of every width.
fn best_by_hand(problem: &Problem, stock: usize, leaf: &Leaf) -> i64 {
    let cut = |first: Direction| {
        let forks: Vec<&Fork> = leaf.forks.iter().collect();
        let tilt = |strips: &[(Length, Vec<u32>)], sheets: bool| -> i64 {
            let own = |fork: &&&Fork| matches!(fork.count.what, Counted::Sheets) == sheets;
            forks.iter().filter(own).map(|f| signed(f) * counted(f, stock, first, strips)).sum()
        };
        let sheet = &problem.stocks[stock];
        let room = along_and_across(first, sheet.usable_length(), sheet.usable_width());
        let mut kinds = Vec::new();
        for (width, strips) in every_strip(problem, stock, first) {
            let worth = |counts: &Vec<u32>| {
                let plain: i64 = counts.iter().zip(&leaf.pieces).map(|(&n, &p)| i64::from(n) * p).sum();
                plain + tilt(&[(width, counts.clone())], false)
            };
            let best = strips.iter().map(worth).max().unwrap_or(0);
            let wide =
                |piece: &&Piece| ways(piece, first).iter().any(|way| way.1 == width && way.0 <= room.0);
            let most: u32 = problem.pieces.iter().filter(wide).map(|p| p.count).sum();
            kinds.push((width, best, most));
        }
        let kerf =
            if first == Direction::Rip { problem.cutting.rip_kerf } else { problem.cutting.crosscut_kerf };
        stacked(&kinds, room.1 + kerf, kerf) + tilt(&[], true)
    };
    firsts(problem).into_iter().map(cut).max().expect("a way to cut")
}

fn stacked(kinds: &[(Length, i64, u32)], room: Length, kerf: Length) -> i64 {
    let Some((&(width, worth, most), rest)) = kinds.split_first() else { return 0 };
    let mut best = i64::MIN;
    let mut left = room;
    for n in 0..=i64::from(most) {
        if left < Length::ZERO {
            break;
        }
        best = best.max(n * worth + stacked(rest, left, kerf));
        left = left - width - kerf;
    }
    best
}

/// A fork as drawn: which way, what, which width and piece, at, side, price.
type Drawn = (bool, u8, prop::sample::Index, prop::sample::Index, u32, bool, i64);

fn drawn() -> impl Strategy<Value = Vec<Drawn>> {
    let fork = (
        any::<bool>(),
        0..3u8,
        any::<prop::sample::Index>(),
        any::<prop::sample::Index>(),
        0..4u32,
        any::<bool>(),
        0..40i64,
    );
    proptest::collection::vec(fork, 1..5)
}

/// Forks on all sheets, or all but the first, of widths that pieces have.
fn forks(problem: &Problem, drawn: &[Drawn]) -> Vec<Fork> {
    let fork = |&(rip, what, width, piece, at, more, price): &Drawn| {
        let first = if rip { Direction::Rip } else { Direction::Crosscut };
        let stocks = (usize::from(price % 3 == 0)..problem.stocks.len()).collect();
        let widths: Vec<Length> =
            problem.pieces.iter().flat_map(|p| ways(p, first)).map(|way| way.1).collect();
        let width = *width.get(&widths);
        let what = match what {
            0 => Counted::Sheets,
            1 => Counted::Strips { width },
            _ => Counted::Pieces { width, pieces: vec![piece.index(problem.pieces.len())] },
        };
        Fork { count: Count { stocks, first, what }, at, more, price }
    };
    drawn.iter().map(fork).collect()
}

/// The strips of a layout of proper pieces: which way it is cut first, and what is in each strip.
fn strips(problem: &Problem, layout: &Layout) -> (Direction, Vec<(Length, Vec<u32>)>) {
    let pieces = |region: &Region| {
        let one = Layout { stock: layout.stock, times: 1, root: region.clone() };
        one.placed(problem)
    };
    let (first, parts) = match &layout.root.within {
        Within::Cut(first, parts) if firsts(problem).contains(first) => (*first, parts.clone()),
        _ => (firsts(problem)[0], vec![layout.root.clone()]),
    };
    let strip = |part: &Region| {
        let mut counts = vec![0; problem.pieces.len()];
        let mut width = Length::ZERO;
        for piece in pieces(part) {
            counts[piece.piece] += 1;
            width = width.max(along_and_across(first, piece.length, piece.width).1);
        }
        (width, counts)
    };
    (first, parts.iter().map(strip).filter(|s| s.0.is_positive()).collect())
}

fn two_stages(shop_limits: bool) -> impl Strategy<Value = Problem> {
    tiny(1..4, shop_limits).prop_map(|mut problem| {
        problem.cutting.stages = 2;
        problem
    })
}

proptest! {
    #![proptest_config(runs(300))]

    /// The programme finds the best of all layouts, with forks or without.
    #[test]
    fn the_best_layout_is_the_best_of_all(
        problem in two_stages(false),
        prices in proptest::collection::vec(0..30i64, 3),
        drawn in drawn(),
    ) {
        let forks = forks(&problem, &drawn);
        let leaf = Leaf { forks, ..leaf(&problem, prices[..problem.pieces.len()].to_vec()) };
        let need = need(&problem);
        for stock in 0..problem.stocks.len() {
            let found = tilted::best_layout(&problem, stock, &leaf, Some(&need), &mut Work::new()).unwrap();
            prop_assert_eq!(found, best_by_hand(&problem, stock, &leaf));
        }
    }

    /// Whatever the prices: a plan on the right side of every fork pays for what is wanted, by the best layout of each
    /// of its sheets.
    #[test]
    fn no_plan_of_a_case_is_cheaper_than_its_prices_say(
        problem in two_stages(true),
        prices in proptest::collection::vec(0..30i64, 3),
        drawn in drawn(),
    ) {
        let answer = solve(&problem, &Budget { work: 100_000 }, &mut |_| true);
        prop_assume!(answer.is_ok());
        let answer = answer.expect("assumed");
        prop_assume!(answer.spare.is_empty());
        let mut forks = forks(&problem, &drawn);
        for fork in &mut forks {
            let n: i64 = answer
                .layouts
                .iter()
                .map(|layout| {
                    let (first, strips) = strips(&problem, layout);
                    i64::from(layout.times) * counted(fork, layout.stock, first, &strips)
                })
                .sum();
            fork.more = n > i64::from(fork.at);
            // As near as may be: the price counts in full.
            fork.at = if fork.more { n as u32 - 1 } else { n as u32 };
        }
        let leaf = Leaf { forks, ..leaf(&problem, prices[..problem.pieces.len()].to_vec()) };
        let need = need(&problem);
        let wanted: i64 = problem.pieces.iter().zip(&leaf.pieces).map(|(p, y)| i64::from(p.count) * y).sum();
        let paid: i64 = leaf
            .forks
            .iter()
            .map(|f| signed(f) * (i64::from(f.at) + i64::from(f.more)))
            .sum();
        let held: i64 = answer
            .layouts
            .iter()
            .map(|layout| {
                let best = tilted::best_layout(&problem, layout.stock, &leaf, Some(&need), &mut Work::new());
                i64::from(layout.times) * best.unwrap()
            })
            .sum();
        prop_assert!(wanted + paid <= held, "{wanted} + {paid} > {held}");
    }
}

/// Tiny jobs, the same ones each time, of which some are proven by cases.
fn proven_by_cases(jobs: usize) -> Vec<(Problem, Answer)> {
    let strategy = two_stages(false);
    let mut runner = TestRunner::new(runs(0));
    let draw = |_| strategy.new_tree(&mut runner).expect("a job").current();
    let answered = |problem: Problem| {
        let answer = solve(&problem, &Budget { work: 3_000_000 }, &mut |_| true).ok()?;
        answer.certificate.leaves.iter().any(|leaf| !leaf.forks.is_empty()).then_some((problem, answer))
    };
    (0..jobs).map(draw).filter_map(answered).collect()
}

/// A proof by cases says nothing untrue; without one of its cases, or with a fork changed, it proves nothing.
#[test]
fn every_case_of_a_proof_is_needed() {
    let all = proven_by_cases(4000);
    assert!(all.len() > 15, "{} proofs by cases", all.len());
    for (problem, answer) in all {
        audited(&problem, &answer).unwrap_or_else(|o| panic!("{o:?}"));
        let least = least_money(&problem).expect("a plan");
        assert!(answer.bound.minor() <= least, "bound {} above the optimum {least}", answer.bound);
        let refused = |what: &str, spoil: &dyn Fn(&mut Vec<Leaf>)| {
            let mut spoilt = answer.clone();
            spoil(&mut spoilt.certificate.leaves);
            assert!(audited(&problem, &spoilt).is_err(), "{what}: {problem:#?} {spoilt:#?}");
        };
        let leaves = &answer.certificate.leaves;
        for (i, leaf) in leaves.iter().enumerate().filter(|(_, leaf)| !leaf.forks.is_empty()) {
            let price = |b: &Branch| i64::from(b.least) * problem.stocks[b.stock].price.minor();
            assert!(leaf.branches.iter().map(price).sum::<i64>() < answer.bound.minor());
            refused("a case less", &|leaves| drop(leaves.remove(i)));
            refused("no forks", &|leaves| leaves[i].forks.clear());
            for k in 0..leaf.forks.len() {
                refused("the other side", &|leaves| leaves[i].forks[k].more ^= true);
                refused("another number", &|leaves| leaves[i].forks[k].at += 1);
                refused("other sheets", &|leaves| leaves[i].forks[k].count.stocks.push(0));
            }
        }
    }
}

/// All sides of a fork that closes nothing, which a proof may have, and one side too few.
#[test]
fn a_box_without_all_its_cases_is_no_box() {
    let (problem, answer) = proven_by_cases(1000).swap_remove(0);
    let mut spoilt = answer.clone();
    let at = spoilt.certificate.leaves.iter().position(|leaf| !leaf.forks.is_empty()).expect("a case");
    spoilt.certificate.leaves.remove(at);
    let said = audited(&problem, &spoilt).expect_err("a case less");
    assert!(said.iter().any(|o| matches!(o, Objection::CaseLeftOut { .. })), "{said:?}");
    let Objection::CaseLeftOut { leaf, leaves } = said[0] else { panic!("{said:?}") };
    let text = said[0].to_string();
    assert!(
        text.starts_with(&format!("Leaf {leaf} of the certificate"))
            && text.contains(&format!("{leaves} in all"))
    );
}
