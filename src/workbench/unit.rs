//! A unit that cannot be meant: what was typed reads nothing that is believed, a thousand times it would.

use serde::Serialize;

use super::engine::EngineError;
use super::{Situation, Stage, Workbench, words};
use crate::job::Band;
use crate::prediction::Behaviour;
use crate::readings::{Dial, EntryError, Level, Measurement, Shown, parse_entry};
use crate::units::{Ohms, show_ohms_to};

/// What less is believed than this share would read is what nobody believes (common practice, no source).
const NOBODY: f64 = 0.01;
/// What at least this share of what is believed would read is what may have been meant.
const SOMEBODY: f64 = 0.05;

/// Which of two units was meant.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct UnitDoubt {
    /// The question, such as `7.6 Ω, or 7.6 kΩ?`, and why it is asked.
    pub question: String,
    /// The two meanings, that which stands in the entry line first.
    pub meanings: [UnitMeaning; 2],
}

/// One of the things that a typed value can mean.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct UnitMeaning {
    /// What a person reads: `7.6 kΩ`.
    pub words: String,
    /// What is to be recorded for it: `7.6k`.
    pub text: String,
}

impl Workbench {
    /// Returns what to ask before a text is recorded for a measurement: a number without a unit, or one that nothing
    /// believed would read while a thousand times it, or a thousandth of it, would fit; `None` when it may be recorded.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when the measurement cannot be predicted.
    pub fn unit_doubt(
        &self,
        measurement: &Measurement,
        text: &str,
    ) -> Result<Option<UnitDoubt>, EngineError> {
        if measurement.mode.dial() != Dial::Ohms {
            return Ok(None);
        }
        match parse_entry(text, measurement.mode, measurement.flex.is_some()) {
            Err(EntryError::OhmOrKilohm { text: number }) if number == text.trim() => Ok(bare(&number)),
            Ok(Shown::Steady(level)) => self.thousandfold(measurement, text, &[level]),
            Ok(Shown::Range { low, high }) if low == high => self.thousandfold(measurement, text, &[low]),
            Ok(Shown::Range { low, high }) => self.thousandfold(measurement, text, &[low, high]),
            _ => Ok(None),
        }
    }

    fn thousandfold(
        &self,
        measurement: &Measurement,
        text: &str,
        levels: &[Level],
    ) -> Result<Option<UnitDoubt>, EngineError> {
        let believed = Believed::new(self, measurement)?;
        let values: Vec<(f64, f64)> = levels.iter().filter_map(Level::number).collect();
        let fits = |factor: f64| believed.share(&values.iter().map(|(v, _)| v * factor).collect::<Vec<_>>());
        if values.is_empty() || fits(1.0) >= NOBODY {
            return Ok(None);
        }
        let factor = [1000.0, 0.001].into_iter().find(|factor| fits(*factor) >= SOMEBODY);
        Ok(factor.map(|factor| doubted(text, levels, factor)))
    }
}

/// Every reading that is believed possible, with how much it is believed.
struct Believed {
    bands: Vec<(f64, Band)>,
    healthy: Band,
}

impl Believed {
    fn new(bench: &Workbench, measurement: &Measurement) -> Result<Self, EngineError> {
        let (engine, Situation { belief, .. }) = (bench.engine(), bench.situation());
        let healthy = engine.healthy(measurement)?;
        // Once it is repaired, only what a healthy instrument reads is to be expected.
        if super::stage(&bench.job) == Stage::Proving {
            return Ok(Self { bands: Vec::new(), healthy });
        }
        let (row, weights) = (engine.row(measurement)?, belief.weights());
        let hypotheses = engine.model.hypotheses.list.iter().enumerate();
        let known = hypotheses.filter(|(_, hypothesis)| hypothesis.behaviour != Behaviour::Anything);
        let band = |(at, state): (usize, usize)| (weights[at], engine.band(&row[state], belief.estimate(at)));
        let bands = known.map(|(at, hypothesis)| band((at, hypothesis.state))).collect();
        Ok(Self { bands, healthy })
    }

    /// Returns how much is believed of what would read one of these values; a healthy instrument counts for enough.
    fn share(&self, values: &[f64]) -> f64 {
        let reads = |band: &Band| values.iter().any(|value| holds(band, *value));
        let all: f64 = self.bands.iter().filter(|(_, band)| reads(band)).map(|(weight, _)| weight).sum();
        if reads(&self.healthy) { all.max(SOMEBODY) } else { all }
    }
}

fn holds(band: &Band, value: f64) -> bool {
    let above = band.low.is_some_and(|low| low.get() <= value);
    above && band.high.is_none_or(|high| value <= high.get())
}

/// Asks which unit a number without one has.
fn bare(number: &str) -> Option<UnitDoubt> {
    let meaning = |unit: &str, typed: &str| UnitMeaning {
        words: format!("{number} {unit}"),
        text: format!("{number}{typed}"),
    };
    let meanings = [meaning("Ω", "r"), meaning("kΩ", "k")];
    let question = format!("{}, or {}? The unit is missing", meanings[0].words, meanings[1].words);
    Some(UnitDoubt { question, meanings })
}

/// Asks whether what was typed is meant, or a thousand times it, or a thousandth of it.
fn doubted(text: &str, levels: &[Level], factor: f64) -> UnitDoubt {
    let typed = joined(levels, 1.0, " to ", show);
    let meant = joined(levels, factor, " to ", show);
    let again = joined(levels, factor, "-", |value, resolution| short(&show(value, resolution)));
    let question =
        format!("{typed}, or {meant}? Nothing that is likely now reads {typed} here, and {meant} would fit");
    let meanings =
        [UnitMeaning { words: typed, text: text.to_owned() }, UnitMeaning { words: meant, text: again }];
    UnitDoubt { question, meanings }
}

fn joined(levels: &[Level], factor: f64, between: &str, told: impl Fn(f64, f64) -> String) -> String {
    let one = |level: &Level| match level.number() {
        Some((value, resolution)) => told(value * factor, resolution * factor),
        None => words::level(level),
    };
    levels.iter().map(one).collect::<Vec<_>>().join(between)
}

fn show(value: f64, resolution: f64) -> String {
    show_ohms_to(Ohms::new(value), Ohms::new(resolution))
}

/// Returns a value as it would be typed.
fn short(shown: &str) -> String {
    shown.replace(" Ω", "r").replace(" kΩ", "k").replace(" MΩ", "M")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Intake;
    use crate::readings::{Access, Meter, Symptom};
    use crate::workbench::Command;

    fn bench() -> Workbench {
        let intake = Intake {
            wiring: "one-pickup".to_owned(),
            wiring_text: include_str!("../../assets/wirings/one-pickup.ron").to_owned(),
            priors_text: None,
            trees_text: Vec::new(),
            instrument: "an invented guitar".to_owned(),
            customer: String::new(),
            complaint: "it hums".to_owned(),
            symptoms: vec![Symptom::Hum],
            last_done: String::new(),
            access: Access::Outside,
            meter: Meter::ordinary().name.to_owned(),
            technician: String::new(),
        };
        let engine = Workbench::engine_for(&intake, &[]).unwrap();
        let first = Workbench::first_record(&engine, intake, "").unwrap();
        Workbench::resume(engine, vec![first]).unwrap()
    }

    fn asked(text: impl Fn(f64) -> String) -> Option<UnitDoubt> {
        let bench = bench();
        let plug = Measurement::at_the_plug(bench.engine().harness());
        let healthy = bench.engine().healthy(&plug).unwrap().ohms.unwrap().get();
        bench.unit_doubt(&plug, &text(healthy)).unwrap()
    }

    // A display that shows 7.6 with a small k in its corner: common practice, no source.
    #[test]
    fn a_thousandth_of_a_healthy_reading_is_asked_about() {
        let doubt = asked(|healthy| format!("{:.2}r", healthy / 1000.0)).expect("a question");
        let meant = &doubt.meanings[1];
        assert!(meant.words.ends_with(" kΩ") && meant.text.ends_with('k'), "{doubt:?}");
        assert!(doubt.question.contains(&meant.words), "{doubt:?}");
        assert_eq!(asked(|_| meant.text.clone()), None, "what was meant is not asked about again");
    }

    #[test]
    fn a_proof_is_asked_about_too() {
        let mut bench = bench();
        let plug = Measurement::at_the_plug(bench.engine().harness());
        let healthy = bench.engine().healthy(&plug).unwrap().ohms.unwrap().get();
        let text = format!("{:.2}r", healthy / 1000.0);
        let faults = bench.view().suspects[0].faults.clone();
        let repair = Command::Repair { what: "resoldered".to_owned(), minutes: 5.0 };
        for command in [Command::Conclude { faults }, repair] {
            let records = bench.decide(&command, "").unwrap();
            bench.absorb(records).unwrap();
        }
        let doubt = bench.unit_doubt(&plug, &text).unwrap().expect("a question");
        assert!(doubt.meanings[1].words.ends_with(" kΩ"), "{doubt:?}");
    }

    #[test]
    fn a_number_without_a_unit_offers_both() {
        let doubt = asked(|_| "7.6".to_owned()).expect("a question");
        assert_eq!(doubt.meanings.map(|meaning| meaning.text), ["7.6r", "7.6k"]);
    }

    #[test]
    fn what_is_no_number_is_not_asked_about() {
        for text in ["OL", "no number", ""] {
            assert_eq!(asked(|_| text.to_owned()), None, "{text}");
        }
    }
}
