//! How well a reading fits one hypothesis, and what it tells about the part values under it.

use super::estimate::{Estimate, Shifts};
use super::normal::{cumulative, log_density};
use crate::prediction::Cell;
use crate::readings::{Dial, Level, Meter};
use crate::units::uncertainty;

/// Share of readings that are plain slips: wrong lug, wrong setting, wrong unit.
pub const SLIP: f64 = 0.015;
/// Of the slips, the share that shows over range.
const SLIP_OVER: f64 = 0.15;
/// Standard deviation in ohms of what nulled leads and the touch of the probes on a lug add (common practice).
const LEADS_SD: f64 = 0.4;
/// The threshold of a beeper in ohms: makers choose 35 Ω to 100 Ω, here the middle and its standard deviation.
const BEEP_MIDDLE: f64 = 60.0;
const BEEP_SPREAD: f64 = 20.0;

/// What one hypothesis predicts for one reading, on the scale of its dial.
#[derive(Clone, Debug, PartialEq)]
pub struct Expectation {
    /// What is read.
    pub dial: Dial,
    /// The middle; `None` when there is no path.
    pub middle: Option<f64>,
    /// Variance from part values, end stops and meter.
    pub variance: f64,
    /// d(scale)/d(value) for each uncertain value, the change's own size last.
    pub gradient: Vec<f64>,
    /// Variance from everything that is not a part value.
    pub noise: f64,
}

impl Expectation {
    /// Returns what a state's cell predicts under an estimate of the part values.
    pub fn new(cell: &Cell, estimate: &Estimate, meter: &Meter) -> Self {
        Self::under(cell, estimate.behind(cell.dial), meter)
    }

    /// Returns what a state's cell predicts with the values behind its dial known so far.
    pub(super) fn under(cell: &Cell, known: &Shifts, meter: &Meter) -> Self {
        let dial = cell.dial;
        let Some((value, slope)) = nominal(cell, known.size()) else {
            return Self { dial, middle: None, variance: 0.0, gradient: Vec::new(), noise: 0.0 };
        };
        let per_unit = dial.per_unit(value);
        let (shift, variance) = known.moments(&cell.gradient, slope);
        let noise = noise(cell, value, meter);
        let gradient = cell.gradient.iter().chain([&slope]).map(|g| g * per_unit).collect();
        let middle = (dial.scale(value) + shift * per_unit).clamp(0.0, Dial::END);
        Self { dial, middle: Some(middle), variance: variance * per_unit * per_unit + noise, gradient, noise }
    }

    /// Returns the middle and the variance only; `None` when there is no path.
    pub fn outlook(cell: &Cell, estimate: &Estimate, meter: &Meter) -> Option<(f64, f64)> {
        let known = estimate.behind(cell.dial);
        let (value, slope) = nominal(cell, known.size())?;
        let per_unit = cell.dial.per_unit(value);
        let (shift, variance) = known.moments(&cell.gradient, slope);
        let middle = (cell.dial.scale(value) + shift * per_unit).clamp(0.0, Dial::END);
        Some((middle, variance * per_unit * per_unit + noise(cell, value, meter)))
    }

    /// Returns where a reading lies on the scale when the part values are shifted so far, the change has this size and the
    /// reading is so many of its own standard deviations off; `None` when there is no path.
    ///
    /// Over all that these can be it has the middle and the variance that [`outlook`](Self::outlook) gives.
    pub fn drawn(cell: &Cell, shifts: &[f64], size: f64, off: f64, meter: &Meter) -> Option<f64> {
        let (value, _) = nominal(cell, size)?;
        let per_unit = cell.dial.per_unit(value);
        let shift: f64 = cell.gradient.iter().zip(shifts).map(|(slope, shift)| slope * shift).sum();
        let noise = noise(cell, value, meter).sqrt();
        Some((cell.dial.scale(value) + shift * per_unit + off * noise).clamp(0.0, Dial::END))
    }

    /// Returns the point of the scale below which a beeper sounds whose threshold is so many standard deviations off.
    pub fn beeper(off: f64) -> f64 {
        Dial::Ohms.scale(BEEP_MIDDLE) + off * BEEP_SPREAD * Dial::Ohms.per_unit(BEEP_MIDDLE)
    }

    /// Returns the ends of the span that holds 95 readings of 100; `None` when it is over range.
    pub fn band(&self) -> Option<(f64, f64)> {
        let middle = self.middle?;
        let half = uncertainty::expanded(self.variance.sqrt());
        Some((self.dial.unscaled(middle - half), self.dial.unscaled(middle + half)))
    }

    /// Returns the logarithm of the probability of a level on the display, slips included.
    pub fn log_likelihood(&self, level: &Level, meter: &Meter) -> f64 {
        let fits = self.fit(level, meter);
        ((1.0 - SLIP) * fits + SLIP * slip(level)).ln()
    }

    /// Returns the probability of a level when nobody slips: a density on the scale, or the share over range.
    pub fn fit(&self, level: &Level, meter: &Meter) -> f64 {
        let sd = self.variance.sqrt();
        match (self.middle, level.number()) {
            (None, None) => 1.0,
            (None, Some(_)) => 0.0,
            (Some(middle), None) => 1.0 - cumulative((self.dial.scale(meter.most(self.dial)) - middle) / sd),
            (Some(middle), Some((value, resolution))) => {
                let rounding = resolution * self.dial.per_unit(value);
                log_density(self.dial.scale(value) - middle, self.variance + rounding * rounding / 12.0).exp()
            }
        }
    }

    /// Returns the probability that the beeper sounds.
    pub fn beeps(&self) -> f64 {
        match self.middle {
            None => 0.0,
            Some(middle) => {
                let threshold = Self::beeper(0.0);
                let spread = Self::beeper(1.0) - threshold;
                cumulative((threshold - middle) / (self.variance + spread * spread).sqrt())
            }
        }
    }
}

/// Returns the value at a size of the change with nominal parts, and its slope over the size.
fn nominal(cell: &Cell, size: f64) -> Option<(f64, f64)> {
    let value = cell.reads?;
    Some(cell.size.map_or((value, 0.0), |curve| curve.at(size)))
}

/// Teaches the values behind its dial that a state's cell was read as `observed`, a point of the scale.
pub(super) fn teach(known: &mut Shifts, cell: &Cell, observed: f64, noise: f64) {
    let predict = |mean: &[f64]| {
        let (value, slope) = nominal(cell, mean.last().copied().unwrap_or(0.0)).unwrap_or((0.0, 0.0));
        let per_unit = cell.dial.per_unit(value);
        let gradient: Vec<f64> = cell.gradient.iter().chain([&slope]).map(|g| g * per_unit).collect();
        let parts: f64 = gradient.iter().zip(mean).take(cell.gradient.len()).map(|(g, m)| g * m).sum();
        (cell.dial.scale(value) + parts, gradient)
    };
    known.learn(observed, noise, predict);
}

/// Returns the variance on the scale from meter, leads, end stops and contacts.
fn noise(cell: &Cell, value: f64, meter: &Meter) -> f64 {
    let meter = meter.uncertainty(cell.dial, value);
    let leads = if cell.dial == Dial::Ohms { LEADS_SD } else { 0.0 };
    let per_unit = cell.dial.per_unit(value);
    (cell.noise * cell.noise + meter * meter + leads * leads) * per_unit * per_unit
}

/// Returns the probability of a level when somebody slipped: flat on the scale, with a share over range.
pub fn slip(level: &Level) -> f64 {
    match level {
        Level::OverRange => SLIP_OVER,
        _ => (1.0 - SLIP_OVER) / Dial::END,
    }
}
