//! Meter, probes, control setting, and what was typed.

mod measurement;
mod beside;
mod check;
mod dial;
mod reading;
mod meter;
mod entry;
mod entry_error;
#[cfg(test)]
mod entry_tests;
mod setting;
mod subject;
mod swapped;
mod symptoms;
mod words;
mod moving;
mod histories;

pub use check::Check;
pub use dial::Dial;
pub use entry::{echo, note, parse_entry};
pub use entry_error::EntryError;
pub use histories::{History, histories_in, histories_of, histories_told, understood};
pub use measurement::*;
pub use meter::{Meter, MeterRange, RangeChoice};
pub use reading::*;
pub use setting::SettingError;
pub use subject::MeasurementError;
pub use swapped::{Swapped, swapped_in};
pub use symptoms::UnknownName;
pub use words::{symptoms_in, why_heard, words_heard};
