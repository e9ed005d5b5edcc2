//! Ohms, farads, henries, hertz, volts, amperes: one newtype each, and the only place that parses and prints engineering values.
//!
//! What holds for the quantities themselves is here too: copper and its temperature, wire gauges, the values that
//! parts are sold in, and how uncertainties add up.

mod quantity;
mod error;
mod scan;
mod engineering;
mod marks;
mod money;
mod show;
mod temperature;
mod wire;
mod preferred;
pub mod uncertainty;

pub use engineering::{
    Written, parse_amps, parse_farads, parse_henries, parse_ohms, parse_seconds, parse_share, parse_volts,
};
pub use error::{Kind, UnitError};
pub use marks::{marked_tolerance, tolerance_letter};
pub use money::{Money, MoneyError, parse_money, show_money, show_price};
pub use preferred::{Series, nearest_in};
pub use quantity::*;
pub use show::{
    show_amps, show_celsius, show_farads, show_henries, show_metres, show_ohms, show_ohms_to, show_percent,
    show_seconds, show_volts,
};
pub use temperature::{copper_at, copper_at_20, parse_celsius};
pub use wire::{copper_per_metre, gauge_diameter};
