//! The sizes of number that the audit is built for. Whatever passes here cannot overflow further on.

use stripwright_units::Length;

use super::{Claim, MOST_OBJECTIONS, Objection};
use crate::certificate::{Counted, Fork};
use crate::problem::Problem;

/// Kinds of piece, sheet, cover, make; each its own count. A shop has dozens.
const MOST_KINDS: usize = 10_000;
/// Entries in one make. A make of a slab uses about as many sizes as it has strips.
const MOST_ENTRIES: usize = 10_000;
/// Distinct layouts of a plan.
const MOST_LAYOUTS: usize = 100_000;
/// Pieces on one sheet: sets what the search for overlaps may cost, which grows with the square. Who asks for a plan that
/// is to be audited keeps its sheets below this.
pub const MOST_PLACED: usize = 20_000;
/// Pieces drawn on all layouts together.
const MOST_PLACED_IN_ALL: usize = 2_000_000;
/// Leaves of a certificate.
const MOST_LEAVES: usize = 100_000;
/// Branches of one leaf.
const MOST_BRANCHES: usize = 1_000;
/// Forks of one leaf.
pub(super) const MOST_FORKS: usize = 64;
/// Prices of forks stay under this: all forks of a leaf together then move a worth by less than a quarter of
/// [`MOST_WORTH`].
pub(super) const MOST_FORK_PRICE: i64 = 1 << 54;
/// Prices and the scale times a sheet's price stay under this, so that one more piece can be added in an `i64`.
pub(super) const MOST_WORTH: i64 = 1 << 62;

/// The numbers of problem and claim, one by one.
pub(super) fn check(problem: &Problem, claim: &Claim, objections: &mut Vec<Objection>) {
    let too_many = |what, found: usize, most: usize, objections: &mut Vec<Objection>| {
        if found > most {
            objections.push(Objection::TooMany { what, found: found as u64, most: most as u64 });
        }
    };
    too_many("kinds of piece", problem.pieces.len(), MOST_KINDS, objections);
    too_many("kinds of sheet", problem.stocks.len(), MOST_KINDS, objections);
    too_many("covers", problem.covers.len(), MOST_KINDS, objections);
    too_many("makes", problem.makes.len(), MOST_KINDS, objections);
    too_many("layouts", claim.layouts.len(), MOST_LAYOUTS, objections);
    too_many("chosen makes", claim.makes.len(), MOST_KINDS, objections);
    too_many("spare entries", claim.spare.len(), MOST_KINDS, objections);
    too_many("leaves in the certificate", claim.certificate.leaves.len(), MOST_LEAVES, objections);
    let placed = claim.layouts.iter().map(|l| l.placed.len()).fold(0usize, usize::saturating_add);
    too_many("placed pieces", placed, MOST_PLACED_IN_ALL, objections);
    if !objections.is_empty() {
        return;
    }
    check_problem(problem, objections);
    check_claim(problem, claim, objections);
}

fn length(what: String, found: Length, least: Length, objections: &mut Vec<Objection>) -> bool {
    let good = found >= least && found <= Length::LONGEST;
    if !good {
        let found =
            format!("it is {} nm, and {} to {} nm is allowed", found.nm(), least.nm(), Length::LONGEST.nm());
        objections.push(Objection::Unusable { what, found });
    }
    good
}

fn check_problem(problem: &Problem, objections: &mut Vec<Objection>) {
    let one = Length::from_nm(1);
    let sheets = problem.stocks.len() as u64;
    for piece in &problem.pieces {
        length(format!("The length of piece `{}`", piece.name), piece.length, one, objections);
        length(format!("The width of piece `{}`", piece.name), piece.width, one, objections);
        for &stock in &piece.stocks {
            if stock as u64 >= sheets {
                let what = format!("A sheet index of piece `{}`", piece.name);
                objections.push(Objection::Mismatch { what, found: stock as u64, expected: sheets });
            }
        }
    }
    for stock in &problem.stocks {
        let name = &stock.name;
        let trims = [stock.trim.left, stock.trim.right, stock.trim.bottom, stock.trim.top];
        let mut good = length(format!("The length of sheet `{name}`"), stock.length, one, objections);
        good &= length(format!("The width of sheet `{name}`"), stock.width, one, objections);
        for trim in trims {
            good &= length(format!("A trim of sheet `{name}`"), trim, Length::ZERO, objections);
        }
        if good && !(stock.usable_length().is_positive() && stock.usable_width().is_positive()) {
            let what = format!("Sheet `{name}`");
            objections.push(Objection::Unusable { what, found: "its trims leave nothing of it".into() });
        }
        let minor = stock.price.minor();
        if !(0..=1 << 50).contains(&minor) {
            let what = format!("The price of sheet `{name}`");
            let found = format!("it is {minor} minor units, and 0 to {} is allowed", 1_i64 << 50);
            objections.push(Objection::Unusable { what, found });
        }
    }
    let cutting = &problem.cutting;
    length("The rip kerf".into(), cutting.rip_kerf, Length::ZERO, objections);
    length("The crosscut kerf".into(), cutting.crosscut_kerf, Length::ZERO, objections);
    let names = ["The longest rip", "The fence's reach", "The smallest rip"];
    for (name, limit) in names.iter().zip([cutting.longest_rip, cutting.fence_reach, cutting.smallest_rip]) {
        if let Some(limit) = limit {
            length((*name).into(), limit, Length::ZERO, objections);
        }
    }
    if !(2..=3).contains(&cutting.stages) {
        let found = format!("they are {}, and 2 or 3 are allowed", cutting.stages);
        objections.push(Objection::Unusable { what: "The stages of cutting".into(), found });
    }
    for make in &problem.makes {
        if make.yields.len().max(make.uses.len()) > MOST_ENTRIES {
            let found = make.yields.len().max(make.uses.len()) as u64;
            objections.push(Objection::TooMany {
                what: "entries in a make",
                found,
                most: MOST_ENTRIES as u64,
            });
            continue;
        }
        for (what, entries, have) in
            [("cover", &make.yields, problem.covers.len()), ("piece", &make.uses, problem.pieces.len())]
        {
            for &(index, _) in entries.iter().filter(|&&(index, _)| index >= have) {
                let what = format!("A {what} index of make `{}`", make.name);
                objections.push(Objection::Mismatch { what, found: index as u64, expected: have as u64 });
            }
        }
    }
}

fn check_claim(problem: &Problem, claim: &Claim, objections: &mut Vec<Objection>) {
    let mismatch = |what: String, found: usize, expected: usize, objections: &mut Vec<Objection>| {
        objections.push(Objection::Mismatch { what, found: found as u64, expected: expected as u64 });
    };
    let (pieces, stocks) = (problem.pieces.len(), problem.stocks.len());
    for (i, sheets) in claim.layouts.iter().enumerate() {
        if objections.len() > MOST_OBJECTIONS {
            return;
        }
        if sheets.stock >= stocks {
            mismatch(format!("The sheet index of layout {}", i + 1), sheets.stock, stocks, objections);
        }
        if sheets.placed.len() > MOST_PLACED {
            let found = sheets.placed.len() as u64;
            objections.push(Objection::TooMany {
                what: "pieces on one layout",
                found,
                most: MOST_PLACED as u64,
            });
        }
        if sheets.times == 0 {
            objections.push(Objection::UnusedLayout { layout: i + 1 });
        }
        for placed in &sheets.placed {
            if placed.piece >= pieces {
                mismatch(format!("A piece index of layout {}", i + 1), placed.piece, pieces, objections);
            }
            for (what, found) in [("x", placed.x), ("y", placed.y)] {
                length(format!("The {what} of a piece on layout {}", i + 1), found, Length::ZERO, objections);
            }
        }
    }
    for &(make, _) in claim.makes.iter().filter(|&&(make, _)| make >= problem.makes.len()) {
        mismatch("The index of a chosen make".into(), make, problem.makes.len(), objections);
    }
    for &(piece, _) in claim.spare.iter().filter(|&&(piece, _)| piece >= pieces) {
        mismatch("The index of a spare piece".into(), piece, pieces, objections);
    }
    for (what, money) in [("The money claimed", claim.money), ("The bound claimed", claim.bound)] {
        if money.minor() < 0 {
            let found = format!("it is {money}, and money is zero or more");
            objections.push(Objection::Unusable { what: what.into(), found });
        }
    }
    let certificate = &claim.certificate;
    if !(1..=1 << 50).contains(&certificate.scale) {
        let found = format!("it is {}, and 1 to {} is allowed", certificate.scale, 1_i64 << 50);
        objections.push(Objection::Unusable { what: "The scale of the certificate".into(), found });
    }
    for (i, leaf) in certificate.leaves.iter().enumerate() {
        if objections.len() > MOST_OBJECTIONS {
            return;
        }
        let lists = [
            ("piece prices", "piece", &leaf.pieces, pieces),
            ("cover prices", "cover", &leaf.covers, problem.covers.len()),
            ("upper prices", "more of sheet", &leaf.upper, stocks),
            ("lower prices", "fewer of sheet", &leaf.lower, stocks),
        ];
        for (list, of, prices, expected) in lists {
            if prices.len() != expected {
                let what = format!("The number of {list} in leaf {} of the certificate", i + 1);
                mismatch(what, prices.len(), expected, objections);
            }
            for (k, &price) in prices.iter().enumerate() {
                if price < 0 {
                    let what = format!("{of} {}", k + 1);
                    objections.push(Objection::NegativePrice { leaf: i + 1, what, found: price });
                } else if price > MOST_WORTH {
                    let what = format!("The price on {of} {} in leaf {}", k + 1, i + 1);
                    let found = format!("it is {price}, and 0 to {MOST_WORTH} is allowed");
                    objections.push(Objection::Unusable { what, found });
                }
            }
        }
        if leaf.branches.len() > MOST_BRANCHES {
            let found = leaf.branches.len() as u64;
            objections.push(Objection::TooMany {
                what: "branches of a leaf",
                found,
                most: MOST_BRANCHES as u64,
            });
        }
        for branch in leaf.branches.iter().filter(|b| b.stock >= stocks) {
            mismatch(
                format!("A sheet index in leaf {} of the certificate", i + 1),
                branch.stock,
                stocks,
                objections,
            );
        }
        check_forks(problem, certificate.proper, i + 1, &leaf.forks, objections);
    }
}

/// Forks speak of proper layouts in two stages, where each strip has the width of its widest piece.
fn check_forks(
    problem: &Problem,
    proper: bool,
    leaf: usize,
    forks: &[Fork],
    objections: &mut Vec<Objection>,
) {
    if forks.is_empty() {
        return;
    }
    if !proper || problem.cutting.stages != 2 {
        let stages = problem.cutting.stages;
        let kind = if proper { "proper" } else { "any" };
        let found =
            format!("they speak of {kind} layouts in {stages} stages, and only proper ones in 2 are allowed");
        objections.push(Objection::Unusable { what: format!("The forks of leaf {leaf}"), found });
    }
    if forks.len() > MOST_FORKS {
        let (found, most) = (forks.len() as u64, MOST_FORKS as u64);
        objections.push(Objection::TooMany { what: "forks of a leaf", found, most });
        return;
    }
    for (k, Fork { count, price, .. }) in forks.iter().enumerate() {
        let on = format!("fork {} in leaf {leaf} of the certificate", k + 1);
        let kinds = |what: &str, list: &[usize], have: usize, objections: &mut Vec<Objection>| {
            for &index in list.iter().filter(|&&index| index >= have) {
                let what = format!("A {what} index of {on}");
                objections.push(Objection::Mismatch { what, found: index as u64, expected: have as u64 });
            }
        };
        kinds("sheet", &count.stocks, problem.stocks.len(), objections);
        if let Counted::Pieces { pieces, .. } = &count.what {
            kinds("piece", pieces, problem.pieces.len(), objections);
        }
        if *price < 0 {
            objections.push(Objection::NegativePrice {
                leaf,
                what: format!("fork {}", k + 1),
                found: *price,
            });
        } else if *price > MOST_FORK_PRICE {
            let found = format!("it is {price}, and 0 to {MOST_FORK_PRICE} is allowed");
            objections.push(Objection::Unusable { what: format!("The price of {on}"), found });
        }
    }
}
