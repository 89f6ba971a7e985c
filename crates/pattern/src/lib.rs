//! How many strips does this top take, and what is done to them?
//!
//! In go an outline and a pattern ([`TopSpec`]) and what the shop has ([`Shop`]); out come, in the order in which
//! the material travels:
//!
//! 1. `face(&TopSpec, mark) -> Result<Face, Vec<Refusal>>`: the tiling of the plane, and of it the cells that the
//!    outline needs ([`Face`]). One rule decides for every pattern: **a cell is needed when it meets the outline
//!    grown by the margin** in more than a point or a line.
//! 2. `Face::makes(&Shop) -> Result<Vec<SlabMake>, Vec<Refusal>>`: every slab worth making and the strips it takes
//!    ([`SlabMake`]). Which of them to make is decided elsewhere, together with the sheets: a row "made at least
//!    [`Cover::count`] times" for each of [`Face::covers`].
//! 3. `Face::unroll(&Shop, &[SlabMake], &[(make, times)]) -> Unrolled`: for chosen makes, the slabs with their
//!    strips, the [`Route`] through the shop, glue, clamps, planer passes, and a [`Ledger`] in which no shaving is
//!    missing.
//!
//! A 600 mm round chevron seat of 18 mm plywood at 45 degrees in 70 mm bands needs 208 laminations in 10 bands.
//!
//! The crate knows nothing of sheets' widths and prices, of packing, of files. Lengths are
//! [`Length`](stripwright_units::Length)s at the border; between, plane geometry is in `f64` millimetres with the
//! origin at the centre pin, x to the right and y up. A result becomes a demand only by rounding up to the mark.

mod blank;
mod body;
mod face;
mod fault;
mod geometry;
mod glue;
mod ledger;
pub mod limits;
mod makes;
mod outline;
mod parting;
mod patterns;
mod phase;
mod planing;
mod route;
mod sequence;
mod shop;
mod spec;
mod tiling;
mod tolerance;
mod unroll;

pub use blank::Blank;
pub use face::{Cell, Cover, Element, Face, Motion, PhaseReason, Sliver, face};
pub use fault::{Limit, Refusal};
pub use glue::{
    GlueStage, clamp_spacing, clamps_by_force, clamps_by_spacing, grams as glue_grams, pressed_length,
};
pub use ledger::{Ledger, Loss, Stage};
pub use makes::{MakeStyle, Place, SlabMake, SlabStrip, StripSize, strip_depth};
pub use planing::{PlaneStage, Way};
pub use route::{BuiltCell, Operation, Route};
pub use shop::{Clamp, Drum, Glue, Planer, RouterSled, Shop};
pub use spec::{
    Across, BandSize, Centre, Lamination, Lay, Outline, Pattern, Phase, Point, Sequence, Side, SlabStyle,
    TopSpec,
};
pub use tolerance::{ThinEnd, thin_end};
pub use unroll::{Slab, Unrolled};
