//! Ohms, farads, henries, hertz, volts: one newtype each, and the only place that parses and prints engineering values.

mod quantity;

pub use quantity::*;
