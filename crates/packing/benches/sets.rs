//! Runs sets of published cutting problems, and generated shop jobs, and prints a table.
//!
//!     STRIPWRIGHT_SETS=/path/to/benchmarks cargo bench -p stripwright-packing --bench sets -- furniture c30
//!
//! Sets: `furniture`, `furniture3`, `c30`, `c303`, `class`, `bpp`, `tight`, `shop`, `planted`, `kerf`, `grow`; a further word
//! narrows the instances by name, and `SEED=300` has the shop jobs begin with another seed. `planted` is what is left of the
//! shop jobs that are not proven when the emptiest sheet of their plan and its pieces are taken away: a plan for it is known.
//! The directory holds one folder a set and `results.csv`, as `fixtures/benchmarks` does.
#![allow(clippy::disallowed_methods, clippy::print_stdout, clippy::unwrap_used, missing_docs)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use stripwright_packing::generate::{Seed, Wish, shop_job};
use stripwright_packing::{Answer, Budget, Cutting, First, Layout, Piece, Problem, Stock, Trim, solve};
use stripwright_units::{Length, Money};

struct Instance {
    name: String,
    problem: Problem,
    best: Option<(i64, Option<i64>)>,
}

fn sheet_problem(
    sheet: (i64, i64),
    items: &[(i64, i64, i64)],
    first: First,
    stages: u8,
    turn: bool,
) -> Problem {
    let mm = Length::from_mm;
    Problem {
        pieces: items
            .iter()
            .enumerate()
            .map(|(i, &(l, w, n))| Piece {
                name: format!("{}", i + 1),
                length: mm(l),
                width: mm(w),
                count: n as u32,
                may_turn: turn,
                stocks: vec![0],
            })
            .collect(),
        stocks: vec![Stock {
            name: "sheet".into(),
            length: mm(sheet.0),
            width: mm(sheet.1),
            trim: Trim::default(),
            price: Money::from_minor(1),
            limit: None,
        }],
        cutting: Cutting { first, stages, ..Cutting::default() },
        ..Problem::default()
    }
}

fn numbers(text: &str) -> Vec<f64> {
    text.split_whitespace().filter_map(|w| w.parse().ok()).collect()
}

type Plain = ((i64, i64), Vec<(i64, i64, i64)>);

fn furniture(path: &Path) -> Plain {
    let text = std::fs::read_to_string(path).unwrap();
    let body: String = text.lines().skip(9).flat_map(|l| [l, "\n"]).collect();
    let n: Vec<i64> = numbers(&body).iter().map(|&v| v as i64).collect();
    let items = n[4..].chunks_exact(3).take(n[3] as usize).map(|c| (c[0], c[1], c[2])).collect();
    ((n[1], n[2]), items)
}

fn c30(path: &Path) -> Plain {
    let n: Vec<i64> = numbers(&std::fs::read_to_string(path).unwrap()).iter().map(|&v| v as i64).collect();
    let items = n[3..].chunks_exact(4).take(n[2] as usize).map(|c| (c[0], c[1], c[3])).collect();
    ((n[0], n[1]), items)
}

fn sticks(capacity: i64, sizes: &[(i64, i64)]) -> Problem {
    let items: Vec<(i64, i64, i64)> = sizes.iter().map(|&(l, n)| (l, 1, n)).collect();
    sheet_problem((capacity, 1), &items, First::Rip, 2, false)
}

fn one_dimension(root: &Path) -> Vec<(String, Problem)> {
    let mut all = Vec::new();
    for file in files(&root.join("bpp1d/falkenauer")) {
        let n = std::fs::read_to_string(&file).unwrap();
        let mut lines = n.lines().map(str::trim).filter(|l| !l.is_empty()).skip(1);
        while let Some(name) = lines.next() {
            let head = numbers(lines.next().unwrap());
            let ten = if head[0] == 100.0 { 10.0 } else { 1.0 };
            let mut counts: BTreeMap<i64, i64> = BTreeMap::new();
            for _ in 0..head[1] as usize {
                *counts.entry((numbers(lines.next().unwrap())[0] * ten).round() as i64).or_default() += 1;
            }
            let sizes: Vec<(i64, i64)> = counts.into_iter().rev().collect();
            all.push((name.to_string(), sticks((head[0] * ten) as i64, &sizes)));
        }
    }
    for file in files(&root.join("bpp1d/scholl")) {
        let n = numbers(&std::fs::read_to_string(&file).unwrap());
        let mut counts: BTreeMap<i64, i64> = BTreeMap::new();
        n[2..].iter().take(n[0] as usize).for_each(|&v| *counts.entry(v as i64).or_default() += 1);
        let sizes: Vec<(i64, i64)> = counts.into_iter().rev().collect();
        all.push((file.file_stem().unwrap().to_string_lossy().into(), sticks(n[1] as i64, &sizes)));
    }
    for file in files(&root.join("bpp1d/hard28")) {
        let text = std::fs::read_to_string(&file).unwrap();
        let mut lines = text.lines().filter(|l| !l.trim().is_empty());
        while let Some(name) = lines.next() {
            let m = numbers(lines.next().unwrap())[0] as usize;
            let capacity = numbers(lines.next().unwrap())[0] as i64;
            let sizes: Vec<(i64, i64)> = (0..m)
                .map(|_| {
                    let pair = numbers(lines.next().unwrap());
                    (pair[0] as i64, pair[1] as i64)
                })
                .collect();
            let name = name.trim().trim_matches(|c| c == '\'' || c == '"').trim();
            let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
            all.push((name, sticks(capacity, &sizes)));
        }
    }
    all
}

/// Sticks nearly without waste, as the hardest published ones are, and sticks that were cut from full ones.
fn tight_sticks() -> Vec<(String, Problem)> {
    let mut all = Vec::new();
    for seed in 0..40u64 {
        for kind in ["uniform", "fine", "counts", "triplet"] {
            let mut draw = Seed(seed * 7919 + kind.len() as u64);
            let (capacity, items) = match kind {
                "uniform" => (1000, evenly(&mut draw, 1000, (140, 200), (1, 600, 800), 60)),
                "fine" => (20_000, evenly(&mut draw, 20_000, (60, 100), (200, 12_000, 16_000), 60)),
                "counts" => {
                    let some = evenly(&mut draw, 1000, (30, 50), (20, 600, 800), 0);
                    let many = some.iter().flat_map(|&v| vec![v; draw.between(1, 6) as usize]).collect();
                    (1000, many)
                }
                _ => {
                    let cut = |_| {
                        let a = draw.between(380, 490);
                        let b = draw.between(250, (1000 - a) / 2);
                        [a, b, 1000 - a - b]
                    };
                    (1000, (0..20 + seed).flat_map(cut).collect())
                }
            };
            let mut counts: BTreeMap<i64, i64> = BTreeMap::new();
            items.iter().for_each(|&v| *counts.entry(v).or_default() += 1);
            let sizes: Vec<(i64, i64)> = counts.into_iter().rev().collect();
            all.push((format!("{kind} {seed}."), sticks(capacity, &sizes)));
        }
    }
    all
}

/// Some pieces with lengths drawn evenly from `low` to something between `high` and `higher`, one of them made so long that
/// the least number of sticks leaves no more than `waste`.
fn evenly(
    draw: &mut Seed,
    capacity: i64,
    (least, most): (i64, i64),
    (low, high, higher): (i64, i64, i64),
    waste: i64,
) -> Vec<i64> {
    let count = draw.between(least, most);
    let high = draw.between(high, higher);
    let mut items: Vec<i64> = (0..count).map(|_| draw.between(low, high)).collect();
    let total: i64 = items.iter().sum();
    let missing = capacity - total.rem_euclid(capacity) - draw.between(0, waste);
    if let Some(at) = items.iter().position(|&v| (low..=high).contains(&(v + missing))) {
        items[at] += missing;
    }
    items
}

/// What is left of a job without the emptiest sheet of a plan and without its pieces, and what the rest of the plan costs.
fn without_emptiest(problem: &Problem, answer: &Answer) -> Option<(Problem, i64)> {
    let square = |length: Length, width: Length| length.nm() as f64 * width.nm() as f64;
    let filled = |layout: &Layout| {
        let stock = &problem.stocks[layout.stock];
        let pieces: f64 = layout.placed(problem).iter().map(|p| square(p.length, p.width)).sum();
        pieces / square(stock.length, stock.width)
    };
    let price = |layout: &Layout| problem.stocks[layout.stock].price.minor();
    let bought = answer.layouts.iter().filter(|layout| price(layout) > 0);
    let emptiest = bought.min_by(|a, b| filled(a).total_cmp(&filled(b)))?;
    let mut rest = problem.clone();
    for placed in emptiest.placed(problem) {
        rest.pieces[placed.piece].count -= 1;
    }
    rest.pieces.retain(|piece| piece.count > 0);
    (!rest.pieces.is_empty()).then_some((rest, answer.money.minor() - price(emptiest)))
}

fn files(dir: &Path) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(dir).into_iter().flatten().map(|f| f.unwrap().path()).collect();
    files.sort();
    files
}

fn name(path: &Path) -> String {
    path.file_name().unwrap().to_string_lossy().into()
}

fn kerfed((sheet, items): Plain) -> Plain {
    let k = |v: i64| v * 10 - 7;
    ((k(sheet.0), k(sheet.1)), items.into_iter().map(|(l, w, n)| (k(l), k(w), n)).collect())
}

fn with_kerf(mut problem: Problem) -> Problem {
    problem.cutting.rip_kerf = Length::from_mm(7);
    problem.cutting.crosscut_kerf = Length::from_mm(7);
    problem
}

fn main() {
    let root = std::env::var("STRIPWRIGHT_SETS")
        .unwrap_or_else(|_| concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/benchmarks").into());
    let root = PathBuf::from(root);
    let words: Vec<String> = std::env::args().skip(1).filter(|w| !w.starts_with('-')).collect();
    let mut best: BTreeMap<(String, String), (i64, Option<i64>)> = BTreeMap::new();
    for line in std::fs::read_to_string(root.join("results.csv")).unwrap_or_default().lines().skip(1) {
        let mut cells = line.split(',');
        let mut cell = || cells.next().unwrap_or("").to_string();
        let (name, variant, low, high) = (cell(), cell(), cell(), cell());
        best.insert((name, variant), (low.parse().unwrap_or(0), high.parse().ok()));
    }
    const TWO: &str = "2CSP;2-stage non-exact;first cuts parallel to the length;no rotation";
    const FREE: &str = "G2CSP (bin packing);unlimited stages;no rotation";
    let find = |dir: &str, name: &str, variant: &str| {
        let this = |known: &str| {
            known.starts_with(dir)
                && known.rsplit(['/', '#']).next().is_some_and(|k| k.trim_end_matches(".BPP") == name)
        };
        best.iter().find(|((known, v), _)| v == variant && this(known)).map(|(_, found)| *found)
    };
    let sets = [
        "furniture",
        "furniture3",
        "c30",
        "c303",
        "class",
        "bpp",
        "tight",
        "shop",
        "planted",
        "kerf",
        "grow",
    ];
    for set in sets {
        let at = words.iter().position(|w| w == set);
        if at.is_none() && words.iter().any(|w| sets.contains(&w.as_str())) {
            continue;
        }
        let filter: Vec<&String> = words.iter().filter(|w| !sets.contains(&w.as_str())).collect();
        let mut instances: Vec<Instance> = Vec::new();
        let wanted = |name: &str| filter.is_empty() || filter.iter().any(|w| name.contains(w.as_str()));
        let mut add = |name: String, problem: Problem, best| {
            if wanted(&name) {
                instances.push(Instance { name, problem, best });
            }
        };
        match set {
            "furniture" | "furniture3" => {
                for f in files(&root.join("furniture_a")) {
                    let (sheet, items) = furniture(&f);
                    let two = set == "furniture";
                    let (first, stages) = if two { (First::Rip, 2) } else { (First::Either, 3) };
                    add(
                        name(&f),
                        sheet_problem(sheet, &items, first, stages, !two),
                        find("furniture_a", &name(&f), TWO),
                    );
                }
            }
            "c30" | "c303" => {
                for f in files(&root.join("c30")) {
                    let (sheet, items) = c30(&f);
                    let two = set == "c30";
                    let (first, stages) = if two { (First::Rip, 2) } else { (First::Either, 3) };
                    add(
                        name(&f),
                        sheet_problem(sheet, &items, first, stages, !two),
                        find("c30", &name(&f), TWO),
                    );
                }
            }
            "kerf" => {
                for f in
                    files(&root.join("furniture_a")).iter().step_by(4).chain(&files(&root.join("c30"))[..5])
                {
                    let plain = if f.to_string_lossy().contains("c30") { c30(f) } else { furniture(f) };
                    let (sheet, items) = kerfed(plain);
                    let problem = with_kerf(sheet_problem(sheet, &items, First::Rip, 2, false));
                    let dir = f.parent().unwrap().file_name().unwrap().to_string_lossy().into_owned();
                    add(name(f), problem, find(&dir, &name(f), TWO));
                }
            }
            "class" => {
                for f in files(&root.join("class")) {
                    let (sheet, items) = furniture(&f);
                    add(
                        name(&f),
                        sheet_problem(sheet, &items, First::Either, 3, false),
                        find("class", &name(&f), FREE),
                    );
                }
            }
            "bpp" => {
                for (name, problem) in one_dimension(&root) {
                    let known = find("bpp1d", name.trim(), "1D bin packing");
                    add(name, problem, known);
                }
            }
            "tight" => tight_sticks().into_iter().for_each(|(name, problem)| add(name, problem, None)),
            "shop" | "planted" => {
                let from: u64 = std::env::var("SEED").map_or(0, |seed| seed.parse().unwrap());
                for seed in from..from + 300 {
                    let problem = shop_job(seed, Wish::default());
                    let kinds = problem.stocks.iter().filter(|s| s.price > Money::ZERO).count();
                    let c = &problem.cutting;
                    let name = format!("shop{seed} k{kinds} s{} {:?}", c.stages, c.first);
                    if set == "shop" {
                        add(name, problem, None);
                    } else if wanted(&name) {
                        let answer = solve(&problem, &Budget::default(), &mut |_| true).unwrap();
                        let open = answer.bound < answer.money;
                        if let Some((rest, money)) = without_emptiest(&problem, &answer).filter(|_| open) {
                            add(name, rest, Some((0, Some(money))));
                        }
                    }
                }
            }
            _ => {
                for sizes in [10, 30, 100, 300] {
                    for stages in [2, 3] {
                        let wish = Wish { sizes: Some(sizes), kinds: Some(2), stages: Some(stages) };
                        add(format!("grow{sizes} s{stages}"), shop_job(7, wish), None);
                    }
                }
            }
        }
        run(set, &instances);
    }
}

#[derive(Default)]
struct Tally {
    count: usize,
    proven: usize,
    gap: f64,
    times: Vec<f64>,
    reached: usize,
    known: usize,
    money: i64,
    bound: i64,
    area: i128,
    settings: usize,
    offcut: i128,
    layouts: usize,
}

fn square_metres(nm2: i128) -> f64 {
    nm2 as f64 / 1e18
}

fn run(set: &str, instances: &[Instance]) {
    let quiet = std::env::var("QUIET").is_ok();
    let mut tallies: BTreeMap<String, Tally> = BTreeMap::new();
    for instance in instances {
        let started = std::time::Instant::now();
        let budget = match std::env::var("BUDGET") {
            Ok(work) => Budget { work: work.parse().unwrap() },
            Err(_) => Budget::default(),
        };
        let answer = solve(&instance.problem, &budget, &mut |_| true);
        let seconds = started.elapsed().as_secs_f64();
        let answer = match answer {
            Ok(answer) => answer,
            Err(refusals) => {
                println!("{set:10} {:24} refused: {}", instance.name, refusals[0]);
                continue;
            }
        };
        if std::env::var("AUDIT").is_ok()
            && let Err(objections) = stripwright_packing::audit::answer(&instance.problem, &answer)
        {
            println!("{set:10} {:24} AUDIT REFUSES: {:?}", instance.name, objections[0]);
        }
        let (money, bound) = (answer.money.minor(), answer.bound.minor());
        let (_, area, settings, offcut) = answer.score(&instance.problem).rank();
        let proven = money == bound;
        let known = instance.best.map_or(String::new(), |(low, high)| match high {
            Some(high) => format!("{low}..{high}"),
            None => format!("{low}.."),
        });
        let high = instance.best.and_then(|b| b.1);
        if !quiet || !proven {
            let mark = if high.is_some_and(|h| money > h) { "WORSE" } else { "" };
            println!(
                "{set:10} {:24} money {money:8} bound {bound:8} {} known {known:10} {seconds:7.3} s  work {:6} M sheets {} area {:.3} settings {} offcut {:.3} layouts {} {mark}",
                instance.name,
                if proven { "proven" } else { "gap   " },
                answer.work / 1_000_000,
                answer.layouts.iter().map(|l| l.times).sum::<u32>(),
                square_metres(area),
                settings,
                square_metres(-offcut),
                answer.layouts.len(),
            );
        }
        let group = match set {
            "shop" | "planted" => instance.name.split(' ').nth(1).unwrap(),
            "tight" => instance.name.split(' ').next().unwrap(),
            _ => "",
        };
        let groups = if group.is_empty() { vec![String::new()] } else { vec![String::new(), group.into()] };
        for group in groups {
            let t = tallies.entry(group).or_default();
            t.count += 1;
            t.proven += usize::from(proven);
            if !proven {
                t.gap += (money - bound) as f64 / money as f64;
            }
            t.times.push(seconds);
            t.known += usize::from(high.is_some());
            t.reached += usize::from(high.is_some_and(|h| money <= h));
            t.money += money;
            t.bound += bound;
            t.area += area;
            t.settings += settings;
            t.offcut -= offcut;
            t.layouts += answer.layouts.len();
        }
    }
    for (group, mut t) in tallies {
        t.times.sort_by(f64::total_cmp);
        let open = (t.count - t.proven).max(1) as f64;
        println!(
            "== {set} {group}: {} instances, {} proven, {}/{} best known reached, mean gap of the open {:.2} %, money {} bound {}, median {:.3} s, worst {:.3} s, area {:.3} m2, {} fence settings, largest offcuts {:.3} m2, {} layouts",
            t.count,
            t.proven,
            t.reached,
            t.known,
            100.0 * t.gap / open,
            t.money,
            t.bound,
            t.times[t.times.len() / 2],
            t.times[t.times.len() - 1],
            square_metres(t.area),
            t.settings,
            square_metres(t.offcut),
            t.layouts
        );
    }
}
