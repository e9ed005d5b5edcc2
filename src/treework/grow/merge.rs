//! From what has grown to the steps of a tree, as few as tell as much.
//!
//! Places that ask the same and lead to the same are one step, and a step that leads to one end whatever it shows is
//! none; only where nothing else is left, steps that all lead to the advisor are kept for what they read.

use std::collections::BTreeMap;

use super::ends::{Told, end};
use super::words::Grown;
use super::{Plant, Split, words};
use crate::trees::{Ask, Then};

/// What becomes of a step whose ways all lead to the advisor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ends {
    /// It is none: the advisor asks the same.
    Joined,
    /// It stays, for the advisor goes on from what it read.
    Kept,
}

/// Returns the steps, the first of which the tree begins with; `None` when nothing is told apart.
pub(super) fn steps(plant: &Plant<'_>, ends: Ends) -> Option<Vec<Grown>> {
    let mut merger = Merger { plant, ends, closed: Vec::new(), steps: Vec::new(), told: Told::new() };
    match merger.close(0) {
        Then::Step(start) => Some(named(ordered(start, &merger.steps))),
        _ => None,
    }
}

struct Merger<'p> {
    plant: &'p Plant<'p>,
    ends: Ends,
    /// What the steps were made of.
    closed: Vec<(&'p Split, Vec<Then>)>,
    steps: Vec<Grown>,
    told: Told,
}

impl Merger<'_> {
    /// Returns where a node leads, its step made when it is one; the nodes after it come first.
    fn close(&mut self, node: usize) -> Then {
        let plant = self.plant;
        let node = &plant.nodes[node];
        let Some(split) = &node.split else { return end(plant.engine, node, &mut self.told) };
        let ways: Vec<Then> = split.ways.iter().map(|(_, next)| self.close(*next)).collect();
        let joined = |first: &&Then| **first != Then::Advisor || self.ends == Ends::Joined;
        let same = ways.first().filter(|first| ways.iter().all(|way| way == *first));
        if let Some(first) = same.filter(joined) {
            return first.clone();
        }
        let known = self.closed.iter().position(|(other, to)| asks_the_same(other, split) && *to == ways);
        Then::Step(known.unwrap_or_else(|| {
            self.steps.push(words::step(plant, node, split, &ways));
            self.closed.push((split, ways));
            self.steps.len() - 1
        }))
    }
}

fn asks_the_same(one: &Split, other: &Split) -> bool {
    let shows = |split: &Split| split.ways.iter().map(|(shows, _)| *shows).collect::<Vec<_>>();
    one.measurement == other.measurement && shows(one) == shows(other)
}

/// Returns the steps in the order in which they are come to, with their ways numbered anew.
pub(super) fn ordered(start: usize, steps: &[Grown]) -> Vec<Grown> {
    let (mut order, mut waiting) = (Vec::new(), vec![start]);
    while let Some(next) = waiting.pop() {
        if !order.contains(&next) {
            order.push(next);
            let after = steps[next].step.ways().filter_map(step_of);
            let after: Vec<usize> = after.collect();
            waiting.extend(after.into_iter().rev());
        }
    }
    order.iter().map(|&old| renumbered(&steps[old], &order)).collect()
}

fn step_of(then: &Then) -> Option<usize> {
    match then {
        Then::Step(index) => Some(*index),
        _ => None,
    }
}

fn renumbered(grown: &Grown, order: &[usize]) -> Grown {
    let mut grown = grown.clone();
    let step = &mut grown.step;
    let new = |then: &mut Then| {
        if let Then::Step(index) = then {
            let old = *index;
            *index = order.iter().position(|step| *step == old).unwrap_or(0);
        }
    };
    match &mut step.ask {
        Ask::Measure(probe) => probe.outcomes.iter_mut().for_each(|outcome| new(&mut outcome.then)),
        Ask::Question { answers, .. } => answers.iter_mut().for_each(|answer| new(&mut answer.then)),
    }
    new(&mut step.cannot);
    grown
}

/// Tells the steps apart that have one name, by how often it was there before.
pub(super) fn named(mut steps: Vec<Grown>) -> Vec<Grown> {
    let mut used: BTreeMap<String, usize> = BTreeMap::new();
    for Grown { step, .. } in &mut steps {
        let name = bare(&step.name).to_owned();
        let times = used.entry(name.clone()).or_default();
        *times += 1;
        step.name = match *times {
            1 => name,
            2 => format!("{name} (second place)"),
            3 => format!("{name} (third place)"),
            n => format!("{name} ({n}th place)"),
        };
    }
    steps
}

/// Returns a step's name without what told it apart.
fn bare(name: &str) -> &str {
    name.strip_suffix(" place)").and_then(|front| front.rsplit_once(" (")).map_or(name, |(bare, _)| bare)
}

#[cfg(test)]
mod tests {
    use super::bare;

    #[test]
    fn a_name_is_told_apart_once_only() {
        assert_eq!(bare("tip to sleeve, all knobs up (second place)"), "tip to sleeve, all knobs up");
        assert_eq!(bare("tip to sleeve (a place)"), "tip to sleeve");
        assert_eq!(bare("tip to sleeve"), "tip to sleeve");
    }
}
