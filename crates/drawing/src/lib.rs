//! From a plan to drawings and the printed packet.
//!
//! A drawing is a [`scene::Scene`]: shapes and words on paper, in millimetres, each tagged with what it stands for.
//! [`ink`] alone decides how a role looks, [`writer`] alone writes SVG. Nothing here knows how a plan is found.

pub mod draft;
pub mod face;
pub mod font;
pub mod ink;
pub mod rip;
pub mod scene;
pub mod table;
pub mod writer;
