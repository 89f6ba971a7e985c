//! What the drawings of slabs, blanks and outlines say and where their lines lie, read back from the marks.
#![allow(missing_docs, clippy::unwrap_used, clippy::disallowed_methods)]

mod samples;

use stripwright_drawing::draft::{Bounds, Show, bounds};
use stripwright_drawing::scene::{Mark, Role, Scene, Shape};
use stripwright_drawing::{blank, face, slab};
use stripwright_plan::figures::Mm;
use stripwright_plan::plan::{Outline, Plan};
use stripwright_units::Length;

fn kept(name: &str) -> Plan {
    let file = format!("{}/../../fixtures/{name}/plan.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap()
}

fn words(scene: &Scene) -> Vec<&str> {
    scene.texts().iter().map(|t| t.words.as_str()).collect()
}

fn boxes(scene: &Scene, role: Role) -> Vec<Bounds> {
    let of = |mark: &Mark| match &mark.shape {
        Shape::Path(path) if mark.role == role => Some(bounds(path)),
        _ => None,
    };
    scene.marks.iter().filter_map(of).collect()
}

#[test]
fn every_distance_on_an_outline_has_its_figure() {
    for name in
        ["herringbone-along", "herringbone-across", "stool-with-base", "running-bond", "chevron-round"]
    {
        let plan = kept(name);
        for (i, top) in plan.tops.iter().enumerate() {
            for both in [false, true] {
                let show = Show::of(&plan, both);
                let scene = blank::outline(&plan, i, show).unwrap();
                let said = words(&scene);
                let mut wanted: Vec<String> = Vec::new();
                if let Outline::Round { diameter } = &top.outline {
                    wanted.push(format!("R {}", show.bare(Length::from_nm(diameter.nm() / 2))));
                }
                let measures = top.pin.iter().flat_map(|pin| &pin.measures);
                wanted.extend(measures.map(|m| show.bare(m.length.nearest_to(*plan.mark))));
                for figure in &wanted {
                    let needs = wanted.iter().filter(|w| *w == figure).count();
                    let has = said.iter().filter(|w| *w == figure).count();
                    assert!(has >= needs, "{name}, both {both}: {figure} is there {has} of {needs} times");
                }
                assert_eq!(scene.faults(), Vec::<String>::new());
            }
        }
    }
}

#[test]
fn a_joint_of_two_blocks_is_drawn_once() {
    let plan = kept("herringbone-along");
    let scene = blank::outline(&plan, 0, Show::of(&plan, false)).unwrap();
    let joints = scene.marks.iter().find(|m| m.role == Role::Joint).unwrap();
    let Shape::Path(path) = &joints.shape else { unreachable!() };
    let points: Vec<_> = path.points().collect();
    let lines: Vec<_> = points.chunks(2).collect();
    assert!(lines.len() > 20);
    for (i, a) in lines.iter().enumerate() {
        for b in &lines[i + 1..] {
            // The middle of one must not lie on the other.
            let m = [(b[0].x + b[1].x) / 2.0 - a[0].x, (b[0].y + b[1].y) / 2.0 - a[0].y];
            let way = [a[1].x - a[0].x, a[1].y - a[0].y];
            let long = (way[0] * way[0] + way[1] * way[1]).sqrt();
            let along = (m[0] * way[0] + m[1] * way[1]) / long;
            let off = ((m[1] * way[0] - m[0] * way[1]) / long).abs();
            let same_way = ((b[1].x - b[0].x) * way[1] - (b[1].y - b[0].y) * way[0]).abs() < 1e-3 * long;
            assert!(!(same_way && off < 0.02 && along > 0.1 && along < long - 0.1), "{a:?} lies on {b:?}");
        }
    }
}

#[test]
fn free_outlines_tell_their_corners_from_the_datum() {
    let mut plan = kept("two-woods");
    let show = Show::of(&plan, false);
    let scene = blank::outline(&plan, 0, show).unwrap();
    let said = words(&scene);
    for figure in ["180", "150", "170", "60", "40", "0"] {
        assert!(said.contains(&figure), "{figure} in {said:?}");
    }
    assert!(scene.title.ends_with("centre and outline"));
    // The same outline told from its lower left corner.
    let Outline::Points { points } = &mut plan.tops[0].outline else { unreachable!() };
    let corner = points[0];
    for p in points.iter_mut() {
        *p = [Mm(*p[0] - *corner[0]), Mm(*p[1] - *corner[1])];
    }
    let scene = blank::outline(&plan, 0, show).unwrap();
    assert!(scene.title.ends_with("datum and outline"));
    let said = words(&scene);
    for figure in ["360", "240", "320", "190", "0"] {
        assert!(said.contains(&figure), "{figure} in {said:?}");
    }
}

#[test]
fn what_is_measured_along_an_edge_is_drawn_beside_it() {
    let mut plan = kept("two-woods");
    let Outline::Points { points } = &plan.tops[0].outline else { unreachable!() };
    let edge = [points[0], points[1]].map(|p| p.map(|c| c.to_mm()));
    let measure = &mut plan.tops[0].pin.as_mut().unwrap().measures[0];
    measure.line = edge;
    let scene = blank::outline(&plan, 0, Show::of(&plan, false)).unwrap();
    let outline = boxes(&scene, Role::Outline)[0];
    let along = (edge[1][0] - edge[0][0]) / scene.scale.unwrap();
    let lines = boxes(&scene, Role::Dimension);
    let drawn = lines.iter().find(|b| (b[2] - b[0] - along).abs() < 1e-6 && b[3] - b[1] < 1e-6).unwrap();
    assert!((drawn[1] - outline[3]).abs() > 2.0, "{drawn:?} is clear of the outline's edge {outline:?}");
}

#[test]
fn leaders_end_at_the_strips_that_they_name() {
    let mut ends = 0;
    for name in ["stool-with-base", "chevron-band-oval", "sunburst", "two-woods", "diamond"] {
        let plan = kept(name);
        for (i, top) in plan.tops.iter().enumerate() {
            for j in 0..top.slabs.len() {
                let scene = slab::glue_up(&plan, i, j, Show::of(&plan, false)).unwrap();
                let strips: Vec<Bounds> = scene
                    .marks
                    .iter()
                    .filter(|m| m.name.as_ref().is_some_and(|name| name.starts_with("Strip ")))
                    .map(|m| match &m.shape {
                        Shape::Path(path) => bounds(path),
                        _ => unreachable!(),
                    })
                    .collect();
                assert_eq!(strips.len(), top.slabs[j].layers.len());
                for mark in scene.marks.iter().filter(|m| m.role == Role::Leader) {
                    let Shape::Path(path) = &mark.shape else { continue };
                    let points: Vec<_> = path.points().collect();
                    for pair in points.windows(2) {
                        for strip in &strips {
                            let inside = |t: f64| {
                                let x = pair[0].x + t * (pair[1].x - pair[0].x);
                                let y = pair[0].y + t * (pair[1].y - pair[0].y);
                                x > strip[0] + 0.05
                                    && x < strip[2]
                                    && y > strip[1] + 0.05
                                    && y < strip[3] - 0.05
                            };
                            let cut = (0..=50).any(|k| inside(f64::from(k) / 50.0));
                            assert!(!cut, "{name}, slab {j}: {pair:?} cuts {strip:?}");
                        }
                    }
                    // A leader starts at the names; a bracket at its strips.
                    if points.len() == 3 {
                        let end = points[2];
                        let at = strips.iter().find(|s| s[1] < end.y && end.y < s[3]).unwrap();
                        let staggers =
                            strips.windows(2).map(|w| (w[0][0] - w[1][0]).abs()).fold(0.0, f64::max);
                        assert!(at[0] - end.x <= 1.3 + staggers && end.x <= at[0] + 1e-6, "{name}: {end:?}");
                        ends += 1;
                    }
                }
            }
        }
    }
    assert!(ends > 10, "{ends} leaders");
}

#[test]
fn strips_are_named_however_many_runs_there_are() {
    let mut plan = samples::full_plan(4);
    let slab = &mut plan.tops[0].slabs[0];
    for (i, layer) in slab.layers.iter_mut().enumerate() {
        layer.id = if i % 2 == 0 { "light" } else { "dark" }.into();
        layer.pitch = Mm(Length::from_mm(3));
    }
    let strips = slab.layers.len();
    let scene = slab::glue_up(&plan, 0, 0, Show::of(&plan, false)).unwrap();
    let said = words(&scene);
    for n in 1..=strips {
        assert!(said.contains(&n.to_string().as_str()), "strip {n}");
    }
    assert_eq!(scene.faults(), Vec::<String>::new());
}

#[test]
fn one_wood_has_one_tone_on_the_face_its_legend_and_the_slabs() {
    let plan = kept("two-woods");
    let show = Show::of(&plan, false);
    let tones = [Role::LaminationLight, Role::LaminationDark];
    for j in 0..plan.tops[0].slabs.len() {
        let scene = slab::glue_up(&plan, 0, j, show).unwrap();
        for mark in &scene.marks {
            let Some(name) = mark.name.as_ref().filter(|n| n.starts_with("Strip ")) else { continue };
            let id = name.split(": ").nth(1).unwrap();
            let sheet = &plan.demands.iter().find(|d| d.id == id).unwrap().sheets[0];
            let kind = plan.sheets.iter().position(|s| s.name == *sheet).unwrap();
            assert_eq!(mark.role, tones[kind], "{name} of {sheet}");
        }
    }
    // The order in which a face happens to list its cells changes nothing.
    let mut other = plan.clone();
    other.tops[0].face.cells.sort_by_key(|cell| cell.sheet != plan.sheets[1].name);
    assert_ne!(other.tops[0].face.cells[0].sheet, plan.tops[0].face.cells[0].sheet);
    for plan in [&plan, &other] {
        let scene = face::plate(plan, 0, show).unwrap();
        for (kind, sheet) in plan.sheets.iter().enumerate() {
            let text = scene.texts().into_iter().find(|t| t.words == sheet.name).unwrap();
            let swatch = scene
                .marks
                .iter()
                .filter_map(|m| match &m.shape {
                    Shape::Path(path) if tones.contains(&m.role) => Some((m.role, bounds(path))),
                    _ => None,
                })
                .find(|(_, b)| b[2] < text.at.x && text.at.x - b[2] < 2.0)
                .unwrap();
            assert_eq!(swatch.0, tones[kind], "{}", sheet.name);
        }
    }
}

#[test]
fn ply_lines_give_way_to_the_tones() {
    let plies = |pitch: f64| {
        let mut plan = samples::empty_plan();
        plan.tops = vec![samples::chevron_top(1500.0, 90.0, pitch, 45.0)];
        let scene = face::plate(&plan, 0, Show::of(&plan, false)).unwrap();
        let inner = scene.marks.iter().find_map(|m| match &m.shape {
            Shape::Clip(_, marks) => Some(marks.clone()),
            _ => None,
        });
        inner
            .unwrap()
            .iter()
            .filter(|m| m.role == Role::Ply)
            .map(|m| match &m.shape {
                Shape::Path(path) => path.0.len(),
                _ => 0,
            })
            .sum::<usize>()
    };
    assert!(plies(36.0) > 0);
    assert_eq!(plies(9.0), 0);
}

#[test]
fn captions_tell_how_large_the_pieces_of_a_slab_are() {
    for (name, said) in [
        ("herringbone-along", "of 216 × 54 mm"),
        ("sunburst", "of 30°"),
        ("chevron-round", "of 70 mm, measured square to the cut, at 45° to the strips"),
    ] {
        let plan = kept(name);
        let scene = slab::bands(&plan, 0, 0, Show::of(&plan, false)).unwrap();
        assert!(scene.description.contains(said), "{name}: {}", scene.description);
    }
}

#[test]
fn the_end_of_a_section_is_dashed_where_strips_meet() {
    let mut plan = samples::full_plan(4);
    plan.tops[0].glue = serde_json::from_value(serde_json::json!([{
        "stage": "strips into slabs", "joints": 26, "area": 1.0, "grams": 200.0, "section": 5, "glue_ups": 6,
        "clamps_by_spacing": 9, "clamps_by_force": 9, "clamp_spacing": 78
    }]))
    .unwrap();
    let scene = slab::glue_up(&plan, 0, 0, Show::of(&plan, false)).unwrap();
    let dashed: Vec<(usize, Bounds)> = scene
        .marks
        .iter()
        .enumerate()
        .filter_map(|(i, m)| match &m.shape {
            Shape::Path(path) if m.role == Role::Hidden => Some((i, bounds(path))),
            _ => None,
        })
        .collect();
    assert!(dashed.len() >= 4);
    for (i, line) in dashed {
        // Clear ground lies between the strips' edges and the dashes.
        let Shape::Path(ground) = &scene.marks[i - 1].shape else { unreachable!() };
        let b = bounds(ground);
        assert_eq!(scene.marks[i - 1].role, Role::Ground);
        assert!(b[1] < line[1] && line[3] < b[3] && b[2] - b[0] > 0.9 * (line[2] - line[0] - 6.0));
    }
}
