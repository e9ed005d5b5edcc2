//! `predict` and `netlist`, and how a measurement is put together from arguments.

use serde_json::{Value, json};

use super::args::{Instead, Query};
use super::engine;
use super::failure::Failure;
use super::reply::{Answer, Reply};
use super::wirings;
use crate::circuit::Harness;
use crate::job::Band;
use crate::readings::{Measurement, Meter, Mode, Setting};
use crate::source::nearest;
use crate::units::Ohms;
use crate::workbench::band_in_words;

/// Says what the meter should show.
pub(super) fn predict(query: &Query) -> Answer {
    let wiring = wirings::find(&query.wiring)?;
    let measurement = measurement(&wiring.harness, query)?;
    let band = engine::predict(&wiring.source, &measurement, query.fault.as_deref())?;
    let mut json = band_json(&band);
    let (beep, said) = match query.mode {
        Mode::Continuity => beep(&band),
        _ => (None, ""),
    };
    json["beep"] = json!(beep);
    Ok(Reply::new(format!("{said}{}", band_text(&band)), json))
}

/// Returns whether an ordinary beeper sounds, and how to say it; `None` when it may do either.
fn beep(band: &Band) -> (Option<bool>, &'static str) {
    let (sounds, silent) = Meter::ordinary().beep;
    match (band.low, band.high) {
        (_, Some(high)) if high < sounds => (Some(true), "beep: "),
        (None, _) => (Some(false), "no beep: "),
        (Some(low), _) if low > silent => (Some(false), "no beep: "),
        _ => (None, "beep or no beep, it depends on the meter: "),
    }
}

/// Prints a SPICE deck.
pub(super) fn netlist(query: &Query) -> Answer {
    let wiring = wirings::find(&query.wiring)?;
    let measurement = measurement(&wiring.harness, query)?;
    let deck = engine::netlist(&wiring.source, &measurement, query.fault.as_deref())?;
    Ok(Reply::new(deck.trim_end(), json!({ "deck": deck })))
}

fn measurement(harness: &Harness, query: &Query) -> Result<Measurement, Failure> {
    Ok(Measurement {
        mode: query.mode,
        red: probe(harness, query.mode, query.red.as_deref(), "plug.tip")?,
        black: probe(harness, query.mode, query.black.as_deref(), "plug.sleeve")?,
        setting: moved(harness, Setting::reference(harness), &query.settings)?,
        flex: None,
        about: query.about.as_deref().map(|name| subject(harness, name)).transpose()?,
        lifted: lifted(harness, None, query.lifted.as_deref())?,
    })
}

/// Returns the terminal under a probe: at the plug when not given, none for an observation.
fn probe(harness: &Harness, mode: Mode, given: Option<&str>, usual: &str) -> Result<String, Failure> {
    match (mode, given) {
        (Mode::Observe(_), None) => Ok(String::new()),
        (_, name) => terminal(harness, name.unwrap_or(usual)),
    }
}

/// Returns what was measured, when it is not what was asked for; `asked` is the reading on offer.
pub(super) fn instead(
    harness: &Harness,
    asked: Option<&Measurement>,
    instead: &Instead,
) -> Result<Measurement, Failure> {
    let base = asked.cloned().unwrap_or_else(|| Measurement::at_the_plug(harness));
    let probe = |given: &Option<String>, asked: String| {
        given.as_ref().map_or(Ok(asked), |name| terminal(harness, name))
    };
    Ok(Measurement {
        mode: instead.mode.unwrap_or(base.mode),
        red: probe(&instead.red, base.red)?,
        black: probe(&instead.black, base.black)?,
        setting: moved(harness, base.setting, &instead.settings)?,
        flex: flexed(harness, base.flex, instead.flex.as_deref())?,
        about: match &instead.about {
            Some(name) => Some(subject(harness, name)?),
            None => base.about.filter(|_| instead.mode.is_none()),
        },
        lifted: lifted(harness, base.lifted, instead.lifted.as_deref())?,
    })
}

fn terminal(harness: &Harness, name: &str) -> Result<String, Failure> {
    let all = || harness.terminals.iter().filter(|t| t.probe).map(|t| t.name.as_str());
    if let Some(found) = all().find(|t| t.eq_ignore_ascii_case(name)) {
        return Ok(found.to_owned());
    }
    let failure =
        Failure::new(format!("cannot put a probe on \"{name}\": {} has no such terminal", harness.name));
    Err(match nearest(name, all()) {
        Some(near) => failure.with_hint(format!("did you mean \"{near}\"?")),
        None => failure.with_hint(format!("the terminals are {}", all().collect::<Vec<_>>().join(", "))),
    })
}

/// Returns a setting with controls moved.
pub(super) fn moved(
    harness: &Harness,
    mut setting: Setting,
    moves: &[(String, String)],
) -> Result<Setting, Failure> {
    for (control, value) in moves {
        setting.set(harness, control, value).map_err(|error| Failure::told(&error))?;
    }
    Ok(setting)
}

fn flexed(harness: &Harness, asked: Option<String>, given: Option<&str>) -> Result<Option<String>, Failure> {
    match given {
        None => Ok(asked),
        Some("nothing") => Ok(None),
        Some(name) if flexible(harness).any(|known| known == name) => Ok(Some(name.to_owned())),
        Some(name) => Err(not_flexible(harness, name)),
    }
}

/// Returns the control or pickup that a sweep or an observation is about.
fn subject(harness: &Harness, name: &str) -> Result<String, Failure> {
    let controls = harness.controls.iter().map(|control| control.name.as_str());
    let known: Vec<&str> = controls.chain(harness.parts.iter().map(|part| part.name.as_str())).collect();
    match known.iter().find(|known| known.eq_ignore_ascii_case(name)) {
        Some(known) => Ok((*known).to_owned()),
        None => Err(Failure::new(format!("{} has no control or part \"{name}\"", harness.name))
            .with_hint(crate::source::advice(name, &known, "there are", '"'))),
    }
}

fn lifted(harness: &Harness, asked: Option<String>, given: Option<&str>) -> Result<Option<String>, Failure> {
    let known: Vec<&str> = harness.links.iter().map(|link| link.name.as_str()).collect();
    match given {
        None => Ok(asked),
        Some("nothing") => Ok(None),
        Some(name) if known.contains(&name) => Ok(Some(name.to_owned())),
        Some(name) => Err(Failure::new(format!("cannot lift \"{name}\": {} has no such wire", harness.name))
            .with_hint(crate::source::advice(name, &known, "its wires are", '"'))),
    }
}

/// What can be flexed: the plug, parts, terminals, wires.
fn flexible(harness: &Harness) -> impl Iterator<Item = &str> {
    let parts = harness.parts.iter().map(|part| part.name.as_str());
    let terminals = harness.terminals.iter().map(|terminal| terminal.name.as_str());
    let links = harness.links.iter().map(|link| link.name.as_str());
    std::iter::once("plug").chain(parts).chain(terminals).chain(links)
}

fn not_flexible(harness: &Harness, name: &str) -> Failure {
    let near = nearest(name, flexible(harness));
    let near = near.map_or_else(String::new, |near| format!("did you mean \"{near}\"? "));
    Failure::new(format!("cannot flex \"{name}\": {} has no such part, terminal or wire", harness.name))
        .with_hint(format!("{near}`nothing` stands for a still reading"))
}

fn band_json(band: &Band) -> Value {
    let number = |ohms: Option<Ohms>| ohms.map(Ohms::get);
    json!({
        "ohms": number(band.ohms),
        "low": number(band.low),
        "high": number(band.high),
        "over_range": band.ohms.is_none() && band.said.is_none(),
        "unit": band.dial.unit(),
        "answer": band.said.map(crate::workbench::answer_in_words),
    })
}

fn band_text(band: &Band) -> String {
    band_in_words(band)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn band(ohms: Option<f64>, low: Option<f64>, high: Option<f64>) -> Band {
        let [ohms, low, high] = [ohms, low, high].map(|v| v.map(Ohms::new));
        Band { ohms, low, high, ..Band::default() }
    }

    #[test]
    fn over_range_is_null_and_said() {
        let none = band(None, None, None);
        assert_eq!(
            band_json(&none),
            json!({"ohms": null, "low": null, "high": null, "over_range": true, "unit": "Ω", "answer": null})
        );
        assert_eq!(band_text(&none), "over range");
    }

    #[test]
    fn a_beeper_sounds_at_little_and_is_silent_at_much() {
        assert_eq!(beep(&band(Some(0.4), Some(0.1), Some(1.0))).0, Some(true));
        assert_eq!(beep(&band(Some(60.0), Some(50.0), Some(70.0))).0, None);
        assert_eq!(beep(&band(Some(7e3), Some(6e3), Some(8e3))).0, Some(false));
        assert_eq!(beep(&band(None, None, None)).0, Some(false));
    }

    #[test]
    fn a_band_that_ends_over_range_says_so() {
        let open_ended = band(Some(1e7), Some(8e6), None);
        assert_eq!(
            band_json(&open_ended),
            json!({
                "ohms": 1e7, "low": 8e6, "high": null, "over_range": false, "unit": "Ω", "answer": null
            })
        );
        assert!(band_text(&open_ended).ends_with(" to over range)"), "{}", band_text(&open_ended));
    }
}
