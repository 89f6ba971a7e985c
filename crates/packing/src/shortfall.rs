//! What would be enough where the sheets' limits are not.
//!
//! How many sheets of one kind would do is a packing question of its own: lift that kind's limit, let each of its
//! sheets cost one and all others nothing, and the cheapest plan is the one that takes the fewest.

use stripwright_units::Money;

use crate::budget::Budget;
use crate::problem::Problem;
use crate::together::Crew;

/// Work for each kind of sheet that has a limit: some hundredths of a second. The refusal waits for it, and a number
/// that is one too high still says what to do.
const WORK: u64 = 30_000_000;

/// At most so many kinds are tried, in the order of the problem: nobody reads further.
const KINDS: usize = 8;

/// (Index into [`Problem::stocks`], how many sheets more of it alone would do), ascending, found within a little work.
pub(crate) fn more(problem: &Problem, budget: &Budget) -> Vec<(usize, u32)> {
    let limited = problem.stocks.iter().enumerate().filter_map(|(stock, s)| Some((stock, s.limit?)));
    let enough = |(stock, limit): (usize, u32)| {
        let mut asked = problem.clone();
        for (index, other) in asked.stocks.iter_mut().enumerate() {
            other.price = Money::from_minor(i64::from(index == stock));
        }
        asked.stocks[stock].limit = None;
        let budget = Budget { work: budget.work.min(WORK) };
        let answer = crate::solve::search(&asked, &budget, Crew::default(), &mut |_| true).ok()?;
        let more = answer.sheets(&asked)[stock].saturating_sub(limit);
        (more > 0).then_some((stock, more))
    };
    limited.take(KINDS).filter_map(enough).collect()
}

#[cfg(test)]
mod tests {
    use stripwright_units::Length;

    use super::*;
    use crate::problem::{Cutting, First, Piece, Stock, Trim};
    use crate::{Refusal, solve};

    fn stock(length: i64, width: i64, limit: Option<u32>) -> Stock {
        Stock {
            name: format!("{length} x {width}"),
            length: Length::from_mm(length),
            width: Length::from_mm(width),
            trim: Trim::default(),
            price: Money::from_minor(500),
            limit,
        }
    }

    fn squares(count: u32, stocks: Vec<Stock>) -> Problem {
        let (length, width) = (Length::from_mm(100), Length::from_mm(100));
        let all = (0..stocks.len()).collect();
        let piece = Piece { name: "square".into(), length, width, count, may_turn: false, stocks: all };
        let cutting = Cutting { first: First::Rip, stages: 2, ..Cutting::default() };
        Problem { pieces: vec![piece], stocks, cutting, ..Problem::default() }
    }

    fn refused(problem: &Problem) -> Refusal {
        let mut refusals = solve(problem, &Budget::default(), &mut |_| true).unwrap_err();
        assert_eq!(refusals.len(), 1);
        refusals.remove(0)
    }

    /// Eleven squares, four a sheet of the first kind and one of the second: 1 and 2 sheets hold 6. Five more squares
    /// take two more of the first or five more of the second.
    #[test]
    fn either_kind_would_do() {
        let problem = squares(11, vec![stock(200, 200, Some(1)), stock(100, 100, Some(2))]);
        assert_eq!(refused(&problem), Refusal::LimitsTooSmall { more: vec![(0, 2), (1, 5)], shown: true });
    }

    /// Squares of 100 on sheets of 150: the area of three sheets would hold four, but whole squares lie one a sheet.
    #[test]
    fn whole_sheets_are_counted() {
        let problem = squares(4, vec![stock(150, 150, Some(3))]);
        assert_eq!(refused(&problem), Refusal::LimitsTooSmall { more: vec![(0, 1)], shown: true });
    }

    /// Each kind of piece lies on a sheet of its own and both kinds of sheet are too few: no single change would do.
    #[test]
    fn nothing_is_named_where_one_kind_is_not_enough() {
        let mut problem = squares(3, vec![stock(100, 100, Some(1)), stock(100, 100, Some(1))]);
        problem.pieces.push(problem.pieces[0].clone());
        problem.pieces[0].stocks = vec![0];
        problem.pieces[1].stocks = vec![1];
        assert_eq!(refused(&problem), Refusal::LimitsTooSmall { more: vec![], shown: true });
    }
}
