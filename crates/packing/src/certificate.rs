//! Why no plan is cheaper: prices that anyone can check.
//!
//! Put a price on every piece such that no layout of any sheet holds pieces worth more than the sheet costs, and no
//! make yields covers worth more than the pieces it uses. Then the plan must pay at least the price of everything
//! demanded. Prices are whole numbers: minor units of money times [`Certificate::scale`].
//!
//! Where one set of prices is not enough, the certificate splits the possible purchases into [`Leaf`]s, each a box
//! of sheet counts with prices of its own; the boxes together hold every purchase cheaper than the bound.
//!
//! A purchase may hold everything in fractions and still not in whole numbers. Then its box has several leaves, one for
//! each case of what a plan has a whole number of ([`Fork`]): at most three strips of a width, or more. Each has prices of
//! its own, and the price of a fork is charged, or paid, for each one counted.

use stripwright_units::Length;

use crate::problem::Direction;

/// The proof of a lower bound.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Certificate {
    /// Prices are in minor units of money divided by this.
    pub scale: i64,
    /// True when the prices hold for *proper* layouts only. A strip is the last run of places cut side by side, along
    /// x where the last counted cuts are crosscuts, along y where they are rips; a panel is what strips are cut from
    /// side by side (with two stages the sheet). In a proper layout a strip holds no more of a size, in either
    /// orientation, than the whole plan can need of it ([`crate::Problem::most_needed`]); and a panel holds no more
    /// strips of one width than all the pieces that have just that width, as they may lie, are needed: each strip is
    /// as wide as its widest piece. Pieces beyond that would be surplus and can be left out, so the bound still
    /// holds for every plan.
    pub proper: bool,
    /// One leaf without branches, or several whose boxes hold every purchase below the bound.
    pub leaves: Vec<Leaf>,
}

/// Prices that hold within one box of sheet counts.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Leaf {
    /// The box: how the counts of sheets are confined, besides the stocks' own limits.
    pub branches: Vec<Branch>,
    /// `y_r >= 0`: worth of one piece of each size, by index into `Problem::pieces`.
    pub pieces: Vec<i64>,
    /// `w_i >= 0`: worth of one of each cover, by index into `Problem::covers`.
    pub covers: Vec<i64>,
    /// `mu_j >= 0`: what one more sheet above the upper limit would be worth, by index into `Problem::stocks`.
    pub upper: Vec<i64>,
    /// `nu_j >= 0`: what being made to take a sheet costs (lower limits of the box), by index into `Problem::stocks`.
    pub lower: Vec<i64>,
    /// Which of several cases within the box this is, from the first fork on. The leaves of one box are all sides of
    /// all forks: a tree that holds every plan.
    pub forks: Vec<Fork>,
}

/// One side of a case distinction by something that every plan has a whole number of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fork {
    /// What is counted.
    pub count: Count,
    /// The plan has at most so many ...
    pub at: u32,
    /// ... or, where this is true, more.
    pub more: bool,
    /// `p >= 0`: what one more would be worth where there are at most so many; what being made to have one costs where
    /// there are more.
    pub price: i64,
}

/// What is counted in a plan of proper layouts in two stages ([`Certificate::proper`]), pieces lying in their strips the
/// shorter way wherever both ways fit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Count {
    /// On sheets of which kinds, by ascending index into `Problem::stocks`.
    pub stocks: Vec<usize>,
    /// On sheets whose first cuts are these: strips are rips, or panels between crosscuts.
    pub first: Direction,
    /// What on them.
    pub what: Counted,
}

/// What is counted on a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Counted {
    /// The sheet itself.
    Sheets,
    /// Strips just so wide: that is the width of their widest piece.
    Strips {
        /// Across the strip.
        width: Length,
    },
    /// Pieces in strips just so wide.
    Pieces {
        /// Across the strip.
        width: Length,
        /// Which pieces, by ascending index into `Problem::pieces`.
        pieces: Vec<usize>,
    },
}

/// One side of a box: between `least` and `most` sheets of this stock are bought.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Branch {
    /// Index into `Problem::stocks`.
    pub stock: usize,
    /// At least so many.
    pub least: u32,
    /// At most so many; `None` is no limit beyond the stock's own.
    pub most: Option<u32>,
}
