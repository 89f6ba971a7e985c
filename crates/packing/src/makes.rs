//! Which makes to use, how often: the integer choice over the layouts priced so far.
//!
//! Makes are few and each choice changes many demands, so they are settled first, for each purchase anew: a program in which the makes are
//! whole and the layouts may still be fractions, modelled with `good_lp`. Its answer says which pieces are wanted;
//! how to cut them in whole sheets is then a question without makes.

use good_lp::{Expression, ProblemVariables, SolverModel, Variable, microlp, variable};
use microlp::SolveOptions;

use crate::columns::Pool;
use crate::master::scaled_costs;
use crate::normalise::Job;
use crate::solve::MANY;

/// How often to use each make within these sheets, with the work that it took added to `work`. Falls back to covering what is wanted make by make when the
/// program fails.
pub(crate) fn choose(job: &Job, pool: &Pool, have: &[i64], work: &mut u64) -> Vec<i64> {
    if job.makes.is_empty() {
        return Vec::new();
    }
    let mut chosen = program(job, pool, have, work).unwrap_or_else(|| vec![0; job.makes.len()]);
    complete(job, &mut chosen);
    chosen
}

/// Cases looked at for the choice, times the numbers of a program. To show of some dozen like makes that no other choice is
/// better by a hair can take a minute; the best choice is mostly among the first found.
const MOST_NUMBERS: usize = 40_000_000;

fn program(job: &Job, pool: &Pool, have: &[i64], work: &mut u64) -> Option<Vec<i64>> {
    let cost = scaled_costs(job);
    let mut variables = ProblemVariables::new();
    let uses: Vec<Variable> = job
        .makes
        .iter()
        .map(|make| variables.add(variable().integer().min(0).max(make.most.min(1 << 30) as f64)))
        .collect();
    let layouts: Vec<Variable> = pool.columns.iter().map(|_| variables.add(variable().min(0))).collect();
    let money: Expression =
        pool.columns.iter().zip(&layouts).map(|(column, &x)| cost[column.stock()] * x).sum();
    let mut wanted: Vec<Expression> = job.sizes.iter().map(|s| Expression::from(s.count as f64)).collect();
    for (make, &n) in job.makes.iter().zip(&uses) {
        make.uses.iter().for_each(|&(size, each)| wanted[size] += each as f64 * n);
    }
    let mut cut: Vec<Expression> = vec![Expression::from(0.0); job.sizes.len()];
    let mut sheets: Vec<Expression> = vec![Expression::from(0.0); job.sheets.len()];
    for (column, &x) in pool.columns.iter().zip(&layouts) {
        column.counts.iter().for_each(|&(size, n)| cut[size] += n as f64 * x);
        sheets[column.stock()] += x;
    }
    let mut covered: Vec<Expression> = vec![Expression::from(0.0); job.covers.len()];
    for (make, &n) in job.makes.iter().zip(&uses) {
        make.yields.iter().for_each(|&(cover, each)| covered[cover] += each as f64 * n);
    }
    let mut model = variables.minimise(money).using(microlp);
    for (cut, wanted) in cut.into_iter().zip(wanted) {
        model.add_constraint(cut.geq(wanted));
    }
    for (covered, &count) in covered.into_iter().zip(&job.covers) {
        model.add_constraint(covered.geq(count as f64));
    }
    for (used, &most) in sheets.into_iter().zip(have) {
        if most < MANY {
            model.add_constraint(used.leq(most as f64));
        }
    }
    let numbers = (job.sizes.len() + job.covers.len() + have.len()) * (job.makes.len() + pool.columns.len());
    let mut options = SolveOptions::default();
    options.node_limit = Some((MOST_NUMBERS / numbers) as u64 + 1);
    let solution = model.as_inner().solve_with(options).ok()?.into_solution().ok()?;
    *work += solution.stats().lp_iterations * numbers as u64;
    // The makes come first.
    Some(solution.iter().take(uses.len()).map(|(_, n)| n.round().max(0.0) as i64).collect())
}

/// Adds makes until every cover is had, the one that yields most of what is missing for the area it uses; then takes
/// away every use that is not needed.
fn complete(job: &Job, chosen: &mut [i64]) {
    let area = |make: usize| -> f64 {
        let size = |s: usize| job.sizes[s].length as f64 * job.sizes[s].width as f64;
        job.makes[make].uses.iter().map(|&(s, n)| size(s) * n as f64).sum()
    };
    let missing = |chosen: &[i64]| -> Vec<i64> {
        let mut missing = job.covers.clone();
        for (make, &n) in job.makes.iter().zip(chosen) {
            make.yields.iter().for_each(|&(cover, each)| missing[cover] -= each * n);
        }
        missing
    };
    loop {
        let missing = missing(chosen);
        if missing.iter().all(|&n| n <= 0) {
            break;
        }
        let gain = |make: usize| -> f64 {
            if job.makes[make].most == 0 {
                return 0.0;
            }
            let yields = job.makes[make].yields.iter();
            let got: i64 = yields.map(|&(cover, n)| n.min(missing[cover].max(0))).sum();
            got as f64 / (1.0 + area(make))
        };
        let Some(best) = (0..chosen.len()).max_by(|&a, &b| gain(a).total_cmp(&gain(b)).then(b.cmp(&a)))
        else {
            break;
        };
        if gain(best) <= 0.0 {
            break;
        }
        chosen[best] += 1;
    }
    for make in 0..chosen.len() {
        while chosen[make] > 0 {
            chosen[make] -= 1;
            if missing(chosen).iter().any(|&n| n > 0) {
                chosen[make] += 1;
                break;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use stripwright_units::{Length, Money};

    use super::*;
    use crate::budget::{Budget, Progress, Search};
    use crate::problem::{Cover, Cutting, First, Make, Piece, Problem, Stock, Trim};
    use crate::repack::Repack;

    /// So many like makes that it would take very long to show which choice is best: all that is wanted is yielded, nothing is
    /// used in vain, and it ends.
    #[test]
    fn a_choice_among_many_like_makes_ends() {
        const MANY_MAKES: usize = 60;
        let mm = Length::from_mm;
        let piece = |n: usize| Piece {
            name: format!("{n}"),
            length: mm(300 + n as i64),
            width: mm(29),
            count: 0,
            may_turn: false,
            stocks: vec![0],
        };
        let make = |n: usize| Make {
            name: format!("{n}"),
            yields: vec![(0, 31 + (7 * n % 67) as u32), (1, 29 + (11 * n % 59) as u32)],
            uses: vec![(n, 60 + (7 * n % 67 + 11 * n % 59) as u32)],
        };
        let cover = |count| Cover { name: String::new(), count };
        let stock = Stock {
            name: "sheet".into(),
            length: mm(2440),
            width: mm(1220),
            trim: Trim::default(),
            price: Money::from_minor(100),
            limit: None,
        };
        let problem = Problem {
            pieces: (0..MANY_MAKES).map(piece).collect(),
            stocks: vec![stock],
            covers: vec![cover(997), cover(991)],
            makes: (0..MANY_MAKES).map(make).collect(),
            cutting: Cutting { first: First::Rip, stages: 2, rip_kerf: mm(3), ..Cutting::default() },
        };
        let job = Job::new(&problem).unwrap();
        let tables = crate::pricing::tables(&job).unwrap();
        let mut ask = |_: &Progress| true;
        let mut search = Search::new(&Budget::default(), &mut ask);
        let mut repack = Repack::new(&job, &tables);
        let mut pool = Pool::default();
        crate::columns::generate(&job, &tables, Vec::new(), &mut repack, &mut pool, &mut search);
        let mut work = 0;
        let chosen = choose(&job, &pool, &[MANY], &mut work);
        let had = |chosen: &[i64], cover: usize| -> i64 {
            let each = |make: &Make| make.yields.iter().find(|y| y.0 == cover).map_or(0, |y| i64::from(y.1));
            problem.makes.iter().zip(chosen).map(|(make, n)| each(make) * n).sum()
        };
        let enough = |chosen: &[i64]| had(chosen, 0) >= 997 && had(chosen, 1) >= 991;
        assert!(enough(&chosen), "{chosen:?}");
        for make in 0..chosen.len() {
            let mut less = chosen.clone();
            less[make] -= 1;
            assert!(less[make] < 0 || !enough(&less), "{make} of {chosen:?} is used in vain");
        }
        assert!(work > 0 && work < 10 * MOST_NUMBERS as u64, "{work}");
    }
}
