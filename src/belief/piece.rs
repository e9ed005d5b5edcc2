//! One piece of evidence under every hypothesis, and under two of them at once.

use super::Posterior;
use crate::faults::{FaultId, Kind};
use crate::prediction::{Behaviour, Cell, Model, Row};

/// Readings that are nearer on their scale are one and the same.
const SAME: f64 = 0.02;

/// The logarithm of the likelihood of a piece of evidence, and what every state makes it read where it was read with a
/// meter.
pub(super) struct Piece<'a> {
    likelihoods: Vec<f64>,
    row: Option<&'a Row>,
}

impl<'a> Piece<'a> {
    /// Returns the piece of this index in the history of a belief.
    pub fn new(posterior: &Posterior, index: usize, row: Option<&'a Row>) -> Self {
        Self { likelihoods: posterior.log_likelihoods(index), row }
    }

    /// Returns the logarithm of the likelihood under two hypotheses at once, each with whether it changes the evidence.
    ///
    /// One that leaves it as it is leaves it to the other; where both change it the better counts: often one masks the
    /// other.
    pub fn of_two(&self, (one, by_one): (usize, bool), (other, by_other): (usize, bool)) -> f64 {
        match (by_one, by_other) {
            (true, false) => self.likelihoods[one],
            (false, true) => self.likelihoods[other],
            _ => self.likelihoods[one].max(self.likelihoods[other]),
        }
    }

    /// Returns whether a hypothesis changes what is read; what no meter showed may have been changed by any.
    pub fn changed_by(&self, model: &Model, hypothesis: usize) -> bool {
        self.row.is_none_or(|row| changes(model, row, hypothesis))
    }
}

/// Returns whether a hypothesis changes a reading, by more than a fiftieth of it.
pub fn changes(model: &Model, row: &Row, hypothesis: usize) -> bool {
    differ(&row[0], &row[model.hypotheses.list[hypothesis].state])
}

/// Returns whether a hypothesis is one steady fault of the instrument.
pub(super) fn is_single(model: &Model, index: usize) -> bool {
    let hypothesis = &model.hypotheses.list[index];
    let inside = |&(fault, _): &(FaultId, f64)| {
        !matches!(model.catalogue[fault].kind, Kind::NothingWrong | Kind::NotInCatalogue | Kind::Two)
    };
    hypothesis.behaviour == Behaviour::Steady && hypothesis.faults.iter().all(inside)
}

fn differ(one: &Cell, other: &Cell) -> bool {
    one.reads.is_some() != other.reads.is_some() || (one.scaled() - other.scaled()).abs() > SAME
}
