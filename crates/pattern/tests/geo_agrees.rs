//! The rule against an independent polygon library, on random tops.
//!
//! The tilings are laid out again here, straight from the definitions, the outline is grown as a fine polygon, and
//! `geo` says which cells meet it and in how much area. Cells that meet it in less than [`DOUBT`] square millimetres
//! may go either way: the polygon stands for a curve.

#![allow(clippy::unwrap_used)]

mod common;

use common::*;
use geo::{Area, BooleanOps, Coord, LineString, Polygon};
use proptest::prelude::*;
use stripwright_pattern::*;
use stripwright_units::{Angle, Length, trig};

const DOUBT: f64 = 0.5;

fn polygon(points: &[Point]) -> Polygon<f64> {
    Polygon::new(LineString(points.iter().map(|p| Coord { x: p.x, y: p.y }).collect()), vec![])
}

fn shared(a: &Polygon<f64>, b: &Polygon<f64>) -> f64 {
    a.intersection(b).unsigned_area()
}

/// The outline grown by the margin: the outer edge of discs rolled round it, from its own definition.
fn grown(outline: &Outline, margin: f64) -> Polygon<f64> {
    let ring = |at: &dyn Fn(f64) -> Point| -> Vec<Point> {
        (0..1000).map(|i| at(f64::from(i) * std::f64::consts::TAU / 1000.0)).collect()
    };
    let (cos, sin) = (trig::cos, trig::sin);
    let rounded = |x: f64, y: f64, r: f64| {
        ring(&|t: f64| {
            let (c, s) = (cos(t), sin(t));
            Point::new(c.signum() * (x - r) + r * c, s.signum() * (y - r) + r * s)
        })
    };
    let points = match outline {
        Outline::Round { diameter } => {
            let r = diameter.to_mm() / 2.0 + margin;
            ring(&|t| Point::new(r * cos(t), r * sin(t)))
        }
        Outline::Oval { length, width } => {
            let (a, b) = (length.to_mm() / 2.0, width.to_mm() / 2.0);
            ring(&|t| {
                // Point of the ellipse at the parameter t, moved out along its normal (b cos t, a sin t).
                let n = (b * b * cos(t) * cos(t) + a * a * sin(t) * sin(t)).sqrt();
                Point::new(a * cos(t) + margin * b * cos(t) / n, b * sin(t) + margin * a * sin(t) / n)
            })
        }
        Outline::Rectangle { length, width } => {
            rounded(length.to_mm() / 2.0 + margin, width.to_mm() / 2.0 + margin, margin)
        }
        Outline::RoundedRectangle { length, width, radius } => {
            rounded(length.to_mm() / 2.0 + margin, width.to_mm() / 2.0 + margin, radius.to_mm() + margin)
        }
        Outline::Polygon { .. } | Outline::Free { .. } => {
            // Union of the polygon, a box along each side and a disc at each corner.
            let corners = outline.edge(0.01);
            let mut all = geo::MultiPolygon(vec![polygon(&corners)]);
            for (i, p) in corners.iter().enumerate() {
                let q = corners[(i + 1) % corners.len()];
                let long = trig::hypot(q.x - p.x, q.y - p.y);
                let (nx, ny) = ((q.y - p.y) / long * margin, (p.x - q.x) / long * margin);
                let side = [*p, Point::new(p.x + nx, p.y + ny), Point::new(q.x + nx, q.y + ny), q];
                let disc = ring(&|t| Point::new(p.x + margin * cos(t), p.y + margin * sin(t)));
                all = all.union(&polygon(&side)).union(&polygon(&disc));
            }
            return all.0.into_iter().next().unwrap();
        }
    };
    polygon(&points)
}

fn outlines() -> impl Strategy<Value = Outline> {
    let size = || (200i64..700).prop_map(Length::from_mm);
    prop_oneof![
        size().prop_map(|diameter| Outline::Round { diameter }),
        (size(), size()).prop_map(|(length, width)| Outline::Oval { length, width }),
        (size(), size()).prop_map(|(length, width)| Outline::Rectangle { length, width }),
        (size(), size(), 5i64..100).prop_map(|(length, width, r)| Outline::RoundedRectangle {
            length,
            width,
            radius: Length::from_mm(r)
        }),
        (3u32..9, size()).prop_map(|(sides, d)| Outline::Polygon { sides, size: Across::Flats(d) }),
        // An L, off the pin.
        (150i64..300, 40i64..120).prop_map(|(a, b)| Outline::Free {
            points: [(-a, -a), (a, -a), (a, b - a), (b - a, b - a), (b - a, a), (-a, a)]
                .map(|(x, y)| (Length::from_mm(x), Length::from_mm(y)))
                .to_vec()
        }),
    ]
}

fn check(face: &Face, cells: &[(Vec<Point>, usize)]) {
    let outline = &face.spec.outline;
    let ground = grown(outline, face.spec.margin.to_mm());
    // What the definition says is needed, cell by cell; the face's cells are found by their middle.
    let middle = |points: &[Point]| {
        let n = points.len() as f64;
        (points.iter().map(|p| p.x).sum::<f64>() / n, points.iter().map(|p| p.y).sum::<f64>() / n)
    };
    let mut missing = face.cells.len() as i64;
    let (low, high) = outline.bounds();
    let reach = face.spec.margin.to_mm() + 0.1;
    let apart = |points: &[Point]| {
        points.iter().all(|p| p.x < low.x - reach)
            || points.iter().all(|p| p.x > high.x + reach)
            || points.iter().all(|p| p.y < low.y - reach)
            || points.iter().all(|p| p.y > high.y + reach)
    };
    for (cell, _) in cells {
        // `geo` takes its time: what lies beyond the outline's bounds needs no library.
        let met = if apart(cell) { 0.0 } else { shared(&polygon(cell), &ground) };
        let at = middle(cell);
        let found = face.cells.iter().any(|c| {
            let m = middle(&c.polygon);
            (m.0 - at.0).abs() < 1e-3 && (m.1 - at.1).abs() < 1e-3
        });
        missing -= i64::from(found);
        assert!(met < DOUBT || found, "{at:?} meets {met} and is not in the face {:?}", face.spec);
        assert!(met > 0.0 || !found || met < DOUBT, "{at:?} does not meet and is in the face");
        if found && met < 1e-6 {
            // Inside the true curve, outside the polygon: no more than the polygon's own error.
            let near = shared(&polygon(cell), &grown(outline, face.spec.margin.to_mm() + 0.02));
            assert!(near > 0.0, "{at:?} is in the face and does not meet {:?}", face.spec);
        }
    }
    assert_eq!(missing, 0, "cells of the face that the definition does not have: {:?}", face.spec);
    // Needed cells, clipped to the outline, are the outline.
    let shape = polygon(&outline.edge(0.001));
    let covered: f64 = face.cells.iter().map(|c| shared(&polygon(&c.polygon), &shape)).sum();
    let area = shape.unsigned_area();
    assert!((covered - area).abs() < 1e-6 * area, "{covered} of {area}: {:?}", face.spec);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn chevron_cells(outline in outlines(), angle in 15f64..75.0, band in 35f64..140.0, t in 6f64..24.0, margin in 0.5f64..12.0, held in proptest::option::of(0f64..30.0), seam: bool) {
        let (band, t, margin) = (mm((band * 10.0).round() / 10.0), (t * 10.0).round() / 10.0, mm(margin));
        let mut spec = top(Pattern::Chevron {
            angle: Angle::degrees(angle),
            bands: BandSize::Width(band),
            centre: Some(if seam { Centre::Seam } else { Centre::Band }),
        });
        if let Outline::RoundedRectangle { length, width, radius } = &outline {
            prop_assume!(*radius * 2 <= (*length).min(*width));
        }
        (spec.outline, spec.margin, spec.sequence) = (outline, margin, plain(t));
        spec.phase = held.map_or(Phase::Free, |f| Phase::Held(f, 0.0));
        let face = face(&spec, mark()).unwrap();
        // Bands left to right, every other one turned over, laminations `t / sin a` apart on the edge.
        let (a, b) = (angle.to_radians(), band.to_mm());
        let (h, rise) = (t / trig::sin(a), b * trig::cos(a) / trig::sin(a));
        let half = { let (low, high) = spec.outline.bounds(); high.x.max(-low.x) + margin.to_mm() };
        let count = if seam { 2 * (half / b).ceil() as i64 } else { 2 * (half / b - 0.5).ceil() as i64 + 1 };
        let mut cells = Vec::new();
        for i in 0..count {
            let x = (i as f64 - count as f64 / 2.0) * b;
            let (left, right) = if i % 2 == 0 { (0.0, rise) } else { (rise, 0.0) };
            for j in -((1000.0 / h) as i64)..(1000.0 / h) as i64 {
                let y = face.phase.0 + j as f64 * h;
                let cell = vec![
                    Point::new(x, y + left),
                    Point::new(x + b, y + right),
                    Point::new(x + b, y + right + h),
                    Point::new(x, y + left + h),
                ];
                cells.push((cell, i as usize));
            }
        }
        check(&face, &cells);
    }

    #[test]
    fn block_cells(outline in outlines(), q in 1u32..4, long in 1f64..4.0, t in 10f64..25.0, margin in 0.5f64..12.0, x in 0f64..100.0, y in 0f64..100.0, which in 0..3) {
        if let Outline::RoundedRectangle { length, width, radius } = &outline {
            prop_assume!(*radius * 2 <= (*length).min(*width));
        }
        let t = t.round();
        let (w, l) = (f64::from(q) * t, (f64::from(q) * t * long * 10.0).round() / 10.0);
        let blocks = long.round() as u32;
        let (width, length) = (Side::Laminations(q), Side::Given(mm(l)));
        let turn = Angle::degrees(y);
        let (pattern, angle) = match which {
            0 => (Pattern::Herringbone { width, length, lay: Lay::Along }, 45.0),
            1 => (Pattern::RunningBond { width, length, lay: Lay::Along, offset: (1, 3), turn }, y),
            _ => (Pattern::BasketWeave { width, blocks, lay: Lay::Along, turn }, y),
        };
        let mut spec = top(pattern);
        (spec.outline, spec.margin, spec.sequence) = (outline, mm(margin), plain(t));
        spec.phase = Phase::Held(x, y);
        let face = face(&spec, mark()).unwrap();
        // Lying and standing blocks, stripe by stripe, from the tilings' own definitions.
        let mut places: Vec<(f64, f64, bool)> = Vec::new();
        for i in -60i64..60 {
            for j in -60i64..60 {
                let (i, j) = (i as f64, j as f64);
                match which {
                    0 => {
                        let (ox, oy) = (i * w + j * l, i * w - j * l);
                        places.extend([(ox, oy, false), (ox, oy + w, true)]);
                    }
                    1 => places.push((i * l + j * l / 3.0, j * w, false)),
                    _ => {
                        let s = w * f64::from(blocks);
                        let upright = (i + j).rem_euclid(2.0) == 1.0;
                        for k in 0..blocks {
                            let k = f64::from(k) * w;
                            places.push(if upright { (i * s + k, j * s, true) } else { (i * s, j * s + k, false) });
                        }
                    }
                }
            }
        }
        let l = if which == 2 { w * f64::from(blocks) } else { l };
        let (c, s) = (trig::cos(angle.to_radians()), trig::sin(angle.to_radians()));
        let mut cells = Vec::new();
        for (i, &(px, py, upright)) in places.iter().enumerate() {
            let (px, py) = (px + x, py + y);
            if trig::hypot(px, py) > 1100.0 {
                continue;
            }
            for k in 0..q {
                let (lo, hi) = (f64::from(k) * t, f64::from(k + 1) * t);
                let (x0, x1, y0, y1) = if upright { (lo, hi, 0.0, l) } else { (0.0, l, lo, hi) };
                let corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)];
                let cell: Vec<Point> = corners
                    .iter()
                    .map(|&(u, v)| Point::new((px + u) * c - (py + v) * s, (px + u) * s + (py + v) * c))
                    .collect();
                cells.push((cell, i));
            }
        }
        // Whole blocks are made: a block's stripe that the outline does not need is not in the face's cells.
        check(&face, &cells);
        let blocks: std::collections::BTreeSet<usize> = face.cells.iter().map(|c| c.element).collect();
        assert_eq!(blocks.len(), face.elements.len());
    }

    /// No phase that is tried has fewer laminations than the one that was chosen.
    #[test]
    fn no_sampled_phase_is_better(outline in outlines(), angle in 15f64..75.0, which in 0..6, tries in proptest::collection::vec((0f64..1.0, 0f64..1.0), 60)) {
        if let Outline::RoundedRectangle { length, width, radius } = &outline {
            prop_assume!(*radius * 2 <= (*length).min(*width));
        }
        let turn = Angle::degrees(angle);
        let pattern = match which {
            0 => chevron(angle, 70.0),
            1 => Pattern::Straight { angle: turn },
            2 => Pattern::Diamond { angle: turn, bands: Some(BandSize::Width(mm(60.0))) },
            3 => Pattern::Sunburst { wedges: 7, lay: Lay::Along },
            4 => herringbone(54.0, 162.0),
            _ => Pattern::RunningBond { width: Side::Laminations(3), length: Side::Given(mm(150.0)), lay: Lay::Along, offset: (1, 2), turn },
        };
        let mut spec = top(pattern);
        spec.outline = outline;
        let best = face(&spec, mark()).unwrap();
        prop_assert!(best.proven);
        let count = |face: &Face| face.laminations().iter().sum::<u32>();
        for (x, y) in tries {
            spec.phase = Phase::Held(x * 216.0, y * 216.0);
            prop_assert!(count(&face(&spec, mark()).unwrap()) >= count(&best), "{:?}", spec);
        }
    }
}
