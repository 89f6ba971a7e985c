//! Figures on the drawing of a blank: of what is measured slanting across it, and of the corners of a free outline.

use stripwright_plan::plan::{Outline, Top};
use stripwright_units::{Length, trig};

use crate::draft::{self, Bounds, Show, lettering};
use crate::font::{CAP, Face};
use crate::legible;
use crate::scene::{Anchor, Path, Point, Role, Scene, Text, at};

/// A distance that is measured, with its arrows; nothing of one that is too short to be seen. One that lies on an edge of the
/// outline is drawn beside it, away from a middle.
pub(crate) fn measured(scene: &mut Scene, ends: [Point; 2], middle: Point, words: String) -> Option<Figure> {
    /// From an edge of the outline to a dimension of what lies on it.
    const BESIDE: f64 = 4.5;
    let (dx, dy) = (ends[1].x - ends[0].x, ends[1].y - ends[0].y);
    let long = trig::hypot(dx, dy);
    if long < 1e-6 {
        return None;
    }
    let (c, s) = (dx / long, dy / long);
    let off = |p: Point| c * (p.y - ends[0].y) - s * (p.x - ends[0].x);
    let along = |p: Point| c * (p.x - ends[0].x) + s * (p.y - ends[0].y);
    let on_edge = legible::pieces(scene, |role| role == Role::Outline).into_iter().any(|(p, q)| {
        let (low, high) = (along(p).min(along(q)), along(p).max(along(q)));
        off(p).abs() < 0.4 && off(q).abs() < 0.4 && high.min(long) - low.max(0.0) > 1.0
    });
    let side = if off(middle) > 0.0 { -BESIDE } else { BESIDE };
    let beside = |p: Point, far: f64| at(p.x - s * far, p.y + c * far);
    let [from, to] = ends.map(|p| if on_edge { beside(p, side) } else { p });
    if on_edge {
        for p in ends {
            scene.draw(Role::Dimension, Path::line(beside(p, side * 0.25), beside(p, side * 1.25)));
        }
    }
    let head = (long / 3.0).min(2.5);
    scene.draw(Role::Dimension, Path::line(from, to));
    scene.draw(Role::Arrow, draft::arrowhead(from, -c, -s, head));
    scene.draw(Role::Arrow, draft::arrowhead(to, c, s, head));
    Some(Figure { from, way: [dx, dy], words })
}

/// Running dimensions of a free outline's corners, from the datum along both axes.
pub(crate) struct Running {
    /// Distinct places along each axis, each with how far across the outline's lowest or rightmost corner there lies.
    axes: [Vec<(Length, Length)>; 2],
}

impl Running {
    /// The most figures along an axis; with more, they would not be told apart.
    const MOST: usize = 12;
    /// From one figure to the next.
    const PITCH: f64 = 3.6;
    /// From the blank to where the figures begin.
    const OUT: f64 = 4.6;

    /// Those of a top's outline, if it is a free one with few enough corners.
    pub(crate) fn of(top: &Top) -> Option<Running> {
        let Outline::Points { points } = &top.outline else { return None };
        let places = |axis: usize| {
            let mut places: Vec<(Length, Length)> = points.iter().map(|p| (*p[axis], *p[1 - axis])).collect();
            if !places.iter().any(|place| place.0 == Length::ZERO) {
                places.push((Length::ZERO, Length::ZERO));
            }
            // Of corners in one line the nearest to the figures: the lowest one, the rightmost one.
            places.sort_by_key(|(place, across)| (*place, if axis == 0 { *across } else { -*across }));
            places.dedup_by_key(|place| place.0);
            places
        };
        let axes = [places(0), places(1)];
        axes.iter().all(|places| places.len() <= Self::MOST).then_some(Running { axes })
    }

    /// Room that the figures take below and right of a blank.
    pub(crate) fn room(&self, show: Show) -> [f64; 2] {
        [0, 1].map(|axis| {
            let widths = self.axes[axis]
                .iter()
                .map(|(place, _)| 1.1 * Face::Medium.width(&show.bare(place.abs()), lettering::LABEL));
            Self::OUT + widths.fold(0.0, f64::max)
        })
    }

    /// Draws them round a blank's box.
    pub(crate) fn draw(&self, scene: &mut Scene, b: Bounds, on: &dyn Fn(&[f64; 2]) -> Point, show: Show) {
        let [across, up] = &self.axes;
        let corners: Vec<Point> = across.iter().map(|(x, y)| on(&[x.to_mm(), y.to_mm()])).collect();
        let wanted: Vec<f64> = corners.iter().map(|p| p.x).collect();
        let places = draft::spread(&wanted, Self::PITCH, b[0] - 3.0, b[2] + 3.0).unwrap_or(wanted);
        for (((place, _), corner), x) in across.iter().zip(corners).zip(places) {
            let base = b[3] + 1.5;
            let line = [at(corner.x, corner.y + 1.0), at(corner.x, base), at(x, b[3] + Self::OUT - 0.8)];
            scene.draw(Role::Dimension, Path::open(&line));
            let foot = at(x + lettering::LABEL * CAP / 2.0, b[3] + Self::OUT);
            write(scene, foot, show.bare(place.abs()), Anchor::End, true);
        }
        let corners: Vec<Point> = up.iter().rev().map(|(y, x)| on(&[x.to_mm(), y.to_mm()])).collect();
        let wanted: Vec<f64> = corners.iter().map(|p| p.y).collect();
        let places = draft::spread(&wanted, Self::PITCH, b[1] - 3.0, b[3] + 3.0).unwrap_or(wanted);
        for (((place, _), corner), y) in up.iter().rev().zip(corners).zip(places) {
            let base = b[2] + 1.5;
            let line = [at(corner.x + 1.0, corner.y), at(base, corner.y), at(b[2] + Self::OUT - 0.8, y)];
            scene.draw(Role::Dimension, Path::open(&line));
            let start = at(b[2] + Self::OUT, y + lettering::LABEL * CAP / 2.0);
            write(scene, start, show.bare(place.abs()), Anchor::Start, false);
        }
    }
}

fn write(scene: &mut Scene, at: Point, words: String, anchor: Anchor, upright: bool) {
    let text = Text { at, words, size: lettering::LABEL, face: Face::Medium, anchor, upright };
    scene.write(Role::Label, text);
}

/// Whether the pin of a top is a corner of its free outline, and no centre of anything.
pub(crate) fn pin_is_corner(top: &Top) -> bool {
    let zero = |corner: &[stripwright_plan::figures::Mm; 2]| corner.iter().all(|c| **c == Length::ZERO);
    matches!(&top.outline, Outline::Points { points } if points.iter().any(zero))
}

/// The figure of a dimension that runs slanting over a blank.
pub(crate) struct Figure {
    /// Where the dimension begins.
    pub(crate) from: Point,
    /// From there to its end.
    pub(crate) way: [f64; 2],
    /// What it says.
    pub(crate) words: String,
}

/// A place for a [`Figure`].
#[derive(Clone, Copy)]
struct Spot {
    /// The point of the dimension that it belongs to.
    on: Point,
    bounds: Bounds,
    /// Whether a leader goes from the one to the other.
    away: bool,
}

impl Figure {
    /// Writes it beside its line where no other line crosses it, or over joints of the blank, or away from the line with a
    /// leader; never leaves it out. Keeps off what is taken and off
    /// the pin; returns the room it takes.
    pub(crate) fn write(&self, scene: &mut Scene, taken: &[Bounds], pin: Bounds) -> Bounds {
        let every = legible::pieces(scene, |_| true);
        let drawn = legible::pieces(scene, |role| role != Role::Joint);
        let firm = legible::firm_lines(scene);
        let clear_of = |lines: &[(Point, Point)], b: Bounds| {
            lines.iter().all(|(from, to)| legible::within(*from, *to, b).is_none())
        };
        let room = |spot: &Spot| taken.iter().chain([&pin]).all(|b| legible::apart(*b, spot.bounds));
        let leads = |spot: &Spot| {
            !spot.away || taken.iter().all(|b| legible::within(spot.on, middle(spot.bounds), *b).is_none())
        };
        let spots: Vec<Spot> = self.spots().filter(|spot| room(spot) && leads(spot)).collect();
        let beside = |lines: &[(Point, Point)]| {
            spots.iter().find(|spot| !spot.away && clear_of(lines, spot.bounds)).copied()
        };
        let found = beside(&every)
            .or_else(|| beside(&drawn))
            .or_else(|| spots.iter().find(|spot| clear_of(&drawn, spot.bounds)).copied())
            .or_else(|| spots.iter().find(|spot| clear_of(&firm, spot.bounds)).copied())
            .or_else(|| self.spots().next());
        let Some(Spot { on, bounds: b, away }) = found else { return [0.0; 4] };
        let centre = middle(b);
        if away && let Some((edge, _)) = legible::within(on, centre, b) {
            scene.draw(Role::Leader, Path::line(on, edge));
        }
        scene.draw(Role::Ground, Path::rectangle(at(b[0], b[1]), b[2] - b[0], b[3] - b[1]));
        scene.centred(Role::Label, centre, lettering::LABEL, Face::Medium, self.words.clone());
        b
    }

    /// Places close to the line from its middle outwards, then places further and further away from it.
    fn spots(&self) -> impl Iterator<Item = Spot> + '_ {
        let half = Face::Medium.width(&self.words, lettering::LABEL) / 2.0 + 0.6;
        let high = lettering::LABEL * CAP / 2.0 + 0.6;
        let [dx, dy] = self.way;
        (0..12u8).flat_map(move |far| {
            (0..40u8).flat_map(move |i| {
                // From the middle outwards and inwards by turns.
                let step = f64::from(i / 2 + i % 2) * if i % 2 == 0 { 0.02 } else { -0.02 };
                let on = at(self.from.x + dx * (0.55 + step), self.from.y + dy * (0.55 + step));
                let more = 2.5 * f64::from(far);
                [(-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (1.0, -1.0)].map(|(x, y)| {
                    let c = at(on.x + x * (half + 0.2 + more), on.y + y * (1.2 * high + more));
                    Spot { on, bounds: [c.x - half, c.y - high, c.x + half, c.y + high], away: far > 0 }
                })
            })
        })
    }
}

/// The middle of a box.
fn middle(b: Bounds) -> Point {
    at((b[0] + b[2]) / 2.0, (b[1] + b[3]) / 2.0)
}
