//! A simulated instrument's whole visit, as a technician's job file holds it: readings, repair, proof, closing.

use std::sync::Arc;

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use super::instrument::Instrument;
use super::run::each;
use super::{Drawn, TrialError};
use crate::job::{Intake, Outcome, Record};
use crate::readings::{Ends, Level, Measurement, Said, Shown, Symptom};
use crate::units::show_ohms_to;
use crate::workbench::{Ask, Command, Engine, Stage, StepView, Workbench, WorkbenchError};

/// It is given up after so many turns.
const MOST: usize = 200;
/// So many repairs are made before it is given up.
const ROUNDS: usize = 3;
/// So many steps are skipped for want of time, and so many instruments are collected before the proof (both invented).
const SKIPPED: f64 = 0.03;
const COLLECTED: f64 = 0.04;
/// In so many visits a fault is named as soon as it is likelier than not, too early (invented).
const HASTY: f64 = 0.06;
const LIKELY: f64 = 0.5;

/// Plays a whole visit for each seed: an instrument with one fault that can be told is drawn by its prior, and the
/// program is followed until the job is closed. The events come without moments, since no clock is read here; `intake`
/// tells what the customer says only where the instrument tells nothing. A wiring without such faults gives no visit.
///
/// # Errors
///
/// Returns [`TrialError`] when an instrument has no single solution or the program refuses what it asked for.
pub fn visits(
    engine: &Arc<Engine>,
    intake: &Intake,
    seeds: &[u64],
    threads: usize,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Result<Vec<Vec<Record>>, TrialError> {
    let told = Drawn::told(engine);
    let drawn = |seed: &u64| Drawn::one(engine, *seed, &|fault| told.contains(&fault));
    let drawn: Vec<Drawn> = seeds.iter().filter_map(drawn).collect();
    each(threads, drawn.len(), &|index| visit(engine, intake, &drawn[index]), progress)
}

fn visit(engine: &Arc<Engine>, intake: &Intake, drawn: &Drawn) -> Result<Vec<Record>, TrialError> {
    let instrument = Instrument::new(engine, &drawn.case())?;
    let intake = complaining(intake, instrument.complaint());
    let first = Workbench::first_record(engine, intake, "")?;
    let bench = Workbench::resume(Arc::clone(engine), vec![first])?;
    let mut rng = StdRng::seed_from_u64(drawn.seed ^ 0x0B0E);
    let hasty = rng.random_bool(HASTY);
    let mut technician = Technician { bench, instrument, rng, hasty };
    technician.work()?;
    Ok(technician.bench.job().records().to_vec())
}

fn complaining(intake: &Intake, symptom: Option<Symptom>) -> Intake {
    let Some(symptom) = symptom else { return intake.clone() };
    Intake { complaint: symptom.name().to_owned(), symptoms: vec![symptom], ..intake.clone() }
}

/// One who does what the program asks for.
struct Technician {
    bench: Workbench,
    instrument: Instrument,
    rng: StdRng,
    /// Whether the next fault is named too early.
    hasty: bool,
}

impl Technician {
    fn work(&mut self) -> Result<(), TrialError> {
        for _ in 0..MOST {
            self.read_cautions()?;
            match self.bench.view().stage {
                Stage::Finding => self.look()?,
                Stage::Repairing => self.mend()?,
                Stage::Proving => self.prove()?,
                Stage::Closed => return Ok(()),
            }
        }
        self.give_up("it took too long")
    }

    fn carry_out(&mut self, command: &Command) -> Result<(), TrialError> {
        let records = self.bench.decide(command, "")?;
        Ok(self.bench.absorb(records)?)
    }

    fn read_cautions(&mut self) -> Result<(), TrialError> {
        let mut records = Vec::new();
        for caution in &self.bench.view().cautions {
            records.extend(self.bench.decide(&Command::SeeCaution { key: caution.key.clone() }, "")?);
        }
        if records.is_empty() { Ok(()) } else { Ok(self.bench.absorb(records)?) }
    }

    fn give_up(&mut self, reason: &str) -> Result<(), TrialError> {
        self.carry_out(&Command::Close(Outcome::Unproven { reason: reason.to_owned() }))
    }

    /// Takes the reading that is asked for, or names the fault.
    fn look(&mut self) -> Result<(), TrialError> {
        let view = self.bench.view();
        if let Some(verdict) = &view.verdict {
            let faults = verdict.faults.clone();
            return self.carry_out(&Command::Conclude { faults });
        }
        let likely = view.suspects.first().filter(|one| self.hasty && one.probability > LIKELY);
        if let Some(faults) = likely.map(|one| one.faults.clone()).filter(|faults| !faults.is_empty()) {
            self.hasty = false;
            return self.carry_out(&Command::Conclude { faults });
        }
        let Some(StepView { ask: Ask::Measure(measurement), .. }) = &view.step else {
            return self.give_up("nothing is left to measure");
        };
        let measurement = measurement.clone();
        if self.rng.random_bool(SKIPPED) {
            return self.carry_out(&Command::Skip { reason: "no time for it".to_owned() });
        }
        let shown = self.instrument.read(&measurement)?;
        let command = Command::Record { text: typed(&shown), measurement: None };
        match self.bench.decide(&command, "") {
            Ok(records) => Ok(self.bench.absorb(records)?),
            Err(WorkbenchError::Entry(_)) => {
                self.carry_out(&Command::Skip { reason: "the display would not settle".to_owned() })
            }
            Err(why) => Err(why.into()),
        }
    }

    fn mend(&mut self) -> Result<(), TrialError> {
        let Some(named) = self.bench.job().concluded() else { return Ok(()) };
        let (faults, minutes) = (named.faults.clone(), named.minutes);
        let nothing = named.repair.trim().is_empty();
        let what = if nothing { "looked it over".to_owned() } else { named.repair.clone() };
        self.instrument.mend(&faults)?;
        self.carry_out(&Command::Repair { what, minutes })
    }

    /// Takes the proof readings, and closes the job or searches on.
    fn prove(&mut self) -> Result<(), TrialError> {
        if self.rng.random_bool(COLLECTED) {
            return self.give_up("collected before the proof");
        }
        self.take_proofs(false)?;
        self.take_proofs(true)?;
        let proof = &self.bench.view().proof;
        if proof.iter().all(|one| one.passed == Some(true)) {
            return self.carry_out(&Command::Close(Outcome::Cured));
        }
        let failed = proof.iter().any(|one| one.passed == Some(false));
        let symptoms: Vec<Symptom> = self.instrument.complaint().into_iter().collect();
        let tried = self.bench.job().rounds().len() + 1;
        if tried >= ROUNDS || symptoms.is_empty() && !failed {
            return self.give_up("the proof readings do not all pass");
        }
        self.carry_out(&Command::SearchOn { remains: String::new(), symptoms })
    }

    /// Takes the proof readings at which something is moved, or the others; what cannot be typed is left out.
    fn take_proofs(&mut self, moved: bool) -> Result<(), TrialError> {
        let asked: Vec<(usize, Measurement)> = self
            .bench
            .view()
            .proof
            .iter()
            .enumerate()
            .filter(|(_, one)| one.measurement.flex.is_some() == moved)
            .map(|(index, one)| (index, one.measurement.clone()))
            .collect();
        let mut records = Vec::new();
        for (index, measurement) in asked {
            let text = typed(&self.instrument.read(&measurement)?);
            match self.bench.decide(&Command::Prove { index: Some(index), text }, "") {
                Ok(taken) => records.extend(taken),
                Err(WorkbenchError::Entry(_)) => {}
                Err(why) => return Err(why.into()),
            }
        }
        Ok(self.bench.absorb(records)?)
    }
}

/// Returns what a technician types for what the meter shows.
fn typed(shown: &Shown) -> String {
    match shown {
        Shown::Steady(level) => number(level),
        Shown::Range { low, high } => format!("{} to {}", number(low), number(high)),
        Shown::Swept { highest, ends: Ends::Lowest(low) } => {
            format!("{} to {}", number(low), number(highest))
        }
        Shown::Swept { highest, ends: Ends::Both { from, to } } => {
            format!("{} / {} / {}", number(from), number(highest), number(to))
        }
        Shown::Beep(true) => "beep".to_owned(),
        Shown::Beep(false) => "no beep".to_owned(),
        Shown::Said(Said::Yes) => "yes".to_owned(),
        Shown::Said(Said::No) => "no".to_owned(),
        Shown::Said(Said::CannotTell) => "cannot tell".to_owned(),
    }
}

fn number(level: &Level) -> String {
    match level {
        Level::Ohms { value, resolution } => show_ohms_to(*value, *resolution),
        Level::OverRange => "OL".to_owned(),
        other => other.words(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::{Mode, parse_entry};
    use crate::units::Ohms;
    use rstest::rstest;

    fn ohms(value: f64, resolution: f64) -> Level {
        Level::Ohms { value: Ohms::new(value), resolution: Ohms::new(resolution) }
    }

    #[rstest]
    #[case(Shown::Steady(ohms(0.3, 0.1)), false)]
    #[case(Shown::Steady(ohms(7490.0, 10.0)), false)]
    #[case(Shown::Steady(Level::OverRange), false)]
    #[case(Shown::Range { low: ohms(251_000.0, 1000.0), high: Level::OverRange }, true)]
    #[case(Shown::Range { low: ohms(0.3, 0.1), high: ohms(0.3, 0.1) }, true)]
    fn what_is_typed_is_understood_as_what_was_shown(#[case] shown: Shown, #[case] flexed: bool) {
        let text = typed(&shown);
        let understood = parse_entry(&text, Mode::Resistance, flexed);
        let (found, wanted) = (levels(&understood.unwrap()), levels(&shown));
        assert_eq!(found.len(), wanted.len(), "{text}");
        for (found, wanted) in found.iter().zip(&wanted) {
            assert!((found - wanted).abs() < 1e-6 * wanted.max(1.0) || found == wanted, "{text}");
        }
    }

    fn levels(shown: &Shown) -> Vec<f64> {
        let worth = |level: &Level| level.number().map_or(f64::INFINITY, |(value, _)| value);
        match shown {
            Shown::Steady(level) => vec![worth(level)],
            Shown::Range { low, high } => vec![worth(low), worth(high)],
            _ => Vec::new(),
        }
    }
}
