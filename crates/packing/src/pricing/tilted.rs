//! The layout worth most where strips and pieces in them have worths of their own.
//!
//! A case of a proof (see [`crate::refute`]) confines how many strips of a width, or pieces of a size in strips of a
//! width, a plan has; its price is paid or charged for each of them. A strip is of the width of its widest piece, so
//! here, other than where nothing depends on it, each strip holds a piece of just its width, and whatever fits beside.

use std::collections::BTreeMap;

use crate::budget::Search;
use crate::knapsack::{Knapsack, Worth, floor};
use crate::pricing::{End, Found, Strip, Table};

/// What is paid, or charged, beside the pieces' worth on one kind of sheet in one view.
#[derive(Clone, Debug, Default)]
pub(crate) struct Tilt<T> {
    /// For the sheet.
    pub(crate) sheet: T,
    /// For each strip, by width.
    pub(crate) strips: BTreeMap<usize, T>,
    /// For each piece of a size, by width of the strip.
    pub(crate) pieces: BTreeMap<usize, Vec<(usize, T)>>,
}

/// The best strip of a width.
#[derive(Clone, Copy)]
struct Best<T> {
    worth: T,
    /// The item of just this width, and which sum is left for what lies beside it.
    widest: Option<(usize, usize)>,
}

impl Table {
    /// The best layouts of every sheet in two stages, with what is paid beside; `tilts` by end.
    pub(crate) fn price_tilted<T: Worth>(
        &self,
        worth: &[T],
        need: &[i64],
        tilts: &[Tilt<T>],
        several: usize,
        search: &mut Search,
    ) -> Vec<Found<T>> {
        let most = self.most_strips(need);
        let mut all = Knapsack::<T>::new(&self.along);
        let mut marks = Vec::with_capacity(self.widths.len());
        let mut best: Vec<Vec<Best<T>>> = vec![Vec::with_capacity(self.widths.len()); self.ends.len()];
        let mut from = 0;
        for &(_, to) in &self.widths {
            self.add_items(&mut all, from..to, worth, need);
            for (best, end) in best.iter_mut().zip(&self.ends) {
                best.push(self.widest_first(&all, from..to, end, worth, need));
            }
            marks.push(all.mark());
            from = to;
        }
        search.work += all.work();
        let mut found = Vec::with_capacity(self.ends.len());
        for ((end, tilt), mut best) in self.ends.iter().zip(tilts).zip(best) {
            if !end.whole {
                continue;
            }
            let mut own: BTreeMap<usize, Knapsack<T>> = BTreeMap::new();
            for (&width, pieces) in &tilt.pieces {
                let mut worth = worth.to_vec();
                pieces.iter().for_each(|&(size, more)| worth[size] = worth[size] + more);
                let to = self.widths[width].1;
                let from = if width == 0 { 0 } else { self.widths[width - 1].1 };
                let mut sack = Knapsack::<T>::new(&self.along);
                self.add_items(&mut sack, 0..to, &worth, need);
                search.work += sack.work();
                best[width] = self.widest_first(&sack, from..to, end, &worth, need);
                own.insert(width, sack);
            }
            for (&width, &more) in &tilt.strips {
                best[width].worth = best[width].worth + more;
            }
            let column: Vec<T> = best
                .iter()
                .map(|best| if best.widest.is_some() { best.worth } else { T::default() })
                .collect();
            let strip = |width: usize| {
                let (sack, mark) = own.get(&width).map_or((&all, marks[width]), |own| (own, own.mark()));
                self.with_widest(sack, mark, best[width].widest)
            };
            let mut layouts = self.price_whole(end, &column, &most, &strip, several, &mut search.work);
            layouts.worth = layouts.worth + tilt.sheet;
            found.push(layouts);
        }
        found
    }

    fn add_items<T: Worth>(
        &self,
        sack: &mut Knapsack<T>,
        items: std::ops::Range<usize>,
        worth: &[T],
        need: &[i64],
    ) {
        for index in items {
            let item = &self.items[index];
            sack.add(index, item.u, worth[item.lie.size], need[item.lie.size]);
        }
    }

    /// The best strip that holds one of these items, and beside it what the sack says.
    fn widest_first<T: Worth>(
        &self,
        sack: &Knapsack<T>,
        items: std::ops::Range<usize>,
        end: &End,
        worth: &[T],
        need: &[i64],
    ) -> Best<T> {
        let mut best = Best { worth: T::default(), widest: None };
        for index in items {
            let item = &self.items[index];
            if item.u > end.u || need[item.lie.size] <= 0 {
                continue;
            }
            let rest = floor(&self.along, end.u - item.u);
            let all = worth[item.lie.size] + sack.best[rest];
            if best.widest.is_none() || all > best.worth {
                best = Best { worth: all, widest: Some((index, rest)) };
            }
        }
        best
    }

    fn with_widest<T: Worth>(
        &self,
        sack: &Knapsack<T>,
        mark: usize,
        widest: Option<(usize, usize)>,
    ) -> Strip {
        let Some((index, rest)) = widest else { return Vec::new() };
        let mut counts: BTreeMap<usize, u32> = BTreeMap::from([(index, 1)]);
        for (item, n) in sack.trace(mark, rest) {
            *counts.entry(item).or_default() += n;
        }
        let mut strip: Strip = counts.into_iter().map(|(item, n)| (self.items[item].lie, n)).collect();
        strip.sort_unstable();
        strip
    }
}
