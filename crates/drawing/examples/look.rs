//! Draws samples as SVG files, to be looked at: `cargo run --example look -- FOLDER [plan.json]`.
#![allow(clippy::disallowed_methods, clippy::unwrap_used, clippy::print_stdout, missing_docs)]

#[path = "../tests/samples/mod.rs"]
mod samples;

use stripwright_drawing::draft::Show;
use stripwright_drawing::packet::{content, pages};
use stripwright_drawing::{Options, packet, rip, writer};

fn main() {
    let mut args = std::env::args().skip(1);
    let folder = args.next().unwrap();
    std::fs::create_dir_all(&folder).unwrap();
    if let Some(file) = args.next() {
        let text = std::fs::read_to_string(&file).unwrap();
        let plan: stripwright_plan::plan::Plan = if file.ends_with("job.json") {
            let job = stripwright_plan::Job::read(&text).unwrap();
            let mut options = stripwright_plan::Options {
                budget: stripwright_plan::Budget::default(),
                progress: &mut |_| true,
                compare_slabs: false,
            };
            stripwright_plan::plan(&job, &mut options).unwrap()
        } else {
            serde_json::from_str(&text).unwrap()
        };
        write(&folder, &plan, args.next().is_some());
        return;
    }
    for seed in 0..8 {
        let plan = samples::random_plan(seed);
        for scene in rip::plates(&plan, 0, Show::of(&plan, false)) {
            std::fs::write(format!("{folder}/seed-{seed}-{}.svg", scene.name), writer::file(&scene)).unwrap();
        }
    }
    write(&folder, &samples::full_plan(4), false);
}

fn write(folder: &str, plan: &stripwright_plan::plan::Plan, both: bool) {
    let options = Options { both };
    let start = std::time::Instant::now();
    let files = packet(plan, &options).unwrap();
    println!("{:.3} s", start.elapsed().as_secs_f64());
    for (name, bytes) in files {
        println!("{name} {}", bytes.len());
        std::fs::write(format!("{folder}/{name}"), bytes).unwrap();
    }
    let document = content::document(plan, &options);
    let drawings = content::drawings(plan, Show::of(plan, both));
    for scene in pages::set(&document, plan.units).scenes.iter().chain(&drawings) {
        for fault in scene.faults() {
            println!("{fault}");
        }
    }
}
