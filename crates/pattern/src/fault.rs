//! What cannot be made, and why, in whole sentences.

use std::fmt;

use stripwright_units::{Angle, Length};

/// Why a top cannot be planned as asked. `Display` gives whole sentences: what was found, what is allowed, what to do.
/// The caller puts the name of the top before it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Refusal {
    /// A length that has to be above zero is not.
    NotPositive {
        /// Which: a noun with its article.
        what: &'static str,
        /// What was found.
        found: Length,
    },
    /// An angle outside its range.
    AngleRange {
        /// What was found.
        found: Angle,
        /// Smallest allowed, degrees.
        least: f64,
        /// Largest allowed, degrees.
        most: f64,
    },
    /// A count outside its range.
    CountRange {
        /// Which: a plural noun.
        what: &'static str,
        /// What was found.
        found: u32,
        /// Smallest allowed.
        least: u32,
        /// Largest allowed.
        most: u32,
    },
    /// The number of bands and what lies on the pin contradict each other.
    Parity {
        /// Which: a plural noun.
        what: &'static str,
        /// What was found.
        found: u32,
        /// `even` or `odd`.
        wanted: &'static str,
        /// Why.
        because: &'static str,
    },
    /// A corner radius over half of the shorter side.
    RadiusTooLarge {
        /// What was found.
        radius: Length,
        /// Largest allowed.
        most: Length,
    },
    /// A free outline that crosses or touches itself.
    CrossesItself {
        /// The two sides, each by the number of the corner it starts at, from 1.
        sides: (usize, usize),
    },
    /// A free outline with no area to speak of, or with fewer than three corners.
    NoArea,
    /// A block longer across than along.
    BlockShape {
        /// Its width.
        width: Length,
        /// Its length.
        length: Length,
    },
    /// A block side that is not whole runs of the lamination sequence.
    BlockPitch {
        /// Which side.
        side: &'static str,
        /// What was asked for.
        found: Length,
        /// One run of the sequence.
        pitch: Length,
        /// Nearest possible below (if any) and above.
        below: Option<Length>,
        /// See `below`.
        above: Length,
    },
    /// A number of laminations in a block that is not whole runs of the lamination sequence.
    BlockRuns {
        /// What was asked for.
        found: u32,
        /// Laminations in one run of the sequence.
        run: u32,
        /// Nearest possible below (if any) and above.
        below: Option<u32>,
        /// See `below`.
        above: u32,
    },
    /// A sequence that has no laminations.
    EmptySequence,
    /// More cells than any shop glues: the size is probably a slip of the unit.
    TooMany {
        /// How many cells it would take, about.
        cells: f64,
        /// Largest allowed.
        most: f64,
    },
    /// A band whose strips fit no sheet or tool, whichever slab it comes from.
    NoSlab {
        /// Which band (or block, wedge), from 1.
        element: usize,
        /// What stands in the way, for the slab that comes nearest.
        limit: Limit,
    },
}

/// What keeps a slab from being made.
#[derive(Clone, Debug, PartialEq)]
pub enum Limit {
    /// Its longest strip is longer than the sheets give.
    SheetLength {
        /// Strip.
        strip: Length,
        /// Longest that the sheets give.
        longest: Length,
    },
    /// The clamps do not open as wide as the slab is broad.
    ClampReach {
        /// Slab.
        breadth: Length,
        /// Clamps.
        reach: Length,
    },
    /// The cut across the slab is longer than the saw reaches.
    SawReach {
        /// Along the cut.
        cut: Length,
        /// Saw.
        reach: Length,
    },
    /// A single strip is thicker than the planer is wide.
    PlanerWidth {
        /// Strip with its glue line.
        strip: Length,
        /// Planer.
        width: Length,
    },
}

impl fmt::Display for Limit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Limit::SheetLength { strip, longest } => {
                write!(f, "its longest strip is {strip} and the sheets give at most {longest}")
            }
            Limit::ClampReach { breadth, reach } => {
                write!(f, "its slab is {breadth} broad and the clamps open {reach}")
            }
            Limit::SawReach { cut, reach } => {
                write!(f, "the cut across its slab is {cut} long and the saw reaches {reach}")
            }
            Limit::PlanerWidth { strip, width } => {
                write!(f, "one strip is {strip} thick and the planer takes {width}")
            }
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Refusal::NotPositive { what, found } => {
                write!(f, "{what} is {found}; it has to be more than zero.")
            }
            Refusal::AngleRange { found, least, most } => {
                write!(f, "The angle is {found}; it may be {least}° to {most}°.")
            }
            Refusal::CountRange { what, found, least, most } => {
                write!(f, "{found} {what} are asked for; it may be {least} to {most}.")
            }
            Refusal::Parity { what, found, wanted, because } => {
                write!(f, "{found} {what} are asked for, but {because}; ask for an {wanted} number.")
            }
            Refusal::RadiusTooLarge { radius, most } => {
                write!(f, "The corner radius is {radius}; on this outline it may be at most {most}.")
            }
            Refusal::CrossesItself { sides } => write!(
                f,
                "The outline crosses or touches itself: the side after corner {} meets the side after corner {}; move a corner.",
                sides.0, sides.1
            ),
            Refusal::NoArea => {
                write!(f, "The outline encloses no area; give at least three corners that are not in line.")
            }
            Refusal::BlockShape { width, length } => write!(
                f,
                "The block is {width} wide and {length} long; its length has to be at least its width, so swap them."
            ),
            Refusal::BlockPitch { side, found, pitch, below, above } => {
                write!(f, "The block's {side} is {found}, which is not whole runs of {pitch}; use ")?;
                match below {
                    Some(below) => write!(f, "{below} or {above}, or give the number of laminations."),
                    None => write!(f, "{above}, or give the number of laminations."),
                }
            }
            Refusal::BlockRuns { found, run, below, above } => {
                let below = below.map_or(String::new(), |below| format!("{below} or "));
                write!(
                    f,
                    "A block of {found} laminations is asked for, but the sequence begins again after {run}, and all blocks \
                     have to be alike; use {below}{above}."
                )
            }
            Refusal::EmptySequence => {
                write!(f, "The lamination sequence is empty; name at least one kind of sheet.")
            }
            Refusal::TooMany { cells, most } => write!(
                f,
                "The pattern needs about {cells:.0} cells and {most:.0} is the most that is planned; check the units of outline, band and thickness."
            ),
            Refusal::NoSlab { element, limit } => {
                write!(f, "Piece {element} of the face cannot be cut from any slab: {limit}.")
            }
        }
    }
}

impl std::error::Error for Refusal {}
