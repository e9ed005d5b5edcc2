//! One instrument from the first reading to the conclusion.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use serde::Serialize;

use super::calibration::Calibration;
use super::choice::{Chooser, Table};
use super::instrument::Instrument;
use super::slips::Hand;
use super::truth::{Case, Truth};
use super::{Setup, TrialError};
use crate::advisor::{self, Stand};
use crate::belief::Belief;
use crate::circuit::{Change, Harness, NodeId, TerminalId};
use crate::faults::{FaultId, Kind as FaultKind, NOT_IN_CATALOGUE, NOTHING_WRONG};
use crate::prediction::Hypothesis;
use crate::readings::{Measurement, Mode, Shown};
use crate::units::{Ohms, show_ohms};
use crate::workbench::Engine;

/// It is given up after so many readings.
const MOST: usize = 100;
/// One answer in so many to whether another cable cures it misleads.
const MISLEADS: f64 = 0.1;
/// Suspects that a person looks at.
const TOP: usize = 3;

/// What kind of instrument it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// It has one fault of the catalogue; that nothing is wrong counts as one.
    Single,
    /// Nothing is wrong with it.
    Healthy,
    /// It has two faults of the catalogue.
    Pair,
    /// It has something that the catalogue does not hold.
    Outside,
}

impl Kind {
    /// Every kind, in the order of a report.
    pub const ALL: [Self; 4] = [Self::Single, Self::Healthy, Self::Pair, Self::Outside];
}

/// How much of a pair was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PairFound {
    /// Both faults.
    Both,
    /// One of them.
    One,
    /// Neither.
    None,
}

/// What became of one instrument.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outcome {
    /// What kind of instrument it was.
    pub kind: Kind,
    /// The ids of its faults, or what was done to it.
    pub truth: Vec<String>,
    /// The ids of the faults that were concluded.
    pub concluded: Vec<String>,
    /// How probable the program held its conclusion.
    pub probability: f64,
    /// Whether it was sure enough to act on; otherwise it was a best guess.
    pub sure: bool,
    /// Whether the truth is among what was concluded; of a pair, whether one of both is.
    pub found: bool,
    /// How much of a pair is among the three likeliest suspects.
    pub pair: Option<PairFound>,
    /// How many readings nothing explained when the program first held it likelier than not that the catalogue does
    /// not hold the truth, or ended with that as its leader.
    pub flagged_after: Option<usize>,
    /// How many readings were taken.
    pub readings: usize,
    /// How many of them a tree asked for.
    pub by_tree: usize,
    /// Hands-on minutes.
    pub minutes: f64,
    /// How many readings were taken or typed wrongly.
    pub slips: usize,
    /// How probable the truth was before anything was known.
    #[serde(skip)]
    pub prior: f64,
    /// The final probability against the truth.
    #[serde(skip)]
    pub verdict: Calibration,
    /// Every suspect's probability after every reading against the truth.
    #[serde(skip)]
    pub suspects: Calibration,
}

/// An instrument while it is on the bench.
struct Bench<'e> {
    engine: &'e Engine,
    case: &'e Case,
    table: Table<'e>,
    seconds: f64,
    /// Whether each decision holds the truth.
    holds: Vec<bool>,
    /// The decision that the catalogue does not hold the truth.
    unlisted: Option<usize>,
    prior: f64,
    suspects: Calibration,
    flagged: Option<usize>,
}

/// Plays one case to its end.
pub(super) fn play(engine: &Engine, setup: &Setup, case: &Case) -> Result<Outcome, TrialError> {
    let mut instrument = Instrument::new(engine, case)?;
    let mut bench = Bench::new(engine, setup, case);
    let complaint = instrument.complaint(&case.truth);
    if let Some(symptom) = complaint {
        bench.table.belief.hear(&engine.complaint(symptom));
    }
    bench.table.belief.hear(&another_cable(engine, case));
    let mut chooser = Chooser::new(engine, setup, complaint, case.seed);
    let mut hand = Hand::new(engine.harness(), engine.meter, setup.slips, case.seed);
    while let Some(measurement) = bench.next(&mut chooser) {
        let shown = hand.take(&mut instrument, &measurement)?;
        chooser.after(&measurement, &shown);
        bench.take_in(measurement, shown)?;
    }
    Ok(Outcome { slips: hand.slips, by_tree: chooser.by_tree, ..bench.outcome() })
}

impl<'e> Bench<'e> {
    fn new(engine: &'e Engine, setup: &Setup, case: &'e Case) -> Self {
        let mut belief = Belief::prior(&engine.model);
        if setup.priors_off > 1.0 {
            belief.hear(&priors_off(engine, setup.priors_off, case.seed));
        }
        let stand = Stand::default();
        let table = Table { engine, access: setup.access, belief, stand, spent: Vec::new() };
        let not_in = engine.model.catalogue.find(NOT_IN_CATALOGUE);
        let unlisted = not_in.and_then(|fault| decision_with(engine, &[fault]));
        let true_ones = match (&case.truth, not_in) {
            (Truth::Outside(_), Some(fault)) => vec![fault],
            (truth, _) => truth.faults(),
        };
        Self {
            engine,
            case,
            table,
            seconds: 0.0,
            holds: holds(engine, &true_ones),
            unlisted,
            prior: true_ones.iter().map(|fault| engine.model.catalogue[*fault].prior).product(),
            suspects: Calibration::default(),
            flagged: None,
        }
    }

    fn next(&self, chooser: &mut Chooser<'_>) -> Option<Measurement> {
        let (leader, probability) = advisor::leader(&self.engine.groups, &self.table.belief);
        let sure = advisor::sure(&self.engine.groups, leader, probability);
        let over = sure && !self.table.spent.is_empty() || self.table.spent.len() >= MOST;
        if over { None } else { chooser.next(&self.table) }
    }

    fn take_in(&mut self, measurement: Measurement, shown: Shown) -> Result<(), TrialError> {
        let table = &mut self.table;
        self.seconds += advisor::seconds(self.engine.harness(), &measurement, &table.stand);
        believe(self.engine, &mut table.belief, &measurement, shown)?;
        table.stand.opened.extend(advisor::places(self.engine.harness(), &measurement));
        table.stand.setting = measurement.setting.clone();
        table.stand.probes = Some((measurement.red.clone(), measurement.black.clone()));
        table.spent.push(measurement);
        self.note();
        Ok(())
    }

    fn probabilities(&self) -> Vec<f64> {
        self.engine.groups.probabilities(&self.table.belief.weights())
    }

    /// Notes what every suspect's probability is worth, and whether the catalogue is doubted.
    fn note(&mut self) {
        let probabilities = self.probabilities();
        for (probability, holds) in probabilities.iter().zip(&self.holds) {
            self.suspects.add(*probability, *holds, self.prior);
        }
        if self.flagged.is_none() && self.unlisted.is_some_and(|decision| probabilities[decision] > 0.5) {
            self.flagged = Some(self.contradicting());
        }
    }

    fn contradicting(&self) -> usize {
        self.table.belief.unexplained().into_iter().filter(|unexplained| *unexplained).count()
    }

    fn outcome(self) -> Outcome {
        let (leader, probability) = advisor::leader(&self.engine.groups, &self.table.belief);
        let found = self.holds[leader];
        let mut verdict = Calibration::default();
        verdict.add(probability, found, self.prior);
        let at_end = (self.unlisted == Some(leader)).then(|| self.contradicting());
        let catalogue = &self.engine.model.catalogue;
        let id = |fault: &FaultId| catalogue[*fault].id.clone();
        Outcome {
            kind: self.case.kind,
            truth: told(self.engine, &self.case.truth),
            concluded: self.engine.groups.faults(&self.engine.model, leader).iter().map(id).collect(),
            probability,
            sure: advisor::sure(&self.engine.groups, leader, probability),
            found,
            pair: self.pair(),
            flagged_after: self.flagged.or(at_end),
            readings: self.table.spent.len(),
            by_tree: 0,
            minutes: self.seconds / 60.0,
            slips: 0,
            prior: self.prior,
            verdict,
            suspects: self.suspects,
        }
    }

    /// Returns how much of a pair is among the likeliest suspects.
    fn pair(&self) -> Option<PairFound> {
        let Truth::Pair(one, other) = self.case.truth else { return None };
        let probabilities = self.probabilities();
        let mut order: Vec<usize> = (0..probabilities.len()).collect();
        order.sort_by(|&a, &b| probabilities[b].total_cmp(&probabilities[a]));
        let top = &order[..TOP.min(order.len())];
        let among = |fault| {
            let holds = holds(self.engine, &[fault]);
            top.iter().any(|&decision| holds[decision])
        };
        Some(match (among(one), among(other)) {
            (true, true) => PairFound::Both,
            (false, false) => PairFound::None,
            _ => PairFound::One,
        })
    }
}

fn believe(
    engine: &Engine,
    belief: &mut Belief,
    measurement: &Measurement,
    shown: Shown,
) -> Result<(), TrialError> {
    if let (Mode::Observe(check), Shown::Said(said)) = (measurement.mode, shown) {
        belief.observe(&engine.chances(check, measurement)?, said);
    } else {
        let flex = measurement.flex.as_deref();
        belief.read(&engine.model, engine.meter, flex, &[(shown, engine.row(measurement)?)]);
    }
    Ok(())
}

/// Returns whether each decision holds one of some faults.
fn holds(engine: &Engine, faults: &[FaultId]) -> Vec<bool> {
    let listed = |fault: &FaultId| faults.contains(fault);
    let holds = |decision| engine.groups.faults(&engine.model, decision).iter().any(listed);
    (0..engine.groups.decisions.len()).map(holds).collect()
}

fn decision_with(engine: &Engine, faults: &[FaultId]) -> Option<usize> {
    holds(engine, faults).iter().position(|holds| *holds)
}

/// Another cable and another amplifier were tried first, as at every bench; one answer in ten misleads.
fn another_cable(engine: &Engine, case: &Case) -> Vec<f64> {
    let nothing = |fault: &FaultId| engine.model.catalogue[*fault].kind == FaultKind::NothingWrong;
    let misled = StdRng::seed_from_u64(case.seed ^ 0xC0_FFEE).random_bool(MISLEADS);
    let cured_by_it = case.truth.faults().iter().any(nothing) != misled;
    let says = |h: &Hypothesis| h.faults.iter().any(|(fault, _)| nothing(fault)) == cured_by_it;
    let hypotheses = engine.model.hypotheses.list.iter();
    hypotheses.map(|h| if says(h) { 1.0 - MISLEADS } else { MISLEADS }).collect()
}

/// Returns by how much each hypothesis's prior is off, the largest as one: each fault is a factor too likely or too
/// unlikely, at random.
fn priors_off(engine: &Engine, factor: f64, seed: u64) -> Vec<f64> {
    let mut rng = StdRng::seed_from_u64(seed ^ 0x9210);
    let mut off = || if rng.random_bool(0.5) { factor } else { 1.0 / factor };
    let by_fault: Vec<f64> = engine.model.catalogue.faults.iter().map(|_| off()).collect();
    let of = |h: &Hypothesis| h.faults.iter().map(|(fault, share)| share * by_fault[fault.0]).sum::<f64>();
    engine.model.hypotheses.list.iter().map(|h| of(h) / factor).collect()
}

/// Returns the ids of the faults, or what was done to the instrument.
fn told(engine: &Engine, truth: &Truth) -> Vec<String> {
    match truth {
        Truth::Outside(change) => vec![done(engine, change)],
        listed => listed.faults().iter().map(|fault| engine.model.catalogue[*fault].id.clone()).collect(),
    }
}

fn done(engine: &Engine, change: &Change) -> String {
    let harness = engine.harness();
    match change {
        Change::Bridge(a, b, ohms) => {
            let [a, b] = [a, b].map(|node| lug_at(engine, *node));
            format!("{} between {a} and {b}", show_ohms(Ohms::new(*ohms)))
        }
        Change::Exchange(a, b) => format!("{} exchanged with {}", name(harness, *a), name(harness, *b)),
        _ => String::new(),
    }
}

fn lug_at(engine: &Engine, node: NodeId) -> String {
    let here = |t: &TerminalId| engine.model.network.lug(*t) == node;
    let found = (0..engine.harness().terminals.len()).map(TerminalId).find(here);
    found.map_or_else(String::new, |terminal| name(engine.harness(), terminal))
}

fn name(harness: &Harness, terminal: TerminalId) -> String {
    harness[terminal].name.clone()
}

/// The id under which a healthy instrument is concluded.
pub(super) const HEALTHY: &str = NOTHING_WRONG;
