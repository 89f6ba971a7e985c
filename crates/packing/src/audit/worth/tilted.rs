//! The layout worth most in a leaf with forks, in two stages.
//!
//! On the sheets that a fork speaks of, its price is added to what it counts where there must be more of that, and
//! taken off where there may be no more: to the sheet, to a strip of one width, or to a piece in a strip of one width.
//! So every width of strip has worths of its own, and a strip counts by its width. What makes a strip so wide must be in
//! it: the best strip of a width is one piece of just that width, and beside it the best row of pieces no wider, that piece
//! no more often than is left of it.
//!
//! Strips and sheets cut one way are counted apart from those cut the other way, so the best layout of each way is
//! worked out with its own forks. A sheet left empty may be counted on either side, and so is looked at on both.
//!
//! Sums cannot be off: forks move a worth by less than a quarter of [`MOST_WORTH`] altogether, so what saturated once
//! stays above it.
//!
//! [`MOST_WORTH`]: super::MOST_WORTH

use stripwright_units::Length;

use super::super::sawing::first_directions;
use super::super::sums::{Beyond, Stack, Sums, Thing, Work, each_class};
use super::{Classes, Lie, Sheet, every_lie, sums_x, sums_y};
use crate::certificate::{Counted, Fork, Leaf};
use crate::problem::{Direction, Problem};

/// The worth of the best layout of stock `j`, less or more what the forks of the leaf take off or add.
pub(in crate::audit) fn best_layout(
    problem: &Problem,
    j: usize,
    leaf: &Leaf,
    most: Option<&[u64]>,
    work: &mut Work,
) -> Result<i64, Beyond> {
    let sheet = Sheet::new(&problem.stocks[j], &problem.cutting);
    let lies = every_lie(problem, j, &leaf.pieces, most, &sheet);
    let mut best = i64::MIN;
    for &first in first_directions(problem.cutting.first) {
        let speaks = |fork: &&Fork| fork.count.first == first && fork.count.stocks.contains(&j);
        let forks: Vec<&Fork> = leaf.forks.iter().filter(speaks).collect();
        let whole = sum(&forks, |what| matches!(what, Counted::Sheets));
        let too_long = first == Direction::Rip && sheet.x > sheet.longest_rip;
        let held = if too_long { 0 } else { strips(&sheet, &lies, first, &forks, work)? };
        best = best.max(held.saturating_add(whole));
    }
    Ok(best)
}

/// What these forks add to one of what they count, in all.
fn sum(forks: &[&Fork], counts: impl Fn(&Counted) -> bool) -> i64 {
    let signed = |fork: &&Fork| if fork.more { fork.price } else { -fork.price };
    forks.iter().filter(|fork| counts(&fork.count.what)).map(signed).sum()
}

/// What the best strips side by side are worth.
fn strips(
    sheet: &Sheet,
    lies: &[Lie],
    first: Direction,
    forks: &[&Fork],
    work: &mut Work,
) -> Result<i64, Beyond> {
    let (x, y) = (sums_x(sheet, lies, work)?, sums_y(sheet, lies, work)?);
    let (along, across, room, kerf, classes) = match first {
        Direction::Rip => (x, y, sheet.x + sheet.crosscut_kerf, sheet.rip_kerf, Classes::rows(sheet, lies)),
        Direction::Crosscut => {
            (y, x, sheet.y + sheet.rip_kerf, sheet.crosscut_kerf, Classes::columns(sheet, lies))
        }
    };
    // What is narrower is shared between classes; what makes a strip so wide is added class by class.
    let wider = |thing: &Thing| Thing { from: thing.from + 1, ..*thing };
    let narrow: Vec<Thing> = classes.things.iter().filter(|t| t.worth > 0).map(wider).collect();
    let mut stack = Stack::new(&across);
    each_class(&along, &narrow, classes.widths.len(), work, &mut |class, row, work| {
        let width = classes.widths[class];
        let here = |of: Length| of.nm() == width;
        let own = |fork: &&&Fork| matches!(fork.count.what, Counted::Pieces { width, .. } if here(width));
        let pieces: Vec<&Fork> = forks.iter().filter(own).copied().collect();
        let things: Vec<Thing> = classes
            .things
            .iter()
            .zip(lies)
            .map(|(thing, lie)| {
                let more = sum(
                    &pieces,
                    |what| matches!(what, Counted::Pieces { pieces, .. } if pieces.contains(&lie.piece)),
                );
                Thing { worth: thing.worth + more, ..*thing }
            })
            .collect();
        let (widest, beside): (Vec<Thing>, Vec<Thing>) = things
            .into_iter()
            .filter(|thing| thing.from <= class && class < thing.until)
            .partition(|thing| thing.from == class);
        let strip = if pieces.is_empty() {
            widest_first(row, &widest, &along, room, work)?
        } else {
            widest_first(&row_of(&along, &beside, work)?, &widest, &along, room, work)?
        };
        let more = sum(forks, |what| matches!(what, Counted::Strips { width } if here(*width)));
        let worth = strip.map_or(0, |worth| worth.saturating_add(more));
        if worth > 0 { stack.add_some(width + kerf, worth, classes.most[class], work) } else { Ok(()) }
    })?;
    Ok(stack.top())
}

/// Rows of these things.
fn row_of<'s>(along: &'s Sums, things: &[Thing], work: &mut Work) -> Result<Stack<'s>, Beyond> {
    let mut row = Stack::new(along);
    things.iter().try_for_each(|thing| add(&mut row, thing, thing.most, work))?;
    Ok(row)
}

fn add(row: &mut Stack, thing: &Thing, most: u64, work: &mut Work) -> Result<(), Beyond> {
    if thing.worth > 0 && most > 0 { row.add_some(thing.size, thing.worth, most, work) } else { Ok(()) }
}

/// The best strip of one of the widest things and what fits beside it, of narrower ones as the row has them.
fn widest_first(
    row: &Stack,
    widest: &[Thing],
    along: &Sums,
    room: i64,
    work: &mut Work,
) -> Result<Option<i64>, Beyond> {
    let mut best = None;
    for (i, first) in widest.iter().enumerate() {
        let mut beside = row.clone();
        for (k, thing) in widest.iter().enumerate() {
            add(&mut beside, thing, thing.most - u64::from(k == i), work)?;
        }
        let worth = first.worth.saturating_add(beside.best(along.floor(room - first.size)));
        best = best.max(Some(worth));
    }
    Ok(best)
}
