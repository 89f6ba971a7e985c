//! Lumber, legs and rungs, assembly, and the base under its top.
//!
//! The sentences are the base's own; here they are parted into the steps of the shop, with settings, counts, minutes
//! and cautions.

use stripwright_splay::joint::JointPlan;
use stripwright_splay::{Base, Rung};

use crate::cautions::Care;
use crate::plan::Step;
use crate::wording::count;
use crate::words::join;
use crate::work::Work;

/// Cutting lumber to length.
pub(super) fn lumber(work: &Work<'_>) -> Option<Step> {
    let (plan, words, times) = (work.plan, work.words(), &work.job.shop.reckoning.times);
    if plan.sticks.is_empty() {
        return None;
    }
    let mut step = Step::new("lumber", "base", "", "Cut the lumber to length");
    step.say("Cut out knots and checked ends first where the lengths allow it, and mark each piece with its name at once.");
    let mut cuts = 0;
    for (n, stick) in (1..).zip(&plan.sticks) {
        let pieces: Vec<String> =
            stick.pieces.iter().map(|p| format!("{} ({})", words.length(*p.length), p.part)).collect();
        step.say(format!(
            "{} of {}, each from its left end: {}; {} is left.",
            count(stick.times, "stick", "sticks"),
            stick.lumber,
            join(&pieces),
            words.length(*stick.offcut)
        ));
        cuts += stick.times * stick.pieces.len() as u32;
        step.draw(format!("stick-{n}"));
    }
    step.set(words.set_length("Kerf reckoned with", *plan.cutting.crosscut_kerf));
    step.count("crosscuts", cuts);
    step.minutes = f64::from(cuts) * times.cut + plan.sticks.len() as f64 * times.setting;
    step.mind(&[Care::Kickback, Care::Dust]);
    Some(step)
}

/// Where the base's sentences about parts end, and those about screwing on begin.
fn parted(base: &Base) -> (usize, usize) {
    let on = usize::from(base.centring.is_some()) + usize::from(base.fixings.is_some());
    let fixing = base.steps.len().saturating_sub(on);
    (fixing.saturating_sub(usize::from(!base.rungs.is_empty())), fixing)
}

/// Legs and rungs, with their joints.
pub(super) fn parts(work: &Work<'_>, n: usize) -> Vec<Step> {
    let (base, words) = (&work.bases[n], work.words());
    let times = &work.job.shop.reckoning.times;
    let mut step = Step::new(format!("base-{}-parts", n + 1), "base", &base.name, "Cut the legs and rungs");
    step.text = base.steps[..parted(base).0].to_vec();
    let legs = &base.legs;
    step.set(words.set_angle("Legs, plane face down: saw turned", legs.plane_face_down.set_turn));
    step.set(words.set_angle("Legs, plane face down: blade tilted", legs.plane_face_down.set_tilt));
    step.set(words.set_length("Legs: blank", legs.blank));
    step.set(words.set_length("Legs: stop, along an arris", legs.length));
    let mut tilted = legs.plane_face_down.set_tilt.to_degrees() != 0.0;
    for rung in &base.rungs {
        let name = capital(&rung.name);
        step.set(words.set_angle(&format!("{name}, face down: saw turned"), rung.face_down.set_turn));
        step.set(words.set_angle(&format!("{name}, face down: blade tilted"), rung.face_down.set_tilt));
        step.set(words.set_length(&format!("{name}: blank"), rung.blank));
        step.set(words.set_length(&format!("{name}: stop, along the bottom edge"), rung.bottom_length));
        if bevelled(rung) {
            step.set(words.set_angle(&format!("{name}: edges, from square"), rung.set_edge_bevel));
        }
        tilted |= rung.face_down.set_tilt.to_degrees() != 0.0 || bevelled(rung);
    }
    let rungs = 2 * base.rungs.len() as u32;
    let edges: u32 = base.rungs.iter().filter(|r| bevelled(r)).map(|_| 4).sum();
    let cuts = base.count * (4 * 2 + rungs * 2 + edges);
    let holes = base.count * base.joints.iter().map(|j| 2 * bores(j)).sum::<u32>();
    step.count("legs", 4 * base.count);
    step.count("rungs", rungs * base.count);
    step.count("cuts at an angle", cuts);
    step.count("bores and mortises", holes);
    let settings = 2 + 2 * base.rungs.len();
    step.minutes = f64::from(cuts) * times.leg_cut
        + f64::from(holes) * times.bore
        + settings as f64 * times.setting
        + f64::from(base.count * (4 + rungs)) * times.mark;
    for view in &base.views {
        step.draw(format!("base-{}-{}", n + 1, view.name));
    }
    step.mind(&[Care::Kickback, Care::Dust]);
    if tilted {
        step.mind(&[Care::TiltedBlade]);
    }
    if said(base, "short parts") {
        step.mind(&[Care::SmallPieces]);
    }
    if said(base, "drilling") {
        step.mind(&[Care::Drilling]);
    }
    vec![step]
}

fn bevelled(rung: &Rung) -> bool {
    rung.set_edge_bevel.to_degrees() != 0.0
}

/// Whether the base itself has a caution for an operation.
fn said(base: &Base, operation: &str) -> bool {
    base.cautions.iter().any(|c| c.operation == operation)
}

/// Bores (or mortises) in the rungs of one pair; the legs have as many.
fn bores(joint: &JointPlan) -> u32 {
    match joint {
        JointPlan::Dowels(plan) => plan.total,
        JointPlan::Tenon(_) => 4,
    }
}

/// Dowels for one base.
pub(crate) fn dowels(base: &Base) -> u32 {
    base.joints.iter().map(|j| if let JointPlan::Dowels(plan) = j { plan.total } else { 0 }).sum()
}

/// Gluing up.
pub(super) fn assemble(work: &Work<'_>, n: usize) -> Option<Step> {
    let (base, times) = (&work.bases[n], &work.job.shop.reckoning.times);
    let (parts, fixing) = parted(base);
    if parts == fixing {
        return None;
    }
    let mut step = Step::new(format!("base-{}-assemble", n + 1), "base", &base.name, "Glue up the base");
    step.text = base.steps[parts..fixing].to_vec();
    step.count("bases", base.count);
    step.count("dowels", dowels(base) * base.count);
    step.minutes = f64::from(base.count) * times.assemble;
    step.wait = times.clamped * 2.0;
    for view in base.views.iter().filter(|v| ["front", "side", "plan"].contains(&v.name.as_str())) {
        step.draw(format!("base-{}-{}", n + 1, view.name));
    }
    Some(step)
}

/// Centring and screwing on.
pub(super) fn screw_on(work: &Work<'_>, n: usize) -> Option<Step> {
    let (base, words) = (&work.bases[n], work.words());
    let times = &work.job.shop.reckoning.times;
    let (_, fixing) = parted(base);
    let mut step =
        Step::new(format!("base-{}-fix", n + 1), "base", &base.name, "Centre the base and screw it on");
    step.text = base.steps[fixing..].to_vec();
    if let Some(centring) = &base.centring {
        step.set(words.set_length("Centre line to left and right", centring.left));
        step.set(words.set_length("Centre line to front and back", centring.front));
    }
    let mut screws = 0;
    if let Some(fixings) = &base.fixings {
        screws = fixings.count * base.count;
        step.set(words.set_length("Screws", fixings.length));
        step.set(words.set_length("Into the top", fixings.bite));
        step.say(
            "Set a depth stop for the pilot and try one screw in an offcut of the top before you trust the length; leave a slot \
             or a wide hole across the strips so that the top can move.",
        );
        step.count("screws", screws);
    }
    if step.text.is_empty() {
        return None;
    }
    step.say("Stand the finished piece on a flat floor and see that it does not rock.");
    step.count("bases", base.count);
    step.minutes = f64::from(screws) * times.screw + f64::from(base.count) * 4.0 * times.mark;
    for view in base.views.iter().filter(|v| v.name == "plan") {
        step.draw(format!("base-{}-{}", n + 1, view.name));
    }
    if said(base, "before anybody sits on it") {
        step.mind(&[Care::Sitting]);
    }
    Some(step)
}

fn capital(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
