//! Suspects that the leading one hides: no reading so far can tell whether they are there as well.

use super::MaskedView;
use super::engine::{Engine, EngineError};
use super::situation::Situation;
use crate::belief::{Belief, form_of};
use crate::faults::{FaultId, Form};
use crate::job::Job;
use crate::prediction::Model;
use crate::readings::{Measurement, Mode, Reading, Shown};
use crate::solver::SolverError;

/// How many groups are named.
const NAMED: usize = 4;
/// A group that is likelier is a suspect by itself, and needs no naming here.
const SUSPECTED: f64 = 0.005;

/// So many hypotheses, those of the highest priors, are looked at beside the leading one.
const LOOKED_AT: usize = 32;
/// Readings that come so much less often with a second fault beside the leading one rule it out (common practice, no
/// source).
const RULED_OUT: f64 = 0.05;

/// Returns the groups that the leading suspect hides, the highest prior first.
///
/// # Errors
///
/// Returns [`EngineError`] when a reading of the job cannot be predicted.
pub(super) fn views(
    engine: &Engine,
    job: &Job,
    situation: &Situation,
) -> Result<Vec<MaskedView>, EngineError> {
    let probabilities = engine.groups.probabilities(&situation.belief.weights());
    let mut shown: Vec<(usize, usize)> = Vec::new();
    for hypothesis in situation.hidden(engine, job)? {
        let decision = engine.groups.decision_of[hypothesis];
        let hidden = decision != situation.leader && probabilities[decision] < SUSPECTED;
        if hidden && !shown.iter().any(|(known, _)| *known == decision) {
            shown.push((decision, hypothesis));
        }
    }
    shown.truncate(NAMED);
    Ok(shown.into_iter().filter_map(|(decision, hypothesis)| view(engine, decision, hypothesis)).collect())
}

/// Returns the hypotheses that, together with the leading one, let the readings come as they came.
///
/// Each pair is solved as one circuit: a fault that changes a reading much is not hidden by one that changes it a little.
///
/// # Errors
///
/// Returns [`SolverError`] when the equations have no single solution.
pub(super) fn possible(
    engine: &Engine,
    leading: usize,
    hidden: &[usize],
    readings: &[&Reading],
) -> Result<Vec<usize>, SolverError> {
    let pairs = pairs(&engine.model, leading, hidden);
    let forms: Vec<(Form, Form)> = pairs.iter().map(|(pair, _)| *pair).collect();
    let both = engine.model.with_pairs(&forms);
    let mut belief = Belief::prior(&both);
    for reading in readings {
        if let Some(row) = one_value(reading).map(|still| both.row(&still)).transpose()?.flatten() {
            let flex = reading.measurement.flex.as_deref();
            belief.read(&both, engine.meter, flex, &[(reading.shown, row)]);
        }
    }
    let posterior = belief.posterior();
    let fits = |hypothesis: usize| {
        (0..posterior.evidence()).map(|piece| posterior.log_likelihoods(piece)[hypothesis]).sum::<f64>()
    };
    let alone = fits(leading);
    let first = engine.model.catalogue.faults.len();
    let of_pair = |index: usize| {
        let fault = FaultId(first + index);
        both.hypotheses.list.iter().position(|h| h.faults.iter().any(|(held, _)| *held == fault))
    };
    let goes = |index: usize| of_pair(index).is_some_and(|pair| fits(pair) - alone > RULED_OUT.ln());
    let kept: Vec<usize> =
        (0..pairs.len()).filter(|&index| goes(index)).map(|index| pairs[index].1).collect();
    Ok(hidden.iter().copied().filter(|h| kept.contains(h)).collect())
}

/// Returns each hypothesis with the leading one as a pair of faults, every fault once, in the order in which a catalogue
/// has its pairs.
fn pairs(model: &Model, leading: usize, hidden: &[usize]) -> Vec<((Form, Form), usize)> {
    let Some(first) = form_of(model, leading) else { return Vec::new() };
    let both = |&hypothesis: &usize| {
        let other = form_of(model, hypothesis).filter(|other| other.fault != first.fault)?;
        Some(((first.min(other), first.max(other)), hypothesis))
    };
    let mut pairs: Vec<((Form, Form), usize)> = hidden.iter().filter_map(both).take(LOOKED_AT).collect();
    let faults = |pair: &((Form, Form), usize)| (pair.0.0.fault, pair.0.1.fault);
    pairs.sort_by_key(faults);
    pairs.dedup_by_key(|pair| faults(pair));
    pairs
}

/// Returns the measurement, still, whose row foretells a reading of a single value; `None` for anything else.
fn one_value(reading: &Reading) -> Option<Measurement> {
    let single = !matches!(reading.shown, Shown::Swept { .. } | Shown::Said(_));
    let metered = !matches!(reading.measurement.mode, Mode::Observe(_));
    (single && metered).then(|| Measurement { flex: None, ..reading.measurement.clone() })
}

/// Returns a group as it is shown: its sentence is that of the likeliest fault of the hypothesis that is hidden.
fn view(engine: &Engine, decision: usize, hypothesis: usize) -> Option<MaskedView> {
    let catalogue = &engine.model.catalogue;
    let faults = engine.groups.faults(&engine.model, decision);
    let likelier =
        |a: &&FaultId, b: &&FaultId| catalogue[**a].prior.total_cmp(&catalogue[**b].prior).then(b.cmp(a));
    let hidden = engine.model.hypotheses.list[hypothesis].faults.iter().map(|(fault, _)| fault);
    let first = hidden.max_by(likelier)?;
    Some(MaskedView {
        sentence: catalogue[*first].sentence.clone(),
        faults: faults.iter().map(|fault| catalogue[*fault].id.clone()).collect(),
    })
}
