//! How the finished piece stands: information, never a test and never a refusal.

use stripwright_units::{Angle, Length};

/// Stability to one pair of opposite sides.
#[derive(Clone, Debug, PartialEq)]
pub struct StandingSide {
    /// `front and back` or `left and right`.
    pub name: String,
    /// From the centre to the line between the two feet on that side.
    pub reach: Length,
    /// How far the empty piece can be tilted that way before it goes over (T76).
    pub tipping: Angle,
    /// Moment left in place under the stability load, over the moment that overturns, from T75 with a push of
    /// 20 N at the seat and 600 N standing 60 mm inside the edge; `None` when the top is not known.
    pub margin: Option<f64>,
    /// The push at seat height that would just tip it with that load on, in newtons; below zero it tips without one.
    pub push_newtons: Option<f64>,
    /// The same push with the load 50 mm inside the edge.
    pub push_at_50_newtons: Option<f64>,
}

/// How the finished piece stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// Mass of base and (if known) top, in kilograms.
    pub mass_kg: f64,
    /// Height of its centre of gravity, in millimetres.
    pub centre_mm: f64,
    /// Bending moment at the top of one leg under 800 N shared by four legs, nothing else holding it (T61), in newton metres.
    pub leg_moment_nm: f64,
    /// To the front and back, then to the left and right.
    pub sides: Vec<StandingSide>,
    /// What to make of it, in sentences.
    pub notes: Vec<String>,
}
