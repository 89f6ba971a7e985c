//! What the drawings show of a leg is there: its ends where they are, its marks where the scheme puts them.

use stripwright_splay::view::{Line, Role, View};
use stripwright_splay::{
    Base, BaseSpec, Fixing, Height, Joint, Leans, Outline, RungPair, RungSpec, Section, Spread, TopSpec,
    Wood, base,
};
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

/// Cleats are drawn on the top from below as they are screwed on, as outlines of their own, and each pair is told with its size.
#[test]
fn cleats_are_drawn_and_told_with_their_size() {
    let leg = Section { width: mm(32), thickness: mm(32) };
    let fixing =
        Fixing { through: Some(mm(25)), sunk: mm(3), number: 8, each: 3, wood: Wood::Hard, cover: mm(6) };
    let base = base(&BaseSpec {
        height: Some(Height::Underside(mm(400))),
        top_spread: Some(Spread { width: mm(400), depth: mm(300) }),
        top: Some(TopSpec {
            thickness: mm(32),
            outline: Some(Outline::Rectangle { width: mm(600), depth: mm(400) }),
            density: 700.0,
        }),
        fixing: Some(fixing),
        ..BaseSpec::new("base", leg)
    })
    .expect("a base");
    let cleats = &base.fixings.as_ref().expect("screws").cleats;
    assert!(!cleats.is_empty());
    let under = view(&base, "underside");
    assert_eq!(lines(under, "cleat").count(), 2 * cleats.len());
    assert!(lines(under, "cleat").all(|line| line.closed && line.role == Role::Visible));
    for cleat in cleats {
        let told = format!("cleat {} × 25 mm × 25 mm", cleat.length);
        let notes: Vec<_> = under.notes.iter().filter(|note| note.text == told).collect();
        assert_eq!(notes.len(), 1, "{told}: {:?}", under.notes);
        let at = notes[0].at;
        let holds = |line: &Line| {
            let (x, y) = (line.points.iter().map(|p| p.x), line.points.iter().map(|p| p.y));
            let ends = |all: &mut dyn Iterator<Item = f64>| {
                all.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)))
            };
            let ((l, r), (b, t)) = (ends(&mut x.into_iter()), ends(&mut y.into_iter()));
            l < at.x && at.x < r && b < at.y && at.y < t
        };
        assert!(lines(under, "cleat").any(holds), "{at:?} is on no cleat");
    }
}

/// Legs that stand plumb are cut alike; those that lean have two hands.
#[test]
fn hands_are_told_where_there_are_two() {
    let told = |leans: [f64; 2], words: &str| {
        let base = made(leans, 200, DOWELS);
        view(&base, "leg").notes.iter().any(|note| note.text == words)
    };
    let (hands, alike) = ("hand two is the mirror image", "all four are cut alike");
    for leans in [[8.0, 6.0], [0.0, 6.0], [8.0, 0.0]] {
        assert!(told(leans, hands) && !told(leans, alike));
    }
    assert!(told([0.0, 0.0], alike) && !told([0.0, 0.0], hands));
}
