//! What explains several conflicts at once.

use std::collections::BTreeSet;

/// Returns the smallest sets that share a member with every conflict, those with at most `largest` members, the
/// smaller ones first.
///
/// A conflict is a set of which at least one member is at fault; each result is then a diagnosis that explains all of
/// them, and nothing can be left out of it (Reiter 1987; taken in one conflict after the other, in any order).
pub fn minimal_hitting_sets(conflicts: &[BTreeSet<usize>], largest: usize) -> Vec<BTreeSet<usize>> {
    let mut hitting = vec![BTreeSet::new()];
    for conflict in conflicts {
        let (mut hit, missed): (Vec<_>, Vec<_>) =
            hitting.into_iter().partition(|set: &BTreeSet<usize>| !set.is_disjoint(conflict));
        let grown = missed.iter().flat_map(|set| conflict.iter().map(|&member| with(set, member)));
        let grown: Vec<_> = grown.filter(|set| set.len() <= largest && !above_any(set, &hit)).collect();
        hit.extend(grown);
        hitting = hit;
    }
    hitting.sort_by(|a, b| a.len().cmp(&b.len()).then(a.cmp(b)));
    hitting
}

fn with(set: &BTreeSet<usize>, member: usize) -> BTreeSet<usize> {
    set.iter().copied().chain([member]).collect()
}

fn above_any(set: &BTreeSet<usize>, smaller: &[BTreeSet<usize>]) -> bool {
    smaller.iter().any(|other| other.is_subset(set))
}
