//! Whole sets of published problems.

use std::path::PathBuf;

use crate::benchmarks::{self, PLAIN, Published, Rules, job, known, set};
use crate::program::{Ran, try_run};
use crate::{row, side_by_side, spread};

/// Three stages, first cuts of either direction, pieces turned.
const FREE: Rules = Rules { first: "either", stages: 3, may_turn: true, kerf: false };
/// Three stages without turning.
const BINS: Rules = Rules { may_turn: false, ..FREE };
/// A kerf, and sizes less by it.
const KERF: Rules = Rules { kerf: true, ..PLAIN };

/// How many of each set are taken at most.
pub(crate) fn limit() -> Option<usize> {
    std::env::var("STRIPWRIGHT_LIMIT").ok().map(|limit| limit.parse().expect("STRIPWRIGHT_LIMIT is a number"))
}

/// So many of a list, evenly, or all of it.
pub(crate) fn some<T>(all: Vec<T>) -> Vec<T> {
    let step = limit().map_or(1, |limit| all.len().div_ceil(limit.max(1)).max(1));
    all.into_iter().step_by(step).collect()
}

pub(crate) fn rows(name: &str) -> Vec<Vec<String>> {
    use benchmarks::{ANY_CUTS_TURNED, BINS as BIN_PACKING, STICKS, TWO_STAGE};
    match name {
        "furniture" => vec![published(name, "furniture_a", TWO_STAGE, PLAIN, 1)],
        "c30" => vec![published(name, "c30", TWO_STAGE, PLAIN, 1)],
        "furniture-free" => vec![published(name, "furniture_a", ANY_CUTS_TURNED, FREE, 1)],
        "c30-free" => vec![published(name, "c30", TWO_STAGE, FREE, 1)],
        "class" => vec![published(name, "class", BIN_PACKING, BINS, 1)],
        "sticks" => vec![published(name, "bpp1d", STICKS, PLAIN, 1)],
        _ => vec![
            published("furniture with a kerf", "furniture_a", TWO_STAGE, KERF, 2),
            published("c30 with a kerf", "c30", TWO_STAGE, KERF, 2),
        ],
    }
}

/// Named jobs planned one after the other, as their users would, and then all plans audited side by side; nothing where
/// there is no plan in good time, which is told.
pub(crate) fn planned(jobs: impl Iterator<Item = (String, String)>) -> Vec<Option<Ran>> {
    let plan = |(name, job): (String, String)| {
        try_run(&name, &job).inspect_err(|said| eprintln!("  NO PLAN: {said}")).ok()
    };
    let plans: Vec<Option<Ran>> = jobs.map(plan).collect();
    side_by_side(&plans, |ran| {
        ran.iter().for_each(|ran| ran.audit().unwrap_or_else(|said| panic!("{said}")))
    });
    plans
}

/// How many have a plan, and of how many where that is not all.
pub(crate) fn how_many(plans: usize, jobs: usize) -> String {
    if plans == jobs { jobs.to_string() } else { format!("{plans} of {jobs} planned") }
}

/// One set; every `step`th file of it.
fn published(title: &str, folder: &str, variant: &str, rules: Rules, step: usize) -> Vec<String> {
    let root = std::env::var_os("STRIPWRIGHT_SETS").map_or_else(benchmarks::fixtures, PathBuf::from);
    let known = known(&root);
    let problems: Vec<Published> = some(set(&root, folder).into_iter().step_by(step).collect());
    let plans = planned(problems.iter().map(|problem| (problem.name.clone(), job(problem, rules))));
    let read = |(problem, ran): (_, Option<Ran>)| {
        let ran = ran?;
        ran.check_pieces(problem, rules);
        Some((problem, (ran.sheets(), ran.bound(), ran.proven(), ran.took.as_secs_f64())))
    };
    let plans: Vec<_> = problems.iter().zip(plans).filter_map(read).collect();
    let (mut reached, mut proven, mut sheets, mut bounds, mut best) = (0, 0, 0, 0, 0);
    for &(problem, (own, bound, certain, seconds)) in &plans {
        let high = known.get(&(problem.name.clone(), variant.to_string())).and_then(|figures| figures.1);
        reached += u32::from(high.is_none_or(|high| own <= high));
        proven += u32::from(certain);
        sheets += own;
        bounds += bound;
        best += high.unwrap_or(own);
        if !certain || high.is_some_and(|high| own > high) {
            let known = high.map_or("none".to_string(), |high| high.to_string());
            eprintln!("  {}: {own} sheets, bound {bound}, known {known}, {seconds:.2} s", problem.name);
        }
    }
    let (median, worst) = spread(plans.iter().map(|(_, plan)| plan.3).collect());
    let (median, worst) = (format!("{median:.2}"), format!("{worst:.2}"));
    row![title, how_many(plans.len(), problems.len()), reached, proven, sheets, bounds, best, median, worst]
}
