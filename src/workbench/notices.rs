//! What must be said beside the step: that the tree has just ended, that one does not fit.

use super::engine::{Engine, Misfit};
use super::situation::{Situation, TreeState};
use super::{Stage, WorkbenchError, paper, stage};
use crate::job::{Event, Job, Record, Speaker};
use crate::readings::swapped_in;

/// How the notice of a tree of one's own begins that does not fit.
pub const LEFT_OUT: &str = "A tree of your own is left out";

/// Returns the notices of a moment.
pub(super) fn notices(
    engine: &Engine,
    job: &Job,
    situation: &Situation,
) -> Result<Vec<String>, WorkbenchError> {
    let left_out = engine.misfits.iter().filter(|_| job.records().len() == 1);
    let mut notices: Vec<String> = left_out.map(told).collect();
    if let TreeState::Over(tree, said) = &situation.tree
        && stage(job) == Stage::Finding
        && just_ended(engine, job)?
    {
        let title = &engine.trees[*tree].tree().title;
        notices.push(format!("The tree \"{title}\" has come to its end ({said}); the advisor goes on"));
    }
    notices.extend(tried(job));
    notices.extend(paper::notices(job));
    Ok(notices)
}

/// Says of a tree that does not fit where it does not, and how it can say that it is for other guitars.
fn told(misfit: &Misfit) -> String {
    let Misfit { tree, first, more } = misfit;
    let more = match more {
        0 => String::new(),
        1 => "; one thing more does not fit".to_owned(),
        more => format!("; {more} more things do not fit"),
    };
    format!(
        "{LEFT_OUT}: \"{tree}\", line {}, column {}: {}{more}; if it is for other guitars, name them in its `wirings`",
        first.line, first.column, first.message
    )
}

/// Says before the first reading what was taken from the complaint as tried.
fn tried(job: &Job) -> Option<String> {
    let swapped = swapped_in(&job.intake().complaint);
    let fresh =
        stage(job) == Stage::Finding && job.readings().is_empty() && !job.intake().symptoms.is_empty();
    let told = || format!("Taken from the complaint: {} cured nothing; it counts as such", swapped.words());
    (fresh && swapped.any()).then(told)
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
