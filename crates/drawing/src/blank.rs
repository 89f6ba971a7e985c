//! The blank: bands or blocks in their order, numbered, with the outline and its centre to mark out.

use std::collections::BTreeMap;

use stripwright_plan::plan::{Measure, Outline, Pin, Plan, Top};
use stripwright_plan::wording::count;
use stripwright_plan::words::Words;
use stripwright_units::Length;

use crate::draft::{self, Bounds, Show, lettering};
use crate::face::{self, PAPER};
use crate::figure::{self, Figure, Running};
use crate::font::{CAP, Face};
use crate::legible;
use crate::scene::{Path, Point, Role, Scene, at};
use crate::slab::{Numbers, middle_of, sign_at};

/// The plate of a top's blank.
pub fn plate(plan: &Plan, index: usize, show: Show) -> Option<Scene> {
    let top = plan.tops.get(index)?;
    let all: Vec<Point> = top.face.laid().flat_map(|c| c.corners.iter().map(|p| at(p[0], p[1]))).collect();
    if all.is_empty() {
        return None;
    }
    let whole = draft::bounds(&Path::polygon(&all));
    let (one, many) = top.piece();
    let title = format!("{}: the blank", top.name);
    let mut scene = Scene::new(format!("top-{}-blank", index + 1), title.clone(), PAPER.0, 0.0);
    let turned = turned_elements(top);
    scene.description = format!(
        "{} {}{}, with the outline and its centre; {} is left round the outline at least.",
        count(top.bands, one, many),
        if top.bands == 1 { "in its place" } else { "in their places" },
        match turned.values().filter(|t| **t).count() {
            0 => String::new(),
            n => format!(", {n} of them turned over"),
        },
        show.full(*top.margin)
    );
    let (length, width) = (whole[2] - whole[0], whole[3] - whole[1]);
    let scale = draft::scale_to_fit(length, width, (PAPER.0 - 30.0, 150.0));
    scene.scale = Some(scale);
    let right = format!("{} · {}", draft::scale_words(scale), show.unit());
    let subject = scene.description.clone();
    let top_of = draft::head(&mut scene, &title, &subject, &right) + 5.0;
    let left = (PAPER.0 - 12.0 - length / scale) / 2.0;
    let on = |p: &[f64; 2]| at(left + (p[0] - whole[0]) / scale, top_of + (whole[3] - p[1]) / scale);
    let mut grounds: [Path; 2] = Default::default();
    let mut edges = Path::default();
    for cell in top.face.laid() {
        let path = Path::polygon(&cell.corners.iter().map(on).collect::<Vec<_>>());
        grounds[usize::from(cell.turned)].add(path.clone());
        edges.add(path);
    }
    let [as_cut, turned_over] = grounds;
    scene.draw(Role::Ground, as_cut);
    scene.draw(Role::Tint, turned_over);
    scene.draw(Role::Hatch, edges);
    scene.draw(Role::Fine, joints(top, &on));
    let centre = on(&[0.0, 0.0]);
    let (_, middle) = face::outline_box(top);
    scene.draw(Role::Outline, face::outline_path(top, on(&[middle.x, middle.y]), scale));
    let b = [left, top_of, left + length / scale, top_of + width / scale];
    scene.draw(Role::Centre, Path::line(at(b[0] - 3.0, centre.y), at(b[2] + 3.0, centre.y)));
    scene.draw(Role::Centre, Path::line(at(centre.x, b[1] - 3.0), at(centre.x, b[3] + 3.0)));
    scene.draw(Role::Arrow, Path::circle(centre, 0.8));
    let mut numbers = Numbers::on(&scene);
    numbers.take([centre.x - 1.5, centre.y - 1.5, centre.x + 1.5, centre.y + 1.5]);
    for (element, cells) in elements(top) {
        let shape = hull(cells.iter().flat_map(|c| c.iter().map(on)).collect());
        // Bands are numbered along one line, clear of the centre line; blocks and wedges each in its middle.
        let place = if top.pattern.band.is_some() {
            let e = draft::bounds(&Path::polygon(&shape));
            let middle = middle_of(&draft::corners(e));
            let on_centre = e[1] < centre.y - 8.0 && centre.y - 2.0 < e[3];
            if on_centre { at(middle.x, centre.y - 5.0) } else { middle }
        } else {
            middle_of(&shape)
        };
        let turn = turned.get(&element).copied().unwrap_or(false);
        let words = element.to_string();
        if !numbers.put(&mut scene, &shape, place, &words, turn) {
            // A piece too narrow for its number has it all the same, over its edges.
            let b = draft::bounds(&Path::polygon(&shape));
            let wider = draft::corners([b[0] - 2.5, b[1] - 2.5, b[2] + 2.5, b[3] + 2.5]);
            numbers.put(&mut scene, &wider, place, &words, turn);
        }
    }
    let [across, up] = top.blank.map(|extent| show.bare(extent.ceil_to(*plan.mark)));
    draft::dimension_across(&mut scene, b[0], b[2], b[3] + 7.5, b[3], &across);
    draft::dimension_up(&mut scene, b[1], b[3], b[2] + 8.5, b[2], &up);
    let mut y = b[3] + 10.0;
    if turned.values().any(|t| *t) {
        let middle = y + 4.4;
        sign_at(&mut scene, at(4.0, middle), "1", lettering::LABEL, true);
        let words = format!("tinted, number in a ring: {one} turned over, half a turn about its own length");
        scene.words(
            Role::Label,
            9.0,
            middle + lettering::LABEL * CAP / 2.0,
            lettering::LABEL,
            Face::Medium,
            words,
        );
        y += 7.0;
    }
    scene.height = y + 2.0;
    Some(scene)
}

/// The plate of the outline: where it lies on the blank, its centre, its sizes.
pub fn outline(plan: &Plan, index: usize, show: Show) -> Option<Scene> {
    let top = plan.tops.get(index)?;
    let all: Vec<Point> = top.face.laid().flat_map(|c| c.corners.iter().map(|p| at(p[0], p[1]))).collect();
    let whole = draft::bounds(&Path::polygon(&all));
    if !whole.iter().all(|v| v.is_finite()) {
        return None;
    }
    let datum = figure::pin_is_corner(top);
    let pin = if datum { "datum" } else { "centre" };
    let title = format!("{}: {pin} and outline", top.name);
    let mut scene = Scene::new(format!("top-{}-outline", index + 1), title.clone(), PAPER.0, 0.0);
    let (length, width) = (whole[2] - whole[0], whole[3] - whole[1]);
    let running = Running::of(top);
    let [below, beside] = running.as_ref().map_or([0.0; 2], |running| running.room(show));
    // What is said at the right of a blank takes a margin, and wide figures of corners more than that.
    let aside = (beside - 14.0).max(0.0);
    let scale = draft::scale_to_fit(length, width, (PAPER.0 - 30.0 - aside, 130.0));
    scene.scale = Some(scale);
    let subject = match &top.outline {
        Outline::Round { diameter } => {
            let radius = Length::from_nm(diameter.nm() / 2);
            format!(
                "Round, Ø {}: {} from the centre pin to the finished edge, which is the side of the kerf that faces the pin.",
                show.full(**diameter),
                show.full(radius)
            )
        }
        other => {
            let lines = if datum {
                "Mark both lines through the datum, which the steps call the centre,"
            } else {
                "Mark both centre lines"
            };
            let run = if running.is_some() {
                ". The figures below and at the right run from these lines"
            } else {
                ""
            };
            let outline = show.said(&Words { system: show.system }.outline(other));
            format!("{lines} on the blank, then the outline from them: {outline}{run}.")
        }
    };
    scene.description = subject.clone();
    let right = format!("{} · {}", draft::scale_words(scale), show.unit());
    let top_of = draft::head(&mut scene, &title, &subject, &right) + 5.0 + face::radius_room(top);
    let left = (PAPER.0 - 12.0 - aside - length / scale) / 2.0;
    let on = |p: &[f64; 2]| at(left + (p[0] - whole[0]) / scale, top_of + (whole[3] - p[1]) / scale);
    scene.draw(Role::Joint, joints(top, &on));
    let (_, middle) = face::outline_box(top);
    let (centre, middle) = (on(&[0.0, 0.0]), on(&[middle.x, middle.y]));
    scene.draw(Role::Outline, face::outline_path(top, middle, scale));
    let b = [left, top_of, left + length / scale, top_of + width / scale];
    scene.draw(Role::Centre, Path::line(at(b[0] - 3.0, centre.y), at(b[2] + 3.0, centre.y)));
    scene.draw(Role::Centre, Path::line(at(centre.x, b[1] - 3.0), at(centre.x, b[3] + 3.0)));
    scene.draw(Role::Arrow, Path::circle(centre, 0.8));
    let (full_length, full_width) = face::size(top);
    let (w, h) = (full_length / scale, full_width / scale);
    let overall = |mm: f64| show.bare(Length::nearest_mm(mm));
    let mut figures = Vec::new();
    if let Outline::Round { diameter } = &top.outline {
        // The radius, on a line of its own clear of both centre lines.
        let r = w / 2.0;
        let k = std::f64::consts::FRAC_1_SQRT_2;
        let tip = at(middle.x + r * k, middle.y - r * k);
        scene.draw(Role::Dimension, Path::line(middle, tip));
        scene.draw(Role::Arrow, draft::arrowhead(tip, k, -k, 2.5));
        let words = format!("R {}", show.bare(Length::from_nm(diameter.nm() / 2)));
        figures.push(Figure { from: middle, way: [r * k, -r * k], words });
    }
    figures.extend(top.pin.iter().flat_map(|pin| &pin.measures).filter_map(|measure| {
        let words = show.bare(measure.length.nearest_to(*plan.mark));
        figure::measured(&mut scene, measure.line.map(|p| on(&p)), middle, words)
    }));
    let (left, right) = (middle.x - w / 2.0, middle.x + w / 2.0);
    face::corner_radius(&mut scene, top, [left, middle.y - h / 2.0, right], b[1], show);
    let round = matches!(top.outline, Outline::Round { .. });
    if let Some(running) = &running {
        running.draw(&mut scene, b, &on, show);
    } else {
        let across = if round { format!("Ø {}", overall(full_length)) } else { overall(full_length) };
        draft::dimension_across(&mut scene, left, right, b[3] + 7.5, middle.y, &across);
        if !round {
            let (upper, lower) = (middle.y - h / 2.0, middle.y + h / 2.0);
            draft::dimension_up(&mut scene, upper, lower, b[2] + 8.5, middle.x, &overall(full_width));
        }
    }
    let mut taken: Vec<Bounds> = scene.texts().iter().map(|text| text.bounds()).collect();
    let pin_room = [centre.x - 1.5, centre.y - 1.5, centre.x + 1.5, centre.y + 1.5];
    for figure in &figures {
        let place = figure.write(&mut scene, &taken, pin_room);
        taken.push(place);
    }
    taken.push(pin_room);
    if let Some(pin) = &top.pin {
        piece_numbers(&mut scene, top, pin, &on, taken);
    }
    scene.height = b[3] + 11.0f64.max(below + 3.0);
    for note in top.pin.iter().flat_map(|found| notes(plan, found, pin, show)) {
        for line in Face::Medium.wrap(&note, lettering::LABEL, PAPER.0) {
            scene.height += 4.6;
            scene.words(Role::Label, 0.0, scene.height - 1.6, lettering::LABEL, Face::Medium, line);
        }
    }
    Some(scene)
}

/// The numbers of the pieces that the pin is measured from, where the figures leave room.
fn piece_numbers(
    scene: &mut Scene,
    top: &Top,
    pin: &Pin,
    on: &dyn Fn(&[f64; 2]) -> Point,
    taken: Vec<Bounds>,
) {
    let centre = on(&[0.0, 0.0]);
    // A number on a line with arrows would be read as its figure.
    let mut numbers = Numbers::clear_of(legible::pieces(scene, |role| role != Role::Joint));
    taken.into_iter().for_each(|bounds| numbers.take(bounds));
    let all = elements(top);
    for number in &pin.pieces {
        let Some(cells) = all.get(number) else { continue };
        let shape = hull(cells.iter().flat_map(|c| c.iter().map(on)).collect());
        let middle = middle_of(&shape);
        // Bands have theirs above the pin, clear of what is measured from below.
        let place = if top.pattern.band.is_some() {
            at(middle.x, (centre.y + draft::bounds(&Path::polygon(&shape))[1]) / 2.0)
        } else {
            middle
        };
        numbers.put(scene, &shape, place, &number.to_string(), false);
    }
}

/// What is said below the outline: how the pin is found, and from where the drawing is seen.
fn notes(plan: &Plan, pin: &Pin, name: &str, show: Show) -> Vec<String> {
    let far = |m: &Measure| format!("{} {}", show.full(m.length.nearest_to(*plan.mark)), m.way);
    let lies: Vec<String> = std::iter::once(format!("The {name} lies {}", pin.lies))
        .chain(pin.measures.iter().map(far))
        .collect();
    let mut notes = vec![format!("{}.", lies.join(", "))];
    if pin.mirrored {
        notes.push(
            "Seen from the face. The work is done on the underside: turned over from left to right, left and right change places and \
             up stays up."
                .to_string(),
        );
    }
    notes
}

/// Cells of every band or block, by its number.
fn elements(top: &Top) -> BTreeMap<u32, Vec<&Vec<[f64; 2]>>> {
    let mut by: BTreeMap<u32, Vec<&Vec<[f64; 2]>>> = BTreeMap::new();
    for cell in top.face.laid() {
        by.entry(cell.band).or_default().push(&cell.corners);
    }
    by
}

/// The smallest convex polygon that holds all points (Andrew's monotone chain).
fn hull(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by(|p, q| p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)));
    let turns_right =
        |a: Point, b: Point, c: Point| (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x) <= 1e-9;
    let chain = |points: &mut dyn Iterator<Item = &Point>| {
        let mut side: Vec<Point> = Vec::new();
        for &p in points {
            while side.len() > 1 && turns_right(side[side.len() - 2], side[side.len() - 1], p) {
                side.pop();
            }
            side.push(p);
        }
        side.pop();
        side
    };
    let mut all = chain(&mut points.iter());
    all.extend(chain(&mut points.iter().rev()));
    all
}

fn turned_elements(top: &Top) -> BTreeMap<u32, bool> {
    top.face.laid().map(|c| (c.band, c.turned)).collect()
}

/// Sides that only one cell of its band or block has: the joints of the second glue-up and the ends.
fn joints(top: &Top, on: &dyn Fn(&[f64; 2]) -> Point) -> Path {
    let mut lines = Vec::new();
    for cells in elements(top).values() {
        // Sides shared by two laminations of a band run both ways; those of the band's own edge run once. A tenth of
        // a millimetre on paper tells points apart.
        let key = |p: Point| ((p.x * 10.0).round() as i64, (p.y * 10.0).round() as i64);
        let mut sides: BTreeMap<_, (Point, Point, u32)> = BTreeMap::new();
        for cell in cells {
            for (i, p) in cell.iter().enumerate() {
                let (p, q) = (on(p), on(&cell[(i + 1) % cell.len()]));
                let (a, b) = if key(p) <= key(q) { (p, q) } else { (q, p) };
                sides.entry((key(a), key(b))).or_insert((a, b, 0)).2 += 1;
            }
        }
        lines.extend(sides.into_values().filter(|(.., n)| *n == 1).map(|(a, b, _)| (a, b)));
    }
    let mut path = Path::default();
    joined(lines).into_iter().for_each(|(a, b)| path.add(Path::line(a, b)));
    path
}

/// Lines with those that lie on one another or follow each other made one: neighbours share their joints, and dashes drawn twice
/// fill each other's gaps.
fn joined(lines: Vec<(Point, Point)>) -> Vec<(Point, Point)> {
    /// What two lines may differ by and still be one: in the sine of their angle, and in millimetres on paper.
    const SLOPE: f64 = 1e-3;
    const APART: f64 = 0.05;
    /// A line that lines lie on: a point, its direction, and from where to where they lie along it.
    struct Ruler {
        point: Point,
        way: [f64; 2],
        stretches: Vec<[f64; 2]>,
    }
    let mut rulers: Vec<Ruler> = Vec::new();
    for (a, b) in lines {
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let long = stripwright_units::trig::hypot(dx, dy);
        if long < APART {
            continue;
        }
        let lies_on = |ruler: &Ruler| {
            let [c, s] = ruler.way;
            let off = |p: Point| (c * (p.y - ruler.point.y) - s * (p.x - ruler.point.x)).abs();
            (c * dy - s * dx).abs() < SLOPE * long && off(a) < APART && off(b) < APART
        };
        let n = rulers.iter().position(lies_on).unwrap_or_else(|| {
            rulers.push(Ruler { point: a, way: [dx / long, dy / long], stretches: Vec::new() });
            rulers.len() - 1
        });
        let Ruler { point, way: [c, s], .. } = rulers[n];
        let along = |p: Point| c * (p.x - point.x) + s * (p.y - point.y);
        rulers[n].stretches.push([along(a).min(along(b)), along(a).max(along(b))]);
    }
    let mut joined = Vec::new();
    for Ruler { point, way: [c, s], mut stretches } in rulers {
        stretches.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let mut whole: Vec<[f64; 2]> = Vec::new();
        for [from, to] in stretches {
            match whole.last_mut() {
                Some(last) if from < last[1] + APART => last[1] = last[1].max(to),
                _ => whole.push([from, to]),
            }
        }
        let on = |d: f64| at(point.x + c * d, point.y + s * d);
        joined.extend(whole.into_iter().map(|[from, to]| (on(from), on(to))));
    }
    joined
}
