//! What a plan comes to, in the order in which plans are compared.
//!
//! Everything is read off the layouts as they are sawn, not off what a search had in mind.

use std::collections::BTreeSet;

use stripwright_units::{Length, Money};

use crate::answer::{Answer, Layout, Region, Within};
use crate::problem::{Cutting, Direction, Problem};

/// Where the rip fence stands for a cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Setting {
    /// Distance from the fence to the blade.
    pub width: Length,
    /// True when what is kept lies between fence and blade; where it is wider than the fence reaches, the fence guides
    /// what lies beside it instead.
    pub inside: bool,
}

/// What a plan comes to. Of two plans the one is better that costs less; of equals the one with less sheet; then the
/// one with fewer fence settings; then the one with the larger offcut to keep.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Score {
    /// Money for all sheets.
    pub money: Money,
    /// Area of all sheets as bought, offcuts on hand included, in square nanometres.
    pub area: i128,
    /// Distinct settings of the rip fence, trimming of the sheets' own edges aside.
    pub fence_settings: usize,
    /// The largest offcut that is worth keeping, and the layout that leaves it; the first of equals.
    pub largest_offcut: Option<(usize, Region)>,
}

impl Score {
    /// The same as numbers of which the smaller, from the first on, are the better.
    pub fn rank(&self) -> (Money, i128, usize, i128) {
        let offcut = self.largest_offcut.as_ref().map_or(0, |(_, region)| area(region));
        (self.money, self.area, self.fence_settings, -offcut)
    }
}

impl Answer {
    /// What the answer comes to.
    pub fn score(&self, problem: &Problem) -> Score {
        let mut settings = BTreeSet::new();
        let mut sheets = 0;
        let mut largest: Option<(usize, Region)> = None;
        for (at, layout) in self.layouts.iter().enumerate() {
            let stock = &problem.stocks[layout.stock];
            sheets += i128::from(layout.times) * stock.length.area_nm2(stock.width);
            settings.extend(layout.fence_settings(problem));
            let left = layout.largest_offcut(problem);
            if let Some(left) = left.filter(|l| largest.as_ref().is_none_or(|(_, r)| area(l) > area(r))) {
                largest = Some((at, left));
            }
        }
        Score { money: self.money, area: sheets, fence_settings: settings.len(), largest_offcut: largest }
    }
}

impl Layout {
    /// The settings of the fence for every rip, trimming rips of pieces included, ascending.
    pub fn fence_settings(&self, problem: &Problem) -> Vec<Setting> {
        let cutting = &problem.cutting;
        let mut settings = BTreeSet::new();
        self.root.walk(1, &mut |region, _| match &region.within {
            Within::Cut(Direction::Rip, parts) => {
                settings.extend(parts.iter().filter_map(|part| setting(cutting, region, part.y, part.width)));
            }
            Within::Piece { piece, turned } => {
                let (_, width) = as_it_lies(problem, *piece, *turned);
                settings.extend(setting(cutting, region, region.y, width));
            }
            _ => {}
        });
        settings.into_iter().collect()
    }

    /// The largest of what is left over, trimmings of pieces included, that is worth keeping.
    pub fn largest_offcut(&self, problem: &Problem) -> Option<Region> {
        let mut largest: Option<Region> = None;
        let mut take = |region: Region| {
            let useful = is_useful(&problem.cutting, region.length, region.width);
            if useful && largest.as_ref().is_none_or(|known| area(&region) > area(known)) {
                largest = Some(region);
            }
        };
        self.root.walk(1, &mut |region, _| match &region.within {
            Within::Offcut => take(region.clone()),
            Within::Piece { piece, turned } => {
                trimmings(problem, region, *piece, *turned).into_iter().for_each(&mut take);
            }
            Within::Cut(..) => {}
        });
        largest
    }
}

/// Whether an offcut is worth keeping, either way round.
fn is_useful(cutting: &Cutting, length: Length, width: Length) -> bool {
    cutting.useful_offcut.is_some_and(|(l, w)| (length >= l && width >= w) || (length >= w && width >= l))
}

/// What trimming a piece to size takes off its place: the rip along the whole place first.
fn trimmings(problem: &Problem, place: &Region, piece: usize, turned: bool) -> Vec<Region> {
    let (length, width) = as_it_lies(problem, piece, turned);
    let (rip, crosscut) = (problem.cutting.rip_kerf, problem.cutting.crosscut_kerf);
    let mut off = Vec::new();
    if place.width - width > rip {
        let (y, width) = (place.y + width + rip, place.width - width - rip);
        off.push(Region { y, width, within: Within::Offcut, ..place.clone() });
    }
    if place.length - length > crosscut {
        let (x, length) = (place.x + length + crosscut, place.length - length - crosscut);
        off.push(Region { x, length, width, y: place.y, within: Within::Offcut });
    }
    off
}

/// The setting of a rip that frees a part of this width, from `y` on, of a region; none where the region ends there, too.
fn setting(cutting: &Cutting, region: &Region, y: Length, width: Length) -> Option<Setting> {
    let beside = region.y + region.width - y - width;
    let free = beside - cutting.rip_kerf;
    let beyond = cutting.fence_reach.is_some_and(|reach| width > reach) && free.is_positive();
    let setting =
        if beyond { Setting { width: free, inside: false } } else { Setting { width, inside: true } };
    beside.is_positive().then_some(setting)
}

fn as_it_lies(problem: &Problem, piece: usize, turned: bool) -> (Length, Length) {
    let size = &problem.pieces[piece];
    if turned { (size.width, size.length) } else { (size.length, size.width) }
}

pub(crate) fn area(region: &Region) -> i128 {
    region.length.area_nm2(region.width)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::{Piece, Stock, Trim};

    fn mm(n: i64) -> Length {
        Length::from_mm(n)
    }

    fn region(x: i64, y: i64, length: i64, width: i64, within: Within) -> Region {
        Region { x: mm(x), y: mm(y), length: mm(length), width: mm(width), within }
    }

    /// A sheet of 1000 x 500 with 10 mm trimmed off its lower edge and a kerf of 3. Rips of 300 and 100 leave
    /// 490 - 300 - 100 - 6 = 84; the strip of 100 holds a piece of 400 x 60, so 60 is a setting too, and the trimming
    /// takes off 400 x 37. What is left over of the strip of 300 behind a piece of 700 is 297 x 300.
    fn sample() -> (Problem, Answer) {
        let piece = |length, width| Piece {
            name: format!("{length} x {width}"),
            length: mm(length),
            width: mm(width),
            count: 1,
            may_turn: false,
            stocks: vec![0],
        };
        let placed = |piece| Within::Piece { piece, turned: false };
        let wide = vec![region(0, 10, 700, 300, placed(0)), region(703, 10, 297, 300, Within::Offcut)];
        let narrow = vec![region(0, 313, 400, 100, placed(1)), region(403, 313, 597, 100, Within::Offcut)];
        let strips = vec![
            region(0, 10, 1000, 300, Within::Cut(Direction::Crosscut, wide)),
            region(0, 313, 1000, 100, Within::Cut(Direction::Crosscut, narrow)),
            region(0, 416, 1000, 84, Within::Offcut),
        ];
        let root = region(0, 10, 1000, 490, Within::Cut(Direction::Rip, strips));
        let problem = Problem {
            pieces: vec![piece(700, 300), piece(400, 60)],
            stocks: vec![Stock {
                name: "sheet".into(),
                length: mm(1000),
                width: mm(500),
                trim: Trim { bottom: mm(10), ..Trim::default() },
                price: Money::from_minor(900),
                limit: None,
            }],
            cutting: Cutting {
                rip_kerf: mm(3),
                crosscut_kerf: mm(3),
                useful_offcut: Some((mm(80), mm(200))),
                ..Cutting::default()
            },
            ..Problem::default()
        };
        let answer = Answer {
            layouts: vec![Layout { stock: 0, times: 2, root }],
            makes: Vec::new(),
            spare: Vec::new(),
            money: Money::from_minor(1800),
            bound: Money::ZERO,
            certificate: crate::Certificate::default(),
            work: 0,
        };
        (problem, answer)
    }

    #[test]
    fn a_plan_is_measured_as_it_is_sawn() {
        let (mut problem, answer) = sample();
        let score = answer.score(&problem);
        assert_eq!((score.money, score.area), (Money::from_minor(1800), 2 * mm(1000).area_nm2(mm(500))));
        assert_eq!(score.fence_settings, 3);
        let (layout, offcut) = score.largest_offcut.clone().unwrap();
        assert_eq!((layout, offcut.x, offcut.length, offcut.width), (0, mm(703), mm(297), mm(300)));
        assert_eq!(score.rank().3, -mm(297).area_nm2(mm(300)));
        // Only what is 590 long or more is kept now: of 1000 x 84 and 597 x 100 the first is larger.
        problem.cutting.useful_offcut = Some((mm(84), mm(590)));
        assert_eq!(answer.score(&problem).largest_offcut.unwrap().1.width, mm(84));
        problem.cutting.useful_offcut = Some((mm(85), mm(590)));
        assert_eq!(answer.score(&problem).largest_offcut.unwrap().1.width, mm(100));
        problem.cutting.useful_offcut = None;
        assert_eq!(answer.score(&problem).largest_offcut, None);
    }

    /// The strip of 300 lies out of reach: the fence guides the 490 - 300 - 3 = 187 beside it.
    #[test]
    fn out_of_reach_the_fence_guides_the_other_side() {
        let (mut problem, answer) = sample();
        problem.cutting.fence_reach = Some(mm(200));
        let setting = |width, inside| Setting { width: mm(width), inside };
        assert_eq!(
            answer.layouts[0].fence_settings(&problem),
            [setting(60, true), setting(100, true), setting(187, false)]
        );
    }
}
