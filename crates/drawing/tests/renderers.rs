//! Drawings and packet as other programs see them: a second renderer of SVG (librsvg) and a second reader of PDF
//! (poppler). Machines without them pass; where `STRIPWRIGHT_REQUIRE_TOOLS` is set, as in `.ci/run`, they must be there.
#![allow(missing_docs, clippy::unwrap_used, clippy::disallowed_methods, clippy::print_stderr)]

mod samples;

use std::path::{Path, PathBuf};
use std::process::Command;

use resvg::tiny_skia::{Pixmap, Transform};
use stripwright_drawing::draft::{Show, lettering};
use stripwright_drawing::font::Face;
use stripwright_drawing::packet::{content, pages};
use stripwright_drawing::scene::{Mark, Shape};
use stripwright_drawing::{Options, packet, writer};

/// Pixels for one of 96 to the inch: at one, hairlines depend more on a renderer's smoothing than on the drawing.
const FINE: u32 = 2;

/// A folder of this test's own, removed when it ends.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("stripwright-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Folder(path)
    }

    fn write(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.0.join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// Whether a tool is there; a missing one fails the test only where it is required.
fn present(tool: &str, flag: &str) -> bool {
    let found = Command::new(tool).arg(flag).output().is_ok();
    assert!(
        found || std::env::var_os("STRIPWRIGHT_REQUIRE_TOOLS").is_none(),
        "{tool} is required and missing"
    );
    if !found {
        eprintln!("{tool} is not installed: this check is left to .ci/run");
    }
    found
}

fn by_resvg(svg: &str) -> Pixmap {
    let mut options = resvg::usvg::Options::default();
    for face in [Face::Medium, Face::Bold] {
        options.fontdb_mut().load_font_data(face.file().to_vec());
    }
    let tree = resvg::usvg::Tree::from_str(svg, &options).unwrap();
    let size = tree.size().to_int_size();
    let mut map = Pixmap::new(size.width() * FINE, size.height() * FINE).unwrap();
    let (x, y) = (map.width() as f32 / tree.size().width(), map.height() as f32 / tree.size().height());
    resvg::render(&tree, Transform::from_scale(x, y), &mut map.as_mut());
    map
}

fn by_librsvg(svg: &Path, folder: &Folder, size: (u32, u32)) -> Pixmap {
    let fonts = Path::new(env!("CARGO_MANIFEST_DIR")).join("fonts");
    let config = format!(
        "<?xml version=\"1.0\"?><fontconfig><dir>{}</dir><cachedir>{}</cachedir></fontconfig>",
        fonts.display(),
        folder.0.display()
    );
    let config = folder.write("fonts.conf", config.as_bytes());
    let out = Command::new("rsvg-convert")
        .env("FONTCONFIG_FILE", config)
        .args(["-w", &size.0.to_string(), "-h", &size.1.to_string()])
        .arg(svg)
        .output()
        .unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    Pixmap::decode_png(&out.stdout).unwrap()
}

/// Mean ink of square patches: fine enough to miss no label, coarse enough not to see two ways of smoothing an edge.
fn patches(map: &Pixmap) -> Vec<f64> {
    const SIDE: u32 = 8 * FINE;
    let mut means = Vec::new();
    for y in (0..map.height()).step_by(SIDE as usize) {
        for x in (0..map.width()).step_by(SIDE as usize) {
            let (mut sum, mut n) = (0.0, 0.0);
            for v in y..(y + SIDE).min(map.height()) {
                for u in x..(x + SIDE).min(map.width()) {
                    let p = map.pixel(u, v).unwrap();
                    sum += f64::from(p.red()) + f64::from(p.green()) + f64::from(p.blue());
                    n += 3.0;
                }
            }
            means.push(sum / n / 255.0);
        }
    }
    means
}

/// Mean and worst difference of two pictures' patches.
fn apart(one: &Pixmap, two: &Pixmap) -> (f64, f64) {
    let (a, b) = (patches(one), patches(two));
    let apart = a.iter().zip(&b).map(|(a, b)| (a - b).abs());
    (apart.clone().sum::<f64>() / a.len() as f64, apart.fold(0.0, f64::max))
}

/// The most that two renderers may differ: on the whole, and in one patch.
const LIMITS: (f64, f64) = (0.015, 0.13);

#[test]
fn two_renderers_show_the_same_drawing() {
    if !present("rsvg-convert", "--version") {
        return;
    }
    let plan = samples::full_plan(5);
    let folder = Folder::new("renderers");
    for scene in content::drawings(&plan, Show::of(&plan, false)) {
        let svg = writer::file(&scene);
        let file = folder.write(&format!("{}.svg", scene.name), svg.as_bytes());
        let one = by_resvg(&svg);
        let two = by_librsvg(&file, &folder, (one.width(), one.height()));
        assert_eq!((one.width(), one.height()), (two.width(), two.height()), "{}", scene.name);
        let (mean, worst) = apart(&one, &two);
        assert!(mean < LIMITS.0 && worst < LIMITS.1, "{}: mean {mean:.4}, worst {worst:.3}", scene.name);
    }
}

#[test]
fn a_lost_word_would_be_noticed() {
    let plan = samples::full_plan(5);
    let scene = content::drawings(&plan, Show::of(&plan, false)).swap_remove(1);
    let whole = by_resvg(&writer::file(&scene));
    // One figure alone is less ink than two renderers' smoothing, and so is a word of the smallest lettering; two figures of a
    // label are enough.
    let is_label = |m: &Mark| matches!(&m.shape, Shape::Text(t) if t.words.chars().count() > 1 && t.size >= lettering::LABEL);
    let labels = scene.marks.iter().enumerate().filter(|(_, m)| is_label(m));
    for (i, mark) in labels.step_by(23) {
        let mut less = scene.clone();
        less.marks.remove(i);
        let (_, worst) = apart(&whole, &by_resvg(&writer::file(&less)));
        assert!(worst > LIMITS.1, "without {:?} the worst patch differs by {worst:.3}", mark.shape);
    }
}

#[test]
fn poppler_finds_every_page_and_heading() {
    if !(present("pdfinfo", "-v") && present("pdftotext", "-v")) {
        return;
    }
    let plan = samples::full_plan(9);
    let options = Options::default();
    let files = packet(&plan, &options).unwrap();
    let folder = Folder::new("poppler");
    let file = folder.write("packet.pdf", &files.iter().find(|f| f.0 == "packet.pdf").unwrap().1);
    let set = pages::set(&content::document(&plan, &options), plan.units);
    let info = Command::new("pdfinfo").arg(&file).output().unwrap();
    let info = String::from_utf8(info.stdout).unwrap();
    let count = info.lines().find_map(|l| l.strip_prefix("Pages:")).unwrap().trim().parse::<usize>().unwrap();
    assert_eq!(count, set.scenes.len());
    for mark in &set.bookmarks {
        let page = (mark.page + 1).to_string();
        let text =
            Command::new("pdftotext").args(["-f", &page, "-l", &page]).arg(&file).arg("-").output().unwrap();
        let text = String::from_utf8(text.stdout).unwrap();
        let first = mark.title.split_whitespace().last().unwrap();
        assert!(text.contains(first), "`{}` on page {page}", mark.title);
    }
}
