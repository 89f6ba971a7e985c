//! `stripwright batch` as the plain worker of an engine that shards lines: two workers, one of them killed midway, and
//! a thousand jobs in are a thousand plans out, the same bytes as one run alone.
//!
//! The engine is Dask, set up in a Python environment of its own under `target/` from `tests/shards/requirements.txt`.
//! Where Python's venv or the package index is missing the test says so in one line and passes; with
//! `STRIPWRIGHT_REQUIRE_TOOLS=1`, or where `CI` is set, that is a failure.

#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a test of the whole program reads and writes files"
)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

use serde_json::json;

const JOBS: usize = 1000;

fn main() -> ExitCode {
    // `cargo test -- --list` and filters are for tests of a harness; this is one test by itself.
    if std::env::args().any(|argument| argument == "--list") {
        println!("shards: test");
        return ExitCode::SUCCESS;
    }
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/shards");
    let python = match python(&tests.join("requirements.txt")) {
        Ok(python) => python,
        Err(missing) => return without(&missing),
    };
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("shards-work");
    fs::create_dir_all(&folder).unwrap();
    let (jobs, alone, sharded) =
        (folder.join("jobs.jsonl"), folder.join("alone.jsonl"), folder.join("sharded.jsonl"));
    fs::write(&jobs, (0..JOBS).map(line).collect::<String>()).unwrap();
    let program = env!("CARGO_BIN_EXE_stripwright");
    let batch = Command::new(program).arg("batch").arg(&jobs).output().unwrap();
    assert!(batch.status.success());
    fs::write(&alone, &batch.stdout).unwrap();
    let _ = fs::remove_file(&sharded);
    let ran = Command::new(python)
        .arg(tests.join("plan.py"))
        .args([Path::new(program), &jobs, &sharded])
        .arg("--kill-one")
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&ran.stdout).into_owned();
    assert!(ran.status.success(), "{said}\n{}", String::from_utf8_lossy(&ran.stderr));
    print!("{said}");
    assert!(said.contains("killed one of 2 workers") && !said.contains("held 0 "), "{said}");
    assert!(said.contains(&format!("{JOBS} jobs in, {JOBS} lines out")), "{said}");
    assert!(
        fs::read(&sharded).unwrap() == batch.stdout,
        "compare {} with {}",
        sharded.display(),
        alone.display()
    );
    println!("the same bytes as one run alone");
    ExitCode::SUCCESS
}

/// A job, or every hundredth time a line that is none.
fn line(n: usize) -> String {
    if n % 100 == 99 {
        return "{\"sheets\":\n".to_string();
    }
    let parts: Vec<_> = (0..1 + n % 2)
        .map(|k| {
            let (length, width) = (150 + (n * 37 + k * 211) % 800, 100 + (n * 53 + k * 97) % 300);
            json!({ "name": format!("panel {k}"), "length": length, "width": width, "count": 2 + (n + k) % 5 })
        })
        .collect();
    let sheet = json!({ "name": "board", "length": 2440, "width": 1220, "price": 21 });
    json!({ "title": format!("order {n}"), "sheets": [sheet], "parts": parts }).to_string() + "\n"
}

/// Python with what is required; made anew when that has changed.
fn python(requirements: &Path) -> Result<PathBuf, String> {
    let environment = Path::new(env!("CARGO_TARGET_TMPDIR")).join("shards-python");
    let (python, made) = (environment.join("bin/python"), environment.join("made-of.txt"));
    let wanted = fs::read(requirements).unwrap();
    if fs::read(&made).is_ok_and(|made| made == wanted) {
        return Ok(python);
    }
    let run = |what: &str, command: &mut Command| match command.output() {
        Ok(out) if out.status.success() => Ok(()),
        Ok(out) => {
            let said = String::from_utf8_lossy(&[out.stdout, out.stderr].concat()).into_owned();
            Err(format!("{what}: {}", said.lines().last().unwrap_or("it failed")))
        }
        Err(error) => Err(format!("{what}: {error}")),
    };
    let venv = ["-m", "venv", "--clear"];
    run("python3 -m venv does not work", Command::new("python3").args(venv).arg(&environment))?;
    let install =
        ["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--require-hashes", "-r"];
    run("the required packages cannot be installed", Command::new(&python).args(install).arg(requirements))?;
    fs::write(made, wanted).unwrap();
    Ok(python)
}

/// Skips, in words, unless that is forbidden.
fn without(what: &str) -> ExitCode {
    let set = |name| {
        std::env::var_os(name).is_some_and(|value| !value.is_empty() && value != "0" && value != "false")
    };
    if set("CI") || set("STRIPWRIGHT_REQUIRE_TOOLS") {
        println!("shards test FAILED: {what}; CI or STRIPWRIGHT_REQUIRE_TOOLS forbids skipping it");
        return ExitCode::FAILURE;
    }
    println!("shards test skipped: {what}");
    ExitCode::SUCCESS
}
