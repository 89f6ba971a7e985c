//! What matters after money: less sheet, fewer fence settings, a larger offcut to keep, fewer layouts.
//!
//! The plan of least money is taken as it is and changed a little at a time: a piece goes to another sheet, a few sheets
//! are filled again, panels are cut wider, pieces turn. A change is kept when the plan then comes to less in
//! [`Points`], read off the layouts as they would be sawn. Points are compared from the first on, so nothing that counts
//! later ever worsens what counts before, and money and makes stay what they are.
//!
//! Changes are tried in a fixed order, with chance out of a seed, within a little work of their own.

mod fence;
mod less_sheet;
mod offcut;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use crate::answer::Answer;
use crate::budget::{Budget, Search};
use crate::generate::Seed;
use crate::layout;
use crate::master::Prices;
use crate::normalise::{Job, Lie, View};
use crate::plan::Plan;
use crate::problem::Problem;
use crate::repack::{Keep, Repack};
use crate::room::{Laid, fits, with_piece};
use crate::score::{Setting, area};
use crate::solve::MANY;

/// Money, area of the sheets as bought, fence settings, the largest offcut to keep (negative, for more is better) and
/// distinct layouts: the less the better, from the first on.
type Points = (i64, i128, usize, i128, usize);

/// Pieces of sizes, by ascending size.
type Pieces = Vec<(usize, i64)>;

/// A plan on its way: layouts with how often each is cut, in a fixed order.
type Sheets = Vec<(Laid, u32)>;

/// The most work that a plan may take: some hundredths of a second, which nobody at the saw notices.
const MOST: u64 = 50_000_000;

/// The share of the search's budget that is spent besides it, and no less than [`LEAST`].
const SHARE: u64 = 10;

/// So much that a job of a few sheets gets some tries however small the budget.
const LEAST: u64 = 1_000_000;

/// Sheets looked at for an offcut, and for others to share pieces with: those with the most room.
const ROOMY: usize = 6;

/// What writing a piece out costs, what reading a setting, and what looking at a layout of a plan, in units of work.
const A_PIECE: u64 = 250;
const A_SETTING: u64 = 25;
const A_LAYOUT: u64 = 2000;

/// How much work may go into refining after a search within this budget.
pub(crate) fn allowance(budget: &Budget) -> u64 {
    (budget.work / SHARE).clamp(LEAST, MOST)
}

/// The answer that a plan becomes, refined.
pub(crate) fn refine<'a>(
    problem: &Problem,
    job: &'a Job,
    plan: &Plan,
    repack: &mut Repack<'a>,
    search: &mut Search,
) -> Answer {
    let as_found = plan.answer(problem, job);
    let sheets = plan.layouts.iter().map(|(pattern, n)| (Laid::plain(pattern.clone()), *n)).collect();
    // Worth its area: what is placed first is what takes most room.
    repack.value(&Prices::default());
    repack.draw = Seed(1);
    let mut refiner = Refiner { problem, job, repack, search, known: BTreeMap::new(), sheets, points: NONE };
    refiner.run();
    let Refiner { sheets, .. } = refiner;
    let mut refined = Plan { makes: plan.makes.clone(), ..Plan::default() };
    for (Laid { pattern, cut_at }, n) in sheets {
        if !cut_at.is_empty() {
            refined.cut_at.insert(pattern.clone(), cut_at);
        }
        refined.layouts.push((pattern, n));
    }
    refined.gather();
    let refined = refined.answer(problem, job);
    // Naming pieces of equal size may part layouts, so that is asked once more of the answers themselves.
    let rank = |answer: &Answer| (answer.score(problem).rank(), answer.layouts.len());
    if rank(&refined) < rank(&as_found) { refined } else { as_found }
}

/// Before anything is measured.
const NONE: Points = (i64::MAX, i128::MAX, usize::MAX, i128::MAX, usize::MAX);

/// What a layout brings to the points of a plan.
struct Figures {
    settings: Vec<Setting>,
    offcut: i128,
}

struct Refiner<'r, 'a, 's> {
    problem: &'r Problem,
    job: &'a Job,
    repack: &'r mut Repack<'a>,
    search: &'r mut Search<'s>,
    /// Layouts measured so far.
    known: BTreeMap<Laid, Figures>,
    sheets: Sheets,
    points: Points,
}

impl Refiner<'_, '_, '_> {
    fn run(&mut self) {
        let sheets = std::mem::take(&mut self.sheets);
        self.consider(sheets);
        loop {
            let before = self.points;
            self.slice(3, Self::less_sheet);
            self.slice(2, Self::fewer_settings);
            self.slice(1, Self::larger_offcut);
            self.slice(1, Self::fewer_layouts);
            if self.points == before || self.search.over() {
                return;
            }
        }
    }

    /// Repeats a step as long as it betters the plan, within a part of the work that is left.
    fn slice(&mut self, part: u64, step: fn(&mut Self) -> bool) {
        let left = self.search.of.saturating_sub(self.search.work);
        self.search.slice_end = self.search.work + left / part;
        while !self.search.slice_over() && step(self) {}
        self.search.slice_end = u64::MAX;
    }

    // What a plan comes to.

    /// Keeps these sheets if they come to less than the plan does. They hold what the plan holds.
    fn consider(&mut self, sheets: Sheets) -> bool {
        let sheets = gathered(sheets);
        // One pattern is cut in one way: whoever saws it is not to tell two of a kind apart.
        let two_ways = sheets.windows(2).any(|two| two[0].0.pattern == two[1].0.pattern);
        if two_ways || !self.within_limits(&sheets) {
            return false;
        }
        let points = self.measure(&sheets);
        let better = points < self.points;
        if better {
            (self.sheets, self.points) = (sheets, points);
        }
        better
    }

    fn within_limits(&self, sheets: &Sheets) -> bool {
        let used = used(self.job, sheets);
        used.iter().zip(&self.job.sheets).all(|(&n, sheet)| n <= sheet.limit.unwrap_or(MANY))
    }

    fn measure(&mut self, sheets: &Sheets) -> Points {
        let (mut money, mut bought, mut offcut) = (0, 0, 0);
        let mut settings: Vec<Setting> = Vec::new();
        for (laid, n) in sheets {
            let stock = laid.pattern.stock;
            money += self.job.sheets[stock].price * i64::from(*n);
            bought += self.bought(stock) * i128::from(*n);
            let figures = self.figures(laid);
            offcut = figures.offcut.max(offcut);
            settings.extend(&figures.settings);
        }
        self.search.work += A_SETTING * settings.len() as u64 + A_LAYOUT * sheets.len() as u64;
        settings.sort_unstable();
        settings.dedup();
        (money, bought, settings.len(), -offcut, sheets.len())
    }

    /// A layout's figures, from what would be sawn.
    fn figures(&mut self, laid: &Laid) -> &Figures {
        if !self.known.contains_key(laid) {
            let Refiner { problem, job, .. } = *self;
            let pieces: i64 = laid.pattern.counts().iter().map(|c| c.1).sum();
            self.search.work += A_PIECE * (pieces as u64 + 4);
            let first = |size: usize| job.sizes[size].pieces[0];
            let sawn = layout::layout(problem, job, &laid.pattern, &laid.cut_at, 1, first);
            let figures = Figures {
                settings: sawn.fence_settings(problem),
                offcut: sawn.largest_offcut(problem).map_or(0, |region| area(&region)),
            };
            self.known.insert(laid.clone(), figures);
        }
        &self.known[laid]
    }

    /// Area of a sheet as bought.
    fn bought(&self, stock: usize) -> i128 {
        let stock = &self.problem.stocks[stock];
        stock.length.area_nm2(stock.width)
    }

    /// Area of a sheet between its trims.
    fn usable(&self, stock: usize) -> i128 {
        let sheet = &self.job.sheets[stock];
        i128::from(sheet.length) * i128::from(sheet.width)
    }

    fn piece_area(&self, size: usize) -> i128 {
        let size = &self.job.sizes[size];
        i128::from(size.length) * i128::from(size.width)
    }

    fn area_of(&self, pieces: &[(usize, i64)]) -> i128 {
        pieces.iter().map(|&(size, n)| self.piece_area(size) * i128::from(n)).sum()
    }

    /// What of a sheet holds no piece.
    fn room(&self, laid: &Laid) -> i128 {
        self.usable(laid.pattern.stock) - self.area_of(&laid.pattern.counts())
    }

    /// The layouts by falling room, as indices.
    fn roomiest(&mut self) -> Vec<usize> {
        self.search.work += A_LAYOUT * self.sheets.len() as u64;
        let mut order: Vec<(i128, usize)> =
            self.sheets.iter().enumerate().map(|(at, (laid, _))| (-self.room(laid), at)).collect();
        order.sort_unstable();
        order.into_iter().map(|(_, at)| at).collect()
    }

    /// The plan's settings, ascending, each with the layouts that need it.
    fn settings(&mut self) -> Vec<(Setting, Vec<usize>)> {
        let mut all: BTreeMap<Setting, Vec<usize>> = BTreeMap::new();
        for at in 0..self.sheets.len() {
            let laid = self.sheets[at].0.clone();
            for &setting in &self.figures(&laid).settings {
                all.entry(setting).or_default().push(at);
            }
        }
        all.into_iter().collect()
    }

    // Changes.

    /// The plan without so many sheets of some layouts, and with these instead.
    fn exchanged(&self, out: &[(usize, u32)], into: Sheets) -> Sheets {
        let mut sheets = self.sheets.clone();
        for &(at, n) in out {
            sheets[at].1 = sheets[at].1.saturating_sub(n);
        }
        sheets.extend(into);
        sheets
    }

    /// Pieces laid into gaps of other sheets one by one, largest first; with what found none.
    fn scattered(&mut self, mut sheets: Sheets, pieces: &[(usize, i64)]) -> (Sheets, Pieces) {
        let mut order: Vec<(i128, usize, i64)> =
            pieces.iter().map(|&(size, n)| (-self.piece_area(size), size, n)).collect();
        order.sort_unstable();
        let mut rooms: Vec<i128> = sheets.iter().map(|(laid, _)| self.room(laid)).collect();
        self.search.work += A_LAYOUT * sheets.len() as u64;
        let mut rest = Vec::new();
        for (area, size, n) in order {
            let area = -area;
            let mut left = n;
            while left > 0 && !self.search.slice_over() {
                // The fullest first, so that room stays together.
                let mut into: Vec<(i128, usize)> =
                    (0..sheets.len()).map(|at| (rooms[at], at)).filter(|&(room, _)| room >= area).collect();
                into.retain(|&(_, at)| sheets[at].1 > 0);
                into.sort_unstable();
                self.search.work += 60 * sheets.len() as u64;
                let found = into.into_iter().find_map(|(_, at)| {
                    let pattern = &sheets[at].0.pattern;
                    let mut lies = self.job.lies(size);
                    lies.find_map(|lie| with_piece(self.job, pattern, lie, &mut self.search.work))
                        .map(|laid| (at, laid))
                });
                let Some((at, laid)) = found else { break };
                sheets[at].1 -= 1;
                sheets.push((laid, 1));
                rooms.push(rooms[at] - area);
                left -= 1;
            }
            if left > 0 {
                rest.push((size, left));
            }
        }
        rest.sort_unstable();
        (sheets, rest)
    }

    /// Fills sheets of these kinds, one after the other, until all pieces have found a place.
    fn filled(&mut self, stocks: &[usize], pieces: &[(usize, i64)], keep: &Keep) -> Option<Vec<Laid>> {
        let mut left = vec![0; self.job.sizes.len()];
        pieces.iter().for_each(|&(size, n)| left[size] += n);
        let mut laid = Vec::new();
        for &stock in stocks {
            if left.iter().all(|&n| n == 0) || self.search.slice_over() {
                break;
            }
            let values = self.values();
            let filled = self.repack.fill_keeping(keep, stock, &left, &values, self.search)?;
            filled.counts.iter().for_each(|&(size, n)| left[size] -= n);
            laid.push(Laid::plain(filled.pattern));
        }
        let good = left.iter().all(|&n| n == 0) && laid.iter().all(|laid| fits(self.job, laid));
        good.then_some(laid)
    }

    /// Views with and without panels.
    fn ways(&self) -> Vec<(View, bool)> {
        let flat: &[bool] = if self.job.stages == 3 { &[true, false] } else { &[true] };
        self.job.views().iter().flat_map(|&view| flat.iter().map(move |&flat| (view, flat))).collect()
    }

    /// What pieces are worth where they are to fill a sheet: about their area.
    fn values(&mut self) -> Vec<f32> {
        const SPREADS: [f64; 3] = [0.0, 0.05, 0.2];
        let spread = SPREADS[self.repack.draw.between(0, 2) as usize];
        let largest = (0..self.job.sizes.len()).map(|s| self.piece_area(s)).max().unwrap_or(1) as f64;
        (0..self.job.sizes.len())
            .map(|size| {
                let share = self.piece_area(size) as f64 / largest;
                (share * (1.0 + spread * (2.0 * self.repack.chance() - 1.0))) as f32
            })
            .collect()
    }

    /// Ways to lie that ask for a setting the plan does not have, or for the one that is to go, where the size can lie
    /// otherwise; `None` when one of these pieces cannot do without the one that is to go, or only with a new one.
    fn barred(
        &self,
        settings: &[Setting],
        gone: Option<Setting>,
        pieces: &[(usize, i64)],
    ) -> Option<Vec<Lie>> {
        let width = |lie: &Lie| self.job.extents(*lie).1;
        let goes = |lie: &Lie| gone.is_some_and(|gone| gone.inside && gone.width.nm() == width(lie));
        let set = |lie: &Lie| settings.iter().any(|s| s.inside && s.width.nm() == width(lie));
        // As wide as a sheet it needs no rip, and out of reach another setting than its width.
        let unset = |lie: &Lie| {
            self.job.sheets.iter().any(|sheet| sheet.width == width(lie))
                || self.job.fence_reach.is_some_and(|reach| width(lie) > reach)
        };
        let mut barred = Vec::new();
        for size in 0..self.job.sizes.len() {
            let lies: Vec<Lie> = self.job.lies(size).collect();
            let otherwise = |lie: &Lie| !goes(lie) && (set(lie) || unset(lie));
            if lies.iter().any(goes) && !lies.iter().any(otherwise) && pieces.iter().any(|p| p.0 == size) {
                return None;
            }
            let some_set = lies.iter().any(|lie| !goes(lie) && set(lie));
            barred.extend(lies.into_iter().filter(|lie| goes(lie) || some_set && !set(lie)));
        }
        barred.sort_unstable();
        Some(barred)
    }

    // Fewer layouts.

    /// Sheets of one kind that hold the same, cut the same.
    fn fewer_layouts(&mut self) -> bool {
        let holds: Vec<(usize, Pieces)> =
            self.sheets.iter().map(|(laid, _)| (laid.pattern.stock, laid.pattern.counts())).collect();
        for a in 0..holds.len() {
            for b in (0..holds.len()).filter(|&b| b != a && holds[b] == holds[a]) {
                let (n, laid) = (self.sheets[b].1, self.sheets[a].0.clone());
                if self.consider(self.exchanged(&[(b, n)], vec![(laid, n)])) {
                    return true;
                }
            }
        }
        false
    }
}

/// Widths of what lies between fence and blade, ascending.
fn inside(settings: &[Setting]) -> Vec<i64> {
    settings.iter().filter(|s| s.inside).map(|s| s.width.nm()).collect()
}

/// How many sheets of each kind.
fn used(job: &Job, sheets: &Sheets) -> Vec<i64> {
    let mut used = vec![0; job.sheets.len()];
    sheets.iter().for_each(|(laid, n)| used[laid.pattern.stock] += i64::from(*n));
    used
}

/// Equal layouts together, in a fixed order, without those that are not cut.
fn gathered(mut sheets: Sheets) -> Sheets {
    sheets.retain(|(laid, n)| *n > 0 && !laid.pattern.panels.is_empty());
    sheets.sort_unstable();
    sheets.dedup_by(|next, kept| {
        next.0 == kept.0 && {
            kept.1 += next.1;
            true
        }
    });
    sheets
}
