//! From a problem to an answer.

use stripwright_units::Money;

use crate::answer::Answer;
use crate::budget::{Budget, Progress, Search};
use crate::certificate::Certificate;
use crate::columns::{self, Generated, Pool};
use crate::dive;
use crate::hands::{Hands, Layouts, Wanted};
use crate::headroom::{Ample, Headroom, Span, Spent};
use crate::master::{Column, DEAREST, Prices};
use crate::normalise::{self, Job};
use crate::parts::{self, Part};
use crate::plan::Plan;
use crate::pricing;
use crate::problem::{First, Problem};
use crate::purchase::{Candidate, Purchases};
use crate::refusal::Refusal;
use crate::refute::{Refuter, Verdict};
use crate::repack::Repack;
use crate::residual::Residual;
use crate::sticks::Sticks;
use crate::together::{Crew, with_crew};
use crate::whole::Goal;

/// Work for the first try of each purchase, doubled with every round of tries: a dive over whole
/// sheets through a job of twenty sizes takes some sixty million units.
const FIRST_SLICE: u64 = 80_000_000;

/// The part of the budget that column generation may take, and what it may take with three stages and several kinds of
/// sheet to buy. A large job of three stages would use all of it, and prices that are not the last ones still give plans
/// and a bound. With one kind the last prices often decide between one sheet more or less, and the plan is soon found.
const PRICING: [f64; 2] = [0.6, 0.2];

/// Three stages: the part of the budget, besides the budget itself, that a first plan of two stages may take, with one and with
/// several kinds of sheet to buy. With one it often is as good as any of three; with several a twentieth did as well as a fifth.
const TWO_STAGES: [u64; 2] = [5, 20];

/// How many slices of work the next purchase may take to find.
const SEEK_PURCHASES: u64 = 4;

/// Plans filled sheet by sheet to begin with. They take a few milliseconds; more of them seldom better the best of the
/// first few by more than a dive does.
const STARTS: usize = 3;

/// What a try costs at least: so that tiny jobs, too, come to the end of a budget.
pub(crate) const A_TRY: u64 = 10_000;

/// Work spent on a few sheets at a time before purchases are tried one by one, with several kinds of sheet and three stages:
/// what is found so brings layouts that they are tried with. With two stages plans are no better for it. Four times as much
/// proved 112 of 239 generated shop jobs where this proved 114, and took a tenth longer in the median.
const FIRST_NEIGHBOURS: u64 = 50_000_000;

/// The parts of the budget that the exact search of sticks may take before the dives and after them.
const STICKS: [f64; 2] = [0.02, 0.3];

/// The part of the budget that may go to refuting the cheapest purchases before others are tried: many that can be refuted
/// at all are so within that, and then the proof is there at once.
const FIRST_REFUTATIONS: f64 = 0.05;

/// The part of the budget that a purchase is tried with before it is refuted: a dive or two through a small job.
const A_LOOK: u64 = 250;

/// One kind of sheet: the part of the budget after which no plan is sought any more where a purchase may be refuted.
const SEEKING: f64 = 0.75;

/// Several kinds of sheet: the parts of the budget that the first and the longest turn may take to raise the bound, and as
/// much again to try purchases; each turn is twice as long as the one before. Without turns either could take all there is
/// and come to little: raising the bound where prices take long to settle, trying purchases where nothing fits them.
const TURNS: [u64; 2] = [20, 10];

/// With three stages, where refuting ends soon, tries take so many times as long as raising the bound did.
const TRIES: [u64; 2] = [1, 3];

/// The part of a turn's tries that goes to bettering the best plan a few sheets at a time, with two and with three stages.
const NEIGHBOURS: [u64; 2] = [8, 20];

/// The part of the budget that the first try of a purchase chosen by its room may take, with two and with three stages. With
/// two, half of it, this and twice as much proved 20, 23 and 21 of 52 generated shop jobs. With three, where a dive takes
/// longer, 111 jobs of several kinds of sheet were planned for least with 210 million units, and for 0.1 % more with 125 and
/// with 310: hardly more than luck makes.
const ROOM_SLICE: [u64; 2] = [60, 12];

/// The part of the budget that each try of a purchase with hardly any room may take. They are tried last, with all the work
/// that is left then: of 49 generated shop jobs that would have ended before, 5 were proven so and 3 got cheaper. Tried for
/// 1/400 each, and no longer than 1/40 together, none did.
const CRAMPED_SLICE: u64 = 10;

/// A number of sheets that no plan needs: stands for "any number".
pub(crate) const MANY: i64 = 1 << 30;

/// Packs a problem: the cheapest plan found within the budget, a bound and its certificate.
///
/// `progress` is called every few hundredths of a second of work; when it returns `false` the search ends and the
/// best plan so far is the answer. The same problem and budget give the same answer on every machine.
///
/// # Errors
/// Everything that keeps the problem from being met, all at once: see [`Refusal`]. Running out of budget is no error.
pub fn solve(
    problem: &Problem,
    budget: &Budget,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Result<Answer, Vec<Refusal>> {
    with_crew(|crew| solve_with(problem, budget, crew, progress))
}

fn solve_with(
    problem: &Problem,
    budget: &Budget,
    crew: Crew,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Result<Answer, Vec<Refusal>> {
    // What is wrong with the problem is told of all of it at once.
    Job::new(problem)?;
    let parts = parts::parts(problem);
    if let [] | [_] = parts[..]
        && parts.iter().all(|part| part.is_all(problem))
    {
        return solve_part(problem, normalise::scale(&problem.stocks), budget, crew, progress);
    }
    match part_by_part(problem, &parts, budget, crew, progress) {
        Some(result) => result,
        None => solve_part(problem, normalise::scale(&problem.stocks), budget, crew, progress),
    }
}

/// Solves the parts of a problem one after the other; those that are soon done leave their share of the budget to the rest.
/// `None` where the proofs of the parts would be too long together.
fn part_by_part(
    problem: &Problem,
    parts: &[Part],
    budget: &Budget,
    crew: Crew,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Option<Result<Answer, Vec<Refusal>>> {
    let (mut answers, mut refusals): (Vec<Answer>, Vec<Refusal>) = (Vec::new(), Vec::new());
    let mut work = 0;
    for (n, part) in parts.iter().enumerate() {
        let left = parts.len() - n;
        let share = Budget { work: budget.work.saturating_sub(work) / left as u64 };
        let money: Money = answers.iter().map(|answer| answer.money).sum();
        let bound: Money = answers.iter().map(|answer| answer.bound).sum();
        // There is a plan of the whole with one of the last part, and not before.
        let mut ask = |now: &Progress| {
            let known = now.money.filter(|_| left == 1).map(|own| own + money);
            progress(&Progress {
                work: work + now.work,
                of: budget.work.max(work + now.work),
                bound: bound + now.bound,
                money: known,
            })
        };
        match solve_part(&part.problem, normalise::scale(&problem.stocks), &share, crew, &mut ask) {
            Ok(answer) => {
                work += answer.work;
                answers.push(answer);
            }
            Err(own) => refusals.extend(own.into_iter().map(|refusal| part.refusal(refusal))),
        }
    }
    let shown = |refusal: &Refusal| match refusal {
        Refusal::LimitsTooSmall { shown, .. } => Some(*shown),
        _ => None,
    };
    let short: Vec<bool> = refusals.iter().filter_map(shown).collect();
    if short.len() > 1 {
        // More of one kind of sheet would do for one part alone.
        refusals.retain(|refusal| shown(refusal).is_none());
        refusals.push(Refusal::LimitsTooSmall { more: Vec::new(), shown: short.contains(&true) });
    }
    if !refusals.is_empty() {
        return Some(Err(refusals));
    }
    parts::together(problem, parts, &answers).map(Ok)
}

fn solve_part(
    problem: &Problem,
    scale: i64,
    budget: &Budget,
    crew: Crew,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Result<Answer, Vec<Refusal>> {
    let mut result = search_at(problem, scale, budget, crew, progress);
    if let Err(refusals) = &mut result {
        for refusal in refusals {
            if let Refusal::LimitsTooSmall { more, .. } = refusal {
                *more = crate::shortfall::more(problem, budget);
            }
        }
    }
    result
}

/// As [`solve`], without saying how many more sheets would do, and all of it at once.
pub(crate) fn search(
    problem: &Problem,
    budget: &Budget,
    crew: Crew,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Result<Answer, Vec<Refusal>> {
    search_at(problem, normalise::scale(&problem.stocks), budget, crew, progress)
}

/// Likewise, with whole-number prices at a scale.
fn search_at(
    problem: &Problem,
    scale: i64,
    budget: &Budget,
    crew: Crew,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Result<Answer, Vec<Refusal>> {
    let job = Job { scale, ..Job::new(problem)? };
    let budget = &budget.of_sizes(job.sizes.len());
    let (found, mut repack) = cheapest(problem, &job, budget, crew, progress)?;
    let more = Budget { work: found.work + crate::refine::allowance(budget) };
    let mut search = Search::new(&more, progress);
    search.go_on(found.work, found.bound, found.plan.money(&job));
    let mut answer = crate::refine::refine(problem, &job, &found.plan, &mut repack, &mut search);
    answer.bound = Money::from_minor(found.bound).min(answer.money);
    answer.certificate = found.certificate;
    answer.work = search.work;
    Ok(answer)
}

/// The plan of least money, nothing spare on it, with its bound.
pub(crate) fn cheapest<'a>(
    problem: &Problem,
    job: &'a Job,
    budget: &Budget,
    crew: Crew,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Result<(Sought, Repack<'a>), Vec<Refusal>> {
    let start = if problem.cutting.stages == 3 { two_stages(problem, budget, crew, progress) } else { None };
    let (mut found, repack) = seek(job, start, true, budget, crew, progress)?;
    found.plan.drop_surplus(job);
    Ok((found, repack))
}

/// What a search comes to.
pub(crate) struct Sought {
    pub(crate) plan: Plan,
    bound: i64,
    certificate: Certificate,
    work: u64,
    prices: Prices,
    /// The layouts that are worth their sheet at these prices.
    tight: Vec<Column>,
}

/// The plan with one stage left out, which is a plan of three stages too: where the search over three stages finds
/// nothing better, it finds nothing worse.
fn two_stages(
    problem: &Problem,
    budget: &Budget,
    crew: Crew,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Option<Sought> {
    let mut two = problem.clone();
    two.cutting.stages = 2;
    two.cutting.first = match problem.cutting.first {
        First::Rip => First::Crosscut,
        First::Crosscut => First::Rip,
        First::Either => First::Either,
    };
    let job = Job::new(&two).ok()?;
    // What two stages cannot do for less is no bound on three.
    let mut ask = |p: &Progress| progress(&Progress { of: budget.work, bound: Money::ZERO, ..*p });
    let part = TWO_STAGES[usize::from(job.priced().len() > 1)];
    seek(&job, None, false, &Budget { work: budget.work / part }, crew, &mut ask).ok().map(|(found, _)| found)
}

/// Searches, from a plan that is already known if there is one; `refuting` purchases, too, or only for a plan. What sheets
/// are filled with comes along, for those who go on from there.
fn seek<'a>(
    job: &'a Job,
    mut start: Option<Sought>,
    refuting: bool,
    budget: &Budget,
    crew: Crew,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Result<(Sought, Repack<'a>), Vec<Refusal>> {
    let tables = pricing::tables(job)?;
    let mut search = Search::new(budget, progress);
    search.crew = crew;
    let mut repack = Repack::new(job, &tables);
    if let Some(Sought { plan, prices, .. }) = &start {
        // Two stages' prices, made exact for three, often are proof enough: one pricing instead of many.
        let known = Generated { prices: prices.clone(), tariff: None, slack: 0 };
        let purchases = columns::near(job, prices, &mut repack, &mut search)
            .then(|| Purchases::new(job, &tables, Pool::default(), &known, &mut search));
        if let Some(purchases) = purchases.filter(|purchases| purchases.bound == plan.money(job)) {
            let found = Sought {
                plan: plan.clone(),
                bound: purchases.bound,
                certificate: purchases.certificate(&mut search),
                work: search.work,
                prices: prices.clone(),
                tight: Vec::new(),
            };
            return Ok((found, repack));
        }
    }
    let mut pool = Pool::default();
    let share = PRICING[usize::from(job.stages == 3 && job.priced().len() > 1)];
    search.slice_end = (budget.work as f64 * share) as u64;
    let known = start.as_mut().map_or(Vec::new(), |found| std::mem::take(&mut found.tight));
    let generated = columns::generate(job, &tables, known, &mut repack, &mut pool, &mut search);
    repack.value(&generated.prices);
    search.slice_end = u64::MAX;
    let have: Vec<i64> = job.sheets.iter().map(|s| s.limit.unwrap_or(MANY)).collect();
    let makes = crate::makes::choose(job, &pool, &have, &mut search.work);
    let mut seeker = Seeker {
        job,
        demand: crate::plan::demand(job, &makes),
        have,
        step: step(job),
        makes,
        hands: Hands::new(job, repack, Residual::new(job, &tables, &pool)),
        search,
        best: None,
        refuting,
        least: 0,
    };
    pool.columns.iter().for_each(|column| seeker.hands.take(column));
    let mut purchases = Purchases::new(job, &tables, pool, &generated, &mut seeker.search);
    if purchases.bound == crate::purchase::UNMEETABLE {
        return Err(vec![Refusal::LimitsTooSmall { more: Vec::new(), shown: true }]);
    }
    seeker.search.bound = purchases.bound;
    if let Some(Sought { plan, .. }) = start {
        seeker.better_with(plan.layouts, plan.makes);
    }
    seeker.first_plans(&tables, &generated.prices.sizes);
    seeker.candidates(&mut purchases, &tables);
    let Some(plan) = seeker.best else {
        return Err(vec![Refusal::LimitsTooSmall { more: Vec::new(), shown: false }]);
    };
    let found = Sought {
        plan,
        bound: purchases.bound,
        certificate: purchases.certificate(&mut seeker.search),
        work: seeker.search.work,
        tight: purchases.tight(&generated.prices),
        prices: generated.prices,
    };
    Ok((found, seeker.hands.first.repack))
}

/// The cheapest purchase that is not refuted.
struct Front<'a> {
    candidate: Candidate,
    /// Nothing where it cannot be refuted.
    refuter: Option<Refuter<'a>>,
    untried: bool,
}

impl<'a> Front<'a> {
    fn new(candidate: Candidate, purchases: &Purchases<'a>, tables: &'a [pricing::Table]) -> Self {
        let can = Refuter::can(purchases.job) && candidate.have.iter().all(|&n| n < MANY);
        let refuter = can.then(|| {
            Refuter::new(purchases.job, tables, &candidate.have, &purchases.pool, purchases.checking())
        });
        let untried = refuter.is_some() && candidate.roomy;
        Front { candidate, refuter, untried }
    }

    /// Whether it is to be tried before it is refuted; once.
    fn untried(&mut self) -> bool {
        std::mem::take(&mut self.untried)
    }
}

/// A search under way.
struct Seeker<'a, 'j> {
    job: &'j Job,
    makes: Vec<i64>,
    demand: Vec<i64>,
    have: Vec<i64>,
    /// The least by which a plan can be cheaper than another, with the dearest sheet at [`DEAREST`].
    step: f64,
    hands: Hands<'a, 'j>,
    search: Search<'a>,
    best: Option<Plan>,
    /// Whether purchases are refuted.
    refuting: bool,
    /// What no plan was found to cost less than: nothing to state as a bound, but nothing to look further for.
    least: i64,
}

impl Seeker<'_, '_> {
    /// Keeps a plan that costs less than the best so far.
    fn better(&mut self, layouts: Option<Layouts>) -> bool {
        let Some(layouts) = layouts else { return false };
        self.better_with(layouts, self.makes.clone())
    }

    /// Likewise, with makes of its own.
    fn better_with(&mut self, layouts: Layouts, makes: Vec<i64>) -> bool {
        let plan = Plan { layouts, makes, ..Plan::default() };
        let money = plan.money(self.job);
        let better = self.best.as_ref().is_none_or(|known| money < known.money(self.job));
        if better {
            self.search.money = Some(money);
            self.best = Some(plan);
        }
        better
    }

    fn done(&mut self) -> bool {
        let cheapest = self.search.money.is_some_and(|money| money <= self.least);
        self.search.tight() || cheapest || self.search.over()
    }

    /// Several kinds of sheet to buy: dives over strips, each of which belongs to one length of sheet, come to
    /// little there.
    fn several(&self) -> bool {
        self.job.priced().len() > 1
    }

    /// Plans without a purchase in mind.
    fn first_plans(&mut self, tables: &[pricing::Table], prices: &[f64]) {
        for _ in 0..STARTS {
            let started = self.hands.first.repack.start(&self.demand, &self.have, &mut self.search);
            self.better(started);
            if self.done() {
                return;
            }
        }
        let mut sticks = Sticks::new(self.job, tables, prices, &self.demand, &mut self.search);
        self.fill_sticks(&mut sticks, STICKS[0]);
        if self.done() {
            return;
        }
        if self.best.is_none() {
            let greedy = dive::greedy(self.job, tables, &self.demand, &self.have, &mut self.search);
            self.better(greedy);
        }
        if !self.several() {
            let dived = self.hands.dive_over_strips(&self.demand, &self.have, &mut self.search);
            self.better(dived);
        }
        for noise in [0.0, 0.2] {
            if self.done() {
                return;
            }
            let most = self.most();
            let hand = &mut self.hands.first;
            let (layouts, left) = hand.whole.dive(
                &mut hand.repack,
                &self.demand,
                &self.have,
                noise,
                Goal::Money(most),
                &mut self.search,
            );
            if left.iter().all(|&n| n <= 0) {
                self.better(Some(layouts));
            }
        }
        self.fill_sticks(&mut sticks, STICKS[1]);
    }

    /// Goes on with the exact search of sticks, for so much of the budget.
    fn fill_sticks(&mut self, sticks: &mut Option<Sticks>, share: f64) {
        let Some(sticks) = sticks else { return };
        self.search.slice_end = self.search.work + (self.search.of as f64 * share) as u64;
        let found = sticks.go_on(&mut self.search);
        self.search.slice_end = u64::MAX;
        self.better(found);
        if sticks.exhausted() && self.job.makes.is_empty() {
            self.least = self.search.bound + self.job.sheets[0].price;
        }
    }

    /// What a plan may cost at most to be cheaper than the best.
    fn most(&self) -> f64 {
        let dearest = dearest(self.job);
        let less = |plan: &Plan| plan.money(self.job) as f64 * DEAREST / dearest - self.step + 1e-6;
        self.best.as_ref().map_or(f64::INFINITY, less)
    }

    /// Betters the best plan a few sheets at a time, for so much work.
    fn neighbours(&mut self, work: u64) {
        let Some(Plan { layouts: plan, makes, .. }) = self.best.clone() else { return };
        let demand = crate::plan::demand(self.job, &makes);
        if self.done() {
            return;
        }
        self.search.slice_end = self.search.work + work;
        let found = self.hands.better(&plan, &demand, &self.have, self.step, &mut self.search);
        self.search.slice_end = u64::MAX;
        if let Some(found) = found {
            self.better_with(found, makes);
        }
    }

    /// Refutes purchases, cheapest first, and so raises the bound, until one has a plan or will hardly be decided, or so much
    /// of the budget is used up.
    fn raise<'t>(
        &mut self,
        purchases: &mut Purchases<'t>,
        front: &mut Option<Front<'t>>,
        tables: &'t [pricing::Table],
        share: f64,
    ) {
        let part = |share: f64| (self.search.of as f64 * share) as u64;
        let (end, look) = (self.search.work + part(share), part(FIRST_REFUTATIONS));
        while !self.done() && self.search.work < end {
            self.search.slice_end = end.min(self.search.work + look);
            if front.is_none() {
                let below = self.search.money.unwrap_or(i64::MAX);
                let candidate = purchases.next(below, &mut self.hands.first.repack, &mut self.search);
                *front = candidate.map(|candidate| Front::new(candidate, purchases, tables));
                self.search.work += A_TRY;
            }
            if self.best.is_some() && front.as_mut().is_some_and(Front::untried) {
                self.look(front, purchases);
                continue;
            }
            let verdict = match front {
                Some(Front { refuter: Some(refuter), .. })
                    if self.refuting && self.best.is_some() && !refuter.hopeless(self.search.left()) =>
                {
                    Some(refuter.go(&mut self.search))
                }
                _ => None,
            };
            self.search.slice_end = u64::MAX;
            match verdict {
                Some(Verdict::Refuted(cases)) => {
                    purchases.refuted(cases);
                    *front = None;
                }
                Some(Verdict::Found(plan)) => {
                    self.better(Some(plan));
                    return;
                }
                Some(Verdict::Open) => {}
                None => return,
            }
        }
    }

    /// Tries the cheapest purchase a little: where a plan fits it, often the first dive finds one, and nothing need be refuted.
    fn look(&mut self, front: &Option<Front>, purchases: &Purchases) {
        let Some(Front { candidate, .. }) = front else { return };
        let makes = crate::makes::choose(self.job, &purchases.pool, &candidate.have, &mut self.search.work);
        self.search.slice_end = self.search.work + self.search.of / A_LOOK;
        let layouts = self.attempt(&crate::plan::demand(self.job, &makes), &candidate.have);
        self.search.slice_end = u64::MAX;
        if let Some(layouts) = layouts {
            self.better_with(layouts, makes);
        }
    }

    /// Tries the purchases that the bound leaves, and refutes them.
    fn candidates<'t>(&mut self, purchases: &mut Purchases<'t>, tables: &'t [pricing::Table]) {
        let mut front = None;
        if self.several() && self.best.is_some() {
            self.by_room(purchases, &mut front, tables);
        } else {
            self.raise(purchases, &mut front, tables, FIRST_REFUTATIONS);
            let all = self.search.of;
            let refuter = front.as_ref().and_then(|front| front.refuter.as_ref());
            if self.refuting && refuter.is_some_and(|refuter| !refuter.hopeless(self.search.left())) {
                self.search.of = (all as f64 * SEEKING) as u64;
            }
            // The bound stays what it is while purchases are tried.
            let mut tries = purchases.clone();
            tries.settle();
            self.by_money(&mut tries, front.as_ref().map(|front| front.candidate.clone()));
            self.search.of = all;
        }
        self.raise(purchases, &mut front, tables, 1.0);
    }

    /// Several kinds of sheet: in turns raises the bound, until it is settled, tries the purchases that leave the most
    /// room for the least money, and betters the best plan a few sheets at a time. It ends where the bound is settled and
    /// every purchase with room was tried enough.
    fn by_room<'t>(
        &mut self,
        purchases: &mut Purchases<'t>,
        front: &mut Option<Front<'t>>,
        tables: &'t [pricing::Table],
    ) {
        let mut headroom = Headroom::new(self.job);
        let [mut turn, most] = TURNS.map(|part| self.search.of / part);
        let mut more = if self.job.stages == 3 { FIRST_NEIGHBOURS.min(self.search.of / 12) } else { 0 };
        while !self.done() {
            let began = self.search.work;
            if front.is_none() {
                purchases.learn(self.hands.first.whole.columns(), &mut self.search);
                self.search.slice_end = began + turn;
                let next = purchases.next(self.span().below, &mut self.hands.first.repack, &mut self.search);
                self.search.slice_end = u64::MAX;
                *front = next.map(|candidate| Front::new(candidate, purchases, tables));
                if front.is_some() {
                    self.raise(purchases, front, tables, FIRST_REFUTATIONS);
                }
            }
            self.neighbours(std::mem::take(&mut more));
            // A proof is brought to its end, however long the turn is; then tries take as long.
            let middle = self.search.work;
            headroom.learn(&purchases.pool, self.span(), &mut self.search);
            let deep = usize::from(self.job.stages == 3);
            let until = middle + TRIES[deep] * turn.max(middle - began);
            let left = self.try_roomiest(&mut headroom, purchases, until);
            if front.is_some() && !left {
                self.try_cramped(&mut headroom, purchases);
                return;
            }
            self.search.work += A_TRY;
            self.neighbours((self.search.work - middle) / NEIGHBOURS[deep]);
            turn = (2 * turn).min(most);
        }
    }

    /// What a cheaper plan may cost.
    fn span(&self) -> Span {
        Span { least: self.search.bound, below: self.search.money.unwrap_or(i64::MAX) }
    }

    /// Tries purchases with room until so much work is done. Says whether any is left.
    fn try_roomiest(&mut self, headroom: &mut Headroom, purchases: &mut Purchases, until: u64) -> bool {
        let part = if self.job.stages == 3 { ROOM_SLICE[1] } else { ROOM_SLICE[0] };
        let slice = self.search.of / part;
        while self.search.work < until && !self.done() {
            let Some(ample) = headroom.choose(self.span(), slice, &mut self.search) else { return false };
            let slice = slice + ample.spent.work / 2;
            self.try_one(headroom, purchases, ample, slice);
        }
        true
    }

    /// Tries purchases with hardly any room, all alike, as long as there is work left.
    fn try_cramped(&mut self, headroom: &mut Headroom, purchases: &mut Purchases) {
        let slice = self.search.of / CRAMPED_SLICE;
        while !self.done() {
            let Some(ample) = headroom.cramped(self.span(), &mut self.search) else { return };
            self.try_one(headroom, purchases, ample, slice);
        }
    }

    /// Tries a purchase with so much work. Where it was tried in vain, half of it at most first goes to better layouts for it.
    fn try_one(&mut self, headroom: &mut Headroom, purchases: &mut Purchases, ample: Ample, slice: u64) {
        let have = ample.have;
        if ample.spent != Spent::default() {
            self.search.slice_end = self.search.work + slice / 2;
            let news = purchases.enrich(&have, &mut self.hands.first.repack, &mut self.search);
            let news = &purchases.pool.columns[news..];
            news.iter().for_each(|column| self.hands.take(column));
        }
        // What is best to make of long sheets is not what is best to make of short ones.
        let makes = crate::makes::choose(self.job, &purchases.pool, &have, &mut self.search.work);
        let before = Spent { work: self.search.work, dives: self.hands.dives() };
        self.search.slice_end = before.work + slice;
        let layouts = self.attempt(&crate::plan::demand(self.job, &makes), &have);
        self.search.slice_end = u64::MAX;
        if !layouts.is_some_and(|layouts| self.better_with(layouts, makes)) {
            let (work, dives) = (self.search.work - before.work, self.hands.dives() - before.dives);
            headroom.spend(&have, Spent { work, dives });
        }
    }

    /// Tries purchases cheapest first, again and again with more work each.
    fn by_money(&mut self, purchases: &mut Purchases, first: Option<Candidate>) {
        let with_makes = |candidate: Candidate| {
            let makes =
                crate::makes::choose(self.job, &purchases.pool, &candidate.have, &mut self.search.work);
            (candidate, makes)
        };
        let mut candidates: Vec<(Candidate, Vec<i64>)> = first.map(with_makes).into_iter().collect();
        let mut slice = FIRST_SLICE.min(self.search.of / 30);
        let mut tight = false;
        while !self.done() {
            let mut at = 0;
            let mut failures = 0;
            let mut tried = false;
            loop {
                let below = self.search.money.unwrap_or(i64::MAX);
                if at == candidates.len() {
                    self.search.slice_end =
                        self.search.work.saturating_add(slice.saturating_mul(SEEK_PURCHASES));
                    let next = purchases.next(below, &mut self.hands.first.repack, &mut self.search);
                    let cut_short = self.search.slice_over();
                    self.search.slice_end = u64::MAX;
                    if next.is_none() && candidates.is_empty() && !cut_short {
                        return;
                    }
                    match next {
                        Some(candidate) => {
                            // What is best to make of long sheets is not what is best to make of short ones.
                            let makes = crate::makes::choose(
                                self.job,
                                &purchases.pool,
                                &candidate.have,
                                &mut self.search.work,
                            );
                            candidates.push((candidate, makes));
                        }
                        None => break,
                    }
                }
                let (candidate, makes) = &candidates[at];
                if candidate.money >= below || self.search.over() {
                    break;
                }
                at += 1;
                // Where there is hardly any room, a plan is hardly ever found: first those with room.
                if !candidate.roomy && !tight {
                    continue;
                }
                // After some failures near the bound, look further ahead: a plan not far off is worth more than none.
                if failures > 3 && at % (failures / 2) != 0 {
                    continue;
                }
                tried = true;
                self.search.slice_end = self.search.work.saturating_add(slice);
                let layouts = self.attempt(&crate::plan::demand(self.job, makes), &candidate.have);
                self.search.slice_end = u64::MAX;
                if layouts.is_some_and(|layouts| self.better_with(layouts, makes.clone())) {
                    break;
                }
                failures += 1;
            }
            if !tried && !tight {
                tight = true;
                continue;
            }
            if self.several() {
                self.neighbours(slice);
            }
            slice = slice.saturating_mul(2);
            self.search.work += A_TRY;
        }
    }

    /// Seeks a plan for a purchase until the slice of work is used up.
    ///
    /// One of two dives over strips; with several kinds of sheet or three stages, where that comes to little, only as long as
    /// there is no plan, or where sheets cannot be filled as a whole. With two stages every second dive over sheets looks for
    /// the least money: it finds plans of small jobs that the other misses. As a start for three stages that only takes time.
    fn attempt(&mut self, demand: &[i64], have: &[i64]) -> Option<Layouts> {
        let (several, two) = (self.several(), self.job.stages == 2);
        let by_strips = !several && two || self.best.is_none() || !self.hands.first.repack.fills();
        let (by_money, dives_again) = (two && self.refuting && !by_strips, several || !two);
        let wanted = Wanted { demand, have, by_strips, by_money, dives_again };
        self.hands.seek(wanted, &mut self.search)
    }
}

fn dearest(job: &Job) -> f64 {
    job.sheets.iter().map(|s| s.price).max().unwrap_or(0).max(1) as f64
}

/// The least by which money of sheets can differ, with the dearest sheet at [`DEAREST`].
fn step(job: &Job) -> f64 {
    let least = job.sheets.iter().map(|s| s.price).fold(0, |a, b| pricing::gcd(b, a)).max(1);
    DEAREST * least as f64 / dearest(job)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::generate::{Wish, shop_job};

    /// Demands met, nothing spare, everything inside its region, no plan below its bound.
    #[test]
    fn shop_jobs_are_met_within_their_bounds() {
        for seed in 0..12 {
            let problem = shop_job(seed, Wish { stages: Some(2), ..Wish::default() });
            let budget = Budget { work: 200_000_000 };
            let answer = solve(&problem, &budget, &mut |_| true).unwrap();
            let mut made = vec![0; problem.pieces.len()];
            for layout in &answer.layouts {
                for placed in layout.placed(&problem) {
                    made[placed.piece] += layout.times;
                    let stock = &problem.stocks[layout.stock];
                    assert!(placed.x + placed.length <= stock.length - stock.trim.right);
                    assert!(placed.y + placed.width <= stock.width - stock.trim.top);
                }
            }
            assert_eq!(made, problem.pieces.iter().map(|p| p.count).collect::<Vec<_>>(), "seed {seed}");
            assert!(answer.spare.is_empty());
            assert!(answer.bound <= answer.money, "seed {seed}");
            let verdict =
                crate::audit::answer(&problem, &answer).unwrap_or_else(|o| panic!("seed {seed}: {o:?}"));
            assert_eq!(verdict.bound, answer.bound);
        }
    }

    fn solved(problem: &Problem) -> Answer {
        solve(problem, &Budget { work: 100_000_000 }, &mut |_| true).unwrap()
    }

    /// Three times every length, kerf and trim included, is the same problem.
    #[test]
    fn scale_changes_nothing() {
        for seed in 0..6 {
            let small = shop_job(seed, Wish { sizes: Some(6), stages: Some(2), ..Wish::default() });
            let mut large = small.clone();
            for piece in &mut large.pieces {
                (piece.length, piece.width) = (piece.length * 3, piece.width * 3);
            }
            for stock in &mut large.stocks {
                (stock.length, stock.width) = (stock.length * 3, stock.width * 3);
                let t = &mut stock.trim;
                (t.left, t.right, t.bottom, t.top) = (t.left * 3, t.right * 3, t.bottom * 3, t.top * 3);
            }
            large.cutting.rip_kerf = large.cutting.rip_kerf * 3;
            large.cutting.crosscut_kerf = large.cutting.crosscut_kerf * 3;
            let (small, large) = (solved(&small), solved(&large));
            assert_eq!((small.money, small.bound), (large.money, large.bound), "seed {seed}");
        }
    }

    /// What is proven to be least for a job is no more than what more pieces cost.
    #[test]
    fn another_piece_never_costs_less() {
        for seed in 0..6 {
            let mut problem = shop_job(seed, Wish { sizes: Some(5), stages: Some(2), ..Wish::default() });
            let before = solved(&problem);
            problem.pieces[0].count += 1;
            let after = solved(&problem);
            assert!(before.bound <= after.money, "seed {seed}");
        }
    }

    /// Legs and rungs of one board, by hand: legs two abreast and two in a row take 1321 of its 2000, and beside a crosscut
    /// 675.8 are left for three lanes of rungs, of which the longest takes 417.8 + 3.2 + 249.9 = 670.9. Lanes as long as their
    /// pieces to the last kerf are wanted here: a rounding of the panel's length must not lose them.
    #[test]
    fn legs_and_rungs_of_a_stool_come_from_one_board() {
        let um = stripwright_units::Length::from_um;
        let piece = |length: i64, width: i64, count: u32| crate::Piece {
            name: format!("{length}"),
            length: um(length),
            width: um(width),
            count,
            may_turn: false,
            stocks: vec![0],
        };
        let problem = Problem {
            pieces: vec![
                piece(658_900, 43_000, 4),
                piece(330_600, 24_900, 2),
                piece(249_900, 24_900, 2),
                piece(417_800, 24_900, 2),
            ],
            stocks: vec![crate::Stock {
                name: "board".into(),
                length: um(2_000_000),
                width: um(95_000),
                trim: crate::Trim::default(),
                price: Money::from_minor(1000),
                limit: None,
            }],
            cutting: crate::Cutting {
                first: First::Crosscut,
                stages: 3,
                rip_kerf: um(3200),
                crosscut_kerf: um(3200),
                ..crate::Cutting::default()
            },
            ..Problem::default()
        };
        let answer = solved(&problem);
        assert_eq!(answer.money, Money::from_minor(1000));
        assert!(crate::audit::answer(&problem, &answer).unwrap().proven());
    }

    /// A thousand sizes in hundredths of a millimetre would take gigabytes in three stages; in whole millimetres they
    /// do not.
    #[test]
    fn what_would_take_gigabytes_is_refused() {
        let coarse = shop_job(7, Wish { sizes: Some(1000), kinds: Some(1), stages: Some(3) });
        let mut fine = coarse.clone();
        for (at, piece) in fine.pieces.iter_mut().enumerate() {
            piece.length += stripwright_units::Length::from_um(10 * (at as i64 % 97));
            piece.width += stripwright_units::Length::from_um(10 * (at as i64 % 89));
        }
        let refused = |problem: &Problem| pricing::tables(&Job::new(problem).unwrap()).err();
        assert!(refused(&coarse).is_none());
        assert!(matches!(refused(&fine).unwrap()[..], [Refusal::TooFine { .. }]));
    }

    /// A large job of three stages, at once told to stop, ends with its first plan and a rough proof, some 170 million
    /// units; with pricing and proof brought to their end it took 306.
    #[test]
    fn a_stop_is_heard_within_pricing() {
        let problem = shop_job(7, Wish { sizes: Some(120), kinds: Some(2), stages: Some(3) });
        let stopped = solve(&problem, &Budget::default(), &mut |_| false).unwrap();
        assert!(stopped.work < 240_000_000, "{}", stopped.work);
        assert!(stopped.bound <= stopped.money);
        crate::audit::answer(&problem, &stopped).unwrap();
    }

    /// A proof that is given little work still is one, only of less.
    #[test]
    fn pricing_that_ends_early_states_no_more_than_is_so() {
        for seed in 0..4 {
            let wish = Wish { sizes: Some(8), stages: Some(3), ..Wish::default() };
            let problem = shop_job(seed, wish);
            let job = Job::new(&problem).unwrap();
            let tables = pricing::tables(&job).unwrap();
            let need: Vec<i64> = job.sizes.iter().map(|s| s.need).collect();
            let worth: Vec<i64> =
                job.sizes.iter().map(|s| s.length / 1_000_000 * (s.width / 1_000_000)).collect();
            for table in &tables {
                let best = |until: u64| -> Vec<i64> {
                    let mut ask = |_: &Progress| true;
                    let mut search = Search::new(&Budget::default(), &mut ask);
                    let aim = pricing::Aim { several: 1, deep: true, least: &[], slack: 0, until };
                    table.price(&worth, &need, aim, &mut search).iter().map(|found| found.worth).collect()
                };
                let exact = best(u64::MAX);
                for until in [0, 100_000, 1_000_000, 3_000_000] {
                    let early = best(until);
                    assert!(
                        early.iter().zip(&exact).all(|(e, x)| e >= x),
                        "seed {seed}: {early:?} {exact:?}"
                    );
                }
                assert!(best(0).iter().zip(&exact).any(|(e, x)| e > x), "seed {seed}: it did not end early");
            }
        }
    }

    /// Jobs of two kinds of sheet whose bound no whole plan meets: a few million units of work show by cases that none does.
    #[test]
    fn cases_prove_what_prices_alone_do_not() {
        for seed in [15, 56, 60, 96] {
            let problem = shop_job(seed, Wish { sizes: Some(5), kinds: Some(2), stages: Some(2) });
            let answer = solve(&problem, &Budget::default(), &mut |_| true).unwrap();
            let cases = answer.certificate.leaves.iter().filter(|leaf| !leaf.forks.is_empty()).count();
            assert!(cases > 5 && answer.is_tight(), "seed {seed}: {cases} cases, {}", answer.bound);
            assert!(answer.work < 150_000_000, "seed {seed}: {}", answer.work);
            assert!(crate::audit::answer(&problem, &answer).is_ok_and(|verdict| verdict.proven()));
        }
    }

    /// Jobs of two kinds of sheet that are not proven, neither by prices nor by cases: once every purchase between was tried
    /// enough, with 882 and 764 million units, the rest of the budget is left alone.
    #[test]
    fn the_search_ends_where_nothing_more_is_likely() {
        for seed in [84, 269] {
            let problem = shop_job(seed, Wish { sizes: Some(5), kinds: Some(2), stages: Some(2) });
            let answer = solve(&problem, &Budget::default(), &mut |_| true).unwrap();
            assert!(answer.bound < answer.money, "seed {seed}: proven");
            assert!(answer.work < 1_200_000_000, "seed {seed}: {}", answer.work);
        }
    }

    /// Jobs of two kinds of sheet for whose cheapest purchase short tries find no plan, as it has hardly any room.
    #[test]
    fn long_tries_find_plans_for_cramped_purchases() {
        for seed in [48, 103] {
            let problem = shop_job(seed, Wish { sizes: Some(5), kinds: Some(2), stages: Some(2) });
            let answer = solve(&problem, &Budget::default(), &mut |_| true).unwrap();
            assert!(answer.is_tight(), "seed {seed}: {} over {}", answer.money, answer.bound);
        }
    }

    /// The same job twice gives the same answer, byte for byte.
    #[test]
    fn same_job_same_answer() {
        let problem = shop_job(3, Wish { stages: Some(2), ..Wish::default() });
        assert_eq!(solved(&problem), solved(&problem));
    }

    /// Workers that run at once come to what they come to one after the other, also where one finds a plan first.
    #[test]
    fn one_thread_or_two_find_the_same() {
        let mut proven = 0;
        for (seed, kinds, stages) in [(15, 2, 2), (3, 3, 2), (7, 4, 3), (9, 2, 3), (28, 1, 2), (5, 1, 3)] {
            let problem =
                shop_job(seed, Wish { kinds: Some(kinds), stages: Some(stages), ..Wish::default() });
            let budget = Budget { work: 400_000_000 };
            let with =
                |several: bool| solve_with(&problem, &budget, Crew { several }, &mut |_| true).unwrap();
            let together = with(true);
            for several in [false, true] {
                assert_eq!(together, with(several), "seed {seed}");
            }
            proven += usize::from(together.is_tight());
        }
        assert!((2..5).contains(&proven), "{proven} of 6 are proven: some should be, some not");
    }

    /// A band can be had from a long strip or from a short one; two short ones fit a sheet.
    #[test]
    fn covers_are_had_by_the_cheaper_make() {
        let mm = stripwright_units::Length::from_mm;
        let piece = |name: &str, length: i64| crate::Piece {
            name: name.into(),
            length: mm(length),
            width: mm(300),
            count: 0,
            may_turn: false,
            stocks: vec![0],
        };
        let problem = Problem {
            pieces: vec![piece("long", 900), piece("short", 500)],
            stocks: vec![crate::Stock {
                name: "sheet".into(),
                length: mm(1000),
                width: mm(300),
                trim: crate::Trim::default(),
                price: Money::from_minor(100),
                limit: None,
            }],
            covers: vec![crate::Cover { name: "band".into(), count: 4 }],
            makes: vec![
                crate::Make { name: "one long".into(), yields: vec![(0, 1)], uses: vec![(0, 1)] },
                crate::Make { name: "one short".into(), yields: vec![(0, 1)], uses: vec![(1, 1)] },
            ],
            cutting: crate::Cutting::default(),
        };
        let answer = solved(&problem);
        assert_eq!((answer.money, answer.bound), (Money::from_minor(200), Money::from_minor(200)));
        assert_eq!(answer.makes, [(1, 4)]);
        assert!(crate::audit::answer(&problem, &answer).unwrap().proven());
    }
}
