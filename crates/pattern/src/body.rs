//! Convex bodies, and what it means to meet one.
//!
//! An outline grown by its margin is the Minkowski sum of the outline and a disc: every point within the margin of
//! it, with round corners. Every such shape is a union of a few bodies of one form, a convex core grown by a radius:
//!
//! | outline | core | grown by |
//! | --- | --- | --- |
//! | round | the centre | radius + margin |
//! | oval | the ellipse | margin |
//! | rectangle, regular or convex free polygon | itself | margin |
//! | rounded rectangle | rectangle through the corners' centres | corner radius + margin |
//! | free polygon with hollows | each triangle of it | margin |
//!
//! Nothing is approximated by chords of a curve: points and segments have closed forms, and the edge of a grown
//! ellipse, a curve of the eighth degree, is found by false position on its normal, to 1e-12 mm.

use stripwright_units::trig;

use crate::geometry::{Half, TOUCH, gap, overlap, to_segment};
use crate::spec::Point;

/// A convex core grown by a radius.
#[derive(Clone, Debug)]
pub(crate) struct Body {
    core: Core,
    grow: f64,
}

#[derive(Clone, Debug)]
enum Core {
    Point(Point),
    /// Counterclockwise, three corners or more.
    Polygon(Vec<Point>),
    /// Half axes along x and y.
    Ellipse(f64, f64),
}

impl Body {
    pub(crate) fn disc(centre: Point, radius: f64) -> Body {
        Body { core: Core::Point(centre), grow: radius }
    }

    pub(crate) fn polygon(corners: Vec<Point>, grow: f64) -> Body {
        Body { core: Core::Polygon(corners), grow }
    }

    pub(crate) fn ellipse(a: f64, b: f64, grow: f64) -> Body {
        Body { core: Core::Ellipse(a, b), grow }
    }

    /// A point of the body furthest in a direction of length 1.
    pub(crate) fn furthest(&self, towards: Point) -> Point {
        let core = match &self.core {
            Core::Point(p) => *p,
            Core::Polygon(corners) => {
                let mut best = corners[0];
                for &p in corners {
                    if towards.dot(p) > towards.dot(best) {
                        best = p;
                    }
                }
                best
            }
            Core::Ellipse(a, b) => {
                let (x, y) = (a * towards.x, b * towards.y);
                let h = (x * x + y * y).sqrt();
                Point::new(a * x / h, b * y / h)
            }
        };
        core.plus(towards.times(self.grow))
    }

    /// Where the line `from + t * along` (`along` of length 1) runs inside the body: smallest and largest `t`.
    pub(crate) fn chord(&self, from: Point, along: Point) -> Option<(f64, f64)> {
        match &self.core {
            Core::Point(p) => chord_of_disc(*p, self.grow, from, along),
            Core::Polygon(corners) => self.chord_of_polygon(corners, from, along),
            Core::Ellipse(..) => self.chord_of_ellipse(from, along),
        }
    }

    /// The body is the union of its core, of each side swept outward, and of a disc at each corner; it is convex, so
    /// its chord runs from the first to the last of theirs.
    fn chord_of_polygon(&self, corners: &[Point], from: Point, along: Point) -> Option<(f64, f64)> {
        let mut whole: Option<(f64, f64)> = None;
        let mut add = |part: Option<(f64, f64)>| {
            if let Some((a, b)) = part {
                whole = Some(whole.map_or((a, b), |(p, q)| (p.min(a), q.max(b))));
            }
        };
        let mut core = (f64::NEG_INFINITY, f64::INFINITY);
        for (i, &p) in corners.iter().enumerate() {
            let side = corners[(i + 1) % corners.len()].minus(p);
            let long = side.length();
            let (e, out) = (side.times(1.0 / long), Point::new(side.y / long, -side.x / long));
            within(&mut core, out.dot(from.minus(p)), out.dot(along), f64::NEG_INFINITY, 0.0);
            if self.grow > 0.0 {
                let mut swept = (f64::NEG_INFINITY, f64::INFINITY);
                within(&mut swept, e.dot(from.minus(p)), e.dot(along), 0.0, long);
                within(&mut swept, out.dot(from.minus(p)), out.dot(along), 0.0, self.grow);
                add((swept.0 <= swept.1).then_some(swept));
                add(chord_of_disc(p, self.grow, from, along));
            }
        }
        add((core.0 <= core.1).then_some(core));
        whole
    }

    /// Along the edge, from the point furthest to the left of the line to the one furthest to its right, the distance
    /// from the line falls steadily: false position finds where it is nought, once on each side.
    fn chord_of_ellipse(&self, from: Point, along: Point) -> Option<(f64, f64)> {
        let left = Point::new(-along.y, along.x);
        let reach = left.dot(from);
        if left.dot(self.furthest(left)) < reach || left.dot(self.furthest(left.times(-1.0))) > reach {
            return None;
        }
        let end = |side: f64| {
            let point = |turn: f64| {
                self.furthest(left.times(trig::cos(turn)).plus(along.times(side * trig::sin(turn))))
            };
            let above = |p: Point| left.dot(p) - reach;
            // False position, with the Illinois rule against an end that stays; a bracket of the last bit ends it.
            let (mut near, mut far) =
                ((0.0, above(point(0.0))), (std::f64::consts::PI, above(point(std::f64::consts::PI))));
            let (mut p, mut last) = (point(0.0), false);
            for _ in 0..100 {
                let turn = near.0 + (far.0 - near.0) * near.1 / (near.1 - far.1);
                if turn.is_nan() || turn <= near.0 || turn >= far.0 {
                    break;
                }
                p = point(turn);
                let h = above(p);
                if h.abs() < 1e-12 {
                    break;
                }
                let moved = h > 0.0;
                if moved == last {
                    *(if moved { &mut far.1 } else { &mut near.1 }) /= 2.0;
                }
                *(if moved { &mut near } else { &mut far }) = (turn, h);
                last = moved;
            }
            along.dot(p.minus(from))
        };
        Some((end(-1.0), end(1.0)))
    }

    /// Smallest and largest `towards . point` over the part of the body inside all half planes; `None` if they have
    /// no point in common.
    ///
    /// The body and the region are convex: an extreme is either the body's own, if that lies in the region, or lies
    /// on the edge of a half plane, at an end of what the others leave of the body's chord there.
    pub(crate) fn extent(&self, towards: Point, region: &[Half]) -> Option<(f64, f64)> {
        let mut found: Option<(f64, f64)> = None;
        let mut add = |p: Point| {
            let v = towards.dot(p);
            found = Some(found.map_or((v, v), |(a, b)| (a.min(v), b.max(v))));
        };
        for way in [towards, towards.times(-1.0)] {
            let p = self.furthest(way);
            if region.iter().all(|h| h.over(p) <= 0.0) {
                add(p);
            }
        }
        for (i, edge) in region.iter().enumerate() {
            let (from, along) = (edge.normal.times(edge.reach), Point::new(-edge.normal.y, edge.normal.x));
            let Some(mut chord) = self.chord(from, along) else { continue };
            for (j, other) in region.iter().enumerate() {
                if i != j {
                    within(&mut chord, other.over(from), other.normal.dot(along), f64::NEG_INFINITY, 0.0);
                }
            }
            if chord.0 <= chord.1 {
                add(from.plus(along.times(chord.0)));
                add(from.plus(along.times(chord.1)));
            }
        }
        found
    }

    /// Whether the body meets the region in more than [`TOUCH`].
    pub(crate) fn meets_region(&self, region: &[Half]) -> bool {
        let inner: Vec<Half> = region.iter().map(|h| Half::new(h.normal, h.reach - TOUCH)).collect();
        self.extent(Point::new(1.0, 0.0), &inner).is_some()
    }

    /// Whether the body meets a convex polygon (anticlockwise) in more than [`TOUCH`].
    pub(crate) fn meets(&self, polygon: &[Point]) -> bool {
        match &self.core {
            Core::Point(p) => nearest(polygon, *p, |p| p) < self.grow - TOUCH,
            Core::Polygon(corners) => {
                let deep = overlap(corners, polygon);
                if self.grow > TOUCH {
                    deep >= 0.0 || (-deep < self.grow && gap(corners, polygon) < self.grow - TOUCH)
                } else {
                    deep > TOUCH
                }
            }
            Core::Ellipse(a, b) => {
                // An ellipse with both half axes longer by the growth lies inside the grown ellipse, touching it on
                // the axes; one scaled up by `outer` surely holds it. Stretched to a circle, both are quickly tried,
                // and only between the two does it take the exact test.
                let (long, high) = (a + self.grow, b + self.grow);
                let reach = nearest(polygon, Point::default(), |p| Point::new(p.x / long, p.y / high));
                if reach < 1.0 - TOUCH / long.min(high) {
                    return true;
                }
                if self.grow <= TOUCH || reach > outer(*a, *b, self.grow) {
                    return false;
                }
                // Of two convex shapes that lie apart, the nearest points are a corner of the polygon and a point of
                // the ellipse, or they lie on a side and where the ellipse's edge runs parallel to it.
                let near = self.grow - TOUCH;
                let furthest = outer(*a, *b, self.grow);
                let close = |p: Point| Point::new(p.x / long, p.y / high).length() <= furthest;
                (0..polygon.len()).any(|i| {
                    let (p, q) = (polygon[i], polygon[(i + 1) % polygon.len()]);
                    let side = q.minus(p).times(1.0 / q.minus(p).length());
                    let inward = Point::new(-side.y, side.x);
                    let facing = Point::new(a * inward.x, b * inward.y);
                    let facing = Point::new(a * facing.x, b * facing.y).times(1.0 / facing.length());
                    let (along, off) = (side.dot(facing.minus(p)), -inward.dot(facing.minus(p)));
                    (off < near && along >= 0.0 && side.dot(q.minus(facing)) >= 0.0 && off >= 0.0)
                        || (close(p) && to_ellipse(p, *a, *b) < near)
                })
            }
        }
    }
}

/// Narrows the range of `t` to where `low <= start + t * slope <= high`.
fn within(range: &mut (f64, f64), start: f64, slope: f64, low: f64, high: f64) {
    if slope.abs() < 1e-15 {
        if start < low || start > high {
            *range = (f64::INFINITY, f64::NEG_INFINITY);
        }
        return;
    }
    let (a, b) = ((low - start) / slope, (high - start) / slope);
    range.0 = range.0.max(a.min(b));
    range.1 = range.1.min(a.max(b));
}

fn chord_of_disc(centre: Point, radius: f64, from: Point, along: Point) -> Option<(f64, f64)> {
    let to = centre.minus(from);
    let middle = along.dot(to);
    let off = along.cross(to);
    let half = radius * radius - off * off;
    (half >= 0.0).then(|| (middle - half.sqrt(), middle + half.sqrt()))
}

/// A scale at which the ellipse with half axes longer by `r` surely holds the ellipse grown by `r`.
///
/// With `A = (a c, b s)` and the normal `n = (c, s)`, the grown ellipse reaches `|A| + r` and the other `|A + r n|`;
/// `(|A| + r)^2 - |A + r n|^2 = 2 r |A| (1 - cos)` of the angle between them, whose cosine is at least
/// `2 sqrt(a b) / (a + b)` (Kantorovich), and `|A + r n|` is at least the shorter half axis.
fn outer(a: f64, b: f64, r: f64) -> f64 {
    let short = a.min(b) + r;
    let cosine = 2.0 * (a * b).sqrt() / (a + b);
    (1.0 + 2.0 * r * a.max(b) * (1.0 - cosine) / (short * short)).sqrt() + 1e-9
}

/// Distance from a point outside an ellipse (half axes `a`, `b`) to it.
///
/// The nearest point is `(a^2 x / (t + a^2), b^2 y / (t + b^2))` for the `t > 0` that puts it on the ellipse.
fn to_ellipse(p: Point, a: f64, b: f64) -> f64 {
    // The condition is convex in `t`: Newton's steps from 0 come from one side and never overshoot.
    let mut t = 0.0;
    for _ in 0..64 {
        let (u, v) = (t + a * a, t + b * b);
        let (x, y) = (a * p.x / u, b * p.y / v);
        let step = (x * x + y * y - 1.0) / (2.0 * (x * x / u + y * y / v));
        if step.is_nan() || step <= 1e-15 * (t + a * b) {
            break;
        }
        t += step;
    }
    Point::new(t * p.x / (t + a * a), t * p.y / (t + b * b)).length()
}

/// Distance from a point to a convex polygon (anticlockwise) drawn to another scale; 0 inside.
fn nearest(polygon: &[Point], p: Point, drawn: impl Fn(Point) -> Point) -> f64 {
    let mut inside = true;
    let mut least = f64::INFINITY;
    let Some(&last) = polygon.last() else { return f64::INFINITY };
    let mut a = drawn(last);
    for &b in polygon {
        let b = drawn(b);
        inside &= b.minus(a).cross(p.minus(a)) >= 0.0;
        least = least.min(to_segment(p, a, b));
        a = b;
    }
    if inside { 0.0 } else { least }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{clip, range};

    fn bodies() -> Vec<Body> {
        let square =
            vec![Point::new(-50., -40.), Point::new(50., -40.), Point::new(50., 40.), Point::new(-50., 40.)];
        vec![
            Body::disc(Point::new(3.0, -4.0), 60.0),
            Body::polygon(square.clone(), 0.0),
            Body::polygon(square, 6.0),
            Body::ellipse(80.0, 30.0, 0.0),
            Body::ellipse(80.0, 30.0, 6.0),
        ]
    }

    /// The body as a polygon inside it, through many of its own furthest points.
    fn fine(body: &Body) -> Vec<Point> {
        (0..20_000)
            .map(|i| body.furthest(Point::towards((f64::from(i) + 0.5) * std::f64::consts::TAU / 20_000.0)))
            .collect()
    }

    #[test]
    fn chords_and_extents_agree_with_a_fine_polygon() {
        for body in bodies() {
            let fine = fine(&body);
            for k in 0..40 {
                let turn = 0.157 * f64::from(k) + 0.01;
                let (n, m) = (Point::towards(turn), Point::towards(turn * 1.7));
                let region = [
                    Half::new(n, 25.0 - f64::from(k)),
                    Half::new(n.times(-1.0), 10.0 + f64::from(k)),
                    Half::new(m, 33.0),
                ];
                let mut clipped = fine.clone();
                for h in region {
                    clipped = clip(&clipped, h);
                }
                let way = Point::towards(2.9 * turn);
                match body.extent(way, &region) {
                    None => assert!(clipped.is_empty(), "{body:?} {k}"),
                    Some((low, high)) => {
                        let (a, b) = range(clipped.iter().map(|p| way.dot(*p)));
                        assert!(
                            (a - low).abs() < 2e-2 && (b - high).abs() < 2e-2,
                            "{body:?} {k}: {low} {a} {high} {b}"
                        );
                        assert!(a > low - 1e-7 && b < high + 1e-7);
                    }
                }
            }
        }
    }

    /// Two roads to the edge of a grown ellipse: by its normals, and by distance from the ellipse.
    #[test]
    fn chords_of_a_grown_ellipse_end_on_its_edge() {
        let body = Body::ellipse(80.0, 30.0, 6.0);
        for k in 0..500 {
            let along = Point::towards(0.37 * f64::from(k));
            let from = Point::new(-along.y, along.x).times(-90.0 + 0.36 * f64::from(k));
            let Some((a, b)) = body.chord(from, along) else { continue };
            assert!(a <= b);
            for t in [a, b] {
                let away = to_ellipse(from.plus(along.times(t)), 80.0, 30.0);
                assert!((away - 6.0).abs() < 1e-9, "{k} {away}");
            }
        }
    }

    #[test]
    fn meeting_a_block_is_the_same_by_distance_and_by_chords() {
        for body in bodies() {
            let mut met = 0;
            for k in 0..2000 {
                let c = Point::new(f64::from(k % 50) * 4.1 - 100.0, f64::from(k / 50) * 4.3 - 90.0);
                let turn = f64::from(k) * 0.013;
                let (e, f) = (
                    Point::towards(turn).times(20.0),
                    Point::towards(turn + std::f64::consts::FRAC_PI_2).times(5.0),
                );
                let block = [c, c.plus(e), c.plus(e).plus(f), c.plus(f)];
                let sides: Vec<Half> = (0..4)
                    .map(|i| {
                        let s = block[(i + 1) % 4].minus(block[i]);
                        let n = Point::new(s.y, -s.x).times(1.0 / s.length());
                        Half::new(n, n.dot(block[i]))
                    })
                    .collect();
                // A block that holds the whole body has no chord on its sides, nor has one inside it: extent() sees
                // the first by the furthest points, and no block here is large enough to hold a body.
                assert_eq!(body.meets(&block), body.meets_region(&sides), "{body:?} {k}");
                met += usize::from(body.meets(&block));
            }
            assert!(met > 100 && met < 1900);
        }
    }

    #[test]
    fn touching_is_not_meeting() {
        let square = |x: f64| {
            [Point::new(x, -1.0), Point::new(x + 2.0, -1.0), Point::new(x + 2.0, 1.0), Point::new(x, 1.0)]
        };
        let rectangle = Body::polygon(
            vec![Point::new(0., -5.), Point::new(9., -5.), Point::new(9., 5.), Point::new(0., 5.)],
            0.0,
        );
        for body in [
            Body::disc(Point::default(), 9.0),
            Body::ellipse(9.0, 5.0, 0.0),
            Body::ellipse(7.0, 5.0, 2.0),
            rectangle,
        ] {
            assert!(!body.meets(&square(9.0)) && body.meets(&square(8.99999)), "{body:?}");
        }
    }
}
