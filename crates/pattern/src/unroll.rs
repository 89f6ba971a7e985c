//! From chosen makes to slabs, glue, clamps, passes, mass and ledger.

use stripwright_units::Length;

use crate::ledger::Ledger;
use crate::makes::StripSize;
use crate::route::Route;

/// A slab of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Slab {
    /// Index into the makes.
    pub make: usize,
    /// (top, element) of each piece in cutting order, both from 0; `None` for a spare.
    pub pieces: Vec<Option<(u32, usize)>>,
    /// (size, how many), longest first within a kind.
    pub strips: Vec<(StripSize, u32)>,
}

/// Glue of one stage.
#[derive(Clone, Debug, PartialEq)]
pub struct GlueStage {
    /// `strips into slabs`, `sub-slabs`, `bands into blanks`.
    pub name: &'static str,
    /// How many joints.
    pub joints: u32,
    /// Area of all joints, one face each, in square millimetres.
    pub area: f64,
    /// What stays in the joints and what is squeezed out, in grams.
    pub grams: f64,
    /// Strips (or bands) in a section, within the open time.
    pub section: u32,
    /// Glue-ups: sections and the joining of sections.
    pub glue_ups: u32,
    /// Clamps that the longest joint takes by spacing, for one glue-up.
    pub clamps_by_spacing: u32,
    /// Clamps that the largest joint takes by force.
    pub clamps_by_force: u32,
    /// Spacing of clamps, at most.
    pub clamp_spacing: Length,
}

/// Planing of one stage.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaneStage {
    /// `slabs` or `blanks`.
    pub name: &'static str,
    /// Before.
    pub from: Length,
    /// After.
    pub to: Length,
    /// Passes of one piece, both faces together.
    pub passes: u32,
    /// Pieces that go through the planer.
    pub pieces: u32,
    /// Metres fed in all.
    pub feed: f64,
}

/// A way to flatten a blank.
#[derive(Clone, Debug, PartialEq)]
pub enum Way {
    /// The planer takes it whole.
    Whole {
        /// Passes of one blank, both faces.
        passes: u32,
    },
    /// So many parts are planed apart and joined last.
    Parts {
        /// Parts of a blank.
        parts: u32,
        /// Passes of one blank, all parts, both faces.
        passes: u32,
        /// Joints left to glue after planing.
        joints: u32,
    },
    /// A router on a sled.
    Sled {
        /// Rows a pass.
        rows: u32,
        /// Passes, both faces.
        passes: u32,
        /// Minutes a blank.
        minutes: f64,
    },
    /// A drum sander.
    DrumSander {
        /// Passes, both faces.
        passes: u32,
    },
}

/// All that the tops of one spec come to, for all of them together unless said otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Unrolled {
    /// Every slab, in the order of the chosen makes.
    pub slabs: Vec<Slab>,
    /// Strips of all slabs.
    pub strips_total: u32,
    /// Spare pieces made: (cover, how many).
    pub spare: Vec<(usize, u32)>,
    /// Strips into slabs, then bands into blanks.
    pub glue: Vec<GlueStage>,
    /// Grams to buy.
    pub glue_grams: f64,
    /// Bottles to buy.
    pub bottles: u32,
    /// Slabs, then blanks.
    pub planing: Vec<PlaneStage>,
    /// How the blank can be flattened; more than one where the planer is too narrow.
    pub ways: Vec<Way>,
    /// Width of the blank across the feed, and its length along it.
    pub blank: (Length, Length),
    /// The volume balance.
    pub ledger: Ledger,
    /// Mass of one finished top in kilograms.
    pub mass: f64,
    /// What is done.
    pub route: Route,
}
