//! What each state does to the sound, and how well that fits a complaint.

use super::model::Model;
use super::response::{BODY, Load, TREBLE};
use super::states::Behaviour;
use crate::circuit::ControlKind;
use crate::readings::{Setting, Stand, Symptom};
use crate::solver::{Positions, SolverError};
use crate::units::Hertz;

/// A conductor that is farther than this from the sleeve no longer screens, in ohms.
const GROUNDED_OHMS: f64 = 100.0;

/// What reaches the jack in one state, beside the healthy instrument, in each switch position.
#[derive(Clone, Debug, PartialEq)]
pub struct Audible {
    /// Level of the body of the sound in decibels, one for each combination of switch positions.
    pub body: Vec<f64>,
    /// Level of the treble in decibels.
    pub treble: Vec<f64>,
    /// Whether a surface that should be at ground is not, or the hot end hangs in the air.
    pub hums: bool,
}

impl Model {
    /// Returns every combination of switch positions, all knobs at 10.
    pub fn switch_settings(&self) -> Vec<Setting> {
        let mut all = vec![Setting::reference(&self.harness)];
        for control in &self.harness.controls {
            if let ControlKind::Selector(names) = &control.kind {
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

    /// Returns the voltage at the plug for one volt in every coil at once, under several states, into a usual load.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn level(&self, at: &Positions, hertz: f64, states: &[usize]) -> Result<Vec<f64>, SolverError> {
        let changes = states.iter().map(|&state| &self.hypotheses.states[state].change);
        self.sounding_at(at.clone(), Load::default()).volts(Hertz::new(hertz), changes)
    }

    /// Returns what every state does to the sound.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn audible(&self) -> Result<Vec<Audible>, SolverError> {
        let states: Vec<usize> = (0..self.hypotheses.states.len()).collect();
        let mut all: Vec<Audible> = self
            .hums()?
            .into_iter()
            .map(|hums| Audible { body: Vec::new(), treble: Vec::new(), hums })
            .collect();
        for setting in self.switch_settings() {
            let at = self.positions(&setting);
            let body = self.level(&at, BODY.get(), &states)?;
            let treble = self.level(&at, TREBLE.get(), &states)?;
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

    fn hums(&self) -> Result<Vec<bool>, SolverError> {
        let bench = self.bench(&Setting::reference(&self.harness))?;
        let Some((tip, sleeve)) = self.plug() else {
            return Ok(vec![false; self.hypotheses.states.len()]);
        };
        let (tip, sleeve) = (crate::circuit::NodeId(tip), crate::circuit::NodeId(sleeve));
        let surfaces: Vec<_> = (0..self.harness.terminals.len())
            .map(crate::circuit::TerminalId)
            .filter(|&terminal| self.harness[terminal].grounded_surface)
            .map(|terminal| self.network.lug(terminal))
            .collect();
        let far = |state, node| bench.ohms(state, node, sleeve).is_none_or(|ohms| ohms > GROUNDED_OHMS);
        let normal: Vec<bool> = surfaces.iter().map(|&node| far(0, node)).collect();
        Ok((0..self.hypotheses.states.len())
            .map(|state| {
                let lost = surfaces.iter().zip(&normal).any(|(&node, &normal)| !normal && far(state, node));
                lost || bench.ohms(state, tip, sleeve).is_none()
            })
            .collect())
    }

    /// Returns for every hypothesis how likely a complaint is under it.
    pub fn complaint_likelihood(&self, audible: &[Audible], symptom: Symptom) -> Vec<f64> {
        self.hypotheses
            .list
            .iter()
            .map(|hypothesis| {
                let audible = &audible[hypothesis.state];
                match hypothesis.behaviour {
                    Behaviour::Anything => 0.3,
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
    let silent = |&db: &f64| db < -26.0;
    let weak = |&db: &f64| (-26.0..-3.0).contains(&db);
    let dark: Vec<bool> = audible
        .body
        .iter()
        .zip(&audible.treble)
        .map(|(body, treble)| *body > -26.0 && treble - body < -6.0)
        .collect();
    match symptom {
        Symptom::Silent => {
            by_positions(audible.body.iter().all(silent), audible.body.iter().any(silent), 0.01)
        }
        Symptom::Weak => by_positions(audible.body.iter().all(weak), audible.body.iter().any(weak), 0.03)
            .max(if audible.body.iter().any(silent) { 0.15 } else { 0.0 }),
        Symptom::Muffled => by_positions(dark.iter().all(|&d| d), dark.iter().any(|&d| d), 0.02),
        Symptom::Hum => by_positions(audible.hums, false, 0.05),
        Symptom::Intermittent => 0.04,
    }
}

fn coming_and_going(audible: &Audible, symptom: Symptom) -> f64 {
    match symptom {
        Symptom::Intermittent => 0.9,
        Symptom::Weak if audible.body.iter().any(|db| *db < -3.0) => 0.3,
        other => (0.5 * steady(audible, other)).max(0.01),
    }
}

fn elsewhere(symptom: Symptom) -> f64 {
    match symptom {
        Symptom::Silent | Symptom::Hum | Symptom::Intermittent => 0.4,
        Symptom::Weak => 0.3,
        Symptom::Muffled => 0.1,
    }
}
