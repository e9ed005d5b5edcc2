//! The usual forms of a selector: their lugs, positions and which lugs lie side by side.

use super::file::{FormEntry, PositionEntry};

/// One form of selector.
pub(super) struct Form {
    pub terminals: Vec<String>,
    pub positions: Vec<PositionEntry>,
    pub near: Vec<(&'static str, &'static str)>,
}

type Joins = &'static [(&'static str, &'static str)];

/// Returns the form, its positions named as given or as usual.
pub(super) fn form(entry: FormEntry, names: Option<&[String]>) -> Form {
    let (terminals, positions, near): (&[&str], &[(&str, Joins)], Joins) = match entry {
        FormEntry::Toggle => (&TOGGLE_LUGS, &TOGGLE, &TOGGLE_NEAR),
        FormEntry::ThreeWayBlade => (&BLADE_LUGS, &THREE, &BLADE_NEAR),
        FormEntry::FiveWayBlade => (&BLADE_LUGS, &FIVE, &BLADE_NEAR),
        FormEntry::FourWayBlade => (&LONG_BLADE_LUGS, &FOUR, &LONG_BLADE_NEAR),
        FormEntry::TwoWay => (&TWO_WAY_LUGS, &TWO_WAY, &TWO_WAY_NEAR),
    };
    let name = |index: usize, usual: &str| {
        names.and_then(|names| names.get(index)).cloned().unwrap_or_else(|| usual.to_owned())
    };
    let owned = |joins: Joins| joins.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
    let position = |(index, &(usual, joins)): (usize, &(&str, Joins))| PositionEntry {
        name: name(index, usual),
        joins: owned(joins),
    };
    Form {
        terminals: terminals.iter().map(|lug| (*lug).to_owned()).collect(),
        positions: positions.iter().enumerate().map(position).collect(),
        near: near.to_vec(),
    }
}

const TOGGLE_LUGS: [&str; 3] = ["neck", "bridge", "common"];
const TOGGLE: [(&str, Joins); 3] = [
    ("neck", &[("neck", "common")]),
    ("both", &[("neck", "common"), ("bridge", "common")]),
    ("bridge", &[("bridge", "common")]),
];
const TOGGLE_NEAR: [(&str, &str); 3] = [("neck", "common"), ("bridge", "common"), ("neck", "bridge")];

const BLADE_LUGS: [&str; 8] = ["a0", "a1", "a2", "a3", "b0", "b1", "b2", "b3"];
const THREE: [(&str, Joins); 3] = [
    ("bridge", &[("a0", "a1"), ("b0", "b1")]),
    ("both", &[("a0", "a2"), ("b0", "b2")]),
    ("neck", &[("a0", "a3"), ("b0", "b3")]),
];
const FIVE: [(&str, Joins); 5] = [
    ("bridge", &[("a0", "a1"), ("b0", "b1")]),
    ("bridge and middle", &[("a0", "a1"), ("a0", "a2"), ("b0", "b1"), ("b0", "b2")]),
    ("middle", &[("a0", "a2"), ("b0", "b2")]),
    ("middle and neck", &[("a0", "a2"), ("a0", "a3"), ("b0", "b2"), ("b0", "b3")]),
    ("neck", &[("a0", "a3"), ("b0", "b3")]),
];
const BLADE_NEAR: [(&str, &str); 6] =
    [("a1", "a2"), ("a2", "a3"), ("a3", "a0"), ("b1", "b2"), ("b2", "b3"), ("b3", "b0")];

const LONG_BLADE_LUGS: [&str; 10] = ["a0", "a1", "a2", "a3", "a4", "b0", "b1", "b2", "b3", "b4"];
const FOUR: [(&str, Joins); 4] = [
    ("bridge", &[("a0", "a1"), ("b0", "b1")]),
    ("parallel", &[("a0", "a2"), ("b0", "b2")]),
    ("neck", &[("a0", "a3"), ("b0", "b3")]),
    ("series", &[("a0", "a4"), ("b0", "b4")]),
];
const LONG_BLADE_NEAR: [(&str, &str); 6] =
    [("a1", "a2"), ("a2", "a3"), ("a3", "a4"), ("b1", "b2"), ("b2", "b3"), ("b3", "b4")];

const TWO_WAY_LUGS: [&str; 6] = ["c1", "a1", "b1", "c2", "a2", "b2"];
const TWO_WAY: [(&str, Joins); 2] =
    [("down", &[("c1", "a1"), ("c2", "a2")]), ("up", &[("c1", "b1"), ("c2", "b2")])];
const TWO_WAY_NEAR: [(&str, &str); 4] = [("c1", "a1"), ("c1", "b1"), ("c2", "a2"), ("c2", "b2")];
