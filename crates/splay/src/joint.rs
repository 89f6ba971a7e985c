//! Joints of rung to leg, screws up into the top, and centring.

use stripwright_units::Length;

use crate::leg::LegPlace;

/// How the ends of one pair of rungs are held.
#[derive(Clone, Debug, PartialEq)]
pub enum JointPlan {
    /// By dowels.
    Dowels(DowelPlan),
    /// By a tenon on each end.
    Tenon(TenonPlan),
}

/// Dowels in the ends of one pair of rungs.
#[derive(Clone, Debug, PartialEq)]
pub struct DowelPlan {
    /// Diameter.
    pub diameter: Length,
    /// Length of one dowel.
    pub length: Length,
    /// Depth of the hole in each part.
    pub hole: Length,
    /// In each rung end.
    pub each_end: u32,
    /// For the pair of rungs, both ends.
    pub total: u32,
    /// From the rung's edge to the middle of the nearest dowel, along the shoulder.
    pub edge_distance: Length,
    /// Between the middles of neighbouring dowels, along the shoulder; zero for a single dowel.
    pub spacing: Length,
    /// The bores, on the rung and in the leg.
    pub bores: Vec<Bore>,
}

/// One bore, the same in both ends of a rung and in the legs that it meets (mirrored).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bore {
    /// On the rung's shoulder, along it from the bottom edge at the outer face.
    pub on_rung_up: Length,
    /// On the rung's shoulder, square in from the outer face.
    pub on_rung_in: Length,
    /// On the leg's inner face, along the leg's inner arris up from its foot: the middle of the bore.
    pub on_leg_up: Length,
    /// On the leg's inner face, across it from the arris with the outer face.
    pub on_leg_in: Length,
    /// Depth in the rung.
    pub rung_depth: Length,
    /// Depth in the leg.
    pub leg_depth: Length,
}

/// A tenon on each end of one pair of rungs.
#[derive(Clone, Debug, PartialEq)]
pub struct TenonPlan {
    /// How far it goes into the leg.
    pub length: Length,
    /// Its thickness.
    pub thickness: Length,
    /// Its breadth along the shoulder.
    pub breadth: Length,
    /// Depth of the mortise.
    pub mortise: Length,
    /// From the rung's outer face to the tenon.
    pub from_outer_face: Length,
    /// From the rung's bottom edge to the tenon, along the shoulder.
    pub from_bottom_edge: Length,
    /// On the leg's inner face, along the leg up from its foot to the mortise's lower end.
    pub on_leg_up: Length,
    /// On the leg's inner face, across it from the arris with the outer face to the mortise.
    pub on_leg_in: Length,
}

/// Screws up into the top.
#[derive(Clone, Debug, PartialEq)]
pub struct Fixings {
    /// Screw number.
    pub number: u32,
    /// How many for one base.
    pub count: u32,
    /// The longest that keeps the cover.
    pub longest: Length,
    /// The longest stocked length not above that; `None` when none is short enough.
    pub length: Option<Length>,
    /// How much of it is in the top.
    pub bite: Length,
    /// Pilot drill in the top (T68).
    pub pilot: Length,
    /// Clearance drill in the rail (T68).
    pub clearance: Length,
    /// What it passes through, less the sinking of the head.
    pub through: Length,
    /// Where they are.
    pub screws: Vec<Screw>,
}

/// One screw, by its place under the top, from the centre of the base.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Screw {
    /// To the right of the centre (left is negative).
    pub x: Length,
    /// Behind the centre (front is negative).
    pub y: Length,
}

/// Where to mark the underside of the top so that the base comes central.
#[derive(Clone, Debug, PartialEq)]
pub struct Centring {
    /// From the centre to the line over the left legs' outer corners.
    pub left: Length,
    /// To the right legs'.
    pub right: Length,
    /// To the front legs'.
    pub front: Length,
    /// To the back legs'.
    pub back: Length,
    /// From the rim, along the centre lines, in to those lines: left and right.
    pub rim_sides: Length,
    /// From the rim, along the centre lines, in to those lines: front and back.
    pub rim_ends: Length,
    /// From the centre to an outer corner of a leg, in millimetres.
    pub corner_mm: f64,
    /// True when every leg's end is under the top.
    pub under: bool,
    /// Outer corner of each leg's top end from the centre: (leg, x, y).
    pub corners: Vec<(LegPlace, Length, Length)>,
}
