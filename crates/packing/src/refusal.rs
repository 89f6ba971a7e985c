//! Why a job has no answer.

use std::fmt;

use stripwright_units::Length;

/// A reason why a [`crate::Problem`] cannot be met, as data. Names are indices into the problem.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// A piece fits no sheet that it may be cut from, or the saw's limits keep it off every one.
    PieceFitsNowhere {
        /// Index into `Problem::pieces`.
        piece: usize,
        /// Of the allowed sheets, the one it misses by least, with how much longer and wider its usable part would
        /// have to be; both zero when it is not the size but a limit of the saw. `None` when no sheet is allowed.
        nearest: Option<(usize, Length, Length)>,
    },
    /// The sheets' limits leave too few sheets. Even the whole limit of every sheet cannot hold all that is wanted.
    LimitsTooSmall {
        /// Index into `Problem::stocks`, and how many more of it alone would be enough for a plan that was found;
        /// empty when none was found.
        more: Vec<(usize, u32)>,
        /// True when it is shown that the limits are too small, false when only no plan was found within them.
        shown: bool,
    },
    /// No make yields a cover that is wanted.
    CoverWithoutMake {
        /// Index into `Problem::covers`.
        cover: usize,
    },
    /// A length, price or count is outside what can be computed exactly.
    OutOfRange {
        /// What it is, for the message: `"length of piece"`, `"price of sheet"`, ...
        what: &'static str,
        /// Its index among its kind.
        index: usize,
    },
    /// A make or a piece refers to something that is not there.
    UnknownIndex {
        /// What refers to it: `"make"` or `"piece"`.
        what: &'static str,
        /// Its index among its kind.
        index: usize,
    },
    /// Stages other than 2 or 3.
    Stages(u8),
    /// The sizes, kerfs and sheets have no common measure coarse enough to search over.
    TooFine {
        /// Index into `Problem::stocks`.
        stock: usize,
    },
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Refusal::PieceFitsNowhere { piece, nearest: None } => {
                write!(f, "piece {piece} may be cut from no sheet at all; allow at least one")
            }
            Refusal::PieceFitsNowhere { piece, nearest: Some((stock, length, width)) } => {
                if *length == Length::ZERO && *width == Length::ZERO {
                    write!(
                        f,
                        "piece {piece} would fit sheet {stock}, but the saw's limits (longest rip, fence reach or \
                         smallest rip) rule out every way to cut it; ease a limit or allow turning"
                    )
                } else {
                    write!(
                        f,
                        "piece {piece} fits no sheet that it may be cut from; the nearest, sheet {stock}, would have \
                         to be {length} longer and {width} wider inside its trim"
                    )
                }
            }
            Refusal::LimitsTooSmall { more, shown } => {
                let how = if *shown { "cannot hold" } else { "were not found to hold" };
                write!(f, "the sheets within their limits {how} everything that is wanted; ")?;
                match more.as_slice() {
                    [] => write!(f, "raise a limit or allow another sheet"),
                    more => {
                        for (at, (stock, count)) in more.iter().enumerate() {
                            let join = if at == 0 { "" } else { ", or " };
                            write!(f, "{join}{count} more of sheet {stock} would do")?;
                        }
                        Ok(())
                    }
                }
            }
            Refusal::CoverWithoutMake { cover } => {
                write!(f, "cover {cover} is wanted but no make yields it; add one")
            }
            Refusal::OutOfRange { what, index } => {
                write!(
                    f,
                    "the {what} {index} is out of range; lengths run to 100 m, money and counts to a billion"
                )
            }
            Refusal::UnknownIndex { what, index } => {
                write!(
                    f,
                    "{what} {index} refers to a sheet, piece or cover that is not in the job; name one that is"
                )
            }
            Refusal::Stages(stages) => write!(f, "{stages} stages were asked for; 2 and 3 are possible"),
            Refusal::TooFine { stock } => {
                write!(
                    f,
                    "on sheet {stock} the sizes and the kerf have no common measure coarse enough to search over; \
                     round the kerf or the sizes, for example to a tenth of a millimetre or a 64th of an inch"
                )
            }
        }
    }
}

impl std::error::Error for Refusal {}
