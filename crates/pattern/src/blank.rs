//! The blank as it is glued up: whole pieces, with what of them the outline needs and what it does not.

use std::collections::BTreeMap;

use stripwright_units::Length;

use crate::face::{Cutting, Face};
use crate::geometry::{hull, range};
use crate::makes::SlabMake;
use crate::route::BuiltCell;
use crate::spec::{Lay, Point};
use crate::tiling::Cut;
use crate::unroll::{Slab, Unrolled};

/// Extents of a glued-up blank before its outline is cut; of several tops the largest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Blank {
    /// In the face, from left to right and from bottom to top.
    pub size: (Length, Length),
    /// Across the feed of a planer. Bands and straight laminations are fed lengthwise, anything else the long way.
    pub across: Length,
    /// Along the feed.
    pub along: Length,
    /// The widest that it is pressed: square to its joints.
    pub pressed: Length,
}

/// A piece in its place in a blank.
pub(crate) struct Laid {
    pub(crate) top: u32,
    pub(crate) element: usize,
    pub(crate) polygon: Vec<Point>,
}

impl Face {
    /// Every piece of every blank, whole.
    pub(crate) fn laid(&self, makes: &[SlabMake], slabs: &[Slab]) -> Vec<Laid> {
        let mut laid = Vec::new();
        for slab in slabs {
            for (place, piece) in slab.pieces.iter().enumerate() {
                if let Some((top, element)) = *piece {
                    let polygon = self.piece(&makes[slab.make], place, element);
                    laid.push(Laid { top, element, polygon });
                }
            }
        }
        laid
    }

    /// The convex outline of one piece in the face, as it is glued in: round all that is built of its laminations. Where no cut
    /// bounds these they end in steps, each an allowance beyond what is needed of it.
    fn piece(&self, make: &SlabMake, place: usize, element: usize) -> Vec<Point> {
        hull(self.build(make, place, element).into_iter().flat_map(|c| c.polygon).collect())
    }

    /// Whether cuts bound every lamination of a piece on both sides, so that it is as the face has it; else laminations run out past
    /// what is needed of them.
    fn between_cuts(&self) -> bool {
        matches!(
            self.cutting,
            Cutting::Blocks(_)
                | Cutting::Runs(
                    Cut::Bias { .. } | Cut::HalfBias { .. } | Cut::Wedge { lay: Lay::Across, .. }
                )
        )
    }

    /// Extents of the blank that these pieces make.
    pub(crate) fn blank(&self, laid: &[Laid]) -> Blank {
        let corners = || laid.iter().flat_map(|piece| &piece.polygon);
        let extent = |towards: Point| {
            let (low, high) = range(corners().map(|p| towards.dot(*p)));
            Length::nearest_mm((high - low).max(0.0))
        };
        let (x, y) = (extent(Point::new(1.0, 0.0)), extent(Point::new(0.0, 1.0)));
        let (across, along) = match (&self.cutting, self.elements.first()) {
            (Cutting::Runs(Cut::None), Some(slab)) => (extent(slab.motion.across), extent(slab.motion.along)),
            _ if self.band_width.is_some() => (x, y),
            _ => (x.min(y), x.max(y)),
        };
        let pressed = match (&self.cutting, self.elements.first()) {
            // Blocks meet side to side and end to end, halves on the middle line besides.
            (Cutting::Blocks(_), Some(block)) => extent(block.motion.along).max(extent(block.motion.across)),
            (Cutting::Runs(Cut::HalfBias { .. }), _) => x.max(y),
            _ => across,
        };
        Blank { size: (x, y), across, along, pressed }
    }
}

impl Unrolled {
    /// All laminations of a blank as they are glued in, those first that the outline needs, in the order of the face's cells;
    /// the others come along because blocks and bands are whole. Where blanks of one spec differ, those of all of them.
    pub fn as_laid(&self, face: &Face, makes: &[SlabMake]) -> [Vec<BuiltCell>; 2] {
        let mut built: BTreeMap<(usize, i64), BuiltCell> = BTreeMap::new();
        for cell in (0..face.spec.count).flat_map(|top| self.built(face, makes, top)) {
            built.entry((cell.element, cell.lamination)).or_insert(cell);
        }
        let needed = face.cells.iter().map(|cell| {
            let own = built.remove(&(cell.element, cell.lamination)).filter(|_| !face.between_cuts());
            own.unwrap_or_else(|| BuiltCell {
                element: cell.element,
                lamination: cell.lamination,
                kind: cell.kind,
                polygon: cell.polygon.clone(),
            })
        });
        let needed = needed.collect();
        [needed, built.into_values().collect()]
    }
}
