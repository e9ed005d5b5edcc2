//! A simulated instrument for whoever measures it: drawn by its faults' priors, read like any other.

use std::sync::Arc;

use rand::SeedableRng;
use rand::rngs::StdRng;

use super::TrialError;
use super::case::Kind;
use super::instrument::Instrument;
use super::parts::by_weight;
use super::truth::{Case, Truth, pair, real, told_from_healthy};
use crate::faults::FaultId;
use crate::readings::{Measurement, Shown, Symptom};
use crate::workbench::Engine;

/// What is wrong with an instrument, and where the chance in it comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Drawn {
    /// The fault.
    pub fault: FaultId,
    /// A second one.
    pub other: Option<FaultId>,
    /// The seed of part values, sizes and readings.
    pub seed: u64,
}

impl Drawn {
    /// Draws one of the faults that fit, each as often as its prior says; `None` when none fits.
    pub fn one(engine: &Engine, seed: u64, fits: &dyn Fn(FaultId) -> bool) -> Option<Self> {
        let catalogue = &engine.model.catalogue;
        let faults: Vec<FaultId> = real(engine).into_iter().filter(|id| fits(*id)).collect();
        let weights: Vec<f64> = faults.iter().map(|id| catalogue[*id].prior).collect();
        let mut rng = StdRng::seed_from_u64(seed ^ 0x0A5E);
        let fault = *faults.get(by_weight(&mut rng, &weights)?)?;
        Some(Self { fault, other: None, seed })
    }

    /// Draws two faults that are not mended by the same work; `None` when there are none.
    pub fn two(engine: &Engine, seed: u64) -> Option<Self> {
        match pair(engine, seed)? {
            Truth::Pair(fault, other) => Some(Self { fault, other: Some(other), seed }),
            _ => None,
        }
    }

    /// Returns the faults of a wiring that can be told from a healthy instrument at all.
    pub fn told(engine: &Engine) -> Vec<FaultId> {
        let told = told_from_healthy(engine);
        real(engine).into_iter().filter(|id| told[id.0]).collect()
    }

    /// Returns it as a case of a trial.
    pub(super) fn case(&self) -> Case {
        let (kind, truth) = match self.other {
            Some(other) => (Kind::Pair, Truth::Pair(self.fault, other)),
            None => (Kind::Drawn, Truth::Fault(self.fault)),
        };
        Case { kind, truth, seed: self.seed }
    }
}

/// A simulated instrument on somebody's bench.
pub struct Specimen {
    instrument: Instrument,
}

impl Specimen {
    /// Builds the instrument; the same draw gives the same one.
    ///
    /// # Errors
    ///
    /// Returns [`TrialError`] when its circuit has no single solution.
    pub fn new(engine: &Arc<Engine>, drawn: &Drawn) -> Result<Self, TrialError> {
        Ok(Self { instrument: Instrument::new(engine, &drawn.case())? })
    }

    /// Returns its faults, each with the hypothesis of the engine that it is.
    pub fn faults(&self) -> Vec<(FaultId, usize)> {
        self.instrument.listed()
    }

    /// Returns what the customer would most likely say, if anything.
    pub fn complaint(&self) -> Option<Symptom> {
        self.instrument.complaint()
    }

    /// Takes a measurement as a meter shows it in the end, or answers a question.
    ///
    /// # Errors
    ///
    /// Returns [`TrialError`] when it cannot be worked out.
    pub fn read(&mut self, measurement: &Measurement) -> Result<Shown, TrialError> {
        self.instrument.read(measurement)
    }

    /// Returns what lies between the probes, before any meter: while nothing shows that comes and goes, and while that
    /// shows which is drawn for this reading. In the unit of the dial; `None` where there is no path.
    ///
    /// # Errors
    ///
    /// Returns [`TrialError`] when it cannot be worked out.
    pub fn between(&mut self, measurement: &Measurement) -> Result<[Option<f64>; 2], TrialError> {
        self.instrument.between(measurement)
    }
}
