//! What is known about the part values under one hypothesis.

use crate::prediction::{Param, Params};
use crate::readings::Dial;
use crate::units::uncertainty::{Slopes, propagated};

/// What is known about the part values of one instrument.
///
/// A reading goes with the values behind its own dial only, so those of ohms and those of farads stay independent.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    ohms: Shifts,
    farads: Shifts,
}

impl Estimate {
    /// Returns what is known before any reading.
    ///
    /// The size of a change is in units of its own standard deviation.
    pub fn prior(params: &Params) -> Self {
        Self::with_size(params, 1.0)
    }

    /// Returns what is known before any reading, the change's size taken as given.
    pub fn of_parts(params: &Params) -> Self {
        Self::with_size(params, 0.0)
    }

    fn with_size(params: &Params, size_sd: f64) -> Self {
        let shifts = |list: &[Param]| Shifts::independent(list.iter().map(|param| param.sd).chain([size_sd]));
        Self { ohms: shifts(&params.list), farads: shifts(&params.farads) }
    }

    /// Returns the same knowledge of the parts for another change, of whose size nothing is known.
    pub(super) fn for_another_change(&self) -> Self {
        Self { ohms: self.ohms.for_another_change(), farads: self.farads.for_another_change() }
    }

    /// Returns what is known about the values behind a dial.
    pub fn behind(&self, dial: Dial) -> &Shifts {
        if dial == Dial::Farads { &self.farads } else { &self.ohms }
    }

    /// Returns what is known about the values behind a dial, to be taught.
    pub(super) fn behind_mut(&mut self, dial: Dial) -> &mut Shifts {
        if dial == Dial::Farads { &mut self.farads } else { &mut self.ohms }
    }
}

/// Mean and covariance of the shifts of some part values from nominal, the change's own size last.
#[derive(Clone, Debug, PartialEq)]
pub struct Shifts {
    mean: Vec<f64>,
    covariance: Vec<f64>,
}

impl Shifts {
    /// Returns shifts that are independent and 0 on average, with these standard deviations.
    fn independent(sds: impl Iterator<Item = f64>) -> Self {
        let sds: Vec<f64> = sds.collect();
        let size = sds.len();
        let mut covariance = vec![0.0; size * size];
        for (index, sd) in sds.iter().enumerate() {
            covariance[index * size + index] = sd * sd;
        }
        Self { mean: vec![0.0; size], covariance }
    }

    /// Returns the same shifts with the last, the size, independent of them, 0 on average and as unsure as at first.
    fn for_another_change(&self) -> Self {
        let size = self.mean.len();
        let mut other = self.clone();
        let Some(last) = size.checked_sub(1) else { return other };
        other.mean[last] = 0.0;
        for index in 0..size {
            other.covariance[last * size + index] = 0.0;
            other.covariance[index * size + last] = 0.0;
        }
        other.covariance[last * size + last] = 1.0;
        other
    }

    /// Returns the mean shift of each value, and its standard deviation.
    pub fn each(&self) -> Vec<(f64, f64)> {
        let size = self.mean.len();
        let sd = |i: usize| self.covariance[i * size + i].max(0.0).sqrt();
        self.mean.iter().enumerate().map(|(i, &mean)| (mean, sd(i))).collect()
    }

    /// Returns the mean size of the change, in its standard deviations.
    pub fn size(&self) -> f64 {
        self.mean.last().copied().unwrap_or(0.0)
    }

    /// Returns the shift that the part values make of a quantity with this gradient, the size of the change left
    /// out, and the quantity's variance with `size` as its gradient to the size of the change.
    pub fn moments(&self, gradient: &[f64], size: f64) -> (f64, f64) {
        let slopes = Slopes { first: gradient, last: size };
        let variance = propagated(slopes, slopes, &self.covariance);
        (dot(gradient, &self.mean), variance.max(0.0))
    }

    /// Takes in an observed value: a Kalman step, repeated from the same start while the gradient still moves.
    ///
    /// `predict` gives the predicted value and its gradient at a mean; the size of the change is the last entry.
    pub fn learn(&mut self, observed: f64, noise: f64, predict: impl Fn(&[f64]) -> (f64, Vec<f64>)) {
        const ROUNDS: usize = 4;
        let start = self.mean.clone();
        let mut gain = vec![0.0; start.len()];
        let mut spread = gain.clone();
        for _ in 0..ROUNDS {
            let (predicted, gradient) = predict(&self.mean);
            spread = self.spread(&gradient);
            let total = dot(&spread, &gradient) + noise;
            if total <= 0.0 {
                return;
            }
            gain = spread.iter().map(|s| s / total).collect();
            let back: f64 =
                gradient.iter().zip(start.iter().zip(&self.mean)).map(|(g, (s, m))| g * (s - m)).sum();
            let surprise = observed - predicted - back;
            let next: Vec<f64> = start.iter().zip(&gain).map(|(s, k)| s + k * surprise).collect();
            let moved = next.iter().zip(&self.mean).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            self.mean = next;
            if moved < 1e-6 {
                break;
            }
        }
        let size = start.len();
        for (row, gain) in gain.iter().enumerate() {
            for (column, other) in spread.iter().enumerate() {
                self.covariance[row * size + column] -= gain * other;
            }
        }
    }

    /// Returns the one estimate with the mean and covariance of two, `share` of the first and the rest of the other.
    ///
    /// Taking the likelier of the two instead would let every reading choose what it teaches.
    pub fn blended(self, other: &Self, share: f64) -> Self {
        const ALONE: f64 = 1e-6;
        if share >= 1.0 - ALONE || self == *other {
            return self;
        }
        if share <= ALONE {
            return other.clone();
        }
        let rest = 1.0 - share;
        let size = self.mean.len();
        let apart: Vec<f64> = self.mean.iter().zip(&other.mean).map(|(a, b)| a - b).collect();
        let mean = self.mean.iter().zip(&other.mean).map(|(a, b)| share * a + rest * b).collect();
        let pairs = self.covariance.iter().zip(&other.covariance).enumerate();
        let covariance = pairs
            .map(|(i, (a, b))| share * a + rest * b + share * rest * apart[i / size] * apart[i % size])
            .collect();
        Self { mean, covariance }
    }

    fn spread(&self, gradient: &[f64]) -> Vec<f64> {
        self.covariance.chunks(self.mean.len()).map(|row| dot(row, gradient)).collect()
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
