//! Tests of what typed text means.

use super::entry::{echo, note, parse_entry, worth};
use super::{Check, Ends, EntryError, Level, Mode, Said, Shown};
use crate::units::Ohms;
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
#[case("o")]
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
#[case("6.05k 6.40k")]
#[case("6k05 6k40")]
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
#[case("6.05 OL", "6.05")]
#[case("7.4k 8", "8")]
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
#[case("6.05k ol")]
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
#[case("6.05k..ol")]
#[case("6.05k ol")]
#[case("6.05k o")]
#[case("6.05k-o")]
#[case("6.05 k  ol")]
#[case("ol 6k05")]
#[case("6,05k ol")]
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
#[case("7 600", "no value", "7.6k, 470r, ol")]
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

// Every form that a hand without a shift key can type: letters, figures, comma, point, hyphen and blank.
#[rstest]
#[case("b", Mode::Continuity, Shown::Beep(true))]
#[case("n", Mode::Continuity, Shown::Beep(false))]
#[case("y", Mode::Observe(Check::Sound), Shown::Said(Said::Yes))]
#[case("n", Mode::Observe(Check::Sound), Shown::Said(Said::No))]
#[case("u", Mode::Observe(Check::Sound), Shown::Said(Said::CannotTell))]
#[case("o", Mode::Continuity, Shown::Steady(Level::OverRange))]
#[case("7,6k", Mode::Resistance, Shown::Steady(value(7600.0, 100.0)))]
fn one_hand_without_shift_types_every_answer(#[case] text: &str, #[case] mode: Mode, #[case] shown: Shown) {
    assert_eq!(parse_entry(text, mode, false), Ok(shown));
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

#[rstest]
#[case(Mode::Volts, "9.1", "write 9.1 V or 9.1 mV")]
#[case(Mode::Volts, "-8.98", "write -8.98 V or -8.98 mV")]
#[case(Mode::Volts, "3mA", "\"mA\" is no unit of a voltage: what does the dial stand at?")]
#[case(Mode::Current, "0.5", "write 0.5 mA or 0.5 uA")]
#[case(Mode::Current, "3V", "\"V\" is no unit of a current: what does the dial stand at?")]
#[case(Mode::Capacitance, "0.022", "write 0.022p, 0.022n or 0.022u")]
#[case(Mode::Capacitance, "223", "write 223p, 223n or 223u")]
#[case(Mode::Capacitance, "9V", "\"V\" is no unit of a capacitance: what does the dial stand at?")]
fn every_dial_asks_for_its_own_unit(#[case] mode: Mode, #[case] text: &str, #[case] asks: &str) {
    let question = parse_entry(text, mode, false).unwrap_err().question();
    assert!(question.starts_with(asks), "{question}");
}

#[rstest]
#[case(Mode::Volts, "0", "0.00 V, steady")]
#[case(Mode::Volts, "9.1-9.2 V", "moving between 9.10 V and 9.20 V")]
#[case(Mode::Capacitance, "22n", "22 nF, steady")]
fn nought_needs_no_unit_and_one_unit_serves_a_pair(
    #[case] mode: Mode,
    #[case] text: &str,
    #[case] words: &str,
) {
    assert_eq!(echo(&parse_entry(text, mode, text.contains('-')).unwrap()), words);
}
