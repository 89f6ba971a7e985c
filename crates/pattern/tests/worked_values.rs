//! The worked values that the design states, each computed there with a polygon library.

#![allow(clippy::unwrap_used)]

mod common;

use common::*;
use stripwright_pattern::*;
use stripwright_units::Length;

fn at(mut spec: TopSpec, phase: Phase) -> Face {
    spec.phase = phase;
    face(&spec, mark()).unwrap()
}

/// From spec to slabs, chosen greedily.
fn laid(spec: &TopSpec) -> (Face, Unrolled, Vec<SlabMake>) {
    let shop = shop();
    let face = face(spec, mark()).unwrap();
    let makes = face.makes(&shop).unwrap();
    let unrolled = face.unroll(&shop, &makes, &choose(&face, &makes));
    (face, unrolled, makes)
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
    let makes = face.makes(&shop()).unwrap();
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
        let makes = at(spec, Phase::Free).makes(&shop()).unwrap();
        let whole = makes.into_iter().find(|m| m.places.len() == 10).unwrap();
        whole.layers.iter().map(|l| l.size.length.to_mm()).sum::<f64>()
    };
    let saved = 1.0 - total(SlabStyle::Shaped) / total(SlabStyle::Even);
    assert!((0.15..0.25).contains(&saved), "{saved}");
}

#[test]
fn few_makes_are_enough() {
    let count = |spec: TopSpec| at(spec, Phase::Free).makes(&shop()).map(|m| m.len());
    let many = [
        count(top(chevron(45.0, 70.0))).unwrap(),
        count(top(herringbone(54.0, 216.0))).unwrap(),
        count(top(Pattern::Straight { angle: stripwright_units::Angle::degrees(0.0) })).unwrap(),
    ];
    assert!(many.iter().all(|&n| n > 0 && n < 300));
}

/// With every band equally long over a needed rectangle of height Y: `n = ceil((Y sin(a) + b cos(a)) / p)`.
#[test]
fn bands_of_a_rectangle() {
    use stripwright_units::Angle;
    for (angle, band, high) in
        [(45.0, 70.0, 500.0), (30.0, 55.0, 420.0), (60.0, 90.0, 777.0), (17.0, 120.0, 300.0)]
    {
        let mut spec = top(chevron(angle, band));
        // Whole bands wide, and no margin, so that no band is met by a corner alone.
        spec.outline = Outline::Rectangle { length: mm(6.0 * band), width: mm(high) };
        spec.margin = mm(0.0);
        let a = Angle::degrees(angle);
        let n = ((high * a.sin() + band * a.cos()) / 18.0).ceil() as u32;
        assert_eq!(at(spec, Phase::Free).laminations(), vec![n; 6], "{angle} {band} {high}");
    }
}

/// By hand: 300 mm take six courses of 54 mm, 900 mm 17. Every other course is set over by half a block of 150 mm, so that
/// 600 mm take four blocks in one and five in the next, 100 mm one and two. It is fed the long way.
#[test]
fn a_blank_is_as_large_as_its_whole_blocks() {
    let turn = stripwright_units::Angle::degrees(0.0);
    let (width, length) = (Side::Given(mm(54.0)), Side::Given(mm(150.0)));
    let bond = Pattern::RunningBond { width, length, lay: Lay::Along, offset: (1, 2), turn };
    let (long, short) = (mm(750.0), mm(324.0));
    for (outline, size) in [
        (Outline::Rectangle { length: mm(600.0), width: mm(300.0) }, (long, short)),
        (Outline::Rectangle { length: mm(100.0), width: mm(900.0) }, (mm(300.0), mm(918.0))),
    ] {
        let spec = TopSpec { outline, margin: mm(0.0), ..top(bond.clone()) };
        let blank = laid(&spec).1.blank;
        assert_eq!(blank.size, size);
        assert_eq!((blank.across, blank.along), (size.0.min(size.1), size.0.max(size.1)));
    }
}

/// Bands of an even slab are as long as the slab is broad, whatever the outline needs of them; the bounding box of all
/// that is needed and of all that lies beyond is the blank.
#[test]
fn a_blank_is_what_its_pieces_bound() {
    let angle = stripwright_units::Angle::degrees(20.0);
    let uncut = [Pattern::Straight { angle }, Pattern::Sunburst { wedges: 12, lay: Lay::Along }];
    for slab in [SlabStyle::Even, SlabStyle::Shaped] {
        let cut = [chevron(45.0, 70.0), chevron(30.0, 61.3), herringbone(54.0, 216.0)];
        for pattern in cut.into_iter().chain(uncut.clone()) {
            let (face, unrolled, makes) = laid(&TopSpec { slab, ..top(pattern) });
            let laid = unrolled.as_laid(&face, &makes).concat();
            let all: Vec<_> = laid.iter().map(|c| (&c.polygon, (c.element, c.lamination))).collect();
            let extent = |of: fn(&Point) -> f64| {
                let values = || all.iter().flat_map(|(polygon, _)| polygon.iter().map(of));
                values().fold(f64::MIN, f64::max) - values().fold(f64::MAX, f64::min)
            };
            let (wide, high) = unrolled.blank.size;
            assert!((extent(|p| p.x) - wide.to_mm()).abs() < 1e-5, "{wide}");
            assert!((extent(|p| p.y) - high.to_mm()).abs() < 1e-5, "{high}");
            // No lamination twice, and in blocks none missing.
            let mut places: Vec<_> = all.iter().map(|(_, place)| *place).collect();
            places.sort_unstable();
            places.dedup();
            assert_eq!(places.len(), all.len());
            if face.block.is_some() {
                assert_eq!(all.len(), face.elements.len() * 3);
            }
        }
    }
}

/// T8, derived: an 18 mm sheet of 1.22 x 2.44 m at 685 kg/m3 weighs 36.70 kg, one of 3.05 x 1.525 m 57.35 kg, the
/// 12 mm sheet at 695 kg/m3 24.83 kg, the 30 mm sheet at 672 kg/m3 60.01 kg.
#[test]
fn mass_by_density() {
    let sheets = [
        (1220.0, 2440.0, 18.0, 685.0, 36.70),
        (3050.0, 1525.0, 18.0, 685.0, 57.35),
        (1220.0, 2440.0, 12.0, 695.0, 24.83),
        (1220.0, 2440.0, 30.0, 672.0, 60.01),
    ];
    for (length, width, thick, density, kg) in sheets {
        let mut spec = top(chevron(45.0, 70.0));
        spec.outline = Outline::Rectangle { length: mm(length), width: mm(width) };
        spec.finished = mm(thick);
        let mass = at(spec, Phase::Free).mass(&|_| density);
        assert!((mass - kg).abs() < 0.006, "{mass} {kg}");
    }
}

/// Thickness that a sanded sheet of a nominal thickness may have: `t - (0.4 + 0.03 t)` to `t + (0.2 + 0.03 t)` mm (T5,
/// the ISO 1954 text as adopted in GB/T 9846), to the nearest micrometre.
fn sanded_range(nominal: Length) -> (Length, Length) {
    let share = nominal.nm() * 3 / 100;
    let um = |nm: i64| Length::from_um((nm + 500) / 1000);
    (um(nominal.nm() - 400_000 - share), um(nominal.nm() + 200_000 + share))
}

/// T5, the table derived there from the formula.
#[test]
fn sanded_sheets() {
    for (nominal, low, high) in [
        (12, 11_240, 12_560),
        (15, 14_150, 15_650),
        (18, 17_060, 18_740),
        (21, 19_970, 21_830),
        (24, 22_880, 24_920),
    ] {
        let range = sanded_range(Length::from_mm(nominal));
        assert_eq!(range, (Length::from_um(low), Length::from_um(high)));
    }
}

/// T6, derived: 20 strips of nominal 18 mm make 341.2 to 374.8 mm.
#[test]
fn twenty_strips() {
    let (low, high) = sanded_range(Length::from_mm(18));
    assert_eq!((low * 20, high * 20), (Length::from_um(341_200), Length::from_um(374_800)));
}

/// T6, derived: a plan on nominal thickness can be a whole strip short. 18 mm sheets at 17.06 mm (T5).
#[test]
fn thin_sheets_take_more_strips() {
    let spec = top(chevron(45.0, 70.0));
    let thin = thin_end(&spec, mark(), |l| sanded_range(l.thickness).0).unwrap();
    assert_eq!(thin.laminations, 208);
    let most = |face: &Face| face.laminations().into_iter().max().unwrap();
    assert!(thin.thin >= thin.laminations + 8, "{thin:?}");
    assert!(most(&thin.face) > most(&at(spec.clone(), Phase::Free)), "{thin:?}");
    let same = thin_end(&spec, mark(), |l| l.thickness).unwrap();
    assert_eq!(same.thin, same.laminations);
    // Herringbone blocks shrink: as many laminations each, no fewer blocks.
    let spec = top(herringbone(54.0, 216.0));
    let blocks = thin_end(&spec, mark(), |l| sanded_range(l.thickness).0).unwrap();
    assert!(blocks.laminations == 38 * 3 && blocks.thin >= blocks.laminations);
    assert_eq!((most(&at(spec, Phase::Free)), most(&blocks.face)), (3, 3));
}

/// Straight laminations: the grown disc is 612 mm across, which is 34 pitches of 18 mm and no more, if they lie right.
#[test]
fn straight_strips_by_chord() {
    let mut spec = top(Pattern::Straight { angle: stripwright_units::Angle::degrees(0.0) });
    let (face, unrolled, _) = laid(&spec);
    assert_eq!(face.laminations(), [34]);
    // Nothing cuts the strips' ends off before the outline is cut.
    assert_eq!(unrolled.blank.size, (mm(632.0), mm(612.0)));
    let shaped = &face.makes(&shop()).unwrap()[0];
    // The strip next to the middle: the whole diameter and twice the allowance.
    assert_eq!(shaped.layers[17].size.length, mm(632.0));
    // The outermost: a chord 18 mm inside the edge, 2 sqrt(306^2 - 288^2) = 206.8, and the allowance; but the planer
    // wants nothing, since the slab is long enough.
    assert_eq!(shaped.layers[0].size.length, mm(227.0));
    spec.slab = SlabStyle::Even;
    let even = &at(spec, Phase::Free).makes(&shop()).unwrap()[0];
    assert_eq!(even.strips, [(StripSize { kind: 0, length: mm(632.0), depth: mm(35.5) }, 34)]);
}

/// A strip must not be shorter than the geometry needs nor longer by a mark (design section 3).
#[test]
fn strips_are_rounded_up_by_less_than_a_mark() {
    for pattern in [chevron(45.0, 70.0), chevron(30.0, 61.3), herringbone(54.0, 216.0)] {
        for make in at(top(pattern), Phase::Free).makes(&shop()).unwrap() {
            for layer in &make.layers {
                let over = layer.left.to_mm() - layer.spans;
                assert!((-1e-6..0.5).contains(&over), "{layer:?}");
                assert_eq!(layer.size.length % mark(), mm(0.0));
            }
        }
    }
}

/// A planer that feeds nothing under 305 mm: slabs for one block of 216 mm are carried by two strips of that length, and the
/// others are no longer than the block needs: 216, a kerf of 2.2 and an allowance of 10 at either end, and less where the
/// outline takes a part. A slanting slab of short strips may be long enough.
#[test]
fn short_slabs_are_carried_by_their_outermost_strips() {
    let mut whole = 0;
    for make in at(top(herringbone(108.0, 216.0)), Phase::Free).makes(&shop()).unwrap() {
        let lengths: Vec<Length> = make.layers.iter().map(|layer| layer.size.length).collect();
        let long = |n: usize| lengths[n] >= mm(305.0);
        match make.places.len() {
            1 => {
                assert_eq!((lengths[0], lengths[5]), (mm(305.0), mm(305.0)));
                assert!(
                    make.is_carried() && lengths[1..5].iter().all(|&length| length <= mm(240.5)),
                    "{lengths:?}"
                );
                whole += u32::from(lengths[1..5] == [mm(240.5); 4]);
            }
            _ => assert!(!make.is_carried() && (0..6).all(long), "{lengths:?}"),
        }
    }
    assert!(whole > 0);
    let band = at(top(chevron(45.0, 130.0)), Phase::Free).makes(&shop()).unwrap();
    let short = |make: &&SlabMake| make.layers.iter().all(|layer| layer.size.length < mm(305.0));
    let slanting: Vec<&SlabMake> = band.iter().filter(short).collect();
    assert!(!slanting.is_empty() && slanting.iter().all(|make| !make.is_carried()));
}

/// Slips of the unit come back as sentences, in no time.
#[test]
fn absurd_tops_are_refused() {
    let refused = |spec: TopSpec| face(&spec, mark()).unwrap_err();
    let thin = TopSpec { sequence: plain(0.001), ..top(chevron(45.0, 70.0)) };
    assert!(matches!(refused(thin)[..], [Refusal::TooMany { .. }]));
    assert!(matches!(refused(top(chevron(45.0, 0.1)))[..], [Refusal::CountRange { what: "bands", .. }]));
    assert!(matches!(refused(top(chevron(f64::NAN, 70.0)))[..], [Refusal::AngleRange { .. }]));
    assert!(matches!(
        refused(top(chevron(10.0, 0.0)))[..],
        [Refusal::AngleRange { .. }, Refusal::NotPositive { .. }]
    ));
    let odd = Pattern::Chevron {
        angle: stripwright_units::Angle::degrees(45.0),
        bands: BandSize::Number(7),
        centre: Some(Centre::Seam),
    };
    assert_eq!(
        refused(top(odd))[0].to_string(),
        "7 bands are asked for, but a seam on the centre has as many bands on either side; ask for an even number."
    );
    let blocks = refused(top(herringbone(50.0, 216.0)));
    assert_eq!(
        blocks[0].to_string(),
        "The block's width is 50 mm, which is not whole runs of 18 mm; use 36 mm or 54 mm, or give the number of laminations."
    );
    // As many blocks as are let through: an answer all the same.
    let mut many = top(herringbone(4.0, 8.0));
    many.sequence = plain(4.0);
    assert!(face(&many, mark()).unwrap().elements.len() > 8000);
}
