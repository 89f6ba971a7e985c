//! `stripwright compare`.

use std::cmp::Ordering;

use rayon::prelude::*;
use serde_json::json;
use stripwright_drawing::face::{self, Sample};
use stripwright_drawing::writer;
use stripwright_plan::compare::{
    self, CHEAPEST, Choice, KINDS, MOST_VARIANTS, Row, Variant, first_budget, rest_budget, row, sort,
    variants,
};
use stripwright_plan::{Budget, Fault, Job, Plan, keys, wording};
use stripwright_units::Length;

use crate::arguments::Compare;
use crate::failure::{Failure, note, say};
use crate::waiting::Patience;
use crate::{input, packet, table};

pub(crate) fn run(arguments: &Compare) -> Result<(), Failure> {
    if let Some(out) = &arguments.out {
        packet::check_free(out, arguments.replace, packet::Kind::Faces)?;
    }
    let given = input::job(&arguments.job.job)?;
    let top = which(&given.job, arguments.top.as_deref())?;
    let choice = choice(&given.job, arguments)?;
    let variants = variants(&given.job, top, &choice);
    if variants.len() > MOST_VARIANTS {
        let found = variants.len();
        return Err(Failure::Input(format!(
            "These lists come to {found} variants, and at most {MOST_VARIANTS} are compared at once; shorten them."
        )));
    }
    let mut rows = Vec::new();
    for (variant, plan) in plan_all(variants, top, Patience::begin(arguments.job.patience)) {
        match plan {
            Ok(plan) => rows.push((row(&variant, top, &plan), plan)),
            Err(faults) => {
                let reasons: Vec<String> = faults.iter().map(|fault| fault.text.clone()).collect();
                note(&format!("{} cannot be made: {}", variant.label, reasons.join(" ")));
            }
        }
    }
    if rows.is_empty() {
        return Err(Failure::Unmet("None of the patterns can be made.".to_string()));
    }
    sort(&mut rows);
    if let Some(out) = &arguments.out {
        let samples: Vec<Sample<'_>> = rows
            .iter()
            .filter_map(|(row, plan)| {
                let lines = vec![
                    format!("{}, {}", wording::count(row.sheets, "sheet", "sheets"), *row.money),
                    format!("{}, {:.0} g of glue", wording::count(row.strips, "strip", "strips"), row.glue),
                ];
                Some(Sample { plan, top: plan.tops.get(top)?, title: title(row), lines })
            })
            .collect();
        let name = &given.job.tops[top].name;
        let scene = face::contact_sheet("faces", &format!("{name}: patterns side by side"), &samples);
        packet::write(
            out,
            arguments.replace,
            packet::Kind::Faces,
            &[("faces.svg".to_string(), writer::file(&scene).into_bytes())],
        )?;
        note(&format!("Wrote the faces to {}.", out.join("faces.svg").display()));
    }
    let rows: Vec<Row> = rows.into_iter().map(|(row, _)| row).collect();
    if arguments.json {
        return say(&format!("{:#}\n", json!({ "top": given.job.tops[top].name, "rows": rows })));
    }
    say(&shown(&rows))
}

type Planned = (Variant, Result<Plan, Vec<Fault>>);

/// Plans every variant with little work, those that are open then with more, and of the cheapest those that are still open
/// with as much as a plan by itself.
///
/// Each variant is planned by itself, so the order of threads decides nothing.
fn plan_all(variants: Vec<Variant>, top: usize, patience: Patience) -> Vec<Planned> {
    let plan = |variant: &Variant, budget| compare::plan(variant, budget, &mut |_| patience.lasts());
    let first = |variant: Variant| {
        let plan = plan(&variant, first_budget(&variant));
        (variant, plan)
    };
    let mut planned: Vec<Planned> = variants.into_par_iter().map(first).collect();
    let search_on = |planned: &mut Planned, budget| {
        let (variant, Ok(known)) = planned else { return };
        // A search that was cut short may know less than the one before.
        if let Ok(found) = plan(variant, budget)
            && found.buy.total <= known.buy.total
            && found.bound.money >= known.bound.money
        {
            *known = found;
        }
    };
    // The job's own has had all the work that there is for one.
    let open = |(variant, plan): &Planned| {
        !variant.own && patience.lasts() && plan.as_ref().is_ok_and(|plan| !plan.bound.proven)
    };
    let rest = rest_budget(planned.iter().filter(|planned| open(planned)).count());
    planned.par_iter_mut().filter(|planned| open(planned)).for_each(|planned| search_on(planned, rest));
    if rest.work < Budget::default().work {
        let cost = |(variant, plan): &Planned| plan.as_ref().ok().map(|plan| row(variant, top, plan).money);
        planned.sort_by_key(|planned| (cost(planned).is_none(), cost(planned)));
        for planned in planned.iter_mut().take(CHEAPEST).filter(|planned| open(planned)) {
            search_on(planned, Budget::default());
        }
    }
    planned
}

/// The top to compare: the one named, else the first.
fn which(job: &Job, name: Option<&str>) -> Result<usize, Failure> {
    let names: Vec<&str> = job.tops.iter().map(|top| top.name.as_str()).collect();
    match name {
        None if names.is_empty() => Err(Failure::Input(
            "The job has no tops, so there are no patterns to compare; give it one.".to_string(),
        )),
        None => Ok(0),
        Some(name) => names.iter().position(|own| *own == name).ok_or_else(|| {
            Failure::Input(format!(
                "No top is called `{name}`; the job has {}.",
                wording::list(&names, "and")
            ))
        }),
    }
}

fn choice(job: &Job, arguments: &Compare) -> Result<Choice, Failure> {
    let mut patterns = Vec::new();
    for word in &arguments.patterns {
        let word = word.trim().replace(['_', '-'], " ");
        if !KINDS.contains(&word.as_str()) {
            let hint = wording::nearest(&word, KINDS)
                .map(|near| format!(" Did you mean `{near}`?"))
                .unwrap_or_default();
            let kinds = wording::list(&KINDS, "and");
            return Err(Failure::Input(format!("`{word}` is not a pattern; there are {kinds}.{hint}")));
        }
        patterns.push(word);
    }
    for angle in &arguments.angles {
        let (least, most) = keys::ANGLES;
        if !(least..=most).contains(angle) {
            return Err(Failure::Input(format!(
                "The angle {angle} is outside {least} to {most} degrees; choose one inside."
            )));
        }
    }
    let band = |text: &String| match Length::parse(text, job.system) {
        Ok(length) if length.is_positive() => Ok(length),
        Ok(_) => Err(Failure::Input("A band of zero cannot be cut; give a width.".to_string())),
        Err(error) => Err(Failure::Input(format!("--bands: {error}."))),
    };
    let bands = arguments.bands.iter().map(band).collect::<Result<_, _>>()?;
    Ok(Choice { patterns, angles: arguments.angles.clone(), bands })
}

/// A row's pattern, with a word where it is the job's own.
fn title(row: &Row) -> String {
    if row.own { format!("{} (own)", row.pattern) } else { row.pattern.clone() }
}

/// The table; the best of each column has a star.
fn shown(rows: &[Row]) -> String {
    let best = |of: &dyn Fn(&Row) -> f64, least: bool| {
        let order = |a: &f64, b: &f64| if least { a.total_cmp(b) } else { b.total_cmp(a) };
        rows.iter().map(of).min_by(order).unwrap_or(0.0)
    };
    type Column<'c> = (&'c str, &'c dyn Fn(&Row) -> f64, bool, &'c dyn Fn(f64) -> String);
    let whole = |v: f64| format!("{v:.0}");
    let money = |v: f64| format!("{:.2}", v / 100.0);
    let percent = |v: f64| format!("{:.1}", v * 100.0);
    let kilos = |v: f64| format!("{:.2}", v / 1000.0);
    let columns: [Column<'_>; 11] = [
        ("sheets", &|r| f64::from(r.sheets), true, &whole),
        ("money", &|r| r.money.minor() as f64, true, &money),
        ("bound", &|r| r.bound.minor() as f64, true, &money),
        ("used %", &|r| r.used, false, &percent),
        ("kerf %", &|r| r.kerf, true, &percent),
        ("glue g", &|r| r.glue, true, &whole),
        ("passes", &|r| f64::from(r.passes), true, &whole),
        ("cuts", &|r| f64::from(r.cuts), true, &whole),
        ("pieces", &|r| f64::from(r.pieces), true, &whole),
        ("kg", &|r| r.mass.unwrap_or(0.0), true, &kilos),
        ("hours", &|r| r.minutes, true, &|v| format!("{:.1}", v / 60.0)),
    ];
    let bests: Vec<f64> = columns.iter().map(|(_, of, least, _)| best(of, *least)).collect();
    let cells = |r: &Row| {
        let mut cells = vec![title(r)];
        for ((_, of, _, text), best) in columns.iter().zip(&bests) {
            let star = if of(r).total_cmp(best) == Ordering::Equal { "*" } else { " " };
            cells.push(format!("{}{star}", text(of(r))));
        }
        cells.push(if r.proven { "yes" } else { "no" }.to_string());
        cells
    };
    let mut headings = vec!["pattern"];
    headings.extend(columns.iter().map(|column| column.0));
    headings.push("proven");
    let right: Vec<usize> = (1..=columns.len()).collect();
    table::table(&headings, &right, rows.iter().map(cells).collect())
        + "* best of its column; (own) as the job has it. Figures are of the whole job with that pattern, pieces and kg of one such \
           top.\n"
}
