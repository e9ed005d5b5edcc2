//! The append-only event log of one instrument's visit, and its replay.

mod event;

pub use event::*;
