//! The volume balance: what went in, what came out, what was lost to which cause.

/// One stage of the ledger, in cubic millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// What is done.
    pub name: &'static str,
    /// What came in from the stage before.
    pub input: f64,
    /// What was added here: glue lines, where they have a thickness.
    pub added: f64,
    /// What goes on to the next stage.
    pub output: f64,
    /// (cause, how much), in a fixed order.
    pub losses: Vec<(Loss, f64)>,
}

impl Stage {
    /// Input and additions less output and losses, relative to the input: 0 but for rounding.
    pub fn imbalance(&self) -> f64 {
        let lost: f64 = self.losses.iter().map(|l| l.1).sum();
        (self.input + self.added - self.output - lost) / self.input.max(1.0)
    }
}

/// A cause of loss.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Loss {
    /// Turned to sawdust by the saw.
    Kerf,
    /// End allowances, cut off.
    Trim,
    /// Triangles at the ends of strips on the bias, or the steps of a slab that is not staggered.
    StaggerEnds,
    /// Rounding up to the mark, and length added for the planer's sake.
    Rounding,
    /// Planed off.
    Shavings,
    /// Cut from a slab and not used: spare bands, and parts of bands that no outline needs.
    Offcuts,
    /// Blank outside the outline.
    OutlineWaste,
    /// Sanded or routed to dust.
    Dust,
}

/// All stages in shop order, for all tops of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Ledger {
    /// Each stage's input is the output of the one before.
    pub stages: Vec<Stage>,
}

impl Ledger {
    /// What is lost to one cause over all stages, in cubic millimetres.
    pub fn lost(&self, to: Loss) -> f64 {
        self.stages.iter().flat_map(|s| &s.losses).filter(|l| l.0 == to).map(|l| l.1).sum()
    }

    /// Largest imbalance of any stage, relative to its input.
    pub fn imbalance(&self) -> f64 {
        let inner = self.stages.iter().map(|s| s.imbalance().abs());
        let between =
            self.stages.windows(2).map(|w| ((w[1].input - w[0].output) / w[0].output.max(1.0)).abs());
        inner.chain(between).fold(0.0, f64::max)
    }
}
