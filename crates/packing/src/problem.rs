//! What is to be cut, from what, and how.

use stripwright_units::{Length, Money};

/// A whole cutting job: demands, sheets and the rules of the saw.
///
/// Two kinds of demand meet here. *Plain* demands are the `count` of each [`Piece`]. *Covers* are things that may be
/// had in several ways: each [`Make`] is one way, it uses pieces and yields covers, and choosing how often to use
/// each make is part of the same optimisation as the sheets. The crate does not know that a cover is a band and a
/// make a slab.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Problem {
    /// The sizes of piece, each with its plain demand.
    pub pieces: Vec<Piece>,
    /// The kinds of sheet that may be used.
    pub stocks: Vec<Stock>,
    /// What the makes must yield.
    pub covers: Vec<Cover>,
    /// The ways to yield it.
    pub makes: Vec<Make>,
    /// The rules of the saw.
    pub cutting: Cutting,
}

impl Problem {
    /// The most pieces of each size that a plan without surplus can need: the plain demand, and what the makes use
    /// when each is used as often as it alone would have to be to yield its covers. By index into `pieces`.
    ///
    /// A plan that uses a make more often can drop one use and still has every cover.
    pub fn most_needed(&self) -> Vec<u64> {
        let mut need: Vec<u64> = self.pieces.iter().map(|p| u64::from(p.count)).collect();
        for make in &self.makes {
            let most = self.most_uses(make);
            for &(piece, n) in &make.uses {
                if let Some(sum) = need.get_mut(piece) {
                    *sum = sum.saturating_add(u64::from(n).saturating_mul(most));
                }
            }
        }
        need
    }

    /// How often a plan without surplus can use a make: as often as the most wanting of its covers needs it.
    pub fn most_uses(&self, make: &Make) -> u64 {
        let wanted = |&(cover, n): &(usize, u32)| {
            self.covers.get(cover).map_or(0, |c| u64::from(c.count).div_ceil(u64::from(n.max(1))))
        };
        make.yields.iter().map(wanted).max().unwrap_or(0)
    }
}

/// One size of piece.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// What plans and messages call it.
    pub name: String,
    /// Extent along the sheet's length (x) when not turned.
    pub length: Length,
    /// Extent across the sheet (y) when not turned.
    pub width: Length,
    /// How many are wanted as they are, besides those that makes use.
    pub count: u32,
    /// Whether it may lie across the sheet, length along y.
    pub may_turn: bool,
    /// Which stocks it may be cut from: indices into [`Problem::stocks`], ascending.
    pub stocks: Vec<usize>,
}

/// One kind of sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stock {
    /// What plans and messages call it.
    pub name: String,
    /// Length as bought (x), trim included.
    pub length: Length,
    /// Width as bought (y), trim included.
    pub width: Length,
    /// What is cut away at each edge before anything else.
    pub trim: Trim,
    /// Price of one sheet; zero for an offcut on hand.
    pub price: Money,
    /// How many there are, if not any number.
    pub limit: Option<u32>,
}

impl Stock {
    /// Usable extent along x: between the trims.
    pub fn usable_length(&self) -> Length {
        self.length - self.trim.left - self.trim.right
    }

    /// Usable extent along y: between the trims.
    pub fn usable_width(&self) -> Length {
        self.width - self.trim.bottom - self.trim.top
    }
}

/// What is cut away at each edge of a sheet, saw kerf included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Trim {
    /// At x = 0.
    pub left: Length,
    /// At x = length.
    pub right: Length,
    /// At y = 0.
    pub bottom: Length,
    /// At y = width.
    pub top: Length,
}

/// Something that must be had `count` times in one way or another.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cover {
    /// What plans and messages call it.
    pub name: String,
    /// How many are wanted. More may be made; the answer then lists the surplus.
    pub count: u32,
}

/// One way to yield covers from pieces.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Make {
    /// What plans and messages call it.
    pub name: String,
    /// (index into [`Problem::covers`], how many), ascending, each index once.
    pub yields: Vec<(usize, u32)>,
    /// (index into [`Problem::pieces`], how many), ascending, each index once.
    pub uses: Vec<(usize, u32)>,
}

/// Which way a cut runs, or a strip lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Direction {
    /// A rip: parallel to the sheet's length (x). Rips stack strips along y.
    Rip,
    /// A crosscut: parallel to the sheet's width (y). Crosscuts set panels along x.
    Crosscut,
}

/// Which direction the first cuts of a sheet may take.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum First {
    /// Rips only.
    Rip,
    /// Crosscuts only.
    Crosscut,
    /// Each layout its own choice.
    #[default]
    Either,
}

/// The rules of the saw.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cutting {
    /// Direction of the first cuts.
    pub first: First,
    /// 2 or 3 alternations of direction. A last trimming cut of a piece smaller than its place is always allowed
    /// and not counted.
    pub stages: u8,
    /// Wood lost to one rip.
    pub rip_kerf: Length,
    /// Wood lost to one crosscut.
    pub crosscut_kerf: Length,
    /// The longest rip the shop can make, if that matters: no rip cut, trimming rips included, is longer. A region
    /// is ripped from end to end, so this limits the extent along x of every region that is ripped. To be safe
    /// every piece is taken to need a rip: no region that holds pieces but no crosscut is longer either.
    pub longest_rip: Option<Length>,
    /// How far the fence can stand from the blade, if that matters. A kept strip (or piece, or panel: whatever a rip
    /// gives) of width `w` is allowed on a sheet of usable width `W` when `w` is within reach, or when all that lies
    /// beside it (`W - w - rip kerf`) is: the fence then stands on the other side and the kept strip is what is left.
    pub fence_reach: Option<Length>,
    /// The narrowest rip that is safe, if that matters: nothing kept has a smaller extent across the sheet (y),
    /// except where it takes the whole usable width and no rip is needed.
    pub smallest_rip: Option<Length>,
    /// An offcut at least this long and wide is worth keeping (length, width, either way round).
    pub useful_offcut: Option<(Length, Length)>,
}

impl Default for Cutting {
    fn default() -> Self {
        Cutting {
            first: First::Either,
            stages: 3,
            rip_kerf: Length::ZERO,
            crosscut_kerf: Length::ZERO,
            longest_rip: None,
            fence_reach: None,
            smallest_rip: None,
            useful_offcut: None,
        }
    }
}
