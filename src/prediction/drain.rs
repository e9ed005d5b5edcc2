//! What a state draws from the battery, and the volts that it leaves at the plug, beside the healthy instrument.

use super::model::Model;
use crate::circuit::{NodeId, PartKind, What};
use crate::readings::{Setting, Stand};
use crate::solver::{SolverError, Values};

/// The plug is in for so much of the time (common practice, no source).
const PLUGGED: f64 = 0.1;
/// What stands in the place of a battery while the rest of the circuit is read at its clip, in ohms: draws next to nothing.
const AWAY_OHMS: f64 = 1e9;

impl Model {
    /// Returns for every state how many amperes more than healthy leave the batteries on average: all the time when it
    /// flows with the plug out, for the time that the plug is in else.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub(super) fn drains(&self) -> Result<Vec<f64>, SolverError> {
        let (out, plugged) =
            (self.drawn(&self.unplugged())?, self.drawn(&Setting::reference(&self.harness))?);
        let more = |drawn: &[f64], state: usize| (drawn[state] - drawn[0]).max(0.0);
        let states = 0..self.hypotheses.states.len();
        Ok(states.map(|state| more(&out, state) + PLUGGED * more(&plugged, state)).collect())
    }

    /// Returns the setting that stands for an empty jack: a plug that joins no contacts and has nothing behind it.
    fn unplugged(&self) -> Setting {
        let reference = Setting::reference(&self.harness);
        let plug =
            self.harness.controls.iter().find(|control| self.harness[control.part].kind == PartKind::Plug);
        match plug {
            Some(plug) => reference.with(&plug.name, Stand::At("three-contact".to_owned())),
            None => reference,
        }
    }

    /// Returns the amperes out of all batteries in every state, from what each sees of the rest of the circuit.
    fn drawn(&self, setting: &Setting) -> Result<Vec<f64>, SolverError> {
        let mut drawn = vec![0.0; self.hypotheses.states.len()];
        for (battery, volts) in self.batteries() {
            let element = &self.network.elements[battery.0];
            let mut values = Values { powered: true, ..self.values.clone() };
            if let What::Battery(part) = element.what {
                values.ohms[part.0] = AWAY_OHMS;
            }
            let bench = self.bench_with(setting, &values)?;
            for (state, drawn) in drawn.iter_mut().enumerate() {
                *drawn += bench.ohms(state, element.a, element.b).map_or(0.0, |ohms| volts / ohms.max(1.0));
            }
        }
        Ok(drawn)
    }

    /// Returns for every state the volts at the plug that are not there in a healthy instrument.
    ///
    /// # Errors
    ///
    /// Returns [`SolverError`] when the equations have no single solution.
    pub(super) fn resting(&self, plug: Option<(usize, usize)>) -> Result<Vec<f64>, SolverError> {
        let states = self.hypotheses.states.len();
        let (Some((tip, sleeve)), false) = (plug, self.batteries().is_empty()) else {
            return Ok(vec![0.0; states]);
        };
        let values = Values { powered: true, ..self.values.clone() };
        let bench = self.bench_with(&Setting::reference(&self.harness), &values)?;
        let volts = |state| bench.volts(state, NodeId(tip), NodeId(sleeve));
        let healthy = volts(0);
        Ok((0..states).map(|state| (volts(state) - healthy).abs()).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{built_in, load};
    use crate::faults::Kind;
    use crate::prediction::{Behaviour, Hypothesis, State};
    use crate::readings::Symptom;
    use crate::source::Source;

    fn model(name: &str) -> Model {
        let (file, text) = built_in().iter().find(|(file, _)| *file == name).unwrap();
        Model::new(load(&Source::new(*file, *text)).unwrap())
    }

    /// Returns how likely a complaint is under the hypotheses that hold a fault whose id fits.
    fn likely(model: &Model, symptom: Symptom, fits: impl Fn(&str) -> bool) -> Vec<f64> {
        let audible = model.audible().unwrap();
        let all = model.complaint_likelihood(&audible, symptom);
        let holds = |h: &Hypothesis| h.faults.iter().any(|(fault, _)| fits(&model.catalogue[*fault].id));
        let list = model.hypotheses.list.iter().zip(all);
        let found: Vec<f64> = list.filter(|(h, _)| holds(h)).map(|(_, likely)| likely).collect();
        assert!(!found.is_empty(), "no such fault");
        found
    }

    fn healthy(model: &Model) -> usize {
        let sound =
            |h: &Hypothesis| h.faults.iter().any(|(f, _)| model.catalogue[*f].kind == Kind::NothingWrong);
        model.hypotheses.list.iter().position(sound).unwrap()
    }

    // Ohm's law: a strand from ring to sleeve leaves the preamp's 18 kΩ on 9 V with the plug out, 0.5 mA.
    #[test]
    fn a_strand_at_the_ring_drains_the_battery_with_the_plug_out() {
        let model = model("active-volume-after-preamp.ron");
        let between =
            |id: &str| ["jack.ring", "jack.sleeve", "/short to"].iter().all(|part| id.contains(part));
        let strand = model.catalogue.faults.iter().find(|fault| between(&fault.id)).unwrap();
        let same = |state: &State| state.change == strand.variants[0].change;
        let state = model.hypotheses.states.iter().position(same);
        let drains = model.drains().unwrap();
        let drawn = drains[state.unwrap()];
        assert!((drawn / (9.0 / 18e3) - 1.0).abs() < 0.02, "{drawn} A");
        assert!(drains[0].abs() < 1e-9, "{} A", drains[0]);
    }

    #[test]
    fn what_flows_with_the_plug_out_explains_an_empty_battery() {
        let model = model("active-volume-after-preamp.ron");
        let drains = model.drains().unwrap();
        let all = model.complaint_likelihood(&model.audible().unwrap(), Symptom::BatteryDrains);
        let sound = healthy(&model);
        let of = |drawn: fn(f64) -> bool| {
            let list = model.hypotheses.list.iter().enumerate();
            let steady = list.filter(|(_, h)| h.behaviour == Behaviour::Steady && h.state > 0);
            let flat =
                |h: &Hypothesis| h.faults.iter().any(|(f, _)| model.catalogue[*f].kind == Kind::BatteryFlat);
            let fits = steady.filter(|(index, h)| *index != sound && drawn(drains[h.state]) && !flat(h));
            fits.map(|(index, _)| all[index]).collect::<Vec<f64>>()
        };
        let (flows, rests) = (of(|amps| amps > 3e-4), of(|amps| amps < 1e-7));
        assert!(!flows.is_empty() && !rests.is_empty());
        let least = flows.iter().copied().fold(f64::INFINITY, f64::min);
        let most = rests.iter().copied().fold(0.0, f64::max);
        assert!(least > 10.0 * most, "{least} {most}");
        let overloaded = likely(&model, Symptom::BatteryDrains, |id| id.ends_with("supply overloaded"));
        assert!(overloaded[0] > 10.0 * most, "{overloaded:?}");
    }

    #[test]
    fn without_a_battery_none_drains() {
        let model = model("one-pickup.ron");
        let all = model.complaint_likelihood(&model.audible().unwrap(), Symptom::BatteryDrains);
        assert!(all.iter().all(|likely| (likely - all[0]).abs() < 1e-12) && all[0] < 0.1, "{all:?}");
    }

    // What a preamp's output rests at reaches the plug through a capacitor that conducts: a thump at every contact
    // (common practice, no source).
    #[test]
    fn a_shorted_output_capacitor_pops_and_a_lost_ground_does() {
        let model = model("active-volume-after-preamp.ron");
        let shorted =
            likely(&model, Symptom::Pops, |id| id.starts_with("output-cap") && id.contains("short"));
        let worn = likely(&model, Symptom::Pops, |id| id == "volume/wrong value");
        let strings = likely(&model, Symptom::Pops, |id| id.starts_with("strings") && id.contains("open"));
        assert!(shorted[0] > 5.0 * worn[0], "{shorted:?} {worn:?}");
        assert!(strings[0] > 5.0 * worn[0], "{strings:?} {worn:?}");
    }

    // The strings of a sound guitar calm its buzz as well, so that alone says nothing (common practice, no source).
    #[test]
    fn a_buzz_that_changes_on_touch_speaks_of_metal_that_lost_its_ground() {
        let model = model("one-pickup.ron");
        let strings =
            likely(&model, Symptom::BuzzOnTouch, |id| id.starts_with("strings") && id.contains("open"));
        let worn = likely(&model, Symptom::BuzzOnTouch, |id| id == "volume/wrong value");
        assert!(strings[0] > 5.0 * worn[0], "{strings:?} {worn:?}");
    }
}
