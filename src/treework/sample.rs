//! A few seeded instruments of everything that can be the matter, and what each of them reads.
//!
//! Reading, part values and size of the fault are drawn from what belief expects of them, so that what a tree does
//! agrees with what the advisor believes. Slips are left out: a tree is held against readings that were taken right.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::cells::Cells;
use super::chance::{even, mixed, normals, seed_of};
use crate::belief::Expectation;
use crate::faults::{FaultId, Kind};
use crate::prediction::{Behaviour, Row, shows};
use crate::readings::{Check, Dial, Level, Measurement, Mode, Said, Shown, Symptom};
use crate::workbench::{Engine, EngineError};

/// So many instruments are drawn of each thing that can be the matter, and of a tree with many steps.
const DRAWS: usize = 24;
const FEW_DRAWS: usize = 8;
/// With more steps than this a tree is one with many.
const MANY_STEPS: usize = 1000;
/// What is less probable under the complaint does not matter.
const NEGLIGIBLE: f64 = 1e-7;
/// How likely yes is where nothing is known.
const EVEN: f64 = 0.5;
/// A complaint is never less likely than this: see `Belief::hear`.
const LEAST_LIKELY: f64 = 1e-6;
/// So many measurements keep what they read.
const KEPT: usize = 800;

/// What can be the matter.
pub(super) struct Subject {
    /// The hypothesis; `None` for the sound instrument whose cable and amplifier are known to be sound as well.
    pub hypothesis: Option<usize>,
    /// Its state.
    state: usize,
    /// The number of its decision.
    pub decision: usize,
    /// Its probability under the complaint; 0 for the sound instrument.
    pub weight: f64,
    /// Whether it is the cable, the amplifier or a setting.
    pub outside: bool,
}

/// The instruments of one wiring. An instrument is a subject and a draw: its number is subject · draws + draw.
pub(super) struct Sample<'e> {
    pub engine: &'e Engine,
    pub subjects: Vec<Subject>,
    pub draws: usize,
    shifts: Vec<Vec<f64>>,
    sizes: Vec<f64>,
    cells: Cells<'e>,
    /// Every measurement that was asked for, those that read the same once.
    pub asked: Vec<Measurement>,
    numbers: BTreeMap<Measurement, usize>,
    kept: BTreeMap<usize, Arc<Taken>>,
}

/// What one measurement shows on every instrument.
pub(super) enum Taken {
    /// What a meter reads.
    Read(Readings),
    /// What is heard.
    Heard(Answers),
}

/// What is answered when something is listened for.
pub(super) struct Answers {
    draws: usize,
    seed: u64,
    /// How likely the answer is yes, by subject: as the belief has it, wrong answers included.
    chances: Vec<f64>,
}

/// What a meter reads on every instrument.
pub(super) struct Readings {
    row: Row,
    draws: usize,
    flexed: bool,
    beeper: bool,
    seed: u64,
    /// By the number of the reading in the row, and by draw.
    levels: Vec<Level>,
    beeps: Vec<bool>,
    /// The state of each subject and, where it comes and goes, how likely it shows.
    showing: Vec<(usize, Option<f64>)>,
}

impl<'e> Sample<'e> {
    /// Draws the instruments that come in with a complaint, for a tree with so many steps.
    pub fn new(engine: &'e Engine, complaint: Symptom, steps: usize, cells: Cells<'e>) -> Self {
        let draws = if steps > MANY_STEPS { FEW_DRAWS } else { DRAWS };
        let params = &engine.model.params.list;
        let column =
            |index: usize, sd: f64| normals(mixed(index as u64), draws).into_iter().map(move |z| z * sd);
        let columns: Vec<Vec<f64>> =
            params.iter().enumerate().map(|(index, param)| column(index, param.sd).collect()).collect();
        let shifts = (0..draws).map(|draw| columns.iter().map(|column| column[draw]).collect()).collect();
        let sizes = normals(mixed(u64::MAX), draws);
        let (asked, numbers, kept) = (Vec::new(), BTreeMap::new(), BTreeMap::new());
        let subjects = subjects(engine, complaint);
        Self { engine, subjects, draws, shifts, sizes, cells, asked, numbers, kept }
    }

    /// Returns the numbers of all instruments.
    pub fn all(&self) -> Vec<usize> {
        (0..self.subjects.len() * self.draws).collect()
    }

    /// Returns the subject of an instrument.
    pub fn subject(&self, instrument: usize) -> &Subject {
        &self.subjects[instrument / self.draws]
    }

    /// Returns the probability of an instrument.
    pub fn weight(&self, instrument: usize) -> f64 {
        self.subject(instrument).weight / self.draws as f64
    }

    /// Returns a point between 0 and 1 for an instrument at a question; those of one subject lie evenly.
    pub fn evenly(&self, seed: u64, instrument: usize) -> f64 {
        even(mixed(seed) ^ (instrument / self.draws) as u64, instrument % self.draws)
    }

    /// Returns the number of a measurement: those that read the same have the same.
    pub fn number(&mut self, measurement: &Measurement) -> usize {
        let next = self.asked.len();
        let number = *self.numbers.entry(uncrossed(measurement)).or_insert(next);
        if number == next {
            self.asked.push(measurement.clone());
        }
        number
    }

    /// Returns what the measurement of this number reads.
    pub fn taken(&mut self, number: usize) -> Result<Arc<Taken>, EngineError> {
        if let Some(known) = self.kept.get(&number) {
            return Ok(Arc::clone(known));
        }
        let measurement = self.asked[number].clone();
        let taken = Arc::new(match measurement.mode {
            Mode::Observe(check) => Taken::Heard(self.heard(check, &measurement)?),
            _ => {
                let row = self.cells.row(&measurement)?;
                Taken::Read(self.read(&measurement, row))
            }
        });
        if self.kept.len() >= KEPT {
            self.kept.clear();
        }
        self.kept.insert(number, Arc::clone(&taken));
        Ok(taken)
    }

    /// Returns the answers to something to be heard; a sound instrument answers as one does whose cable is at fault.
    fn heard(&self, check: Check, measurement: &Measurement) -> Result<Answers, EngineError> {
        let chances = self.engine.chances(check, measurement)?;
        let sound = self.subjects.iter().find(|subject| subject.outside).and_then(|s| s.hypothesis);
        let of = |subject: &Subject| subject.hypothesis.or(sound).map_or(EVEN, |index| chances[index]);
        let chances = self.subjects.iter().map(of).collect();
        Ok(Answers { draws: self.draws, seed: seed_of(measurement), chances })
    }

    fn read(&self, measurement: &Measurement, row: Row) -> Readings {
        let seed = seed_of(&uncrossed(measurement));
        let (errors, thresholds) = (normals(seed, self.draws), normals(mixed(seed), self.draws));
        let (mut levels, mut beeps) = (Vec::new(), Vec::new());
        for cell in (0..row.numbers()).filter_map(|number| row.distinct(number)) {
            for draw in 0..self.draws {
                let (shifts, size) = (&self.shifts[draw], self.sizes[draw]);
                let at = Expectation::drawn(cell, shifts, size, errors[draw], self.engine.meter);
                levels.push(self.level(cell.dial, at));
                beeps.push(at.is_some_and(|at| at < Expectation::beeper(thresholds[draw])));
            }
        }
        let (draws, flex) = (self.draws, measurement.flex.as_deref());
        let showing =
            self.subjects.iter().map(|subject| (subject.state, self.shows(subject, flex))).collect();
        let beeper = measurement.mode == Mode::Continuity;
        Readings { row, draws, flexed: flex.is_some(), beeper, seed, levels, beeps, showing }
    }

    /// Returns what the meter shows at a point of the scale.
    fn level(&self, dial: Dial, at: Option<f64>) -> Level {
        let meter = self.engine.meter;
        let Some(value) = at.map(|at| dial.unscaled(at)).filter(|value| value.abs() < meter.most(dial))
        else {
            return Level::OverRange;
        };
        let digit = meter.last_digit(dial, value);
        Level::of(dial, (value / digit).round() * digit, digit)
    }

    fn shows(&self, subject: &Subject, flex: Option<&str>) -> Option<f64> {
        let behaviour = &self.engine.model.hypotheses.list[subject.hypothesis?].behaviour;
        let goes = matches!(behaviour, Behaviour::ComesAndGoes { .. });
        goes.then(|| shows(self.engine.harness(), behaviour, flex))
    }
}

impl Taken {
    /// Returns what the meter shows, or what is said, on an instrument.
    pub fn shown(&self, instrument: usize) -> Shown {
        match self {
            Self::Read(readings) => readings.shown(instrument),
            Self::Heard(answers) => Shown::Said(answers.said(instrument)),
        }
    }
}

impl Answers {
    fn said(&self, instrument: usize) -> Said {
        let (subject, draw) = (instrument / self.draws, instrument % self.draws);
        let yes = even(self.seed ^ subject as u64, draw) < self.chances[subject];
        if yes { Said::Yes } else { Said::No }
    }
}

impl Readings {
    /// Returns what the meter shows on an instrument.
    fn shown(&self, instrument: usize) -> Shown {
        let (subject, draw) = (instrument / self.draws, instrument % self.draws);
        let (state, chance) = self.showing[subject];
        let shows = chance.is_none_or(|chance| even(self.seed ^ subject as u64, draw) < chance);
        let now = if shows { state } else { 0 };
        if self.beeper {
            return Shown::Beep(self.at(now, draw).is_some_and(|at| self.beeps[at]));
        }
        let rest = if chance.is_some() { 0 } else { state };
        if self.flexed {
            range(self.level(rest, draw), self.level(now, draw))
        } else {
            Shown::Steady(self.level(now, draw))
        }
    }

    fn at(&self, state: usize, draw: usize) -> Option<usize> {
        (state < self.row.len()).then(|| self.row.number(state) * self.draws + draw)
    }

    fn level(&self, state: usize, draw: usize) -> Level {
        self.at(state, draw).map_or(Level::OverRange, |at| self.levels[at])
    }
}

/// Returns the span between two levels: a joint that holds does not move the reading.
fn range(one: Level, other: Level) -> Shown {
    let worth = |level: &Level| level.number().map_or(f64::INFINITY, |(value, _)| value);
    let (low, high) = if worth(&one) <= worth(&other) { (one, other) } else { (other, one) };
    Shown::Range { low, high }
}

/// Returns a measurement with its probes in the order of their names, unless the sign of the reading depends on it.
fn uncrossed(measurement: &Measurement) -> Measurement {
    let signed = matches!(measurement.mode, Mode::Volts | Mode::Current);
    if signed || measurement.red <= measurement.black {
        return measurement.clone();
    }
    let (red, black) = (measurement.black.clone(), measurement.red.clone());
    Measurement { red, black, ..measurement.clone() }
}

/// Returns what can be the matter, the sound instrument last. What the catalogue does not hold can read anything, so that
/// it says nothing of a tree.
fn subjects(engine: &Engine, complaint: Symptom) -> Vec<Subject> {
    let (list, likely) = (&engine.model.hypotheses.list, engine.complaint(complaint));
    let listed = |index: &usize| list[*index].behaviour != Behaviour::Anything;
    let weight = |index: usize| list[index].prior * likely[index].max(LEAST_LIKELY);
    let total: f64 = (0..list.len()).filter(listed).map(weight).sum();
    let nothing = |&(fault, _): &(FaultId, f64)| engine.model.catalogue[fault].kind == Kind::NothingWrong;
    let subject = |index: usize| Subject {
        hypothesis: Some(index),
        state: list[index].state,
        decision: engine.groups.decision_of[index],
        weight: weight(index) / total,
        outside: list[index].faults.iter().any(nothing),
    };
    let mut all: Vec<Subject> = (0..list.len()).filter(listed).map(subject).collect();
    all.retain(|subject| subject.weight >= NEGLIGIBLE);
    all.push(Subject { hypothesis: None, state: 0, decision: 0, weight: 0.0, outside: false });
    all
}
