//! The packet read back by others: pages without faults, a PDF whose words are found again, lists that add up.
#![allow(missing_docs, clippy::unwrap_used, clippy::disallowed_methods)]

mod samples;

use std::collections::BTreeMap;

use proptest::prelude::*;
use stripwright_drawing::draft::Show;
use stripwright_drawing::packet::{content, lists, pages};
use stripwright_drawing::scene::{Role, Shape};
use stripwright_drawing::{Options, packet};
use stripwright_plan::plan::Plan;

fn file(files: &[(String, Vec<u8>)], name: &str) -> Vec<u8> {
    files.iter().find(|f| f.0 == name).unwrap_or_else(|| panic!("{name} is missing")).1.clone()
}

fn made(plan: &Plan) -> Vec<(String, Vec<u8>)> {
    packet(plan, &Options::default()).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_overlaps_on_any_page(seed in 0u64..1_000_000, both in any::<bool>()) {
        let plan = samples::full_plan(seed);
        let options = Options { both };
        let pages = pages::set(&content::document(&plan, &options), plan.units);
        let drawings = content::drawings(&plan, Show::of(&plan, both));
        for scene in pages.scenes.iter().chain(&drawings) {
            prop_assert_eq!(scene.faults(), Vec::<String>::new());
        }
    }
}

/// What is written along the drawn blank is what the step says, and what is drawn is as large.
#[test]
fn the_drawn_blank_is_the_one_of_the_steps() {
    for name in ["herringbone-across", "running-bond", "basket-weave", "chevron-round", "slab-choice-even"] {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures");
        let text = std::fs::read_to_string(root.join(name).join("job.json")).unwrap();
        let job = stripwright_plan::Job::read(&text).unwrap();
        let mut options = stripwright_plan::Options {
            budget: stripwright_plan::Budget { work: 20_000_000 },
            progress: &mut |_| true,
            compare_slabs: false,
        };
        let plan = stripwright_plan::plan(&job, &mut options).unwrap();
        let scene = stripwright_drawing::blank::plate(&plan, 0, Show::of(&plan, false)).unwrap();
        assert_eq!(scene.faults(), Vec::<String>::new());
        let words: Vec<&str> = scene.texts().iter().map(|t| t.words.as_str()).collect();
        let step = plan.steps.iter().find(|s| s.id == "top-1-blank").unwrap();
        let drawn = |scene: &stripwright_drawing::scene::Scene| {
            let grounds = scene.marks.iter().filter(|m| matches!(m.role, Role::Ground | Role::Tint));
            let boxes = grounds.filter_map(|m| match &m.shape {
                Shape::Path(path) if !path.0.is_empty() => Some(stripwright_drawing::draft::bounds(path)),
                _ => None,
            });
            boxes.reduce(|a, b| [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])]).unwrap()
        };
        let ([left, top, right, bottom], scale) = (drawn(&scene), scene.scale.unwrap());
        for (name, extent) in
            [("Blank, from left to right", right - left), ("Blank, from bottom to top", bottom - top)]
        {
            let set = step.settings.iter().find(|s| s.name == name).unwrap();
            let figure = set.value.trim_end_matches(" mm");
            assert!(words.contains(&figure), "{name}: {figure} in {words:?}");
            let over = set.length.unwrap().to_mm() - extent * scale;
            assert!((-0.01..0.51).contains(&over), "{name}: {over}");
        }
    }
}

#[test]
fn another_reader_opens_the_pdf() {
    let plan = samples::full_plan(4);
    let options = Options::default();
    let pages = pages::set(&content::document(&plan, &options), plan.units);
    let bytes = file(&made(&plan), "packet.pdf");
    assert_eq!(bytes, file(&made(&plan), "packet.pdf"), "same plan, same bytes");
    assert!(bytes.len() < 3_000_000, "{} bytes", bytes.len());
    let pdf = lopdf::Document::load_mem(&bytes).unwrap();
    let numbers: Vec<u32> = pdf.get_pages().into_keys().collect();
    assert_eq!(numbers.len(), pages.scenes.len());
    let letters = |s: &str| -> BTreeMap<char, usize> {
        s.chars().filter(|c| !c.is_whitespace()).fold(BTreeMap::new(), |mut m, c| {
            *m.entry(c).or_default() += 1;
            m
        })
    };
    for (number, scene) in numbers.into_iter().zip(&pages.scenes) {
        let set: String = scene.texts().iter().map(|t| t.words.as_str()).collect();
        let read = pdf.extract_text(&[number]).unwrap();
        assert_eq!(letters(&read), letters(&set), "page {number}");
    }
    let titles: Vec<String> = pages.bookmarks.iter().map(|b| b.title.clone()).collect();
    let text = String::from_utf8_lossy(&bytes).into_owned();
    assert!(text.contains("/Outlines"), "bookmarks");
    for section in ["The finished face", "What to buy", "The work, in shop order", "Prices and time"] {
        assert!(titles.iter().any(|t| t == section), "{section}");
    }
}

#[test]
fn no_words_of_a_job_become_markup() {
    let mut plan = samples::full_plan(7);
    let bad = "\"><script>alert(1)</script><img src=x onerror=alert(2)>";
    plan.title = bad.into();
    plan.notes = vec![bad.into()];
    plan.tops[0].name = bad.into();
    plan.layouts[0].sheet = bad.into();
    plan.demands[0].id = bad.into();
    plan.steps[0].title = bad.into();
    plan.currency = bad.into();
    for (name, bytes) in made(&plan) {
        if name.ends_with(".svg") || name.ends_with(".html") {
            let text = String::from_utf8(bytes).unwrap();
            for tag in ["<script", "<img"] {
                assert!(!text.contains(tag), "{name} has {tag}");
            }
        }
    }
}

/// Another reader finds the tags: one heading of the job, every part and step, every drawing with its words, tables with rows.
#[test]
fn the_pdf_is_tagged_for_those_who_have_it_read() {
    let plan = samples::full_plan(1);
    let document = content::document(&plan, &Options::default());
    let pdf = lopdf::Document::load_mem(&file(&made(&plan), "packet.pdf")).unwrap();
    let catalog = pdf.catalog().unwrap();
    assert_eq!(catalog.get(b"Lang").unwrap().as_str().unwrap(), b"en");
    assert!(catalog.get(b"StructTreeRoot").is_ok());
    let role = |d: &lopdf::Dictionary| d.get(b"S").ok().and_then(|s| s.as_name().ok()).map(<[u8]>::to_vec);
    let all: Vec<&lopdf::Dictionary> = pdf
        .objects
        .values()
        .filter_map(|o| o.as_dict().ok())
        .filter(|d| d.get(b"P").is_ok() && d.get(b"K").is_ok() && role(d).is_some())
        .collect();
    let count = |name: &[u8]| all.iter().filter(|d| role(d).as_deref() == Some(name)).count();
    let blocks: Vec<&content::Block> = document.sections.iter().flat_map(|s| &s.blocks).collect();
    assert_eq!(
        (count(b"H1"), count(b"H2")),
        (1, document.sections.len() - 1),
        "the face stands under the title"
    );
    assert_eq!(count(b"H3"), plan.steps.len());
    let drawings = blocks.iter().filter(|b| matches!(b, content::Block::Drawing(_))).count();
    let figures: Vec<_> = all.iter().filter(|d| role(d).as_deref() == Some(b"Figure")).collect();
    assert_eq!(figures.len(), drawings);
    assert!(figures.iter().all(|d| d.get(b"Alt").is_ok_and(|alt| alt.as_str().is_ok_and(|a| a.len() > 10))));
    assert!(count(b"Table") > 2 && count(b"TR") > 2 * count(b"Table") && count(b"TH") > count(b"Table"));
}

/// No tofu, no panic, no silence: the PDF prints question marks, keeps the words for search, and says so.
#[test]
fn letters_that_the_typeface_lacks_are_told() {
    let mut plan = samples::full_plan(4);
    let said = |plan: &Plan| {
        String::from_utf8(file(&made(plan), "packet.html")).unwrap().contains("Latin letters only")
    };
    assert!(!said(&plan));
    plan.title = "椅子, сиденье, كرسي".into();
    plan.tops[0].name = "座面".into();
    assert!(said(&plan));
    let files = made(&plan);
    let html = String::from_utf8(file(&files, "packet.html")).unwrap();
    assert!(
        html.contains("the title, a top’s name") || html.contains("the title, a top's name"),
        "each once"
    );
    assert!(html.contains("椅子") && html.contains("座面"));
    let pdf = lopdf::Document::load_mem(&file(&files, "packet.pdf")).unwrap();
    assert!(pdf.get_pages().len() > 3);
}

#[test]
fn the_page_fetches_nothing() {
    let html = String::from_utf8(file(&made(&samples::full_plan(2)), "packet.html")).unwrap();
    let html = html.replace("http://www.w3.org/2000/svg", "");
    for word in ["http://", "https://", "src=\"", "@import", "<link"] {
        assert!(!html.contains(word), "{word}");
    }
    // Every id is there once.
    let mut ids: Vec<&str> = html.split(" id=\"").skip(1).map(|s| s.split('"').next().unwrap()).collect();
    let all = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), all);
}

#[test]
fn lists_add_up_to_the_plan() {
    for seed in 0..20 {
        let plan = samples::full_plan(seed);
        let files = made(&plan);
        let rows = |name: &str| -> Vec<BTreeMap<String, String>> {
            let bytes = file(&files, name);
            let mut reader = csv::Reader::from_reader(&bytes[..]);
            reader.deserialize().map(|r| r.unwrap()).collect()
        };
        let cut: u64 = rows("cut-list.csv").iter().map(|r| r["count"].parse::<u64>().unwrap()).sum();
        let planned: u64 = plan.layouts.iter().map(|l| l.pieces.len() as u64 * u64::from(l.times)).sum();
        assert_eq!(cut, planned, "seed {seed}");
        let area = |r: &BTreeMap<String, String>| {
            let mm = |k: &str| r[k].parse::<f64>().unwrap();
            mm("length_mm") * mm("width_mm") * mm("count")
        };
        let listed: f64 = rows("cut-list.csv").iter().map(area).sum();
        let drawn: f64 = plan
            .layouts
            .iter()
            .flat_map(|l| {
                l.pieces.iter().map(move |p| p.length.to_mm() * p.width.to_mm() * f64::from(l.times))
            })
            .sum();
        assert!((listed - drawn).abs() < 1e-3, "seed {seed}: {listed} and {drawn}");
        let cents = |s: &str| (s.parse::<f64>().unwrap() * 100.0).round() as i64;
        let bought: i64 = rows("buy.csv")
            .iter()
            .filter(|r| r["group"] == "sheets" || r["group"] == "lumber")
            .map(|r| cents(&r["amount"]))
            .sum();
        assert_eq!(bought, plan.buy.total.minor(), "seed {seed}");
    }
}

#[test]
fn offcuts_are_stock_for_the_next_job() {
    let plan = (0..40).map(samples::full_plan).find(|p| !lists::kept(p).is_empty()).unwrap();
    let text = String::from_utf8(lists::offcuts(&plan)).unwrap();
    let job = r#"{"sheets":[{"name":"new","length":"2440 mm","width":"1220 mm","thickness":"18 mm","price":"50"}],
        "parts":[{"name":"p","length":100,"width":50,"thickness":"18 mm"}]}"#;
    let mut job = stripwright_plan::job::Job::read(job).unwrap();
    let before = job.sheets.len();
    job.add_offcuts(&text).unwrap();
    assert_eq!(job.sheets.len() - before, lists::kept(&plan).len());
    let kept = lists::kept(&plan);
    for (sheet, kept) in job.sheets[before..].iter().zip(kept) {
        assert_eq!((sheet.length, sheet.width, sheet.limit), (kept.length, kept.width, Some(kept.count)));
        assert_eq!(sheet.price.minor(), 0);
    }
}
