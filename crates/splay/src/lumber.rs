//! From parts to sticks, and from a board's section to sticks.

use stripwright_units::Length;

use crate::leg::Legs;
use crate::rung::Rung;
use crate::spec::{BaseSpec, Section, Shop};

/// A demand for sticks of one size, for all bases of the spec together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stick {
    /// What it becomes: `leg`, `front and back rung 1`.
    pub name: String,
    /// Finished section.
    pub section: Section,
    /// Section as planed: finished, or broader where edges are still to be bevelled.
    pub planed: Section,
    /// Section as sawn: planed, plus planing on every face.
    pub sawn: Section,
    /// Length of the blank.
    pub length: Length,
    /// How many.
    pub count: u32,
}

impl Stick {
    /// Wood in all these sticks as sawn, in cubic metres.
    pub fn cubic_metres(&self) -> f64 {
        f64::from(self.count) * cubic_metres(self.sawn, self.length)
    }
}

/// How a board's section is sawn into sticks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BoardYield {
    /// Sticks side by side across the board's width.
    pub across: u32,
    /// Sticks one above another in its thickness.
    pub layers: u32,
    /// The stick's sawn size across the board's width.
    pub stick_width: Length,
    /// The stick's sawn size in the board's thickness.
    pub stick_thickness: Length,
    /// What is left of the width after the last rip.
    pub left_over: Length,
}

impl BoardYield {
    /// Sticks side by side and one above another.
    pub fn sticks(&self) -> u32 {
        self.across * self.layers
    }
}

/// How many sticks of a sawn section a board's section (width, thickness) yields, the better way round; `None` when not one.
///
/// One edge is squared first, then n sticks take n widths and n - 1 kerfs: `floor((W - e + k) / (w + k))` (T40). More than one
/// layer means that the board is resawn. Of two ways that yield alike, the one with fewer layers is taken.
pub fn board_yield(board: Section, sawn: Section, shop: &Shop) -> Option<BoardYield> {
    let way = |width: Length, thickness: Length| {
        let wide = board.width - shop.edge_squaring;
        let fit = |room: Length, size: Length| {
            if room < size {
                0
            } else {
                u32::try_from((room + shop.kerf) / (size + shop.kerf)).unwrap_or(u32::MAX)
            }
        };
        let (across, layers) = (fit(wide, width), fit(board.thickness, thickness));
        let used = width * i64::from(across) + shop.kerf * i64::from(across);
        let left_over = Length::from_nm((wide - used).nm().max(0));
        BoardYield { across, layers, stick_width: width, stick_thickness: thickness, left_over }
    };
    let ways = [way(sawn.width, sawn.thickness), way(sawn.thickness, sawn.width)];
    let [first, second] = ways;
    let better =
        if (second.sticks(), first.layers) > (first.sticks(), second.layers) { second } else { first };
    (better.sticks() > 0).then_some(better)
}

/// Board feet: thickness and width in inches, length in feet, over twelve; stock under an inch counts as an inch (T85).
/// Give the nominal section where the trade sells by it.
pub fn board_feet(section: Section, length: Length) -> f64 {
    section.thickness.to_inches().max(1.0) * section.width.to_inches() * (length.to_inches() / 12.0) / 12.0
}

/// Volume of a stick or board in cubic metres.
pub fn cubic_metres(section: Section, length: Length) -> f64 {
    section.width.to_mm() * section.thickness.to_mm() * length.to_mm() * 1e-9
}

/// Everything that all bases of the spec need.
pub(crate) fn sticks<'a>(spec: &BaseSpec, legs: &Legs, rungs: impl Iterator<Item = &'a Rung>) -> Vec<Stick> {
    let planed = spec.shop.planing * 2;
    let stick = |name: &str, section: Section, breadth: Length, length: Length, each: u32| Stick {
        name: name.to_string(),
        section,
        planed: Section { width: breadth, thickness: section.thickness },
        sawn: Section { width: breadth + planed, thickness: section.thickness + planed },
        length,
        count: each * spec.count,
    };
    let leg = stick("leg", spec.leg, spec.leg.width, legs.blank, 4);
    let rungs = rungs.map(|r| stick(&r.name, r.section, r.rip_breadth, r.blank, 2));
    std::iter::once(leg).chain(rungs).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn inches(width: i64, thickness: i64) -> Section {
        Section { width: Length::INCH * width, thickness: Length::INCH * thickness }
    }

    /// T85, with the sources named there (Griffith; Army course EN5155; furnituremaking.us, all verified; 2 x 4 derived).
    #[test]
    fn board_feet_of_published_examples() {
        let foot = Length::INCH * 12;
        let case = |width, thickness, feet: i64, n: f64, wanted: f64| {
            let found = n * board_feet(inches(width, thickness), foot * feet);
            assert!((found - wanted).abs() < 1e-9, "{found} not {wanted}");
        };
        case(8, 6, 16, 1.0, 64.0);
        case(8, 1, 14, 4.0, 112.0 / 3.0);
        case(3, 1, 8, 1.0, 2.0);
        case(4, 1, 6, 1.0, 2.0);
        case(4, 2, 8, 1.0, 16.0 / 3.0);
        let thin = Section { width: Length::INCH * 12, thickness: Length::from_nm(12_700_000) };
        assert_eq!(board_feet(thin, foot), 1.0, "stock under an inch counts as an inch");
        // T85: 1 board foot is 2.359737 L.
        assert!((cubic_metres(inches(12, 1), foot) - 0.002_359_737).abs() < 1e-9);
    }

    /// T40 (derived there), with a squaring cut of nothing: 19 at three kerfs, and exactly 20 without one.
    #[test]
    fn strips_from_a_width() {
        let shop = |um| Shop { kerf: Length::from_um(um), edge_squaring: Length::ZERO, ..Shop::default() };
        let square = |mm| Section { width: Length::from_mm(mm), thickness: Length::from_mm(mm) };
        let board = |w, t| Section { width: Length::from_mm(w), thickness: Length::from_mm(t) };
        for um in [3200, 2400, 1800] {
            assert_eq!(board_yield(board(1220, 60), square(60), &shop(um)).map(|y| y.across), Some(19));
        }
        assert_eq!(board_yield(board(1525, 60), square(60), &shop(3200)).map(|y| y.across), Some(24));
        assert_eq!(board_yield(board(1220, 61), square(61), &shop(0)).map(|y| y.across), Some(20));
    }

    #[test]
    fn a_board_yields_lanes_and_layers_the_better_way_round() {
        let shop = Shop::default();
        let section = |w, t| Section { width: Length::from_mm(w), thickness: Length::from_mm(t) };
        // 95 - 5 = 90 holds two of 35 with one kerf (73.2) and not three (111.4); 45 holds one layer.
        let legs = board_yield(section(95, 45), section(35, 35), &shop).unwrap();
        assert_eq!((legs.across, legs.layers, legs.sticks()), (2, 1, 2));
        assert_eq!(legs.left_over, Length::from_um(13_600), "two sticks and two kerfs leave 90 - 76.4");
        // A rung of 60 by 23 lies flat one a lane, or on edge not at all in 45; three layers of 12 resaw from 45.
        assert_eq!(
            board_yield(section(95, 45), section(60, 23), &shop).map(|y| (y.across, y.layers)),
            Some((1, 1))
        );
        assert_eq!(
            board_yield(section(95, 45), section(60, 12), &shop).map(|y| (y.across, y.layers)),
            Some((1, 3))
        );
        // On edge: 40 by 20 in a 45 board, three lanes of 20 beat two lanes and one layer of 40 by 20 (two layers: 43.2).
        let rung = board_yield(section(95, 45), section(40, 20), &shop).unwrap();
        assert_eq!(rung.sticks(), 4);
        assert_eq!(
            (rung.across, rung.layers),
            (4, 1),
            "of two ways that yield alike, the one that need not be resawn"
        );
        // 44 by 20: flat one lane of two layers, on edge four lanes.
        let edge = board_yield(section(95, 45), section(44, 20), &shop).unwrap();
        assert_eq!((edge.across, edge.layers, edge.stick_width), (4, 1, Length::from_mm(20)));
        // 40 by 30 goes in twice either way, in one layer: flat, as it is named.
        let flat = board_yield(section(95, 45), section(40, 30), &shop).unwrap();
        assert_eq!((flat.sticks(), flat.stick_width), (2, Length::from_mm(40)));
        assert_eq!(board_yield(section(95, 45), section(50, 46), &shop), None);
        assert_eq!(board_yield(section(40, 32), section(36, 30), &shop), None, "the squaring cut counts");
        // The last stick needs no kerf beyond it.
        assert_eq!(board_yield(section(40, 45), section(35, 45), &shop).map(|y| y.sticks()), Some(1));
    }
}
