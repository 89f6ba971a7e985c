//! Slow and plain answers for tiny jobs, by trying every cut at every whole millimetre.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use crate::problem::{Direction, First, Problem};

/// Sizes in whole millimetres.
pub(crate) struct Tiny<'a> {
    problem: &'a Problem,
    stock: usize,
    x: i64,
    y: i64,
    rip_kerf: i64,
    crosscut_kerf: i64,
}

fn mm(length: stripwright_units::Length) -> i64 {
    assert_eq!(length.nm() % 1_000_000, 0, "tiny jobs are in whole millimetres");
    length.nm() / 1_000_000
}

fn other(direction: Direction) -> Direction {
    if direction == Direction::Rip { Direction::Crosscut } else { Direction::Rip }
}

pub(crate) fn firsts(problem: &Problem) -> Vec<Direction> {
    match problem.cutting.first {
        First::Rip => vec![Direction::Rip],
        First::Crosscut => vec![Direction::Crosscut],
        First::Either => vec![Direction::Rip, Direction::Crosscut],
    }
}

impl<'a> Tiny<'a> {
    pub(crate) fn new(problem: &'a Problem, stock: usize) -> Tiny<'a> {
        let sheet = &problem.stocks[stock];
        Tiny {
            problem,
            stock,
            x: mm(sheet.usable_length()),
            y: mm(sheet.usable_width()),
            rip_kerf: mm(problem.cutting.rip_kerf),
            crosscut_kerf: mm(problem.cutting.crosscut_kerf),
        }
    }

    /// A sheet too long to rip does not begin with rips; with three stages it may leave them out.
    fn firsts(&self) -> Vec<Direction> {
        let may_begin = |first: &Direction| {
            *first != Direction::Rip || self.may_rip(self.x) || self.problem.cutting.stages == 3
        };
        firsts(self.problem).into_iter().filter(may_begin).collect()
    }

    /// What the fence can be set for, `w` being ripped from a sheet: said in the words of `Cutting::fence_reach`.
    fn fence_can(&self, w: i64) -> bool {
        self.problem.cutting.fence_reach.is_none_or(|reach| {
            let reach = mm(reach);
            w == self.y || w <= reach || self.y - w - self.rip_kerf <= reach
        })
    }

    /// Pieces that may lie in a place of this size, after at most one trimming cut.
    fn in_place(&self, x: i64, y: i64) -> Vec<usize> {
        let cutting = &self.problem.cutting;
        let mut found = Vec::new();
        for (r, piece) in self.problem.pieces.iter().enumerate() {
            if !piece.stocks.contains(&self.stock) {
                continue;
            }
            let (l, w) = (mm(piece.length), mm(piece.width));
            let ways = if piece.may_turn { vec![(l, w), (w, l)] } else { vec![(l, w)] };
            for (l, w) in ways {
                let trimmed_once = (l == x && w <= y) || (w == y && l <= x);
                let ripped = w < self.y;
                let long = cutting.longest_rip.is_some_and(|most| l > mm(most));
                let narrow = ripped && cutting.smallest_rip.is_some_and(|least| w < mm(least));
                if trimmed_once && !long && !narrow && self.fence_can(w) {
                    found.push(r);
                }
            }
        }
        found
    }

    /// May a region `x` long be divided by rips at all?
    fn may_rip(&self, x: i64) -> bool {
        self.problem.cutting.longest_rip.is_none_or(|most| x <= mm(most))
    }

    /// The ways to cut off one part of a region next: (extent of the part, what is left after its kerf). The whole
    /// region is a part, too.
    fn parts(&self, direction: Direction, x: i64, y: i64) -> Vec<(i64, i64)> {
        let (whole, kerf) =
            if direction == Direction::Rip { (y, self.rip_kerf) } else { (x, self.crosscut_kerf) };
        if direction == Direction::Rip && !self.may_rip(x) {
            return vec![(whole, 0)];
        }
        (1..=whole).map(|part| (part, (whole - part - kerf).max(0))).collect()
    }

    /// The most worth of one sheet, each size any number of times, or up to `most` times in one innermost strip and
    /// no more strips of a width in one panel than pieces of that width.
    pub(crate) fn best(&self, prices: &[i64], most: Option<&[u64]>) -> i64 {
        let mut known = HashMap::new();
        let stages = self.problem.cutting.stages;
        let best = |first| self.worth(stages, first, self.x, self.y, prices, most, &mut known);
        self.firsts().into_iter().map(best).max().unwrap_or(0)
    }

    #[allow(clippy::too_many_arguments)]
    fn worth(
        &self,
        stages: u8,
        direction: Direction,
        x: i64,
        y: i64,
        prices: &[i64],
        most: Option<&[u64]>,
        known: &mut HashMap<(u8, Direction, i64, i64), i64>,
    ) -> i64 {
        if x <= 0 || y <= 0 {
            return 0;
        }
        if stages == 0 {
            return self.in_place(x, y).into_iter().map(|r| prices[r]).max().unwrap_or(0);
        }
        if let Some(&worth) = known.get(&(stages, direction, x, y)) {
            return worth;
        }
        let best = if let (1, Some(most)) = (stages, most) {
            let mut left = most.to_vec();
            self.strip(direction, x, y, prices, &mut left)
        } else if let (2, Some(most)) = (stages, most) {
            let mut left = self.strips_of_each_width(direction, prices, most);
            self.panel(direction, x, y, prices, most, &mut left, known)
        } else {
            let mut best = 0;
            for (part, rest) in self.parts(direction, x, y) {
                let rip = direction == Direction::Rip;
                if rip && !self.fence_can(part) {
                    continue;
                }
                let (inside, beside) = if rip { ((x, part), (x, rest)) } else { ((part, y), (rest, y)) };
                let one = self.worth(stages - 1, other(direction), inside.0, inside.1, prices, most, known);
                if one == 0 {
                    continue;
                }
                best = best.max(one + self.worth(stages, direction, beside.0, beside.1, prices, most, known));
            }
            best
        };
        known.insert((stages, direction, x, y), best);
        best
    }

    /// For each width that pieces of some worth have as they may lie: how many such pieces there may be.
    fn strips_of_each_width(&self, direction: Direction, prices: &[i64], most: &[u64]) -> BTreeMap<i64, u64> {
        let mut left = BTreeMap::new();
        for (r, piece) in self.problem.pieces.iter().enumerate() {
            let (l, w) = (mm(piece.length), mm(piece.width));
            let ways = if piece.may_turn && l != w { vec![(l, w), (w, l)] } else { vec![(l, w)] };
            for (l, w) in ways {
                let fits = l <= self.x && w <= self.y;
                if fits && prices[r] > 0 && most[r] > 0 && self.in_place(l, w).contains(&r) {
                    *left.entry(if direction == Direction::Rip { w } else { l }).or_default() += most[r];
                }
            }
        }
        left
    }

    /// A panel cut into strips, with what is left of strips of each width.
    #[allow(clippy::too_many_arguments)]
    fn panel(
        &self,
        direction: Direction,
        x: i64,
        y: i64,
        prices: &[i64],
        most: &[u64],
        left: &mut BTreeMap<i64, u64>,
        known: &mut HashMap<(u8, Direction, i64, i64), i64>,
    ) -> i64 {
        let rip = direction == Direction::Rip;
        let mut best = 0;
        for (part, rest) in self.parts(direction, x, y) {
            let width = left.range(..=part).next_back().map(|(&width, _)| width);
            let Some(width) = width.filter(|w| left[w] > 0 && (!rip || self.fence_can(part))) else {
                continue;
            };
            let (inside, beside) = if rip { ((x, part), (x, rest)) } else { ((part, y), (rest, y)) };
            let one = self.worth(1, other(direction), inside.0, inside.1, prices, Some(most), known);
            if one == 0 {
                continue;
            }
            *left.entry(width).or_default() -= 1;
            let more = if rest > 0 {
                self.panel(direction, beside.0, beside.1, prices, most, left, known)
            } else {
                0
            };
            *left.entry(width).or_default() += 1;
            best = best.max(one + more);
        }
        best
    }

    /// The last strip, with what is left of each size.
    fn strip(&self, direction: Direction, x: i64, y: i64, prices: &[i64], left: &mut Vec<u64>) -> i64 {
        let rip = direction == Direction::Rip;
        let mut best = 0;
        for (part, rest) in self.parts(direction, x, y) {
            if rip && !self.fence_can(part) {
                continue;
            }
            let place = if rip { (x, part) } else { (part, y) };
            for r in self.in_place(place.0, place.1) {
                if left[r] == 0 || prices[r] == 0 {
                    continue;
                }
                left[r] -= 1;
                let beside = if rip { (x, rest) } else { (rest, y) };
                let more = if rest > 0 { self.strip(direction, beside.0, beside.1, prices, left) } else { 0 };
                best = best.max(prices[r] + more);
                left[r] += 1;
            }
        }
        best
    }

    /// Every number of each size that one sheet can give, up to `wanted` of each.
    pub(crate) fn layouts(&self, wanted: &[u32]) -> BTreeSet<Vec<u32>> {
        let mut known = HashMap::new();
        let stages = self.problem.cutting.stages;
        let mut all = BTreeSet::from([vec![0; wanted.len()]]);
        for first in self.firsts() {
            all.extend(self.yields(stages, first, self.x, self.y, wanted, &mut known));
        }
        all
    }

    fn yields(
        &self,
        stages: u8,
        direction: Direction,
        x: i64,
        y: i64,
        wanted: &[u32],
        known: &mut HashMap<(u8, Direction, i64, i64), BTreeSet<Vec<u32>>>,
    ) -> BTreeSet<Vec<u32>> {
        let nothing = vec![0; wanted.len()];
        let mut all = BTreeSet::from([nothing.clone()]);
        if x <= 0 || y <= 0 {
            return all;
        }
        if stages == 0 {
            for r in self.in_place(x, y) {
                let mut one = nothing.clone();
                one[r] = 1.min(wanted[r]);
                all.insert(one);
            }
            return all;
        }
        if let Some(found) = known.get(&(stages, direction, x, y)) {
            return found.clone();
        }
        let rip = direction == Direction::Rip;
        for (part, rest) in self.parts(direction, x, y) {
            if rip && !self.fence_can(part) {
                continue;
            }
            let (inside, beside) = if rip { ((x, part), (x, rest)) } else { ((part, y), (rest, y)) };
            let ones = self.yields(stages - 1, other(direction), inside.0, inside.1, wanted, known);
            if ones.len() == 1 {
                continue;
            }
            let more = self.yields(stages, direction, beside.0, beside.1, wanted, known);
            for one in &ones {
                for two in &more {
                    all.insert(one.iter().zip(two).zip(wanted).map(|((a, b), w)| (a + b).min(*w)).collect());
                }
            }
        }
        known.insert((stages, direction, x, y), all.clone());
        all
    }
}

/// The least money for a tiny problem, or `None` when it cannot be met: every layout of every stock, every number of
/// every make, then a search over what is still wanted and what sheets are left.
pub(crate) fn least_money(problem: &Problem) -> Option<i64> {
    demands(problem).into_iter().filter_map(|wanted| least_money_for(problem, wanted)).min()
}

/// What may be wanted of each piece: as it is, and by makes that together yield every cover. No make is used more
/// often than the cover that wants it most.
pub(crate) fn demands(problem: &Problem) -> BTreeSet<Vec<u32>> {
    let plain: Vec<u32> = problem.pieces.iter().map(|p| p.count).collect();
    let covers: Vec<u32> = problem.covers.iter().map(|c| c.count).collect();
    let mut open = BTreeSet::from([(plain, covers)]);
    for make in &problem.makes {
        let mut next = BTreeSet::new();
        for (mut wanted, mut covers) in open {
            next.insert((wanted.clone(), covers.clone()));
            while make.yields.iter().any(|&(c, n)| n > 0 && covers[c] > 0) {
                make.yields.iter().for_each(|&(c, n)| covers[c] = covers[c].saturating_sub(n));
                make.uses.iter().for_each(|&(r, n)| wanted[r] += n);
                next.insert((wanted.clone(), covers.clone()));
            }
        }
        open = next;
    }
    open.into_iter().filter(|(_, covers)| covers.iter().all(|&c| c == 0)).map(|(wanted, _)| wanted).collect()
}

fn least_money_for(problem: &Problem, wanted: Vec<u32>) -> Option<i64> {
    let layouts: Vec<BTreeSet<Vec<u32>>> =
        (0..problem.stocks.len()).map(|j| Tiny::new(problem, j).layouts(&wanted)).collect();
    // More sheets than pieces are never needed.
    let pieces: u32 = wanted.iter().sum();
    let left: Vec<u32> = problem.stocks.iter().map(|s| s.limit.unwrap_or(pieces).min(pieces)).collect();
    let mut open = BTreeMap::from([((0i64, wanted, left), ())]);
    let mut seen = BTreeSet::new();
    while let Some(((money, wanted, left), ())) = open.pop_first() {
        if wanted.iter().all(|&w| w == 0) {
            return Some(money);
        }
        if !seen.insert((wanted.clone(), left.clone())) {
            continue;
        }
        for (j, stock) in problem.stocks.iter().enumerate().filter(|&(j, _)| left[j] > 0) {
            let mut fewer = left.clone();
            fewer[j] -= 1;
            for layout in &layouts[j] {
                let rest: Vec<u32> = wanted.iter().zip(layout).map(|(w, l)| w.saturating_sub(*l)).collect();
                if rest != wanted {
                    open.insert((money + stock.price.minor(), rest, fewer.clone()), ());
                }
            }
        }
    }
    None
}

/// Whether rectangles (x0, y0, x1, y1, in whole millimetres) can be cut from a sheet, by trying every cut at every
/// millimetre.
pub(crate) fn sawable(problem: &Problem, stock: usize, rects: &[[i64; 4]]) -> bool {
    let tiny = Tiny::new(problem, stock);
    let sheet = &problem.stocks[stock];
    let (left, low) = (mm(sheet.trim.left), mm(sheet.trim.bottom));
    let region = [left, low, left + tiny.x, low + tiny.y];
    let stages = problem.cutting.stages;
    let shop_can = |r: &[i64; 4]| {
        let (l, w) = (r[2] - r[0], r[3] - r[1]);
        let narrow = problem.cutting.smallest_rip.is_some_and(|least| w < mm(least));
        tiny.may_rip(l) && (w == tiny.y || (!narrow && tiny.fence_can(w)))
    };
    rects.iter().all(shop_can)
        && tiny.firsts().into_iter().any(|first| tiny.frees(stages, first, region, rects))
}

impl Tiny<'_> {
    fn frees(&self, stages: u8, direction: Direction, region: [i64; 4], rects: &[[i64; 4]]) -> bool {
        if rects.is_empty() {
            return true;
        }
        if stages == 0 {
            let wrong = |r: &[i64; 4]| (0..4).filter(|&k| r[k] != region[k]).count();
            return rects.len() == 1 && wrong(&rects[0]) <= 1;
        }
        if self.frees(stages - 1, other(direction), region, rects) {
            return true;
        }
        let (from, to, kerf) =
            if direction == Direction::Rip { (1, 3, self.rip_kerf) } else { (0, 2, self.crosscut_kerf) };
        if direction == Direction::Rip && !self.may_rip(region[2] - region[0]) {
            return false;
        }
        // The first part that is cut off may begin after waste, wherever that ends. Its cuts take a kerf where
        // there is room for it and overhang the edge where there is not.
        for start in region[from]..region[to] {
            for end in start + 1..=region[to] {
                if start == region[from] && end == region[to] {
                    continue;
                }
                if direction == Direction::Rip && !self.fence_can(end - start) {
                    continue;
                }
                let inside: Vec<[i64; 4]> =
                    rects.iter().copied().filter(|r| r[from] >= start && r[to] <= end).collect();
                let beyond: Vec<[i64; 4]> = rects.iter().copied().filter(|r| r[from] >= end + kerf).collect();
                if inside.is_empty() || inside.len() + beyond.len() != rects.len() {
                    continue;
                }
                let (mut part, mut rest) = (region, region);
                part[from] = start;
                part[to] = end;
                rest[from] = end + kerf;
                if self.frees(stages - 1, other(direction), part, &inside)
                    && (beyond.is_empty() || self.frees(stages, direction, rest, &beyond))
                {
                    return true;
                }
            }
        }
        false
    }
}
