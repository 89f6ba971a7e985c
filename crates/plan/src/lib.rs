//! From a job to a plan.
//!
//! In reading order: [`keys`] says what a job file may hold, [`job`] reads and checks one (every [`fault`] with its
//! place), and [`plan`] holds the types of `plan.json`, from which everything to the right of this crate draws,
//! prints and audits.

pub mod fault;
pub mod figures;
pub mod job;
pub mod keys;
pub mod plan;
pub mod rates;
mod reader;
pub mod wording;

pub use fault::{Fault, Place, Sort};
pub use job::Job;
pub use plan::Plan;
