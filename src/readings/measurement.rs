//! What is asked for: mode, probes, control setting, still or flexed.

use serde::{Deserialize, Serialize};

use super::Check;
use crate::circuit::{ControlKind, Harness};

/// What the meter's dial is set to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mode {
    /// Ohms.
    Resistance,
    /// The beeper.
    Continuity,
    /// Farads.
    Capacitance,
    /// Volts, the battery in its clip.
    Volts,
    /// Amperes through the meter, the battery in its clip.
    Current,
    /// Ohms while one knob is turned slowly through its range: the highest value.
    Sweep,
    /// No meter: what is heard or seen.
    Observe(Check),
}

/// The position of one control.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Stand {
    /// A knob's dial number, 0 to 10.
    Knob(u8),
    /// A switch position's name.
    At(String),
}

impl std::fmt::Display for Stand {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Knob(dial) => write!(f, "{dial}"),
            Self::At(position) => f.write_str(position),
        }
    }
}

/// The position of every control at the moment of a reading, in name order.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Setting(pub std::collections::BTreeMap<String, Stand>);

impl Setting {
    /// Returns the reference setting: every knob at 10, every switch in its first position.
    pub fn reference(harness: &Harness) -> Self {
        let stand = |kind: &ControlKind| match kind {
            ControlKind::Knob => Stand::Knob(10),
            ControlKind::Selector(names) => Stand::At(names.first().cloned().unwrap_or_default()),
        };
        Self(harness.controls.iter().map(|c| (c.name.clone(), stand(&c.kind))).collect())
    }

    /// Returns this setting with one control moved.
    pub fn with(mut self, control: &str, stand: Stand) -> Self {
        self.0.insert(control.to_owned(), stand);
        self
    }

    /// Returns the names of the controls that stand elsewhere in `other`.
    pub fn moved<'a>(&'a self, other: &'a Self) -> Vec<&'a str> {
        self.0
            .iter()
            .filter(|(name, stand)| other.0.get(*name) != Some(*stand))
            .map(|(name, _)| name.as_str())
            .collect()
    }
}

/// One measurement that can be asked for.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measurement {
    /// What the dial is set to.
    pub mode: Mode,
    /// The terminal under the red probe.
    pub red: String,
    /// The terminal under the black probe.
    pub black: String,
    /// The position of every control.
    pub setting: Setting,
    /// What is flexed, rocked or prodded while the meter records its lowest and highest reading:
    /// the name of a part or `plug`. `None` for a still reading.
    #[serde(default)]
    pub flex: Option<String>,
    /// The control that is swept, or what an observation is about: a control or a pickup.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub about: Option<String>,
    /// The conductor of which one end is off for this reading, see [`Harness::lifted`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lifted: Option<String>,
}

impl Measurement {
    /// Returns the still reading in ohms between two terminals.
    pub fn ohms(red: &str, black: &str, setting: Setting) -> Self {
        Self {
            mode: Mode::Resistance,
            red: red.to_owned(),
            black: black.to_owned(),
            setting,
            flex: None,
            about: None,
            lifted: None,
        }
    }

    /// Returns the reading at the plug, where one is always possible, every control in its reference position.
    pub fn at_the_plug(harness: &Harness) -> Self {
        Self::ohms("plug.tip", "plug.sleeve", Setting::reference(harness))
    }

    /// Returns the readings in ohms at 0 and at 10 of the knob that this sweeps; `None` when it is no sweep of a knob.
    pub fn ends(&self) -> Option<[Self; 2]> {
        let knob = self.about.as_deref().filter(|_| self.mode == Mode::Sweep)?;
        let at = |dial| self.setting.clone().with(knob, Stand::Knob(dial));
        Some([0, 10].map(|dial| Self::ohms(&self.red, &self.black, at(dial))))
    }

    /// Returns what a probe touches that this asks for on a terminal, in words: the terminal, or the free end of what is
    /// lifted.
    pub fn touched(&self, harness: &Harness, terminal: &str) -> String {
        let lifted = self.lifted.as_deref().and_then(|name| harness.lifted(name));
        let found = harness.terminal(terminal).map(|id| harness.touched(id, lifted));
        found.unwrap_or_else(|| terminal.to_owned())
    }

    /// Returns whether another measurement reads the same: resistance does not mind which probe is where.
    pub fn reads_the_same(&self, other: &Self) -> bool {
        let straight = (&self.red, &self.black) == (&other.red, &other.black);
        let crossed = (&self.red, &self.black) == (&other.black, &other.red);
        let signed = matches!(self.mode, Mode::Volts | Mode::Current);
        let rest = (self.mode, &self.flex, &self.about, &self.lifted, &self.setting)
            == (other.mode, &other.flex, &other.about, &other.lifted, &other.setting);
        (straight || (crossed && !signed)) && rest
    }
}
