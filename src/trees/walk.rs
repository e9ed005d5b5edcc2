//! One step after another, as the readings and answers lead.

use super::fit::FittedStep;
use super::{Answer, Ask, Fitted, Outcome, Step, Then, Tree, reach};
use crate::readings::{Measurement, Said, Shown};

/// Where a tree leads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Walk {
    /// To the step with this name.
    Step(String),
    /// Out of the tree: the advisor goes on.
    Left {
        /// Why the tree was left.
        why: String,
    },
    /// To the start of another tree, by its name.
    Tree(String),
    /// To the end of the tree; the advisor goes on from here too.
    Ended {
        /// What the tree suspects, in a plain sentence.
        hint: String,
    },
}

impl Fitted {
    /// Returns the tree.
    pub fn tree(&self) -> &Tree {
        &self.tree
    }

    /// Returns where the tree begins on this guitar.
    pub fn start(&self) -> Walk {
        self.go(&Then::Step(self.tree.start), "")
    }

    /// Returns the step with this name, unless this guitar passes it over.
    pub fn step(&self, name: &str) -> Option<&Step> {
        self.index(name).map(|index| &self.tree.steps[index])
    }

    /// Returns what the step measures on this guitar; `None` for a question.
    pub fn measurement(&self, step: &str) -> Option<Measurement> {
        match &self.steps[self.index(step)?] {
            FittedStep::Measure { measurement, .. } => Some(measurement.clone()),
            _ => None,
        }
    }

    /// Returns the outcome that takes a reading at a step.
    pub fn outcome(&self, step: &str, shown: &Shown) -> Option<&Outcome> {
        let index = self.index(step)?;
        match (&self.steps[index], &self.tree.steps[index].ask) {
            (FittedStep::Measure { reaches, .. }, Ask::Measure(probe)) => {
                probe.outcomes.get(reach::taker(reaches, shown)?)
            }
            _ => None,
        }
    }

    /// Returns the answers to choose from at a step; none when it measures.
    pub fn answers(&self, step: &str) -> &[Answer] {
        match self.step(step).map(|step| &step.ask) {
            Some(Ask::Question { answers, .. }) => answers,
            _ => &[],
        }
    }

    /// Returns where a reading at a step leads; what was listened for and cannot be told leads where the step does that
    /// cannot be done.
    pub fn after_reading(&self, step: &str, shown: &Shown) -> Walk {
        if *shown == Shown::Said(Said::CannotTell) {
            return self.after_cannot(step);
        }
        let left = || Walk::Left { why: format!("the reading fits no outcome of the step \"{step}\"") };
        self.outcome(step, shown).map_or_else(left, |outcome| self.go(&outcome.then, &outcome.means))
    }

    /// Returns where the answer at this index leads.
    pub fn after_answer(&self, step: &str, answer: usize) -> Walk {
        let left = || Walk::Left { why: format!("the step \"{step}\" has no such answer") };
        let answer = self.answers(step).get(answer);
        answer.map_or_else(left, |answer| self.go(&answer.then, &answer.means))
    }

    /// Returns where a step leads that cannot be done.
    pub fn after_cannot(&self, step: &str) -> Walk {
        let why = format!("the step \"{step}\" cannot be done");
        match self.step(step) {
            Some(found) => self.go(&found.cannot, &why),
            None => Walk::Left { why },
        }
    }

    fn index(&self, name: &str) -> Option<usize> {
        let index = self.tree.steps.iter().position(|step| step.name == name)?;
        (!matches!(self.steps[index], FittedStep::PassedOver)).then_some(index)
    }

    /// Follows `cannot` past the steps this guitar has no use for; ends because no tree leads back to a step.
    fn go(&self, then: &Then, means: &str) -> Walk {
        let mut then = then;
        while let Then::Step(index) = then
            && matches!(self.steps[*index], FittedStep::PassedOver)
        {
            then = &self.tree.steps[*index].cannot;
        }
        match then {
            Then::Step(index) => Walk::Step(self.tree.steps[*index].name.clone()),
            Then::Advisor if means.is_empty() => {
                Walk::Left { why: "the tree has no step for this guitar".to_owned() }
            }
            Then::Advisor => Walk::Left { why: means.to_owned() },
            Then::Suspect(suspicion) => Walk::Ended { hint: suspicion.say.clone() },
            Then::Tree(name) => Walk::Tree(name.clone()),
            Then::NotTheInstrument => Walk::Ended { hint: format!("not the instrument: {means}") },
        }
    }
}
