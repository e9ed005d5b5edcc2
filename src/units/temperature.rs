//! Temperatures as people write them, and what they do to the resistance of copper.

use super::engineering::signed;
use super::error::{Kind, UnitError};
use super::{Celsius, Ohms};

/// The share of its resistance at 20 °C that annealed copper gains with each degree (IEC 60028).
const COPPER_PER_DEGREE: f64 = 0.003_93;
/// The temperature that the resistance of a coil is stated for, in degrees Celsius.
const REFERENCE: f64 = 20.0;
/// No instrument is measured colder or hotter than this, in degrees Celsius.
const COLDEST: f64 = -60.0;
const HOTTEST: f64 = 100.0;

/// Reads a temperature: `35C`, `35 °C`, `-5 C`, `95F`.
///
/// # Errors
///
/// Refuses a bare number, which can be Celsius or Fahrenheit, temperatures beyond -60 °C and 100 °C, and junk.
pub fn parse_celsius(text: &str) -> Result<Celsius, UnitError> {
    let kind = Kind::Temperature;
    let scan = signed(text, kind)?;
    let number = if scan.negative { -scan.number(0) } else { scan.number(0) };
    let owned = || text.trim().to_owned();
    let celsius = match scan.tail.trim_start_matches('°').to_lowercase().as_str() {
        "c" | "celsius" => number,
        "f" | "fahrenheit" => (number - 32.0) / 1.8,
        "" => return Err(UnitError::NoUnit { kind, text: owned().trim_end_matches('°').to_owned() }),
        _ => return Err(UnitError::WrongUnit { kind, text: owned(), unit: scan.tail }),
    };
    if celsius < COLDEST {
        return Err(UnitError::TooSmall { kind, text: owned(), limit: "-60 °C" });
    }
    if celsius > HOTTEST {
        return Err(UnitError::TooLarge { kind, text: owned(), limit: "100 °C" });
    }
    Ok(Celsius::new(celsius))
}

/// Returns what a copper coil of `at_20` ohms at 20 °C reads at another temperature.
pub fn copper_at(at_20: Ohms, celsius: Celsius) -> Ohms {
    at_20 * rise(celsius)
}

/// Returns what a copper coil reads at 20 °C that reads `ohms` at `celsius`.
pub fn copper_at_20(ohms: Ohms, celsius: Celsius) -> Ohms {
    ohms * rise(celsius).recip()
}

/// Returns the resistance of copper as a multiple of what it is at 20 °C.
fn rise(celsius: Celsius) -> f64 {
    1.0 + COPPER_PER_DEGREE * (celsius.get() - REFERENCE)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("35C", 35.0)]
    #[case("35 °C", 35.0)]
    #[case("+35c", 35.0)]
    #[case("-5 C", -5.0)]
    #[case("−5C", -5.0)]
    #[case("21.5 celsius", 21.5)]
    #[case("95F", 35.0)]
    #[case("68 °F", 20.0)]
    #[case("-4F", -20.0)]
    fn reads_temperatures(#[case] text: &str, #[case] celsius: f64) {
        let found = parse_celsius(text).unwrap().get();
        assert!((found - celsius).abs() < 1e-9, "{text} was read as {found}");
    }

    #[rstest]
    #[case("35", "cannot read \"35\" as a temperature: it has no unit", "write 35C or 35F")]
    #[case("35°", "cannot read \"35\" as a temperature: it has no unit", "write 35C or 35F")]
    #[case(
        "35K",
        "cannot read \"35K\" as a temperature: \"K\" is not one of C, F",
        "write it like 20C or 68F"
    )]
    #[case(
        "400F",
        "cannot read \"400F\" as a temperature: it is more than 100 °C",
        "write it like 20C or 68F"
    )]
    #[case(
        "-300C",
        "cannot read \"-300C\" as a temperature: it is less than -60 °C",
        "write it like 20C or 68F"
    )]
    #[case(
        "warm",
        "cannot read \"warm\" as a temperature: it is not a number with a unit",
        "write it like 20C or 68F"
    )]
    fn refuses_unclear_temperatures(#[case] text: &str, #[case] message: &str, #[case] hint: &str) {
        let error = parse_celsius(text).unwrap_err();
        assert_eq!((error.to_string().as_str(), error.hint().as_str()), (message, hint));
    }

    #[test]
    fn the_two_ways_undo_each_other() {
        for celsius in [-20.0, 0.0, 20.0, 35.0].map(Celsius::new) {
            let back = copper_at_20(copper_at(Ohms::new(7600.0), celsius), celsius);
            assert!((back.get() - 7600.0).abs() < 1e-9, "{celsius:?}: {back:?}");
        }
    }
}
