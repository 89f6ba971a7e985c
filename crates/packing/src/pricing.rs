//! The layout worth most at given prices.
//!
//! Two stages (Gilmore and Gomory 1965): go through the widths from narrow to wide, adding the pieces of each width
//! to one knapsack along the strip; after each width the table says what the best strip of that width is worth. Then
//! a knapsack of strips across the sheet.
//!
//! Three stages: the same table, read at every length that a panel can have, gives the best panel of each length; then
//! a knapsack of panels along the sheet. There may be thousands of lengths, and each panel is a knapsack of its own, so
//! few of them are worked out. What a panel can be worth at most is told by its best strip, by the next longer panel
//! and by a rough knapsack whose sizes are rounded down; a layout that does not come near what matters is left alone
//! ([`Aim`]). Column generation seeks layouts roughly first ([`crate::repack::Repack::likely`]) and comes here
//! when that brings nothing more.

use crate::budget::Search;
use crate::knapsack::{Knapsack, Sums, Worth, floor, raster, reachable};
use crate::normalise::{Job, Lie, View};
use crate::refusal::Refusal;

mod tilted;

pub(crate) use tilted::Tilt;

/// A layout in brief: panels of strips of pieces. Two stages have one panel.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Pattern {
    pub(crate) stock: usize,
    pub(crate) view: View,
    pub(crate) panels: Vec<Vec<Strip>>,
}

/// Pieces side by side, with how many of each.
pub(crate) type Strip = Vec<(Lie, u32)>;

impl Pattern {
    /// How many of each size, by ascending size.
    pub(crate) fn counts(&self) -> Vec<(usize, i64)> {
        let mut all: Vec<(usize, i64)> =
            self.panels.iter().flatten().flatten().map(|&(lie, n)| (lie.size, i64::from(n))).collect();
        all.sort_unstable();
        all.dedup_by(|next, kept| {
            next.0 == kept.0 && {
                kept.1 += next.1;
                true
            }
        });
        all
    }
}

/// The most sums an axis may have. A table of half a million sums takes some milliseconds a size: a job beyond that
/// would not be solved in a sitting, and is refused with advice instead.
const MOST_SUMS: usize = 1 << 19;

/// The most numbers that the best strips of every width at every sum may be: a gigabyte and a quarter. Only many sizes in
/// hundredths of a millimetre need more, and are refused with the same advice.
const MOST_NUMBERS: usize = 160_000_000;

/// A size lying one way, kerf included, in whole grid units.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Item {
    pub(crate) lie: Lie,
    pub(crate) u: i64,
    pub(crate) v: i64,
}

/// A sheet as one table sees it.
#[derive(Clone, Debug)]
pub(crate) struct End {
    pub(crate) stock: usize,
    /// Usable extents in grid units, kerf included, rounded down.
    pub(crate) u: i64,
    pub(crate) v: i64,
    /// Where `u` stands among the table's sums.
    pub(crate) along: usize,
    /// Sums of widths, the last one `v`.
    pub(crate) across: Sums,
    /// Sums of panels, the last one `u`; empty for two stages.
    panel_sums: Sums,
    /// Whether one panel may take the whole sheet.
    pub(crate) whole: bool,
    /// Lengths of the panels that three stages may cut, in grid units; empty for two stages.
    pub(crate) panels: Vec<i64>,
}

/// Everything about one view of the sheets that allow the same pieces, made once.
pub(crate) struct Table {
    pub(crate) view: View,
    /// By ascending v, then u.
    pub(crate) items: Vec<Item>,
    /// Distinct widths: (v, end of its items).
    pub(crate) widths: Vec<(i64, usize)>,
    /// Sums of pieces.
    along: Sums,
    pub(crate) ends: Vec<End>,
}

/// The best strips of every width of a table, at certain prices.
pub(crate) struct Strips<'a, T> {
    table: &'a Table,
    sack: Knapsack<'a, T>,
    marks: Vec<usize>,
    /// By width: at every sum when `keep_all`, otherwise at each sheet's end.
    best: Vec<Vec<T>>,
    keep_all: bool,
    /// How many strips of each width a panel may hold: each has a piece of just that width.
    pub(crate) most: Vec<i64>,
}

impl<T: Worth> Strips<'_, T> {
    /// What the best strip of each width along the whole of a sheet is worth.
    pub(crate) fn at_end(&self, end: usize) -> Vec<T> {
        let at = if self.keep_all { self.table.ends[end].along } else { end };
        self.best.iter().map(|row| row[at]).collect()
    }

    /// The best strip of a width within the sum of this index.
    pub(crate) fn strip(&self, width: usize, along: usize) -> Strip {
        let mut strip: Strip = self
            .sack
            .trace(self.marks[width], along)
            .into_iter()
            .map(|(item, n)| (self.table.items[item].lie, n))
            .collect();
        strip.sort_unstable();
        strip
    }
}

/// A panel that a sheet may be cut into, while the best layout is sought.
struct Panel<T> {
    length: i64,
    /// Where its length stands among the table's sums.
    along: usize,
    /// What its best strips are worth together, or a bound on that.
    worth: T,
    known: Known,
}

/// How well it is known what a panel is worth.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Known {
    /// No more than its share of the best strip.
    Share,
    /// No more than with sizes rounded down.
    Roughly,
    Exactly,
}

/// Into how many parts a sheet is divided where sizes are rounded down to whole parts.
const ROUGH: i64 = 512;

/// How many likely panels are worked out at a time besides those of the best layout in sight: fewer repeat the
/// knapsack over the sheet more often, more work out panels that a better known layout would have spared.
const LIKELY: usize = 8;

/// Likewise, how many spread over all lengths.
const SPREAD: usize = 40;

fn larger<T: Worth>(a: T, b: T) -> T {
    if b > a { b } else { a }
}

/// What pricing is to look for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Aim<'a, T> {
    /// How many layouts a sheet: more than one is also runners-up.
    pub(crate) several: usize,
    /// Three stages, where the job has them. What follows is of interest only there.
    pub(crate) deep: bool,
    /// What a layout must be worth more than to matter, by sheet; with none, nothing. Where runners-up are asked for,
    /// no better layout is sought than one that matters.
    pub(crate) least: &'a [T],
    /// By how many ten-thousandths a layout must be worth more than that, or than the best one known. The last
    /// of these take longest to find.
    pub(crate) slack: i64,
    /// Work after which it ends with what is known by then: what no layout is worth more than is then a looser bound.
    pub(crate) until: u64,
}

/// What pricing found for one sheet in one view.
pub(crate) struct Found<T> {
    pub(crate) stock: usize,
    /// No layout is worth more: worth of the best one, or of one that would not have mattered.
    pub(crate) worth: T,
    /// Layouts with their worth, best first.
    pub(crate) patterns: Vec<(T, Pattern)>,
}

pub(crate) fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// All tables of a job.
pub(crate) fn tables(job: &Job) -> Result<Vec<Table>, Vec<Refusal>> {
    let mut tables: Vec<Table> = Vec::new();
    for view in job.views() {
        let mut groups: Vec<(Vec<Lie>, Vec<usize>)> = Vec::new();
        for stock in 0..job.sheets.len() {
            let lies: Vec<Lie> = (0..job.sizes.len())
                .flat_map(|size| job.lies(size))
                .filter(|&lie| job.may_lie(stock, lie))
                .collect();
            if lies.is_empty() {
                continue;
            }
            match groups.iter_mut().find(|(known, _)| *known == lies) {
                Some((_, stocks)) => stocks.push(stock),
                None => groups.push((lies, vec![stock])),
            }
        }
        for (lies, stocks) in groups {
            if let Some(table) = Table::new(job, view, &lies, &stocks)? {
                tables.push(table);
            }
        }
    }
    Ok(tables)
}

/// The best layouts of every sheet of all tables; see [`Table::price`].
pub(crate) fn price<T: Worth>(
    tables: &[Table],
    worth: &[T],
    need: &[i64],
    aim: Aim<T>,
    search: &mut Search,
) -> Vec<Found<T>> {
    if aim.deep && tables.len() > 1 {
        let work = tables.iter().map(Table::work).min().unwrap_or(0);
        let found = search.each(tables, work, |table, search| table.price(worth, need, aim, search));
        return found.into_iter().flatten().collect();
    }
    tables.iter().flat_map(|table| table.price(worth, need, aim, search)).collect()
}

impl Table {
    fn new(job: &Job, view: View, lies: &[Lie], stocks: &[usize]) -> Result<Option<Table>, Vec<Refusal>> {
        let (u_kerf, v_kerf) = job.kerfs(view);
        let extents = |lie: Lie| {
            let (u, v) = view.turn(job.extents(lie));
            (u + u_kerf, v + v_kerf)
        };
        let (u_grid, v_grid) =
            lies.iter().fold((0, 0), |(gu, gv), &lie| (gcd(extents(lie).0, gu), gcd(extents(lie).1, gv)));
        let mut items: Vec<Item> = lies
            .iter()
            .map(|&lie| Item { lie, u: extents(lie).0 / u_grid, v: extents(lie).1 / v_grid })
            .collect();
        items.sort_by_key(|i| (i.v, i.u, i.lie));
        let mut widths: Vec<(i64, usize)> = Vec::new();
        for (at, item) in items.iter().enumerate() {
            match widths.last_mut() {
                Some((v, end)) if *v == item.v => *end = at + 1,
                _ => widths.push((item.v, at + 1)),
            }
        }
        let mut ends: Vec<End> = Vec::new();
        for &stock in stocks {
            let sheet = &job.sheets[stock];
            let (u, v) = view.turn((sheet.length, sheet.width));
            let whole = view == View::Across || job.ripping_allowed(sheet.length);
            let panelled = job.stages == 3 && (view == View::Along || job.ripping_allowed(sheet.length));
            if whole || panelled {
                let (u, v) = ((u + u_kerf) / u_grid, (v + v_kerf) / v_grid);
                let panels = if panelled { vec![0] } else { Vec::new() };
                let (across, panel_sums) = (Sums::default(), Sums::default());
                ends.push(End { stock, u, v, along: 0, across, panel_sums, whole, panels });
            }
        }
        let Some(longest) = ends.iter().map(|e| e.u).max() else { return Ok(None) };
        let widest = ends.iter().map(|e| e.v).max().unwrap_or(0);
        let too_fine = || vec![Refusal::TooFine { stock: stocks[0] }];
        let sums = |of: fn(&Item) -> i64, limit: i64, counted: bool| {
            let sizes: Vec<(i64, i64)> = items
                .iter()
                .map(|i| (of(i), if counted { job.sizes[i.lie.size].need } else { i64::MAX }))
                .collect();
            reachable(&sizes, limit, MOST_SUMS)
        };
        let deep = ends.iter().any(|e| !e.panels.is_empty());
        // Strips and panels may repeat, although each holds no more of a size than is needed: only the pieces of
        // one strip are counted.
        let mut along = sums(|i| i.u, longest, !deep).ok_or_else(too_fine)?;
        if deep && along.len().saturating_mul(widths.len()) > MOST_NUMBERS {
            return Err(too_fine());
        }
        let across = sums(|i| i.v, widest, false).ok_or_else(too_fine)?;
        for end in &mut ends {
            end.across = Sums::quickest(raster(&across, &[end.v]));
            if deep && !end.panels.is_empty() {
                end.panels = panel_lengths(job, view, end, &along, u_grid, u_kerf);
                end.panel_sums = Sums::quickest(raster(&along, &[end.u]));
            }
        }
        if !deep {
            let limits: Vec<i64> = ends.iter().map(|e| e.u).collect();
            along = raster(&along, &limits);
        }
        let along = Sums::quickest(along);
        for end in &mut ends {
            end.along = floor(&along, end.u);
        }
        Ok(Some(Table { view, items, widths, along, ends }))
    }

    /// At least about what pricing one sheet takes.
    fn work(&self) -> u64 {
        (self.items.len() * self.along.len()) as u64
    }

    /// How many strips of each width there can be when so many pieces of each size are needed: a strip is as wide as
    /// its widest piece, so it holds at least one piece of just its width.
    pub(crate) fn most_strips(&self, need: &[i64]) -> Vec<i64> {
        let mut from = 0;
        self.widths
            .iter()
            .map(|&(_, to)| {
                let pieces = self.items[from..to].iter().map(|item| need[item.lie.size]).sum();
                from = to;
                pieces
            })
            .collect()
    }

    /// One pass over all widths: the best strip of every width, at every length.
    pub(crate) fn strips<T: Worth>(&self, worth: &[T], need: &[i64], work: &mut u64) -> Strips<'_, T> {
        let mut sack = Knapsack::<T>::new(&self.along);
        let mut marks = Vec::with_capacity(self.widths.len());
        let mut best = Vec::with_capacity(self.widths.len());
        let keep_all = self.ends.iter().any(|e| !e.panels.is_empty());
        let mut from = 0;
        for &(_, to) in &self.widths {
            for (index, item) in self.items[from..to].iter().enumerate() {
                sack.add(from + index, item.u, worth[item.lie.size], need[item.lie.size]);
            }
            from = to;
            marks.push(sack.mark());
            if keep_all {
                best.push(sack.best.clone());
            } else {
                best.push(self.ends.iter().map(|e| sack.best[e.along]).collect());
            }
        }
        *work += sack.work();
        Strips { table: self, sack, marks, best, keep_all, most: self.most_strips(need) }
    }

    /// The best layouts of every sheet of this table at the given worth of one piece of each size. `need` bounds the
    /// pieces of a size in a strip.
    pub(crate) fn price<T: Worth>(
        &self,
        worth: &[T],
        need: &[i64],
        aim: Aim<T>,
        search: &mut Search,
    ) -> Vec<Found<T>> {
        let Aim { several, deep, .. } = aim;
        let strips = self.strips(worth, need, &mut search.work);
        let whole = |index: usize, end: &End, work: &mut u64| {
            let column = strips.at_end(index);
            let strip = |width: usize| strips.strip(width, end.along);
            self.price_whole(end, &column, &strips.most, &strip, several, work)
        };
        if !deep || self.ends.iter().all(|end| end.panels.is_empty()) {
            let ends = self.ends.iter().enumerate().filter(|(_, end)| end.whole);
            return ends.map(|(index, end)| whole(index, end, &mut search.work)).collect();
        }
        let ends: Vec<usize> = (0..self.ends.len()).collect();
        let priced = search.each(&ends, self.work(), |&index, search| {
            let end = &self.ends[index];
            match end.panels.is_empty() {
                false => Some(self.price_panels(end, &strips, aim, search)),
                true => end.whole.then(|| whole(index, end, &mut search.work)),
            }
        });
        priced.into_iter().flatten().collect()
    }

    /// The best layouts of a sheet that is cut into strips at once. `column` is what the best strip of each width is
    /// worth, `most` how many of a width there may be.
    fn price_whole<T: Worth>(
        &self,
        end: &End,
        column: &[T],
        most: &[i64],
        strip: &dyn Fn(usize) -> Strip,
        several: usize,
        work: &mut u64,
    ) -> Found<T> {
        let panel = self.panel(column, most, end, work);
        let make = |widths: &[(usize, u32)]| {
            let strips =
                widths.iter().flat_map(|&(width, n)| std::iter::repeat_n(strip(width), n as usize)).collect();
            Pattern { stock: end.stock, view: self.view, panels: vec![strips] }
        };
        let best = panel.best[end.across.len() - 1];
        let mut patterns = vec![(best, make(&panel.trace(panel.mark(), end.across.len() - 1)))];
        if several > 1 {
            // Runners-up: each width once, and the best beside it.
            let mut others: Vec<(T, usize, usize)> = Vec::new();
            for (width, &(v, _)) in self.widths.iter().enumerate() {
                if v <= end.v && column[width] > T::default() {
                    let rest = floor(&end.across, end.v - v);
                    others.push((column[width] + panel.best[rest], width, rest));
                }
            }
            others.sort_by(|a, b| b.0.partial_cmp(&a.0).unwrap_or(std::cmp::Ordering::Equal));
            for (worth, width, rest) in others {
                if patterns.len() >= several {
                    break;
                }
                let mut widths = panel.trace(panel.mark(), rest);
                widths.push((width, 1));
                widths.sort_unstable_by(|a, b| b.cmp(a));
                let pattern = make(&widths);
                if !patterns.iter().any(|(_, known)| *known == pattern) {
                    patterns.push((worth, pattern));
                }
            }
        }
        Found { stock: end.stock, worth: best, patterns }
    }

    /// Strips across a panel: `column` is what the best strip of each width is worth, `most` how many of a width
    /// there may be.
    pub(crate) fn panel<'a, T: Worth>(
        &self,
        column: &[T],
        most: &[i64],
        end: &'a End,
        work: &mut u64,
    ) -> Knapsack<'a, T> {
        self.across(Knapsack::new(&end.across), column, most, work)
    }

    /// What the best of these are worth together.
    fn panel_worth<T: Worth>(&self, column: &[T], most: &[i64], end: &End, work: &mut u64) -> T {
        let panel = self.across(Knapsack::untraced(&end.across), column, most, work);
        panel.best[end.across.len() - 1]
    }

    fn across<'a, T: Worth>(
        &self,
        panel: Knapsack<'a, T>,
        column: &[T],
        most: &[i64],
        work: &mut u64,
    ) -> Knapsack<'a, T> {
        across(panel, column, most, self.widths.iter().map(|w| w.0), work)
    }

    fn price_panels<T: Worth>(
        &self,
        end: &End,
        strips: &Strips<T>,
        aim: Aim<T>,
        search: &mut Search,
    ) -> Found<T> {
        let least = aim.least.get(end.stock).copied().unwrap_or_default();
        let enough = |sure: T| sure.share(10_000 + aim.slack, 10_000);
        let column = |along: usize| -> Vec<T> { strips.best.iter().map(|row| row[along]).collect() };
        // What a panel is worth takes a knapsack of its own. That it is worth no more than its best strip, as often as
        // it fits with a fraction, takes one look; no more than a longer panel, none; and a rough knapsack, with sizes
        // rounded down, some hundredth of the real one. So panels are worked out only when they may be part of a
        // layout better than the best one known, or than what a layout must be worth to matter.
        let mut open: Vec<Panel<T>> = Vec::new();
        for &length in &end.panels {
            let along = floor(&self.along, length);
            // A longer panel with the same strips is not needed. (A bound no higher would be no reason to leave it
            // out: what it is worth may be.)
            if open.last().is_some_and(|last| strips.best.iter().all(|row| row[along] == row[last.along])) {
                continue;
            }
            let most = |(row, &(v, _)): (&Vec<T>, &(i64, usize))| row[along].share(end.v, v);
            let bound = strips.best.iter().zip(&self.widths).map(most).fold(T::default(), larger);
            if bound > T::default() {
                open.push(Panel { length, along, worth: bound, known: Known::Share });
            }
        }
        search.work += (end.panels.len() * self.widths.len()) as u64;
        let rough = Sums::from((0..=ROUGH).collect::<Vec<i64>>());
        let part = |size: i64, whole: i64| (i128::from(size) * i128::from(ROUGH) / i128::from(whole)) as i64;
        let rough_across = self.widths.first().is_some_and(|&(v, _)| part(v, end.v) > 0);
        let rough_along = open.first().is_some_and(|panel| part(panel.length, end.u) > 0);
        let mut fine = !rough_along;
        let last = end.panel_sums.len() - 1;
        let mut least_sure = least;
        // The panels that are worked out, side by side.
        let mut sure = Knapsack::<T>::untraced(&end.panel_sums);
        let mut most_worth = T::default();
        loop {
            let sums = if fine { &end.panel_sums } else { &rough };
            let extent = |length: i64| if fine { length } else { part(length, end.u) };
            let whole = sums.len() - 1;
            let mut sheet = Knapsack::<T>::new(sums);
            let mut before = T::default();
            for (index, panel) in open.iter().enumerate() {
                if panel.worth > before {
                    before = panel.worth;
                    sheet.add(index, extent(panel.length), panel.worth, i64::MAX);
                }
            }
            search.work += sheet.work();
            let reach =
                |panel: &Panel<T>| panel.worth + sheet.best[floor(sums, sums[whole] - extent(panel.length))];
            if sheet.best[whole] <= enough(least_sure) {
                // Nothing better is left to find.
                open.retain(|panel| panel.known == Known::Exactly);
                break;
            }
            if search.work >= aim.until || aim.several > 1 && search.stopped() {
                most_worth = sheet.best[whole];
                open.retain(|panel| panel.known == Known::Exactly);
                break;
            }
            let best: Vec<usize> =
                sheet.trace(sheet.mark(), whole).into_iter().map(|found| found.0).collect();
            let mut next: Vec<usize> =
                best.into_iter().filter(|&index| open[index].known != Known::Exactly).collect();
            if next.is_empty() {
                if fine {
                    break;
                }
                // Rough lengths say no more. (The next time round they may again.)
                fine = true;
                continue;
            }
            let mut likely: Vec<(T, usize)> = open
                .iter()
                .enumerate()
                .filter(|&(index, panel)| panel.known != Known::Exactly && !next.contains(&index))
                .map(|(index, panel)| (reach(panel), index))
                .filter(|&(reach, _)| reach > enough(least_sure))
                .collect();
            likely.sort_by(|a, b| b.0.partial_cmp(&a.0).unwrap_or(std::cmp::Ordering::Equal));
            // The likeliest, and of the others some spread over all lengths, as bounds for those between.
            let others = likely.split_off(likely.len().min(LIKELY));
            next.extend(likely.iter().map(|l| l.1));
            let mut others: Vec<usize> =
                others.iter().map(|l| l.1).filter(|&index| open[index].known == Known::Share).collect();
            others.sort_unstable();
            if rough_across {
                next.extend(others.iter().step_by(others.len() / SPREAD + 1));
            }
            let look = |&index: &usize| {
                let Panel { along, known, .. } = open[index];
                let (column, mut work) = (column(along), 0);
                let roughly = known == Known::Share && rough_across;
                let worth = if roughly {
                    let widths = self.widths.iter().map(|&(v, _)| part(v, end.v));
                    let sack = Knapsack::untraced(&rough);
                    across(sack, &column, &strips.most, widths, &mut work).best[rough.len() - 1]
                } else {
                    self.panel_worth(&column, &strips.most, end, &mut work)
                };
                (roughly, worth, work)
            };
            // With sums looked up one by one it takes more.
            let work = (self.widths.len() * end.across.len() / 8) as u64;
            let looked = search.crew.each(&next, work, look);
            for (index, (roughly, worth, work)) in next.into_iter().zip(looked) {
                let panel = &mut open[index];
                search.work += work;
                if roughly {
                    if worth < panel.worth {
                        panel.worth = worth;
                    }
                    panel.known = Known::Roughly;
                } else {
                    panel.worth = worth;
                    panel.known = Known::Exactly;
                    let before = sure.work();
                    sure.add(0, panel.length, panel.worth, i64::MAX);
                    search.work += sure.work() - before;
                }
            }
            let mut longer: Option<T> = None;
            for panel in open.iter_mut().rev() {
                match longer {
                    Some(worth) if worth < panel.worth => panel.worth = worth,
                    _ => {}
                }
                longer = Some(panel.worth);
            }
            if aim.several > 1 && sure.best[last] > least {
                // One that matters is found: better ones are sought at better prices.
                most_worth = sheet.best[whole];
                open.retain(|panel| panel.known == Known::Exactly);
                break;
            }
            least_sure = larger(least_sure, sure.best[last]);
            // What can come to nothing better, or to no more than a shorter one, is done with.
            let mut shorter = T::default();
            open.retain(|panel| {
                if panel.known == Known::Exactly {
                    shorter = larger(shorter, panel.worth);
                    return true;
                }
                let rest = floor(sums, sums[whole] - extent(panel.length));
                panel.worth > shorter && panel.worth + sheet.best[rest] > enough(least_sure)
            });
            fine = !rough_along;
        }
        let mut sheet = Knapsack::<T>::new(&end.panel_sums);
        let mut before = T::default();
        let mut panels: Vec<(i64, T)> = Vec::new();
        for panel in open.iter().filter(|panel| panel.known == Known::Exactly) {
            if panel.worth > before {
                before = panel.worth;
                sheet.add(panels.len(), panel.length, panel.worth, i64::MAX);
                panels.push((panel.length, panel.worth));
            }
        }
        search.work += sheet.work();
        let mut make = |chosen: &[(usize, u32)]| {
            let mut out = Vec::new();
            for &(index, n) in chosen {
                let along = floor(&self.along, panels[index].0);
                let panel = self.panel(&column(along), &strips.most, end, &mut search.work);
                let panel_strips: Vec<Strip> = panel
                    .trace(panel.mark(), end.across.len() - 1)
                    .iter()
                    .flat_map(|&(width, n)| std::iter::repeat_n(strips.strip(width, along), n as usize))
                    .collect();
                out.extend(std::iter::repeat_n(panel_strips, n as usize));
            }
            Pattern { stock: end.stock, view: self.view, panels: out }
        };
        let best = sheet.best[last];
        let mut patterns = vec![(best, make(&sheet.trace(sheet.mark(), last)))];
        if aim.several > 1 {
            let mut others: Vec<(T, usize, usize)> = panels
                .iter()
                .enumerate()
                .filter(|(_, p)| p.0 <= end.u)
                .map(|(index, &(length, worth))| {
                    let rest = floor(&end.panel_sums, end.u - length);
                    (worth + sheet.best[rest], index, rest)
                })
                .collect();
            others.sort_by(|a, b| b.0.partial_cmp(&a.0).unwrap_or(std::cmp::Ordering::Equal));
            for (worth, index, rest) in others {
                if patterns.len() >= aim.several {
                    break;
                }
                let mut chosen = sheet.trace(sheet.mark(), rest);
                chosen.push((index, 1));
                chosen.sort_unstable_by(|a, b| b.cmp(a));
                let pattern = make(&chosen);
                if !patterns.iter().any(|(_, known)| known.counts() == pattern.counts()) {
                    patterns.push((worth, pattern));
                }
            }
        }
        Found { stock: end.stock, worth: larger(most_worth, enough(larger(best, least_sure))), patterns }
    }
}

/// Strips of these widths, ascending, across the whole of an empty panel.
fn across<'a, T: Worth>(
    mut panel: Knapsack<'a, T>,
    column: &[T],
    most: &[i64],
    widths: impl Iterator<Item = i64>,
    work: &mut u64,
) -> Knapsack<'a, T> {
    let room = panel.room();
    let mut before = T::default();
    for (width, v) in widths.enumerate() {
        // A wider strip that is worth no more than a narrower one of which there may be any number is not needed.
        if column[width] > before {
            panel.add(width, v, column[width], most[width]);
            if most[width] >= room / v {
                before = column[width];
            }
        }
    }
    *work += panel.work();
    panel
}

/// The lengths a panel may have: sums of pieces up to half the sheet, and what these leave of it. A longer panel
/// beside others that take `s` may as well take all but the greatest such sum. Where the saw's limits forbid some
/// lengths, every sum is tried, and the least length beyond the fence's reach.
fn panel_lengths(job: &Job, view: View, end: &End, along: &[i64], grid: i64, kerf: i64) -> Vec<i64> {
    let mut lengths: Vec<i64> = Vec::new();
    let fenced = view == View::Across && (job.fence_reach.is_some() || job.smallest_rip.is_some());
    let limited = view == View::Along && job.longest_rip.is_some();
    if fenced || limited {
        lengths.extend(along.iter().filter(|&&s| s > 0 && s <= end.u));
        lengths.push(end.u);
        if let (true, Some(reach)) = (fenced, job.fence_reach) {
            let least = job.sheets[end.stock].width - job.rip_kerf - reach + kerf;
            lengths.push((least + grid - 1).div_euclid(grid).clamp(1, end.u));
        }
        lengths.retain(|&length| {
            let extent = length * grid - kerf;
            if length == end.u && end.whole {
                true
            } else if fenced {
                job.rip_allowed(end.stock, extent)
            } else {
                job.ripping_allowed(extent)
            }
        });
    } else {
        for &sum in along.iter().take_while(|&&s| 2 * s <= end.u) {
            if sum > 0 {
                lengths.push(sum);
            }
            lengths.push(end.u - sum);
        }
    }
    lengths.sort_unstable();
    lengths.dedup();
    lengths
}
