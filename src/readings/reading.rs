//! What the meter showed, as it was typed and as it is understood.

use serde::{Deserialize, Serialize};

use super::Measurement;
use crate::units::Ohms;

/// One number on the meter's display, or the sign that it is too large to show.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Level {
    /// A resistance; `resolution` is the worth of the last digit typed.
    Ohms {
        /// The value.
        value: Ohms,
        /// The worth of the last digit typed.
        resolution: Ohms,
    },
    /// Over range: no path, or more than the meter can show.
    OverRange,
}

/// What the meter showed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Shown {
    /// One steady value.
    Steady(Level),
    /// The lowest and the highest value while something was flexed.
    Range {
        /// The lowest value.
        low: Level,
        /// The highest value.
        high: Level,
    },
    /// Whether the beeper sounded.
    Beep(bool),
}

/// One reading: what was asked, what was typed, what it means.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Mode, probes, control setting, still or flexed.
    pub measurement: Measurement,
    /// The text as it was typed.
    pub typed: String,
    /// What it means.
    pub shown: Shown,
}

/// What a customer complains of, or what a person heard: told from each other by the circuit, not by a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Symptom {
    /// No sound.
    Silent,
    /// Cuts out or crackles when moved.
    Intermittent,
    /// Dark, treble missing.
    Muffled,
    /// Hum or buzz.
    Hum,
    /// Sounds, but quietly.
    Weak,
}

/// How far the technician may go.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Access {
    /// The customer is on the telephone: only what is safe and possible from outside.
    Telephone,
    /// The instrument is here, nothing may be opened.
    Outside,
    /// Covers may come off.
    MayOpen,
    /// Joints may be lifted as well.
    MayUnsolder,
}
