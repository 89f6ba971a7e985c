//! How many sheets of each kind to buy.
//!
//! With one kind of sheet the bound, rounded up, says how many. With several at different prices the fractional plan
//! buys 12.3 of the best kind, which nobody can; the cheapest whole purchase may be 13, or 12 and a small one. So the
//! purchases are split into boxes (`at most 12` and `at least 13` of this kind), each with prices of its own, always
//! going on with the box of the lowest bound, until the lowest is a whole purchase whose sheets are enough at least
//! for a fractional plan. No purchase is cheaper: each other box shows it with its prices, and these are the leaves
//! of the certificate. If no whole plan is found for that purchase, the next cheapest follows.

use crate::bound::{Box, Proof, Range, exact, scale};
use crate::budget::Search;
use crate::certificate::Certificate;
use crate::columns::{Generated, Pool, ROUGH_SURPLUS, SURPLUS};
use crate::master::{Column, DEAREST, Prices, scaled_costs};
use crate::normalise::Job;
use crate::pricing::{Aim, Table};
use crate::refute::{Case, Checking};
use crate::repack::Repack;
use crate::simplex::{Program, Row};

/// What missing one piece costs: more than any sheet that it could lie on alone.
const MISS: f64 = 4.0 * DEAREST;

/// A box that is still open, or shown to be too dear.
#[derive(Clone)]
struct Node {
    within: Box,
    proof: Proof,
    /// Sheets of each kind in its fractional plan.
    counts: Vec<f64>,
    /// Already split or handed out: part of the certificate no more, or known to be no better than handed out.
    spent: bool,
}

/// A purchase handed out, as a box, and the cases that refute it.
#[derive(Clone)]
struct Held {
    within: Box,
    proof: Proof,
    cases: Option<Vec<Case>>,
}

/// The tree of boxes.
#[derive(Clone)]
pub(crate) struct Purchases<'a> {
    pub(crate) job: &'a Job,
    tables: &'a [Table],
    program: Program,
    pub(crate) pool: Pool,
    columns: Vec<usize>,
    stocks: Vec<usize>,
    cost: Vec<f64>,
    nodes: Vec<Node>,
    held: Vec<Held>,
    /// Whether the bound rises no more: what follows are only purchases to try.
    settled: bool,
    pub(crate) bound: i64,
    /// By how many ten-thousandths prices may be off.
    slack: i64,
}

/// A purchase to try: sheets of each kind, and its money.
#[derive(Clone)]
pub(crate) struct Candidate {
    pub(crate) have: Vec<i64>,
    pub(crate) money: i64,
    /// Whether the sheets have room enough that a whole plan is likely to be found.
    pub(crate) roomy: bool,
}

/// The bound where no purchase within the limits holds all that is wanted.
pub(crate) const UNMEETABLE: i64 = i64::MAX;

/// A purchase has room when it would hold this part more of everything. Of generated shop jobs those were planned within
/// their purchase that left some hundredths of it, and next to none that left less than five thousandths; so what has no
/// room to speak of is tried last.
const ROOMY: f64 = 0.003;

/// Work for looking at a layout found by other means.
const A_LAYOUT: u64 = 500;

/// A count of sheets this near a whole number is one.
const WHOLE: f64 = 1e-5;

impl<'a> Purchases<'a> {
    /// Starts from the prices and layouts of the whole.
    pub(crate) fn new(
        job: &'a Job,
        tables: &'a [Table],
        pool: Pool,
        known: &Generated,
        search: &mut Search,
    ) -> Self {
        let cost = scaled_costs(job);
        let mut rows: Vec<(Row, f64, f64)> =
            job.sizes.iter().map(|s| (Row::Wanted, s.count as f64, MISS)).collect();
        rows.extend(job.covers.iter().map(|&c| (Row::Wanted, c as f64, 1e3 * MISS)));
        rows.extend(job.sheets.iter().map(|_| (Row::Limit, 0.0, 1e4 * MISS)));
        rows.extend(job.sheets.iter().map(|_| (Row::Wanted, 0.0, 1e4 * MISS)));
        let mut purchases = Purchases {
            job,
            tables,
            program: Program::new(&rows),
            pool: Pool::default(),
            columns: Vec::new(),
            stocks: Vec::new(),
            cost,
            nodes: Vec::new(),
            held: Vec::new(),
            settled: false,
            bound: 0,
            slack: known.slack,
        };
        let cover_row = job.sizes.len();
        for make in &job.makes {
            let yields = make.yields.iter().map(|&(c, n)| (cover_row + c, n as f64));
            let uses = make.uses.iter().map(|&(s, n)| (s, -(n as f64)));
            purchases.program.column(0.0, yields.chain(uses).collect());
        }
        // A sheet that is bought and not cut, for boxes that ask for more sheets than are needed.
        for stock in 0..job.sheets.len() {
            let entries = purchases.sheet_entries(stock).to_vec();
            let column = purchases.program.column(purchases.cost[stock], entries);
            purchases.columns.push(column);
            purchases.stocks.push(stock);
        }
        pool.columns.into_iter().for_each(|column| {
            purchases.take(column);
        });
        let within = crate::bound::everything(job);
        let proof = known
            .proof
            .clone()
            .unwrap_or_else(|| exact(job, tables, &known.prices, &within, known.slack, search));
        purchases.bound = proof.money.unwrap_or(UNMEETABLE);
        purchases.nodes.push(Node { within, proof, counts: Vec::new(), spent: false });
        purchases
    }

    fn sheet_entries(&self, stock: usize) -> [(usize, f64); 2] {
        let row = self.job.sizes.len() + self.job.covers.len() + stock;
        [(row, 1.0), (row + self.job.sheets.len(), 1.0)]
    }

    /// Learns layouts found by other means, which pricing then need not find.
    pub(crate) fn learn(&mut self, columns: impl Iterator<Item = Column>, search: &mut Search) {
        for column in columns {
            search.work += A_LAYOUT;
            self.take(column);
        }
    }

    fn take(&mut self, column: Column) -> bool {
        let Some(at) = self.pool.take(column) else { return false };
        let column = &self.pool.columns[at];
        let stock = column.stock();
        let mut entries: Vec<(usize, f64)> = column.counts.iter().map(|&(s, n)| (s, n as f64)).collect();
        entries.extend(self.sheet_entries(stock));
        self.columns.push(self.program.column(self.cost[stock], entries));
        self.stocks.push(stock);
        true
    }

    /// Sets the program to a box, and to so many times what is wanted.
    fn ask(&mut self, within: &Box, times: f64) {
        let job = self.job;
        let mut right: Vec<f64> = job.sizes.iter().map(|s| s.count as f64 * times).collect();
        right.extend(job.covers.iter().map(|&c| c as f64 * times));
        // No more sheets than pieces are ever needed: keeps the numbers near each other.
        let enough = job.sizes.iter().map(|s| s.need).sum::<i64>() + 1;
        right.extend(within.iter().map(|r| r.most.unwrap_or(enough).min(enough.max(r.least)) as f64));
        right.extend(within.iter().map(|r| r.least as f64));
        self.program.ask(&right);
    }

    /// How many sheets of each kind the layouts known take in a box, and their money; no money where they do not do.
    fn guess(&mut self, within: &Box, search: &mut Search) -> (Vec<f64>, Option<i64>) {
        self.ask(within, 1.0);
        let before = self.program.work;
        let solved = self.program.solve();
        search.work += (self.program.work - before) / 2;
        let dearest = self.job.sheets.iter().map(|s| s.price).max().unwrap_or(0).max(1) as f64;
        let money = self.program.objective() * dearest / DEAREST;
        let does = solved && self.program.missed() < 1e-6;
        (self.counts(), does.then(|| (money - 1e-3).ceil() as i64))
    }

    /// Whether these sheets would hold more than is wanted, by the part [`ROOMY`], in a fractional plan of the layouts
    /// known.
    fn roomy(&mut self, have: &[i64], search: &mut Search) -> bool {
        let within: Box = have.iter().map(|&n| Range { least: 0, most: Some(n) }).collect();
        self.ask(&within, 1.0 + ROOMY);
        let before = self.program.work;
        let solved = self.program.solve();
        search.work += (self.program.work - before) / 2;
        solved && self.program.missed() < 1e-6
    }

    /// Sheets of each kind in the program's plan.
    fn counts(&self) -> Vec<f64> {
        let amounts = self.program.amounts();
        let mut counts = vec![0.0; self.job.sheets.len()];
        self.columns.iter().zip(&self.stocks).for_each(|(&c, &stock)| counts[stock] += amounts[c]);
        counts
    }

    /// The fractional plan in a box: its prices and how many sheets of each kind it takes.
    fn solve(
        &mut self,
        within: &Box,
        repack: &mut Repack,
        search: &mut Search,
    ) -> Option<(Prices, Vec<f64>)> {
        let job = self.job;
        self.ask(within, 1.0);
        let need: Vec<i64> = job.sizes.iter().map(|s| s.need).collect();
        let mut deep = false;
        loop {
            let before = self.program.work;
            let solved = self.program.solve();
            search.work += (self.program.work - before) / 2;
            if !solved || search.slice_over() {
                return None;
            }
            let prices = self.program.prices();
            let (sizes, rest) = prices.split_at(job.sizes.len());
            let (covers, rest) = rest.split_at(job.covers.len());
            let (upper, lower) = rest.split_at(job.sheets.len());
            let positive = |p: &[f64]| p.iter().map(|p| p.max(0.0)).collect::<Vec<f64>>();
            let prices = Prices {
                sizes: positive(sizes),
                covers: positive(covers),
                upper: upper.iter().map(|p| (-p).max(0.0)).collect(),
            };
            let allowed: Vec<f64> = (0..job.sheets.len())
                .map(|j| self.cost[j] - upper[j] - lower[j] + SURPLUS * DEAREST)
                .collect();
            let mut learned = false;
            if deep {
                for pattern in repack.likely(&prices.sizes, &need, search) {
                    let column = Column::new(pattern);
                    if within[column.stock()].most != Some(0)
                        && column.worth(&prices.sizes) > allowed[column.stock()] + ROUGH_SURPLUS * DEAREST
                    {
                        learned |= self.take(column);
                    }
                }
                if learned {
                    continue;
                }
            }
            for table in self.tables {
                let until = search.of.min(search.slice_end);
                let aim = Aim { several: 3, deep, least: &allowed, slack: self.slack, until };
                for found in table.price::<f64>(&prices.sizes, &need, aim, search) {
                    if within[found.stock].most == Some(0) {
                        continue;
                    }
                    for (worth, pattern) in found.patterns {
                        if worth > allowed[found.stock] {
                            learned |= self.take(Column::new(pattern));
                        }
                    }
                }
            }
            if learned {
                continue;
            }
            if deep || job.stages == 2 {
                return Some((prices, self.counts()));
            }
            deep = true;
        }
    }

    /// The cheapest purchase not handed out yet that a fractional plan can do with, or none: all are dearer than
    /// `below`, or the slice of work is used up.
    pub(crate) fn next(&mut self, below: i64, repack: &mut Repack, search: &mut Search) -> Option<Candidate> {
        let job = self.job;
        while !search.slice_over() {
            search.work += self.nodes.len() as u64;
            let open = |node: &Node| if node.spent { None } else { node.proof.money };
            let best = (0..self.nodes.len())
                .filter(|&n| open(&self.nodes[n]).is_some())
                .min_by_key(|&n| open(&self.nodes[n]))?;
            let money = open(&self.nodes[best])?;
            if !self.settled {
                self.bound = self.bound.max(money);
                search.bound = self.bound;
            }
            if money >= below {
                return None;
            }
            let priced = job.priced();
            let mut have: Vec<i64> =
                job.sheets.iter().map(|s| s.limit.unwrap_or(crate::solve::MANY)).collect();
            if let [only] = priced[..] {
                // One kind: the bound says how many. If these do not do, one more.
                let bought = money / job.sheets[only].price;
                have[only] = bought;
                let Node { within, proof, .. } = self.nodes[best].clone();
                self.nodes[best].spent = true;
                let side = |least: i64, most: Option<i64>| {
                    let mut side = within.clone();
                    side[only] = Range { least, most };
                    side
                };
                self.open(side(within[only].least, Some(bought - 1)), &proof);
                self.open(side(bought + 1, within[only].most), &proof);
                self.held.push(Held { within: side(bought, Some(bought)), proof, cases: None });
                return Some(Candidate { have, money, roomy: true });
            }
            if priced.is_empty() {
                // All is free: whatever is there may be used.
                let Node { within, proof, .. } = self.nodes[best].clone();
                self.nodes[best].spent = true;
                self.held.push(Held { within, proof, cases: None });
                return Some(Candidate { have, money: 0, roomy: true });
            }
            if self.nodes[best].counts.is_empty() && self.settled {
                // The bound is settled: what follows are only purchases to try, for which the layouts known say enough.
                let within = self.nodes[best].within.clone();
                let (counts, money) = self.guess(&within, search);
                let known = self.nodes[best].proof.money;
                let node = &mut self.nodes[best];
                node.counts = counts;
                let money = money.and_then(|money| crate::bound::raise(job, money, &within));
                node.proof.money = money.max(money.and(known));
                if node.proof.money != known {
                    continue;
                }
            }
            if self.nodes[best].counts.is_empty() {
                let within = self.nodes[best].within.clone();
                let (prices, counts) = self.solve(&within, repack, search)?;
                let proof = exact(job, self.tables, &prices, &within, self.slack, search);
                let known = self.nodes[best].proof.money;
                let node = &mut self.nodes[best];
                node.counts = counts;
                if proof.money.is_none() || proof.money > known {
                    node.proof = proof;
                    continue;
                }
            }
            let node = &self.nodes[best];
            let counts = node.counts.clone();
            let within = node.within.clone();
            let fraction = |j: usize| (counts[j] - counts[j].round()).abs();
            let split = priced.iter().copied().max_by(|&a, &b| fraction(a).total_cmp(&fraction(b)))?;
            if fraction(split) > WHOLE {
                let at = counts[split].floor() as i64;
                let proof = node.proof.clone();
                self.nodes[best].spent = true;
                self.branch(&within, split, at, &proof);
                continue;
            }
            // A whole purchase. The box without it stays open.
            let whole: Vec<i64> = counts.iter().map(|c| c.round() as i64).collect();
            let proof = node.proof.clone();
            priced.iter().for_each(|&j| have[j] = whole[j]);
            let spent: i64 = priced.iter().map(|&j| job.sheets[j].price * whole[j]).sum();
            self.nodes[best].spent = true;
            let mut rest = within;
            for &j in &priced {
                for below in [true, false] {
                    let mut side = rest.clone();
                    if below {
                        side[j].most = Some(whole[j] - 1);
                    } else {
                        side[j].least = whole[j] + 1;
                    }
                    self.open(side, &proof);
                }
                rest[j] = Range { least: whole[j], most: Some(whole[j]) };
            }
            self.held.push(Held { within: rest, proof, cases: None });
            let roomy = self.roomy(&have, search);
            return Some(Candidate { have, money: spent, roomy });
        }
        None
    }

    fn branch(&mut self, within: &Box, stock: usize, at: i64, proof: &Proof) {
        let mut below = within.clone();
        below[stock].most = Some(at);
        self.open(below, proof);
        let mut above = within.clone();
        above[stock].least = at + 1;
        self.open(above, proof);
    }

    /// A new box with what its parent shows, until it has prices of its own.
    fn open(&mut self, within: Box, proof: &Proof) {
        if within.iter().any(|r| r.most.is_some_and(|most| most < r.least)) {
            return;
        }
        let mut proof = proof.clone();
        proof.money = proof.money.and_then(|money| crate::bound::raise(self.job, money, &within));
        self.nodes.push(Node { within, proof, counts: Vec::new(), spent: false });
    }

    /// Lets the bound stand: from now on purchases are only to be tried.
    pub(crate) fn settle(&mut self) {
        self.settled = true;
    }

    /// What the cases that refute purchases come to so far.
    pub(crate) fn checking(&self) -> Checking {
        let cases = self.held.iter().filter_map(|held| held.cases.as_ref());
        cases.fold(Checking::default(), |all, cases| all.and(cases))
    }

    /// Takes note that no plan fits the purchase handed out last.
    pub(crate) fn refuted(&mut self, cases: Vec<Case>) {
        if let Some(held) = self.held.last_mut() {
            held.cases = Some(cases);
        }
    }

    /// The layouts that are worth about what their sheet costs.
    pub(crate) fn tight(&self, prices: &Prices) -> Vec<Column> {
        let dear = |column: &&Column| {
            let allowed = self.cost[column.stock()] + prices.upper.get(column.stock()).unwrap_or(&0.0);
            column.worth(&prices.sizes) > allowed - 1e-3 * DEAREST
        };
        self.pool.columns.iter().filter(dear).cloned().collect()
    }

    /// The proof of the bound; while it is not settled.
    pub(crate) fn certificate(&self) -> Certificate {
        let job = self.job;
        let open = self.nodes.iter().filter(|n| !n.spent).map(|n| n.proof.leaf(job, &n.within));
        let held = self.held.iter().flat_map(|held| match &held.cases {
            None => vec![held.proof.leaf(job, &held.within)],
            Some(cases) => cases.iter().map(|case| case.leaf(job, &held.within)).collect(),
        });
        Certificate { scale: scale(job), proper: true, leaves: open.chain(held).collect() }
    }
}
