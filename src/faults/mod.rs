//! Which faults a harness admits, derived from its wiring, with their chances and their repairs.

mod catalogue;
mod electronics;
mod families;
mod joints;
mod learning;
mod mistakes;
mod pairs;
mod parts;
mod priors;
mod priors_file;

pub use catalogue::{Catalogue, FaultId};
pub use families::{Family, NOT_IN_CATALOGUE, NOTHING_WRONG};
pub use learning::{Learnt, STRENGTH, Tallies, Tally};
pub use pairs::{Form, SECOND};
pub use priors::{Effect, LEAST, Likelier, Priors, Rate};

use serde::Deserialize;

use crate::circuit::{Change, LinkId, PlaceId, TerminalId};

/// How something fails.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename = "kind")]
pub enum Kind {
    /// A joint conducts no more.
    JointOpen,
    /// A joint has gained resistance.
    JointHigh,
    /// A joint comes and goes.
    JointIntermittent,
    /// A conductor is broken.
    WireBroken,
    /// A conductor comes and goes.
    WireIntermittent,
    /// Two things that should not touch do.
    Short,
    /// Two things that should not touch do so now and then.
    ShortIntermittent,
    /// Something leaks to a shield.
    Leak,
    /// A coil is open.
    CoilOpen,
    /// Half of a coil is shorted.
    CoilHalf,
    /// A coil comes and goes.
    CoilIntermittent,
    /// A pot's track is open at one end.
    TrackOpen,
    /// A pot's wiper does not touch.
    WiperOpen,
    /// A pot's wiper touches badly.
    WiperWorn,
    /// A pot of the wrong value is fitted.
    WrongPot,
    /// A pot whose track has another law is fitted.
    WrongTaper,
    /// A capacitor is shorted.
    CapacitorShorted,
    /// A capacitor is open.
    CapacitorOpen,
    /// A capacitor leaks.
    CapacitorLeaky,
    /// A capacitor of the wrong value is fitted.
    CapacitorWrong,
    /// A switch or jack contact does not close.
    ContactOpen,
    /// A switch or jack contact closes badly.
    ContactDirty,
    /// A switch or jack contact comes and goes.
    ContactIntermittent,
    /// A switch contact does not open.
    ContactStuck,
    /// Hot and ground are exchanged.
    Exchanged,
    /// What belongs on two lugs is exchanged.
    LugsExchanged,
    /// One wire is on the wrong lug.
    WrongLug,
    /// A resistor is open.
    ResistorOpen,
    /// A resistor of the wrong value is fitted.
    ResistorWrong,
    /// A battery is flat.
    BatteryFlat,
    /// A preamp does not work.
    PreampDead,
    /// A piezo element is open.
    PiezoOpen,
    /// A piezo element is shorted.
    PiezoShorted,
    /// A piezo element leaks.
    PiezoDamp,
    /// Nothing is wrong in the instrument.
    NothingWrong,
    /// Something that the catalogue does not hold.
    NotInCatalogue,
    /// Two faults at once.
    Two,
}

impl Kind {
    /// Returns what the kind is called, such as `open joint`.
    pub fn words(self) -> &'static str {
        match self {
            Self::JointOpen => "open joint",
            Self::JointHigh => "poor joint",
            Self::JointIntermittent => "joint that comes and goes",
            Self::WireBroken => "broken wire, braid or leg",
            Self::WireIntermittent => "wire that comes and goes",
            Self::Short => "short",
            Self::ShortIntermittent => "short that comes and goes",
            Self::Leak => "leak to a shield",
            Self::CoilOpen => "open coil",
            Self::CoilHalf => "half-shorted coil",
            Self::CoilIntermittent => "coil that comes and goes",
            Self::TrackOpen => "open pot track",
            Self::WiperOpen => "open pot wiper",
            Self::WiperWorn => "worn pot wiper",
            Self::WrongPot => "pot of the wrong value",
            Self::WrongTaper => "pot of the wrong taper",
            Self::CapacitorShorted => "shorted capacitor",
            Self::CapacitorOpen => "open capacitor",
            Self::CapacitorLeaky => "leaky capacitor",
            Self::CapacitorWrong => "capacitor of the wrong value",
            Self::ContactOpen => "contact that does not close",
            Self::ContactDirty => "dirty contact",
            Self::ContactIntermittent => "contact that comes and goes",
            Self::ContactStuck => "contact that does not open",
            Self::Exchanged => "hot and ground exchanged",
            Self::LugsExchanged => "lugs exchanged",
            Self::WrongLug => "wire on the wrong lug",
            Self::ResistorOpen => "open resistor",
            Self::ResistorWrong => "resistor of the wrong value",
            Self::BatteryFlat => "flat battery",
            Self::PreampDead => "preamp that does not work",
            Self::PiezoOpen => "open piezo element",
            Self::PiezoShorted => "shorted piezo element",
            Self::PiezoDamp => "damp piezo element",
            Self::NothingWrong => "nothing wrong",
            Self::NotInCatalogue => "not in the catalogue",
            Self::Two => "two faults at once",
        }
    }
}

/// One way a fault can look, with its share.
#[derive(Clone, Debug, PartialEq)]
pub struct Variant {
    /// Share of the fault's probability; the shares of a fault add up to one.
    pub share: f64,
    /// What it changes in the network.
    pub change: Change,
    /// One standard deviation of the logarithm of the change's ohms or factor.
    pub spread: f64,
}

/// What mends a fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Repair {
    /// Faults with the same key are mended by the same work.
    pub key: String,
    /// What is to be done, in plain words.
    pub text: String,
    /// Hands-on minutes once the place is open.
    pub minutes: u32,
}

/// One fault: a kind at a location.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// A name that reads like a place, such as `neck-volume.lug3/joint open`.
    pub id: String,
    /// How it fails.
    pub kind: Kind,
    /// A plain sentence.
    pub sentence: String,
    /// Prior probability, before complaint and readings.
    pub prior: f64,
    /// Where the prior comes from.
    pub source: String,
    /// What mends it.
    pub repair: Repair,
    /// Where the repair is done.
    pub place: PlaceId,
    /// Terminals that mark it in the picture; flexing them shows it when it comes and goes.
    pub terminals: Vec<TerminalId>,
    /// Links that mark it in the picture.
    pub links: Vec<LinkId>,
    /// How it can look.
    pub variants: Vec<Variant>,
}

impl Fault {
    /// Returns whether the fault comes and goes.
    pub fn intermittent(&self) -> bool {
        matches!(
            self.kind,
            Kind::JointIntermittent
                | Kind::WireIntermittent
                | Kind::ShortIntermittent
                | Kind::CoilIntermittent
                | Kind::ContactIntermittent
        )
    }
}
