//! Shows that no plan fits the sheets of a purchase, or finds one that does.
//!
//! A fractional plan may fit sheets that no whole plan fits: it cuts 3.4 strips of one kind and 0.6 of another. So what
//! a whole plan has in whole numbers is counted ([`Count`]: sheets cut one way, strips of a width, pieces of a size in
//! strips of a width), and where the fractional plan has 3.4 of something, there are two cases: at most 3, or 4 and
//! more. Each case is a linear program of its own with one more row, whose price is paid or charged for each one
//! counted. Where even the fractional plan finds no room, the case is closed by its prices; where it does, the case is
//! split again. When all cases are closed, no plan fits the purchase, and the prices of the cases are the proof.
//!
//! What to split by decides whether that takes ten cases or ten thousand. The counts furthest from whole numbers are
//! tried (*strong branching*): that is chosen whose two cases both leave least room. Room is measured in sheets, each at
//! what the best layout of it is worth when the purchase is cut for as many times what is wanted as it holds.
//!
//! Only two stages are gone through: with three, a single pricing takes as long as a hundred cases here.

use std::collections::{BTreeMap, BTreeSet};

use stripwright_units::Length;

use crate::bound::{Box, Proof, exact_fixed};
use crate::budget::Search;
use crate::certificate::{self, Counted, Leaf};
use crate::columns::Pool;
use crate::master::{Column, DEAREST};
use crate::normalise::{Job, View};
use crate::pricing::{Aim, Pattern, Table, Tilt};
use crate::problem::Direction;
use crate::simplex::{Program, Row};

/// What is counted on sheets of some kinds, cut in one view: they share a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Count {
    table: usize,
    /// Which of the table's spans of sheets.
    span: usize,
    what: What,
}

/// What a plan has a whole number of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum What {
    /// Sheets cut in this view.
    Sheets,
    /// Strips of a width, by index into the table's widths: that of their widest piece.
    Strips { width: usize },
    /// Pieces of a size in strips of a width.
    Pieces { width: usize, size: usize },
}

/// One side of a case: at most so many, or more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Fork {
    count: Count,
    at: i64,
    more: bool,
}

/// A closed case: its forks with their prices, and the prices of pieces and sheets.
#[derive(Clone, Debug)]
pub(crate) struct Case {
    forks: Vec<certificate::Fork>,
    proof: Proof,
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

/// Counts tried before one is chosen. Each takes two small programs; fewer make more cases.
const TRIED: usize = 10;

/// A case is closed when its fractional plan needs this part of a sheet more than there is: enough for whole-number
/// prices to show the same.
const CLOSED: f64 = 1e-7 * DEAREST;

/// A count this near a whole number is one.
const WHOLE: f64 = 1e-5;

/// What missing one piece, or going beyond a sheet, costs in the programs.
const MISS: f64 = 1e3 * DEAREST;

/// The dearest price of a case in whole numbers: with hundreds of pieces on a sheet, and thousands of pieces wanted, sums
/// stay far inside an `i64`.
const WHOLE_LARGEST: f64 = 1e10;

/// Layouts a program begins with: those that leave least.
const FIRST: usize = 300;

/// Closed cases at most. Each is a set of prices in the plan's file, and a pricing for whoever checks it.
const MOST_CASES: usize = 1000;

/// A layout, and what is counted in it.
pub(crate) struct Known {
    column: Column,
    /// Table and end.
    place: (usize, usize),
    /// (width, size and how many), ascending by width; one a strip.
    strips: Vec<(usize, Vec<(usize, i64)>)>,
}

/// A case that is still open.
pub(crate) struct Node {
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
    tables: &'a [Table],
    /// By table, the spans of ends that are counted together: all whose strips are of one length, and each by itself.
    spans: Vec<Vec<Vec<usize>>>,
    have: Vec<i64>,
    /// What a sheet of each kind is worth.
    sheets: Vec<f64>,
    /// What all sheets are worth.
    pub(crate) capacity: f64,
    pub(crate) known: Vec<Known>,
    seen: BTreeSet<(usize, usize, Vec<(usize, Vec<(usize, i64)>)>)>,
    pub(crate) open: Vec<Node>,
    pub(crate) closed: Vec<Case>,
    started: bool,
    /// Whether a case came up that cannot be split.
    pub(crate) stuck: bool,
    pub(crate) cases: usize,
}

/// Prices of a program in parts.
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
    Unknown,
}

impl<'a> Refuter<'a> {
    /// For a purchase of a job of two stages without makes.
    pub(crate) fn new(job: &'a Job, tables: &'a [Table], have: &[i64], pool: &Pool) -> Self {
        let spans = tables
            .iter()
            .map(|table| {
                let whole = |&end: &usize| table.ends[end].whole && have[table.ends[end].stock] > 0;
                let ends: Vec<usize> = (0..table.ends.len()).filter(whole).collect();
                let mut spans: Vec<Vec<usize>> = Vec::new();
                for &end in &ends {
                    let alike = |&other: &usize| table.ends[other].along == table.ends[end].along;
                    for span in [ends.iter().copied().filter(alike).collect(), vec![end]] {
                        if !spans.contains(&span) {
                            spans.push(span);
                        }
                    }
                }
                spans
            })
            .collect();
        let mut refuter = Refuter {
            job,
            tables,
            spans,
            have: have.to_vec(),
            sheets: Vec::new(),
            capacity: 0.0,
            known: Vec::new(),
            seen: BTreeSet::new(),
            open: Vec::new(),
            closed: Vec::new(),
            started: false,
            stuck: false,
            cases: 0,
        };
        for column in &pool.columns {
            refuter.learn(&column.pattern);
        }
        refuter
    }

    /// Whether a job is of the kind that can be gone through.
    pub(crate) fn can(job: &Job) -> bool {
        job.stages == 2 && job.makes.is_empty() && job.covers.is_empty()
    }

    /// Takes a layout in; returns its index when it is new.
    fn learn(&mut self, pattern: &Pattern) -> Option<usize> {
        let [panel] = pattern.panels.as_slice() else { return None };
        if self.have[pattern.stock] <= 0 {
            return None;
        }
        let place = self.tables.iter().enumerate().find_map(|(t, table)| {
            let of = |e: usize| table.ends[e].stock == pattern.stock && table.ends[e].whole;
            if table.view == pattern.view {
                (0..table.ends.len()).find(|&e| of(e)).map(|e| (t, e))
            } else {
                None
            }
        })?;
        let table = &self.tables[place.0];
        let mut strips: Vec<(usize, Vec<(usize, i64)>)> = Vec::new();
        for strip in panel {
            let v = |lie| table.items.iter().find(|i| i.lie == lie).map(|i| i.v);
            let widest = strip.iter().filter_map(|&(lie, _)| v(lie)).max()?;
            let width = table.widths.iter().position(|w| w.0 == widest)?;
            let mut counts: BTreeMap<usize, i64> = BTreeMap::new();
            strip.iter().for_each(|&(lie, n)| *counts.entry(lie.size).or_default() += i64::from(n));
            strips.push((width, counts.into_iter().collect()));
        }
        strips.sort_unstable();
        if strips.is_empty() || !self.seen.insert((place.0, place.1, strips.clone())) {
            return None;
        }
        self.known.push(Known { column: Column::new(pattern.clone()), place, strips });
        Some(self.known.len() - 1)
    }

    fn counted(&self, known: &Known, count: Count) -> i64 {
        let (table, end) = known.place;
        if table != count.table || !self.spans[table][count.span].contains(&end) {
            return 0;
        }
        let of = |width: usize| known.strips.iter().filter(move |s| s.0 == width);
        match count.what {
            What::Sheets => 1,
            What::Strips { width } => of(width).count() as i64,
            What::Pieces { width, size } => {
                of(width).flat_map(|s| &s.1).filter(|p| p.0 == size).map(|p| p.1).sum()
            }
        }
    }

    /// A fork as others read it.
    fn spoken(&self, fork: &Fork, price: i64) -> certificate::Fork {
        let Count { table, span, what } = fork.count;
        let table = &self.tables[table];
        let mut stocks: Vec<usize> =
            self.spans[fork.count.table][span].iter().map(|&end| table.ends[end].stock).collect();
        stocks.sort_unstable();
        let across = |width: usize| {
            let item = &table.items[table.widths[width].1 - 1];
            Length::from_nm(table.view.turn(self.job.extents(item.lie)).1)
        };
        let what = match what {
            What::Sheets => Counted::Sheets,
            What::Strips { width } => Counted::Strips { width: across(width) },
            What::Pieces { width, size } => {
                Counted::Pieces { width: across(width), pieces: self.job.sizes[size].pieces.clone() }
            }
        };
        let first = match table.view {
            View::Along => Direction::Rip,
            View::Across => Direction::Crosscut,
        };
        let count = certificate::Count { stocks, first, what };
        certificate::Fork { count, at: fork.at as u32, more: fork.more, price }
    }

    /// Goes on until it is decided or the slice of work is used up.
    pub(crate) fn go(&mut self, search: &mut Search) -> Verdict {
        if !self.started {
            self.started = true;
            match self.begin(search) {
                Some(root) => self.open.push(root),
                None => self.stuck = true,
            }
        }
        while let Some(mut node) = self.open.pop() {
            if search.slice_over() || self.closed.len() >= MOST_CASES || self.stuck {
                self.open.push(node);
                return Verdict::Open;
            }
            self.cases += 1;
            match self.settle(&mut node, search) {
                Outcome::Closed => continue,
                Outcome::Unknown => {
                    self.stuck = true;
                    self.open.push(node);
                    return Verdict::Open;
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
                    self.stuck = true;
                    self.open.push(node);
                    return Verdict::Open;
                }
            }
        }
        if self.stuck { Verdict::Open } else { Verdict::Refuted(std::mem::take(&mut self.closed)) }
    }

    /// What sheets are worth, and the case without forks.
    fn begin(&mut self, search: &mut Search) -> Option<Node> {
        let job = self.job;
        let (sizes, kinds) = (job.sizes.len(), job.sheets.len());
        let wanted = job.sizes.iter().map(|_| (Row::Wanted, 0.0, MISS));
        let limits = self.have.iter().map(|&n| (Row::Limit, n as f64, MISS));
        let mut program = Program::new(&wanted.chain(limits).collect::<Vec<_>>());
        // How many times what is wanted.
        let times = job.sizes.iter().enumerate().map(|(s, size)| (s, -(size.count as f64))).collect();
        program.column(-DEAREST, times);
        for known in &self.known {
            program.column(0.0, entries(sizes, known));
        }
        let need: Vec<i64> = job.sizes.iter().map(|s| s.need).collect();
        let prices = loop {
            let before = program.work;
            let solved = program.solve();
            search.work += (program.work - before) / 2;
            if !solved || search.slice_over() {
                return None;
            }
            let prices: Vec<f64> = program.prices()[..sizes].iter().map(|p| p.max(0.0)).collect();
            let worth: Vec<f64> = program.prices()[sizes..].iter().map(|p| (-p).max(0.0)).collect();
            let mut learned = false;
            for table in self.tables {
                let aim = Aim { several: 3, deep: false, least: &worth, slack: 0, until: u64::MAX };
                for found in table.price::<f64>(&prices, &need, aim, search) {
                    for (value, pattern) in found.patterns {
                        if self.have[found.stock] > 0
                            && value > worth[found.stock] + CLOSED
                            && let Some(at) = self.learn(&pattern)
                        {
                            program.column(0.0, entries(sizes, &self.known[at]));
                            learned = true;
                        }
                    }
                }
            }
            if !learned {
                break program.prices().to_vec();
            }
        };
        self.sheets = prices[sizes..].iter().map(|p| (-p).max(0.0)).collect();
        self.capacity = (0..kinds).map(|j| self.sheets[j] * self.have[j] as f64).sum();
        let wanted = job.sizes.iter().map(|s| (Row::Wanted, s.count as f64, MISS));
        let limits = self.have.iter().map(|&n| (Row::Limit, n as f64, MISS));
        let mut program = Program::new(&wanted.chain(limits).collect::<Vec<_>>());
        let mut order: Vec<(f64, usize)> = self
            .known
            .iter()
            .enumerate()
            .map(|(at, known)| (self.sheets[known.column.stock()] - known.column.worth(&prices), at))
            .collect();
        order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        order.truncate(FIRST);
        let columns = order
            .into_iter()
            .map(|(_, at)| {
                let known = &self.known[at];
                (program.column(self.sheets[known.column.stock()], entries(sizes, known)), at)
            })
            .collect();
        Some(Node { forks: Vec::new(), program, columns, rows: Vec::new() })
    }

    fn parted(&self, node: &Node) -> Parted {
        let prices = node.program.prices();
        let sizes = self.job.sizes.len();
        Parted {
            sizes: prices[..sizes].iter().map(|p| p.max(0.0)).collect(),
            upper: prices[sizes..][..self.have.len()].iter().map(|p| (-p).max(0.0)).collect(),
            forks: node
                .rows
                .iter()
                .zip(&node.forks)
                .map(|(&row, fork)| if fork.more { prices[row].max(0.0) } else { (-prices[row]).max(0.0) })
                .collect(),
        }
    }

    /// Brings a case to its end: closes it, or finds that its fractional plan fits.
    fn settle(&mut self, node: &mut Node, search: &mut Search) -> Outcome {
        let job = self.job;
        let need: Vec<i64> = job.sizes.iter().map(|s| s.need).collect();
        loop {
            let before = node.program.work;
            let solved = node.program.solve();
            search.work += (node.program.work - before) / 2;
            if !solved || search.over() {
                return Outcome::Unknown;
            }
            if node.program.objective() <= self.capacity + CLOSED && node.program.missed() < 1e-7 {
                return Outcome::Fits;
            }
            let prices = self.parted(node);
            let allowed = |stock: usize| self.sheets[stock] + prices.upper[stock];
            // What is known from other cases first.
            let within: BTreeSet<usize> = node.columns.iter().map(|c| c.1).collect();
            let mut new: Vec<usize> = Vec::new();
            search.work += 30 * self.known.len() as u64;
            for (at, known) in self.known.iter().enumerate() {
                if !within.contains(&at) {
                    let forks: f64 = node
                        .forks
                        .iter()
                        .zip(&prices.forks)
                        .filter(|(_, price)| **price > 0.0)
                        .map(|(fork, price)| sign(fork) * price * self.counted(known, fork.count) as f64)
                        .sum();
                    if known.column.worth(&prices.sizes) + forks > allowed(known.column.stock()) + CLOSED {
                        new.push(at);
                    }
                }
            }
            if new.is_empty() {
                let mut best = vec![0.0f64; self.have.len()];
                let mut patterns: Vec<(f64, Pattern)> = Vec::new();
                for (index, table) in self.tables.iter().enumerate() {
                    let tilts = self.tilts(index, &node.forks, &prices.forks);
                    for found in table.price_tilted::<f64>(&prices.sizes, &need, &tilts, 3, search) {
                        best[found.stock] = best[found.stock].max(found.worth);
                        patterns.extend(found.patterns);
                    }
                }
                let shown: f64 = job
                    .sizes
                    .iter()
                    .zip(&prices.sizes)
                    .map(|(s, p)| s.count as f64 * p)
                    .sum::<f64>()
                    + node.forks.iter().zip(&prices.forks).map(|(f, p)| sign(f) * p * limit(f)).sum::<f64>()
                    - best.iter().zip(&self.have).map(|(b, &n)| b * n as f64).sum::<f64>();
                if shown > CLOSED && self.close(&node.forks, &prices, search) {
                    return Outcome::Closed;
                }
                for (_, pattern) in patterns {
                    new.extend(self.learn(&pattern));
                }
                if new.is_empty() {
                    return Outcome::Unknown;
                }
            }
            for at in new {
                self.take(node, at);
            }
        }
    }

    fn take(&self, node: &mut Node, at: usize) {
        let known = &self.known[at];
        let mut all = entries(self.job.sizes.len(), known);
        for (&row, fork) in node.rows.iter().zip(&node.forks) {
            let n = self.counted(known, fork.count);
            if n != 0 {
                all.push((row, n as f64));
            }
        }
        let column = node.program.column(self.sheets[known.column.stock()], all);
        node.columns.push((column, at));
    }

    /// What is paid and charged on each end of a table.
    fn tilts<T: crate::knapsack::Worth + std::ops::Neg<Output = T>>(
        &self,
        table: usize,
        forks: &[Fork],
        prices: &[T],
    ) -> Vec<Tilt<T>> {
        let mut tilts: Vec<Tilt<T>> = vec![Tilt::default(); self.tables[table].ends.len()];
        for (fork, &price) in forks.iter().zip(prices) {
            if fork.count.table != table || price == T::default() {
                continue;
            }
            let price = if fork.more { price } else { -price };
            for &end in &self.spans[table][fork.count.span] {
                let tilt = &mut tilts[end];
                match fork.count.what {
                    What::Sheets => tilt.sheet = tilt.sheet + price,
                    What::Strips { width } => {
                        let strips = tilt.strips.entry(width).or_default();
                        *strips = *strips + price;
                    }
                    What::Pieces { width, size } => {
                        tilt.pieces.entry(width).or_default().push((size, price));
                    }
                }
            }
        }
        tilts
    }

    /// Makes the prices whole; keeps the case as closed if they still show it.
    fn close(&mut self, forks: &[Fork], prices: &Parted, search: &mut Search) -> bool {
        let largest = prices.sizes.iter().chain(&prices.forks).copied().fold(1e-9, f64::max);
        let whole = |prices: &[f64]| -> Vec<i64> {
            prices.iter().map(|p| (p.max(0.0) / largest * WHOLE_LARGEST) as i64).collect()
        };
        let (sizes, forks_at) = (whole(&prices.sizes), whole(&prices.forks));
        let need: Vec<i64> = self.job.sizes.iter().map(|s| s.need).collect();
        let mut best = vec![0i64; self.have.len()];
        for (index, table) in self.tables.iter().enumerate() {
            let tilts = self.tilts(index, forks, &forks_at);
            for found in table.price_tilted::<i64>(&sizes, &need, &tilts, 1, search) {
                best[found.stock] = best[found.stock].max(found.worth);
            }
        }
        let paid: i128 = forks
            .iter()
            .zip(&forks_at)
            .map(|(fork, &p)| {
                let paid = i128::from(fork.at + i64::from(fork.more)) * i128::from(p);
                if fork.more { paid } else { -paid }
            })
            .sum();
        let Some(proof) = exact_fixed(self.job, sizes, &best, &self.have, paid) else { return false };
        let forks = forks.iter().zip(&forks_at).map(|(fork, &price)| self.spoken(fork, price)).collect();
        self.closed.push(Case { forks, proof });
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
                plan.push((self.known[at].column.pattern.clone(), amount.round() as u32));
            }
        }
        Some(plan)
    }

    /// Two cases for one, that with less room last: it is gone on with first. `None` when everything that is counted is
    /// whole.
    fn split(&self, node: &Node, search: &mut Search) -> Option<Vec<Node>> {
        let amounts = node.program.amounts();
        let mut counts: BTreeMap<Count, f64> = BTreeMap::new();
        for &(column, at) in &node.columns {
            let amount = amounts[column];
            if amount < 1e-9 {
                continue;
            }
            let known = &self.known[at];
            let (table, end) = known.place;
            let spans = &self.spans[table];
            for span in (0..spans.len()).filter(|&s| spans[s].contains(&end)) {
                let mut add = |what: What, n: i64| {
                    *counts.entry(Count { table, span, what }).or_default() += amount * n as f64;
                };
                add(What::Sheets, 1);
                for (width, pieces) in &known.strips {
                    add(What::Strips { width: *width }, 1);
                    for &(size, n) in pieces {
                        add(What::Pieces { width: *width, size }, n);
                    }
                }
            }
        }
        let far = |value: f64| (value - value.round()).abs();
        let mut tried: Vec<(f64, Count, f64)> = counts
            .into_iter()
            .map(|(count, value)| (far(value), count, value))
            .filter(|&(far, ..)| far > WHOLE)
            .collect();
        tried.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        // How sheets are cut decides most, and the first cases decide more than the last.
        tried.sort_by_key(|t| t.1.what != What::Sheets);
        tried.truncate(TRIED.max(4 * TRIED >> node.forks.len().min(30)));
        let room = (self.capacity - node.program.objective()).max(0.0);
        let mut best: Option<((bool, f64), [(f64, Node); 2])> = None;
        for (_, count, value) in tried {
            let at = value.floor() as i64;
            let sides = [false, true].map(|more| self.side(node, Fork { count, at, more }, search));
            let gain = |side: &(f64, Node)| (room - side.0.max(0.0)).max(1e-6);
            let dead = sides.iter().filter(|side| side.0 < 0.0).count();
            let score = (dead == 2, gain(&sides[0]) * gain(&sides[1]));
            if best.as_ref().is_none_or(|(known, _)| score > *known) {
                best = Some((score, sides));
            }
            if dead == 2 || search.over() {
                break;
            }
        }
        let [one, other] = best?.1;
        let (more, less) = if one.0 > other.0 { (one.1, other.1) } else { (other.1, one.1) };
        Some(vec![more, less])
    }

    /// A case with one fork more, and how much room its fractional plan of the layouts known leaves; below zero when it
    /// does not fit.
    fn side(&self, node: &Node, fork: Fork, search: &mut Search) -> (f64, Node) {
        let mut program = node.program.clone();
        let coefficients: Vec<(usize, f64)> = node
            .columns
            .iter()
            .map(|&(column, at)| (column, self.counted(&self.known[at], fork.count) as f64))
            .filter(|c| c.1 != 0.0)
            .collect();
        let before = program.work;
        let kind = if fork.more { Row::Wanted } else { Row::Limit };
        let row = program.row(kind, limit(&fork), MISS, &coefficients);
        let solved = program.solve();
        search.work += (program.work - before) / 2 + 20 * node.columns.len() as u64;
        let fits = solved && program.missed() < 1e-7;
        let room = if fits { self.capacity + CLOSED - program.objective() } else { -1.0 };
        let forks = node.forks.iter().copied().chain([fork]).collect();
        let rows = node.rows.iter().copied().chain([row]).collect();
        (room, Node { forks, program, columns: node.columns.clone(), rows })
    }
}

/// Pieces and sheet of a layout, as a program's column.
fn entries(sizes: usize, known: &Known) -> Vec<(usize, f64)> {
    let pieces = known.column.counts.iter().map(|&(size, n)| (size, n as f64));
    pieces.chain([(sizes + known.column.stock(), 1.0)]).collect()
}

/// Whether what is counted is paid for or charged.
fn sign(fork: &Fork) -> f64 {
    if fork.more { 1.0 } else { -1.0 }
}

/// The number a side holds to.
fn limit(fork: &Fork) -> f64 {
    (fork.at + i64::from(fork.more)) as f64
}
