//! `stripwright plan`.

use stripwright_plan::base::{BasePlan, SawPlan};
use stripwright_plan::figures::Mm;
use stripwright_plan::plan::Slab;
use stripwright_plan::words::runs;
use stripwright_plan::{Plan, wording};
use stripwright_units::{Angle, System};

use crate::arguments;
use crate::commands::{base, buy, explain};
use crate::failure::{Failure, note, say};
use crate::packet::Kind;
use crate::waiting::Patience;
use crate::{input, packet, table, waiting};

pub(crate) fn run(arguments: &arguments::Plan) -> Result<(), Failure> {
    if let Some(out) = &arguments.out {
        packet::check_free(out, arguments.replace, Kind::Packet)?;
    }
    let given = input::job(&arguments.job.job)?;
    let plan = waiting::plan(&given.job, arguments.job.patience, true)
        .map_err(|faults| Failure::Job(given.name.clone(), faults))?;
    if let Some(out) = &arguments.out {
        let files = packet::files(&given.text, given.offcuts.as_deref(), &plan, arguments.both)?;
        packet::write(out, arguments.replace, Kind::Packet, &files)?;
        note(&format!("Wrote {} files to {}.", files.len(), out.display()));
    }
    if arguments.json {
        return say(&(packet::plan_json(&plan)? + "\n"));
    }
    say(&summary(&plan))?;
    if arguments.explain {
        say("\nWhat binds\n")?;
        for sentence in explain::sentences(&given.job, &plan, Patience::begin(arguments.job.patience)) {
            say(&format!("{}\n", table::fold(&format!("- {sentence}"), "  ")))?;
        }
    }
    Ok(())
}

/// The whole plan at a glance, within 80 columns.
fn summary(plan: &Plan) -> String {
    let mut out = format!("{}\n\n{}", plan.title, buy::list(plan));
    out += &sheets_used(plan);
    for top in &plan.tops {
        let size = |slab: &Slab| {
            let strips: u32 = slab.strips.iter().map(|s| s.count).sum();
            let lengths: Vec<String> = slab.strips.iter().map(|s| show(plan, *s.length)).collect();
            let (shortest, longest) = (
                slab.strips.iter().map(|s| s.length).min().unwrap_or_default(),
                slab.strips.iter().map(|s| s.length).max().unwrap_or_default(),
            );
            let lengths = if lengths.len() < 2 || shortest == longest {
                show(plan, *longest)
            } else {
                format!("{} to {}", show(plan, *shortest), show(plan, *longest))
            };
            vec![slab.times.to_string(), runs(&slab.bands, " to ").join(", "), strips.to_string(), lengths]
        };
        out += &format!(
            "\n{} (x{}): {}, strips ripped to {}, {} strips in all\n",
            top.name,
            top.count,
            wording::count(top.bands, "piece", "pieces"),
            show(plan, *top.depth),
            top.strips_total
        );
        out += &table::table(
            &["slabs", "of pieces", "strips each", "strip length"],
            &[0, 2],
            top.slabs.iter().map(size).collect(),
        );
        let glue = top.glue.iter().map(|g| {
            vec![
                format!("glue, {}", g.stage),
                wording::count(g.joints, "joint", "joints"),
                format!("{:.2} m2", g.area),
                format!("{:.0} g", g.grams),
            ]
        });
        let planing = top.planer.iter().filter(|p| p.pieces > 0).map(|p| {
            vec![
                format!("planer, {}", p.stage),
                wording::count(p.pieces, "piece", "pieces"),
                format!("{} to {}", show(plan, *p.from), show(plan, *p.to)),
                wording::count(p.passes, "pass each", "passes each"),
            ]
        });
        out += &table::table(&["", "", "", ""], &[1, 2, 3], glue.chain(planing).collect());
        // That the planer takes the blank whole is told by the table.
        if top.flatten.len() > 1 || top.planer.iter().any(|p| p.pieces == 0) {
            out += &format!("{}\n", table::fold(&top.flatten.join(" "), ""));
        }
    }
    for one in &plan.bases {
        out += &glance(one, plan.units.system());
    }
    if let Some(boards) = &plan.boards {
        out += &format!("\nLumber bought: {}", base::measure(boards));
    }
    for note in &plan.notes {
        out += &format!("\n{}\n", table::fold(note, ""));
    }
    out += &besides(plan);
    out += &slab_choice(plan);
    out
}

/// A base at a glance: sizes, how the saw is set for its parts, and what to know before any is cut.
fn glance(one: &BasePlan, system: System) -> String {
    let angle = |degrees: f64| Angle::degrees(degrees).to_string();
    let size = |[width, thickness]: [Mm; 2]| format!("{} x {}", width.show(system), thickness.show(system));
    let mut out = format!(
        "\n{} (x{}): {} high, leaning {} and {}\n",
        one.name,
        one.count,
        one.height.show(system),
        angle(one.front_lean),
        angle(one.side_lean)
    );
    let row = |name: &str, each: u32, section, length: Mm, settings: &[SawPlan]| {
        let set = settings.first();
        vec![
            name.to_string(),
            (each * one.count).to_string(),
            size(section),
            length.show(system),
            set.map_or_else(String::new, |s| angle(s.turn)),
            set.map_or_else(String::new, |s| angle(s.tilt)),
        ]
    };
    let mut rows = vec![row("legs", 4, one.legs.section, one.legs.length, &one.legs.settings)];
    rows.extend(one.rungs.iter().map(|r| row(&r.name, 2, r.section, r.bottom_length, &r.settings)));
    out += &table::table(&["part", "count", "section", "length", "turn", "tilt"], &[1, 3, 4, 5], rows);
    for warning in &one.warnings {
        out += &format!("{}\n", table::fold(&format!("- {warning}"), "  "));
    }
    out
}

fn show(plan: &Plan, length: stripwright_units::Length) -> String {
    length.show(plan.units.system())
}

/// Where the bought sheets' area went.
fn sheets_used(plan: &Plan) -> String {
    let Some(stage) = plan.ledger.iter().find(|stage| stage.unit == "mm2" && stage.input > 0.0) else {
        return String::new();
    };
    let share = |name: &str, amount: f64| {
        vec![
            name.to_string(),
            format!("{:.3} m2", amount / 1e6),
            format!("{:.1} %", amount / stage.input * 100.0),
        ]
    };
    let mut rows = vec![share("sheets", stage.input), share("into pieces", stage.output)];
    rows.extend(stage.lost.iter().map(|loss| share(&loss.cause, loss.amount)));
    format!("\n{}", table::table(&["area", "", ""], &[1, 2], rows))
}

/// Glue and finish by the pack, as they are bought.
fn besides(plan: &Plan) -> String {
    let packs = plan.prices.lines.iter().filter(|line| ["glue", "finish"].contains(&line.group.as_str()));
    let packs: Vec<String> =
        packs.map(|line| format!("{} {} ({})", line.quantity, line.name, line.unit)).collect();
    if packs.is_empty() {
        return String::new();
    }
    format!("\n{}\n", table::fold(&format!("To buy besides: {}.", packs.join(", ")), ""))
}

fn slab_choice(plan: &Plan) -> String {
    match &plan.bound.slab_choice {
        Some(choice) if choice.saved_money.minor() > 0 => format!(
            "\nSlab choice saved {}{} against slabs of one size, the largest.\n",
            plan.show_money(*choice.saved_money),
            match u64::try_from(choice.saved_sheets) {
                Ok(sheets) if sheets > 0 => format!(" ({})", wording::count(sheets, "sheet", "sheets")),
                _ => String::new(),
            }
        ),
        Some(_) => {
            "\nSlab choice saved nothing here: slabs of one size, the largest, cost the same.\n".to_string()
        }
        None => String::new(),
    }
}
