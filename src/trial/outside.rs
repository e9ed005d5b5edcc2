//! Faults that the catalogue does not hold: a stray path or two exchanged joints somewhere.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use super::TrialError;
use crate::circuit::{Change, Fixing, NodeId, TerminalId};
use crate::prediction::{Candidate, Hypotheses, Model, State};
use crate::readings::{Measurement, Mode, Setting};
use crate::solver::SolverError;
use crate::workbench::Engine;

/// Two readings differ when they lie this far apart on the scale of readings: about a fifth.
const DIFFERS: f64 = 0.2;
/// A stray path has between the first and the second of these in ohms, evenly on a logarithmic scale.
const STRAY: (f64, f64) = (0.1, 1e5);
/// So many are drawn before it is given up.
const TRIES: usize = 500;

/// Draws faults that the catalogue does not hold.
pub(super) struct Outsider<'e> {
    engine: &'e Engine,
    settings: Vec<(Setting, Vec<&'e Candidate>)>,
    terminals: Vec<TerminalId>,
    wired: Vec<TerminalId>,
}

impl<'e> Outsider<'e> {
    pub fn new(engine: &'e Engine) -> Self {
        let harness = engine.harness();
        let ends = harness.links.iter().flat_map(|link| [link.from, link.to]);
        let soldered = ends.filter(|end| end.fixing == Fixing::Solder).map(|end| end.terminal);
        let mut wired: Vec<TerminalId> = soldered.collect();
        wired.sort();
        wired.dedup();
        let terminals = (0..harness.terminals.len()).map(TerminalId).collect();
        Self { engine, settings: by_setting(engine), terminals, wired }
    }

    /// Draws a change that the catalogue does not hold, and that reads like nothing in it.
    pub fn draw(&self, seed: u64) -> Result<Change, TrialError> {
        let mut rng = StdRng::seed_from_u64(seed ^ 0x0D2A);
        for _ in 0..TRIES {
            let change = self.any(&mut rng);
            if !self.holds(&change) && self.reads_like_nothing(&change)? {
                return Ok(change);
            }
        }
        Err(TrialError::Outside { wiring: self.engine.harness().name.clone(), tries: TRIES })
    }

    fn any(&self, rng: &mut StdRng) -> Change {
        if rng.random_bool(0.5) {
            let (one, other) = two(rng, &self.terminals);
            let [a, b] = [one, other].map(|terminal| self.engine.model.network.lug(terminal));
            let ohms = rng.random_range(STRAY.0.ln()..STRAY.1.ln()).exp();
            Change::Bridge(a, b, ohms)
        } else {
            let (one, other) = two(rng, &self.wired);
            Change::Exchange(one, other)
        }
    }

    /// Returns whether a fault of the catalogue is in the same place, whatever its size.
    fn holds(&self, change: &Change) -> bool {
        self.engine.model.hypotheses.states.iter().any(|state| same_place(&state.change, change))
    }

    /// Returns whether a change is seen at all, and is told by some reading from every state of the catalogue.
    fn reads_like_nothing(&self, change: &Change) -> Result<bool, SolverError> {
        let model = &self.engine.model;
        let own = alone(model, change);
        let mut open: Vec<usize> = (0..model.hypotheses.states.len()).collect();
        for (setting, candidates) in &self.settings {
            let bench = own.bench(setting)?;
            for candidate in candidates {
                let Some((red, black)) = model.probes(&candidate.measurement) else { continue };
                let cell = bench.cell(1, red, black);
                let row = &self.engine.candidates.rows[candidate.row];
                open.retain(|&state| (row[state].scaled() - cell.scaled()).abs() < DIFFERS);
            }
        }
        Ok(open.is_empty())
    }
}

/// Returns the still readings in ohms, gathered by setting.
fn by_setting(engine: &Engine) -> Vec<(Setting, Vec<&Candidate>)> {
    let mut all: Vec<(Setting, Vec<&Candidate>)> = Vec::new();
    for candidate in engine.candidates.list.iter().filter(|c| plain(&c.measurement)) {
        let setting = &candidate.measurement.setting;
        match all.iter_mut().find(|(known, _)| known == setting) {
            Some((_, list)) => list.push(candidate),
            None => all.push((setting.clone(), vec![candidate])),
        }
    }
    all
}

fn plain(measurement: &Measurement) -> bool {
    measurement.mode == Mode::Resistance && measurement.flex.is_none() && measurement.lifted.is_none()
}

/// Returns a model whose state 1 is this change alone.
fn alone(model: &Model, change: &Change) -> Model {
    let state = |change: &Change| State { change: change.clone(), spread: 0.0 };
    let states = vec![state(&Change::Nothing), state(change)];
    model.instrument(model.values.clone(), Hypotheses { states, list: Vec::new() })
}

fn two(rng: &mut StdRng, all: &[TerminalId]) -> (TerminalId, TerminalId) {
    let first = rng.random_range(0..all.len());
    let step = rng.random_range(1..all.len().max(2));
    (all[first], all[(first + step) % all.len()])
}

/// Returns whether two changes are the same but for their size.
fn same_place(one: &Change, other: &Change) -> bool {
    match (one, other) {
        (Change::Bridge(a, b, _), Change::Bridge(c, d, _)) => same_ends::<NodeId>((*a, *b), (*c, *d)),
        (Change::Exchange(a, b), Change::Exchange(c, d)) => same_ends((*a, *b), (*c, *d)),
        _ => one == other,
    }
}

fn same_ends<T: PartialEq>((a, b): (T, T), (c, d): (T, T)) -> bool {
    (a == c && b == d) || (a == d && b == c)
}

#[cfg(test)]
mod tests {
    use super::*;

    // The definition: where it is decides, not how large it is, nor which end is named first.
    #[test]
    fn the_same_place_has_the_same_ends() {
        let bridge = |a, b, ohms| Change::Bridge(NodeId(a), NodeId(b), ohms);
        assert!(same_place(&bridge(1, 2, 5.0), &bridge(2, 1, 900.0)));
        assert!(!same_place(&bridge(1, 2, 5.0), &bridge(1, 3, 5.0)));
        let exchange = |a, b| Change::Exchange(TerminalId(a), TerminalId(b));
        assert!(same_place(&exchange(4, 7), &exchange(7, 4)));
        assert!(!same_place(&exchange(4, 7), &bridge(4, 7, 1.0)));
    }
}
