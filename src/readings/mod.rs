//! Meter, probes, control setting, and what was typed.

mod measurement;
mod reading;

pub use measurement::*;
pub use reading::*;
