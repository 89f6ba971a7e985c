//! The route, carried out on the strips, makes the face: lay, cut, turn over, slide, glue, and compare with the tiling.
//! The same random tops balance their ledger.

#![allow(clippy::unwrap_used)]

mod common;

use common::*;
use geo::{Area, BooleanOps, Coord, LineString, MultiPolygon, Polygon};
use proptest::prelude::*;
use stripwright_pattern::*;
use stripwright_units::{Angle, Length};

fn polygon(points: &[Point]) -> MultiPolygon<f64> {
    let ring = points.iter().map(|p| Coord { x: p.x, y: p.y }).collect();
    MultiPolygon(vec![Polygon::new(LineString(ring), vec![])])
}

fn patterns() -> impl Strategy<Value = Pattern> {
    let lay = || prop_oneof![Just(Lay::Along), Just(Lay::Across)];
    let turn = || (0f64..90.0).prop_map(Angle::degrees);
    let steep = || (15f64..75.0).prop_map(Angle::degrees);
    let laminations = || (1u32..5).prop_map(|n| Side::Laminations(2 * n));
    prop_oneof![
        turn().prop_map(|angle| Pattern::Straight { angle }),
        (steep(), 40i64..120).prop_map(|(angle, b)| Pattern::Chevron {
            angle,
            bands: BandSize::Width(Length::from_mm(b)),
            centre: Some(Centre::Seam)
        }),
        (steep(), 2u32..12).prop_map(|(angle, n)| Pattern::Chevron {
            angle,
            bands: BandSize::Number(n),
            centre: None
        }),
        (steep(), 1u32..5)
            .prop_map(|(angle, n)| Pattern::Diamond { angle, bands: Some(BandSize::Number(2 * n)) }),
        (3u32..16, lay()).prop_map(|(wedges, lay)| Pattern::Sunburst { wedges, lay }),
        (laminations(), 170i64..300).prop_map(|(width, l)| Pattern::Herringbone {
            width,
            length: Side::Given(Length::from_mm(l)),
            lay: Lay::Along
        }),
        (laminations(), 10i64..20).prop_map(|(length, w)| Pattern::RunningBond {
            width: Side::Given(Length::from_mm(w)),
            length,
            lay: Lay::Across,
            offset: (1, 4),
            turn: Angle::degrees(30.0)
        }),
        (laminations(), 1u32..4, turn()).prop_map(|(width, blocks, turn)| Pattern::BasketWeave {
            width,
            blocks,
            lay: Lay::Along,
            turn
        }),
    ]
}

fn outlines() -> impl Strategy<Value = Outline> {
    let size = || (250i64..700).prop_map(Length::from_mm);
    prop_oneof![
        size().prop_map(|diameter| Outline::Round { diameter }),
        (size(), size()).prop_map(|(length, width)| Outline::Oval { length, width }),
        (size(), size()).prop_map(|(length, width)| Outline::Rectangle { length, width }),
        (3u32..9, size()).prop_map(|(sides, d)| Outline::Polygon { sides, size: Across::Corners(d) }),
        (150i64..300, 60i64..120).prop_map(|(a, b)| Outline::Free {
            points: [(-a, -a), (a, -a), (a, b - a), (b - a, b - a), (b - a, a), (-a, a)]
                .map(|(x, y)| (Length::from_mm(x), Length::from_mm(y)))
                .to_vec()
        }),
    ]
}

fn specs() -> impl Strategy<Value = TopSpec> {
    let slab = prop_oneof![Just(SlabStyle::Even), Just(SlabStyle::Shaped), Just(SlabStyle::Either)];
    // Two thicknesses of two kinds, or one of one; with and without a glue line.
    let sequence = (10i64..22, 4i64..12, any::<bool>(), 0i64..200).prop_map(|(thick, thin, mixed, glue)| {
        let mut sequence = plain(thick as f64);
        if mixed {
            sequence.laminations.push(Lamination { kind: 1, ..plain(thin as f64).laminations[0].clone() });
        }
        sequence.glue_line = Length::from_um(glue);
        sequence
    });
    (outlines(), patterns(), sequence, slab, any::<bool>(), 1u32..4, 0u32..2, 1i64..12).prop_map(
        |(outline, pattern, sequence, slab, staggered, count, spare, margin)| {
            let margin = Length::from_mm(margin);
            TopSpec { outline, sequence, slab, staggered, count, spare, margin, ..top(pattern) }
        },
    )
}

/// What `b` leaves of `a`, in square millimetres.
fn left(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> f64 {
    a.difference(b).unsigned_area()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, max_global_rejects: 4096, ..ProptestConfig::default() })]

    #[test]
    fn the_route_makes_the_face(spec in specs(), bias_kerf in 1i64..4, allow in 0i64..20) {
        let shop = Shop {
            bias_kerf: Length::from_um(bias_kerf * 1100),
            end_allowance: Length::from_mm(allow),
            ..shop()
        };
        let Ok(face) = face(&spec, mark()) else { return Err(TestCaseError::reject("a block longer across than along")) };
        let Ok(makes) = face.makes(&shop) else { return Err(TestCaseError::reject("longer than the sheets")) };
        let unrolled = face.unroll(&shop, &makes, &choose(&face, &makes));
        prop_assert!(unrolled.ledger.imbalance() < 1e-9, "{:?}", unrolled.ledger);
        for stage in &unrolled.ledger.stages {
            for loss in &stage.losses {
                prop_assert!(loss.1 > -1e-9 * stage.input, "{loss:?} of {stage:?}");
            }
        }
        // Everything asked for is there, once.
        let mut placed: Vec<(u32, usize)> = unrolled.slabs.iter().flat_map(|s| s.pieces.iter().flatten().copied()).collect();
        placed.sort_unstable();
        let wanted: Vec<(u32, usize)> = (0..spec.count).flat_map(|t| (0..face.elements.len()).map(move |e| (t, e))).collect();
        prop_assert_eq!(placed, wanted);
        let spares: u32 = unrolled.spare.iter().map(|s| s.1).sum();
        prop_assert!(spares >= spec.spare * spec.count);

        let edge = spec.outline.grown_edge(spec.margin, 0.01).unwrap_or_else(|| spec.outline.edge(0.01));
        let ground = polygon(&edge);
        let mut blank = 0.0;
        for top in 0..spec.count {
            let built = unrolled.built(&face, &makes, top);
            for cell in &face.cells {
                let stripe = built.iter().find(|b| (b.element, b.lamination) == (cell.element, cell.lamination));
                let needed = polygon(&cell.polygon).intersection(&ground);
                let Some(stripe) = stripe else {
                    prop_assert!(needed.unsigned_area() < 0.5, "no strip for {cell:?}");
                    continue;
                };
                prop_assert_eq!(stripe.kind, cell.kind);
                let bare = left(&needed, &polygon(&stripe.polygon));
                // The edge is drawn to 0.01 mm, strips start and end on exact lines.
                prop_assert!(bare < 0.1, "{bare} mm2 of {cell:?} are bare");
            }
            let area = |points: &[Point]| polygon(points).unsigned_area();
            let total: f64 = built.iter().map(|b| area(&b.polygon)).sum();
            blank += total;
            if top == 0 && built.len() < 150 {
                let whole = built.iter().fold(MultiPolygon(vec![]), |all, b| all.union(&polygon(&b.polygon)));
                prop_assert!((whole.unsigned_area() - total).abs() < 1e-5 * total, "pieces of the blank overlap");
            }
        }
        // The ledger's blank is the blank as built, its waste what lies outside the outline.
        let stage = unrolled.ledger.stages.iter().find(|s| s.name == "cut the outline").unwrap();
        let depth = stage.output / (spec.outline.area() * f64::from(spec.count));
        prop_assert!((stage.input / depth - blank).abs() < 1e-6 * blank);
    }
}
