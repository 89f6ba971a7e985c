//! Drawings of bases and of the boards they come from, as a maker reads them on paper; and the pages they stand on.
#![allow(missing_docs, clippy::unwrap_used, clippy::disallowed_methods)]

use std::path::Path as File;

use stripwright_drawing::Options;
use stripwright_drawing::draft::{Show, lettering};
use stripwright_drawing::font::Face;
use stripwright_drawing::packet::content::{Block, Document, Section, StepBlock, document, drawings};
use stripwright_drawing::packet::pages;
use stripwright_drawing::rip;
use stripwright_drawing::scene::{Path, Point, Role, Scene, Segment, Shape, Text};
use stripwright_plan::job::Job;
use stripwright_plan::plan::{Plan, Units};

fn planned(name: &str) -> Plan {
    let job = File::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures").join(name).join("job.json");
    let job = Job::read(&std::fs::read_to_string(job).unwrap()).unwrap();
    let budget = stripwright_plan::Budget::default();
    let mut options = stripwright_plan::Options { budget, progress: &mut |_| true, compare_slabs: false };
    stripwright_plan::plan(&job, &mut options).unwrap()
}

fn plans() -> [Plan; 2] {
    ["bench-in-inches", "stool-with-base"].map(planned)
}

/// Drawings of bases, in one system and in both.
fn bases(plan: &Plan) -> Vec<Scene> {
    let all = [false, true].into_iter().flat_map(|both| drawings(plan, Show::of(plan, both)));
    all.filter(|scene| scene.name.starts_with("base-")).collect()
}

/// The paths of a role, each as its points.
fn paths(scene: &Scene, role: Role) -> Vec<Vec<Point>> {
    let points = |path: &Path| {
        let point = |segment: &Segment| match *segment {
            Segment::Move(p) | Segment::Line(p) | Segment::Curve(_, _, p) => Some(p),
            Segment::Close => None,
        };
        path.0.iter().filter_map(point).collect()
    };
    let of_role = |mark: &stripwright_drawing::scene::Mark| match &mark.shape {
        Shape::Path(path) if mark.role == role => Some(points(path)),
        _ => None,
    };
    scene.marks.iter().filter_map(of_role).collect()
}

/// What is written beside lines; not titles, nor numbers in rings.
fn figures(scene: &Scene) -> Vec<&Text> {
    let all = scene.texts().into_iter();
    all.filter(|text| text.face == Face::Medium && text.size == lettering::LABEL).collect()
}

#[test]
fn words_on_one_line_are_not_read_as_one() {
    for scene in plans().iter().flat_map(bases) {
        let level: Vec<&Text> = figures(&scene).into_iter().filter(|text| !text.upright).collect();
        for (n, a) in level.iter().enumerate() {
            for b in &level[..n] {
                let ([al, at, ar, ab], [bl, bt, br, bb]) = (a.bounds(), b.bounds());
                let beside = at.max(bt) + 0.5 < ab.min(bb);
                let gap = (al - br).max(bl - ar);
                assert!(!beside || gap > 2.0, "{}: `{}` {gap} mm from `{}`", scene.name, a.words, b.words);
            }
        }
    }
}

fn side(a: Point, b: Point, p: Point) -> f64 {
    (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)
}

/// A leader that goes across a dimension line seems to belong to it.
#[test]
fn no_leader_crosses_a_dimension() {
    let mut leaders = 0;
    for scene in plans().iter().flat_map(bases) {
        // Dimension lines have an arrowhead at each end; extension lines have none.
        let tips: Vec<Point> = paths(&scene, Role::Arrow).into_iter().map(|head| head[0]).collect();
        let is_tip = |p: &Point| tips.iter().any(|q| (p.x - q.x).abs() + (p.y - q.y).abs() < 1e-6);
        let mut dimensions = paths(&scene, Role::Dimension);
        dimensions.retain(|run| is_tip(&run[0]) && is_tip(&run[run.len() - 1]));
        assert!(!dimensions.is_empty() || scene.name.ends_with("marking"), "{}", scene.name);
        for leader in paths(&scene, Role::Leader) {
            let [from, to] = leader[..] else { panic!("one stroke") };
            // It begins on the line it speaks of.
            let long = ((to.x - from.x).powi(2) + (to.y - from.y).powi(2)).sqrt();
            let on = |t: f64| Point { x: from.x + t * (to.x - from.x), y: from.y + t * (to.y - from.y) };
            let start = on((0.5 / long).min(0.5));
            for line in dimensions.iter().flat_map(|run| run.windows(2)) {
                let crosses = side(start, to, line[0]) * side(start, to, line[1]) < 0.0
                    && side(line[0], line[1], start) * side(line[0], line[1], to) < 0.0;
                assert!(!crosses, "{}: {leader:?} crosses {line:?}", scene.name);
            }
            leaders += 1;
        }
    }
    assert!(leaders > 40, "{leaders}");
}

/// The leader of a lean ends on the arc of the angle, not beyond it.
#[test]
fn a_lean_is_led_to_its_arc() {
    let plan = planned("bench-in-inches");
    let scene = bases(&plan).into_iter().find(|scene| scene.name == "base-1-front").unwrap();
    assert!(figures(&scene).iter().any(|text| text.words.starts_with("lean ")));
    let arcs: Vec<Point> =
        paths(&scene, Role::Dimension).into_iter().filter(|run| run.len() > 2).flatten().collect();
    let on_arc = |p: Point| arcs.iter().any(|q| (p.x - q.x).abs() + (p.y - q.y).abs() < 1e-6);
    assert!(paths(&scene, Role::Leader).iter().any(|leader| on_arc(leader[0])));
}

/// In the elevation of its side each rung has its name in the steps and the letter of its stick on the boards.
#[test]
fn rungs_are_named_in_elevation() {
    for plan in plans() {
        let all = drawings(&plan, Show::of(&plan, false));
        let boards = all.iter().filter(|scene| scene.name.starts_with("boards")).flat_map(|s| &s.marks);
        let names: Vec<String> = boards.filter_map(|mark| mark.name.clone()).collect();
        for (n, base) in plan.bases.iter().enumerate() {
            for rung in &base.rungs {
                let stick = format!(": {} {}", base.name, rung.name);
                let letter = names.iter().find_map(|name| name.strip_suffix(&stick)).unwrap();
                let seen = if rung.name.starts_with("front") { "front" } else { "side" };
                let scene = all.iter().find(|s| s.name == format!("base-{}-{seen}", n + 1)).unwrap();
                let wanted = format!("{} ({letter})", rung.name);
                assert!(scene.texts().iter().any(|text| text.words == wanted), "{}: {wanted}", scene.name);
            }
        }
    }
}

/// No lettering on boards is smaller than print can be read, and every piece still has its letter.
#[test]
fn boards_can_be_read_in_print() {
    for plan in plans() {
        let scenes: Vec<Scene> = [false, true]
            .into_iter()
            .flat_map(|both| drawings(&plan, Show::of(&plan, both)))
            .filter(|scene| scene.name.starts_with("boards"))
            .collect();
        let texts: Vec<&Text> = scenes.iter().flat_map(Scene::texts).collect();
        for text in &texts {
            assert!(text.size >= lettering::SMALL, "`{}` is {} mm", text.words, text.size);
        }
        let pieces: Vec<String> = scenes
            .iter()
            .flat_map(|s| &s.marks)
            .filter(|mark| mark.role == Role::Piece)
            .map(|mark| mark.name.as_ref().unwrap().split(':').next().unwrap().to_string())
            .collect();
        assert!(pieces.len() > 8);
        for letter in &pieces {
            let labels = texts.iter().filter(|t| {
                t.face == Face::Bold && (t.words == *letter || t.words.starts_with(&format!("{letter} ")))
            });
            let wanted = pieces.iter().filter(|other| *other == letter).count();
            assert!(labels.count() >= wanted, "{letter}");
        }
    }
}

/// Sheets are plywood here: pages are called pages.
#[test]
fn pages_are_called_pages() {
    for plan in plans() {
        let pages = pages::set(&document(&plan, &Options { both: false }), plan.units);
        let n = pages.scenes.len();
        for (i, page) in pages.scenes.iter().enumerate() {
            let words: Vec<&str> = page.texts().iter().map(|text| text.words.as_str()).collect();
            assert!(words.contains(&format!("page {} of {n}", i + 1).as_str()), "{words:?}");
            assert!(!words.iter().any(|w| w.starts_with("sheet ") && w.ends_with(&format!(" of {n}"))));
            assert_eq!(page.description, format!("Page {} of {n}.", i + 1));
        }
    }
}

/// However much stands before it, a step's last lines are not left on a page of their own before a drawing that lies lengthwise;
/// and nothing of it is lost or told twice when it is set anew.
#[test]
fn the_tail_of_a_step_keeps_with_it() {
    let words = |n: usize| (0..n).map(|i| format!("Paragraph {i}.")).collect::<Vec<_>>();
    let mut moved = 0;
    for lines in 0..45 {
        let step = StepBlock {
            number: 1,
            title: "Saw".into(),
            of: String::new(),
            time: String::new(),
            text: words(12),
            facts: Vec::new(),
            runs: None,
            cautions: Vec::new(),
            reminder: String::new(),
            drawings: "See the drawing.".into(),
        };
        let wide = Scene::new("wide", "Wide", rip::PAPER.0, rip::PAPER.1);
        let blocks = vec![Block::Points(words(lines)), Block::Step(step), Block::Drawing(wide)];
        let sections = vec![Section { id: "steps", title: "The work".into(), blocks }];
        let document = Document { title: "Job".into(), subtitle: String::new(), sections };
        let pages = pages::set(&document, Units::Metric);
        let wide = pages.scenes.iter().position(|page| page.width > page.height).unwrap();
        let told = |page: &Scene| page.texts().iter().filter(|t| t.words.starts_with("Paragraph")).count();
        let before = &pages.scenes[wide - 1];
        assert!(told(before) >= 6, "after {lines} lines: {} on the page before", told(before));
        assert_eq!(pages.scenes.iter().map(told).sum::<usize>(), lines + 12);
        let steps = pages.bookmarks.iter().filter(|mark| mark.title == "1 Saw").count();
        assert_eq!((steps, pages.scenes.len()), (1, wide + 1));
        for element in &pages.elements {
            assert!(element.parts.iter().all(|(page, marks)| marks.end <= pages.scenes[*page].marks.len()));
        }
        // A page that a step would have begun on ends early.
        moved +=
            usize::from(wide == 2 && told(before) >= 12 && lines > 25 && told(&pages.scenes[0]) == lines);
    }
    assert!(moved > 0, "no step was set anew");
}
