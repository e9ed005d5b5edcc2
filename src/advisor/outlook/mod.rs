//! How much is left: the readings and the minutes until the leading decision is sure.

mod deals;

use std::collections::BTreeSet;

use super::cost::turning;
use super::planning::{Costs, Deal, Policy, Stage, Table, effort, least, recommended};
use super::{ACQUITTED, Groups, Proposal, SMALL_SHARE, SURE, Stand, WORTHLESS, places, seconds, to_open};
use crate::belief::Belief;
use crate::circuit::{Harness, PlaceId};
use crate::prediction::{Candidates, Model};
use crate::readings::{Measurement, Meter, Setting};
use deals::Deals;

/// So many of the likeliest decisions are looked at: what a test tells is worked out for each at every turn.
const MOST_DECISIONS: usize = 20;
/// So many measurements are looked at: those that tell most for their time, each between other probes or with something
/// else flexed, those that tell most, and then the next best.
const MOST_TESTS: usize = 24;
const BEST_BY_TIME: usize = 12;
const BEST_BY_BITS: usize = 6;
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
        let (planned, least) = (effort(table, &start, policy, rarest), least(table, &start));
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
    let deals = Deals::new(ground, likeliest(ground));
    let tests: Vec<_> = picked(ground.proposals)
        .into_iter()
        .filter_map(|measurement| Some((measurement, deals.of(measurement)?)))
        .collect();
    let (measurements, tests): (Vec<_>, Vec<_>) = tests.into_iter().unzip();
    let sure =
        |&(decision, _): &(usize, f64)| if ground.groups.like_healthy[decision] { ACQUITTED } else { SURE };
    let priors: Vec<f64> = deals.live.iter().map(|(_, probability)| *probability).collect();
    let costs = costs(&ground.model.harness, ground.stand, &measurements);
    let covered: f64 = priors.iter().sum();
    let table = Table::new(priors, (0..deals.live.len()).collect(), tests, costs, SURE)
        .ending_at(deals.live.iter().map(sure).collect());
    (!measurements.is_empty()).then(|| Outlook { covered, ..Outlook::of(&table) })
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
    let deals = Deals::new(ground, likeliest(ground));
    let shown = ground.proposals.first().and_then(|first| deals.of(&first.measurement)).unwrap_or_default();
    let likeliest = |deal: Deal| deal.into_iter().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
    let outcomes = shown.into_iter().map(|deal| likeliest(deal).map_or(0, |(outcome, _)| outcome));
    let decisions = deals.live.iter().map(|(decision, _)| *decision);
    decisions.zip(outcomes).map(|(decision, outcome)| Foreseen { decision, outcome }).collect()
}

/// Returns the test that the advisor would propose.
fn advised(table: &Table, stage: &Stage) -> Option<usize> {
    let small = SMALL_SHARE * table.unknown(stage);
    let rank = |(test, bits): (usize, f64)| (bits >= small, bits / table.seconds(stage, test));
    let worth = table.telling(stage).into_iter().filter(|(_, bits)| *bits > WORTHLESS);
    let best = worth.max_by(|a, b| {
        let (one, other) = (rank(*a), rank(*b));
        one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)).then(b.0.cmp(&a.0))
    });
    best.map(|(test, _)| test)
}

/// Returns the likeliest decisions with their probabilities, most probable first.
fn likeliest(ground: &Ground<'_>) -> Vec<(usize, f64)> {
    let probabilities = ground.groups.probabilities(&ground.belief.weights());
    let mut all: Vec<(usize, f64)> =
        probabilities.into_iter().enumerate().filter(|(_, p)| *p > 0.0).collect();
    all.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    all.truncate(MOST_DECISIONS);
    all
}

/// Returns the measurements that are looked at.
fn picked(proposals: &[Proposal]) -> Vec<&Measurement> {
    let mut by_bits: Vec<&Proposal> = proposals.iter().collect();
    by_bits.sort_by(|a, b| b.bits.total_cmp(&a.bits));
    let wanted = varied(proposals).into_iter().chain(by_bits.into_iter().take(BEST_BY_BITS)).chain(proposals);
    let mut picked: Vec<&Measurement> = Vec::new();
    for proposal in wanted {
        if picked.len() < MOST_TESTS && !picked.contains(&&proposal.measurement) {
            picked.push(&proposal.measurement);
        }
    }
    picked
}

/// Returns the best proposals that differ in more than the setting.
fn varied(proposals: &[Proposal]) -> Vec<&Proposal> {
    let mut seen = BTreeSet::new();
    let mut varied: Vec<&Proposal> = Vec::new();
    for proposal in proposals {
        let m = &proposal.measurement;
        if seen.insert((&m.red, &m.black, m.mode, &m.flex, &m.about, &m.lifted)) {
            varied.push(proposal);
        }
    }
    varied.truncate(BEST_BY_TIME);
    varied
}

/// Returns what the measurements cost from where the bench stands.
fn costs(harness: &Harness, stand: &Stand, measurements: &[&Measurement]) -> Costs {
    let mut settings = vec![&stand.setting];
    for measurement in measurements {
        if !settings.contains(&&measurement.setting) {
            settings.push(&measurement.setting);
        }
    }
    let position = |m: &&Measurement| settings.iter().position(|&known| *known == m.setting).unwrap_or(0);
    let ways = |from: &&Setting| settings.iter().map(|to| turning(harness, from, to)).collect::<Vec<f64>>();
    let closed: BTreeSet<PlaceId> = measurements.iter().flat_map(|m| to_open(harness, m, stand)).collect();
    let needed = |m: &&Measurement| {
        let places = places(harness, m);
        let bits = closed.iter().enumerate().filter(|(_, place)| places.contains(*place));
        bits.fold(0, |all, (bit, _)| all | (1_u64 << bit.min(63)))
    };
    Costs {
        reading: measurements.iter().map(|m| in_place(harness, m)).collect(),
        position: measurements.iter().map(position).collect(),
        moving: settings.iter().map(ways).collect(),
        places: measurements.iter().map(needed).collect(),
        opening: closed.iter().map(|&place| harness[place].open.get()).collect(),
    }
}

/// Returns the seconds of a measurement with the controls in place and everything open.
fn in_place(harness: &Harness, measurement: &Measurement) -> f64 {
    let opened = places(harness, measurement);
    seconds(harness, measurement, &Stand { setting: measurement.setting.clone(), probes: None, opened })
}
