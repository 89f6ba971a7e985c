//! The face: which cells of the tiling the outline needs.

use stripwright_units::Length;

use crate::spec::{Point, TopSpec};

/// Where a piece of slab ends up in the face: a turn, perhaps a mirroring, and a shift.
///
/// A piece's own frame is that of the slab it is cut from: `u` along the strips, `v` across the laminations, both in
/// millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// Where a millimetre along `u` goes.
    pub along: Point,
    /// Where a millimetre along `v` goes.
    pub across: Point,
    /// Where the piece's own origin goes.
    pub origin: Point,
}

/// A band, block, wedge or quarter of the face: one piece cut off a slab.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    /// First lamination that it needs, in the numbering of its own slab (lamination 0 starts at v = 0).
    pub first: i64,
    /// How many laminations it is made of, from the first needed to the last.
    pub laminations: u32,
    /// Cut from a slab and turned over (half a turn about its own long axis).
    pub turned: bool,
    /// From its own frame to the face.
    pub motion: Motion,
    /// Which of [`Face::covers`] it is one of.
    pub cover: usize,
    /// Its convex shape in the face, cut off where nothing is needed any more.
    pub shape: Vec<Point>,
}

/// One lamination of one element: what the picture shows as one stripe.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// Index into [`Face::elements`].
    pub element: usize,
    /// Lamination, in the numbering of the element's own slab.
    pub lamination: i64,
    /// The caller's number of its kind of sheet goods.
    pub kind: usize,
    /// Convex corners, counterclockwise.
    pub polygon: Vec<Point>,
}

/// Elements that are cut alike, so that any of them may take the place of any other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cover {
    /// Indices into [`Face::elements`], ascending.
    pub elements: Vec<usize>,
    /// Spare ones a top, besides.
    pub spare: u32,
    /// How many are to be made for all tops: (elements + spare) times tops.
    pub count: u32,
}

/// A cell whose needed part is thinner than the mark: a splinter at the edge of the blank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sliver {
    /// Index into [`Face::cells`].
    pub cell: usize,
    /// How thick its needed part is, in millimetres across the lamination.
    pub thickness: f64,
}

/// How the phase came to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PhaseReason {
    /// The job held it.
    Held,
    /// Fewest laminations, and a lamination's edge, middle, or a block's symmetry point lies on the pin.
    Symmetric,
    /// Fewest laminations; no symmetric phase has as few. It lies in the middle of its range.
    Fewest,
}

/// The tiling as far as the outline needs it.
#[derive(Clone, Debug, PartialEq)]
pub struct Face {
    /// What was asked for.
    pub spec: TopSpec,
    /// Bands from left to right, blocks course by course, wedges counterclockwise.
    pub elements: Vec<Element>,
    /// All needed cells, by element and lamination.
    pub cells: Vec<Cell>,
    /// What is to be made, and how many.
    pub covers: Vec<Cover>,
    /// Shift in millimetres: along the band's edge (second number 0), or along and across the courses of blocks.
    pub phase: (f64, f64),
    /// Why that one.
    pub reason: PhaseReason,
    /// Needed parts thinner than the mark.
    pub slivers: Vec<Sliver>,
    /// Width of a band, for patterns of bands.
    pub band_width: Option<Length>,
    /// Width and length of a block, for patterns of blocks.
    pub block: Option<(Length, Length)>,
}

impl Face {
    /// Laminations of each element, in order: what `laminations[]` of a plan lists.
    pub fn laminations(&self) -> Vec<u32> {
        self.elements.iter().map(|e| e.laminations).collect()
    }
}
