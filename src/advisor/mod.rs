//! Which measurement next, and when to stop.

mod cost;
mod groups;
mod information;
mod outlook;
mod planned;

pub mod conflicts;
pub mod order;
pub mod planning;

pub use cost::{Stand, allowed, places, seconds, to_open};
pub use groups::Groups;
pub use information::mutual_information;
pub use outlook::{Foreseen, Ground, Outlook, Sketch, beyond_outlook, foreseen, outlook};
pub use planned::{ordered, planned, sketch, worth_taking};

use crate::belief::Belief;
use crate::prediction::{Candidates, Model};
use crate::readings::{Access, Measurement, Meter};
use information::Scales;

/// The probability at which the leading decision is sure enough to act on: a repair is proved afterwards.
pub const SURE: f64 = 0.985;
/// The probability at which the instrument is acquitted: nothing is done that could prove it.
const ACQUITTED: f64 = 0.999;
/// A reading that is expected to tell less than this is not worth anyone's time, in bits.
const WORTHLESS: f64 = 0.004;
/// A reading that tells less than this share of what is still unknown waits until nothing better is left: many
/// small readings of the same thing do not add up to one that opens a cavity.
const SMALL_SHARE: f64 = 0.06;

/// One proposed measurement.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// What is asked.
    pub measurement: Measurement,
    /// Expected information about the decision, in bits.
    pub bits: f64,
    /// Hands-on seconds.
    pub seconds: f64,
}

/// What the advisor may do and where the bench stands.
#[derive(Clone, Debug)]
pub struct Circumstances<'a> {
    /// How far the technician may go.
    pub access: Access,
    /// Where the bench stands.
    pub stand: Stand,
    /// Measurements that were taken.
    pub spent: &'a [Measurement],
    /// Measurements that cannot be done.
    pub skipped: &'a [Measurement],
}

impl Circumstances<'_> {
    /// Returns how often a measurement was taken.
    fn taken(&self, measurement: &Measurement) -> usize {
        self.spent.iter().filter(|spent| spent.reads_the_same(measurement)).count()
    }
}

/// Returns how often a measurement may be worth taking: what comes and goes need not show the first time.
fn times(measurement: &Measurement) -> usize {
    if measurement.flex.is_some() { 2 } else { 1 }
}

/// Returns the measurements worth taking, best first: most bits per second, those that tell little last.
pub fn propose(
    model: &Model,
    candidates: &Candidates,
    groups: &Groups,
    belief: &Belief,
    meter: &Meter,
    circumstances: &Circumstances<'_>,
) -> Vec<Proposal> {
    let mut scales = Scales::new(model, belief, meter, &groups.decision_of);
    let mut proposals = Vec::new();
    let open = |measurement: &Measurement| {
        allowed(&model.harness, measurement, circumstances.access)
            && !circumstances.skipped.iter().any(|skipped| skipped.reads_the_same(measurement))
            && circumstances.taken(measurement) < times(measurement)
    };
    let costs = |measurement: &Measurement| seconds(&model.harness, measurement, &circumstances.stand);
    let mut offer = |measurement: &Measurement, bits: f64| {
        if bits > WORTHLESS {
            let (measurement, seconds) = (measurement.clone(), costs(measurement));
            proposals.push(Proposal { measurement, bits, seconds });
        }
        bits > WORTHLESS
    };
    let is_open = |index: &usize| open(&candidates.list[*index].measurement);
    let all: Vec<usize> = (0..candidates.list.len()).filter(is_open).collect();
    let (first, rest) = sieved(&mut scales, candidates, all, costs);
    let mut weigh = |some: &[usize]| {
        let told = scales.bits(candidates, some);
        told.into_iter().filter(|(index, bits)| offer(&candidates.list[*index].measurement, *bits)).count()
    };
    if weigh(&first) == 0 {
        weigh(&rest);
    }
    for question in candidates.questions.iter().filter(|question| open(&question.measurement)) {
        offer(&question.measurement, scales.bits_of_answer(&question.chances));
    }
    let small = SMALL_SHARE * entropy(&groups.probabilities(&belief.weights()));
    let rank = |p: &Proposal| (p.bits >= small, p.bits / p.seconds);
    proposals.sort_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        b.0.cmp(&a.0).then(b.1.total_cmp(&a.1))
    });
    proposals
}

/// Parts measurements into those worth weighing and the rest: all are, if there is time for all; otherwise those that
/// tell most for their time at a glance, and a few that tell most whatever they cost.
fn sieved(
    scales: &mut Scales<'_>,
    candidates: &Candidates,
    mut all: Vec<usize>,
    costs: impl Fn(&Measurement) -> f64,
) -> (Vec<usize>, Vec<usize>) {
    let most = scales.at_once();
    if all.len() <= most {
        return (all, Vec::new());
    }
    let mut glances = vec![(0.0, 0.0); candidates.list.len()];
    for &index in &all {
        let candidate = &candidates.list[index];
        let bits = scales.glance(candidate, candidates);
        glances[index] = (bits, bits / costs(&candidate.measurement));
    }
    all.sort_by(|&a, &b| glances[b].1.total_cmp(&glances[a].1).then(a.cmp(&b)));
    let mut rest = all.split_off(most * 3 / 4);
    rest.sort_by(|&a, &b| glances[b].0.total_cmp(&glances[a].0).then(a.cmp(&b)));
    let others = rest.split_off(most - all.len());
    all.extend(rest);
    (all, others)
}

fn entropy(probabilities: &[f64]) -> f64 {
    probabilities.iter().filter(|p| **p > 0.0).map(|p| -p * p.log2()).sum()
}

/// Returns whether a decision's probability is sure enough to act on.
pub fn sure(groups: &Groups, decision: usize, probability: f64) -> bool {
    probability >= if groups.like_healthy[decision] { ACQUITTED } else { SURE }
}

/// Returns the decision with the highest probability, and that probability.
pub fn leader(groups: &Groups, belief: &Belief) -> (usize, f64) {
    let probabilities = groups.probabilities(&belief.weights());
    let best = (0..probabilities.len()).max_by(|&a, &b| probabilities[a].total_cmp(&probabilities[b]));
    best.map_or((0, 0.0), |best| (best, probabilities[best]))
}
