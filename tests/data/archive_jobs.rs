//! Invented jobs for the tests of the archive.

#![allow(dead_code, reason = "each test file uses its own part")]

use lugwise::archive::{Archive, uid_of};
use lugwise::job::{Band, Event, Intake, Outcome, ReadingId, Record, Speaker, Standing};
use lugwise::readings::{Access, Level, Measurement, Reading, Setting, Shown, Symptom};
use lugwise::units::Ohms;

/// The moment at which every archive of the tests is made.
pub const NOW: &str = "2026-06-01T12:00:00Z";

/// What a test's job is about.
#[derive(Clone)]
pub struct Visit {
    pub at: String,
    pub wiring: &'static str,
    pub instrument: String,
    pub customer: String,
    pub technician: &'static str,
    pub complaint: String,
    pub symptoms: Vec<Symptom>,
}

impl Default for Visit {
    fn default() -> Self {
        Self {
            at: "2026-03-02T09:14:05Z".to_owned(),
            wiring: "one-pickup",
            instrument: "invented guitar".to_owned(),
            customer: String::new(),
            technician: "",
            complaint: "no sound".to_owned(),
            symptoms: vec![Symptom::Silent],
        }
    }
}

impl Visit {
    /// The first event, with two suspects that are equally likely.
    pub fn started(&self) -> Record {
        let intake = Intake {
            wiring: self.wiring.to_owned(),
            wiring_text: "(...)".to_owned(),
            priors_text: None,
            trees_text: Vec::new(),
            instrument: self.instrument.clone(),
            customer: self.customer.clone(),
            complaint: self.complaint.clone(),
            symptoms: self.symptoms.clone(),
            last_done: String::new(),
            access: Access::Outside,
            meter: "handheld".to_owned(),
            technician: self.technician.to_owned(),
        };
        let leaders = vec![standing(0.5, "pickup/coil open"), standing(0.5, "jack.tip/joint open")];
        record(&self.at, Event::Started { format: 1, intake: Box::new(intake), leaders })
    }
}

pub fn record(at: &str, event: Event) -> Record {
    Record { at: at.to_owned(), event }
}

pub fn standing(probability: f64, fault: &str) -> Standing {
    Standing { probability, sentence: format!("suspect {fault}"), faults: vec![fault.to_owned()] }
}

pub fn opened(place: &str) -> Event {
    Event::Opened { place: place.to_owned() }
}

pub fn measurement(red: &str, black: &str) -> Measurement {
    Measurement::ohms(red, black, Setting::default())
}

/// A reading between two terminals, after which the first suspect has this probability and the second the rest.
pub fn read(id: u32, red: &str, black: &str, seconds: f64, probability: f64) -> Event {
    let level = Level::Ohms { value: Ohms::new(6050.0), resolution: Ohms::new(10.0) };
    Event::Read {
        id: ReadingId(id),
        reading: Reading {
            measurement: measurement(red, black),
            typed: "6.05k".to_owned(),
            shown: Shown::Steady(level),
        },
        asked_by: Speaker::Advisor,
        healthy: Band { ohms: Some(Ohms::new(6050.0)), ..Band::default() },
        leaders: vec![
            standing(probability, "pickup/coil open"),
            standing(1.0 - probability, "jack.tip/joint open"),
        ],
        seconds,
    }
}

pub fn concluded(faults: &[&str], probability: f64) -> Event {
    Event::Concluded {
        faults: faults.iter().map(|fault| (*fault).to_owned()).collect(),
        sentence: format!("it is {}", faults[0]),
        probability,
        repair: "solder it".to_owned(),
        minutes: 15.0,
        tone: None,
        found: vec![],
    }
}

pub fn repaired(what: &str, minutes: f64) -> Event {
    Event::Repaired { what: what.to_owned(), minutes }
}

pub fn cured() -> Event {
    Event::Closed { outcome: Outcome::Cured }
}

pub fn unproven(reason: &str) -> Event {
    Event::Closed { outcome: Outcome::Unproven { reason: reason.to_owned() } }
}

/// Puts a job into an archive, every event at the moment it was opened but for the last, and returns its name.
pub fn put(archive: &mut Archive, visit: &Visit, closed_at: &str, events: Vec<Event>) -> String {
    let first = visit.started();
    let uid = uid_of(&first).unwrap();
    let last = events.len();
    let rest = events.into_iter().zip(1..).map(|(event, number)| {
        let at = if number == last { closed_at } else { visit.at.as_str() };
        record(at, event)
    });
    let all: Vec<Record> = std::iter::once(first).chain(rest).collect();
    archive.append(&uid, 0, &all).unwrap();
    uid
}
