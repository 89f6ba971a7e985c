//! From a plan to drawings and the printed packet.
//!
//! A drawing is a [`scene::Scene`]: shapes and words on paper, in millimetres, each tagged with what it stands for.
//! [`ink`] alone decides how a role looks, [`writer`] alone writes SVG, [`packet::pdf`] alone writes PDF. Nothing
//! here knows how a plan is found.
//!
//! [`packet()`] makes every file of a packet; [`rip::plates`] and [`face::plate`] make single drawings.

pub mod base;
pub mod blank;
pub mod boards;
pub mod draft;
pub mod face;
mod figure;
pub mod font;
pub mod ink;
pub mod legible;
pub mod packet;
pub mod rip;
pub mod scene;
pub mod slab;
pub mod table;
pub mod writer;

pub use packet::{Options, packet};
