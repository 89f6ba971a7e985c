//! Packs pieces onto sheets for the least money, and proves it.
//!
//! [`solve`] turns a [`Problem`] into an [`Answer`]: layouts, and a [`Certificate`] that [`audit`] checks in exact
//! whole numbers without calling any of the solver's code.

pub mod answer;
pub mod audit;
pub mod certificate;
pub mod problem;

pub use answer::{Answer, Cut, Layout, Placed, Region, Within};
pub use certificate::{Branch, Certificate, Leaf};
pub use problem::{Cover, Cutting, Direction, First, Make, Piece, Problem, Stock, Trim};
