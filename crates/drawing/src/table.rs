//! Tables on drawings and pages: rows of words in columns, ruled after the manner of printed tables.

use std::ops::Range;

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

    /// A column of words.
    pub fn words(heading: impl Into<String>, width: f64) -> Column {
        Column::new(heading, Align::Left, width)
    }

    /// A column of figures.
    pub fn figures(heading: impl Into<String>, width: f64) -> Column {
        Column::new(heading, Align::Right, width)
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
    /// Whether the last row is a sum, set off by a rule and heavier type.
    pub sum: bool,
}

/// Height of a row of one line.
const ROW: f64 = 4.3;
/// Each further line.
const LINE: f64 = 3.9;
/// White between two columns.
const GUTTER: f64 = 3.5;
/// Size of cells.
const SIZE: f64 = lettering::LABEL;

impl Table {
    /// A table without rows.
    pub fn new(title: impl Into<String>, columns: Vec<Column>) -> Table {
        Table { title: title.into(), columns, rows: Vec::new(), sum: false }
    }

    /// Adds a row.
    pub fn row<const N: usize>(&mut self, cells: [String; N]) {
        self.rows.push(cells.into());
    }

    /// Adds a last row that sums the others up.
    pub fn total<const N: usize>(&mut self, cells: [String; N]) {
        self.row(cells);
        self.sum = true;
    }

    /// How wide it is drawn.
    pub fn width(&self) -> f64 {
        self.columns.iter().map(|c| c.width).sum::<f64>()
            + GUTTER * (self.columns.len().saturating_sub(1)) as f64
    }

    /// The same table as wide as the page, its columns of words taking what there is to spare.
    #[must_use]
    pub fn stretched(&self, width: f64) -> Table {
        let mut table = self.clone();
        let spare = width - table.width();
        let words: f64 = table.columns.iter().filter(|c| c.align == Align::Left).map(|c| c.width).sum();
        for column in table.columns.iter_mut().filter(|c| c.align == Align::Left) {
            column.width += spare * column.width / words.max(1.0);
        }
        table
    }

    /// Height of title and headings.
    fn head(&self) -> f64 {
        let lines = self.columns.iter().map(|c| Self::heading_lines(c).len()).max().unwrap_or(1);
        let title = if self.title.is_empty() { 0.6 } else { 4.6 };
        title + 4.6 + 3.0 * (lines.max(1) - 1) as f64
    }

    fn heading_lines(column: &Column) -> Vec<String> {
        Face::Medium.wrap(&column.heading, lettering::SMALL, column.width)
    }

    fn face(&self, row: usize) -> Face {
        if self.sum && row + 1 == self.rows.len() { Face::Bold } else { Face::Medium }
    }

    /// Cells of a row in lines; a figure too wide for its column is not broken but set smaller.
    fn lines(&self, row: usize) -> Vec<Vec<String>> {
        let face = self.face(row);
        self.columns
            .iter()
            .zip(&self.rows[row])
            .map(|(column, cell)| match column.align {
                Align::Left => face.wrap(cell, SIZE, column.width),
                Align::Right => vec![cell.clone()],
            })
            .collect()
    }

    fn row_height(&self, row: usize) -> f64 {
        let lines = self.lines(row).iter().map(Vec::len).max().unwrap_or(1).max(1);
        ROW + LINE * (lines - 1) as f64
    }

    /// How high some of its rows are drawn, title and headings included.
    pub fn height(&self, rows: Range<usize>) -> f64 {
        self.head() + rows.map(|r| self.row_height(r)).sum::<f64>()
    }

    /// How many rows from `first` on fit into a height with title and headings.
    pub fn rows_in(&self, first: usize, height: f64) -> usize {
        let mut used = self.head();
        (first..self.rows.len())
            .take_while(|&r| {
                used += self.row_height(r);
                used <= height + 1e-9
            })
            .count()
    }

    /// Draws some of its rows with title and headings; returns the height taken.
    pub fn draw(&self, scene: &mut Scene, corner: Point, rows: Range<usize>) -> f64 {
        let width = self.width();
        let mut y = corner.y;
        if !self.title.is_empty() {
            let more = if rows.start > 0 { ", continued" } else { "" };
            let title = Face::Bold.fit(&format!("{}{more}", self.title), SIZE, width);
            scene.words(Role::Label, corner.x, y + 3.0, SIZE, Face::Bold, title);
        }
        let under = corner.y + self.head() - 0.2;
        let mut x = corner.x;
        for column in &self.columns {
            let lines = Self::heading_lines(column);
            for (i, line) in lines.iter().enumerate() {
                let baseline = under - 1.4 - 3.0 * (lines.len() - 1 - i) as f64;
                self.cell(scene, column, x, baseline, line, Role::Note, lettering::SMALL, Face::Medium);
            }
            x += column.width + GUTTER;
        }
        scene.draw(Role::Fine, Path::line(at(corner.x, under), at(corner.x + width, under)));
        y += self.head();
        for row in rows {
            let face = self.face(row);
            let height = self.row_height(row);
            if face == Face::Bold {
                scene.draw(Role::Fine, Path::line(at(corner.x, y), at(corner.x + width, y)));
            }
            let mut x = corner.x;
            for (column, lines) in self.columns.iter().zip(self.lines(row)) {
                for (i, line) in lines.iter().enumerate() {
                    let baseline = y + ROW / 2.0 + SIZE * CAP / 2.0 + LINE * i as f64;
                    self.cell(scene, column, x, baseline, line, Role::Label, SIZE, face);
                }
                x += column.width + GUTTER;
            }
            y += height;
            scene.draw(Role::Rule, Path::line(at(corner.x, y), at(corner.x + width, y)));
        }
        y - corner.y
    }

    #[allow(clippy::too_many_arguments)]
    fn cell(
        &self,
        scene: &mut Scene,
        column: &Column,
        x: f64,
        y: f64,
        words: &str,
        role: Role,
        size: f64,
        face: Face,
    ) {
        let needs = face.width(words, size);
        // Down to three quarters of its size a figure can still be read; what needs more is shortened.
        let size = if needs > column.width { (size * column.width / needs).max(size * 0.75) } else { size };
        let words = face.fit(words, size, column.width);
        match column.align {
            Align::Left => scene.words(role, x, y, size, face, words),
            Align::Right => scene.words_to(role, x + column.width, y, size, face, words),
        }
    }
}
