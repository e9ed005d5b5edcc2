//! What the ways out of a step tell about the decision.

use super::sample::Sample;
use crate::advisor::mutual_information;

/// Returns the probability of each decision, row by row, with each way; `ways` are those of the instruments, in order.
pub(super) fn table(sample: &Sample<'_>, instruments: &[usize], ways: &[usize], count: usize) -> Vec<f64> {
    let mut table = vec![0.0; sample.engine.groups.decisions.len() * count];
    for (&instrument, &way) in instruments.iter().zip(ways) {
        table[sample.subject(instrument).decision * count + way] += sample.weight(instrument);
    }
    table
}

/// Returns the bits that one step tells about the decision once another has told what it tells: `ways` are those out of
/// the one, `known` those out of the other, each with their number.
pub(super) fn bits_after(
    sample: &Sample<'_>,
    instruments: &[usize],
    (ways, count): (&[usize], usize),
    (known, groups): (&[usize], usize),
) -> f64 {
    let decisions = sample.engine.groups.decisions.len();
    let mut tables = vec![0.0; groups * decisions * count];
    for ((&instrument, &way), &group) in instruments.iter().zip(ways).zip(known) {
        let line = group * decisions + sample.subject(instrument).decision;
        tables[line * count + way] += sample.weight(instrument);
    }
    shared(&tables, decisions * count, count)
}

/// Returns the mean of the bits that tables of equal size tell, each as often as its sum says.
fn shared(tables: &[f64], size: usize, columns: usize) -> f64 {
    let total: f64 = tables.iter().sum();
    let told = |table: &[f64]| table.iter().sum::<f64>() * mutual_information(table, columns);
    let told: f64 = tables.chunks(size).filter(|table| table.iter().any(|p| *p > 0.0)).map(told).sum();
    if total > 0.0 { told / total } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::shared;

    // By hand: the first table, three quarters of all, tells its one bit; the second tells nothing.
    #[test]
    fn what_is_told_counts_as_often_as_it_is_met() {
        let tables = [0.375, 0.0, 0.0, 0.375, 0.125, 0.0, 0.125, 0.0];
        assert!((shared(&tables, 4, 2) - 0.75).abs() < 1e-12);
        assert_eq!(shared(&[0.0; 4], 4, 2), 0.0);
    }
}
