//! Reads values as people write them: `7.6k`, `4k7`, `7.60 kΩ`, `22n`, `.022`, `223`, `45 s`, `20%`.

use super::error::{Kind, UnitError};
use super::marks::mark_exponent;
use super::scan::{Scan, Trouble, scan};
use super::{Amps, Farads, Henries, Ohms, Seconds, Volts};

/// A value together with what its last figure is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Written<Q> {
    /// The value.
    pub value: Q,
    /// The worth of the last figure written: 10 ohms in `7.60k`, 100 ohms in `4k7`.
    pub resolution: Q,
}

/// No part and no meter goes beyond this, in ohms.
const MOST_OHMS: f64 = 1e12;
/// No part in an instrument goes beyond this, in farads.
const MOST_FARADS: f64 = 1.0;
/// No pickup goes beyond this, in henries.
const MOST_HENRIES: f64 = 1e3;
/// No step of a job takes longer, in seconds.
const MOST_SECONDS: f64 = 86_400.0;
/// Nothing on this bench goes beyond this, in volts.
const MOST_VOLTS: f64 = 1e3;
/// Nothing in an instrument draws more, in amperes.
const MOST_AMPS: f64 = 10.0;

/// Reads a resistance: `7.6k`, `7.60 kΩ`, `7,6 k`, `7.6e3`, `4k7`, `R47`, `470 ohm`, `7600`.
///
/// # Errors
///
/// Refuses a bare number that can be ohms or kilohms, a small `m`, another unit, and junk.
pub fn parse_ohms(text: &str) -> Result<Written<Ohms>, UnitError> {
    let kind = Kind::Resistance;
    let scan = take_apart(text, kind)?;
    let shift = ohms_shift(&scan, text)?;
    within(&scan, text, kind, shift, (MOST_OHMS, "1000 GΩ"))?;
    Ok(written(&scan, shift, Ohms::new))
}

/// Reads a capacitance: `22n`, `22 nF`, `4n7`, `0.022u`, `.022` (microfarads), `223` and `223J` (capacitor codes).
///
/// # Errors
///
/// Refuses a bare whole number that is no clear code, another unit, and junk.
pub fn parse_farads(text: &str) -> Result<Written<Farads>, UnitError> {
    let kind = Kind::Capacitance;
    let mut scan = take_apart(text, kind)?;
    if let Some(exponent) = mark_exponent(&scan)? {
        scan.figures.truncate(2);
        return Ok(written(&scan, exponent, Farads::new));
    }
    let shift = farads_shift(&scan, text)?;
    within(&scan, text, kind, shift, (MOST_FARADS, "1 F"))?;
    Ok(written(&scan, shift, Farads::new))
}

/// Reads an inductance: `4.4 H`, `900 mH`, `2.2e0`.
///
/// # Errors
///
/// Refuses a bare number, another unit, and junk.
pub fn parse_henries(text: &str) -> Result<Written<Henries>, UnitError> {
    let kind = Kind::Inductance;
    let scan = take_apart(text, kind)?;
    let shift = henries_shift(&scan, text)?;
    within(&scan, text, kind, shift, (MOST_HENRIES, "1000 H"))?;
    Ok(written(&scan, shift, Henries::new))
}

/// Reads a span of time: `45 s`, `4 min`, `1.5 h`.
///
/// # Errors
///
/// Refuses a bare number, `m` (minutes are written `min`), and junk.
pub fn parse_seconds(text: &str) -> Result<Written<Seconds>, UnitError> {
    let kind = Kind::Time;
    let scan = take_apart(text, kind)?;
    let scale = seconds_in(&scan, text)?;
    if scan.number(0) * scale > MOST_SECONDS {
        return Err(too_large(text, kind, "24 h"));
    }
    Ok(written(&scan, 0, |x| Seconds::new(x * scale)))
}

/// Reads a share written in per cent: `20%` is 0.2.
///
/// # Errors
///
/// Refuses a number without the sign, more than 100 %, and junk.
pub fn parse_share(text: &str) -> Result<f64, UnitError> {
    let kind = Kind::Share;
    let scan = take_apart(text, kind)?;
    match scan.tail.to_lowercase().as_str() {
        "%" | "percent" => {}
        "" => return Err(no_unit(text, kind)),
        _ => return Err(wrong_unit(&scan, text, kind)),
    }
    within(&scan, text, kind, -2, (1.0, "100%"))?;
    Ok(scan.number(-2))
}

/// Reads a voltage of either sign: `9.1 V`, `-8.98 V`, `350 mV`, `9.1`.
///
/// # Errors
///
/// Refuses another unit, a bare whole number, and junk.
pub fn parse_volts(text: &str) -> Result<Written<Volts>, UnitError> {
    let kind = Kind::Voltage;
    let scan = signed(text, kind)?;
    let shift = volts_shift(&scan, text)?;
    within(&scan, text, kind, shift, (MOST_VOLTS, "1000 V"))?;
    let sign = if scan.negative { -1.0 } else { 1.0 };
    let found = written(&scan, shift, Volts::new);
    Ok(Written { value: found.value * sign, ..found })
}

/// Reads a current of either sign: `0.5 mA`, `500 uA`.
///
/// # Errors
///
/// Refuses a bare number, another unit, and junk.
pub fn parse_amps(text: &str) -> Result<Written<Amps>, UnitError> {
    let kind = Kind::Current;
    let scan = signed(text, kind)?;
    let shift = amps_shift(&scan, text)?;
    within(&scan, text, kind, shift, (MOST_AMPS, "10 A"))?;
    let sign = if scan.negative { -1.0 } else { 1.0 };
    let found = written(&scan, shift, Amps::new);
    Ok(Written { value: found.value * sign, ..found })
}

fn take_apart(text: &str, kind: Kind) -> Result<Scan, UnitError> {
    let scan = signed(text, kind)?;
    if scan.negative && !scan.is_zero() {
        return Err(UnitError::Negative { kind, text: text.trim().to_owned() });
    }
    Ok(scan)
}

/// Takes a number apart that may be below zero.
pub(super) fn signed(text: &str, kind: Kind) -> Result<Scan, UnitError> {
    let text_owned = || text.trim().to_owned();
    scan(text).map_err(|trouble| match trouble {
        Trouble::Empty => UnitError::Empty { kind },
        Trouble::NotANumber => UnitError::NotANumber { kind, text: text_owned() },
        Trouble::CommaUnclear => UnitError::CommaUnclear { kind, text: text_owned() },
    })
}

fn written<Q>(scan: &Scan, shift: i32, make: impl Fn(f64) -> Q) -> Written<Q> {
    Written { value: make(scan.number(shift)), resolution: make(scan.resolution(shift)) }
}

fn within(
    scan: &Scan,
    text: &str,
    kind: Kind,
    shift: i32,
    most: (f64, &'static str),
) -> Result<(), UnitError> {
    if scan.number(shift) > most.0 {
        return Err(too_large(text, kind, most.1));
    }
    Ok(())
}

fn too_large(text: &str, kind: Kind, limit: &'static str) -> UnitError {
    UnitError::TooLarge { kind, text: text.trim().to_owned(), limit }
}

fn no_unit(text: &str, kind: Kind) -> UnitError {
    UnitError::NoUnit { kind, text: text.trim().to_owned() }
}

fn wrong_unit(scan: &Scan, text: &str, kind: Kind) -> UnitError {
    UnitError::WrongUnit { kind, text: text.trim().to_owned(), unit: scan.tail.clone() }
}

/// Splits lower-case letters into the prefix and whether one of `units` follows it.
fn split_unit<'a>(tail: &'a str, units: &[&str]) -> (&'a str, bool) {
    let found = units.iter().find_map(|unit| tail.strip_suffix(unit));
    (found.unwrap_or(tail), found.is_some())
}

fn ohms_shift(scan: &Scan, text: &str) -> Result<i32, UnitError> {
    if scan.tail.is_empty() {
        return bare_ohms(scan, text);
    }
    let lower = scan.tail.to_lowercase();
    let capital = scan.tail.starts_with(char::is_uppercase);
    match split_unit(&lower, &["ohms", "ohm", "ω"]) {
        ("", true) | ("r", false) => Ok(0),
        ("k" | "kilo" | "kil", _) => Ok(3),
        ("meg" | "mega", _) => Ok(6),
        ("m", _) if capital => Ok(6),
        ("m", _) => Err(milli_or_mega(scan, text)),
        ("g" | "gig" | "giga", _) => Ok(9),
        ("milli", true) => Ok(-3),
        ("l", false) if capital => Ok(-3),
        _ => Err(wrong_unit(scan, text, Kind::Resistance)),
    }
}

fn bare_ohms(scan: &Scan, text: &str) -> Result<i32, UnitError> {
    let long = scan.is_bare_integer() && scan.figures.trim_start_matches('0').len() >= 3;
    if long || scan.power || scan.is_zero() { Ok(0) } else { Err(no_unit(text, Kind::Resistance)) }
}

fn milli_or_mega(scan: &Scan, text: &str) -> UnitError {
    UnitError::MilliOrMega { text: text.trim().to_owned(), number: scan.number(0).to_string() }
}

fn farads_shift(scan: &Scan, text: &str) -> Result<i32, UnitError> {
    if scan.tail.is_empty() {
        return bare_farads(scan, text);
    }
    let lower = scan.tail.to_lowercase();
    match lower.as_str() {
        "f" | "farad" | "farads" => return Ok(0),
        // "mfd" is how old parts spell microfarads, in either case.
        "mfd" => return Ok(-6),
        _ => {}
    }
    match split_unit(&lower, &["farads", "farad", "fd", "f"]).0 {
        "p" | "pico" => Ok(-12),
        "n" | "nano" => Ok(-9),
        "u" | "µ" | "μ" | "micro" => Ok(-6),
        "m" if scan.tail.starts_with('m') => Ok(-3),
        _ => Err(wrong_unit(scan, text, Kind::Capacitance)),
    }
}

fn bare_farads(scan: &Scan, text: &str) -> Result<i32, UnitError> {
    if scan.power || scan.is_zero() {
        Ok(0)
    } else if scan.mark {
        Ok(-6)
    } else {
        Err(no_unit(text, Kind::Capacitance))
    }
}

fn henries_shift(scan: &Scan, text: &str) -> Result<i32, UnitError> {
    if scan.tail.is_empty() {
        let plain = scan.power || scan.is_zero();
        return if plain { Ok(0) } else { Err(no_unit(text, Kind::Inductance)) };
    }
    let lower = scan.tail.to_lowercase();
    match split_unit(&lower, &["henries", "henry", "h"]) {
        ("", true) => Ok(0),
        ("m", true) if scan.tail.starts_with('m') => Ok(-3),
        ("milli", true) => Ok(-3),
        ("u" | "µ" | "μ" | "micro", true) => Ok(-6),
        _ => Err(wrong_unit(scan, text, Kind::Inductance)),
    }
}

fn volts_shift(scan: &Scan, text: &str) -> Result<i32, UnitError> {
    if scan.tail.is_empty() {
        let plain = scan.mark || scan.power || scan.is_zero();
        return if plain { Ok(0) } else { Err(no_unit(text, Kind::Voltage)) };
    }
    match split_unit(&scan.tail.to_lowercase(), &["volts", "volt", "v"]) {
        ("", true) => Ok(0),
        ("m" | "milli", true) => Ok(-3),
        _ => Err(wrong_unit(scan, text, Kind::Voltage)),
    }
}

fn amps_shift(scan: &Scan, text: &str) -> Result<i32, UnitError> {
    if scan.tail.is_empty() {
        return if scan.is_zero() { Ok(0) } else { Err(no_unit(text, Kind::Current)) };
    }
    match split_unit(&scan.tail.to_lowercase(), &["amps", "amp", "a"]) {
        ("", true) => Ok(0),
        ("m" | "milli", true) => Ok(-3),
        ("u" | "µ" | "μ" | "micro", true) => Ok(-6),
        _ => Err(wrong_unit(scan, text, Kind::Current)),
    }
}

fn seconds_in(scan: &Scan, text: &str) -> Result<f64, UnitError> {
    match scan.tail.to_lowercase().as_str() {
        "s" | "sec" | "secs" | "second" | "seconds" => Ok(1.0),
        "min" | "mins" | "minute" | "minutes" => Ok(60.0),
        "h" | "hr" | "hour" | "hours" => Ok(3600.0),
        "" if scan.is_zero() => Ok(1.0),
        "" => Err(no_unit(text, Kind::Time)),
        _ => Err(wrong_unit(scan, text, Kind::Time)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn close(found: f64, expected: f64) {
        assert!((found - expected).abs() <= expected.abs() * 1e-12, "found {found}, expected {expected}");
    }

    // IEC 60062, resistance codes as a public encyclopaedia page lists them.
    #[rstest]
    #[case("R47", 0.47, 0.01)]
    #[case("4R7", 4.7, 0.1)]
    #[case("470R", 470.0, 1.0)]
    #[case("4K7", 4_700.0, 100.0)]
    #[case("47K3", 47_300.0, 100.0)]
    #[case("470K", 470_000.0, 1e3)]
    #[case("4M7", 4_700_000.0, 1e5)]
    // IEC 60062 letters L and G, from memory.
    #[case("5L0", 0.005, 1e-4)]
    #[case("1G0", 1e9, 1e8)]
    fn reads_the_resistance_codes_of_iec_60062(#[case] text: &str, #[case] ohms: f64, #[case] last: f64) {
        let written = parse_ohms(text).unwrap();
        close(written.value.get(), ohms);
        close(written.resolution.get(), last);
    }

    // IEC 60062, capacitance codes, from memory.
    #[rstest]
    #[case("p10", 0.1e-12)]
    #[case("1p5", 1.5e-12)]
    #[case("n22", 220e-12)]
    #[case("220p", 220e-12)]
    #[case("1n0", 1e-9)]
    #[case("22n", 22e-9)]
    #[case("4n7", 4.7e-9)]
    #[case("1µ0", 1e-6)]
    #[case("1m0", 1e-3)]
    #[case("1F0", 1.0)]
    fn reads_the_capacitance_codes_of_iec_60062(#[case] text: &str, #[case] farads: f64) {
        close(parse_farads(text).unwrap().value.get(), farads);
    }

    // Common practice, no source: the ways a bench writes 7.6 kilohms.
    #[rstest]
    #[case("7600", 1.0)]
    #[case("7600R", 1.0)]
    #[case("7600r", 1.0)]
    #[case("7.6k", 100.0)]
    #[case("7k6", 100.0)]
    #[case("7K60", 10.0)]
    #[case("7.60k", 10.0)]
    #[case("7.60 kΩ", 10.0)]
    #[case("7.60 k\u{2126}", 10.0)]
    #[case("7,6 k", 100.0)]
    #[case("7.6 kohm", 100.0)]
    #[case("7.6 k ohms", 100.0)]
    #[case("7.6 Kilohm", 100.0)]
    #[case("7.6e3", 100.0)]
    #[case("+7.60000000E+03", 1e-5)]
    #[case("0.0076M", 100.0)]
    #[case("0.0076meg", 100.0)]
    #[case(" 7.6k ", 100.0)]
    fn reads_seven_point_six_kilohms(#[case] text: &str, #[case] last: f64) {
        let written = parse_ohms(text).unwrap();
        close(written.value.get(), 7600.0);
        close(written.resolution.get(), last);
    }

    #[rstest]
    #[case("0", 0.0, 1.0)]
    #[case("0.0", 0.0, 0.1)]
    #[case("-0.0", 0.0, 0.1)]
    #[case("0.2R", 0.2, 0.1)]
    #[case("3 milliohm", 0.003, 0.001)]
    #[case("500k", 5e5, 1e3)]
    #[case("1meg", 1e6, 1e6)]
    fn reads_other_resistances(#[case] text: &str, #[case] ohms: f64, #[case] last: f64) {
        let written = parse_ohms(text).unwrap();
        close(written.value.get(), ohms);
        close(written.resolution.get(), last);
    }

    // Common practice, no source: the ways a bench writes 22 nanofarads.
    #[rstest]
    #[case("22n")]
    #[case("22nF")]
    #[case("22 NF")]
    #[case("0.022")]
    #[case(".022")]
    #[case("0,022")]
    #[case(".022u")]
    #[case("0.022 µF")]
    #[case("0.022 μF")]
    #[case("0.022 MFD")]
    #[case("223")]
    #[case("223J")]
    #[case("22000p")]
    #[case("22e-9")]
    fn reads_twenty_two_nanofarads(#[case] text: &str) {
        close(parse_farads(text).unwrap().value.get(), 22e-9);
    }

    #[rstest]
    #[case("4.4 H", 4.4)]
    #[case("4H4", 4.4)]
    #[case("900 mH", 0.9)]
    #[case("2.5e0", 2.5)]
    fn reads_inductances(#[case] text: &str, #[case] henries: f64) {
        close(parse_henries(text).unwrap().value.get(), henries);
    }

    #[rstest]
    #[case("45 s", 45.0, 1.0)]
    #[case("4 min", 240.0, 60.0)]
    #[case("1.5min", 90.0, 6.0)]
    #[case("2 h", 7200.0, 3600.0)]
    #[case("0", 0.0, 1.0)]
    fn reads_spans_of_time(#[case] text: &str, #[case] seconds: f64, #[case] last: f64) {
        let written = parse_seconds(text).unwrap();
        close(written.value.get(), seconds);
        close(written.resolution.get(), last);
    }

    #[rstest]
    #[case("20%", 0.2)]
    #[case("20 %", 0.2)]
    #[case("0,5 %", 0.005)]
    #[case("100%", 1.0)]
    fn reads_shares(#[case] text: &str, #[case] share: f64) {
        close(parse_share(text).unwrap(), share);
    }

    #[rstest]
    #[case("", "cannot read a resistance: nothing is written", "write it like 7.6k, 4k7 or 470 ohm")]
    #[case(
        "7.6",
        "cannot read \"7.6\" as a resistance: it has no unit",
        "write 7.6k for kilohms or 7.6R for ohms"
    )]
    #[case(
        "47",
        "cannot read \"47\" as a resistance: it has no unit",
        "write 47k for kilohms or 47R for ohms"
    )]
    #[case(
        "1m5",
        "cannot read \"1m5\" as a resistance: a small m can be milliohms or megohms",
        "write 1.5M or 1.5meg for megohms, 1.5 milliohm for milliohms"
    )]
    #[case(
        "7,600k",
        "cannot read \"7,600k\" as a resistance: the comma can be a decimal comma or part off thousands",
        "write 7.600k or 7600k"
    )]
    #[case(
        "22n",
        "cannot read \"22n\" as a resistance: \"n\" is not one of ohm, R, k, M, G, L",
        "write it like 7.6k, 4k7 or 470 ohm"
    )]
    #[case(
        "7.6.1k",
        "cannot read \"7.6.1k\" as a resistance: it is not a number with a unit",
        "write it like 7.6k, 4k7 or 470 ohm"
    )]
    #[case(
        "-3k",
        "cannot read \"-3k\" as a resistance: it is below zero",
        "write it like 7.6k, 4k7 or 470 ohm"
    )]
    #[case(
        "9.9e37",
        "cannot read \"9.9e37\" as a resistance: it is more than 1000 GΩ",
        "write it like 7.6k, 4k7 or 470 ohm"
    )]
    fn refuses_unclear_resistances(#[case] text: &str, #[case] message: &str, #[case] hint: &str) {
        let error = parse_ohms(text).unwrap_err();
        assert_eq!(error.to_string(), message);
        assert_eq!(error.hint(), hint);
    }

    #[rstest]
    #[case("seven")]
    #[case("7 600")]
    #[case("4k 7")]
    #[case("k")]
    #[case(".")]
    #[case("7.6e3e3")]
    #[case("7.6k!")]
    #[case("1e99999999999")]
    fn refuses_junk(#[case] text: &str) {
        assert!(parse_ohms(text).is_err(), "{text} was taken for a resistance");
        assert!(parse_farads(text).is_err(), "{text} was taken for a capacitance");
    }

    #[rstest]
    #[case("22")]
    #[case("2200")]
    #[case("220")]
    #[case("047")]
    #[case("22M")]
    #[case("22k")]
    #[case("2F")]
    fn refuses_unclear_capacitances(#[case] text: &str) {
        assert!(parse_farads(text).is_err(), "{text} was taken for a capacitance");
    }

    #[test]
    fn refuses_minutes_written_as_m_and_shares_without_the_sign() {
        let minutes = parse_seconds("4m").unwrap_err();
        assert_eq!(
            minutes.to_string(),
            "cannot read \"4m\" as a span of time: \"m\" is not one of s, min, h"
        );
        let share = parse_share("0.2").unwrap_err();
        assert_eq!(share.to_string(), "cannot read \"0.2\" as a share: it has no unit");
        assert_eq!(share.hint(), "write 0.2%");
        assert!(parse_share("120%").is_err(), "a tolerance above the whole was taken");
        assert!(parse_seconds("30 h").is_err(), "more than a day was taken");
    }
}
