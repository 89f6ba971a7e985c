//! Lumber, legs and rungs, assembly, and the base under its top.
//!
//! The sentences are the base's own; here they are parted into the steps of the shop, with settings, counts, minutes
//! and cautions.

use std::collections::BTreeMap;
use std::f64::consts::PI;

use stripwright_pattern::glue_grams;
use stripwright_splay::joint::JointPlan;
use stripwright_splay::{Base, Rung};
use stripwright_units::Length;

use crate::base::cuts;
use crate::cautions::Care;
use crate::plan::{self, Step};
use crate::words::{capital, decimals};
use crate::work::Work;

/// Cutting lumber to length.
pub(super) fn lumber(work: &Work<'_>) -> Option<Step> {
    let (plan, words, times) = (work.plan, work.words(), &work.job.shop.reckoning.times);
    if plan.sticks.is_empty() {
        return None;
    }
    let mut step = Step::new("lumber", "base", "", "Cut the lumber to length");
    step.say(
        "Cut out knots and checked ends first where the lengths allow it, and mark each piece with its name at once.",
    );
    if plan.sticks.iter().flat_map(|s| &s.pieces).any(|p| p.y.is_positive()) {
        step.say(
            "Square one edge of each board first: it runs along the fence. Each length is ripped from that edge on into its lanes, as \
             listed from the squared edge, and each lane is crosscut from its left end.",
        );
    }
    if let Some(boards) = &plan.boards {
        let bought = |name: &str| plan.buy.lumber.iter().any(|buy| buy.name == name);
        boards.yields.iter().filter(|y| bought(&y.lumber)).for_each(|y| step.say(y.sentence.clone()));
        boards.reckoned.iter().for_each(|said| step.say(said.clone()));
    }
    if work.bases.iter().flat_map(|base| &base.sticks).any(|stick| stick.length < stripwright_splay::SHORT) {
        step.say(
            "Sticks under about 300 mm (12 in) stay together, several in one length, until they are planed and bevelled.",
        );
    }
    cuts(&plan.sticks, words).into_iter().for_each(|cut| step.say(cut));
    let count: u32 = plan.sticks.iter().map(|stick| stick.times * stick.pieces.len() as u32).sum();
    step.draw("boards");
    if let Some(boards) = &plan.boards
        && boards.cubic_metres > 0.0
    {
        step.set(words.set(
            "Lumber in all",
            format!("{} board feet, {} m³", decimals(boards.board_feet, 1), decimals(boards.cubic_metres, 3)),
        ));
    }
    step.set(words.set_length("Kerf reckoned with", *plan.cutting.crosscut_kerf));
    step.count("crosscuts", count);
    step.minutes = f64::from(count) * times.cut + plan.sticks.len() as f64 * times.setting;
    step.mind(&[Care::Kickback, Care::Dust]);
    Some(step)
}

/// Sticks, legs, rungs with their joints, and sanding before anything is glued.
pub(super) fn parts(work: &Work<'_>, n: usize) -> Vec<Step> {
    [sticks(work, n), Some(legs(work, n)), rungs(work, n), sand(work, n)].into_iter().flatten().collect()
}

fn step(work: &Work<'_>, n: usize, what: &str, title: &str) -> Step {
    Step::new(format!("base-{}-{what}", n + 1), "base", &work.bases[n].name, title)
}

/// The views of a base that a step needs, by the beginnings of their names.
fn draw(base: &Base, n: usize, views: &[&str], step: &mut Step) {
    for view in base.views.iter().filter(|v| views.iter().any(|name| v.name.starts_with(name))) {
        step.draw(format!("base-{}-{}", n + 1, view.name));
    }
}

fn sticks(work: &Work<'_>, n: usize) -> Option<Step> {
    let (base, times) = (&work.bases[n], &work.job.shop.reckoning.times);
    if base.steps.sticks.is_empty() {
        return None;
    }
    let mut step = step(work, n, "sticks", "Saw and plane the sticks");
    step.text = base.steps.sticks.clone();
    step.say(
        "Square one face and one edge of each stick first, then plane the other two faces parallel to them.",
    );
    let count: u32 = base.sticks.iter().map(|s| s.count).sum();
    step.count("sticks", count);
    step.minutes =
        f64::from(count) * (2.0 * times.cut + 4.0 * times.pass) + base.sticks.len() as f64 * times.setting;
    step.mind(&[Care::Kickback, Care::SmallPieces, Care::Snipe, Care::Dust]);
    Some(step)
}

fn legs(work: &Work<'_>, n: usize) -> Step {
    let (base, words, times) = (&work.bases[n], work.words(), &work.job.shop.reckoning.times);
    let mut step = step(work, n, "legs", "Mark and cut the legs");
    step.text = base.steps.legs.clone();
    let legs = &base.legs;
    step.set(words.set_angle("Plane face down: saw turned", legs.plane_face_down.set_turn));
    step.set(words.set_angle("Plane face down: blade tilted", legs.plane_face_down.set_tilt));
    step.set(words.set_length("Blank", legs.blank));
    step.set(words.set_length("Stop, along an arris", legs.length));
    let count = 4 * base.count;
    step.count("legs", count);
    step.count("cuts at an angle", 2 * count);
    step.minutes = f64::from(count) * (2.0 * times.leg_cut + times.mark) + 2.0 * times.setting;
    draw(base, n, &["leg", "marking"], &mut step);
    step.mind(&[Care::Dust]);
    if legs.plane_face_down.set_tilt.to_degrees() != 0.0 {
        step.mind(&[Care::TiltedBlade]);
    }
    step
}

fn rungs(work: &Work<'_>, n: usize) -> Option<Step> {
    let (base, words, times) = (&work.bases[n], work.words(), &work.job.shop.reckoning.times);
    if base.rungs.is_empty() {
        return None;
    }
    let mut step = step(work, n, "rungs", "Cut the rungs and their joints");
    step.text = base.steps.rungs.clone();
    let mut tilted = false;
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
    let count = 2 * base.rungs.len() as u32 * base.count;
    let edges: u32 = base.rungs.iter().filter(|r| bevelled(r)).map(|_| 4 * base.count).sum();
    let cuts = 2 * count + edges;
    let holes = base.count * base.joints.iter().map(|j| 2 * bores(j)).sum::<u32>();
    step.count("rungs", count);
    step.count("cuts at an angle", cuts);
    step.count("bores and mortises", holes);
    step.minutes = f64::from(cuts) * times.leg_cut
        + f64::from(holes) * times.bore
        + f64::from(count) * times.mark
        + 2.0 * base.rungs.len() as f64 * times.setting;
    draw(base, n, &["rung", "bores"], &mut step);
    step.mind(&[Care::Dust]);
    if tilted {
        step.mind(&[Care::TiltedBlade]);
    }
    if said(base, "short parts") {
        step.mind(&[Care::SmallPieces]);
    }
    if said(base, "drilling") {
        step.mind(&[Care::Drilling]);
    }
    Some(step)
}

/// Square metres of one base's legs and rungs, their ends not counted.
pub(crate) fn surface(base: &Base) -> f64 {
    let round = |s: stripwright_splay::Section| 2.0 * (s.width + s.thickness).to_mm();
    let legs = 4.0 * round(base.leg_section) * base.legs.exact_length_mm;
    let rung = |r: &Rung| 2.0 * round(r.section) * (r.outer.top_mm + r.outer.bottom_mm) / 2.0;
    (legs + base.rungs.iter().map(rung).sum::<f64>()) / 1e6
}

fn sand(work: &Work<'_>, n: usize) -> Option<Step> {
    let (base, words) = (&work.bases[n], work.words());
    let (times, grits) = (&work.job.shop.reckoning.times, &work.job.shop.reckoning.grits);
    let (Some(last), true) = (grits.last(), surface(base) > 0.0) else { return None };
    let list: Vec<String> = grits.iter().map(u32::to_string).collect();
    let mut step = step(work, n, "sand", "Sand legs and rungs");
    step.say(format!(
        "Sand all parts with the grain before they are glued, up to P{last}; keep shoulders, ends and the places of the joints crisp, \
         and break the long edges a little.",
    ));
    step.set(words.set("Grits", format!("P{}", list.join(", "))));
    step.set(words.set("Area of one base", words.area(surface(base))));
    step.count("bases", base.count);
    step.minutes = surface(base) * f64::from(base.count) * grits.len() as f64 * times.sand;
    step.mind(&[Care::Dust]);
    Some(step)
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

/// Dowels for one base, by diameter and length.
pub(crate) fn dowels(base: &Base) -> BTreeMap<(Length, Length), u32> {
    let mut kinds = BTreeMap::new();
    for joint in &base.joints {
        if let JointPlan::Dowels(plan) = joint {
            *kinds.entry((plan.diameter, plan.length)).or_default() += plan.total;
        }
    }
    kinds
}

/// Square millimetres of glued joints in one base: along the grain (dowels in their holes, cheeks of tenons) and on the end
/// grain of the shoulders, which take their glue too.
fn glued(base: &Base) -> [f64; 2] {
    let mut areas = [0.0; 2];
    for (rung, joint) in base.rungs.iter().zip(&base.joints) {
        let ends = 4.0;
        let shoulder = rung.outer.shoulder_mm * rung.section.thickness.to_mm();
        let (along, hole) = match joint {
            JointPlan::Dowels(plan) => {
                let [d, l] = [plan.diameter, plan.length].map(Length::to_mm);
                let each = f64::from(plan.each_end);
                (each * PI * d * l, each * PI * d * d / 4.0)
            }
            JointPlan::Tenon(plan) => {
                let [l, t, b] = [plan.length, plan.thickness, plan.breadth].map(Length::to_mm);
                (2.0 * (t + b) * l, t * b)
            }
        };
        areas[0] += ends * along;
        areas[1] += ends * (shoulder - hole).max(0.0);
    }
    areas
}

/// Grams of glue for one base.
pub(crate) fn glue(work: &Work<'_>, base: &Base) -> f64 {
    let [along, end] = glued(base);
    let glue = &work.job.shop.pattern.glue;
    glue_grams(glue, along, false) + glue_grams(glue, end, true)
}

/// Gluing up.
pub(super) fn assemble(work: &Work<'_>, n: usize) -> Option<Step> {
    let (base, words, times) = (&work.bases[n], work.words(), &work.job.shop.reckoning.times);
    if base.steps.assembly.is_empty() {
        return None;
    }
    let mut step = step(work, n, "assemble", "Glue up the base");
    step.text = base.steps.assembly.clone();
    step.count("bases", base.count);
    for ((diameter, length), each) in dowels(base) {
        let what = format!("dowels of {} by {}", words.length(diameter), words.length(length));
        let count = each * base.count;
        // A kerf between dowel and dowel and one at the end.
        let rod = f64::from(count) * (length + *work.plan.cutting.crosscut_kerf).to_mm() / 1e3;
        step.say(format!(
            "Where no {what} are sold, saw them from dowel rod of {}: {count} take {} of it, kerfs included; chamfer their ends and cut a \
             groove along each for air and glue.",
            words.length(diameter),
            words.metres((rod * 10.0).ceil() / 10.0)
        ));
        step.count(&what, count);
    }
    if let Some((count, length)) = base.fixings.as_ref().and_then(|fixings| fixings.cleat_screws) {
        step.count(&format!("screws of {} for the cleats", words.length(length)), count * base.count);
    }
    step.set(words.set("Glue for one base", format!("{} g", decimals(glue(work, base).ceil(), 0))));
    step.minutes = f64::from(base.count) * times.assemble;
    step.wait = times.clamped * 2.0;
    draw(base, n, &["front", "side", "plan"], &mut step);
    Some(step)
}

/// Which way a top lies on its base, and what is left on it of its centre.
fn lies(top: &plan::Top) -> String {
    let bands = match top.pattern.kind.as_str() {
        "chevron" | "diamond" => ", so that the bands run from front to back",
        "herringbone" => ", so that the zigzag runs from front to back",
        _ => "",
    };
    let centre = match top.outline {
        plan::Outline::Round { .. } => "the pin's hole",
        _ => "where the lines cross that the template was laid to",
    };
    format!(
        "The side of {} that lies at the bottom in the drawing of its face comes to the front of the base{bands}; its centre is \
         {centre}.",
        top.name
    )
}

/// Centring and screwing on.
pub(super) fn screw_on(work: &Work<'_>, n: usize) -> Option<Step> {
    let (base, words) = (&work.bases[n], work.words());
    let times = &work.job.shop.reckoning.times;
    let mut step = step(work, n, "fix", "Centre the base and screw it on");
    let under = |top: &&plan::Top| work.job.bases.get(n).and_then(|b| b.top.as_ref()) == Some(&top.name);
    if base.centring.is_some()
        && let Some(top) = work.plan.tops.iter().find(under)
    {
        step.say(lies(top));
    }
    step.text.extend(base.steps.fixing.clone());
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
    draw(base, n, &["underside"], &mut step);
    if said(base, "before anybody sits on it") {
        step.mind(&[Care::Sitting]);
    }
    Some(step)
}
