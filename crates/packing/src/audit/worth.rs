//! At the certificate's prices, is any layout worth more than its sheet?
//!
//! The best layout of a sheet is found by dynamic programming over [`Sums`], level by level of the cutting:
//!
//! * two stages: for each width of strip, widest piece first decided, the best row of pieces no wider; then the best
//!   stack of such strips. Since rows only gain as wider pieces are let in, one pass in order of width does for all.
//! * three stages: the sheet is first cut into panels. A panel's extent is a sum of extents of pieces; for each such
//!   sum the two inner levels are a two-stage sheet. That is a stack of strips for every sum, which is too dear for
//!   large jobs, so most panels are first ruled out by an upper limit of their worth, see [`panels`].
//!
//! Everything is in `i64` with saturating sums: prices and sheet costs are under [`super::limits::MOST_WORTH`], so a
//! sum that saturates is above every cost and refuses the certificate, as it should.

use super::Claim;
use super::limits::MOST_WORTH;
use super::objection::Objection;
use super::sawing::first_directions;
use super::sums::{Beyond, Stack, Sums, Work};
use crate::problem::{Cutting, Direction, Problem, Stock};

/// Prices within each leaf: on makes and on sheets.
pub(super) fn check(problem: &Problem, claim: &Claim, objections: &mut Vec<Objection>) {
    let mut work = Work::new();
    let certificate = &claim.certificate;
    // Leaves often differ only in what they say about sheets: what is known of a set of piece prices is kept.
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
        for (j, stock) in problem.stocks.iter().enumerate() {
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
            if let Some((before, cheaper)) = known[j]
                && cheaper <= enough
                && certificate.leaves[before].pieces == leaf.pieces
            {
                continue;
            }
            match best_layout(problem, j, &leaf.pieces, enough, &mut work) {
                Ok(worth) if worth > enough => objections.push(dear(i128::from(worth))),
                Ok(_) => known[j] = Some((i, enough)),
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

/// A piece as it may lie on the sheet: extents along x and y in nanometres, and its price.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Lie {
    x: i64,
    y: i64,
    worth: i64,
}

/// A sheet and the rules of the saw, in nanometres.
struct Sheet {
    x: i64,
    y: i64,
    rip_kerf: i64,
    crosscut_kerf: i64,
    longest_rip: i64,
    fence_reach: i64,
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
        }
    }
}

/// The worth of the best layout of stock `j`, exact where it is more than `enough`; otherwise any number that is
/// not more than `enough`. Sizes must have passed `limits`.
pub(super) fn best_layout(
    problem: &Problem,
    j: usize,
    prices: &[i64],
    enough: i64,
    work: &mut Work,
) -> Result<i64, Beyond> {
    let cutting = &problem.cutting;
    let sheet = Sheet::new(&problem.stocks[j], cutting);
    let lies = lies(problem, j, prices, &sheet);
    let mut best = 0;
    for &first in first_directions(cutting.first) {
        let found = match (first, cutting.stages) {
            (Direction::Rip, 2) => rip_crosscut(&sheet, &lies, work)?,
            (Direction::Crosscut, 2) => crosscut_rip(&sheet, &lies, work)?,
            (Direction::Rip, _) => rip_crosscut_rip(&sheet, &lies, enough, work)?,
            (Direction::Crosscut, _) => crosscut_rip_crosscut(&sheet, &lies, enough, work)?,
        };
        best = best.max(found);
    }
    Ok(best)
}

fn lies(problem: &Problem, j: usize, prices: &[i64], sheet: &Sheet) -> Vec<Lie> {
    let smallest_rip = problem.cutting.smallest_rip.map_or(0, |l| l.nm());
    let mut lies = Vec::new();
    for (piece, &worth) in problem.pieces.iter().zip(prices).filter(|(p, _)| p.stocks.contains(&j)) {
        let (length, width) = (piece.length.nm(), piece.width.nm());
        lies.push(Lie { x: length, y: width, worth });
        if piece.may_turn {
            lies.push(Lie { x: width, y: length, worth });
        }
    }
    let ripped = |l: &Lie| l.y < sheet.y;
    lies.retain(|l| l.worth > 0 && l.x <= sheet.x && l.y <= sheet.y);
    lies.retain(|l| !ripped(l) || (l.x <= sheet.longest_rip && l.y >= smallest_rip));
    lies.sort_unstable();
    lies.dedup();
    lies
}

/// Runs of lies that share a key, in order of the key.
fn classes(lies: &[Lie], key: impl Fn(&Lie) -> i64) -> Vec<(i64, Vec<Lie>)> {
    let mut sorted = lies.to_vec();
    sorted.sort_by_key(|l| (key(l), *l));
    sorted.chunk_by(|a, b| key(a) == key(b)).map(|run| (key(&run[0]), run.to_vec())).collect()
}

/// Sums of extents with their kerf. A kerf's room is given to the sheet, too: n side by side need n - 1 kerfs.
fn sums_x(sheet: &Sheet, lies: &[Lie], work: &mut Work) -> Result<Sums, Beyond> {
    Sums::new(lies.iter().map(|l| l.x + sheet.crosscut_kerf), sheet.x + sheet.crosscut_kerf, work)
}

fn sums_y(sheet: &Sheet, lies: &[Lie], work: &mut Work) -> Result<Sums, Beyond> {
    Sums::new(lies.iter().map(|l| l.y + sheet.rip_kerf), sheet.y + sheet.rip_kerf, work)
}

/// Two stages, rips first.
fn rip_crosscut(sheet: &Sheet, lies: &[Lie], work: &mut Work) -> Result<i64, Beyond> {
    let (along, across) = (sums_x(sheet, lies, work)?, sums_y(sheet, lies, work)?);
    let mut row = Stack::new(&along);
    let mut strips = Stack::new(&across);
    for (width, pieces) in classes(lies, |l| l.y) {
        for piece in pieces {
            row.add(piece.x + sheet.crosscut_kerf, piece.worth, false, work)?;
        }
        strips.add(width + sheet.rip_kerf, row.best(along.last()), width > sheet.fence_reach, work)?;
    }
    Ok(if sheet.x > sheet.longest_rip { row.best(along.last()) } else { strips.best(across.last()) })
}

/// Two stages, crosscuts first.
fn crosscut_rip(sheet: &Sheet, lies: &[Lie], work: &mut Work) -> Result<i64, Beyond> {
    let (along, across) = (sums_x(sheet, lies, work)?, sums_y(sheet, lies, work)?);
    let mut column = Stack::new(&across);
    let mut panels = Stack::new(&along);
    for (length, pieces) in classes(lies, |l| l.x) {
        let worth = if length > sheet.longest_rip {
            // Not ripped: one piece as wide as the sheet, or it would not be among the lies.
            pieces.iter().map(|p| p.worth).max().unwrap_or(0)
        } else {
            for piece in pieces {
                column.add(piece.y + sheet.rip_kerf, piece.worth, piece.y > sheet.fence_reach, work)?;
            }
            column.best(across.last())
        };
        panels.add(length + sheet.crosscut_kerf, worth, false, work)?;
    }
    Ok(panels.best(along.last()))
}

/// Three stages, crosscuts first: panels along x, each a stack of strips, each a row of pieces.
fn crosscut_rip_crosscut(sheet: &Sheet, lies: &[Lie], enough: i64, work: &mut Work) -> Result<i64, Beyond> {
    let (along, across) = (sums_x(sheet, lies, work)?, sums_y(sheet, lies, work)?);
    let widths = classes(lies, |l| l.y);
    let strips: Vec<Strip> = widths
        .iter()
        .map(|(width, _)| Strip { size: width + sheet.rip_kerf, wide: *width > sheet.fence_reach })
        .collect();
    let whole = |i: usize| along.at(i) - sheet.crosscut_kerf > sheet.longest_rip;
    let rows = |visit: &mut Visit, work: &mut Work| {
        let mut row = Stack::new(&along);
        for (class, (_, pieces)) in widths.iter().enumerate() {
            for piece in pieces {
                row.add(piece.x + sheet.crosscut_kerf, piece.worth, false, work)?;
            }
            work.spend(along.len())?;
            visit(class, &|i| row.best(i));
        }
        Ok(())
    };
    panels(
        &Level { extents: &along, wide: &|_| false, uncut: &whole, across: &across, strips: &strips },
        &rows,
        enough,
        work,
    )
}

/// Three stages, rips first: strips across y, each a row of panels along x, each a stack of pieces.
fn rip_crosscut_rip(sheet: &Sheet, lies: &[Lie], enough: i64, work: &mut Work) -> Result<i64, Beyond> {
    let (along, across) = (sums_x(sheet, lies, work)?, sums_y(sheet, lies, work)?);
    if sheet.x > sheet.longest_rip {
        // The first stage falls away: crosscuts, then rips of what is short enough.
        return crosscut_rip(sheet, lies, work);
    }
    let lengths = classes(lies, |l| l.x);
    let panel_kinds: Vec<Strip> =
        lengths.iter().map(|(length, _)| Strip { size: length + sheet.crosscut_kerf, wide: false }).collect();
    let wide = |i: usize| across.at(i) - sheet.rip_kerf > sheet.fence_reach;
    let columns = |visit: &mut Visit, work: &mut Work| {
        let mut column = Stack::new(&across);
        for (class, (_, pieces)) in lengths.iter().enumerate() {
            for piece in pieces {
                column.add(piece.y + sheet.rip_kerf, piece.worth, piece.y > sheet.fence_reach, work)?;
            }
            work.spend(across.len())?;
            visit(class, &|i| column.best(i));
        }
        Ok(())
    };
    panels(
        &Level { extents: &across, wide: &wide, uncut: &|_| false, across: &along, strips: &panel_kinds },
        &columns,
        enough,
        work,
    )
}

/// A kind of strip within a panel: its size with kerf, and whether it is wider than the fence reaches.
struct Strip {
    size: i64,
    wide: bool,
}

/// The outer two levels of a three-stage layout.
struct Level<'a> {
    /// Sums that a panel's extent (with kerf) may be, which are also the sums that panels in a row may reach.
    extents: &'a Sums,
    /// Whether a panel of that extent is wider than the fence reaches.
    wide: &'a dyn Fn(usize) -> bool,
    /// Whether a panel of that extent is too long to be ripped, so that it is one strip.
    uncut: &'a dyn Fn(usize) -> bool,
    /// Sums that strips within a panel may reach.
    across: &'a Sums,
    /// Kinds of strip, narrow to wide; a wider one may hold all that a narrower one may.
    strips: &'a [Strip],
}

/// Shown a class of strip and, for each extent, what the best strip of that class and extent is worth.
type Visit<'v> = dyn FnMut(usize, &dyn Fn(usize) -> i64) + 'v;

/// The best row of panels.
///
/// The exact worth of a panel is a stack of strips, and there are as many panels as sums. So first each panel gets a
/// roof: what its most valuable strip per millimetre would be worth if strips could be cut in fractions. A row of
/// panels under their roofs gives a roof for every remaining extent. A panel is worked out exactly only when it could
/// take part in a row worth more than `enough`, and when smaller panels beside each other do not do as well.
fn panels(
    level: &Level,
    rows: &dyn Fn(&mut Visit, &mut Work) -> Result<(), Beyond>,
    enough: i64,
    work: &mut Work,
) -> Result<i64, Beyond> {
    let (extents, across) = (level.extents, level.across);
    let room = i128::from(across.at(across.last()));
    let mut roofs = vec![0i64; extents.len()];
    rows(
        &mut |class, worth| {
            let strip = &level.strips[class];
            for (i, roof) in roofs.iter_mut().enumerate() {
                let one = i128::from(worth(i));
                let many = if (level.uncut)(i) { one } else { one * room / i128::from(strip.size) };
                *roof = (*roof).max(i64::try_from(many).unwrap_or(i64::MAX));
            }
        },
        work,
    )?;
    let mut roof = Stack::new(extents);
    for (i, &worth) in roofs.iter().enumerate().skip(1) {
        if !roof.beats(extents.at(i), worth, (level.wide)(i)) {
            roof.add(extents.at(i), worth, (level.wide)(i), work)?;
        }
    }
    let last = extents.last();
    if roof.best(last) <= enough {
        return Ok(roof.best(last));
    }
    let rest = |i: usize| roof.best(extents.floor(extents.at(last) - extents.at(i)));
    let close: Vec<usize> = (1..extents.len())
        .filter(|&i| roofs[i].saturating_add(rest(i)) > enough && roofs[i] > roofs[i - 1])
        .collect();
    let kinds = level.strips.len();
    work.spend(close.len().saturating_mul(kinds))?;
    if close.len().saturating_mul(kinds) > MOST_CELLS {
        return Err(Beyond);
    }
    let mut worths = vec![0i64; close.len() * kinds];
    rows(
        &mut |class, worth| {
            for (k, &i) in close.iter().enumerate() {
                worths[k * kinds + class] = worth(i);
            }
        },
        work,
    )?;
    let mut row = Stack::new(extents);
    let mut stack = Stack::new(across);
    for (k, &i) in close.iter().enumerate() {
        let (size, wide) = (extents.at(i), (level.wide)(i));
        if row.beats(size, roofs[i], wide) {
            continue;
        }
        let worths = &worths[k * kinds..(k + 1) * kinds];
        let exact = if (level.uncut)(i) {
            worths.iter().copied().max().unwrap_or(0)
        } else {
            stack.clear();
            let mut narrower = 0;
            for (strip, &worth) in level.strips.iter().zip(worths) {
                if worth > narrower && !stack.beats(strip.size, worth, strip.wide) {
                    stack.add(strip.size, worth, strip.wide, work)?;
                }
                narrower = narrower.max(worth);
            }
            stack.best(across.last())
        };
        if !row.beats(size, exact, wide) {
            row.add(size, exact, wide, work)?;
        }
    }
    Ok(row.best(last))
}

/// Worths of strips kept at a time: 512 MB at most.
const MOST_CELLS: usize = 1 << 26;
