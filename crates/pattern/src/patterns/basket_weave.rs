//! Basket weave: squares of parallel blocks, neighbours at right angles.

use stripwright_units::Angle;

use super::{Ground, block, blocks};
use crate::fault::Refusal;
use crate::limits;
use crate::spec::{Lay, Point, Side};
use crate::tiling::Tiling;

pub(crate) fn lay_out(
    width: Side,
    count: u32,
    lay: Lay,
    turn: Angle,
    ground: &Ground<'_>,
) -> Result<Tiling, Vec<Refusal>> {
    let most = limits::BLOCKS;
    if !(1..=most).contains(&count) {
        return Err(vec![Refusal::CountRange { what: "blocks a square", found: count, least: 1, most }]);
    }
    // The length follows from the width, so that a square is filled.
    let length = match width {
        Side::Given(w) => Side::Given(w * i64::from(count)),
        Side::Laminations(n) => {
            Side::Given(ground.sequence.start_exact(i64::from(n.min(1000))) * i64::from(count))
        }
    };
    let size = block(width, length, lay, ground.sequence)?;
    let (w, s) = (size.0.to_mm(), size.1.to_mm());
    let mut places = Vec::new();
    for i in 0..count {
        places.push((Point::new(0.0, f64::from(i) * w), false));
    }
    for i in 0..count {
        places.push((Point::new(s + f64::from(i) * w, 0.0), true));
    }
    let steps = [Point::new(s, s), Point::new(s, -s)];
    Ok(blocks(size, lay, turn, steps, places))
}
