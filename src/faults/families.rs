//! The families of faults that share one rate.

use serde::Deserialize;

/// The fault id of "nothing is wrong in the instrument".
pub const NOTHING_WRONG: &str = "instrument/nothing wrong";

/// The fault id of "something the catalogue does not hold".
pub const NOT_IN_CATALOGUE: &str = "instrument/not in the catalogue";

macro_rules! families {
    ($($name:ident: $words:literal,)*) => {
        /// A family of faults that share one rate.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
        #[serde(rename = "family")]
        pub enum Family {
            $(
                #[doc = concat!("The fault: ", $words, ".")]
                $name,
            )*
        }

        impl Family {
            /// Every family, in the order in which they are listed anywhere.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// Returns the name used in files.
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$name => stringify!($name),)*
                }
            }

            /// Returns what a person calls it.
            pub const fn words(self) -> &'static str {
                match self {
                    $(Self::$name => $words,)*
                }
            }
        }
    };
}

families! {
    OutsideTheInstrument: "cable, amplifier, settings",
    OutsideTheCatalogue: "whatever the wiring file cannot say",
    SpringOpen: "a jack spring that does not touch the plug",
    SpringDirty: "a jack spring that is dirty",
    SpringIntermittent: "a jack spring that comes and goes",
    JackJointOpen: "a joint on a jack lug, open",
    JackJointHigh: "a joint on a jack lug, high resistance",
    JackJointIntermittent: "a joint on a jack lug, coming and going",
    JackShort: "something touching at the jack",
    JackExchanged: "hot and ground exchanged at the jack",
    JointOpen: "a joint in a cavity, open",
    JointHigh: "a joint in a cavity, high resistance",
    JointIntermittent: "a joint in a cavity, coming and going",
    StringGroundOpen: "the string ground, open",
    StringGroundPoor: "the string ground, high resistance or coming and going",
    ShieldGround: "a shield's own ground joint",
    WireBroken: "a conductor broken inside",
    WireIntermittent: "a conductor coming and going",
    Short: "something touching in a cavity",
    ShortIntermittent: "something touching now and then",
    Leak: "something leaking to conductive paint or flux",
    CoilOpen: "a coil, open",
    CoilHalf: "a coil, half shorted",
    CoilIntermittent: "a coil, coming and going",
    PickupExchanged: "a pickup's hot and ground exchanged",
    TrackOpen: "a pot's track, open at one end",
    WiperOpen: "a pot's wiper, open",
    WiperWorn: "a pot's wiper, worn",
    WiperIntermittent: "a pot's wiper, coming and going over a worn spot",
    WrongPot: "a pot of the wrong value",
    WrongTaper: "a pot of the wrong taper",
    CapacitorShorted: "a tone capacitor, shorted",
    CapacitorOpen: "a tone capacitor, open",
    CapacitorLeaky: "a tone capacitor, leaky",
    CapacitorWrong: "a capacitor of the wrong value",
    ContactOpen: "a switch contact, open",
    ContactDirty: "a switch contact, dirty",
    ContactIntermittent: "a switch contact, coming and going",
    ContactStuck: "a switch contact, stuck closed",
    LugsExchanged: "two lugs of a pot, exchanged",
    SwitchOrder: "two lugs of a switch, exchanged",
    WrongLug: "one wire on the wrong lug",
    ResistorOpen: "a resistor, open or of the wrong value",
    BatteryFlat: "a battery, flat",
    BatteryReversed: "a battery, the wrong way round",
    PreampDead: "a preamp that does not work",
    PiezoOpen: "a piezo element, open or shorted",
    PiezoDamp: "a piezo element, leaking",
}

impl Family {
    /// Returns whether the share is of all walk-ins whatever the wiring; the others share what is left among the
    /// families that a wiring has.
    pub fn outside(self) -> bool {
        matches!(self, Self::OutsideTheInstrument | Self::OutsideTheCatalogue)
    }
}
