//! Every speed and bound that is promised, through the built program: one Markdown report.
//!
//!     cargo bench -p stripwright-cli --bench report -- [--write] [SECTION ...]
//!
//! `--write` puts it between the two marks in `DEVELOPERS.md`, else it is printed. Without SECTION all are run: the sets
//! of published problems and generated jobs, and then what else is promised; their names are [`SECTIONS`].
//! `STRIPWRIGHT_SETS` names a folder that holds sets as `fixtures/benchmarks` does, which is the default;
//! `STRIPWRIGHT_LIMIT=20` takes so many of each set, evenly. What is done meanwhile stands on standard error, with what is
//! not proven.
//!
//! Plans are made one after the other; then each is audited by a second process, as many at once as there are processors,
//! and one that fails ends the run. Seconds are of the whole command as its user waits for it, packet and drawings included.

#![allow(clippy::disallowed_methods, clippy::print_stdout, clippy::print_stderr, missing_docs)]

#[path = "../../../tests/support/benchmarks.rs"]
mod benchmarks;
#[path = "report/generated.rs"]
mod generated;
#[path = "../../../tests/support/program.rs"]
mod program;
#[path = "report/program.rs"]
mod promised;
#[path = "report/sets.rs"]
mod sets;
#[path = "../../pattern/tests/common/mod.rs"]
mod tops;
#[path = "report/unroll.rs"]
mod unroll;

use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

/// What the report is made of, in its order.
const SECTIONS: [&str; 17] = [
    "furniture",
    "c30",
    "furniture-free",
    "c30-free",
    "class",
    "sticks",
    "kerf",
    "shop",
    "growth",
    "unroll",
    "faces",
    "page",
    "packet",
    "compare",
    "explain",
    "batch",
    "memory",
];
const FROM: &str = "<!-- The report begins here. -->\n";
const TO: &str = "<!-- The report ends here. -->\n";

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    let (write, chosen): (Vec<String>, Vec<String>) = words.into_iter().partition(|word| word == "--write");
    if let Some(unknown) = chosen.iter().find(|word| !SECTIONS.contains(&word.as_str())) {
        eprintln!("`{unknown}` is no section; there are {}.", SECTIONS.join(", "));
        std::process::exit(2);
    }
    let begun = Instant::now();
    let mut report = String::new();
    for (title, note, headings, of) in PARTS {
        let rows: Vec<Vec<String>> = of
            .iter()
            .filter(|name| chosen.is_empty() || chosen.iter().any(|word| word == *name))
            .flat_map(|name| section(name))
            .collect();
        if !rows.is_empty() {
            let said = format!("**{title}** {note}");
            report += &format!("{}\n\n{}\n", said.trim_end(), table(headings, &rows));
        }
    }
    let minutes = begun.elapsed().as_secs_f64() / 60.0;
    let report = format!("{}, made in {minutes:.1} min.\n\n{report}", machine());
    if write.is_empty() {
        println!("{report}");
    } else {
        keep(&report);
    }
}

/// Title, what is to be known of it, headings, and the sections whose rows it has.
type Part = (&'static str, &'static str, &'static [&'static str], &'static [&'static str]);

const PARTS: [Part; 4] = [
    (
        "Published sets.",
        "Sheets of one size; `free` is three stages, first cuts either way, pieces turned. A file whose best known is not \
         published counts as reached.",
        &[
            "set",
            "files",
            "best known reached",
            "proven",
            "sheets",
            "bounds",
            "best known",
            "median s",
            "worst s",
        ],
        &["furniture", "c30", "furniture-free", "c30-free", "class", "sticks", "kerf"],
    ),
    (
        "Generated shop jobs.",
        "5 to 30 part sizes, counts to 50, prices, limits, offcuts, kerf; `growth` has two kinds of sheet.",
        &["jobs", "how many", "proven", "mean gap of the rest", "money", "bounds", "median s", "worst s"],
        &["shop", "growth"],
    ),
    (
        "Memory.",
        "The most that `plan` held, looked at every few milliseconds.",
        &["job", "seconds", "most MB"],
        &["memory"],
    ),
    (
        "The rest.",
        "",
        &["what", "bar", "found"],
        &["unroll", "faces", "page", "packet", "compare", "explain", "batch"],
    ),
];

/// The rows of one section, with a line on standard error before and after.
fn section(name: &str) -> Vec<Vec<String>> {
    let begun = Instant::now();
    eprintln!("{name} ...");
    let rows = match name {
        "shop" => generated::shop(),
        "growth" => generated::growth(),
        "memory" => generated::memory(),
        "unroll" => unroll::rows(),
        "faces" => promised::faces(),
        "page" => promised::page(),
        "packet" => promised::packet(),
        "compare" => promised::compare(),
        "explain" => promised::explain(),
        "batch" => promised::batch(),
        set => sets::rows(set),
    };
    eprintln!("{name}: {:.0} s", begun.elapsed().as_secs_f64());
    rows
}

fn table(headings: &[&str], rows: &[Vec<String>]) -> String {
    let line = |cells: &[String]| format!("| {} |\n", cells.join(" | "));
    let headings: Vec<String> = headings.iter().map(|heading| (*heading).to_string()).collect();
    let rule = vec!["---".to_string(); headings.len()];
    [line(&headings), line(&rule)].into_iter().chain(rows.iter().map(|row| line(row))).collect()
}

/// The machine and the day.
fn machine() -> String {
    let said = |program: &str, arguments: &[&str]| {
        let output = Command::new(program).args(arguments).output();
        output.map_or(String::new(), |o| String::from_utf8_lossy(&o.stdout).trim().to_string())
    };
    let processors = std::thread::available_parallelism().map_or(1, usize::from);
    let information = fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model =
        information.lines().find_map(|line| line.strip_prefix("model name")).unwrap_or(": processor unknown");
    let model = model.trim_start_matches(['\t', ' ', ':']);
    let (date, rust) = (said("date", &["+%-d %B %Y"]), said("rustc", &["--version"]));
    let sets = match std::env::var_os("STRIPWRIGHT_SETS") {
        Some(_) => "the whole sets",
        None => "the part of the sets in `fixtures/benchmarks`",
    };
    let limit = sets::limit().map_or(String::new(), |limit| format!(", {limit} of each"));
    format!("{date}, {model}, {processors} processors, {rust}, release build; {sets}{limit}")
}

/// Puts the report between the marks of `DEVELOPERS.md`.
fn keep(report: &str) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../DEVELOPERS.md");
    let text = fs::read_to_string(&file).expect("DEVELOPERS.md");
    let (before, rest) = text.split_once(FROM).expect("the mark where the report begins");
    let (_, after) = rest.split_once(TO).expect("the mark where the report ends");
    fs::write(&file, format!("{before}{FROM}\n{report}{TO}{after}")).expect("DEVELOPERS.md can be written");
}

/// Does every piece of work, as many at once as there are processors; what comes out keeps their order.
fn side_by_side<'w, T: Sync, R: Send>(work: &'w [T], one: impl Fn(&'w T) -> R + Sync) -> Vec<R> {
    let next = std::sync::atomic::AtomicUsize::new(0);
    let done = std::sync::Mutex::new(Vec::new());
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let n = next.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
                    let Some(work) = work.get(n) else { return };
                    let found = one(work);
                    done.lock().expect("no other thread failed").push((n, found));
                }
            });
        }
    });
    let mut done = done.into_inner().expect("no thread failed");
    done.sort_by_key(|(n, _)| *n);
    done.into_iter().map(|(_, found)| found).collect()
}

/// Median and largest.
fn spread(mut seconds: Vec<f64>) -> (f64, f64) {
    seconds.sort_by(f64::total_cmp);
    let at = |n: usize| seconds.get(n).copied().unwrap_or(0.0);
    (at(seconds.len() / 2), at(seconds.len().saturating_sub(1)))
}

/// Cells of a table.
#[macro_export]
macro_rules! row {
    ($($cell:expr),* $(,)?) => { vec![$($cell.to_string()),*] };
}
