//! Tiny jobs, drawn at random or written by hand.

use proptest::prelude::*;
use stripwright_units::{Length, Money};

use crate::Placed;
use crate::audit::sums::Work;
use crate::audit::worth::best_layout;
use crate::audit::{Claim, Sheets};
use crate::certificate::{Certificate, Leaf};
use crate::problem::{Cover, Cutting, First, Make, Piece, Problem, Stock, Trim};

/// So many jobs, the same ones every time.
pub(crate) fn runs(cases: u32) -> ProptestConfig {
    let rng_seed = proptest::test_runner::RngSeed::Fixed(20_251_125);
    ProptestConfig {
        cases,
        rng_seed,
        failure_persistence: None,
        max_global_rejects: 100_000,
        ..ProptestConfig::default()
    }
}

pub(crate) fn mm(n: i64) -> Length {
    Length::from_mm(n)
}

pub(crate) fn piece(length: i64, width: i64, count: u32) -> Piece {
    let name = format!("{length} x {width}");
    Piece { name, length: mm(length), width: mm(width), count, may_turn: false, stocks: vec![0] }
}

pub(crate) fn stock(length: i64, width: i64, price: i64) -> Stock {
    let (length, width) = (mm(length), mm(width));
    let trim = Trim::default();
    Stock {
        name: format!("sheet {price}"),
        length,
        width,
        trim,
        price: Money::from_minor(price),
        limit: None,
    }
}

pub(crate) fn cutting(first: First, stages: u8, kerf: i64) -> Cutting {
    Cutting { first, stages, rip_kerf: mm(kerf), crosscut_kerf: mm(kerf), ..Cutting::default() }
}

pub(crate) fn placed(problem: &Problem, piece: usize, x: i64, y: i64, turned: bool) -> Placed {
    let kind = &problem.pieces[piece];
    let (length, width) = if turned { (kind.width, kind.length) } else { (kind.length, kind.width) };
    Placed { piece, x: mm(x), y: mm(y), length, width, turned }
}

/// Sizes of sheet and piece, kerfs, limits of the shop.
pub(crate) fn tiny(stocks: std::ops::Range<usize>, shop_limits: bool) -> impl Strategy<Value = Problem> {
    let stock = (4..13i64, 4..11i64, 0..9i64, proptest::option::weighted(0.3, 1..3u32));
    let piece = (1..9i64, 1..8i64, 1..4u32, any::<bool>(), any::<bool>());
    let first = prop_oneof![Just(First::Rip), Just(First::Crosscut), Just(First::Either)];
    let limit = move || proptest::option::weighted(0.4, 1..9i64).prop_map(move |l| l.filter(|_| shop_limits));
    (
        proptest::collection::vec(stock, stocks),
        proptest::collection::vec(piece, 1..4),
        (first, 2..4u8, 0..3i64, 0..3i64),
        (limit(), limit(), limit()),
    )
        .prop_map(|(stocks, pieces, (first, stages, rip, crosscut), (longest, reach, smallest))| Problem {
            stocks: stocks
                .into_iter()
                .map(|(length, width, price, limit)| Stock {
                    limit,
                    ..self::stock(length, width, price * 100)
                })
                .collect(),
            pieces: pieces
                .into_iter()
                .map(|(l, w, n, may_turn, _)| Piece { may_turn, ..self::piece(l, w, n) })
                .collect(),
            cutting: Cutting {
                rip_kerf: mm(rip),
                crosscut_kerf: mm(crosscut),
                longest_rip: longest.map(|l| mm(l + 3)),
                fence_reach: reach.map(mm),
                smallest_rip: smallest.map(|l| mm(l / 2)),
                ..cutting(first, stages, 0)
            },
            ..Problem::default()
        })
        .prop_map(|mut problem| {
            let all: Vec<usize> = (0..problem.stocks.len()).collect();
            problem.pieces.iter_mut().for_each(|p| p.stocks.clone_from(&all));
            problem
        })
}

/// As [`tiny`], with covers to be yielded by makes out of one or two kinds of piece.
pub(crate) fn tiny_with_makes() -> impl Strategy<Value = Problem> {
    let make = (proptest::collection::vec(0..3u32, 1..3), proptest::collection::vec(0..3u32, 1..3));
    (tiny(1..3, false), proptest::collection::vec(1..3u32, 1..3), proptest::collection::vec(make, 1..3))
        .prop_map(|(mut problem, covers, makes)| {
            problem.pieces.truncate(2);
            problem.pieces.iter_mut().for_each(|p| p.count = p.count.saturating_sub(2));
            let several = |numbers: Vec<u32>, have: usize| -> Vec<(usize, u32)> {
                numbers.into_iter().take(have).enumerate().filter(|&(_, n)| n > 0).collect()
            };
            problem.covers = covers
                .into_iter()
                .enumerate()
                .map(|(i, count)| Cover { name: format!("cover {i}"), count })
                .collect();
            problem.makes = makes
                .into_iter()
                .enumerate()
                .map(|(i, (yields, uses))| Make {
                    name: format!("make {i}"),
                    yields: several(yields, problem.covers.len()),
                    uses: several(uses, problem.pieces.len()),
                })
                .collect();
            problem
        })
}

/// The worth of the best layout by the audit's own programme, exact.
pub(crate) fn best(problem: &Problem, stock: usize, prices: &[i64], most: Option<&[u64]>) -> i64 {
    best_layout(problem, stock, prices, most, 0, &mut Work::new()).unwrap()
}

/// One leaf without branches.
pub(crate) fn leaf(problem: &Problem, pieces: Vec<i64>) -> Leaf {
    let none = vec![0; problem.stocks.len()];
    let covers = vec![0; problem.covers.len()];
    Leaf { branches: Vec::new(), pieces, covers, upper: none.clone(), lower: none, forks: Vec::new() }
}

pub(crate) fn certificate(scale: i64, leaves: Vec<Leaf>) -> Certificate {
    Certificate { scale, proper: false, leaves }
}

/// A claim with nothing spare and no makes.
pub(crate) fn claim(layouts: Vec<Sheets>, money: i64, bound: i64, certificate: Certificate) -> Claim {
    let (money, bound) = (Money::from_minor(money), Money::from_minor(bound));
    Claim { layouts, makes: Vec::new(), spare: Vec::new(), money, bound, proven: money == bound, certificate }
}
