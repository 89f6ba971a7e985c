//! The command as a promise: exit codes, what is kept, what goes where.

#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "a test of the whole program reads and writes files"
)]

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::Output;

#[path = "support/command.rs"]
mod program;
use program::{begun, fed};

const JOB: &str = r#"{"sheets":[{"name":"board","length":1000,"width":500,"price":10}],
    "parts":[{"name":"panel","length":400,"width":200,"count":5}]}"#;

fn stripwright(folder: &Path, arguments: &[&str], input: &str) -> Output {
    fed(folder, arguments, input.as_bytes())
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
    // What the program did not write, it does not take away.
    let refused = plan(&["--replace"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(text(&refused.stderr).contains("holds `mine.txt`"), "{}", text(&refused.stderr));
    assert_eq!(fs::read_to_string(packet.join("mine.txt")).unwrap(), "a note of my own");
    fs::remove_file(packet.join("mine.txt")).unwrap();
    fs::write(packet.join("buy.csv"), "old").unwrap();
    assert_eq!(plan(&["--replace"]).status.code(), Some(0));
    assert!(fs::read_to_string(packet.join("buy.csv")).unwrap() != "old");
    // Nothing half-written is left beside it.
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

/// Whoever names the wrong folder loses nothing, whichever command and whatever is in it.
#[test]
fn a_folder_of_the_makers_own_is_never_replaced() {
    let folder = tempfile::tempdir().unwrap();
    let at = |path: &str| folder.path().join(path);
    let run = |arguments: &[&str]| stripwright(folder.path(), arguments, JOB);
    assert_eq!(run(&["plan", "-", "--out", "packet"]).status.code(), Some(0));
    assert_eq!(run(&["rip", "-", "--out", "rips"]).status.code(), Some(0));
    let plan = fs::read(at("packet/plan.json")).unwrap();
    type Own<'a> = (&'a str, &'a [(&'a str, &'a [u8])], &'a str);
    let cases: [Own<'_>; 7] = [
        ("shop", &[("drawing.svg", b"<svg/>")], "holds `drawing.svg`"),
        // A job alone is the maker's, and so is a plan that no planner wrote.
        ("jobs", &[("job.json", JOB.as_bytes())], "no `plan.json` that was written here"),
        ("plans", &[("plan.json", b"{\"rooms\": 3}")], "no `plan.json` that was written here"),
        ("mixed", &[("plan.json", &plan), ("plan-2.json", b"{}")], "holds `plan-2.json`"),
        ("nested", &[("plan.json", &plan), ("notes/one.txt", b"1")], "holds `notes`"),
        ("named", &[("plan.json", &plan), ("packet.pdf/mine.txt", b"1")], "holds `packet.pdf`"),
        ("hidden", &[("plan.json", &plan), (".git/HEAD", b"ref")], "holds `.git`"),
    ];
    for (out, files, words) in cases {
        for (name, bytes) in files {
            let file = at(out).join(name);
            fs::create_dir_all(file.parent().unwrap()).unwrap();
            fs::write(file, bytes).unwrap();
        }
        for command in ["plan", "rip"] {
            let ran = run(&[command, "-", "--out", out, "--replace"]);
            assert_eq!(ran.status.code(), Some(2), "{command} {out}: {}", text(&ran.stderr));
            if command == "plan" {
                assert!(text(&ran.stderr).contains(words), "{out}: {}", text(&ran.stderr));
            }
            assert_eq!(text(&ran.stderr).lines().count(), 1, "{}", text(&ran.stderr));
            for (name, bytes) in files {
                assert_eq!(fs::read(at(out).join(name)).unwrap(), *bytes, "{out}/{name}");
            }
        }
    }
    // Each command replaces what it writes itself, and takes an empty folder.
    assert_eq!(run(&["rip", "-", "--out", "packet", "--replace"]).status.code(), Some(2));
    assert_eq!(run(&["plan", "-", "--out", "rips", "--replace"]).status.code(), Some(2));
    assert_eq!(run(&["rip", "-", "--out", "rips", "--replace"]).status.code(), Some(0));
    assert_eq!(run(&["plan", "-", "--out", "packet", "--replace"]).status.code(), Some(0));
    for (out, more) in [("empty", &["--replace"][..]), ("free", &[])] {
        fs::create_dir(at(out)).unwrap();
        assert_eq!(run(&[&["plan", "-", "--out", out], more].concat()).status.code(), Some(0), "{out}");
        assert!(at(out).join("plan.json").is_file());
    }
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2 + cases.len() + 2);
}

/// A folder that only has a name like those of half-written packets is the maker's.
#[test]
fn what_the_maker_put_beside_a_packet_stays() {
    let folder = tempfile::tempdir().unwrap();
    let at = |path: &str| folder.path().join(path);
    for own in [".packet.new-20261127", ".packet.new-", ".packet.new-7.old"] {
        fs::create_dir(at(own)).unwrap();
        fs::write(at(own).join("notes"), "mine").unwrap();
    }
    // Left behind by a process that was killed.
    fs::create_dir(at(".packet.new-8")).unwrap();
    fs::write(at(".packet.new-8/buy.csv"), "half").unwrap();
    let ran = stripwright(folder.path(), &["plan", "-", "--out", "packet"], JOB);
    assert_eq!(ran.status.code(), Some(0), "{}", text(&ran.stderr));
    assert!(at(".packet.new-20261127/notes").exists() && at(".packet.new-/notes").exists());
    assert!(at(".packet.new-7.old/notes").exists() && !at(".packet.new-8").exists());
}

/// What is written is where a link leads; a place where nothing can be is refused before the search.
#[cfg(unix)]
#[test]
fn links_are_followed_and_dead_ends_told_first() {
    let folder = tempfile::tempdir().unwrap();
    let at = |path: &str| folder.path().join(path);
    let run = |out: &str| stripwright(folder.path(), &["plan", "-", "--out", out, "--replace"], JOB);
    fs::create_dir(at("real")).unwrap();
    std::os::unix::fs::symlink("real", at("link")).unwrap();
    std::os::unix::fs::symlink("nowhere", at("dangling")).unwrap();
    fs::write(at("file"), "mine").unwrap();
    for out in ["link", "link/"] {
        assert_eq!(run(out).status.code(), Some(0), "{}", text(&run(out).stderr));
        assert!(at("link").is_symlink() && at("real/plan.json").is_file(), "{out}");
    }
    for (out, words) in [
        ("dangling", "dangling is a link to nothing"),
        ("file/packet", "file is not a folder"),
        (".", "does not name a folder"),
    ] {
        let ran = run(out);
        assert_eq!(ran.status.code(), Some(2), "{out}");
        assert!(text(&ran.stderr).starts_with(out.split('/').next().unwrap()), "{}", text(&ran.stderr));
        assert!(text(&ran.stderr).contains(words), "{out}: {}", text(&ran.stderr));
    }
}

/// Whoever gets a packet has the offcuts, too, that the job could use.
#[test]
fn a_packet_holds_the_offcuts_of_its_job() {
    let folder = tempfile::tempdir().unwrap();
    let at = |path: &str| folder.path().join(path);
    let run = |arguments: &[&str]| stripwright(folder.path(), arguments, "");
    let job = JOB.replacen('{', "{\"offcuts\": \"rack.json\", ", 1);
    fs::write(at("job.json"), &job).unwrap();
    fs::write(at("rack.json"), r#"[{"name": "end of birch", "length": 700, "width": 300, "thickness": 18}]"#)
        .unwrap();
    let planned = run(&["plan", "job.json", "--out", "packet"]);
    assert_eq!(planned.status.code(), Some(0), "{}", text(&planned.stderr));
    fs::remove_file(at("rack.json")).unwrap();
    let audited = run(&["audit", "packet"]);
    assert_eq!(audited.status.code(), Some(0), "{}", text(&audited.stderr));
    assert!(text(&audited.stdout).contains("yes"));
    let again = run(&["plan", "packet/job.json", "--json"]);
    assert_eq!(again.stdout, fs::read(at("packet/plan.json")).unwrap());
    assert_eq!(run(&["plan", "packet/job.json", "--out", "packet", "--replace"]).status.code(), Some(0));
    assert!(at("packet/offcuts-on-hand.json").is_file());
}

/// Without prices there is no money to speak of; with some of them there is no plan.
#[test]
fn sheets_without_prices_are_counted() {
    let folder = tempfile::tempdir().unwrap();
    let sheet = |name: &str, price: &str| {
        format!(r#"{{"name": "{name}", "length": 2440, "width": 1220, "thickness": 18{price}}}"#)
    };
    let job = |sheets: &[String]| {
        let part = r#"{"name": "shelf", "length": 800, "width": 300, "count": 20, "thickness": 18}"#;
        format!(r#"{{"sheets": [{}], "parts": [{part}]}}"#, sheets.join(", "))
    };
    let run = |job: &str| stripwright(folder.path(), &["buy", "-"], job);
    let counted = run(&job(&[sheet("birch", "")]));
    let said = text(&counted.stdout);
    assert!(said.contains("Proven: 2 in all, and fewer will not do."), "{said}");
    assert!(!said.contains("total") && !said.contains(".00"), "{said}");
    let mixed = run(&job(&[sheet("birch", ", \"price\": 92"), sheet("poplar", "")]));
    assert_eq!(mixed.status.code(), Some(2));
    assert!(text(&mixed.stderr).contains("`poplar` has no price, and `birch` costs 92.00"));
}

/// Words of a job do not command the terminal that shows what is wrong with it.
#[test]
fn a_fault_is_told_without_control_characters() {
    let folder = tempfile::tempdir().unwrap();
    for job in ["{\"\\u001b]0;mine\\u0007\": 1}", "{\"\u{1b}[31m\": 1}", "{\"units\": \"\\u001b[2J\"}"] {
        let ran = stripwright(folder.path(), &["buy", "-"], job);
        assert_eq!(ran.status.code(), Some(2));
        assert!(!ran.stderr.contains(&0x1b) && !ran.stderr.contains(&7), "{:?}", text(&ran.stderr));
    }
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

fn fixture(name: &str) -> String {
    format!("{}/../../fixtures/{name}/job.json", env!("CARGO_MANIFEST_DIR"))
}

/// The first row of a comparison is the job's own pattern, to the figures of its plan, other parts of the job included.
#[test]
fn a_comparison_begins_with_the_job_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["chevron-band-oval", "herringbone-along", "two-counters"] {
        let job = fs::read_to_string(fixture(name)).unwrap();
        let json = |arguments: &[&str]| -> serde_json::Value {
            let out = stripwright(folder.path(), arguments, &job);
            assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
            serde_json::from_slice(&out.stdout).unwrap()
        };
        let plan = json(&["plan", "-", "--json"]);
        let top = &plan["tops"][0];
        let kind = top["pattern"]["kind"].as_str().unwrap();
        let rows = json(&["compare", "-", "--json", "--patterns", &format!("{kind},straight")]);
        let own = &rows["rows"][0];
        assert_eq!((&own["own"], rows["rows"].as_array().unwrap().len()), (&true.into(), 2), "{rows}");
        assert_eq!((&own["money"], &own["bound"]), (&plan["buy"]["total"], &plan["bound"]["money"]));
        assert_eq!((&own["proven"], &own["mass"]), (&plan["bound"]["proven"], &top["mass"]));
        assert_eq!((&own["pieces"], &own["depth"]), (&top["bands"], &top["depth"]));
        let glue = plan["tops"].as_array().unwrap().iter().flat_map(|top| top["glue"].as_array().unwrap());
        let grams: f64 = glue.map(|glue| glue["grams"].as_f64().unwrap()).sum();
        assert!((own["glue"].as_f64().unwrap() - grams).abs() < 1e-5, "{own}");
        let sheets = &plan["ledger"][0];
        let used = sheets["output"].as_f64().unwrap() / sheets["input"].as_f64().unwrap();
        assert!((own["used"].as_f64().unwrap() - used).abs() < 1e-6, "{own}");
    }
    let words = stripwright(
        folder.path(),
        &["compare", "-"],
        &fs::read_to_string(fixture("chevron-band-oval")).unwrap(),
    )
    .stdout;
    let first = text(&words).lines().nth(1).unwrap().to_string();
    assert!(first.starts_with("chevron 60°, 7 bands of 62 mm (own) "), "{first}");
}

/// The fixtures' `why.md` works out every figure that is looked for here.
#[test]
fn a_base_is_told_in_shop_order_with_its_settings() {
    let said = |name: &str| {
        let out = stripwright(Path::new("."), &["base", &fixture(name)], "");
        assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
        text(&out.stdout).to_string()
    };
    let stool = said("stool-with-base");
    let row = |said: &str, words: &[&str]| {
        let found = said.lines().any(|line| {
            let mut rest = line;
            words.iter().all(|word| match rest.split_once(word) {
                Some((_, after)) => {
                    rest = after;
                    true
                }
                None => false,
            })
        });
        assert!(found, "no line with {words:?} in\n{said}");
    };
    row(&stool, &["618 mm high", "leaning 10°", "8° from the side", "438 mm by 393.5 mm on the floor"]);
    row(&stool, &["legs", "634 mm", "plane face down", "9.9°", "8°", "9.905°", "8°", "0.00"]);
    row(&stool, &["legs", "634 mm", "side face down", "8.1°", "9.8°", "8.119°", "9.807°", "0.02"]);
    row(&stool, &["front and back rung 2", "307.5 mm", "outer face down", "9.9°", "0°", "9.905°"]);
    row(&stool, &["plain pair is good enough", "turned 10°", "tilted 8°", "0.07 mm"]);
    row(&stool, &["1.385° off square", "0.97 mm"]);
    row(&stool, &["2 dowels of 12 mm by 64 mm in each end", "8 for the pair", "34 mm deep"]);
    // `why.md`, Bores: 3.1 mm of wood beside them, and the reason why they are no deeper.
    row(&stool, &["3.1 mm of wood left where it is thinnest"]);
    row(&stool, &["front and back rung 1 are kept to 34 mm deep", "rise towards the top end"]);
    row(&stool, &["leans 12.707° (resultant lean)", "38.556° from the front (sight line)"]);
    row(
        &stool,
        &["front and back rung 1: 67 mm by 28 mm", "plane to 64 mm by 25 mm, which the bevelled rips need"],
    );
    row(&stool, &["clearance holes 4.4 mm (11/64 in)", "pilots 2.8 mm (7/64 in)"]);
    row(&stool, &["4 screws", "no. 8 of 80 mm", "none longer than 83 mm"]);
    row(&stool, &["110 mm to the left and right", "155.5 mm from the centre"]);
    row(&stool, &["70 mm at left and right and 70 mm at front and back"]);
    row(&stool, &["To the front and back", "4.49 times", "90 N"]);
    row(&stool, &["replaces no test", "local codes"]);
    // `why.md`, Boards: three are needed and do; 3 x 0.095 x 0.045 x 2.4 m3, and T85 for the board feet.
    row(&stool, &["construction lumber 45x95", "2400 mm", "3", "7.80", "23.40"]);
    row(&stool, &["Proven: no boards of these kinds cost less than 23.40."]);
    row(&stool, &["13.0 board feet", "0.031 m3"]);
    row(&stool, &["yields 2 sticks of 43 mm by 43 mm (stool leg): 2 side by side"]);
    row(&stool, &["5 mm taken off to square an edge", "a kerf of 3.2 mm", "1.5 mm to plane off"]);
    // Three legs and two kerfs of 3.2 mm: 3 x 676.5 + 6.4 = 2035.9.
    row(
        &stool,
        &[
            "Board 1, cut 1 of construction lumber 45x95: crosscut off 2035.9 mm, and out of that rip 43 mm for 3 × 676.5 mm (stool leg)",
        ],
    );
    row(&stool, &["Board 2, cut 1 of construction lumber 45x95: rip 67 mm"]);
    // The work goes from boards to sticks to legs to rungs to glue to screws.
    let at = |words: &str| stool.find(words).unwrap_or_else(|| panic!("no `{words}` in\n{stool}"));
    let order = [
        "How the boards are cut",
        "Saw 8 sticks for legs",
        "mark arrow, bar and letters",
        "Cut the top end",
        "Dry-fit",
        "Screw the base on",
    ];
    assert!(order.windows(2).all(|two| at(two[0]) < at(two[1])));
    assert!(at("To mind") > at("Standing") && stool.contains("crosscuts with a tilted blade"));

    let bench = said("bench-in-inches");
    row(&bench, &["16 in high", "7.125°", "5.356°", "28 in by 9 in", "32 in by 12 in on the floor"]);
    row(&bench, &["legs", "16 7/32 in", "plane face down", "7.1°", "5.4°", "7.094°", "5.356°"]);
    row(&bench, &["6 7/8 in along the bottom edge", "6 1/2 in along the top edge"]);
    row(&bench, &["tenons 5/8 in long, 1/4 in thick"]);
    row(&bench, &["lengths are from shoulder to shoulder", "never through"]);
    row(
        &bench,
        &[
            "2 1/2 in, none longer than 2 7/8 in",
            "3/16 in (4.8 mm)",
            "pilots 1/8 in (3.2 mm), 5/8 in into the top",
        ],
    );
    row(&bench, &["14 in to the left and right", "4 1/2 in to the front and back"]);
    for said in [&stool, &bench] {
        let prose = said.lines().filter(|line| line.starts_with("- "));
        assert!(prose.clone().count() > 5 && prose.into_iter().all(|line| !line.contains("(T")));
    }
}

/// Without prices boards are counted; without lumber that is said; the whole plan has the base at a glance.
#[test]
fn boards_without_prices_and_a_base_at_a_glance() {
    let job = |lumber: &str| {
        format!(
            r#"{{"units":"mm",{lumber}"bases":[{{"name":"frame","height":700,"front_lean":6,"side_lean":6,"leg":32,
                "top_spread":260,"rungs":[{{"height":140,"sides":"front and back"}}]}}]}}"#
        )
    };
    let said = |command: &str, job: &str| {
        let out = stripwright(Path::new("."), &[command, "-"], job);
        assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
        text(&out.stdout).to_string()
    };
    let unpriced = job(r#""lumber":[{"name":"ash","section":[95,45],"length":2400}],"#);
    let boards = said("base", &unpriced);
    // Four legs of 744.5 mm, two to a lane, and two rungs: one board.
    assert!(boards.contains("ash            2400 mm      1\n"), "{boards}");
    assert!(
        boards.contains("fewer boards of these kinds do not hold them. No prices are given."),
        "{boards}"
    );
    assert!(said("base", &job("")).contains("the job has no `lumber`"));
    let plan = said("plan", &unpriced);
    let rows: Vec<Vec<&str>> = plan.lines().map(|line| line.split_whitespace().collect()).collect();
    assert!(rows.contains(&"legs 4 32 mm x 32 mm 708 mm 6° 6°".split(' ').collect()), "{plan}");
    assert!(plan.contains("frame (x1): 700 mm high, leaning 6° and 6°") && plan.contains("Lumber bought: "));
    assert!(plan.lines().all(|line| line.chars().count() <= 80), "{plan}");
}

/// Joints that run into each other, and a seat that would tip, from the stool of the fixtures.
#[test]
fn a_base_that_cannot_be_or_would_tip_says_so_with_the_fix() {
    let folder = tempfile::tempdir().unwrap();
    let stool = fs::read_to_string(fixture("stool-with-base")).unwrap();
    let base = |job: &str| stripwright(folder.path(), &["base", "-"], job);
    let bench = fs::read_to_string(fixture("bench-in-inches")).unwrap();
    let met = base(&bench.replace("\"14 in\"", "\"15 in\""));
    assert_eq!(met.status.code(), Some(1));
    let said = text(&met.stderr);
    assert!(
        said.contains("`bases[0].rungs[") && said.contains("run into each other inside the leg"),
        "{said}"
    );
    assert!(said.contains("It would do with") && said.contains("(19/32 in less)"), "the fix is said: {said}");

    let upright =
        stool.replace("\"front_lean\": 10", "\"front_lean\": 0").replace("\"220 mm\"", "\"190 mm\"");
    let tips = base(&upright);
    assert_eq!(tips.status.code(), Some(0), "{}", text(&tips.stderr));
    let said = text(&tips.stdout);
    // 95 mm to the line of the feet: 62 N x 95 + 600 N x (95 - 120) is below zero.
    assert!(said.contains("it would TIP to the left and right"), "{said}");
    assert!(said.contains("it tips without any push") && said.contains("Spread the feet"), "{said}");
}

/// Jobs beyond what is read or planned are refused in the same words wherever they come from: file, standard input, a
/// line of a batch, the bench page's request.
#[test]
fn what_is_too_large_is_refused_in_the_same_words_everywhere() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = begun(folder.path(), &["bench", "--no-open"]);
    let mut address = String::new();
    BufReader::new(bench.stdout.take().unwrap()).read_line(&mut address).unwrap();
    let (host, path) = address.trim().strip_prefix("http://").unwrap().split_once('/').unwrap();
    let ask = |job: &str| {
        let body = serde_json::json!({ "page": "p", "job": job }).to_string();
        let mut stream = TcpStream::connect(host).unwrap();
        let head = format!(
            "POST /{path}api/plan HTTP/1.1\r\nhost: {host}\r\ncontent-type: application/json\r\nconnection: close\r\n\
             content-length: {}\r\n\r\n",
            body.len()
        );
        // It may answer and close before it has read everything.
        let _ = stream.write_all(&[head.as_bytes(), body.as_bytes()].concat());
        let mut answer = String::new();
        let _ = stream.read_to_string(&mut answer);
        answer
    };
    let bad = |name: &str| {
        let text = fs::read_to_string(fixture(&format!("bad/{name}"))).unwrap();
        text.replace(['\n', '\r'], " ")
    };
    let deep = "[".repeat(200_000);
    let cases = [
        (bad("long-list"), "found a list of 1001, where at most 1000 are allowed"),
        (bad("too-many-in-all"), "the parts are more than 100000 in all"),
        (bad("too-many-in-all"), "the sticks are more than 100000 in all"),
        (bad("parts-like-sand"), "could hold more than 20000 parts"),
        (bad("parts-like-dust"), "more than 2000 would lie side by side"),
        (bad("sheet-like-a-field"), "more than 1000 square metres"),
        (bad("count-huge"), "to 100000 is allowed"),
        (bad("long-title"), "at most 200 are allowed"),
        (deep, "maximum nesting depth exceeded"),
    ];
    for (job, words) in &cases {
        fs::write(folder.path().join("job.json"), job).unwrap();
        let by_file = fed(folder.path(), &["plan", "job.json"], b"");
        let by_input = fed(folder.path(), &["buy", "-"], job.as_bytes());
        let by_batch = fed(folder.path(), &["batch", "-"], job.as_bytes());
        assert_eq!((by_file.status.code(), by_input.status.code()), (Some(2), Some(2)), "{words}");
        let answer = ask(job);
        for said in [text(&by_file.stderr), text(&by_input.stderr), text(&by_batch.stdout), &answer] {
            assert!(said.contains(words), "no `{words}` in {said}");
        }
    }
    let long = format!("{{\"title\":\"{}\"}}", "x".repeat(4 << 20));
    fs::write(folder.path().join("job.json"), &long).unwrap();
    let by_batch = fed(folder.path(), &["batch", "-"], long.as_bytes());
    for ran in
        [fed(folder.path(), &["plan", "job.json"], b""), fed(folder.path(), &["plan", "-"], long.as_bytes())]
    {
        assert!(text(&ran.stderr).contains("longer than 4194304 bytes"), "{}", text(&ran.stderr));
    }
    assert!(text(&by_batch.stdout).contains("longer than 4194304 bytes"));
    let answer = ask(&long);
    assert!(answer.is_empty() || answer.contains("larger than the 1048576 bytes"), "{answer}");
    assert!(ask(JOB).contains("\"kind\":\"plan\""), "the bench goes on");
    bench.kill().unwrap();
    bench.wait().unwrap();
}
