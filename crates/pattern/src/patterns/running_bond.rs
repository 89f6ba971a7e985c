//! Running bond: courses of blocks, each course set over by a share of a block.

use stripwright_units::Angle;

use super::{Ground, block, blocks};
use crate::fault::Refusal;
use crate::spec::{Lay, Point, Side};
use crate::tiling::Tiling;

pub(crate) fn lay_out(
    width: Side,
    length: Side,
    lay: Lay,
    offset: (u32, u32),
    turn: Angle,
    ground: &Ground<'_>,
) -> Result<Tiling, Vec<Refusal>> {
    let size = block(width, length, lay, ground.sequence);
    let share = f64::from(offset.0) / f64::from(offset.1);
    if offset.1 == 0 || offset.0 >= offset.1 {
        let mut refusals = size.err().unwrap_or_default();
        let most = offset.1.saturating_sub(1);
        refusals.push(Refusal::CountRange {
            what: "parts of a block between courses",
            found: offset.0,
            least: 0,
            most,
        });
        return Err(refusals);
    }
    let size = size?;
    let (w, l) = (size.0.to_mm(), size.1.to_mm());
    let steps = [Point::new(l, 0.0), Point::new(share * l, w)];
    Ok(blocks(size, lay, turn, steps, vec![(Point::default(), false)]))
}
