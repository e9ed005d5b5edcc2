//! Ohms, farads, henries, hertz, volts, amperes: one newtype each, and the only place that parses and prints engineering values.

mod quantity;
mod error;
mod scan;
mod engineering;
mod marks;
mod show;

pub use engineering::{
    Written, parse_amps, parse_farads, parse_henries, parse_ohms, parse_seconds, parse_share, parse_volts,
};
pub use error::{Kind, UnitError};
pub use marks::{marked_tolerance, tolerance_letter};
pub use quantity::*;
pub use show::{
    show_amps, show_farads, show_henries, show_ohms, show_ohms_to, show_percent, show_seconds, show_volts,
};
