//! The rules of thumb of the bench, as far as a circuit can say them.
//!
//! The numbers are those of the reference tables' list of rules, H. "Computed" means that the figure was worked out
//! independently of this program; "common practice" that the trade says so without a source. Further rules stand in
//! `trade.rs` (2, 5, 6, 7, 8, 14 and 16 at the meter, 19), `sound.rs` (16 and 17 at one setting of the tone) and
//! `handbook.rs` (25 alone).
//!
//! Not computable from a wiring, and why:
//!
//! - 12, crackle on turning, moving or switching: what is heard, without a figure.
//! - 13, hum and the touch of strings or plug: the body's own capacitance is not in the circuit; that the strings have
//!   lost their ground is (8).
//! - 20 and 21, which pots and capacitors go together: a custom. What another pot or capacitor does to the sound is in
//!   `sound.rs`.
//! - 22 and 23, batteries: their voltage under load is chemistry, and unplugging is advice.
//! - 26, coils of one humbucker match within 10 %: how they are made; the split coil's check leans on it.
//! - 28 to 31: what to do, in which order, and what outranks what.

use std::fmt::Write;

use lugwise::circuit::{Change, ElementId, LinkId, built_in, odd_values, pickup_types};
use lugwise::faults::{Fault, NOTHING_WRONG};
use lugwise::readings::{Meter, Symptom};
use lugwise::solver::Positions;
use lugwise::source::Source;
use lugwise::units::{Celsius, Ohms, copper_at};
use rstest::rstest;

use crate::instrument::{IDEAL, Instrument};

/// An instrument of a few parts (name and kind) and wires (from and to), with ideal contacts and a jack.
fn small(parts: &[(&str, &str)], wires: &[(&str, &str)]) -> Instrument {
    let mut text =
        "(format: 1, name: \"test\", code: \"T\", title: \"t\", about: \"a\", joint: \"0.005 ohm\",\n\
                    places: [(name: \"outside\", how: \"h\", open: \"0 s\", outside: true)],\nparts: [\n"
            .to_owned();
    for (name, kind) in parts.iter().chain([&("jack", "Jack(contacts: 2)")]) {
        let part = format!(
            "(name: \"{name}\", title: \"the {name}\", kind: {kind}, place: \"outside\", at: (0, 0)),"
        );
        writeln!(text, "{part}").unwrap();
    }
    text.push_str("], wires: [\n");
    for (index, (from, to)) in wires.iter().enumerate() {
        let wire = format!(
            "(name: \"w{index}\", title: \"wire {index}\", kind: Wire, from: \"{from}\", to: \"{to}\"),"
        );
        writeln!(text, "{wire}").unwrap();
    }
    text.push_str("])");
    let mut instrument = Instrument::written(&Source::new("test.ron", text));
    instrument.values.joint = IDEAL;
    instrument
}

/// A built-in wiring with one text in it replaced by another.
fn altered(name: &str, from: &str, to: &str) -> Instrument {
    let (_, text) = built_in().iter().find(|(known, _)| known.trim_end_matches(".ron") == name).unwrap();
    assert!(text.contains(from), "{name} has no {from}");
    let mut instrument = Instrument::written(&Source::new(name, text.replace(from, to)));
    instrument.values.joint = IDEAL;
    instrument
}

fn jack(instrument: &Instrument, at: &Positions, change: &Change) -> Option<f64> {
    instrument.ohms(at, "plug.tip", "plug.sleeve", change)
}

/// The jack with the volume pot's wiper at each hundredth of its track.
fn sweep(instrument: &Instrument, change: &Change) -> Vec<f64> {
    let read = |step: i32| {
        let at = instrument.at(&[("volume", f64::from(step) / 100.0)], &[]);
        jack(instrument, &at, change).unwrap_or(f64::INFINITY)
    };
    (0..=100).map(read).collect()
}

/// Agreement to half a unit of the last printed digit, in kilohms.
#[track_caller]
fn prints(ohms: f64, printed: &str) {
    let places = printed.split_once('.').map_or(0, |(_, fraction)| fraction.len());
    let half = 0.5 * 0.1f64.powi(i32::try_from(places).unwrap());
    let expected: f64 = printed.parse().unwrap();
    assert!((ohms / 1e3 - expected).abs() <= half * (1.0 + 1e-6), "{ohms} Ω is not {printed} k");
}

fn most(sweep: &[f64]) -> f64 {
    sweep.iter().copied().fold(0.0, f64::max)
}

fn rises(sweep: &[f64]) -> bool {
    sweep.windows(2).all(|pair| pair[0] < pair[1])
}

fn falls(sweep: &[f64]) -> bool {
    sweep.windows(2).all(|pair| pair[0] > pair[1])
}

// H 1. The span is common practice; the two readings are computed.
#[rstest]
#[case("one-pickup", "pickup", None, "6.05")]
#[case("two-humbuckers", "neck-pickup", Some("neck"), "7.49")]
#[case("two-humbuckers", "bridge-pickup", Some("bridge"), "8.07")]
fn a_pickup_reads_its_coil_less_one_to_three_percent(
    #[case] wiring: &str,
    #[case] coil: &str,
    #[case] position: Option<&str>,
    #[case] printed: &str,
) {
    let instrument = Instrument::ideal(wiring);
    let positions: Vec<(&str, &str)> = position.iter().map(|p| ("selector", *p)).collect();
    let found = jack(&instrument, &instrument.at(&[], &positions), &Change::Nothing).unwrap();
    prints(found, printed);
    let less = 1.0 - found / instrument.values.ohms[instrument.part(coil).0];
    assert!((0.01..=0.03).contains(&less), "{less}");
}

/// A humbucker of two coils with a three-position coil switch before a volume pot (reference tables, A9a).
fn split_humbucker() -> Instrument {
    let coil =
        |ohms: &str| format!("Coil(ohms: \"{ohms}\", spread: \"10%\", henries: \"2.3H\", farads: \"60p\")");
    let switch = "Switch(control: \"coils\", terminals: [\"c1\", \"a1\", \"b1\", \"c2\", \"a2\", \"b2\"], positions: [\
                  (name: \"series\", joins: [(\"c1\", \"a1\"), (\"c2\", \"a2\")]),\
                  (name: \"split\", joins: [(\"c1\", \"b1\"), (\"c2\", \"a2\")]),\
                  (name: \"parallel\", joins: [(\"c1\", \"b1\"), (\"c2\", \"b2\")])])";
    let pot = "Pot(track: \"500k audio\", tolerance: \"20%\", role: Volume, control: \"volume\")";
    small(
        &[("coil-a", &coil("4.1k")), ("coil-b", &coil("3.9k")), ("coils", switch), ("volume", pot)],
        &[
            ("coil-a.hot", "volume.lug3"),
            ("coil-a.cold", "coils.c1"),
            ("coil-b.hot", "coils.c2"),
            ("coil-b.cold", "jack.sleeve"),
            ("coils.a1", "coils.a2"),
            ("coils.b1", "jack.sleeve"),
            ("coils.b2", "volume.lug3"),
            ("volume.lug1", "jack.sleeve"),
            ("volume.lug2", "jack.tip"),
        ],
    )
}

// H 3 and H 4, computed (A9a): 7.874 k in series, 4.067 k split, 1.991 k in parallel.
#[test]
fn coils_in_series_split_and_in_parallel() {
    let instrument = split_humbucker();
    let read = |position| {
        let at = instrument.at(&[], &[("coils", position)]);
        jack(&instrument, &at, &Change::Nothing).unwrap()
    };
    let (series, split, parallel) = (read("series"), read("split"), read("parallel"));
    prints(series, "7.874");
    prints(split, "4.067");
    prints(parallel, "1.991");
    // Series coils add: what is beside the pot is the sum of the two.
    let beside_the_pot = 1.0 / (1.0 / series - 1.0 / 500e3);
    assert!((beside_the_pot / 8000.0 - 1.0).abs() < 1e-6, "{beside_the_pot}");
    // "About" is what coils that match within 10 % (H 26) can make of it.
    assert!((split / series - 0.5).abs() < 0.05, "{}", split / series);
    assert!((parallel / series - 0.25).abs() < 0.025, "{}", parallel / series);
}

// H 9, common practice: half an ohm at most at the part; and every one of them matters.
#[rstest]
fn a_good_joint_reads_under_half_an_ohm(#[values("one-pickup", "two-humbuckers")] name: &str) {
    let (_, text) = built_in().iter().find(|(known, _)| known.trim_end_matches(".ron") == name).unwrap();
    let instrument = Instrument::written(&Source::new(name, *text));
    let (harness, network) = (&instrument.model.harness, &instrument.model.network);
    let at = instrument.at(&[], &[]);
    for (index, link) in harness.links.iter().enumerate() {
        let ends = [link.from, link.to].map(|end| harness[end.terminal].name.clone());
        let whole = instrument.ohms(&at, &ends[0], &ends[1], &Change::Nothing).unwrap();
        assert!(whole > 0.0 && whole < 0.5, "{}: {whole}", link.name);
        let wire = network.find(&lugwise::circuit::What::Link(LinkId(index))).unwrap();
        let broken = instrument.ohms(&at, &ends[0], &ends[1], &Change::Open(wire));
        assert!(broken.is_none_or(|ohms| ohms > 0.5), "{} broken: {broken:?}", link.name);
    }
}

/// The share of the instruments with this complaint whose fault satisfies a test; nobody has measured anything yet.
fn share_of(name: &str, symptom: Symptom, wanted: impl Fn(&Fault) -> bool) -> f64 {
    let instrument = Instrument::ideal(name);
    let model = &instrument.model;
    let fits = model.complaint_likelihood(&model.audible().unwrap(), symptom);
    let (mut all, mut found) = (0.0, 0.0);
    for (hypothesis, fit) in model.hypotheses.list.iter().zip(fits) {
        for (fault, share) in &hypothesis.faults {
            let weight = hypothesis.prior * share * fit;
            all += weight;
            found += if wanted(&model.catalogue[*fault]) { weight } else { 0.0 };
        }
    }
    found / all
}

// H 10, common practice: more than half of the silent ones are the cable, the jack or a lead off the jack.
#[rstest]
fn most_dead_guitars_are_cable_or_jack(#[values("one-pickup", "two-humbuckers")] name: &str) {
    let at_the_jack = |fault: &Fault| fault.id == NOTHING_WRONG || fault.id.starts_with("jack");
    let share = share_of(name, Symptom::Silent, at_the_jack);
    assert!(share > 0.5, "{share}");
}

// H 11, common practice: a coil is rarely the culprit; here less often than one time in ten.
#[rstest]
fn a_coil_is_rarely_the_culprit(
    #[values("one-pickup", "two-humbuckers")] name: &str,
    #[values(Symptom::Silent, Symptom::Weak, Symptom::Muffled, Symptom::Intermittent)] symptom: Symptom,
) {
    let share = share_of(name, symptom, |fault| fault.id.contains("/coil "));
    assert!(share > 0.0 && share < 0.1, "{share}");
}

const HERTZ: [f64; 5] = [100.0, 250.0, 1000.0, 3000.0, 5000.0];

fn state_of(instrument: &Instrument, change: &Change) -> usize {
    instrument.model.hypotheses.states.iter().position(|state| state.change == *change).unwrap()
}

fn decibels(instrument: &Instrument, at: &Positions, hertz: f64, state: usize) -> f64 {
    20.0 * instrument.model.level(at, hertz, &[state]).unwrap()[0].log10()
}

// H 14, common practice: exchanged at the jack, it sounds as ever; but every surface that should be at ground is at the
// hot end, which is why it buzzes more when touched.
#[rstest]
fn hot_and_ground_exchanged_at_the_jack_sounds_normal(#[values("one-pickup", "two-humbuckers")] name: &str) {
    let instrument = Instrument::ideal(name);
    let change = instrument.change("jack/hot and ground exchanged", None);
    let state = state_of(&instrument, &change);
    let at = instrument.at(&[], &[]);
    for hertz in HERTZ {
        let (found, healthy) =
            (decibels(&instrument, &at, hertz, state), decibels(&instrument, &at, hertz, 0));
        assert!((found - healthy).abs() < 0.05, "{hertz} Hz: {found} dB, healthy {healthy} dB");
    }
    let audible = instrument.model.audible().unwrap();
    assert!(audible[state].hums && !audible[0].hums);
    let strings = instrument.ohms(&at, "plug.tip", "strings.surface", &change).unwrap();
    assert!(strings < 1.0, "{strings}");
}

// H 15, common practice: one pickup out of phase is heard only together with the other, as thin, and no ohmmeter shows it:
// the lowest string (82.4 Hz) all but vanishes, the treble stays.
#[test]
fn out_of_phase_is_heard_with_both_pickups_and_never_measured() {
    let instrument = Instrument::ideal("two-humbuckers");
    let change = instrument.change("bridge-pickup/hot and ground exchanged", None);
    let state = state_of(&instrument, &change);
    for position in ["neck", "both", "bridge"] {
        let at = instrument.at(&[], &[("selector", position)]);
        let (found, healthy) = (jack(&instrument, &at, &change), jack(&instrument, &at, &Change::Nothing));
        assert!((found.unwrap() / healthy.unwrap() - 1.0).abs() < 1e-6, "{position}: {found:?}");
        let lost = |hertz| decibels(&instrument, &at, hertz, 0) - decibels(&instrument, &at, hertz, state);
        let (bass, treble) = (lost(82.4), lost(3000.0));
        assert!(treble.abs() < 0.1, "{position}: {treble} dB");
        if position == "both" {
            assert!(bass > 20.0, "{bass} dB");
        } else {
            assert!(bass.abs() < 0.1, "{position}: {bass} dB");
        }
    }
}

// H 16, computed: with its capacitor open the tone knob does nothing at any frequency; a sound one takes 35 dB at 3 kHz.
#[test]
fn the_tone_knob_does_nothing_while_its_capacitor_is_open() {
    let instrument = Instrument::ideal("one-pickup");
    let state = state_of(&instrument, &instrument.change("tone-cap/capacitor open", None));
    let (bright, dark) = (instrument.at(&[], &[]), instrument.at(&[("tone", 0.0)], &[]));
    for hertz in HERTZ {
        let turned =
            decibels(&instrument, &bright, hertz, state) - decibels(&instrument, &dark, hertz, state);
        assert!(turned.abs() < 1e-6, "{hertz} Hz: {turned} dB");
    }
    let sound = decibels(&instrument, &bright, 3000.0, 0) - decibels(&instrument, &dark, 3000.0, 0);
    assert!((sound - 35.3).abs() < 0.2, "{sound} dB");
}

// H 17, computed: with the hot end on the capacitor the jack reads what it always reads, and it is dark at every
// setting of the tone.
#[test]
fn hot_on_the_capacitor_is_dark_at_every_tone_and_measures_well() {
    let instrument = Instrument::ideal("one-pickup");
    let change = instrument.change("tone.lug1/short to tone.lug2", None);
    let state = state_of(&instrument, &change);
    let bright = decibels(&instrument, &instrument.at(&[], &[]), 3000.0, 0);
    for tone in [1.0, 0.5, 0.15, 0.0] {
        let at = instrument.at(&[("tone", tone)], &[]);
        let (found, healthy) = (jack(&instrument, &at, &change), jack(&instrument, &at, &Change::Nothing));
        assert!((found.unwrap() / healthy.unwrap() - 1.0).abs() < 1e-6, "tone {tone}: {found:?}");
        let lost = bright - decibels(&instrument, &at, 3000.0, state);
        assert!(lost > 30.0, "tone {tone}: only {lost} dB darker");
    }
}

/// One pickup with every track of this law, and the tone pot's lugs 1 and 2 as an ohmmeter sees them.
fn with_taper(law: &str) -> Instrument {
    altered("one-pickup", "250k audio", &format!("250k {law}"))
}

fn at_dial(instrument: &Instrument, pot: &str, dial: f64) -> Positions {
    let mut at = instrument.at(&[], &[]);
    at.rotation[instrument.part(pot).0] = dial / 10.0;
    at
}

// H 18, taper descriptions of the trade: at half dial an audio track has 10 % to 20 % of its total, a linear one 50 %.
#[test]
fn a_track_at_half_dial() {
    for (law, share) in [("audio", 0.10..=0.20), ("linear", 0.499..=0.501), ("reverse", 0.80..=0.90)] {
        let instrument = with_taper(law);
        let at = at_dial(&instrument, "tone", 5.0);
        let found = instrument.ohms(&at, "tone.lug1", "tone.lug2", &Change::Nothing).unwrap() / 250e3;
        assert!(share.contains(&found), "{law}: {found}");
    }
}

// H 19 and A.0.3, computed: the maximum of the sweep is the same for every law; where it sits on the dial tells it.
#[rstest]
#[case("linear", 5.1)]
#[case("audio", 7.1)]
#[case("reverse", 3.0)]
fn where_the_maximum_sits_tells_the_taper(#[case] law: &str, #[case] dial: f64) {
    let instrument = with_taper(law);
    let read = |tenths: i32| {
        let at = at_dial(&instrument, "volume", f64::from(tenths) / 10.0);
        jack(&instrument, &at, &Change::Nothing).unwrap()
    };
    let highest = (0..=100).max_by(|a, b| read(*a).total_cmp(&read(*b))).unwrap();
    assert!((f64::from(highest) / 10.0 - dial).abs() < 0.11, "{highest}");
    assert!((4.0 * read(highest) / 256.2e3 - 1.0).abs() < 0.005, "{}", read(highest));
}

// A.0.3, computed: the jack against the dial for two more laws, in kΩ.
#[rstest]
#[case("linear", [0.00, 22.56, 40.24, 53.04, 60.97, 64.01, 62.18, 55.46, 43.87, 27.40, 6.05])]
#[case("reverse", [0.00, 35.45, 56.80, 64.05, 57.20, 36.25, 31.09, 25.48, 19.45, 12.97, 6.05])]
fn the_sweep_dial_by_dial(#[case] law: &str, #[case] printed: [f64; 11]) {
    let instrument = with_taper(law);
    for (dial, kilohms) in printed.into_iter().enumerate() {
        let at = at_dial(&instrument, "volume", dial as f64);
        let found = jack(&instrument, &at, &Change::Nothing).unwrap() / 1e3;
        assert!((found - kilohms).abs() <= 0.005_001, "dial {dial}: {found} is not {kilohms}");
    }
}

// A.0.3, computed: the shape of the sweep of a plain volume, fault by fault. The pot is 250 k, the coil 6.2 k.
#[test]
fn the_shape_of_the_sweep_of_a_plain_volume() {
    let instrument = Instrument::ideal("one-pickup");
    let swept = |fault: &str, size: Option<f64>| sweep(&instrument, &instrument.change(fault, size));
    let healthy = sweep(&instrument, &Change::Nothing);
    assert!(healthy[0] < 1e-3 && (most(&healthy) / 64_050.0 - 1.0).abs() < 1e-3);
    prints(healthy[100], "6.050");

    let before = swept("volume.lug3/short to volume.case", Some(IDEAL));
    assert!(before[0] < 1e-3 && before[100] < 1e-3 && (most(&before) / 62_500.0 - 1.0).abs() < 1e-3);

    for behind in ["volume.lug2/short to volume.case", "jack.tip/short to jack.sleeve"] {
        assert!(most(&swept(behind, Some(IDEAL))) < 1e-3, "{behind}");
    }
    for open in ["pickup/coil open", "volume/track open at lug 3"] {
        let rising = swept(open, None);
        assert!(rises(&rising) && rising[0] < 1e-3 && (rising[100] / 250e3 - 1.0).abs() < 1e-6, "{open}");
    }
    for loose in ["volume-ground-lug/lug broken", "volume/track open at lug 1"] {
        let falling = swept(loose, None);
        assert!(falls(&falling), "{loose}");
        prints(falling[0], "256.20");
        prints(falling[100], "6.200");
    }
    for open in ["volume/wiper open", "output-wire/wire broken", "jack/tip spring open"] {
        assert!(swept(open, None).iter().all(|ohms| ohms.is_infinite()), "{open}");
    }
}

/// The wire between two terminals.
fn wire(instrument: &Instrument, from: &str, to: &str) -> ElementId {
    let harness = &instrument.model.harness;
    let ends = |end: lugwise::circuit::End| harness[end.terminal].name.as_str();
    let index = harness.links.iter().position(|link| ends(link.from) == from && ends(link.to) == to).unwrap();
    instrument.model.network.find(&lugwise::circuit::What::Link(LinkId(index))).unwrap()
}

// A.0.3, computed: resistance after the wiper lifts the whole hump; before the pot it leaves the start and lifts the end.
#[test]
fn a_poor_joint_before_and_after_the_pot() {
    let instrument = Instrument::ideal("one-pickup");
    let healthy = sweep(&instrument, &Change::Nothing);
    let after = sweep(&instrument, &Change::Series(wire(&instrument, "volume.lug2", "jack.tip"), 10e3));
    for (with, without) in after.iter().zip(&healthy) {
        assert!((with - without - 10e3).abs() < 0.01, "{with} {without}");
    }
    let before = sweep(&instrument, &Change::Series(wire(&instrument, "pickup.hot", "volume.lug3"), 10e3));
    assert!(before[0] < 1e-3);
    // 16.2 k beside 250 k.
    prints(before[100], "15.214");
    assert!((most(&before) / 66_550.0 - 1.0).abs() < 1e-3, "{}", most(&before));
}

/// One pickup on the wiper of its volume pot: the independent wiring.
fn independent() -> Instrument {
    small(
        &[
            ("pickup", "Coil(ohms: \"7.6k\", spread: \"10%\", henries: \"4.2H\", farads: \"120p\")"),
            ("volume", "Pot(track: \"500k audio\", tolerance: \"20%\", role: Volume, control: \"volume\")"),
        ],
        &[
            ("pickup.hot", "volume.lug2"),
            ("pickup.cold", "jack.sleeve"),
            ("volume.lug1", "jack.sleeve"),
            ("volume.lug3", "jack.tip"),
        ],
    )
}

// A.0.3 and A2c, computed: 500 k at zero, 257.38 k at half the track, 7.486 k at full, no hump; and its faults.
#[test]
fn the_shape_of_the_sweep_of_an_independent_volume() {
    let instrument = independent();
    let healthy = sweep(&instrument, &Change::Nothing);
    assert!(falls(&healthy));
    prints(healthy[0], "500.00");
    prints(healthy[50], "257.38");
    prints(healthy[100], "7.486");

    let open = |from: &str, to: &str| sweep(&instrument, &Change::Open(wire(&instrument, from, to)));
    let flat = open("pickup.hot", "volume.lug2");
    assert!(flat.iter().all(|ohms| (ohms / 500e3 - 1.0).abs() < 1e-6), "coil side open");
    let loose = open("volume.lug1", "jack.sleeve");
    assert!(falls(&loose));
    prints(loose[0], "507.60");
    prints(loose[100], "7.600");
    assert!(open("volume.lug3", "jack.tip").iter().all(|ohms| ohms.is_infinite()));

    let short =
        |a: &str, b: &str| sweep(&instrument, &Change::Bridge(instrument.node(a), instrument.node(b), IDEAL));
    let before = short("volume.lug2", "jack.sleeve");
    assert!(falls(&before) && before[100] < 1e-3);
    prints(before[0], "500.00");
    assert!(most(&short("jack.tip", "jack.sleeve")) < 1e-3);
}

/// One pickup with something across lugs 3 and 2 of its volume pot.
fn with_bleed(parts: &[(&str, &str)], wires: &[(&str, &str)]) -> Instrument {
    let mut all_parts = vec![
        ("pickup", "Coil(ohms: \"6.2k\", spread: \"10%\", henries: \"2.5H\", farads: \"110p\")"),
        ("volume", "Pot(track: \"250k audio\", tolerance: \"20%\", role: Volume, control: \"volume\")"),
    ];
    all_parts.extend(parts);
    let mut all_wires = vec![
        ("pickup.hot", "volume.lug3"),
        ("pickup.cold", "jack.sleeve"),
        ("volume.lug1", "jack.sleeve"),
        ("volume.lug2", "jack.tip"),
    ];
    all_wires.extend(wires);
    small(&all_parts, &all_wires)
}

const BLEED_CAPACITOR: (&str, &str) = ("bleed-cap", "Capacitor(farads: \"1n\", tolerance: \"10%\")");

// A.0.3, A12a and A12b, computed: a bleed capacitor alone leaves the sweep as it is; a resistor beside it breaks the
// rule of four times the maximum: 46.69 k instead of 64.05 k.
#[test]
fn a_bleed_resistor_breaks_the_rule_of_the_maximum() {
    let capacitor = [("bleed-cap.a", "volume.lug3"), ("bleed-cap.b", "volume.lug2")];
    let alone = with_bleed(&[BLEED_CAPACITOR], &capacitor);
    prints(sweep(&alone, &Change::Nothing)[50], "64.012");
    assert!((4.0 * most(&sweep(&alone, &Change::Nothing)) / 256.2e3 - 1.0).abs() < 1e-3);

    let resistor = ("bleed", "Resistor(ohms: \"150k\", tolerance: \"5%\")");
    let beside = [("bleed.a", "volume.lug3"), ("bleed.b", "volume.lug2")];
    let both = with_bleed(&[BLEED_CAPACITOR, resistor], &[capacitor, beside].concat());
    let swept = sweep(&both, &Change::Nothing);
    prints(swept[0], "0.000");
    prints(swept[50], "46.633");
    prints(swept[100], "6.050");
    prints(most(&swept), "46.69");
}

// H 24, common practice: a piezo is a capacitor to the meter; over range is healthy, a few ohms are not.
#[test]
fn a_piezo_reads_over_range() {
    let strip = ("strip", "Capacitor(farads: \"1n\", tolerance: \"30%\")");
    let instrument = small(&[strip], &[("strip.a", "jack.tip"), ("strip.b", "jack.sleeve")]);
    let at = instrument.at(&[], &[]);
    assert_eq!(jack(&instrument, &at, &Change::Nothing), None);
    let shorted = instrument.change("strip/capacitor shorted", Some(IDEAL));
    assert!(jack(&instrument, &at, &shorted).unwrap() < 1.0);
}

// H 25, computed: a guitar from a cold car, at 7 °C to 0 °C, reads 5 % to 8 % low; its pot does not change.
#[test]
fn a_cold_guitar_reads_five_to_eight_percent_low() {
    let mut instrument = Instrument::ideal("one-pickup");
    let at = instrument.at(&[], &[]);
    let warm = jack(&instrument, &at, &Change::Nothing).unwrap();
    let coil = instrument.part("pickup").0;
    for (celsius, coil_low) in [(7.0, 0.051), (0.0, 0.079)] {
        instrument.values.ohms[coil] = copper_at(Ohms::new(6200.0), Celsius::new(celsius)).get();
        assert!((1.0 - instrument.values.ohms[coil] / 6200.0 - coil_low).abs() < 0.000_5);
        let low = 1.0 - jack(&instrument, &at, &Change::Nothing).unwrap() / warm;
        assert!((0.045..0.08).contains(&low), "{celsius} °C: {low}");
        assert!(low < coil_low, "the pot beside it takes a little of it");
    }
}

// H 27, meter manuals: beepers sound below 35 Ω to 100 Ω, so a joint of 20 Ω beeps like a good one (H 9: under 0.5 Ω).
#[test]
fn a_beep_proves_little() {
    let instrument = Instrument::ideal("one-pickup");
    let at = instrument.at(&[], &[]);
    let poor = Change::Series(wire(&instrument, "volume.lug2", "jack.tip"), 20.0);
    let across = instrument.ohms(&at, "volume.lug2", "plug.tip", &poor).unwrap();
    for meter in Meter::all() {
        let (sounds, silent) = meter.beep;
        assert!(across > 0.5 && across < sounds.get(), "{}: {across}", meter.name);
        assert!(jack(&instrument, &at, &Change::Nothing).unwrap() > silent.get(), "{}", meter.name);
    }
}

// The tables of parts, common practice: these wirings are of stock parts, and each of their coils is what some type of
// pickup reads.
#[rstest]
fn built_in_wirings_are_of_usual_parts(#[values("one-pickup", "two-humbuckers")] name: &str) {
    let instrument = Instrument::ideal(name);
    let harness = &instrument.model.harness;
    assert_eq!(odd_values(harness), []);
    let mut coils = 0;
    for part in &harness.parts {
        if let lugwise::circuit::PartKind::Coil { ohms, .. } = part.kind {
            assert!(pickup_types().iter().any(|kind| kind.admits(ohms)), "{}: {ohms:?}", part.name);
            coils += 1;
        }
    }
    assert!(coils > 0);
}
