//! Rip diagrams: one sheet with every cut on it, to scale, for the wall behind the table saw.
//!
//! The sheet lies with its length across the paper and its lower edge, the one that goes to the fence, at the bottom.
//! Kerfs are drawn as wide as the saw cuts. Cuts through the whole sheet carry their number and, at the other end,
//! the running distance from the trimmed edge; cuts within a strip carry their number where they are.

use stripwright_plan::plan::{Cut, Direction, Layout, Plan, Sheet};
use stripwright_plan::words::letter;
use stripwright_units::{Angle, Length};

use crate::draft::{self, Bounds, Room, Show, lettering};
use crate::font::{CAP, Face};
use crate::legible;
use crate::scene::{Anchor, Path, Point, Role, Scene, Text, at};
use crate::table::{Column, Table};

/// Paper that a plate fills at most: what A4 and Letter have in common when printed lengthwise.
pub const PAPER: (f64, f64) = (262.0, 176.0);

/// Room for the numbers left of the sheet; lists below it keep the same edge.
const LEFT: f64 = 7.5;
/// Size of running distances, and the least room for them right of the sheet.
const RUNNING: f64 = 2.5;
const RIGHT: f64 = 10.5;
/// From one number, and from one running distance, to the next.
const RING_PITCH: f64 = 3.25;
const RUNNING_PITCH: f64 = 2.75;

/// The most height that the sheet itself takes, leaving the rest to its lists.
const TALLEST: f64 = 128.0;

/// The plates of one layout: the diagram with as much of its lists as fits, then the rest of the lists.
pub fn plates(plan: &Plan, index: usize, show: Show) -> Vec<Scene> {
    let Some(layout) = plan.layouts.get(index) else { return Vec::new() };
    let sheet = sheet_of(plan, layout);
    let title = format!("Layout {} of {}", index + 1, plan.layouts.len());
    let subject = subject(layout, &sheet, show);
    let name = format!("layout-{}", index + 1);
    let mut scene = Scene::new(name, title.clone(), PAPER.0, PAPER.1);
    scene.description = describe(layout, &sheet, show);
    let (left, right) = margins(layout, &sheet, show);
    let corner = |scale: f64| format!("{} · {}", draft::scale_words(scale), show.unit());
    let continued = format!("{title}, continued");
    let plates_at = |scale: f64| {
        let mut scene = scene.clone();
        scene.scale = Some(scale);
        let top = draft::head(&mut scene, &title, &subject, &corner(scale))
            + if has_through_crosscuts(layout) { 4.0 } else { 0.6 };
        let below = Diagram::new(plan, layout, &sheet, show, scale, at(left, top)).draw(&mut scene);
        let tables = [pieces_table(plan, layout, show), cuts_table(layout, show)];
        lists(scene, tables, below + 2.0, &continued, &subject)
    };
    let largest =
        draft::scale_to_fit(sheet.length.to_mm(), sheet.width.to_mm(), (PAPER.0 - left - right, TALLEST));
    let best = plates_at(largest);
    if best.len() == 1 {
        return best;
    }
    // A slightly smaller diagram is better than one whose lists are on another sheet; a much smaller one is not.
    let smaller = draft::next_scale(largest);
    let other = plates_at(smaller);
    if other.len() < best.len() && smaller <= largest * 1.25 { other } else { best }
}

/// Room that the numbers at the left and the running distances at the right need.
fn margins(layout: &Layout, sheet: &Sheet, show: Show) -> (f64, f64) {
    let rips = through(layout, Direction::Rip);
    // Short of the height by a fifth, so that numbers which are grouped in the end are reckoned grouped here too.
    let marks = margin_marks(&rips, RING_PITCH, sheet.width.to_mm().min(TALLEST) * 0.8);
    let ring = |m: &MarginMark| {
        let b = draft::ring_bounds(at(0.0, 0.0), &m.words, lettering::SMALL);
        b[2] - b[0] + 2.0
    };
    let running =
        |c: &&Cut| 2.6 + Face::Medium.width(&running_words(*c.at - *sheet.trim.bottom, show), RUNNING);
    (marks.iter().map(ring).fold(LEFT, f64::max), rips.iter().map(running).fold(RIGHT, f64::max))
}

/// A running distance, in the first system only: the margin has no room for two.
fn running_words(distance: Length, show: Show) -> String {
    Show { both: false, ..show }.bare(distance)
}

/// Cuts through the whole sheet in one direction.
fn through(layout: &Layout, direction: Direction) -> Vec<&Cut> {
    layout.cuts.iter().filter(|c| is_through(c) && c.direction == direction).collect()
}

/// What a layout is cut from and how often, in words.
fn subject(layout: &Layout, sheet: &Sheet, show: Show) -> String {
    let alike = match layout.times {
        1 => "cut one sheet like this".to_string(),
        n => format!("cut {n} sheets like this"),
    };
    let thick = match sheet.thickness {
        Some(t) => format!(" × {}", show.bare(*t)),
        None => String::new(),
    };
    format!("{}, {}{thick} {}: {alike}", layout.sheet, show.size(*sheet.length, *sheet.width), show.unit())
}

fn describe(layout: &Layout, sheet: &Sheet, show: Show) -> String {
    let rips = layout.cuts.iter().filter(|c| c.direction == Direction::Rip).count();
    format!(
        "Sheet {} of {} {} with {} pieces, cut with {} rips and {} crosscuts; {} offcuts are left.",
        layout.sheet,
        show.size(*sheet.length, *sheet.width),
        show.unit(),
        layout.pieces.len(),
        rips,
        layout.cuts.len() - rips,
        layout.offcuts.len()
    )
}

/// The sheet of a layout; where the plan does not list it, as large as its pieces need.
pub(crate) fn sheet_of(plan: &Plan, layout: &Layout) -> Sheet {
    plan.sheets.iter().find(|s| s.name == layout.sheet).cloned().unwrap_or_else(|| Sheet {
        name: layout.sheet.clone(),
        length: (*layout.region.x + *layout.region.length).into(),
        width: (*layout.region.y + *layout.region.width).into(),
        thickness: None,
        measured: None,
        price: Default::default(),
        limit: None,
        trim: Default::default(),
    })
}

fn is_through(cut: &Cut) -> bool {
    cut.stage <= 1
}

fn has_through_crosscuts(layout: &Layout) -> bool {
    layout.cuts.iter().any(|c| is_through(c) && c.direction == Direction::Crosscut)
}

/// The kerf of a cut.
fn kerf(plan: &Plan, direction: Direction) -> Length {
    match direction {
        Direction::Rip => *plan.cutting.rip_kerf,
        Direction::Crosscut => *plan.cutting.crosscut_kerf,
    }
}

struct Diagram<'a> {
    plan: &'a Plan,
    layout: &'a Layout,
    sheet: &'a Sheet,
    show: Show,
    scale: f64,
    /// The sheet on paper.
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
}

impl<'a> Diagram<'a> {
    fn new(
        plan: &'a Plan,
        layout: &'a Layout,
        sheet: &'a Sheet,
        show: Show,
        scale: f64,
        corner: Point,
    ) -> Self {
        let (length, width) = (sheet.length.to_mm() / scale, sheet.width.to_mm() / scale);
        let (left, top) = (corner.x, corner.y);
        Diagram { plan, layout, sheet, show, scale, left, top, right: left + length, bottom: top + width }
    }

    fn x(&self, x: Length) -> f64 {
        self.left + x.to_mm() / self.scale
    }

    fn y(&self, y: Length) -> f64 {
        self.bottom - y.to_mm() / self.scale
    }

    /// A rectangle of the sheet on paper, kept within the sheet.
    fn area(&self, x: Length, y: Length, length: Length, width: Length) -> Bounds {
        [
            self.x(x).max(self.left),
            self.y(y + width).max(self.top),
            self.x(x + length).min(self.right),
            self.y(y).min(self.bottom),
        ]
    }

    fn box_path(b: Bounds) -> Path {
        Path::rectangle(at(b[0], b[1]), b[2] - b[0], b[3] - b[1])
    }

    /// Draws everything; returns how far down the paper is used.
    fn draw(&self, scene: &mut Scene) -> f64 {
        let mut room = Room::default();
        self.ground(scene);
        for (placed, bounds) in self.pieces() {
            let letter = letter(self.plan, &placed.part);
            let name =
                format!("{letter}: {}, {}", placed.part, self.show.size(*placed.length, *placed.width));
            scene.draw_named(Role::Piece, Self::box_path(bounds), name);
        }
        for cut in &self.layout.cuts {
            scene.draw_named(Role::Kerf, Self::box_path(self.kerf_area(cut)), format!("Cut {}", cut.number));
        }
        scene.draw(Role::Edge, Self::box_path([self.left, self.top, self.right, self.bottom]));
        self.inner_numbers(scene, &mut room);
        let homeless = self.piece_labels(scene, &mut room);
        self.offcut_labels(scene, &mut room);
        // Kerfs and edges that no letter may hide; leaders join them as they are drawn.
        let mut lines = if homeless.is_empty() { Vec::new() } else { legible::firm_lines(scene) };
        for (b, letter) in homeless {
            let sheet = [self.left, self.top, self.right, self.bottom];
            leader_label(sheet, scene, &mut room, &mut lines, b, &letter);
        }
        self.through_rips(scene);
        let mut below = self.through_crosscuts(scene);
        let words = self.show.bare(*self.sheet.length);
        draft::dimension_across(scene, self.left, self.right, below + 4.6, below, &words);
        below += 6.4;
        below + self.legend(scene, below)
    }

    fn pieces(&self) -> impl Iterator<Item = (&'a stripwright_plan::plan::Placed, Bounds)> + '_ {
        self.layout.pieces.iter().map(|p| (p, self.area(*p.x, *p.y, *p.length, *p.width)))
    }

    /// Sheet, trim, scrap and offcuts: everything under the pieces.
    fn ground(&self, scene: &mut Scene) {
        let sheet = [self.left, self.top, self.right, self.bottom];
        scene.draw(Role::Sheet, Self::box_path(sheet));
        // What is neither piece, kerf nor listed offcut (trim, slivers) is scrap: hatched close, under the rest.
        scene.draw(Role::Hatch, draft::hatch(&draft::corners(sheet), Angle::degrees(45.0), 1.1));
        for offcut in &self.layout.offcuts {
            let b = self.area(*offcut.x, *offcut.y, *offcut.length, *offcut.width);
            if b[2] <= b[0] || b[3] <= b[1] {
                continue;
            }
            let size = self.show.size(*offcut.length, *offcut.width);
            let (role, name) = if offcut.keep {
                (Role::Offcut, format!("Offcut to keep, {size}"))
            } else {
                (Role::Scrap, format!("Offcut, {size}"))
            };
            scene.draw_named(role, Self::box_path(b), name);
            // Close hatching on a large area would drown the drawing.
            let large = offcut.length.area_nm2(*offcut.width) > 60_000 * 1_000_000_000_000;
            let (angle, gap) = match (offcut.keep, large) {
                (true, _) => (-45.0, 4.0),
                (false, true) => (45.0, 4.0),
                (false, false) => (45.0, 1.1),
            };
            scene.draw(Role::Hatch, draft::hatch(&draft::corners(b), Angle::degrees(angle), gap));
        }
    }

    fn kerf_area(&self, cut: &Cut) -> Bounds {
        let wide = kerf(self.plan, cut.direction);
        let mut b = match cut.direction {
            Direction::Rip => self.area(*cut.from, *cut.at, *cut.to - *cut.from, wide),
            Direction::Crosscut => self.area(*cut.at, *cut.from, wide, *cut.to - *cut.from),
        };
        // A cut without kerf still has to be seen: a tenth of a millimetre about its line.
        let (low, high) = if cut.direction == Direction::Rip { (1, 3) } else { (0, 2) };
        if b[high] - b[low] < 0.1 {
            b[low] -= 0.05;
            b[high] = b[low] + 0.1;
        }
        b
    }

    /// Numbers of the cuts within strips, each on its own kerf, or close beside it where two would touch.
    fn inner_numbers(&self, scene: &mut Scene, room: &mut Room) {
        for cut in self.layout.cuts.iter().filter(|c| !is_through(c)) {
            let words = cut.number.to_string();
            let b = self.kerf_area(cut);
            let (cx, cy) = ((b[0] + b[2]) / 2.0, (b[1] + b[3]) / 2.0);
            let (along, high) = match cut.direction {
                Direction::Crosscut => (b[3] - b[1], true),
                Direction::Rip => (b[2] - b[0], false),
            };
            for size in [lettering::SMALL, 2.2, 1.9] {
                let r = draft::ring_bounds(at(cx, cy), &words, size);
                let needs = if high { r[3] - r[1] } else { r[2] - r[0] };
                if needs > along - 0.2 {
                    continue;
                }
                let steps = [0.0, 0.25, -0.25, 0.4, -0.4].map(|t| t * (along - needs) / 0.8 * 0.8);
                let sideways = [0.0, 2.2, -2.2, 3.6, -3.6];
                let mut boxes =
                    sideways.iter().flat_map(|side| steps.map(|step| (*side, step))).map(|(side, step)| {
                        if high { at(cx + side, cy + step) } else { at(cx + step, cy + side) }
                    });
                let centre = boxes.find(|c| {
                    let r = draft::ring_bounds(*c, &words, size);
                    r[0] >= self.left
                        && r[1] >= self.top
                        && r[2] <= self.right
                        && r[3] <= self.bottom
                        && room.is_free(r, 0.3)
                });
                if let Some(centre) = centre {
                    let r = draft::ring(scene, centre, &words, size, false);
                    room.take(r);
                    break;
                }
            }
        }
    }

    /// Letter and size in every piece, or the letter alone; the pieces that have no room even for that.
    fn piece_labels(&self, scene: &mut Scene, room: &mut Room) -> Vec<(Bounds, String)> {
        let mut homeless = Vec::new();
        for (placed, b) in self.pieces() {
            let letter = letter(self.plan, &placed.part);
            let size = self.show.size(*placed.length, *placed.width);
            // Where two systems do not fit, the job's own does.
            let short = Show { both: false, ..self.show }.size(*placed.length, *placed.width);
            let done = [
                (Some(&size), lettering::LARGE),
                (Some(&size), lettering::LABEL),
                (Some(&size), lettering::SMALL),
                (Some(&size), 2.3),
                (Some(&short), lettering::SMALL),
                (Some(&short), 2.3),
                (None, lettering::LABEL),
                (None, lettering::SMALL),
                (None, 2.0),
            ]
            .into_iter()
            .any(|(size, height)| place_label(scene, room, b, &letter, size.map(String::as_str), height));
            if !done {
                homeless.push((b, letter));
            }
        }
        homeless
    }

    fn offcut_labels(&self, scene: &mut Scene, room: &mut Room) {
        for offcut in &self.layout.offcuts {
            let b = self.area(*offcut.x, *offcut.y, *offcut.length, *offcut.width);
            let size = self.show.size(*offcut.length, *offcut.width);
            let long = if offcut.keep { format!("keep {size}") } else { format!("offcut {size}") };
            let _ = [
                (&long, lettering::LARGE),
                (&long, lettering::LABEL),
                (&long, lettering::SMALL),
                (&size, lettering::SMALL),
            ]
            .into_iter()
            .any(|(words, height)| place_grounded(scene, room, b, words, height));
        }
    }

    /// Numbers of the rips through the sheet at its left, running distances at its right.
    fn through_rips(&self, scene: &mut Scene) {
        let rips = through(self.layout, Direction::Rip);
        let origin = *self.sheet.trim.bottom;
        let mut marks = margin_marks(&rips, RING_PITCH, self.bottom - self.top);
        marks.sort_by_key(|m| std::cmp::Reverse(m.at));
        let wanted: Vec<f64> = marks.iter().map(|m| self.y(m.at)).collect();
        let half = kerf(self.plan, Direction::Rip).to_mm() / self.scale / 2.0;
        if let Some(places) = draft::spread(&wanted, RING_PITCH, self.top + 0.4, self.bottom - 0.4) {
            for (mark, y) in marks.iter().zip(places) {
                let line = self.y(mark.at) - half;
                let size = lettering::SMALL;
                let ring = draft::ring_bounds(at(0.0, y), &mark.words, size);
                let centre = at(self.left - 2.0 - (ring[2] - ring[0]) / 2.0, y);
                scene.draw(Role::Leader, Path::open(&[at(self.left, line), at(self.left - 2.0, y)]));
                draft::ring(scene, centre, &mark.words, size, true);
            }
        }
        if marks.is_empty() {
            return;
        }
        // Running distances begin at the trimmed edge: that is the one that lies on the fence.
        let mut running: Vec<(Length, Role)> =
            marks.iter().filter(|m| m.at > origin).map(|m| (m.at, Role::Label)).collect();
        running.push((origin, Role::Note));
        running.sort_by_key(|r| std::cmp::Reverse(r.0));
        running.dedup_by_key(|r| r.0);
        let wanted: Vec<f64> = running.iter().map(|r| self.y(r.0)).collect();
        if let Some(places) = draft::spread(&wanted, RUNNING_PITCH, self.top + 0.5, self.bottom - 0.5) {
            for ((distance, role), y) in running.iter().zip(places) {
                let line = self.y(*distance);
                scene.draw(
                    Role::Dimension,
                    Path::open(&[at(self.right + 0.3, line), at(self.right + 2.2, y)]),
                );
                let words = running_words(*distance - origin, self.show);
                scene.words(*role, self.right + 2.6, y + RUNNING * CAP / 2.0, RUNNING, Face::Medium, words);
            }
        }
    }

    /// Numbers of the crosscuts through the sheet above it, running distances below; returns how far down that reaches.
    fn through_crosscuts(&self, scene: &mut Scene) -> f64 {
        let cuts = through(self.layout, Direction::Crosscut);
        if cuts.is_empty() {
            return self.bottom;
        }
        let origin = *self.sheet.trim.left;
        let mut marks = margin_marks(&cuts, 4.4, self.right - self.left);
        marks.sort_by_key(|m| m.at);
        let wanted: Vec<f64> = marks.iter().map(|m| self.x(m.at)).collect();
        let half = kerf(self.plan, Direction::Crosscut).to_mm() / self.scale / 2.0;
        let widest = marks
            .iter()
            .map(|m| {
                let r = draft::ring_bounds(at(0.0, 0.0), &m.words, lettering::SMALL);
                r[2] - r[0] + 0.4
            })
            .fold(4.4, f64::max);
        if let Some(places) = draft::spread(&wanted, widest, self.left, self.right) {
            for (mark, x) in marks.iter().zip(places) {
                let line = self.x(mark.at) + half;
                scene.draw(Role::Leader, Path::open(&[at(line, self.top), at(x, self.top - 1.6)]));
                draft::ring(scene, at(x, self.top - 2.6), &mark.words, lettering::SMALL, true);
            }
        }
        let mut running: Vec<Length> = marks.iter().map(|m| m.at).filter(|at| *at > origin).collect();
        running.push(origin);
        running.sort();
        running.dedup();
        let wanted: Vec<f64> = running.iter().map(|r| self.x(*r)).collect();
        let size = RUNNING;
        let words: Vec<String> = running.iter().map(|r| running_words(*r - origin, self.show)).collect();
        let Some(places) = draft::spread(&wanted, RUNNING_PITCH, self.left, self.right) else {
            return self.bottom;
        };
        let longest = words.iter().map(|w| Face::Medium.width(w, size)).fold(0.0, f64::max);
        for ((distance, words), x) in running.iter().zip(words).zip(places) {
            let line = self.x(*distance);
            scene.draw(Role::Dimension, Path::open(&[at(line, self.bottom + 0.3), at(x, self.bottom + 2.0)]));
            let text = Text {
                at: at(x + size * CAP / 2.0, self.bottom + 2.5),
                words,
                size,
                face: Face::Medium,
                anchor: Anchor::End,
                upright: true,
            };
            scene.write(Role::Label, text);
        }
        self.bottom + 2.5 + longest + 0.6
    }

    /// What the signs mean; returns the height taken.
    fn legend(&self, scene: &mut Scene, y: f64) -> f64 {
        let size = lettering::SMALL;
        let mut x = self.left;
        let baseline = y + 3.6;
        let middle = baseline - size * CAP / 2.0;
        x += draft::grain(scene, x, middle) + 6.0;
        let mut entry = |scene: &mut Scene, mark: &dyn Fn(&mut Scene, f64), words: &str| {
            mark(scene, x);
            scene.words(Role::Label, x + 7.5, baseline, size, Face::Medium, words);
            x += 7.5 + Face::Medium.width(words, size) + 5.0;
        };
        let swatch = |x: f64| [x, middle - 1.5, x + 6.0, middle + 1.5];
        entry(
            scene,
            &|s, x| s.draw(Role::Kerf, Self::box_path([x, middle - 0.2, x + 6.0, middle + 0.2])),
            "kerf",
        );
        let hatched = |scene: &mut Scene, x: f64, angle: f64, gap: f64| {
            let b = swatch(x);
            scene.draw(Role::Scrap, Self::box_path(b));
            scene.draw(Role::Hatch, draft::hatch(&draft::corners(b), Angle::degrees(angle), gap));
        };
        if self.layout.offcuts.iter().any(|o| o.keep) {
            entry(scene, &|s, x| hatched(s, x, -45.0, 4.0), "offcut to keep");
        }
        entry(scene, &|s, x| hatched(s, x, 45.0, 1.1), "trim and scrap");
        let number = |filled: bool| {
            move |s: &mut Scene, x: f64| {
                draft::ring(s, at(x + 4.0, middle), "1", size, filled);
            }
        };
        entry(scene, &number(true), "cut through the sheet");
        if self.layout.cuts.iter().any(|c| !is_through(c)) {
            entry(scene, &number(false), "cut within a strip or panel");
        }
        5.0
    }
}

/// A number, or a run of numbers, in the margin.
struct MarginMark {
    words: String,
    at: Length,
}

/// One mark a cut where they fit at `gap`; else one mark for each run of cuts of one setting, at its last.
fn margin_marks(cuts: &[&Cut], gap: f64, room: f64) -> Vec<MarginMark> {
    if cuts.len() as f64 * gap <= room {
        return cuts.iter().map(|c| MarginMark { words: c.number.to_string(), at: *c.at }).collect();
    }
    let mut marks: Vec<MarginMark> = Vec::new();
    let mut i = 0;
    while i < cuts.len() {
        let mut j = i;
        while j + 1 < cuts.len()
            && cuts[j + 1].setting == cuts[i].setting
            && cuts[j + 1].number == cuts[j].number + 1
        {
            j += 1;
        }
        let words = if j == i {
            cuts[i].number.to_string()
        } else {
            format!("{}–{}", cuts[i].number, cuts[j].number)
        };
        marks.push(MarginMark { words, at: *cuts[j].at });
        i = j + 1;
    }
    marks
}

/// A letter away from its piece, in the nearest free place of an area clear of every kerf, with a leader that ends in a dot on the piece;
/// in a ring on top of the kerfs where there is no such place.
pub(crate) fn leader_label(
    area: Bounds,
    scene: &mut Scene,
    room: &mut Room,
    lines: &mut Vec<(Point, Point)>,
    b: Bounds,
    letter: &str,
) {
    let size = lettering::SMALL;
    let within_piece = |(sx, sy): (f64, f64)| at(b[0] + sx * (b[2] - b[0]), b[1] + sy * (b[3] - b[1]));
    let spots = [0.5, 0.3, 0.7, 0.12, 0.88].map(|t| [(t, 0.5), (0.5, t)]);
    // The number of a cut may stand on the middle of a small piece, or words in the leader's way.
    let dots: Vec<Point> = spots
        .into_iter()
        .flatten()
        .map(within_piece)
        .filter(|p| room.is_free([p.x, p.y, p.x, p.y], 0.4))
        .collect();
    let w = Face::Bold.width(letter, size) + 0.8;
    let h = size * CAP + 0.8;
    // Slanting leaders first: those along the sheet run beside kerfs.
    let slanting =
        [(1.0, -1.0), (1.0, 1.0), (0.6, -1.2), (0.6, 1.2), (1.3, -0.5), (1.3, 0.5), (0.3, -1.3), (0.3, 1.3)];
    let straight = [(0.0, -1.3), (0.0, 1.3), (1.4, 0.0), (-1.4, 0.0)];
    let directions: Vec<(f64, f64)> =
        slanting.iter().flat_map(|(x, y)| [(*x, *y), (-x, *y)]).chain(straight).collect();
    let places = |dot: Point, w: f64, h: f64| {
        let directions = &directions;
        (3..80).flat_map(move |step| {
            directions.iter().map(move |(dx, dy)| {
                let far = f64::from(step) * 1.2;
                let (cx, cy) = (dot.x + dx * far, dot.y + dy * far);
                [cx - w / 2.0, cy - h / 2.0, cx + w / 2.0, cy + h / 2.0]
            })
        })
    };
    let free = |dot: Point, p: &Bounds, room: &Room| {
        let inside = p[0] > area[0] && p[1] > area[1] && p[2] < area[2] && p[3] < area[3];
        let centre = at((p[0] + p[2]) / 2.0, (p[1] + p[3]) / 2.0);
        inside
            && room.is_free(*p, 0.3)
            && !room.boxes().iter().any(|words| legible::within(dot, centre, *words).is_some())
    };
    let clear = |p: &Bounds| lines.iter().all(|(from, to)| legible::within(*from, *to, *p).is_none());
    let r = draft::ring_bounds(at(0.0, 0.0), letter, size);
    let find = |w: f64, h: f64, in_ring: bool| {
        dots.iter().find_map(|&dot| {
            let place = places(dot, w, h).find(|p| free(dot, p, room) && (in_ring || clear(p)))?;
            Some((dot, place, in_ring))
        })
    };
    let found = find(w, h, false).or_else(|| find(r[2] - r[0], r[3] - r[1], true));
    let Some((dot, p, in_ring)) = found else { return };
    room.take(p);
    let centre = at((p[0] + p[2]) / 2.0, (p[1] + p[3]) / 2.0);
    // The leader ends where the letter's room begins.
    let near = legible::within(dot, centre, p).map_or(centre, |(edge, _)| edge);
    scene.draw(Role::Leader, Path::line(dot, near));
    lines.push((dot, near));
    scene.draw(Role::Arrow, Path::circle(dot, 0.35));
    if in_ring {
        draft::ring(scene, centre, letter, size, false);
    } else {
        scene.draw(Role::Ground, Diagram::box_path(p));
        scene.centred(Role::Label, centre, size, Face::Bold, letter);
    }
}

/// Writes letter and size inside a box, across or upright, where nothing else is; false when it does not fit.
pub(crate) fn place_label(
    scene: &mut Scene,
    room: &mut Room,
    b: Bounds,
    letter: &str,
    size: Option<&str>,
    height: f64,
) -> bool {
    let first = Face::Bold.width(letter, height);
    let gap = if size.is_some() { height * 0.45 } else { 0.0 };
    let width = first + gap + size.map_or(0.0, |s| Face::Medium.width(s, height));
    // Brackets and some letters go below the line: room is kept for them.
    let e = Face::Bold.extent(letter, height);
    let figures = Face::Medium.extent(size.unwrap_or(""), height);
    let (above, below) = (e.above.max(height * 0.72).max(figures.above), e.below.max(figures.below));
    let Some((place, upright)) = free_place(room, b, width, above + below, 0.35) else { return false };
    // A letter alone is never laid on its side: some would read as another sign.
    if upright && size.is_none() {
        return false;
    }
    room.take(place);
    let mut put = |offset: f64, face: Face, words: &str| {
        let start = if upright {
            at(place[0] + above, place[3] - offset)
        } else {
            at(place[0] + offset, place[1] + above)
        };
        let text =
            Text { at: start, words: words.to_string(), size: height, face, anchor: Anchor::Start, upright };
        scene.write(Role::Label, text);
    };
    put(0.0, Face::Bold, letter);
    if let Some(size) = size {
        put(first + gap, Face::Medium, size);
    }
    true
}

/// Writes words on white ground inside a box; false when they do not fit.
fn place_grounded(scene: &mut Scene, room: &mut Room, b: Bounds, words: &str, height: f64) -> bool {
    let width = Face::Medium.width(words, height);
    let e = Face::Medium.extent(words, height);
    let Some((p, upright)) = free_place(room, b, width + 1.6, e.above + e.below + 1.0, 0.3) else {
        return false;
    };
    room.take(p);
    scene.draw(Role::Ground, Diagram::box_path(p));
    let start =
        if upright { at(p[0] + 0.5 + e.above, p[3] - 0.8) } else { at(p[0] + 0.8, p[1] + 0.5 + e.above) };
    let text = Text {
        at: start,
        words: words.to_string(),
        size: height,
        face: Face::Medium,
        anchor: Anchor::Start,
        upright,
    };
    scene.write(Role::Label, text);
    true
}

/// A free place of this size inside a box, as near its middle as may be; upright only where it does not fit across.
fn free_place(room: &Room, b: Bounds, width: f64, height: f64, margin: f64) -> Option<(Bounds, bool)> {
    const STEPS: [f64; 9] = [0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9, 0.0, 1.0];
    for upright in [false, true] {
        let (w, h) = if upright { (height, width) } else { (width, height) };
        let (spare_x, spare_y) = (b[2] - b[0] - 2.0 * margin - w, b[3] - b[1] - 2.0 * margin - h);
        if spare_x < 0.0 || spare_y < 0.0 {
            continue;
        }
        for sy in STEPS {
            for sx in STEPS {
                let (x, y) = (b[0] + margin + sx * spare_x, b[1] + margin + sy * spare_y);
                let place = [x, y, x + w, y + h];
                if room.is_free(place, 0.4) {
                    return Some((place, upright));
                }
            }
        }
    }
    None
}

/// Letter, part, size and number of the pieces on this sheet.
fn pieces_table(plan: &Plan, layout: &Layout, show: Show) -> Table {
    let mut table = Table::new(
        "Pieces on this sheet",
        vec![
            Column::words("", 6.0),
            Column::words("part", 38.0),
            Column::figures(format!("length × width, {}", show.unit()), if show.both { 46.0 } else { 30.0 }),
            Column::figures("pieces", 10.0),
        ],
    );
    let mut parts: Vec<&str> = Vec::new();
    for piece in &layout.pieces {
        if !parts.contains(&piece.part.as_str()) {
            parts.push(&piece.part);
        }
    }
    let order = |p: &str| plan.demands.iter().position(|d| d.id == p).unwrap_or(usize::MAX);
    parts.sort_by_key(|p| order(p));
    for part in parts {
        let mut alike = layout.pieces.iter().filter(|p| p.part == part);
        let Some(first) = alike.next() else { continue };
        let (length, width) =
            if first.turned { (*first.width, *first.length) } else { (*first.length, *first.width) };
        table.row([
            letter(plan, part),
            part.to_string(),
            show.size(length, width),
            (1 + alike.count()).to_string(),
        ]);
    }
    let mut kept: Vec<((Length, Length), usize)> = Vec::new();
    for offcut in layout.offcuts.iter().filter(|o| o.keep) {
        let size = (*offcut.length, *offcut.width);
        match kept.iter_mut().find(|k| k.0 == size) {
            Some(k) => k.1 += 1,
            None => kept.push((size, 1)),
        }
    }
    for ((length, width), n) in kept {
        table.row(["".into(), "offcut to keep".into(), show.size(length, width), n.to_string()]);
    }
    table
}

/// The cuts in sawing order, runs of one setting together.
fn cuts_table(layout: &Layout, show: Show) -> Table {
    let mut table = Table::new(
        "Cuts in order",
        vec![
            Column::figures("cut", 13.0),
            Column::words("which way", 17.0),
            Column::figures(format!("fence or stop, {}", show.unit()), if show.both { 30.0 } else { 17.0 }),
            Column::figures("cuts", 7.0),
        ],
    );
    for (first, last) in runs(&layout.cuts) {
        let cut = &layout.cuts[first];
        let n = last - first + 1;
        let numbers = if n == 1 {
            cut.number.to_string()
        } else {
            format!("{}–{}", cut.number, layout.cuts[last].number)
        };
        let way = match (cut.stage, cut.direction) {
            (0, Direction::Rip) => "trim along",
            (0, Direction::Crosscut) => "trim across",
            (_, Direction::Rip) => "rip",
            (_, Direction::Crosscut) => "crosscut",
        };
        table.row([numbers, way.to_string(), show.bare(*cut.setting), n.to_string()]);
    }
    table
}

/// First and last index of each run of neighbouring cuts with one direction, stage and setting.
pub(crate) fn runs(cuts: &[Cut]) -> Vec<(usize, usize)> {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for (i, cut) in cuts.iter().enumerate() {
        match runs.last_mut() {
            Some((first, last))
                if {
                    let c = &cuts[*first];
                    (c.direction, c.stage, c.setting) == (cut.direction, cut.stage, cut.setting)
                } =>
            {
                *last = i;
            }
            _ => runs.push((i, i)),
        }
    }
    runs
}

/// Sets tables side by side below a drawing, their columns flowing on to the right and then on to further plates.
fn lists(first: Scene, tables: [Table; 2], top: f64, title: &str, subject: &str) -> Vec<Scene> {
    const GAP: f64 = 8.0;
    let mut plates = vec![first];
    let (mut x, mut y) = (LEFT, top);
    for table in tables {
        let width = table.width();
        let mut from = 0;
        while from < table.rows.len() {
            let last = plates.len() - 1;
            let fits = table.rows_in(from, PAPER.1 - y);
            // One or two rows by themselves are not worth a column, unless they are all there is.
            let least = 3.min(table.rows.len() - from);
            if x + width > PAPER.0 || fits < least {
                let name = format!("{}-sheet-{}", plates[0].name, plates.len() + 1);
                let mut next = Scene::new(name, title, PAPER.0, PAPER.1);
                next.description = format!("The rest of the lists of {}.", plates[0].title);
                y = draft::head(&mut next, title, subject, "") + 2.0;
                x = LEFT;
                plates.push(next);
                continue;
            }
            let to = (from + fits).min(table.rows.len());
            table.draw(&mut plates[last], at(x, y), from..to);
            from = to;
            x += width + GAP;
        }
    }
    plates
}

/// A point of the sheet on the paper of a plate made by [`plates`], for those who measure drawings.
pub fn on_paper(scene: &Scene, sheet: &Sheet, x: Length, y: Length) -> Option<Point> {
    let scale = scene.scale?;
    let edge = scene.marks.iter().find_map(|m| match (&m.role, &m.shape) {
        (Role::Sheet, crate::scene::Shape::Path(p)) => Some(draft::bounds(p)),
        _ => None,
    })?;
    Some(at(edge[0] + x.to_mm() / scale, edge[1] + (*sheet.width - y).to_mm() / scale))
}
