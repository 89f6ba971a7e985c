//! What is asked of the crates to the left, and how their answers look to the page.

use serde::Serialize;
use serde_json::{Value, json};
use stripwright_drawing::draft::Show;
use stripwright_drawing::packet::content;
use stripwright_drawing::writer;
use stripwright_plan::compare::{self, Choice};
use stripwright_plan::{Budget, Fault, Job, Options, Plan, Progress, TopFace};

use crate::folder::Folder;

/// The rules and the typeface of the drawings, as a style sheet.
pub(crate) fn drawing_style() -> String {
    format!("{}{}", writer::typeface(), writer::style())
}

/// Reads a job and the offcuts it names, as the command line does; gives the offcuts' text, too.
fn read(job: &str, folder: &dyn Folder) -> Result<(Job, Option<String>), Vec<Fault>> {
    let mut read = Job::read(job)?;
    let mut offcuts = None;
    if let Some(name) = read.offcuts.clone() {
        let unread = |sentence| vec![Fault::input(None, "offcuts", sentence)];
        let text = folder.read_offcuts(&name).map_err(unread)?;
        // These faults' places are in the other file, which the page does not show.
        let inside = |fault: Fault| {
            let place = fault.place.map_or(String::new(), |place| format!("{place}: "));
            Fault::input(None, "offcuts", format!("in {name}, {place}{} {}", fault.key, fault.text))
        };
        read.add_offcuts(&text).map_err(|faults| faults.into_iter().map(inside).collect::<Vec<_>>())?;
        offcuts = Some(text);
    }
    Ok((read, offcuts))
}

/// A plan, and the text of the offcuts it was made with.
pub(crate) struct Planned {
    pub(crate) plan: Plan,
    pub(crate) offcuts: Option<String>,
}

/// Plans a job: the same call as the command line's.
///
/// `news` hears of bound and best money and says whether to go on.
///
/// # Errors
/// Every fault of the job.
pub(crate) fn plan(
    job: &str,
    folder: &dyn Folder,
    mut news: impl FnMut(i64, Option<i64>) -> bool + Send,
) -> Result<Planned, Vec<Fault>> {
    let (job, offcuts) = read(job, folder)?;
    // Work that begins again from nothing is the comparison with slabs of one size: its bounds are not the plan's.
    let mut last: Option<Progress> = None;
    let mut comparing = false;
    let mut progress = |now: &Progress| {
        comparing |= last.is_some_and(|last| now.work < last.work);
        let told = match last {
            Some(last) if comparing => last,
            _ => *now,
        };
        last = Some(told);
        news(told.bound.minor(), told.money.map(stripwright_units::Money::minor))
    };
    let mut options = Options { budget: Budget::default(), progress: &mut progress, compare_slabs: true };
    Ok(Planned { plan: stripwright_plan::plan(&job, &mut options)?, offcuts })
}

/// A plan and its drawings, as the page gets them.
pub(crate) fn shown(plan: &Plan) -> String {
    #[derive(Serialize)]
    struct Shown<'a> {
        kind: &'static str,
        plan: &'a Plan,
        drawings: Vec<Drawing>,
    }
    as_json(&Shown { kind: "plan", plan, drawings: drawings(plan) })
}

/// One file of the packet, by its name; `None` where the packet has no such file.
///
/// # Errors
/// A sentence that says which file could not be made.
pub(crate) fn file(plan: &Plan, name: &str) -> Result<Option<Vec<u8>>, String> {
    let files = stripwright_drawing::packet(plan, &stripwright_drawing::Options::default())?;
    Ok(files.into_iter().find(|(own, _)| own == name).map(|(_, bytes)| bytes))
}

/// The faces alone.
pub(crate) fn faces(job: &str, folder: &dyn Folder) -> String {
    #[derive(Serialize)]
    struct Shown {
        units: &'static str,
        tops: Vec<TopFace>,
    }
    let found = read(job, folder).and_then(|(job, _)| {
        let units = match job.system {
            stripwright_units::System::Metric => "mm",
            stripwright_units::System::Inch => "in",
        };
        Ok(Shown { units, tops: stripwright_plan::faces(&job)? })
    });
    match found {
        Ok(shown) => as_json(&shown),
        Err(found) => faults(&found).to_string(),
    }
}

/// Patterns to set beside the one of a top, as the command line's comparison has them: every kind, and other angles of
/// those that have one.
pub(crate) fn variants(job: &str, top: usize, folder: &dyn Folder) -> Value {
    let (job, _) = match read(job, folder) {
        Ok(read) => read,
        Err(found) => return faults(&found),
    };
    if top >= job.tops.len() {
        return json!({ "variants": [] });
    }
    let of = |choice: &Choice| compare::variants(&job, top, choice);
    let mut found = of(&Choice::default());
    let patterns = vec!["chevron".to_string(), "diamond".to_string()];
    found.extend(of(&Choice { patterns, angles: ANGLES.to_vec(), ..Choice::default() }));
    let mut shown: Vec<Value> = Vec::new();
    for variant in found.into_iter().filter(|variant| !variant.own) {
        let Ok(pattern) = serde_json::from_str::<Value>(&variant.written) else { continue };
        let one = json!({ "label": variant.label, "pattern": pattern });
        if !shown.contains(&one) {
            shown.push(one);
        }
    }
    json!({ "variants": shown })
}

/// Angles that the comparison shows besides the top's own.
const ANGLES: [f64; 3] = [30.0, 45.0, 60.0];

/// Faults in the command line's own sentences, each with its key and place.
pub(crate) fn faults(faults: &[Fault]) -> Value {
    let one = |fault: &Fault| {
        json!({
            "key": fault.key,
            "line": fault.place.map(|place| place.line),
            "column": fault.place.map(|place| place.column),
            "text": fault.text,
        })
    };
    json!({ "kind": "faults", "faults": faults.iter().map(one).collect::<Vec<_>>() })
}

/// One of the packet's drawings.
#[derive(Serialize)]
struct Drawing {
    /// Where on the page it stands.
    station: &'static str,
    /// The top it shows, from 0; nothing where it is not about one top.
    top: Option<usize>,
    title: String,
    svg: String,
}

/// The packet's own drawings, except the faces, which the page draws live.
fn drawings(plan: &Plan) -> Vec<Drawing> {
    let scenes = content::drawings(plan, Show::of(plan, false));
    let drawing = |(n, scene): (usize, &stripwright_drawing::scene::Scene)| {
        let (station, top) = (station(&scene.name)?, top(&scene.name));
        Some(Drawing { station, top, title: scene.title.clone(), svg: writer::inline(scene, n) })
    };
    scenes.iter().enumerate().filter_map(drawing).collect()
}

/// The station that a drawing belongs to, by its name; a face has none, because the page draws it live.
fn station(name: &str) -> Option<&'static str> {
    if name.starts_with("layout") {
        Some("sheets")
    } else if name.starts_with("base-") || name.starts_with("boards") {
        Some("base")
    } else if name.ends_with("-face") {
        None
    } else {
        Some("slab")
    }
}

/// The top that a drawing named `top-2-blank` is of.
fn top(name: &str) -> Option<usize> {
    name.strip_prefix("top-")?.split('-').next()?.parse::<usize>().ok()?.checked_sub(1)
}

fn as_json(value: &impl Serialize) -> String {
    serde_json::to_string(value)
        .unwrap_or_else(|error| json!({ "refused": format!("The answer is no JSON: {error}.") }).to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Alone;

    impl Folder for Alone {
        fn starter(&self) -> String {
            String::new()
        }
        fn read_job(&self) -> Result<Option<String>, String> {
            Ok(None)
        }
        fn read_offcuts(&self, name: &str) -> Result<String, String> {
            Err(format!("no {name}"))
        }
        fn job_place(&self) -> Option<String> {
            None
        }
        fn packet_place(&self) -> Option<String> {
            None
        }
        fn save_job(&self, _: &str) -> Result<(), String> {
            Ok(())
        }
        fn write_packet(&self, _: &str, _: Option<&str>, _: &Plan) -> Result<String, String> {
            Ok(String::new())
        }
    }

    #[test]
    fn every_drawing_stands_where_its_work_is_done() {
        let job = include_str!("../../../fixtures/stool-with-base/job.json");
        let planned = plan(job, &Alone, |_, _| true).map_err(|faults| faults[0].to_string()).unwrap();
        for drawing in content::drawings(&planned.plan, Show::of(&planned.plan, false)) {
            let wanted = match drawing.name.split('-').next() {
                Some("layout") => Some("sheets"),
                Some("base" | "boards") => Some("base"),
                Some("top") if drawing.name.ends_with("face") => None,
                Some("top") => Some("slab"),
                other => panic!("{other:?} of {} has no station", drawing.name),
            };
            assert_eq!(station(&drawing.name), wanted, "{}", drawing.name);
            assert_eq!(top(&drawing.name).is_some(), drawing.name.starts_with("top-"), "{}", drawing.name);
        }
    }
}
