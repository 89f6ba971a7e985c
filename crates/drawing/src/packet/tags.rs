//! What a reader of the file aloud is told: headings, paragraphs, tables by rows and cells, drawings by their description, in the
//! order of reading. Rules, headers and footers are decoration and are passed over.

use std::num::NonZeroU16;

use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, SpanTag, TableHeaderScope, Tag, TagGroup, TagTree,
};

use crate::font::Face;
use crate::packet::pages::{Element, Kind, Pages};
use crate::scene::{Anchor, Mark, Shape, Text};

/// What is marked while pages are drawn, and made into a tree when they are.
pub(super) struct Tags<'p> {
    elements: &'p [Element],
    /// For each page and mark the element it belongs to.
    owners: Vec<Vec<Option<usize>>>,
    /// What was marked, element by element.
    marked: Vec<Vec<Marked>>,
}

/// A piece of marked content and, in a table, its cell.
struct Marked {
    content: Identifier,
    row: usize,
    column: i64,
    heading: bool,
    caption: bool,
}

/// How far the marking of a page has come.
#[derive(Default)]
pub(super) struct Reading {
    open: Option<Owner>,
    row: usize,
    table: Option<usize>,
    ruled: bool,
}

impl Reading {
    /// Rows are counted on through all pages, so that no two are taken for one.
    pub(super) fn of_page(number: usize) -> Reading {
        Reading { row: number * 1_000_000, ..Reading::default() }
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Owner {
    Decoration,
    Element(usize),
}

impl<'p> Tags<'p> {
    pub(super) fn new(pages: &'p Pages) -> Tags<'p> {
        let mut owners: Vec<Vec<Option<usize>>> =
            pages.scenes.iter().map(|scene| vec![None; scene.marks.len()]).collect();
        for (n, element) in pages.elements.iter().enumerate() {
            for (page, marks) in &element.parts {
                for mark in marks.clone() {
                    owners[*page][mark] = Some(n);
                }
            }
        }
        Tags {
            elements: &pages.elements,
            owners,
            marked: pages.elements.iter().map(|_| Vec::new()).collect(),
        }
    }

    /// Before a mark is drawn: closes what it does not belong to and opens what it does.
    pub(super) fn before(
        &mut self,
        surface: &mut Surface<'_>,
        reading: &mut Reading,
        page: usize,
        place: usize,
        mark: &Mark,
    ) {
        let element = self.owners[page][place];
        let table = element.filter(|n| self.elements[*n].kind == Kind::Table);
        if reading.table != table {
            reading.table = table;
            reading.ruled = false;
            reading.row += 1;
        }
        if let (Some(n), Shape::Text(text)) = (table, &mark.shape) {
            self.close(surface, reading);
            let content = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
            reading.open = Some(Owner::Element(n));
            let caption = !reading.ruled && text.face == Face::Bold;
            let marked =
                Marked { content, row: reading.row, column: column(text), heading: !reading.ruled, caption };
            self.marked[n].push(marked);
            return;
        }
        if table.is_some() {
            // Every rule ends a row; the first one ends the headings.
            reading.ruled = true;
            reading.row += 1;
        }
        let owner = match element {
            Some(n) if table.is_none() => Owner::Element(n),
            _ => Owner::Decoration,
        };
        // Lines of a paragraph are spans of their own, so that they read apart.
        let alone = matches!(owner, Owner::Element(n) if !matches!(self.elements[n].kind, Kind::Figure(_)));
        if reading.open == Some(owner) && !alone {
            return;
        }
        self.close(surface, reading);
        match owner {
            Owner::Decoration => {
                surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)));
            }
            Owner::Element(n) => {
                let tag = match mark.shape {
                    Shape::Text(_) if alone => ContentTag::Span(SpanTag::empty()),
                    _ => ContentTag::Other,
                };
                let content = surface.start_tagged(tag);
                self.marked[n].push(Marked { content, row: 0, column: 0, heading: false, caption: false });
            }
        }
        reading.open = Some(owner);
    }

    /// After the last mark of a page.
    pub(super) fn close(&self, surface: &mut Surface<'_>, reading: &mut Reading) {
        if reading.open.take().is_some() {
            surface.end_tagged();
        }
    }

    /// The tree of everything marked.
    pub(super) fn tree(self) -> TagTree {
        let mut tree = TagTree::new();
        for (element, marked) in self.elements.iter().zip(self.marked) {
            if marked.is_empty() {
                continue;
            }
            let plain = |mut group: TagGroup, marked: Vec<Marked>| {
                marked.into_iter().for_each(|m| group.push(m.content));
                group
            };
            tree.push(match &element.kind {
                Kind::Heading(level) => {
                    let level = NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN);
                    plain(TagGroup::new(Tag::Hn(level, None)), marked)
                }
                Kind::Words => plain(TagGroup::new(Tag::P), marked),
                Kind::Figure(words) => {
                    plain(TagGroup::new(Tag::Figure(Some(crate::writer::clean(words)))), marked)
                }
                Kind::Table => table(marked),
            });
        }
        tree
    }
}

/// Which column words stand in: by the place that they are set from.
fn column(text: &Text) -> i64 {
    let side = if text.anchor == Anchor::End { 1 } else { 0 };
    (text.at.x * 10.0).round() as i64 * 2 + side
}

/// A row of a table, its cells by their column.
struct Row {
    number: usize,
    cells: Vec<(i64, TagGroup)>,
}

fn table(marked: Vec<Marked>) -> TagGroup {
    let mut table = TagGroup::new(Tag::Table);
    let mut captioned = false;
    let mut rows: Vec<Row> = Vec::new();
    for cell in marked {
        if cell.caption {
            // Said once, though a table that goes on repeats it.
            if !captioned {
                captioned = true;
                table.push(TagGroup::with_children(Tag::Caption, vec![cell.content.into()]));
                continue;
            }
        }
        if rows.last().is_none_or(|row| row.number != cell.row) {
            rows.push(Row { number: cell.row, cells: Vec::new() });
        }
        let Some(row) = rows.last_mut() else { continue };
        match row.cells.iter_mut().find(|(column, _)| *column == cell.column) {
            Some((_, group)) => group.push(cell.content),
            None => {
                let mut group = if cell.heading {
                    TagGroup::new(Tag::TH(TableHeaderScope::Column))
                } else {
                    TagGroup::new(Tag::TD)
                };
                group.push(cell.content);
                row.cells.push((cell.column, group));
            }
        }
    }
    for row in rows {
        let mut group = TagGroup::new(Tag::TR);
        row.cells.into_iter().for_each(|(_, cell)| group.push(cell));
        table.push(group);
    }
    table
}
