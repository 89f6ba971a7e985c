//! From what packing refuses to sentences about the job.

use stripwright_packing::Refusal;
use stripwright_packing::audit::Objection;
use stripwright_pattern as pattern;
use stripwright_pattern::Limit;
use stripwright_units::{Length, System};

use crate::asked::Asked;
use crate::fault::{Fault, Place};
use crate::job::Job;
use crate::wording;

/// The job's key and place of a piece: its part, or the first top that a strip of this size serves.
fn whose(job: &Job, asked: &Asked, piece: usize) -> (String, Option<Place>) {
    if let Some(part) = job.parts.get(piece) {
        return (format!("parts[{piece}]"), Some(part.place));
    }
    let uses = |make: &stripwright_packing::Make| make.uses.iter().any(|(p, _)| *p == piece);
    let of = asked.problem.makes.iter().position(uses).and_then(|make| {
        asked.tops.iter().position(|top| (top.first_make..top.first_make + top.makes.len()).contains(&make))
    });
    match of {
        Some(n) => (format!("tops[{n}]"), Some(job.tops[n].place)),
        None => (String::new(), None),
    }
}

/// The job's key and place of a sheet; for one from a file of offcuts, of the first sheet that the job itself names.
fn of_sheet(job: &Job, sheet: usize) -> (String, Option<Place>) {
    let named = |&n: &usize| job.sheets.get(n).is_some_and(|sheet| sheet.place.is_some());
    match [sheet].into_iter().chain(0..job.sheets.len()).find(named) {
        Some(n) => (format!("sheets[{n}]"), job.sheets[n].place),
        None => ("offcuts".to_string(), first_wish(job)),
    }
}

/// Where the job first asks for something of sheets.
fn first_wish(job: &Job) -> Option<Place> {
    job.tops.first().map(|top| top.place).or(job.parts.first().map(|part| part.place))
}

/// Why a top cannot be made: pieces that fail for one reason are told together, with what would do for all of them.
pub(crate) fn by_pattern(job: &Job, n: usize, refusals: &[pattern::Refusal]) -> Vec<Fault> {
    let top = &job.tops[n];
    let fault = |text| Fault::impossible(Some(top.place), format!("tops[{n}]"), text);
    let mut faults = Vec::new();
    let mut told: Vec<std::mem::Discriminant<Limit>> = Vec::new();
    for refusal in refusals {
        let pattern::Refusal::NoSlab { limit, .. } = refusal else {
            let said = wording::in_units(&refusal.to_string(), job.system);
            faults.push(fault(format!("{}: {said}", top.name)));
            continue;
        };
        let reason = std::mem::discriminant(limit);
        if told.contains(&reason) {
            continue;
        }
        told.push(reason);
        let alike: Vec<(usize, &Limit)> = refusals
            .iter()
            .filter_map(|other| match other {
                pattern::Refusal::NoSlab { element, limit } if std::mem::discriminant(limit) == reason => {
                    Some((*element, limit))
                }
                _ => None,
            })
            .collect();
        // What does for the worst does for all.
        let worst = alike.iter().max_by_key(|(element, limit)| (over(limit), std::cmp::Reverse(*element)));
        if let Some((element, limit)) = worst {
            let why = why(limit, job.system);
            faults.push(fault(wording::no_slab(&top.name, *element, alike.len() - 1, &why)));
        }
    }
    faults
}

/// By how much a limit is passed.
fn over(limit: &Limit) -> Length {
    match limit {
        Limit::SheetLength { strip, longest } => *strip - *longest,
        Limit::ClampReach { breadth, reach } => *breadth - *reach,
        Limit::SawReach { cut, reach } => *cut - *reach,
        Limit::PlanerWidth { strip, width } => *strip - *width,
    }
}

fn why(limit: &Limit, system: System) -> String {
    match limit {
        Limit::SheetLength { strip, longest } => wording::strip_too_long(*strip, *longest, system),
        Limit::ClampReach { breadth, reach } => wording::slab_too_broad(*breadth, *reach, system),
        Limit::SawReach { cut, reach } => wording::cut_too_long(*cut, *reach, system),
        Limit::PlanerWidth { strip, width } => wording::strip_too_thick(*strip, *width, system),
    }
}

/// Why the packing cannot be done.
pub(crate) fn by_packing(job: &Job, asked: &Asked, refusals: &[Refusal]) -> Vec<Fault> {
    let problem = &asked.problem;
    let show = |length: Length| length.show(job.system);
    let fault = |refusal: &Refusal| match refusal {
        Refusal::PieceFitsNowhere { piece, nearest } => {
            let (key, place) = whose(job, asked, *piece);
            let p = &problem.pieces[*piece];
            let size = format!("{} x {}", show(p.length), show(p.width));
            let text = match nearest {
                None => wording::piece_without_sheet(&p.name, &size),
                Some((stock, Length::ZERO, Length::ZERO)) => {
                    wording::piece_against_limits(&p.name, &size, &problem.stocks[*stock].name)
                }
                Some((stock, longer, wider)) => {
                    let s = &problem.stocks[*stock];
                    let usable = format!("{} x {}", show(s.usable_length()), show(s.usable_width()));
                    wording::piece_too_large(&p.name, &size, &s.name, &usable, *longer, *wider, job.system)
                }
            };
            Fault::impossible(place, key, text)
        }
        Refusal::LimitsTooSmall { more, shown } => {
            let limited = |n: &usize| job.sheets[*n].limit.is_some() && job.sheets[*n].place.is_some();
            let raised = more.iter().map(|(stock, _)| *stock).chain(0..job.sheets.len()).find(limited);
            let (key, place) = of_sheet(job, raised.unwrap_or(0));
            let more: Vec<(String, u32)> =
                more.iter().map(|(stock, n)| (problem.stocks[*stock].name.clone(), *n)).collect();
            Fault::impossible(place, key, wording::limits_too_small("sheets", &more, *shown))
        }
        Refusal::CoverWithoutMake { cover } => {
            let top = asked.tops.iter().rposition(|top| top.first_cover <= *cover);
            let key = top.map_or("tops".to_string(), |n| format!("tops[{n}]"));
            let place = top.map(|n| job.tops[n].place);
            Fault::impossible(place, key, wording::no_slab_yields(&problem.covers[*cover].name))
        }
        Refusal::TooFine { stock } => {
            let (key, place) = of_sheet(job, *stock);
            Fault::impossible(place, key, wording::too_fine(&problem.stocks[*stock].name))
        }
        Refusal::OutOfRange { what, index } => {
            let (key, place) =
                if what.contains("piece") { whose(job, asked, *index) } else { of_sheet(job, *index) };
            Fault::impossible(place, key, wording::out_of_range(what))
        }
        // The job's own checks leave nothing else.
        other => Fault::impossible(first_wish(job), "", format!("the job cannot be packed: {other}")),
    };
    refusals.iter().map(fault).collect()
}

/// A plan that fails its own audit is never handed out.
pub(crate) fn by_audit(objections: &[Objection]) -> Vec<Fault> {
    objections
        .iter()
        .map(|o| Fault::impossible(None, "", wording::own_audit_failed(&o.to_string())))
        .collect()
}
