//! No shaving is missing: area and volume balance at every stage of random jobs, and over the whole job.

#![allow(clippy::unwrap_used)]

use proptest::prelude::*;
use stripwright_plan::plan::{Plan, Stage};
use stripwright_plan::{Budget, Job, Options, plan};

/// A stage's books are kept to a thousand-millionth of what went in, and its figures are written to six decimals.
fn near(a: f64, b: f64, of: f64) -> bool {
    (a - b).abs() <= 1e-9 * of + 1e-5
}

fn balanced(stage: &Stage) -> bool {
    let out = stage.output + stage.lost.iter().map(|loss| loss.amount).sum::<f64>();
    near(stage.input + stage.added, out, stage.input) && stage.lost.iter().all(|loss| loss.amount >= -1e-5)
}

fn outlines() -> impl Strategy<Value = String> {
    let sizes = (250..500u32, 200..350u32, 0..60u32);
    (0..6, sizes).prop_map(|(kind, (a, b, r))| match kind {
        0 => format!(r#"{{"kind": "round", "diameter": {a}}}"#),
        1 => format!(r#"{{"kind": "oval", "length": {a}, "width": {b}}}"#),
        2 => format!(r#"{{"kind": "rectangle", "length": {a}, "width": {b}}}"#),
        3 => format!(r#"{{"kind": "rounded rectangle", "length": {a}, "width": {b}, "radius": {r}}}"#),
        4 => format!(r#"{{"kind": "polygon", "sides": {}, "across_flats": {b}}}"#, 4 + 2 * (r % 3)),
        _ => format!(
            r#"{{"kind": "points", "points": [[-100, -{b}], [{a}, 0], [120, {b}], [40, 60], [-{a}, 90]]}}"#
        ),
    })
}

fn patterns() -> impl Strategy<Value = String> {
    (0..9, 15..76u32, 30..110u32, 1..4u32, 1..4u32).prop_map(|(kind, angle, band, q, n)| match kind {
        0 => format!(r#"{{"kind": "straight", "angle": {angle}}}"#),
        1 => format!(r#"{{"kind": "chevron", "angle": {angle}, "band": {band}}}"#),
        2 => format!(r#"{{"kind": "chevron", "angle": {angle}, "bands": {}, "centre": "seam"}}"#, 2 * n + 2),
        3 => format!(r#"{{"kind": "diamond", "angle": {angle}, "band": {band}}}"#),
        4 => format!(r#"{{"kind": "sunburst", "wedges": {}}}"#, 6 + 2 * n),
        5 => format!(r#"{{"kind": "herringbone", "laminations": {}, "length": {}}}"#, 2 * q, 150 + band),
        6 => {
            format!(
                r#"{{"kind": "herringbone", "width": {band}, "laminations": {}, "lay": "across"}}"#,
                8 + 2 * q
            )
        }
        7 => format!(r#"{{"kind": "running bond", "laminations": {}, "length": {}}}"#, 2 * q, 150 + band),
        _ => format!(r#"{{"kind": "basket weave", "laminations": {}, "blocks": {}}}"#, 2 * q, n + 1),
    })
}

fn jobs() -> impl Strategy<Value = String> {
    let top = (outlines(), patterns(), 1..3u32, 0..2u32, 0..3usize, any::<bool>(), any::<bool>());
    let shop = (0..40u32, 0..40u32, 200..500u32, 0..30u32, 2..30u32);
    (top, shop).prop_map(|((outline, pattern, count, spare, slab, staggered, mixed), shop)| {
        let (kerf, bias, planer, ends, finished) = shop;
        let slab = ["shaped", "even", "either"][slab];
        let sheets = if mixed { r#"["birch", "walnut"]"# } else { r#"["birch"]"# };
        format!(
            r#"{{
              "shop": {{"table_saw": {{"kerf": {}}}, "bias_saw": {{"kerf": {}}}, "planer": {{"width": {planer}}}, "allow": {{"ends": {ends}}}}},
              "sheets": [{{"name": "birch", "length": 2440, "width": 1220, "thickness": 18, "price": 92, "trim": 5}},
                         {{"name": "walnut", "length": 1220, "width": 1220, "thickness": 6.5, "price": 60}}],
              "tops": [{{"name": "top", "count": {count}, "spare": {spare}, "slab": "{slab}", "staggered": {staggered}, "sequence": {sheets},
                         "finished": {finished}, "outline": {outline}, "pattern": {pattern}}}],
              "parts": [{{"name": "shelf", "length": 400, "width": 150, "count": {count}}}]
            }}"#,
            f64::from(kerf) / 10.0,
            f64::from(bias) / 10.0,
        )
    })
}

fn check(plan: &Plan) -> Result<(), TestCaseError> {
    for stage in &plan.ledger {
        prop_assert!(balanced(stage), "{stage:?}");
    }
    let bought: f64 = plan
        .buy
        .sheets
        .iter()
        .map(|buy| {
            let sheet = plan.sheets.iter().find(|sheet| sheet.name == buy.name).unwrap();
            f64::from(buy.count) * sheet.length.to_mm() * sheet.width.to_mm()
        })
        .sum();
    let sheets = &plan.ledger[0];
    prop_assert!(near(sheets.input, bought, bought));
    let cut: f64 = plan
        .layouts
        .iter()
        .flat_map(|l| l.pieces.iter().map(|p| f64::from(l.times) * p.length.to_mm() * p.width.to_mm()))
        .sum();
    prop_assert!(near(sheets.output, cut, bought), "{} and {cut}", sheets.output);
    for top in &plan.tops {
        // The blank is the box round all that lies in it.
        for (axis, extent) in top.blank.iter().enumerate() {
            let values = || top.face.laid().flat_map(|cell| &cell.corners).map(|corner| corner[axis]);
            let laid = values().fold(f64::MIN, f64::max) - values().fold(f64::MAX, f64::min);
            prop_assert!((laid - extent.to_mm()).abs() < 0.003, "{laid} and {extent:?}");
        }
        for stage in &top.ledger {
            prop_assert!(balanced(stage), "{stage:?}");
        }
        for pair in top.ledger.windows(2) {
            prop_assert!(near(pair[0].output, pair[1].input, pair[0].input), "{pair:?}");
        }
        let first = top.ledger.first().unwrap();
        let thickness = |id: &str| {
            let demand = plan.demands.iter().find(|demand| demand.id == id).unwrap();
            if demand.sheets == ["walnut"] { 6.5 } else { 18.0 }
        };
        let strips: f64 = top
            .slabs
            .iter()
            .flat_map(|slab| slab.strips.iter().map(move |strip| (f64::from(slab.times), strip)))
            .map(|(times, s)| {
                times * f64::from(s.count) * s.length.to_mm() * s.width.to_mm() * thickness(&s.id)
            })
            .sum();
        prop_assert!(near(first.input, strips, strips), "{} and {strips}", first.input);
        // What is left is the tops themselves: outline times finished thickness. The area is written in square metres to six
        // decimals, which is what the comparison allows.
        let last = top.ledger.last().unwrap();
        let tops = f64::from(top.count) * top.finished.to_mm();
        prop_assert!((last.output - top.area * 1e6 * tops).abs() <= tops, "{} and {}", last.output, top.area);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn every_stage_of_a_random_job_balances(text in jobs()) {
        let job = Job::read(&text).unwrap_or_else(|faults| panic!("{faults:?}\n{text}"));
        let budget = Budget { work: 5_000_000 };
        let options = &mut Options { budget, progress: &mut |_| true, compare_slabs: false };
        match plan(&job, options) {
            Ok(plan) => check(&plan)?,
            // Not every pattern can be made in every shop; a job that cannot says so.
            Err(faults) => prop_assert!(!faults.is_empty()),
        }
    }
}

/// The property above speaks of something: nearly all of its jobs have plans.
#[test]
fn most_random_jobs_have_plans() {
    use proptest::strategy::ValueTree;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let made = (0..40)
        .filter(|_| {
            let text = jobs().new_tree(&mut runner).unwrap().current();
            let options =
                &mut Options { budget: Budget { work: 0 }, progress: &mut |_| true, compare_slabs: false };
            Job::read(&text).is_ok_and(|job| plan(&job, options).is_ok())
        })
        .count();
    assert!(made >= 25, "{made} of 40");
}
