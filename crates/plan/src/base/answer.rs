//! A base as plan.json shows it. Lengths are millimetres, angles degrees; what ends in `exact` is not yet to the mark or step.

use serde::{Deserialize, Serialize};
use stripwright_splay as splay;
use stripwright_splay::view::{Role as SplayRole, Value as SplayValue};
use stripwright_units::Angle;

use crate::figures::{Mm, rounded};

/// A raked and splayed base.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BasePlan {
    /// Its name.
    pub name: String,
    /// How many are made.
    pub count: u32,
    /// From the floor to the underside of the top.
    pub height: Mm,
    /// Degrees from vertical, seen from the front.
    pub front_lean: f64,
    /// Degrees from vertical, seen from the side.
    pub side_lean: f64,
    /// Over the outsides of the legs under the top: from left to right, from front to back.
    pub top_spread: [Mm; 2],
    /// The same on the floor.
    pub floor_spread: [Mm; 2],
    /// The legs.
    pub legs: LegsPlan,
    /// Pairs of rungs, each with its joints.
    pub rungs: Vec<RungPlan>,
    /// Screws up into the top.
    pub screws: Option<ScrewsPlan>,
    /// Where to mark the top.
    pub centring: Option<CentringPlan>,
    /// How it stands: information, no test.
    pub standing: StandingPlan,
    /// The sticks that all copies need.
    pub sticks: Vec<StickDemand>,
    /// Drawings as plain geometry.
    pub views: Vec<ViewPlan>,
    /// What to do, in shop order.
    pub steps: Vec<PartSteps>,
    /// What to know; nothing that stops the work.
    pub warnings: Vec<String>,
    /// What to mind.
    pub cautions: Vec<CautionPlan>,
}

/// What to do on one part of a base.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartSteps {
    /// `Sticks`, `Legs`, `Rungs and joints`, `Gluing up` or `Under the top`.
    pub part: String,
    /// In order.
    pub steps: Vec<String>,
}

/// A saw setting.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SawPlan {
    /// What lies on the table.
    pub laying: String,
    /// Turn from square, exact.
    pub turn_exact: f64,
    /// Tilt from upright, exact.
    pub tilt_exact: f64,
    /// Turn as set, to the shop's step.
    pub turn: f64,
    /// Tilt as set.
    pub tilt: f64,
    /// What rounding leaves the end out by over the section, in millimetres.
    pub error: f64,
}

/// Which ways the saw goes for one leg.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LegCutPlan {
    /// `FL`, `FR`, `BL` or `BR`.
    pub leg: String,
    /// 1 or 2: the two hands are mirror images.
    pub hand: u32,
    /// What lies on the table.
    pub laying: String,
    /// Where the top end points: `left` or `right`.
    pub top_end: String,
    /// Which way the cut leans at the fence.
    pub turn: String,
    /// Which way the top of the blade leans.
    pub tilt: String,
    /// Whether the other outer face looks to the fence.
    pub outer_face_at_fence: bool,
}

/// The legs of a base.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LegsPlan {
    /// Breadth of the plane face, breadth of the side face.
    pub section: [Mm; 2],
    /// Along every arris.
    pub length: Mm,
    /// The same before it is brought to the mark.
    pub length_exact: f64,
    /// Length for one of height.
    pub length_factor: f64,
    /// What to cut the blank to.
    pub blank: Mm,
    /// Lean in the leg's own plane.
    pub resultant: f64,
    /// Angle of that plane from the front, seen from above.
    pub sight_line: f64,
    /// Foot on the floor: along the front, and square to it.
    pub foot: [f64; 2],
    /// Settings for both layings.
    pub settings: Vec<SawPlan>,
    /// Which ways, for every leg.
    pub cuts: Vec<LegCutPlan>,
    /// Whether the plain pair (turned to the front lean, tilted to the side lean) is good enough.
    pub plain_pair_good_enough: bool,
    /// What the plain pair leaves the end out by, in millimetres.
    pub plain_pair_error: f64,
    /// The same in a sentence.
    pub plain_pair: String,
    /// How far front and side planes are off square.
    pub out_of_square: f64,
    /// The same across the side face, in millimetres.
    pub out_of_square_mm: f64,
    /// What that means, in a sentence.
    pub squareness: String,
    /// Marks: where, what, meaning.
    pub marks: Vec<[String; 3]>,
    /// The two hands in words.
    pub hands: Vec<String>,
    /// The order of cutting in words.
    pub order: Vec<String>,
}

/// A face of a rung between its shoulders.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TrapezoidPlan {
    /// Along the top edge.
    pub top: f64,
    /// Along the bottom edge.
    pub bottom: f64,
    /// Between the edges.
    pub breadth: f64,
    /// Along a shoulder.
    pub shoulder: f64,
    /// Corner to corner.
    pub diagonal: f64,
}

/// A pair of rungs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RungPlan {
    /// Its name.
    pub name: String,
    /// `front and back` or `left and right`.
    pub sides: String,
    /// From the floor to the top edge.
    pub height: Mm,
    /// Breadth and thickness.
    pub section: [Mm; 2],
    /// How far the outer face lies inside that of the legs.
    pub set_in: Mm,
    /// Outer face, exact.
    pub outer: TrapezoidPlan,
    /// Inner face, exact.
    pub inner: TrapezoidPlan,
    /// Along the top edge of the outer face.
    pub top_length: Mm,
    /// Along the bottom edge of the outer face.
    pub bottom_length: Mm,
    /// Shoulder on the face, from square, exact.
    pub shoulder_exact: f64,
    /// Shoulder on the edges, from square, exact; below zero when the inner face is the longer.
    pub edge_shoulder_exact: f64,
    /// Bevel of the edges, exact.
    pub edge_bevel_exact: f64,
    /// Bevel of the edges as set.
    pub edge_bevel: f64,
    /// Breadth of the stick before the bevelled rips.
    pub rip_breadth: Mm,
    /// What to cut the blank to.
    pub blank: Mm,
    /// Settings for both layings.
    pub settings: Vec<SawPlan>,
    /// Which ways for the end that points right, for both layings: laying, turn, tilt.
    pub cuts: Vec<[String; 3]>,
    /// Its joints.
    pub joint: JointPlan,
}

/// The joints of a pair of rungs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum JointPlan {
    /// Dowels.
    Dowels {
        /// Diameter.
        diameter: Mm,
        /// Length of a dowel.
        length: Mm,
        /// Depth of the holes.
        hole: Mm,
        /// In each end.
        each_end: u32,
        /// For the pair of rungs.
        total: u32,
        /// From the bottom edge to the lowest middle, along the shoulder.
        from_bottom: Mm,
        /// From the highest middle to the top edge.
        from_top: Mm,
        /// Between middles.
        spacing: Mm,
        /// The bores, lowest first.
        bores: Vec<BorePlan>,
        /// The least wood beside a bore, in rung and leg.
        wall: Mm,
    },
    /// A tenon.
    Tenon {
        /// Into the leg.
        length: Mm,
        /// Its thickness.
        thickness: Mm,
        /// Its breadth.
        breadth: Mm,
        /// Depth of the mortise.
        mortise: Mm,
        /// From the outer arris of the shoulder.
        on_rung_in: Mm,
        /// From the bottom edge.
        on_rung_up: Mm,
        /// Up the leg's arris from the foot.
        on_leg_up: Mm,
        /// Across from that arris.
        on_leg_in: Mm,
        /// Up the arris to the mortise's upper end.
        on_leg_up_top: Mm,
        /// Across from the arris to the mortise at that end.
        on_leg_in_top: Mm,
        /// The least wood beside the mortise.
        wall: Mm,
    },
}

/// A bore.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BorePlan {
    /// On the shoulder, up its outer arris from the bottom edge.
    pub on_rung_up: Mm,
    /// On the shoulder, square in from that arris.
    pub on_rung_in: Mm,
    /// On the leg's inner face, up the arris it shares with an outer face, from the foot.
    pub on_leg_up: Mm,
    /// Square across from that arris.
    pub on_leg_in: Mm,
}

/// Screws up into the top.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ScrewsPlan {
    /// Screw number.
    pub number: u32,
    /// For one base.
    pub count: u32,
    /// Length of the screws.
    pub length: Mm,
    /// The longest that could be used.
    pub longest: Mm,
    /// How much goes into the top.
    pub bite: Mm,
    /// Pilot drill.
    pub pilot: Mm,
    /// Clearance drill.
    pub clearance: Mm,
    /// Wood that stays between a head and the underside of the top.
    pub through: Mm,
    /// Where they enter the top from its centre: to the right, to the back.
    pub places: Vec<[Mm; 2]>,
}

/// The offsets that bring a base central.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CentringPlan {
    /// From the centre to the left, right, front and back.
    pub offsets: [Mm; 4],
    /// From the rim in, along the centre lines: at the left, right, front and back; not above zero where the rim lies
    /// inside the line.
    pub rims: [Mm; 4],
    /// From the centre to the outer corner of a leg's top.
    pub corner: Mm,
    /// Whether all legs' tops are wholly under the top.
    pub under: bool,
}

/// How it stands to two opposite sides.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StandingSidePlan {
    /// Which sides.
    pub sides: String,
    /// From the centre to the line between the feet.
    pub reach: Mm,
    /// Degrees of tilt before it goes over, empty.
    pub tipping: f64,
    /// Holding over overturning moment under the published load.
    pub margin: Option<f64>,
    /// Push at seat height that would just tip it with the load 60 mm inside the edge, in newtons.
    pub push: Option<f64>,
    /// The same with the load 50 mm inside the edge.
    pub push_at_50: Option<f64>,
}

/// How it stands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StandingPlan {
    /// Kilograms.
    pub mass: f64,
    /// Height of the centre of gravity.
    pub centre: f64,
    /// Bending moment at the top of a leg under 800 N on four legs, newton metres.
    pub leg_moment: f64,
    /// Both pairs of sides.
    pub sides: Vec<StandingSidePlan>,
    /// What to make of it.
    pub notes: Vec<String>,
}

/// Sticks of one size.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StickDemand {
    /// What they become.
    pub name: String,
    /// Finished section.
    pub section: [Mm; 2],
    /// Section as sawn.
    pub sawn: [Mm; 2],
    /// Length of the blank.
    pub length: Mm,
    /// How many.
    pub count: u32,
}

/// A caution.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CautionPlan {
    /// Which operation.
    pub operation: String,
    /// What to mind.
    pub text: String,
}

/// What a line of a view is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LineRole {
    /// Seen.
    Visible,
    /// Behind something.
    Hidden,
    /// A centre line.
    Centre,
    /// A saw cut.
    Cut,
    /// A bore or mortise.
    Bore,
    /// A pencil mark.
    Mark,
    /// Another part: top, floor, blank.
    Ghost,
}

/// A drawing as plain geometry: millimetres of the piece, x to the right, y up; every dimension line is placed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ViewPlan {
    /// Short name for files.
    pub name: String,
    /// Heading.
    pub title: String,
    /// Whether lengths and angles are true; a sketch is not to scale.
    pub to_scale: bool,
    /// Runs of lines.
    pub lines: Vec<ViewLine>,
    /// Circles.
    pub circles: Vec<ViewCircle>,
    /// Dimensions.
    pub dimensions: Vec<ViewDimension>,
    /// Words at places.
    pub notes: Vec<ViewNote>,
}

/// A run of lines.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ViewLine {
    /// What it is.
    pub role: LineRole,
    /// What it belongs to.
    pub part: String,
    /// Its points.
    pub points: Vec<[f64; 2]>,
    /// Whether the last joins the first.
    pub closed: bool,
}

/// A circle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ViewCircle {
    /// What it is.
    pub role: LineRole,
    /// Its middle.
    pub centre: [f64; 2],
    /// Its radius.
    pub radius: f64,
}

/// A dimension.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ViewDimension {
    /// The measured points; an extension line goes from each to the end of `line` with the same number.
    pub from: [[f64; 2]; 2],
    /// The dimension line, an arc as a run of points.
    pub line: Vec<[f64; 2]>,
    /// Middle of its text.
    pub text_at: [f64; 2],
    /// The length it says, where it is one.
    pub length: Option<Mm>,
    /// The degrees it says, where it is an angle.
    pub degrees: Option<f64>,
    /// A few words beside the value.
    pub label: String,
}

/// Words at a place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ViewNote {
    /// What it points at.
    pub at: [f64; 2],
    /// The words.
    pub text: String,
}

fn degrees(angle: Angle) -> f64 {
    rounded(angle.to_degrees())
}

fn saw(laying: &str, setting: &splay::SawSetting) -> SawPlan {
    SawPlan {
        laying: laying.to_string(),
        turn_exact: degrees(setting.turn),
        tilt_exact: degrees(setting.tilt),
        turn: degrees(setting.set_turn),
        tilt: degrees(setting.set_tilt),
        error: rounded(setting.error_mm),
    }
}

fn sizes(section: splay::Section) -> [Mm; 2] {
    [section.width.into(), section.thickness.into()]
}

const PLANE_FACE: &str = "plane face down";
const SIDE_FACE: &str = "side face down";
const FACE: &str = "outer face down, top edge at the fence";
const EDGE: &str = "bottom edge down, outer face at the fence";

/// The answer of the splay crate as plan.json shows it.
#[must_use]
pub fn written(base: &splay::Base) -> BasePlan {
    BasePlan {
        name: base.name.clone(),
        count: base.count,
        height: base.height.into(),
        front_lean: degrees(base.leans.front),
        side_lean: degrees(base.leans.side),
        top_spread: [base.top_spread.width.into(), base.top_spread.depth.into()],
        floor_spread: [base.floor_spread.width.into(), base.floor_spread.depth.into()],
        legs: legs(base),
        rungs: base.rungs.iter().zip(&base.joints).map(|(rung, joint)| self::rung(rung, joint)).collect(),
        screws: base.fixings.as_ref().map(screws),
        centring: base.centring.as_ref().map(|c| CentringPlan {
            offsets: [c.left, c.right, c.front, c.back].map(Mm),
            rims: c.rims.map(Mm),
            corner: c.corner.into(),
            under: c.under,
        }),
        standing: standing(&base.standing),
        sticks: base.sticks.iter().map(stick).collect(),
        views: base.views.iter().map(view).collect(),
        steps: base
            .steps
            .parts()
            .map(|(part, steps)| PartSteps { part: part.to_string(), steps: steps.to_vec() })
            .collect(),
        warnings: base.warnings.clone(),
        cautions: base
            .cautions
            .iter()
            .map(|c| CautionPlan { operation: c.operation.clone(), text: c.text.clone() })
            .collect(),
    }
}

fn legs(base: &splay::Base) -> LegsPlan {
    let legs = &base.legs;
    let cuts = legs.cuts.iter().map(|cut| LegCutPlan {
        leg: cut.leg.letters().to_string(),
        hand: if cut.hand == splay::Hand::One { 1 } else { 2 },
        laying: if cut.laying == splay::Laying::PlaneFaceDown { PLANE_FACE } else { SIDE_FACE }.to_string(),
        top_end: cut.top_end.name().to_string(),
        turn: cut.turn.name().to_string(),
        tilt: cut.tilt.name().to_string(),
        outer_face_at_fence: cut.outer_face_at_fence,
    });
    let marks = legs.marking.marks.iter().map(|m| [m.place.clone(), m.sign.clone(), m.meaning.clone()]);
    LegsPlan {
        section: sizes(base.leg_section),
        length: legs.length.into(),
        length_exact: rounded(legs.exact_length_mm),
        length_factor: rounded(legs.length_factor),
        blank: legs.blank.into(),
        resultant: degrees(legs.resultant),
        sight_line: degrees(legs.sight_line),
        foot: legs.foot_mm.map(rounded),
        settings: vec![saw(PLANE_FACE, &legs.plane_face_down), saw(SIDE_FACE, &legs.side_face_down)],
        cuts: cuts.collect(),
        plain_pair_good_enough: legs.plain_pair.good_enough,
        plain_pair_error: rounded(legs.plain_pair.error_mm),
        plain_pair: legs.plain_pair.sentence.clone(),
        out_of_square: degrees(legs.squareness.angle),
        out_of_square_mm: rounded(legs.squareness.across_mm),
        squareness: legs.squareness.sentence.clone(),
        marks: marks.collect(),
        hands: legs.marking.hands.clone(),
        order: legs.marking.order.clone(),
    }
}

fn rung(rung: &splay::Rung, joint: &splay::JointPlan) -> RungPlan {
    let face = |t: &splay::Trapezoid| TrapezoidPlan {
        top: rounded(t.top_mm),
        bottom: rounded(t.bottom_mm),
        breadth: rounded(t.breadth_mm),
        shoulder: rounded(t.shoulder_mm),
        diagonal: rounded(t.diagonal_mm),
    };
    let cuts = rung.cuts.iter().map(|cut| {
        let laying = if cut.laying == splay::RungLaying::FaceDown { FACE } else { EDGE };
        [laying, cut.turn.name(), cut.tilt.name()].map(str::to_string)
    });
    RungPlan {
        name: rung.name.clone(),
        sides: rung.pair.name().to_string(),
        height: rung.height.into(),
        section: sizes(rung.section),
        set_in: rung.set_in.into(),
        outer: face(&rung.outer),
        inner: face(&rung.inner),
        top_length: rung.top_length.into(),
        bottom_length: rung.bottom_length.into(),
        shoulder_exact: degrees(rung.shoulder),
        edge_shoulder_exact: degrees(rung.edge_shoulder),
        edge_bevel_exact: degrees(rung.edge_bevel),
        edge_bevel: degrees(rung.set_edge_bevel),
        rip_breadth: rung.rip_breadth.into(),
        blank: rung.blank.into(),
        settings: vec![saw(FACE, &rung.face_down), saw(EDGE, &rung.edge_down)],
        cuts: cuts.collect(),
        joint: self::joint(joint),
    }
}

fn joint(joint: &splay::JointPlan) -> JointPlan {
    match joint {
        splay::JointPlan::Dowels(plan) => JointPlan::Dowels {
            diameter: plan.diameter.into(),
            length: plan.length.into(),
            hole: plan.hole.into(),
            each_end: plan.each_end,
            total: plan.total,
            from_bottom: plan.from_bottom.into(),
            from_top: plan.from_top.into(),
            spacing: plan.spacing.into(),
            bores: plan
                .bores
                .iter()
                .map(|bore| BorePlan {
                    on_rung_up: bore.on_rung_up.into(),
                    on_rung_in: bore.on_rung_in.into(),
                    on_leg_up: bore.on_leg_up.into(),
                    on_leg_in: bore.on_leg_in.into(),
                })
                .collect(),
            wall: plan.wall.into(),
        },
        splay::JointPlan::Tenon(plan) => JointPlan::Tenon {
            length: plan.length.into(),
            thickness: plan.thickness.into(),
            breadth: plan.breadth.into(),
            mortise: plan.mortise.into(),
            on_rung_in: plan.on_rung_in.into(),
            on_rung_up: plan.on_rung_up.into(),
            on_leg_up: plan.on_leg_up.into(),
            on_leg_in: plan.on_leg_in.into(),
            on_leg_up_top: plan.on_leg_up_top.into(),
            on_leg_in_top: plan.on_leg_in_top.into(),
            wall: plan.wall.into(),
        },
    }
}

fn screws(fixings: &splay::Fixings) -> ScrewsPlan {
    ScrewsPlan {
        number: fixings.number,
        count: fixings.count,
        length: fixings.length.into(),
        longest: fixings.longest.into(),
        bite: fixings.bite.into(),
        pilot: fixings.pilot.into(),
        clearance: fixings.clearance.into(),
        through: fixings.through.into(),
        places: fixings.screws.iter().map(|s| [s.x.into(), s.y.into()]).collect(),
    }
}

fn standing(standing: &splay::Standing) -> StandingPlan {
    let side = |side: &splay::StandingSide| StandingSidePlan {
        sides: side.name.clone(),
        reach: side.reach.into(),
        tipping: degrees(side.tipping),
        margin: side.margin.map(rounded),
        push: side.push_newtons.map(rounded),
        push_at_50: side.push_at_50_newtons.map(rounded),
    };
    StandingPlan {
        mass: rounded(standing.mass_kg),
        centre: rounded(standing.centre_mm),
        leg_moment: rounded(standing.leg_moment_nm),
        sides: standing.sides.iter().map(side).collect(),
        notes: standing.notes.clone(),
    }
}

fn stick(stick: &splay::Stick) -> StickDemand {
    StickDemand {
        name: stick.name.clone(),
        section: sizes(stick.section),
        sawn: sizes(stick.sawn),
        length: stick.length.into(),
        count: stick.count,
    }
}

fn role(role: SplayRole) -> LineRole {
    match role {
        SplayRole::Visible => LineRole::Visible,
        SplayRole::Hidden => LineRole::Hidden,
        SplayRole::Centre => LineRole::Centre,
        SplayRole::Cut => LineRole::Cut,
        SplayRole::Bore => LineRole::Bore,
        SplayRole::Mark => LineRole::Mark,
        SplayRole::Ghost => LineRole::Ghost,
    }
}

fn view(view: &splay::View) -> ViewPlan {
    let point = |p: &splay::view::Point| [rounded(p.x), rounded(p.y)];
    let points = |run: &[splay::view::Point]| run.iter().map(point).collect::<Vec<_>>();
    ViewPlan {
        name: view.name.clone(),
        title: view.title.clone(),
        to_scale: view.to_scale,
        lines: view
            .outlines
            .iter()
            .map(|line| ViewLine {
                role: role(line.role),
                part: line.part.clone(),
                points: points(&line.points),
                closed: line.closed,
            })
            .collect(),
        circles: view
            .circles
            .iter()
            .map(|c| ViewCircle { role: role(c.role), centre: point(&c.centre), radius: rounded(c.radius) })
            .collect(),
        dimensions: view
            .dimensions
            .iter()
            .map(|d| {
                let (length, degrees) = match d.value {
                    SplayValue::Length(length) => (Some(length.into()), None),
                    SplayValue::Angle(angle) => (None, Some(self::degrees(angle))),
                };
                ViewDimension {
                    from: [point(&d.from[0]), point(&d.from[1])],
                    line: points(&d.line),
                    text_at: point(&d.text_at),
                    length,
                    degrees,
                    label: d.label.clone(),
                }
            })
            .collect(),
        notes: view.notes.iter().map(|n| ViewNote { at: point(&n.at), text: n.text.clone() }).collect(),
    }
}
