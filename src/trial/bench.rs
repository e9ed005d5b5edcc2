//! One instrument's job on the bench, kept as the program keeps it.

use std::sync::Arc;

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use super::choice::Table;
use super::instrument::Instrument;
use super::{Setup, TrialError};
use crate::advisor::{self, SURE};
use crate::belief::Belief;
use crate::faults::NOT_IN_CATALOGUE;
use crate::job::{Band, Event, Intake, Job, ReadingId, Record, Speaker, Taken};
use crate::prediction::Hypothesis;
use crate::readings::{Check, Measurement, Mode, Reading, Shown, Symptom};
use crate::workbench::{Action, Engine, Situation, proof_band, proof_passed, proof_readings};

/// One instrument's job.
pub(super) struct Bench<'e> {
    singles: &'e Arc<Engine>,
    engine: Arc<Engine>,
    job: Job,
    situation: Situation,
    off: Off,
    /// How many readings were taken.
    pub readings: usize,
    /// Hands-on seconds.
    pub seconds: f64,
}

impl<'e> Bench<'e> {
    /// Opens the job of an instrument.
    pub fn new(
        singles: &'e Arc<Engine>,
        setup: &Setup,
        complaint: Option<Symptom>,
        seed: u64,
    ) -> Result<Self, TrialError> {
        let job = Job::replay(vec![record(started(singles, setup, complaint))])?;
        let off = Off { factor: setup.priors_off, seed };
        let (engine, situation) = Situation::settled(singles, &job, &|engine| off.belief(engine))?;
        let mut bench = Self { singles, engine, job, situation, off, readings: 0, seconds: 0.0 };
        bench.settle()?;
        Ok(bench)
    }

    fn settle(&mut self) -> Result<(), TrialError> {
        let Self { singles, job, off, .. } = self;
        let (engine, situation) = Situation::settled(singles, job, &|engine| off.belief(engine))?;
        self.situation = situation.proposing(&engine, &self.job).doubting(&engine, &self.job)?;
        self.engine = engine;
        Ok(())
    }

    /// Tries another cable and another amplifier first, as at every bench.
    pub fn try_another_cable(&mut self, instrument: &mut Instrument) -> Result<(), TrialError> {
        let cable = |m: &&Measurement| m.mode == Mode::Observe(Check::OtherCable);
        let mut asked = self.singles.candidates.questions.iter().map(|question| &question.measurement);
        let Some(measurement) = asked.find(cable).cloned() else { return Ok(()) };
        let shown = instrument.read(&measurement)?;
        self.push_reading(measurement, shown, 0.0)?;
        self.settle()
    }

    /// Returns what whoever chooses sees.
    pub fn table(&self) -> Table<'_> {
        let spent = self.job.readings_of(self.job.rounds().len());
        Table {
            engine: &self.engine,
            access: self.job.access(),
            belief: &self.situation.belief,
            spent: spent.map(|taken| &taken.reading.measurement).collect(),
            proposals: &self.situation.proposals,
        }
    }

    /// Takes a reading in.
    pub fn read(&mut self, measurement: Measurement, shown: Shown) -> Result<(), TrialError> {
        let harness = self.engine.harness();
        let seconds = advisor::seconds(harness, &measurement, &self.situation.stand);
        for place in self.engine.unopened(&measurement, &self.situation.stand.opened) {
            self.job.push(record(Event::Opened { place }))?;
        }
        self.push_reading(measurement, shown, seconds)?;
        self.readings += 1;
        self.seconds += seconds;
        self.settle()
    }

    fn push_reading(
        &mut self,
        measurement: Measurement,
        shown: Shown,
        seconds: f64,
    ) -> Result<(), TrialError> {
        let id = self.job.next_reading_id();
        let reading = Reading { measurement, typed: String::new(), shown };
        let (healthy, leaders) = (Band::default(), Vec::new());
        let asked_by = Speaker::Advisor;
        Ok(self.job.push(record(Event::Read { id, reading, asked_by, healthy, leaders, seconds }))?)
    }

    /// Returns the reading that the program asks to take again.
    pub fn to_take_again(&self) -> Option<Measurement> {
        match self.situation.doubt.as_ref()?.action {
            Action::Retake(id) => Some(self.taken(id)?.reading.measurement.clone()),
            _ => None,
        }
    }

    /// Withdraws the reading that the program holds for a slip; returns whether there was one.
    pub fn withdraw(&mut self) -> Result<bool, TrialError> {
        let Some(Action::Withdraw { reading: id, .. }) =
            self.situation.doubt.as_ref().map(|doubt| &doubt.action)
        else {
            return Ok(false);
        };
        let reason = "the second reading is another".to_owned();
        self.job.push(record(Event::Withdrawn { id: *id, reason, leaders: Vec::new() }))?;
        self.settle()?;
        Ok(true)
    }

    fn taken(&self, id: ReadingId) -> Option<&Taken> {
        self.job.live_readings().find(|taken| taken.id == id)
    }

    /// Returns whether the program doubts its catalogue of single faults, slips excluded.
    pub fn doubted(&self) -> bool {
        let slip = |action: &Action| matches!(action, Action::Retake(_) | Action::Withdraw { .. });
        self.situation.doubt.as_ref().is_some_and(|doubt| !slip(&doubt.action))
    }

    /// Returns how many readings nothing explains.
    pub fn contradicting(&self) -> usize {
        self.situation.surprising.len()
    }

    /// Returns whether the search is over; another cable alone does not end it.
    pub fn over(&self) -> bool {
        self.sure() && self.readings > 0
    }

    /// Returns whether the leading decision is sure enough to act on.
    pub fn sure(&self) -> bool {
        self.situation.sure(&self.job)
    }

    /// Returns the leading decision.
    pub fn leader(&self) -> usize {
        self.situation.leader
    }

    /// Returns the probability of the leading decision.
    pub fn probability(&self) -> f64 {
        self.situation.probability
    }

    /// Returns the decisions that are left: the leading one when it is sure, else as many as hold as much.
    pub fn left(&self) -> Vec<usize> {
        let probabilities = self.probabilities();
        let mut order: Vec<usize> = (0..probabilities.len()).collect();
        order.sort_by(|&a, &b| probabilities[b].total_cmp(&probabilities[a]).then(a.cmp(&b)));
        if self.sure() {
            order.truncate(1);
            return order;
        }
        let mut held = 0.0;
        let short = |decision: &usize| {
            let short = held < SURE;
            held += probabilities[*decision];
            short
        };
        order.into_iter().take_while(short).collect()
    }

    /// Returns the ids of the faults that are left.
    pub fn concluded(&self) -> Vec<String> {
        let (groups, model) = (&self.engine.groups, &self.engine.model);
        let faults = self.left().into_iter().flat_map(|decision| groups.faults(model, decision));
        faults.map(|fault| model.catalogue[fault].id.clone()).collect()
    }

    /// Returns the probability of each decision.
    pub fn probabilities(&self) -> Vec<f64> {
        self.engine.groups.probabilities(&self.situation.belief.weights())
    }

    /// Returns whether each decision holds one of some faults, by itself or with another.
    pub fn holding(&self, ids: &[String]) -> Vec<bool> {
        let catalogue = &self.engine.model.catalogue;
        let meant: Vec<bool> = catalogue
            .faults
            .iter()
            .map(|fault| fault.id.split(" + ").any(|id| ids.iter().any(|i| i == id)))
            .collect();
        let list = &self.engine.model.hypotheses.list;
        let holds = |h: &usize| list[*h].faults.iter().any(|(fault, _)| meant[fault.0]);
        self.engine.groups.decisions.iter().map(|members| members.iter().any(holds)).collect()
    }

    /// Returns the decision that the catalogue does not hold the truth.
    pub fn unlisted_decision(&self) -> Option<usize> {
        self.holding(&[NOT_IN_CATALOGUE.to_owned()]).iter().position(|holds| *holds)
    }

    /// Repairs what was concluded, proves it, and goes on when it is not cured; returns whether it does.
    pub fn search_on(&mut self, instrument: &mut Instrument) -> Result<bool, TrialError> {
        self.repair()?;
        let proved = self.prove(instrument)?;
        let symptoms: Vec<Symptom> = instrument.complaint().into_iter().collect();
        if proved && symptoms.is_empty() {
            return Ok(false);
        }
        let leaders = Vec::new();
        self.job.push(record(Event::SearchedOn { remains: String::new(), symptoms, leaders }))?;
        self.settle()?;
        Ok(true)
    }

    fn repair(&mut self) -> Result<(), TrialError> {
        self.job.push(record(Event::Concluded {
            faults: self.concluded(),
            sentence: String::new(),
            probability: self.probability(),
            repair: String::new(),
            minutes: 0.0,
            tone: None,
            found: Vec::new(),
        }))?;
        Ok(self.job.push(record(Event::Repaired { what: String::new(), minutes: 0.0 }))?)
    }

    fn prove(&mut self, instrument: &mut Instrument) -> Result<bool, TrialError> {
        let mut all = true;
        for measurement in proof_readings(&self.engine, &self.job) {
            let healthy = proof_band(&self.engine, &measurement)?;
            let shown = instrument.read(&measurement)?;
            let passed = proof_passed(&shown, &healthy);
            let reading = Reading { measurement, typed: String::new(), shown };
            self.job.push(record(Event::Proved { reading, healthy, passed }))?;
            all &= passed;
        }
        Ok(all)
    }
}

fn record(event: Event) -> Record {
    Record { at: String::new(), event }
}

fn started(engine: &Engine, setup: &Setup, complaint: Option<Symptom>) -> Event {
    let intake = Intake {
        wiring: engine.harness().name.clone(),
        wiring_text: String::new(),
        priors_text: None,
        trees_text: Vec::new(),
        instrument: String::new(),
        customer: String::new(),
        complaint: String::new(),
        symptoms: complaint.into_iter().collect(),
        last_done: String::new(),
        access: setup.access,
        meter: engine.meter.name.to_owned(),
        technician: String::new(),
    };
    Event::Started { format: 1, intake: Box::new(intake), leaders: Vec::new() }
}

/// By how much the program's priors are off: each fault is a factor too likely or too unlikely, at random.
struct Off {
    factor: f64,
    seed: u64,
}

impl Off {
    /// Returns the belief before any evidence.
    fn belief(&self, engine: &Engine) -> Belief {
        let mut belief = Belief::prior(&engine.model);
        if self.factor > 1.0 {
            belief.hear(&self.of_each(engine));
        }
        belief
    }

    fn of_each(&self, engine: &Engine) -> Vec<f64> {
        let mut rng = StdRng::seed_from_u64(self.seed ^ 0x9210);
        let mut off = || if rng.random_bool(0.5) { self.factor } else { 1.0 / self.factor };
        let by_fault: Vec<f64> = engine.model.catalogue.faults.iter().map(|_| off()).collect();
        let of =
            |h: &Hypothesis| h.faults.iter().map(|(fault, share)| share * by_fault[fault.0]).sum::<f64>();
        engine.model.hypotheses.list.iter().map(|h| of(h) / self.factor).collect()
    }
}
