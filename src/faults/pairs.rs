//! Two faults at once: what both change, and the work that mends both.

use super::{Catalogue, Fault, FaultId, Kind, Repair, Variant};
use crate::circuit::Change;

/// How likely a second, unrelated fault is where there is one (common practice, no source).
pub const SECOND: f64 = 0.1;
/// What stands between the two ids in the id of a pair.
const AND: &str = " + ";
/// Where the prior of a pair comes from.
const SOURCE: &str = "the product of both priors and a tenth: common practice, no source";

impl Catalogue {
    /// Returns the faults of an id that are here: that of this id, and those of which it is a pair.
    pub fn all_of(&self, id: &str) -> Vec<FaultId> {
        std::iter::once(id).chain(id.split(AND)).filter_map(|id| self.find(id)).collect()
    }

    /// Returns this catalogue with pairs of its faults as further faults, in an order that keeps those together that
    /// share their first.
    pub fn with_pairs(&self, pairs: &[(FaultId, FaultId)]) -> Self {
        let mut pairs: Vec<(FaultId, FaultId)> = pairs.iter().map(|&(a, b)| (a.min(b), a.max(b))).collect();
        pairs.sort_unstable();
        pairs.dedup();
        let two = |&(one, other): &(FaultId, FaultId)| both(&self[one], &self[other]);
        let faults = self.faults.iter().cloned().chain(pairs.iter().map(two)).collect();
        Self { faults }
    }
}

fn both(one: &Fault, other: &Fault) -> Fault {
    let joined = |a: &str, b: &str, between: &str| format!("{a}{between}{b}");
    Fault {
        id: joined(&one.id, &other.id, AND),
        kind: Kind::Two,
        sentence: joined(&one.sentence, &other.sentence, "; and besides: "),
        prior: SECOND * one.prior * other.prior,
        source: SOURCE.to_owned(),
        repair: Repair {
            key: joined(&one.repair.key, &other.repair.key, AND),
            text: joined(&one.repair.text, &other.repair.text, "; then: "),
            minutes: one.repair.minutes + other.repair.minutes,
        },
        place: one.place,
        terminals: one.terminals.iter().chain(&other.terminals).copied().collect(),
        links: one.links.iter().chain(&other.links).copied().collect(),
        variants: one.variants.iter().flat_map(|a| other.variants.iter().map(|b| variant(a, b))).collect(),
    }
}

/// Returns both variants as one. The first of the two is solved from scratch and has its nominal size, so that is the
/// one whose size is known, or else the one that varies less.
fn variant(one: &Variant, other: &Variant) -> Variant {
    let swap = one.spread > other.spread || matches!(one.change, Change::Drive(..));
    let (first, second) = if swap { (other, one) } else { (one, other) };
    Variant {
        share: one.share * other.share,
        change: Change::Several(vec![first.change.clone(), second.change.clone()]),
        spread: second.spread,
    }
}
