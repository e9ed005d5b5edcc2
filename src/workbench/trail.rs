//! Which way a job went through the tree that leads it.

use super::{TreeState, Workbench};
use crate::job::Job;
use crate::readings::{Measurement, Said, Shown};
use crate::trees::{Ask, Fitted, Step, Walk};

/// One step that a job has behind it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trodden {
    /// The step's name.
    pub step: String,
    /// Which of the step's ways was taken: an index into [`Step::ways`].
    pub way: usize,
}

/// The way of a job through its tree.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trail {
    /// The tree's name.
    pub tree: String,
    /// The steps behind it, in order.
    pub behind: Vec<Trodden>,
    /// The step it is at; `None` when the tree was left or has ended.
    pub at: Option<String>,
    /// What that step measures; `None` for a question.
    pub asks: Option<Measurement>,
}

impl Workbench {
    /// Returns which way the job went through the tree that leads it, or led it last; `None` without a tree.
    pub fn trail(&self) -> Option<Trail> {
        let (index, at) = match &self.situation.tree {
            TreeState::None => return None,
            TreeState::At(index, step) => (*index, Some(step.clone())),
            TreeState::Over(index, _) => (*index, None),
        };
        let fitted = self.engine.trees.get(index)?;
        let behind = behind(fitted, &self.job, at.as_deref());
        let asks = at.as_deref().and_then(|step| fitted.measurement(step));
        Some(Trail { tree: fitted.tree().name.clone(), behind, at, asks })
    }
}

fn behind(fitted: &Fitted, job: &Job, at: Option<&str>) -> Vec<Trodden> {
    let mut behind = Vec::new();
    let mut walk = fitted.start();
    while let Walk::Step(step) = walk {
        let taken = if at == Some(step.as_str()) { None } else { taken(fitted, job, &step) };
        let Some((way, next)) = taken else { break };
        behind.push(Trodden { step, way });
        walk = next;
    }
    behind
}

/// Returns which way was taken from a step that is not the present one, and where it led; `None` when the reading fits
/// no outcome.
fn taken(fitted: &Fitted, job: &Job, name: &str) -> Option<(usize, Walk)> {
    let step = fitted.step(name)?;
    let cannot = || (cannot(step), fitted.after_cannot(name));
    match &step.ask {
        Ask::Measure(probe) => {
            let asked = fitted.measurement(name)?;
            let Some(reading) = job.live_readings().find(|t| t.reading.measurement == asked) else {
                return Some(cannot());
            };
            let shown = &reading.reading.shown;
            if *shown == Shown::Said(Said::CannotTell) {
                return Some(cannot());
            }
            let outcome = fitted.outcome(name, shown)?;
            let way = probe.outcomes.iter().position(|known| std::ptr::eq(known, outcome))?;
            Some((way, fitted.after_reading(name, shown)))
        }
        Ask::Question { answers, .. } => {
            let tree = &fitted.tree().name;
            let said = job.answers().iter().rfind(|said| said.tree == *tree && said.step == name);
            let way = said.and_then(|said| answers.iter().position(|known| known.answer == said.answer));
            Some(way.map_or_else(cannot, |way| (way, fitted.after_answer(name, way))))
        }
    }
}

/// Returns the index of the way for a step that cannot be done: the last.
fn cannot(step: &Step) -> usize {
    step.ways().count().saturating_sub(1)
}
