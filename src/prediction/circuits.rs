//! One setting solved for all states: the plain network, and what the wrongly wired ones need besides.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::model::Model;
use crate::circuit::{Change, Network};
use crate::solver::{Positions, Scalar, Shunt, Solved, SolverError, Values};

/// The network of a state that is wired differently.
#[derive(Clone, Debug)]
pub(super) struct Rewired {
    pub state: usize,
    pub network: Arc<Network>,
    /// What makes it of the plain one.
    pub change: Change,
}

/// The networks of all states.
#[derive(Clone, Debug)]
pub(super) struct Networks {
    pub plain: Arc<Network>,
    pub rewired: Vec<Rewired>,
}

impl Networks {
    /// Gathers the plain network and those of the states whose wiring is another.
    pub fn new(plain: Arc<Network>, others: impl Iterator<Item = (usize, Network)>) -> Self {
        let rewired = others
            .map(|(state, other)| Rewired {
                state,
                change: plain.difference(&other),
                network: Arc::new(other),
            })
            .collect();
        Self { plain, rewired }
    }

    /// Returns the network of a state.
    pub fn of(&self, state: usize) -> &Arc<Network> {
        let own = self.rewired.iter().find(|rewired| rewired.state == state);
        own.map_or(&self.plain, |rewired| &rewired.network)
    }
}

/// What a wrongly wired state needs beside the plain solution.
enum Own<T: Scalar> {
    /// It can be told from the plain solution.
    Change(Change),
    /// It falls apart differently, or has two faults, and has a solution of its own, with what is still to change.
    Solved(Arc<Solved<T>>, Change),
}

/// The networks of all states solved at one control setting and one frequency.
pub(super) struct Circuits<T: Scalar> {
    plain: Solved<T>,
    own: BTreeMap<usize, Own<T>>,
}

/// Changes of a network that several states share, and its solution with them in it.
type Shared<'a, T> = (&'a [Change], &'a Arc<Network>, Arc<Solved<T>>);

/// Where the controls stand, what the parts are worth, and what hangs on the plug.
pub(super) struct At<'a, T> {
    pub positions: &'a Positions,
    pub values: &'a Values,
    pub omega: f64,
    pub load: &'a [Shunt<T>],
}

impl<T: Scalar> Circuits<T> {
    /// Solves the networks.
    pub fn solve(model: &Model, networks: &Networks, at: &At<'_, T>) -> Result<Self, SolverError> {
        let solve = |network: &Arc<Network>| {
            Solved::new(&model.harness, network, at.values, at.positions, at.omega, at.load)
        };
        let plain = solve(&networks.plain)?;
        let mut own = BTreeMap::new();
        for rewired in &networks.rewired {
            let needs = if plain.can_rewire(&rewired.change) {
                Own::Change(rewired.change.clone())
            } else {
                Own::Solved(Arc::new(solve(&rewired.network)?), Change::Nothing)
            };
            own.insert(rewired.state, needs);
        }
        own.extend(Self::of_several(model, networks, at)?);
        Ok(Self { plain, own })
    }

    /// Solves for every state that several things are wrong with the network with all but the last of them in it; states
    /// that share these follow one another.
    fn of_several(
        model: &Model,
        networks: &Networks,
        at: &At<'_, T>,
    ) -> Result<Vec<(usize, Own<T>)>, SolverError> {
        let mut all = Vec::new();
        let mut known: Option<Shared<'_, T>> = None;
        for (index, state) in model.hypotheses.states.iter().enumerate() {
            let Change::Several(changes) = &state.change else { continue };
            let Some((last, others)) = changes.split_last() else { continue };
            let network = networks.of(index);
            let same = known.as_ref().filter(|(known, of, _)| *known == others && Arc::ptr_eq(of, network));
            let solved = match same {
                Some((.., solved)) => Arc::clone(solved),
                None => Arc::new(with_all(model, network, at, others)?),
            };
            known = Some((others, network, Arc::clone(&solved)));
            all.push((index, Own::Solved(solved, last.clone())));
        }
        Ok(all)
    }

    /// Returns the solution to ask about a state, and the change to ask it with.
    pub fn of<'a>(&'a self, model: &'a Model, state: usize) -> (&'a Solved<T>, &'a Change) {
        match self.own.get(&state) {
            None => (&self.plain, &model.hypotheses.states[state].change),
            Some(Own::Change(change)) => (&self.plain, change),
            Some(Own::Solved(solved, change)) => (solved, change),
        }
    }

    /// Returns the solution of the plain network.
    pub fn plain(&self) -> &Solved<T> {
        &self.plain
    }
}

/// Solves a network with all of these changes in it.
fn with_all<T: Scalar>(
    model: &Model,
    network: &Arc<Network>,
    at: &At<'_, T>,
    changes: &[Change],
) -> Result<Solved<T>, SolverError> {
    let &At { positions, values, omega, load } = at;
    let change = Change::Several(changes.to_vec());
    Solved::changed(&model.harness, network, values, positions, omega, load, &change)
}
