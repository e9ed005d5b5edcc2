//! The bench of checks that take the readings that are asked for.

use lugwise::job::Intake;
use lugwise::readings::{Access, Measurement, Mode, Said, Symptom};
use lugwise::workbench::Engine;

/// The moment of everything that happens.
pub const NOW: &str = "2026-03-02T09:00:00Z";

/// A complaint about a built-in wiring.
pub fn intake(name: &str, text: &str) -> Intake {
    Intake {
        wiring: name.trim_end_matches(".ron").to_owned(),
        wiring_text: text.to_owned(),
        instrument: "an invented one".to_owned(),
        customer: String::new(),
        complaint: String::new(),
        symptoms: vec![Symptom::Weak],
        last_done: String::new(),
        access: Access::MayUnsolder,
        meter: "handheld".to_owned(),
        technician: String::new(),
        priors_text: None,
        trees_text: Vec::new(),
    }
}

/// Returns what is typed when a fault makes the meter show what is foretold; both ends where something is moved.
pub fn typed(engine: &Engine, measurement: &Measurement, fault: &str) -> String {
    let one = one_value(engine, measurement, fault);
    let moved = measurement.flex.is_some() && measurement.mode == Mode::Resistance;
    if moved { format!("{one} - {one}") } else { one }
}

fn one_value(engine: &Engine, measurement: &Measurement, fault: &str) -> String {
    let band = engine.predict(measurement, fault).unwrap();
    let (per_unit, unit) = match measurement.mode {
        Mode::Capacitance => (1e9, "nF"),
        Mode::Volts => (1.0, "V"),
        Mode::Current => (1e6, "uA"),
        _ => (1.0, "ohm"),
    };
    match (band.said, band.ohms) {
        (Some(Said::Yes), _) => "yes".to_owned(),
        (Some(Said::No), _) => "no".to_owned(),
        (Some(Said::CannotTell), _) => "?".to_owned(),
        (None, Some(ohms)) => format!("{:.4} {unit}", per_unit * ohms.get()),
        (None, None) => "ol".to_owned(),
    }
}
