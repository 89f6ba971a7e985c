//! The faces of a job's tops by themselves, for a picture that cannot wait for a plan.

use serde::Serialize;
use stripwright_pattern as pattern;

use crate::asked::{Asked, AskedTop, refused, spec_of};
use crate::fault::Fault;
use crate::figures::Mm;
use crate::job::Job;
use crate::plan;
use crate::write;

/// What of a [`plan::Top`] does not depend on slabs and sheets; its fields have the same names.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TopFace {
    /// The top's name.
    pub name: String,
    /// How many are made.
    pub count: u32,
    /// The pattern, with everything that was free now chosen.
    pub pattern: plan::Pattern,
    /// The finished plan shape.
    pub outline: plan::Outline,
    /// Finished thickness.
    pub finished: Mm,
    /// Strip thickness plus one glue line.
    pub pitch: Mm,
    /// How many bands (or blocks) one top has.
    pub bands: u32,
    /// How many laminations each band needs, from the left.
    pub laminations: Vec<u32>,
    /// The face to draw.
    pub face: plan::Face,
}

/// Works out the face of every top, and nothing else: the same faces that [`plan()`](crate::plan()) gives.
///
/// # Errors
/// Every reason why a top cannot be divided as the job asks.
pub fn faces(job: &Job) -> Result<Vec<TopFace>, Vec<Fault>> {
    let mut goods = Vec::new();
    let mut shown = Vec::new();
    let mut faults = Vec::new();
    for (n, top) in job.tops.iter().enumerate() {
        match pattern::face(&spec_of(job, top, &mut goods), job.mark) {
            Ok(face) => {
                shown.push(AskedTop {
                    face,
                    makes: Vec::new(),
                    first_make: 0,
                    first_cover: 0,
                    may_turn: top.may_turn,
                });
            }
            Err(refusals) => faults.extend(refused(n, top, job.system, refusals)),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let asked = Asked { problem: stripwright_packing::Problem::default(), tops: shown, goods };
    let show = |(top, own): (&crate::job::Top, &AskedTop)| TopFace {
        name: top.name.clone(),
        count: top.count,
        pattern: write::chosen_pattern(top, own),
        outline: write::outline(&top.outline),
        finished: top.finished.into(),
        pitch: write::pitch(&own.face).into(),
        bands: own.face.elements.len() as u32,
        laminations: own.face.laminations(),
        face: write::face(job, &asked, top, own),
    };
    Ok(job.tops.iter().zip(&asked.tops).map(show).collect())
}
