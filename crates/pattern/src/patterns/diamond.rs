//! Diamond: four-way mirror. Chevron bands, parted along the x axis; the lower halves mirror the upper.
//!
//! The bands next to the pin fall away from it, so that their laminations close into diamonds round it. Two bands
//! make the four quarters of the plain four-way mirror; more make rows of diamonds.

use stripwright_units::Angle;

use super::{Ground, angle_within, chevron};
use crate::fault::Refusal;
use crate::geometry::Half;
use crate::limits;
use crate::spec::{BandSize, Centre, Point};
use crate::tiling::{Cut, RunElement, Runs, Tiling};

pub(crate) fn lay_out(
    angle: Angle,
    bands: Option<BandSize>,
    ground: &Ground<'_>,
) -> Result<Tiling, Vec<Refusal>> {
    let mut refusals = Vec::new();
    angle_within(angle, limits::ANGLES, &mut refusals);
    let sized = chevron::columns(bands.unwrap_or(BandSize::Number(2)), Centre::Seam, ground);
    if !refusals.is_empty() {
        refusals.extend(sized.err().unwrap_or_default());
        return Err(refusals);
    }
    let (width, edges) = sized?;
    let mut elements = Vec::new();
    for (chain, up) in [(0, 1.0), (1, -1.0)] {
        for (i, &(left, _)) in edges.iter().enumerate() {
            // The band on the right of the pin falls to the right: it is turned over.
            let from_pin = i as i64 - edges.len() as i64 / 2;
            let mut half = chevron::band(angle, left, width.to_mm(), from_pin % 2 == 0);
            let flip = |p: Point| Point::new(p.x, p.y * up);
            half.motion.along = flip(half.motion.along);
            half.motion.across = flip(half.motion.across);
            half.slide = flip(half.slide);
            half.region.push(Half::new(Point::new(0.0, -up), 0.0));
            elements.push(RunElement { chain, ..half });
        }
    }
    Ok(Tiling::Runs(Runs { elements, cut: Cut::HalfBias { angle, width } }))
}
