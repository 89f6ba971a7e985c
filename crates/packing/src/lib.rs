//! Packs pieces onto sheets for the least money, and proves it.
//!
//! A shop has strips and parts to cut, some kinds of sheet at their prices, and a table saw. How many sheets must it
//! buy, where does every cut go, and can anyone do it for less? [`solve`] turns a [`Problem`] into an [`Answer`]:
//! layouts, and a [`Certificate`] that [`audit`] checks in exact whole numbers without calling any of the solver's
//! code.
//!
//! In reading order:
//!
//! 1. `normalise`: equal sizes become one, and the kerf disappears: a kerf added to every piece and once to the sheet.
//! 2. `knapsack`, `pricing`: the layout worth most at given prices. Strips are knapsacks of pieces, panels knapsacks
//!    of strips, three-stage sheets knapsacks of panels, all over the sums that the sizes can reach. `wide`: where these are
//!    dense, several entries at a time.
//! 3. `master`, `columns`: prices and layouts in turn. A price is what one more piece of that size would add to the
//!    bill; a layout worth more than its sheet costs is learned, and the prices fall; when there is none left, what
//!    is demanded is worth just what the best fractional plan costs. `area`: prices by area, which three stages begin with.
//! 4. `bound`: prices become whole numbers, every sheet is priced again exactly, and the bound is raised to the next
//!    sum of sheet prices. This is the proof.
//! 5. `makes`: which ways to yield the covers, over the layouts known, for each purchase anew.
//! 6. `purchase`: with several kinds of sheet, the cheapest whole purchase that a fractional plan can do with; the
//!    boxes of dearer ones are the leaves of the certificate. `multiple`: how often a purchase could hold everything.
//!    `headroom`: which purchase is most worth a try. `refute`: that no plan fits a purchase, case by case.
//! 7. Whole layouts for a purchase. `cells`, `filling`, `repack`: sheets filled one after the other at the fractional plan's
//!    prices, and filled again a few at a time. `whole`: a dive over sheets so filled. `simplex`, `residual`: a dive
//!    over strips, for one kind of sheet. `sticks`: where pieces lie in one row, all fillings combined until they fit.
//!    `dive` holds a plan of last resort. Three stages start from the plan of two. `hands`, `together`: two workers at once.
//! 8. `refine`: what counts after money. `score` is the measure: area of sheet, then fence settings, then the largest
//!    offcut to keep, read off what would be sawn. `room` says where another piece fits. Bound and certificate are not
//!    touched.
//! 9. `plan`, `layout`, `widest`: pieces beyond what is wanted are left out, and every cut is written down, widest parts
//!    first. `shortfall`: where the sheets' limits are too small, how many more would do.
//!
//! What it costs is counted in [`Budget`] units, not seconds, so the same job gives the same plan everywhere, on one thread
//! as on two. Running out is no error: the answer then has a bound below its money, and says both.
//!
//! The crate knows nothing of tops, bands or slabs: those are the `pattern` crate's, and `plan` joins them.

pub mod answer;
mod area;
pub mod audit;
mod bound;
mod budget;
mod cells;
pub mod certificate;
mod columns;
mod dive;
mod filling;
#[doc(hidden)]
pub mod generate;
mod hands;
mod headroom;
mod knapsack;
mod layout;
mod makes;
mod master;
mod misfits;
mod multiple;
mod normalise;
mod parts;
mod plan;
mod pricing;
pub mod problem;
mod purchase;
mod refine;
mod refusal;
mod refute;
mod repack;
mod residual;
mod room;
mod score;
mod shortfall;
mod simplex;
mod solve;
mod sticks;
mod together;
mod whole;
mod wide;
mod widest;

pub use answer::{Answer, Cut, Layout, Placed, Region, Within};
pub use budget::{Budget, Progress};
pub use certificate::{Branch, Certificate, Count, Counted, Fork, Leaf};
pub use misfits::misfits;
pub use problem::{Cover, Cutting, Direction, First, Make, Piece, Problem, Stock, Trim};
pub use refusal::Refusal;
pub use score::{Score, Setting};
pub use solve::solve;
