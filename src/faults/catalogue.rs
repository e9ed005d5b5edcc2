//! The whole catalogue of one harness.

use std::collections::BTreeMap;

use super::{Family, Fault, Kind, NOT_IN_CATALOGUE, NOTHING_WRONG, Priors, Repair, Variant};
use super::{joints, mistakes, parts};
use crate::circuit::{Change, Harness, LinkId, Network, PlaceId, TerminalId};

/// Identifies a fault by its index in [`Catalogue::faults`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FaultId(pub usize);

/// Every fault a harness admits; the priors add up to one.
#[derive(Clone, Debug)]
pub struct Catalogue {
    /// The faults, in the order of the wiring file.
    pub faults: Vec<Fault>,
}

/// A fault before its prior is worked out.
pub(super) struct Draft {
    pub id: String,
    pub kind: Kind,
    pub family: Family,
    pub weight: f64,
    pub sentence: String,
    pub repair: Repair,
    pub place: PlaceId,
    pub terminals: Vec<TerminalId>,
    pub links: Vec<LinkId>,
    pub variants: Vec<Variant>,
}

impl Catalogue {
    /// Derives the catalogue of a harness; a family's rate is divided among its places in it.
    pub fn derive(harness: &Harness, network: &Network, priors: &Priors) -> Self {
        Self { faults: with_priors(drafts(harness, network), priors) }
    }

    /// Returns the family of every fault that a harness admits, by the fault's id.
    pub fn families(harness: &Harness, network: &Network) -> BTreeMap<String, Family> {
        drafts(harness, network).into_iter().map(|draft| (draft.id, draft.family)).collect()
    }

    /// Returns the fault with this id.
    pub fn find(&self, id: &str) -> Option<FaultId> {
        self.faults.iter().position(|fault| fault.id == id).map(FaultId)
    }
}

impl std::ops::Index<FaultId> for Catalogue {
    type Output = Fault;
    fn index(&self, id: FaultId) -> &Fault {
        &self.faults[id.0]
    }
}

fn drafts(harness: &Harness, network: &Network) -> Vec<Draft> {
    let mut drafts = vec![nothing_wrong(), not_in_catalogue()];
    drafts.extend(joints::drafts(harness, network));
    drafts.extend(parts::drafts(harness, network));
    drafts.extend(mistakes::drafts(harness, network));
    drafts
}

fn with_priors(drafts: Vec<Draft>, priors: &Priors) -> Vec<Fault> {
    let mut weights: BTreeMap<Family, f64> = BTreeMap::new();
    for draft in &drafts {
        *weights.entry(draft.family).or_default() += draft.weight;
    }
    let outside = |family: &&Family| family.outside();
    let rate = |family: Family| priors.per_thousand(family);
    let fixed: f64 = weights.keys().filter(outside).map(|family| rate(*family) / 1000.0).sum();
    let inside: f64 = weights.keys().filter(|family| !family.outside()).map(|family| rate(*family)).sum();
    let share = |family: Family| match family.outside() {
        true => rate(family) / 1000.0,
        false => rate(family) / inside * (1.0 - fixed),
    };
    let prior = |draft: &Draft| share(draft.family) * draft.weight / weights[&draft.family];
    drafts
        .into_iter()
        .map(|draft| Fault {
            prior: prior(&draft),
            source: priors.source(draft.family).to_owned(),
            id: draft.id,
            kind: draft.kind,
            sentence: draft.sentence,
            repair: draft.repair,
            place: draft.place,
            terminals: draft.terminals,
            links: draft.links,
            variants: draft.variants,
        })
        .collect()
}

/// Returns the one way a fault looks whose size is known.
pub(super) fn only(change: Change) -> Vec<Variant> {
    vec![Variant { share: 1.0, change, spread: 0.0 }]
}

/// Returns variants of equal share for a resistance that may lie anywhere in a few decades; each covers one.
pub(super) fn decades(ohms: &[f64], change: impl Fn(f64) -> Change) -> Vec<Variant> {
    let share = 1.0 / ohms.len() as f64;
    ohms.iter().map(|&r| Variant { share, change: change(r), spread: 0.7 }).collect()
}

fn nothing_wrong() -> Draft {
    outside(
        NOTHING_WRONG,
        Kind::NothingWrong,
        Family::OutsideTheInstrument,
        "Nothing is wrong in the instrument: the cable, the amplifier, a pedal or a setting is",
        "Try another cable, another amplifier and every setting; no work on the instrument",
        10,
    )
}

fn not_in_catalogue() -> Draft {
    outside(
        NOT_IN_CATALOGUE,
        Kind::NotInCatalogue,
        Family::OutsideTheCatalogue,
        "Something that is not in the catalogue: the instrument is wired differently from its file, or several things are wrong",
        "Compare the wiring with its file, lead by lead, and correct whichever is wrong",
        30,
    )
}

fn outside(id: &str, kind: Kind, family: Family, sentence: &str, repair: &str, minutes: u32) -> Draft {
    Draft {
        id: id.to_owned(),
        kind,
        family,
        weight: 1.0,
        sentence: sentence.to_owned(),
        repair: Repair { key: id.to_owned(), text: repair.to_owned(), minutes },
        place: PlaceId(0),
        terminals: Vec::new(),
        links: Vec::new(),
        variants: only(Change::Nothing),
    }
}
