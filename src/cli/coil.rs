//! `coil`: a small calculator for the coil that was just measured.

use serde_json::{Value, json};

use super::args::Coil;
use super::failure::Failure;
use super::reply::{Answer, Reply};
use crate::circuit::{PickupType, pickup_types};
use crate::units::{
    Celsius, Metres, Ohms, UnitError, copper_at, copper_at_20, copper_per_metre, gauge_diameter,
    parse_celsius, parse_ohms, show_celsius, show_metres, show_ohms,
};

/// How much thicker or thinner than its gauge coil wire may be drawn: a tenth of a thousandth of an inch (from memory).
const DRAWN_WITHIN: f64 = 2.54e-6;

/// Says what a coil reads at 20 °C, and whatever else was asked.
pub(super) fn tell(coil: &Coil) -> Answer {
    let read = parse_ohms(&coil.ohms).map_err(refused)?.value;
    let at = temperature(coil.at.as_deref())?;
    let at_20 = at.map_or(read, |at| copper_at_20(read, at));
    let expected = temperature(coil.expect.as_deref())?.map(|celsius| (celsius, copper_at(at_20, celsius)));
    let types: Vec<&PickupType> = pickup_types().iter().filter(|kind| kind.admits(at_20)).collect();
    let wire = coil.gauge.map(|gauge| Wire::of(at_20, gauge));
    let lines = [
        Some(first_line(read, at, at_20)),
        expected.map(|(celsius, ohms)| format!("it reads {} at {}", show_ohms(ohms), show_celsius(celsius))),
        Some(usual_for(&types)),
        wire.as_ref().map(Wire::text),
    ];
    let json = json!({
        "ohms_at_20": at_20.get(),
        "expected": expected.map(|(celsius, ohms)| json!({"celsius": celsius.get(), "ohms": ohms.get()})),
        "types": types.iter().map(|kind| type_json(kind)).collect::<Vec<_>>(),
        "wire": wire.as_ref().map(Wire::json),
    });
    Ok(Reply::new(lines.into_iter().flatten().collect::<Vec<_>>().join("\n"), json))
}

fn refused(error: UnitError) -> Failure {
    Failure::new(error.to_string()).with_hint(error.hint())
}

fn temperature(written: Option<&str>) -> Result<Option<Celsius>, Failure> {
    written.map(parse_celsius).transpose().map_err(refused)
}

fn first_line(read: Ohms, at: Option<Celsius>, at_20: Ohms) -> String {
    let then = format!("{} at 20 °C", show_ohms(at_20));
    at.map_or_else(|| then.clone(), |at| format!("{} at {} is {then}", show_ohms(read), show_celsius(at)))
}

fn usual_for(types: &[&PickupType]) -> String {
    let span = |kind: &&PickupType| {
        let (low, high) = (show_ohms(kind.ohms.low), show_ohms(kind.ohms.high));
        format!("\n  {} (type \"{}\"): {low} to {high}", kind.says, kind.name)
    };
    match types {
        [] => "no type of pickup usually reads that".to_owned(),
        types => format!("usual for{}", types.iter().map(span).collect::<String>()),
    }
}

fn type_json(kind: &PickupType) -> Value {
    let (low, high) = (kind.ohms.low.get(), kind.ohms.high.get());
    json!({"name": kind.name, "says": kind.says, "low": low, "high": high})
}

/// The wire that a coil is wound with.
struct Wire {
    gauge: u8,
    diameter: Metres,
    per_metre: Ohms,
    length: Metres,
    low: Metres,
    high: Metres,
}

impl Wire {
    fn of(ohms: Ohms, gauge: u8) -> Self {
        let diameter = gauge_diameter(gauge);
        let length = |diameter: Metres| Metres::new(ohms / copper_per_metre(diameter));
        let (low, high) =
            (length(diameter - Metres::new(DRAWN_WITHIN)), length(diameter + Metres::new(DRAWN_WITHIN)));
        let per_metre = copper_per_metre(diameter);
        Self { gauge, diameter, per_metre, length: length(diameter), low, high }
    }

    fn text(&self) -> String {
        let [length, low, high, thick] = [self.length, self.low, self.high, self.diameter].map(show_metres);
        format!(
            "wire of gauge {}, {thick} thick without its enamel, {} a metre: about {length}, from {low} if it is \
             drawn thin to {high} if thick",
            self.gauge,
            show_ohms(self.per_metre),
        )
    }

    fn json(&self) -> Value {
        json!({
            "gauge": self.gauge,
            "metres": self.length.get(),
            "low": self.low.get(),
            "high": self.high.get(),
            "millimetres": self.diameter.get() * 1e3,
            "ohms_per_metre": self.per_metre.get(),
        })
    }
}
