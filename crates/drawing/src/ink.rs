//! The one style sheet: which ink each role is drawn with.
//!
//! Everything is told apart by line, hatch and words, so that a black-and-white print loses nothing; the two tones of
//! the laminations differ in lightness as well as in hue. Line widths follow the line group 0.5 of ISO 128 (0.5 wide
//! lines, 0.25 narrow ones, 0.35 between), with 0.13 for hatching and ply lines.

use crate::scene::Role;

/// A colour as red, green, blue.
pub type Colour = [u8; 3];

/// How a role looks. Sizes in millimetres on paper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ink {
    /// What areas and letters are filled with.
    pub fill: Option<Colour>,
    /// What lines are drawn with.
    pub stroke: Option<Colour>,
    /// Width of lines.
    pub width: f64,
    /// Lengths of dashes and gaps; empty for whole lines.
    pub dash: &'static [f64],
}

const BLACK: Colour = [17, 17, 17];
const WHITE: Colour = [255, 255, 255];
const GREY: Colour = [84, 84, 84];

const fn line(width: f64, dash: &'static [f64]) -> Ink {
    Ink { fill: None, stroke: Some(BLACK), width, dash }
}

const fn area(fill: Colour, width: f64) -> Ink {
    Ink { fill: Some(fill), stroke: if width > 0.0 { Some(BLACK) } else { None }, width, dash: &[] }
}

/// The ink of a role.
pub const fn ink(role: Role) -> Ink {
    match role {
        Role::Sheet => area(WHITE, 0.5),
        Role::Trim => Ink { fill: None, stroke: Some(GREY), width: 0.18, dash: &[] },
        Role::Piece => area(WHITE, 0.35),
        Role::Kerf => area(BLACK, 0.0),
        Role::Offcut => area(WHITE, 0.35),
        Role::Scrap => area(WHITE, 0.18),
        Role::Hatch => Ink { fill: None, stroke: Some(GREY), width: 0.13, dash: &[] },
        Role::Grain | Role::Centre => match role {
            Role::Grain => line(0.35, &[]),
            _ => line(0.18, &[6.0, 1.0, 0.8, 1.0]),
        },
        Role::Dimension | Role::Leader => line(0.18, &[]),
        Role::Arrow => area(BLACK, 0.0),
        Role::Hidden => line(0.25, &[1.6, 0.8]),
        Role::Outline => line(0.7, &[]),
        Role::Edge => line(0.5, &[]),
        Role::Fine => line(0.25, &[]),
        Role::Glue => line(0.25, &[]),
        Role::Joint => line(0.18, &[1.6, 0.8]),
        Role::LaminationLight => {
            Ink { fill: Some([243, 228, 200]), stroke: Some([74, 54, 30]), width: 0.13, dash: &[] }
        }
        Role::LaminationDark => {
            Ink { fill: Some([206, 173, 124]), stroke: Some([74, 54, 30]), width: 0.13, dash: &[] }
        }
        Role::Ply => Ink { fill: None, stroke: Some([128, 94, 54]), width: 0.13, dash: &[] },
        Role::Ring => area(WHITE, 0.25),
        Role::RingFilled => area(BLACK, 0.0),
        Role::Ground => area(WHITE, 0.0),
        Role::Tint => area([240, 239, 236], 0.0),
        Role::Label => area(BLACK, 0.0),
        Role::Note => area(GREY, 0.0),
        Role::Reversed => area(WHITE, 0.0),
        Role::Rule => Ink { fill: None, stroke: Some([150, 148, 144]), width: 0.13, dash: &[] },
        Role::RuleHeavy => line(0.5, &[]),
        Role::Tick => area(WHITE, 0.35),
    }
}

/// The class that files of drawings use for a role.
pub const fn class(role: Role) -> &'static str {
    match role {
        Role::Sheet => "sheet",
        Role::Trim => "trim",
        Role::Piece => "piece",
        Role::Kerf => "kerf",
        Role::Offcut => "offcut",
        Role::Scrap => "scrap",
        Role::Hatch => "hatch",
        Role::Grain => "grain",
        Role::Dimension => "dimension",
        Role::Arrow => "arrow",
        Role::Leader => "leader",
        Role::Hidden => "hidden",
        Role::Centre => "centre",
        Role::Outline => "outline",
        Role::Edge => "edge",
        Role::Fine => "fine",
        Role::Glue => "glue",
        Role::Joint => "joint",
        Role::LaminationLight => "lamination-light",
        Role::LaminationDark => "lamination-dark",
        Role::Ply => "ply",
        Role::Ring => "ring",
        Role::RingFilled => "ring-filled",
        Role::Ground => "ground",
        Role::Tint => "tint",
        Role::Label => "label",
        Role::Note => "note",
        Role::Reversed => "reversed",
        Role::Rule => "rule",
        Role::RuleHeavy => "rule-heavy",
        Role::Tick => "tick",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of WCAG 2.2, for contrast.
    fn luminance(c: Colour) -> f64 {
        let part = |v: u8| {
            let v = f64::from(v) / 255.0;
            if v <= 0.03928 { v / 12.92 } else { libm::pow((v + 0.055) / 1.055, 2.4) }
        };
        0.2126 * part(c[0]) + 0.7152 * part(c[1]) + 0.0722 * part(c[2])
    }

    fn contrast(a: Colour, b: Colour) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn every_role_has_ink_and_a_class_of_its_own() {
        let mut classes: Vec<_> = Role::ALL.iter().map(|&r| class(r)).collect();
        classes.sort_unstable();
        classes.dedup();
        assert_eq!(classes.len(), Role::ALL.len());
        for role in Role::ALL {
            let ink = ink(role);
            assert!(ink.fill.is_some() || (ink.stroke.is_some() && ink.width >= 0.13), "{role:?}");
        }
    }

    #[test]
    fn words_are_dark_on_white_and_tones_survive_a_grey_print() {
        for role in [Role::Label, Role::Note] {
            assert!(contrast(ink(role).fill.unwrap(), WHITE) >= 7.0, "WCAG 2.2, 1.4.6");
        }
        let (light, dark) =
            (ink(Role::LaminationLight).fill.unwrap(), ink(Role::LaminationDark).fill.unwrap());
        assert!(contrast(light, dark) > 1.5);
    }
}
