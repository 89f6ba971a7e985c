//! What a job asks of its lumber, as a packing problem: every way in which a board yields a stick is a make.

use std::collections::BTreeMap;

use stripwright_packing as packing;
use stripwright_packing::{Budget, First, Make, Piece, Problem, Progress, Stock, Trim};
use stripwright_splay as splay;
use stripwright_splay::{Section, Shop, board_yield};
use stripwright_units::Length;

use super::write::written;
use super::yields::{called, reckoned, yields};
use super::{Boards, SectionYield};
use crate::fault::{Fault, Place};
use crate::job::Job;
use crate::words::join;
use crate::{refused, wording};

/// What the boards are asked for, with what the problem's numbers stand for.
pub(crate) struct Sticks {
    pub(super) problem: Problem,
    pub(super) pieces: Vec<Lane>,
    /// What the sections of the lumber yield.
    pub(super) yields: Vec<SectionYield>,
    /// What those allow for.
    pub(super) reckoned: Vec<String>,
}

/// What a piece of the problem is.
pub(super) struct Lane {
    /// What it becomes.
    pub(super) name: String,
    /// How many sticks one above another it is.
    pub(super) layers: u32,
    /// Who asks for it.
    pub(super) of: Wish,
}

/// An entry of the job that asks for sticks.
#[derive(Clone)]
pub(super) struct Wish {
    pub(super) key: String,
    pub(super) place: Place,
    /// A plain length.
    pub(super) plain: bool,
}

pub(super) fn ask(job: &Job, bases: &[splay::Base]) -> Result<Sticks, Vec<Fault>> {
    let cutting = cutting(job.cutting.rip_kerf, job.cutting.crosscut_kerf);
    let mut asked = Sticks {
        problem: Problem { stocks: stocks(job), cutting, ..Problem::default() },
        pieces: Vec::new(),
        yields: yields(job, bases),
        reckoned: reckoned(job),
    };
    let mut faults = Vec::new();
    for (n, (wanted, base)) in job.bases.iter().zip(bases).enumerate() {
        for stick in &base.sticks {
            let ways = ways_of(job, &wanted.lumber, stick, &wanted.spec.shop);
            if ways.is_empty() {
                let text =
                    format!("{}: {}", base.name, fits_none(job, &wanted.lumber, stick, &wanted.spec.shop));
                let place = wanted.place_of("lumber");
                faults.push(Fault::impossible(Some(place), format!("bases[{n}].lumber"), text));
            }
            let of = Wish { key: format!("bases[{n}].lumber"), place: wanted.place, plain: false };
            asked.add(&called(base, stick), of, stick.length, stick.count, ways);
        }
    }
    for (n, stick) in job.sticks.iter().enumerate() {
        let of = Wish { key: format!("sticks[{n}]"), place: stick.place, plain: true };
        let mut ways: BTreeMap<(Length, u32), Vec<usize>> = BTreeMap::new();
        for &lumber in &stick.lumber {
            ways.entry((asked.problem.stocks[lumber].usable_width(), 1)).or_default().push(lumber);
        }
        asked.add(&stick.name, of, stick.length, stick.count, ways);
    }
    if faults.is_empty() { Ok(asked) } else { Err(faults) }
}

/// The usable stock of one kind of lumber: one edge squared where sticks are ripped from it.
fn stocks(job: &Job) -> Vec<Stock> {
    let squaring = job.bases.iter().map(|base| base.spec.shop.edge_squaring).max().unwrap_or_default();
    job.lumber
        .iter()
        .map(|lumber| {
            let width = lumber.section.map_or(Length::from_mm(1), |[width, _]| width);
            let trim =
                Trim { bottom: if squaring < width { squaring } else { Length::ZERO }, ..Trim::default() };
            Stock {
                name: lumber.name.clone(),
                length: lumber.length,
                width,
                trim,
                price: lumber.price,
                limit: lumber.limit,
            }
        })
        .collect()
}

impl Sticks {
    /// Cuts them from the fewest money's worth of boards.
    ///
    /// # Errors
    /// Limits that are too small.
    pub(crate) fn boards(
        &self,
        job: &Job,
        budget: &Budget,
        progress: &mut (dyn FnMut(&Progress) -> bool + Send),
    ) -> Result<Boards, Vec<Fault>> {
        let answer = packing::solve(&self.problem, budget, progress).map_err(|refusals| {
            refusals.iter().map(|refusal| self.refused(job, refusal)).collect::<Vec<_>>()
        })?;
        match packing::audit::answer(&self.problem, &answer) {
            Ok(verdict) => Ok(written(job, self, &answer, verdict.proven())),
            Err(objections) => Err(refused::by_audit(&objections)),
        }
    }

    fn add(
        &mut self,
        name: &str,
        of: Wish,
        length: Length,
        count: u32,
        ways: BTreeMap<(Length, u32), Vec<usize>>,
    ) {
        let problem = &mut self.problem;
        // One way with one layer needs no choice: the stick is a plain piece.
        if let [((width, 1), stocks)] = ways.iter().collect::<Vec<_>>().as_slice() {
            let (width, stocks) = (*width, (*stocks).clone());
            problem.pieces.push(Piece {
                name: name.to_string(),
                length,
                width,
                count,
                may_turn: false,
                stocks,
            });
            self.pieces.push(Lane { name: name.to_string(), layers: 1, of });
            return;
        }
        problem.covers.push(packing::Cover { name: name.to_string(), count });
        for ((width, layers), stocks) in ways {
            let piece = problem.pieces.len();
            problem.pieces.push(Piece {
                name: name.to_string(),
                length,
                width,
                count: 0,
                may_turn: false,
                stocks,
            });
            self.pieces.push(Lane { name: name.to_string(), layers, of: of.clone() });
            problem.makes.push(Make {
                name: name.to_string(),
                yields: vec![(problem.covers.len() - 1, layers)],
                uses: vec![(piece, 1)],
            });
        }
    }

    /// What the packing refuses, as a sentence about the job.
    pub(super) fn refused(&self, job: &Job, refusal: &packing::Refusal) -> Fault {
        use packing::Refusal;
        let lumber = |n: usize| (format!("lumber[{n}]"), job.lumber[n].place);
        let ((key, place), text) = match refusal {
            Refusal::PieceFitsNowhere { piece, .. } => {
                let (lane, piece) = (&self.pieces[*piece], &self.problem.pieces[*piece]);
                let longest = piece.stocks.iter().map(|&n| job.lumber[n].length).max().unwrap_or_default();
                let text =
                    wording::stick_too_long(&lane.name, piece.length, longest, piece.count, job.system);
                ((lane.of.key.clone(), lane.of.place), text)
            }
            Refusal::CoverWithoutMake { cover } => {
                let name = &self.problem.covers[*cover].name;
                let lane = self.pieces.iter().find(|lane| lane.name == *name);
                let of = lane.map_or_else(|| lumber(0), |lane| (lane.of.key.clone(), lane.of.place));
                (of, wording::no_lumber_yields(name))
            }
            Refusal::LimitsTooSmall { more, shown } => {
                let limited = |n: &usize| job.lumber[*n].limit.is_some();
                let raised = more.iter().map(|(n, _)| *n).chain(0..job.lumber.len()).find(limited);
                let more: Vec<(String, u32)> =
                    more.iter().map(|(n, many)| (job.lumber[*n].name.clone(), *many)).collect();
                (lumber(raised.unwrap_or(0)), wording::limits_too_small("lumber", &more, *shown))
            }
            Refusal::TooFine { stock } => (lumber(*stock), wording::too_fine(&job.lumber[*stock].name)),
            Refusal::OutOfRange { what, index } => match self.pieces.get(*index) {
                Some(lane) if what.contains("piece") => {
                    ((lane.of.key.clone(), lane.of.place), wording::out_of_range(what))
                }
                _ => (lumber((*index).min(job.lumber.len() - 1)), wording::out_of_range(what)),
            },
            // The job's own checks leave nothing else.
            other => (lumber(0), format!("the sticks cannot be laid out: {other}")),
        };
        Fault::impossible(Some(place), key, text)
    }
}

/// Lane width and layers of a stick in each kind of lumber that holds it.
fn ways_of(
    job: &Job,
    allowed: &[usize],
    stick: &splay::Stick,
    shop: &Shop,
) -> BTreeMap<(Length, u32), Vec<usize>> {
    let mut ways: BTreeMap<(Length, u32), Vec<usize>> = BTreeMap::new();
    for &n in allowed {
        let lumber = &job.lumber[n];
        let Some([width, thickness]) = lumber.section else { continue };
        if lumber.length < stick.length {
            continue;
        }
        if let Some(found) = board_yield(Section { width, thickness }, stick.sawn, shop) {
            ways.entry((found.stick_width, found.layers)).or_default().push(n);
        }
    }
    ways
}

/// Why no lumber holds a stick: the kind that comes nearest, and what it lacks.
fn fits_none(job: &Job, allowed: &[usize], stick: &splay::Stick, shop: &Shop) -> String {
    let show = |length: Length| length.show(job.system);
    let Section { width: w, thickness: t } = stick.sawn;
    let wanted =
        format!("a {} of {} by {}, {} long as sawn", stick.name, show(w), show(t), show(stick.length));
    // What each kind lacks in width, thickness and length, the better way round.
    let lacks = |n: &usize| {
        let lumber = &job.lumber[*n];
        let [width, thickness] = lumber.section?;
        let short = |have: Length, want: Length| (want - have).max(Length::ZERO);
        let way = |wide: Length, thick: Length| {
            [
                short(width - shop.edge_squaring, wide),
                short(thickness, thick),
                short(lumber.length, stick.length),
            ]
        };
        let total = |lack: &[Length; 3]| lack[0] + lack[1] + lack[2];
        let lack = [way(w, t), way(t, w)].into_iter().min_by_key(total)?;
        Some((total(&lack), *n, lack))
    };
    let Some((_, n, [width, thickness, length])) = allowed.iter().filter_map(lacks).min() else {
        return format!("no lumber has a `section` to cut {wanted} from; give one its `section`");
    };
    let lacking: Vec<String> = [(width, "of width"), (thickness, "of thickness"), (length, "of length")]
        .into_iter()
        .filter(|(lack, _)| lack.is_positive())
        .map(|(lack, what)| format!("{} {what}", show(lack)))
        .collect();
    format!(
        "no lumber that it may be cut from holds {wanted}, with {} to square an edge; the nearest, `{}`, lacks {}: give lumber that much \
         larger",
        show(shop.edge_squaring),
        job.lumber[n].name,
        join(&lacking)
    )
}

/// Boards are crosscut into shorter boards, these ripped into lanes, and the lanes crosscut. A whole board may be one of the
/// shorter ones, so that this holds every way of ripping first as well.
pub(super) fn cutting(rip_kerf: Length, crosscut_kerf: Length) -> packing::Cutting {
    let first = First::Crosscut;
    packing::Cutting { first, stages: 3, rip_kerf, crosscut_kerf, ..packing::Cutting::default() }
}
