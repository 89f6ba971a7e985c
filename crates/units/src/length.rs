//! A length in whole nanometres.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Rem, Sub, SubAssign};

/// Which system a job writes its bare numbers in and wants its output in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum System {
    /// Millimetres with decimals.
    #[default]
    Metric,
    /// Inches with reduced fractions.
    Inch,
}

/// A length (or a difference of two lengths), in whole nanometres.
///
/// `1/64 in` is 396 875 nm and `0.001 mm` is 1 000 nm, so both kinds of shop are exact.
/// Sums cannot overflow for lengths that [`Length::parse`] accepts (at most 100 m): an `i64` holds 9.2 million km.
/// Products do overflow, so there is no `Length * Length`: use [`Length::area_nm2`] or [`Length::to_mm`].
///
/// ```
/// use stripwright_units::{Length, System};
/// let strip = Length::parse("1 1/2 in", System::Metric).unwrap();
/// assert_eq!(strip, Length::from_nm(38_100_000));
/// assert_eq!(strip.to_string(), "38.1 mm");
/// assert_eq!(strip.show(System::Inch), "1 1/2 in");
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Length(i64);

impl Length {
    /// No length at all.
    pub const ZERO: Length = Length(0);
    /// One inch: 25.4 mm exactly (T86).
    pub const INCH: Length = Length(25_400_000);
    /// The longest length that input accepts: 100 m.
    pub const LONGEST: Length = Length(100_000_000_000);

    /// From whole nanometres.
    pub const fn from_nm(nm: i64) -> Length {
        Length(nm)
    }

    /// From whole millimetres.
    pub const fn from_mm(mm: i64) -> Length {
        Length(mm * 1_000_000)
    }

    /// From whole micrometres.
    pub const fn from_um(um: i64) -> Length {
        Length(um * 1_000)
    }

    /// The nearest nanometre to a computed number of millimetres; for drawing and for measured results,
    /// never for a demand (see [`Length::ceil_mm`]).
    pub fn nearest_mm(mm: f64) -> Length {
        Length((mm * 1e6).round() as i64)
    }

    /// The smallest whole number of marks not below `mm` millimetres: how an irrational result becomes a demand.
    ///
    /// A planned piece is never shorter than its geometry needs, and never longer than that by one mark. A result
    /// within a millionth of a millimetre above a mark counts as that mark: floating point noise, not wood.
    pub fn ceil_mm(mm: f64, mark: Length) -> Length {
        let nm = mm * 1e6;
        let marks = ((nm - 1.0) / mark.0 as f64).ceil().max(0.0);
        Length(marks as i64 * mark.0)
    }

    /// Whole nanometres.
    pub const fn nm(self) -> i64 {
        self.0
    }

    /// Millimetres as a float (exact to about 1e-9 of a millimetre for any length input accepts).
    pub fn to_mm(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// Inches as a float.
    pub fn to_inches(self) -> f64 {
        self.0 as f64 / 25_400_000.0
    }

    /// Rounded up to a whole number of marks.
    pub fn ceil_to(self, mark: Length) -> Length {
        Length(self.0.div_euclid(mark.0) * mark.0 + if self.0.rem_euclid(mark.0) == 0 { 0 } else { mark.0 })
    }

    /// Rounded down to a whole number of marks.
    pub fn floor_to(self, mark: Length) -> Length {
        Length(self.0.div_euclid(mark.0) * mark.0)
    }

    /// Rounded to the nearest whole number of marks, halves up.
    pub fn nearest_to(self, mark: Length) -> Length {
        (self + Length(mark.0 / 2)).floor_to(mark)
    }

    /// Rounded to the nearest hundredth of a millimetre, halves up: no fence is finer. For showing, never for planning.
    pub fn to_hundredth(self) -> Length {
        self.nearest_to(Length::from_um(10))
    }

    /// Area of a rectangle, in exact square nanometres.
    pub fn area_nm2(self, other: Length) -> i128 {
        i128::from(self.0) * i128::from(other.0)
    }

    /// The size without its sign.
    pub fn abs(self) -> Length {
        Length(self.0.abs())
    }

    /// True for lengths above zero.
    pub fn is_positive(self) -> bool {
        self.0 > 0
    }

    /// Millimetres with no trailing zeros and no unit: `38.1`, `0.396875`, `2440`.
    pub fn mm_digits(self) -> String {
        let sign = if self.0 < 0 { "-" } else { "" };
        let n = self.0.unsigned_abs();
        let (whole, rest) = (n / 1_000_000, n % 1_000_000);
        if rest == 0 {
            return format!("{sign}{whole}");
        }
        let digits = format!("{rest:06}");
        format!("{sign}{whole}.{}", digits.trim_end_matches('0'))
    }

    /// Inches with a fraction reduced to lowest terms and no unit (`1 1/2`, `23/32`, `0`), to the nearest 64th.
    /// Lengths that are not whole 64ths are prefixed with `~`, so that nobody takes them for exact.
    pub fn inch_digits(self) -> String {
        const SIXTY_FOURTH: i64 = 396_875;
        let sign = if self.0 < 0 { "-" } else { "" };
        let n = self.0.abs();
        let exact = if n % SIXTY_FOURTH == 0 { "" } else { "~" };
        let parts = (n + SIXTY_FOURTH / 2) / SIXTY_FOURTH;
        let (whole, mut top, mut bottom) = (parts / 64, parts % 64, 64);
        while top != 0 && top % 2 == 0 {
            top /= 2;
            bottom /= 2;
        }
        match (whole, top) {
            (w, 0) => format!("{exact}{sign}{w}"),
            (0, t) => format!("{exact}{sign}{t}/{bottom}"),
            (w, t) => format!("{exact}{sign}{w} {t}/{bottom}"),
        }
    }

    /// With its unit, in the given system: `38.1 mm` or `1 1/2 in`.
    pub fn show(self, system: System) -> String {
        match system {
            System::Metric => format!("{} mm", self.mm_digits()),
            System::Inch => format!("{} in", self.inch_digits()),
        }
    }
}

/// `38.1 mm`; with `{:#}`, `1 1/2 in`.
impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.show(if f.alternate() { System::Inch } else { System::Metric }))
    }
}

impl fmt::Debug for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", self.mm_digits())
    }
}

impl Add for Length {
    type Output = Length;
    fn add(self, other: Length) -> Length {
        Length(self.0 + other.0)
    }
}

impl AddAssign for Length {
    fn add_assign(&mut self, other: Length) {
        self.0 += other.0;
    }
}

impl Sub for Length {
    type Output = Length;
    fn sub(self, other: Length) -> Length {
        Length(self.0 - other.0)
    }
}

impl SubAssign for Length {
    fn sub_assign(&mut self, other: Length) {
        self.0 -= other.0;
    }
}

impl Neg for Length {
    type Output = Length;
    fn neg(self) -> Length {
        Length(-self.0)
    }
}

impl Mul<i64> for Length {
    type Output = Length;
    fn mul(self, n: i64) -> Length {
        Length(self.0 * n)
    }
}

/// Length over length is a plain number: how many whole times the second fits in the first.
impl Div for Length {
    type Output = i64;
    fn div(self, other: Length) -> i64 {
        self.0 / other.0
    }
}

impl Rem for Length {
    type Output = Length;
    fn rem(self, other: Length) -> Length {
        Length(self.0 % other.0)
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Length>>(lengths: I) -> Length {
        Length(lengths.map(|l| l.0).sum())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn shows(nm: i64, mm: &str, inch: &str) {
        let l = Length::from_nm(nm);
        assert_eq!(l.mm_digits(), mm);
        assert_eq!(l.inch_digits(), inch);
    }

    /// T86, T87: exact inch and the decimal equivalents of 64ths.
    #[test]
    fn displays_reduced_fractions() {
        shows(396_875, "0.396875", "1/64");
        shows(793_750, "0.79375", "1/32");
        shows(1_587_500, "1.5875", "1/16");
        shows(18_256_250, "18.25625", "23/32");
        shows(25_003_125, "25.003125", "63/64");
        shows(25_400_000, "25.4", "1");
        shows(38_100_000, "38.1", "1 1/2");
        shows(-38_100_000, "-38.1", "-1 1/2");
        shows(0, "0", "0");
    }

    /// T88, T89: published and derived roundings to 64ths.
    #[test]
    fn rounds_to_the_nearest_64th() {
        for (inches, shown) in [(0.1330, "~9/64"), (0.3670, "~23/64"), (0.8979, "~57/64"), (0.9999, "~1")] {
            assert_eq!(Length::nearest_mm(inches * 25.4).inch_digits(), shown);
        }
        for (mm, shown) in [(12, "~15/32"), (15, "~19/32"), (18, "~45/64"), (19, "~3/4"), (21, "~53/64")] {
            assert_eq!(Length::from_mm(mm).inch_digits(), shown);
        }
    }

    #[test]
    fn rounds_up_to_the_mark_and_never_a_mark_too_far() {
        let mark = Length::from_um(500);
        assert_eq!(Length::ceil_mm(1062.2, mark), Length::from_um(1_062_500));
        assert_eq!(Length::ceil_mm(1062.5, mark), Length::from_um(1_062_500));
        assert_eq!(Length::ceil_mm(1_062.500_000_5, mark), Length::from_um(1_062_500));
        assert_eq!(Length::ceil_mm(1_062.500_01, mark), Length::from_mm(1063));
        assert_eq!(Length::from_nm(-1).ceil_to(mark), Length::ZERO);
        assert_eq!(Length::from_nm(1).ceil_to(mark), mark);
        assert_eq!(Length::from_nm(500_001).floor_to(mark), mark);
    }

    #[test]
    fn lengths_are_reckoned_with() {
        let (seven, two) = (Length(7), Length(2));
        assert_eq!(
            (seven + two, seven - two, -seven, seven * 2),
            (Length(9), Length(5), Length(-7), Length(14))
        );
        assert_eq!((seven / two, seven % two), (3, Length(1)));
        let mut sum = seven;
        sum += two;
        assert_eq!(sum, Length(9));
        sum -= seven;
        assert_eq!(sum, two);
        assert_eq!([seven, two, two].into_iter().sum::<Length>(), Length(11));
        assert_eq!((Length(-7).abs(), seven.abs()), (seven, seven));
        assert!(Length(1).is_positive() && !Length(0).is_positive() && !Length(-1).is_positive());
        assert_eq!(Length(3_000_000_000).area_nm2(Length(4_000_000_000)), 12_000_000_000_000_000_000);
    }

    #[test]
    fn floats_are_millimetres_and_inches() {
        assert!((Length(12_345_678).to_mm() - 12.345_678).abs() < 1e-12);
        assert!((Length(63_500_000).to_inches() - 2.5).abs() < 1e-12);
        assert_eq!(Length::nearest_mm(12.345_678_4), Length(12_345_678));
        assert_eq!(Length::nearest_mm(-0.000_000_6), Length(-1));
    }

    #[test]
    fn marks_are_rounded_to_whole() {
        for (nm, up, down) in
            [(0, 0, 0), (1, 10, 0), (10, 10, 10), (11, 20, 10), (15, 20, 10), (-1, 0, -10), (-10, -10, -10)]
        {
            let (length, mark) = (Length(nm), Length(10));
            assert_eq!((length.ceil_to(mark), length.floor_to(mark)), (Length(up), Length(down)), "{nm}");
            let near = if nm - down < up - nm { down } else { up };
            assert_eq!(length.nearest_to(mark), Length(near), "{nm}");
        }
        for (nm, shown) in
            [(303_175_000, "303.18"), (303_174_999, "303.17"), (-5_000, "0"), (-5_001, "-0.01")]
        {
            assert_eq!(Length(nm).to_hundredth().mm_digits(), shown, "{nm}");
        }
    }
}
