//! Every slab worth making, and the strips it takes.

use stripwright_units::Length;

/// A size of strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StripSize {
    /// The caller's number of its kind of sheet goods.
    pub kind: usize,
    /// Its length, on the mark.
    pub length: Length,
    /// Its depth: the width it is ripped to, on the mark.
    pub depth: Length,
}

impl StripSize {
    /// A name that stays the same as long as the size does: `1062.5 x 36`, with the kind where it is not 0.
    pub fn id(&self) -> String {
        let size = format!("{} x {}", self.length.mm_digits(), self.depth.mm_digits());
        if self.kind == 0 { size } else { format!("{size} of {}", self.kind) }
    }
}

/// One strip in its place in a slab.
#[derive(Clone, Debug, PartialEq)]
pub struct SlabStrip {
    /// What to cut.
    pub size: StripSize,
    /// Lamination number in the slab, from the bottom.
    pub lamination: i64,
    /// Where its near end lies along the slab, in millimetres: grows by the stagger from strip to strip.
    pub start: f64,
    /// Which of the slab's places (bands in cutting order) it reaches: first and last.
    pub places: (usize, usize),
}

/// What kind of make.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum MakeStyle {
    /// All strips alike.
    Even,
    /// Each strip as long as its own run of bands needs.
    Shaped,
}

/// One way to make a slab.
#[derive(Clone, Debug, PartialEq)]
pub struct SlabMake {
    /// Even or shaped.
    pub style: MakeStyle,
    /// The elements it is made for, in cutting order: a run of neighbouring bands, or so many blocks. Any element of
    /// the same cover serves as well.
    pub elements: Vec<usize>,
    /// (index into [`Face::covers`](crate::Face::covers), how many), ascending.
    pub yields: Vec<(usize, u32)>,
    /// (size, how many), longest first within a kind.
    pub strips: Vec<(StripSize, u32)>,
    /// Every strip in its place, from lamination to lamination.
    pub layers: Vec<SlabStrip>,
    /// Breadth across the laminations.
    pub breadth: Length,
    /// How many sub-slabs it is planed as before they are joined: 1 where the planer takes it whole.
    pub sub_slabs: u32,
    /// True where the strips are longer than the bands need, because the planer does not feed less.
    pub lengthened: bool,
}
