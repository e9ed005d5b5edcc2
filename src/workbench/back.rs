//! A reading as it was taken: what was to be expected of it then, and what it changed.

use super::engine::Engine;
use super::situation::{Evidence, Situation};
use super::{Ask, PredictionView, Workbench, WorkbenchError, steps, suspects, words};
use crate::job::{Band, Event, Job, ReadingId, Record, Standing, Taken};
use crate::readings::Shown;

/// A reading as it was taken.
#[derive(Clone, Debug, PartialEq)]
pub struct LookBack {
    /// Its number.
    pub id: ReadingId,
    /// What was asked.
    pub ask: Ask,
    /// In one line: `plug tip – plug sleeve, neck, all knobs at 10`.
    pub sentence: String,
    /// What a healthy instrument would have read.
    pub healthy: Band,
    /// The same in words.
    pub healthy_text: String,
    /// What each suspect group that led then would have read.
    pub bands: Vec<PredictionView>,
    /// What the meter showed, as last corrected.
    pub shown: Shown,
    /// The same in words.
    pub found: String,
    /// What it told about what to repair, in bits: the relative entropy of the groups after it to those before it.
    pub bits: f64,
    /// How the suspects stood before it.
    pub before: Vec<Standing>,
    /// How they stood after it.
    pub after: Vec<Standing>,
}

impl Workbench {
    /// Returns a reading as it was taken; `None` when the job has none of this number.
    ///
    /// What the job has recorded of that moment is shown as it was recorded; the rest is worked out anew from what was
    /// known then. A reading that was corrected is shown as corrected.
    ///
    /// # Errors
    ///
    /// Returns [`WorkbenchError`] when a reading of the job cannot be predicted.
    pub fn look_back(&self, id: ReadingId) -> Result<Option<LookBack>, WorkbenchError> {
        let Some(taken) = self.job.readings().iter().find(|taken| taken.id == id) else { return Ok(None) };
        let Some((before, read)) = moment(&self.job, id)? else { return Ok(None) };
        let after = following(&before, &read, taken)?;
        let singles = self.singles_for(&before);
        let (engine, then) = Situation::settled(&singles, &before, &super::unread)?;
        let (later_engine, later) = Situation::settled(&singles, &after, &super::unread)?;
        let asked = &taken.reading.measurement;
        Ok(Some(LookBack {
            id,
            ask: Ask::Measure(asked.clone()),
            sentence: asked.sentence(engine.harness()),
            healthy: taken.healthy,
            healthy_text: words::reads(engine.meter, asked.mode, &taken.healthy),
            bands: steps::predictions(&engine, &then.belief, asked)?,
            shown: taken.reading.shown,
            found: words::shown(&taken.reading.shown),
            bits: told(&later_engine, &later, id),
            before: before.leaders().to_vec(),
            after: standings(&later_engine, &later, &read, taken),
        }))
    }
}

/// Returns the job as it was before a reading, and the record of that reading.
fn moment(job: &Job, id: ReadingId) -> Result<Option<(Job, Record)>, WorkbenchError> {
    let of_it = |record: &Record| matches!(&record.event, Event::Read { id: read, .. } if *read == id);
    let Some(at) = job.records().iter().position(of_it) else { return Ok(None) };
    let before = Job::replay(job.records()[..at].to_vec())?;
    Ok(Some((before, job.records()[at].clone())))
}

/// Returns the job with the reading, as last corrected.
fn following(before: &Job, read: &Record, taken: &Taken) -> Result<Job, WorkbenchError> {
    let mut record = read.clone();
    if let Event::Read { reading, .. } = &mut record.event {
        reading.clone_from(&taken.reading);
    }
    let mut job = before.clone();
    job.push(record)?;
    Ok(job)
}

/// Returns how the suspects stood after a reading: as recorded, unless it was corrected since.
fn standings(engine: &Engine, later: &Situation, read: &Record, taken: &Taken) -> Vec<Standing> {
    match &read.event {
        Event::Read { leaders, reading, .. } if *reading == taken.reading => leaders.clone(),
        _ => suspects::standings(engine, later),
    }
}

/// Returns what a reading told about what to repair, in bits.
fn told(engine: &Engine, later: &Situation, id: ReadingId) -> f64 {
    let Some(at) = later.evidence.iter().position(|of| *of == Evidence::Reading(id)) else { return 0.0 };
    let groups = |evidence| engine.groups.probabilities(&later.belief.weights_after(evidence));
    relative_entropy(&groups(at + 1), &groups(at))
}

/// Returns how much is learnt when probabilities change, in bits: Σ after · log₂(after / before), never below 0 (Kullback
/// and Leibler 1951, from memory).
fn relative_entropy(after: &[f64], before: &[f64]) -> f64 {
    let each = after.iter().zip(before).filter(|(after, _)| **after > 0.0);
    let sum: f64 = each.map(|(after, before)| after * (after / before.max(f64::MIN_POSITIVE)).log2()).sum();
    sum.max(0.0)
}

#[cfg(test)]
mod tests {
    use super::relative_entropy;

    // By hand: 1·log2(1/0.25) = 2; 0.5·log2(0.5/0.25) + 0.5·log2(0.5/0.75) = 0.5 - 0.292481 = 0.207519.
    #[test]
    fn what_is_learnt_is_counted_in_bits() {
        for (after, bits) in [([1.0, 0.0], 2.0), ([0.25, 0.75], 0.0), ([0.5, 0.5], 0.207_519)] {
            let found = relative_entropy(&after, &[0.25, 0.75]);
            assert!((found - bits).abs() < 1e-6, "{after:?}: {found}");
        }
    }
}
