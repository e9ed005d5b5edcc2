//! Which readings the outcomes of a step take: overlaps, gaps, and the one that takes a reading.

use super::When;
use super::fit::Expected;
use crate::readings::{Dial, Level, Mode, Said, Shown};

/// How far from the healthy value still counts as near it, as a share of it (common practice, no source).
const NEAR: f64 = 0.20;
/// How far from half the healthy value still counts as half, as a share of that half (common practice, no source).
const NEAR_HALF: f64 = 0.15;
/// How far from its printed value the volume pot's track may be, as a share of it (common practice, no source).
const POT: f64 = 0.25;
/// A flexed reading that moves by no more than this share of itself is steady (common practice, no source).
const STEADY_SHARE: f64 = 0.01;
/// A flexed reading that moves by no more than this many last digits is steady (common practice, no source).
const STEADY_DIGITS: f64 = 2.0;

/// The readings that one outcome takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Reach {
    /// Numbers from `low` to `high` in the unit of the mode; either may be infinite.
    Numbers {
        low: f64,
        high: f64,
    },
    /// None on this guitar.
    Nothing,
    OverRange,
    Unstable,
    Beeps,
    NoBeep,
    Yes,
    No,
    Else,
}

/// Returns what an outcome takes without knowing a guitar; `None` for one that is relative to it.
pub(super) fn absolute(when: When) -> Option<Reach> {
    match when {
        When::NearHealthy | When::Half | When::VolumePotAlone => None,
        When::Number { low, high } => Some(Reach::Numbers { low, high: high.unwrap_or(f64::INFINITY) }),
        When::OverRange => Some(Reach::OverRange),
        When::Unstable => Some(Reach::Unstable),
        When::Beeps => Some(Reach::Beeps),
        When::NoBeep => Some(Reach::NoBeep),
        When::Yes => Some(Reach::Yes),
        When::No => Some(Reach::No),
        When::AnythingElse => Some(Reach::Else),
    }
}

/// Returns what an outcome takes on a guitar that reads as expected when healthy.
pub(super) fn on(when: When, expected: &Expected) -> Reach {
    let healthy = expected.healthy;
    match (when, absolute(when)) {
        (_, Some(reach)) => reach,
        (When::NearHealthy, _) => healthy.map_or(Reach::OverRange, |(low, nominal, high)| {
            let near = NEAR * nominal.abs();
            Reach::Numbers { low: low.min(nominal - near), high: high.max(nominal + near) }
        }),
        (When::Half, _) => around(healthy.map(|(_, nominal, _)| nominal / 2.0), NEAR_HALF),
        _ => around(expected.volume_alone, POT),
    }
}

fn around(value: Option<f64>, share: f64) -> Reach {
    value.map_or(Reach::Nothing, |value| Reach::Numbers {
        low: value - share * value.abs(),
        high: value + share * value.abs(),
    })
}

impl Reach {
    /// Returns whether a reading can fall to both.
    pub(super) fn overlaps(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Numbers { low: a, high: b }, Self::Numbers { low: c, high: d }) => a < d && c < b,
            (Self::Nothing, _) => false,
            _ => self == other,
        }
    }

    /// Returns the readings in words, numbers in the unit of a dial.
    pub(super) fn words(&self, dial: Dial) -> String {
        let shown = |value: f64| Level::of(dial, value, 0.0).words();
        match *self {
            Self::Numbers { low, high } if low.is_infinite() && high.is_infinite() => "any number".to_owned(),
            Self::Numbers { low, high } if low.is_infinite() => format!("less than {}", shown(high)),
            Self::Numbers { low, high } if high.is_infinite() => format!("{} and more", shown(low)),
            Self::Numbers { low, high } => format!("{} to {}", shown(low), shown(high)),
            Self::Nothing => "nothing".to_owned(),
            Self::OverRange => "an over-range reading".to_owned(),
            Self::Unstable => "an unstable reading".to_owned(),
            Self::Beeps => "a beep".to_owned(),
            Self::NoBeep => "no beep".to_owned(),
            Self::Yes => "the answer yes".to_owned(),
            Self::No => "the answer no".to_owned(),
            Self::Else => "anything else".to_owned(),
        }
    }

    fn takes(&self, seen: Seen) -> bool {
        match (self, seen) {
            (Self::Numbers { low, high }, Seen::Number(value)) => (*low..=*high).contains(&value),
            (Self::OverRange, Seen::OverRange) | (Self::Unstable, Seen::Unstable) => true,
            (Self::Beeps, Seen::Beep(beeps)) => beeps,
            (Self::NoBeep, Seen::Beep(beeps)) => !beeps,
            (Self::Yes, Seen::Said(said)) => said == Said::Yes,
            (Self::No, Seen::Said(said)) => said == Said::No,
            (Self::Else, _) => true,
            _ => false,
        }
    }
}

/// Returns the first two outcomes that overlap; an outcome that is not known yet overlaps nothing.
pub(super) fn overlap(reaches: &[Option<Reach>]) -> Option<(usize, usize)> {
    (0..reaches.len()).find_map(|later| {
        let clash = |earlier: &usize| match (reaches[*earlier], reaches[later]) {
            (Some(a), Some(b)) => a.overlaps(&b),
            _ => false,
        };
        (0..later).find(clash).map(|earlier| (earlier, later))
    })
}

/// Returns the least number that a meter shows in a mode: volts have two signs.
pub(super) fn least(mode: Mode) -> f64 {
    if mode == Mode::Volts { f64::NEG_INFINITY } else { 0.0 }
}

/// Returns the first readings that no outcome of a step takes; volts and amperes are never over range on a right dial.
pub(super) fn gap(reaches: &[Reach], mode: Mode, flexed: bool) -> Option<Reach> {
    match mode {
        Mode::Continuity => return beep_gap(reaches),
        Mode::Observe(_) => return missing(reaches, &[Reach::Yes, Reach::No]),
        _ => {}
    }
    if reaches.contains(&Reach::Else) {
        return None;
    }
    let mut spans: Vec<(f64, f64)> = reaches.iter().filter_map(numbers).collect();
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut covered = least(mode);
    for (low, high) in spans {
        if low > covered {
            return Some(Reach::Numbers { low: covered, high: low });
        }
        covered = high.max(covered);
    }
    let open_end = Reach::Numbers { low: covered, high: f64::INFINITY };
    let needed = [(Reach::OverRange, mode == Mode::Resistance), (Reach::Unstable, flexed)];
    let needed: Vec<Reach> =
        needed.into_iter().filter(|(_, needed)| *needed).map(|(reach, _)| reach).collect();
    Some(open_end).filter(|_| covered < f64::INFINITY).or_else(|| missing(reaches, &needed))
}

/// Returns the first sign of the beeper that no outcome of a continuity step takes.
fn beep_gap(reaches: &[Reach]) -> Option<Reach> {
    if reaches.contains(&Reach::Else) { None } else { missing(reaches, &[Reach::Beeps, Reach::NoBeep]) }
}

fn missing(reaches: &[Reach], needed: &[Reach]) -> Option<Reach> {
    needed.iter().find(|reach| !reaches.contains(reach)).copied()
}

fn numbers(reach: &Reach) -> Option<(f64, f64)> {
    match reach {
        Reach::Numbers { low, high } => Some((*low, *high)),
        _ => None,
    }
}

/// What a reading is to a tree.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Seen {
    Number(f64),
    OverRange,
    Unstable,
    Beep(bool),
    Said(Said),
}

/// Returns the index of the outcome that takes a reading.
pub(super) fn taker(reaches: &[Reach], shown: &Shown) -> Option<usize> {
    let seen = seen(shown);
    reaches.iter().position(|reach| reach.takes(seen))
}

fn seen(shown: &Shown) -> Seen {
    match *shown {
        Shown::Beep(beeps) => Seen::Beep(beeps),
        Shown::Said(said) => Seen::Said(said),
        Shown::Steady(level) | Shown::Swept { highest: level, .. } => {
            level.number().map_or(Seen::OverRange, |(value, _)| Seen::Number(meant(&level, value)))
        }
        Shown::Range { low, high } => match (low.number(), high.number()) {
            (None, None) => Seen::OverRange,
            (Some(a), Some(b)) => flexed(&high, a, b),
            _ => Seen::Unstable,
        },
    }
}

/// Returns the number that a display means: no resistance is negative, and the sign of a current says only which way
/// round the probes are.
fn meant(level: &Level, value: f64) -> f64 {
    match level {
        Level::Volts { .. } => value,
        Level::Amps { .. } => value.abs(),
        _ => value.max(0.0),
    }
}

/// Returns by how much a flexed reading may move and is steady: contact at the probes moves it as much (ohms; the others:
/// common practice, no source).
fn steady(level: &Level) -> f64 {
    match level {
        Level::Volts { .. } => 0.02,
        Level::Amps { .. } => 2e-6,
        Level::Farads { .. } => 20e-12,
        Level::Ohms { .. } | Level::OverRange => 1.0,
    }
}

/// Returns what a lowest and a highest value say, each with the worth of its last digit.
fn flexed(level: &Level, (low, a): (f64, f64), (high, b): (f64, f64)) -> Seen {
    let share = STEADY_SHARE * high.abs().max(low.abs());
    let allowed = share.max(steady(level)).max(STEADY_DIGITS * a.max(b));
    let moved = (high - low).abs() > allowed;
    if moved { Seen::Unstable } else { Seen::Number(meant(level, (low + high) * 0.5)) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::Check;

    fn numbers_of(low: f64, high: f64) -> Reach {
        Reach::Numbers { low, high }
    }

    fn steady_at(dial: Dial, value: f64) -> Shown {
        Shown::Steady(Level::of(dial, value, 0.01))
    }

    #[test]
    fn readings_are_told_in_the_unit_of_the_mode() {
        assert!(numbers_of(5.0, 1e3).words(Dial::Ohms).ends_with(" Ω to 1.00 kΩ"));
        assert!(numbers_of(f64::NEG_INFINITY, 7.5).words(Dial::Volts).ends_with(" V"));
        assert!(numbers_of(1e-3, f64::INFINITY).words(Dial::Amps).contains("mA"));
    }

    #[test]
    fn a_battery_the_wrong_way_round_is_under_every_voltage_and_no_gap_is_below_it() {
        let whole = [numbers_of(least(Mode::Volts), 7.5), numbers_of(7.5, f64::INFINITY)];
        assert_eq!(gap(&whole, Mode::Volts, false), None);
        assert_eq!(taker(&whole, &steady_at(Dial::Volts, -9.0)), Some(0));
        assert_eq!(taker(&whole, &steady_at(Dial::Volts, 9.1)), Some(1));
        let half = [numbers_of(0.0, 7.5), numbers_of(7.5, f64::INFINITY)];
        assert_eq!(gap(&half, Mode::Volts, false), Some(numbers_of(f64::NEG_INFINITY, 0.0)));
        assert_eq!(gap(&half, Mode::Resistance, false), Some(Reach::OverRange));
    }

    #[test]
    fn near_healthy_goes_with_the_value_in_its_own_unit_and_sign() {
        let near = |nominal: f64| {
            on(
                When::NearHealthy,
                &Expected { healthy: Some((nominal, nominal, nominal)), volume_alone: None },
            )
        };
        assert_eq!(taker(&[near(9.0)], &steady_at(Dial::Volts, 7.3)), Some(0));
        assert_eq!(taker(&[near(9.0)], &steady_at(Dial::Volts, 7.1)), None);
        assert_eq!(taker(&[near(-9.0)], &steady_at(Dial::Volts, -8.0)), Some(0));
        assert_eq!(taker(&[near(0.5e-3)], &steady_at(Dial::Amps, -0.55e-3)), Some(0));
    }

    #[test]
    fn what_cannot_be_told_is_neither_yes_nor_no() {
        let both = [Reach::Yes, Reach::No];
        let taken = [Said::Yes, Said::No, Said::CannotTell].map(|said| taker(&both, &Shown::Said(said)));
        assert_eq!(taken, [Some(0), Some(1), None]);
        assert_eq!(gap(&both, Mode::Observe(Check::Sound), false), None);
        assert_eq!(gap(&both[..1], Mode::Observe(Check::Sound), false), Some(Reach::No));
    }

    #[test]
    fn a_flexed_voltage_that_falls_away_is_unstable() {
        let all = [Reach::Unstable, Reach::Else];
        let flexed = |low: f64, high: f64| Shown::Range {
            low: Level::of(Dial::Volts, low, 0.01),
            high: Level::of(Dial::Volts, high, 0.01),
        };
        assert_eq!(taker(&all, &flexed(0.2, 9.1)), Some(0));
        assert_eq!(taker(&all, &flexed(9.08, 9.1)), Some(1));
    }
}
