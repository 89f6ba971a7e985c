//! What a case is split by.

use std::collections::BTreeMap;

use super::counts::{Count, Fork, What};
use super::{CLOSED, MISS, MISSED, Node, Refuter, WHOLE, worked};
use crate::budget::Search;
use crate::simplex::Row;

/// Counts tried before one is chosen, deep in the tree. Each takes two small programs; fewer make more cases.
const TRIED: usize = 10;

/// Counts tried for the first case; for each later one half as many as for the one before, down to [`TRIED`]: the first
/// cases decide more than the last.
const TRIED_FIRST: usize = 4 * TRIED;

/// So many of them are tried at once before it is looked whether one of them closes both cases.
const AT_ONCE: usize = 5;

/// About what trying one side of a split takes.
const A_SIDE: u64 = 100_000;

/// A case with how much room its fractional plan of the layouts known leaves; below zero where it does not fit.
type Side = (f64, Node);

impl Refuter<'_> {
    /// Two cases for one, that with less room last: it is gone on with first. `None` when everything that is counted is
    /// whole.
    pub(super) fn split(&self, node: &Node, search: &mut Search) -> Option<Vec<Node>> {
        let room = (self.capacity - node.program.objective()).max(0.0);
        let gain = |side: &Side| (room - side.0.max(0.0)).max(1e-6);
        let mut best: Option<(bool, f64, [Side; 2])> = None;
        let tried = self.worth_trying(node);
        for some in tried.chunks(AT_ONCE) {
            let forks: Vec<Fork> = some
                .iter()
                .flat_map(|&(count, value)| {
                    [false, true].map(|more| Fork { count, at: value.floor() as i64, more })
                })
                .collect();
            let sides = search.crew.each(&forks, A_SIDE, |&fork| self.side(node, fork));
            search.work += sides.iter().map(|side| side.1).sum::<u64>();
            let mut done = false;
            let mut sides = sides.into_iter().map(|side| side.0);
            while let (Some(less), Some(more)) = (sides.next(), sides.next()) {
                let sides = [less, more];
                let neither = sides.iter().all(|side| side.0 < 0.0);
                let product = gain(&sides[0]) * gain(&sides[1]);
                if best.as_ref().is_none_or(|(done, known, _)| (neither, product) > (*done, *known)) {
                    best = Some((neither, product, sides));
                }
                done |= neither;
            }
            if done || search.over() {
                break;
            }
        }
        let (_, _, [one, other]) = best?;
        let (more, less) = if one.0 > other.0 { (one.1, other.1) } else { (other.1, one.1) };
        Some(vec![more, less])
    }

    /// What the fractional plan has no whole number of, with how many it has: first how sheets are cut, then strips, then the
    /// pieces in them, and of each what is furthest from a whole number. Pieces before strips made trees several times as
    /// large, and one a hundred times.
    fn worth_trying(&self, node: &Node) -> Vec<(Count, f64)> {
        let amounts = node.program.amounts();
        let mut counts: BTreeMap<Count, f64> = BTreeMap::new();
        for &(column, at) in node.columns.iter().filter(|(column, _)| amounts[*column] > 1e-9) {
            for (count, n) in self.counts.all(&self.counts.known[at]) {
                *counts.entry(count).or_default() += amounts[column] * n as f64;
            }
        }
        let far = |value: f64| (value - value.round()).abs();
        let mut tried: Vec<(Count, f64)> = counts.into_iter().filter(|c| far(c.1) > WHOLE).collect();
        tried.sort_by(|a, b| {
            depth(a.0.what).cmp(&depth(b.0.what)).then(far(b.1).total_cmp(&far(a.1))).then(a.0.cmp(&b.0))
        });
        tried.truncate(TRIED.max(TRIED_FIRST >> node.forks.len().min(usize::BITS as usize - 1)));
        tried
    }

    /// A case with one fork more, and the work it took.
    fn side(&self, node: &Node, fork: Fork) -> (Side, u64) {
        let mut program = node.program.clone();
        let counted = |&(column, at): &(usize, usize)| {
            let n = self.counts.counted(&self.counts.known[at], fork.count);
            (n != 0).then_some((column, n as f64))
        };
        let entries: Vec<(usize, f64)> = node.columns.iter().filter_map(counted).collect();
        let kind = if fork.more { Row::Wanted } else { Row::Limit };
        let row = program.row(kind, fork.limit() as f64, MISS, &entries);
        let (solved, mut work) = worked(&mut program);
        work += 20 * node.columns.len() as u64;
        let fits = solved && program.missed() < MISSED;
        let room = if fits { self.capacity + CLOSED - program.objective() } else { -1.0 };
        let forks = node.forks.iter().copied().chain([fork]).collect();
        let rows = node.rows.iter().copied().chain([row]).collect();
        ((room, Node { forks, program, columns: node.columns.clone(), rows }), work)
    }
}

/// How far inside a sheet something lies.
fn depth(what: What) -> u8 {
    match what {
        What::Sheets => 0,
        What::Strips { .. } => 1,
        What::Pieces { .. } => 2,
    }
}
