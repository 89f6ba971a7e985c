//! Checks a plan by itself: the packing claim is read back from plain data and audited in whole numbers, and every
//! figure that repeats another is compared with it.

use stripwright_packing as packing;
use stripwright_packing::audit::{Claim, Sheets};
use stripwright_packing::{Cover, Make, Piece, Problem, Stock};
use stripwright_units::Money;

use crate::asked::ask;
use crate::base;
use crate::job::Job;
use crate::plan::{self, First, Plan, Region, Within};

/// What an audit confirms, in words a table can show.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verdict {
    /// What sheets and lumber cost.
    pub money: Money,
    /// Nothing costs less.
    pub bound: Money,
    /// Bound and money meet, and the certificate holds.
    pub proven: bool,
    /// Sheets checked, all copies counted.
    pub sheets: u64,
    /// Pieces checked, all copies counted.
    pub pieces: u64,
}

/// Checks a plan from its own data alone.
///
/// # Errors
/// Every objection, as a whole sentence.
pub fn audit(plan: &Plan) -> Result<Verdict, Vec<String>> {
    let mut objections = Vec::new();
    let claim = read_back(plan, &mut objections);
    check_repeated_figures(plan, &mut objections);
    if let Err(more) = base::audit_boards(plan) {
        objections.extend(more);
    }
    let Some((problem, claim)) = claim else { return Err(objections) };
    if !objections.is_empty() {
        return Err(objections);
    }
    match packing::audit::audit(&problem, &claim) {
        Ok(verdict) => Ok(Verdict {
            money: plan.buy.total.0,
            bound: plan.bound.money.0,
            proven: verdict.proven() && plan.bound.proven,
            sheets: verdict.sheets.iter().sum(),
            pieces: plan.layouts.iter().map(|l| u64::from(l.times) * l.pieces.len() as u64).sum(),
        }),
        Err(more) => Err(more.iter().map(ToString::to_string).collect()),
    }
}

/// Checks, besides, that a plan is about this job: sheets, rules, parts, slabs and strips are worked out afresh.
///
/// # Errors
/// Every objection, as a whole sentence.
pub fn audit_against(plan: &Plan, job: &Job) -> Result<(), Vec<String>> {
    let mut objections = Vec::new();
    let Some((stated, _)) = read_back(plan, &mut objections) else { return Err(objections) };
    let asked = match ask(job, &|_, makes| makes) {
        Ok(asked) => asked.problem,
        Err(faults) => return Err(faults.iter().map(ToString::to_string).collect()),
    };
    let same = [
        ("sheets", stated.stocks == asked.stocks),
        ("rules of the saw", stated.cutting == asked.cutting),
        ("parts and strips", stated.pieces == asked.pieces),
        ("bands", stated.covers == asked.covers),
        ("slabs", stated.makes == asked.makes),
    ];
    let differ = |what: &&str| {
        format!("The {what} of the plan are not those of the job beside it; plan the job again.")
    };
    let objections: Vec<String> =
        same.iter().filter(|(_, same)| !same).map(|(what, _)| differ(what)).collect();
    if objections.is_empty() { Ok(()) } else { Err(objections) }
}

/// The problem and the claim that a plan states.
fn read_back(plan: &Plan, objections: &mut Vec<String>) -> Option<(Problem, Claim)> {
    let sheet_named = |name: &str| plan.sheets.iter().position(|sheet| sheet.name == name);
    let piece_named = |id: &str| plan.demands.iter().position(|demand| demand.id == id);
    let mut unknown = |what: &str, name: &str, place: &str| {
        objections.push(format!("{place} speaks of the {what} `{name}`, which the plan does not list."));
    };
    let mut pieces = Vec::new();
    for demand in &plan.demands {
        let mut stocks = Vec::new();
        for name in &demand.sheets {
            match sheet_named(name) {
                Some(s) => stocks.push(s),
                None => unknown("sheet", name, "A demand"),
            }
        }
        stocks.sort_unstable();
        pieces.push(Piece {
            name: demand.id.clone(),
            length: *demand.length,
            width: *demand.width,
            count: demand.count,
            may_turn: demand.may_turn,
            stocks,
        });
    }
    let stocks = plan.sheets.iter().map(|sheet| Stock {
        name: sheet.name.clone(),
        length: *sheet.length,
        width: *sheet.width,
        trim: packing::Trim {
            left: *sheet.trim.left,
            right: *sheet.trim.right,
            bottom: *sheet.trim.bottom,
            top: *sheet.trim.top,
        },
        price: *sheet.price,
        limit: sheet.limit,
    });
    let mut makes = Vec::new();
    let mut made = Vec::new();
    for (n, make) in plan.makes.iter().enumerate() {
        let mut uses = Vec::new();
        for (id, count) in &make.uses {
            match piece_named(id) {
                Some(p) => uses.push((p, *count)),
                None => unknown("piece", id, "A make"),
            }
        }
        uses.sort_unstable();
        makes.push(Make { name: make.name.clone(), yields: make.yields.clone(), uses });
        if make.times > 0 {
            made.push((n, make.times));
        }
    }
    let mut layouts = Vec::new();
    for layout in &plan.layouts {
        let Some(stock) = sheet_named(&layout.sheet) else {
            unknown("sheet", &layout.sheet, "A layout");
            continue;
        };
        let mut placed = Vec::new();
        for piece in &layout.pieces {
            match piece_named(&piece.part) {
                Some(p) => placed.push(packing::Placed {
                    piece: p,
                    x: *piece.x,
                    y: *piece.y,
                    length: *piece.length,
                    width: *piece.width,
                    turned: piece.turned,
                }),
                None => unknown("part", &piece.part, "A layout"),
            }
        }
        layouts.push(Sheets { stock, times: layout.times, placed });
    }
    let problem = Problem {
        pieces,
        stocks: stocks.collect(),
        covers: plan.covers.iter().map(|c| Cover { name: c.name.clone(), count: c.count }).collect(),
        makes,
        cutting: cutting(plan),
    };
    let spare =
        plan.demands.iter().enumerate().filter(|(_, d)| d.spare > 0).map(|(n, d)| (n, d.spare)).collect();
    let sheets_money: i128 =
        plan.buy.sheets.iter().map(|b| i128::from(b.price.minor()) * i128::from(b.count)).sum();
    let lumber_money: i128 =
        plan.buy.lumber.iter().map(|b| i128::from(b.price.minor()) * i128::from(b.count)).sum();
    if sheets_money + lumber_money != i128::from(plan.buy.total.minor()) {
        objections.push(format!(
            "What is bought comes to {} minor units and the plan says {}.",
            sheets_money + lumber_money,
            plan.buy.total.minor()
        ));
    }
    // The plan's bound is for sheets and lumber together.
    let boards_bound = plan.boards.as_ref().map_or(0, |boards| boards.bound.minor());
    let Some(sheets_bound) = plan.bound.money.minor().checked_sub(boards_bound) else {
        objections.push("The bounds of sheets and lumber are out of range.".to_string());
        return None;
    };
    if plan.bound.proven && plan.boards.as_ref().is_some_and(|boards| !boards.proven) {
        objections.push("The plan is called proven and its lumber is not.".to_string());
    }
    if !objections.is_empty() {
        return None;
    }
    let claim = Claim {
        layouts,
        makes: made,
        spare,
        money: Money::from_minor(i64::try_from(sheets_money).ok()?),
        bound: Money::from_minor(sheets_bound),
        // What is proven of the whole is proven of its sheets; the boards have a proof of their own.
        proven: plan.bound.proven,
        certificate: certificate(&plan.certificate),
    };
    Some((problem, claim))
}

fn cutting(plan: &Plan) -> packing::Cutting {
    let from = &plan.cutting;
    packing::Cutting {
        first: match from.first {
            First::Rip => packing::First::Rip,
            First::Crosscut => packing::First::Crosscut,
            First::Either => packing::First::Either,
        },
        stages: from.stages,
        rip_kerf: *from.rip_kerf,
        crosscut_kerf: *from.crosscut_kerf,
        longest_rip: from.longest_rip.map(|l| l.0),
        fence_reach: from.fence_reach.map(|l| l.0),
        smallest_rip: from.smallest_rip.map(|l| l.0),
        useful_offcut: from.useful_offcut.map(|[l, w]| (l.0, w.0)),
    }
}

pub(crate) fn certificate(from: &plan::Certificate) -> packing::Certificate {
    let leaves = from.leaves.iter().map(|leaf| packing::Leaf {
        branches: leaf
            .branches
            .iter()
            .map(|b| packing::Branch { stock: b.sheet, least: b.least, most: b.most })
            .collect(),
        pieces: leaf.pieces.clone(),
        covers: leaf.covers.clone(),
        upper: leaf.upper.clone(),
        lower: leaf.lower.clone(),
    });
    packing::Certificate { scale: from.scale, proper: from.proper, leaves: leaves.collect() }
}

/// Figures that a plan states twice must agree.
fn check_repeated_figures(plan: &Plan, objections: &mut Vec<String>) {
    let mut object = |text: String| objections.push(text);
    for (n, layout) in plan.layouts.iter().enumerate() {
        let mut within = Vec::new();
        leaves(&layout.region, &mut within);
        let mut listed: Vec<_> =
            layout.pieces.iter().map(|p| (p.part.as_str(), p.x, p.y, p.turned)).collect();
        within.sort_unstable();
        listed.sort_unstable();
        if within != listed {
            object(format!("Layout {} lists other pieces than its cuts free.", n + 1));
        }
    }
    for bought in &plan.buy.sheets {
        let used: u64 =
            plan.layouts.iter().filter(|l| l.sheet == bought.name).map(|l| u64::from(l.times)).sum();
        if used != u64::from(bought.count) {
            object(format!("{} of `{}` are bought and {used} are cut.", bought.count, bought.name));
        }
        match plan.sheets.iter().find(|sheet| sheet.name == bought.name) {
            Some(sheet) if sheet.price == bought.price => {}
            _ => object(format!("`{}` is bought at a price that the sheet does not have.", bought.name)),
        }
    }
    for layout in &plan.layouts {
        if !plan.buy.sheets.iter().any(|bought| bought.name == layout.sheet) {
            object(format!("`{}` is cut and not bought.", layout.sheet));
        }
    }
    // Strips in slabs are exactly the strips that the makes use.
    for demand in &plan.demands {
        let in_slabs: u64 = plan
            .tops
            .iter()
            .flat_map(|top| &top.slabs)
            .flat_map(|slab| slab.strips.iter().map(move |strips| (slab.times, strips)))
            .filter(|(_, strips)| strips.id == demand.id)
            .map(|(times, strips)| u64::from(times) * u64::from(strips.count))
            .sum();
        let in_makes: u64 = plan
            .makes
            .iter()
            .flat_map(|make| make.uses.iter().map(move |used| (make.times, used)))
            .filter(|(_, (id, _))| *id == demand.id)
            .map(|(times, (_, count))| u64::from(times) * u64::from(*count))
            .sum();
        if in_slabs != in_makes {
            object(format!("Slabs hold {in_slabs} of `{}` and the makes use {in_makes}.", demand.id));
        }
    }
    for top in &plan.tops {
        let strips: u64 = top
            .slabs
            .iter()
            .map(|slab| u64::from(slab.times) * slab.strips.iter().map(|s| u64::from(s.count)).sum::<u64>())
            .sum();
        if strips != u64::from(top.strips_total) {
            object(format!(
                "`{}` says {} strips in all and its slabs hold {strips}.",
                top.name, top.strips_total
            ));
        }
        if top.laminations.len() as u64 != u64::from(top.bands) {
            object(format!(
                "`{}` says {} bands and counts laminations of {}.",
                top.name,
                top.bands,
                top.laminations.len()
            ));
        }
    }
    let stages = plan.ledger.iter().chain(plan.tops.iter().flat_map(|top| &top.ledger));
    for stage in stages {
        let lost: f64 = stage.lost.iter().map(|loss| loss.amount).sum();
        let off = (stage.input + stage.added - stage.output - lost).abs();
        // Figures are written to six decimals; a stage has at most a dozen of them.
        if off > 1e-9 * stage.input.abs() + 1e-5 {
            object(format!("The ledger of `{}` is out of balance by {off} {}.", stage.stage, stage.unit));
        }
    }
}

fn leaves<'p>(region: &'p Region, into: &mut Vec<(&'p str, crate::figures::Mm, crate::figures::Mm, bool)>) {
    match &region.within {
        Within::Cut { into: children, .. } => children.iter().for_each(|child| leaves(child, into)),
        Within::Piece { part, turned } => into.push((part, region.x, region.y, *turned)),
        Within::Offcut => {}
    }
}
