//! From a problem to an answer.

use stripwright_units::Money;

use crate::answer::Answer;
use crate::budget::{Budget, Progress, Search};
use crate::columns::{self, Pool};
use crate::dive;
use crate::normalise::Job;
use crate::plan::Plan;
use crate::pricing::{self, Pattern};
use crate::problem::Problem;
use crate::purchase::{Candidate, Purchases};
use crate::refusal::Refusal;
use crate::residual::{Residual, Style};

/// Pricing rounds after each fixing of a dive. One brings the strips that the fixing calls for; each further one costs
/// time that another dive could use. Two, four and eight were tried on a few jobs, without a clear winner.
const ROUNDS: usize = 3;

/// Work for the first try of each purchase, doubled with every round of tries: a dive through a job of twenty sizes
/// takes one to five million units.
const FIRST_SLICE: u64 = 30_000_000;

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
    let mut result = search(problem, budget, progress);
    if let Err(refusals) = &mut result {
        for refusal in refusals {
            if let Refusal::LimitsTooSmall { more, .. } = refusal {
                *more = crate::shortfall::more(problem, budget);
            }
        }
    }
    result
}

/// As [`solve`], without saying how many more sheets would do.
pub(crate) fn search(
    problem: &Problem,
    budget: &Budget,
    progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Answer, Vec<Refusal>> {
    let job = Job::new(problem)?;
    let tables = pricing::tables(&job)?;
    let mut search = Search::new(budget, progress);
    let mut pool = Pool::default();
    let prices = columns::generate(&job, &tables, &mut pool, &mut search);
    let makes = crate::makes::choose(&job, &pool);
    let demand = crate::plan::demand(&job, &makes);
    let mut residual = Residual::new(&job, &tables, &pool);
    let mut purchases = Purchases::new(&job, &tables, pool, &prices, &mut search);
    if purchases.bound == crate::purchase::UNMEETABLE {
        return Err(vec![Refusal::LimitsTooSmall { more: Vec::new(), shown: true }]);
    }
    search.bound = purchases.bound;
    let have: Vec<i64> = job.sheets.iter().map(|s| s.limit.unwrap_or(MANY)).collect();
    let mut best: Option<Plan> = None;
    let better = |layouts: Option<Vec<(Pattern, u32)>>, best: &mut Option<Plan>, search: &mut Search| {
        let Some(layouts) = layouts else { return false };
        let plan = Plan { layouts, makes: makes.clone() };
        let money = plan.money(&job);
        let better = best.as_ref().is_none_or(|known| money < known.money(&job));
        if better {
            search.money = Some(money);
            *best = Some(plan);
        }
        better
    };
    better(dive::greedy(&job, &tables, &demand, &have, &mut search), &mut best, &mut search);
    let style = Style { seed: 0, noise: 0.0, rounds: ROUNDS, jumps: 0 };
    let dived = residual.dive(&demand, &have, style, &mut search);
    better(dived, &mut best, &mut search);
    let mut candidates: Vec<Candidate> = Vec::new();
    let mut slice = FIRST_SLICE;
    let mut seed = 1;
    while !search.over() && !search.tight() {
        let mut at = 0;
        let mut failures = 0;
        loop {
            let below = search.money.unwrap_or(i64::MAX);
            if at == candidates.len() {
                match purchases.next(below, &mut search) {
                    Some(candidate) => candidates.push(candidate),
                    None => break,
                }
            }
            let candidate = &candidates[at];
            if candidate.money >= below || search.over() {
                break;
            }
            at += 1;
            // After many failures near the bound, look further ahead: a plan not far off is worth more than none.
            if failures > 6 && at % (failures / 3) != 0 {
                continue;
            }
            search.slice_end = search.work + slice;
            let layouts = attempt(&mut residual, &demand, candidate, &mut seed, &mut search);
            search.slice_end = u64::MAX;
            if better(layouts, &mut best, &mut search) {
                break;
            }
            failures += 1;
        }
        slice *= 2;
    }
    let Some(mut plan) = best else {
        return Err(vec![Refusal::LimitsTooSmall { more: Vec::new(), shown: false }]);
    };
    plan.drop_surplus(&job);
    let mut answer = plan.answer(problem, &job);
    answer.bound = Money::from_minor(purchases.bound.min(plan.money(&job)));
    answer.certificate = purchases.certificate();
    answer.work = search.work;
    Ok(answer)
}

/// Dives for a purchase, each varied in its own way, until one fits or the slice of work is used up.
fn attempt(
    residual: &mut Residual,
    demand: &[i64],
    candidate: &Candidate,
    seed: &mut u64,
    search: &mut Search,
) -> Option<Vec<(Pattern, u32)>> {
    while !search.slice_over() {
        let style = Style { seed: *seed, noise: 0.1 * (*seed % 5) as f64, rounds: ROUNDS, jumps: 20 };
        *seed += 1;
        let layouts = residual.dive(demand, &candidate.have, style, search);
        if layouts.is_some() {
            return layouts;
        }
    }
    None
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
            let verdict =
                crate::audit::answer(&problem, &answer).unwrap_or_else(|o| panic!("seed {seed}: {o:?}"));
            assert_eq!(verdict.bound, answer.bound);
        }
    }

    fn solved(problem: &Problem) -> Answer {
        solve(problem, &Budget { work: 100_000_000 }, &mut |_| true).unwrap()
    }

    /// Three times every length, kerf and trim included, is the same problem.
    #[test]
    fn scale_changes_nothing() {
        for seed in 0..6 {
            let small = shop_job(seed, Wish { sizes: Some(6), stages: Some(2), ..Wish::default() });
            let mut large = small.clone();
            for piece in &mut large.pieces {
                (piece.length, piece.width) = (piece.length * 3, piece.width * 3);
            }
            for stock in &mut large.stocks {
                (stock.length, stock.width) = (stock.length * 3, stock.width * 3);
                let t = &mut stock.trim;
                (t.left, t.right, t.bottom, t.top) = (t.left * 3, t.right * 3, t.bottom * 3, t.top * 3);
            }
            large.cutting.rip_kerf = large.cutting.rip_kerf * 3;
            large.cutting.crosscut_kerf = large.cutting.crosscut_kerf * 3;
            let (small, large) = (solved(&small), solved(&large));
            assert_eq!((small.money, small.bound), (large.money, large.bound), "seed {seed}");
        }
    }

    /// What is proven to be least for a job is no more than what more pieces cost.
    #[test]
    fn another_piece_never_costs_less() {
        for seed in 0..6 {
            let mut problem = shop_job(seed, Wish { sizes: Some(5), stages: Some(2), ..Wish::default() });
            let before = solved(&problem);
            problem.pieces[0].count += 1;
            let after = solved(&problem);
            assert!(before.bound <= after.money, "seed {seed}");
        }
    }

    /// The same job twice gives the same answer, byte for byte.
    #[test]
    fn same_job_same_answer() {
        let problem = shop_job(3, Wish { stages: Some(2), ..Wish::default() });
        assert_eq!(solved(&problem), solved(&problem));
    }

    /// A band can be had from a long strip or from a short one; two short ones fit a sheet.
    #[test]
    fn covers_are_had_by_the_cheaper_make() {
        let mm = stripwright_units::Length::from_mm;
        let piece = |name: &str, length: i64| crate::Piece {
            name: name.into(),
            length: mm(length),
            width: mm(300),
            count: 0,
            may_turn: false,
            stocks: vec![0],
        };
        let problem = Problem {
            pieces: vec![piece("long", 900), piece("short", 500)],
            stocks: vec![crate::Stock {
                name: "sheet".into(),
                length: mm(1000),
                width: mm(300),
                trim: crate::Trim::default(),
                price: Money::from_minor(100),
                limit: None,
            }],
            covers: vec![crate::Cover { name: "band".into(), count: 4 }],
            makes: vec![
                crate::Make { name: "one long".into(), yields: vec![(0, 1)], uses: vec![(0, 1)] },
                crate::Make { name: "one short".into(), yields: vec![(0, 1)], uses: vec![(1, 1)] },
            ],
            cutting: crate::Cutting::default(),
        };
        let answer = solved(&problem);
        assert_eq!((answer.money, answer.bound), (Money::from_minor(200), Money::from_minor(200)));
        assert_eq!(answer.makes, [(1, 4)]);
        assert!(crate::audit::answer(&problem, &answer).unwrap().proven());
    }
}
