//! Checks a plan by itself: the packing claim is read back from plain data and audited in whole numbers, and every
//! figure that repeats another is compared with it. Sheets and lumber have a claim and a proof each: a plan is proven
//! when both are.

mod afresh;

use stripwright_packing as packing;
use stripwright_packing::audit::{Claim, Sheets};
use stripwright_packing::{Cover, Make, Piece, Problem, Stock};
use stripwright_units::Money;

use crate::asked::ask;
use crate::base;
use crate::figures::Minor;
use crate::job::Job;
use crate::plan::{self, Direction, First, Plan, Region, Within};
use crate::sawing::saw;
use crate::steps::fence_settings;
use crate::write;

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
    check_cuts(plan, &problem, &claim, &mut objections);
    check_proven(plan, &claim, &mut objections);
    if objections.is_empty() {
        check_tallies(plan, &problem, &claim, &mut objections);
    }
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

/// Checks, besides, that a plan is about this job: sheets, rules, parts, slabs, strips, bases and lumber are worked
/// out afresh, and then everything that follows from them and the cuts.
///
/// # Errors
/// Every objection, as a whole sentence.
pub fn audit_against(plan: &Plan, job: &Job) -> Result<(), Vec<String>> {
    let mut objections = Vec::new();
    let Some((stated, claim)) = read_back(plan, &mut objections) else { return Err(objections) };
    let asked = match ask(job, &|_, makes| makes) {
        Ok(asked) => asked,
        Err(faults) => return Err(faults.iter().map(ToString::to_string).collect()),
    };
    let same = [
        ("sheets", stated.stocks == asked.problem.stocks),
        ("rules of the saw", stated.cutting == asked.problem.cutting),
        ("parts and strips", stated.pieces == asked.problem.pieces),
        ("bands", stated.covers == asked.problem.covers),
        ("slabs", stated.makes == asked.problem.makes),
    ];
    let differ = |what: &&str| {
        format!("The {what} of the plan are not those of the job beside it; plan the job again.")
    };
    let mut objections: Vec<String> =
        same.iter().filter(|(_, same)| !same).map(|(what, _)| differ(what)).collect();
    if let Err(more) = base::audit_against(plan, job) {
        objections.extend(more);
    }
    if objections.is_empty() {
        objections.extend(afresh::differences(plan, job, &asked, &claim));
    }
    if objections.is_empty() { Ok(()) } else { Err(objections) }
}

/// The problem and the claim that a plan states.
fn read_back(plan: &Plan, objections: &mut Vec<String>) -> Option<(Problem, Claim)> {
    let problem = Problem {
        pieces: pieces(plan, objections),
        stocks: stocks(plan),
        covers: plan.covers.iter().map(|c| Cover { name: c.name.clone(), count: c.count }).collect(),
        makes: makes(plan, objections),
        cutting: cutting(plan),
    };
    let layouts = layouts(plan, objections);
    let (money, bound) = money_and_bound(plan, objections)?;
    let made = (0..).zip(&plan.makes).filter(|(_, make)| make.times > 0).map(|(n, make)| (n, make.times));
    let spare = (0..).zip(&plan.demands).filter(|(_, d)| d.spare > 0).map(|(n, d)| (n, d.spare));
    let claim = Claim {
        layouts,
        makes: made.collect(),
        spare: spare.collect(),
        money,
        bound,
        // Sheets may be proven where lumber is not; `check_proven` compares both with what the plan says.
        proven: money == bound,
        certificate: certificate(&plan.certificate),
    };
    Some((problem, claim))
}

fn sheet_named(plan: &Plan, name: &str) -> Option<usize> {
    plan.sheets.iter().position(|sheet| sheet.name == name)
}

fn piece_named(plan: &Plan, id: &str) -> Option<usize> {
    plan.demands.iter().position(|demand| demand.id == id)
}

fn unlisted(place: &str, what: &str, name: &str) -> String {
    format!("{place} speaks of the {what} `{name}`, which the plan does not list.")
}

fn pieces(plan: &Plan, objections: &mut Vec<String>) -> Vec<Piece> {
    let mut pieces = Vec::new();
    for demand in &plan.demands {
        let mut stocks = Vec::new();
        for name in &demand.sheets {
            match sheet_named(plan, name) {
                Some(s) => stocks.push(s),
                None => objections.push(unlisted("A demand", "sheet", name)),
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
    pieces
}

fn stocks(plan: &Plan) -> Vec<Stock> {
    let stock = |sheet: &plan::Sheet| Stock {
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
    };
    plan.sheets.iter().map(stock).collect()
}

fn makes(plan: &Plan, objections: &mut Vec<String>) -> Vec<Make> {
    let mut makes = Vec::new();
    for make in &plan.makes {
        let mut uses = Vec::new();
        for (id, count) in &make.uses {
            match piece_named(plan, id) {
                Some(p) => uses.push((p, *count)),
                None => objections.push(unlisted("A make", "piece", id)),
            }
        }
        uses.sort_unstable();
        makes.push(Make { name: make.name.clone(), yields: make.yields.clone(), uses });
    }
    makes
}

fn layouts(plan: &Plan, objections: &mut Vec<String>) -> Vec<Sheets> {
    let mut layouts = Vec::new();
    for layout in &plan.layouts {
        let Some(stock) = sheet_named(plan, &layout.sheet) else {
            objections.push(unlisted("A layout", "sheet", &layout.sheet));
            continue;
        };
        let mut placed = Vec::new();
        for piece in &layout.pieces {
            match piece_named(plan, &piece.part) {
                Some(p) => placed.push(packing::Placed {
                    piece: p,
                    x: *piece.x,
                    y: *piece.y,
                    length: *piece.length,
                    width: *piece.width,
                    turned: piece.turned,
                }),
                None => objections.push(unlisted("A layout", "part", &piece.part)),
            }
        }
        layouts.push(Sheets { stock, times: layout.times, placed });
    }
    layouts
}

/// What the sheets cost and the bound of that; `None` when there is any objection up to here.
fn money_and_bound(plan: &Plan, objections: &mut Vec<String>) -> Option<(Money, Money)> {
    let cost = |price: Minor, count: u32| i128::from(price.minor()) * i128::from(count);
    let sheets: i128 = plan.buy.sheets.iter().map(|b| cost(b.price, b.count)).sum();
    let lumber: i128 = plan.buy.lumber.iter().map(|b| cost(b.price, b.count)).sum();
    if sheets + lumber != i128::from(plan.buy.total.minor()) {
        objections.push(format!(
            "What is bought comes to {} minor units and the plan says {}.",
            sheets + lumber,
            plan.buy.total.minor()
        ));
    }
    // The plan's bound is for sheets and lumber together; the boards have a claim of their own.
    let boards_bound = plan.boards.as_ref().map_or(0, |boards| boards.bound.minor());
    let Some(bound) = plan.bound.money.minor().checked_sub(boards_bound) else {
        objections.push("The bounds of sheets and lumber are out of range.".to_string());
        return None;
    };
    if !objections.is_empty() {
        return None;
    }
    let Ok(money) = i64::try_from(sheets) else {
        objections.push("The money for sheets is out of range.".to_string());
        return None;
    };
    Some((Money::from_minor(money), Money::from_minor(bound)))
}

/// The tree of cuts of each layout can be sawn, and frees the very pieces that the layout lists.
fn check_cuts(plan: &Plan, problem: &Problem, claim: &Claim, objections: &mut Vec<String>) {
    for (n, (layout, sheets)) in plan.layouts.iter().zip(&claim.layouts).enumerate() {
        let Some(root) = region(plan, &layout.region) else {
            objections.push(format!("The cuts of layout {} free a part that the plan does not list.", n + 1));
            continue;
        };
        let tree = packing::Layout { stock: sheets.stock, times: sheets.times, root };
        match packing::audit::cuts(problem, n + 1, &tree) {
            Ok(mut freed) => {
                let mut listed = sheets.placed.clone();
                freed.sort_unstable();
                listed.sort_unstable();
                if freed != listed {
                    objections.push(format!("Layout {} lists other pieces than its cuts free.", n + 1));
                }
                check_sawing(plan, problem, n, &tree, objections);
            }
            Err(objection) => objections.push(objection.to_string()),
        }
    }
}

/// What a layout says of its cuts and offcuts follows from its tree of cuts, which is known to be sound by now.
fn check_sawing(
    plan: &Plan,
    problem: &Problem,
    n: usize,
    tree: &packing::Layout,
    objections: &mut Vec<String>,
) {
    let size = |piece: usize| (problem.pieces[piece].length, problem.pieces[piece].width);
    let sawn = saw(tree, &problem.stocks[tree.stock], &problem.cutting, &size, *plan.mark);
    let layout = &plan.layouts[n];
    if layout.cuts.len() != sawn.cuts.len() {
        objections.push(format!(
            "Layout {} lists {} cuts, and {} divide its sheet.",
            n + 1,
            layout.cuts.len(),
            sawn.cuts.len()
        ));
    }
    if let Some((_, cut)) = layout.cuts.iter().zip(&sawn.cuts).find(|(stated, found)| stated != found) {
        objections.push(format!(
            "Cut {} of layout {} is not the one that divides its sheet there.",
            cut.number,
            n + 1
        ));
    }
    if layout.offcuts != sawn.offcuts {
        objections.push(format!("Layout {} lists other offcuts than its cuts leave.", n + 1));
    }
}

/// A plan is proven when its sheets and its lumber are, and says so just then.
fn check_proven(plan: &Plan, sheets: &Claim, objections: &mut Vec<String>) {
    let lumber = plan.boards.as_ref().is_none_or(|boards| boards.proven);
    match (plan.bound.proven, sheets.proven, lumber) {
        (true, false, _) => objections.push(format!(
            "The plan is called proven, and its sheets cost {} minor units where the bound is {}.",
            sheets.money.minor(),
            sheets.bound.minor()
        )),
        (true, true, false) => {
            objections.push("The plan is called proven and its lumber is not.".to_string())
        }
        (false, true, true) => {
            objections
                .push("The plan is not called proven, although its sheets and its lumber are.".to_string());
        }
        _ => {}
    }
}

/// Area, fence settings and the largest offcut follow from the layouts, which are known to be sound by now.
fn check_tallies(plan: &Plan, problem: &Problem, claim: &Claim, objections: &mut Vec<String>) {
    let area = |sheets: &Sheets| {
        let stock = &problem.stocks[sheets.stock];
        i128::from(sheets.times) * stock.length.area_nm2(stock.width)
    };
    let area = write::mm2(claim.layouts.iter().map(area).sum());
    if plan.buy.area.total_cmp(&area).is_ne() {
        objections
            .push(format!("The plan says {} mm2 of sheet and its layouts are {area} mm2.", plan.buy.area));
    }
    let settings = fence_settings(plan);
    if settings != plan.fence_settings as usize {
        objections.push(format!(
            "The plan says {} fence settings and its rips need {settings}.",
            plan.fence_settings
        ));
    }
    if plan.largest_offcut != write::largest_offcut(&plan.layouts) {
        objections.push("The plan's largest offcut is not the largest that its layouts leave.".to_string());
    }
}

/// A region in the terms of the packing; `None` when it holds a part that the plan does not list.
fn region(plan: &Plan, from: &Region) -> Option<packing::Region> {
    let within = match &from.within {
        Within::Cut { direction, into } => {
            let direction = match direction {
                Direction::Rip => packing::Direction::Rip,
                Direction::Crosscut => packing::Direction::Crosscut,
            };
            let parts: Option<Vec<_>> = into.iter().map(|part| region(plan, part)).collect();
            packing::Within::Cut(direction, parts?)
        }
        Within::Piece { part, turned } => {
            let piece = piece_named(plan, part)?;
            packing::Within::Piece { piece, turned: *turned }
        }
        Within::Offcut => packing::Within::Offcut,
    };
    Some(packing::Region { x: *from.x, y: *from.y, length: *from.length, width: *from.width, within })
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
        forks: leaf.forks.iter().map(fork).collect(),
    });
    packing::Certificate { scale: from.scale, proper: from.proper, leaves: leaves.collect() }
}

fn fork(from: &plan::Fork) -> packing::Fork {
    let count = packing::Count {
        stocks: from.sheets.clone(),
        first: match from.first {
            Direction::Rip => packing::Direction::Rip,
            Direction::Crosscut => packing::Direction::Crosscut,
        },
        what: match &from.count {
            plan::Counted::Sheets => packing::Counted::Sheets,
            plan::Counted::Strips { width } => packing::Counted::Strips { width: width.0 },
            plan::Counted::Pieces { width, demands } => {
                packing::Counted::Pieces { width: width.0, pieces: demands.clone() }
            }
        },
    };
    packing::Fork { count, at: from.at, more: from.more, price: from.price }
}

/// Figures that a plan states twice must agree.
fn check_repeated_figures(plan: &Plan, objections: &mut Vec<String>) {
    check_bought(plan, objections);
    check_gap(plan, objections);
    check_cut(plan, objections);
    check_strips(plan, objections);
    check_tops(plan, objections);
    check_ledgers(plan, objections);
}

/// As many sheets are bought as are cut, at their own price.
fn check_bought(plan: &Plan, objections: &mut Vec<String>) {
    for bought in &plan.buy.sheets {
        let used: u64 =
            plan.layouts.iter().filter(|l| l.sheet == bought.name).map(|l| u64::from(l.times)).sum();
        if used != u64::from(bought.count) {
            objections.push(format!("{} of `{}` are bought and {used} are cut.", bought.count, bought.name));
        }
        match plan.sheets.iter().find(|sheet| sheet.name == bought.name) {
            Some(sheet) if sheet.price == bought.price => {}
            _ => objections
                .push(format!("`{}` is bought at a price that the sheet does not have.", bought.name)),
        }
    }
}

fn check_gap(plan: &Plan, objections: &mut Vec<String>) {
    let gap = write::gap(*plan.buy.total, *plan.bound.money);
    if plan.bound.gap.total_cmp(&gap).is_ne() {
        objections.push(format!(
            "The plan says that it is {} above its bound, as a share, and money and bound say {gap}.",
            plan.bound.gap
        ));
    }
}

/// What is cut is bought.
fn check_cut(plan: &Plan, objections: &mut Vec<String>) {
    for layout in &plan.layouts {
        if !plan.buy.sheets.iter().any(|bought| bought.name == layout.sheet) {
            objections.push(format!("`{}` is cut and not bought.", layout.sheet));
        }
    }
}

/// Strips in slabs are exactly the strips that the makes use.
fn check_strips(plan: &Plan, objections: &mut Vec<String>) {
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
            objections
                .push(format!("Slabs hold {in_slabs} of `{}` and the makes use {in_makes}.", demand.id));
        }
    }
}

/// What a top says of its strips and bands is what it lists.
fn check_tops(plan: &Plan, objections: &mut Vec<String>) {
    for top in &plan.tops {
        let strips: u64 = top
            .slabs
            .iter()
            .map(|slab| u64::from(slab.times) * slab.strips.iter().map(|s| u64::from(s.count)).sum::<u64>())
            .sum();
        if strips != u64::from(top.strips_total) {
            objections.push(format!(
                "`{}` says {} strips in all and its slabs hold {strips}.",
                top.name, top.strips_total
            ));
        }
        if top.laminations.len() as u64 != u64::from(top.bands) {
            objections.push(format!(
                "`{}` says {} bands and counts laminations of {}.",
                top.name,
                top.bands,
                top.laminations.len()
            ));
        }
    }
}

/// What goes into a stage comes out of it or is lost.
fn check_ledgers(plan: &Plan, objections: &mut Vec<String>) {
    for stage in plan.ledger.iter().chain(plan.tops.iter().flat_map(|top| &top.ledger)) {
        let lost: f64 = stage.lost.iter().map(|loss| loss.amount).sum();
        let off = (stage.input + stage.added - stage.output - lost).abs();
        // Figures are written to six decimals; a stage has at most a dozen of them.
        if off > 1e-9 * stage.input.abs() + 1e-5 {
            objections
                .push(format!("The ledger of `{}` is out of balance by {off} {}.", stage.stage, stage.unit));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figures::{Mm, rounded};
    use stripwright_packing::Budget;
    use stripwright_units::Length;

    fn planned(job: &str) -> Plan {
        let job = Job::read(job).unwrap();
        let mut options =
            crate::Options { budget: Budget::default(), progress: &mut |_| true, compare_slabs: false };
        crate::plan(&job, &mut options).unwrap()
    }

    /// One panel on a board of twice its length: the waste beside it is wide enough to move it about.
    fn sheets() -> Plan {
        planned(
            r#"{"sheets":[{"name":"board","length":1000,"width":500,"price":10}],
            "parts":[{"name":"panel","length":400,"width":200,"count":1}]}"#,
        )
    }

    /// A shelf of sheet and a stand of lumber.
    fn both() -> Plan {
        planned(
            r#"{"sheets":[{"name":"board","length":1000,"width":500,"price":10}],
            "parts":[{"name":"panel","length":400,"width":200,"count":5}],
            "lumber":[{"name":"ash","section":[95,45],"length":2400,"price":"18.50"}],
            "bases":[{"name":"frame","height":"700 mm","front_lean":6,"side_lean":6,"leg":"32 mm",
            "top_spread":"260 mm","rungs":["140 mm"]}]}"#,
        )
    }

    fn minor(n: i64) -> Minor {
        Minor(Money::from_minor(n))
    }

    fn refused(plan: &Plan, words: &str) {
        let found = audit(plan).expect_err(words);
        assert!(found.iter().any(|o| o.contains(words)), "no `{words}` in {found:#?}");
    }

    /// The first region below this one that the test holds for.
    fn find<'r>(region: &'r mut Region, test: &dyn Fn(&Region) -> bool) -> Option<&'r mut Region> {
        if test(region) {
            return Some(region);
        }
        match &mut region.within {
            Within::Cut { into, .. } => into.iter_mut().find_map(|part| find(part, test)),
            _ => None,
        }
    }

    #[test]
    fn cuts_that_are_not_a_kerf_apart_are_refused() {
        let plan = sheets();
        assert!(audit(&plan).unwrap().proven);
        // The piece and its entry in the list move together into the waste beside them: as rectangles alone they
        // could still be cut.
        let mut moved = plan.clone();
        let layout = &mut moved.layouts[0];
        let place = find(&mut layout.region, &|r| matches!(r.within, Within::Piece { .. })).unwrap();
        place.y = Mm(place.y.0 + Length::from_mm(1));
        layout.pieces[0].y = place.y;
        refused(&moved, "one kerf apart");
        // A piece listed elsewhere than the cuts free it.
        let mut listed = plan.clone();
        listed.layouts[0].pieces[0].y = Mm(Length::from_mm(100));
        refused(&listed, "lists other pieces than its cuts free");
        // What is left over takes the kerf, too.
        let mut thinner = plan.clone();
        let offcut = find(&mut thinner.layouts[0].region, &|r| r.within == Within::Offcut).unwrap();
        (offcut.x, offcut.y) = (Mm(offcut.x.0 - Length::from_um(500)), Mm(offcut.y.0 - Length::from_um(500)));
        refused(&thinner, "The cuts of layout 1");
        let mut whole = plan.clone();
        whole.layouts[0].region.length = Mm(Length::from_mm(1001));
        refused(&whole, "usable sheet");
        let mut unknown = plan.clone();
        let place =
            find(&mut unknown.layouts[0].region, &|r| matches!(r.within, Within::Piece { .. })).unwrap();
        place.within = Within::Piece { part: "nothing".into(), turned: false };
        refused(&unknown, "free a part that the plan does not list");
    }

    #[test]
    fn cuts_and_offcuts_are_those_of_the_tree() {
        let plan = sheets();
        let mut moved = plan.clone();
        moved.layouts[0].cuts[1].setting = Mm(plan.layouts[0].cuts[1].setting.0 + Length::from_um(500));
        refused(&moved, "Cut 2 of layout 1 is not the one");
        let mut fewer = plan.clone();
        fewer.layouts[0].cuts.pop();
        refused(&fewer, "cuts, and 2 divide its sheet");
        let mut more = plan.clone();
        let last = more.layouts[0].cuts[1].clone();
        more.layouts[0].cuts.push(last);
        refused(&more, "Layout 1 lists 3 cuts");
        let mut larger = plan.clone();
        larger.layouts[0].offcuts[0].length = Mm(plan.layouts[0].offcuts[0].length.0 + Length::from_mm(1));
        refused(&larger, "other offcuts than its cuts leave");
        let mut kept = plan.clone();
        kept.layouts[0].offcuts[0].keep ^= true;
        refused(&kept, "other offcuts than its cuts leave");
        let mut lost = plan.clone();
        lost.layouts[0].offcuts.pop();
        refused(&lost, "other offcuts than its cuts leave");
    }

    #[test]
    fn area_settings_and_offcut_are_those_of_the_layouts() {
        // One panel of 400 x 200 on a board of 1000 x 500: one rip, at 200, and one crosscut.
        let plan = sheets();
        assert_eq!((plan.buy.area, plan.fence_settings), (500_000.0, 1));
        let largest = plan.largest_offcut.clone().unwrap();
        assert_eq!(largest.sheet, "board");
        assert!(
            plan.layouts[0]
                .offcuts
                .iter()
                .all(|o| o.length.area_nm2(*o.width) <= largest.length.area_nm2(*largest.width))
        );
        let mut more = plan.clone();
        more.buy.area += 1.0;
        refused(&more, "mm2 of sheet");
        let mut other = plan.clone();
        other.fence_settings = 2;
        refused(&other, "its rips need 1");
        let mut none = plan.clone();
        none.largest_offcut = None;
        refused(&none, "largest offcut");
        let mut longer = plan.clone();
        longer.largest_offcut.as_mut().unwrap().length = Mm(Length::from_mm(1000));
        refused(&longer, "largest offcut");
    }

    #[test]
    fn the_gap_is_that_of_money_and_bound() {
        for gap in [0.1, -0.0, f64::NAN, f64::INFINITY] {
            let mut plan = sheets();
            plan.bound.gap = gap;
            refused(&plan, "above its bound");
        }
    }

    #[test]
    fn sheets_and_lumber_are_bounded_apart() {
        let plan = both();
        let verdict = audit(&plan).unwrap();
        let lumber = plan.boards.as_ref().unwrap().bound.minor();
        assert!(lumber > 0 && verdict.proven);
        assert_eq!((verdict.money, verdict.bound), (*plan.buy.total, *plan.bound.money));
        // The lumber's bound is no part of what the sheets' certificate has to show, nor may it be left out.
        let mut without = plan.clone();
        without.bound.money = minor(plan.bound.money.minor() - lumber);
        refused(&without, "is called proven");
        let mut above = plan.clone();
        above.bound.money = minor(plan.bound.money.minor() + 1);
        refused(&above, "bound");
    }

    #[test]
    fn sheets_may_be_tight_where_lumber_is_not_proven() {
        let mut plan = both();
        let boards = plan.boards.as_mut().unwrap();
        plan.bound.money = minor(plan.bound.money.minor() - boards.bound.minor());
        boards.bound = minor(0);
        boards.proven = false;
        plan.bound.proven = false;
        let (money, bound) = (plan.buy.total.minor() as f64, plan.bound.money.minor() as f64);
        plan.bound.gap = rounded((money - bound) / money);
        let verdict = audit(&plan).unwrap();
        assert!(!verdict.proven);
        assert_eq!(verdict.bound, *plan.bound.money);
        plan.bound.proven = true;
        refused(&plan, "its lumber is not");
    }

    #[test]
    fn a_proof_that_is_there_is_not_denied() {
        let mut plan = sheets();
        plan.bound.proven = false;
        refused(&plan, "not called proven");
    }

    /// Three halves of a sheet and three sixths: they fill two sheets, but only in fractions of them. The proof goes by
    /// cases, and is the same after a plan has been written and read.
    #[test]
    fn a_proof_by_cases_is_kept_in_the_plan() {
        let plan = planned(
            r#"{"sheets":[{"name":"board","length":1212,"width":406,"price":5}],
            "parts":[{"name":"half","length":600,"width":400,"count":3,"may_turn":false},
            {"name":"sixth","length":400,"width":200,"count":3,"may_turn":false}],
            "cutting":{"first":"crosscut","stages":2,"rip_kerf":3,"crosscut_kerf":3}}"#,
        );
        assert_eq!(plan.buy.total.minor(), 1500);
        assert!(plan.bound.proven);
        let forked = |plan: &Plan| plan.certificate.leaves.iter().position(|leaf| !leaf.forks.is_empty());
        let leaf = forked(&plan).expect("cases");
        let written = serde_json::to_string(&plan).unwrap();
        let read: Plan = serde_json::from_str(&written).unwrap();
        assert_eq!(read, plan);
        assert!(audit(&read).unwrap().proven);
        let mut without = read.clone();
        without.certificate.leaves.remove(leaf);
        refused(&without, "a case is left out");
        let mut other = read;
        other.certificate.leaves[leaf].forks[0].more ^= true;
        refused(&other, "a case is left out");
    }
}
