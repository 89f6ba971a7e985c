//! Angles, always written in degrees.

use std::fmt;

use crate::trig;

/// An angle. Made from and shown in degrees; radians stay inside.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Default)]
pub struct Angle {
    degrees: f64,
}

impl Angle {
    /// From degrees.
    pub const fn degrees(degrees: f64) -> Angle {
        Angle { degrees }
    }

    /// From radians, as [`trig`] returns them.
    pub fn radians(radians: f64) -> Angle {
        Angle { degrees: radians * (180.0 / std::f64::consts::PI) }
    }

    /// In degrees.
    pub const fn to_degrees(self) -> f64 {
        self.degrees
    }

    /// In radians.
    pub fn to_radians(self) -> f64 {
        self.degrees * (std::f64::consts::PI / 180.0)
    }

    /// Sine. Radians of whole degrees are rounded, so that of 180 degrees is not quite zero.
    pub fn sin(self) -> f64 {
        trig::sin(self.to_radians())
    }

    /// Cosine.
    pub fn cos(self) -> f64 {
        trig::cos(self.to_radians())
    }

    /// Tangent.
    pub fn tan(self) -> f64 {
        trig::tan(self.to_radians())
    }

    /// Cotangent.
    pub fn cot(self) -> f64 {
        self.cos() / self.sin()
    }

    /// Rounded to the nearest step of a shop's scale, such as 0.1 degree.
    pub fn to_step(self, step: Angle) -> Angle {
        Angle::degrees((self.degrees / step.degrees).round() * step.degrees)
    }
}

/// Degrees with up to three decimals and a degree sign: `4.981°`, `45°`.
impl fmt::Display for Angle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = format!("{:.3}", self.degrees);
        let text = text.trim_end_matches('0').trim_end_matches('.');
        f.pad(&format!("{}°", if text == "-0" { "0" } else { text }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shows_degrees_without_noise() {
        assert_eq!(Angle::degrees(45.0).to_string(), "45°");
        assert_eq!(Angle::degrees(4.98107).to_string(), "4.981°");
        assert_eq!(Angle::degrees(-0.0001).to_string(), "0°");
    }

    #[test]
    fn steps_to_the_shop_scale() {
        assert!((Angle::degrees(4.981).to_step(Angle::degrees(0.1)).to_degrees() - 5.0).abs() < 1e-12);
        assert!((Angle::degrees(45.0).cot() - 1.0).abs() < 1e-15);
    }

    /// Values that every table of angles has.
    #[test]
    fn degrees_and_radians_are_the_same_angle() {
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-15, "{a} {b}");
        let pi = std::f64::consts::PI;
        near(Angle::radians(pi / 6.0).to_degrees() / 30.0, 1.0);
        near(Angle::degrees(60.0).to_radians(), pi / 3.0);
        near(Angle::degrees(30.0).sin(), 0.5);
        near(Angle::degrees(60.0).cos(), 0.5);
        near(Angle::degrees(60.0).tan() / 3f64.sqrt(), 1.0);
        near(Angle::degrees(60.0).cot() * 3f64.sqrt(), 1.0);
    }

    #[test]
    fn inverse_functions_take_noise() {
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-15, "{a} {b}");
        let pi = std::f64::consts::PI;
        near(trig::asin(0.5), pi / 6.0);
        near(trig::acos(0.5), pi / 3.0);
        near(trig::asin(1.000_000_1), pi / 2.0);
        near(trig::asin(-1.000_000_1), -pi / 2.0);
        near(trig::acos(-1.000_000_1), pi);
        near(trig::acos(1.000_000_1), 0.0);
        near(trig::atan(1.0), pi / 4.0);
        near(trig::atan2(1.0, -1.0), 3.0 * pi / 4.0);
        near(trig::hypot(3.0, 4.0), 5.0);
    }
}
