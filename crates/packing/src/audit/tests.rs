//! The audit against brute force on tiny jobs, against corruption, and against jobs whose answer is known by hand.

mod agree;
mod corrupt;
mod hand;
mod oracle;
mod small;
mod support;
