//! Authored trees and the circuit: one is grown for a wiring from what the advisor would ask there.

mod grow;

pub use grow::{GrowError, grow};
