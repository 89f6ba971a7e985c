//! The one typeface of every drawing and page, and its real metrics.
//!
//! Barlow Semi Condensed (SIL Open Font License 1.1, text in `fonts/OFL.txt`), cut down to Latin letters and the
//! signs drawings use. Its figures are tabular by default and it carries no kerning, so that every program that
//! draws it gives the widths computed here.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use ttf_parser::Face as Table;

/// The name that style sheets call the typeface by.
pub const FAMILY: &str = "Barlow Tabular";

/// The licence that travels with the typeface.
pub const LICENCE: &str = include_str!("../fonts/OFL.txt");

/// One cut of the typeface.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Face {
    /// Labels, dimensions and running text.
    #[default]
    Medium,
    /// Headings and piece numbers.
    Bold,
}

/// How far a line of text reaches around its starting point on the baseline, in the unit of its size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extent {
    /// Sum of the advances.
    pub width: f64,
    /// Highest ink above the baseline.
    pub above: f64,
    /// Lowest ink below the baseline, zero or more.
    pub below: f64,
}

impl Face {
    /// The font file, TrueType.
    pub fn file(self) -> &'static [u8] {
        match self {
            Face::Medium => include_bytes!("../fonts/barlow-tabular-medium.ttf"),
            Face::Bold => include_bytes!("../fonts/barlow-tabular-bold.ttf"),
        }
    }

    /// The same font compressed for pages that carry it with them.
    pub fn web_file(self) -> &'static [u8] {
        match self {
            Face::Medium => include_bytes!("../fonts/barlow-tabular-medium.woff2"),
            Face::Bold => include_bytes!("../fonts/barlow-tabular-bold.woff2"),
        }
    }

    /// Weight as style sheets write it.
    pub fn weight(self) -> u16 {
        match self {
            Face::Medium => 400,
            Face::Bold => 700,
        }
    }

    fn signs(self) -> &'static BTreeMap<char, Sign> {
        static MEDIUM: LazyLock<BTreeMap<char, Sign>> = LazyLock::new(|| signs(&parse(Face::Medium)));
        static BOLD: LazyLock<BTreeMap<char, Sign>> = LazyLock::new(|| signs(&parse(Face::Bold)));
        match self {
            Face::Medium => &MEDIUM,
            Face::Bold => &BOLD,
        }
    }

    fn sign(self, c: char) -> Sign {
        self.signs().get(&c).copied().unwrap_or(MISSING)
    }

    /// The glyph of a character and its advance per unit of size. A character the typeface lacks takes the empty
    /// box and a whole unit, which is as wide as a substitute would be.
    pub fn glyph(self, c: char) -> (u16, f64) {
        let Sign { glyph, advance, .. } = self.sign(c);
        (glyph, advance)
    }

    /// Whether the typeface has every character of a text.
    pub fn has_all(self, text: &str) -> bool {
        text.chars().all(|c| self.signs().contains_key(&c))
    }

    /// How much room `text` takes at `size`.
    pub fn extent(self, text: &str, size: f64) -> Extent {
        let mut extent = Extent { width: 0.0, above: 0.0, below: 0.0 };
        for c in text.chars() {
            let Sign { advance, low, high, .. } = self.sign(c);
            extent.width += advance * size;
            extent.above = extent.above.max(high * size);
            extent.below = extent.below.max(-low * size);
        }
        extent
    }

    /// Width of `text` at `size`.
    pub fn width(self, text: &str, size: f64) -> f64 {
        text.chars().map(|c| self.glyph(c).1).sum::<f64>() * size
    }

    /// `text` in lines no wider than `width`; a single word that is wider is broken inside.
    pub fn wrap(self, text: &str, size: f64, width: f64) -> Vec<String> {
        let mut lines = Vec::new();
        let mut line = String::new();
        for word in text.split_whitespace() {
            let longer = if line.is_empty() { word.to_string() } else { format!("{line} {word}") };
            if self.width(&longer, size) <= width {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for c in word.chars() {
                line.push(c);
                if self.width(&line, size) > width && line.chars().count() > 1 {
                    line.pop();
                    lines.push(std::mem::replace(&mut line, c.to_string()));
                }
            }
        }
        if !line.is_empty() || lines.is_empty() {
            lines.push(line);
        }
        lines
    }

    /// `text` shortened with an ellipsis until it is no wider than `width`.
    pub fn fit(self, text: &str, size: f64, width: f64) -> String {
        // A size that was reckoned to fill the width may exceed it in the last bit.
        const HAIR: f64 = 1e-6;
        if self.width(text, size) <= width + HAIR {
            return text.to_string();
        }
        let mut kept: String = text.to_string();
        while kept.pop().is_some() {
            let shown = format!("{}…", kept.trim_end());
            if self.width(&shown, size) <= width {
                return shown;
            }
        }
        String::new()
    }
}

/// Height of a capital letter per unit of size, the same in both cuts.
pub const CAP: f64 = 0.7;

/// A character as the typeface draws it, per unit of size.
#[derive(Clone, Copy, Debug)]
struct Sign {
    glyph: u16,
    advance: f64,
    /// Lowest and highest ink over the baseline.
    low: f64,
    high: f64,
}

/// What stands for a character that the typeface lacks: the empty box, as wide as a substitute would be.
const MISSING: Sign = Sign { glyph: 0, advance: 1.0, low: -0.25, high: 1.0 };

/// Every character of a typeface. A packet measures some ten thousand of them, and the font's own tables take long to ask.
fn signs(table: &Table) -> BTreeMap<char, Sign> {
    let em = f64::from(table.units_per_em());
    let mut signs = BTreeMap::new();
    for subtable in table.tables().cmap.iter().flat_map(|cmap| cmap.subtables).filter(|s| s.is_unicode()) {
        subtable.codepoints(|code| {
            let Some(c) = char::from_u32(code) else { return };
            let Some(id) = table.glyph_index(c) else { return };
            let advance = f64::from(table.glyph_hor_advance(id).unwrap_or(0)) / em;
            let ink = table.glyph_bounding_box(id);
            let (low, high) =
                ink.map_or((0.0, 0.0), |ink| (f64::from(ink.y_min) / em, f64::from(ink.y_max) / em));
            signs.insert(c, Sign { glyph: id.0, advance, low, high });
        });
    }
    signs
}

#[allow(clippy::expect_used)]
fn parse(face: Face) -> Table<'static> {
    Table::parse(face.file(), 0).expect("the embedded font is read by the tests")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_tabular() {
        for face in [Face::Medium, Face::Bold] {
            let one = face.glyph('1').1;
            assert!(('0'..='9').all(|c| face.glyph(c).1 == one && face.glyph(c).0 != 0));
            assert_eq!(parse(face).capital_height(), Some(700), "CAP is the font's own");
        }
    }

    #[test]
    fn draws_every_sign_the_pages_use() {
        for c in "×Ø°–—½¼¾±·…€£²³’“”éäöüßåøłńš".chars() {
            assert_ne!(Face::Medium.glyph(c).0, 0, "{c}");
            assert_ne!(Face::Bold.glyph(c).0, 0, "{c}");
        }
    }

    #[test]
    fn breaks_lines_that_are_too_wide() {
        let text = "Rip the sheet in two, then Donaudampfschifffahrtsgesellschaft and on.";
        for width in [8.0, 20.0, 60.0] {
            let lines = Face::Medium.wrap(text, 3.0, width);
            assert!(lines.iter().all(|l| Face::Medium.width(l, 3.0) <= width), "{lines:?}");
            let letters = |s: &str| s.chars().filter(|c| !c.is_whitespace()).collect::<String>();
            assert_eq!(letters(&lines.concat()), letters(text));
        }
        assert_eq!(Face::Bold.fit("counter", 3.0, 100.0), "counter");
        // A size that fills the width to the last bit loses no letter.
        for i in 1..200 {
            let width = 60.0 + 0.37 * f64::from(i);
            let size = 3.0 * width / Face::Bold.width("Top from below", 3.0);
            assert_eq!(Face::Bold.fit("Top from below", size, width), "Top from below", "{width}");
        }
        assert!(Face::Bold.width(&Face::Bold.fit("a very long name", 3.0, 9.0), 3.0) <= 9.0);
    }
}
