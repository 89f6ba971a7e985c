//! `stripwright rip`.

use crate::arguments::Rip;
use crate::failure::{Failure, note};
use crate::packet::Kind;
use crate::{input, packet, waiting};

pub(crate) fn run(arguments: &Rip) -> Result<(), Failure> {
    packet::check_free(&arguments.out, arguments.replace, Kind::Rips)?;
    let given = input::job(&arguments.job.job)?;
    let plan = waiting::plan(&given.job, arguments.job.patience, false)
        .map_err(|faults| Failure::Job(given.name.clone(), faults))?;
    let files = packet::rip_diagrams(&plan, arguments.both);
    packet::write(&arguments.out, arguments.replace, Kind::Rips, &files)?;
    note(&format!("Wrote {} rip diagrams to {}.", files.len(), arguments.out.display()));
    Ok(())
}
