//! What may be asked for, what is refused and in which words, and the parts of the answer that are not angles.

use proptest::prelude::*;
use stripwright_splay::{
    Base, BaseSpec, Change, Edges, Fixing, Height, Joint, JointPlan, Laying, Leans, LegCut, LegPlace,
    Outline, Refusal, RungPair, RungSpec, Section, Shop, Spread, Stance, TopSpec, Way, Wood, base,
};
use stripwright_units::{Angle, Length, System};

fn mm(n: i64) -> Length {
    Length::from_mm(n)
}

fn square(n: i64) -> Section {
    Section { width: mm(n), thickness: mm(n) }
}

fn spread(width: i64, depth: i64) -> Spread {
    Spread { width: mm(width), depth: mm(depth) }
}

fn leans(front: f64, side: f64) -> Leans {
    Leans { front: Angle::degrees(front), side: Angle::degrees(side) }
}

fn stool() -> BaseSpec {
    BaseSpec {
        height: Some(Height::Underside(mm(700))),
        leans: Some(leans(8.0, 6.0)),
        top_spread: Some(spread(260, 240)),
        ..BaseSpec::new("stool", square(32))
    }
}

fn seat() -> TopSpec {
    TopSpec { thickness: mm(32), outline: Some(Outline::Round { diameter: mm(360) }), density: 700.0 }
}

fn rung(pair: RungPair, height: i64) -> RungSpec {
    RungSpec::usual(pair, mm(height), square(32), Length::from_um(500))
}

fn made(spec: &BaseSpec) -> Base {
    base(spec).unwrap_or_else(|refusals| panic!("{refusals:#?}"))
}

#[track_caller]
fn refused(spec: &BaseSpec, key: &str, words: &str) {
    let refusals = base(spec).expect_err("a refusal");
    let found = refusals.iter().any(|r| r.key == key && r.message.contains(words));
    assert!(found, "no refusal of `{key}` with `{words}` in {refusals:#?}");
    for r in &refusals {
        assert!(r.sentence().ends_with('.') && !r.sentence().contains("  "), "{r}");
        // What is said to do does, and one mark less does not.
        for change in r.changes.iter().flatten() {
            let is_left = |to: Length| {
                let left = base(&changed(spec, change, to)).err().unwrap_or_default();
                // What only cures this one may uncover others of the same piece.
                let of_it = |l: &stripwright_splay::Refusal| match r.cure {
                    stripwright_splay::Cure::Base => l.key.split('.').next() == r.key.split('.').next(),
                    _ => l.key == r.key,
                };
                r.cure == stripwright_splay::Cure::Base && left.len() >= refusals.len()
                    || left.iter().any(of_it)
            };
            let mark = spec.shop.mark;
            let short = if change.by.is_positive() { change.to - mark } else { change.to + mark };
            assert!(!is_left(change.to), "{change:?} does not do for {r}");
            assert!(is_left(short), "less than {change:?} does for {r}");
        }
    }
}

/// The spec with one size changed, as one would in the job.
fn changed(spec: &BaseSpec, change: &Change, to: Length) -> BaseSpec {
    let (mut spec, key) = (spec.clone(), change.key.as_str());
    let n = key
        .strip_prefix("rungs[")
        .and_then(|rest| rest.split(']').next())
        .map_or(0, |n| n.parse().expect("a number"));
    let field = key.rsplit("].").next().expect("a field");
    let like = |rung: &RungSpec, own: &RungSpec| *rung == RungSpec { pair: rung.pair, ..*own };
    let own = spec.rungs[n];
    let which = |rung: &RungSpec| rung.pair == own.pair || !change.alone;
    if key.starts_with("rungs[") {
        // The rung, and its like on the other sides where both change.
        for rung in spec.rungs.iter_mut().filter(|rung| like(rung, &own) && which(rung)) {
            match field {
                "height" => rung.height = to,
                "thickness" => rung.section.thickness = to,
                "width" => rung.section.width = to,
                _ => rung.set_in = to,
            }
        }
        return spec;
    }
    match (field, &mut spec.joint) {
        ("leg", _) => spec.leg.width = to,
        ("leg_depth", _) => spec.leg.thickness = to,
        ("top_spread", _) => spec.top_spread.as_mut().expect("a spread").width = to,
        ("top_spread_depth", _) => spec.top_spread.as_mut().expect("a spread").depth = to,
        ("joint.length", Joint::Dowels { length, .. } | Joint::Tenon { length, .. }) => *length = Some(to),
        ("joint.diameter", Joint::Dowels { diameter, .. }) => *diameter = Some(to),
        ("joint.thickness", Joint::Tenon { thickness, .. }) => *thickness = Some(to),
        other => panic!("{other:?}"),
    }
    spec
}

/// The change of a size that a refusal of a key offers, in millimetres.
#[track_caller]
fn offers(spec: &BaseSpec, key: &str, size: &str, to: f64) {
    let refusals = base(spec).expect_err("a refusal");
    let found = refusals
        .iter()
        .filter(|r| r.key == key)
        .flat_map(|r| r.changes.iter().flatten())
        .any(|change| change.key == size && change.to.to_mm() == to);
    assert!(found, "`{size}` of {to} is not offered in {refusals:#?}");
}

/// All the ways to say the same stool give the same stool.
#[test]
fn leans_spreads_and_heights_say_the_same_thing() {
    let by_leans = made(&stool());
    assert_eq!(
        by_leans.floor_spread,
        Spread { width: Length::from_um(457_000), depth: Length::from_um(387_000) }
    );
    // 260 + 2 * 700 tan 8 = 456.757, 240 + 2 * 700 tan 6 = 387.146: exact here, so that the leans come back.
    let floor = Spread { width: Length::nearest_mm(456.757_168), depth: Length::nearest_mm(387.145_933) };
    let by_floor = made(&BaseSpec { top_spread: None, floor_spread: Some(floor), ..stool() });
    let by_spreads = made(&BaseSpec { leans: None, floor_spread: Some(floor), ..stool() });
    let by_all = made(&BaseSpec { floor_spread: Some(floor), ..stool() });
    let without_height = made(&BaseSpec { height: None, floor_spread: Some(floor), ..stool() });
    let to_the_seat = made(&BaseSpec { height: Some(Height::Seat(mm(732))), top: Some(seat()), ..stool() });
    for other in [&by_floor, &by_spreads, &by_all, &without_height, &to_the_seat] {
        assert_eq!(other.top_spread, by_leans.top_spread);
        assert_eq!(other.floor_spread, by_leans.floor_spread);
        assert_eq!(other.legs.length, by_leans.legs.length);
        assert!((other.leans.front.to_degrees() - 8.0).abs() < 1e-6, "{:?}", other.leans);
        assert!((other.leans.side.to_degrees() - 6.0).abs() < 1e-6);
        assert!((other.height - mm(700)).abs() < Length::from_um(1), "{}", other.height);
    }
}

#[test]
fn one_spread_without_leans_means_plumb_legs() {
    for spec in [
        BaseSpec { leans: None, ..stool() },
        BaseSpec { leans: None, top_spread: None, floor_spread: Some(spread(260, 240)), ..stool() },
    ] {
        let made = made(&spec);
        assert_eq!(made.leans, leans(0.0, 0.0));
        assert_eq!((made.legs.length, made.floor_spread), (mm(700), spread(260, 240)));
        assert!(made.cautions.iter().all(|c| !c.operation.contains("tilted")));
    }
}

#[test]
fn what_does_not_settle_a_base_is_refused_with_what_would() {
    refused(&BaseSpec { height: None, ..stool() }, "height", "give `height` or `seat_height`");
    refused(&BaseSpec { top_spread: None, ..stool() }, "top_spread", "`floor_spread`");
    refused(&BaseSpec { leans: None, top_spread: None, ..stool() }, "top_spread", "`floor_spread`");
    refused(&BaseSpec { floor_spread: Some(spread(460, 387)), ..stool() }, "floor_spread", "make it 457 mm");
    refused(
        &BaseSpec {
            height: None,
            leans: Some(leans(0.0, 0.0)),
            floor_spread: Some(spread(300, 300)),
            ..stool()
        },
        "height",
        "does not follow",
    );
    refused(
        &BaseSpec { leans: None, floor_spread: Some(spread(200, 240)), ..stool() },
        "floor_spread",
        "lean inwards",
    );
    refused(
        &BaseSpec { leans: None, floor_spread: Some(spread(1800, 240)), ..stool() },
        "floor_spread",
        "at most 45",
    );
    refused(&BaseSpec { height: Some(Height::Seat(mm(700))), ..stool() }, "seat_height", "top's thickness");
    let thick = TopSpec { thickness: mm(700), ..seat() };
    refused(
        &BaseSpec { height: Some(Height::Seat(mm(700))), top: Some(thick), ..stool() },
        "seat_height",
        "leaves nothing",
    );
    refused(
        &BaseSpec { top_spread: Some(spread(60, 240)), ..stool() },
        "top_spread",
        "left and right legs run into each other",
    );
    refused(
        &BaseSpec { top_spread: Some(spread(240, 60)), ..stool() },
        "top_spread_depth",
        "front and back legs run into each other",
    );
}

#[test]
fn sizes_out_of_reason_are_refused_all_at_once() {
    let bad = BaseSpec {
        height: Some(Height::Underside(Length::ZERO)),
        leans: Some(leans(f64::NAN, 46.0)),
        leg: Section { width: mm(-3), thickness: mm(200_000) },
        count: 0,
        shop: Shop { kerf: mm(-1), angle_step: Angle::degrees(0.0), density: 1e9, ..Shop::default() },
        rungs: vec![RungSpec { set_in: mm(-1), ..rung(RungPair::FrontAndBack, 0) }],
        ..stool()
    };
    let keys: Vec<String> = base(&bad).unwrap_err().into_iter().map(|r| r.key).collect();
    for key in [
        "leg",
        "height",
        "front_lean",
        "side_lean",
        "count",
        "kerf",
        "angle_step",
        "density",
        "rungs[0].height",
        "rungs[0].set_in",
    ] {
        assert!(keys.iter().any(|k| k == key), "{key} is missing from {keys:?}");
    }
    refused(&BaseSpec { shop: Shop { mark: mm(33), ..Shop::default() }, ..stool() }, "mark", "coarser");
}

#[test]
fn rungs_out_of_place_are_refused_with_the_fix() {
    let with = |rungs: Vec<RungSpec>| BaseSpec { rungs, ..stool() };
    // 32 mm of breadth drop 31.82 at 6 degrees: 20 is 11.82 too low, and 701 is 1 too high.
    let low = with(vec![rung(RungPair::FrontAndBack, 20)]);
    refused(&low, "rungs[0].height", "12 mm below the floor");
    offers(&low, "rungs[0].height", "rungs[0].height", 32.0);
    let high = with(vec![rung(RungPair::FrontAndBack, 701)]);
    refused(&high, "rungs[0].height", "1 mm above the underside of the top, which is at 700 mm");
    offers(&high, "rungs[0].height", "rungs[0].height", 700.0);
    assert!(
        base(&high).unwrap_err()[0].to_string().ends_with("It would do with `height` of 700 mm (1 mm less).")
    );
    assert_eq!(base(&high).unwrap_err()[0].piece, "front and back rung 1");
    // Set in by 60 it clears a leg of 32 by far. Below 32.18, its level breadth, it would touch, but its dowels want more of
    // the leg: their middles 10 mm in from its face and 4 mm of radius, with a wall of 2.
    let farther = RungSpec { set_in: mm(60), ..rung(RungPair::FrontAndBack, 200) };
    refused(&with(vec![farther]), "rungs[0].set_in", "28.2 mm clear");
    offers(&with(vec![farther]), "rungs[0].set_in", "rungs[0].set_in", 16.0);
    let far = RungSpec { set_in: mm(40), ..rung(RungPair::FrontAndBack, 200) };
    refused(&with(vec![far]), "rungs[0].set_in", "8 mm clear of them, and touches none");
    // Two levels on the same sides: 32 mm broad at 6 degrees is 31.83 high, so 171.83 clears 140.
    let two = vec![rung(RungPair::FrontAndBack, 140), rung(RungPair::FrontAndBack, 165)];
    refused(&with(two.clone()), "rungs[1].height", "overlap by 7 mm");
    offers(&with(two.clone()), "rungs[1].height", "rungs[1].height", 172.0);
    let apart = vec![two[0], RungSpec { height: mm(172), ..two[1] }];
    assert_eq!(made(&with(apart)).rungs[1].name, "front and back rung 2");
    // Nothing is looked for behind many others, and nothing is said of it then.
    let many: Vec<RungSpec> = (0..8).map(|n| rung(RungPair::FrontAndBack, 701 + 40 * n)).collect();
    let refusals = base(&with(many.clone())).unwrap_err();
    assert!(refusals[0].sentence().contains("This alone is cured by `height` of 700 mm"), "{}", refusals[0]);
    assert_eq!((refusals.len(), refusals[7].changes.as_ref()), (8, None));
    assert_eq!(refusals[7].sentence(), refusals[7].message);
    let briefly = stripwright_splay::refused(&with(many));
    assert!(briefly.len() == 8 && briefly.iter().all(|r| r.changes.is_none()));
    assert!(stripwright_splay::refused(&stool()).is_empty());
    // The same heights on other sides are no matter.
    assert!(base(&with(vec![rung(RungPair::FrontAndBack, 140), rung(RungPair::LeftAndRight, 140)])).is_ok());
}

#[test]
fn front_and_side_rungs_that_run_into_each_other_are_refused_and_the_fix_works() {
    let thick = |pair, height: i64| RungSpec {
        section: Section { width: mm(32), thickness: mm(30) },
        set_in: mm(10),
        ..rung(pair, height)
    };
    let both = |side: i64| BaseSpec {
        rungs: vec![thick(RungPair::FrontAndBack, 140), thick(RungPair::LeftAndRight, side)],
        joint: Joint::Tenon { length: Some(mm(10)), thickness: Some(mm(8)) },
        ..stool()
    };
    refused(&both(140), "rungs[0].set_in", "run into each other inside the leg");
    offers(&both(140), "rungs[0].set_in", "rungs[0].height", 172.0);
    // The side rung is the higher one: the front rung goes below it.
    refused(&both(165), "rungs[0].set_in", "run into each other inside the leg");
    offers(&both(165), "rungs[0].set_in", "rungs[0].height", 133.0);
    let made = made(&both(172));
    assert_eq!(made.warnings.iter().filter(|w| w.contains("stands") && w.contains("in beyond")).count(), 2);
    // Near the top there is no room to raise.
    let rungs = vec![thick(RungPair::FrontAndBack, 690), thick(RungPair::LeftAndRight, 690)];
    let high = BaseSpec { rungs, ..both(0) };
    refused(&high, "rungs[0].set_in", "run into each other");
    offers(&high, "rungs[0].set_in", "rungs[0].height", 658.0);
}

#[test]
fn joints_that_meet_in_a_leg_are_kept_short_or_refused() {
    let rungs = vec![rung(RungPair::FrontAndBack, 140), rung(RungPair::LeftAndRight, 140)];
    let JointPlan::Dowels(met) = made(&BaseSpec { rungs: rungs.clone(), ..stool() }).joints.remove(0) else {
        panic!("dowels");
    };
    let JointPlan::Dowels(free) = made(&BaseSpec { rungs: rungs[..1].to_vec(), ..stool() }).joints.remove(0)
    else {
        panic!("dowels");
    };
    // T62: a third to a half of 20 mm, about three diameters into each part, holes 1/16 in deeper.
    // Two of 10 mm would stand too near the edges of 32 mm, so 8 mm it is.
    assert_eq!((free.diameter, free.each_end, free.total), (mm(8), 2, 8));
    assert_eq!((free.length, free.hole), (mm(48), mm(26)));
    assert!(met.length < free.length);
    let words = "kept to";
    assert!(made(&BaseSpec { rungs: rungs.clone(), ..stool() }).warnings.iter().any(|w| w.contains(words)));
    let apart = vec![rungs[0], rung(RungPair::LeftAndRight, 200)];
    assert!(made(&BaseSpec { rungs: apart.clone(), ..stool() }).warnings.iter().all(|w| !w.contains(words)));
    // Asked for, they are not shortened behind anybody's back.
    let joint = Joint::Dowels { diameter: Some(mm(8)), length: Some(mm(48)), count: None };
    refused(
        &BaseSpec { rungs: rungs.clone(), joint, ..stool() },
        "rungs[0].height",
        "run into each other inside the leg",
    );
    let clash = BaseSpec { rungs, joint, ..stool() };
    refused(&clash, "rungs[0].height", "25 mm further apart in height");
    offers(&clash, "rungs[0].height", "rungs[0].height", 165.0);
    offers(&clash, "rungs[0].height", "rungs[0].height", 113.0);
    assert!(base(&BaseSpec { rungs: apart, joint, ..stool() }).is_ok());
}

/// A stool with plumb legs: what is printed can be worked out in one's head.
fn plumb(rungs: Vec<RungSpec>, joint: Joint) -> BaseSpec {
    BaseSpec { leans: None, rungs, joint, ..stool() }
}

fn dowels(diameter: Option<i64>, length: Option<f64>, count: Option<u32>) -> Joint {
    Joint::Dowels { diameter: diameter.map(mm), length: length.map(Length::nearest_mm), count }
}

fn of_section(width: i64, thickness: i64, height: i64) -> RungSpec {
    let section = Section { width: mm(width), thickness: mm(thickness) };
    RungSpec { section, ..rung(RungPair::FrontAndBack, height) }
}

#[track_caller]
fn dowel_plan(spec: &BaseSpec) -> stripwright_splay::DowelPlan {
    let JointPlan::Dowels(plan) = made(spec).joints.remove(0) else { panic!("dowels") };
    plan
}

/// The row stands in the middle of the end, as far apart as the end divided by the dowels, but never nearer than two diameters.
#[test]
fn dowels_share_the_end_evenly() {
    let row = |width, height| {
        let plan = dowel_plan(&plumb(vec![of_section(width, 20, height)], dowels(Some(8), None, None)));
        (plan.each_end, plan.from_bottom.to_mm(), plan.spacing.to_mm(), plan.from_top.to_mm())
    };
    assert_eq!(row(40, 300), (2, 10.0, 20.0, 10.0));
    assert_eq!(row(28, 300), (2, 6.0, 16.0, 6.0));
    // 100 mm take two still, anything broader three.
    assert_eq!(row(100, 300), (2, 25.0, 50.0, 25.0));
    assert_eq!(row(102, 300), (3, 17.0, 34.0, 17.0));
    // Where the shoulder leans the holes run down into the rung, so the row is moved up by half of what they fall: 24 mm of
    // dowel and 1.59 of gap fall 25.59 tan 30 = 14.77 mm.
    let leaning = BaseSpec {
        leans: Some(leans(30.0, 0.0)),
        ..plumb(vec![of_section(120, 20, 400)], dowels(Some(8), None, Some(2)))
    };
    let plan = dowel_plan(&leaning);
    let moved = (plan.from_bottom - plan.from_top).to_mm();
    assert!((moved - 14.77).abs() <= 0.75, "{moved}");
}

/// Half of a dowel and the gap leave 5 mm of the leg, and of half the rung; at least one and a half diameters are glued.
#[test]
fn dowels_of_a_given_length_fit_to_the_last_tenth() {
    let spec = |length| plumb(vec![of_section(32, 20, 300)], dowels(Some(8), Some(length), Some(2)));
    // 32 - 5 - 1.5875 = 25.4125 in a leg of 32 mm.
    assert!(base(&spec(50.825)).is_ok());
    refused(
        &spec(51.0),
        "rungs[0].section",
        "the leg is 32 mm deep behind them, and holes keep walls of 2 mm and 5 mm",
    );
    // One and a half times 8 are 12.
    assert!(base(&spec(24.0)).is_ok());
    refused(&spec(23.5), "rungs[0].section", "No dowel of 8 mm by 23.5 mm finds room");
    // A rung of 60 mm: 30 - 5 - 1.5875 = 23.4125 to its middle.
    let short = |length| BaseSpec { top_spread: Some(spread(124, 240)), ..spec(length) };
    assert!(base(&short(46.5)).is_ok() && base(&short(47.0)).is_err());
    // In inches each half is so many sixteenths: three diameters of 3/8 are 1 1/8.
    let shop = Shop { system: System::Inch, mark: Length::from_nm(793_750), ..Shop::default() };
    let section = Section { width: mm(45), thickness: Length::from_nm(19_050_000) };
    let rungs = vec![RungSpec { section, ..rung(RungPair::FrontAndBack, 300) }];
    let inch = dowel_plan(&BaseSpec { shop, leg: square(40), ..plumb(rungs, dowels(None, None, None)) });
    assert_eq!(
        (inch.diameter.inch_digits(), inch.length.inch_digits()),
        ("3/8".to_string(), "2 1/4".to_string())
    );
}

#[test]
fn dowels_keep_a_quarter_of_their_diameter_as_wall() {
    // 12 mm keep 3: 18 mm of rung have just that beside the hole, 17 have 2.5.
    let spec = |thickness| plumb(vec![of_section(60, thickness, 300)], dowels(Some(12), None, Some(2)));
    assert!(base(&spec(18)).is_ok());
    refused(&spec(17), "rungs[0].section", "finds room in its ends");
    // A third of the thickness is within the rule.
    let third = made(&plumb(vec![of_section(40, 18, 300)], dowels(Some(6), None, None)));
    assert!(third.warnings.is_empty(), "{:?}", third.warnings);
    // More than twelve in an end, or dowels of nothing, are slips of the pen, whatever the room.
    let many =
        |count, diameter| plumb(vec![of_section(300, 20, 400)], dowels(Some(diameter), None, Some(count)));
    assert!(base(&many(12, 8)).is_ok() && base(&many(13, 8)).is_err());
    assert!(base(&many(2, 0)).is_err() && base(&many(0, 8)).is_err());
    // Under the top, on a leg that leans by 14.036 degrees, a quarter: the upper hole, 716 up the arris and 10 square in from
    // it, has its middle 692.2 high and its rim 696.1, which leaves 3.9 of the 700.
    let high = plumb(vec![of_section(32, 20, 700)], dowels(Some(8), None, Some(2)));
    let plan = dowel_plan(&BaseSpec { leans: Some(leans(0.0, 14.036)), ..high });
    let upper = plan.bores.last().expect("two bores");
    assert_eq!((upper.on_leg_up, upper.on_leg_in), (mm(716), mm(10)));
}

/// Rungs at one height: dowels of 8 in the middle of 20 mm begin 32 - 10 - 4 = 18 mm behind the leg's other inner face, so holes
/// may be 16 deep, 14.4 without the gap. The rows reach from 112 to 136, so the other's must begin at 138.
#[test]
fn joints_that_meet_say_how_short_or_how_far_apart_they_clear() {
    let both = |side: i64, joint| {
        plumb(vec![rung(RungPair::FrontAndBack, 140), rung(RungPair::LeftAndRight, side)], joint)
    };
    let given = |length| dowels(Some(8), Some(length), Some(2));
    let words = "keep clear 26 mm further apart in height, or no deeper than 14 mm in the leg";
    refused(&both(140, given(48.0)), "rungs[0].height", words);
    refused(&both(150, given(48.0)), "rungs[0].height", "keep clear 16 mm further apart");
    refused(&both(130, given(48.0)), "rungs[0].height", "keep clear 16 mm further apart");
    assert!(base(&both(166, given(48.0))).is_ok() && base(&both(165, given(48.0))).is_err());
    assert!(base(&both(140, given(28.5))).is_ok() && base(&both(140, given(29.0))).is_err());
    // Said once, however many holes meet.
    assert_eq!(base(&both(140, given(48.0))).unwrap_err().len(), 1);
    // Left open, the dowels are as long as whole millimetres in each part allow.
    let kept = made(&both(140, dowels(Some(8), None, Some(2))));
    for joint in &kept.joints {
        let JointPlan::Dowels(plan) = joint else { panic!("dowels") };
        // 14 mm of dowel and 1/16 in of room, up to the next half millimetre: told alike by step and warning.
        assert_eq!((plan.length, plan.hole), (mm(28), mm(16)));
    }
    let told = "kept to 16 mm deep in the legs: front and back rung 1; left and right rung 1. Set one pair at least 26 mm higher";
    assert!(kept.warnings.iter().any(|w| w.contains(told)), "{:?}", kept.warnings);
    // Only one of three meets: the others are told nothing and stay as long as they were.
    let mut three = both(140, dowels(Some(8), None, Some(2)));
    three.rungs.push(rung(RungPair::FrontAndBack, 400));
    let three = made(&three);
    assert!(three.warnings.iter().all(|w| !w.contains("rung 2")), "{:?}", three.warnings);
    let JointPlan::Dowels(free) = &three.joints[2] else { panic!("dowels") };
    assert_eq!(free.length, mm(48));
    // Set in by 8 they begin 10 behind the face, which leaves 8 deep, too shallow for any dowel.
    let deep = |pair| RungSpec { set_in: mm(8), ..rung(pair, 140) };
    let spec =
        plumb(vec![deep(RungPair::FrontAndBack), deep(RungPair::LeftAndRight)], dowels(None, None, None));
    refused(
        &spec,
        "rungs[0].section",
        "the leg is 32 mm deep behind them, of which the joints from the other side leave 8 mm",
    );
    // Tenons of 6.5 mm begin 18.5 behind it: 18.5 - 2 - 1.59 = 14.9.
    let tenons = |length| Joint::Tenon {
        length: Some(Length::nearest_mm(length)),
        thickness: Some(Length::from_um(6500)),
    };
    let words = "keep clear 26 mm further apart in height, or no deeper than 14.5 mm in the leg";
    refused(&both(140, tenons(20.0)), "rungs[0].height", words);
    assert!(base(&both(140, tenons(14.5))).is_ok() && base(&both(140, tenons(15.0))).is_err());
}

/// Each of what a tenon needs, with one that has just enough and one that has just too little.
#[test]
fn tenons_keep_cheeks_walls_and_wood_behind_them() {
    let tenon = |length: f64, thickness: f64| Joint::Tenon {
        length: Some(Length::nearest_mm(length)),
        thickness: Some(Length::nearest_mm(thickness)),
    };
    let spec = |rung, joint| plumb(vec![rung], joint);
    let usual = of_section(32, 20, 300);
    let does = |rung, joint| base(&spec(rung, joint)).is_ok();
    // 5 mm long and 3 mm thick at least.
    assert!(does(usual, tenon(5.0, 6.0)) && !does(usual, tenon(4.5, 6.0)));
    assert!(does(usual, tenon(20.0, 3.0)) && !does(usual, tenon(20.0, 2.5)));
    // Cheeks of 2 mm each beside it.
    assert!(does(usual, tenon(20.0, 16.0)) && !does(usual, tenon(20.0, 16.5)));
    // 32 - 5 - 1.5875 = 25.4125 long leave 5 mm of the leg.
    assert!(does(usual, tenon(25.4125, 6.0)) && !does(usual, tenon(25.5, 6.0)));
    // The mortise of 6 mm begins 7 in from the rung's face: set in by 17, two of the leg's 32 are left.
    let set_in = |by| RungSpec { set_in: mm(by), ..usual };
    assert!(does(set_in(17), tenon(20.0, 6.0)) && !does(set_in(18), tenon(20.0, 6.0)));
    // Three quarters of 14 mm leave 1.75 above and below, to the mark 2 below and 1.5 above, which is too little at the
    // leg's end: there it stands half a millimetre lower.
    let up = |height| {
        let made = made(&spec(of_section(14, 20, height), tenon(20.0, 6.0)));
        let JointPlan::Tenon(plan) = &made.joints[0] else { panic!("a tenon") };
        plan.on_leg_up - mm(height)
    };
    assert_eq!(up(698) - up(700), Length::from_um(500));
    // In a thin leg 5 mm behind the mortise and its gap are less than two thirds: 18 - 5 - 1.5875 = 11.41, down to the mark.
    let thin = BaseSpec {
        leg: square(18),
        ..spec(of_section(18, 12, 300), Joint::Tenon { length: None, thickness: None })
    };
    let JointPlan::Tenon(plan) = made(&thin).joints.remove(0) else { panic!("a tenon") };
    assert_eq!((plan.length, plan.thickness), (mm(11), mm(4)));
}

/// A plumb rung against leaning legs: each bore stands at its own distance from the leg's arris, and is told with it.
#[test]
fn bores_askew_to_the_leg_are_told_one_by_one() {
    let plumb = RungSpec { stance: Stance::Plumb, ..rung(RungPair::FrontAndBack, 200) };
    let spec = BaseSpec { rungs: vec![plumb], leans: Some(leans(6.0, 14.0)), ..stool() };
    let base = made(&spec);
    let JointPlan::Dowels(plan) = &base.joints[0] else { panic!("dowels") };
    let [low, high] = plan.bores.as_slice() else { panic!("two dowels") };
    // Up by some 16 mm, in by a quarter of that: tan 14 is 0.249.
    let slope = (low.on_leg_in - high.on_leg_in).to_mm() / (high.on_leg_up - low.on_leg_up).to_mm();
    assert!((slope - 0.249).abs() < 0.07, "{slope}");
    let said = format!("{} and {} across", low.on_leg_in, high.on_leg_in);
    assert!(base.steps.rungs.iter().any(|step| step.contains(&said)), "{said}: {:?}", base.steps.rungs);
    let bores = base.views.iter().find(|view| view.name == "bores-1").expect("a view");
    let across: Vec<_> = bores.dimensions.iter().filter(|d| d.label == "across").map(|d| d.value).collect();
    assert_eq!(across.len(), 2, "{across:?}");
    let tenon = Joint::Tenon { length: None, thickness: None };
    let base = made(&BaseSpec { joint: tenon, ..spec });
    assert!(base.steps.rungs.iter().any(|step| step.contains("it lies askew, its upper end")));
    // In the legs' plane there is one distance for all.
    let base = made(&BaseSpec { rungs: vec![rung(RungPair::FrontAndBack, 200)], ..stool() });
    let JointPlan::Dowels(plan) = &base.joints[0] else { panic!("dowels") };
    assert_eq!(plan.bores[0].on_leg_in, plan.bores[1].on_leg_in);
    assert!(
        base.steps
            .rungs
            .iter()
            .any(|step| step.contains(&format!("lowest first: {} across", plan.bores[0].on_leg_in)))
    );
}

/// T62 (secondary: thickness rule; verified: hole 1/16 in deeper; common practice: two at least).
#[test]
fn dowels_by_the_thickness_rule() {
    let plan = |thickness: i64, joint: Joint, system: System| {
        let section = Section { width: mm(40), thickness: mm(thickness) };
        let rungs = vec![RungSpec { section, ..rung(RungPair::FrontAndBack, 200) }];
        let shop = Shop { system, ..Shop::default() };
        let spec = BaseSpec { rungs, joint, shop, leg: square(40), ..stool() };
        base(&spec).map(|b| (b.joints[0].clone(), b.warnings))
    };
    let open = Joint::Dowels { diameter: None, length: None, count: None };
    for (thickness, diameter) in [(12, 6), (16, 8), (18, 8), (20, 10), (24, 10)] {
        let Ok((JointPlan::Dowels(dowels), warnings)) = plan(thickness, open, System::Metric) else {
            panic!("dowels for {thickness} mm");
        };
        assert_eq!(dowels.diameter, mm(diameter), "for {thickness} mm");
        let (d, t) = (diameter as f64, thickness as f64);
        assert!(d >= t / 3.0 && d <= t / 2.0 && warnings.is_empty(), "{warnings:?}");
        assert_eq!(dowels.each_end, 2);
        // Edge, spacing and edge add up to the shoulder (40 mm up the slope, over the cosine of its turn).
        let whole = dowels.from_bottom + dowels.spacing + dowels.from_top;
        assert!((whole.to_mm() - 40.0 / Angle::degrees(7.957).cos()).abs() <= 0.5, "{whole}");
        assert!(dowels.spacing.to_mm() >= 2.0 * d && dowels.from_top.to_mm() >= d / 2.0 + 2.0);
        assert!(dowels.hole.to_mm() - dowels.length.to_mm() / 2.0 >= 25.4 / 16.0 - 1e-9);
        assert_eq!(dowels.bores.len(), 2);
        assert_eq!(dowels.bores[1].on_rung_up - dowels.bores[0].on_rung_up, dowels.spacing);
    }
    // 3/4 in stock takes 3/8 in (half the stock, as printed in T62).
    let section = Section { width: mm(45), thickness: Length::from_nm(19_050_000) };
    let rungs = vec![RungSpec { section, ..rung(RungPair::FrontAndBack, 200) }];
    let shop = Shop { system: System::Inch, mark: Length::from_nm(793_750), ..Shop::default() };
    let inch = made(&BaseSpec { rungs, shop, leg: square(40), ..stool() });
    let JointPlan::Dowels(dowels) = &inch.joints[0] else { panic!("dowels") };
    assert_eq!(dowels.diameter, Length::from_nm(9_525_000));
    // Outside the rule: made, with a word about it.
    let thick = Joint::Dowels { diameter: Some(mm(12)), length: None, count: None };
    let (_, warnings) = plan(20, thick, System::Metric).expect("a base");
    assert!(
        warnings.iter().any(|w| w.contains("thickness rule") && w.contains("6.7 mm to 10 mm")),
        "{warnings:?}"
    );
    // One only, when asked or when two find no room.
    let (joint, warnings) =
        plan(20, Joint::Dowels { diameter: None, length: None, count: Some(1) }, System::Metric)
            .expect("a base");
    let JointPlan::Dowels(one) = joint else { panic!("dowels") };
    assert_eq!((one.each_end, one.spacing, one.total), (1, Length::ZERO, 4));
    assert!(warnings.iter().any(|w| w.contains("turning")), "{warnings:?}");
    // No room at all.
    let many = Joint::Dowels { diameter: Some(mm(10)), length: None, count: Some(9) };
    assert!(plan(20, many, System::Metric).unwrap_err()[0].message.contains("finds room in its ends"));
    let long = Joint::Dowels { diameter: None, length: Some(mm(90)), count: None };
    assert!(plan(20, long, System::Metric).unwrap_err()[0].message.contains("holes keep walls"));
}

#[test]
fn tenons_take_thirds_and_lengthen_the_blank() {
    let rungs = vec![rung(RungPair::FrontAndBack, 200)];
    let joint = Joint::Tenon { length: None, thickness: None };
    let tenoned = made(&BaseSpec { rungs: rungs.clone(), joint, ..stool() });
    let JointPlan::Tenon(tenon) = &tenoned.joints[0] else { panic!("a tenon") };
    // A third of 20 mm, three quarters of 32 mm up the shoulder, two thirds of 32 mm, all down to half millimetres.
    assert_eq!(tenon.thickness, Length::from_um(6500));
    assert_eq!((tenon.breadth, tenon.length), (mm(24), mm(21)));
    assert_eq!(tenon.mortise, mm(23));
    let doweled = made(&BaseSpec { rungs: rungs.clone(), ..stool() });
    assert_eq!(tenoned.rungs[0].blank, doweled.rungs[0].blank + mm(42));
    assert_eq!(tenoned.sticks[1].length, tenoned.rungs[0].blank);
    let too_thick = Joint::Tenon { length: None, thickness: Some(mm(18)) };
    refused(
        &BaseSpec { rungs: rungs.clone(), joint: too_thick, ..stool() },
        "rungs[0].section",
        "No tenon finds room",
    );
    let too_long = Joint::Tenon { length: Some(mm(30)), thickness: None };
    refused(&BaseSpec { rungs, joint: too_long, ..stool() }, "rungs[0].section", "No tenon finds room");
}

fn screwed(fixing: Fixing) -> BaseSpec {
    let rail = RungSpec {
        section: Section { width: mm(60), thickness: mm(20) },
        ..rung(RungPair::FrontAndBack, 700)
    };
    BaseSpec { rungs: vec![rail], top: Some(seat()), fixing: Some(fixing), ..stool() }
}

const FIXING: Fixing = Fixing {
    through: None,
    sunk: Length::from_mm(20),
    number: 8,
    each: 2,
    wood: Wood::Hard,
    cover: Length::from_mm(6),
};

/// Rails 120 mm from the centre, less half of their 20 mm, under a round of 200 mm: 110 mm is more than its 100.
#[test]
fn screws_never_miss_the_top() {
    let small = TopSpec { outline: Some(Outline::Round { diameter: mm(200) }), ..seat() };
    refused(
        &BaseSpec { top: Some(small), ..screwed(FIXING) },
        "top_spread",
        "4 of 4 screws would stand outside of the top",
    );
}

/// Legs of 45 mm that lean by 15 degrees both ways leave 307 mm between their inner arrises at the top of a base 400 mm wide:
/// 400 - 2 x 45 / cos 14.51, as tan m = tan 15 x cos 15.
#[test]
fn cleats_are_no_longer_than_the_room_between_the_legs() {
    let cleats = Fixing { through: Some(mm(25)), sunk: mm(3), ..FIXING };
    let spec = BaseSpec { rungs: Vec::new(), top_spread: Some(spread(400, 400)), ..screwed(cleats) };
    let spec = BaseSpec { leg: Section { width: mm(45), thickness: mm(45) }, ..spec };
    let top = Some(TopSpec { outline: None, ..seat() });
    let fixings = made(&BaseSpec { leans: Some(leans(15.0, 15.0)), top, ..spec }).fixings.expect("screws");
    let length = fixings.cleats[0].length.to_mm();
    assert!((290.0..307.0).contains(&length), "{length}");
}

#[test]
fn screws_up_into_the_top_never_come_through() {
    let fixings = made(&screwed(FIXING)).fixings.expect("screws");
    // Through 40 mm of rail, 26 mm of top may be used at a slope of 6 degrees: 40 + 26 / cos 6 = 66.14.
    assert_eq!((fixings.through, fixings.longest, fixings.length), (mm(40), mm(66), mm(60)));
    assert_eq!((fixings.count, fixings.bite), (4, mm(20)));
    for sunk in 5..54 {
        if let Ok(made) = base(&screwed(Fixing { sunk: mm(sunk), ..FIXING })) {
            let fixings = made.fixings.expect("screws");
            assert!(fixings.length <= fixings.longest);
            let in_top = (fixings.length.to_mm() - (60.0 - sunk as f64)) * Angle::degrees(6.0).cos();
            assert!(in_top <= 32.0 - 6.0 + 1e-9, "{in_top} mm in a top of 32 with 6 as cover");
        }
    }
    // Symmetrical about the centre, along the rails' middles.
    let sum = |f: fn(&stripwright_splay::Screw) -> Length| fixings.screws.iter().map(f).sum::<Length>();
    assert_eq!((sum(|s| s.x), sum(|s| s.y)), (Length::ZERO, Length::ZERO));
    // The rail's outer face is 120 from the centre at the top and 20 / cos 6 thick on the level: its middle is at 109.94.
    assert_eq!(fixings.screws[0].y, mm(-110));
}

#[test]
fn screws_keep_clear_of_dowels_and_of_each_other() {
    let made_with = |each| base(&screwed(Fixing { each, ..FIXING }));
    // Shank of no. 8: 0.164 in = 4.166 mm (T68). What is free lies between the dowels, their walls and half a screw.
    let shank = 4.1656;
    for each in 1..=20 {
        let Ok(base) = made_with(each) else {
            refused(&screwed(Fixing { each, ..FIXING }), "fixing.each", "give `each` at most");
            continue;
        };
        let JointPlan::Dowels(plan) = &base.joints[0] else { panic!("dowels") };
        let half = base.rungs[0].outer.top_mm.min(base.rungs[0].inner.top_mm) / 2.0;
        let fixings = base.fixings.expect("screws");
        assert_eq!(fixings.count, 2 * each);
        let mut along: Vec<f64> =
            fixings.screws.iter().filter(|s| !s.y.is_positive()).map(|s| s.x.to_mm()).collect();
        along.sort_by(f64::total_cmp);
        assert_eq!(along.len() as u32, each);
        let room = half - plan.hole.to_mm() - shank / 2.0;
        // To the mark of 0.5 mm.
        assert!(along.iter().all(|x| x.abs() < room - 2.0 + 0.26), "{along:?} in {room}");
        assert!(along.windows(2).all(|w| w[1] - w[0] > 5.0 * shank - 0.51), "{along:?}");
    }
    assert!(made_with(2).is_ok() && made_with(20).is_err());
    // Cleats along the inside of the rails: 120 - 20 / cos 6 - 25 / 2 = 87.39.
    let cleats = Fixing { through: Some(mm(25)), sunk: mm(3), ..FIXING };
    let fixings = made(&screwed(cleats)).fixings.expect("screws");
    assert_eq!((fixings.screws[0].y, fixings.in_rails), (-Length::from_um(87_500), false));
}

/// By hand: in a plumb base of 240 by 240 mm with legs of 32 mm and rails of 20 mm set flush, cleats of 25 mm lie 87.5 to 120 - 20 =
/// 100 mm from the centre less 12.5 mm; those at front and back are as long as the rails, 176 mm, and those at left and
/// right end at them, 2 x 75 = 150 mm. The same a little below the top; without rungs they lie between the legs.
#[test]
fn cleats_lie_clear_of_rungs_and_of_each_other() {
    let cleats = Fixing { through: Some(mm(25)), sunk: mm(3), each: 1, ..FIXING };
    let around = |height| {
        let rail = RungSpec { pair: RungPair::FrontAndBack, ..of_section(60, 20, height) };
        let rungs = vec![rail, RungSpec { pair: RungPair::LeftAndRight, height: mm(height), ..rail }];
        BaseSpec { leans: None, rungs, top_spread: Some(spread(240, 240)), ..screwed(cleats) }
    };
    for height in [700, 690] {
        let base = made(&around(height));
        let fixings = base.fixings.as_ref().expect("screws");
        let said = base.steps.assembly.join(" ");
        let leg = base.leg_section.width.to_mm();
        let lengths: Vec<f64> = fixings.cleats.iter().map(|c| c.length.to_mm()).collect();
        assert_eq!(lengths, [240.0 - 2.0 * leg, 150.0], "{leg}");
        assert_eq!(fixings.cleat_screws, Some((8, mm(40))));
        for screw in &fixings.screws {
            let out = screw.x.to_mm().abs().max(screw.y.to_mm().abs());
            assert_eq!(out, 87.5, "clear of the rail, which reaches in to 100 mm");
        }
        assert!(said.contains("Cut the cleats of one base, 25 mm thick: 2 of "), "{said}");
        assert!(said.contains("Along the inside of each") && !said.contains("No rung lies"), "{said}");
    }
    let without = made(&BaseSpec { rungs: Vec::new(), ..around(700) });
    assert_eq!(without.fixings.as_ref().and_then(|fixings| fixings.cleat_screws), Some((4, mm(35))));
    let said = without.steps.assembly.join(" ");
    assert!(said.contains("No rung lies at front and back") && !said.contains("Along the inside"), "{said}");
    // Between legs a screw is no longer than one and a half times the cleat is thick: 15 mm, and 16 are the shortest sold.
    let thin = Fixing { through: Some(mm(10)), sunk: mm(3), each: 1, ..FIXING };
    let thin = BaseSpec { fixing: Some(thin), rungs: Vec::new(), ..around(700) };
    refused(&thin, "fixing.through", "Cleats of 10 mm are too thin for any screw that is sold");
    let thick = Fixing { through: Some(mm(90)), sunk: mm(3), each: 1, ..FIXING };
    refused(
        &BaseSpec { fixing: Some(thick), ..around(700) },
        "fixing.through",
        "find no room beside each other",
    );
}

/// Bores are measured up the shoulder's outer arris from its corner, as they are drawn; measured up from the edge square to it
/// they would lie elsewhere on a bevelled edge.
#[test]
fn bores_and_tenons_are_told_along_the_arris() {
    let bored = made(&stool_with(Joint::Dowels { diameter: None, length: None, count: None }));
    let JointPlan::Dowels(plan) = &bored.joints[0] else { panic!("dowels") };
    let [up, across] = [plan.bores[0].on_rung_up, plan.bores[0].on_rung_in].map(|l| l.show(System::Metric));
    let said = bored.steps.rungs.join(" ");
    assert!(said.contains("up the outer arris of its shoulder from the bottom corner, then"), "{said}");
    assert!(
        said.contains(&format!("lowest first: {up}")) && said.contains(&format!("then {across} in, square")),
        "{said}"
    );
    let tenoned = made(&stool_with(Joint::Tenon { length: None, thickness: None })).steps.rungs.join(" ");
    assert!(
        tenoned.contains("up the outer arris of the rung's shoulder from its bottom corner, then"),
        "{tenoned}"
    );
}

fn stool_with(joint: Joint) -> BaseSpec {
    BaseSpec { rungs: vec![rung(RungPair::FrontAndBack, 200)], joint, ..stool() }
}

/// With the top ends to the left every leg lies the other way round at the fence, and the steps say so.
#[test]
fn legs_that_point_to_the_left_lie_the_other_way_round() {
    for leg in LegPlace::ALL {
        let looks = |way| LegCut::of(leg, Laying::PlaneFaceDown, way).outer_face_at_fence;
        assert_ne!(looks(Way::Left), looks(Way::Right));
    }
    let said = made(&stool()).steps.legs.join(" ");
    let left = said.split("tilts to the left only").nth(1).unwrap_or_default();
    assert!(left.contains("the face that is said to look towards you lies against the fence"), "{said}");
}

/// T68 (plate 6B, verified): pilot and clearance drills in 64ths.
#[test]
fn pilots_from_the_table() {
    let drills = |number, wood| {
        let f = made(&screwed(Fixing { number, wood, ..FIXING })).fixings.expect("screws");
        (f.pilot.inch_digits(), f.clearance.inch_digits())
    };
    let pair = |a: &str, b: &str| (a.to_string(), b.to_string());
    assert_eq!(drills(8, Wood::Hard), pair("7/64", "11/64"));
    assert_eq!(drills(8, Wood::Soft), pair("5/64", "11/64"));
    assert_eq!(drills(9, Wood::Hard), pair("7/64", "3/16"));
    assert_eq!(drills(9, Wood::Soft), pair("5/64", "3/16"));
    assert_eq!(drills(10, Wood::Hard), pair("1/8", "3/16"));
    assert_eq!(drills(10, Wood::Soft), pair("3/32", "3/16"));
}

#[test]
fn screws_that_cannot_be_are_refused() {
    refused(&screwed(Fixing { number: 14, ..FIXING }), "fixing.number", "give 8, 9 or 10");
    refused(&screwed(Fixing { each: 0, ..FIXING }), "fixing.each", "give 1 to 20");
    refused(&screwed(Fixing { sunk: mm(56), ..FIXING }), "fixing.sunk", "leaves 4 mm of the 60 mm");
    refused(&screwed(Fixing { sunk: mm(56), ..FIXING }), "fixing.sunk", "give `sunk` at most 54 mm");
    assert!(base(&screwed(Fixing { sunk: mm(54), ..FIXING })).is_ok());
    refused(&screwed(Fixing { cover: mm(30), ..FIXING }), "fixing", "No screw that is sold");
    refused(&BaseSpec { top: None, ..screwed(FIXING) }, "fixing", "give `top`");
    refused(&BaseSpec { rungs: Vec::new(), ..screwed(FIXING) }, "fixing.through", "Nothing reaches the top");
    // Cleats do instead of rails.
    let cleats = Fixing { through: Some(mm(25)), sunk: mm(3), ..FIXING };
    let fixings = made(&BaseSpec { rungs: Vec::new(), ..screwed(cleats) }).fixings.expect("screws");
    assert_eq!((fixings.longest, fixings.length, fixings.count), (mm(48), mm(45), 4));
}

#[test]
fn four_offsets_bring_the_base_central() {
    let centring = made(&BaseSpec { top: Some(seat()), ..stool() }).centring.expect("an outline");
    assert_eq!(
        (centring.left, centring.right, centring.front, centring.back),
        (mm(130), mm(130), mm(120), mm(120))
    );
    assert_eq!(centring.rims, [mm(50), mm(50), mm(60), mm(60)]);
    // sqrt(130^2 + 120^2) = 176.918.
    assert!(centring.under && centring.corner == mm(177));
    let oval = |width, depth| {
        let outline = Some(Outline::Oval { width: mm(width), depth: mm(depth) });
        made(&BaseSpec { top: Some(TopSpec { outline, ..seat() }), ..stool() })
    };
    // (130/a)^2 + (120/b)^2 is 0.98 for half axes 200 and 158.5, and 1.02 for 200 and 154.
    // A seat of 400 by 300 mm with its pin 250 mm from the left edge and 130 from the front one, and its right back corner cut off.
    let free =
        [[-250, -130], [150, -130], [150, 100], [80, 170], [-250, 170]].map(|c: [i64; 2]| c.map(mm)).to_vec();
    let seat_of = |corners: Vec<[Length; 2]>| TopSpec { outline: Some(Outline::Free { corners }), ..seat() };
    let cut = made(&BaseSpec { top: Some(seat_of(free.clone())), ..stool() });
    let centring = cut.centring.expect("an outline");
    let [half_x, half_y] = [centring.right, centring.back];
    assert_eq!(centring.rims, [mm(250) - half_x, mm(150) - half_x, mm(130) - half_y, mm(170) - half_y]);
    // 400 x 300 less a triangle of 70 x 70 / 2.
    let area = Outline::Free { corners: free }.area_mm2();
    assert!((area - (400.0 * 300.0 - 2450.0)).abs() < 1e-9, "{area}");
    assert!(
        cut.steps.fixing.iter().any(|s| s.contains("at the left, ") && s.contains("along the centre lines"))
    );
    // A seat that tapers to the back: its sides cross the centre line at 260 - 80 x 180 / 380 = 222.105; the pin is not midway.
    let tapered = [[-260, -180], [260, -180], [180, 200], [-180, 200]].map(|c: [i64; 2]| c.map(mm)).to_vec();
    let centring = made(&BaseSpec { top: Some(seat_of(tapered)), ..stool() }).centring.expect("an outline");
    assert_eq!(centring.rims, [mm(92), mm(92), mm(60), mm(80)]);
    // A notch in the left side: the rim is where the seat ends, and a leg over the notch is not under the seat.
    let notched = [
        [-260, -180],
        [260, -180],
        [260, 180],
        [-260, 180],
        [-260, 140],
        [-110, 130],
        [-110, 100],
        [-260, 90],
    ];
    let notched =
        made(&BaseSpec { top: Some(seat_of(notched.map(|c: [i64; 2]| c.map(mm)).to_vec())), ..stool() });
    assert_eq!(notched.centring.expect("an outline").out, [stripwright_splay::LegPlace::BackLeft]);
    // The same seat as a rectangle's corners is the rectangle.
    let square = [[-180, -180], [180, -180], [180, 180], [-180, 180]].map(|c: [i64; 2]| c.map(mm)).to_vec();
    let by_corners = made(&BaseSpec { top: Some(seat_of(square)), ..stool() });
    let rectangle = Some(Outline::Rectangle { width: mm(360), depth: mm(360) });
    let by_sides = made(&BaseSpec { top: Some(TopSpec { outline: rectangle, ..seat() }), ..stool() });
    assert_eq!((by_corners.centring, by_corners.standing), (by_sides.centring, by_sides.standing));
    // Legs at 130 and 120 reach into the corners of 270 by 250, and beyond the long sides of 600 by 230.
    let under = |width, depth| {
        let outline = Some(Outline::Rectangle { width: mm(width), depth: mm(depth) });
        made(&BaseSpec { top: Some(TopSpec { outline, ..seat() }), ..stool() })
            .centring
            .expect("an outline")
            .under
    };
    assert!(under(270, 250) && !under(600, 230) && !under(250, 600));
    // A corner of the triangle reaches far, its sides pass inside the legs.
    let triangle = [[-300, -100], [300, -100], [0, 400]].map(|c: [i64; 2]| c.map(mm)).to_vec();
    let out = made(&BaseSpec { top: Some(seat_of(triangle)), ..stool() });
    assert!(!out.centring.expect("an outline").under);
    assert!(oval(400, 317).centring.expect("an outline").under);
    let out = oval(400, 308);
    assert!(!out.centring.expect("an outline").under);
    let all = "beyond the edge of the top: front left, front right, back left, back right.";
    assert!(out.warnings.iter().any(|w| w.contains(all)), "{:?}", out.warnings);
}

#[test]
fn sticks_are_counted_and_never_short() {
    let spec = BaseSpec {
        count: 3,
        rungs: vec![rung(RungPair::FrontAndBack, 140), rung(RungPair::LeftAndRight, 240)],
        ..stool()
    };
    let made = made(&spec);
    let found: Vec<_> = made.sticks.iter().map(|s| (s.name.as_str(), s.count)).collect();
    assert_eq!(found, [("leg", 12), ("front and back rung 1", 6), ("left and right rung 1", 6)]);
    assert_eq!(made.sticks[0].sawn, square(35));
    for stick in &made.sticks {
        assert_eq!(stick.length.nm() % 500_000, 0);
    }
    assert!(made.legs.blank.to_mm() >= made.legs.overall_mm + 30.0);
    assert!(made.legs.blank.to_mm() < made.legs.overall_mm + 30.5);
    for (rung, stick) in made.rungs.iter().zip(&made.sticks[1..]) {
        let longest = [rung.outer.bottom_mm, rung.inner.bottom_mm].into_iter().fold(0.0, f64::max);
        assert!(rung.blank.to_mm() >= longest + 30.0 && rung.blank.to_mm() < longest + 30.5);
        assert_eq!(stick.sawn.width, rung.rip_breadth + mm(3));
        assert!(rung.outer.shoulder_mm > rung.outer.breadth_mm && rung.outer.diagonal_mm > rung.outer.top_mm);
        let o = rung.outer;
        // Ptolemy's rule for a symmetrical trapezoid: diagonal squared is leg squared plus the product of the bases.
        assert!(
            (o.diagonal_mm * o.diagonal_mm - o.shoulder_mm * o.shoulder_mm - o.top_mm * o.bottom_mm).abs()
                < 1e-6
        );
    }
    let litres = made.sticks[0].cubic_metres() * 1000.0;
    assert!((litres - 12.0 * 0.035 * 0.035 * made.legs.blank.to_mm()).abs() < 1e-9);
}

#[test]
fn views_are_named_once_and_show_what_is_printed() {
    let spec = BaseSpec {
        rungs: vec![rung(RungPair::FrontAndBack, 140), rung(RungPair::LeftAndRight, 240)],
        top: Some(seat()),
        ..stool()
    };
    for spec in [BaseSpec { joint: Joint::Tenon { length: None, thickness: None }, ..spec.clone() }, spec] {
        let made = made(&spec);
        let names: Vec<&str> = made.views.iter().map(|v| v.name.as_str()).collect();
        assert_eq!(
            names,
            [
                "front",
                "side",
                "plan",
                "leg",
                "marking",
                "underside",
                "rung-1",
                "bores-1",
                "rung-2",
                "bores-2"
            ]
        );
        let finite = |p: &stripwright_splay::view::Point| p.x.is_finite() && p.y.is_finite();
        for view in &made.views {
            assert!(!view.outlines.is_empty() && !view.title.is_empty());
            assert!(view.outlines.iter().all(|l| l.points.len() >= 2 && l.points.iter().all(finite)));
            assert!(
                view.dimensions
                    .iter()
                    .all(|d| d.line.len() >= 2 && d.line.iter().all(finite) && finite(&d.text_at))
            );
        }
        let shows = |view: usize, value: stripwright_splay::view::Value| {
            made.views[view].dimensions.iter().any(|d| d.value == value)
        };
        use stripwright_splay::view::Value;
        assert!(
            shows(0, Value::Length(mm(260)))
                && shows(0, Value::Length(mm(457)))
                && shows(0, Value::Length(mm(700)))
        );
        assert!(shows(0, Value::Length(mm(140))) && !shows(0, Value::Length(mm(240))));
        assert!(shows(1, Value::Length(mm(240))) && shows(1, Value::Length(mm(387))));
        assert!(shows(2, Value::Length(mm(130))) && shows(2, Value::Length(mm(120))));
        assert!(shows(3, Value::Length(made.legs.length)) && shows(3, Value::Length(made.legs.blank)));
        assert!(shows(3, Value::Angle(made.legs.plane_face_down.turn)));
        // The four offsets, on the top from below.
        assert!(shows(5, Value::Length(mm(130))) && shows(5, Value::Length(mm(120))));
        assert!(
            shows(6, Value::Length(made.rungs[0].bottom_length))
                && shows(6, Value::Length(made.rungs[0].top_length))
        );
        assert!(
            shows(6, Value::Angle(made.rungs[0].shoulder))
                && shows(6, Value::Angle(made.rungs[0].edge_bevel))
        );
    }
}

/// Two stools whose sizes are on one side and on the other of what settles them.
#[test]
fn a_shape_settles_up_to_the_mark_and_says_what_lacks() {
    let floor =
        |top, floor| BaseSpec { leans: None, top_spread: Some(top), floor_spread: Some(floor), ..stool() };
    let words = "they stand 200 mm over their outsides on the floor and 260 mm under the top, 60 mm more";
    refused(&floor(spread(260, 240), spread(200, 240)), "floor_spread", words);
    // The height follows from whichever lean is the larger: 2 x 700 tan 8 = 196.757 and 2 x 700 tan 6 = 147.146.
    let follows = |front, side, width: f64, depth: f64| {
        let floor = Spread { width: Length::nearest_mm(width), depth: Length::nearest_mm(depth) };
        made(&BaseSpec {
            height: None,
            leans: Some(leans(front, side)),
            floor_spread: Some(floor),
            ..stool()
        })
        .height
        .to_mm()
    };
    for height in [follows(8.0, 0.0, 456.757, 240.0), follows(0.0, 6.0, 260.0, 387.146)] {
        assert!((height - 700.0).abs() < 0.01, "{height}");
    }
    // No height at all is none.
    let flat = BaseSpec { height: None, floor_spread: Some(spread(260, 240)), ..stool() };
    refused(&flat, "height", "does not follow");
    // Figures that are one mark apart agree.
    let apart = |um| BaseSpec {
        leans: Some(leans(0.0, 0.0)),
        floor_spread: Some(Spread { width: Length::from_um(um), depth: mm(240) }),
        ..stool()
    };
    assert!(base(&apart(260_500)).is_ok());
    refused(&apart(261_000), "floor_spread", "make it 260 mm, 1 mm less");
    // Two legs of 32 touch at 64: a mark more and they stand clear.
    for (width, depth, key, words) in [
        (
            60,
            240,
            "top_spread",
            "left and right legs run into each other under the top by 4.5 mm; give `top_spread` at least 64.5 mm",
        ),
        (64, 240, "top_spread", "under the top by 0.5 mm; give `top_spread` at least 64.5 mm"),
        (260, 50, "top_spread_depth", "under the top by 14.5 mm; give `top_spread_depth` at least 64.5 mm"),
    ] {
        refused(&BaseSpec { leans: None, top_spread: Some(spread(width, depth)), ..stool() }, key, words);
        let by_floor =
            BaseSpec { leans: None, top_spread: None, floor_spread: Some(spread(width, depth)), ..stool() };
        refused(&by_floor, &key.replace("top", "floor"), &words.replace("`top", "`floor"));
    }
    let clear = Spread { width: Length::from_um(64_500), depth: mm(240) };
    assert!(base(&BaseSpec { leans: None, top_spread: Some(clear), ..stool() }).is_ok());
    // Leaning both ways the top spread is wider than what was given for it, if it was given for the floor.
    let both = BaseSpec { top_spread: None, floor_spread: Some(spread(250, 387)), ..stool() };
    refused(&both, "floor_spread", "left and right legs run into each other");
    // The longest length and the coarsest mark that are taken.
    let keys = |shop| {
        base(&BaseSpec { shop, ..stool() }).err().into_iter().flatten().map(|r| r.key).collect::<Vec<_>>()
    };
    let allowance = |end_allowance| Shop { end_allowance, ..Shop::default() };
    assert!(keys(allowance(Length::LONGEST)).is_empty());
    assert_eq!(keys(allowance(Length::LONGEST + Length::from_nm(1))), ["end_allowance"]);
    assert!(keys(Shop { mark: mm(32), ..Shop::default() }).is_empty());
}

#[test]
fn rungs_at_the_edge_of_their_place() {
    let open = dowels(None, None, None);
    // The bottom edge may lie on the floor, and one rung upon another.
    assert!(base(&plumb(vec![of_section(32, 20, 32)], open)).is_ok());
    assert!(base(&plumb(vec![of_section(32, 20, 140), of_section(32, 20, 172)], open)).is_ok());
    // 260 - 64 = 196 mm long: at 104 the legs leave 40, twice the thickness, which is no rung.
    let between = |width| BaseSpec {
        top_spread: Some(spread(width, 240)),
        ..plumb(vec![of_section(32, 20, 300)], open)
    };
    let words =
        "It would be only 40 mm long between the legs; it must be longer than twice its thickness, 40 mm.";
    refused(&between(104), "rungs[0].height", words);
    assert!(base(&between(105)).is_ok());
    // Legs that lean steeply both ways close in on a rung that stands in beyond them, until nothing is left.
    let steep = BaseSpec {
        leans: Some(leans(40.0, 40.0)),
        top_spread: Some(spread(111, 240)),
        ..plumb(vec![RungSpec { set_in: mm(10), ..of_section(20, 30, 700) }], open)
    };
    refused(&steep, "rungs[0].height", "There is no room for it between the legs, by");
    // Ripped from a stick of 32 + 20 tan 14 = 36.99 mm.
    let leaning =
        made(&BaseSpec { leans: Some(leans(0.0, 14.0)), ..plumb(vec![of_section(32, 20, 300)], open) });
    assert_eq!(leaning.rungs[0].rip_breadth, mm(37));
}

/// A front and a side rung meet only where both stand in beyond the leg: its inner faces are 32 mm behind the outer ones, and
/// rungs of 30 reach them when set in by 2.
#[test]
fn rungs_that_touch_inside_the_legs_do_not_meet() {
    let at = |front: i64, side: i64| {
        let rung = |pair, set_in| RungSpec {
            section: Section { width: mm(32), thickness: mm(30) },
            set_in: mm(set_in),
            ..rung(pair, 140)
        };
        let joint = Joint::Tenon { length: Some(mm(5)), thickness: Some(mm(6)) };
        let rungs = vec![rung(RungPair::FrontAndBack, front), rung(RungPair::LeftAndRight, side)];
        stripwright_splay::refused(&plumb(rungs, joint))
            .iter()
            .any(|refusal| refusal.message.contains("run into each other inside the legs"))
    };
    assert!(at(10, 10) && at(3, 3));
    assert!(!at(10, 2) && !at(2, 10) && !at(10, 0) && !at(0, 10));
}

/// What would do is named once each, the smallest change first, with the sides it is for.
#[test]
fn changes_that_would_do_are_the_least_ones_and_each_is_named_once() {
    let changes = |spec: &BaseSpec| {
        let refusals = base(spec).expect_err("a refusal");
        let all = refusals[0].changes.clone().expect("changes were looked for");
        all.into_iter().map(|c| (c.key, c.to.to_mm(), c.by.to_mm(), c.alone)).collect::<Vec<_>>()
    };
    let told = |key: &str, to: f64, by: f64, alone: bool| (key.to_string(), to, by, alone);
    // Two like rungs on all sides. Dowels of 48 mm meet unless they are as short or one of the rungs is moved alone. Of 30 mm each half needs 16.59 of
    // the leg: 28.5 need half a millimetre less each, thinner dowels or thinner rungs of all sides begin farther in.
    let met = |length| {
        let rungs = vec![rung(RungPair::FrontAndBack, 140), rung(RungPair::LeftAndRight, 140)];
        changes(&plumb(rungs, dowels(Some(8), Some(length), Some(2))))
    };
    let height = |to: f64| told("rungs[0].height", to, to - 140.0, true);
    assert_eq!(met(48.0), [told("joint.length", 28.5, -19.5, false), height(166.0), height(114.0)]);
    let shorter = told("joint.length", 28.5, -1.5, false);
    let (thinner, slimmer) =
        (told("joint.diameter", 6.5, -1.5, false), told("rungs[0].thickness", 18.0, -2.0, false));
    assert_eq!(met(30.0), [shorter, thinner, slimmer]);
    // One pair alone has no like.
    let high = plumb(vec![of_section(32, 20, 701)], dowels(None, None, None));
    assert_eq!(changes(&high), [told("rungs[0].height", 700.0, -1.0, false)]);
    // A like one that is as high is told of once, with its like.
    let like = plumb(
        vec![of_section(32, 20, 701), RungSpec { pair: RungPair::LeftAndRight, ..of_section(32, 20, 701) }],
        dowels(None, None, None),
    );
    assert_eq!(changes(&like), [told("rungs[0].height", 700.0, -1.0, false)]);
    // Dowels of 4 mm are the thinnest sold, and half of 8 mm. A rung of 4 is doubled for them, of 3 it is not.
    let thin = |thickness| plumb(vec![of_section(32, thickness, 300)], dowels(None, None, None));
    assert_eq!(changes(&thin(4)), [told("rungs[0].thickness", 8.0, 4.0, false)]);
    assert!(changes(&thin(3)).iter().all(|(key, ..)| key != "rungs[0].thickness"));
    // In a leg of 12 mm no rung can be doweled: 6 in, 1.59 of gap and 5 behind are 12.59.
    let leg = BaseSpec { leg: square(12), ..thin(8) };
    assert_eq!(changes(&leg), [told("leg", 13.0, 1.0, false)]);
}

#[test]
fn a_refusal_names_its_part_if_it_has_one() {
    let whole = &base(&BaseSpec { height: None, ..stool() }).unwrap_err()[0];
    assert!(whole.to_string().starts_with("`height`: The base has no height"), "{whole}");
    let part = &base(&plumb(vec![of_section(32, 20, 701)], dowels(None, None, None))).unwrap_err()[0];
    assert!(part.to_string().starts_with("`rungs[0].height`: front and back rung 1: Its top edge"), "{part}");
}

/// Cautions for tilted blades where either lean asks for one, for bevelled rips where there are any, and for short parts.
#[test]
fn cautions_are_given_where_the_work_is() {
    let about = |spec: &BaseSpec, word: &str| made(spec).cautions.iter().any(|c| c.operation.contains(word));
    let leaning = |front, side| BaseSpec { leans: Some(leans(front, side)), ..stool() };
    assert!(about(&leaning(0.0, 6.0), "tilted") && about(&leaning(6.0, 0.0), "tilted"));
    // Rungs of 196 mm and 2 x 15; at a spread of 339 the blank is 305 mm, which is short no more.
    let rungs = plumb(vec![of_section(32, 20, 300)], dowels(None, None, None));
    assert!(!about(&rungs, "tilted") && !about(&rungs, "bevelled") && about(&rungs, "short parts"));
    let wide = |width| BaseSpec { top_spread: Some(spread(width, 240)), ..rungs.clone() };
    assert!(about(&wide(338), "short parts") && !about(&wide(339), "short parts"));
    let told = |spec: &BaseSpec| made(spec).steps.sticks.iter().any(|s| s.contains("too short to rip"));
    assert!(told(&wide(338)) && !told(&wide(339)));
}

/// A rail 196 mm long with dowels of 10 in holes of 27: no. 8 screws (4.17 mm) keep 2 mm to those, so 133.8 mm are free for
/// screws 20.8 mm apart, one more than six spaces.
#[test]
fn as_many_screws_as_find_room_and_only_in_rails() {
    let rail = of_section(60, 20, 700);
    let plumb_with = |rungs, fixing| BaseSpec { leans: None, rungs, ..screwed(fixing) };
    let spec = |each| plumb_with(vec![rail], Fixing { each, ..FIXING });
    refused(
        &spec(8),
        "fixing.each",
        "133.8 mm are free, and screws stand at least 20.8 mm apart; give `each` at most 7",
    );
    assert_eq!(made(&spec(7)).fixings.expect("screws").count, 14);
    // Two stand a quarter of the rail from its ends, three a sixth of 196 mm if a cleat has no dowels.
    let along = |spec: &BaseSpec| made(spec).fixings.expect("screws").rows[0].along.clone();
    assert_eq!(along(&spec(2)), [mm(49)]);
    let cleats = Fixing { through: Some(mm(25)), sunk: mm(3), each: 3, ..FIXING };
    assert_eq!(along(&plumb_with(Vec::new(), cleats)), [Length::ZERO, Length::from_um(65_500)]);
    // A rung below is no rail, nor is one that lacks a mark of the top.
    let lower = plumb_with(vec![rail, of_section(32, 20, 200)], FIXING);
    assert_eq!(made(&lower).fixings.expect("screws").count, 4);
    let almost = RungSpec { height: Length::from_um(699_500), ..rail };
    refused(&plumb_with(vec![almost], FIXING), "fixing.through", "Nothing reaches the top");
    // In a rail of 60 mm, with marks of 2 mm, the holes are 26 deep: 30 - 26 is less than the 4.4 for half a no. 10 and its wall.
    let shop = Shop { mark: mm(2), ..Shop::default() };
    let short = BaseSpec {
        top_spread: Some(spread(124, 240)),
        shop,
        ..plumb_with(vec![rail], Fixing { each: 1, number: 10, ..FIXING })
    };
    refused(
        &short,
        "fixing.each",
        "between the joints in its ends none are free, and screws stand at least 24.1 mm apart; screw through cleats",
    );
}

/// Screws go in by more than two of their thicknesses, 8.33 mm for no. 8, and by four hold well.
#[test]
fn screws_that_would_hold_are_found_mark_by_mark() {
    let spec = |sunk, cover| screwed(Fixing { sunk: mm(sunk), cover: mm(cover), ..FIXING });
    // Through 38 mm, with 10 mm of the top: 45 goes in by 7 only. Sunk 1.5 deeper it goes in by 8.5; 2 mm more of the top take 50.
    let words = "It would do with `sunk` of 23.5 mm (1.5 mm more) or a top of 34 mm (2 mm more).";
    refused(&spec(22, 22), "fixing", words);
    // Through 37 with 11, half a millimetre does.
    refused(&spec(23, 21), "fixing", "It would do with `sunk` of 23.5 mm (0.5 mm more) or");
    // Through 16 with 8.85, 20 holds once they are sunk to 11.5: 8.5 mm.
    let far = screwed(Fixing { sunk: mm(44), cover: Length::from_um(23_200), ..FIXING });
    refused(&far, "fixing", "It would do with `sunk` of 48.5 mm (4.5 mm more) or");
    // Heads are sunk no deeper than leaves 6 mm: through 6.5 with 9 of the top 5/8 in finds no room, and 1/2 in, through less
    // than 4.4, is none to be told of.
    let inch = Shop { system: System::Inch, mark: Length::from_nm(793_750), ..Shop::default() };
    let shallow = screwed(Fixing { sunk: Length::from_um(53_500), cover: Length::from_um(23_050), ..FIXING });
    let said = base(&BaseSpec { shop: inch, ..shallow }).unwrap_err()[0].message.clone();
    assert!(said.contains("It would do with a top of") && !said.contains("`sunk` of"), "{said}");
    // With 8 mm of the top no depth does: 45 would have to go in by more than 8.3 and by less than 8.04.
    refused(
        &spec(22, 24),
        "fixing",
        "and it must go in more than 8.3 mm. It would do with a top of 36 mm (4 mm more).",
    );
    let weak = |spec: &BaseSpec| made(spec).warnings.iter().find(|w| w.contains("they hold little")).cloned();
    assert_eq!(weak(&screwed(FIXING)), None);
    // 45 through 33 mm.
    let warned = weak(&spec(27, 20)).expect("a warning");
    assert!(warned.contains("go only 12 mm into the top; that is under four times"), "{warned}");
}

/// Tops whose edges slant or whose corners lie on the centre lines: where the rim is, and which legs are under it.
#[test]
fn slanted_tops_and_corners_on_the_centre_lines() {
    let over = |corners: &[[i64; 2]]| {
        let corners = corners.iter().map(|c| c.map(mm)).collect();
        let top = TopSpec { outline: Some(Outline::Free { corners }), ..seat() };
        made(&BaseSpec { top: Some(top), ..stool() }).centring.expect("an outline")
    };
    // Legs at 130 and 120 reach under a square standing on its corner when 130 + 120 is less than half its diagonal.
    let diamond = |half: i64| over(&[[-half, 0], [0, -half], [half, 0], [0, half]]);
    let roomy = diamond(300);
    assert_eq!((roomy.rims, roomy.under), ([mm(170), mm(170), mm(180), mm(180)], true));
    assert_eq!(diamond(249).out.len(), 4);
    // Sides from 200 at the front to b at the back: at 120 behind the centre they are at 200 - 0.8 (200 - b).
    use stripwright_splay::LegPlace::{BackLeft, BackRight, FrontLeft, FrontRight};
    let tapered = |b: i64| over(&[[-200, -200], [200, -200], [b, 200], [-b, 200]]).out;
    assert_eq!((tapered(115), tapered(110)), (vec![], vec![BackLeft, BackRight]));
    let widening = |b: i64| over(&[[-b, -200], [b, -200], [200, 200], [-200, 200]]).out;
    assert_eq!((widening(115), widening(110)), (vec![], vec![FrontLeft, FrontRight]));
    // Corners just as far back and forward as the legs' corners.
    let level = over(&[[-300, -120], [0, -300], [300, -120], [300, 120], [0, 300], [-300, 120]]);
    assert!(level.under, "{:?}", level.out);
}

/// Steps say what this base needs and nothing of what it has not.
#[test]
fn steps_fit_the_base() {
    let said = |steps: &[String], words: &str| steps.iter().any(|step| step.contains(words));
    // Square cuts need no second way of cutting and no rounding; either lean does.
    let legs = |front, side| made(&BaseSpec { leans: Some(leans(front, side)), ..stool() }).steps.legs;
    for (front, side) in [(6.0, 0.0), (0.0, 6.0), (6.0, 6.0)] {
        let legs = legs(front, side);
        assert!(said(&legs, "with the side face down") && said(&legs, "Rounding the settings"), "{legs:?}");
    }
    let square = legs(0.0, 0.0);
    assert!(
        !said(&square, "with the side face down")
            && !said(&square, "Rounding")
            && said(&square, "saw square; blade upright")
    );
    // One dowel has no order.
    let rungs =
        |count| made(&plumb(vec![of_section(32, 20, 300)], dowels(None, None, Some(count)))).steps.rungs;
    assert!(
        said(&rungs(1), "1 dowel of") && !said(&rungs(1), "lowest first") && said(&rungs(2), "lowest first")
    );
    // Gluing goes by the sides that have rungs.
    let front = rung(RungPair::FrontAndBack, 140);
    let side = rung(RungPair::LeftAndRight, 300);
    let glued = |rungs| made(&BaseSpec { rungs, ..stool() }).steps.assembly;
    assert!(said(&glued(vec![front]), "Glue front and back, flat on the bench."));
    assert!(said(&glued(vec![side]), "Glue the two sides, flat on the bench."));
    assert!(said(&glued(vec![front, side]), "Glue front and back first"));
    assert!(glued(Vec::new()).is_empty());
    // Parts of the work without anything to do are left out.
    let titles = |spec: &BaseSpec| made(spec).steps.parts().map(|(title, _)| title).collect::<Vec<_>>();
    assert_eq!(
        titles(&screwed(FIXING)),
        ["Sticks", "Legs", "Rungs and joints", "Gluing up", "Under the top"]
    );
    assert_eq!(titles(&stool()), ["Sticks", "Legs"]);
    // One screw is in the middle of its rail, two beside it, three both.
    let screws = |each| made(&screwed(Fixing { each, ..FIXING })).steps.fixing;
    assert!(said(&screws(1), "from the centre: in the middle."));
    assert!(said(&screws(2), "to either side of the middle."));
    assert!(said(&screws(3), "in the middle and ") && said(&screws(3), " to either side of it."));
    // A rim that lies as far in at the left as at the right, but not so at front and back, is told side by side.
    let tapered = [[-260, -180], [260, -180], [180, 200], [-180, 200]].map(|c: [i64; 2]| c.map(mm)).to_vec();
    let top = TopSpec { outline: Some(Outline::Free { corners: tapered }), ..seat() };
    let fixing = made(&BaseSpec { top: Some(top), ..stool() }).steps.fixing;
    assert!(
        said(&fixing, "92 mm at the left, 92 mm at the right, 60 mm at the front, 80 mm at the back"),
        "{fixing:?}"
    );
}

#[test]
fn the_same_spec_gives_the_same_answer() {
    let spec = screwed(FIXING);
    assert_eq!(made(&spec), made(&spec));
}

#[test]
fn cautions_fit_the_work_and_defer() {
    let cautions = made(&screwed(FIXING)).cautions;
    assert!(cautions[0].text.contains("local codes") && cautions[0].text.contains("own instructions"));
    for word in ["tilted", "bevelled", "short parts", "drilling", "sits on it"] {
        assert_eq!(cautions.iter().filter(|c| c.operation.contains(word)).count(), 1, "{word}");
    }
}

fn length() -> impl Strategy<Value = Length> {
    prop_oneof![
        4 => (1i64..2_000_000).prop_map(Length::from_um),
        1 => Just(Length::ZERO),
        1 => (-1_000_000_000_000i64..1_000_000_000_000).prop_map(Length::from_nm),
        1 => prop::sample::select(vec![i64::MIN / 8, i64::MAX / 8, 1]).prop_map(Length::from_nm),
    ]
}

fn angle() -> impl Strategy<Value = Angle> {
    prop_oneof![4 => 0.0..45.0f64, 1 => prop::num::f64::ANY].prop_map(Angle::degrees)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 2000, ..ProptestConfig::default() })]

    /// Nonsense is refused in words; it never panics, hangs or overflows.
    #[test]
    fn nothing_that_can_be_asked_breaks_it(
        lengths in prop::collection::vec(length(), 20),
        angles in prop::collection::vec(angle(), 3),
        given in prop::collection::vec(any::<bool>(), 10),
        number in 0u32..20,
    ) {
        let section = |n: usize| Section { width: lengths[n], thickness: lengths[n + 1] };
        let some = |n: usize, value: Spread| given[n].then_some(value);
        let both = |n: usize| Spread { width: lengths[n], depth: lengths[n + 1] };
        let rung = RungSpec {
            pair: if given[0] { RungPair::FrontAndBack } else { RungPair::LeftAndRight },
            height: lengths[2],
            section: section(3),
            set_in: lengths[5],
            stance: if given[1] { Stance::Plumb } else { Stance::InPlane },
            edges: if given[2] { Edges::Square } else { Edges::Level },
        };
        let spec = BaseSpec {
            count: number,
            height: given[3].then_some(if given[4] { Height::Seat(lengths[0]) } else { Height::Underside(lengths[0]) }),
            leans: given[5].then_some(Leans { front: angles[0], side: angles[1] }),
            top_spread: some(6, both(6)),
            floor_spread: some(7, both(8)),
            rungs: vec![rung, RungSpec { pair: RungPair::LeftAndRight, height: lengths[10], ..rung }],
            joint: if given[8] {
                Joint::Dowels { diameter: given[0].then_some(lengths[11]), length: given[1].then_some(lengths[12]), count: given[2].then_some(number) }
            } else {
                Joint::Tenon { length: given[0].then_some(lengths[11]), thickness: given[1].then_some(lengths[12]) }
            },
            top: given[9].then_some(TopSpec {
                thickness: lengths[13],
                outline: Some(Outline::Oval { width: lengths[14], depth: lengths[15] }),
                density: angles[2].to_degrees(),
            }),
            fixing: given[0].then_some(Fixing { sunk: lengths[16], through: given[3].then_some(lengths[17]), number, ..FIXING }),
            shop: Shop { mark: lengths[18], kerf: lengths[19], ..Shop::default() },
            ..BaseSpec::new("any", section(1))
        };
        if let Err(refusals) = base(&spec) {
            prop_assert!(refusals.iter().all(|r: &Refusal| !r.key.is_empty() && r.message.ends_with('.')));
        }
    }
}
