//! What an audit finds wrong, with its wording in one place.

use std::fmt;

use stripwright_units::{Length, Money};

use crate::problem::Direction;

/// One thing wrong with a claim. Layouts are counted from 1, as on the drawings.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Objection {
    /// A number of the problem itself is outside what can be audited.
    Unusable {
        /// What it is, such as `the price of sheet `birch``.
        what: String,
        /// What was found and what is allowed.
        found: String,
    },
    /// There is more of something than the audit is built to look at.
    TooMany {
        /// What there is too much of.
        what: &'static str,
        /// How many there are.
        found: u64,
        /// How many there may be.
        most: u64,
    },
    /// An index or a list does not belong to the problem.
    Mismatch {
        /// Which list or index.
        what: String,
        /// What was found.
        found: u64,
        /// What the problem has.
        expected: u64,
    },
    /// A layout that no sheet is cut by.
    UnusedLayout {
        /// Which layout.
        layout: usize,
    },
    /// A piece on a sheet it may not be cut from.
    WrongSheet {
        /// Which layout.
        layout: usize,
        /// The piece's name.
        piece: String,
        /// The sheet's name.
        stock: String,
    },
    /// A piece that lies across although it may not.
    Turned {
        /// Which layout.
        layout: usize,
        /// The piece's name.
        piece: String,
    },
    /// A placed piece that has not the size of its kind.
    WrongSize {
        /// Which layout.
        layout: usize,
        /// The piece's name.
        piece: String,
        /// Extents along x and y as placed.
        found: (Length, Length),
        /// Extents along x and y as they should be.
        expected: (Length, Length),
    },
    /// A piece that reaches outside the usable sheet.
    Outside {
        /// Which layout.
        layout: usize,
        /// The piece's name.
        piece: String,
        /// Its corner nearest the origin.
        at: (Length, Length),
    },
    /// A piece that needs a rip longer than the shop can make.
    RipTooLong {
        /// Which layout.
        layout: usize,
        /// The piece's name.
        piece: String,
        /// How long the rip is.
        found: Length,
        /// The longest rip.
        most: Length,
    },
    /// A piece that needs a rip narrower than is safe.
    RipTooNarrow {
        /// Which layout.
        layout: usize,
        /// The piece's name.
        piece: String,
        /// How wide it is.
        found: Length,
        /// The narrowest safe rip.
        least: Length,
    },
    /// A piece that the fence cannot be set for.
    FenceTooNear {
        /// Which layout.
        layout: usize,
        /// The piece's name.
        piece: String,
        /// How wide it is.
        found: Length,
        /// How far the fence reaches.
        reach: Length,
    },
    /// Two pieces in the same place.
    Overlap {
        /// Which layout.
        layout: usize,
        /// One piece's name.
        one: String,
        /// The other's.
        other: String,
    },
    /// Pieces that no allowed run of cuts sets free.
    NotSawable {
        /// Which layout.
        layout: usize,
        /// Direction of the first cuts that were tried.
        first: Direction,
        /// How many stages are allowed.
        stages: u8,
        /// One piece that stays joined to others.
        piece: String,
        /// How many pieces stay joined.
        joined: usize,
    },
    /// A piece that would need more than its one trimming cut.
    NotTrimmable {
        /// Which layout.
        layout: usize,
        /// Direction of the first cuts that were tried.
        first: Direction,
        /// The piece's name.
        piece: String,
    },
    /// The tree of cuts of a layout is not what the cutting rules allow.
    Tree {
        /// Which layout.
        layout: usize,
        /// What is wrong with it.
        fault: TreeFault,
    },
    /// Fewer pieces than wanted.
    Short {
        /// The piece's name.
        piece: String,
        /// How many the layouts give.
        found: u128,
        /// How many are wanted, makes included.
        wanted: u128,
    },
    /// The surplus is not what the spare list says.
    Spare {
        /// The piece's name.
        piece: String,
        /// How many the spare list has.
        listed: u128,
        /// How many are left over.
        surplus: u128,
    },
    /// A cover that the makes do not yield often enough.
    Uncovered {
        /// The cover's name.
        cover: String,
        /// How many the makes yield.
        found: u128,
        /// How many are wanted.
        wanted: u128,
    },
    /// More sheets than there are.
    OverLimit {
        /// The sheet's name.
        stock: String,
        /// How many the layouts use.
        found: u128,
        /// How many there are.
        limit: u32,
    },
    /// The money claimed is not the sum of the sheets.
    Sum {
        /// As claimed.
        claimed: Money,
        /// As summed, in minor units.
        found: i128,
    },
    /// The bound claimed is above the money of the plan itself.
    BoundAboveMoney {
        /// The bound.
        bound: Money,
        /// The money.
        money: Money,
    },
    /// Said to be proven although bound and money differ.
    NotProven {
        /// The bound.
        bound: Money,
        /// The money.
        money: Money,
    },
    /// A price in the certificate is below zero.
    NegativePrice {
        /// Which leaf, counted from 1.
        leaf: usize,
        /// What it is the price of.
        what: String,
        /// The price.
        found: i64,
    },
    /// A sheet has a price for more of it although there is no limit on it.
    NoLimitToPrice {
        /// Which leaf, counted from 1.
        leaf: usize,
        /// The sheet's name.
        stock: String,
    },
    /// A make yields covers that are worth more than the pieces it uses.
    MakeTooDear {
        /// Which leaf, counted from 1.
        leaf: usize,
        /// The make's name.
        make: String,
        /// Worth of what it yields.
        yields: i128,
        /// Worth of what it uses.
        uses: i128,
    },
    /// A layout is worth more than its sheet costs.
    SheetTooCheap {
        /// Which leaf, counted from 1.
        leaf: usize,
        /// The sheet's name.
        stock: String,
        /// What some layout holds, at least.
        worth: i128,
        /// What the sheet costs, in the certificate's scale.
        cost: i128,
    },
    /// The prices of a leaf show less than the bound claimed.
    WeakLeaf {
        /// Which leaf, counted from 1.
        leaf: usize,
        /// What it shows, in minor units.
        shows: i128,
        /// What is claimed.
        claimed: Money,
    },
    /// Leaves of one box that leave a case of it out.
    CaseLeftOut {
        /// The first of them, counted from 1.
        leaf: usize,
        /// How many there are.
        leaves: usize,
    },
    /// A purchase below the bound that no leaf speaks about.
    Gap {
        /// How many of each sheet, by name; sheets of which none is bought are left out.
        purchase: Vec<(String, u64)>,
        /// The bound claimed.
        claimed: Money,
    },
    /// The check itself would take more work than the audit allows.
    TooMuchWork {
        /// What was being checked.
        what: String,
    },
}

/// What is wrong with a layout's tree of cuts.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum TreeFault {
    /// The root is not the usable sheet.
    Root,
    /// A region is cut in the direction in which it was just cut.
    SameDirection,
    /// More stages than allowed.
    Depth(u8),
    /// A cut into nothing.
    Empty,
    /// Neighbours that are not one kerf apart, or reach outside, or leave something out.
    Spacing(Direction),
    /// A region that is not as long or wide as the one it is cut from.
    Extent(Direction),
    /// A piece larger than its region, or smaller in both directions.
    Piece(String),
    /// An index of a piece that the problem does not have.
    NoSuchPiece(usize),
    /// A rip cut longer than the shop can make.
    RipTooLong(Length),
    /// A strip so wide that the fence reaches neither across it nor across what lies beside it.
    FenceReach(Length),
}

fn word(direction: Direction) -> &'static str {
    match direction {
        Direction::Rip => "rips",
        Direction::Crosscut => "crosscuts",
    }
}

impl fmt::Display for Objection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unusable { what, found } => write!(f, "{what} cannot be audited: {found}."),
            Self::TooMany { what, found, most } => {
                write!(f, "There are {found} {what}; at most {most} can be audited.")
            }
            Self::Mismatch { what, found, expected } => {
                write!(
                    f,
                    "{what} is {found}, but the problem has {expected}; the plan belongs to another job."
                )
            }
            Self::UnusedLayout { layout } => {
                write!(f, "Layout {layout} is cut from no sheet at all; leave it out.")
            }
            Self::WrongSheet { layout, piece, stock } => {
                write!(
                    f,
                    "Layout {layout} has piece `{piece}` on sheet `{stock}`, from which it may not be cut."
                )
            }
            Self::Turned { layout, piece } => {
                write!(
                    f,
                    "Layout {layout} has piece `{piece}` lying across, but its grain must follow the sheet."
                )
            }
            Self::WrongSize { layout, piece, found, expected } => write!(
                f,
                "Layout {layout} has piece `{piece}` at {} x {}, but it must be {} x {} as it lies.",
                found.0, found.1, expected.0, expected.1
            ),
            Self::Outside { layout, piece, at } => write!(
                f,
                "Layout {layout} has piece `{piece}` at x {}, y {}, where it reaches outside the usable sheet.",
                at.0, at.1
            ),
            Self::RipTooLong { layout, piece, found, most } => write!(
                f,
                "Layout {layout} needs a rip of {found} for piece `{piece}`, but the longest rip is {most}."
            ),
            Self::RipTooNarrow { layout, piece, found, least } => write!(
                f,
                "Layout {layout} needs a rip of {found} for piece `{piece}`, but the narrowest safe rip is {least}."
            ),
            Self::FenceTooNear { layout, piece, found, reach } => write!(
                f,
                "Layout {layout} needs a rip of {found} for piece `{piece}`, but the fence reaches only {reach}, and \
                 not across what lies beside it either."
            ),
            Self::Overlap { layout, one, other } => {
                write!(f, "Layout {layout} has pieces `{one}` and `{other}` in the same place.")
            }
            Self::NotSawable { layout, first, stages, piece, joined } => write!(
                f,
                "Layout {layout} cannot be cut in {stages} stages with {} first, kerf and fence considered: piece \
                 `{piece}` and {} more stay joined.",
                word(*first),
                joined.saturating_sub(1)
            ),
            Self::NotTrimmable { layout, first, piece } => write!(
                f,
                "Layout {layout}, with {} first, leaves piece `{piece}` needing more than its one trimming cut.",
                word(*first)
            ),
            Self::Tree { layout, fault } => write!(f, "The cuts of layout {layout} are wrong: {fault}."),
            Self::Short { piece, found, wanted } => {
                write!(f, "The layouts give {found} of piece `{piece}`, but {wanted} are wanted.")
            }
            Self::Spare { piece, listed, surplus } => {
                write!(f, "The plan lists {listed} spare of piece `{piece}`, but {surplus} are left over.")
            }
            Self::Uncovered { cover, found, wanted } => {
                write!(f, "The chosen makes yield {found} of `{cover}`, but {wanted} are wanted.")
            }
            Self::OverLimit { stock, found, limit } => {
                write!(f, "The layouts use {found} of sheet `{stock}`, but there are only {limit}.")
            }
            Self::Sum { claimed, found } => {
                write!(f, "The plan says the sheets cost {claimed}, but they come to {}.", Minor(*found))
            }
            Self::BoundAboveMoney { bound, money } => {
                write!(f, "The plan says that nothing costs less than {bound}, but costs {money} itself.")
            }
            Self::NotProven { bound, money } => {
                write!(f, "The plan is said to be proven, but it costs {money} and the bound is {bound}.")
            }
            Self::NegativePrice { leaf, what, found } => write!(
                f,
                "Leaf {leaf} of the certificate puts the price {found} on {what}; prices are zero or more."
            ),
            Self::NoLimitToPrice { leaf, stock } => write!(
                f,
                "Leaf {leaf} of the certificate prices more of sheet `{stock}`, but nothing limits how many there are."
            ),
            Self::MakeTooDear { leaf, make, yields, uses } => write!(
                f,
                "Leaf {leaf} of the certificate: make `{make}` yields {yields} from pieces worth {uses}; it may not yield more."
            ),
            Self::SheetTooCheap { leaf, stock, worth, cost } => write!(
                f,
                "Leaf {leaf} of the certificate: a layout of sheet `{stock}` holds pieces worth {worth}, more than the {cost} it costs."
            ),
            Self::CaseLeftOut { leaf, leaves } => write!(
                f,
                "Leaf {leaf} of the certificate and those that share its box, {leaves} in all, are not both sides of every fork; a case is left out."
            ),
            Self::WeakLeaf { leaf, shows, claimed } => write!(
                f,
                "Leaf {leaf} of the certificate shows that plans cost {} or more, but {claimed} is claimed.",
                Minor(*shows)
            ),
            Self::Gap { purchase, claimed } => {
                write!(f, "The certificate does not speak about buying ")?;
                if purchase.is_empty() {
                    write!(f, "nothing at all")?;
                }
                for (i, (name, count)) in purchase.iter().enumerate() {
                    write!(f, "{}{count} of `{name}`", if i == 0 { "" } else { ", " })?;
                }
                write!(f, ", which costs less than the {claimed} claimed as the bound.")
            }
            Self::TooMuchWork { what } => {
                write!(
                    f,
                    "Checking {what} would take more work than an audit allows, so nothing is confirmed."
                )
            }
        }
    }
}

impl std::error::Error for Objection {}

impl fmt::Display for TreeFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Root => write!(f, "they do not start from the usable sheet between the trims"),
            Self::SameDirection => write!(f, "a part is cut twice running in the same direction"),
            Self::Depth(most) => write!(f, "they take more than the {most} stages allowed"),
            Self::Empty => write!(f, "a part is cut into nothing"),
            Self::Spacing(d) => {
                write!(f, "neighbours between {} are not one kerf apart from edge to edge", word(*d))
            }
            Self::Extent(d) => {
                write!(f, "a part between {} does not reach across what it is cut from", word(*d))
            }
            Self::Piece(name) => {
                write!(f, "piece `{name}` does not fit its place, or would need two trimming cuts")
            }
            Self::NoSuchPiece(piece) => write!(f, "piece number {piece} is not in the job"),
            Self::RipTooLong(most) => write!(f, "a rip is longer than the {most} the shop can make"),
            Self::FenceReach(width) => {
                write!(
                    f,
                    "the fence reaches neither across a strip of {width} nor across what lies beside it"
                )
            }
        }
    }
}

/// Minor units that may be more than a [`Money`] holds.
struct Minor(i128);

impl fmt::Display for Minor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        write!(f, "{sign}{}.{:02}", self.0.unsigned_abs() / 100, self.0.unsigned_abs() % 100)
    }
}
