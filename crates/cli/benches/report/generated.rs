//! Shop jobs of a generator, in money.

use std::time::Duration;

use stripwright_packing::generate::{Wish, shop_job};
use stripwright_packing::{First, Problem};

use crate::program::{Folder, Ran, program};
use crate::sets::{how_many, planned, some};
use crate::{row, spread};

/// Generated shop jobs.
const SHOP_JOBS: u64 = 300;

/// One kind of bought sheet, and several.
pub(crate) fn shop() -> Vec<Vec<String>> {
    let kinds = |problem: &Problem| problem.stocks.iter().filter(|stock| stock.price.minor() > 0).count();
    let (several, one): (Vec<_>, Vec<_>) =
        (0..SHOP_JOBS).map(|seed| (seed, shop_job(seed, Wish::default()))).partition(|(_, p)| kinds(p) > 1);
    [("one kind of sheet", one), ("several kinds of sheet", several)]
        .into_iter()
        .flat_map(|(title, jobs)| {
            let (three, two): (Vec<_>, Vec<_>) = jobs.into_iter().partition(|(_, p)| p.cutting.stages == 3);
            [(format!("{title}, two stages"), some(two)), (format!("{title}, three stages"), some(three))]
        })
        .map(|(title, jobs)| together(&title, &jobs))
        .collect()
}

fn together(title: &str, jobs: &[(u64, Problem)]) -> Vec<String> {
    let plans = planned(jobs.iter().map(|(seed, problem)| (format!("shop job {seed}"), job_of(problem))));
    let read = |((seed, _), ran): (&(u64, Problem), Option<Ran>)| {
        let ran = ran?;
        let bound = &ran.plan.bound;
        let plan = (ran.plan.buy.total, bound.money, bound.proven, bound.gap, ran.took.as_secs_f64());
        Some((*seed, plan))
    };
    let (seeds, plans): (Vec<u64>, Vec<_>) = jobs.iter().zip(plans).filter_map(read).unzip();
    for (seed, plan) in seeds.iter().zip(&plans).filter(|(_, plan)| !plan.2) {
        eprintln!("  shop job {seed}: {}, bound {}, {:.2} s", plan.0, plan.1, plan.4);
    }
    let proven = plans.iter().filter(|plan| plan.2).count();
    let open = plans.len() - proven;
    let gap = 100.0 * plans.iter().filter(|plan| !plan.2).map(|plan| plan.3).sum::<f64>() / open as f64;
    let gap = if open == 0 { String::new() } else { format!("{gap:.2} %") };
    let (median, worst) = spread(plans.iter().map(|plan| plan.4).collect());
    let sum = |of: fn(&(i64, i64, bool, f64, f64)) -> i64| {
        let minor = plans.iter().map(of).sum();
        stripwright_units::Money::from_minor(minor)
    };
    let (money, bounds) = (sum(|plan| plan.0), sum(|plan| plan.1));
    let (median, worst) = (format!("{median:.2}"), format!("{worst:.2}"));
    row![title, how_many(plans.len(), jobs.len()), proven, gap, money, bounds, median, worst]
}

/// Sizes and stages of the jobs that show how cost grows.
const GROWTH: [(usize, u8); 8] = [(10, 2), (10, 3), (30, 2), (30, 3), (100, 2), (100, 3), (300, 2), (300, 3)];

fn grown((sizes, stages): (usize, u8)) -> Problem {
    shop_job(7, Wish { sizes: Some(sizes), kinds: Some(2), stages: Some(stages) })
}

/// How cost grows with the number of part sizes; one after the other, so that nothing slows another down.
pub(crate) fn growth() -> Vec<Vec<String>> {
    let of = |(sizes, stages)| {
        together(&format!("{sizes} part sizes, {stages} stages"), &[(7, grown((sizes, stages)))])
    };
    GROWTH.into_iter().map(of).collect()
}

/// The most memory of the largest of them.
pub(crate) fn memory() -> Vec<Vec<String>> {
    let of = |(sizes, stages): (usize, u8)| {
        let folder = Folder::new();
        let file = folder.path().join("job.json");
        std::fs::write(&file, job_of(&grown((sizes, stages)))).expect("a file in a folder of its own");
        let begun = std::time::Instant::now();
        let mut child = program()
            .arg("buy")
            .arg(&file)
            .stdout(std::process::Stdio::null())
            .spawn()
            .expect("the program runs");
        let mut most = 0;
        while child.try_wait().expect("the program ends").is_none() {
            most = most.max(held(child.id()));
            std::thread::sleep(Duration::from_millis(5));
        }
        let seconds = begun.elapsed().as_secs_f64();
        row![
            format!("{sizes} part sizes, {stages} stages"),
            format!("{seconds:.2}"),
            format!("{:.0}", most as f64 / 1024.0)
        ]
    };
    GROWTH[6..].iter().copied().map(of).collect()
}

/// The most kilobytes that a running process has held so far; 0 where the system does not say.
pub(crate) fn held(process: u32) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).unwrap_or_default();
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    peak.and_then(|peak| peak.trim().trim_end_matches(" kB").parse().ok()).unwrap_or(0)
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
