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
    /// Groups of parts and wires that are met again and again.
    #[serde(default)]
    pub blocks: Vec<BlockEntry>,
    #[serde(default)]
    pub parts: Vec<PartEntry>,
    #[serde(default)]
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

#[derive(Clone, Deserialize)]
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
    /// The pickup that a coil is one of several coils of.
    pub pickup: Option<String>,
}

#[derive(Clone, Deserialize)]
#[serde(rename = "kind", deny_unknown_fields)]
pub(super) enum KindEntry {
    Coil {
        r#type: Option<String>,
        ohms: Option<String>,
        spread: Option<String>,
        henries: Option<String>,
        farads: Option<String>,
    },
    Pot {
        track: String,
        tolerance: String,
        role: RoleEntry,
        control: String,
    },
    Capacitor {
        farads: String,
        tolerance: Option<String>,
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
    Battery {
        volts: String,
        ohms: String,
    },
    Piezo {
        farads: String,
        tolerance: Option<String>,
    },
    Preamp {
        input: String,
        supply: String,
        gain: f64,
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

#[derive(Clone, Deserialize)]
#[serde(rename = "position", deny_unknown_fields)]
pub(super) struct PositionEntry {
    pub name: String,
    pub joins: Vec<(String, String)>,
}

#[derive(Clone, Deserialize)]
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

#[derive(Clone, Deserialize)]
#[serde(rename = "near", deny_unknown_fields)]
pub(super) struct NearEntry {
    pub a: String,
    pub b: String,
    pub how: String,
    pub weight: Option<f64>,
}

/// A group of parts and wires under one name, written out by `blocks`.
#[derive(Deserialize)]
#[serde(rename = "block", deny_unknown_fields)]
pub(super) enum BlockEntry {
    Pickup {
        name: String,
        title: Option<String>,
        r#type: Option<String>,
        ohms: Option<String>,
        spread: Option<String>,
        henries: Option<String>,
        farads: Option<String>,
        lead: LeadEntry,
        hot: String,
        ground: String,
        screen: Option<String>,
        #[serde(default)]
        cover: bool,
        place: String,
        lead_place: Option<String>,
        at: (f32, f32),
    },
    Volume {
        name: String,
        title: Option<String>,
        track: String,
        style: StyleEntry,
        ground: Option<String>,
        place: String,
        at: (f32, f32),
    },
    Tone {
        name: String,
        title: Option<String>,
        track: String,
        capacitor: String,
        feed: String,
        ground: String,
        place: String,
        at: (f32, f32),
    },
    Selector {
        name: String,
        title: Option<String>,
        form: FormEntry,
        positions: Option<Vec<String>>,
        ground: Option<String>,
        place: String,
        at: (f32, f32),
    },
    Output {
        #[serde(default)]
        ring: bool,
        hot: String,
        ground: String,
        lead: LeadEntry,
        place: String,
        lead_place: Option<String>,
        at: (f32, f32),
    },
    Strings {
        ground: String,
        place: Option<String>,
        at: (f32, f32),
    },
    Shield {
        name: String,
        title: String,
        ground: String,
        #[serde(default)]
        touches: Vec<String>,
        place: String,
        at: (f32, f32),
    },
}

/// How a lead is made.
#[derive(Clone, Copy, Deserialize, PartialEq, Eq)]
#[serde(rename = "lead")]
pub(super) enum LeadEntry {
    /// A core in a braid that carries the ground.
    Screened,
    /// Two wires.
    Pair,
}

/// How a volume pot is wired.
#[derive(Clone, Copy, Deserialize, PartialEq, Eq)]
#[serde(rename = "style")]
pub(super) enum StyleEntry {
    /// Input at the full end, output at the wiper.
    Standard,
    /// Input at the wiper, output at the full end.
    Independent,
}

/// How a selector is made.
#[derive(Clone, Copy, Deserialize, PartialEq, Eq)]
#[serde(rename = "form")]
pub(super) enum FormEntry {
    /// A toggle with two outer lugs and a common one; the middle joins both.
    Toggle,
    /// A blade with two poles of three contacts, one contact at a time.
    ThreeWayBlade,
    /// A blade with two poles of four contacts, one contact at a time.
    FourWayBlade,
    /// A blade with two poles of three contacts, whose second and fourth positions join two.
    FiveWayBlade,
    /// Two changeover contacts.
    TwoWay,
}
