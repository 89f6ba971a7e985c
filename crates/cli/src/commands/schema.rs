//! `stripwright schema`.

use crate::failure::{Failure, say};

pub(crate) fn run() -> Result<(), Failure> {
    say(&format!("{:#}\n", stripwright_plan::schema()))
}
