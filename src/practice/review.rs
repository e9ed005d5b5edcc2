//! The person's way against the program's, reading by reading, in bits and in minutes.

use crate::trial::Bound;
use crate::workbench::Workbench;

/// A reading that told less than this told nothing, in bits.
const NOTHING: f64 = 0.05;

/// What the program would have done at a moment.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// The reading, in one line.
    pub what: String,
    /// What it was expected to tell, in bits.
    pub bits: f64,
    /// The hands-on minutes that it takes.
    pub minutes: f64,
}

impl Advice {
    /// Returns the expected bits per hands-on minute.
    pub fn per_minute(&self) -> f64 {
        if self.minutes > 0.0 { self.bits / self.minutes } else { 0.0 }
    }

    /// Returns what the program would do now; `None` when nothing is worth its time.
    pub(super) fn of(bench: &Workbench) -> Option<Self> {
        let first = bench.situation().proposals.first()?;
        let what = first.measurement.sentence(bench.engine().harness());
        Some(Self { what, bits: first.bits, minutes: first.seconds / 60.0 })
    }
}

/// One thing that was done.
#[derive(Clone, Debug, PartialEq)]
pub struct ReviewStep {
    /// What was done, in one line.
    pub what: String,
    /// What was found, in words.
    pub found: String,
    /// Its hands-on minutes, with those of everything since the step before that was not noted.
    pub minutes: f64,
    /// The hands-on minutes up to its end.
    pub at: f64,
    /// What it told about what is to be repaired, in bits; below 0 when less is known after it.
    pub bits: f64,
    /// What is unknown after it, in bits.
    pub unknown: f64,
    /// What the program would have done instead; `None` when nothing was worth its time any more.
    pub advised: Option<Advice>,
    /// Whether it moves the suspects; a look and what was not noted do not.
    pub weighed: bool,
}

impl ReviewStep {
    /// Returns whether nothing was learnt.
    pub fn told_nothing(&self) -> bool {
        self.bits < NOTHING
    }
}

/// A whole way.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Total {
    /// How many readings and answers were taken.
    pub readings: usize,
    /// The hands-on minutes.
    pub minutes: f64,
    /// What was learnt, in bits.
    pub bits: f64,
}

impl Total {
    /// Returns the bits per hands-on minute.
    pub fn per_minute(&self) -> f64 {
        if self.minutes > 0.0 { self.bits / self.minutes } else { 0.0 }
    }

    fn of(steps: &[ReviewStep]) -> Self {
        Self {
            readings: steps.iter().filter(|step| step.weighed).count(),
            minutes: steps.last().map_or(0.0, |step| step.at),
            bits: steps.iter().map(|step| step.bits).sum(),
        }
    }
}

/// Both ways as wholes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Totals {
    /// The person's way.
    pub mine: Total,
    /// The program's way.
    pub advisor: Total,
    /// What no way of working can do better than, on average over single faults.
    pub bound: Bound,
    /// How often a hint was asked for.
    pub hints: usize,
    /// Whether what was wrong was named.
    pub right: bool,
}

/// The person's way against the program's.
#[derive(Clone, Debug, PartialEq)]
pub struct Review {
    /// What was unknown once the complaint was heard, in bits.
    pub first: f64,
    /// What the person did.
    pub mine: Vec<ReviewStep>,
    /// What the program would have done.
    pub advisor: Vec<ReviewStep>,
    /// Both as wholes.
    pub totals: Totals,
}

impl Review {
    pub(super) fn new(
        first: f64,
        mine: Vec<ReviewStep>,
        advisor: Vec<ReviewStep>,
        bound: Bound,
        hints: usize,
        right: bool,
    ) -> Self {
        let totals = Totals { mine: Total::of(&mine), advisor: Total::of(&advisor), bound, hints, right };
        Self { first, mine, advisor, totals }
    }

    /// Returns what is unknown over the hands-on minutes of a way, from its begin.
    pub fn course(&self, steps: &[ReviewStep]) -> Vec<(f64, f64)> {
        let points = steps.iter().map(|step| (step.at, step.unknown));
        std::iter::once((0.0, self.first)).chain(points).collect()
    }
}

/// Returns what is unknown about what is to be repaired, in bits.
pub(super) fn unknown(bench: &Workbench) -> f64 {
    let weights = bench.situation().belief.weights();
    let decisions = bench.engine().groups.probabilities(&weights);
    decisions.into_iter().filter(|p| *p > 0.0).map(|p| -p * p.log2()).sum()
}
