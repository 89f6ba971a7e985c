//! Many jobs through one command: one line out for each line in, in order, whatever the lines hold.

#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "a test of the whole program reads and writes files"
)]

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::Output;

#[path = "support/command.rs"]
mod program;
use program::{begun, fed, run};
use serde_json::{Value, json};

fn batch(folder: &Path, arguments: &[&str], input: &[u8]) -> Output {
    fed(folder, &[&["batch"], arguments].concat(), input)
}

/// A job for one board and some panels; the number makes each different.
fn job(n: usize) -> String {
    let (length, width, count) = (150 + n * 37 % 550, 100 + n * 53 % 300, 1 + n % 5);
    json!({
        "title": format!("shelf {n}"),
        "sheets": [{ "name": "board", "length": 1000, "width": 500, "price": 10 }],
        "parts": [{ "name": "panel", "length": length, "width": width, "count": count }],
    })
    .to_string()
}

fn lines(output: &Output) -> Vec<Value> {
    output.stdout.lines().map(|line| serde_json::from_str(&line.unwrap()).unwrap()).collect()
}

/// What `stripwright plan` prints for the same job.
fn planned(folder: &Path, job: &str) -> Value {
    fs::write(folder.join("one.json"), job).unwrap();
    let found = run(folder, &["plan", "one.json", "--json"]);
    serde_json::from_slice(&found.stdout).unwrap()
}

#[test]
fn each_line_is_the_plan_of_its_job() {
    let folder = tempfile::tempdir().unwrap();
    let jobs: Vec<String> = (0..12).map(job).collect();
    let out = batch(folder.path(), &["-"], jobs.join("\n").as_bytes());
    assert_eq!(out.status.code(), Some(0));
    assert!(out.stderr.is_empty());
    let plans = lines(&out);
    assert_eq!(plans.len(), jobs.len());
    for (job, plan) in jobs.iter().zip(&plans) {
        assert_eq!(*plan, planned(folder.path(), job));
    }
}

#[test]
fn bytes_are_the_same_whatever_the_threads() {
    let folder = tempfile::tempdir().unwrap();
    let jobs: String = (0..300).map(|n| job(n) + "\n").collect();
    fs::write(folder.path().join("jobs.jsonl"), &jobs).unwrap();
    let one = batch(folder.path(), &["jobs.jsonl", "--threads", "1"], b"");
    assert_eq!(lines(&one).len(), 300);
    for threads in ["2", "7", "32"] {
        assert!(batch(folder.path(), &["-", "--threads", threads], jobs.as_bytes()).stdout == one.stdout);
    }
}

#[test]
fn a_bad_line_says_what_is_wrong_and_stops_nothing() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("rest.json"), "[{\"name\":\"rest\",\n\"length\":0,\"width\":5}]").unwrap();
    let good = job(1);
    let good_with_offcuts = |name: &str| good.replacen('{', &format!("{{\"offcuts\":\"{name}\","), 1);
    let long = format!("{}{}", good, " ".repeat(4 << 20));
    let deep = "[".repeat(100_000);
    let cases: Vec<(Vec<u8>, &str, &str)> = vec![
        (good.clone().into_bytes(), "", ""),
        (b"{\"sheets\":".to_vec(), "input", "the file is not JSON here"),
        (b"".to_vec(), "input", "the job is empty"),
        (b"\xff\xfe".to_vec(), "input", "not UTF-8"),
        (long.into_bytes(), "input", "longer than 4194304 bytes"),
        (deep.into_bytes(), "input", "nesting depth"),
        (good.replace("\"length\":1000", "\"length\":-1").into_bytes(), "input", "below zero"),
        (good.replace("\"length\":1000", "\"length\":100").into_bytes(), "impossible", "too long"),
        (good_with_offcuts("rest.json").into_bytes(), "input", "found a length of zero"),
        (good_with_offcuts("/etc/hostname").into_bytes(), "input", "not the name of a file beside the jobs"),
        (good_with_offcuts("../x").into_bytes(), "input", "not the name of a file beside the jobs"),
        // The jobs come by standard input; an offcuts file called `-` must not be read from there too.
        (good_with_offcuts("-").into_bytes(), "input", "could not be read"),
        (format!("\u{feff}{good}\r").into_bytes(), "", ""),
    ];
    let input: Vec<Vec<u8>> = cases.iter().map(|case| case.0.clone()).collect();
    let out = batch(folder.path(), &["-"], &input.join(&b'\n'));
    assert_eq!(out.status.code(), Some(0));
    let found = lines(&out);
    assert_eq!(found.len(), cases.len());
    let plan = planned(folder.path(), &good);
    for (n, ((_, cause, words), found)) in (1_u64..).zip(cases.iter().zip(&found)) {
        if cause.is_empty() {
            assert_eq!(*found, plan, "line {n}");
            continue;
        }
        assert_eq!((&found["line"], &found["cause"]), (&json!(n), &json!(cause)), "{found}");
        assert!(found["faults"][0]["text"].as_str().unwrap().contains(words), "{found}");
    }
    // Places are in the batch, or in the file that has the fault.
    assert_eq!((&found[1]["faults"][0]["line"], &found[1]["faults"][0]["column"]), (&json!(2), &json!(11)));
    let in_offcuts = &found[8]["faults"][0];
    assert_eq!((&in_offcuts["file"], &in_offcuts["line"]), (&json!("rest.json"), &json!(2)));
    assert_eq!(
        String::from_utf8(out.stderr).unwrap(),
        "11 of 13 lines have no plan; their lines hold `faults`.\n"
    );
}

#[test]
fn every_fault_of_a_bad_job_is_told_as_plan_tells_it() {
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/bad");
    let mut jobs = Vec::new();
    let mut expected = Vec::new();
    for entry in fs::read_dir(fixtures).unwrap() {
        let folder = entry.unwrap().path();
        let text = fs::read(folder.join("job.json")).unwrap();
        // Only what is on one line can be a line.
        let Ok(Ok(value)) = String::from_utf8(text).map(|text| serde_json::from_str::<Value>(&text)) else {
            continue;
        };
        let line = value.to_string();
        jobs.push(line);
        expected.push(folder);
    }
    assert!(jobs.len() > 40);
    let scratch = tempfile::tempdir().unwrap();
    let out = batch(scratch.path(), &["-"], jobs.join("\n").as_bytes());
    let found = lines(&out);
    assert_eq!(found.len(), jobs.len());
    for ((job, folder), found) in jobs.iter().zip(&expected).zip(&found) {
        fs::write(scratch.path().join("job.json"), job).unwrap();
        let alone = run(scratch.path(), &["plan", "job.json"]);
        let said = String::from_utf8(alone.stderr).unwrap();
        let Some(faults) = found["faults"].as_array() else {
            // A key written twice is no longer twice once the value is written again.
            assert_eq!(alone.status.code(), Some(0), "{}", folder.display());
            continue;
        };
        let cause = if alone.status.code() == Some(1) { "impossible" } else { "input" };
        assert_eq!(found["cause"], cause, "{}", folder.display());
        let sentences = said.lines().filter(|line| line.starts_with("job.json: "));
        for (fault, sentence) in faults.iter().zip(sentences.clone()) {
            assert!(sentence.ends_with(fault["text"].as_str().unwrap()), "{sentence}\n{fault}");
        }
        assert_eq!(faults.len(), sentences.count(), "{said}");
    }
}

#[test]
fn a_reader_that_has_gone_ends_it_quietly() {
    let folder = tempfile::tempdir().unwrap();
    let mut child = begun(folder.path(), &["batch", "-", "--threads", "2"]);
    let mut stdin = child.stdin.take().unwrap();
    let mut stdout = BufReader::new(child.stdout.take().unwrap());
    // An input without end: it ends because nobody reads any more.
    let feeder = std::thread::spawn(move || while writeln!(stdin, "{}", job(1)).is_ok() {});
    let mut first = String::new();
    stdout.read_line(&mut first).unwrap();
    assert!(first.starts_with("{\"format\":1"));
    drop(stdout);
    let ended = child.wait_with_output().unwrap();
    feeder.join().unwrap();
    assert_eq!(ended.status.code(), Some(0));
    assert!(ended.stderr.is_empty(), "{}", String::from_utf8_lossy(&ended.stderr));
}

/// A line is answered while the next is still to be written, so that it serves as a worker behind a pipe.
#[test]
fn a_line_is_answered_before_the_input_ends() {
    let mut child = begun(Path::new("."), &["batch", "-"]);
    let mut stdin = child.stdin.take().unwrap();
    let mut stdout = BufReader::new(child.stdout.take().unwrap());
    for n in 0..3 {
        writeln!(stdin, "{}", job(n)).unwrap();
        let mut line = String::new();
        stdout.read_line(&mut line).unwrap();
        assert_eq!(serde_json::from_str::<Value>(&line).unwrap()["title"], format!("shelf {n}"));
    }
    drop(stdin);
    assert!(child.wait().unwrap().success());
}

#[test]
fn what_is_no_batch_at_all_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    for arguments in
        [&["missing.jsonl"][..], &["."], &["-", "--threads", "0"], &["-", "--threads", "2000"], &[]]
    {
        let out = batch(folder.path(), arguments, b"");
        assert_eq!(out.status.code(), Some(2), "{arguments:?}");
        assert!(out.stdout.is_empty() && !out.stderr.is_empty());
    }
    let nothing = batch(folder.path(), &["-"], b"");
    assert_eq!((nothing.status.code(), nothing.stdout.len()), (Some(0), 0));
}

/// Memory does not grow with the number of lines: what is held is bounded by threads, not by the input.
#[cfg(target_os = "linux")]
#[test]
fn memory_stays_flat() {
    let most_kilobytes = |count: usize| {
        let mut child = begun(Path::new("."), &["batch", "-", "--threads", "2"]);
        let mut stdin = child.stdin.take().unwrap();
        let status = format!("/proc/{}/status", child.id());
        let mut stdout = BufReader::new(child.stdout.take().unwrap());
        let (asked, may_end) = std::sync::mpsc::channel::<()>();
        let feeder = std::thread::spawn(move || {
            for n in 0..count {
                writeln!(stdin, "{}", job(n)).unwrap();
            }
            // Open until its memory has been asked for: a process that ended has none.
            let _ = may_end.recv();
        });
        let mut line = Vec::new();
        for _ in 0..count {
            line.clear();
            stdout.read_until(b'\n', &mut line).unwrap();
        }
        let status = fs::read_to_string(status).unwrap();
        drop(asked);
        feeder.join().unwrap();
        assert!(child.wait().unwrap().success());
        let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap();
        peak.trim().trim_end_matches(" kB").parse::<u64>().unwrap()
    };
    let (few, many) = (most_kilobytes(500), most_kilobytes(5_000));
    assert!(many < few + few / 2 + 2048, "{few} kB for 500 lines and {many} kB for 5000");
}
