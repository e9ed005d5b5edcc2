//! What reaches the end of the cable at every frequency: any setting, any change, any cable and amplifier.

use std::f64::consts::TAU;
use std::sync::Arc;

use nalgebra::Complex;

use super::model::Model;
use super::together::together;
use crate::circuit::{Change, ElementId, Network, NodeId, What};
use crate::readings::Setting;
use crate::solver::{Hanging, Positions, Solved, SolverError, Tuned, Values};
use crate::units::{Farads, Hertz, Ohms};

/// Where the body of the sound is judged.
pub const BODY: Hertz = Hertz::new(250.0);
/// Where the treble is judged.
pub const TREBLE: Hertz = Hertz::new(3000.0);
/// What is told of a level so low that nothing is heard, in decibels.
pub const SILENCE: f64 = -120.0;

/// The preferred numbers of one decade in twenty steps (ISO 3, series R20; from memory).
const DECADE: [f64; 20] =
    [1.0, 1.12, 1.25, 1.4, 1.6, 1.8, 2.0, 2.24, 2.5, 2.8, 3.15, 3.55, 4.0, 4.5, 5.0, 5.6, 6.3, 7.1, 8.0, 9.0];
/// The lowest string of a bass, and where amplifiers and ears give up, in hertz.
const LOWEST: f64 = 40.0;
const HIGHEST: f64 = 15_000.0;
/// A peak stands out from both ends of the curve by this much, in decibels; less is a ripple.
const PEAK: f64 = 0.2;

/// What the instrument plays into: a cable and the input behind it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Capacitance of the cable.
    pub cable: Farads,
    /// Resistance of the amplifier's input.
    pub input: Ohms,
}

/// A cable of usual length and the input of an amplifier (common practice, no source).
impl Default for Load {
    fn default() -> Self {
        Self { cable: Farads::new(500e-12), input: Ohms::new(1e6) }
    }
}

/// The level at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// The frequency.
    pub hertz: Hertz,
    /// The level in decibels beside one volt in every coil that sounds; never less than [`SILENCE`].
    pub decibels: f64,
}

/// What reaches the end of the cable at every frequency.
#[derive(Clone, Debug, PartialEq)]
pub struct Response {
    /// The level at each frequency asked for, in rising order.
    pub points: Vec<Point>,
    /// The resonant peak; `None` when the curve has none that stands out.
    pub peak: Option<Point>,
    /// The level of the body of the sound, in decibels.
    pub body: f64,
    /// The level of the treble, in decibels.
    pub treble: f64,
}

/// How one response differs from another, in decibels; negative is quieter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// In the body of the sound.
    pub level: f64,
    /// In the treble.
    pub treble: f64,
}

impl Response {
    /// Returns how this response differs from a healthy one.
    pub fn beside(&self, healthy: &Self) -> Difference {
        Difference { level: self.body - healthy.body, treble: self.treble - healthy.treble }
    }

    /// Returns whether nothing can be heard: the loudest of all frequencies is this far below one volt.
    pub fn silent(&self) -> bool {
        self.points.iter().all(|point| point.decibels < -60.0)
    }
}

/// Returns the frequencies of a curve, 40 Hz to 15 kHz, evenly spaced on a logarithmic scale.
pub fn grid() -> Vec<Hertz> {
    let all = [10.0, 100.0, 1e3, 1e4].into_iter().flat_map(|decade| DECADE.map(|step| step * decade));
    let within = all.filter(|hertz| (LOWEST..HIGHEST).contains(hertz));
    within.chain([HIGHEST]).map(Hertz::new).collect()
}

/// One instrument at one stand of its controls, played into a load.
#[derive(Clone)]
pub struct Sounding<'m> {
    pub(super) model: &'m Model,
    pub(super) values: Values,
    at: Positions,
    load: Load,
    coils: Vec<ElementId>,
    ends: Option<(NodeId, NodeId)>,
}

impl Model {
    /// Returns the instrument at a setting, every coil sounding at once, played into a load.
    pub fn sounding(&self, setting: &Setting, load: Load) -> Sounding<'_> {
        self.sounding_at(self.positions(setting), load)
    }

    /// Returns the instrument with its controls anywhere, also between the numbers of the dials.
    pub fn sounding_at(&self, at: Positions, load: Load) -> Sounding<'_> {
        let node = |name: &str| self.harness.terminal(name).map(|terminal| self.network.lug(terminal));
        let ends = node("plug.tip").zip(node("plug.sleeve"));
        Sounding { model: self, values: self.values.clone(), at, load, coils: self.sources(), ends }
    }
}

impl Sounding<'_> {
    /// Returns the elements that sound.
    pub fn sources(&self) -> &[ElementId] {
        &self.coils
    }

    /// Leaves only these coils sounding; those of other names stay silent.
    pub fn only(mut self, parts: &[String]) -> Self {
        let harness = &self.model.harness;
        let wanted = |element: &ElementId| match self.model.network.elements[element.0].what {
            What::Coil(part) | What::Piezo(part) => parts.contains(&harness[part].name),
            _ => false,
        };
        self.coils.retain(wanted);
        self
    }

    /// Returns the volts at the cable's end for one volt in every coil, all sensing the same strings, under each of
    /// several changes.
    ///
    /// One solution serves all changes: the way for many changes at few frequencies.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn volts<'c>(
        &self,
        hertz: Hertz,
        changes: impl IntoIterator<Item = &'c Change>,
    ) -> Result<Vec<f64>, SolverError> {
        let Some((tip, sleeve)) = self.ends else {
            return Ok(changes.into_iter().map(|_| 0.0).collect());
        };
        let omega = TAU * hertz.get();
        let load = [self.hanging(tip, sleeve).at(omega)];
        let (harness, values) = (&self.model.harness, &self.values);
        let solve = |network: &Arc<Network>| Solved::new(harness, network, values, &self.at, omega, &load);
        let heard = |solved: &Solved<Complex<f64>>, change: &Change| {
            let volts: Vec<_> = self.coils.iter().map(|&c| solved.transfer(c, tip, sleeve, change)).collect();
            together(hertz, &volts)
        };
        let plain = solve(&self.model.network)?;
        changes
            .into_iter()
            .map(|change| match self.rewired(change) {
                Some(network) => Ok(heard(&solve(&network)?, change)),
                None => Ok(heard(&plain, change)),
            })
            .collect()
    }

    /// Returns a curve for each of several changes, ready for any frequency.
    ///
    /// One inversion serves all frequencies, and all changes but those that make another network.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn curves(&self, changes: &[&Change]) -> Result<Vec<Curve<'_>>, SolverError> {
        let plain = self.tuned(&self.model.network)?;
        let curve = |change: &&Change| {
            let change = self.silenced(change)?;
            let tuned = match self.rewired(&change) {
                Some(network) => self.tuned(&network)?,
                None => plain.clone(),
            };
            Ok(Curve { sounding: self, tuned, change })
        };
        changes.iter().map(curve).collect()
    }

    /// Returns the other network that a change makes; most change only what is there.
    fn rewired(&self, change: &Change) -> Option<Arc<Network>> {
        self.model.network.rewired(change).map(Arc::new)
    }

    /// Returns what is heard of a change: the change itself or, where it leaves the preamp without its supply, the
    /// preamp's output open.
    fn silenced(&self, change: &Change) -> Result<Change, SolverError> {
        let state = self.model.hypotheses.states.iter().position(|state| state.change == *change);
        let supply = self.model.supply_lost(&self.at)?;
        let dead = supply.zip(state).filter(|(supply, state)| supply.dead[*state]);
        Ok(dead.map_or_else(|| change.clone(), |(supply, _)| Change::Open(supply.output)))
    }

    fn tuned(&self, network: &Arc<Network>) -> Result<Option<Arc<Tuned<'_>>>, SolverError> {
        let (harness, values, at) = (&self.model.harness, &self.values, &self.at);
        let tune = |(tip, sleeve)| Tuned::new(harness, network, values, at, self.hanging(tip, sleeve));
        Ok(self.ends.map(tune).transpose()?.map(Arc::new))
    }

    fn hanging(&self, tip: NodeId, sleeve: NodeId) -> Hanging {
        let siemens = 1.0 / self.load.input.get();
        Hanging { a: tip, b: sleeve, siemens, farads: self.load.cable.get() }
    }
}

/// What reaches the cable's end under one change, ready for any frequency.
pub struct Curve<'s> {
    sounding: &'s Sounding<'s>,
    tuned: Option<Arc<Tuned<'s>>>,
    change: Change,
}

impl Curve<'_> {
    /// Returns the response at these frequencies, in rising order, with its peak.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn response(&self, hertz: &[Hertz]) -> Result<Response, SolverError> {
        let points = self.points(hertz)?;
        let peak = if hertz == grid() { self.peak(&points)? } else { self.resonance()? };
        let (body, treble) = (self.point(BODY)?.decibels, self.point(TREBLE)?.decibels);
        Ok(Response { points, peak, body, treble })
    }

    /// Returns the level at each of these frequencies.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub fn points(&self, hertz: &[Hertz]) -> Result<Vec<Point>, SolverError> {
        hertz.iter().map(|&hertz| self.point(hertz)).collect()
    }

    fn point(&self, hertz: Hertz) -> Result<Point, SolverError> {
        let Some((tuned, (tip, sleeve))) = self.tuned.as_ref().zip(self.sounding.ends) else {
            return Ok(Point { hertz, decibels: SILENCE });
        };
        let volts = self.sounding.coils.iter();
        let volts = volts.map(|&coil| tuned.transfer(TAU * hertz.get(), coil, tip, sleeve, &self.change));
        let volts: Vec<Complex<f64>> = volts.collect::<Result<_, _>>()?;
        Ok(Point { hertz, decibels: decibels(together(hertz, &volts)) })
    }

    /// Returns the resonant peak; `None` when the curve has none that stands out.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub(super) fn resonance(&self) -> Result<Option<Point>, SolverError> {
        self.peak(&self.points(&grid())?)
    }

    /// Returns the highest point between the ends of a curve, found to a ten-thousandth of its frequency.
    fn peak(&self, points: &[Point]) -> Result<Option<Point>, SolverError> {
        let inner = 1..points.len().saturating_sub(1);
        let by_level = |&a: &usize, &b: &usize| points[a].decibels.total_cmp(&points[b].decibels);
        let top = inner.max_by(by_level).unwrap_or(0);
        let (Some(first), Some(last)) = (points.first(), points.last()) else { return Ok(None) };
        if points[top].decibels < first.decibels.max(last.decibels) + PEAK {
            return Ok(None);
        }
        self.highest(points[top - 1].hertz, points[top + 1].hertz).map(Some)
    }

    /// Narrows down where a curve with one top between two frequencies is highest, by the golden section.
    fn highest(&self, low: Hertz, high: Hertz) -> Result<Point, SolverError> {
        let golden = (5f64.sqrt() - 1.0) / 2.0;
        let (mut low, mut high) = (low.get().ln(), high.get().ln());
        let at = |x: f64| self.point(Hertz::new(x.exp()));
        let (mut a, mut b) = (at(high - golden * (high - low))?, at(low + golden * (high - low))?);
        while high - low > 1e-4 {
            if a.decibels >= b.decibels {
                high = b.hertz.get().ln();
                (b, a) = (a, at(high - golden * (high - low))?);
            } else {
                low = a.hertz.get().ln();
                (a, b) = (b, at(low + golden * (high - low))?);
            }
        }
        Ok(if a.decibels >= b.decibels { a } else { b })
    }
}

/// Returns volts as decibels beside one volt.
fn decibels(volts: f64) -> f64 {
    (20.0 * volts.max(1e-12).log10()).max(SILENCE)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{PartId, What, built_in, load};
    use crate::source::Source;

    fn model(index: usize) -> Model {
        let (name, text) = built_in()[index];
        Model::new(load(&Source::new(name, text)).unwrap())
    }

    #[test]
    fn the_grid_rises_evenly_from_forty_hertz_to_fifteen_kilohertz() {
        let grid = grid();
        assert_eq!((grid.first(), grid.last()), (Some(&Hertz::new(40.0)), Some(&Hertz::new(15_000.0))));
        for pair in grid.windows(2) {
            let step = pair[1] / pair[0];
            assert!((1.06..1.15).contains(&step), "{pair:?}: {step}");
        }
    }

    // The two ways of working are one circuit; agreement asked for: 1e-9 of the source's volt, in what a curve tells:
    // nothing below its silence.
    #[test]
    fn a_curve_and_single_solutions_agree_for_every_state_in_every_switch_position() {
        let silence = 10f64.powf(SILENCE / 20.0);
        for index in 0..built_in().len() {
            let model = model(index);
            let changes: Vec<&Change> = model.hypotheses.states.iter().map(|state| &state.change).collect();
            for setting in model.switch_settings() {
                let sounding = model.sounding(&setting, Load::default());
                let plain = sounding.tuned(&model.network).unwrap().unwrap();
                let (tip, sleeve) = sounding.ends.unwrap();
                for hertz in [45.0, 2750.0].map(Hertz::new) {
                    let single = sounding.volts(hertz, changes.iter().copied()).unwrap();
                    for (change, single) in changes.iter().zip(single) {
                        let other = sounding.rewired(change);
                        let own = other.as_ref().map(|network| sounding.tuned(network).unwrap().unwrap());
                        let tuned = own.as_ref().unwrap_or(&plain);
                        let omega = TAU * hertz.get();
                        let volts = sounding.coils.iter();
                        let volts = volts.map(|&c| tuned.transfer(omega, c, tip, sleeve, change).unwrap());
                        let level = together(hertz, &volts.collect::<Vec<_>>());
                        let apart = (level.max(silence) - single.max(silence)).abs();
                        assert!(apart <= 1e-9, "{change:?}, {setting:?}, {hertz:?}: {level}, {single}");
                    }
                }
            }
        }
    }

    #[test]
    fn a_coil_that_does_not_sound_adds_nothing() {
        let model = model(1);
        let setting = model.switch_settings().remove(0);
        let name = |part: usize| model.harness.parts[part].name.clone();
        let coils: Vec<String> = (0..model.harness.parts.len())
            .filter(|&part| model.network.find(&What::Coil(PartId(part))).is_some())
            .map(name)
            .collect();
        let volts = |parts: &[String]| {
            let sounding = model.sounding(&setting, Load::default()).only(parts);
            sounding.volts(TREBLE, [&Change::Nothing]).unwrap()[0]
        };
        assert!(volts(&coils) > 0.1);
        assert_eq!(volts(&[]), 0.0);
    }
}
