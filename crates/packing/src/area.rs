//! What areas alone show.
//!
//! Pieces lie beside one another on a sheet, so no layout holds more area than its sheet has, kerf included on both sides:
//! prices in proportion to area are prices that no layout beats. Where sheets hold dozens of pieces of dozens of sizes a
//! fractional plan of three stages has next to no waste, and these are the right prices at once, for nothing.

use crate::master::{Prices, scaled_costs};
use crate::normalise::Job;

/// Prices by area and what they show, in the program's money. None where the job has covers, whose worth depends on how
/// they are made.
pub(crate) fn prices(job: &Job) -> Option<(Prices, f64)> {
    if !job.covers.is_empty() {
        return None;
    }
    let area = |length: i64, width: i64| {
        (length + job.crosscut_kerf) as f64 * 1e-6 * ((width + job.rip_kerf) as f64 * 1e-6)
    };
    let sizes: Vec<f64> = job
        .sizes
        .iter()
        .map(|size| {
            let turned = if size.may_turn { area(size.width, size.length) } else { f64::INFINITY };
            area(size.length, size.width).min(turned)
        })
        .collect();
    let sheets: Vec<f64> = job.sheets.iter().map(|sheet| area(sheet.length, sheet.width)).collect();
    let cost = scaled_costs(job);
    let wanted: f64 = job.sizes.iter().zip(&sizes).map(|(size, area)| size.count as f64 * area).sum();
    let rates: Vec<f64> = cost.iter().zip(&sheets).map(|(cost, area)| cost / area).collect();
    // Dearer than the best kind without limit nothing is worth.
    let most =
        rates.iter().zip(&job.sheets).filter(|(_, sheet)| sheet.limit.is_none()).map(|(&rate, _)| rate);
    let most = most.fold(f64::INFINITY, f64::min);
    let upper = |rate: f64| sheets.iter().zip(&cost).map(move |(area, cost)| (area * rate - cost).max(0.0));
    let shown = |rate: f64| {
        let limits = job.sheets.iter().map(|sheet| sheet.limit.unwrap_or(0) as f64);
        wanted * rate - limits.zip(upper(rate)).map(|(n, upper)| n * upper).sum::<f64>()
    };
    let best =
        rates.into_iter().filter(|&rate| rate <= most).max_by(|&a, &b| shown(a).total_cmp(&shown(b)))?;
    let prices = Prices {
        sizes: sizes.iter().map(|area| area * best).collect(),
        covers: Vec::new(),
        upper: upper(best)
            .zip(&job.sheets)
            .map(|(upper, sheet)| if sheet.limit.is_some() { upper } else { 0.0 })
            .collect(),
    };
    Some((prices, shown(best)))
}
