//! Drawings, lists and steps of one plan say the same.
#![allow(missing_docs, clippy::unwrap_used, clippy::disallowed_methods)]

use std::collections::BTreeSet;

use stripwright_drawing::draft::{Show, bounds};
use stripwright_drawing::packet::content::drawings;
use stripwright_drawing::packet::lists;
use stripwright_drawing::scene::{Role, Scene, Shape, Text};
use stripwright_plan::job::Job;
use stripwright_plan::plan::{Plan, Step, Top};

fn planned(text: &str) -> Plan {
    let job = Job::read(text).unwrap();
    let budget = stripwright_plan::Budget::default();
    let mut options = stripwright_plan::Options { budget, progress: &mut |_| true, compare_slabs: false };
    stripwright_plan::plan(&job, &mut options).unwrap()
}

fn fixture(name: &str) -> Plan {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures");
    planned(&std::fs::read_to_string(root.join(name).join("job.json")).unwrap())
}

fn scenes(plan: &Plan, both: bool) -> Vec<Scene> {
    drawings(plan, Show::of(plan, both))
}

fn scene<'s>(scenes: &'s [Scene], name: &str) -> &'s Scene {
    scenes.iter().find(|s| s.name == name).unwrap()
}

fn step<'p>(plan: &'p Plan, id: &str) -> &'p Step {
    plan.steps.iter().find(|s| s.id == id).unwrap()
}

/// Numbers of pieces on a drawing, each with whether it stands in a ring; what explains them at the left edge left out.
fn numbers(scene: &Scene) -> BTreeSet<(u32, bool)> {
    let rings: Vec<[f64; 4]> = scene
        .marks
        .iter()
        .filter(|m| m.role == Role::Ring)
        .filter_map(|m| match &m.shape {
            Shape::Path(path) => Some(bounds(path)),
            _ => None,
        })
        .collect();
    let ringed = |t: &Text| {
        let b = t.bounds();
        rings.iter().any(|r| r[0] <= b[0] && r[1] <= b[1] && b[2] <= r[2] && b[3] <= r[3])
    };
    let bold = stripwright_drawing::font::Face::Bold;
    scene
        .texts()
        .into_iter()
        .filter(|t| t.face == bold && t.at.x > 6.0)
        .filter_map(|t| Some((t.words.parse().ok()?, ringed(t))))
        .collect()
}

fn turned(top: &Top) -> BTreeSet<(u32, bool)> {
    top.face.cells.iter().map(|c| (c.band, c.turned)).collect()
}

/// A ring round the number of a band means on every drawing what the steps say it means.
#[test]
fn rings_stand_round_the_numbers_of_turned_bands_only() {
    for name in ["chevron-round", "diamond", "herringbone-along", "sunburst"] {
        let plan = fixture(name);
        let scenes = scenes(&plan, false);
        for (n, top) in (1..).zip(&plan.tops) {
            assert_eq!(numbers(scene(&scenes, &format!("top-{n}-blank"))), turned(top), "{name}");
            for (s, slab) in (1..).zip(&top.slabs) {
                let drawn = scene(&scenes, &format!("top-{n}-bands-{s}"));
                let cut = slab.pieces.iter().filter_map(|p| Some((p.band?, p.turned))).collect();
                assert_eq!(numbers(drawn), cut, "{name}");
                assert!(drawn.marks.iter().all(|m| m.role != Role::RingFilled), "{name}");
            }
            let lay_out = step(&plan, &format!("top-{n}-lay-out")).text.join(" ");
            let any = turned(top).iter().any(|(_, turned)| *turned);
            assert_eq!(lay_out.contains("whose numbers stand in rings"), any, "{lay_out}");
        }
    }
}

/// Two cuts of a wedge along the strips are drawn, and where its point lies reads as in the step.
#[test]
fn wedges_are_drawn_with_their_cuts_and_their_point() {
    let plan = fixture("sunburst");
    let scenes = scenes(&plan, false);
    let drawn = scene(&scenes, "top-1-bands-1");
    assert_eq!(drawn.marks.iter().filter(|m| m.role == Role::Edge).count(), 2);
    assert_eq!(drawn.faults(), Vec::<String>::new());
    let said = step(&plan, "top-1-bands-1").text.join(" ");
    for figure in ["18.5", "233.5"] {
        assert!(drawn.texts().iter().any(|t| t.words == figure), "{figure}");
        assert!(said.contains(&format!("{figure} mm")), "{said}");
    }
}

/// The notes of a glue-up explain the lines that are drawn, and no others.
#[test]
fn parts_and_sections_are_explained_where_they_are_drawn() {
    for (open, dashed) in [(10, false), (4, true)] {
        let plan = planned(&format!(
            r#"{{"shop":{{"planer":{{"width":305}},"glue":{{"open_minutes":{open}}}}},
                "sheets":[{{"name":"ply","length":2440,"width":1220,"thickness":18,"price":90}}],
                "tops":[{{"name":"desk","finished":30,"outline":{{"kind":"rectangle","length":700,"width":500}},
                         "pattern":{{"kind":"straight"}}}}]}}"#
        ));
        let scenes = scenes(&plan, false);
        let drawn = scene(&scenes, "top-1-slab-1");
        assert!(plan.tops[0].slabs[0].parts.len() > 1);
        let notes: String = drawn.texts().iter().map(|t| t.words.as_str()).collect::<Vec<_>>().join(" ");
        assert!(notes.contains("Thick: end of a part."), "{notes}");
        assert_eq!(notes.contains("Dashed: end of a section."), dashed, "{notes}");
        assert_eq!(drawn.marks.iter().any(|m| m.role == Role::Hidden), dashed);
    }
}

/// A step refers to drawings that there are.
#[test]
fn drawings_that_steps_refer_to_are_drawn() {
    let stool = planned(include_str!("../../../fixtures/stool-with-base/job.json"));
    let seat = planned(
        r#"{"sheets":[{"name":"ply","length":2440,"width":1220,"thickness":18,"price":90}],
            "tops":[{"name":"seat","finished":30,"outline":{"kind":"round","diameter":340},
                     "pattern":{"kind":"herringbone","width":54,"length":162}}]}"#,
    );
    for plan in [stool, seat] {
        let scenes = scenes(&plan, false);
        let names: Vec<&str> = scenes.iter().map(|scene| scene.name.as_str()).collect();
        for step in &plan.steps {
            for drawing in &step.drawings {
                assert!(names.contains(&drawing.as_str()), "{}: {drawing} is not among {names:?}", step.id);
            }
        }
    }
}

/// A length that steps and drawings both give reads the same in both, in millimetres and in inches.
#[test]
fn measures_read_the_same_in_steps_and_drawings() {
    let inches = planned(
        r#"{"units":"in","sheets":[{"name":"ply","length":96,"width":48,"thickness":"0.709 in","price":90}],
            "tops":[{"name":"seat","finished":"1 1/4","outline":{"kind":"round","diameter":14},
                     "pattern":{"kind":"chevron","angle":40,"band":"2 1/2"}}]}"#,
    );
    let metric = planned(
        r#"{"mark":"0.5 mm","sheets":[{"name":"ply 15","length":2500,"width":1250,"thickness":15,"price":"64.50"}],
            "tops":[{"name":"seat","count":3,"finished":30,"margin":8,"outline":{"kind":"round","diameter":350},
                     "pattern":{"kind":"chevron","angle":50,"band":65}}]}"#,
    );
    let mut compared = 0;
    for plan in [inches, metric, fixture("diamond"), fixture("chevron-round"), fixture("running-bond")] {
        let scenes = scenes(&plan, false);
        let unit = format!(" {}", Show::of(&plan, false).unit());
        for step in &plan.steps {
            for setting in &step.settings {
                let given = [
                    "Length over all",
                    "Breadth when glued",
                    "Blank, from left to right",
                    "Blank, from bottom to top",
                ];
                if !given.contains(&setting.name.as_str()) {
                    continue;
                }
                let figure = setting.value.strip_suffix(&unit).unwrap();
                for drawing in &step.drawings {
                    let texts = scene(&scenes, drawing).texts();
                    assert!(
                        texts.iter().any(|t| t.words == figure),
                        "{}: {figure} on {drawing}",
                        setting.name
                    );
                    compared += 1;
                }
            }
        }
    }
    assert!(compared >= 20, "{compared}");
}

#[test]
fn the_radius_of_corners_is_told_wherever_the_outline_is() {
    for (name, figure) in [("straight-slanted", "40"), ("herringbone-along", "")] {
        let plan = fixture(name);
        let scenes = scenes(&plan, false);
        for drawing in ["top-1-face", "top-1-outline"] {
            let found: Vec<&str> = scene(&scenes, drawing)
                .texts()
                .into_iter()
                .filter_map(|t| t.words.strip_prefix("R "))
                .collect();
            let wanted: &[&str] = match (figure, drawing) {
                // The radius of a round is that of its outline.
                ("", "top-1-outline") => &["300"],
                ("", _) => &[],
                _ => &[figure],
            };
            assert_eq!(found, wanted, "{name}: {drawing}");
        }
        let rounded = !figure.is_empty();
        let cut = step(&plan, "top-1-outline");
        assert_eq!(
            cut.settings.iter().any(|s| s.name == "Radius of the corners" && s.value == "40 mm"),
            rounded
        );
        assert_eq!(cut.text.join(" ").contains("corners of radius 40 mm"), rounded, "{:?}", cut.text);
        let subject = &scene(&scenes, "top-1-outline").description;
        assert_eq!(subject.contains("corners of radius 40 mm"), rounded, "{subject}");
    }
}

/// Legs, rungs two lanes deep, plain sticks: a board's every kind of piece.
const STICKS: &str = r#"{
    "shop":{"table_saw":{"kerf":"3 mm"}},
    "lumber":[{"name":"pine 44x70","section":[70,44],"length":"3000 mm","price":"6.20"},
              {"name":"pine 44x70 short","section":[70,44],"length":"1800 mm","price":"3.60"}],
    "sticks":[{"name":"rail","length":"900 mm","count":5},{"name":"stile","length":"640 mm","count":4}],
    "sheets":[{"name":"ply 12","length":2440,"width":1220,"thickness":12,"price":"55"}],
    "parts":[{"name":"shelf","length":400,"width":200,"count":3}],
    "bases":[{"name":"legs","height":"300 mm","floor_spread":"300 mm","floor_spread_depth":"220 mm","top_spread":"240 mm",
              "top_spread_depth":"180 mm","leg":"30 mm","rungs":[{"height":270,"thickness":18,"width":40},{"height":120}],
              "joint":{"kind":"tenon"},"count":2}]
}"#;

#[test]
fn every_stick_on_a_board_has_its_letter() {
    let plan = planned(STICKS);
    for both in [false, true] {
        let boards: Vec<Scene> =
            scenes(&plan, both).into_iter().filter(|s| s.name.starts_with("boards")).collect();
        assert!(boards.iter().all(|s| s.faults().is_empty()), "{:?}", boards[0].faults());
        let words: Vec<&str> = boards.iter().flat_map(Scene::texts).map(|t| t.words.as_str()).collect();
        for line in lists::cut_lines(&plan).iter().filter(|l| l.layout.starts_with("board")) {
            let drawn = boards
                .iter()
                .flat_map(|s| &s.marks)
                .filter(|m| m.name.as_ref().is_some_and(|n| n.starts_with(&format!("{}: ", line.letter))))
                .count();
            // One of the letters stands in the list of the sticks.
            // Beside a stick too narrow for it the letter may have the stick's length with it.
            let is_length = |rest: &str| rest.trim().chars().all(|c| !c.is_alphabetic());
            let names = |w: &&&str| {
                w.strip_prefix(line.letter.as_str()).is_some_and(|rest| rest.is_empty() || is_length(rest))
            };
            let lettered = words.iter().filter(names).count() - 1;
            assert!(drawn > 0 && lettered == drawn, "{}: {lettered} of {drawn}, both {both}", line.letter);
        }
    }
}

#[test]
fn the_cut_list_holds_every_piece_of_sheets_and_boards() {
    let plan = planned(STICKS);
    let lines = lists::cut_lines(&plan);
    let many =
        |name: &str| -> u32 { lines.iter().filter(|l| l.part == name).map(|l| l.each * l.times).sum() };
    assert_eq!((many("shelf"), many("rail"), many("stile"), many("legs leg")), (3, 5, 4, 8));
    let on_boards: u32 =
        plan.sticks.iter().map(|s| s.times * s.pieces.iter().map(|p| p.layers).sum::<u32>()).sum();
    let listed: u32 = lines.iter().filter(|l| l.layout.starts_with("board ")).map(|l| l.each * l.times).sum();
    assert_eq!(listed, on_boards);
    // Each is found on the board that it names, of the lumber that it names.
    for line in lines.iter().filter(|l| l.layout.starts_with("board ")) {
        let n: usize = line.layout["board ".len()..].parse().unwrap();
        let stick = &plan.sticks[n - 1];
        assert_eq!((&line.sheet, line.times), (&stick.lumber, stick.times));
        assert!(stick.pieces.iter().any(|p| p.part == line.part && *p.length == line.length));
        assert_eq!(line.thickness.is_some(), line.part.starts_with("legs "), "{}", line.part);
    }
    let letters: BTreeSet<(&String, &String)> = lines.iter().map(|l| (&l.letter, &l.part)).collect();
    let names: BTreeSet<&String> = lines.iter().map(|l| &l.part).collect();
    assert!(letters.len() >= names.len() && letters.len() > 6, "{letters:?}");
    let text = String::from_utf8(lists::cut_list(&plan).unwrap()).unwrap();
    assert_eq!(text.lines().count(), lines.len() + 1);
}
