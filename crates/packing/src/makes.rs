//! Which makes to use, how often: the integer choice over the layouts priced so far.
//!
//! Makes are few and each choice changes many demands, so they are settled first, for each purchase anew: a program in which the makes are
//! whole and the layouts may still be fractions, modelled with `good_lp`. Its answer says which pieces are wanted;
//! how to cut them in whole sheets is then a question without makes.

use good_lp::{Expression, ProblemVariables, Solution, SolverModel, Variable, microlp, variable};

use crate::columns::Pool;
use crate::master::scaled_costs;
use crate::normalise::Job;
use crate::solve::MANY;

/// How often to use each make within these sheets. Falls back to covering what is wanted make by make when the
/// program fails.
pub(crate) fn choose(job: &Job, pool: &Pool, have: &[i64]) -> Vec<i64> {
    if job.makes.is_empty() {
        return Vec::new();
    }
    let mut chosen = program(job, pool, have).unwrap_or_else(|| vec![0; job.makes.len()]);
    complete(job, &mut chosen);
    chosen
}

fn program(job: &Job, pool: &Pool, have: &[i64]) -> Option<Vec<i64>> {
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
    let solution = model.solve().ok()?;
    Some(uses.iter().map(|&n| solution.value(n).round().max(0.0) as i64).collect())
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
