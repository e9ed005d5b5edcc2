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

/// Returns the covariance of two results of shared inputs: the law of propagation (JCGM 100, 5.2.2).
///
/// `one` and `other` hold the sensitivity of each result to each input, `inputs` the covariances of the inputs, row by
/// row. For a result with itself it is the square of its combined standard uncertainty.
pub fn propagated<'a, S>(one: S, other: S, inputs: &[f64]) -> f64
where
    S: Iterator<Item = &'a f64> + Clone,
{
    let count = one.clone().count().max(1);
    let row =
        |line: &[f64]| other.clone().zip(line).map(|(slope, covariance)| slope * covariance).sum::<f64>();
    // Most results depend on a few inputs only.
    one.zip(inputs.chunks(count)).filter(|(slope, _)| **slope != 0.0).map(|(s, line)| s * row(line)).sum()
}
