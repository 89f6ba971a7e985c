//! The product and a general integer programming solver on the same jobs: a Markdown table.
//!
//!     cargo bench -p stripwright-peers --features highs --bench highs -- [SECONDS] [JOBS]
//!
//! SECONDS is the general solver's time limit a job (60), JOBS how many generated jobs of each row (5). Every plan of
//! the product is audited. Where the general solver proves an optimum, it must be the product's, or the run fails:
//! that is the check by another exact model.

#![allow(clippy::disallowed_methods, clippy::print_stdout, missing_docs)]

use std::time::Instant;

use good_lp::solvers::{SolutionStatus, WithMipGap, WithTimeLimit};
use good_lp::{Solution, SolverModel};
use stripwright_packing::generate::{Wish, shop_job};
use stripwright_packing::{Budget, First, Problem, audit, solve};
use stripwright_peers::two_stage;

fn main() {
    let numbers: Vec<u64> = std::env::args().filter_map(|word| word.parse().ok()).collect();
    let seconds = numbers.first().copied().unwrap_or(60);
    let jobs = numbers.get(1).copied().unwrap_or(5);
    println!("| job | pieces | choices | stripwright | bound | proven | s | HiGHS | status | s |");
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    let (mut both, mut ours, mut theirs) = (0, 0, 0);
    for (sizes, kinds, most) in [(3, 1, 3), (3, 2, 3), (5, 1, 4), (5, 2, 4), (8, 2, 6), (12, 2, 12)] {
        for seed in 0..jobs {
            let problem = two_stage_job(seed, sizes, kinds, most);
            let (we_proved, they_proved) = pair(seed, &problem, seconds);
            both += u32::from(we_proved && they_proved);
            ours += u32::from(we_proved);
            theirs += u32::from(they_proved);
        }
    }
    println!(
        "\nProven by stripwright: {ours}; by HiGHS within {seconds} s: {theirs}; by both, and equal: {both}."
    );
}

/// A generated shop job in two stages without turning, its counts cut down to `most`.
fn two_stage_job(seed: u64, sizes: usize, kinds: usize, most: u32) -> Problem {
    let wish = Wish { sizes: Some(sizes), kinds: Some(kinds), stages: Some(2) };
    let mut problem = shop_job(seed, wish);
    problem.cutting.first = if seed % 2 == 0 { First::Rip } else { First::Crosscut };
    for piece in &mut problem.pieces {
        piece.may_turn = false;
        piece.count = 1 + (piece.count - 1) % most;
    }
    problem
}

fn pair(seed: u64, problem: &Problem, seconds: u64) -> (bool, bool) {
    let start = Instant::now();
    let answer = solve(problem, &Budget::default(), &mut |_| true)
        .unwrap_or_else(|refusals| panic!("seed {seed}: {refusals:?}"));
    let took = start.elapsed().as_secs_f64();
    let verdict =
        audit::answer(problem, &answer).unwrap_or_else(|objections| panic!("seed {seed}: {objections:?}"));
    let model = two_stage(problem).expect("a job in two stages");
    let size = model.size;
    let start = Instant::now();
    let mut solver = model
        .variables
        .minimise(model.money.clone())
        .using(good_lp::highs)
        .with_time_limit(seconds as f64)
        .with_mip_gap(1e-7)
        .expect("a gap");
    for constraint in model.constraints {
        solver.add_constraint(constraint);
    }
    let (found, status) = match solver.solve() {
        Ok(solution) => (Some(solution.eval(&model.money).round() as i64), solution.status().clone()),
        Err(_) => (None, SolutionStatus::TimeLimit),
    };
    let general = start.elapsed().as_secs_f64();
    let proved = found.is_some() && matches!(status, SolutionStatus::Optimal);
    let pieces: u32 = problem.pieces.iter().map(|p| p.count).sum();
    println!(
        "| {} sizes, {} sheets, seed {seed} | {pieces} | {size} | {} | {} | {} | {took:.3} | {} | {} | {general:.1} |",
        problem.pieces.len(),
        problem.stocks.len(),
        verdict.money,
        verdict.bound,
        if verdict.proven() { "yes" } else { "no" },
        found.map_or("nothing".into(), |money| stripwright_units::Money::from_minor(money).to_string()),
        if proved { "optimal" } else { "time limit" },
    );
    if let Some(found) = found {
        assert!(found >= verdict.bound.minor(), "seed {seed}: a plan below the bound");
        assert!(!proved || found <= verdict.money.minor(), "seed {seed}: an optimum above a plan");
        assert!(!(proved && verdict.proven()) || found == verdict.money.minor(), "seed {seed}: two optima");
    }
    (verdict.proven(), proved)
}
