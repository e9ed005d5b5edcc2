//! What is really wrong with an instrument, and the list of instruments of a trial.

use rand::SeedableRng;
use rand::rngs::StdRng;

use super::case::Kind;
use super::outside::Outsider;
use super::parts::by_weight;
use super::{Setup, TrialError};
use crate::circuit::Change;
use crate::faults::{Fault, FaultId, Kind as FaultKind, NOTHING_WRONG};
use crate::readings::Symptom;
use crate::workbench::Engine;

/// What is really wrong.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Truth {
    /// This, or nothing at all.
    Fault(FaultId),
    /// Both of these.
    Pair(FaultId, FaultId),
    /// Something that the catalogue does not hold.
    Outside(Change),
}

impl Truth {
    /// Returns the faults of the catalogue among it.
    pub fn faults(&self) -> Vec<FaultId> {
        match self {
            Self::Fault(fault) => vec![*fault],
            Self::Pair(one, other) => vec![*one, *other],
            Self::Outside(_) => Vec::new(),
        }
    }
}

/// One instrument to be put on the bench.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Case {
    pub kind: Kind,
    pub truth: Truth,
    pub seed: u64,
}

/// Seeds of one kind of case lie apart from those of the others.
const APART: u64 = 1_000_000;

/// Lists the instruments of a trial.
pub(super) fn cases(engine: &Engine, setup: &Setup) -> Result<Vec<Case>, TrialError> {
    let mut all = singles(engine, setup);
    all.extend(healthy(engine, setup));
    all.extend(drawn(engine, setup));
    all.extend(pairs(engine, setup));
    all.extend(outside(engine, setup)?);
    Ok(all)
}

/// Returns the seeds of so many cases of a kind.
fn seeds(setup: &Setup, kind: u64, count: usize) -> impl Iterator<Item = u64> {
    let first = setup.seed.wrapping_add(kind * APART);
    (0..count as u64).map(move |index| first.wrapping_add(index))
}

fn singles(engine: &Engine, setup: &Setup) -> Vec<Case> {
    let all = real(engine);
    let wanted = setup.singles.unwrap_or(all.len()).min(all.len());
    let taken = (0..wanted).map(|index| all[index * all.len() / wanted]);
    let seed = |fault: FaultId| setup.seed.wrapping_add(fault.0 as u64);
    taken.map(|fault| Case { kind: Kind::Single, truth: Truth::Fault(fault), seed: seed(fault) }).collect()
}

/// Returns every fault that an instrument can have: that the catalogue does not hold it is none.
pub(super) fn real(engine: &Engine) -> Vec<FaultId> {
    let faults = engine.model.catalogue.faults.iter().enumerate();
    faults.filter(|(_, f)| f.kind != FaultKind::NotInCatalogue).map(|(index, _)| FaultId(index)).collect()
}

fn healthy(engine: &Engine, setup: &Setup) -> Vec<Case> {
    let Some(nothing) = engine.model.catalogue.find(NOTHING_WRONG) else { return Vec::new() };
    let case = |seed| Case { kind: Kind::Healthy, truth: Truth::Fault(nothing), seed };
    seeds(setup, 1, setup.healthy).map(case).collect()
}

/// Draws instruments as they come in.
fn drawn(engine: &Engine, setup: &Setup) -> Vec<Case> {
    let (faults, catalogue) = (real(engine), &engine.model.catalogue);
    let behind = setup.complaint.map(|symptom| behind(engine, symptom));
    let weight = |fault: &FaultId| behind.as_ref().map_or(catalogue[*fault].prior, |all| all[fault.0]);
    let weights: Vec<f64> = faults.iter().map(weight).collect();
    let one = |seed| {
        let mut rng = StdRng::seed_from_u64(seed ^ 0x0A5E);
        let fault = faults[by_weight(&mut rng, &weights)?];
        Some(Case { kind: Kind::Drawn, truth: Truth::Fault(fault), seed })
    };
    seeds(setup, 4, setup.drawn).filter_map(one).collect()
}

/// Returns how likely each fault is behind a complaint, times the same factor.
fn behind(engine: &Engine, symptom: Symptom) -> Vec<f64> {
    let mut weights = vec![0.0; engine.model.catalogue.faults.len()];
    for (hypothesis, likely) in engine.model.hypotheses.list.iter().zip(engine.complaint(symptom)) {
        for (fault, share) in &hypothesis.faults {
            weights[fault.0] += hypothesis.prior * share * likely;
        }
    }
    weights
}

fn pairs(engine: &Engine, setup: &Setup) -> Vec<Case> {
    let drawn = seeds(setup, 2, setup.pairs).filter_map(|seed| Some((seed, pair(engine, seed)?)));
    drawn.map(|(seed, truth)| Case { kind: Kind::Pair, truth, seed }).collect()
}

/// Draws two faults by their priors that are not mended by the same work.
pub(super) fn pair(engine: &Engine, seed: u64) -> Option<Truth> {
    let mut rng = StdRng::seed_from_u64(seed ^ 0x9A1B);
    let plain = told_from_healthy(engine);
    let weights = |other: Option<&Fault>| -> Vec<f64> {
        let faults = engine.model.catalogue.faults.iter().enumerate();
        let weight = |(index, fault): (usize, &Fault)| {
            if joins(fault, other) && plain[index] { fault.prior } else { 0.0 }
        };
        faults.map(weight).collect()
    };
    let one = by_weight(&mut rng, &weights(None))?;
    let first = &engine.model.catalogue.faults[one];
    let other = by_weight(&mut rng, &weights(Some(first)))?;
    Some(Truth::Pair(FaultId(one.min(other)), FaultId(one.max(other))))
}

/// Returns whether each fault can be told from a healthy instrument at all.
pub(super) fn told_from_healthy(engine: &Engine) -> Vec<bool> {
    let mut plain = vec![true; engine.model.catalogue.faults.len()];
    let groups = engine.groups.like_healthy.iter().enumerate().filter(|(_, like)| **like);
    for fault in groups.flat_map(|(decision, _)| engine.groups.faults(&engine.model, decision)) {
        plain[fault.0] = false;
    }
    plain
}

/// Returns whether a fault can be one of two: it changes the circuit by more than a source's voltage.
fn joins(fault: &Fault, other: Option<&Fault>) -> bool {
    let still = |change: &Change| matches!(change, Change::Nothing | Change::Drive(..));
    let real = !fault.variants.iter().any(|variant| still(&variant.change));
    real && other.is_none_or(|other| other.repair.key != fault.repair.key)
}

fn outside(engine: &Engine, setup: &Setup) -> Result<Vec<Case>, TrialError> {
    if setup.outside == 0 {
        return Ok(Vec::new());
    }
    let outsider = Outsider::new(engine);
    let case = |seed| {
        let truth = Truth::Outside(outsider.draw(seed)?);
        Ok(Case { kind: Kind::Outside, truth, seed })
    };
    seeds(setup, 3, setup.outside).map(case).collect()
}
