//! A wiring file as it is written, before its names and values are checked.

use serde::Deserialize;

/// The version of the format that this program reads.
pub const FORMAT: u32 = 1;

/// The first thing to look at: which format the rest is written in.
#[derive(Deserialize)]
pub(super) struct Head {
    pub format: u32,
}

#[derive(Deserialize)]
#[serde(rename = "wiring", deny_unknown_fields)]
pub(super) struct WiringFile {
    #[serde(rename = "format")]
    pub _format: u32,
    pub name: String,
    pub code: String,
    pub title: String,
    pub about: String,
    pub joint: String,
    pub places: Vec<PlaceEntry>,
    pub parts: Vec<PartEntry>,
    pub wires: Vec<WireEntry>,
    #[serde(default)]
    pub near: Vec<NearEntry>,
}

#[derive(Deserialize)]
#[serde(rename = "place", deny_unknown_fields)]
pub(super) struct PlaceEntry {
    pub name: String,
    pub how: String,
    pub open: String,
    #[serde(default)]
    pub outside: bool,
}

#[derive(Deserialize)]
#[serde(rename = "part", deny_unknown_fields)]
pub(super) struct PartEntry {
    pub name: String,
    pub title: String,
    pub kind: KindEntry,
    pub place: String,
    pub at: (f32, f32),
    #[serde(default)]
    pub turn: f32,
    /// Terminals that no probe can touch.
    #[serde(default)]
    pub no_probe: Vec<String>,
    /// Whether the metal of this part is meant not to be at ground.
    #[serde(default)]
    pub floating: bool,
}

#[derive(Deserialize)]
#[serde(rename = "kind", deny_unknown_fields)]
pub(super) enum KindEntry {
    Coil {
        ohms: String,
        spread: String,
        henries: String,
        farads: String,
    },
    Pot {
        track: String,
        tolerance: String,
        role: RoleEntry,
        control: String,
    },
    Capacitor {
        farads: String,
        tolerance: String,
    },
    Resistor {
        ohms: String,
        tolerance: String,
    },
    Switch {
        control: String,
        terminals: Vec<String>,
        #[serde(default)]
        frame: bool,
        positions: Vec<PositionEntry>,
    },
    Jack {
        contacts: u32,
    },
    Surface,
}

#[derive(Clone, Copy, Deserialize)]
#[serde(rename = "role")]
pub(super) enum RoleEntry {
    Volume,
    Tone,
    Blend,
}

#[derive(Deserialize)]
#[serde(rename = "position", deny_unknown_fields)]
pub(super) struct PositionEntry {
    pub name: String,
    pub joins: Vec<(String, String)>,
}

#[derive(Deserialize)]
#[serde(rename = "wire", deny_unknown_fields)]
pub(super) struct WireEntry {
    pub name: String,
    pub title: String,
    pub kind: WireKindEntry,
    pub from: String,
    pub to: String,
    pub from_fixing: Option<FixingEntry>,
    pub to_fixing: Option<FixingEntry>,
    pub place: Option<String>,
    pub around: Option<String>,
}

#[derive(Clone, Copy, Deserialize, PartialEq, Eq)]
#[serde(rename = "kind")]
pub(super) enum WireKindEntry {
    Wire,
    Braid,
    Leg,
    Lug,
    Mount,
}

#[derive(Clone, Copy, Deserialize)]
#[serde(rename = "fixing")]
pub(super) enum FixingEntry {
    Solder,
    Pressure,
    Own,
}

#[derive(Deserialize)]
#[serde(rename = "near", deny_unknown_fields)]
pub(super) struct NearEntry {
    pub a: String,
    pub b: String,
    pub how: String,
    pub weight: Option<f64>,
}
