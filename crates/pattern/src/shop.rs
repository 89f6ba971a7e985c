//! What the shop has: settings and limits, with the defaults a plan states.

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

impl Default for Shop {
    /// A small metric shop: mark 0.5 mm, bias kerf 2.2 mm, 10 mm at each end, 0.8 + 0.8 mm planed off each face,
    /// 0.3 mm sanded, 330 mm planer with 0.4 mm bite.
    fn default() -> Shop {
        Shop {
            mark: Length::from_um(500),
            bias_kerf: Length::from_um(2_200),
            saw_reach: None,
            end_allowance: Length::from_mm(10),
            plane_slab: Length::from_um(800),
            plane_blank: Length::from_um(800),
            sanding: Length::from_um(300),
            outline_kerf: Length::from_mm(6),
            planer: Planer {
                width: Some(Length::from_mm(330)),
                bite: Length::from_um(400),
                shortest: Length::from_mm(305),
            },
            clamp: Clamp {
                reach: Some(Length::from_mm(1200)),
                force: 4000.0,
                caul: Length::from_mm(30),
                pressure: 1.0,
            },
            glue: Glue {
                spread: 200.0,
                faces: 1,
                end_grain: 0.25,
                squeeze_out: 0.1,
                open_minutes: 10.0,
                strips_a_minute: 2.0,
                bottle: 1000.0,
            },
            drum: None,
            sled: RouterSled {
                cutter: Length::from_mm(25),
                step_over: 0.8,
                bite: Length::from_mm(1),
                feed: 3.0,
            },
        }
    }
}
