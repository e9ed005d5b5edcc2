//! The usual values of pickups by their type, for a coil whose own figures nobody knows.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use serde::Deserialize;

use super::file::Head;
use super::mistake::{Findings, Mistake};
use super::values;
use crate::source::{self, Located, Path, Positions, Source};
use crate::units::{Farads, Henries, Ohms, uncertainty};

/// The version of the format of pickup types that this program reads.
const FORMAT: u32 = 1;

/// The lowest usual value, the middle and the highest usual value of a quantity.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Usual<Q> {
    /// The lowest that is still usual.
    pub low: Q,
    /// The middle: what to take when nothing is known.
    pub middle: Q,
    /// The highest that is still usual.
    pub high: Q,
}

impl<Q: Copy + std::ops::Div<Output = f64>> Usual<Q> {
    /// Returns one standard deviation of the logarithm of a value that lies anywhere between the lowest and the
    /// highest (JCGM 100, 4.3.7, of logarithms: the middle is the geometric one).
    pub fn spread(&self) -> f64 {
        uncertainty::even(0.5 * (self.high / self.low).ln())
    }
}

/// A type of pickup with the values that its coils usually have.
#[derive(Clone, Debug, PartialEq)]
pub struct PickupType {
    /// What it is called in files, such as `single coil`.
    pub name: String,
    /// What a person recognises it by.
    pub says: String,
    /// Resistance of the coil alone at 20 °C.
    pub ohms: Usual<Ohms>,
    /// One standard deviation of the logarithm of the resistance, around the middle.
    pub spread: f64,
    /// Inductance.
    pub henries: Usual<Henries>,
    /// Capacitance of the winding.
    pub farads: Usual<Farads>,
    /// Where the figures come from.
    pub source: String,
}

impl PickupType {
    /// Returns whether a coil of `ohms` at 20 °C may be of this type: inside its usual values or within 10 % of them.
    pub fn admits(&self, ohms: Ohms) -> bool {
        // Common practice, no source.
        const AGREES: f64 = 0.1;
        let (low, high) = (self.ohms.low * (1.0 - AGREES), self.ohms.high * (1.0 + AGREES));
        (low..=high).contains(&ohms)
    }
}

#[derive(Deserialize)]
#[serde(rename = "pickup types", deny_unknown_fields)]
struct File {
    #[serde(rename = "format")]
    _format: u32,
    types: Vec<Entry>,
}

#[derive(Deserialize)]
#[serde(rename = "pickup type", deny_unknown_fields)]
struct Entry {
    name: String,
    says: String,
    ohms: Three,
    spread: String,
    henries: Three,
    farads: Three,
    source: String,
}

type Three = (String, String, String);

/// Returns the types of pickup that come with the program.
pub fn pickup_types() -> &'static [PickupType] {
    // The file is part of the program; a test reads it and looks at every error.
    static TYPES: LazyLock<Vec<PickupType>> =
        LazyLock::new(|| load_pickup_types(&built_in()).unwrap_or_default());
    &TYPES
}

fn built_in() -> Source {
    Source::new("pickups.ron", include_str!("../../assets/parts/pickups.ron"))
}

/// Reads and checks a file of pickup types.
///
/// # Errors
///
/// Returns every mistake that was found, in the order of the file, each with file, line, column and a hint.
pub fn load_pickup_types(source: &Source) -> Result<Vec<PickupType>, Vec<Located>> {
    let mut findings = Findings::new(Positions::of(source));
    if let Ok(Head { format }) = source::load::<Head>(source)
        && format != FORMAT
    {
        let mistake = Mistake::Format { what: "pickup type", found: format, known: FORMAT };
        findings.add(&Path::root().then("format"), &mistake);
        return Err(findings.into_list());
    }
    let file: File = source::load(source).map_err(|error| vec![error])?;
    let mut names = BTreeSet::new();
    let list = Path::root().then("types");
    let types = file.types.into_iter().enumerate().map(|(index, entry)| {
        let at = list.then(index);
        if !names.insert(entry.name.clone()) {
            findings.add(&at.then("name"), &Mistake::Twice { what: "type", name: entry.name.clone() });
        }
        read(entry, &at, &mut findings)
    });
    let types = types.collect();
    if findings.is_empty() { Ok(types) } else { Err(findings.into_list()) }
}

fn read(entry: Entry, at: &Path, findings: &mut Findings) -> PickupType {
    let spread = values::share(&entry.spread).unwrap_or_else(|mistake| {
        findings.add(&at.then("spread"), &mistake);
        0.0
    });
    PickupType {
        ohms: usual(&entry.ohms, values::coil_ohms, &at.then("ohms"), findings),
        henries: usual(&entry.henries, values::coil_henries, &at.then("henries"), findings),
        farads: usual(&entry.farads, values::coil_farads, &at.then("farads"), findings),
        name: entry.name,
        says: entry.says,
        spread,
        source: entry.source,
    }
}

fn usual<Q: Copy + Default + PartialOrd>(
    (low, middle, high): &Three,
    parse: fn(&str) -> Result<Q, Mistake>,
    at: &Path,
    findings: &mut Findings,
) -> Usual<Q> {
    let mut number = |index: usize, text: &str| {
        parse(text).map_err(|mistake| findings.add(&at.then(index), &mistake)).ok()
    };
    let (Some(low), Some(middle), Some(high)) = (number(0, low), number(1, middle), number(2, high)) else {
        return Usual::default();
    };
    if !(low <= middle && middle <= high) {
        findings.add(at, &Mistake::Order);
    }
    Usual { low, middle, high }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[test]
    fn the_file_that_comes_with_the_program_is_right() {
        let types = load_pickup_types(&built_in()).unwrap_or_else(|errors| panic!("{errors:#?}"));
        assert_eq!(types, pickup_types());
        assert!(types.len() >= 12, "{}", types.len());
        for kind in &types {
            assert!(!kind.says.is_empty() && !kind.source.is_empty(), "{}", kind.name);
            assert!(kind.admits(kind.ohms.low) && kind.admits(kind.ohms.high), "{}", kind.name);
        }
    }

    // The usual values are what nearly all such pickups read: two standard deviations reach both ends of them.
    #[test]
    fn the_spread_reaches_the_usual_values() {
        for PickupType { name, ohms, spread, .. } in pickup_types() {
            let (down, up) = (ohms.middle.get() / ohms.low.get(), ohms.high.get() / ohms.middle.get());
            let needed = down.max(up).ln();
            assert!(2.0 * spread >= needed, "{name}: {spread} twice is less than {needed}");
            assert!(*spread >= 0.2, "{name}: a coil of unknown make is unsure by 20 %");
        }
    }

    // The middle stands for the geometric one, in the two figures that such values are told with.
    #[test]
    fn the_middle_is_the_geometric_one() {
        let off = |low: f64, middle: f64, high: f64| (middle / (low * high).sqrt()).ln().abs();
        for PickupType { name, ohms, henries, farads, .. } in pickup_types() {
            assert!(off(ohms.low.get(), ohms.middle.get(), ohms.high.get()) < 0.06, "{name}");
            assert!(off(henries.low.get(), henries.middle.get(), henries.high.get()) < 0.06, "{name}");
            assert!(off(farads.low.get(), farads.middle.get(), farads.high.get()) < 0.06, "{name}");
        }
    }

    const GOOD: &str = "(name: \"a\", says: \"b\", ohms: (\"5k\", \"6k\", \"7k\"), spread: \"20%\", henries: (\"2H\", \"3H\", \"4H\"), \
                        farads: (\"50p\", \"60p\", \"70p\"), source: \"c\")";

    #[rstest]
    #[case(
        "\"6k\"",
        "\"8k\"",
        "the lowest, the middle and the highest value are not in this order",
        "write the lowest first and the highest last"
    )]
    #[case(
        "\"7k\"",
        "\"7\"",
        "cannot read \"7\" as a resistance: it has no unit",
        "write 7k for kilohms or 7R for ohms"
    )]
    #[case("\"7k\"", "\"7M\"", "the resistance of a coil cannot be \"7M\"", "did you mean \"7k\"?")]
    #[case("says", "say", "unknown field `say` in `pickup type`", "did you mean `says`?")]
    fn mistakes_are_told_with_their_place(
        #[case] right: &str,
        #[case] wrong: &str,
        #[case] message: &str,
        #[case] hint: &str,
    ) {
        let text = format!("(format: 1, types: [\n{}])", GOOD.replacen(right, wrong, 1));
        let errors = load_pickup_types(&Source::new("a.ron", text)).unwrap_err();
        let found: Vec<(usize, &str, Option<&str>)> =
            errors.iter().map(|e| (e.line, e.message.as_str(), e.hint.as_deref())).collect();
        assert_eq!(found, [(2, message, Some(hint))]);
    }

    #[test]
    fn names_are_given_once_and_other_formats_refused() {
        let twice = format!("(format: 1, types: [{GOOD},\n{GOOD}])");
        let errors = load_pickup_types(&Source::new("a.ron", twice)).unwrap_err();
        assert_eq!((errors[0].line, errors[0].message.as_str()), (2, "two types are called \"a\""));
        let errors = load_pickup_types(&Source::new("a.ron", "(format: 2, kinds: [])")).unwrap_err();
        assert_eq!(errors[0].message, "pickup type format 2 is not known");
        assert_eq!(errors[0].hint.as_deref(), Some("this program reads `format: 1`"));
    }
}
