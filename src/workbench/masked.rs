//! Suspects that the leading one hides: no reading so far can tell whether they are there as well.

use super::MaskedView;
use super::engine::{Engine, EngineError};
use super::situation::Situation;
use crate::faults::FaultId;
use crate::job::Job;

/// How many groups are named.
const NAMED: usize = 4;
/// A group that is likelier is a suspect by itself, and needs no naming here.
const SUSPECTED: f64 = 0.005;

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
    let mut decisions: Vec<usize> = Vec::new();
    for hypothesis in situation.hidden(engine, job)? {
        let decision = engine.groups.decision_of[hypothesis];
        let hidden = decision != situation.leader && probabilities[decision] < SUSPECTED;
        if hidden && !decisions.contains(&decision) {
            decisions.push(decision);
        }
    }
    decisions.truncate(NAMED);
    Ok(decisions.into_iter().filter_map(|decision| view(engine, decision)).collect())
}

/// Returns a group as it is shown: its sentence is that of the fault with the highest prior.
fn view(engine: &Engine, decision: usize) -> Option<MaskedView> {
    let catalogue = &engine.model.catalogue;
    let faults = engine.groups.faults(&engine.model, decision);
    let likelier =
        |a: &&FaultId, b: &&FaultId| catalogue[**a].prior.total_cmp(&catalogue[**b].prior).then(b.cmp(a));
    let first = faults.iter().max_by(likelier)?;
    Some(MaskedView {
        sentence: catalogue[*first].sentence.clone(),
        faults: faults.iter().map(|fault| catalogue[*fault].id.clone()).collect(),
    })
}
