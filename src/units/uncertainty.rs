//! How uncertainties add up, by the Guide to the expression of uncertainty in measurement (JCGM 100).

/// How many standard uncertainties on either side of a result hold 95 readings of 100 (NIST TN 1297, 4.3).
pub const COVERAGE: f64 = 1.96;

/// Returns the standard uncertainty of a value that lies anywhere within `half_width` of its middle (JCGM 100, 4.3.7).
pub fn even(half_width: f64) -> f64 {
    half_width / 3.0_f64.sqrt()
}

/// Returns the half-width that holds 95 readings of 100 around a result with a standard uncertainty.
pub fn expanded(standard: f64) -> f64 {
    COVERAGE * standard
}

/// How a result goes with each of its inputs: its slope over each of them.
///
/// The last one is held apart, because it is the one that is worked out anew for every result.
#[derive(Clone, Copy, Debug)]
pub struct Slopes<'a> {
    /// The slopes over all inputs but the last.
    pub first: &'a [f64],
    /// The slope over the last input.
    pub last: f64,
}

impl<'a> Slopes<'a> {
    /// Returns the slopes from one list of them; none at all is one of zero.
    pub fn of(all: &'a [f64]) -> Self {
        let (last, first) = all.split_last().unwrap_or((&0.0, &[]));
        Self { first, last: *last }
    }

    fn times(self, line: &[f64]) -> f64 {
        let last = self.last * line.last().copied().unwrap_or(0.0);
        self.first.iter().zip(line).map(|(slope, covariance)| slope * covariance).sum::<f64>() + last
    }
}

/// Returns the covariance of two results of shared inputs: the law of propagation (JCGM 100, 5.2.2).
///
/// `inputs` holds the covariances of the inputs row by row. For a result with itself it is the square of its combined
/// standard uncertainty.
pub fn propagated(one: Slopes<'_>, other: Slopes<'_>, inputs: &[f64]) -> f64 {
    let rows = inputs.chunks(other.first.len() + 1);
    let slopes = one.first.iter().chain([&one.last]);
    // Most results depend on a few inputs only.
    slopes.zip(rows).filter(|(slope, _)| **slope != 0.0).map(|(slope, row)| slope * other.times(row)).sum()
}
