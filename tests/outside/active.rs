//! Wirings with a preamp, a piezo strip, a kill switch, a treble bleed or a blend, against figures computed elsewhere.
//!
//! Source of every figure that has no other beside it: the trade's generic layouts with nominal values, computed
//! independently with a numpy nodal solver and confirmed by ngspice (reference tables, A.1). Contacts there are ideal;
//! here they are 1 µΩ, so a printed 0 means less than a milliohm.

use std::f64::consts::TAU;

use lugwise::circuit::{Change, What};
use lugwise::prediction::Model;
use lugwise::readings::{Setting, Symptom};
use lugwise::solver::{Positions, Shunt, Solved, Values};
use nalgebra::Complex;
use rstest::rstest;

use crate::instrument::Instrument;

/// The three wirings with a battery.
const ACTIVE: [&str; 3] = ["active-volume-after-preamp", "active-volume-before-preamp", "piezo-with-preamp"];

/// One line of a table: the shares of track, the switch position, the rotation of the blend, the ohms at the jack.
struct Case(&'static [(&'static str, f64)], &'static [(&'static str, &'static str)], f64, Option<f64>);

const TWO: &[(&str, &str)] = &[("plug", "two-contact")];
const FULL: &[(&str, f64)] = &[("volume", 1.0)];
const HALF: &[(&str, f64)] = &[("volume", 0.5)];
const ZERO: &[(&str, f64)] = &[("volume", 0.0)];
const RELEASED: &[(&str, &str)] = &[("kill switch", "released")];
const PRESSED: &[(&str, &str)] = &[("kill switch", "pressed")];

const UNCHANGED: &[Case] = &[
    Case(FULL, &[], 1.0, Some(6049.961)),
    Case(ZERO, &[], 1.0, Some(0.0)),
    Case(HALF, &[], 1.0, Some(64_012.49)),
];

fn stand(instrument: &Instrument, case: &Case) -> Positions {
    let mut at = instrument.at(case.0, case.1);
    for gang in ["blend-neck", "blend-bridge"] {
        if let Some(part) = instrument.model.harness.part(gang) {
            at.rotation[part.0] = case.2;
        }
    }
    at
}

#[rstest]
#[case("active-volume-after-preamp", &[
    Case(FULL, TWO, 1.0, Some(25e3)), Case(ZERO, TWO, 1.0, Some(0.0)), Case(HALF, TWO, 1.0, Some(12.5e3)),
])]
#[case("active-volume-before-preamp", &[Case(FULL, TWO, 1.0, Some(1e5)), Case(ZERO, TWO, 1.0, Some(1e5))])]
#[case("piezo-with-preamp", &[Case(&[], TWO, 1.0, Some(1e5))])]
#[case("piezo-to-jack", &[Case(&[], &[], 1.0, None)])]
#[case("shorting-kill-switch", &[
    Case(FULL, RELEASED, 1.0, Some(6049.961)), Case(FULL, PRESSED, 1.0, Some(0.0)),
])]
#[case("breaking-kill-switch", &[Case(FULL, RELEASED, 1.0, Some(6049.961)), Case(FULL, PRESSED, 1.0, None)])]
#[case("treble-bleed-capacitor", UNCHANGED)]
#[case("treble-bleed-parallel", &[
    Case(FULL, &[], 1.0, Some(6049.961)), Case(ZERO, &[], 1.0, Some(0.0)), Case(HALF, &[], 1.0, Some(46_632.774)),
])]
#[case("treble-bleed-series", UNCHANGED)]
#[case("blend-open-lugs", &[
    Case(FULL, &[], 0.5, Some(3740.551)), Case(FULL, &[], 1.0, Some(7348.071)),
    Case(FULL, &[], 0.0, Some(6992.317)), Case(ZERO, &[], 0.5, Some(0.0)),
])]
#[case("blend-grounded-lugs", &[
    Case(FULL, &[], 0.5, Some(3631.87)), Case(FULL, &[], 1.0, Some(7132.407)),
    Case(FULL, &[], 0.0, Some(6796.473)), Case(ZERO, &[], 0.5, Some(0.0)),
])]
fn readings_at_the_jack(#[case] name: &str, #[case] cases: &[Case]) {
    let instrument = Instrument::ideal(name);
    for case in cases {
        let found = instrument.ohms(&stand(&instrument, case), "plug.tip", "plug.sleeve", &Change::Nothing);
        let meets = match (found, case.3) {
            (Some(found), Some(0.0)) => found.abs() < 1e-3,
            (Some(found), Some(expected)) => (found - expected).abs() <= 1e-6 * expected,
            (found, expected) => found == expected,
        };
        assert!(meets, "{:?} {:?} {}: {found:?} is not {:?}", case.0, case.1, case.2, case.3);
    }
}

// The maximum of the sweep with 150 k across the upper half of the track: 46.69 k (reference tables, A.0.3).
#[test]
fn a_resistor_across_the_volume_lowers_the_top_of_its_sweep() {
    let instrument = Instrument::ideal("treble-bleed-parallel");
    let ohms = |share: i32| {
        let at = instrument.at(&[("volume", f64::from(share) / 2000.0)], &[]);
        instrument.ohms(&at, "plug.tip", "plug.sleeve", &Change::Nothing).unwrap()
    };
    let top = (0..=2000).map(ohms).fold(0.0, f64::max);
    assert!((top - 46.69e3).abs() <= 5.0, "{top}");
}

/// The volts that the battery gives between two terminals, read with a meter of so many ohms.
fn volts(instrument: &Instrument, plug: &str, fault: Option<&str>, probes: [&str; 2], meter: f64) -> f64 {
    let model = &instrument.model;
    let values = Values { powered: true, ..instrument.values.clone() };
    let change = fault.map_or(Change::Nothing, |fault| instrument.change(fault, None));
    let [red, black] = probes.map(|terminal| instrument.node(terminal));
    let load = Shunt { a: red.0, b: black.0, y: 1.0 / meter };
    let at = instrument.at(&[], &[("plug", plug)]);
    let solved = Solved::<f64>::new(&model.harness, &model.network, &values, &at, 0.0, &[load]).unwrap();
    let battery = instrument.part("battery");
    let element = model.network.find(&What::Battery(battery)).unwrap();
    values.volts[battery.0] * solved.transfer(element, red, black, &change)
}

const SUPPLY: [&str; 2] = ["preamp.plus", "plug.sleeve"];
const RING: [&str; 2] = ["plug.ring", "plug.sleeve"];
const INSIDE: [&str; 2] = ["jack.ring", "jack.sleeve"];

// "Supply states (battery in; 10 MΩ voltmeter)", reference tables, A8a; A10a says "as in A8a", and A8b has the same
// supply. Printed to a hundredth of a volt. Where no plug is in, the three-contact plug stands for it: it touches
// the springs and joins nothing.
#[rstest]
#[case("two-contact", None, SUPPLY, 9.0)]
#[case("two-contact", None, RING, 0.0)]
#[case("three-contact", None, SUPPLY, 0.0)]
#[case("three-contact", None, RING, -8.98)]
#[case("two-contact", Some("jack/ring spring open"), SUPPLY, 0.0)]
#[case("two-contact", Some("jack/ring spring open"), INSIDE, -8.98)]
#[case("two-contact", Some("battery-plus/wire broken"), SUPPLY, 0.0)]
#[case("three-contact", Some("battery-plus/wire broken"), RING, 0.0)]
#[case("three-contact", Some("battery.minus/joint open"), RING, 0.0)]
#[case("three-contact", Some("preamp/supply open"), RING, 0.0)]
fn supply_states(
    #[case] plug: &str,
    #[case] fault: Option<&str>,
    #[case] probes: [&str; 2],
    #[case] printed: f64,
) {
    for name in ACTIVE {
        let instrument = Instrument::ideal(name);
        let found = volts(&instrument, plug, fault, probes, 10e6);
        assert!((found - printed).abs() <= 0.005, "{name}: {found} V is not {printed} V");
    }
}

// The same table: 0.500 mA from the battery with a two-contact plug; 0.50 mA on a milliammeter (here of 1 Ω) from ring
// to sleeve of a three-contact plug; ring to sleeve below 0.5 Ω with a two-contact plug, here with the file's joints.
#[test]
fn supply_currents() {
    for name in ACTIVE {
        let instrument = Instrument::ideal(name);
        let drawn = volts(&instrument, "two-contact", None, ["preamp.plus", "preamp.minus"], 10e6) / 18e3;
        assert!((drawn - 0.5e-3).abs() <= 0.5e-6, "{name}: {drawn}");
        let through_meter = volts(&instrument, "three-contact", None, RING, 1.0) / 1.0;
        assert!((through_meter + 0.5e-3).abs() <= 5e-6, "{name}: {through_meter}");
        let ohms = |plug| {
            let at = instrument.at(&[], &[("plug", plug)]);
            instrument.ohms(&at, RING[0], RING[1], &Change::Nothing)
        };
        assert!(ohms("two-contact").unwrap() < 0.5 && ohms("three-contact").is_none(), "{name}");
    }
}

/// The level at the plug under a fault's change.
fn level(model: &Model, at: &Positions, hertz: f64, change: &Change) -> f64 {
    let state = model.hypotheses.states.iter().position(|state| state.change == *change).unwrap();
    model.level(at, hertz, &[state]).unwrap()[0]
}

// By hand from the parts: a coil into 1 MΩ, gain 1, then 100 Ω and 2.2 µF into the pot, the cable and the amplifier.
#[test]
fn a_preamp_passes_the_signal() {
    let instrument = Instrument::ideal("active-volume-after-preamp");
    let at = instrument.at(&[], &[]);
    for hertz in [82.4, 250.0, 3000.0] {
        let omega = TAU * hertz;
        let c = Complex::new;
        let source = c(1.0, 0.0) / c(8e3, omega * 4.0);
        let input = source / (source + c(1e-6, omega * 120e-12));
        let load = c(1.0, 0.0) / c(1.0 / 25e3 + 1e-6, omega * 500e-12);
        let output = load / (load + c(100.0, -1.0 / (omega * 2.2e-6)));
        let expected = (input * output).norm();
        let found = level(&instrument.model, &at, hertz, &Change::Nothing);
        assert!((found - expected).abs() <= 1e-5, "{hertz} Hz: {found} is not {expected}");
    }
}

#[rstest]
fn a_preamp_without_supply_is_silent(
    #[values("active-volume-after-preamp", "active-volume-before-preamp", "piezo-with-preamp")] name: &str,
) {
    let instrument = Instrument::ideal(name);
    let (model, at) = (&instrument.model, instrument.at(&[], &[]));
    let healthy = level(model, &at, 250.0, &Change::Nothing);
    assert!(healthy > 0.5, "{healthy}");
    for fault in [
        "preamp/preamp dead",
        "preamp/supply open",
        "battery/battery reversed",
        "battery-plus/wire broken",
        "battery-minus/wire broken",
        "battery.plus/joint open",
        "preamp.plus/joint open",
        "jack.ring/joint open",
        "jack/ring spring open",
        "preamp.plus/short to preamp.minus",
    ] {
        let found = level(model, &at, 250.0, &instrument.change(fault, None));
        assert!(found < 1e-6, "{fault}: {found}");
    }
    let louder = |fault: &str| level(model, &at, 250.0, &instrument.change(fault, None)) / healthy;
    for fault in ["preamp/supply overloaded", "jack.ring/short to jack.sleeve"] {
        assert!((louder(fault) - 1.0).abs() < 1e-6, "{fault}");
    }
    let flat = model.catalogue.find("battery/battery flat").unwrap();
    let left: Vec<f64> = model.catalogue[flat]
        .variants
        .iter()
        .map(|variant| level(model, &at, 250.0, &variant.change) / healthy)
        .collect();
    assert!(left.len() == 2 && (left[0] - 1.0).abs() < 1e-9 && left[1] < 1e-6, "{left:?}");
    let three = instrument.at(&[], &[("plug", "three-contact")]);
    assert!(level(model, &three, 250.0, &Change::Nothing) < 1e-6, "a three-contact plug gives no supply");
}

// The fast updates against solving from scratch, for the supply and for the sound.
#[rstest]
fn every_state_of_a_preamp_is_the_same_solved_from_scratch(
    #[values("active-volume-after-preamp", "active-volume-before-preamp", "piezo-with-preamp")] name: &str,
) {
    let instrument = Instrument::ideal(name);
    let (model, at) = (&instrument.model, instrument.at(&[], &[]));
    let powered = Values { powered: true, ..model.values.clone() };
    let node = |terminal: &str| instrument.node(terminal);
    let (tip, sleeve) = (node("plug.tip"), node("plug.sleeve"));
    let find = |what: What| model.network.find(&what).unwrap();
    let battery = instrument.part("battery");
    let supply = find(What::Supply(instrument.part("preamp")));
    let source = match model.harness.part("pickup") {
        Some(coil) => find(What::Coil(coil)),
        None => find(What::Piezo(instrument.part("piezo"))),
    };
    let (mut silent, mut heard) = (0, 0);
    for (index, state) in model.hypotheses.states.iter().enumerate() {
        let network = model.network_of(index);
        let change = &state.change;
        let fast = model.level(&at, 250.0, &[index]).unwrap()[0];
        let direct =
            Solved::<f64>::changed(&model.harness, network, &powered, &at, 0.0, &[], change).unwrap();
        let factor = if let Change::Drive(_, left) = change { *left } else { 1.0 };
        let from_battery = find(What::Battery(battery));
        let (plus, minus) = (node("preamp.plus"), node("preamp.minus"));
        let volts = 9.0 * factor * direct.transfer(from_battery, plus, minus, &Change::Nothing);
        if volts < 4.5 || *change == Change::Open(supply) {
            assert!(fast < 1e-6, "{change:?}: {volts} V, heard {fast}");
            silent += 1;
            continue;
        }
        let omega = TAU * 250.0;
        let load = [Shunt { a: tip.0, b: sleeve.0, y: Complex::new(1e-6, omega * 500e-12) }];
        let slow = Solved::changed(&model.harness, network, &model.values, &at, omega, &load, change)
            .unwrap()
            .transfer(source, tip, sleeve, &Change::Nothing)
            .norm();
        assert!((fast - slow).abs() <= 1e-9, "{change:?}: {fast}, {slow}");
        heard += 1;
    }
    println!("{name}: {silent} silent for want of supply, {heard} heard");
    assert!(silent >= 5 && heard > 50);
}

/// The level of a source between two terminals into a load, at a frequency.
fn loaded(instrument: &Instrument, probes: [&str; 2], ohms: Option<f64>, hertz: f64) -> f64 {
    let [plus, minus] = probes.map(|terminal| instrument.node(terminal));
    let load: Vec<_> = ohms
        .map(|ohms| Shunt { a: plus.0, b: minus.0, y: Complex::new(1.0 / ohms, 0.0) })
        .into_iter()
        .collect();
    let (model, at) = (&instrument.model, instrument.at(&[], &[]));
    let solved =
        Solved::new(&model.harness, &model.network, &instrument.values, &at, TAU * hertz, &load).unwrap();
    let piezo = model.network.find(&What::Piezo(instrument.part("piezo"))).unwrap();
    solved.transfer(piezo, plus, minus, &Change::Nothing).norm()
}

// -3 dB at 1/(2πRC): 159 Hz for 1 nF into 1 MΩ, 15.9 Hz into 10 MΩ (reference tables, A10b; printed to three digits).
#[test]
fn a_piezo_strip_needs_a_high_input() {
    let bare = Instrument::ideal("piezo-to-jack");
    let built_in = Instrument::ideal("piezo-with-preamp");
    let plug = ["plug.tip", "plug.sleeve"];
    for (instrument, probes, ohms, printed) in [
        (&bare, plug, Some(1e6), 159.0),
        (&bare, plug, Some(10e6), 15.9),
        (&built_in, ["preamp.input", "preamp.minus"], None, 15.9),
    ] {
        let corner = 1.0 / (TAU * ohms.unwrap_or(10e6) * 1e-9);
        assert!((corner / printed - 1.0).abs() < 5e-3);
        let found = loaded(instrument, probes, ohms, corner);
        assert!((found - 0.5f64.sqrt()).abs() < 1e-6, "{corner} Hz: {found}");
        let decibels = 20.0 * loaded(instrument, probes, ohms, printed).log10();
        assert!((decibels + 3.0).abs() < 0.05, "{printed} Hz: {decibels} dB");
    }
}

#[test]
fn the_bleed_resistor_is_seen_by_the_meter_and_not_by_the_ear() {
    for name in ["active-volume-before-preamp", "piezo-with-preamp"] {
        let instrument = Instrument::ideal(name);
        let (model, at) = (&instrument.model, instrument.at(&[], &[]));
        let open = instrument.change("bleed-resistor/resistor open", None);
        assert_eq!(instrument.ohms(&at, "plug.tip", "plug.sleeve", &open), None);
        let [with, without] = [Change::Nothing, open].map(|change| level(model, &at, 250.0, &change));
        assert!((with / without - 1.0).abs() < 0.01, "{name}: {with}, {without}");
    }
}

// What a treble bleed is for (common practice, no source): with the volume turned down the treble stays.
#[rstest]
#[case("treble-bleed-capacitor")]
#[case("treble-bleed-parallel")]
#[case("treble-bleed-series")]
fn a_treble_bleed_keeps_the_treble(#[case] name: &str) {
    let tilt = |name: &str, share: f64| {
        let instrument = Instrument::ideal(name);
        let at = instrument.at(&[("volume", share)], &[]);
        let heard = |hertz| level(&instrument.model, &at, hertz, &Change::Nothing);
        20.0 * (heard(4000.0) / heard(250.0)).log10()
    };
    let plain = "one-pickup";
    assert!((tilt(name, 1.0) - tilt(plain, 1.0)).abs() < 1e-6, "at full it changes nothing");
    assert!(tilt(name, 0.3) > tilt(plain, 0.3) + 1.0, "{} {}", tilt(name, 0.3), tilt(plain, 0.3));
}

// By hand: the ends of a blend let one pickup through; the other comes through 250 kΩ, or is shorted to ground.
#[test]
fn a_blend_turns_one_pickup_down() {
    let share = |name: &str, rotation: f64| {
        let instrument = Instrument::ideal(name);
        let at = stand(&instrument, &Case(FULL, &[], rotation, None));
        let model = &instrument.model;
        let solved = Solved::<f64>::new(&model.harness, &model.network, &instrument.values, &at, 0.0, &[]);
        let solved = solved.unwrap();
        let (tip, sleeve) = (instrument.node("plug.tip"), instrument.node("plug.sleeve"));
        ["neck-pickup", "bridge-pickup"].map(|coil| {
            let element = model.network.find(&What::Coil(instrument.part(coil))).unwrap();
            solved.transfer(element, tip, sleeve, &Change::Nothing)
        })
    };
    // Conductances in siemens: the pickup itself, beside everything else at the hot point.
    let divided = |own: f64, others: f64| own / (own + others);
    let (neck, bridge, track) = (1.0 / 7.4e3, 1.0 / 7.8e3, 1.0 / 250e3);
    let through = |pickup: f64| 1.0 / (1.0 / pickup + 250e3);
    for (name, rotation, expected) in [
        ("blend-open-lugs", 0.5, [divided(neck, bridge + track), divided(bridge, neck + track)]),
        (
            "blend-open-lugs",
            0.0,
            [divided(neck, through(bridge) + track), divided(through(bridge), neck + track)],
        ),
        (
            "blend-open-lugs",
            1.0,
            [divided(through(neck), bridge + track), divided(bridge, through(neck) + track)],
        ),
        ("blend-grounded-lugs", 0.0, [divided(neck, 3.0 * track), 0.0]),
        ("blend-grounded-lugs", 1.0, [0.0, divided(bridge, 3.0 * track)]),
    ] {
        let found = share(name, rotation);
        for (found, expected) in found.iter().zip(expected) {
            assert!((found - expected).abs() < 1e-6, "{name} at {rotation}: {found} is not {expected}");
        }
    }
}

#[test]
fn positions_that_are_silent_on_purpose_say_nothing_of_the_sound() {
    for name in ["shorting-kill-switch", "breaking-kill-switch"] {
        let instrument = Instrument::ideal(name);
        let model = &instrument.model;
        assert_eq!(model.switch_settings().len(), 2);
        let audible = model.audible().unwrap();
        let dead = instrument.change("pickup/coil open", None);
        let state = model.hypotheses.states.iter().position(|state| state.change == dead).unwrap();
        assert!(audible[state].body.len() == 1 && audible[state].body[0] < -60.0, "{:?}", audible[state]);
        let likely = model.complaint_likelihood(&audible, Symptom::Silent);
        let hypothesis = model.hypotheses.list.iter().position(|hypothesis| {
            hypothesis.state == state && hypothesis.behaviour == lugwise::prediction::Behaviour::Steady
        });
        assert!(
            likely[hypothesis.unwrap()] > 0.8,
            "a dead coil is silent in every position that should sound"
        );
    }
}

#[test]
fn a_piezo_strip_at_the_jack_hums_only_when_a_ground_is_lost() {
    let instrument = Instrument::ideal("piezo-to-jack");
    let model = &instrument.model;
    let audible = model.audible().unwrap();
    let hums = |change: &Change| {
        audible[model.hypotheses.states.iter().position(|state| state.change == *change).unwrap()].hums
    };
    assert!(!hums(&Change::Nothing), "no path at the jack is how this wiring is");
    assert!(hums(&instrument.change("string-ground/wire broken", None)));
    let reference = model.positions(&Setting::reference(&model.harness));
    assert!(level(model, &reference, 3000.0, &Change::Nothing) > 0.3);
}

#[test]
fn exchanging_the_lugs_of_a_plain_switch_is_no_fault() {
    for (name, exchange, found) in [
        ("breaking-kill-switch", "kill-switch.in/exchanged with out", false),
        ("shorting-kill-switch", "kill-switch.hot/exchanged with ground", false),
        ("two-humbuckers", "selector.neck/exchanged with common", true),
        ("two-humbuckers", "selector.neck/exchanged with bridge", true),
    ] {
        assert_eq!(Instrument::ideal(name).model.catalogue.find(exchange).is_some(), found, "{name}");
    }
}
