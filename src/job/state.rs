//! What a job's counting events add up to.

use super::{Band, Event, Intake, Outcome, Paper, ReadingId, Record, Refusal, Speaker, Standing, Tone};
use crate::readings::{Access, Dial, Measurement, Reading, Symptom};
use crate::units::Ohms;

/// One reading as it stands now, after corrections.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// Its number.
    pub id: ReadingId,
    /// When it was first taken.
    pub at: String,
    /// The reading, as last corrected.
    pub reading: Reading,
    /// Who asked for it.
    pub asked_by: Speaker,
    /// What a healthy instrument would have read.
    pub healthy: Band,
    /// How the suspects stood after it, or after its last correction or withdrawal.
    pub leaders: Vec<Standing>,
    /// Estimated hands-on seconds, including opening.
    pub seconds: f64,
    /// Whether it was corrected.
    pub corrected: bool,
    /// Why it was withdrawn; `None` while it counts.
    pub withdrawn: Option<String>,
}

/// A measurement that was not done.
#[derive(Clone, Debug, PartialEq)]
pub struct Skip {
    /// Which.
    pub measurement: Measurement,
    /// Why.
    pub reason: String,
    /// How far the technician could go at that moment; with more, it is worth offering again.
    pub access: Access,
}

/// A question of a tree with the answer chosen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// When.
    pub at: String,
    /// The tree's name.
    pub tree: String,
    /// The step's name.
    pub step: String,
    /// The question as it was shown.
    pub question: String,
    /// The answer chosen.
    pub answer: String,
}

/// A part's own value that is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// When it was said.
    pub at: String,
    /// The part's name.
    pub part: String,
    /// The text as it was typed.
    pub typed: String,
    /// The value in the unit of the dial, a coil's referred to 20 °C.
    pub ohms: Ohms,
    /// What the number is a number of.
    pub dial: Dial,
}

/// A caution that was acknowledged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CautionSeen {
    /// When.
    pub at: String,
    /// Which caution.
    pub key: String,
    /// Its text at that time.
    pub text: String,
}

/// The fault as it was named.
#[derive(Clone, Debug, PartialEq)]
pub struct Conclusion {
    /// When.
    pub at: String,
    /// The fault ids of the group.
    pub faults: Vec<String>,
    /// A plain sentence.
    pub sentence: String,
    /// Its probability at that moment, 0 to 1.
    pub probability: f64,
    /// What is to be done.
    pub repair: String,
    /// Estimated minutes of the repair.
    pub minutes: f64,
    /// How it sounds beside a healthy instrument, where the job keeps it.
    pub tone: Option<Tone>,
    /// The part values that the readings had found, in sentences.
    pub found: Vec<String>,
}

/// The repair as it was done.
#[derive(Clone, Debug, PartialEq)]
pub struct RepairDone {
    /// When.
    pub at: String,
    /// What was done, in the technician's words.
    pub what: String,
    /// Minutes it took.
    pub minutes: f64,
}

/// A proof reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Proof {
    /// When.
    pub at: String,
    /// The reading.
    pub reading: Reading,
    /// The healthy band.
    pub healthy: Band,
    /// Whether it lies in the band.
    pub passed: bool,
}

/// A fault that was named and repaired, and that was not all that was wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct Round {
    /// When the search went on.
    pub at: String,
    /// The fault as it was named.
    pub concluded: Conclusion,
    /// Its repair.
    pub repaired: RepairDone,
    /// The proof readings after it, the latest of each measurement.
    pub proofs: Vec<Proof>,
    /// What was still wrong, in the customer's words; empty when only a proof reading said so.
    pub remains: String,
    /// What these words mean.
    pub symptoms: Vec<Symptom>,
    /// How many readings had been taken until then, the withdrawn ones included.
    pub readings: usize,
}

/// How and when the job was closed.
#[derive(Clone, Debug, PartialEq)]
pub struct Closing {
    /// When.
    pub at: String,
    /// How.
    pub outcome: Outcome,
}

/// What the counting events of a job add up to.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct State {
    pub(super) intake: Intake,
    pub(super) access: Access,
    pub(super) leaders: Vec<Standing>,
    pub(super) readings: Vec<Taken>,
    pub(super) skipped: Vec<Skip>,
    pub(super) answers: Vec<Answer>,
    pub(super) known: Vec<Known>,
    pub(super) trees: Vec<String>,
    pub(super) chosen: Option<Measurement>,
    pub(super) opened: Vec<String>,
    pub(super) cautions: Vec<CautionSeen>,
    pub(super) concluded: Option<Conclusion>,
    pub(super) repaired: Option<RepairDone>,
    pub(super) proofs: Vec<Proof>,
    pub(super) rounds: Vec<Round>,
    pub(super) paper: Paper,
    pub(super) closed: Option<Closing>,
}

impl State {
    /// Makes the state of a job that was only started.
    pub(super) fn started(intake: &Intake, leaders: &[Standing]) -> Self {
        Self {
            intake: intake.clone(),
            access: intake.access,
            leaders: leaders.to_vec(),
            readings: Vec::new(),
            skipped: Vec::new(),
            answers: Vec::new(),
            known: Vec::new(),
            trees: Vec::new(),
            chosen: None,
            opened: Vec::new(),
            cautions: Vec::new(),
            concluded: None,
            repaired: None,
            proofs: Vec::new(),
            rounds: Vec::new(),
            paper: Paper::default(),
            closed: None,
        }
    }

    /// Returns why an event cannot come now, without regard to undoing and numbering.
    pub(super) fn refuses(&self, event: &Event) -> Result<(), Refusal> {
        if self.closed.is_some() && !event.after_closing() {
            return Err(Refusal::Closed);
        }
        match event {
            Event::Started { .. } => Err(Refusal::StartedTwice),
            Event::Corrected { id, .. } | Event::Withdrawn { id, .. } => self.changeable(*id),
            Event::SearchedOn { .. } if self.concluded.is_none() || self.repaired.is_none() => {
                Err(Refusal::NotRepaired)
            }
            _ => Ok(()),
        }
    }

    fn changeable(&self, id: ReadingId) -> Result<(), Refusal> {
        match self.readings.iter().find(|taken| taken.id == id) {
            None => Err(Refusal::Unknown { id }),
            Some(taken) if taken.withdrawn.is_some() => Err(Refusal::Withdrawn { id }),
            Some(_) => Ok(()),
        }
    }

    /// Adds one counting event.
    pub(super) fn apply(&mut self, record: &Record) {
        let at = &record.at;
        if record.event.is_paper() {
            return self.paper.apply(record);
        }
        if !matches!(record.event, Event::CautionSeen { .. } | Event::Opened { .. }) {
            self.chosen = None;
        }
        match &record.event {
            Event::Chosen { measurement } => self.chosen = Some(measurement.clone()),
            Event::Started { .. } | Event::Undone | Event::Redone => {}
            Event::AccessChanged { access } => self.access = *access,
            Event::CautionSeen { key, text } => self.see(at, key, text),
            Event::Opened { place } => self.open(place),
            Event::Read { .. } | Event::Corrected { .. } | Event::Withdrawn { .. } => self.read(record),
            Event::Skipped { measurement, reason } => self.skip(measurement, reason),
            Event::Answered { .. } => self.answer(record),
            Event::TreeUsed { text, .. } => self.trees.push(text.clone()),
            Event::Known { part, typed, ohms, dial } => {
                self.known.retain(|known| known.part != *part);
                let (part, typed) = (part.clone(), typed.clone());
                self.known.push(Known { at: at.clone(), part, typed, ohms: *ohms, dial: *dial });
            }
            _ => self.finish(record),
        }
    }

    fn see(&mut self, at: &str, key: &str, text: &str) {
        let (at, key, text) = (at.to_owned(), key.to_owned(), text.to_owned());
        self.cautions.push(CautionSeen { at, key, text });
    }

    fn open(&mut self, place: &str) {
        if !self.opened.iter().any(|known| known == place) {
            self.opened.push(place.to_owned());
        }
    }

    /// A measurement that is skipped again moves to the end.
    fn skip(&mut self, measurement: &Measurement, reason: &str) {
        self.skipped.retain(|skip| skip.measurement != *measurement);
        let (measurement, reason, access) = (measurement.clone(), reason.to_owned(), self.access);
        self.skipped.push(Skip { measurement, reason, access });
    }

    fn answer(&mut self, record: &Record) {
        if let Event::Answered { tree, step, question, answer } = &record.event {
            self.answers.push(Answer {
                at: record.at.clone(),
                tree: tree.clone(),
                step: step.clone(),
                question: question.clone(),
                answer: answer.clone(),
            });
        }
    }

    fn read(&mut self, record: &Record) {
        match &record.event {
            Event::Read { reading, leaders, .. } => {
                self.skipped.retain(|skip| skip.measurement != reading.measurement);
                self.leaders.clone_from(leaders);
                self.readings.extend(taken(record));
            }
            Event::Corrected { id, reading, healthy, leaders } => self.change(*id, leaders, |taken| {
                taken.reading = reading.clone();
                taken.healthy = *healthy;
                taken.corrected = true;
            }),
            Event::Withdrawn { id, reason, leaders } => self.change(*id, leaders, |taken| {
                taken.withdrawn = Some(reason.clone());
            }),
            _ => {}
        }
    }

    fn change(&mut self, id: ReadingId, leaders: &[Standing], change: impl FnOnce(&mut Taken)) {
        self.leaders = leaders.to_vec();
        if let Some(taken) = self.readings.iter_mut().find(|taken| taken.id == id) {
            taken.leaders = leaders.to_vec();
            change(taken);
        }
    }

    /// A new conclusion puts the old repair and its proof aside; a new repair puts the old proof aside.
    fn finish(&mut self, record: &Record) {
        match &record.event {
            Event::Concluded { .. } => {
                self.concluded = conclusion(record);
                self.repaired = None;
                self.proofs.clear();
            }
            Event::Repaired { what, minutes } => {
                let (at, what) = (record.at.clone(), what.clone());
                self.repaired = Some(RepairDone { at, what, minutes: *minutes });
                self.proofs.clear();
            }
            Event::Proved { reading, healthy, passed } => self.prove(Proof {
                at: record.at.clone(),
                reading: reading.clone(),
                healthy: *healthy,
                passed: *passed,
            }),
            Event::SearchedOn { .. } => self.search_on(record),
            Event::Closed { outcome } => {
                self.closed = Some(Closing { at: record.at.clone(), outcome: outcome.clone() });
            }
            _ => {}
        }
    }

    fn search_on(&mut self, record: &Record) {
        let Event::SearchedOn { remains, symptoms, leaders } = &record.event else { return };
        self.leaders.clone_from(leaders);
        if let (Some(concluded), Some(repaired)) = (self.concluded.take(), self.repaired.take()) {
            self.rounds.push(Round {
                at: record.at.clone(),
                concluded,
                repaired,
                proofs: std::mem::take(&mut self.proofs),
                remains: remains.clone(),
                symptoms: symptoms.clone(),
                readings: self.readings.len(),
            });
        }
    }

    /// A later proof of the same measurement takes the place of the earlier one.
    fn prove(&mut self, proof: Proof) {
        let same = |old: &&mut Proof| old.reading.measurement == proof.reading.measurement;
        match self.proofs.iter_mut().find(same) {
            Some(old) => *old = proof,
            None => self.proofs.push(proof),
        }
    }
}

fn taken(record: &Record) -> Option<Taken> {
    let Event::Read { id, reading, asked_by, healthy, leaders, seconds } = &record.event else {
        return None;
    };
    Some(Taken {
        id: *id,
        at: record.at.clone(),
        reading: reading.clone(),
        asked_by: *asked_by,
        healthy: *healthy,
        leaders: leaders.clone(),
        seconds: *seconds,
        corrected: false,
        withdrawn: None,
    })
}

fn conclusion(record: &Record) -> Option<Conclusion> {
    let Event::Concluded { faults, sentence, probability, repair, minutes, tone, found } = &record.event
    else {
        return None;
    };
    Some(Conclusion {
        at: record.at.clone(),
        faults: faults.clone(),
        sentence: sentence.clone(),
        probability: *probability,
        repair: repair.clone(),
        minutes: *minutes,
        tone: tone.as_deref().cloned(),
        found: found.clone(),
    })
}
