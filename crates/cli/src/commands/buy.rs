//! `stripwright buy`.

use serde_json::json;
use stripwright_plan::Plan;

use crate::arguments::Buy;
use crate::failure::{Failure, say};
use crate::{input, table, waiting};

pub(crate) fn run(arguments: &Buy) -> Result<(), Failure> {
    let given = input::job(&arguments.job.job)?;
    let plan = waiting::plan(&given.job, arguments.job.patience, false)
        .map_err(|faults| Failure::Job(given.name.clone(), faults))?;
    if arguments.json {
        return say(&format!(
            "{:#}\n",
            json!({ "buy": plan.buy, "bound": plan.bound, "currency": plan.currency })
        ));
    }
    say(&list(&plan))
}

/// What to buy, line by line, with its total and how good that is known to be.
pub(crate) fn list(plan: &Plan) -> String {
    let mut rows = Vec::new();
    for sheet in &plan.buy.sheets {
        let money = sheet.price.minor() * i64::from(sheet.count);
        rows.push(row(&sheet.name, sheet.count, &sheet.price.to_string(), money));
    }
    for stick in &plan.buy.lumber {
        let money = stick.price.minor() * i64::from(stick.count);
        rows.push(row(&stick.name, stick.count, &stick.price.to_string(), money));
    }
    rows.push(vec!["total".into(), String::new(), String::new(), plan.buy.total.to_string()]);
    let money = format!("money ({})", plan.currency);
    let headings = ["buy", "count", "each", if plan.currency == "money" { "money" } else { &money }];
    table::table(&headings, &[1, 2, 3], rows) + &standing(plan)
}

fn row(name: &str, count: u32, each: &str, money: i64) -> Vec<String> {
    let money = stripwright_units::Money::from_minor(money).to_string();
    vec![name.to_string(), count.to_string(), each.to_string(), money]
}

/// One sentence on how good the plan is known to be.
fn standing(plan: &Plan) -> String {
    if plan.bound.proven {
        format!("Proven: nothing costs less than {}.\n", *plan.bound.money)
    } else {
        format!(
            "Not proven: nothing costs less than {}, so this is at most {:.1} % too much.\n",
            *plan.bound.money,
            plan.bound.gap * 100.0
        )
    }
}
