//! Fewer settings of the rip fence: one after the other is done without.

use super::{Pieces, ROOMY, Refiner, Sheets, inside};
use crate::normalise::Lie;
use crate::pricing::Pattern;
use crate::repack::Keep;
use crate::room::{Laid, fits, shapes, with_piece, without};
use crate::score::Setting;

/// A setting that more layouts need is there to stay.
const MOST_NEEDING: usize = 12;

/// Sheets filled again together at most, and roomy ones among them that did not need to be.
const MOST_REGROUPED: u32 = 16;
const PARTNERS: usize = 2;

/// Work for each sheet that is filled again together with others.
const A_REGROUPING: u64 = 400_000;

/// Sheets taken out of the plan, and what comes instead.
type Exchange = (Vec<(usize, u32)>, Sheets);

impl Refiner<'_, '_, '_> {
    pub(super) fn fewer_settings(&mut self) -> bool {
        let mut all = self.settings();
        let every: Vec<Setting> = all.iter().map(|(setting, _)| *setting).collect();
        all.retain(|(_, needing)| needing.len() <= MOST_NEEDING);
        all.sort_by_key(|(setting, needing)| (needing.len(), *setting));
        for (gone, needing) in all {
            if self.search.slice_over() {
                return false;
            }
            let stay: Vec<Setting> = every.iter().copied().filter(|&s| s != gone).collect();
            if self.without_setting(gone, &needing, &stay) {
                return true;
            }
        }
        false
    }

    /// Cuts the layouts that need a setting otherwise: each by itself or with another, or all of them anew.
    fn without_setting(&mut self, gone: Setting, needing: &[usize], stay: &[Setting]) -> bool {
        let pieces: Pieces = needing.iter().flat_map(|&at| self.sheets[at].0.pattern.counts()).collect();
        let Some(barred) = self.barred(stay, Some(gone), &pieces) else { return false };
        let found = self.one_by_one(needing, stay, &barred);
        let found = found.or_else(|| self.regrouped(needing, stay, &barred));
        found.is_some_and(|(out, into)| self.consider(self.exchanged(&out, into)))
    }

    /// Each layout by itself, or together with one that is not among them.
    fn one_by_one(&mut self, needing: &[usize], stay: &[Setting], barred: &[Lie]) -> Option<Exchange> {
        let mut out: Vec<(usize, u32)> = Vec::new();
        let mut into = Vec::new();
        for &at in needing {
            let (laid, n) = self.sheets[at].clone();
            if let Some(other) = self.otherwise(&laid, stay, barred) {
                out.push((at, n));
                into.push((other, n));
                continue;
            }
            if n > 1 {
                return None;
            }
            let partners: Vec<usize> =
                self.roomiest().into_iter().filter(|p| !needing.contains(p)).take(ROOMY).collect();
            let (partner, two) = partners
                .into_iter()
                .filter(|partner| !out.contains(&(*partner, 1)))
                .find_map(|partner| Some((partner, self.together(at, partner, stay, barred)?)))?;
            out.extend([(at, 1), (partner, 1)]);
            into.extend(two.into_iter().map(|laid| (laid, 1)));
        }
        Some((out, into))
    }

    /// All of them and the roomiest others as sheets that are filled again, a few at a time, until everything lies on
    /// them as it is to lie.
    fn regrouped(&mut self, needing: &[usize], stay: &[Setting], barred: &[Lie]) -> Option<Exchange> {
        let others = self.roomiest().into_iter().filter(|p| !needing.contains(p)).take(PARTNERS);
        let group: Vec<usize> = needing.iter().copied().chain(others).collect();
        let out: Vec<(usize, u32)> = group.iter().map(|&at| (at, self.sheets[at].1)).collect();
        let sheets: u32 = out.iter().map(|o| o.1).sum();
        if !self.repack.fills() || sheets > MOST_REGROUPED {
            return None;
        }
        let mut demand = vec![0; self.job.sizes.len()];
        let mut have = vec![0; self.job.sheets.len()];
        let mut as_they_are = Vec::new();
        for &at in &group {
            let (laid, n) = &self.sheets[at];
            have[laid.pattern.stock] += i64::from(*n);
            laid.pattern.counts().iter().for_each(|&(size, count)| demand[size] += count * i64::from(*n));
            if !needing.contains(&at) {
                as_they_are.push((laid.pattern.clone(), *n));
            }
        }
        let end = self.search.slice_end;
        let tries = A_REGROUPING * u64::from(sheets);
        self.search.slice_end =
            end.min(self.search.work + tries.min(end.saturating_sub(self.search.work) / 4));
        let keep = Keep { barred: barred.to_vec(), ..Keep::default() };
        let found = self.repack.within_keeping(&keep, &as_they_are, &demand, &have, self.search);
        self.search.slice_end = end;
        let mut into = Vec::new();
        for (pattern, n) in found? {
            let laid = Laid::plain(pattern);
            if !fits(self.job, &laid) {
                return None;
            }
            into.push((self.shape_with(&laid, stay)?, n));
        }
        Some((out, into))
    }

    /// The same pieces on the same sheet with no other settings than these.
    fn otherwise(&mut self, laid: &Laid, stay: &[Setting], barred: &[Lie]) -> Option<Laid> {
        let turned = self.turned(laid, barred);
        for laid in [Some(laid.clone()), turned].into_iter().flatten() {
            let shape = self.shape_with(&laid, stay);
            if shape.is_some() {
                return shape;
            }
        }
        if !self.repack.fills() {
            return None;
        }
        let Pattern { stock, .. } = laid.pattern;
        let counts = laid.pattern.counts();
        for (view, flat) in self.ways() {
            if self.search.slice_over() {
                return None;
            }
            let keep = Keep { barred: barred.to_vec(), view: Some(view), flat, empty: (0, 0) };
            let found = self.filled(&[stock], &counts, &keep);
            let shape = found.and_then(|found| self.shape_with(&found[0], stay));
            if shape.is_some() {
                return shape;
            }
        }
        None
    }

    /// Two sheets filled again with no other settings than these.
    fn together(&mut self, a: usize, b: usize, stay: &[Setting], barred: &[Lie]) -> Option<Vec<Laid>> {
        if !self.repack.fills() || self.search.slice_over() {
            return None;
        }
        let (a, b) = (&self.sheets[a].0.pattern, &self.sheets[b].0.pattern);
        let pieces = [a.counts(), b.counts()].concat();
        let stocks = [b.stock, a.stock];
        let keep = Keep { barred: barred.to_vec(), ..Keep::default() };
        let laid = self.filled(&stocks, &pieces, &keep)?;
        laid.iter().map(|laid| self.shape_with(laid, stay)).collect()
    }

    /// The first shape of a layout with no other settings than these.
    fn shape_with(&mut self, laid: &Laid, stay: &[Setting]) -> Option<Laid> {
        let shapes = shapes(self.job, laid, &inside(stay));
        shapes.into_iter().find(|shape| self.figures(shape).settings.iter().all(|s| stay.contains(s)))
    }

    /// The layout with what lies in a barred way turned, where there is room.
    fn turned(&mut self, laid: &Laid, barred: &[Lie]) -> Option<Laid> {
        let mut turned = laid.clone();
        let mut lies: Vec<(Lie, u32)> = laid.pattern.panels.iter().flatten().flatten().copied().collect();
        lies.retain(|(lie, _)| barred.binary_search(lie).is_ok());
        if lies.is_empty() {
            return None;
        }
        for (lie, _) in &lies {
            turned = without(&turned.pattern, *lie);
        }
        for (lie, n) in lies {
            let over = Lie { turned: !lie.turned, ..lie };
            for _ in 0..n {
                if self.search.slice_over() {
                    return None;
                }
                turned = with_piece(self.job, &turned.pattern, over, &mut self.search.work)?;
            }
        }
        Some(turned)
    }
}
