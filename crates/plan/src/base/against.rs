//! Whether the bases and boards of a plan are those of a job: both are worked out afresh from the job.

use crate::base::{BasePlan, boards, written};
use crate::job::Job;
use crate::plan::Plan;

/// Compares bases and boards of a plan with a job, without the solver.
///
/// # Errors
/// Every objection, as a whole sentence.
pub(crate) fn audit_against(plan: &Plan, job: &Job) -> Result<(), Vec<String>> {
    let made = match super::bases(job) {
        Ok(made) => made,
        Err(faults) => return Err(faults.iter().map(ToString::to_string).collect()),
    };
    let mut objections = Vec::new();
    if made.len() != plan.bases.len() {
        objections.push(format!(
            "The plan has {} and the job beside it {}; plan the job again.",
            crate::wording::count(plan.bases.len() as u64, "base", "bases"),
            made.len()
        ));
    }
    for (own, stated) in made.iter().map(written).zip(&plan.bases) {
        if as_read(&own).as_ref() != Some(stated) {
            objections.push(format!(
                "The base `{}` of the plan is not that of the job beside it; plan the job again.",
                stated.name
            ));
        }
    }
    objections.extend(boards::differences(plan, job, &made));
    if objections.is_empty() { Ok(()) } else { Err(objections) }
}

/// A base as it comes back from `plan.json`: figures in text may differ from computed ones in the last bit.
fn as_read(base: &BasePlan) -> Option<BasePlan> {
    serde_json::from_str(&serde_json::to_string(base).ok()?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use stripwright_packing::Budget;

    const JOB: &str = r#"{"lumber":[{"name":"ash","section":[95,45],"length":2400,"price":"18.50"}],
        "sticks":[{"name":"rail","length":"900 mm","count":2}],
        "bases":[{"name":"frame","count":2,"height":"700 mm","front_lean":6,"side_lean":6,"leg":"32 mm",
            "top_spread":"260 mm","rungs":["140 mm"]}]}"#;

    fn job(text: &str) -> Job {
        Job::read(text).unwrap()
    }

    #[test]
    fn a_plan_is_held_against_every_figure_of_its_base_and_its_lumber() {
        let mut options =
            crate::Options { budget: Budget::default(), progress: &mut |_| true, compare_slabs: false };
        let plan = crate::plan(&job(JOB), &mut options).unwrap();
        let plan: Plan = serde_json::from_str(&serde_json::to_string(&plan).unwrap()).unwrap();
        assert_eq!(crate::audit_against(&plan, &job(JOB)), Ok(()));
        let differs = |from: &str, to: &str, words: &str| {
            assert!(JOB.contains(from));
            let found = crate::audit_against(&plan, &job(&JOB.replace(from, to))).expect_err(words);
            assert!(found.iter().any(|o| o.contains(words)), "no `{words}` in {found:#?}");
        };
        differs("\"front_lean\":6", "\"front_lean\":6.1", "base `frame`");
        differs("\"140 mm\"", "\"141 mm\"", "base `frame`");
        differs("\"frame\"", "\"other\"", "base `frame`");
        differs("\"count\":2,\"height\"", "\"count\":3,\"height\"", "lumber sticks");
        differs("\"900 mm\"", "\"901 mm\"", "lumber sticks");
        differs("18.50", "18.60", "lumber of the plan");
        differs("2400", "2500", "lumber of the plan");
        differs("\"rungs\":[\"140 mm\"]", "\"rungs\":[\"140 mm\"],\"edge_squaring\":4", "lumber of the plan");
        let mut twice = plan.clone();
        twice.bases.push(twice.bases[0].clone());
        assert!(crate::audit_against(&twice, &job(JOB)).unwrap_err()[0].contains("2 bases"));
        let mut without = plan.clone();
        without.boards = None;
        assert!(crate::audit_against(&without, &job(JOB)).unwrap_err()[0].contains("lumber"));
    }
}
