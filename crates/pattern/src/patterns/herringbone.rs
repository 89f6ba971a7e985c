//! Herringbone: pairs of blocks at right angles, the zigzag along y.
//!
//! Before turning, a pair `[0,l] x [0,w]` and `[0,w] x [w,w+l]` stands at every point of the lattice with the steps
//! `(w, w)` and `(l, -l)`. It tiles for every `l >= w`: the pair's area `2 w l` is the lattice's, and the strip
//! `0 <= y < w` of the lying blocks leaves gaps that the standing ones, `l` high over their foot, just fill.

use stripwright_units::Angle;

use super::{Ground, block, blocks};
use crate::fault::Refusal;
use crate::spec::{Lay, Point, Side};
use crate::tiling::Tiling;

pub(crate) fn lay_out(
    width: Side,
    length: Side,
    lay: Lay,
    ground: &Ground<'_>,
) -> Result<Tiling, Vec<Refusal>> {
    let size = block(width, length, lay, ground.sequence)?;
    let (w, l) = (size.0.to_mm(), size.1.to_mm());
    let steps = [Point::new(w, w), Point::new(l, -l)];
    let places = vec![(Point::new(0.0, 0.0), false), (Point::new(0.0, w), true)];
    Ok(blocks(size, lay, Angle::degrees(45.0), steps, places))
}
