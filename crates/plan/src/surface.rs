//! Areas to sand and to finish.

use std::f64::consts::PI;

use stripwright_pattern::Outline;
use stripwright_units::Length;

/// What of a top is sanded and finished, in square metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Surface {
    /// Both faces.
    pub(crate) faces: f64,
    /// The edge all round, less what easing takes off edge and rims.
    pub(crate) edge: f64,
    /// Length of the edge, in metres.
    pub(crate) round: f64,
}

impl Surface {
    /// Both faces and the edge of one top.
    ///
    /// `2 area + perimeter (thickness - 2 (2 - pi/2) q)`: a quarter round of radius `q` in place of a square edge takes
    /// `(2 - pi/2) q` off the profile (T80), on both edges. A radius over half the thickness counts as half.
    pub(crate) fn of(outline: &Outline, thickness: Length, round_over: Length) -> Surface {
        let round = outline.perimeter() / 1e3;
        let radius = round_over.to_mm().min(thickness.to_mm() / 2.0);
        let profile = thickness.to_mm() - 2.0 * (2.0 - PI / 2.0) * radius;
        Surface { faces: 2.0 * outline.area() / 1e6, edge: round * profile / 1e3, round }
    }

    /// All of it.
    pub(crate) fn total(self) -> f64 {
        self.faces + self.edge
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// T80 (derived): r = 300, h = 32, square-edged: 0.62581 m2.
    #[test]
    fn a_round_top_as_published() {
        let round = Outline::Round { diameter: Length::from_mm(600) };
        let square = Surface::of(&round, Length::from_mm(32), Length::ZERO);
        assert!((square.total() - 0.625_81).abs() < 5e-6, "{square:?}");
        let eased = Surface::of(&round, Length::from_mm(32), Length::from_mm(3));
        let less = 2.0 * (2.0 - PI / 2.0) * 0.003 * PI * 0.6;
        assert!((square.total() - eased.total() - less).abs() < 1e-12);
        let full = Surface::of(&round, Length::from_mm(32), Length::from_mm(90));
        // A half round has an arc of pi 16 mm, of which 2 x 16 mm stand in for rims that count as faces.
        let profile = (PI - 2.0) * 0.016;
        assert!((full.edge - PI * 0.6 * profile).abs() < 1e-12, "{full:?}");
    }
}
