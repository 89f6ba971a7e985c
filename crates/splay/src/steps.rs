//! What to do, in shop order, in words.

use stripwright_units::{Angle, Length, System};

use crate::Base;
use crate::fixing::{Fixings, ScrewRow};
use crate::joint::{DowelPlan, JointPlan, TenonPlan};
use crate::leg::{Hand, Laying, LegCut, LegPlace, SawSetting, Way};
use crate::rung::{Rung, RungLaying, RungPair};
use crate::shape::about;
use crate::spec::Edges;

/// Work shorter than 12 in is not fed through a planer or ripped (T37, verified there: Popular Woodworking no. 165).
pub const SHORT: Length = Length::from_nm(12 * Length::INCH.nm());

/// The work on all bases together, by its parts in shop order: short paragraphs, each one thing to do.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Steps {
    /// Sawing and planing the sticks.
    pub sticks: Vec<String>,
    /// Marking and cutting the legs.
    pub legs: Vec<String>,
    /// Cutting the rungs and all joints.
    pub rungs: Vec<String>,
    /// Gluing up.
    pub assembly: Vec<String>,
    /// Centring and screwing on.
    pub fixing: Vec<String>,
}

impl Steps {
    /// The parts that have anything to do, each with its heading.
    pub fn parts(&self) -> impl Iterator<Item = (&'static str, &[String])> {
        [
            ("Sticks", &self.sticks),
            ("Legs", &self.legs),
            ("Rungs and joints", &self.rungs),
            ("Gluing up", &self.assembly),
            ("Under the top", &self.fixing),
        ]
        .into_iter()
        .map(|(title, steps)| (title, steps.as_slice()))
        .filter(|(_, steps)| !steps.is_empty())
    }
}

/// The steps of all bases together.
pub(crate) fn steps(base: &Base, system: System) -> Steps {
    Steps {
        sticks: sticks(base, system),
        legs: legs(base, system),
        rungs: rungs(base, system),
        assembly: assembly(base, system),
        fixing: fixing(base, system),
    }
}

fn sticks(base: &Base, system: System) -> Vec<String> {
    let mut all: Vec<String> = base
        .sticks
        .iter()
        .map(|stick| {
            format!(
                "Saw {} stick{} for {}: {} by {}, {} long; plane to {} by {}{}.",
                stick.count,
                if stick.count == 1 { "" } else { "s" },
                if stick.name == "leg" { "legs".to_string() } else { format!("the {}", stick.name) },
                stick.sawn.width.show(system),
                stick.sawn.thickness.show(system),
                stick.length.show(system),
                stick.planed.width.show(system),
                stick.planed.thickness.show(system),
                if stick.planed == stick.section { "" } else { ", which the bevelled rips need" },
            )
        })
        .collect();
    if base.sticks.iter().any(|stick| stick.length < SHORT) {
        all.push(
            "Sticks under about 300 mm (12 in) are too short to rip, plane or bevel safely: leave several in one length, do all \
             work along the grain first, and crosscut them last."
                .to_string(),
        );
    }
    all
}

/// What shows as nothing is nothing: floats leave a trace of tilt where the blade stands upright.
fn none(angle: Angle) -> bool {
    angle.to_string() == Angle::degrees(0.0).to_string()
}

/// `6° (exactly 5.967°)`, or just `6°`.
fn shown(exact: Angle, set: Angle) -> String {
    if exact.to_string() == set.to_string() { exact.to_string() } else { format!("{set} (exactly {exact})") }
}

/// `saw turned 6° (exactly 5.967°), the cut running away from you to the right; blade tilted 6°, its top to the right`.
fn set(setting: &SawSetting, turn: Way, tilt: Way) -> String {
    let turned = if none(setting.turn) {
        "saw square".to_string()
    } else {
        format!(
            "saw turned {}, the cut running away from you to the {}",
            shown(setting.turn, setting.set_turn),
            turn.name()
        )
    };
    let tilted = if none(setting.tilt) {
        "blade upright".to_string()
    } else {
        format!("blade tilted {}, its top to the {}", shown(setting.tilt, setting.set_tilt), tilt.name())
    };
    format!("{turned}; {tilted}")
}

/// Hundredths of a millimetre, and thousandths of an inch before them where the shop works in inches.
pub(crate) fn fine(mm: f64, system: System) -> String {
    match system {
        System::Metric => format!("{mm:.2} mm"),
        System::Inch => format!("{:.3} in ({mm:.2} mm)", mm / 25.4),
    }
}

fn legs(base: &Base, system: System) -> Vec<String> {
    let legs = &base.legs;
    let pair = |hand: Hand| match hand {
        Hand::One => "front left and back right",
        Hand::Two => "front right and back left",
    };
    let lying = |leg: LegPlace, laying: Laying, other: &str| {
        let cut = LegCut::of(leg, laying, Way::Right);
        let looks = if cut.outer_face_at_fence { "against the fence" } else { "towards you" };
        (cut, format!("top end to the right, {other} {looks}"))
    };
    let mut all: Vec<String> = legs.marking.order[..2].to_vec();
    for leg in [LegPlace::FrontLeft, LegPlace::FrontRight] {
        let (cut, lies) = lying(leg, Laying::PlaneFaceDown, "side face");
        all.push(format!(
            "Legs {}: plane face down, {lies}; {}.",
            pair(leg.hand()),
            set(&legs.plane_face_down, cut.turn, cut.tilt)
        ));
    }
    all.push(format!(
        "Cut the top end; slide the leg along, same face down and same end leading; cut the foot {} from it, measured along an arris. \
         Write the letters anew on each fresh top end, as the first cut takes them away.",
        legs.length.show(system)
    ));
    let [plane, side] = [&legs.plane_face_down, &legs.side_face_down];
    // Where every cut is square there is nothing more to set.
    if !none(plane.turn) || !none(plane.tilt) {
        all.push(legs.plain_pair.sentence.clone());
        let (cut, lies) = lying(LegPlace::FrontLeft, Laying::SideFaceDown, "plane face");
        all.push(format!(
            "Instead, with the side face down: legs {}, {lies}; {}. For the other two swing the saw to the other side and leave the tilt.",
            pair(Hand::One),
            set(side, cut.turn, cut.tilt),
        ));
        if !none(plane.tilt) {
            all.push(
                "On a saw that tilts to the left only, point the top ends to the left: the turn stays as it is, the blade's \
                 top leans left, and the face that is said to look towards you lies against the fence, the one against the fence \
                 towards you."
                    .to_string(),
            );
        }
        all.push(format!(
            "Rounding the settings leaves the ends out by {} over the section with the plane face down, {} with the side face down.",
            fine(plane.error_mm, system),
            fine(side.error_mm, system)
        ));
    }
    if !none(legs.squareness.angle) {
        all.push(legs.squareness.sentence.clone());
    }
    all.push(legs.marking.order[legs.marking.order.len() - 1].clone());
    all
}

/// `front and back rungs 1, 2 and 3`, or the one rung's own name.
fn names(rungs: &[&Rung]) -> String {
    let numbers: Vec<String> = rungs.iter().map(|rung| rung.number.to_string()).collect();
    match numbers.as_slice() {
        [] => String::new(),
        [_] => rungs[0].name.clone(),
        [front @ .., last] => format!("{} rungs {} and {last}", rungs[0].pair.name(), front.join(", ")),
    }
}

/// The rungs that are alike in something, in their order.
fn alike<T: PartialEq>(rungs: &[&Rung], what: impl Fn(&Rung) -> T) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (n, rung) in rungs.iter().enumerate() {
        let same = groups.iter_mut().find(|g| what(rungs[g[0]]) == what(rung));
        match same {
            Some(group) => group.push(n),
            None => groups.push(vec![n]),
        }
    }
    groups
}

fn rungs(base: &Base, system: System) -> Vec<String> {
    if base.rungs.is_empty() {
        return Vec::new();
    }
    let mut all = vec![
        "Every rung is cut at the end that points to the right; for its other end turn it end for end with the same side down, \
         swing the saw to the same angle on the other side, and leave the tilt."
            .to_string(),
    ];
    if base.joints.iter().any(|joint| matches!(joint, JointPlan::Tenon(_))) {
        all.push(
            "These cuts are the shoulders, and the lengths are from shoulder to shoulder: the tenons stand beyond them. Saw only down \
             to the tenon, never through."
                .to_string(),
        );
    }
    for pair in [RungPair::FrontAndBack, RungPair::LeftAndRight] {
        let rungs: Vec<&Rung> = base.rungs.iter().filter(|rung| rung.pair == pair).collect();
        let pick = |group: &[usize]| group.iter().map(|n| rungs[*n]).collect::<Vec<_>>();
        for group in alike(&rungs, |r| (r.edges, shown(r.edge_bevel, r.set_edge_bevel))) {
            let group = pick(&group);
            if group[0].edges == Edges::Level && !none(group[0].edge_bevel) {
                all.push(bevelled(&group, system));
            }
        }
        for group in alike(&rungs, |r| r.cuts.map(|cut| setting_of(r, cut.laying))) {
            let group = pick(&group);
            let said = |laying| setting_of(group[0], laying);
            let (face, edge) = (said(RungLaying::FaceDown), said(RungLaying::EdgeDown));
            let or = if face == edge {
                String::new()
            } else {
                format!(" Or bottom edge down, outer face against the fence; {edge}.")
            };
            let name = capital(&names(&group));
            all.push(format!("{name}: outer face down, top edge against the fence; {face}.{or}"));
        }
        for rung in &rungs {
            let (bottom, top) = (rung.bottom_length.show(system), rung.top_length.show(system));
            all.push(if bottom == top {
                format!("{}: {bottom} along both edges of the outer face.", capital(&rung.name))
            } else {
                format!(
                    "{}: {bottom} along the bottom edge and {top} along the top edge of the outer face.",
                    capital(&rung.name)
                )
            });
        }
    }
    all.push(match base.joints.first() {
        Some(JointPlan::Tenon(_)) => "Tenons go square to the shoulder, mortises square into the leg's inner face.",
        _ => {
            "Bore square to the shoulder and square to the leg's inner face. Try dowel and depth stop in waste first."
        }
    }
    .to_string());
    for (rung, joint) in base.rungs.iter().zip(&base.joints) {
        all.extend(match joint {
            JointPlan::Dowels(plan) => dowels(rung, plan, system),
            JointPlan::Tenon(plan) => tenon(rung, plan, system),
        });
    }
    all
}

/// How one rung is set, as said.
fn setting_of(rung: &Rung, laying: RungLaying) -> String {
    let setting = match laying {
        RungLaying::FaceDown => &rung.face_down,
        RungLaying::EdgeDown => &rung.edge_down,
    };
    let cut = rung.cuts.iter().find(|cut| cut.laying == laying);
    cut.map_or_else(String::new, |cut| set(setting, cut.turn, cut.tilt))
}

fn bevelled(group: &[&Rung], system: System) -> String {
    let widths: Vec<String> = alike(group, |r| (r.rip_breadth, r.section.width))
        .into_iter()
        .map(|same| {
            let same: Vec<&Rung> = same.into_iter().map(|n| group[n]).collect();
            let which =
                if same.len() == group.len() { String::new() } else { format!(" ({})", names(&same)) };
            format!(
                "from sticks {} broad to {} along the face{which}",
                same[0].rip_breadth.show(system),
                same[0].section.width.show(system)
            )
        })
        .collect();
    format!(
        "{}: rip both edges at {} from square, parallel to each other, {}. They then lie level.",
        capital(&names(group)),
        shown(group[0].edge_bevel, group[0].set_edge_bevel),
        widths.join("; ")
    )
}

pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// `10.5 mm and 26.5 mm`.
fn list(lengths: Vec<Length>, system: System) -> String {
    let shown: Vec<String> = lengths.iter().map(|l| l.show(system)).collect();
    match shown.as_slice() {
        [front @ .., last] if !front.is_empty() => format!("{} and {last}", front.join(", ")),
        _ => shown.concat(),
    }
}

/// The outer face of the leg that a rung's joints are measured from.
fn outer_face(rung: &Rung) -> &'static str {
    match rung.pair {
        RungPair::FrontAndBack => "plane face",
        RungPair::LeftAndRight => "side face",
    }
}

fn dowels(rung: &Rung, plan: &DowelPlan, system: System) -> Vec<String> {
    let ends = if plan.each_end == 1 { "1 dowel".to_string() } else { format!("{} dowels", plan.each_end) };
    let up = |pick: fn(&crate::Bore) -> Length| list(plan.bores.iter().map(pick).collect(), system);
    // One figure where all bores share it: in the leg they do, unless the rung stands otherwise than its legs.
    let shared = |pick: fn(&crate::Bore) -> Length| {
        let mut all: Vec<Length> = plan.bores.iter().map(pick).collect();
        if all.windows(2).all(|two| two[0] == two[1]) {
            all.truncate(1);
        }
        list(all, system)
    };
    let order = if plan.each_end > 1 { ", lowest first" } else { "" };
    // Places on the leg are told to the mark, each by itself.
    let apart = if plan.each_end > 1 {
        format!(
            " Neighbours lie {} apart in both: check the second bore by the first.",
            plan.spacing.show(system)
        )
    } else {
        String::new()
    };
    vec![
        format!(
            "{}: {ends} of {} by {} in each end, {} for the pair; bores {} deep in rung and leg, with {} of wood left where it is thinnest \
             beside them.",
            capital(&rung.name),
            plan.diameter.show(system),
            plan.length.show(system),
            plan.total,
            plan.hole.show(system),
            plan.wall.show(system),
        ),
        format!(
            "Middles on the rung{order}: {} up the outer arris of its shoulder from the bottom corner, then {} in, square to that \
             arris. Middles on the leg's inner face{order}: {} across from the arris with the {}; {} up that arris from the foot.{apart}",
            up(|b| b.on_rung_up),
            shared(|b| b.on_rung_in),
            shared(|b| b.on_leg_in),
            outer_face(rung),
            up(|b| b.on_leg_up),
        ),
    ]
}

fn tenon(rung: &Rung, plan: &TenonPlan, system: System) -> Vec<String> {
    let askew = if plan.on_leg_in_top == plan.on_leg_in {
        String::new()
    } else {
        format!(
            "; it lies askew, its upper end {} across and {} up",
            plan.on_leg_in_top.show(system),
            plan.on_leg_up_top.show(system)
        )
    };
    vec![
        format!(
            "{}: tenons {} long, {} thick and {} broad; mortises {} deep, with {} of wood left where it is thinnest beside them.",
            capital(&rung.name),
            plan.length.show(system),
            plan.thickness.show(system),
            plan.breadth.show(system),
            plan.mortise.show(system),
            plan.wall.show(system),
        ),
        format!(
            "The tenon begins {} up the outer arris of the rung's shoulder from its bottom corner, then {} in, square to that arris; \
             the mortise, on the leg's inner face, {} across from the arris with the {} and {} up that arris from the foot{askew}.",
            plan.on_rung_up.show(system),
            plan.on_rung_in.show(system),
            plan.on_leg_in.show(system),
            outer_face(rung),
            plan.on_leg_up.show(system),
        ),
    ]
}

fn assembly(base: &Base, system: System) -> Vec<String> {
    let has = |pair| base.rungs.iter().any(|rung| rung.pair == pair);
    let order = match (has(RungPair::FrontAndBack), has(RungPair::LeftAndRight)) {
        (true, true) => {
            Some("Glue front and back first, flat on the bench, then the side rungs between them.")
        }
        (true, false) => Some("Glue front and back, flat on the bench."),
        (false, true) => Some("Glue the two sides, flat on the bench."),
        (false, false) => None,
    };
    let mut all = Vec::new();
    if let Some(order) = order {
        all.push(
            "Dry-fit everything: every shoulder closed, the base not rocking on a flat surface.".to_string(),
        );
        all.push(order.to_string());
        all.push(
            "Stand the base on a flat surface and compare the diagonals at floor and top before the glue grabs."
                .to_string(),
        );
    }
    if let Some(fixings) = &base.fixings {
        all.extend(cleats(fixings, system));
    }
    all
}

fn fixing(base: &Base, system: System) -> Vec<String> {
    let mut all = Vec::new();
    if let Some(centring) = &base.centring {
        all.push(format!(
            "Draw both centre lines on the underside of the top, square to each other through its centre, and from them mark four \
             lines: {} to the left and right, {} to the front and back. The outer corners of the legs stand where those lines \
             cross, {} from the centre.",
            centring.left.show(system),
            centring.front.show(system),
            centring.corner.show(system),
        ));
        all.extend(from_the_rim(centring, system));
    }
    if let Some(fixings) = &base.fixings {
        all.push(format!(
            "Screw the base on with {} screws no. {} of {}, none longer than {}: clearance holes {}{}, heads sunk until {} of wood \
             are left under them; pilots {}, {} into the top.",
            fixings.count,
            fixings.number,
            fixings.length.show(system),
            fixings.longest.show(system),
            drill(fixings.clearance, system),
            if fixings.in_rails {
                " up through the middle of the rails, parallel to their faces"
            } else {
                " straight up through the middle of the cleats"
            },
            fixings.through.show(system),
            drill(fixings.pilot, system),
            fixings.bite.show(system),
        ));
        let places: Vec<String> = fixings.rows.iter().map(|row| told(row, system)).collect();
        all.push(format!("They enter the top {}.", places.join("; and ")));
    }
    all
}

/// Which cleats are cut, and what holds them.
fn cleats(fixings: &Fixings, system: System) -> Vec<String> {
    let (Some(first), Some((count, screw))) = (fixings.cleats.first(), fixings.cleat_screws) else {
        return Vec::new();
    };
    let thick = about(first.thickness, system);
    let lengths: Vec<String> = fixings
        .cleats
        .iter()
        .map(|c| {
            format!("2 of {}, {} broad, for {}", c.length.show(system), c.breadth.show(system), c.pair.name())
        })
        .collect();
    let mut all = vec![format!(
        "Cut the cleats of one base, {thick} thick: {}; sand them like the rest. No list of boards has them: take what \
         is left of the lumber. They are held by {count} screws no. {} of {}, in clearance holes.",
        lengths.join(" and "),
        fixings.number,
        screw.show(system)
    )];
    for cleat in &fixings.cleats {
        all.push(match &cleat.rung {
            Some((rung, lean)) => {
                let side = if none(*lean) {
                    String::new()
                } else {
                    format!(
                        "plane the side that meets the rung to its lean of {}, so that {thick} of breadth are left at the narrow edge, ",
                        shown(*lean, *lean)
                    )
                };
                format!(
                    "Along the inside of each {rung}: {side}glue the cleat to the rung with its upper side level with the tops of the \
                     legs, and screw it on from the inside, the screws evenly along it and clear of those for the top."
                )
            }
            None => format!(
                "No rung lies at {} for the cleats there: fit each between its two legs, level with their tops, glue it to both, and \
                 drive a screw on the slant through each end into the leg, from its underside.",
                cleat.pair.name()
            ),
        });
    }
    all
}

/// A drill of the table, which is in fractions of an inch: in both systems, the shop's own first.
fn drill(size: Length, system: System) -> String {
    let (metric, inch) = (about(size.to_mm(), System::Metric), size.show(System::Inch));
    match system {
        System::Metric => format!("{metric} ({inch})"),
        System::Inch => format!("{inch} ({metric})"),
    }
}

/// `at front and back, 95 mm from the centre: in the middle and 40 mm to either side of it`.
fn told(row: &ScrewRow, system: System) -> String {
    let aside: Vec<Length> = row.along.iter().copied().filter(|along| along.is_positive()).collect();
    let along = match (row.along.contains(&Length::ZERO), aside.is_empty()) {
        (true, true) => "in the middle".to_string(),
        (true, false) => format!("in the middle and {} to either side of it", list(aside, system)),
        _ => format!("{} to either side of the middle", list(aside, system)),
    };
    format!("at {}, {} from the centre: {along}", row.pair.name(), row.out.show(system))
}

/// The same lines measured in from the rim, where the rim can be measured from.
fn from_the_rim(centring: &crate::Centring, system: System) -> Option<String> {
    let sides = ["left", "right", "front", "back"];
    if centring.rims.iter().any(|rim| !rim.is_positive()) {
        return None;
    }
    let [left, right, front, back] = centring.rims.map(|rim| rim.show(system));
    let rims = if left == right && front == back {
        format!("{left} at left and right and {front} at front and back")
    } else {
        let each: Vec<String> = sides
            .iter()
            .zip([left, right, front, back])
            .map(|(side, rim)| format!("{rim} at the {side}"))
            .collect();
        each.join(", ")
    };
    Some(format!("To check: in from the rim, measured along the centre lines, that is {rims}."))
}
