//! What a trial comes to, in numbers.

use serde::Serialize;

use super::calibration::{Calibration, Decile};
use super::case::{HEALTHY, PairFound};
use super::{Bound, Kind, Outcome};

/// By so many readings that nothing explains the catalogue is to be doubted.
const IN_TIME: usize = 3;

/// The numbers of some cases.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Numbers {
    /// How many cases.
    pub cases: usize,
    /// How many of them end with the truth in the final group; of a pair, with one of both.
    pub isolated: usize,
    /// The share of those.
    pub share: f64,
    /// How many end sure of something that is not the truth.
    pub wrong: usize,
    /// How many end with a best guess.
    pub guesses: usize,
    /// Faults in the final group, on average.
    pub group: f64,
    /// Readings, on average.
    pub readings: f64,
    /// The number of readings that nine in ten cases do not exceed.
    pub readings_90: usize,
    /// Hands-on minutes, on average.
    pub minutes: f64,
    /// How many cases have so many readings, from none.
    pub histogram: Vec<usize>,
    /// How many readings were taken or typed wrongly.
    pub slips: usize,
    /// How many cases a tree led at first.
    pub by_tree: usize,
    /// How many end with the conclusion that nothing is wrong.
    pub acquitted: usize,
    /// How many were held to be outside the catalogue.
    pub flagged: usize,
    /// How many gave three readings that nothing explained, or were held to be so before.
    pub contradicted: usize,
    /// How many were held to be so by the third reading that nothing explained.
    pub flagged_in_time: usize,
    /// How many readings nothing explained by then, on average.
    pub flagged_after: Option<f64>,
    /// How many pairs have both faults among the three likeliest suspects, one that cured the instrument as far as anyone
    /// can tell, one, and neither.
    pub pairs: [usize; 4],
}

/// What a trial of one wiring comes to, or of several together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WiringReport {
    /// The wiring's name; that of several together is `all`.
    pub wiring: String,
    /// What no way of working can do better than; `None` for several together.
    pub bound: Option<Bound>,
    /// Instruments with one fault.
    pub singles: Option<Numbers>,
    /// Instruments that nothing is wrong with.
    pub healthy: Option<Numbers>,
    /// Instruments as they come in.
    pub drawn: Option<Numbers>,
    /// Instruments with two faults.
    pub pairs: Option<Numbers>,
    /// Instruments with something that the catalogue does not hold.
    pub outside: Option<Numbers>,
    /// Final probabilities against the truth, of instruments as they come in, or else of those with one fault.
    pub verdicts: Vec<Decile>,
    /// Every suspect's probability after every reading, of the same.
    pub suspects: Vec<Decile>,
    /// The cases that did not end with the truth, with one of two faults only, or with a doubt for nothing.
    pub misses: Vec<Outcome>,
}

/// What a trial comes to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Report {
    /// Each wiring by itself.
    pub wirings: Vec<WiringReport>,
    /// All together.
    pub all: WiringReport,
}

impl Report {
    /// Counts what became of each wiring's cases.
    pub fn new(trials: &[(String, Bound, Vec<Outcome>)]) -> Self {
        let each = |(wiring, bound, outcomes): &(String, Bound, Vec<Outcome>)| {
            WiringReport::new(wiring, Some(*bound), &outcomes.iter().collect::<Vec<_>>())
        };
        let every: Vec<&Outcome> = trials.iter().flat_map(|(_, _, outcomes)| outcomes).collect();
        Self { wirings: trials.iter().map(each).collect(), all: WiringReport::new("all", None, &every) }
    }
}

impl WiringReport {
    fn new(wiring: &str, bound: Option<Bound>, outcomes: &[&Outcome]) -> Self {
        let of = |kind| Numbers::of(&outcomes.iter().copied().filter(|o| o.kind == kind).collect::<Vec<_>>());
        let drawn = outcomes.iter().any(|outcome| outcome.kind == Kind::Drawn);
        let as_announced = if drawn { Kind::Drawn } else { Kind::Single };
        let deciles = |of: fn(&Outcome) -> &Calibration| {
            let mut all = Calibration::default();
            let measured = outcomes.iter().filter(|outcome| outcome.kind == as_announced);
            measured.for_each(|outcome| all.merge(of(outcome)));
            all.deciles()
        };
        Self {
            wiring: wiring.to_owned(),
            bound,
            singles: of(Kind::Single),
            healthy: of(Kind::Healthy),
            drawn: of(Kind::Drawn),
            pairs: of(Kind::Pair),
            outside: of(Kind::Outside),
            verdicts: deciles(|outcome| &outcome.verdict),
            suspects: deciles(|outcome| &outcome.suspects),
            misses: outcomes.iter().filter(|outcome| !outcome.right()).map(|o| (*o).clone()).collect(),
        }
    }

    /// Returns the numbers of a kind of case; `None` when there was none.
    pub fn of(&self, kind: Kind) -> Option<&Numbers> {
        match kind {
            Kind::Single => self.singles.as_ref(),
            Kind::Healthy => self.healthy.as_ref(),
            Kind::Drawn => self.drawn.as_ref(),
            Kind::Pair => self.pairs.as_ref(),
            Kind::Outside => self.outside.as_ref(),
        }
    }

    /// Returns how many readings the cases of every kind took, from none.
    pub fn histogram(&self) -> Vec<usize> {
        let mut all = Vec::new();
        for numbers in Kind::ALL.into_iter().filter_map(|kind| self.of(kind)) {
            add(&mut all, &numbers.histogram);
        }
        all
    }
}

fn add(all: &mut Vec<usize>, more: &[usize]) {
    all.resize(all.len().max(more.len()), 0);
    all.iter_mut().zip(more).for_each(|(sum, count)| *sum += count);
}

impl Numbers {
    fn of(cases: &[&Outcome]) -> Option<Self> {
        let count = |is: &dyn Fn(&Outcome) -> bool| cases.iter().filter(|case| is(case)).count();
        let mean = |of: &dyn Fn(&Outcome) -> f64| mean(cases.iter().map(|case| of(case)));
        let isolated = count(&|case| case.found);
        let after = cases.iter().filter_map(|case| case.flagged_after);
        let pair = |found| count(&|case| case.pair == Some(found));
        Some(Self {
            cases: cases.len(),
            isolated,
            share: isolated as f64 / cases.len() as f64,
            wrong: count(&|case| case.sure && !case.found),
            guesses: count(&|case| !case.sure),
            group: mean(&|case| case.concluded.len() as f64)?,
            readings: mean(&|case| case.readings as f64)?,
            readings_90: nine_in_ten(cases),
            minutes: mean(&|case| case.minutes)?,
            histogram: histogram(cases),
            slips: cases.iter().map(|case| case.slips).sum(),
            by_tree: count(&|case| case.by_tree > 0),
            acquitted: count(&|case| case.concluded.iter().any(|id| id == HEALTHY)),
            flagged: count(&|case| case.flagged_after.is_some()),
            contradicted: count(&|case| case.contradicting >= IN_TIME || case.flagged_after.is_some()),
            flagged_in_time: count(&|case| case.flagged_after.is_some_and(|after| after <= IN_TIME)),
            flagged_after: self::mean(after.map(|readings| readings as f64)),
            pairs: [PairFound::Both, PairFound::OneAndCured, PairFound::One, PairFound::None].map(pair),
        })
    }
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let all: Vec<f64> = values.collect();
    (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64)
}

fn nine_in_ten(cases: &[&Outcome]) -> usize {
    let mut all: Vec<usize> = cases.iter().map(|case| case.readings).collect();
    all.sort_unstable();
    let index = (all.len() * 9).div_ceil(10);
    all.get(index.saturating_sub(1)).copied().unwrap_or(0)
}

fn histogram(cases: &[&Outcome]) -> Vec<usize> {
    let most = cases.iter().map(|case| case.readings + 1).max().unwrap_or(0);
    let mut all = vec![0; most];
    cases.iter().for_each(|case| all[case.readings] += 1);
    all
}
