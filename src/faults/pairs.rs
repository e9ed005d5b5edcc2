//! Two faults at once: what both change, and the work that mends both.

use super::{Catalogue, Fault, FaultId, Kind, Repair, Variant};
use crate::circuit::Change;

/// How likely a second, unrelated fault is where there is one (common practice, no source).
pub const SECOND: f64 = 0.1;
/// What stands between the two ids in the id of a pair.
const AND: &str = " + ";
/// Where the prior of a pair comes from.
const SOURCE: &str = "the product of both priors and a tenth: common practice, no source";

/// One way one fault looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Form {
    /// The fault.
    pub fault: FaultId,
    /// Index in its variants.
    pub variant: usize,
}

impl Catalogue {
    /// Returns the faults of an id that are here: that of this id, and those of which it is a pair.
    pub fn all_of(&self, id: &str) -> Vec<FaultId> {
        std::iter::once(id).chain(id.split(AND)).filter_map(|id| self.find(id)).collect()
    }

    /// Returns this catalogue with pairs of its faults, each in one of its forms, as further faults, in an order that keeps
    /// those together that share their first.
    pub fn with_pairs(&self, pairs: &[(Form, Form)]) -> Self {
        let mut pairs: Vec<(Form, Form)> = pairs.iter().map(|&(a, b)| (a.min(b), a.max(b))).collect();
        pairs.sort_unstable_by_key(|&(a, b)| ((a.fault, b.fault), a.variant, b.variant));
        pairs.dedup();
        let same = |a: &(Form, Form), b: &(Form, Form)| (a.0.fault, a.1.fault) == (b.0.fault, b.1.fault);
        let two = pairs.chunk_by(same).map(|forms| self.both(forms));
        Self { faults: self.faults.iter().cloned().chain(two).collect() }
    }

    /// Returns every form of a fault.
    pub fn forms(&self, fault: FaultId) -> impl Iterator<Item = Form> {
        (0..self[fault].variants.len()).map(move |variant| Form { fault, variant })
    }

    /// Returns two faults at once, in some of their forms.
    fn both(&self, forms: &[(Form, Form)]) -> Fault {
        let (one, other) = (&self[forms[0].0.fault], &self[forms[0].1.fault]);
        let joined = |a: &str, b: &str, between: &str| format!("{a}{between}{b}");
        let mut variants: Vec<Variant> = forms
            .iter()
            .map(|(a, b)| together(&one.variants[a.variant], &other.variants[b.variant]))
            .collect();
        let share: f64 = variants.iter().map(|variant| variant.share).sum();
        variants.iter_mut().for_each(|variant| variant.share /= share);
        Fault {
            id: joined(&one.id, &other.id, AND),
            kind: Kind::Two,
            sentence: joined(&one.sentence, &other.sentence, "; and besides: "),
            prior: SECOND * one.prior * other.prior * share,
            source: SOURCE.to_owned(),
            repair: Repair {
                key: joined(&one.repair.key, &other.repair.key, AND),
                text: joined(&one.repair.text, &other.repair.text, "; then: "),
                minutes: one.repair.minutes + other.repair.minutes,
            },
            place: one.place,
            terminals: one.terminals.iter().chain(&other.terminals).copied().collect(),
            links: one.links.iter().chain(&other.links).copied().collect(),
            variants,
        }
    }
}

/// Returns both variants as one. The first of the two is solved from scratch and has its nominal size, so that is the
/// one whose size is known, or else the one that varies less.
fn together(one: &Variant, other: &Variant) -> Variant {
    let swap = one.spread > other.spread || matches!(one.change, Change::Drive(..));
    let (first, second) = if swap { (other, one) } else { (one, other) };
    Variant {
        share: one.share * other.share,
        change: Change::Several(vec![first.change.clone(), second.change.clone()]),
        spread: second.spread,
    }
}
