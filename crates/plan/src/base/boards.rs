//! Sticks onto boards: which boards to buy, and every stick's place on them.
//!
//! A board is a narrow sheet: it is crosscut into lengths, these are ripped into lanes as wide as a stick, and the lanes crosscut. A board thick
//! enough is resawn, and each length of lane then gives several sticks one above another. Because a stick may lie flat in one
//! kind of board and on edge in another, each way is a make of the packing problem that yields so many sticks.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use stripwright_packing as packing;
use stripwright_packing::audit::{Claim, Sheets};
use stripwright_packing::{Budget, First, Make, Piece, Problem, Progress, Stock, Trim};
use stripwright_splay as splay;
use stripwright_splay::{Section, Shop, board_feet, board_yield, cubic_metres};
use stripwright_units::{Length, Money};

use crate::fault::{Fault, Place};
use crate::figures::{Minor, Mm, rounded};
use crate::job::{Job, Lumber};
use crate::plan::{BuyLumber, Certificate, Cover, Plan, Stick, StickPiece};
use crate::words::{Words, join};
use crate::{refused, wording, write};

/// The boards of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Boards {
    /// What to buy, in the job's order of lumber.
    pub buy: Vec<BuyLumber>,
    /// Distinct boards, each with how many are cut that way.
    pub sticks: Vec<Stick>,
    /// What they cost.
    pub money: Money,
    /// What was asked, how good the answer is, and why.
    pub stated: BoardsPlan,
}

/// What the boards were asked for and why they cannot be had for less: enough to check it without the solver.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BoardsPlan {
    /// No choice of boards costs less.
    pub bound: Minor,
    /// True when the boards cost no more than that.
    pub proven: bool,
    /// Bought, in cubic metres.
    pub cubic_metres: f64,
    /// Bought, in board feet of the actual sections.
    pub board_feet: f64,
    /// How many sticks the sections of the lumber yield.
    pub yields: Vec<SectionYield>,
    /// What those yields allow for, in sentences.
    pub reckoned: Vec<String>,
    /// The lumber there was to choose from.
    pub lumber: Vec<BoardKind>,
    /// Sizes of lane piece, each one or more sticks one above another.
    pub demands: Vec<BoardDemand>,
    /// Sticks that may be had in several ways.
    pub covers: Vec<Cover>,
    /// Those ways.
    pub makes: Vec<BoardMake>,
    /// Lane pieces beyond what is asked for: (index into `demands`, how many).
    pub spare: Vec<(usize, u32)>,
    /// Why nothing costs less.
    pub certificate: Certificate,
}

/// How many sticks of one sawn section the section of a kind of lumber yields.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SectionYield {
    /// The lumber's name.
    pub lumber: String,
    /// What the sticks become.
    pub parts: Vec<String>,
    /// Section of a stick as sawn.
    pub sawn: [Mm; 2],
    /// Side by side in the board's width.
    pub across: u32,
    /// One above another in its thickness.
    pub layers: u32,
    /// What is left of the board's width.
    pub left_over: Mm,
    /// The same in a sentence.
    pub sentence: String,
}

/// A kind of lumber as the packing met it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BoardKind {
    /// Its name.
    pub name: String,
    /// Its length.
    pub length: Mm,
    /// Its width.
    pub width: Mm,
    /// What squaring an edge takes off.
    pub edge: Mm,
    /// Price of one.
    pub price: Minor,
    /// How many there are.
    pub limit: Option<u32>,
}

/// A size of lane piece.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BoardDemand {
    /// What it becomes.
    pub part: String,
    /// Its length.
    pub length: Mm,
    /// Width of its lane.
    pub width: Mm,
    /// Sticks one above another.
    pub layers: u32,
    /// How many are wanted as such.
    pub count: u32,
    /// Indices of the lumber it may be cut from.
    pub lumber: Vec<usize>,
}

/// One way to have sticks: one lane piece gives as many as it has layers.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BoardMake {
    /// Index into `covers`.
    pub cover: usize,
    /// Index into `demands`.
    pub demand: usize,
    /// How often it is used.
    pub times: u32,
}

/// What the boards are asked for, with what the problem's numbers stand for.
pub(crate) struct Sticks {
    problem: Problem,
    pieces: Vec<Lane>,
    /// What the sections of the lumber yield.
    yields: Vec<SectionYield>,
    /// What those allow for.
    reckoned: Vec<String>,
}

/// What a piece of the problem is.
struct Lane {
    /// What it becomes.
    name: String,
    /// How many sticks one above another it is.
    layers: u32,
    /// Who asks for it.
    of: Wish,
}

/// An entry of the job that asks for sticks.
#[derive(Clone)]
struct Wish {
    key: String,
    place: Place,
    /// A plain length.
    plain: bool,
}

/// What the sticks of all bases, and the job's plain lengths, ask of its lumber; nothing when the job has no lumber or
/// needs no sticks.
///
/// # Errors
/// Every stick that fits no board, with what would hold it.
pub(crate) fn sticks(job: &Job, bases: &[splay::Base]) -> Result<Option<Sticks>, Vec<Fault>> {
    if job.lumber.is_empty() || (job.bases.is_empty() && job.sticks.is_empty()) {
        return Ok(None);
    }
    let asked = ask(job, bases)?;
    let misfits = packing::misfits(&asked.problem);
    if misfits.is_empty() {
        return Ok(Some(asked));
    }
    Err(misfits.iter().map(|refusal| asked.refused(job, refusal)).collect())
}

/// Cuts the sticks of all bases, and the job's plain lengths, from the job's lumber; nothing when the job has no lumber or
/// needs no sticks.
///
/// # Errors
/// Every stick that fits no board; limits that are too small.
pub fn boards(
    job: &Job,
    bases: &[splay::Base],
    budget: &Budget,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Result<Option<Boards>, Vec<Fault>> {
    sticks(job, bases)?.map(|sticks| sticks.boards(job, budget, progress)).transpose()
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

fn ask(job: &Job, bases: &[splay::Base]) -> Result<Sticks, Vec<Fault>> {
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
    fn refused(&self, job: &Job, refusal: &packing::Refusal) -> Fault {
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

/// What the sections of the lumber yield of each sawn section that the bases need, in the order of lumber and sticks.
fn yields(job: &Job, bases: &[splay::Base]) -> Vec<SectionYield> {
    // What is sawn from which lumber, with which squaring cut, and what that yields.
    let mut all: Vec<((usize, Section, Length), SectionYield)> = Vec::new();
    for (wanted, base) in job.bases.iter().zip(bases) {
        let shop = &wanted.spec.shop;
        for (stick, &n) in base.sticks.iter().flat_map(|s| wanted.lumber.iter().map(move |n| (s, n))) {
            let Some([width, thickness]) = job.lumber[n].section else { continue };
            let (part, key) = (called(base, stick), (n, stick.sawn, shop.edge_squaring));
            if let Some((_, known)) = all.iter_mut().find(|(other, _)| *other == key) {
                known.parts.push(part);
                continue;
            }
            let found = board_yield(Section { width, thickness }, stick.sawn, shop);
            let found = SectionYield {
                lumber: job.lumber[n].name.clone(),
                parts: vec![part],
                sawn: [stick.sawn.width.into(), stick.sawn.thickness.into()],
                across: found.map_or(0, |found| found.across),
                layers: found.map_or(0, |found| found.layers),
                left_over: found.map_or(width, |found| found.left_over).into(),
                sentence: String::new(),
            };
            all.push((key, found));
        }
    }
    all.sort_by_key(|((lumber, ..), _)| *lumber);
    let said = |((n, ..), mut found): ((usize, Section, Length), SectionYield)| {
        found.sentence = sentence(Words { system: job.system }, &job.lumber[n], &found);
        found
    };
    all.into_iter().map(said).collect()
}

/// What the plan calls a stick of a base.
fn called(base: &splay::Base, stick: &splay::Stick) -> String {
    if base.name.is_empty() { stick.name.clone() } else { format!("{} {}", base.name, stick.name) }
}

/// How many sticks a board's section yields, in a sentence.
fn sentence(words: Words, lumber: &Lumber, found: &SectionYield) -> String {
    let size =
        |[width, thickness]: [Length; 2]| format!("{} by {}", words.length(width), words.length(thickness));
    let board = lumber.section.map_or_else(String::new, |section| format!(", {}", size(section)));
    let (sawn, parts) = (size(found.sawn.map(|mm| *mm)), join(&found.parts));
    let layers = match found.layers {
        0 => return format!("A board of {}{board}, yields no stick of {sawn} ({parts}).", lumber.name),
        1 => String::new(),
        layers => format!(", resawn into {layers} layers"),
    };
    format!(
        "A board of {}{board}, yields {} of {sawn} ({parts}): {} side by side{layers}, {} of the width left.",
        lumber.name,
        crate::wording::count(found.across * found.layers, "stick", "sticks"),
        found.across,
        words.length(*found.left_over),
    )
}

/// What those yields allow for, in a sentence.
fn reckoned(job: &Job) -> Vec<String> {
    let words = Words { system: job.system };
    let mut all = Vec::new();
    for base in &job.bases {
        let shop = &base.spec.shop;
        let said = format!(
            "That is with {} taken off to square an edge, a kerf of {} beside each stick, and {} to plane off each of its faces.",
            words.length(shop.edge_squaring),
            words.length(shop.kerf),
            words.length(shop.planing)
        );
        if !all.contains(&said) {
            all.push(said);
        }
    }
    all
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

fn written(job: &Job, asked: &Sticks, answer: &packing::Answer, proven: bool) -> Boards {
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

/// What is left of a board at its end, a kerf behind the last piece.
fn left_over(job: &Job, whole: Length, pieces: &[StickPiece]) -> Length {
    let end = pieces.iter().map(|piece| *piece.x + *piece.length).max().unwrap_or_default();
    whole - end - if end < whole { job.cutting.crosscut_kerf.min(whole - end) } else { Length::ZERO }
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

/// Boards are crosscut into shorter boards, these ripped into lanes, and the lanes crosscut. A whole board may be one of the
/// shorter ones, so that this holds every way of ripping first as well.
fn cutting(rip_kerf: Length, crosscut_kerf: Length) -> packing::Cutting {
    let first = First::Crosscut;
    packing::Cutting { first, stages: 3, rip_kerf, crosscut_kerf, ..packing::Cutting::default() }
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

#[cfg(test)]
mod tests {
    use super::*;

    fn planned(job: &str) -> Result<Option<Boards>, Vec<Fault>> {
        let job = Job::read(job).unwrap();
        let bases = crate::base::bases(&job).unwrap();
        boards(&job, &bases, &Budget::default(), &mut |_| true)
    }

    /// T92: 28 in from 10 ft gives 4, from 12 ft gives 5; with a 1/8 in kerf still 4 (Army course EN0069A, verified; the kerf derived).
    #[test]
    fn plain_lengths_as_published() {
        for (kerf, feet, fit) in [("0", 10, 4), ("0", 12, 5), ("1/8", 10, 4)] {
            let job = format!(
                r#"{{"units":"in","shop":{{"table_saw":{{"kerf":"{kerf} in"}}}},"lumber":[{{"name":"l","length":"{feet} ft","price":10}}],
                    "sticks":[{{"name":"rail","length":28,"count":{fit}}}]}}"#
            );
            let boards = planned(&job).unwrap().unwrap();
            assert_eq!((boards.buy[0].count, boards.stated.proven), (1, true));
            assert_eq!(boards.sticks[0].pieces.len(), fit);
            let one_more = job.replace(&format!("\"count\":{fit}"), &format!("\"count\":{}", fit + 1));
            assert_eq!(planned(&one_more).unwrap().unwrap().buy[0].count, 2);
        }
    }

    const FRAME: &str = r#""bases":[{"name":"frame","count":4,"height":"700 mm","front_lean":6,"side_lean":6,
        "leg":"32 mm","top_spread":"260 mm","rungs":["140 mm"]}]"#;

    /// Beside legs that are ripped from a squared edge, a rail that is cut from the same lumber stays as wide as that is.
    #[test]
    fn plain_lengths_keep_the_width_of_their_board() {
        let boards = planned(&format!(
            r#"{{"lumber":[{{"name":"ash","section":[95,45],"length":2400,"price":"18.50"}}],
                "sticks":[{{"name":"rail","length":"900 mm","count":3}}],{FRAME}}}"#
        ))
        .unwrap()
        .unwrap();
        assert!(boards.stated.lumber[0].edge.is_positive());
        let pieces = || boards.sticks.iter().flat_map(|stick| &stick.pieces);
        let rails: Vec<&StickPiece> = pieces().filter(|piece| piece.part == "rail").collect();
        assert!(!rails.is_empty());
        assert!(rails.iter().all(|p| (*p.y, *p.width) == (Length::ZERO, Length::from_mm(95))), "{rails:?}");
        let words = crate::words::Words { system: stripwright_units::System::Metric };
        let cuts = crate::base::cuts(&boards.sticks, words).join(" ");
        assert!(cuts.contains("× 900 mm (rail)") && !cuts.contains("for 2 × 900"), "{cuts}");
    }

    #[test]
    fn legs_and_rungs_find_their_lanes() {
        let boards = planned(&format!(
            r#"{{"lumber":[{{"name":"ash","section":[95,45],"length":2400,"price":"18.50"}}],{FRAME}}}"#
        ))
        .unwrap()
        .unwrap();
        assert!(boards.stated.proven);
        assert_eq!(boards.money, *boards.stated.bound);
        // Every stick is there, inside its board, clear of the squared edge and of every other by a kerf.
        let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
        for stick in &boards.sticks {
            for (n, piece) in stick.pieces.iter().enumerate() {
                *counts.entry(piece.part.as_str()).or_default() += stick.times * piece.layers;
                assert!(piece.y.0 >= Length::from_mm(5) && piece.y.0 + piece.width.0 <= Length::from_mm(95));
                assert!(piece.x.0 + piece.length.0 <= Length::from_mm(2400));
                for other in &stick.pieces[..n] {
                    let kerf = Length::from_um(3200);
                    let clear = |a: Length, b: Length, c: Length| a + b + kerf <= c;
                    assert!(
                        clear(piece.x.0, piece.length.0, other.x.0)
                            || clear(other.x.0, other.length.0, piece.x.0)
                            || clear(piece.y.0, piece.width.0, other.y.0)
                            || clear(other.y.0, other.width.0, piece.y.0)
                    );
                }
            }
        }
        for (part, count) in
            [("frame leg", 16), ("frame front and back rung 1", 8), ("frame left and right rung 1", 8)]
        {
            assert!(counts[part] >= count, "{counts:?}");
        }
        let boards_bought = f64::from(boards.buy[0].count);
        assert!((boards.stated.cubic_metres - boards_bought * 0.095 * 0.045 * 2.4).abs() < 1e-6);
    }

    /// By hand: of 95 mm the squared edge leaves 90; 35 + 3.2 + 35 fit, three do not, 13.6 mm are left after two kerfs. A rung is
    /// 32 + 20 tan 6 = 34.1 mm broad before its bevel, 37.5 as sawn, and 23 thick: three on edge take 3 x 26.2 of the 90.
    #[test]
    fn a_section_is_told_by_the_sticks_it_yields() {
        let lumber = r#"[{"name":"ash","section":[95,45],"length":2400,"price":"18.50"},
            {"name":"lath","section":[40,37],"length":2400,"price":"3.00"},{"name":"dowel rod","length":1000,"price":2}]"#;
        let found = planned(&format!("{{\"lumber\":{lumber},{FRAME}}}")).unwrap().unwrap().stated;
        let legs = &found.yields[0];
        assert_eq!((legs.across, legs.layers, *legs.left_over), (2, 1, Length::from_um(13_600)));
        assert_eq!(
            legs.sentence,
            "A board of ash, 95 mm by 45 mm, yields 2 sticks of 35 mm by 35 mm (frame leg): 2 side by side, 13.6 mm of the width left."
        );
        let rungs = &found.yields[1];
        assert_eq!((rungs.across, rungs.layers, rungs.parts.len()), (3, 1, 2), "{rungs:?}");
        assert!(found.yields.iter().all(|y| y.lumber != "dowel rod"), "what has no section yields nothing");
        let none =
            found.yields.iter().find(|y| y.lumber == "lath" && y.across == 0).map(|y| y.sentence.as_str());
        // 35 mm of its width are left and 37 of its thickness: 37.5 by 23 goes in neither way.
        assert!(none.is_some_and(|said| said.contains("yields no stick")), "{:?}", found.yields);
        assert_eq!(
            found.reckoned,
            [
                "That is with 5 mm taken off to square an edge, a kerf of 3.2 mm beside each stick, and 1.5 mm to plane off each of its faces."
            ]
        );
    }

    fn whole(job: &str) -> Plan {
        let job = Job::read(job).unwrap();
        let mut options =
            crate::Options { budget: Budget::default(), progress: &mut |_| true, compare_slabs: false };
        crate::plan(&job, &mut options).unwrap()
    }

    /// A plan of bases alone goes through JSON and its audit; what is changed in it afterwards is noticed.
    #[test]
    fn boards_are_audited_from_the_plan_alone() {
        let plan = whole(&format!(
            r#"{{"lumber":[{{"name":"ash","section":[95,45],"length":2400,"price":"18.50"}}],{FRAME}}}"#
        ));
        let text = serde_json::to_string(&plan).unwrap();
        let plan: Plan = serde_json::from_str(&text).unwrap();
        assert_eq!(serde_json::to_string(&plan).unwrap(), text);
        let verdict = crate::audit(&plan).unwrap();
        assert_eq!((verdict.money, verdict.proven), (*plan.buy.total, true));
        assert_eq!(plan.bases[0].legs.cuts.len(), 16);
        assert!(
            plan.steps.iter().any(|s| s.id == "lumber") && plan.steps.iter().any(|s| s.id == "base-1-legs")
        );
        let spoil = |change: &dyn Fn(&mut Plan), words: &str| {
            let mut spoiled = plan.clone();
            change(&mut spoiled);
            let found = crate::audit(&spoiled).expect_err(words);
            assert!(found.iter().any(|o| o.contains(words)), "no `{words}` in {found:#?}");
        };
        spoil(&|p| p.sticks[0].times += 1, "are bought");
        spoil(&|p| p.sticks[0].pieces[0].part.push('x'), "not listed");
        spoil(&|p| p.sticks[0].lumber.push('x'), "does not list");
        spoil(&|p| drop(p.sticks[0].pieces.pop()), "Boards: ");
        spoil(&|p| p.sticks[0].pieces[1].x = p.sticks[0].pieces[0].x, "Boards: ");
        spoil(&|p| p.buy.lumber[0].price = Minor(Money::from_minor(1)), "price or length");
        spoil(&|p| p.boards.as_mut().unwrap().certificate.leaves.clear(), "Boards: ");
        spoil(&|p| p.boards = None, "does not say what for");
        spoil(&|p| p.boards.as_mut().unwrap().proven = false, "its lumber is not");
        spoil(&|p| p.boards.as_mut().unwrap().bound = Minor(Money::from_minor(99_999)), "");
    }

    #[test]
    fn a_base_without_lumber_is_planned_all_the_same() {
        let plan = whole(&format!("{{{FRAME}}}"));
        assert!(plan.boards.is_none() && plan.buy.lumber.is_empty());
        assert_eq!(plan.bases[0].sticks.len(), 3);
        assert!(crate::audit(&plan).is_ok());
    }

    #[test]
    fn lumber_that_is_too_small_is_refused_by_name() {
        let faults = planned(&format!(
            r#"{{"lumber":[{{"name":"lath","section":[30,30],"length":2400,"price":1}}],{FRAME}}}"#
        ))
        .unwrap_err();
        assert!(
            faults[0].text.contains("holds a leg of 35 mm by 35 mm")
                && faults[0].text.contains("the nearest, `lath`, lacks 10 mm of width and 5 mm of thickness"),
            "{}",
            faults[0]
        );
        let short = planned(&format!(
            r#"{{"lumber":[{{"name":"ash","section":[95,45],"length":700,"price":1}}],{FRAME}}}"#
        ));
        let short = short.unwrap_err();
        assert!(
            short[0]
                .text
                .ends_with("the nearest, `ash`, lacks 44.5 mm of length: give lumber that much larger"),
            "{}",
            short[0]
        );
        assert_eq!(planned(&format!("{{{FRAME}}}")), Ok(None));
    }
}
