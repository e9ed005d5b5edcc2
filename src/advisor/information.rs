//! How much a reading is expected to tell about what to repair.

use crate::belief::{Belief, Estimate, Expectation, SLIP, cumulative, quick_cumulative};
use crate::prediction::{Behaviour, Candidate, Cell, Model, Row, shows};
use crate::readings::{Dial, Meter};

/// Width of an outcome on the scale ln(1 + R/50 Ω): three hundredths of a reading, or one and a half ohms.
const WIDTH: f64 = 0.03;
const BINS: usize = (Dial::END / WIDTH) as usize + 2;
/// Outcome of over range; for a flexed reading an unsteady one is told from a steady one by an offset.
const OVER: usize = BINS;
const STEADY_OUTCOMES: usize = BINS + 1;
/// Hypotheses below this probability are left out.
const NEGLIGIBLE: f64 = 1e-5;

/// Works out expected information; keeps its memory between candidates.
pub struct Scales<'a> {
    model: &'a Model,
    belief: &'a Belief,
    meter: &'a Meter,
    decision_of: &'a [usize],
    weights: Vec<f64>,
    live: Vec<usize>,
    table: Vec<f64>,
    decisions: usize,
}

impl<'a> Scales<'a> {
    /// Prepares for weighing measurements under a belief.
    pub fn new(model: &'a Model, belief: &'a Belief, meter: &'a Meter, decision_of: &'a [usize]) -> Self {
        let weights = belief.weights();
        let live: Vec<usize> = (0..weights.len()).filter(|&h| weights[h] > NEGLIGIBLE).collect();
        let decisions = decision_of.iter().max().map_or(0, |most| most + 1);
        Self { model, belief, meter, decision_of, weights, live, table: Vec::new(), decisions }
    }

    /// Returns the information in bits that a measurement is expected to give about which decision is right.
    ///
    /// A slip of the hand looks the same under every hypothesis: it tells nothing, whatever it shows.
    pub fn bits(&mut self, candidate: &Candidate, row: &Row) -> f64 {
        let outcomes =
            if candidate.measurement.flex.is_some() { 2 * STEADY_OUTCOMES } else { STEADY_OUTCOMES };
        self.table.clear();
        self.table.resize(self.decisions * outcomes, 0.0);
        for index in 0..self.live.len() {
            let hypothesis = self.live[index];
            self.spread(hypothesis, candidate, row, outcomes);
        }
        (1.0 - SLIP) * mutual_information(&self.table, outcomes)
    }

    /// Returns the information that a question with yes or no is expected to give; `chances` is that of yes
    /// under every hypothesis.
    pub fn bits_of_answer(&mut self, chances: &[f64]) -> f64 {
        self.table.clear();
        self.table.resize(self.decisions * 2, 0.0);
        for &hypothesis in &self.live {
            let (weight, yes) = (self.weights[hypothesis], chances[hypothesis]);
            let start = self.decision_of[hypothesis] * 2;
            self.table[start] += weight * yes;
            self.table[start + 1] += weight * (1.0 - yes);
        }
        mutual_information(&self.table, 2)
    }

    fn spread(&mut self, index: usize, candidate: &Candidate, row: &Row, outcomes: usize) {
        let hypothesis = &self.model.hypotheses.list[index];
        let weight = self.weights[index];
        let start = self.decision_of[index] * outcomes;
        let flex = candidate.measurement.flex.as_deref();
        let estimate = self.belief.estimate(index);
        let (model, meter) = (self.model, self.meter);
        let line = &mut self.table[start..start + outcomes];
        match &hypothesis.behaviour {
            Behaviour::Anything => flat(line, weight),
            Behaviour::Steady => deal(line, 0, &row[hypothesis.state], estimate, meter, weight),
            behaviour => {
                let shows = shows(&model.harness, behaviour, flex);
                deal(line, 0, &row[0], estimate, meter, weight * (1.0 - shows));
                let unsteady = flex.is_some() && row[0].reads != row[hypothesis.state].reads;
                let offset = if unsteady { STEADY_OUTCOMES } else { 0 };
                deal(line, offset, &row[hypothesis.state], estimate, meter, weight * shows);
            }
        }
    }
}

/// Deals a hypothesis's weight out over the outcomes it predicts.
fn deal(line: &mut [f64], offset: usize, cell: &Cell, estimate: &Estimate, meter: &Meter, weight: f64) {
    let Some((middle, variance)) = Expectation::outlook(cell, estimate, meter) else {
        line[offset + OVER] += weight;
        return;
    };
    let sd = variance.sqrt().max(1e-4);
    let ceiling = cell.dial.scale(meter.most(cell.dial));
    let bin = |u: f64| ((u / WIDTH) as usize).min(BINS - 1);
    let (first, last) = (bin((middle - 4.0 * sd).max(0.0)), bin((middle + 4.0 * sd).min(ceiling)));
    let mut below = 0.0;
    for index in first..last {
        let up_to = quick_cumulative(((index + 1) as f64 * WIDTH - middle) / sd);
        line[offset + index] += weight * (up_to - below);
        below = up_to;
    }
    let shown =
        if middle + 4.0 * sd > ceiling { cumulative((ceiling - middle) / sd).max(below) } else { 1.0 };
    line[offset + last] += weight * (shown - below);
    line[offset + OVER] += weight * (1.0 - shown);
}

fn flat(line: &mut [f64], weight: f64) {
    let each = weight / line.len() as f64;
    line.iter_mut().for_each(|cell| *cell += each);
}

/// Returns the mutual information of rows and columns of a table of joint probabilities, in bits.
pub(super) fn mutual_information(table: &[f64], columns: usize) -> f64 {
    let total: f64 = table.iter().sum();
    let mut column_sums = vec![0.0; columns];
    for line in table.chunks(columns) {
        column_sums.iter_mut().zip(line).for_each(|(sum, cell)| *sum += cell);
    }
    let plogp = |p: f64| if p > 0.0 { p / total * (p / total).log2() } else { 0.0 };
    let rows: f64 = table.chunks(columns).map(|line| plogp(line.iter().sum())).sum();
    let columns: f64 = column_sums.into_iter().map(plogp).sum();
    let cells: f64 = table.iter().copied().map(plogp).sum();
    (cells - rows - columns).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::mutual_information;

    // The classic fourteen-row induction example of the machine-learning textbooks (figures from memory):
    // information gains outlook 0.247, humidity 0.152, wind 0.048 bits.
    #[test]
    fn the_textbook_gains() {
        let outlook = [2.0, 4.0, 3.0, 3.0, 0.0, 2.0].map(|n| n / 14.0);
        let humidity = [3.0, 6.0, 4.0, 1.0].map(|n| n / 14.0);
        let wind = [6.0, 3.0, 2.0, 3.0].map(|n| n / 14.0);
        assert!((mutual_information(&outlook, 3) - 0.247).abs() < 5e-4);
        assert!((mutual_information(&humidity, 2) - 0.152).abs() < 5e-4);
        assert!((mutual_information(&wind, 2) - 0.048).abs() < 5e-4);
    }
}
