//! Why a ticket cannot be made.

use thiserror::Error;

/// Why a ticket cannot be made from a job.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum TicketError {
    /// The wiring text inside the job cannot be read.
    #[error("cannot make a ticket: the wiring {wiring:?} kept in the job cannot be read: {why}")]
    Wiring {
        /// The wiring's name.
        wiring: String,
        /// The first thing that is wrong with it.
        why: String,
    },
}
