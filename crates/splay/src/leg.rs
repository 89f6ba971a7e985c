//! The legs: how long, how to lay them on the saw, and how to mark them so that none is cut mirror-wrong.

use stripwright_units::{Angle, Length};

/// Where a leg stands, seen from the front.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LegPlace {
    /// Front left.
    FrontLeft,
    /// Front right.
    FrontRight,
    /// Back left.
    BackLeft,
    /// Back right.
    BackRight,
}

/// Which of the two mirror images a leg is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hand {
    /// Front left and back right.
    One,
    /// Front right and back left: the mirror image of hand one.
    Two,
}

/// Which face of a leg lies on the saw table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Laying {
    /// The plane face: front of the front legs, back of the back legs.
    PlaneFaceDown,
    /// The side face.
    SideFaceDown,
}

/// A direction on the saw: you stand before the table, the fence is beyond the work, and you look down on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// To the left.
    Left,
    /// To the right.
    Right,
}

/// A compound setting of a saw that cuts across a piece lying along the fence.
///
/// `turn` is the angle of the cut on the table from square to the fence; `tilt` is the blade's angle from upright,
/// square to the line of the cut. Both without sign: [`LegCut`] gives the ways.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SawSetting {
    /// Exact turn.
    pub turn: Angle,
    /// Exact tilt.
    pub tilt: Angle,
    /// Turn rounded to the shop's step: what is set.
    pub set_turn: Angle,
    /// Tilt rounded to the shop's step: what is set.
    pub set_tilt: Angle,
    /// By how many millimetres the end cut at the rounded setting is out over the section, square to the cut:
    /// with one corner touching, how far the worst other corner stands off.
    pub error_mm: f64,
}

/// How one leg is laid and which ways the saw goes. Both ends are cut so: the leg is slid along, never turned
/// end for end or over, and its ends come out parallel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegCut {
    /// Which leg.
    pub leg: LegPlace,
    /// Which hand it is.
    pub hand: Hand,
    /// Which face lies on the table.
    pub laying: Laying,
    /// Where the leg's top end points.
    pub top_end: Way,
    /// Which way the cut leans at the fence: `Right` means that the cut runs away from you and to the right.
    pub turn: Way,
    /// Which way the top of the blade leans.
    pub tilt: Way,
}

/// What happens when the saw is simply turned to the front lean and tilted to the side lean.
#[derive(Clone, Debug, PartialEq)]
pub struct PlainPair {
    /// Turn: the front lean.
    pub turn: Angle,
    /// Tilt: the side lean.
    pub tilt: Angle,
    /// By how much the turn is wrong: front lean less the exact turn.
    pub turn_error: Angle,
    /// By how many millimetres the end is out over the section (as [`SawSetting::error_mm`]).
    pub error_mm: f64,
    /// True when that is below the mark.
    pub good_enough: bool,
    /// The same in a sentence.
    pub sentence: String,
}

/// How far the side face is out of the side plane of the legs.
#[derive(Clone, Debug, PartialEq)]
pub struct Squareness {
    /// The angle by which front and side plane are off square: `asin(sin A sin B)` (T55).
    pub angle: Angle,
    /// What that is across the side face, in millimetres.
    pub across_mm: f64,
    /// True when that is not below the mark.
    pub matters: bool,
    /// The same in a sentence.
    pub sentence: String,
}

/// How to mark the blanks before any is cut.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MarkingScheme {
    /// (what to mark, how, what it says), in order.
    pub marks: Vec<Mark>,
    /// The two hands, in words.
    pub hands: Vec<String>,
    /// The order of cutting, in words.
    pub order: Vec<String>,
}

/// One mark of the scheme.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// On which face or end.
    pub place: String,
    /// The mark itself.
    pub sign: String,
    /// What it says.
    pub meaning: String,
}

/// The four legs.
#[derive(Clone, Debug, PartialEq)]
pub struct Legs {
    /// Exact length along the leg, the same on all four arrises, in millimetres: height times [`Legs::length_factor`].
    pub exact_length_mm: f64,
    /// That length to the mark: what the stop is set to.
    pub length: Length,
    /// `sqrt(1 + tan^2 A + tan^2 B)` (T52).
    pub length_factor: f64,
    /// From the highest corner of one end to the lowest of the other, along the leg, in millimetres.
    pub overall_mm: f64,
    /// What to cut the blank to: overall length, an allowance at each end, up to the mark.
    pub blank: Length,
    /// The lean from vertical in the leg's own plane: `atan(sqrt(tan^2 A + tan^2 B))` (T49).
    pub resultant: Angle,
    /// Angle of that plane from the front plane, seen from above: `atan(tan B / tan A)` (T49).
    pub sight_line: Angle,
    /// Setting with the plane face down.
    pub plane_face_down: SawSetting,
    /// Setting with the side face down.
    pub side_face_down: SawSetting,
    /// The plain pair, plane face down.
    pub plain_pair: PlainPair,
    /// Out of square.
    pub squareness: Squareness,
    /// The foot's outline on the floor: breadth along the front, depth square to it (T52), in millimetres.
    pub foot_mm: [f64; 2],
    /// Every leg in both layings with its top end to the right and to the left: sixteen entries.
    pub cuts: Vec<LegCut>,
    /// How to mark and in which order to cut.
    pub marking: MarkingScheme,
}
