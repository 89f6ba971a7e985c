//! How many sheets of each kind to buy.
//!
//! With one kind of sheet the bound, rounded up, says how many. With several at different prices the fractional plan
//! buys 12.3 of the best kind, which nobody can; the cheapest whole purchase may be 13, or 12 and a small one. Which
//! purchases could do is told by prices of pieces: sheets that are not worth what is wanted, each by its best layout,
//! cannot hold it. Such prices with the worth of every sheet are a [`Tariff`], and a tariff speaks about all purchases.
//!
//! So the purchases are split into boxes (`at most 12` and `at least 13` of this kind), always going on with the one that
//! shows the lowest bound by any tariff known, until the cheapest is a whole purchase that every tariff allows. Only then
//! is there a program to solve: how often that purchase could hold everything in a fractional plan ([`Multiple`]). If
//! it is less than once, its prices, made exact, are a new tariff, and the search goes on (Benders 1962); if not, the
//! purchase is handed out, and no other is cheaper. The boxes with their tariffs are the leaves of the certificate.
//! If no whole plan is found for that purchase, the next cheapest follows.

use crate::bound::{Box, Proof, Range, Shown, Tariff, Turn, whole, whole_price};
use crate::budget::Search;
use crate::certificate::{Certificate, Leaf};
use crate::columns::{Generated, Pool, ROUGH_SURPLUS, SURPLUS};
use crate::master::{Column, DEAREST, Prices, scaled_costs};
use crate::multiple::{Holds, Multiple};
use crate::normalise::Job;
use crate::pricing::{Aim, Table, price};
use crate::refute::{Case, Checking};
use crate::repack::Repack;

/// A box of purchases.
#[derive(Clone)]
struct Node {
    within: Box,
    shown: Shown,
    /// How many of the tariffs were asked.
    asked: usize,
    /// The boxes that it was split into, and the purchase handed out of it.
    parts: Vec<usize>,
    held: Option<usize>,
}

impl Node {
    fn open(&self) -> bool {
        self.parts.is_empty() && self.held.is_none()
    }
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
    multiple: Multiple,
    pub(crate) pool: Pool,
    cost: Vec<f64>,
    tariffs: Vec<Tariff>,
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

/// What looking at a box costs, for each number of a tariff.
const A_NUMBER: u64 = 10;

/// What the best layout of a sheet is worth matters down to this part of its price: sheets of less worth are bought only
/// where nothing else is left.
const POOR: f64 = 0.9;

/// Whether a fractional plan fits a purchase.
enum Fit {
    /// So many times.
    Fits(f64),
    /// None does: these prices show it.
    Never(Tariff),
    /// The slice of work is used up.
    Unknown,
}

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
        let tariff = known.tariff.clone().unwrap_or_else(|| {
            crate::bound::tariff(job, tables, &known.prices, &least(job, &cost), known.slack, search)
        });
        let mut purchases = Purchases {
            job,
            tables,
            multiple: Multiple::new(job),
            pool,
            cost,
            tariffs: vec![tariff],
            nodes: Vec::new(),
            held: Vec::new(),
            settled: false,
            bound: 0,
            slack: known.slack,
        };
        let root = purchases.open(crate::bound::everything(job), search);
        purchases.bound = root.map_or(UNMEETABLE, |root| purchases.money(root).unwrap_or(UNMEETABLE));
        purchases
    }

    /// Learns layouts found by other means, which pricing then need not find.
    pub(crate) fn learn(&mut self, columns: impl Iterator<Item = Column>, search: &mut Search) {
        for column in columns {
            search.work += A_LAYOUT;
            self.pool.take(column);
        }
    }

    fn money(&self, node: usize) -> Option<i64> {
        self.nodes[node].shown.proof.money
    }

    /// What the tariffs from one on show in a box: the most of them, and of those that show the same the one whose cheapest
    /// sheets are whole.
    fn show(&self, within: &Box, from: usize, search: &mut Search) -> Option<Shown> {
        let job = self.job;
        search.work += A_NUMBER * ((self.tariffs.len() - from) * (job.sizes.len() + job.sheets.len())) as u64;
        let shown = self.tariffs[from..].iter().map(|tariff| tariff.prove(job, within));
        // Nothing at all is most of all.
        let most = |shown: &Shown| (shown.proof.money.unwrap_or(i64::MAX), self.fractional(shown).is_none());
        shown.reduce(|best, next| if most(&next) > most(&best) { next } else { best })
    }

    /// The kind whose number of sheets is farthest from whole.
    fn fractional(&self, shown: &Shown) -> Option<usize> {
        let part = |&kind: &usize| (shown.counts[kind] - shown.counts[kind].round()).abs();
        let priced = self.job.priced().into_iter().filter(|kind| part(kind) > WHOLE);
        priced.max_by(|a, b| part(a).total_cmp(&part(b)))
    }

    /// Asks the tariffs that a box has not been asked about, and says whether they show more.
    fn ask(&mut self, node: usize, search: &mut Search) -> bool {
        let asked = self.nodes[node].asked;
        if asked == self.tariffs.len() {
            return false;
        }
        let shown = self.show(&self.nodes[node].within, asked, search);
        let known = self.money(node);
        let node = &mut self.nodes[node];
        node.asked = self.tariffs.len();
        match shown {
            Some(shown) if shown.proof.money.is_none() || shown.proof.money > known => {
                node.shown = shown;
                true
            }
            _ => false,
        }
    }

    /// Seeks the layouts that a fractional plan makes the most of a purchase with, until there are no better ones or the slice
    /// of work is used up. Returns where in the pool they begin.
    pub(crate) fn enrich(&mut self, have: &[i64], repack: &mut Repack, search: &mut Search) -> usize {
        let before = self.pool.columns.len();
        self.fit(have, f64::INFINITY, repack, search);
        before
    }

    /// Whether a fractional plan fits a purchase, so many times. Layouts are sought that are worth more than sheets add, until
    /// there are enough or sheets are not worth what is wanted even so.
    fn fit(&mut self, have: &[i64], enough: f64, repack: &mut Repack, search: &mut Search) -> Fit {
        let job = self.job;
        let need: Vec<i64> = job.sizes.iter().map(|s| s.need).collect();
        let money = have.iter().zip(&self.cost).map(|(&n, cost)| n as f64 * cost).sum::<f64>().max(DEAREST);
        let mut slack = self.slack;
        loop {
            self.multiple.learn(&self.pool);
            let Some(Holds { times, prices }) = self.multiple.of(have, &mut search.work) else {
                return Fit::Unknown;
            };
            if times >= enough - 1e-9 {
                return Fit::Fits(times);
            }
            let scaled = |prices: &[f64]| prices.iter().map(|price| price * money).collect::<Vec<f64>>();
            let prices = Prices {
                sizes: scaled(&prices.sizes),
                covers: scaled(&prices.covers),
                upper: scaled(&prices.upper),
            };
            if self.settled {
                // Nothing is stated any more: what the layouts known are worth is enough.
                let (sizes, covers) = whole(job, &prices);
                let best = prices.upper.iter().map(|&worth| whole_price(job, worth)).collect();
                return Fit::Never(Tariff::new(job, sizes, covers, best));
            }
            if search.slice_over() {
                return Fit::Unknown;
            }
            let bought = |stock: usize| have[stock] > 0;
            let mut learned = false;
            if job.stages == 3 {
                for pattern in repack.likely(&prices.sizes, &need, search) {
                    let column = Column::new(pattern);
                    let (stock, worth) = (column.stock(), column.worth(&prices.sizes));
                    if bought(stock) && worth > prices.upper[stock] + ROUGH_SURPLUS * DEAREST {
                        learned |= self.pool.take(column).is_some();
                    }
                }
                if learned {
                    continue;
                }
            }
            let (sizes, covers) = whole(job, &prices);
            let surplus = whole_price(job, SURPLUS * DEAREST);
            let matters = |stock: usize| match bought(stock) {
                true => prices.upper[stock],
                false => prices.upper[stock].max(POOR * self.cost[stock]),
            };
            let sheets = 0..job.sheets.len();
            let least: Vec<i64> = sheets.map(|stock| whole_price(job, matters(stock)) + surplus).collect();
            let until = search.of.min(search.slice_end);
            let aim = Aim { several: 3, deep: true, least: &least, slack, until };
            let mut best = vec![0; job.sheets.len()];
            for found in price::<i64>(self.tables, &sizes, &need, aim, search) {
                let stock = found.stock;
                best[stock] = best[stock].max(found.worth);
                for (worth, pattern) in found.patterns {
                    if worth > whole_price(job, prices.upper[stock]) + surplus {
                        learned |= self.pool.take(Column::new(pattern)).is_some() && bought(stock);
                    }
                }
            }
            let tariff = Tariff::new(job, sizes, covers, best);
            if !tariff.allows(job, have) {
                return Fit::Never(tariff);
            }
            if !learned && search.slice_over() {
                return Fit::Unknown;
            }
            if !learned && slack == 0 {
                return Fit::Fits(times);
            }
            if !learned {
                slack = 0;
            }
        }
    }

    /// The cheapest purchase not handed out yet that a fractional plan can do with, or none: all are dearer than
    /// `below`, or the slice of work is used up.
    pub(crate) fn next(&mut self, below: i64, repack: &mut Repack, search: &mut Search) -> Option<Candidate> {
        let job = self.job;
        let enough: i64 = job.sizes.iter().map(|size| size.need).sum();
        while !search.slice_over() {
            search.work += self.nodes.len() as u64;
            let open = |node: &Node| if node.open() { node.shown.proof.money } else { None };
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
                let Node { within, shown: Shown { proof, .. }, .. } = self.nodes[best].clone();
                let side = |least: i64, most: Option<i64>| {
                    let mut side = within.clone();
                    side[only] = Range { least, most };
                    side
                };
                self.held.push(Held { within: side(bought, Some(bought)), proof, cases: None });
                self.nodes[best].held = Some(self.held.len() - 1);
                let sides = [side(within[only].least, Some(bought - 1)), side(bought + 1, within[only].most)];
                self.split(best, sides, search);
                return Some(Candidate { have, money, roomy: true });
            }
            if priced.is_empty() {
                // All is free: whatever is there may be used.
                let Node { within, shown: Shown { proof, .. }, .. } = self.nodes[best].clone();
                self.held.push(Held { within, proof, cases: None });
                self.nodes[best].held = Some(self.held.len() - 1);
                return Some(Candidate { have, money: 0, roomy: true });
            }
            if self.ask(best, search) {
                continue;
            }
            let within = self.nodes[best].within.clone();
            if let Some(split) = self.fractional(&self.nodes[best].shown) {
                let at = self.nodes[best].shown.counts[split].floor() as i64;
                let mut below = within.clone();
                below[split].most = Some(at);
                let mut above = within;
                above[split].least = at + 1;
                self.split(best, [below, above], search);
                continue;
            }
            // A whole purchase.
            let counts = self.nodes[best].shown.counts.clone();
            priced.iter().for_each(|&j| have[j] = counts[j].round() as i64);
            if priced.iter().any(|&j| have[j] > enough) {
                // Nobody needs more sheets than pieces: what is left is out of reach.
                return None;
            }
            let mut rest = within;
            let mut sides = Vec::new();
            for &j in &priced {
                for below in [true, false] {
                    let mut side = rest.clone();
                    if below {
                        side[j].most = Some(have[j] - 1);
                    } else {
                        side[j].least = have[j] + 1;
                    }
                    sides.push(side);
                }
                rest[j] = Range { least: have[j], most: Some(have[j]) };
            }
            if self.tariffs.iter().any(|tariff| !tariff.allows(job, &have)) {
                sides.push(rest);
                self.split(best, sides, search);
                continue;
            }
            let times = match self.fit(&have, 1.0, repack, search) {
                Fit::Fits(times) => times,
                Fit::Never(tariff) => {
                    self.tariffs.push(tariff);
                    continue;
                }
                Fit::Unknown => return None,
            };
            let spent: i64 = priced.iter().map(|&j| job.sheets[j].price * have[j]).sum();
            let proof = self.show(&rest, 0, search)?.proof;
            self.held.push(Held { within: rest, proof, cases: None });
            self.nodes[best].held = Some(self.held.len() - 1);
            self.split(best, sides, search);
            return Some(Candidate { have, money: spent, roomy: times >= 1.0 + ROOMY });
        }
        None
    }

    /// Splits a box.
    fn split(&mut self, node: usize, parts: impl IntoIterator<Item = Box>, search: &mut Search) {
        for part in parts {
            let part = self.open(part, search);
            self.nodes[node].parts.extend(part);
        }
    }

    /// A new box, unless it is empty.
    fn open(&mut self, within: Box, search: &mut Search) -> Option<usize> {
        if within.iter().any(|r| r.most.is_some_and(|most| most < r.least)) {
            return None;
        }
        let shown = self.show(&within, 0, search)?;
        let asked = self.tariffs.len();
        self.nodes.push(Node { within, shown, asked, parts: Vec::new(), held: None });
        Some(self.nodes.len() - 1)
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
    ///
    /// A box that by now shows the bound as a whole is one leaf, however often it was split. What takes long to check is what
    /// layouts are worth at the prices of a leaf; so a box is shown with prices that another has already, where they do.
    pub(crate) fn certificate(&self, search: &mut Search) -> Certificate {
        let job = self.job;
        let mut leaves = Vec::new();
        let mut used: Vec<(usize, Turn)> = Vec::new();
        let mut boxes = vec![0];
        while let Some(at) = boxes.pop() {
            let node = &self.nodes[at];
            let proof = self.enough(&node.within, &mut used, search);
            if node.open() || proof.is_some() {
                let proof = proof.unwrap_or_else(|| node.shown.proof.clone());
                leaves.push(proof.leaf(job, &node.within));
                continue;
            }
            boxes.extend(&node.parts);
            if let Some(held) = node.held.map(|held| &self.held[held]) {
                match &held.cases {
                    None => {
                        let proof = self.enough(&held.within, &mut used, search);
                        leaves.push(proof.unwrap_or_else(|| held.proof.clone()).leaf(job, &held.within));
                    }
                    Some(cases) => leaves.extend(cases.iter().map(|case| case.leaf(job, &held.within))),
                }
            }
        }
        // Leaves of the same prices side by side: what their layouts are worth need be checked but once.
        let plain = |leaf: &Leaf| leaf.forks.is_empty().then(|| leaf.pieces.clone());
        leaves.sort_by_cached_key(plain);
        Certificate { scale: job.scale, proper: true, leaves }
    }

    /// A proof that a box shows the bound, if there is one: with prices in use, each a tariff turned by so much, or else with
    /// those that show most, which then are in use, too.
    fn enough(&self, within: &Box, used: &mut Vec<(usize, Turn)>, search: &mut Search) -> Option<Proof> {
        let job = self.job;
        search.work +=
            A_NUMBER * ((used.len() + self.tariffs.len()) * (job.sizes.len() + job.sheets.len())) as u64;
        let shows = |proof: &Proof| proof.money.is_none_or(|money| money >= self.bound);
        let turned = |&(tariff, turn): &(usize, Turn)| self.tariffs[tariff].turned_as(job, within, turn);
        let known = used.iter().filter_map(turned).find(shows);
        known.or_else(|| {
            let all = self.tariffs.iter().map(|tariff| tariff.prove(job, within)).enumerate();
            let (tariff, most) = all.max_by_key(|(_, shown)| shown.proof.money.unwrap_or(i64::MAX))?;
            shows(&most.proof).then(|| {
                used.push((tariff, most.turn));
                most.proof
            })
        })
    }
}

/// Down to what worth the best layout of each sheet matters. With one kind of sheet to buy all of it is bought at prices that
/// make it worth what it costs.
pub(crate) fn least(job: &Job, cost: &[f64]) -> Vec<f64> {
    let poor = if job.priced().len() > 1 { POOR } else { 1.0 };
    cost.iter().map(|cost| cost * poor).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::budget::{Budget, Progress};
    use crate::generate::{Wish, shop_job};

    /// Runs with a search for purchases of a job before anything was tried.
    fn with_purchases(
        seed: u64,
        wish: Wish,
        run: impl FnOnce(&Job, &mut Purchases, &mut Repack, &mut Search),
    ) {
        let problem = shop_job(seed, wish);
        let job = Job::new(&problem).unwrap();
        let tables = crate::pricing::tables(&job).unwrap();
        let mut ask = |_: &Progress| true;
        let mut search = Search::new(&Budget::default(), &mut ask);
        let mut repack = Repack::new(&job, &tables);
        let mut pool = Pool::default();
        let known = crate::columns::generate(&job, &tables, Vec::new(), &mut repack, &mut pool, &mut search);
        let mut purchases = Purchases::new(&job, &tables, pool, &known, &mut search);
        run(&job, &mut purchases, &mut repack, &mut search);
    }

    fn small(seed: u64) -> Wish {
        Wish { sizes: Some(4), kinds: Some(2 + (seed % 2) as usize), stages: Some(2) }
    }

    /// The first purchases come cheapest first; each holds everything in fractions, and of those as cheap that did not come
    /// some tariff says why.
    #[test]
    fn no_purchase_is_passed_over() {
        let mut passed = 0;
        for seed in 0..12 {
            with_purchases(seed, small(seed), |job, purchases, repack, search| {
                let kinds = job.priced();
                let mut found: Vec<Candidate> = Vec::new();
                for _ in 0..6 {
                    found.extend(purchases.next(i64::MAX, repack, search));
                }
                assert!(found.is_sorted_by_key(|candidate| candidate.money), "seed {seed}");
                purchases.multiple.learn(&purchases.pool);
                for Candidate { have, .. } in &found {
                    let holds = purchases.multiple.of(have, &mut 0).unwrap();
                    assert!(holds.times >= 1.0 - 1e-6, "seed {seed}: {have:?} {}", holds.times);
                    assert!(purchases.tariffs.iter().all(|tariff| tariff.allows(job, have)), "seed {seed}");
                }
                let last = found.last().unwrap();
                let mut all = vec![last.have.clone()];
                kinds.iter().for_each(|&kind| all[0][kind] = 0);
                for &kind in &kinds {
                    let most =
                        (last.money / job.sheets[kind].price).min(job.sheets[kind].limit.unwrap_or(i64::MAX));
                    let with = |have: Vec<i64>| {
                        (0..=most).map(move |n| {
                            let mut have = have.clone();
                            have[kind] = n;
                            have
                        })
                    };
                    all = all.into_iter().flat_map(with).collect();
                }
                for have in all {
                    let money: i64 = kinds.iter().map(|&kind| have[kind] * job.sheets[kind].price).sum();
                    if money < last.money && found.iter().all(|candidate| candidate.have != have) {
                        let told = purchases.tariffs.iter().any(|tariff| !tariff.allows(job, &have));
                        assert!(told, "seed {seed}: {have:?} for {money} was passed over");
                        passed += 1;
                    }
                }
            });
        }
        assert!(passed > 100, "{passed}");
    }

    /// Better layouts for a purchase make it hold more, until there are no better ones; and none is learned twice.
    #[test]
    fn a_purchase_is_enriched_as_far_as_it_goes() {
        let mut more = 0;
        for seed in 0..12 {
            with_purchases(seed, small(seed), |job, purchases, repack, search| {
                // Other sheets than the fractional plan of the whole asks for.
                let Candidate { mut have, .. } = purchases.next(i64::MAX, repack, search).unwrap();
                let kinds = job.priced();
                kinds.iter().for_each(|&kind| {
                    have[kind] = (have[kind] + 2).min(job.sheets[kind].limit.unwrap_or(i64::MAX))
                });
                let times = |purchases: &mut Purchases| {
                    purchases.multiple.learn(&purchases.pool);
                    purchases.multiple.of(&have, &mut 0).unwrap().times
                };
                let before = times(purchases);
                let news = purchases.enrich(&have, repack, search);
                let after = times(purchases);
                assert!(after >= before - 1e-9, "seed {seed}: {before} {after}");
                more += i32::from(after > before + 1e-4 && news < purchases.pool.columns.len());
                assert_eq!(
                    purchases.enrich(&have, repack, search),
                    purchases.pool.columns.len(),
                    "seed {seed}"
                );
                let known = purchases.pool.columns.clone();
                purchases.learn(known.clone().into_iter(), search);
                assert_eq!(purchases.pool.columns.len(), known.len(), "seed {seed}");
            });
        }
        assert!(more > 3, "{more}");
    }
}
