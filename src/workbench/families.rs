//! Which family of faults each fault of a wiring belongs to, for what past jobs teach.

use std::collections::BTreeMap;

use crate::circuit::{self, Network};
use crate::faults::{Catalogue, Family};
use crate::source::Source;

/// Returns the family of every fault that a wiring can have, by the fault's id; nothing when its file is wrong.
pub fn families_of(wiring: &Source) -> BTreeMap<String, Family> {
    let Ok(harness) = circuit::load(wiring) else { return BTreeMap::new() };
    Catalogue::families(&harness, &Network::new(&harness))
}
