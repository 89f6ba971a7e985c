//! Every angle by two roads: the closed forms that the crate uses, and plane normals by vectors, here; and the
//! published and derived figures of the trade.

use proptest::prelude::*;
use stripwright_splay::{
    Base, BaseSpec, Edges, Height, Leans, Outline, RungPair, RungSpec, Section, Shop, Spread, Stance,
    TopSpec, base,
};
use stripwright_units::{Angle, Length, trig};

type V = [f64; 3];

fn dot(a: V, b: V) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

fn cross(a: V, b: V) -> V {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn unit(a: V) -> V {
    let size = dot(a, a).sqrt();
    a.map(|x| x / size)
}

fn degrees(radians: f64) -> f64 {
    Angle::radians(radians).to_degrees()
}

/// The saw's turn and tilt that cut the plane with normal `cut` through a piece lying along `along` with a face of normal
/// `down` on the table.
fn saw(along: V, down: V, cut: V) -> [f64; 2] {
    let line = unit(cross(down, cut));
    let square = unit(cross(down, along));
    let turn = trig::acos(dot(line, square).abs());
    let tilt = trig::asin(dot(unit(cut), unit(down)).abs());
    [degrees(turn), degrees(tilt)]
}

fn section(width: i64, thickness: i64) -> Section {
    Section { width: Length::from_mm(width), thickness: Length::from_mm(thickness) }
}

fn spec(a: f64, b: f64, leg: Section) -> BaseSpec {
    BaseSpec {
        height: Some(Height::Underside(Length::from_mm(700))),
        leans: Some(Leans { front: Angle::degrees(a), side: Angle::degrees(b) }),
        top_spread: Some(Spread { width: Length::from_mm(300), depth: Length::from_mm(300) }),
        ..BaseSpec::new("test", leg)
    }
}

fn plain(a: f64, b: f64) -> Base {
    base(&spec(a, b, section(32, 32))).expect("a plain base")
}

#[track_caller]
fn near(found: f64, wanted: f64, tolerance: f64) {
    assert!((found - wanted).abs() <= tolerance, "{found} is not {wanted} within {tolerance}");
}

/// T53 (derived there from T49 and T52), every row and column, to the digits printed.
#[test]
fn the_check_table() {
    #[rustfmt::skip]
    let rows = [
        // A, B, T, m, m2, tilt2, out of square, resultant, sight from front, equal pair error, gap
        [2.0, 2.0, 1.00122, 1.9988, 2.0012, 1.9976, 0.0698, 2.8273, 45.0, 0.0012, 0.001],
        [5.0, 5.0, 1.00763, 4.9811, 5.0189, 4.9621, 0.4352, 7.0532, 45.0, 0.0189, 0.011],
        [6.0, 6.0, 1.01099, 5.9674, 6.0324, 5.9346, 0.6260, 8.4545, 45.0, 0.0326, 0.018],
        [8.0, 8.0, 1.01956, 7.9231, 8.0761, 7.8455, 1.1098, 11.2413, 45.0, 0.0769, 0.043],
        [10.0, 10.0, 1.03062, 9.8511, 10.1466, 9.7000, 1.7279, 14.0019, 45.0, 0.1489, 0.083],
        [12.0, 12.0, 1.04420, 11.7451, 12.2489, 11.4849, 2.4775, 16.7308, 45.0, 0.2549, 0.142],
        [15.0, 15.0, 1.06939, 14.5108, 15.4709, 14.0061, 3.8410, 20.7536, 45.0, 0.4892, 0.273],
        [20.0, 20.0, 1.12470, 18.8817, 21.0402, 17.7040, 6.7177, 27.2363, 45.0, 1.1183, 0.625],
        [12.0, 6.0, 1.02773, 11.9362, 6.1316, 11.8698, 1.2453, 13.3398, 26.3113, 0.0638, 0.036],
        [6.0, 12.0, 1.02773, 5.8698, 12.0614, 5.7411, 1.2453, 13.3398, 63.6887, 0.1302, 0.073],
        [10.0, 6.0, 1.02085, 9.9463, 6.0909, 9.8913, 1.0400, 11.6003, 30.7981, 0.0537, 0.030],
        [10.0, 0.0, 1.01543, 10.0, 0.0, 10.0, 0.0, 10.0, 0.0, 0.0, 0.0],
        [0.0, 10.0, 1.01543, 0.0, 10.0, 0.0, 0.0, 10.0, 90.0, 0.0, 0.0],
    ];
    for [a, b, t, m, m2, tilt2, square, resultant, sight, error, gap] in rows {
        let base = plain(a, b);
        let legs = &base.legs;
        near(legs.length_factor, t, 5e-6);
        near(legs.plane_face_down.turn.to_degrees(), m, 5e-5);
        near(legs.plane_face_down.tilt.to_degrees(), b, 1e-12);
        near(legs.side_face_down.turn.to_degrees(), m2, 5e-5);
        near(legs.side_face_down.tilt.to_degrees(), tilt2, 5e-5);
        near(legs.squareness.angle.to_degrees(), square, 5e-5);
        near(legs.resultant.to_degrees(), resultant, 5e-5);
        near(legs.sight_line.to_degrees(), sight, 5e-5);
        let pair = &legs.plain_pair;
        near(pair.turn_error.to_degrees(), error, 5e-5);
        near(32.0 * pair.turn_error.tan(), gap, 5e-4);
        // The whole section is out by at least what the turn alone is out over its breadth, seen square to the cut.
        assert!(pair.error_mm >= 32.0 * pair.turn_error.tan() * 0.85 - 1e-9, "{a}, {b}: {}", pair.error_mm);
    }
}

/// Design's table: the rows that T53 does not print.
#[test]
fn the_design_table() {
    for (a, b, t, m, square, resultant) in [
        (5.0, 5.0, 1.0076, 4.981, 0.435, 7.053),
        (12.0, 6.0, 1.0277, 11.936, 1.245, 13.340),
        (15.0, 15.0, 1.0694, 14.511, 3.841, 20.754),
    ] {
        let legs = plain(a, b).legs;
        near(legs.length_factor, t, 5e-5);
        near(legs.plane_face_down.turn.to_degrees(), m, 5e-4);
        near(legs.squareness.angle.to_degrees(), square, 5e-4);
        near(legs.resultant.to_degrees(), resultant, 5e-4);
    }
}

/// T55: Math Forum, 2001 (verified): a rail rising 30 and turned 39 leaves an acute angle of 71.66 deg.
#[test]
fn the_mouth_of_a_hole_for_a_leaning_rail() {
    near(90.0 - plain(39.0, 30.0).legs.squareness.angle.to_degrees(), 71.66, 5e-3);
    near(90.0 - plain(10.0, 10.0).legs.squareness.angle.to_degrees(), 88.2721, 5e-5);
}

/// T56 (derived there): a rung in the plane of the legs and a plumb one, between the front legs, for 12 and 6.
#[test]
fn shoulders_of_front_rungs() {
    let rung = |stance, edges| RungSpec {
        pair: RungPair::FrontAndBack,
        height: Length::from_mm(200),
        section: section(32, 20),
        set_in: Length::ZERO,
        stance,
        edges,
    };
    let made = |stance, edges| {
        let rungs = vec![rung(stance, edges)];
        base(&BaseSpec { rungs, ..spec(12.0, 6.0, section(40, 40)) }).unwrap().rungs.remove(0)
    };
    let lying = made(Stance::InPlane, Edges::Level);
    near(lying.face_down.turn.to_degrees(), 11.9362, 5e-5);
    near(lying.face_down.tilt.to_degrees(), 0.0, 1e-9);
    near(lying.edge_bevel.to_degrees(), 6.0, 1e-12);
    let plumb = made(Stance::Plumb, Edges::Level);
    near(plumb.face_down.turn.to_degrees(), 11.8726, 5e-5);
    near(plumb.edge_shoulder.to_degrees(), 1.2658, 5e-5);
    near(plumb.edge_bevel.to_degrees(), 0.0, 1e-12);
    // The clear distance between the legs grows by 2 tan A for each millimetre of drop.
    let drop = 32.0 * Angle::degrees(6.0).cos();
    near(lying.outer.bottom_mm - lying.outer.top_mm, 2.0 * drop * Angle::degrees(12.0).tan(), 1e-9);
    // It is what the spread leaves after both legs' breadth w / cos m.
    let spread = 300.0 + 2.0 * 500.0 * Angle::degrees(12.0).tan();
    near(lying.outer.top_mm, spread - 2.0 * 40.0 / Angle::degrees(11.936_25).cos(), 1e-3);
}

/// T58, T59 (derived there from the Building Trades Pocketbook's hopper bevels): a side rung in the plane of the legs is the butted
/// board of a splayed box, on its face, its square edge, and in its tilt.
#[test]
fn side_rungs_are_butted_boards_of_a_splayed_box() {
    for (t, turn, mark, tilt) in [
        (5.0, 4.9811, 0.4369, 0.4352),
        (10.0, 9.8511, 1.7538, 1.7279),
        (15.0, 14.5108, 3.9671, 3.8410),
        (20.0, 18.8817, 7.0960, 6.7177),
        (30.0, 26.5651, 16.1021, 14.4775),
        (45.0, 35.2644, 35.2644, 30.0),
    ] {
        let rungs = vec![RungSpec {
            pair: RungPair::LeftAndRight,
            height: Length::from_mm(200),
            section: section(30, 20),
            set_in: Length::ZERO,
            stance: Stance::InPlane,
            edges: Edges::Square,
        }];
        let joint = stripwright_splay::Joint::Tenon { length: Some(Length::from_mm(8)), thickness: None };
        let rung = base(&BaseSpec { rungs, joint, ..spec(t, t, section(60, 60)) }).unwrap().rungs.remove(0);
        near(rung.face_down.turn.to_degrees(), turn, 5e-5);
        near(rung.face_down.tilt.to_degrees(), tilt, 5e-5);
        // Going in from the outer face a side rung gets longer.
        near(rung.edge_shoulder.to_degrees(), -mark, 5e-5);
    }
}

/// T61 (blog, secondary; value derived): 800 N on four legs, joint at 0.6 m, lean 10: 21.16 N m.
#[test]
fn moment_at_the_top_of_a_leg() {
    let spec = BaseSpec {
        height: Some(Height::Underside(Length::from_mm(600))),
        ..spec(10.0, 0.0, section(32, 32))
    };
    near(base(&spec).unwrap().standing.leg_moment_nm, 21.16, 5e-3);
    // Leaning as much both ways, the foot stands out by the root of two times as much.
    let both = BaseSpec { height: spec.height, ..self::spec(10.0, 10.0, section(32, 32)) };
    near(base(&both).unwrap().standing.leg_moment_nm, 21.16 * 2.0_f64.sqrt(), 5e-3);
}

/// T75, T76 (derived there) through a whole stool: reach, weight and height of the centre are taken from the answer, the rest is theirs.
#[test]
fn standing_against_the_published_loads() {
    let top = TopSpec {
        thickness: Length::from_mm(30),
        outline: Some(Outline::Round { diameter: Length::from_mm(350) }),
        density: 700.0,
    };
    let stool = base(&BaseSpec { top: Some(top.clone()), ..spec(6.0, 6.0, section(32, 32)) }).unwrap();
    let standing = &stool.standing;
    let g = standing.mass_kg * 9.80665;
    let c = 150.0 + 700.0 * Angle::degrees(6.0).tan();
    for side in &standing.sides {
        near(side.reach.to_mm(), c, 0.25);
        near(side.tipping.tan(), c / standing.centre_mm, 1e-9);
        near(side.margin.unwrap(), (g * c + 600.0 * (c - 115.0)) / (20.0 * 730.0), 1e-9);
        near(side.push_at_50_newtons.unwrap(), (g * c + 600.0 * (c - 125.0)) / 730.0, 1e-9);
    }
    // Legs 32 x 32 x 707.69 four times, and a round top, of 700 kg a cubic metre.
    let legs = 4.0 * 0.032 * 0.032 * 0.7 * stool.legs.length_factor * 700.0;
    let seat = std::f64::consts::PI * 0.175 * 0.175 * 0.03 * 700.0;
    near(standing.mass_kg, legs + seat, 1e-9);
    near(standing.centre_mm, (legs * 350.0 + seat * 715.0) / (legs + seat), 1e-6);
    assert!(stool.warnings.iter().all(|w| !w.contains("tip")));
    assert!(standing.notes.iter().any(|n| n.contains("replaces no test") && n.contains("local codes")));
    // A narrow, tall one tips: it is warned of, and made all the same.
    let narrow = Spread { width: Length::from_mm(120), depth: Length::from_mm(300) };
    let top = Some(top);
    let tall =
        base(&BaseSpec { top: top.clone(), top_spread: Some(narrow), ..spec(0.0, 6.0, section(32, 32)) })
            .unwrap();
    assert!(tall.standing.sides[1].margin.unwrap() < 1.0 && tall.standing.sides[0].margin.unwrap() > 1.0);
    assert_eq!(tall.warnings.iter().filter(|w| w.contains("it would TIP to the left and right")).count(), 1);
    // Feet 60 mm out under a load 115 out: nothing holds. At 110, the piece's weight holds against a little.
    let words = |width: i64| {
        let narrow = Spread { width: Length::from_mm(width), depth: Length::from_mm(300) };
        let spec = BaseSpec { top: top.clone(), top_spread: Some(narrow), ..spec(0.0, 6.0, section(32, 32)) };
        let made = base(&spec).unwrap();
        let tips =
            made.warnings.iter().find(|w| w.contains("TIP to the left and right")).expect("it tips").clone();
        (tips, made.standing.sides[1].clone())
    };
    let (none, _) = words(120);
    assert!(none.contains("no holding moment is left: it tips without any push."), "{none}");
    let (some, side) = words(220);
    let (margin, push) = (side.margin.unwrap(), side.push_newtons.unwrap());
    assert!(margin > 0.0 && margin < 1.0, "{margin}");
    let told = format!(
        "the holding moment is {margin:.2} times the overturning one: it takes {push:.0} N to tip it."
    );
    assert!(some.contains(&told), "{some}");
}

/// Plumb, by hand: four legs of 32 x 32 x 700 about 350 mm up, two rungs of 236 x 32 x 20 about 184.
#[test]
fn a_base_weighs_what_its_parts_weigh() {
    let rungs = vec![RungSpec {
        pair: RungPair::FrontAndBack,
        height: Length::from_mm(200),
        section: section(32, 20),
        set_in: Length::ZERO,
        stance: Stance::InPlane,
        edges: Edges::Level,
    }];
    let standing = base(&BaseSpec { rungs, ..spec(0.0, 0.0, section(32, 32)) }).unwrap().standing;
    let (legs, rungs) = (4.0 * 0.032 * 0.032 * 0.7 * 700.0, 2.0 * 0.236 * 0.032 * 0.02 * 700.0);
    near(standing.mass_kg, legs + rungs, 1e-9);
    near(standing.centre_mm, (legs * 350.0 + rungs * 184.0) / (legs + rungs), 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Legs: closed forms against plane normals.
    #[test]
    fn leg_angles_by_two_roads(a in 0.0..45.0f64, b in 0.0..45.0f64, w in 15i64..70, d in 15i64..70) {
        let base = plain_section(a, b, w, d);
        let legs = &base.legs;
        let (tan_a, tan_b) = (Angle::degrees(a).tan(), Angle::degrees(b).tan());
        let down = [tan_a, tan_b, -1.0];
        let level = [0.0, 0.0, 1.0];
        let plane_face = unit(cross([1.0, 0.0, 0.0], down));
        let side_face = unit(cross(down, plane_face));
        let [turn, tilt] = saw(down, plane_face, level);
        prop_assert!((legs.plane_face_down.turn.to_degrees() - turn).abs() < 1e-5, "{turn}");
        prop_assert!((legs.plane_face_down.tilt.to_degrees() - tilt).abs() < 1e-6, "{tilt}");
        let [turn, tilt] = saw(down, side_face, level);
        prop_assert!((legs.side_face_down.turn.to_degrees() - turn).abs() < 1e-5, "{turn}");
        prop_assert!((legs.side_face_down.tilt.to_degrees() - tilt).abs() < 1e-6, "{tilt}");
        let side_plane = unit(cross([0.0, 1.0, 0.0], down));
        let square = 90.0 - degrees(trig::acos(dot(plane_face, side_plane).abs()));
        prop_assert!((legs.squareness.angle.to_degrees() - square).abs() < 1e-6);
        let size = dot(down, down).sqrt();
        prop_assert!((legs.exact_length_mm - 700.0 * size).abs() < 1e-9);
        prop_assert!((legs.resultant.to_degrees() - degrees(trig::acos(1.0 / size))).abs() < 1e-5);
        // The end runs along the leg by the section's four corners dropped on the level plane along the leg.
        let along = unit(down);
        let ends: Vec<f64> = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]
            .iter()
            .map(|[i, j]| {
                let p: V = std::array::from_fn(|n| i * w as f64 * side_face[n] + j * d as f64 * plane_face[n]);
                -p[2] / along[2]
            })
            .collect();
        let run = ends.iter().fold(f64::MIN, |m, e| m.max(*e)) - ends.iter().fold(f64::MAX, |m, e| m.min(*e));
        prop_assert!((legs.overall_mm - legs.exact_length_mm - run).abs() < 1e-9);
    }

    /// Rungs: shoulders, bevel and lengths against planes built from the legs.
    #[test]
    fn rung_angles_by_two_roads(
        a in 0.0..25.0f64,
        b in 0.0..25.0f64,
        side in any::<bool>(),
        plumb in any::<bool>(),
        square in any::<bool>(),
        set_in in 0i64..6,
    ) {
        let rung = RungSpec {
            pair: if side { RungPair::LeftAndRight } else { RungPair::FrontAndBack },
            height: Length::from_mm(250),
            section: section(36, 22),
            set_in: Length::from_mm(set_in),
            stance: if plumb { Stance::Plumb } else { Stance::InPlane },
            edges: if square { Edges::Square } else { Edges::Level },
        };
        let base = base(&BaseSpec { rungs: vec![rung], ..spec(a, b, section(44, 44)) }).unwrap();
        let found = &base.rungs[0];
        // The back right leg, by its outer corner at the underside and its two faces' normals.
        let down = [Angle::degrees(a).tan(), Angle::degrees(b).tan(), -1.0];
        let plane_face = unit(cross([1.0, 0.0, 0.0], down));
        let side_face = unit(cross(down, plane_face));
        let corner = [150.0, 150.0, 700.0];
        let (along, shoulder, out_in) = if side { ([0.0, 1.0, 0.0], plane_face, 0) } else { ([1.0, 0.0, 0.0], side_face, 1) };
        let mut face = if plumb { [0.0; 3] } else { unit(cross(along, down)) };
        if plumb {
            face[out_in] = 1.0;
        } else if dot(face, corner) < 0.0 {
            face = face.map(|x| -x);
        }
        let shoulder_level = dot(shoulder, corner) - 44.0;
        // The arris that the rung's shoulder meets and the set-in is measured from, at the height of the top edge.
        let arris_face = if side { side_face } else { plane_face };
        let arris_level = dot(arris_face, corner);
        let solve = |rows: [(V, f64); 3]| -> V {
            let det = dot(rows[0].0, cross(rows[1].0, rows[2].0));
            let terms = [cross(rows[1].0, rows[2].0), cross(rows[2].0, rows[0].0), cross(rows[0].0, rows[1].0)];
            std::array::from_fn(|i| (0..3).map(|k| rows[k].1 * terms[k][i]).sum::<f64>() / det)
        };
        let level = [0.0, 0.0, 1.0];
        let arris = solve([(shoulder, shoulder_level), (arris_face, arris_level), (level, 250.0)]);
        let outer = dot(face, arris) - set_in as f64;
        let top_outer = solve([(face, outer), (level, 250.0), (shoulder, shoulder_level)]);
        let edge = if square { unit(cross(face, along)) } else { level };
        let edge = if edge[2] < 0.0 { edge.map(|x| -x) } else { edge };
        let slope = unit(cross(face, along));
        let slope = if slope[2] < 0.0 { slope.map(|x| -x) } else { slope };
        let below: V = std::array::from_fn(|i| top_outer[i] - 36.0 * slope[i]);
        let corner_at = |f: f64, e: V| solve([(face, f), (edge, dot(edge, e)), (shoulder, shoulder_level)]);
        let which = if side { 1 } else { 0 };
        let corners = [
            (corner_at(outer, top_outer)[which], found.outer.top_mm),
            (corner_at(outer, below)[which], found.outer.bottom_mm),
            (corner_at(outer - 22.0, top_outer)[which], found.inner.top_mm),
            (corner_at(outer - 22.0, below)[which], found.inner.bottom_mm),
        ];
        for (half, length) in corners {
            prop_assert!((2.0 * half - length).abs() < 1e-6, "{half} {length}");
        }
        let [turn, tilt] = saw(along, face, shoulder);
        prop_assert!((found.face_down.turn.to_degrees() - turn).abs() < 1e-5, "{turn}");
        prop_assert!((found.face_down.tilt.to_degrees() - tilt).abs() < 1e-5, "{tilt}");
        let [turn, tilt] = saw(along, edge, shoulder);
        prop_assert!((found.edge_down.turn.to_degrees() - turn).abs() < 2e-5, "{turn}");
        prop_assert!((found.edge_down.tilt.to_degrees() - tilt).abs() < 1e-5, "{tilt}");
        let bevel = 90.0 - degrees(trig::acos(dot(face, edge).abs()));
        prop_assert!((found.edge_bevel.to_degrees() - bevel).abs() < 1e-5);
    }
}

fn plain_section(a: f64, b: f64, w: i64, d: i64) -> Base {
    base(&spec(a, b, section(w, d))).expect("a plain base")
}

/// The error printed for a rounded setting is the rock of the end: both planes over the section's corners.
#[test]
fn rounding_error_is_the_rock_of_the_end() {
    let coarse = Shop { angle_step: Angle::degrees(1.0), ..Shop::default() };
    let base = base(&BaseSpec { shop: coarse, ..spec(7.4, 11.6, section(30, 50)) }).unwrap();
    let set = base.legs.plane_face_down;
    assert_eq!((set.set_turn, set.set_tilt), (Angle::degrees(7.0), Angle::degrees(12.0)));
    let normal = |turn: Angle, tilt: Angle| [turn.cos() * tilt.cos(), turn.sin() * tilt.cos(), tilt.sin()];
    let (exact, cut) = (normal(set.turn, set.tilt), normal(set.set_turn, set.set_tilt));
    let heights: Vec<f64> = [[0.0, 0.0], [30.0, 0.0], [30.0, 50.0], [0.0, 50.0]]
        .iter()
        .map(|[y, z]| {
            // A corner of the end as cut, and its height over the exact plane.
            let x = -(cut[1] * y + cut[2] * z) / cut[0];
            dot(exact, [x, *y, *z])
        })
        .collect();
    let rock =
        heights.iter().fold(f64::MIN, |m, h| m.max(*h)) - heights.iter().fold(f64::MAX, |m, h| m.min(*h));
    near(set.error_mm, rock, 1e-9);
    assert!(rock > 0.3);
}

/// As above for a rung on its bottom edge: level edges are 20 / cos 11.6 broad on the table, and the rung stands 32 cos 11.6 high.
#[test]
fn rounding_error_of_a_rung_on_its_edge_is_over_what_lies_on_the_table() {
    let coarse = Shop { angle_step: Angle::degrees(1.0), ..Shop::default() };
    let rungs = vec![RungSpec {
        pair: RungPair::FrontAndBack,
        height: Length::from_mm(200),
        section: section(32, 20),
        set_in: Length::ZERO,
        stance: Stance::InPlane,
        edges: Edges::Level,
    }];
    let made = base(&BaseSpec { shop: coarse, rungs, ..spec(7.4, 11.6, section(40, 40)) }).unwrap();
    let set = made.rungs[0].edge_down;
    let lean = Angle::degrees(11.6);
    let (across, high) = (20.0 / lean.cos(), 32.0 * lean.cos());
    let along = |turn: Angle, tilt: Angle| [turn.tan() * across, tilt.tan() / turn.cos() * high];
    let (exact, cut) = (along(set.turn, set.tilt), along(set.set_turn, set.set_tilt));
    let off = (exact[0] - cut[0]).abs() + (exact[1] - cut[1]).abs();
    near(set.error_mm, off * set.turn.cos() * set.tilt.cos(), 1e-9);
    assert!(off > 0.2);
}
