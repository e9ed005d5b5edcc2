//! How likely a person hears, sees or feels something under every hypothesis: the same circuit as the meter's.

use std::collections::BTreeMap;

use nalgebra::Complex;

use super::audible::{Audible, DARK_DB, SILENT_DB, WEAK_DB};
use super::flexing::shows;
use super::model::Model;
use super::modes::sounds;
use super::response::{BODY, TREBLE};
use super::states::{Behaviour, Hypothesis};
use super::together::together;
use crate::circuit::{Change, ElementId, PartId, What};
use crate::faults::Kind;
use crate::readings::{Check, Measurement, Setting, Stand};
use crate::solver::SolverError;

/// Treble that stands out so far is heard as bright, in decibels.
const BRIGHT_DB: f64 = 3.0;
/// Bass that is missing so far is heard as thin, in decibels.
const THIN_DB: f64 = -6.0;
/// A volume knob that leaves more than this does not close, in decibels.
const CLOSED_DB: f64 = -40.0;
/// A tone knob that moves the treble by less does nothing, in decibels.
const ACTS_DB: f64 = 4.0;
/// How blurred the edge between heard and not heard is, in decibels.
const BLUR_DB: f64 = 1.5;
/// A tapped pickup that is so far below its healthy self is not heard, in decibels.
const TAP_DB: f64 = -20.0;
/// The strings calm the buzz when they are no farther from the sleeve than this, in ohms.
const CALM_OHMS: f64 = 100.0;
/// How often a fault that comes and goes seems to be cured by the cable that was moved meanwhile, and how often
/// any other does (common practice, no source).
const SEEMS_CURED: (f64, f64) = (0.15, 0.06);
/// How often a control that touches badly is heard when it is moved (common practice, no source).
const HEARD_WHEN_DIRTY: f64 = 0.7;

/// The levels of a setting under every state, in decibels beside the healthy instrument at its loudest.
struct Levels {
    body: Vec<f64>,
    treble: Vec<f64>,
}

/// What every source brings to the plug, for each state: body, then treble.
type Heard = [Vec<Vec<Complex<f64>>>; 2];

/// Listens to a model; what was worked out once for a setting is kept.
pub struct Ear<'a> {
    model: &'a Model,
    audible: &'a [Audible],
    known: BTreeMap<Setting, Heard>,
}

impl<'a> Ear<'a> {
    /// Starts to listen.
    pub fn new(model: &'a Model, audible: &'a [Audible]) -> Self {
        Self { model, audible, known: BTreeMap::new() }
    }

    /// Returns the chance of the answer yes to an observation under every hypothesis.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn chances(&mut self, check: Check, measurement: &Measurement) -> Result<Vec<f64>, SolverError> {
        let truth = self.truth(check, measurement)?;
        let reliability = check.reliability();
        let said = |yes: f64| reliability * yes + (1.0 - reliability) * (1.0 - yes);
        let about = measurement.about.as_deref();
        let list = &self.model.hypotheses.list;
        Ok(list.iter().map(|h| said(self.model.yes(h, check, about, &truth))).collect())
    }

    fn truth(&mut self, check: Check, measurement: &Measurement) -> Result<Vec<f64>, SolverError> {
        let setting = &measurement.setting;
        let about = measurement.about.as_deref().unwrap_or_default();
        let hums = self.audible.iter().map(|audible| audible.hums);
        Ok(match check {
            Check::OtherCable => vec![0.0; self.audible.len()],
            Check::Hums => hums.map(f64::from).collect(),
            Check::PlugCalms => hums.map(|hums| if hums { 0.9 } else { 0.5 }).collect(),
            Check::StringsCalm => self.model.calm()?,
            Check::Tap => self.tapped(setting, about)?,
            Check::Closes => self.closes(setting, about)?,
            Check::ToneActs => self.acts(setting, about)?,
            _ => heard_as(check, &self.levels(setting)?),
        })
    }

    fn heard(&mut self, setting: &Setting) -> Result<&Heard, SolverError> {
        if !self.known.contains_key(setting) {
            let states: Vec<usize> = (0..self.model.hypotheses.states.len()).collect();
            let at = self.model.positions(setting);
            let at_hertz = |hertz| self.model.sources_heard(&at, hertz, &states);
            let heard = [at_hertz(BODY.get())?, at_hertz(TREBLE.get())?];
            self.known.insert(setting.clone(), heard);
        }
        Ok(&self.known[setting])
    }

    /// Returns the loudest healthy level over the switch positions of what `level` makes of the sources.
    fn loudest(&mut self, level: impl Fn(&[Complex<f64>]) -> f64) -> Result<f64, SolverError> {
        let mut loudest: f64 = 0.0;
        for setting in self.model.switch_settings() {
            loudest = loudest.max(level(&self.heard(&setting)?[0][0]));
        }
        Ok(loudest)
    }

    /// Returns the levels at a setting beside the loudest healthy position.
    fn levels(&mut self, setting: &Setting) -> Result<Levels, SolverError> {
        let loudest = self.loudest(|of| together(BODY, of))?;
        let beside = |hertz, heard: &[Vec<Complex<f64>>]| {
            heard.iter().map(|of| decibels(together(hertz, of), loudest)).collect()
        };
        let [body, treble] = self.heard(setting)?;
        Ok(Levels { body: beside(BODY, body), treble: beside(TREBLE, treble) })
    }

    fn closes(&mut self, setting: &Setting, knob: &str) -> Result<Vec<f64>, SolverError> {
        let closed = self.levels(&setting.clone().with(knob, Stand::Knob(0)))?;
        Ok(closed.body.iter().map(|&level| over(CLOSED_DB, level)).collect())
    }

    fn acts(&mut self, setting: &Setting, knob: &str) -> Result<Vec<f64>, SolverError> {
        let open = self.levels(&setting.clone().with(knob, Stand::Knob(10)))?;
        let shut = self.levels(&setting.clone().with(knob, Stand::Knob(0)))?;
        let moved = open.treble.iter().zip(&shut.treble).map(|(open, shut)| open - shut);
        Ok(moved.map(|moved| over(moved, ACTS_DB)).collect())
    }

    fn tapped(&mut self, setting: &Setting, pickup: &str) -> Result<Vec<f64>, SolverError> {
        let source = self.model.source(pickup);
        let slot = self.model.sources().iter().position(|known| Some(*known) == source).unwrap_or(0);
        let level = |of: &[Complex<f64>]| of.get(slot).map_or(0.0, |volts| volts.norm());
        let loudest = self.loudest(level)?;
        Ok(self.heard(setting)?[0].iter().map(|of| over(decibels(level(of), loudest), TAP_DB)).collect())
    }
}

impl Model {
    /// Returns the chance that yes is true under a hypothesis; `truth` is that under every state.
    fn yes(&self, hypothesis: &Hypothesis, check: Check, about: Option<&str>, truth: &[f64]) -> f64 {
        let outside = hypothesis.faults.iter().any(|(f, _)| self.catalogue[*f].kind == Kind::NothingWrong);
        match (check, &hypothesis.behaviour) {
            (_, Behaviour::Anything) => 0.5,
            (Check::OtherCable, _) if outside => 1.0,
            (Check::OtherCable, Behaviour::ComesAndGoes { .. }) => SEEMS_CURED.0,
            (Check::OtherCable, Behaviour::Steady) => SEEMS_CURED.1,
            (Check::Crackles, Behaviour::Steady) => self.dirty(hypothesis, about),
            (Check::Crackles, behaviour) => {
                shows(&self.harness, behaviour, self.part_of(about)) * truth[hypothesis.state]
            }
            (_, Behaviour::Steady) => truth[hypothesis.state],
            (_, behaviour) => {
                let shown = shows(&self.harness, behaviour, None);
                (1.0 - shown) * truth[0] + shown * truth[hypothesis.state]
            }
        }
    }

    fn source(&self, name: &str) -> Option<ElementId> {
        let part = self.harness.part(name).filter(|part| sounds(&self.harness, part.0))?;
        self.network.find(&What::Coil(part)).or_else(|| self.network.find(&What::Piezo(part)))
    }

    /// Returns whether the strings are at ground under every state.
    fn calm(&self) -> Result<Vec<f64>, SolverError> {
        let bench = self.bench(&Setting::reference(&self.harness))?;
        let node = |name: &str| self.harness.terminal(name).map(|terminal| self.network.lug(terminal));
        let (Some(strings), Some(sleeve)) = (node("strings.surface"), node("plug.sleeve")) else {
            return Ok(vec![0.5; self.hypotheses.states.len()]);
        };
        let near = |state| bench.ohms(state, strings, sleeve).is_some_and(|ohms| ohms < CALM_OHMS);
        Ok((0..self.hypotheses.states.len()).map(|state| f64::from(near(state))).collect())
    }

    /// Returns how likely a control crackles that touches badly all the time.
    fn dirty(&self, hypothesis: &Hypothesis, about: Option<&str>) -> f64 {
        let control = about.and_then(|name| self.harness.control(name)).map(|control| control.part);
        let state = &self.hypotheses.states[hypothesis.state];
        let badly = match &state.change {
            Change::Series(element, _) => match &self.network.elements[element.0].what {
                What::Wiper(part) | What::Contact(part, _) => Some(*part) == control,
                _ => false,
            },
            _ => false,
        };
        if badly { HEARD_WHEN_DIRTY } else { 0.0 }
    }

    fn part_of(&self, control: Option<&str>) -> Option<&str> {
        let part: PartId = self.harness.control(control?)?.part;
        Some(&self.harness[part].name)
    }
}

fn heard_as(check: Check, levels: &Levels) -> Vec<f64> {
    let (body, treble) = (&levels.body, &levels.treble);
    let lost = |state: usize| body[state] - body[0];
    let tilt = |state: usize| (treble[state] - treble[0]) - lost(state);
    let there = |state: usize| over(body[state], SILENT_DB);
    let judge = |state: usize| match check {
        Check::Weak => over(WEAK_DB, lost(state)) * there(state),
        Check::Dark => over(DARK_DB, tilt(state)) * there(state),
        Check::Bright => over(tilt(state), BRIGHT_DB) * there(state),
        Check::Thin => {
            over(THIN_DB, lost(state)) * over(tilt(state), BRIGHT_DB) * over(treble[state], SILENT_DB)
        }
        Check::Crackles => {
            if (treble[state] - treble[0]).abs() > 1.0 {
                1.0
            } else {
                0.2
            }
        }
        _ => there(state),
    };
    (0..body.len()).map(judge).collect()
}

/// Returns how sure it is that a level is over a threshold, with a blurred edge.
fn over(level: f64, threshold: f64) -> f64 {
    1.0 / (1.0 + ((threshold - level) / BLUR_DB).exp())
}

fn decibels(level: f64, beside: f64) -> f64 {
    (20.0 * (level.max(1e-12) / beside.max(1e-12)).log10()).max(-120.0)
}
