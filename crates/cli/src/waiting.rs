//! Planning with an eye on the clock: a bar after half a second, an end to patience, and Ctrl-C for the best so far.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use stripwright_plan::{Budget, Fault, Job, Options, Plan, Progress};

use crate::failure::note;

/// Set by Ctrl-C.
static STOP: AtomicBool = AtomicBool::new(false);

/// How long nothing is shown: most jobs are planned before.
const QUIET: Duration = Duration::from_millis(500);

/// How much longer than patience a search may take to come to a stop: one round of it is not interrupted, and a monstrous
/// job has rounds without end.
const GRACE: Duration = Duration::from_secs(240);

/// What a second Ctrl-C exits with, as shells have it for one that is not caught: 128 and the signal's number.
const INTERRUPTED: i32 = 130;

/// Ctrl-C asks for the best plan so far; a second one no longer waits for it.
fn heed_ctrl_c() {
    // A second handler cannot be set; the first does the same.
    let _ = ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(INTERRUPTED);
        }
    });
}

/// Calls `late` unless what is given back is dropped before `limit` has passed.
fn unless_done_within(limit: Duration, late: impl FnOnce() + Send + 'static) -> Sender<()> {
    let (working, ended) = channel();
    std::thread::spawn(move || {
        if ended.recv_timeout(limit) == Err(RecvTimeoutError::Timeout) {
            late();
        }
    });
    working
}

/// Plans a job. The clock can only end the search early; it never steers it, so that a plan that was not cut short
/// is the same every time.
pub(crate) fn plan(job: &Job, patience: Duration, compare_slabs: bool) -> Result<Plan, Vec<Fault>> {
    watched(patience, |progress| {
        stripwright_plan::plan(job, &mut Options { budget: Budget::default(), progress, compare_slabs })
    })
}

/// Searches with the bar, the end to patience and Ctrl-C.
pub(crate) fn watched<T>(
    patience: Duration,
    search: impl FnOnce(&mut (dyn FnMut(&Progress) -> bool + Send)) -> T,
) -> T {
    let waiting = Patience::begin(patience);
    // Nothing is written before there is a plan, so ending here leaves nothing half done.
    let working = unless_done_within(patience.saturating_add(GRACE), move || {
        let waited = patience.saturating_add(GRACE).as_secs();
        note(&format!(
            "The search did not come to a stop within {waited} s; ask for fewer sizes, pieces or kinds of sheet at once, \
             or give it a longer `--patience`."
        ));
        std::process::exit(1);
    });
    let bar = ProgressBar::with_draw_target(Some(1000), ProgressDrawTarget::hidden());
    let mut progress = |p: &Progress| {
        if waiting.begun.elapsed() > QUIET {
            show(&bar, p);
        }
        waiting.lasts()
    };
    let result = search(&mut progress);
    drop(working);
    bar.finish_and_clear();
    result
}

/// What is left of patience, with one search or several together.
#[derive(Clone, Copy)]
pub(crate) struct Patience {
    begun: Instant,
    most: Duration,
}

impl Patience {
    /// From now on, so long.
    pub(crate) fn begin(most: Duration) -> Patience {
        heed_ctrl_c();
        Patience { begun: Instant::now(), most }
    }

    /// Whether to go on: neither is it at its end nor was Ctrl-C pressed.
    pub(crate) fn lasts(self) -> bool {
        !STOP.load(Ordering::Relaxed) && self.begun.elapsed() < self.most
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_late_is_told_so() {
        let (told, late) = channel();
        let again = told.clone();
        let working = unless_done_within(Duration::from_millis(20), move || told.send("late").unwrap_or(()));
        assert_eq!(late.recv_timeout(Duration::from_secs(20)), Ok("late"));
        drop(working);
        drop(unless_done_within(Duration::from_secs(20), move || again.send("early").unwrap_or(())));
        assert_eq!(late.recv(), Err(std::sync::mpsc::RecvError), "what was done in time is not late");
    }
}
