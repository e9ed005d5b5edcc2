//! Why something cannot be done at the practice bench.

use thiserror::Error;

use crate::job::JobError;
use crate::trial::TrialError;
use crate::workbench::{EngineError, WorkbenchError};

/// Why something cannot be done at the practice bench. Nothing has changed.
#[derive(Debug, Error)]
pub enum PracticeError {
    /// The wiring has no fault of the level.
    #[error(
        "no fault of the level \"{level}\" can be hidden in {wiring}\n  hint: take another level, or another wiring"
    )]
    NoFault {
        /// The wiring.
        wiring: String,
        /// The level.
        level: &'static str,
    },
    /// There is nothing on the display that could be noted.
    #[error("nothing is being measured: put both probes on first")]
    NothingMeasured,
    /// The display shows over range on a range that is not the coarsest.
    #[error(
        "over range on the {label} range says only that it is more\n  hint: turn the dial to a coarser range"
    )]
    Range {
        /// The range.
        label: &'static str,
    },
    /// A question was to be measured, or a measurement to be asked.
    #[error("{0} is no way to do this")]
    Mode(&'static str),
    /// No probe reaches the terminal.
    #[error("no probe reaches {title}\n  hint: take a terminal that can be touched")]
    OutOfReach {
        /// What a person calls the terminal.
        title: String,
    },
    /// There is no such part.
    #[error("there is no part \"{0}\" in this wiring")]
    Part(String),
    /// The fault has been named.
    #[error("the fault has been named: begin another instrument to go on")]
    Over,
    /// Nothing was named.
    #[error("no fault is chosen: choose what is wrong, or give up")]
    NothingNamed,
    /// More was named than may be wrong.
    #[error("{named} faults are named, and at most {most} may be: take one back")]
    TooMany {
        /// How many were named.
        named: usize,
        /// How many may be.
        most: usize,
    },
    /// The instrument cannot be worked out.
    #[error(transparent)]
    Trial(#[from] TrialError),
    /// The measurement makes no sense, or cannot be foretold.
    #[error(transparent)]
    Engine(#[from] EngineError),
    /// What was noted cannot be taken in.
    #[error(transparent)]
    Workbench(#[from] WorkbenchError),
    /// The job in memory does not hold together.
    #[error(transparent)]
    Job(#[from] JobError),
}
