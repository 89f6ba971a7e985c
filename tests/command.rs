//! The command as a promise: exit codes, what is kept, what goes where.

#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "a test of the whole program reads and writes files"
)]

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

const JOB: &str = r#"{"sheets":[{"name":"board","length":1000,"width":500,"price":10}],
    "parts":[{"name":"panel","length":400,"width":200,"count":5}]}"#;

fn stripwright(folder: &Path, arguments: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_stripwright"))
        .current_dir(folder)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A command that refuses its arguments may not read at all.
    let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
    child.wait_with_output().unwrap()
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

/// Five panels of 400 x 200 on boards of 1000 x 500 with the default kerf of 3.2: four fit a board, so two boards.
#[test]
fn a_plain_job_goes_in_by_standard_input_and_comes_out_as_json() {
    let folder = tempfile::tempdir().unwrap();
    let out = stripwright(folder.path(), &["buy", "-", "--json"], JOB);
    assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
    let buy: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(buy["buy"]["sheets"][0]["count"], 2);
    assert_eq!(buy["buy"]["total"], 2000);
    assert_eq!(buy["bound"]["proven"], true);
}

#[test]
fn exit_codes_tell_a_bad_job_from_one_that_cannot_be_met() {
    let folder = tempfile::tempdir().unwrap();
    let code = |arguments: &[&str], input: &str| stripwright(folder.path(), arguments, input).status.code();
    assert_eq!(code(&["buy", "-"], JOB), Some(0));
    assert_eq!(code(&["buy", "-"], &JOB.replace("400", "4000")), Some(1));
    assert_eq!(code(&["buy", "-"], &JOB.replace("400", "-400")), Some(2));
    assert_eq!(code(&["buy", "missing.json"], ""), Some(2));
    assert_eq!(code(&["bui", "-"], ""), Some(2));
}

#[test]
fn an_existing_packet_is_kept_unless_replaced() {
    let folder = tempfile::tempdir().unwrap();
    let packet = folder.path().join("packet");
    let plan = |more: &[&str]| {
        let arguments = [&["plan", "-", "--out", "packet"], more].concat();
        stripwright(folder.path(), &arguments, JOB)
    };
    assert_eq!(plan(&[]).status.code(), Some(0));
    fs::write(packet.join("mine.txt"), "a note of my own").unwrap();
    let again = plan(&[]);
    assert_eq!(again.status.code(), Some(2));
    assert!(text(&again.stderr).contains("exists already"), "{}", text(&again.stderr));
    assert!(packet.join("mine.txt").exists());
    assert_eq!(plan(&["--replace"]).status.code(), Some(0));
    assert!(!packet.join("mine.txt").exists() && packet.join("plan.json").exists());
    // Nothing half-written is left beside it.
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn a_starter_job_plans_and_is_never_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let run = |arguments: &[&str]| stripwright(folder.path(), arguments, "");
    assert_eq!(run(&["start", "job.json"]).status.code(), Some(0));
    let before = fs::read(folder.path().join("job.json")).unwrap();
    assert_eq!(run(&["start", "job.json"]).status.code(), Some(2));
    assert_eq!(fs::read(folder.path().join("job.json")).unwrap(), before);
    let planned = run(&["plan", "job.json", "--out", "packet"]);
    assert_eq!(planned.status.code(), Some(0), "{}", text(&planned.stderr));
    assert!(
        text(&planned.stdout).lines().all(|line| line.chars().count() <= 80),
        "{}",
        text(&planned.stdout)
    );
    assert_eq!(run(&["audit", "packet"]).status.code(), Some(0));
}

#[test]
fn an_audit_finds_a_plan_that_was_tampered_with() {
    let folder = tempfile::tempdir().unwrap();
    let out = stripwright(folder.path(), &["plan", "-", "--json"], JOB);
    let plan: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let audit = |plan: &serde_json::Value| stripwright(folder.path(), &["audit", "-"], &plan.to_string());
    assert_eq!(audit(&plan).status.code(), Some(0), "{}", text(&audit(&plan).stderr));
    let mut moved = plan.clone();
    moved["layouts"][0]["pieces"][0]["x"] = 1.into();
    let mut cheaper = plan.clone();
    cheaper["buy"]["total"] = 1000.into();
    let mut fewer = plan.clone();
    fewer["demands"][0]["count"] = 6.into();
    let mut dearer = plan.clone();
    dearer["certificate"]["leaves"][0]["pieces"][0] = 1_000_000_000.into();
    for tampered in [moved, cheaper, fewer, dearer] {
        let out = audit(&tampered);
        assert_eq!(out.status.code(), Some(1), "{}", text(&out.stderr));
        assert!(!out.stderr.is_empty());
    }
}

#[test]
fn an_audit_sees_that_a_plan_is_not_for_the_job_beside_it() {
    let folder = tempfile::tempdir().unwrap();
    stripwright(folder.path(), &["plan", "-", "--out", "packet"], JOB);
    fs::write(folder.path().join("packet/job.json"), JOB.replace("\"count\":5", "\"count\":6")).unwrap();
    let out = stripwright(folder.path(), &["audit", "packet"], "");
    assert_eq!(out.status.code(), Some(1));
    assert!(text(&out.stderr).contains("parts and strips"), "{}", text(&out.stderr));
}

#[test]
fn offcuts_on_hand_are_used_before_anything_is_bought() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("rest.json"), r#"[{"name":"rest","length":450,"width":250}]"#).unwrap();
    let job = JOB.replace("\"parts\"", "\"offcuts\":\"rest.json\",\"parts\"");
    fs::write(folder.path().join("job.json"), job).unwrap();
    let out = stripwright(folder.path(), &["buy", "job.json", "--json"], "");
    let buy: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(buy["buy"]["total"], 1000, "{}", text(&out.stderr));
}

#[test]
fn the_schema_is_json() {
    let out = stripwright(Path::new("."), &["schema"], "");
    let schema: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(
        schema["properties"]["parts"]["items"]["required"],
        serde_json::json!(["name", "length", "width"])
    );
}
