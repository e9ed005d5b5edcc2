//! What can be wrong with a job's events or with their text.

use super::ReadingId;

/// Why a list of events is not a job.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum JobError {
    /// There is no event at all.
    #[error("cannot replay the job: it holds no events\nhint: a job begins with a started event")]
    Empty,
    /// The job was written in a format this program does not know.
    #[error(
        "cannot replay the job: its format is {found}, this program reads format 1\n\
         hint: open it with the program that wrote it, or with a newer one"
    )]
    Format {
        /// The format found.
        found: u32,
    },
    /// One event does not fit what came before it.
    #[error("cannot replay event {number} of the job: {why}")]
    Event {
        /// Which event; the first is 1.
        number: usize,
        /// Why it does not fit.
        why: Refusal,
    },
    /// One line of the text cannot be understood.
    #[error("cannot read line {line} of the job, column {column}: {message}\nhint: {hint}")]
    Line {
        /// Line number; the first is 1.
        line: usize,
        /// Column number; the first is 1.
        column: usize,
        /// What was found.
        message: String,
        /// What would mend it.
        hint: String,
    },
    /// An event cannot be written as text.
    #[error("cannot write the event as a line: {why}")]
    Unwritable {
        /// The reason given by the writer.
        why: String,
    },
}

/// Why one event does not fit what came before it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Refusal {
    /// The first event is something else.
    #[error("a job begins with a started event, this one begins otherwise")]
    NotStarted,
    /// The job was started already.
    #[error("the job was started already; a job has one started event, the first")]
    StartedTwice,
    /// There is nothing to undo.
    #[error("it undoes, but no event is left to undo")]
    NothingToUndo,
    /// There is nothing to redo.
    #[error("it redoes, but no event was undone just before")]
    NothingToRedo,
    /// The number of a new reading does not follow.
    #[error("it numbers its reading {}, the next number is {}", found.0, expected.0)]
    Number {
        /// The number it has.
        found: ReadingId,
        /// The number it should have.
        expected: ReadingId,
    },
    /// It names a reading the job does not have.
    #[error("it names reading {}, which the job does not have", id.0)]
    Unknown {
        /// The number it names.
        id: ReadingId,
    },
    /// It changes a reading that was withdrawn.
    #[error("it changes reading {}, which was withdrawn", id.0)]
    Withdrawn {
        /// The number it names.
        id: ReadingId,
    },
    /// It searches on, but no fault was named and repaired since the search began.
    #[error("it searches on after a repair, but no named fault was repaired")]
    NotRepaired,
    /// It comes after the job was closed.
    #[error("the job is closed; only a bill, a photo, or undoing the closing can follow")]
    Closed,
}
