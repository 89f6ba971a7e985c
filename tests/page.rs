//! The bench page, driven in a real browser.
//!
//! Needs Chromium, Node.js and `npm ci` in `tests/page`. Where one of them is missing the test says so in one line and
//! passes; with `STRIPWRIGHT_REQUIRE_BROWSER=1`, or where `CI` is set, that is a failure.

#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a test of the whole program reads and writes files"
)]

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};

fn main() -> ExitCode {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/page");
    // `cargo test -- --list` and filters are for tests of a harness; this is one test by itself.
    if std::env::args().any(|argument| argument == "--list") {
        println!("page: test");
        return ExitCode::SUCCESS;
    }
    let (chromium, node) = match (on_path(&["chromium", "chromium-browser"]), on_path(&["node"])) {
        (Some(chromium), Some(node)) if tests.join("node_modules").is_dir() => (chromium, node),
        (None, _) => return without("no chromium on the path"),
        (_, None) => return without("no node on the path"),
        _ => return without("no tests/page/node_modules: run `npm ci` there"),
    };
    let folder = std::env::temp_dir().join(format!("stripwright-page-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("job.json"), "{}").unwrap();
    let mut bench = Command::new(env!("CARGO_BIN_EXE_stripwright"))
        .args(["bench", "--no-open", "--out"])
        .arg(&folder)
        .arg(folder.join("job.json"))
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut url = String::new();
    BufReader::new(bench.stdout.take().unwrap()).read_line(&mut url).unwrap();
    let passed = Command::new(node)
        .current_dir(&tests)
        .arg("page.mjs")
        .args([url.trim()])
        .arg(&folder)
        .arg(chromium)
        .status()
        .unwrap()
        .success();
    bench.kill().unwrap();
    bench.wait().unwrap();
    std::fs::remove_dir_all(&folder).unwrap();
    if passed { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// The first of these programs that is on the path.
fn on_path(names: &[&str]) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    let folders: Vec<PathBuf> = std::env::split_paths(&path).collect();
    names
        .iter()
        .flat_map(|name| folders.iter().map(move |folder| folder.join(name)))
        .find(|program| program.is_file())
}

/// Skips, in words, unless that is forbidden.
fn without(what: &str) -> ExitCode {
    let set = |name| {
        std::env::var_os(name).is_some_and(|value| !value.is_empty() && value != "0" && value != "false")
    };
    if set("CI") || set("STRIPWRIGHT_REQUIRE_BROWSER") {
        println!("page tests FAILED: {what}, and CI or STRIPWRIGHT_REQUIRE_BROWSER forbids skipping them");
        return ExitCode::FAILURE;
    }
    println!("page tests skipped: {what}");
    ExitCode::SUCCESS
}
