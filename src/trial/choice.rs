//! Which measurement comes next: the policies.

use rand::SeedableRng;
use rand::rngs::StdRng;

use super::half_split::half_split;
use super::parts::one_of;
use super::{Policy, Setup};
use crate::advisor::{self, Proposal};
use crate::belief::Belief;
use crate::readings::{Access, Measurement, Shown, Symptom};
use crate::trees::{Fitted, Walk};
use crate::workbench::Engine;

/// What is on the bench, as whoever chooses sees it.
pub(super) struct Table<'b> {
    pub engine: &'b Engine,
    pub access: Access,
    pub belief: &'b Belief,
    pub spent: Vec<&'b Measurement>,
    /// What is worth its time, the program's own choice first.
    pub proposals: &'b [Proposal],
}

impl Table<'_> {
    /// Returns whether a measurement is allowed and was not taken.
    pub fn open(&self, measurement: &Measurement) -> bool {
        advisor::allowed(self.engine.harness(), measurement, self.access)
            && !self.spent.iter().any(|spent| spent.reads_the_same(measurement))
    }

    /// Returns every measurement that is allowed and was not taken.
    fn all_open(&self) -> Vec<&Measurement> {
        let candidates = self.engine.candidates.list.iter().map(|candidate| &candidate.measurement);
        let questions = self.engine.candidates.questions.iter().map(|question| &question.measurement);
        candidates.chain(questions).filter(|measurement| self.open(measurement)).collect()
    }
}

/// Chooses the next measurement.
pub(super) struct Chooser<'e> {
    policy: Policy,
    rng: StdRng,
    tree: Option<(&'e Fitted, Walk)>,
    /// How many measurements a tree asked for.
    pub by_tree: usize,
}

impl<'e> Chooser<'e> {
    pub fn new(engine: &'e Engine, setup: &Setup, complaint: Option<Symptom>, seed: u64) -> Self {
        let wanted = engine.trees.first().filter(|_| setup.policy == Policy::Tree);
        let leads = wanted.filter(|tree| Some(tree.tree().complaint) == complaint);
        let tree = leads.map(|tree| (tree, tree.start()));
        Self { policy: setup.policy, rng: StdRng::seed_from_u64(seed ^ 0xC401CE), tree, by_tree: 0 }
    }

    /// Returns the next measurement; nothing when nothing is worth its time.
    pub fn next(&mut self, table: &Table<'_>) -> Option<Measurement> {
        if let Some(measurement) = self.of_tree(table) {
            self.by_tree += 1;
            return Some(measurement);
        }
        let own = &table.proposals.first()?.measurement;
        match self.policy {
            Policy::Advisor | Policy::Tree => Some(own.clone()),
            Policy::Greedy => greedy(table.proposals),
            Policy::HalfSplit => half_split(table),
            Policy::Random => {
                one_of(&mut self.rng, &table.all_open()).map(|measurement| (*measurement).clone())
            }
        }
    }

    /// Returns what the tree asks for; questions and what is not allowed are passed over.
    fn of_tree(&mut self, table: &Table<'_>) -> Option<Measurement> {
        let (tree, at) = self.tree.as_mut()?;
        while let Walk::Step(step) = at {
            match tree.measurement(step).filter(|measurement| table.open(measurement)) {
                Some(measurement) => return Some(measurement),
                None => *at = tree.after_cannot(step),
            }
        }
        None
    }

    /// Follows the tree to where a reading leads.
    pub fn after(&mut self, measurement: &Measurement, shown: &Shown) {
        let Some((tree, at)) = &mut self.tree else { return };
        if let Walk::Step(step) = at
            && tree.measurement(step).as_ref() == Some(measurement)
        {
            *at = tree.after_reading(step, shown);
        }
    }
}

/// Returns the measurement that tells most for its time.
fn greedy(proposals: &[Proposal]) -> Option<Measurement> {
    let rate = |proposal: &Proposal| proposal.bits / proposal.seconds;
    let best = proposals.iter().rev().max_by(|a, b| rate(a).total_cmp(&rate(b)))?;
    Some(best.measurement.clone())
}
