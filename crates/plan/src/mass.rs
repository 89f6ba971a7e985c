//! What a finished top weighs: by the sheets that its strips are cut from.

use stripwright_pattern::{StripSize, Unrolled};

use crate::asked::{Asked, AskedTop};
use crate::job::Job;
use crate::plan::Layout;

/// Kilograms of one finished top.
pub(crate) fn mass(job: &Job, asked: &Asked, own: &AskedTop, unrolled: &Unrolled, layouts: &[Layout]) -> f64 {
    own.face.mass(&|kind| {
        let strips =
            unrolled.slabs.iter().flat_map(|slab| &slab.strips).filter(|(size, _)| size.kind == kind);
        mean(strips.map(|(size, count)| {
            (size.length.to_mm() * f64::from(*count), density(job, asked, own, *size, layouts))
        }))
    })
}

/// Density of the strips of a size, in kg/m3: strips of one size are one pile, whichever sheets they come from.
fn density(job: &Job, asked: &Asked, own: &AskedTop, size: StripSize, layouts: &[Layout]) -> f64 {
    let name = &asked.problem.pieces[asked.piece(job, size, own.may_turn)].name;
    mean(layouts.iter().filter_map(|layout| {
        let sheet = job.sheets.iter().find(|sheet| sheet.name == layout.sheet)?;
        let cut = layout.pieces.iter().filter(|piece| piece.part == *name).count();
        Some((cut as f64 * f64::from(layout.times), sheet.density_or_usual()))
    }))
}

/// The mean of some figures by their weights.
fn mean(weighed: impl Iterator<Item = (f64, f64)>) -> f64 {
    let (weight, sum) = weighed.fold((0.0, 0.0), |(weight, sum), (w, figure)| (weight + w, sum + w * figure));
    if weight > 0.0 { sum / weight } else { 0.0 }
}
