//! The drafting tools that all drawings share: scale, hatching, dimension lines, numbered rings, places for labels.
//!
//! After the principles of ISO 128 (lines), ISO 129-1 (dimensions: thin lines, filled arrowheads, figures above the
//! line and readable from below or from the right, running dimensions from one origin) and ISO 5455 (scales).

use stripwright_plan::plan::Plan;
use stripwright_plan::words::Words;
use stripwright_units::{Length, System};

use crate::font::{CAP, Face};
use crate::scene::{Path, Point, Role, Scene, Segment, at};

/// Sizes of lettering in millimetres. A capital is 0.7 of the size: 2.5 mm for labels at arm's length.
pub mod lettering {
    /// Title of a plate.
    pub const TITLE: f64 = 6.4;
    /// What a plate is about, below its title.
    pub const SUBTITLE: f64 = 4.0;
    /// Figures and labels where there is room.
    pub const LARGE: f64 = 4.2;
    /// Figures and labels.
    pub const LABEL: f64 = 3.2;
    /// The smallest lettering that is used.
    pub const SMALL: f64 = 2.6;
}

/// Scales to choose from, as `1:n`: those of ISO 5455 and the steps between them that fill a page better.
const SCALES: [f64; 17] =
    [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.5, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 50.0];

/// The largest scale `1:n` at which `length x width` (real millimetres) fits into the room (paper millimetres).
pub fn scale_to_fit(length: f64, width: f64, room: (f64, f64)) -> f64 {
    let least = (length / room.0).max(width / room.1);
    SCALES.iter().copied().find(|&n| n >= least).unwrap_or((least / 10.0).ceil() * 10.0)
}

/// The next smaller scale.
pub fn next_scale(n: f64) -> f64 {
    SCALES.iter().copied().find(|&m| m > n).unwrap_or(n + 10.0)
}

/// How lengths are written: in one system, or in the job's own with the other in brackets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Show {
    /// The first system.
    pub system: System,
    /// Whether the other follows.
    pub both: bool,
}

impl Show {
    /// As the plan's job asks, or in both systems.
    pub fn of(plan: &Plan, both: bool) -> Show {
        Show { system: plan.units.system(), both }
    }

    /// Without its unit, for drawings: `36`, or `36 [1 27/64]`.
    pub fn bare(self, length: Length) -> String {
        let [first, other] = self.words().map(|words| words.digits(length));
        if self.both { format!("{first} [{other}]") } else { first }
    }

    /// With its unit, for tables and text: `36 mm`, or `36 mm (1 27/64 in)`.
    pub fn full(self, length: Length) -> String {
        let [first, other] = self.words().map(|words| words.length(length));
        if self.both { format!("{first} ({other})") } else { first }
    }

    /// A sentence with the other system's figure in brackets behind every length of the first, where both are shown.
    ///
    /// A sentence knows its lengths only as they are written: what stands there as about, `~1/8 in`, may be a
    /// hundred-and-twenty-eighth off, and is about in the other system as well, to a tenth of a millimetre.
    pub fn said(self, text: &str) -> String {
        if !self.both {
            return text.to_string();
        }
        let [first, other] = self.words();
        let unit = format!(" {}", first.unit());
        let mut out = String::new();
        let mut rest = text;
        while let Some(found) = rest.find(&unit) {
            let (before, after) = (&rest[..found], &rest[found + unit.len()..]);
            out.push_str(before);
            out.push_str(&unit);
            // `mm²` and words that begin alike are no unit, and `2 in each end` is no length.
            let ends = !after.starts_with(|c: char| c.is_alphanumeric() || c == '²');
            let preposition = self.system == System::Inch
                && [" each", " all", " one", " a ", " the ", " its ", " parts"]
                    .iter()
                    .any(|w| after.starts_with(w));
            if ends
                && !preposition
                && let Some((length, about)) = length_before(before, self.system)
            {
                let said = match about {
                    false => other.length(length),
                    true => format!("~{}", other.length(length.nearest_to(TENTH))),
                };
                out.push_str(&format!(" ({said})"));
            }
            rest = after;
        }
        out.push_str(rest);
        out
    }

    /// Two extents without unit: `1062.5 × 36`.
    pub fn size(self, length: Length, width: Length) -> String {
        let [first, other] =
            self.words().map(|words| format!("{} × {}", words.digits(length), words.digits(width)));
        if self.both { format!("{first} [{other}]") } else { first }
    }

    /// A computed length in millimetres, to the nearest tenth or sixty-fourth, with its unit.
    pub fn near(self, mm: f64) -> String {
        let grid = if self.system == System::Metric { TENTH } else { Length::from_nm(396_875) };
        self.full(Length::nearest_mm(mm).nearest_to(grid))
    }

    /// The word for the first system's unit.
    pub fn unit(self) -> &'static str {
        Words { system: self.system }.unit()
    }

    /// The words of the first system, and those of the other.
    fn words(self) -> [Words; 2] {
        let other = if self.system == System::Metric { System::Inch } else { System::Metric };
        [self.system, other].map(|system| Words { system })
    }
}

/// A tenth of a millimetre.
const TENTH: Length = Length::from_um(100);

/// The length whose figure ends a piece of text, and whether it is about: `12.5`, `1 3/8`, `~1 27/64`.
fn length_before(text: &str, system: System) -> Option<(Length, bool)> {
    let allowed = |c: char| c.is_ascii_digit() || matches!(c, '.' | '/' | ' ');
    let figure = &text
        [text.len() - text.chars().rev().take_while(|c| allowed(*c)).map(char::len_utf8).sum::<usize>()..];
    let words: Vec<&str> = figure.split_whitespace().collect();
    // A whole number and a fraction belong together; anything longer is another number before this one.
    let last = words.len().checked_sub(1)?;
    let two = last > 0 && words[last].contains('/') && !words[last - 1].contains(['/', '.']);
    let about = text[..text.len() - figure.len()].ends_with('~');
    let figure = words[if two { last - 1 } else { last }..].join(" ");
    Some((Length::parse(&figure, system).ok()?, about))
}

/// A box on paper: left, top, right, bottom.
pub type Bounds = [f64; 4];

/// Where there is room for words: remembers what is taken.
#[derive(Clone, Debug, Default)]
pub struct Room {
    taken: Vec<Bounds>,
}

impl Room {
    /// Marks a box as taken.
    pub fn take(&mut self, bounds: Bounds) {
        self.taken.push(bounds);
    }

    /// Takes the first box that is free of all others by `gap`.
    pub fn first_free(&mut self, boxes: impl IntoIterator<Item = Bounds>, gap: f64) -> Option<Bounds> {
        let found = boxes.into_iter().find(|b| self.is_free(*b, gap))?;
        self.take(found);
        Some(found)
    }

    /// What is taken.
    pub fn boxes(&self) -> &[Bounds] {
        &self.taken
    }

    /// True when nothing lies within `gap` of the box.
    pub fn is_free(&self, b: Bounds, gap: f64) -> bool {
        self.taken
            .iter()
            .all(|t| b[2] + gap <= t[0] || t[2] + gap <= b[0] || b[3] + gap <= t[1] || t[3] + gap <= b[1])
    }
}

/// Lines across a convex polygon at an angle (degrees from the x axis, anticlockwise on paper), `gap` apart.
///
/// The lines sit on one grid for the whole paper, so that neighbouring areas of one hatch run on.
pub fn hatch(corners: &[Point], angle: stripwright_units::Angle, gap: f64) -> Path {
    let (c, s) = (angle.cos(), -angle.sin());
    // Distance of a point from the line through the origin along the hatch.
    let across = |p: Point| -s * p.x + c * p.y;
    let low = corners.iter().map(|&p| across(p)).fold(f64::INFINITY, f64::min);
    let high = corners.iter().map(|&p| across(p)).fold(f64::NEG_INFINITY, f64::max);
    let mut path = Path::default();
    if corners.len() < 3 {
        return path;
    }
    let mut line = (low / gap).floor() as i64 + 1;
    while (line as f64) * gap < high {
        let d = line as f64 * gap;
        let mut ends: Vec<Point> = Vec::new();
        for (i, &p) in corners.iter().enumerate() {
            let q = corners[(i + 1) % corners.len()];
            let (dp, dq) = (across(p) - d, across(q) - d);
            if (dp < 0.0) != (dq < 0.0) {
                let t = dp / (dp - dq);
                ends.push(at(p.x + t * (q.x - p.x), p.y + t * (q.y - p.y)));
            }
        }
        if let [a, b] = ends[..] {
            path.add(Path::line(a, b));
        }
        line += 1;
    }
    path
}

/// Corners of a rectangle.
pub fn corners(b: Bounds) -> [Point; 4] {
    [at(b[0], b[1]), at(b[2], b[1]), at(b[2], b[3]), at(b[0], b[3])]
}

/// A filled arrowhead with its tip at a point, pointing along `(dx, dy)` (of length one).
pub fn arrowhead(tip: Point, dx: f64, dy: f64, length: f64) -> Path {
    let half = length * 0.17;
    let foot = at(tip.x - dx * length, tip.y - dy * length);
    Path::polygon(&[
        tip,
        at(foot.x - dy * half, foot.y + dx * half),
        at(foot.x + dy * half, foot.y - dx * half),
    ])
}

/// Length of an arrowhead.
const HEAD: f64 = 2.5;

/// A horizontal dimension from `x0` to `x1` at height `y`, with extension lines from `from` (the object's edge).
pub fn dimension_across(scene: &mut Scene, x0: f64, x1: f64, y: f64, from: f64, words: &str) {
    line_across(scene, x0, x1, y, from);
    let words = crate::scene::Text {
        at: at((x0 + x1) / 2.0, y - 0.8),
        words: words.to_string(),
        size: lettering::LABEL,
        face: Face::Medium,
        anchor: crate::scene::Anchor::Middle,
        upright: false,
    };
    scene.write(Role::Label, words);
}

/// The same with its figure at the left of it, where that is longer than the dimension.
pub fn dimension_beside(scene: &mut Scene, x0: f64, x1: f64, y: f64, from: f64, words: &str) {
    let width = Face::Medium.width(words, lettering::LABEL);
    if width + 1.0 < x1 - x0 {
        return dimension_across(scene, x0, x1, y, from, words);
    }
    line_across(scene, x0, x1, y, from);
    // A tenth more for viewers that take wider letters than the drawing's own.
    let left = x0 - HEAD - 1.1 * width;
    scene.words(Role::Label, left, y + lettering::LABEL * CAP / 2.0, lettering::LABEL, Face::Medium, words);
}

/// The lines and arrows of a horizontal dimension.
fn line_across(scene: &mut Scene, x0: f64, x1: f64, y: f64, from: f64) {
    let past = if y > from { 1.0 } else { -1.0 };
    for x in [x0, x1] {
        scene.draw(Role::Dimension, Path::line(at(x, from + past), at(x, y + past)));
    }
    scene.draw(Role::Dimension, Path::line(at(x0, y), at(x1, y)));
    if x1 - x0 > 3.0 * HEAD {
        scene.draw(Role::Arrow, arrowhead(at(x0, y), -1.0, 0.0, HEAD));
        scene.draw(Role::Arrow, arrowhead(at(x1, y), 1.0, 0.0, HEAD));
    } else {
        stroke(scene, at(x0, y));
        stroke(scene, at(x1, y));
    }
}

/// A vertical dimension from `y0` down to `y1` at `x`, with extension lines from `from`; figures read from the right,
/// or stand beside it where they are longer than it.
pub fn dimension_up(scene: &mut Scene, y0: f64, y1: f64, x: f64, from: f64, words: &str) {
    let past = if x > from { 1.0 } else { -1.0 };
    for y in [y0, y1] {
        scene.draw(Role::Dimension, Path::line(at(from + past, y), at(x + past, y)));
    }
    scene.draw(Role::Dimension, Path::line(at(x, y0), at(x, y1)));
    if (y1 - y0).abs() > 3.0 * HEAD {
        scene.draw(Role::Arrow, arrowhead(at(x, y0), 0.0, -1.0, HEAD));
        scene.draw(Role::Arrow, arrowhead(at(x, y1), 0.0, 1.0, HEAD));
    } else {
        stroke(scene, at(x, y0));
        stroke(scene, at(x, y1));
    }
    let middle = (y0 + y1) / 2.0;
    let upright = Face::Medium.width(words, lettering::LABEL) < (y1 - y0).abs();
    let place =
        if upright { at(x - 0.8, middle) } else { at(x + 1.4, middle + lettering::LABEL * CAP / 2.0) };
    let words = crate::scene::Text {
        at: place,
        words: words.to_string(),
        size: lettering::LABEL,
        face: Face::Medium,
        anchor: if upright { crate::scene::Anchor::Middle } else { crate::scene::Anchor::Start },
        upright,
    };
    scene.write(Role::Label, words);
}

/// The oblique stroke that ends a dimension too short for arrowheads.
fn stroke(scene: &mut Scene, p: Point) {
    scene.draw(Role::Dimension, Path::line(at(p.x - 0.9, p.y + 0.9), at(p.x + 0.9, p.y - 0.9)));
}

/// A number in a ring, as wide as it needs; returns its box.
pub fn ring(scene: &mut Scene, centre: Point, words: &str, size: f64, filled: bool) -> Bounds {
    let b = ring_bounds(centre, words, size);
    let (role, ink) = if filled { (Role::RingFilled, Role::Reversed) } else { (Role::Ring, Role::Label) };
    let (w, h) = (b[2] - b[0], b[3] - b[1]);
    scene.draw(role, Path::rounded(at(b[0], b[1]), w, h, h / 2.0, h / 2.0));
    scene.centred(ink, centre, size, Face::Bold, words);
    b
}

/// A number without a ring, on a ground that clears the lines under it; takes the room of a [`ring`].
pub fn plain(scene: &mut Scene, centre: Point, words: &str, size: f64) {
    let b = ring_bounds(centre, words, size);
    scene.draw(Role::Ground, Path::rectangle(at(b[0], b[1]), b[2] - b[0], b[3] - b[1]));
    scene.centred(Role::Label, centre, size, Face::Bold, words);
}

/// The box of a [`ring`].
pub fn ring_bounds(centre: Point, words: &str, size: f64) -> Bounds {
    // Small numbers have a ring that is as much closer.
    let air = (size / 2.0).min(1.3);
    let height = size * CAP + air;
    let width = (Face::Bold.width(words, size) + air + 0.2).max(height);
    [centre.x - width / 2.0, centre.y - height / 2.0, centre.x + width / 2.0, centre.y + height / 2.0]
}

/// A double arrow along the face grain, with its word; returns how wide it is.
pub fn grain(scene: &mut Scene, x: f64, y: f64) -> f64 {
    scene.draw(Role::Grain, Path::line(at(x, y), at(x + 16.0, y)));
    for (tip, d) in [(x, -1.0), (x + 16.0, 1.0)] {
        // Half heads, so that it is not read as a dimension.
        let head = [at(tip, y), at(tip - d * 3.0, y - 1.2)];
        scene.draw(Role::Grain, Path::open(&head));
    }
    scene.words(
        Role::Label,
        x + 18.0,
        y + lettering::LABEL * CAP / 2.0,
        lettering::LABEL,
        Face::Medium,
        "face grain",
    );
    18.0 + Face::Medium.width("face grain", lettering::LABEL)
}

/// Title and subject of a plate at its head, and the scale at its right; returns the height taken.
pub fn head(scene: &mut Scene, title: &str, subject: &str, right: &str) -> f64 {
    let width = scene.width;
    // Room for letters a tenth wider than its own, for viewers that take others.
    const WIDER: f64 = 1.1;
    let right_width = WIDER * Face::Medium.width(right, lettering::SUBTITLE);
    // A long title is set smaller before it is shortened.
    let room = (width - right_width - 6.0) / WIDER;
    let size = (lettering::TITLE * room / Face::Bold.width(title, lettering::TITLE).max(1.0))
        .clamp(lettering::SUBTITLE, lettering::TITLE);
    let title = Face::Bold.fit(title, size, room);
    scene.words(Role::Label, 0.0, 5.2, size, Face::Bold, title);
    scene.words_to(Role::Note, width, 5.2, lettering::SUBTITLE, Face::Medium, right);
    scene.draw(Role::RuleHeavy, Path::line(at(0.0, 7.6), at(width, 7.6)));
    let mut y = 7.6;
    for line in Face::Medium.wrap(subject, lettering::SUBTITLE, width) {
        if !line.is_empty() {
            y += 5.0;
            scene.words(Role::Label, 0.0, y, lettering::SUBTITLE, Face::Medium, line);
        }
    }
    y + 2.4
}

/// `1:10`.
pub fn scale_words(n: f64) -> String {
    format!("scale 1:{}", crate::writer::number(n))
}

/// Moves wanted places apart until neighbours are at least `gap` from one another, within `low..=high`, keeping
/// their order. Returns nothing when there is not room for all.
pub fn spread(wanted: &[f64], gap: f64, low: f64, high: f64) -> Option<Vec<f64>> {
    if wanted.len() as f64 * gap - gap > high - low {
        return None;
    }
    let mut places: Vec<f64> = wanted.to_vec();
    // Push up from the low end, then back from the high end: at most one pass each is needed.
    let mut least = low;
    for place in &mut places {
        *place = place.max(least);
        least = *place + gap;
    }
    let mut most = high;
    for place in places.iter_mut().rev() {
        *place = place.min(most);
        most = *place - gap;
    }
    Some(places)
}

/// The smallest box round a path.
pub fn bounds(path: &Path) -> Bounds {
    path.points().fold([f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY], |b, p| {
        [b[0].min(p.x), b[1].min(p.y), b[2].max(p.x), b[3].max(p.y)]
    })
}

/// A closed path through points that need not be convex.
pub fn closed(points: impl IntoIterator<Item = Point>) -> Path {
    let mut path = Path::open(&points.into_iter().collect::<Vec<_>>());
    path.0.push(Segment::Close);
    path
}

#[cfg(test)]
mod tests {
    use super::*;
    use stripwright_units::Angle;

    #[test]
    fn hatch_lines_stay_inside() {
        let square = corners([10.0, 10.0, 20.0, 16.0]);
        let path = hatch(&square, Angle::degrees(45.0), 1.0);
        let b = bounds(&path);
        assert!(b[0] >= 10.0 - 1e-9 && b[1] >= 10.0 - 1e-9 && b[2] <= 20.0 + 1e-9 && b[3] <= 16.0 + 1e-9);
        // The hatch crosses (10 + 6) sin 45 = 11.3 mm of rectangle: 11 lines, of two points each.
        assert_eq!(path.0.len(), 2 * 11);
    }

    #[test]
    fn spreads_labels_without_changing_their_order() {
        let places = spread(&[1.0, 1.0, 1.5, 9.0], 2.0, 0.0, 10.0).unwrap();
        assert!(places.windows(2).all(|w| w[1] - w[0] >= 2.0 - 1e-9), "{places:?}");
        assert!(spread(&[0.0; 7], 2.0, 0.0, 10.0).is_none());
        assert_eq!(spread(&[9.9, 10.0], 2.0, 0.0, 10.0).unwrap(), [8.0, 10.0]);
    }

    #[test]
    fn picks_the_largest_scale_that_fits() {
        assert_eq!(scale_to_fit(2440.0, 1220.0, (248.0, 150.0)), 10.0);
        assert_eq!(scale_to_fit(600.0, 600.0, (160.0, 160.0)), 4.0);
        assert_eq!(scale_to_fit(90_000.0, 600.0, (160.0, 160.0)), 570.0);
    }

    #[test]
    fn sentences_get_the_other_system_behind_each_length() {
        let metric = Show { system: System::Metric, both: true };
        let inch = Show { system: System::Inch, both: true };
        for (show, text, said) in [
            (metric, "rip 38.1 mm, then 4 of 25.4 mm.", "rip 38.1 mm (1 1/2 in), then 4 of 25.4 mm (1 in)."),
            (metric, "0.2 mm² and 12 mmx stay; so do mm alone", "0.2 mm² and 12 mmx stay; so do mm alone"),
            (metric, "Board 1, 2 of 45x95", "Board 1, 2 of 45x95"),
            (inch, "stop at 1 1/2 in, 3/4 in thick", "stop at 1 1/2 in (38.1 mm), 3/4 in (19.05 mm) thick"),
            (inch, "8 dowels (2 in each end), 4 in all", "8 dowels (2 in each end), 4 in all"),
            (inch, "1/4 in in from the arris", "1/4 in (6.35 mm) in from the arris"),
            (inch, "~1 27/64 in deep", "~1 27/64 in (~36.1 mm) deep"),
            (inch, "of ~1/8 in, 2 1/4 in apart", "of ~1/8 in (~3.2 mm), 2 1/4 in (57.15 mm) apart"),
            (Show { both: false, ..metric }, "38.1 mm", "38.1 mm"),
        ] {
            assert_eq!(show.said(text), said);
        }
    }

    #[test]
    fn writes_lengths_in_one_or_both_systems() {
        let show = Show { system: System::Metric, both: true };
        assert_eq!(show.bare(Length::from_um(38_100)), "38.1 [1 1/2]");
        assert_eq!(show.full(Length::from_um(38_100)), "38.1 mm (1 1/2 in)");
        let show = Show { system: System::Metric, both: false };
        assert_eq!(show.bare(Length::from_nm(396_875)), "0.4");
        assert_eq!(show.size(Length::from_mm(600), Length::from_mm(36)), "600 × 36");
    }
}
