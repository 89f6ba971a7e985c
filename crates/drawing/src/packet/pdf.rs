//! Pages as a PDF file: vector lines, the embedded typeface, bookmarks, and tags for those who have it read to them. The same pages give the same bytes.

use krilla::color::rgb;
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Point as PdfPoint, Transform};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use krilla::{Document, SerializeSettings};

use crate::font::Face;
use crate::ink::{Colour, ink};
use crate::packet::pages::{Bookmark, Pages};
use crate::packet::tags::{Reading, Tags};
use crate::scene::{Anchor, Mark, Path, Role, Segment, Shape, Text};

/// Points in a millimetre.
const POINTS: f64 = 72.0 / 25.4;

/// The pages as a file.
///
/// # Errors
/// A sentence, should the file not come about; no input is known that makes it so.
pub fn file(pages: &Pages, title: &str) -> Result<Vec<u8>, String> {
    let settings = SerializeSettings { compress_content_streams: true, ..SerializeSettings::default() };
    let mut document = Document::new_with(settings);
    let fonts = Fonts { medium: font(Face::Medium)?, bold: font(Face::Bold)? };
    let mut tags = Tags::new(pages);
    for (number, scene) in pages.scenes.iter().enumerate() {
        let size = PageSettings::from_wh((scene.width * POINTS) as f32, (scene.height * POINTS) as f32)
            .ok_or("a page of the packet has no extent")?;
        let mut page = document.start_page_with(size);
        let mut surface = page.surface();
        let points = POINTS as f32;
        surface.push_transform(&Transform::from_scale(points, points));
        let mut reading = Reading::of_page(number);
        for (place, mark) in scene.marks.iter().enumerate() {
            tags.before(&mut surface, &mut reading, number, place, mark);
            draw(&mut surface, mark, &fonts);
        }
        tags.close(&mut surface, &mut reading);
        surface.pop();
        surface.finish();
        page.finish();
    }
    document.set_tag_tree(tags.tree());
    document.set_outline(outline(&pages.bookmarks));
    let metadata = Metadata::new()
        .title(crate::writer::clean(title))
        .language("en".to_string())
        .creator("stripwright".to_string());
    document.set_metadata(metadata);
    document.finish().map_err(|e| format!("the packet could not be written as PDF: {e:?}"))
}

struct Fonts {
    medium: Font,
    bold: Font,
}

fn font(face: Face) -> Result<Font, String> {
    Font::new(face.file().into(), 0).ok_or_else(|| "the embedded typeface could not be read".to_string())
}

/// Bookmarks two levels deep: sections, and what stands in them.
fn outline(bookmarks: &[Bookmark]) -> Outline {
    let mut outline = Outline::new();
    let mut open: Option<OutlineNode> = None;
    for mark in bookmarks {
        let place = PdfPoint::from_xy(0.0, (mark.y * POINTS) as f32);
        let node = OutlineNode::new(crate::writer::clean(&mark.title), XyzDestination::new(mark.page, place));
        match (&mut open, mark.level) {
            (Some(section), 2) => section.push_child(node),
            _ => {
                if let Some(section) = open.replace(node) {
                    outline.push_child(section);
                }
            }
        }
    }
    if let Some(section) = open {
        outline.push_child(section);
    }
    outline
}

fn draw(surface: &mut Surface<'_>, mark: &Mark, fonts: &Fonts) {
    match &mark.shape {
        Shape::Path(path) => {
            if let Some(path) = built(path) {
                set_ink(surface, mark.role);
                surface.draw_path(&path);
            }
        }
        Shape::Text(text) => words(surface, mark.role, text, fonts),
        Shape::Clip(path, marks) => {
            if let Some(path) = built(path) {
                surface.push_clip_path(&path, &FillRule::NonZero);
                for mark in marks {
                    draw(surface, mark, fonts);
                }
                surface.pop();
            }
        }
    }
}

fn colour([r, g, b]: Colour) -> krilla::paint::Paint {
    rgb::Color::new(r, g, b).into()
}

fn set_ink(surface: &mut Surface<'_>, role: Role) {
    let ink = ink(role);
    surface.set_fill(ink.fill.map(|c| Fill {
        paint: colour(c),
        opacity: NormalizedF32::ONE,
        rule: FillRule::NonZero,
    }));
    surface.set_stroke(ink.stroke.map(|c| {
        Stroke {
            paint: colour(c),
            width: ink.width as f32,
            line_join: LineJoin::Round,
            dash: (!ink.dash.is_empty())
                .then(|| StrokeDash { array: ink.dash.iter().map(|d| *d as f32).collect(), offset: 0.0 }),
            ..Stroke::default()
        }
    }));
}

/// Rounded as drawings are, so that the file stays small.
fn coordinate(value: f64) -> f32 {
    ((value * 1000.0).round() / 1000.0) as f32
}

fn built(path: &Path) -> Option<krilla::geom::Path> {
    let mut builder = PathBuilder::new();
    let xy = |p: crate::scene::Point| (coordinate(p.x), coordinate(p.y));
    for segment in &path.0 {
        match *segment {
            Segment::Move(p) => {
                let (x, y) = xy(p);
                builder.move_to(x, y);
            }
            Segment::Line(p) => {
                let (x, y) = xy(p);
                builder.line_to(x, y);
            }
            Segment::Curve(a, b, p) => {
                let ((ax, ay), (bx, by), (x, y)) = (xy(a), xy(b), xy(p));
                builder.cubic_to(ax, ay, bx, by, x, y);
            }
            Segment::Close => builder.close(),
        }
    }
    builder.finish()
}

fn words(surface: &mut Surface<'_>, role: Role, text: &Text, fonts: &Fonts) {
    let font = match text.face {
        Face::Medium => &fonts.medium,
        Face::Bold => &fonts.bold,
    };
    let shown = crate::writer::clean(&text.words);
    let width = text.face.width(&shown, text.size);
    let start = match text.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => -width / 2.0,
        Anchor::End => -width,
    };
    let glyphs: Vec<KrillaGlyph> = shown
        .char_indices()
        .map(|(i, c)| {
            // A character the typeface lacks is shown as a question mark in its room; read or copied it is itself.
            let (id, advance) = match text.face.glyph(c) {
                (0, advance) => (text.face.glyph('?').0, advance),
                found => found,
            };
            KrillaGlyph::new(
                GlyphId::new(u32::from(id)),
                advance as f32,
                0.0,
                0.0,
                0.0,
                i..i + c.len_utf8(),
                None,
            )
        })
        .collect();
    set_ink(surface, role);
    surface.set_stroke(None);
    let (x, y) = (coordinate(text.at.x), coordinate(text.at.y));
    let turn = if text.upright {
        Transform::from_row(0.0, -1.0, 1.0, 0.0, x, y)
    } else {
        Transform::from_row(1.0, 0.0, 0.0, 1.0, x, y)
    };
    surface.push_transform(&turn);
    surface.draw_glyphs(
        PdfPoint::from_xy(start as f32, 0.0),
        &glyphs,
        font.clone(),
        &shown,
        text.size as f32,
        false,
    );
    surface.pop();
}
