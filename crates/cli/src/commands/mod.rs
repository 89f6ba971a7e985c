//! One module for each command.

mod audit;
mod base;
mod batch;
mod bench;
mod buy;
mod compare;
mod explain;
mod manual;
mod plan;
mod rip;
mod schema;
mod start;

use crate::arguments::{Arguments, Command};
use crate::failure::Failure;

/// Does what the arguments ask.
pub(crate) fn run(arguments: Arguments) -> Result<(), Failure> {
    match arguments.command {
        Command::Plan(arguments) => plan::run(&arguments),
        Command::Buy(arguments) => buy::run(&arguments),
        Command::Rip(arguments) => rip::run(&arguments),
        Command::Compare(arguments) => compare::run(&arguments),
        Command::Base(arguments) => base::run(&arguments),
        Command::Audit(arguments) => audit::run(&arguments),
        Command::Batch(arguments) => batch::run(&arguments),
        Command::Schema => schema::run(),
        Command::Start(arguments) => start::run(&arguments),
        Command::Bench(arguments) => bench::run(&arguments),
        Command::Manual(arguments) => manual::run(&arguments),
        Command::Completions(arguments) => manual::completions(&arguments),
    }
}
