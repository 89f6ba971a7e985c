//! Wood stays round every bore and mortise over its whole depth, and what a refusal says would do does.
//!
//! The legs are set up from the leans alone, and the holes from what is printed for the maker: nothing here uses the crate's
//! own geometry.

use proptest::prelude::*;
use stripwright_splay::{
    Base, BaseSpec, Cure, Edges, Fixing, Follows, Height, Joint, JointPlan, Leans, RungPair, RungSpec,
    Section, Shop, Spread, Stance, TopSpec, Wood, base,
};
use stripwright_units::{Angle, Length, System};

type V = [f64; 3];

fn dot(a: V, b: V) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

fn add(a: V, b: V, times: f64) -> V {
    std::array::from_fn(|i| a[i] + times * b[i])
}

fn cross(a: V, b: V) -> V {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn unit(a: V) -> V {
    let size = dot(a, a).sqrt();
    a.map(|x| x / size)
}

fn mm(n: i64) -> Length {
    Length::from_mm(n)
}

fn spec(leans: [f64; 2], height: i64, leg: [i64; 2], spread: i64) -> BaseSpec {
    BaseSpec {
        height: Some(Height::Underside(mm(height))),
        leans: Some(Leans { front: Angle::degrees(leans[0]), side: Angle::degrees(leans[1]) }),
        top_spread: Some(Spread { width: mm(spread), depth: mm(spread) }),
        ..BaseSpec::new("base", Section { width: mm(leg[0]), thickness: mm(leg[1]) })
    }
}

fn rung(pair: RungPair, height: i64, width: i64, leg: i64) -> RungSpec {
    let leg = Section { width: mm(leg), thickness: mm(leg) };
    let usual = RungSpec::usual(pair, mm(height), leg, Length::from_um(500));
    RungSpec { section: Section { width: mm(width), ..usual.section }, ..usual }
}

/// The least wood that every bore and mortise, set out and bored as told, leaves to the two ends of its leg.
fn to_ends(base: &Base) -> f64 {
    let (ta, tb) = (base.leans.front.tan(), base.leans.side.tan());
    let Section { width, thickness } = base.leg_section;
    let (width, thickness, height) = (width.to_mm(), thickness.to_mm(), base.height.to_mm());
    // The right back leg: up its length, out of its plane face (the back), out of its side face (the right).
    let up = unit([-ta, -tb, 1.0]);
    let plane = unit([0.0, 1.0, tb]);
    let side = cross(plane, up);
    assert!(side[0] > 0.0 && dot(side, plane).abs() < 1e-12);
    // An arris of the leg, on the floor.
    let on_floor = |out: V, by: f64| {
        let point = add([0.0; 3], out, -by);
        add(point, up, -point[2] / up[2])
    };
    let mut least = f64::INFINITY;
    for (rung, joint) in base.rungs.iter().zip(&base.joints) {
        let (arris, across, into) = match rung.pair {
            RungPair::FrontAndBack => (on_floor(side, width), plane, side),
            RungPair::LeftAndRight => (on_floor(plane, thickness), side, plane),
        };
        let place = |up_by: Length, in_by: Length| add(add(arris, up, up_by.to_mm()), across, -in_by.to_mm());
        let mut reach = |point: V, depth: Length, radius: f64| {
            let around = radius * (1.0 - into[2] * into[2]).sqrt();
            for end in [point, add(point, into, depth.to_mm())] {
                least = least.min(end[2] - around).min(height - end[2] - around);
            }
        };
        match joint {
            JointPlan::Dowels(plan) => {
                for bore in &plan.bores {
                    let radius = plan.diameter.to_mm() / 2.0;
                    reach(place(bore.on_leg_up, bore.on_leg_in), plan.hole, radius);
                }
            }
            JointPlan::Tenon(plan) => {
                for (up_by, in_by) in
                    [(plan.on_leg_up, plan.on_leg_in), (plan.on_leg_up_top, plan.on_leg_in_top)]
                {
                    reach(place(up_by, in_by), plan.mortise, 0.0);
                    reach(place(up_by, in_by + plan.thickness), plan.mortise, 0.0);
                }
            }
        }
    }
    least
}

/// What must stay, less half a mark for setting out.
const LEAST: f64 = 2.0 - 0.3;

/// Bores that rose through the top end: a rail of 60 at the top of legs of 40 leaning 20 degrees, dowels by themselves, of a
/// length, and a tenon of 38.
#[test]
fn no_bore_and_no_mortise_comes_out_at_the_top() {
    let open = Joint::Dowels { diameter: None, length: None, count: None };
    let rails = |joint| BaseSpec {
        rungs: vec![rung(RungPair::FrontAndBack, 500, 60, 40)],
        joint,
        ..spec([20.0, 5.0], 500, [40, 40], 260)
    };
    let made = base(&rails(open)).unwrap();
    assert!(to_ends(&made) >= LEAST, "{}", to_ends(&made));
    let JointPlan::Dowels(plan) = &made.joints[0] else { panic!("dowels") };
    // Two of 10 by the thickness rule, kept short, and told so with the reason.
    assert_eq!((plan.each_end, plan.diameter), (2, mm(10)));
    assert!(plan.hole < mm(30), "{plan:?}");
    assert!(made.warnings.iter().any(|w| w.contains("rise towards the top end")), "{:?}", made.warnings);
    // As long as they may be in the middle of the leg, they are refused there with the figure and with what would do.
    let long = Joint::Dowels { diameter: Some(mm(10)), length: Some(mm(60)), count: Some(2) };
    let refusals = base(&rails(long)).unwrap_err();
    let said = refusals[0].sentence();
    // 32 mm deep at m = atan(tan 20 cos 5) = 19.93: sin 19.93 cos 5 = 0.3396, so 32 mm rise by 10.9.
    assert!(said.contains("rise by 10.9 mm on their way") && said.contains("2.5 mm must stay"), "{said}");
    assert!(said.contains("the leg's top end") && said.contains("It would do with `height` of"), "{said}");
    // A hundred lower they are free.
    let low = BaseSpec { rungs: vec![rung(RungPair::FrontAndBack, 400, 60, 40)], ..rails(long) };
    assert!(to_ends(&base(&low).unwrap()) > 50.0);
    let tenon = Joint::Tenon { length: Some(mm(38)), thickness: None };
    let table = |height| BaseSpec {
        rungs: vec![rung(RungPair::FrontAndBack, height, 70, 45)],
        joint: tenon,
        ..spec([22.0, 5.0], 400, [45, 45], 260)
    };
    for height in 300..=400 {
        match base(&table(height)) {
            Ok(made) => assert!(to_ends(&made) >= LEAST, "{height}: {}", to_ends(&made)),
            Err(refusals) => {
                assert!(refusals[0].message.contains("The mortises would"), "{height}: {refusals:?}");
            }
        }
    }
    assert!(
        base(&BaseSpec { rungs: vec![rung(RungPair::FrontAndBack, 400, 40, 45)], ..table(400) }).is_err()
    );
}

/// A tenon square to a leaning shoulder is cut from the rung's own wood: its tip stays within the top edge.
#[test]
fn tenons_stay_in_the_wood_of_their_rungs() {
    for lean in [5.0, 15.0, 25.0] {
        let spec = BaseSpec {
            rungs: vec![rung(RungPair::FrontAndBack, 300, 60, 50)],
            joint: Joint::Tenon { length: Some(mm(30)), thickness: None },
            ..spec([lean, 0.0], 500, [50, 50], 300)
        };
        let Ok(made) = base(&spec) else { continue };
        let JointPlan::Tenon(plan) = &made.joints[0] else { panic!("a tenon") };
        // In the plane of the face: up the shoulder and square out of it, above the bottom edge.
        let shoulder = made.rungs[0].shoulder;
        let top = (plan.on_rung_up + plan.breadth).to_mm() * shoulder.cos() + 30.0 * shoulder.sin();
        assert!(top <= 60.0 + 0.3, "{lean}: {top}");
    }
}

/// The least wall is told: between, beside and beyond.
#[test]
fn the_least_wall_is_told() {
    let spec = BaseSpec {
        rungs: vec![rung(RungPair::FrontAndBack, 200, 40, 40)],
        ..spec([0.0, 0.0], 500, [40, 40], 260)
    };
    let made = base(&spec).unwrap();
    let JointPlan::Dowels(plan) = &made.joints[0] else { panic!("dowels") };
    // Plumb: 25 mm of rung, dowels of 10 in its middle: 7.5 mm to its faces; 20 apart, 10 between; 10 - 5 = 5 to its edges.
    assert_eq!((plan.diameter, plan.spacing, plan.wall), (mm(10), mm(20), mm(5)));
    assert!(made.steps.rungs.iter().any(|s| s.contains("5 mm of wood left where it is thinnest")));
}

/// Twelve dowels find no room and two do; 5 mm are too short and three diameters and more are not.
#[test]
fn fewer_dowels_and_longer_ones_are_tried() {
    let with = |joint| BaseSpec {
        rungs: vec![rung(RungPair::FrontAndBack, 300, 40, 40)],
        joint,
        ..spec([8.0, 6.0], 450, [40, 40], 250)
    };
    let many = base(&with(Joint::Dowels { diameter: None, length: None, count: Some(12) })).unwrap_err();
    assert!(many[0].sentence().ends_with("It would do with `joint.count` of 2 (10 less)."), "{}", many[0]);
    let short = base(&with(Joint::Dowels { diameter: None, length: Some(mm(5)), count: None })).unwrap_err();
    assert!(short[0].sentence().contains("`joint.length` of"), "{}", short[0]);
    assert!(!short[0].sentence().contains("No change"), "{}", short[0]);
}

/// At whole degrees the side face down is right where the plane face down is not; finer scales are named where neither is.
#[test]
fn coarse_angle_scales_are_warned_of() {
    let with = |leg: i64, step: f64| {
        let shop = Shop { angle_step: Angle::degrees(step), ..Shop::default() };
        base(&BaseSpec { shop, ..spec([12.3, 17.7], 450, [leg, leg], 250) }).unwrap()
    };
    let coarse = with(90, 1.0);
    let said = |made: &Base, words: &str| made.warnings.iter().any(|w| w.contains(words));
    assert!(coarse.legs.plane_face_down.error_mm > 0.5 && coarse.legs.side_face_down.error_mm < 0.5);
    assert!(said(&coarse, "Rounded to steps of 1°"), "{:?}", coarse.warnings);
    assert!(said(&coarse, "Lay the legs with the side face down"), "{:?}", coarse.warnings);
    let plain = &coarse.legs.plain_pair.sentence;
    assert!(!plain.contains("instead") && plain.contains("is this same one"), "{plain}");
    assert!(plain.contains("Lay the legs with the side face down"), "{plain}");
    let coarser = with(90, 5.0);
    assert!(said(&coarser, "Set the saw finer: in steps of"), "{:?}", coarser.warnings);
    assert!(!said(&with(90, 0.1), "Rounded to steps"));
}

/// Cleats are under the same rule as rails: screws stand five times their thickness apart.
#[test]
fn screws_in_cleats_are_not_crowded() {
    let with = |each| BaseSpec {
        top: Some(TopSpec { thickness: mm(30), outline: None, density: 700.0 }),
        fixing: Some(Fixing {
            through: Some(mm(25)),
            sunk: mm(3),
            number: 8,
            each,
            wood: Wood::Hard,
            cover: mm(6),
        }),
        ..spec([8.0, 6.0], 450, [40, 40], 250)
    };
    let refusals = base(&with(20)).unwrap_err();
    assert_eq!(refusals[0].key, "fixing.each");
    assert!(refusals[0].message.contains("20.8 mm apart; give `each` at most 8"), "{}", refusals[0]);
    assert!(base(&with(8)).is_ok() && base(&with(9)).is_err());
    // Of two rails the shorter one decides: 180 by 400 under the top.
    let rails = |each| BaseSpec {
        top_spread: Some(Spread { width: mm(400), depth: mm(180) }),
        rungs: vec![rung(RungPair::FrontAndBack, 450, 60, 40), rung(RungPair::LeftAndRight, 450, 40, 40)],
        joint: Joint::Tenon { length: Some(mm(15)), thickness: Some(mm(8)) },
        fixing: with(1).fixing.map(|fixing| Fixing { through: None, each, ..fixing }),
        ..with(1)
    };
    let refusals = base(&rails(20)).unwrap_err();
    let most = refusals[0].message.rsplit(' ').next().and_then(|n| n.trim_end_matches('.').parse().ok());
    let most: u32 = most.unwrap_or_else(|| panic!("no number in {refusals:?}"));
    assert!(refusals[0].message.contains("left and right rung 1"), "{}", refusals[0]);
    assert!(base(&rails(most)).is_ok() && base(&rails(most + 1)).is_err(), "{most}");
    // Both systems, that of the shop first.
    let said = |system| {
        let shop = Shop { system, ..Shop::default() };
        base(&BaseSpec { shop, ..with(2) }).unwrap().steps.fixing.join(" ")
    };
    assert!(said(System::Metric).contains("clearance holes 4.4 mm (11/64 in)"), "{}", said(System::Metric));
    assert!(said(System::Metric).contains("pilots 2.8 mm (7/64 in)"));
    assert!(said(System::Inch).contains("pilots 7/64 in (2.8 mm)"), "{}", said(System::Inch));
}

/// Edges still to be bevelled need broader sticks, and that is what they are planed to.
#[test]
fn sticks_are_planed_to_what_the_bevelled_rips_need() {
    let made = base(&BaseSpec {
        rungs: vec![
            rung(RungPair::FrontAndBack, 300, 60, 40),
            RungSpec { edges: Edges::Square, ..rung(RungPair::LeftAndRight, 200, 60, 40) },
        ],
        ..spec([8.0, 8.0], 450, [40, 40], 260)
    })
    .unwrap();
    // 60 + 25 tan 8 = 63.51.
    assert_eq!(made.rungs[0].rip_breadth, Length::from_um(64_000));
    let said = |words: &str| made.steps.sticks.iter().any(|step| step.contains(words));
    assert!(said("plane to 64 mm by 25 mm, which the bevelled rips need"), "{:?}", made.steps.sticks);
    assert!(said("plane to 60 mm by 25 mm."), "{:?}", made.steps.sticks);
    assert!(made.steps.rungs.iter().any(|step| step.contains("from sticks 64 mm broad to 60 mm")));
}

/// Where nothing is joined nothing is bored.
#[test]
fn no_care_for_drilling_where_nothing_is_bored() {
    let made = base(&spec([8.0, 6.0], 450, [40, 40], 250)).unwrap();
    assert!(made.cautions.iter().all(|caution| caution.operation != "drilling"));
}

/// One figure for both ways and leans that make two: what is said to give settles both.
#[test]
fn a_spread_that_disagrees_is_told_with_all_that_must_be_given() {
    let leans = Leans { front: Angle::degrees(9.0), side: Angle::degrees(0.0) };
    let floor = Spread { width: Length::from_um(376_500), depth: Length::from_um(376_500) };
    let spread = BaseSpec {
        leans: Some(leans),
        floor_spread: Some(floor),
        follows: vec![Follows::LegDepth, Follows::TopDepth, Follows::FloorDepth],
        ..spec([0.0, 0.0], 450, [40, 40], 250)
    };
    let refusals = base(&spread).unwrap_err();
    let told: Vec<String> = refusals.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "`floor_spread`: The legs' spread on the floor is given as 376.5 mm both ways, but height, leans and `top_spread` make it \
          392.5 mm from left to right and 250 mm from front to back; leave `floor_spread` out, or give `floor_spread` of 392.5 mm \
          and `floor_spread_depth` of 250 mm."
        ]
    );
    // Where both are given each is told by itself, with both to give.
    let apart = base(&BaseSpec { follows: Vec::new(), ..spread.clone() }).unwrap_err();
    assert_eq!(
        apart.iter().map(|r| r.key.as_str()).collect::<Vec<_>>(),
        ["floor_spread", "floor_spread_depth"]
    );
    let give = "or give `floor_spread` of 392.5 mm and `floor_spread_depth` of 250 mm.";
    assert!(apart.iter().all(|refusal| refusal.message.ends_with(give)), "{apart:?}");
    let given = Spread { width: Length::from_um(392_500), depth: mm(250) };
    assert!(base(&BaseSpec { floor_spread: Some(given), ..spread.clone() }).is_ok());
    assert!(base(&BaseSpec { floor_spread: None, ..spread }).is_ok());
}

fn rung_of(leg: i64) -> impl Strategy<Value = RungSpec> {
    (prop::bool::ANY, 60i64..=420, 20i64..70, 0i64..10, prop::bool::ANY, prop::bool::weighted(0.2)).prop_map(
        move |(front, height, width, set_in, square, plumb)| {
            let pair = if front { RungPair::FrontAndBack } else { RungPair::LeftAndRight };
            RungSpec {
                set_in: mm(set_in),
                edges: if square { Edges::Square } else { Edges::Level },
                stance: if plumb { Stance::Plumb } else { Stance::InPlane },
                ..rung(pair, height, width, leg)
            }
        },
    )
}

fn joint() -> impl Strategy<Value = Joint> {
    let length = || prop::option::weighted(0.4, (10i64..70).prop_map(Length::from_mm));
    prop_oneof![
        (prop::option::weighted(0.3, 4i64..14), length(), prop::option::weighted(0.3, 1u32..4)).prop_map(
            |(diameter, length, count)| Joint::Dowels { diameter: diameter.map(mm), length, count }
        ),
        (length(), prop::option::weighted(0.3, 4i64..14))
            .prop_map(|(length, thickness)| Joint::Tenon { length, thickness: thickness.map(mm) }),
    ]
}

/// The spec with one size changed, as the sentence says: depths follow widths where they do.
fn changed(spec: &BaseSpec, key: &str, to: Length, alone: bool) -> BaseSpec {
    let mut spec = spec.clone();
    let follows = |what| spec.follows.contains(&what);
    let (leg_too, spread_too) = (follows(Follows::LegDepth), follows(Follows::TopDepth));
    if let Some((n, field)) = key.strip_prefix("rungs[").and_then(|rest| rest.split_once("].")) {
        let n: usize = n.parse().expect("a number");
        let own = spec.rungs[n];
        for rung in &mut spec.rungs {
            let twin = *rung == RungSpec { pair: rung.pair, ..own };
            if twin && (rung.pair == own.pair || !alone) {
                match field {
                    "height" => rung.height = to,
                    "thickness" => rung.section.thickness = to,
                    "width" => rung.section.width = to,
                    _ => rung.set_in = to,
                }
            }
        }
        return spec;
    }
    match (key, &mut spec.joint) {
        ("leg", _) => {
            spec.leg.width = to;
            if leg_too {
                spec.leg.thickness = to;
            }
        }
        ("leg_depth", _) => spec.leg.thickness = to,
        ("top_spread", _) => {
            let spread = spec.top_spread.as_mut().expect("a spread");
            spread.width = to;
            if spread_too {
                spread.depth = to;
            }
        }
        ("top_spread_depth", _) => spec.top_spread.as_mut().expect("a spread").depth = to,
        ("joint.length", Joint::Dowels { length, .. } | Joint::Tenon { length, .. }) => *length = Some(to),
        ("joint.diameter", Joint::Dowels { diameter, .. }) => *diameter = Some(to),
        ("joint.thickness", Joint::Tenon { thickness, .. }) => *thickness = Some(to),
        other => panic!("{other:?}"),
    }
    spec
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 400, ..ProptestConfig::default() })]

    /// Whatever is made keeps its walls to the leg's ends; whatever is said to do makes the whole base.
    #[test]
    fn walls_stay_and_advice_is_true(
        leans in [0.0..25.0f64, 0.0..25.0],
        height in prop::sample::select(vec![300i64, 420, 600]),
        leg in [prop::sample::select(vec![28i64, 32, 40, 50]), prop::sample::select(vec![28i64, 32, 40, 50])],
        spread in 180i64..400,
        rungs in prop::collection::vec(rung_of(40), 1..4),
        joint in joint(),
        follow in prop::bool::ANY,
    ) {
        let leg = if follow { [leg[0]; 2] } else { leg };
        let follows = if follow { vec![Follows::LegDepth, Follows::TopDepth] } else { Vec::new() };
        // Every other one near the top, where bores come out if they do.
        let near = |mut rung: RungSpec| {
            if rung.height.nm() / 1_000_000 % 2 == 0 {
                rung.height = mm(height - rung.height.nm() / 1_000_000 % 60);
            }
            rung
        };
        let rungs = rungs.into_iter().map(near).collect();
        let spec = BaseSpec { rungs, joint, follows, ..spec(leans, height, leg, spread) };
        match base(&spec) {
            Ok(made) => prop_assert!(to_ends(&made) >= LEAST, "{}", to_ends(&made)),
            Err(refusals) => {
                for refusal in refusals.iter().filter(|refusal| refusal.cure == Cure::Base) {
                    for change in refusal.changes.iter().flatten() {
                        let left = base(&changed(&spec, &change.key, change.to, change.alone));
                        prop_assert!(left.is_ok(), "{change:?} does not do: {:?}", left.err());
                    }
                    if let (Some(dowels), Joint::Dowels { diameter, length, .. }) = (refusal.dowels, spec.joint) {
                        let joint = Joint::Dowels { diameter, length, count: Some(dowels.to) };
                        prop_assert!(base(&BaseSpec { joint, ..spec.clone() }).is_ok(), "{dowels:?}");
                    }
                }
            }
        }
    }
}
