//! Which states leave a preamp without its supply, so that nothing comes out of it.

use std::sync::Arc;

use super::model::Model;
use crate::circuit::{Change, ElementId, Network, NodeId, PartId, PartKind, What};
use crate::solver::{Positions, Solved, SolverError, Values};

/// A preamp falls silent below this share of its batteries' voltage (common practice, no source).
const ENOUGH: f64 = 0.5;

/// What a preamp drives, and where it takes its supply.
struct Fed {
    output: ElementId,
    supply: ElementId,
    plus: NodeId,
    minus: NodeId,
}

impl Model {
    /// Returns what is heard of each state: its own change or, where the preamp lacks its supply, the preamp's output
    /// open.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub(super) fn with_supply(&self, at: &Positions, states: &[usize]) -> Result<Vec<Change>, SolverError> {
        let own = |state: usize| &self.hypotheses.states[state].change;
        let Some(fed) = self.fed() else {
            return Ok(states.iter().map(|&state| own(state).clone()).collect());
        };
        let values = Values { powered: true, ..self.values.clone() };
        let solve =
            |network: &Arc<Network>| Solved::<f64>::new(&self.harness, network, &values, at, 0.0, &[]);
        let plain = solve(&self.network)?;
        let nominal: f64 = self.batteries().map(|(_, volts)| volts).sum();
        let heard = |&state: &usize| {
            let volts = match own(state) {
                Change::Exchange(..) | Change::Move(..) => {
                    self.supply(&solve(self.network_of(state))?, &fed, &Change::Nothing)
                }
                change => self.supply(&plain, &fed, change),
            };
            let dead = volts < ENOUGH * nominal || own(state) == &Change::Open(fed.supply);
            Ok(if dead { Change::Open(fed.output) } else { own(state).clone() })
        };
        states.iter().map(heard).collect()
    }

    /// Returns the volts between the plus and the minus of a preamp under a change.
    fn supply(&self, solved: &Solved<f64>, fed: &Fed, change: &Change) -> f64 {
        let volts = |(battery, volts)| volts * solved.transfer(battery, fed.plus, fed.minus, change);
        self.batteries().map(volts).sum()
    }

    fn batteries(&self) -> impl Iterator<Item = (ElementId, f64)> + '_ {
        let battery = |index| self.network.find(&What::Battery(PartId(index)));
        (0..self.harness.parts.len())
            .filter_map(move |index| Some((battery(index)?, self.values.volts[index])))
    }

    /// Returns the preamp of a harness with a battery.
    fn fed(&self) -> Option<Fed> {
        self.batteries().next()?;
        let preamp = |part: &crate::circuit::Part| matches!(part.kind, PartKind::Preamp { .. });
        let index = self.harness.parts.iter().position(preamp)?;
        let lug = |slot: usize| Some(self.network.lug(*self.harness.parts[index].terminals.get(slot)?));
        let find = |what: What| self.network.find(&what);
        let (output, supply) = (find(What::Output(PartId(index)))?, find(What::Supply(PartId(index)))?);
        Some(Fed { output, supply, plus: lug(2)?, minus: lug(3)? })
    }
}
