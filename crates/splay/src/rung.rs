//! The rungs: level bars between two neighbouring legs.

use stripwright_units::{Angle, Length};

use crate::leg::SawSetting;
use crate::spec::{Edges, Section, Stance};

/// Which two sides of the base a pair of rungs is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum RungPair {
    /// Between the two front legs, and between the two back legs.
    FrontAndBack,
    /// Between the two left legs, and between the two right legs.
    LeftAndRight,
}

/// The face of a rung between its shoulders, in millimetres. The long edge is the bottom one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trapezoid {
    /// Along the top edge.
    pub top_mm: f64,
    /// Along the bottom edge.
    pub bottom_mm: f64,
    /// Between the edges, up the slope of the face.
    pub breadth_mm: f64,
    /// Along a shoulder, from edge to edge.
    pub shoulder_mm: f64,
    /// From corner to opposite corner.
    pub diagonal_mm: f64,
}

/// A pair of like rungs on opposite sides. Each end of a rung is the mirror image of the other.
#[derive(Clone, Debug, PartialEq)]
pub struct Rung {
    /// What plans and drawings call it: `front and back rung 1`.
    pub name: String,
    /// Which two sides.
    pub pair: RungPair,
    /// From the floor to the top edge at the outer face.
    pub height: Length,
    /// Finished section.
    pub section: Section,
    /// How far the outer face lies inside the legs' outer face.
    pub set_in: Length,
    /// In the plane of the legs or plumb.
    pub stance: Stance,
    /// Level or square edges.
    pub edges: Edges,
    /// The outer face.
    pub outer: Trapezoid,
    /// The inner face.
    pub inner: Trapezoid,
    /// Length of the outer face along the top edge, up to the mark.
    pub top_length: Length,
    /// Length of the outer face along the bottom edge, up to the mark: what the stop is set to.
    pub bottom_length: Length,
    /// Shoulder on the outer face, from square.
    pub shoulder: Angle,
    /// Shoulder on the edges, from square.
    pub edge_shoulder: Angle,
    /// Bevel of the top and bottom edges from square to the face; zero for square edges.
    pub edge_bevel: Angle,
    /// That bevel to the shop's step.
    pub set_edge_bevel: Angle,
    /// Breadth of the stick before the bevelled rips.
    pub rip_breadth: Length,
    /// Setting with the outer face down.
    pub face_down: SawSetting,
    /// Setting with the bottom edge down.
    pub edge_down: SawSetting,
    /// What to cut the blank to: longest length over shoulders, tenons, an allowance at each end, up to the mark.
    pub blank: Length,
}
