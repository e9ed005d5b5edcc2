//! What a job comes to, in one row.

use rusqlite::Row;
use serde::Serialize;

use super::fault_words::{family, kind, place};
use crate::job::{Event, Job, Outcome, Record};

/// How a job stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Ending {
    /// It is not closed.
    Open,
    /// It was closed with every proof reading in its band.
    Cured,
    /// It was closed without full proof.
    Unproven,
}

impl Ending {
    /// Every ending, in the order in which they are listed anywhere.
    pub const ALL: [Self; 3] = [Self::Open, Self::Cured, Self::Unproven];

    /// Returns the name used on the command line and in the archive.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Cured => "cured",
            Self::Unproven => "unproven",
        }
    }

    fn named(name: &str) -> Self {
        Self::ALL.into_iter().find(|ending| ending.name() == name).unwrap_or(Self::Open)
    }
}

/// A fault as it was named.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Named {
    /// The id of the first fault of the group.
    pub fault: String,
    /// The suspect's plain sentence when it was named; empty where the archive is of an older program and may not be
    /// written.
    pub sentence: String,
    /// How it fails, without any name of one wiring.
    pub kind: String,
    /// The terminal, part or conductor.
    pub place: String,
    /// The sort of thing that fails.
    pub family: String,
    /// The probability of the group when it was named, 0 to 1.
    pub probability: f64,
}

impl Named {
    /// Returns the fault in words: the sentence, or the id where there is none.
    pub fn words(&self) -> &str {
        if self.sentence.trim().is_empty() { &self.fault } else { self.sentence.trim() }
    }
}

/// What a job comes to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Summary {
    /// The job's name in every archive.
    pub uid: String,
    /// The name of the wiring.
    pub wiring: String,
    /// The instrument in the shop's words.
    pub instrument: String,
    /// The customer.
    pub customer: String,
    /// Who worked on it.
    pub technician: String,
    /// The complaint in the customer's words.
    pub complaint: String,
    /// What the complaint means, by the names of the symptoms.
    pub symptoms: Vec<String>,
    /// When it was opened.
    pub opened_at: String,
    /// When it was closed.
    pub closed_at: Option<String>,
    /// Estimated hands-on minutes of all readings.
    pub search_minutes: f64,
    /// Minutes of all repairs.
    pub repair_minutes: f64,
    /// The fault that was named first.
    pub first: Option<Named>,
    /// The fault that was named last.
    pub last: Option<Named>,
    /// Whether the last named group has no fault of the first in it.
    pub renamed: bool,
    /// How it stands.
    pub ending: Ending,
    /// Why the proof is missing.
    pub reason: String,
    /// How many readings were taken.
    pub readings: u32,
    /// How many measurements were skipped and not taken later.
    pub skipped: u32,
    /// How many repairs did not cure.
    pub rounds: u32,
    /// What the repair cost, in the smallest unit of the shop's money: the last bill, or what was told by hand.
    pub price: Option<i64>,
    /// The earlier job under whose warranty it was done.
    pub warranty_of: Option<String>,
    /// The job whose log this one departs from: the same job, gone on with in two places.
    pub diverged_from: Option<String>,
    /// When the customer was taken out of it.
    pub removed_at: Option<String>,
}

/// The columns that make a [`Summary`], with the job's row as `j` and the summary's as `s`.
pub(super) const COLUMNS: &str = "j.uid, j.price, j.warranty_of, j.diverged_from, j.removed_at, s.*";

impl Summary {
    /// Returns what a job comes to; price and warranty are kept with the job itself, for they may be told by hand.
    pub(super) fn of(uid: &str, job: &Job) -> Self {
        let intake = job.intake();
        let named = namings(job);
        let (ending, reason) = ending(job);
        Self {
            uid: uid.to_owned(),
            wiring: intake.wiring.clone(),
            instrument: intake.instrument.clone(),
            customer: intake.customer.clone(),
            technician: intake.technician.trim().to_owned(),
            complaint: intake.complaint.clone(),
            symptoms: intake.symptoms.iter().map(|symptom| symptom.name().to_owned()).collect(),
            opened_at: job.records().first().map_or_else(String::new, |record| record.at.clone()),
            closed_at: job.closed().map(|closing| closing.at.clone()),
            search_minutes: job.readings().iter().map(|taken| taken.seconds).sum::<f64>() / 60.0,
            repair_minutes: repair_minutes(job),
            first: named.first().map(Naming::told),
            last: named.last().map(Naming::told),
            renamed: renamed(&named),
            ending,
            reason,
            readings: small(job.readings().len()),
            skipped: small(job.skipped().len()),
            rounds: small(job.rounds().len()),
            price: None,
            warranty_of: None,
            diverged_from: None,
            removed_at: None,
        }
    }

    /// Returns all minutes, search and repair.
    pub fn minutes(&self) -> f64 {
        self.search_minutes + self.repair_minutes
    }

    /// Reads a row of [`COLUMNS`].
    pub(super) fn row(row: &Row<'_>) -> rusqlite::Result<Self> {
        let symptoms: String = row.get("symptoms")?;
        let ending: String = row.get("ending")?;
        Ok(Self {
            uid: row.get("uid")?,
            wiring: row.get("wiring")?,
            instrument: row.get("instrument")?,
            customer: row.get("customer")?,
            technician: row.get("technician")?,
            complaint: row.get("complaint")?,
            symptoms: symptoms.split(',').filter(|name| !name.is_empty()).map(str::to_owned).collect(),
            opened_at: row.get("opened_at")?,
            closed_at: row.get("closed_at")?,
            search_minutes: row.get("search_minutes")?,
            repair_minutes: row.get("repair_minutes")?,
            first: named_in(row, "first")?,
            last: named_in(row, "last")?,
            renamed: row.get("renamed")?,
            ending: Ending::named(&ending),
            reason: row.get("reason")?,
            readings: row.get("readings")?,
            skipped: row.get("skipped")?,
            rounds: row.get("rounds")?,
            price: row.get("price")?,
            warranty_of: row.get("warranty_of")?,
            diverged_from: row.get("diverged_from")?,
            removed_at: row.get("removed_at")?,
        })
    }
}

/// Returns a number of things as it is kept.
pub(super) fn small(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

/// A naming as it stands in the events.
struct Naming<'a> {
    faults: &'a [String],
    sentence: &'a str,
    probability: f64,
}

impl Naming<'_> {
    fn told(&self) -> Named {
        let fault = self.faults.first().cloned().unwrap_or_default();
        let kind = kind(&fault);
        Named {
            place: place(&fault),
            family: family(&kind).to_owned(),
            kind,
            fault,
            sentence: self.sentence.to_owned(),
            probability: self.probability,
        }
    }
}

fn namings(job: &Job) -> Vec<Naming<'_>> {
    job.counting().filter_map(naming).collect()
}

fn naming(record: &Record) -> Option<Naming<'_>> {
    match &record.event {
        Event::Concluded { faults, sentence, probability, .. } => {
            Some(Naming { faults, sentence, probability: *probability })
        }
        _ => None,
    }
}

fn renamed(named: &[Naming<'_>]) -> bool {
    match (named.first(), named.last()) {
        (Some(first), Some(last)) => !first.faults.iter().any(|fault| last.faults.contains(fault)),
        _ => false,
    }
}

fn repair_minutes(job: &Job) -> f64 {
    let earlier = job.rounds().iter().map(|round| round.repaired.minutes);
    earlier.chain(job.repaired().map(|repair| repair.minutes)).sum()
}

fn ending(job: &Job) -> (Ending, String) {
    match job.closed().map(|closing| &closing.outcome) {
        None => (Ending::Open, String::new()),
        Some(Outcome::Cured) => (Ending::Cured, String::new()),
        Some(Outcome::Unproven { reason }) => (Ending::Unproven, reason.clone()),
    }
}

fn named_in(row: &Row<'_>, which: &str) -> rusqlite::Result<Option<Named>> {
    let column = |what: &str| format!("{which}_{what}");
    let Some(fault) = row.get::<_, Option<String>>(column("fault").as_str())? else {
        return Ok(None);
    };
    Ok(Some(Named {
        fault,
        sentence: row.get(column("sentence").as_str()).unwrap_or_default(),
        kind: row.get(column("kind").as_str())?,
        place: row.get(column("place").as_str())?,
        family: row.get(column("family").as_str())?,
        probability: row.get(column("probability").as_str())?,
    }))
}
