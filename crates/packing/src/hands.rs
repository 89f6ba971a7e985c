//! Two workers that seek plans side by side, with three stages; with two, where a dive is short and learns from the one
//! before, the first of them works alone.
//!
//! Each has its own layouts and its own chance, so that what it does depends on nothing that the other does meanwhile.
//! Between two searches each learns what the other has found. Where one finds a plan for a purchase the other, which may
//! have come to any point by then, goes back to where both began.

use crate::budget::Search;
use crate::generate::Seed;
use crate::master::{Column, scaled_costs};
use crate::normalise::Job;
use crate::pricing::Pattern;
use crate::repack::Repack;
use crate::residual::{Residual, Style};
use crate::solve::A_TRY;
use crate::whole::{Goal, Whole};

/// Layouts with how many sheets are cut so.
pub(crate) type Layouts = Vec<(Pattern, u32)>;

/// Pricing rounds after each fixing of a dive over strips. One brings the strips that the fixing calls for; each further one
/// costs time that another dive could use. Two, four and eight were tried on a few jobs, without a clear winner.
pub(crate) const ROUNDS: usize = 3;

/// Several kinds of sheet, or three stages: how many times the work of a dive goes, at most, to filling again what it left,
/// before the next dive. Where sheets hold a few pieces each, a dive is short and all that filling again could find is soon
/// found. Ten times proved 9 of 104 hard shop jobs, forty times 9 and 11 by two draws of chance: hardly more than luck makes.
const AFTER_DIVE: u64 = 40;

/// Work that the first worker does alone before both race: with less, sharing it out is not worth it.
const A_LOOK: u64 = 5_000_000;

/// A purchase that a plan is sought for.
#[derive(Clone, Copy)]
pub(crate) struct Wanted<'p> {
    pub(crate) demand: &'p [i64],
    pub(crate) have: &'p [i64],
    /// Whether one of the two dives over strips.
    pub(crate) by_strips: bool,
    /// Whether every second dive looks for the least money.
    pub(crate) by_money: bool,
    /// Whether filling again ends soon after a dive.
    pub(crate) dives_again: bool,
}

/// A worker.
pub(crate) struct Hand<'j> {
    pub(crate) repack: Repack<'j>,
    pub(crate) whole: Whole,
    /// Dives so far.
    dives: u64,
}

/// Where a worker began.
struct Began {
    draw: Seed,
    dives: u64,
    mark: usize,
}

impl Hand<'_> {
    fn began(&self) -> Began {
        Began { draw: self.repack.draw.clone(), dives: self.dives, mark: self.whole.mark() }
    }

    fn go_back(&mut self, began: Began) {
        (self.repack.draw, self.dives) = (began.draw, began.dives);
        self.whole.go_back(began.mark);
    }

    /// Dives, each varied in its own way, until one fits or the slice of work is used up.
    fn seek(&mut self, wanted: Wanted, search: &mut Search) -> Option<Layouts> {
        while !search.slice_over() {
            let found = self.dive(wanted, search);
            if found.is_some() {
                return found;
            }
        }
        None
    }

    /// One dive over sheets. What found no place may find one when sheets are filled again, a few at a time.
    fn dive(&mut self, wanted: Wanted, search: &mut Search) -> Option<Layouts> {
        let Wanted { demand, have, .. } = wanted;
        search.work += A_TRY;
        self.dives += 1;
        let before = search.work;
        let by_money = wanted.by_money && self.dives % 2 == 1;
        let goal = if by_money { Goal::Money(f64::INFINITY) } else { Goal::Purchase };
        let (placed, left) = self.whole.dive(&mut self.repack, demand, have, 0.3, goal, search);
        if left.iter().all(|&n| n <= 0) {
            return Some(placed);
        }
        let dived = search.work - before;
        let end = search.slice_end;
        let most = if wanted.dives_again { dived * AFTER_DIVE } else { u64::MAX };
        let half = end.saturating_sub(search.work) / 2;
        search.slice_end = end.min(search.work + half.min(most));
        let layouts = self.repack.within(&placed, demand, have, search);
        search.slice_end = end;
        layouts
    }
}

/// Dives over strips.
struct Strips<'a> {
    residual: Residual<'a>,
    /// Dives so far.
    dives: u64,
}

impl Strips<'_> {
    /// One dive, varied in its own way.
    fn dive(&mut self, wanted: Wanted, search: &mut Search) -> Option<Layouts> {
        search.work += A_TRY;
        self.dives += 1;
        let seed = 2 * self.dives - 1;
        let style = Style { seed, noise: 0.1 * (seed % 5) as f64, rounds: ROUNDS, jumps: 20 };
        self.residual.dive(wanted.demand, wanted.have, style, search)
    }
}

/// The workers.
pub(crate) struct Hands<'a, 'j> {
    pub(crate) first: Hand<'j>,
    second: Hand<'j>,
    strips: Strips<'a>,
}

impl<'a, 'j> Hands<'a, 'j> {
    pub(crate) fn new(job: &Job, repack: Repack<'j>, residual: Residual<'a>) -> Self {
        let hand = |repack: Repack<'j>| Hand {
            repack,
            whole: Whole::new(job.sizes.len(), scaled_costs(job)),
            dives: 0,
        };
        let mut other = repack.clone();
        other.draw = Seed(2);
        Hands { first: hand(repack), second: hand(other), strips: Strips { residual, dives: 0 } }
    }

    /// Both learn a layout known from elsewhere.
    pub(crate) fn take(&mut self, column: &Column) {
        for Hand { repack, whole, .. } in [&mut self.first, &mut self.second] {
            whole.take(column, repack);
        }
    }

    /// Dives so far, all together.
    pub(crate) fn dives(&self) -> u64 {
        self.strips.dives + self.first.dives + self.second.dives
    }

    /// One dive over strips, not varied.
    pub(crate) fn dive_over_strips(
        &mut self,
        demand: &[i64],
        have: &[i64],
        search: &mut Search,
    ) -> Option<Layouts> {
        let style = Style { seed: 0, noise: 0.0, rounds: ROUNDS, jumps: 0 };
        self.strips.residual.dive(demand, have, style, search)
    }

    /// Seeks a plan for a purchase until the slice of work is used up.
    pub(crate) fn seek(&mut self, wanted: Wanted, search: &mut Search) -> Option<Layouts> {
        self.first.whole.tidy();
        let race = self.first.repack.panelled() && !wanted.by_strips;
        let found = self.alone(wanted, if race { A_LOOK } else { u64::MAX }, search);
        if found.is_some() || search.slice_over() {
            return found;
        }
        let Hands { first, second, .. } = self;
        let (began, of_second) = (first.began(), second.began());
        let marks = [began.mark, of_second.mark];
        let found = search.race(|search| first.seek(wanted, search), |search| second.seek(wanted, search));
        match found {
            Some((0, _)) => second.go_back(of_second),
            Some(_) => first.go_back(began),
            None => {}
        }
        self.exchange(marks);
        found.map(|(_, layouts)| layouts)
    }

    /// The first worker, for so much work at most.
    fn alone(&mut self, wanted: Wanted, work: u64, search: &mut Search) -> Option<Layouts> {
        let end = search.slice_end;
        search.slice_end = end.min(search.work.saturating_add(work));
        let mut found = None;
        let mut by_strips = wanted.by_strips;
        while found.is_none() && !search.slice_over() {
            found =
                if by_strips { self.strips.dive(wanted, search) } else { self.first.dive(wanted, search) };
            by_strips = wanted.by_strips && !by_strips;
        }
        search.slice_end = end;
        found
    }

    /// Betters a plan a few sheets at a time until the slice of work is used up. Returns it if it got cheaper.
    pub(crate) fn better(
        &mut self,
        plan: &Layouts,
        demand: &[i64],
        have: &[i64],
        step: f64,
        search: &mut Search,
    ) -> Option<Layouts> {
        self.first.whole.tidy();
        if !self.first.repack.panelled() {
            let Hand { repack, whole, .. } = &mut self.first;
            return whole.better(repack, plan, demand, have, step, search);
        }
        let marks = [self.first.whole.mark(), self.second.whole.mark()];
        let better = |hand: &mut Hand, search: &mut Search| {
            hand.whole.better(&mut hand.repack, plan, demand, have, step, search)
        };
        let Hands { first, second, .. } = self;
        let found = search.share(|search| better(first, search), |search| better(second, search));
        self.exchange(marks);
        let money = |layouts: &Layouts| self.first.whole.money(layouts);
        found.into_iter().flatten().min_by(|a, b| money(a).total_cmp(&money(b)))
    }

    /// Each learns what the other has learned since a mark.
    fn exchange(&mut self, marks: [usize; 2]) {
        let Hands { first, second, .. } = self;
        let (of_first, of_second) = (first.whole.mark(), second.whole.mark());
        first.whole.follow(&second.whole, marks[1]..of_second);
        second.whole.follow(&first.whole, marks[0]..of_first);
        second.whole.tidy();
    }
}
