//! Runs the built program on a job and reads back what it wrote, with structs that are not the program's own.

#![allow(dead_code)] // each harness that includes this file uses its own part of it

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};

use serde::Deserialize;

use crate::benchmarks::{Published, Rules};

/// The keys of `plan.json` that stay.
#[derive(Debug, Deserialize)]
pub(crate) struct Plan {
    pub(crate) buy: Buy,
    pub(crate) bound: Bound,
    pub(crate) layouts: Vec<Layout>,
}

#[derive(Debug, Deserialize)]
pub(crate) struct Buy {
    pub(crate) sheets: Vec<Bought>,
    pub(crate) total: i64,
}

#[derive(Debug, Deserialize)]
pub(crate) struct Bought {
    pub(crate) name: String,
    pub(crate) count: i64,
    pub(crate) price: i64,
}

#[derive(Debug, Deserialize)]
pub(crate) struct Bound {
    pub(crate) money: i64,
    pub(crate) proven: bool,
    pub(crate) gap: f64,
}

#[derive(Debug, Deserialize)]
pub(crate) struct Layout {
    pub(crate) sheet: String,
    pub(crate) times: i64,
    pub(crate) pieces: Vec<Piece>,
}

#[derive(Debug, Deserialize)]
pub(crate) struct Piece {
    pub(crate) part: String,
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) length: f64,
    pub(crate) width: f64,
    pub(crate) turned: bool,
}

/// A folder that goes away with its owner.
pub(crate) struct Folder(PathBuf);

impl Folder {
    pub(crate) fn new() -> Folder {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let path = std::env::temp_dir().join(format!("stripwright-{}-{number}", std::process::id()));
        fs::create_dir_all(&path).expect("a temporary folder");
        Folder(path)
    }

    pub(crate) fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // A folder left behind is no failure of what is tested.
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// A job that was planned.
pub(crate) struct Ran {
    pub(crate) name: String,
    pub(crate) plan: Plan,
    pub(crate) took: Duration,
    folder: Folder,
}

/// The program, from the workspace's own build.
pub(crate) fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_stripwright"))
}

fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// Plans a job, or says what the program said.
pub(crate) fn try_run(name: &str, job: &str) -> Result<Ran, String> {
    let folder = Folder::new();
    let file = folder.path().join("job.json");
    fs::write(&file, job).map_err(|error| error.to_string())?;
    let packet = folder.path().join("packet");
    let start = Instant::now();
    let output =
        program().arg("plan").arg(&file).arg("--out").arg(&packet).output().map_err(|e| e.to_string())?;
    let took = start.elapsed();
    if !output.status.success() {
        return Err(format!("{name}: {}\n{}", output.status, said(&output)));
    }
    let text = fs::read_to_string(packet.join("plan.json")).map_err(|error| format!("{name}: {error}"))?;
    let plan = serde_json::from_str(&text).map_err(|error| format!("{name}: {error}"))?;
    Ok(Ran { name: name.to_string(), plan, took, folder })
}

/// Plans a job that can be met.
#[track_caller]
pub(crate) fn run(name: &str, job: &str) -> Ran {
    try_run(name, job).unwrap_or_else(|said| panic!("{said}"))
}

impl Ran {
    /// Sheets bought.
    pub(crate) fn sheets(&self) -> i64 {
        self.plan.buy.sheets.iter().map(|bought| bought.count).sum()
    }

    /// The bound in sheets, where a sheet costs 1.00.
    pub(crate) fn bound(&self) -> i64 {
        assert_eq!(self.plan.bound.money % 100, 0, "{}: a sum of sheet prices", self.name);
        self.plan.bound.money / 100
    }

    pub(crate) fn proven(&self) -> bool {
        self.plan.bound.proven
    }

    /// `audit` on the packet, in a process of its own.
    pub(crate) fn audit(&self) -> Result<(), String> {
        let output = program()
            .arg("audit")
            .arg(self.folder.path().join("packet"))
            .output()
            .map_err(|e| e.to_string())?;
        if output.status.success() { Ok(()) } else { Err(format!("{}: {}", self.name, said(&output))) }
    }

    #[track_caller]
    pub(crate) fn check_audit(&self) {
        self.audit().unwrap_or_else(|said| panic!("{said}"));
    }

    /// Every piece is there, of its size, on its sheet, a kerf from the next; money and proof say what they mean.
    #[track_caller]
    pub(crate) fn check_pieces(&self, problem: &Published, rules: Rules) {
        let name = &self.name;
        let tenths = problem.sheet.0.max(problem.sheet.1) * if rules.kerf { 10 } else { 1 } > 100_000;
        let unit = if tenths { 0.1 } else { 1.0 };
        let size = |n: i64| if rules.kerf { (n * 10 - 7) as f64 * unit } else { n as f64 * unit };
        let kerf = if rules.kerf { 7.0 * unit } else { 0.0 };
        let near = 1e-6;
        let mut made: BTreeMap<&str, i64> = BTreeMap::new();
        for layout in &self.plan.layouts {
            for (i, piece) in layout.pieces.iter().enumerate() {
                *made.entry(&piece.part).or_default() += layout.times;
                let number: usize = piece.part[1..].parse().expect("the job's own names");
                let (length, width, _) = problem.pieces[number];
                let expected = if piece.turned { (width, length) } else { (length, width) };
                assert!(!piece.turned || rules.may_turn, "{name}: {} lies across", piece.part);
                assert!((piece.length - size(expected.0)).abs() < near, "{name}: length of {}", piece.part);
                assert!((piece.width - size(expected.1)).abs() < near, "{name}: width of {}", piece.part);
                let inside = piece.x >= 0.0
                    && piece.y >= 0.0
                    && piece.x + piece.length <= size(problem.sheet.0) + near
                    && piece.y + piece.width <= size(problem.sheet.1) + near;
                assert!(inside, "{name}: {} at {}, {} reaches outside", piece.part, piece.x, piece.y);
                for other in &layout.pieces[..i] {
                    let apart = piece.x + piece.length + kerf <= other.x + near
                        || other.x + other.length + kerf <= piece.x + near
                        || piece.y + piece.width + kerf <= other.y + near
                        || other.y + other.width + kerf <= piece.y + near;
                    assert!(apart, "{name}: {} and {} meet", piece.part, other.part);
                }
            }
        }
        for (number, &(_, _, count)) in problem.pieces.iter().enumerate() {
            let made = made.get(format!("p{number}").as_str()).copied().unwrap_or(0);
            assert!(made >= count, "{name}: {made} of p{number}, {count} wanted");
        }
        let cut: i64 = self.plan.layouts.iter().map(|layout| layout.times).sum();
        assert_eq!(cut, self.sheets(), "{name}: every sheet bought is cut");
        assert_eq!(self.plan.buy.total, 100 * cut, "{name}: money");
        assert!(self.plan.bound.money <= self.plan.buy.total, "{name}: bound");
        assert_eq!(self.plan.bound.proven, self.plan.bound.money == self.plan.buy.total, "{name}: proven");
    }
}
