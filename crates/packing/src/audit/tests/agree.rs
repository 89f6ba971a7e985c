//! The solver against brute force and the audit: the one test that knows both.

use proptest::prelude::*;

use super::oracle::least_money;
use super::support::tiny;
use crate::audit::answer;
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
