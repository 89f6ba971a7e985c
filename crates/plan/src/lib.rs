//! From a job to a plan.
//!
//! [`plan`] holds the types of `plan.json`; everything to the right of this crate draws, prints and audits from them
//! alone.

pub mod figures;
pub mod plan;
