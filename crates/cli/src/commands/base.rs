//! `stripwright base`.

use serde_json::json;
use stripwright_plan::Fault;
use stripwright_plan::base::{self, BasePlan, SawPlan};
use stripwright_units::{Angle, System};

use crate::arguments::Base;
use crate::failure::{Failure, say};
use crate::{input, table};

pub(crate) fn run(arguments: &Base) -> Result<(), Failure> {
    let given = input::job(&arguments.job)?;
    if given.job.bases.is_empty() {
        let none = "the job has no bases; give `bases` at least one entry";
        return Err(Failure::Job(given.name, vec![Fault::input(None, "bases", none)]));
    }
    let made = base::bases(&given.job).map_err(|faults| Failure::Job(given.name.clone(), faults))?;
    let plans: Vec<BasePlan> = made.iter().map(base::written).collect();
    if arguments.json {
        return say(&format!("{:#}\n", json!({ "bases": plans })));
    }
    let texts: Vec<String> = plans.iter().map(|plan| told(plan, given.job.system)).collect();
    say(&texts.join("\n"))
}

/// One base: its measures, its settings, what to do in shop order, what to know and what to mind.
fn told(plan: &BasePlan, system: System) -> String {
    let angle = |degrees: f64| Angle::degrees(degrees).to_string();
    let mut out = format!(
        "{}, {} to make: {} high, leaning {} from the front and {} from the side, {} by {} over the legs under the top, {} by {} on \
         the floor\n\n",
        plan.name,
        plan.count,
        plan.height.show(system),
        angle(plan.front_lean),
        angle(plan.side_lean),
        plan.top_spread[0].show(system),
        plan.top_spread[1].show(system),
        plan.floor_spread[0].show(system),
        plan.floor_spread[1].show(system),
    );
    let mut rows = Vec::new();
    let mut settings = |name: &str, stop: String, settings: &[SawPlan]| {
        for setting in settings {
            rows.push(vec![
                name.to_string(),
                stop.clone(),
                setting.laying.clone(),
                angle(setting.turn),
                angle(setting.tilt),
                angle(setting.turn_exact),
                angle(setting.tilt_exact),
                format!("{:.2}", setting.error),
            ]);
        }
    };
    settings("legs", plan.legs.length.show(system), &plan.legs.settings);
    for rung in &plan.rungs {
        settings(&rung.name, rung.bottom_length.show(system), &rung.settings);
    }
    let headings = ["part", "stop", "laid", "turn", "tilt", "turn exactly", "tilt exactly", "out by (mm)"];
    out += &table::table(&headings, &[1, 3, 4, 5, 6, 7], rows);
    let list = |title: &str, lines: Vec<String>| {
        if lines.is_empty() { String::new() } else { format!("\n{title}\n{}\n", lines.join("\n")) }
    };
    let marks = plan.legs.marks.iter().map(|[place, sign, meaning]| format!("- {place}: {sign} ({meaning})"));
    out +=
        &list("Marks on the legs", marks.chain(plan.legs.hands.iter().map(|h| format!("- {h}"))).collect());
    out += &list("In shop order", (1..).zip(&plan.steps).map(|(n, step)| format!("{n}. {step}")).collect());
    out += &list("To know", plan.warnings.iter().map(|w| format!("- {w}")).collect());
    let standing = &plan.standing;
    let tilts = standing.sides.iter().map(|side| {
        format!("- Empty, it goes over to the {} when tilted beyond {:.1}\u{b0}.", side.sides, side.tipping)
    });
    out += &list("Standing", tilts.chain(standing.notes.iter().map(|n| format!("- {n}"))).collect());
    out += &list("To mind", plan.cautions.iter().map(|c| format!("- {}: {}", c.operation, c.text)).collect());
    out
}
