//! The worked values that the design states, each computed there with a polygon library.

#![allow(clippy::unwrap_used)]

mod common;

use common::*;
use stripwright_pattern::*;

fn at(mut spec: TopSpec, phase: Phase) -> Face {
    spec.phase = phase;
    face(&spec, mark()).unwrap()
}

#[test]
fn chevron_at_45_and_at_30() {
    let held = at(top(chevron(45.0, 70.0)), Phase::Held(0.0, 0.0));
    assert_eq!(held.laminations(), [11, 18, 23, 26, 27, 27, 26, 23, 18, 11]);
    let free = at(top(chevron(45.0, 70.0)), Phase::Free);
    assert_eq!(free.laminations().iter().sum::<u32>(), 208, "{:?} {:?}", free.phase, free.laminations());
    let held = at(top(chevron(30.0, 70.0)), Phase::Held(0.0, 0.0));
    assert_eq!(held.laminations(), [8, 14, 18, 20, 21, 21, 20, 18, 14, 8]);
}

#[test]
fn herringbone_blocks() {
    let held = at(top(herringbone(54.0, 216.0)), Phase::Held(0.0, 0.0));
    assert_eq!(held.elements.len(), 41);
    let held = at(top(herringbone(54.0, 216.0)), Phase::Held(27.0, 27.0));
    assert_eq!(held.elements.len(), 38);
    let free = at(top(herringbone(54.0, 216.0)), Phase::Free);
    assert!(free.proven && free.elements.len() <= 38);
}

/// Section 5: all ten bands in one even slab, k = 2.2, allow = 10: L = 1062.2 before rounding to the half millimetre.
#[test]
fn all_ten_bands_in_one_even_slab() {
    let mut spec = top(chevron(45.0, 70.0));
    spec.slab = SlabStyle::Even;
    let face = at(spec, Phase::Held(0.0, 0.0));
    let makes = face.makes(&Shop::default()).unwrap();
    let whole = makes.iter().find(|m| m.places.len() == 10).unwrap();
    let size = StripSize { kind: 0, length: mm(1062.5), depth: mm(35.5) };
    assert_eq!(whole.strips, [(size, 27)]);
    assert_eq!(whole.sub_slabs, 2);
    assert_eq!(whole.yields.iter().map(|y| y.1).sum::<u32>(), 10);
}

#[test]
fn shaped_slabs_of_a_round_top_save_about_a_fifth() {
    let total = |slab: SlabStyle| {
        let mut spec = top(chevron(45.0, 70.0));
        spec.slab = slab;
        let makes = at(spec, Phase::Free).makes(&Shop::default()).unwrap();
        let whole = makes.into_iter().find(|m| m.places.len() == 10).unwrap();
        whole.layers.iter().map(|l| l.size.length.to_mm()).sum::<f64>()
    };
    let saved = 1.0 - total(SlabStyle::Shaped) / total(SlabStyle::Even);
    assert!((0.15..0.25).contains(&saved), "{saved}");
}

#[test]
fn few_makes_are_enough() {
    let count = |spec: TopSpec| at(spec, Phase::Free).makes(&Shop::default()).map(|m| m.len());
    let many = [
        count(top(chevron(45.0, 70.0))).unwrap(),
        count(top(herringbone(54.0, 216.0))).unwrap(),
        count(top(Pattern::Straight { angle: stripwright_units::Angle::degrees(0.0) })).unwrap(),
    ];
    assert!(many.iter().all(|&n| n > 0 && n < 300));
}
