//! A simulated instrument: its own part values, what is wrong with it, and a meter that reads it.
//!
//! Its states are numbered by which of its faults show: bit 0 for the first, bit 1 for the second. State 0 is the
//! instrument without them.

use std::sync::Arc;

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use super::TrialError;
use super::parts::{drawn, normal};
use super::truth::{Case, Truth};
use crate::circuit::Change;
use crate::faults::{FaultId, NOT_IN_CATALOGUE, NOTHING_WRONG};
use crate::prediction::{
    Audible, Behaviour, Ear, Hypotheses, Hypothesis, Model, Question, State, complaint_by_questions, shows,
};
use crate::readings::{Check, Level, Measurement, Mode, Said, Setting, Shown, Stand, Symptom};
use crate::solver::Values;
use crate::units::Ohms;
use crate::workbench::Engine;

/// One standard deviation of what leads and touching probes add, in ohms.
const LEAD_OHMS: f64 = 0.1;
/// A fault's size lies within so many of its standard deviations, evenly.
const SIZES: f64 = 1.7;
/// A customer says what is this likely under the fault, or nothing.
const SAID: f64 = 0.4;

/// One thing that is wrong.
#[derive(Clone)]
struct Wrong {
    /// Which fault and which hypothesis it is; `None` when the catalogue does not hold it.
    listed: Option<(FaultId, usize)>,
    state: State,
    /// The same with this instrument's own size.
    sized: Change,
    behaviour: Behaviour,
}

/// One instrument on the bench.
pub(super) struct Instrument {
    engine: Arc<Engine>,
    own: Model,
    wrong: Vec<Wrong>,
    /// The hypothesis of the engine that is this instrument's truth.
    listed: Option<usize>,
    heard: Option<Heard>,
    rng: StdRng,
}

/// What is heard of an instrument that the engine has no hypothesis for.
struct Heard {
    audible: Vec<Audible>,
    questions: Vec<Question>,
}

impl Instrument {
    /// Builds the instrument of a case.
    pub fn new(engine: &Arc<Engine>, case: &Case) -> Result<Self, TrialError> {
        let mut rng = StdRng::seed_from_u64(case.seed);
        let wrong = wrongs(&engine.model, &case.truth, &mut rng);
        let values = drawn(&engine.model, &mut rng);
        Self::built(Arc::clone(engine), wrong, values, rng)
    }

    fn built(
        engine: Arc<Engine>,
        wrong: Vec<Wrong>,
        values: Values,
        rng: StdRng,
    ) -> Result<Self, TrialError> {
        let listed = match &wrong[..] {
            [] => engine
                .model
                .catalogue
                .find(NOTHING_WRONG)
                .and_then(|f| forms(&engine.model, f).first().copied()),
            [only] => only.listed.map(|(_, hypothesis)| hypothesis),
            _ => None,
        };
        let own = engine.model.instrument(values, hypotheses(&engine, &wrong));
        let mut instrument = Self { engine, own, wrong, listed, heard: None, rng };
        if instrument.listed.is_none() {
            instrument.listen()?;
        }
        Ok(instrument)
    }

    /// Mends some faults; those that it does not have are mended in vain.
    pub fn mend(&mut self, ids: &[String]) -> Result<(), TrialError> {
        let catalogue = &self.engine.model.catalogue;
        let mended =
            |fault: FaultId| ids.iter().any(|id| id.split(" + ").any(|id| id == catalogue[fault].id));
        let left = self.wrong.iter().filter(|wrong| wrong.listed.is_none_or(|(fault, _)| !mended(fault)));
        let wrong: Vec<Wrong> = left.cloned().collect();
        let (values, rng) = (self.own.values.clone(), StdRng::seed_from_u64(self.rng.random()));
        *self = Self::built(Arc::clone(&self.engine), wrong, values, rng)?;
        Ok(())
    }

    /// Returns what the customer would most likely say, if anything; of equal ones what is listed first.
    pub fn complaint(&self) -> Option<Symptom> {
        let likely = |symptom| match (self.listed, &self.heard) {
            (Some(listed), _) => self.said_of(listed, symptom),
            (None, Some(heard)) => self.said(heard, symptom),
            (None, None) => 0.0,
        };
        let best = Symptom::ALL.into_iter().rev().max_by(|a, b| likely(*a).total_cmp(&likely(*b)))?;
        (likely(best) > SAID).then_some(best)
    }

    fn said_of(&self, listed: usize, symptom: Symptom) -> f64 {
        self.engine.complaint(symptom)[listed]
    }

    fn said(&self, heard: &Heard, symptom: Symptom) -> f64 {
        let all = complaint_by_questions(&heard.questions, symptom)
            .unwrap_or_else(|| self.own.complaint_likelihood(&heard.audible, symptom));
        all.last().copied().unwrap_or(0.0)
    }

    /// Works out what is heard of an instrument that the engine has no hypothesis for.
    fn listen(&mut self) -> Result<(), TrialError> {
        let audible = self.own.audible()?;
        let mut ear = Ear::new(&self.own, &audible);
        let mut questions = Vec::new();
        for question in &self.engine.candidates.questions {
            let Mode::Observe(check) = question.measurement.mode else { continue };
            let measurement = question.measurement.clone();
            let chances = ear.chances(check, &measurement)?;
            questions.push(Question { measurement, chances });
        }
        self.heard = Some(Heard { audible, questions });
        Ok(())
    }

    /// Takes a measurement.
    pub fn read(&mut self, measurement: &Measurement) -> Result<Shown, TrialError> {
        match measurement.mode {
            Mode::Observe(check) => self.answer(check, measurement),
            Mode::Continuity => self.beep(measurement),
            _ => self.meter(measurement),
        }
    }

    fn answer(&mut self, check: Check, measurement: &Measurement) -> Result<Shown, TrialError> {
        let yes = self.chance(check, measurement)?;
        Ok(Shown::Said(if self.rng.random_bool(yes.clamp(0.0, 1.0)) { Said::Yes } else { Said::No }))
    }

    fn chance(&mut self, check: Check, measurement: &Measurement) -> Result<f64, TrialError> {
        let same = |q: &&Question| q.measurement == *measurement;
        if let Some(listed) = self.listed {
            let known = self.engine.candidates.questions.iter().find(same);
            if let Some(known) = known {
                return Ok(known.chances[listed]);
            }
            self.heard_at_all()?;
        }
        let now = self.showing(measurement.about.as_deref());
        let Some(heard) = &self.heard else { return Ok(0.5) };
        if let Some(known) = heard.questions.iter().find(same) {
            return Ok(known.chances[now]);
        }
        Ok(Ear::new(&self.own, &heard.audible).chances(check, measurement)?[now])
    }

    fn heard_at_all(&mut self) -> Result<(), TrialError> {
        if self.heard.is_none() {
            self.heard = Some(Heard { audible: self.own.audible()?, questions: Vec::new() });
        }
        Ok(())
    }

    fn beep(&mut self, measurement: &Measurement) -> Result<Shown, TrialError> {
        let now = self.showing(measurement.flex.as_deref());
        let ohms = self.level(measurement, now)?.number().map_or(f64::INFINITY, |(ohms, _)| ohms);
        let (surely, silent) = self.engine.meter.beep;
        Ok(Shown::Beep(ohms < self.rng.random_range(surely.get()..silent.get())))
    }

    fn meter(&mut self, measurement: &Measurement) -> Result<Shown, TrialError> {
        let now = self.showing(measurement.flex.as_deref());
        let faulty = self.level(measurement, self.every())?;
        if measurement.flex.is_none() {
            let shown = if now == self.every() { faulty } else { self.level(measurement, now)? };
            return Ok(Shown::Steady(shown));
        }
        if self.rest() == self.every() {
            return Ok(Shown::Range { low: faulty, high: faulty });
        }
        let rest = self.level(measurement, self.rest())?;
        let other = match now {
            now if now == self.rest() => rest,
            now if now == self.every() => faulty,
            now => self.level(measurement, now)?,
        };
        let (low, high) = if worth(&rest) <= worth(&other) { (rest, other) } else { (other, rest) };
        Ok(Shown::Range { low, high })
    }

    /// Returns the faults that it has, each with the hypothesis that it is; an instrument without any has the one that
    /// says so.
    pub fn listed(&self) -> Vec<(FaultId, usize)> {
        let nothing = self.engine.model.catalogue.find(NOTHING_WRONG).zip(self.listed);
        let healthy = nothing.filter(|_| self.wrong.is_empty());
        self.wrong.iter().filter_map(|wrong| wrong.listed).chain(healthy).collect()
    }

    /// Returns what lies between the probes while nothing shows that comes and goes, and in the state that is drawn
    /// for this reading, in the unit of the dial; `None` where there is no path.
    pub fn between(&mut self, measurement: &Measurement) -> Result<[Option<f64>; 2], TrialError> {
        let now = self.showing(measurement.flex.as_deref());
        let rest = if measurement.flex.is_some() { self.rest() } else { now };
        let found = self.exactly(measurement, rest)?;
        Ok([found, if now == rest { found } else { self.exactly(measurement, now)? }])
    }

    fn exactly(&self, measurement: &Measurement, state: usize) -> Result<Option<f64>, TrialError> {
        let ohms = matches!(measurement.mode, Mode::Resistance | Mode::Continuity);
        if ohms && measurement.lifted.is_none() {
            return self.ohms(measurement, &measurement.setting, state);
        }
        let still = Measurement { flex: None, ..measurement.clone() };
        let row = self.own.row(&still)?.unwrap_or_default();
        Ok(row.get(state).and_then(|cell| cell.reads))
    }

    /// Returns the state in which every fault shows.
    fn every(&self) -> usize {
        (1 << self.wrong.len()) - 1
    }

    /// Returns the state in which nothing shows that comes and goes.
    fn rest(&self) -> usize {
        let steady = |wrong: &Wrong| !matches!(wrong.behaviour, Behaviour::ComesAndGoes { .. });
        mask(self.wrong.iter().map(steady))
    }

    /// Draws what shows while something is flexed, or nothing is.
    fn showing(&mut self, flex: Option<&str>) -> usize {
        let (harness, rng) = (&self.own.harness, &mut self.rng);
        mask(self.wrong.iter().map(|wrong| match &wrong.behaviour {
            Behaviour::ComesAndGoes { .. } => rng.random_bool(shows(harness, &wrong.behaviour, flex)),
            _ => true,
        }))
    }

    fn level(&mut self, measurement: &Measurement, state: usize) -> Result<Level, TrialError> {
        match measurement.mode {
            Mode::Sweep if self.of_unknown_size() => self.swept(measurement, state),
            Mode::Resistance | Mode::Continuity if measurement.lifted.is_none() => {
                let ohms = self.ohms(measurement, &measurement.setting, state)?;
                Ok(self.shown(ohms))
            }
            _ => self.of_ordinary_size(measurement, state),
        }
    }

    fn of_unknown_size(&self) -> bool {
        self.own.hypotheses.states[self.every()].spread > 0.0
    }

    fn swept(&mut self, measurement: &Measurement, state: usize) -> Result<Level, TrialError> {
        let knob = measurement.about.as_deref().unwrap_or_default();
        let mut highest: Option<f64> = None;
        for dial in 0..=10 {
            let setting = measurement.setting.clone().with(knob, Stand::Knob(dial));
            let ohms = self.ohms(measurement, &setting, state)?;
            highest = ohms.into_iter().chain(highest).reduce(f64::max);
        }
        Ok(self.shown(highest))
    }

    /// Other dials, swept knobs and lifted ends: the state's own row at this instrument's part values, a single
    /// fault of ordinary size, blurred as the meter does.
    fn of_ordinary_size(&mut self, measurement: &Measurement, state: usize) -> Result<Level, TrialError> {
        let still = Measurement { flex: None, ..measurement.clone() };
        let row = self.own.row(&still)?.unwrap_or_default();
        let Some((cell, value)) = row.get(state).and_then(|cell| Some((cell, cell.reads?))) else {
            return Ok(Level::OverRange);
        };
        let meter = self.engine.meter;
        let blur = cell.noise.hypot(meter.uncertainty(cell.dial, value)).max(1e-15);
        let value = value + normal(&mut self.rng, blur);
        let digit = meter.last_digit(cell.dial, value);
        Ok(Level::of(cell.dial, (value / digit).round() * digit, digit))
    }

    fn ohms(
        &self,
        measurement: &Measurement,
        setting: &Setting,
        state: usize,
    ) -> Result<Option<f64>, TrialError> {
        let Some((red, black)) = self.own.probes(measurement) else { return Ok(None) };
        let bench = self.own.bench(setting)?;
        Ok(match &self.wrong[..] {
            [alone] if state > 0 => bench.ohms_with(state, &alone.sized, red, black),
            _ => bench.ohms(state, red, black),
        })
    }

    /// The meter is read: an even error within the class's span, rounded to its last digit.
    fn shown(&mut self, ohms: Option<f64>) -> Level {
        let meter = self.engine.meter;
        let Some(ohms) = ohms.filter(|ohms| *ohms < meter.ceiling().get()) else { return Level::OverRange };
        let half = meter.half_width(Ohms::new(ohms)).get();
        let error = self.rng.random_range(-half..=half);
        let lead = normal(&mut self.rng, LEAD_OHMS);
        let resolution = meter.resolution(Ohms::new(ohms));
        let value = ((ohms + error + lead).max(0.0) / resolution.get()).round() * resolution.get();
        Level::Ohms { value: Ohms::new(value), resolution }
    }
}

fn worth(level: &Level) -> f64 {
    level.number().map_or(f64::INFINITY, |(value, _)| value)
}

fn mask(set: impl Iterator<Item = bool>) -> usize {
    set.enumerate().map(|(bit, set)| usize::from(set) << bit).sum()
}

/// Returns the hypotheses that a fault is a part of: its forms.
fn forms(model: &Model, fault: FaultId) -> Vec<usize> {
    let holds = |&h: &usize| model.hypotheses.list[h].faults.iter().any(|(f, _)| *f == fault);
    (0..model.hypotheses.list.len()).filter(holds).collect()
}

/// Draws the form and the size of everything that is wrong.
fn wrongs(model: &Model, truth: &Truth, rng: &mut StdRng) -> Vec<Wrong> {
    if let Truth::Outside(change) = truth {
        let state = State { change: change.clone(), spread: 0.0 };
        return vec![Wrong { listed: None, state, sized: change.clone(), behaviour: Behaviour::Steady }];
    }
    let nothing = model.catalogue.find(NOTHING_WRONG);
    let faults = truth.faults().into_iter().filter(|fault| Some(*fault) != nothing);
    faults.filter_map(|fault| wrong(model, fault, rng)).collect()
}

fn wrong(model: &Model, fault: FaultId, rng: &mut StdRng) -> Option<Wrong> {
    let index = *super::parts::one_of(rng, &forms(model, fault))?;
    let hypothesis = &model.hypotheses.list[index];
    let state = model.hypotheses.states[hypothesis.state].clone();
    let size = (state.spread * rng.random_range(-SIZES..SIZES)).exp();
    let sized = resized(&state.change, size);
    Some(Wrong { listed: Some((fault, index)), state, sized, behaviour: hypothesis.behaviour.clone() })
}

fn resized(change: &Change, size: f64) -> Change {
    match change {
        Change::Series(element, ohms) => Change::Series(*element, ohms * size),
        Change::Bridge(a, b, ohms) => Change::Bridge(*a, *b, ohms * size),
        Change::Scale(elements, factor) => Change::Scale(elements.clone(), factor * size),
        other => other.clone(),
    }
}

/// Returns the states of an instrument, a steady hypothesis for each, and last what is really the matter.
fn hypotheses(engine: &Engine, wrong: &[Wrong]) -> Hypotheses {
    let states: Vec<State> = (0..1 << wrong.len()).map(|state| state_of(wrong, state)).collect();
    let mut named: Vec<FaultId> = wrong.iter().filter_map(|wrong| Some(wrong.listed?.0)).collect();
    let other = if wrong.is_empty() { NOTHING_WRONG } else { NOT_IN_CATALOGUE };
    named.extend(engine.model.catalogue.find(other).filter(|_| named.is_empty()));
    let faults: Vec<(FaultId, f64)> = named.iter().map(|fault| (*fault, 1.0 / named.len() as f64)).collect();
    let of = |state, behaviour| Hypothesis { faults: faults.clone(), state, behaviour, prior: 1.0 };
    let steady = (0..states.len()).map(|state| of(state, Behaviour::Steady));
    let last = of(states.len() - 1, together(wrong));
    let list = steady.chain([last]).collect();
    Hypotheses { states, list }
}

fn state_of(wrong: &[Wrong], state: usize) -> State {
    let shown: Vec<&Wrong> =
        wrong.iter().enumerate().filter(|(bit, _)| state >> bit & 1 == 1).map(|(_, wrong)| wrong).collect();
    let change = match &shown[..] {
        [] => Change::Nothing,
        [only] if wrong.len() == 1 => return only.state.clone(),
        [only] => only.sized.clone(),
        several => Change::Several(several.iter().map(|wrong| wrong.sized.clone()).collect()),
    };
    State { change, spread: 0.0 }
}

/// Returns how several faults behave together: as one that comes and goes only when all of them do.
fn together(wrong: &[Wrong]) -> Behaviour {
    let (mut terminals, mut links) = (Vec::new(), Vec::new());
    for wrong in wrong {
        let Behaviour::ComesAndGoes { terminals: t, links: l } = &wrong.behaviour else {
            return Behaviour::Steady;
        };
        terminals.extend(t.iter().copied());
        links.extend(l.iter().copied());
    }
    Behaviour::ComesAndGoes { terminals, links }
}
