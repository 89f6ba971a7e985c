//! Sheets on which pieces lie in one row only, filled exactly.
//!
//! Lumber is cut across and never ripped: a sheet is then a *stick*, and a layout a set of pieces that is not too long.
//! For such jobs the bound is nearly always right, but where all sticks together are hardly longer than all pieces, few
//! plans meet it. A dive that uses one stick with a little too much waste has lost by then, and finds out only at its
//! end. Here nothing is guessed: every *filling* that a plan within the bound may use is written down, and they are
//! combined in every way until one holds all pieces.
//!
//! **Listing.** At the last prices no filling is worth more than its stick. What one is worth less is a loss to the plan
//! it is used in, and all losses of a plan together are its sticks less those of the fractional plan: its *room*. So only
//! fillings that lose no more than the room of the bound are of use, and where that is small there are some thousands of
//! them, out of millions. They are put together from long pieces to short ones, and knapsacks of the shorter ones tell at
//! each step whether enough can still be gained. Where there are more than [`MOST`] the job is left to the dives, which
//! are good where there is room.
//!
//! **Searching.** A *case* is what is still wanted, the sticks that are left, and the fillings that may be used. Its
//! fractional plan ([`crate::simplex`]) says how many sticks it needs at least. If those are more than are left, no plan
//! is in this case. If they are fewer, the difference is room once more, and fillings that lose more than it are struck
//! out, like those that hold more of a size than is still wanted: the list gets shorter from case to case. Then comes the
//! piece that the fewest fillings hold. One of these is used, so each makes a case of its own, beginning with the one that
//! the fractional plan uses most; those tried before are struck out. The fewest ways first is how exact covers are
//! usually sought (Knuth 2000): it finds out soonest that there is none.
//!
//! The search can be left and gone on with, so it gets a little work before the dives and more after them. If it comes
//! to its end, there is no plan of so many sticks, but for rounding. That is no bound to be stated, since there are no
//! whole numbers to check it by; nothing cheaper is looked for, though.

use crate::budget::Search;
use crate::generate::Seed;
use crate::knapsack::{Knapsack, Sums, floor, reachable};
use crate::normalise::{Job, Lie, View};
use crate::pricing::{End, Pattern, Strip, Table};
use crate::simplex::{Program, Row};

/// What a stick costs in the fractional plan: the size of number that [`Program`]'s tolerances are made for.
const STICK: f64 = 1000.0;

/// What missing one piece costs there: more than any stick.
const MISS: f64 = 20.0 * STICK;

/// By up to this much fillings cost less than a stick there, each by a part of its own. Where hardly any waste is allowed,
/// thousands of fillings are worth just what they cost, and among so many equals the program's steps go in circles. None
/// costs more than a stick, so that no case seems to need more than it does; a hundred seem to be less by a ten-thousandth
/// of one.
const UNEVEN: f64 = 1e-6 * STICK;

/// By this much of a stick a fractional plan, a loss or the worth of a filling may be off by rounding: what is beyond the
/// room by no more than this is kept.
const ROUNDING: f64 = 1e-6;

/// A filling comes into the fractional plan when it is worth this much of a stick more than one: less would change too
/// little to matter, and might be noise.
const GAIN: f64 = 1e-7;

/// How many fillings come into the fractional plan at a time: fewer take more rounds, more make a larger program.
const AT_A_TIME: usize = 50;

/// The longest list that is gone through. The open ones of the published sticks have some hundreds to eleven thousand
/// fillings. Lists of up to 200 000 were tried on generated jobs, where next to all that were longer were longer than that
/// as well.
const MOST: usize = 30_000;

/// The most sums that lengths of pieces may have.
const MOST_SUMS: usize = 1 << 16;

/// The most numbers that the knapsacks of a listing may take, and the lists of all cases from the whole to the last stick,
/// 32 MB each: enough for a hundred sizes on a stick of 20 m in millimetres, and for [`MOST`] fillings on 139 sticks.
const MOST_NUMBERS: usize = 1 << 22;

/// (size, how many), longest first. Sizes are counted here by their length, longest first.
type Filling = Vec<(usize, i64)>;

/// What a job of sticks comes to.
struct Lengths {
    stock: usize,
    view: View,
    /// Whether pieces lie along a strip; otherwise they are strips side by side.
    along: bool,
    capacity: i64,
    /// The shorter way each size may lie, longest first, with its length.
    sizes: Vec<(Lie, i64)>,
}

impl Lengths {
    /// `None` where two pieces may lie abreast, there are several kinds of sheet, or more than two stages.
    fn new(job: &Job, tables: &[Table]) -> Option<Self> {
        if job.sheets.len() != 1 || job.stages != 2 {
            return None;
        }
        tables.iter().find_map(|table| match table.ends.as_slice() {
            [end] if end.whole => Self::of(table, end),
            _ => None,
        })
    }

    fn of(table: &Table, end: &End) -> Option<Self> {
        let along = if table.items.iter().all(|i| 2 * i.v > end.v) {
            true
        } else if table.items.iter().all(|i| 2 * i.u > end.u) {
            false
        } else {
            return None;
        };
        let mut sizes: Vec<(Lie, i64)> =
            table.items.iter().map(|i| (i.lie, if along { i.u } else { i.v })).collect();
        sizes.sort_by_key(|&(lie, length)| (lie.size, length, lie));
        sizes.dedup_by_key(|(lie, _)| lie.size);
        sizes.sort_by_key(|&(lie, length)| (std::cmp::Reverse(length), lie));
        let capacity = if along { end.u } else { end.v };
        Some(Lengths { stock: end.stock, view: table.view, along, capacity, sizes })
    }

    /// A filling as a layout.
    fn layout(&self, filling: &Filling) -> (Pattern, u32) {
        let pieces = filling.iter().map(|&(at, n)| (self.sizes[at].0, n as u32));
        let strips: Vec<Strip> = if self.along {
            let mut strip: Strip = pieces.collect();
            strip.sort_unstable();
            vec![strip]
        } else {
            pieces.flat_map(|(lie, n)| std::iter::repeat_n(vec![(lie, 1)], n as usize)).collect()
        };
        (Pattern { stock: self.stock, view: self.view, panels: vec![strips] }, 1)
    }
}

/// Writes down all fillings that are worth enough.
struct Listing<'a> {
    sizes: &'a [(Lie, i64)],
    wanted: &'a [i64],
    /// Worth of a piece of each size, in sticks.
    worth: &'a [f64],
    /// What a filling must be worth.
    least: f64,
    /// How many may be found.
    most: usize,
    sums: &'a [i64],
    /// What a room of each sum is worth at most, filled with this size and shorter ones.
    best: Vec<Vec<f64>>,
    filling: Filling,
    found: Vec<Filling>,
    work: u64,
}

impl<'a> Listing<'a> {
    /// The knapsacks, from the shortest size to all of them.
    fn new(lengths: &'a Lengths, wanted: &'a [i64], worth: &'a [f64], sums: &'a Sums) -> Self {
        let sizes = &lengths.sizes;
        let mut sack = Knapsack::new(sums);
        let mut best = vec![sack.best.clone()];
        for (at, &(_, length)) in sizes.iter().enumerate().rev() {
            sack.add(at, length, worth[at], wanted[at]);
            best.push(sack.best.clone());
        }
        best.reverse();
        let work = sack.work() + (best.len() * sums.len()) as u64;
        Listing {
            sizes,
            wanted,
            worth,
            least: 0.0,
            most: 0,
            sums,
            best,
            filling: Vec::new(),
            found: Vec::new(),
            work,
        }
    }

    /// What the best filling is worth.
    fn most_worth(&self) -> f64 {
        self.best[0][self.sums.len() - 1]
    }

    /// Goes on with sizes from `from` in the room that is left. False when there are too many.
    fn list(&mut self, from: usize, room: i64, sum: f64) -> bool {
        if sum >= self.least && !self.filling.is_empty() {
            self.found.push(self.filling.clone());
        }
        let fits = floor(self.sums, room);
        self.work += 20;
        for at in from..self.sizes.len() {
            self.work += 2;
            if self.found.len() > self.most || sum + self.best[at][fits] < self.least {
                break;
            }
            let length = self.sizes[at].1;
            for n in (1..=self.wanted[at].min(room / length)).rev() {
                self.filling.push((at, n));
                let whole = self.list(at + 1, room - n * length, sum + n as f64 * self.worth[at]);
                self.filling.pop();
                if !whole {
                    return false;
                }
            }
        }
        self.found.len() <= self.most
    }
}

/// A fractional plan over the listed fillings, kept solved from case to case.
struct Fraction {
    program: Program,
    /// The size of each row.
    sizes: Vec<usize>,
    /// The row of each size.
    row: Vec<usize>,
    /// The column of each filling that has come in.
    columns: Vec<Option<usize>>,
}

impl Fraction {
    /// For what is wanted, with some fillings to begin with.
    fn new(wanted: &[i64], fillings: &[Filling], first: &[usize]) -> Self {
        let sizes: Vec<usize> = (0..wanted.len()).filter(|&at| wanted[at] > 0).collect();
        let mut row = vec![usize::MAX; wanted.len()];
        sizes.iter().enumerate().for_each(|(r, &at)| row[at] = r);
        let rows: Vec<(Row, f64, f64)> =
            sizes.iter().map(|&at| (Row::Wanted, wanted[at] as f64, MISS)).collect();
        let columns = vec![None; fillings.len()];
        let mut fraction = Fraction { program: Program::new(&rows), sizes, row, columns };
        first.iter().for_each(|&filling| fraction.take(filling, fillings));
        fraction
    }

    fn take(&mut self, filling: usize, fillings: &[Filling]) {
        let entries = fillings[filling].iter().map(|&(at, n)| (self.row[at], n as f64)).collect();
        let part = (Seed(filling as u64).bits() >> 11) as f64 / (1u64 << 53) as f64;
        self.columns[filling] = Some(self.program.column(STICK - UNEVEN * part, entries));
    }

    /// How much less than a stick a filling is worth, in sticks.
    fn loss(&self, filling: &Filling) -> f64 {
        let prices = self.program.prices();
        let worth: f64 = filling.iter().map(|&(at, n)| prices[self.row[at]] * n as f64).sum();
        1.0 - worth / STICK
    }

    /// The sticks that a case needs at least; `None` when the program failed or the work is used up. Fillings that have come in stay in even
    /// where they may not be used: at most the case then seems to need less than it does. To bar them by their cost was
    /// tried; it made every step longer and the cases no fewer.
    fn solve(&mut self, case: &Case, fillings: &[Filling], search: &mut Search) -> Option<f64> {
        let right: Vec<f64> = self.sizes.iter().map(|&at| case.wanted[at] as f64).collect();
        self.program.ask(&right);
        loop {
            let before = self.program.work;
            let solved = self.program.solve();
            search.work += (self.program.work - before) / 2;
            if !solved {
                return None;
            }
            let outside = case.usable.iter().copied().filter(|&filling| self.columns[filling].is_none());
            let mut worth: Vec<(f64, usize)> = outside
                .map(|filling| (self.loss(&fillings[filling]), filling))
                .filter(|(loss, _)| *loss < -GAIN)
                .collect();
            search.work += 8 * case.usable.len() as u64;
            if worth.is_empty() {
                return Some(self.program.objective() / STICK);
            }
            worth.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            worth.iter().take(AT_A_TIME).for_each(|&(_, filling)| self.take(filling, fillings));
            if search.slice_over() {
                return None;
            }
        }
    }

    /// How often the plan uses each of these fillings.
    fn amounts(&self, usable: &[usize]) -> Vec<f64> {
        let amounts = self.program.amounts();
        usable.iter().map(|&filling| self.columns[filling].map_or(0.0, |column| amounts[column])).collect()
    }
}

/// What is still to be decided.
struct Case {
    /// Pieces of each size.
    wanted: Vec<i64>,
    sticks: i64,
    /// The fillings that may be used, ascending: none holds more of a size than is wanted.
    usable: Vec<usize>,
    /// Its fractional plan among [`Sticks::fractions`].
    fraction: usize,
}

/// A case that is split by which filling holds a certain piece.
struct Split {
    case: Case,
    /// These fillings, most likely first.
    ways: Vec<usize>,
    /// How many of them were tried.
    tried: usize,
}

impl Split {
    /// The case in which the next way is used, and those before are not.
    fn next(&mut self, fillings: &[Filling]) -> Option<Case> {
        let way = *self.ways.get(self.tried)?;
        if let Some(before) = self.tried.checked_sub(1).map(|before| self.ways[before]) {
            self.case.usable.retain(|&filling| filling != before);
        }
        self.tried += 1;
        let mut wanted = self.case.wanted.clone();
        fillings[way].iter().for_each(|&(at, n)| wanted[at] -= n);
        let proper = |filling: &Filling| filling.iter().all(|&(at, n)| n <= wanted[at]);
        let usable = self.case.usable.iter().copied().filter(|&filling| proper(&fillings[filling])).collect();
        Some(Case { usable, wanted, sticks: self.case.sticks - 1, fraction: self.case.fraction })
    }
}

/// What looking at a case comes to.
enum Outcome {
    /// No plan is in it.
    Nothing,
    /// These fillings hold all that is wanted.
    Plan(Vec<usize>),
    Split(Split),
    /// The fractional plan failed or was not finished: then this case is looked at again.
    Unknown(Case),
}

/// How far the search has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    /// There is more to go through.
    Open,
    /// A plan was found, or a fractional plan failed.
    Ended,
    /// Everything was gone through, and there is no plan of so many sticks.
    Exhausted,
}

/// The search for a plan of so many sticks.
pub(crate) struct Sticks {
    lengths: Lengths,
    fillings: Vec<Filling>,
    /// The longer ones first; each is over fewer sizes than the one before.
    fractions: Vec<Fraction>,
    /// From the whole to what is being looked at.
    splits: Vec<Split>,
    /// The case to be looked at next.
    case: Option<Case>,
    state: State,
}

impl Sticks {
    /// Lists the fillings for a demand at such prices. `None` where pieces may lie abreast, where the list is too long,
    /// and where there are not as many sheets.
    pub(crate) fn new(
        job: &Job,
        tables: &[Table],
        prices: &[f64],
        demand: &[i64],
        search: &mut Search,
    ) -> Option<Self> {
        let lengths = Lengths::new(job, tables)?;
        let sheet = &job.sheets[lengths.stock];
        let sticks = search.bound.checked_div(sheet.price)?;
        if sheet.limit.is_some_and(|limit| limit < sticks) {
            return None;
        }
        let sizes = lengths.sizes.iter().map(|(lie, _)| lie.size);
        let wanted: Vec<i64> = sizes.clone().map(|size| demand[size].max(0)).collect();
        let worth: Vec<f64> = sizes.map(|size| prices[size]).collect();
        if wanted.iter().sum::<i64>() != demand.iter().map(|&n| n.max(0)).sum() {
            return None;
        }
        let fillings = fillings(&lengths, &wanted, &worth, sticks, search)?;
        let usable: Vec<usize> = (0..fillings.len()).collect();
        Some(Sticks {
            fractions: vec![Fraction::new(&wanted, &fillings, &[])],
            case: Some(Case { wanted, sticks, usable, fraction: 0 }),
            lengths,
            fillings,
            splits: Vec::new(),
            state: State::Open,
        })
    }

    /// Whether everything was gone through, without a plan.
    pub(crate) fn exhausted(&self) -> bool {
        self.state == State::Exhausted
    }

    /// Goes on until there is a plan, all has been gone through, or the slice of work is used up.
    pub(crate) fn go_on(&mut self, search: &mut Search) -> Option<Vec<(Pattern, u32)>> {
        while self.state == State::Open && !search.slice_over() {
            let Some(case) = self.case.take().or_else(|| self.next_case(search)) else {
                self.state = State::Exhausted;
                break;
            };
            match self.look_at(case, search) {
                Outcome::Nothing => {}
                Outcome::Split(split) => self.splits.push(split),
                Outcome::Unknown(case) if search.slice_over() => self.case = Some(case),
                Outcome::Unknown(_) => self.state = State::Ended,
                Outcome::Plan(rest) => {
                    self.state = State::Ended;
                    let fixed = self.splits.iter().map(|split| split.ways[split.tried - 1]);
                    return Some(fixed.chain(rest).map(|f| self.lengths.layout(&self.fillings[f])).collect());
                }
            }
        }
        None
    }

    /// The next way of the latest split that has one.
    fn next_case(&mut self, search: &mut Search) -> Option<Case> {
        while let Some(split) = self.splits.last_mut() {
            search.work += 8 * split.case.usable.len() as u64;
            if let Some(case) = split.next(&self.fillings) {
                return Some(case);
            }
            self.splits.pop();
        }
        None
    }

    fn look_at(&mut self, mut case: Case, search: &mut Search) -> Outcome {
        if case.wanted.iter().all(|&n| n == 0) {
            return Outcome::Plan(Vec::new());
        }
        self.fit(&mut case);
        let fraction = &mut self.fractions[case.fraction];
        let Some(needed) = fraction.solve(&case, &self.fillings, search) else {
            return Outcome::Unknown(case);
        };
        let room = case.sticks as f64 - needed;
        if room < -ROUNDING {
            return Outcome::Nothing;
        }
        let amounts = fraction.amounts(&case.usable);
        if let Some(plan) = whole(&case, &amounts, &self.fillings) {
            return Outcome::Plan(plan);
        }
        search.work += 16 * case.usable.len() as u64;
        let losses = case.usable.iter().map(|&filling| fraction.loss(&self.fillings[filling]));
        let useful: Vec<(usize, f64)> = (case.usable.iter().copied().zip(losses).zip(amounts))
            .filter(|((_, loss), _)| *loss <= room + ROUNDING)
            .map(|((filling, loss), amount)| (filling, amount - loss))
            .collect();
        case.usable = useful.iter().map(|u| u.0).collect();
        let Some(piece) = fewest_ways(&case, &self.fillings) else { return Outcome::Nothing };
        let holds = |filling: usize| self.fillings[filling].iter().any(|&(at, _)| at == piece);
        let mut ways: Vec<(usize, f64)> = useful.into_iter().filter(|u| holds(u.0)).collect();
        ways.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        Outcome::Split(Split { case, ways: ways.into_iter().map(|w| w.0).collect(), tried: 0 })
    }

    /// Leaves the fractional plans of cases that are done with, and makes a new one once a third of the sizes are placed:
    /// a step of the program takes as long as the square of its sizes.
    fn fit(&mut self, case: &mut Case) {
        self.fractions.truncate(case.fraction + 1);
        let known = &self.fractions[case.fraction];
        let rows = case.wanted.iter().filter(|&&n| n > 0).count();
        if 3 * rows < 2 * known.sizes.len() {
            let first: Vec<usize> =
                case.usable.iter().copied().filter(|&filling| known.columns[filling].is_some()).collect();
            self.fractions.push(Fraction::new(&case.wanted, &self.fillings, &first));
            case.fraction += 1;
        }
    }
}

/// Every filling that a plan of so many sticks may use, by sizes; `None` where they are too many.
fn fillings(
    lengths: &Lengths,
    wanted: &[i64],
    prices: &[f64],
    sticks: i64,
    search: &mut Search,
) -> Option<Vec<Filling>> {
    let sizes: Vec<(i64, i64)> = lengths.sizes.iter().zip(wanted).map(|(s, &n)| (s.1, n)).collect();
    search.work += sizes.len() as u64 * lengths.capacity.min(MOST_SUMS as i64) as u64;
    let sums = Sums::from(reachable(&sizes, lengths.capacity, MOST_SUMS)?);
    if sums.len() * (sizes.len() + 1) > MOST_NUMBERS {
        return None;
    }
    // Prices may not be the last ones: they are scaled so that the best filling is worth one stick.
    let mut listing = Listing::new(lengths, wanted, prices, &sums);
    let scale = listing.most_worth();
    if scale <= 0.0 {
        return None;
    }
    let fractional: f64 = prices.iter().zip(wanted).map(|(p, &n)| p * n as f64).sum::<f64>() / scale;
    let room = sticks as f64 - fractional;
    listing.most = MOST.min(MOST_NUMBERS / sticks.max(1) as usize);
    listing.least = (1.0 - room - ROUNDING) * scale;
    let all = listing.list(0, lengths.capacity, 0.0);
    search.work += listing.work;
    all.then_some(listing.found)
}

/// The fractional plan as it stands, where it is whole.
fn whole(case: &Case, amounts: &[f64], fillings: &[Filling]) -> Option<Vec<usize>> {
    let times = |amount: f64| amount.round() as usize;
    let plan: Vec<usize> = (case.usable.iter().zip(amounts))
        .flat_map(|(&filling, &amount)| std::iter::repeat_n(filling, times(amount)))
        .collect();
    let mut left = case.wanted.clone();
    plan.iter().flat_map(|&filling| &fillings[filling]).for_each(|&(at, n)| left[at] -= n);
    (plan.len() as i64 <= case.sticks && left.iter().all(|&n| n <= 0)).then_some(plan)
}

/// The size that fewest fillings hold, of those that are wanted; `None` where one is held by none.
fn fewest_ways(case: &Case, fillings: &[Filling]) -> Option<usize> {
    let mut ways = vec![0usize; case.wanted.len()];
    case.usable.iter().flat_map(|&filling| &fillings[filling]).for_each(|&(at, _)| ways[at] += 1);
    let piece = (0..ways.len()).filter(|&at| case.wanted[at] > 0).min_by_key(|&at| ways[at])?;
    (ways[piece] > 0).then_some(piece)
}

#[cfg(test)]
mod tests {
    use stripwright_units::{Length, Money};

    use super::*;
    use crate::budget::{Budget, Progress};
    use crate::problem::{Cutting, First, Piece, Problem, Stock, Trim};

    /// Sticks of this length and 1 wide, the pieces counted one by one.
    fn lumber(capacity: i64, pieces: &[i64], first: First) -> Problem {
        let mm = Length::from_mm;
        let (length, width) = if first == First::Rip { (capacity, 1) } else { (1, capacity) };
        let piece = |&length: &i64| {
            let (length, width) = if first == First::Rip { (length, 1) } else { (1, length) };
            Piece {
                name: format!("{length}"),
                length: mm(length),
                width: mm(width),
                count: 1,
                may_turn: false,
                stocks: vec![0],
            }
        };
        Problem {
            pieces: pieces.iter().map(piece).collect(),
            stocks: vec![Stock {
                name: "stick".into(),
                length: mm(length),
                width: mm(width),
                trim: Trim::default(),
                price: Money::from_minor(5),
                limit: None,
            }],
            cutting: Cutting { first, stages: 2, ..Cutting::default() },
            ..Problem::default()
        }
    }

    /// A plan's sticks, each with the lengths on it.
    type Plan = Vec<Vec<i64>>;

    /// The search at prices by length, which are good prices anywhere, for so many sticks, in slices of so much work.
    /// Whether it came to an end without a plan, or the plan; `None` where it has no part in the job.
    fn sought(problem: &Problem, sticks: i64, slice: u64) -> Option<Result<Plan, bool>> {
        let job = Job::new(problem).unwrap();
        let tables = crate::pricing::tables(&job).unwrap();
        let length = |size: usize| job.sizes[size].length.max(job.sizes[size].width);
        let stick = job.sheets[0].length.max(job.sheets[0].width);
        let prices: Vec<f64> =
            (0..job.sizes.len()).map(|size| 1000.0 * length(size) as f64 / stick as f64).collect();
        let demand: Vec<i64> = job.sizes.iter().map(|size| size.count).collect();
        let mut ask = |_: &Progress| true;
        let mut search = Search::new(&Budget { work: 1_000_000_000 }, &mut ask);
        search.bound = 5 * sticks;
        let mut found = Sticks::new(&job, &tables, &prices, &demand, &mut search)?;
        while found.state == State::Open && !search.over() {
            search.slice_end = search.work.saturating_add(slice);
            if let Some(layouts) = found.go_on(&mut search) {
                let mut left = demand.clone();
                layouts.iter().flat_map(|l| l.0.counts()).for_each(|(size, n)| left[size] -= n);
                assert!(left.iter().all(|&n| n <= 0), "not all pieces are in {layouts:?}");
                let mm = |size: usize| length(size) / 1_000_000;
                let held = |layout: &Pattern| {
                    layout.counts().iter().flat_map(|&(s, n)| vec![mm(s); n as usize]).collect()
                };
                return Some(Ok(layouts.iter().map(|l| held(&l.0)).collect()));
            }
        }
        Some(Err(found.exhausted()))
    }

    /// The fewest sticks, by trying every stick for every piece.
    fn fewest(capacity: i64, pieces: &[i64], sticks: &mut Vec<i64>, best: usize) -> usize {
        let Some((&piece, rest)) = pieces.split_first() else { return best.min(sticks.len()) };
        if sticks.len() >= best {
            return best;
        }
        let mut best = best;
        for at in 0..sticks.len() {
            if sticks[at] + piece <= capacity {
                sticks[at] += piece;
                best = fewest(capacity, rest, sticks, best);
                sticks[at] -= piece;
            }
        }
        sticks.push(piece);
        best = fewest(capacity, rest, sticks, best);
        sticks.pop();
        best
    }

    /// Full sticks cut into three: no plan has any waste, and the pieces do not say which belong together.
    fn full(draw: &mut Seed, sticks: i64) -> Vec<i64> {
        let stick = |_| {
            let a = draw.between(380, 490);
            let b = draw.between(250, (1000 - a) / 2);
            [a, b, 1000 - a - b]
        };
        (0..sticks).flat_map(stick).collect()
    }

    #[test]
    fn what_was_cut_from_full_sticks_is_put_back() {
        for seed in 0..8 {
            let pieces = full(&mut Seed(seed), 20);
            for first in [First::Rip, First::Crosscut] {
                let plan = sought(&lumber(1000, &pieces, first), 20, u64::MAX).unwrap().unwrap();
                assert_eq!(plan.len(), 20, "seed {seed}");
                assert!(plan.iter().all(|stick| stick.iter().sum::<i64>() == 1000), "seed {seed}: {plan:?}");
            }
        }
    }

    /// Both ways: the fewest are found, and one less is gone through to its end.
    #[test]
    fn the_fewest_sticks_are_those_of_brute_force() {
        let mut slack = 0;
        for seed in 0..300 {
            let mut draw = Seed(seed);
            let count = draw.between(4, 9);
            let pieces: Vec<i64> = (0..count).map(|_| draw.between(5, 22)).collect();
            let best = fewest(30, &pieces, &mut Vec::new(), pieces.len()) as i64;
            let first = [First::Rip, First::Crosscut, First::Either][seed as usize % 3];
            let problem = lumber(30, &pieces, first);
            let plan = sought(&problem, best, u64::MAX).unwrap().unwrap();
            assert!(plan.len() as i64 <= best, "seed {seed}");
            assert!(plan.iter().all(|stick| stick.iter().sum::<i64>() <= 30), "seed {seed}: {plan:?}");
            assert_eq!(sought(&problem, best - 1, u64::MAX), Some(Err(true)), "seed {seed}");
            slack += i64::from((best - 1) * 30 >= pieces.iter().sum());
        }
        assert!(slack > 30, "all but {slack} are told by their lengths alone");
    }

    /// Left and gone on with, it comes to the same.
    #[test]
    fn slices_change_nothing() {
        let problem = lumber(1000, &full(&mut Seed(3), 20), First::Rip);
        assert_eq!(sought(&problem, 20, 1), sought(&problem, 20, u64::MAX));
    }

    /// With room for anything there are too many fillings; that is found out long before they are all listed.
    #[test]
    fn jobs_with_room_are_left_alone() {
        let pieces: Vec<i64> = (0..80).map(|at| 100 + at).collect();
        let problem = lumber(1000, &pieces, First::Rip);
        assert_eq!(sought(&problem, 13, u64::MAX), None);
        let job = Job::new(&problem).unwrap();
        let lengths = Lengths::new(&job, &crate::pricing::tables(&job).unwrap()).unwrap();
        let mut ask = |_: &Progress| true;
        let mut search = Search::new(&Budget::default(), &mut ask);
        assert!(fillings(&lengths, &[1; 80], &[10.0; 80], 13, &mut search).is_none());
        assert!(search.work < 5_000_000, "{}", search.work);
    }

    #[test]
    fn two_abreast_are_no_sticks() {
        let mut problem = lumber(1000, &[500, 400, 300], First::Rip);
        assert!(sought(&problem, 2, u64::MAX).is_some());
        problem.stocks[0].width = Length::from_mm(2);
        assert!(sought(&problem, 2, u64::MAX).is_none());
    }

    /// A piece that may turn is one piece, and lies the shorter way.
    #[test]
    fn turned_pieces_lie_the_shorter_way() {
        let mut problem = lumber(100, &[], First::Rip);
        let mm = Length::from_mm;
        problem.stocks[0].width = mm(40);
        let piece = |may_turn: bool| Piece {
            name: String::new(),
            length: mm(38),
            width: mm(25),
            count: 4,
            may_turn,
            stocks: vec![0],
        };
        problem.pieces = vec![piece(true)];
        let turned = sought(&problem, 1, u64::MAX).unwrap().unwrap();
        assert_eq!(turned.len(), 1);
        problem.pieces = vec![piece(false)];
        assert_eq!(sought(&problem, 1, u64::MAX), Some(Err(true)));
    }
}
