//! The same job gives the same bytes: run after run, with one thread and with many, and as WebAssembly under Node.js.
//!
//! The last needs Node.js and Rust's target `wasm32-wasip1`. Where one of them is missing the test says so in one line
//! and passes; with `STRIPWRIGHT_REQUIRE_TOOLS=1`, or where `CI` is set, that is a failure.

#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a test of the whole program reads and writes files"
)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

const TARGET: &str = "wasm32-wasip1";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// The jobs of all fixtures that can be met, in order of their names.
fn jobs() -> Vec<PathBuf> {
    let folders = fs::read_dir(root().join("fixtures")).unwrap().map(|entry| entry.unwrap().path());
    let mut jobs: Vec<PathBuf> =
        folders.map(|folder| folder.join("job.json")).filter(|job| job.is_file()).collect();
    jobs.sort();
    assert!(jobs.len() >= 15, "only {} fixtures were found", jobs.len());
    jobs
}

#[test]
fn runs_and_threads_make_no_difference() {
    let lines: Vec<String> = jobs()
        .iter()
        .map(|job| serde_json::from_slice::<serde_json::Value>(&fs::read(job).unwrap()).unwrap().to_string())
        .collect();
    // Every job three times over, so that threads meet the same job at the same time.
    let scratch = tempfile::tempdir().unwrap();
    let file = scratch.path().join("jobs.jsonl");
    fs::write(&file, [lines.join("\n"), lines.join("\n"), lines.join("\n")].join("\n")).unwrap();
    let run = |threads: &str| {
        let program = Command::new(env!("CARGO_BIN_EXE_stripwright"))
            .arg("batch")
            .arg(&file)
            .args(["--threads", threads])
            .output()
            .unwrap();
        assert!(program.stderr.is_empty(), "{}", String::from_utf8_lossy(&program.stderr));
        program.stdout
    };
    let one = run("1");
    let plans: Vec<&[u8]> = one.split(|byte| *byte == b'\n').filter(|line| !line.is_empty()).collect();
    assert_eq!(plans.len(), 3 * lines.len());
    for (n, plan) in plans.iter().enumerate() {
        assert!(*plan == plans[n % lines.len()], "line {} differs from its first time", n + 1);
    }
    assert!(run("4") == one, "four threads differ from one");
}

#[test]
fn webassembly_makes_the_same_packet() {
    let Some(program) = program() else { return };
    let scratch = tempfile::tempdir().unwrap();
    for job in jobs() {
        let folder = job.parent().unwrap().file_name().unwrap();
        let packet = scratch.path().join(folder);
        let native = Command::new(env!("CARGO_BIN_EXE_stripwright"))
            .arg("plan")
            .arg(&job)
            .arg("--out")
            .arg(&packet)
            .output()
            .unwrap();
        assert!(native.status.success(), "{}", String::from_utf8_lossy(&native.stderr));
        let ran = Command::new("node")
            .arg("--no-warnings")
            .arg(root().join("tests/exact/run.mjs"))
            .arg(&program)
            .stdin(Stdio::from(fs::File::open(&job).unwrap()))
            .output()
            .unwrap();
        assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
        let files = files(&ran.stdout);
        // The command adds the job as it was given.
        assert_eq!(files.len() + 1, fs::read_dir(&packet).unwrap().count(), "{}", folder.display());
        for (name, bytes) in files {
            assert!(fs::read(packet.join(name)).unwrap() == bytes, "{}: {name} differs", folder.display());
        }
    }
}

/// Names and bytes, as `examples/packet.rs` of the drawings writes them.
fn files(mut bytes: &[u8]) -> Vec<(&str, &[u8])> {
    let mut files = Vec::new();
    while !bytes.is_empty() {
        let end = bytes.iter().position(|byte| *byte == b'\n').unwrap();
        let (name, length) = std::str::from_utf8(&bytes[..end]).unwrap().rsplit_once(' ').unwrap();
        let (file, rest) = bytes[end + 1..].split_at(length.parse().unwrap());
        files.push((name, file));
        bytes = rest;
    }
    files
}

/// Builds the core as a WebAssembly program; nothing where that cannot be had and need not be.
fn program() -> Option<PathBuf> {
    let has = |program: &str, arguments: &[&str]| {
        let ran = Command::new(program).args(arguments).output();
        ran.ok()
            .filter(|out| out.status.success())
            .map(|out| String::from_utf8_lossy(&out.stdout).into_owned())
    };
    let rust = has("rustc", &["--print", "target-libdir", "--target", TARGET]);
    if !rust.is_some_and(|folder| Path::new(folder.trim()).is_dir()) {
        return without("no wasm32-wasip1: run `rustup target add wasm32-wasip1`");
    }
    if has("node", &["--version"]).is_none() {
        return without("no node on the path");
    }
    let built = Command::new(env!("CARGO"))
        .current_dir(root())
        .args(["build", "--locked", "--target", TARGET, "-p", "stripwright-drawing", "--example", "packet"])
        .output()
        .unwrap();
    assert!(built.status.success(), "{}", String::from_utf8_lossy(&built.stderr));
    // Beside the folder for tests, wherever that was put.
    let target = Path::new(env!("CARGO_TARGET_TMPDIR")).parent().unwrap();
    Some(target.join(TARGET).join("debug/examples/packet.wasm"))
}

/// Skips, in words, unless that is forbidden.
fn without(what: &str) -> Option<PathBuf> {
    let set = |name| {
        std::env::var_os(name).is_some_and(|value| !value.is_empty() && value != "0" && value != "false")
    };
    assert!(!set("CI") && !set("STRIPWRIGHT_REQUIRE_TOOLS"), "{what}, and this may not be skipped");
    println!("WebAssembly is not compared: {what}");
    None
}
