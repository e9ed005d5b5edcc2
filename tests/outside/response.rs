//! What reaches the cable's end over frequency, against a table that was computed elsewhere, against ngspice, and
//! against what is known at every bench.

use std::path::Path;
use std::process::{Command, Stdio};

use lugwise::circuit::{Change, ElementId, What, built_in, load};
use lugwise::prediction::{Load, Model, Response, Sounding, grid};
use lugwise::readings::{Setting, Stand};
use lugwise::solver::{Deck, Hanging, Heard, Positions, sounding_lines};
use lugwise::source::Source;
use lugwise::units::{Farads, Hertz, Ohms};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use rstest::rstest;

use crate::instrument::{IDEAL, Instrument};

const HERTZ: [f64; 8] = [82.4, 200.0, 500.0, 1000.0, 2000.0, 3000.0, 4000.0, 5000.0];

/// What a row of the table is made of: a wiring, how it differs from the file, and what is printed.
struct Row {
    name: &'static str,
    wiring: Wiring,
    /// Shares of track and parts' values that differ.
    volume: f64,
    tone: f64,
    parts: &'static [(&'static str, f64)],
    /// A fault of the catalogue with its size.
    fault: Option<(&'static str, Option<f64>)>,
    cable: f64,
    printed: [f64; 8],
    /// Hertz and decibels.
    peak: Option<(f64, f64)>,
    /// Where the level is 3 dB below that at 50 Hz, in hertz.
    corner: f64,
}

/// A wiring of the program, or one that is made of its text; other wirings of the program go in like the first.
#[derive(Clone, Copy)]
enum Wiring {
    BuiltIn(&'static str),
    /// The tone taken from the volume's output.
    Vintage,
    /// A capacitor in farads, with a resistor beside it or before it, from the volume's input to its output.
    Bleed(&'static str, Option<(&'static str, bool)>),
}

const PLAIN: Row = Row {
    name: "healthy",
    wiring: Wiring::BuiltIn("one-pickup"),
    volume: 1.0,
    tone: 1.0,
    parts: &[],
    fault: None,
    cable: 500e-12,
    printed: [-0.5, -0.4, -0.4, -0.1, 1.1, 2.9, 3.5, 0.5],
    peak: Some((3707.0, 3.7)),
    corner: 6005.0,
};

const DARK: [f64; 8] = [-0.1, 0.7, 0.2, -12.4, -25.2, -32.4, -37.4, -41.4];
const NO_CAPACITOR: [f64; 8] = [-0.3, -0.2, -0.1, 0.2, 1.8, 4.8, 7.6, 3.1];

// Source of every figure: one pickup with volume and tone, an ideal source in series with the coil, the winding's
// capacitance across it, 500 pF of cable and 1 MΩ of amplifier unless the row says otherwise; decibels beside the
// source; independently computed table; numpy and ngspice (reference tables, A.2). Printed to a tenth of a decibel.
const TABLE: &[Row] = &[
    PLAIN,
    Row { name: "T0", tone: 0.0, printed: DARK, peak: Some((367.0, 1.8)), corner: 624.0, ..PLAIN },
    Row {
        name: "hot on the capacitor's side of the tone pot",
        fault: Some(("tone.lug1/short to tone.lug2", Some(IDEAL))),
        printed: DARK,
        peak: Some((367.0, 1.8)),
        corner: 624.0,
        ..PLAIN
    },
    Row {
        name: "capacitor open, T10",
        fault: Some(("tone-cap/capacitor open", None)),
        printed: NO_CAPACITOR,
        peak: Some((3960.0, 7.7)),
        corner: 6244.0,
        ..PLAIN
    },
    Row {
        name: "capacitor open, T0",
        tone: 0.0,
        fault: Some(("tone-cap-hot-leg/leg broken", None)),
        printed: NO_CAPACITOR,
        peak: Some((3960.0, 7.7)),
        corner: 6244.0,
        ..PLAIN
    },
    Row {
        name: "capacitor shorted, T10",
        fault: Some(("tone-cap/capacitor shorted", Some(IDEAL))),
        printed: [-0.5, -0.5, -0.4, -0.1, 1.1, 2.9, 3.5, 0.5],
        peak: Some((3713.0, 3.7)),
        corner: 6014.0,
        ..PLAIN
    },
    Row {
        name: "1 nF cable",
        cable: 1e-9,
        printed: [-0.5, -0.4, -0.3, 0.3, 2.9, 5.1, -0.1, -5.7],
        peak: Some((2865.0, 5.2)),
        corner: 4565.0,
        ..PLAIN
    },
    Row {
        name: "2.4 nF coiled lead",
        cable: 2.4e-9,
        printed: [-0.4, -0.4, -0.0, 1.5, 6.3, -2.8, -9.7, -14.4],
        peak: Some((1946.0, 6.4)),
        corner: 3083.0,
        ..PLAIN
    },
    Row {
        name: "half the turns shorted",
        fault: Some(("pickup/coil half shorted", Some(0.5))),
        printed: [-0.2, -0.2, -0.2, -0.1, 0.2, 0.9, 1.8, 3.2],
        peak: Some((7959.0, 8.3)),
        corner: 12_513.0,
        ..PLAIN
    },
    Row {
        name: "t = 0.15, modern tone",
        volume: 0.15,
        printed: [-17.2, -17.2, -17.2, -17.2, -17.2, -17.3, -17.4, -17.7],
        peak: None,
        corner: 8337.0,
        ..PLAIN
    },
    Row {
        name: "t = 0.15, vintage tone",
        wiring: Wiring::Vintage,
        volume: 0.15,
        printed: [-18.0, -18.0, -18.0, -17.9, -17.8, -17.5, -17.2, -16.8],
        peak: Some((7747.0, -15.7)),
        corner: 11_750.0,
        ..PLAIN
    },
    Row {
        name: "t = 0.15, 1 nF bleed",
        wiring: Wiring::Bleed("1n", None),
        volume: 0.15,
        printed: [-17.1, -16.9, -15.5, -12.5, -7.6, -4.9, -5.1, -7.1],
        peak: Some((3404.0, -4.6)),
        corner: 12_017.0,
        ..PLAIN
    },
    Row {
        name: "t = 0.15, 1 nF beside 150 k",
        wiring: Wiring::Bleed("1n", Some(("150k", true))),
        volume: 0.15,
        printed: [-11.3, -11.3, -11.0, -10.1, -7.8, -6.1, -6.2, -7.7],
        peak: Some((3455.0, -5.9)),
        corner: 8300.0,
        ..PLAIN
    },
    Row {
        name: "t = 0.15, 1.2 nF behind 130 k",
        wiring: Wiring::Bleed("1.2n", Some(("130k", false))),
        volume: 0.15,
        printed: [-17.0, -16.4, -14.2, -12.2, -11.3, -11.4, -11.9, -12.7],
        peak: Some((2295.0, -11.2)),
        corner: 10_470.0,
        ..PLAIN
    },
    Row {
        name: "both pots 1 M",
        parts: &[("volume", 1e6), ("tone", 1e6)],
        printed: [-0.2, -0.1, -0.0, 0.3, 2.0, 5.6, 10.8, 4.4],
        peak: Some((4025.0, 10.8)),
        corner: 6300.0,
        ..PLAIN
    },
    Row {
        name: "25 k volume by mistake",
        fault: Some(("volume/wrong value", Some(0.1))),
        printed: [-2.1, -2.2, -2.4, -3.0, -5.1, -7.3, -9.4, -11.3],
        peak: None,
        corner: 2033.0,
        ..PLAIN
    },
    Row {
        name: "T0, 470 nF by mistake",
        tone: 0.0,
        parts: &[("tone-cap", 470e-9)],
        printed: [-4.5, -11.5, -22.9, -33.8, -45.5, -52.5, -57.5, -61.3],
        peak: None,
        corner: 94.0,
        ..PLAIN
    },
];

/// Returns the text of the wiring with one pickup, changed; every change must find its place.
fn edited(changes: &[(&str, &str)]) -> Instrument {
    let (_, text) = built_in().iter().find(|(name, _)| *name == "one-pickup.ron").unwrap();
    let mut text = (*text).to_owned();
    for (from, to) in changes {
        assert_eq!(text.matches(from).count(), 1, "{from}");
        text = text.replace(from, to);
    }
    Instrument::written(&Source::new("edited.ron", text))
}

fn bleed(farads: &str, resistor: Option<(&str, bool)>) -> Instrument {
    let part = |name: &str, kind: String| {
        format!(
            "(name: \"{name}\", title: \"{name}\", kind: {kind}, place: \"control cavity\", at: (640, 130)),\n"
        )
    };
    let leg = |end: &str, to: &str| {
        let name = end.replace('.', "-");
        format!("(name: \"{name}\", title: \"{name}\", kind: Leg, from: \"{end}\", to: \"{to}\"),\n")
    };
    let capacitor = part("bleed", format!("Capacitor(farads: \"{farads}\", tolerance: \"10%\")"));
    let held = |ohms: &str| part("bleed-resistor", format!("Resistor(ohms: \"{ohms}\", tolerance: \"10%\")"));
    let (parts, legs) = match resistor {
        None => (capacitor, leg("bleed.a", "volume.lug3") + &leg("bleed.b", "volume.lug2")),
        Some((ohms, true)) => (
            capacitor + &held(ohms),
            leg("bleed.a", "volume.lug3")
                + &leg("bleed.b", "volume.lug2")
                + &leg("bleed-resistor.a", "volume.lug3")
                + &leg("bleed-resistor.b", "volume.lug2"),
        ),
        Some((ohms, false)) => (
            capacitor + &held(ohms),
            leg("bleed-resistor.a", "volume.lug3")
                + &leg("bleed-resistor.b", "bleed.a")
                + &leg("bleed.b", "volume.lug2"),
        ),
    };
    let wires = "wires: [\n";
    edited(&[("parts: [\n", &format!("parts: [\n{parts}")), (wires, &format!("{wires}{legs}"))])
}

fn fitted(row: &Row) -> Instrument {
    let mut instrument = match row.wiring {
        Wiring::BuiltIn(name) => Instrument::ideal(name),
        Wiring::Vintage => edited(&[(
            "from: \"volume.lug3\", to: \"tone.lug2\"",
            "from: \"volume.lug2\", to: \"tone.lug2\"",
        )]),
        Wiring::Bleed(farads, resistor) => bleed(farads, resistor),
    };
    instrument.values.joint = IDEAL;
    for &(part, value) in row.parts {
        let id = instrument.part(part);
        let values = &mut instrument.values;
        *if value < 1.0 { &mut values.farads[id.0] } else { &mut values.ohms[id.0] } = value;
    }
    instrument.model.values = instrument.values.clone();
    instrument
}

fn level(sounding: &Sounding<'_>, change: &Change, hertz: f64) -> f64 {
    sounding.curves(&[change]).unwrap()[0].points(&[Hertz::new(hertz)]).unwrap()[0].decibels
}

/// Returns where a curve has fallen by 3 dB from its level at 50 Hz, by halving the octave above the last peak.
fn corner(sounding: &Sounding<'_>, change: &Change) -> f64 {
    let curves = sounding.curves(&[change]).unwrap();
    let at = |hertz: f64| curves[0].points(&[Hertz::new(hertz)]).unwrap()[0].decibels;
    let wanted = at(50.0) - 3.0;
    let mut low = (0..400).map(|k| 50.0 * 1.015f64.powi(k)).filter(|&f| at(f) >= wanted).fold(50.0, f64::max);
    let mut high = low * 1.015;
    while high - low > 0.01 {
        let middle = (low * high).sqrt();
        *if at(middle) >= wanted { &mut low } else { &mut high } = middle;
    }
    low
}

#[test]
fn every_row_of_the_table_is_met() {
    let mut wrong = Vec::new();
    for row in TABLE {
        let instrument = fitted(row);
        let change = row.fault.map_or(Change::Nothing, |(id, size)| instrument.change(id, size));
        let at = instrument.at(&[("volume", row.volume), ("tone", row.tone)], &[]);
        let cable = Load { cable: Farads::new(row.cable), ..Load::default() };
        let sounding = instrument.model.sounding_at(at, cable);
        let hertz = HERTZ.map(Hertz::new);
        let response = sounding.curves(&[&change]).unwrap()[0].response(&hertz).unwrap();
        for (point, printed) in response.points.iter().zip(row.printed) {
            // Within half of the last printed digit.
            if (point.decibels - printed).abs() > 0.0501 {
                wrong.push(format!("{}: {point:?} is not {printed} dB", row.name));
            }
        }
        match (response.peak, row.peak) {
            (None, None) => {}
            (Some(peak), Some((hertz, decibels)))
                if (peak.hertz.get() / hertz - 1.0).abs() < 1e-3
                    && (peak.decibels - decibels).abs() <= 0.0501 => {}
            (found, printed) => wrong.push(format!("{}: peak {found:?} is not {printed:?}", row.name)),
        }
        let found = corner(&sounding, &change);
        if (found / row.corner - 1.0).abs() > 5e-3 {
            wrong.push(format!("{}: 3 dB down at {found:.0} Hz, not {} Hz", row.name, row.corner));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

// Two points of the table, confirmed by ngspice to a thousandth.
#[test]
fn two_levels_to_a_thousandth_of_a_decibel() {
    let instrument = fitted(&PLAIN);
    let sounding = instrument.model.sounding_at(instrument.at(&[], &[]), Load::default());
    for (hertz, expected) in [(3000.0, 2.934), (4000.0, 3.518)] {
        let found = level(&sounding, &Change::Nothing, hertz);
        assert!((found - expected).abs() <= 0.000_501, "{hertz} Hz: {found} dB is not {expected} dB");
    }
}

fn response(instrument: &Instrument, at: Positions, change: &Change) -> Response {
    let sounding = instrument.model.sounding_at(at, Load::default());
    sounding.curves(&[change]).unwrap()[0].response(&grid()).unwrap()
}

/// One pickup with the capacitor on the hot side and the tone pot between it and ground.
fn capacitor_first() -> Instrument {
    let mut instrument = edited(&[
        ("from: \"volume.lug3\", to: \"tone.lug2\"", "from: \"tone.lug1\", to: \"tone.case\""),
        ("from: \"tone-cap.a\", to: \"tone.lug1\"", "from: \"tone-cap.a\", to: \"volume.lug3\""),
        ("from: \"tone-cap.b\", to: \"tone.case\"", "from: \"tone-cap.b\", to: \"tone.lug2\""),
    ]);
    instrument.values.joint = IDEAL;
    instrument.model.values = instrument.values.clone();
    instrument
}

// Computed (reference tables, A.2: a short past the tone pot is identical to the tone at zero at every frequency), and
// common practice, no source, for the grounded shield on the tone pot's side of a capacitor that comes first.
#[test]
fn a_shield_on_the_tone_pots_side_of_the_capacitor_is_the_tone_at_zero_and_no_ohm_at_the_jack_tells() {
    for (instrument, fault) in [
        (capacitor_first(), "tone.lug2/short to tone.case"),
        (fitted(&PLAIN), "tone.lug1/short to tone.lug2"),
    ] {
        let (full, dark) = (instrument.at(&[], &[]), instrument.at(&[("tone", 0.0)], &[]));
        let change = instrument.change(fault, Some(IDEAL));
        let shorted = response(&instrument, full.clone(), &change);
        let turned_down = response(&instrument, dark, &Change::Nothing);
        let healthy = response(&instrument, full.clone(), &Change::Nothing);
        assert!(shorted.points.len() > 40);
        for (a, b) in shorted.points.iter().zip(&turned_down.points) {
            assert!((a.decibels - b.decibels).abs() < 1e-3, "{fault}: {a:?}, {b:?}");
        }
        assert!(shorted.beside(&healthy).treble < -20.0, "{fault} can be heard");
        let jack = |change: &Change| instrument.ohms(&full, "plug.tip", "plug.sleeve", change).unwrap();
        let (sound, faulty) = (jack(&Change::Nothing), jack(&change));
        assert!((faulty - sound).abs() <= 1e-9 * sound, "{fault}: {sound} Ω, {faulty} Ω");
    }
}

// Computed (reference tables, A.2: "a shorted capacitor is inaudible at T10 and silent at T0").
#[test]
fn a_shorted_tone_capacitor_is_silent_only_with_its_tone_at_zero() {
    for (wiring, tone, capacitor) in
        [("one-pickup", "tone", "tone-cap"), ("two-humbuckers", "neck-tone", "neck-tone-cap")]
    {
        let instrument = Instrument::ideal(wiring);
        let change = instrument.change(&format!("{capacitor}/capacitor shorted"), None);
        let heard = |share: f64| {
            let at = || instrument.at(&[(tone, share)], &[]);
            let faulty = response(&instrument, at(), &change);
            (faulty.silent(), faulty.beside(&response(&instrument, at(), &Change::Nothing)))
        };
        assert!(heard(0.0).0, "{wiring}: silent at 0");
        for share in [0.05, 0.1, 0.5, 1.0] {
            assert!(!heard(share).0, "{wiring} at {share}");
        }
        let full = heard(1.0).1;
        assert!(full.level.abs() < 0.1 && full.treble.abs() < 0.1, "{wiring}: {full:?}");
    }
}

/// One seeded case: a setting, a load, a frequency and a state.
struct Case {
    setting: Setting,
    load: Load,
    hertz: f64,
    state: usize,
    /// The one part that sounds.
    source: String,
}

impl Case {
    fn sounding<'m>(&self, model: &'m Model) -> Sounding<'m> {
        model.sounding(&self.setting, self.load).only(std::slice::from_ref(&self.source))
    }
}

/// How many cases are drawn for each wiring, how many of them must be heard, and how many share a deck.
const DRAWN: usize = 64;
const HEARD: usize = 20;
const TOGETHER: usize = 8;

fn drawn(model: &Model, rng: &mut StdRng) -> Case {
    let switched = model.switch_settings();
    let mut setting = switched[rng.random_range(0..switched.len())].clone();
    let knobs: Vec<String> = setting
        .0
        .iter()
        .filter(|(_, stand)| matches!(stand, Stand::Knob(_)))
        .map(|(name, _)| name.clone())
        .collect();
    for knob in knobs {
        let dial = *[1, 3, 5, 8, 10, 10].get(rng.random_range(0..6)).unwrap();
        setting = setting.with(&knob, Stand::Knob(dial));
    }
    let mut between = |low: f64, high: f64| low * (high / low).powf(rng.random_range(0.0..1.0));
    let load = Load { cable: Farads::new(between(50e-12, 3e-9)), input: Ohms::new(between(2e4, 1e7)) };
    let hertz = between(40.0, 15_000.0);
    let state = rng.random_range(0..model.hypotheses.states.len());
    let source = a_source(model, &setting, load, rng);
    Case { setting, load, hertz, state, source }
}

/// Returns one of the parts that are heard in a healthy instrument; any part that sounds where none is.
fn a_source(model: &Model, setting: &Setting, load: Load, rng: &mut StdRng) -> String {
    let all = model.sounding(setting, load).sources().to_vec();
    let name = |element: &ElementId| match model.network.elements[element.0].what {
        What::Coil(part) | What::Piezo(part) => model.harness[part].name.clone(),
        ref other => panic!("{other:?} sounds"),
    };
    let mut names: Vec<String> = all.iter().map(name).collect();
    let heard = |name: &String| {
        let alone = model.sounding(setting, load).only(std::slice::from_ref(name));
        alone.volts(Hertz::new(250.0), [&Change::Nothing]).unwrap()[0] > 1e-3
    };
    if names.iter().any(heard) {
        names.retain(heard);
    }
    names.swap_remove(rng.random_range(0..names.len()))
}

/// Returns the lines of a case's deck, and the name of the node that is heard.
fn lines(model: &Model, case: &Case, tag: &str) -> (String, String) {
    let node = |name: &str| model.network.lug(model.harness.terminal(name).unwrap());
    let (tip, sleeve) = (node("plug.tip"), node("plug.sleeve"));
    let sources = case.sounding(model).sources().to_vec();
    let deck = Deck {
        harness: &model.harness,
        network: model.network_of(case.state),
        values: &model.values,
        at: &model.positions(&case.setting),
        change: &model.hypotheses.states[case.state].change,
    };
    let hanging =
        Hanging { a: tip, b: sleeve, siemens: 1.0 / case.load.input.get(), farads: case.load.cable.get() };
    let heard = Heard { hanging, sources: &sources, hertz: Hertz::new(case.hertz) };
    sounding_lines(deck, heard, tag)
}

/// Runs cases in one call of the simulator and returns the volts of each.
fn simulated(model: &Model, cases: &[Case], folder: &Path) -> Vec<f64> {
    let (mut parts, mut runs) = (String::new(), String::new());
    for (index, case) in cases.iter().enumerate() {
        let (lines, node) = lines(model, case, &format!("q{index}"));
        parts += &lines;
        runs += &format!("ac lin 1 {0:e} {0:e}\necho case {index}\nprint vm({node})\n", case.hertz);
    }
    let deck = format!("* cases\n{parts}.control\nset numdgt=12\n{runs}quit\n.endc\n.end\n");
    let file = folder.join("cases.cir");
    std::fs::write(&file, &deck).unwrap();
    let output =
        Command::new("ngspice").arg("-b").arg(&file).stdin(Stdio::null()).output().unwrap_or_else(|e| {
            panic!("running ngspice: {e}; install the package `ngspice` (apt-get install ngspice)")
        });
    let said = String::from_utf8_lossy(&output.stdout);
    let complaints = String::from_utf8_lossy(&output.stderr).to_lowercase();
    assert!(!complaints.contains("error") && !complaints.contains("singular"), "{complaints}");
    let value =
        |part: &str| part.split_once(" = ").and_then(|(_, v)| v.split_whitespace().next()?.parse().ok());
    let volts: Vec<f64> = said.split("case ").skip(1).filter_map(value).collect();
    assert_eq!(volts.len(), cases.len(), "{said}\n{complaints}");
    volts
}

// Agreement asked for: 0.01 dB. The decks carry every joint; a unit source stands in one coil at a time. Each case has
// every second wiring, so that two cores share them.
#[rstest]
#[case::first(0)]
#[case::second(1)]
fn ngspice_hears_the_same_in_every_wiring(#[case] from: usize) {
    let folder = tempfile::tempdir().unwrap();
    for (seed, (name, text)) in built_in().iter().enumerate().skip(from).step_by(2) {
        let model = Model::new(load(&Source::new(*name, *text)).unwrap());
        let mut rng = StdRng::seed_from_u64(300 + seed as u64);
        let cases: Vec<Case> = (0..DRAWN).map(|_| drawn(&model, &mut rng)).collect();
        let (mut heard, mut worst) = (0, 0.0f64);
        let volts = cases.chunks(TOGETHER).flat_map(|cases| simulated(&model, cases, folder.path()));
        for (case, volts) in cases.iter().zip(volts) {
            let change = &model.hypotheses.states[case.state].change;
            // What the circuit passes on, the preamp taken to have its supply: a deck cannot know that it has lost it.
            let sounding = case.sounding(&model);
            let ours = 20.0 * sounding.volts(Hertz::new(case.hertz), [change]).unwrap()[0].max(1e-12).log10();
            let what = format!("{name}: {change:?}, {:?}, {} Hz, {:?}", case.setting, case.hertz, case.load);
            if ours < -100.0 {
                assert!(volts < 1e-5, "{what}: ours is silent, ngspice gives {volts} V");
                continue;
            }
            let theirs = 20.0 * volts.log10();
            assert!((ours - theirs).abs() <= 0.01, "{what}: ngspice {theirs} dB, ours {ours} dB");
            worst = worst.max((ours - theirs).abs());
            heard += 1;
        }
        assert!(heard >= HEARD, "{name}: only {heard} of {DRAWN} cases are heard");
        println!("{name}: {heard} cases heard, worst difference {worst:.1e} dB; {} silent", DRAWN - heard);
    }
}
