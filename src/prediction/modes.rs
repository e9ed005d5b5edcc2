//! What a measurement reads in every mode of the meter, with a joint lifted or a knob swept.

use std::f64::consts::TAU;
use std::sync::Arc;

use nalgebra::Complex;

use super::circuits::{At, Circuits, Networks};
use super::model::{Bench, Cell, Model};
use super::row::Row;
use crate::circuit::{ElementId, Harness, Network, NodeId, PartId, PartKind, What};
use crate::readings::{Dial, Measurement, Mode, Setting, Stand};
use crate::solver::{Positions, SolverError, Values};

/// The input resistance of a voltmeter, in ohms (makers of handheld meters agree on it).
const VOLTMETER_OHMS: f64 = 10e6;
/// What an ammeter puts in the way, in ohms (common practice, no source).
const AMMETER_OHMS: f64 = 2.0;
/// The frequency at which handheld meters judge a capacitance (common practice, no source).
const CAPACITANCE_HERTZ: f64 = 400.0;
/// What the leads of a capacitance meter show when they touch nothing, in farads (common practice, no source).
const STRAY_FARADS: f64 = 10e-12;
/// A capacitance beside so much conductance, as a multiple of its own admittance, is not shown.
const SPOILT: f64 = 3.0;
/// By how much the logarithm of a capacitance is moved to see how a reading goes with it.
const NUDGE: f64 = 1e-4;

impl Model {
    /// Returns what every state makes a measurement with a meter read.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn row(&self, measurement: &Measurement) -> Result<Option<Row>, SolverError> {
        let Some((red, black)) = self.probes(measurement) else { return Ok(None) };
        let lifted = measurement.lifted.as_deref();
        Ok(Some(match measurement.mode {
            Mode::Volts | Mode::Current => {
                let bench = self.bench_for(measurement, true)?;
                (0..self.hypotheses.states.len())
                    .map(|s| bench.driven(s, red, black, measurement.mode))
                    .collect()
            }
            Mode::Capacitance => self.capacitances(measurement, red, black)?,
            Mode::Sweep => self.swept(measurement, red, black)?,
            _ if lifted.is_some() => self.bench_for(measurement, false)?.row(red, black),
            _ => self.bench(&measurement.setting)?.row(red, black),
        }))
    }

    /// Returns the network of a state with what a measurement lifts; its free end is the last node.
    pub fn network_with(&self, state: usize, lifted: Option<&str>) -> Arc<Network> {
        let network = self.network_of(state);
        match lifted.and_then(|name| self.conductor(name)) {
            Some((element, second)) => Arc::new(network.lifted(element, second)),
            None => Arc::clone(network),
        }
    }

    /// Returns the conductor of this name, and whether it is its second end that comes off.
    fn conductor(&self, name: &str) -> Option<(ElementId, bool)> {
        let lifted = self.harness.lifted(name)?;
        Some((self.network.find(&What::Link(lifted.link))?, lifted.second))
    }

    fn with_lifted(&self, lifted: Option<&str>) -> Networks {
        let Some((element, second)) = lifted.and_then(|name| self.conductor(name)) else {
            return self.networks().clone();
        };
        let plain = Arc::new(self.network.lifted(element, second));
        let others = self.networks().rewired.iter().map(|r| (r.state, r.network.lifted(element, second)));
        Networks::new(plain, others)
    }

    fn bench_for(&self, measurement: &Measurement, powered: bool) -> Result<Bench<'_>, SolverError> {
        let networks = self.with_lifted(measurement.lifted.as_deref());
        let values = Values { powered, ..self.values.clone() };
        self.bench_on(&networks, &self.positions(&measurement.setting), &values)
    }

    fn capacitances(
        &self,
        measurement: &Measurement,
        red: NodeId,
        black: NodeId,
    ) -> Result<Row, SolverError> {
        let networks = self.with_lifted(measurement.lifted.as_deref());
        let positions = self.positions(&measurement.setting);
        let seen = |values: &Values| self.impedances(&networks, &positions, values, red, black);
        let plain = seen(&self.values)?;
        let nudged = self.params.farads.iter().map(|param| seen(&self.nudged(param.part)));
        let nudged: Vec<Vec<Option<Complex<f64>>>> = nudged.collect::<Result<_, _>>()?;
        let cell = |(state, z): (usize, &Option<Complex<f64>>)| {
            capacitance(*z, nudged.iter().map(|nudged| nudged[state]), self.params.winding)
        };
        Ok(plain.iter().enumerate().map(cell).collect())
    }

    /// Returns what is between two nodes in every state at the frequency of a capacitance meter.
    fn impedances(
        &self,
        networks: &Networks,
        positions: &Positions,
        values: &Values,
        red: NodeId,
        black: NodeId,
    ) -> Result<Vec<Option<Complex<f64>>>, SolverError> {
        let at = At { positions, values, omega: TAU * CAPACITANCE_HERTZ, load: &[] };
        let circuits = Circuits::<Complex<f64>>::solve(self, networks, &at)?;
        let impedance = |state| {
            let (solved, change) = circuits.of(self, state);
            solved.response(red, black, change, &[]).map(|response| response.ohms)
        };
        Ok((0..self.hypotheses.states.len()).map(impedance).collect())
    }

    /// Returns the nominal values, one capacitance a little larger.
    fn nudged(&self, part: PartId) -> Values {
        let mut values = self.values.clone();
        values.farads[part.0] *= NUDGE.exp();
        values
    }

    /// Returns the highest reading while a knob is turned through its range, from its eleven dial numbers.
    fn swept(&self, measurement: &Measurement, red: NodeId, black: NodeId) -> Result<Row, SolverError> {
        let knob = measurement.about.as_deref().unwrap_or_default();
        let mut best: Vec<Cell> = vec![Cell::over_range(Dial::Ohms); self.hypotheses.states.len()];
        let mut seen = vec![[None; 11]; best.len()];
        for dial in 0..=10u8 {
            let setting = measurement.setting.clone().with(knob, Stand::Knob(dial));
            let row = self.bench(&setting)?.row(red, black);
            for (state, cell) in row.iter().enumerate() {
                seen[state][usize::from(dial)] = cell.reads;
                if cell.reads > best[state].reads {
                    best[state] = cell.clone();
                }
            }
        }
        let shares = self.shares(&measurement.setting, knob);
        for (cell, seen) in best.iter_mut().zip(&seen) {
            cell.reads = crest(&shares, seen).or(cell.reads);
        }
        Ok(best.into_iter().collect())
    }

    /// Returns the share of the track below the wiper at each dial number.
    fn shares(&self, setting: &Setting, knob: &str) -> Vec<f64> {
        let part = self.harness.control(knob).map_or(PartId(0), |control| control.part);
        let share = |dial| {
            let at: Positions = self.positions(&setting.clone().with(knob, Stand::Knob(dial)));
            crate::solver::track_share(&self.harness, &self.values, &at, part)
        };
        (0..=10).map(share).collect()
    }

    /// Returns the batteries' elements with their voltages.
    pub(super) fn batteries(&self) -> Vec<(ElementId, f64)> {
        let of = |index: usize| {
            let battery = self.network.find(&What::Battery(PartId(index)))?;
            Some((battery, self.values.volts[index]))
        };
        (0..self.harness.parts.len()).filter_map(of).collect()
    }
}

impl Bench<'_> {
    /// Returns the volts between two nodes in a state, batteries in their clips, into an open circuit.
    pub fn volts(&self, state: usize, red: NodeId, black: NodeId) -> f64 {
        let (solved, change) = self.solved(state);
        let batteries = self.model().batteries();
        batteries.iter().map(|&(battery, volts)| volts * solved.transfer(battery, red, black, change)).sum()
    }

    fn driven(&self, state: usize, red: NodeId, black: NodeId, mode: Mode) -> Cell {
        let volts = self.volts(state, red, black);
        let behind = self.ohms(state, red, black).unwrap_or(f64::INFINITY);
        let (dial, value) = match mode {
            Mode::Current => (Dial::Amps, volts.abs() / (behind + AMMETER_OHMS)),
            _ => {
                (Dial::Volts, if behind.is_finite() { volts / (1.0 + behind / VOLTMETER_OHMS) } else { 0.0 })
            }
        };
        // A battery is anything from nearly new to nearly spent, and idle currents differ as much.
        let noise = 0.04 * value.abs();
        Cell { dial, reads: Some(value), noise, gradient: Vec::new(), size: None }
    }
}

/// Returns what a meter makes of an impedance: over range for a resistance, a few picofarads for nothing. `nudged` is
/// the impedance with each uncertain capacitance nudged, `winding` how unsure the capacitance of a coil is.
fn capacitance(
    impedance: Option<Complex<f64>>,
    nudged: impl Iterator<Item = Option<Complex<f64>>>,
    winding: f64,
) -> Cell {
    let Some(z) = impedance else { return farads(STRAY_FARADS, 0.0, Vec::new()) };
    let y = z.inv();
    let own = TAU * CAPACITANCE_HERTZ * STRAY_FARADS;
    if y.re > SPOILT * y.im.max(own) || y.im < 0.0 {
        return Cell::over_range(Dial::Farads);
    }
    let value = parallel(y);
    let slope = |z: Option<Complex<f64>>| z.map_or(0.0, |z| (parallel(z.inv()) - value) / NUDGE);
    let gradient: Vec<f64> = nudged.map(slope).collect();
    // A capacitance goes with all that make it up in proportion, so what is left over is that of the coils.
    let left = value - gradient.iter().sum::<f64>();
    let noise = winding * left.abs() + 0.1 * value * (y.re / y.im.max(own));
    farads(value + STRAY_FARADS, noise, gradient)
}

/// Returns the capacitance that has the imaginary part of an admittance.
fn parallel(admittance: Complex<f64>) -> f64 {
    admittance.im / (TAU * CAPACITANCE_HERTZ)
}

fn farads(value: f64, noise: f64, gradient: Vec<f64>) -> Cell {
    Cell { dial: Dial::Farads, reads: Some(value), noise, gradient, size: None }
}

/// Returns the top of the parabola through the highest of some points and its two neighbours: between two dial
/// numbers the reading is nearly a parabola of the share of the track.
fn crest(shares: &[f64], seen: &[Option<f64>; 11]) -> Option<f64> {
    let top = (1..10).max_by(|&a, &b| seen[a].unwrap_or(-1.0).total_cmp(&seen[b].unwrap_or(-1.0)))?;
    let [a, b, c] = [seen[top - 1]?, seen[top]?, seen[top + 1]?];
    if a > b || c > b {
        return seen.iter().flatten().copied().reduce(f64::max);
    }
    let (x, y) = (shares[top] - shares[top - 1], shares[top + 1] - shares[top]);
    if x <= 0.0 || y <= 0.0 {
        return Some(b);
    }
    let (left, right) = ((b - a) / x, (c - b) / y);
    let bend = (right - left) / (x + y);
    let lean = (left * y + right * x) / (x + y);
    Some(if bend < 0.0 { b - lean * lean / (4.0 * bend) } else { b })
}

/// Returns whether a part is a source of sound.
pub(super) fn sounds(harness: &Harness, index: usize) -> bool {
    matches!(harness.parts[index].kind, PartKind::Coil { .. } | PartKind::Piezo { .. })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{Change, built_in, load};
    use crate::source::Source;

    // The free end is joined to the coil by its own lead alone, and by nothing once that is broken (Kirchhoff's laws).
    #[test]
    fn a_free_end_is_read_through_its_conductor() {
        let (name, text) = built_in().iter().find(|(name, _)| *name == "two-humbuckers.ron").unwrap();
        let model = Model::new(load(&Source::new(*name, *text)).unwrap());
        let plain =
            Measurement::ohms("neck-pickup.hot", "neck-pickup.cold", Setting::reference(&model.harness));
        let row = model.row(&Measurement { lifted: Some("neck-lead".to_owned()), ..plain }).unwrap().unwrap();
        let (lead, second) = model.conductor("neck-lead").unwrap();
        assert!(second, "it comes off at the lug");
        let broken = model.hypotheses.states.iter().position(|state| state.change == Change::Open(lead));
        assert_eq!(row[broken.unwrap()].reads, None);
        let coil = model.values.ohms[model.harness.part("neck-pickup").unwrap().0];
        assert!((row[0].reads.unwrap() / coil - 1.0).abs() < 1e-3, "{:?} is not {coil}", row[0].reads);
    }
}
