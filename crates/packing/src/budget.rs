//! How much work a search may do, and what it tells while it does it.

use stripwright_units::Money;

/// How much work a search may do.
///
/// Work is counted, never timed, so that the same job gives the same plan on every machine: one unit is one entry of
/// a knapsack table looked at, or an equal effort in a linear program, and takes about a nanosecond in a release
/// build. The bound of the first leaf and a first plan are always computed, however small the budget.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Budget {
    /// Units of work after which the search ends with the best plan so far; with more than a hundred sizes of piece, as
    /// many times more.
    pub work: u64,
}

impl Default for Budget {
    /// Two and a half thousand million units, some seconds in a release build.
    fn default() -> Self {
        Budget { work: 2_500_000_000 }
    }
}

impl Budget {
    /// What a job of so many sizes may take: of more than a hundred, as many times more, since every step of the search
    /// is so much longer.
    pub(crate) fn of_sizes(&self, sizes: usize) -> Budget {
        let more = (self.work / USUAL_SIZES as u64).saturating_mul(sizes.saturating_sub(USUAL_SIZES) as u64);
        Budget { work: self.work.saturating_add(more) }
    }
}

/// Up to so many sizes a job has the budget as it is.
const USUAL_SIZES: usize = 100;

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
    asked: u64,
    stopped: bool,
    ask: &'a mut dyn FnMut(&Progress) -> bool,
}

/// How many units of work pass between two reports: some hundredths of a second.
const BETWEEN_REPORTS: u64 = 20_000_000;

/// What the last pricing of a proof may cost at least, and after the caller said stop: a second, and a tenth of one.
const PROOF: u64 = 1_000_000_000;
const PROOF_AT_STOP: u64 = 100_000_000;

impl<'a> Search<'a> {
    pub(crate) fn new(budget: &Budget, ask: &'a mut dyn FnMut(&Progress) -> bool) -> Self {
        Search {
            work: 0,
            of: budget.work,
            slice_end: u64::MAX,
            bound: 0,
            money: None,
            asked: 0,
            stopped: false,
            ask,
        }
    }

    /// Begins after so much work of another search, which has found this bound and a plan for this money.
    pub(crate) fn go_on(&mut self, work: u64, bound: i64, money: i64) {
        (self.work, self.asked) = (work, work);
        (self.bound, self.money) = (bound, Some(money));
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
        self.stopped || self.work >= self.of
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
