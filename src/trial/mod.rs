//! Plays the bench for simulated instruments, and counts how well the program finds what is wrong with them.
//!
//! An instrument has part values, a fault and a meter of its own. What it reads is solved from its circuit; the
//! program sees the readings only, as it does on a real bench.

mod bench;
mod bound;
mod calibration;
mod case;
mod choice;
mod error;
mod half_split;
mod instrument;
mod outside;
mod parts;
mod report;
mod run;
mod setup;
mod slips;
mod specimen;
mod truth;
mod visit;

pub use bound::{Bound, bound};
pub use calibration::{Calibration, Decile};
pub use case::{Kind, Outcome, PairFound};
pub use error::TrialError;
pub use parts::drawn;
pub use report::{Numbers, Report, WiringReport};
pub use run::run;
pub use setup::{Policy, Setup};
pub use specimen::{Drawn, Specimen};
pub use visit::visits;
