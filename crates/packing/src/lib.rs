//! Packs pieces onto sheets for the least money, and proves it.
//!
//! [`solve`] turns a [`Problem`] into an [`Answer`]: layouts, and a [`Certificate`] that [`audit`] checks in exact
//! whole numbers without calling any of the solver's code.

pub mod answer;
pub mod audit;
mod bound;
mod budget;
pub mod certificate;
mod columns;
mod dive;
#[doc(hidden)]
pub mod generate;
mod knapsack;
mod layout;
mod makes;
mod master;
mod normalise;
mod plan;
mod pricing;
pub mod problem;
mod purchase;
mod refusal;
mod residual;
mod simplex;
mod solve;

pub use answer::{Answer, Cut, Layout, Placed, Region, Within};
pub use budget::{Budget, Progress};
pub use certificate::{Branch, Certificate, Leaf};
pub use problem::{Cover, Cutting, Direction, First, Make, Piece, Problem, Stock, Trim};
pub use refusal::Refusal;
pub use solve::solve;
