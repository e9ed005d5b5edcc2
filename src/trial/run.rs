//! All cases of a trial, spread over threads; what comes out does not depend on how many.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use super::case::play;
use super::truth::{Case, cases};
use super::{Outcome, Policy, Setup, TrialError};
use crate::workbench::Engine;

/// What one thread has played: the index of each case, and what became of it.
type Played = Vec<(usize, Result<Outcome, TrialError>)>;

/// Plays every case of a trial; `progress` is told how many of how many are done, from any thread.
///
/// # Errors
///
/// Returns [`TrialError`] when a case cannot be drawn or predicted, or no tree fits.
pub fn run(
    engine: &Arc<Engine>,
    setup: &Setup,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Result<Vec<Outcome>, TrialError> {
    if setup.policy == Policy::Tree && engine.trees.is_empty() {
        return Err(TrialError::NoTree { wiring: engine.harness().name.clone() });
    }
    let cases = cases(engine, setup)?;
    let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let work = || {
        let mut played = Vec::new();
        while let Some((index, case)) = taken(&next, &cases) {
            played.push((index, play(engine, setup, case)));
            progress(done.fetch_add(1, Ordering::Relaxed) + 1, cases.len());
        }
        played
    };
    let mut all = in_threads(setup.threads, &work);
    all.sort_by_key(|(index, _)| *index);
    all.into_iter().map(|(_, outcome)| outcome).collect()
}

/// Takes the next case that nobody has taken.
fn taken<'c>(next: &AtomicUsize, cases: &'c [Case]) -> Option<(usize, &'c Case)> {
    let index = next.fetch_add(1, Ordering::Relaxed);
    cases.get(index).map(|case| (index, case))
}

/// Does the same work in so many threads and gathers what they bring.
fn in_threads(threads: usize, work: &(dyn Fn() -> Played + Sync)) -> Played {
    std::thread::scope(|scope| {
        let others: Vec<_> = (1..threads.max(1)).map(|_| scope.spawn(work)).collect();
        let mut all = work();
        for other in others {
            match other.join() {
                Ok(played) => all.extend(played),
                Err(cause) => std::panic::resume_unwind(cause),
            }
        }
        all
    })
}
