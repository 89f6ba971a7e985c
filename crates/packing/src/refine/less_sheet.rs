//! Less sheet for the same money: smaller sheets, and fewer offcuts on hand.

use super::{Pieces, Refiner, Sheets, gathered, used};
use crate::pricing::Pattern;
use crate::room::{Laid, fits};
use crate::solve::MANY;

/// Sheets of a plan that is filled anew at most: of more, a few sheets are a small part.
const MOST_SHEETS: u32 = 300;

/// Kinds of sheet of which two are exchanged at once, at most, and purchases that are thought of.
const MOST_KINDS: usize = 12;
const MOST_PURCHASES: usize = 200;

impl Refiner<'_, '_, '_> {
    pub(super) fn less_sheet(&mut self) -> bool {
        self.smaller_kind() || self.fewer_on_hand() || self.smaller_purchase()
    }

    /// A layout as it is on a smaller sheet of the same price.
    fn smaller_kind(&mut self) -> bool {
        let used = used(self.job, &self.sheets);
        for at in 0..self.sheets.len() {
            let (laid, n) = self.sheets[at].clone();
            let own = laid.pattern.stock;
            for (stock, sheet) in self.job.sheets.iter().enumerate() {
                let left = sheet.limit.unwrap_or(MANY) - used[stock];
                let alike = sheet.price == self.job.sheets[own].price;
                if !alike || self.bought(stock) >= self.bought(own) || left <= 0 {
                    continue;
                }
                let times = i64::from(n).min(left) as u32;
                let smaller = Laid::plain(Pattern { stock, ..laid.pattern.clone() });
                if fits(self.job, &smaller)
                    && self.consider(self.exchanged(&[(at, times)], vec![(smaller, times)]))
                {
                    return true;
                }
            }
        }
        false
    }

    /// An offcut on hand left on hand, its pieces in gaps of other sheets.
    fn fewer_on_hand(&mut self) -> bool {
        for at in 0..self.sheets.len() {
            let counts = self.sheets[at].0.pattern.counts();
            if self.job.sheets[self.sheets[at].0.pattern.stock].price > 0 {
                continue;
            }
            let without = gathered(self.exchanged(&[(at, 1)], Vec::new()));
            let (sheets, rest) = self.scattered(without, &counts);
            if rest.is_empty() && self.consider(sheets) {
                return true;
            }
        }
        false
    }

    /// Everything on other sheets of the same money and less area.
    fn smaller_purchase(&mut self) -> bool {
        let sheets: u32 = self.sheets.iter().map(|s| s.1).sum();
        if !self.repack.fills() || sheets > MOST_SHEETS {
            return false;
        }
        let plan: Vec<(Pattern, u32)> =
            self.sheets.iter().map(|(laid, n)| (laid.pattern.clone(), *n)).collect();
        let mut demand = vec![0; self.job.sizes.len()];
        for (pattern, n) in &plan {
            pattern.counts().iter().for_each(|&(size, count)| demand[size] += count * i64::from(*n));
        }
        let pieces: Pieces = demand.iter().copied().enumerate().collect();
        let need = self.area_of(&pieces);
        for have in self.purchases() {
            let usable: i128 =
                have.iter().enumerate().map(|(stock, &n)| self.usable(stock) * i128::from(n)).sum();
            // Where less than a little is left over, looking is in vain.
            if need * 100 > usable * 97 || self.search.slice_over() {
                continue;
            }
            let end = self.search.slice_end;
            let tries = 100_000 * (have.iter().sum::<i64>() as u64 + 2);
            self.search.slice_end = end.min(self.search.work + tries.min((end - self.search.work) / 2));
            let found = self.repack.within(&plan, &demand, &have, self.search);
            self.search.slice_end = end;
            let Some(found) = found else { continue };
            let sheets: Sheets = found.into_iter().map(|(pattern, n)| (Laid::plain(pattern), n)).collect();
            if sheets.iter().all(|(laid, _)| fits(self.job, laid)) && self.consider(sheets) {
                return true;
            }
        }
        false
    }

    /// Purchases of the same money and less area, the largest first: one or two sheets exchanged for no more others.
    fn purchases(&self) -> Vec<Vec<i64>> {
        let used = used(self.job, &self.sheets);
        let kinds = used.len();
        let mut sets: Vec<Vec<usize>> = vec![Vec::new()];
        sets.extend((0..kinds).map(|a| vec![a]));
        if kinds <= MOST_KINDS {
            sets.extend((0..kinds).flat_map(|a| (a..kinds).map(move |b| vec![a, b])));
        }
        let money = |set: &[usize]| set.iter().map(|&stock| self.job.sheets[stock].price).sum::<i64>();
        let area = |set: &[usize]| set.iter().map(|&stock| self.bought(stock)).sum::<i128>();
        let mut found: Vec<(i128, Vec<i64>)> = Vec::new();
        for out in sets.iter().filter(|out| out.iter().all(|&stock| used[stock] > 0)) {
            for into in sets.iter().filter(|into| into.len() <= out.len()) {
                if money(into) != money(out) || area(into) >= area(out) || found.len() == MOST_PURCHASES {
                    continue;
                }
                let mut have = used.clone();
                out.iter().for_each(|&stock| have[stock] -= 1);
                into.iter().for_each(|&stock| have[stock] += 1);
                let limit = |stock: usize| self.job.sheets[stock].limit.unwrap_or(MANY);
                if (0..kinds).all(|stock| (0..=limit(stock)).contains(&have[stock])) {
                    found.push((area(out) - area(into), have));
                }
            }
        }
        found.sort_unstable();
        found.dedup_by(|next, kept| next.1 == kept.1);
        found.into_iter().map(|(_, have)| have).collect()
    }
}
