//! How likely each suspect is, and which reading moved it by how much.
//!
//! Every hypothesis carries its own estimate of the part values, so that two readings through one coil are not
//! counted as independent evidence. Probabilities are kept as logarithms.

mod conflict;
mod estimate;
mod likelihood;
mod mended;
mod normal;
mod pairs;
mod piece;
mod posterior;
mod shared;
mod surprise;

pub(crate) mod outcomes;

pub use conflict::{Weighed, conflict, drops};
pub use estimate::{Estimate, Shifts};

pub use likelihood::{Expectation, SLIP, slip};
pub use mended::hidden_by;
pub use normal::{cumulative, log_density, quick_cumulative};
pub use pairs::{form_of, likely_pairs};
pub use piece::changes;
pub use posterior::Posterior;
pub use surprise::p_value;

use std::sync::Arc;

use crate::circuit::Harness;
use crate::faults::FaultId;
use crate::prediction::{Behaviour, Cell, Hypothesis, Model, Row, shows};
use crate::readings::{Dial, Level, Meter, Said, Shown};
use likelihood::teach;
use shared::{Alike, Shared};

/// The probability of every hypothesis after some evidence.
#[derive(Clone, Debug)]
pub struct Belief {
    posterior: Posterior,
    known: Shared,
    expected: Vec<Foresight>,
    start: Option<Arc<Start>>,
}

/// What was believed before the first reading of the instrument as it is now.
#[derive(Debug)]
struct Start {
    weights: Vec<f64>,
    known: Shared,
    /// How many readings there had been of the instrument as it was before.
    readings: usize,
}

impl Start {
    /// Returns the natural logarithm of the probability of a reading that is the first.
    fn chance(&self, model: &Model, seen: &[Seen<'_>]) -> f64 {
        let mut known = self.known.clone();
        let mut likelihoods = vec![1.0; self.weights.len()];
        for seen in seen {
            times(&mut likelihoods, &weigh(&mut known, model, seen));
        }
        expected(&self.weights, &likelihoods).ln()
    }
}

/// An answer that few would give.
const ANSWER_SLIP: f64 = 0.1;

/// How a reading compared with a slip and with the other readings, before it was taken in.
#[derive(Clone, Debug)]
struct Foresight {
    /// The logarithm of how much better it was foretold by all that was believed than by a slip.
    beforehand: f64,
    /// Whether each hypothesis foretells it better.
    by: Vec<bool>,
    weighed: Weighed,
    /// The probability of all that was no likelier beforehand.
    p_value: f64,
}

impl Foresight {
    /// Takes in that one hypothesis held beside every other when the reading was taken.
    fn share(&mut self, with: usize) {
        let foretold = self.by[with];
        self.by.iter_mut().for_each(|by| *by |= foretold);
    }
}

impl Belief {
    /// Returns the belief before any evidence.
    pub fn prior(model: &Model) -> Self {
        Self::weighing(model, model.hypotheses.list.iter().map(|h| h.prior))
    }

    /// Returns the belief in which every hypothesis has its own weight, before any reading; the weights need not add up to
    /// one.
    pub fn weighing(model: &Model, weights: impl IntoIterator<Item = f64>) -> Self {
        let posterior = Posterior::new(weights);
        let known = Shared::new(Estimate::prior(&model.params), model.hypotheses.list.len());
        Self { posterior, known, expected: Vec::new(), start: None }
    }

    /// Takes in evidence that speaks of hypotheses only, such as a complaint: one likelihood for each.
    pub fn hear(&mut self, likelihoods: &[f64]) {
        self.posterior.update(&likelihoods.iter().map(|l| l.max(1e-6)).collect::<Vec<_>>());
    }

    /// Takes in that an uncertain part value of those behind a dial is known: its shift from nominal with a standard
    /// deviation.
    ///
    /// It says nothing of what is wrong, only of what to expect.
    pub fn know(&mut self, dial: Dial, param: usize, shift: f64, sd: f64) {
        for estimate in self.known.each_mut() {
            estimate.behind_mut(dial).learn(shift, sd * sd, |mean| {
                let gradient = (0..mean.len()).map(|index| f64::from(index == param)).collect();
                (mean[param], gradient)
            });
        }
    }

    /// Takes in a reading: what was shown, with what every state makes it read. A swept knob shows several values, one
    /// after another; they are one piece of evidence, foretold as well as the worst of them.
    pub fn read(&mut self, model: &Model, meter: &Meter, flex: Option<&str>, values: &[(Shown, Row)]) {
        let shown = while_flexed(values, flex);
        let all = seen(meter, flex, &shown, values);
        let alone = self.start().chance(model, &all);
        let before = self.weights();
        let (mut likelihoods, mut by) = (vec![1.0; before.len()], vec![true; before.len()]);
        let (mut beforehand, mut least) = (f64::INFINITY, 1.0_f64);
        for seen in &all {
            least = least.min(self.p_value(model, seen));
            let each = weigh(&mut self.known, model, seen);
            beforehand = beforehand.min((expected(&before, &each) / seen.slip()).ln());
            by.iter_mut().zip(&each).for_each(|(by, l)| *by &= *l > seen.slip());
            times(&mut likelihoods, &each);
        }
        let evidence = self.posterior.evidence();
        let weighed = Weighed { evidence, alone, came: self.posterior.update(&likelihoods) };
        // The least of several p-values is below p up to so many times as often (Bonferroni's bound).
        let p_value = (least * all.len() as f64).min(1.0);
        self.expected.push(Foresight { beforehand, by, weighed, p_value });
    }

    /// Returns the natural logarithm of how much likelier than a slip a reading would be, if it were taken now: that of
    /// the worst of its values.
    pub fn foretells(
        &self,
        model: &Model,
        meter: &Meter,
        flex: Option<&str>,
        values: &[(Shown, Row)],
    ) -> f64 {
        let shown = while_flexed(values, flex);
        let (weights, mut known) = (self.weights(), self.known.clone());
        let better =
            |seen: &Seen<'_>| (expected(&weights, &weigh(&mut known, model, seen)) / seen.slip()).ln();
        seen(meter, flex, &shown, values).iter().map(better).fold(f64::INFINITY, f64::min)
    }

    /// Returns what was believed before the first reading of the instrument as it is now: this, if there is none yet.
    fn start(&mut self) -> Arc<Start> {
        let weights = self.weights();
        let (known, readings) = (&self.known, self.expected.len());
        let now = || Arc::new(Start { weights, known: known.clone(), readings });
        Arc::clone(self.start.get_or_insert_with(now))
    }

    /// Takes in an answer to what was heard or seen; `chances` is that of yes under every hypothesis.
    pub fn observe(&mut self, chances: &[f64], said: Said) {
        let likelihood = |yes: &f64| match said {
            Said::Yes => *yes,
            Said::No => 1.0 - yes,
            Said::CannotTell => 1.0,
        };
        let likelihoods: Vec<f64> = chances.iter().map(likelihood).collect();
        let alone = expected(&self.start().weights, &likelihoods).ln();
        let yes = expected(&self.weights(), chances);
        let answers = match said {
            Said::No => 0..=0,
            Said::Yes => 1..=1,
            Said::CannotTell => 0..=1,
        };
        let p_value = p_value(&[1.0 - yes, yes], answers);
        let evidence = self.posterior.evidence();
        let weighed = Weighed { evidence, alone, came: self.posterior.update(&likelihoods) };
        let by = likelihoods.iter().map(|l| *l > ANSWER_SLIP).collect();
        self.expected.push(Foresight { beforehand: 0.0, by, weighed, p_value });
    }

    /// Returns the probability of each hypothesis.
    pub fn weights(&self) -> Vec<f64> {
        self.posterior.weights()
    }

    /// Returns the probability of each hypothesis after so many pieces of evidence; 0 is the prior.
    pub fn weights_after(&self, evidence: usize) -> Vec<f64> {
        self.posterior.weights_after(evidence)
    }

    /// Returns the probabilities themselves, with their history.
    pub fn posterior(&self) -> &Posterior {
        &self.posterior
    }

    /// Returns what is known about the part values under a hypothesis.
    pub fn estimate(&self, hypothesis: usize) -> &Estimate {
        self.known.of(hypothesis)
    }

    /// Returns the number of what is known about the part values under a hypothesis: those with the same number know the
    /// same.
    pub fn knowledge(&self, hypothesis: usize) -> usize {
        self.known.number(hypothesis)
    }

    /// Returns the probability of each fault.
    pub fn fault_probabilities(&self, model: &Model) -> Vec<f64> {
        let mut all = vec![0.0; model.catalogue.faults.len()];
        for (hypothesis, weight) in model.hypotheses.list.iter().zip(self.weights()) {
            for &(FaultId(fault), share) in &hypothesis.faults {
                all[fault] += weight * share;
            }
        }
        all
    }

    /// Returns for each reading whether it came as a surprise that nothing believed now explains: a slip fitted
    /// better than what was believed before it, and still fits better than most of what is believed now.
    pub fn unexplained(&self) -> Vec<bool> {
        let weights = self.weights();
        let explained =
            |f: &Foresight| weights.iter().zip(&f.by).filter(|(_, by)| **by).map(|(w, _)| w).sum::<f64>();
        self.expected.iter().map(|f| f.beforehand < 0.0 && explained(f) < 0.5).collect()
    }

    /// Returns for each reading the probability, before it was taken in, of all that was no likelier: see [`p_value`].
    pub fn p_values(&self) -> Vec<f64> {
        self.expected.iter().map(|foresight| foresight.p_value).collect()
    }

    /// Returns the conflict measure of the readings of the instrument as it is now, see [`conflict()`].
    pub fn conflict(&self) -> f64 {
        conflict(&self.weighed())
    }

    /// Returns for each reading by how much the conflict measure drops when it is left out, see [`drops`]; it is 0 for a
    /// reading from before the last repair.
    pub fn drops(&self) -> Vec<f64> {
        let now = drops(&self.posterior, &self.weighed());
        let before = self.expected.len() - now.len();
        std::iter::repeat_n(0.0, before).chain(now).collect()
    }

    fn weighed(&self) -> Vec<Weighed> {
        let before = self.start.as_ref().map_or(self.expected.len(), |start| start.readings);
        self.expected[before..].iter().map(|foresight| foresight.weighed).collect()
    }
}

/// Returns the likelihood of one value under every hypothesis, and teaches what is known under them.
fn weigh(known: &mut Shared, model: &Model, seen: &Seen<'_>) -> Vec<f64> {
    let dial = seen.row.first().map_or(Dial::Ohms, |cell| cell.dial);
    let list = &model.hypotheses.list;
    let alike = |hypothesis: usize| seen.alike(&model.harness, &list[hypothesis]);
    known.teach(alike, |hypothesis, estimate| {
        seen.weigh(&model.harness, &list[hypothesis], estimate.behind_mut(dial))
    })
}

/// Returns the average of what holds under each hypothesis.
fn expected(weights: &[f64], each: &[f64]) -> f64 {
    weights.iter().zip(each).map(|(weight, value)| weight * value).sum()
}

fn times(all: &mut [f64], each: &[f64]) {
    all.iter_mut().zip(each).for_each(|(all, one)| *all *= one);
}

/// Returns what was shown, a single value typed for a flexed reading as a span that did not move.
fn while_flexed(values: &[(Shown, Row)], flex: Option<&str>) -> Vec<Shown> {
    let span = |(shown, _): &(Shown, Row)| match *shown {
        Shown::Steady(level) if flex.is_some() => Shown::Range { low: level, high: level },
        shown => shown,
    };
    values.iter().map(span).collect()
}

fn seen<'a>(
    meter: &'a Meter,
    flex: Option<&'a str>,
    shown: &'a [Shown],
    values: &'a [(Shown, Row)],
) -> Vec<Seen<'a>> {
    shown.iter().zip(values).map(|(shown, (_, row))| Seen { meter, shown, flex, row }).collect()
}

/// A reading as the likelihoods see it.
struct Seen<'a> {
    meter: &'a Meter,
    shown: &'a Shown,
    flex: Option<&'a str>,
    row: &'a Row,
}

impl Seen<'_> {
    /// Returns what makes a reading weigh and teach the same under two hypotheses that knew the same before.
    fn alike(&self, harness: &Harness, hypothesis: &Hypothesis) -> Alike {
        let chance = match &hypothesis.behaviour {
            Behaviour::Steady => Some(1.0),
            Behaviour::Anything => None,
            behaviour => Some(shows(harness, behaviour, self.flex)),
        };
        let steady = hypothesis.behaviour == Behaviour::Steady;
        (self.row.number(hypothesis.state), chance.map(f64::to_bits), steady)
    }

    /// Returns the likelihood under a hypothesis and teaches what is known under it.
    fn weigh(&self, harness: &Harness, hypothesis: &Hypothesis, known: &mut Shifts) -> f64 {
        let (healthy, faulty) = (&self.row[0], &self.row[hypothesis.state]);
        match &hypothesis.behaviour {
            Behaviour::Anything => self.slip(),
            Behaviour::Steady => self.steady(faulty, known),
            behaviour => {
                let shows = shows(harness, behaviour, self.flex);
                let mut rested = known.clone();
                let mut shown = known.clone();
                let resting = (1.0 - shows) * self.steady(healthy, &mut rested);
                let showing = shows * self.showing(healthy, faulty, &mut shown);
                let total = resting + showing;
                *known = rested.blended(&shown, if total > 0.0 { resting / total } else { 1.0 });
                total
            }
        }
    }

    fn steady(&self, cell: &Cell, known: &mut Shifts) -> f64 {
        let expected = Expectation::under(cell, known, self.meter);
        match self.shown {
            Shown::Beep(beeps) => {
                let chance = if *beeps { expected.beeps() } else { 1.0 - expected.beeps() };
                (1.0 - SLIP) * chance + SLIP * 0.5
            }
            Shown::Steady(level) | Shown::Swept { highest: level, .. } => {
                self.level(level, cell, &expected, known)
            }
            Shown::Range { low, high } => {
                self.level(low, cell, &expected, known) * still(cell.dial, low, high)
            }
            Shown::Said(_) => 1.0,
        }
    }

    /// Returns the likelihood when the fault showed: a still reading is the faulty one, a flexed one spans both.
    fn showing(&self, healthy: &Cell, faulty: &Cell, known: &mut Shifts) -> f64 {
        let Shown::Range { low, high } = self.shown else { return self.steady(faulty, known) };
        let (under, over) =
            if healthy.scaled() <= faulty.scaled() { (healthy, faulty) } else { (faulty, healthy) };
        let lower = Expectation::under(under, known, self.meter);
        let first = self.level(low, under, &lower, known);
        let mut upper = Expectation::under(over, known, self.meter);
        // What a sound joint moves while flexed, this one moves as well.
        upper.variance += steady_variance(over.dial, high);
        first * self.level(high, over, &upper, known)
    }

    fn level(&self, level: &Level, cell: &Cell, expected: &Expectation, known: &mut Shifts) -> f64 {
        let fit = (1.0 - SLIP) * expected.fit(level, self.meter);
        let slipped = SLIP * slip(level);
        if let (Some(_), Some((value, resolution))) = (expected.middle, level.number())
            && fit > slipped
        {
            let rounding = resolution * cell.dial.per_unit(value);
            teach(known, cell, cell.dial.scale(value), expected.noise + rounding * rounding / 12.0);
        }
        fit + slipped
    }

    /// Returns the likelihood of the reading when it could be anything.
    fn slip(&self) -> f64 {
        match self.shown {
            Shown::Beep(_) | Shown::Said(_) => 0.5,
            Shown::Steady(level) | Shown::Swept { highest: level, .. } => slip(level),
            Shown::Range { low, high } => {
                slip(low) * (0.5 * slip(high) + 0.5 * still(self.row[0].dial, low, high))
            }
        }
    }
}

/// Returns the variance on the scale that flexing adds to a reading through sound joints.
fn steady_variance(dial: Dial, level: &Level) -> f64 {
    const STEADY_SD: f64 = 0.02;
    const FLOOR_OHMS: f64 = 0.3;
    let floor = match level.number() {
        Some((value, _)) if dial == Dial::Ohms => FLOOR_OHMS * dial.per_unit(value),
        _ => 0.0,
    };
    STEADY_SD * STEADY_SD + floor * floor
}

/// Returns the likelihood of the highest reading given the lowest, when nothing comes and goes.
///
/// A sound joint keeps within about a hundredth while flexed (common practice, no source).
fn still(dial: Dial, low: &Level, high: &Level) -> f64 {
    const UNSTEADY: f64 = 0.004;
    match (low.number(), high.number()) {
        (None, None) => 1.0,
        (Some((low, _)), Some((high, _))) => {
            let spread = dial.scale(high) - dial.scale(low);
            let variance = steady_variance(dial, &Level::of(dial, low, 0.0));
            (1.0 - UNSTEADY) * log_density(spread, variance).exp() + UNSTEADY / Dial::END
        }
        _ => UNSTEADY * 0.15,
    }
}
