//! The solver against brute force and the audit: the one test that knows both.

use proptest::prelude::*;

use super::oracle::least_money;
use super::support::{cutting, mm, piece, stock, tiny};
use crate::audit::answer;
use crate::problem::{Cover, Cutting, First, Make};
use crate::{Answer, Budget, Problem, Refusal, solve};

/// Work for a tiny job: a fifth of a second at most.
const LITTLE: Budget = Budget { work: 200_000_000 };

fn solved(problem: &Problem) -> Result<Answer, Vec<Refusal>> {
    solve(problem, &LITTLE, &mut |_| true)
}

/// What is wrong with the solver's answer, if anything.
fn wrong(problem: &Problem) -> Option<String> {
    let least = least_money(problem);
    match (solved(problem), least) {
        (Err(refusals), Some(least)) => Some(format!("refused although {least} buys a plan: {refusals:?}")),
        (Ok(answer), None) => Some(format!("no plan exists, but got {answer:?}")),
        (Err(_), None) => None,
        (Ok(found), Some(least)) => {
            if let Err(objections) = answer(problem, &found) {
                let said: Vec<String> = objections.iter().map(ToString::to_string).collect();
                return Some(format!("{} {found:#?}", said.join(" ")));
            }
            let (money, bound) = (found.money.minor(), found.bound.minor());
            if money < least || bound > least {
                return Some(format!("money {money} and bound {bound}, but the optimum is {least}"));
            }
            None
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any number of each sheet: what limits do to the search has tests of its own.
    #[test]
    fn solver_agrees_with_brute_force(mut problem in tiny(1..3, false)) {
        problem.stocks.iter_mut().for_each(|stock| stock.limit = None);
        let wrong = wrong(&problem);
        prop_assert!(wrong.is_none(), "{}", wrong.unwrap_or_default());
    }
}

/// One piece of 1 x 3 on a sheet 9 long, where no rip is longer than 4: a panel is cut off before it is ripped.
#[test]
fn a_sheet_too_long_to_rip_is_crosscut_first() {
    let cutting = Cutting { longest_rip: Some(mm(4)), ..cutting(First::Crosscut, 3, 0) };
    let problem = Problem {
        pieces: vec![piece(1, 3, 1)],
        stocks: vec![stock(9, 6, 700)],
        cutting,
        ..Problem::default()
    };
    assert_eq!(wrong(&problem), None);
    assert_eq!(solved(&problem).unwrap().money.minor(), 700);
}

/// A cover that one make yields from a piece too long for the sheet, and another from a piece that fits.
fn two_ways(wanted: u32) -> Problem {
    let make = |yields: u32, uses: usize| Make {
        name: format!("from piece {uses}"),
        yields: vec![(0, yields)],
        uses: vec![(uses, 1)],
    };
    Problem {
        pieces: vec![piece(5, 1, 0), piece(4, 2, 0)],
        stocks: vec![stock(4, 4, 300)],
        covers: vec![Cover { name: "cover".into(), count: wanted }],
        makes: vec![make(9, 0), make(1, 1)],
        cutting: cutting(First::Rip, 2, 0),
    }
}

#[test]
fn a_make_whose_piece_fits_nowhere_is_not_used() {
    for wanted in [1, 2, 3, 20] {
        let problem = two_ways(wanted);
        assert_eq!(wrong(&problem), None);
        let answer = solved(&problem).unwrap();
        assert_eq!(answer.makes, [(1, wanted)]);
        assert_eq!(answer.money.minor(), i64::from(wanted.div_ceil(2)) * 300);
        assert_eq!(answer.bound, answer.money);
    }
}

#[test]
fn pieces_of_the_only_make_must_fit() {
    let mut problem = two_ways(3);
    problem.makes.truncate(1);
    let nearest = Some((0, mm(1), mm(0)));
    assert_eq!(solved(&problem), Err(vec![Refusal::PieceFitsNowhere { piece: 0, nearest }]));
}
