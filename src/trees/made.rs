//! What a step asks for, made of a measurement on one guitar.

use super::tree::Place;
use super::{Outcome, Probe};
use crate::circuit::Harness;
use crate::readings::{Measurement, Mode, Setting, Stand};

impl Probe {
    /// Returns what asks for this measurement on a guitar; `None` when a tree cannot ask for it: a swept knob, farads,
    /// what is heard, a lifted end.
    pub fn of(harness: &Harness, measurement: &Measurement, outcomes: Vec<Outcome>) -> Option<Self> {
        let told = [Mode::Resistance, Mode::Continuity, Mode::Volts, Mode::Current];
        let plain = measurement.about.is_none() && measurement.lifted.is_none();
        (plain && told.contains(&measurement.mode)).then(|| Self {
            mode: measurement.mode,
            red: measurement.red.clone(),
            black: measurement.black.clone(),
            flex: measurement.flex.clone(),
            outcomes,
            set: moved(harness, &measurement.setting),
        })
    }

    /// Returns the controls that are put somewhere, by name or by group, and where to.
    pub fn settings(&self) -> Vec<(&str, String)> {
        let place = |place: &Place| match place {
            Place::Number(number) => number.to_string(),
            Place::Name(name) => name.clone(),
        };
        self.set.iter().map(|(name, at)| (name.as_str(), place(at))).collect()
    }
}

/// Returns the controls that stand elsewhere than where a tree leaves them.
fn moved(harness: &Harness, setting: &Setting) -> Vec<(String, Place)> {
    let reference = Setting::reference(harness);
    let place = |stand: &Stand| match stand {
        Stand::Knob(dial) => Place::Number(*dial),
        Stand::At(position) => Place::Name(position.clone()),
    };
    let moved = setting.0.iter().filter(|(name, stand)| reference.0.get(*name) != Some(*stand));
    moved.map(|(name, stand)| (name.clone(), place(stand))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit;
    use crate::source::Source;

    fn harness() -> Harness {
        let (name, text) = circuit::built_in()[0];
        circuit::load(&Source::new(name, text)).unwrap()
    }

    #[test]
    fn only_what_is_moved_is_set() {
        let harness = harness();
        let still = Measurement::at_the_plug(&harness);
        assert!(Probe::of(&harness, &still, Vec::new()).unwrap().set.is_empty());
        let knob = harness.controls[0].name.clone();
        let setting = still.setting.clone().with(&knob, Stand::Knob(0));
        let turned = Measurement { setting, ..still };
        let probe = Probe::of(&harness, &turned, Vec::new()).unwrap();
        assert_eq!(probe.set, [(knob, Place::Number(0))]);
    }

    #[test]
    fn what_a_tree_cannot_ask_for_is_refused() {
        let harness = harness();
        let still = Measurement::at_the_plug(&harness);
        let swept = Measurement { mode: Mode::Sweep, about: Some("volume".to_owned()), ..still.clone() };
        let lifted = Measurement { lifted: Some("anything".to_owned()), ..still };
        assert!(Probe::of(&harness, &swept, Vec::new()).is_none());
        assert!(Probe::of(&harness, &lifted, Vec::new()).is_none());
    }
}
