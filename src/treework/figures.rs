//! What a tree does for its complaint on one wiring, in numbers (terms as in MIL-STD-2165 and IEEE 1522).
//!
//! Fault detection is the probability of the detected faults over that of all (usual wording, from memory). Fault isolation
//! to a group of so many is the probability of the faults that end in a group of at most so many over that of the detected
//! ones (as testability tools count it); a group is here what one repair mends.

use std::collections::BTreeMap;

use super::flow::Point;
use super::passed::Passed;
use crate::faults::FaultId;

/// A fault is detected when its ends differ by more than this from those of a sound instrument, as total variation
/// distance, 0 to 1 (our choice, no source).
const APART: f64 = 0.5;
/// The decisions that hold this share of an end are those that it is isolated to (our choice, no source).
const NEARLY_ALL: f64 = 0.95;

/// What a tree does on one wiring.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Figures {
    /// The name of the wiring.
    pub wiring: String,
    /// How many faults can be behind the complaint: those of which something came to an end.
    pub faults: usize,
    /// The share of what can be behind the complaint that comes to an end by outcomes and answers of the tree, 0 to 1.
    pub covered: f64,
    /// The share of the faults, by probability, that the tree alone tells from a sound instrument: fault detection, 0 to 1.
    pub detected: f64,
    /// The share of the detected faults, by probability, that the tree alone brings down to one thing to mend: fault
    /// isolation, 0 to 1.
    pub isolated_to_one: f64,
    /// The same to one thing or two.
    pub isolated_to_two: f64,
    /// The readings and questions on average, those of the tree and those that the advisor still needs after it.
    pub steps: f64,
    /// The hands-on minutes on average, in the same way.
    pub minutes: f64,
    /// The readings on average with the advisor alone.
    pub advisor_steps: f64,
    /// The hands-on minutes on average with the advisor alone.
    pub advisor_minutes: f64,
    /// The readings that no way of working can be below on average: the entropy of what to repair, less the most that may
    /// be left at the end, over the most bits that a reading can tell (Shannon; Fano).
    pub bound_steps: f64,
}

/// Works out the figures of a wiring.
pub(super) fn figures(passed: &Passed<'_>) -> Figures {
    let ends = Ends::of(passed);
    let detected: Vec<FaultId> = ends.faults.keys().copied().filter(|fault| ends.detects(*fault)).collect();
    let all: f64 = ends.weights.values().sum();
    let found: f64 = detected.iter().map(|fault| ends.weights[fault]).sum();
    let isolated = |most: usize| share(ends.isolated(&detected, most), found);
    let (steps, minutes) = effort(passed);
    Figures {
        wiring: passed.wiring().to_owned(),
        faults: ends.faults.len(),
        covered: covered(passed),
        detected: share(found, all),
        isolated_to_one: isolated(1),
        isolated_to_two: isolated(2),
        steps,
        minutes,
        advisor_steps: passed.start.steps,
        advisor_minutes: passed.start.minutes,
        bound_steps: passed.start.least_steps,
    }
}

fn share(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole + 0.0 } else { 0.0 }
}

fn covered(passed: &Passed<'_>) -> f64 {
    let lost = passed.flowed.ends.iter().filter(|end| end.way.is_none());
    (1.0 - lost.map(|end| passed.mass(&end.point)).sum::<f64>()).clamp(0.0, 1.0)
}

/// Returns the readings and the minutes on average: those in the trees, and what the advisor needs after them.
///
/// Where the advisor was not asked it counts with what it needs on average elsewhere.
fn effort(passed: &Passed<'_>) -> (f64, f64) {
    let weight = |instrument: usize| passed.subjects[instrument / passed.draws].weight / passed.draws as f64;
    let mean =
        |each: &[f64]| each.iter().enumerate().map(|(index, value)| weight(index) * value).sum::<f64>();
    let (mut asked, mut steps, mut minutes) = (0.0, 0.0, 0.0);
    for (end, counsel) in &passed.counsels {
        let mass = passed.mass(&passed.flowed.ends[*end].point);
        (asked, steps, minutes) =
            (asked + mass, steps + mass * counsel.steps, minutes + mass * counsel.minutes);
    }
    let (steps, minutes) = (share(steps, asked), share(minutes, asked));
    (mean(&passed.flowed.steps) + steps, mean(&passed.flowed.seconds) / 60.0 + minutes)
}

/// The faults with where each ends.
struct Ends {
    /// The weight of each fault at each end, by the end's index.
    faults: BTreeMap<FaultId, BTreeMap<usize, f64>>,
    weights: BTreeMap<FaultId, f64>,
    /// The share of the sound instruments at each end.
    sound: BTreeMap<usize, f64>,
    /// How many decisions hold nearly all of each end.
    decisions: Vec<usize>,
}

impl Ends {
    fn of(passed: &Passed<'_>) -> Self {
        let mut ends = Self {
            faults: BTreeMap::new(),
            weights: BTreeMap::new(),
            sound: BTreeMap::new(),
            decisions: Vec::new(),
        };
        let sound = passed.subjects.iter().position(|subject| subject.hypothesis.is_none());
        for (index, end) in passed.flowed.ends.iter().enumerate() {
            for (fault, mass) in passed.faults(&end.point).into_iter().filter(|(f, _)| passed.is_real(*f)) {
                *ends.faults.entry(fault).or_default().entry(index).or_insert(0.0) += mass;
                *ends.weights.entry(fault).or_insert(0.0) += mass;
            }
            let share = sound.and_then(|sound| end.point.shares.get(&sound));
            ends.sound.extend(share.map(|share| (index, *share)));
            ends.decisions.push(decisions(passed, &end.point));
        }
        ends
    }

    /// Returns whether a fault ends elsewhere than a sound instrument.
    fn detects(&self, fault: FaultId) -> bool {
        let (at, weight) = (&self.faults[&fault], self.weights[&fault]);
        let alike =
            self.sound.iter().map(|(end, share)| at.get(end).map_or(0.0, |mass| share.min(mass / weight)));
        1.0 - alike.sum::<f64>() > APART
    }

    /// Returns the weight of some faults where so many decisions are left at most.
    fn isolated(&self, faults: &[FaultId], most: usize) -> f64 {
        let few = |(end, _): &(&usize, &f64)| self.decisions[**end] <= most;
        let of = |fault: &FaultId| self.faults[fault].iter().filter(few).map(|(_, mass)| mass).sum::<f64>();
        faults.iter().map(of).sum()
    }
}

/// Returns how many decisions hold nearly all of a point.
fn decisions(passed: &Passed<'_>, point: &Point) -> usize {
    let mut shares = vec![0.0; passed.engine.groups.decisions.len()];
    for (subject, share) in &point.shares {
        let subject = &passed.subjects[*subject];
        shares[subject.decision] += subject.weight * share;
    }
    holding(shares, NEARLY_ALL)
}

/// Returns how many of some weights, the heaviest, hold a share of all.
fn holding(mut weights: Vec<f64>, share: f64) -> usize {
    weights.sort_by(|a, b| b.total_cmp(a));
    let wanted = share * weights.iter().sum::<f64>();
    let mut held = 0.0;
    let short = |weight: &&f64| {
        let short = held < wanted;
        held += **weight;
        short
    };
    weights.iter().take_while(short).count()
}

#[cfg(test)]
mod tests {
    use super::holding;

    // By hand: 0.6 and 0.35 are 0.95 of all; of equal tenths it takes ten to hold more than nine of them.
    #[test]
    fn the_heaviest_hold_nearly_all() {
        assert_eq!(holding(vec![0.05, 0.6, 0.35], 0.949), 2);
        assert_eq!(holding(vec![0.1; 10], 0.95), 10);
        assert_eq!(holding(vec![0.0, 2.0], 0.95), 1);
        assert_eq!(holding(vec![0.0; 3], 0.95), 0);
    }
}
