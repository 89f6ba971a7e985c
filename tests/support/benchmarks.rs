//! Reads published cutting problems, and writes them as jobs of sheets and parts.

#![allow(dead_code)] // each harness that includes this file uses its own part of it

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// One published problem: pieces from the fewest sheets.
#[derive(Clone, Debug)]
pub(crate) struct Published {
    /// As `results.csv` names it: `furniture_a/A1`, `bpp1d/falkenauer/binpack1.txt#u120_00`.
    pub(crate) name: String,
    /// Length and width of the sheet.
    pub(crate) sheet: (i64, i64),
    /// Length, width, how many.
    pub(crate) pieces: Vec<(i64, i64, i64)>,
}

/// Best known figures: no plan has fewer sheets than the first; a plan with the second is known.
pub(crate) type Known = BTreeMap<(String, String), (i64, Option<i64>)>;

pub(crate) const TWO_STAGE: &str = "2CSP;2-stage non-exact;first cuts parallel to the length;no rotation";
pub(crate) const TWO_STAGE_ACROSS: &str =
    "2CSP;2-stage non-exact;first cuts parallel to the width;no rotation";
pub(crate) const ANY_CUTS: &str = "G2CSP;unlimited stages;no rotation";
pub(crate) const ANY_CUTS_TURNED: &str = "G2CSP;unlimited stages;rotation";
pub(crate) const BINS: &str = "G2CSP (bin packing);unlimited stages;no rotation";
pub(crate) const STICKS: &str = "1D bin packing";

/// The small selection that travels with the project.
pub(crate) fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/benchmarks")
}

/// `results.csv` of a folder of sets.
pub(crate) fn known(root: &Path) -> Known {
    let text = fs::read_to_string(root.join("results.csv")).unwrap_or_default();
    let mut known = Known::new();
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.splitn(5, ',').collect();
        if let [name, variant, low, high, _] = cells[..] {
            let figures = (low.parse().unwrap_or(0), high.parse().ok());
            known.insert((name.to_string(), variant.to_string()), figures);
        }
    }
    known
}

/// Every problem of a set: `furniture_a`, `c30`, `class` or `bpp1d`, in order of name.
pub(crate) fn set(root: &Path, set: &str) -> Vec<Published> {
    let folders = match set {
        "bpp1d" => vec!["bpp1d/falkenauer", "bpp1d/hard28", "bpp1d/scholl"],
        one => vec![one],
    };
    let mut problems = Vec::new();
    for folder in folders {
        let listed = fs::read_dir(root.join(folder)).into_iter().flatten().flatten();
        let mut files: Vec<PathBuf> = listed.map(|entry| entry.path()).collect();
        files.sort();
        for file in files {
            let name = format!("{folder}/{}", file.file_name().unwrap_or_default().to_string_lossy());
            problems.extend(read(&file, &name));
        }
    }
    problems
}

/// One file, which may hold several problems.
pub(crate) fn read(file: &Path, name: &str) -> Vec<Published> {
    let text = fs::read_to_string(file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
    match name.split('/').collect::<Vec<_>>()[..] {
        ["furniture_a" | "class", _] => vec![with_header(&text, name)],
        ["c30", _] => vec![with_values(&text, name)],
        [_, "falkenauer", _] => falkenauer(&text, name),
        [_, "hard28", _] => hard28(&text, name),
        [_, "scholl", _] => vec![scholl(&text, name)],
        _ => panic!("no reader for {name}"),
    }
}

fn numbers(text: &str) -> Vec<i64> {
    text.split_whitespace()
        .map(|word| word.parse().unwrap_or_else(|_| panic!("not a number: {word}")))
        .collect()
}

fn with_header(text: &str, name: &str) -> Published {
    let body: Vec<&str> = text.lines().skip(9).collect();
    let n = numbers(&body.join(" "));
    let pieces: Vec<_> = n[4..].chunks_exact(3).map(|c| (c[0], c[1], c[2])).collect();
    assert_eq!(pieces.len() as i64, n[3], "{name}: number of sizes");
    Published { name: name.into(), sheet: (n[1], n[2]), pieces }
}

fn with_values(text: &str, name: &str) -> Published {
    let n = numbers(text);
    let pieces: Vec<_> = n[3..].chunks_exact(4).map(|c| (c[0], c[1], c[3])).collect();
    assert_eq!(pieces.len() as i64, n[2], "{name}: number of sizes");
    Published { name: name.into(), sheet: (n[0], n[1]), pieces }
}

/// A stick is a sheet one unit wide.
fn stick(name: String, capacity: i64, sizes: impl IntoIterator<Item = (i64, i64)>) -> Published {
    let mut counts = BTreeMap::new();
    for (size, count) in sizes {
        *counts.entry(size).or_insert(0) += count;
    }
    let pieces = counts.into_iter().rev().map(|(size, count)| (size, 1, count)).collect();
    Published { name, sheet: (capacity, 1), pieces }
}

fn falkenauer(text: &str, name: &str) -> Vec<Published> {
    // Sizes may have one decimal: everything is read in tenths where the capacity has one.
    let lines: Vec<&str> = text.lines().map(str::trim).filter(|l| !l.is_empty()).collect();
    let (mut problems, mut at) = (Vec::new(), 1);
    while at < lines.len() {
        let head: Vec<&str> = lines[at + 1].split_whitespace().collect();
        let tenths = if lines[at + 2].contains('.') { 10.0 } else { 1.0 };
        let value = |word: &str| (word.parse::<f64>().expect("a size") * tenths).round() as i64;
        let items: usize = head[1].parse().expect("a number of items");
        let sizes = lines[at + 2..at + 2 + items].iter().map(|line| (value(line), 1));
        problems.push(stick(format!("{name}#{}", lines[at]), value(head[0]), sizes));
        at += 2 + items;
    }
    problems
}

fn hard28(text: &str, name: &str) -> Vec<Published> {
    let lines: Vec<&str> = text.lines().map(str::trim).filter(|l| !l.is_empty()).collect();
    let (mut problems, mut at) = (Vec::new(), 0);
    while at < lines.len() {
        let title = lines[at].trim_matches('\'').split_whitespace().collect::<Vec<_>>().join(" ");
        let kinds = numbers(lines[at + 1])[0] as usize;
        let capacity = numbers(lines[at + 2])[0];
        let sizes = lines[at + 3..at + 3 + kinds].iter().map(|line| {
            let pair = numbers(line);
            (pair[0], pair[1])
        });
        problems.push(stick(format!("{name}#{title}"), capacity, sizes));
        at += 3 + kinds;
    }
    problems
}

fn scholl(text: &str, name: &str) -> Published {
    let n = numbers(text);
    assert_eq!(n.len() as i64, n[0] + 2, "{name}: number of items");
    stick(name.into(), n[1], n[2..].iter().map(|&size| (size, 1)))
}

/// How a published problem is to be cut.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rules {
    /// `rip`, `crosscut` or `either`.
    pub(crate) first: &'static str,
    /// 2 or 3.
    pub(crate) stages: u8,
    /// Whether pieces may lie across.
    pub(crate) may_turn: bool,
    /// Multiply by ten, take 7 off, and saw with a kerf of 7: the same problem with a kerf.
    pub(crate) kerf: bool,
}

/// Two stages, rips first, no turning, no kerf.
pub(crate) const PLAIN: Rules = Rules { first: "rip", stages: 2, may_turn: false, kerf: false };

/// The job file. Units become millimetres, or tenths where a length would pass 100 m; a sheet costs 1.00.
pub(crate) fn job(problem: &Published, rules: Rules) -> String {
    let tenths = problem.sheet.0.max(problem.sheet.1) * if rules.kerf { 10 } else { 1 } > 100_000;
    let size = |n: i64| {
        let n = if rules.kerf { n * 10 - 7 } else { n };
        if tenths { format!("\"{}.{} mm\"", n / 10, n % 10) } else { format!("\"{n} mm\"") }
    };
    let kerf = match (rules.kerf, tenths) {
        (false, _) => "0 mm",
        (true, false) => "7 mm",
        (true, true) => "0.7 mm",
    };
    let (first, stages, may_turn) = (rules.first, rules.stages, rules.may_turn);
    let mut parts = String::new();
    for (i, &(length, width, count)) in problem.pieces.iter().enumerate() {
        let comma = if i == 0 { "" } else { "," };
        let (length, width) = (size(length), size(width));
        write!(
            parts,
            "{comma}\n    {{\"name\": \"p{i}\", \"length\": {length}, \"width\": {width}, \"count\": {count}, \
             \"may_turn\": {may_turn}}}"
        )
        .expect("a string takes text");
    }
    let (length, width) = (size(problem.sheet.0), size(problem.sheet.1));
    format!(
        "{{\"format\": 1, \"title\": \"{}\", \"units\": \"mm\",\n  \
         \"shop\": {{\"table_saw\": {{\"kerf\": \"{kerf}\"}}}},\n  \
         \"cutting\": {{\"first\": \"{first}\", \"stages\": {stages}}},\n  \
         \"sheets\": [{{\"name\": \"sheet\", \"length\": {length}, \"width\": {width}, \"price\": \"1.00\"}}],\n  \
         \"parts\": [{parts}]}}\n",
        problem.name
    )
}
