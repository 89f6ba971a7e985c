//! A larger offcut: sheets with much room are filled closer, made lighter, or filled again together with another.

use std::collections::BTreeMap;

use super::{Pieces, ROOMY, Refiner, gathered, inside};
use crate::normalise::Lie;
use crate::pricing::Pattern;
use crate::repack::{Keep, PARTS};
use crate::room::{Laid, fits, shapes};
use crate::score::Setting;

impl Refiner<'_, '_, '_> {
    pub(super) fn larger_offcut(&mut self) -> bool {
        if self.problem.cutting.useful_offcut.is_none() {
            return false;
        }
        let every: Vec<Setting> = self.settings().into_iter().map(|(setting, _)| setting).collect();
        let barred = self.barred(&every, None, &[]).unwrap_or_default();
        let roomiest: Vec<usize> = self.roomiest().into_iter().take(ROOMY).collect();
        for &at in &roomiest {
            if self.search.slice_over() {
                return false;
            }
            if self.reshaped(at, &every, &barred) || self.lightened(at, &every, &barred) {
                return true;
            }
        }
        for &at in &roomiest {
            for &with in &roomiest {
                if self.search.slice_over() {
                    return false;
                }
                if self.shared(at, with, &every, &barred) {
                    return true;
                }
            }
        }
        false
    }

    /// Whether so much room could hold an offcut larger than the plan's.
    fn worth_it(&self, room: i128) -> bool {
        room > -self.points.3
    }

    /// The same pieces on the same sheet, closer together.
    fn reshaped(&mut self, at: usize, every: &[Setting], barred: &[Lie]) -> bool {
        let (laid, n) = self.sheets[at].clone();
        if !self.worth_it(self.room(&laid)) {
            return false;
        }
        let mut shapes = shapes(self.job, &laid, &inside(every));
        shapes.extend(self.close(laid.pattern.stock, &laid.pattern.counts(), every, barred));
        shapes.into_iter().any(|shape| self.consider(self.exchanged(&[(at, n)], vec![(shape, n)])))
    }

    /// Pieces of a sheet laid into gaps of the others, as many as find one.
    fn lightened(&mut self, at: usize, every: &[Setting], barred: &[Lie]) -> bool {
        let laid = self.sheets[at].0.clone();
        let counts = laid.pattern.counts();
        let others = gathered(self.exchanged(&[(at, 1)], Vec::new()));
        let (sheets, rest) = self.scattered(others, &counts);
        if rest.is_empty() {
            return self.consider(sheets);
        }
        if rest == counts {
            return false;
        }
        let kept = Laid::plain(cut_down(&laid.pattern, &rest));
        let mut shapes = shapes(self.job, &kept, &inside(every));
        shapes.extend(self.close(laid.pattern.stock, &rest, every, barred));
        shapes.into_iter().any(|shape| self.consider([sheets.clone(), vec![(shape, 1)]].concat()))
    }

    /// Two sheets filled again, the second as full as can be.
    fn shared(&mut self, at: usize, with: usize, every: &[Setting], barred: &[Lie]) -> bool {
        let out = if at == with { vec![(at, 2)] } else { vec![(at, 1), (with, 1)] };
        if !self.repack.fills() || out.iter().any(|&(at, n)| self.sheets[at].1 < n) {
            return false;
        }
        let (a, b) = (self.sheets[at].0.clone(), self.sheets[with].0.clone());
        if !self.worth_it(self.room(&a) + self.room(&b)) {
            return false;
        }
        let mut left = vec![0; self.job.sizes.len()];
        let pieces = [a.pattern.counts(), b.pattern.counts()].concat();
        pieces.iter().for_each(|&(size, n)| left[size] += n);
        let keep = Keep { barred: barred.to_vec(), ..Keep::default() };
        let values = self.values();
        let Some(full) = self.repack.fill_keeping(&keep, b.pattern.stock, &left, &values, self.search) else {
            return false;
        };
        full.counts.iter().for_each(|&(size, n)| left[size] -= n);
        let rest: Pieces = left.into_iter().enumerate().filter(|&(_, n)| n > 0).collect();
        let room = self.usable(a.pattern.stock) - self.area_of(&rest);
        let full = Laid::plain(full.pattern);
        if !self.worth_it(room) || !fits(self.job, &full) {
            return false;
        }
        if rest.is_empty() {
            return self.consider(self.exchanged(&out, vec![(full, 1)]));
        }
        let close = self.close(a.pattern.stock, &rest, every, barred);
        let pair = |shape: Laid| vec![(full.clone(), 1), (shape, 1)];
        close.into_iter().any(|shape| self.consider(self.exchanged(&out, pair(shape))))
    }

    /// These pieces on one sheet, in as little of it as is found, in every shape: as narrow as can be, and, with
    /// panels, as short.
    fn close(
        &mut self,
        stock: usize,
        pieces: &[(usize, i64)],
        every: &[Setting],
        barred: &[Lie],
    ) -> Vec<Laid> {
        /// Each halves what is not known of how much of the sheet it takes.
        const HALVINGS: usize = 4;
        let mut found = Vec::new();
        if !self.repack.fills() {
            return found;
        }
        let whole = self.usable(stock).max(1);
        let part = |area: i128| (area * PARTS as i128 / whole).clamp(0, PARTS as i128) as usize;
        let most = part(whole - self.area_of(pieces));
        for (view, flat) in self.ways() {
            // Less left empty than the plan leaves already would be no gain.
            let (mut low, mut high) = (part(-self.points.3), most + 1);
            let mut best = None;
            for halving in 0..=HALVINGS {
                let empty = if halving == 0 { low + 1 } else { (low + high) / 2 };
                if self.search.slice_over() || empty == low || empty >= high {
                    break;
                }
                // Short sheets are cut into panels; where strips run the whole sheet, nothing is left at its end.
                let empty_at = if flat { (0, empty) } else { (empty, 0) };
                let keep = Keep { barred: barred.to_vec(), view: Some(view), flat, empty: empty_at };
                match self.filled(&[stock], pieces, &keep) {
                    Some(laid) => {
                        low = empty;
                        best = laid.into_iter().next();
                    }
                    None if halving == 0 => break,
                    None => high = empty,
                }
            }
            if let Some(laid) = best {
                found.extend(shapes(self.job, &laid, &inside(every)));
            }
        }
        found
    }
}

/// A pattern with no more of each size than this.
fn cut_down(pattern: &Pattern, pieces: &[(usize, i64)]) -> Pattern {
    let mut pattern = pattern.clone();
    let mut left: BTreeMap<usize, i64> = pieces.iter().copied().collect();
    for (lie, n) in pattern.panels.iter_mut().flatten().flatten() {
        let have = left.entry(lie.size).or_default();
        *n = i64::from(*n).min(*have) as u32;
        *have -= i64::from(*n);
    }
    pattern
}
