//! What can happen in a job. Events are appended, never rewritten.

use serde::{Deserialize, Serialize};

use super::{Consent, Estimate, PriceLine, Tone};
use crate::readings::{Access, Dial, Measurement, Meter, Reading, Said, Symptom};
use crate::units::{Money, Ohms};

/// One line of a job file: when it happened and what happened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Record {
    /// When, as RFC 3339 text in UTC, such as `2026-03-02T09:14:05Z`.
    pub at: String,
    /// What happened.
    pub event: Event,
}

/// Identifies a reading within its job; the first is 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ReadingId(pub u32);

/// Who asked for a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Speaker {
    /// An authored tree.
    Tree,
    /// The advisor.
    Advisor,
    /// The technician's own choice.
    Technician,
}

/// The span in which 95 readings of 100 fall if the instrument is as the hypothesis says.
///
/// The numbers are in the unit of the dial; an observation has none, but an answer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Band {
    /// The expected value; `None` when it is over range.
    pub ohms: Option<Ohms>,
    /// The lower end; `None` when even that is over range.
    pub low: Option<Ohms>,
    /// The upper end; `None` when it is over range.
    pub high: Option<Ohms>,
    /// What the numbers are numbers of.
    #[serde(default, skip_serializing_if = "Dial::is_ohms")]
    pub dial: Dial,
    /// The answer that is expected to an observation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub said: Option<Said>,
}

impl Band {
    /// Returns whether a meter's beeper sounds anywhere in the band; `None` where it may do either.
    pub fn beeps(&self, meter: &Meter) -> Option<bool> {
        let (sounds, silent) = meter.beep;
        match (self.low, self.high) {
            (_, Some(high)) if high < sounds => Some(true),
            (None, _) => Some(false),
            (Some(low), _) if low > silent => Some(false),
            _ => None,
        }
    }

    /// Returns what a meter's beeper does over the band, in words.
    pub fn beep_in_words(&self, meter: &Meter) -> &'static str {
        match self.beeps(meter) {
            Some(true) => "beep",
            Some(false) => "no beep",
            None => "beep or no beep, it depends on the meter",
        }
    }
}

/// How one group of suspects stood at a moment, kept so that an old job replays the same for ever.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Standing {
    /// Probability of the group, 0 to 1.
    pub probability: f64,
    /// A plain sentence.
    pub sentence: String,
    /// The fault ids in it.
    pub faults: Vec<String>,
}

/// What is known when the instrument comes in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Intake {
    /// The name of the wiring.
    pub wiring: String,
    /// The wiring file's whole text, so that the job opens the same after the file has changed.
    pub wiring_text: String,
    /// The whole text of the shop's own priors, for the same reason; none when those of the program were used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub priors_text: Option<String>,
    /// The whole texts of the shop's own trees, for the same reason.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub trees_text: Vec<String>,
    /// The instrument in the shop's words, such as `school loan guitar no. 4`.
    pub instrument: String,
    /// The customer, as much as the shop wants to keep; may be empty.
    #[serde(default)]
    pub customer: String,
    /// The complaint in the customer's words.
    pub complaint: String,
    /// What the complaint means.
    pub symptoms: Vec<Symptom>,
    /// What was done to the instrument last, such as `new strings` or `rewired by its owner`.
    #[serde(default)]
    pub last_done: String,
    /// How far the technician may go.
    pub access: Access,
    /// Name of the meter class, as in [`crate::readings::Meter::named`].
    pub meter: String,
    /// Who works on it; may be empty.
    #[serde(default)]
    pub technician: String,
}

/// How a job ended.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Every proof reading was taken and lies in its healthy band.
    Cured,
    /// Closed without full proof, with the reason.
    Unproven {
        /// Why the proof is missing.
        reason: String,
    },
}

/// What happened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Event {
    /// The job was opened. Always the first event.
    Started {
        /// Version of the job file; this program writes 1.
        format: u32,
        /// What is known.
        intake: Box<Intake>,
        /// How the suspects stood from the complaint alone.
        leaders: Vec<Standing>,
    },
    /// How far the technician may go was changed.
    AccessChanged {
        /// From now on.
        access: Access,
    },
    /// A caution was read and acknowledged.
    CautionSeen {
        /// Which caution.
        key: String,
        /// Its text at that time.
        text: String,
    },
    /// A place was opened.
    Opened {
        /// The place's name.
        place: String,
    },
    /// A part's own value is known, from an earlier job, a data sheet or a reading of the part alone.
    Known {
        /// The part's name.
        part: String,
        /// The text as it was typed.
        typed: String,
        /// What it means in the unit of the dial, referred to 20 °C for a coil.
        ohms: Ohms,
        /// What the number is a number of.
        #[serde(default, skip_serializing_if = "Dial::is_ohms")]
        dial: Dial,
    },
    /// A reading was taken.
    Read {
        /// Its number in the job.
        id: ReadingId,
        /// The reading.
        reading: Reading,
        /// Who asked for it.
        asked_by: Speaker,
        /// What a healthy instrument would have read.
        healthy: Band,
        /// How the suspects stood after it.
        leaders: Vec<Standing>,
        /// Estimated hands-on seconds, including opening.
        seconds: f64,
    },
    /// An earlier reading was replaced because it was wrong.
    Corrected {
        /// Which reading.
        id: ReadingId,
        /// What it should have been.
        reading: Reading,
        /// What a healthy instrument would have read.
        healthy: Band,
        /// How the suspects stood after it.
        leaders: Vec<Standing>,
    },
    /// An earlier reading was withdrawn.
    Withdrawn {
        /// Which reading.
        id: ReadingId,
        /// Why.
        reason: String,
        /// How the suspects stood after it.
        leaders: Vec<Standing>,
    },
    /// The technician put another measurement on the screen instead of the proposed one.
    Chosen {
        /// Which.
        measurement: Measurement,
    },
    /// A proposed reading cannot or will not be done.
    Skipped {
        /// Which.
        measurement: Measurement,
        /// Why.
        reason: String,
    },
    /// A question of a tree was answered: something looked at, listened to or asked.
    Answered {
        /// The tree's name.
        tree: String,
        /// The step's name.
        step: String,
        /// The question as it was shown.
        question: String,
        /// The answer chosen.
        answer: String,
    },
    /// Another tree than before was put to use, such as one that was changed since the job began.
    TreeUsed {
        /// The tree's name; it takes the place of the tree that was called so.
        tree: String,
        /// The tree file's whole text.
        text: String,
    },
    /// The technician named the fault.
    Concluded {
        /// The fault ids of the group.
        faults: Vec<String>,
        /// A plain sentence.
        sentence: String,
        /// Its probability at that moment.
        probability: f64,
        /// What is to be done.
        repair: String,
        /// Estimated minutes of the repair.
        minutes: f64,
        /// How it sounds beside a healthy instrument; jobs from before this was kept have none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        tone: Option<Box<Tone>>,
        /// The part values that the readings had found, in sentences; jobs from before this was kept have none.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        found: Vec<String>,
    },
    /// The repair was done.
    Repaired {
        /// What was done, in the technician's words.
        what: String,
        /// Minutes it took.
        minutes: f64,
    },
    /// A proof reading was taken after the repair.
    Proved {
        /// The reading.
        reading: Reading,
        /// The healthy band.
        healthy: Band,
        /// Whether it lies in the band.
        passed: bool,
    },
    /// The repair did not cure the instrument, and the search goes on: what was read before it belongs to the instrument
    /// with the repaired fault in it, what is read from the proof on to the mended one.
    SearchedOn {
        /// What is still wrong, in the customer's words; empty when only a proof reading says so.
        remains: String,
        /// What these words mean.
        symptoms: Vec<Symptom>,
        /// How the suspects stood after it.
        leaders: Vec<Standing>,
    },
    /// What the work will cost was said to the customer.
    Estimated {
        /// What it says.
        estimate: Estimate,
    },
    /// The customer agreed to a ceiling.
    Authorised {
        /// Who agreed.
        by: String,
        /// How.
        how: Consent,
        /// What may be spent at most.
        ceiling: Money,
        /// The currency; may be empty.
        #[serde(default)]
        currency: String,
    },
    /// What the customer is to pay.
    Billed {
        /// The lines, in order.
        lines: Vec<PriceLine>,
        /// The sum.
        total: Money,
        /// The currency; may be empty.
        #[serde(default)]
        currency: String,
    },
    /// A photo was put beside the job.
    PhotoAdded {
        /// The name of its file in the folder beside the job.
        file: String,
        /// Its BLAKE3 checksum in hexadecimal digits.
        checksum: String,
        /// Its length in bytes.
        size: u64,
        /// What it shows.
        caption: String,
        /// Whether it is printed on the ticket.
        print: bool,
    },
    /// The job is a comeback of an earlier one.
    WarrantyOf {
        /// The earlier job's file name.
        job: String,
        /// When the earlier job was opened.
        opened: String,
        /// Why this one belongs to it.
        why: String,
    },
    /// The job was closed.
    Closed {
        /// How.
        outcome: Outcome,
    },
    /// The last event that still counts no longer counts.
    Undone,
    /// The last undone event counts again.
    Redone,
}

impl Event {
    /// Returns whether it is only about paper: prices, consent, photos, an earlier job.
    pub(super) fn is_paper(&self) -> bool {
        matches!(
            self,
            Self::Estimated { .. }
                | Self::Authorised { .. }
                | Self::Billed { .. }
                | Self::PhotoAdded { .. }
                | Self::WarrantyOf { .. }
        )
    }

    /// Returns whether it may still come when the job is closed.
    pub(super) fn after_closing(&self) -> bool {
        matches!(self, Self::Billed { .. } | Self::PhotoAdded { .. })
    }
}
