//! Half-splitting: the reading whose outcome, low or high, parts what is left most evenly.

use super::choice::Table;
use crate::prediction::{Behaviour, Candidate, Hypothesis, Row, shows};
use crate::readings::{Dial, Measurement, Mode};

/// Two readings are on two sides when they lie this far apart on the scale of readings: about a tenth.
const GAP: f64 = 0.1;
/// A reading that splits off less than this tells nothing, in bits.
const NOTHING: f64 = 0.004;

/// What a reading would be, on the scale, under a decision, with a probability.
#[derive(Clone, Copy)]
struct Share {
    at: f64,
    decision: usize,
    weight: f64,
}

/// Returns the reading in ohms that splits the decisions best, whatever it costs; nothing when none splits them.
pub(super) fn half_split(table: &Table<'_>) -> Option<Measurement> {
    let ohms = |candidate: &&Candidate| {
        candidate.measurement.mode == Mode::Resistance && table.open(&candidate.measurement)
    };
    let rows = &table.engine.candidates.rows;
    let weights = table.belief.weights();
    let mut best: Option<(f64, &Measurement)> = None;
    for candidate in table.engine.candidates.list.iter().filter(ohms) {
        let bits = evenness(shares(table, &weights, candidate, &rows[candidate.row]));
        if bits > best.map_or(NOTHING, |(most, _)| most) {
            best = Some((bits, &candidate.measurement));
        }
    }
    best.map(|(_, measurement)| measurement.clone())
}

/// Returns what the reading would be under everything that is still believed.
fn shares(table: &Table<'_>, weights: &[f64], candidate: &Candidate, row: &Row) -> Vec<Share> {
    const NEGLIGIBLE: f64 = 1e-5;
    let list = table.engine.model.hypotheses.list.iter().enumerate();
    let live = list.filter(|(index, _)| weights[*index] > NEGLIGIBLE);
    live.flat_map(|(index, hypothesis)| {
        let decision = table.engine.groups.decision_of[index];
        let share = |(at, part): (f64, f64)| Share { at, decision, weight: weights[index] * part };
        outcomes(table, hypothesis, candidate, row).map(share)
    })
    .collect()
}

/// Returns the two readings that a hypothesis may give, each with its chance.
fn outcomes(table: &Table<'_>, hypothesis: &Hypothesis, candidate: &Candidate, row: &Row) -> [(f64, f64); 2] {
    let (healthy, faulty) = (row[0].scaled(), row[hypothesis.state].scaled());
    match &hypothesis.behaviour {
        Behaviour::Anything => [(0.0, 0.5), (Dial::END, 0.5)],
        Behaviour::Steady => [(faulty, 1.0), (faulty, 0.0)],
        behaviour => {
            let chance = shows(&table.engine.model.harness, behaviour, candidate.measurement.flex.as_deref());
            [(faulty, chance), (healthy, 1.0 - chance)]
        }
    }
}

/// Returns the bits about the decisions that the best threshold between two readings gives: one when it halves them.
fn evenness(mut shares: Vec<Share>) -> f64 {
    shares.sort_by(|a, b| a.at.total_cmp(&b.at));
    let decisions = shares.iter().map(|share| share.decision + 1).max().unwrap_or(0);
    let mut of = vec![0.0; decisions];
    shares.iter().for_each(|share| of[share.decision] += share.weight);
    let total: f64 = of.iter().sum();
    let mut low = vec![0.0; decisions];
    let (mut below, mut within, mut best) = (0.0, 0.0, 0.0_f64);
    for pair in shares.windows(2) {
        let share = pair[0];
        within -= of[share.decision] * parted(low[share.decision], of[share.decision]);
        low[share.decision] += share.weight;
        below += share.weight;
        within += of[share.decision] * parted(low[share.decision], of[share.decision]);
        if pair[1].at - share.at > GAP {
            best = best.max(parted(below, total) - within / total);
        }
    }
    best
}

/// Returns the entropy in bits of one part of a whole and the rest.
fn parted(part: f64, whole: f64) -> f64 {
    let plogp = |p: f64| if p > 0.0 { -p * p.log2() } else { 0.0 };
    let share = if whole > 0.0 { (part / whole).clamp(0.0, 1.0) } else { 0.0 };
    plogp(share) + plogp(1.0 - share)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(at: f64, decision: usize, weight: f64) -> Share {
        Share { at, decision, weight }
    }

    // By hand: two halves apart are one bit; a quarter apart is H(1/4) = 0.811278; nothing apart is nothing, and so is
    // a decision that is on both sides alike.
    #[test]
    fn halves_are_one_bit() {
        let halves = vec![share(1.0, 0, 0.5), share(5.0, 1, 0.5)];
        assert!((evenness(halves) - 1.0).abs() < 1e-12);
        let quarter = vec![share(1.0, 0, 0.25), share(5.0, 1, 0.75)];
        assert!((evenness(quarter) - 0.811_278_124).abs() < 1e-9);
        assert_eq!(evenness(vec![share(1.0, 0, 0.5), share(1.05, 1, 0.5)]), 0.0);
        let both = [(1.0, 0), (1.0, 1), (5.0, 0), (5.0, 1)].map(|(at, of)| share(at, of, 0.25));
        assert!(evenness(both.to_vec()).abs() < 1e-12);
    }
}
