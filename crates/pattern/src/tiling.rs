//! What a pattern is: pieces of slab and where they lie, before the outline and the phase have their say.
//!
//! Each module of `patterns` answers with one of two forms. *Runs* are pieces across which laminations run through,
//! as many as the outline needs: bands, wedges, a whole slab. *Blocks* are rectangles of a fixed number of
//! laminations, repeated over a lattice.

use stripwright_units::{Angle, Length};

use crate::face::Motion;
use crate::geometry::Half;
use crate::spec::{Lay, Point};

/// A pattern laid out over the grown outline, at phase nought.
#[derive(Clone, Debug)]
pub(crate) enum Tiling {
    Runs(Runs),
    Blocks(Blocks),
}

/// Pieces across which laminations run through.
#[derive(Clone, Debug)]
pub(crate) struct Runs {
    /// From left to right, then chain by chain.
    pub(crate) elements: Vec<RunElement>,
    /// How they are cut off their slab.
    pub(crate) cut: Cut,
}

/// One such piece.
#[derive(Clone, Debug)]
pub(crate) struct RunElement {
    /// Its place in the face: the half planes that bound it.
    pub(crate) region: Vec<Half>,
    /// From its own frame to the face, at phase nought.
    pub(crate) motion: Motion,
    /// Where its own frame moves for a phase of 1 mm across the laminations: along the edge it is cut on.
    pub(crate) slide: Point,
    /// Elements of one chain that follow each other may come from one slab.
    pub(crate) chain: usize,
}

/// How pieces are cut off a slab.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Cut {
    /// Not at all: the slab is the blank.
    None,
    /// Parallel cuts at an angle to the laminations, so far apart.
    Bias { angle: Angle, width: Length },
    /// Parallel cuts as well, and each piece trimmed square at one end.
    HalfBias { angle: Angle, width: Length },
    /// Wedges with this angle between their middle line and their sides.
    Wedge { half: Angle, lay: Lay },
}

impl Cut {
    /// Phase along the cut edge for a phase of 1 mm across the laminations.
    pub(crate) fn slant(self) -> f64 {
        match self {
            Cut::Bias { angle, .. } | Cut::HalfBias { angle, .. } => 1.0 / angle.sin(),
            Cut::None | Cut::Wedge { .. } => 1.0,
        }
    }
}

/// Rectangles over a lattice.
#[derive(Clone, Debug)]
pub(crate) struct Blocks {
    /// The lattice's two steps, before turning.
    pub(crate) steps: [Point; 2],
    /// Blocks at each lattice point: lower left corner, and whether the long side stands along y. Together they hold
    /// every point of the plane once, up to steps.
    pub(crate) places: Vec<(Point, bool)>,
    /// Short and long side.
    pub(crate) width: Length,
    pub(crate) length: Length,
    /// Laminations in a block, and which way they lie.
    pub(crate) laminations: u32,
    pub(crate) lay: Lay,
    /// The whole tiling is turned: where its x and y axes point. (Kept as vectors: every block tried is turned.)
    pub(crate) axes: [Point; 2],
}

impl Blocks {
    /// Extent of the block at a place, before turning.
    pub(crate) fn size(&self, upright: bool) -> Point {
        let (w, l) = (self.width.to_mm(), self.length.to_mm());
        if upright { Point::new(w, l) } else { Point::new(l, w) }
    }

    /// From before turning to the face.
    pub(crate) fn turned(&self, p: Point) -> Point {
        self.axes[0].times(p.x).plus(self.axes[1].times(p.y))
    }

    /// From the face to before turning.
    pub(crate) fn turned_back(&self, p: Point) -> Point {
        Point::new(self.axes[0].dot(p), self.axes[1].dot(p))
    }

    /// Side of a block across its laminations, and along them.
    pub(crate) fn stack_and_run(&self) -> (Length, Length) {
        match self.lay {
            Lay::Along => (self.width, self.length),
            Lay::Across => (self.length, self.width),
        }
    }

    /// From a block's own frame (corner at the origin, laminations along u) to the face, its lower left corner being
    /// at `corner` before turning.
    pub(crate) fn motion(&self, corner: Point, upright: bool) -> Motion {
        // The strips run along x when a lying block has them along its length, or a standing one across it.
        let along_x = upright == (self.lay == Lay::Across);
        let (along, across, origin) = if along_x {
            (Point::new(1.0, 0.0), Point::new(0.0, 1.0), corner)
        } else {
            // A quarter turn: u up, v to the left, from the lower right corner.
            (Point::new(0.0, 1.0), Point::new(-1.0, 0.0), corner.plus(Point::new(self.size(upright).x, 0.0)))
        };
        Motion { along: self.turned(along), across: self.turned(across), origin: self.turned(origin) }
    }
}

impl Motion {
    /// No motion.
    pub const STILL: Motion =
        Motion { along: Point::new(1.0, 0.0), across: Point::new(0.0, 1.0), origin: Point::new(0.0, 0.0) };

    /// Where a point of the piece's own frame goes.
    pub fn apply(&self, p: Point) -> Point {
        self.origin.plus(self.along.times(p.x)).plus(self.across.times(p.y))
    }

    /// First `other`, then this.
    pub fn after(&self, other: &Motion) -> Motion {
        let turn = |d: Point| self.along.times(d.x).plus(self.across.times(d.y));
        Motion { along: turn(other.along), across: turn(other.across), origin: self.apply(other.origin) }
    }

    /// Whether the piece shows its other face: the motion mirrors the plane.
    pub fn mirrors(&self) -> bool {
        self.along.cross(self.across) < 0.0
    }

    /// Distance of a point of the face across the laminations, in the piece's own frame.
    pub(crate) fn v_of(&self, p: Point) -> f64 {
        self.across.dot(p.minus(self.origin))
    }
}
