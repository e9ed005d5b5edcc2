//! The codes printed on small capacitors, and the tolerance letters of IEC 60062.

use super::error::UnitError;
use super::scan::{Scan, scan};

/// Returns the half-width of a symmetric tolerance as a share of the value, for its letter of IEC 60062.
pub const fn tolerance_letter(letter: char) -> Option<f64> {
    Some(match letter {
        'E' => 0.000_05,
        'L' => 0.000_1,
        'P' => 0.000_2,
        'W' => 0.000_5,
        'B' => 0.001,
        'C' => 0.002_5,
        'D' => 0.005,
        'F' => 0.01,
        'G' => 0.02,
        'H' => 0.03,
        'J' => 0.05,
        'K' => 0.1,
        'M' => 0.2,
        'N' => 0.3,
        _ => return None,
    })
}

/// Returns the tolerance that a capacitor's code carries: 0.05 for `223J`, nothing for `223` or `22n`.
pub fn marked_tolerance(text: &str) -> Option<f64> {
    let scan = scan(text).ok()?;
    mark_exponent(&scan).ok().flatten()?;
    scan.tail.chars().next().and_then(tolerance_letter)
}

/// Returns the power of ten, in farads, of a three-figure code; `None` when the text is no such code.
pub(super) fn mark_exponent(scan: &Scan) -> Result<Option<i32>, UnitError> {
    let code = !scan.mark && !scan.power && scan.exponent == 0 && scan.figures.len() == 3;
    if !code || !is_mark_tail(&scan.tail) {
        return Ok(None);
    }
    let power = match scan.figures.as_bytes() {
        b"000" => return Ok(None),
        [] | [b'0', ..] | [.., b'0' | b'7'] => None,
        [.., b'8'] => Some(-2),
        [.., b'9'] => Some(-1),
        [.., digit] => Some(i32::from(digit - b'0')),
    };
    let unclear = || UnitError::MarkUnclear { text: scan.figures.clone() };
    power.map(|p| Some(p - 12)).ok_or_else(unclear)
}

/// Tolerance letters that cannot be mistaken for a unit: not `F`, `N` or `P`.
fn is_mark_tail(tail: &str) -> bool {
    matches!(tail, "" | "B" | "C" | "D" | "G" | "H" | "J" | "K" | "M")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::parse_farads;
    use rstest::rstest;

    // IEC 60062 three-figure codes, from memory: two figures and the power of ten in picofarads.
    #[rstest]
    #[case("102", 1e-9)]
    #[case("222", 2.2e-9)]
    #[case("103", 10e-9)]
    #[case("153", 15e-9)]
    #[case("223", 22e-9)]
    #[case("333", 33e-9)]
    #[case("473", 47e-9)]
    #[case("104", 100e-9)]
    #[case("681", 680e-12)]
    #[case("474", 470e-9)]
    #[case("479", 4.7e-12)]
    #[case("478", 0.47e-12)]
    fn reads_three_figure_codes(#[case] text: &str, #[case] farads: f64) {
        let found = parse_farads(text).unwrap().value.get();
        assert!((found / farads - 1.0).abs() < 1e-12, "{text} was read as {found}");
    }

    #[test]
    fn the_last_figure_of_a_code_is_the_second() {
        let last = parse_farads("223").unwrap().resolution.get();
        assert!((last / 1e-9 - 1.0).abs() < 1e-12, "found {last}");
    }

    // IEC 60062 tolerance letters, from memory; J, K and M also on part data sheets.
    #[rstest]
    #[case("223J", Some(0.05))]
    #[case("473K", Some(0.1))]
    #[case("104M", Some(0.2))]
    #[case("223", None)]
    #[case("22n", None)]
    #[case("220J", None)]
    fn reads_the_tolerance_behind_a_code(#[case] text: &str, #[case] share: Option<f64>) {
        assert_eq!(marked_tolerance(text), share);
    }

    #[test]
    fn asks_when_a_code_ends_in_nought() {
        let error = parse_farads("220").unwrap_err();
        assert_eq!(
            error.to_string(),
            "cannot read \"220\" as a capacitance: the three-figure code has two meanings"
        );
        assert_eq!(error.hint(), "write the value with its unit, such as 220p or 220n");
    }
}
