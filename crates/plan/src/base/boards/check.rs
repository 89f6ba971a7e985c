//! The boards of a plan, read back and checked without the solver.

use stripwright_packing as packing;
use stripwright_packing::audit::{Claim, Sheets};
use stripwright_packing::{Make, Piece, Problem, Stock, Trim};
use stripwright_splay as splay;
use stripwright_units::{Length, Money};

use super::asked::{ask, cutting};
use super::{BoardDemand, BoardsPlan};
use crate::job::Job;
use crate::plan::Plan;

/// Reads the boards of a plan back and checks them without the solver: cuts, counts, money and proof.
///
/// # Errors
/// Every objection, as a whole sentence.
pub(crate) fn audit(plan: &Plan) -> Result<Money, Vec<String>> {
    let Some(stated) = &plan.boards else {
        let none = plan.buy.lumber.is_empty() && plan.sticks.is_empty();
        return if none {
            Ok(Money::ZERO)
        } else {
            Err(vec!["Lumber is bought and the plan does not say what for.".into()])
        };
    };
    let mut objections = Vec::new();
    let money: i128 = plan.buy.lumber.iter().map(|b| i128::from(b.price.minor()) * i128::from(b.count)).sum();
    for kind in &stated.lumber {
        let bought = plan.buy.lumber.iter().find(|b| b.name == kind.name);
        let cut: u64 = plan.sticks.iter().filter(|s| s.lumber == kind.name).map(|s| u64::from(s.times)).sum();
        let count = bought.map_or(0, |b| u64::from(b.count));
        if cut != count {
            objections.push(format!("{count} of `{}` are bought and {cut} are cut.", kind.name));
        }
        if bought.is_some_and(|b| b.price != kind.price || b.length != kind.length) {
            objections.push(format!(
                "`{}` is bought at a price or length that the lumber does not have.",
                kind.name
            ));
        }
    }
    let problem = read_back(plan, stated, &mut objections);
    let layouts = layouts_of(plan, stated, &mut objections);
    let Ok(money) = i64::try_from(money) else {
        objections.push("The money for lumber is out of range.".to_string());
        return Err(objections);
    };
    if !objections.is_empty() {
        return Err(objections);
    }
    let claim = Claim {
        layouts,
        makes: (0..).zip(&stated.makes).filter(|(_, m)| m.times > 0).map(|(n, m)| (n, m.times)).collect(),
        spare: stated.spare.clone(),
        money: Money::from_minor(money),
        bound: *stated.bound,
        proven: stated.proven,
        certificate: crate::audit::certificate(&stated.certificate),
    };
    match packing::audit::audit(&problem, &claim) {
        Ok(_) => Ok(claim.money),
        Err(found) => Err(found.iter().map(|o| format!("Boards: {o}")).collect()),
    }
}

/// In what the plan's boards were asked for otherwise than by a job; a sentence each.
pub(crate) fn differences(plan: &Plan, job: &Job, bases: &[splay::Base]) -> Vec<String> {
    let wanted = !job.lumber.is_empty() && (!job.bases.is_empty() || !job.sticks.is_empty());
    let mut objections = Vec::new();
    let stated = match (&plan.boards, wanted) {
        (Some(stated), true) => read_back(plan, stated, &mut objections),
        (None, false) => return objections,
        (Some(_), false) => {
            return vec!["The plan cuts lumber and the job beside it asks for none.".to_string()];
        }
        (None, true) => {
            return vec!["The job beside the plan asks for lumber and the plan cuts none.".to_string()];
        }
    };
    let asked = match ask(job, bases) {
        Ok(asked) => asked.problem,
        Err(faults) => return faults.iter().map(ToString::to_string).collect(),
    };
    let same = [
        ("lumber", stated.stocks == asked.stocks),
        ("rules for sawing lumber", stated.cutting == asked.cutting),
        (
            "lumber sticks",
            stated.pieces == asked.pieces && stated.covers == asked.covers && stated.makes == asked.makes,
        ),
    ];
    let differ = |what: &str| {
        format!("The {what} of the plan are not those of the job beside it; plan the job again.")
    };
    objections.extend(same.iter().filter(|(_, same)| !same).map(|(what, _)| differ(what)));
    objections
}

fn read_back(plan: &Plan, stated: &BoardsPlan, objections: &mut Vec<String>) -> Problem {
    let stocks = stated.lumber.iter().map(|kind| Stock {
        name: kind.name.clone(),
        length: *kind.length,
        width: *kind.width,
        trim: Trim { bottom: *kind.edge, ..Trim::default() },
        price: *kind.price,
        limit: kind.limit,
    });
    let pieces = stated.demands.iter().map(|demand| Piece {
        name: demand.part.clone(),
        length: *demand.length,
        width: *demand.width,
        count: demand.count,
        may_turn: false,
        stocks: demand.lumber.clone(),
    });
    let mut makes = Vec::new();
    for make in &stated.makes {
        match stated.demands.get(make.demand) {
            Some(demand) => makes.push(Make {
                name: demand.part.clone(),
                yields: vec![(make.cover, demand.layers)],
                uses: vec![(make.demand, 1)],
            }),
            None => objections
                .push(format!("A way to have sticks speaks of size {}, which is not listed.", make.demand)),
        }
    }
    Problem {
        pieces: pieces.collect(),
        stocks: stocks.collect(),
        covers: stated
            .covers
            .iter()
            .map(|c| packing::Cover { name: c.name.clone(), count: c.count })
            .collect(),
        makes,
        cutting: cutting(*plan.cutting.rip_kerf, *plan.cutting.crosscut_kerf),
    }
}

fn layouts_of(plan: &Plan, stated: &BoardsPlan, objections: &mut Vec<String>) -> Vec<Sheets> {
    let mut layouts = Vec::new();
    for stick in &plan.sticks {
        let Some(stock) = stated.lumber.iter().position(|kind| kind.name == stick.lumber) else {
            objections.push(format!("A board of `{}` is cut, which the plan does not list.", stick.lumber));
            continue;
        };
        let kind = &stated.lumber[stock];
        let mut placed = Vec::new();
        for piece in &stick.pieces {
            // As it was asked for: what keeps the board's width takes all that squaring would leave.
            let whole = (*piece.y, piece.width) == (Length::ZERO, kind.width);
            let edge = if whole { *kind.edge } else { Length::ZERO };
            let (y, width) = (*piece.y + edge, *piece.width - edge);
            let same = |d: &&BoardDemand| {
                (d.part.as_str(), d.length, *d.width, d.layers)
                    == (&piece.part, piece.length, width, piece.layers)
            };
            match stated.demands.iter().position(|d| same(&d)) {
                Some(n) => placed.push(packing::Placed {
                    piece: n,
                    x: *piece.x,
                    y,
                    length: *piece.length,
                    width,
                    turned: false,
                }),
                None => {
                    objections.push(format!("A board holds a `{}` of a size that is not listed.", piece.part))
                }
            }
        }
        layouts.push(Sheets { stock, times: stick.times, placed });
    }
    layouts
}
