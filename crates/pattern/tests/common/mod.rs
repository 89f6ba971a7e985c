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

/// One kind of sheet, so thick.
pub(crate) fn plain(thickness: f64) -> Sequence {
    Sequence {
        laminations: vec![Lamination {
            kind: 0,
            thickness: mm(thickness),
            longest: mm(2430.0),
            density: 685.0,
        }],
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
