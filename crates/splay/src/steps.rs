//! What to do, in shop order, in words.

use stripwright_units::{Angle, Length, System};

use crate::Base;
use crate::joint::{DowelPlan, JointPlan, TenonPlan};
use crate::leg::{Laying, LegCut, LegPlace, SawSetting, Way};
use crate::rung::{Rung, RungLaying};
use crate::spec::Edges;

/// The steps of all bases together.
pub(crate) fn steps(base: &Base, system: System) -> Vec<String> {
    let mut all = sticks(base, system);
    all.extend(legs(base, system));
    for (rung, joint) in base.rungs.iter().zip(&base.joints) {
        all.extend(rung_steps(rung, system));
        all.push(match joint {
            JointPlan::Dowels(plan) => dowels(rung, plan, system),
            JointPlan::Tenon(plan) => tenon(rung, plan, system),
        });
    }
    all.extend(assembly(base, system));
    all
}

fn sticks(base: &Base, system: System) -> Vec<String> {
    base.sticks
        .iter()
        .map(|stick| {
            format!(
                "Saw {} stick{} for {}: {} by {}, {} long; plane to {} by {}.",
                stick.count,
                if stick.count == 1 { "" } else { "s" },
                if stick.name == "leg" { "legs".to_string() } else { format!("the {}", stick.name) },
                stick.sawn.width.show(system),
                stick.sawn.thickness.show(system),
                stick.length.show(system),
                stick.section.width.show(system),
                stick.section.thickness.show(system),
            )
        })
        .collect()
}

/// `6° (exactly 5.967°)`, or just `6°`.
fn shown(exact: Angle, set: Angle) -> String {
    if exact.to_string() == set.to_string() { exact.to_string() } else { format!("{set} (exactly {exact})") }
}

/// `saw turned 6° (exactly 5.967°) so that the cut leans right at the fence, blade tilted 6° with its top to the right`.
fn set(setting: &SawSetting, turn: Way, tilt: Way) -> String {
    let shown = |exact: Angle, set: Angle| {
        if exact.to_string() == set.to_string() {
            exact.to_string()
        } else {
            format!("{set} (exactly {exact})")
        }
    };
    // What shows as nothing is nothing: floats leave a trace of tilt where the blade stands upright.
    let none = |angle: Angle| angle.to_string() == Angle::degrees(0.0).to_string();
    let turned = if none(setting.turn) {
        "saw square".to_string()
    } else {
        format!(
            "saw turned {} so that the cut leans {} at the fence",
            shown(setting.turn, setting.set_turn),
            turn.name()
        )
    };
    let tilted = if none(setting.tilt) {
        "blade upright".to_string()
    } else {
        format!("blade tilted {} with its top to the {}", shown(setting.tilt, setting.set_tilt), tilt.name())
    };
    format!("{turned}, {tilted}")
}

fn legs(base: &Base, system: System) -> Vec<String> {
    let legs = &base.legs;
    let mut all: Vec<String> = legs.marking.order[..2].to_vec();
    let pair = |leg: LegPlace| match leg {
        LegPlace::FrontLeft => "front left and back right",
        _ => "front right and back left",
    };
    for leg in [LegPlace::FrontLeft, LegPlace::FrontRight] {
        let cut = LegCut::of(leg, Laying::PlaneFaceDown, Way::Right);
        all.push(format!(
            "Legs {}: plane face down, top end to the right, side face {}; {}. Cut the top end, slide the leg along without \
             turning it and cut the foot {} from it along an arris.",
            pair(leg),
            if cut.outer_face_at_fence { "against the fence" } else { "towards you" },
            set(&legs.plane_face_down, cut.turn, cut.tilt),
            legs.length.show(system)
        ));
    }
    let cut = LegCut::of(LegPlace::FrontLeft, Laying::SideFaceDown, Way::Right);
    all.push(format!(
        "Or with the side face down: legs {} with the top end to the right and the plane face {}; {}. For the other two swing the \
         saw to the other side.",
        pair(LegPlace::FrontLeft),
        if cut.outer_face_at_fence { "against the fence" } else { "towards you" },
        set(&legs.side_face_down, cut.turn, cut.tilt),
    ));
    all.push(
        "A saw that tilts to the left only: point the top end to the left. The turn stays as it is and the blade's top leans left."
            .to_string(),
    );
    all.push(legs.plain_pair.sentence.clone());
    all.push(format!(
        "Rounding the settings leaves the leg's ends out by {:.2} mm over the section (plane face down) or {:.2} mm (side face down).",
        legs.plane_face_down.error_mm, legs.side_face_down.error_mm
    ));
    all.push(legs.squareness.sentence.clone());
    all.push(legs.marking.order[legs.marking.order.len() - 1].clone());
    all
}

fn rung_steps(rung: &Rung, system: System) -> Vec<String> {
    let mut all = Vec::new();
    if rung.edges == Edges::Level && rung.edge_bevel.to_degrees() > 0.0 {
        all.push(format!(
            "{}: from sticks {} broad, rip both edges at {} from square, parallel to each other, to {} along the \
             face; the edges lie level when the rung leans.",
            title(rung),
            rung.rip_breadth.show(system),
            shown(rung.edge_bevel, rung.set_edge_bevel),
            rung.section.width.show(system)
        ));
    }
    for cut in rung.cuts {
        let (setting, lying) = match cut.laying {
            RungLaying::FaceDown => (&rung.face_down, "outer face down, top edge against the fence"),
            RungLaying::EdgeDown => (&rung.edge_down, "bottom edge down, outer face against the fence"),
        };
        let opening = match cut.laying {
            RungLaying::FaceDown => format!("{}: ", title(rung)),
            RungLaying::EdgeDown => "Or with the ".to_string(),
        };
        all.push(format!(
            "{opening}{lying}, working at the end that points right; {}. For the other end turn the rung end for end, the same side \
             down, and swing the saw to the other side.",
            set(setting, cut.turn, cut.tilt)
        ));
    }
    all.push(format!(
        "{}: {} along the bottom edge and {} along the top edge of the outer face.",
        title(rung),
        rung.bottom_length.show(system),
        rung.top_length.show(system)
    ));
    all
}

fn title(rung: &Rung) -> String {
    let mut letters = rung.name.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn dowels(rung: &Rung, plan: &DowelPlan, system: System) -> String {
    let list = |lengths: Vec<Length>| lengths.iter().map(|l| l.show(system)).collect::<Vec<_>>().join(", ");
    format!(
        "{}: bore for {} dowels of {} by {} ({} in each end), {} deep in both parts, square to the shoulder and to the leg's inner \
         face. On the rung {} in from the outer arris and {} up from the bottom edge; on the leg {} across from the arris with its \
         outer face and {} up that arris from the foot.",
        title(rung),
        plan.total,
        plan.diameter.show(system),
        plan.length.show(system),
        plan.each_end,
        plan.hole.show(system),
        plan.bores.first().map_or(String::new(), |b| b.on_rung_in.show(system)),
        list(plan.bores.iter().map(|b| b.on_rung_up).collect()),
        plan.bores.first().map_or(String::new(), |b| b.on_leg_in.show(system)),
        list(plan.bores.iter().map(|b| b.on_leg_up).collect()),
    )
}

fn tenon(rung: &Rung, plan: &TenonPlan, system: System) -> String {
    format!(
        "Cut tenons {} long, {} thick and {} broad on the {}, square to the shoulder, {} in from the outer arris and {} up from the \
         bottom edge; mortises {} deep in the legs, {} across from the arris with the outer face and from {} up that arris.",
        plan.length.show(system),
        plan.thickness.show(system),
        plan.breadth.show(system),
        rung.name,
        plan.on_rung_in.show(system),
        plan.on_rung_up.show(system),
        plan.mortise.show(system),
        plan.on_leg_in.show(system),
        plan.on_leg_up.show(system),
    )
}

fn assembly(base: &Base, system: System) -> Vec<String> {
    let mut all = Vec::new();
    if !base.rungs.is_empty() {
        all.push(
            "Dry-fit everything. Glue front and back first, flat on the bench, then the side rungs between them; stand the base on a \
             flat surface and compare the diagonals at floor and top before the glue grabs."
                .to_string(),
        );
    }
    if let Some(centring) = &base.centring {
        let [left, right, front, back] = centring.rims.map(|rim| rim.show(system));
        let rims = if left == right && front == back {
            format!("{left} at the sides and {front} at front and back")
        } else {
            format!(
                "{left} at the left, {right} at the right, {front} at the front and {back} at the back, along the centre lines"
            )
        };
        all.push(format!(
            "Mark the underside of the top from its centre lines: {} to the left and right and {} to the front and back; the \
             outer corners of the legs meet those lines. From the rim that is {rims}.",
            centring.left.show(system),
            centring.front.show(system),
        ));
    }
    if let Some(fixings) = &base.fixings {
        all.push(format!(
            "Screw the base on with {} screws no. {} of {}, none longer than {}: clearance holes {}, pilots {}, {} into the top.",
            fixings.count,
            fixings.number,
            fixings.length.show(system),
            fixings.longest.show(system),
            fixings.clearance.show(System::Inch),
            fixings.pilot.show(System::Inch),
            fixings.bite.show(system)
        ));
    }
    all
}
