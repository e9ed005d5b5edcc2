//! What can be wrong with a command.

use thiserror::Error;

use super::engine::EngineError;
use crate::job::{JobError, ReadingId};
use crate::readings::EntryError;

/// Why a command was not carried out. Nothing has changed.
#[derive(Debug, Error)]
pub enum WorkbenchError {
    /// The typed text could not be understood.
    #[error("{}", .0.question())]
    Entry(EntryError),
    /// The wiring, a tree or a measurement is wrong.
    #[error(transparent)]
    Engine(#[from] EngineError),
    /// The job does not allow it.
    #[error(transparent)]
    Job(#[from] JobError),
    /// The job file's wiring text no longer loads.
    #[error("no meter class is called \"{name}\"; allowed: {allowed}")]
    Meter {
        /// The name.
        name: String,
        /// The names allowed.
        allowed: String,
    },
    /// A part's own value that cannot be taken.
    #[error("taking a known value: {because}\n  hint: {hint}")]
    Known {
        /// Why.
        because: String,
        /// What is allowed.
        hint: String,
    },
    /// There is no step to record a reading for.
    #[error(
        "recording a reading: no reading is asked for now; say what was measured: red, black and settings"
    )]
    NothingAsked,
    /// There is no such answer, alternative, reading or proof.
    #[error("{what} {number} does not exist; there are {count}")]
    OutOfRange {
        /// What was named.
        what: &'static str,
        /// The number named.
        number: usize,
        /// How many there are.
        count: usize,
    },
    /// There is no reading with this number.
    #[error("there is no reading {} that still counts", .0.0)]
    Reading(ReadingId),
    /// A setting names what the wiring does not have.
    #[error("{0}")]
    Setting(String),
    /// The command does not belong to this stage of the job.
    #[error("{doing}: {because}")]
    Stage {
        /// What was to be done.
        doing: &'static str,
        /// Why it cannot be done now.
        because: String,
    },
    /// There is nothing to undo or redo.
    #[error("there is nothing to {0}")]
    Nothing(&'static str),
    /// A text must not be empty.
    #[error("{what} is empty; write at least a word")]
    Empty {
        /// Which text.
        what: &'static str,
    },
}
