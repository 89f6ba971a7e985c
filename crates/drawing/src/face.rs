//! The finished face of a top, exactly as its cells lie, clipped to its outline.
//!
//! Laminations take two tones in turn, along the whole zigzag of a chevron, and within each the plies are shown as
//! fine stripes. How many plies a sheet has is not known to the plan: the stripes are an indication, the cells exact.

use std::collections::BTreeMap;

use stripwright_plan::plan::{Cell, Outline, Plan, Top};
use stripwright_plan::words::capital;
use stripwright_units::Length;

use crate::draft::{self, Show};
use crate::scene::{Mark, Path, Point, Role, Scene, Shape, at};

/// Paper that a plate in portrait fills at most, on A4 and Letter alike.
pub const PAPER: (f64, f64) = (186.0, 250.0);

/// How many plies are indicated in a lamination: an odd number, as all plywood has, and few enough to print.
const PLIES: usize = 7;

/// How close ply lines come on paper, in millimetres, before they would drown the tone under them.
const CLOSEST_PLIES: f64 = 0.35;

/// How much of a face is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Detail {
    /// Cells, plies and seams, as the finished top looks.
    Full,
    /// Cells only, for small pictures.
    Small,
}

/// The plate of a top's face, with its main dimensions.
pub fn plate(plan: &Plan, index: usize, show: Show) -> Option<Scene> {
    let top = plan.tops.get(index)?;
    let (length, width) = size(top);
    // Upright paper for every outline: the first face shares a page with the job's title.
    let paper = PAPER;
    let mut scene = Scene::new(
        format!("top-{}-face", index + 1),
        format!("{}: the finished face", top.name),
        paper.0,
        0.0,
    );
    let scale = draft::scale_to_fit(length, width, (paper.0 - 24.0, paper.1 - 48.0));
    scene.scale = Some(scale);
    scene.description = describe(top, show);
    let right = format!("{} · {}", draft::scale_words(scale), show.unit());
    let (title, subject) = (scene.title.clone(), scene.description.clone());
    let top_of = draft::head(&mut scene, &title, &subject, &right) + 4.0 + radius_room(top);
    let (w, h) = (length / scale, width / scale);
    let centre = at(paper.0 / 2.0 - 4.0, top_of + h / 2.0);
    draw(&mut scene, plan, top, centre, scale, Detail::Full);
    let overall = |mm: f64| show.bare(Length::nearest_mm(mm));
    let (left, right) = (centre.x - w / 2.0, centre.x + w / 2.0);
    let (upper, lower) = (centre.y - h / 2.0, centre.y + h / 2.0);
    if let Outline::Round { diameter } = &top.outline {
        let words = format!("Ø {}", show.bare(**diameter));
        draft::dimension_across(&mut scene, left, right, lower + 7.0, centre.y, &words);
    } else {
        draft::dimension_across(&mut scene, left, right, lower + 7.0, lower, &overall(length));
        draft::dimension_up(&mut scene, upper, lower, right + 8.0, right, &overall(width));
    }
    corner_radius(&mut scene, top, [left, upper, right], upper, show);
    let mut below = lower + 10.0;
    below += woods(&mut scene, &kinds(plan, top), at(left.max(0.0), below));
    scene.height = below;
    Some(scene)
}

/// The radius of a rectangle's corners, where they have one.
fn radius(top: &Top) -> Option<Length> {
    match &top.outline {
        Outline::Rectangle { radius, .. } if radius.is_positive() => Some(**radius),
        _ => None,
    }
}

/// Room above a drawing for its [`corner_radius`].
pub(crate) fn radius_room(top: &Top) -> f64 {
    if radius(top).is_some() { 5.5 } else { 0.0 }
}

/// The radius of rounded corners, above the drawing, with an arrow to the arc of the upper left one. The outline's left, upper and
/// right edges are given, and what the figure must stand above.
pub(crate) fn corner_radius(
    scene: &mut Scene,
    top: &Top,
    [left, upper, right]: [f64; 3],
    above: f64,
    show: Show,
) {
    let (Some(radius), Some(scale)) = (radius(top), scene.scale) else { return };
    // Half way round the arc, whose middle lies a radius in from both edges.
    let k = std::f64::consts::FRAC_1_SQRT_2;
    let inset = radius.to_mm() / scale * (1.0 - k);
    let tip = at(left + inset, upper + inset);
    // Square to the arc first, then straight up past what lies round the outline.
    let up = above - 2.5;
    let out = (tip.y - up).min(4.0);
    let (bend, foot) = (at(tip.x - out, tip.y - out), at(tip.x - out, up));
    scene.draw(Role::Dimension, Path::open(&[foot, bend, tip]));
    scene.draw(Role::Arrow, draft::arrowhead(tip, k, k, 2.5));
    let words = format!("R {}", show.bare(radius));
    let size = draft::lettering::LABEL;
    let wide = crate::font::Face::Medium.width(&words, size);
    let face = crate::font::Face::Medium;
    // To the right of the foot, unless that reaches the middle of the drawing.
    if foot.x + wide + 2.0 < (left + right) / 2.0 {
        scene.words(Role::Label, foot.x, foot.y - 0.9, size, face, words);
    } else {
        scene.words_to(Role::Label, foot.x, foot.y - 0.9, size, face, words);
    }
}

/// A small picture of a face alone, `side` millimetres at its longest.
pub fn picture(plan: &Plan, top: &Top, name: impl Into<String>, side: f64) -> Scene {
    let (length, width) = size(top);
    let scale = length.max(width) / (side - 2.0);
    let (w, h) = (length / scale + 2.0, width / scale + 2.0);
    let mut scene = Scene::new(name, top.name.clone(), w, h);
    scene.description = format!("Face of {}.", top.name);
    draw(&mut scene, plan, top, at(w / 2.0, h / 2.0), scale, Detail::Small);
    scene
}

/// One face of a [`contact_sheet`], with what is to be said of it.
#[derive(Clone, Debug)]
pub struct Sample<'a> {
    /// The plan that it belongs to.
    pub plan: &'a Plan,
    /// The top.
    pub top: &'a Top,
    /// Its name on the sheet.
    pub title: String,
    /// Short lines below the name: strips, glue, waste, money.
    pub lines: Vec<String>,
}

/// Several faces side by side, at one scale, to be compared.
pub fn contact_sheet(name: impl Into<String>, title: &str, samples: &[Sample<'_>]) -> Scene {
    use crate::draft::lettering;
    use crate::font::Face;
    const GAP: f64 = 7.0;
    let columns = samples.len().clamp(1, 3);
    let cell = (PAPER.0 - GAP * (columns - 1) as f64) / columns as f64;
    let mut scene = Scene::new(name, title, PAPER.0, 0.0);
    scene.description = format!("{} faces at one scale, side by side.", samples.len());
    let sizes = samples.iter().map(|s| size(s.top));
    let (length, width) = sizes.fold((1.0f64, 1.0f64), |m, s| (m.0.max(s.0), m.1.max(s.1)));
    let scale = draft::scale_to_fit(length, width, (cell, cell));
    scene.scale = Some(scale);
    let mut y = draft::head(&mut scene, title, "", &draft::scale_words(scale)) + 2.0;
    for row in samples.chunks(columns) {
        let high = row.iter().map(|s| size(s.top).1 / scale).fold(0.0, f64::max);
        let mut lowest = y + high;
        for (i, sample) in row.iter().enumerate() {
            let x = i as f64 * (cell + GAP);
            let (w, h) = (size(sample.top).0 / scale, size(sample.top).1 / scale);
            let centre = at(x + w / 2.0, y + high - h / 2.0);
            draw(&mut scene, sample.plan, sample.top, centre, scale, Detail::Small);
            let mut below = y + high + 6.0;
            let name = Face::Bold.fit(&sample.title, lettering::SUBTITLE, cell);
            scene.words(Role::Label, x, below, lettering::SUBTITLE, Face::Bold, name);
            for line in sample.lines.iter().flat_map(|l| Face::Medium.wrap(l, lettering::LABEL, cell)) {
                below += 4.6;
                scene.words(Role::Label, x, below, lettering::LABEL, Face::Medium, line);
            }
            lowest = lowest.max(below);
        }
        y = lowest + 8.0;
    }
    scene.height = y - 4.0;
    scene
}

/// Extent of a top's outline along x and y, in millimetres: as the job gives it, where it does.
pub fn size(top: &Top) -> (f64, f64) {
    let (length, width) = match &top.outline {
        Outline::Round { diameter } => (diameter.to_mm(), diameter.to_mm()),
        Outline::Oval { length, width } | Outline::Rectangle { length, width, .. } => {
            (length.to_mm(), width.to_mm())
        }
        Outline::Polygon { .. } | Outline::Points { .. } => {
            let (b, _) = outline_box(top);
            (b[2] - b[0], b[3] - b[1])
        }
    };
    (length.max(1.0), width.max(1.0))
}

/// The box round the outline, and its middle.
pub(crate) fn outline_box(top: &Top) -> (draft::Bounds, Point) {
    let b =
        draft::bounds(&Path::polygon(&top.face.outline.iter().map(|p| at(p[0], p[1])).collect::<Vec<_>>()));
    if b.iter().all(|v| v.is_finite()) {
        (b, at((b[0] + b[2]) / 2.0, (b[1] + b[3]) / 2.0))
    } else {
        ([0.0; 4], at(0.0, 0.0))
    }
}

fn describe(top: &Top, show: Show) -> String {
    let pattern = &top.pattern;
    let band = match &pattern.band {
        Some(band) => format!(" in {} bands of {}", top.bands, show.full(**band)),
        None => String::new(),
    };
    let many = if top.count == 1 { String::new() } else { format!(", make {}", top.count) };
    let angle = match (pattern.angle, &pattern.band) {
        (Some(angle), Some(_)) => format!(", laminations at {}° to the band", crate::writer::number(angle)),
        (Some(angle), None) => format!(", at {}°", crate::writer::number(angle)),
        (None, _) => String::new(),
    };
    format!("{}{band}{angle}, {} thick{many}", capital(&pattern.kind), show.full(*top.finished))
}

/// Names of the sheets that a face shows, in the order of the job, so that one wood has one tone wherever it is drawn.
pub(crate) fn kinds<'a>(plan: &Plan, top: &'a Top) -> Vec<&'a str> {
    let mut names: Vec<&str> = Vec::new();
    for cell in &top.face.cells {
        if !names.contains(&cell.sheet.as_str()) {
            names.push(&cell.sheet);
        }
    }
    names.sort_by_key(|name| plan.sheets.iter().position(|s| s.name == **name).unwrap_or(usize::MAX));
    names
}

/// The tone of a lamination: by kind of sheet where there are several, in turn where there is one.
pub(crate) fn tone(kind: usize, turn: usize) -> Role {
    if (kind + turn).is_multiple_of(2) { Role::LaminationLight } else { Role::LaminationDark }
}

/// Which tone is which wood, from a place on; returns the height taken, none where there is only one wood.
pub(crate) fn woods(scene: &mut Scene, kinds: &[&str], from: Point) -> f64 {
    use crate::draft::lettering::LABEL;
    use crate::font::Face::Medium;
    if kinds.len() < 2 {
        return 0.0;
    }
    let mut x = from.x;
    for (kind, name) in kinds.iter().enumerate() {
        scene.draw(tone(kind, 0), Path::rectangle(at(x, from.y), 6.0, 3.0));
        let words = Medium.fit(name, LABEL, 60.0);
        let wide = Medium.width(&words, LABEL);
        scene.words(Role::Label, x + 7.5, from.y + 2.6, LABEL, Medium, words);
        x += 14.0 + wide;
    }
    6.0
}

/// Draws a face with its centre pin at a place on the paper.
pub fn draw(scene: &mut Scene, plan: &Plan, top: &Top, centre: Point, scale: f64, detail: Detail) {
    let (_, middle) = outline_box(top);
    // The pin is the origin of the face; plates centre the outline's box on the paper.
    let on = |p: &[f64; 2]| at(centre.x + (p[0] - middle.x) / scale, centre.y - (p[1] - middle.y) / scale);
    let outline = outline_path(top, centre, scale);
    let kinds = kinds(plan, top);
    let turns = turns(top);
    let mut areas: [Path; 2] = Default::default();
    let mut plies = Path::default();
    for (cell, turn) in top.face.cells.iter().zip(&turns) {
        let corners: Vec<Point> = cell.corners.iter().map(on).collect();
        let kind = kinds.iter().position(|k| *k == cell.sheet).unwrap_or(0);
        // With several kinds of sheet the kind gives the tone; with one, neighbours take turns.
        let role = tone(kind, if kinds.len() > 1 { 0 } else { *turn });
        areas[usize::from(role == Role::LaminationDark)].add(Path::polygon(&corners));
        if detail == Detail::Full {
            plies.add(ply_lines(&corners, top.pitch.to_mm() / scale));
        }
    }
    let [light, dark] = areas;
    let path = |role, path| Mark { role, shape: Shape::Path(path), name: None };
    let mut marks = vec![path(Role::LaminationLight, light), path(Role::LaminationDark, dark)];
    if detail == Detail::Full {
        marks.push(path(Role::Ply, plies));
        marks.push(path(Role::Fine, seams(top, &on)));
    }
    scene.clip(Role::Outline, outline.clone(), marks);
    scene.draw(if detail == Detail::Full { Role::Outline } else { Role::Edge }, outline);
}

/// The outline as a true curve where it is one.
pub fn outline_path(top: &Top, centre: Point, scale: f64) -> Path {
    let of = |length: f64, width: f64, corner: Option<f64>| {
        let (w, h) = (length / scale, width / scale);
        let corner_of = at(centre.x - w / 2.0, centre.y - h / 2.0);
        match corner {
            None => Path::ellipse(centre, w / 2.0, h / 2.0),
            Some(r) if r > 0.0 => Path::rounded(corner_of, w, h, r / scale, r / scale),
            Some(_) => Path::rectangle(corner_of, w, h),
        }
    };
    match &top.outline {
        Outline::Round { diameter } => of(diameter.to_mm(), diameter.to_mm(), None),
        Outline::Oval { length, width } => of(length.to_mm(), width.to_mm(), None),
        Outline::Rectangle { length, width, radius } => {
            of(length.to_mm(), width.to_mm(), Some(radius.to_mm().max(0.0)))
        }
        Outline::Polygon { .. } | Outline::Points { .. } => {
            let (_, middle) = outline_box(top);
            draft::closed(
                top.face
                    .outline
                    .iter()
                    .map(|p| at(centre.x + (p[0] - middle.x) / scale, centre.y - (p[1] - middle.y) / scale)),
            )
        }
    }
}

/// 0 or 1 for every cell, so that neighbours differ and the zigzag of a chevron keeps one tone across its seams.
fn turns(top: &Top) -> Vec<usize> {
    let centroid = |cell: &Cell| {
        let n = cell.corners.len().max(1) as f64;
        cell.corners.iter().map(|c| c[1]).sum::<f64>() / n
    };
    if top.pattern.kind == "chevron" {
        // All cells of a chevron lie on one grid along y, whatever their band: its step is the smallest one.
        let mut by_band: BTreeMap<u32, Vec<f64>> = BTreeMap::new();
        for cell in &top.face.cells {
            by_band.entry(cell.band).or_default().push(centroid(cell));
        }
        let step = by_band
            .values()
            .flat_map(|ys| ys.windows(2).map(|w| (w[1] - w[0]).abs()))
            .filter(|d| *d > 1e-6)
            .fold(f64::INFINITY, f64::min);
        if let Some(first) = top.face.cells.first()
            && step.is_finite()
        {
            let origin = centroid(first);
            return top
                .face
                .cells
                .iter()
                .map(|c| (((centroid(c) - origin) / step).round() as i64).rem_euclid(2) as usize)
                .collect();
        }
    }
    top.face.cells.iter().map(|c| (c.lamination % 2) as usize).collect()
}

/// Lines between plies: parallel to the glue faces of the lamination, evenly between them; none where they would be too close.
fn ply_lines(corners: &[Point], pitch: f64) -> Path {
    let mut path = Path::default();
    // The glue faces are the sides across which the cell is one pitch thick. `pitch` is on paper, like the corners.
    let mut best: Option<(f64, Point, f64, f64)> = None;
    for (i, &p) in corners.iter().enumerate() {
        let q = corners[(i + 1) % corners.len()];
        let long = stripwright_units::trig::hypot(q.x - p.x, q.y - p.y);
        if long < 1e-9 {
            continue;
        }
        let (c, s) = ((q.x - p.x) / long, (q.y - p.y) / long);
        let across = |r: &Point| c * (r.y - p.y) - s * (r.x - p.x);
        let thick = corners.iter().map(across).fold(0.0, |m: f64, d| if d.abs() > m.abs() { d } else { m });
        let miss = (thick.abs() - pitch).abs();
        if best.is_none_or(|b| miss < b.0 - 1e-9) {
            best = Some((miss, p, c, s));
        }
    }
    let Some((_, from, c, s)) = best else { return path };
    let plies = PLIES as f64;
    let across = |r: &Point| c * (r.y - from.y) - s * (r.x - from.x);
    let (low, high) = corners.iter().map(across).fold((0.0f64, 0.0f64), |(l, h), d| (l.min(d), h.max(d)));
    if (high - low) / plies < CLOSEST_PLIES {
        return path;
    }
    for i in 1..PLIES {
        let d = low + (high - low) * i as f64 / plies;
        let mut ends = Vec::new();
        for (i, p) in corners.iter().enumerate() {
            let q = &corners[(i + 1) % corners.len()];
            let (dp, dq) = (across(p) - d, across(q) - d);
            if (dp < 0.0) != (dq < 0.0) {
                let t = dp / (dp - dq);
                ends.push(at(p.x + t * (q.x - p.x), p.y + t * (q.y - p.y)));
            }
        }
        if let [a, b] = ends[..] {
            path.add(Path::line(a, b));
        }
    }
    path
}

/// Joints between bands: the sides of cells that lie on the edge of their band.
fn seams(top: &Top, on: &dyn Fn(&[f64; 2]) -> Point) -> Path {
    let mut path = Path::default();
    if top.pattern.band.is_none() {
        return path;
    }
    let mut edges: BTreeMap<u32, (f64, f64, f64, f64)> = BTreeMap::new();
    for cell in &top.face.cells {
        let e = edges.entry(cell.band).or_insert((
            f64::INFINITY,
            f64::NEG_INFINITY,
            f64::INFINITY,
            f64::NEG_INFINITY,
        ));
        for c in &cell.corners {
            *e = (e.0.min(c[0]), e.1.max(c[0]), e.2.min(c[1]), e.3.max(c[1]));
        }
    }
    let bands: Vec<_> = edges.values().collect();
    for pair in bands.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let x = (a.1 + b.0) / 2.0;
        path.add(Path::line(on(&[x, a.2.min(b.2)]), on(&[x, a.3.max(b.3)])));
    }
    path
}
