//! The readings that prove a repair: every position of the switches there are, still and flexed, each against its healthy band.

use super::engine::{Engine, EngineError};
use super::{ProofView, words};
use crate::belief::{Estimate, Expectation};
use crate::job::{Band, Job};
use crate::prediction::unscaled;
use crate::readings::{Level, Measurement, Mode, Shown};
use crate::units::Ohms;

/// A flexed reading is steady when it moves less than this share, or than this many ohms (common practice, no source).
const STEADY_SHARE: f64 = 0.02;
const STEADY_OHMS: f64 = 0.5;

/// Returns what is to be read before a job can be closed as cured.
pub(super) fn wanted(engine: &Engine, job: &Job) -> Vec<Measurement> {
    let harness = engine.harness();
    let reading =
        |red: &str, black: &str, setting: &crate::readings::Setting, flex: Option<&str>| Measurement {
            mode: Mode::Resistance,
            red: red.to_owned(),
            black: black.to_owned(),
            setting: setting.clone(),
            flex: flex.map(ToOwned::to_owned),
        };
    let mut list = Vec::new();
    for setting in engine.model.switch_settings() {
        list.push(reading("plug.tip", "plug.sleeve", &setting, None));
        list.push(reading("plug.tip", "plug.sleeve", &setting, Some("plug")));
    }
    let reference = crate::readings::Setting::reference(harness);
    let surfaces =
        harness.terminals.iter().filter(|t| t.probe && t.grounded_surface && harness[t.place].outside);
    list.extend(surfaces.map(|t| reading("plug.sleeve", &t.name, &reference, None)));
    let odd = job.live_readings().filter(|taken| !within(&taken.reading.shown, &taken.healthy));
    if let Some(telling) = odd.last() {
        list.push(telling.reading.measurement.clone());
    }
    let mut once: Vec<Measurement> = Vec::new();
    list.into_iter().for_each(|m| {
        if !once.contains(&m) {
            once.push(m);
        }
    });
    once
}

/// Returns the span a sound instrument keeps within: three standard deviations, so that a sound one hardly ever fails.
pub(super) fn band(engine: &Engine, measurement: &Measurement) -> Result<Band, EngineError> {
    let row = engine.row(measurement)?;
    let expected = Expectation::new(&row[0], &Estimate::prior(&engine.model.params), engine.meter);
    let Some(middle) = expected.middle else { return Ok(Band { ohms: None, low: None, high: None }) };
    let half = 3.0 * expected.variance.sqrt();
    let ohms = |scaled: f64| Some(Ohms::new(unscaled(scaled)));
    Ok(Band { ohms: ohms(middle), low: ohms(middle - half), high: ohms(middle + half) })
}

/// Returns whether what the meter showed lies in a band; a moving reading must also keep still.
pub(super) fn within(shown: &Shown, band: &Band) -> bool {
    match shown {
        Shown::Steady(level) => level_within(level, band),
        Shown::Range { low, high } => {
            level_within(low, band) && level_within(high, band) && keeps_still(low, high)
        }
        Shown::Beep(beeps) => *beeps == band.ohms.is_some_and(|ohms| ohms.get() < 60.0),
    }
}

fn level_within(level: &Level, band: &Band) -> bool {
    match level {
        Level::OverRange => band.high.is_none(),
        Level::Ohms { value, .. } => {
            let above = band.low.is_some_and(|low| value.get() >= low.get());
            above && band.high.is_none_or(|high| value.get() <= high.get())
        }
    }
}

fn keeps_still(low: &Level, high: &Level) -> bool {
    match (low, high) {
        (Level::OverRange, Level::OverRange) => true,
        (Level::Ohms { value: low, .. }, Level::Ohms { value: high, .. }) => {
            high.get() - low.get() <= (STEADY_SHARE * high.get()).max(STEADY_OHMS)
        }
        _ => false,
    }
}

/// Returns the proof list with what was read.
pub(super) fn views(engine: &Engine, job: &Job) -> Result<Vec<ProofView>, EngineError> {
    wanted(engine, job)
        .into_iter()
        .map(|measurement| {
            let band = band(engine, &measurement)?;
            let taken = job.proofs().iter().find(|proof| proof.reading.measurement == measurement);
            let flex = measurement.flex.as_deref();
            Ok(ProofView {
                flex: flex.map(|flex| words::flexing(engine.harness(), flex)).unwrap_or_default(),
                sentence: measurement.sentence(engine.harness()),
                healthy: words::band(&band),
                band,
                found: taken.map(|proof| words::shown(&proof.reading.shown)).unwrap_or_default(),
                passed: taken.map(|proof| proof.passed),
                measurement,
            })
        })
        .collect()
}
