//! From a job to a plan.
//!
//! In reading order: [`keys`] says what a job file may hold, [`job`] reads and checks one (every [`fault`] with its
//! place), [`plan()`] works it out ([`base`] its legs, rungs and sticks), and [`mod@plan`] holds the types of
//! `plan.json`, from which everything to the right
//! of this crate draws and prints. [`audit`] checks a plan from that file alone, and [`schema`] prints what a job may
//! hold for editors that understand JSON Schema.

mod asked;
mod audit;
pub mod base;
mod cautions;
pub mod compare;
pub mod explain;
mod faces;
pub mod fault;
pub mod figures;
pub mod job;
pub mod keys;
mod limits;
mod mass;
pub mod nearby;
mod pin;
pub mod plan;
mod planning;
mod prices;
pub mod rates;
mod reader;
mod refused;
mod roomy;
mod sawing;
mod schema;
mod steps;
mod surface;
mod thickness;
pub mod wedge;
pub mod wording;
pub mod words;
pub mod work;
mod write;

pub use audit::{Verdict, audit, audit_against};
pub use faces::{TopFace, faces};
pub use fault::{Fault, Place, Sort};
pub use job::Job;
pub use plan::Plan;
pub use planning::{Options, plan};
pub use reader::with_offcuts;
pub use schema::schema;
pub use stripwright_packing::{Budget, Progress};
