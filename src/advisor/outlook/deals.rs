//! What each decision makes a measurement show, in the few outcomes that tell decisions apart.

use std::collections::BTreeSet;

use super::Ground;
use crate::advisor::planning::Deal;
use crate::belief::{Expectation, cumulative, quick_cumulative};
use crate::prediction::{Behaviour, Candidate, Cell, Row, shows};
use crate::readings::{Dial, Measurement};

/// Width of a step on the scale ln(1 + R/50 Ω): a twentieth of a reading; finer steps would be joined again.
const WIDTH: f64 = 0.05;
const STEPS: usize = (Dial::END / WIDTH) as usize + 2;
/// The steps for over range, and for a flexed reading that moved.
const OVER: usize = STEPS;
const UNSTEADY: usize = STEPS + 1;
/// An outcome that a decision shows less often than this is left out, and so is a hypothesis that is so much less
/// likely than the likeliest of its decision: each would be a branch of its own that hardly counts.
const MEAGRE: f64 = 0.01;

/// Works out what decisions make measurements show.
pub(super) struct Deals<'a> {
    ground: &'a Ground<'a>,
    /// The decisions that are looked at, with their probabilities.
    pub(super) live: Vec<(usize, f64)>,
    weights: Vec<f64>,
}

impl<'a> Deals<'a> {
    /// Prepares for some decisions.
    pub(super) fn new(ground: &'a Ground<'a>, live: Vec<(usize, f64)>) -> Self {
        Self { ground, live, weights: ground.belief.weights() }
    }

    /// Returns what each decision makes a measurement show; `None` for one that is not among the candidates.
    pub(super) fn of(&self, measurement: &Measurement) -> Option<Vec<Deal>> {
        let candidates = self.ground.candidates;
        if let Some(known) = candidates.list.iter().find(|c| c.measurement == *measurement) {
            return Some(joined(&self.lines(known, &candidates.rows[known.row])));
        }
        let question = candidates.questions.iter().find(|q| q.measurement == *measurement)?;
        Some(self.live.iter().map(|(decision, _)| self.answers(*decision, &question.chances)).collect())
    }

    /// Returns the hypotheses of a decision that count.
    fn members(&self, decision: usize) -> impl Iterator<Item = usize> {
        let members = &self.ground.groups.decisions[decision];
        let heaviest = members.iter().map(|&h| self.weights[h]).fold(0.0, f64::max);
        members.iter().copied().filter(move |&h| self.weights[h] > MEAGRE * heaviest)
    }

    fn answers(&self, decision: usize, chances: &[f64]) -> Deal {
        let total: f64 = self.members(decision).map(|h| self.weights[h]).sum();
        let yes = self.members(decision).map(|h| self.weights[h] * chances[h]).sum::<f64>() / total;
        without_meagre(&[yes, 1.0 - yes])
    }

    /// Returns the probability of each decision, line by line, with each step of the scale.
    fn lines(&self, candidate: &Candidate, row: &Row) -> Vec<Vec<f64>> {
        let line = |&(decision, _): &(usize, f64)| {
            let mut line = vec![0.0; UNSTEADY + 1];
            self.members(decision).for_each(|h| self.spread(h, candidate, row, &mut line));
            line
        };
        self.live.iter().map(line).collect()
    }

    /// Spreads a hypothesis over what it makes the measurement show.
    fn spread(&self, index: usize, candidate: &Candidate, row: &Row, line: &mut [f64]) {
        let (hypothesis, weight) = (&self.ground.model.hypotheses.list[index], self.weights[index]);
        let (healthy, faulty) = (&row[0], &row[hypothesis.state]);
        let flex = candidate.measurement.flex.as_deref();
        match &hypothesis.behaviour {
            Behaviour::Anything => {
                let each = weight / line.len() as f64;
                line.iter_mut().for_each(|step| *step += each);
            }
            Behaviour::Steady => self.deal(index, faulty, weight, line),
            behaviour => {
                let shows = weight * shows(&self.ground.model.harness, behaviour, flex);
                self.deal(index, healthy, weight - shows, line);
                if flex.is_some() && healthy.reads != faulty.reads {
                    line[UNSTEADY] += shows;
                } else {
                    self.deal(index, faulty, shows, line);
                }
            }
        }
    }

    /// Deals a weight out over the steps that a cell predicts under a hypothesis.
    fn deal(&self, index: usize, cell: &Cell, weight: f64, line: &mut [f64]) {
        let (belief, meter) = (self.ground.belief, self.ground.meter);
        let Some((middle, variance)) = Expectation::outlook(cell, belief.estimate(index), meter) else {
            line[OVER] += weight;
            return;
        };
        let sd = variance.sqrt().max(1e-4);
        let ceiling = cell.dial.scale(meter.most(cell.dial));
        let shown = cumulative((ceiling - middle) / sd);
        let step = |u: f64| ((u.clamp(0.0, ceiling) / WIDTH) as usize).min(STEPS - 1);
        let (first, last) = (step(middle - 4.0 * sd), step(middle + 4.0 * sd));
        let mut below = 0.0;
        for (at, share) in line.iter_mut().enumerate().take(last).skip(first) {
            let up_to =
                quick_cumulative(((at + 1) as f64 * WIDTH - middle) / sd).clamp(below, shown.max(below));
            *share += weight * (up_to - below);
            below = up_to;
        }
        line[last] += weight * (shown - below).max(0.0);
        line[OVER] += weight * (1.0 - shown.max(below));
    }
}

/// Joins the steps at which the same decision is the likeliest, and returns what each decision shows.
fn joined(lines: &[Vec<f64>]) -> Vec<Deal> {
    let likeliest = |at: usize| {
        let most = lines.iter().map(|line| line[at]).fold(0.0, f64::max);
        lines.iter().position(|line| line[at] >= most).unwrap_or(0)
    };
    let outcome = |at: usize| if at < OVER { likeliest(at) } else { lines.len() + at - OVER };
    let outcomes: Vec<usize> = (0..=UNSTEADY).map(outcome).collect();
    let deal = |line: &Vec<f64>| {
        let mut shown = vec![0.0; lines.len() + 2];
        line.iter().zip(&outcomes).for_each(|(p, &outcome)| shown[outcome] += p);
        without_meagre(&shown)
    };
    renumbered(lines.iter().map(deal).collect())
}

/// Returns the outcomes that are worth a branch, with probabilities that add up to one.
fn without_meagre(shown: &[f64]) -> Deal {
    let total: f64 = shown.iter().sum();
    let kept = || shown.iter().copied().enumerate().filter(|(_, p)| *p >= MEAGRE * total);
    let sum: f64 = kept().map(|(_, p)| p).sum();
    kept().map(|(outcome, p)| (outcome, p / sum)).collect()
}

/// Numbers the outcomes that are left from 0.
fn renumbered(deals: Vec<Deal>) -> Vec<Deal> {
    let used: BTreeSet<usize> = deals.iter().flatten().map(|(outcome, _)| *outcome).collect();
    let number = |outcome: usize| used.range(..outcome).count();
    deals.into_iter().map(|deal| deal.into_iter().map(|(o, p)| (number(o), p)).collect()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand: the second decision is the likeliest at the second step alone; nothing is over range or unsteady.
    #[test]
    fn steps_of_one_likeliest_decision_are_one_outcome() {
        let line = |steps: [f64; 3]| {
            let mut line = vec![0.0; UNSTEADY + 1];
            line[..3].copy_from_slice(&steps);
            line
        };
        let deals = joined(&[line([0.3, 0.1, 0.2]), line([0.0, 0.4, 0.0])]);
        assert_eq!(deals[1], [(1, 1.0)]);
        assert!((deals[0][0].1 - 5.0 / 6.0).abs() < 1e-12 && (deals[0][1].1 - 1.0 / 6.0).abs() < 1e-12);
    }

    #[test]
    fn over_range_and_unsteady_stay_apart() {
        let mut line = vec![0.0; UNSTEADY + 1];
        (line[OVER], line[UNSTEADY], line[7]) = (0.25, 0.25, 0.5);
        assert_eq!(joined(&[line]), [vec![(0, 0.5), (1, 0.25), (2, 0.25)]]);
    }
}
