//! From parts to sticks, and from a board's section to sticks.

use stripwright_units::Length;

use crate::spec::Section;

/// A demand for sticks of one size, for all bases of the spec together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stick {
    /// What it becomes: `leg`, `front and back rung 1`.
    pub name: String,
    /// Finished section.
    pub section: Section,
    /// Section as sawn: finished (and bevelled rips) plus planing on every face.
    pub sawn: Section,
    /// Length of the blank.
    pub length: Length,
    /// How many.
    pub count: u32,
}

/// How a board's section is sawn into sticks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BoardYield {
    /// Sticks side by side across the board's width.
    pub across: u32,
    /// Sticks one above another in its thickness.
    pub layers: u32,
    /// The stick's sawn size across the board's width.
    pub stick_width: Length,
    /// The stick's sawn size in the board's thickness.
    pub stick_thickness: Length,
    /// What is left of the width after the last rip.
    pub left_over: Length,
}
