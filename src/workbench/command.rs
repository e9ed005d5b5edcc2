//! What window and command line can ask the workbench to do.

use crate::job::{Consent, Estimate, Outcome, PriceLine, ReadingId};
use crate::readings::{Access, Measurement, Symptom};
use crate::units::Money;

/// One thing a person can do.
#[derive(Clone, Debug, PartialEq)]
pub enum Command {
    /// Record a reading from typed text; `None` means the reading that is being asked for.
    Record {
        /// The text as it was typed.
        text: String,
        /// What was measured, when it is not the step on the screen.
        measurement: Option<Measurement>,
    },
    /// Say that a part's own value is known.
    Know {
        /// The part's name.
        part: String,
        /// The value as it was typed, such as `8.1k`.
        text: String,
        /// How warm the part was, in degrees Celsius.
        celsius: f64,
    },
    /// Answer the question on the screen with one of its answers.
    Answer {
        /// Index of the answer.
        answer: usize,
    },
    /// Replace an earlier reading.
    Correct {
        /// Which.
        id: ReadingId,
        /// The right text.
        text: String,
    },
    /// Withdraw an earlier reading.
    Withdraw {
        /// Which.
        id: ReadingId,
        /// Why.
        reason: String,
    },
    /// Say that the step cannot or will not be done.
    Skip {
        /// Why.
        reason: String,
    },
    /// Put another step on the screen instead: an index into the alternatives.
    Choose {
        /// Index into [`super::View::alternatives`].
        alternative: usize,
    },
    /// Take an earlier reading again: put its measurement on the screen.
    TakeAgain {
        /// Which.
        id: ReadingId,
    },
    /// Put a tree to use that is not the one of its name that leads so far, such as one that was changed since.
    UseTree {
        /// The tree file's whole text.
        text: String,
    },
    /// Change how far the technician may go.
    SetAccess(Access),
    /// Acknowledge a caution.
    SeeCaution {
        /// Which.
        key: String,
    },
    /// Name the fault: fault ids of one suspect group.
    Conclude {
        /// The fault ids.
        faults: Vec<String>,
    },
    /// Record the repair.
    Repair {
        /// What was done.
        what: String,
        /// Minutes it took.
        minutes: f64,
    },
    /// Record the next proof reading that is not yet taken, or the one at this index, which may be taken again.
    Prove {
        /// Index into [`super::View::proof`]; `None` for the next one.
        index: Option<usize>,
        /// The text as it was typed.
        text: String,
    },
    /// Go on with the search after a repair that did not cure, with all that is known.
    SearchOn {
        /// What is still wrong, in the customer's words; empty when only a proof reading says so.
        remains: String,
        /// What these words mean; read from the words when empty.
        symptoms: Vec<Symptom>,
    },
    /// Say what the work will cost.
    Estimate(Estimate),
    /// Record that the customer agreed to a ceiling.
    Authorise {
        /// Who agreed.
        by: String,
        /// How.
        how: Consent,
        /// What may be spent at most.
        ceiling: Money,
        /// The currency; that of the estimate when empty.
        currency: String,
    },
    /// Say what is to be paid.
    Bill {
        /// The lines, in order.
        lines: Vec<PriceLine>,
        /// The currency; that of the estimate when empty.
        currency: String,
    },
    /// Note a photo that lies in the folder beside the job.
    AddPhoto {
        /// The name of its file there.
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
    /// Say that the job is a comeback of an earlier one.
    LinkWarranty {
        /// The earlier job's file name.
        job: String,
        /// When the earlier job was opened.
        opened: String,
        /// Why this one belongs to it.
        why: String,
    },
    /// Close the job.
    Close(Outcome),
    /// Take back the last event.
    Undo,
    /// Bring back the last undone event.
    Redo,
}
