//! A small linear program that stays solved while layouts are learned and demands change.
//!
//! The search (see [`crate::dive`]) fixes layouts one after the other; each fixing changes what is still wanted, and
//! what remains is priced again. That needs both sides of the program at once: how often each layout is used and
//! what each piece is worth, warm after a change of demand. `minilp` gives no prices, cannot change a demand and does
//! not count its steps, so the search keeps this program of its own: a revised simplex on an explicit inverse, primal
//! after a new layout, dual after a new demand. Rows are some dozens, so an inverse is small and a step is one pass
//! over it. Nothing it says is a claim: plans are counted in whole numbers and bounds are made exact elsewhere.

use crate::wide;

/// minimise cost . x, with rows `sum(a x) >= want` ([`Row::Wanted`]) or `<= have` ([`Row::Limit`]), x >= 0. Every
/// row may be missed at a penalty, so there always is a solution.
#[derive(Clone)]
pub(crate) struct Program {
    kinds: Vec<Row>,
    right: Vec<f64>,
    columns: Vec<Vec<(usize, f64)>>,
    /// How many numbers all columns have together.
    entries: usize,
    /// The same row by row, zeros and all, while there are few rows.
    table: Option<Vec<Vec<f64>>>,
    cost: Vec<f64>,
    /// Each row's slack; the column after it is the row's miss.
    slacks: Vec<usize>,
    /// Whether a column is a miss.
    misses: Vec<bool>,
    /// Column of each row of the basis; from `columns.len()` on never: slacks and misses are columns too.
    basis: Vec<usize>,
    basic: Vec<bool>,
    /// Row by row.
    inverse: Vec<f64>,
    values: Vec<f64>,
    prices: Vec<f64>,
    /// Pivots since the inverse was made afresh.
    age: usize,
    /// Work done, in numbers looked at.
    pub(crate) work: u64,
}

/// Which way a row binds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Row {
    /// At least so many.
    Wanted,
    /// At most so many.
    Limit,
}

/// Below this a reduced cost, in money with the dearest sheet at 1000, is zero: too small to change a bound that is
/// a sum of sheet prices.
const COST_ZERO: f64 = 1e-7;
/// Below this a pivot is noise: dividing by it would ruin the inverse.
const PIVOT_ZERO: f64 = 1e-8;
/// Below this a count of layouts is zero.
const COUNT_ZERO: f64 = 1e-9;
/// The inverse is made afresh after so many pivots, before rounding errors grow.
const MOST_AGE: usize = 150;
/// Up to so many rows, going through whole rows with wide instructions is quicker than through what columns have, one number
/// at a time.
const MOST_ROWS: usize = 80;

impl Program {
    /// Rows with what each miss costs, one unit short of a wanted row or beyond a limit.
    pub(crate) fn new(rows: &[(Row, f64, f64)]) -> Program {
        let m = rows.len();
        let mut program = Program {
            kinds: rows.iter().map(|r| r.0).collect(),
            right: rows.iter().map(|r| r.1).collect(),
            columns: Vec::new(),
            entries: 0,
            table: (m <= MOST_ROWS).then(|| vec![Vec::new(); m]),
            cost: Vec::new(),
            slacks: Vec::with_capacity(m),
            misses: Vec::new(),
            basis: vec![0; m],
            basic: Vec::new(),
            inverse: vec![0.0; m * m],
            values: Vec::new(),
            prices: vec![0.0; m],
            age: 0,
            work: 0,
        };
        for (at, &(kind, right, penalty)) in rows.iter().enumerate() {
            let slack = program.slack_and_miss(at, kind, penalty);
            program.basis[at] = slack + usize::from(kind == Row::Wanted && right > 0.0);
        }
        program.basis.iter().for_each(|&c| program.basic[c] = true);
        program.refresh();
        program
    }

    /// Adds a column and returns its index.
    pub(crate) fn column(&mut self, cost: f64, entries: Vec<(usize, f64)>) -> usize {
        if let Some(table) = &mut self.table {
            table.iter_mut().for_each(|row| row.push(0.0));
            entries.iter().for_each(|&(row, a)| table[row][self.columns.len()] += a);
        }
        self.entries += entries.len();
        self.columns.push(entries);
        self.cost.push(cost);
        self.basic.push(false);
        self.misses.push(false);
        self.columns.len() - 1
    }

    fn slack_and_miss(&mut self, row: usize, kind: Row, penalty: f64) -> usize {
        let sign = if kind == Row::Wanted { 1.0 } else { -1.0 };
        let slack = self.column(0.0, vec![(row, -sign)]);
        let miss = self.column(penalty, vec![(row, sign)]);
        self.misses[miss] = true;
        self.slacks.push(slack);
        slack
    }

    /// Adds a row over the columns there are and returns its index. What was solved stays nearly solved.
    pub(crate) fn row(&mut self, kind: Row, right: f64, penalty: f64, entries: &[(usize, f64)]) -> usize {
        let m = self.rows();
        let mut across = vec![0.0; self.columns.len()];
        for &(column, a) in entries {
            self.columns[column].push((m, a));
            self.entries += 1;
            across[column] = a;
        }
        self.table = self.table.take().filter(|_| m < MOST_ROWS);
        if let Some(table) = &mut self.table {
            table.push(across.clone());
        }
        self.kinds.push(kind);
        self.right.push(right);
        self.prices.push(0.0);
        let slack = self.slack_and_miss(m, kind, penalty);
        // The slack is basic: the new row of the inverse says what the slack is while the rest stays as it is.
        let own = self.columns[slack][0].1;
        let mut inverse = vec![0.0; (m + 1) * (m + 1)];
        for (r, before) in self.inverse.chunks_exact(m).enumerate() {
            inverse[r * (m + 1)..][..m].copy_from_slice(before);
            let a = across[self.basis[r]];
            if a != 0.0 {
                let last = &mut inverse[m * (m + 1)..][..m];
                last.iter_mut().zip(before).for_each(|(v, b)| *v -= a / own * b);
            }
        }
        inverse[(m + 1) * (m + 1) - 1] = 1.0 / own;
        self.inverse = inverse;
        self.basis.push(slack);
        self.basic[slack] = true;
        self.work += (m * m) as u64;
        self.set_values();
        m
    }

    /// Changes the right-hand sides.
    pub(crate) fn ask(&mut self, right: &[f64]) {
        self.right.copy_from_slice(right);
        self.set_values();
    }

    /// Changes what a column costs.
    pub(crate) fn set_cost(&mut self, column: usize, cost: f64) {
        self.cost[column] = cost;
    }

    /// How often a column is used.
    pub(crate) fn amounts(&self) -> Vec<f64> {
        let mut amounts = vec![0.0; self.columns.len()];
        self.basis.iter().zip(&self.values).for_each(|(&c, &v)| amounts[c] = v.max(0.0));
        amounts
    }

    /// Worth of one more unit of each row: of a piece wanted (not below zero), of a sheet allowed (not above zero).
    pub(crate) fn prices(&self) -> &[f64] {
        &self.prices
    }

    pub(crate) fn objective(&self) -> f64 {
        self.basis.iter().zip(&self.values).map(|(&c, &v)| self.cost[c] * v).sum()
    }

    /// How much is missed in all rows together, in rows' units.
    pub(crate) fn missed(&self) -> f64 {
        self.basis.iter().zip(&self.values).filter(|(c, _)| self.misses[**c]).map(|(_, &v)| v).sum()
    }

    fn rows(&self) -> usize {
        self.kinds.len()
    }

    fn set_values(&mut self) {
        let m = self.rows();
        self.values = (0..m)
            .map(|r| self.inverse[r * m..][..m].iter().zip(&self.right).map(|(a, b)| a * b).sum())
            .collect();
    }

    fn set_prices(&mut self) {
        let m = self.rows();
        self.prices.iter_mut().for_each(|p| *p = 0.0);
        for r in 0..m {
            let cost = self.cost[self.basis[r]];
            if cost != 0.0 {
                self.inverse[r * m..][..m].iter().zip(&mut self.prices).for_each(|(a, p)| *p += cost * a);
            }
        }
        self.work += (m * m) as u64;
    }

    fn reduced(&self, column: usize) -> f64 {
        self.columns[column].iter().fold(self.cost[column], |sum, &(row, a)| sum - a * self.prices[row])
    }

    /// What one of each column comes to with these prices of rows.
    fn worths(&self, prices: &[f64]) -> Vec<f64> {
        let Some(table) = &self.table else {
            let worth = |column: &Vec<(usize, f64)>| column.iter().map(|&(r, a)| a * prices[r]).sum();
            return self.columns.iter().map(worth).collect();
        };
        let mut worths = vec![0.0; self.columns.len()];
        for (row, &price) in table.iter().zip(prices) {
            if price != 0.0 {
                wide::add_times(&mut worths, row, price);
            }
        }
        worths
    }

    /// The work of going through all columns once.
    fn looked_at(&self) -> u64 {
        let entries = if self.table.is_some() { 0 } else { self.entries };
        (4 * self.columns.len() + 2 * entries) as u64
    }

    /// The reduced cost of every column.
    fn all_reduced(&self) -> Vec<f64> {
        let mut reduced = self.worths(&self.prices);
        reduced.iter_mut().zip(&self.cost).for_each(|(r, cost)| *r = cost - *r);
        reduced
    }

    /// Makes the inverse afresh (Gauss and Jordan, greatest pivot first). A basis that has become singular falls
    /// back to slacks and misses where it is.
    fn refresh(&mut self) {
        let m = self.rows();
        let mut matrix = vec![0.0; m * m];
        for (c, &column) in self.basis.iter().enumerate() {
            self.columns[column].iter().for_each(|&(r, a)| matrix[r * m + c] = a);
        }
        let mut inverse = vec![0.0; m * m];
        (0..m).for_each(|r| inverse[r * m + r] = 1.0);
        let mut touched = m;
        for c in 0..m {
            let size = |r: usize, matrix: &[f64]| matrix[r * m + c].abs();
            let mut pivot = c;
            for r in c + 1..m {
                if size(r, &matrix) > size(pivot, &matrix) {
                    pivot = r;
                }
            }
            if size(pivot, &matrix) < PIVOT_ZERO {
                self.restart();
                return;
            }
            if pivot != c {
                for k in 0..m {
                    matrix.swap(pivot * m + k, c * m + k);
                    inverse.swap(pivot * m + k, c * m + k);
                }
            }
            let by = 1.0 / matrix[c * m + c];
            for k in 0..m {
                matrix[c * m + k] *= by;
                inverse[c * m + k] *= by;
            }
            for r in 0..m {
                let by = matrix[r * m + c];
                if r == c || by == 0.0 {
                    continue;
                }
                touched += 2;
                for k in 0..m {
                    matrix[r * m + k] -= by * matrix[c * m + k];
                    inverse[r * m + k] -= by * inverse[c * m + k];
                }
            }
        }
        self.work += (touched * m) as u64;
        self.inverse = inverse;
        self.age = 0;
        self.set_values();
        self.set_prices();
    }

    /// Back to the basis of slacks and misses.
    fn restart(&mut self) {
        let m = self.rows();
        self.basic.iter_mut().for_each(|b| *b = false);
        self.inverse.iter_mut().for_each(|v| *v = 0.0);
        for at in 0..m {
            let wanted = self.kinds[at] == Row::Wanted;
            // A right-hand side below zero starts from the other of the two, which then is above zero.
            let miss = if wanted { self.right[at] > 0.0 } else { self.right[at] < 0.0 };
            let column = self.slacks[at] + usize::from(miss);
            self.basis[at] = column;
            self.basic[column] = true;
            self.inverse[at * m + at] = self.columns[column][0].1;
        }
        self.age = 0;
        self.set_values();
        self.set_prices();
    }

    fn pivot(&mut self, row: usize, entering: usize, along: &[f64]) {
        let m = self.rows();
        let reduced = self.reduced(entering);
        let mut touched = 1;
        let by = 1.0 / along[row];
        let (before, rest) = self.inverse.split_at_mut(row * m);
        let (pivot_row, after) = rest.split_at_mut(m);
        pivot_row.iter_mut().for_each(|v| *v *= by);
        let step = self.values[row] * by;
        for (r, other) in before.chunks_exact_mut(m).chain(after.chunks_exact_mut(m)).enumerate() {
            let r = if r < row { r } else { r + 1 };
            let times = along[r];
            if times != 0.0 {
                touched += 1;
                wide::add_times(other, pivot_row, -times);
                self.values[r] -= times * step;
            }
        }
        self.values[row] = step;
        self.basic[self.basis[row]] = false;
        self.basic[entering] = true;
        self.basis[row] = entering;
        self.age += 1;
        // Prices move along the pivot's row until what enters costs what it is worth.
        let pivot_row = &self.inverse[row * m..][..m];
        self.prices.iter_mut().zip(pivot_row).for_each(|(price, p)| *price += reduced * p);
        self.work += (m * (touched + 1)) as u64;
        if self.age >= MOST_AGE {
            self.refresh();
        }
    }

    fn along(&mut self, column: usize) -> Vec<f64> {
        let m = self.rows();
        let mut along = vec![0.0; m];
        for &(row, a) in &self.columns[column] {
            for (r, value) in along.iter_mut().enumerate() {
                *value += a * self.inverse[r * m + row];
            }
        }
        self.work += (m * self.columns[column].len()) as u64;
        along
    }

    /// Solves. Returns false when it gave up: after far more steps than programs of this size take.
    pub(crate) fn solve(&mut self) -> bool {
        let mut left = 50 * (self.rows() + 10) + 2 * self.columns.len();
        self.set_prices();
        if self.values.iter().any(|&v| v < -COUNT_ZERO) && !self.dual(&mut left) {
            self.restart();
        }
        self.primal(&mut left)
    }

    fn dual(&mut self, left: &mut usize) -> bool {
        let m = self.rows();
        let mut reduced = self.all_reduced();
        loop {
            let mut row = None;
            let mut worst = -COUNT_ZERO;
            for (r, &v) in self.values.iter().enumerate() {
                if v < worst {
                    (row, worst) = (Some(r), v);
                }
            }
            let Some(row) = row else { return true };
            if *left == 0 {
                return false;
            }
            *left -= 1;
            let across = self.worths(&self.inverse[row * m..][..m]);
            let (mut best, mut ratio, mut size) = (None, f64::INFINITY, 0.0);
            for (column, &a) in across.iter().enumerate() {
                if a < -PIVOT_ZERO && !self.basic[column] {
                    let r = reduced[column].max(0.0) / -a;
                    if r < ratio - 1e-12 || (r <= ratio + 1e-12 && -a > size) {
                        (best, ratio, size) = (Some(column), r, -a);
                    }
                }
            }
            self.work += self.looked_at();
            let Some(entering) = best else { return false };
            let along = self.along(entering);
            if along[row].abs() < PIVOT_ZERO {
                self.refresh();
                return false;
            }
            self.pivot(row, entering, &along);
            if self.age == 0 {
                reduced = self.all_reduced();
            } else {
                let step = -reduced[entering] / across[entering];
                wide::add_times(&mut reduced, &across, step);
            }
        }
    }

    fn primal(&mut self, left: &mut usize) -> bool {
        let mut stalled = 0;
        loop {
            // The most promising column; when nothing has moved for long, the first one, which cannot cycle.
            let careful = stalled > self.rows() + 20;
            let (mut best, mut least) = (None, -COST_ZERO);
            for (column, &reduced) in self.all_reduced().iter().enumerate() {
                if reduced < least && !self.basic[column] {
                    (best, least) = (Some(column), reduced);
                    if careful {
                        break;
                    }
                }
            }
            self.work += self.looked_at();
            let Some(entering) = best else {
                return true;
            };
            if *left == 0 {
                return false;
            }
            *left -= 1;
            let along = self.along(entering);
            let (mut row, mut ratio) = (None::<usize>, f64::INFINITY);
            for (r, &a) in along.iter().enumerate() {
                if a <= PIVOT_ZERO {
                    continue;
                }
                let step = self.values[r].max(0.0) / a;
                let better = match row {
                    None => true,
                    Some(_) if step < ratio - 1e-12 => true,
                    Some(known) if step <= ratio + 1e-12 => {
                        if careful {
                            self.basis[r] < self.basis[known]
                        } else {
                            a > along[known]
                        }
                    }
                    Some(_) => false,
                };
                if better {
                    (row, ratio) = (Some(r), step);
                }
            }
            // Costs are not below zero, so nothing is unbounded but by rounding.
            let Some(row) = row else { return false };
            stalled = if ratio > COUNT_ZERO { 0 } else { stalled + 1 };
            self.pivot(row, entering, &along);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two sizes, three layouts, worked by hand: (2, 0), (1, 1), (0, 3) at 10 each for 4 and 5 pieces: 2 of the
    /// first and 5/3 of the last cost 110/3, and swapping any for the middle one costs more.
    #[test]
    fn solves_and_follows_a_change_of_demand() {
        let mut p = Program::new(&[(Row::Wanted, 4.0, 1e4), (Row::Wanted, 5.0, 1e4), (Row::Limit, 9.0, 1e4)]);
        let a = p.column(10.0, vec![(0, 2.0), (2, 1.0)]);
        let b = p.column(10.0, vec![(0, 1.0), (1, 1.0), (2, 1.0)]);
        let c = p.column(10.0, vec![(1, 3.0), (2, 1.0)]);
        assert!(p.solve());
        assert!((p.objective() - 110.0 / 3.0).abs() < 1e-9);
        let amounts = p.amounts();
        assert!(
            (amounts[a] - 2.0).abs() < 1e-9 && amounts[b] < 1e-9 && (amounts[c] - 5.0 / 3.0).abs() < 1e-9
        );
        assert!((p.prices()[0] - 5.0).abs() < 1e-9 && (p.prices()[1] - 10.0 / 3.0).abs() < 1e-9);
        p.ask(&[4.0, 5.0, 3.0]);
        assert!(p.solve());
        assert!(p.missed() > 0.1, "three sheets cannot hold 4 and 5");
        p.ask(&[0.0, 6.0, 3.0]);
        assert!(p.solve());
        assert!((p.objective() - 20.0).abs() < 1e-9 && p.missed() < 1e-9);
    }

    /// A row that comes later says the same as one that was there from the beginning.
    #[test]
    fn a_row_may_come_later() {
        let rows = [(Row::Wanted, 4.0, 1e4), (Row::Wanted, 5.0, 1e4)];
        let layouts = [vec![(0, 2.0)], vec![(0, 1.0), (1, 1.0)], vec![(1, 3.0)]];
        // At most one of the first and of the last: 1, 2 and 1, which takes four.
        for (kind, right, expected) in [(Row::Limit, 2.0, 40.0), (Row::Wanted, 5.0, 50.0)] {
            let mut later = Program::new(&rows);
            let columns: Vec<usize> = layouts.iter().map(|l| later.column(10.0, l.clone())).collect();
            assert!(later.solve());
            let before = later.objective();
            later.row(kind, right, 1e6, &[(columns[0], 1.0), (columns[2], 1.0)]);
            assert!(later.solve());
            let mut once = Program::new(&[rows[0], rows[1], (kind, right, 1e6)]);
            for (at, layout) in layouts.iter().enumerate() {
                let own = [(2, 1.0)];
                once.column(10.0, layout.iter().chain(own.iter().filter(|_| at != 1)).copied().collect());
            }
            assert!(once.solve());
            assert!((later.objective() - once.objective()).abs() < 1e-9, "{kind:?}");
            assert!((later.objective() - expected).abs() < 1e-9, "{}", later.objective());
            assert!(later.objective() > before + 1.0 && later.missed() < 1e-9);
            later.prices().iter().zip(once.prices()).for_each(|(a, b)| assert!((a - b).abs() < 1e-9));
        }
    }
}
