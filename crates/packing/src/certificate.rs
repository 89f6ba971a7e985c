//! Why no plan is cheaper: prices that anyone can check.
//!
//! Put a price on every piece such that no layout of any sheet holds pieces worth more than the sheet costs, and no
//! make yields covers worth more than the pieces it uses. Then the plan must pay at least the price of everything
//! demanded. Prices are whole numbers: minor units of money times [`Certificate::scale`].
//!
//! Where one set of prices is not enough, the certificate splits the possible purchases into [`Leaf`]s, each a box
//! of sheet counts with prices of its own; the boxes together hold every purchase cheaper than the bound.

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
