//! Whole sets of published problems and generated shop jobs, through the built program: a Markdown table.
//!
//!     cargo bench -p stripwright-cli --bench sets -- [FOLDER] [SET ...]
//!
//! FOLDER holds sets as `fixtures/benchmarks` does, which is the default. Without SET all are run: `furniture`,
//! `c30`, `furniture-free`, `c30-free`, `class`, `sticks`, `kerf`, `shop`, `growth`. Every plan is audited by a
//! second process; a plan that fails ends the run. Seconds are of the whole command, packet and drawings included.

#![allow(clippy::disallowed_methods, clippy::print_stdout, clippy::print_stderr, missing_docs)]

#[path = "../../../tests/support/benchmarks.rs"]
mod benchmarks;
#[path = "../../../tests/support/program.rs"]
mod program;

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::time::Duration;

use benchmarks::{Known, PLAIN, Rules, job, known, set};
use program::{Ran, try_run};
use stripwright_packing::generate::{Wish, shop_job};
use stripwright_packing::{First, Problem};

const SETS: [&str; 9] =
    ["furniture", "c30", "furniture-free", "c30-free", "class", "sticks", "kerf", "shop", "growth"];
/// Three stages, first cuts of either direction, pieces turned.
const FREE: Rules = Rules { first: "either", stages: 3, may_turn: true, kerf: false };
/// Three stages without turning.
const BINS: Rules = Rules { may_turn: false, ..FREE };
/// Generated shop jobs.
const SHOP_JOBS: u64 = 300;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with("--")).collect();
    let (chosen, folders): (Vec<&String>, Vec<&String>) =
        words.iter().partition(|w| SETS.contains(&w.as_str()));
    let root = folders.first().map_or_else(benchmarks::fixtures, PathBuf::from);
    let known = known(&root);
    println!(
        "| set | files | best known reached | proven | sheets | bounds | best known | median s | worst s |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    for name in SETS.into_iter().filter(|name| chosen.is_empty() || chosen.iter().any(|c| c == name)) {
        match name {
            "furniture" => published(&root, &known, name, "furniture_a", benchmarks::TWO_STAGE, PLAIN, 1),
            "c30" => published(&root, &known, name, "c30", benchmarks::TWO_STAGE, PLAIN, 1),
            "furniture-free" => {
                published(&root, &known, name, "furniture_a", benchmarks::ANY_CUTS_TURNED, FREE, 1);
            }
            "c30-free" => published(&root, &known, name, "c30", benchmarks::TWO_STAGE, FREE, 1),
            "class" => published(&root, &known, name, "class", benchmarks::BINS, BINS, 1),
            "sticks" => published(&root, &known, name, "bpp1d", benchmarks::STICKS, PLAIN, 1),
            "kerf" => {
                let rules = Rules { kerf: true, ..PLAIN };
                published(&root, &known, "kerf furniture", "furniture_a", benchmarks::TWO_STAGE, rules, 2);
                published(&root, &known, "kerf c30", "c30", benchmarks::TWO_STAGE, rules, 2);
            }
            "shop" => shop(),
            _ => growth(),
        }
    }
}

fn planned(name: &str, job: &str) -> Ran {
    let ran = try_run(name, job).unwrap_or_else(|said| panic!("{said}"));
    ran.audit().unwrap_or_else(|said| panic!("{said}"));
    ran
}

/// One published set; every `step`th file of it.
fn published(
    root: &Path,
    known: &Known,
    title: &str,
    folder: &str,
    variant: &str,
    rules: Rules,
    step: usize,
) {
    let (mut reached, mut proven, mut sheets, mut bounds, mut best) = (0, 0, 0, 0, 0);
    let mut times = Vec::new();
    let mut missed = String::new();
    for problem in set(root, folder).iter().step_by(step) {
        let ran = planned(&problem.name, &job(problem, rules));
        ran.check_pieces(problem, rules);
        let high = known.get(&(problem.name.clone(), variant.to_string())).and_then(|figures| figures.1);
        reached += u32::from(high.is_none_or(|high| ran.sheets() <= high));
        proven += u32::from(ran.proven());
        sheets += ran.sheets();
        bounds += ran.bound();
        best += high.unwrap_or(ran.sheets());
        times.push(ran.took);
        if !ran.proven() || high.is_some_and(|high| ran.sheets() > high) {
            let known = high.map_or("none".to_string(), |high| high.to_string());
            let (name, sheets, bound) = (&problem.name, ran.sheets(), ran.bound());
            let seconds = ran.took.as_secs_f64();
            writeln!(missed, "  {name}: {sheets} sheets, bound {bound}, known {known}, {seconds:.2} s")
                .expect("a string takes text");
        }
    }
    let files = times.len();
    let (median, worst) = spread(&mut times);
    println!(
        "| {title} | {files} | {reached} | {proven} | {sheets} | {bounds} | {best} | {median:.2} | {worst:.2} |"
    );
    eprint!("{missed}");
}

fn spread(times: &mut [Duration]) -> (f64, f64) {
    times.sort_unstable();
    let seconds = |at: usize| times.get(at).map_or(0.0, Duration::as_secs_f64);
    (seconds(times.len() / 2), seconds(times.len().saturating_sub(1)))
}

/// Generated jobs: one kind of bought sheet, and several. Money in place of sheets.
fn shop() {
    for several in [false, true] {
        let (mut files, mut proven, mut money, mut bounds) = (0, 0, 0, 0);
        let (mut gaps, mut times) = (Vec::new(), Vec::new());
        for seed in 0..SHOP_JOBS {
            let problem = shop_job(seed, Wish::default());
            let bought = problem.stocks.iter().filter(|stock| stock.price.minor() > 0).count();
            if (bought > 1) != several {
                continue;
            }
            let ran = planned(&format!("shop job {seed}"), &job_of(&problem));
            files += 1;
            proven += u32::from(ran.proven());
            money += ran.plan.buy.total;
            bounds += ran.plan.bound.money;
            if !ran.proven() {
                gaps.push(ran.plan.bound.gap);
                let (money, bound) = (ran.plan.buy.total, ran.plan.bound.money);
                eprintln!("  shop job {seed}: {money}, bound {bound}, {:.2} s", ran.took.as_secs_f64());
            }
            times.push(ran.took);
        }
        let title =
            if several { "shop jobs, several kinds of sheet" } else { "shop jobs, one kind of sheet" };
        let (median, worst) = spread(&mut times);
        let gap = 100.0 * gaps.iter().sum::<f64>() / (gaps.len().max(1) as f64);
        println!(
            "| {title} | {files} | mean gap of the rest {gap:.2} % | {proven} | money {money} | {bounds} | - | \
             {median:.2} | {worst:.2} |"
        );
    }
}

/// How cost grows with the number of part sizes.
fn growth() {
    for sizes in [10, 30, 100, 300] {
        for stages in [2, 3] {
            let wish = Wish { sizes: Some(sizes), kinds: Some(2), stages: Some(stages) };
            let ran = planned(&format!("{sizes} sizes"), &job_of(&shop_job(7, wish)));
            println!(
                "| {sizes} part sizes, {stages} stages | 1 | gap {:.2} % | {} | money {} | {} | - | - | {:.2} |",
                100.0 * ran.plan.bound.gap,
                u32::from(ran.proven()),
                ran.plan.buy.total,
                ran.plan.bound.money,
                ran.took.as_secs_f64()
            );
        }
    }
}

/// A problem of sheets and plain pieces as a job file.
fn job_of(problem: &Problem) -> String {
    let mm = |length: stripwright_units::Length| format!("\"{} mm\"", length.mm_digits());
    let list = |items: Vec<String>| items.join(",\n    ");
    let cutting = &problem.cutting;
    assert_eq!(cutting.rip_kerf, cutting.crosscut_kerf, "one saw");
    let sheets = problem.stocks.iter().map(|stock| {
        let limit = stock.limit.map_or(String::new(), |limit| format!(", \"limit\": {limit}"));
        assert_eq!([stock.trim.left; 3], [stock.trim.right, stock.trim.bottom, stock.trim.top], "one trim");
        format!(
            "{{\"name\": \"{}\", \"length\": {}, \"width\": {}, \"price\": \"{}\", \"trim\": {}{limit}}}",
            stock.name,
            mm(stock.length),
            mm(stock.width),
            stock.price,
            mm(stock.trim.left)
        )
    });
    let parts = problem.pieces.iter().enumerate().map(|(i, piece)| {
        assert_eq!(piece.stocks.len(), problem.stocks.len(), "every piece from every sheet");
        format!(
            "{{\"name\": \"p{i}\", \"length\": {}, \"width\": {}, \"count\": {}, \"may_turn\": {}}}",
            mm(piece.length),
            mm(piece.width),
            piece.count,
            piece.may_turn
        )
    });
    let first = match cutting.first {
        First::Rip => "rip",
        First::Crosscut => "crosscut",
        First::Either => "either",
    };
    format!(
        "{{\"format\": 1, \"title\": \"generated\", \"units\": \"mm\",\n  \
         \"shop\": {{\"table_saw\": {{\"kerf\": {}}}}},\n  \
         \"cutting\": {{\"first\": \"{first}\", \"stages\": {}}},\n  \"sheets\": [{}],\n  \"parts\": [{}]}}\n",
        mm(cutting.rip_kerf),
        cutting.stages,
        list(sheets.collect()),
        list(parts.collect())
    )
}
