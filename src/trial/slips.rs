//! What goes wrong between the probes and the typed text: a wrong lug, a wrong position, a wrong unit, no contact.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use super::TrialError;
use super::instrument::Instrument;
use super::parts::one_of;
use crate::circuit::Harness;
use crate::readings::{Dial, Level, Measurement, Meter, Mode, Shown};

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
        instrument: &mut Instrument,
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
        instrument: &mut Instrument,
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
        let mut all = measurement.beside(self.harness);
        all.retain(|(_, wrong)| (wrong.red != measurement.red) == red);
        one_of(&mut self.rng, &all).map_or_else(|| measurement.clone(), |(_, wrong)| wrong.clone())
    }

    /// Returns the measurement with one control elsewhere; unchanged where there is none.
    fn moved(&mut self, measurement: &Measurement) -> Measurement {
        let mut wrong = measurement.clone();
        let stands = measurement.elsewhere(self.harness);
        if let Some((name, stand)) = one_of(&mut self.rng, &stands) {
            wrong.setting = wrong.setting.with(name, stand.clone());
        }
        wrong
    }
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

    // A thousand ohms are a kilohm; 40 MΩ is the most that the ordinary meter shows (its manual).
    #[test]
    fn a_wrong_unit_is_a_thousand_times_off_or_over_range() {
        let level = |ohms: f64| Level::of(Dial::Ohms, ohms, ohms / 1000.0);
        assert_eq!(times(level(7.0), 1e3, Meter::ordinary()).number().map(|(v, _)| v), Some(7000.0));
        assert_eq!(times(level(250e3), 1e3, Meter::ordinary()), Level::OverRange);
        let wrong = times(level(7000.0), 1e-3, Meter::ordinary());
        assert!(matches!(wrong, Level::Ohms { value, .. } if (value.get() - 7.0).abs() < 1e-9));
    }
}
