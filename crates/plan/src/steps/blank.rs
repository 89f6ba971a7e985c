//! From bands to a planed blank with its outline cut.

use stripwright_pattern::{Operation, Outline, Way};
use stripwright_units::Length;

use super::slabs;
use crate::cautions::{Care, HEAVY};
use crate::plan::{self, Step};
use crate::wording::count;
use crate::words;
use crate::work::Work;

/// The second glue-up.
pub(super) fn glue_up(work: &Work<'_>, top: usize) -> Option<Step> {
    let (plan, say, shop) = (&work.plan.tops[top], work.words(), &work.job.shop);
    let stage = slabs::glue(plan, "pieces into blanks").filter(|g| g.joints > 0)?;
    let times = &shop.reckoning.times;
    let (one, many) = plan.piece();
    let mut step = Step::new(
        format!("top-{}-blank", top + 1),
        "blank",
        &plan.name,
        format!("Glue the {many} into {}", if plan.count == 1 { "the blank" } else { "blanks" }),
    );
    // T31: wet end grain soaks up glue.
    step.say(
        "Size the joints first: the cut edges are mostly end grain, so brush on a thin coat of glue, wait until it has gone \
         dull, then spread again.",
    );
    let joints = stage.joints.div_ceil(plan.count.max(1));
    let parts = parts(work, top);
    if parts.len() > 1 {
        let list: Vec<String> = parts.iter().map(|part| words::numbers(part)).collect();
        step.say(format!(
            "The blank is wider than the planer: glue it in {} parts, {many} {}, and leave the joints between the parts open until \
             both faces are planed.",
            parts.len(),
            list.join("; ")
        ));
    }
    let section = stage.section.max(1);
    let pieces = work.tops[top].face.elements.len() as u32;
    let at_once = parts.iter().map(|part| part.len() as u32).max().unwrap_or(pieces);
    if one == "wedge" {
        wedges(work, pieces, section, &parts, &mut step);
    } else if at_once > section && plan.pattern.block.is_some() {
        blocks(work, top, section, &mut step);
    } else if at_once > section {
        step.say(format!(
            "The open time allows {} at a time: start at the middle, glue up sections of that many, and join the sections when \
             they have set.",
            count(section, one, many)
        ));
        step.set(say.set(&format!("{many} in a section"), section.to_string()));
    } else if parts.len() > 1 {
        step.say("Glue each part in one go, from its middle outwards.");
    } else {
        step.say(format!("Glue all {} in one go, from the middle outwards.", count(pieces, one, many)));
    }
    step.say(
        "Bring the laminations to meet at every joint before the clamps bite, press the joints level under cauls, and pull the \
         clamps by turns so that nothing creeps.",
    );
    step.set(
        say.set(
            "Glue for one blank",
            format!("{:.0} g", (stage.grams / f64::from(plan.count.max(1))).ceil()),
        ),
    );
    step.set(say.set("Open time", format!("{} min", words::decimals(shop.pattern.glue.open_minutes, 1))));
    step.set(say.set_length("Clamps, at most apart", stage.clamp_spacing.floor_to(work.job.mark)));
    let [length, width] = plan.blank.map(|extent| extent.ceil_to(work.job.mark));
    step.set(say.set_length("Blank, from left to right", length));
    step.set(say.set_length("Blank, from bottom to top", width));
    step.count("blanks", plan.count);
    step.count("joints in each", joints);
    step.count("clamps at a time", stage.clamps());
    if plan.pattern.block.is_some() {
        step.say(format!(
            "Blocks meet end to end and side to side: press each glue-up both ways at once, with {} in all.",
            count(stage.clamps(), "clamp", "clamps")
        ));
    }
    if plan.pattern.kind == "diamond" {
        step.say(
            "The halves meet on the middle line: press them lengthwise as well, along the bands, so that this joint closes, too.",
        );
    }
    if stage.clamps_by_force > stage.clamps_by_spacing {
        step.say(format!(
            "The spacing alone would take {}; more are needed to press as the book has it: set them evenly.",
            stage.clamps_by_spacing
        ));
    }
    if work.tops[top].unrolled.beyond_clamps
        && let Some(reach) = shop.pattern.clamp.reach
    {
        step.say(format!(
            "The clamps span {}, less than the blank is wide across its joints: {}.",
            say.length(reach),
            crate::wording::WIDER_THAN_CLAMPS
        ));
    }
    // Joining the parts, once they are planed, is a step of its own.
    let later = (parts.len() as u32).saturating_sub(1) * plan.count;
    let ups = f64::from(stage.glue_ups.saturating_sub(if later > 0 { plan.count } else { 0 }));
    step.minutes = f64::from(stage.joints.saturating_sub(later)) * times.joint
        + ups * f64::from(stage.clamps()) * times.clamp;
    step.wait = times.clamped * ups;
    step.draw(format!("top-{}-blank", top + 1));
    Some(step)
}

/// In which sections blocks are glued, by their numbers.
fn blocks(work: &Work<'_>, top: usize, section: u32, step: &mut Step) {
    let stages = &work.tops[top].unrolled.glue;
    let Some(stage) = stages.iter().find(|stage| stage.name == "pieces into blanks") else { return };
    let number = |section: &Vec<usize>| section.iter().map(|&n| n as u32 + 1).collect::<Vec<u32>>();
    let list: Vec<String> = stage.sections.iter().map(|s| words::numbers(&number(s))).collect();
    let rows = if work.plan.tops[top].pattern.kind == "herringbone" { "zigzags" } else { "courses" };
    let largest = stage.sections.iter().map(Vec::len).max().unwrap_or(0);
    step.say(format!(
        "The open time allows {} at a time: glue up whole {rows} (or runs of one that is longer), which slide together, as sections, \
         and join the sections when they have set. The sections are blocks {}.",
        count(section, "block", "blocks"),
        list.join("; ")
    ));
    step.set(work.words().set("blocks in a section", largest.to_string()));
}

/// In which sections wedges are glued, and how they are pressed.
///
/// An even number falls into halves with a straight joint between them, which can be trued before the halves are joined; no
/// other sections of a round close as surely.
fn wedges(work: &Work<'_>, wedges: u32, section: u32, parts: &[Vec<u32>], step: &mut Step) {
    let groups = match parts {
        [] if wedges > section && wedges.is_multiple_of(2) => {
            vec![(1..=wedges / 2).collect(), (wedges / 2 + 1..=wedges).collect()]
        }
        [] => vec![(1..=wedges).collect()],
        parts => parts.to_vec(),
    };
    let runs: Vec<&[u32]> = groups.iter().flat_map(|group| evenly(group, section)).collect();
    let list: Vec<String> = runs.iter().map(|run| words::numbers(run)).collect();
    let list = list.join("; ");
    if wedges > section {
        let largest = runs.iter().map(|run| run.len()).max().unwrap_or(0);
        step.say(format!("The open time allows {} at a time.", count(section, "wedge", "wedges")));
        step.set(work.words().set("wedges in a section", largest.to_string()));
    }
    step.say(match (groups.len() > 1, runs.len() > groups.len()) {
        (true, false) => format!("Glue up two halves, wedges {list}."),
        (true, true) => {
            format!("Glue up sections, wedges {list}, and join them to two halves when they have set.")
        }
        (false, true) => format!(
            "An odd number of wedges has no halves: glue up sections, wedges {list}, fit them dry, and join them when they have set.",
        ),
        (false, false) => format!("Glue all {} in one go, round the pin.", count(wedges, "wedge", "wedges")),
    });
    if groups.len() > 1 {
        step.say(if parts.is_empty() {
            "When the halves have set, true the straight edge of each until the two close without light, then glue half to half."
        } else {
            "True the straight edges of the halves to each other before they are joined, which is when both are planed."
        });
    }
    step.say(
        "Clamps slip on the slanting sides of wedges: pull them together with a band clamp or straps round the rim, or set the clamps \
         on waxed cauls with notches cut to the wedges.",
    );
}

/// Runs of at most so many, as even as may be, the larger ones first.
fn evenly(group: &[u32], section: u32) -> Vec<&[u32]> {
    let many = group.len().div_ceil(section.max(1) as usize).max(1);
    let mut rest = group;
    let mut runs = Vec::new();
    for n in 0..many {
        let (run, after) = rest.split_at(group.len() / many + usize::from(n < group.len() % many));
        runs.push(run);
        rest = after;
    }
    runs
}

/// The pieces of each part of a blank that is planed in parts, by their numbers; none where it stays in one.
fn parts(work: &Work<'_>, top: usize) -> Vec<Vec<u32>> {
    let groups = work.tops[top].unrolled.route.operations.iter().find_map(|operation| match operation {
        Operation::PlaneBlanks { groups, .. } => Some(groups),
        _ => None,
    });
    let numbers = |group: &Vec<usize>| group.iter().map(|&element| element as u32 + 1).collect();
    groups.map_or_else(Vec::new, |groups| groups.iter().map(numbers).collect())
}

/// Joining the planed parts of a blank that is wider than the planer.
pub(super) fn join(work: &Work<'_>, top: usize) -> Option<Step> {
    let (plan, say, shop) = (&work.plan.tops[top], work.words(), &work.job.shop);
    let joints = (parts(work, top).len() as u32).saturating_sub(1);
    if joints == 0 {
        return None;
    }
    let stage = slabs::glue(plan, "pieces into blanks")?;
    let mut step = Step::new(
        format!("top-{}-join-blank", top + 1),
        "blank",
        &plan.name,
        "Join the planed parts of the blank",
    );
    step.say(
        "Size and glue the joints that were left open, laminations meeting all the way, the parts level on the face side under \
         cauls.",
    );
    step.say("After this no planer takes the blank: scrape the joint and level what is left with a plane or in sanding.");
    step.set(say.set_length("Clamps, at most apart", stage.clamp_spacing.floor_to(work.job.mark)));
    step.count("joints in each", joints);
    step.count("blanks", plan.count);
    step.count("clamps at a time", stage.clamps());
    let times = &shop.reckoning.times;
    step.minutes = f64::from(plan.count * joints) * (times.joint + f64::from(stage.clamps()) * times.clamp);
    step.wait = times.cure;
    step.draw(format!("top-{}-blank", top + 1));
    Some(step)
}

/// The second planing, or what there is instead of it.
pub(super) fn plane(work: &Work<'_>, top: usize) -> Option<Step> {
    let plan = &work.plan.tops[top];
    let stage = slabs::planing(plan, "blanks")?;
    let mut step =
        Step::new(format!("top-{}-plane-blank", top + 1), "blank", &plan.name, "Scrape and plane the blank");
    step.say("Let the glue cure until the next day, then scrape every bead of it off both faces.");
    let blank = work.tops[top].unrolled.blank;
    step.minutes = 2.0 * blank.across.to_mm() * blank.along.to_mm() / 1e6
        * f64::from(plan.count)
        * work.job.shop.reckoning.times.scrape;
    if stage.passes > 0 {
        slabs::passes(work, stage, &mut step);
    } else {
        step.set(work.words().set_length("From", *stage.from));
        step.set(work.words().set_length("To", *stage.to));
        let each = match work.tops[top].unrolled.ways.first() {
            Some(Way::Sled { minutes, .. }) => *minutes,
            Some(Way::DrumSander { passes }) => f64::from(*passes) * work.job.shop.reckoning.times.pass,
            _ => 0.0,
        };
        step.minutes += each * f64::from(plan.count);
        step.mind(&[Care::Router]);
    }
    for way in &plan.flatten {
        step.say(way.clone());
    }
    let along = if plan.pattern.kind == "chevron" {
        "Feed along the joints, never across them, turn"
    } else {
        "Turn"
    };
    step.say(format!(
        "First mark on the blank's edge, where no planer reaches, which face is up, which end is the upper one in the drawing{}: \
         the centre is found by that once the numbers are planed away.",
        match plan.piece() {
            _ if plan.bands < 2 => " and which is strip 1".to_string(),
            (one, _) => format!(" and where {one} 1 lies"),
        }
    ));
    step.say(format!("{along} the blank over after each pass."));
    step.draw(format!("top-{}-blank", top + 1));
    step.mind(&[Care::GlueLines, Care::Snipe, Care::EndGrain, Care::Dust]);
    if plan.mass.is_some_and(|grams| grams / 1e3 >= HEAVY) {
        step.mind(&[Care::Lifting]);
    }
    Some(step)
}

/// Centring and cutting the outline.
pub(super) fn outline(work: &Work<'_>, top: usize) -> Option<Step> {
    let (plan, from, say) = (work.plan.tops.get(top)?, &work.job.tops[top], work.words());
    let (router, times) = (&work.job.shop.reckoning.router, &work.job.shop.reckoning.times);
    let mut step = Step::new(
        format!("top-{}-outline", top + 1),
        "outline",
        &plan.name,
        "Find the centre and cut the outline",
    );
    centre(work, top, &mut step);
    step.say(format!(
        "Draw the outline round it and see that at least {} of the blank shows outside it everywhere.",
        say.length(*plan.margin)
    ));
    step.say(format!(
        "Saw round the outline {} outside it; that much is left for the router's last pass.",
        say.length(router.leave)
    ));
    let thickness = slabs::planing(plan, "blanks").map_or(*plan.finished, |p| *p.to);
    let passes = passes(thickness, router.pass);
    step.set(say.set_length("Bit", router.bit));
    step.set(say.set_length("Depth of a pass", router.pass));
    step.set(say.set_length("Left by the rough saw", router.leave));
    step.count("passes of depth", passes);
    step.count("tops", plan.count);
    match &from.outline {
        Outline::Round { diameter } => round_a_pin(work, top, *diameter, &mut step),
        _ => round_a_template(work, plan, &mut step),
    }
    step.say(format!(
        "Rout through {} in {}, none deeper than {}, into a spoil board. For the last pass the bit must stand out of the router's \
         base by that thickness, by what lies between base and work ({}), and by what it marks of the spoil board.",
        say.length(thickness),
        count(passes, "pass", "passes"),
        say.length(router.pass),
        if matches!(from.outline, Outline::Round { .. }) { "the trammel" } else { "the template" }
    ));
    let round = from.outline.perimeter() / 1e3;
    step.minutes =
        f64::from(plan.count) * (round * times.outline * (f64::from(passes) + 1.0) + 2.0 * times.setting);
    step.draw(format!("top-{}-outline", top + 1));
    step.mind(&[Care::Router, Care::Dust]);
    if plan.mass.is_some_and(|grams| grams / 1e3 >= HEAVY) {
        step.mind(&[Care::Lifting]);
    }
    Some(step)
}

/// A round outline: the router turns about a pin in the centre.
fn round_a_pin(work: &Work<'_>, top: usize, diameter: Length, step: &mut Step) {
    let (finished, say) = (work.plan.tops[top].finished, work.words());
    let pin = Pin::of(diameter, work.job.shop.reckoning.router.bit, near_edge(work, top));
    step.set(say.set_length("Pin to the near edge of the bit", pin.near));
    step.set(say.set_length("Pin to the middle of the bit", pin.middle));
    step.set(say.set_length("Pin to the far edge of the bit", pin.far));
    step.say(format!(
        "Bore the hole for the trammel's pin into the centre from the underside, of the pin's own diameter and no deeper than \
         {}, half of the thickness, so that it stays clear of the face. The kerf lies outside the finished round: the near edge \
         of the bit runs {} from the pin, which is the finished radius, and its middle {}.",
        say.length(Length::from_nm(finished.nm() / 2).floor_to(work.job.mark)),
        say.length(pin.near),
        say.length(pin.middle)
    ));
    step.say(format!(
        "Prove the setting with a shallow pass across scrap: the disc it leaves must measure {} across.",
        say.length(diameter)
    ));
}

/// Any other outline: the router follows a template of it.
fn round_a_template(work: &Work<'_>, plan: &plan::Top, step: &mut Step) {
    let say = work.words();
    step.say(format!(
        "Make a template of the finished outline, with both centre lines on it: {}.",
        say.outline(&plan.outline)
    ));
    if let plan::Outline::Rectangle { radius, .. } = &plan.outline
        && radius.is_positive()
    {
        step.set(say.set_length("Radius of the corners", **radius));
    }
    if matches!(plan.outline, plan::Outline::Points { .. }) {
        step.say(corners(work, &plan.face.outline));
    }
    // In the first pass the bearing, which sits on the shank, hangs above the work by what of the cutter is not in it.
    step.say(format!(
        "The template must be thicker than the bit's cutting length less {}: the bearing sits on the shank above the cutter, \
         and in the first pass it hangs so far above the work. A short cutter with a shank no thicker than itself takes a thin \
         template; in the later passes its bearing runs on the edge that is already cut.",
        say.length(work.job.shop.reckoning.router.pass)
    ));
    step.say(
        "Lay the template on the underside, its centre lines on those of the blank, hold it with tape or with screws into what \
         falls away, and follow it with a bearing of the bit's own diameter: the bearing runs on the finished line, the kerf \
         lies outside it. No pin's hole is needed: draw the centre lines again on the top once the template is off.",
    );
}

/// Finding the pin, and the centre lines through it.
fn centre(work: &Work<'_>, top: usize, step: &mut Step) {
    let (plan, say) = (&work.plan.tops[top], work.words());
    let Some(pin) = &plan.pin else {
        step.say("Find the centre on the underside: it lies where the drawing shows the pin.");
        return;
    };
    if pin.mirrored {
        step.say(
            "The drawings show the face. Turn the blank over from left to right, so that its upper end stays up: what they show \
             on the left lies on the right now.",
        );
    }
    let measures: Vec<String> = pin
        .measures
        .iter()
        .map(|m| format!("{} {}", say.about(m.length.to_mm(), work.job.mark), m.way))
        .collect();
    step.say(match &measures[..] {
        [] => format!("Find the centre on the underside: it lies {}.", pin.lies),
        all => format!("Find the centre on the underside: it lies {}, {}.", pin.lies, words::join(all)),
    });
    if plan.pattern.kind == "chevron" && pin.measures.iter().all(|m| m.line[0][1] == m.line[1][1]) {
        step.say(
            "Blanks of this top differ in length there: lay a template of the outline on, along that joint, so that the blank \
             shows as far beyond it at either end.",
        );
    }
    step.say(lines(plan));
}

/// How the centre lines lie to what can be seen of the pattern.
fn lines(plan: &plan::Top) -> String {
    let (what, to) = match plan.pattern.kind.as_str() {
        "chevron" => ("along the joints of the bands", "the bands"),
        "diamond" => ("along the middle line", "the middle line"),
        "sunburst" => ("along the joint below wedge 1", "that joint"),
        "straight" => ("along the strips", "the strips"),
        _ => ("along the courses", "the courses"),
    };
    // A pattern that can be turned lies at its angle to the outline's length.
    let turned = match plan.pattern.kind.as_str() {
        "chevron" | "diamond" | "sunburst" => 0.0,
        "herringbone" => 45.0,
        _ => plan.pattern.angle.unwrap_or(0.0).rem_euclid(180.0),
    };
    let drawn = "Draw both centre lines through it, out to the edges of the blank";
    if plan.pattern.kind == "herringbone" {
        return format!("{drawn}: at 45° to the sides of the blocks, one up the zigzag and one across it.");
    }
    if turned.rem_euclid(90.0) < 1e-9 {
        return format!("{drawn}: one {what}, the other square to it.");
    }
    let (rise, seen) = if turned < 90.0 { ("right", "left") } else { ("left", "right") };
    format!(
        "{drawn}: the one from left to right at {}° to {to}, which rise to the {rise} seen from the face and to the {seen} seen \
         from the underside; the other square to it.",
        words::decimals(turned.min(180.0 - turned), 2)
    )
}

/// Where the corners of a free outline lie, from the pin: to the right and up, seen from the face.
fn corners(work: &Work<'_>, corners: &[[f64; 2]]) -> String {
    let say = work.words();
    let list: Vec<String> =
        corners.iter().map(|[x, y]| format!("{} and {}", say.mm(*x), say.mm(*y))).collect();
    format!(
        "Seen from the face its corners lie, to the right of the pin and above it (with a minus: to the left and below), at {}.",
        list.join("; ")
    )
}

/// How many passes no deeper than `pass` go through `thickness`.
fn passes(thickness: Length, pass: Length) -> u32 {
    u32::try_from((thickness.nm() + pass.nm() - 1) / pass.nm().max(1)).unwrap_or(u32::MAX)
}

/// The finished radius: what the route says, else half the diameter.
fn near_edge(work: &Work<'_>, top: usize) -> Option<Length> {
    work.tops[top].unrolled.route.operations.iter().find_map(|operation| match operation {
        Operation::CutOutline { pin_radius, .. } => *pin_radius,
        _ => None,
    })
}

/// Distances from the pin of a trammel that leaves a disc of the finished diameter: the kerf lies outside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Pin {
    near: Length,
    middle: Length,
    far: Length,
}

impl Pin {
    fn of(diameter: Length, bit: Length, near: Option<Length>) -> Pin {
        let near = near.unwrap_or(Length::from_nm(diameter.nm() / 2));
        Pin { near, middle: near + Length::from_nm(bit.nm() / 2), far: near + bit }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pin_stands_half_a_bit_further_than_the_radius_from_the_bits_middle() {
        let pin = Pin::of(Length::from_mm(600), Length::from_mm(6), None);
        assert_eq!(
            pin,
            Pin { near: Length::from_mm(300), middle: Length::from_mm(303), far: Length::from_mm(306) }
        );
        // The disc left inside the near edge has the finished size; a quarter inch bit in an inch shop as well.
        let pin = Pin::of(Length::INCH * 24, Length::from_nm(6_350_000), None);
        assert_eq!(
            (pin.near + pin.near, pin.middle.inch_digits()),
            (Length::INCH * 24, "12 1/8".to_string())
        );
    }

    #[test]
    fn passes_go_through_and_none_is_too_deep() {
        for (thickness, pass, count) in
            [(32_400, 3_000, 11), (33_000, 3_000, 11), (33_001, 3_000, 12), (2_000, 3_000, 1)]
        {
            assert_eq!(passes(Length::from_um(thickness), Length::from_um(pass)), count);
        }
    }
}
