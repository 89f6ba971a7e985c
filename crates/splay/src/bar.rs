//! Where one rung's faces and edges lie, in millimetres.
//!
//! A rung is symmetrical about the middle plane of the base, so half of one rung says everything. Coordinates: `q`
//! outwards from the centre of the base (y for the rungs at front and back, x for those at left and right), `z` up
//! from the floor, and `s` along the rung from its middle.

use stripwright_units::Angle;

use crate::rung::RungPair;
use crate::shape::Shape;
use crate::spec::{Edges, RungSpec, Stance};

/// One rung of a pair, placed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bar {
    pub(crate) pair: RungPair,
    /// The face's lean from vertical.
    pub(crate) lean: Angle,
    pub(crate) edges: Edges,
    /// Breadth of the face up its slope, and thickness square to it.
    pub(crate) breadth: f64,
    pub(crate) thickness: f64,
    /// Height of the top edge at the outer face, and `q` of that arris.
    pub(crate) top: f64,
    pub(crate) outer: f64,
    /// The shoulder: `s = base + per_q * q + per_z * z`.
    base: f64,
    pub(crate) per_q: f64,
    pub(crate) per_z: f64,
    /// The leg's inner face that the shoulder meets: `q` of its outer arris at the floor, and its level breadth.
    arris: f64,
    leg_tan: f64,
    pub(crate) leg_breadth: f64,
}

/// A corner of a rung's section.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Corner {
    OuterTop,
    OuterBottom,
    InnerBottom,
    InnerTop,
}

impl Corner {
    pub(crate) const ROUND: [Corner; 4] =
        [Corner::OuterTop, Corner::OuterBottom, Corner::InnerBottom, Corner::InnerTop];
}

impl Bar {
    pub(crate) fn new(shape: &Shape, spec: &RungSpec) -> Bar {
        let (a, b, h) = (shape.a, shape.b, shape.h);
        let ([hx, hy], [w, d]) = (shape.half, shape.leg);
        let top = spec.height.to_mm();
        let (leg_lean, arris_top, leg_breadth, [base, per_q, per_z]) = match spec.pair {
            // The leg's inner side face: N = (cos m, -sin m sin B, sin m cos B) through the inner arris of the plane
            // face, solved for x.
            RungPair::FrontAndBack => {
                let k = a.tan() * b.cos();
                let base = hx - w / shape.cos_m() + k * (b.cos() * h - b.sin() * hy);
                (b, hy, d / b.cos(), [base, k * b.sin(), -k * b.cos()])
            }
            // The leg's inner plane face: N = (0, cos B, sin B), solved for y. Its outer arris is the inner arris of
            // the side face, which lies `d tan A sin B` further in than the outer corner.
            RungPair::LeftAndRight => {
                let base = hy - d / b.cos() + b.tan() * h;
                (a, hx - d * a.tan() * b.sin(), w / shape.cos_m(), [base, 0.0, -b.tan()])
            }
        };
        let lean = match spec.stance {
            Stance::InPlane => leg_lean,
            Stance::Plumb => Angle::degrees(0.0),
        };
        let arris = arris_top + h * leg_lean.tan();
        let outer = arris - top * leg_lean.tan() - spec.set_in.to_mm() / lean.cos();
        Bar {
            pair: spec.pair,
            lean,
            edges: spec.edges,
            breadth: spec.section.width.to_mm(),
            thickness: spec.section.thickness.to_mm(),
            top,
            outer,
            base,
            per_q,
            per_z,
            arris,
            leg_tan: leg_lean.tan(),
            leg_breadth,
        }
    }

    /// (q, z) of a corner of the section.
    pub(crate) fn corner(&self, corner: Corner) -> [f64; 2] {
        let (sin, cos) = (self.lean.sin(), self.lean.cos());
        let inward = match self.edges {
            Edges::Level => [-self.thickness / cos, 0.0],
            Edges::Square => [-self.thickness * cos, -self.thickness * sin],
        };
        let down = [self.breadth * sin, -self.breadth * cos];
        let (i, d) = match corner {
            Corner::OuterTop => (0.0, 0.0),
            Corner::OuterBottom => (0.0, 1.0),
            Corner::InnerBottom => (1.0, 1.0),
            Corner::InnerTop => (1.0, 0.0),
        };
        [self.outer + i * inward[0] + d * down[0], self.top + i * inward[1] + d * down[1]]
    }

    /// Half the rung's length at a point of its section.
    pub(crate) fn half_length(&self, [q, z]: [f64; 2]) -> f64 {
        self.base + self.per_q * q + self.per_z * z
    }

    /// Full length along an arris.
    pub(crate) fn length(&self, corner: Corner) -> f64 {
        2.0 * self.half_length(self.corner(corner))
    }

    /// The lowest point of the section.
    pub(crate) fn bottom(&self) -> f64 {
        Corner::ROUND.into_iter().map(|c| self.corner(c)[1]).fold(f64::INFINITY, f64::min)
    }

    /// How far a point of the section lies inside the outer arris of the leg's inner face, level.
    pub(crate) fn inside_arris(&self, [q, z]: [f64; 2]) -> f64 {
        self.arris - z * self.leg_tan - q
    }

    /// How far the rung's section stands in beyond the leg's inner face, level; negative when it does not.
    pub(crate) fn overhang(&self) -> f64 {
        Corner::ROUND.into_iter().map(|c| self.inside_arris(self.corner(c))).fold(f64::NEG_INFINITY, f64::max)
            - self.leg_breadth
    }

    /// Slope of the shoulder on the face: how much shorter one side gets for one of breadth up the face.
    pub(crate) fn face_slope(&self) -> f64 {
        self.per_q * self.lean.sin() - self.per_z * self.lean.cos()
    }

    /// How much further one shoulder stands out for one along the outward normal of the face.
    pub(crate) fn out_slope(&self) -> f64 {
        self.per_q * self.lean.cos() + self.per_z * self.lean.sin()
    }
}

impl Bar {
    /// Inner and outer `q` of the section at height `z`, if it is that high.
    pub(crate) fn slice(&self, z: f64) -> Option<[f64; 2]> {
        let corners = Corner::ROUND.map(|c| self.corner(c));
        let mut range: Option<[f64; 2]> = None;
        for i in 0..4 {
            let ([q0, z0], [q1, z1]) = (corners[i], corners[(i + 1) % 4]);
            if (z - z0) * (z - z1) > 0.0 {
                continue;
            }
            let ends = if z0 == z1 { [q0, q1] } else { [q0 + (q1 - q0) * (z - z0) / (z1 - z0); 2] };
            for q in ends {
                range = Some(range.map_or([q, q], |[low, high]| [low.min(q), high.max(q)]));
            }
        }
        range
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use stripwright_units::Length;

    /// By hand: legs plumb at 100 mm from the centre, so a rung at front and back stands upright between q = 80 and 100, from
    /// 50 to 90 high; turned to 45 degrees about its top outer arris at (100, 90) with square edges, its corners lie at
    /// (100, 90), (128.28, 61.72), (114.14, 47.57) and (85.86, 75.86).
    #[test]
    fn slices_of_an_upright_and_of_a_leaning_rung() {
        let plumb = Angle::degrees(0.0);
        let shape = Shape { a: plumb, b: plumb, h: 200.0, half: [100.0; 2], leg: [40.0; 2] };
        let mm = Length::from_mm;
        let section = crate::spec::Section { width: mm(40), thickness: mm(20) };
        let usual = RungSpec::usual(RungPair::FrontAndBack, mm(90), section, mm(1));
        let spec = RungSpec { section, edges: Edges::Square, ..usual };
        let upright = Bar::new(&shape, &spec);
        assert_eq!(upright.slice(70.0), Some([80.0, 100.0]));
        assert_eq!(upright.slice(90.0), Some([80.0, 100.0]));
        assert_eq!((upright.slice(90.1), upright.slice(49.9)), (None, None));
        let leaning = Bar { lean: Angle::degrees(45.0), ..upright };
        let near = |z: f64, wanted: [f64; 2]| {
            let found = leaning.slice(z).expect("a slice");
            assert!(found.iter().zip(wanted).all(|(f, w)| (f - w).abs() < 0.01), "{found:?} at {z}");
        };
        // At a corner's height the other end lies on the opposite edge, which falls at 45 degrees.
        near(90.0, [100.0, 100.0]);
        near(80.0, [90.0, 110.0]);
        near(70.0, [91.72, 120.0]);
        near(60.0, [101.72, 126.57]);
        assert_eq!(leaning.slice(47.0), None);
    }
}
