//! How much of anything a top may have: beyond it lie slips of the pen, and work without end.

/// Degrees between the laminations and the edge of a chevron's or diamond's band, least and most: flatter ones make slabs of
/// strips longer than sheets, steeper ones show ends alone (common practice, no source).
pub const ANGLES: (f64, f64) = (15.0, 75.0);
/// Bands of a top at most.
pub const BANDS: u32 = 400;
/// Wedges of a sunburst, least and most.
pub const WEDGES: (u32, u32) = (3, 72);
/// Blocks in a square of basket weave at most.
pub const BLOCKS: u32 = 50;
/// Sides of a regular polygon, least and most.
pub const SIDES: (u32, u32) = (3, 100);
/// Corners of a free polygon at most: the check for crossings looks at every pair of sides.
pub const CORNERS: usize = 400;
