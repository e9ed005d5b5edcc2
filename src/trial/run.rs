//! All cases of a trial, spread over threads; what comes out does not depend on how many.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use super::case::play;
use super::truth::cases;
use super::{Outcome, Policy, Setup, TrialError};
use crate::workbench::Engine;

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
    each(setup.threads, cases.len(), &|index| play(engine, setup, &cases[index]), progress)
}

/// What one thread has done: the number of each thing, and what came of it.
type Done<T> = Vec<(usize, Result<T, TrialError>)>;

/// Does so many things in so many threads and returns what came of them, in order.
pub(super) fn each<T: Send>(
    threads: usize,
    count: usize,
    one: &(dyn Fn(usize) -> Result<T, TrialError> + Sync),
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Result<Vec<T>, TrialError> {
    let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let work = || {
        let mut all = Vec::new();
        while let Some(index) = taken(&next, count) {
            all.push((index, one(index)));
            progress(done.fetch_add(1, Ordering::Relaxed) + 1, count);
        }
        all
    };
    let mut all: Done<T> = in_threads(threads, &work);
    all.sort_by_key(|(index, _)| *index);
    all.into_iter().map(|(_, came)| came).collect()
}

/// Takes the next number that nobody has taken.
fn taken(next: &AtomicUsize, count: usize) -> Option<usize> {
    let index = next.fetch_add(1, Ordering::Relaxed);
    (index < count).then_some(index)
}

/// Does the same work in so many threads and gathers what they bring.
fn in_threads<T: Send>(threads: usize, work: &(dyn Fn() -> Done<T> + Sync)) -> Done<T> {
    std::thread::scope(|scope| {
        let others: Vec<_> = (1..threads.max(1)).map(|_| scope.spawn(work)).collect();
        let mut all = work();
        for other in others {
            match other.join() {
                Ok(done) => all.extend(done),
                Err(cause) => std::panic::resume_unwind(cause),
            }
        }
        all
    })
}
