//! Drawings read as a maker reads them: every figure is what its line spans, every angle stands between two lines that
//! are drawn, dimension lines stay out of the piece and out of each other, and every part is where its name says.

use stripwright_splay::view::{Dimension, Point, Value};
use stripwright_splay::{
    Base, BaseSpec, Edges, Fixing, Height, Joint, Leans, Outline, RungPair, RungSpec, Section, Shop, Spread,
    Stance, TopSpec, View, Wood, base,
};
use stripwright_units::{Angle, Length, System, trig};

fn mm(n: i64) -> Length {
    Length::from_mm(n)
}

fn stool(a: f64, b: f64) -> BaseSpec {
    BaseSpec {
        height: Some(Height::Underside(mm(700))),
        leans: Some(Leans { front: Angle::degrees(a), side: Angle::degrees(b) }),
        top_spread: Some(Spread { width: mm(260), depth: mm(240) }),
        ..BaseSpec::new("stool", Section { width: mm(40), thickness: mm(32) })
    }
}

fn rung(pair: RungPair, height: i64) -> RungSpec {
    RungSpec::usual(pair, mm(height), Section { width: mm(40), thickness: mm(32) }, Length::from_um(500))
}

fn rails() -> Vec<RungSpec> {
    let section = Section { width: mm(60), thickness: mm(20) };
    let rail = |pair| RungSpec { section, ..rung(pair, 700) };
    vec![rail(RungPair::FrontAndBack), rung(RungPair::LeftAndRight, 180), rung(RungPair::LeftAndRight, 330)]
}

fn top(outline: Outline) -> Option<TopSpec> {
    Some(TopSpec { thickness: mm(32), outline: Some(outline), density: 700.0 })
}

const FIXING: Fixing = Fixing {
    through: None,
    sunk: Length::from_mm(20),
    number: 8,
    each: 3,
    wood: Wood::Hard,
    cover: Length::from_mm(6),
};

fn made(spec: &BaseSpec) -> Base {
    base(spec).unwrap_or_else(|refusals| panic!("{refusals:#?}"))
}

/// Stools of all kinds: screwed on through one pair of rails and through two in either order, with tenons, plumb and askew rungs, wide and narrow tops, without anything, in inches.
fn stools() -> Vec<Base> {
    let tenon = Joint::Tenon { length: None, thickness: None };
    let askew = RungSpec { stance: Stance::Plumb, edges: Edges::Square, ..rung(RungPair::FrontAndBack, 200) };
    let section = Section { width: mm(60), thickness: mm(20) };
    let broad = RungSpec { section, ..askew };
    let three = Joint::Dowels { diameter: Some(mm(6)), length: None, count: Some(3) };
    let square = RungSpec { edges: Edges::Square, ..rung(RungPair::LeftAndRight, 450) };
    let free = [[-250, -130], [150, -130], [150, 100], [80, 170], [-250, 170]].map(|c: [i64; 2]| c.map(mm));
    let side_rails = vec![RungSpec { pair: RungPair::LeftAndRight, ..rails()[0] }];
    let inch = Shop { system: System::Inch, mark: Length::from_nm(793_750), ..Shop::default() };
    [
        BaseSpec {
            rungs: rails(),
            top: top(Outline::Round { diameter: mm(360) }),
            fixing: Some(FIXING),
            ..stool(12.0, 6.0)
        },
        BaseSpec {
            rungs: vec![rails()[0], RungSpec { pair: RungPair::LeftAndRight, ..rails()[0] }],
            joint: Joint::Tenon { length: Some(mm(8)), thickness: Some(mm(6)) },
            top: top(Outline::Round { diameter: mm(360) }),
            fixing: Some(Fixing { each: 5, ..FIXING }),
            ..stool(3.0, 4.0)
        },
        BaseSpec {
            rungs: vec![RungSpec { pair: RungPair::LeftAndRight, ..rails()[0] }, rails()[0]],
            joint: Joint::Tenon { length: Some(mm(8)), thickness: Some(mm(6)) },
            top: top(Outline::Round { diameter: mm(360) }),
            fixing: Some(Fixing { each: 5, ..FIXING }),
            ..stool(3.0, 4.0)
        },
        BaseSpec { rungs: vec![broad], joint: three, ..stool(4.0, 14.0) },
        BaseSpec {
            rungs: side_rails,
            top: top(Outline::Rectangle { width: mm(420), depth: mm(300) }),
            fixing: Some(Fixing { each: 2, ..FIXING }),
            ..stool(5.0, 14.0)
        },
        BaseSpec {
            rungs: vec![askew, rung(RungPair::LeftAndRight, 40), square],
            joint: tenon,
            top: top(Outline::Free { corners: free.to_vec() }),
            ..stool(6.0, 14.0)
        },
        BaseSpec {
            rungs: vec![askew],
            top: top(Outline::Oval { width: mm(700), depth: mm(200) }),
            ..stool(14.0, 3.0)
        },
        BaseSpec { rungs: rails(), shop: inch, ..stool(8.0, 8.0) },
        BaseSpec { rungs: vec![rung(RungPair::FrontAndBack, 300)], ..stool(0.0, 0.0) },
        stool(9.0, 0.0),
        BaseSpec { height: Some(Height::Underside(mm(250))), ..stool(0.0, 9.0) },
    ]
    .iter()
    .map(made)
    .collect()
}

fn apart(a: Point, b: Point) -> f64 {
    trig::hypot(a.x - b.x, a.y - b.y)
}

/// Whether a point is on a line of the drawing.
fn is_drawn(view: &View, point: Point) -> bool {
    let on = |(p, q): (Point, Point)| (apart(p, point) + apart(point, q) - apart(p, q)).abs() < 1e-6;
    view.outlines.iter().any(|line| {
        let closing = line.closed.then(|| (line.points[line.points.len() - 1], line.points[0]));
        line.points.windows(2).map(|w| (w[0], w[1])).chain(closing).any(on)
    })
}

/// How a dimension's line runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Runs {
    Level,
    Plumb,
    /// From point to point through the piece.
    Along,
}

fn runs(dimension: &Dimension) -> Runs {
    let [a, b] = [dimension.line[0], dimension.line[1]];
    let [p, q] = dimension.from;
    if (a, b) == (p, q) {
        Runs::Along
    } else if a.y == b.y && a.x == p.x && b.x == q.x {
        Runs::Level
    } else {
        assert!(a.x == b.x && a.y == p.y && b.y == q.y, "askew to what it measures: {dimension:?}");
        Runs::Plumb
    }
}

fn length(dimension: &Dimension) -> Option<f64> {
    match dimension.value {
        Value::Length(length) => Some(length.to_mm()),
        Value::Angle(_) => None,
    }
}

fn lengths(view: &View) -> impl Iterator<Item = (&Dimension, f64)> {
    view.dimensions.iter().filter_map(|d| length(d).map(|length| (d, length)))
}

/// What is printed is what the line spans: to the mark, or up to one mark more where a length is never to be short. A drawing
/// that says it is shortened lacks one and the same length everywhere along the leg.
#[test]
fn every_figure_is_what_its_line_spans() {
    for made in stools() {
        let mark = if made.legs.length.nm() % 793_750 == 0 { 0.793_75 } else { 0.5 };
        for view in &made.views {
            let shortened = view.notes.iter().any(|note| note.text == "shortened");
            let mut left_out: Vec<f64> = Vec::new();
            for (d, value) in lengths(view) {
                let span = apart(d.line[0], d.line[1]);
                let lacks = value - span;
                let along_leg =
                    ["along every arris", "blank", "up from the foot"].contains(&d.label.as_str());
                if shortened && along_leg {
                    left_out.push(lacks);
                } else {
                    assert!((-mark / 2.0 - 1e-6..mark).contains(&lacks), "{}: {span} mm in {d:?}", view.name);
                }
                if runs(d) == Runs::Along {
                    assert!(d.from.iter().all(|end| is_drawn(view, *end)), "{}: {d:?}", view.name);
                }
                let middle = [(d.line[0].x + d.line[1].x) / 2.0, (d.line[0].y + d.line[1].y) / 2.0];
                assert!((d.text_at.x - middle[0]).abs() < 1e-9 && (d.text_at.y - middle[1]).abs() < 1e-9);
            }
            let ends = [f64::INFINITY, f64::NEG_INFINITY];
            let [least, most] = left_out.iter().fold(ends, |[low, high], x| [low.min(*x), high.max(*x)]);
            assert!(left_out.is_empty() || (least > mark && most - least <= 1.5 * mark), "{left_out:?}");
        }
    }
}

/// From one of the piece's corners, between two lines that are drawn, and as wide as it says; the figure is beyond the arc.
#[test]
fn every_angle_stands_between_two_lines_that_are_drawn() {
    let mut seen = Vec::new();
    for made in stools() {
        for view in &made.views {
            for d in view.dimensions.iter().filter(|d| length(d).is_none()) {
                let Value::Angle(angle) = d.value else { unreachable!("no length") };
                if angle == Angle::degrees(0.0) {
                    // A square cut on a leg is told as such, and there is no arc.
                    assert!(view.name == "leg" && d.from[0] == d.from[1]);
                    continue;
                }
                let (a, m, b) = (d.line[0], d.line[4], d.line[8]);
                assert!(d.from == [a, b] && d.line.len() == 9);
                // The corner is a point of the drawing as far from all of the arc, and the arc is as wide as is said.
                let turn = |v: Point| {
                    let way = |p: Point| Angle::radians(trig::atan2(p.y - v.y, p.x - v.x)).to_degrees();
                    (way(b) - way(a)).rem_euclid(360.0)
                };
                let wide = |v: Point| turn(v).min(360.0 - turn(v));
                let is_corner = |v: &&Point| {
                    let even = d.line.iter().all(|p| (apart(*p, **v) - apart(a, **v)).abs() < 1e-6);
                    even && apart(a, **v) > 1.0 && (wide(**v) - angle.to_degrees()).abs() < 1e-6
                };
                let mut corners = view.outlines.iter().flat_map(|line| &line.points);
                let corner = *corners.find(is_corner).unwrap_or_else(|| panic!("{}: {d:?}", view.name));
                let radius = apart(a, corner);
                for end in [a, b] {
                    assert!(is_drawn(view, end), "{}: nothing is drawn at {end:?} of {d:?}", view.name);
                }
                let out = apart(d.text_at, corner) / radius;
                assert!(out > 1.1 && out < 1.5, "the figure is beyond the arc: {d:?}");
                let beside = (apart(d.text_at, a) - apart(d.text_at, b)).abs();
                assert!(beside < 1e-6 && apart(d.text_at, m) < apart(d.text_at, a), "midway: {d:?}");
                seen.push(format!(
                    "{} {}",
                    view.name.trim_end_matches(|c: char| c.is_ascii_digit()),
                    d.label
                ));
            }
        }
    }
    for wanted in
        ["front lean", "side lean", "leg foot", "leg top end", "rung- from square", "rung- edge bevel"]
    {
        assert!(seen.iter().any(|s| s == wanted), "no {wanted} among {seen:?}");
    }
}

/// Legs that stand plumb have no lean, and square ends no line to measure a turn from.
#[test]
fn what_is_square_is_given_no_lines_to_measure_from() {
    let angles = |made: &Base, name: &str| {
        let view = made.views.iter().find(|view| view.name == name).expect("a view");
        view.dimensions
            .iter()
            .filter(|d| length(d).is_none() && d.value != Value::Angle(Angle::degrees(0.0)))
            .count()
    };
    let guides = |made: &Base, name: &str| {
        let view = made.views.iter().find(|view| view.name == name).expect("a view");
        let guide = |part: &str| ["square line", "plumb line", "cut"].contains(&part);
        view.outlines.iter().filter(|line| guide(&line.part)).count()
    };
    let views = ["front", "side", "leg", "rung-1"];
    let with = |a, b| made(&BaseSpec { rungs: vec![rung(RungPair::FrontAndBack, 300)], ..stool(a, b) });
    let plumb = with(0.0, 0.0);
    assert_eq!(views.map(|view| (angles(&plumb, view), guides(&plumb, view))), [(0, 0); 4]);
    // Both leans: one in each elevation, two at each end of the leg with two lines each, and of the rung its face, edge and bevel.
    let both = with(8.0, 6.0);
    assert_eq!(
        views.map(|view| (angles(&both, view), guides(&both, view))),
        [(1, 1), (1, 1), (4, 8), (3, 3)]
    );
    // Leaning to the sides only, the plane face is cut askew and the side face square; the rung's edges stay square.
    let sides = with(8.0, 0.0);
    assert_eq!(
        views.map(|view| (angles(&sides, view), guides(&sides, view))),
        [(1, 1), (0, 0), (2, 4), (1, 1)]
    );
    let front = with(0.0, 8.0);
    assert_eq!(
        views.map(|view| (angles(&front, view), guides(&front, view))),
        [(0, 0), (1, 1), (2, 4), (1, 1)]
    );
}

/// [left, low, right, high] of points.
fn bounds(points: &[Point]) -> [f64; 4] {
    points
        .iter()
        .fold([f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY], |[l, b, r, t], p| {
            [l.min(p.x), b.min(p.y), r.max(p.x), t.max(p.y)]
        })
}

/// Lines of dimensions stand beside the piece and beside each other with room for a figure, and not so far off that the eye
/// loses them: 7 mm are a line of print at the scale a rung is drawn at.
#[test]
fn dimension_lines_keep_out_of_the_piece_and_apart() {
    const ROOM: f64 = 7.0;
    for made in stools() {
        for view in &made.views {
            let closed = view.outlines.iter().filter(|line| line.closed);
            let pieces: Vec<[f64; 4]> = closed.map(|line| bounds(&line.points)).collect();
            let all: Vec<Point> = view.outlines.iter().flat_map(|line| line.points.clone()).collect();
            let [left, low, right, high] = bounds(&all);
            let size = (right - left).max(high - low);
            let beside: Vec<(&Dimension, Runs)> =
                lengths(view).map(|(d, _)| (d, runs(d))).filter(|(_, runs)| *runs != Runs::Along).collect();
            for (n, (d, way)) in beside.iter().enumerate() {
                let [l, b, r, t] = bounds(&d.line);
                for piece in &pieces {
                    let gap = (piece[0] - r).max(l - piece[2]).max(piece[1] - t).max(b - piece[3]);
                    assert!(gap > ROOM, "{}: {gap} mm from {piece:?} to {d:?}", view.name);
                }
                let far = match way {
                    Runs::Level => (low - b).max(b - high),
                    _ => (left - l).max(l - right),
                };
                assert!(far < size * 0.5, "{}: {far} mm off {size} mm, {d:?}", view.name);
                for (other, _) in beside[..n].iter().filter(|(_, other)| other == way) {
                    let [ol, ob, or, ot] = bounds(&other.line);
                    let (across, along) = match way {
                        Runs::Level => ((b - ob).abs(), r.min(or) - l.max(ol)),
                        _ => ((l - ol).abs(), t.min(ot) - b.max(ob)),
                    };
                    // End to end on one line they may stand.
                    assert!(across > ROOM || along < 1e-9, "{}: {d:?} on {other:?}", view.name);
                }
            }
        }
    }
}

/// In elevation every line goes somewhere, and a base without a top has no upper face to be measured to. From above a plumb
/// leg's arrises are points.
#[test]
fn nothing_is_drawn_of_what_is_not_there() {
    for made in stools() {
        for view in made.views.iter().filter(|view| view.name != "plan") {
            for line in &view.outlines {
                let goes = line.points.windows(2).all(|two| apart(two[0], two[1]) > 1e-9);
                assert!(goes, "{}: {line:?}", view.name);
            }
        }
    }
    let faces =
        |made: &Base| made.views[0].dimensions.iter().filter(|d| d.label == "to the upper face").count();
    let topped = BaseSpec { top: top(Outline::Round { diameter: mm(360) }), ..stool(8.0, 6.0) };
    assert_eq!((faces(&made(&stool(8.0, 6.0))), faces(&made(&topped))), (0, 1));
}

fn lines<'a>(view: &'a View, part: &str) -> Vec<&'a [Point]> {
    view.outlines.iter().filter(|line| line.part == part).map(|line| line.points.as_slice()).collect()
}

fn named<'a>(made: &'a Base, name: &str) -> &'a View {
    made.views.iter().find(|view| view.name == name).expect("a view")
}

/// Centre lines go through the middle and stand out beyond the piece on both sides; the floor reaches beyond the feet, the top
/// lies on the legs, as thick and as wide as it is; dimensions are led out on their own side of the middle.
#[test]
fn views_are_drawn_about_the_middle() {
    for made in stools() {
        let [x, y] = [made.floor_spread.width.to_mm() / 2.0, made.floor_spread.depth.to_mm() / 2.0];
        let high = made.height.to_mm();
        for (name, foot) in [("front", x), ("side", y)] {
            let view = named(&made, name);
            let [centre] = lines(view, "centre line")[..] else { panic!("one centre line") };
            assert!(centre.iter().all(|p| p.x == 0.0) && centre[0].y < -5.0 && centre[1].y > high + 5.0);
            assert!((centre[0].y + centre[1].y - high).abs() < 1e-6, "as far below as above: {centre:?}");
            let [floor] = lines(view, "floor")[..] else { panic!("one floor") };
            assert!(floor.iter().all(|p| p.y == 0.0) && floor[0].x == -floor[1].x && floor[1].x > foot + 5.0);
            for seat in lines(view, "top") {
                let [left, low, right, top] = bounds(seat);
                assert!(
                    left == -right && (low - high).abs() < 1e-3 && (top - low - 32.0).abs() < 1e-9,
                    "{seat:?}"
                );
                assert!(floor[1].x > right + 5.0);
            }
        }
        for name in ["plan", "underside"] {
            let Some(view) = made.views.iter().find(|view| view.name == name) else { continue };
            let closed = view.outlines.iter().filter(|line| line.closed);
            let shapes: Vec<Point> = closed.flat_map(|line| line.points.clone()).collect();
            let [left, low, right, top] = bounds(&shapes);
            let [across, along] = lines(view, "centre line")[..] else { panic!("two centre lines") };
            assert!(
                across.iter().all(|p| p.y == 0.0) && along.iter().all(|p| p.x == 0.0),
                "{across:?} {along:?}"
            );
            assert!(across[0].x == -across[1].x && across[1].x > right.max(-left) + 5.0, "{across:?}");
            assert!(along[0].y == -along[1].y && along[1].y > top.max(-low) + 5.0, "{along:?}");
        }
        for view in
            made.views.iter().filter(|v| ["front", "side", "plan", "underside"].contains(&v.name.as_str()))
        {
            // Screws are told at whichever of their places comes first.
            for (d, _) in lengths(view).filter(|(d, _)| d.label != "screw") {
                for (from, to) in d.from.iter().zip(&d.line) {
                    let level = from.y == to.y;
                    let same = if level { from.x * to.x } else { from.y * to.y };
                    let upright = ["front", "side"].contains(&view.name.as_str()) && !level;
                    assert!(upright || same >= 0.0, "{}: led across the middle: {d:?}", view.name);
                }
            }
        }
    }
}

/// On each leg an arrow on the plane face points to the top end, and a bar crosses the side face near it.
#[test]
fn marks_stand_on_their_faces() {
    for made in stools() {
        for name in ["leg", "marking"] {
            let view = named(&made, name);
            let (planes, sides) = (lines(view, "plane face"), lines(view, "side face"));
            let (arrows, bars) = (lines(view, "arrow"), lines(view, "bar"));
            assert_eq!((arrows.len(), bars.len()), (2 * planes.len(), sides.len()));
            for (n, plane) in planes.iter().enumerate() {
                let [left, low, right, high] = bounds(plane);
                let (shaft, head) = (arrows[2 * n], arrows[2 * n + 1]);
                let middle = (left + right) / 2.0;
                assert!(shaft[0].x == middle && shaft[1].x == middle && shaft[1] == head[1]);
                // Its tip is above its tail and above both ends of its head, which lie to both sides of it.
                assert!(
                    low < shaft[0].y && shaft[0].y < head[0].y && head[0].y < shaft[1].y && shaft[1].y < high
                );
                assert!(head[0].y == head[2].y && (head[0].x + head[2].x - 2.0 * middle).abs() < 1e-9);
                assert!(
                    (head[0].x - middle).abs() > 3.0 && bounds(head)[0] > left && bounds(head)[2] < right
                );
                let [side_left, _, side_right, side_high] = bounds(sides[n]);
                let [from, bar, to, _] = bounds(bars[n]);
                assert!((from - side_left).abs() < 1e-9 && (to - side_right).abs() < 1e-9, "right across");
                assert!(
                    bars[n][0].y == bars[n][1].y && bar < side_high && bar > (low + high) / 2.0,
                    "near the top end"
                );
            }
            for (words, faces) in [("plane face", &planes), ("side face", &sides)] {
                let note = view.notes.iter().find(|note| note.text == words).expect("it is named");
                let [left, _, right, _] = bounds(faces[0]);
                assert!(left < note.at.x && note.at.x < right, "{words} at its face");
            }
        }
    }
}

/// A long leg is drawn with a break, so that its ends are seen: nine times as long as it is thick; the blank is as much longer than
/// the leg at the one end as at the other.
#[test]
fn a_long_leg_is_drawn_shortened_between_its_ends() {
    let long = named(&made(&stool(8.0, 6.0)), "leg").clone();
    let short = BaseSpec { height: Some(Height::Underside(mm(300))), ..stool(8.0, 6.0) };
    let short = named(&made(&short), "leg").clone();
    let said = |view: &View| view.notes.iter().any(|note| note.text == "shortened");
    assert!(said(&long) && !said(&short) && lines(&short, "break").is_empty());
    for view in [&long, &short] {
        let faces = [lines(view, "plane face")[0], lines(view, "side face")[0]].concat();
        let [_, low, _, high] = bounds(&faces);
        let plane = lines(view, "plane face")[0];
        let along = apart(plane[0], plane[3]);
        assert!(
            if said(view) { (along - 360.0).abs() < 1e-9 } else { along > 300.0 && along < 310.0 },
            "{along}"
        );
        for (blank, face) in lines(view, "blank").iter().zip(["plane face", "side face"]) {
            let [from, below, to, above] = bounds(blank);
            assert!(
                (low - below) > 14.9 && (above - high) > 14.9,
                "15 mm at each end: {blank:?} {low} {high}"
            );
            let [left, _, right, _] = bounds(lines(view, face)[0]);
            assert!(from == left && to == right, "the {face} lies in its blank: {blank:?}");
        }
    }
    let breaks = lines(&long, "break");
    assert_eq!(breaks.len(), 2);
    for (line, face) in breaks.iter().zip(["plane face", "side face"]) {
        let face = bounds(lines(&long, face)[0]);
        let [left, low, right, high] = bounds(line);
        assert!((left - face[0]).abs() < 1e-9 && (right - face[2]).abs() < 1e-9, "from arris to arris");
        assert!(
            low > face[1] && high < face[3] && high - low > 3.0 && high - low < 30.0,
            "a tooth within the leg"
        );
        // Up to one side of the middle and down to the other, as a break is drawn.
        let middle = (left + right) / 2.0;
        assert!(line[1].x < middle && line[2].x > middle && line[1].x > left && line[2].x < right);
        assert!((line[1].x + line[2].x - 2.0 * middle).abs() < 1e-9 && line[0].y == line[3].y);
        assert!((line[1].y + line[2].y - 2.0 * line[0].y).abs() < 1e-9);
    }
}

/// A rung is told from corner to corner, to check it by, and square through its thickness.
#[test]
fn diagonals_and_thicknesses_of_rungs_are_told() {
    for made in stools() {
        for (n, rung) in made.rungs.iter().enumerate() {
            let view = named(&made, &format!("rung-{}", n + 1));
            let along: Vec<f64> =
                lengths(view).filter(|(d, _)| runs(d) == Runs::Along).map(|(_, length)| length).collect();
            assert!((along[0] - rung.outer.diagonal_mm).abs() <= 0.4 && along.len() == 2, "{along:?}");
            assert_eq!(along[1], rung.section.thickness.to_mm());
        }
    }
}

/// The rim as it is: every point of an oval on the ellipse, a polygon's corners where they were given, mirrored from below.
#[test]
fn rims_are_drawn_as_they_are() {
    let with = |outline| made(&BaseSpec { top: top(outline), ..stool(6.0, 6.0) });
    let oval = with(Outline::Oval { width: mm(400), depth: mm(320) });
    for name in ["plan", "underside"] {
        let rim = lines(named(&oval, name), "top")[0];
        let on = |p: &Point| (p.x / 200.0) * (p.x / 200.0) + (p.y / 160.0) * (p.y / 160.0);
        assert!(rim.iter().all(|p| (on(p) - 1.0).abs() < 1e-9), "{name}");
        // Round to the eye, and once about.
        let longest = rim.windows(2).map(|two| apart(two[0], two[1])).fold(0.0, f64::max);
        assert!(longest < 12.0 && apart(rim[0], rim[rim.len() - 1]) < 12.0 && rim.len() < 200);
    }
    let corners = [[-250, -130], [150, -130], [150, 170], [-250, 170]].map(|c: [i64; 2]| c.map(mm)).to_vec();
    let free = with(Outline::Free { corners });
    let of = |made: &Base, view: &str| bounds(lines(named(made, view), "top")[0]);
    assert_eq!(of(&free, "plan"), [-250.0, -130.0, 150.0, 170.0]);
    assert_eq!(of(&free, "underside"), [-150.0, -130.0, 250.0, 170.0]);
    let rectangle = with(Outline::Rectangle { width: mm(400), depth: mm(300) });
    assert_eq!(of(&rectangle, "plan"), [-200.0, -150.0, 200.0, 150.0]);
}
