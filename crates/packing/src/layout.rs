//! From a layout in brief to every cut: regions, and what they say about pieces, cuts and offcuts.

use stripwright_units::Length;

use crate::answer::{Cut, Layout, Placed, Region, Within};
use crate::normalise::{Job, Lie, View};
use crate::pricing::{Pattern, Strip};
use crate::problem::{Direction, Problem};
use crate::widest::widest_first;

/// A rectangle in nanometres, before it becomes a region.
#[derive(Clone, Copy)]
struct Place {
    x: i64,
    y: i64,
    length: i64,
    width: i64,
}

impl Place {
    fn region(self, within: Within) -> Region {
        Region {
            x: Length::from_nm(self.x),
            y: Length::from_nm(self.y),
            length: Length::from_nm(self.length),
            width: Length::from_nm(self.width),
            within,
        }
    }
}

/// Writes a pattern out. `piece` names the piece for each place of a size, in the order of the places. `cut_at` says
/// how wide each panel is cut; with none, panels are as long as their strips, and a panel alone takes the whole sheet
/// where the saw allows it.
pub(crate) fn layout(
    problem: &Problem,
    job: &Job,
    pattern: &Pattern,
    cut_at: &[i64],
    times: u32,
    mut piece: impl FnMut(usize) -> usize,
) -> Layout {
    let stock = &problem.stocks[pattern.stock];
    let sheet = &job.sheets[pattern.stock];
    let place = Place {
        x: stock.trim.left.nm(),
        y: stock.trim.bottom.nm(),
        length: sheet.length,
        width: sheet.width,
    };
    let mut writer = Writer { problem, job, view: pattern.view, piece: &mut piece };
    let root = match pattern.panels.as_slice() {
        [] => place.region(Within::Offcut),
        [strips] if cut_at.is_empty() && takes_whole_sheet(job, pattern) => writer.panel(place, strips),
        panels => {
            let extents = if cut_at.is_empty() { panel_extents(job, pattern) } else { cut_at.to_vec() };
            writer.cut(place, true, &extents, &mut |writer, index, place| writer.panel(place, &panels[index]))
        }
    };
    Layout { stock: pattern.stock, times, root: widest_first(&root) }
}

/// Whether one panel may be the whole sheet, not cut off first: a sheet too long to be ripped whole may not.
pub(crate) fn takes_whole_sheet(job: &Job, pattern: &Pattern) -> bool {
    pattern.view == View::Across || job.ripping_allowed(job.sheets[pattern.stock].length)
}

/// How long the pieces of a strip are together, with the kerfs between them.
pub(crate) fn strip_extent(job: &Job, view: View, strip: &Strip) -> i64 {
    let kerf = job.kerfs(view).0;
    strip.iter().map(|&(lie, n)| (view.turn(job.extents(lie)).0 + kerf) * i64::from(n)).sum::<i64>() - kerf
}

/// How wide each panel has to be cut: as long as its longest strip; where the fence cannot be set to that, as long as
/// it can.
pub(crate) fn panel_extents(job: &Job, pattern: &Pattern) -> Vec<i64> {
    let Pattern { stock, view, panels } = pattern;
    let extent = |strips: &Vec<Strip>| {
        let extent = strips.iter().map(|strip| strip_extent(job, *view, strip)).max().unwrap_or(0);
        match job.fence_reach {
            Some(reach) if *view == View::Across && !job.rip_allowed(*stock, extent) => {
                extent.max(job.sheets[*stock].width - job.rip_kerf - reach)
            }
            _ => extent,
        }
    };
    panels.iter().map(extent).collect()
}

struct Writer<'a> {
    problem: &'a Problem,
    job: &'a Job,
    view: View,
    piece: &'a mut dyn FnMut(usize) -> usize,
}

impl Writer<'_> {
    /// Cuts a place along u (or v) into parts of these extents and what is left over.
    fn cut(
        &mut self,
        place: Place,
        along_u: bool,
        extents: &[i64],
        part: &mut dyn FnMut(&mut Self, usize, Place) -> Region,
    ) -> Region {
        let direction = match (self.view, along_u) {
            (View::Along, true) | (View::Across, false) => Direction::Crosscut,
            _ => Direction::Rip,
        };
        let by_x = direction == Direction::Crosscut;
        let (kerf, whole) =
            if by_x { (self.job.crosscut_kerf, place.length) } else { (self.job.rip_kerf, place.width) };
        let sub = |at: i64, extent: i64| {
            if by_x {
                Place { x: place.x + at, length: extent, ..place }
            } else {
                Place { y: place.y + at, width: extent, ..place }
            }
        };
        if let [extent] = extents
            && *extent == whole
        {
            return part(self, 0, place);
        }
        let mut parts = Vec::with_capacity(extents.len() + 1);
        let mut at = 0;
        for (index, &extent) in extents.iter().enumerate() {
            let own = part(self, index, sub(at, extent));
            match own.within {
                // A panel of one strip as wide as the sheet is not ripped: its crosscuts are of the panel's own stage.
                Within::Cut(again, inner) if again == direction => parts.extend(inner),
                _ => parts.push(own),
            }
            at += extent + kerf;
        }
        if at < whole {
            parts.push(sub(at, whole - at).region(Within::Offcut));
        }
        place.region(Within::Cut(direction, parts))
    }

    fn panel(&mut self, place: Place, strips: &[Strip]) -> Region {
        let widths: Vec<i64> =
            strips.iter().map(|s| s.iter().map(|&(lie, _)| self.uv(lie).1).max().unwrap_or(0)).collect();
        self.cut(place, false, &widths, &mut |writer, index, place| writer.strip(place, &strips[index]))
    }

    fn strip(&mut self, place: Place, strip: &Strip) -> Region {
        let lies: Vec<Lie> =
            strip.iter().flat_map(|&(lie, n)| std::iter::repeat_n(lie, n as usize)).collect();
        let extents: Vec<i64> = lies.iter().map(|&lie| self.uv(lie).0).collect();
        self.cut(place, true, &extents, &mut |writer, index, place| {
            let lie = lies[index];
            let piece = (writer.piece)(lie.size);
            // A size may gather pieces written down either way round: turned is about the piece's own length.
            let turned = writer.job.extents(lie).0 != writer.problem.pieces[piece].length.nm();
            place.region(Within::Piece { piece, turned })
        })
    }

    fn uv(&self, lie: Lie) -> (i64, i64) {
        self.view.turn(self.job.extents(lie))
    }
}

impl Layout {
    /// Every piece in its place, in the order of the regions.
    pub fn placed(&self, problem: &Problem) -> Vec<Placed> {
        let mut placed = Vec::new();
        self.root.walk(0, &mut |region, _| {
            if let Within::Piece { piece, turned } = region.within {
                let size = &problem.pieces[piece];
                let (length, width) =
                    if turned { (size.width, size.length) } else { (size.length, size.width) };
                placed.push(Placed { piece, x: region.x, y: region.y, length, width, turned });
            }
        });
        placed
    }

    /// What is left over, apart from what trimming a piece takes off.
    pub fn offcuts(&self) -> Vec<&Region> {
        let mut offcuts = Vec::new();
        self.root.walk(0, &mut |region, _| {
            if region.within == Within::Offcut {
                offcuts.push(region);
            }
        });
        offcuts
    }

    /// Every cut in sawing order: the first cuts of the sheet, then the cuts of what these gave, and so on, each
    /// stage in the order of the regions; the trimming of pieces that are smaller than their places comes last. The
    /// sheet's own edge trims are not among them.
    pub fn cuts(&self, problem: &Problem) -> Vec<Cut> {
        let mut cuts = Vec::new();
        let mut trims = Vec::new();
        self.root.walk(1, &mut |region, stage| match &region.within {
            Within::Cut(direction, parts) => {
                for part in parts {
                    if let Some(cut) = region.cut_after(*direction, part.end(*direction), stage) {
                        cuts.push(cut);
                    }
                }
            }
            Within::Piece { piece, turned } => {
                let size = &problem.pieces[*piece];
                let (length, width) =
                    if *turned { (size.width, size.length) } else { (size.length, size.width) };
                trims.extend(region.cut_after(Direction::Crosscut, region.x + length, stage));
                trims.extend(region.cut_after(Direction::Rip, region.y + width, stage));
            }
            Within::Offcut => {}
        });
        cuts.sort_by_key(|cut| cut.stage);
        cuts.extend(trims);
        cuts
    }
}

impl Region {
    /// Visits the region and all within it, depth first, with how deep each lies.
    pub(crate) fn walk<'a>(&'a self, depth: u8, visit: &mut dyn FnMut(&'a Region, u8)) {
        visit(self, depth);
        if let Within::Cut(_, parts) = &self.within {
            parts.iter().for_each(|part| part.walk(depth + 1, visit));
        }
    }

    /// Where it ends: in y for rips, in x for crosscuts.
    fn end(&self, direction: Direction) -> Length {
        match direction {
            Direction::Rip => self.y + self.width,
            Direction::Crosscut => self.x + self.length,
        }
    }

    /// The cut whose near side is `at`, unless the region ends there.
    fn cut_after(&self, direction: Direction, at: Length, stage: u8) -> Option<Cut> {
        let (from, to) = match direction {
            Direction::Rip => (self.x, self.x + self.length),
            Direction::Crosscut => (self.y, self.y + self.width),
        };
        (at < self.end(direction)).then_some(Cut { direction, stage, at, from, to })
    }
}
