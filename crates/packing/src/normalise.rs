//! The job in the solver's own terms: merged sizes, kerf folded into lengths, one kind of axis.
//!
//! **Kerf.** Pieces `l1 .. ln` cut side by side from a length `L` with kerf `k` need `l1 + .. + ln + (n - 1) k <= L`,
//! which is `(l1 + k) + .. + (ln + k) <= L + k`: add one kerf to every piece and one to the sheet, and there is no
//! kerf any more. Here that is done once, with the crosscut kerf along x and the rip kerf along y.
//!
//! **Views.** The solver always thinks of strips that lie along an axis `u` and are stacked along `v`. With `u = x`
//! ([`View::Along`]) strips are rips, cut to pieces by crosscuts; with `u = y` ([`View::Across`]) they are panels
//! between crosscuts, cut to pieces by rips. Three stages first cut the sheet into panels along `u`.
//!
//! **Sizes.** Pieces of equal size, turning and sheets are one size to the solver and are told apart again when the
//! answer is written.

use std::collections::{BTreeMap, BTreeSet};

use stripwright_units::Length;

use crate::problem::{First, Piece, Problem, Stock};
use crate::refusal::Refusal;

/// Which axis strips lie along.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum View {
    /// Strips along the sheet's length: `u = x`, `v = y`.
    Along,
    /// Strips across the sheet: `u = y`, `v = x`.
    Across,
}

impl View {
    /// (x, y) as (u, v), and the reverse.
    pub(crate) fn turn<T>(self, (x, y): (T, T)) -> (T, T) {
        match self {
            View::Along => (x, y),
            View::Across => (y, x),
        }
    }
}

/// One merged size.
#[derive(Clone, Debug)]
pub(crate) struct Size {
    /// Indices into `Problem::pieces` of the pieces of this size.
    pub(crate) pieces: Vec<usize>,
    /// Extents in nm, without kerf.
    pub(crate) length: i64,
    pub(crate) width: i64,
    pub(crate) may_turn: bool,
    pub(crate) stocks: Vec<usize>,
    /// Plain demand.
    pub(crate) count: i64,
    /// The most a plan without surplus needs.
    pub(crate) need: i64,
}

/// A size as it lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Lie {
    pub(crate) size: usize,
    pub(crate) turned: bool,
}

/// A make over merged sizes.
#[derive(Clone, Debug)]
pub(crate) struct Make {
    pub(crate) yields: Vec<(usize, i64)>,
    pub(crate) uses: Vec<(usize, i64)>,
    /// The most uses of a plan without surplus; none where a piece that it uses fits no sheet.
    pub(crate) most: i64,
}

/// A sheet's usable part and money.
#[derive(Clone, Debug)]
pub(crate) struct Sheet {
    pub(crate) length: i64,
    pub(crate) width: i64,
    pub(crate) price: i64,
    /// How many there are; `None` is any number.
    pub(crate) limit: Option<i64>,
    /// As bought, in square millimetres: only ever compared, never claimed.
    pub(crate) area: f64,
}

/// The whole job.
#[derive(Clone, Debug)]
pub(crate) struct Job {
    pub(crate) sizes: Vec<Size>,
    pub(crate) sheets: Vec<Sheet>,
    pub(crate) covers: Vec<i64>,
    pub(crate) makes: Vec<Make>,
    pub(crate) rip_kerf: i64,
    pub(crate) crosscut_kerf: i64,
    pub(crate) longest_rip: Option<i64>,
    pub(crate) fence_reach: Option<i64>,
    pub(crate) smallest_rip: Option<i64>,
    pub(crate) first: First,
    pub(crate) stages: u8,
    /// Merged size of each piece; `None` for pieces that nothing needs.
    pub(crate) size_of: Vec<Option<usize>>,
    /// Whole-number prices are minor units of money times this.
    pub(crate) scale: i64,
}

/// [`Job::scale`] makes the dearest sheet cost about this: twelve digits, so that rounding prices down loses nothing that a sum
/// of sheet prices could notice, and a sheet's worth, which is a sum of at most some thousand prices, stays far inside an
/// `i64`.
const WHOLE_DEAREST: i64 = 1_000_000_000_000;

/// The scale of whole-number prices for these sheets.
pub(crate) fn scale(stocks: &[Stock]) -> i64 {
    let dearest = stocks.iter().map(|stock| stock.price.minor()).max().unwrap_or(0);
    (WHOLE_DEAREST / dearest.max(1)).max(1)
}

impl Job {
    /// Checks and merges a problem.
    pub(crate) fn new(problem: &Problem) -> Result<Job, Vec<Refusal>> {
        let refusals = check(problem);
        if !refusals.is_empty() {
            return Err(refusals);
        }
        let need = problem.most_needed();
        let mut sizes: Vec<Size> = Vec::new();
        let mut size_of = vec![None; problem.pieces.len()];
        let mut known = BTreeMap::new();
        for (index, piece) in problem.pieces.iter().enumerate() {
            if need[index] == 0 {
                continue;
            }
            let may_turn = piece.may_turn && piece.length != piece.width;
            let mut extents = (piece.length.nm(), piece.width.nm());
            // Two turning pieces of the same extents are one size however they were written down.
            let key_extents =
                if may_turn { (extents.0.max(extents.1), extents.0.min(extents.1)) } else { extents };
            let mut stocks = piece.stocks.clone();
            stocks.sort_unstable();
            stocks.dedup();
            let at = *known.entry((key_extents, may_turn, stocks.clone())).or_insert_with(|| {
                if may_turn {
                    extents = key_extents;
                }
                sizes.push(Size {
                    pieces: Vec::new(),
                    length: extents.0,
                    width: extents.1,
                    may_turn,
                    stocks,
                    count: 0,
                    need: 0,
                });
                sizes.len() - 1
            });
            sizes[at].pieces.push(index);
            sizes[at].count += i64::from(piece.count);
            sizes[at].need += i64::try_from(need[index]).unwrap_or(i64::MAX / 4).min(1 << 40);
            size_of[index] = Some(at);
        }
        let sheets = problem.stocks.iter().map(|stock| Sheet {
            length: stock.usable_length().nm(),
            width: stock.usable_width().nm(),
            price: stock.price.minor(),
            limit: stock.limit.map(i64::from),
            area: stock.length.to_mm() * stock.width.to_mm(),
        });
        let makes = problem.makes.iter().map(|make| {
            let mut uses: BTreeMap<usize, i64> = BTreeMap::new();
            for &(piece, n) in &make.uses {
                if let Some(size) = size_of[piece] {
                    *uses.entry(size).or_default() += i64::from(n);
                }
            }
            Make {
                yields: make.yields.iter().map(|&(cover, n)| (cover, i64::from(n))).collect(),
                uses: uses.into_iter().filter(|&(_, n)| n > 0).collect(),
                most: i64::try_from(problem.most_uses(make)).unwrap_or(i64::MAX),
            }
        });
        let mut job = Job {
            makes: makes.collect(),
            sheets: sheets.collect(),
            covers: problem.covers.iter().map(|c| i64::from(c.count)).collect(),
            rip_kerf: problem.cutting.rip_kerf.nm(),
            crosscut_kerf: problem.cutting.crosscut_kerf.nm(),
            longest_rip: problem.cutting.longest_rip.map(Length::nm),
            fence_reach: problem.cutting.fence_reach.map(Length::nm),
            smallest_rip: problem.cutting.smallest_rip.map(Length::nm),
            first: problem.cutting.first,
            stages: problem.cutting.stages,
            size_of,
            sizes,
            scale: scale(&problem.stocks),
        };
        let refusals = job.misfits(problem);
        if refusals.is_empty() { Ok(job) } else { Err(refusals) }
    }

    /// Extents of a size as it lies: (x, y).
    pub(crate) fn extents(&self, lie: Lie) -> (i64, i64) {
        let size = &self.sizes[lie.size];
        if lie.turned { (size.width, size.length) } else { (size.length, size.width) }
    }

    /// The ways a size may lie.
    pub(crate) fn lies(&self, size: usize) -> impl Iterator<Item = Lie> + use<> {
        let turns = self.sizes[size].may_turn;
        [false, true]
            .into_iter()
            .filter(move |&turned| turns || !turned)
            .map(move |turned| Lie { size, turned })
    }

    /// Kerfs as (between pieces along u, between strips along v).
    pub(crate) fn kerfs(&self, view: View) -> (i64, i64) {
        view.turn((self.crosscut_kerf, self.rip_kerf))
    }

    /// Kinds of sheet that cost something and can be had.
    pub(crate) fn priced(&self) -> Vec<usize> {
        (0..self.sheets.len())
            .filter(|&j| self.sheets[j].price > 0 && self.sheets[j].limit != Some(0))
            .collect()
    }

    /// The views whose layouts the job allows: two stages take the first cut as named, three stages start with
    /// panels along `u`, so rips first are strips across.
    pub(crate) fn views(&self) -> Vec<View> {
        match (self.first, self.stages) {
            (First::Rip, 2) | (First::Crosscut, 3) => vec![View::Along],
            (First::Crosscut, 2) | (First::Rip, 3) => vec![View::Across],
            _ => vec![View::Along, View::Across],
        }
    }

    /// Whether the saw can give a kept width `y` on this sheet.
    pub(crate) fn rip_allowed(&self, sheet: usize, y: i64) -> bool {
        let whole = self.sheets[sheet].width;
        let wide = self.fence_reach.is_none_or(|reach| y <= reach || whole - y - self.rip_kerf <= reach);
        let narrow = self.smallest_rip.is_none_or(|least| y >= least || y == whole);
        wide && narrow
    }

    /// Whether a region of this extent along x can be ripped.
    pub(crate) fn ripping_allowed(&self, x: i64) -> bool {
        self.longest_rip.is_none_or(|longest| x <= longest)
    }

    /// Whether a size may lie so on this sheet: allowed, fitting, and within the saw's limits.
    pub(crate) fn may_lie(&self, sheet: usize, lie: Lie) -> bool {
        let (x, y) = self.extents(lie);
        let s = &self.sheets[sheet];
        self.sizes[lie.size].stocks.contains(&sheet)
            && s.limit != Some(0)
            && x <= s.length
            && y <= s.width
            && self.rip_allowed(sheet, y)
            && self.ripping_allowed(x)
            // Rips first of two stages run the whole sheet.
            && (self.stages == 3 || self.first != First::Rip || self.ripping_allowed(s.length))
    }

    /// Refuses what cannot be had because a size fits nowhere. Makes that use such a size are barred, which matters
    /// only where no other make yields the same cover.
    fn misfits(&mut self, problem: &Problem) -> Vec<Refusal> {
        let fits = |size: usize| {
            (0..self.sheets.len()).any(|sheet| self.lies(size).any(|lie| self.may_lie(sheet, lie)))
        };
        let misfit: Vec<bool> = (0..self.sizes.len()).map(|size| !fits(size)).collect();
        let mut missed: BTreeSet<usize> =
            (0..self.sizes.len()).filter(|&size| misfit[size] && self.sizes[size].count > 0).collect();
        let barred: Vec<bool> =
            self.makes.iter().map(|make| make.uses.iter().any(|&(size, _)| misfit[size])).collect();
        for cover in (0..self.covers.len()).filter(|&cover| self.covers[cover] > 0) {
            let yielding = |make: &usize| self.makes[*make].yields.iter().any(|&(c, n)| c == cover && n > 0);
            let makes: Vec<usize> = (0..self.makes.len()).filter(yielding).collect();
            if makes.iter().all(|&make| barred[make]) {
                let uses = makes.iter().flat_map(|&make| &self.makes[make].uses);
                missed.extend(uses.map(|&(size, _)| size).filter(|&size| misfit[size]));
            }
        }
        for (make, barred) in self.makes.iter_mut().zip(barred) {
            if barred {
                make.most = 0;
            }
        }
        let pieces: BTreeSet<usize> =
            missed.iter().flat_map(|&size| &self.sizes[size].pieces).copied().collect();
        let refusal = |piece| Refusal::PieceFitsNowhere {
            piece,
            nearest: nearest_sheet(problem, &problem.pieces[piece]),
        };
        pieces.into_iter().map(refusal).collect()
    }
}

/// The allowed sheet that a piece misses by the least sum of length and width.
fn nearest_sheet(problem: &Problem, piece: &Piece) -> Option<(usize, Length, Length)> {
    let mut nearest = None;
    for &index in piece.stocks.iter().filter(|&&s| problem.stocks[s].limit != Some(0)) {
        let stock = &problem.stocks[index];
        for (x, y) in [(piece.length, piece.width), (piece.width, piece.length)] {
            if (x, y) != (piece.length, piece.width) && !piece.may_turn {
                continue;
            }
            let over = (x - stock.usable_length()).max(Length::ZERO);
            let wide = (y - stock.usable_width()).max(Length::ZERO);
            if nearest.is_none_or(|(_, l, w)| over + wide < l + w) {
                nearest = Some((index, over, wide));
            }
        }
    }
    nearest
}

/// Everything that must hold before any arithmetic is done.
fn check(problem: &Problem) -> Vec<Refusal> {
    let mut bad = Vec::new();
    let length = |l: Length| l >= Length::ZERO && l <= Length::LONGEST;
    let positive = |l: Length| l.is_positive() && l <= Length::LONGEST;
    const BILLION: i64 = 1_000_000_000;
    if !(2..=3).contains(&problem.cutting.stages) {
        bad.push(Refusal::Stages(problem.cutting.stages));
    }
    for (index, piece) in problem.pieces.iter().enumerate() {
        if !positive(piece.length) || !positive(piece.width) {
            bad.push(Refusal::OutOfRange { what: "length or width of piece", index });
        }
        if piece.stocks.iter().any(|&s| s >= problem.stocks.len()) {
            bad.push(Refusal::UnknownIndex { what: "piece", index });
        }
    }
    for (index, stock) in problem.stocks.iter().enumerate() {
        let t = stock.trim;
        if !positive(stock.length) || !positive(stock.width) {
            bad.push(Refusal::OutOfRange { what: "length or width of sheet", index });
        }
        if ![t.left, t.right, t.bottom, t.top].into_iter().all(length) {
            bad.push(Refusal::OutOfRange { what: "trim of sheet", index });
        }
        if !(0..=100 * BILLION).contains(&stock.price.minor()) {
            bad.push(Refusal::OutOfRange { what: "price of sheet", index });
        }
    }
    for (index, make) in problem.makes.iter().enumerate() {
        if make.yields.iter().any(|&(cover, _)| cover >= problem.covers.len())
            || make.uses.iter().any(|&(piece, _)| piece >= problem.pieces.len())
        {
            bad.push(Refusal::UnknownIndex { what: "make", index });
        }
    }
    let cutting = &problem.cutting;
    if !length(cutting.rip_kerf) || !length(cutting.crosscut_kerf) {
        bad.push(Refusal::OutOfRange { what: "kerf of the saw, number", index: 0 });
    }
    if bad.is_empty() {
        for (cover, wanted) in problem.covers.iter().enumerate() {
            let yields = |m: &crate::Make| m.yields.iter().any(|&(c, n)| c == cover && n > 0);
            if wanted.count > 0 && !problem.makes.iter().any(yields) {
                bad.push(Refusal::CoverWithoutMake { cover });
            }
        }
        for (index, &need) in problem.most_needed().iter().enumerate() {
            if need > BILLION as u64 {
                bad.push(Refusal::OutOfRange { what: "count of piece", index });
            }
        }
    }
    bad
}
