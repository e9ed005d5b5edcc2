//! A job step by step, exactly as it went. The events alone say it, so jobs of older versions replay too.

use serde::Serialize;

use super::{Band, Estimate, Event, Job, Outcome, ReadingId, Record, Speaker, Standing, to_line, total};
use crate::circuit::{self, Harness};
use crate::readings::{Level, Measurement, Meter, Mode, Reading, Shown, echo};
use crate::source::Source;
use crate::units::{Ohms, show_percent, show_price};

/// What a step of a replay is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StepKind {
    /// The job was opened.
    Started,
    /// A reading was taken.
    Read,
    /// An earlier reading was replaced.
    Corrected,
    /// An earlier reading was withdrawn.
    Withdrawn,
    /// A question of a tree was answered.
    Answered,
    /// What was proposed was not done.
    Skipped,
    /// Another measurement was put on the screen.
    Chosen,
    /// A part's own value was told.
    Known,
    /// The fault was named.
    Named,
    /// The repair was done.
    Repaired,
    /// A proof reading was taken.
    Proved,
    /// The search went on after a repair that did not cure.
    SearchedOn,
    /// The job was closed.
    Closed,
    /// A step was taken back, or brought back.
    TakenBack,
    /// Something else happened.
    Other,
}

/// The place in a tree that a step belongs to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TreePlace {
    /// The tree's name.
    pub tree: String,
    /// The step's name.
    pub step: String,
}

/// One event as plain words and numbers. A text that does not apply is empty.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReplayStep {
    /// Which event; the first is 1.
    pub number: usize,
    /// When, as RFC 3339 text in UTC.
    pub at: String,
    /// What it is.
    pub kind: StepKind,
    /// What happened, in one sentence.
    pub said: String,
    /// Whether it still counts at the end; one that was taken back for good does not.
    pub counts: bool,
    /// Who asked for the reading.
    pub asked_by: Option<Speaker>,
    /// The question's place in its tree, where the events name it.
    pub tree: Option<TreePlace>,
    /// What was asked: a measurement in words, or a question.
    pub asked: String,
    /// What was measured.
    pub measurement: Option<Measurement>,
    /// The reading's number.
    pub reading: Option<u32>,
    /// What was typed.
    pub typed: String,
    /// What that means, or the answer chosen.
    pub found: String,
    /// What a healthy instrument would have shown.
    pub healthy: String,
    /// Whether a proof reading lies in its band.
    pub passed: Option<bool>,
    /// What became of the reading later, such as `corrected later to 7.4k`.
    pub later: Vec<String>,
    /// How the suspects stood before.
    pub before: Vec<Standing>,
    /// How the suspects stood after.
    pub after: Vec<Standing>,
}

/// A job as it went.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Replay {
    /// Every event in order, those that were taken back included.
    pub steps: Vec<ReplayStep>,
}

impl Replay {
    /// Returns the replay of a job. Terminals are named in words where the wiring that the job keeps can be read.
    pub fn of(job: &Job) -> Self {
        let intake = job.intake();
        let source = Source::new(intake.wiring.as_str(), intake.wiring_text.as_str());
        let meter = Meter::named(&intake.meter).unwrap_or_else(Meter::ordinary);
        let teller = Teller { harness: circuit::load(&source).ok(), meter, whole: job };
        let counts = counting(job);
        let mut so_far: Option<Job> = None;
        let mut steps = Vec::new();
        for (index, record) in job.records().iter().enumerate() {
            let Some(next) = with(so_far.as_ref(), record) else { break };
            let mut step = teller.step(index, record, so_far.as_ref(), &next);
            step.counts = counts[index] || step.kind == StepKind::TakenBack;
            steps.push(step);
            so_far = Some(next);
        }
        Self { steps }
    }
}

/// Returns what the last event of a job took back or brought back, in words; `None` when it did neither.
pub fn turned_back(job: &Job) -> Option<String> {
    let (last, earlier) = job.records().split_last()?;
    let (what, job) = match last.event {
        Event::Undone => ("Taken back", Job::replay(earlier.to_vec()).ok()?),
        Event::Redone => ("Brought back", job.clone()),
        _ => return None,
    };
    let step = last_counting(&job)?.checked_sub(1)?;
    let said = Replay::of(&job).steps.get(step)?.said.clone();
    Some(format!("{what}: {said}"))
}

/// Returns the job with one more event.
fn with(so_far: Option<&Job>, record: &Record) -> Option<Job> {
    match so_far {
        None => Job::replay(vec![record.clone()]).ok(),
        Some(job) => {
            let mut next = job.clone();
            next.push(record.clone()).ok().map(|()| next)
        }
    }
}

/// Returns for each event whether it counts at the end.
fn counting(job: &Job) -> Vec<bool> {
    let mut wanted = job.counting().peekable();
    let counts = |record: &Record| wanted.next_if(|next| std::ptr::eq(*next, record)).is_some();
    job.records().iter().map(counts).collect()
}

/// Returns the number of the last event that counts.
fn last_counting(job: &Job) -> Option<usize> {
    let last = job.counting().last()?;
    job.records().iter().position(|record| std::ptr::eq(record, last)).map(|index| index + 1)
}

struct Teller<'a> {
    harness: Option<Harness>,
    meter: &'static Meter,
    whole: &'a Job,
}

impl Teller<'_> {
    fn step(&self, index: usize, record: &Record, before: Option<&Job>, after: &Job) -> ReplayStep {
        let leaders = |job: &Job| job.leaders().to_vec();
        let mut step = ReplayStep {
            number: index + 1,
            at: record.at.clone(),
            kind: StepKind::Other,
            said: String::new(),
            counts: true,
            asked_by: None,
            tree: None,
            asked: String::new(),
            measurement: None,
            reading: None,
            typed: String::new(),
            found: String::new(),
            healthy: String::new(),
            passed: None,
            later: Vec::new(),
            before: before.map(leaders).unwrap_or_default(),
            after: leaders(after),
        };
        self.read(&record.event, &mut step);
        self.steered(&record.event, &mut step);
        finished(&record.event, &mut step);
        small(&record.event, &mut step);
        on_paper(&record.event, &mut step);
        turned(&record.event, before, after, &mut step);
        if step.said.is_empty() {
            step.said = to_line(record).unwrap_or_default();
        }
        step
    }

    /// Tells what changes a reading.
    fn read(&self, event: &Event, step: &mut ReplayStep) {
        match event {
            Event::Read { id, reading, asked_by, healthy, .. } => {
                self.taken(step, StepKind::Read, *id, reading, healthy);
                step.asked_by = Some(*asked_by);
                step.said = format!("reading {}: {}", id.0, step.found);
                step.later = self.later(*id);
            }
            Event::Corrected { id, reading, healthy, .. } => {
                self.taken(step, StepKind::Corrected, *id, reading, healthy);
                step.said = format!("reading {} corrected: {}", id.0, step.found);
            }
            Event::Withdrawn { id, reason, .. } => {
                (step.kind, step.reading) = (StepKind::Withdrawn, Some(id.0));
                step.said = format!("reading {} withdrawn: {reason}", id.0);
            }
            Event::Proved { reading, healthy, passed } => {
                self.shown(step, reading, healthy);
                (step.kind, step.passed) = (StepKind::Proved, Some(*passed));
                let verdict = if *passed { "passed" } else { "failed" };
                step.said = format!("proof reading {verdict}: {}", step.found);
            }
            _ => {}
        }
    }

    fn taken(&self, step: &mut ReplayStep, kind: StepKind, id: ReadingId, reading: &Reading, healthy: &Band) {
        self.shown(step, reading, healthy);
        (step.kind, step.reading) = (kind, Some(id.0));
    }

    fn shown(&self, step: &mut ReplayStep, reading: &Reading, healthy: &Band) {
        step.asked = self.measured(&reading.measurement);
        step.measurement = Some(reading.measurement.clone());
        step.typed.clone_from(&reading.typed);
        step.found = echo(&reading.shown);
        step.healthy = healthy.in_words(reading.measurement.mode, self.meter);
    }

    fn measured(&self, measurement: &Measurement) -> String {
        match &self.harness {
            Some(harness) => measurement.sentence(harness),
            None => format!("{} {} to {}", measurement.mode.name(), measurement.red, measurement.black),
        }
    }

    /// Returns what became of a reading later.
    fn later(&self, id: ReadingId) -> Vec<String> {
        let Some(taken) = self.whole.readings().iter().find(|taken| taken.id == id) else {
            return Vec::new();
        };
        let corrected = taken.corrected.then(|| format!("corrected later to {}", taken.reading.typed));
        let withdrawn = taken.withdrawn.as_ref().map(|reason| format!("withdrawn later: {reason}"));
        corrected.into_iter().chain(withdrawn).collect()
    }

    /// Tells what steers the next step.
    fn steered(&self, event: &Event, step: &mut ReplayStep) {
        match event {
            Event::Answered { tree, step: name, question, answer } => {
                step.kind = StepKind::Answered;
                step.tree = Some(TreePlace { tree: tree.clone(), step: name.clone() });
                (step.asked, step.found) = (question.clone(), answer.clone());
                step.said = format!("answered: {answer}");
                step.asked_by = Some(Speaker::Tree);
            }
            Event::Skipped { measurement, reason } => {
                (step.kind, step.asked) = (StepKind::Skipped, self.measured(measurement));
                step.measurement = Some(measurement.clone());
                step.said = format!("not done: {reason}");
            }
            Event::Chosen { measurement } => {
                (step.kind, step.asked) = (StepKind::Chosen, self.measured(measurement));
                step.measurement = Some(measurement.clone());
                "another reading was chosen instead".clone_into(&mut step.said);
            }
            _ => {}
        }
    }
}

/// Tells what ends a search or a job.
fn finished(event: &Event, step: &mut ReplayStep) {
    let (kind, said) = match event {
        Event::Concluded { sentence, probability, .. } => {
            (StepKind::Named, format!("named, at {}: {sentence}", show_percent(*probability)))
        }
        Event::Repaired { what, minutes } => {
            (StepKind::Repaired, format!("repaired in {minutes:.0} min: {what}"))
        }
        Event::SearchedOn { remains, .. } if remains.is_empty() => {
            (StepKind::SearchedOn, "not cured, the search goes on".to_owned())
        }
        Event::SearchedOn { remains, .. } => {
            (StepKind::SearchedOn, format!("not cured, the search goes on: {remains}"))
        }
        Event::Closed { outcome: Outcome::Cured } => (StepKind::Closed, "closed as cured".to_owned()),
        Event::Closed { outcome: Outcome::Unproven { reason } } => {
            (StepKind::Closed, format!("closed unproven: {reason}"))
        }
        _ => return,
    };
    (step.kind, step.said) = (kind, said);
}

/// Tells what moves no suspect.
fn small(event: &Event, step: &mut ReplayStep) {
    step.said = match event {
        Event::Started { intake, .. } => {
            step.kind = StepKind::Started;
            format!("opened: {}", intake.complaint)
        }
        Event::Known { part, typed, .. } => {
            step.kind = StepKind::Known;
            format!("{part} is known: {typed}")
        }
        Event::AccessChanged { access } => format!("access from now on: {}", access.name()),
        Event::CautionSeen { text, .. } => format!("caution read: {text}"),
        Event::Opened { place } => format!("opened the place: {place}"),
        Event::TreeUsed { tree, .. } => format!("another tree put to use: {tree}"),
        _ => return,
    };
}

/// Tells what is only about paper.
fn on_paper(event: &Event, step: &mut ReplayStep) {
    step.said = match event {
        Event::Estimated { estimate: Estimate { lines, ceiling, currency, .. } } => {
            let [sum, most] = [total(lines), *ceiling].map(|money| show_price(money, currency));
            format!("estimate: {sum}, at most {most}")
        }
        Event::Authorised { by, how, ceiling, currency } => {
            format!("{by} agreed {} to {} at most", how.words(), show_price(*ceiling, currency))
        }
        Event::Billed { total, currency, .. } => format!("bill: {}", show_price(*total, currency)),
        Event::PhotoAdded { file, caption, .. } if caption.is_empty() => format!("photo: {file}"),
        Event::PhotoAdded { file, caption, .. } => format!("photo: {caption} ({file})"),
        Event::WarrantyOf { job, why, .. } => format!("comeback of {job}: {why}"),
        _ => return,
    };
}

/// Tells what is taken back or brought back.
fn turned(event: &Event, before: Option<&Job>, after: &Job, step: &mut ReplayStep) {
    let (what, number) = match event {
        Event::Undone => ("taken back", before.and_then(last_counting)),
        Event::Redone => ("brought back", last_counting(after)),
        _ => return,
    };
    step.kind = StepKind::TakenBack;
    step.said = number.map_or_else(|| what.to_owned(), |number| format!("{what}: step {number}"));
}

impl Band {
    /// Returns what a healthy instrument shows, in words: an answer, whether it beeps, or the ends of the band.
    pub fn in_words(&self, mode: Mode, meter: &Meter) -> String {
        let level = |end: Ohms| Level::of(self.dial, end.get(), 0.0).words();
        let words = |end: Option<Ohms>| end.map_or_else(|| "over range".to_owned(), level);
        match (mode, self.said) {
            (_, Some(said)) => echo(&Shown::Said(said)),
            (Mode::Continuity, None) => self.beep_in_words(meter).to_owned(),
            _ => match (words(self.low), words(self.high)) {
                (low, high) if low == high => low,
                (low, high) => format!("{low} to {high}"),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::sample::{any_records, band, read, reading, record, started};
    use super::*;
    use proptest::prelude::*;

    fn replayed(events: Vec<Event>) -> Vec<ReplayStep> {
        let records = std::iter::once(started()).chain(events.into_iter().map(record)).collect();
        Replay::of(&Job::replay(records).unwrap()).steps
    }

    #[test]
    fn what_was_taken_back_says_so_and_what_was_corrected_too() {
        let corrected = Event::Corrected {
            id: ReadingId(1),
            reading: reading(10, 470.0),
            healthy: band(6050.0),
            leaders: vec![],
        };
        let steps = replayed(vec![
            read(1, 10, 6050.0),
            corrected,
            Event::Undone,
            Event::Redone,
            read(2, 9, 1.0),
            Event::Undone,
        ]);
        let said: Vec<&str> = steps.iter().map(|step| step.said.as_str()).collect();
        assert_eq!(said[3], "taken back: step 3");
        assert_eq!(said[4], "brought back: step 3");
        assert_eq!(said[6], "taken back: step 6");
        assert_eq!(steps[1].later, ["corrected later to 470"]);
        let paper = Event::Authorised {
            by: "the owner".to_owned(),
            how: crate::job::Consent::InPerson,
            ceiling: crate::units::Money::hundredths(4000),
            currency: String::new(),
        };
        let taken_back = |events: Vec<Event>| {
            let records = std::iter::once(started()).chain(events.into_iter().map(record)).collect();
            turned_back(&Job::replay(records).unwrap())
        };
        let told = taken_back(vec![read(1, 10, 6050.0), paper.clone(), Event::Undone]).unwrap();
        assert!(told.starts_with("Taken back: the owner agreed") && told.contains("40.00"), "{told}");
        let told = taken_back(vec![paper.clone(), Event::Undone, Event::Redone]).unwrap();
        assert!(told.starts_with("Brought back: the owner agreed"), "{told}");
        assert_eq!(taken_back(vec![paper]), None);
        let counts: Vec<bool> = steps.iter().map(|step| step.counts).collect();
        assert_eq!(counts, [true, true, true, true, true, false, true]);
        assert_eq!((steps[1].before.len(), steps[2].after.len(), steps[3].after.len()), (1, 0, 1));
        assert_eq!(steps[1].asked_by, Some(Speaker::Tree));
        assert!(steps[1].asked.contains("plug.tip to plug.sleeve"), "{}", steps[1].asked);
    }

    proptest! {
        #[test]
        fn every_event_of_any_job_is_one_step_and_says_something(records in any_records()) {
            let mut job = Job::replay(vec![started()]).unwrap();
            for mut record in records {
                if let Event::Read { id, .. } = &mut record.event {
                    *id = job.next_reading_id();
                }
                let _ = job.push(record);
            }
            let steps = Replay::of(&job).steps;
            prop_assert_eq!(steps.len(), job.records().len());
            prop_assert_eq!(&steps[steps.len() - 1].after, &job.leaders().to_vec());
            for (step, record) in steps.iter().zip(job.records()) {
                prop_assert!(!step.said.is_empty());
                prop_assert_eq!(&step.at, &record.at);
            }
            let counting = steps.iter().filter(|step| step.counts && step.kind != StepKind::TakenBack);
            prop_assert_eq!(counting.count(), job.counting().count());
        }
    }
}
