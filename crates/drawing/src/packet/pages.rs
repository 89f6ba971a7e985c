//! The packet set on pages: portrait for text, lengthwise for wide drawings, each page a scene of its own.
//!
//! What is set keeps to an area that A4 and Letter have in common, so that either paper takes it without loss.

use std::ops::Range;

use stripwright_plan::plan::Units;

use crate::draft::lettering;
use crate::font::{CAP, Face};
use crate::packet::FOOTER;
use crate::packet::content::{Block, Document, StepBlock};
use crate::scene::{Path, Role, Scene, at};
use crate::table::Table;
use crate::{face, rip};

/// Size of running text, and from one of its lines to the next.
const TEXT: f64 = 3.5;
const LEADING: f64 = 5.0;
/// Size of a heading of a part.
const HEADING: f64 = 8.4;

/// Pages and where to find what on them.
#[derive(Clone, Debug, Default)]
pub struct Pages {
    /// The pages, whole sheets of paper.
    pub scenes: Vec<Scene>,
    /// Headings, in order.
    pub bookmarks: Vec<Bookmark>,
    /// What is to be read, in order; marks that belong to none (rules, dashes, headers, footers) are decoration.
    pub elements: Vec<Element>,
}

/// Something that is read as one: where its marks are, so that a reader of the file can tell it from decoration.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    /// What it is.
    pub kind: Kind,
    /// On which page, and which of that page's marks.
    pub parts: Vec<(usize, Range<usize>)>,
}

/// What an element is.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    /// A heading: 1 for the job, 2 for a part, 3 for a step.
    Heading(u16),
    /// A paragraph.
    Words,
    /// A table, its rows parted by rules.
    Table,
    /// A drawing, with its words for those who cannot see it.
    Figure(String),
}

/// A heading's place.
#[derive(Clone, Debug, PartialEq)]
pub struct Bookmark {
    /// 1 for parts, 2 for steps and drawings.
    pub level: u8,
    /// What it says.
    pub title: String,
    /// Page, from 0.
    pub page: usize,
    /// How far down the page, in millimetres.
    pub y: f64,
}

/// Paper, portrait: width and height in millimetres.
fn paper(units: Units) -> (f64, f64) {
    match units {
        Units::Metric => (210.0, 297.0),
        Units::Inch => (215.9, 279.4),
    }
}

/// Whether a drawing takes a page that lies lengthwise.
fn is_wide(drawing: &Scene) -> bool {
    drawing.width > face::PAPER.0 + 0.1
}

/// Sets the packet.
pub fn set(document: &Document, units: Units) -> Pages {
    let mut press = Press::new(document, paper(units));
    press.title_page();
    for (i, section) in document.sections.iter().enumerate() {
        press.section = section.title.clone();
        // The face shares the first page with the title; every other part begins where there is room for its head.
        let first_is_drawing = matches!(section.blocks.first(), Some(Block::Drawing(_)));
        if i > 0 || !first_is_drawing {
            press.heading(&section.title);
        } else {
            press.bookmark(1, &section.title);
        }
        for (n, block) in section.blocks.iter().enumerate() {
            press.block(block, section.blocks.get(n + 1));
        }
    }
    press.finish()
}

/// How far the packet is set.
struct Place {
    page: usize,
    mark: usize,
    y: f64,
    lengthwise: bool,
    bookmarks: usize,
    elements: usize,
}

struct Press<'a> {
    document: &'a Document,
    paper: (f64, f64),
    pages: Pages,
    /// Whether each page lies lengthwise, and which part it belongs to.
    kinds: Vec<(bool, String)>,
    section: String,
    y: f64,
}

impl<'a> Press<'a> {
    fn new(document: &'a Document, paper: (f64, f64)) -> Press<'a> {
        let mut press = Press {
            document,
            paper,
            pages: Pages::default(),
            kinds: Vec::new(),
            section: document.sections.first().map_or(String::new(), |s| s.title.clone()),
            y: 0.0,
        };
        press.turn(false);
        press
    }

    /// A new page.
    fn turn(&mut self, lengthwise: bool) {
        let (w, h) = self.paper;
        let (w, h) = if lengthwise { (h, w) } else { (w, h) };
        let n = self.pages.scenes.len() + 1;
        self.pages.scenes.push(Scene::new(format!("page-{n}"), self.document.title.clone(), w, h));
        self.kinds.push((lengthwise, self.section.clone()));
        self.y = self.top();
    }

    fn lengthwise(&self) -> bool {
        self.kinds.last().is_some_and(|k| k.0)
    }

    /// Width and height of what is set.
    fn area(&self) -> (f64, f64) {
        if self.lengthwise() { rip::PAPER } else { face::PAPER }
    }

    fn left(&self) -> f64 {
        (self.page().width - self.area().0) / 2.0
    }

    /// The header takes more room than the footer: the area sits a little low.
    fn top(&self) -> f64 {
        (self.page().height - self.area().1) / 2.0 + 2.0
    }

    fn bottom(&self) -> f64 {
        self.top() + self.area().1
    }

    fn page(&self) -> &Scene {
        &self.pages.scenes[self.pages.scenes.len() - 1]
    }

    fn scene(&mut self) -> &mut Scene {
        let last = self.pages.scenes.len() - 1;
        &mut self.pages.scenes[last]
    }

    fn is_fresh(&self) -> bool {
        (self.y - self.top()).abs() < 1e-9
    }

    /// Makes sure that so much fits below, on a portrait page.
    fn need(&mut self, height: f64) {
        if self.lengthwise() || (self.y + height > self.bottom() && !self.is_fresh()) {
            self.turn(false);
        }
    }

    fn space(&mut self, height: f64) {
        if !self.is_fresh() {
            self.y += height;
        }
    }

    /// Where the next mark goes: its page and its place among that page's marks.
    fn next_mark(&self) -> (usize, usize) {
        (self.pages.scenes.len() - 1, self.page().marks.len())
    }

    /// Everything set since a place is one element.
    fn element(&mut self, kind: Kind, (page, mark): (usize, usize)) {
        let parts = (page..self.pages.scenes.len())
            .map(|n| (n, if n == page { mark } else { 0 }..self.pages.scenes[n].marks.len()))
            .filter(|(_, marks)| !marks.is_empty())
            .collect();
        self.pages.elements.push(Element { kind, parts });
    }

    fn bookmark(&mut self, level: u8, title: &str) {
        let page = self.pages.scenes.len() - 1;
        self.pages.bookmarks.push(Bookmark { level, title: title.to_string(), page, y: self.y - 4.0 });
    }

    fn title_page(&mut self) {
        let (x, width) = (self.left(), self.area().0);
        let from = self.next_mark();
        for line in Face::Bold.wrap(&self.document.title, 11.0, width) {
            self.y += 10.0;
            let y = self.y;
            self.scene().words(Role::Label, x, y, 11.0, Face::Bold, line);
        }
        self.element(Kind::Heading(1), from);
        self.y += 2.0;
        let from = self.next_mark();
        let subtitle = self.document.subtitle.clone();
        for line in Face::Medium.wrap(&subtitle, 4.6, width) {
            self.y += 5.8;
            let y = self.y;
            self.scene().words(Role::Label, x, y, 4.6, Face::Medium, line);
        }
        self.element(Kind::Words, from);
        self.y += 8.0;
    }

    fn heading(&mut self, title: &str) {
        self.need(60.0);
        self.space(10.0);
        self.y += HEADING * CAP + 1.0;
        self.bookmark(1, title);
        let (x, y, width) = (self.left(), self.y, self.area().0);
        let title = Face::Bold.fit(title, HEADING, width);
        let from = self.next_mark();
        self.scene().words(Role::Label, x, y, HEADING, Face::Bold, title);
        self.element(Kind::Heading(2), from);
        self.scene().draw(Role::RuleHeavy, Path::line(at(x, y + 3.2), at(x + width, y + 3.2)));
        self.y += 8.0;
    }

    /// Sets a block, with an eye to the one after it.
    fn block(&mut self, block: &Block, next: Option<&Block>) {
        match block {
            Block::Text(text) => {
                self.paragraph(text, 0.0, Face::Medium);
                self.y += 2.0;
            }
            Block::Points(points) => {
                for point in points {
                    self.need(LEADING);
                    let (x, y) = (self.left(), self.y);
                    self.scene().draw(Role::Fine, Path::line(at(x, y + 2.6), at(x + 2.2, y + 2.6)));
                    self.paragraph(point, 4.5, Face::Medium);
                    self.y += 1.0;
                }
                self.y += 1.5;
            }
            Block::Facts(facts) => self.facts(facts, 0.0),
            Block::Table(table) => self.table(table),
            Block::Drawing(scene) => self.drawing(scene),
            Block::Step(step) => {
                self.step(step, matches!(next, Some(Block::Drawing(scene)) if is_wide(scene)));
            }
        }
    }

    fn paragraph(&mut self, text: &str, indent: f64, face: Face) {
        let width = self.area_portrait() - indent;
        let lines = face.wrap(text, TEXT, width);
        // Short paragraphs are not torn apart.
        if lines.len() <= 4 {
            self.need(LEADING * lines.len() as f64);
        }
        let from = self.next_mark();
        for line in lines {
            self.need(LEADING);
            let (x, y) = (self.left() + indent, self.y + 3.6);
            self.scene().words(Role::Label, x, y, TEXT, face, line);
            self.y += LEADING;
        }
        self.element(Kind::Words, from);
    }

    fn area_portrait(&self) -> f64 {
        face::PAPER.0
    }

    /// Names and values, in two columns where the values are short.
    fn facts(&mut self, facts: &[(String, String)], indent: f64) {
        const GAP: f64 = 6.0;
        let width = self.area_portrait() - indent;
        let short = facts.iter().all(|(_, value)| Face::Bold.width(value, TEXT) <= 34.0);
        let columns = if short && facts.len() > 1 { 2 } else { 1 };
        let cell = (width - GAP * (columns - 1) as f64) / columns as f64;
        let share = if columns == 2 { cell - 36.0 } else { 62.0 };
        let set: Vec<(Vec<String>, Vec<String>)> = facts
            .iter()
            .map(|(name, value)| {
                let names = Face::Medium.wrap(name, lettering::LABEL, share - 3.0);
                (names, Face::Bold.wrap(value, TEXT, cell - share))
            })
            .collect();
        let height = |row: &[(Vec<String>, Vec<String>)]| {
            LEADING * row.iter().map(|(n, v)| n.len().max(v.len())).max().unwrap_or(1) as f64
        };
        let whole: f64 = set.chunks(columns).map(height).sum();
        // A short list stays in one piece.
        if whole < 60.0 {
            self.need(whole);
        }
        for row in set.chunks(columns) {
            let high = height(row);
            self.need(high);
            let from = self.next_mark();
            let left = self.left() + indent;
            let y = self.y + 3.6;
            for (i, (names, values)) in row.iter().enumerate() {
                let x = left + i as f64 * (cell + GAP);
                for (n, line) in names.iter().enumerate() {
                    let y = y + LEADING * n as f64;
                    self.scene().words(Role::Note, x, y, lettering::LABEL, Face::Medium, line.as_str());
                }
                for (n, line) in values.iter().enumerate() {
                    let y = y + LEADING * n as f64;
                    self.scene().words(Role::Label, x + share, y, TEXT, Face::Bold, line.as_str());
                }
            }
            self.element(Kind::Words, from);
            self.y += high;
        }
        self.y += 2.5;
    }

    fn table(&mut self, table: &Table) {
        let table = table.stretched(self.area_portrait());
        let first = self.next_mark();
        let mut from = 0;
        while from < table.rows.len() {
            let least = table.height(from..(from + 2).min(table.rows.len()));
            self.need(least);
            let fits = table.rows_in(from, self.bottom() - self.y).max(1);
            let to = (from + fits).min(table.rows.len());
            let corner = at(self.left(), self.y);
            let used = table.draw(self.scene(), corner, from..to);
            self.y += used;
            from = to;
            if from < table.rows.len() {
                self.turn(false);
            }
        }
        self.element(Kind::Table, first);
        self.y += 5.0;
    }

    fn drawing(&mut self, drawing: &Scene) {
        let wide = is_wide(drawing);
        if wide {
            if !(self.lengthwise() && self.is_fresh()) {
                self.turn(true);
            }
        } else {
            self.need(drawing.height);
        }
        self.bookmark(2, &drawing.title);
        let x = self.left() + (self.area().0 - drawing.width) / 2.0;
        let y = self.y;
        let from = self.next_mark();
        self.scene().place(drawing, at(x, y));
        self.element(Kind::Figure(format!("{}. {}", drawing.title, drawing.description)), from);
        self.y += drawing.height + 6.0;
        if wide {
            // Nothing else shares a page with a wide drawing.
            self.y = self.bottom();
        }
    }

    /// A step; begun on the next page where only its last few lines would not have room on this one and would stand on a page of
    /// their own, before a drawing that lies lengthwise. A page that would stay mostly empty for that is not given up.
    fn step(&mut self, step: &StepBlock, lengthwise_next: bool) {
        const TAIL: f64 = 8.0 * LEADING;
        let before = self.place();
        self.set_step(step);
        let is_tail = self.pages.scenes.len() == before.page + 2 && self.y < self.top() + TAIL;
        let is_low = before.y > self.top() + self.area().1 / 3.0;
        if lengthwise_next && is_tail && is_low && !before.lengthwise {
            self.back_to(before);
            self.turn(false);
            self.set_step(step);
        }
    }

    fn place(&self) -> Place {
        let (page, mark) = self.next_mark();
        Place {
            page,
            mark,
            y: self.y,
            lengthwise: self.lengthwise(),
            bookmarks: self.pages.bookmarks.len(),
            elements: self.pages.elements.len(),
        }
    }

    /// Takes back everything set since a place.
    fn back_to(&mut self, place: Place) {
        self.pages.scenes.truncate(place.page + 1);
        self.kinds.truncate(place.page + 1);
        self.scene().marks.truncate(place.mark);
        self.pages.bookmarks.truncate(place.bookmarks);
        self.pages.elements.truncate(place.elements);
        self.y = place.y;
    }

    fn set_step(&mut self, step: &StepBlock) {
        const INDENT: f64 = 13.0;
        self.need(26.0);
        self.space(3.0);
        let (x, width) = (self.left(), self.area_portrait());
        let y = self.y;
        self.bookmark(2, &format!("{} {}", step.number, step.title));
        self.scene().draw(Role::Fine, Path::line(at(x, y), at(x + width, y)));
        let number = step.number.to_string();
        let from = self.next_mark();
        self.scene().draw(Role::RingFilled, Path::rounded(at(x, y + 2.4), 9.0, 9.0, 1.4, 1.4));
        self.scene().centred(Role::Reversed, at(x + 4.5, y + 6.9), 5.0, Face::Bold, number);
        // The box to tick stands at the outer edge, where a hand finds it.
        self.scene().draw(Role::Tick, Path::rectangle(at(x + width - 6.0, y + 2.9), 6.0, 6.0));
        let time_width = Face::Medium.width(&step.time, TEXT);
        let title_width = width - INDENT - time_width - 14.0;
        self.y += 2.0;
        let lines = Face::Bold.wrap(&step.title, 5.2, title_width.max(60.0));
        for (i, line) in lines.into_iter().enumerate() {
            self.y += if i == 0 { 5.4 } else { 6.2 };
            let y = self.y;
            self.scene().words(Role::Label, x + INDENT, y, 5.2, Face::Bold, line);
            if i == 0 {
                let time = step.time.clone();
                self.scene().words_to(Role::Note, x + width - 9.0, y, TEXT, Face::Medium, time);
            }
        }
        self.element(Kind::Heading(3), from);
        self.y += 2.0;
        if !step.of.is_empty() {
            let y = self.y + 3.4;
            let of = Face::Medium.fit(&format!("for {}", step.of), TEXT, width - INDENT - 12.0);
            let from = self.next_mark();
            self.scene().words(Role::Note, x + INDENT, y, TEXT, Face::Medium, of);
            self.element(Kind::Words, from);
            self.y += LEADING + 0.6;
        } else {
            self.y += 1.6;
        }
        for text in &step.text {
            self.paragraph(text, INDENT, Face::Medium);
            self.y += 1.0;
        }
        if !step.facts.is_empty() {
            self.y += 0.8;
            self.facts(&step.facts, INDENT);
        }
        if let Some(runs) = &step.runs {
            self.table(runs);
        }
        for (title, text) in &step.cautions {
            self.caution(title, text, INDENT);
        }
        for line in [&step.reminder, &step.drawings] {
            if !line.is_empty() {
                self.paragraph(line, INDENT, Face::Medium);
            }
        }
        self.y += 3.0;
    }

    /// A caution: its word in white on black, its text beside a heavy rule.
    fn caution(&mut self, title: &str, text: &[String], indent: f64) {
        let width = self.area_portrait() - indent - 6.0;
        let lines: Vec<String> = text.iter().flat_map(|t| Face::Medium.wrap(t, TEXT, width)).collect();
        self.need(8.0 + LEADING * lines.len().min(3) as f64);
        let x = self.left() + indent;
        let label = "CAUTION";
        let label_width = Face::Bold.width(label, lettering::SMALL) + 3.0;
        let y = self.y + 1.0;
        let first = self.next_mark();
        self.scene().draw(Role::RingFilled, Path::rectangle(at(x, y), label_width, 4.2));
        self.scene().centred(
            Role::Reversed,
            at(x + label_width / 2.0, y + 2.1),
            lettering::SMALL,
            Face::Bold,
            label,
        );
        let title = Face::Bold.fit(title, TEXT, width - label_width);
        self.scene().words(Role::Label, x + label_width + 2.5, y + 3.4, TEXT, Face::Bold, title);
        self.y += 6.4;
        let mut from = self.y - 1.2;
        for line in lines {
            if self.y + LEADING > self.bottom() {
                let to = self.y;
                self.bar(x, from, to);
                self.turn(false);
                from = self.y;
            }
            let (x, y) = (self.left() + indent + 4.0, self.y + 3.6);
            self.scene().words(Role::Label, x, y, TEXT, Face::Medium, line);
            self.y += LEADING;
        }
        let to = self.y;
        self.bar(x, from, to);
        self.element(Kind::Words, first);
        self.y += 2.4;
    }

    fn bar(&mut self, x: f64, from: f64, to: f64) {
        self.scene().draw(Role::RingFilled, Path::rectangle(at(x, from), 0.8, (to - from).max(0.0)));
    }

    /// Headers and footers, now that the number of pages is known.
    fn finish(mut self) -> Pages {
        let n = self.pages.scenes.len();
        for (i, (scene, (lengthwise, section))) in self.pages.scenes.iter_mut().zip(&self.kinds).enumerate() {
            let (width, height) = if *lengthwise { rip::PAPER } else { face::PAPER };
            let x = (scene.width - width) / 2.0;
            let top = (scene.height - height) / 2.0 + 2.0;
            let (head, foot) = (top - 6.0, top + height + 5.6);
            let size = lettering::LABEL;
            let section = Face::Medium.fit(section, size, width * 0.45);
            let title = Face::Bold.fit(&self.document.title, size, width * 0.5);
            if i > 0 {
                scene.words(Role::Label, x, head, size, Face::Bold, title);
                scene.words_to(Role::Note, x + width, head, size, Face::Medium, section);
                scene.draw(Role::Rule, Path::line(at(x, head + 1.6), at(x + width, head + 1.6)));
            }
            scene.words(Role::Note, x, foot, lettering::SMALL, Face::Medium, FOOTER);
            scene.words_to(Role::Label, x + width, foot, size, Face::Bold, format!("page {} of {n}", i + 1));
            scene.description = format!("Page {} of {n}.", i + 1);
        }
        self.pages
    }
}
