//! What binds a plan, for `stripwright plan --explain`.

use rayon::prelude::*;
use stripwright_plan::explain::explain;
use stripwright_plan::nearby::{Outcome, attempt, budget, changes, nearest};
use stripwright_plan::{Job, Plan};

use crate::waiting::Patience;

/// Sentences, one a paragraph: prices, sheets, and the nearest changes that buy for less.
pub(crate) fn sentences(job: &Job, plan: &Plan, patience: Patience) -> Vec<String> {
    let series = changes(job);
    let budget = budget(series.len());
    // Every series is by itself, so the order of threads decides nothing.
    let outcomes: Vec<Outcome<'_>> = series
        .par_iter()
        .map(|series| {
            series.pursue(budget, |change, left| attempt(change, plan, left, &mut |_| patience.lasts()))
        })
        .collect();
    let mut said = explain(plan);
    said.extend(nearest(plan, &outcomes));
    said
}
