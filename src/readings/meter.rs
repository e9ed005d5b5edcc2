//! What a class of meter can show, and how far off it may be.

use super::Dial;
use crate::units::{Ohms, uncertainty};

/// One range of a meter's ohms function.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeterRange {
    /// What the dial or the display calls it, such as `20 k`.
    pub label: &'static str,
    /// The largest value it shows.
    pub full: Ohms,
    /// The worth of the last digit.
    pub digit: Ohms,
    /// The part of the accuracy that grows with the reading, as a share.
    pub share: f64,
    /// The part of the accuracy that is a number of last digits.
    pub counts: f64,
}

/// A class of meter: its ranges, its accuracy, its leads and its beeper.
#[derive(Clone, Debug, PartialEq)]
pub struct Meter {
    /// The name used on the command line and in job files.
    pub name: &'static str,
    /// What a person recognises it by.
    pub title: &'static str,
    /// Its ranges, the finest first.
    pub ranges: &'static [MeterRange],
    /// How the range is chosen.
    pub choice: RangeChoice,
    /// Resistance of the leads, clips and cable that every reading carries.
    pub leads: Ohms,
    /// One standard deviation of that resistance.
    pub leads_spread: Ohms,
    /// The beeper surely sounds below the first and is surely silent above the second.
    pub beep: (Ohms, Ohms),
}

/// How a meter's range is chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RangeChoice {
    /// The meter finds it.
    Automatic,
    /// A person turns the dial.
    Dial,
    /// Nobody knows which kind of meter it is.
    Either,
}

const fn range(label: &'static str, counts: f64, digit: f64, share: f64, digits: f64) -> MeterRange {
    MeterRange { label, full: Ohms::new(counts * digit), digit: Ohms::new(digit), share, counts: digits }
}

const fn meter(
    name: &'static str,
    title: &'static str,
    ranges: &'static [MeterRange],
    choice: RangeChoice,
) -> Meter {
    Meter { name, title, ranges, choice, leads: LEADS, leads_spread: LEADS_SPREAD, beep: BEEP }
}

// Common practice: leads with a cable between them have 0.1 to 0.5 ohms; 0.2 / sqrt(3) for the spread.
const LEADS: Ohms = Ohms::new(0.3);
const LEADS_SPREAD: Ohms = Ohms::new(0.12);
// Meter manuals name limits from 35 to 100 ohms.
const BEEP: (Ohms, Ohms) = (Ohms::new(35.0), Ohms::new(100.0));

// A manual of a 4000-count meter.
const HANDHELD: [MeterRange; 6] = [
    range("400", 3999.0, 0.1, 0.008, 5.0),
    range("4 k", 3999.0, 1.0, 0.008, 4.0),
    range("40 k", 3999.0, 10.0, 0.008, 4.0),
    range("400 k", 3999.0, 100.0, 0.008, 4.0),
    range("4 M", 3999.0, 1e3, 0.008, 4.0),
    range("40 M", 3999.0, 1e4, 0.012, 10.0),
];

// A manual of a 2000-count meter with a dial.
const CHEAP: [MeterRange; 5] = [
    range("200", 1999.0, 0.1, 0.008, 2.0),
    range("2 k", 1999.0, 1.0, 0.008, 2.0),
    range("20 k", 1999.0, 10.0, 0.008, 2.0),
    range("200 k", 1999.0, 100.0, 0.008, 2.0),
    range("2 M", 1999.0, 1e3, 0.01, 2.0),
];

// Common practice, no source: 0.5 to 0.9 % and 2 to 3 digits.
const FINE: [MeterRange; 6] = [
    range("600", 5999.0, 0.1, 0.009, 3.0),
    range("6 k", 5999.0, 1.0, 0.005, 2.0),
    range("60 k", 5999.0, 10.0, 0.005, 2.0),
    range("600 k", 5999.0, 100.0, 0.005, 2.0),
    range("6 M", 5999.0, 1e3, 0.005, 2.0),
    range("60 M", 5999.0, 1e4, 0.009, 3.0),
];

// Common practice, no source: what to assume when nobody knows; digits as coarse as a 2000-count meter's.
const UNKNOWN: [MeterRange; 6] = [
    range("200", 1999.0, 0.1, 0.015, 5.0),
    range("2 k", 1999.0, 1.0, 0.015, 5.0),
    range("20 k", 1999.0, 10.0, 0.015, 5.0),
    range("200 k", 1999.0, 100.0, 0.015, 5.0),
    range("2 M", 1999.0, 1e3, 0.015, 5.0),
    range("20 M", 1999.0, 1e4, 0.015, 5.0),
];

const MOST_FARADS: f64 = 4e-3;
const MOST_VOLTS: f64 = 600.0;
const MOST_AMPS: f64 = 0.4;

static METERS: [Meter; 4] = [
    meter("handheld", "ordinary handheld meter, finds its range itself", &HANDHELD, RangeChoice::Automatic),
    meter("cheap", "cheap meter with a range dial", &CHEAP, RangeChoice::Dial),
    meter("fine", "good handheld meter, 6000 counts", &FINE, RangeChoice::Automatic),
    meter("unknown", "a meter nobody knows, such as the customer's own", &UNKNOWN, RangeChoice::Either),
];

impl Meter {
    /// Returns every class, the ordinary one first.
    pub fn all() -> &'static [Self] {
        &METERS
    }

    /// Returns the class that is assumed when none is named.
    pub fn ordinary() -> &'static Self {
        &METERS[0]
    }

    /// Returns the class with this name.
    pub fn named(name: &str) -> Option<&'static Self> {
        METERS.iter().find(|meter| meter.name == name)
    }

    /// Returns how far, in ohms, the display may be from the truth at `reading`.
    ///
    /// It is the accuracy's share of the reading plus its number of last digits.
    /// Above the ceiling it is that of the coarsest range.
    pub fn half_width(&self, reading: Ohms) -> Ohms {
        let range = self.range(reading);
        Ohms::new(reading.get().abs() * range.share) + range.digit * range.counts
    }

    /// Returns the standard uncertainty of the display at `reading`, in ohms.
    ///
    /// The half-width is divided by √3, as JCGM 100 4.3.7 has it for an even spread.
    pub fn standard_uncertainty(&self, reading: Ohms) -> Ohms {
        Ohms::new(uncertainty::even(self.half_width(reading).get()))
    }

    /// Returns the worth of the last digit at `reading`, in ohms.
    pub fn resolution(&self, reading: Ohms) -> Ohms {
        self.range(reading).digit
    }

    /// Returns the largest resistance it shows, in ohms; anything above is over range.
    pub fn ceiling(&self) -> Ohms {
        self.last().full
    }

    /// Returns the most it shows on a dial, in the dial's unit.
    pub fn most(&self, dial: Dial) -> f64 {
        [self.ceiling().get(), MOST_FARADS, MOST_VOLTS, MOST_AMPS][dial as usize]
    }

    /// Returns the standard uncertainty of the display on a dial at a value, in the dial's unit.
    ///
    /// Outside ohms it is that of an ordinary handheld meter: 3 % and 5 digits for capacitance, 0.5 % and 2
    /// digits for volts, 1 % and 3 digits for current (common practice, no source).
    pub fn uncertainty(&self, dial: Dial, value: f64) -> f64 {
        let (share, counts) = match dial {
            Dial::Ohms => return self.standard_uncertainty(Ohms::new(value)).get(),
            Dial::Farads => (0.03, 5.0),
            Dial::Volts => (0.005, 2.0),
            Dial::Amps => (0.01, 3.0),
        };
        (share * value.abs() + counts * self.last_digit(dial, value)) / 3_f64.sqrt()
    }

    /// Returns the worth of the last digit on a dial at a value, in the dial's unit.
    pub fn last_digit(&self, dial: Dial, value: f64) -> f64 {
        let (finest, counts) = match dial {
            Dial::Ohms => return self.resolution(Ohms::new(value)).get(),
            Dial::Farads => (1e-12, 4000.0),
            Dial::Volts => (1e-4, 4000.0),
            Dial::Amps => (1e-7, 4000.0),
        };
        let mut digit: f64 = finest;
        while value.abs() > digit * counts {
            digit *= 10.0;
        }
        digit
    }

    /// Returns what to set the range to for a resistance near `expected`: `20 k range` or `automatic`.
    pub fn range_for(&self, expected: Ohms) -> String {
        let label = self.range(expected).label;
        match self.choice {
            RangeChoice::Automatic => "automatic".to_owned(),
            RangeChoice::Dial => format!("{label} range"),
            RangeChoice::Either => format!("{label} range or automatic"),
        }
    }

    /// Returns the finest range that can show `reading`, or the coarsest one.
    pub fn range(&self, reading: Ohms) -> &'static MeterRange {
        let shows = |range: &&MeterRange| reading.get().abs() <= range.full.get();
        self.ranges.iter().find(shows).unwrap_or_else(|| self.last())
    }

    fn last(&self) -> &'static MeterRange {
        // Every class above has ranges; the fallback only spares a panic.
        self.ranges.last().unwrap_or(&HANDHELD[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn close(found: Ohms, expected: f64, within: f64) {
        assert!((found.get() - expected).abs() <= within, "found {found:?}, expected {expected}");
    }

    // Accuracy statements of meter manuals for the first two; common practice, no source, for the others.
    // The arithmetic is a·reading + n·digit, done by hand.
    #[rstest]
    #[case("cheap", 7600.0, 80.8)]
    #[case("handheld", 7600.0, 100.8)]
    #[case("fine", 7600.0, 58.0)]
    #[case("unknown", 7600.0, 164.0)]
    #[case("cheap", 6050.0, 68.4)]
    #[case("cheap", 1e6, 12_000.0)]
    #[case("handheld", 1.0, 0.508)]
    #[case("handheld", 10e6, 220_000.0)]
    fn half_width_is_share_and_digits(#[case] name: &str, #[case] reading: f64, #[case] expected: f64) {
        let meter = Meter::named(name).unwrap();
        close(meter.half_width(Ohms::new(reading)), expected, expected * 1e-12);
    }

    // JCGM 100:2008, 4.3.7: an even spread of half-width a has the standard uncertainty a/√3; 68.4 / √3 = 39.49.
    #[test]
    fn standard_uncertainty_follows_the_guide() {
        let cheap = Meter::named("cheap").unwrap();
        close(cheap.standard_uncertainty(Ohms::new(6050.0)), 39.49, 0.005);
    }

    #[rstest]
    #[case("cheap", 199.9, "200 range", 0.1)]
    #[case("cheap", 200.0, "2 k range", 1.0)]
    #[case("cheap", 7600.0, "20 k range", 10.0)]
    #[case("cheap", 5e6, "2 M range", 1e3)]
    #[case("handheld", 7600.0, "automatic", 10.0)]
    #[case("unknown", 7600.0, "20 k range or automatic", 10.0)]
    fn range_and_digit_follow_the_value(
        #[case] name: &str,
        #[case] value: f64,
        #[case] words: &str,
        #[case] digit: f64,
    ) {
        let meter = Meter::named(name).unwrap();
        assert_eq!(meter.range_for(Ohms::new(value)), words);
        assert_eq!(meter.resolution(Ohms::new(value)), Ohms::new(digit));
    }

    #[test]
    fn classes_are_found_by_name_and_have_rising_ranges() {
        for meter in Meter::all() {
            assert_eq!(Meter::named(meter.name), Some(meter));
            assert!(meter.ranges.windows(2).all(|pair| pair[0].full < pair[1].full), "{}", meter.name);
            assert_eq!(meter.ceiling(), meter.ranges[meter.ranges.len() - 1].full);
            assert!(meter.beep.0 < meter.beep.1, "{}", meter.name);
        }
        assert_eq!(Meter::named("perfect"), None);
        assert_eq!(Meter::ordinary().name, "handheld");
    }
}
