//! Plans the job on standard input and writes its whole packet to standard output: for each file a line with its name
//! and number of bytes, then the bytes.
//!
//! It has no file, clock or thread, so that it runs wherever the core does. The test `exact` builds it for WebAssembly
//! and compares every byte with what the command writes.

#![allow(clippy::print_stderr, reason = "an example has a terminal")]

use std::io::{Read, Write};
use std::process::ExitCode;

use stripwright_plan::{Budget, Job, Options};

fn main() -> ExitCode {
    match packet() {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("{why}");
            ExitCode::FAILURE
        }
    }
}

fn packet() -> Result<(), String> {
    let told = |error: std::io::Error| error.to_string();
    let mut text = String::new();
    std::io::stdin().read_to_string(&mut text).map_err(told)?;
    let sentences = |faults: Vec<stripwright_plan::Fault>| {
        faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    };
    let job = Job::read(&text).map_err(sentences)?;
    let mut options = Options { budget: Budget::default(), progress: &mut |_| true, compare_slabs: true };
    let plan = stripwright_plan::plan(&job, &mut options).map_err(sentences)?;
    let json = serde_json::to_string_pretty(&plan).map_err(|error| error.to_string())? + "\n";
    let mut files = vec![("plan.json".to_string(), json.into_bytes())];
    files.extend(stripwright_drawing::packet(&plan, &stripwright_drawing::Options::default())?);
    let mut out = std::io::stdout().lock();
    for (name, bytes) in files {
        writeln!(out, "{name} {}", bytes.len()).and_then(|()| out.write_all(&bytes)).map_err(told)?;
    }
    out.flush().map_err(told)
}
