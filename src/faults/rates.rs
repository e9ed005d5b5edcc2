//! How often each family of faults turns up: shares of a thousand electrical walk-ins.
//!
//! All figures are common practice of the trade without a published source; they are starting points, to be
//! moved by a shop's own record. A family's share is divided among the places of that family in a harness.

/// The fault id of "nothing is wrong in the instrument".
pub const NOTHING_WRONG: &str = "instrument/nothing wrong";

/// The fault id of "something the catalogue does not hold".
pub const NOT_IN_CATALOGUE: &str = "instrument/not in the catalogue";

/// A family of faults that share one rate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Family {
    /// Cable, amplifier, settings.
    OutsideTheInstrument,
    /// Whatever the wiring file cannot say.
    OutsideTheCatalogue,
    /// A jack spring that does not touch the plug.
    SpringOpen,
    /// A jack spring that is dirty.
    SpringDirty,
    /// A jack spring that comes and goes.
    SpringIntermittent,
    /// A joint on a jack lug, open.
    JackJointOpen,
    /// A joint on a jack lug, high resistance.
    JackJointHigh,
    /// A joint on a jack lug, coming and going.
    JackJointIntermittent,
    /// Something touching at the jack.
    JackShort,
    /// Hot and ground exchanged at the jack.
    JackExchanged,
    /// A joint in a cavity, open.
    JointOpen,
    /// A joint in a cavity, high resistance.
    JointHigh,
    /// A joint in a cavity, coming and going.
    JointIntermittent,
    /// The string ground, open.
    StringGroundOpen,
    /// The string ground, high resistance or coming and going.
    StringGroundPoor,
    /// A shield's own ground joint.
    ShieldGround,
    /// A conductor broken inside.
    WireBroken,
    /// A conductor coming and going.
    WireIntermittent,
    /// Something touching in a cavity.
    Short,
    /// Something touching now and then.
    ShortIntermittent,
    /// Something leaking to conductive paint or flux.
    Leak,
    /// A coil, open.
    CoilOpen,
    /// A coil, half shorted.
    CoilHalf,
    /// A coil, coming and going.
    CoilIntermittent,
    /// A pickup's hot and ground exchanged.
    PickupExchanged,
    /// A pot's track, open at one end.
    TrackOpen,
    /// A pot's wiper, open.
    WiperOpen,
    /// A pot's wiper, worn.
    WiperWorn,
    /// A pot of the wrong value.
    WrongPot,
    /// A tone capacitor, shorted.
    CapacitorShorted,
    /// A tone capacitor, open.
    CapacitorOpen,
    /// A tone capacitor, leaky.
    CapacitorLeaky,
    /// A switch contact, open.
    ContactOpen,
    /// A switch contact, dirty.
    ContactDirty,
    /// A switch contact, coming and going.
    ContactIntermittent,
    /// A switch contact, stuck closed.
    ContactStuck,
    /// Two lugs of a pot, exchanged.
    LugsExchanged,
    /// Two lugs of a switch, exchanged.
    SwitchOrder,
    /// One wire on the wrong lug.
    WrongLug,
    /// A resistor, open or of the wrong value.
    ResistorOpen,
    /// A battery, flat.
    BatteryFlat,
    /// A battery, the wrong way round.
    BatteryReversed,
    /// A preamp that does not work.
    PreampDead,
    /// A piezo element, open or shorted.
    PiezoOpen,
    /// A piezo element, leaking.
    PiezoDamp,
}

impl Family {
    /// Returns the share of a thousand electrical walk-ins.
    pub fn per_thousand(self) -> f64 {
        match self {
            Self::OutsideTheInstrument => 197.0,
            Self::SpringIntermittent => 60.0,
            Self::JackJointOpen => 65.0,
            Self::JackJointIntermittent => 40.0,
            Self::SpringDirty => 35.0,
            Self::JointOpen | Self::JointIntermittent | Self::ContactIntermittent => 25.0,
            Self::OutsideTheCatalogue
            | Self::SpringOpen
            | Self::JointHigh
            | Self::Short
            | Self::ContactDirty => 20.0,
            Self::JackShort => 18.0,
            Self::StringGroundOpen | Self::CoilOpen => 16.0,
            Self::ShortIntermittent | Self::ContactOpen => 15.0,
            Self::JackJointHigh | Self::WiperWorn | Self::PickupExchanged => 10.0,
            Self::ShieldGround => 9.0,
            Self::WireBroken | Self::WireIntermittent => 8.0,
            Self::StringGroundPoor | Self::CoilHalf | Self::CapacitorOpen => 6.0,
            Self::WiperOpen | Self::JackExchanged => 5.0,
            Self::TrackOpen | Self::WrongPot | Self::CapacitorShorted | Self::CoilIntermittent => 4.0,
            Self::ContactStuck | Self::Leak | Self::LugsExchanged | Self::WrongLug | Self::ResistorOpen => {
                3.0
            }
            Self::SwitchOrder => 8.0,
            Self::BatteryFlat => 30.0,
            Self::PreampDead => 7.0,
            Self::PiezoOpen => 4.0,
            Self::PiezoDamp | Self::BatteryReversed => 1.0,
            Self::CapacitorLeaky => 1.0,
        }
    }

    /// Returns whether the share is of all walk-ins whatever the wiring; the others share what is left among the
    /// families that a wiring has.
    pub fn outside(self) -> bool {
        matches!(self, Self::OutsideTheInstrument | Self::OutsideTheCatalogue)
    }

    /// Returns where the figure comes from.
    pub fn source(self) -> &'static str {
        match self {
            Self::OutsideTheCatalogue => "our own allowance for what a wiring file cannot say",
            _ => "share of a thousand electrical walk-ins, common practice, no source",
        }
    }
}
