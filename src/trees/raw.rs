//! What is written in a tree file, before it is checked.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::{Feature, How};

/// Only the version, so that a tree of another version is named as such.
#[derive(Deserialize)]
pub(super) struct RawVersion {
    pub(super) format: u32,
}

#[derive(Deserialize)]
#[serde(rename = "Tree", deny_unknown_fields)]
pub(super) struct RawTree {
    #[serde(rename = "format")]
    pub(super) _format: u32,
    pub(super) name: String,
    pub(super) title: String,
    pub(super) complaint: RawComplaint,
    #[serde(default)]
    pub(super) wirings: Vec<String>,
    #[serde(default)]
    pub(super) only: Vec<Feature>,
    pub(super) elsewhere: Option<String>,
    pub(super) start: String,
    pub(super) steps: Vec<RawStep>,
}

#[derive(Clone, Copy, Deserialize)]
#[serde(rename = "Complaint")]
pub(super) enum RawComplaint {
    Silent,
    Intermittent,
    Muffled,
    Hum,
    Weak,
    Bright,
    Thin,
    OnePosition,
    VolumeOpen,
    ToneIdle,
    Crackle,
    BuzzOnTouch,
    BatteryDrains,
    Pops,
}

#[derive(Deserialize)]
#[serde(rename = "Step", deny_unknown_fields)]
pub(super) struct RawStep {
    pub(super) name: String,
    pub(super) say: String,
    pub(super) why: String,
    pub(super) telephone: Option<String>,
    pub(super) caution: Option<String>,
    pub(super) needs: Option<Feature>,
    pub(super) ask: RawAsk,
    pub(super) cannot: Option<RawThen>,
}

#[derive(Deserialize)]
#[serde(rename = "Ask", deny_unknown_fields)]
pub(super) enum RawAsk {
    Measure {
        #[serde(default)]
        mode: RawMode,
        red: String,
        black: String,
        #[serde(default)]
        set: BTreeMap<String, RawStand>,
        flex: Option<String>,
        outcomes: Vec<RawOutcome>,
    },
    Hear {
        check: RawCheck,
        #[serde(default)]
        set: BTreeMap<String, RawStand>,
        about: Option<String>,
        yes: RawHeard,
        no: RawHeard,
    },
    Look(Vec<RawAnswer>),
    Listen(Vec<RawAnswer>),
    Ask(Vec<RawAnswer>),
}

#[derive(Clone, Copy, Default, Deserialize)]
#[serde(rename = "Mode")]
pub(super) enum RawMode {
    #[default]
    Resistance,
    Continuity,
    Volts,
    Current,
}

/// What the circuit can foretell of what is heard; another cable is none of it.
#[derive(Clone, Copy, Deserialize)]
#[serde(rename = "Check")]
pub(super) enum RawCheck {
    Sound,
    Tap,
    Weak,
    Dark,
    Bright,
    Thin,
    Closes,
    ToneActs,
    Crackles,
    Hums,
    StringsCalm,
    PlugCalms,
}

#[derive(Deserialize)]
#[serde(rename = "Heard", deny_unknown_fields)]
pub(super) struct RawHeard {
    pub(super) means: String,
    pub(super) then: RawThen,
}

#[derive(Deserialize)]
#[serde(rename = "Outcome", deny_unknown_fields)]
pub(super) struct RawOutcome {
    pub(super) when: RawWhen,
    pub(super) means: String,
    pub(super) then: RawThen,
}

#[derive(Deserialize)]
#[serde(rename = "Answer", deny_unknown_fields)]
pub(super) struct RawAnswer {
    pub(super) answer: String,
    pub(super) means: String,
    pub(super) then: RawThen,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(rename = "When")]
pub(super) enum RawWhen {
    NearHealthy,
    NearZero,
    Half,
    VolumePotAlone,
    Under(String),
    Between(String, String),
    Over(String),
    OverRange,
    Unstable,
    Beeps,
    NoBeep,
    AnythingElse,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(rename = "Then", deny_unknown_fields)]
pub(super) enum RawThen {
    Step(String),
    Advisor,
    Suspect {
        say: String,
        at: Vec<String>,
        #[serde(default)]
        how: Vec<How>,
    },
    Tree(String),
    NotTheInstrument,
}

/// A dial number, a position's number or a position's name.
#[derive(Clone, Debug)]
pub(super) enum RawStand {
    Number(i64),
    Name(String),
}

impl<'de> Deserialize<'de> for RawStand {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(StandVisitor)
    }
}

struct StandVisitor;

impl serde::de::Visitor<'_> for StandVisitor {
    type Value = RawStand;

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("a number or a position in quotes")
    }

    fn visit_i64<E>(self, number: i64) -> Result<RawStand, E> {
        Ok(RawStand::Number(number))
    }

    fn visit_u64<E>(self, number: u64) -> Result<RawStand, E> {
        Ok(RawStand::Number(i64::try_from(number).unwrap_or(i64::MAX)))
    }

    fn visit_str<E>(self, name: &str) -> Result<RawStand, E> {
        Ok(RawStand::Name(name.to_owned()))
    }
}
