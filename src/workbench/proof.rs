//! The readings that prove a repair: every position of the switches there are, still and flexed, each against its healthy band.

use super::engine::{Engine, EngineError};
use super::{ProofView, battery, words};
use crate::belief::{Estimate, Expectation};
use crate::job::{Band, Job};
use crate::readings::{Level, Measurement, Mode, Said, Shown};
use crate::units::Ohms;

/// A flexed reading is steady when it moves less than this share, or than this many ohms (common practice, no source).
const STEADY_SHARE: f64 = 0.02;
const STEADY_OHMS: f64 = 0.5;

/// Returns what is to be read before a job can be closed as cured.
pub(crate) fn wanted(engine: &Engine, job: &Job) -> Vec<Measurement> {
    let harness = engine.harness();
    let mut list = Vec::new();
    for setting in engine.model.switch_settings() {
        let still = Measurement::ohms("plug.tip", "plug.sleeve", setting);
        list.push(still.clone());
        list.push(Measurement { flex: Some("plug".to_owned()), ..still });
    }
    let reference = crate::readings::Setting::reference(harness);
    let surfaces =
        harness.terminals.iter().filter(|t| t.probe && t.grounded_surface && harness[t.place].outside);
    list.extend(surfaces.map(|t| Measurement::ohms("plug.sleeve", &t.name, reference.clone())));
    let odd = job.live_readings().filter(|taken| !within(&taken.reading.shown, &taken.healthy));
    let repeats = |m: &Measurement| m.lifted.is_none() && !matches!(m.mode, Mode::Observe(_));
    if let Some(telling) = odd.filter(|taken| repeats(&taken.reading.measurement)).last() {
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
pub(crate) fn band(engine: &Engine, measurement: &Measurement) -> Result<Band, EngineError> {
    let row = engine.row(measurement)?;
    let expected = Expectation::new(&row[0], &Estimate::prior(&engine.model.params), engine.meter);
    let Some(middle) = expected.middle else {
        return Ok(Band { ohms: None, low: None, high: None, ..Band::default() });
    };
    let half = 3.0 * expected.variance.sqrt();
    let dial = expected.dial;
    let ohms = |scaled: f64| Some(Ohms::new(dial.unscaled(scaled)));
    Ok(Band { ohms: ohms(middle), low: ohms(middle - half), high: ohms(middle + half), dial, said: None })
}

/// Returns whether what the meter showed lies in a band; a moving reading must also keep still.
pub(crate) fn within(shown: &Shown, band: &Band) -> bool {
    match shown {
        Shown::Steady(level) | Shown::Swept { highest: level, .. } => level_within(level, band),
        Shown::Range { low, high } => {
            level_within(low, band) && level_within(high, band) && keeps_still(low, high)
        }
        Shown::Said(said) => Some(*said) == band.said || *said == Said::CannotTell,
        Shown::Beep(beeps) => *beeps == band.ohms.is_some_and(|ohms| ohms.get() < 60.0),
    }
}

fn level_within(level: &Level, band: &Band) -> bool {
    match level.number() {
        None => band.high.is_none(),
        Some((value, _)) => {
            let above = band.low.is_some_and(|low| value >= low.get());
            above && band.high.is_none_or(|high| value <= high.get())
        }
    }
}

fn keeps_still(low: &Level, high: &Level) -> bool {
    match (low.number(), high.number()) {
        (None, None) => true,
        (Some((low, _)), Some((high, _))) => high - low <= (STEADY_SHARE * high).max(STEADY_OHMS),
        _ => false,
    }
}

/// Returns what to do for a proof reading, in one line: `Read the ohms between …, all knobs at 10`.
fn sentence(engine: &Engine, measurement: &Measurement) -> String {
    let headline = words::headline(engine.harness(), measurement);
    match measurement.setting.sentence(engine.harness()) {
        setting if setting.is_empty() => headline,
        setting => format!("{headline}, {setting}"),
    }
}

/// Returns the proof list with what was read.
pub(super) fn views(engine: &Engine, job: &Job) -> Result<Vec<ProofView>, EngineError> {
    // Where the battery is after the repair nobody knows: the first reading tells it as if it were in.
    let mut before = None;
    wanted(engine, job)
        .into_iter()
        .map(|measurement| {
            let battery =
                battery::stand(engine.harness(), measurement.mode, before.replace(measurement.mode));
            let band = band(engine, &measurement)?;
            let taken = job.proofs().iter().find(|proof| proof.reading.measurement == measurement);
            let flex = measurement.flex.as_deref();
            Ok(ProofView {
                battery,
                flex: flex.map(|flex| words::flexing(engine.harness(), flex)).unwrap_or_default(),
                sentence: sentence(engine, &measurement),
                dial: words::dial(
                    &measurement,
                    &engine.meter.range_for(band.ohms.unwrap_or(engine.meter.ceiling())),
                ),
                red: measurement.touched(engine.harness(), &measurement.red),
                black: measurement.touched(engine.harness(), &measurement.black),
                healthy: words::reads(engine.meter, measurement.mode, &band),
                band,
                found: taken.map(|proof| words::shown(&proof.reading.shown)).unwrap_or_default(),
                passed: taken.map(|proof| proof.passed),
                measurement,
            })
        })
        .collect()
}
