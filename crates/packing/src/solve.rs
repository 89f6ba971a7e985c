//! From a problem to an answer.

use stripwright_units::Money;

use crate::answer::Answer;
use crate::bound;
use crate::budget::{Budget, Progress, Search};
use crate::columns::{self, Pool};
use crate::dive;
use crate::normalise::Job;
use crate::plan::Plan;
use crate::pricing;
use crate::problem::Problem;
use crate::refusal::Refusal;
use crate::residual::{Residual, Style};

/// A number of sheets that no plan needs: stands for "any number".
pub(crate) const MANY: i64 = 1 << 30;

/// Packs a problem: the cheapest plan found within the budget, a bound and its certificate.
///
/// `progress` is called every few hundredths of a second of work; when it returns `false` the search ends and the
/// best plan so far is the answer. The same problem and budget give the same answer on every machine.
///
/// # Errors
/// Everything that keeps the problem from being met, all at once: see [`Refusal`]. Running out of budget is no error.
pub fn solve(
    problem: &Problem,
    budget: &Budget,
    progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Answer, Vec<Refusal>> {
    let job = Job::new(problem)?;
    let tables = pricing::tables(&job)?;
    let mut search = Search::new(budget, progress);
    let mut pool = Pool::default();
    let prices = columns::generate(&job, &tables, &mut pool, &mut search);
    let mut bound = bound::exact(&job, problem.pieces.len(), &tables, &prices, &mut search.work);
    bound.money = bound::raise(&job, bound.money, i64::MAX);
    search.bound = bound.money;
    let have: Vec<i64> = job.sheets.iter().map(|s| s.limit.unwrap_or(MANY)).collect();
    let makes = crate::makes::choose(&job, &pool);
    let demand = crate::plan::demand(&job, &makes);
    let mut residual = Residual::new(&job, &tables, &pool);
    let mut best: Option<Plan> = None;
    let target: Vec<i64> = vec![bound.money / job.sheets[0].price.max(1)];
    let style = Style { seed: 0, noise: 0.0, rounds: 8 };
    let mut tries = Vec::new();
    for t in 0..std::env::var("TRIES").map_or(20, |t| t.parse().unwrap()) {
        let style = Style { seed: t, noise: 0.1 * (t % 5) as f64, rounds: 8 };
        if let Some(d) = residual.dive(&demand, &target, None, style, &mut search) {
            eprint!(" [try {t}] ");
            tries.push(d.layouts);
            break;
        }
    }
    for layouts in [
        tries.pop(),
        residual.dive(&demand, &have, None, style, &mut search).map(|d| d.layouts),
        dive::greedy(&job, &tables, &demand, &have, &mut search),
    ] {
        let plan = layouts.map(|layouts| Plan { layouts, makes: makes.clone() });
        if let Some(plan) = plan
            && best.as_ref().is_none_or(|known| plan.money(&job) < known.money(&job))
        {
            best = Some(plan);
        }
    }
    let Some(mut plan) = best else {
        return Err(vec![Refusal::LimitsTooSmall { more: Vec::new(), shown: false }]);
    };
    plan.drop_surplus(&job);
    let mut answer = plan.answer(problem, &job);
    answer.bound = Money::from_minor(bound.money);
    answer.certificate = bound.certificate;
    answer.work = search.work;
    Ok(answer)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::generate::{Wish, shop_job};

    /// Demands met, nothing spare, everything inside its region, no plan below its bound.
    #[test]
    fn shop_jobs_are_met_within_their_bounds() {
        for seed in 0..12 {
            let problem = shop_job(seed, Wish { stages: Some(2), ..Wish::default() });
            let budget = Budget { work: 200_000_000 };
            let answer = solve(&problem, &budget, &mut |_| true).unwrap();
            let mut made = vec![0; problem.pieces.len()];
            for layout in &answer.layouts {
                for placed in layout.placed(&problem) {
                    made[placed.piece] += layout.times;
                    let stock = &problem.stocks[layout.stock];
                    assert!(placed.x + placed.length <= stock.length - stock.trim.right);
                    assert!(placed.y + placed.width <= stock.width - stock.trim.top);
                }
            }
            assert_eq!(made, problem.pieces.iter().map(|p| p.count).collect::<Vec<_>>(), "seed {seed}");
            assert!(answer.spare.is_empty());
            assert!(answer.bound <= answer.money, "seed {seed}");
        }
    }
}
