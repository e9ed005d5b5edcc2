//! How much a reading is expected to tell about what to repair.

use crate::belief::{Belief, Estimate, Expectation, SLIP, cumulative, quick_cumulative};
use crate::prediction::{Behaviour, Candidate, Candidates, Cell, Model, Row, shows};
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
    /// What is not negligible, by decision.
    live: Vec<usize>,
    forecasts: Vec<Forecast>,
    line: Line,
    columns: Vec<f64>,
}

/// What one hypothesis makes one measurement show.
struct Forecast {
    /// In its state.
    faulty: Dealt,
    /// While it does not show; `None` where that is the same.
    healthy: Option<Dealt>,
}

/// A distribution over the outcomes of a still reading: the first outcome with its neighbours, and over range.
struct Dealt {
    first: usize,
    shares: Vec<f64>,
    over: f64,
}

impl<'a> Scales<'a> {
    /// Prepares for weighing measurements under a belief.
    pub fn new(model: &'a Model, belief: &'a Belief, meter: &'a Meter, decision_of: &'a [usize]) -> Self {
        let weights = belief.weights();
        let mut live: Vec<usize> = (0..weights.len()).filter(|&h| weights[h] > NEGLIGIBLE).collect();
        live.sort_by_key(|&h| decision_of[h]);
        let (line, columns) = (Line::default(), vec![0.0; 2 * STEADY_OUTCOMES]);
        Self { model, belief, meter, decision_of, weights, live, forecasts: Vec::new(), line, columns }
    }

    /// Returns for each candidate the information in bits that it is expected to give about which decision is right, 0
    /// for those that are not `open`.
    ///
    /// A slip of the hand looks the same under every hypothesis: it tells nothing, whatever it shows.
    pub fn bits(&mut self, candidates: &Candidates, open: impl Fn(&Candidate) -> bool) -> Vec<f64> {
        let mut by_row: Vec<Vec<usize>> = vec![Vec::new(); candidates.rows.len()];
        for (index, candidate) in candidates.list.iter().enumerate().filter(|(_, c)| open(c)) {
            by_row[candidate.row].push(index);
        }
        let mut bits = vec![0.0; candidates.list.len()];
        for (row, of_row) in candidates.rows.iter().zip(&by_row).filter(|(_, of_row)| !of_row.is_empty()) {
            self.forecasts = self.live.iter().map(|&h| self.forecast(h, row)).collect();
            let still = of_row.iter().find(|&&index| candidates.list[index].measurement.flex.is_none());
            let still = still.map_or(0.0, |&index| self.told(&candidates.list[index], row));
            for &index in of_row {
                let candidate = &candidates.list[index];
                let flexed = candidate.measurement.flex.is_some();
                bits[index] = if flexed { self.told(candidate, row) } else { still };
            }
        }
        bits
    }

    /// Returns the information that a question with yes or no is expected to give; `chances` is that of yes
    /// under every hypothesis.
    pub fn bits_of_answer(&self, chances: &[f64]) -> f64 {
        let decisions = self.decision_of.iter().max().map_or(0, |most| most + 1);
        let mut table = vec![0.0; decisions * 2];
        for &hypothesis in &self.live {
            let (weight, yes) = (self.weights[hypothesis], chances[hypothesis]);
            let start = self.decision_of[hypothesis] * 2;
            table[start] += weight * yes;
            table[start + 1] += weight * (1.0 - yes);
        }
        mutual_information(&table, 2)
    }

    fn forecast(&self, index: usize, row: &Row) -> Forecast {
        let hypothesis = &self.model.hypotheses.list[index];
        let estimate = self.belief.estimate(index);
        let of = |state: usize| deal(&row[state], estimate, self.meter);
        let rests = matches!(hypothesis.behaviour, Behaviour::ComesAndGoes { .. });
        let other = rests && !row.same(0, hypothesis.state);
        Forecast { faulty: of(hypothesis.state), healthy: other.then(|| of(0)) }
    }

    /// Returns the bits of a candidate from the forecasts of its row: the entropy of what is shown less that under each
    /// decision.
    fn told(&mut self, candidate: &Candidate, row: &Row) -> f64 {
        let outcomes =
            if candidate.measurement.flex.is_some() { 2 * STEADY_OUTCOMES } else { STEADY_OUTCOMES };
        self.columns[..outcomes].fill(0.0);
        let (mut total, mut decisions, mut cells) = (0.0, 0.0, 0.0);
        let mut start = 0;
        while start < self.live.len() {
            let decision = self.decision_of[self.live[start]];
            let same = |h: &usize| self.decision_of[*h] == decision;
            let end = start + self.live[start..].iter().take_while(|h| same(h)).count();
            for at in start..end {
                self.spread(at, candidate, row, outcomes);
            }
            let (sum, of_cells) = self.line.drain(&mut self.columns);
            total += sum;
            decisions += plogp(sum);
            cells += of_cells;
            start = end;
        }
        let columns: f64 = self.columns[..outcomes].iter().copied().map(plogp).sum();
        let bits = (cells - decisions - columns + plogp(total)) / total;
        (1.0 - SLIP) * bits.max(0.0)
    }

    fn spread(&mut self, at: usize, candidate: &Candidate, row: &Row, outcomes: usize) {
        let hypothesis = &self.model.hypotheses.list[self.live[at]];
        let weight = self.weights[self.live[at]];
        let flex = candidate.measurement.flex.as_deref();
        let Forecast { faulty, healthy } = &self.forecasts[at];
        match &hypothesis.behaviour {
            Behaviour::Anything => self.line.flat(outcomes, weight),
            Behaviour::Steady => self.line.add(faulty, 0, weight),
            behaviour => {
                let shows = shows(&self.model.harness, behaviour, flex);
                self.line.add(healthy.as_ref().unwrap_or(faulty), 0, weight * (1.0 - shows));
                let unsteady = flex.is_some() && !row.same(0, hypothesis.state);
                self.line.add(faulty, if unsteady { STEADY_OUTCOMES } else { 0 }, weight * shows);
            }
        }
    }
}

/// The outcomes of one decision, most of them untouched.
struct Line {
    cells: Vec<f64>,
    touched: Vec<(usize, usize)>,
}

impl Default for Line {
    fn default() -> Self {
        Self { cells: vec![0.0; 2 * STEADY_OUTCOMES], touched: Vec::new() }
    }
}

impl Line {
    fn add(&mut self, dealt: &Dealt, offset: usize, weight: f64) {
        let first = offset + dealt.first;
        let cells = &mut self.cells[first..first + dealt.shares.len()];
        cells.iter_mut().zip(&dealt.shares).for_each(|(cell, share)| *cell += weight * share);
        self.touched.push((first, first + dealt.shares.len()));
        if dealt.over > 0.0 {
            self.cells[offset + OVER] += weight * dealt.over;
            self.touched.push((offset + OVER, offset + OVER + 1));
        }
    }

    fn flat(&mut self, outcomes: usize, weight: f64) {
        self.cells[..outcomes].iter_mut().for_each(|cell| *cell += weight / outcomes as f64);
        self.touched.push((0, outcomes));
    }

    /// Empties the line into the columns; returns its sum, and that of p·log p.
    fn drain(&mut self, columns: &mut [f64]) -> (f64, f64) {
        let (mut sum, mut entropy) = (0.0, 0.0);
        for (from, to) in self.touched.drain(..) {
            for (cell, column) in self.cells[from..to].iter_mut().zip(&mut columns[from..to]) {
                let p = std::mem::take(cell);
                sum += p;
                entropy += plogp(p);
                *column += p;
            }
        }
        (sum, entropy)
    }
}

fn plogp(p: f64) -> f64 {
    if p > 0.0 { p * p.log2() } else { 0.0 }
}

/// Deals what a cell predicts out over the outcomes.
fn deal(cell: &Cell, estimate: &Estimate, meter: &Meter) -> Dealt {
    let Some((middle, variance)) = Expectation::outlook(cell, estimate, meter) else {
        return Dealt { first: 0, shares: Vec::new(), over: 1.0 };
    };
    let sd = variance.sqrt().max(1e-4);
    let ceiling = cell.dial.scale(meter.most(cell.dial));
    let bin = |u: f64| ((u / WIDTH) as usize).min(BINS - 1);
    let (first, last) = (bin((middle - 4.0 * sd).max(0.0)), bin((middle + 4.0 * sd).min(ceiling)));
    let mut below = 0.0;
    let mut shares = Vec::with_capacity(last - first + 1);
    for index in first..last {
        let up_to = quick_cumulative(((index + 1) as f64 * WIDTH - middle) / sd);
        shares.push(up_to - below);
        below = up_to;
    }
    let shown =
        if middle + 4.0 * sd > ceiling { cumulative((ceiling - middle) / sd).max(below) } else { 1.0 };
    shares.push(shown - below);
    Dealt { first, shares, over: 1.0 - shown }
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
