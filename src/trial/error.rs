//! Why a trial cannot be held.

use thiserror::Error;

use crate::job::JobError;
use crate::solver::SolverError;
use crate::workbench::{EngineError, WorkbenchError};

/// Why a trial cannot be held.
#[derive(Debug, Error)]
pub enum TrialError {
    /// A measurement cannot be predicted.
    #[error(transparent)]
    Engine(#[from] EngineError),
    /// The equations of an instrument have no solution.
    #[error(transparent)]
    Solver(#[from] SolverError),
    /// The policy needs a tree, and none fits.
    #[error(
        "cannot follow a tree on {wiring}: no tree is for this wiring\n  hint: a tree with `only: Passive` is not for one with a preamp; leave that wiring out"
    )]
    NoTree {
        /// The wiring.
        wiring: String,
    },
    /// The job of a case does not hold together.
    #[error(transparent)]
    Job(#[from] JobError),
    /// The workbench refuses what it asked for.
    #[error(transparent)]
    Workbench(#[from] WorkbenchError),
    /// No fault outside the catalogue was found by drawing.
    #[error(
        "cannot draw a fault for {wiring} that its catalogue does not hold: {tries} were drawn, and each is in it\n  hint: leave --outside away for this wiring"
    )]
    Outside {
        /// The wiring.
        wiring: String,
        /// How many were drawn.
        tries: usize,
    },
}
