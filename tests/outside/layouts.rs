//! Every wiring that comes with the program against the published layout of the same code.
//!
//! Source of `reference/layouts.json`: the trade's generic layouts with nominal values, their nets, and the resistance
//! at the jack computed independently with a numpy nodal solver and confirmed by ngspice (reference tables, A.1).
//! Contacts there are ideal; here they are 1 µΩ, so a printed 0 means less than a milliohm. `reference/controls.ron`
//! says what each layout calls the parts, controls and positions of our wiring.

use std::collections::BTreeMap;

use lugwise::circuit::{Change, ControlKind, Harness, built_in, load};
use lugwise::readings::{Setting, Stand};
use lugwise::solver::Positions;
use lugwise::source::Source;
use serde::Deserialize;

use crate::instrument::Instrument;

#[derive(Deserialize)]
struct Layout {
    id: String,
    parts: Vec<LayoutPart>,
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct LayoutPart {
    #[serde(rename = "ref")]
    name: String,
    kind: String,
    pins: BTreeMap<String, String>,
}

#[derive(Deserialize)]
struct Case {
    switch: BTreeMap<String, String>,
    controls: BTreeMap<String, f64>,
    /// Tip to sleeve; none when there is no path.
    ohms: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Names {
    parts: BTreeMap<String, String>,
    #[serde(default)]
    turns: BTreeMap<String, String>,
    #[serde(default)]
    positions: BTreeMap<String, BTreeMap<String, String>>,
    #[serde(default)]
    lugs: BTreeMap<String, BTreeMap<String, String>>,
    #[serde(default)]
    left_out: Vec<String>,
}

/// A wiring of ours, the layout it is built to, and what the layout calls things.
struct Pair {
    harness: Harness,
    layout: Layout,
    names: Names,
}

fn pairs() -> Vec<Pair> {
    let layouts: Vec<Layout> = serde_json::from_str(include_str!("../reference/layouts.json")).unwrap();
    let mut layouts: BTreeMap<String, Layout> = layouts.into_iter().map(|l| (l.id.clone(), l)).collect();
    let mut names: BTreeMap<String, Names> =
        ron::from_str(include_str!("../reference/controls.ron")).unwrap();
    let pair = |(file, text): &(&str, &str)| {
        let harness = load(&Source::new(*file, *text)).unwrap();
        let code = harness.code.clone();
        let names =
            names.remove(&code).unwrap_or_else(|| panic!("{file}: no entry for {code} in controls.ron"));
        let layout = layouts.remove(&code).unwrap_or_else(|| panic!("{file}: there is no layout {code}"));
        Pair { harness, layout, names }
    };
    let pairs = built_in().iter().map(pair).collect();
    assert!(names.is_empty(), "no wiring has the code of {:?}", names.keys());
    pairs
}

impl Pair {
    fn part(&self, name: &str) -> &str {
        let code = &self.harness.code;
        self.names.parts.get(name).unwrap_or_else(|| panic!("{code}: controls.ron does not know {name}"))
    }

    /// Sets the controls of a case; knobs that it does not name stand at 10.
    fn at(&self, instrument: &Instrument, case: &Case) -> Positions {
        let mut setting = Setting::default();
        for (switch, word) in &case.switch {
            let named = self.names.positions.get(switch).and_then(|words| words.get(word)).unwrap_or(word);
            setting = setting.with(&self.control(self.part(switch), named), Stand::At(named.clone()));
        }
        for (turned, rotation) in
            case.controls.iter().filter(|(name, _)| self.names.turns.contains_key(*name))
        {
            setting = setting.with(&self.names.turns[turned], Stand::Knob((rotation * 10.0) as u8));
        }
        let mut at = instrument.model.positions(&setting);
        for (pot, share) in case.controls.iter().filter(|(name, _)| !self.names.turns.contains_key(*name)) {
            let pot = self.part(pot);
            at.rotation[instrument.part(pot).0] = instrument.rotation(pot, *share);
        }
        at
    }

    /// The control that moves a switch which has this position.
    fn control(&self, part: &str, position: &str) -> String {
        let id = self.harness.part(part).unwrap_or_else(|| panic!("no {part}"));
        let control = self.harness.controls.iter().find(|control| control.part == id).unwrap();
        let ControlKind::Selector(positions) = &control.kind else { panic!("{part} is no switch") };
        assert!(positions.iter().any(|known| known == position), "{part} has no position {position}");
        control.name.clone()
    }

    /// Our terminal for a pin of the layout.
    fn terminal(&self, part: &LayoutPart, pin: &str) -> String {
        let own = self.names.lugs.get(&part.name).and_then(|lugs| lugs.get(pin));
        let lug = own.cloned().unwrap_or_else(|| usual(pin));
        let name = format!("{}.{lug}", self.part(&part.name));
        assert!(self.harness.terminal(&name).is_some(), "{}: there is no {name}", self.harness.code);
        name
    }
}

/// What our wirings usually call a pin of the layouts.
fn usual(pin: &str) -> String {
    let lug = match pin {
        "1" => "lug1",
        "2" => "lug2",
        "3" => "lug3",
        "+" => "hot",
        "-" => "cold",
        "T" => "tip",
        "R" => "ring",
        "S" => "sleeve",
        "T1" => "neck",
        "T2" => "bridge",
        "COM" => "common",
        other => match other.as_bytes() {
            // The contact `1C` of a two-pole switch is our `c1`.
            [pole @ b'1'..=b'9', contact @ b'A'..=b'C'] => {
                return format!("{}{}", contact.to_ascii_lowercase() as char, *pole as char);
            }
            _ => return other.to_lowercase(),
        },
    };
    lug.to_owned()
}

/// Beside a printed 0, agreement is relative; the layouts print a thousandth of an ohm.
fn agrees(found: Option<f64>, expected: Option<f64>) -> bool {
    match (found, expected) {
        (None, None) => true,
        (Some(found), Some(0.0)) => found.abs() < 1e-3,
        (Some(found), Some(expected)) => (found - expected).abs() <= 1e-6 * expected,
        _ => false,
    }
}

#[test]
fn every_reading_at_the_jack_is_that_of_the_layout() {
    let (mut wrong, mut cases) = (Vec::new(), 0);
    for pair in pairs() {
        let instrument = Instrument::ideal(&pair.harness.name);
        assert!(!pair.layout.cases.is_empty());
        for case in &pair.layout.cases {
            let at = pair.at(&instrument, case);
            let found = instrument.ohms(&at, "plug.tip", "plug.sleeve", &Change::Nothing);
            cases += 1;
            if !agrees(found, case.ohms) {
                let Case { switch, controls, ohms } = case;
                wrong.push(format!("{} {switch:?} {controls:?}: {found:?} is not {ohms:?}", pair.layout.id));
            }
        }
    }
    println!("{cases} cases of {} wirings", built_in().len());
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Returns, for each terminal, the number of the net that wires make of it.
fn nets(harness: &Harness) -> Vec<usize> {
    let mut net: Vec<usize> = (0..harness.terminals.len()).collect();
    for link in &harness.links {
        let (a, b) = (net[link.from.terminal.0], net[link.to.terminal.0]);
        net.iter_mut().filter(|id| **id == a).for_each(|id| *id = b);
    }
    net
}

/// Ohms do not see the tone controls, so the wires themselves are compared too: pins of one net of the layout lie on
/// one net of ours, and pins of two nets on two.
#[test]
fn every_net_is_that_of_the_layout() {
    let mut pins = 0;
    for pair in pairs() {
        let net = nets(&pair.harness);
        let mut ours: BTreeMap<usize, (&str, String)> = BTreeMap::new();
        let mut theirs: BTreeMap<&str, (usize, String)> = BTreeMap::new();
        let bare = |part: &&LayoutPart| part.kind != "wire" && !pair.names.left_out.contains(&part.name);
        for part in pair.layout.parts.iter().filter(bare) {
            for (pin, name) in &part.pins {
                let terminal = pair.terminal(part, pin);
                let id = net[pair.harness.terminal(&terminal).unwrap().0];
                let (known, other) = ours.entry(id).or_insert((name, terminal.clone()));
                assert_eq!(known, name, "{}: {other} and {terminal} are joined", pair.layout.id);
                let (known, other) = theirs.entry(name).or_insert((id, terminal.clone()));
                assert_eq!(*known, id, "{}: {other} and {terminal} are not joined", pair.layout.id);
                pins += 1;
            }
        }
    }
    println!("{pins} pins of {} wirings", built_in().len());
}

#[test]
fn a_reading_that_is_off_by_two_millionths_or_a_path_too_many_is_seen() {
    assert!(agrees(Some(6049.961), Some(6049.961)));
    assert!(!agrees(Some(6049.961 * 1.000_002), Some(6049.961)));
    assert!(!agrees(Some(5.0), None) && !agrees(None, Some(0.0)) && !agrees(Some(0.01), Some(0.0)));
}
