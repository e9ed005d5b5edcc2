//! The table that looking ahead is done on: the likeliest decisions, and some of the proposed measurements.

use std::collections::BTreeSet;

use super::Ground;
use super::deals::Deals;
use crate::advisor::cost::turning;
use crate::advisor::planning::{Costs, Table};
use crate::advisor::{ACQUITTED, Proposal, SURE, Stand, places, seconds, to_open};
use crate::circuit::{Harness, PlaceId};
use crate::readings::{Measurement, Setting};

/// How much of what is believed and proposed is looked at.
#[derive(Clone, Copy)]
pub(in crate::advisor) struct Size {
    /// The likeliest decisions.
    pub decisions: usize,
    /// The measurements: those of the two lines below, and then the next best.
    pub tests: usize,
    /// How many tell most for their time, each between other probes or with something else flexed.
    pub by_time: usize,
    /// How many tell most.
    pub by_bits: usize,
}

/// A table with the proposals that its tests are.
#[derive(Clone, Debug)]
pub struct Sketch<'a> {
    /// The proposal of each test.
    pub proposals: Vec<&'a Proposal>,
    /// The table; each of its states is a decision.
    pub table: Table,
    /// The probability of its decisions.
    pub covered: f64,
}

impl<'a> Sketch<'a> {
    /// Draws the table; `None` when no measurement is worth taking.
    pub(in crate::advisor) fn new(ground: &Ground<'a>, size: Size) -> Option<Self> {
        let deals = Deals::new(ground, likeliest(ground, size.decisions));
        let dealt = |proposal: &'a Proposal| Some((proposal, deals.of(&proposal.measurement)?));
        let (proposals, tests): (Vec<_>, Vec<_>) =
            picked(ground.proposals, size).into_iter().filter_map(dealt).unzip();
        let like_healthy = &ground.groups.like_healthy;
        let sure = |&(decision, _): &(usize, f64)| if like_healthy[decision] { ACQUITTED } else { SURE };
        let priors: Vec<f64> = deals.live.iter().map(|(_, probability)| *probability).collect();
        let covered = priors.iter().sum();
        let costs = costs(&ground.model.harness, ground.stand, &proposals);
        let table = Table::new(priors, (0..deals.live.len()).collect(), tests, costs, SURE)
            .ending_at(deals.live.iter().map(sure).collect());
        (!proposals.is_empty()).then_some(Self { proposals, table, covered })
    }
}

/// Returns the likeliest decisions with their probabilities, most probable first.
pub(super) fn likeliest(ground: &Ground<'_>, most: usize) -> Vec<(usize, f64)> {
    let probabilities = ground.groups.probabilities(&ground.belief.weights());
    let mut all: Vec<(usize, f64)> =
        probabilities.into_iter().enumerate().filter(|(_, p)| *p > 0.0).collect();
    all.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    all.truncate(most);
    all
}

/// Returns the proposals that are looked at.
fn picked(proposals: &[Proposal], size: Size) -> Vec<&Proposal> {
    let mut by_bits: Vec<&Proposal> = proposals.iter().collect();
    by_bits.sort_by(|a, b| b.bits.total_cmp(&a.bits));
    let by_time = varied(proposals).into_iter().take(size.by_time);
    let wanted = by_time.chain(by_bits.into_iter().take(size.by_bits)).chain(proposals);
    let mut picked: Vec<&Proposal> = Vec::new();
    for proposal in wanted {
        let known = picked.iter().any(|known| known.measurement == proposal.measurement);
        if picked.len() < size.tests && !known {
            picked.push(proposal);
        }
    }
    picked
}

/// Returns the proposals that differ in more than the setting from a better one.
fn varied(proposals: &[Proposal]) -> Vec<&Proposal> {
    let mut seen = BTreeSet::new();
    let mut varied: Vec<&Proposal> = Vec::new();
    for proposal in proposals {
        let m = &proposal.measurement;
        if seen.insert((&m.red, &m.black, m.mode, &m.flex, &m.about, &m.lifted)) {
            varied.push(proposal);
        }
    }
    varied
}

/// Returns what the measurements cost from where the bench stands.
fn costs(harness: &Harness, stand: &Stand, proposals: &[&Proposal]) -> Costs {
    let measurements: Vec<&Measurement> = proposals.iter().map(|p| &p.measurement).collect();
    let mut settings = vec![&stand.setting];
    for measurement in &measurements {
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
