//! The limits of shop and sheets that a plan met, the closest first, in whole sentences.

use stripwright_units::Length;

use crate::plan::{Direction, Step};
use crate::steps::bands_longest_cut;
use crate::wording::count;
use crate::words::Words;
use crate::work::Work;

/// A limit, how much of it is used, and the sentence.
struct Met {
    used: f64,
    text: String,
}

/// Every limit that something in the plan was held against.
pub(crate) fn limits(work: &Work<'_>, steps: &[Step]) -> Vec<String> {
    let mut met: Vec<Met> = Vec::new();
    met.extend(of_sheets(work));
    met.extend(of_saw(work, steps));
    for top in 0..work.tops.len() {
        met.extend(of_top(work, top));
    }
    met.sort_by(|a, b| b.used.total_cmp(&a.used));
    met.into_iter().map(|m| m.text).collect()
}

/// "The widest slab of the table top is 318 mm; the planer takes 330 mm (12 mm to spare)."
fn at_most(words: Words, what: String, found: Length, limit: Length, of: &str) -> Met {
    let room = if found <= limit {
        format!("{} to spare", words.length(limit - found))
    } else {
        format!("{} too much", words.length(found - limit))
    };
    let text = format!("{what} {}; {of} {} ({room}).", words.length(found), words.length(limit));
    Met { used: found.to_mm() / limit.to_mm().max(1e-9), text }
}

fn at_least(words: Words, what: String, found: Length, limit: Length, of: &str) -> Met {
    let room = if found >= limit {
        format!("{} to spare", words.length(found - limit))
    } else {
        format!("{} short of it", words.length(limit - found))
    };
    let text = format!("{what} {}; {of} {} ({room}).", words.length(found), words.length(limit));
    Met { used: limit.to_mm() / found.to_mm().max(1e-9), text }
}

fn of_sheets(work: &Work<'_>) -> Vec<Met> {
    let (plan, words) = (work.plan, work.words());
    let mut met = Vec::new();
    for sheet in &plan.sheets {
        let used = plan.buy.sheets.iter().find(|b| b.name == sheet.name).map_or(0, |b| b.count);
        if let Some(limit) = sheet.limit {
            met.push(Met {
                used: f64::from(used) / f64::from(limit.max(1)),
                text: format!("{} of {} {} used.", used, count(limit, "sheet", "sheets"), sheet.name),
            });
        }
    }
    let longest = plan
        .layouts
        .iter()
        .filter_map(|l| {
            let sheet = plan.sheets.iter().find(|s| s.name == l.sheet)?;
            let piece = l.pieces.iter().map(|p| *p.length).max()?;
            Some((piece, *sheet.length - *sheet.trim.left - *sheet.trim.right))
        })
        .max_by_key(|(piece, usable)| (piece.nm() * 1000 / usable.nm().max(1), *piece));
    if let Some((piece, usable)) = longest {
        met.push(at_most(words, "The longest piece is".into(), piece, usable, "its sheet gives, trimmed,"));
    }
    met
}

fn of_saw(work: &Work<'_>, steps: &[Step]) -> Vec<Met> {
    let (plan, words) = (work.plan, work.words());
    let mut met = Vec::new();
    let rips: Vec<_> = steps.iter().flat_map(|s| &s.runs).filter(|r| r.direction == Direction::Rip).collect();
    let widest = rips.iter().map(|r| *r.setting).max();
    if let (Some(widest), Some(reach)) = (widest, plan.cutting.fence_reach) {
        met.push(at_most(words, "The widest fence setting is".into(), widest, *reach, "the fence reaches"));
    }
    let narrowest = rips.iter().map(|r| *r.size).min();
    if let (Some(narrowest), Some(least)) = (narrowest, plan.cutting.smallest_rip) {
        met.push(at_least(words, "The narrowest rip is".into(), narrowest, *least, "the shop rips down to"));
    }
    let cuts = plan.layouts.iter().flat_map(|l| &l.cuts).filter(|c| c.direction == Direction::Rip);
    let longest = cuts.map(|c| *c.to - *c.from).max();
    if let (Some(longest), Some(most)) = (longest, plan.cutting.longest_rip) {
        met.push(at_most(words, "The longest rip is".into(), longest, *most, "the shop rips up to"));
    }
    met
}

fn of_top(work: &Work<'_>, n: usize) -> Vec<Met> {
    let (top, words, shop) = (&work.plan.tops[n], work.words(), &work.job.shop.pattern);
    let (_, many) = top.piece();
    let name = &top.name;
    let mut met = Vec::new();
    let broadest = top.slabs.iter().map(|s| *s.breadth).max().unwrap_or_default();
    let blank = work.tops[n].unrolled.blank.across.ceil_to(work.job.mark);
    let split = top.slabs.iter().any(|s| s.parts.len() > 1);
    if let Some(width) = shop.planer.width {
        let mut slab =
            at_most(words, format!("The broadest slab of {name} is"), broadest, width, "the planer takes");
        if split {
            slab.text += " It is glued and planed in parts that are joined afterwards.";
        }
        met.push(slab);
        if top.planer.iter().any(|p| p.stage == "blanks") {
            met.push(at_most(words, format!("The blank of {name} is"), blank, width, "the planer takes"));
        }
    }
    if let Some(reach) = shop.clamp.reach {
        let pressed = work.tops[n].unrolled.blank.pressed.ceil_to(work.job.mark);
        let span = broadest.max(if top.slabs.is_empty() { Length::ZERO } else { pressed });
        met.push(at_most(words, format!("The widest glue-up of {name} is"), span, reach, "the clamps span"));
    }
    let shortest = top.slabs.iter().map(|s| s.length.nearest_to(work.job.mark)).min();
    if let Some(shortest) = shortest {
        met.push(at_least(
            words,
            format!("The shortest slab of {name} is"),
            shortest,
            shop.planer.shortest,
            "the planer feeds down to",
        ));
    }
    if let (Some(longest), Some(reach)) = (bands_longest_cut(work, n), shop.saw_reach) {
        met.push(at_most(
            words,
            format!("The longest cut of the {many} of {name} is"),
            Length::ceil_mm(longest, work.job.mark),
            reach,
            "the bias saw reaches",
        ));
    }
    if let Some(stage) = top.glue.iter().find(|g| g.stage == "strips into slabs") {
        let most = top.slabs.iter().flat_map(|s| s.parts.iter().copied()).max().unwrap_or(0);
        let open = crate::words::decimals(shop.glue.open_minutes, 1);
        met.push(Met {
            used: f64::from(most) / f64::from(stage.section.max(1)),
            text: format!(
                "The largest glue-up of {name} would have {}; {} minutes of open time allow {} at once.",
                count(most, "strip", "strips"),
                open,
                stage.section
            ),
        });
    }
    met
}
