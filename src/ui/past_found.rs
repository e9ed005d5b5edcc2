//! Which reading of a past job found the fault: the one that raised the fault that was named last by the most bits.

use crate::job::{Standing, StepKind};
use crate::session::{Replay, ReplayStep};

/// The least probability that a suspect is taken to have had, where too little was kept to say.
const LEAST: f64 = 1e-6;

/// Returns the place of the step that raised a fault most, and by how many bits. Readings that were taken back or withdrawn
/// do not count.
pub(super) fn finding(replay: &Replay, fault: &str) -> Option<(usize, f64)> {
    let mut best: Option<(usize, f64)> = None;
    for (index, step) in replay.steps.iter().enumerate().filter(|(_, step)| serves(step)) {
        let (Some(before), Some(after)) = (chance(&step.before, fault), chance(&step.after, fault)) else {
            continue;
        };
        let rise = (after / before).log2();
        if rise > best.map_or(0.0, |(_, most)| most) {
            best = Some((index, rise));
        }
    }
    best
}

fn serves(step: &ReplayStep) -> bool {
    let read = matches!(step.kind, StepKind::Read | StepKind::Corrected);
    read && step.counts && !step.later.iter().any(|later| later.starts_with("withdrawn"))
}

/// Returns the probability of the suspect with this fault; of one that was not kept, what the others leave. Nothing where
/// no suspect was kept.
fn chance(all: &[Standing], fault: &str) -> Option<f64> {
    let known = all.iter().find(|one| one.faults.iter().any(|id| id == fault));
    let rest = || 1.0 - all.iter().map(|one| one.probability).sum::<f64>();
    (!all.is_empty()).then(|| known.map_or_else(rest, |one| one.probability).max(LEAST))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(fault: &str, probability: f64) -> Standing {
        Standing { probability, sentence: String::new(), faults: vec![fault.to_owned()] }
    }

    #[test]
    fn what_was_not_kept_is_what_the_others_leave() {
        let all = [one("a", 0.5), one("b", 0.25)];
        assert_eq!(chance(&all, "b"), Some(0.25));
        assert_eq!(chance(&all, "c"), Some(0.25));
        assert_eq!(chance(&[one("a", 1.0)], "c"), Some(LEAST));
        assert_eq!(chance(&[], "a"), None);
    }
}
