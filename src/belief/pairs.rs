//! Which two faults together may explain what no single one does.

use super::Belief;
use super::piece::{Piece, is_single};
use crate::faults::FaultId;
use crate::prediction::{Model, Row};

/// How many pairs of hypotheses are worth a closer look.
const MOST_PAIRS: usize = 24;

/// Returns the pairs of steady faults that may explain the evidence best, and no more than are worth a closer look.
///
/// A fault that leaves a reading as it is leaves it to the other. Where both change it, the better of the two counts:
/// often one masks the other. `evidence` names the pieces of evidence, each with its row where it was read with a meter.
pub fn likely_pairs(
    model: &Model,
    belief: &Belief,
    evidence: &[(usize, Option<Row>)],
) -> Vec<(FaultId, FaultId)> {
    let pieces: Vec<Piece<'_>> =
        evidence.iter().map(|(index, row)| Piece::new(belief.posterior(), *index, row.as_ref())).collect();
    let single: Vec<usize> = (0..model.hypotheses.list.len()).filter(|&h| is_single(model, h)).collect();
    let affected =
        |&h: &usize| -> Vec<bool> { pieces.iter().map(|piece| piece.changed_by(model, h)).collect() };
    let affects: Vec<Vec<bool>> = single.iter().map(affected).collect();
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

/// Returns the likeliest fault of each of two hypotheses.
fn leading(model: &Model, one: usize, other: usize) -> (FaultId, FaultId) {
    let first = |h: usize| {
        let faults = &model.hypotheses.list[h].faults;
        faults.iter().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0))).map_or(FaultId(0), |(f, _)| *f)
    };
    let (one, other) = (first(one), first(other));
    (one.min(other), one.max(other))
}
