//! Where a job's tree is: its steps followed through what was read, answered and left out.

use super::engine::Engine;
use super::situation::{Gathered, TreeState};
use crate::advisor;
use crate::faults::{FaultId, Kind};
use crate::job::{Event, Job};
use crate::readings::Reading;
use crate::trees::{Answer, Fitted, Then, Walk};

/// Follows the job's tree through its events.
pub(super) fn walk(engine: &Engine, job: &Job, gathered: &mut Gathered<'_>) -> TreeState {
    let symptoms = &job.intake().symptoms;
    let of = |tree: &Fitted| symptoms.iter().position(|&s| s == tree.tree().complaint);
    let chosen = (0..engine.trees.len())
        .filter(|&t| of(&engine.trees[t]).is_some())
        .min_by_key(|&t| of(&engine.trees[t]));
    let Some(index) = chosen else { return TreeState::None };
    let mut path = vec![index];
    let mut at = linked(engine, &mut path, engine.trees[index].start());
    let goes_on = |event: &Event| matches!(event, Event::SearchedOn { .. });
    for record in job.counting().take_while(|record| !goes_on(&record.event)) {
        let index = path.last().copied().unwrap_or(index);
        at = follow(engine, job, &engine.trees[index], at, &record.event, gathered);
        at = linked(engine, &mut path, at);
    }
    let at = settle(engine, job, &mut path, at);
    let index = path.last().copied().unwrap_or(index);
    match at {
        Walk::Step(step) => TreeState::At(index, step),
        Walk::Left { why } => TreeState::Over(index, why),
        Walk::Ended { hint } => TreeState::Over(index, hint),
        Walk::Tree(name) => TreeState::Over(index, format!("the tree \"{name}\" goes on")),
    }
}

/// Follows a link to another tree, whose index is added to the path; a tree that is not for this guitar, or was gone
/// through already, leaves it to the advisor.
fn linked(engine: &Engine, path: &mut Vec<usize>, at: Walk) -> Walk {
    let Walk::Tree(name) = &at else { return at };
    match engine.trees.iter().position(|tree| tree.tree().name == *name) {
        Some(index) if !path.contains(&index) => {
            path.push(index);
            linked(engine, path, engine.trees[index].start())
        }
        Some(_) => Walk::Left { why: format!("the tree \"{name}\" was gone through already") },
        None => Walk::Left { why: format!("the tree \"{name}\" is not for this guitar") },
    }
}

fn follow(
    engine: &Engine,
    job: &Job,
    tree: &Fitted,
    at: Walk,
    event: &Event,
    gathered: &mut Gathered<'_>,
) -> Walk {
    let Walk::Step(step) = &at else { return at };
    match event {
        Event::Read { id, .. } => match job.live_readings().find(|taken| taken.id == *id) {
            Some(taken) => after(tree, step, &taken.reading).unwrap_or(at),
            None => at,
        },
        Event::Skipped { measurement, .. } if tree.measurement(step).as_ref() == Some(measurement) => {
            tree.after_cannot(step)
        }
        Event::Answered { tree: name, step: answered, answer, .. }
            if *name == tree.tree().name && answered == step =>
        {
            let index = tree.answers(step).iter().position(|a| a.answer == *answer);
            if let Some(index) = index {
                gathered.answer(cable_evidence(engine, tree, step, index));
            }
            index.map_or_else(|| tree.after_cannot(step), |index| tree.after_answer(step, index))
        }
        _ => at,
    }
}

/// Returns where a reading leads from a step, also when it passes a question over.
fn after(tree: &Fitted, step: &str, reading: &Reading) -> Option<Walk> {
    let asked = |step: &str| tree.measurement(step).is_some_and(|m| m == reading.measurement);
    if asked(step) {
        return Some(tree.after_reading(step, &reading.shown));
    }
    match tree.after_cannot(step) {
        Walk::Step(next) if tree.measurement(step).is_none() && asked(&next) => {
            Some(tree.after_reading(&next, &reading.shown))
        }
        _ => None,
    }
}

/// Passes over steps that need more access than there is, and those whose reading is already there.
fn settle(engine: &Engine, job: &Job, path: &mut Vec<usize>, mut at: Walk) -> Walk {
    loop {
        at = linked(engine, path, at);
        let (Walk::Step(step), Some(tree)) = (&at, path.last().map(|&index| &engine.trees[index])) else {
            break;
        };
        let Some(measurement) = tree.measurement(step) else { break };
        let known = job.live_readings().find(|taken| taken.reading.measurement == measurement);
        at = match known {
            Some(taken) => tree.after_reading(step, &taken.reading.shown),
            None if !advisor::allowed(engine.harness(), &measurement, job.access()) => {
                tree.after_cannot(step)
            }
            None => break,
        };
    }
    at
}

/// Returns what an answer says of each hypothesis, where the question tells the instrument from what hangs on it.
///
/// Swapping cable and amplifier is trusted nine times out of ten (common practice, no source).
fn cable_evidence(engine: &Engine, tree: &Fitted, step: &str, answer: usize) -> Vec<f64> {
    let answers = tree.answers(step);
    let acquits = |a: &Answer| a.then == Then::NotTheInstrument;
    let (acquitted, tells) = (acquits(&answers[answer]), answers.iter().any(acquits));
    let outside = |&(fault, _): &(FaultId, f64)| engine.model.catalogue[fault].kind == Kind::NothingWrong;
    engine
        .model
        .hypotheses
        .list
        .iter()
        .map(|hypothesis| match (tells, acquitted, hypothesis.faults.iter().any(outside)) {
            (false, ..) => 1.0,
            (true, true, true) | (true, false, false) => 0.9,
            (true, true, false) | (true, false, true) => 0.1,
        })
        .collect()
}
