//! How well a set of tests detects faults and how far it isolates them.

use std::collections::BTreeMap;

use super::table::Table;

/// The faults that a set of tests detects, in groups that it cannot tell apart (ambiguity groups, MIL-STD-1309D).
#[derive(Clone, Debug, PartialEq)]
pub struct Testability {
    /// The detected faults, those with one signature together.
    pub groups: Vec<Vec<usize>>,
    /// The faults that give every test what the fault-free state gives it.
    pub undetected: Vec<usize>,
    weights: Vec<f64>,
}

impl Testability {
    /// Works out what some tests of a table do; `healthy` is the fault-free state.
    pub fn new(table: &Table, tests: &[usize], healthy: usize) -> Self {
        let signature = |state: usize| tests.iter().map(|&test| table.likeliest(test, state)).collect();
        let mut groups: BTreeMap<Vec<usize>, Vec<usize>> = BTreeMap::new();
        for state in (0..table.priors.len()).filter(|&state| state != healthy) {
            groups.entry(signature(state)).or_default().push(state);
        }
        let undetected = groups.remove(&signature(healthy)).unwrap_or_default();
        Self { groups: groups.into_values().collect(), undetected, weights: table.priors.clone() }
    }

    /// Returns the share of the faults' probability that is detected.
    pub fn detected(&self) -> f64 {
        let detected = self.of_groups_up_to(usize::MAX);
        detected / (detected + self.weight(&self.undetected))
    }

    /// Returns the share of the detected probability that is isolated to a group of at most `size` faults.
    pub fn isolated(&self, size: usize) -> f64 {
        self.of_groups_up_to(size) / self.of_groups_up_to(usize::MAX)
    }

    fn of_groups_up_to(&self, size: usize) -> f64 {
        self.groups.iter().filter(|group| group.len() <= size).map(|group| self.weight(group)).sum()
    }

    fn weight(&self, faults: &[usize]) -> f64 {
        faults.iter().map(|&fault| self.weights[fault]).sum()
    }
}
