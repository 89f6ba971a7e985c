//! `stripwright buy`.

use serde_json::json;
use stripwright_plan::Plan;
use stripwright_plan::wording::count;
use stripwright_units::Money;

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
            json!({
                "buy": plan.buy,
                "bound": plan.bound,
                "currency": plan.currency,
                "fence_settings": plan.fence_settings,
                "largest_offcut": plan.largest_offcut,
            })
        ));
    }
    say(&list(&plan))
}

/// What to buy, line by line, with its total and how good that is known to be.
pub(crate) fn list(plan: &Plan) -> String {
    let sheets = plan.buy.sheets.iter().map(|sheet| (&sheet.name, sheet.count, *sheet.price));
    let lumber = plan.buy.lumber.iter().map(|stick| (&stick.name, stick.count, *stick.price));
    let all = sheets.chain(lumber);
    let bought = if plan.priced() {
        let mut rows: Vec<Vec<String>> = all.map(|(name, count, each)| row(name, count, each)).collect();
        rows.push(vec!["total".into(), String::new(), String::new(), plan.buy.total.to_string()]);
        table::table(&["buy", "count", "each", &table::money(&plan.currency)], &[1, 2, 3], rows)
    } else {
        let rows = all.map(|(name, count, _)| vec![name.clone(), count.to_string()]).collect();
        table::table(&["buy", "count"], &[1], rows)
    };
    bought + &standing(plan) + &besides_money(plan)
}

fn row(name: &str, count: u32, each: Money) -> Vec<String> {
    vec![name.to_string(), count.to_string(), each.to_string(), (each * i64::from(count)).to_string()]
}

/// One sentence on how good the plan is known to be.
fn standing(plan: &Plan) -> String {
    if !plan.priced() {
        let counted = "No price is given, so sheets and sticks are counted.";
        let fewest = plan.bound.money.things();
        return if plan.bound.proven {
            format!("Proven: {fewest} in all, and fewer will not do.\n{counted}\n")
        } else {
            format!("Not proven: fewer than {fewest} in all will not do.\n{counted}\n")
        };
    }
    if plan.bound.proven {
        format!("Proven: nothing costs less than {}.\n", *plan.bound.money)
    } else {
        format!(
            "Not proven: nothing costs less than {}, so at most {:.1} % might be saved.\n",
            *plan.bound.money,
            plan.bound.gap * 100.0
        )
    }
}

/// What comes next when money is equal: how much sheet, how often the fence is set, what is left to keep.
fn besides_money(plan: &Plan) -> String {
    if plan.layouts.is_empty() {
        return String::new();
    }
    let system = plan.units.system();
    let offcut = match &plan.largest_offcut {
        Some(o) => {
            format!(
                "largest offcut to keep {} by {} ({})",
                o.length.show(system),
                o.width.show(system),
                o.sheet
            )
        }
        None => "no offcut to keep".to_string(),
    };
    let settings = count(plan.fence_settings, "fence setting", "fence settings");
    format!(
        "{}\n",
        table::fold(&format!("{:.2} m2 of sheet; {settings}; {offcut}.", plan.buy.area / 1e6), "")
    )
}
