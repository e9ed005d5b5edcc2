//! What goes wrong between the probes and the typed text: a wrong lug, a wrong position, a wrong unit, no contact.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use super::TrialError;
use super::instrument::Instrument;
use super::parts::one_of;
use crate::circuit::{Control, ControlKind, Harness, TerminalId};
use crate::readings::{Dial, Level, Measurement, Meter, Mode, Shown, Stand};

/// A person at the bench.
pub(super) struct Hand<'e> {
    harness: &'e Harness,
    meter: &'static Meter,
    share: f64,
    rng: StdRng,
    /// How many slips there were.
    pub slips: usize,
}

/// One way to slip.
#[derive(Clone, Copy)]
enum Slip {
    Lug,
    Control,
    Unit,
    NoContact,
}

impl<'e> Hand<'e> {
    pub fn new(harness: &'e Harness, meter: &'static Meter, share: f64, seed: u64) -> Self {
        Self { harness, meter, share, rng: StdRng::seed_from_u64(seed ^ 0x51A5), slips: 0 }
    }

    /// Takes a measurement, and returns what is typed for it.
    pub fn take(
        &mut self,
        instrument: &mut Instrument<'_>,
        measurement: &Measurement,
    ) -> Result<Shown, TrialError> {
        if self.share <= 0.0 || !self.rng.random_bool(self.share) {
            return instrument.read(measurement);
        }
        let asked = matches!(measurement.mode, Mode::Observe(_));
        let kinds: &[Slip] =
            if asked { &[Slip::Control] } else { &[Slip::Lug, Slip::Control, Slip::Unit, Slip::NoContact] };
        let Some(slip) = one_of(&mut self.rng, kinds).copied() else { return instrument.read(measurement) };
        self.slips += 1;
        self.slipped(instrument, measurement, slip)
    }

    fn slipped(
        &mut self,
        instrument: &mut Instrument<'_>,
        measurement: &Measurement,
        slip: Slip,
    ) -> Result<Shown, TrialError> {
        match slip {
            Slip::Lug => instrument.read(&self.beside(measurement)),
            Slip::Control => instrument.read(&self.moved(measurement)),
            Slip::Unit => {
                let thousand = if self.rng.random_bool(0.5) { 1e3 } else { 1e-3 };
                Ok(each(instrument.read(measurement)?, |level| times(level, thousand, self.meter)))
            }
            Slip::NoContact => Ok(each(instrument.read(measurement)?, |_| Level::OverRange)),
        }
    }

    /// Returns the measurement with one probe on a lug beside; unchanged where there is none.
    fn beside(&mut self, measurement: &Measurement) -> Measurement {
        let red = self.rng.random_bool(0.5);
        let mut wrong = measurement.clone();
        let (name, other) = if red { (&mut wrong.red, &wrong.black) } else { (&mut wrong.black, &wrong.red) };
        let lugs = beside(self.harness, name, other);
        if let Some(lug) = one_of(&mut self.rng, &lugs) {
            name.clone_from(lug);
        }
        wrong
    }

    /// Returns the measurement with one control elsewhere; unchanged where there is none.
    fn moved(&mut self, measurement: &Measurement) -> Measurement {
        let mut wrong = measurement.clone();
        let stands: Vec<(&str, Stand)> =
            self.harness.controls.iter().flat_map(|control| elsewhere(control, measurement)).collect();
        if let Some((name, stand)) = one_of(&mut self.rng, &stands) {
            wrong.setting = wrong.setting.with(name, stand.clone());
        }
        wrong
    }
}

/// Returns the lugs of the same part, and those that lie near, but for the one under the other probe.
fn beside(harness: &Harness, name: &str, other: &str) -> Vec<String> {
    let Some(here) = harness.terminal(name) else { return Vec::new() };
    let near = |a, b| harness.near.iter().any(|n| (n.a, n.b) == (a, b) || (n.b, n.a) == (a, b));
    let lies_beside = |t: &TerminalId| harness[*t].part == harness[here].part || near(*t, here);
    let all = (0..harness.terminals.len()).map(TerminalId);
    let lugs = all.filter(|t| *t != here && harness[*t].probe && harness[*t].name != other);
    lugs.filter(lies_beside).map(|t| harness[t].name.clone()).collect()
}

/// Returns where else a control could stand: a knob at the ends or in the middle, a switch in its other positions.
fn elsewhere<'h>(control: &'h Control, measurement: &Measurement) -> Vec<(&'h str, Stand)> {
    let now = measurement.setting.0.get(&control.name);
    let all: Vec<Stand> = match &control.kind {
        ControlKind::Knob => [0, 5, 10].map(Stand::Knob).to_vec(),
        ControlKind::Selector(names) => names.iter().cloned().map(Stand::At).collect(),
    };
    all.into_iter().filter(|stand| Some(stand) != now).map(|stand| (control.name.as_str(), stand)).collect()
}

fn each(shown: Shown, of: impl Fn(Level) -> Level) -> Shown {
    match shown {
        Shown::Steady(level) => Shown::Steady(of(level)),
        Shown::Range { low, high } => Shown::Range { low: of(low), high: of(high) },
        Shown::Swept { highest, ends } => Shown::Swept { highest: of(highest), ends },
        Shown::Beep(_) => Shown::Beep(false),
        said @ Shown::Said(_) => said,
    }
}

/// Returns a level with another unit; what the meter cannot show is over range.
fn times(level: Level, factor: f64, meter: &Meter) -> Level {
    let (dial, Some((value, resolution))) = (dial_of(&level), level.number()) else { return level };
    let value = value * factor;
    if value < meter.most(dial) { Level::of(dial, value, resolution * factor) } else { Level::OverRange }
}

/// Returns what a level is a number of.
fn dial_of(level: &Level) -> Dial {
    match level {
        Level::Ohms { .. } | Level::OverRange => Dial::Ohms,
        Level::Farads { .. } => Dial::Farads,
        Level::Volts { .. } => Dial::Volts,
        Level::Amps { .. } => Dial::Amps,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit;
    use crate::source::Source;

    fn harness() -> Harness {
        let (name, text) = circuit::built_in().iter().find(|(name, _)| *name == "one-pickup.ron").unwrap();
        circuit::load(&Source::new(*name, *text)).unwrap()
    }

    // Common practice, no source: the lugs of one pot lie side by side.
    #[test]
    fn a_lug_beside_is_on_the_same_part_or_near() {
        let harness = harness();
        let lugs = beside(&harness, "volume.lug2", "volume.lug1");
        assert!(lugs.contains(&"volume.lug3".to_owned()), "{lugs:?}");
        assert!(!lugs.contains(&"volume.lug1".to_owned()) && !lugs.contains(&"volume.lug2".to_owned()));
    }

    // A thousand ohms are a kilohm; 40 MΩ is the most that the ordinary meter shows (its manual).
    #[test]
    fn a_wrong_unit_is_a_thousand_times_off_or_over_range() {
        let level = |ohms: f64| Level::of(Dial::Ohms, ohms, ohms / 1000.0);
        assert_eq!(times(level(7.0), 1e3, Meter::ordinary()).number().map(|(v, _)| v), Some(7000.0));
        assert_eq!(times(level(250e3), 1e3, Meter::ordinary()), Level::OverRange);
        let wrong = times(level(7000.0), 1e-3, Meter::ordinary());
        assert!(matches!(wrong, Level::Ohms { value, .. } if (value.get() - 7.0).abs() < 1e-9));
    }

    #[test]
    fn a_control_is_somewhere_else() {
        let harness = harness();
        let measurement = Measurement::at_the_plug(&harness);
        for control in &harness.controls {
            let now = measurement.setting.0.get(&control.name);
            let stands = elsewhere(control, &measurement);
            assert!(!stands.is_empty() && stands.iter().all(|(_, stand)| Some(stand) != now), "{stands:?}");
        }
    }
}
