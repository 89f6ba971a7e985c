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

/// Room right of the running distances for labels that have no place on the sheet.
const ASIDE: f64 = 9.0;
/// Room above and below the sheet for such labels.
const LANE: f64 = 4.6;

/// The smallest letter of a piece.
const SMALLEST_LETTER: f64 = 2.0;

/// How far a ring within a strip may reach over the strip's edges: about to the middle of the kerfs there.
const OVER: f64 = 0.15;

/// Sizes of the numbers of cuts, from the one wished for to the smallest that can be read.
const NUMBERS: [f64; 3] = [lettering::SMALL, 2.2, 1.9];

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
    let continued = format!("{title}, continued");
    let attempt = |scale: f64, lane: f64| {
        let mut scene = scene.clone();
        scene.scale = Some(scale);
        let corner = format!("{} · {}", draft::scale_words(scale), show.unit());
        let top = draft::head(&mut scene, &title, &subject, &corner)
            + lane
            + if has_through_crosscuts(layout) { 4.0 } else { 0.6 };
        let diagram = Diagram::new(plan, layout, &sheet, show, scale, at(left, top), [right, lane]);
        let Drawn { below, homeless, grouped } = diagram.draw(&mut scene);
        let tables = [pieces_table(plan, layout, show), cuts_table(layout, show)];
        Attempt { homeless, grouped, plates: lists(scene, tables, below + 2.0, &continued, &subject) }
    };
    let fit = |aside: f64| {
        let room = (PAPER.0 - left - right - aside, TALLEST);
        draft::scale_to_fit(sheet.length.to_mm(), sheet.width.to_mm(), room)
    };
    // A slightly smaller diagram is better than one whose lists are on another sheet, or whose labels find no place; a
    // much smaller one is not.
    let largest = fit(0.0);
    let mut scales = vec![largest, draft::next_scale(largest), fit(ASIDE)];
    scales.retain(|scale| *scale <= largest * 1.25);
    scales.dedup();
    let mut best = attempt(largest, 0.0);
    for (lane, scale) in
        [0.0, LANE].iter().flat_map(|lane| scales.iter().map(|scale| (*lane, *scale))).skip(1)
    {
        // Lanes above and below the sheet are for labels that have no place without them.
        if best.is_done() || lane > 0.0 && best.homeless == 0 {
            break;
        }
        let other = attempt(scale, lane);
        if other.rank() < best.rank() {
            best = other;
        }
    }
    best.plates
}

/// The plates of a layout at one scale, and what they leave to be wished.
struct Attempt {
    homeless: usize,
    grouped: usize,
    plates: Vec<Scene>,
}

impl Attempt {
    /// The lower, the better: labels without a place first, then numbers that share a ring, then plates.
    fn rank(&self) -> (usize, usize, usize) {
        (self.homeless, self.grouped, self.plates.len())
    }

    fn is_done(&self) -> bool {
        self.rank() == (0, 0, 1)
    }
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
    /// Where the running distances right of the sheet end.
    aside: f64,
    /// Room above and below the sheet for labels.
    lane: f64,
}

/// How a diagram came out.
struct Drawn {
    /// How far down the paper is used.
    below: f64,
    /// Letters and numbers that found no place.
    homeless: usize,
    /// Strips whose cuts share one ring.
    grouped: usize,
}

impl<'a> Diagram<'a> {
    fn new(
        plan: &'a Plan,
        layout: &'a Layout,
        sheet: &'a Sheet,
        show: Show,
        scale: f64,
        corner: Point,
        [margin, lane]: [f64; 2],
    ) -> Self {
        let (length, width) = (sheet.length.to_mm() / scale, sheet.width.to_mm() / scale);
        let (left, top) = (corner.x, corner.y);
        let (right, bottom) = (left + length, top + width);
        Diagram { plan, layout, sheet, show, scale, left, top, right, bottom, aside: right + margin, lane }
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

    /// Draws everything.
    fn draw(&self, scene: &mut Scene) -> Drawn {
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
        self.through_rips(scene);
        let mut below = self.through_crosscuts(scene).max(self.bottom + self.lane);
        // With the rings that some of them stand in.
        let [l, t, r, b] = [-0.4, -0.4, 0.4, 0.4];
        scene
            .texts()
            .iter()
            .map(|text| text.bounds())
            .for_each(|w| room.take([w[0] + l, w[1] + t, w[2] + r, w[3] + b]));
        let runs = self.inner_numbers(scene, &mut room);
        let letters = self.piece_labels(scene, &mut room);
        self.offcut_labels(scene, &mut room);
        let grouped = runs.iter().filter(|run| run.placed || run.first < run.last).count();
        // Letters first: they have one piece each to be found by, a run of cuts its neighbours too.
        let letters = letters.into_iter().map(|(bounds, letter)| (bounds, letter, false));
        let numbers = runs.iter().filter(|run| !run.placed).map(|run| (run.bounds, run.words(), true));
        let away = letters.chain(numbers).collect();
        let homeless = self.call_outs(scene, &mut room, away);
        let words = self.show.bare(*self.sheet.length);
        draft::dimension_across(scene, self.left, self.right, below + 4.6, below, &words);
        below += 6.4;
        below += self.legend(scene, below, &runs);
        Drawn { below, homeless, grouped }
    }

    /// Labels away from what they name, in rings or without, each with a leader: on offcuts and trim, or round the sheet; in a ring on
    /// another piece at last. Returns how many found no place of the first kind.
    fn call_outs(&self, scene: &mut Scene, room: &mut Room, labels: Vec<(Bounds, String, bool)>) -> usize {
        if labels.is_empty() {
            return 0;
        }
        // Kerfs and edges that no letter may hide; leaders join them as they are drawn.
        let mut lines = legible::firm_lines(scene);
        let kerfs = self.layout.cuts.iter().map(|cut| self.kerf_area(cut));
        let wood: Vec<Bounds> = self.pieces().map(|(_, b)| b).chain(kerfs).collect();
        let on_sheet =
            |p: &Bounds| p[0] > self.left && p[2] < self.right && p[1] > self.top && p[3] < self.bottom;
        let open = |p: &Bounds| {
            let beside = p[0] > self.aside && p[2] < PAPER.0 && p[1] > self.top && p[3] < self.bottom;
            let above = p[3] < self.top - 0.3 && p[1] > self.top - self.lane - 0.6;
            let below = p[1] > self.bottom + 0.3 && p[3] < self.bottom + self.lane;
            let in_lane = (above || below) && p[0] > self.left && p[2] < self.right;
            beside || in_lane || on_sheet(p) && wood.iter().all(|b| legible::apart(*b, *p))
        };
        let mut homeless = 0;
        for (b, words, ringed) in labels {
            if !call_out(scene, room, &mut lines, b, &words, &open, ringed.then_some(lettering::SMALL)) {
                homeless += 1;
                let _ = NUMBERS
                    .iter()
                    .any(|size| call_out(scene, room, &mut Vec::new(), b, &words, &on_sheet, Some(*size)));
            }
        }
        homeless
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

    /// Numbers of the cuts within strips, each on its own kerf or close beside it; where a strip has no room for all of its own, they
    /// share a ring. Returns what shares one, with whether it found a place in its strip.
    fn inner_numbers(&self, scene: &mut Scene, room: &mut Room) -> Vec<SharedRing> {
        let letters = self.small_letters();
        // All of one size if they can be.
        let before = (room.clone(), scene.marks.len());
        for size in NUMBERS {
            if strips(&self.layout.cuts)
                .all(|cuts| self.own_numbers(scene, room, &[Some(&letters)], &[size], cuts))
            {
                return Vec::new();
            }
            *room = before.0.clone();
            scene.marks.truncate(before.1);
        }
        let mut shared = Vec::new();
        for cuts in strips(&self.layout.cuts) {
            // The letters of small pieces have no other place: a smaller number rather than one of them away.
            if self.own_numbers(scene, room, &[Some(&letters), None], &NUMBERS, cuts) {
                continue;
            }
            let (Some(first), Some(last)) = (cuts.first(), cuts.last()) else { continue };
            let mut run = SharedRing {
                first: first.number,
                last: last.number,
                bounds: self.strip(cuts),
                placed: false,
            };
            run.placed = [Some(&letters), None].iter().any(|letters| {
                NUMBERS.iter().any(|size| self.shared_number(scene, room, *letters, &run, *size))
            });
            shared.push(run);
        }
        shared
    }

    /// Puts a number on every one of a strip's cuts, or on none of them, clear of the first of these rooms and in the first of these
    /// sizes that can be had.
    fn own_numbers(
        &self,
        scene: &mut Scene,
        room: &mut Room,
        letters: &[Option<&Room>],
        sizes: &[f64],
        cuts: &[Cut],
    ) -> bool {
        let before = (room.clone(), scene.marks.len());
        let put = |cut: &Cut| {
            let words = cut.number.to_string();
            let mut tries = letters.iter().flat_map(|letters| sizes.iter().map(|size| (*letters, *size)));
            let found = tries.find_map(|(letters, size)| {
                Some((self.number_place(room, letters, cut, &words, size)?, size))
            });
            let Some((centre, size)) = found else { return false };
            room.take(draft::ring(scene, centre, &words, size, false));
            true
        };
        let all = cuts.iter().all(put);
        if !all {
            *room = before.0;
            scene.marks.truncate(before.1);
        }
        all
    }

    /// Where the number of a cut may stand: across its kerf, or beside it and touching it.
    fn number_place(
        &self,
        room: &Room,
        letters: Option<&Room>,
        cut: &Cut,
        words: &str,
        size: f64,
    ) -> Option<Point> {
        let b = self.kerf_area(cut);
        let (cx, cy) = ((b[0] + b[2]) / 2.0, (b[1] + b[3]) / 2.0);
        let ring = draft::ring_bounds(at(cx, cy), words, size);
        let (wide, high) = (ring[2] - ring[0], ring[3] - ring[1]);
        let crosscut = cut.direction == Direction::Crosscut;
        let (along, needs, across) =
            if crosscut { (b[3] - b[1], high, wide) } else { (b[2] - b[0], wide, high) };
        // A ring may lie on the kerfs at both sides of its strip, no further.
        if needs > along + 2.0 * OVER {
            return None;
        }
        let spare = (along - needs).max(0.0);
        let steps = [0.0, 0.25, -0.25, 0.4, -0.4, 0.12, -0.12, 0.33, -0.33, 0.47, -0.47].map(|t| t * spare);
        let sideways = [0.0, 0.3, -0.3, 0.52, -0.52].map(|t| t * across);
        let mut places = sideways
            .iter()
            .flat_map(|side| steps.map(|step| (*side, step)))
            .map(|(side, step)| if crosscut { at(cx + side, cy + step) } else { at(cx + step, cy + side) });
        // A number on the crossing of two kerfs would be read as that of the other.
        let across_it = |other: &&Cut| other.direction != cut.direction;
        let crossing: Vec<Bounds> =
            self.layout.cuts.iter().filter(across_it).map(|other| self.kerf_area(other)).collect();
        places.find(|c| {
            let r = draft::ring_bounds(*c, words, size);
            let inner = [r[0] + OVER, r[1] + OVER, r[2] - OVER, r[3] - OVER];
            r[0] >= self.left
                && r[1] >= self.top
                && r[2] <= self.right
                && r[3] <= self.bottom
                && room.is_free(r, 0.2)
                && letters.is_none_or(|letters| letters.is_free(r, 0.2))
                && crossing.iter().all(|kerf| legible::apart(*kerf, inner))
        })
    }

    /// One ring for all cuts of a strip, at its far end if it can be.
    fn shared_number(
        &self,
        scene: &mut Scene,
        room: &mut Room,
        letters: Option<&Room>,
        run: &SharedRing,
        size: f64,
    ) -> bool {
        let b = run.bounds;
        let words = run.words();
        let ring = draft::ring_bounds(at(0.0, 0.0), &words, size);
        let (wide, high) = (ring[2] - ring[0], ring[3] - ring[1]);
        let (spare_x, spare_y) = (b[2] - b[0] - wide - 0.6, b[3] - b[1] - high + 2.0 * OVER);
        if spare_x < 0.0 || spare_y < 0.0 {
            return false;
        }
        let middle = (b[1] + b[3]) / 2.0;
        let centre = (0..=40u8)
            .map(|i| at(b[2] - 0.3 - wide / 2.0 - spare_x * f64::from(i) / 40.0, middle))
            .find(|c| {
                let r = draft::ring_bounds(*c, &words, size);
                room.is_free(r, 0.2) && letters.is_none_or(|letters| letters.is_free(r, 0.2))
            });
        let Some(centre) = centre else { return false };
        room.take(draft::ring(scene, centre, &words, size, false));
        true
    }

    /// The strip that lies along some cuts within it, from the sheet's end to its other end.
    fn strip(&self, cuts: &[Cut]) -> Bounds {
        cuts.iter()
            .map(|cut| self.kerf_area(cut))
            .fold([f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY], |all, b| {
                [all[0].min(b[0]), all[1].min(b[1]), all[2].max(b[2]), all[3].max(b[3])]
            })
    }

    /// Where the letters of pieces stand that have no room for their size.
    fn small_letters(&self) -> Room {
        let mut letters = Room::default();
        for (placed, b) in self.pieces() {
            let letter = letter(self.plan, &placed.part);
            let size = Show { both: false, ..self.show }.size(*placed.length, *placed.width);
            let high = SMALLEST_LETTER * CAP;
            let wide = Face::Bold.width(&letter, SMALLEST_LETTER);
            if b[2] - b[0] < wide + Face::Medium.width(&size, 2.3) + 5.0 {
                let (x, y) = ((b[0] + b[2]) / 2.0, (b[1] + b[3]) / 2.0);
                letters.take([x - wide / 2.0, y - high / 2.0, x + wide / 2.0, y + high / 2.0]);
            }
        }
        letters
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
                (None, SMALLEST_LETTER),
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
        let gap = |size: f64| {
            let wide = |m: &MarginMark| {
                let r = draft::ring_bounds(at(0.0, 0.0), &m.words, size);
                r[2] - r[0] + 0.4
            };
            marks.iter().map(wide).fold(0.0, f64::max)
        };
        let found = NUMBERS
            .iter()
            .find_map(|size| Some((*size, draft::spread(&wanted, gap(*size), self.left, self.right)?)));
        if let Some((size, places)) = found {
            for (mark, x) in marks.iter().zip(places) {
                let line = self.x(mark.at) + half;
                scene.draw(Role::Leader, Path::open(&[at(line, self.top), at(x, self.top - 1.6)]));
                draft::ring(scene, at(x, self.top - 2.6), &mark.words, size, true);
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
    fn legend(&self, scene: &mut Scene, y: f64, shared: &[SharedRing]) -> f64 {
        let size = lettering::SMALL;
        let mut x = self.left;
        let mut middle = y + 3.6 - size * CAP / 2.0;
        x += draft::grain(scene, x, middle) + 6.0;
        // A sign is as wide as given; what no longer fits goes on in the next row.
        let mut entry = |scene: &mut Scene, wide: f64, mark: &dyn Fn(&mut Scene, Point), words: &str| {
            let needs = wide + 1.5 + 1.1 * Face::Medium.width(words, size);
            if x + needs > PAPER.0 {
                (x, middle) = (self.left, middle + 4.6);
            }
            mark(scene, at(x, middle));
            scene.words(Role::Label, x + wide + 1.5, middle + size * CAP / 2.0, size, Face::Medium, words);
            x += needs + 4.0;
        };
        let swatch = |p: Point| [p.x, p.y - 1.5, p.x + 6.0, p.y + 1.5];
        entry(
            scene,
            6.0,
            &|s, p| s.draw(Role::Kerf, Self::box_path([p.x, p.y - 0.2, p.x + 6.0, p.y + 0.2])),
            "kerf",
        );
        let hatched = |scene: &mut Scene, p: Point, angle: f64, gap: f64| {
            let b = swatch(p);
            scene.draw(Role::Scrap, Self::box_path(b));
            scene.draw(Role::Hatch, draft::hatch(&draft::corners(b), Angle::degrees(angle), gap));
        };
        if self.layout.offcuts.iter().any(|o| o.keep) {
            entry(scene, 6.0, &|s, p| hatched(s, p, -45.0, 4.0), "offcut to keep");
        }
        entry(scene, 6.0, &|s, p| hatched(s, p, 45.0, 1.1), "trim and scrap");
        let number = |words: String, filled: bool| {
            let b = draft::ring_bounds(at(0.0, 0.0), &words, size);
            let wide = b[2] - b[0];
            (wide, move |s: &mut Scene, p: Point| {
                draft::ring(s, at(p.x + wide / 2.0, p.y), &words, size, filled);
            })
        };
        let (wide, sign) = number("1".to_string(), true);
        entry(scene, wide, &sign, "cut through the sheet");
        let alone =
            self.layout.cuts.iter().find(|c| !is_through(c) && !shared.iter().any(|run| run.holds(c)));
        if let Some(cut) = alone {
            let (wide, sign) = number(cut.number.to_string(), false);
            entry(scene, wide, &sign, "cut within a strip or panel");
        }
        if let Some(run) = shared.iter().find(|run| run.first < run.last) {
            let (wide, sign) = number(run.words(), false);
            entry(scene, wide, &sign, self.order_within(run));
        }
        middle - y + size * CAP / 2.0 + 1.4
    }

    /// In which order the cuts lie that share a ring.
    fn order_within(&self, run: &SharedRing) -> &'static str {
        match self.layout.cuts.iter().find(|cut| run.holds(cut)).map(|cut| cut.direction) {
            Some(Direction::Rip) => "all rips of one panel, from its lower edge up",
            _ => "all crosscuts of one strip, from its left end on",
        }
    }
}

/// The cuts of one strip or panel whose numbers share a ring.
struct SharedRing {
    first: u32,
    last: u32,
    /// From the first of them to the last.
    bounds: Bounds,
    /// Whether the ring lies in the strip.
    placed: bool,
}

impl SharedRing {
    fn words(&self) -> String {
        if self.first == self.last {
            self.first.to_string()
        } else {
            format!("{}–{}", self.first, self.last)
        }
    }

    fn holds(&self, cut: &Cut) -> bool {
        (self.first..=self.last).contains(&cut.number)
    }
}

/// The cuts within strips and panels, those of one strip together, each group in sawing order and along its strip.
fn strips(cuts: &[Cut]) -> impl Iterator<Item = &[Cut]> {
    let together = |a: &Cut, b: &Cut| {
        (a.direction, a.stage, *a.from, *a.to) == (b.direction, b.stage, *b.from, *b.to)
            && a.at < b.at
            && a.number + 1 == b.number
    };
    cuts.chunk_by(move |a, b| together(a, b)).filter(|group| group.iter().all(|cut| !is_through(cut)))
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

/// A label away from what it names, in the nearest open place that is free and clear of lines, in a ring of a size or on bare
/// ground, with a leader that ends in a dot on the thing; false where there is no such place.
pub(crate) fn call_out(
    scene: &mut Scene,
    room: &mut Room,
    lines: &mut Vec<(Point, Point)>,
    b: Bounds,
    words: &str,
    open: &dyn Fn(&Bounds) -> bool,
    ring: Option<f64>,
) -> bool {
    let size = ring.unwrap_or(lettering::SMALL);
    let (w, h) = if ring.is_some() {
        let r = draft::ring_bounds(at(0.0, 0.0), words, size);
        (r[2] - r[0], r[3] - r[1])
    } else {
        (Face::Bold.width(words, size) + 0.8, size * CAP + 0.8)
    };
    let free = |dot: Point, p: &Bounds| {
        let centre = at((p[0] + p[2]) / 2.0, (p[1] + p[3]) / 2.0);
        open(p)
            && room.is_free(*p, 0.3)
            && lines.iter().all(|(from, to)| legible::within(*from, *to, *p).is_none())
            && !room.boxes().iter().any(|words| legible::within(dot, centre, *words).is_some())
    };
    let found = dots(b, room).into_iter().find_map(|dot| {
        let place = places_around(dot, w, h).find(|p| free(dot, p))?;
        Some((dot, place))
    });
    let Some((dot, p)) = found else { return false };
    room.take(p);
    let centre = at((p[0] + p[2]) / 2.0, (p[1] + p[3]) / 2.0);
    // The leader ends where the label's room begins.
    let near = legible::within(dot, centre, p).map_or(centre, |(edge, _)| edge);
    scene.draw(Role::Leader, Path::line(dot, near));
    lines.push((dot, near));
    scene.draw(Role::Arrow, Path::circle(dot, 0.35));
    if ring.is_some() {
        draft::ring(scene, centre, words, size, false);
    } else {
        scene.draw(Role::Ground, Diagram::box_path(p));
        scene.centred(Role::Label, centre, size, Face::Bold, words);
    }
    true
}

/// Where a leader may end on a thing: on its middle if it can, clear of the words and numbers that stand on it.
fn dots(b: Bounds, room: &Room) -> Vec<Point> {
    let within = |(sx, sy): (f64, f64)| at(b[0] + sx * (b[2] - b[0]), b[1] + sy * (b[3] - b[1]));
    let spots = [0.5, 0.3, 0.7, 0.12, 0.88].map(|t| [(t, 0.5), (0.5, t)]);
    let free = |p: &Point| room.is_free([p.x, p.y, p.x, p.y], 0.25);
    spots.into_iter().flatten().map(within).filter(free).collect()
}

/// Boxes around a dot, near ones first.
fn places_around(dot: Point, w: f64, h: f64) -> impl Iterator<Item = Bounds> {
    // Slanting leaders first: those along the sheet run beside kerfs.
    const SLANTING: [(f64, f64); 8] =
        [(1.0, -1.0), (1.0, 1.0), (0.6, -1.2), (0.6, 1.2), (1.3, -0.5), (1.3, 0.5), (0.3, -1.3), (0.3, 1.3)];
    const STRAIGHT: [(f64, f64); 4] = [(0.0, -1.3), (0.0, 1.3), (1.4, 0.0), (-1.4, 0.0)];
    (2..80).flat_map(move |step| {
        let directions = SLANTING.into_iter().flat_map(|(x, y)| [(x, y), (-x, y)]).chain(STRAIGHT);
        directions.map(move |(dx, dy)| {
            let far = f64::from(step) * 1.2;
            let (cx, cy) = (dot.x + dx * far, dot.y + dy * far);
            [cx - w / 2.0, cy - h / 2.0, cx + w / 2.0, cy + h / 2.0]
        })
    })
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
