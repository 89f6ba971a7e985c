//! The audit against brute force on tiny jobs, against corruption, against jobs whose answer is known by hand, and
//! with the solver's pricing against published problems.

mod agree;
mod corrupt;
mod forks;
mod hand;
mod oracle;
mod published;
mod range;
mod small;
mod spoil;
mod support;
