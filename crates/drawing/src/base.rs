//! Drawings of a base: elevations, plan, leg, rungs, bores, as the plan carries their geometry.
//!
//! The geometry comes placed; here it gets a scale, ink, and words that keep clear of one another. A dimension whose
//! figure finds no free place gets a number, and so does every note: the numbers are explained below the drawing.

use stripwright_plan::base::{LineRole, ViewDimension, ViewPlan};
use stripwright_plan::plan::Plan;
use stripwright_units::trig;

use crate::draft::{self, Bounds, Room, Show, lettering};
use crate::face::PAPER;
use crate::font::{CAP, Face};
use crate::scene::{Anchor, Path, Point, Role, Scene, Text, at};

/// The most height a view takes: two of them share a page.
const TALLEST: f64 = 92.0;
/// White round a view, for figures that stand beside it.
const MARGIN: f64 = 9.0;

/// All drawings of one base.
pub fn plates(plan: &Plan, index: usize, show: Show) -> Vec<Scene> {
    let Some(base) = plan.bases.get(index) else { return Vec::new() };
    base.views.iter().filter_map(|view| plate(view, index, &base.name, show)).collect()
}

fn plate(view: &ViewPlan, index: usize, base: &str, show: Show) -> Option<Scene> {
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
    let scale = draft::scale_to_fit(length, width, (PAPER.0 - 2.0 * MARGIN, TALLEST));
    scene.scale = Some(scale);
    scene.description = format!("{} of {base}, with its dimensions.", view.title);
    let right = format!("{} · {}", draft::scale_words(scale), show.unit());
    let top = draft::head(&mut scene, &title, "", &right) + MARGIN;
    let left = (PAPER.0 - length / scale) / 2.0;
    let on = |p: [f64; 2]| at(left + (p[0] - b[0]) / scale, top + (b[3] - p[1]) / scale);
    let lowest = top + width / scale + MARGIN;
    let mut room = Room::default();
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
    let mut listed: Vec<(String, String)> = Vec::new();
    for d in &view.dimensions {
        dimension_lines(&mut scene, d, &on);
    }
    for d in &view.dimensions {
        if let Some(words) = figure(d, show)
            && !place_figure(&mut scene, &mut room, d, &on, &words, area)
        {
            let number = (listed.len() + 1).to_string();
            place_ring(&mut scene, &mut room, on(d.text_at), &number, area);
            listed.push((number, words));
        }
    }
    for note in &view.notes {
        if note.text.chars().count() <= 32 && place_note(&mut scene, &mut room, on(note.at), &note.text, area)
        {
            continue;
        }
        let number = (listed.len() + 1).to_string();
        place_ring(&mut scene, &mut room, on(note.at), &number, area);
        listed.push((number, note.text.clone()));
    }
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
        LineRole::Mark => Role::Hidden,
        LineRole::Ghost => Role::Trim,
    }
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

/// Writes a figure at its place or near it, on white ground; false when there is no room.
fn place_figure(
    scene: &mut Scene,
    room: &mut Room,
    d: &ViewDimension,
    on: &dyn Fn([f64; 2]) -> Point,
    words: &str,
    area: Bounds,
) -> bool {
    let middle = on(d.text_at);
    let line: Vec<Point> = d.line.iter().map(|p| on(*p)).collect();
    let steep = match line[..] {
        [a, b] => (b.y - a.y).abs() > (b.x - a.x).abs() * 1.2,
        _ => false,
    };
    let size = lettering::LABEL;
    let (wide, high) = (Face::Medium.width(words, size), size * 0.95);
    // An upright figure is tried first on a steep line, one to read straight ahead second.
    for upright in if steep { [true, false] } else { [false, false] } {
        let (w, h) = if upright { (high, wide) } else { (wide, high) };
        let steps = [0.0, 2.2, -2.2, 4.4, -4.4, 7.0, -7.0, 10.0, -10.0, 14.0, -14.0];
        for along in steps {
            for off in [0.0, 2.4, -2.4, 4.8, -4.8] {
                let (cx, cy) = if steep {
                    (middle.x + off, middle.y + along)
                } else {
                    (middle.x + along, middle.y + off)
                };
                let b = [cx - w / 2.0 - 0.4, cy - h / 2.0 - 0.3, cx + w / 2.0 + 0.4, cy + h / 2.0 + 0.3];
                let inside = b[0] >= area[0] && b[1] >= area[1] && b[2] <= area[2] && b[3] <= area[3];
                if !inside || !room.is_free(b, 0.3) {
                    continue;
                }
                room.take(b);
                scene.draw(Role::Ground, Path::rectangle(at(b[0], b[1]), b[2] - b[0], b[3] - b[1]));
                let half = size * CAP / 2.0;
                let place = if upright { at(cx + half, cy) } else { at(cx, cy + half) };
                let text = Text {
                    at: place,
                    words: words.to_string(),
                    size,
                    face: Face::Medium,
                    anchor: Anchor::Middle,
                    upright,
                };
                scene.write(Role::Label, text);
                return true;
            }
        }
    }
    false
}

/// A few words beside a point, with a leader where they stand away from it; false when there is no room close by.
fn place_note(scene: &mut Scene, room: &mut Room, point: Point, words: &str, area: Bounds) -> bool {
    let size = lettering::LABEL;
    let (w, h) = (Face::Medium.width(words, size) + 0.8, size * 0.95 + 0.6);
    let sides = [
        (0.0, 0.0),
        (0.0, -1.0),
        (0.0, 1.0),
        (1.0, -1.0),
        (-1.0, -1.0),
        (1.0, 1.0),
        (-1.0, 1.0),
        (1.0, 0.0),
        (-1.0, 0.0),
    ];
    for far in [0.0, 2.5, 5.0, 8.0] {
        for (dx, dy) in sides {
            let centre = at(point.x + dx * (far + w / 2.0), point.y + dy * (far + h / 2.0));
            let b = [centre.x - w / 2.0, centre.y - h / 2.0, centre.x + w / 2.0, centre.y + h / 2.0];
            let inside = b[0] >= area[0] && b[1] >= area[1] && b[2] <= area[2] && b[3] <= area[3];
            if !inside || !room.is_free(b, 0.4) {
                continue;
            }
            room.take(b);
            if far > 2.0 {
                scene.draw(Role::Leader, Path::line(point, centre));
                scene.draw(Role::Arrow, Path::circle(point, 0.4));
            }
            scene.draw(Role::Ground, Path::rectangle(at(b[0], b[1]), w, h));
            scene.centred(Role::Label, centre, size, Face::Medium, words);
            return true;
        }
    }
    false
}

/// A number beside a point, with a leader to it.
fn place_ring(scene: &mut Scene, room: &mut Room, point: Point, words: &str, area: Bounds) {
    let size = lettering::SMALL;
    let around = [
        (1.0, -1.0),
        (1.0, 1.0),
        (-1.0, -1.0),
        (-1.0, 1.0),
        (1.4, 0.0),
        (-1.4, 0.0),
        (0.0, 1.4),
        (0.0, -1.4),
    ];
    for far in 0..14 {
        for (dx, dy) in around {
            let d = 3.0 + 2.0 * f64::from(far);
            let centre = at(point.x + dx * d, point.y + dy * d);
            let b = draft::ring_bounds(centre, words, size);
            let inside = b[0] >= area[0] && b[1] >= area[1] && b[2] <= area[2] && b[3] <= area[3];
            if inside && room.is_free(b, 0.4) {
                room.take(b);
                scene.draw(Role::Leader, Path::line(point, centre));
                scene.draw(Role::Arrow, Path::circle(point, 0.4));
                draft::ring(scene, centre, words, size, false);
                return;
            }
        }
    }
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
