//! The audit's dynamic programme and its view of the saw, against brute force.

use proptest::prelude::*;

use super::oracle::{Tiny, demands, least_money, sawable};
use super::support::{best, runs, tiny, tiny_with_makes};
use crate::audit::{Claim, Sheets, sawing, sums, worth};
use crate::{Certificate, Make, Placed};
use stripwright_units::{Length, Money};

proptest! {
    #![proptest_config(runs(400))]

    #[test]
    fn best_layout_is_what_every_cut_finds(problem in tiny(1..2, true), prices in proptest::collection::vec(0..20i64, 3)) {
        let prices = &prices[..problem.pieces.len()];
        prop_assert_eq!(best(&problem, 0, prices, None), Tiny::new(&problem, 0).best(prices, None));
    }

    #[test]
    fn best_proper_layout_is_what_every_cut_finds(
        problem in tiny(1..2, true),
        prices in proptest::collection::vec(0..20i64, 3),
        most in proptest::collection::vec(0..4u64, 3),
    ) {
        let prices = &prices[..problem.pieces.len()];
        let most = &most[..problem.pieces.len()];
        prop_assert_eq!(best(&problem, 0, prices, Some(most)), Tiny::new(&problem, 0).best(prices, Some(most)));
    }

    /// Giving up early never turns a value above the line into one below it, nor the reverse.
    #[test]
    fn best_layout_is_exact_above_the_line(
        problem in tiny(1..2, true),
        prices in proptest::collection::vec(0..20i64, 3),
        enough in 0..120i64,
    ) {
        let prices = &prices[..problem.pieces.len()];
        let exact = Tiny::new(&problem, 0).best(prices, None);
        let found = worth::best_layout(&problem, 0, prices, None, enough, &mut sums::Work::new()).unwrap();
        prop_assert_eq!(found > enough, exact > enough);
        if exact > enough {
            prop_assert_eq!(found, exact);
        }
    }

    /// Pieces thrown down anywhere: the audit's groups and brute force agree on what can be cut.
    #[test]
    fn sawing_is_what_every_cut_finds(
        problem in prop_oneof![tiny(1..2, false), tiny(1..2, true)],
        at in proptest::collection::vec((0..3usize, 0..9i64, 0..9i64, any::<bool>()), 1..5),
    ) {
        let placed: Vec<Placed> = at
            .into_iter()
            .map(|(piece, x, y, turned)| {
                let piece = piece % problem.pieces.len();
                let turned = turned && problem.pieces[piece].may_turn;
                super::support::placed(&problem, piece, x, y, turned)
            })
            .collect();
        let sheet = &problem.stocks[0];
        let inside = placed.iter().all(|p| p.x + p.length <= sheet.length && p.y + p.width <= sheet.width);
        let whole = |l: Length| l.nm() / 1_000_000;
        let rects: Vec<[i64; 4]> =
            placed.iter().map(|p| [whole(p.x), whole(p.y), whole(p.x + p.length), whole(p.y + p.width)]).collect();
        let claim = Claim {
            layouts: vec![Sheets { stock: 0, times: 1, placed }],
            makes: Vec::new(),
            spare: Vec::new(),
            money: Money::ZERO,
            bound: Money::ZERO,
            proven: false,
            certificate: Certificate::default(),
        };
        let mut objections = Vec::new();
        sawing::check(&problem, &claim, &mut objections);
        prop_assert_eq!(objections.is_empty(), inside && sawable(&problem, 0, &rects), "{:?}", objections);
    }

    /// What a proper strip may hold is enough for every choice of makes without surplus, and no more than some choice
    /// of a single make asks for beside the plain demand.
    #[test]
    fn need_is_enough_for_every_choice_of_makes(problem in tiny_with_makes()) {
        let need = worth::need(&problem);
        for wanted in demands(&problem) {
            prop_assert!(wanted.iter().zip(&need).all(|(&w, &n)| u64::from(w) <= n), "{:?} {:?}", wanted, need);
        }
        let plain = problem.pieces.iter().map(|p| u64::from(p.count));
        let least: Vec<u64> = plain.collect();
        let without = crate::Problem { makes: Vec::new(), ..problem.clone() };
        prop_assert_eq!(worth::need(&without), least);
    }

    /// Every plan costs at least what is asked is worth, whatever the prices, when no *proper* layout is worth more
    /// than its sheet: no plan is lost by looking at proper layouts only.
    #[test]
    fn proper_layouts_bound_every_plan(
        problem in prop_oneof![tiny(1..3, true), tiny(1..3, false), tiny_with_makes()],
        prices in proptest::collection::vec(0..20i64, 3),
    ) {
        let mut problem = problem;
        let prices = &prices[..problem.pieces.len()];
        let need = worth::need(&problem);
        for stock in 0..problem.stocks.len() {
            let worth = best(&problem, stock, prices, Some(&need));
            (problem.stocks[stock].price, problem.stocks[stock].limit) = (Money::from_minor(worth), None);
        }
        // One price for all covers, so that no make yields more than it uses.
        let uses = |make: &Make| make.uses.iter().map(|&(piece, n)| prices[piece] * i64::from(n)).sum::<i64>();
        let yields = |make: &Make| make.yields.iter().map(|&(_, n)| i64::from(n)).sum::<i64>();
        let cover = problem.makes.iter().filter(|m| yields(m) > 0).map(|m| uses(m) / yields(m)).min().unwrap_or(0);
        let pieces: i64 = problem.pieces.iter().zip(prices).map(|(p, price)| i64::from(p.count) * price).sum();
        let covers: i64 = problem.covers.iter().map(|c| i64::from(c.count) * cover).sum();
        if let Some(money) = least_money(&problem) {
            prop_assert!(pieces + covers <= money, "{} + {} asked, {} paid", pieces, covers, money);
        }
    }
}
