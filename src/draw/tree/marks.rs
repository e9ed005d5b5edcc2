//! Where a job stands in a tree, and how its faults part.

use std::collections::{BTreeMap, BTreeSet};

use crate::trees::Tree;

/// What is marked in a tree; steps are named as in its file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TreeMarks {
    /// The steps this job went through, each with the way it took: an index into the step's ways, the last of which
    /// is "cannot be done".
    pub path: Vec<(String, Option<usize>)>,
    /// For a step, the share of faults that go each of its ways, 0 to 1, in the order of its ways.
    pub shares: BTreeMap<String, Vec<f64>>,
    /// The step at which the job stands.
    pub here: Option<String>,
    /// The steps for which the guitar lacks something.
    pub passed_over: Vec<String>,
    /// For a step, what is said below each of its ways, in the order of its ways; empty says nothing.
    pub notes: BTreeMap<String, Vec<String>>,
    /// What is said of the whole below its title; empty says nothing.
    pub told: String,
}

/// The same with steps by their index; names the tree does not have are left out.
pub(super) struct Marked<'a> {
    path: BTreeMap<usize, (usize, Option<usize>)>,
    shares: BTreeMap<usize, &'a [f64]>,
    pub(super) here: Option<usize>,
    pub(super) passed_over: BTreeSet<usize>,
    notes: BTreeMap<usize, &'a [String]>,
    /// Whether reasons and meanings are shown too, and no words are left out of a step.
    pub(super) reasons: bool,
}

impl<'a> Marked<'a> {
    pub(super) fn new(tree: &Tree, marks: &'a TreeMarks) -> Self {
        let names: BTreeMap<&str, usize> =
            tree.steps.iter().enumerate().map(|(index, step)| (step.name.as_str(), index)).collect();
        let find = |name: &String| names.get(name.as_str()).copied();
        let gone = marks.path.iter().enumerate();
        let path = gone.filter_map(|(at, (name, way))| Some((find(name)?, (at + 1, *way)))).collect();
        let shares = marks.shares.iter().filter_map(|(name, all)| Some((find(name)?, all.as_slice())));
        let notes = marks.notes.iter().filter_map(|(name, all)| Some((find(name)?, all.as_slice())));
        Self {
            path,
            notes: notes.collect(),
            shares: shares.collect(),
            here: marks.here.as_ref().and_then(find),
            passed_over: marks.passed_over.iter().filter_map(find).collect(),
            reasons: false,
        }
    }

    /// Returns the same with the reason of every step and what each of its ways means.
    pub(super) fn with_reasons(self) -> Self {
        Self { reasons: true, ..self }
    }

    /// Returns the number of the check that was done at a step.
    pub(super) fn check(&self, step: usize) -> Option<usize> {
        self.path.get(&step).map(|(number, _)| *number)
    }

    /// Returns the number of the check that left a step this way.
    pub(super) fn went(&self, step: usize, way: usize) -> Option<usize> {
        self.path.get(&step).filter(|(_, taken)| *taken == Some(way)).map(|(number, _)| *number)
    }

    /// Returns what is said below a way of a step.
    pub(super) fn note(&self, step: usize, way: usize) -> &'a str {
        self.notes.get(&step).and_then(|notes| notes.get(way)).map_or("", String::as_str)
    }

    /// Returns the share of faults that leave a step this way.
    pub(super) fn share(&self, step: usize, way: usize) -> Option<f64> {
        self.shares.get(&step)?.get(way).copied().filter(|share| share.is_finite())
    }
}
