//! Drawings as plain geometry: points in millimetres and dimensions with their lines already placed, so that whoever
//! puts them on paper needs no trigonometry.

use stripwright_units::{Angle, Length};

/// A point on the paper's plane in millimetres of the piece: x to the right, y **up**.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Up.
    pub y: f64,
}

/// What a line is, never what it looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// An edge that is seen.
    Visible,
    /// An edge behind others.
    Hidden,
    /// A centre line.
    Centre,
    /// A saw cut.
    Cut,
    /// A bore or a mortise.
    Bore,
    /// A pencil mark of the marking scheme.
    Mark,
    /// Something that belongs to another part: the top, the floor, the blank.
    Ghost,
}

/// A run of straight lines.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What it is.
    pub role: Role,
    /// What it belongs to: `leg front left`, `rung 1`, `floor`.
    pub part: String,
    /// Its points in order.
    pub points: Vec<Point>,
    /// Whether the last point joins the first.
    pub closed: bool,
}

/// A circle: a bore seen along its axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Circle {
    /// What it is.
    pub role: Role,
    /// What it belongs to.
    pub part: String,
    /// Its middle.
    pub centre: Point,
    /// Its radius in millimetres.
    pub radius: f64,
}

/// What a dimension says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value {
    /// A length, already to the mark.
    Length(Length),
    /// An angle.
    Angle(Angle),
    /// A diameter.
    Diameter(Length),
}

/// A dimension with everything placed.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension {
    /// The measured points: an extension line goes from each to the end of `line` with the same number.
    pub from: [Point; 2],
    /// The dimension line: two points for a length, a run of points along the arc for an angle.
    pub line: Vec<Point>,
    /// Where the middle of the text goes: on the dimension line, or beyond the arc of an angle.
    pub text_at: Point,
    /// What it says.
    pub value: Value,
    /// A few words beside the value; may be empty.
    pub label: String,
}

/// Words on a drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// What it points at.
    pub at: Point,
    /// What it says.
    pub text: String,
}

/// One drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// A short name for files: `front`, `side`, `plan`, `leg`, `rung-1`, `bores-1`, `marking`.
    pub name: String,
    /// A heading.
    pub title: String,
    /// Lines, in the order of drawing.
    pub outlines: Vec<Line>,
    /// Circles.
    pub circles: Vec<Circle>,
    /// Dimensions.
    pub dimensions: Vec<Dimension>,
    /// Words at places in the drawing.
    pub notes: Vec<Note>,
}
