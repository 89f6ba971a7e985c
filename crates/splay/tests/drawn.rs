//! What the drawings show of a leg is there: its ends where they are, its marks where the scheme puts them.

use stripwright_splay::view::{Line, Role, View};
use stripwright_splay::{Base, BaseSpec, Height, Joint, Leans, RungPair, RungSpec, Section, Spread, base};
use stripwright_units::{Angle, Length};

fn mm(n: i64) -> Length {
    Length::from_mm(n)
}

fn made(leans: [f64; 2], height: i64, joint: Joint) -> Base {
    let leg = Section { width: mm(40), thickness: mm(40) };
    base(&BaseSpec {
        height: Some(Height::Underside(mm(600))),
        leans: Some(Leans { front: Angle::degrees(leans[0]), side: Angle::degrees(leans[1]) }),
        top_spread: Some(Spread { width: mm(260), depth: mm(260) }),
        rungs: vec![RungSpec::usual(RungPair::FrontAndBack, mm(height), leg, Length::from_um(500))],
        joint,
        ..BaseSpec::new("base", leg)
    })
    .expect("a base")
}

const DOWELS: Joint = Joint::Dowels { diameter: None, length: None, count: None };

fn view<'b>(base: &'b Base, name: &str) -> &'b View {
    base.views.iter().find(|view| view.name == name).expect("a view")
}

fn lines<'v>(view: &'v View, part: &'v str) -> impl Iterator<Item = &'v Line> {
    view.outlines.iter().filter(move |line| line.part == part)
}

/// Near the top the leg's own end is drawn: parallel to the foot, and as far above the highest bore as it is on the leg.
#[test]
fn the_top_of_a_leg_is_drawn_where_it_is_or_broken_off() {
    for joint in [DOWELS, Joint::Tenon { length: None, thickness: None }] {
        let base = made([10.0, 8.0], 560, joint);
        let bores = view(&base, "bores-1");
        let end = lines(bores, "top end").next().expect("a top end");
        let foot = lines(bores, "foot").next().expect("a foot");
        let [low, high] = [foot, end].map(|line| line.points[1].y - line.points[0].y);
        assert!(low > 0.0 && (low - high).abs() < 1e-9, "the ends are parallel: {low} and {high}");
        assert_eq!((end.role, foot.role), (Role::Cut, Role::Cut));
        let spot = match joint {
            Joint::Dowels { .. } => {
                let bore = bores.circles.last().expect("a bore");
                bore.centre.y
            }
            Joint::Tenon { .. } => lines(bores, "mortise").next().expect("a mortise").points[3].y,
        };
        let told = match &base.joints[0] {
            stripwright_splay::JointPlan::Dowels(plan) => plan.bores[1].on_leg_up,
            stripwright_splay::JointPlan::Tenon(plan) => plan.on_leg_up_top,
        };
        // Along the arris with the plane face, from the joint up.
        let above = base.legs.exact_length_mm - told.to_mm();
        assert!(
            (end.points[0].y - spot - above).abs() < 0.01,
            "{} above {spot}, not {above}",
            end.points[0].y
        );
    }
    // Far from the top no end is drawn, and the face is open there.
    let base = made([10.0, 8.0], 200, DOWELS);
    let bores = view(&base, "bores-1");
    assert_eq!(lines(bores, "top end").count(), 0);
    assert!(lines(bores, "inner face of the leg").all(|line| !line.closed));
    assert_eq!(lines(bores, "break").count(), 2, "above the foot, and above the bores");
}

/// The sketch says that it is none of true scale, and shows what the scheme names: arrow, bar, letters on the top end, both pencil
/// lines, both end faces.
#[test]
fn the_marking_sketch_shows_every_mark() {
    for (leans, on) in [([10.0, 8.0], "plane face"), ([0.0, 8.0], "side face"), ([0.0, 0.0], "plane face")] {
        let base = made(leans, 200, DOWELS);
        let marking = view(&base, "marking");
        assert!(!marking.to_scale);
        assert!(base.views.iter().all(|view| view.to_scale || view.name == "marking"));
        for (part, count) in [("arrow", 8), ("bar", 4), ("line of the cut", 8), ("top end", 4), ("foot", 4)] {
            assert_eq!(lines(marking, part).count(), count, "{part}");
        }
        let span = |line: &Line| {
            let x = line.points.iter().map(|p| p.x);
            (x.clone().fold(f64::INFINITY, f64::min), x.fold(f64::NEG_INFINITY, f64::max))
        };
        let within =
            |inner: (f64, f64), outer: (f64, f64)| inner.0 >= outer.0 - 1e-9 && inner.1 <= outer.1 + 1e-9;
        let faces: Vec<(f64, f64)> = lines(marking, on).map(span).collect();
        for line in lines(marking, "line of the cut") {
            assert!(faces.iter().any(|face| within(span(line), *face)), "on the {on}");
            let falls = (line.points[1].y - line.points[0].y).abs();
            assert_eq!(falls > 0.0, leans != [0.0, 0.0], "{falls}");
        }
        for (letters, end) in ["FL", "FR", "BL", "BR"].into_iter().zip(lines(marking, "top end")) {
            let note = marking.notes.iter().find(|note| note.text == letters).expect(letters);
            let y = end.points.iter().map(|p| p.y);
            let (low, high) = (y.clone().fold(f64::INFINITY, f64::min), y.fold(0.0, f64::max));
            assert!(within((note.at.x, note.at.x), span(end)) && note.at.y > low && note.at.y < high);
        }
    }
}
