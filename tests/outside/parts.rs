//! How unsure part values are before a reading, and what a reading in farads teaches of them.

use assert_cmd::Command;
use lugwise::belief::{Belief, Expectation};
use lugwise::circuit::PartKind;
use lugwise::prediction::{Behaviour, Load, Model, Quantity};
use lugwise::readings::{Dial, Level, Measurement, Meter, Mode, Setting, Shown};
use lugwise::source::Source;
use lugwise::units::{Farads, Ohms, parse_farads};
use rstest::rstest;

use crate::instrument::Instrument;

const CAP: &str = "neck-tone-cap";
const OTHER: &str = "bridge-tone-cap";

/// The capacitance across a tone capacitor of the wiring with two humbuckers, its leg lifted or in circuit.
fn across(cap: &str, lifted: bool, model: &Model) -> Measurement {
    let leg = format!("{}-hot-leg", cap.replace("tone-", ""));
    let setting = Setting::reference(&model.harness);
    let ohms = Measurement::ohms(&format!("{cap}.a"), &format!("{cap}.b"), setting);
    Measurement { mode: Mode::Capacitance, lifted: lifted.then_some(leg), ..ohms }
}

fn two_humbuckers(capacitor: &str) -> Model {
    let text = include_str!("../../assets/wirings/two-humbuckers.ron");
    let written = "Capacitor(farads: \"22n\", tolerance: \"10%\")";
    assert!(text.contains(written));
    Instrument::written(&Source::new("a.ron", text.replacen(written, capacitor, 1))).model
}

fn plain() -> Model {
    two_humbuckers("Capacitor(farads: \"22n\", tolerance: \"10%\")")
}

fn read(model: &Model, belief: &mut Belief, measurement: &Measurement, farads: f64) {
    let level = Level::Farads { value: Farads::new(farads), resolution: Farads::new(0.01e-9) };
    let row = model.row(measurement).unwrap().unwrap();
    belief.read(model, Meter::ordinary(), None, &[(Shown::Steady(level), row)]);
}

/// The hypotheses under which nothing that a meter sees is wrong.
fn healthy(model: &Model) -> Vec<usize> {
    let list = model.hypotheses.list.iter().enumerate();
    list.filter(|(_, h)| h.state == 0 && h.behaviour == Behaviour::Steady).map(|(index, _)| index).collect()
}

/// The span of healthy readings under what is believed, in nanofarads.
fn band(model: &Model, belief: &Belief, measurement: &Measurement) -> (f64, f64) {
    let row = model.row(measurement).unwrap().unwrap();
    let expected = Expectation::new(&row[0], belief.estimate(healthy(model)[0]), Meter::ordinary());
    let (low, high) = expected.band().unwrap();
    (low * 1e9, high * 1e9)
}

// IEC 60062 tolerance letters (from memory: J 5 %, K 10 %, M 20 %) and JCGM 100, 4.3.7: a value that lies anywhere
// within ±a has the standard uncertainty a/√3. Film without a letter is ±10 %, a piezo element ±20 % (common practice).
#[rstest]
#[case("Capacitor(farads: \"223J\")", 0.05)]
#[case("Capacitor(farads: \"223K\")", 0.10)]
#[case("Capacitor(farads: \"223M\")", 0.20)]
#[case("Capacitor(farads: \"22n\")", 0.10)]
#[case("Capacitor(farads: \"223M\", tolerance: \"5%\")", 0.05)]
fn a_tolerance_is_rectangular(#[case] written: &str, #[case] half_width: f64) {
    let model = two_humbuckers(written);
    let part = model.harness.part(CAP).unwrap();
    let PartKind::Capacitor { farads, .. } = model.harness[part].kind else { panic!("no capacitor") };
    assert!((farads.get() - 22e-9).abs() < 1e-15);
    let param = model.params.farads.iter().find(|param| param.part == part).unwrap();
    assert_eq!(param.quantity, Quantity::Farads);
    assert!((param.sd - half_width / 3f64.sqrt()).abs() < 1e-12, "{}", param.sd);
}

// A capacitor by itself reads its own capacitance: d(C)/d(ln C) = C, and nothing of the other one. The reading is
// 400 Hz through a healthy leg, 10 pF of leads besides.
#[test]
fn a_capacitor_alone_reads_itself() {
    let model = plain();
    for (index, cap) in [CAP, OTHER].into_iter().enumerate() {
        let cell = model.row(&across(cap, true, &model)).unwrap().unwrap()[0].clone();
        assert_eq!(cell.gradient.len(), 2);
        assert!((cell.gradient[index] / 22e-9 - 1.0).abs() < 1e-3, "{:?}", cell.gradient);
        assert!(cell.gradient[1 - index].abs() < 1e-3 * 22e-9, "{:?}", cell.gradient);
    }
}

// The slope of a reading is what the reading does when the capacitor is another one: 22 nF by 1 % and less.
#[rstest]
#[case(true)]
#[case(false)]
fn the_slope_is_that_of_the_readings_in_every_state(#[case] lifted: bool) {
    let model = plain();
    let row = |capacitor: &str| {
        let model = two_humbuckers(capacitor);
        model.row(&across(CAP, lifted, &model)).unwrap().unwrap()
    };
    let (less, more) = (row("Capacitor(farads: \"21.89n\")"), row("Capacitor(farads: \"22.11n\")"));
    let step = (22.11_f64 / 21.89).ln();
    let mut compared = 0;
    for (state, cell) in model.row(&across(CAP, lifted, &model)).unwrap().unwrap().iter().enumerate() {
        let (Some(low), Some(high), Some(reads)) = (less[state].reads, more[state].reads, cell.reads) else {
            continue;
        };
        // Two states are the value that the capacitor was mistaken for, whatever its own.
        let slope = (high - low) / step;
        // Bare leads read no capacitor: they have no slopes.
        let own = cell.gradient.first().copied().unwrap_or(0.0);
        assert!((own - slope).abs() <= 1e-3 * reads, "state {state}: {own} and {slope}");
        compared += 1;
    }
    assert!(compared > 10, "{compared}");
}

// 20.5 nF is within ±10 % of 22 nF: no fault. Reference tables, B.3: film is sold as ±5 % and ±10 %.
#[test]
fn a_capacitor_within_its_tolerance_is_healthy() {
    let model = plain();
    let mut belief = Belief::prior(&model);
    let before = belief.weights();
    let alone = across(CAP, true, &model);
    let (low, high) = band(&model, &belief, &alone);
    assert!(low < 22.0 * 0.9 && high > 22.0 * 1.1 && low > 17.0 && high < 27.0, "{low} to {high}");
    read(&model, &mut belief, &alone, 20.5e-9);
    assert_eq!(belief.unexplained(), [false]);
    let after = belief.fault_probabilities(&model);
    for (index, fault) in model.catalogue.faults.iter().enumerate() {
        if fault.id.starts_with(CAP) {
            let prior: f64 = Belief::prior(&model).fault_probabilities(&model)[index];
            assert!(after[index] < prior, "{}: {} from {prior}", fault.id, after[index]);
        }
    }
    assert!(healthy(&model).iter().all(|&h| belief.weights()[h] >= before[h]));
}

// JCGM 100, 5.2.2: two readings of one value share its uncertainty, so what the first found the second must repeat.
#[test]
fn the_second_reading_of_a_capacitor_repeats_the_first() {
    let model = plain();
    let mut belief = Belief::prior(&model);
    let (alone, other) = (across(CAP, true, &model), across(OTHER, true, &model));
    let (untold, elsewhere) = (band(&model, &belief, &alone), band(&model, &belief, &other));
    read(&model, &mut belief, &alone, 20.5e-9);
    let told = band(&model, &belief, &alone);
    assert!(told.0 > untold.0 && told.1 < untold.1 && told.0 < 20.5 && told.1 > 20.5, "{told:?}");
    let middle = f64::midpoint(told.0, told.1);
    assert!((middle - 20.5).abs() < (middle - 22.0).abs(), "{middle}");
    let same = |one: f64, other: f64| (one / other - 1.0).abs() < 1e-9;
    let now = band(&model, &belief, &other);
    assert!(same(now.0, elsewhere.0) && same(now.1, elsewhere.1), "{now:?} and {elsewhere:?}");
}

// No reading in farads goes with ohms, nor the other way round.
#[test]
fn farads_teach_nothing_of_ohms() {
    let model = plain();
    let mut belief = Belief::prior(&model);
    let sound = healthy(&model)[0];
    let ohms = |belief: &Belief| belief.estimate(sound).behind(Dial::Ohms).clone();
    let before = ohms(&belief);
    read(&model, &mut belief, &across(CAP, true, &model), 20.5e-9);
    assert_eq!(ohms(&belief), before);
    let farads = |belief: &Belief| belief.estimate(sound).behind(Dial::Farads).clone();
    assert_ne!(farads(&belief), farads(&Belief::prior(&model)));
}

// f = 1/(2π√(LC)), C the winding and the cable together: ln f falls by half of what ln L or ln C gains, and the winding
// is its share of C. Damping by 8 kΩ and 1 MΩ moves both a little; 3 % of the spread is allowed for it.
#[test]
fn peaks_lie_apart_as_their_henries_and_farads_do() {
    let cable = 500e-12;
    let model = Instrument::ideal("one-pickup-direct").model;
    let part = model.harness.part("pickup").unwrap();
    let PartKind::Coil { farads, spread, .. } = model.harness[part].kind else { panic!("no coil") };
    let load = Load { cable: Farads::new(cable), input: Ohms::new(1e6) };
    let found = model.sounding(&Setting::reference(&model.harness), load).peak_spread().unwrap().unwrap();
    let share = farads.get() / (farads.get() + cable);
    let expected = 0.5 * (spread.henries.powi(2) + (share * spread.farads).powi(2)).sqrt();
    assert!((found / expected - 1.0).abs() < 0.03, "{found}, {expected}");
}

// The readings find what a capacitor is worth: its own ±10 % as it was sold, then what the meter leaves open.
#[test]
fn a_found_capacitance_is_told_with_its_uncertainty() {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("a.job").display().to_string();
    let run = |args: &[&str]| -> serde_json::Value {
        let mut command = Command::new(env!("CARGO_BIN_EXE_lugwise"));
        let output = command.args(args).arg("--json").env("LUGWISE_ARCHIVE", "off").output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        serde_json::from_slice(&output.stdout).unwrap()
    };
    run(&["start", "A2a", "--complaint", "dark", "--symptom", "muffled", "-o", &job]);
    let across = ["--mode", "capacitance", "--red", "neck-tone-cap.a", "--black", "neck-tone-cap.b"];
    let lifted = ["--lifted", "neck-cap-hot-leg"];
    let view = run(&[&["record", &job, "20.5n"][..], &across, &lifted].concat());
    let told: Vec<&serde_json::Value> =
        view["found"].as_array().unwrap().iter().filter(|found| found["part"] == CAP).collect();
    let [told] = told[..] else { panic!("{view}") };
    assert_eq!(told["what"], "capacitance");
    let farads = |key: &str| parse_farads(told[key].as_str().unwrap()).unwrap().value.get() * 1e9;
    let (low, value, high) = (farads("low"), farads("value"), farads("high"));
    assert!(low < 20.5 && high > 20.5 && (value - 20.5).abs() < 0.5, "{told}");
    assert!(high - low < 0.5 * (24.2 - 19.8), "{told}");
}
