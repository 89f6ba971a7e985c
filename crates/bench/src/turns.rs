//! Whose turn it is: a newer request from a page ends its older one.

use std::sync::atomic::{AtomicU8, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// How many pages are remembered; the one that asked longest ago is forgotten (and its work ended) when one more asks.
pub const MOST_PAGES: usize = 64;

/// The longest name a page may give itself.
pub(crate) const LONGEST_NAME: usize = 64;

const RUNNING: u8 = 0;
const STOPPED: u8 = 1;
const OVERTAKEN: u8 = 2;

/// One request's turn, shared by the request and by whoever may end it.
#[derive(Clone, Debug)]
pub(crate) struct Turn(Arc<AtomicU8>);

impl Turn {
    fn new() -> Turn {
        Turn(Arc::new(AtomicU8::new(RUNNING)))
    }

    /// False once the work should end.
    pub(crate) fn goes_on(&self) -> bool {
        self.0.load(Ordering::Relaxed) == RUNNING
    }

    /// True when nobody waits for the result any more.
    pub(crate) fn is_overtaken(&self) -> bool {
        self.0.load(Ordering::Relaxed) == OVERTAKEN
    }

    /// Ends the work; its result so far is still wanted.
    fn stop(&self) {
        let _ = self.0.compare_exchange(RUNNING, STOPPED, Ordering::Relaxed, Ordering::Relaxed);
    }

    /// Ends the work; its result is not wanted.
    pub(crate) fn overtake(&self) {
        self.0.store(OVERTAKEN, Ordering::Relaxed);
    }
}

/// The running turn of every page, the page that asked longest ago first.
#[derive(Debug, Default)]
pub(crate) struct Turns(Mutex<Vec<(String, Turn)>>);

impl Turns {
    /// Begins a turn for `page` and overtakes the one it had.
    pub(crate) fn begin(&self, page: &str) -> Turn {
        let turn = Turn::new();
        let mut pages = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(at) = pages.iter().position(|(name, _)| name == page) {
            pages.remove(at).1.overtake();
        }
        if pages.len() == MOST_PAGES {
            pages.remove(0).1.overtake();
        }
        pages.push((page.to_owned(), turn.clone()));
        turn
    }

    /// Asks the work of `page` to end with what it has.
    pub(crate) fn stop(&self, page: &str) {
        let pages = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        for (_, turn) in pages.iter().filter(|(name, _)| name == page) {
            turn.stop();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_newer_request_overtakes_only_its_own_page() {
        let turns = Turns::default();
        let (first, other) = (turns.begin("a"), turns.begin("b"));
        let second = turns.begin("a");
        assert!(first.is_overtaken() && !first.goes_on());
        assert!(other.goes_on() && second.goes_on());
    }

    #[test]
    fn a_stopped_request_keeps_its_result_and_an_overtaken_one_does_not() {
        let turns = Turns::default();
        let turn = turns.begin("a");
        turns.stop("a");
        assert!(!turn.goes_on() && !turn.is_overtaken());
        turns.begin("a");
        assert!(turn.is_overtaken());
    }

    #[test]
    fn the_page_that_asked_longest_ago_is_forgotten_first() {
        let turns = Turns::default();
        let running: Vec<Turn> = (0..=MOST_PAGES).map(|n| turns.begin(&n.to_string())).collect();
        assert!(running[0].is_overtaken());
        assert!(running[1..].iter().all(Turn::goes_on));
    }
}
