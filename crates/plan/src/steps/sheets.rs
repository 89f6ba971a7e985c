//! From sheets to strips and plain parts.

use std::collections::BTreeSet;

use stripwright_splay::SHORT;
use stripwright_units::Length;

use super::saw;
use crate::cautions::{Care, HEAVY, heaviest_sheet, sheet_mass};
use crate::plan::{Direction, Run, Step};
use crate::wording::count;
use crate::words::{join, letter, numbers};
use crate::work::Work;

/// A rip under this wants a push block: 50 mm (T42, common practice); a piece under [`SHORT`] wants a holder.
const NARROW: Length = Length::from_mm(50);

/// Fetching and measuring, trimming, and the runs of the saw.
pub(super) fn fetch_and_saw(work: &Work<'_>) -> Vec<Step> {
    if work.plan.layouts.is_empty() {
        return Vec::new();
    }
    let mut steps = vec![fetch(work)];
    steps.extend(trim(work));
    steps.extend(labels(work));
    let mut saws: Vec<Vec<Run>> = Vec::new();
    for run in saw::runs(work.plan) {
        match saws.last_mut() {
            Some(same) if same[0].direction == run.direction => same.push(run),
            _ => saws.push(vec![run]),
        }
    }
    let of = saws.len();
    for (n, runs) in saws.into_iter().enumerate() {
        steps.push(saw_step(work, n, of, runs));
    }
    steps
}

fn fetch(work: &Work<'_>) -> Step {
    let (plan, words) = (work.plan, work.words());
    let mut step = Step::new("sheets-fetch", "sheets", "", "Lay out and measure the sheets");
    for buy in &plan.buy.sheets {
        let mut sentence = format!("{} of {}", count(buy.count, "sheet", "sheets"), buy.name);
        if let Some(sheet) = work.job.sheets.iter().find(|s| s.name == buy.name) {
            sentence += &format!(", {} by {}", words.length(sheet.length), words.length(sheet.width));
            if let Some(mass) = sheet_mass(sheet) {
                sentence += &format!(", about {} each", words.mass(mass));
            }
            if let Some(thickness) = sheet.real_thickness() {
                let mut setting =
                    words.set_length(&format!("Thickness reckoned with, {}", buy.name), thickness);
                setting.value = words.measured(thickness);
                step.set(setting);
            }
        }
        step.say(format!("Take {sentence}."));
        step.count(&format!("sheets of {}", buy.name), buy.count);
    }
    // T4 (eight readings), T6 (a slab of twenty strips can be a strip short on nominal thickness).
    step.say(
        "Measure each sheet's thickness with a caliper at its corners and at the middle of each side, and take the mean.",
    );
    if !plan.tops.is_empty() {
        step.say(
            "Where the mean differs from the thickness reckoned with, write it into the job as `measured` and plan again \
             before you cut: over a slab the difference adds up to whole strips.",
        );
    }
    let mut cuts = String::from("Chalk on each sheet the number of its layout");
    let list: Vec<String> = (1u32..)
        .zip(&plan.layouts)
        .map(|(n, l)| format!("layout {n} on {}", count(l.times, "sheet", "sheets")))
        .collect();
    cuts += &format!(" ({}), and an arrow along the grain.", join(&list));
    step.say(cuts);
    let sheets: u32 = plan.buy.sheets.iter().map(|b| b.count).sum();
    step.minutes = f64::from(sheets) * work.job.shop.reckoning.times.sheet;
    for n in 1..=plan.layouts.len() {
        step.draw(format!("layout-{n}"));
    }
    if heaviest_sheet(work).is_some_and(|mass| mass >= HEAVY) {
        step.mind(&[Care::Lifting]);
    }
    step
}

/// Trimming the sheets' own edges, where the job asks for it.
fn trim(work: &Work<'_>) -> Option<Step> {
    let (plan, words, times) = (work.plan, work.words(), &work.job.shop.reckoning.times);
    let cuts: u32 =
        plan.layouts.iter().map(|l| l.times * l.cuts.iter().filter(|c| c.stage == 0).count() as u32).sum();
    if cuts == 0 {
        return None;
    }
    let mut step = Step::new("sheets-trim", "sheets", "", "Trim the sheets' edges");
    step.say(
        "Trim the lower edge of each sheet first: it is the reference edge that runs along the fence from now on. Then \
         trim the upper edge parallel to it, and the left end square to both; distances along the sheet are from that end.",
    );
    for sheet in plan.sheets.iter().filter(|s| plan.buy.sheets.iter().any(|b| b.name == s.name)) {
        let sides = [
            ("lower edge", sheet.trim.bottom),
            ("upper edge", sheet.trim.top),
            ("left end", sheet.trim.left),
            ("right end", sheet.trim.right),
        ];
        let cut: Vec<String> = sides
            .iter()
            .filter(|(_, amount)| amount.is_positive())
            .map(|(side, amount)| format!("{} at the {side}", words.length(**amount)))
            .collect();
        if !cut.is_empty() {
            step.say(format!("{}: {}, kerf included.", sheet.name, join(&cut)));
        }
    }
    let trimming = plan.layouts.iter().flat_map(|l| &l.cuts).filter(|c| c.stage == 0);
    let settings: BTreeSet<(Direction, Length)> = trimming.map(|cut| (cut.direction, *cut.setting)).collect();
    step.count("trimming cuts", cuts);
    step.minutes = f64::from(cuts) * times.cut + settings.len() as f64 * times.setting;
    for n in 1..=plan.layouts.len() {
        step.draw(format!("layout-{n}"));
    }
    step.mind(&[Care::Kickback, Care::Dust]);
    Some(step)
}

fn saw_step(work: &Work<'_>, n: usize, of: usize, runs: Vec<Run>) -> Step {
    let (plan, words, times) = (work.plan, work.words(), &work.job.shop.reckoning.times);
    let rips = runs[0].direction == Direction::Rip;
    let title = match (rips, n) {
        (true, 0) => "Rip the sheets",
        (false, 0) => "Crosscut the sheets",
        (true, _) => "Rip what the crosscuts left",
        (false, _) if of > 1 && n > 1 => "Crosscut the last pieces",
        (false, _) => "Crosscut the strips",
    };
    let mut step = Step::new(format!("sheets-saw-{}", n + 1), "sheets", "", title);
    if rips {
        step.say(
            "Run the reference edge along the fence; after each rip the fresh sawn edge is the reference for the next, so \
             that every strip is cut from a straight edge.",
        );
    } else {
        step.say(
            "Lay the reference edge against the crosscut fence and butt the left end against a stop; after each cut the \
             fresh end is butted for the next.",
        );
    }
    let device = if rips { "fence" } else { "stop" };
    let each: Vec<String> = runs.iter().map(|run| run_sentence(work, run, device)).collect();
    if runs.iter().any(|run| run.again) {
        step.say(format!(
            "Work through the runs in their order; a setting marked as coming again cannot be avoided, because its later \
             cuts wait for cuts at another setting. Keep a trial piece of each setting and set the {device} to it again."
        ));
    } else {
        step.say(format!("Work through the runs in their order: no {device} setting comes twice."));
    }
    for sentence in each {
        step.say(sentence);
    }
    let kerf = if rips { plan.cutting.rip_kerf } else { plan.cutting.crosscut_kerf };
    step.set(words.set_length("Kerf reckoned with", *kerf));
    if n == 0 {
        // T39: measure one cut; never trust the label.
        step.say(
            "Measure the kerf in scrap first; where it is wider than reckoned with, change the job and plan again.",
        );
    }
    for run in &runs {
        step.set(words.set_length(&format!("Run {}, {device} to blade", run.number), *run.setting));
    }
    let cuts: u32 = runs.iter().map(|run| cuts_of(work, run)).sum();
    step.count(if rips { "rips" } else { "crosscuts" }, cuts);
    step.count("settings", runs.len() as u32);
    step.minutes = f64::from(cuts) * times.cut + runs.len() as f64 * times.setting;
    let mut layouts: Vec<u32> = runs.iter().flat_map(|r| r.cuts.iter().map(|c| c.layout)).collect();
    layouts.sort_unstable();
    layouts.dedup();
    for layout in layouts {
        step.draw(format!("layout-{layout}"));
    }
    step.mind(&[Care::Kickback, Care::Dust]);
    let least = runs.iter().map(|r| (*r.size).min(*r.setting)).min().unwrap_or_default();
    if least < if rips { NARROW } else { SHORT } {
        step.mind(&[Care::SmallPieces]);
    }
    step.runs = runs;
    step
}

fn cuts_of(work: &Work<'_>, run: &Run) -> u32 {
    run.cuts.iter().map(|c| work.plan.layouts[c.layout as usize - 1].times * c.numbers.len() as u32).sum()
}

/// "Run 2, fence at 60 mm: layout 1 (2 sheets), cuts 3 and 4; C comes off finished."
fn run_sentence(work: &Work<'_>, run: &Run, device: &str) -> String {
    let (plan, words) = (work.plan, work.words());
    let places: Vec<String> = run
        .cuts
        .iter()
        .map(|c| {
            let times = plan.layouts[c.layout as usize - 1].times;
            let sheets = if times == 1 { String::new() } else { format!(" (each of {times} sheets)") };
            let cuts = if c.numbers.len() == 1 { "cut" } else { "cuts" };
            format!("layout {}{sheets}, {cuts} {}", c.layout, numbers(&c.numbers))
        })
        .collect();
    let mut sentence =
        format!("Run {}, {device} at {}: {}", run.number, words.length(*run.setting), places.join("; "));
    if !run.frees.is_empty() {
        let mut marks: Vec<String> = run.frees.iter().map(|id| letter(plan, id)).collect();
        marks.sort_by_key(|m| (m.len(), m.clone()));
        sentence +=
            &format!("; {} {} off finished", join(&marks), if marks.len() == 1 { "comes" } else { "come" });
    }
    sentence += ".";
    if !run.inside {
        sentence += &format!(
            " The fence does not reach {}: it guides the other side, and what is cut to size lies on the free side of the \
             blade.",
            words.length(*run.size)
        );
    }
    if run.again {
        sentence += " This setting comes again.";
    }
    sentence
}

/// How strips, slabs and bands are marked, and how plain parts are.
fn labels(work: &Work<'_>) -> Option<Step> {
    let (plan, words, times) = (work.plan, work.words(), &work.job.shop.reckoning.times);
    let pieces: u32 = plan.layouts.iter().map(|l| l.times * l.pieces.len() as u32).sum();
    if pieces == 0 {
        return None;
    }
    let mut step = Step::new("labels", "sheets", "", "Know the marks");
    step.say(
        "Write its letter on every piece as it leaves the saw, on a sawn edge near its left end: each size has one letter, \
         the same on all drawings and lists.",
    );
    let strips: u32 = plan.tops.iter().map(|t| t.strips_total).sum();
    if strips > 0 {
        step.say(
            "Stack the strips slab by slab, first strip at the bottom, all best faces up; write the slab's number on the \
             end of the bundle.",
        );
        step.say(
            "When a slab lies dry in its order, draw one slanting line across all its edges: a strip that is out of turn \
             or turned round breaks the line.",
        );
        let kinds: BTreeSet<&str> = plan.tops.iter().filter(|t| t.bands > 1).map(|t| t.piece().0).collect();
        for kind in kinds {
            step.say(numbering(kind));
        }
    }
    for demand in &plan.demands {
        let cut = placed(work, &demand.id);
        if cut > 0 {
            step.say(format!(
                "{}: {} by {}, {}.",
                letter(plan, &demand.id),
                words.length(*demand.length),
                words.length(*demand.width),
                count(cut, "piece", "pieces")
            ));
        }
    }
    step.count("pieces", pieces);
    step.minutes = f64::from(pieces) * times.mark;
    Some(step)
}

/// How the pieces that slabs are cut into are numbered.
fn numbering(kind: &str) -> &'static str {
    match kind {
        "block" => {
            "Blocks get the number that they have in the drawing of the blank, on the upper face; a spare block gets the letter S."
        }
        "wedge" => {
            "Wedges get their number, counted anticlockwise round the pin from the right, at the outer end; a spare wedge gets the \
             letter S."
        }
        _ => {
            "Bands get their number, counted from the left of the blank as in its drawing, at the lower end with an arrow that points \
             up; draw a ring round the number of a band that is to be turned over, and none round the others, as in the drawings; a spare band \
             gets the letter S."
        }
    }
}

/// How many pieces of a size all layouts give.
pub(crate) fn placed(work: &Work<'_>, id: &str) -> u32 {
    let on = |l: &crate::plan::Layout| l.times * l.pieces.iter().filter(|p| p.part == id).count() as u32;
    work.plan.layouts.iter().map(on).sum()
}

/// Plain parts are finished when they leave the saw.
pub(super) fn parts(work: &Work<'_>) -> Option<Step> {
    let (words, times) = (work.words(), &work.job.shop.reckoning.times);
    if work.job.parts.is_empty() {
        return None;
    }
    let mut step = Step::new("parts", "parts", "", "Check and ease the plain parts");
    let mut round = 0.0;
    for part in &work.job.parts {
        step.say(format!(
            "{} ({}): {}, {} by {}.",
            part.name,
            letter(work.plan, &part.name),
            count(part.count, "piece", "pieces"),
            words.length(part.length),
            words.length(part.width)
        ));
        step.count(&part.name, part.count);
        round += 2.0 * (part.length.to_mm() + part.width.to_mm()) / 1e3 * f64::from(part.count);
    }
    step.say("Measure the first of each size and both its diagonals, then ease all edges with a block and fine paper.");
    step.minutes = round * times.ease;
    step.mind(&[Care::Dust]);
    Some(step)
}
