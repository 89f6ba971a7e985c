//! Straight: one slab, which is the blank.

use stripwright_units::Angle;

use crate::face::Motion;
use crate::spec::Point;
use crate::tiling::{Cut, RunElement, Runs, Tiling};

pub(crate) fn lay_out(angle: Angle) -> Tiling {
    let along = Point::new(angle.cos(), angle.sin());
    let across = Point::new(-along.y, along.x);
    let motion = Motion { along, across, origin: Point::default() };
    let element = RunElement { region: Vec::new(), motion, slide: across, chain: 0 };
    Tiling::Runs(Runs { elements: vec![element], cut: Cut::None })
}
