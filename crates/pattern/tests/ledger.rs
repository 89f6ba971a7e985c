//! The volume balance, over patterns, outlines and shops.

#![allow(clippy::unwrap_used)]

mod common;

use common::*;
use stripwright_pattern::*;
use stripwright_units::Angle;

#[test]
fn every_pattern_balances() {
    let deg = Angle::degrees;
    let patterns = [
        Pattern::Straight { angle: deg(20.0) },
        chevron(45.0, 70.0),
        Pattern::Diamond { angle: deg(40.0), bands: None },
        Pattern::Diamond { angle: deg(40.0), bands: Some(BandSize::Number(6)) },
        Pattern::Sunburst { wedges: 8, lay: Lay::Along },
        Pattern::Sunburst { wedges: 7, lay: Lay::Across },
        herringbone(54.0, 216.0),
        Pattern::RunningBond {
            width: Side::Laminations(4),
            length: Side::Given(mm(200.0)),
            lay: Lay::Along,
            offset: (1, 2),
            turn: deg(0.0),
        },
        Pattern::BasketWeave { width: Side::Laminations(2), blocks: 3, lay: Lay::Across, turn: deg(10.0) },
    ];
    for pattern in patterns {
        let mut spec = top(pattern.clone());
        spec.count = 3;
        spec.spare = 1;
        let shop = shop();
        let face = face(&spec, mark()).unwrap();
        let makes = face.makes(&shop).unwrap();
        let unrolled = face.unroll(&shop, &makes, &choose(&face, &makes));
        for stage in &unrolled.ledger.stages {
            assert!(stage.losses.iter().all(|l| l.1 > -1e-6 * stage.input), "{pattern:?} {stage:?}");
        }
        assert!(unrolled.ledger.imbalance() < 1e-9, "{pattern:?} {:?}", unrolled.ledger);
    }
}
