//! Two things at once, where there are two processors for them.
//!
//! What comes of it is the same as one after the other: neither sees anything of the other, and what both found is put
//! together in a fixed order. So a plan does not depend on how many threads there are.

/// Less work than this is not worth waking another thread for.
const A_SHARE: u64 = 100_000;

/// Whether there are threads to share work out to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Crew {
    several: bool,
}

impl Crew {
    /// Both, at once if there is a thread for it.
    pub(crate) fn both<A: Send, B: Send>(
        self,
        one: impl FnOnce() -> A + Send,
        other: impl FnOnce() -> B + Send,
    ) -> (A, B) {
        if self.several { rayon::join(one, other) } else { (one(), other()) }
    }

    /// What a function makes of each of these, in their order. One takes about so many units of work.
    pub(crate) fn each<A: Sync, B: Send>(
        self,
        all: &[A],
        work: u64,
        make: impl Fn(&A) -> B + Send + Sync,
    ) -> Vec<B> {
        use rayon::prelude::*;
        let least = (A_SHARE / work.max(1)).max(1) as usize;
        if !self.several || all.len() < 2 * least {
            return all.iter().map(make).collect();
        }
        all.par_iter().with_min_len(least).map(make).collect()
    }
}

/// Lets a search share out its work. Where it runs on a thread of many already, as when many jobs are planned at once, all
/// threads have enough to do and it does its work alone.
pub(crate) fn with_crew<T: Send>(search: impl FnOnce(Crew) -> T + Send) -> T {
    if rayon::current_thread_index().is_some() {
        return search(Crew { several: false });
    }
    rayon::join(|| search(Crew { several: true }), || ()).0
}
