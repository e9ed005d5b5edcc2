//! The ohms between two nodes by star-mesh transformations: nodes are taken out one by one until one branch is left.
//!
//! Ohms are added, multiplied and divided, never subtracted, so no digits are lost between a joint of milliohms and a
//! track of megohms. The steps depend on what is joined to what alone: they are found
//! once and then carried out for any ohms.

use std::collections::{BTreeMap, BTreeSet};

/// One step of the way from the ohms of all branches to the ohms between two nodes; its result is the next slot.
enum Step {
    Series(usize, usize),
    Parallel(usize, usize),
    /// The arm of the mesh that takes the place of a star: r·s·Σ 1/arm.
    Star {
        pair: (usize, usize),
        arms: Vec<usize>,
    },
}

/// A network on its way to one branch.
struct Reduction {
    steps: Vec<Step>,
    slots: usize,
    joined: BTreeMap<(usize, usize), usize>,
}

impl Reduction {
    fn step(&mut self, step: Step) -> usize {
        self.steps.push(step);
        self.slots += 1;
        self.slots - 1
    }

    fn join(&mut self, a: usize, b: usize, slot: usize) {
        if a == b {
            return;
        }
        let pair = (a.min(b), a.max(b));
        let known = self.joined.get(&pair).copied();
        let slot = known.map_or(slot, |known| self.step(Step::Parallel(known, slot)));
        self.joined.insert(pair, slot);
    }

    /// Returns the other end and the slot of every branch at a node.
    fn arms(&self, node: usize) -> Vec<(usize, usize)> {
        let arm = |(&(a, b), &slot): (&(usize, usize), &usize)| {
            if a == node { Some((b, slot)) } else { (b == node).then_some((a, slot)) }
        };
        self.joined.iter().filter_map(arm).collect()
    }

    /// Takes a node out: a loose end vanishes, two branches become one, a star becomes a mesh.
    fn eliminate(&mut self, node: usize) {
        let arms = self.arms(node);
        self.joined.retain(|&(a, b), _| a != node && b != node);
        let slots: Vec<usize> = arms.iter().map(|arm| arm.1).collect();
        for (index, &(one, first)) in arms.iter().enumerate() {
            for &(other, second) in &arms[index + 1..] {
                let step = match arms.len() {
                    2 => Step::Series(first, second),
                    _ => Step::Star { pair: (first, second), arms: slots.clone() },
                };
                let slot = self.step(step);
                self.join(one, other, slot);
            }
        }
    }
}

/// How the ohms between two nodes follow from those of the branches; no answer without a path.
pub struct Plan {
    steps: Vec<Step>,
    answer: Option<usize>,
}

impl Plan {
    /// Finds the way from the branches, by the nodes at their ends; those that do not conduct have none.
    pub fn new(branches: &[Option<(usize, usize)>], (red, black): (usize, usize)) -> Self {
        let mut network = Reduction { steps: Vec::new(), slots: branches.len(), joined: BTreeMap::new() };
        let mut left = BTreeSet::new();
        for (slot, ends) in branches.iter().enumerate() {
            let Some((a, b)) = *ends else { continue };
            network.join(a, b, slot);
            left.extend([a, b]);
        }
        left.remove(&red);
        left.remove(&black);
        while let Some(node) = left.iter().copied().min_by_key(|&node| network.arms(node).len()) {
            left.remove(&node);
            network.eliminate(node);
        }
        let answer = network.joined.get(&(red.min(black), red.max(black))).copied();
        Self { steps: network.steps, answer }
    }

    /// Returns the ohms between the two nodes; `slots` holds those of the branches, results are put behind them.
    pub fn ohms(&self, slots: &mut Vec<f64>) -> Option<f64> {
        let answer = self.answer?;
        for step in &self.steps {
            let ohms = match step {
                Step::Series(a, b) => slots[*a] + slots[*b],
                Step::Parallel(a, b) => 1.0 / (1.0 / slots[*a] + 1.0 / slots[*b]),
                Step::Star { pair: (a, b), arms } => {
                    slots[*a] * slots[*b] * arms.iter().map(|&arm| 1.0 / slots[arm]).sum::<f64>()
                }
            };
            slots.push(ohms);
        }
        Some(slots[answer])
    }
}
