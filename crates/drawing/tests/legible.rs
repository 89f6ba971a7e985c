//! Every drawing of every fixture can be read: words clear of words, of lines and of the paper's edges.
#![allow(missing_docs, clippy::unwrap_used, clippy::disallowed_methods)]

mod samples;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use samples::Dice;

use stripwright_drawing::draft::Show;
use stripwright_drawing::font::Face;
use stripwright_drawing::packet::content::drawings;
use stripwright_plan::job::Job;
use stripwright_plan::plan::Plan;

fn planned(text: &str) -> Option<Plan> {
    let job = Job::read(text).ok()?;
    let budget = stripwright_plan::Budget::default();
    let mut options = stripwright_plan::Options { budget, progress: &mut |_| true, compare_slabs: false };
    stripwright_plan::plan(&job, &mut options).ok()
}

fn folders() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures");
    let all = std::fs::read_dir(root).unwrap().map(|entry| entry.unwrap().path());
    let mut found: Vec<PathBuf> = all.filter(|folder| folder.join("job.json").is_file()).collect();
    found.sort();
    assert!(found.len() > 10);
    found
}

#[test]
fn every_fixture_can_be_read() {
    let mut faults = Vec::new();
    for folder in folders() {
        let plan = planned(&std::fs::read_to_string(folder.join("job.json")).unwrap()).unwrap();
        for both in [false, true] {
            for scene in drawings(&plan, Show::of(&plan, both)) {
                let name = folder.file_name().unwrap().to_string_lossy().into_owned();
                let short = scene.texts().into_iter().filter(|t| t.words.contains('…'));
                faults.extend(short.map(|t| format!("{name}, both {both}: `{}` is cut short", t.words)));
                faults
                    .extend(scene.faults().into_iter().map(|fault| format!("{name}, both {both}: {fault}")));
            }
        }
    }
    assert!(faults.is_empty(), "{} faults\n{}", faults.len(), faults.join("\n"));
}

#[test]
fn tops_and_slabs_of_random_sizes_can_be_read() {
    for seed in 0..40 {
        let plan = samples::full_plan(seed);
        for scene in drawings(&plan, Show::of(&plan, seed % 2 == 0)) {
            assert_eq!(scene.faults(), Vec::<String>::new(), "seed {seed}");
        }
    }
}

/// A base of random leans, sections, rungs and joints, in either system, with or without a top.
fn random_base(seed: u64) -> String {
    let mut dice = Dice::new(seed);
    let mut between = |low: u64, high: u64| low + dice.below(high - low);
    let inches = seed.is_multiple_of(3);
    let unit = if inches { "in" } else { "mm" };
    let size = |mm: u64| {
        if inches { format!("\"{} in\"", (mm as f64 / 25.4 * 8.0).round() / 8.0) } else { mm.to_string() }
    };
    let leg = between(28, 60);
    let height = between(250, 750);
    let mut rungs = Vec::new();
    for (n, sides) in ["front and back", "left and right", "all"].iter().enumerate() {
        if between(0, 4) > 0 {
            let up = height * (n as u64 + 1) / 4 + between(0, 40);
            let stance = if between(0, 3) == 0 { "plumb" } else { "leaning" };
            let edges = if between(0, 3) == 0 { "square" } else { "level" };
            let set_in = if between(0, 2) == 0 { 0 } else { between(1, 6) };
            rungs.push(format!(
                r#"{{"height":{},"sides":"{sides}","stance":"{stance}","edges":"{edges}","set_in":{}}}"#,
                size(up),
                size(set_in)
            ));
        }
    }
    let joint = if between(0, 2) == 0 { "dowels" } else { "tenon" };
    let top = if between(0, 2) == 0 {
        format!(r#","top_thickness":{}"#, size(between(18, 40)))
    } else {
        String::new()
    };
    format!(
        r#"{{"units":"{unit}","bases":[{{"name":"frame {seed}","height":{},"front_lean":{},"side_lean":{},"leg":{},"leg_depth":{},
            "top_spread":{},"top_spread_depth":{},"rungs":[{}],"joint":{{"kind":"{joint}"}}{top}}}]}}"#,
        size(height),
        between(0, 24),
        between(0, 18),
        size(leg),
        size(leg + between(0, 12)),
        size(between(160, 700)),
        size(between(160, 400)),
        rungs.join(",")
    )
}

/// Plain lengths have no width of their own; many boards go on to further sheets.
#[test]
fn boards_of_plain_lengths_can_be_read() {
    let sticks: Vec<String> =
        (0..24).map(|n| format!(r#"{{"name":"batten {n}","length":{},"count":3}}"#, 240 + 77 * n)).collect();
    let job = format!(
        r#"{{"lumber":[{{"name":"lath","length":2400,"price":"3.10"}}],"sticks":[{}]}}"#,
        sticks.join(",")
    );
    let plan = planned(&job).unwrap();
    let scenes = drawings(&plan, Show::of(&plan, true));
    assert!(scenes.len() > 1 && scenes.iter().all(|scene| scene.name.starts_with("boards")));
    for scene in &scenes {
        assert_eq!(scene.faults(), Vec::<String>::new());
    }
    let words: Vec<String> = scenes.iter().flat_map(|s| s.texts()).map(|t| t.words.clone()).collect();
    let on_boards: u32 = plan.sticks.iter().map(|s| s.pieces.len() as u32).sum();
    let drawn = scenes
        .iter()
        .flat_map(|s| &s.marks)
        .filter(|m| m.role == stripwright_drawing::scene::Role::Piece)
        .count();
    assert_eq!(drawn as u32, on_boards);
    assert!(words.iter().all(|w| !w.contains('×') || w.starts_with("length ×")), "no widths");
}

/// The numbers in rings on a drawing of a base, and how often each is there.
fn numbered(scene: &stripwright_drawing::scene::Scene) -> BTreeMap<String, u32> {
    let mut times = BTreeMap::new();
    let is_number = |words: &str| words.chars().all(|c| c.is_ascii_digit());
    for text in scene.texts().into_iter().filter(|t| t.face == Face::Bold && is_number(&t.words)) {
        *times.entry(text.words.clone()).or_default() += 1;
    }
    times
}

#[test]
fn random_bases_can_be_read() {
    let mut drawn = 0;
    for seed in 0..200 {
        let text = random_base(seed);
        let Some(plan) = planned(&text) else { continue };
        for scene in drawings(&plan, Show::of(&plan, seed % 2 == 0)) {
            assert_eq!(scene.faults(), Vec::<String>::new(), "{text}");
            for (number, times) in numbered(&scene) {
                assert_eq!(times, 2, "{}: {number} is in the drawing and below it, {text}", scene.name);
            }
            drawn += 1;
        }
    }
    assert!(drawn > 400, "only {drawn} drawings: most bases were refused");
}
