//! Patterns side by side on the same outline: what each needs of sheets, glue, passes and time.

use serde::{Deserialize, Serialize};
use stripwright_packing::{Budget, Progress};
use stripwright_pattern::{BandSize, Lay, Pattern, Phase, Side};
use stripwright_units::{Angle, Length};

use crate::fault::Fault;
use crate::figures::{Minor, Mm, rounded};
use crate::job::{Job, Lamination, Top};
use crate::plan::Plan;
use crate::planning::Options;

/// What to vary. Empty lists keep what the top has.
#[derive(Clone, Debug, Default)]
pub struct Choice {
    /// Kinds of pattern.
    pub patterns: Vec<String>,
    /// Lamination angles in degrees, for patterns that have one.
    pub angles: Vec<f64>,
    /// Band widths; for patterns of blocks the width of a block, to the nearest whole number of laminations.
    pub bands: Vec<Length>,
}

/// One pattern to try: a job with the top alone.
#[derive(Clone, Debug)]
pub struct Variant {
    /// The pattern in a few words: `chevron 45°, bands 70 mm`.
    pub label: String,
    /// The pattern as a job file has it: a JSON object.
    pub written: String,
    /// Its job.
    pub job: Job,
}

/// Every kind of pattern.
pub const KINDS: [&str; 7] =
    ["chevron", "straight", "diamond", "sunburst", "herringbone", "running bond", "basket weave"];

/// The most variants that are compared at once.
pub const MOST_VARIANTS: usize = 2_000;

/// Wedges of a sunburst where the job does not say.
const WEDGES: u32 = 12;
/// Length of a block in widths, where the job does not say: three blocks also make the square of a basket weave.
const BLOCK: u32 = 3;

/// The variants of one top, in the order of patterns, angles and bands; variants that come to the same are listed once.
#[must_use]
pub fn variants(job: &Job, top: usize, choice: &Choice) -> Vec<Variant> {
    let own = &job.tops[top];
    let (own_angle, own_band) = own_sizes(job, own);
    let angles = if choice.angles.is_empty() { vec![own_angle] } else { choice.angles.clone() };
    let bands = if choice.bands.is_empty() { vec![own_band] } else { choice.bands.clone() };
    let kinds: Vec<&str> = if choice.patterns.is_empty() {
        KINDS.to_vec()
    } else {
        choice.patterns.iter().map(String::as_str).collect()
    };
    let pitch = pitch(job, own);
    let mut variants: Vec<Variant> = Vec::new();
    for kind in kinds {
        for &angle in &angles {
            for &band in &bands {
                let Some((label, written, pattern)) = pattern(job, kind, angle, band, pitch) else {
                    continue;
                };
                if variants.iter().any(|variant| variant.label == label) {
                    continue;
                }
                let top = Top { pattern, phase: Phase::Free, ..own.clone() };
                let job = Job {
                    tops: vec![top],
                    parts: Vec::new(),
                    sticks: Vec::new(),
                    bases: Vec::new(),
                    ..job.clone()
                };
                variants.push(Variant { label, written, job });
            }
        }
    }
    variants
}

/// The angle and band width that the top has, or usual ones for its size.
fn own_sizes(job: &Job, top: &Top) -> (f64, Length) {
    let (low, high) = top.outline.bounds();
    let eighth = Length::ceil_mm((high.x - low.x) / 8.0, job.mark);
    match &top.pattern {
        Pattern::Chevron { angle, bands: BandSize::Width(width), .. }
        | Pattern::Diamond { angle, bands: Some(BandSize::Width(width)) } => (angle.to_degrees(), *width),
        Pattern::Chevron { angle, .. } | Pattern::Diamond { angle, .. } => (angle.to_degrees(), eighth),
        Pattern::Herringbone { width: Side::Given(width), .. }
        | Pattern::RunningBond { width: Side::Given(width), .. }
        | Pattern::BasketWeave { width: Side::Given(width), .. } => (45.0, *width),
        _ => (45.0, eighth),
    }
}

fn pitch(job: &Job, top: &Top) -> Length {
    let thickness = |lamination: &Lamination| match lamination {
        Lamination::Sheet(s) => job.sheets[*s].real_thickness(),
        Lamination::Thickness(t) => job
            .sheets
            .iter()
            .find(|sheet| sheet.thickness == Some(*t))
            .and_then(|sheet| sheet.real_thickness()),
    };
    top.sequence.iter().map(|lamination| thickness(lamination).unwrap_or_default() + job.shop.glue_line).sum()
}

/// A pattern of this kind with its label and as a job file has it; angles and bands that it does not have are left aside.
fn pattern(
    job: &Job,
    kind: &str,
    angle: f64,
    band: Length,
    pitch: Length,
) -> Option<(String, String, Pattern)> {
    let bias = Angle::degrees(angle);
    let show = band.show(job.system);
    let runs = ((band.nm() + pitch.nm() / 2) / pitch.nm().max(1)).max(1);
    let block = pitch * runs;
    let long = block * i64::from(BLOCK);
    let blocks = format!("{} x {}", block.show(job.system), long.show(job.system));
    let (width, length, lay) = (Side::Given(block), Side::Given(long), Lay::Along);
    let text = |length: Length| format!("\"{}\"", length.show(job.system));
    let degrees = bias.to_degrees();
    let square = format!("\"width\": {}, \"length\": {}", text(block), text(long));
    let (label, keys, pattern) = match kind {
        "chevron" => (
            format!("chevron {bias}, bands {show}"),
            format!("\"angle\": {degrees}, \"band\": {}", text(band)),
            Pattern::Chevron { angle: bias, bands: BandSize::Width(band), centre: None },
        ),
        "diamond" => (
            format!("diamond {bias}, bands {show}"),
            format!("\"angle\": {degrees}, \"band\": {}", text(band)),
            Pattern::Diamond { angle: bias, bands: Some(BandSize::Width(band)) },
        ),
        "straight" => (
            "straight".to_string(),
            "\"angle\": 0".to_string(),
            Pattern::Straight { angle: Angle::degrees(0.0) },
        ),
        "sunburst" => (
            format!("sunburst, {WEDGES} wedges"),
            format!("\"wedges\": {WEDGES}"),
            Pattern::Sunburst { wedges: WEDGES, lay: Lay::Along },
        ),
        "herringbone" => {
            (format!("herringbone, {blocks}"), square, Pattern::Herringbone { width, length, lay })
        }
        "running bond" => (
            format!("running bond, {blocks}"),
            square,
            Pattern::RunningBond { width, length, lay, offset: (1, 2), turn: Angle::degrees(0.0) },
        ),
        "basket weave" => (
            format!("basket weave, {blocks}"),
            format!("\"width\": {}, \"blocks\": {BLOCK}", text(block)),
            Pattern::BasketWeave { width, blocks: BLOCK, lay, turn: Angle::degrees(0.0) },
        ),
        _ => return None,
    };
    Some((label, format!("{{\"kind\": \"{kind}\", {keys}}}"), pattern))
}

/// Work that each variant may do at first. Nearly all are proven in less.
const FIRST: u64 = 40_000_000;
/// Work that the variants may do together which were not proven at first: two or three seconds of two cores.
const REST: u64 = 2_000_000_000;

/// The work that each variant may do at first.
#[must_use]
pub fn first_budget() -> Budget {
    Budget { work: FIRST }
}

/// The work that each of so many variants may do which are not proven yet.
#[must_use]
pub fn rest_budget(open: usize) -> Budget {
    Budget { work: (REST / open.max(1) as u64).max(FIRST) }
}

/// Plans a variant within a budget, without the comparison of slabs.
///
/// # Errors
/// As for [`plan()`](crate::plan()).
pub fn plan(
    variant: &Variant,
    budget: Budget,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Result<Plan, Vec<Fault>> {
    crate::plan(&variant.job, &mut Options { budget, progress, compare_slabs: false })
}

/// What one pattern comes to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// The pattern in a few words.
    pub pattern: String,
    /// Sheets of all kinds.
    pub sheets: u32,
    /// What they cost.
    pub money: Minor,
    /// Nothing costs less.
    pub bound: Minor,
    /// Bound and money meet.
    pub proven: bool,
    /// Share of the bought area that becomes strips.
    pub used: f64,
    /// Share of the bought area that becomes sawdust at the table saw.
    pub kerf: f64,
    /// Grams of glue.
    pub glue: f64,
    /// Passes through the planer, all pieces together.
    pub passes: u32,
    /// Cuts: of sheets, and of slabs.
    pub cuts: u32,
    /// Bands, blocks or wedges of one top.
    pub pieces: u32,
    /// Strips of all tops.
    pub strips: u32,
    /// Mass of one finished top, grams.
    pub mass: Option<f64>,
    /// Minutes of work.
    pub minutes: f64,
    /// Rip width of the strips.
    pub depth: Mm,
}

/// The row of a planned variant.
#[must_use]
pub fn row(label: &str, plan: &Plan) -> Row {
    let sheets = plan.ledger.iter().find(|stage| stage.unit == "mm2");
    let of_sheets = |amount: f64| sheets.map_or(0.0, |s| rounded(amount / s.input.max(1.0)));
    let kerf = sheets.map_or(0.0, |s| s.lost.iter().filter(|l| l.cause == "kerf").map(|l| l.amount).sum());
    let top = plan.tops.first();
    let sawn: u32 = plan.layouts.iter().map(|layout| layout.times * layout.cuts.len() as u32).sum();
    let off: u32 = plan
        .tops
        .iter()
        .flat_map(|top| &top.slabs)
        .map(|slab| slab.times * (slab.pieces.len() as u32 + u32::from(slab.pieces.len() > 1)))
        .sum();
    Row {
        pattern: label.to_string(),
        sheets: plan.buy.sheets.iter().map(|sheet| sheet.count).sum(),
        money: plan.buy.total,
        bound: plan.bound.money,
        proven: plan.bound.proven,
        used: of_sheets(sheets.map_or(0.0, |s| s.output)),
        kerf: of_sheets(kerf),
        glue: rounded(plan.tops.iter().flat_map(|top| &top.glue).map(|glue| glue.grams).sum()),
        passes: plan.tops.iter().flat_map(|top| &top.planer).map(|p| p.passes * p.pieces).sum(),
        cuts: sawn + off,
        pieces: top.map_or(0, |top| top.bands),
        strips: plan.tops.iter().map(|top| top.strips_total).sum(),
        mass: top.and_then(|top| top.mass),
        minutes: rounded(plan.steps.iter().map(|step| step.minutes).sum()),
        depth: top.map_or(Mm::default(), |top| top.depth),
    }
}

/// Cheapest first, then fewest sheets, least glue, and the label.
pub fn sort(rows: &mut [(Row, Plan)]) {
    rows.sort_by(|(a, _), (b, _)| {
        let key = |row: &Row| (row.money, row.sheets);
        key(a).cmp(&key(b)).then(a.glue.total_cmp(&b.glue)).then_with(|| a.pattern.cmp(&b.pattern))
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is written for a variant is read back as its pattern, in either system.
    #[test]
    fn variants_are_written_as_a_job_file_has_them() {
        for (units, band, thickness) in [("mm", "70", "18"), ("in", "2 3/4", "3/4")] {
            let text = |pattern: &str| {
                format!(
                    r#"{{"units": "{units}", "sheets": [{{"name": "ply", "length": "96 in", "width": "48 in", "thickness": "{thickness}", "price": 1}}],
                     "tops": [{{"name": "t", "finished": "30 mm", "outline": {{"kind": "round", "diameter": "500 mm"}}, "pattern": {pattern}}}]}}"#
                )
            };
            let own = format!(r#"{{"kind": "chevron", "angle": 45, "band": "{band}"}}"#);
            let job = Job::read(&text(&own)).unwrap();
            let choice = Choice { angles: vec![30.0, 45.0, 52.5], ..Choice::default() };
            let variants = variants(&job, 0, &choice);
            assert_eq!(variants.len(), 11);
            for variant in variants {
                let read = Job::read(&text(&variant.written))
                    .unwrap_or_else(|f| panic!("{f:?} {}", variant.written));
                assert_eq!(read.tops[0].pattern, variant.job.tops[0].pattern, "{}", variant.written);
            }
        }
    }
}
