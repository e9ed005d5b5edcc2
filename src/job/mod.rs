//! The append-only event log of one instrument's visit, and its replay.

mod error;
mod event;
mod fold;
mod lines;
mod paper;
mod replay;
#[cfg(test)]
mod sample;
mod state;
mod tone;

pub use error::*;
pub use event::*;
pub use fold::Job;
pub use lines::{Parsed, parse, to_line};
pub use paper::{Authorised, Billed, Consent, Estimate, Estimated, Paper, Photo, PriceLine, Warranty, total};
pub use replay::{Replay, ReplayStep, StepKind, TreePlace, turned_back};
pub use state::*;
pub use tone::{Tone, TonePoint};
