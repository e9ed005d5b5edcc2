//! Typed text becomes what the meter showed, or a question.

use super::{Dial, Ends, EntryError, Level, Mode, Said, Shown};
use crate::units::{
    Ohms, UnitError, Written, parse_amps, parse_farads, parse_ohms, parse_volts, show_ohms_to,
};

/// What bench meters send for over range (SCPI-1999); one and more of it means infinite.
const INFINITE: f64 = 9.9e37;
/// What bench meters send for no value (SCPI-1999).
const NO_VALUE: f64 = 9.91e37;

/// A value down to this many ohms below zero comes from zeroing the leads and counts as zero.
const ZEROING: f64 = -1.0;

const BEEPS: &[&str] = &["beep", "beeps", "b", "yes", "y"];
const SILENT: &[&str] = &["no beep", "nobeep", "no-beep", "nb", "silent", "no", "n"];
const COMES_AND_GOES: &[&str] =
    &["comes and goes", "on and off", "sometimes", "crackles", "crackle", "flickers"];

/// Reads what was typed for a measurement in `mode`.
///
/// A measurement taken while something was flexed keeps a lowest and a highest value; one value typed
/// for it stands for both, and a unit behind the second counts for the first too where that has none. A
/// still one takes one value only. The dial at continuity takes a plain number as ohms, which is what its
/// display means. A swept knob takes its highest value, or the lowest and the highest, or `at 0 / highest / at 10`.
///
/// # Errors
///
/// Refuses everything that can mean two things, with the question that settles it.
pub fn parse_entry(text: &str, mode: Mode, flexed: bool) -> Result<Shown, EntryError> {
    let text = text.trim();
    if let Mode::Observe(_) = mode {
        return said(text).map(Shown::Said).ok_or_else(|| EntryError::YesOrNo { text: text.to_owned() });
    }
    if let Some(beep) = beep(text, mode)? {
        return Ok(Shown::Beep(beep));
    }
    if let Some(swept) = swept(text, mode)? {
        return Ok(swept);
    }
    if let Some(span) = span(text, mode).transpose() {
        return if flexed { span } else { Err(span_while_still(text, span)) };
    }
    let level = level(text, mode)?;
    Ok(if flexed { Shown::Range { low: level, high: level } } else { Shown::Steady(level) })
}

const CANNOT_TELL: &[&str] =
    &["can't tell", "cant tell", "cannot tell", "cannot be told", "unsure", "don't know", "?"];

/// Reads an answer to an observation.
fn said(text: &str) -> Option<Said> {
    let words = text.to_lowercase().split_whitespace().collect::<Vec<_>>().join(" ");
    match words.as_str() {
        "yes" | "y" => Some(Said::Yes),
        "no" | "n" => Some(Said::No),
        words => CANNOT_TELL.contains(&words).then_some(Said::CannotTell),
    }
}

/// Reads what a swept knob showed beyond the highest value; `None` when there is no more, or nothing was swept.
fn swept(text: &str, mode: Mode) -> Result<Option<Shown>, EntryError> {
    if mode != Mode::Sweep {
        return Ok(None);
    }
    if let Some(Shown::Range { low, high }) = span(text, mode)? {
        return Ok(Some(Shown::Swept { highest: high, ends: Ends::Lowest(low) }));
    }
    let values: Vec<&str> = text.split('/').map(str::trim).collect();
    match values[..] {
        [_] => Ok(None),
        [from, highest, to] if !values.contains(&"") => {
            let [from, highest, to] = [level(from, mode)?, level(highest, mode)?, level(to, mode)?];
            if worth(highest) < worth(from).max(worth(to)) {
                return Err(EntryError::NotHighest { text: text.to_owned() });
            }
            Ok(Some(Shown::Swept { highest, ends: Ends::Both { from, to } }))
        }
        _ => Err(EntryError::SweptValues { text: text.to_owned() }),
    }
}

/// Returns why a pair of values is not taken for a still reading: it is one, unless there is no sense in it.
fn span_while_still(text: &str, span: Result<Shown, EntryError>) -> EntryError {
    use EntryError::{HalfInterval, MinAboveMax, OhmOrKilohm};
    match span {
        Ok(_) | Err(HalfInterval { .. } | MinAboveMax { .. } | OhmOrKilohm { .. }) => {
            EntryError::SpanWhileStill { text: text.to_owned() }
        }
        Err(other) => other,
    }
}

/// Reads a pair of values; `None` when there is only one.
fn span(text: &str, mode: Mode) -> Result<Option<Shown>, EntryError> {
    let Some((low, high)) = interval(text)? else { return Ok(None) };
    let (low, high) = match text.ends_with(high) {
        true => (before(low, high, mode)?, level(high, mode)?),
        false => (level(low, mode)?, before(high, low, mode)?),
    };
    pair(text, low, high, is_labelled(text)).map(Some)
}

/// Reads the first of two values; where it has no unit, that of the second counts.
fn before(first: &str, second: &str, mode: Mode) -> Result<Level, EntryError> {
    let Some(unit) = trailing_unit(second).filter(|_| is_bare(first)) else { return level(first, mode) };
    let shared = level(&format!("{first} {unit}"), mode)?;
    match level(first, mode) {
        Err(EntryError::OhmOrKilohm { .. } | EntryError::OneAlone { .. }) => Ok(shared),
        Ok(own) if worth(own) < worth(shared) && worth(shared) <= worth(level(second, mode)?) => {
            Err(EntryError::OhmOrKilohm { text: first.to_owned() })
        }
        own => own,
    }
}

fn is_bare(text: &str) -> bool {
    text.contains(|c: char| c.is_ascii_digit()) && !text.contains(char::is_alphabetic)
}

/// Returns the unit that a value ends in.
fn trailing_unit(text: &str) -> Option<&str> {
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | ' ' | '+'));
    let is_unit = !unit.is_empty() && unit.len() < text.len() && unit.chars().all(char::is_alphabetic);
    let known = is_unit && !is_over_range(text) && parse_ohms(&format!("2 {unit}")).is_ok();
    known.then_some(unit)
}

/// Returns what was understood, in words to say back.
pub fn echo(shown: &Shown) -> String {
    match shown {
        Shown::Steady(Level::OverRange) => "over range".to_owned(),
        Shown::Steady(level) => format!("{}, steady", level_words(level)),
        Shown::Range { low, high } if low == high => format!("{}, steady while flexed", level_words(low)),
        Shown::Range { low, high } => {
            format!("moving between {} and {}", level_words(low), level_words(high))
        }
        Shown::Swept { highest, ends: Ends::Lowest(low) } => {
            format!("between {} and {} over the whole range", level_words(low), level_words(highest))
        }
        Shown::Swept { highest, ends: Ends::Both { from, to } } => {
            let [from, highest, to] = [from, highest, to].map(level_words);
            format!("{from} at 0, highest {highest}, {to} at 10")
        }
        Shown::Beep(true) => "it beeps".to_owned(),
        Shown::Beep(false) => "no beep".to_owned(),
        Shown::Said(Said::Yes) => "yes".to_owned(),
        Shown::Said(Said::No) => "no".to_owned(),
        Shown::Said(Said::CannotTell) => "it cannot be told".to_owned(),
    }
}

/// Returns what to add to the echo when the text was not taken word for word.
pub fn note(text: &str) -> Option<&'static str> {
    let below_zero = text.trim().starts_with(['-', '−']) && text.contains(|c: char| ('1'..='9').contains(&c));
    below_zero.then_some("a small value below zero comes from zeroing the leads and counts as zero")
}

fn level_words(level: &Level) -> String {
    match level {
        Level::Ohms { value, resolution } => show_ohms_to(*value, *resolution),
        other => other.words(),
    }
}

fn beep(text: &str, mode: Mode) -> Result<Option<bool>, EntryError> {
    let words = text.to_lowercase().split_whitespace().collect::<Vec<_>>().join(" ");
    let is_in = |list: &[&str]| list.contains(&words.as_str());
    let owned = || text.to_owned();
    if is_in(COMES_AND_GOES) {
        return Err(EntryError::BeepComesAndGoes { text: owned() });
    }
    let sounded = if is_in(BEEPS) {
        true
    } else if is_in(SILENT) {
        false
    } else {
        return Ok(None);
    };
    match mode {
        Mode::Continuity => Ok(Some(sounded)),
        _ => Err(EntryError::BeepInOhms { text: owned() }),
    }
}

fn is_labelled(text: &str) -> bool {
    let lower = text.to_ascii_lowercase();
    lower.contains("min") || lower.contains("max")
}

/// Splits a pair of values; `None` when there is only one.
fn interval(text: &str) -> Result<Option<(&str, &str)>, EntryError> {
    if is_over_range(text) || is_no_reading(text) {
        return Ok(None);
    }
    if is_labelled(text) {
        return labelled(text).map(Some);
    }
    let half = |(low, high): (&str, &str)| low.is_empty() || high.is_empty();
    match split_pair(text).map(|(low, high)| (low.trim(), high.trim())) {
        Some(sides) if half(sides) => Err(EntryError::HalfInterval { text: text.to_owned() }),
        sides => Ok(sides),
    }
}

fn labelled(text: &str) -> Result<(&str, &str), EntryError> {
    let half = || EntryError::HalfInterval { text: text.to_owned() };
    let lower = text.to_ascii_lowercase();
    let (min, max) = lower.find("min").zip(lower.find("max")).ok_or_else(half)?;
    let first = min.min(max);
    let second = min.max(max);
    if !text[..first].trim().is_empty() {
        return Err(EntryError::NotUnderstood { text: text.to_owned() });
    }
    let (one, other) = (strip_signs(&text[first + 3..second]), strip_signs(&text[second + 3..]));
    if one.is_empty() || other.is_empty() {
        return Err(half());
    }
    Ok(if min < max { (one, other) } else { (other, one) })
}

/// Takes off what stands around a labelled value: `min: 6.05k, max = OL`.
fn strip_signs(side: &str) -> &str {
    side.trim_start_matches([' ', ':', '=']).trim_end_matches([' ', ',', ';', '/'])
}

fn split_pair(text: &str) -> Option<(&str, &str)> {
    let words = [" to ", "..", "–", "—", "…"];
    words.iter().find_map(|word| text.split_once(word)).or_else(|| split_at_hyphen(text))
}

/// Splits at the first hyphen that is neither a sign nor part of a power of ten.
fn split_at_hyphen(text: &str) -> Option<(&str, &str)> {
    let parts = |at: &usize| {
        let before = text[..*at].trim_end();
        !before.is_empty() && !before.ends_with('-') && !is_power(before)
    };
    let at = text.match_indices('-').map(|(at, _)| at).find(parts)?;
    Some((&text[..at], &text[at + 1..]))
}

/// Whether text ends in a figure and an `e`, so that a hyphen behind it is the sign of a power.
fn is_power(before: &str) -> bool {
    before
        .strip_suffix(['e', 'E'])
        .is_some_and(|number| number.ends_with(|c: char| c.is_ascii_digit() || c == '.'))
}

fn pair(text: &str, one: Level, other: Level, labelled: bool) -> Result<Shown, EntryError> {
    let falls = worth(one) > worth(other);
    if falls && labelled {
        return Err(EntryError::MinAboveMax { text: text.to_owned() });
    }
    let (low, high) = if falls { (other, one) } else { (one, other) };
    Ok(Shown::Range { low, high })
}

fn worth(level: Level) -> f64 {
    level.number().map_or(f64::INFINITY, |(value, _)| value)
}

fn level(text: &str, mode: Mode) -> Result<Level, EntryError> {
    let text = text.trim();
    let owned = || text.to_owned();
    if is_no_reading(text) {
        return Err(EntryError::NoReading { text: owned() });
    }
    if is_over_range(text) {
        return Ok(Level::OverRange);
    }
    if mode.dial() != Dial::Ohms {
        return other_dial(text, mode.dial()).map_err(EntryError::OtherUnit);
    }
    if matches!(text, "1" | "1.") {
        return Err(EntryError::OneAlone { text: owned() });
    }
    if let Some(size) = text.strip_prefix(['-', '−']) {
        return below_zero(text, size);
    }
    ohms(text, mode).map(shown).map_err(EntryError::from_unit)
}

/// Reads farads, volts or amperes.
fn other_dial(text: &str, dial: Dial) -> Result<Level, UnitError> {
    let (value, resolution) = match dial {
        Dial::Ohms => parse_ohms(text).map(|w| (w.value.get(), w.resolution.get()))?,
        Dial::Farads => parse_farads(text).map(|w| (w.value.get(), w.resolution.get()))?,
        Dial::Volts => parse_volts(text).map(|w| (w.value.get(), w.resolution.get()))?,
        Dial::Amps => parse_amps(text).map(|w| (w.value.get(), w.resolution.get()))?,
    };
    Ok(Level::of(dial, value, resolution))
}

fn shown(written: Written<Ohms>) -> Level {
    Level::Ohms { value: written.value, resolution: written.resolution }
}

/// Reads ohms; at continuity a bare number is in ohms.
fn ohms(text: &str, mode: Mode) -> Result<Written<Ohms>, UnitError> {
    match parse_ohms(text) {
        Err(UnitError::NoUnit { .. }) if mode == Mode::Continuity => bare_ohms(text),
        read => read,
    }
}

fn bare_ohms(text: &str) -> Result<Written<Ohms>, UnitError> {
    parse_ohms(&format!("{text} ohm"))
}

fn below_zero(text: &str, size: &str) -> Result<Level, EntryError> {
    let written = parse_ohms(size)
        .or_else(|error| match error {
            UnitError::NoUnit { .. } => bare_ohms(size),
            other => Err(other),
        })
        .map_err(EntryError::from_unit)?;
    if -written.value.get() < ZEROING {
        return Err(EntryError::BelowZero { text: text.to_owned() });
    }
    Ok(Level::Ohms { value: Ohms::new(0.0), resolution: written.resolution })
}

fn is_no_reading(text: &str) -> bool {
    let dashes = text.chars().all(|c| matches!(c, '-' | '–' | '—' | '−' | '_' | '.' | ' '));
    dashes
        || text.eq_ignore_ascii_case("nan")
        || number(text).is_some_and(|x| (x / NO_VALUE - 1.0).abs() < 1e-6)
}

fn is_over_range(text: &str) -> bool {
    let word: String =
        text.to_lowercase().chars().filter(|c| !matches!(c, '.' | ',' | ' ' | '-' | '/')).collect();
    let spelled = matches!(
        word.as_str(),
        "inf" | "infinity" | "infinite" | "∞" | "open" | "overrange" | "overload" | "over"
    );
    spelled || is_overload_sign(&word) || number(text).is_some_and(|x| x >= INFINITE)
}

/// Whether a word is the display's `OL`, with an O or a nought, with or without the unit beside it.
fn is_overload_sign(word: &str) -> bool {
    let unit = word.strip_prefix("ol").or_else(|| word.strip_prefix("0l"));
    unit.is_some_and(|unit| matches!(unit, "" | "k" | "m" | "ω" | "kω" | "mω" | "ohm" | "kohm" | "mohm"))
}

/// Returns the text as a plain number; words such as `inf` are none.
fn number(text: &str) -> Option<f64> {
    text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '+' | '.')).then(|| text.parse().ok())?
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn value(ohms: f64, resolution: f64) -> Level {
        Level::Ohms { value: Ohms::new(ohms), resolution: Ohms::new(resolution) }
    }

    fn still(text: &str) -> Result<Shown, EntryError> {
        parse_entry(text, Mode::Resistance, false)
    }

    fn moved(text: &str) -> Result<Shown, EntryError> {
        parse_entry(text, Mode::Resistance, true)
    }

    // Common practice, no source: the ways a bench writes one and the same reading.
    #[rstest]
    #[case("7600", 1.0)]
    #[case("7600R", 1.0)]
    #[case("7.6k", 100.0)]
    #[case("7k6", 100.0)]
    #[case("7K60", 10.0)]
    #[case("7.60 kΩ", 10.0)]
    #[case("7,6 k", 100.0)]
    #[case("7.6 kohm", 100.0)]
    #[case("7.6e3", 100.0)]
    #[case("+7.60000000E+03", 1e-5)]
    #[case("0.0076M", 100.0)]
    fn takes_a_value(#[case] text: &str, #[case] resolution: f64) {
        assert_eq!(still(text), Ok(Shown::Steady(value(7600.0, resolution))));
    }

    #[rstest]
    #[case("R47", 0.47, 0.01)]
    #[case("4R7", 4.7, 0.1)]
    #[case("470R", 470.0, 1.0)]
    #[case("4K7", 4700.0, 100.0)]
    #[case("47K3", 47_300.0, 100.0)]
    #[case("4M7", 4.7e6, 1e5)]
    #[case("0.2r", 0.2, 0.1)]
    #[case("0", 0.0, 1.0)]
    #[case("0.0", 0.0, 0.1)]
    #[case("1r", 1.0, 1.0)]
    fn takes_codes_and_noughts(#[case] text: &str, #[case] ohms: f64, #[case] resolution: f64) {
        assert_eq!(still(text), Ok(Shown::Steady(value(ohms, resolution))));
    }

    // Meter manuals for the displays; SCPI-1999 for the bench meters' 9.9E37.
    #[rstest]
    #[case("OL")]
    #[case("ol")]
    #[case("O.L")]
    #[case(".OL")]
    #[case("0L")]
    #[case("0.L")]
    #[case("OL MΩ")]
    #[case("inf")]
    #[case("∞")]
    #[case("open")]
    #[case("over-range")]
    #[case("9.9E37")]
    #[case("+9.90000000E+37")]
    fn takes_over_range(#[case] text: &str) {
        assert_eq!(still(text), Ok(Shown::Steady(Level::OverRange)));
        assert_eq!(parse_entry(text, Mode::Continuity, false), still(text));
    }

    #[rstest]
    #[case("beep", true)]
    #[case("Beep", true)]
    #[case("b", true)]
    #[case("no beep", false)]
    #[case("no  beep", false)]
    #[case("no-beep", false)]
    #[case("nb", false)]
    fn takes_the_beeper(#[case] text: &str, #[case] sounded: bool) {
        assert_eq!(parse_entry(text, Mode::Continuity, false), Ok(Shown::Beep(sounded)));
        assert_eq!(parse_entry(text, Mode::Continuity, true), Ok(Shown::Beep(sounded)));
        assert_eq!(still(text), Err(EntryError::BeepInOhms { text: text.to_owned() }));
    }

    #[rstest]
    #[case("7.6", 7.6)]
    #[case("0.2", 0.2)]
    #[case("7.6 ohm", 7.6)]
    #[case("045", 45.0)]
    fn takes_bare_ohms_at_continuity(#[case] text: &str, #[case] ohms: f64) {
        let Ok(Shown::Steady(Level::Ohms { value, .. })) = parse_entry(text, Mode::Continuity, false) else {
            panic!("{text} was not taken");
        };
        assert_eq!(value, Ohms::new(ohms));
    }

    fn turned(text: &str) -> Result<Shown, EntryError> {
        parse_entry(text, Mode::Sweep, false)
    }

    #[rstest]
    #[case("0r / 64k / 6.05k")]
    #[case("0r/64k/6.05k")]
    fn takes_the_ends_of_a_swept_knob(#[case] text: &str) {
        let ends = Ends::Both { from: value(0.0, 1.0), to: value(6050.0, 10.0) };
        assert_eq!(turned(text), Ok(Shown::Swept { highest: value(64e3, 1e3), ends }));
    }

    #[test]
    fn takes_one_or_two_values_of_a_swept_knob() {
        assert_eq!(turned("64k"), Ok(Shown::Steady(value(64e3, 1e3))));
        let ends = Ends::Lowest(value(0.3, 0.1));
        assert_eq!(turned("0.3r-64k"), Ok(Shown::Swept { highest: value(64e3, 1e3), ends }));
    }

    #[rstest]
    #[case("0r/64k", EntryError::SweptValues { text: "0r/64k".to_owned() })]
    #[case("0r//6.05k", EntryError::SweptValues { text: "0r//6.05k".to_owned() })]
    #[case("64k/6k/0r", EntryError::NotHighest { text: "64k/6k/0r".to_owned() })]
    #[case("0r/64/6.05k", EntryError::OhmOrKilohm { text: "64".to_owned() })]
    fn asks_when_the_values_of_a_swept_knob_do_not_make_sense(#[case] text: &str, #[case] why: EntryError) {
        assert_eq!(turned(text), Err(why));
    }

    #[rstest]
    #[case("6.05k-6.40k")]
    #[case("6.05k–6.40k")]
    #[case("6.05k - 6.40k")]
    #[case("6.05k to 6.40k")]
    #[case("6.05k..6.40k")]
    #[case("6.40k-6.05k")]
    #[case("6.05e+3-64.0e2")]
    #[case("min 6.05k max 6.40k")]
    #[case("Max: 6.40k, Min: 6.05k")]
    fn takes_a_pair(#[case] text: &str) {
        let low = value(6050.0, 10.0);
        let high = value(6400.0, 10.0);
        let expected = Ok(Shown::Range { low, high });
        assert_eq!(moved(text), expected);
    }

    #[rstest]
    #[case("0.3..0.4 ohm", 0.3, 0.4)]
    #[case("0.3-0.4r", 0.3, 0.4)]
    #[case("1 to 3 ohm", 1.0, 3.0)]
    #[case("max 0.4 min 0.3 ohm", 0.3, 0.4)]
    #[case("6.05-6.40k", 6050.0, 6400.0)]
    #[case("0..6.4k", 0.0, 6400.0)]
    #[case("6050..6.4k", 6050.0, 6400.0)]
    #[case("470..500", 470.0, 500.0)]
    fn a_unit_behind_both_counts_for_both(#[case] text: &str, #[case] low: f64, #[case] high: f64) {
        let Ok(Shown::Range { low: found, high: other }) = moved(text) else {
            panic!("{text}: {:?}", moved(text));
        };
        assert_eq!([worth(found), worth(other)], [low, high]);
    }

    #[rstest]
    #[case("6.05-OL", "6.05")]
    #[case("6.05-0L", "6.05")]
    #[case("7.4k..8", "8")]
    #[case("300..400k", "300")]
    #[case("6.05-6.40", "6.05")]
    fn a_unit_that_is_missing_or_unclear_is_asked_for(#[case] text: &str, #[case] number: &str) {
        assert_eq!(moved(text), Err(EntryError::OhmOrKilohm { text: number.to_owned() }));
    }

    #[rstest]
    #[case("6.05k..OL")]
    #[case("6.05k-6.40k")]
    #[case("6.05-6.40")]
    #[case("min 6.05k max 6.40k")]
    #[case("min OL max 6k")]
    #[case("min 6.05k")]
    #[case("6.05k-")]
    fn a_span_is_no_still_reading(#[case] text: &str) {
        let refused = Err(EntryError::SpanWhileStill { text: text.to_owned() });
        assert_eq!(still(text), refused);
        assert_eq!(parse_entry(text, Mode::Continuity, false), refused);
        let question = still(text).unwrap_err().question();
        assert!(question.contains("was something moved") && question.contains("--flex"), "{question}");
    }

    #[rstest]
    #[case("min 6.05k max OL")]
    #[case("6k05-ol")]
    #[case("ol-6k05")]
    fn takes_a_pair_with_over_range(#[case] text: &str) {
        let low = value(6050.0, 10.0);
        let expected = Ok(Shown::Range { low, high: Level::OverRange });
        assert_eq!(parse_entry(text, Mode::Resistance, true), expected);
    }

    #[test]
    fn a_power_of_ten_is_no_pair() {
        assert_eq!(still("5.0e-1"), Ok(Shown::Steady(value(0.5, 0.01))));
        let pair = Shown::Range { low: value(0.5, 0.01), high: value(2e3, 1e3) };
        assert_eq!(moved("5.0e-1-2k"), Ok(pair));
    }

    #[test]
    fn one_value_stands_for_both_while_flexed() {
        let level = value(7600.0, 10.0);
        let shown = parse_entry("7.60k", Mode::Resistance, true);
        assert_eq!(shown, Ok(Shown::Range { low: level, high: level }));
    }

    #[test]
    fn a_little_below_zero_is_zero_with_a_note() {
        assert_eq!(still("-0.2"), Ok(Shown::Steady(value(0.0, 0.1))));
        assert_eq!(still("-1"), Ok(Shown::Steady(value(0.0, 1.0))));
        assert!(note("-0.2").is_some_and(|note| note.contains("counts as zero")));
        assert_eq!(note("-0.0"), None);
        assert_eq!(note("7.6k"), None);
    }

    #[rstest]
    #[case("7.6", "it has no unit", "type 7.6r for ohms or 7.6k for kilohms")]
    #[case("0.2", "it has no unit", "type 0.2r for ohms or 0.2k for kilohms")]
    #[case("47", "it has no unit", "type 47r for ohms or 47k for kilohms")]
    #[case("1", "one ohm or over range", "type ol if it is, 1r for one ohm")]
    #[case("1.", "one ohm or over range", "alone at the left edge")]
    #[case("", "the meter shows no value", "type the value, or ol")]
    #[case("---", "the meter shows no value", "type the value, or ol")]
    #[case("NAN", "the meter shows no value", "type the value, or ol")]
    #[case("9.91E37", "the meter shows no value", "type the value, or ol")]
    #[case("-3", "a resistance cannot be below zero", "touch the probes together")]
    #[case("-0.2k", "a resistance cannot be below zero", "disconnect")]
    #[case("22n", "\"n\" is not a unit of resistance", "set it to ohms")]
    #[case("9 V", "\"V\" is not a unit of resistance", "set it to ohms")]
    #[case("1m5", "milliohms or megohms", "type 1.5meg for megohms")]
    #[case("7,600", "decimal comma", "type 7.600k or 7.600r if it is, 7600 if it is not")]
    #[case("7.6 something", "\"something\" is not a unit", "such as 7.6k")]
    #[case("about 7k", "no value", "7.6k, 470r, ol")]
    #[case("7.6k!", "no value", "7.6k, 470r, ol")]
    #[case("2e15", "no meter shows that much", "type ol if it does")]
    #[case("comes and goes", "comes and goes", "0.4r-ol")]
    fn asks_when_text_is_unclear(#[case] text: &str, #[case] message: &str, #[case] question: &str) {
        let error = still(text).unwrap_err();
        assert!(error.to_string().contains(message), "{error}");
        assert!(error.question().contains(question), "{}", error.question());
    }

    #[rstest]
    #[case("6.05-6.40", "\"6.05\" as a reading: it has no unit", "type 6.05r")]
    #[case("min 6.05k", "only one of lowest and highest", "type both")]
    #[case("6.05k-", "only one of lowest and highest", "type both")]
    #[case("min OL max 6k", "the lowest value is above the highest", "type it first")]
    fn asks_when_a_pair_is_unclear(#[case] text: &str, #[case] message: &str, #[case] question: &str) {
        let error = moved(text).unwrap_err();
        assert!(error.to_string().contains(message), "{error}");
        assert!(error.question().contains(question), "{}", error.question());
    }

    #[rstest]
    #[case("7.60k", false, "7.60 kΩ, steady")]
    #[case("7.60k", true, "7.60 kΩ, steady while flexed")]
    #[case("7k6", false, "7.6 kΩ, steady")]
    #[case("ol", false, "over range")]
    #[case("6.05k-ol", true, "moving between 6.05 kΩ and over range")]
    fn says_back_what_was_understood(#[case] text: &str, #[case] flexed: bool, #[case] words: &str) {
        assert_eq!(echo(&parse_entry(text, Mode::Resistance, flexed).unwrap()), words);
    }

    #[test]
    fn says_back_the_beeper() {
        assert_eq!(echo(&Shown::Beep(true)), "it beeps");
        assert_eq!(echo(&Shown::Beep(false)), "no beep");
    }

    proptest::proptest! {
        #![proptest_config(proptest::prelude::ProptestConfig {
            failure_persistence: None,
            ..Default::default()
        })]

        #[test]
        fn no_text_breaks_it(text in "[-–+0-9.,eEkKmMrRoOlL ΩµminaxtobepNV%]{0,14}") {
            for (mode, flexed) in [(Mode::Resistance, false), (Mode::Continuity, true)] {
                match parse_entry(&text, mode, flexed) {
                    Ok(shown) => assert!(!echo(&shown).is_empty(), "{text}"),
                    Err(error) => assert!(!error.question().is_empty(), "{text}"),
                }
            }
        }

        #[test]
        fn what_is_said_back_can_be_typed(figures in 100_u32..99_999, last in -2..4_i32) {
            let once = parse_entry(&format!("{figures}e{last}"), Mode::Resistance, false);
            let said = echo(once.as_ref().unwrap());
            let again = parse_entry(said.trim_end_matches(", steady"), Mode::Resistance, false);
            assert_eq!(once, again);
        }
    }
}
