//! Boards of lumber with every stick on them, to scale, as rip diagrams show sheets: ripped from the squared edge, which lies at
//! the bottom and runs along the fence, crosscut from the left end.

use stripwright_plan::plan::{Plan, Stick, StickPiece};
use stripwright_plan::words::letters;
use stripwright_units::{Angle, Length};

use crate::draft::{self, Bounds, Room, Show, lettering};
use crate::font::Face;
use crate::legible;
use crate::rip::{self, PAPER};
use crate::scene::{Path, Role, Scene, at};
use crate::table::{Column, Table};

/// From one board's heading to its wood, and from its wood to the next board.
const HEAD: f64 = 5.6;
const BETWEEN: f64 = 5.0;

/// A part's sticks on all boards.
pub(crate) struct Part {
    pub(crate) name: String,
    pub(crate) length: Length,
    pub(crate) width: Length,
    /// False for plain lengths, which keep the section that they have.
    pub(crate) ripped: bool,
    layers: u32,
    count: u32,
}

impl Part {
    /// Whether a piece becomes one of its sticks.
    pub(crate) fn is(&self, piece: &StickPiece) -> bool {
        (&self.name, self.length, self.width) == (&piece.part, *piece.length, *piece.width)
    }
}

/// The parts in order of their first board: their letters follow those of the sheets' pieces.
pub(crate) fn parts(plan: &Plan) -> Vec<Part> {
    let mut parts: Vec<Part> = Vec::new();
    for stick in &plan.sticks {
        for piece in &stick.pieces {
            match parts.iter_mut().find(|p| p.is(piece)) {
                Some(part) => part.count += stick.times * piece.layers,
                None => parts.push(Part {
                    name: piece.part.clone(),
                    length: *piece.length,
                    width: *piece.width,
                    ripped: piece.y.is_positive(),
                    layers: piece.layers,
                    count: stick.times * piece.layers,
                }),
            }
        }
    }
    parts
}

/// The letter of a part, by its place among the boards' parts.
pub(crate) fn letter(plan: &Plan, index: usize) -> String {
    letters(plan.demands.len() + index)
}

/// Plates of all boards, as many as it takes; the last carries the list of their sticks.
pub fn plates(plan: &Plan, show: Show) -> Vec<Scene> {
    let longest = plan.sticks.iter().filter_map(|s| whole(plan, s)).fold(0.0, f64::max);
    if plan.sticks.is_empty() || longest <= 0.0 {
        return Vec::new();
    }
    let parts = parts(plan);
    let scale = draft::scale_to_fit(longest, 1.0, (PAPER.0 - 2.0, PAPER.1));
    let mut plates: Vec<Scene> = Vec::new();
    let mut y = PAPER.1;
    for (n, stick) in plan.sticks.iter().enumerate() {
        let needs = HEAD + breadth(plan, stick) / scale + BETWEEN;
        if y + needs > PAPER.1 {
            y = turn(&mut plates, plan, scale, show);
        }
        if let Some(scene) = plates.last_mut() {
            y = board(scene, plan, &parts, n, scale, show, y);
        }
    }
    let table = table(plan, &parts, show);
    let mut from = 0;
    while from < table.rows.len() {
        let mut fits = table.rows_in(from, PAPER.1 - y);
        if fits < 3.min(table.rows.len() - from) {
            y = turn(&mut plates, plan, scale, show);
            fits = table.rows_in(from, PAPER.1 - y).max(1);
        }
        let to = (from + fits).min(table.rows.len());
        if let Some(scene) = plates.last_mut() {
            y += table.draw(scene, at(0.0, y), from..to);
        }
        from = to;
    }
    plates
}

/// A new plate with its heading; where its first board begins.
fn turn(plates: &mut Vec<Scene>, plan: &Plan, scale: f64, show: Show) -> f64 {
    let (name, title) = match plates.len() {
        0 => ("boards".to_string(), "Boards".to_string()),
        n => (format!("boards-sheet-{}", n + 1), "Boards, continued".to_string()),
    };
    let mut scene = Scene::new(name, title.clone(), PAPER.0, PAPER.1);
    scene.scale = Some(scale);
    scene.description =
        "Every board of lumber with its sticks, from its left end and its squared edge.".to_string();
    let subject = if plan.sticks.iter().flat_map(|s| &s.pieces).any(|p| p.y.is_positive()) {
        "The squared edge lies at the bottom: rip from it. Crosscut from the left end."
    } else {
        "Crosscut from the left end."
    };
    let right = format!("{} · {}", draft::scale_words(scale), show.unit());
    let top = draft::head(&mut scene, &title, subject, &right) + 3.0;
    plates.push(scene);
    top
}

/// Length of a board as bought.
fn whole(plan: &Plan, stick: &Stick) -> Option<f64> {
    let kind = plan.boards.as_ref()?.lumber.iter().find(|kind| kind.name == stick.lumber)?;
    Some(kind.length.to_mm())
}

/// Its breadth; plain lengths have none of their own and are drawn as narrow bars.
fn breadth(plan: &Plan, stick: &Stick) -> f64 {
    let kind = plan.boards.as_ref().and_then(|b| b.lumber.iter().find(|kind| kind.name == stick.lumber));
    kind.map_or(0.0, |kind| kind.width.to_mm()).max(40.0)
}

/// One board with its heading; how far down it reaches.
fn board(scene: &mut Scene, plan: &Plan, parts: &[Part], n: usize, scale: f64, show: Show, top: f64) -> f64 {
    let stick = &plan.sticks[n];
    let (length, wide) = (whole(plan, stick).unwrap_or(0.0), breadth(plan, stick));
    let size = lettering::LABEL;
    let alike = if stick.times == 1 { "cut one".to_string() } else { format!("cut {}", stick.times) };
    let heading = format!("Board {}: {alike} of {}", n + 1, stick.lumber);
    let left = format!("{} left", show.bare(*stick.offcut));
    let room = length / scale - Face::Medium.width(&left, size) - 4.0;
    scene.words(Role::Label, 0.0, top + 3.6, size, Face::Bold, Face::Bold.fit(&heading, size, room));
    if stick.offcut.is_positive() {
        scene.words_to(Role::Note, length / scale, top + 3.6, size, Face::Medium, left);
    }
    let y = top + HEAD;
    let sheet = [0.0, y, length / scale, y + wide / scale];
    let path = |b: Bounds| Path::rectangle(at(b[0], b[1]), b[2] - b[0], b[3] - b[1]);
    scene.draw(Role::Sheet, path(sheet));
    scene.draw(Role::Hatch, draft::hatch(&draft::corners(sheet), Angle::degrees(45.0), 1.1));
    let mut labels = Room::default();
    let mut drawn = Vec::new();
    for piece in &stick.pieces {
        // A plain length takes the whole bar, whatever its section is.
        let across = if piece.y.is_positive() { piece.width.to_mm() } else { wide };
        let low = sheet[3] - piece.y.to_mm() / scale;
        let x = piece.x.to_mm() / scale;
        let b = [x, low - across / scale, x + piece.length.to_mm() / scale, low];
        let index = parts.iter().position(|p| p.is(piece)).unwrap_or(0);
        let name = format!("{}: {}", letter(plan, index), piece.part);
        scene.draw_named(Role::Piece, path(b), name);
        drawn.push((b, letter(plan, index), show.bare(*piece.length)));
    }
    let pieces: Vec<Bounds> = drawn.iter().map(|(b, _, _)| *b).collect();
    let mut homeless = Vec::new();
    for (b, letter, length) in drawn {
        let tries = [(Some(&length), lettering::LABEL), (Some(&length), lettering::SMALL)];
        let done = tries.into_iter().any(|(words, size)| {
            rip::place_label(scene, &mut labels, b, &letter, words.map(String::as_str), size)
        });
        if !done {
            homeless.push((b, letter, length));
        }
    }
    // Sticks too narrow for lettering that can be read in print have it beside them: on what is left of the board, or in the gap
    // below it; with their length where there is room for that, too.
    let mut lines = if homeless.is_empty() { Vec::new() } else { legible::firm_lines(scene) };
    let inside =
        |p: &Bounds| p[0] > sheet[0] && p[1] > sheet[1] && p[2] < sheet[2] && p[3] < sheet[3] + BETWEEN;
    for (b, letter, length) in homeless {
        let others: Vec<Bounds> = pieces.iter().copied().filter(|other| *other != b).collect();
        let full = format!("{letter} {length}");
        // Clear of other sticks and of all edges, if there is such a place: a length on one of them would seem to be its own.
        let tries = [(&full, others.as_slice()), (&letter, &others), (&full, &[]), (&letter, &[])];
        let placed = tries.into_iter().any(|(words, clear_of)| {
            let mut room = labels.clone();
            clear_of.iter().for_each(|other| room.take(*other));
            let done = rip::call_out(scene, &mut room, &mut lines, b, words, &inside, None);
            if let (true, Some(place)) = (done, room.boxes().last()) {
                labels.take(*place);
            }
            done
        });
        if !placed {
            let ring = Some(lettering::SMALL);
            rip::call_out(scene, &mut labels, &mut Vec::new(), b, &letter, &inside, ring);
        }
    }
    sheet[3] + BETWEEN
}

fn table(plan: &Plan, parts: &[Part], show: Show) -> Table {
    let mut table = Table::new(
        "Sticks on these boards",
        vec![
            Column::words("", 8.0),
            Column::words("part", 70.0),
            Column::figures(
                format!("length × width of the lane, {}", show.unit()),
                if show.both { 60.0 } else { 44.0 },
            ),
            Column::words("", 30.0),
            Column::figures("sticks", 14.0),
        ],
    );
    for (index, part) in parts.iter().enumerate() {
        let layers = if part.layers > 1 { format!("resawn into {}", part.layers) } else { String::new() };
        table.row([
            letter(plan, index),
            part.name.clone(),
            if part.ripped { show.size(part.length, part.width) } else { show.bare(part.length) },
            layers,
            part.count.to_string(),
        ]);
    }
    table
}
