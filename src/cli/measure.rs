//! `predict` and `netlist`, and how a measurement is put together from arguments.

use serde_json::{Value, json};

use super::args::{Instead, Query};
use super::engine;
use super::failure::Failure;
use super::reply::{Answer, Reply};
use super::wirings;
use crate::circuit::{Harness, Terminal};
use crate::job::Band;
use crate::readings::{Measurement, Meter, Mode, Setting};
use crate::source::{advice, nearest};
use crate::units::Ohms;
use crate::workbench::band_in_words;

/// Says what the meter should show.
pub(super) fn predict(query: &Query) -> Answer {
    let wiring = wirings::find(&query.wiring)?;
    let measurement = measurement(&wiring.harness, query)?;
    let told = engine::predict(&wiring.source, &measurement, query.fault.as_deref())?;
    let mut json = band_json(&told.band);
    let meter = Meter::ordinary();
    let (beep, said) = match query.mode {
        Mode::Continuity => (told.band.beeps(meter), format!("{}: ", told.band.beep_in_words(meter))),
        _ => (None, String::new()),
    };
    json["beep"] = json!(beep);
    json["from"] = json!(told.ends.map(|[from, _]| span_json(&from)));
    json["to"] = json!(told.ends.map(|[_, to]| span_json(&to)));
    Ok(Reply::new(format!("{said}{}{}", band_text(&told.band), ends_text(told.ends)), json))
}

/// Says what a swept knob reads at its ends.
fn ends_text(ends: Option<[Band; 2]>) -> String {
    let says = |[from, to]: [Band; 2]| format!("\nat 0: {}\nat 10: {}", band_text(&from), band_text(&to));
    ends.map(says).unwrap_or_default()
}

/// Prints a SPICE deck.
pub(super) fn netlist(query: &Query) -> Answer {
    let wiring = wirings::find(&query.wiring)?;
    let measurement = measurement(&wiring.harness, query)?;
    let deck = engine::netlist(&wiring.source, &measurement, query.fault.as_deref())?;
    Ok(Reply::new(deck.trim_end(), json!({ "deck": deck })))
}

fn measurement(harness: &Harness, query: &Query) -> Result<Measurement, Failure> {
    let measurement = Measurement {
        setting: moved(harness, Setting::reference(harness), &query.settings)?,
        about: query.about.as_deref().map(|name| subject(harness, name)),
        lifted: lifted(None, query.lifted.as_deref()),
        mode: query.mode,
        ..Measurement::at_the_plug(harness)
    };
    probed(harness, measurement, query.red.as_deref(), query.black.as_deref())
}

/// Returns a measurement with the probes that were given; an observation has none by itself.
fn probed(
    harness: &Harness,
    mut measurement: Measurement,
    red: Option<&str>,
    black: Option<&str>,
) -> Result<Measurement, Failure> {
    if matches!(measurement.mode, Mode::Observe(_)) {
        (measurement.red, measurement.black) = (String::new(), String::new());
    }
    let lifted = measurement.lifted.as_deref();
    let under = |given: Option<&str>| given.map(|name| terminal(harness, name, lifted)).transpose();
    let (red, black) = (under(red)?, under(black)?);
    measurement.red = red.unwrap_or(measurement.red);
    measurement.black = black.unwrap_or(measurement.black);
    Ok(measurement)
}

/// Returns what was measured, when it is not what was asked for; `asked` is the reading on offer.
///
/// A reading with its own mode, probes or subject is still, and nothing is lifted for it, unless that is said too.
pub(super) fn instead(
    harness: &Harness,
    asked: Option<&Measurement>,
    instead: &Instead,
) -> Result<Measurement, Failure> {
    let base = taken_over(harness, asked, instead);
    let measurement = Measurement {
        mode: instead.mode.unwrap_or(base.mode),
        setting: moved(harness, base.setting, &instead.settings)?,
        flex: flexed(harness, base.flex, instead.flex.as_deref())?,
        about: instead.about.as_deref().map(|name| subject(harness, name)).or(base.about),
        lifted: lifted(base.lifted, instead.lifted.as_deref()),
        ..base
    };
    probed(harness, measurement, instead.red.as_deref(), instead.black.as_deref())
}

/// Returns what a reading takes over from the one on offer.
fn taken_over(harness: &Harness, asked: Option<&Measurement>, instead: &Instead) -> Measurement {
    let plain = Measurement::at_the_plug(harness);
    let asked = asked.unwrap_or(&plain).clone();
    let probes = instead.red.is_some() || instead.black.is_some();
    if !probes && instead.mode.is_none() && instead.about.is_none() {
        return asked;
    }
    let own = Measurement { flex: None, about: None, lifted: None, ..asked };
    match own.mode {
        // What has no probes leaves none to a reading that has.
        Mode::Observe(_) if probes || instead.mode.is_some() => Measurement { setting: own.setting, ..plain },
        _ => own,
    }
}

/// Returns the terminal of this name, whatever its case, when a probe reaches it: those inside a part only while a
/// conductor that ends at the part is lifted.
fn terminal(harness: &Harness, name: &str, lifted: Option<&str>) -> Result<String, Failure> {
    let link = lifted.and_then(|name| harness.lifted(name)).map(|lifted| &harness[lifted.link]);
    let ends = link.map(|link| [link.from, link.to].map(|end| harness[end.terminal].part));
    let reached = |t: &&Terminal| t.probe || ends.is_some_and(|ends| ends.contains(&t.part));
    let all: Vec<&str> = harness.terminals.iter().filter(reached).map(|t| t.name.as_str()).collect();
    if let Some(found) = all.iter().find(|known| known.eq_ignore_ascii_case(name)) {
        return Ok((*found).to_owned());
    }
    let failure = |why: &str| Failure::new(format!("cannot put a probe on \"{name}\": {why}"));
    Err(match harness.terminal(name) {
        Some(_) => failure("no probe reaches it")
            .with_hint("with --lifted and the wire that ends there, the free end of the wire stands for it"),
        None => failure(&format!("{} has no such terminal", harness.name)).with_hint(advice(
            name,
            &all,
            "the terminals are",
            '"',
        )),
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

/// Returns the control or part that is meant, whatever its case; whether it makes sense the measurement's check tells.
fn subject(harness: &Harness, name: &str) -> String {
    let controls = harness.controls.iter().map(|control| control.name.as_str());
    let mut known = controls.chain(harness.parts.iter().map(|part| part.name.as_str()));
    known.find(|known| known.eq_ignore_ascii_case(name)).unwrap_or(name).to_owned()
}

fn lifted(asked: Option<String>, given: Option<&str>) -> Option<String> {
    match given {
        None => asked,
        Some("nothing") => None,
        Some(name) => Some(name.to_owned()),
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
    let mut json = span_json(band);
    json["unit"] = json!(band.said.is_none().then(|| band.dial.unit()));
    json["answer"] = json!(band.said.map(crate::workbench::answer_in_words));
    json
}

fn span_json(band: &Band) -> Value {
    let number = |ohms: Option<Ohms>| ohms.map(Ohms::get);
    json!({
        "ohms": number(band.ohms),
        "low": number(band.low),
        "high": number(band.high),
        "over_range": band.ohms.is_none() && band.said.is_none(),
    })
}

fn band_text(band: &Band) -> String {
    band_in_words(band)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{Link, PartKind};

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

    // Whatever the program asks of a coil by itself can be asked of it from the shell.
    #[test]
    fn both_ends_of_a_coil_take_a_probe_while_its_lead_is_lifted() {
        let mut inside = 0;
        for harness in wirings::built_in().unwrap().into_iter().map(|wiring| wiring.harness) {
            for part in harness.parts.iter().filter(|part| matches!(part.kind, PartKind::Coil { .. })) {
                let [hot, cold] = [0, 1].map(|end| part.terminals[end]);
                let ends = |link: &&Link| [link.from.terminal, link.to.terminal].contains(&hot);
                let lead = harness.links.iter().find(ends).unwrap().name.as_str();
                for end in [hot, cold].map(|end| &harness[end]) {
                    assert_eq!(terminal(&harness, &end.name, Some(lead)), Ok(end.name.clone()));
                    assert_eq!(terminal(&harness, &end.name, None).is_ok(), end.probe, "{}", end.name);
                    inside += usize::from(!end.probe);
                }
            }
        }
        assert!(inside > 0, "every end of every coil takes a probe");
    }

    #[test]
    fn a_beeper_sounds_at_little_and_is_silent_at_much() {
        let beeps = |band: Band| band.beeps(Meter::ordinary());
        assert_eq!(beeps(band(Some(0.4), Some(0.1), Some(1.0))), Some(true));
        assert_eq!(beeps(band(Some(60.0), Some(50.0), Some(70.0))), None);
        assert_eq!(beeps(band(Some(7e3), Some(6e3), Some(8e3))), Some(false));
        assert_eq!(beeps(band(None, None, None)), Some(false));
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
