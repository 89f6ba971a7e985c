//! What the shop does to the material, in order, with settings: the one description that counts, steps and the
//! picture are made from.

use stripwright_units::{Angle, Length};

use crate::face::Motion;
use crate::makes::{SlabStrip, StripSize};

/// One thing the shop does.
#[derive(Clone, Debug, PartialEq)]
pub enum Operation {
    /// Rip sheets into strips (and cut them to length).
    Rip {
        /// Fence setting: the strip's depth.
        fence: Length,
        /// (size, how many).
        strips: Vec<(StripSize, u32)>,
    },
    /// Glue strips face to face into a slab.
    Laminate {
        /// Which slab: index into [`Route::slabs`].
        slab: usize,
        /// How many slabs alike.
        times: u32,
        /// How far each strip is slid past the one below, in millimetres along the strips; 0 for square slabs.
        stagger: f64,
        /// Strips glued up at a time, within the open time.
        section: u32,
    },
    /// Plane both faces of a slab, as so many sub-slabs.
    PlaneSlab {
        /// Index into [`Route::slabs`].
        slab: usize,
        /// Before.
        from: Length,
        /// After.
        to: Length,
        /// Passes, both faces together, of one sub-slab.
        passes: u32,
        /// How many sub-slabs.
        sub_slabs: u32,
    },
    /// Join planed sub-slabs edge to edge.
    JoinSubSlabs {
        /// Index into [`Route::slabs`].
        slab: usize,
        /// Joints a slab.
        joints: u32,
    },
    /// Cut bands or blocks off a slab.
    CutBands {
        /// Index into [`Route::slabs`].
        slab: usize,
        /// Between the strips and the cut: the angle at the band's edge.
        angle: Angle,
        /// How far the saw is turned from square.
        from_square: Angle,
        /// Width of a band, measured square to the cut. `None` for wedges, where each cut turns the other way.
        width: Option<Length>,
        /// How many bands from one slab.
        bands: u32,
        /// How many cuts: one more than bands.
        cuts: u32,
    },
    /// Cut the square end of each half band of a diamond, or the sides of a wedge.
    TrimBands {
        /// How far the saw is turned from square to the band's edge.
        from_square: Angle,
        /// How many pieces.
        pieces: u32,
    },
    /// Turn these over, half a turn about their long axis.
    TurnOver {
        /// Indices of elements of the face.
        elements: Vec<usize>,
    },
    /// Set each element in its place: bands slide along their joints until laminations meet.
    Slide {
        /// (element, millimetres along its own edge, up), where it is not 0.
        by: Vec<(usize, f64)>,
    },
    /// Glue elements edge to edge into the blank, in this order.
    GlueBlank {
        /// Indices of elements of the face.
        order: Vec<usize>,
        /// Elements glued up at a time.
        section: u32,
    },
    /// Plane both faces of the blank.
    PlaneBlank {
        /// Before.
        from: Length,
        /// After.
        to: Length,
        /// Passes, both faces together, of one part.
        passes: u32,
    },
    /// Cut the outline round the centre pin.
    CutOutline {
        /// Pin to the near edge of the cutter, for a round outline.
        pin_radius: Option<Length>,
        /// Cutter.
        kerf: Length,
    },
    /// Sand both faces.
    Sand {
        /// Before.
        from: Length,
        /// After.
        to: Length,
    },
}

/// A slab as the route makes it.
#[derive(Clone, Debug, PartialEq)]
pub struct RouteSlab {
    /// Strips in their places.
    pub layers: Vec<SlabStrip>,
    /// What is cut off it, in order along the slab.
    pub cuts: Vec<RouteCut>,
}

/// A piece cut off a slab: the convex region of the slab's frame that it takes, and where it goes.
#[derive(Clone, Debug, PartialEq)]
pub struct RouteCut {
    /// Half planes `a*u + b*v <= c` that bound it, in the slab's frame.
    pub sides: Vec<[f64; 3]>,
    /// Which element it becomes; `None` for a spare.
    pub element: Option<usize>,
    /// From the slab's frame to the face.
    pub motion: Motion,
}

/// All that is done, in shop order, for one top of a kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Route {
    /// Operations in order.
    pub operations: Vec<Operation>,
    /// The slabs they speak of.
    pub slabs: Vec<RouteSlab>,
}
