//! States, the decisions they lead to, and the tests that tell them apart.

use super::costs::{Costs, Spot};
use crate::advisor::{entropy, information::mutual_information};

/// The outcomes that a state gives a test, each with its probability; they add up to one.
pub type Deal = Vec<(usize, f64)>;

/// A share of the whole that is no more than rounding.
const ROUNDING: f64 = 1e-12;
/// A test that tells less than this tells nothing, in bits.
const NOTHING: f64 = 1e-9;

/// States with their decisions, tests with their outcomes, and what tests cost.
#[derive(Clone, Debug)]
pub struct Table {
    pub(super) priors: Vec<f64>,
    pub(super) decisions: Vec<usize>,
    pub(super) tests: Vec<Vec<Deal>>,
    pub(super) costs: Costs,
    /// The share at which each decision ends a plan.
    sure: Vec<f64>,
    /// How many outcomes each test has, and how many decisions there are.
    outcomes: Vec<usize>,
    decision_count: usize,
}

/// Where a plan has come to.
#[derive(Clone, Debug)]
pub struct Stage {
    /// The probability of each state together with all outcomes so far.
    pub weights: Vec<f64>,
    /// The tests that were taken, in order.
    pub taken: Vec<usize>,
    /// Where things stand.
    pub spot: Spot,
}

impl Stage {
    /// Returns the probability of coming here.
    pub fn mass(&self) -> f64 {
        self.weights.iter().sum()
    }

    fn live(&self) -> impl Iterator<Item = (usize, f64)> {
        self.weights.iter().copied().enumerate().filter(|(_, weight)| *weight > 0.0)
    }
}

impl Table {
    /// Makes a table: the weight and the decision of each state, for each test what each state gives, and the costs.
    ///
    /// A plan ends when the leading decision holds the share `sure`. Weights need not add up to one. Decisions and outcomes are numbered from 0.
    pub fn new(
        priors: Vec<f64>,
        decisions: Vec<usize>,
        tests: Vec<Vec<Deal>>,
        costs: Costs,
        sure: f64,
    ) -> Self {
        let highest = |test: &Vec<Deal>| test.iter().flatten().map(|(outcome, _)| outcome + 1).max();
        let outcomes = tests.iter().map(|test| highest(test).unwrap_or(1)).collect();
        let decision_count = decisions.iter().max().map_or(0, |most| most + 1);
        let sure = vec![sure; decision_count];
        Self { priors, decisions, tests, costs, sure, outcomes, decision_count }
    }

    /// Makes a table in which every state is a decision of its own and gives each test one certain outcome.
    ///
    /// `outcomes` holds for each state what each test shows.
    pub fn certain(priors: Vec<f64>, outcomes: &[Vec<usize>], costs: Costs) -> Self {
        let tests = costs.reading.len();
        let decisions = (0..priors.len()).collect();
        let deals = |test: usize| outcomes.iter().map(|state| vec![(state[test], 1.0)]).collect();
        Self::new(priors, decisions, (0..tests).map(deals).collect(), costs, 1.0)
    }

    /// Returns this table with a share for each decision at which a plan ends.
    pub fn ending_at(self, sure: Vec<f64>) -> Self {
        Self { sure, ..self }
    }

    /// Returns the stage before any test.
    pub fn start(&self) -> Stage {
        Stage { weights: self.priors.clone(), taken: Vec::new(), spot: Spot::default() }
    }

    /// Returns the number of outcomes of a test.
    pub fn outcomes(&self, test: usize) -> usize {
        self.outcomes[test]
    }

    /// Returns the seconds of a test from a stage.
    pub fn seconds(&self, stage: &Stage, test: usize) -> f64 {
        self.costs.seconds(stage.spot, test)
    }

    /// Returns the probability of each decision together with all outcomes so far.
    pub fn shares(&self, stage: &Stage) -> Vec<f64> {
        let mut shares = vec![0.0; self.decision_count];
        stage.live().for_each(|(state, weight)| shares[self.decisions[state]] += weight);
        shares
    }

    /// Returns whether a plan ends here.
    pub fn ended(&self, stage: &Stage) -> bool {
        let shares = self.shares(stage);
        let total: f64 = shares.iter().sum();
        shares.iter().zip(&self.sure).any(|(share, sure)| *share >= (sure - ROUNDING) * total)
    }

    /// Returns the bits that are unknown about the decision at a stage.
    pub fn unknown(&self, stage: &Stage) -> f64 {
        let shares = self.shares(stage);
        let total: f64 = shares.iter().sum();
        entropy(&shares.into_iter().map(|share| share / total).collect::<Vec<_>>())
    }

    /// Returns the most bits that may be unknown where a plan ends (Fano's inequality).
    pub(super) fn doubt(&self) -> f64 {
        let rest = 1.0 - self.sure.iter().copied().fold(1.0, f64::min);
        let others = self.decision_count.saturating_sub(1).max(1);
        entropy(&[rest, 1.0 - rest]) + rest * (others as f64).log2()
    }

    /// Returns what a test leads to: every outcome that can be, with the stage after it.
    pub fn after(&self, stage: &Stage, test: usize) -> Vec<(usize, Stage)> {
        let mut weights = vec![vec![0.0; stage.weights.len()]; self.outcomes[test]];
        for (state, weight) in stage.live() {
            self.tests[test][state].iter().for_each(|&(outcome, p)| weights[outcome][state] += weight * p);
        }
        let taken: Vec<usize> = stage.taken.iter().copied().chain([test]).collect();
        let spot = self.costs.after(stage.spot, test);
        let stages = weights.into_iter().map(|weights| Stage { weights, taken: taken.clone(), spot });
        stages.enumerate().filter(|(_, stage)| stage.live().next().is_some()).collect()
    }

    /// Returns the bits that a test is expected to tell about the decision.
    pub fn bits(&self, stage: &Stage, test: usize) -> f64 {
        mutual_information(&self.joint(stage, test), self.outcomes[test])
    }

    /// Returns how much probability of two states with different decisions a test separates, in its doubled form
    /// (EC²), with the probabilities of the stage taken as one.
    pub fn edges_cut(&self, stage: &Stage, test: usize) -> f64 {
        let (joint, columns, mass) = (self.joint(stage, test), self.outcomes[test], stage.mass());
        let left = |outcome| {
            let shares: Vec<f64> = joint.iter().skip(outcome).step_by(columns).map(|p| p / mass).collect();
            shares.iter().sum::<f64>() * edges(&shares)
        };
        edges(&self.shares(stage)) / (mass * mass) - (0..columns).map(left).sum::<f64>()
    }

    /// Returns the tests that tell something and were not taken yet, with their bits.
    pub fn telling(&self, stage: &Stage) -> Vec<(usize, f64)> {
        let open = (0..self.tests.len()).filter(|test| !stage.taken.contains(test));
        open.map(|test| (test, self.bits(stage, test))).filter(|(_, bits)| *bits > NOTHING).collect()
    }

    /// Returns the probability of each decision, row by row, with each outcome of a test.
    fn joint(&self, stage: &Stage, test: usize) -> Vec<f64> {
        let columns = self.outcomes[test];
        let mut joint = vec![0.0; self.decision_count * columns];
        for (state, weight) in stage.live() {
            let line = &mut joint[self.decisions[state] * columns..][..columns];
            self.tests[test][state].iter().for_each(|&(outcome, p)| line[outcome] += weight * p);
        }
        joint
    }

    /// Returns the likeliest outcome of a test for a state, the first of equal ones.
    pub(super) fn likeliest(&self, test: usize, state: usize) -> usize {
        let deal = &self.tests[test][state];
        let most = deal.iter().map(|(_, p)| *p).fold(0.0, f64::max);
        deal.iter().find(|(_, p)| *p >= most).map_or(0, |(outcome, _)| *outcome)
    }

    /// Returns whether every state gives every test one certain outcome.
    pub fn is_certain(&self) -> bool {
        self.tests.iter().flatten().all(|deal| deal.len() == 1)
    }
}

/// Returns the probability of two draws that differ, for shares of any sum.
fn edges(shares: &[f64]) -> f64 {
    shares.iter().sum::<f64>().powi(2) - shares.iter().map(|p| p * p).sum::<f64>()
}
