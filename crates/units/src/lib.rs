//! Lengths, angles and money as a maker writes them, held exactly.
//!
//! * [`Length`] is a whole number of nanometres: a micrometre and a 64th of an inch are both exact.
//! * [`Angle`] and [`trig`] are the only road to trigonometry, so that every machine gets the same bits.
//! * [`Money`] is a whole number of minor units (cents).
//!
//! What a maker may write for a length is the table in [`Length::parse`], and that table is the test.

mod angle;
mod length;
mod money;
mod spelling;
pub mod trig;

pub use angle::Angle;
pub use length::{Length, System};
pub use money::{Money, MoneyError};
pub use spelling::LengthError;
