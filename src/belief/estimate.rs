//! What is known about the part values under one hypothesis.

use crate::prediction::Params;

/// Mean and covariance of the shifts of the part values from nominal, the change's own size last.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    mean: Vec<f64>,
    covariance: Vec<f64>,
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
        let sds: Vec<f64> = params.list.iter().map(|param| param.sd).chain([size_sd]).collect();
        let size = sds.len();
        let mut covariance = vec![0.0; size * size];
        for (index, sd) in sds.iter().enumerate() {
            covariance[index * size + index] = sd * sd;
        }
        Self { mean: vec![0.0; size], covariance }
    }

    /// Returns the mean shift of each value, and its standard deviation.
    pub fn shifts(&self) -> Vec<(f64, f64)> {
        let size = self.mean.len();
        self.mean
            .iter()
            .enumerate()
            .map(|(i, &mean)| (mean, self.covariance[i * size + i].max(0.0).sqrt()))
            .collect()
    }

    /// Returns the shift and the variance of a quantity with this gradient.
    pub fn moments(&self, gradient: &[f64]) -> (f64, f64) {
        let size = self.mean.len();
        let (mut shift, mut variance) = (0.0, 0.0);
        for (row, &g) in gradient.iter().enumerate().filter(|(_, g)| **g != 0.0) {
            shift += self.mean[row] * g;
            let line = &self.covariance[row * size..(row + 1) * size];
            variance += g * line.iter().zip(gradient).map(|(c, g)| c * g).sum::<f64>();
        }
        (shift, variance.max(0.0))
    }

    /// Takes in an observed difference from the prediction: one Kalman step.
    pub fn learn(&mut self, gradient: &[f64], surprise: f64, noise: f64) {
        let spread = self.spread(gradient);
        let total = spread.iter().zip(gradient).map(|(s, g)| s * g).sum::<f64>() + noise;
        if total <= 0.0 {
            return;
        }
        let size = self.mean.len();
        for (row, &gain) in spread.iter().enumerate() {
            self.mean[row] += gain / total * surprise;
            for (column, &other) in spread.iter().enumerate() {
                self.covariance[row * size + column] -= gain * other / total;
            }
        }
    }

    fn spread(&self, gradient: &[f64]) -> Vec<f64> {
        let size = self.mean.len();
        self.covariance.chunks(size).map(|row| row.iter().zip(gradient).map(|(c, g)| c * g).sum()).collect()
    }
}
