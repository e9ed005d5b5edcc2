//! Typed text becomes what the meter showed, or a question.

use super::{Dial, Ends, EntryError, Level, Mode, Said, Shown};
use crate::units::{
    Kind, Ohms, UnitError, Written, parse_amps, parse_farads, parse_ohms, parse_volts, show_ohms_to,
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
/// for it stands for both, and a unit behind the second counts for the first too where that has none. The two are
/// parted by `-`, `..`, `to` or a blank, and `o` alone is over range, so that no key needs shift. A
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

const CANNOT_TELL: &[&str] = &[
    "can't tell",
    "cant tell",
    "cannot tell",
    "cannot be told",
    "unsure",
    "don't know",
    "dont know",
    "u",
    "?",
];

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
    let Some(unit) = trailing_unit(second, mode).filter(|_| is_bare(first)) else {
        return level(first, mode);
    };
    let shared = level(&format!("{first} {unit}"), mode)?;
    match level(first, mode) {
        Err(EntryError::OhmOrKilohm { .. } | EntryError::OneAlone { .. }) => Ok(shared),
        Err(EntryError::OtherUnit(UnitError::NoUnit { .. })) => Ok(shared),
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
fn trailing_unit(text: &str, mode: Mode) -> Option<&str> {
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | ' ' | '+'));
    let is_unit = !unit.is_empty() && unit.len() < text.len() && unit.chars().all(char::is_alphabetic);
    let known = is_unit && !is_over_range(text) && level(&format!("2 {unit}"), mode).is_ok();
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
    let at_word = words.iter().find_map(|word| text.split_once(word));
    at_word.or_else(|| split_at_hyphen(text)).or_else(|| split_at_blank(text))
}

/// Splits at a blank where a value ends before it and another begins behind it: `7.4k ol`, `0.3r 7.4k`, `6.05 ol`.
///
/// Figures on both sides are no pair: the blank may part off thousands. Nor is what a slash parts.
fn split_at_blank(text: &str) -> Option<(&str, &str)> {
    if text.contains('/') {
        return None;
    }
    let begins = |side: &str| {
        side.starts_with(|c: char| c.is_ascii_digit() || c == '.') || is_over_range(first_word(side))
    };
    let parts = |at: &usize| {
        let (before, after) = (text[..*at].trim(), text[*at..].trim());
        let ends = before.contains(char::is_alphabetic) || is_over_range(after);
        begins(before) && begins(after) && ends
    };
    let at = text.match_indices(' ').map(|(at, _)| at).find(parts)?;
    Some((&text[..at], &text[at + 1..]))
}

fn first_word(text: &str) -> &str {
    text.split(' ').next().unwrap_or(text)
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

pub(super) fn worth(level: Level) -> f64 {
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

/// Reads farads, volts or amperes. A number without a unit may be of any size; only nought needs none.
fn other_dial(text: &str, dial: Dial) -> Result<Level, UnitError> {
    if is_bare(text) && number(text) != Some(0.0) {
        return Err(UnitError::NoUnit { kind: kind(dial), text: text.to_owned() });
    }
    let (value, resolution) = match dial {
        Dial::Ohms => parse_ohms(text).map(|w| (w.value.get(), w.resolution.get()))?,
        Dial::Farads => parse_farads(text).map(|w| (w.value.get(), w.resolution.get()))?,
        Dial::Volts => parse_volts(text).map(|w| (w.value.get(), w.resolution.get()))?,
        Dial::Amps => parse_amps(text).map(|w| (w.value.get(), w.resolution.get()))?,
    };
    Ok(Level::of(dial, value, resolution))
}

fn kind(dial: Dial) -> Kind {
    match dial {
        Dial::Ohms => Kind::Resistance,
        Dial::Farads => Kind::Capacitance,
        Dial::Volts => Kind::Voltage,
        Dial::Amps => Kind::Current,
    }
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
        "o" | "inf" | "infinity" | "infinite" | "∞" | "open" | "overrange" | "overload" | "over"
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
