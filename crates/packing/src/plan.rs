//! A plan while it is being made, and the answer that it becomes.

use std::collections::BTreeMap;

use stripwright_units::Money;

use crate::answer::{Answer, Layout};
use crate::layout;
use crate::normalise::Job;
use crate::pricing::Pattern;
use crate::problem::Problem;

/// Layouts with how often each is cut, and makes with how often each is used.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Plan {
    pub(crate) layouts: Vec<(Pattern, u32)>,
    pub(crate) makes: Vec<i64>,
    /// How wide the panels of some layouts are cut, where not just as wide as they have to be.
    pub(crate) cut_at: BTreeMap<Pattern, Vec<i64>>,
}

impl Plan {
    /// Money of all sheets.
    pub(crate) fn money(&self, job: &Job) -> i64 {
        self.layouts.iter().map(|(p, n)| job.sheets[p.stock].price * i64::from(*n)).sum()
    }

    /// How many of each size are needed with this plan's makes.
    pub(crate) fn demand(&self, job: &Job) -> Vec<i64> {
        demand(job, &self.makes)
    }

    /// Gathers equal layouts, in a fixed order: most often cut first.
    pub(crate) fn gather(&mut self) {
        self.layouts.sort();
        self.layouts.dedup_by(|next, kept| {
            next.0 == kept.0 && {
                kept.1 += next.1;
                true
            }
        });
        self.layouts.retain(|(pattern, n)| *n > 0 && !pattern.panels.is_empty());
        self.layouts.sort_by(|a, b| {
            (a.0.stock, std::cmp::Reverse(a.1), &a.0).cmp(&(b.0.stock, std::cmp::Reverse(b.1), &b.0))
        });
    }

    /// Leaves out every piece beyond what is needed, so that its place becomes offcut. Layouts that are cut often
    /// lose whole places first; only then is one split off to lose a piece of its own.
    pub(crate) fn drop_surplus(&mut self, job: &Job) {
        let mut surplus: Vec<i64> = self.demand(job).iter().map(|d| -d).collect();
        for (pattern, n) in &self.layouts {
            pattern.counts().iter().for_each(|&(size, count)| surplus[size] += count * i64::from(*n));
        }
        let mut at = 0;
        while at < self.layouts.len() {
            let (pattern, times) = &mut self.layouts[at];
            let mut split = 0;
            'places: for panel in &mut pattern.panels {
                for strip in panel.iter_mut() {
                    for (lie, n) in strip.iter_mut() {
                        let spare = &mut surplus[lie.size];
                        let whole = (*spare / i64::from(*times)).clamp(0, i64::from(*n));
                        *n -= whole as u32;
                        *spare -= whole * i64::from(*times);
                        if *spare > 0 && *n > 0 {
                            split = *spare as u32;
                            break 'places;
                        }
                    }
                }
            }
            tidy(pattern);
            if split > 0 {
                let (pattern, times) = (pattern.clone(), *times - split);
                self.layouts[at].1 = split;
                self.layouts.push((pattern, times));
                // The same layout again: now all its sheets can lose the piece.
                continue;
            }
            at += 1;
        }
        self.gather();
    }

    /// Writes the answer, telling pieces of equal size apart.
    pub(crate) fn answer(&self, problem: &Problem, job: &Job) -> Answer {
        let mut wanted: Vec<u64> = problem.pieces.iter().map(|p| u64::from(p.count)).collect();
        for (make, &n) in problem.makes.iter().zip(&self.makes) {
            for &(piece, uses) in &make.uses {
                wanted[piece] += u64::from(uses) * n.max(0) as u64;
            }
        }
        let mut spare = vec![0u32; problem.pieces.len()];
        let mut layouts: Vec<Layout> = Vec::new();
        for (pattern, times) in &self.layouts {
            let cut_at = self.cut_at.get(pattern).map_or(&[][..], Vec::as_slice);
            let mut left = *times;
            while left > 0 {
                // As many sheets at once as the pieces of equal size allow to be named alike.
                let mut together = left;
                while together > 1 && !can_name(pattern, job, &wanted, together) {
                    together = together.div_ceil(2).min(together - 1);
                }
                layouts.push(layout::layout(problem, job, pattern, cut_at, together, |size| {
                    let pieces = &job.sizes[size].pieces;
                    let all = u64::from(together);
                    match pieces.iter().copied().find(|&p| wanted[p] >= all) {
                        Some(piece) => {
                            wanted[piece] -= all;
                            piece
                        }
                        None => {
                            spare[pieces[0]] += together;
                            pieces[0]
                        }
                    }
                }));
                left -= together;
            }
        }
        Answer {
            layouts,
            makes: (0..self.makes.len())
                .filter(|&m| self.makes[m] > 0)
                .map(|m| (m, self.makes[m] as u32))
                .collect(),
            spare: spare.iter().enumerate().filter(|&(_, &n)| n > 0).map(|(p, &n)| (p, n)).collect(),
            money: Money::from_minor(self.money(job)),
            bound: Money::ZERO,
            certificate: crate::Certificate::default(),
            work: 0,
        }
    }
}

/// How many of each size are needed with these makes.
pub(crate) fn demand(job: &Job, makes: &[i64]) -> Vec<i64> {
    let mut demand: Vec<i64> = job.sizes.iter().map(|s| s.count).collect();
    for (make, &n) in job.makes.iter().zip(makes) {
        make.uses.iter().for_each(|&(size, uses)| demand[size] += uses * n);
    }
    demand
}

/// Whether every place of a pattern can be given to one piece that is wanted at least `times` more.
fn can_name(pattern: &Pattern, job: &Job, wanted: &[u64], times: u32) -> bool {
    pattern.counts().iter().all(|&(size, n)| {
        let whole: u64 = job.sizes[size].pieces.iter().map(|&p| wanted[p] / u64::from(times)).sum();
        whole >= n as u64
    })
}

/// Drops places, strips and panels that have become empty.
pub(crate) fn tidy(pattern: &mut Pattern) {
    for panel in &mut pattern.panels {
        panel.iter_mut().for_each(|strip| strip.retain(|&(_, n)| n > 0));
        panel.retain(|strip| !strip.is_empty());
    }
    pattern.panels.retain(|panel| !panel.is_empty());
}
