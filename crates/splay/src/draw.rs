//! The views of a base, as plain geometry.

use stripwright_units::{Angle, Length};

use crate::bar::{Bar, Corner};
use crate::fixing::Fixings;
use crate::joint::{JointPlan, TenonPlan, place, shoulder, tenon_corners};
use crate::leg::{Hand, LegPlace, Legs};
use crate::rung::{Rung, RungPair};
use crate::shape::{Shape, to_mark};
use crate::sight::{Block, Stretch, clip, hull, stretches};
use crate::spec::{BaseSpec, Edges, Outline};
use crate::steps::capital;
use crate::vector::Vector;
use crate::view::{Paper, Role, View};

/// All views: front, side, plan, leg, marking, the top's underside, then each rung and its bores.
pub(crate) fn views(
    spec: &BaseSpec,
    shape: &Shape,
    legs: &Legs,
    rungs: &[(Rung, Bar)],
    joints: &[JointPlan],
    fixings: Option<&Fixings>,
) -> Vec<View> {
    let mut all = vec![
        elevation(spec, shape, rungs, RungPair::FrontAndBack),
        elevation(spec, shape, rungs, RungPair::LeftAndRight),
        plan(spec, shape, rungs),
        leg(spec, shape, legs),
        marking(spec, shape, legs),
    ];
    all.extend(
        spec.top.as_ref().and_then(|top| top.outline.as_ref()).map(|o| underside(spec, shape, o, fixings)),
    );
    for (n, placed) in rungs.iter().enumerate() {
        all.push(rung_view(spec, shape, n + 1, placed, &joints[n]));
        all.push(bores(spec, shape, legs, n + 1, placed, &joints[n]));
    }
    all
}

/// Front or side elevation: (x, z) from the front, or (y, z) from the right.
fn elevation(spec: &BaseSpec, shape: &Shape, rungs: &[(Rung, Bar)], seen: RungPair) -> View {
    let mark = spec.shop.mark;
    let (way, name, title) = match seen {
        RungPair::FrontAndBack => (0, "front", "Front elevation"),
        RungPair::LeftAndRight => (1, "side", "Side elevation, from the right"),
    };
    let mut paper = Paper::new(name, title, mark);
    let h = shape.h;
    let (top_half, floor_half) = (shape.half_at(h)[way], shape.half_at(0.0)[way]);
    let step = (h / 14.0).max(25.0);
    let (high, low) = (shape.section_at(LegPlace::BackRight, h), shape.section_at(LegPlace::BackRight, 0.0));
    for sign in [1.0, -1.0] {
        let at = |corner: usize| ([sign * high[corner][way], h], [sign * low[corner][way], 0.0]);
        // From the front the plane face is seen whole and, behind its inner arris, a strip of the inner side face;
        // from the side the side face alone.
        let (near, far) = if way == 0 { (1, 2) } else { (3, 3) };
        let (outer, inner, inmost) = (at(0), at(near), at(far));
        paper.shape(Role::Visible, "leg", &[outer.0, inner.0, inner.1, outer.1]);
        if way == 0 && inmost != inner {
            paper.run(Role::Visible, "leg", &[inner.0, inmost.0, inmost.1, inner.1]);
        }
    }
    for (rung, bar) in rungs {
        if bar.pair == seen {
            // Beside the centre line.
            let aside = bar.length(Corner::OuterTop) / 4.0;
            paper.note([aside, bar.top - bar.breadth * bar.lean.cos() / 2.0], &rung.name);
            let at = |corner: Corner, sign: f64| [sign * bar.length(corner) / 2.0, bar.corner(corner)[1]];
            let face = [
                at(Corner::OuterTop, 1.0),
                at(Corner::OuterBottom, 1.0),
                at(Corner::OuterBottom, -1.0),
                at(Corner::OuterTop, -1.0),
            ];
            paper.shape(Role::Visible, &rung.name, &face);
        } else {
            for sign in [1.0, -1.0] {
                let section = Corner::ROUND.map(|c| {
                    let [q, z] = bar.corner(c);
                    [sign * q, z]
                });
                paper.shape(Role::Hidden, &rung.name, &section);
            }
        }
    }
    let rim = spec
        .top
        .as_ref()
        .and_then(|t| t.outline.as_ref().map(|o| (o.sides()[way].to_mm() / 2.0, t.thickness.to_mm())));
    if let Some((rim, thick)) = rim {
        paper.shape(Role::Ghost, "top", &[[-rim, h], [rim, h], [rim, h + thick], [-rim, h + thick]]);
    }
    let wide = floor_half.max(top_half).max(rim.map_or(0.0, |(r, _)| r));
    paper.run(Role::Ghost, "floor", &[[-wide - step, 0.0], [wide + step, 0.0]]);
    paper.run(Role::Centre, "centre line", &[[0.0, -step / 2.0], [0.0, h + step / 2.0]]);
    let thick = rim.map_or(0.0, |(_, t)| t);
    paper.level_measured([-top_half, h], [top_half, h], h + thick + step, "top spread");
    paper.level_measured([-floor_half, 0.0], [floor_half, 0.0], -step, "floor spread");
    paper.plumb([-floor_half, 0.0], [-top_half, h], -wide - 2.0 * step, to_mark(h, mark), "height");
    if thick > 0.0 {
        let seat = to_mark(h + thick, mark);
        paper.plumb([-floor_half, 0.0], [-wide, h + thick], -wide - 3.0 * step, seat, "to the upper face");
    }
    for (n, (rung, bar)) in rungs.iter().filter(|(_, bar)| bar.pair == seen).enumerate() {
        let edge = bar.length(Corner::OuterTop) / 2.0;
        let x = wide + step * (1.0 + n as f64);
        paper.plumb([floor_half, 0.0], [edge, bar.top], x, rung.height, "to the top edge");
    }
    let lean = [shape.a, shape.b][way];
    if lean.to_degrees() > 0.0 {
        // From plumb below the leg's top outer corner, out to its arris.
        let down = [270.0, 270.0 + lean.to_degrees()];
        paper.run(Role::Centre, "plumb line", &[[top_half, h], [top_half, h * 0.55]]);
        paper.angle([top_half, h], down, h * 0.4, lean, "lean");
    }
    paper.done()
}

/// From above: feet, top ends and rungs.
fn plan(spec: &BaseSpec, shape: &Shape, rungs: &[(Rung, Bar)]) -> View {
    let mark = spec.shop.mark;
    let mut paper = Paper::new("plan", "Plan, front edge below", mark);
    from_above(&mut paper, shape, rungs);
    for leg in LegPlace::ALL {
        paper.note(beyond_corner(shape, leg, 0.0), leg.letters());
    }
    let feet = shape.half_at(0.0);
    let mut reach = feet;
    if let Some(outline) = spec.top.as_ref().and_then(|top| top.outline.as_ref()) {
        let half = outline.sides().map(|l| l.to_mm() / 2.0);
        paper.shape(Role::Ghost, "top", &rim(outline, half));
        reach = [reach[0].max(half[0]), reach[1].max(half[1])];
    }
    let [x, y] = shape.half;
    let step = (reach[0] / 6.0).max(20.0);
    for way in [[1.0, 0.0], [0.0, 1.0]] {
        let end = [way[0] * (reach[0] + step / 2.0), way[1] * (reach[1] + step / 2.0)];
        paper.run(Role::Centre, "centre line", &[[-end[0], -end[1]], end]);
    }
    paper.level_measured([-feet[0], -feet[1]], [feet[0], -feet[1]], -reach[1] - 2.0 * step, "floor spread");
    paper.level_measured([-x, -y], [x, -y], -reach[1] - step, "top spread");
    paper.level_measured([0.0, y], [x, y], reach[1] + step, "centre to legs");
    paper.plumb(
        [feet[0], -feet[1]],
        feet,
        reach[0] + 2.0 * step,
        to_mark(2.0 * feet[1], mark),
        "floor spread",
    );
    paper.plumb([x, -y], [x, y], reach[0] + step, to_mark(2.0 * y, mark), "top spread");
    paper.plumb([-x, 0.0], [-x, y], -reach[0] - step, to_mark(y, mark), "centre to legs");
    paper.done()
}

/// Beyond the outer corner of a leg's section, where the letters of all four stand alike.
fn beyond_corner(shape: &Shape, leg: LegPlace, z: f64) -> [f64; 2] {
    let out = shape.leg[0].min(shape.leg[1]) * 0.5;
    let ([x, y], [sx, sy]) = (shape.section_at(leg, z)[0], leg.signs());
    [x + sx * out, y + sy * out]
}

/// Legs and the top edges of rungs: solid where they are seen, hidden where wood stands over them.
fn from_above(paper: &mut Paper, shape: &Shape, rungs: &[(Rung, Bar)]) {
    let mut edges: Vec<(String, [Vector; 2])> = Vec::new();
    let mut ring = |part: &str, corners: [Vector; 4]| {
        edges.extend((0..4).map(|i| (part.to_string(), [corners[i], corners[(i + 1) % 4]])));
    };
    for leg in LegPlace::ALL {
        for (part, z) in [("foot", 0.0), ("top end", shape.h)] {
            let corners = shape.section_at(leg, z).map(|[x, y]| Vector([x, y, z]));
            ring(&format!("{part} {}", leg.letters()), corners);
        }
    }
    for ((rung, bar), side) in rungs.iter().flat_map(|rung| [(rung, 1.0), (rung, -1.0)]) {
        let around = [
            (Corner::OuterTop, 1.0),
            (Corner::OuterTop, -1.0),
            (Corner::InnerTop, -1.0),
            (Corner::InnerTop, 1.0),
        ];
        let corners = around.map(|(corner, way)| {
            let [q, z] = bar.corner(corner);
            place(bar.pair, way * bar.half_length([q, z]), [side * q, z])
        });
        ring(&rung.name, corners);
    }
    for leg in LegPlace::ALL {
        let (high, low) = (shape.section_at(leg, shape.h), shape.section_at(leg, 0.0));
        edges.extend((0..4).map(|i| {
            let ([x, y], [low_x, low_y]) = (high[i], low[i]);
            (format!("leg {}", leg.letters()), [Vector([x, y, shape.h]), Vector([low_x, low_y, 0.0])])
        }));
    }
    let legs = LegPlace::ALL.into_iter().map(|leg| Block::leg(shape, leg));
    let bars = rungs.iter().flat_map(|(_, bar)| [1.0, -1.0].map(|side| Block::rung(bar, side)));
    let blocks: Vec<Block> = legs.chain(bars).collect();
    let mut drawn: Vec<(&str, Stretch)> = Vec::new();
    for (part, [from, to]) in &edges {
        drawn.extend(stretches(*from, *to, &blocks).into_iter().map(|stretch| (part.as_str(), stretch)));
    }
    // What is seen lies over what is hidden.
    drawn.sort_by_key(|(_, stretch)| stretch.seen);
    for (part, stretch) in drawn {
        let ends = stretch.ends.map(|Vector([x, y, _])| [x, y]);
        let [[x, y], [to_x, to_y]] = ends;
        // An arris that stands plumb is a point.
        if (to_x - x).abs() + (to_y - y).abs() > 1e-6 {
            paper.run(if stretch.seen { Role::Visible } else { Role::Hidden }, part, &ends);
        }
    }
}

/// The rim of a top as a run of points.
fn rim(outline: &Outline, [x, y]: [f64; 2]) -> Vec<[f64; 2]> {
    if let Outline::Free { .. } = outline {
        return outline.edges().iter().map(|[from, _]| *from).collect();
    }
    if let Outline::Rectangle { .. } = outline {
        return vec![[-x, -y], [x, -y], [x, y], [-x, y]];
    }
    (0..120)
        .map(|i| {
            let angle = Angle::degrees(f64::from(i) * 3.0);
            [x * angle.cos(), y * angle.sin()]
        })
        .collect()
}

/// The sign that length is left out, across a piece from `left` to `right`.
fn broken(paper: &mut Paper, [left, right]: [f64; 2], y: f64) {
    let (middle, tooth) = ((left + right) / 2.0, (right - left) * 0.12);
    paper.run(
        Role::Ghost,
        "break",
        &[[left, y], [middle - tooth, y + tooth], [middle + tooth, y - tooth], [right, y]],
    );
}

/// Length left out of a drawn leg so that its ends can be seen.
fn shortened(shape: &Shape, legs: &Legs) -> f64 {
    let longest = 9.0 * shape.leg[0].max(shape.leg[1]);
    (legs.exact_length_mm - longest).max(0.0)
}

/// True view of a leg of hand one: side face, then plane face, top end up, with a break in the middle.
fn leg(spec: &BaseSpec, shape: &Shape, legs: &Legs) -> View {
    let mut paper = Paper::new("leg", "Leg, hand one (FL, BR), in true view", spec.shop.mark);
    let [w, d] = shape.leg;
    let out = shortened(shape, legs);
    let length = legs.exact_length_mm - out;
    let gap = 2.0 * w.max(d);
    let step = w.max(d) * 0.8;
    let (m, m2) = (legs.plane_face_down.turn, legs.side_face_down.turn);
    // The leg's outer arris is the left edge of the plane face and the right edge of the side face.
    let plane_rise = w * m.tan();
    let side_rise = d * m2.tan();
    let plane = [[0.0, 0.0], [w, plane_rise], [w, length + plane_rise], [0.0, length]];
    let side = [[-gap, 0.0], [-gap, length], [-gap - d, length + side_rise], [-gap - d, side_rise]];
    let allow = (legs.blank.to_mm() - legs.overall_mm) / 2.0;
    let (bottom, top) = (-allow, length + legs.overall_mm - legs.exact_length_mm + allow);
    paper.shape(Role::Ghost, "blank", &[[0.0, bottom], [w, bottom], [w, top], [0.0, top]]);
    paper.shape(Role::Ghost, "blank", &[[-gap, bottom], [-gap, top], [-gap - d, top], [-gap - d, bottom]]);
    for (face, name) in [(&plane, "plane face"), (&side, "side face")] {
        paper.shape(Role::Visible, name, face);
    }
    for line in [[plane[0], plane[1]], [plane[2], plane[3]], [side[0], side[3]], [side[1], side[2]]] {
        paper.run(Role::Cut, "end", &line);
    }
    let arrow = [w / 2.0, length * 0.62];
    paper.run(Role::Mark, "arrow", &[[w / 2.0, length * 0.38], arrow]);
    paper.run(Role::Mark, "arrow", &[[w * 0.35, length * 0.58], arrow, [w * 0.65, length * 0.58]]);
    paper.run(Role::Mark, "bar", &[[-gap, length * 0.85], [-gap - d, length * 0.85]]);
    if out > 0.0 {
        for x in [[0.0, w], [-gap - d, -gap]] {
            broken(&mut paper, x, length * 0.28);
        }
        paper.note([w, length * 0.28], "shortened");
    }
    paper.plumb([w, plane_rise], [w, length + plane_rise], w + step, legs.length, "along every arris");
    paper.plumb([w, bottom], [w, top], w + 2.0 * step, legs.blank, "blank");
    paper.level([0.0, bottom], [w, bottom], bottom - step, spec.leg.width, "plane face");
    paper.level([-gap - d, bottom], [-gap, bottom], bottom - step, spec.leg.thickness, "side face");
    for (base, end) in [(0.0, "foot"), (length, "top end")] {
        // Each cut goes on beside a line square to the leg, so that its angle is seen.
        for (x, way, breadth, angle) in [(0.0, 1.0, w, m), (-gap, -1.0, d, m2)] {
            if angle.to_degrees() > 0.0 {
                let out = |far: f64| [x + way * far * breadth, base + far * breadth * angle.tan()];
                paper.run(Role::Centre, "square line", &[[x, base], [x + way * 1.75 * breadth, base]]);
                paper.run(Role::Centre, "cut", &[out(1.05), out(1.75)]);
            }
        }
        paper.angle([0.0, base], [0.0, m.to_degrees()], 1.6 * w, m, end);
        paper.angle([-gap, base], [180.0, 180.0 - m2.to_degrees()], 1.6 * d, m2, end);
    }
    paper.note([w / 2.0, top + step], "plane face");
    paper.note([-gap - d / 2.0, top + step], "side face");
    let other = if shows(m) || shows(m2) { "hand two is the mirror image" } else { "all four are cut alike" };
    paper.note([-gap / 2.0, bottom - 2.0 * step], other);
    paper.done()
}

/// The two outer faces of all four blanks, unfolded about the arris they share and each as seen from outside, with the end faces
/// beyond the plane face. Not to scale: blanks are short, and the pencil lines fall more steeply than the cuts do.
fn marking(spec: &BaseSpec, shape: &Shape, legs: &Legs) -> View {
    let title = "Marking the legs, outer faces and ends unfolded";
    let mut paper = Paper::not_to_scale("marking", title, spec.shop.mark);
    let [w, d] = shape.leg;
    let size = w.max(d);
    let falls = |turn: Angle| turn.to_degrees() > 0.0;
    let (on_plane, on_side) = (falls(legs.plane_face_down.turn), falls(legs.side_face_down.turn));
    let tall = 5.0 * size;
    for (n, leg) in LegPlace::ALL.into_iter().enumerate() {
        // The shared arris is at zero. Hand one shows its side face to the left of its plane face.
        let left = (w + d + 1.6 * size) * n as f64;
        let (way, arris) = if leg.hand() == Hand::One { (1.0, left + d) } else { (-1.0, left + w) };
        let x = |out: f64| arris + way * out;
        let face =
            |to: f64, low: f64, high: f64| [[x(0.0), low], [x(to), low], [x(to), high], [x(0.0), high]];
        paper.shape(Role::Visible, "plane face", &face(w, 0.0, tall));
        paper.shape(Role::Visible, "side face", &face(-d, 0.0, tall));
        paper.shape(Role::Visible, "top end", &face(w, tall, tall + d));
        paper.shape(Role::Visible, "foot", &face(w, -d, 0.0));
        // The pencil lines of the cuts are drawn on one face, and fall towards the other.
        let (to, fall) = match (on_plane, on_side) {
            (true, _) => (w, 0.3 * w),
            (false, true) => (-d, 0.3 * d),
            _ => (w, 0.0),
        };
        for base in [0.12 * size, tall - 0.12 * size - fall] {
            paper.run(Role::Mark, "line of the cut", &[[x(0.0), base], [x(to), base + fall]]);
        }
        let tip = [x(w / 2.0), tall * 0.65];
        paper.run(Role::Mark, "arrow", &[[x(w / 2.0), tall * 0.35], tip]);
        paper.run(Role::Mark, "arrow", &[[x(w * 0.3), tall * 0.58], tip, [x(w * 0.7), tall * 0.58]]);
        paper.run(Role::Mark, "bar", &[[x(0.0), tall * 0.8], [x(-d), tall * 0.8]]);
        let hand = if leg.hand() == Hand::One { "hand one" } else { "hand two" };
        paper.note([x(w / 2.0), tall + d / 2.0], leg.letters());
        paper.note([left + (w + d) / 2.0, tall + d + 0.8 * size], hand);
        if n == 0 {
            paper.note([x(w / 2.0), tall * 0.2], "plane face");
            paper.note([x(-d / 2.0), tall * 0.3], "side face");
            paper.note([x(w / 2.0), -d / 2.0], "foot");
            paper.note([x(w), tall + d * 0.75], "top end");
            paper.note([x(to), tall - 0.12 * size - fall * 0.2], "cut line");
        }
    }
    paper.done()
}

/// The top from below, its front edge at the bottom of the sheet: the lines to mark, the legs' ends and the screws.
fn underside(spec: &BaseSpec, shape: &Shape, outline: &Outline, fixings: Option<&Fixings>) -> View {
    let mark = spec.shop.mark;
    let mut paper = Paper::new("underside", "Top from below, front edge at the bottom", mark);
    // Seen from below, right and left change places.
    let below = |[x, y]: [f64; 2]| [-x, y];
    let half = outline.sides().map(|l| l.to_mm() / 2.0);
    let reach = [half[0].max(shape.half[0]), half[1].max(shape.half[1])];
    let step = (reach[0].max(reach[1]) / 6.0).max(15.0);
    let rim: Vec<[f64; 2]> = rim(outline, half).into_iter().map(below).collect();
    paper.shape(Role::Visible, "top", &rim);
    for way in [[1.0, 0.0], [0.0, 1.0]] {
        let end = [way[0] * (reach[0] + step / 2.0), way[1] * (reach[1] + step / 2.0)];
        paper.run(Role::Centre, "centre line", &[[-end[0], -end[1]], end]);
    }
    let [x, y] = shape.half;
    for sign in [-1.0, 1.0] {
        paper.run(Role::Mark, "line over the legs", &[[sign * x, -reach[1]], [sign * x, reach[1]]]);
        paper.run(Role::Mark, "line over the legs", &[[-reach[0], sign * y], [reach[0], sign * y]]);
    }
    for leg in LegPlace::ALL {
        let end = shape.section_at(leg, shape.h).map(below);
        paper.shape(Role::Visible, &format!("top end {}", leg.letters()), &end);
        paper.note(below(beyond_corner(shape, leg, shape.h)), leg.letters());
    }
    let lines = [[-x, 0.0], [x, 0.0], [0.0, -y], [0.0, y]];
    paper.level([lines[0][0], reach[1]], [0.0, reach[1]], reach[1] + step, to_mark(x, mark), "");
    paper.level([0.0, reach[1]], [lines[1][0], reach[1]], reach[1] + step, to_mark(x, mark), "");
    paper.plumb([-reach[0], lines[2][1]], [-reach[0], 0.0], -reach[0] - step, to_mark(y, mark), "");
    paper.plumb([-reach[0], 0.0], [-reach[0], lines[3][1]], -reach[0] - step, to_mark(y, mark), "");
    if let Some(fixings) = fixings {
        for (cleat, side) in fixings.cleats.iter().flat_map(|cleat| [(cleat, -1.0), (cleat, 1.0)]) {
            let (half, [near, far]) = (
                cleat.length.to_mm() / 2.0,
                [-0.5, 0.5].map(|edge| side * (cleat.out + edge * cleat.thickness)),
            );
            let corners = [[-half, near], [half, near], [half, far], [-half, far]];
            let turned = corners.map(|[along, out]| match cleat.pair {
                RungPair::FrontAndBack => below([along, out]),
                RungPair::LeftAndRight => below([out, along]),
            });
            paper.shape(Role::Visible, "cleat", &turned);
            // One of two that are alike says what they are.
            if side > 0.0 {
                let sizes = [cleat.length, cleat.breadth, Length::nearest_mm(cleat.thickness)];
                let [length, broad, thick] = sizes.map(|size| size.show(spec.shop.system));
                let middle = [0, 1].map(|way| (turned[0][way] + turned[2][way]) / 2.0);
                paper.note(middle, &format!("cleat {length} × {broad} × {thick}"));
            }
        }
        for screw in &fixings.screws {
            let at = below([screw.x.to_mm(), screw.y.to_mm()]);
            paper.circle(Role::Bore, "screw", at, fixings.clearance.to_mm().max(4.0) / 2.0);
        }
        let mut down = -reach[1] - step;
        let mut right = reach[0] + step;
        for row in &fixings.rows {
            let out = row.out.to_mm();
            for along in row.along.iter().filter(|along| along.is_positive()) {
                if row.pair == RungPair::FrontAndBack {
                    paper.level([0.0, -out], [along.to_mm(), -out], down, *along, "screw");
                    down -= step;
                } else {
                    paper.plumb([out, 0.0], [out, along.to_mm()], right, *along, "screw");
                    right += step;
                }
            }
            let first = row.along.first().map_or(0.0, |along| along.to_mm());
            if row.pair == RungPair::FrontAndBack {
                paper.plumb([first, -out], [first, 0.0], right, row.out, "screw");
                right += step;
            } else {
                paper.level([0.0, first], [out, first], down, row.out, "screw");
                down -= step;
            }
        }
    }
    paper.done()
}

/// A rung: its outer face, its top edge above, its section to the right; with its tenons, where it has some.
fn rung_view(spec: &BaseSpec, shape: &Shape, n: usize, (rung, bar): &(Rung, Bar), joint: &JointPlan) -> View {
    let mut paper = Paper::new(&format!("rung-{n}"), &capital(&rung.name), spec.shop.mark);
    let mark = spec.shop.mark;
    let (breadth, thick) = (rung.outer.breadth_mm, bar.thickness);
    let (top, bottom) = (rung.outer.top_mm / 2.0, rung.outer.bottom_mm / 2.0);
    let step = breadth.max(20.0) * 0.6;
    let face = [[-bottom, 0.0], [bottom, 0.0], [top, breadth], [-top, breadth]];
    let tenons = match joint {
        JointPlan::Tenon(plan) => Some(tenons(shape, bar, plan)),
        JointPlan::Dowels(_) => None,
    };
    let mut reach = bottom;
    if let Some(tenons) = &tenons {
        reach = reach.max(tenons.tip[0]);
        for side in [1.0, -1.0] {
            let turned = |[x, y]: [f64; 2]| [side * x, y];
            paper.shape(
                Role::Visible,
                "tenon",
                &tenons.on_face.iter().copied().map(turned).collect::<Vec<_>>(),
            );
        }
        let [x, y] = tenons.tip;
        let (whole, label) = (Length::ceil_mm(2.0 * x, mark), "over all, tip to tip of the tenons");
        paper.level([-x, y], [x, y], -2.2 * step, whole, label);
    }
    paper.shape(Role::Visible, "outer face", &face);
    paper.run(Role::Cut, "shoulder", &[face[1], face[2]]);
    paper.run(Role::Cut, "shoulder", &[face[0], face[3]]);
    let edge = |which: &str| match tenons {
        Some(_) => format!("{which} edge, shoulder to shoulder"),
        None => format!("{which} edge"),
    };
    paper.level(face[0], face[1], -step, rung.bottom_length, &edge("bottom"));
    paper.level(face[3], face[2], breadth + step, rung.top_length, &edge("top"));
    paper.plumb(face[0], [-bottom, breadth], -reach - step, rung.section.width, "");
    paper.along(face[0], face[2], to_mark(rung.outer.diagonal_mm, mark), "diagonal");
    if rung.shoulder.to_degrees() > 0.0 {
        paper.run(Role::Centre, "square line", &[face[1], [bottom, breadth]]);
        paper.angle(
            face[1],
            [90.0, 90.0 + rung.shoulder.to_degrees()],
            breadth * 0.8,
            rung.shoulder,
            "from square",
        );
    }
    // The top edge, seen from above, outer face below.
    let base = breadth + 2.5 * step;
    let inner = rung.inner.top_mm / 2.0;
    let depth = thick / rung.edge_bevel.cos();
    if let Some(tenons) = &tenons {
        for side in [1.0, -1.0] {
            let turned = |[x, y]: [f64; 2]| [side * x, base + y];
            paper.shape(
                Role::Visible,
                "tenon",
                &tenons.on_edge.iter().copied().map(turned).collect::<Vec<_>>(),
            );
        }
    }
    let edge = [[-top, base], [top, base], [inner, base + depth], [-inner, base + depth]];
    paper.shape(Role::Visible, "top edge", &edge);
    paper.level_measured(edge[3], edge[2], base + depth + step, "inner face, top edge");
    let turn = rung.edge_shoulder;
    if shows(turn) {
        paper.run(Role::Centre, "square line", &[edge[1], [edge[1][0], base + depth]]);
        let square = Angle::degrees(turn.to_degrees().abs());
        paper.angle(edge[1], [90.0, 90.0 + turn.to_degrees()], depth * 0.8, square, "from square");
    }
    paper.note([0.0, base + depth / 2.0], "top edge, outer face below");
    // The section, standing as in the base, outer face to the right.
    let left = reach + 3.0 * step;
    let [q0, z0] = bar.corner(Corner::InnerBottom);
    let section = Corner::ROUND.map(|c| {
        let [q, z] = bar.corner(c);
        [left + q - q0, z - z0]
    });
    paper.shape(Role::Visible, "section", &section);
    // The thickness is square to the face: from the outer face at half its height to the inner one.
    let (sin, cos) = (bar.lean.sin(), bar.lean.cos());
    let outside = [(section[0][0] + section[1][0]) / 2.0, (section[0][1] + section[1][1]) / 2.0];
    let inside = [outside[0] - thick * cos, outside[1] - thick * sin];
    paper.along(inside, outside, rung.section.thickness, "");
    let bevel = rung.edge_bevel;
    if bevel.to_degrees() > 0.0 {
        let lean = [90.0, 90.0 + bevel.to_degrees()];
        paper.run(Role::Centre, "square line", &[section[1], [section[1][0], section[0][1]]]);
        paper.angle(section[1], lean, breadth * 0.8, bevel, "edge bevel");
    }
    let lower = [1, 2].map(|i| section[i]);
    let under = [0, 1].map(|way| (lower[0][way] + lower[1][way]) / 2.0);
    paper.note(under, "section, outer face right");
    paper.done()
}

/// What is seen of the tenon on a rung's right end, beyond its shoulder.
struct Tenons {
    /// Square on to the outer face, counted from that face's bottom edge.
    on_face: Vec<[f64; 2]>,
    /// Square on to the top edge, counted from the outer arris.
    on_edge: Vec<[f64; 2]>,
    /// Its farthest point, on the face.
    tip: [f64; 2],
}

fn tenons(shape: &Shape, bar: &Bar, plan: &TenonPlan) -> Tenons {
    let (sin, cos) = (bar.lean.sin(), bar.lean.cos());
    let corners = tenon_corners(shape, bar, plan);
    let up_face = |[q, z]: [f64; 2]| {
        let [q0, z0] = bar.corner(Corner::OuterBottom);
        (z - z0) * cos - (q - q0) * sin
    };
    let in_from_face = |[q, z]: [f64; 2]| {
        let [q0, z0] = bar.corner(Corner::OuterTop);
        match bar.edges {
            Edges::Level => q0 - q,
            Edges::Square => (q0 - q) * cos + (z0 - z) * sin,
        }
    };
    let seen = |measure: &dyn Fn([f64; 2]) -> f64, shoulder: [Corner; 2]| {
        let outline = hull(&corners.map(|[along, q, z]| [along, measure([q, z])]));
        let [[x, y], [to_x, to_y]] = shoulder.map(|c| [bar.length(c) / 2.0, measure(bar.corner(c))]);
        // The rung lies at the left of its shoulder, which runs up.
        clip(&outline, [y - to_y, to_x - x], (y - to_y) * x + (to_x - x) * y)
    };
    let on_face = seen(&up_face, [Corner::OuterBottom, Corner::OuterTop]);
    let on_edge = seen(&in_from_face, [Corner::OuterTop, Corner::InnerTop]);
    let tip = on_face.iter().copied().max_by(|a, b| a[0].total_cmp(&b[0])).unwrap_or_default();
    Tenons { on_face, on_edge, tip }
}

/// The bores of two faces that meet, laid open like a book: on the shoulder of a rung's right end in true view, and on the inner
/// face of the leg there, up from its foot. Their outer sides are at the left and at the right.
fn bores(
    spec: &BaseSpec,
    shape: &Shape,
    legs: &Legs,
    n: usize,
    (rung, bar): &(Rung, Bar),
    joint: &JointPlan,
) -> View {
    let what = if matches!(joint, JointPlan::Dowels(_)) { "Bores" } else { "Tenon and mortise" };
    let mut paper =
        Paper::new(&format!("bores-{n}"), &format!("{what} of the {}", rung.name), spec.shop.mark);
    let outline = shoulder(shape, bar);
    paper.shape(Role::Visible, "shoulder", &outline);
    paper.note([outline[1][0], outline[1][1]], "outer arris, bottom edge");
    let step = bar.breadth.max(20.0) * 0.4;
    let leg_breadth = match rung.pair {
        RungPair::FrontAndBack => shape.leg[1],
        RungPair::LeftAndRight => shape.leg[0],
    };
    let left = bar.thickness + 4.5 * step;
    let spots = spots(joint);
    // The length between the foot and a little below the lowest bore is left out.
    let lowest = spots.iter().map(|(_, leg)| leg[1]).fold(f64::INFINITY, f64::min);
    let shift = (lowest - 3.0 * step).max(0.0);
    let highest = match joint {
        JointPlan::Dowels(_) => spots.iter().map(|(_, leg)| leg[1]).fold(0.0, f64::max),
        JointPlan::Tenon(plan) => plan.on_leg_up_top.to_mm(),
    };
    let turn = match rung.pair {
        RungPair::FrontAndBack => legs.side_face_down.turn,
        RungPair::LeftAndRight => legs.plane_face_down.turn,
    };
    let rise = leg_breadth * turn.tan();
    // The top end, parallel to the foot, where it is near; otherwise the leg is broken off above the joint.
    let [right, end] = [left + leg_breadth, legs.exact_length_mm - shift];
    let is_near = end - (highest - shift) < 2.5 * bar.breadth.max(leg_breadth);
    let high = if is_near { end } else { highest - shift + bar.breadth.max(leg_breadth) };
    if is_near {
        let face = [[right, 0.0], [left, rise], [left, high + rise], [right, high]];
        paper.shape(Role::Visible, "inner face of the leg", &face);
        paper.run(Role::Cut, "top end", &[[right, high], [left, high + rise]]);
        paper.note([left + leg_breadth / 2.0, high + rise / 2.0], "top end");
    } else {
        let face = [[right, high], [right, 0.0], [left, rise], [left, high]];
        paper.run(Role::Visible, "inner face of the leg", &face);
        broken(&mut paper, [left, right], high);
    }
    paper.run(Role::Cut, "foot", &[[right, 0.0], [left, rise]]);
    let (face, legs, others) = match rung.pair {
        RungPair::FrontAndBack => ("plane face", "FR, BL", "FL and BR"),
        RungPair::LeftAndRight => ("side face", "FL, BR", "FR and BL"),
    };
    paper.note([right, high], &format!("arris with the {face}"));
    paper.note([left + leg_breadth / 2.0, rise / 2.0], "foot");
    if shift > 0.0 {
        let y = rise + 0.8 * step;
        broken(&mut paper, [left, right], y);
        paper.note([left, y], "shortened");
    }
    paper.note([bar.thickness / 2.0, -2.2 * step], "right end of the rung");
    paper.note([left + leg_breadth / 2.0, -2.2 * step], &format!("inner face of legs {legs}"));
    paper.note([outline[0][0], outline[0][1]], &bored(joint, spec));
    let mirrored = format!(
        "Right is as you look at the rung's outer face. Its left end and the legs that it meets there, {others}, are the mirror image."
    );
    paper.note([outline[3][0], outline[3][1]], &mirrored);
    let mark = spec.shop.mark;
    for (i, (on_rung, on_leg)) in spots.iter().enumerate() {
        let leg_at = [right - on_leg[0], on_leg[1] - shift];
        match joint {
            JointPlan::Dowels(plan) => {
                let radius = plan.diameter.to_mm() / 2.0;
                paper.circle(Role::Bore, "bore", *on_rung, radius);
                paper.circle(Role::Bore, "bore", leg_at, radius);
            }
            JointPlan::Tenon(plan) => {
                let (t, b) = (plan.thickness.to_mm(), plan.breadth.to_mm());
                let ([x, y], [low_x, low_y]) = (*on_rung, leg_at);
                paper.shape(Role::Bore, "tenon", &[[x, y], [x + t, y], [x + t, y + b], [x, y + b]]);
                let top = [right - plan.on_leg_in_top.to_mm(), plan.on_leg_up_top.to_mm() - shift];
                let mortise = [leg_at, [low_x - t, low_y], [top[0] - t, top[1]], top];
                paper.shape(Role::Bore, "mortise", &mortise);
                if plan.on_leg_in_top != plan.on_leg_in {
                    paper.level(top, [right, top[1]], high + step, plan.on_leg_in_top, "across");
                }
            }
        }
        let up = step * (1.0 + i as f64);
        paper.plumb(outline[1], *on_rung, -up, to_mark(on_rung[1], mark), "up");
        paper.plumb([right, 0.0], leg_at, right + up, to_mark(on_leg[1], mark), "up from the foot");
        let across = to_mark(on_leg[0], mark);
        if i == 0 {
            paper.level([0.0, on_rung[1]], *on_rung, -step, to_mark(on_rung[0], mark), "in");
            paper.level(leg_at, [right, leg_at[1]], -step, across, "across");
        } else if on_leg[0] != spots[0].1[0] {
            // Bores that stand as far across share a figure; others get their own, above the leg.
            paper.level(leg_at, [right, leg_at[1]], high + step * i as f64, across, "across");
        }
    }
    paper.done()
}

/// Where a joint is bored or cut: on the rung (in, up) and on the leg (across, up).
fn spots(joint: &JointPlan) -> Vec<([f64; 2], [f64; 2])> {
    let spot = |rung: [Length; 2], leg: [Length; 2]| (rung.map(Length::to_mm), leg.map(Length::to_mm));
    match joint {
        JointPlan::Dowels(plan) => plan
            .bores
            .iter()
            .map(|b| spot([b.on_rung_in, b.on_rung_up], [b.on_leg_in, b.on_leg_up]))
            .collect(),
        JointPlan::Tenon(t) => vec![spot([t.on_rung_in, t.on_rung_up], [t.on_leg_in, t.on_leg_up])],
    }
}

/// Whether an angle shows as anything: floats leave a trace where there is none.
fn shows(angle: Angle) -> bool {
    angle.to_degrees().abs() >= 0.0005
}

/// What is bored or cut, in a few words.
fn bored(joint: &JointPlan, spec: &BaseSpec) -> String {
    let system = spec.shop.system;
    match joint {
        JointPlan::Dowels(plan) => {
            format!("bores {} wide, {} deep", plan.diameter.show(system), plan.hole.show(system))
        }
        JointPlan::Tenon(plan) => format!(
            "tenon {} by {}, {} long; mortise {} deep",
            plan.thickness.show(system),
            plan.breadth.show(system),
            plan.length.show(system),
            plan.mortise.show(system)
        ),
    }
}
