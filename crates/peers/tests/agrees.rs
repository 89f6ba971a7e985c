//! The product against another exact model of the same job, solved by a general integer programming solver.

use good_lp::{Solution, SolverModel};
use stripwright_packing::generate::{Wish, shop_job};
use stripwright_packing::{Budget, First, Problem, audit, solve};
use stripwright_peers::two_stage;

/// A generated shop job of three or four sizes in two stages without turning, one to three of each.
fn small_job(seed: u64) -> Problem {
    let wish = Wish {
        sizes: Some(3 + (seed % 2) as usize),
        kinds: Some(1 + (seed / 2 % 2) as usize),
        stages: Some(2),
    };
    let mut problem = shop_job(seed, wish);
    problem.cutting.first = if seed.is_multiple_of(3) { First::Crosscut } else { First::Rip };
    for piece in &mut problem.pieces {
        piece.may_turn = false;
        piece.count = 1 + piece.count % 3;
    }
    problem
}

#[test]
fn another_exact_model_finds_the_same_money() {
    let mut proven = 0;
    for seed in 0..60 {
        let problem = small_job(seed);
        let answer = solve(&problem, &Budget::default(), &mut |_| true).expect("a plan");
        let verdict = audit::answer(&problem, &answer).expect("a plan that holds");
        let model = two_stage(&problem).expect("two stages");
        let mut solver = model.variables.minimise(model.money.clone()).using(good_lp::microlp);
        for constraint in model.constraints {
            solver.add_constraint(constraint);
        }
        let least = solver.solve().expect("a plan").eval(&model.money).round() as i64;
        assert!(verdict.bound.minor() <= least, "seed {seed}: bound {} above {least}", verdict.bound);
        assert!(verdict.money.minor() >= least, "seed {seed}: money {} below {least}", verdict.money);
        if verdict.proven() {
            proven += 1;
            assert_eq!(verdict.money.minor(), least, "seed {seed}");
        }
    }
    assert!(proven >= 50, "small jobs are proven: {proven} of 60");
}
