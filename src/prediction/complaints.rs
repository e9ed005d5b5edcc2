//! What a complaint and an instrument's history say of every hypothesis.

use super::candidates::Question;
use super::model::Model;
use crate::faults::FaultId;
use crate::readings::{Check, History, Mode, Symptom};

/// How rarely and how often a complaint fits whatever the circuit says (common practice, no source).
const SELDOM: f64 = 0.02;
const OFTEN: f64 = 0.9;

/// Returns how likely a complaint is under every hypothesis, from the same chances as the observations; `None` for
/// the complaints that the sound of the whole instrument decides.
pub fn complaint_by_questions(questions: &[Question], symptom: Symptom) -> Option<Vec<f64>> {
    let most = |check: Check, yes: bool| most(questions, check, yes);
    match symptom {
        Symptom::Bright => most(Check::Bright, true),
        Symptom::Thin => most(Check::Thin, true),
        Symptom::VolumeOpen => most(Check::Closes, false),
        Symptom::ToneIdle => most(Check::ToneActs, false),
        Symptom::Crackle => most(Check::Crackles, true),
        Symptom::OnePosition => {
            let (dead, alive) = (most(Check::Sound, false)?, most(Check::Sound, true)?);
            Some(dead.iter().zip(&alive).map(|(dead, alive)| (dead * alive).max(SELDOM)).collect())
        }
        _ => None,
    }
}

/// Returns, for every hypothesis, the highest chance of an answer over all questions of a kind.
fn most(questions: &[Question], check: Check, yes: bool) -> Option<Vec<f64>> {
    let reliability = check.reliability();
    let clear = |chance: f64| {
        let chance = if yes { chance } else { 1.0 - chance };
        ((chance - (1.0 - reliability)) / (2.0 * reliability - 1.0)).clamp(SELDOM, OFTEN)
    };
    let of = questions.iter().filter(|question| question.measurement.mode == Mode::Observe(check));
    of.map(|question| question.chances.iter().map(|&chance| clear(chance)).collect::<Vec<f64>>())
        .reduce(|one, other| one.iter().zip(&other).map(|(a, b)| a.max(*b)).collect())
}

impl Model {
    /// Returns how much likelier a history makes each hypothesis, the likeliest that any history makes one at 1.
    pub fn history_likelihood(&self, history: History) -> Vec<f64> {
        let times = |fault: FaultId| self.priors.times(history, self.catalogue[fault].kind);
        let of = |hypothesis: &super::states::Hypothesis| {
            hypothesis.faults.iter().map(|(fault, share)| share * times(*fault)).sum::<f64>()
        };
        let most = self.priors.most_times();
        self.hypotheses.list.iter().map(|hypothesis| of(hypothesis) / most).collect()
    }
}
