//! The whole plan once more, from the job and the cuts that the plan states.
//!
//! What was searched for is taken as stated, as it was checked by itself: layouts, slabs, boards and their proofs. Everything
//! else (lengths, settings, glue, money, steps, cautions) follows from it and the job, and must be what it was.

use serde_json::Value;
use stripwright_packing::audit::Claim;
use stripwright_packing::{Answer, Layout};

use super::region;
use crate::asked::Asked;
use crate::base;
use crate::job::Job;
use crate::plan::Plan;
use crate::planning::assemble;

/// Differences told at most: whoever changes the units changes every figure.
const MOST_TOLD: usize = 8;

/// Where a plan says something else than follows from the job and its cuts; a sentence each.
pub(super) fn differences(plan: &Plan, job: &Job, asked: &Asked, claim: &Claim) -> Vec<String> {
    let afresh = match again(plan, job, asked, claim) {
        Ok(afresh) => afresh,
        Err(sentences) => return sentences,
    };
    // As text, for a figure read from text may differ from the computed one in its last bit.
    let as_read = |plan: &Plan| {
        let read: Option<Plan> = serde_json::from_str(&serde_json::to_string(plan).ok()?).ok();
        serde_json::to_value(read?).ok()
    };
    let (Some(stated), Some(found)) = (as_read(plan), as_read(&afresh)) else {
        return vec!["The plan could not be written out to be compared.".to_string()];
    };
    let mut told = Vec::new();
    compare(&stated, &found, "", &mut told);
    if !told.is_empty() {
        told.push("Where another version of the program wrote the plan, plan the job again.".to_string());
    }
    told
}

/// The plan as it follows.
fn again(plan: &Plan, job: &Job, asked: &Asked, claim: &Claim) -> Result<Plan, Vec<String>> {
    let words = |faults: Vec<crate::Fault>| faults.iter().map(ToString::to_string).collect::<Vec<_>>();
    let bases = base::bases(job).map_err(words)?;
    let layouts = plan.layouts.iter().zip(&claim.layouts).map(|(layout, sheets)| {
        let root = region(plan, &layout.region)?;
        Some(Layout { stock: sheets.stock, times: sheets.times, root })
    });
    let Some(layouts) = layouts.collect::<Option<Vec<Layout>>>() else {
        return Err(vec!["The cuts of a layout free a part that the plan does not list.".to_string()]);
    };
    let answer = Answer {
        layouts,
        makes: claim.makes.clone(),
        spare: claim.spare.clone(),
        money: claim.money,
        bound: claim.bound,
        certificate: claim.certificate.clone(),
        work: 0,
    };
    let boards = base::boards_again(job, &bases, plan);
    let choice = plan.bound.slab_choice.clone();
    Ok(assemble(job, asked, &answer, claim.proven, choice, &bases, boards))
}

/// Goes through two values side by side; `path` is where they stand.
fn compare(stated: &Value, found: &Value, path: &str, told: &mut Vec<String>) {
    if told.len() == MOST_TOLD || stated == found {
        return;
    }
    match (stated, found) {
        (Value::Object(one), Value::Object(other)) => {
            let keys: std::collections::BTreeSet<&String> = one.keys().chain(other.keys()).collect();
            for key in keys {
                let path = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
                let null = &Value::Null;
                compare(one.get(key).unwrap_or(null), other.get(key).unwrap_or(null), &path, told);
            }
        }
        (Value::Array(one), Value::Array(other)) if one.len() == other.len() => {
            for (n, (one, other)) in one.iter().zip(other).enumerate() {
                compare(one, other, &format!("{path}[{n}]"), told);
            }
        }
        _ => told.push(format!(
            "`{path}` is {}, and from the job and the cuts of the plan follows {}.",
            shown(stated),
            shown(found)
        )),
    }
}

/// A value, short enough for a sentence.
fn shown(value: &Value) -> String {
    match value {
        Value::Null => "left out".to_string(),
        Value::Array(list) => crate::wording::count(list.len() as u64, "entry", "entries"),
        Value::Object(_) => "there".to_string(),
        Value::String(text) => format!("`{}`", crate::wording::short(text)),
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use stripwright_packing::Budget;

    const JOB: &str = r#"{"currency":"EUR","shop":{"planer":{"width":"330 mm","bite":"0.4 mm"},"rates":{"labour":"40"}},
        "sheets":[{"name":"birch","length":2440,"width":1220,"thickness":18,"price":"92.00","density":680}],
        "tops":[{"name":"seat","count":2,"finished":"32 mm","outline":{"kind":"round","diameter":"340 mm"},
            "pattern":{"kind":"chevron","angle":45,"band":"60 mm"}}],
        "lumber":[{"name":"ash","section":[95,45],"length":2400,"price":"18.50"}],
        "bases":[{"name":"frame","top":"seat","count":2,"height":"400 mm","front_lean":6,"side_lean":6,"leg":"32 mm",
            "top_spread":"200 mm","rungs":["140 mm"]}]}"#;

    /// Whatever figure or sentence of a plan is changed, the job beside it says so, and where.
    #[test]
    fn what_follows_from_the_job_cannot_be_changed() {
        let job = Job::read(JOB).unwrap();
        let mut options =
            crate::Options { budget: Budget::default(), progress: &mut |_| true, compare_slabs: true };
        let plan = crate::plan(&job, &mut options).unwrap();
        let value = serde_json::to_value(&plan).unwrap();
        let again = |value: &Value| -> Plan { serde_json::from_value(value.clone()).unwrap() };
        assert_eq!(crate::audit_against(&again(&value), &job), Ok(()));
        let changes = [
            ("/format", "format"),
            ("/mark", "mark"),
            ("/prices/total", "prices.total"),
            ("/prices/quotes/0/one", "prices.quotes[0].one"),
            ("/tops/0/count", "tops[0].count"),
            ("/tops/0/mass", "tops[0].mass"),
            ("/tops/0/glue/0/grams", "tops[0].glue[0].grams"),
            ("/tops/0/slabs/0/strips/0/length", "tops[0].slabs[0].strips[0].length"),
            ("/boards/yields/0/across", "boards.yields[0].across"),
            ("/boards/board_feet", "boards.board_feet"),
            ("/sticks/0/offcut", "sticks[0].offcut"),
            ("/ledger/0/input", "ledger[0].input"),
        ];
        for (pointer, path) in changes {
            let mut changed = value.clone();
            let number = changed.pointer_mut(pointer).unwrap_or_else(|| panic!("no {pointer}"));
            *number = match number.as_i64() {
                Some(whole) => Value::from(whole + 1),
                None => Value::from(number.as_f64().unwrap() + 1.0),
            };
            let found = crate::audit_against(&again(&changed), &job).expect_err(pointer);
            assert!(found.iter().any(|o| o.contains(&format!("`{path}`"))), "{pointer}: {found:#?}");
        }
        for list in ["steps", "cautions", "limits"] {
            let mut changed = value.clone();
            changed[list] = Value::Array(Vec::new());
            let found = crate::audit_against(&again(&changed), &job).expect_err(list);
            assert!(found[0].starts_with(&format!("`{list}` is 0 entries")), "{found:#?}");
        }
    }
}
