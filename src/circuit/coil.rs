//! The values of a coil: as the file gives them, else as they are usual for its type.

use super::file::KindEntry;
use super::mistake::{Findings, Mistake};
use super::pickups::{PickupType, pickup_types};
use super::{CoilSpread, PartKind, values};
use crate::source::Path;

/// How unsure a value is that the file gives, as one standard deviation of its logarithm. Ohms and henries: a coil
/// wound to a specification; farads: they go with the way of winding and are specified by nobody, so they are as unsure
/// as within a type of pickup (common practice, no source).
const GIVEN: CoilSpread = CoilSpread { ohms: 0.1, henries: 0.1, farads: 0.25 };

/// Reads a coil; a value that cannot be read is noted and replaced, so that reading goes on.
///
/// A value that is given beside a type takes the place of what is usual.
pub(super) fn read(entry: &KindEntry, at: &Path, findings: &mut Findings) -> PartKind {
    let KindEntry::Coil { r#type, ohms, spread, henries, farads } = entry else { return PartKind::Surface };
    let mut coil = Coil { usual: Ok(None), at, findings };
    coil.look_up(r#type.as_deref());
    let (ohms, of_ohms) =
        coil.value("ohms", ohms.as_deref(), values::coil_ohms, GIVEN.ohms, |t| (t.ohms.middle, t.spread));
    let (henries, of_henries) =
        coil.value("henries", henries.as_deref(), values::coil_henries, GIVEN.henries, |t| {
            (t.henries.middle, t.henries.spread())
        });
    let (farads, of_farads) =
        coil.value("farads", farads.as_deref(), values::coil_farads, GIVEN.farads, |t| {
            (t.farads.middle, t.farads.spread())
        });
    let of_ohms = spread.as_deref().map_or(of_ohms, |text| coil.given("spread", text, values::share));
    let spread = CoilSpread { ohms: of_ohms, henries: of_henries, farads: of_farads };
    PartKind::Coil { ohms, henries, farads, spread }
}

/// A type that is not known.
struct Unknown;

struct Coil<'a> {
    usual: Result<Option<&'static PickupType>, Unknown>,
    at: &'a Path,
    findings: &'a mut Findings,
}

impl Coil<'_> {
    fn look_up(&mut self, name: Option<&str>) {
        let Some(name) = name else { return };
        self.usual = pickup_types().iter().find(|t| t.name == name).map(Some).ok_or(Unknown);
        if self.usual.is_err() {
            let known = pickup_types().iter().map(|t| t.name.clone()).collect();
            self.findings.add(&self.at.then("type"), &Mistake::PickupType { name: name.to_owned(), known });
        }
    }

    /// Returns a value with its spread: as given, else as usual for the type.
    fn value<Q: Default>(
        &mut self,
        field: &'static str,
        given: Option<&str>,
        parse: fn(&str) -> Result<Q, Mistake>,
        spread: f64,
        usual: fn(&PickupType) -> (Q, f64),
    ) -> (Q, f64) {
        match (given, &self.usual) {
            (Some(text), _) => (self.given(field, text, parse), spread),
            (None, Ok(Some(known))) => usual(known),
            (None, Err(Unknown)) => (Q::default(), 0.0),
            (None, Ok(None)) => {
                self.findings.add(self.at, &Mistake::NoCoilValue { field });
                (Q::default(), 0.0)
            }
        }
    }

    fn given<Q: Default>(&mut self, field: &str, text: &str, parse: fn(&str) -> Result<Q, Mistake>) -> Q {
        parse(text).unwrap_or_else(|mistake| {
            self.findings.add(&self.at.then(field), &mistake);
            Q::default()
        })
    }
}

#[cfg(test)]
mod tests {
    use crate::circuit::{CoilSpread, PartKind, load, pickup_types};
    use crate::source::Source;
    use rstest::rstest;

    /// Reads the small wiring of the tests with another coil.
    fn coil(written: &str) -> Result<PartKind, Vec<String>> {
        let text = include_str!("../../tests/small_wiring.ron");
        let own = "Coil(ohms: \"6.2k\", spread: \"10%\", henries: \"2.5H\", farads: \"110p\")";
        assert!(text.contains(own));
        let source = Source::new("small.ron", text.replacen(own, written, 1));
        let harness =
            load(&source).map_err(|found| found.iter().map(ToString::to_string).collect::<Vec<_>>())?;
        let part = harness.part("pickup").unwrap();
        Ok(harness[part].kind.clone())
    }

    // Type rows of a reference on pickups: 5.5 kΩ to 7.5 kΩ, 2.0 H to 3.2 H, 60 pF to 150 pF for a narrow single coil;
    // 7 kΩ to 9 kΩ, 3.8 H to 5.2 H, 70 pF to 150 pF for a moderate humbucker; a coil of unknown make is unsure by 20 %
    // (common practice, no source). Henries and farads: JCGM 100, 4.3.7: anywhere within ±a is a/√3, here of logarithms.
    #[rstest]
    #[case("single coil", (5.5e3, 7.5e3), (2.0, 3.2), (60e-12, 150e-12))]
    #[case("humbucker", (7e3, 9e3), (3.8, 5.2), (70e-12, 150e-12))]
    fn a_type_gives_the_geometric_middle_of_its_row_and_a_rectangular_spread(
        #[case] name: &str,
        #[case] row_ohms: (f64, f64),
        #[case] row_henries: (f64, f64),
        #[case] row_farads: (f64, f64),
    ) {
        let found = coil(&format!("Coil(type: \"{name}\")")).unwrap();
        let PartKind::Coil { ohms, henries, farads, spread } = found else { panic!("{found:?}") };
        for (value, (low, high)) in
            [(ohms.get(), row_ohms), (henries.get(), row_henries), (farads.get(), row_farads)]
        {
            assert!((value / (low * high).sqrt()).ln().abs() < 0.06, "{value} between {low} and {high}");
        }
        let even = |(low, high): (f64, f64)| (high / low).ln() / 12f64.sqrt();
        assert_eq!(spread.ohms, 0.2);
        assert!((spread.henries - even(row_henries)).abs() < 1e-12, "{spread:?}");
        assert!((spread.farads - even(row_farads)).abs() < 1e-12, "{spread:?}");
    }

    #[test]
    fn what_is_given_beside_a_type_takes_its_place() {
        let PartKind::Coil { ohms, henries, spread, .. } =
            coil("Coil(type: \"humbucker\", ohms: \"8.4k\")").unwrap()
        else {
            panic!("no coil")
        };
        let usual = pickup_types().iter().find(|kind| kind.name == "humbucker").unwrap();
        assert_eq!((ohms.get(), henries), (8.4e3, usual.henries.middle));
        assert_eq!((spread.ohms, spread.henries), (0.1, usual.henries.spread()));
        let PartKind::Coil { spread, .. } = coil("Coil(type: \"humbucker\", spread: \"5%\")").unwrap() else {
            panic!("no coil")
        };
        assert_eq!(spread.ohms, 0.05);
    }

    #[test]
    fn every_type_can_stand_in_a_file_and_all_given_values_need_none() {
        for kind in pickup_types() {
            assert!(coil(&format!("Coil(type: \"{}\")", kind.name)).is_ok(), "{}", kind.name);
        }
        let PartKind::Coil { spread, .. } =
            coil("Coil(ohms: \"6.2k\", henries: \"2.5H\", farads: \"110p\")").unwrap()
        else {
            panic!("no coil")
        };
        assert_eq!(spread, CoilSpread { ohms: 0.1, henries: 0.1, farads: 0.25 });
    }
}
