//! The four-legged base under a top: raked and splayed legs, the rungs between them, their joints and their lumber.
//!
//! The shop question: *the legs lean two ways at once: what do I set the saw to, how long are the parts, and where
//! do the holes go?* `base` takes a [`BaseSpec`] and answers with a [`Base`] that carries everything to print, draw
//! and plan; when it cannot, it names every fault it found as a [`Refusal`].
//!
//! # Directions
//! The base stands on the floor, seen from the front: x runs from left to right, y from front to back, z up, and the
//! centre of the footprint on the floor is the origin. `A`, the *front lean*, is what is seen from the front (the
//! leg's foot goes out along x); `B`, the *side lean*, is what is seen from the side (the foot goes out along y).
//! Both are from vertical. Legs are named as seen from the front: front left, front right, back left, back right.
//!
//! # Faces of a leg
//! The *plane face* of a leg is its outer face towards the front (front legs) or the back (back legs); it lies in one
//! plane with the plane face of the leg beside it. The *side face* is the outer face towards the left or the right, square to
//! the plane face. Because the leg is square in section and leans two ways, the side faces of a front leg and the back leg
//! behind it are not in one plane; [`Squareness`] says by how much.
//!
//! # Two hands
//! A front left leg turned half round its plumb line is a back right leg: those two are cut alike, and the other two are
//! their mirror image. So there are two hands of leg and two of each, never four different legs and never four alike.
//!
//! # What it does not know
//! Strength. Nothing here says that a leg, a joint or a stool will carry anybody; [`Standing`] is statics of a rigid
//! body, not a test.

pub mod caution;
pub mod joint;
pub mod leg;
pub mod lumber;
pub mod rung;
pub mod spec;
pub mod standing;
pub mod view;

pub use caution::Caution;
pub use joint::{Bore, Centring, DowelPlan, Fixings, JointPlan, Screw, TenonPlan};
pub use leg::{Hand, Laying, LegCut, LegPlace, Legs, MarkingScheme, PlainPair, SawSetting, Squareness, Way};
pub use lumber::{BoardYield, Stick};
pub use rung::{Rung, RungPair, Trapezoid};
pub use spec::{
    BaseSpec, Edges, Fixing, Height, Joint, Leans, Outline, Refusal, RungSpec, Section, Shop, Spread, Stance,
    TopSpec, Wood,
};
pub use standing::{Standing, StandingSide};
pub use view::View;

use stripwright_units::Length;

/// A whole base: what to print in shop order, what to draw, and what to hand on to packing.
#[derive(Clone, Debug, PartialEq)]
pub struct Base {
    /// What the job calls it.
    pub name: String,
    /// How many are made.
    pub count: u32,
    /// From the floor to the underside of the top.
    pub height: Length,
    /// The leans, given or found.
    pub leans: Leans,
    /// Over the outsides of the legs at the underside of the top.
    pub top_spread: Spread,
    /// Over the outsides of the legs on the floor.
    pub floor_spread: Spread,
    /// The leg's finished section.
    pub leg_section: Section,
    /// The legs: length, blank, settings, marking.
    pub legs: Legs,
    /// The rungs, in the order of the spec; each entry is a pair of like rungs on opposite sides.
    pub rungs: Vec<Rung>,
    /// How the rungs are held in the legs; one entry a rung entry, in the same order.
    pub joints: Vec<JointPlan>,
    /// The screws up into the top, when the spec asks for them.
    pub fixings: Option<Fixings>,
    /// Where to mark the top so that the base comes central, when the spec gives the top's outline.
    pub centring: Option<Centring>,
    /// How it stands; information only.
    pub standing: Standing,
    /// The sticks that all `count` bases need, for packing onto boards.
    pub sticks: Vec<Stick>,
    /// The drawings as plain geometry.
    pub views: Vec<View>,
    /// What to do, in shop order, one sentence or two a step.
    pub steps: Vec<String>,
    /// Things to know that stop nothing.
    pub warnings: Vec<String>,
    /// Cautions for the work itself.
    pub cautions: Vec<Caution>,
}
