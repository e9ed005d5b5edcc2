//! Everything that is worked out once for a harness, and the predictions made from it.

use std::sync::Arc;

use super::circuits::{At, Circuits, Networks};
use super::params::Params;
use super::row::Row;
use super::states::Hypotheses;
use crate::circuit::{Change, ControlKind, Harness, Network, NodeId, PartKind};
use crate::faults::{Catalogue, Form, Priors};
use crate::readings::{Dial, Measurement, Setting, Stand};
use crate::solver::{Positions, Solved, SolverError, Values};

/// What one state makes one measurement read.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// What it is a number of.
    pub dial: Dial,
    /// The value at nominal part values, in ohms, farads, volts or amperes; `None` when it is over range.
    pub reads: Option<f64>,
    /// Standard deviation of the value from end stops, wiper contacts and whatever else is new with every reading.
    pub noise: f64,
    /// d(value)/d(shift) for each uncertain part value that such readings go with; empty where there is none.
    pub gradient: Vec<f64>,
    /// How the reading goes with the size of the change, where that is uncertain.
    pub size: Option<SizeCurve>,
}

/// A resistance between two nodes as a function of one branch's resistance: always of the form
/// (p + q·k)/(1 + c·k), where k is the branch's multiple of its nominal size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SizeCurve {
    spread: f64,
    p: f64,
    q: f64,
    c: f64,
}

impl SizeCurve {
    /// Returns the curve through three values at multiples of 1/4, 1 and 4; `None` when the size does not matter.
    fn through(spread: f64, [low, middle, high]: [f64; 3]) -> Option<Self> {
        if (high - low).abs() <= 1e-9 * middle.abs() {
            return None;
        }
        let (k1, k2, k3) = (0.25, 1.0, 4.0);
        let first = (middle - low) / (k2 - k1);
        let second = (high - middle) / (k3 - k2);
        let lean = (k3 * high - k2 * middle) / (k3 - k2) - (k2 * middle - k1 * low) / (k2 - k1);
        let c = if lean == 0.0 { 0.0 } else { (first - second) / lean };
        let q = first + c * (k2 * middle - k1 * low) / (k2 - k1);
        let p = middle * (1.0 + c * k2) - q * k2;
        Some(Self { spread, p, q, c })
    }

    /// Returns the ohms, and d(ohms)/d(size), at a size in standard deviations of its logarithm.
    pub fn at(&self, size: f64) -> (f64, f64) {
        let k = (self.spread * size).exp();
        let under = 1.0 + self.c * k;
        ((self.p + self.q * k) / under, self.spread * k * (self.q - self.c * self.p) / (under * under))
    }
}

impl Cell {
    /// Returns a cell that reads over range.
    pub fn over_range(dial: Dial) -> Self {
        Self { dial, reads: None, noise: 0.0, gradient: Vec::new(), size: None }
    }

    /// Returns where the value lies on the scale of readings; over range is its end.
    pub fn scaled(&self) -> f64 {
        self.reads.map_or(Dial::END, |value| self.dial.scale(value))
    }
}

/// A harness with its network, faults, hypotheses and uncertain values.
#[derive(Clone, Debug)]
pub struct Model {
    /// The wiring.
    pub harness: Arc<Harness>,
    /// Its network.
    pub network: Arc<Network>,
    /// How often such faults turn up, and what a history makes likelier.
    pub priors: Arc<Priors>,
    /// Its faults.
    pub catalogue: Catalogue,
    /// Its states and hypotheses.
    pub hypotheses: Hypotheses,
    /// Its uncertain values.
    pub params: Params,
    /// Its nominal values.
    pub values: Values,
    networks: Networks,
}

/// The networks of all states solved at one control setting.
pub struct Bench<'m> {
    model: &'m Model,
    at: Positions,
    circuits: Circuits<f64>,
}

impl Model {
    /// Works out the model of a harness, with the priors that come with the program.
    pub fn new(harness: Harness) -> Self {
        Self::with_priors(harness, Priors::built_in())
    }

    /// Works out the model of a harness.
    pub fn with_priors(harness: Harness, priors: &Priors) -> Self {
        let network = Network::new(&harness);
        let catalogue = Catalogue::derive(&harness, &network, priors);
        let hypotheses = Hypotheses::new(&catalogue);
        let network = Arc::new(network);
        Self {
            networks: networks(&network, &hypotheses),
            params: Params::new(&harness, &network),
            values: Values::nominal(&harness),
            network,
            harness: Arc::new(harness),
            priors: Arc::new(priors.clone()),
            catalogue,
            hypotheses,
        }
    }

    /// Returns this model with pairs of its faults as further faults.
    pub fn with_pairs(&self, pairs: &[(Form, Form)]) -> Self {
        let catalogue = self.catalogue.with_pairs(pairs);
        let hypotheses = Hypotheses::new(&catalogue);
        Self { networks: networks(&self.network, &hypotheses), catalogue, hypotheses, ..self.clone() }
    }

    /// Returns the model of one instrument of this wiring: its own part values, and only the states that it can be in.
    pub fn instrument(&self, values: Values, hypotheses: Hypotheses) -> Self {
        Self {
            networks: networks(&self.network, &hypotheses),
            params: self.params.clone(),
            network: Arc::clone(&self.network),
            harness: Arc::clone(&self.harness),
            priors: Arc::clone(&self.priors),
            catalogue: self.catalogue.clone(),
            values,
            hypotheses,
        }
    }

    /// Returns the network of a state: the plain one, or that of a wrong wiring.
    pub fn network_of(&self, state: usize) -> &Arc<Network> {
        self.networks.of(state)
    }

    /// Returns the networks of all states.
    pub(super) fn networks(&self) -> &Networks {
        &self.networks
    }

    /// Returns where every control stands in a setting; controls that the setting does not name stand at reference.
    pub fn positions(&self, setting: &Setting) -> Positions {
        let mut at = Positions::reference(&self.harness);
        for control in &self.harness.controls {
            match (setting.0.get(&control.name), &control.kind) {
                (Some(Stand::Knob(dial)), ControlKind::Knob) => {
                    for part in control.ganged.iter().chain([&control.part]) {
                        at.rotation[part.0] = f64::from(*dial) / 10.0;
                    }
                }
                (Some(Stand::At(name)), ControlKind::Selector(names)) => {
                    at.position[control.part.0] = names.iter().position(|known| known == name).unwrap_or(0);
                }
                _ => {}
            }
        }
        at
    }

    /// Returns the nodes under the red and the black probe; `None` when the harness lacks one of them.
    pub fn probes(&self, measurement: &Measurement) -> Option<(NodeId, NodeId)> {
        let free = measurement.lifted.as_deref().and_then(|name| self.harness.lifted(name)?.stands_for);
        let node = |name: &str| {
            let terminal = self.harness.terminal(name)?;
            // The free end is the one node more that the network with the lifted conductor has.
            Some(if free == Some(terminal) { NodeId(self.network.nodes) } else { self.network.lug(terminal) })
        };
        Some((node(&measurement.red)?, node(&measurement.black)?))
    }

    /// Solves the network at a control setting with given part values.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn bench_with(&self, setting: &Setting, values: &Values) -> Result<Bench<'_>, SolverError> {
        self.bench_on(&self.networks, &self.positions(setting), values)
    }

    /// Solves the given networks.
    pub(super) fn bench_on(
        &self,
        networks: &Networks,
        positions: &Positions,
        values: &Values,
    ) -> Result<Bench<'_>, SolverError> {
        let at = At { positions, values, omega: 0.0, load: &[] };
        let circuits = Circuits::solve(self, networks, &at)?;
        Ok(Bench { model: self, circuits, at: positions.clone() })
    }

    /// Solves the network at a control setting with nominal part values.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn bench(&self, setting: &Setting) -> Result<Bench<'_>, SolverError> {
        self.bench_with(setting, &self.values)
    }

    /// Returns the total resistance of the pot that sets the level of the first pickup heard at a setting:
    /// the volume pot whose wiper has a path to the plug's tip.
    pub fn volume_alone(&self, setting: &Setting) -> Option<f64> {
        let bench = self.bench(setting).ok()?;
        let tip = self.network.lug(self.harness.terminal("plug.tip")?);
        let near = |index: &usize| {
            let part = &self.harness.parts[*index];
            let volume = matches!(part.kind, PartKind::Pot { role: crate::circuit::PotRole::Volume, .. });
            let wiper = part.terminals.get(1).map(|&terminal| self.network.lug(terminal));
            let ohms =
                wiper.and_then(|node| bench.circuits.plain().response(tip, node, &Change::Nothing, &[]));
            volume && ohms.is_some_and(|response| response.ohms < 100.0)
        };
        (0..self.harness.parts.len()).find(near).map(|index| self.values.ohms[index])
    }
}

/// Returns the plain network and those of the states that are wired differently.
fn networks(network: &Arc<Network>, hypotheses: &Hypotheses) -> Networks {
    let states = hypotheses.states.iter().enumerate();
    let others = states.filter_map(|(index, state)| Some((index, network.rewired(&state.change)?)));
    Networks::new(Arc::clone(network), others)
}

impl Bench<'_> {
    /// Returns what is between two nodes in a state, in ohms; `None` when there is no path.
    pub fn ohms(&self, state: usize, red: NodeId, black: NodeId) -> Option<f64> {
        let (solved, change) = self.solved(state);
        solved.response(red, black, change, &[]).map(|response| response.ohms)
    }

    /// Returns what is between two nodes in a state whose change has another size, in ohms.
    pub fn ohms_with(&self, state: usize, change: &Change, red: NodeId, black: NodeId) -> Option<f64> {
        let (solved, own) = self.solved(state);
        let wired = matches!(own, Change::Rewire(_)) || *change == Change::Nothing;
        solved.response(red, black, if wired { own } else { change }, &[]).map(|response| response.ohms)
    }

    /// Returns what every state makes a measurement between two nodes read.
    pub fn row(&self, red: NodeId, black: NodeId) -> Row {
        (0..self.model.hypotheses.states.len()).map(|state| self.cell(state, red, black)).collect()
    }

    /// Returns what one state makes a measurement between two nodes read.
    pub fn cell(&self, state: usize, red: NodeId, black: NodeId) -> Cell {
        let model = self.model;
        let (solved, change) = self.solved(state);
        let Some(response) = solved.response(red, black, change, &model.params.through) else {
            return Cell::over_range(Dial::Ohms);
        };
        let more = solved.more(change);
        let worth = |slot: usize| {
            let element = model.params.through[slot];
            let grown = more.iter().find(|(grown, _)| *grown == element).map_or(0.0, |&(_, ohms)| ohms);
            solved.impedance(element).unwrap_or(0.0) + grown
        };
        let (gradient, noise) =
            model.params.sensitivities(&model.harness, &model.values, &self.at, &response.currents, &worth);
        let ohms = response.ohms.max(0.0);
        let size = self.size(state, red, black, ohms);
        Cell { dial: Dial::Ohms, reads: Some(ohms), noise, gradient, size }
    }

    /// Returns the model that is on the bench.
    pub(super) fn model(&self) -> &Model {
        self.model
    }

    /// Returns the solution to ask about a state, and the change to ask it with.
    pub(super) fn solved(&self, state: usize) -> (&Solved<f64>, &Change) {
        self.circuits.of(self.model, state)
    }

    fn size(&self, state: usize, red: NodeId, black: NodeId, ohms: f64) -> Option<SizeCurve> {
        let spread = self.model.hypotheses.states[state].spread;
        if spread == 0.0 {
            return None;
        }
        let (solved, change) = self.solved(state);
        let resized = |k: f64| {
            let change = match change {
                Change::Series(element, r) => Change::Series(*element, r * k),
                Change::Bridge(a, b, r) => Change::Bridge(*a, *b, r * k),
                Change::Scale(elements, factor) => Change::Scale(elements.clone(), factor * k),
                other => other.clone(),
            };
            solved.response(red, black, &change, &[]).map(|response| response.ohms.max(0.0))
        };
        SizeCurve::through(spread, [resized(0.25)?, ohms, resized(4.0)?])
    }
}

#[cfg(test)]
mod tests {
    use super::SizeCurve;

    // A resistor of k·1000 Ω beside 3000 Ω, in series with 500 Ω.
    #[test]
    fn the_curve_is_exact_for_one_branch() {
        let ohms = |k: f64| 500.0 + 1.0 / (1.0 / (1000.0 * k) + 1.0 / 3000.0);
        let curve = SizeCurve::through(0.7, [ohms(0.25), ohms(1.0), ohms(4.0)]).unwrap();
        for size in [-3.0, -1.0, 0.0, 0.5, 2.0, 4.0] {
            let expected = ohms(f64::exp(0.7 * size));
            assert!((curve.at(size).0 - expected).abs() < 1e-9 * expected, "{size}");
            let slope = (curve.at(size + 1e-5).0 - curve.at(size - 1e-5).0) / 2e-5;
            assert!((curve.at(size).1 - slope).abs() < 1e-4 * slope.abs(), "{size}");
        }
        assert_eq!(SizeCurve::through(0.7, [5.0, 5.0, 5.0]), None);
    }
}
