//! All that steps, cautions, limits and prices are derived from, and the one call that derives them.

use stripwright_pattern::{Face, Unrolled};
use stripwright_splay::Base;
use stripwright_units::System;

use crate::job::Job;
use crate::plan::{Caution, Plan, Prices, Step};
use crate::words::Words;
use crate::{cautions, limits, prices, steps};

/// A planned job with everything that led to it.
#[derive(Clone, Copy, Debug)]
pub struct Work<'w> {
    /// What was asked.
    pub job: &'w Job,
    /// What was planned; its steps, cautions, limits and prices are not looked at.
    pub plan: &'w Plan,
    /// One for each of the job's tops, in its order.
    pub tops: &'w [TopWork<'w>],
    /// One for each of the job's bases, in its order.
    pub bases: &'w [Base],
    /// The system to write in: the job's own, or the other one for a second copy of the same plan.
    pub system: System,
}

/// A top's face and what its slabs come to.
#[derive(Clone, Copy, Debug)]
pub struct TopWork<'w> {
    /// The face.
    pub face: &'w Face,
    /// Slabs, glue, passes and the route through the shop.
    pub unrolled: &'w Unrolled,
}

/// What to do with the plan, in words and money.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Prepared {
    /// In shop order.
    pub steps: Vec<Step>,
    /// Each once.
    pub cautions: Vec<Caution>,
    /// Whole sentences.
    pub limits: Vec<String>,
    /// What it costs.
    pub prices: Prices,
}

impl Work<'_> {
    /// How sizes are written.
    #[must_use]
    pub fn words(&self) -> Words {
        Words { system: self.system }
    }

    /// Derives steps, cautions, limits and prices. The same work gives the same words, always.
    #[must_use]
    pub fn prepare(&self) -> Prepared {
        let steps = steps::steps(self);
        Prepared {
            cautions: cautions::gather(self, &steps),
            limits: limits::limits(self, &steps),
            prices: prices::prices(self, &steps),
            steps,
        }
    }
}
