//! What changes no reading in ohms, but one in another mode of the meter.

use super::Why;
use super::bits::Bits;
use crate::circuit::{Part, PartKind, TerminalId};
use crate::prediction::Model;
use crate::readings::{Measurement, Mode, Setting, Stand};
use crate::solver::SolverError;

/// A difference on the scale that any meter shows: a tenth of the reading.
const PLAIN: f64 = 0.1;

/// The states that change a capacitance, and those that change what the battery feeds.
pub struct Elsewhere {
    farads: Bits,
    supply: Bits,
}

impl Elsewhere {
    /// Works out the readings across every capacitor, piezo element, battery and preamp, and at the plug.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn new(model: &Model) -> Result<Self, SolverError> {
        Ok(Self {
            farads: changing(model, &capacitances(model))?,
            supply: changing(model, &supplies(model))?,
        })
    }

    /// Returns why no reading in ohms changes with a state; `None` when none of these readings does either.
    pub fn why(&self, state: usize) -> Option<Why> {
        let farads = self.farads.holds(state).then_some(Why::NoCurrent);
        farads.or(self.supply.holds(state).then_some(Why::Supply))
    }
}

/// Returns the states that some of the readings tell from a sound instrument.
fn changing(model: &Model, readings: &[Measurement]) -> Result<Bits, SolverError> {
    let size = model.hypotheses.states.len();
    let mut all = Bits::new(size);
    for measurement in readings {
        let Some(row) = model.row(measurement)? else { continue };
        let moved = |&state: &usize| (row[state].scaled() - row[0].scaled()).abs() > PLAIN;
        all.add(&Bits::of(size, (0..size).filter(moved)));
    }
    Ok(all)
}

fn capacitances(model: &Model) -> Vec<Measurement> {
    let holds = |part: &&Part| matches!(part.kind, PartKind::Capacitor { .. } | PartKind::Piezo { .. });
    let parts = model.harness.parts.iter().filter(holds);
    let across = parts.filter_map(|part| asked(model, Mode::Capacitance, &part.terminals));
    let plug = at_plug(model, Mode::Capacitance, ["tip", "sleeve"]);
    across.chain(plug).collect()
}

fn supplies(model: &Model) -> Vec<Measurement> {
    if !model.harness.has_battery() {
        return Vec::new();
    }
    let fed = |part: &&Part| matches!(part.kind, PartKind::Battery { .. } | PartKind::Preamp { .. });
    let lug = |part: &Part, lug: &str| model.harness.terminal(&format!("{}.{lug}", part.name));
    let across = |part: &Part| asked(model, Mode::Volts, &[lug(part, "plus")?, lug(part, "minus")?]);
    let three = |reading: Measurement| Measurement {
        setting: reading.setting.clone().with("plug", Stand::At("three-contact".to_owned())),
        ..reading
    };
    let parts = model.harness.parts.iter().filter(fed).filter_map(across);
    let plug = at_plug(model, Mode::Volts, ["tip", "sleeve"]);
    parts.chain(plug).chain(at_plug(model, Mode::Current, ["ring", "sleeve"]).map(three)).collect()
}

fn at_plug(model: &Model, mode: Mode, [red, black]: [&str; 2]) -> Option<Measurement> {
    let contact = |lug: &str| model.harness.terminal(&format!("plug.{lug}"));
    asked(model, mode, &[contact(red)?, contact(black)?])
}

/// Returns a reading with all knobs at 10 between two terminals that a probe can reach.
fn asked(model: &Model, mode: Mode, terminals: &[TerminalId]) -> Option<Measurement> {
    let &[red, black] = terminals else { return None };
    let [red, black] = [&model.harness[red], &model.harness[black]];
    let still = Measurement::ohms(&red.name, &black.name, Setting::reference(&model.harness));
    (red.probe && black.probe).then_some(Measurement { mode, ..still })
}
