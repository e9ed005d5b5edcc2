//! What the meter showed, as it was typed and as it is understood.

use serde::{Deserialize, Serialize};

use super::{Dial, Measurement};
use crate::units::{Amps, Farads, Ohms, Volts, show_amps, show_farads, show_ohms, show_ohms_to, show_volts};

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
    /// A capacitance.
    Farads {
        /// The value.
        value: Farads,
        /// The worth of the last digit typed.
        resolution: Farads,
    },
    /// A voltage of either sign.
    Volts {
        /// The value.
        value: Volts,
        /// The worth of the last digit typed.
        resolution: Volts,
    },
    /// A current.
    Amps {
        /// The value.
        value: Amps,
        /// The worth of the last digit typed.
        resolution: Amps,
    },
    /// Over range: no path, or more than the meter can show.
    OverRange,
}

impl Level {
    /// Returns the number on the display and the worth of its last digit; `None` for over range.
    pub fn number(&self) -> Option<(f64, f64)> {
        match self {
            Self::Ohms { value, resolution } => Some((value.get(), resolution.get())),
            Self::Farads { value, resolution } => Some((value.get(), resolution.get())),
            Self::Volts { value, resolution } => Some((value.get(), resolution.get())),
            Self::Amps { value, resolution } => Some((value.get(), resolution.get())),
            Self::OverRange => None,
        }
    }

    /// Returns a level of a dial.
    pub fn of(dial: Dial, value: f64, resolution: f64) -> Self {
        match dial {
            Dial::Ohms => Self::Ohms { value: Ohms::new(value), resolution: Ohms::new(resolution) },
            Dial::Farads => Self::Farads { value: Farads::new(value), resolution: Farads::new(resolution) },
            Dial::Volts => Self::Volts { value: Volts::new(value), resolution: Volts::new(resolution) },
            Dial::Amps => Self::Amps { value: Amps::new(value), resolution: Amps::new(resolution) },
        }
    }

    /// Returns the level in words, such as `6.05 kΩ`, `22 nF` or `over range`.
    pub fn words(&self) -> String {
        match self {
            Self::Ohms { value, resolution } if finer(*value, *resolution) => {
                show_ohms_to(*value, *resolution)
            }
            Self::Ohms { value, .. } => show_ohms(*value),
            Self::Farads { value, .. } => show_farads(*value),
            Self::Volts { value, .. } => show_volts(*value),
            Self::Amps { value, .. } => show_amps(*value),
            Self::OverRange => "over range".to_owned(),
        }
    }
}

/// Returns whether a small resistance was typed with more digits than small ones are shown with.
fn finer(value: Ohms, resolution: Ohms) -> bool {
    value.get().abs() < 1.0 && resolution.get() > 0.0 && resolution.get() < 0.005
}

/// What a person says to a question about what is heard or seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Said {
    /// Yes.
    Yes,
    /// No.
    No,
    /// It cannot be told.
    CannotTell,
}

/// What was read at the ends of a knob's range.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ends {
    /// The lowest value of the whole range, as a meter records it: the ohms between two ends of a track that are joined
    /// elsewhere rise and fall once, so it is read at one end or the other.
    Lowest(Level),
    /// The values at 0 and at 10.
    Both {
        /// At 0.
        from: Level,
        /// At 10.
        to: Level,
    },
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
    /// What a knob showed that was turned through its range, beyond the highest value.
    Swept {
        /// The highest value.
        highest: Level,
        /// What was read at the ends.
        ends: Ends,
    },
    /// Whether the beeper sounded.
    Beep(bool),
    /// What was heard or seen.
    Said(Said),
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
    /// Too bright.
    Bright,
    /// Thin and hollow, the bass gone.
    Thin,
    /// One switch position is silent.
    OnePosition,
    /// A volume knob does not close.
    VolumeOpen,
    /// A tone knob does nothing.
    ToneIdle,
    /// Crackles when a knob or a switch is moved.
    Crackle,
    /// A buzz that changes when strings, knobs or the plug are touched.
    BuzzOnTouch,
    /// The battery is empty after days instead of months.
    BatteryDrains,
    /// Pops and thumps when a switch is moved, the plug goes in, or a hand touches the metal.
    Pops,
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::parse_ohms;
    use rstest::rstest;

    #[rstest]
    #[case("0.015r", "0.015 Ω")]
    #[case("0.02r", "0.02 Ω")]
    #[case("0.2r", "0.2 Ω")]
    #[case("7.600k", "7.60 kΩ")]
    fn a_small_value_keeps_the_digits_that_were_typed(#[case] typed: &str, #[case] words: &str) {
        let typed = parse_ohms(typed).unwrap();
        assert_eq!(Level::Ohms { value: typed.value, resolution: typed.resolution }.words(), words);
    }
}
