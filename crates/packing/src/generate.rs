//! Shop jobs out of a seed, for tests and benches: the same seed gives the same job on every machine.
//!
//! Distribution: 5 to 30 part sizes (or as asked), each 80 to 1200 mm by 40 to 600 mm in whole millimetres, shorter
//! more often than longer, counts 1 to 50 with small counts more often; half of the parts may turn. One to four kinds
//! of sheet out of six usual formats at about 27.00 a square metre, give or take a tenth, in whole tens of cents; of
//! the further kinds one in four is limited, though never so that the job cannot be met, since the first kind has no limit. One
//! job in three has an offcut or two at no price. Kerf 2.4 or 3.2 mm, trim 0, 5 or 10 mm. Two or three stages, any
//! first cut.

use stripwright_units::{Length, Money};

use crate::problem::{Cutting, First, Piece, Problem, Stock, Trim};

/// A small generator of numbers (Steele, Lea and Flood 2014, `SplitMix64`).
#[derive(Clone, Debug)]
pub struct Seed(pub u64);

impl Seed {
    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A whole number from `low` to `high`, both included.
    pub fn between(&mut self, low: i64, high: i64) -> i64 {
        low + (self.bits() % (high - low + 1) as u64) as i64
    }

    /// Likewise, the smaller of two draws.
    pub fn low(&mut self, low: i64, high: i64) -> i64 {
        self.between(low, high).min(self.between(low, high))
    }
}

/// What a generated job should have; the rest is drawn.
#[derive(Clone, Copy, Debug, Default)]
pub struct Wish {
    /// Number of part sizes; drawn from 5 to 30 when absent.
    pub sizes: Option<usize>,
    /// Kinds of bought sheet; drawn from 1 to 4 when absent.
    pub kinds: Option<usize>,
    /// Stages; drawn from 2 and 3 when absent.
    pub stages: Option<u8>,
}

/// The shop job of a seed.
pub fn shop_job(seed: u64, wish: Wish) -> Problem {
    let mut draw = Seed(seed.wrapping_mul(0x2545_F491_4F6C_DD1D) ^ 0x5EED);
    let mm = Length::from_mm;
    const FORMATS: [(i64, i64); 6] =
        [(2440, 1220), (2500, 1250), (1525, 1525), (3050, 1525), (1220, 1220), (2070, 2800)];
    let kinds = wish.kinds.unwrap_or_else(|| draw.between(1, 4) as usize);
    let trim = mm([0, 5, 10][draw.between(0, 2) as usize]);
    let trim = Trim { left: trim, right: trim, bottom: trim, top: trim };
    let mut formats: Vec<usize> = (0..FORMATS.len()).collect();
    let mut stocks = Vec::new();
    for kind in 0..kinds {
        // The first kind is always one of the two commonest, so that every part fits it.
        let at = if kind == 0 { draw.between(0, 1) } else { draw.between(0, formats.len() as i64 - 1) };
        let (length, width) = FORMATS[formats.remove(at as usize)];
        let rate = draw.between(2430, 2970);
        let price = (length * width * rate / 1_000_000 + 5) / 10 * 10;
        let limit = (kind > 0 && draw.between(0, 3) == 0).then(|| draw.between(1, 6) as u32);
        stocks.push(Stock {
            name: format!("sheet {length} x {width}"),
            length: mm(length),
            width: mm(width),
            trim,
            price: Money::from_minor(price),
            limit,
        });
    }
    if draw.between(0, 2) == 0 {
        for _ in 0..draw.between(1, 2) {
            let (length, width) = (draw.between(500, 1400), draw.between(300, 900));
            stocks.push(Stock {
                name: format!("offcut {length} x {width}"),
                length: mm(length),
                width: mm(width),
                trim: Trim::default(),
                price: Money::ZERO,
                limit: Some(draw.between(1, 2) as u32),
            });
        }
    }
    let sizes = wish.sizes.unwrap_or_else(|| draw.between(5, 30) as usize);
    let pieces = (0..sizes)
        .map(|part| Piece {
            name: format!("part {}", part + 1),
            length: mm(draw.low(80, 1200)),
            width: mm(draw.low(40, 600)),
            count: draw.low(1, 50) as u32,
            may_turn: draw.between(0, 1) == 1,
            stocks: (0..stocks.len()).collect(),
        })
        .collect();
    let kerf = Length::from_um([2400, 3200][draw.between(0, 1) as usize]);
    let drawn = draw.between(2, 3) as u8;
    let cutting = Cutting {
        first: [First::Rip, First::Crosscut, First::Either][draw.between(0, 2) as usize],
        stages: wish.stages.unwrap_or(drawn),
        rip_kerf: kerf,
        crosscut_kerf: kerf,
        useful_offcut: Some((mm(600), mm(200))),
        ..Cutting::default()
    };
    Problem { pieces, stocks, covers: Vec::new(), makes: Vec::new(), cutting }
}
