//! The outcomes of a measurement, and how what is foretold of it is dealt out over them.

use std::ops::RangeInclusive;

use super::Estimate;
use super::likelihood::Expectation;
use super::normal::{cumulative, quick_cumulative};
use crate::prediction::Cell;
use crate::readings::{Dial, Level, Meter};

/// Width of an outcome on the scale ln(1 + R/50 Ω): three hundredths of a reading, or one and a half ohms.
pub(crate) const WIDTH: f64 = 0.03;
const BINS: usize = (Dial::END / WIDTH) as usize + 2;
/// Outcome of over range; for a flexed reading an unsteady one is told from a steady one by an offset.
pub(crate) const OVER: usize = BINS;
pub(crate) const STEADY_OUTCOMES: usize = BINS + 1;

/// A distribution over the outcomes of a still reading: the first outcome with its neighbours, and over range.
pub(crate) struct Dealt {
    pub(crate) first: usize,
    pub(crate) shares: Vec<f64>,
    pub(crate) over: f64,
}

impl Dealt {
    /// Adds this with a weight to a line of outcomes.
    pub(super) fn add_to(&self, outcomes: &mut [f64], weight: f64) {
        let cells = &mut outcomes[self.first..self.first + self.shares.len()];
        cells.iter_mut().zip(&self.shares).for_each(|(cell, share)| *cell += weight * share);
        outcomes[OVER] += weight * self.over;
    }
}

/// Deals what a cell predicts out over the outcomes.
pub(crate) fn deal(cell: &Cell, estimate: &Estimate, meter: &Meter) -> Dealt {
    let Some((middle, variance)) = Expectation::outlook(cell, estimate, meter) else {
        return Dealt { first: 0, shares: Vec::new(), over: 1.0 };
    };
    let sd = variance.sqrt().max(1e-4);
    let ceiling = cell.dial.scale(meter.most(cell.dial));
    let last = bin((middle + 4.0 * sd).min(ceiling));
    let first = bin((middle - 4.0 * sd).max(0.0)).min(last);
    let mut below = 0.0;
    let mut shares = Vec::with_capacity(last - first + 1);
    for index in first..last {
        let up_to = quick_cumulative(((index + 1) as f64 * WIDTH - middle) / sd);
        shares.push(up_to - below);
        below = up_to;
    }
    let shown =
        if middle + 4.0 * sd > ceiling { cumulative((ceiling - middle) / sd).max(below) } else { 1.0 };
    shares.push(shown - below);
    Dealt { first, shares, over: 1.0 - shown }
}

/// Deals out whether a beeper sounds over what a cell predicts: outcome 1 if it does, 0 if not.
pub(super) fn deal_beep(cell: &Cell, estimate: &Estimate, meter: &Meter) -> Dealt {
    let beeps = Expectation::new(cell, estimate, meter).beeps();
    Dealt { first: 0, shares: vec![1.0 - beeps, beeps], over: 0.0 }
}

/// Returns the outcomes that a level on the display may stand for: those within the worth of its last digit.
pub(super) fn outcomes_of(dial: Dial, level: &Level) -> RangeInclusive<usize> {
    let Some((value, resolution)) = level.number() else { return OVER..=OVER };
    let at = |value: f64| bin(dial.scale(value));
    at(value - resolution / 2.0)..=at(value + resolution / 2.0)
}

/// Returns the outcome at a point of the scale.
fn bin(u: f64) -> usize {
    ((u / WIDTH) as usize).min(BINS - 1)
}
