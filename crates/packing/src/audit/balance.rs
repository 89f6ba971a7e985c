//! Do the pieces, covers, sheets and the money add up?

use super::{Claim, Objection};
use crate::problem::Problem;

/// Sheets of each kind, after objecting to whatever does not add up.
pub(super) fn check(problem: &Problem, claim: &Claim, objections: &mut Vec<Objection>) -> Vec<u64> {
    let mut made = vec![0u128; problem.pieces.len()];
    let mut sheets = vec![0u64; problem.stocks.len()];
    for layout in &claim.layouts {
        sheets[layout.stock] += u64::from(layout.times);
        for placed in &layout.placed {
            made[placed.piece] += u128::from(layout.times);
        }
    }
    let mut wanted: Vec<u128> = problem.pieces.iter().map(|p| u128::from(p.count)).collect();
    let mut yielded = vec![0u128; problem.covers.len()];
    for &(make, times) in &claim.makes {
        let times = u128::from(times);
        for &(piece, count) in &problem.makes[make].uses {
            wanted[piece] += times * u128::from(count);
        }
        for &(cover, count) in &problem.makes[make].yields {
            yielded[cover] += times * u128::from(count);
        }
    }
    let mut spare = vec![0u128; problem.pieces.len()];
    for &(piece, count) in &claim.spare {
        spare[piece] += u128::from(count);
    }
    for (i, piece) in problem.pieces.iter().enumerate() {
        let name = || piece.name.clone();
        if made[i] < wanted[i] {
            objections.push(Objection::Short { piece: name(), found: made[i], wanted: wanted[i] });
        } else if made[i] - wanted[i] != spare[i] {
            let surplus = made[i] - wanted[i];
            objections.push(Objection::Spare { piece: name(), listed: spare[i], surplus });
        }
    }
    for (cover, &found) in problem.covers.iter().zip(&yielded) {
        let wanted = u128::from(cover.count);
        if found < wanted {
            objections.push(Objection::Uncovered { cover: cover.name.clone(), found, wanted });
        }
    }
    let mut money = 0i128;
    for (stock, &found) in problem.stocks.iter().zip(&sheets) {
        money += i128::from(stock.price.minor()) * i128::from(found);
        if let Some(limit) = stock.limit.filter(|&limit| u64::from(limit) < found) {
            let found = u128::from(found);
            objections.push(Objection::OverLimit { stock: stock.name.clone(), found, limit });
        }
    }
    if money != i128::from(claim.money.minor()) {
        objections.push(Objection::Sum { claimed: claim.money, found: money });
    }
    if claim.bound > claim.money {
        objections.push(Objection::BoundAboveMoney { bound: claim.bound, money: claim.money });
    } else if claim.proven && claim.bound != claim.money {
        objections.push(Objection::NotProven { bound: claim.bound, money: claim.money });
    }
    sheets
}
