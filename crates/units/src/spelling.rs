//! How a maker spells a length.

use std::fmt;

use crate::{Length, System};

/// Why a spelling is not a length. The message is a whole clause that fits after "`key`: ".
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LengthError {
    /// Nothing was written.
    Empty,
    /// A number with a comma, which could be a decimal or a thousands sign.
    Comma(String),
    /// The text does not read as a length.
    Unreadable(String),
    /// The unit is not one of mm, cm, m, in, ft.
    Unit(String),
    /// The value is not a whole number of nanometres.
    Inexact(String),
    /// Zero denominator.
    ZeroDenominator(String),
    /// Below zero.
    Negative(String),
    /// Over 100 m.
    TooLong(String),
}

impl fmt::Display for LengthError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(f, "the length is empty; write for example `18 mm` or `3/4 in`"),
            Self::Comma(s) => {
                write!(
                    f,
                    "`{s}` has a comma; write decimals with a point, as in `18.5 mm`, and no thousands sign"
                )
            }
            Self::Unreadable(s) => {
                write!(
                    f,
                    "`{s}` does not read as a length; write for example `18 mm`, `2.44 m`, `1 1/2 in` or `8' 1/2\"`"
                )
            }
            Self::Unit(s) => write!(f, "`{s}` is not a unit of length here; use mm, cm, m, in or ft"),
            Self::Inexact(s) => {
                write!(
                    f,
                    "`{s}` is finer than a nanometre can hold; inches go down to 64ths, millimetres to 0.000001"
                )
            }
            Self::ZeroDenominator(s) => write!(f, "`{s}` divides by zero"),
            Self::Negative(s) => write!(f, "`{s}` is below zero; a length here is zero or more"),
            Self::TooLong(s) => write!(f, "`{s}` is over 100 m, which no shop cuts; check the unit"),
        }
    }
}

impl std::error::Error for LengthError {}

impl Length {
    /// Reads a length as a maker spells it; a bare number is in the job's `system` (mm or inches).
    ///
    /// | spelling | value |
    /// | --- | --- |
    /// | `18`, `18 mm`, `18mm`, `1.8 cm`, `0.018 m` | 18 mm |
    /// | `2.44 m` | 2440 mm |
    /// | `3/4 in`, `3/4"`, `¾ in`, `0.75 in`, `3/4 inch` | 19.05 mm |
    /// | `1 1/2 in`, `1-1/2"`, `1½ in` | 38.1 mm |
    /// | `8 ft`, `8'`, `8 feet` | 2438.4 mm |
    /// | `8' 1/2"`, `8 ft 1/2 in`, `8'0-1/2"` | 2451.1 mm |
    ///
    /// # Errors
    /// A [`LengthError`] whose text says what was found and what to write instead. Values that are not whole
    /// nanometres (`1/128 in`, `1/3 in`), below zero, or over 100 m are refused, never rounded.
    pub fn parse(text: &str, system: System) -> Result<Length, LengthError> {
        let whole = text.trim();
        if whole.is_empty() {
            return Err(LengthError::Empty);
        }
        let shown = || shorten(whole);
        let (negative, unsigned) = match whole.strip_prefix(['-', '\u{2212}']) {
            Some(rest) => (true, rest.trim_start()),
            None => (false, whole),
        };
        let mut rest = normalise(unsigned);
        let mut total = Ratio { top: 0, bottom: 1 };
        let mut last_unit = i64::MAX;
        let mut terms = 0;
        while !rest.is_empty() {
            let (value, after) = number(&rest, whole)?;
            let (unit, after) = unit(after.trim_start(), whole, system, terms == 0)?;
            // Feet then inches and nothing else: a second term must be of a smaller unit of the same system.
            if terms > 0 && !(last_unit == 12 * Length::INCH.nm() && unit == Length::INCH.nm()) {
                return Err(LengthError::Unreadable(shown()));
            }
            let term = value.times(unit).ok_or_else(|| LengthError::TooLong(shown()))?;
            total = total.plus(term).ok_or_else(|| LengthError::TooLong(shown()))?;
            last_unit = unit;
            terms += 1;
            rest = after.trim_start().to_string();
        }
        if terms == 0 {
            return Err(LengthError::Unreadable(shown()));
        }
        let length = i64::try_from(total.top / total.bottom).map(Length::from_nm);
        let Some(length) = length.ok().filter(|length| *length <= Length::LONGEST) else {
            return Err(LengthError::TooLong(shown()));
        };
        if total.top % total.bottom != 0 {
            return Err(LengthError::Inexact(shown()));
        }
        if negative && total.top != 0 {
            return Err(LengthError::Negative(shown()));
        }
        Ok(length)
    }
}

/// A non-negative fraction small enough that its sums and products with a unit stay inside an `i128`.
#[derive(Clone, Copy)]
struct Ratio {
    top: i128,
    bottom: i128,
}

impl Ratio {
    fn times(self, unit: i64) -> Option<Ratio> {
        Some(Ratio { top: self.top.checked_mul(i128::from(unit))?, bottom: self.bottom })
    }

    fn plus(self, other: Ratio) -> Option<Ratio> {
        let top = self.top.checked_mul(other.bottom)?.checked_add(other.top.checked_mul(self.bottom)?)?;
        Some(Ratio { top, bottom: self.bottom.checked_mul(other.bottom)? })
    }
}

/// One spelling for each sign: primes to quotes, vulgar fractions to `n/d`, dashes and odd blanks to plain ones.
fn normalise(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let vulgar = match c {
            '¼' => "1/4",
            '½' => "1/2",
            '¾' => "3/4",
            '⅛' => "1/8",
            '⅜' => "3/8",
            '⅝' => "5/8",
            '⅞' => "7/8",
            _ => "",
        };
        match c {
            _ if !vulgar.is_empty() => {
                out.push(' ');
                out.push_str(vulgar);
            }
            '\u{2033}' | '\u{201d}' | '\u{201c}' => out.push('"'),
            '\u{2032}' | '\u{2019}' | '\u{2018}' => out.push('\''),
            '\u{2044}' => out.push('/'),
            '\u{2010}' | '\u{2011}' | '\u{2012}' | '\u{2013}' => out.push('-'),
            c => out.push(c),
        }
    }
    out.replace("''", "\"").trim().to_string()
}

/// Reads a decimal, a fraction, or a whole number and a fraction from the front.
fn number<'a>(text: &'a str, whole: &str) -> Result<(Ratio, &'a str), LengthError> {
    let bad = || LengthError::Unreadable(shorten(whole));
    let (first, rest) = digits(text);
    if rest.starts_with(',') {
        return Err(LengthError::Comma(shorten(whole)));
    }
    if let Some(after_point) = rest.strip_prefix('.') {
        let (decimals, after) = digits(after_point);
        if first.is_empty() && decimals.is_empty() {
            return Err(bad());
        }
        if decimals.len() > 18 {
            return Err(LengthError::Inexact(shorten(whole)));
        }
        let bottom = 10i128.pow(decimals.len() as u32);
        let top = int(first, whole)? * bottom + int(decimals, whole)?;
        return Ok((Ratio { top, bottom }, after));
    }
    if first.is_empty() {
        return Err(bad());
    }
    let value = int(first, whole)?;
    if let Some((bottom, after)) = denominator(rest) {
        return Ok((fraction(value, bottom, whole)?, after));
    }
    // `1 1/2` and `1-1/2`: a whole number, a blank or a dash, a proper fraction.
    let second = rest.strip_prefix('-').unwrap_or(rest).trim_start();
    let (top, after_top) = digits(second);
    if !top.is_empty()
        && let Some((bottom, after)) = denominator(after_top)
    {
        let part = fraction(int(top, whole)?, bottom, whole)?;
        if part.top >= part.bottom {
            return Err(bad());
        }
        return Ok((Ratio { top: value * part.bottom + part.top, bottom: part.bottom }, after));
    }
    Ok((Ratio { top: value, bottom: 1 }, rest))
}

fn denominator(text: &str) -> Option<(&str, &str)> {
    let (bottom, after) = digits(text.trim_start().strip_prefix('/')?.trim_start());
    (!bottom.is_empty()).then_some((bottom, after))
}

fn fraction(top: i128, bottom: &str, whole: &str) -> Result<Ratio, LengthError> {
    match int(bottom, whole)? {
        0 => Err(LengthError::ZeroDenominator(shorten(whole))),
        bottom => Ok(Ratio { top, bottom }),
    }
}

fn digits(text: &str) -> (&str, &str) {
    text.split_at(text.bytes().take_while(u8::is_ascii_digit).count())
}

fn int(text: &str, whole: &str) -> Result<i128, LengthError> {
    match text.len() {
        0 => Ok(0),
        // 18 digits times the largest unit and denominator stay far inside an i128.
        1..=18 => text.parse().map_err(|_| LengthError::Unreadable(shorten(whole))),
        _ => Err(LengthError::TooLong(shorten(whole))),
    }
}

/// Nanometres in the unit at the front; `bare` allows no unit at all.
fn unit<'t>(text: &'t str, whole: &str, system: System, bare: bool) -> Result<(i64, &'t str), LengthError> {
    const MM: i64 = 1_000_000;
    let inch = Length::INCH.nm();
    if let Some(rest) = text.strip_prefix('"') {
        return Ok((inch, rest));
    }
    if let Some(rest) = text.strip_prefix('\'') {
        // A dash after feet joins them to the inches: 8'-0 1/2".
        let rest = rest.trim_start();
        return Ok((12 * inch, rest.strip_prefix('-').unwrap_or(rest)));
    }
    let end = text.find(|c: char| !c.is_alphabetic()).unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    let rest = rest.strip_prefix('.').unwrap_or(rest);
    let nm = match word.to_lowercase().as_str() {
        "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => MM,
        "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => 10 * MM,
        "m" | "metre" | "metres" | "meter" | "meters" => 1000 * MM,
        "in" | "inch" | "inches" => inch,
        "ft" | "foot" | "feet" => 12 * inch,
        "" if bare && text.is_empty() => match system {
            System::Metric => MM,
            System::Inch => inch,
        },
        "" => return Err(LengthError::Unreadable(shorten(whole))),
        _ => return Err(LengthError::Unit(shorten(word))),
    };
    Ok((nm, rest))
}

/// Keeps a message readable when the input is not.
fn shorten(text: &str) -> String {
    if text.chars().count() <= 40 { text.to_string() } else { text.chars().take(39).chain(['…']).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The table of [`Length::parse`], and the edges of it, in nanometres.
    #[test]
    fn reads_every_spelling_of_the_table() {
        let table = [
            ("18", 18_000_000),
            ("18 mm", 18_000_000),
            ("18mm", 18_000_000),
            ("1.8 cm", 18_000_000),
            ("0.018 m", 18_000_000),
            (".5 mm", 500_000),
            ("5. mm", 5_000_000),
            ("2.44 m", 2_440_000_000),
            ("3/4 in", 19_050_000),
            ("3/4\"", 19_050_000),
            ("¾ in", 19_050_000),
            ("0.75 in", 19_050_000),
            ("3/4 inch", 19_050_000),
            ("3 / 4 in", 19_050_000),
            ("1 1/2 in", 38_100_000),
            ("1-1/2\"", 38_100_000),
            ("1½ in", 38_100_000),
            ("1/64 in", 396_875),
            ("8 ft", 2_438_400_000),
            ("8'", 2_438_400_000),
            ("8 feet", 2_438_400_000),
            ("8' 1/2\"", 2_451_100_000),
            ("8 ft 1/2 in", 2_451_100_000),
            ("8'0-1/2\"", 2_451_100_000),
            ("8'-0 1/2\"", 2_451_100_000),
            ("8′ 6″", 2_590_800_000),
            ("0", 0),
            ("-0", 0),
            ("0.000001 mm", 1),
            ("100 m", 100_000_000_000),
        ];
        for (text, nm) in table {
            assert_eq!(Length::parse(text, System::Metric), Ok(Length::from_nm(nm)), "{text}");
        }
        assert_eq!(Length::parse("1 1/2", System::Inch), Ok(Length::from_nm(38_100_000)));
        // As many decimals as are read, and blanks that are no plain ones.
        assert_eq!(Length::parse("1.000000000000000000 mm", System::Metric), Ok(Length::from_mm(1)));
        assert_eq!(
            Length::parse("3\u{2009}/\u{2009}4\u{2003}in", System::Metric),
            Ok(Length::from_nm(19_050_000))
        );
        assert_eq!(Length::parse("18 mm", System::Inch), Ok(Length::from_mm(18)));
    }

    #[test]
    fn refuses_what_is_not_a_length() {
        use LengthError as E;
        let s = |t: &str| t.to_string();
        let table = [
            ("", E::Empty),
            ("  ", E::Empty),
            ("mm", E::Unreadable(s("mm"))),
            ("18,5 mm", E::Comma(s("18,5 mm"))),
            ("18 parsec", E::Unit(s("parsec"))),
            ("1/128 in", E::Inexact(s("1/128 in"))),
            ("1/3 in", E::Inexact(s("1/3 in"))),
            ("0.0000001 mm", E::Inexact(s("0.0000001 mm"))),
            ("1/0 in", E::ZeroDenominator(s("1/0 in"))),
            ("-18 mm", E::Negative(s("-18 mm"))),
            ("100.000001 m", E::TooLong(s("100.000001 m"))),
            ("99999999999999999999 mm", E::TooLong(s("99999999999999999999 mm"))),
            ("NaN", E::Unreadable(s("NaN"))),
            ("1 3/2 in", E::Unreadable(s("1 3/2 in"))),
            ("18 mm 2 mm", E::Unreadable(s("18 mm 2 mm"))),
            ("8 ft 20 mm", E::Unreadable(s("8 ft 20 mm"))),
            (". mm", E::Unreadable(s(". mm"))),
            ("1.0000000000000000000 mm", E::Inexact(s("1.0000000000000000000 mm"))),
            ("200.0000000001 m", E::TooLong(s("200.0000000001 m"))),
        ];
        for (text, error) in table {
            assert_eq!(Length::parse(text, System::Metric), Err(error), "{text}");
        }
        // Only a length by itself may leave its unit out.
        for text in ["8 ft 6", "8' 6"] {
            assert_eq!(Length::parse(text, System::Inch), Err(E::Unreadable(s(text))));
        }
    }

    proptest! {
        #[test]
        fn never_panics(text in "\\PC*") {
            let _ = Length::parse(&text, System::Metric);
        }

        #[test]
        fn never_panics_on_near_lengths(text in "[0-9 /.'\"mincft,-]{0,24}") {
            let _ = Length::parse(&text, System::Inch);
        }

        #[test]
        fn reads_back_what_it_shows(nm in 0i64..=100_000_000_000) {
            let length = Length::from_nm(nm);
            prop_assert_eq!(Length::parse(&length.to_string(), System::Inch), Ok(length));
            let sixty_fourths = Length::from_nm(nm / 396_875 * 396_875);
            prop_assert_eq!(Length::parse(&sixty_fourths.show(System::Inch), System::Metric), Ok(sixty_fourths));
        }
    }

    /// Every sign that a word processor or a keyboard may have put for the plain one.
    #[test]
    fn signs_have_plain_spellings() {
        let eighth = 25_400_000 / 8;
        let fractions = [('⅛', 1), ('¼', 2), ('⅜', 3), ('½', 4), ('⅝', 5), ('¾', 6), ('⅞', 7)];
        for (sign, eighths) in fractions {
            let expected = Ok(Length::from_nm(25_400_000 + eighths * eighth));
            for text in [format!("1{sign}\u{201d}"), format!("1-{sign}\u{2033}"), format!("1 {sign} in")] {
                assert_eq!(Length::parse(&text, System::Inch), expected, "{text}");
            }
        }
        let half = Ok(Length::from_nm(38_100_000));
        for text in [
            "1\u{2010}1/2\"",
            "1\u{2013}1/2\u{201c}",
            "1\u{a0}1\u{2044}2 in",
            "1\u{2011}1/2 in",
            "1\u{2012}1/2 in",
        ] {
            assert_eq!(Length::parse(text, System::Metric), half, "{text}");
        }
        for text in ["2\u{2032}", "2\u{2019}", "2\u{2018}"] {
            assert_eq!(Length::parse(text, System::Metric), Ok(Length::from_nm(609_600_000)), "{text}");
        }
    }
}
