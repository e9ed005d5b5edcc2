//! What no way of working can do better than.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::advisor::{Stand, seconds};
use crate::prediction::Row;
use crate::workbench::Engine;

/// What no way of working can do better than, on average over the faults by their priors.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Bound {
    /// What is unknown about the decision before anything is known, in bits.
    pub bits: f64,
    /// The most outcomes that one reading can have.
    pub outcomes: usize,
    /// The fewest readings on average.
    pub readings: f64,
    /// The fewest hands-on minutes on average: so many readings at the cheapest one's time.
    pub minutes: f64,
}

/// Returns the entropy of the decisions in bits, over the logarithm of the most outcomes one reading can tell apart:
/// no way of working needs fewer readings on average (Shannon; the bound of k-ary search trees).
pub fn bound(engine: &Engine) -> Bound {
    let weights: Vec<f64> = engine.model.hypotheses.list.iter().map(|h| h.prior).collect();
    let decisions = engine.groups.probabilities(&weights);
    let bits: f64 = decisions.into_iter().filter(|p| *p > 0.0).map(|p| -p * p.log2()).sum();
    let outcomes = engine.candidates.rows.iter().map(outcomes).max().unwrap_or(2).max(2);
    let readings = bits / (outcomes as f64).log2();
    Bound { bits, outcomes, readings, minutes: readings * cheapest(engine) / 60.0 }
}

/// Returns how many outcomes a reading can have that are an eighth apart on a logarithmic scale.
fn outcomes(row: &Row) -> usize {
    let kind = |reads: Option<f64>| reads.map_or(i64::MAX, |ohms| ((ohms + 1.0).ln() * 8.0) as i64);
    row.iter().map(|cell| kind(cell.reads)).collect::<BTreeSet<i64>>().len()
}

/// Returns the seconds of the cheapest measurement with probes and controls in place.
fn cheapest(engine: &Engine) -> f64 {
    let in_place = |m: &crate::readings::Measurement| {
        let probes = Some((m.red.clone(), m.black.clone()));
        let opened = crate::advisor::places(engine.harness(), m);
        seconds(engine.harness(), m, &Stand { setting: m.setting.clone(), probes, opened })
    };
    engine.candidates.list.iter().map(|c| in_place(&c.measurement)).fold(f64::INFINITY, f64::min)
}
