//! Fewer settings of the rip fence: one after the other is done without.

use super::{Pieces, ROOMY, Refiner, inside};
use crate::normalise::Lie;
use crate::pricing::Pattern;
use crate::repack::Keep;
use crate::room::{Laid, shapes, with_piece, without};
use crate::score::Setting;

/// A setting that more layouts need is there to stay.
const MOST_NEEDING: usize = 12;

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

    /// Cuts the layouts that need a setting otherwise, each by itself or together with another.
    fn without_setting(&mut self, gone: Setting, needing: &[usize], stay: &[Setting]) -> bool {
        let pieces: Pieces = needing.iter().flat_map(|&at| self.sheets[at].0.pattern.counts()).collect();
        let Some(barred) = self.barred(stay, Some(gone), &pieces) else { return false };
        let mut out = Vec::new();
        let mut into = Vec::new();
        for &at in needing {
            let (laid, n) = self.sheets[at].clone();
            if let Some(other) = self.otherwise(&laid, stay, &barred) {
                out.push((at, n));
                into.push((other, n));
                continue;
            }
            if n > 1 {
                return false;
            }
            let partners: Vec<usize> = self.roomiest().into_iter().filter(|p| !needing.contains(p)).collect();
            let Some((partner, two)) = partners
                .into_iter()
                .take(ROOMY)
                .filter(|partner| !out.contains(&(*partner, 1)))
                .find_map(|partner| Some((partner, self.together(at, partner, stay, &barred)?)))
            else {
                return false;
            };
            out.extend([(at, 1), (partner, 1)]);
            into.extend(two.into_iter().map(|laid| (laid, 1)));
        }
        self.consider(self.exchanged(&out, into))
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
                turned = with_piece(self.job, &turned.pattern, over, &mut self.search.work)?;
            }
        }
        Some(turned)
    }
}
