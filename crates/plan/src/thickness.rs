//! What sheets at the thin end of their tolerance would need: said in the plan until they are measured.

use stripwright_pattern::{Face, Lamination, SlabMake, ThinEnd, Unrolled, thin_end};
use stripwright_units::Length;

use crate::asked::{Asked, AskedTop};
use crate::job::Job;
use crate::wording::count;
use crate::words::Words;

/// One sentence for every top whose sheets have a tolerance and have not been measured.
pub(crate) fn notes(job: &Job, asked: &Asked, unrolled: &[Unrolled]) -> Vec<String> {
    let thinnest = |lamination: &Lamination| {
        let sheets = asked.goods[lamination.kind].sheets.iter();
        sheets.filter_map(|&sheet| job.sheets[sheet].thinnest()).min().unwrap_or(lamination.thickness)
    };
    let of_top = |(n, top): (usize, &AskedTop)| {
        let spec = &top.face.spec;
        let thinned = spec
            .sequence
            .laminations
            .iter()
            .find(|lamination| thinnest(lamination) < lamination.thickness)?;
        // Sheets so thin that the top cannot be laid out any more say nothing about strips.
        let thin = thin_end(spec, job.mark, thinnest).ok()?;
        let at = |length: Length| Words { system: job.system }.measured(length);
        let found = match top.face.block {
            Some(_) => blocks(top, &thin, &unrolled[n]),
            None => runs(job, top, &thin, &unrolled[n]),
        };
        Some(format!(
            "{}: at the thin end of their tolerance ({} instead of {}) the sheets need {found}; measure them and give the job \
             `measured` before ripping.",
            job.tops[n].name,
            at(thinnest(thinned)),
            at(thinned.thickness)
        ))
    };
    asked.tops.iter().enumerate().filter_map(of_top).collect()
}

fn strips(n: u64) -> String {
    count(n, "strip more", "strips more")
}

/// Blocks shrink with their sheets, so that it takes more of them: so many slabs more of the largest size in the plan.
fn blocks(top: &AskedTop, thin: &ThinEnd, unrolled: &Unrolled) -> String {
    let (given, needed) = (top.face.elements.len(), thin.face.elements.len());
    let more = needed.saturating_sub(given);
    let made = unrolled.slabs.iter().map(|slab| &top.makes[slab.make]);
    let largest = made.max_by_key(|make| make.places.len());
    let each = largest.map_or(0, |make| more.div_ceil(make.places.len().max(1)) * make.layers.len());
    format!("{} a top ({needed} blocks instead of {given})", strips(each as u64))
}

/// Bands and wedges take more laminations: in slabs of the same runs as planned, so many strips more.
fn runs(job: &Job, top: &AskedTop, thin: &ThinEnd, unrolled: &Unrolled) -> String {
    let laminations = format!("{} laminations instead of {}", thin.thin, thin.laminations);
    let Some((now, then)) = slabs(job, top, &thin.face, unrolled) else {
        return format!("{} a top", laminations);
    };
    let (more, each) = (then.saturating_sub(now), if job.tops.len() > 1 { " for this top" } else { "" });
    format!(
        "{}{each}: {then} instead of {now} in slabs of the same pieces ({laminations} a top)",
        strips(more)
    )
}

/// Strips of all slabs as planned, and of slabs of the same runs from thin sheets.
fn slabs(job: &Job, top: &AskedTop, thin: &Face, unrolled: &Unrolled) -> Option<(u64, u64)> {
    let makes = thin.makes(&job.shop.pattern).ok()?;
    let of = |make: &SlabMake| make.places.iter().map(|place| place.element).collect::<Vec<_>>();
    let last = thin.elements.len().checked_sub(1)?;
    let same = |make: &SlabMake, run: &[usize]| {
        let own = of(make);
        // A run and its mirror image take the same strips, and only one of them is listed.
        let mirrored = || own.iter().rev().map(|element| last - element);
        own == run || mirrored().eq(run.iter().copied()) || own.iter().rev().eq(run.iter())
    };
    let mut sums = (0, 0);
    for slab in &unrolled.slabs {
        let make = &top.makes[slab.make];
        let run = of(make);
        let found = makes.iter().find(|other| other.style == make.style && same(other, &run))?;
        sums.0 += u64::from(make.strips_total());
        sums.1 += u64::from(found.strips_total());
    }
    Some(sums)
}
