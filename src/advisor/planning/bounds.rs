//! What no plan can undercut.

use super::table::Table;
use crate::advisor::entropy;

/// Returns the seconds that every plan takes on average at least: the entropy of the decisions over the most bits per
/// second that any test can tell (Shannon).
pub fn least_seconds(table: &Table) -> f64 {
    let shares = table.shares(&table.start());
    let total: f64 = shares.iter().sum();
    let rate = |test| (table.outcomes(test) as f64).log2() / table.costs.least(test);
    let most = (0..table.costs.reading.len()).map(rate).fold(0.0, f64::max);
    entropy(&shares.iter().map(|share| share / total).collect::<Vec<_>>()) / most
}

/// Returns the tests of `arity` outcomes that it takes on average at least to tell these weights apart: the length of
/// Huffman's code, padded with nothings until all merges are full.
pub fn huffman(weights: &[f64], arity: usize) -> f64 {
    let mut left = weights.to_vec();
    while left.len() > 1 && !(left.len() - 1).is_multiple_of(arity - 1) {
        left.push(0.0);
    }
    let mut length = 0.0;
    while left.len() > 1 {
        left.sort_by(|a, b| b.total_cmp(a));
        let merged: f64 = left.drain(left.len() - arity..).sum();
        length += merged;
        left.push(merged);
    }
    length / weights.iter().sum::<f64>()
}

/// Returns what `tests` tests, a number that may be broken, cost at least: the cheapest ones, the next one in part
/// (Pattipati and Alexandridis 1990, from memory).
pub fn cheapest(seconds: &[f64], tests: f64) -> f64 {
    let mut sorted = seconds.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.iter().enumerate().map(|(index, seconds)| seconds * (tests - index as f64).clamp(0.0, 1.0)).sum()
}
