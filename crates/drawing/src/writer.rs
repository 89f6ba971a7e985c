//! A scene as an SVG file: the one place that knows tags, escaping and how numbers are rounded.
//!
//! Words from a job go into text nodes only, never into attributes, and are escaped there.

use base64::Engine;
use svg::Document;
use svg::node::element::{ClipPath, Group, Path as PathElement, Rectangle, Style, Text as TextElement};
use svg::node::element::{Description, Title};
use svg::node::{Node, Text as TextNode};

use crate::font::{FAMILY, Face};
use crate::ink::{class, ink};
use crate::scene::{Anchor, Mark, Path, Role, Scene, Segment, Shape, Text};

/// A file of its own, with its style and typeface inside.
pub fn file(scene: &Scene) -> String {
    let style = format!("{}{}", typeface(), style());
    // In a file the style is data, so its quotes and signs must not need escaping: it has none of `<`, `>`, `&`.
    let document =
        document(scene).set("width", millimetres(scene.width)).set("height", millimetres(scene.height));
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}\n", with_style(document, &style, scene))
}

/// An element for a page that carries [`style`] and [`typeface`] itself.
pub fn inline(scene: &Scene, id: usize) -> String {
    let document =
        document(scene).set("role", "img").set("aria-labelledby", format!("d{id}-title d{id}-desc"));
    fill(document, scene, &format!("d{id}-")).to_string()
}

/// The rules that give each role its ink.
pub fn style() -> String {
    let mut rules = String::new();
    for role in Role::ALL {
        let ink = ink(role);
        let colour = |c: Option<crate::ink::Colour>| match c {
            Some([r, g, b]) => format!("#{r:02x}{g:02x}{b:02x}"),
            None => "none".to_string(),
        };
        rules.push_str(&format!(
            ".k-{}{{fill:{};stroke:{}",
            class(role),
            colour(ink.fill),
            colour(ink.stroke)
        ));
        if ink.stroke.is_some() {
            rules.push_str(&format!(";stroke-width:{}", number(ink.width)));
        }
        if !ink.dash.is_empty() {
            let dash: Vec<String> = ink.dash.iter().map(|d| number(*d)).collect();
            rules.push_str(&format!(";stroke-dasharray:{}", dash.join(" ")));
        }
        rules.push_str("}\n");
    }
    rules.push_str(".k-edge,.k-outline,.k-piece,.k-fine{stroke-linejoin:round}\n");
    rules.push_str(&format!(
        ".k-text{{font-family:'{FAMILY}','Arial Narrow',Arial,sans-serif;stroke:none}}\n"
    ));
    rules.push_str(&format!(".k-bold{{font-weight:{}}}\n", Face::Bold.weight()));
    rules
}

/// The rules that carry the typeface.
pub fn typeface() -> String {
    [Face::Medium, Face::Bold]
        .map(|face| {
            format!(
                "@font-face{{font-family:'{FAMILY}';font-weight:{};src:url(data:font/woff2;base64,{}) format('woff2')}}\n",
                face.weight(),
                base64::engine::general_purpose::STANDARD.encode(face.web_file())
            )
        })
        .concat()
}

fn document(scene: &Scene) -> Document {
    Document::new().set("viewBox", format!("0 0 {} {}", number(scene.width), number(scene.height)))
}

fn with_style(document: Document, style: &str, scene: &Scene) -> Document {
    fill(document.add(Style::new(style)), scene, "")
}

fn fill(document: Document, scene: &Scene, prefix: &str) -> Document {
    let mut title = Title::new(clean(&scene.title));
    let mut description = Description::new().add(TextNode::new(clean(&scene.description)));
    if !prefix.is_empty() {
        title = title.set("id", format!("{prefix}title"));
        description = description.set("id", format!("{prefix}desc"));
    }
    let mut document = document.add(title).add(description);
    if prefix.is_empty() {
        // A file may be shown on any ground: it brings its own paper.
        let paper = Rectangle::new()
            .set("class", format!("k-{}", class(Role::Ground)))
            .set("width", number(scene.width))
            .set("height", number(scene.height));
        document = document.add(paper);
    }
    let mut clips = 0;
    for mark in &scene.marks {
        document = add(document, mark, prefix, &mut clips);
    }
    document
}

fn add<N: Node>(mut parent: N, mark: &Mark, prefix: &str, clips: &mut usize) -> N {
    match &mark.shape {
        Shape::Path(path) => {
            let mut element =
                PathElement::new().set("class", format!("k-{}", class(mark.role))).set("d", data(path));
            if let Some(name) = &mark.name {
                element = element.add(Title::new(clean(name)));
            }
            parent.append(element);
        }
        Shape::Text(text) => parent.append(words(mark.role, text)),
        Shape::Clip(path, marks) => {
            let id = format!("{prefix}clip{clips}");
            *clips += 1;
            parent
                .append(ClipPath::new().set("id", id.as_str()).add(PathElement::new().set("d", data(path))));
            let mut group = Group::new().set("clip-path", format!("url(#{id})"));
            for mark in marks {
                group = add(group, mark, prefix, clips);
            }
            parent.append(group);
        }
    }
    parent
}

fn words(role: Role, text: &Text) -> TextElement {
    let weight = match text.face {
        Face::Medium => "",
        Face::Bold => " k-bold",
    };
    let mut element = TextElement::new(clean(&text.words))
        .set("class", format!("k-text{weight} k-{}", class(role)))
        .set("font-size", number(text.size));
    match text.anchor {
        Anchor::Start => {}
        Anchor::Middle => element.assign("text-anchor", "middle"),
        Anchor::End => element.assign("text-anchor", "end"),
    }
    let (x, y) = (number(text.at.x), number(text.at.y));
    if text.upright {
        element.assign("transform", format!("translate({x} {y}) rotate(-90)"));
    } else {
        element.assign("x", x);
        element.assign("y", y);
    }
    element
}

/// Path data, absolute.
fn data(path: &Path) -> String {
    let mut out = String::new();
    let pair = |p: crate::scene::Point| format!("{} {}", number(p.x), number(p.y));
    for segment in &path.0 {
        match *segment {
            Segment::Move(p) => out.push_str(&format!("M{}", pair(p))),
            Segment::Line(p) => out.push_str(&format!("L{}", pair(p))),
            Segment::Curve(a, b, p) => out.push_str(&format!("C{} {} {}", pair(a), pair(b), pair(p))),
            Segment::Close => out.push('Z'),
        }
    }
    out
}

fn millimetres(value: f64) -> String {
    format!("{}mm", number(value))
}

/// A thousandth of a millimetre is finer than any printer: numbers are rounded to it, so that files compare well.
pub(crate) fn number(value: f64) -> String {
    // Away from ties whole thousandths are rounded by plain arithmetic, to the same digits in a fraction of the time.
    let thousandths = value * 1000.0;
    let text = if thousandths.abs() < 1e9 && (thousandths.fract().abs() - 0.5).abs() > 1e-3 {
        let sign = if thousandths < 0.0 { "-" } else { "" };
        let whole = thousandths.abs().round() as u64;
        format!("{sign}{}.{:03}", whole / 1000, whole % 1000)
    } else {
        format!("{value:.3}")
    };
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_string() } else { text.to_string() }
}

/// Characters that XML does not allow (control characters, and those that are no characters) become blanks.
pub(crate) fn clean(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\u{0}'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{fffe}' | '\u{ffff}' => ' ',
            _ => c,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::at;

    /// The quick way gives the same digits as the exact one, ties and what is next to them included.
    #[test]
    fn rounds_as_exactly_written() {
        let plain = |value: f64| {
            let text = format!("{value:.3}");
            let text = text.trim_end_matches('0').trim_end_matches('.').to_string();
            if text == "-0" { "0".to_string() } else { text }
        };
        for n in -40_000..40_000 {
            for value in
                [f64::from(n) / 16_000.0, f64::from(n) * 0.37, f64::from(n) * 97.000_5, f64::from(n) / 2000.0]
            {
                for value in [value, value.next_up(), value.next_down()] {
                    assert_eq!(number(value), plain(value), "{value}");
                }
            }
        }
        assert_eq!(number(-0.0), "0");
    }

    #[test]
    fn rounds_and_escapes_in_one_place() {
        assert_eq!(
            ["0.0004", "-0.0004", "12.3456", "7"].map(|t| number(t.parse().unwrap())),
            ["0", "0", "12.346", "7"]
        );
        let mut scene = Scene::new("x", "a < b & \"c\"\u{1}", 10.0, 10.0);
        scene.words(Role::Label, 1.0, 5.0, 2.0, Face::Medium, "</text><script>alert(1)</script>");
        scene.draw_named(Role::Edge, Path::line(at(0.0, 0.0), at(1.0, 1.0)), "<b>");
        for text in [file(&scene), inline(&scene, 3)] {
            assert!(!text.contains("<script") && !text.contains("<b>") && !text.contains('\u{1}'), "{text}");
            assert!(text.contains("a &lt; b &amp;"));
        }
    }
}
