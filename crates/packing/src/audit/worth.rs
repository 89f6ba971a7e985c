//! At the certificate's prices, is any layout worth more than its sheet?
//!
//! The best layout of a sheet is found by dynamic programming over [`Sums`], level by level of the cutting:
//!
//! * two stages: for each width of strip, that of its widest piece, the best row of pieces no wider; then the best
//!   stack of such strips.
//! * three stages: the sheet is first cut into panels. A panel's extent is a sum of extents of pieces; for each such
//!   sum the two inner levels are a two-stage sheet. That is a stack of strips for every sum, which is too dear for
//!   large jobs, so most panels are first ruled out by an upper limit of their worth, see [`panels`].
//!
//! # Why proper layouts are enough
//!
//! Where a certificate is *proper* (see [`crate::Certificate::proper`]), a strip takes no more of a size than [`need`]
//! says, and a panel no more strips of one width than pieces of just that width are needed. The bound holds for every
//! plan all the same, for every plan can be made into one of proper layouts that buys the same sheets:
//!
//! 1. A make used more often than its most wanting cover alone asks for can be used once less: each of its covers is
//!    still yielded often enough by this make. Makes cost nothing. So the plan uses no more of a size than [`need`].
//! 2. Leave out every piece beyond those that are wanted and used. Its place becomes waste, and what is left of the
//!    layout can still be sawn. Now the whole plan, and so every strip, holds no more of a size than [`need`], both
//!    ways of lying counted together.
//! 3. Leave out pieces without worth, which changes no layout's worth, and make each strip as narrow as its widest
//!    piece. That piece may be ripped to its width by itself (see `Sheet::allows`), so the strip may. Now each strip
//!    has a piece of its own of just its width, as it lies. The whole plan, and so every panel, has no more strips
//!    of a width than [`need`] allows pieces that lie with that width on this sheet. A piece with two different
//!    sides lies one way only with a given width, and counts once in each class of strips.
//! 4. In a strip wide enough for both ways of lying that the saw allows, lay every piece the shorter way. The piece
//!    as wide as the strip stays as it is: either its other side is too wide for the strip, or that side is narrower,
//!    and then it lies the shorter way already. So the strip keeps its width, and its class prices one way of lying.
//!
//! Forks (see [`crate::Fork`]) count what a plan has after these steps. Then no piece may be left out in step 3, for
//! a piece without worth still makes its strip as wide as it is; see [`tilted`].
//!
//! Steps 1 and 2 change which pieces are cut, and still meet what is asked; steps 3 and 4 change no worth. So at the
//! leaf's prices, the sheets of the plan cost at least what is in them after step 2, which is at least the worth of
//! what is asked: the same sum as without *proper*. The box of the leaf speaks of counts of sheets only, and these
//! are unchanged, sheets left empty included.
//!
//! The programme allows more than that: a class of strips takes rows that are narrower than the class, each strip and
//! each panel is confined by itself, and other runs of places than the innermost are not confined. Allowing more can
//! refuse a proof that is right; it cannot confirm one that is wrong.
//!
//! Everything is in `i64` with saturating sums: prices and sheet costs are under [`super::limits::MOST_WORTH`], so a
//! sum that saturates is above every cost and refuses the certificate, as it should.

pub(super) mod tilted;

use super::Claim;
use super::limits::MOST_WORTH;
use super::objection::Objection;
use super::sawing::first_directions;
use super::sums::{Beyond, Stack, Sums, Thing, Work, each_class};
use crate::problem::{Cutting, Direction, Problem, Stock};

/// Prices within each leaf: on makes and on sheets.
pub(super) fn check(problem: &Problem, claim: &Claim, objections: &mut Vec<Objection>) {
    let mut work = Work::new();
    let certificate = &claim.certificate;
    let most = certificate.proper.then(|| need(problem));
    // Leaves often differ only in what they say about sheets: what is known of a set of piece prices without forks
    // is kept.
    let mut known: Vec<Option<(usize, i64)>> = vec![None; problem.stocks.len()];
    for (i, leaf) in certificate.leaves.iter().enumerate() {
        for make in &problem.makes {
            let yields = total(&make.yields, &leaf.covers);
            let uses = total(&make.uses, &leaf.pieces);
            if yields > uses {
                objections.push(Objection::MakeTooDear {
                    leaf: i + 1,
                    make: make.name.clone(),
                    yields,
                    uses,
                });
            }
        }
        // No plan that the leaf speaks of has a sheet of which none may be bought.
        let none = |j: usize| leaf.branches.iter().any(|branch| branch.stock == j && branch.most == Some(0));
        for (j, stock) in problem.stocks.iter().enumerate().filter(|&(j, _)| !none(j)) {
            let cost = i128::from(certificate.scale) * i128::from(stock.price.minor())
                + i128::from(leaf.upper[j])
                - i128::from(leaf.lower[j]);
            let dear = |worth: i128| Objection::SheetTooCheap {
                leaf: i + 1,
                stock: stock.name.clone(),
                worth,
                cost,
            };
            if cost < 0 {
                objections.push(dear(0));
                continue;
            }
            let Ok(enough) = i64::try_from(cost.min(i128::from(MOST_WORTH))) else { continue };
            if i128::from(enough) < cost {
                let what = format!("The cost of sheet `{}` in leaf {}", stock.name, i + 1);
                let found = format!("it is {cost} in the certificate's scale, and {MOST_WORTH} is allowed");
                objections.push(Objection::Unusable { what, found });
                continue;
            }
            let plain = leaf.forks.is_empty();
            if let Some((before, cheaper)) = known[j].filter(|_| plain)
                && cheaper <= enough
                && certificate.leaves[before].pieces == leaf.pieces
            {
                continue;
            }
            let worth = if plain {
                best_layout(problem, j, &leaf.pieces, most.as_deref(), enough, &mut work)
            } else {
                tilted::best_layout(problem, j, leaf, most.as_deref(), &mut work)
            };
            match worth {
                Ok(worth) if worth > enough => objections.push(dear(i128::from(worth))),
                Ok(_) if plain => known[j] = Some((i, enough)),
                Ok(_) => {}
                Err(Beyond) => {
                    let what =
                        format!("the layouts of sheet `{}` in leaf {} of the certificate", stock.name, i + 1);
                    objections.push(Objection::TooMuchWork { what });
                    return;
                }
            }
        }
    }
}

fn total(entries: &[(usize, u32)], prices: &[i64]) -> i128 {
    entries.iter().map(|&(index, count)| i128::from(count) * i128::from(prices[index])).sum()
}

/// The most of each size that a plan without surplus can need: the plain demand, and for each make as often as the
/// most wanting of its covers alone would have it. A plan that uses a make more often can leave one out.
pub(super) fn need(problem: &Problem) -> Vec<u64> {
    let mut need: Vec<u64> = problem.pieces.iter().map(|p| u64::from(p.count)).collect();
    for make in &problem.makes {
        let uses = |&(cover, each): &(usize, u32)| match each {
            0 => 0,
            _ => problem.covers[cover].count.div_ceil(each),
        };
        let most = u64::from(make.yields.iter().map(uses).max().unwrap_or(0));
        for &(piece, each) in &make.uses {
            need[piece] = need[piece].saturating_add(most * u64::from(each));
        }
    }
    need
}

/// A piece as it may lie on the sheet: extents along x and y in nanometres, its price, and how many a strip may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Lie {
    piece: usize,
    x: i64,
    y: i64,
    worth: i64,
    most: u64,
}

/// A sheet and the rules of the saw, in nanometres.
struct Sheet {
    x: i64,
    y: i64,
    rip_kerf: i64,
    crosscut_kerf: i64,
    longest_rip: i64,
    /// A strip wider than this is held by what lies beside it instead.
    fence_reach: i64,
    smallest_rip: i64,
}

impl Sheet {
    fn new(stock: &Stock, cutting: &Cutting) -> Sheet {
        let or_none = |limit: Option<stripwright_units::Length>| limit.map_or(i64::MAX, |l| l.nm());
        Sheet {
            x: stock.usable_length().nm(),
            y: stock.usable_width().nm(),
            rip_kerf: cutting.rip_kerf.nm(),
            crosscut_kerf: cutting.crosscut_kerf.nm(),
            longest_rip: or_none(cutting.longest_rip),
            fence_reach: or_none(cutting.fence_reach),
            smallest_rip: cutting.smallest_rip.map_or(0, |l| l.nm()),
        }
    }

    /// The narrowest strip for the fence that holds a width of `y`: that width, or, out of reach, wide enough for
    /// the fence to reach across what lies beside it.
    fn fenced(&self, y: i64) -> i64 {
        if y <= self.fence_reach { y } else { y.max(self.y - self.rip_kerf - self.fence_reach) }
    }

    fn allows(&self, lie: &Lie) -> bool {
        let fits = lie.x <= self.x.min(self.longest_rip) && lie.y <= self.y;
        fits && (lie.y == self.y || (lie.y >= self.smallest_rip && self.fenced(lie.y) == lie.y))
    }
}

/// The worth of the best layout of stock `j`, exact where it is more than `enough`; otherwise any number that is
/// not more than `enough`. `most` confines what a strip may hold of each size. Sizes must have passed `limits`.
pub(super) fn best_layout(
    problem: &Problem,
    j: usize,
    prices: &[i64],
    most: Option<&[u64]>,
    enough: i64,
    work: &mut Work,
) -> Result<i64, Beyond> {
    let cutting = &problem.cutting;
    let sheet = Sheet::new(&problem.stocks[j], cutting);
    let lies = lies(problem, j, prices, most, &sheet);
    let mut best = 0;
    for &first in first_directions(cutting.first) {
        let too_long = sheet.x > sheet.longest_rip;
        let found = match (first, cutting.stages) {
            (Direction::Rip, 2) if too_long => 0,
            (Direction::Rip, 3) if too_long => crosscut_rip(&sheet, &lies, work)?,
            (Direction::Rip, 2) => rip_crosscut(&sheet, &lies, work)?,
            (Direction::Crosscut, 2) => crosscut_rip(&sheet, &lies, work)?,
            (Direction::Rip, _) => rip_crosscut_rip(&sheet, &lies, enough, work)?,
            (Direction::Crosscut, _) => crosscut_rip_crosscut(&sheet, &lies, enough, work)?,
        };
        best = best.max(found);
    }
    Ok(best)
}

/// The pieces of some worth, each as it may lie.
fn lies(problem: &Problem, j: usize, prices: &[i64], most: Option<&[u64]>, sheet: &Sheet) -> Vec<Lie> {
    let mut lies = every_lie(problem, j, prices, most, sheet);
    lies.retain(|l| l.worth > 0);
    lies
}

/// All pieces that may be cut from the sheet, each as it may lie.
fn every_lie(problem: &Problem, j: usize, prices: &[i64], most: Option<&[u64]>, sheet: &Sheet) -> Vec<Lie> {
    let mut lies = Vec::new();
    for (piece, kind) in problem.pieces.iter().enumerate().filter(|(_, p)| p.stocks.contains(&j)) {
        let (x, y) = (kind.length.nm(), kind.width.nm());
        let lie = Lie { piece, x, y, worth: prices[piece], most: most.map_or(u64::MAX, |most| most[piece]) };
        lies.push(lie);
        if kind.may_turn && x != y {
            lies.push(Lie { x: y, y: x, ..lie });
        }
    }
    lies.retain(|l| l.most > 0 && sheet.allows(l));
    lies
}

/// The lies as things side by side in strips that are told apart by their width: for rows along x the width is y.
///
/// A class is a width that some piece has; it takes what is no wider. A piece that fits both ways lies the shorter
/// way along the strip: the other way takes more room for the same worth.
struct Classes {
    widths: Vec<i64>,
    /// How many strips of each width a panel may hold: the widest piece in each is of just that width.
    most: Vec<u64>,
    things: Vec<Thing>,
}

impl Classes {
    fn new(lies: &[Lie], along_and_width: impl Fn(&Lie) -> (i64, i64), kerf: i64) -> Classes {
        let mut widths: Vec<i64> = lies.iter().map(|l| along_and_width(l).1).collect();
        widths.sort_unstable();
        widths.dedup();
        let class = |width: i64| widths.partition_point(|&w| w < width);
        let mut most = vec![0u64; widths.len()];
        for lie in lies {
            let class = &mut most[class(along_and_width(lie).1)];
            *class = class.saturating_add(lie.most);
        }
        let things = lies
            .iter()
            .map(|lie| {
                let (along, width) = along_and_width(lie);
                let turned = lies.iter().find(|o| o.piece == lie.piece && along_and_width(o).1 > width);
                let until = turned.map_or(widths.len(), |o| class(along_and_width(o).1));
                Thing { size: along + kerf, worth: lie.worth, most: lie.most, from: class(width), until }
            })
            .collect();
        Classes { widths, most, things }
    }

    /// Rows along x in strips across y.
    fn rows(sheet: &Sheet, lies: &[Lie]) -> Classes {
        Classes::new(lies, |l| (l.x, l.y), sheet.crosscut_kerf)
    }

    /// Columns along y in panels along x.
    fn columns(sheet: &Sheet, lies: &[Lie]) -> Classes {
        Classes::new(lies, |l| (l.y, l.x), sheet.rip_kerf)
    }
}

/// Sums of extents with their kerf. A kerf's room is given to the sheet, too: n side by side need n - 1 kerfs.
fn sums_x(sheet: &Sheet, lies: &[Lie], work: &mut Work) -> Result<Sums, Beyond> {
    let sizes = lies.iter().map(|l| l.x + sheet.crosscut_kerf);
    Ok(Sums::new(sizes, sheet.x + sheet.crosscut_kerf, work)?.quickest())
}

/// As [`sums_x`]; a strip that the fence cannot reach may be as wide as what lies beside it asks for.
fn sums_y(sheet: &Sheet, lies: &[Lie], work: &mut Work) -> Result<Sums, Beyond> {
    let held = (sheet.y - sheet.rip_kerf).saturating_sub(sheet.fence_reach);
    let held = (held > sheet.fence_reach).then_some(held);
    let sizes = lies.iter().map(|l| l.y).chain(held).map(|y| y + sheet.rip_kerf);
    Ok(Sums::new(sizes, sheet.y + sheet.rip_kerf, work)?.quickest())
}

/// Two stages, rips first.
fn rip_crosscut(sheet: &Sheet, lies: &[Lie], work: &mut Work) -> Result<i64, Beyond> {
    let (along, across) = (sums_x(sheet, lies, work)?, sums_y(sheet, lies, work)?);
    let rows = Classes::rows(sheet, lies);
    let mut strips = Stack::new(&across);
    each_class(&along, &rows.things, rows.widths.len(), work, &mut |class, row, work| {
        strips.add_some(rows.widths[class] + sheet.rip_kerf, row.top(), rows.most[class], work)
    })?;
    Ok(strips.top())
}

/// Two stages, crosscuts first. No piece is longer than the longest rip, so every panel may be ripped.
fn crosscut_rip(sheet: &Sheet, lies: &[Lie], work: &mut Work) -> Result<i64, Beyond> {
    let (along, across) = (sums_x(sheet, lies, work)?, sums_y(sheet, lies, work)?);
    let columns = Classes::columns(sheet, lies);
    let mut panels = Stack::new(&along);
    each_class(&across, &columns.things, columns.widths.len(), work, &mut |class, column, work| {
        panels.add_some(columns.widths[class] + sheet.crosscut_kerf, column.top(), columns.most[class], work)
    })?;
    Ok(panels.top())
}

/// Three stages, crosscuts first: panels along x, each a stack of strips, each a row of pieces.
fn crosscut_rip_crosscut(sheet: &Sheet, lies: &[Lie], enough: i64, work: &mut Work) -> Result<i64, Beyond> {
    let (along, across) = (sums_x(sheet, lies, work)?, sums_y(sheet, lies, work)?);
    let rows = Classes::rows(sheet, lies);
    let strips: Vec<i64> = rows.widths.iter().map(|width| width + sheet.rip_kerf).collect();
    let level = Level {
        extents: &along,
        size: &|i| {
            if along.at(i) - sheet.crosscut_kerf <= sheet.longest_rip { along.at(i) } else { TOO_LARGE }
        },
        across: &across,
        inner: &rows.things,
        strips: &strips,
        most: &rows.most,
    };
    panels(&level, enough, work)
}

/// Three stages, rips first: strips across y, each a row of panels along x, each a stack of pieces.
fn rip_crosscut_rip(sheet: &Sheet, lies: &[Lie], enough: i64, work: &mut Work) -> Result<i64, Beyond> {
    let (along, across) = (sums_x(sheet, lies, work)?, sums_y(sheet, lies, work)?);
    let columns = Classes::columns(sheet, lies);
    let kinds: Vec<i64> = columns.widths.iter().map(|length| length + sheet.crosscut_kerf).collect();
    let level = Level {
        extents: &across,
        size: &|i| sheet.fenced(across.at(i) - sheet.rip_kerf) + sheet.rip_kerf,
        across: &along,
        inner: &columns.things,
        strips: &kinds,
        most: &columns.most,
    };
    panels(&level, enough, work)
}

/// The levels of a three-stage layout, spoken of as panels of strips of pieces.
struct Level<'a> {
    /// Sums that the pieces of a strip may reach, which are also those that panels in a row may reach.
    extents: &'a Sums,
    /// How much room a panel takes that holds strips of that extent; [`TOO_LARGE`] where there may be no such panel.
    size: &'a (dyn Fn(usize) -> i64 + Sync),
    /// Sums that strips within a panel may reach.
    across: &'a Sums,
    /// The pieces in a strip.
    inner: &'a [Thing],
    /// Sizes of strips with kerf, narrow to wide; a wider one may hold all that a narrower one may.
    strips: &'a [i64],
    /// How many of each a panel may hold.
    most: &'a [u64],
}

/// The best row of panels.
///
/// The exact worth of a panel is a stack of strips, and there are as many panels as sums. So first each panel gets a
/// roof: what its most valuable strip per millimetre would be worth if strips could be cut in fractions. A row of
/// panels under their roofs gives a roof for every remaining extent. A panel is worked out exactly only when it could
/// take part in a row worth more than `enough`, and when smaller panels beside each other do not do as well.
fn panels(level: &Level, enough: i64, work: &mut Work) -> Result<i64, Beyond> {
    let (extents, across, kinds) = (level.extents, level.across, level.strips.len());
    let room = i128::from(across.at(across.last()));
    let mut roofs = vec![0i64; extents.len()];
    let mut gains = vec![false; extents.len()];
    each_class(extents, level.inner, kinds, work, &mut |class, row, work| {
        work.spend(roofs.len())?;
        for (i, roof) in roofs.iter_mut().enumerate() {
            let many = i128::from(row.best(i)) * room / i128::from(level.strips[class]);
            *roof = (*roof).max(i64::try_from(many).unwrap_or(i64::MAX));
            gains[i] |= i > 0 && row.best(i) > row.best(i - 1);
        }
        Ok(())
    })?;
    let mut roof = Stack::new(extents);
    for (i, &worth) in roofs.iter().enumerate().skip(1) {
        if !roof.beats((level.size)(i), worth) {
            roof.add((level.size)(i), worth, work)?;
        }
    }
    if roof.top() <= enough {
        return Ok(roof.top());
    }
    let rest = |i: usize| roof.best(extents.floor(extents.at(extents.last()) - (level.size)(i)));
    let fits = |i: usize| (level.size)(i) <= extents.at(extents.last());
    let close: Vec<usize> = (1..extents.len())
        .filter(|&i| fits(i) && gains[i] && roofs[i].saturating_add(rest(i)) > enough)
        .collect();
    if close.len().saturating_mul(kinds) > MOST_CELLS {
        return Err(Beyond);
    }
    let mut worths = vec![0i64; close.len() * kinds];
    each_class(extents, level.inner, kinds, work, &mut |class, row, work| {
        work.spend(close.len())?;
        for (k, &i) in close.iter().enumerate() {
            worths[k * kinds + class] = row.best(i);
        }
        Ok(())
    })?;
    let mut row = Stack::new(extents);
    let mut stack = Stack::new(across);
    let all: Vec<usize> = (0..close.len()).collect();
    for some in all.chunks(AT_ONCE) {
        let open = |&&k: &&usize| !row.beats((level.size)(close[k]), roofs[close[k]]);
        let open: Vec<usize> = some.iter().filter(open).copied().collect();
        let of = |k: usize| &worths[k * kinds..(k + 1) * kinds];
        for (k, worth) in side_by_side(&open, &mut stack, level, of, work)? {
            let size = (level.size)(close[k]);
            if !row.beats(size, worth) {
                row.add(size, worth, work)?;
            }
        }
    }
    Ok(row.top())
}

/// So many panels are looked at together, half of them on a thread of its own. One that those before it in the same lot do as
/// well as is worked out in vain.
const AT_ONCE: usize = 48;

/// Steps from which a thread is worth while.
const A_THREAD: usize = 200_000;

/// What panels are worth, each by its strips.
fn side_by_side<'w>(
    panels: &[usize],
    stack: &mut Stack,
    level: &Level,
    strips: impl Fn(usize) -> &'w [i64] + Sync,
    work: &mut Work,
) -> Result<Vec<(usize, i64)>, Beyond> {
    let each =
        |panels: &[usize], stack: &mut Stack, mut work: Work| -> Result<(Vec<(usize, i64)>, Work), Beyond> {
            let mut found = Vec::with_capacity(panels.len());
            for &panel in panels {
                found.push((panel, stacked(level.strips, strips(panel), level.most, stack, &mut work)?));
            }
            Ok((found, work))
        };
    if panels.len() * level.strips.len() * level.across.len() < A_THREAD {
        let (found, left) = each(panels, stack, work.clone())?;
        *work = left;
        return Ok(found);
    }
    let (left, right) = panels.split_at(panels.len() / 2);
    let before = work.clone();
    let (first, second) = std::thread::scope(|scope| {
        let rest = || each(right, &mut Stack::new(level.across), before.clone());
        let second = std::thread::Builder::new().spawn_scoped(scope, rest);
        let first = each(left, stack, before.clone());
        // (On the web there are no threads.)
        let second = second.map_or_else(
            |_| rest(),
            |second| second.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)),
        );
        (first, second)
    });
    let (mut found, first_left) = first?;
    let (more, second_left) = second?;
    *work = before.less_both(&first_left, &second_left)?;
    found.extend(more);
    Ok(found)
}

/// What the best stack of strips is worth.
fn stacked(
    strips: &[i64],
    worths: &[i64],
    most: &[u64],
    stack: &mut Stack,
    work: &mut Work,
) -> Result<i64, Beyond> {
    stack.clear();
    let room = i128::from(stack.room());
    let mut narrower = 0;
    for ((&strip, &worth), &most) in strips.iter().zip(worths).zip(most) {
        // A wider strip worth no more than one of which there may be any number changes nothing.
        if worth > narrower {
            stack.add_some(strip, worth, most, work)?;
            if i128::from(most) * i128::from(strip) >= room {
                narrower = worth;
            }
        }
    }
    Ok(stack.top())
}

/// The size of a panel that fits nowhere.
const TOO_LARGE: i64 = i64::MAX;

/// Worths of strips kept at a time: 512 MB at most.
const MOST_CELLS: usize = 1 << 26;
