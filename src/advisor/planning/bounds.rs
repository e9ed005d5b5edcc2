//! What no plan can undercut.

use super::effort::Effort;
use super::table::{Stage, Table};

/// Returns the seconds that every plan takes on average at least, see [`least`].
pub fn least_seconds(table: &Table) -> f64 {
    least(table, &table.start()).seconds
}

/// Returns what every plan takes on average at least from a stage on until a decision is sure: the entropy of the
/// decisions, less the most that may be left at the end, over the most bits that any test can tell, by itself and per
/// second (Shannon; Fano).
pub fn least(table: &Table, stage: &Stage) -> Effort {
    let missing = missing(table, stage);
    let told = |test: usize| (table.outcomes(test) as f64).log2();
    let most = |rate: &dyn Fn(usize) -> f64| (0..table.costs.reading.len()).map(rate).fold(0.0, f64::max);
    let over = |most: f64| if missing > 0.0 && most > 0.0 { missing / most } else { 0.0 };
    Effort { tests: over(most(&told)), seconds: over(most(&|test| told(test) / table.costs.least(test))) }
}

/// Returns the bits that are missing at a stage until a decision is sure.
pub(super) fn missing(table: &Table, stage: &Stage) -> f64 {
    (table.unknown(stage) - table.doubt()).max(0.0)
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
