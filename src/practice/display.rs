//! What the display of a meter shows from the moment the probes are put on.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use super::level::mixed;
use crate::readings::{Dial, Meter, MeterRange, Mode, RangeChoice};
use crate::units::Ohms;

/// Milliseconds between two updates of the display: two or three a second (common practice, no source).
pub const UPDATE: u64 = 400;
/// Milliseconds until the beeper answers (a meter's manual).
const BEEP_AFTER: u64 = 100;
/// Ranges that a meter steps through in one update: 0.5 to 2 s for all of them (several manuals).
const STEPS: u64 = 2;
/// Updates until the digits have settled, and above a megohm (common practice, no source; several seconds by several
/// manuals).
const SETTLES: u64 = 3;
const SETTLES_SLOWLY: u64 = 9;
const SLOW: f64 = 1e6;
/// How far off the first update is at most, and what is left of that in the next one (common practice, no source).
const FIRST_OFF: f64 = 0.06;
const LEFT: f64 = 0.25;
/// How often the display catches what comes and goes while something is moved (common practice, no source).
const CATCHES: f64 = 0.3;
/// A display holds so many last digits back for their dance and for rounding.
const DANCE: f64 = 1.5;
/// The most that the touch of the probes adds, in ohms, the leads zeroed (common practice, no source).
const TOUCH: f64 = 0.2;
/// At most so many updates are kept in the record of lowest and highest.
const KEPT: u64 = 200;

/// The display of a meter while the probes are on.
#[derive(Clone, Debug, PartialEq)]
pub struct Display {
    meter: &'static Meter,
    mode: Mode,
    /// The range that a person has turned the dial to; `None` when the meter finds it.
    turned: Option<usize>,
    flexed: bool,
    rest: Option<f64>,
    now: Option<f64>,
    /// Where in the span of its accuracy this reading lies, −1 to 1.
    bias: f64,
    /// Where the first update lies, −1 to 1.
    start: f64,
    /// The ohms below which the beeper sounds.
    beeps: f64,
    seed: u64,
}

impl Display {
    /// Puts the probes on what reads `[rest, now]` in the unit of the dial: two values only while something is moved.
    pub fn new(
        meter: &'static Meter,
        mode: Mode,
        flexed: bool,
        [rest, now]: [Option<f64>; 2],
        seed: u64,
    ) -> Self {
        let mut rng = StdRng::seed_from_u64(mixed(seed));
        let touch = if mode.dial() == Dial::Ohms { rng.random_range(0.0..=TOUCH) } else { 0.0 };
        let touched = |value: Option<f64>| value.map(|value| value + touch);
        let (surely, silent) = meter.beep;
        Self {
            meter,
            mode,
            turned: None,
            flexed,
            rest: touched(rest),
            now: touched(now),
            bias: rng.random_range(-1.0..=1.0),
            start: rng.random_range(-1.0..=1.0),
            beeps: rng.random_range(surely.get()..silent.get()),
            seed: rng.random(),
        }
    }

    /// Turns the dial to the range with this number; it stays where it is on a meter that finds its range itself.
    #[must_use]
    pub fn turned(self, range: Option<usize>) -> Self {
        let dialled = self.meter.choice == RangeChoice::Dial && self.mode == Mode::Resistance;
        Self { turned: range.filter(|range| dialled && *range < self.meter.ranges.len()), ..self }
    }

    /// Returns the range that the dial is turned to, when a coarser one is left on it.
    pub fn could_be_coarser(&self) -> Option<&'static str> {
        let range = self.turned.filter(|range| range + 1 < self.meter.ranges.len())?;
        self.meter.ranges.get(range).map(|range| range.label)
    }

    /// Returns what lies between the probes while nothing shows that comes and goes, their touch included.
    pub fn at_rest(&self) -> Option<f64> {
        self.rest
    }

    /// Returns after how many milliseconds the display has settled.
    pub fn settled_after(&self) -> u64 {
        UPDATE * self.settling()
    }

    /// Returns what the display shows so many milliseconds after the probes were put on, with its unit.
    pub fn at(&self, ms: u64) -> String {
        let (update, value) = (ms / UPDATE, self.value(ms / UPDATE));
        let shown = self.digits(value, update);
        if self.mode != Mode::Continuity {
            return shown;
        }
        let sounds = ms >= BEEP_AFTER && value.is_some_and(|ohms| ohms < self.beeps);
        format!("{} · {shown}", if sounds { "beep" } else { "no beep" })
    }

    /// Returns the lowest and the highest that was shown since the digits settled, as a meter records them while
    /// something is moved; `None` before that, for a still reading and for the beeper.
    pub fn recorded(&self, ms: u64) -> Option<(String, String)> {
        let updates = self.settling()..=(ms / UPDATE).min(self.settling() + KEPT);
        let asked = self.flexed && self.mode != Mode::Continuity;
        let worth = |update: u64| self.shown(self.value(update), update).unwrap_or(f64::INFINITY);
        let all: Vec<u64> = updates.filter(|_| asked).collect();
        let low = all.iter().min_by(|a, b| worth(**a).total_cmp(&worth(**b)))?;
        let high = all.iter().max_by(|a, b| worth(**a).total_cmp(&worth(**b)))?;
        Some((self.digits(self.value(*low), *low), self.digits(self.value(*high), *high)))
    }

    fn settling(&self) -> u64 {
        let most = [self.rest, self.now].into_iter().flatten().fold(0.0, f64::max);
        let slow = self.mode.dial() == Dial::Ohms && most > SLOW;
        if slow { SETTLES_SLOWLY } else { SETTLES.max(self.steps(most)) }
    }

    /// Returns what lies between the probes at an update.
    fn value(&self, update: u64) -> Option<f64> {
        let moved = self.flexed && update > 0 && self.chance(update).random_bool(CATCHES);
        if moved || !self.flexed { self.now } else { self.rest }
    }

    fn chance(&self, update: u64) -> StdRng {
        StdRng::seed_from_u64(mixed(self.seed ^ update.wrapping_mul(0x9E37_79B9)))
    }

    /// Returns what is written of a value.
    fn digits(&self, value: Option<f64>, update: u64) -> String {
        match self.shown(value, update) {
            Some(shown) => self.written(self.mode.dial(), shown, update),
            None => OVER.to_owned(),
        }
    }

    /// Returns what is shown of a value: off at first, its last digit never quite still; `None` for no path.
    fn shown(&self, value: Option<f64>, update: u64) -> Option<f64> {
        let dial = self.mode.dial();
        let open = dial == Dial::Ohms && update == 0;
        let value = value.filter(|_| !open)?;
        let digit =
            self.dialled().map_or_else(|| self.meter.last_digit(dial, value), |range| range.digit.get());
        let span = (self.half_width(dial, value) - DANCE * digit).max(0.0);
        let dance = f64::from(self.chance(!update).random_range(-1_i8..=1)) * digit;
        let shown = value + self.bias * span + self.off(value, update) + dance;
        Some(if dial == Dial::Ohms { shown.max(0.0) } else { shown })
    }

    fn dialled(&self) -> Option<&'static MeterRange> {
        self.meter.ranges.get(self.turned?)
    }

    fn half_width(&self, dial: Dial, value: f64) -> f64 {
        match dial {
            Dial::Ohms => self.meter.half_width(Ohms::new(value)).get(),
            _ => self.meter.uncertainty(dial, value) * 3_f64.sqrt(),
        }
    }

    /// Returns what is still missing before the digits have settled.
    fn off(&self, value: f64, update: u64) -> f64 {
        if update >= self.settling() {
            return 0.0;
        }
        let slow = self.settling() == SETTLES_SLOWLY;
        let left = if slow { LEFT.sqrt() } else { LEFT };
        let times = i32::try_from(update).unwrap_or(i32::MAX);
        value * self.start * FIRST_OFF * left.powi(times)
    }

    /// Returns after how many updates a meter that finds its range itself has found it.
    fn steps(&self, value: f64) -> u64 {
        let automatic = self.meter.choice == RangeChoice::Automatic && self.mode == Mode::Resistance;
        let shows = |full: Ohms| value.abs() <= full.get();
        let wanted = self.meter.ranges.iter().position(|range| shows(range.full)).unwrap_or(0);
        let above = self.meter.ranges.len().saturating_sub(wanted + 1) as u64;
        if automatic { above.div_ceil(STEPS) } else { 0 }
    }

    fn written(&self, dial: Dial, value: f64, update: u64) -> String {
        let (full, digit) = self.range(dial, value, update);
        if value.abs() > full { OVER.to_owned() } else { written(dial, value, full, digit) }
    }

    /// Returns the most and the last digit of the range that the meter is in.
    fn range(&self, dial: Dial, value: f64, update: u64) -> (f64, f64) {
        if dial != Dial::Ohms {
            let digit = self.meter.last_digit(dial, value);
            return (digit * COUNTS, digit);
        }
        if let Some(range) = self.dialled() {
            return (range.full.get(), range.digit.get());
        }
        let ranges = self.meter.ranges;
        let wanted = ranges.iter().position(|range| value <= range.full.get());
        let last = ranges.len().saturating_sub(1);
        let late = self.steps(value).saturating_sub(update) * STEPS;
        let late = usize::try_from(late).unwrap_or(0);
        let index = match self.mode {
            Mode::Continuity => 0,
            _ => wanted.map_or(last, |wanted| (wanted + late).min(last)),
        };
        ranges.get(index).map_or((0.0, 1.0), |range| (range.full.get(), range.digit.get()))
    }
}

/// The sign of over range.
const OVER: &str = "OL";
/// Counts of the ranges other than ohms.
const COUNTS: f64 = 4000.0;

/// Writes a value with the digits and the unit of a range.
fn written(dial: Dial, value: f64, full: f64, digit: f64) -> String {
    let (unit, name) = unit(dial, full);
    let decimals = (unit / digit).log10().round().clamp(0.0, 6.0) as usize;
    let text = format!("{:.decimals$} {name}", (value / digit).round() * digit / unit);
    text.strip_prefix('-')
        .filter(|rest| !rest.contains(|c: char| ('1'..='9').contains(&c)))
        .map_or(text.clone(), str::to_owned)
}

/// Returns the unit in which a range is shown, and its name.
fn unit(dial: Dial, full: f64) -> (f64, &'static str) {
    let units: &[(f64, &'static str)] = match dial {
        Dial::Ohms => &[(1e6, "MΩ"), (1e3, "kΩ"), (1.0, "Ω")],
        Dial::Farads => &[(1e-6, "µF"), (1e-9, "nF")],
        Dial::Volts => &[(1.0, "V"), (1e-3, "mV")],
        Dial::Amps => &[(1e-3, "mA"), (1e-6, "µA")],
    };
    let fits = units.iter().find(|(worth, _)| full >= *worth);
    fits.or(units.last()).copied().unwrap_or((1.0, ""))
}
