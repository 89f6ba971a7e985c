//! What is wrong with a job, and where.

use std::fmt;

/// A place in the job's text, both counted from 1; columns count characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// Line.
    pub line: u32,
    /// Column.
    pub column: u32,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}", self.line, self.column)
    }
}

/// Whether the job says something wrong or asks for something that cannot be had.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sort {
    /// The job file is at fault: it cannot be read, or says something that is not allowed.
    Input,
    /// The job is readable, but the sheets and the shop it names cannot meet it.
    Impossible,
}

/// One thing wrong with a job, in a whole sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Bad input, or a job that cannot be met.
    pub sort: Sort,
    /// Where in the job's text, when it is about something written there.
    pub place: Option<Place>,
    /// The key it is about, such as `tops[0].outline.diameter`; empty for the file as a whole.
    pub key: String,
    /// What was found, what is allowed, what to do.
    pub text: String,
}

impl Fault {
    /// A fault of the job file.
    #[must_use]
    pub fn input(place: Option<Place>, key: impl Into<String>, text: impl Into<String>) -> Fault {
        Fault { sort: Sort::Input, place, key: key.into(), text: text.into() }
    }

    /// Something the job asks for that cannot be had.
    #[must_use]
    pub fn impossible(place: Option<Place>, key: impl Into<String>, text: impl Into<String>) -> Fault {
        Fault { sort: Sort::Impossible, place, key: key.into(), text: text.into() }
    }
}

/// `line 4, column 12: tops[0].outline: ...`
impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(place) = self.place {
            write!(f, "{place}: ")?;
        }
        if !self.key.is_empty() {
            write!(f, "`{}`: ", self.key)?;
        }
        f.write_str(&self.text)
    }
}

/// In the order a reader of the file meets them; those without a place come last.
pub fn in_reading_order(faults: &mut [Fault]) {
    faults.sort_by_key(|fault| fault.place.unwrap_or(Place { line: u32::MAX, column: u32::MAX }));
}
