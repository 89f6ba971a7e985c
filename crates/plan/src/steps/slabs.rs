//! From strips to planed slabs.

use std::collections::BTreeSet;

use stripwright_pattern::{Pattern, clamps_by_force, clamps_by_spacing, pressed_length};
use stripwright_units::Length;

use crate::cautions::Care;
use crate::plan::{Glue, Layer, Planing, Slab, Step, Top};
use crate::wording::count;
use crate::words::{self, letter};
use crate::work::Work;

/// A slab's id in ids of steps and drawings: `top-1-slab-2`.
fn slab_id(top: usize, slab: usize) -> String {
    format!("top-{}-slab-{}", top + 1, slab + 1)
}

/// A glue-up of a top by its name in the plan.
pub(super) fn glue<'t>(top: &'t Top, stage: &str) -> Option<&'t Glue> {
    top.glue.iter().find(|g| g.stage == stage)
}

/// A planing of a top by its name in the plan.
pub(super) fn planing<'t>(top: &'t Top, stage: &str) -> Option<&'t Planing> {
    top.planer.iter().find(|p| p.stage == stage)
}

/// One step for all slabs of a top that are laid up alike.
pub(super) fn glue_up(work: &Work<'_>, top: usize) -> Vec<Step> {
    let plan = &work.plan.tops[top];
    let all: f64 = plan.slabs.iter().map(|s| f64::from(s.times) * length_of_joints(s)).sum();
    alike(plan, |slab| (&slab.layers, &slab.parts))
        .into_iter()
        .map(|group| {
            let slab = &plan.slabs[group[0]];
            let many = times_of(plan, &group);
            if strips_of(slab) == 1 {
                return single(work, top, &group);
            }
            let mut step = Step::new(
                slab_id(top, group[0]),
                "slabs",
                &plan.name,
                format!("Glue up {}", names(plan, &group)),
            );
            order(work, slab, many, &mut step);
            stagger(work, slab, &mut step);
            if let Some(stage) = glue(plan, "strips into slabs") {
                let grams = stage.grams * length_of_joints(slab) / all.max(1e-9);
                sections(work, slab, stage, grams, many, &mut step);
            }
            step.draw(slab_id(top, group[0]));
            step
        })
        .collect()
}

/// Slabs of one strip each, with nothing to glue.
fn single(work: &Work<'_>, top: usize, group: &[usize]) -> Step {
    let plan = &work.plan.tops[top];
    let (slab, many) = (&plan.slabs[group[0]], times_of(plan, group));
    let title = format!("Set aside the single strips that are {}", names(plan, group));
    let mut step = Step::new(slab_id(top, group[0]), "slabs", &plan.name, title);
    let strip = &slab.strips[0];
    step.say(format!(
        "Take {many} of {} ({}) on edge: each is a slab by itself, with nothing to glue. Write the slab's number on its end.",
        letter(work.plan, &strip.id),
        work.words().length(*strip.length)
    ));
    step.set(work.words().set_length("Depth of the slab", *strip.width));
    step.count("slabs", many);
    step.minutes = f64::from(many) * work.job.shop.reckoning.times.mark;
    step.draw(slab_id(top, group[0]));
    step
}

/// A top's slabs that are the same in some respect, by their indices; groups and their members in the plan's order.
pub(super) fn alike<'t, K: PartialEq>(top: &'t Top, respect: impl Fn(&'t Slab) -> K) -> Vec<Vec<usize>> {
    let mut groups: Vec<(K, Vec<usize>)> = Vec::new();
    for (n, slab) in top.slabs.iter().enumerate() {
        let key = respect(slab);
        match groups.iter_mut().find(|(other, _)| *other == key) {
            Some((_, group)) => group.push(n),
            None => groups.push((key, vec![n])),
        }
    }
    groups.into_iter().map(|(_, group)| group).collect()
}

/// How many slabs a group stands for.
pub(super) fn times_of(top: &Top, group: &[usize]) -> u32 {
    group.iter().map(|&n| top.slabs[n].times).sum()
}

/// `the slab of seat`, `slab 2 of seat`, `slabs 1 to 4 of seat, 8 in all`.
pub(super) fn names(top: &Top, group: &[usize]) -> String {
    let numbers: Vec<u32> = group.iter().map(|&n| n as u32 + 1).collect();
    let times = times_of(top, group);
    let all = if times as usize == group.len() { String::new() } else { format!(", {times} in all") };
    match (top.slabs.len(), group.len()) {
        (1, _) if times == 1 => format!("the slab of {}", top.name),
        (1, _) => format!("the {times} slabs of {}", top.name),
        (_, 1) => format!("slab {} of {}{all}", numbers[0], top.name),
        _ => format!("slabs {} of {}{all}", words::numbers(&numbers), top.name),
    }
}

/// Where the strips of each part of a slab begin and end along it.
fn lying(slab: &Slab) -> Vec<Vec<(f64, f64)>> {
    let mut layers = slab.layers.as_slice();
    let mut parts = Vec::new();
    for &strips in &slab.parts {
        let (part, rest) = layers.split_at(layers.len().min(strips as usize));
        parts.push(part.iter().map(|l| (l.start, l.start + l.length.to_mm())).collect());
        layers = rest;
    }
    parts
}

/// How much of their length strips all share; nothing or less where no clamp reaches them all.
fn common(strips: &[(f64, f64)]) -> f64 {
    let from = strips.iter().map(|s| s.0).fold(f64::NEG_INFINITY, f64::max);
    let to = strips.iter().map(|s| s.1).fold(f64::INFINITY, f64::min);
    to - from
}

/// How far neighbouring strips of a slab lie on each other, joint by joint; the joints between its parts are left out, as
/// they are glued later.
fn laps(slab: &Slab) -> Vec<f64> {
    lying(slab).iter().flat_map(|part| part.windows(2).map(|pair| common(pair).max(0.0))).collect()
}

/// The most length of a slab that is pressed at a time.
fn pressed(slab: &Slab, section: u32) -> f64 {
    lying(slab).iter().map(|part| pressed_length(part, section)).fold(0.0, f64::max)
}

/// Clamps along all joints of a glue-up of a slab, by spacing and by force.
fn clamps(work: &Work<'_>, slab: &Slab, stage: &Glue) -> (u32, u32) {
    let length = pressed(slab, stage.section);
    let depth = slab.strips.first().map_or(0.0, |strips| strips.width.to_mm());
    (
        clamps_by_spacing(Length::nearest_mm(length), *stage.clamp_spacing),
        clamps_by_force(&work.job.shop.pattern.clamp, length * depth),
    )
}

/// Times that clamps are set for one slab: for each section of a part, and to join the sections.
fn glue_ups(slab: &Slab, section: u32) -> u32 {
    let sections = |strips: &u32| strips.div_ceil(section.max(1));
    slab.parts.iter().map(sections).map(|n| if n > 1 { n + 1 } else { 1 }).sum()
}

/// What a slab's share of the glue goes by.
fn length_of_joints(slab: &Slab) -> f64 {
    laps(slab).iter().sum()
}

fn strips_of(slab: &Slab) -> u32 {
    slab.strips.iter().map(|s| s.count).sum()
}

fn order(work: &Work<'_>, slab: &Slab, many: u32, step: &mut Step) {
    let words = work.words();
    let total = strips_of(slab);
    let list: Vec<String> = slab
        .strips
        .iter()
        .map(|s| format!("{} of {} ({})", s.count, letter(work.plan, &s.id), words.length(*s.length)))
        .collect();
    if list.len() == 1 {
        step.say(format!("Take {} on edge.", list[0]));
    } else {
        step.say(format!(
            "Take, from the first strip to the last, {}: {total} strips on edge.",
            list.join(", then ")
        ));
    }
    step.set(words.set_length("Depth of the slab", slab.strips.first().map_or(Length::ZERO, |s| *s.width)));
    step.set(words.set_length("Breadth when glued", *slab.breadth));
    step.set(words.set("Length over all", words.about(slab.length.to_mm(), work.job.mark)));
    step.count("slabs", many);
    step.count("strips in each", total);
    if let [first, rest @ ..] = slab.parts.as_slice()
        && !rest.is_empty()
    {
        let parts: Vec<String> = slab.parts.iter().map(u32::to_string).collect();
        step.say(format!(
            "The slab is broader than the planer takes: glue it in {} parts of {} strips, plane each by itself, and join \
             the parts afterwards; do not glue part to part now. The first part has {first} strips.",
            slab.parts.len(),
            words::join(&parts)
        ));
    }
}

/// How the strips' ends lie: flush, on one slanting line, or each at its own place.
fn stagger(work: &Work<'_>, slab: &Slab, step: &mut Step) {
    let words = work.words();
    let starts: Vec<f64> = slab.layers.iter().map(|l| l.start).collect();
    let steady = starts.windows(2).all(|w| (w[1] - w[0] - slab.stagger.to_mm()).abs() < 0.01);
    if steady && slab.stagger.nm() == 0 {
        step.say("Set all left ends flush against a straight stop.");
        return;
    }
    if steady {
        let way = if slab.stagger.nm() > 0 { "right" } else { "left" };
        step.set(words.set_length("Stagger, strip to strip", slab.stagger.abs()));
        step.say(format!(
            "Slide each strip {} to the {way} past the one before it: draw the stagger line across the cauls first and set \
             every left end to it, so that the bias cut wastes no corner.",
            words.length(slab.stagger.abs())
        ));
        return;
    }
    // Each strip is as long as its own pieces need: its end has a place of its own. The end allowance covers the rounding
    // of these places to the mark.
    let left = starts.iter().copied().fold(f64::INFINITY, f64::min);
    let place = |s: &f64| words.digits(Length::nearest_mm(s - left).nearest_to(work.job.mark));
    let places: Vec<String> = starts.iter().map(place).collect();
    let unit = if work.system == stripwright_units::System::Metric { "millimetres" } else { "inches" };
    step.say(format!(
        "The strips are only as long as their own places in the face need, so their left ends do not lie on one line. To the right of the leftmost \
         end the left ends lie, strip by strip and in {unit}, at {}.",
        places.join(", ")
    ));
    if slab.stagger.nm() != 0 {
        step.set(words.set_length("Stagger within a run of like strips", slab.stagger.abs()));
    }
    step.say("Mark these places on a batten, clamp it along the cauls, and set every strip to its mark.");
}

fn sections(work: &Work<'_>, slab: &Slab, stage: &Glue, grams: f64, many: u32, step: &mut Step) {
    let (words, shop) = (work.words(), &work.job.shop);
    let (times, glue) = (&shop.reckoning.times, &shop.pattern.glue);
    step.set(words.set("Glue for one slab", format!("{:.0} g", grams.ceil())));
    step.set(words.set("Open time", format!("{} min", words::decimals(glue.open_minutes, 1))));
    let largest = slab.parts.iter().copied().max().unwrap_or_else(|| strips_of(slab));
    let ups = largest.div_ceil(stage.section.max(1));
    // T32: strips a section = what the open time allows.
    let parted = slab.parts.len() > 1;
    if ups > 1 {
        step.set(words.set("Strips in a section", stage.section.to_string()));
        let sections = if parted {
            format!("glue up each part in sections, at most {ups} of them")
        } else {
            format!("glue up {ups} sections")
        };
        step.say(format!(
            "At {} strips a minute the open time allows {} strips at a time: {sections}, let each take its time in the clamps, \
             then glue section to section.",
            words::decimals(glue.strips_a_minute, 1),
            stage.section
        ));
    } else {
        step.say(format!(
            "{} into one glue-up within the open time: lay everything out and set the clamps dry first.",
            if parted { "Each part goes" } else { "All strips go" }
        ));
    }
    let faces = if glue.faces == 2 { "both faces" } else { "one face" };
    step.say(format!("Spread {faces} of each joint, thin and even, and lay strip on strip without a pause."));
    // T30: pressure fans out from clamp heads; T29: hand clamps rarely reach the book figures.
    let (by_spacing, by_force) = clamps(work, slab, stage);
    let clamps = by_spacing.max(by_force);
    let apart = stage.clamp_spacing.floor_to(work.job.mark);
    step.set(words.set_length("Clamps, at most apart", apart));
    step.count("clamps at a time", clamps);
    press(work, slab, stage, clamps, step);
    if by_force > by_spacing {
        step.say(format!(
            "The spacing alone would take {by_spacing}; more are needed to press the joints as the book has it: set \
             them evenly, and look for a fine even bead of glue."
        ));
    }
    step.say("Press the edges level with a mallet and a block before the last turn: every step left now is planed off later.");
    let glue_ups = f64::from(many * glue_ups(slab, stage.section));
    let laid = f64::from(many * strips_of(slab)) / glue.strips_a_minute;
    step.minutes = laid + glue_ups * f64::from(clamps) * times.clamp;
    step.wait = times.clamped * glue_ups;
}

/// Where so many clamps stand on a glue-up of a slab.
fn press(work: &Work<'_>, slab: &Slab, stage: &Glue, clamps: u32, step: &mut Step) {
    let (words, mark) = (work.words(), work.job.mark);
    let clamps = count(clamps, "clamp", "clamps");
    let apart = words.length(stage.clamp_spacing.floor_to(mark));
    let caul = words.length(work.job.shop.pattern.clamp.caul);
    let length = pressed(slab, stage.section);
    let shared = lying(slab)
        .iter()
        .flat_map(|part| part.chunks(stage.section.max(1) as usize))
        .map(common)
        .fold(f64::INFINITY, f64::min);
    if shared > length - 0.01 {
        step.say(format!(
            "Set {clamps} across the slab, at most {apart} apart, by turns above and below, with stiff waxed cauls of {caul} \
             under them."
        ));
        return;
    }
    step.say(format!(
        "Set {clamps}, at most {apart} apart, along the {} over which joints are pressed at a time: square to the joints, by \
         turns above and below, each over the strips that lie there.",
        words.about(length, mark)
    ));
    let fill = format!(
        "fill up the steps at both sides with waxed cauls of {caul} cut in steps, or with waxed offcuts of strips under straight \
         ones, so that every clamp presses through all joints between its jaws"
    );
    step.say(if shared > 0.0 {
        format!(
            "All strips that are pressed at a time share only {} of their length: beyond it {fill}.",
            words.about(shared, mark)
        )
    } else {
        format!(
            "The strips are slid so far that no clamp reaches all of them: {fill}; or glue up a few strips at a time, while their ends are \
             nearly level, and glue these to one another when they have set."
        )
    });
    step.say(
        "Fix stops at both ends of the stack, so that no strip slides along its neighbour under pressure.",
    );
}

/// Scraping and planing all slabs of a top.
pub(super) fn plane(work: &Work<'_>, top: usize) -> Option<Step> {
    let plan = &work.plan.tops[top];
    let stage = planing(plan, "slabs")?;
    let mut step =
        Step::new(format!("top-{}-plane-slabs", top + 1), "slabs", &plan.name, "Scrape and plane the slabs");
    let glued = |slab: &&Slab| strips_of(slab) > 1;
    if plan.slabs.iter().any(|slab| glued(&slab)) {
        step.say("Let the glue cure until the next day, then scrape every bead of it off both faces.");
    }
    let area: f64 = plan.slabs.iter().filter(glued).map(|s| 2.0 * f64::from(s.times) * area_of(s)).sum();
    step.minutes = area * work.job.shop.reckoning.times.scrape;
    passes(work, stage, &mut step);
    step.say(
        "Feed with the strips along the feed; take the same from both faces, turning the slab over after each pass, so that \
         it stays flat.",
    );
    if plan.slabs.iter().any(|slab| slab.is_carried()) {
        step.say(carried(work, top));
    }
    for group in alike(plan, |slab| (&slab.layers, &slab.parts)) {
        step.draw(slab_id(top, group[0]));
    }
    step.mind(&[Care::GlueLines, Care::Snipe, Care::EndGrain, Care::Dust]);
    Some(step)
}

/// What becomes of the strips that carry short slabs through the planer.
fn carried(work: &Work<'_>, top: usize) -> String {
    let plan = &work.plan.tops[top];
    let group: Vec<usize> = (0..plan.slabs.len()).filter(|&n| plan.slabs[n].is_carried()).collect();
    let then = match work.job.tops[top].pattern {
        // Nothing else cuts these ends off.
        Pattern::Straight { .. } | Pattern::Sunburst { .. } => {
            let layers = group.iter().flat_map(|&n| &plan.slabs[n].layers);
            let left = |l: &Layer| {
                Some(format!("{} to {}", letter(work.plan, &l.id), work.words().length(*l.left?)))
            };
            let all: BTreeSet<String> = layers.filter_map(left).collect();
            format!("then saw off their far ends, {}", words::join(&Vec::from_iter(all)))
        }
        _ => "the cuts that follow take off what is too long".to_string(),
    };
    format!(
        "Shorter than the planer feeds: {}. Their outermost strips are longer than their pieces need and carry them through it: leave \
         these as long as they are until the slab is planed; {then}.",
        names(plan, &group)
    )
}

/// Settings, counts and minutes of a planing.
pub(super) fn passes(work: &Work<'_>, stage: &Planing, step: &mut Step) {
    let (words, shop) = (work.words(), &work.job.shop);
    let times = &shop.reckoning.times;
    step.set(words.set_length("From", *stage.from));
    step.set(words.set_length("To", *stage.to));
    step.set(words.set_length("Deepest pass", shop.pattern.planer.bite));
    step.set(words.set("Feed in all", words.metres(stage.feed)));
    step.count("passes of each piece", stage.passes);
    step.count("pieces", stage.pieces);
    step.say(format!(
        "Plane from {} to {}: {} of each piece, half of them on each face, none deeper than {}; run every piece through \
         before you change the setting.",
        words.length(*stage.from),
        words.length(*stage.to),
        count(stage.passes, "pass", "passes"),
        words.length(shop.pattern.planer.bite)
    ));
    step.minutes += f64::from(stage.passes) * (times.setting + f64::from(stage.pieces) * times.pass)
        + stage.feed / times.feed;
}

/// Square metres of one face of a slab.
fn area_of(slab: &Slab) -> f64 {
    let along: f64 = slab.strips.iter().map(|s| f64::from(s.count) * s.length.to_mm()).sum();
    let strips = f64::from(strips_of(slab).max(1));
    along / strips * slab.breadth.to_mm() / 1e6
}

/// Joining slabs that were planed in parts.
pub(super) fn join(work: &Work<'_>, top: usize) -> Option<Step> {
    let (plan, words, shop) = (&work.plan.tops[top], work.words(), &work.job.shop);
    let stage = glue(plan, "sub-slabs into slabs").filter(|g| g.joints > 0)?;
    let mut step =
        Step::new(format!("top-{}-join-slabs", top + 1), "slabs", &plan.name, "Join the parts of the slabs");
    step.say("Glue the planed parts of each slab face to face, level on one side.");
    offsets(work, plan).into_iter().for_each(|said| step.say(said));
    step.say(
        "Measure that at the left ends of the two strips that meet: planing leaves them as they are, while it takes off what was \
         drawn on the faces. Clamp square to the joint, where both parts lie.",
    );
    step.say("Clean the joint with a scraper; after this the slab is broader than the planer and is not planed again.");
    step.set(words.set("Glue", format!("{:.0} g", stage.grams.ceil())));
    step.set(words.set_length("Clamps, at most apart", stage.clamp_spacing.floor_to(work.job.mark)));
    step.count("joints", stage.joints);
    step.count("clamps at a time", stage.clamps());
    let times = &shop.reckoning.times;
    step.minutes = f64::from(stage.joints) * (times.joint + f64::from(stage.clamps()) * times.clamp);
    step.wait = times.cure;
    for group in parted(plan) {
        step.draw(slab_id(top, group[0]));
    }
    Some(step)
}

/// A top's slabs that are joined from parts, those that are laid up alike together.
fn parted(top: &Top) -> Vec<Vec<usize>> {
    let mut groups = alike(top, |slab| (&slab.layers, &slab.parts));
    groups.retain(|group| top.slabs[group[0]].parts.len() > 1);
    groups
}

/// How far the first strip of a part lies along from the last strip of the part before it, part by part.
fn steps_of(slab: &Slab) -> Vec<(usize, f64)> {
    let ends = slab.parts.iter().scan(0, |end, strips| {
        *end += *strips as usize;
        Some(*end)
    });
    ends.filter(|&n| n > 0 && n < slab.layers.len())
        .map(|n| (n, slab.layers[n].start - slab.layers[n - 1].start))
        .collect()
}

/// Where parts lie against each other, in sentences: one for all slabs where it is the same everywhere.
fn offsets(work: &Work<'_>, top: &Top) -> Vec<String> {
    let lies = |offset: f64| {
        let by = work.words().about(offset.abs(), work.job.mark);
        match offset {
            o if o.abs() < 0.01 => "level with".to_string(),
            o if o > 0.0 => format!("{by} to the right of"),
            _ => format!("{by} to the left of"),
        }
    };
    let groups = parted(top);
    let mut all: Vec<String> = groups
        .iter()
        .flat_map(|group| steps_of(&top.slabs[group[0]]))
        .map(|(_, offset)| lies(offset))
        .collect();
    all.dedup();
    if let [same] = &all[..] {
        return vec![format!(
            "The left end of a part's first strip lies {same} the left end of the last strip of the part before it."
        )];
    }
    let said = |group: &Vec<usize>| {
        let of: Vec<String> = steps_of(&top.slabs[group[0]])
            .into_iter()
            .map(|(n, offset)| format!("strip {} starts {} strip {n}", n + 1, lies(offset)))
            .collect();
        format!("Of {}, {}.", names(top, group), words::join(&of))
    };
    groups.iter().map(said).collect()
}
