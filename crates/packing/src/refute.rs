//! Shows that no plan fits the sheets of a purchase, or finds one that does.
//!
//! A fractional plan may fit sheets that no whole plan fits: it cuts 3.4 strips of one kind and 0.6 of another. So what
//! a whole plan has in whole numbers is counted (`counts`: sheets cut one way, strips of a width, pieces of a size in
//! strips of a width), and where the fractional plan has 3.4 of something, there are two *cases*: at most 3, or 4 and
//! more. Each case is a linear program of its own with one more row, whose price is paid or charged for each one
//! counted. Where even the fractional plan finds no room, the case is closed by its prices; where it does, the case is
//! split again. When all cases are closed, no plan fits the purchase, and the prices of the cases are the proof.
//!
//! Room is measured in sheets, each at what the best layout of it is worth when the purchase is cut for as many times
//! what is wanted as it holds. All sheets of the purchase together are the *capacity*.
//!
//! What to split by decides whether that takes ten cases or ten thousand (`split`). The counts furthest from whole numbers
//! are tried (*strong branching*, Applegate, Bixby, Chvatal and Cook 1995): that is chosen whose two cases both leave
//! least room. Strips counted over all widths from one on were tried, too: one tree shrank to three cases, and others
//! went down to the last fork allowed.
//!
//! Only two stages are gone through: with three, a single pricing takes as long as a hundred cases here.

mod counts;
mod split;

use std::collections::BTreeSet;

use crate::bound::{Box, Proof, exact_fixed};
use crate::budget::Search;
use crate::certificate::{self, Leaf};
use crate::columns::Pool;
use crate::master::DEAREST;
use crate::normalise::Job;
use crate::pricing::{Aim, Pattern, Table};
use crate::simplex::{Program, Row};
use counts::{Counts, Fork, Known};

/// A case is closed when its fractional plan needs this part of a sheet more than there is: enough for whole-number
/// prices to show the same.
const CLOSED: f64 = 1e-7 * DEAREST;

/// A count this near a whole number is one.
const WHOLE: f64 = 1e-5;

/// What missing one piece, or going beyond a sheet, costs in the programs.
const MISS: f64 = 1e3 * DEAREST;

/// Less than this missed is nothing missed.
const MISSED: f64 = 1e-7;

/// The dearest price of a case in whole numbers: with hundreds of pieces on a sheet, and thousands of pieces wanted, sums
/// stay far inside an `i64`.
const WHOLE_LARGEST: f64 = 1e10;

/// Layouts a program begins with: those that leave least. Others come in when prices ask for them.
const FIRST: usize = 300;

/// Closed cases of all purchases at most: each is a set of prices in the plan's file, a kilobyte or two.
const MOST_CASES: usize = 2_500;

/// Work for pricing all closed cases in whole numbers at most. Whoever checks them does the same, with a plainer programme:
/// this much takes it some three seconds.
const MOST_CHECKING: u64 = 400_000_000;

/// Forks of a case at most: as many as the audit takes.
const MOST_FORKS: usize = 64;

/// How much longer than there is time for a purchase may seem to take before it is given up. What is closed of the tree is
/// a rough guess of how much is left, as the sides of a split are seldom alike.
const TOO_LONG: f64 = 3.0;

/// A closed case: its forks with their prices, and the prices of pieces and sheets.
#[derive(Clone, Debug)]
pub(crate) struct Case {
    forks: Vec<certificate::Fork>,
    proof: Proof,
    /// What it takes to price it.
    work: u64,
}

/// What proofs by cases come to, for those who check them.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Checking {
    cases: usize,
    work: u64,
}

impl Checking {
    /// With these cases more.
    pub(crate) fn and(self, cases: &[Case]) -> Self {
        let work: u64 = cases.iter().map(|case| case.work).sum();
        Checking { cases: self.cases + cases.len(), work: self.work + work }
    }

    fn too_much(self) -> bool {
        self.cases >= MOST_CASES || self.work >= MOST_CHECKING
    }
}

impl Case {
    /// As a leaf of a certificate.
    pub(crate) fn leaf(&self, job: &Job, within: &Box) -> Leaf {
        Leaf { forks: self.forks.clone(), ..self.proof.leaf(job, within) }
    }
}

/// What came of it.
pub(crate) enum Verdict {
    /// No plan fits: all cases are closed.
    Refuted(Vec<Case>),
    /// This one does.
    Found(Vec<(Pattern, u32)>),
    /// Some cases are open.
    Open,
}

/// A case that is still open.
struct Node {
    forks: Vec<Fork>,
    program: Program,
    /// Layout of each of the program's columns: (column, layout).
    columns: Vec<(usize, usize)>,
    /// Row of each fork.
    rows: Vec<usize>,
}

/// A purchase under refutation.
pub(crate) struct Refuter<'a> {
    job: &'a Job,
    need: Vec<i64>,
    have: Vec<i64>,
    counts: Counts<'a>,
    /// What a sheet of each kind is worth.
    sheets: Vec<f64>,
    /// What all sheets are worth.
    capacity: f64,
    open: Vec<Node>,
    closed: Vec<Case>,
    started: bool,
    /// Whether it cannot be gone on with: a case that cannot be split, or too many cases.
    stuck: bool,
    /// What others and this come to so far.
    checking: Checking,
    /// Work done so far.
    work: u64,
}

/// Prices of a case's program in parts.
struct Parted {
    sizes: Vec<f64>,
    /// What one more sheet of each kind would be worth beside its cost.
    upper: Vec<f64>,
    /// Of each fork, not below zero.
    forks: Vec<f64>,
}

/// What a case's own linear program comes to.
enum Outcome {
    Closed,
    Fits,
    /// The program gave up, or the search is over.
    Unknown,
}

impl<'a> Refuter<'a> {
    /// For a purchase of a job that [can be gone through](Refuter::can), after cases of others were closed.
    pub(crate) fn new(
        job: &'a Job,
        tables: &'a [Table],
        have: &[i64],
        pool: &Pool,
        checking: Checking,
    ) -> Self {
        let mut counts = Counts::new(job, tables, have);
        for column in &pool.columns {
            counts.learn(&column.pattern);
        }
        Refuter {
            job,
            need: job.sizes.iter().map(|s| s.need).collect(),
            have: have.to_vec(),
            counts,
            sheets: Vec::new(),
            capacity: 0.0,
            open: Vec::new(),
            closed: Vec::new(),
            started: false,
            stuck: false,
            checking,
            work: 0,
        }
    }

    /// Whether a job is of the kind that can be gone through: two stages, no makes.
    pub(crate) fn can(job: &Job) -> bool {
        job.stages == 2 && job.makes.is_empty() && job.covers.is_empty()
    }

    /// Whether it will hardly come to an end with so much work more.
    pub(crate) fn hopeless(&self, left: u64) -> bool {
        let open: f64 = self.open.iter().map(|node| 0.5f64.powi(node.forks.len() as i32)).sum();
        let closed = (1.0 - open).max(1e-9);
        self.stuck || self.work as f64 * open / closed > TOO_LONG * left as f64
    }

    /// Goes on until it is decided or the slice of work is used up.
    pub(crate) fn go(&mut self, search: &mut Search) -> Verdict {
        let before = search.work;
        let verdict = self.go_on(search);
        self.work += search.work - before;
        verdict
    }

    fn go_on(&mut self, search: &mut Search) -> Verdict {
        if !self.started {
            let Some(root) = self.begin(search) else { return Verdict::Open };
            self.open.push(root);
            self.started = true;
        }
        while let Some(mut node) = self.open.pop() {
            self.stuck |= self.checking.too_much() || node.forks.len() > MOST_FORKS;
            if search.slice_over() || self.stuck {
                self.open.push(node);
                return Verdict::Open;
            }
            match self.settle(&mut node, search) {
                Outcome::Closed => continue,
                Outcome::Unknown => {
                    self.open.push(node);
                    self.stuck = true;
                    continue;
                }
                Outcome::Fits => {}
            }
            if let Some(plan) = self.whole(&node) {
                self.open.push(node);
                return Verdict::Found(plan);
            }
            match self.split(&node, search) {
                Some(sides) => self.open.extend(sides),
                None => {
                    self.open.push(node);
                    self.stuck = true;
                }
            }
        }
        Verdict::Refuted(std::mem::take(&mut self.closed))
    }

    /// Rows for pieces and sheets: so many times what is wanted, and no more sheets than there are.
    fn program(&self, times: f64) -> Program {
        let wanted = self.job.sizes.iter().map(|s| (Row::Wanted, s.count as f64 * times, MISS));
        let limits = self.have.iter().map(|&n| (Row::Limit, n as f64, MISS));
        Program::new(&wanted.chain(limits).collect::<Vec<_>>())
    }

    /// What sheets are worth, and the case without forks. `None` when the slice of work is used up.
    fn begin(&mut self, search: &mut Search) -> Option<Node> {
        let sizes = self.job.sizes.len();
        let mut program = self.program(0.0);
        // How many times what is wanted.
        let times = self.job.sizes.iter().enumerate().map(|(s, size)| (s, -(size.count as f64))).collect();
        program.column(-DEAREST, times);
        for known in &self.counts.known {
            program.column(0.0, self.entries(known));
        }
        loop {
            let (solved, work) = worked(&mut program);
            search.work += work;
            if !solved || search.slice_over() {
                return None;
            }
            let prices: Vec<f64> = program.prices()[..sizes].iter().map(|p| p.max(0.0)).collect();
            self.sheets = program.prices()[sizes..].iter().map(|p| (-p).max(0.0)).collect();
            let mut learned = false;
            for table in self.counts.tables {
                let aim = Aim { several: 3, deep: false, least: &self.sheets, slack: 0, until: u64::MAX };
                for found in table.price::<f64>(&prices, &self.need, aim, search) {
                    let enough = self.sheets[found.stock] + CLOSED;
                    for (_, pattern) in found.patterns.iter().filter(|(value, _)| *value > enough) {
                        if let Some(at) = self.counts.learn(pattern) {
                            program.column(0.0, self.entries(&self.counts.known[at]));
                            learned = true;
                        }
                    }
                }
            }
            if !learned {
                self.capacity = self.sheets.iter().zip(&self.have).map(|(s, &n)| s * n as f64).sum();
                return Some(self.root(&prices));
            }
        }
    }

    /// The case without forks, with the layouts that leave least at these prices.
    fn root(&self, prices: &[f64]) -> Node {
        let left = |known: &Known| self.sheets[known.column.stock()] - known.column.worth(prices);
        let mut order: Vec<(f64, usize)> =
            self.counts.known.iter().enumerate().map(|(at, known)| (left(known), at)).collect();
        order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        order.truncate(FIRST);
        let (forks, rows, columns) = (Vec::new(), Vec::new(), Vec::new());
        let mut node = Node { forks, program: self.program(1.0), columns, rows };
        order.into_iter().for_each(|(_, at)| self.take(&mut node, at));
        node
    }

    /// Pieces and sheet of a layout, as a program's column.
    fn entries(&self, known: &Known) -> Vec<(usize, f64)> {
        let pieces = known.column.counts.iter().map(|&(size, n)| (size, n as f64));
        pieces.chain([(self.job.sizes.len() + known.column.stock(), 1.0)]).collect()
    }

    /// Lets a case use a layout.
    fn take(&self, node: &mut Node, at: usize) {
        let known = &self.counts.known[at];
        let mut all = self.entries(known);
        for (&row, fork) in node.rows.iter().zip(&node.forks) {
            let n = self.counts.counted(known, fork.count);
            if n != 0 {
                all.push((row, n as f64));
            }
        }
        let column = node.program.column(self.sheets[known.column.stock()], all);
        node.columns.push((column, at));
    }

    fn parted(&self, node: &Node) -> Parted {
        let prices = node.program.prices();
        let sizes = self.job.sizes.len();
        let fork = |(&row, fork): (&usize, &Fork)| fork.paid(prices[row]).max(0.0);
        Parted {
            sizes: prices[..sizes].iter().map(|p| p.max(0.0)).collect(),
            upper: prices[sizes..][..self.have.len()].iter().map(|p| (-p).max(0.0)).collect(),
            forks: node.rows.iter().zip(&node.forks).map(fork).collect(),
        }
    }

    /// Brings a case to its end: closes it, or finds that its fractional plan fits.
    fn settle(&mut self, node: &mut Node, search: &mut Search) -> Outcome {
        loop {
            let (solved, work) = worked(&mut node.program);
            search.work += work;
            if !solved || search.over() {
                return Outcome::Unknown;
            }
            if node.program.objective() <= self.capacity + CLOSED && node.program.missed() < MISSED {
                return Outcome::Fits;
            }
            let prices = self.parted(node);
            // What is known from other cases first.
            let mut new = self.gaining(node, &prices, search);
            if new.is_empty() {
                let (best, patterns) = self.price(node, &prices, search);
                if self.shown(node, &prices, &best) > CLOSED && self.close(&node.forks, &prices, search) {
                    return Outcome::Closed;
                }
                new.extend(patterns.iter().filter_map(|pattern| self.counts.learn(pattern)));
            }
            if new.is_empty() {
                // Beyond the room by no more than rounding: smaller cases tell.
                return Outcome::Fits;
            }
            new.into_iter().for_each(|at| self.take(node, at));
        }
    }

    /// Layouts known, but not to this case, that are worth more than their sheet.
    fn gaining(&self, node: &Node, prices: &Parted, search: &mut Search) -> Vec<usize> {
        search.work += 30 * self.counts.known.len() as u64;
        let within: BTreeSet<usize> = node.columns.iter().map(|c| c.1).collect();
        let gains = |known: &Known| {
            let priced = node.forks.iter().zip(&prices.forks).filter(|(_, price)| **price > 0.0);
            let forks: f64 = priced
                .map(|(fork, &price)| fork.paid(price) * self.counts.counted(known, fork.count) as f64)
                .sum();
            let stock = known.column.stock();
            known.column.worth(&prices.sizes) + forks > self.sheets[stock] + prices.upper[stock] + CLOSED
        };
        let known = self.counts.known.iter().enumerate();
        known.filter(|(at, known)| !within.contains(at) && gains(known)).map(|(at, _)| at).collect()
    }

    /// What the best layout of each sheet is worth, and good layouts.
    fn price(&self, node: &Node, prices: &Parted, search: &mut Search) -> (Vec<f64>, Vec<Pattern>) {
        let mut best = vec![0.0f64; self.have.len()];
        let mut patterns = Vec::new();
        for (index, table) in self.counts.tables.iter().enumerate() {
            let tilts = self.counts.tilts(index, &node.forks, &prices.forks);
            for found in table.price_tilted::<f64>(&prices.sizes, &self.need, &tilts, 3, search) {
                best[found.stock] = best[found.stock].max(found.worth);
                patterns.extend(found.patterns.into_iter().map(|(_, pattern)| pattern));
            }
        }
        (best, patterns)
    }

    /// By how much what is wanted is worth more than all sheets hold.
    fn shown(&self, node: &Node, prices: &Parted, best: &[f64]) -> f64 {
        let wanted: f64 = self.job.sizes.iter().zip(&prices.sizes).map(|(s, p)| s.count as f64 * p).sum();
        let forks: f64 =
            node.forks.iter().zip(&prices.forks).map(|(f, &p)| f.paid(p) * f.limit() as f64).sum();
        let held: f64 = best.iter().zip(&self.have).map(|(b, &n)| b * n as f64).sum();
        wanted + forks - held
    }

    /// Makes the prices whole; keeps the case as closed if they still show it.
    fn close(&mut self, forks: &[Fork], prices: &Parted, search: &mut Search) -> bool {
        let largest = prices.sizes.iter().chain(&prices.forks).copied().fold(1e-9, f64::max);
        let whole = |prices: &[f64]| -> Vec<i64> {
            prices.iter().map(|p| (p.max(0.0) / largest * WHOLE_LARGEST) as i64).collect()
        };
        let (sizes, prices) = (whole(&prices.sizes), whole(&prices.forks));
        let before = search.work;
        let mut best = vec![0i64; self.have.len()];
        for (index, table) in self.counts.tables.iter().enumerate() {
            let tilts = self.counts.tilts(index, forks, &prices);
            for found in table.price_tilted::<i64>(&sizes, &self.need, &tilts, 1, search) {
                best[found.stock] = best[found.stock].max(found.worth);
            }
        }
        let priced = || forks.iter().zip(&prices);
        let paid = priced().map(|(f, &price)| f.paid(i128::from(price)) * i128::from(f.limit())).sum();
        let Some(proof) = exact_fixed(self.job, sizes, &best, &self.have, paid) else { return false };
        let forks = priced().map(|(fork, &price)| self.counts.spoken(fork, price)).collect();
        let case = Case { forks, proof, work: search.work - before };
        self.checking = self.checking.and(std::slice::from_ref(&case));
        self.closed.push(case);
        true
    }

    /// The plan, if the fractional one is whole.
    fn whole(&self, node: &Node) -> Option<Vec<(Pattern, u32)>> {
        let amounts = node.program.amounts();
        let mut plan = Vec::new();
        for &(column, at) in &node.columns {
            let amount = amounts[column];
            if (amount - amount.round()).abs() > WHOLE {
                return None;
            }
            if amount > 0.5 {
                plan.push((self.counts.known[at].column.pattern.clone(), amount.round() as u32));
            }
        }
        (node.program.missed() < MISSED).then_some(plan)
    }
}

/// Solves a program and says what work to charge: all of it, as the copies that splitting makes take as long again.
fn worked(program: &mut Program) -> (bool, u64) {
    let before = program.work;
    let solved = program.solve();
    (solved, program.work - before)
}
