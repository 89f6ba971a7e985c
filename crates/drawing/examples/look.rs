//! Draws samples as SVG files, to be looked at: `cargo run --example look -- FOLDER [plan.json]`.
#![allow(clippy::disallowed_methods, clippy::unwrap_used, missing_docs)]

#[path = "../tests/samples/mod.rs"]
mod samples;

use stripwright_drawing::{draft::Show, face, rip, writer};

fn main() {
    let mut args = std::env::args().skip(1);
    let folder = args.next().unwrap();
    let mut scenes = Vec::new();
    if let Some(file) = args.next() {
        let plan: stripwright_plan::plan::Plan =
            serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
        let show = Show::of(&plan, false);
        for i in 0..plan.layouts.len() {
            scenes.extend(rip::plates(&plan, i, show));
        }
        for i in 0..plan.tops.len() {
            scenes.extend(face::plate(&plan, i, show));
        }
    } else {
        for seed in 0..12 {
            let plan = samples::random_plan(seed);
            for mut scene in rip::plates(&plan, 0, Show::of(&plan, false)) {
                scene.name = format!("seed-{seed}-{}", scene.name);
                scenes.push(scene);
            }
        }
        let mut plan = samples::empty_plan();
        plan.tops = vec![
            samples::chevron_top(600.0, 70.0, 18.0, 45.0),
            samples::chevron_top(340.0, 60.0, 18.0, 45.0),
        ];
        for i in 0..2 {
            scenes.extend(face::plate(&plan, i, Show::of(&plan, false)));
        }
    }
    for scene in scenes {
        for fault in scene.faults() {
            println!("{fault}");
        }
        std::fs::write(format!("{folder}/{}.svg", scene.name), writer::file(&scene)).unwrap();
    }
}
