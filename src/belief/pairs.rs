//! Which two faults together may explain what no single one does.

use super::Belief;
use crate::faults::{FaultId, Kind};
use crate::prediction::{Behaviour, Cell, Model, Row};

/// How many pairs of hypotheses are worth a closer look.
const MOST_PAIRS: usize = 24;
/// Readings that are nearer on their scale are one and the same.
const SAME: f64 = 0.02;

/// One piece of evidence under every hypothesis: the logarithm of its likelihood, and what every state makes it read.
struct Piece<'a> {
    likelihoods: Vec<f64>,
    row: Option<&'a Row>,
}

/// Returns the pairs of steady faults that may explain the evidence best, and no more than are worth a closer look.
///
/// A fault that leaves a reading as it is leaves it to the other. Where both change it, the better of the two counts:
/// often one masks the other. `evidence` names the pieces of evidence, each with its row where it was read with a meter.
pub fn likely_pairs(
    model: &Model,
    belief: &Belief,
    evidence: &[(usize, Option<Row>)],
) -> Vec<(FaultId, FaultId)> {
    let pieces: Vec<Piece<'_>> = evidence
        .iter()
        .map(|(index, row)| Piece {
            likelihoods: belief.posterior().log_likelihoods(*index),
            row: row.as_ref(),
        })
        .collect();
    let single: Vec<usize> = (0..model.hypotheses.list.len()).filter(|&h| is_single(model, h)).collect();
    let affects: Vec<Vec<bool>> = single.iter().map(|&h| affected(model, &pieces, h)).collect();
    let mut best: Vec<(f64, usize, usize)> = Vec::new();
    for (i, &one) in single.iter().enumerate() {
        for (j, &other) in single.iter().enumerate().skip(i + 1) {
            let evidence: f64 = pieces
                .iter()
                .enumerate()
                .map(|(k, piece)| piece.of_two((one, affects[i][k]), (other, affects[j][k])))
                .sum();
            let list = &model.hypotheses.list;
            best.push((list[one].prior.ln() + list[other].prior.ln() + evidence, one, other));
        }
    }
    best.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    best.truncate(MOST_PAIRS);
    let mut pairs: Vec<(FaultId, FaultId)> = best.iter().map(|&(_, a, b)| leading(model, a, b)).collect();
    pairs.retain(|(a, b)| a != b);
    pairs.sort_unstable();
    pairs.dedup();
    pairs
}

impl Piece<'_> {
    fn of_two(&self, (one, by_one): (usize, bool), (other, by_other): (usize, bool)) -> f64 {
        match (by_one, by_other) {
            (true, false) => self.likelihoods[one],
            (false, true) => self.likelihoods[other],
            _ => self.likelihoods[one].max(self.likelihoods[other]),
        }
    }
}

/// Returns whether a hypothesis is one steady fault of the instrument.
fn is_single(model: &Model, index: usize) -> bool {
    let hypothesis = &model.hypotheses.list[index];
    let inside = |&(fault, _): &(FaultId, f64)| {
        !matches!(model.catalogue[fault].kind, Kind::NothingWrong | Kind::NotInCatalogue | Kind::Two)
    };
    hypothesis.behaviour == Behaviour::Steady && hypothesis.faults.iter().all(inside)
}

/// Returns for each piece of evidence whether a hypothesis changes what is read.
fn affected(model: &Model, pieces: &[Piece<'_>], hypothesis: usize) -> Vec<bool> {
    let state = model.hypotheses.list[hypothesis].state;
    let changed = |piece: &Piece<'_>| piece.row.is_none_or(|row| differ(&row[0], &row[state]));
    pieces.iter().map(changed).collect()
}

fn differ(one: &Cell, other: &Cell) -> bool {
    one.reads.is_some() != other.reads.is_some() || (one.scaled() - other.scaled()).abs() > SAME
}

/// Returns the likeliest fault of each of two hypotheses.
fn leading(model: &Model, one: usize, other: usize) -> (FaultId, FaultId) {
    let first = |h: usize| {
        let faults = &model.hypotheses.list[h].faults;
        faults.iter().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0))).map_or(FaultId(0), |(f, _)| *f)
    };
    let (one, other) = (first(one), first(other));
    (one.min(other), one.max(other))
}
