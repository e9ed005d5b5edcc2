//! What each state does to the sound, and how well that fits a complaint.

use std::f64::consts::TAU;

use nalgebra::Complex;

use super::circuits::{At, Circuits};
use super::model::Model;
use super::response::{BODY, Load, TREBLE};
use super::states::Behaviour;
use super::together::together;
use crate::circuit::{Change, ControlKind, ElementId, NodeId, PartId, PartKind, What};
use crate::readings::{Setting, Stand, Symptom};
use crate::solver::{Positions, Shunt, SolverError};
use crate::units::Hertz;

/// What is below this is not heard, in decibels beside healthy; below the second it is weak; treble that is so far
/// below the body is dark (common practice, no source).
pub(super) const SILENT_DB: f64 = -26.0;
pub(super) const WEAK_DB: f64 = -3.0;
pub(super) const DARK_DB: f64 = -6.0;
/// A switch position whose healthy level is lower silences the instrument on purpose, in volts for one volt in each coil.
const MEANT_TO_SOUND: f64 = 1e-3;
/// At this current a battery of half an ampere-hour is empty in seven months; half of those whose battery drains so fast
/// complain of it (common practice, no source).
const DRAINING_AMPS: f64 = 100e-6;
/// Volts at the plug that thump when a contact moves (common practice, no source).
const THUMP_VOLTS: f64 = 0.05;
/// A conductor that is farther than this from the sleeve no longer screens, in ohms.
const GROUNDED_OHMS: f64 = 100.0;

/// What reaches the jack in one state, beside the healthy instrument, in each switch position that is meant to sound.
#[derive(Clone, Debug, PartialEq)]
pub struct Audible {
    /// Level of the body of the sound in decibels, one for each combination of switch positions.
    pub body: Vec<f64>,
    /// Level of the treble in decibels.
    pub treble: Vec<f64>,
    /// Whether a surface that should be at ground is not, or the hot end hangs in the air.
    pub hums: bool,
    /// How many amperes more than healthy leave the battery on average.
    pub drains: f64,
    /// The volts at the plug that are not there in a healthy instrument, the battery in its clip.
    pub rests: f64,
}

impl Model {
    /// Returns every combination of switch positions, all knobs at 10.
    pub fn switch_settings(&self) -> Vec<Setting> {
        let mut all = vec![Setting::reference(&self.harness)];
        for control in &self.harness.controls {
            let plug = self.harness[control.part].kind == PartKind::Plug;
            if let (ControlKind::Selector(names), false) = (&control.kind, plug) {
                all = all
                    .iter()
                    .flat_map(|setting| {
                        names.iter().map(|name| setting.clone().with(&control.name, Stand::At(name.clone())))
                    })
                    .collect();
            }
        }
        all
    }

    /// Returns the voltage at the plug for one volt in every source, all sensing the same strings, under some states.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn level(&self, at: &Positions, hertz: f64, states: &[usize]) -> Result<Vec<f64>, SolverError> {
        Ok(self.sources_heard(at, hertz, states)?.iter().map(|of| together(Hertz::new(hertz), of)).collect())
    }

    /// Returns the voltage at the plug for one volt in each source by itself, for each of some states.
    pub(super) fn sources_heard(
        &self,
        positions: &Positions,
        hertz: f64,
        states: &[usize],
    ) -> Result<Vec<Vec<Complex<f64>>>, SolverError> {
        let sources = self.sources();
        let Some((tip, sleeve)) = self.plug() else {
            return Ok(vec![vec![Complex::ZERO; sources.len()]; states.len()]);
        };
        let omega = TAU * hertz;
        let Load { cable, input } = Load::default();
        let y = Complex::new(1.0 / input.get(), omega * cable.get());
        let load = [Shunt { a: tip, b: sleeve, y }];
        let at = At { positions, values: &self.values, omega, load: &load };
        let circuits = Circuits::solve(self, self.networks(), &at)?;
        let (tip, sleeve) = (NodeId(tip), NodeId(sleeve));
        let supply = self.supply_lost(positions)?;
        let heard = |&state: &usize| {
            let (solved, change) = circuits.of(self, state);
            let dead = supply.as_ref().filter(|supply| supply.dead[state]);
            let silenced = dead.map(|supply| Change::Open(supply.output));
            let change = silenced.as_ref().unwrap_or(change);
            sources.iter().map(|&source| solved.transfer(source, tip, sleeve, change)).collect()
        };
        Ok(states.iter().map(heard).collect())
    }

    /// Returns what every state does to the sound.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn audible(&self) -> Result<Vec<Audible>, SolverError> {
        let states: Vec<usize> = (0..self.hypotheses.states.len()).collect();
        let direct = self.drains()?.into_iter().zip(self.resting(self.plug())?);
        let mut all: Vec<Audible> = self
            .hums()?
            .into_iter()
            .zip(direct)
            .map(|(hums, (drains, rests))| Audible {
                body: Vec::new(),
                treble: Vec::new(),
                hums,
                drains,
                rests,
            })
            .collect();
        for setting in self.switch_settings() {
            let at = self.positions(&setting);
            let body = self.level(&at, BODY.get(), &states)?;
            let treble = self.level(&at, TREBLE.get(), &states)?;
            if body[0] < MEANT_TO_SOUND {
                continue;
            }
            for (state, audible) in all.iter_mut().enumerate() {
                audible.body.push(decibels(body[state], body[0]));
                audible.treble.push(decibels(treble[state], treble[0]));
            }
        }
        Ok(all)
    }

    fn plug(&self) -> Option<(usize, usize)> {
        let node = |name: &str| self.harness.terminal(name).map(|terminal| self.network.lug(terminal).0);
        Some((node("plug.tip")?, node("plug.sleeve")?))
    }

    /// Returns the elements that sound: coils and piezo elements.
    pub(super) fn sources(&self) -> Vec<ElementId> {
        (0..self.harness.parts.len())
            .flat_map(|index| [What::Coil(PartId(index)), What::Piezo(PartId(index))])
            .filter_map(|what| self.network.find(&what))
            .collect()
    }

    fn hums(&self) -> Result<Vec<bool>, SolverError> {
        let bench = self.bench(&Setting::reference(&self.harness))?;
        let Some((tip, sleeve)) = self.plug() else {
            return Ok(vec![false; self.hypotheses.states.len()]);
        };
        let (tip, sleeve) = (NodeId(tip), NodeId(sleeve));
        let surfaces: Vec<_> = (0..self.harness.terminals.len())
            .map(crate::circuit::TerminalId)
            .filter(|&terminal| self.harness[terminal].grounded_surface)
            .map(|terminal| self.network.lug(terminal))
            .collect();
        let far = |state, node| bench.ohms(state, node, sleeve).is_none_or(|ohms| ohms > GROUNDED_OHMS);
        let normal: Vec<bool> = surfaces.iter().map(|&node| far(0, node)).collect();
        let hangs = |state| bench.ohms(state, tip, sleeve).is_none();
        let usual = hangs(0);
        Ok((0..self.hypotheses.states.len())
            .map(|state| {
                let lost = surfaces.iter().zip(&normal).any(|(&node, &normal)| !normal && far(state, node));
                lost || (!usual && hangs(state))
            })
            .collect())
    }

    /// Returns for every hypothesis how likely a complaint is under it.
    pub fn complaint_likelihood(&self, audible: &[Audible], symptom: Symptom) -> Vec<f64> {
        let of_battery = symptom == Symptom::BatteryDrains;
        if of_battery && !self.harness.has_battery() {
            return vec![0.02; self.hypotheses.list.len()];
        }
        self.hypotheses
            .list
            .iter()
            .map(|hypothesis| {
                let audible = &audible[hypothesis.state];
                let change = &self.hypotheses.states[hypothesis.state].change;
                match hypothesis.behaviour {
                    Behaviour::Anything => 0.3,
                    Behaviour::Steady if of_battery && matches!(change, Change::Drive(..)) => 0.2,
                    Behaviour::ComesAndGoes { .. } => coming_and_going(audible, symptom),
                    Behaviour::Steady if self.outside_the_instrument(hypothesis.faults[0].0) => {
                        elsewhere(symptom)
                    }
                    Behaviour::Steady => steady(audible, symptom),
                }
            })
            .collect()
    }

    fn outside_the_instrument(&self, fault: crate::faults::FaultId) -> bool {
        self.catalogue[fault].kind == crate::faults::Kind::NothingWrong
    }
}

fn decibels(level: f64, healthy: f64) -> f64 {
    (20.0 * (level.max(1e-12) / healthy.max(1e-12)).log10()).max(-120.0)
}

/// How people describe what they hear is common practice without a source: these are shares of customers
/// who would use the word when the circuit says that it is so in all, in some or in no switch positions.
fn by_positions(all: bool, some: bool, when_not: f64) -> f64 {
    if all {
        0.9
    } else if some {
        0.45
    } else {
        when_not
    }
}

fn steady(audible: &Audible, symptom: Symptom) -> f64 {
    let silent = |&db: &f64| db < SILENT_DB;
    let weak = |&db: &f64| (SILENT_DB..WEAK_DB).contains(&db);
    let dark: Vec<bool> = audible
        .body
        .iter()
        .zip(&audible.treble)
        .map(|(body, treble)| *body > SILENT_DB && treble - body < DARK_DB)
        .collect();
    match symptom {
        Symptom::Silent => {
            by_positions(audible.body.iter().all(silent), audible.body.iter().any(silent), 0.01)
        }
        Symptom::Weak => by_positions(audible.body.iter().all(weak), audible.body.iter().any(weak), 0.03)
            .max(if audible.body.iter().any(silent) { 0.15 } else { 0.0 }),
        Symptom::Muffled => by_positions(dark.iter().all(|&d| d), dark.iter().any(|&d| d), 0.02),
        Symptom::Hum => by_positions(audible.hums, false, 0.05),
        // A hand that touches metal without ground, or a hot end that hangs, changes a loud buzz; that the strings calm
        // what little there is holds for every sound guitar.
        Symptom::BuzzOnTouch => by_positions(audible.hums, false, 0.1),
        Symptom::BatteryDrains => 0.02 + 0.88 * audible.drains / (audible.drains + DRAINING_AMPS),
        Symptom::Pops if audible.rests > THUMP_VOLTS => 0.7,
        Symptom::Pops if audible.hums => 0.4,
        _ => 0.04,
    }
}

fn coming_and_going(audible: &Audible, symptom: Symptom) -> f64 {
    match symptom {
        Symptom::Intermittent => 0.9,
        Symptom::Pops => 0.5,
        Symptom::Weak if audible.body.iter().any(|db| *db < -3.0) => 0.3,
        other => (0.5 * steady(audible, other)).max(0.01),
    }
}

fn elsewhere(symptom: Symptom) -> f64 {
    match symptom {
        Symptom::Silent | Symptom::Hum | Symptom::Intermittent | Symptom::BuzzOnTouch => 0.4,
        Symptom::Weak | Symptom::BatteryDrains | Symptom::Pops => 0.3,
        _ => 0.1,
    }
}
