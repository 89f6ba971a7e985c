//! Two things at once, where there are two processors for them.
//!
//! What comes of it is the same as one after the other: neither sees anything of the other, and what both found is put
//! together in a fixed order. So a plan does not depend on how many threads there are.

use std::sync::atomic::{AtomicUsize, Ordering::Relaxed};
use std::sync::{Mutex, PoisonError};
use std::thread;

/// Less work than this is not worth another thread.
const A_SHARE: u64 = 100_000;

/// Whether there is a thread to share work out to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Crew {
    pub(crate) several: bool,
}

impl Crew {
    /// Both, at once if a thread is to be had for it.
    pub(crate) fn both<A: Send, B: Send>(
        self,
        one: impl FnOnce() -> A + Send,
        other: impl FnOnce() -> B + Send,
    ) -> (A, B) {
        if !self.several {
            return (one(), other());
        }
        let other = Mutex::new(Some(other));
        let run = || other.lock().unwrap_or_else(PoisonError::into_inner).take().map(|other| other());
        thread::scope(|scope| {
            let second = thread::Builder::new().spawn_scoped(scope, run);
            let first = one();
            let second = match second {
                Ok(second) => second.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)),
                // There are no threads, as on the web.
                Err(_) => run(),
            };
            match second {
                Some(second) => (first, second),
                None => unreachable!("it is run once, there or here"),
            }
        })
    }

    /// What a function makes of each of these, in their order. One takes about so many units of work.
    pub(crate) fn each<A: Sync, B: Send>(
        self,
        all: &[A],
        work: u64,
        make: impl Fn(&A) -> B + Send + Sync,
    ) -> Vec<B> {
        let crew = Crew { several: self.several && all.len() as u64 * work.max(1) >= 2 * A_SHARE };
        if !crew.several {
            return all.iter().map(make).collect();
        }
        // Taken in turns, as neighbours take about as long.
        let some = |from: usize| all.iter().skip(from).step_by(2).map(&make).collect::<Vec<B>>();
        let (even, odd) = crew.both(|| some(0), || some(1));
        let mut odd = odd.into_iter();
        even.into_iter().flat_map(|even| [Some(even), odd.next()]).flatten().collect()
    }
}

/// Searches under way.
static SEARCHES: AtomicUsize = AtomicUsize::new(0);

/// One of them.
struct Underway;

impl Drop for Underway {
    fn drop(&mut self) {
        SEARCHES.fetch_sub(1, Relaxed);
    }
}

/// Lets a search share out its work. One that begins while others run, as when many jobs are planned at once, works alone:
/// all processors have enough to do.
pub(crate) fn with_crew<T>(search: impl FnOnce(Crew) -> T) -> T {
    let several = SEARCHES.fetch_add(1, Relaxed) == 0;
    let _underway = Underway;
    search(Crew { several })
}
