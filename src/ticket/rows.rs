//! What stands in a ticket: words and numbers, nothing of how they are set.

use super::Papers;
use crate::draw::Picture;

/// A job told for people: every text as it was written, nothing escaped.
#[derive(Clone, Debug, PartialEq)]
pub struct Ticket {
    /// The instrument in the shop's words.
    pub instrument: String,
    /// What was known at the start, as pairs of a name and its words, in order.
    pub facts: Vec<(&'static str, String)>,
    /// The complaint in the customer's words.
    pub complaint: String,
    /// The readings in order, corrected and withdrawn ones included.
    pub findings: Vec<Finding>,
    /// The questions answered, in order.
    pub asked: Vec<Asked>,
    /// What was proposed and not done, in order.
    pub not_done: Vec<NotDone>,
    /// How the suspects stood, from the complaint alone to the last reading.
    pub narrowing: Vec<Narrowing>,
    /// The faults that were named and repaired before the search went on, in order.
    pub rounds: Vec<Round>,
    /// The fault as it was named.
    pub fault: Option<Fault>,
    /// How the named fault sounds beside a healthy instrument, where the job keeps it.
    pub sound: Option<Sound>,
    /// What was done about it.
    pub repair: Option<Repair>,
    /// The proof readings.
    pub proofs: Vec<Proof>,
    /// The cautions acknowledged, in order.
    pub cautions: Vec<Caution>,
    /// Prices, consent, photos and the earlier job.
    pub papers: Papers,
    /// How the job was closed; `None` while it is open.
    pub outcome: Option<Outcome>,
    /// Hands-on minutes estimated for the readings.
    pub minutes: f64,
    /// The moment of the last thing that was recorded, as the job keeps it.
    pub last: String,
    /// The wiring with the fault marked, or with the leading suspects while none is named.
    pub picture: Picture,
}

/// One reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Its number.
    pub number: u32,
    /// When.
    pub at: String,
    /// Where the probes were and how the controls stood.
    pub sentence: String,
    /// Who asked for it.
    pub asked_by: &'static str,
    /// What a healthy instrument reads.
    pub expected: String,
    /// What was found, as it was typed.
    pub typed: String,
    /// What was found, as it was understood.
    pub found: String,
    /// What was typed before it was corrected, the first entry first.
    pub earlier: Vec<String>,
    /// Why it was withdrawn; `None` while it counts.
    pub withdrawn: Option<String>,
}

/// One question with its answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    /// When.
    pub at: String,
    /// The question as it was shown.
    pub question: String,
    /// The answer chosen.
    pub answer: String,
}

/// One proposed reading that was not done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotDone {
    /// Where the probes would have been.
    pub sentence: String,
    /// Why it was not done.
    pub reason: String,
}

/// How the suspects stood at one moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Narrowing {
    /// After what: `the complaint`, `reading 2`, `correcting reading 2`.
    pub after: String,
    /// The leading suspects, at most three, most probable first.
    pub leaders: Vec<Suspect>,
}

/// One group of suspects at one moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspect {
    /// A plain sentence.
    pub sentence: String,
    /// Its probability, 0 to 1.
    pub probability: f64,
}

/// The fault as it was named.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// When.
    pub at: String,
    /// A plain sentence.
    pub sentence: String,
    /// The fault ids of the group.
    pub ids: Vec<String>,
    /// Where along a conductor they can be, when all of them are on one: `at one of its two ends`.
    pub along: Option<&'static str>,
    /// Its probability at that moment, 0 to 1.
    pub probability: f64,
    /// What was to be done.
    pub advice: String,
    /// Estimated minutes of the repair.
    pub minutes: f64,
}

/// A fault that was named and repaired, and that was not all that was wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct Round {
    /// The fault as it was named.
    pub fault: Fault,
    /// What was done about it.
    pub repair: Repair,
    /// The proof readings that failed after it.
    pub failed: Vec<Proof>,
    /// What was still wrong, in the customer's words; empty when only a proof reading said so.
    pub remains: String,
    /// When the search went on.
    pub at: String,
}

/// How a fault sounds beside a healthy instrument.
#[derive(Clone, Debug, PartialEq)]
pub struct Sound {
    /// The difference in words.
    pub sentence: String,
    /// The same as a sentence for the customer.
    pub heard: String,
    /// Where the controls stand, and what the instrument plays into.
    pub into: String,
    /// A few frequencies with the healthy and the faulty level, each in words.
    pub levels: Vec<[String; 3]>,
    /// Both curves.
    pub plot: Picture,
}

/// The repair as it was done.
#[derive(Clone, Debug, PartialEq)]
pub struct Repair {
    /// When.
    pub at: String,
    /// What was done, in the technician's words.
    pub what: String,
    /// Minutes it took.
    pub minutes: f64,
}

/// One proof reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Proof {
    /// When.
    pub at: String,
    /// Where the probes were and how the controls stood.
    pub sentence: String,
    /// How the controls stood, with which the sentence ends; may be empty.
    pub controls: String,
    /// What a healthy instrument reads.
    pub expected: String,
    /// What was found, as it was typed.
    pub typed: String,
    /// What was found, as it was understood.
    pub found: String,
    /// Whether it lies in the healthy band.
    pub passed: bool,
    /// What was typed for it since the repair before it was taken again, the first entry first.
    pub earlier: Vec<String>,
}

/// One caution that was acknowledged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Caution {
    /// When.
    pub at: String,
    /// Its text at that time.
    pub text: String,
}

/// How the job was closed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outcome {
    /// When.
    pub at: String,
    /// Whether every proof reading was taken and passed.
    pub cured: bool,
    /// Why the proof is missing; empty when cured.
    pub reason: String,
}
