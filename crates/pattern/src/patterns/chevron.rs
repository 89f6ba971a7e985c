//! Chevron: bands along y, every other one turned over.
//!
//! In a band's own frame its near edge is the line `u sin(a) - v cos(a) = 0`. With x' measured from there square to
//! the edge and y along it, `v = y sin(a) - x' cos(a)`: a lamination rises by `cot(a)` across the band, and takes
//! `p / sin(a)` of the edge. Turning over mirrors x', so that laminations of neighbours meet at the joint.

use stripwright_units::{Angle, Length};

use super::{Ground, angle_within};
use crate::face::Motion;
use crate::fault::Refusal;
use crate::geometry::{Half, TOUCH};
use crate::limits;
use crate::spec::{BandSize, Centre, Point};
use crate::tiling::{Cut, RunElement, Runs, Tiling};

pub(crate) fn lay_out(
    angle: Angle,
    bands: BandSize,
    centre: Option<Centre>,
    ground: &Ground<'_>,
) -> Result<Tiling, Vec<Refusal>> {
    let mut refusals = Vec::new();
    angle_within(angle, limits::ANGLES, &mut refusals);
    let centre = centre.unwrap_or(match bands {
        BandSize::Number(n) if n % 2 == 1 => Centre::Band,
        _ => Centre::Seam,
    });
    let sized = columns(bands, centre, ground);
    if !refusals.is_empty() {
        refusals.extend(sized.err().unwrap_or_default());
        return Err(refusals);
    }
    let (width, edges) = sized?;
    let elements = edges.into_iter().map(|(left, odd)| band(angle, left, width.to_mm(), odd)).collect();
    Ok(Tiling::Runs(Runs { elements, cut: Cut::Bias { angle, width } }))
}

/// A band between `left` and `left + width`.
pub(super) fn band(angle: Angle, left: f64, width: f64, turned: bool) -> RunElement {
    let (s, c) = (angle.sin(), angle.cos());
    let motion = if turned {
        Motion { along: Point::new(-s, c), across: Point::new(c, s), origin: Point::new(left + width, 0.0) }
    } else {
        Motion { along: Point::new(s, c), across: Point::new(-c, s), origin: Point::new(left, 0.0) }
    };
    RunElement {
        region: vec![Half::new(Point::new(1.0, 0.0), left + width), Half::new(Point::new(-1.0, 0.0), -left)],
        motion,
        slide: Point::new(0.0, 1.0 / s),
        chain: 0,
    }
}

/// Width of a column, and for each the x of its left edge and whether it is every other one, from the left.
pub(super) type Columns = (Length, Vec<(f64, bool)>);

/// Columns over the whole grown outline.
pub(super) fn columns(bands: BandSize, centre: Centre, ground: &Ground<'_>) -> Result<Columns, Vec<Refusal>> {
    let width = match bands {
        BandSize::Width(width) if !width.is_positive() => {
            return Err(vec![Refusal::NotPositive { what: "The band's width", found: width }]);
        }
        BandSize::Width(width) => width,
        BandSize::Number(n) => {
            if !(1..=limits::BANDS).contains(&n) {
                return Err(vec![Refusal::CountRange {
                    what: "bands",
                    found: n,
                    least: 1,
                    most: limits::BANDS,
                }]);
            }
            if (n % 2 == 0) != (centre == Centre::Seam) {
                let (wanted, because) = match centre {
                    Centre::Seam => ("even", "a seam on the centre has as many bands on either side"),
                    Centre::Band => ("odd", "a band on the centre has as many on either side"),
                };
                return Err(vec![Refusal::Parity { what: "bands", found: n, wanted, because }]);
            }
            Length::ceil_mm(2.0 * ground.half_width() / f64::from(n), ground.mark)
        }
    };
    let b = width.to_mm();
    let many = 2.0 * ground.half_width() / b;
    if many > f64::from(limits::BANDS) {
        let found = many.min(1e9) as u32;
        return Err(vec![Refusal::CountRange { what: "bands", found, least: 1, most: limits::BANDS }]);
    }
    // As many on either side of the pin as reach the further edge; the first on the left lies as it was cut, every
    // other one is turned over.
    let reach = ground.half_width() / b - TOUCH;
    let count = match centre {
        Centre::Seam => 2 * reach.ceil() as i64,
        Centre::Band => 2 * (reach - 0.5).ceil().max(0.0) as i64 + 1,
    };
    Ok((width, (0..count).map(|i| ((i as f64 - count as f64 / 2.0) * b, i % 2 == 1)).collect()))
}
