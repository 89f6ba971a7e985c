//! From a divided sheet to saw cuts in order, offcuts, and where the sheet's area went.

use stripwright_packing::{Cutting, Direction, Layout, Region, Stock, Within};
use stripwright_units::Length;

use crate::plan;

/// What one layout comes to.
pub(crate) struct Sawn {
    /// Pieces in sawing order: index of the piece, x, y, length, width as it lies, turned.
    pub(crate) placed: Vec<stripwright_packing::Placed>,
    pub(crate) cuts: Vec<plan::Cut>,
    pub(crate) offcuts: Vec<plan::Offcut>,
    /// Areas of one such sheet in square nanometres.
    pub(crate) areas: Areas,
}

/// Where one sheet's area went, in square nanometres; pieces, trim, kerf and offcuts sum to the sheet.
#[derive(Clone, Copy, Default)]
pub(crate) struct Areas {
    pub(crate) sheet: i128,
    pub(crate) pieces: i128,
    pub(crate) trim: i128,
    pub(crate) kerf: i128,
    pub(crate) offcuts: i128,
}

/// Works out the cuts of a layout: the sheet's own edges first, then every cut before the cuts of what it frees, so
/// that what lies against the fence is always a sawn or trimmed edge.
pub(crate) fn saw(
    layout: &Layout,
    stock: &Stock,
    cutting: &Cutting,
    size: &dyn Fn(usize) -> (Length, Length),
    mark: Length,
) -> Sawn {
    let sheet = stock.length.area_nm2(stock.width);
    let root = layout.root.length.area_nm2(layout.root.width);
    let areas = Areas { sheet, trim: sheet - root, ..Areas::default() };
    let sawn = Sawn { placed: Vec::new(), cuts: Vec::new(), offcuts: Vec::new(), areas };
    let mut sawing = Sawing { cutting, size, mark, sawn };
    sawing.trim_edges(stock);
    sawing.region(&layout.root, 1);
    let mut sawn = sawing.sawn;
    for (n, cut) in sawn.cuts.iter_mut().enumerate() {
        cut.number = n as u32 + 1;
    }
    // Largest first; ties by place, so that the order is the layout's alone.
    sawn.offcuts.sort_by_key(|o| (-o.length.area_nm2(*o.width), o.x, o.y));
    sawn
}

struct Sawing<'a> {
    cutting: &'a Cutting,
    size: &'a dyn Fn(usize) -> (Length, Length),
    mark: Length,
    sawn: Sawn,
}

impl Sawing<'_> {
    fn kerf(&self, direction: Direction) -> Length {
        match direction {
            Direction::Rip => self.cutting.rip_kerf,
            Direction::Crosscut => self.cutting.crosscut_kerf,
        }
    }

    /// The setting of a trimming cut is what remains, measured from the edge that is not being trimmed.
    fn trim_edges(&mut self, stock: &Stock) {
        let (length, width, trim) = (stock.length, stock.width, stock.trim);
        let rip = self.cutting.rip_kerf.min(trim.bottom);
        let edges = [
            (trim.bottom, Direction::Rip, width - trim.bottom, trim.bottom - rip, length),
            (trim.top, Direction::Rip, width - trim.bottom - trim.top, width - trim.top, length),
            (
                trim.left,
                Direction::Crosscut,
                length - trim.left,
                trim.left - self.cutting.crosscut_kerf.min(trim.left),
                width,
            ),
            (trim.right, Direction::Crosscut, length - trim.left - trim.right, length - trim.right, width),
        ];
        for (amount, direction, setting, at, to) in edges {
            if amount.is_positive() {
                self.cut(direction, 0, setting, at, Length::ZERO, to);
            }
        }
    }

    fn cut(
        &mut self,
        direction: Direction,
        stage: u8,
        setting: Length,
        at: Length,
        from: Length,
        to: Length,
    ) {
        let direction = match direction {
            Direction::Rip => plan::Direction::Rip,
            Direction::Crosscut => plan::Direction::Crosscut,
        };
        self.sawn.cuts.push(plan::Cut {
            number: 0,
            direction,
            stage,
            setting: setting.into(),
            at: at.into(),
            from: from.into(),
            to: to.into(),
        });
    }

    fn region(&mut self, region: &Region, stage: u8) {
        match &region.within {
            Within::Offcut => self.offcut(region.x, region.y, region.length, region.width),
            Within::Piece { piece, turned } => self.piece(region, *piece, *turned, stage),
            Within::Cut(direction, children) => {
                let (mut freed, across) = (Length::ZERO, across(region, *direction));
                for child in children {
                    let (start, size) = along(child, *direction);
                    let (region_start, region_size) = along(region, *direction);
                    freed += size;
                    if start + size < region_start + region_size {
                        self.cut(*direction, stage, size, start + size, across.0, across.0 + across.1);
                    }
                }
                let lost = along(region, *direction).1 - freed;
                self.sawn.areas.kerf += lost.area_nm2(across.1);
                for child in children {
                    self.region(child, stage + 1);
                }
            }
        }
    }

    /// A piece at its region's corner; what is left beside or above it is trimmed off once.
    fn piece(&mut self, region: &Region, piece: usize, turned: bool, stage: u8) {
        let (own_length, own_width) = (self.size)(piece);
        let (length, width) = if turned { (own_width, own_length) } else { (own_length, own_width) };
        let (x, y) = (region.x, region.y);
        self.sawn.placed.push(stripwright_packing::Placed { piece, x, y, length, width, turned });
        self.sawn.areas.pieces += length.area_nm2(width);
        let over = region.width - width;
        if over.is_positive() {
            let kerf = self.kerf(Direction::Rip).min(over);
            self.cut(Direction::Rip, stage, width, y + width, x, x + region.length);
            self.sawn.areas.kerf += kerf.area_nm2(region.length);
            self.offcut(x, y + width + kerf, region.length, over - kerf);
        }
        let over = region.length - length;
        if over.is_positive() {
            let kerf = self.kerf(Direction::Crosscut).min(over);
            self.cut(Direction::Crosscut, stage, length, x + length, y, y + width);
            self.sawn.areas.kerf += kerf.area_nm2(width);
            self.offcut(x + length + kerf, y, over - kerf, width);
        }
    }

    fn offcut(&mut self, x: Length, y: Length, length: Length, width: Length) {
        self.sawn.areas.offcuts += length.area_nm2(width);
        if length < self.mark || width < self.mark {
            return;
        }
        let keep = self
            .cutting
            .useful_offcut
            .is_some_and(|(l, w)| (length >= l && width >= w) || (length >= w && width >= l));
        self.sawn.offcuts.push(plan::Offcut {
            x: x.into(),
            y: y.into(),
            length: length.into(),
            width: width.into(),
            keep,
        });
    }
}

/// Start and extent of a region in the direction that its cuts follow one another.
fn along(region: &Region, direction: Direction) -> (Length, Length) {
    match direction {
        Direction::Rip => (region.y, region.width),
        Direction::Crosscut => (region.x, region.length),
    }
}

/// Start and extent of a region in the direction that its cuts run.
fn across(region: &Region, direction: Direction) -> (Length, Length) {
    match direction {
        Direction::Rip => (region.x, region.length),
        Direction::Crosscut => (region.y, region.width),
    }
}

#[cfg(test)]
mod tests {
    use stripwright_packing::{First, Trim};
    use stripwright_units::Money;

    use super::*;

    fn mm(n: i64) -> Length {
        Length::from_mm(n)
    }

    fn region(x: i64, y: i64, length: i64, width: i64, within: Within) -> Region {
        Region { x: mm(x), y: mm(y), length: mm(length), width: mm(width), within }
    }

    /// A 100 x 60 sheet, 5 mm off every edge, kerf 2: two rips of 20 (the second holds a piece of 80), an offcut of
    /// 90 x 6 above. Worked by hand.
    #[test]
    fn cuts_come_in_order_and_every_area_is_accounted_for() {
        let piece = |n, turned| Within::Piece { piece: n, turned };
        let root = region(
            5,
            5,
            90,
            50,
            Within::Cut(
                Direction::Rip,
                vec![
                    region(5, 5, 90, 20, piece(0, false)),
                    region(5, 27, 90, 20, piece(1, true)),
                    region(5, 49, 90, 6, Within::Offcut),
                ],
            ),
        );
        let stock = Stock {
            name: "s".into(),
            length: mm(100),
            width: mm(60),
            trim: Trim { left: mm(5), right: mm(5), bottom: mm(5), top: mm(5) },
            price: Money::ZERO,
            limit: None,
        };
        let cutting = Cutting {
            first: First::Rip,
            rip_kerf: mm(2),
            crosscut_kerf: mm(2),
            useful_offcut: Some((mm(5), mm(50))),
            ..Cutting::default()
        };
        let size = |n| if n == 0 { (mm(90), mm(20)) } else { (mm(20), mm(80)) };
        let sawn = saw(&Layout { stock: 0, times: 1, root }, &stock, &cutting, &size, Length::from_um(500));
        let cuts: Vec<(u8, i64, i64, i64, i64)> = sawn
            .cuts
            .iter()
            .map(|c| (c.stage, c.setting.0 / mm(1), c.at.0 / mm(1), c.from.0 / mm(1), c.to.0 / mm(1)))
            .collect();
        assert_eq!(
            cuts,
            [
                (0, 55, 3, 0, 100),
                (0, 50, 55, 0, 100),
                (0, 95, 3, 0, 60),
                (0, 90, 95, 0, 60),
                (1, 20, 25, 5, 95),
                (1, 20, 47, 5, 95),
                (2, 80, 85, 27, 47),
            ]
        );
        let offcuts: Vec<(i64, i64, bool)> =
            sawn.offcuts.iter().map(|o| (o.length.0 / mm(1), o.width.0 / mm(1), o.keep)).collect();
        assert_eq!(offcuts, [(90, 6, true), (8, 20, false)]);
        let a = sawn.areas;
        assert_eq!(a.sheet, a.pieces + a.trim + a.kerf + a.offcuts);
        assert_eq!(a.kerf, mm(1).area_nm2(mm(1)) * (90 * 4 + 2 * 20));
    }
}
