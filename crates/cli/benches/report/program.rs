//! What else is promised of the built program: the page, the packet, comparisons, explanations, batches.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};
use std::time::Instant;

use serde_json::{Value, json};

use crate::generated::held;
use crate::program::{Folder, program};
use crate::{row, spread};

fn fixtures() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../fixtures")
}

/// Good jobs with tops.
fn jobs() -> Vec<PathBuf> {
    let folders = fs::read_dir(fixtures()).expect("fixtures").flatten();
    let mut jobs: Vec<PathBuf> = folders.map(|folder| folder.path().join("job.json")).collect();
    jobs.retain(|job| fs::read_to_string(job).is_ok_and(|text| text.contains("\"tops\"")));
    jobs.sort();
    jobs
}

/// What the command says, and the seconds that it takes.
fn timed(command: &mut Command) -> (Output, f64) {
    let begun = Instant::now();
    let output = command.output().expect("the program runs");
    let seconds = begun.elapsed().as_secs_f64();
    assert!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
    (output, seconds)
}

/// The bench page's server, ended with its owner.
struct Bench {
    child: std::process::Child,
    host: String,
    path: String,
    _folder: Folder,
}

impl Bench {
    fn open() -> Bench {
        let folder = Folder::new();
        let mut child = program()
            .current_dir(folder.path())
            .args(["bench", "--no-open"])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program runs");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("a pipe")).read_line(&mut line).expect("an address");
        let url = line.trim().strip_prefix("http://").expect("an address").to_string();
        let (host, path) = url.split_once('/').expect("a key");
        Bench { host: host.to_string(), path: format!("/{path}"), child, _folder: folder }
    }

    /// The answer to a job, and the milliseconds until its last byte.
    fn ask(&self, name: &str, job: &str) -> (String, f64) {
        let body = json!({ "page": "report", "job": job }).to_string();
        let begun = Instant::now();
        let mut stream = TcpStream::connect(&self.host).expect("the bench listens");
        let head = format!(
            "POST {}api/{name} HTTP/1.1\r\nhost: {}\r\ncontent-type: application/json\r\nconnection: close\r\n\
             content-length: {}\r\n\r\n",
            self.path,
            self.host,
            body.len()
        );
        stream.write_all(&[head.as_bytes(), body.as_bytes()].concat()).expect("the bench reads");
        let mut answer = String::new();
        stream.read_to_string(&mut answer).expect("the bench answers");
        (answer, begun.elapsed().as_secs_f64() * 1000.0)
    }
}

impl Drop for Bench {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The face of every top of the fixtures, as the page asks for it.
pub(crate) fn faces() -> Vec<Vec<String>> {
    let bench = Bench::open();
    let slowest = jobs().into_iter().map(|job| {
        let text = fs::read_to_string(&job).expect("a job");
        let times = (0..20).map(|_| {
            let (answer, took) = bench.ask("face", &text);
            assert!(answer.contains("\"tops\""), "{answer}");
            took
        });
        spread(times.collect()).0
    });
    let (median, worst) = spread(slowest.collect());
    vec![row![
        "picture of a fixture's tops over HTTP",
        "50 ms",
        format!("median {median:.1} ms, slowest fixture {worst:.1} ms")
    ]]
}

/// The demo job's plan over HTTP, proven.
pub(crate) fn page() -> Vec<Vec<String>> {
    let bench = Bench::open();
    let job = fs::read_to_string(fixtures().join("two-counters/job.json")).expect("the demo job");
    let times = (0..10).map(|_| {
        let (answer, took) = bench.ask("plan", &job);
        assert!(answer.contains("\"proven\":true"), "the demo plan is proven");
        took
    });
    let (median, worst) = spread(times.collect());
    vec![row![
        "proven plan of the demo job over HTTP",
        "300 ms",
        format!("{median:.0} ms, worst {worst:.0} ms")
    ]]
}

/// The demo job's packet.
pub(crate) fn packet() -> Vec<Vec<String>> {
    let folder = Folder::new();
    let mut command = program();
    command.args(["plan", "--replace", "--out"]).arg(folder.path().join("packet"));
    command.arg(fixtures().join("two-counters/job.json"));
    let (median, _) = spread((0..7).map(|_| timed(&mut command).1).collect());
    let files = fs::read_dir(folder.path().join("packet")).expect("the packet").flatten();
    let sizes: Vec<(String, u64)> = files
        .map(|file| (file.file_name().to_string_lossy().into_owned(), file.metadata().map_or(0, |m| m.len())))
        .collect();
    let pdf = sizes.iter().find(|(name, _)| name == "packet.pdf").map_or(0, |(_, bytes)| *bytes);
    let all: u64 = sizes.iter().map(|(_, bytes)| bytes).sum();
    vec![
        row![
            "packet of the demo job",
            "1 s",
            format!("{median:.2} s, {} files, {} KB", sizes.len(), all / 1024)
        ],
        row!["its PDF", "3 MB", format!("{} KB", pdf / 1024)],
    ]
}

/// Many patterns of one top side by side.
pub(crate) fn compare() -> Vec<Vec<String>> {
    let (output, seconds) = timed(
        program()
            .args(["compare", "--json", "--angles", "15,30,45,60,75", "--bands", "40,50,60,70,80,90"])
            .args(["--patterns", "straight,chevron,diamond,herringbone,sunburst"])
            .arg(fixtures().join("chevron-round/job.json")),
    );
    let found: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let rows = found.as_array().or_else(|| found["rows"].as_array()).expect("rows");
    let proven = rows.iter().filter(|row| row["proven"] == true).count();
    assert!(rows.len() >= 50, "{} variants are too few", rows.len());
    vec![row![
        format!("compare of {} variants", rows.len()),
        "50 in 5 s",
        format!("{seconds:.2} s, {proven} proven")
    ]]
}

/// What binds, of every fixture with tops.
pub(crate) fn explain() -> Vec<Vec<String>> {
    let times = jobs().iter().map(|job| timed(program().args(["plan", "--explain"]).arg(job)).1).collect();
    let (median, worst) = spread(times);
    vec![row!["`plan --explain` of a fixture", "", format!("median {median:.2} s, worst {worst:.2} s")]]
}

/// Lines a second, and what is held.
pub(crate) fn batch() -> Vec<Vec<String>> {
    [1_000_usize, 10_000, 100_000]
        .into_iter()
        .map(|lines| {
            let folder = Folder::new();
            let file = folder.path().join("jobs.jsonl");
            let text: String = (0..lines).map(line).collect();
            fs::write(&file, text).expect("a file in a folder of its own");
            let begun = Instant::now();
            let mut child =
                program().arg("batch").arg(&file).stdout(Stdio::piped()).spawn().expect("the program runs");
            let process = child.id();
            let mut answered = BufReader::new(child.stdout.take().expect("a pipe")).split(b'\n');
            let (mut found, mut most) = (0, 0);
            while answered.next().is_some() {
                found += 1;
                if found % 500 == 0 {
                    most = most.max(held(process));
                }
            }
            assert!(child.wait().expect("it ends").success() && found == lines, "{found} of {lines} lines");
            let seconds = begun.elapsed().as_secs_f64();
            let found = format!(
                "{seconds:.1} s, {:.0} lines a second, {:.1} MB held at most",
                lines as f64 / seconds,
                most as f64 / 1024.0
            );
            row![format!("batch of {lines} lines"), "memory flat", found]
        })
        .collect()
}

/// A job for one board and some panels; the number makes each different.
fn line(n: usize) -> String {
    let (length, width, count) = (150 + n * 37 % 550, 100 + n * 53 % 300, 1 + n % 5);
    let sheet = json!({ "name": "board", "length": 1000, "width": 500, "price": 10 });
    let part = json!({ "name": "panel", "length": length, "width": width, "count": count });
    json!({ "title": format!("shelf {n}"), "sheets": [sheet], "parts": [part] }).to_string() + "\n"
}
