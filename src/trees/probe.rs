//! From a written measuring step to its checked meaning.

use std::collections::BTreeMap;

use super::load::Names;
use super::raw::{RawAsk, RawMode, RawOutcome, RawStand, RawWhen};
use super::tree::{Place, ask_path, outcome_path};
use super::{Outcome, Probe, When, reach};
use crate::readings::Mode;
use crate::source::{Located, Path};
use crate::units::{parse_amps, parse_ohms, parse_volts};

/// Under this a reading counts as zero, in ohms, volts and amperes (common practice, no source).
const NEAR_ZERO: [f64; 3] = [5.0, 0.1, 10e-6];
/// The last number on a knob's dial.
const DIAL_END: i64 = 10;

/// Returns the checked meaning of a measuring step.
pub(super) fn probe(names: &Names<'_>, step: usize, raw: &RawAsk) -> Result<Probe, Located> {
    let RawAsk::Measure { mode, red, black, set, flex, outcomes } = raw else {
        return Err(names.positions.error(&ask_path(step), "a measurement was expected", None));
    };
    let mode = match mode {
        RawMode::Resistance => Mode::Resistance,
        RawMode::Continuity => Mode::Continuity,
        RawMode::Volts => Mode::Volts,
        RawMode::Current => Mode::Current,
    };
    let outcome = |(at, raw)| outcome(names, mode, raw, &outcome_path(step, mode, at));
    let outcomes = outcomes.iter().enumerate().map(outcome);
    Ok(Probe {
        mode,
        red: red.clone(),
        black: black.clone(),
        flex: flex.clone(),
        about: None,
        outcomes: outcomes.collect::<Result<_, _>>()?,
        set: places(names, set, &ask_path(step).then("set"))?,
    })
}

/// Returns where the controls are put.
pub(super) fn places(
    names: &Names<'_>,
    set: &BTreeMap<String, RawStand>,
    path: &Path,
) -> Result<Vec<(String, Place)>, Located> {
    let place = |(name, raw): (&String, &RawStand)| {
        let path = path.then(name.as_str());
        let place = match (raw, name.as_str()) {
            (RawStand::Number(number), _) => Place::Number(dial(names, *number, &path)?),
            (RawStand::Name(found), "knobs" | "volumes" | "tones") => {
                let hint = Some("write a dial number from 0 to 10, without quotes".to_owned());
                let message = format!("{name} cannot be put to \"{found}\"");
                return Err(names.positions.error(&path, message, hint));
            }
            (RawStand::Name(name), _) => Place::Name(name.clone()),
        };
        Ok((name.clone(), place))
    };
    set.iter().map(place).collect()
}

fn dial(names: &Names<'_>, number: i64, path: &Path) -> Result<u8, Located> {
    u8::try_from(number).ok().filter(|_| number <= DIAL_END).ok_or_else(|| {
        let hint = Some(format!("a dial goes from 0 to {DIAL_END}"));
        names.positions.error(path, format!("no control can be put to {number}"), hint)
    })
}

fn outcome(names: &Names<'_>, mode: Mode, raw: &RawOutcome, path: &Path) -> Result<Outcome, Located> {
    let when = when(names, mode, &raw.when, &path.then("when"))?;
    let then = names.then(&raw.then, &path.then("then"))?;
    Ok(Outcome { when, written: format!("{:?}", raw.when), means: raw.means.clone(), then })
}

fn when(names: &Names<'_>, mode: Mode, raw: &RawWhen, path: &Path) -> Result<When, Located> {
    let value = |text: &str, at: usize| value(names, mode, text, &path.then(at));
    let least = reach::least(mode);
    Ok(match raw {
        RawWhen::NearHealthy => When::NearHealthy,
        RawWhen::NearZero => near_zero(mode),
        RawWhen::Half => When::Half,
        RawWhen::VolumePotAlone => When::VolumePotAlone,
        RawWhen::Under(high) => When::Number { low: least, high: Some(value(high, 0)?) },
        RawWhen::Between(low, high) => between(names, (value(low, 0)?, value(high, 1)?), path)?,
        RawWhen::Over(low) => When::Number { low: value(low, 0)?, high: None },
        RawWhen::OverRange => When::OverRange,
        RawWhen::Unstable => When::Unstable,
        RawWhen::Beeps => When::Beeps,
        RawWhen::NoBeep => When::NoBeep,
        RawWhen::AnythingElse => When::AnythingElse,
    })
}

fn near_zero(mode: Mode) -> When {
    let [ohms, volts, amps] = NEAR_ZERO;
    let (low, high) = match mode {
        Mode::Volts => (-volts, volts),
        Mode::Current => (0.0, amps),
        _ => (0.0, ohms),
    };
    When::Number { low, high: Some(high) }
}

/// Reads a value in the unit of a mode.
fn value(names: &Names<'_>, mode: Mode, text: &str, path: &Path) -> Result<f64, Located> {
    let value = match mode {
        Mode::Volts => parse_volts(text).map(|written| written.value.get()),
        Mode::Current => parse_amps(text).map(|written| written.value.get()),
        _ => parse_ohms(text).map(|written| written.value.get()),
    };
    value.map_err(|error| names.positions.error(path, error.to_string(), Some(error.hint())))
}

fn between(names: &Names<'_>, (low, high): (f64, f64), path: &Path) -> Result<When, Located> {
    if low < high {
        return Ok(When::Number { low, high: Some(high) });
    }
    let hint = Some("write the lower value first".to_owned());
    Err(names.positions.error(path, "the first value is not below the second", hint))
}
