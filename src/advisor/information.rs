//! How much a reading is expected to tell about what to repair.

use std::collections::BTreeMap;

use crate::belief::outcomes::{Dealt, OVER, STEADY_OUTCOMES, deal};
use crate::belief::{Belief, SLIP};
use crate::prediction::{Behaviour, Candidate, Candidates, Hypothesis, Model, Row};
use crate::readings::Meter;

/// Hypotheses below this probability are left out.
const NEGLIGIBLE: f64 = 1e-5;
/// So many forecasts, measurements times hypotheses, are worked out for one ranking: a frame's worth of time.
const MOST_FORECASTS: usize = 40_000;

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

/// What one hypothesis makes one measurement show, as numbers of what was dealt.
#[derive(Clone, Copy)]
struct Forecast {
    /// In its state.
    faulty: usize,
    /// While it does not show.
    healthy: usize,
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

    /// Returns what the candidates with these numbers are expected to tell in bits about which decision is right.
    ///
    /// A slip of the hand looks the same under every hypothesis: it tells nothing, whatever it shows.
    pub fn bits(&mut self, candidates: &Candidates, wanted: &[usize]) -> Vec<(usize, f64)> {
        let mut wanted = wanted.to_vec();
        wanted.sort_by_key(|&index| (candidates.list[index].row, candidates.list[index].flexed));
        let mut told = Vec::with_capacity(wanted.len());
        for of_row in wanted.chunk_by(|&a, &b| candidates.list[a].row == candidates.list[b].row) {
            let row = &candidates.rows[candidates.list[of_row[0]].row];
            let dealt = self.deal(row);
            for alike in of_row.chunk_by(|&a, &b| candidates.list[a].flexed == candidates.list[b].flexed) {
                let flexed = candidates.list[alike[0]].flexed;
                let bits = self.told(&dealt, &candidates.shows[flexed], row, flexed > 0);
                told.extend(alike.iter().map(|&index| (index, bits)));
            }
        }
        told.sort_by_key(|(index, _)| *index);
        told
    }

    /// Returns how many measurements can be weighed for one ranking.
    pub fn at_once(&self) -> usize {
        MOST_FORECASTS / self.live.len().max(1)
    }

    /// Returns what a candidate tells at a glance, with the part values and the meter's errors left out: bits to compare
    /// candidates with, too many of them.
    pub fn glance(&mut self, candidate: &Candidate, candidates: &Candidates) -> f64 {
        let row = &candidates.rows[candidate.row];
        let shows = &candidates.shows[candidate.flexed];
        let offset = if candidate.flexed > 0 { STEADY_OUTCOMES } else { 0 };
        let model = self.model;
        self.summed(|_, hypothesis, weight, line| {
            let state = model.hypotheses.list[hypothesis].state;
            match &model.hypotheses.list[hypothesis].behaviour {
                Behaviour::Anything => {}
                Behaviour::Steady => line.point(row.glance(state), weight),
                _ if row.same(0, state) => line.point(row.glance(0), weight),
                _ => {
                    line.point(row.glance(0), weight * (1.0 - shows[hypothesis]));
                    line.point(row.glance(state) + offset, weight * shows[hypothesis]);
                }
            }
        })
    }

    /// Returns the information that a question with yes or no is expected to give; `chances` is that of yes
    /// under every hypothesis.
    pub fn bits_of_answer(&mut self, chances: &[f64]) -> f64 {
        self.summed(|_, hypothesis, weight, line| {
            line.point(0, weight * chances[hypothesis]);
            line.point(1, weight * (1.0 - chances[hypothesis]));
        })
    }

    /// Deals out what every hypothesis makes a measurement show, once for those that read and know the same.
    fn deal(&mut self, row: &Row) -> Vec<Dealt> {
        let mut dealt = Vec::new();
        let mut known: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        let (belief, meter) = (self.belief, self.meter);
        let mut of = |hypothesis: usize, state: usize| {
            *known.entry((belief.knowledge(hypothesis), row.number(state))).or_insert_with(|| {
                dealt.push(deal(&row[state], belief.estimate(hypothesis), meter));
                dealt.len() - 1
            })
        };
        let list = &self.model.hypotheses.list;
        let forecasts =
            self.live.iter().map(|&h| Forecast { faulty: of(h, list[h].state), healthy: of(h, 0) });
        self.forecasts = forecasts.collect();
        dealt
    }

    fn told(&mut self, dealt: &[Dealt], shows: &[f64], row: &Row, flexed: bool) -> f64 {
        let outcomes = if flexed { 2 * STEADY_OUTCOMES } else { STEADY_OUTCOMES };
        let forecasts = std::mem::take(&mut self.forecasts);
        let list = &self.model.hypotheses.list;
        let bits = self.summed(|at, hypothesis, weight, line| {
            let Forecast { faulty, healthy } = forecasts[at];
            let Hypothesis { behaviour, state, .. } = &list[hypothesis];
            match behaviour {
                Behaviour::Anything => line.flat(outcomes, weight),
                Behaviour::Steady => line.add(&dealt[faulty], 0, weight),
                _ => {
                    let shows = shows[hypothesis];
                    line.add(&dealt[healthy], 0, weight * (1.0 - shows));
                    let unsteady = flexed && !row.same(0, *state);
                    line.add(&dealt[faulty], if unsteady { STEADY_OUTCOMES } else { 0 }, weight * shows);
                }
            }
        });
        self.forecasts = forecasts;
        (1.0 - SLIP) * bits
    }

    /// Returns the mutual information of decision and outcome: the entropy of what is shown less that under each
    /// decision. `spread` puts a hypothesis, with its place and weight, on the line of its decision.
    fn summed(&mut self, spread: impl Fn(usize, usize, f64, &mut Line)) -> f64 {
        let Self { live, decision_of, weights, line, columns, .. } = self;
        let (mut total, mut decisions, mut cells, mut start) = (0.0, 0.0, 0.0, 0);
        for same in live.chunk_by(|&a, &b| decision_of[a] == decision_of[b]) {
            for (at, &hypothesis) in same.iter().enumerate() {
                spread(start + at, hypothesis, weights[hypothesis], line);
            }
            let (sum, of_cells) = line.drain(columns);
            (total, decisions, cells) = (total + sum, decisions + plogp(sum), cells + of_cells);
            start += same.len();
        }
        let columns: f64 = columns.iter_mut().map(|column| plogp(std::mem::take(column))).sum();
        ((cells - decisions - columns + plogp(total)) / total).max(0.0)
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

    fn point(&mut self, outcome: usize, weight: f64) {
        self.cells[outcome] += weight;
        self.touched.push((outcome, outcome + 1));
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

/// Returns the mutual information of rows and columns of a table of joint probabilities, in bits.
pub fn mutual_information(table: &[f64], columns: usize) -> f64 {
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
