//! What the shop has: settings and limits.

use stripwright_units::Length;

/// The shop as far as slabs and blanks meet it. `None` for a reach means no limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Shop {
    /// Smallest mark the shop can set; demands are rounded up to it.
    pub mark: Length,
    /// Kerf of the saw that cuts bands and blocks off a slab.
    pub bias_kerf: Length,
    /// Longest cut of that saw, measured along the cut.
    pub saw_reach: Option<Length>,
    /// Left at each end of each strip for marking error and snipe.
    pub end_allowance: Length,
    /// Taken off each face of a slab by the first planing.
    pub plane_slab: Length,
    /// Taken off each face of a blank by the second planing.
    pub plane_blank: Length,
    /// Taken off by sanding, both faces together.
    pub sanding: Length,
    /// Cutter that follows the outline: its kerf.
    pub outline_kerf: Length,
    /// The planer.
    pub planer: Planer,
    /// The clamps.
    pub clamp: Clamp,
    /// The glue.
    pub glue: Glue,
    /// A drum sander, if there is one.
    pub drum: Option<Drum>,
    /// Router on a sled.
    pub sled: RouterSled,
}

/// The thickness planer.
#[derive(Clone, Debug, PartialEq)]
pub struct Planer {
    /// Widest stock. `None`: no limit.
    pub width: Option<Length>,
    /// Deepest pass; 0.3 to 0.5 mm for edge-laminated plywood (T36, common practice, no source).
    pub bite: Length,
    /// Shortest stock that it feeds (T37).
    pub shortest: Length,
}

/// The clamps.
#[derive(Clone, Debug, PartialEq)]
pub struct Clamp {
    /// Widest opening. `None`: no limit.
    pub reach: Option<Length>,
    /// Force of one, in newtons.
    pub force: f64,
    /// Thickness of the cauls between clamp and work.
    pub caul: Length,
    /// Wanted on the joint, in MPa (T29).
    pub pressure: f64,
}

/// The glue and how it is spread.
#[derive(Clone, Debug, PartialEq)]
pub struct Glue {
    /// Grams a square metre of one glued face (T27).
    pub spread: f64,
    /// Faces of a joint that are spread: 1 or 2.
    pub faces: u32,
    /// What a joint across the plies takes more: 0.25 means a quarter more (T31).
    pub end_grain: f64,
    /// Share of what is spread that is squeezed out and lost, bought besides.
    pub squeeze_out: f64,
    /// Minutes from spreading to clamping (T28).
    pub open_minutes: f64,
    /// Strips spread and laid a minute.
    pub strips_a_minute: f64,
    /// Grams a bottle.
    pub bottle: f64,
}

/// A drum sander.
#[derive(Clone, Debug, PartialEq)]
pub struct Drum {
    /// Widest stock.
    pub width: Length,
    /// Deepest pass.
    pub bite: Length,
}

/// A router that rides over the blank on a sled.
#[derive(Clone, Debug, PartialEq)]
pub struct RouterSled {
    /// Diameter of the cutter.
    pub cutter: Length,
    /// Share of the cutter that each row moves over.
    pub step_over: f64,
    /// Deepest pass.
    pub bite: Length,
    /// Metres a minute.
    pub feed: f64,
}
