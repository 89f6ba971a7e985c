//! `stripwright audit`.

use serde_json::json;

use crate::arguments::Audit;
use crate::failure::{Failure, say};
use crate::{input, table};

pub(crate) fn run(arguments: &Audit) -> Result<(), Failure> {
    let (plan, given) = input::plan(&arguments.plan)?;
    let verdict = stripwright_plan::audit(&plan).map_err(Failure::Audit)?;
    if let Some(given) = &given {
        stripwright_plan::audit_against(&plan, &given.job).map_err(Failure::Audit)?;
    }
    if arguments.json {
        return say(&format!(
            "{:#}\n",
            json!({
                "holds": true, "money": verdict.money.minor(), "bound": verdict.bound.minor(), "proven": verdict.proven,
                "sheets": verdict.sheets, "pieces": verdict.pieces, "against_job": given.is_some(),
            })
        ));
    }
    let row = |name: &str, value: String| vec![name.to_string(), value];
    let rows = vec![
        row("pieces placed", verdict.pieces.to_string()),
        row("sheets cut", verdict.sheets.to_string()),
        row("money", verdict.money.to_string()),
        row("nothing costs less than", verdict.bound.to_string()),
        row("proven", if verdict.proven { "yes" } else { "no" }.to_string()),
        row(
            "checked against the job",
            if given.is_some() { "yes" } else { "no job beside the plan" }.to_string(),
        ),
    ];
    say(&table::table(&["audit", ""], &[], rows))?;
    say(if given.is_some() {
        "The plan holds, and everything in it follows from the job.\n"
    } else {
        "The plan holds: cuts, counts, money and proof. Slabs, steps and prices are\nchecked where the job lies beside the plan, as in a packet.\n"
    })
}
