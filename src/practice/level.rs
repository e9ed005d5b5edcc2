//! How difficult it is: which faults, and in how large a wiring.

use serde::{Deserialize, Serialize};

use crate::circuit::{Change, ControlKind, Fixing, Harness};
use crate::faults::{Fault, FaultId, Kind};
use crate::trial::Drawn;
use crate::workbench::Engine;

/// A bridge of fewer ohms than this is a short.
const SHORT: f64 = 10.0;

/// How difficult it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Difficulty {
    /// One steady open or short in a small wiring.
    First,
    /// Any fault, as often as its prior says, in a wiring with a switch.
    Bench,
    /// What comes and goes, poor joints, leaks and wrong lugs, in the largest wirings.
    Hard,
    /// Two faults at once.
    Two,
}

/// How large a wiring is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Size {
    /// How many soldered joints it has.
    pub joints: usize,
    /// How many switches.
    pub switches: usize,
}

impl Size {
    /// Counts the joints and switches of a wiring.
    pub fn of(harness: &Harness) -> Self {
        let ends = harness.links.iter().flat_map(|link| [link.from, link.to]);
        let switch = |kind: &ControlKind| matches!(kind, ControlKind::Selector(_));
        Self {
            joints: ends.filter(|end| end.fixing == Fixing::Solder).count(),
            switches: harness.controls.iter().filter(|control| switch(&control.kind)).count(),
        }
    }
}

impl Difficulty {
    /// Every level, the easiest first.
    pub const ALL: [Self; 4] = [Self::First, Self::Bench, Self::Hard, Self::Two];

    /// Returns what the level is called.
    pub const fn title(self) -> &'static str {
        match self {
            Self::First => "First steps",
            Self::Bench => "As they come in",
            Self::Hard => "Hard",
            Self::Two => "Two faults",
        }
    }

    /// Returns what is hidden.
    pub const fn about(self) -> &'static str {
        match self {
            Self::First => "one steady open or short in a small wiring",
            Self::Bench => "any fault, as often as it comes in, or none, in a wiring with a switch",
            Self::Hard => "what comes and goes, poor joints, leaks and wrong lugs in the largest wirings",
            Self::Two => "two faults at once in a wiring with a switch",
        }
    }

    /// Returns how many faults are hidden.
    pub const fn faults(self) -> usize {
        if matches!(self, Self::Two) { 2 } else { 1 }
    }

    /// Returns which of some wirings belong to the level, the smallest first.
    pub fn wirings(self, harnesses: &[Harness]) -> Vec<usize> {
        let sizes: Vec<Size> = harnesses.iter().map(Size::of).collect();
        let fewest = sizes.iter().map(|size| size.switches).min().unwrap_or(0);
        let admits = |size: &Size| match self {
            Self::First => size.switches == fewest,
            Self::Bench | Self::Two => size.switches > 0,
            Self::Hard => true,
        };
        let mut all: Vec<usize> = (0..sizes.len()).filter(|&index| admits(&sizes[index])).collect();
        all.sort_by_key(|&index| (sizes[index], index));
        let (from, to) = self.part(all.len());
        all[from..to].to_vec()
    }

    /// Returns which part of so many wirings, in the order of their sizes, belongs to the level.
    const fn part(self, count: usize) -> (usize, usize) {
        match self {
            Self::First | Self::Two => (0, count.div_ceil(2)),
            Self::Bench => (0, (2 * count).div_ceil(3)),
            Self::Hard => (2 * count / 3, count),
        }
    }

    /// Draws one of some wirings; `None` when none belongs to the level.
    pub fn pick(self, harnesses: &[Harness], seed: u64) -> Option<usize> {
        let all = self.wirings(harnesses);
        let count = u64::try_from(all.len()).ok().filter(|count| *count > 0)?;
        usize::try_from(mixed(seed) % count).ok().and_then(|index| all.get(index).copied())
    }

    /// Draws what is hidden in a wiring; `None` when it has no fault of the level.
    pub fn draw(self, engine: &Engine, seed: u64) -> Option<Drawn> {
        if self == Self::Two {
            return Drawn::two(engine, seed);
        }
        let told = Drawn::told(engine);
        let fits = |id: FaultId| {
            let fault = &engine.model.catalogue[id];
            self == Self::Bench || (told.contains(&id) && self.admits(fault))
        };
        Drawn::one(engine, seed, &fits)
    }

    fn admits(self, fault: &Fault) -> bool {
        match self {
            Self::First => !fault.intermittent() && fault.variants.iter().all(|v| plain(&v.change)),
            Self::Hard => fault.intermittent() || hard(fault.kind),
            Self::Bench | Self::Two => true,
        }
    }
}

/// Returns whether a change is an open or a short.
fn plain(change: &Change) -> bool {
    match change {
        Change::Open(_) => true,
        Change::Bridge(_, _, ohms) => *ohms < SHORT,
        _ => false,
    }
}

fn hard(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::JointHigh
            | Kind::ContactDirty
            | Kind::WiperWorn
            | Kind::Leak
            | Kind::CapacitorLeaky
            | Kind::PiezoDamp
            | Kind::Exchanged
            | Kind::LugsExchanged
            | Kind::WrongLug
    )
}

/// Spreads a seed over all numbers, so that seeds side by side draw different things.
pub(super) fn mixed(seed: u64) -> u64 {
    let turned = (seed ^ (seed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let turned = (turned ^ (turned >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    turned ^ (turned >> 31)
}
