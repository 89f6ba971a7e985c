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
    /// Whether lengths and angles are true; a sketch is not to scale.
    pub to_scale: bool,
    /// Lines, in the order of drawing.
    pub outlines: Vec<Line>,
    /// Circles.
    pub circles: Vec<Circle>,
    /// Dimensions.
    pub dimensions: Vec<Dimension>,
    /// Words at places in the drawing.
    pub notes: Vec<Note>,
}

/// A view being drawn.
pub(crate) struct Paper {
    view: View,
    mark: Length,
}

impl Paper {
    pub(crate) fn new(name: &str, title: &str, mark: Length) -> Paper {
        let view = View {
            name: name.to_string(),
            title: title.to_string(),
            to_scale: true,
            outlines: Vec::new(),
            circles: Vec::new(),
            dimensions: Vec::new(),
            notes: Vec::new(),
        };
        Paper { view, mark }
    }

    /// A sketch.
    pub(crate) fn not_to_scale(name: &str, title: &str, mark: Length) -> Paper {
        let mut paper = Paper::new(name, title, mark);
        paper.view.to_scale = false;
        paper
    }

    pub(crate) fn done(self) -> View {
        self.view
    }

    fn line(&mut self, role: Role, part: &str, points: &[[f64; 2]], closed: bool) {
        let points = points.iter().map(|[x, y]| Point { x: *x, y: *y }).collect();
        self.view.outlines.push(Line { role, part: part.to_string(), points, closed });
    }

    /// A closed outline.
    pub(crate) fn shape(&mut self, role: Role, part: &str, points: &[[f64; 2]]) {
        self.line(role, part, points, true);
    }

    /// An open run of lines.
    pub(crate) fn run(&mut self, role: Role, part: &str, points: &[[f64; 2]]) {
        self.line(role, part, points, false);
    }

    pub(crate) fn circle(&mut self, role: Role, part: &str, [x, y]: [f64; 2], radius: f64) {
        self.view.circles.push(Circle { role, part: part.to_string(), centre: Point { x, y }, radius });
    }

    pub(crate) fn note(&mut self, [x, y]: [f64; 2], text: &str) {
        self.view.notes.push(Note { at: Point { x, y }, text: text.to_string() });
    }

    fn dimension(
        &mut self,
        from: [[f64; 2]; 2],
        line: Vec<[f64; 2]>,
        text_at: [f64; 2],
        value: Value,
        label: &str,
    ) {
        let point = |[x, y]: [f64; 2]| Point { x, y };
        self.view.dimensions.push(Dimension {
            from: from.map(point),
            line: line.into_iter().map(point).collect(),
            text_at: point(text_at),
            value,
            label: label.to_string(),
        });
    }

    /// A dimension whose line runs level at height `y`.
    pub(crate) fn level(&mut self, from: [f64; 2], to: [f64; 2], y: f64, value: Length, label: &str) {
        let line = vec![[from[0], y], [to[0], y]];
        self.dimension([from, to], line, [(from[0] + to[0]) / 2.0, y], Value::Length(value), label);
    }

    /// A dimension whose line runs plumb at `x`.
    pub(crate) fn plumb(&mut self, from: [f64; 2], to: [f64; 2], x: f64, value: Length, label: &str) {
        let line = vec![[x, from[1]], [x, to[1]]];
        self.dimension([from, to], line, [x, (from[1] + to[1]) / 2.0], Value::Length(value), label);
    }

    /// A dimension along the line between its points.
    pub(crate) fn along(&mut self, from: [f64; 2], to: [f64; 2], value: Length, label: &str) {
        let middle = [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0];
        self.dimension([from, to], vec![from, to], middle, Value::Length(value), label);
    }

    /// A level dimension of its own measured length, to the mark.
    pub(crate) fn level_measured(&mut self, from: [f64; 2], to: [f64; 2], y: f64, label: &str) {
        let value = crate::shape::to_mark((to[0] - from[0]).abs(), self.mark);
        self.level(from, to, y, value, label);
    }

    /// The angle at `vertex` between the directions `from` and `to` (degrees anticlockwise from the x axis).
    pub(crate) fn angle(
        &mut self,
        vertex: [f64; 2],
        [from, to]: [f64; 2],
        radius: f64,
        value: Angle,
        label: &str,
    ) {
        let at = |degrees: f64, radius: f64| {
            let angle = Angle::degrees(degrees);
            [vertex[0] + radius * angle.cos(), vertex[1] + radius * angle.sin()]
        };
        let arc: Vec<[f64; 2]> =
            (0..=8).map(|i| at(from + (to - from) * f64::from(i) / 8.0, radius)).collect();
        let text_at = at((from + to) / 2.0, radius * 1.25);
        self.dimension([arc[0], arc[8]], arc, text_at, Value::Angle(value), label);
    }
}
