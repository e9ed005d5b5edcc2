//! One instrument from the first reading to the conclusion.

use std::sync::Arc;

use serde::Serialize;

use super::bench::Bench;
use super::calibration::Calibration;
use super::choice::Chooser;
use super::instrument::Instrument;
use super::slips::Hand;
use super::truth::{Case, Truth};
use super::{Setup, TrialError};
use crate::circuit::{Change, Harness, NodeId, TerminalId};
use crate::faults::{NOT_IN_CATALOGUE, NOTHING_WRONG};
use crate::units::{Ohms, show_ohms};
use crate::workbench::Engine;

/// It is given up after so many readings.
const MOST: usize = 100;
/// So many repairs are made before it is given up.
const ROUNDS: usize = 3;
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
    /// It is one as they come in: every fault as often as its prior says.
    Drawn,
    /// It has two faults of the catalogue.
    Pair,
    /// It has something that the catalogue does not hold.
    Outside,
}

impl Kind {
    /// Every kind, in the order of a report.
    pub const ALL: [Self; 5] = [Self::Single, Self::Healthy, Self::Drawn, Self::Pair, Self::Outside];
}

/// How much of a pair was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PairFound {
    /// Both faults.
    Both,
    /// One of them; without it every proof reading passed and nothing was left to complain of.
    OneAndCured,
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
    /// How much of a pair was among the three likeliest suspects, before a repair or after it.
    pub pair: Option<PairFound>,
    /// How many readings nothing explained when the program first doubted its single faults, slips excluded, or ended with
    /// the truth not being in the catalogue as its leader.
    pub flagged_after: Option<usize>,
    /// The most readings that nothing explained at a time.
    pub contradicting: usize,
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

impl Outcome {
    /// Returns whether the case went as it should: the truth found, both of a pair, and no doubt for nothing.
    pub fn right(&self) -> bool {
        match self.kind {
            Kind::Pair => matches!(self.pair, Some(PairFound::Both | PairFound::OneAndCured)),
            Kind::Outside => self.flagged_after.is_some(),
            Kind::Single | Kind::Healthy | Kind::Drawn => self.found && self.flagged_after.is_none(),
        }
    }
}

/// What is known of a case while it is played, by one who knows the truth.
struct Watch<'e> {
    engine: &'e Arc<Engine>,
    case: &'e Case,
    /// The ids of what is wrong.
    truth: Vec<String>,
    /// Which of them were among the likeliest suspects.
    seen: Vec<bool>,
    suspects: Calibration,
    flagged: Option<usize>,
    contradicting: usize,
    /// Whether a repair cured the instrument as far as anyone can tell.
    cured: bool,
}

/// Plays one case to its end.
pub(super) fn play(engine: &Arc<Engine>, setup: &Setup, case: &Case) -> Result<Outcome, TrialError> {
    let mut instrument = Instrument::new(engine, case)?;
    let asked = setup.complaint.filter(|_| case.kind == Kind::Drawn);
    let complaint = asked.or_else(|| instrument.complaint());
    let mut bench = Bench::new(engine, setup, complaint, case.seed)?;
    let mut chooser = Chooser::new(engine, setup, complaint, case.seed);
    let mut hand = Hand::new(engine.harness(), engine.meter, setup.slips, case.seed);
    let mut watch = Watch::new(engine, case);
    bench.try_another_cable(&mut instrument)?;
    search(&mut bench, &mut instrument, &mut chooser, &mut hand, &mut watch)?;
    let mut outcome = watch.outcome(&bench);
    for _ in 1..ROUNDS {
        if !matches!(case.kind, Kind::Pair | Kind::Outside) || watch.seen.iter().all(|seen| *seen) {
            break;
        }
        instrument.mend(&bench.concluded())?;
        if !bench.search_on(&mut instrument)? {
            watch.cured = true;
            break;
        }
        search(&mut bench, &mut instrument, &mut chooser, &mut hand, &mut watch)?;
    }
    outcome.pair = outcome.pair.and(Some(watch.pair()));
    outcome.flagged_after = watch.flagged;
    outcome.contradicting = watch.contradicting;
    Ok(Outcome { slips: hand.slips, by_tree: chooser.by_tree, ..outcome })
}

/// Looks for a fault until one is sure enough or nothing is worth its time.
fn search(
    bench: &mut Bench<'_>,
    instrument: &mut Instrument,
    chooser: &mut Chooser<'_>,
    hand: &mut Hand<'_>,
    watch: &mut Watch<'_>,
) -> Result<(), TrialError> {
    while !bench.over() && bench.readings < MOST {
        let Some(measurement) = chooser.next(&bench.table()) else { break };
        let shown = hand.take(instrument, &measurement)?;
        chooser.after(&measurement, &shown);
        bench.read(measurement, shown)?;
        watch.note(bench);
        while let Some(again) = bench.to_take_again().filter(|_| bench.readings < MOST) {
            let shown = hand.take(instrument, &again)?;
            bench.read(again, shown)?;
            while bench.withdraw()? {}
            watch.note(bench);
        }
    }
    watch.end(bench);
    Ok(())
}

impl<'e> Watch<'e> {
    fn new(engine: &'e Arc<Engine>, case: &'e Case) -> Self {
        let ids = case.truth.faults().into_iter().map(|fault| engine.model.catalogue[fault].id.clone());
        let mut truth: Vec<String> = ids.collect();
        if truth.is_empty() {
            truth.push(NOT_IN_CATALOGUE.to_owned());
        }
        let seen = vec![false; truth.len()];
        Self {
            engine,
            case,
            truth,
            seen,
            suspects: Calibration::default(),
            flagged: None,
            contradicting: 0,
            cured: false,
        }
    }

    fn prior(&self) -> f64 {
        let catalogue = &self.engine.model.catalogue;
        let prior = |id: &String| catalogue.find(id).map_or(0.0, |fault| catalogue[fault].prior);
        self.truth.iter().map(prior).product()
    }

    /// Notes what every suspect's probability is worth, and whether the catalogue is doubted.
    fn note(&mut self, bench: &Bench<'_>) {
        let holds = bench.holding(&self.truth);
        for (probability, holds) in bench.probabilities().iter().zip(&holds) {
            self.suspects.add(*probability, *holds, self.prior());
        }
        self.contradicting = self.contradicting.max(bench.contradicting());
        if self.flagged.is_none() && bench.doubted() {
            self.flagged = Some(bench.contradicting());
        }
    }

    /// Notes which faults are among the likeliest suspects at the end of a search.
    fn end(&mut self, bench: &Bench<'_>) {
        let probabilities = bench.probabilities();
        let mut order: Vec<usize> = (0..probabilities.len()).collect();
        order.sort_by(|&a, &b| probabilities[b].total_cmp(&probabilities[a]));
        for (id, seen) in self.truth.iter().zip(&mut self.seen) {
            let holds = bench.holding(std::slice::from_ref(id));
            *seen |= order.iter().take(TOP).any(|&decision| holds[decision]);
        }
        if self.flagged.is_none() && Some(bench.leader()) == bench.unlisted_decision() {
            self.flagged = Some(bench.contradicting());
        }
    }

    fn pair(&self) -> PairFound {
        match self.seen[..] {
            [true, true] => PairFound::Both,
            [false, false] => PairFound::None,
            _ if self.cured => PairFound::OneAndCured,
            _ => PairFound::One,
        }
    }

    fn outcome(&self, bench: &Bench<'_>) -> Outcome {
        let holds = bench.holding(&self.truth);
        let found = bench.left().into_iter().any(|decision| holds[decision]);
        let mut verdict = Calibration::default();
        verdict.add(bench.probability(), holds[bench.leader()], self.prior());
        Outcome {
            kind: self.case.kind,
            truth: told(self.engine, &self.case.truth),
            concluded: bench.concluded(),
            probability: bench.probability(),
            sure: bench.sure(),
            found,
            pair: matches!(self.case.truth, Truth::Pair(..)).then(|| self.pair()),
            flagged_after: self.flagged,
            contradicting: self.contradicting,
            readings: bench.readings,
            by_tree: 0,
            minutes: bench.seconds / 60.0,
            slips: 0,
            prior: self.prior(),
            verdict,
            suspects: self.suspects.clone(),
        }
    }
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
