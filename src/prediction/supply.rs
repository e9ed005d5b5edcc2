//! Which states leave a preamp without its supply, so that nothing comes out of it.

use super::circuits::{At, Circuits};
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

/// Which states leave the preamp without its supply, and what they open by that.
pub(super) struct Supply {
    /// The preamp's driven output.
    pub output: ElementId,
    /// Whether each state leaves it dead.
    pub dead: Vec<bool>,
}

impl Model {
    /// Returns which states leave the preamp without its supply; `None` when there is no preamp with a battery.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub(super) fn supply_lost(&self, positions: &Positions) -> Result<Option<Supply>, SolverError> {
        let Some(fed) = self.fed() else { return Ok(None) };
        let values = Values { powered: true, ..self.values.clone() };
        let at = At { positions, values: &values, omega: 0.0, load: &[] };
        let circuits = Circuits::<f64>::solve(self, self.networks(), &at)?;
        let batteries = self.batteries();
        let nominal: f64 = batteries.iter().map(|(_, volts)| volts).sum();
        let dead = |state| {
            let (solved, change) = circuits.of(self, state);
            let volts = |&(battery, volts): &(ElementId, f64)| {
                volts * solved.transfer(battery, fed.plus, fed.minus, change)
            };
            let supply: f64 = batteries.iter().map(volts).sum();
            supply < ENOUGH * nominal || *change == Change::Open(fed.supply)
        };
        let dead = (0..self.hypotheses.states.len()).map(dead).collect();
        Ok(Some(Supply { output: fed.output, dead }))
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
