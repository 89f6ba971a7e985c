//! Specs that several tests start from.
#![allow(dead_code, clippy::unwrap_used)]

use stripwright_pattern::*;
use stripwright_units::{Angle, Length};

pub(crate) fn mm(n: f64) -> Length {
    Length::nearest_mm(n)
}

pub(crate) fn mark() -> Length {
    Length::from_um(500)
}

/// A small metric shop: mark 0.5 mm, bias kerf 2.2 mm, 10 mm at each end, 0.8 + 0.8 mm planed off each face, 0.3 mm
/// sanded, 330 mm planer with 0.4 mm bite.
pub(crate) fn shop() -> Shop {
    Shop {
        mark: Length::from_um(500),
        bias_kerf: Length::from_um(2_200),
        saw_reach: None,
        end_allowance: Length::from_mm(10),
        plane_slab: Length::from_um(800),
        plane_blank: Length::from_um(800),
        sanding: Length::from_um(300),
        outline_kerf: Length::from_mm(6),
        planer: Planer {
            width: Some(Length::from_mm(330)),
            bite: Length::from_um(400),
            shortest: Length::from_mm(305),
        },
        clamp: Clamp {
            reach: Some(Length::from_mm(1200)),
            force: 4000.0,
            caul: Length::from_mm(30),
            pressure: 1.0,
        },
        glue: Glue {
            spread: 200.0,
            faces: 1,
            end_grain: 0.25,
            squeeze_out: 0.1,
            open_minutes: 10.0,
            strips_a_minute: 2.0,
            bottle: 1000.0,
        },
        drum: None,
        sled: RouterSled { cutter: Length::from_mm(25), step_over: 0.8, bite: Length::from_mm(1), feed: 3.0 },
    }
}

/// One kind of sheet, so thick.
pub(crate) fn plain(thickness: f64) -> Sequence {
    Sequence {
        laminations: vec![Lamination { kind: 0, thickness: mm(thickness), longest: mm(2430.0) }],
        glue_line: Length::ZERO,
    }
}

/// The design's example: round 600 mm, margin 6, 18 mm sheets, 32 mm finished.
pub(crate) fn top(pattern: Pattern) -> TopSpec {
    TopSpec {
        count: 1,
        outline: Outline::Round { diameter: mm(600.0) },
        margin: mm(6.0),
        pattern,
        sequence: plain(18.0),
        finished: mm(32.0),
        slab: SlabStyle::Either,
        staggered: true,
        spare: 0,
        phase: Phase::Free,
    }
}

pub(crate) fn chevron(angle: f64, band: f64) -> Pattern {
    Pattern::Chevron { angle: Angle::degrees(angle), bands: BandSize::Width(mm(band)), centre: None }
}

pub(crate) fn herringbone(w: f64, l: f64) -> Pattern {
    Pattern::Herringbone { width: Side::Given(mm(w)), length: Side::Given(mm(l)), lay: Lay::Along }
}

/// Makes that cover everything: greedily the one that yields most of what is still wanted.
pub(crate) fn choose(face: &Face, makes: &[SlabMake]) -> Vec<(usize, u32)> {
    let mut want: Vec<u32> = face.covers.iter().map(|c| c.count).collect();
    let mut chosen = Vec::new();
    while want.iter().any(|&w| w > 0) {
        let gain = |m: &SlabMake| m.yields.iter().map(|&(c, n)| n.min(want[c])).sum::<u32>();
        let best = (0..makes.len()).max_by_key(|&m| (gain(&makes[m]), usize::MAX - m)).unwrap();
        assert!(gain(&makes[best]) > 0);
        for &(c, n) in &makes[best].yields {
            want[c] -= n.min(want[c]);
        }
        chosen.push((best, 1));
    }
    chosen
}

/// From spec to ledger: face, makes, and what is chosen of them greedily; how many strips.
pub(crate) fn whole(spec: &TopSpec) -> u32 {
    let shop = shop();
    let face = face(spec, mark()).unwrap();
    let makes = face.makes(&shop).unwrap();
    face.unroll(&shop, &makes, &choose(&face, &makes)).strips_total
}

/// Tops whose unrolling is timed: name, how long it may take, and the top.
pub(crate) fn unrolled() -> Vec<(&'static str, &'static str, TopSpec)> {
    let oval = Outline::Oval { length: mm(900.0), width: mm(500.0) };
    let on = |outline: &Outline, pattern| TopSpec { outline: outline.clone(), ..top(pattern) };
    let fine = |pattern| TopSpec {
        outline: Outline::Round { diameter: mm(1200.0) },
        sequence: plain(12.0),
        ..top(pattern)
    };
    let weave = Pattern::BasketWeave {
        width: Side::Laminations(2),
        blocks: 3,
        lay: Lay::Along,
        turn: Angle::degrees(0.0),
    };
    vec![
        ("straight, round 600", "5 ms", top(Pattern::Straight { angle: Angle::degrees(0.0) })),
        ("chevron, round 600", "5 ms", top(chevron(45.0, 70.0))),
        ("chevron, oval 900", "5 ms", on(&oval, chevron(45.0, 70.0))),
        ("herringbone, round 600", "5 ms", top(herringbone(54.0, 216.0))),
        ("herringbone, oval 900", "5 ms", on(&oval, herringbone(54.0, 216.0))),
        ("basket weave, round 600", "5 ms", top(weave)),
        ("sunburst, round 600", "5 ms", top(Pattern::Sunburst { wedges: 12, lay: Lay::Across })),
        ("chevron, round 1200 of 12 mm strips", "50 ms", fine(chevron(45.0, 50.0))),
        ("herringbone, round 1200 of 12 mm strips", "50 ms", fine(herringbone(36.0, 144.0))),
    ]
}
