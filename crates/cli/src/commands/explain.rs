//! What binds a plan, for `stripwright plan --explain`.

use rayon::prelude::*;
use stripwright_plan::explain::{Outcome, changes, explain, nearest};
use stripwright_plan::{Job, Plan};

use crate::waiting;

/// Sentences, one a paragraph: prices, sheets, and the nearest changes that buy for less.
pub(crate) fn sentences(job: &Job, plan: &Plan, patience: f64) -> Vec<String> {
    let series = changes(job);
    // Each series is tried from its smallest change on, and ends with the first that buys for less.
    let outcomes: Vec<Outcome<'_>> = series
        .par_iter()
        .map(|series| {
            let saves = series.changes.iter().find_map(|change| {
                let other = waiting::plan_quietly(&change.job, patience).ok()?;
                let sheets = other.buy.sheets.iter().map(|sheet| sheet.count).sum();
                (*other.buy.total < *plan.buy.total).then_some((change, *other.buy.total, sheets))
            });
            (series, saves)
        })
        .collect();
    let mut said = explain(plan);
    said.extend(nearest(plan, &outcomes));
    said
}
