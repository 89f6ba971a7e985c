//! Points, half planes and convex polygons, in millimetres.

use stripwright_units::trig;

use crate::spec::Point;

/// How deep two shapes have to overlap before they count as meeting: a nanometre, the grain of
/// [`Length`](stripwright_units::Length). Touching shapes come out of floating point up to about 1e-12 mm off, so
/// this decides nothing but ties, and always in favour of "they only touch".
pub(crate) const TOUCH: f64 = 1e-6;

impl Point {
    /// From its coordinates in millimetres.
    pub const fn new(x: f64, y: f64) -> Point {
        Point { x, y }
    }

    pub(crate) fn plus(self, other: Point) -> Point {
        Point::new(self.x + other.x, self.y + other.y)
    }

    pub(crate) fn minus(self, other: Point) -> Point {
        Point::new(self.x - other.x, self.y - other.y)
    }

    pub(crate) fn times(self, k: f64) -> Point {
        Point::new(self.x * k, self.y * k)
    }

    pub(crate) fn dot(self, other: Point) -> f64 {
        self.x * other.x + self.y * other.y
    }

    pub(crate) fn cross(self, other: Point) -> f64 {
        self.x * other.y - self.y * other.x
    }

    pub(crate) fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// The unit vector at an angle anticlockwise from x.
    pub(crate) fn towards(angle: f64) -> Point {
        Point::new(trig::cos(angle), trig::sin(angle))
    }
}

/// All points with `normal . point <= reach`; `normal` has length 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Half {
    pub(crate) normal: Point,
    pub(crate) reach: f64,
}

impl Half {
    pub(crate) fn new(normal: Point, reach: f64) -> Half {
        Half { normal, reach }
    }

    pub(crate) fn over(self, p: Point) -> f64 {
        self.normal.dot(p) - self.reach
    }
}

/// The part of a convex polygon inside a half plane.
pub(crate) fn clip(polygon: &[Point], half: Half) -> Vec<Point> {
    let mut out = Vec::with_capacity(polygon.len() + 1);
    for (i, &p) in polygon.iter().enumerate() {
        let q = polygon[(i + 1) % polygon.len()];
        let (a, b) = (half.over(p), half.over(q));
        if a <= 0.0 {
            out.push(p);
        }
        if (a < 0.0 && b > 0.0) || (a > 0.0 && b < 0.0) {
            out.push(p.plus(q.minus(p).times(a / (a - b))));
        }
    }
    out
}

/// Area of a polygon, positive when it runs anticlockwise.
pub(crate) fn area(polygon: &[Point]) -> f64 {
    let mut twice = 0.0;
    for (i, &p) in polygon.iter().enumerate() {
        twice += p.cross(polygon[(i + 1) % polygon.len()]);
    }
    twice / 2.0
}

/// Length of a polygon's sides together.
pub(crate) fn perimeter(polygon: &[Point]) -> f64 {
    (0..polygon.len()).map(|i| polygon[(i + 1) % polygon.len()].minus(polygon[i]).length()).sum()
}

/// Distance from a point to a segment.
pub(crate) fn to_segment(p: Point, a: Point, b: Point) -> f64 {
    let ab = b.minus(a);
    let long = ab.dot(ab);
    let t = if long > 0.0 { (p.minus(a).dot(ab) / long).clamp(0.0, 1.0) } else { 0.0 };
    p.minus(a.plus(ab.times(t))).length()
}

/// How deep two convex polygons (anticlockwise) overlap: the shortest push that parts them. Where they lie apart,
/// minus the largest gap between parallel lines along a side, which is at most their distance.
pub(crate) fn overlap(a: &[Point], b: &[Point]) -> f64 {
    sides_overlap(a, b).min(sides_overlap(b, a))
}

fn sides_overlap(a: &[Point], b: &[Point]) -> f64 {
    let mut least = f64::INFINITY;
    for i in 0..a.len() {
        let side = a[(i + 1) % a.len()].minus(a[i]);
        let long = side.length();
        if long > 0.0 {
            // The inside of `a` is on the left of each side, where the cross product is positive.
            let deepest = b.iter().map(|&q| side.cross(q.minus(a[i]))).fold(f64::NEG_INFINITY, f64::max);
            least = least.min(deepest / long);
        }
    }
    least
}

/// Distance between two convex polygons that lie apart.
pub(crate) fn gap(a: &[Point], b: &[Point]) -> f64 {
    let mut least = f64::INFINITY;
    for (p, q) in [(a, b), (b, a)] {
        for &corner in p {
            for i in 0..q.len() {
                least = least.min(to_segment(corner, q[i], q[(i + 1) % q.len()]));
            }
        }
    }
    least
}

/// The convex hull, anticlockwise (Andrew's monotone chain).
pub(crate) fn hull(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x));
    // Points of an upright side differ in x by rounding alone; in that order its corners would be taken for points between.
    for column in points.chunk_by_mut(|a, b| b.x - a.x < TOUCH) {
        column.sort_by(|a, b| a.y.total_cmp(&b.y));
    }
    let mut all: Vec<Point> = Vec::new();
    for pass in 0..2 {
        let start = all.len();
        for &p in &points {
            // Corners nearer to a straight line than a nanometre are left out: they are rounding, not corners.
            while all.len() >= start + 2 && {
                let (a, b) = (all[all.len() - 2], all[all.len() - 1]);
                b.minus(a).cross(p.minus(b)) <= TOUCH * p.minus(a).length()
            } {
                all.pop();
            }
            all.push(p);
        }
        all.pop();
        if pass == 0 {
            points.reverse();
        }
    }
    all
}

/// The least and the most of some numbers.
pub(crate) fn range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square whose upright sides have points between, each a little off in x as rounding has them: four corners are left.
    #[test]
    fn rounding_costs_a_hull_no_corner() {
        let tiny = 1e-13;
        // At nought, and between two millionths, rounding goes either way.
        for left in [0.0, -87.5, 0.5 * TOUCH] {
            let mut points = Vec::new();
            for (n, y) in [0.0, 25.0, 50.0, 75.0, 100.0].into_iter().enumerate() {
                let off = tiny * (n as f64 - 2.0);
                points.extend([
                    Point::new(left + off, y),
                    Point::new(left + 87.5 - off, y),
                    Point::new(left + 87.5 + off, 100.0 - y),
                ]);
            }
            let hull = hull(points);
            assert_eq!(hull.len(), 4, "{hull:?}");
            assert!((area(&hull) - 8750.0).abs() < 1e-6, "{hull:?}");
        }
    }
}
