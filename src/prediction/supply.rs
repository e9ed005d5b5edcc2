//! Which states leave a preamp without its supply, so that nothing comes out of it.

use super::model::Model;
use crate::circuit::{Change, ElementId, NodeId, PartId, PartKind, What};
use crate::solver::{Positions, SolverError, Values};

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
        let rewired: Vec<_> =
            self.rewired().iter().filter(|(state, _)| states.contains(state)).cloned().collect();
        let bench = self.bench_on(&self.network, &rewired, at, &values)?;
        let nominal: f64 = self.batteries().iter().map(|(_, volts)| volts).sum();
        let heard = |&state: &usize| {
            let starved = bench.volts(state, fed.plus, fed.minus) < ENOUGH * nominal;
            let dead = starved || own(state) == &Change::Open(fed.supply);
            if dead { Change::Open(fed.output) } else { own(state).clone() }
        };
        Ok(states.iter().map(heard).collect())
    }

    /// Returns the preamp of a harness with a battery.
    fn fed(&self) -> Option<Fed> {
        self.batteries().first()?;
        let preamp = |part: &crate::circuit::Part| matches!(part.kind, PartKind::Preamp { .. });
        let index = self.harness.parts.iter().position(preamp)?;
        let lug = |slot: usize| Some(self.network.lug(*self.harness.parts[index].terminals.get(slot)?));
        let find = |what: What| self.network.find(&what);
        let (output, supply) = (find(What::Output(PartId(index)))?, find(What::Supply(PartId(index)))?);
        Some(Fed { output, supply, plus: lug(2)?, minus: lug(3)? })
    }
}
