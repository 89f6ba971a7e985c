//! How much room a purchase leaves, and which purchase is most worth a try.
//!
//! The *room* of a purchase is the part by which a fractional plan could cut more of everything from it than is wanted.
//! Whether whole layouts are found for a purchase depends on little else: with hardly any room they almost never are,
//! unless sheets hold but a few pieces each, and with some hundredths nearly always. So the purchases that cost less than
//! the best plan are weighed against each other by what they save, by their room and by the work that went into them in
//! vain.
//!
//! Room is had from a program over the layouts known, one solution a purchase. Its prices say what a sheet of each kind
//! adds at most, by layouts known, to any purchase; no purchase has more room than its sheets add together. Kinds of
//! sheet are few and these sums quick, so that the programs of some dozens of purchases tell thousands apart.

use std::collections::BTreeMap;

use crate::budget::Search;
use crate::columns::Pool;
use crate::multiple::Multiple;
use crate::normalise::Job;
use crate::solve::MANY;

/// With so much room every second try finds a plan.
const LIKELY: f64 = 0.01;

/// Less room than this is hardly any: on 52 generated shop jobs none of 194 short tries of purchases with less found a plan, for
/// more than half of the work of all tries; of those with up to 0.007 three of 86 did. Long tries find some, so that these
/// purchases are tried when there is nothing else left to try.
const CRAMPED: f64 = 0.005;

/// Less room than this is none: rounding of the program.
const NONE: f64 = -1e-6;

/// A purchase into which so much went in vain is not tried again. With 400 million units of work 20 of those 52 jobs were
/// proven, with this 23. Of 60 plans found for purchases, in two stages, none took more than 40 dives.
const ENOUGH: Spent = Spent { work: 1_000_000_000, dives: 100 };

/// How many purchases are weighed at most. With four kinds of sheet and a bound a twentieth below the best plan there may be
/// more between; then only the dearest of them are, which have most room.
const MOST: usize = 20_000;

/// Work for looking at a purchase once.
const A_LOOK: u64 = 10;

/// A purchase that may be tried.
#[derive(Clone, Debug)]
pub(crate) struct Ample {
    pub(crate) have: Vec<i64>,
    money: i64,
    /// No more than this; just this where it is exact.
    room: f64,
    exact: bool,
    /// What went into trying it in vain.
    pub(crate) spent: Spent,
}

/// What went into trying a purchase in vain.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Spent {
    pub(crate) work: u64,
    pub(crate) dives: u64,
}

impl Spent {
    /// Whether another try would hardly find what those before have not.
    fn enough(self) -> bool {
        self.work >= ENOUGH.work || self.dives >= ENOUGH.dives
    }
}

/// From where to where purchases may cost, the latter not included.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Span {
    pub(crate) least: i64,
    pub(crate) below: i64,
}

/// The purchases that may be tried.
pub(crate) struct Headroom<'a> {
    job: &'a Job,
    /// The kinds of sheet that are bought, the dearest first.
    kinds: Vec<usize>,
    multiple: Multiple,
    /// By program solved: what a sheet of each kind adds to how many times all that is wanted could be cut.
    adds: Vec<Vec<f64>>,
    listed: Vec<Ample>,
    /// What went into trying purchases in vain.
    spent: BTreeMap<Vec<i64>, Spent>,
}

impl<'a> Headroom<'a> {
    /// Without any layouts.
    pub(crate) fn new(job: &'a Job) -> Self {
        let mut kinds = job.priced();
        kinds.sort_by_key(|&kind| (-job.sheets[kind].price, kind));
        let (adds, listed) = (Vec::new(), Vec::new());
        Headroom { job, kinds, multiple: Multiple::new(job), adds, listed, spent: BTreeMap::new() }
    }

    /// Learns the layouts that it does not know yet, and if there are any lists the purchases anew.
    pub(crate) fn learn(&mut self, pool: &Pool, span: Span, search: &mut Search) {
        if !self.multiple.learn(pool) {
            return;
        }
        self.adds.clear();
        self.list(span, search);
    }

    /// The purchase that is most worth a try of so much work, unless none is.
    ///
    /// What a try is worth is what it saves, by how likely it is to find a plan: with twice the room far more than twice
    /// as likely, while there is little. With every try in vain the next one takes longer and is worth less.
    pub(crate) fn choose(&mut self, span: Span, work: u64, search: &mut Search) -> Option<Ample> {
        self.listed.retain(|ample| ample.money < span.below);
        let worth = |ample: &Ample| {
            let odds = ample.room / (ample.room + LIKELY);
            odds * odds * (span.below - ample.money) as f64 / (work + ample.spent.work) as f64
        };
        loop {
            search.work += A_LOOK * self.listed.len() as u64;
            let worthy = |&at: &usize| self.listed[at].room > CRAMPED && !self.listed[at].spent.enough();
            let by_worth = |a: &usize, b: &usize| worth(&self.listed[*a]).total_cmp(&worth(&self.listed[*b]));
            // Of those worth the same the first, which is the cheapest.
            let best = (0..self.listed.len()).rev().filter(worthy).max_by(by_worth)?;
            if self.listed[best].exact {
                return Some(self.listed[best].clone());
            }
            self.look_closer(best, search);
        }
    }

    /// Of the purchases with hardly any room that into which least work went, of these the cheapest.
    pub(crate) fn cramped(&mut self, span: Span, search: &mut Search) -> Option<Ample> {
        self.listed.retain(|ample| ample.money < span.below && ample.room > NONE);
        loop {
            search.work += A_LOOK * self.listed.len() as u64;
            let cramped = |&at: &usize| {
                let Ample { room, spent, .. } = self.listed[at];
                room > NONE && room <= CRAMPED && !spent.enough()
            };
            let next = (0..self.listed.len()).filter(cramped).min_by_key(|&at| self.listed[at].spent.work)?;
            if self.listed[next].exact {
                return Some(self.listed[next].clone());
            }
            self.look_closer(next, search);
        }
    }

    /// Notes what went into trying a purchase in vain.
    pub(crate) fn spend(&mut self, have: &[i64], more: Spent) {
        let spent = self.spent.entry(have.to_vec()).or_default();
        spent.work += more.work;
        spent.dives += more.dives;
        self.listed.iter_mut().filter(|ample| ample.have == have).for_each(|ample| ample.spent = *spent);
    }

    /// Finds out how much room a listed purchase has: no more than the programs solved since it was listed tell, or else
    /// from a program of its own.
    fn look_closer(&mut self, at: usize, search: &mut Search) {
        let have = self.listed[at].have.clone();
        let most = self.room_at_most(&have);
        let exact = most >= self.listed[at].room;
        let room = if exact { self.room(&have, search).unwrap_or(-1.0) } else { most };
        (self.listed[at].room, self.listed[at].exact) = (room, exact);
    }

    /// The room of a purchase; below zero where there are too few sheets. None where not even a part of each piece can be
    /// cut, or the program failed.
    fn room(&mut self, have: &[i64], search: &mut Search) -> Option<f64> {
        let holds = self.multiple.of(have, &mut search.work)?;
        self.adds.push(holds.prices.upper);
        Some(holds.times - 1.0)
    }

    /// The purchase has no more room than this, by the programs solved so far.
    fn room_at_most(&self, have: &[i64]) -> f64 {
        self.adds.iter().map(|adds| times(have, adds)).fold(f64::INFINITY, f64::min) - 1.0
    }

    /// Lists all purchases of the span that may have room, or the dearest of them.
    fn list(&mut self, mut span: Span, search: &mut Search) {
        self.listed.clear();
        let job = self.job;
        let mut have: Vec<i64> = job.sheets.iter().map(|s| s.limit.unwrap_or(MANY)).collect();
        let mut plenty = have.clone();
        self.kinds
            .iter()
            .for_each(|&kind| plenty[kind] = plenty[kind].min(span.below / job.sheets[kind].price));
        if self.room(&plenty, search).is_none() {
            return;
        }
        self.kinds.iter().for_each(|&kind| have[kind] = 0);
        loop {
            self.gather(0, &mut have, 0, span);
            search.work += A_LOOK * self.listed.len() as u64;
            if self.listed.len() < MOST {
                break;
            }
            self.listed.clear();
            span.least += (span.below - span.least + 1) / 2;
        }
        self.listed.sort_by(|a, b| (a.money, &a.have).cmp(&(b.money, &b.have)));
    }

    /// Lists all purchases of the span that may have room, with so many sheets already bought for so much money, and what
    /// is bought of the kinds from one on.
    fn gather(&mut self, from: usize, have: &mut Vec<i64>, money: i64, span: Span) {
        let Some(&kind) = self.kinds.get(from) else {
            let room = self.room_at_most(have);
            if room > NONE {
                let spent = self.spent.get(have).copied().unwrap_or_default();
                self.listed.push(Ample { have: have.clone(), money, room, exact: false, spent });
            }
            return;
        };
        let sheet = &self.job.sheets[kind];
        let most = ((span.below - 1 - money) / sheet.price).min(sheet.limit.unwrap_or(MANY));
        // Of the last kind at least what brings the money into the span.
        let last = from + 1 == self.kinds.len();
        let least = if last { ((span.least - money).max(0) + sheet.price - 1) / sheet.price } else { 0 };
        for n in least..=most {
            have[kind] = n;
            let money = money + n * sheet.price;
            if self.listed.len() < MOST && self.promising(from + 1, have, span.below - money) {
                self.gather(from + 1, have, money, span);
            }
        }
        have[kind] = 0;
    }

    /// Whether what is bought may come to have room with so much more money for the kinds from one on.
    fn promising(&self, from: usize, have: &[i64], money: i64) -> bool {
        self.adds.iter().all(|adds| {
            let rate = |&kind: &usize| adds[kind] / self.job.sheets[kind].price as f64;
            let best = self.kinds[from..].iter().map(rate).fold(0.0, f64::max);
            times(have, adds) + money as f64 * best > 1.0 + NONE
        })
    }
}

/// What sheets add together.
fn times(have: &[i64], adds: &[f64]) -> f64 {
    have.iter().zip(adds).map(|(&n, add)| n as f64 * add).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Problem;
    use crate::budget::{Budget, Progress};
    use crate::generate::{Wish, shop_job};
    use stripwright_units::{Length, Money};

    /// Ten pieces; two come from a long sheet for 100, one from a short one for 60.
    fn ten() -> Problem {
        let mm = Length::from_mm;
        let stock = |length: i64, price: i64| crate::Stock {
            name: format!("{length}"),
            length: mm(length),
            width: mm(300),
            trim: crate::Trim::default(),
            price: Money::from_minor(price),
            limit: None,
        };
        let piece = crate::Piece {
            name: "piece".into(),
            length: mm(500),
            width: mm(300),
            count: 10,
            may_turn: false,
            stocks: vec![0, 1],
        };
        Problem { pieces: vec![piece], stocks: vec![stock(1000, 100), stock(500, 60)], ..Problem::default() }
    }

    /// Plain grids of each size.
    fn pool(job: &Job) -> Pool {
        let mut pool = Pool::default();
        crate::columns::grids(job).into_iter().for_each(|column| {
            pool.take(column);
        });
        pool
    }

    /// What is tried first within a span, each purchase once, and with how much room.
    fn order(problem: &Problem, span: Span) -> Vec<(Vec<i64>, f64)> {
        let job = Job::new(problem).unwrap();
        let mut ask = |_: &Progress| true;
        let mut search = Search::new(&Budget::default(), &mut ask);
        let mut headroom = Headroom::new(&job);
        headroom.learn(&pool(&job), span, &mut search);
        let mut order = Vec::new();
        while let Some(ample) = headroom.choose(span, 1, &mut search) {
            headroom.spend(&ample.have, ENOUGH);
            order.push((ample.have, ample.room));
        }
        order
    }

    #[test]
    fn the_room_of_a_purchase_is_what_more_could_be_cut() {
        let found = order(&ten(), Span { least: 500, below: 621 });
        let room = |have: [i64; 2]| found.iter().find(|f| f.0 == have).map(|f| (f.1 * 1e6).round() / 1e6);
        assert_eq!(room([6, 0]), Some(0.2));
        assert_eq!(room([5, 1]), Some(0.1));
        assert_eq!(room([4, 3]), Some(0.1));
        // Ten and no more, and nine.
        assert_eq!((room([5, 0]), room([4, 2]), room([3, 3])), (None, None, None));
        assert_eq!(found.len(), 6, "also 3 and 5, 5 and 2, 2 and 7: {found:?}");
    }

    /// Of equal room the cheaper, for equal money the roomier; what was tried enough never again.
    #[test]
    fn what_saves_most_and_has_most_room_is_tried_first() {
        let found = order(&ten(), Span { least: 500, below: 621 });
        let place = |have: [i64; 2]| found.iter().position(|f| f.0 == have).unwrap();
        assert!(place([5, 1]) < place([4, 3]));
        assert_eq!(order(&ten(), Span { least: 500, below: 561 }).len(), 1);
    }

    /// What sums alone list leaves out no purchase that has room by a program of its own.
    #[test]
    fn every_purchase_with_room_is_listed() {
        let mut seen = 0;
        for seed in 0..6 {
            let problem = shop_job(seed, Wish { sizes: Some(3), kinds: Some(3), stages: Some(2) });
            let job = Job::new(&problem).unwrap();
            let mut ask = |_: &Progress| true;
            let mut search = Search::new(&Budget::default(), &mut ask);
            let mut headroom = Headroom::new(&job);
            headroom.learn(&pool(&job), Span { least: 0, below: 0 }, &mut search);
            let offcuts: Vec<i64> = job.sheets[3..].iter().map(|s| s.limit.unwrap()).collect();
            let with_offcuts = |bought: [i64; 3]| [&bought[..], &offcuts[..]].concat();
            // About what ample sheets of the first kind, which has no limit, come to.
            let mut ample = |&n: &i64| headroom.room(&with_offcuts([n, 0, 0]), &mut search) > Some(0.02);
            let below = (1..).find(&mut ample).unwrap() * job.sheets[0].price;
            let span = Span { least: below - below / 20, below: below + below / 10 };
            let most = |kind: usize| {
                (span.below / job.sheets[kind].price).min(job.sheets[kind].limit.unwrap_or(MANY))
            };
            let mut roomy = Vec::new();
            for n in 0..(most(0) + 1) * (most(1) + 1) * (most(2) + 1) {
                let (a, rest) = (n % (most(0) + 1), n / (most(0) + 1));
                let bought = [a, rest % (most(1) + 1), rest / (most(1) + 1)];
                let money = bought.iter().zip(&job.sheets).map(|(n, sheet)| n * sheet.price).sum();
                let have = with_offcuts(bought);
                if (span.least..span.below).contains(&money) && headroom.room(&have, &mut search) > Some(NONE)
                {
                    roomy.push(have);
                }
            }
            roomy.sort();
            headroom.adds.clear();
            headroom.list(span, &mut search);
            for at in 0..headroom.listed.len() {
                while !headroom.listed[at].exact {
                    headroom.look_closer(at, &mut search);
                }
            }
            headroom.listed.retain(|ample| ample.room > NONE);
            let mut listed: Vec<Vec<i64>> = headroom.listed.iter().map(|ample| ample.have.clone()).collect();
            listed.sort();
            assert_eq!(listed, roomy, "seed {seed}");
            seen += roomy.len();
        }
        assert!(seen > 30, "{seen}");
    }
}
