//! Planning with an eye on the clock: a bar after half a second, an end to patience, and Ctrl-C for the best so far.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use stripwright_plan::{Budget, Fault, Job, Options, Plan, Progress};

/// Set by Ctrl-C.
static STOP: AtomicBool = AtomicBool::new(false);

/// How long nothing is shown: most jobs are planned before.
const QUIET: Duration = Duration::from_millis(500);

/// Plans a job. The clock can only end the search early; it never steers it, so that a plan that was not cut short
/// is the same every time.
pub(crate) fn plan(job: &Job, patience: f64, compare_slabs: bool) -> Result<Plan, Vec<Fault>> {
    watched(patience, |progress| {
        stripwright_plan::plan(job, &mut Options { budget: Budget::default(), progress, compare_slabs })
    })
}

/// Searches with the bar, the end to patience and Ctrl-C.
pub(crate) fn watched<T>(patience: f64, search: impl FnOnce(&mut dyn FnMut(&Progress) -> bool) -> T) -> T {
    // A second handler cannot be set; the first does the same.
    let _ = ctrlc::set_handler(|| STOP.store(true, Ordering::Relaxed));
    let begun = Instant::now();
    let patience = Duration::try_from_secs_f64(patience).unwrap_or(Duration::MAX);
    let bar = ProgressBar::with_draw_target(Some(1000), ProgressDrawTarget::hidden());
    let mut progress = |p: &Progress| {
        if begun.elapsed() > QUIET {
            show(&bar, p);
        }
        !STOP.load(Ordering::Relaxed) && begun.elapsed() < patience
    };
    let result = search(&mut progress);
    bar.finish_and_clear();
    result
}

/// For one of many searches: no bar, but Ctrl-C and patience as ever.
pub(crate) fn quietly(patience: f64) -> impl FnMut(&Progress) -> bool {
    let _ = ctrlc::set_handler(|| STOP.store(true, Ordering::Relaxed));
    let begun = Instant::now();
    let patience = Duration::try_from_secs_f64(patience).unwrap_or(Duration::MAX);
    move |_: &Progress| !STOP.load(Ordering::Relaxed) && begun.elapsed() < patience
}

fn show(bar: &ProgressBar, p: &Progress) {
    if bar.is_hidden() {
        // Only a terminal gets a bar; indicatif keeps it off pipes by itself.
        bar.set_draw_target(ProgressDrawTarget::stderr());
        if let Ok(style) = ProgressStyle::with_template("{bar:30} {msg}") {
            bar.set_style(style);
        }
    }
    bar.set_position((p.work as f64 / p.of.max(1) as f64 * 1000.0) as u64);
    bar.set_message(match p.money {
        Some(money) => format!("best so far {money}, at least {} (Ctrl-C takes it)", p.bound),
        None => format!("at least {}", p.bound),
    });
}
