//! How an instrument sounds, healthy and as suspected: a few points of two curves, kept in the job.

use serde::{Deserialize, Serialize};

use crate::units::{Farads, Hertz, Ohms};

/// What reaches the cable's end, healthy and under a fault, so that an old job prints the same for ever.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tone {
    /// How the controls stand, in words: `pickup toggle at neck, all knobs at 10`.
    pub setting: String,
    /// Capacitance of the cable.
    pub cable: Farads,
    /// Resistance of the amplifier's input.
    pub input: Ohms,
    /// Both curves, from low to high.
    pub points: Vec<TonePoint>,
    /// How much louder the body of the sound is than healthy, in decibels.
    pub level: f64,
    /// How much louder the treble is than healthy, in decibels.
    pub treble: f64,
    /// The difference in words: `treble 12 dB down, level 1 dB down`.
    pub sentence: String,
}

/// Both curves at one frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TonePoint {
    /// The frequency.
    pub hertz: Hertz,
    /// The healthy level, in decibels beside one volt in every coil that sounds.
    pub healthy: f64,
    /// The level under the fault.
    pub faulty: f64,
}

impl Tone {
    /// From this loss on, in decibels, nothing is heard (common practice, no source).
    pub const NOTHING: f64 = -60.0;
    /// What the sentence of a fault that comes and goes begins with.
    pub const WHILE_IT_SHOWS: &str = "while it shows: ";

    /// Returns whether it sounds like this only while the fault shows itself.
    pub fn comes_and_goes(&self) -> bool {
        self.sentence.starts_with(Self::WHILE_IT_SHOWS)
    }

    /// Returns whether a loss of body and treble, in decibels, leaves nothing to be heard.
    pub fn leaves_nothing(level: f64, treble: f64) -> bool {
        level <= Self::NOTHING && treble <= Self::NOTHING
    }

    /// Returns the healthy curve.
    pub fn healthy(&self) -> Vec<(Hertz, f64)> {
        self.points.iter().map(|point| (point.hertz, point.healthy)).collect()
    }

    /// Returns the curve under the fault.
    pub fn faulty(&self) -> Vec<(Hertz, f64)> {
        self.points.iter().map(|point| (point.hertz, point.faulty)).collect()
    }
}
