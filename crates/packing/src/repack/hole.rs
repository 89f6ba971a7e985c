//! Some strips of a panel taken out, and the room they leave filled again.
//!
//! Most of what a good sheet holds may stay. To fill the rest of one panel again, from few pieces and in one length, takes less
//! than half of what a whole sheet takes, whose panels have to be weighed against each other.

use super::{Again, Filled, Repack};
use crate::budget::Search;
use crate::filling::{Filling, Way};
use crate::pricing::{Pattern, Strip};

/// Sheets at most in which strips are taken out at once.
const SHEETS: i64 = 3;

/// How often a whole panel is taken out; otherwise each of its strips as likely as not.
const WHOLE_PANEL: f64 = 1.0 / 3.0;

/// Room made in a panel, in cells.
struct Hole {
    way: usize,
    panel: usize,
    /// Of each of the panel's strips, whether it is taken out.
    out: Vec<bool>,
    length: usize,
    room: usize,
}

impl Hole {
    /// The strips taken out.
    fn strips<'p>(&'p self, pattern: &'p Pattern) -> impl Iterator<Item = &'p Strip> {
        pattern.panels[self.panel].iter().zip(&self.out).filter(|(_, out)| **out).map(|(strip, _)| strip)
    }
}

impl Repack<'_> {
    /// Some strips of a few sheets cut again out of what they held and what is left: what is left then, and the sheets.
    pub(super) fn parts_again(&mut self, sheets: &[Filled], left: &[i64], search: &mut Search) -> Again {
        let picked = self.pick_some(sheets, SHEETS);
        let holes: Vec<(usize, Hole)> =
            picked.into_iter().filter_map(|at| Some((at, self.hole(&sheets[at].pattern)?))).collect();
        let mut loose = left.to_vec();
        for (at, hole) in &holes {
            let taken = hole.strips(&sheets[*at].pattern).flatten();
            taken.for_each(|&(lie, n)| loose[lie.size] += i64::from(n));
        }
        let values = self.varied();
        let again = |(at, hole): (usize, Hole)| {
            (at, self.fill_hole(&sheets[at].pattern, &hole, &mut loose, &values, search))
        };
        let new = holes.into_iter().map(again).collect();
        (loose, new)
    }

    /// Takes strips of a panel out, by chance. `None` where there are none, or it does not fit the cells.
    fn hole(&mut self, pattern: &Pattern) -> Option<Hole> {
        let at = self.ways.iter().position(|w| w.stock == pattern.stock && w.view == pattern.view)?;
        let last = pattern.panels.len().checked_sub(1)?;
        let panel = self.draw.between(0, last as i64) as usize;
        let strips = &pattern.panels[panel];
        let all = self.chance() < WHOLE_PANEL;
        let out: Vec<bool> = strips.iter().map(|_| all || self.draw.between(0, 1) == 0).collect();
        let way = &self.ways[at];
        let stay = strips.iter().zip(&out).filter(|(_, out)| !**out);
        let stays: Option<usize> = stay.map(|(strip, _)| way.across(strip)).sum();
        let room = way.v.checked_sub(stays?)?;
        Some(Hole { way: at, panel, out, length: length(way, pattern, panel)?, room })
    }

    /// Cuts strips out of `left` into the room of a hole.
    fn fill_hole(
        &mut self,
        pattern: &Pattern,
        hole: &Hole,
        left: &mut [i64],
        values: &[f32],
        search: &mut Search,
    ) -> Filled {
        let Repack { ways, sacks, draw, keep, .. } = self;
        let mut filling = Filling { way: &ways[hole.way], sacks, draw, keep, counted: true };
        let (_, strips) = filling.strips_in((hole.length, hole.room), left, values);
        self.spend(search);
        let mut pattern = pattern.clone();
        let panel = &mut pattern.panels[hole.panel];
        let mut out = hole.out.iter();
        panel.retain(|_| out.next() == Some(&false));
        panel.extend(strips);
        pattern.panels.retain(|panel| !panel.is_empty());
        self.filled(pattern)
    }
}

/// How long a panel may be beside the others.
fn length(way: &Way, pattern: &Pattern, panel: usize) -> Option<usize> {
    let longest = |panel: &Vec<Strip>| panel.iter().map(|strip| way.along(strip)).max().flatten();
    let lengths: Vec<usize> = pattern.panels.iter().map(longest).collect::<Option<_>>()?;
    match lengths[..] {
        [only] if way.panelled && !way.whole => Some(only),
        _ => (way.u + lengths[panel]).checked_sub(lengths.iter().sum()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::budget::{Budget, Progress};
    use crate::generate::{Wish, shop_job};
    use crate::normalise::Job;
    use crate::pricing::tables;
    use crate::room::{Laid, fits};

    /// No piece gets lost or comes to be, what is cut again fits, and now and then more finds place than before.
    #[test]
    fn parts_cut_again_hold_what_there_was() {
        let mut gained = 0;
        for seed in 0..8 {
            let wish = Wish { stages: Some(2 + seed as u8 % 2), sizes: Some(12), ..Wish::default() };
            let problem = shop_job(seed, wish);
            let job = Job::new(&problem).unwrap();
            let mut ask = |_: &Progress| true;
            let mut search = Search::new(&Budget::default(), &mut ask);
            let mut repack = Repack::new(&job, &tables(&job).unwrap());
            let areas = job.sizes.iter().map(|s| s.length as f64 * s.width as f64 * 1e-15).collect();
            repack.value(&crate::master::Prices { sizes: areas, ..Default::default() });
            let demand: Vec<i64> = job.sizes.iter().map(|s| s.need).collect();
            let have: Vec<i64> = job.sheets.iter().map(|s| s.limit.unwrap_or(99)).collect();
            let plan = repack.start(&demand, &have, &mut search).unwrap();
            let mut sheets = repack.state(&plan);
            // The last sheet's pieces are what is left.
            let mut left = vec![0; demand.len()];
            sheets.pop().unwrap().counts.iter().for_each(|&(s, n)| left[s] += n);
            let all = |sheets: &[Filled], left: &[i64]| {
                let mut all = left.to_vec();
                sheets.iter().flat_map(|sheet| &sheet.counts).for_each(|&(s, n)| all[s] += n);
                all
            };
            let before = all(&sheets, &left);
            for _ in 0..100 {
                let (loose, new) = repack.parts_again(&sheets, &left, &mut search);
                let mut after = sheets.clone();
                new.into_iter().for_each(|(at, filled)| after[at] = filled);
                assert_eq!(all(&after, &loose), before, "seed {seed}");
                for sheet in after.iter().filter(|sheet| !sheet.counts.is_empty()) {
                    assert!(fits(&job, &Laid::plain(sheet.pattern.clone())), "seed {seed}: {sheet:?}");
                }
                let missing =
                    |left: &[i64]| left.iter().zip(&repack.worth).map(|(&n, w)| n as f64 * w).sum::<f64>();
                if missing(&loose) <= missing(&left) {
                    gained += usize::from(missing(&loose) < missing(&left));
                    (sheets, left) = (after, loose);
                }
            }
        }
        assert!(gained > 8, "{gained}");
    }
}
