//! Whether words can be read: what is drawn through them, and what the white ground under them hides.
//!
//! Lines are followed as they are drawn, and the room of words is that of their ink with the font's own metrics. A line
//! that an opaque area covers is not seen and does not count; but the ground laid under a label may hide only what stays
//! clear without the hidden bit (hatching, chain lines, the dimension line itself), never an edge of the work.

use std::rc::Rc;

use crate::draft::Bounds;
use crate::ink::ink;
use crate::scene::{Mark, Path, Point, Role, Scene, Segment, Shape, Text, at};

/// How far into the ink of words a line must reach to count, in millimetres.
const SLACK: f64 = 0.15;
/// Straight pieces that a curve is followed in.
const CURVE: u32 = 12;
/// Places along a line in a label's room that are looked at.
const LOOKS: u32 = 8;

/// Whether the ground under a label may break this line.
const fn may_be_broken(role: Role) -> bool {
    matches!(
        role,
        Role::Hatch
            | Role::Trim
            | Role::Centre
            | Role::Dimension
            | Role::Ply
            | Role::Fine
            | Role::Joint
            | Role::LaminationLight
            | Role::LaminationDark
            | Role::Scrap
    )
}

/// A path as straight runs, each with whether it closes.
fn runs(path: &Path) -> Vec<Vec<Point>> {
    let mut runs: Vec<Vec<Point>> = Vec::new();
    for segment in &path.0 {
        match *segment {
            Segment::Move(p) => runs.push(vec![p]),
            Segment::Line(p) => {
                if let Some(run) = runs.last_mut() {
                    run.push(p);
                }
            }
            Segment::Curve(a, b, p) => {
                if let Some(run) = runs.last_mut()
                    && let Some(&from) = run.last()
                {
                    run.extend((1..=CURVE).map(|i| bezier([from, a, b, p], f64::from(i) / f64::from(CURVE))));
                }
            }
            Segment::Close => {
                if let Some(run) = runs.last_mut()
                    && let Some(&first) = run.first()
                {
                    run.push(first);
                }
            }
        }
    }
    runs
}

fn bezier([a, b, c, d]: [Point; 4], t: f64) -> Point {
    let u = 1.0 - t;
    let mix = |a: f64, b: f64, c: f64, d: f64| {
        u * u * u * a + 3.0 * u * u * t * b + 3.0 * u * t * t * c + t * t * t * d
    };
    at(mix(a.x, b.x, c.x, d.x), mix(a.y, b.y, c.y, d.y))
}

/// Whether the area of a path holds a point, by the even-odd rule.
fn holds(runs: &[Vec<Point>], p: Point) -> bool {
    let mut inside = false;
    for run in runs {
        for pair in run.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
                inside = !inside;
            }
        }
    }
    inside
}

/// The share of a line that lies in a box (Liang and Barsky's way of clipping).
pub(crate) fn within(from: Point, to: Point, b: Bounds) -> Option<(Point, Point)> {
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let (mut t0, mut t1) = (0.0_f64, 1.0_f64);
    for (p, q) in [(-dx, from.x - b[0]), (dx, b[2] - from.x), (-dy, from.y - b[1]), (dy, b[3] - from.y)] {
        if p == 0.0 {
            if q < 0.0 {
                return None;
            }
        } else if p < 0.0 {
            t0 = t0.max(q / p);
        } else {
            t1 = t1.min(q / p);
        }
    }
    let on = |t: f64| at(from.x + t * dx, from.y + t * dy);
    (t0 < t1).then(|| (on(t0), on(t1)))
}

/// The lines that no label's ground may break.
pub(crate) fn firm_lines(scene: &Scene) -> Vec<(Point, Point)> {
    pieces(scene, |role| !may_be_broken(role))
}

/// The lines of some roles.
pub(crate) fn pieces(scene: &Scene, wanted: impl Fn(Role) -> bool) -> Vec<(Point, Point)> {
    let (drawn, _) = gather(scene);
    let pieces =
        |d: &Drawn| d.runs.iter().flat_map(|run| run.windows(2).map(|w| (w[0], w[1]))).collect::<Vec<_>>();
    drawn.iter().filter(|d| is_line(d.role) && wanted(d.role)).flat_map(pieces).collect()
}

/// A mark that is not words, ready to be asked about.
struct Drawn {
    order: usize,
    role: Role,
    runs: Vec<Vec<Point>>,
    bounds: Bounds,
    /// What it is shown inside of, if anything.
    clip: Option<Rc<Vec<Vec<Point>>>>,
}

/// All marks in drawing order, clips opened.
fn gather(scene: &Scene) -> (Vec<Drawn>, Vec<(usize, &Text)>) {
    fn walk<'a>(
        marks: &'a [Mark],
        clip: Option<&Rc<Vec<Vec<Point>>>>,
        drawn: &mut Vec<Drawn>,
        texts: &mut Vec<(usize, &'a Text)>,
        order: &mut usize,
    ) {
        for mark in marks {
            *order += 1;
            match &mark.shape {
                Shape::Path(path) => {
                    let runs = runs(path);
                    let bounds = crate::draft::bounds(path);
                    drawn.push(Drawn { order: *order, role: mark.role, runs, bounds, clip: clip.cloned() });
                }
                Shape::Text(text) => texts.push((*order, text)),
                Shape::Clip(path, inner) => {
                    let own = Rc::new(runs(path));
                    walk(inner, Some(&own), drawn, texts, order);
                }
            }
        }
    }
    let (mut drawn, mut texts, mut order) = (Vec::new(), Vec::new(), 0);
    walk(&scene.marks, None, &mut drawn, &mut texts, &mut order);
    (drawn, texts)
}

/// Whether two boxes have nothing in common.
pub(crate) fn apart(a: Bounds, b: Bounds) -> bool {
    a[2] < b[0] || b[2] < a[0] || a[3] < b[1] || b[3] < a[1]
}

/// What is drawn through the words of a drawing, and which edges their ground hides; empty when all can be read.
pub fn faults(scene: &Scene) -> Vec<String> {
    let (drawn, texts) = gather(scene);
    let mut faults = Vec::new();
    for (order, text) in texts {
        let b = text.bounds();
        let b = [b[0] + SLACK, b[1] + SLACK, b[2] - SLACK, b[3] - SLACK];
        let near: Vec<&Drawn> = drawn.iter().filter(|d| !apart(d.bounds, b)).collect();
        // The ground, if any, that was laid for these words: the last one before them that holds them whole.
        let ground = near.iter().rev().find(|d| d.order < order && d.role == Role::Ground && wholly(d, b));
        for line in &near {
            if !is_line(line.role) {
                continue;
            }
            let covers = |d: &&&Drawn| d.order > line.order && d.order < order && ink_is_opaque(d.role);
            let over: Vec<&&Drawn> = near.iter().filter(covers).collect();
            let crossing = line.runs.iter().flat_map(|run| run.windows(2)).any(|pair| {
                within(pair[0], pair[1], b).is_some_and(|(from, to)| {
                    (0..=LOOKS).any(|i| {
                        let t = (f64::from(i) * 0.98 + 0.01 * f64::from(LOOKS)) / f64::from(LOOKS);
                        let p = at(from.x + t * (to.x - from.x), from.y + t * (to.y - from.y));
                        let shown = line.clip.as_ref().is_none_or(|clip| holds(clip, p));
                        shown && (line.order > order || !over.iter().any(|d| holds(&d.runs, p)))
                    })
                })
            });
            if crossing {
                faults.push(format!("{}: {:?} runs through `{}`", scene.name, line.role, text.words));
                continue;
            }
            if let Some(ground) = ground
                && line.order < ground.order
                && !may_be_broken(line.role)
                && hides(ground, line, &near)
            {
                faults.push(format!("{}: the ground of `{}` hides {:?}", scene.name, text.words, line.role));
            }
        }
    }
    faults
}

/// Whether a mark shows lines: what only fills does, too, where it is dark (a kerf, an arrowhead).
const fn is_line(role: Role) -> bool {
    ink(role).stroke.is_some() || matches!(role, Role::Kerf | Role::Arrow)
}

const fn ink_is_opaque(role: Role) -> bool {
    ink(role).fill.is_some()
}

/// Whether an area holds a box whole and is not much larger: the ground of a label, not of the work.
fn wholly(area: &Drawn, b: Bounds) -> bool {
    const LARGER: f64 = 5.0;
    let a = area.bounds;
    let close = |inner: f64, outer: f64| (0.0..=LARGER).contains(&(outer - inner));
    close(a[0], b[0]) && close(a[1], b[1]) && close(b[2], a[2]) && close(b[3], a[3])
}

/// Whether a ground lies on a line that was to be seen before it.
fn hides(ground: &Drawn, line: &Drawn, near: &[&Drawn]) -> bool {
    let g = ground.bounds;
    // Edges that a ground only touches stay to be seen.
    let g = [g[0] + SLACK, g[1] + SLACK, g[2] - SLACK, g[3] - SLACK];
    let between: Vec<&&Drawn> = near
        .iter()
        .filter(|d| d.order > line.order && d.order < ground.order && ink_is_opaque(d.role))
        .collect();
    line.runs.iter().flat_map(|run| run.windows(2)).any(|pair| {
        within(pair[0], pair[1], g).is_some_and(|(from, to)| {
            let p = at((from.x + to.x) / 2.0, (from.y + to.y) / 2.0);
            !between.iter().any(|d| holds(&d.runs, p))
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::font::Face;

    fn labelled(before: &[(Role, Path)], after: &[(Role, Path)]) -> Vec<String> {
        let mut scene = Scene::new("test", "Test", 60.0, 30.0);
        for (role, path) in before {
            scene.draw(*role, path.clone());
        }
        scene.centred(Role::Label, at(30.0, 15.0), 4.0, Face::Medium, "forty");
        for (role, path) in after {
            scene.draw(*role, path.clone());
        }
        faults(&scene)
    }

    #[test]
    fn lines_through_words_are_found_wherever_they_come() {
        let across = Path::line(at(0.0, 15.0), at(60.0, 15.2));
        let beside = Path::line(at(0.0, 20.0), at(60.0, 20.0));
        let ground = (Role::Ground, Path::rectangle(at(24.0, 12.0), 12.0, 6.0));
        assert!(labelled(&[(Role::Edge, beside)], &[]).is_empty());
        assert_eq!(labelled(&[(Role::Edge, across.clone())], &[]).len(), 1);
        assert_eq!(labelled(&[], &[(Role::Hatch, across.clone())]).len(), 1);
        // A ground clears hatching, and may not hide an edge.
        assert!(labelled(&[(Role::Hatch, across.clone()), ground.clone()], &[]).is_empty());
        assert_eq!(labelled(&[(Role::Edge, across.clone()), ground], &[]).len(), 1);
        // A ring stands on a line on purpose.
        let ring = (Role::Ring, Path::ellipse(at(30.0, 15.0), 9.0, 4.0));
        assert!(labelled(&[(Role::Edge, across.clone()), ring.clone()], &[]).is_empty());
        // A small one does not cover the line whole.
        let small = (Role::Ring, Path::ellipse(at(30.0, 15.0), 2.0, 2.0));
        assert!(!labelled(&[(Role::Edge, across), small], &[]).is_empty());
        // Its own curve is a line too.
        assert!(labelled(&[ring], &[]).is_empty());
        assert!(!labelled(&[(Role::Ring, Path::circle(at(30.0, 15.0), 1.0))], &[]).is_empty());
    }
}
