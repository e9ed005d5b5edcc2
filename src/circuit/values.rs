//! The values of parts: read as people write them, and refused where no such part is made.

use super::mistake::Mistake;
use super::{PartKind, PotRole, Taper};
use crate::units::{self, Farads, Henries, Ohms, Seconds, UnitError, Volts, Written};

/// How unsure the law of a linear track is: the logit of its share at half rotation.
const LINEAR_SPREAD: f64 = 0.1;

/// How unsure the law of an audio track is: parts sold as audio have 10 % to 30 % at half rotation
/// (taper descriptions of the trade). One standard deviation around 15 % is then 10 % to 22 %.
const AUDIO_SPREAD: f64 = 0.45;

/// A quantity's name in messages with the values that real parts have.
struct Band {
    what: &'static str,
    low: f64,
    high: f64,
    allowed: &'static str,
}

const COIL_OHMS: Band =
    Band { what: "the resistance of a coil", low: 100.0, high: 100e3, allowed: "100 Ω and 100 kΩ" };
const COIL_HENRIES: Band =
    Band { what: "the inductance of a coil", low: 1e-3, high: 50.0, allowed: "1 mH and 50 H" };
const COIL_FARADS: Band =
    Band { what: "the capacitance of a coil", low: 1e-12, high: 10e-9, allowed: "1 pF and 10 nF" };
const TRACK: Band = Band { what: "the track of a pot", low: 1e3, high: 10e6, allowed: "1 kΩ and 10 MΩ" };
const RESISTOR: Band = Band { what: "a resistor", low: 1.0, high: 100e6, allowed: "1 Ω and 100 MΩ" };
const CAPACITOR: Band = Band { what: "a capacitor", low: 1e-12, high: 100e-6, allowed: "1 pF and 100 uF" };
const JOINT: Band = Band { what: "the resistance of a joint", low: 0.0, high: 1.0, allowed: "0 Ω and 1 Ω" };
const OPENING: Band =
    Band { what: "the time to open a place", low: 0.0, high: 7200.0, allowed: "0 s and 2 h" };
const VOLTS: Band = Band { what: "a battery", low: 1.0, high: 24.0, allowed: "1 V and 24 V" };
const BATTERY_OHMS: Band =
    Band { what: "the resistance of a battery", low: 0.01, high: 100.0, allowed: "0.01 Ω and 100 Ω" };
const GAIN: Band = Band { what: "the gain of a preamp", low: 0.01, high: 1000.0, allowed: "0.01 and 1000" };
const SHARE: Band = Band { what: "a tolerance", low: 0.0, high: 0.9, allowed: "0% and 90%" };

pub(super) fn coil_ohms(written: &str) -> Result<Ohms, Mistake> {
    within(&COIL_OHMS, written, ohms).map(Ohms::new)
}

pub(super) fn coil_henries(written: &str) -> Result<Henries, Mistake> {
    within(&COIL_HENRIES, written, henries).map(Henries::new)
}

pub(super) fn coil_farads(written: &str) -> Result<Farads, Mistake> {
    within(&COIL_FARADS, written, farads).map(Farads::new)
}

pub(super) fn resistor(written: &str) -> Result<Ohms, Mistake> {
    within(&RESISTOR, written, ohms).map(Ohms::new)
}

pub(super) fn capacitor(written: &str) -> Result<Farads, Mistake> {
    within(&CAPACITOR, written, farads).map(Farads::new)
}

pub(super) fn battery_volts(written: &str) -> Result<Volts, Mistake> {
    within(&VOLTS, written, volts).map(Volts::new)
}

pub(super) fn battery_ohms(written: &str) -> Result<Ohms, Mistake> {
    within(&BATTERY_OHMS, written, ohms).map(Ohms::new)
}

pub(super) fn gain(value: f64) -> Result<f64, Mistake> {
    if (GAIN.low..=GAIN.high).contains(&value) {
        return Ok(value);
    }
    let (what, allowed) = (GAIN.what, GAIN.allowed);
    Err(Mistake::Range { what, written: value.to_string(), allowed, guess: None })
}

pub(super) fn joint(written: &str) -> Result<Ohms, Mistake> {
    within(&JOINT, written, ohms).map(Ohms::new)
}

pub(super) fn opening(written: &str) -> Result<Seconds, Mistake> {
    within(&OPENING, written, seconds).map(Seconds::new)
}

pub(super) fn share(written: &str) -> Result<f64, Mistake> {
    within(&SHARE, written, units::parse_share)
}

/// Reads a track such as `500k audio`: its value and its law.
pub(super) fn track(written: &str) -> Result<(Ohms, Taper), Mistake> {
    let Some((value, word)) = written.trim().rsplit_once(' ') else {
        within(&TRACK, written, ohms)?;
        return Err(Mistake::NoTaper { written: written.to_owned() });
    };
    let value = within(&TRACK, value.trim(), ohms)?;
    Ok((Ohms::new(value), taper(word)?))
}

/// A part's own value, as it was read on the part by itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OwnValue {
    /// Resistance of a coil, a resistor or a whole track.
    Ohms(Ohms),
    /// Capacitance of a capacitor or piezo element.
    Farads(Farads),
}

/// Why a part's own value cannot be taken.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct OwnValueError {
    /// What was found.
    pub message: String,
    /// What is allowed.
    pub hint: String,
}

/// Reads a part's own value within the bounds of a wiring file; `None` for a kind of part that has none.
///
/// # Errors
///
/// Returns [`OwnValueError`] for what is no such value and for one that no such part has.
pub fn own_value(kind: &PartKind, written: &str) -> Option<Result<OwnValue, OwnValueError>> {
    let read = match kind {
        PartKind::Coil { .. } => coil_ohms(written).map(OwnValue::Ohms),
        PartKind::Pot { .. } => within(&TRACK, written, ohms).map(|track| OwnValue::Ohms(Ohms::new(track))),
        PartKind::Resistor { .. } => resistor(written).map(OwnValue::Ohms),
        PartKind::Capacitor { .. } | PartKind::Piezo { .. } => capacitor(written).map(OwnValue::Farads),
        _ => return None,
    };
    Some(read.map_err(|mistake| OwnValueError { message: mistake.to_string(), hint: mistake.hint() }))
}

/// Stands in for the law of a track that could not be read.
pub(super) const NO_TAPER: Taper = Taper { half: 0.5, spread: LINEAR_SPREAD };

fn taper(word: &str) -> Result<Taper, Mistake> {
    match word {
        "linear" => Ok(Taper { half: 0.5, spread: LINEAR_SPREAD }),
        "audio" => Ok(Taper { half: 0.15, spread: AUDIO_SPREAD }),
        "reverse" => Ok(Taper { half: 0.85, spread: AUDIO_SPREAD }),
        "first-half" => Ok(Taper { half: 1.0, spread: 0.0 }),
        "second-half" => Ok(Taper { half: 0.0, spread: 0.0 }),
        other => Err(Mistake::Taper { word: other.to_owned() }),
    }
}

fn ohms(written: &str) -> Result<f64, UnitError> {
    units::parse_ohms(written).map(|found: Written<Ohms>| found.value.get())
}

fn farads(written: &str) -> Result<f64, UnitError> {
    units::parse_farads(written).map(|found: Written<Farads>| found.value.get())
}

fn henries(written: &str) -> Result<f64, UnitError> {
    units::parse_henries(written).map(|found: Written<Henries>| found.value.get())
}

fn volts(written: &str) -> Result<f64, UnitError> {
    units::parse_volts(written).map(|found: Written<Volts>| found.value.get())
}

fn seconds(written: &str) -> Result<f64, UnitError> {
    units::parse_seconds(written).map(|found: Written<Seconds>| found.value.get())
}

fn within(band: &Band, written: &str, parse: fn(&str) -> Result<f64, UnitError>) -> Result<f64, Mistake> {
    let value = parse(written)?;
    if (band.low..=band.high).contains(&value) {
        return Ok(value);
    }
    Err(Mistake::Range {
        what: band.what,
        written: written.to_owned(),
        allowed: band.allowed,
        guess: guess(band, written, parse),
    })
}

/// Returns the value with the multiplier that was probably left out.
fn guess(band: &Band, written: &str, parse: fn(&str) -> Result<f64, UnitError>) -> Option<String> {
    let fits =
        |text: &String| parse(text).is_ok_and(|value| value > 0.0 && (band.low..=band.high).contains(&value));
    let end = written.find(|c: char| !(c.is_ascii_digit() || c == '.'))?;
    ["k", "M", "p", "n"].iter().map(|multiplier| format!("{}{multiplier}", &written[..end])).find(fits)
}

/// Returns what the role word of a file means.
pub(super) fn role(entry: super::file::RoleEntry) -> PotRole {
    match entry {
        super::file::RoleEntry::Volume => PotRole::Volume,
        super::file::RoleEntry::Tone => PotRole::Tone,
        super::file::RoleEntry::Blend => PotRole::Blend,
    }
}
