//! Our predictions against ngspice, an independent circuit simulator, fed with the decks that `netlist` writes.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Stdio};

use lugwise::circuit::built_in;
use lugwise::faults::{FaultId, NOT_IN_CATALOGUE};
use lugwise::readings::{Measurement, Meter, Mode, Stand};
use lugwise::source::Source;
use lugwise::workbench::Engine;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

/// How many pairs with a value are drawn for each wiring.
const PAIRS: usize = 40;
/// Where the knobs are turned.
const DIALS: [u8; 6] = [0, 3, 5, 8, 10, 10];

/// Runs a deck and returns the operating point as name and volts; the simulator's exit code says nothing.
fn simulated(deck: &str, folder: &Path) -> Vec<(String, f64)> {
    let (file, raw) = (folder.join("deck.cir"), folder.join("deck.raw"));
    std::fs::write(&file, deck).unwrap();
    let _ = std::fs::remove_file(&raw);
    let output = Command::new("ngspice")
        .env("SPICE_ASCIIRAWFILE", "1")
        .args(["-b", "-r"])
        .arg(&raw)
        .arg(&file)
        .stdin(Stdio::null())
        .output()
        .unwrap_or_else(|e| {
            panic!("running ngspice: {e}; install the package `ngspice` (apt-get install ngspice)")
        });
    let complaints = String::from_utf8_lossy(&output.stderr).to_lowercase();
    assert!(!complaints.contains("error") && !complaints.contains("singular"), "{deck}\n{complaints}");
    operating_point(&std::fs::read_to_string(&raw).unwrap_or_else(|e| panic!("{e}\n{deck}\n{complaints}")))
}

fn operating_point(raw: &str) -> Vec<(String, f64)> {
    assert!(raw.contains("Plotname: Operating Point"), "{raw}");
    let (head, values) = raw.split_once("\nValues:\n").unwrap();
    let (_, names) = head.split_once("\nVariables:").unwrap();
    let names = names.lines().filter_map(|line| line.split_whitespace().nth(1));
    // The first row is the number of the point and the first value.
    let values = values.split_whitespace().skip(1).map(|value| value.parse().unwrap());
    names.map(str::to_owned).zip(values).collect()
}

/// What we say: the state that `netlist` writes for a fault is the middle one of its sizes.
fn predicted(engine: &Engine, measurement: &Measurement, fault: Option<FaultId>) -> Option<f64> {
    let model = &engine.model;
    let state = fault.map_or(0, |fault| {
        let variants = &model.catalogue[fault].variants;
        let change = &variants[(variants.len() - 1) / 2].change;
        model.hypotheses.states.iter().position(|state| state.change == *change).unwrap()
    });
    let (red, black) = model.probes(measurement).unwrap();
    model.bench(&measurement.setting).unwrap().ohms(state, red, black)
}

/// A reading in ohms that is worth taking, its knobs turned anywhere, under any fault of the catalogue or none.
fn drawn(engine: &Engine, rng: &mut StdRng) -> (Measurement, Option<FaultId>) {
    let ohms: Vec<&Measurement> = engine
        .candidates
        .list
        .iter()
        .map(|candidate| &candidate.measurement)
        .filter(|m| m.mode == Mode::Resistance && m.lifted.is_none() && m.flex.is_none())
        .collect();
    let mut measurement = ohms[rng.random_range(0..ohms.len())].clone();
    for stand in measurement.setting.0.values_mut() {
        if let Stand::Knob(dial) = stand {
            *dial = DIALS[rng.random_range(0..DIALS.len())];
        }
    }
    let faults = &engine.model.catalogue.faults;
    let fault = rng.random_range(0..faults.len());
    (measurement, (faults[fault].id != NOT_IN_CATALOGUE).then_some(FaultId(fault)))
}

/// A contact of 5 mΩ beside 10 MΩ at one node leaves the simulator fewer than six digits, because it adds up their
/// conductances. Below this a resistor is written as a voltage that goes with its own current, which is the same thing
/// and loses nothing.
const CONTACT_OHMS: f64 = 1.0;

/// A deck with every name in it ending in a tag, so that many decks can stand in one; they share the ground only.
fn tagged(deck: &str, tag: &str) -> String {
    let named = |name: &str| if name == "0" { name.to_owned() } else { format!("{name}{tag}") };
    let line = |line: &str| {
        let words: Vec<&str> = line.split_whitespace().collect();
        let &[name, a, b, value] = &words[..] else { panic!("{line}") };
        let (name, a, b) = (named(name), named(a), named(b));
        match name.strip_prefix('R').filter(|_| value.parse::<f64>().unwrap() < CONTACT_OHMS) {
            Some(rest) => format!("Vi{rest} {a} m{rest} 0\nH{rest} m{rest} {b} Vi{rest} {value}\n"),
            None => format!("{name} {a} {b} {value}\n"),
        }
    };
    deck.lines().filter(|l| !l.starts_with(['*', '.'])).map(line).collect()
}

/// One pair of a fault and a reading, as we foretell it.
struct Pair {
    what: String,
    deck: String,
    probe: String,
    ohms: f64,
}

/// Draws pairs that have a value; over range has to be so in the deck and in ours.
fn pairs(engine: &Engine, rng: &mut StdRng) -> (Vec<Pair>, usize) {
    let (mut pairs, mut over_range) = (Vec::new(), 0);
    while pairs.len() < PAIRS {
        let (measurement, fault) = drawn(engine, rng);
        let id = fault.map(|fault| engine.model.catalogue[fault].id.as_str());
        let what = format!("{}: {id:?} {measurement:?}", engine.harness().name);
        let deck = engine.netlist(&measurement, id).unwrap();
        let ohms = predicted(engine, &measurement, fault);
        assert_eq!(deck.is_some(), ohms.is_some(), "{what}: over range in one of the two only");
        let (Some(deck), Some(ohms)) = (deck, ohms) else {
            over_range += 1;
            continue;
        };
        let (red, _) = engine.model.probes(&measurement).unwrap();
        let tag = format!("q{}", pairs.len());
        pairs.push(Pair { what, deck: tagged(&deck, &tag), probe: format!("v(n{}{tag})", red.0), ohms });
    }
    (pairs, over_range)
}

// Agreement asked for: 1e-6 of the reading, 20 pairs or more of every wiring. The decks carry every joint.
#[test]
fn ngspice_agrees_on_every_wiring() {
    let folder = tempfile::tempdir().unwrap();
    let mut silent = 0;
    for (seed, (name, text)) in built_in().iter().enumerate() {
        let engine = Engine::new(&Source::new(*name, *text), Meter::ordinary(), &[]).unwrap();
        let mut rng = StdRng::seed_from_u64(20 + seed as u64);
        let (pairs, over_range) = pairs(&engine, &mut rng);
        let parts: String = pairs.iter().map(|pair| pair.deck.as_str()).collect();
        let point: BTreeMap<String, f64> =
            simulated(&format!("* pairs\n{parts}.op\n.end\n"), folder.path()).into_iter().collect();
        let mut worst = 0.0f64;
        for Pair { what, probe, ohms, .. } in &pairs {
            let volts = point.get(probe).unwrap_or_else(|| panic!("{what}: no {probe}"));
            let error = (volts - ohms).abs() / ohms.abs();
            assert!(error <= 1e-6, "{what}: ngspice {volts}, ours {ohms}");
            worst = worst.max(error);
        }
        silent += over_range;
        println!(
            "{name}: {} pairs, worst relative difference {worst:.1e}; {over_range} over range",
            pairs.len()
        );
    }
    assert!(silent > 0, "no pair was over range");
}

// The comparison itself can fail: a deck with another value in it does not agree.
#[test]
fn a_changed_deck_is_told_apart() {
    let folder = tempfile::tempdir().unwrap();
    let deck = "* divider\nR1 n1 n2 1e3\nR2 n2 0 2e3\nR3 n1 0 6e3\nI1 0 n1 1\n.op\n.end\n";
    let volts = |deck: &str| simulated(deck, folder.path())[0].1;
    assert!((volts(deck) - 2000.0).abs() < 1e-9);
    assert!((volts(&deck.replace("6e3", "3e3")) - 1500.0).abs() < 1e-9);
}
