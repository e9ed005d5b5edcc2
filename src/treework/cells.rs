//! What is worked out once for a wiring while a tree is held against it: solutions by setting, healthy readings.

use std::collections::BTreeMap;

use crate::belief::Estimate;
use crate::prediction::{Bench, Row};
use crate::readings::{Measurement, Mode, Setting};
use crate::trees::Expected;
use crate::workbench::{Engine, EngineError};

/// So many settings keep their solution.
const KEPT: usize = 48;

/// The readings of one wiring, each setting solved once.
pub(super) struct Cells<'e> {
    engine: &'e Engine,
    prior: Estimate,
    benches: BTreeMap<Setting, Bench<'e>>,
    volumes: BTreeMap<Setting, Option<f64>>,
    expected: BTreeMap<Measurement, Expected>,
}

impl<'e> Cells<'e> {
    pub fn new(engine: &'e Engine) -> Self {
        Self {
            engine,
            prior: Estimate::prior(&engine.model.params),
            benches: BTreeMap::new(),
            volumes: BTreeMap::new(),
            expected: BTreeMap::new(),
        }
    }

    /// Returns what every state makes a measurement read, flexed or not.
    pub fn row(&mut self, measurement: &Measurement) -> Result<Row, EngineError> {
        match self.engine.model.probes(measurement) {
            Some((red, black)) if plain(measurement) => Ok(self.bench(&measurement.setting)?.row(red, black)),
            _ => self.engine.row(measurement),
        }
    }

    /// Returns what the healthy instrument is expected to read, as a tree is told of it.
    pub fn expected(&mut self, measurement: &Measurement) -> Expected {
        let still = Measurement { flex: None, ..measurement.clone() };
        if let Some(known) = self.expected.get(&still) {
            return *known;
        }
        let (engine, volume) = (self.engine, self.volume_alone(&still.setting));
        let expected = engine.expecting(still.mode, self.healthy(&still).ok(), volume);
        self.expected.insert(still, expected);
        expected
    }

    fn healthy(&mut self, still: &Measurement) -> Result<crate::job::Band, EngineError> {
        let engine = self.engine;
        match engine.model.probes(still) {
            Some((red, black)) if plain(still) => {
                let cell = self.bench(&still.setting)?.cell(0, red, black);
                Ok(engine.band(&cell, &self.prior))
            }
            _ => engine.healthy(still),
        }
    }

    fn volume_alone(&mut self, setting: &Setting) -> Option<f64> {
        if let Some(known) = self.volumes.get(setting) {
            return *known;
        }
        let volume = self.engine.model.volume_alone(setting);
        self.volumes.insert(setting.clone(), volume);
        volume
    }

    fn bench(&mut self, setting: &Setting) -> Result<&Bench<'e>, EngineError> {
        if !self.benches.contains_key(setting) {
            if self.benches.len() >= KEPT {
                self.benches.clear();
            }
            self.benches.insert(setting.clone(), self.engine.model.bench(setting)?);
        }
        Ok(&self.benches[setting])
    }
}

/// Returns whether a measurement is ohms between two probes: a tree lifts nothing.
fn plain(measurement: &Measurement) -> bool {
    matches!(measurement.mode, Mode::Resistance | Mode::Continuity)
}
