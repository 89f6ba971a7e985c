//! Jobs whose best plan is seen by hand, and generated ones that must not get worse.

use stripwright_units::{Length, Money};

use super::*;
use crate::generate::{Wish, shop_job};
use crate::pricing::{Pattern, Strip, tables};
use crate::problem::{Cutting, First, Piece, Stock, Trim};
use crate::score::Score;

fn mm(n: i64) -> Length {
    Length::from_mm(n)
}

fn piece(length: i64, width: i64, count: u32, may_turn: bool) -> Piece {
    Piece {
        name: format!("{length} x {width}"),
        length: mm(length),
        width: mm(width),
        count,
        may_turn,
        stocks: vec![0, 1],
    }
}

fn sheet(length: i64, width: i64, price: i64, limit: Option<u32>) -> Stock {
    Stock {
        name: format!("{length} x {width}"),
        length: mm(length),
        width: mm(width),
        trim: Trim::default(),
        price: Money::from_minor(price),
        limit,
    }
}

/// Kerf 3; what is 300 by 300 is worth keeping.
fn job(pieces: Vec<Piece>, stocks: Vec<Stock>, first: First, stages: u8) -> Problem {
    let mut pieces = pieces;
    pieces.iter_mut().for_each(|piece| piece.stocks.retain(|&stock| stock < stocks.len()));
    let cutting = Cutting {
        first,
        stages,
        rip_kerf: mm(3),
        crosscut_kerf: mm(3),
        useful_offcut: Some((mm(300), mm(300))),
        ..Cutting::default()
    };
    Problem { pieces, stocks, cutting, ..Problem::default() }
}

fn lie(size: usize, turned: bool, n: u32) -> (Lie, u32) {
    (Lie { size, turned }, n)
}

fn along(stock: usize, strips: Vec<Strip>) -> Pattern {
    Pattern { stock, view: View::Along, panels: vec![strips] }
}

/// What a plan written by hand comes to, before and after.
#[track_caller]
fn refined(problem: &Problem, layouts: Vec<(Pattern, u32)>) -> (Score, Score, Answer) {
    let job = Job::new(problem).unwrap();
    let plan = Plan { layouts, ..Plan::default() };
    let before = plan.answer(problem, &job);
    assert!(before.spare.is_empty(), "the plan by hand has spare pieces");
    let mut repack = Repack::new(&job, &tables(&job).unwrap());
    let mut ask = |_: &crate::Progress| true;
    let mut search = Search::new(&Budget { work: MOST }, &mut ask);
    let after = refine(problem, &job, &plan, &mut repack, &mut search);
    sound(problem, &after);
    (before.score(problem), after.score(problem), after)
}

/// Everything that the audit checks of a plan besides its proof.
#[track_caller]
fn sound(problem: &Problem, answer: &Answer) {
    let mut answer = answer.clone();
    let none = vec![0; problem.stocks.len()];
    answer.bound = Money::ZERO;
    answer.certificate = crate::Certificate {
        scale: 1,
        proper: false,
        leaves: vec![crate::Leaf {
            branches: Vec::new(),
            pieces: vec![0; problem.pieces.len()],
            covers: vec![0; problem.covers.len()],
            upper: none.clone(),
            lower: none,
            forks: Vec::new(),
        }],
    };
    crate::audit::answer(problem, &answer).unwrap_or_else(|o| panic!("{o:?}"));
}

/// Three squares fit a row on the sheet that has to be bought: 3 x 300 + 6 <= 1000. The offcut on hand stays on hand.
#[test]
fn an_offcut_on_hand_that_is_not_needed_stays_there() {
    let stocks = vec![sheet(1000, 500, 1000, None), sheet(320, 320, 0, Some(1))];
    let problem = job(vec![piece(300, 300, 3, false)], stocks, First::Either, 2);
    let plan = vec![(along(0, vec![vec![lie(0, false, 2)]]), 1), (along(1, vec![vec![lie(0, false, 1)]]), 1)];
    let (before, after, _) = refined(&problem, plan);
    assert_eq!(before.money, after.money);
    assert_eq!(after.area, mm(1000).area_nm2(mm(500)));
}

/// The same squares on a sheet of 920 x 310 that costs as much.
#[test]
fn of_equal_money_the_smaller_sheet_is_bought() {
    let stocks = vec![sheet(1000, 500, 1000, None), sheet(920, 310, 1000, None)];
    let problem = job(vec![piece(300, 300, 3, false)], stocks, First::Either, 2);
    let (before, after, _) = refined(&problem, vec![(along(0, vec![vec![lie(0, false, 3)]]), 1)]);
    assert_eq!(before.money, after.money);
    assert_eq!(after.area, mm(920).area_nm2(mm(310)));
}

/// Four squares of 300 on two sheets of 620 x 310, two on each, for 6.00 a sheet: the sheet of 620 x 620 for 12.00 has
/// twice that area and 620 x 310 twice are the same; a sheet of 610 x 610 for 12.00 is smaller than both.
#[test]
fn two_sheets_are_exchanged_for_a_smaller_one_of_their_money() {
    let stocks = vec![sheet(620, 310, 600, None), sheet(610, 610, 1200, None)];
    let problem = job(vec![piece(300, 300, 4, false)], stocks, First::Either, 2);
    let (before, after, _) = refined(&problem, vec![(along(0, vec![vec![lie(0, false, 2)]]), 2)]);
    assert_eq!(before.money, after.money);
    assert_eq!(after.area, mm(610).area_nm2(mm(610)));
}

/// Two parts of 500 x 300, one turned, need rips at 500 and 300; both unturned lie in one strip of 300. The sheet is
/// wider than either, so one rip at least there is.
#[test]
fn a_size_that_lies_both_ways_comes_to_lie_one_way() {
    let problem = job(vec![piece(500, 300, 2, true)], vec![sheet(1100, 900, 1000, None)], First::Rip, 2);
    let plan = vec![(along(0, vec![vec![lie(0, false, 1)], vec![lie(0, true, 1)]]), 1)];
    let (before, after, _) = refined(&problem, plan);
    assert_eq!((before.fence_settings, after.fence_settings), (2, 1));
}

/// The same for a saw that cannot be trusted with every width: there layouts are never filled anew, only changed.
#[test]
fn a_saw_with_limits_gains_too() {
    let mut problem = job(vec![piece(500, 300, 2, true)], vec![sheet(1100, 900, 1000, None)], First::Rip, 2);
    problem.cutting.smallest_rip = Some(mm(40));
    let plan = vec![(along(0, vec![vec![lie(0, false, 1)], vec![lie(0, true, 1)]]), 1)];
    let (before, after, _) = refined(&problem, plan);
    assert_eq!((before.fence_settings, after.fence_settings), (2, 1));
}

/// Rips first: a panel of 400 for the tall parts, one of 2 x 195 + 3 = 393 for the low ones, which then are ripped at
/// 195. All parts are as long as the sheet, so neither kind can lie beside the other. With the second panel cut at 400,
/// too, there is no setting of 393. 400 and 195 have to be set: no part is as wide as the sheet, and none of the sums
/// that end flush with its edge is without a rip of each.
#[test]
fn panels_are_cut_at_settings_that_are_there() {
    let pieces = vec![piece(1000, 400, 1, false), piece(1000, 195, 2, false)];
    let problem = job(pieces, vec![sheet(1000, 1000, 1000, None)], First::Rip, 3);
    let panels = vec![vec![vec![lie(0, false, 1)]], vec![vec![lie(1, false, 2)]]];
    let plan = vec![(Pattern { stock: 0, view: View::Across, panels }, 1)];
    let (_, after, _) = refined(&problem, plan);
    assert_eq!(after.fence_settings, 2);
}

/// Three parts of 300 x 600 fill a sheet of 1000 x 600, so four need two sheets. Two and two leave 1000 - 606 = 394
/// of each; three and one leave 697 x 600 of the second, and no sheet that holds a part as wide as itself has more.
#[test]
fn waste_is_gathered_on_one_sheet() {
    let problem = job(vec![piece(300, 600, 4, false)], vec![sheet(1000, 600, 1000, None)], First::Either, 2);
    let (before, after, _) = refined(&problem, vec![(along(0, vec![vec![lie(0, false, 2)]]), 2)]);
    assert_eq!(before.rank().3, -mm(394).area_nm2(mm(600)));
    let (_, offcut) = after.largest_offcut.unwrap();
    assert_eq!((offcut.length, offcut.width), (mm(697), mm(600)));
}

/// A part of 300 x 500 on a sheet of 1000 x 600: ripped first it leaves 697 x 500 and a strip of 97 that nobody keeps;
/// crosscut first it leaves 697 x 600, the most that a straight cut beside the part can leave.
#[test]
fn what_is_left_over_is_one_piece() {
    let problem = job(vec![piece(300, 500, 1, false)], vec![sheet(1000, 600, 1000, None)], First::Either, 3);
    let (before, after, _) = refined(&problem, vec![(along(0, vec![vec![lie(0, false, 1)]]), 1)]);
    assert_eq!(before.rank().3, -mm(697).area_nm2(mm(500)));
    assert_eq!(after.rank().3, -mm(697).area_nm2(mm(600)));
    assert_eq!(after.fence_settings, 1);
}

/// Two sheets, both full, that hold the same in another order are cut the same.
#[test]
fn sheets_that_hold_the_same_are_cut_the_same() {
    let pieces = vec![piece(400, 300, 4, false), piece(490, 300, 4, false)];
    let problem = job(pieces, vec![sheet(1000, 610, 1000, None)], First::Rip, 2);
    let mixed = vec![lie(0, false, 1), lie(1, false, 1)];
    let one = along(0, vec![mixed.clone(), mixed]);
    let two = along(0, vec![vec![lie(0, false, 2)], vec![lie(1, false, 2)]]);
    let (_, _, answer) = refined(&problem, vec![(one, 1), (two, 1)]);
    assert_eq!(answer.layouts.iter().map(|l| l.times).collect::<Vec<_>>(), [2]);
}

/// What has nothing to gain stays as it was found, to the byte.
#[test]
fn a_plan_without_gain_is_left_alone() {
    let problem = job(vec![piece(300, 600, 3, false)], vec![sheet(1000, 600, 1000, None)], First::Either, 2);
    let plan = vec![(along(0, vec![vec![lie(0, false, 3)]]), 1)];
    let (before, after, _) = refined(&problem, plan);
    assert_eq!(before, after);
}

/// The answer as found and as refined, of generated jobs on saws of all sorts.
#[test]
fn no_generated_job_gets_worse() {
    let mut gained = [0; 3];
    for seed in 0..48 {
        let mut problem = shop_job(seed, Wish { sizes: Some(4 + seed as usize % 9), ..Wish::default() });
        let cutting = &mut problem.cutting;
        match seed % 6 {
            0 => cutting.fence_reach = Some(mm(700)),
            1 => (cutting.longest_rip, cutting.smallest_rip) = (Some(mm(2000)), Some(mm(40))),
            _ => {}
        }
        let budget = Budget { work: 15_000_000 };
        let Ok(answer) = crate::solve(&problem, &budget, &mut |_| true) else { continue };
        let job = Job::new(&problem).unwrap();
        let (found, _) =
            crate::solve::cheapest(&problem, &job, &budget, crate::together::Crew::default(), &mut |_| true)
                .unwrap();
        let found = found.plan.answer(&problem, &job);
        let verdict = crate::audit::answer(&problem, &answer).unwrap_or_else(|o| panic!("{seed}: {o:?}"));
        // What is proven to be least is what was found, so money can only differ where it is not.
        assert!(answer.money <= found.money, "seed {seed}");
        assert!(verdict.bound <= answer.money, "seed {seed}");
        let (before, after) = (found.score(&problem).rank(), answer.score(&problem).rank());
        assert!(after <= before, "seed {seed}: {after:?} after {before:?}");
        if after == before {
            assert!(answer.layouts.len() <= found.layouts.len(), "seed {seed}");
        }
        let counts = |answer: &Answer| {
            let mut counts = vec![0; problem.pieces.len()];
            for layout in &answer.layouts {
                layout.placed(&problem).iter().for_each(|p| counts[p.piece] += layout.times);
            }
            counts
        };
        assert_eq!((counts(&answer), &answer.makes), (counts(&found), &found.makes), "seed {seed}");
        gained[0] += u32::from(after.1 < before.1);
        gained[1] += u32::from(after.2 < before.2);
        gained[2] += u32::from(after.3 < before.3);
    }
    assert!(gained.iter().all(|&n| n > 0), "{gained:?}");
}
