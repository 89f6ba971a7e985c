//! How sizes and lists read in a sentence: the one place where steps, limits and prices turn figures into words.

use stripwright_units::{Angle, Length, System, trig};

use crate::plan::{Outline, Plan, Setting};

/// The system that sentences are written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Words {
    /// Metric or inches.
    pub system: System,
}

impl Words {
    /// A length with its unit: millimetres to a hundredth, inches in reduced fractions.
    #[must_use]
    pub fn length(self, length: Length) -> String {
        format!("{} {}", self.digits(length), self.unit())
    }

    /// A length without its unit.
    #[must_use]
    pub fn digits(self, length: Length) -> String {
        match self.system {
            System::Metric => length.to_hundredth().mm_digits(),
            System::Inch => length.inch_digits(),
        }
    }

    /// The word for the unit of lengths.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self.system {
            System::Metric => "mm",
            System::Inch => "in",
        }
    }

    /// A thickness that is compared with what a caliper shows: in inches decimals first, as calipers read no fractions.
    #[must_use]
    pub fn measured(self, length: Length) -> String {
        match self.system {
            System::Metric => self.length(length),
            System::Inch => format!("{:.3} in ({})", length.to_mm() / 25.4, length.show(System::Inch)),
        }
    }

    /// A length to the nearest mark, where the maker sets it by eye.
    #[must_use]
    pub fn about(self, mm: f64, mark: Length) -> String {
        self.length(Length::nearest_mm(mm).nearest_to(mark))
    }

    /// A finished plan shape with all that it takes to draw it: "rectangle, 40 in by 22 in, corners of radius 2 in".
    #[must_use]
    pub fn outline(self, outline: &Outline) -> String {
        match outline {
            Outline::Round { diameter } => format!("round, Ø {}", self.length(**diameter)),
            Outline::Oval { length, width } => {
                format!("oval (an ellipse), {} by {}", self.length(**length), self.length(**width))
            }
            Outline::Rectangle { length, width, radius } => {
                let corners = if radius.is_positive() {
                    format!("corners of radius {}", self.length(**radius))
                } else {
                    "square corners".to_string()
                };
                format!("rectangle, {} by {}, {corners}", self.length(**length), self.length(**width))
            }
            Outline::Polygon { sides, across_flats } => {
                let half = std::f64::consts::PI / f64::from((*sides).max(3));
                format!(
                    "polygon of {sides} sides, each {}, that touch a circle of Ø {}",
                    self.mm(across_flats * trig::tan(half)),
                    self.mm(*across_flats)
                )
            }
            Outline::Points { points } => format!("free outline of {} corners", points.len()),
        }
    }

    /// A computed length in millimetres.
    #[must_use]
    pub fn mm(self, mm: f64) -> String {
        self.length(Length::nearest_mm(mm))
    }

    /// A distance walked or fed: metres or feet, to a tenth.
    #[must_use]
    pub fn metres(self, metres: f64) -> String {
        match self.system {
            System::Metric => format!("{} m", decimals(metres, 1)),
            // T90: 1 ft = 0.3048 m.
            System::Inch => format!("{} ft", decimals(metres / 0.3048, 1)),
        }
    }

    /// An area in square metres or square feet.
    #[must_use]
    pub fn area(self, square_metres: f64) -> String {
        match self.system {
            System::Metric => format!("{} m²", decimals(square_metres, 2)),
            // T90: 1 sq ft = 0.09290304 m2.
            System::Inch => format!("{} sq ft", decimals(square_metres / 0.092_903_04, 1)),
        }
    }

    /// A mass in kilograms or pounds.
    #[must_use]
    pub fn mass(self, kilograms: f64) -> String {
        match self.system {
            System::Metric => format!("{} kg", decimals(kilograms, 1)),
            // T90: 1 lb = 0.45359237 kg.
            System::Inch => format!("{} lb", decimals(kilograms / 0.453_592_37, 0)),
        }
    }

    /// A length as a setting.
    #[must_use]
    pub fn set_length(self, name: &str, length: Length) -> Setting {
        Setting {
            name: name.to_string(),
            value: self.length(length),
            length: Some(length.into()),
            degrees: None,
        }
    }

    /// An angle as a setting, shown to a hundredth of a degree.
    #[must_use]
    pub fn set_angle(self, name: &str, angle: Angle) -> Setting {
        let degrees = angle.to_degrees();
        Setting {
            name: name.to_string(),
            value: format!("{}°", decimals(degrees, 2)),
            length: None,
            degrees: Some(crate::figures::rounded(degrees)),
        }
    }

    /// Anything else as a setting.
    #[must_use]
    pub fn set(self, name: &str, value: impl Into<String>) -> Setting {
        Setting { name: name.to_string(), value: value.into(), length: None, degrees: None }
    }
}

/// A number with at most so many decimals and no trailing zeros.
#[must_use]
pub fn decimals(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_string() } else { text.to_string() }
}

/// "1", "1 and 2", "1 to 4 and 7": numbers with their runs drawn together.
#[must_use]
pub fn numbers(numbers: &[u32]) -> String {
    join(&runs(numbers, " to "))
}

/// Numbers of which three or more that count by one, up or down, are named by their ends: "1 to 4", "7", "9", "8".
#[must_use]
pub fn runs(numbers: &[u32], to: &str) -> Vec<String> {
    let step = |a: u32, b: u32| i64::from(b) - i64::from(a);
    let mut parts: Vec<String> = Vec::new();
    let mut rest = numbers;
    while let Some(&first) = rest.first() {
        let way = rest.get(1).map_or(0, |&second| step(first, second));
        let more = rest.windows(2).take_while(|w| way.abs() == 1 && step(w[0], w[1]) == way).count();
        let (run, others) = rest.split_at(more + 1);
        match run {
            [first, _, .., last] => parts.push(format!("{first}{to}{last}")),
            few => parts.extend(few.iter().map(u32::to_string)),
        }
        rest = others;
    }
    parts
}

/// "a", "a and b", "a, b and c".
#[must_use]
pub fn join<S: AsRef<str>>(parts: &[S]) -> String {
    join_by(parts, "and")
}

/// "a", "a or b", "a, b or c": the last two joined by a word.
#[must_use]
pub fn join_by<S: AsRef<str>>(parts: &[S], joiner: &str) -> String {
    match parts {
        [] => String::new(),
        [one] => one.as_ref().to_string(),
        [front @ .., last] => {
            let front: Vec<&str> = front.iter().map(AsRef::as_ref).collect();
            format!("{} {joiner} {}", front.join(", "), last.as_ref())
        }
    }
}

/// A sentence or heading that begins with these words.
#[must_use]
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// `A`, `B` ... `Z`, `AA` ...
#[must_use]
pub fn letters(index: usize) -> String {
    let (front, last) = (index / 26, b'A' + (index % 26) as u8);
    let head = if front == 0 { String::new() } else { letters(front - 1) };
    format!("{head}{}", char::from(last))
}

/// The letter that drawings, lists and steps call a size of piece by: its place among the plan's demands.
#[must_use]
pub fn letter(plan: &Plan, id: &str) -> String {
    plan.demands.iter().position(|d| d.id == id).map_or_else(|| id.to_string(), letters)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_read_in_either_system() {
        let (mm, inch) = (Words { system: System::Metric }, Words { system: System::Inch });
        assert_eq!(mm.length(Length::from_nm(303_175_000)), "303.18 mm");
        assert_eq!(inch.length(Length::from_nm(38_100_000)), "1 1/2 in");
        assert_eq!((mm.mass(36.7), inch.mass(36.7)), ("36.7 kg".into(), "81 lb".into()));
        assert_eq!(inch.area(0.092_903_04), "1 sq ft");
        assert_eq!(mm.set_angle("turn", Angle::degrees(44.999_999)).value, "45°");
        assert_eq!(decimals(100.0, 0), "100");
        assert_eq!(inch.about(98.7, Length::from_nm(793_750)), "3 7/8 in");
        assert_eq!(mm.about(-0.3, Length::from_um(500)), "-0.5 mm");
    }

    #[test]
    fn outlines_are_told_with_all_that_it_takes_to_draw_them() {
        let (mm, inch) = (Words { system: System::Metric }, Words { system: System::Inch });
        let (length, width) = (Length::INCH * 40, Length::INCH * 22);
        let rectangle = |radius: Length| Outline::Rectangle {
            length: length.into(),
            width: width.into(),
            radius: radius.into(),
        };
        let oval = Outline::Oval { length: length.into(), width: width.into() };
        // A square about a circle of 100 mm has sides of 100 mm.
        let square = Outline::Polygon { sides: 4, across_flats: 100.0 };
        for (said, text) in [
            (inch.outline(&rectangle(Length::INCH * 2)), "rectangle, 40 in by 22 in, corners of radius 2 in"),
            (inch.outline(&rectangle(Length::ZERO)), "rectangle, 40 in by 22 in, square corners"),
            (mm.outline(&oval), "oval (an ellipse), 1016 mm by 558.8 mm"),
            (mm.outline(&square), "polygon of 4 sides, each 100 mm, that touch a circle of Ø 100 mm"),
        ] {
            assert_eq!(said, text);
        }
    }

    #[test]
    fn runs_of_numbers_draw_together() {
        for (list, text) in [
            (&[][..], ""),
            (&[1], "1"),
            (&[1, 2], "1 and 2"),
            (&[1, 2, 3, 4, 7], "1 to 4 and 7"),
            (&[2, 4, 6], "2, 4 and 6"),
        ] {
            assert_eq!(numbers(list), text);
        }
        assert_eq!(runs(&[10, 9, 8, 4, 5, 6, 7, 2, 1], "–"), ["10–8", "4–7", "2", "1"]);
        assert_eq!(runs(&[3, 3, 4, 6, 5, 6], " to "), ["3", "3", "4", "6", "5", "6"]);
    }

    #[test]
    fn letters_go_on_after_z() {
        let all: Vec<String> = [0, 25, 26, 51, 52, 701, 702].into_iter().map(letters).collect();
        assert_eq!(all, ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]);
    }
}
