//! Patterns side by side on the same outline: what each needs of sheets, glue, passes and time.

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value, json};
use stripwright_packing::{Budget, Progress};
use stripwright_pattern::{BandSize, Centre, Lay, Pattern, Phase, Side};
use stripwright_units::{Angle, Length, System};

use crate::asked::spec_of;
use crate::fault::Fault;
use crate::figures::{Minor, Mm, rounded};
use crate::job::{Job, Top};
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

/// One pattern to try: the whole job with another pattern of one top, or with the job's own.
#[derive(Clone, Debug)]
pub struct Variant {
    /// The pattern in a few words: `chevron 45°, bands 70 mm`.
    pub label: String,
    /// The pattern as a job file has it: a JSON object.
    pub written: String,
    /// The job as it is, nothing changed.
    pub own: bool,
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

/// The job's own pattern of one top, and then the others in the order of patterns, angles and bands; variants that come to
/// the same are listed once.
#[must_use]
pub fn variants(job: &Job, top: usize, choice: &Choice) -> Vec<Variant> {
    let own = Own::of(job, &job.tops[top]);
    let optional = |angles: &[f64]| match angles {
        [] => vec![None],
        some => some.iter().copied().map(Some).collect(),
    };
    let bands: Vec<Option<Length>> = match choice.bands.as_slice() {
        [] => vec![None],
        some => some.iter().copied().map(Some).collect(),
    };
    let kinds: Vec<&str> = if choice.patterns.is_empty() {
        KINDS.to_vec()
    } else {
        choice.patterns.iter().map(String::as_str).collect()
    };
    let mut variants = vec![Variant {
        label: own.label(&own.top.pattern),
        written: written(&own.top.pattern, job.system),
        own: true,
        job: job.clone(),
    }];
    for kind in kinds {
        for &angle in &optional(&choice.angles) {
            for &band in &bands {
                let Some(pattern) = own.pattern(kind, angle, band) else { continue };
                let label = own.label(&pattern);
                if variants.iter().any(|v| v.label == label || v.job.tops[top].pattern == pattern) {
                    continue;
                }
                let written = written(&pattern, job.system);
                let mut job = job.clone();
                job.tops[top] = Top { pattern, phase: Phase::Free, ..own.top.clone() };
                variants.push(Variant { label, written, own: false, job });
            }
        }
    }
    variants
}

/// A top as the job has it, and the measures that other patterns take over from it.
struct Own<'j> {
    job: &'j Job,
    top: &'j Top,
    /// Lamination angle, degrees.
    angle: f64,
    /// Width of a band or block.
    band: Length,
    /// Width and length of a block, where it has blocks.
    block: Option<(Length, Length)>,
    /// Thickness of one run of its sequence, glue lines included.
    pitch: Length,
}

impl<'j> Own<'j> {
    /// Measures as the top has them, or usual ones for its size.
    fn of(job: &'j Job, top: &'j Top) -> Own<'j> {
        let spec = spec_of(job, top, &mut Vec::new());
        let face = stripwright_pattern::face(&spec, job.mark).ok();
        let block = face.as_ref().and_then(|face| face.block);
        let (low, high) = top.outline.bounds();
        let eighth = Length::ceil_mm((high.x - low.x) / 8.0, job.mark);
        let band = face.and_then(|face| face.band_width).or(block.map(|(width, _)| width)).unwrap_or(eighth);
        let angle = match &top.pattern {
            Pattern::Chevron { angle, .. } | Pattern::Diamond { angle, .. } => angle.to_degrees(),
            _ => 45.0,
        };
        Own { job, top, angle, band, block, pitch: spec.sequence.pitch() }
    }

    /// A pattern of this kind: the top's own where it is of that kind, with only what is asked for changed.
    fn pattern(&self, kind: &str, angle: Option<f64>, band: Option<Length>) -> Option<Pattern> {
        if kind == kind_of(&self.top.pattern) {
            return Some(self.changed(angle.map(Angle::degrees), band));
        }
        let angle = Angle::degrees(angle.unwrap_or(self.angle));
        let band = band.unwrap_or(self.band);
        let (width, length, lay) = (self.stacked(band), self.long(band), Lay::Along);
        Some(match kind {
            "chevron" => Pattern::Chevron { angle, bands: BandSize::Width(band), centre: None },
            "diamond" => Pattern::Diamond { angle, bands: Some(BandSize::Width(band)) },
            "straight" => Pattern::Straight { angle: Angle::degrees(0.0) },
            "sunburst" => Pattern::Sunburst { wedges: WEDGES, lay },
            "herringbone" => Pattern::Herringbone { width, length, lay },
            "running bond" => {
                Pattern::RunningBond { width, length, lay, offset: (1, 2), turn: Angle::degrees(0.0) }
            }
            "basket weave" => Pattern::BasketWeave { width, blocks: BLOCK, lay, turn: Angle::degrees(0.0) },
            _ => return None,
        })
    }

    /// The top's own pattern at another angle, or of other bands.
    fn changed(&self, to: Option<Angle>, band: Option<Length>) -> Pattern {
        let mut pattern = self.top.pattern.clone();
        match &mut pattern {
            Pattern::Chevron { angle, bands, .. } => {
                *angle = to.unwrap_or(*angle);
                *bands = band.map_or(*bands, BandSize::Width);
            }
            Pattern::Diamond { angle, bands } => {
                *angle = to.unwrap_or(*angle);
                *bands = band.map(BandSize::Width).or(*bands);
            }
            Pattern::Herringbone { width, length, lay } | Pattern::RunningBond { width, length, lay, .. } => {
                if let Some(band) = band {
                    *width = if *lay == Lay::Along { self.stacked(band) } else { Side::Given(band) };
                    // A block is never shorter than wide.
                    if self.block.is_none_or(|(_, long)| long < band + self.pitch) {
                        *length = self.long(band);
                    }
                }
            }
            Pattern::BasketWeave { width, .. } => {
                *width = band.map_or(*width, |band| self.stacked(band));
            }
            Pattern::Straight { .. } | Pattern::Sunburst { .. } => {}
        }
        pattern
    }

    /// As many laminations as come nearest to a width, in whole runs of the sequence.
    fn stacked(&self, band: Length) -> Side {
        Side::Laminations((self.runs(band) * self.top.sequence.len() as i64) as u32)
    }

    fn runs(&self, band: Length) -> i64 {
        ((band.nm() + self.pitch.nm() / 2) / self.pitch.nm().max(1)).max(1)
    }

    /// The length of a block about so wide.
    fn long(&self, band: Length) -> Side {
        Side::Given((self.pitch * (self.runs(band) * i64::from(BLOCK))).ceil_to(self.job.mark))
    }

    /// A pattern in a few words.
    fn label(&self, pattern: &Pattern) -> String {
        let show = |length: Length| length.show(self.job.system);
        let side = |side: &Side| match side {
            Side::Given(length) => *length,
            Side::Laminations(n) => self.pitch * (i64::from(*n) / self.top.sequence.len().max(1) as i64),
        };
        let bands = |bands: Option<&BandSize>| match bands {
            Some(BandSize::Width(width)) => format!("bands {}", show(*width)),
            Some(BandSize::Number(n)) => format!("{n} bands of {}", show(self.band)),
            None => format!("bands {}", show(self.band)),
        };
        let blocks = |width: Length, length: Length, lay: &Lay, turn: Option<&Angle>| {
            let turned = turn.filter(|turn| turn.to_degrees() != 0.0);
            format!(
                "{} x {}{}{}",
                show(width),
                show(length),
                if *lay == Lay::Across { ", laminations across" } else { "" },
                turned.map_or_else(String::new, |turn| format!(", turned {turn}"))
            )
        };
        let measures = match pattern {
            Pattern::Chevron { angle, bands: size, .. } => format!(" {angle}, {}", bands(Some(size))),
            Pattern::Diamond { angle, bands: size } => format!(" {angle}, {}", bands(size.as_ref())),
            Pattern::Straight { angle } if angle.to_degrees() == 0.0 => String::new(),
            Pattern::Straight { angle } => format!(" {angle}"),
            Pattern::Sunburst { wedges, lay } => {
                format!(", {wedges} wedges{}", if *lay == Lay::Across { ", laminations across" } else { "" })
            }
            Pattern::Herringbone { width, length, lay } => {
                format!(", {}", blocks(side(width), side(length), lay, None))
            }
            Pattern::RunningBond { width, length, lay, offset, turn } => {
                let set_over = match offset {
                    (1, 2) => String::new(),
                    (share, of) => format!(", set over {share}/{of}"),
                };
                format!(", {}{set_over}", blocks(side(width), side(length), lay, Some(turn)))
            }
            Pattern::BasketWeave { width, blocks: count, lay, turn } => {
                format!(", {}", blocks(side(width), side(width) * i64::from(*count), lay, Some(turn)))
            }
        };
        format!("{}{measures}", kind_of(pattern))
    }
}

/// A kind of pattern as a job file has it.
fn kind_of(pattern: &Pattern) -> &'static str {
    match pattern {
        Pattern::Straight { .. } => "straight",
        Pattern::Chevron { .. } => "chevron",
        Pattern::Diamond { .. } => "diamond",
        Pattern::Sunburst { .. } => "sunburst",
        Pattern::Herringbone { .. } => "herringbone",
        Pattern::RunningBond { .. } => "running bond",
        Pattern::BasketWeave { .. } => "basket weave",
    }
}

/// A pattern as a job file has it; what has its default is left out.
fn written(pattern: &Pattern, system: System) -> String {
    // Inches are written as fractions where they are some.
    let length = |length: Length| {
        let shown = length.show(system);
        json!(if shown.starts_with('~') { format!("{} mm", length.mm_digits()) } else { shown })
    };
    let mut keys = Map::new();
    let mut put = |key: &str, value: Value| keys.insert(key.to_string(), value);
    let side = |name: &'static str, side: &Side| match side {
        Side::Given(given) => (name, length(*given)),
        Side::Laminations(n) => ("laminations", json!(n)),
    };
    put("kind", json!(kind_of(pattern)));
    match pattern {
        Pattern::Straight { angle } => {
            put("angle", json!(angle.to_degrees()));
        }
        Pattern::Chevron { angle, .. } | Pattern::Diamond { angle, .. } => {
            put("angle", json!(angle.to_degrees()));
        }
        Pattern::Sunburst { wedges, .. } => {
            put("wedges", json!(wedges));
        }
        Pattern::Herringbone { width, length, .. } | Pattern::RunningBond { width, length, .. } => {
            for (key, value) in [side("width", width), side("length", length)] {
                put(key, value);
            }
        }
        Pattern::BasketWeave { width, blocks, .. } => {
            let (key, value) = side("width", width);
            put(key, value);
            put("blocks", json!(blocks));
        }
    }
    match pattern {
        Pattern::Chevron { bands: BandSize::Width(width), .. }
        | Pattern::Diamond { bands: Some(BandSize::Width(width)), .. } => {
            put("band", length(*width));
        }
        Pattern::Chevron { bands: BandSize::Number(n), .. }
        | Pattern::Diamond { bands: Some(BandSize::Number(n)), .. } => {
            put("bands", json!(n));
        }
        _ => {}
    }
    if let Pattern::Chevron { centre: Some(centre), .. } = pattern {
        put("centre", json!(if *centre == Centre::Band { "band" } else { "seam" }));
    }
    if let Pattern::Sunburst { lay: Lay::Across, .. }
    | Pattern::Herringbone { lay: Lay::Across, .. }
    | Pattern::RunningBond { lay: Lay::Across, .. }
    | Pattern::BasketWeave { lay: Lay::Across, .. } = pattern
    {
        put("lay", json!("across"));
    }
    if let Pattern::RunningBond { offset, .. } = pattern
        && *offset != (1, 2)
    {
        put("set_over", json!(offset.1));
    }
    if let Pattern::RunningBond { turn, .. } | Pattern::BasketWeave { turn, .. } = pattern
        && turn.to_degrees() != 0.0
    {
        put("turn", json!(turn.to_degrees()));
    }
    Value::Object(keys).to_string()
}

/// Work that each variant may do at first. Nearly all are proven in less.
const FIRST: u64 = 40_000_000;
/// Work that the variants may do together which were not proven at first: two or three seconds of two cores.
const REST: u64 = 2_000_000_000;
/// How many of the cheapest may do as much work as a plan by itself, where they are not proven in less.
pub const CHEAPEST: usize = 4;

/// The work that a variant may do at first: the job's own as much as when it is planned, so that it is the same plan.
#[must_use]
pub fn first_budget(variant: &Variant) -> Budget {
    if variant.own { Budget::default() } else { Budget { work: FIRST } }
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

/// What the whole job comes to with one pattern.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// The pattern in a few words.
    pub pattern: String,
    /// It is the job's own.
    #[serde(default)]
    pub own: bool,
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
    /// Bands, blocks or wedges of one such top.
    pub pieces: u32,
    /// Strips of all tops.
    pub strips: u32,
    /// Mass of one finished top, grams.
    pub mass: Option<f64>,
    /// Minutes of work.
    pub minutes: f64,
    /// Rip width of its strips.
    pub depth: Mm,
}

/// The row of a planned variant of a top.
#[must_use]
pub fn row(variant: &Variant, top: usize, plan: &Plan) -> Row {
    let sheets = plan.ledger.iter().find(|stage| stage.unit == "mm2");
    let of_sheets = |amount: f64| sheets.map_or(0.0, |s| rounded(amount / s.input.max(1.0)));
    let kerf = sheets.map_or(0.0, |s| s.lost.iter().filter(|l| l.cause == "kerf").map(|l| l.amount).sum());
    let top = plan.tops.get(top);
    let sawn: u32 = plan.layouts.iter().map(|layout| layout.times * layout.cuts.len() as u32).sum();
    let off: u32 = plan
        .tops
        .iter()
        .flat_map(|top| &top.slabs)
        .map(|slab| slab.times * (slab.pieces.len() as u32 + u32::from(slab.pieces.len() > 1)))
        .sum();
    Row {
        pattern: variant.label.clone(),
        own: variant.own,
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

/// The job's own first; then the cheapest, then fewest sheets, least glue, and the label.
pub fn sort(rows: &mut [(Row, Plan)]) {
    rows.sort_by(|(a, _), (b, _)| {
        let key = |row: &Row| (!row.own, row.money, row.sheets);
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

    fn job_with(pattern: &str) -> Job {
        let text = format!(
            r#"{{"sheets": [{{"name": "ply", "length": 2440, "width": 1220, "thickness": 18, "price": 1}}],
             "tops": [{{"name": "stool", "finished": 30, "outline": {{"kind": "round", "diameter": 300}}, "pattern": {{"kind": "straight"}}}},
                      {{"name": "t", "finished": 30, "margin": 2, "outline": {{"kind": "round", "diameter": 480}}, "pattern": {pattern}}}],
             "parts": [{{"name": "shelf", "length": 400, "width": 200}}]}}"#
        );
        Job::read(&text).unwrap_or_else(|faults| panic!("{faults:?} {text}"))
    }

    /// The job's own pattern comes first, with everything as the job has it, and is not replaced by usual measures.
    #[test]
    fn the_jobs_own_pattern_comes_first_and_is_left_alone() {
        for (pattern, label) in [
            // By hand: seven bands on 484 mm are 69.15 mm each, at the mark 69.5 mm.
            (
                r#"{"kind": "chevron", "angle": 40, "bands": 7, "centre": "band"}"#,
                "chevron 40°, 7 bands of 69.5 mm",
            ),
            (r#"{"kind": "diamond", "angle": 30, "bands": 4}"#, "diamond 30°, 4 bands of 121 mm"),
            (r#"{"kind": "straight", "angle": 30}"#, "straight 30°"),
            (
                r#"{"kind": "sunburst", "wedges": 9, "lay": "across"}"#,
                "sunburst, 9 wedges, laminations across",
            ),
            (r#"{"kind": "herringbone", "width": 54, "length": 216}"#, "herringbone, 54 mm x 216 mm"),
            (
                r#"{"kind": "herringbone", "width": 60, "laminations": 9, "lay": "across"}"#,
                "herringbone, 60 mm x 162 mm, laminations across",
            ),
            (
                r#"{"kind": "running bond", "laminations": 3, "length": 150, "set_over": 3, "turn": 30}"#,
                "running bond, 54 mm x 150 mm, turned 30°, set over 1/3",
            ),
            (r#"{"kind": "basket weave", "laminations": 2, "blocks": 4}"#, "basket weave, 36 mm x 144 mm"),
        ] {
            let job = job_with(pattern);
            let found = variants(&job, 1, &Choice::default());
            assert_eq!((found[0].own, found[0].label.as_str()), (true, label));
            assert_eq!(found.iter().filter(|v| v.own).count(), 1);
            assert_eq!((found[0].job.tops.len(), found[0].job.parts.len()), (2, 1));
            assert_eq!(found[0].job.tops[1].pattern, job.tops[1].pattern);
            assert_eq!(
                job_with(&found[0].written).tops[1].pattern,
                job.tops[1].pattern,
                "{}",
                found[0].written
            );
            // One of each kind: that of the own kind is the own.
            assert_eq!(found.len(), KINDS.len(), "{found:?}");
            let alone =
                Choice { patterns: vec![kind_of(&job.tops[1].pattern).to_string()], ..Choice::default() };
            assert_eq!(variants(&job, 1, &alone).len(), 1);
            // The other top is left as it is.
            assert!(found.iter().all(|v| v.job.tops[0].pattern == job.tops[0].pattern));
        }
    }

    /// Another angle or band changes nothing else of the job's own kind.
    #[test]
    fn a_pattern_of_the_own_kind_keeps_its_other_measures() {
        let job = job_with(r#"{"kind": "chevron", "angle": 40, "bands": 7, "centre": "band"}"#);
        let only = |kind: &str| Choice { patterns: vec![kind.to_string()], ..Choice::default() };
        let found = variants(&job, 1, &Choice { angles: vec![40.0, 60.0], ..only("chevron") });
        assert_eq!(found.len(), 2);
        let (angle, centre) = (Angle::degrees(60.0), Some(Centre::Band));
        let seven = Pattern::Chevron { angle, bands: BandSize::Number(7), centre };
        assert_eq!(found[1].job.tops[1].pattern, seven);
        let job = job_with(r#"{"kind": "running bond", "width": 54, "length": 216, "set_over": 3}"#);
        let found = variants(&job, 1, &Choice { bands: vec![Length::from_mm(70)], ..only("running bond") });
        let Pattern::RunningBond { width, length, offset, .. } = &found[1].job.tops[1].pattern else {
            panic!("{:?}", found[1]);
        };
        assert_eq!((*width, *length), (Side::Laminations(4), Side::Given(Length::from_mm(216))));
        assert_eq!(*offset, (1, 3));
    }
}
