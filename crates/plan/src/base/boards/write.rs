//! Boards as a plan states them.

use stripwright_packing as packing;
use stripwright_splay as splay;
use stripwright_splay::{Section, board_feet, cubic_metres};
use stripwright_units::Length;

use super::asked::{Lane, Sticks};
use super::yields::{reckoned, yields};
use super::{BoardDemand, BoardKind, BoardMake, Boards, BoardsPlan};
use crate::figures::{Minor, rounded};
use crate::job::Job;
use crate::plan::{BuyLumber, Cover, Plan, Stick, StickPiece};
use crate::write;

pub(super) fn written(job: &Job, asked: &Sticks, answer: &packing::Answer, proven: bool) -> Boards {
    let used = answer.sheets(&asked.problem);
    let bought = job.lumber.iter().zip(used).filter(|(_, count)| *count > 0);
    let buy: Vec<BuyLumber> = bought
        .map(|(lumber, count)| BuyLumber {
            name: lumber.name.clone(),
            length: lumber.length.into(),
            count,
            price: lumber.price.into(),
        })
        .collect();
    let sticks = answer
        .layouts
        .iter()
        .map(|layout| {
            let mut pieces = Vec::new();
            place(&layout.root, asked, asked.problem.stocks[layout.stock].width, &mut pieces);
            let lumber = &job.lumber[layout.stock];
            let offcut = left_over(job, lumber.length, &pieces).into();
            Stick { lumber: lumber.name.clone(), times: layout.times, pieces, offcut }
        })
        .collect();
    let (cubic_metres, board_feet) = volume(job, &buy);
    let stated =
        BoardsPlan { bound: answer.bound.into(), proven, cubic_metres, board_feet, ..stated(asked, answer) };
    Boards { buy, sticks, money: answer.money, stated }
}

/// The problem as plan.json shows it; how good the answer is comes later.
fn stated(asked: &Sticks, answer: &packing::Answer) -> BoardsPlan {
    let problem = &asked.problem;
    let lumber = problem.stocks.iter().map(|stock| BoardKind {
        name: stock.name.clone(),
        length: stock.length.into(),
        width: stock.width.into(),
        edge: stock.trim.bottom.into(),
        price: stock.price.into(),
        limit: stock.limit,
    });
    let demands = problem.pieces.iter().zip(&asked.pieces).map(|(piece, lane)| BoardDemand {
        part: lane.name.clone(),
        length: piece.length.into(),
        width: piece.width.into(),
        layers: lane.layers,
        count: piece.count,
        lumber: piece.stocks.clone(),
    });
    let times = |n: usize| answer.makes.iter().find(|(make, _)| *make == n).map_or(0, |(_, times)| *times);
    let makes = problem.makes.iter().enumerate().map(|(n, make)| BoardMake {
        cover: make.yields[0].0,
        demand: make.uses[0].0,
        times: times(n),
    });
    BoardsPlan {
        bound: Minor::default(),
        proven: false,
        cubic_metres: 0.0,
        board_feet: 0.0,
        yields: asked.yields.clone(),
        reckoned: if asked.yields.is_empty() { Vec::new() } else { asked.reckoned.clone() },
        lumber: lumber.collect(),
        demands: demands.collect(),
        covers: problem.covers.iter().map(|c| Cover { name: c.name.clone(), count: c.count }).collect(),
        makes: makes.collect(),
        spare: answer.spare.clone(),
        certificate: write::certificate(&answer.certificate),
    }
}

/// Where the pieces lie on a board so wide. A plain length fills its part of the board from side to side and is only cut off
/// there, so it keeps the width that squaring takes from the others.
fn place(region: &packing::Region, asked: &Sticks, board: Length, pieces: &mut Vec<StickPiece>) {
    match &region.within {
        packing::Within::Cut(_, parts) => parts.iter().for_each(|part| place(part, asked, board, pieces)),
        packing::Within::Piece { piece, .. } => {
            let Lane { name, layers, of } = &asked.pieces[*piece];
            let size = &asked.problem.pieces[*piece];
            let (y, width) = if of.plain { (Length::ZERO, board) } else { (region.y, size.width) };
            pieces.push(StickPiece {
                part: name.clone(),
                x: region.x.into(),
                y: y.into(),
                length: size.length.into(),
                width: width.into(),
                layers: *layers,
            });
        }
        packing::Within::Offcut => {}
    }
}

/// What is left of a board at its end, a kerf behind the last piece.
fn left_over(job: &Job, whole: Length, pieces: &[StickPiece]) -> Length {
    let end = pieces.iter().map(|piece| *piece.x + *piece.length).max().unwrap_or_default();
    whole - end - if end < whole { job.cutting.crosscut_kerf.min(whole - end) } else { Length::ZERO }
}

/// What is bought, in cubic metres and in board feet.
fn volume(job: &Job, buy: &[BuyLumber]) -> (f64, f64) {
    let (mut cubic, mut feet) = (0.0, 0.0);
    for bought in buy {
        let lumber = job.lumber.iter().find(|lumber| lumber.name == bought.name);
        if let Some((lumber, [width, thickness])) = lumber.and_then(|l| Some((l, l.section?))) {
            cubic += f64::from(bought.count) * cubic_metres(Section { width, thickness }, lumber.length);
            feet += f64::from(bought.count) * board_feet(Section { width, thickness }, lumber.length);
        }
    }
    (rounded(cubic), rounded(feet))
}

/// Boards as a plan states them, with all worked out again that follows from the job and where their pieces lie.
pub(crate) fn again(job: &Job, bases: &[splay::Base], plan: &Plan) -> Option<Boards> {
    let stated = plan.boards.clone()?;
    let buy = plan.buy.lumber.clone();
    let sticks = plan.sticks.iter().map(|stick| {
        let length = job.lumber.iter().find(|lumber| lumber.name == stick.lumber).map(|l| l.length);
        let offcut = length.map_or(stick.offcut, |whole| left_over(job, whole, &stick.pieces).into());
        Stick { offcut, ..stick.clone() }
    });
    let sticks = sticks.collect();
    let money = buy.iter().map(|stick| *stick.price * i64::from(stick.count)).sum();
    let yields = yields(job, bases);
    let reckoned = if yields.is_empty() { Vec::new() } else { reckoned(job) };
    let (cubic_metres, board_feet) = volume(job, &buy);
    let stated = BoardsPlan { yields, reckoned, cubic_metres, board_feet, ..stated };
    Some(Boards { buy, sticks, money, stated })
}
