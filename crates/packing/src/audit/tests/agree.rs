//! The solver against brute force and the audit: the one test that knows both.

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use super::oracle::least_money;
use super::support::{cutting, mm, piece, runs, stock, tiny, tiny_with_makes};
use crate::audit::answer;
use crate::problem::{Cover, Cutting, First, Make};
use crate::{Answer, Budget, Problem, Refusal, solve};

/// Work for a tiny job: some hundredths of a second.
const LITTLE: Budget = Budget { work: 5_000_000 };

fn solved(problem: &Problem) -> Result<Answer, Vec<Refusal>> {
    solve(problem, &LITTLE, &mut |_| true)
}

/// How an answer stands against brute force.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Standing {
    /// The least money, or rightly refused.
    Best,
    /// All that is said is true, but there is a cheaper plan, or one where none was found.
    Short,
    /// Something that is said is not true.
    Wrong(String),
}

fn standing(problem: &Problem) -> Standing {
    match (solved(problem), least_money(problem)) {
        (Err(refusals), None) => match wrong_advice(problem, &refusals) {
            Some(advice) => Standing::Wrong(advice),
            None => Standing::Best,
        },
        (Err(refusals), Some(least)) => match refusals[..] {
            [Refusal::LimitsTooSmall { shown: false, .. }] => Standing::Short,
            _ => Standing::Wrong(format!("refused although {least} buys a plan: {refusals:?}")),
        },
        (Ok(found), None) => Standing::Wrong(format!("no plan exists, but got {found:?}")),
        (Ok(found), Some(least)) => {
            if let Err(objections) = answer(problem, &found) {
                let said: Vec<String> = objections.iter().map(ToString::to_string).collect();
                return Standing::Wrong(format!("{} {found:#?}", said.join(" ")));
            }
            let (money, bound) = (found.money.minor(), found.bound.minor());
            if money < least || bound > least {
                let numbers = format!("money {money} and bound {bound}, but the optimum is {least}");
                return Standing::Wrong(numbers);
            }
            if money == least { Standing::Best } else { Standing::Short }
        }
    }
}

/// A refusal that names sheets which would do: they must.
fn wrong_advice(problem: &Problem, refusals: &[Refusal]) -> Option<String> {
    let more = refusals.iter().flat_map(|refusal| match refusal {
        Refusal::LimitsTooSmall { more, .. } => more.as_slice(),
        _ => &[],
    });
    more.copied().find_map(|(stock, more)| {
        let mut eased = problem.clone();
        eased.stocks[stock].limit = eased.stocks[stock].limit.map(|limit| limit + more);
        let enough = least_money(&eased).is_some();
        (!enough).then(|| format!("{more} more of sheet {stock} are not enough"))
    })
}

/// Holds the same `jobs` jobs each time against brute force. Nothing may be wrong; `most` may be short, for the search
/// dives and does not try everything. The numbers are what was measured, and only ever to be lowered.
fn agree(jobs: usize, most: usize, strategy: impl Strategy<Value = Problem>) {
    let mut runner = TestRunner::new(runs(0));
    let mut short = Vec::new();
    for _ in 0..jobs {
        let problem = strategy.new_tree(&mut runner).expect("a job").current();
        match standing(&problem) {
            Standing::Best => {}
            Standing::Short => short.push(problem),
            Standing::Wrong(why) => panic!("{why}\n{problem:#?}"),
        }
    }
    assert!(short.len() <= most, "{} of {jobs} are short, the first: {:#?}", short.len(), short[0]);
}

#[test]
fn agrees_with_brute_force_on_any_number_of_sheets() {
    let unlimited = tiny(1..3, false).prop_map(|mut problem| {
        problem.stocks.iter_mut().for_each(|stock| stock.limit = None);
        problem
    });
    agree(250, 0, unlimited);
}

#[test]
fn agrees_with_brute_force_on_limited_sheets() {
    let limited = tiny(1..4, false).prop_map(|mut problem| {
        problem.stocks.iter_mut().for_each(|stock| stock.limit = stock.limit.or(Some(2)));
        problem
    });
    agree(250, 1, limited);
}

#[test]
fn agrees_with_brute_force_in_a_limited_shop() {
    agree(2000, 32, tiny(1..3, true));
}

#[test]
fn agrees_with_brute_force_on_makes() {
    agree(250, 0, tiny_with_makes());
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
    assert_eq!(standing(&problem), Standing::Best);
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
        assert_eq!(standing(&problem), Standing::Best);
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

/// Pieces 6 long on a sheet 8 long, where no rip is longer than 6: the one panel that can be cut is all that fits, and
/// the certificate must not pass over it.
#[test]
fn the_longest_panel_of_a_sheet_too_long_to_rip_is_priced() {
    let cutting = Cutting { longest_rip: Some(mm(6)), rip_kerf: mm(1), ..cutting(First::Crosscut, 3, 0) };
    let mut stocks = vec![stock(8, 7, 200), stock(6, 7, 100)];
    stocks[1].limit = Some(1);
    let mut pieces = vec![piece(6, 4, 1), piece(6, 1, 1)];
    pieces.iter_mut().for_each(|p| p.stocks = vec![0, 1]);
    pieces[1].count = 3;
    let problem = Problem { pieces, stocks, cutting, ..Problem::default() };
    assert_eq!(standing(&problem), Standing::Best);
}
