//! Sunburst: wedges round the pin, each a turn of the one before.

use stripwright_units::Angle;

use crate::face::Motion;
use crate::fault::Refusal;
use crate::geometry::Half;
use crate::limits;
use crate::spec::{Lay, Point};
use crate::tiling::{Cut, RunElement, Runs, Tiling};

pub(crate) fn lay_out(wedges: u32, lay: Lay) -> Result<Tiling, Vec<Refusal>> {
    let (least, most) = limits::WEDGES;
    if !(least..=most).contains(&wedges) {
        return Err(vec![Refusal::CountRange { what: "wedges", found: wedges, least, most }]);
    }
    let half = Angle::degrees(180.0 / f64::from(wedges));
    let elements = (0..wedges)
        .map(|i| {
            let from = Angle::degrees(2.0 * f64::from(i) * half.to_degrees());
            let middle = Angle::degrees(from.to_degrees() + half.to_degrees());
            let to = Angle::degrees(from.to_degrees() + 2.0 * half.to_degrees());
            let out = Point::new(middle.cos(), middle.sin());
            let (along, across) = match lay {
                Lay::Along => (out, Point::new(-out.y, out.x)),
                Lay::Across => (Point::new(out.y, -out.x), out),
            };
            RunElement {
                region: vec![
                    Half::new(Point::new(from.sin(), -from.cos()), 0.0),
                    Half::new(Point::new(-to.sin(), to.cos()), 0.0),
                ],
                motion: Motion { along, across, origin: Point::default() },
                slide: across,
                chain: i as usize,
            }
        })
        .collect();
    Ok(Tiling::Runs(Runs { elements, cut: Cut::Wedge { half, lay } }))
}
