//! How much work a search may do, and what it tells while it does it.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering::Relaxed};
use std::sync::{Mutex, PoisonError};

use stripwright_units::Money;

use crate::together::Crew;

/// How much work a search may do.
///
/// Work is counted, never timed, so that the same job gives the same plan on every machine: one unit is one entry of
/// a knapsack table looked at, or an equal effort in a linear program, and takes about a nanosecond in a release
/// build. The bound of the first leaf and a first plan are always computed, however small the budget.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Budget {
    /// Units of work after which the search ends with the best plan so far; with more than a hundred sizes of piece more,
    /// by the square of their number up to three hundred.
    pub work: u64,
}

impl Default for Budget {
    /// Two and a half thousand million units, some seconds in a release build.
    fn default() -> Self {
        Budget { work: 2_500_000_000 }
    }
}

impl Budget {
    /// What a job of so many sizes may take: with twice a hundred four times as much, with three times nine times as much,
    /// since it takes more steps of the search, and each is longer. From there on that is kept until a step's own length
    /// asks for more: a plan is something to wait for, not to leave overnight. On a generated job of 300 sizes in two stages three
    /// times as much left a gap of 5 % of the money, six times 2.6 % and nine times 1.6 %, with 7, 11 and 18 s.
    pub(crate) fn of_sizes(&self, sizes: usize) -> Budget {
        let usual = u128::from(USUAL_SIZES);
        let sizes = (sizes as u128).max(usual);
        let more = (sizes * sizes).min(MOST_MORE * usual * usual).max(sizes * usual);
        let work = u128::from(self.work).saturating_mul(more) / (usual * usual);
        Budget { work: u64::try_from(work).unwrap_or(u64::MAX) }
    }
}

/// Up to so many sizes a job has the budget as it is.
const USUAL_SIZES: u32 = 100;

/// How many times as much it may be because steps are more.
const MOST_MORE: u128 = 9;

/// Where a search is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Work done.
    pub work: u64,
    /// Work allowed.
    pub of: u64,
    /// No plan costs less.
    pub bound: Money,
    /// What the best plan so far costs, if there is one yet.
    pub money: Option<Money>,
}

/// The running search: counts work and asks now and then whether to go on.
pub(crate) struct Search<'a> {
    pub(crate) work: u64,
    /// Work allowed.
    pub(crate) of: u64,
    /// Where the slice of work now being done ends.
    pub(crate) slice_end: u64,
    pub(crate) bound: i64,
    pub(crate) money: Option<i64>,
    pub(crate) crew: Crew,
    asked: u64,
    stopped: bool,
    rival: Option<Rival<'a>>,
    ask: &'a mut (dyn FnMut(&Progress) -> bool + Send),
}

/// Where a search stands, for workers to go on from.
#[derive(Clone, Copy)]
struct State {
    work: u64,
    of: u64,
    slice_end: u64,
    bound: i64,
    money: Option<i64>,
    crew: Crew,
    asked: u64,
    stopped: bool,
}

impl State {
    fn search<'b>(
        self,
        rival: Option<Rival<'b>>,
        ask: &'b mut (dyn FnMut(&Progress) -> bool + Send),
    ) -> Search<'b> {
        let State { work, of, slice_end, bound, money, crew, asked, stopped } = self;
        Search { work, of, slice_end, bound, money, crew, asked, stopped, rival, ask }
    }
}

/// Another worker that seeks the same.
#[derive(Clone, Copy)]
struct Rival<'a> {
    /// With how much work it found it.
    found: &'a AtomicU64,
    /// Work done before both began.
    began: u64,
}

impl Rival<'_> {
    /// Whether it found with less work than this.
    fn overtakes(&self, work: u64) -> bool {
        self.found.load(Relaxed) < work - self.began
    }
}

/// How many units of work pass between two reports: some hundredths of a second.
const BETWEEN_REPORTS: u64 = 20_000_000;

/// What the last pricing of a proof may cost at least, and after the caller said stop: a second, and a tenth of one.
const PROOF: u64 = 1_000_000_000;
const PROOF_AT_STOP: u64 = 100_000_000;

impl<'a> Search<'a> {
    pub(crate) fn new(budget: &Budget, ask: &'a mut (dyn FnMut(&Progress) -> bool + Send)) -> Self {
        Search {
            work: 0,
            of: budget.work,
            slice_end: u64::MAX,
            bound: 0,
            money: None,
            crew: Crew::default(),
            asked: 0,
            stopped: false,
            rival: None,
            ask,
        }
    }

    /// What two workers find, each with half of what is left of the slice.
    pub(crate) fn share<T: Send>(
        &mut self,
        one: impl FnOnce(&mut Search) -> T + Send,
        other: impl FnOnce(&mut Search) -> T + Send,
    ) -> [T; 2] {
        let [one, other] = self.halves([None, None], one, other);
        self.work += one.1 + other.1;
        [one.0, other.0]
    }

    /// Likewise, where it is enough that one of them finds something: the one that finds it with less work, the first of
    /// them if they are alike. What the other has done by then is nothing to go by: it ends sooner or later than that.
    pub(crate) fn race<T: Send>(
        &mut self,
        one: impl FnOnce(&mut Search) -> Option<T> + Send,
        other: impl FnOnce(&mut Search) -> Option<T> + Send,
    ) -> Option<(usize, T)> {
        let found = [AtomicU64::new(u64::MAX), AtomicU64::new(u64::MAX)];
        let began = self.work;
        let rival = |at: usize| Some(Rival { found: &found[at], began });
        let noting = |at: usize, result: Option<T>, search: &Search| {
            if result.is_some() {
                found[at].store(search.work - began, Relaxed);
            }
            result
        };
        let [one, other] = self.halves(
            [rival(1), rival(0)],
            |search| {
                let result = one(search);
                noting(0, result, search)
            },
            |search| {
                let result = other(search);
                noting(1, result, search)
            },
        );
        match (one, other) {
            ((None, work), (None, more)) => {
                self.work += work + more;
                None
            }
            ((Some(found), work), (other, more)) if other.is_none() || work <= more => {
                self.work += 2 * work;
                Some((0, found))
            }
            (_, (found, work)) => {
                self.work += 2 * work;
                found.map(|found| (1, found))
            }
        }
    }

    /// What two workers come to, each with what it took. The first reports for both.
    fn halves<T: Send>(
        &mut self,
        rivals: [Option<Rival>; 2],
        one: impl FnOnce(&mut Search) -> T + Send,
        other: impl FnOnce(&mut Search) -> T + Send,
    ) -> [(T, u64); 2] {
        let began = self.work;
        let slice_end = began + self.slice_end.min(self.of).saturating_sub(began).div_ceil(2);
        let stop = AtomicBool::new(self.stopped);
        let [of_one, of_other] = rivals;
        let state = State { slice_end, crew: Crew::default(), ..self.state() };
        let crew = self.crew;
        let mut reports = |progress: &Progress| {
            let go_on = (self.ask)(progress);
            stop.fetch_or(!go_on, Relaxed);
            go_on
        };
        let mut listens = |_: &Progress| !stop.load(Relaxed);
        let mut first = state.search(of_one, &mut reports);
        let mut second = state.search(of_other, &mut listens);
        let (one, other) = crew.both(
            || {
                let result = one(&mut first);
                (result, first.work - began, first.asked)
            },
            || (other(&mut second), second.work - began),
        );
        self.asked = one.2;
        self.stopped = stop.into_inner();
        [(one.0, one.1), other]
    }

    /// Begins after so much work of another search, which has found this bound and a plan for this money.
    pub(crate) fn go_on(&mut self, work: u64, bound: i64, money: i64) {
        (self.work, self.asked) = (work, work);
        (self.bound, self.money) = (bound, Some(money));
    }

    /// What is made of each of these, in their order, at once where there are threads for it, each with all that is left of the
    /// slice and about so much to do. The first reports for all.
    pub(crate) fn each<A: Sync, B: Send>(
        &mut self,
        all: &[A],
        work: u64,
        make: impl Fn(&A, &mut Search) -> B + Send + Sync,
    ) -> Vec<B> {
        let began = self.work;
        let stop = AtomicBool::new(self.stopped);
        let (crew, rival) = (self.crew, self.rival);
        // Those of several work alone.
        let of_each = if all.len() > 1 { Crew::default() } else { crew };
        let state = State { crew: of_each, ..self.state() };
        let reports = Mutex::new(&mut *self.ask);
        let places: Vec<usize> = (0..all.len()).collect();
        let made = crew.each(&places, work, |&at| {
            let mut ask = |progress: &Progress| {
                if at == 0 {
                    let mut reports = reports.lock().unwrap_or_else(PoisonError::into_inner);
                    stop.fetch_or(!reports(progress), Relaxed);
                }
                !stop.load(Relaxed)
            };
            let mut search = state.search(rival, &mut ask);
            let made = make(&all[at], &mut search);
            (made, search.work - began, search.asked)
        });
        self.stopped = stop.into_inner();
        self.asked = made.first().map_or(self.asked, |first| first.2);
        made.into_iter()
            .map(|(made, work, _)| {
                self.work += work;
                made
            })
            .collect()
    }

    fn state(&self) -> State {
        State {
            work: self.work,
            of: self.of,
            slice_end: self.slice_end,
            bound: self.bound,
            money: self.money,
            crew: self.crew,
            asked: self.asked,
            stopped: self.stopped,
        }
    }

    /// Reports if it is time to, and says whether to end: the budget is used up, or the caller said stop.
    pub(crate) fn over(&mut self) -> bool {
        if self.work >= self.asked + BETWEEN_REPORTS {
            self.asked = self.work;
            let progress = Progress {
                work: self.work,
                of: self.of,
                bound: Money::from_minor(self.bound),
                money: self.money.map(Money::from_minor),
            };
            self.stopped |= !(self.ask)(&progress);
        }
        self.stopped || self.work >= self.of || self.rival.is_some_and(|rival| rival.overtakes(self.work))
    }

    /// Whether the slice of work, or all of it, is used up.
    pub(crate) fn slice_over(&mut self) -> bool {
        self.over() || self.work >= self.slice_end
    }

    /// What is left of the budget.
    pub(crate) fn left(&self) -> u64 {
        self.of.saturating_sub(self.work)
    }

    /// Whether the caller said stop.
    pub(crate) fn stopped(&mut self) -> bool {
        self.over();
        self.stopped
    }

    /// How far one pricing may go that a bound is stated with: whatever the budget has left, a bound is worth some work,
    /// and a little even to a caller who said stop.
    pub(crate) fn enough_to_prove(&mut self) -> u64 {
        self.work + if self.stopped() { PROOF_AT_STOP } else { PROOF.max(self.of / 4) }
    }

    /// Whether bound and plan meet.
    pub(crate) fn tight(&self) -> bool {
        self.money.is_some_and(|money| money <= self.bound)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: (200 / 100)² = 4, (300 / 100)² = 9, kept up to 900; 1200 / 100 = 12.
    #[test]
    fn large_jobs_may_take_longer() {
        for (sizes, times) in [(0, 1), (100, 1), (200, 4), (300, 9), (900, 9), (1200, 12)] {
            assert_eq!(Budget { work: 7 }.of_sizes(sizes), Budget { work: 7 * times }, "{sizes} sizes");
        }
        assert_eq!(Budget { work: u64::MAX }.of_sizes(300).work, u64::MAX);
    }
}
