//! What everybody at a bench knows, as checks. Each says whether it is common practice or computed.

use lugwise::belief::Belief;
use lugwise::circuit::{Change, built_in};
use lugwise::faults::{Fault, Kind, NOTHING_WRONG};
use lugwise::job::Band;
use lugwise::readings::{Measurement, Meter, Mode, Reading, Setting, Stand, parse_entry};
use lugwise::source::Source;
use lugwise::units::Ohms;
use lugwise::workbench::Engine;

use crate::instrument::Instrument;

fn engine(name: &str) -> Engine {
    let (_, text) = built_in().iter().find(|(known, _)| known.trim_end_matches(".ron") == name).unwrap();
    Engine::new(&Source::new(name, *text), Meter::ordinary(), &[]).unwrap()
}

/// A measurement with every knob at 10 but those given, every switch in its first position but those given.
fn measurement(engine: &Engine, red: &str, black: &str, moved: &[(&str, Stand)]) -> Measurement {
    let mut setting = Setting::reference(engine.harness());
    for (control, stand) in moved {
        assert!(engine.harness().control(control).is_some(), "no control {control}");
        setting = setting.with(control, stand.clone());
    }
    Measurement::ohms(red, black, setting)
}

fn jack(engine: &Engine, moved: &[(&str, Stand)]) -> Measurement {
    measurement(engine, "plug.tip", "plug.sleeve", moved)
}

fn dial(number: u8) -> Stand {
    Stand::Knob(number)
}

/// What the program says to expect, in ohms; infinity for over range.
fn reads(engine: &Engine, measurement: &Measurement, fault: &str) -> f64 {
    ohms(&engine.predict(measurement, fault).unwrap())
}

fn healthy(engine: &Engine, measurement: &Measurement) -> f64 {
    ohms(&engine.healthy(measurement).unwrap())
}

fn ohms(band: &Band) -> f64 {
    band.ohms.map_or(f64::INFINITY, Ohms::get)
}

// Common practice, no source.
#[test]
fn a_strand_of_the_braid_on_the_hot_lug_reads_under_one_ohm() {
    let engine = engine("two-humbuckers");
    for pickup in ["neck", "bridge"] {
        let fault = format!("{pickup}-volume.lug3/short to {pickup}-volume.case");
        let at_the_jack = jack(&engine, &[("selector", Stand::At(pickup.to_owned()))]);
        let across =
            measurement(&engine, &format!("{pickup}-volume.lug3"), &format!("{pickup}-volume.case"), &[]);
        for place in [&at_the_jack, &across] {
            assert!(reads(&engine, place, &fault) < 1.0, "{pickup}");
            assert!(healthy(&engine, place) > 1000.0, "{pickup}");
        }
    }
}

// Computed (reference tables, H 5). Both ways: whatever breaks the coil's own way reads the pot, and whatever reads
// the pot breaks that way.
#[test]
fn a_reading_equal_to_the_volume_pot_means_that_the_coil_side_is_open() {
    let engine = engine("one-pickup");
    let full = jack(&engine, &[]);
    let on_the_coil_side = |fault: &Fault| {
        let own_way =
            ["pickup/coil", "pickup.hot/joint", "pickup.cold/joint", "pickup-hot/", "pickup-ground/"];
        let in_it = own_way.iter().any(|start| fault.id.starts_with(start))
            || ["volume.lug3/joint", "volume.case/joint pickup-ground", "volume/track open at lug 3"]
                .iter()
                .any(|start| fault.id.starts_with(start) && !fault.id.contains("tone-feed"));
        in_it && (fault.id.contains("open") || fault.id.contains("broken")) && !fault.intermittent()
    };
    let mut found = 0;
    for fault in &engine.model.catalogue.faults {
        // The fact is about what breaks; lugs that somebody exchanged put the coil beside the track as well.
        let rewired = matches!(fault.kind, Kind::LugsExchanged | Kind::WrongLug);
        if rewired || fault.intermittent() || fault.id == lugwise::faults::NOT_IN_CATALOGUE {
            continue;
        }
        let reads_the_pot = (reads(&engine, &full, &fault.id) / 250e3 - 1.0).abs() < 0.005;
        assert_eq!(reads_the_pot, on_the_coil_side(fault), "{}", fault.id);
        found += usize::from(reads_the_pot);
    }
    assert!(found >= 8, "{found}");
}

// Computed (reference tables, H 2).
#[test]
fn two_equal_pickups_together_read_about_half() {
    let mut instrument = Instrument::ideal("two-humbuckers");
    let bridge = instrument.part("bridge-pickup");
    instrument.values.ohms[bridge.0] = 7600.0;
    let read = |position| {
        let at = instrument.at(&[], &[("selector", position)]);
        instrument.ohms(&at, "plug.tip", "plug.sleeve", &Change::Nothing).unwrap()
    };
    assert!((read("neck") / read("bridge") - 1.0).abs() < 1e-6);
    assert!((read("both") / read("neck") - 0.5).abs() < 0.01);
}

// Common practice, no source; an end stop leaves 20 Ω at most (data sheets).
#[test]
fn a_healthy_volume_at_zero_reads_under_twenty_ohms() {
    let (one, two) = (engine("one-pickup"), engine("two-humbuckers"));
    let neck = [("selector", Stand::At("neck".to_owned())), ("neck volume", dial(0))];
    let bridge = [("selector", Stand::At("bridge".to_owned())), ("bridge volume", dial(0))];
    for (engine, at) in
        [(&one, jack(&one, &[("volume", dial(0))])), (&two, jack(&two, &neck)), (&two, jack(&two, &bridge))]
    {
        assert!(healthy(engine, &at) < 20.0);
    }
}

// Common practice, no source: in the middle position of two plain volumes either one at zero silences both.
#[test]
fn with_both_pickups_on_either_volume_at_zero_reads_nothing() {
    let engine = engine("two-humbuckers");
    for volume in ["neck volume", "bridge volume"] {
        let at = jack(&engine, &[("selector", Stand::At("both".to_owned())), (volume, dial(0))]);
        assert!(healthy(&engine, &at) < 20.0, "{volume}");
    }
}

// Computed (reference tables, H 7).
#[test]
fn zero_that_rises_in_mid_sweep_is_a_short_before_the_pot() {
    let engine = engine("one-pickup");
    let at = |number| jack(&engine, &[("volume", dial(number))]);
    for before in [
        "volume.lug3/short to volume.case",
        "volume.lug3/short to shield.surface",
        "pickup.hot/short to pickup.cold",
    ] {
        assert!(reads(&engine, &at(10), before) < 1.0, "{before}");
        assert!(reads(&engine, &at(5), before) > 10e3, "{before}");
        assert!(reads(&engine, &at(0), before) < 20.0, "{before}");
    }
    for behind in ["volume.lug2/short to volume.case", "jack.tip/short to jack.sleeve"] {
        for number in [10, 5, 0] {
            assert!(reads(&engine, &at(number), behind) < 1.0, "{behind} at {number}");
        }
    }
}

// Common practice, no source.
#[test]
fn sleeve_to_strings_reads_under_one_ohm_while_the_strings_are_grounded() {
    for name in ["one-pickup", "two-humbuckers"] {
        let engine = engine(name);
        let at = measurement(&engine, "plug.sleeve", "strings.surface", &[]);
        assert!(healthy(&engine, &at) < 1.0, "{name}");
        assert_eq!(reads(&engine, &at, "string-ground/wire broken"), f64::INFINITY, "{name}");
    }
}

// Common practice, no source: tip to strings equals tip to sleeve.
#[test]
fn tip_to_strings_reads_what_tip_to_sleeve_reads() {
    for name in ["one-pickup", "two-humbuckers"] {
        let engine = engine(name);
        let strings = healthy(&engine, &measurement(&engine, "plug.tip", "strings.surface", &[]));
        let sleeve = healthy(&engine, &jack(&engine, &[]));
        assert!((strings / sleeve - 1.0).abs() < 1e-3, "{name}: {strings} {sleeve}");
    }
}

// Computed (reference tables, A.2, last row of one pickup).
#[test]
fn hot_and_ground_exchanged_at_the_jack_reads_nothing_from_tip_to_strings() {
    for name in ["one-pickup", "two-humbuckers"] {
        let engine = engine(name);
        let fault = "jack/hot and ground exchanged";
        let strings = measurement(&engine, "plug.tip", "strings.surface", &[]);
        let plug = jack(&engine, &[]);
        assert!(reads(&engine, &strings, fault) < 1.0, "{name}");
        assert!((reads(&engine, &plug, fault) / healthy(&engine, &plug) - 1.0).abs() < 1e-3, "{name}");
    }
}

// Computed (reference tables, H 16).
#[test]
fn a_shorted_tone_capacitor_shows_only_with_the_tone_at_zero() {
    let engine = engine("one-pickup");
    let (bright, dark) = (jack(&engine, &[]), jack(&engine, &[("tone", dial(0))]));
    let fault = "tone-cap/capacitor shorted";
    assert!((reads(&engine, &bright, fault) / healthy(&engine, &bright) - 1.0).abs() < 0.03);
    assert!(reads(&engine, &dark, fault) < 20.0);
    assert!(healthy(&engine, &dark) > 5e3);
}

// Computed (reference tables, H 6).
#[test]
fn a_volume_that_has_lost_its_ground_reads_the_bare_coil_and_does_not_turn_off() {
    let engine = engine("one-pickup");
    let fault = "volume-ground-lug/lug broken";
    assert!((reads(&engine, &jack(&engine, &[]), fault) / 6200.0 - 1.0).abs() < 1e-3);
    assert!(reads(&engine, &jack(&engine, &[("volume", dial(0))]), fault) > 200e3);
}

// The rule of the trade is that four times the maximum is pot and pickup together; computed (reference tables,
// A.0.3): 6.05 k at 10 and 64.05 k at the maximum give back 250.00 k and 6.200 k.
#[test]
fn the_maximum_of_the_sweep_is_a_quarter_of_pot_and_pickup() {
    let instrument = Instrument::ideal("one-pickup");
    let read = |share: f64| {
        let at = instrument.at(&[("volume", share)], &[]);
        instrument.ohms(&at, "plug.tip", "plug.sleeve", &Change::Nothing).unwrap()
    };
    let maximum = (0..=2000).map(|step| read(f64::from(step) / 2000.0)).fold(0.0, f64::max);
    assert!((maximum / 64_050.0 - 1.0).abs() < 1e-5, "{maximum}");
    let (sum, product) = (4.0 * maximum, read(1.0) * 4.0 * maximum);
    let pot = f64::midpoint(sum, (sum * sum - 4.0 * product).sqrt());
    assert!((pot / 250e3 - 1.0).abs() < 1e-4, "{pot}");
    assert!(((sum - pot) / 6200.0 - 1.0).abs() < 1e-3, "{}", sum - pot);
}

// Computed (reference tables, A.0.3: jack reading against the dial, audio track with 15 % at half rotation), in kΩ.
#[test]
fn the_sweep_of_an_audio_volume_dial_by_dial() {
    let instrument = Instrument::ideal("one-pickup");
    let printed = [0.00, 7.28, 14.12, 20.52, 26.49, 32.01, 55.02, 63.93, 58.74, 39.44, 6.05];
    for (number, kilohms) in printed.into_iter().enumerate() {
        let mut at = instrument.at(&[], &[]);
        at.rotation[instrument.part("volume").0] = number as f64 / 10.0;
        let found = instrument.ohms(&at, "plug.tip", "plug.sleeve", &Change::Nothing).unwrap() / 1e3;
        assert!((found - kilohms).abs() <= 0.005_001, "dial {number}: {found} is not {kilohms}");
    }
}

/// What a swept volume of 250 k with a coil of 6.2 k behind it shows at 0, at most and at 10, and whose shape it is.
const SHAPES: [(&str, &str); 6] = [
    ("0.2r / 64.1k / 6.05k", NOTHING_WRONG),
    ("0.2r / 62.5k / 0.3r", "volume.lug3/short to volume.case"),
    ("0.2r / 0.3r / 0.2r", "jack.tip/short to jack.sleeve"),
    ("0.2r / 250k / 250k", "pickup/coil open"),
    ("256k / 256k / 6.20k", "volume/track open at lug 1"),
    ("ol / ol / ol", "volume/wiper open"),
];

// Computed (reference tables, A.0.3: shape of the sweep as a test): each shape speaks for its own fault more than for any
// of the others, and its lowest and highest value alone never against it.
#[test]
fn the_shape_of_one_sweep_tells_the_faults_apart() {
    let engine = engine("one-pickup");
    let knob = engine.candidates.list.iter().map(|c| &c.measurement).find(|m| m.mode == Mode::Sweep).unwrap();
    let prior = Belief::prior(&engine.model).fault_probabilities(&engine.model);
    let gain = |text: &str, fault: &str| {
        let shown = parse_entry(text, Mode::Sweep, false).unwrap();
        let reading = Reading { measurement: knob.clone(), typed: text.to_owned(), shown };
        let mut belief = Belief::prior(&engine.model);
        belief.read(&engine.model, engine.meter, None, &engine.values(&reading).unwrap());
        let id = engine.model.catalogue.find(fault).unwrap().0;
        belief.fault_probabilities(&engine.model)[id] / prior[id]
    };
    for (text, own) in SHAPES {
        for (_, other) in SHAPES.into_iter().filter(|(_, other)| *other != own) {
            let (for_own, for_other) = (gain(text, own), gain(text, other));
            assert!(for_own > 3.0 * for_other, "{text}: {own} {for_own}, {other} {for_other}");
        }
        let [from, highest, to] = text.split(" / ").collect::<Vec<_>>()[..] else { panic!("{text}") };
        let lowest = if from == "256k" { to } else { from };
        assert!(gain(&format!("{lowest}..{highest}"), own) > 1.0, "{lowest}..{highest}: {own}");
    }
}
