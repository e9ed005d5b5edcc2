//! The practice bench as a whole.

use std::sync::{Arc, LazyLock};

use rstest::rstest;

use super::*;
use crate::circuit::{Harness, built_in, load};
use crate::readings::{Measurement, Meter, Mode, Setting};
use crate::source::Source;
use crate::trial::Drawn;
use crate::workbench::Engine;

static SMALL: LazyLock<Arc<Engine>> = LazyLock::new(|| engine("one-pickup.ron"));

fn engine(file: &str) -> Arc<Engine> {
    let (name, text) = built_in().iter().find(|(name, _)| *name == file).unwrap();
    Arc::new(Engine::new(&Source::new(*name, *text), Meter::ordinary(), &[]).unwrap())
}

fn harnesses() -> Vec<Harness> {
    built_in().iter().map(|(name, text)| load(&Source::new(*name, *text)).unwrap()).collect()
}

/// Hides the fault of this id.
fn hiding(id: &str) -> Practice {
    let fault = SMALL.model.catalogue.find(id).unwrap_or_else(|| panic!("no fault {id}"));
    Practice::hiding(&SMALL, Difficulty::First, Drawn { fault, other: None, seed: 3 }).unwrap()
}

/// Returns the id of the first fault that does this to the plug: a short of it.
fn shorted_plug() -> String {
    let all = &SMALL.model.catalogue.faults;
    let short =
        all.iter().find(|fault| fault.kind == crate::faults::Kind::Short && fault.id.starts_with("jack."));
    short.unwrap().id.clone()
}

fn at_the_plug(practice: &Practice) -> Measurement {
    Measurement::at_the_plug(practice.harness())
}

/// Returns the ohms of a display's text; infinity for over range.
fn ohms(text: &str) -> f64 {
    let Some((number, unit)) = text.rsplit_once(' ') else { return f64::INFINITY };
    let worth = [("Ω", 1.0), ("kΩ", 1e3), ("MΩ", 1e6)].into_iter().find(|(name, _)| *name == unit);
    number.parse::<f64>().unwrap() * worth.unwrap().1
}

#[rstest]
#[case(Difficulty::First, 5)]
#[case(Difficulty::Bench, 6)]
#[case(Difficulty::Two, 7)]
fn the_same_seed_hides_the_same_and_reads_the_same(#[case] level: Difficulty, #[case] seed: u64) {
    let played = || {
        let mut practice = Practice::new(&SMALL, level, seed).unwrap();
        let asked = at_the_plug(&practice);
        let shown: Vec<String> =
            practice.measure(asked).map(|display| (0..10).map(|n| display.at(n * UPDATE)).collect()).unwrap();
        (practice.complaint(), shown, practice.give_up().unwrap().clone())
    };
    assert_eq!(played(), played());
}

#[test]
fn other_seeds_hide_other_faults() {
    let hidden = |seed| {
        let mut practice = Practice::new(&SMALL, Difficulty::First, seed).unwrap();
        practice.give_up().unwrap().hidden[0].id.clone()
    };
    let all: std::collections::BTreeSet<String> = (0..12).map(hidden).collect();
    assert!(all.len() > 3, "{all:?}");
}

// Ohm's law: tip on sleeve has the ohms of what touches, a tenth, and of the leads.
#[test]
fn a_shorted_jack_reads_near_nothing_and_beeps() {
    let mut practice = hiding(&shorted_plug());
    let asked = at_the_plug(&practice);
    let display = practice.measure(asked.clone()).unwrap().clone();
    assert!(ohms(&display.at(20 * UPDATE)) < 2.0, "{}", display.at(20 * UPDATE));
    assert_eq!(display.at(0), "OL", "the meter shows open leads when the probes come on");
    let beeper = practice.measure(Measurement { mode: Mode::Continuity, ..asked }).unwrap();
    assert!(beeper.at(2000).starts_with("beep · "), "{}", beeper.at(2000));
}

/// The accuracy that the manual of the meter's class states holds for every settled update of every display.
#[rstest]
fn the_display_settles_to_what_is_there(
    #[values("handheld", "cheap", "fine", "unknown")] meter: &str,
    #[values(0.4, 55.0, 390.0, 7600.0, 251e3, 1.4e6)] value: f64,
    #[values(1, 2, 3, 4, 5)] seed: u64,
) {
    let meter = Meter::named(meter).unwrap();
    let display = Display::new(meter, Mode::Resistance, false, [Some(value); 2], seed);
    let truth = display.at_rest().unwrap();
    let half = meter.half_width(crate::units::Ohms::new(truth)).get();
    for ms in (0..12).map(|n| display.settled_after() + n * UPDATE) {
        let shown = ohms(&display.at(ms));
        assert!((shown - truth).abs() <= half * 1.0001, "{} for {truth}", display.at(ms));
    }
    assert!(display.settled_after() <= 4000, "several seconds at most");
}

/// A dial that is turned too low shows over range whatever is there, and that is no open path.
#[test]
fn a_dial_turned_too_low_is_over_range() {
    let cheap = Meter::named("cheap").unwrap();
    let shown = |range| {
        let display = Display::new(cheap, Mode::Resistance, false, [Some(7600.0); 2], 2).turned(Some(range));
        (display.at(20 * UPDATE), display.could_be_coarser().is_some())
    };
    assert_eq!(shown(0), ("OL".to_owned(), true));
    let last = cheap.ranges.len() - 1;
    let (coarse, more) = shown(last);
    assert!(coarse != "OL" && !more, "{coarse}");
    let own = Display::new(Meter::ordinary(), Mode::Resistance, false, [Some(7600.0); 2], 2);
    assert_eq!(own.clone().turned(Some(0)), own, "it finds its range itself");
}

/// The record of something steady holds its ends in order, as they are written.
#[test]
fn the_lowest_is_never_above_the_highest() {
    for seed in 0..30 {
        let display = Display::new(Meter::ordinary(), Mode::Resistance, true, [Some(0.05); 2], seed);
        let (low, high) = display.recorded(60 * UPDATE).unwrap();
        assert!(ohms(&low) <= ohms(&high), "{low} and {high}");
    }
}

#[test]
fn what_is_over_range_stays_so() {
    let display = Display::new(Meter::ordinary(), Mode::Resistance, false, [None; 2], 1);
    assert!((0..20).all(|n| display.at(n * UPDATE) == "OL"));
}

#[test]
fn what_comes_and_goes_jumps_while_it_is_moved_and_the_record_holds_both_ends() {
    let display = Display::new(Meter::ordinary(), Mode::Resistance, true, [Some(7000.0), None], 4);
    let shown: Vec<String> = (3..60).map(|n| display.at(n * UPDATE)).collect();
    assert!(shown.iter().any(|text| text == "OL") && shown.iter().any(|text| text != "OL"), "{shown:?}");
    let (low, high) = display.recorded(60 * UPDATE).unwrap();
    assert!((ohms(&low) - 7000.0).abs() < 110.0, "{low}");
    assert_eq!(high, "OL");
    let steady = Display::new(Meter::ordinary(), Mode::Resistance, true, [Some(7000.0); 2], 4);
    assert!((0..40).skip(3).all(|n| (ohms(&steady.at(n * UPDATE)) - 7000.0).abs() < 110.0));
}

#[rstest]
#[case(Mode::Capacitance, 22e-9, "nF")]
#[case(Mode::Volts, 9.1, "V")]
#[case(Mode::Current, 0.0005, "mA")]
fn other_dials_have_their_units(#[case] mode: Mode, #[case] value: f64, #[case] unit: &str) {
    let text = Display::new(Meter::ordinary(), mode, false, [Some(value); 2], 1).at(8000);
    assert!(text.ends_with(&format!(" {unit}")), "{text}");
}

/// The definition of information: what the readings told adds up to what the entropy fell by.
#[test]
fn the_bits_of_a_review_add_up_to_the_fall_of_the_entropy() {
    let mut practice = hiding(&shorted_plug());
    let asked = at_the_plug(&practice);
    practice.measure(asked.clone()).unwrap();
    assert!(!practice.note("0.3 ohm").unwrap().is_empty());
    practice.look("jack").unwrap();
    let setting = asked.setting.clone().with("volume", crate::readings::Stand::Knob(0));
    practice.measure(Measurement { setting, ..asked }).unwrap();
    practice.note("0.3 ohm").unwrap();
    practice.conclude(&[shorted_plug()]).unwrap();
    let review = practice.review().unwrap();
    for (steps, total) in [(&review.mine, review.totals.mine), (&review.advisor, review.totals.advisor)] {
        let last = steps.last().unwrap();
        assert!((total.bits - (review.first - last.unknown)).abs() < 1e-9, "{steps:?}");
        let minutes: f64 = steps.iter().map(|step| step.minutes).sum();
        assert!((minutes - last.at).abs() < 1e-9);
    }
    assert_eq!((review.mine.len(), review.totals.mine.readings), (3, 2));
    assert_eq!(review.mine[1].bits, 0.0, "a look is not weighed");
    assert!(review.totals.right && review.totals.bound.readings > 0.0);
}

#[test]
fn a_slip_of_the_eye_is_the_persons_own() {
    let mut practice = hiding(&shorted_plug());
    let asked = at_the_plug(&practice);
    practice.measure(asked).unwrap();
    let found = practice.note("7.6k").unwrap();
    assert!(found.contains("7.6"), "{found}");
    assert!(practice.note("7.6").is_err(), "what can mean two things is asked about");
}

#[test]
fn what_no_reading_tells_apart_counts_as_found() {
    let alike = |id: &String| {
        let mut practice = hiding(id);
        let told = practice.give_up().unwrap().hidden[0].alike.first().cloned()?;
        let other = practice.choices().into_iter().find(|choice| choice.sentence == told)?;
        Some((id.clone(), other.id))
    };
    let mut ids = SMALL.model.catalogue.faults.iter().map(|fault| &fault.id);
    let (id, other) = ids.find_map(alike).expect("two that no reading tells apart");
    let mut practice = hiding(&id);
    assert!(practice.conclude(&[]).is_err());
    assert!(practice.conclude(&[id.clone(), other.clone()]).is_err(), "one fault is hidden");
    let verdict = practice.conclude(&[other]).unwrap();
    assert!(verdict.right && verdict.hidden[0].id == id);
    assert!(practice.give_up().is_err(), "it is over");
}

#[test]
fn a_wrong_name_is_not_right_and_what_was_wrong_is_told() {
    let mut practice = hiding("pickup/coil open");
    let verdict = practice.conclude(&[shorted_plug()]).unwrap();
    assert!(!verdict.right && !verdict.given_up);
    assert_eq!(verdict.hidden[0].id, "pickup/coil open");
}

#[test]
fn a_level_takes_wirings_of_its_size_and_faults_of_its_kind() {
    let all = harnesses();
    let sizes = |level: Difficulty| -> Vec<Size> {
        level.wirings(&all).into_iter().map(|index| Size::of(&all[index])).collect()
    };
    assert!(Difficulty::ALL.into_iter().all(|level| sizes(level).len() > 2));
    assert!(sizes(Difficulty::Bench).iter().chain(&sizes(Difficulty::Two)).all(|size| size.switches > 0));
    let (small, large) = (sizes(Difficulty::First), sizes(Difficulty::Hard));
    assert!(small.iter().all(|size| large.iter().all(|other| size.joints < other.joints)));
    for seed in 0..20 {
        let drawn = Difficulty::Hard.draw(&SMALL, seed).unwrap();
        let kind = SMALL.model.catalogue[drawn.fault].kind;
        assert_ne!(kind, crate::faults::Kind::JointOpen);
        let drawn = Difficulty::First.draw(&SMALL, seed).unwrap();
        assert!(!SMALL.model.catalogue[drawn.fault].intermittent());
        assert!(Difficulty::ALL.into_iter().all(|level| level.pick(&all, seed).is_some()));
    }
}

#[test]
fn hints_are_counted_and_the_setting_stays_where_it_was_put() {
    let mut practice = hiding("pickup/coil open");
    assert!(!practice.hint().is_empty());
    assert_eq!(practice.hints(), 1);
    let setting = Setting::reference(practice.harness()).with("volume", crate::readings::Stand::Knob(0));
    let asked = Measurement { setting: setting.clone(), ..at_the_plug(&practice) };
    practice.measure(asked).unwrap();
    assert_eq!(*practice.setting(), setting);
    let (words, question) = practice.questions().into_iter().next().unwrap();
    assert!(words.ends_with('?') && question.setting == setting, "{words}");
    let before = practice.minutes();
    practice.listen(&question).unwrap();
    assert!(practice.minutes() > before && practice.steps().len() == 1);
}
