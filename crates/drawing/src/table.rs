//! Tables on drawings and pages: rows of words in columns, ruled after the manner of printed tables.

use crate::draft::lettering;
use crate::font::{CAP, Face};
use crate::scene::{Path, Point, Role, Scene, at};

/// On which side of its column a cell stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Figures.
    Right,
}

/// A column: its heading, where its cells stand, and how wide it is in millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// What stands above it.
    pub heading: String,
    /// On which side.
    pub align: Align,
    /// How wide, when drawn.
    pub width: f64,
}

impl Column {
    /// A column.
    pub fn new(heading: impl Into<String>, align: Align, width: f64) -> Column {
        Column { heading: heading.into(), align, width }
    }
}

/// A table.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// What it lists.
    pub title: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows: as many cells as there are columns.
    pub rows: Vec<Vec<String>>,
}

/// From one baseline to the next.
pub const ROW: f64 = 4.3;
/// From the top to the first row.
const HEAD: f64 = 9.4;
/// White between two columns.
const GUTTER: f64 = 2.5;

impl Table {
    /// A table without rows.
    pub fn new(title: impl Into<String>, columns: Vec<Column>) -> Table {
        Table { title: title.into(), columns, rows: Vec::new() }
    }

    /// Adds a row.
    pub fn row<const N: usize>(&mut self, cells: [String; N]) {
        self.rows.push(cells.into());
    }

    /// How wide it is drawn.
    pub fn width(&self) -> f64 {
        self.columns.iter().map(|c| c.width).sum::<f64>()
            + GUTTER * (self.columns.len().saturating_sub(1)) as f64
    }

    /// How high so many rows are drawn.
    pub fn height(rows: usize) -> f64 {
        HEAD + ROW * rows as f64
    }

    /// How many rows fit into a height.
    pub fn rows_in(&self, height: f64) -> usize {
        ((height - HEAD) / ROW).floor().max(0.0) as usize
    }

    /// Draws some of its rows with title and headings.
    pub fn draw(&self, scene: &mut Scene, corner: Point, rows: std::ops::Range<usize>) {
        let width = self.width();
        let title = Face::Bold.fit(&self.title, lettering::LABEL, width);
        scene.words(Role::Label, corner.x, corner.y + 3.0, lettering::LABEL, Face::Bold, title);
        let size = lettering::SMALL;
        let headings: Vec<&String> = self.columns.iter().map(|c| &c.heading).collect();
        let line = corner.y + 7.0;
        self.cells(scene, corner.x, line, &headings, Role::Note, size);
        scene.draw(Role::Fine, Path::line(at(corner.x, line + 1.1), at(corner.x + width, line + 1.1)));
        for (i, row) in self.rows[rows].iter().enumerate() {
            let baseline = corner.y + HEAD + ROW * i as f64 + ROW / 2.0 + lettering::LABEL * CAP / 2.0;
            let cells: Vec<&String> = row.iter().collect();
            self.cells(scene, corner.x, baseline - 0.2, &cells, Role::Label, lettering::LABEL);
            let under = corner.y + HEAD + ROW * (i + 1) as f64;
            scene.draw(Role::Rule, Path::line(at(corner.x, under), at(corner.x + width, under)));
        }
    }

    fn cells(&self, scene: &mut Scene, left: f64, baseline: f64, cells: &[&String], role: Role, size: f64) {
        let mut x = left;
        for (column, words) in self.columns.iter().zip(cells) {
            // What is too long for its column is set smaller first, and shortened only then.
            let needs = Face::Medium.width(words, size);
            let size =
                if needs > column.width { (size * column.width / needs).max(size * 0.78) } else { size };
            let words = Face::Medium.fit(words, size, column.width);
            match column.align {
                Align::Left => scene.words(role, x, baseline, size, Face::Medium, words),
                Align::Right => scene.words_to(role, x + column.width, baseline, size, Face::Medium, words),
            }
            x += column.width + GUTTER;
        }
    }
}
