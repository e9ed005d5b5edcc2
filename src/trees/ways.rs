//! The ways out of a step by their numbers, where each is written, and where it leads on one guitar.

use super::fit::FittedStep;
use super::tree::{answer_path, outcome_path, step_path};
use super::{Ask, Fitted, Step, Then, Tree, reach};
use crate::readings::{Measurement, Said, Shown};
use crate::source::Path;

/// Where a way comes to on one guitar, past all steps that the guitar has no use for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Landing {
    /// At the step of this index.
    Step(usize),
    /// Out of the steps, by the way of this number out of the step of this index.
    Out {
        /// Index of the step.
        step: usize,
        /// Number of the way, in the order of [`Step::ways`].
        way: usize,
    },
}

impl Tree {
    /// Returns the line and column, both from 1, where a step begins, or where one of its ways says where it leads; the
    /// ways are in the order of [`Step::ways`].
    pub fn position(&self, step: usize, way: Option<usize>) -> (usize, usize) {
        let path = way.map_or_else(|| step_path(step), |way| way_path(step, &self.steps[step], way));
        self.positions.at(&path)
    }
}

impl Step {
    /// Returns where a way leads, in the order of [`Step::ways`].
    pub fn way(&self, way: usize) -> Option<&Then> {
        self.ways().nth(way)
    }

    /// Returns the number of the way that is gone when the step cannot be done: the last.
    pub fn cannot_way(&self) -> usize {
        match &self.ask {
            Ask::Measure(probe) => probe.outcomes.len(),
            Ask::Question { answers, .. } => answers.len(),
        }
    }
}

impl Fitted {
    /// Returns where the tree begins on this guitar.
    pub fn first(&self) -> Landing {
        self.past(Then::Step(self.tree.start), Landing::Step(self.tree.start))
    }

    /// Returns where a way out of a step comes to on this guitar.
    pub fn landing(&self, step: usize, way: usize) -> Landing {
        let then = self.tree.steps[step].way(way).cloned().unwrap_or(Then::Advisor);
        self.past(then, Landing::Out { step, way })
    }

    /// Returns whether this guitar has no use for the step of this index.
    pub fn passes_over(&self, step: usize) -> bool {
        matches!(self.steps[step], FittedStep::PassedOver)
    }

    /// Returns what the step of this index measures; `None` for a question and for a step that is passed over.
    pub fn measured(&self, step: usize) -> Option<&Measurement> {
        match &self.steps[step] {
            FittedStep::Measure { measurement, .. } => Some(measurement),
            _ => None,
        }
    }

    /// Returns the number of the way that a reading takes at the step of this index.
    pub fn taken_by(&self, step: usize, shown: &Shown) -> Option<usize> {
        match &self.steps[step] {
            FittedStep::Measure { .. } if *shown == Shown::Said(Said::CannotTell) => {
                Some(self.tree.steps[step].cannot_way())
            }
            FittedStep::Measure { reaches, .. } => reach::taker(reaches, shown),
            _ => None,
        }
    }

    /// Follows `cannot` past the steps that this guitar has no use for; ends because no tree leads back to a step.
    fn past(&self, then: Then, out: Landing) -> Landing {
        let (mut then, mut out) = (then, out);
        while let Then::Step(step) = then {
            if !self.passes_over(step) {
                return Landing::Step(step);
            }
            let passed = &self.tree.steps[step];
            out = Landing::Out { step, way: passed.cannot_way() };
            then = passed.cannot.clone();
        }
        out
    }
}

/// Returns the path of where a way out of a step leads.
pub(super) fn way_path(index: usize, step: &Step, way: usize) -> Path {
    match &step.ask {
        Ask::Measure(probe) if way < probe.outcomes.len() => {
            outcome_path(index, probe.mode, way).then("then")
        }
        Ask::Question { answers, .. } if way < answers.len() => answer_path(index, way).then("then"),
        _ => step_path(index).then("cannot"),
    }
}
