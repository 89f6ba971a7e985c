//! Easing, filling, sanding, cleaning and the finish.

use super::{base, slabs};
use crate::cautions::Care;
use crate::plan::Step;
use crate::rates::Finish;
use crate::surface::Surface;
use crate::wording::count;
use crate::words;
use crate::work::Work;

/// The surface of one top as it is finished.
pub(crate) fn surface(work: &Work<'_>, top: usize) -> Surface {
    let from = &work.job.tops[top];
    Surface::of(&from.outline, from.finished, work.job.shop.reckoning.router.round_over)
}

/// Millilitres for one top, all coats: the first takes `end_grain` times as much as on long grain, for its faces and
/// its edge are ply edges (T79); `lost` of what is used stays in brush, rag and tin.
pub(crate) fn millilitres(work: &Work<'_>, top: usize) -> f64 {
    let finish = &work.job.shop.reckoning.finish;
    coats_need(surface(work, top).total(), finish.end_grain, finish)
}

/// Millilitres for one base, whose faces are long grain.
pub(crate) fn base_millilitres(work: &Work<'_>, base: &stripwright_splay::Base) -> f64 {
    coats_need(base::surface(base), 1.0, &work.job.shop.reckoning.finish)
}

fn coats_need(area: f64, first: f64, finish: &Finish) -> f64 {
    if finish.coats == 0 {
        return 0.0;
    }
    let litres = area * (first / finish.coverage + f64::from(finish.coats - 1) / finish.later_coverage);
    litres * 1e3 * (1.0 + finish.lost)
}

/// Rounding the edges over.
pub(super) fn ease(work: &Work<'_>, top: usize) -> Option<Step> {
    let (plan, say, shop) = (&work.plan.tops[top], work.words(), &work.job.shop);
    let radius = shop.reckoning.router.round_over;
    if !radius.is_positive() {
        return None;
    }
    let surface = surface(work, top);
    let mut step = Step::new(format!("top-{}-ease", top + 1), "finish", &plan.name, "Ease the edges");
    step.say(format!(
        "Round both edges over with a bit of {} and a bearing, in two passes, the second one thin.",
        say.length(radius)
    ));
    // T84: under half the thickness, so that a flat is left for the bearing.
    if radius + radius >= *plan.finished {
        step.say(
            "The radius is half of the thickness or more: no flat is left for the bearing on the second edge; guide the router \
             on a template or ease the edge by hand.",
        );
    }
    step.set(say.set_length("Radius", radius));
    step.set(say.set("Edge, both sides of one top", say.metres(2.0 * surface.round)));
    step.count("tops", plan.count);
    let times = &shop.reckoning.times;
    step.minutes = f64::from(plan.count) * 2.0 * surface.round * times.ease + times.setting;
    step.mind(&[Care::Router, Care::Dust]);
    Some(step)
}

/// Voids, then grit after grit.
pub(super) fn fill_and_sand(work: &Work<'_>, top: usize) -> Option<Step> {
    let (plan, say, shop) = (&work.plan.tops[top], work.words(), &work.job.shop);
    let (grits, times) = (&shop.reckoning.grits, &shop.reckoning.times);
    let surface = surface(work, top);
    let all = surface.total() * f64::from(plan.count);
    let mut step = Step::new(format!("top-{}-sand", top + 1), "finish", &plan.name, "Fill voids and sand");
    step.say(
        "Look at the faces in slanting light: fill the voids between plies with thin glue and dust of the first grit, or with a \
         clear filler, and let it harden.",
    );
    let list: Vec<String> = grits.iter().map(u32::to_string).collect();
    // T82: the finest that removes the mill marks first, then steps of less than double.
    step.say(format!(
        "Sand both faces and the edge with P{}, one grit after the other: the first until no planer mark shows, each further one \
         until the scratches of the one before are gone; vacuum in between.",
        words::join(&list)
    ));
    if let Some(w) = grits.windows(2).find(|w| w[1] <= w[0] || w[1] >= 2 * w[0]) {
        step.say(format!(
            "From P{} to P{} is not a step of less than double: the scratches of the first will show in the finish.",
            w[0], w[1]
        ));
    }
    let from = slabs::planing(plan, "blanks").or_else(|| slabs::planing(plan, "slabs")).map(|p| *p.to);
    if let Some(from) = from
        && from > *plan.finished
    {
        step.set(say.set_length("Before", from));
        step.say(format!(
            "What is left to sand away is {} on both faces together.",
            say.length(from - *plan.finished)
        ));
    }
    step.set(say.set_length("Finished thickness", *plan.finished));
    step.set(say.set("Grits", format!("P{}", list.join(", "))));
    step.set(say.set("Area of one top, both faces and edge", say.area(surface.total())));
    step.count("tops", plan.count);
    step.minutes =
        surface.faces * f64::from(plan.count) * times.voids + all * grits.len() as f64 * times.sand;
    step.mind(&[Care::Dust]);
    Some(step)
}

/// Cleaning and all coats, for all tops together.
pub(super) fn coats(work: &Work<'_>) -> Option<Step> {
    let (say, finish, times) =
        (work.words(), &work.job.shop.reckoning.finish, &work.job.shop.reckoning.times);
    if (work.tops.is_empty() && work.bases.is_empty()) || finish.coats == 0 {
        return None;
    }
    let mut step =
        Step::new("finish", "finish", "", format!("Clean, then {}", count(finish.coats, "coat", "coats")));
    step.say("Vacuum every face and edge and wipe them with a cloth barely damp with alcohol; let them dry.");
    let (mut area, mut total) = (0.0, 0.0);
    for (n, top) in work.plan.tops.iter().enumerate() {
        let (each, copies) = (surface(work, n), f64::from(top.count));
        let ml = millilitres(work, n);
        step.say(format!(
            "{}: both faces {}, edge {}; {} of {} for one{}.",
            top.name,
            say.area(each.faces),
            say.area(each.edge),
            volume(ml),
            finish.name,
            if top.count == 1 {
                String::new()
            } else {
                format!(", {} for all {}", volume(ml * copies), top.count)
            }
        ));
        step.set(say.set(&format!("{}, one {}", finish.name, top.name), volume(ml)));
        area += each.total() * copies;
        total += ml * copies;
    }
    for base in work.bases {
        let (each, copies, ml) = (base::surface(base), f64::from(base.count), base_millilitres(work, base));
        step.say(format!(
            "{}: legs and rungs {}; {} of {} for one{}.",
            base.name,
            say.area(each),
            volume(ml),
            finish.name,
            if base.count == 1 {
                String::new()
            } else {
                format!(", {} for all {}", volume(ml * copies), base.count)
            }
        ));
        step.set(say.set(&format!("{}, one {}", finish.name, base.name), volume(ml)));
        area += each * copies;
        total += ml * copies;
    }
    step.set(say.set(&format!("{} in all", finish.name), volume(total)));
    step.set(say.set("Area in all", say.area(area)));
    if !work.tops.is_empty() {
        coat_tops(&mut step, finish);
    }
    if finish.coats > 1 {
        step.say("Let each coat dry, rub it down with the finest grit, wipe it, and lay the next.");
    }
    step.count("coats", finish.coats);
    let coats = f64::from(finish.coats);
    step.minutes = area * (times.clean + coats * times.coat);
    step.wait = times.dry * coats;
    step.mind(&[Care::Solvents, Care::OilyRags]);
    Some(step)
}

fn coat_tops(step: &mut Step, finish: &Finish) {
    step.say(format!(
        "Coat the underside of a top first, then its edge, then its face, both faces alike in every coat so that the top stays flat; wipe \
         off what has not gone in as the tin says. The first coat takes about {} times as much as on long grain.",
        words::decimals(finish.end_grain, 1)
    ));
}

/// Millilitres rounded up: what to pour, not what to compute with.
fn volume(ml: f64) -> String {
    format!("{:.0} ml", (ml - 1e-6).ceil().max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// T80: 0.62581 m2; T79: 8 to 12 m2/l, half of that on the first coat. By hand, 3 coats at 10 and 12 m2/l, a tenth
    /// lost: 0.62581 x (2/10 + 2/12) x 1.1 = 0.252410 l.
    #[test]
    fn oil_for_a_round_top() {
        let finish = Finish {
            name: "oil".into(),
            coverage: 10.0,
            later_coverage: 12.0,
            end_grain: 2.0,
            coats: 3,
            lost: 0.1,
            tin: 1000.0,
        };
        let ml = coats_need(0.625_81, finish.end_grain, &finish);
        assert!((ml - 252.41).abs() < 0.01, "{ml}");
        assert_eq!(volume(ml), "253 ml");
        assert_eq!(coats_need(1.0, 2.0, &Finish { coats: 0, ..finish.clone() }), 0.0);
        // T78: polyurethane at 300 sq ft a gallon is 7.36 m2/l, so one coat on 1 m2 of long grain takes 135.8 ml.
        let varnish = Finish { coverage: 7.36, end_grain: 1.0, coats: 1, lost: 0.0, ..finish };
        assert!((coats_need(1.0, varnish.end_grain, &varnish) - 135.87).abs() < 0.01);
    }
}
