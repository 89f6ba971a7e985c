//! Every folder of `fixtures/` that holds a `job.json` is a test of its own.
//!
//! A good job is planned by the real command, and every file that its folder keeps (`plan.json`, drawings) must come
//! out byte for byte; what `known.json` holds of the plan was found in other ways (`why.md` says how) and is never
//! rewritten. Then the packet is audited without the solver. A bad job keeps `error.txt` instead: the exit
//! code and everything said on standard error. `STRIPWRIGHT_UPDATE=1` rewrites what is kept.

#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "a test of the whole program reads and writes files"
)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::{env, fs};

use libtest_mimic::{Arguments, Failed, Trial};
use serde_json::Value;

/// Files of a good job's folder that are not kept from a packet.
const OWN: [&str; 3] = ["job.json", "why.md", KNOWN];

/// The part of the plan that is known otherwise.
const KNOWN: &str = "known.json";

fn main() {
    let arguments = Arguments::from_args();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures");
    let mut folders = Vec::new();
    jobs(&root, &mut folders);
    folders.sort();
    assert!(!folders.is_empty(), "no job.json under {}", root.display());
    let trial = |folder: PathBuf| {
        let name = folder.strip_prefix(&root).unwrap().display().to_string();
        Trial::test(name, move || check(&folder))
    };
    libtest_mimic::run(&arguments, folders.into_iter().map(trial).collect()).exit();
}

/// Folders with a job.json, at any depth.
fn jobs(folder: &Path, found: &mut Vec<PathBuf>) {
    if folder.join("job.json").is_file() {
        found.push(folder.to_path_buf());
        return;
    }
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            jobs(&path, found);
        }
    }
}

fn check(folder: &Path) -> Result<(), Failed> {
    if folder.join("error.txt").exists() || folder.components().any(|part| part.as_os_str() == "bad") {
        bad_job(folder)
    } else {
        good_job(folder)
    }
}

fn update() -> bool {
    env::var_os("STRIPWRIGHT_UPDATE").is_some()
}

fn stripwright(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_stripwright")).current_dir(folder).args(arguments).output().unwrap()
}

fn good_job(folder: &Path) -> Result<(), Failed> {
    let scratch = tempfile::tempdir()?;
    let packet = scratch.path().join("packet");
    let out = packet.to_str().ok_or("the temporary folder's name is not text")?;
    let planned = stripwright(folder, &["plan", "job.json", "--out", out]);
    if !planned.status.success() {
        return Err(String::from_utf8_lossy(&planned.stderr).into_owned().into());
    }
    let kept: Vec<PathBuf> = if update() {
        let drawings =
            fs::read_dir(&packet)?.map(|entry| entry.map(|entry| PathBuf::from(entry.file_name())));
        let drawings = drawings.collect::<Result<Vec<_>, _>>()?;
        drawings
            .into_iter()
            .filter(|name| name == Path::new("plan.json") || name.extension().is_some_and(|e| e == "svg"))
            .collect()
    } else {
        let names = fs::read_dir(folder)?.map(|entry| entry.map(|entry| PathBuf::from(entry.file_name())));
        names.collect::<Result<_, _>>()?
    };
    let mut compared = 0;
    if folder.join(KNOWN).is_file() {
        let read = |path: PathBuf| -> Result<Value, Failed> { Ok(serde_json::from_slice(&fs::read(path)?)?) };
        holds("plan", &read(folder.join(KNOWN))?, &read(packet.join("plan.json"))?)?;
        compared += 1;
    }
    for name in kept.iter().filter(|name| !OWN.iter().any(|own| name.as_path() == Path::new(own))) {
        let found = fs::read(packet.join(name))
            .map_err(|error| format!("the packet has no {}: {error}", name.display()))?;
        if update() {
            fs::write(folder.join(name), &found)?;
        } else if fs::read(folder.join(name))? != found {
            let differs =
                "differs from what is kept; look at it, then STRIPWRIGHT_UPDATE=1 keeps the new one";
            return Err(format!("{} {differs}", name.display()).into());
        }
        compared += 1;
    }
    if compared == 0 {
        return Err("the folder keeps nothing to compare with".into());
    }
    lists_agree(&packet)?;
    let audited = stripwright(folder, &["audit", out]);
    if !audited.status.success() {
        return Err(String::from_utf8_lossy(&audited.stderr).into_owned().into());
    }
    Ok(())
}

/// Whether the plan says what is known: of an object the keys that are known, of a list all entries.
fn holds(place: &str, known: &Value, plan: &Value) -> Result<(), Failed> {
    match (known, plan) {
        (Value::Object(known), Value::Object(plan)) => known.iter().try_for_each(|(key, value)| {
            let found = plan.get(key).ok_or_else(|| format!("{place} has no `{key}`"))?;
            holds(&format!("{place}.{key}"), value, found)
        }),
        (Value::Array(known), Value::Array(plan)) if known.len() == plan.len() => {
            let pairs = known.iter().zip(plan).enumerate();
            pairs.into_iter().try_for_each(|(n, (known, plan))| holds(&format!("{place}[{n}]"), known, plan))
        }
        // 36 and 36.0 are the same size.
        (Value::Number(known), Value::Number(plan)) if known.as_f64() == plan.as_f64() => Ok(()),
        _ if known == plan => Ok(()),
        _ => Err(format!("{place} is {plan}, and known to be {known}").into()),
    }
}

/// `buy.csv` and `cut-list.csv` add up to what `plan.json` says.
fn lists_agree(packet: &Path) -> Result<(), Failed> {
    let plan: Value = serde_json::from_slice(&fs::read(packet.join("plan.json"))?)?;
    let rows = |name: &str| -> Result<Vec<BTreeMap<String, String>>, Failed> {
        let mut reader = csv::Reader::from_path(packet.join(name))?;
        Ok(reader.deserialize().collect::<Result<_, _>>()?)
    };
    let number =
        |row: &BTreeMap<String, String>, key: &str| -> Result<f64, Failed> { Ok(row[key].parse::<f64>()?) };
    let same = |what: &str, listed: f64, planned: f64| {
        let close = (listed - planned).abs() < 1e-6 * planned.abs().max(1.0);
        if close { Ok(()) } else { Err(Failed::from(format!("{what}: {listed} listed, {planned} planned"))) }
    };
    let list = |value: &Value| value.as_array().cloned().unwrap_or_default();
    let (mut money, mut supplies) = (0.0, 0.0);
    for row in rows("buy.csv")? {
        let amount = number(&row, "amount")? * 100.0;
        if row["group"] == "sheets" || row["group"] == "lumber" {
            money += amount
        } else {
            supplies += amount
        }
    }
    same("money for sheets and lumber", money, plan["buy"]["total"].as_f64().unwrap())?;
    let priced = list(&plan["prices"]["lines"])
        .into_iter()
        .filter(|line| ["glue", "finish", "hardware"].iter().any(|group| line["group"] == *group));
    same("money for supplies", supplies, priced.map(|line| line["amount"].as_f64().unwrap()).sum())?;
    let (mut count, mut area) = (0.0, 0.0);
    let (boards, sheets): (Vec<_>, Vec<_>) =
        rows("cut-list.csv")?.into_iter().partition(|row| row["layout"].starts_with("board "));
    let sticks: f64 = boards.iter().map(|row| number(row, "count")).sum::<Result<f64, _>>()?;
    let cut = |stick: &Value| -> f64 {
        let layers = |piece: &Value| piece["layers"].as_f64().unwrap();
        stick["times"].as_f64().unwrap() * list(&stick["pieces"]).iter().map(layers).sum::<f64>()
    };
    same("sticks", sticks, list(&plan["sticks"]).iter().map(cut).sum())?;
    for row in sheets {
        let pieces = number(&row, "count")?;
        count += pieces;
        area += pieces * number(&row, "length_mm")? * number(&row, "width_mm")?;
    }
    let (mut planned, mut covered) = (0.0, 0.0);
    for layout in list(&plan["layouts"]) {
        let times = layout["times"].as_f64().unwrap();
        for piece in list(&layout["pieces"]) {
            planned += times;
            covered += times * piece["length"].as_f64().unwrap() * piece["width"].as_f64().unwrap();
        }
    }
    same("pieces", count, planned)?;
    same("area of pieces", area, covered)
}

fn bad_job(folder: &Path) -> Result<(), Failed> {
    let output = stripwright(folder, &["plan", "job.json"]);
    let code = output.status.code().ok_or("the command was killed")?;
    if !output.stdout.is_empty() {
        return Err("a bad job printed data".into());
    }
    let found = format!("exit {code}\n{}", String::from_utf8(output.stderr)?);
    if code != 1 && code != 2 {
        return Err(found.into());
    }
    let file = folder.join("error.txt");
    if update() {
        fs::write(&file, found)?;
        return Ok(());
    }
    let expected = fs::read_to_string(&file)?;
    if found == expected { Ok(()) } else { Err(format!("expected\n{expected}\nfound\n{found}").into()) }
}
