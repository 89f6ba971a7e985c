//! Whole layouts out of a fractional plan: fix the layout that is used most, ask what is then still wanted, price
//! again, and so on until nothing is wanted.

use crate::budget::Search;
use crate::master::Column;
use crate::normalise::Job;
use crate::pricing::{Aim, Pattern, Table};

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
            let aim = Aim { several: 1, deep: false, least: &[], slack: 0, until: u64::MAX };
            for found in table.price::<f64>(&area, &wanted, aim, search) {
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
