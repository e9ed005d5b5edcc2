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
    /// It falls apart differently and has a solution of its own.
    Solved(Solved<T>),
}

/// The networks of all states solved at one control setting and one frequency.
pub(super) struct Circuits<T: Scalar> {
    plain: Solved<T>,
    own: BTreeMap<usize, Own<T>>,
}

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
            let change = &model.hypotheses.states[rewired.state].change;
            let needs = if matches!(change, Change::Several(_)) {
                Own::Solved(scratch(model, rewired, at, change)?)
            } else if plain.can_rewire(&rewired.change) {
                Own::Change(rewired.change.clone())
            } else {
                Own::Solved(solve(&rewired.network)?)
            };
            own.insert(rewired.state, needs);
        }
        Ok(Self { plain, own })
    }

    /// Returns the solution to ask about a state, and the change to ask it with.
    pub fn of<'a>(&'a self, model: &'a Model, state: usize) -> (&'a Solved<T>, &'a Change) {
        match self.own.get(&state) {
            None => (&self.plain, &model.hypotheses.states[state].change),
            Some(Own::Change(change)) => (&self.plain, change),
            Some(Own::Solved(solved)) => (solved, &Change::Nothing),
        }
    }

    /// Returns the solution of the plain network.
    pub fn plain(&self) -> &Solved<T> {
        &self.plain
    }
}

/// Solves the network of a state that several things are wrong with.
fn scratch<T: Scalar>(
    model: &Model,
    state: &Rewired,
    at: &At<'_, T>,
    change: &Change,
) -> Result<Solved<T>, SolverError> {
    let &At { positions, values, omega, load } = at;
    Solved::changed(&model.harness, &state.network, values, positions, omega, load, change)
}
