//! The audit's dynamic programme and its view of the saw, against brute force.

use proptest::prelude::*;

use super::oracle::{Tiny, demands, least_money, sawable};
use super::support::{best, mm, piece, runs, stock, tiny, tiny_with_makes};
use crate::audit::{Claim, Objection, Sheets, sawing, sums, worth};
use crate::generate::Seed;
use crate::problem::{Cutting, First, Problem, Trim};
use crate::{Certificate, Make, Placed};
use stripwright_units::{Length, Money};

proptest! {
    #![proptest_config(runs(1500))]

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
        let without = Problem { makes: Vec::new(), ..problem.clone() };
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

/// A region divided at random, as deep as four stages though three are the most: pieces are put where regions end,
/// now and then smaller than their place or too near each other.
struct Divider {
    seed: Seed,
    kerfs: [i64; 2],
    rects: Vec<[i64; 4]>,
}

impl Divider {
    fn divide(&mut self, region: [i64; 4], rip: bool, stages: u8) {
        let [x0, y0, x1, y1] = region;
        if x0 >= x1 || y0 >= y1 || self.rects.len() == 5 {
            return;
        }
        if stages == 0 {
            let mut piece = region;
            while self.seed.between(0, 3) == 0 {
                let side = self.seed.between(0, 3) as usize;
                piece[side] += if side < 2 { 1 } else { -1 };
            }
            if piece[0] < piece[2] && piece[1] < piece[3] && self.seed.between(0, 5) > 0 {
                self.rects.push(piece);
            }
            return;
        }
        let axis = usize::from(rip);
        if self.seed.between(0, 2) == 0 {
            return self.divide(region, !rip, stages - 1);
        }
        let end = self.seed.between(region[axis] + 1, region[axis + 2]);
        let gap = (self.kerfs[axis] - i64::from(self.seed.between(0, 7) == 0)).max(0);
        let (mut one, mut rest) = (region, region);
        one[axis + 2] = end;
        rest[axis] = end + gap;
        self.divide(one, !rip, stages - 1);
        self.divide(rest, rip, stages);
    }
}

/// Layouts that can nearly all be cut, or nearly: the audit's groups and brute force agree on which.
#[test]
fn near_layouts_are_what_every_cut_finds() {
    let mut counts = [0; 2];
    for number in 0..6000 {
        let mut seed = Seed(number);
        let mut maybe = |low: i64, high: i64| (seed.between(0, 2) == 0).then(|| mm(seed.between(low, high)));
        let (longest_rip, fence_reach, smallest_rip) = (maybe(3, 12), maybe(1, 8), maybe(1, 3));
        let (rip, crosscut) = (seed.between(0, 2), seed.between(0, 2));
        let cutting = Cutting {
            first: [First::Rip, First::Crosscut, First::Either][seed.between(0, 2) as usize],
            stages: seed.between(2, 3) as u8,
            rip_kerf: mm(rip),
            crosscut_kerf: mm(crosscut),
            longest_rip,
            fence_reach,
            smallest_rip,
            ..Cutting::default()
        };
        let mut sheet = stock(seed.between(6, 12), seed.between(5, 11), 100);
        let mut edge = || mm(seed.low(0, 2));
        sheet.trim = Trim { left: edge(), right: edge(), bottom: edge(), top: edge() };
        let whole = |l: Length| l.nm() / 1_000_000;
        let (left, low) = (whole(sheet.trim.left), whole(sheet.trim.bottom));
        let usable = [left, low, left + whole(sheet.usable_length()), low + whole(sheet.usable_width())];
        let depth = seed.between(1, 4) as u8;
        let rip_first = match cutting.first {
            First::Rip => true,
            First::Crosscut => false,
            First::Either => seed.between(0, 1) == 0,
        };
        let mut divider = Divider { seed, kerfs: [crosscut, rip], rects: Vec::new() };
        divider.divide(usable, rip_first, depth);
        let rects = divider.rects;
        if rects.is_empty() {
            continue;
        }
        let pieces = rects.iter().map(|r| piece(r[2] - r[0], r[3] - r[1], 1)).collect();
        let problem = Problem { pieces, stocks: vec![sheet], cutting, ..Problem::default() };
        let placed = rects
            .iter()
            .enumerate()
            .map(|(i, r)| super::support::placed(&problem, i, r[0], r[1], false))
            .collect();
        let mut claim = super::support::claim(Vec::new(), 0, 0, Certificate::default());
        claim.layouts = vec![Sheets { stock: 0, times: 1, placed }];
        let mut objections = Vec::new();
        sawing::check(&problem, &claim, &mut objections);
        let can = sawable(&problem, 0, &rects);
        assert_eq!(objections.is_empty(), can, "{number}: {rects:?} {problem:#?} {objections:?}");
        let overlap = objections.iter().any(|o| matches!(o, Objection::Overlap { .. }));
        assert!(!overlap, "{number}: {rects:?} lie beside each other, but {objections:?}");
        counts[usize::from(can)] += 1;
    }
    assert!(counts.iter().all(|&n| n > 1200), "too few of one kind: {counts:?}");
}
