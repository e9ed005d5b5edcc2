//! Whether readings speak against one another.

use super::Posterior;

/// How probable one reading was, as natural logarithms: of a density on the scale of readings where it is a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighed {
    /// Its index among the pieces of evidence of a [`Posterior`].
    pub evidence: usize,
    /// Before any other reading.
    pub alone: f64,
    /// When it came, after those before it.
    pub came: f64,
}

/// Returns the conflict measure of readings: Σ ln P(e) over the readings, each alone, less ln P(all of them).
///
/// Above 0 the readings are less likely together than each by itself: they speak against one another, or the case is
/// rare (Jensen and others 1991, from memory). P(all) is the product of what each had when it came.
pub fn conflict(readings: &[Weighed]) -> f64 {
    readings.iter().map(|reading| reading.alone - reading.came).sum()
}

/// Returns by how much the conflict measure drops when each reading is left out: ln P(e) - ln P(e | all else).
///
/// What the readings say of the part values is kept as it was when they came.
pub fn drops(posterior: &Posterior, readings: &[Weighed]) -> Vec<f64> {
    readings
        .iter()
        .map(|reading| reading.alone - reading.came + posterior.without(reading.evidence))
        .collect()
}
