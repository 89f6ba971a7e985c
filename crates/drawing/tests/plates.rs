//! Plates measured and read back: nothing overlaps, nothing leaves the paper, scales are true, files are sound.
#![allow(missing_docs, clippy::unwrap_used, clippy::disallowed_methods)]

mod samples;

use proptest::prelude::*;
use stripwright_drawing::draft::Show;
use stripwright_drawing::scene::{Role, Scene, Shape};
use stripwright_drawing::{face, rip, writer};
use stripwright_plan::figures::Mm;
use stripwright_plan::plan::{Cut, Direction, Plan};
use stripwright_plan::words::letter;
use stripwright_units::Length;

fn drawings(plan: &Plan, both: bool) -> Vec<Scene> {
    let show = Show::of(plan, both);
    let mut scenes: Vec<Scene> = (0..plan.layouts.len()).flat_map(|i| rip::plates(plan, i, show)).collect();
    scenes.extend((0..plan.tops.len()).filter_map(|i| face::plate(plan, i, show)));
    scenes
}

fn reading(svg: &str) -> resvg::usvg::Tree {
    let mut options = resvg::usvg::Options::default();
    for face in [stripwright_drawing::font::Face::Medium, stripwright_drawing::font::Face::Bold] {
        options.fontdb_mut().load_font_data(face.file().to_vec());
    }
    resvg::usvg::Tree::from_str(svg, &options).unwrap()
}

/// How many paths and texts an independent reader of SVG finds.
fn count(group: &resvg::usvg::Group) -> (usize, usize) {
    use resvg::usvg::Node;
    group.children().iter().fold((0, 0), |(p, t), node| match node {
        Node::Path(_) => (p + 1, t),
        Node::Text(_) => (p, t + 1),
        Node::Group(inner) => {
            let (a, b) = count(inner);
            (p + a, t + b)
        }
        Node::Image(_) => (p, t),
    })
}

fn count_scene(marks: &[stripwright_drawing::scene::Mark]) -> (usize, usize) {
    marks.iter().fold((0, 0), |(p, t), mark| match &mark.shape {
        Shape::Path(path) if path.0.is_empty() => (p, t),
        Shape::Path(_) => (p + 1, t),
        Shape::Text(_) => (p, t + 1),
        Shape::Clip(_, inner) => {
            let (a, b) = count_scene(inner);
            (p + a, t + b)
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_overlaps_on_random_sheets(seed in any::<u64>(), both in any::<bool>()) {
        let plan = samples::random_plan(seed);
        for scene in drawings(&plan, both) {
            prop_assert_eq!(scene.faults(), Vec::<String>::new());
        }
    }
}

#[test]
fn every_piece_is_labelled_and_every_wide_enough_cut_numbered() {
    for seed in 0..40 {
        let plan = samples::random_plan(seed);
        let scene = &rip::plates(&plan, 0, Show::of(&plan, false))[0];
        let words: Vec<&str> = scene.texts().iter().map(|t| t.words.as_str()).collect();
        let layout = &plan.layouts[0];
        for part in layout.pieces.iter().map(|p| p.part.as_str()) {
            let letter = letter(&plan, part);
            let wanted = layout.pieces.iter().filter(|p| p.part == part).count();
            let found = words.iter().filter(|w| **w == letter).count();
            assert!(found >= wanted, "seed {seed}: {letter} is on {found} of {wanted} pieces");
        }
    }
}

/// What is written on a diagram itself: its legend begins with the grain, its lists come last.
fn on_the_diagram(scene: &Scene) -> Vec<&str> {
    let words = scene.texts().into_iter().map(|t| t.words.as_str());
    words.take_while(|w| *w != "face grain").collect()
}

#[test]
fn every_cut_has_its_number_on_the_diagram() {
    for seed in 0..60 {
        let plan = samples::random_plan(seed);
        let scene = &rip::plates(&plan, 0, Show::of(&plan, seed % 2 == 0))[0];
        let mut numbers: Vec<u32> = Vec::new();
        for words in on_the_diagram(scene) {
            let (first, last) = words.split_once('–').unwrap_or((words, words));
            if let (Ok(first), Ok(last)) = (first.parse::<u32>(), last.parse::<u32>()) {
                numbers.extend(first..=last);
            }
        }
        let missing: Vec<u32> =
            plan.layouts[0].cuts.iter().map(|c| c.number).filter(|n| !numbers.contains(n)).collect();
        assert!(missing.is_empty(), "seed {seed}: {missing:?}");
    }
}

/// Boxes of the marks of one role.
fn boxes(scene: &Scene, role: Role) -> Vec<[f64; 4]> {
    let of = |mark: &stripwright_drawing::scene::Mark| match &mark.shape {
        Shape::Path(path) if mark.role == role => Some(stripwright_drawing::draft::bounds(path)),
        _ => None,
    };
    scene.marks.iter().filter_map(of).collect()
}

fn meet(a: [f64; 4], b: [f64; 4]) -> bool {
    const HAIR: f64 = 0.2;
    a[0] < b[2] - HAIR && b[0] < a[2] - HAIR && a[1] < b[3] - HAIR && b[1] < a[3] - HAIR
}

/// A panel ripped into strips that are all cut in two at its middle.
fn panel_of_strips() -> Plan {
    let mut plan = samples::random_plan(0);
    let mm = |n: i64| Mm(Length::from_mm(n));
    let cut = |number: u32, direction: Direction, stage: u8, setting: i64, at: i64, from: i64, to: i64| Cut {
        number,
        direction,
        stage,
        setting: mm(setting),
        at: mm(at),
        from: mm(from),
        to: mm(to),
    };
    plan.sheets[0].length = mm(2440);
    plan.sheets[0].width = mm(1220);
    let layout = &mut plan.layouts[0];
    (layout.pieces, layout.offcuts) = (Vec::new(), Vec::new());
    layout.cuts = vec![cut(1, Direction::Crosscut, 1, 1552, 1552, 0, 1220)];
    layout.cuts.extend((0..28).map(|i| {
        let at = 39 * (i64::from(i) + 1);
        cut(i + 2, Direction::Rip, 2, 36, at, 0, 1552)
    }));
    layout.cuts.extend((0..28).map(|i| {
        let low = 39 * i64::from(i);
        cut(i + 30, Direction::Crosscut, 3, 774, 774, low, low + 39)
    }));
    plan
}

#[test]
fn a_number_stands_on_its_own_kerf_and_no_call_out_on_another_piece() {
    let (mut rings, mut letters) = (0, 0);
    for seed in 0..61 {
        let plan = if seed < 60 { samples::random_plan(seed) } else { panel_of_strips() };
        let scene = &rip::plates(&plan, 0, Show::of(&plan, false))[0];
        let cuts = &plan.layouts[0].cuts;
        let kerfs = boxes(scene, Role::Kerf);
        let pieces = boxes(scene, Role::Piece);
        for pair in scene.marks.windows(2) {
            let (Shape::Path(path), Shape::Text(text)) = (&pair[0].shape, &pair[1].shape) else { continue };
            let b = stripwright_drawing::draft::bounds(path);
            let cut = text.words.parse::<u32>().ok().and_then(|n| cuts.iter().position(|c| c.number == n));
            match (pair[0].role, cut) {
                (Role::Ring, Some(i)) if meet(b, kerfs[i]) => {
                    let across = |k: &usize| cuts[*k].direction != cuts[i].direction && meet(b, kerfs[*k]);
                    assert_eq!(
                        (0..cuts.len()).find(across),
                        None,
                        "seed {seed}: {} on another cut",
                        text.words
                    );
                    rings += 1;
                }
                (Role::Ground, None) if text.words.chars().all(|c| c.is_ascii_uppercase()) => {
                    assert!(!pieces.iter().any(|piece| meet(b, *piece)), "seed {seed}: {}", text.words);
                    letters += 1;
                }
                _ => {}
            }
        }
    }
    assert!(rings > 300 && letters > 50, "{rings} rings, {letters} letters away from their pieces");
}

#[test]
fn the_legend_explains_only_rings_that_are_there() {
    let mut without = 0;
    for seed in 0..60 {
        let plan = samples::random_plan(seed);
        let scene = &rip::plates(&plan, 0, Show::of(&plan, false))[0];
        let said: Vec<&str> = scene.texts().iter().map(|t| t.words.as_str()).collect();
        let drawn = on_the_diagram(scene).len();
        let legend = said.iter().position(|w| *w == "cut within a strip or panel");
        without += u32::from(legend.is_none());
        if let Some(at) = legend {
            // Its sign is a number that stands on the diagram.
            assert!(said[..drawn].contains(&said[at - 1]), "seed {seed}: {}", said[at - 1]);
        }
    }
    assert!(without > 0);
}

#[test]
fn the_scale_is_true() {
    for seed in 0..20 {
        check_scale(&samples::random_plan(seed));
    }
    let mut kept = 0;
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures");
    for folder in std::fs::read_dir(root).unwrap() {
        if let Ok(text) = std::fs::read_to_string(folder.unwrap().path().join("plan.json")) {
            check_scale(&serde_json::from_str(&text).unwrap());
            kept += 1;
        }
    }
    assert!(kept >= 3, "{kept} kept plans");
}

/// Every piece of every layout is drawn as long and wide as it is, at its place.
fn check_scale(plan: &Plan) {
    for (n, layout) in plan.layouts.iter().enumerate() {
        let scene = &rip::plates(plan, n, Show::of(plan, false))[0];
        let sheet = plan.sheets.iter().find(|s| s.name == layout.sheet).unwrap();
        let scale = scene.scale.unwrap();
        let pieces: Vec<[f64; 4]> = scene
            .marks
            .iter()
            .filter(|m| m.role == Role::Piece)
            .map(|m| match &m.shape {
                Shape::Path(p) => stripwright_drawing::draft::bounds(p),
                _ => unreachable!(),
            })
            .collect();
        assert_eq!(pieces.len(), layout.pieces.len());
        for (drawn, piece) in pieces.iter().zip(&layout.pieces) {
            assert!(((drawn[2] - drawn[0]) * scale - piece.length.to_mm()).abs() < 1e-6);
            assert!(((drawn[3] - drawn[1]) * scale - piece.width.to_mm()).abs() < 1e-6);
            let corner = rip::on_paper(scene, sheet, *piece.x, *piece.y).unwrap();
            assert!((drawn[0] - corner.x).abs() < 1e-6 && (drawn[3] - corner.y).abs() < 1e-6);
        }
    }
}

#[test]
fn another_reader_finds_every_mark() {
    let mut plan = samples::random_plan(5);
    plan.tops = vec![samples::chevron_top(600.0, 70.0, 18.0, 45.0)];
    for scene in drawings(&plan, false) {
        let svg = writer::file(&scene);
        let tree = reading(&svg);
        assert!((f64::from(tree.size().width()) - scene.width * 96.0 / 25.4).abs() < 0.01);
        let (paths, texts) = count_scene(&scene.marks);
        // The paper is one path more.
        assert_eq!(count(tree.root()), (paths + 1, texts), "{}", scene.name);
        let again = writer::file(&scene);
        assert_eq!(svg, again, "same plan, same bytes");
    }
}

#[test]
fn the_face_shows_every_cell_at_its_place() {
    // The textbook count of design values for this face: 210 laminations met at phase 0.
    let top = samples::chevron_top(600.0, 70.0, 18.0, 45.0);
    let mut plan = samples::empty_plan();
    plan.tops = vec![top.clone()];
    let scene = face::plate(&plan, 0, Show::of(&plan, false)).unwrap();
    let (_, inner) = scene
        .marks
        .iter()
        .find_map(|m| match &m.shape {
            Shape::Clip(p, marks) => Some((p, marks)),
            _ => None,
        })
        .unwrap();
    let corners: usize = inner
        .iter()
        .filter(|m| matches!(m.role, Role::LaminationLight | Role::LaminationDark))
        .map(|m| match &m.shape {
            Shape::Path(p) => p.points().count(),
            _ => 0,
        })
        .sum();
    assert_eq!(corners, 4 * top.face.cells.len());
    assert_eq!(scene.faults(), Vec::<String>::new());
    let outline =
        scene.marks.iter().find(|m| m.role == Role::Outline && matches!(m.shape, Shape::Path(_))).unwrap();
    let Shape::Path(path) = &outline.shape else { unreachable!() };
    let b = stripwright_drawing::draft::bounds(path);
    assert!(((b[2] - b[0]) * scene.scale.unwrap() - Length::from_mm(600).to_mm()).abs() < 1e-6);
}

#[test]
fn faces_are_compared_at_one_scale() {
    let tops: Vec<_> = [(600.0, 70.0, 45.0), (340.0, 60.0, 30.0), (450.0, 50.0, 60.0), (500.0, 90.0, 45.0)]
        .map(|(d, band, angle)| samples::chevron_top(d, band, 18.0, angle))
        .into();
    let plan = samples::empty_plan();
    for n in 1..=tops.len() {
        let sheet: Vec<_> = tops[..n]
            .iter()
            .map(|top| face::Sample {
                plan: &plan,
                top,
                title: format!("{} at {}", top.pattern.kind, top.pattern.angle.unwrap()),
                lines: vec!["210 strips, 4.1 m2 of glue joints".into(), "31 % of the sheets is waste".into()],
            })
            .collect();
        let scene = face::contact_sheet("faces", "Patterns side by side", &sheet);
        assert_eq!(scene.faults(), Vec::<String>::new());
        let outlines = scene.marks.iter().filter(|m| m.role == Role::Edge).map(|m| match &m.shape {
            Shape::Path(p) => {
                let b = stripwright_drawing::draft::bounds(p);
                (b[2] - b[0]) * scene.scale.unwrap()
            }
            _ => unreachable!(),
        });
        for (drawn, top) in outlines.zip(&tops) {
            assert!((drawn - face::size(top).0).abs() < 0.5, "{drawn}");
        }
    }
}
