//! `stripwright start`.

use std::io::Write;

use crate::arguments::Start;
use crate::failure::{Failure, note};

/// A whole job that plans as it is.
pub(crate) const STARTER: &str = include_str!("../starter.json");

pub(crate) fn run(arguments: &Start) -> Result<(), Failure> {
    let file = &arguments.file;
    // `create_new` leaves no moment in which another's file could be overwritten.
    let mut open = std::fs::OpenOptions::new().write(true).create_new(true).open(file).map_err(|error| {
        if error.kind() == std::io::ErrorKind::AlreadyExists {
            Failure::Input(format!("{} exists already; name a file that does not.", file.display()))
        } else {
            Failure::file("written", file, &error)
        }
    })?;
    open.write_all(STARTER.as_bytes()).map_err(|error| Failure::file("written", file, &error))?;
    note(&format!("Wrote {0}. Change it, then run: stripwright plan {0} --out packet", file.display()));
    Ok(())
}
