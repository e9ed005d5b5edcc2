//! How much is left: the readings and the minutes until the leading decision is sure.

mod deals;
mod sketch;

use super::planned::advised;
use super::planning::{Deal, Policy, Table, least, recommended, whole_effort};
use super::{Groups, Proposal, Stand, entropy};
use crate::belief::Belief;
use crate::prediction::{Candidates, Model};
use crate::readings::Meter;
use deals::Deals;
use sketch::likeliest;

pub(super) use sketch::Size;
pub use sketch::Sketch;

/// What is looked at for an outlook: what a test tells is worked out for each decision at every turn.
const SIZE: Size = Size { decisions: 20, tests: 24, by_time: 12, by_bits: 6 };
/// With more decisions than this the best plan is not looked for: its time doubles with each.
const MOST_EXACT: usize = 6;
/// A branch that is met less often than this is not followed to its end: that leaves a few dozen of each length.
const RAREST: f64 = 0.03;

/// How much is left until the leading decision is sure, on average.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outlook {
    /// The readings.
    pub readings: f64,
    /// The hands-on minutes.
    pub minutes: f64,
    /// The readings that no way of working can be below.
    pub least_readings: f64,
    /// The hands-on minutes that no way of working can be below.
    pub least_minutes: f64,
    /// Whether readings and minutes are those of the plan that takes the least time, and not of the advisor's way.
    pub exact: bool,
    /// The probability of the decisions that were looked at; the figures are said of these.
    pub covered: f64,
}

impl Outlook {
    /// Works it out on a table: by the best plan where that is feasible, by the advisor's way otherwise.
    pub fn of(table: &Table) -> Self {
        let start = table.start();
        let exact = table.is_certain() && start.weights.len() <= MOST_EXACT;
        let policy: Policy<'_> = if exact { &recommended } else { &advised };
        let rarest = if exact { 0.0 } else { RAREST * start.mass() };
        let (planned, least) = (whole_effort(table, &start, policy, rarest), least(table, &start));
        Self {
            readings: planned.tests,
            minutes: planned.seconds / 60.0,
            least_readings: least.tests,
            least_minutes: least.seconds / 60.0,
            exact,
            covered: 1.0,
        }
    }
}

/// What an outlook is worked out from.
#[derive(Clone, Copy)]
pub struct Ground<'a> {
    /// The model of the wiring.
    pub model: &'a Model,
    /// Every measurement worth considering.
    pub candidates: &'a Candidates,
    /// The suspects in groups.
    pub groups: &'a Groups,
    /// What is believed.
    pub belief: &'a Belief,
    /// The meter in use.
    pub meter: &'a Meter,
    /// Where the bench stands.
    pub stand: &'a Stand,
    /// The measurements worth taking, best first.
    pub proposals: &'a [Proposal],
}

/// Returns how much is left; `None` when no measurement is worth taking.
pub fn outlook(ground: &Ground<'_>) -> Option<Outlook> {
    let sketch = Sketch::new(ground, SIZE)?;
    Some(Outlook { covered: sketch.covered, ..Outlook::of(&sketch.table) })
}

/// Returns how many times the bits that an [`outlook`] looks at are missing in all, at least once: it looks at the
/// likeliest decisions.
pub fn beyond_outlook(groups: &Groups, belief: &Belief) -> f64 {
    let mut all = groups.probabilities(&belief.weights());
    let whole = entropy(&all);
    all.sort_by(|a, b| b.total_cmp(a));
    all.truncate(SIZE.decisions);
    let sum: f64 = all.iter().sum();
    let looked_at: Vec<f64> = all.iter().map(|p| p / sum).collect();
    let bits = entropy(&looked_at);
    if bits > 0.0 { (whole / bits).max(1.0) } else { 1.0 }
}

/// One of the likeliest decisions, and what it would make a measurement show.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Foreseen {
    /// The decision.
    pub decision: usize,
    /// The number of the likeliest outcome; those of other decisions are comparable.
    pub outcome: usize,
}

/// Returns what each of the likeliest decisions would make the first of the proposals show, most probable first; none
/// without a proposal.
pub fn foreseen(ground: &Ground<'_>) -> Vec<Foreseen> {
    let deals = Deals::new(ground, likeliest(ground, SIZE.decisions));
    let shown = ground.proposals.first().and_then(|first| deals.of(&first.measurement)).unwrap_or_default();
    let likeliest = |deal: Deal| deal.into_iter().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
    let outcomes = shown.into_iter().map(|deal| likeliest(deal).map_or(0, |(outcome, _)| outcome));
    let decisions = deals.live.iter().map(|(decision, _)| *decision);
    decisions.zip(outcomes).map(|(decision, outcome)| Foreseen { decision, outcome }).collect()
}
