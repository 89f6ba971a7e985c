//! The command `stripwright`: arguments, files and the terminal, and nothing else.
//!
//! Data goes to standard output, words to standard error. Exit codes: 0 done, 1 the job cannot be met, 2 bad input.

// This crate is where files, the environment and the terminal belong.
#![allow(clippy::disallowed_methods)]

mod arguments;
mod commands;
mod failure;
mod in_order;
mod input;
mod packet;
mod table;
mod waiting;

use std::process::ExitCode;

use clap::Parser;

fn main() -> ExitCode {
    match commands::run(arguments::Arguments::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => failure.report(),
    }
}
