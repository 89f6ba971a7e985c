//! The four-legged base under a top: raked and splayed legs, the rungs between them, their joints and their lumber.
//!
//! The shop question: *the legs lean two ways at once: what do I set the saw to, how long are the parts, and where
//! do the holes go?* [`base`] takes a [`BaseSpec`] and answers with a [`Base`] that carries everything to print, draw
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

mod bar;
pub mod caution;
mod draw;
pub mod fixing;
pub mod joint;
pub mod leg;
pub mod lumber;
mod remedy;
pub mod rung;
mod setting;
mod shape;
mod sight;
pub mod spec;
pub mod standing;
mod steps;
mod vector;
pub mod view;

pub use caution::Caution;
pub use fixing::{Centring, Cleat, Fixings, Screw, ScrewRow};
pub use joint::{Bore, DowelPlan, JointPlan, TenonPlan};
pub use leg::{Hand, Laying, LegCut, LegPlace, Legs, MarkingScheme, PlainPair, SawSetting, Squareness, Way};
pub use lumber::{BoardYield, Stick, board_feet, board_yield, cubic_metres};
pub use rung::{Rung, RungCut, RungLaying, RungPair, Trapezoid};
pub use spec::{
    BaseSpec, Change, Cure, DowelChange, Edges, Fixing, Follows, Height, Joint, Leans, Outline, Refusal,
    RungSpec, Section, Shop, Spread, Stance, TopSpec, Wood,
};
pub use standing::{Standing, StandingSide};
pub use steps::{SHORT, Steps};
pub use view::View;

use stripwright_units::Length;

use bar::Bar;

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
    /// What to do, in shop order.
    pub steps: Steps,
    /// Things to know that stop nothing.
    pub warnings: Vec<String>,
    /// Cautions for the work itself.
    pub cautions: Vec<Caution>,
}

/// Works out a base, or says everything that stands in the way.
///
/// ```
/// use stripwright_splay::{BaseSpec, Height, Leans, Section, Spread, base};
/// use stripwright_units::{Angle, Length};
/// let mm = Length::from_mm;
/// let stool = base(&BaseSpec {
///     height: Some(Height::Underside(mm(700))),
///     leans: Some(Leans { front: Angle::degrees(6.0), side: Angle::degrees(6.0) }),
///     top_spread: Some(Spread { width: mm(260), depth: mm(260) }),
///     ..BaseSpec::new("stool", Section { width: mm(32), thickness: mm(32) })
/// })
/// .unwrap();
/// assert_eq!(stool.legs.length, Length::from_mm(708)); // 707.69 up to the mark
/// assert_eq!(stool.legs.plane_face_down.set_turn, Angle::degrees(6.0)); // 5.967 exactly
/// ```
///
/// # Errors
/// Each fault found, naming the field of the spec, what was found and what to do. Sizes are checked first; faults of
/// the shape, then of rungs, then of joints and screws come once what they rest on is sound.
pub fn base(spec: &BaseSpec) -> Result<Base, Vec<Refusal>> {
    let Settled { shape, mut placed, joints, fixings, mut warnings } =
        settled(spec).map_err(|refusals| match shape::settle(spec) {
            Ok(_) if misplaced(spec).is_empty() => remedy::added(spec, refusals, refused, refused),
            Ok(_) => remedy::added(spec, refusals, refused, misplaced),
            // Sizes and shape say themselves what would do.
            Err(_) => refusals,
        })?;
    for ((rung, _), joint) in placed.iter_mut().zip(&joints) {
        if let JointPlan::Tenon(tenon) = joint {
            rung.blank += (tenon.length * 2).ceil_to(spec.shop.mark);
        }
    }
    let outline = spec.top.as_ref().and_then(|top| top.outline.as_ref());
    let centring = outline.map(|outline| fixing::centring(&shape, outline, spec.shop.mark));
    if let Some(centring) = centring.as_ref().filter(|centring| !centring.under) {
        let out: Vec<&str> = centring.out.iter().map(|leg| leg.name()).collect();
        warnings.push(format!(
            "The tops of these legs stand out beyond the edge of the top: {}. Make `top_spread` smaller or the top larger.",
            out.join(", ")
        ));
    }
    let legs = leg::legs(&shape, &spec.shop);
    let rounding = leg::rounding_of(&shape, &legs.plane_face_down, &legs.side_face_down, &spec.shop);
    warnings.extend(rounding.map(|rounding| format!("{} {}", rounding.cost, rounding.better)));
    let standing = standing::standing(spec, &shape, &placed, &mut warnings);
    let sticks = lumber::sticks(spec, &legs, placed.iter().map(|(rung, _)| rung));
    let views = draw::views(spec, &shape, &legs, &placed, &joints, fixings.as_ref());
    let cautions = cautions(spec, &shape, &legs, &placed);
    let rungs: Vec<Rung> = placed.into_iter().map(|(rung, _)| rung).collect();
    let mut base = Base {
        name: spec.name.clone(),
        count: spec.count,
        height: shape::to_mark(shape.h, Length::from_nm(1)),
        leans: Leans { front: shape.a, side: shape.b },
        top_spread: fixing::spread(shape.half, spec.shop.mark),
        floor_spread: fixing::spread(shape.half_at(0.0), spec.shop.mark),
        leg_section: spec.leg,
        legs,
        rungs,
        joints,
        fixings,
        centring,
        standing,
        sticks,
        views,
        steps: Steps::default(),
        warnings,
        cautions,
    };
    base.steps = steps::steps(&base, spec.shop.system);
    Ok(base)
}

/// What stands in the way of a base, without looking for changes that would do: nothing when it can be made.
pub fn refused(spec: &BaseSpec) -> Vec<Refusal> {
    settled(spec).err().unwrap_or_default()
}

/// What of it is refused before its joints are looked at: sizes, shape, and the places of its rungs.
fn misplaced(spec: &BaseSpec) -> Vec<Refusal> {
    let placed = shape::settle(spec).and_then(|shape| rung::rungs(spec, &shape, &mut Vec::new()));
    placed.err().unwrap_or_default()
}

/// What of a base may be refused.
struct Settled {
    shape: shape::Shape,
    placed: Vec<(Rung, Bar)>,
    joints: Vec<JointPlan>,
    fixings: Option<Fixings>,
    warnings: Vec<String>,
}

fn settled(spec: &BaseSpec) -> Result<Settled, Vec<Refusal>> {
    let shape = shape::settle(spec)?;
    let mut warnings = Vec::new();
    let placed = rung::rungs(spec, &shape, &mut warnings)?;
    let joints = joint::joints(spec, &shape, &placed, &mut warnings);
    let held = joints.as_deref().unwrap_or_default();
    let fixings = fixing::fixings(spec, &shape, &placed, held, &mut warnings);
    match (joints, fixings) {
        (Ok(joints), Ok(fixings)) => Ok(Settled { shape, placed, joints, fixings, warnings }),
        (joints, fixings) => Err([joints.err(), fixings.err()].into_iter().flatten().flatten().collect()),
    }
}

fn cautions(spec: &BaseSpec, shape: &shape::Shape, legs: &Legs, placed: &[(Rung, Bar)]) -> Vec<Caution> {
    let upright = stripwright_units::Angle::degrees(0.0);
    let tilted = shape.b > upright || shape.a > upright;
    let bevelled = placed.iter().any(|(r, _)| r.set_edge_bevel > upright);
    let shortest = placed.iter().map(|(r, _)| r.blank).fold(legs.blank, Length::min);
    caution::cautions(spec, tilted, bevelled, shortest.to_mm())
}
