//! Which suspects no available measurement can tell apart, and which are mended by the same work.

use std::collections::{BTreeMap, BTreeSet};

use crate::belief::{Estimate, Expectation};
use crate::circuit::TerminalId;
use crate::faults::FaultId;
use crate::prediction::{Behaviour, Candidates, Hypothesis, Model, Question, Row};
use crate::readings::{Check, Meter, Mode};

/// Two states count as told apart when some reading differs by so many standard deviations.
const TOLD_APART: f64 = 2.5;
/// Two states count as told apart when some answer is so much likelier to be yes under one: what is plain to hear.
const PLAIN: f64 = 0.8;

/// The suspects in groups.
#[derive(Clone, Debug)]
pub struct Groups {
    /// The ambiguity group of each fault, numbered from 0 in the order of the catalogue.
    pub of_fault: Vec<usize>,
    /// The decision each hypothesis belongs to.
    pub decision_of: Vec<usize>,
    /// The hypotheses of each decision: those that cannot be told apart, or that the same repair mends.
    pub decisions: Vec<Vec<usize>>,
    /// Whether a decision's readings are those of a healthy instrument.
    pub like_healthy: Vec<bool>,
}

impl Groups {
    /// Works out the groups of a model with a meter, given full access.
    pub fn new(model: &Model, candidates: &Candidates, meter: &Meter) -> Self {
        let hypotheses = &model.hypotheses.list;
        let states = state_groups(model, candidates, meter);
        let ambiguous = ambiguity(hypotheses, &states);
        let root = states.root(0);
        let healthy: Vec<bool> = hypotheses.iter().map(|h| states.root(h.state) == root).collect();
        let mut decided = ambiguous.clone();
        join_equal_repairs(model, hypotheses, &healthy, &mut decided);
        let decision_of = numbered(&mut decided);
        let count = decision_of.iter().max().map_or(0, |most| most + 1);
        let decisions: Vec<Vec<usize>> =
            (0..count).map(|d| (0..hypotheses.len()).filter(|&h| decision_of[h] == d).collect()).collect();
        let like_healthy = decisions.iter().map(|d: &Vec<usize>| d.iter().any(|&h| healthy[h])).collect();
        Self { of_fault: fault_groups(model, ambiguous), decision_of, decisions, like_healthy }
    }

    /// Returns the faults of a decision, each once, in the order of the catalogue.
    pub fn faults(&self, model: &Model, decision: usize) -> Vec<FaultId> {
        let members = self.decisions[decision].iter().flat_map(|&h| &model.hypotheses.list[h].faults);
        let mut faults: Vec<FaultId> = members.map(|(fault, _)| *fault).collect();
        faults.sort();
        faults.dedup();
        faults
    }

    /// Returns the probability of each decision.
    pub fn probabilities(&self, weights: &[f64]) -> Vec<f64> {
        self.decisions.iter().map(|members| members.iter().map(|&h| weights[h]).sum()).collect()
    }
}

/// A partition that grows by joining.
#[derive(Clone, Debug)]
struct Partition(Vec<usize>);

impl Partition {
    fn new(size: usize) -> Self {
        Self((0..size).collect())
    }

    fn root(&self, mut index: usize) -> usize {
        while self.0[index] != index {
            index = self.0[index];
        }
        index
    }

    fn join(&mut self, one: usize, other: usize) {
        let (one, other) = (self.root(one), self.root(other));
        self.0[one.max(other)] = one.min(other);
    }
}

fn numbered(partition: &mut Partition) -> Vec<usize> {
    let mut numbers: BTreeMap<usize, usize> = BTreeMap::new();
    (0..partition.0.len())
        .map(|index| {
            let next = numbers.len();
            *numbers.entry(partition.root(index)).or_insert(next)
        })
        .collect()
}

fn state_groups(model: &Model, candidates: &Candidates, meter: &Meter) -> Partition {
    let prior = Estimate::of_parts(&model.params);
    let forecast = |row: &Row| row.iter().map(|cell| Expectation::new(cell, &prior, meter)).collect();
    let forecasts: Vec<Vec<Expectation>> = candidates.rows.iter().map(forecast).collect();
    let answers = answers(model, candidates);
    let states = model.hypotheses.states.len();
    let mut partition = Partition::new(states);
    for one in 0..states {
        for other in one + 1..states {
            let by_ear = || answers.iter().any(|yes| (yes[one] - yes[other]).abs() > PLAIN);
            if !forecasts.iter().any(|row| differ(&row[one], &row[other])) && !by_ear() {
                partition.join(one, other);
            }
        }
    }
    partition
}

/// Returns the chance of yes under every state, for each question about the instrument itself.
fn answers(model: &Model, candidates: &Candidates) -> Vec<Vec<f64>> {
    let of_state = |state: usize| {
        let steady = |h: &Hypothesis| h.state == state && h.behaviour == Behaviour::Steady;
        model.hypotheses.list.iter().position(steady)
    };
    let steady: Vec<Option<usize>> = (0..model.hypotheses.states.len()).map(of_state).collect();
    let about_it = |q: &&Question| q.measurement.mode != Mode::Observe(Check::OtherCable);
    let yes = |q: &Question| steady.iter().map(|h| h.map_or(0.5, |h| q.chances[h])).collect();
    candidates.questions.iter().filter(about_it).map(yes).collect()
}

/// Returns whether a reading tells two states apart; the part values are those of one instrument in both.
fn differ(one: &Expectation, other: &Expectation) -> bool {
    match (one.middle, other.middle) {
        (None, None) => false,
        (Some(a), Some(b)) => {
            let tolerance = (one.variance - one.noise).max(other.variance - other.noise);
            (a - b).abs() > TOLD_APART * (one.noise + other.noise + tolerance).sqrt()
        }
        _ => true,
    }
}

fn ambiguity(hypotheses: &[Hypothesis], states: &Partition) -> Partition {
    let mut first: BTreeMap<(usize, Vec<TerminalId>, bool), usize> = BTreeMap::new();
    let mut partition = Partition::new(hypotheses.len());
    for (index, hypothesis) in hypotheses.iter().enumerate() {
        let group = states.root(hypothesis.state);
        let key = match &hypothesis.behaviour {
            Behaviour::Anything => (usize::MAX, Vec::new(), false),
            Behaviour::ComesAndGoes { terminals, .. } if group != states.root(0) => {
                (group, terminals.clone(), true)
            }
            Behaviour::ComesAndGoes { .. } | Behaviour::Steady => (group, Vec::new(), false),
        };
        match first.get(&key) {
            Some(&known) => partition.join(known, index),
            None => {
                first.insert(key, index);
            }
        }
    }
    partition
}

/// Joins the hypotheses that one repair mends, but for those that read like a healthy instrument: they would
/// drag everything with the same repair into "nothing to be found".
fn join_equal_repairs(
    model: &Model,
    hypotheses: &[Hypothesis],
    like_healthy: &[bool],
    partition: &mut Partition,
) {
    let mut first: BTreeMap<&str, usize> = BTreeMap::new();
    for (index, hypothesis) in hypotheses.iter().enumerate().filter(|(index, _)| !like_healthy[*index]) {
        for (fault, _) in &hypothesis.faults {
            match first.get(model.catalogue[*fault].repair.key.as_str()) {
                Some(&known) => partition.join(known, index),
                None => {
                    first.insert(&model.catalogue[*fault].repair.key, index);
                }
            }
        }
    }
}

/// Two faults share a group when all their forms do: no reading tells them apart, however large they are.
fn fault_groups(model: &Model, mut ambiguous: Partition) -> Vec<usize> {
    let groups = numbered(&mut ambiguous);
    let mut forms: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); model.catalogue.faults.len()];
    for (hypothesis, group) in model.hypotheses.list.iter().zip(groups) {
        for (FaultId(fault), _) in &hypothesis.faults {
            forms[*fault].insert(group);
        }
    }
    let mut numbers: BTreeMap<BTreeSet<usize>, usize> = BTreeMap::new();
    forms
        .into_iter()
        .map(|forms| {
            let next = numbers.len();
            *numbers.entry(forms).or_insert(next)
        })
        .collect()
}
