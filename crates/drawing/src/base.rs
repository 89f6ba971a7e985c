//! Drawings of a base: elevations, plan, leg, rungs, bores, as the plan carries their geometry.
//!
//! The geometry comes placed; here it gets a scale, ink, and words that keep clear of one another and of every line. A dimension
//! whose figure finds no clear place gets a number, and so does every note: the numbers are explained below the drawing.

use stripwright_plan::base::{LineRole, ViewDimension, ViewNote, ViewPlan};
use stripwright_plan::plan::Plan;
use stripwright_units::trig;

use crate::boards;
use crate::draft::{self, Bounds, Room, Show, lettering};
use crate::face::PAPER;
use crate::font::{CAP, Face};
use crate::legible;
use crate::scene::{Anchor, Path, Point, Role, Scene, Text, at};

/// The most height a view takes: two of them share a page.
const TALLEST: f64 = 92.0;
/// The most height of a view with what is explained below it, so that two share a page with a gap between them.
const HALF: f64 = (PAPER.1 - 6.0) / 2.0;
/// White round a view, for figures that stand beside it.
const MARGIN: f64 = 9.0;

/// All drawings of one base.
pub fn plates(plan: &Plan, index: usize, show: Show) -> Vec<Scene> {
    let Some(base) = plan.bases.get(index) else { return Vec::new() };
    let parts = boards::parts(plan);
    // What is named on a drawing and cut from a board has its stick's letter beside its name.
    let said = |text: &str| {
        let stick = format!("{} {text}", base.name);
        match parts.iter().position(|part| part.name == stick) {
            Some(n) => format!("{text} ({})", boards::letter(plan, n)),
            None => show.said(text),
        }
    };
    let drawn = |view: &ViewPlan, tallest: f64| plate(view, index, &base.name, show, &said, tallest);
    // Somewhat smaller, where what is explained below it would otherwise take it to a page of its own.
    let fitted = |view: &ViewPlan| {
        let whole = drawn(view, TALLEST)?;
        let fits = |scene: &Scene| scene.height <= HALF;
        let smaller =
            || [0.9, 0.8, 0.7].into_iter().find_map(|share| drawn(view, share * TALLEST).filter(fits));
        if fits(&whole) { Some(whole) } else { smaller().or(Some(whole)) }
    };
    base.views.iter().filter_map(fitted).collect()
}

fn plate(
    view: &ViewPlan,
    index: usize,
    base: &str,
    show: Show,
    said: &dyn Fn(&str) -> String,
    tallest: f64,
) -> Option<Scene> {
    let points = view
        .lines
        .iter()
        .flat_map(|l| l.points.iter().copied())
        .chain(view.circles.iter().flat_map(|c| {
            let [x, y] = c.centre;
            [[x - c.radius, y - c.radius], [x + c.radius, y + c.radius]]
        }))
        .chain(view.dimensions.iter().flat_map(|d| d.line.iter().copied().chain(d.from)))
        .chain(view.notes.iter().map(|n| n.at));
    let all: Vec<Point> = points.map(|p| at(p[0], p[1])).collect();
    let b = draft::bounds(&Path::open(&all));
    let (length, width) = (b[2] - b[0], b[3] - b[1]);
    if !(length.is_finite() && width.is_finite() && length + width > 0.0) {
        return None;
    }
    let title = format!("{base}: {}", view.title);
    let mut scene = Scene::new(format!("base-{}-{}", index + 1, view.name), title.clone(), PAPER.0, 0.0);
    let scale = draft::scale_to_fit(length, width, (PAPER.0 - 2.0 * MARGIN, tallest));
    scene.scale = view.to_scale.then_some(scale);
    scene.description = format!("{} of {base}, with its dimensions.", view.title);
    let right = if view.to_scale {
        format!("{} · {}", draft::scale_words(scale), show.unit())
    } else {
        "not to scale".to_string()
    };
    let top = draft::head(&mut scene, &title, "", &right) + MARGIN;
    let left = (PAPER.0 - length / scale) / 2.0;
    let on = |p: [f64; 2]| at(left + (p[0] - b[0]) / scale, top + (b[3] - p[1]) / scale);
    let lowest = top + width / scale + MARGIN;
    // What belongs to other parts lies under the rest.
    let order = |role: LineRole| if role == LineRole::Ghost { 0 } else { 1 };
    let mut lines: Vec<_> = view.lines.iter().collect();
    lines.sort_by_key(|l| order(l.role));
    for line in lines {
        let mut path = Path::open(&line.points.iter().map(|p| on(*p)).collect::<Vec<_>>());
        if line.closed {
            path.0.push(crate::scene::Segment::Close);
        }
        scene.draw_named(ink_of(line.role), path, line.part.clone());
    }
    for circle in &view.circles {
        scene.draw(ink_of(circle.role), Path::circle(on(circle.centre), circle.radius / scale));
    }
    let area = [0.0, top - MARGIN + 1.0, PAPER.0, lowest];
    for d in &view.dimensions {
        dimension_lines(&mut scene, d, &on);
    }
    let line = |d: &ViewDimension| d.line.iter().map(|p| on(*p)).collect::<Vec<Point>>();
    let pieces = |d: &ViewDimension| line(d).windows(2).map(|w| (w[0], w[1])).collect::<Vec<_>>();
    let mut sheet = Sheet::new(scene, area, view.dimensions.iter().flat_map(pieces).collect());
    let mut listed: Vec<(String, String)> = Vec::new();
    // What stands where it is wanted comes first; figures and the rest find their places round it.
    let waiting: Vec<(&ViewNote, String)> = view
        .notes
        .iter()
        .map(|note| (note, said(&note.text)))
        .filter(|(note, words)| is_long(words) || !sheet.write_at(on(note.at), words))
        .collect();
    for d in &view.dimensions {
        if let Some(words) = figure(d, show)
            && !sheet.place_figure(d, &on, &words)
        {
            listed.push((sheet.place_ring(on(anchor(d)), listed.len() + 1), words));
        }
    }
    for (note, words) in waiting {
        if is_long(&words) || !sheet.place_note(on(note.at), &words) {
            listed.push((sheet.place_ring(on(note.at), listed.len() + 1), words));
        }
    }
    let mut scene = sheet.scene;
    scene.height = explain(&mut scene, &listed, lowest + 1.0);
    Some(scene)
}

fn ink_of(role: LineRole) -> Role {
    match role {
        LineRole::Visible => Role::Edge,
        LineRole::Hidden => Role::Hidden,
        LineRole::Centre => Role::Centre,
        LineRole::Cut => Role::Outline,
        LineRole::Bore => Role::Fine,
        LineRole::Mark => Role::Fine,
        LineRole::Ghost => Role::Trim,
    }
}

/// Whether words are told below the drawing rather than in it.
fn is_long(words: &str) -> bool {
    words.chars().count() > 32
}

/// Where the leader of a dimension's figure begins: on its line, or on its arc.
fn anchor(d: &ViewDimension) -> [f64; 2] {
    if d.line.len() > 2 { d.line[d.line.len() / 2] } else { d.text_at }
}

/// What a dimension says.
fn figure(d: &ViewDimension, show: Show) -> Option<String> {
    let value = match (d.length, d.degrees) {
        (Some(length), _) => show.bare(*length),
        (None, Some(degrees)) => format!("{}°", crate::writer::number(degrees)),
        (None, None) => String::new(),
    };
    let words =
        [d.label.trim(), value.as_str()].iter().filter(|w| !w.is_empty()).copied().collect::<Vec<_>>();
    (!words.is_empty()).then(|| words.join(" "))
}

/// Extension lines, the dimension line, and its arrowheads.
fn dimension_lines(scene: &mut Scene, d: &ViewDimension, on: &dyn Fn([f64; 2]) -> Point) {
    const HEAD: f64 = 2.5;
    let line: Vec<Point> = d.line.iter().map(|p| on(*p)).collect();
    let [first, .., last] = line[..] else { return };
    for (from, end) in d.from.iter().zip([first, last]) {
        let from = on(*from);
        let long = trig::hypot(end.x - from.x, end.y - from.y);
        if long > 1.5 {
            // A gap at the object and a little past the line, as drawings have it.
            let (ux, uy) = ((end.x - from.x) / long, (end.y - from.y) / long);
            let start = at(from.x + ux * 0.8, from.y + uy * 0.8);
            scene.draw(Role::Dimension, Path::line(start, at(end.x + ux * 1.2, end.y + uy * 1.2)));
        }
    }
    scene.draw(Role::Dimension, Path::open(&line));
    let whole: f64 = line.windows(2).map(|w| trig::hypot(w[1].x - w[0].x, w[1].y - w[0].y)).sum();
    let head = HEAD.min(whole / 3.0);
    let mut tip = |end: Point, before: Point| {
        let long = trig::hypot(end.x - before.x, end.y - before.y);
        if long > 1e-6 {
            let (ux, uy) = ((end.x - before.x) / long, (end.y - before.y) / long);
            scene.draw(Role::Arrow, draft::arrowhead(end, ux, uy, head));
        }
    };
    tip(first, line[1]);
    tip(last, line[line.len() - 2]);
}

/// What a leader keeps clear of.
#[derive(Clone, Copy)]
enum Clear {
    All,
    Dimensions,
    Spans,
}

/// A drawing whose lines are drawn and whose words are not yet: knows where words are clear of both.
struct Sheet {
    scene: Scene,
    area: Bounds,
    /// Every line on it, as straight pieces.
    lines: Vec<(Point, Point)>,
    /// Those of them that the ground of a figure may break.
    thin: Vec<(Point, Point)>,
    /// Those of dimensions, and of them those that are no extension lines. No leader goes across these: it would seem to belong
    /// to them.
    dimensions: Vec<(Point, Point)>,
    spans: Vec<(Point, Point)>,
    room: Room,
}

impl Sheet {
    fn new(scene: Scene, area: Bounds, spans: Vec<(Point, Point)>) -> Sheet {
        let is_thin = |role| matches!(role, Role::Centre | Role::Trim);
        let lines = legible::pieces(&scene, |role| !is_thin(role));
        let thin = legible::pieces(&scene, is_thin);
        let dimensions = legible::pieces(&scene, |role| matches!(role, Role::Dimension));
        Sheet { scene, area, lines, thin, dimensions, spans, room: Room::default() }
    }

    /// Whether a box is on the sheet and free of words and lines; of thin lines too, unless these may be broken.
    fn is_clear(&self, b: Bounds, breaking: bool) -> bool {
        const GAP: f64 = 0.35;
        // Words end to end on one line need more than that, or they are read as one.
        const APART: f64 = 2.4;
        let inside =
            b[0] >= self.area[0] && b[1] >= self.area[1] && b[2] <= self.area[2] && b[3] <= self.area[3];
        let beyond = |x: f64, y: f64| [b[0] - x, b[1] - y, b[2] + x, b[3] + y];
        let around = beyond(GAP, GAP);
        let (wide, high) = (b[2] - b[0], b[3] - b[1]);
        let apart = if wide > high { beyond(APART, GAP) } else { beyond(GAP, APART) };
        inside
            && self.room.is_free(if wide == high { around } else { apart }, 0.0)
            && !strikes(&self.lines, around)
            && (breaking || !strikes(&self.thin, around))
    }

    /// Whether a line would run through words that stand already.
    fn strikes_words(&self, from: Point, to: Point) -> bool {
        self.room.boxes().iter().any(|b| legible::within(from, to, *b).is_some())
    }

    /// Whether a leader may go from a point to words, across no line that is to be kept clear of. The words must be on this side
    /// of all that, too: they are read from their middle, `words`.
    fn may_lead(&self, from: Point, to: Point, words: Point, clear: Clear) -> bool {
        let long = trig::hypot(to.x - from.x, to.y - from.y).max(1e-9);
        // It begins on the line that it speaks of.
        let on = 0.4_f64.min(long / 2.0) / long;
        let start = at(from.x + on * (to.x - from.x), from.y + on * (to.y - from.y));
        let lines = match clear {
            Clear::All => &self.lines,
            Clear::Dimensions => &self.dimensions,
            Clear::Spans => &self.spans,
        };
        !self.strikes_words(from, to)
            && !lines.iter().any(|line| cross((start, to), *line) || cross((to, words), *line))
    }

    fn lead(&mut self, role: Role, from: Point, to: Point) {
        self.scene.draw(role, Path::line(from, to));
        self.lines.push((from, to));
    }

    /// The dot that a leader begins with, where no words stand.
    fn dot(&mut self, point: Point) {
        if self.room.is_free([point.x, point.y, point.x, point.y], 0.6) {
            self.scene.draw(Role::Arrow, Path::circle(point, 0.4));
        }
    }

    /// Writes words with the middle of their ink at a point, and takes their room.
    fn write(&mut self, centre: Point, words: &str, upright: bool) {
        let size = lettering::LABEL;
        let half = size * CAP / 2.0;
        let place = if upright { at(centre.x + half, centre.y) } else { at(centre.x, centre.y + half) };
        let b = room_of(centre, Face::Medium.width(words, size), upright);
        if strikes(&self.thin, b) {
            self.scene.draw(Role::Ground, Path::rectangle(at(b[0], b[1]), b[2] - b[0], b[3] - b[1]));
        }
        let (words, face, anchor) = (words.to_string(), Face::Medium, Anchor::Middle);
        self.scene.write(Role::Label, Text { at: place, words, size, face, anchor, upright });
        self.room.take(b);
    }

    /// Writes words right at a point; false when that is not clear.
    fn write_at(&mut self, point: Point, words: &str) -> bool {
        let clear = self.is_clear(room_of(point, Face::Medium.width(words, lettering::LABEL), false), false);
        if clear {
            self.write(point, words, false);
        }
        clear
    }

    /// Writes a figure at its dimension line or near it; false when there is no clear place.
    fn place_figure(&mut self, d: &ViewDimension, on: &dyn Fn([f64; 2]) -> Point, words: &str) -> bool {
        let wide = Face::Medium.width(words, lettering::LABEL);
        let line: Vec<Point> = d.line.iter().map(|p| on(*p)).collect();
        let found = [false, true].into_iter().find_map(|breaking| match line[..] {
            [a, b] if (b.x - a.x).abs() < 1e-6 => self.beside_plumb(a, b, wide, breaking),
            [a, b] if (b.y - a.y).abs() < 1e-6 => self.over_level(a, b, wide, breaking),
            _ => None,
        });
        if let Some((centre, upright)) = found {
            self.write(centre, words, upright);
            return true;
        }
        let from = on(anchor(d));
        let beyond = on(d.text_at);
        let is_near = trig::hypot(beyond.x - from.x, beyond.y - from.y) < lettering::LABEL * 2.0;
        if line.len() > 2 && is_near && self.write_at(beyond, words) {
            return true;
        }
        self.place_note(from, words)
    }

    /// Above the line, below it, or beyond one of its ends, where the line is drawn on to it.
    fn over_level(&mut self, a: Point, b: Point, wide: f64, breaking: bool) -> Option<(Point, bool)> {
        let (left, right) = (a.x.min(b.x), a.x.max(b.x));
        let middle = (left + right) / 2.0;
        let clear = |at: &Point, sheet: &Sheet| sheet.is_clear(room_of(*at, wide, false), breaking);
        for off in [-2.1, 2.1, 3.2] {
            for along in [0.0, 3.0, -3.0, 6.0, -6.0, 10.0, -10.0] {
                let centre = at(middle + along, a.y + off);
                let over = (centre.x - middle).abs() * 2.0 <= (right - left - wide).max(0.0) + 0.01;
                if over && clear(&centre, self) {
                    return Some((centre, false));
                }
            }
        }
        for (end, way) in [(right, 1.0), (left, -1.0)] {
            let centre = at(end + way * (wide / 2.0 + 3.5), a.y);
            let to = at(end + way * 2.6, a.y);
            if clear(&centre, self) && !self.strikes_words(at(end, a.y), to) {
                self.lead(Role::Dimension, at(end, a.y), to);
                return Some((centre, false));
            }
        }
        None
    }

    /// The same along a plumb line: left of it and upright, right of it, or beyond an end.
    fn beside_plumb(&mut self, a: Point, b: Point, wide: f64, breaking: bool) -> Option<(Point, bool)> {
        let (top, bottom) = (a.y.min(b.y), a.y.max(b.y));
        let middle = (top + bottom) / 2.0;
        let clear =
            |at: &Point, upright: bool, sheet: &Sheet| sheet.is_clear(room_of(*at, wide, upright), breaking);
        for off in [-2.1, 2.1] {
            for along in [0.0, -4.0, 4.0, -8.0, 8.0, -12.0, 12.0, -18.0, 18.0] {
                let centre = at(a.x + off, middle + along);
                let beside = along.abs() * 2.0 <= (bottom - top - wide).max(0.0) + 0.01;
                if beside && clear(&centre, true, self) {
                    return Some((centre, true));
                }
            }
        }
        for way in [-1.0, 1.0] {
            let centre = at(a.x + way * (wide / 2.0 + 1.4), middle);
            if clear(&centre, false, self) {
                return Some((centre, false));
            }
        }
        for (end, way) in [(bottom, 1.0), (top, -1.0)] {
            let centre = at(a.x, end + way * (wide / 2.0 + 3.5));
            let to = at(a.x, end + way * 2.6);
            if clear(&centre, true, self) && !self.strikes_words(at(a.x, end), to) {
                self.lead(Role::Dimension, at(a.x, end), to);
                return Some((centre, true));
            }
        }
        None
    }

    /// A few words beside a point, with a leader where they stand away from it; false when there is no clear place close by.
    fn place_note(&mut self, point: Point, words: &str) -> bool {
        [Clear::All, Clear::Dimensions].into_iter().any(|clear| self.place_note_led(point, words, clear))
    }

    fn place_note_led(&mut self, point: Point, words: &str, clear: Clear) -> bool {
        let wide = Face::Medium.width(words, lettering::LABEL);
        let (w, h) = (wide, lettering::LABEL * 0.95);
        let sides = [
            (0.0, -1.0),
            (0.0, 1.0),
            (1.0, 0.0),
            (-1.0, 0.0),
            (1.0, -1.0),
            (-1.0, -1.0),
            (1.0, 1.0),
            (-1.0, 1.0),
        ];
        for far in [0.0, 1.0, 2.5, 4.0, 6.0, 8.5, 12.0, 16.0] {
            for (dx, dy) in sides {
                if far == 0.0 && (dx, dy) != (0.0, -1.0) {
                    continue;
                }
                let centre = if far == 0.0 {
                    point
                } else {
                    at(point.x + dx * (far + w / 2.0), point.y + dy * (far + h / 2.0))
                };
                if !self.is_clear(room_of(centre, wide, false), false) {
                    continue;
                }
                // The leader ends at the near edge of the words.
                let near = at(
                    if dx == 0.0 { point.x } else { centre.x - dx * (w / 2.0 + 0.6) },
                    if dy == 0.0 || dx != 0.0 { centre.y } else { centre.y - dy * (h / 2.0 + 0.6) },
                );
                if far > 1.5 {
                    if !self.may_lead(point, near, centre, clear) {
                        continue;
                    }
                    self.dot(point);
                    self.lead(Role::Leader, point, near);
                }
                self.write(centre, words, false);
                return true;
            }
        }
        false
    }

    /// A number beside a point, with a leader to it; the number.
    fn place_ring(&mut self, point: Point, number: usize) -> String {
        let (size, words) = (lettering::SMALL, number.to_string());
        let slanting = [(1.0, 1.0), (1.3, 0.5), (0.5, 1.3)];
        let four = slanting.map(|(x, y)| [(x, -y), (x, y), (-x, -y), (-x, y)]);
        let straight = [(1.4, 0.0), (-1.4, 0.0), (0.0, 1.4), (0.0, -1.4)];
        let around: Vec<(f64, f64)> = four.into_iter().flatten().chain(straight).collect();
        let places = (0..30).flat_map(|far| {
            let d = 3.0 + 1.5 * f64::from(far);
            around.iter().map(move |(dx, dy)| at(point.x + dx * d, point.y + dy * d)).collect::<Vec<Point>>()
        });
        let near = |centre: Point| {
            let b = draft::ring_bounds(centre, &words, size);
            let long = trig::hypot(centre.x - point.x, centre.y - point.y);
            let radius = (b[3] - b[1]) / 2.0;
            at(
                centre.x - (centre.x - point.x) / long * radius,
                centre.y - (centre.y - point.y) / long * radius,
            )
        };
        let ring = |centre: Point| draft::ring_bounds(centre, &words, size);
        let led = |centre: Point| !self.strikes_words(point, near(centre));
        let clear = |centre: &Point| self.is_clear(ring(*centre), false) && led(*centre);
        // In a crowd a ring may stand on a line, as its ground is its own; never on words.
        let on_lines = |centre: &Point| {
            let [l, t, r, b] = ring(*centre);
            let inside = l >= self.area[0] && t >= self.area[1] && r <= self.area[2] && b <= self.area[3];
            inside && self.room.is_free([l, t, r, b], 0.35)
        };
        let mut free: Vec<Point> = places.clone().filter(clear).collect();
        if free.is_empty() {
            free = places.filter(on_lines).take(1).collect();
        }
        let leads = |centre: &Point, clear| self.may_lead(point, near(*centre), *centre, clear);
        let ways = [Clear::All, Clear::Dimensions, Clear::Spans];
        let found = ways.into_iter().find_map(|clear| free.iter().find(|c| leads(c, clear)));
        if let Some(&centre) = found.or(free.first()) {
            self.room.take(draft::ring_bounds(centre, &words, size));
            self.dot(point);
            self.lead(Role::Leader, point, near(centre));
            draft::ring(&mut self.scene, centre, &words, size, false);
        }
        words
    }
}

/// Whether two lines go across each other.
fn cross((a, b): (Point, Point), (c, d): (Point, Point)) -> bool {
    let side = |p: Point, q: Point, r: Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

fn strikes(lines: &[(Point, Point)], b: Bounds) -> bool {
    lines.iter().any(|(from, to)| legible::within(*from, *to, b).is_some())
}

/// The room of words of a width about the middle of their ink.
fn room_of(centre: Point, wide: f64, upright: bool) -> Bounds {
    let (w, h) = (wide / 2.0, lettering::LABEL * 0.475);
    let (w, h) = if upright { (h, w) } else { (w, h) };
    [centre.x - w, centre.y - h, centre.x + w, centre.y + h]
}

/// The numbers and what they say, below the drawing; returns how far down that reaches.
fn explain(scene: &mut Scene, listed: &[(String, String)], top: f64) -> f64 {
    let mut y = top;
    for (number, words) in listed {
        let size = lettering::LABEL;
        let lines = Face::Medium.wrap(words, size, PAPER.0 - 10.0);
        draft::ring(scene, at(3.6, y + 2.6), number, lettering::SMALL, false);
        for line in lines {
            scene.words(Role::Label, 9.0, y + 2.6 + size * CAP / 2.0, size, Face::Medium, line);
            y += 4.4;
        }
        y += 0.6;
    }
    y + 1.0
}
