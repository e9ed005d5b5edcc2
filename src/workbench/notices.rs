//! What must be said beside the step: readings that fit nothing, and that the tree has just ended.

use super::engine::Engine;
use super::situation::{Situation, TreeState};
use super::{Stage, WorkbenchError, stage, words};
use crate::job::{Event, Job, Record, Speaker, Taken};
use crate::prediction::scale;
use crate::readings::{Level, Shown};

/// Returns the notices of a moment.
pub(super) fn notices(
    engine: &Engine,
    job: &Job,
    situation: &Situation,
) -> Result<Vec<String>, WorkbenchError> {
    let surprising = job.live_readings().filter(|taken| situation.surprising.contains(&taken.id));
    let mut notices: Vec<String> = surprising.map(|taken| surprise(engine, taken)).collect();
    if let TreeState::Over(tree, said) = &situation.tree
        && stage(job) == Stage::Finding
        && just_ended(engine, job)?
    {
        let title = &engine.trees[*tree].tree().title;
        notices.push(format!("The tree \"{title}\" has come to its end ({said}); the advisor goes on"));
    }
    Ok(notices)
}

/// Returns whether the tree, which is over now, still led before the last thing that was done.
fn just_ended(engine: &Engine, job: &Job) -> Result<bool, WorkbenchError> {
    let mut records: Vec<Record> = job.counting().cloned().collect();
    while records.pop_if(|last| matches!(last.event, Event::CautionSeen { .. })).is_some() {}
    let last = records.pop().map(|last| last.event);
    // Where the advisor asked, no tree was leading: that saves weighing everything a second time.
    if matches!(last, Some(Event::Read { asked_by: Speaker::Advisor, .. })) {
        return Ok(false);
    }
    if records.is_empty() {
        return Ok(true);
    }
    let before = Situation::believing(engine, &Job::replay(records)?)?;
    Ok(!matches!(before.tree, TreeState::Over(..)))
}

/// Returns what to say of a reading that fits no suspect: a slip of the unit where that would fit, or to take it again.
fn surprise(engine: &Engine, taken: &Taken) -> String {
    let number = taken.id.0;
    let again = format!(
        "Reading {number} ({}) fits no suspect: check the probes, the settings and the unit, and take it again",
        words::shown(&taken.reading.shown)
    );
    let Shown::Steady(Level::Ohms { value, .. }) = taken.reading.shown else { return again };
    let fits = |factor: f64| {
        let ohms = value.get() * factor;
        let row = engine.row(&taken.reading.measurement).unwrap_or_default();
        row.iter().any(|cell| cell.ohms.is_some_and(|o| (scale(Some(o)) - scale(Some(ohms))).abs() < 0.1))
    };
    let unit = [
        (1000.0, "kilohms instead of ohms, or megohms instead of kilohms"),
        (0.001, "a unit a thousand times smaller"),
    ]
    .into_iter()
    .find(|(factor, _)| fits(*factor));
    match unit {
        Some((_, meant)) => {
            format!("{again}. It would fit if the meter meant {meant}")
        }
        _ => again,
    }
}
