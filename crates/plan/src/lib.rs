//! From a job to a plan.
