//! What a drawing is before it becomes ink: shapes and words on paper, each tagged with what it stands for.

use crate::font::{Extent, Face};

/// A place on the paper, in millimetres from its upper left corner, y downwards.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Downwards.
    pub y: f64,
}

/// A place from its two distances.
pub const fn at(x: f64, y: f64) -> Point {
    Point { x, y }
}

/// What a mark stands for. How it looks is decided in one place only, [`crate::ink`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// The edge of the sheet as bought.
    Sheet,
    /// What is cut away at the sheet's edges.
    Trim,
    /// A piece to keep.
    Piece,
    /// Wood that the saw turns to dust.
    Kerf,
    /// An offcut worth keeping.
    Offcut,
    /// An offcut too small to keep.
    Scrap,
    /// The lines of a hatch.
    Hatch,
    /// The direction of the face grain.
    Grain,
    /// Dimension and extension lines.
    Dimension,
    /// Arrowheads and other small filled signs of a dimension.
    Arrow,
    /// The line from a label to what it names.
    Leader,
    /// An edge that lies behind or inside.
    Hidden,
    /// A centre line.
    Centre,
    /// The finished outline.
    Outline,
    /// Visible edges of an object.
    Edge,
    /// Edges between surfaces in one plane, and other fine lines.
    Fine,
    /// A glue line.
    Glue,
    /// A joint of the blank under the outline that is marked on it.
    Joint,
    /// A lamination in the first tone.
    LaminationLight,
    /// A lamination in the second tone.
    LaminationDark,
    /// A ply line within a lamination.
    Ply,
    /// The ring round a number.
    Ring,
    /// A filled ring, its number in [`Role::Reversed`].
    RingFilled,
    /// White ground under a label.
    Ground,
    /// A light tint that groups, behind words.
    Tint,
    /// Words.
    Label,
    /// Words of lesser weight.
    Note,
    /// White words on black.
    Reversed,
    /// A rule between rows.
    Rule,
    /// A heavy rule under a heading.
    RuleHeavy,
    /// A box to tick.
    Tick,
}

impl Role {
    /// Every role, in the order of the style sheet.
    pub const ALL: [Role; 31] = [
        Role::Sheet,
        Role::Trim,
        Role::Piece,
        Role::Kerf,
        Role::Offcut,
        Role::Scrap,
        Role::Hatch,
        Role::Grain,
        Role::Dimension,
        Role::Arrow,
        Role::Leader,
        Role::Hidden,
        Role::Centre,
        Role::Outline,
        Role::Edge,
        Role::Fine,
        Role::Glue,
        Role::Joint,
        Role::LaminationLight,
        Role::LaminationDark,
        Role::Ply,
        Role::Ring,
        Role::RingFilled,
        Role::Ground,
        Role::Tint,
        Role::Label,
        Role::Note,
        Role::Reversed,
        Role::Rule,
        Role::RuleHeavy,
        Role::Tick,
    ];
}

/// Straight and curved lines, one after the other; may have several separate parts.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Path(pub Vec<Segment>);

/// One step of a [`Path`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Segment {
    /// Begins a part.
    Move(Point),
    /// A straight line.
    Line(Point),
    /// A cubic Bézier curve: two controls and the end.
    Curve(Point, Point, Point),
    /// Back to the beginning of the part.
    Close,
}

/// The control distance that makes a Bézier curve of a quarter circle of radius one.
const QUARTER: f64 = 0.552_284_749_8;

impl Path {
    /// A straight line.
    pub fn line(from: Point, to: Point) -> Path {
        Path(vec![Segment::Move(from), Segment::Line(to)])
    }

    /// A line through points.
    pub fn open(points: &[Point]) -> Path {
        let mut segments = Vec::with_capacity(points.len());
        for (i, &p) in points.iter().enumerate() {
            segments.push(if i == 0 { Segment::Move(p) } else { Segment::Line(p) });
        }
        Path(segments)
    }

    /// A closed polygon.
    pub fn polygon(points: &[Point]) -> Path {
        let mut path = Path::open(points);
        path.0.push(Segment::Close);
        path
    }

    /// A rectangle from its upper left corner.
    pub fn rectangle(corner: Point, width: f64, height: f64) -> Path {
        let (x, y) = (corner.x, corner.y);
        Path::polygon(&[at(x, y), at(x + width, y), at(x + width, y + height), at(x, y + height)])
    }

    /// A rectangle with rounded corners; `rx` and `ry` of half its size make an ellipse.
    pub fn rounded(corner: Point, width: f64, height: f64, rx: f64, ry: f64) -> Path {
        let (l, t, r, b) = (corner.x, corner.y, corner.x + width, corner.y + height);
        let (kx, ky) = (rx * (1.0 - QUARTER), ry * (1.0 - QUARTER));
        use Segment::{Close, Curve, Line, Move};
        Path(vec![
            Move(at(l + rx, t)),
            Line(at(r - rx, t)),
            Curve(at(r - kx, t), at(r, t + ky), at(r, t + ry)),
            Line(at(r, b - ry)),
            Curve(at(r, b - ky), at(r - kx, b), at(r - rx, b)),
            Line(at(l + rx, b)),
            Curve(at(l + kx, b), at(l, b - ky), at(l, b - ry)),
            Line(at(l, t + ry)),
            Curve(at(l, t + ky), at(l + kx, t), at(l + rx, t)),
            Close,
        ])
    }

    /// An ellipse.
    pub fn ellipse(centre: Point, rx: f64, ry: f64) -> Path {
        Path::rounded(at(centre.x - rx, centre.y - ry), 2.0 * rx, 2.0 * ry, rx, ry)
    }

    /// A circle.
    pub fn circle(centre: Point, radius: f64) -> Path {
        Path::ellipse(centre, radius, radius)
    }

    /// Adds the parts of another path.
    pub fn add(&mut self, other: Path) {
        self.0.extend(other.0);
    }

    /// The same path elsewhere.
    pub fn moved(&self, dx: f64, dy: f64) -> Path {
        let by = |p: Point| at(p.x + dx, p.y + dy);
        Path(
            self.0
                .iter()
                .map(|s| match *s {
                    Segment::Move(p) => Segment::Move(by(p)),
                    Segment::Line(p) => Segment::Line(by(p)),
                    Segment::Curve(a, b, p) => Segment::Curve(by(a), by(b), by(p)),
                    Segment::Close => Segment::Close,
                })
                .collect(),
        )
    }

    /// All points, controls included: their hull contains the path.
    pub fn points(&self) -> impl Iterator<Item = Point> + '_ {
        self.0.iter().flat_map(|s| match *s {
            Segment::Move(p) | Segment::Line(p) => vec![p],
            Segment::Curve(a, b, p) => vec![a, b, p],
            Segment::Close => vec![],
        })
    }
}

/// Which part of a line of text stands at its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Anchor {
    /// Its beginning.
    #[default]
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// A line of text.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// On the baseline.
    pub at: Point,
    /// What it says.
    pub words: String,
    /// Size in millimetres (a capital is 0.7 of it).
    pub size: f64,
    /// Cut of the typeface.
    pub face: Face,
    /// What stands at `at`.
    pub anchor: Anchor,
    /// Turned about `at`, reading upwards, as dimensions on vertical lines do (ISO 129-1).
    pub upright: bool,
}

impl Text {
    /// The room it takes.
    pub fn extent(&self) -> Extent {
        self.face.extent(&self.words, self.size)
    }

    /// The box round its ink: left, top, right, bottom.
    pub fn bounds(&self) -> [f64; 4] {
        let e = self.extent();
        let start = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => -e.width / 2.0,
            Anchor::End => -e.width,
        };
        let Point { x, y } = self.at;
        if self.upright {
            [x - e.above, y - start - e.width, x + e.below, y - start]
        } else {
            [x + start, y - e.above, x + start + e.width, y + e.below]
        }
    }
}

/// One thing on the paper.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Lines and areas.
    Path(Path),
    /// A line of text.
    Text(Text),
    /// Marks shown only inside a path.
    Clip(Path, Vec<Mark>),
}

/// A shape and what it stands for.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What it stands for.
    pub role: Role,
    /// What it is.
    pub shape: Shape,
    /// What a pointer resting on it, or a screen reader, should be told.
    pub name: Option<String>,
}

/// A drawing: its paper and the marks on it, in the order they are laid down.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Scene {
    /// File name without its ending.
    pub name: String,
    /// Shown above the drawing, and the `title` of its file.
    pub title: String,
    /// One or two sentences for those who cannot see it.
    pub description: String,
    /// Width of the paper in millimetres.
    pub width: f64,
    /// Height of the paper in millimetres.
    pub height: f64,
    /// Paper millimetres to a real one, as `1:n`; none for drawings not to scale.
    pub scale: Option<f64>,
    /// The marks.
    pub marks: Vec<Mark>,
}

impl Scene {
    /// An empty drawing.
    pub fn new(name: impl Into<String>, title: impl Into<String>, width: f64, height: f64) -> Scene {
        Scene { name: name.into(), title: title.into(), width, height, ..Scene::default() }
    }

    /// Lays down a path.
    pub fn draw(&mut self, role: Role, path: Path) {
        self.marks.push(Mark { role, shape: Shape::Path(path), name: None });
    }

    /// Lays down a path that has a name of its own.
    pub fn draw_named(&mut self, role: Role, path: Path, name: impl Into<String>) {
        self.marks.push(Mark { role, shape: Shape::Path(path), name: Some(name.into()) });
    }

    /// Lays down marks inside a path.
    pub fn clip(&mut self, role: Role, path: Path, marks: Vec<Mark>) {
        self.marks.push(Mark { role, shape: Shape::Clip(path, marks), name: None });
    }

    /// Writes a line of text.
    pub fn write(&mut self, role: Role, text: Text) {
        if !text.words.trim().is_empty() {
            self.marks.push(Mark { role, shape: Shape::Text(text), name: None });
        }
    }

    /// Writes from the left.
    pub fn words(&mut self, role: Role, x: f64, y: f64, size: f64, face: Face, words: impl Into<String>) {
        let words = words.into();
        self.write(role, Text { at: at(x, y), words, size, face, anchor: Anchor::Start, upright: false });
    }

    /// Writes centred on a point, optically: the middle of a capital's height lies on it.
    pub fn centred(&mut self, role: Role, centre: Point, size: f64, face: Face, words: impl Into<String>) {
        let words = words.into();
        let baseline = at(centre.x, centre.y + size * crate::font::CAP / 2.0);
        self.write(role, Text { at: baseline, words, size, face, anchor: Anchor::Middle, upright: false });
    }

    /// Writes up to the right.
    pub fn words_to(&mut self, role: Role, x: f64, y: f64, size: f64, face: Face, words: impl Into<String>) {
        let words = words.into();
        self.write(role, Text { at: at(x, y), words, size, face, anchor: Anchor::End, upright: false });
    }

    /// Lays another drawing down with its corner at a place.
    pub fn place(&mut self, other: &Scene, corner: Point) {
        self.marks.extend(other.marks.iter().map(|m| moved(m, corner.x, corner.y)));
    }

    /// Every line of text, those inside clips too.
    pub fn texts(&self) -> Vec<&Text> {
        fn gather<'a>(marks: &'a [Mark], into: &mut Vec<&'a Text>) {
            for mark in marks {
                match &mark.shape {
                    Shape::Text(text) => into.push(text),
                    Shape::Clip(_, inner) => gather(inner, into),
                    Shape::Path(_) => {}
                }
            }
        }
        let mut texts = Vec::new();
        gather(&self.marks, &mut texts);
        texts
    }

    /// What is wrong with the drawing's lettering: words over words or over lines, words or lines off the paper. Empty when all
    /// is well.
    pub fn faults(&self) -> Vec<String> {
        // Boxes are of ink, so touching is already too near; a tenth of a millimetre absorbs rounding.
        const SLACK: f64 = 0.1;
        let texts = self.texts();
        let boxes: Vec<[f64; 4]> = texts.iter().map(|t| t.bounds()).collect();
        let mut faults = crate::legible::faults(self);
        for (i, a) in boxes.iter().enumerate() {
            if a[0] < -SLACK || a[1] < -SLACK || a[2] > self.width + SLACK || a[3] > self.height + SLACK {
                faults.push(format!("{}: `{}` leaves the paper", self.name, texts[i].words));
            }
            for (j, b) in boxes.iter().enumerate().skip(i + 1) {
                let apart = a[2] <= b[0] + SLACK
                    || b[2] <= a[0] + SLACK
                    || a[3] <= b[1] + SLACK
                    || b[3] <= a[1] + SLACK;
                if !apart {
                    let (a, b) = (&texts[i].words, &texts[j].words);
                    faults.push(format!("{}: `{a}` and `{b}` overlap", self.name));
                }
            }
        }
        for mark in &self.marks {
            if let Shape::Path(path) | Shape::Clip(path, _) = &mark.shape
                && path.points().any(|p| {
                    p.x < -SLACK || p.y < -SLACK || p.x > self.width + SLACK || p.y > self.height + SLACK
                })
            {
                faults.push(format!("{}: a mark of {:?} leaves the paper", self.name, mark.role));
            }
        }
        faults
    }
}

fn moved(mark: &Mark, dx: f64, dy: f64) -> Mark {
    let shape = match &mark.shape {
        Shape::Path(path) => Shape::Path(path.moved(dx, dy)),
        Shape::Text(text) => Shape::Text(Text { at: at(text.at.x + dx, text.at.y + dy), ..text.clone() }),
        Shape::Clip(path, marks) => {
            Shape::Clip(path.moved(dx, dy), marks.iter().map(|m| moved(m, dx, dy)).collect())
        }
    };
    Mark { role: mark.role, shape, name: mark.name.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_words_over_words_and_off_the_paper() {
        let mut scene = Scene::new("test", "Test", 50.0, 20.0);
        scene.words(Role::Label, 1.0, 10.0, 4.0, Face::Medium, "forty");
        assert!(scene.faults().is_empty());
        scene.words(Role::Label, 5.0, 11.0, 4.0, Face::Medium, "two");
        assert_eq!(scene.faults().len(), 1);
        scene.words(Role::Label, 45.0, 18.0, 4.0, Face::Medium, "outside");
        scene.draw(Role::Edge, Path::line(at(0.0, 0.0), at(60.0, 0.0)));
        assert_eq!(scene.faults().len(), 3);
    }

    #[test]
    fn upright_text_reads_upwards() {
        let text = Text {
            at: at(10.0, 30.0),
            words: "600".into(),
            size: 4.0,
            face: Face::Medium,
            anchor: Anchor::Start,
            upright: true,
        };
        let [l, t, r, b] = text.bounds();
        assert!((b - 30.0).abs() < 1e-9 && t < 25.0 && l < 8.0 && r < 10.5, "{l} {t} {r} {b}");
    }
}
