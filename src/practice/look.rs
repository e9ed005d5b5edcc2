//! What a look at a part tells, with a light and a magnifier and a gentle tug.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use super::level::mixed;
use crate::advisor::Stand;
use crate::circuit::{Harness, PartId, PlaceId};
use crate::faults::{Fault, FaultId, Kind};
use crate::workbench::Engine;

/// Seconds of a look with a light, a magnifier and a gentle tug (common practice, no source).
const LOOK: f64 = 20.0;
/// How often a sound part looks as if something were the matter (common practice, no source).
const SEEMS: f64 = 0.04;

const NOTHING: &str = "nothing to be seen, which acquits nothing";
const JOINT: &str = "a joint looks dull or cracked";
const STRAND: &str = "a wire or a loose strand of braid is not where it should be";

/// Returns how often a look shows a fault of a kind, and what is seen (common practice, no source).
fn shows(kind: Kind) -> (f64, &'static str) {
    match kind {
        Kind::JointOpen => (0.5, JOINT),
        Kind::JointHigh | Kind::JointIntermittent => (0.3, JOINT),
        Kind::WireBroken => (0.4, STRAND),
        Kind::WireIntermittent => (0.15, STRAND),
        Kind::Short => (0.4, STRAND),
        Kind::ShortIntermittent | Kind::WrongLug => (0.25, STRAND),
        Kind::Exchanged | Kind::LugsExchanged => (0.1, STRAND),
        _ => (0.0, NOTHING),
    }
}

/// Returns the place that is opened to look at a part; `None` for one that is seen from outside.
pub(super) fn opens(harness: &Harness, part: PartId) -> Option<PlaceId> {
    let place = harness[part].place;
    (!harness[place].outside).then_some(place)
}

/// Returns the hands-on seconds of a look from where the bench stands, opening included.
pub(super) fn seconds(harness: &Harness, part: PartId, stand: &Stand) -> f64 {
    let closed = opens(harness, part).filter(|place| !stand.opened.contains(place));
    LOOK + closed.map_or(0.0, |place| harness[place].open.get())
}

/// Draws what is seen of a part; the same draw sees the same.
pub(super) fn seen(engine: &Engine, faults: &[(FaultId, usize)], part: PartId, seed: u64) -> &'static str {
    let mut rng = StdRng::seed_from_u64(mixed(seed ^ 0x100C).wrapping_add(part.0 as u64));
    let catalogue = &engine.model.catalogue;
    let here = faults.iter().map(|(id, _)| &catalogue[*id]).filter(|f| is_at(engine.harness(), f, part));
    for (chance, words) in here.map(|fault| shows(fault.kind)) {
        if rng.random_bool(chance) {
            return words;
        }
    }
    match rng.random_bool(SEEMS) {
        true if rng.random_bool(0.5) => JOINT,
        true => STRAND,
        false => NOTHING,
    }
}

/// Returns whether a fault sits at a part: on one of its terminals, or on a conductor that ends there.
fn is_at(harness: &Harness, fault: &Fault, part: PartId) -> bool {
    let ends = fault.links.iter().flat_map(|&link| [harness[link].from.terminal, harness[link].to.terminal]);
    fault.terminals.iter().copied().chain(ends).any(|terminal| harness[terminal].part == part)
}
