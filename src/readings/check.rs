//! What a person can hear, see or feel at an instrument, asked as a question with yes or no.

use serde::{Deserialize, Serialize};

use super::Mode;

/// One kind of observation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Check {
    /// With another cable and another amplifier: is it cured?
    OtherCable,
    /// Is there a sound in this position?
    Sound,
    /// Is a tap on this pickup heard in this position?
    Tap,
    /// Does it sound weak beside what it should?
    Weak,
    /// Does it sound dark beside what it should?
    Dark,
    /// Does it sound brighter than it should?
    Bright,
    /// Does it sound thin and hollow in this position?
    Thin,
    /// Does this volume knob close fully?
    Closes,
    /// Does this tone knob do anything?
    ToneActs,
    /// Does it crackle while this control is moved?
    Crackles,
    /// Does it hum?
    Hums,
    /// Does the buzz get less when the strings are touched?
    StringsCalm,
    /// Does the buzz get less when the metal of the plug is touched?
    PlugCalms,
}

impl Check {
    /// Every kind, in the order of a first look.
    pub const ALL: [Self; 13] = [
        Self::OtherCable,
        Self::Sound,
        Self::Tap,
        Self::Weak,
        Self::Dark,
        Self::Bright,
        Self::Thin,
        Self::Closes,
        Self::ToneActs,
        Self::Crackles,
        Self::Hums,
        Self::StringsCalm,
        Self::PlugCalms,
    ];

    /// Returns the name used on the command line and in job files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::OtherCable => "other-cable",
            Self::Sound => "sound",
            Self::Tap => "tap",
            Self::Weak => "weak",
            Self::Dark => "dark",
            Self::Bright => "bright",
            Self::Thin => "thin",
            Self::Closes => "closes",
            Self::ToneActs => "tone-acts",
            Self::Crackles => "crackles",
            Self::Hums => "hums",
            Self::StringsCalm => "strings-calm",
            Self::PlugCalms => "plug-calms",
        }
    }

    /// Returns what it is called in a list.
    pub const fn title(self) -> &'static str {
        match self {
            Self::OtherCable => "cured by another cable and amplifier",
            Self::Sound => "a sound in this position",
            Self::Tap => "a tap is heard on the",
            Self::Weak => "sounds weak",
            Self::Dark => "sounds dark",
            Self::Bright => "sounds too bright",
            Self::Thin => "sounds thin",
            Self::Closes => "silent at 0 of the",
            Self::ToneActs => "the treble goes with the",
            Self::Crackles => "crackles with the",
            Self::Hums => "hums",
            Self::StringsCalm => "touching the strings calms the buzz",
            Self::PlugCalms => "touching the plug calms the buzz",
        }
    }

    /// Returns the hands-on seconds it takes (common practice, no source: 1 to 3 minutes for a round of each).
    pub const fn seconds(self) -> f64 {
        match self {
            Self::OtherCable => 120.0,
            Self::Tap | Self::Sound | Self::Crackles => 20.0,
            _ => 25.0,
        }
    }

    /// Returns how often a clear case is answered as it is (common practice, no source).
    pub const fn reliability(self) -> f64 {
        match self {
            Self::Sound | Self::Tap | Self::Closes => 0.95,
            Self::OtherCable | Self::Hums => 0.9,
            Self::Crackles | Self::ToneActs => 0.88,
            Self::Weak | Self::Dark | Self::Thin => 0.85,
            Self::Bright | Self::StringsCalm | Self::PlugCalms => 0.8,
        }
    }
}

impl Mode {
    /// Every way of gathering evidence.
    pub const ALL: [Self; 19] = [
        Self::Resistance,
        Self::Continuity,
        Self::Capacitance,
        Self::Volts,
        Self::Current,
        Self::Sweep,
        Self::Observe(Check::ALL[0]),
        Self::Observe(Check::ALL[1]),
        Self::Observe(Check::ALL[2]),
        Self::Observe(Check::ALL[3]),
        Self::Observe(Check::ALL[4]),
        Self::Observe(Check::ALL[5]),
        Self::Observe(Check::ALL[6]),
        Self::Observe(Check::ALL[7]),
        Self::Observe(Check::ALL[8]),
        Self::Observe(Check::ALL[9]),
        Self::Observe(Check::ALL[10]),
        Self::Observe(Check::ALL[11]),
        Self::Observe(Check::ALL[12]),
    ];

    /// Returns the name used on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Resistance => "resistance",
            Self::Continuity => "continuity",
            Self::Capacitance => "capacitance",
            Self::Volts => "volts",
            Self::Current => "current",
            Self::Sweep => "sweep",
            Self::Observe(check) => check.name(),
        }
    }

    /// Returns what the dial calls it.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Resistance => "ohms",
            Self::Continuity => "continuity (beeper)",
            Self::Capacitance => "capacitance",
            Self::Volts => "DC volts",
            Self::Current => "DC milliamperes",
            Self::Sweep => "ohms, with maximum recording if the meter has it",
            Self::Observe(_) => "no meter",
        }
    }

    /// Returns whether the battery has to be in its clip.
    pub const fn powered(self) -> bool {
        matches!(self, Self::Volts | Self::Current | Self::Observe(_))
    }
}
