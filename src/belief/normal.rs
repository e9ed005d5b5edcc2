//! The normal distribution.

use std::f64::consts::{SQRT_2, TAU};

/// Returns the share of a standard normal distribution below `z`.
pub fn cumulative(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}

/// Returns the share of a standard normal distribution below `z`, within 0.0002 (logistic form, Bowling and others 2009
/// from memory; its error is held by a test).
pub fn quick_cumulative(z: f64) -> f64 {
    1.0 / (1.0 + (-z * (1.5976 + 0.070_565_8 * z * z)).exp())
}

/// Returns the logarithm of the normal density at a distance from the middle.
pub fn log_density(distance: f64, variance: f64) -> f64 {
    -0.5 * (distance * distance / variance + (TAU * variance).ln())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_quick_form_keeps_close() {
        let error =
            |step: i32| (quick_cumulative(f64::from(step) / 50.0) - cumulative(f64::from(step) / 50.0)).abs();
        assert!((-250..=250).map(error).fold(0.0, f64::max) < 2e-4);
    }

    // NIST TN 1297, 4.3: 95 % lie within 1.960 and 99 % within 2.576 standard deviations.
    #[test]
    fn the_usual_coverage_factors() {
        assert!((cumulative(1.960) - cumulative(-1.960) - 0.95).abs() < 1e-4);
        assert!((cumulative(2.576) - cumulative(-2.576) - 0.99).abs() < 1e-4);
    }
}
