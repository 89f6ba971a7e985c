//! How a slab is glued up and cut: every strip in its place along the stagger, then every band with its number.

use stripwright_plan::plan::{Layer, Plan, Slab, SlabPiece, Top};
use stripwright_plan::wording::count;
use stripwright_plan::words::letter;
use stripwright_units::Length;

use crate::draft::{self, Bounds, Room, Show, lettering};
use crate::face::{self, PAPER};
use crate::font::{CAP, Face};
use crate::legible;
use crate::scene::{Path, Point, Role, Scene, at};

/// Room left of a slab for its strips' names, at least.
const LEFT: f64 = 36.0;
/// Where the strips' lengths begin within it.
const LENGTHS: f64 = 18.0;
/// The most height a slab takes.
const TALLEST: f64 = 150.0;

/// A slab on the bench: which strip lies where, how far each is slid, where the sections of the glue-up end.
pub fn glue_up(plan: &Plan, top: usize, index: usize, show: Show) -> Option<Scene> {
    let (own, slab) = find(plan, top, index)?;
    let ground = Ground::new(slab)?;
    let mut scene = Scene::new(
        format!("top-{}-slab-{}", top + 1, index + 1),
        format!("{}: glue-up", slab.name),
        PAPER.0,
        0.0,
    );
    let strips: usize = slab.layers.len();
    scene.description = format!(
        "{} {} on edge, face to face{}{}.",
        times(slab.times),
        count(strips as u64, "strip", "strips"),
        if slab.stagger.nm() != 0 && ground.staggered_evenly(slab) {
            format!(", each slid {} past the one below", show.full(slab.stagger.abs()))
        } else {
            String::new()
        },
        match slab.parts.len() {
            0 | 1 => String::new(),
            n => format!(", glued and planed as {n} parts that are joined last"),
        }
    );
    let frame = ground.head(&mut scene, names_room(slab, show), show);
    let b = frame.bounds();
    let kinds = face::kinds(plan, own);
    for (i, layer) in slab.layers.iter().enumerate() {
        let y = ground.across[i];
        let (x, length) = (layer.start, layer.length.to_mm());
        let words = format!("Strip {}: {}", i + 1, layer.id);
        scene.draw_named(
            wood(plan, &kinds, layer),
            frame.rectangle(x, y, length, layer.pitch.to_mm()),
            words,
        );
    }
    // The line along which the near ends lie, as it is drawn on the bench before the first strip.
    let slid = slab.stagger.nm() != 0 && strips > 1 && ground.staggered_evenly(slab);
    if slid {
        let last = strips - 1;
        let run = (slab.layers[last].start - slab.layers[0].start) / ground.across[last].max(1e-9);
        let from = frame.at(slab.layers[0].start, 0.0);
        let to = frame.at(slab.layers[0].start + ground.breadth * run, ground.breadth);
        let beyond = |p: Point, q: Point, t: f64| at(p.x + (q.x - p.x) * t, p.y + (q.y - p.y) * t);
        scene.draw(Role::Centre, Path::line(beyond(from, to, -0.04), beyond(from, to, 1.04)));
    }
    sections(&mut scene, own, slab, &ground, &frame);
    let named = strip_names(&mut scene, plan, slab, &ground, &frame, show);
    let lowest = b[3];
    let length = show.bare(slab.length.nearest_to(*plan.mark));
    draft::dimension_across(&mut scene, b[0], b[2], lowest + 6.5, lowest, &length);
    draft::dimension_up(&mut scene, b[1], b[3], b[2] + 6.5, b[2], &show.bare(*slab.breadth));
    let mut y = (lowest + 9.5).max(named + 4.0);
    y += face::woods(&mut scene, &kinds, at(0.0, y));
    let mut notes = Vec::new();
    if slid {
        notes.push(format!(
            "Chain line: stagger line. Each strip's near end lies on it: {} along for every strip across.",
            show.full(slab.stagger.abs())
        ));
    } else if slab.layers.windows(2).any(|w| (w[1].start - w[0].start).abs() > 0.01) {
        notes.push(
            "The strips are as long as their own bands need: their near ends stand as drawn, at the places that the \
             step lists."
                .to_string(),
        );
    }
    if slab.parts.len() > 1 {
        notes.push(
            "Thick: end of a part. Each part is glued up and planed by itself; the parts are joined afterwards."
                .to_string(),
        );
    }
    if let Some(section) = section(own).filter(|section| slab.parts.iter().any(|strips| strips > section)) {
        notes.push(format!(
            "Dashed: end of a section. Glue at most {section} strips within the open time, let them set, then join the \
             sections{}.",
            if slab.parts.len() > 1 { " of a part" } else { "" }
        ));
    }
    for note in notes {
        for line in Face::Medium.wrap(&note, lettering::LABEL, PAPER.0) {
            y += 4.6;
            scene.words(Role::Label, 0.0, y, lettering::LABEL, Face::Medium, line);
        }
    }
    scene.height = y + 2.0;
    Some(scene)
}

/// The bands of a slab: where the saw goes, which number each takes, which are turned over, which are spare.
pub fn bands(plan: &Plan, top: usize, index: usize, show: Show) -> Option<Scene> {
    let (own, slab) = find(plan, top, index)?;
    let ground = Ground::new(slab)?;
    if slab.pieces.is_empty() {
        return None;
    }
    let (one, many) = own.piece();
    let title = format!("{}: cut into {many}", slab.name);
    let mut scene = Scene::new(format!("top-{}-bands-{}", top + 1, index + 1), title, PAPER.0, 0.0);
    let turned = slab.pieces.iter().filter(|p| p.turned).count();
    let spare = slab.pieces.iter().filter(|p| p.band.is_none()).count();
    scene.description = format!(
        "{} {}{}{}{}.",
        times(slab.times),
        count((slab.pieces.len() - spare) as u64, one, many),
        sizes(own, show),
        match turned {
            0 => String::new(),
            n => format!("; turn over {n}"),
        },
        match spare {
            0 => String::new(),
            n => format!(", and {n} spare"),
        }
    );
    let frame = ground.head(&mut scene, LEFT, show);
    let b = frame.bounds();
    for (i, layer) in slab.layers.iter().enumerate() {
        let path = frame.rectangle(layer.start, ground.across[i], layer.length.to_mm(), layer.pitch.to_mm());
        scene.draw(Role::Scrap, path);
    }
    let mut numbers = Numbers::on(&scene);
    for piece in &slab.pieces {
        let Some(wood) = ground.wood(slab, piece) else { continue };
        let on = |p: &[f64; 2]| frame.at(p[0], p[1]);
        let mut laminations = Path::default();
        for cell in &wood.cells {
            laminations.add(Path::polygon(&cell.iter().map(on).collect::<Vec<_>>()));
        }
        let what = match piece.band {
            Some(n) => format!("{one} {n}{}", if piece.turned { ", turn over" } else { "" }),
            None => "spare".to_string(),
        };
        scene.draw_named(if piece.turned { Role::Tint } else { Role::Ground }, laminations.clone(), what);
        scene.draw(Role::Hatch, laminations);
        for (from, to) in &wood.cuts {
            scene.draw(Role::Edge, Path::line(on(from), on(to)));
        }
        if let Some([a, b, c]) = piece.trim {
            let ends = crossed(&wood.whole, [a, b, c]);
            if let [from, to] = &ends[..] {
                scene.draw(Role::Hidden, Path::line(on(from), on(to)));
            }
        }
        let corners: Vec<Point> = wood.whole.iter().map(on).collect();
        let words = piece.band.map_or("S".to_string(), |n| n.to_string());
        numbers.put(&mut scene, &corners, on(&wood.middle), &words, piece.turned);
    }
    let mut y = b[3] + 2.0;
    if one == "wedge" {
        y += points(&mut scene, plan, slab, &frame, show);
    }
    let mut explain = |sign: &str, turned: bool, words: &str| {
        let (middle, size) = (y + 3.6, lettering::LABEL);
        sign_at(&mut scene, at(4.0, middle), sign, size, turned);
        scene.words(Role::Label, 9.0, middle + size * CAP / 2.0, size, Face::Medium, words);
        y += 5.4;
    };
    if turned > 0 {
        explain(
            "1",
            true,
            "tinted, number in a ring: turn over, half a turn about its own length, before it is glued in",
        );
        if turned + spare < slab.pieces.len() {
            explain("1", false, "number without a ring: glue in as it is cut");
        }
    }
    if spare > 0 {
        explain("S", false, "spare");
    }
    if slab.pieces.iter().any(|p| p.trim.is_some()) {
        explain("- -", false, "cut square, at the end that comes to lie on the middle line");
    }
    scene.height = y + 2.0;
    Some(scene)
}

/// How large the pieces are that a slab is cut into, and at which angle: as their caption goes on.
fn sizes(top: &Top, show: Show) -> String {
    let pattern = &top.pattern;
    let degrees = crate::writer::number;
    match (&pattern.band, &pattern.block, pattern.angle) {
        (Some(band), _, Some(angle)) => {
            format!(
                " of {}, measured square to the cut, at {}° to the strips",
                show.full(**band),
                degrees(angle)
            )
        }
        (Some(band), ..) => format!(" of {}, measured square to the cut", show.full(**band)),
        (None, Some([width, length]), _) => format!(" of {} {}", show.size(**length, **width), show.unit()),
        (None, None, _) if top.piece().0 == "wedge" && top.bands > 0 => {
            format!(" of {}°", degrees(360.0 / f64::from(top.bands)))
        }
        _ => String::new(),
    }
}

/// Figures below a slab of wedges: from the strips' end to the first wedge's point, and from there to where the breadth
/// between its sides is told; or, of wedges across the strips, the broad end of the next one. How much room they take.
fn points(scene: &mut Scene, plan: &Plan, slab: &Slab, frame: &Frame, show: Show) -> f64 {
    let wedges = slab.wedges();
    let Some(first) = wedges.first() else { return 0.0 };
    let mut lines = vec![(first.end, first.point[0])];
    if first.along {
        lines.push((first.point[0], first.wide[0][0]));
    } else {
        let [p, q] = wedges.get(1).map_or([first.point; 2], |next| next.wide);
        lines.push((p[0].min(q[0]), p[0].max(q[0])));
    }
    lines.retain(|(from, to)| to - from > 0.01);
    let (low, step) = (frame.bounds()[3], 7.0);
    for (n, (from, to)) in (1..).zip(&lines) {
        let words = show.bare(Length::nearest_mm(to - from).nearest_to(*plan.mark));
        let place = |x: f64| frame.at(x, 0.0).x;
        draft::dimension_beside(scene, place(*from), place(*to), low + step * f64::from(n), low, &words);
    }
    step * lines.len() as f64 + 2.0
}

fn find(plan: &Plan, top: usize, index: usize) -> Option<(&Top, &Slab)> {
    let own = plan.tops.get(top)?;
    Some((own, own.slabs.get(index)?))
}

fn times(n: u32) -> String {
    if n == 1 { "One slab:".to_string() } else { format!("{n} slabs alike:") }
}

/// How a strip is filled: with the tone of its wood where the face shows several.
fn wood(plan: &Plan, kinds: &[&str], layer: &Layer) -> Role {
    if kinds.len() < 2 {
        return Role::Piece;
    }
    let sheets = plan.demands.iter().find(|d| d.id == layer.id).map(|d| d.sheets.as_slice());
    let kind = sheets.unwrap_or_default().iter().find_map(|name| kinds.iter().position(|kind| kind == name));
    kind.map_or(Role::Piece, |kind| face::tone(kind, 0))
}

/// How many strips are glued within the open time.
fn section(top: &Top) -> Option<u32> {
    top.glue.first().map(|g| g.section).filter(|n| *n > 0)
}

/// A slab's strips in their places, in its own millimetres.
struct Ground {
    left: f64,
    length: f64,
    breadth: f64,
    /// How far across each strip begins.
    across: Vec<f64>,
}

/// A slab's place on the paper.
struct Frame {
    corner: Point,
    scale: f64,
    left: f64,
    length: f64,
    breadth: f64,
}

impl Frame {
    fn at(&self, x: f64, y: f64) -> Point {
        at(self.corner.x + (x - self.left) / self.scale, self.corner.y + (self.breadth - y) / self.scale)
    }

    fn rectangle(&self, x: f64, y: f64, length: f64, pitch: f64) -> Path {
        let corner = self.at(x, y + pitch);
        Path::rectangle(corner, length / self.scale, pitch / self.scale)
    }

    fn bounds(&self) -> Bounds {
        [
            self.corner.x,
            self.corner.y,
            self.corner.x + self.length / self.scale,
            self.corner.y + self.breadth / self.scale,
        ]
    }
}

impl Ground {
    fn new(slab: &Slab) -> Option<Ground> {
        let left = slab.layers.iter().map(|l| l.start).reduce(f64::min)?;
        let right = slab.layers.iter().map(|l| l.start + l.length.to_mm()).reduce(f64::max)?;
        let mut across = Vec::with_capacity(slab.layers.len());
        let mut breadth = 0.0;
        for layer in &slab.layers {
            across.push(breadth);
            breadth += layer.pitch.to_mm();
        }
        (right > left && breadth > 0.0).then_some(Ground { left, length: right - left, breadth, across })
    }

    /// True when all near ends lie on one line.
    fn staggered_evenly(&self, slab: &Slab) -> bool {
        let step = slab.stagger.to_mm();
        slab.layers.windows(2).all(|w| (w[1].start - w[0].start - step).abs() < 0.01)
    }

    /// Writes the plate's head and finds the slab's place below it, `left` from the paper's edge.
    fn head(&self, scene: &mut Scene, left: f64, show: Show) -> Frame {
        let fit = |aside: f64| {
            draft::scale_to_fit(self.length, self.breadth, (PAPER.0 - left - 10.0 - aside, TALLEST))
        };
        // A slab too narrow for its breadth's figure to stand along it has the figure beside it.
        let figure = Face::Medium.width(&show.bare(Length::nearest_mm(self.breadth)), lettering::LABEL);
        let scale = if self.breadth / fit(0.0) > figure { fit(0.0) } else { fit(figure) };
        scene.scale = Some(scale);
        let (title, subject) = (scene.title.clone(), scene.description.clone());
        let right = format!("{} · {}", draft::scale_words(scale), show.unit());
        let y = draft::head(scene, &title, &subject, &right) + 4.0;
        Frame { corner: at(left, y), scale, left: self.left, length: self.length, breadth: self.breadth }
    }

    /// Which wood a piece is made of; nothing where no strip crosses it whole.
    fn wood(&self, slab: &Slab, piece: &SlabPiece) -> Option<Wood> {
        // A piece that is open along the strips, such as a wedge with its laminations along it, ends with the strips.
        let open = opens_along(&piece.sides);
        let beyond = if open { 0.0 } else { self.length };
        let (l, r) = (self.left - beyond, self.left + self.length + beyond);
        let mut cells = Vec::new();
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for (layer, &y) in slab.layers.iter().zip(&self.across) {
            let top = y + layer.pitch.to_mm();
            let whole = clip(rectangle(l, y, r, top), &piece.sides);
            let own = clip(rectangle(layer.start, y, layer.start + layer.length.to_mm(), top), &piece.sides);
            // A strip belongs to a piece when it crosses it from cut to cut; what only reaches in is waste. A corner
            // that the marking allowance rounds away does not count.
            if own.len() >= 3 && (open || area(&own) > 0.97 * area(&whole)) {
                low = low.min(y);
                high = high.max(top);
                cells.push(own);
            }
        }
        if cells.is_empty() {
            return None;
        }
        let whole = clip(rectangle(l, low, r, high), &piece.sides);
        // A cut is a side of the piece from its first lamination to its last.
        let mut cuts = Vec::new();
        for [a, b, c] in &piece.sides {
            let on: Vec<&[f64; 2]> =
                whole.iter().filter(|p| (a * p[0] + b * p[1] - c).abs() < 1e-6 * (1.0 + c.abs())).collect();
            if let [p, .., q] = on[..] {
                cuts.push((*p, *q));
            }
        }
        let middle = if open { mean(cells.concat()) } else { mean(whole.clone()) };
        Some(Wood { cells, whole, middle, cuts })
    }
}

/// The wood of a piece as it lies in its slab.
struct Wood {
    /// Its laminations' shares.
    cells: Vec<Vec<[f64; 2]>>,
    /// Its shape from first lamination to last.
    whole: Vec<[f64; 2]>,
    /// Where its number stands best.
    middle: [f64; 2],
    /// Where the saw goes.
    cuts: Vec<([f64; 2], [f64; 2])>,
}

/// Whether half planes leave a piece that runs on for ever along the strips, one way.
fn opens_along(sides: &[[f64; 3]]) -> bool {
    let closes = |way: f64| sides.iter().any(|[a, ..]| a * way > 1e-9);
    !(closes(1.0) && closes(-1.0))
}

fn rectangle(l: f64, low: f64, r: f64, high: f64) -> Vec<[f64; 2]> {
    vec![[l, low], [r, low], [r, high], [l, high]]
}

fn mean(points: Vec<[f64; 2]>) -> [f64; 2] {
    let n = points.len().max(1) as f64;
    [0, 1].map(|axis| points.iter().map(|p| p[axis]).sum::<f64>() / n)
}

fn area(corners: &[[f64; 2]]) -> f64 {
    let twice: f64 = corners
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let q = corners[(i + 1) % corners.len()];
            p[0] * q[1] - q[0] * p[1]
        })
        .sum();
    twice.abs() / 2.0
}

/// Where a line crosses a convex polygon.
fn crossed(corners: &[[f64; 2]], [a, b, c]: [f64; 3]) -> Vec<[f64; 2]> {
    let over = |p: &[f64; 2]| a * p[0] + b * p[1] - c;
    let mut ends = Vec::new();
    for (i, p) in corners.iter().enumerate() {
        let q = &corners[(i + 1) % corners.len()];
        let (dp, dq) = (over(p), over(q));
        if (dp < 0.0) != (dq < 0.0) {
            let t = dp / (dp - dq);
            ends.push([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]);
        }
    }
    ends
}

/// What half planes leave of a convex polygon.
fn clip(mut corners: Vec<[f64; 2]>, sides: &[[f64; 3]]) -> Vec<[f64; 2]> {
    for [a, b, c] in sides {
        let over = |p: &[f64; 2]| a * p[0] + b * p[1] - c;
        let mut kept = Vec::with_capacity(corners.len() + 1);
        for (i, p) in corners.iter().enumerate() {
            let q = &corners[(i + 1) % corners.len()];
            let (dp, dq) = (over(p), over(q));
            if dp <= 0.0 {
                kept.push(*p);
            }
            if (dp < 0.0 && dq > 0.0) || (dp > 0.0 && dq < 0.0) {
                let t = dp / (dp - dq);
                kept.push([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]);
            }
        }
        corners = kept;
    }
    corners
}

/// Lines where a section of the glue-up ends, and heavier ones where a part ends that is planed by itself.
fn sections(scene: &mut Scene, top: &Top, slab: &Slab, ground: &Ground, frame: &Frame) {
    let across = |n: usize| ground.across.get(n).copied();
    let line = |scene: &mut Scene, role: Role, n: usize| {
        if let (Some(y), Some(layer)) = (across(n), slab.layers.get(n)) {
            let (from, to) = (frame.at(layer.start, y), frame.at(layer.start + layer.length.to_mm(), y));
            let (low, high) = (from.x - 3.0, to.x + 3.0);
            let (low, high) = (low.max(frame.bounds()[0] - 2.0), high.min(frame.bounds()[2] + 2.0));
            scene.draw(role, Path::line(at(low, from.y), at(high, from.y)));
        }
    };
    let mut ends = 0;
    for part in slab.parts.iter().take(slab.parts.len().saturating_sub(1)) {
        ends += *part as usize;
        line(scene, Role::Outline, ends);
    }
    if let Some(section) = section(top) {
        let mut start = 0;
        for part in &slab.parts {
            let end = start + *part as usize;
            let mut n = start + section as usize;
            while n < end {
                // The strips' own edges would fill the gaps between the dashes.
                if let (Some(y), Some(layer)) = (across(n), slab.layers.get(n)) {
                    let Point { x, y } = frame.at(layer.start, y);
                    let long = layer.length.to_mm() / frame.scale;
                    scene.draw(Role::Ground, Path::rectangle(at(x, y - 0.3), long, 0.6));
                }
                line(scene, Role::Hidden, n);
                n += section as usize;
            }
            start = end;
        }
    }
}

/// From a strip's near end to the bracket that holds it together with others.
const BRACKET: f64 = 1.2;

/// Room that the names of a slab's strips take at its left.
fn names_room(slab: &Slab, show: Show) -> f64 {
    // A tenth more for viewers that take wider letters than the drawing's own.
    let wide = |l: &Layer| LENGTHS + 1.1 * Face::Medium.width(&show.bare(*l.length), lettering::SMALL) + 5.4;
    slab.layers.iter().map(wide).fold(LEFT, f64::max)
}

/// Which strips are alike, at the left of the slab: `1–5  C 1062.5`, with a leader to the strip or to a bracket along several. Returns how
/// far down the paper that reaches.
fn strip_names(
    scene: &mut Scene,
    plan: &Plan,
    slab: &Slab,
    ground: &Ground,
    frame: &Frame,
    show: Show,
) -> f64 {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for (i, layer) in slab.layers.iter().enumerate() {
        match runs.last_mut() {
            Some((first, last)) if slab.layers[*first].id == layer.id => *last = i,
            _ => runs.push((i, i)),
        }
    }
    // From the top of the paper down: the last strip comes first.
    runs.reverse();
    let ends: Vec<Point> = runs.iter().map(|run| near_end(slab, ground, frame, *run)).collect();
    let wanted: Vec<f64> = ends.iter().map(|p| p.y).collect();
    let b = frame.bounds();
    // As far apart as there is room, and never so near that they touch.
    let gap = ((b[3] - b[1]) / wanted.len() as f64).clamp(2.6, 4.0);
    let overflow = (wanted.len() as f64 * gap - (b[3] - b[1])).max(0.0);
    let above = (overflow / 2.0).min(3.0);
    let Some(places) = draft::spread(&wanted, gap, b[1] - above, b[3] + overflow - above) else {
        return b[3];
    };
    let lowest = places.last().copied().unwrap_or(b[3]);
    for ((run, end), y) in runs.iter().zip(ends).zip(places) {
        let layer = &slab.layers[run.0];
        let numbers =
            if run.0 == run.1 { (run.0 + 1).to_string() } else { format!("{}–{}", run.0 + 1, run.1 + 1) };
        let size = lettering::SMALL;
        let baseline = y + size * CAP / 2.0;
        scene.words(Role::Note, 0.0, baseline, size, Face::Medium, numbers);
        let name = letter(plan, &layer.id);
        let name = Face::Bold.fit(&name, size, 7.0);
        scene.words(Role::Label, 10.5, baseline, size, Face::Bold, name);
        scene.words(Role::Label, LENGTHS, baseline, size, Face::Medium, show.bare(*layer.length));
        let (from, bend) = (at(b[0] - 4.6, y), at(b[0] - 2.2, end.y));
        scene.draw(Role::Leader, Path::open(&[from, bend, end]));
        if run.0 < run.1 {
            scene.draw(Role::Leader, bracket(slab, ground, frame, *run));
        }
    }
    lowest
}

/// Where the leader to a run of strips ends: at the near end of its middle strip, or on the bracket there.
fn near_end(slab: &Slab, ground: &Ground, frame: &Frame, (first, last): (usize, usize)) -> Point {
    let middle = (first + last) / 2;
    let half = slab.layers[middle].pitch.to_mm() / 2.0;
    let end = frame.at(slab.layers[middle].start, ground.across[middle] + half);
    if first == last {
        return end;
    }
    let corners = envelope(slab, (first, last));
    at(
        (frame.at(corners[middle - first], 0.0).x + frame.at(corners[middle - first + 1], 0.0).x) / 2.0
            - BRACKET,
        end.y,
    )
}

/// How far left the strips of a run reach at its lower face, at every glue line in it, and at its upper face: a line through these
/// passes all near ends without cutting a strip.
fn envelope(slab: &Slab, (first, last): (usize, usize)) -> Vec<f64> {
    let starts: Vec<f64> = slab.layers[first..=last].iter().map(|layer| layer.start).collect();
    let ends = [starts.first(), starts.last()].map(|end| end.copied());
    let between = starts.windows(2).map(|pair| pair[0].min(pair[1]));
    ends[0].into_iter().chain(between).chain(ends[1]).collect()
}

/// A bracket along the near ends of a run of strips.
fn bracket(slab: &Slab, ground: &Ground, frame: &Frame, (first, last): (usize, usize)) -> Path {
    // Short of the run's faces, so that one bracket ends before the next begins.
    const SHORT: f64 = 0.25;
    let corners = envelope(slab, (first, last));
    let upper = ground.across[last] + slab.layers[last].pitch.to_mm();
    let heights = ground.across[first..=last].iter().copied().chain([upper]);
    let mut line: Vec<Point> =
        corners.iter().zip(heights).map(|(x, y)| frame.at(*x, y)).map(|p| at(p.x - BRACKET, p.y)).collect();
    if let [low, .., high] = &mut line[..] {
        low.y -= SHORT;
        high.y += SHORT;
        let (from, to) = (at(low.x + BRACKET * 0.7, low.y), at(high.x + BRACKET * 0.7, high.y));
        line.insert(0, from);
        line.push(to);
    }
    Path::open(&line)
}

/// The mean of a polygon's corners.
pub(crate) fn middle_of(corners: &[Point]) -> Point {
    let n = corners.len().max(1) as f64;
    at(corners.iter().map(|p| p.x).sum::<f64>() / n, corners.iter().map(|p| p.y).sum::<f64>() / n)
}

/// A number as it is pencilled on a piece: in a ring where the piece is turned over, without one where it is not.
pub(crate) fn sign_at(scene: &mut Scene, centre: Point, words: &str, size: f64, turned: bool) {
    if turned {
        draft::ring(scene, centre, words, size, false);
    } else {
        draft::plain(scene, centre, words, size);
    }
}

/// Where the numbers of a drawing's pieces may stand: clear of one another and, if they can, of its firm lines.
pub(crate) struct Numbers {
    room: Room,
    lines: Vec<(Point, Point)>,
}

impl Numbers {
    /// Of what is drawn so far.
    pub(crate) fn on(scene: &Scene) -> Numbers {
        Numbers::clear_of(legible::firm_lines(scene))
    }

    /// Clear of these lines if they can.
    pub(crate) fn clear_of(lines: Vec<(Point, Point)>) -> Numbers {
        Numbers { room: Room::default(), lines }
    }

    /// Keeps a box free.
    pub(crate) fn take(&mut self, bounds: Bounds) {
        self.room.take(bounds);
    }

    /// A number in a convex piece, at a place or as near to it as there is room; false where there is none.
    pub(crate) fn put(
        &mut self,
        scene: &mut Scene,
        corners: &[Point],
        place: Point,
        words: &str,
        turned: bool,
    ) -> bool {
        const STEPS: [f64; 11] = [0.0, 1.5, -1.5, 3.0, -3.0, 5.0, -5.0, 8.0, -8.0, 12.0, -12.0];
        // Above and below first: bands are numbered along one line.
        let around = || STEPS.iter().flat_map(|dx| STEPS.map(|dy| at(place.x + dx, place.y + dy)));
        let free = |centre: Point, size: f64| {
            let b = draft::ring_bounds(centre, words, size);
            draft::corners(b).iter().all(|p| holds(corners, *p)) && self.room.is_free(b, 0.3)
        };
        let clear = |centre: Point, size: f64| {
            let b = draft::ring_bounds(centre, words, size);
            self.lines.iter().all(|(from, to)| legible::within(*from, *to, b).is_none())
        };
        let sizes = [lettering::LARGE, lettering::LABEL, lettering::SMALL, 2.0];
        let all = || sizes.iter().flat_map(|size| around().map(|centre| (centre, *size)));
        let found = all()
            .find(|(centre, size)| free(*centre, *size) && clear(*centre, *size))
            .or_else(|| all().find(|(centre, size)| free(*centre, *size)));
        let Some((centre, size)) = found else { return false };
        self.room.take(draft::ring_bounds(centre, words, size));
        sign_at(scene, centre, words, size, turned);
        true
    }
}

/// Whether a convex polygon holds a point.
fn holds(corners: &[Point], p: Point) -> bool {
    let side = |a: Point, b: Point| (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x);
    let signs = corners.iter().enumerate().map(|(i, a)| side(*a, corners[(i + 1) % corners.len()]));
    let (mut some_left, mut some_right) = (false, false);
    for s in signs {
        some_left |= s > 0.0;
        some_right |= s < 0.0;
    }
    !(some_left && some_right)
}
