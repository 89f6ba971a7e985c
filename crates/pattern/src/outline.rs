//! The finished plan shape: its area, its edge, and the bodies that it is when grown by the margin.

use stripwright_units::{Angle, Length, trig};

use crate::body::Body;
use crate::fault::Refusal;
use crate::geometry::{area, perimeter};
use crate::limits;
use crate::spec::{Across, Outline, Point};

impl Outline {
    /// Area in square millimetres.
    pub fn area(&self) -> f64 {
        let pi = std::f64::consts::PI;
        match self {
            Outline::Round { diameter } => pi / 4.0 * diameter.to_mm() * diameter.to_mm(),
            Outline::Oval { length, width } => pi / 4.0 * length.to_mm() * width.to_mm(),
            Outline::Rectangle { length, width } => length.to_mm() * width.to_mm(),
            Outline::RoundedRectangle { length, width, radius } => {
                length.to_mm() * width.to_mm() - (4.0 - pi) * radius.to_mm() * radius.to_mm()
            }
            Outline::Polygon { .. } | Outline::Free { .. } => area(&self.corners()),
        }
    }

    /// Length of the edge in millimetres. An oval's is Ramanujan's second approximation (1914), whose error is below
    /// 1e-9 of the length for ovals up to three times as long as wide.
    pub fn perimeter(&self) -> f64 {
        let pi = std::f64::consts::PI;
        match self {
            Outline::Round { diameter } => pi * diameter.to_mm(),
            Outline::Oval { length, width } => {
                let (a, b) = (length.to_mm() / 2.0, width.to_mm() / 2.0);
                let h = ((a - b) / (a + b)) * ((a - b) / (a + b));
                pi * (a + b) * (1.0 + 3.0 * h / (10.0 + (4.0 - 3.0 * h).sqrt()))
            }
            Outline::RoundedRectangle { length, width, radius } => {
                2.0 * (length.to_mm() + width.to_mm()) - (8.0 - 2.0 * pi) * radius.to_mm()
            }
            _ => perimeter(&self.corners()),
        }
    }

    /// The edge as a polygon, anticlockwise, for drawing: no point of a curve is further than `error` millimetres
    /// from its chord, and the corners of the polygon lie on the curve, so the polygon is inside it.
    pub fn edge(&self, error: f64) -> Vec<Point> {
        let arc = |radius: f64| {
            // The sagitta of a chord over the angle t is r (1 - cos(t/2)).
            let turn = 2.0 * trig::acos(1.0 - (error / radius).min(0.5));
            (std::f64::consts::TAU / turn).ceil().max(12.0)
        };
        match self {
            Outline::Round { diameter } => {
                ring(diameter.to_mm() / 2.0, diameter.to_mm() / 2.0, arc(diameter.to_mm() / 2.0))
            }
            Outline::Oval { length, width } => {
                // Stretching a circle's polygon to the oval stretches no sagitta beyond the larger half axis'.
                let (a, b) = (length.to_mm() / 2.0, width.to_mm() / 2.0);
                ring(a, b, arc(a.max(b)))
            }
            Outline::RoundedRectangle { length, width, radius } => {
                let r = radius.to_mm();
                let quarter = (arc(r) / 4.0).ceil();
                let (x, y) = (length.to_mm() / 2.0 - r, width.to_mm() / 2.0 - r);
                let mut points = Vec::new();
                for (corner, (cx, cy)) in [(x, y), (-x, y), (-x, -y), (x, -y)].into_iter().enumerate() {
                    for i in 0..=quarter as usize {
                        let turn = (corner as f64 + i as f64 / quarter) * std::f64::consts::FRAC_PI_2;
                        points.push(Point::new(cx, cy).plus(Point::towards(turn).times(r)));
                    }
                }
                points
            }
            _ => self.corners(),
        }
    }

    /// The edge moved outward by `margin`, as a polygon for drawing, to the same error. `None` for a free outline with
    /// hollows, whose grown edge is no simple walk round its corners.
    pub fn grown_edge(&self, margin: Length, error: f64) -> Option<Vec<Point>> {
        let [body] = &self.bodies(margin)[..] else { return None };
        let (least, most) = self.bounds();
        let reach = most.minus(least).length() + margin.to_mm();
        let turn = 2.0 * trig::acos(1.0 - (error / reach).min(0.5));
        let count = (std::f64::consts::TAU / turn).ceil().max(12.0) as usize;
        Some(
            (0..count)
                .map(|i| {
                    body.furthest(Point::towards(std::f64::consts::TAU * (i as f64 + 0.5) / count as f64))
                })
                .collect(),
        )
    }

    /// Corners, anticlockwise: of the rectangle round a curved outline.
    pub(crate) fn corners(&self) -> Vec<Point> {
        match self {
            Outline::Round { diameter } => rectangle(diameter.to_mm(), diameter.to_mm()),
            Outline::Oval { length, width }
            | Outline::Rectangle { length, width }
            | Outline::RoundedRectangle { length, width, .. } => rectangle(length.to_mm(), width.to_mm()),
            Outline::Polygon { sides, size } => {
                let half = Angle::degrees(180.0 / f64::from(*sides));
                let radius = match size {
                    Across::Corners(across) => across.to_mm() / 2.0,
                    Across::Flats(across) => across.to_mm() / 2.0 / half.cos(),
                };
                // The side that starts at the first corner is the one at the bottom.
                (0..*sides)
                    .map(|i| {
                        let turn = Angle::degrees(-90.0 + (2.0 * f64::from(i) - 1.0) * half.to_degrees());
                        Point::new(radius * turn.cos(), radius * turn.sin())
                    })
                    .collect()
            }
            Outline::Free { points } => {
                let mut corners: Vec<Point> =
                    points.iter().map(|(x, y)| Point::new(x.to_mm(), y.to_mm())).collect();
                if area(&corners) < 0.0 {
                    corners.reverse();
                }
                corners
            }
        }
    }

    /// Smallest and largest coordinates.
    pub fn bounds(&self) -> (Point, Point) {
        let corners = self.corners();
        let mut range = (corners[0], corners[0]);
        for p in corners {
            range.0 = Point::new(range.0.x.min(p.x), range.0.y.min(p.y));
            range.1 = Point::new(range.1.x.max(p.x), range.1.y.max(p.y));
        }
        range
    }

    /// The outline grown by the margin, as convex bodies that cover it.
    pub(crate) fn bodies(&self, margin: Length) -> Vec<Body> {
        let m = margin.to_mm();
        match self {
            Outline::Round { diameter } => vec![Body::disc(Point::default(), diameter.to_mm() / 2.0 + m)],
            Outline::Oval { length, width } => {
                vec![Body::ellipse(length.to_mm() / 2.0, width.to_mm() / 2.0, m)]
            }
            Outline::RoundedRectangle { length, width, radius } => {
                let (x, y, r) = (length.to_mm(), width.to_mm(), radius.to_mm());
                if x - 2.0 * r <= 0.0 && y - 2.0 * r <= 0.0 {
                    return vec![Body::disc(Point::default(), r + m)];
                }
                // A core without breadth would have no sides; a nanometre keeps the ends of a slot as they are.
                vec![Body::polygon(rectangle((x - 2.0 * r).max(1e-6), (y - 2.0 * r).max(1e-6)), r + m)]
            }
            Outline::Rectangle { .. } | Outline::Polygon { .. } => vec![Body::polygon(self.corners(), m)],
            Outline::Free { .. } => {
                let corners = self.corners();
                let n = corners.len();
                let convex = (0..n).all(|i| {
                    let (a, b, c) = (corners[i], corners[(i + 1) % n], corners[(i + 2) % n]);
                    b.minus(a).cross(c.minus(b)) >= 0.0
                });
                if convex {
                    return vec![Body::polygon(corners, m)];
                }
                triangles(&corners).into_iter().map(|t| Body::polygon(t.to_vec(), m)).collect()
            }
        }
    }

    /// Everything that is wrong with the outline.
    pub(crate) fn refusals(&self, refusals: &mut Vec<Refusal>) {
        let mut positive = |what, found: Length| {
            if !found.is_positive() {
                refusals.push(Refusal::NotPositive { what, found });
            }
        };
        match self {
            Outline::Round { diameter } => positive("The outline's diameter", *diameter),
            Outline::Oval { length, width } | Outline::Rectangle { length, width } => {
                positive("The outline's length", *length);
                positive("The outline's width", *width);
            }
            Outline::RoundedRectangle { length, width, radius } => {
                positive("The outline's length", *length);
                positive("The outline's width", *width);
                positive("The outline's corner radius", *radius);
                let most = Length::from_nm((*length).min(*width).nm() / 2);
                if most.is_positive() && *radius > most {
                    refusals.push(Refusal::RadiusTooLarge { radius: *radius, most });
                }
            }
            Outline::Polygon { sides, size: Across::Flats(across) | Across::Corners(across) } => {
                positive("The outline's size", *across);
                let (least, most) = limits::SIDES;
                if !(least..=most).contains(sides) {
                    refusals.push(Refusal::CountRange { what: "sides", found: *sides, least, most });
                }
            }
            Outline::Free { points } => {
                if points.len() > limits::CORNERS {
                    refusals.push(Refusal::CountRange {
                        what: "corners",
                        found: points.len() as u32,
                        least: 3,
                        most: limits::CORNERS as u32,
                    });
                } else if points.len() < 3 || area(&self.corners()) < 1.0 {
                    refusals.push(Refusal::NoArea);
                } else if let Some(sides) = crossing(points) {
                    refusals.push(Refusal::CrossesItself { sides });
                }
            }
        }
    }
}

fn rectangle(length: f64, width: f64) -> Vec<Point> {
    let (x, y) = (length / 2.0, width / 2.0);
    vec![Point::new(-x, -y), Point::new(x, -y), Point::new(x, y), Point::new(-x, y)]
}

fn ring(a: f64, b: f64, count: f64) -> Vec<Point> {
    (0..count as usize)
        .map(|i| {
            let p = Point::towards(std::f64::consts::TAU * i as f64 / count);
            Point::new(a * p.x, b * p.y)
        })
        .collect()
}

/// The first two sides that meet anywhere but at a corner they share, exactly: coordinates are whole nanometres.
fn crossing(points: &[(Length, Length)]) -> Option<(usize, usize)> {
    let n = points.len();
    let at = |i: usize| (i128::from(points[i % n].0.nm()), i128::from(points[i % n].1.nm()));
    let side = |p: (i128, i128), q: (i128, i128), r: (i128, i128)| {
        ((q.0 - p.0) * (r.1 - p.1) - (q.1 - p.1) * (r.0 - p.0)).signum()
    };
    let between = |p: (i128, i128), q: (i128, i128), r: (i128, i128)| {
        r.0 >= p.0.min(q.0) && r.0 <= p.0.max(q.0) && r.1 >= p.1.min(q.1) && r.1 <= p.1.max(q.1)
    };
    for i in 0..n {
        let (a, b) = (at(i), at(i + 1));
        if a == b {
            return Some((i + 1, (i + 1) % n + 1));
        }
        // A side that folds back over the one before it.
        let c = at(i + 2);
        let back = (b.0 - a.0) * (c.0 - b.0) + (b.1 - a.1) * (c.1 - b.1) < 0;
        if side(a, b, c) == 0 && back {
            return Some((i + 1, (i + 1) % n + 1));
        }
        for j in i + 2..n {
            if i == 0 && j == n - 1 {
                continue;
            }
            let (c, d) = (at(j), at(j + 1));
            let (s, t, u, v) = (side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b));
            let meets = (s != t && u != v)
                || (s == 0 && between(a, b, c))
                || (t == 0 && between(a, b, d))
                || (u == 0 && between(c, d, a))
                || (v == 0 && between(c, d, b));
            if meets {
                return Some((i + 1, j + 1));
            }
        }
    }
    None
}

/// A polygon that does not cross itself (anticlockwise) as triangles: ears cut off one by one.
fn triangles(corners: &[Point]) -> Vec<[Point; 3]> {
    let mut left = corners.to_vec();
    let mut out = Vec::new();
    while left.len() > 3 {
        let n = left.len();
        let ear = (0..n).find(|&i| {
            let (a, b, c) = (left[(i + n - 1) % n], left[i], left[(i + 1) % n]);
            let corner = b.minus(a).cross(c.minus(b));
            corner > 0.0
                && left.iter().all(|&p| {
                    p == a
                        || p == b
                        || p == c
                        || b.minus(a).cross(p.minus(a)) < 0.0
                        || c.minus(b).cross(p.minus(b)) < 0.0
                        || a.minus(c).cross(p.minus(c)) < 0.0
                })
        });
        // Corners in a straight line are no ears: when nothing else is left, they enclose nothing.
        let i = ear.unwrap_or_else(|| {
            (0..n)
                .find(|&i| {
                    let (a, b, c) = (left[(i + n - 1) % n], left[i], left[(i + 1) % n]);
                    b.minus(a).cross(c.minus(b)) == 0.0
                })
                .unwrap_or(0)
        });
        let (a, b, c) = (left[(i + n - 1) % n], left[i], left[(i + 1) % n]);
        if b.minus(a).cross(c.minus(b)) > 0.0 {
            out.push([a, b, c]);
        }
        left.remove(i);
    }
    if left.len() == 3 && area(&left) > 0.0 {
        out.push([left[0], left[1], left[2]]);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(n: i64) -> Length {
        Length::from_mm(n)
    }

    #[test]
    fn areas_and_edges() {
        let hexagon = Outline::Polygon { sides: 6, size: Across::Flats(mm(200)) };
        // Area of a regular hexagon from its width across flats: sqrt(3)/2 d^2.
        assert!((hexagon.area() - 3f64.sqrt() / 2.0 * 40_000.0).abs() < 1e-6);
        assert!(
            (hexagon.corners()[0].y + 100.0).abs() < 1e-9 && (hexagon.corners()[1].y + 100.0).abs() < 1e-9
        );
        let slot = Outline::RoundedRectangle { length: mm(300), width: mm(100), radius: mm(50) };
        assert!((slot.area() - (20_000.0 + std::f64::consts::PI * 2500.0)).abs() < 1e-6);
        for outline in
            [Outline::Round { diameter: mm(600) }, Outline::Oval { length: mm(900), width: mm(400) }, slot]
        {
            let edge = outline.edge(0.01);
            assert!(outline.area() > area(&edge));
            assert!(outline.area() - area(&edge) < 0.01 * outline.perimeter());
            assert!((outline.perimeter() - perimeter(&edge)).abs() < 1.0);
        }
    }

    #[test]
    fn hollow_outlines_fall_into_triangles() {
        let points = [(0, 0), (300, 0), (300, 100), (100, 100), (100, 200), (300, 200), (300, 300), (0, 300)];
        let u = Outline::Free { points: points.iter().map(|&(x, y)| (mm(x), mm(y))).collect() };
        let parts = triangles(&u.corners());
        assert!((parts.iter().map(|t| area(t)).sum::<f64>() - u.area()).abs() < 1e-6);
        assert_eq!(u.area(), 70_000.0);
        let mut refusals = Vec::new();
        u.refusals(&mut refusals);
        assert_eq!(refusals, []);
    }

    #[test]
    fn crossed_outlines_are_refused() {
        for bad in [
            vec![(0, 0), (100, 100), (100, 0), (0, 90)],
            vec![(0, 0), (100, 0), (50, 0), (50, 50)],
            vec![(0, 0), (1, 0)],
        ] {
            let outline = Outline::Free { points: bad.iter().map(|&(x, y)| (mm(x), mm(y))).collect() };
            let mut refusals = Vec::new();
            outline.refusals(&mut refusals);
            assert_eq!(refusals.len(), 1, "{bad:?}");
        }
    }
}
