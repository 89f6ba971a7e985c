//! `stripwright base`.

use serde_json::json;
use stripwright_plan::base::{self, BasePlan, Boards, BoardsPlan, SawPlan};
use stripwright_plan::words::Words;
use stripwright_plan::{Budget, Fault, Job};
use stripwright_units::{Angle, System};

use crate::arguments::Base;
use crate::failure::{Failure, say};
use crate::{input, table, waiting};

pub(crate) fn run(arguments: &Base) -> Result<(), Failure> {
    let given = input::job(&arguments.job.job)?;
    if given.job.bases.is_empty() {
        let none = "the job has no bases; give `bases` at least one entry";
        return Err(Failure::Job(given.name, vec![Fault::input(None, "bases", none)]));
    }
    let failed = |faults| Failure::Job(given.name.clone(), faults);
    let made = base::bases(&given.job).map_err(failed)?;
    let boards = waiting::watched(arguments.job.patience, |progress| {
        base::boards(&given.job, &made, &Budget::default(), progress)
    })
    .map_err(failed)?;
    let plans: Vec<BasePlan> = made.iter().map(base::written).collect();
    if arguments.json {
        let lumber = boards.as_ref().map(|boards| &boards.buy);
        let sticks = boards.as_ref().map(|boards| &boards.sticks);
        let stated = boards.as_ref().map(|boards| &boards.stated);
        let all = json!({ "bases": plans, "buy": lumber, "sticks": sticks, "boards": stated });
        return say(&format!("{all:#}\n"));
    }
    // In shop order: boards are bought and cut before anything is made of them.
    let mut texts: Vec<String> = boards.iter().map(|boards| lumber(&given.job, boards)).collect();
    texts.extend(plans.iter().map(|plan| told(plan, given.job.system)));
    if boards.is_none() {
        texts.push(without_lumber());
    }
    say(&texts.join("\n"))
}

fn without_lumber() -> String {
    "Boards: the job has no `lumber`; give the kinds that can be bought, each with `section` and `length`, to know how many.\n".into()
}

/// The boards to buy, how good that is known to be, what their sections yield and how each is cut.
fn lumber(job: &Job, boards: &Boards) -> String {
    let system = job.system;
    // Without a price each board counts as one.
    let priced = !job.assumed.iter().any(|assumed| assumed.key == "lumber[].price");
    let mut rows = Vec::new();
    for board in &boards.buy {
        let mut row = vec![board.name.clone(), board.length.show(system), board.count.to_string()];
        if priced {
            row.extend([board.price.to_string(), (*board.price * i64::from(board.count)).to_string()]);
        }
        rows.push(row);
    }
    let mut headings = vec!["boards to buy", "length", "count"];
    let money = table::money(&job.currency);
    if priced {
        headings.extend(["each", money.as_str()]);
        rows.push(vec![
            "total".into(),
            String::new(),
            String::new(),
            String::new(),
            boards.money.to_string(),
        ]);
    }
    let mut out = table::table(&headings, &[1, 2, 3, 4], rows);
    let bound = boards.stated.bound;
    out += &match (boards.stated.proven, priced) {
        (true, true) => format!("Proven: no boards of these kinds cost less than {}.\n", *bound),
        (true, false) => {
            "Proven: fewer boards of these kinds do not hold them. No prices are given.\n".to_string()
        }
        (false, true) => format!("Not proven: no boards of these kinds cost less than {}.\n", *bound),
        (false, false) => {
            format!("Not proven: at least {} boards are needed. No prices are given.\n", bound.things())
        }
    };
    if boards.stated.cubic_metres > 0.0 {
        out += &measure(&boards.stated);
    }
    let list = |title: &str, lines: Vec<String>| {
        if lines.is_empty() { String::new() } else { format!("\n{title}\n- {}\n", lines.join("\n- ")) }
    };
    let yields = boards.stated.yields.iter().map(|y| &y.sentence).chain(&boards.stated.reckoned);
    out += &list("What a section yields", yields.cloned().collect());
    out += &list("How the boards are cut", base::cuts(&boards.sticks, Words { system }));
    out
}

/// `13.4 board feet by the actual section, 0.032 m3.`
pub(crate) fn measure(stated: &BoardsPlan) -> String {
    format!("{:.1} board feet by the actual section, {:.3} m3.\n", stated.board_feet, stated.cubic_metres)
}

/// One base: its measures, its settings, what to do in shop order, what to know and what to mind.
fn told(plan: &BasePlan, system: System) -> String {
    let angle = |degrees: f64| Angle::degrees(degrees).to_string();
    let mut out = format!(
        "{}, {} to make: {} high, leaning {} from the front and {} from the side, {} by {} over the legs under the top, {} by {} on \
         the floor\n",
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
    if plan.front_lean > 0.0 || plan.side_lean > 0.0 {
        out += &format!(
            "In its own plane each leg leans {} (resultant lean); seen from above that plane stands {} from the front (sight line).\n",
            angle(plan.legs.resultant),
            angle(plan.legs.sight_line)
        );
    }
    out += "\n";
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
    for part in &plan.steps {
        out += &list(&part.part, (1..).zip(&part.steps).map(|(n, step)| format!("{n}. {step}")).collect());
    }
    out += &list("To know", plan.warnings.iter().map(|w| format!("- {w}")).collect());
    let standing = &plan.standing;
    let tilts = standing.sides.iter().map(|side| {
        format!("- Empty, it goes over to the {} when tilted beyond {:.1}\u{b0}.", side.sides, side.tipping)
    });
    out += &list("Standing", tilts.chain(standing.notes.iter().map(|n| format!("- {n}"))).collect());
    out += &list("To mind", plan.cautions.iter().map(|c| format!("- {}: {}", c.operation, c.text)).collect());
    out
}
