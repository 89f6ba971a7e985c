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

/// Stools of all kinds: screwed on through one pair of rails and through two, with tenons, plumb and askew rungs, wide and narrow tops, without anything, in inches.
fn stools() -> Vec<Base> {
    let tenon = Joint::Tenon { length: None, thickness: None };
    let askew = RungSpec { stance: Stance::Plumb, edges: Edges::Square, ..rung(RungPair::FrontAndBack, 200) };
    let section = Section { width: mm(110), thickness: mm(20) };
    let broad = RungSpec { section, ..askew };
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
        BaseSpec { rungs: vec![broad], ..stool(4.0, 14.0) },
        BaseSpec {
            rungs: side_rails,
            top: top(Outline::Rectangle { width: mm(420), depth: mm(300) }),
            fixing: Some(Fixing { each: 2, ..FIXING }),
            ..stool(5.0, 14.0)
        },
        BaseSpec {
            rungs: vec![askew, rung(RungPair::LeftAndRight, 40)],
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
    let helpers = |made: &Base, name: &str| {
        let view = made.views.iter().find(|view| view.name == name).expect("a view");
        let helper = |part: &str| ["square line", "plumb line", "cut"].contains(&part);
        view.outlines.iter().filter(|line| helper(&line.part)).count()
    };
    let views = ["front", "side", "leg", "rung-1"];
    let with = |a, b| made(&BaseSpec { rungs: vec![rung(RungPair::FrontAndBack, 300)], ..stool(a, b) });
    let plumb = with(0.0, 0.0);
    assert_eq!(views.map(|view| (angles(&plumb, view), helpers(&plumb, view))), [(0, 0); 4]);
    // Both leans: one in each elevation, two at each end of the leg with two lines each, and of the rung its face, edge and bevel.
    let both = with(8.0, 6.0);
    assert_eq!(
        views.map(|view| (angles(&both, view), helpers(&both, view))),
        [(1, 1), (1, 1), (4, 8), (3, 3)]
    );
    // Leaning to the sides only, the plane face is cut askew and the side face square; the rung's edges stay square.
    let sides = with(8.0, 0.0);
    assert_eq!(
        views.map(|view| (angles(&sides, view), helpers(&sides, view))),
        [(1, 1), (0, 0), (2, 4), (1, 1)]
    );
    let front = with(0.0, 8.0);
    assert_eq!(
        views.map(|view| (angles(&front, view), helpers(&front, view))),
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
                assert!(far < size * 0.4, "{}: {far} mm off {size} mm, {d:?}", view.name);
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
