//! How little what was believed before a reading led one to expect it.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use super::outcomes::{Dealt, OVER, deal, deal_beep, outcomes_of};
use super::{Belief, Seen, steady_variance};
use crate::prediction::{Behaviour, Hypothesis, Model, shows};
use crate::readings::{Dial, Level, Shown};

/// The outcome of a flexed reading that moved.
const MOVED: usize = OVER + 1;
/// A span has moved when it is wider than so many standard deviations of what a sound joint moves.
const WIDE: f64 = 4.5;
/// Hypotheses below this probability are left out.
const NEGLIGIBLE: f64 = 1e-7;

/// Returns the probability of all outcomes that were no likelier than the likeliest of those seen: the prior-predictive
/// p-value of Box 1980 (from memory). `outcomes` need not add up to one.
pub fn p_value(outcomes: &[f64], seen: RangeInclusive<usize>) -> f64 {
    const ROUNDING: f64 = 1e-12;
    let total: f64 = outcomes.iter().sum();
    let likely = outcomes[seen].iter().copied().fold(0.0, f64::max) * (1.0 + ROUNDING);
    let no_likelier: f64 = outcomes.iter().filter(|p| **p <= likely).sum();
    if total > 0.0 { no_likelier / total } else { 1.0 }
}

impl Belief {
    /// Returns the p-value of a value that is about to be taken in, under all that the catalogue holds.
    ///
    /// Slips, and what is not in the catalogue, are left out: they foretell everything, and a little of everything is
    /// more than what makes a reading suspicious.
    pub(super) fn p_value(&self, model: &Model, seen: &Seen<'_>) -> f64 {
        let mut outcomes = vec![0.0; MOVED + 1];
        let mut dealt: BTreeMap<(usize, usize), Dealt> = BTreeMap::new();
        let weights = self.weights();
        for (index, weight) in weights.into_iter().enumerate().filter(|(_, weight)| *weight > NEGLIGIBLE) {
            for (state, share) in seen.shares(model, &model.hypotheses.list[index]) {
                let Some(state) = state else {
                    outcomes[MOVED] += weight * share;
                    continue;
                };
                let known = dealt.entry((self.knowledge(index), seen.row.number(state)));
                known.or_insert_with(|| self.dealt(index, state, seen)).add_to(&mut outcomes, weight * share);
            }
        }
        p_value(&outcomes, seen.outcomes())
    }

    fn dealt(&self, hypothesis: usize, state: usize, seen: &Seen<'_>) -> Dealt {
        let (cell, estimate) = (&seen.row[state], self.estimate(hypothesis));
        match seen.shown {
            Shown::Beep(_) => deal_beep(cell, estimate, seen.meter),
            _ => deal(cell, estimate, seen.meter),
        }
    }
}

impl Seen<'_> {
    /// Returns the states that a hypothesis shows itself in, each with its share; `None` is moving between two.
    fn shares(&self, model: &Model, hypothesis: &Hypothesis) -> Vec<(Option<usize>, f64)> {
        let state = hypothesis.state;
        match &hypothesis.behaviour {
            Behaviour::Anything => Vec::new(),
            Behaviour::Steady => vec![(Some(state), 1.0)],
            behaviour => {
                let showing = shows(&model.harness, behaviour, self.flex);
                let moves = matches!(self.shown, Shown::Range { .. }) && !self.row.same(0, state);
                vec![(Some(0), 1.0 - showing), ((!moves).then_some(state), showing)]
            }
        }
    }

    /// Returns the outcomes that what was shown may stand for.
    fn outcomes(&self) -> RangeInclusive<usize> {
        let dial = self.row.first().map_or(Dial::Ohms, |cell| cell.dial);
        match self.shown {
            Shown::Beep(beeps) => usize::from(*beeps)..=usize::from(*beeps),
            Shown::Steady(level) | Shown::Swept { highest: level, .. } => outcomes_of(dial, level),
            Shown::Range { low, high } if moved(dial, low, high) => MOVED..=MOVED,
            Shown::Range { low, .. } => outcomes_of(dial, low),
            Shown::Said(_) => 0..=MOVED,
        }
    }
}

/// Returns whether a flexed reading moved by more than sound joints do.
fn moved(dial: Dial, low: &Level, high: &Level) -> bool {
    match (low.number(), high.number()) {
        (Some((least, _)), Some((most, _))) => {
            let spread = dial.scale(most) - dial.scale(least);
            spread > WIDE * steady_variance(dial, low).sqrt()
        }
        (least, most) => least.is_some() != most.is_some(),
    }
}
