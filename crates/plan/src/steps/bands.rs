//! From slabs to bands (or blocks, or wedges), laid out in their places.

use stripwright_pattern::{Element, Operation, Point, Route};
use stripwright_units::{Angle, Length};

use super::{halves, slabs};
use crate::cautions::Care;
use crate::plan::{Slab, Step, Top};
use crate::wedge::Wedge;
use crate::wording::count;
use crate::words::numbers;
use crate::work::Work;

/// Degrees from square beyond which few saws turn: a rule of thumb, no source.
const FAR: f64 = 50.0;

/// One step for all slabs that are laid up and cut alike: the reference cut, then the bands.
pub(super) fn cut(work: &Work<'_>, top: usize) -> Vec<Step> {
    let plan = &work.plan.tops[top];
    let cuttings = cuttings(work, top);
    slabs::alike(plan, |slab| (&slab.layers, slab.bands.len() as u32 + slab.spare))
        .into_iter()
        .filter_map(|group| {
            let cutting = (*cuttings.get(group[0])?)?;
            Some(cut_one(work, top, &group, cutting))
        })
        .collect()
}

/// How the pieces of one make are cut, from the route.
#[derive(Clone, Copy)]
struct Cutting {
    angle: Angle,
    from_square: Angle,
    width: Option<Length>,
    cuts: u32,
    /// Half bands are cut square at one end besides.
    halved: bool,
}

/// The route's cut for each of a top's slabs, in the plan's order: slabs of one make that become the same bands are one
/// entry there.
fn cuttings(work: &Work<'_>, top: usize) -> Vec<Option<Cutting>> {
    let unrolled = work.tops[top].unrolled;
    let mut seen: Vec<(usize, Vec<Option<usize>>)> = Vec::new();
    for slab in &unrolled.slabs {
        let entry = (slab.make, slab.pieces.iter().map(|p| p.map(|(_, element)| element)).collect());
        if !seen.contains(&entry) {
            seen.push(entry);
        }
    }
    seen.into_iter().map(|(make, _)| cutting_of(&unrolled.route, make)).collect()
}

fn cutting_of(route: &Route, wanted: usize) -> Option<Cutting> {
    let halved = route.operations.iter().any(|o| matches!(o, Operation::TrimSquare { .. }));
    route.operations.iter().find_map(|operation| match operation {
        Operation::CutOff { make, angle, from_square, width, cuts, .. } if *make == wanted => {
            Some(Cutting { angle: *angle, from_square: *from_square, width: *width, cuts: *cuts, halved })
        }
        _ => None,
    })
}

/// The longest cut of the bias saw on a top's slabs, in millimetres: the slab's breadth over the sine of the angle.
pub(crate) fn longest_cut(work: &Work<'_>, top: usize) -> Option<f64> {
    let slabs = work.plan.tops[top].slabs.iter().zip(cuttings(work, top));
    slabs.filter_map(|(slab, cutting)| Some(slab.breadth.to_mm() / cutting?.angle.sin())).reduce(f64::max)
}

/// Metres that the bias saw cuts for all of a top's slabs.
pub(crate) fn metres(work: &Work<'_>, top: usize) -> f64 {
    let slabs = work.plan.tops[top].slabs.iter().zip(cuttings(work, top));
    slabs
        .filter_map(|(slab, cutting)| {
            let cutting = cutting?;
            Some(f64::from(slab.times * cutting.cuts) * slab.breadth.to_mm() / cutting.angle.sin() / 1e3)
        })
        .sum()
}

fn cut_one(work: &Work<'_>, top: usize, group: &[usize], cutting: Cutting) -> Step {
    let (plan, words, shop) = (&work.plan.tops[top], work.words(), &work.job.shop);
    let times = &shop.reckoning.times;
    let (one, many) = plan.piece();
    let slab = &plan.slabs[group[0]];
    let each = slab.bands.len() as u32 + slab.spare;
    let slabs = slabs::times_of(plan, group);
    let title = format!("Cut the {many} from {}", slabs::names(plan, group));
    let mut step = Step::new(format!("top-{}-bands-{}", top + 1, group[0] + 1), "bands", &plan.name, title);
    let square = cutting.from_square.to_degrees().abs() < 1e-9;
    step.set(words.set_angle("Saw, from square to the strips", cutting.from_square));
    step.set(words.set_angle("Between strips and cut", cutting.angle));
    step.set(words.set_length("Kerf reckoned with", shop.pattern.bias_kerf));
    if square {
        step.say("Set the saw square to the strips and prove it in scrap with a try square.");
    } else {
        step.say(format!(
            "Turn the saw {} from square, so that the cut meets the strips at {}; prove the angle in scrap: two offcuts laid \
             mirrored must close to twice the angle.",
            shown(cutting.from_square),
            shown(cutting.angle)
        ));
        if cutting.from_square.to_degrees() > FAR {
            step.say(format!(
                "Few saws turn as far as that: lay the slab on a sled or a tapering jig that holds its strips at {} to the blade.",
                shown(cutting.angle)
            ));
        }
    }
    let wedges = slab.wedges();
    let along = wedges.first().filter(|wedge| wedge.along);
    if let Some(wedge) = along {
        marked_out(work, slab, wedge, cutting, &mut step);
    } else {
        step.say(
            "Make the reference cut first, at the left end and within its allowance: every strip that reaches the first piece \
             must be cut clean through.",
        );
        head_to_tail(work, slab, &wedges, &mut step);
    }
    match cutting.width {
        Some(width) => {
            step.set(words.set_length(&format!("Stop, width of a {one}"), width));
            step.say(format!(
                "Then set the stop to {}, measured square to the cut, butt each fresh edge against it, and cut {} without \
                 touching the setting.",
                words.length(width),
                count(each, one, many)
            ));
        }
        None => step.say(format!(
            "Turn the slab over after each cut, so that each {one} is cut on both sides from the same setting, and fit the \
             first two before you cut the rest."
        )),
    }
    for &n in group {
        let slab = &plan.slabs[n];
        let list = named(one, many, &slab.bands, slab.spare);
        step.say(if group.len() > 1 {
            format!("Slab {} gives, in the order of cutting, {list}.", n + 1)
        } else {
            format!("In the order of cutting it gives {list}.")
        });
    }
    if group.iter().any(|&n| plan.slabs[n].spare > 0) {
        step.say("Mark a spare with S and keep it until the blank is planed.");
    }
    if cutting.halved {
        step.say(
            "Then cut each band square to its long edge at the end that comes to lie on the middle line, as the drawing has it \
             (dashed). The laminations set the place, so mark it before the band is turned or slid:",
        );
        let slabs = group.iter().map(|&n| &plan.slabs[n]);
        halves::cuts(work, slabs).into_iter().for_each(|said| step.say(said));
    }
    step.say(marking(one, group.iter().map(|&n| &plan.slabs[n])));
    let pieces = slabs * each;
    step.count(&format!("{many} in all"), pieces);
    step.count("cuts in each slab", cutting.cuts);
    step.minutes = f64::from(slabs * cutting.cuts) * times.bias_cut
        + f64::from(pieces) * times.mark
        + 2.0 * times.setting;
    step.draw(format!("top-{}-bands-{}", top + 1, group[0] + 1));
    if !square {
        step.mind(&[Care::BiasCut]);
    }
    step.mind(&[Care::SmallPieces, Care::Dust]);
    step
}

/// Where a wedge's sides run in a slab that it opens along.
fn marked_out(work: &Work<'_>, slab: &Slab, wedge: &Wedge, cutting: Cutting, step: &mut Step) {
    let (words, mark) = (work.words(), work.job.mark);
    step.say(format!(
        "The point of each wedge lies {}, {}.",
        point_across(work, slab, wedge),
        from_the_end(work, slab, wedge)
    ));
    step.say(format!(
        "Draw both sides from there towards the right, at {} to the strips: {} to the right of the point they lie {} apart, \
         measured square to the strips.",
        shown(cutting.angle),
        words.about(wedge.wide[0][0] - wedge.point[0], mark),
        words.about(wedge.breadth(), mark)
    ));
    step.say(
        "Saw along both lines with the kerf outside the wedge, clean through every strip that reaches them.",
    );
}

/// Where wedges lie head to tail in a slab that they open across.
fn head_to_tail(work: &Work<'_>, slab: &Slab, wedges: &[Wedge], step: &mut Step) {
    let (words, mark) = (work.words(), work.job.mark);
    let Some(first) = wedges.first() else { return };
    step.say(format!(
        "It is a side of the first wedge, whose point lies {}, {}; at the other face of the slab that wedge is {} broad.",
        point_across(work, slab, first),
        from_the_end(work, slab, first),
        words.about(first.breadth(), mark)
    ));
    if let Some(second) = wedges.get(1) {
        let broad_end = first.wide.iter().map(|p| p[0]).fold(f64::NEG_INFINITY, f64::max);
        step.say(format!(
            "The next wedge lies head to tail beside it, its point {} on from that broad end, which is the kerf, and so on by \
             turns: from point to point it is {} along the strips.",
            words.length(Length::nearest_mm(second.point[0] - broad_end)),
            words.about(second.point[0] - first.point[0], mark)
        ));
    }
}

/// Across the strips, where the point of a wedge lies: `on the glue line between strips 7 and 8`.
fn point_across(work: &Work<'_>, slab: &Slab, wedge: &Wedge) -> String {
    let (number, last) = (wedge.strip + 1, slab.layers.len());
    let beyond = wedge.within - slab.layers[wedge.strip].pitch.to_mm();
    let about = |mm: f64| work.words().about(mm, work.job.mark);
    if wedge.on_face() && wedge.strip > 0 {
        format!("on the glue line between strips {} and {number}", wedge.strip)
    } else if wedge.on_face() || (number == last && beyond.abs() < 0.01) {
        format!("on the outer face of strip {number}")
    } else if wedge.within < 0.0 {
        format!("{} outside the outer face of strip {number}", about(-wedge.within))
    } else if beyond > 0.0 {
        format!("{} outside the outer face of strip {number}", about(beyond))
    } else if wedge.strip > 0 {
        format!("in strip {number}, {} from the glue line to strip {}", about(wedge.within), wedge.strip)
    } else {
        format!("in strip 1, {} from its outer face", about(wedge.within))
    }
}

/// Along the strips, where the point of a wedge lies.
fn from_the_end(work: &Work<'_>, slab: &Slab, wedge: &Wedge) -> String {
    let level = |n: usize| (slab.layers[n].start - wedge.end).abs() < 0.01;
    let ends = if wedge.on_face() && wedge.strip > 0 && level(wedge.strip - 1) {
        "their left ends".to_string()
    } else {
        format!("the left end of strip {}", wedge.strip + 1)
    };
    format!("{} from {ends}", work.words().about(wedge.point[0] - wedge.end, work.job.mark))
}

/// What is written on each piece before it leaves the saw.
fn marking<'s>(one: &str, slabs: impl Iterator<Item = &'s Slab>) -> String {
    if one != "band" {
        return format!("Number each {one} before it leaves the saw.");
    }
    let mut turned: Vec<u32> =
        slabs.flat_map(|slab| &slab.pieces).filter(|p| p.turned).filter_map(|p| p.band).collect();
    turned.sort_unstable();
    turned.dedup();
    match turned[..] {
        [] => "Number each band and draw its arrow before it leaves the saw.".to_string(),
        [alone] => format!(
            "Number each band and draw its arrow before it leaves the saw; draw a ring round the number {alone}: that band is \
             turned over later."
        ),
        _ => format!(
            "Number each band and draw its arrow before it leaves the saw; draw a ring round the numbers {}: those bands are \
             turned over later.",
            numbers(&turned)
        ),
    }
}

/// Degrees to a hundredth.
fn shown(angle: Angle) -> String {
    format!("{}°", crate::words::decimals(angle.to_degrees(), 2))
}

/// "bands 1, 2 and 3" in cutting order; runs that go up are drawn together.
fn named(one: &str, many: &str, bands: &[u32], spare: u32) -> String {
    let up = bands.windows(2).all(|w| w[0] < w[1]);
    let list = if up {
        numbers(bands)
    } else {
        crate::words::join(&bands.iter().map(u32::to_string).collect::<Vec<_>>())
    };
    let what = if bands.len() == 1 { one } else { many };
    match (bands.len(), spare) {
        (0, n) => count(n, "spare", "spares"),
        (_, 0) => format!("{what} {list}"),
        (_, n) => format!("{what} {list}, and {}", count(n, "spare", "spares")),
    }
}

/// Where the pieces of one top lie, in sentences: bands side by side, wedges round the pin, blocks as they are drawn.
fn places(plan: &Top, elements: &[Element]) -> Vec<String> {
    let (_, many) = plan.piece();
    match plan.piece().0 {
        "wedge" => vec![
            "Lay the wedges of one top round the pin in the order of their numbers, anticlockwise, all points on the pin: wedge 1 \
             lies on the line that runs from the pin to the right, and above it."
                .to_string(),
        ],
        "block" => {
            let mut said = vec![
                "Lay each block of one top where the drawing of the blank has its number; their numbers do not run from the left."
                    .to_string(),
            ];
            said.extend(directions(elements));
            said
        }
        _ if plan.pattern.kind == "diamond" => {
            let half = elements.len() / 2;
            vec![format!(
                "Lay the {many} of one top from the left in the order of their numbers, arrows up: 1 to {half} above the middle \
                 line, {} to {} below it.",
                half + 1,
                elements.len()
            )]
        }
        _ => vec![format!("Lay the {many} of one top in the order of their numbers, 1 at the left, arrows up.")],
    }
}

/// Which way the strips of blocks run, where not all run one way.
fn directions(elements: &[Element]) -> Option<String> {
    let mut ways: Vec<(&str, Vec<u32>)> = Vec::new();
    for (n, element) in (1u32..).zip(elements) {
        let way = direction(element.motion.along);
        match ways.iter_mut().find(|(known, _)| *known == way) {
            Some((_, blocks)) => blocks.push(n),
            None => ways.push((way, vec![n])),
        }
    }
    // The shorter list is the one to read.
    ways.sort_by_key(|(_, blocks)| blocks.len());
    let [(one, some), (other, _)] = &ways[..] else { return None };
    let all = elements.len() - some.len();
    Some(format!(
        "The strips of {} {} run from {one}; those of the other {}, at a right angle to them, from {other}.",
        if some.len() == 1 { "block" } else { "blocks" },
        numbers(some),
        count(all as u64, "block", "blocks")
    ))
}

/// A direction as it is seen in the drawing of the face, whichever way it is followed.
fn direction(along: Point) -> &'static str {
    // Far finer than any turn that a job can give.
    const STRAIGHT: f64 = 1e-9;
    if along.y.abs() < STRAIGHT {
        "left to right"
    } else if along.x.abs() < STRAIGHT {
        "bottom to top"
    } else if (along.x > 0.0) == (along.y > 0.0) {
        "lower left to upper right"
    } else {
        "lower right to upper left"
    }
}

/// Turning over, sliding, and a look at the whole before any glue.
pub(super) fn lay_out(work: &Work<'_>, top: usize) -> Option<Step> {
    let (plan, own, words) = (&work.plan.tops[top], &work.tops[top], work.words());
    let times = &work.job.shop.reckoning.times;
    let elements = &own.face.elements;
    if elements.len() < 2 {
        return None;
    }
    let (one, many) = plan.piece();
    let mut step =
        Step::new(format!("top-{}-lay-out", top + 1), "bands", &plan.name, format!("Lay out the {many} dry"));
    let turned: Vec<u32> = (1u32..).zip(elements).filter(|(_, e)| e.turned).map(|(n, _)| n).collect();
    for sentence in places(plan, elements) {
        step.say(sentence);
    }
    if turned.is_empty() {
        step.say("None is turned over.");
    } else {
        step.say(match turned[..] {
            [alone] => format!(
                "Turn over {one} {alone}, whose number stands in a ring, by half a turn about its own long axis, arrow still up: \
                 the laminations then slant the other way."
            ),
            _ => format!(
                "Turn over {many} {}, whose numbers stand in rings, by half a turn about their own long axis, arrow still up: \
                 the laminations then slant the other way.",
                numbers(&turned)
            ),
        });
        step.count(&format!("{many} turned over, each top"), turned.len() as u32);
    }
    let slide = own.unrolled.route.operations.iter().find_map(|operation| match operation {
        Operation::Slide { step } => Some(*step),
        _ => None,
    });
    if let Some(slide) = slide {
        step.set(words.set_length(
            "Slide, band to band of one slab",
            Length::nearest_mm(slide).nearest_to(work.job.mark),
        ));
        step.say(format!(
            "Slide each {one} along its joint until the laminations meet its neighbour's all the way: that, not its end, \
             sets its place. From one {one} of a slab to the next it comes to about {}.",
            words.about(slide, work.job.mark)
        ));
    }
    step.say(format!(
        "Lay a template of the outline, or one drawn on paper, over the place of its centre: the {many} must reach at least {} beyond it \
         all round.",
        words.length(*plan.margin)
    ));
    step.say(match one {
        "wedge" => "Draw two circles round the pin, across all joints, before you take the layout apart.",
        "block" => "Draw slanting lines that cross every block before you take the layout apart.",
        _ => "Draw two slanting lines across all joints before you take the layout apart.",
    });
    step.count(many, elements.len() as u32 * plan.count);
    step.count("tops", plan.count);
    step.minutes = f64::from(elements.len() as u32 * plan.count) * times.mark * 2.0;
    step.draw(format!("top-{}-blank", top + 1));
    step.draw(format!("top-{}-face", top + 1));
    Some(step)
}
