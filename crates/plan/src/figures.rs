//! How exact quantities look in JSON.

use std::ops::Deref;

use serde::de::{self, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use stripwright_units::{Length, Money};

/// A length that JSON shows as a number of millimetres with up to six decimals: exact to the nanometre both ways.
///
/// Whole millimetres are written without a point. The nearest double to a decimal of at most seventeen significant
/// digits reads back as that decimal, and a length of 100 m has eleven, so nothing is lost on the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Mm(pub Length);

impl Deref for Mm {
    type Target = Length;
    fn deref(&self) -> &Length {
        &self.0
    }
}

impl From<Length> for Mm {
    fn from(length: Length) -> Mm {
        Mm(length)
    }
}

impl Serialize for Mm {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let nm = self.0.nm();
        if nm % 1_000_000 == 0 {
            serializer.serialize_i64(nm / 1_000_000)
        } else {
            serializer.serialize_f64(nm as f64 / 1e6)
        }
    }
}

impl<'de> Deserialize<'de> for Mm {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Mm, D::Error> {
        struct Millimetres;
        impl Visitor<'_> for Millimetres {
            type Value = Mm;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                write!(f, "a number of millimetres of at most 1 000 000")
            }
            fn visit_i64<E: de::Error>(self, mm: i64) -> Result<Mm, E> {
                self.visit_f64(mm as f64)
            }
            fn visit_u64<E: de::Error>(self, mm: u64) -> Result<Mm, E> {
                self.visit_f64(mm as f64)
            }
            fn visit_f64<E: de::Error>(self, mm: f64) -> Result<Mm, E> {
                if mm.abs() <= 1e6 {
                    Ok(Mm(Length::nearest_mm(mm)))
                } else {
                    Err(de::Error::invalid_value(de::Unexpected::Float(mm), &self))
                }
            }
        }
        deserializer.deserialize_f64(Millimetres)
    }
}

/// An amount of money that JSON shows in whole minor units.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Minor(pub Money);

impl Deref for Minor {
    type Target = Money;
    fn deref(&self) -> &Money {
        &self.0
    }
}

impl Minor {
    /// How many things this is where none has a price, so that each counts as one whole amount: never fewer.
    #[must_use]
    pub fn things(self) -> i64 {
        (self.minor() + 99).div_euclid(100)
    }
}

impl From<Money> for Minor {
    fn from(money: Money) -> Minor {
        Minor(money)
    }
}

impl Serialize for Minor {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_i64(self.0.minor())
    }
}

impl<'de> Deserialize<'de> for Minor {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Minor, D::Error> {
        Ok(Minor(Money::from_minor(i64::deserialize(deserializer)?)))
    }
}

/// A computed figure for reading (an area, a mass, a coordinate), kept to six decimals so that files stay short.
#[must_use]
pub fn rounded(value: f64) -> f64 {
    let tidy = (value * 1e6).round() / 1e6;
    // No negative zero: it reads as a fault.
    if tidy == 0.0 { 0.0 } else { tidy }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn things_without_a_price_are_counted_up() {
        for (minor, things) in [(0, 0), (100, 1), (101, 2), (300, 3)] {
            assert_eq!(Minor(Money::from_minor(minor)).things(), things, "{minor}");
        }
    }

    #[test]
    fn lengths_go_through_json_exactly() {
        for (nm, text) in [
            (0, "0"),
            (396_875, "0.396875"),
            (1, "1e-6"),
            (1_062_500_000, "1062.5"),
            (2_440_000_000, "2440"),
            (99_999_999_999, "99999.999999"),
            (-38_100_000, "-38.1"),
        ] {
            let written = serde_json::to_string(&Mm(Length::from_nm(nm))).unwrap();
            assert_eq!(written, text);
            assert_eq!(serde_json::from_str::<Mm>(&written).unwrap().nm(), nm);
        }
        assert!(serde_json::from_str::<Mm>("1e300").is_err());
        assert!(serde_json::from_str::<Mm>("\"3\"").is_err());
    }
}
