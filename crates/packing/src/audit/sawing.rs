//! Can each layout be cut?

use stripwright_units::Length;

use super::{Claim, MOST_OBJECTIONS, Objection, Sheets, TreeFault};
use crate::answer::{Answer, Layout, Placed, Region, Within};
use crate::problem::{Cutting, Direction, First, Problem, Stock};

/// Deeper trees than this are refused before they are walked: no allowed layout has more than three stages.
const DEEPEST: u8 = 8;

/// Every placed piece by itself, then the layout as a whole.
pub(super) fn check(problem: &Problem, claim: &Claim, objections: &mut Vec<Objection>) {
    for (i, sheets) in claim.layouts.iter().enumerate() {
        let before = objections.len();
        if before > MOST_OBJECTIONS {
            return;
        }
        for placed in &sheets.placed {
            check_placed(problem, i + 1, &problem.stocks[sheets.stock], sheets, placed, objections);
        }
        if objections.len() == before && !sheets.placed.is_empty() {
            check_cuts(problem, i + 1, sheets, objections);
        }
    }
}

fn check_placed(
    problem: &Problem,
    layout: usize,
    stock: &Stock,
    sheets: &Sheets,
    placed: &Placed,
    objections: &mut Vec<Objection>,
) {
    let kind = &problem.pieces[placed.piece];
    let piece = || kind.name.clone();
    if !kind.stocks.contains(&sheets.stock) {
        objections.push(Objection::WrongSheet { layout, piece: piece(), stock: stock.name.clone() });
    }
    if placed.turned && !kind.may_turn {
        objections.push(Objection::Turned { layout, piece: piece() });
    }
    let expected = if placed.turned { (kind.width, kind.length) } else { (kind.length, kind.width) };
    let found = (placed.length, placed.width);
    if found != expected {
        objections.push(Objection::WrongSize { layout, piece: piece(), found, expected });
        return;
    }
    if !Rect::usable(stock).holds(&Rect::of(placed)) {
        objections.push(Objection::Outside { layout, piece: piece(), at: (placed.x, placed.y) });
        return;
    }
    let cutting = &problem.cutting;
    if let Some(most) = cutting.longest_rip.filter(|&most| most < placed.length) {
        objections.push(Objection::RipTooLong { layout, piece: piece(), found: placed.length, most });
    }
    if placed.width < stock.usable_width() {
        if let Some(least) = cutting.smallest_rip.filter(|&least| least > placed.width) {
            objections.push(Objection::RipTooNarrow { layout, piece: piece(), found: placed.width, least });
        }
        if let Some(reach) = cutting.fence_reach.filter(|_| held(cutting, stock, placed.width) > placed.width)
        {
            objections.push(Objection::FenceTooNear { layout, piece: piece(), found: placed.width, reach });
        }
    }
}

/// The narrowest strip that the fence can hold with `width` in it: that width, or, out of reach, so wide that the
/// fence reaches across what lies beside it.
fn held(cutting: &Cutting, stock: &Stock, width: Length) -> Length {
    match cutting.fence_reach {
        Some(reach) if width > reach => width.max(stock.usable_width() - cutting.rip_kerf - reach),
        _ => width,
    }
}

/// A rectangle in whole nanometres: from (x0, y0) to (x1, y1).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Rect {
    x: (i64, i64),
    y: (i64, i64),
}

impl Rect {
    fn of(placed: &Placed) -> Rect {
        let (x, y) = (placed.x.nm(), placed.y.nm());
        Rect { x: (x, x + placed.length.nm()), y: (y, y + placed.width.nm()) }
    }

    fn usable(stock: &Stock) -> Rect {
        Rect {
            x: (stock.trim.left.nm(), (stock.length - stock.trim.right).nm()),
            y: (stock.trim.bottom.nm(), (stock.width - stock.trim.top).nm()),
        }
    }

    fn holds(&self, other: &Rect) -> bool {
        self.x.0 <= other.x.0 && other.x.1 <= self.x.1 && self.y.0 <= other.y.0 && other.y.1 <= self.y.1
    }

    /// Its shadow on the axis that cuts of this direction divide: rips divide y, crosscuts divide x.
    fn shadow(&self, direction: Direction) -> (i64, i64) {
        match direction {
            Direction::Rip => self.y,
            Direction::Crosscut => self.x,
        }
    }

    fn with_shadow(mut self, direction: Direction, shadow: (i64, i64)) -> Rect {
        match direction {
            Direction::Rip => self.y = shadow,
            Direction::Crosscut => self.x = shadow,
        }
        self
    }
}

fn other(direction: Direction) -> Direction {
    match direction {
        Direction::Rip => Direction::Crosscut,
        Direction::Crosscut => Direction::Rip,
    }
}

/// The directions that first cuts may take.
pub(super) fn first_directions(first: First) -> &'static [Direction] {
    match first {
        First::Rip => &[Direction::Rip],
        First::Crosscut => &[Direction::Crosscut],
        First::Either => &[Direction::Rip, Direction::Crosscut],
    }
}

/// Why a run of cuts fails.
enum Snag {
    Joined { piece: usize, joined: usize },
    Untrimmed { piece: usize },
    Fence { width: i64 },
}

fn check_cuts(problem: &Problem, layout: usize, sheets: &Sheets, objections: &mut Vec<Objection>) {
    let mut rects: Vec<(Rect, usize)> = sheets.placed.iter().map(|p| (Rect::of(p), p.piece)).collect();
    let stock = &problem.stocks[sheets.stock];
    let saw = Saw { cutting: &problem.cutting, stock };
    let name = |piece: usize| problem.pieces[piece].name.clone();
    let mut failures = Vec::new();
    for &first in first_directions(problem.cutting.first) {
        if first == Direction::Rip
            && problem.cutting.stages < 3
            && let Some(most) = problem.cutting.longest_rip.filter(|&most| most < stock.usable_length())
        {
            failures.push(Objection::Tree { layout, fault: TreeFault::RipTooLong(most) });
            continue;
        }
        match saw.free(&mut rects, Rect::usable(stock), first, problem.cutting.stages) {
            Ok(()) => return,
            Err(Snag::Joined { piece, joined }) => {
                let stages = problem.cutting.stages;
                failures.push(Objection::NotSawable { layout, first, stages, piece: name(piece), joined });
            }
            Err(Snag::Untrimmed { piece }) => {
                failures.push(Objection::NotTrimmable { layout, first, piece: name(piece) });
            }
            Err(Snag::Fence { width }) => {
                let fault = TreeFault::FenceReach(Length::from_nm(width));
                failures.push(Objection::Tree { layout, fault });
            }
        }
    }
    if let Some((one, two)) = overlapping(&mut rects) {
        objections.push(Objection::Overlap { layout, one: name(one), other: name(two) });
    } else {
        objections.append(&mut failures);
    }
}

/// A sheet on the saw.
struct Saw<'a> {
    cutting: &'a Cutting,
    stock: &'a Stock,
}

/// Pieces `start..end` of a region that stay together at a stage, and their shadow on the axis that is divided.
#[derive(Clone, Copy, Debug)]
struct Group {
    start: usize,
    end: usize,
    hull: (i64, i64),
}

impl Saw<'_> {
    /// Sets every piece of a region free with cuts in this direction and at most `stages - 1` more turns of direction.
    ///
    /// Pieces whose shadows on the divided axis come closer than a kerf cannot be parted here and stay in one group.
    /// The finest groups are always the best choice: whatever cuts work for a coarser group work for a part of it,
    /// and its cuts are shorter.
    fn free(
        &self,
        pieces: &mut [(Rect, usize)],
        region: Rect,
        direction: Direction,
        stages: u8,
    ) -> Result<(), Snag> {
        if stages == 0 {
            return match pieces {
                [(rect, piece)] => trim(rect, &region).then_some(()).ok_or(Snag::Untrimmed { piece: *piece }),
                _ => Err(Snag::Joined { piece: pieces.first().map_or(0, |p| p.1), joined: pieces.len() }),
            };
        }
        pieces.sort_unstable_by_key(|(rect, piece)| (rect.shadow(direction), *piece));
        let whole = region.shadow(direction);
        let long = region.x.1 - region.x.0;
        let too_long = self.cutting.longest_rip.is_some_and(|most| long > most.nm());
        let groups = match direction {
            Direction::Rip if too_long => vec![Group { start: 0, end: pieces.len(), hull: whole }],
            Direction::Rip => self.fence(groups(pieces, direction, self.cutting.rip_kerf.nm()), whole)?,
            Direction::Crosscut => groups(pieces, direction, self.cutting.crosscut_kerf.nm()),
        };
        for group in groups {
            let part = region.with_shadow(direction, group.hull);
            self.free(&mut pieces[group.start..group.end], part, other(direction), stages - 1)?;
        }
        Ok(())
    }

    /// Widens strips that the fence cannot hold into the waste beside them, upwards first.
    fn fence(&self, mut groups: Vec<Group>, whole: (i64, i64)) -> Result<Vec<Group>, Snag> {
        let kerf = self.cutting.rip_kerf.nm();
        for i in 0..groups.len() {
            let (low, high) = groups[i].hull;
            let needed = held(self.cutting, self.stock, Length::from_nm(high - low)).nm();
            if (low, high) == whole || needed == high - low {
                continue;
            }
            let ceiling = groups.get(i + 1).map_or(whole.1, |next| next.hull.0 - kerf);
            let floor = i.checked_sub(1).map_or(whole.0, |before| groups[before].hull.1 + kerf);
            let high = ceiling.min(low + needed);
            let low = floor.max(high - needed);
            if high - low < needed && (low, high) != whole {
                return Err(Snag::Fence { width: groups[i].hull.1 - groups[i].hull.0 });
            }
            groups[i].hull = (low, high);
        }
        Ok(groups)
    }
}

/// Pieces, sorted by their shadows, in groups a kerf or more apart.
fn groups(pieces: &[(Rect, usize)], direction: Direction, kerf: i64) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (i, (rect, _)) in pieces.iter().enumerate() {
        let shadow = rect.shadow(direction);
        match groups.last_mut() {
            Some(group) if shadow.0 < group.hull.1 + kerf => {
                group.end = i + 1;
                group.hull.1 = group.hull.1.max(shadow.1);
            }
            _ => groups.push(Group { start: i, end: i + 1, hull: shadow }),
        }
    }
    groups
}

/// Whether one cut at most trims the piece out of its place.
fn trim(piece: &Rect, place: &Rect) -> bool {
    let edges =
        [piece.x.0 == place.x.0, piece.x.1 == place.x.1, piece.y.0 == place.y.0, piece.y.1 == place.y.1];
    edges.iter().filter(|&&flush| !flush).count() <= 1
}

fn overlapping(rects: &mut [(Rect, usize)]) -> Option<(usize, usize)> {
    rects.sort_unstable_by_key(|(rect, piece)| (rect.x, rect.y, *piece));
    for (i, (one, a)) in rects.iter().enumerate() {
        for (two, b) in rects[i + 1..].iter().take_while(|(two, _)| two.x.0 < one.x.1) {
            if two.y.0 < one.y.1 && one.y.0 < two.y.1 {
                return Some((*a, *b));
            }
        }
    }
    None
}

/// The flat claim that an answer makes, after checking its trees of cuts.
pub(super) fn flatten(problem: &Problem, answer: &Answer) -> Result<Claim, Vec<Objection>> {
    let mut objections = Vec::new();
    let mut layouts = Vec::new();
    for (i, layout) in answer.layouts.iter().enumerate() {
        match check_tree(problem, i + 1, layout) {
            Ok(placed) => layouts.push(Sheets { stock: layout.stock, times: layout.times, placed }),
            Err(objection) => objections.push(objection),
        }
    }
    if !objections.is_empty() {
        return Err(objections);
    }
    Ok(Claim {
        layouts,
        makes: answer.makes.clone(),
        spare: answer.spare.clone(),
        money: answer.money,
        bound: answer.bound,
        proven: answer.is_tight(),
        certificate: answer.certificate.clone(),
    })
}

/// Walks a layout's tree of cuts and gives the pieces where it places them.
pub(super) fn check_tree(
    problem: &Problem,
    number: usize,
    layout: &Layout,
) -> Result<Vec<Placed>, Objection> {
    let Some(stock) = problem.stocks.get(layout.stock) else {
        let (found, expected) = (layout.stock as u64, problem.stocks.len() as u64);
        return Err(Objection::Mismatch {
            what: format!("The sheet index of layout {number}"),
            found,
            expected,
        });
    };
    let sane = |l: Length| (Length::ZERO..=Length::LONGEST).contains(&l);
    let trim = [stock.trim.left, stock.trim.right, stock.trim.bottom, stock.trim.top];
    let sizes = [stock.length, stock.width, problem.cutting.rip_kerf, problem.cutting.crosscut_kerf];
    let pieces_sane = problem.pieces.iter().all(|p| sane(p.length) && sane(p.width));
    if !trim.into_iter().chain(sizes).all(sane) || !pieces_sane {
        let what = format!("Sheet `{}`", stock.name);
        let found = "a size of it, of a piece or of the saw is below zero or above 100 m".into();
        return Err(Objection::Unusable { what, found });
    }
    let fault = |fault| Objection::Tree { layout: number, fault };
    if rect(&layout.root) != Some(Rect::usable(stock)) {
        return Err(fault(TreeFault::Root));
    }
    // A layout that begins with the other direction leaves the first stage out.
    let firsts = first_directions(problem.cutting.first);
    let skips = matches!(&layout.root.within, Within::Cut(d, _) if !firsts.contains(d));
    let mut placed = Vec::new();
    Tree { problem, stock }.walk(&layout.root, None, u8::from(skips), &mut placed).map_err(fault)?;
    Ok(placed)
}

/// The region's rectangle, where its numbers are within reason.
fn rect(region: &Region) -> Option<Rect> {
    let sane = |l: Length| (Length::ZERO..=Length::LONGEST).contains(&l);
    if ![region.x, region.y, region.length, region.width].into_iter().all(sane) {
        return None;
    }
    let (x, y) = (region.x.nm(), region.y.nm());
    Some(Rect { x: (x, x + region.length.nm()), y: (y, y + region.width.nm()) })
}

/// A tree of cuts on its sheet.
struct Tree<'a> {
    problem: &'a Problem,
    stock: &'a Stock,
}

impl Tree<'_> {
    fn walk(
        &self,
        region: &Region,
        last: Option<Direction>,
        depth: u8,
        placed: &mut Vec<Placed>,
    ) -> Result<(), TreeFault> {
        match &region.within {
            Within::Offcut => Ok(()),
            &Within::Piece { piece, turned } => {
                let kind = self.problem.pieces.get(piece).ok_or(TreeFault::NoSuchPiece(piece))?;
                let (length, width) =
                    if turned { (kind.width, kind.length) } else { (kind.length, kind.width) };
                let fits = length <= region.length && width <= region.width;
                let trims = usize::from(length < region.length) + usize::from(width < region.width);
                // With a stage to spare the second cut is one of that stage's; the flat check counts it again.
                let spare_stage = depth < self.problem.cutting.stages;
                if !fits || (trims > 1 && !spare_stage) {
                    return Err(TreeFault::Piece(kind.name.clone()));
                }
                placed.push(Placed { piece, x: region.x, y: region.y, length, width, turned });
                Ok(())
            }
            &Within::Cut(direction, ref parts) => {
                self.check_cut(region, direction, last, depth, parts)?;
                parts.iter().try_for_each(|part| self.walk(part, Some(direction), depth + 1, placed))
            }
        }
    }

    fn check_cut(
        &self,
        region: &Region,
        direction: Direction,
        last: Option<Direction>,
        depth: u8,
        parts: &[Region],
    ) -> Result<(), TreeFault> {
        let cutting = &self.problem.cutting;
        if last == Some(direction) {
            return Err(TreeFault::SameDirection);
        }
        if depth >= cutting.stages.min(DEEPEST) {
            return Err(TreeFault::Depth(cutting.stages));
        }
        if parts.is_empty() {
            return Err(TreeFault::Empty);
        }
        let kerf = match direction {
            Direction::Rip => cutting.rip_kerf.nm(),
            Direction::Crosscut => cutting.crosscut_kerf.nm(),
        };
        let whole = rect(region).ok_or(TreeFault::Extent(direction))?;
        let across = other(direction);
        let (start, end) = whole.shadow(direction);
        let mut at = start;
        for part in parts {
            let part = rect(part).ok_or(TreeFault::Extent(direction))?;
            if part.shadow(across) != whole.shadow(across) {
                return Err(TreeFault::Extent(direction));
            }
            let shadow = part.shadow(direction);
            if shadow.0 != at || shadow.1 <= shadow.0 || shadow.1 > end {
                return Err(TreeFault::Spacing(direction));
            }
            at = shadow.1 + kerf;
        }
        if at < end {
            return Err(TreeFault::Spacing(direction));
        }
        let sawn = parts.len() > 1 || at - kerf < end;
        if direction == Direction::Rip && sawn {
            if let Some(most) = cutting.longest_rip.filter(|&most| most < region.length) {
                return Err(TreeFault::RipTooLong(most));
            }
            let holds = |r: &Region| {
                held(cutting, self.stock, r.width) == r.width || matches!(r.within, Within::Offcut)
            };
            if let Some(part) = parts.iter().find(|r| !holds(r)) {
                return Err(TreeFault::FenceReach(part.width));
            }
        }
        Ok(())
    }
}
