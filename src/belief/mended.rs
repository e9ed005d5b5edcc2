//! What is believed of an instrument in which one fault was mended and that is not cured.

use super::piece::{Piece, changes, is_single};
use super::{Belief, Posterior};
use crate::faults::{FaultId, Kind, SECOND};
use crate::prediction::{Model, Row};

/// How likely a repair was not done right, or not where it was needed (common practice, no source).
const NOT_RIGHT: f64 = 0.05;
/// The least share of a form of the mended fault, so that no form is ruled out for ever.
const LEAST: f64 = 1e-12;

/// What a hypothesis says once a fault was mended.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Role {
    /// Nothing more is wrong.
    Cured,
    /// The mended fault is there still.
    NotRight,
    /// Something else is wrong as well.
    Second,
}

impl Role {
    const ALL: [Self; 3] = [Self::Cured, Self::NotRight, Self::Second];

    fn of(model: &Model, hypothesis: usize, repaired: &[FaultId]) -> Self {
        let faults = &model.hypotheses.list[hypothesis].faults;
        if faults.iter().any(|(fault, _)| model.catalogue[*fault].kind == Kind::NothingWrong) {
            Self::Cured
        } else if faults.iter().any(|(fault, _)| repaired.contains(fault)) {
            Self::NotRight
        } else {
            Self::Second
        }
    }

    const fn chance(self) -> f64 {
        match self {
            Self::Cured => 1.0 - SECOND,
            Self::NotRight => NOT_RIGHT,
            Self::Second => SECOND,
        }
    }
}

impl Belief {
    /// Returns what is believed once some faults were mended and the instrument is not cured.
    ///
    /// Evidence from before the repair belongs to the instrument with the mended fault F in it. The logarithm of the
    /// weight of a remaining hypothesis G is
    ///
    /// ```text
    /// ln P(G) + Σ over the evidence of  L(F)            where F alone changes what is read
    ///                                   L(G)            where G alone does
    ///                                   max(L(F), L(G)) where both do, or none
    /// ```
    ///
    /// with L the logarithm of the likelihood: no published formula, but that by which pairs of faults are found. P gives
    /// 0.9 to nothing more being wrong, 0.1 to all other faults in the proportion of their priors, and 0.05 to F, whose
    /// repair was not done right; it is then brought to a sum of 1. F is the likeliest hypothesis that holds a repaired
    /// fault. What it has learnt of the part values holds under every other, but for the size of its change.
    ///
    /// `evidence` has the row of every piece of evidence so far, where it was read with a meter. All that is taken in
    /// afterwards belongs to the mended instrument.
    pub fn after_repair(&self, model: &Model, evidence: &[Option<Row>], repaired: &[FaultId]) -> Self {
        let count = model.hypotheses.list.len();
        let roles: Vec<Role> = (0..count).map(|h| Role::of(model, h, repaired)).collect();
        let weights = self.weights();
        let heavier = |a: &usize, b: &usize| weights[*a].total_cmp(&weights[*b]).then(b.cmp(a));
        let of_repair = (0..count).filter(|&h| roles[h] == Role::NotRight);
        let Some(mended) = of_repair.max_by(heavier) else { return self.clone() };
        let mut posterior = Posterior::new(priors(model, &roles, &weights));
        for (index, row) in evidence.iter().enumerate() {
            let piece = Piece::new(&self.posterior, index, row.as_ref());
            posterior.update(&beside(model, &piece, &roles, mended));
        }
        let learnt = self.estimate(mended).for_another_change();
        let known = self.known.with(learnt, |h| roles[h] != Role::NotRight);
        let mut expected = self.expected.clone();
        expected.iter_mut().for_each(|foresight| foresight.share(mended));
        Self { posterior, known, expected, start: None }
    }
}

/// Returns the likelihood of a piece of evidence under every hypothesis beside the mended one, the highest being 1.
fn beside(model: &Model, piece: &Piece<'_>, roles: &[Role], mended: usize) -> Vec<f64> {
    let first = (mended, piece.changed_by(model, mended));
    let second = |h: usize| match roles[h] {
        Role::NotRight => first,
        _ => (h, piece.changed_by(model, h)),
    };
    let logs: Vec<f64> = (0..roles.len()).map(|h| piece.of_two(first, second(h))).collect();
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    logs.iter().map(|log| (log - most).exp()).collect()
}

/// Returns the steady faults that a steady one hides: each changes some reading, and every reading that it changes is
/// one that the other changes too, so that none of them tells whether it is there. Highest prior first.
pub fn hidden_by(model: &Model, hiding: usize, rows: &[Row]) -> Vec<usize> {
    if !is_single(model, hiding) {
        return Vec::new();
    }
    let hidden = |h: &usize| {
        let mut touched = rows.iter().filter(|row| changes(model, row, *h)).peekable();
        touched.peek().is_some() && touched.all(|row| changes(model, row, hiding))
    };
    let list = &model.hypotheses.list;
    let others = (0..list.len()).filter(|&h| h != hiding && is_single(model, h));
    let mut found: Vec<usize> = others.filter(hidden).collect();
    found.sort_by(|&a, &b| list[b].prior.total_cmp(&list[a].prior).then(a.cmp(&b)));
    found
}

/// Returns the probability of every hypothesis before any evidence, but not brought to a sum of 1.
fn priors(model: &Model, roles: &[Role], weights: &[f64]) -> Vec<f64> {
    let share = |h: usize| match roles[h] {
        Role::NotRight => weights[h].max(LEAST),
        _ => model.hypotheses.list[h].prior,
    };
    let sum = |role: Role| (0..roles.len()).filter(|&h| roles[h] == role).map(share).sum::<f64>();
    let totals = Role::ALL.map(sum);
    let total = |role: Role| totals[role as usize];
    (0..roles.len()).map(|h| roles[h].chance() * share(h) / total(roles[h])).collect()
}
