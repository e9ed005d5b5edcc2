//! Values in a wiring that no shop sells: not wrong, but worth a second look.

use super::{Harness, PartId, PartKind};
use crate::units::{Farads, Ohms, Series, nearest_in, show_farads, show_ohms};

/// The tracks that pots are sold with, in every decade: 250 k and 500 k are no preferred numbers, yet the trade's own
/// (common practice, no source).
const TRACKS: [u32; 5] = [10, 22, 25, 47, 50];

/// A part whose value is not one that such parts are sold in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OddValue {
    /// The part.
    pub part: PartId,
    /// Its value, as printed.
    pub value: String,
    /// The nearest value that is sold, as printed.
    pub nearest: String,
}

/// Returns the parts of a harness with a value that is not sold, in the order of the file.
///
/// A file may well state what was measured, so this is a hint and never an error. Coils have no series.
pub fn odd_values(harness: &Harness) -> Vec<OddValue> {
    let odd = |(index, part): (usize, &super::Part)| match part.kind {
        PartKind::Pot { ohms, .. } => odd(index, ohms.get(), nearest_in(&TRACKS, ohms.get()), in_ohms),
        PartKind::Resistor { ohms, tolerance } => {
            odd(index, ohms.get(), sold(ohms.get(), tolerance), in_ohms)
        }
        PartKind::Capacitor { farads, tolerance } => {
            odd(index, farads.get(), sold(farads.get(), tolerance), in_farads)
        }
        _ => None,
    };
    harness.parts.iter().enumerate().filter_map(odd).collect()
}

/// Returns the nearest value that a fixed part of a tolerance is sold in: every shop has E24, finer parts have more.
fn sold(value: f64, tolerance: f64) -> Option<f64> {
    let stock = Series::E24.nearest(value).filter(|nearest| same(*nearest, value));
    stock.or_else(|| Series::for_tolerance(tolerance).nearest(value))
}

fn odd(index: usize, value: f64, nearest: Option<f64>, show: fn(f64) -> String) -> Option<OddValue> {
    let (value, nearest) = (show(value), show(nearest?));
    (value != nearest).then_some(OddValue { part: PartId(index), value, nearest })
}

fn same(a: f64, b: f64) -> bool {
    (a / b - 1.0).abs() < 1e-9
}

fn in_ohms(value: f64) -> String {
    show_ohms(Ohms::new(value))
}

fn in_farads(value: f64) -> String {
    show_farads(Farads::new(value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::load;
    use crate::source::Source;
    use rstest::rstest;

    /// A harness with these values of its three parts.
    fn harness(track: &str, resistor: &str, capacitor: &str) -> Harness {
        let text = include_str!("../../assets/wirings/one-pickup.ron");
        let resistor = format!(
            "(name: \"extra\", title: \"extra resistor\", kind: Resistor(ohms: \"{resistor}\", tolerance: \"1%\"), \
             place: \"control cavity\", at: (1, 1)),\n        (name: \"jack\","
        );
        let legs = "(name: \"leg-a\", title: \"a leg\", kind: Leg, from: \"extra.a\", to: \"volume.lug3\"),\n\
                    (name: \"leg-b\", title: \"a leg\", kind: Leg, from: \"extra.b\", to: \"volume.lug2\"),\n\
                    (\n            name: \"case-link\"";
        let text = text
            .replacen("250k audio", &format!("{track} audio"), 1)
            .replacen("47n", capacitor, 1)
            .replacen("(name: \"jack\",", &resistor, 1)
            .replacen("(\n            name: \"case-link\"", legs, 1);
        load(&Source::new("a.ron", text)).unwrap_or_else(|errors| panic!("{errors:#?}"))
    }

    // 250 k, 500 k and 25 k are no preferred numbers but what the trade sells (common practice, no source); 1.2 n and
    // 130 k are E12 and E24; 49.9 k is E96, as ±1 % resistors are.
    #[rstest]
    #[case("250k", "150k", "47n", &[])]
    #[case("500k", "130k", "1.2n", &[])]
    #[case("1M", "49.9k", "22n", &[])]
    #[case("25k", "1M", "680p", &[])]
    #[case("330k", "150k", "47n", &[("330 kΩ", "250 kΩ")])]
    #[case("250k", "49k", "47n", &[("49.0 kΩ", "48.7 kΩ")])]
    #[case("250k", "150k", "21n", &[("21 nF", "22 nF")])]
    fn what_no_shop_sells_is_noted(
        #[case] track: &str,
        #[case] resistor: &str,
        #[case] capacitor: &str,
        #[case] expected: &[(&str, &str)],
    ) {
        let found = odd_values(&harness(track, resistor, capacitor));
        let found: Vec<(&str, &str)> =
            found.iter().map(|odd| (odd.value.as_str(), odd.nearest.as_str())).collect();
        assert_eq!(found, expected);
    }
}
