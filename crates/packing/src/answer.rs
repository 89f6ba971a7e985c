//! What to buy and where every cut goes.

use stripwright_units::{Length, Money};

use crate::certificate::Certificate;
use crate::problem::{Direction, Problem};

/// A plan for a [`Problem`], with what is known about how good it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// Distinct layouts, each with how many sheets are cut that way, in a fixed order.
    pub layouts: Vec<Layout>,
    /// (index into [`Problem::makes`], how often), ascending, only makes that are used.
    pub makes: Vec<(usize, u32)>,
    /// Pieces cut beyond what is asked for: (index into [`Problem::pieces`], how many), ascending.
    pub spare: Vec<(usize, u32)>,
    /// Money for all sheets of the plan.
    pub money: Money,
    /// No plan at all costs less than this: what the certificate shows, raised to a sum of sheet prices.
    pub bound: Money,
    /// Why no plan costs less than [`Answer::bound`].
    pub certificate: Certificate,
    /// Work done, in the solver's own deterministic count.
    pub work: u64,
}

impl Answer {
    /// True when bound and plan meet. Only [`crate::audit`] makes this a claim.
    pub fn is_tight(&self) -> bool {
        self.bound == self.money
    }

    /// How many sheets of each stock the plan uses, by stock index.
    pub fn sheets(&self, problem: &Problem) -> Vec<u32> {
        let mut used = vec![0; problem.stocks.len()];
        for layout in &self.layouts {
            used[layout.stock] += layout.times;
        }
        used
    }
}

/// One sheet with every cut on it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layout {
    /// Index into [`Problem::stocks`].
    pub stock: usize,
    /// How many sheets are cut this way.
    pub times: u32,
    /// The usable part of the sheet and how it is divided.
    pub root: Region,
}

/// A rectangle of a sheet, in the coordinates of the sheet as bought (trim included).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Region {
    /// Distance from the sheet's left end (x).
    pub x: Length,
    /// Distance from the sheet's lower edge (y).
    pub y: Length,
    /// Extent along x.
    pub length: Length,
    /// Extent along y.
    pub width: Length,
    /// What becomes of it.
    pub within: Within,
}

/// What becomes of a region.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Within {
    /// Cut in one direction into these, in order of x or y, neighbours one kerf apart; what remains after the last
    /// is in the list too, as an [`Within::Offcut`], where it is wider than nothing after its kerf.
    Cut(Direction, Vec<Region>),
    /// This piece lies at the region's corner nearest the origin; where it is smaller, it is trimmed to size once.
    Piece {
        /// Index into [`Problem::pieces`].
        piece: usize,
        /// True when its length runs along y.
        turned: bool,
    },
    /// Left over.
    Offcut,
}

/// A piece in its place on the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Placed {
    /// Index into [`Problem::pieces`].
    pub piece: usize,
    /// Distance of its corner from the sheet's left end.
    pub x: Length,
    /// Distance of its corner from the sheet's lower edge.
    pub y: Length,
    /// Its extent along x, as it lies.
    pub length: Length,
    /// Its extent along y, as it lies.
    pub width: Length,
    /// True when the piece's own length runs along y.
    pub turned: bool,
}

/// One saw cut of a layout, in sawing order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cut {
    /// Rip or crosscut.
    pub direction: Direction,
    /// 1 for the first cuts of the sheet, 2 for the cuts of what these gave, and so on; trimming cuts come last.
    pub stage: u8,
    /// Near side of the kerf: y of a rip, x of a crosscut.
    pub at: Length,
    /// Where the cut begins along its own direction.
    pub from: Length,
    /// Where it ends.
    pub to: Length,
}
