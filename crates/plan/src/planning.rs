//! The one road from a job to a plan.

use stripwright_packing as packing;
use stripwright_packing::{Answer, Budget, Progress};
use stripwright_pattern::{Face, SlabMake, Unrolled};
use stripwright_splay as splay;
use stripwright_units::Money;

use crate::asked::{Asked, ask};
use crate::base::{self, Boards};
use crate::fault::{Fault, in_reading_order};
use crate::job::Job;
use crate::plan::{self, Plan, Units};
use crate::work::{TopWork, Work};
use crate::{refused, thickness, write};

/// How hard to look, and whom to tell.
pub struct Options<'a> {
    /// Work that the search may do.
    pub budget: Budget,
    /// Told now and then how the search stands; when it answers `false` the best plan so far is taken.
    pub progress: &'a mut (dyn FnMut(&Progress) -> bool + Send),
    /// Whether to find out, too, what one fixed slab size would cost.
    pub compare_slabs: bool,
}

/// Share of the budget that the comparison with one fixed slab size may use.
const COMPARISON: u64 = 8;

/// Plans a job: what to buy, every cut, every slab, and why nothing costs less.
///
/// The same job and budget give the same plan, to the byte, on every machine.
///
/// # Errors
/// Every reason why the job cannot be met.
pub fn plan(job: &Job, options: &mut Options<'_>) -> Result<Plan, Vec<Fault>> {
    // Everything that cannot be is told together: who mends the one is not to be told of the other only then.
    let asked = ask(job, &|_, makes| makes);
    let bases = base::bases(job);
    let sticks = base::sticks(job, bases.as_deref().unwrap_or_default());
    let (asked, bases, sticks) = match (asked, bases, sticks) {
        (Ok(asked), Ok(bases), Ok(sticks)) => (asked, bases, sticks),
        (asked, bases, sticks) => return Err(together([asked.err(), bases.err(), sticks.err()])),
    };
    let answer = pack(job, &asked, &options.budget, options.progress);
    let boards = sticks.map(|sticks| sticks.boards(job, &options.budget, options.progress)).transpose();
    let (answer, boards) = match (answer, boards) {
        (Ok(answer), Ok(boards)) => (answer, boards),
        (answer, boards) => return Err(together([answer.err(), boards.err()])),
    };
    let proven = match packing::audit::answer(&asked.problem, &answer) {
        Ok(verdict) => verdict.proven(),
        Err(objections) => return Err(refused::by_audit(&objections)),
    };
    let slab_choice =
        if options.compare_slabs { slab_choice(job, &asked, &answer, proven, options) } else { None };
    Ok(assemble(job, &asked, &answer, proven, slab_choice, &bases, boards))
}

/// Faults of several stages as one list.
fn together<const N: usize>(faults: [Option<Vec<Fault>>; N]) -> Vec<Fault> {
    let mut faults: Vec<Fault> = faults.into_iter().flatten().flatten().collect();
    in_reading_order(&mut faults);
    faults
}

fn pack(
    job: &Job,
    asked: &Asked,
    budget: &Budget,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Result<Answer, Vec<Fault>> {
    if asked.problem.pieces.is_empty() {
        return Ok(Answer {
            layouts: Vec::new(),
            makes: Vec::new(),
            spare: Vec::new(),
            money: Money::ZERO,
            bound: Money::ZERO,
            certificate: nothing_asked(asked.problem.stocks.len()),
            work: 0,
        });
    }
    packing::solve(&asked.problem, budget, progress)
        .map_err(|refusals| refused::by_packing(job, asked, &refusals))
}

/// The proof that nothing costs nothing: every price is zero.
fn nothing_asked(sheets: usize) -> packing::Certificate {
    let leaf = packing::Leaf {
        branches: Vec::new(),
        pieces: Vec::new(),
        covers: Vec::new(),
        upper: vec![0; sheets],
        lower: vec![0; sheets],
        forks: Vec::new(),
    };
    packing::Certificate { scale: 1, proper: false, leaves: vec![leaf] }
}

/// The plan against the one a shop would make that cuts every slab to the largest size that fits.
fn slab_choice(
    job: &Job,
    asked: &Asked,
    answer: &Answer,
    proven: bool,
    options: &mut Options<'_>,
) -> Option<plan::SlabChoice> {
    if asked.tops.iter().all(|top| top.makes.len() < 2) {
        return None;
    }
    if proven && all_one_size(asked, answer) {
        // The plan is such a plan itself, and none is cheaper.
        return Some(plan::SlabChoice {
            fixed_money: answer.money.into(),
            fixed_sheets: answer.sheets(&asked.problem).iter().sum(),
            saved_money: Money::ZERO.into(),
            saved_sheets: 0,
        });
    }
    let fixed = ask(job, &|face, makes| one_size(face, makes)).ok()?;
    let budget = Budget { work: options.budget.work / COMPARISON };
    let other = pack(job, &fixed, &budget, options.progress).ok()?;
    // Only against the best of such plans: against a worse one more would seem to be saved.
    packing::audit::answer(&fixed.problem, &other).ok().filter(|verdict| verdict.proven())?;
    let count = |asked: &Asked, answer: &Answer| answer.sheets(&asked.problem).iter().sum::<u32>();
    let (fixed_sheets, sheets) = (count(&fixed, &other), count(asked, answer));
    Some(plan::SlabChoice {
        fixed_money: other.money.into(),
        fixed_sheets,
        saved_money: (other.money - answer.money).into(),
        saved_sheets: i64::from(fixed_sheets) - i64::from(sheets),
    })
}

/// Whether all slabs of an answer are ones that a shop would make which knows one size only.
fn all_one_size(asked: &Asked, answer: &Answer) -> bool {
    asked.tops.iter().all(|top| {
        let fixed = one_size(&top.face, top.makes.clone());
        let own = top.first_make..top.first_make + top.makes.len();
        let mut chosen = answer.makes.iter().filter(|(make, times)| own.contains(make) && *times > 0);
        chosen.all(|(make, _)| fixed.contains(&top.makes[make - top.first_make]))
    })
}

/// Only slabs of as many bands as fit, and of the remainder.
fn one_size(face: &Face, makes: Vec<SlabMake>) -> Vec<SlabMake> {
    let most = makes.iter().map(|make| make.places.len()).max().unwrap_or(0);
    let rest = if most == 0 { 0 } else { face.elements.len() % most };
    let kept: Vec<SlabMake> =
        makes.iter().filter(|make| [most, rest].contains(&make.places.len())).cloned().collect();
    // The largest slab may pass some bands by; then one size cannot serve and nothing is compared.
    let covered = |cover: usize| kept.iter().any(|make| make.yields.iter().any(|(c, _)| *c == cover));
    if (0..face.covers.len()).all(covered) { kept } else { makes }
}

/// Everything that follows from a job, how its sheets are cut and which boards it takes.
pub(crate) fn assemble(
    job: &Job,
    asked: &Asked,
    answer: &Answer,
    proven: bool,
    slab_choice: Option<plan::SlabChoice>,
    bases: &[splay::Base],
    boards: Option<Boards>,
) -> Plan {
    let (money, bound) = match &boards {
        Some(boards) => (answer.money + boards.money, answer.bound + *boards.stated.bound),
        None => (answer.money, answer.bound),
    };
    let (lumber, sticks, boards) =
        boards.map_or_else(Default::default, |b| (b.buy, b.sticks, Some(b.stated)));
    let unrolled: Vec<Unrolled> = asked
        .tops
        .iter()
        .map(|top| {
            let chosen: Vec<(usize, u32)> = answer
                .makes
                .iter()
                .filter(|(make, _)| (top.first_make..top.first_make + top.makes.len()).contains(make))
                .map(|(make, times)| (make - top.first_make, *times))
                .collect();
            top.face.unroll(&job.shop.pattern, &top.makes, &chosen)
        })
        .collect();
    let (layouts, sheets_ledger) = write::layouts(job, asked, answer);
    let score = answer.score(&asked.problem);
    let tops: Vec<plan::Top> = unrolled
        .iter()
        .enumerate()
        .map(|(n, unrolled)| write::top(job, asked, n, unrolled, &layouts))
        .collect();
    let mut plan = Plan {
        format: 1,
        title: job.title.clone(),
        units: match job.system {
            stripwright_units::System::Metric => Units::Metric,
            stripwright_units::System::Inch => Units::Inch,
        },
        mark: job.mark.into(),
        currency: job.currency.clone(),
        buy: plan::Buy {
            sheets: write::buy_sheets(job, asked, answer),
            lumber,
            total: money.into(),
            area: write::mm2(score.area),
        },
        bound: plan::Bound {
            money: bound.into(),
            proven: proven && boards.as_ref().is_none_or(|boards| boards.proven),
            gap: write::gap(money, bound),
            slab_choice,
        },
        fence_settings: score.fence_settings as u32,
        largest_offcut: write::largest_offcut(&layouts),
        layouts,
        sticks,
        boards,
        tops,
        bases: bases.iter().map(base::written).collect(),
        steps: Vec::new(),
        cautions: Vec::new(),
        limits: Vec::new(),
        prices: plan::Prices::default(),
        ledger: vec![sheets_ledger],
        assumed: job.assumed.clone(),
        notes: [write::notes(job, asked, &unrolled), thickness::notes(job, asked, &unrolled)].concat(),
        sheets: write::sheets(job),
        cutting: write::cutting(job),
        demands: write::demands(asked, answer),
        covers: write::covers(asked),
        makes: write::makes(asked, answer),
        certificate: write::certificate(&answer.certificate),
    };
    let tops: Vec<TopWork<'_>> = asked
        .tops
        .iter()
        .zip(&unrolled)
        .map(|(top, unrolled)| TopWork { face: &top.face, unrolled })
        .collect();
    let prepared = Work { job, plan: &plan, tops: &tops, bases, system: job.system }.prepare();
    plan.steps = prepared.steps;
    plan.cautions = prepared.cautions;
    plan.limits = prepared.limits;
    plan.prices = prepared.prices;
    plan
}
