//! What a plan has a whole number of: sheets cut one way, strips of a width on them, pieces of a size in these strips.
//!
//! Strips are counted by the width of their widest piece, which is what [`Table::price_tilted`] makes of them. Sheets are
//! counted kind by kind, and together with all that give strips of the same length.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Neg;

use stripwright_units::Length;

use crate::certificate::{self, Counted};
use crate::knapsack::Worth;
use crate::master::Column;
use crate::normalise::{Job, View};
use crate::pricing::{Pattern, Table, Tilt};
use crate::problem::Direction;

/// What is counted on sheets of some kinds, cut in one view: they share a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Count {
    pub(super) table: usize,
    /// Which of the table's spans of sheets.
    pub(super) span: usize,
    pub(super) what: What,
}

/// What is counted on a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum What {
    /// The sheet.
    Sheets,
    /// Strips of a width, by index into the table's widths.
    Strips { width: usize },
    /// Pieces of a size in strips of a width.
    Pieces { width: usize, size: usize },
}

/// One side of a case distinction: at most so many, or more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Fork {
    pub(super) count: Count,
    pub(super) at: i64,
    pub(super) more: bool,
}

impl Fork {
    /// The number that the side keeps to.
    pub(super) fn limit(&self) -> i64 {
        self.at + i64::from(self.more)
    }

    /// What is paid for each one counted: the price where there must be more, and less than nothing where there may not.
    pub(super) fn paid<T: Neg<Output = T>>(&self, price: T) -> T {
        if self.more { price } else { -price }
    }
}

/// A strip: its width, by index into the table's widths, and how many of each size, ascending.
type Strip = (usize, Vec<(usize, i64)>);

/// A layout, and what is counted in it.
pub(super) struct Known {
    pub(super) column: Column,
    /// Table and end.
    place: (usize, usize),
    /// Ascending.
    strips: Vec<Strip>,
}

/// The layouts known, and what can be counted in them.
pub(super) struct Counts<'a> {
    job: &'a Job,
    pub(super) tables: &'a [Table],
    have: Vec<i64>,
    /// By table, which ends are counted together.
    spans: Vec<Vec<Vec<usize>>>,
    pub(super) known: Vec<Known>,
    seen: BTreeSet<((usize, usize), Vec<Strip>)>,
}

impl<'a> Counts<'a> {
    /// For the sheets of a purchase.
    pub(super) fn new(job: &'a Job, tables: &'a [Table], have: &[i64]) -> Self {
        let spans = |table: &Table| {
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
        };
        let spans = tables.iter().map(spans).collect();
        Counts { job, tables, have: have.to_vec(), spans, known: Vec::new(), seen: BTreeSet::new() }
    }

    /// Takes a layout of two stages in; returns its index when it is new and on a sheet of the purchase.
    pub(super) fn learn(&mut self, pattern: &Pattern) -> Option<usize> {
        let [panel] = pattern.panels.as_slice() else { return None };
        if self.have[pattern.stock] <= 0 {
            return None;
        }
        let place = self.tables.iter().enumerate().find_map(|(t, table)| {
            let of = |&e: &usize| table.ends[e].stock == pattern.stock && table.ends[e].whole;
            (table.view == pattern.view).then(|| (0..table.ends.len()).find(of)).flatten().map(|e| (t, e))
        })?;
        let table = &self.tables[place.0];
        let mut strips: Vec<Strip> = Vec::new();
        for strip in panel {
            let v = |lie| table.items.iter().find(|i| i.lie == lie).map(|i| i.v);
            let widest = strip.iter().filter_map(|&(lie, _)| v(lie)).max()?;
            let width = table.widths.iter().position(|w| w.0 == widest)?;
            let mut counts: BTreeMap<usize, i64> = BTreeMap::new();
            strip.iter().for_each(|&(lie, n)| *counts.entry(lie.size).or_default() += i64::from(n));
            strips.push((width, counts.into_iter().collect()));
        }
        strips.sort_unstable();
        if strips.is_empty() || !self.seen.insert((place, strips.clone())) {
            return None;
        }
        self.known.push(Known { column: Column::new(pattern.clone()), place, strips });
        Some(self.known.len() - 1)
    }

    /// How many there are in a layout.
    pub(super) fn counted(&self, known: &Known, count: Count) -> i64 {
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

    /// Everything that is counted in a layout, with how many there are.
    pub(super) fn all(&self, known: &Known) -> Vec<(Count, i64)> {
        let (table, end) = known.place;
        let spans = &self.spans[table];
        let mut all = Vec::new();
        for span in (0..spans.len()).filter(|&s| spans[s].contains(&end)) {
            let mut add = |what: What, n: i64| all.push((Count { table, span, what }, n));
            add(What::Sheets, 1);
            for (width, pieces) in &known.strips {
                add(What::Strips { width: *width }, 1);
                pieces.iter().for_each(|&(size, n)| add(What::Pieces { width: *width, size }, n));
            }
        }
        all
    }

    /// What is paid and charged on each end of a table where these forks have these prices.
    pub(super) fn tilts<T: Worth + Neg<Output = T>>(
        &self,
        table: usize,
        forks: &[Fork],
        prices: &[T],
    ) -> Vec<Tilt<T>> {
        let mut tilts: Vec<Tilt<T>> = vec![Tilt::default(); self.tables[table].ends.len()];
        let priced = |(fork, price): &(&Fork, &T)| fork.count.table == table && **price != T::default();
        for (fork, &price) in forks.iter().zip(prices).filter(priced) {
            let paid = fork.paid(price);
            for &end in &self.spans[table][fork.count.span] {
                let tilt = &mut tilts[end];
                match fork.count.what {
                    What::Sheets => tilt.sheet = tilt.sheet + paid,
                    What::Strips { width } => {
                        let strips = tilt.strips.entry(width).or_default();
                        *strips = *strips + paid;
                    }
                    What::Pieces { width, size } => tilt.pieces.entry(width).or_default().push((size, paid)),
                }
            }
        }
        tilts
    }

    /// A fork as others read it.
    pub(super) fn spoken(&self, fork: &Fork, price: i64) -> certificate::Fork {
        let Count { table, span, what } = fork.count;
        let (table, ends) = (&self.tables[table], &self.spans[table][span]);
        let mut stocks: Vec<usize> = ends.iter().map(|&end| table.ends[end].stock).collect();
        stocks.sort_unstable();
        let across = |width: usize| {
            let widest = &table.items[table.widths[width].1 - 1];
            Length::from_nm(table.view.turn(self.job.extents(widest.lie)).1)
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
}
