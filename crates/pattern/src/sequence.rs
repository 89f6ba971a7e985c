//! Laminations stacked up without end: lamination 0 starts at v = 0, each starts where the one before ends.

use stripwright_units::Length;

use crate::spec::{Lamination, Sequence};

impl Sequence {
    /// One run of the sequence: every thickness and its glue line.
    pub fn pitch(&self) -> Length {
        self.laminations.iter().map(|l| l.thickness + self.glue_line).sum()
    }

    /// How many laminations a run has.
    pub fn run(&self) -> i64 {
        self.laminations.len() as i64
    }

    /// What lamination `j` is.
    pub fn at(&self, j: i64) -> &Lamination {
        &self.laminations[j.rem_euclid(self.run()) as usize]
    }

    /// Where lamination `j` starts, exactly.
    pub(crate) fn start_exact(&self, j: i64) -> Length {
        let within: Length = self.laminations[..j.rem_euclid(self.run()) as usize]
            .iter()
            .map(|l| l.thickness + self.glue_line)
            .sum();
        self.pitch() * j.div_euclid(self.run()) + within
    }

    /// Where lamination `j` starts, in millimetres.
    pub fn start(&self, j: i64) -> f64 {
        self.start_exact(j).to_mm()
    }

    /// The first lamination that ends above `v`.
    pub(crate) fn first_above(&self, v: f64) -> i64 {
        let mut j = (v / self.pitch().to_mm()).floor() as i64 * self.run() - 1;
        while self.start(j + 1) <= v {
            j += 1;
        }
        j
    }

    /// The last lamination that starts below `v`.
    pub(crate) fn last_below(&self, v: f64) -> i64 {
        let mut j = (v / self.pitch().to_mm()).ceil() as i64 * self.run();
        while self.start(j) >= v {
            j -= 1;
        }
        j
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_lamination_at_a_place() {
        let lamination =
            |mm, kind| Lamination { kind, thickness: Length::from_mm(mm), longest: Length::from_mm(2440) };
        let sequence = Sequence {
            laminations: vec![lamination(18, 0), lamination(18, 0), lamination(6, 1)],
            glue_line: Length::ZERO,
        };
        assert_eq!(sequence.pitch(), Length::from_mm(42));
        for j in -7..8 {
            let (low, high) = (sequence.start(j), sequence.start(j + 1));
            assert_eq!(sequence.first_above(low), j);
            assert_eq!(sequence.first_above(low + 0.1), j);
            assert_eq!(sequence.last_below(high), j);
            assert_eq!(sequence.last_below(high - 0.1), j);
            assert_eq!(sequence.at(j).kind, usize::from(j.rem_euclid(3) == 2));
        }
    }
}
