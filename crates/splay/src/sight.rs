//! What of a base is seen from above, and what of it lies under something else.

use crate::bar::{Bar, Corner};
use crate::joint::place;
use crate::leg::LegPlace;
use crate::shape::Shape;
use crate::vector::Vector;

/// What floats leave between faces that touch, in millimetres.
const TRACE: f64 = 1e-3;

/// A convex piece of wood: four corners round one end, and the same four at the other.
pub(crate) struct Block {
    ends: [[Vector; 4]; 2],
}

impl Block {
    /// A leg, its foot first.
    pub(crate) fn leg(shape: &Shape, leg: LegPlace) -> Block {
        let end = |z: f64| shape.section_at(leg, z).map(|[x, y]| Vector([x, y, z]));
        Block { ends: [0.0, shape.h].map(end) }
    }

    /// One rung of a pair, on the side of the base that `side` (1 or -1) says.
    pub(crate) fn rung(bar: &Bar, side: f64) -> Block {
        let end = |way: f64| {
            Corner::ROUND.map(|corner| {
                let [q, z] = bar.corner(corner);
                place(bar.pair, way * bar.half_length([q, z]), [side * q, z])
            })
        };
        Block { ends: [-1.0, 1.0].map(end) }
    }

    /// Its faces: the normal out of the wood, and how far along it the face lies.
    fn faces(&self) -> [(Vector, f64); 6] {
        let [a, b] = self.ends;
        let side = |i: usize| [a[i], a[(i + 1) % 4], b[(i + 1) % 4], b[i]];
        let middle = a.into_iter().chain(b).fold(Vector([0.0; 3]), |sum, p| sum.plus(p, 0.125));
        [a, b, side(0), side(1), side(2), side(3)].map(|[p, q, _, s]| {
            let normal = q.minus(p).cross(s.minus(p)).unit();
            let out = if normal.dot(middle.minus(p)) > 0.0 { normal.times(-1.0) } else { normal };
            (out, out.dot(p))
        })
    }

    /// From where to where along a line, as shares of it, this wood stands over it.
    fn covers(&self, from: Vector, to: Vector) -> Option<[f64; 2]> {
        // Along the line and up from it: the part of that plane which lies in the wood.
        const HIGH: f64 = 1e5;
        let plane = vec![[0.0, TRACE], [1.0, TRACE], [1.0, HIGH], [0.0, HIGH]];
        let along = to.minus(from);
        let inside = self.faces().into_iter().fold(plane, |plane, (normal, far)| {
            clip(&plane, [normal.dot(along), normal.0[2]], far - TRACE - normal.dot(from))
        });
        let shares = inside.iter().map(|[share, _]| *share);
        let [low, high] = [shares.clone().fold(f64::INFINITY, f64::min), shares.fold(0.0, f64::max)];
        (high - low > TRACE).then_some([low, high])
    }
}

/// What of a convex outline lies where `normal . p <= limit`.
pub(crate) fn clip(outline: &[[f64; 2]], [nx, ny]: [f64; 2], limit: f64) -> Vec<[f64; 2]> {
    let over = |[x, y]: [f64; 2]| nx * x + ny * y - limit;
    let mut kept = Vec::new();
    for (i, &p) in outline.iter().enumerate() {
        let q = outline[(i + 1) % outline.len()];
        let (a, b) = (over(p), over(q));
        if a <= 0.0 {
            kept.push(p);
        }
        if (a < 0.0 && b > 0.0) || (a > 0.0 && b < 0.0) {
            let t = a / (a - b);
            kept.push([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]);
        }
    }
    kept
}

/// The least convex outline round points, anticlockwise (Andrew's way).
pub(crate) fn hull(points: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let half = |points: &mut dyn Iterator<Item = [f64; 2]>| {
        let mut run: Vec<[f64; 2]> = Vec::new();
        for p in points {
            while let [.., a, b] = run[..]
                && (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) <= 1e-9
            {
                run.pop();
            }
            run.push(p);
        }
        // Its end is where the other half begins.
        run.pop();
        run
    };
    let mut round = half(&mut sorted.iter().copied());
    round.extend(half(&mut sorted.iter().rev().copied()));
    round
}

/// A stretch of a line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stretch {
    pub(crate) ends: [Vector; 2],
    pub(crate) seen: bool,
}

/// A line in the stretches that are seen from above and those over which wood stands, in order.
pub(crate) fn stretches(from: Vector, to: Vector, blocks: &[Block]) -> Vec<Stretch> {
    let mut covered: Vec<[f64; 2]> = blocks.iter().filter_map(|block| block.covers(from, to)).collect();
    covered.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut all = Vec::new();
    let mut done = 0.0;
    let mut add = |low: f64, high: f64, seen: bool| {
        if high - low > TRACE {
            let on = |share: f64| from.plus(to.minus(from), share);
            all.push(Stretch { ends: [on(low), on(high)], seen });
        }
    };
    for [low, high] in covered {
        add(done, low, true);
        add(low.max(done), high, false);
        done = done.max(high);
    }
    add(done, 1.0, true);
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cube of ten over the origin, from 20 to 30 high.
    fn cube() -> Block {
        let ring =
            |z: f64| [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]].map(|[x, y]| Vector([x, y, z]));
        Block { ends: [20.0, 30.0].map(ring) }
    }

    #[track_caller]
    fn shares(from: [f64; 3], to: [f64; 3], wanted: &[(f64, f64, bool)]) {
        let found = stretches(Vector(from), Vector(to), &[cube()]);
        let x = |p: Vector| p.0[0];
        let near = |s: &Stretch, w: &(f64, f64, bool)| {
            (x(s.ends[0]) - w.0).abs() < 0.1 && (x(s.ends[1]) - w.1).abs() < 0.1 && s.seen == w.2
        };
        assert!(found.len() == wanted.len(), "{found:?}");
        assert!(found.iter().zip(wanted).all(|(s, w)| near(s, w)), "{found:?}");
    }

    #[test]
    fn a_line_is_hidden_where_wood_stands_over_it() {
        let through = [(-10.0, 0.0, true), (0.0, 10.0, false), (10.0, 20.0, true)];
        shares([-10.0, 5.0, 0.0], [20.0, 5.0, 0.0], &through);
        // Over it or beside it there is nothing to hide it, and what lies on its own faces is seen.
        shares([-10.0, 5.0, 31.0], [20.0, 5.0, 31.0], &[(-10.0, 20.0, true)]);
        shares([-10.0, 11.0, 0.0], [20.0, 11.0, 0.0], &[(-10.0, 20.0, true)]);
        shares([0.0, 0.0, 30.0], [10.0, 0.0, 30.0], &[(0.0, 10.0, true)]);
        shares([0.0, 5.0, 30.0], [10.0, 5.0, 30.0], &[(0.0, 10.0, true)]);
        // It rises through the wood and comes out of the top of it half way.
        shares([0.0, 5.0, 25.0], [10.0, 5.0, 35.0], &[(0.0, 5.0, false), (5.0, 10.0, true)]);
    }

    #[test]
    fn a_hull_has_no_corner_that_is_not_needed() {
        let points = [[0.0, 0.0], [4.0, 0.0], [2.0, 0.0], [2.0, 1.0], [4.0, 3.0], [0.0, 3.0], [0.0, 3.0]];
        assert_eq!(hull(&points), [[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]]);
        assert_eq!(clip(&hull(&points), [1.0, 0.0], 3.0), [[0.0, 0.0], [3.0, 0.0], [3.0, 3.0], [0.0, 3.0]]);
    }
}
