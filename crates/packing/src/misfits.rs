//! What can be refused at a glance, before anything is searched.

use crate::normalise::Job;
use crate::problem::Problem;
use crate::refusal::Refusal;

/// Every reason why a problem cannot be met that shows without a search: numbers out of range, pieces that fit no sheet
/// they may be cut from, covers that nothing yields.
///
/// [`solve`](crate::solve()) refuses the same; whoever gathers reasons from several places asks here first.
pub fn misfits(problem: &Problem) -> Vec<Refusal> {
    Job::new(problem).err().unwrap_or_default()
}
