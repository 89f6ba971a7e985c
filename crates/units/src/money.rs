//! Money in whole minor units.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Sub};

/// An amount in whole minor units (cents): the currency itself is the job's to name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Money(i64);

/// Why a text is not an amount of money.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MoneyError(String);

impl fmt::Display for MoneyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "`{}` is not an amount of money; write for example `92` or `92.50`, zero or more and under a billion",
            self.0
        )
    }
}

impl std::error::Error for MoneyError {}

impl Money {
    /// Nothing.
    pub const ZERO: Money = Money(0);

    /// From whole minor units.
    pub const fn from_minor(minor: i64) -> Money {
        Money(minor)
    }

    /// Whole minor units.
    pub const fn minor(self) -> i64 {
        self.0
    }

    /// Reads `92`, `92.5` or `92.50`.
    ///
    /// # Errors
    /// More than two decimals, signs, commas, words, and a billion or more are refused.
    pub fn parse(text: &str) -> Result<Money, MoneyError> {
        let bad = || MoneyError(text.trim().chars().take(40).collect());
        let (whole, cents) = text.trim().split_once('.').unwrap_or((text.trim(), ""));
        let all_digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
        if whole.is_empty() || whole.len() > 9 || cents.len() > 2 || !all_digits(whole) || !all_digits(cents)
        {
            return Err(bad());
        }
        let cents = format!("{cents:0<2}");
        Ok(Money(whole.parse::<i64>().map_err(|_| bad())? * 100 + cents.parse::<i64>().map_err(|_| bad())?))
    }
}

/// `92.00`.
impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        f.pad(&format!("{sign}{}.{:02}", self.0.unsigned_abs() / 100, self.0.unsigned_abs() % 100))
    }
}

impl Add for Money {
    type Output = Money;
    fn add(self, other: Money) -> Money {
        Money(self.0 + other.0)
    }
}

impl AddAssign for Money {
    fn add_assign(&mut self, other: Money) {
        self.0 += other.0;
    }
}

impl Sub for Money {
    type Output = Money;
    fn sub(self, other: Money) -> Money {
        Money(self.0 - other.0)
    }
}

impl Mul<i64> for Money {
    type Output = Money;
    fn mul(self, n: i64) -> Money {
        Money(self.0 * n)
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Money>>(amounts: I) -> Money {
        Money(amounts.map(|m| m.0).sum())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_and_shows_amounts() {
        for (text, minor) in [("92", 9200), ("92.5", 9250), ("92.50", 9250), ("0", 0), ("0.05", 5)] {
            assert_eq!(Money::parse(text), Ok(Money(minor)), "{text}");
        }
        for text in ["", "-1", "1.234", "1,50", "NaN", "9999999999", ".5"] {
            assert!(Money::parse(text).is_err(), "{text}");
        }
        assert_eq!(Money(9205).to_string(), "92.05");
        assert_eq!(Money(-5).to_string(), "-0.05");
    }

    #[test]
    fn amounts_are_reckoned_with() {
        let (seven, two) = (Money(7), Money(2));
        assert_eq!((seven + two, seven - two, seven * 3), (Money(9), Money(5), Money(21)));
        let mut sum = seven;
        sum += two;
        assert_eq!(sum, Money(9));
        assert_eq!([seven, two, two].into_iter().sum::<Money>(), Money(11));
        assert_eq!((Money::from_minor(7), seven.minor()), (seven, 7));
    }

    /// Nine digits before the point, two behind it.
    #[test]
    fn amounts_have_an_end() {
        assert_eq!(Money::parse(" 999999999.99 "), Ok(Money(99_999_999_999)));
        assert_eq!([Money::ZERO, Money(-5)].map(|money| money.to_string()), ["0.00", "-0.05"]);
        for text in ["1000000000", "1.000", "1.x", "x.1", "1.2.3"] {
            assert!(Money::parse(text).is_err(), "{text}");
        }
    }
}
