//! What is asked for: plain data, nothing computed.

use stripwright_units::{Angle, Length};

/// A point of the plane, in millimetres from the centre pin; x to the right, y up (bands run along y).
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Up.
    pub y: f64,
}

/// One kind of top and how many of it.
#[derive(Clone, Debug, PartialEq)]
pub struct TopSpec {
    /// How many alike.
    pub count: u32,
    /// The finished plan shape.
    pub outline: Outline,
    /// What the blank must show all round the outline: its every point within this of the outline.
    pub margin: Length,
    /// The tiling.
    pub pattern: Pattern,
    /// What the slabs are laminated from.
    pub sequence: Sequence,
    /// Thickness of the finished top.
    pub finished: Length,
    /// Which makes of slab may be chosen from.
    pub slab: SlabStyle,
    /// Whether the strips of a slab that is cut on the bias are each slid past their neighbour.
    pub staggered: bool,
    /// Spare bands (or blocks) a top, of the kind with the most laminations.
    pub spare: u32,
    /// Where the laminations lie.
    pub phase: Phase,
}

/// The finished plan shape, centred on the pin (a free polygon lies where its points say).
#[derive(Clone, Debug, PartialEq)]
pub enum Outline {
    /// A disc.
    Round {
        /// Its diameter.
        diameter: Length,
    },
    /// An ellipse, `length` along x and `width` along y.
    Oval {
        /// Full extent along x.
        length: Length,
        /// Full extent along y.
        width: Length,
    },
    /// `length` along x and `width` along y.
    Rectangle {
        /// Full extent along x.
        length: Length,
        /// Full extent along y.
        width: Length,
    },
    /// A rectangle with its corners rounded.
    RoundedRectangle {
        /// Full extent along x.
        length: Length,
        /// Full extent along y.
        width: Length,
        /// Radius of each corner.
        radius: Length,
    },
    /// A regular polygon with one side at the bottom, parallel to x.
    Polygon {
        /// How many sides, 3 or more.
        sides: u32,
        /// Its size.
        size: Across,
    },
    /// Any polygon that does not cross itself, either way round, at least three corners.
    Free {
        /// (x, y) of its corners.
        points: Vec<(Length, Length)>,
    },
}

/// How the size of a regular polygon is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Across {
    /// Diameter of the circle that all sides touch: for an even number of sides the distance between opposite flats.
    Flats(Length),
    /// Diameter of the circle through the corners.
    Corners(Length),
}

/// The tiling of the face.
#[derive(Clone, Debug, PartialEq)]
pub enum Pattern {
    /// One slab, no second glue-up.
    Straight {
        /// From the x axis (the outline's length) to the laminations, anticlockwise: 0 runs along the length.
        angle: Angle,
    },
    /// Bands along y, every other one turned over.
    Chevron {
        /// Between the laminations and the band's edge, 15 to 75 degrees.
        angle: Angle,
        /// Width or number of bands.
        bands: BandSize,
        /// What lies on the pin. `None`: a seam, or what a number of bands calls for.
        centre: Option<Centre>,
    },
    /// Chevron bands parted along the x axis and mirrored there as well, so that the laminations close into diamonds
    /// round the pin.
    Diamond {
        /// Between the laminations and the y axis, 15 to 75 degrees.
        angle: Angle,
        /// Width or number of bands from side to side. `None`: two, which makes four quarters.
        bands: Option<BandSize>,
    },
    /// Wedges round the pin, all alike; the first joint runs along x.
    Sunburst {
        /// How many, 3 to 72.
        wedges: u32,
        /// Laminations along the middle line of each wedge (rays) or across it (nested polygons).
        lay: Lay,
    },
    /// Blocks `width x length` in pairs at right angles, turned 45 degrees so that the zigzag runs along y.
    Herringbone {
        /// Short side of a block.
        width: Side,
        /// Long side of a block; not less than the short.
        length: Side,
        /// Laminations along or across the long side.
        lay: Lay,
    },
    /// Blocks in courses, each course set over by a share of a block.
    RunningBond {
        /// Side of a block across the course.
        width: Side,
        /// Side of a block along the course.
        length: Side,
        /// Laminations along or across the long side.
        lay: Lay,
        /// Each course is set over by `offset.0 / offset.1` of a block: (1, 2) for half bond.
        offset: (u32, u32),
        /// From the x axis to the courses, anticlockwise.
        turn: Angle,
    },
    /// Squares of parallel blocks, neighbours at right angles.
    BasketWeave {
        /// Short side of a block.
        width: Side,
        /// Blocks a square: a block is `width * blocks` long.
        blocks: u32,
        /// Laminations along or across the long side.
        lay: Lay,
        /// From the x axis, anticlockwise.
        turn: Angle,
    },
}

/// A side of a block. The side that the laminations stack up along has to be whole runs of the sequence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Given as a length.
    Given(Length),
    /// So many laminations thick.
    Laminations(u32),
}

/// Which way laminations lie in a block or wedge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Lay {
    /// Along its long side (or its middle line).
    #[default]
    Along,
    /// Across it.
    Across,
}

/// How bands are sized.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BandSize {
    /// Width of a band.
    Width(Length),
    /// This many bands; the width follows, rounded up to the mark.
    Number(u32),
}

/// What lies on the centre pin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Centre {
    /// A joint of two bands; an even number of bands.
    Seam,
    /// The middle of a band; an odd number.
    Band,
}

/// Which makes of slab may be chosen from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum SlabStyle {
    /// All strips of a slab alike.
    Even,
    /// Each strip as long as its own run of bands needs.
    Shaped,
    /// Whichever serves.
    #[default]
    Either,
}

/// Where the laminations (or blocks) lie against the pin.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub enum Phase {
    /// Fewest laminations, then symmetry.
    #[default]
    Free,
    /// Held: shift along the band's edge (or the course), and across the course for blocks, in millimetres.
    Held(f64, f64),
}

/// What a slab is laminated from, over and over.
#[derive(Clone, Debug, PartialEq)]
pub struct Sequence {
    /// The repeating run of laminations; one for an ordinary slab.
    pub laminations: Vec<Lamination>,
    /// Thickness of one glue line.
    pub glue_line: Length,
}

/// One lamination of a sequence.
#[derive(Clone, Debug, PartialEq)]
pub struct Lamination {
    /// The caller's number for this kind of sheet goods.
    pub kind: usize,
    /// Its actual (measured) thickness.
    pub thickness: Length,
    /// The longest strip that its sheets give, trim taken off.
    pub longest: Length,
}
