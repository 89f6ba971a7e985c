//! Unrolling whole tops: `cargo bench -p stripwright-pattern`.
//!
//! Bars: any fixture top under 5 ms, a 1.2 m round top of 12 mm strips under 50 ms.

#[path = "../tests/common/mod.rs"]
mod common;

use common::*;
use stripwright_pattern::*;
use stripwright_units::Angle;

fn main() {
    divan::main();
}

/// From spec to ledger: face, makes, and what is chosen of them greedily.
fn whole(spec: &TopSpec) -> u32 {
    let shop = Shop::default();
    let face = face(spec, mark()).expect("a face");
    let makes = face.makes(&shop).expect("makes");
    face.unroll(&shop, &makes, &choose(&face, &makes)).strips_total
}

#[divan::bench]
fn chevron_600(bencher: divan::Bencher) {
    let spec = top(chevron(45.0, 70.0));
    bencher.bench(|| whole(&spec));
}

#[divan::bench]
fn oval_chevron_900(bencher: divan::Bencher) {
    let mut spec = top(chevron(45.0, 70.0));
    spec.outline = Outline::Oval { length: mm(900.0), width: mm(500.0) };
    bencher.bench(|| whole(&spec));
}

#[divan::bench]
fn herringbone_600(bencher: divan::Bencher) {
    let spec = top(herringbone(54.0, 216.0));
    bencher.bench(|| whole(&spec));
}

#[divan::bench]
fn herringbone_oval_900(bencher: divan::Bencher) {
    let mut spec = top(herringbone(54.0, 216.0));
    spec.outline = Outline::Oval { length: mm(900.0), width: mm(500.0) };
    bencher.bench(|| whole(&spec));
}

#[divan::bench]
fn basket_weave_600(bencher: divan::Bencher) {
    let spec = top(Pattern::BasketWeave {
        width: Side::Laminations(2),
        blocks: 3,
        lay: Lay::Along,
        turn: Angle::degrees(0.0),
    });
    bencher.bench(|| whole(&spec));
}

#[divan::bench]
fn sunburst_600(bencher: divan::Bencher) {
    let spec = top(Pattern::Sunburst { wedges: 12, lay: Lay::Across });
    bencher.bench(|| whole(&spec));
}

#[divan::bench]
fn chevron_1200_of_12(bencher: divan::Bencher) {
    let mut spec = top(chevron(45.0, 50.0));
    spec.outline = Outline::Round { diameter: mm(1200.0) };
    spec.sequence = plain(12.0);
    bencher.bench(|| whole(&spec));
}

#[divan::bench]
fn herringbone_1200_of_12(bencher: divan::Bencher) {
    let mut spec = top(herringbone(36.0, 144.0));
    spec.outline = Outline::Round { diameter: mm(1200.0) };
    spec.sequence = plain(12.0);
    bencher.bench(|| whole(&spec));
}
