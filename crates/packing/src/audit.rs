//! Checks a plan and its proof without the solver.
//!
//! A maker about to spend money on sheets, or an engineer who distrusts linear programming, hands over the problem
//! and the claim: where every piece lies, what it costs, and why nothing costs less. [`audit`] works everything out
//! again in whole numbers and answers with a [`Verdict`], or with every [`Objection`] it has. Nothing here is shared
//! with the solver but the plain types that both speak: what can be wrong there cannot be wrong here in the same way.
//!
//! The checks, each in its module:
//!
//! 1. `limits`: the numbers are within what exact arithmetic is sized for, so that nothing below can overflow.
//! 2. `sawing`: each layout can be cut. Placed rectangles alone are enough: at each stage the pieces fall into groups
//!    whose shadows on the cutting axis are a kerf or more apart, and each group is looked at again across.
//! 3. `balance`: demands, covers, spare pieces, limits and money add up.
//! 4. `worth`: at the certificate's prices no layout of any sheet is worth more than the sheet costs, over all
//!    layouts the saw rules allow. This is the heart of the proof and has its own dynamic programme.
//! 5. `purchase`: what a leaf shows is raised to the next sum of sheet prices, and the leaves together speak about
//!    every purchase below the bound.
//!
//! # What counts as an allowed layout
//!
//! Pieces next to each other need one kerf between them, rip kerf across (y), crosscut kerf along (x). Stages
//! alternate in direction; any may be left out. After the last stage a piece may be smaller than its place in one
//! direction and is trimmed by one cut, which may overhang the edge: waste narrower than a kerf is no obstacle.
//! The shop's limits bind as follows.
//!
//! * `longest_rip`: neither a ripped sheet nor a ripped panel nor a piece is longer along x. Three stages with rips
//!   first leave the first rips out on a longer sheet; two stages cannot use it.
//! * `fence_reach`: what is ripped to a width within reach, or so wide that what lies beside it on the sheet is within
//!   reach; a strip of narrower pieces may be made wider to be so.
//! * `smallest_rip`: a piece narrower than the usable sheet is no narrower than this.

mod balance;
mod groups;
mod limits;
mod objection;
mod purchase;
mod sawing;
mod sums;
mod worth;

#[cfg(test)]
mod tests;

pub use limits::MOST_PLACED;
pub use objection::{Objection, TreeFault};

use stripwright_units::Money;

use crate::answer::{Answer, Layout, Placed};
use crate::certificate::Certificate;
use crate::problem::Problem;

/// Everything a plan says about itself, flat, as it can be read back from a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Claim {
    /// Sheets cut alike.
    pub layouts: Vec<Sheets>,
    /// (index into [`Problem::makes`], how often).
    pub makes: Vec<(usize, u32)>,
    /// Pieces beyond what is asked for: (index into [`Problem::pieces`], how many).
    pub spare: Vec<(usize, u32)>,
    /// What all sheets cost.
    pub money: Money,
    /// Nothing costs less.
    pub bound: Money,
    /// Whether the plan says that it cannot be beaten.
    pub proven: bool,
    /// Why nothing costs less.
    pub certificate: Certificate,
}

/// Sheets that are cut alike, and where the pieces lie on each.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheets {
    /// Index into [`Problem::stocks`].
    pub stock: usize,
    /// How many.
    pub times: u32,
    /// The pieces, in any order.
    pub placed: Vec<Placed>,
}

/// Objections returned at most: beyond so many, a reader learns nothing more.
const MOST_OBJECTIONS: usize = 200;

/// What an audit confirms.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verdict {
    /// What the sheets cost.
    pub money: Money,
    /// No plan costs less.
    pub bound: Money,
    /// Sheets bought of each kind, by index into [`Problem::stocks`].
    pub sheets: Vec<u64>,
}

impl Verdict {
    /// True when the plan cannot be beaten: this, and only this, is the proof.
    pub fn proven(&self) -> bool {
        self.bound == self.money
    }
}

/// Checks a claim against the problem, in exact whole numbers.
///
/// # Errors
/// Every objection found. Where sizes or indices are wrong, the checks that would build on them are left out, so
/// curing the list may bring up others.
pub fn audit(problem: &Problem, claim: &Claim) -> Result<Verdict, Vec<Objection>> {
    let mut objections = Vec::new();
    limits::check(problem, claim, &mut objections);
    if !objections.is_empty() {
        objections.truncate(MOST_OBJECTIONS);
        return Err(objections);
    }
    sawing::check(problem, claim, &mut objections);
    let sheets = balance::check(problem, claim, &mut objections);
    worth::check(problem, claim, &mut objections);
    purchase::check(problem, claim, &mut objections);
    if objections.is_empty() {
        Ok(Verdict { money: claim.money, bound: claim.bound, sheets })
    } else {
        objections.truncate(MOST_OBJECTIONS);
        Err(objections)
    }
}

/// Checks the tree of cuts of one layout, counted from 1, and gives the pieces where it places them.
///
/// [`audit`] needs no trees; whoever also draws or prints the cuts has them checked here.
///
/// # Errors
/// The first objection found.
pub fn cuts(problem: &Problem, number: usize, layout: &Layout) -> Result<Vec<Placed>, Objection> {
    sawing::check_tree(problem, number, layout)
}

/// Checks an [`Answer`] as the solver returns it: the tree of cuts of each layout, and all that [`audit`] checks.
///
/// # Errors
/// Every objection found.
pub fn answer(problem: &Problem, answer: &Answer) -> Result<Verdict, Vec<Objection>> {
    let claim = sawing::flatten(problem, answer)?;
    audit(problem, &claim)
}
