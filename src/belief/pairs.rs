//! Which two faults together may explain what no single one does.

use super::Belief;
use super::piece::{Piece, is_single};
use crate::faults::Form;
use crate::prediction::{Hypothesis, Model, Row};

/// How many pairs of hypotheses are worth a closer look.
const MOST_PAIRS: usize = 16;

/// Returns the pairs of steady faults that may explain the evidence best, and no more than are worth a closer look.
///
/// A fault that leaves a reading as it is leaves it to the other. Where both change it, the better of the two counts:
/// often one masks the other. `evidence` names the pieces of evidence, each with its row where it was read with a meter.
pub fn likely_pairs(model: &Model, belief: &Belief, evidence: &[(usize, Option<Row>)]) -> Vec<(Form, Form)> {
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
    let both = |&(_, one, other): &(f64, usize, usize)| Some((form_of(model, one)?, form_of(model, other)?));
    let mut pairs: Vec<(Form, Form)> = best.iter().filter_map(both).collect();
    pairs.retain(|(one, other)| one.fault != other.fault);
    pairs.sort_unstable();
    pairs.dedup();
    pairs
}

/// Returns the likeliest fault of a hypothesis, in the form that it has there.
pub fn form_of(model: &Model, hypothesis: usize) -> Option<Form> {
    let Hypothesis { faults, state, .. } = &model.hypotheses.list[hypothesis];
    let (fault, _) = faults.iter().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))?;
    let change = &model.hypotheses.states[*state].change;
    let variant = model.catalogue[*fault].variants.iter().position(|variant| variant.change == *change)?;
    Some(Form { fault: *fault, variant })
}
