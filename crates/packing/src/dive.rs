//! Whole layouts out of a fractional plan: fix the layout that is used most, ask what is then still wanted, price
//! again, and so on until nothing is wanted.

use crate::budget::Search;
use crate::columns::Pool;
use crate::master::{Column, DEAREST, scaled_costs};
use crate::normalise::Job;
use crate::pricing::{Pattern, Table};
use crate::simplex::{Program, Row};

/// What missing one piece costs: more than any sheet.
const MISS: f64 = 20.0 * DEAREST;

/// The fractional plan for what is still wanted within what is still to be had.
pub(crate) struct Residual<'a> {
    job: &'a Job,
    tables: &'a [Table],
    pub(crate) program: Program,
    pub(crate) pool: Pool,
    /// Program column of each pool column.
    columns: Vec<usize>,
    cost: Vec<f64>,
}

impl<'a> Residual<'a> {
    pub(crate) fn new(job: &'a Job, tables: &'a [Table], known: &Pool) -> Self {
        let cost = scaled_costs(job);
        let mut rows: Vec<(Row, f64, f64)> = job.sizes.iter().map(|_| (Row::Wanted, 0.0, MISS)).collect();
        rows.extend(job.sheets.iter().map(|_| (Row::Limit, 0.0, 100.0 * MISS)));
        let mut residual = Residual {
            job,
            tables,
            program: Program::new(&rows),
            pool: Pool::default(),
            columns: Vec::new(),
            cost,
        };
        known.columns.iter().for_each(|c| {
            residual.take(c.clone());
        });
        residual
    }

    /// Learns a layout; false when it is known.
    pub(crate) fn take(&mut self, column: Column) -> bool {
        let Some(at) = self.pool.take(column) else { return false };
        let column = &self.pool.columns[at];
        let mut entries: Vec<(usize, f64)> = column.counts.iter().map(|&(s, n)| (s, n as f64)).collect();
        entries.push((self.job.sizes.len() + column.stock(), 1.0));
        self.columns.push(self.program.column(self.cost[column.stock()], entries));
        true
    }

    /// Solves for this demand and these sheets, pricing at most `rounds` times. `false` when it gave up.
    pub(crate) fn solve(&mut self, wanted: &[i64], have: &[i64], rounds: usize, search: &mut Search) -> bool {
        let right: Vec<f64> = wanted.iter().chain(have).map(|&n| n.max(0) as f64).collect();
        self.program.ask(&right);
        for round in 0..=rounds {
            let before = self.program.work;
            let solved = self.program.solve();
            search.work += (self.program.work - before) / 2;
            if !solved {
                return false;
            }
            if round == rounds {
                break;
            }
            let prices = self.program.prices().to_vec();
            let (sizes, upper) = prices.split_at(self.job.sizes.len());
            let mut learned = false;
            for table in self.tables {
                for found in table.price::<f64>(sizes, wanted, 2, false, &mut search.work) {
                    if have[found.stock] == 0 {
                        continue;
                    }
                    let allowed = self.cost[found.stock] - upper[found.stock];
                    for (_, mut pattern) in found.patterns {
                        clip(&mut pattern, wanted);
                        let column = Column::new(pattern);
                        if column.worth(sizes) > allowed + 1e-6 * DEAREST {
                            learned |= self.take(column);
                        }
                    }
                }
            }
            if !learned {
                break;
            }
        }
        true
    }

    /// How often each layout of the pool is used.
    pub(crate) fn amounts(&self) -> Vec<f64> {
        let all = self.program.amounts();
        self.columns.iter().map(|&c| all[c]).collect()
    }
}

/// Leaves out of a layout what is beyond what is wanted.
pub(crate) fn clip(pattern: &mut Pattern, wanted: &[i64]) {
    let mut left = wanted.to_vec();
    for strip in pattern.panels.iter_mut().flatten() {
        for (lie, n) in strip.iter_mut() {
            let keep = i64::from(*n).min(left[lie.size].max(0));
            left[lie.size] -= keep;
            *n = keep as u32;
        }
    }
    crate::plan::tidy(pattern);
}

/// One dive for a whole demand within these sheets. `None` when a sheet is missing or the budget ran out.
pub(crate) fn dive(
    residual: &mut Residual,
    demand: &[i64],
    have: &[i64],
    search: &mut Search,
) -> Option<Vec<(Pattern, u32)>> {
    let mut wanted = demand.to_vec();
    let mut have = have.to_vec();
    let mut fixed: Vec<(Pattern, u32)> = Vec::new();
    while wanted.iter().any(|&n| n > 0) {
        if !residual.solve(&wanted, &have, 12, search) || search.over() {
            return None;
        }
        let amounts = residual.amounts();
        let mut chosen: Vec<(usize, i64)> = amounts
            .iter()
            .enumerate()
            .filter(|(_, x)| **x >= 1.0 - 1e-6)
            .map(|(at, x)| (at, (x + 1e-6) as i64))
            .collect();
        if chosen.is_empty() {
            let most =
                (0..amounts.len()).max_by(|&a, &b| amounts[a].total_cmp(&amounts[b]).then(b.cmp(&a)))?;
            if amounts[most] < 1e-6 {
                return None;
            }
            chosen.push((most, 1));
        }
        for (at, times) in chosen {
            let column = &residual.pool.columns[at];
            let stock = column.stock();
            for _ in 0..times {
                let mut pattern = column.pattern.clone();
                clip(&mut pattern, &wanted);
                if pattern.panels.is_empty() {
                    break;
                }
                if have[stock] == 0 {
                    return None;
                }
                have[stock] -= 1;
                pattern.counts().iter().for_each(|&(s, n)| wanted[s] -= n);
                fixed.push((pattern, 1));
            }
        }
    }
    Some(fixed)
}

/// A plan without any search: again and again the layout that makes the best use of its sheet's money and area.
/// `None` when the sheets run out.
pub(crate) fn greedy(
    job: &Job,
    tables: &[Table],
    demand: &[i64],
    have: &[i64],
    search: &mut Search,
) -> Option<Vec<(Pattern, u32)>> {
    let mut wanted = demand.to_vec();
    let mut have = have.to_vec();
    let area: Vec<f64> = job.sizes.iter().map(|s| s.length as f64 * 1e-6 * (s.width as f64 * 1e-6)).collect();
    let mut fixed = Vec::new();
    while wanted.iter().any(|&n| n > 0) {
        let mut best: Option<(f64, Column)> = None;
        for table in tables {
            for found in table.price::<f64>(&area, &wanted, 1, false, &mut search.work) {
                if have[found.stock] == 0 {
                    continue;
                }
                for (_, mut pattern) in found.patterns {
                    clip(&mut pattern, &wanted);
                    let column = Column::new(pattern);
                    let sheet = &job.sheets[found.stock];
                    // Free sheets first, then the most area for the money.
                    let rate = column.worth(&area) / (sheet.price as f64 + 1e-9 * sheet.area);
                    if !column.counts.is_empty() && best.as_ref().is_none_or(|(known, _)| rate > *known) {
                        best = Some((rate, column));
                    }
                }
            }
        }
        let (_, column) = best?;
        let often = column.counts.iter().map(|&(s, n)| wanted[s] / n).min().unwrap_or(1);
        let often = often.min(have[column.stock()]).max(1);
        have[column.stock()] -= often;
        column.counts.iter().for_each(|&(s, n)| wanted[s] -= n * often);
        fixed.push((column.pattern, often as u32));
    }
    Some(fixed)
}
