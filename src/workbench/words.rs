//! Sentences made from measurements, bands and suspects.

use crate::circuit::{Harness, PlaceId};
use crate::job::Band;
use crate::readings::{Level, Measurement, Mode, Shown};
use crate::units::{Ohms, show_ohms};

/// Returns a band in words: `6.05 kΩ (5.60 kΩ to 6.50 kΩ)`.
pub fn band(band: &Band) -> String {
    let end = |ohms: Option<Ohms>| ohms.map_or_else(|| "over range".to_owned(), show_ohms);
    match (band.ohms, band.low, band.high) {
        (None, None, None) => "over range".to_owned(),
        (ohms, low, high) => format!("{} ({} to {})", end(ohms), end(low), end(high)),
    }
}

/// Returns a level in words.
pub fn level(level: &Level) -> String {
    match level {
        Level::Ohms { value, .. } => show_ohms(*value),
        Level::OverRange => "over range".to_owned(),
    }
}

/// Returns what the meter showed, in words.
pub fn shown(shown: &Shown) -> String {
    match shown {
        Shown::Steady(steady) => level(steady),
        Shown::Range { low, high } if low == high => format!("{}, steady", level(low)),
        Shown::Range { low, high } => format!("{} to {}", level(low), level(high)),
        Shown::Beep(true) => "beep".to_owned(),
        Shown::Beep(false) => "no beep".to_owned(),
    }
}

/// Returns what a person calls a terminal.
pub fn terminal(harness: &Harness, name: &str) -> String {
    harness.terminal(name).map_or_else(|| name.to_owned(), |id| harness[id].title.clone())
}

/// Returns one instruction in plain words.
pub fn headline(harness: &Harness, measurement: &Measurement) -> String {
    let (red, black) = (terminal(harness, &measurement.red), terminal(harness, &measurement.black));
    match (measurement.mode, &measurement.flex) {
        (Mode::Continuity, _) => format!("Does it beep between the {red} and the {black}?"),
        (Mode::Resistance, None) => format!("Read the ohms between the {red} and the {black}"),
        (Mode::Resistance, Some(flex)) => {
            format!(
                "{}; read the lowest and the highest ohms between the {red} and the {black}",
                flexing(harness, flex)
            )
        }
    }
}

/// Returns what is flexed, as an instruction.
pub fn flexing(harness: &Harness, flex: &str) -> String {
    if flex == "plug" {
        return "Rock the plug in the jack and bend the cable at the plug".to_owned();
    }
    if let Some(part) = harness.part(flex) {
        return format!("Move the {} from outside, sideways and through its range", harness[part].title);
    }
    if let Some(link) = harness.links.iter().find(|link| link.name == flex) {
        return format!("Bend the {} gently along its length with an insulated stick", link.title);
    }
    format!("Prod the {} with an insulated stick", terminal(harness, flex))
}

/// Returns what the dial is to be set to.
pub fn dial(measurement: &Measurement, range: &str) -> String {
    match (measurement.mode, &measurement.flex) {
        (Mode::Continuity, _) => "continuity (the beeper)".to_owned(),
        (Mode::Resistance, None) => format!("ohms, {range}"),
        (Mode::Resistance, Some(_)) => format!("ohms, {range}, with min/max recording if the meter has it"),
    }
}

/// Returns where a measurement is done.
pub fn places(harness: &Harness, places: &[PlaceId]) -> String {
    if places.is_empty() {
        return "outside, at the plug; nothing is opened".to_owned();
    }
    places.iter().map(|&place| harness[place].name.clone()).collect::<Vec<_>>().join(" and ")
}

/// Returns a share as whole percent, such as `61 %`.
pub fn percent(share: f64) -> String {
    crate::units::show_percent(share)
}
