//! The wiring audit of every built-in wiring: what it claims to show is shown by simulated instruments, and a sound
//! instrument passes.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use lugwise::audit::{Audit, Bits, Why, smallest};
use lugwise::circuit::{Change, ControlKind, built_in};
use lugwise::faults::FaultId;
use lugwise::prediction::Model;
use lugwise::readings::{Access, Level, Measurement, Meter, Mode, Setting, Shown, Stand};
use lugwise::solver::{Solved, Values};
use lugwise::source::Source;
use lugwise::trial::drawn;
use lugwise::units::Ohms;
use lugwise::workbench::{AuditRun, AuditView, Engine};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, Normal};

struct Case {
    engine: Engine,
    audit: Audit,
    view: AuditView,
}

fn cases() -> &'static [Case] {
    static CASES: OnceLock<Vec<Case>> = OnceLock::new();
    CASES.get_or_init(|| {
        let every_second = |from: usize| {
            let wirings = built_in().iter().enumerate().skip(from).step_by(2);
            wirings.map(|(at, wiring)| (at, worked_out(wiring))).collect::<Vec<_>>()
        };
        let mut cases: Vec<(usize, Case)> = std::thread::scope(|scope| {
            let halves = [0, 1].map(|from| scope.spawn(move || every_second(from)));
            halves.into_iter().flat_map(|half| half.join().unwrap()).collect()
        });
        cases.sort_by_key(|(at, _)| *at);
        cases.into_iter().map(|(_, case)| case).collect()
    })
}

fn worked_out((name, text): &(&str, &str)) -> Case {
    let engine = Engine::new(&Source::new(*name, *text), Meter::ordinary(), &[]).unwrap();
    let audit = Audit::new(&engine.model, engine.meter, Access::MayOpen).unwrap();
    let view = engine.audit(Access::MayOpen).unwrap();
    Case { engine, audit, view }
}

/// An instrument with its part values, solved once for each setting that is asked for.
struct Instrument<'m> {
    model: &'m Model,
    meter: &'m Meter,
    values: Values,
    solved: BTreeMap<(Setting, Option<usize>), Solved<f64>>,
}

impl<'m> Instrument<'m> {
    fn new(engine: &'m Engine, values: Values) -> Self {
        Self { model: &engine.model, meter: engine.meter, values, solved: BTreeMap::new() }
    }

    fn ohms(&mut self, measurement: &Measurement, (state, change): &(usize, Change)) -> Option<f64> {
        let model = self.model;
        let (red, black) = model.probes(measurement).unwrap();
        let own = matches!(change, Change::Exchange(..) | Change::Move(..)).then_some(*state);
        let solved = self.solved.entry((measurement.setting.clone(), own)).or_insert_with(|| {
            let at = model.positions(&measurement.setting);
            Solved::new(&model.harness, model.network_of(*state), &self.values, &at, 0.0, &[]).unwrap()
        });
        solved.response(red, black, change, &[]).map(|response| response.ohms)
    }

    /// The meter is read: rectangular error within the class's span, leads, rounded to its resolution.
    fn read(&mut self, measurement: &Measurement, form: &(usize, Change), rng: &mut StdRng) -> Shown {
        let ohms = self.ohms(measurement, form);
        if measurement.mode == Mode::Continuity {
            let threshold = rng.random_range(self.meter.beep.0.get()..self.meter.beep.1.get());
            return Shown::Beep(ohms.is_some_and(|ohms| ohms < threshold));
        }
        let level = match ohms {
            Some(ohms) if ohms < self.meter.ceiling().get() => {
                let half = self.meter.half_width(Ohms::new(ohms)).get();
                let off = half * rng.random_range(-1.0..1.0) + Normal::new(0.0, 0.1).unwrap().sample(rng);
                let resolution = self.meter.resolution(Ohms::new(ohms));
                let value = ((ohms + off).max(0.0) / resolution.get()).round() * resolution.get();
                Level::Ohms { value: Ohms::new(value), resolution }
            }
            _ => Level::OverRange,
        };
        Shown::Steady(level)
    }

    fn passes(&mut self, view: &AuditView, form: &(usize, Change), rng: &mut StdRng) -> bool {
        view.checks.iter().all(|check| check.passes(&self.read(&check.measurement, form, rng)))
    }
}

/// Every form a fault can take, at a size within the decade it stands for.
fn forms(model: &Model, fault: FaultId, rng: &mut StdRng, sized: bool) -> Vec<(usize, Change)> {
    let fits = model.hypotheses.list.iter().filter(|h| h.faults.iter().any(|(known, _)| *known == fault));
    fits.map(|hypothesis| {
        let state = &model.hypotheses.states[hypothesis.state];
        let size = if sized { (state.spread * rng.random_range(-1.645..1.645)).exp() } else { 1.0 };
        let change = match &state.change {
            Change::Series(element, ohms) => Change::Series(*element, ohms * size),
            Change::Bridge(a, b, ohms) => Change::Bridge(*a, *b, ohms * size),
            Change::Scale(elements, factor) => Change::Scale(elements.clone(), factor * size),
            other => other.clone(),
        };
        (hypothesis.state, change)
    })
    .collect()
}

#[test]
fn a_sound_instrument_passes() {
    for Case { engine, view, .. } in cases() {
        let mut rng = StdRng::seed_from_u64(7);
        let rounds = 400;
        let sound = (0, Change::Nothing);
        let mut nominal = Instrument::new(engine, engine.model.values.clone());
        assert!(nominal.passes(view, &sound, &mut rng), "{}: the nominal one fails", view.wiring);
        let mut pass = |_: &usize| {
            let values = drawn(&engine.model, &mut rng);
            Instrument::new(engine, values).passes(view, &sound, &mut rng)
        };
        let passed = (0..rounds).filter(|round| pass(round)).count();
        println!("{}: {passed} of {rounds} sound instruments pass", view.wiring);
        assert!(passed * 100 >= rounds * 99, "{}: {passed} of {rounds} pass", view.wiring);
    }
}

/// Every fault once in an instrument with nominal parts, and in eight instruments with drawn parts and drawn sizes.
#[test]
fn every_covered_fault_fails_a_check() {
    for Case { engine, audit, view } in cases() {
        let (mut rng, model) = (StdRng::seed_from_u64(11), &engine.model);
        let (mut all, mut missed) = (0_usize, Vec::new());
        for round in 0..9 {
            let nominal = round == 0;
            let values = if nominal { model.values.clone() } else { drawn(model, &mut rng) };
            let mut instrument = Instrument::new(engine, values);
            for &fault in &audit.covered {
                for form in forms(model, fault, &mut rng, !nominal) {
                    let passes = instrument.passes(view, &form, &mut rng);
                    let id = &model.catalogue[fault].id;
                    assert!(!(nominal && passes), "{}: {id} with nominal parts passes", view.wiring);
                    all += usize::from(!nominal);
                    missed.extend(passes.then_some(id));
                }
            }
        }
        println!("{}: {} of {all} faulty instruments pass: {missed:?}", view.wiring, missed.len());
        assert!(all > 100, "{}: only {all} instruments were simulated", view.wiring);
        assert!(missed.len() * 100 <= all, "{}: {} of {all} pass: {missed:?}", view.wiring, missed.len());
    }
}

/// A fault that comes and goes is seen at the check that is named for it, at the moment when it shows.
#[test]
fn what_is_flexed_shows_at_its_check() {
    for Case { engine, audit, view } in cases() {
        let (mut rng, model) = (StdRng::seed_from_u64(13), &engine.model);
        let mut instrument = Instrument::new(engine, model.values.clone());
        assert!(!audit.flexed.is_empty(), "{}", view.wiring);
        for flexed in &audit.flexed {
            let check = &view.checks[flexed.check];
            for form in forms(model, flexed.fault, &mut rng, false) {
                let shown = instrument.read(&check.measurement, &form, &mut rng);
                assert!(!check.passes(&shown), "{}: {}", view.wiring, model.catalogue[flexed.fault].id);
            }
        }
    }
}

/// Every setting with all knobs at 10 or one of them at 5 or 0, in every switch position.
fn settings(model: &Model) -> Vec<Setting> {
    let knobs: Vec<_> = model.harness.controls.iter().filter(|c| c.kind == ControlKind::Knob).collect();
    let turned = |setting: Setting| {
        let at = |dial: u8| {
            let all = knobs.iter().map(|knob| setting.clone().with(&knob.name, Stand::Knob(dial)));
            all.collect::<Vec<_>>()
        };
        [at(0), at(5), vec![setting.clone()]].concat()
    };
    model.switch_settings().into_iter().flat_map(turned).collect()
}

/// Any two terminals that a probe can reach, in every such setting.
fn readings(model: &Model) -> Vec<Measurement> {
    let all: Vec<&str> =
        model.harness.terminals.iter().filter(|t| t.probe).map(|t| t.name.as_str()).collect();
    let pairs = |from: usize| all[from + 1..].iter().map(move |black| (from, *black));
    let pairs: Vec<(usize, &str)> = (0..all.len()).flat_map(pairs).collect();
    let at = |setting: Setting| {
        let ohms = |&(red, black): &(usize, &str)| Measurement::ohms(all[red], black, setting.clone());
        pairs.iter().map(ohms).collect::<Vec<_>>()
    };
    settings(model).into_iter().flat_map(at).collect()
}

/// A form that a fault can take, by its fault.
type Form = (FaultId, (usize, Change));

/// Takes a form, a measurement, and the ohms of a sound instrument and of one with the form.
type Seen<'a> = dyn FnMut(usize, &Measurement, Option<f64>, Option<f64>) + 'a;

/// What the meter makes of every reading there is, of a sound instrument and of one with each form.
fn compare(case: &Case, forms: &[Form], seen: &mut Seen<'_>) {
    let ceiling = case.engine.meter.ceiling().get();
    let within = |ohms: Option<f64>| ohms.filter(|ohms| *ohms < ceiling);
    let mut instrument = Instrument::new(&case.engine, case.engine.model.values.clone());
    for measurement in readings(&case.engine.model) {
        let sound = within(instrument.ohms(&measurement, &(0, Change::Nothing)));
        for (index, (_, form)) in forms.iter().enumerate() {
            seen(index, &measurement, sound, within(instrument.ohms(&measurement, form)));
        }
    }
}

/// The forms that no check shows, of the faults that are missed for some reasons.
fn unshown(case: &Case, counts: impl Fn(&Why) -> bool) -> Vec<Form> {
    let (mut rng, model) = (StdRng::seed_from_u64(17), &case.engine.model);
    let mut all = Vec::new();
    for (fault, _) in case.audit.missed.iter().filter(|(_, why)| counts(why)) {
        let shown = case.audit.shown_by(model, *fault);
        let forms = forms(model, *fault, &mut rng, false).into_iter().zip(shown);
        all.extend(forms.filter(|(_, shown)| shown.is_empty()).map(|(form, _)| (*fault, form)));
    }
    all
}

/// Where the list says that no reading in ohms changes or that no direct current flows, every reading there is, is
/// the same with the fault as without, to less than the last figure of the meter.
#[test]
fn what_is_said_to_change_no_reading_changes_none() {
    let silent =
        |why: &Why| matches!(why, Why::Capacitor | Why::NoCurrent | Why::Idle | Why::Supply | Why::Unmoved);
    let mut said = 0;
    for case in cases() {
        let (model, meter) = (&case.engine.model, case.engine.meter);
        let forms = unshown(case, silent);
        said += forms.len();
        compare(case, &forms, &mut |form, measurement, sound, found| {
            let same = match (sound, found) {
                (Some(sound), Some(found)) => {
                    (sound - found).abs() < meter.resolution(Ohms::new(sound)).get()
                }
                (sound, found) => sound == found,
            };
            let id = &model.catalogue[forms[form].0].id;
            assert!(same, "{}: {id} at {measurement:?}: {sound:?}, {found:?}", case.view.wiring);
        });
    }
    assert!(said > 0, "nothing is said to change no reading");
}

/// A change that no tolerance can hide is shown: over range that becomes less than 100 kΩ, or 10 Ω at most, which is
/// joints and the end of a track, that become more than 10 kΩ.
#[test]
fn no_gross_change_is_missed() {
    for case in cases() {
        let model = &case.engine.model;
        let forms = unshown(case, |_| true);
        compare(case, &forms, &mut |form, measurement, sound, found| {
            let gross = match (sound, found) {
                (None, Some(found)) => found < 100e3,
                (Some(sound), None) => sound < 10.0,
                (Some(sound), Some(found)) => sound < 10.0 && found > 10e3,
                (None, None) => false,
            };
            let id = &model.catalogue[forms[form].0].id;
            assert!(!gross, "{}: {id} at {measurement:?}: {sound:?}, {found:?}", case.view.wiring);
        });
    }
}

fn case(code: &str) -> &'static Case {
    cases().iter().find(|case| case.view.code == code).unwrap()
}

/// What shows in one stand alone. A tone's feed on the volume's wiper in the place of its input is joined to it while
/// the volume is at 10, and half a track away from it at 5; a two-contact plug joins ring and sleeve as their short
/// does, a three-contact plug does not (from the wiring, Ohm's law).
#[test]
fn what_shows_in_one_stand_alone_is_covered() {
    for (code, id) in
        [("A3", "volume.lug2/tone-feed on the wrong lug"), ("A8a", "jack.ring/short to jack.sleeve")]
    {
        let Case { engine, audit, .. } = case(code);
        let covered = |fault: &FaultId| engine.model.catalogue[*fault].id == id;
        assert!(audit.covered.iter().any(covered), "{code}: {id}");
    }
}

/// No direct current flows through a piezo element, so none through what is in series with it (common knowledge of
/// circuits); an open joint takes the whole element from a capacitance meter.
#[test]
fn what_carries_no_direct_current_is_sent_to_the_capacitance() {
    let Case { view, .. } = case("A10b");
    for id in ["piezo.hot/joint open", "jack.tip/joint open", "piezo/piezo open"] {
        let missed = view.missed.iter().find(|missed| missed.fault == id).unwrap();
        assert!(missed.why.contains("no direct current") && missed.why.contains("capacitance"), "{missed:?}");
    }
}

#[test]
fn everything_is_either_covered_or_named_with_a_reason() {
    for Case { engine, audit, view } in cases() {
        let inside = engine.model.catalogue.faults.len() - 2;
        let told = audit.covered.len() + audit.missed.len() + audit.flexed.len() + audit.unflexed.len();
        assert_eq!(told, inside, "{}", view.wiring);
        let (covered, total) = view.kinds.iter().fold((0, 0), |(c, t), k| (c + k.covered, t + k.total));
        assert_eq!((covered, total), (view.covered, view.total), "{}", view.wiring);
        assert!(view.missed.iter().all(|missed| !missed.why.is_empty()));
        for capacitor in view.missed.iter().filter(|m| m.fault.ends_with("capacitor open")) {
            assert!(capacitor.why.contains("capacitance"), "{capacitor:?}");
        }
        let adds: usize = view.checks.iter().map(|check| check.adds).sum();
        assert!(adds <= view.covered, "{}", view.wiring);
        assert!(view.checks.len() >= view.at_least && view.at_least > 0, "{}", view.wiring);
    }
}

/// No check can be left out: what the list says of its size is not only a number.
#[test]
fn every_check_is_needed() {
    for Case { engine, audit, view } in cases() {
        let forms = |fault: &FaultId| audit.shown_by(&engine.model, *fault);
        for check in 0..view.checks.len() {
            let only = |shown: &Vec<usize>| shown.as_slice() == [check];
            let partly = audit.missed.iter().map(|(fault, _)| fault);
            let needed = audit.covered.iter().chain(partly).any(|fault| forms(fault).iter().any(only));
            assert!(needed, "{}: check {} shows nothing alone", view.wiring, check + 1);
        }
    }
}

/// The small wiring's list against every choice of fewer checks from the list's own rivals: the search with bounds
/// finds the same size as plain deepening does.
#[test]
fn the_small_wiring_has_no_shorter_list() {
    let case = cases().iter().find(|case| case.view.code == "A1a").unwrap();
    assert!(case.view.proven(), "{}", case.view.shortness());
    let sets = case.audit.rivals.clone();
    let mut all = Bits::new(case.engine.model.hypotheses.states.len());
    sets.iter().for_each(|set| all.add(set));
    let fewest = (1..).find(|&depth| deepened(&sets, &all, depth, &mut BTreeSet::new())).unwrap();
    assert_eq!(fewest, case.view.checks.len());
    assert_eq!(smallest(&sets, &vec![1.0; sets.len()], 1_000_000).chosen.len(), fewest);
}

/// Returns whether so many sets can cover everything, by trying every holder of the rarest thing left open that
/// leaves no more open than another one; `failed` is what was found too much for a depth.
fn deepened(sets: &[Bits], open: &Bits, depth: usize, failed: &mut BTreeSet<(usize, Bits)>) -> bool {
    let Some(rarest) = open.iter().min_by_key(|&thing| sets.iter().filter(|set| set.holds(thing)).count())
    else {
        return true;
    };
    let most = sets.iter().map(|set| set.shared(open)).max().unwrap();
    let key = (depth, open.clone());
    if depth * most < open.count() || failed.contains(&key) {
        return false;
    }
    let holders: BTreeSet<Bits> =
        sets.iter().filter(|set| set.holds(rarest)).map(|set| open.without(set)).collect();
    let least = |left: &&Bits| !holders.iter().any(|other| other != *left && other.within(left));
    let found = holders.iter().filter(least).any(|left| deepened(sets, left, depth - 1, failed));
    if !found {
        failed.insert(key);
    }
    found
}

#[test]
fn with_less_access_the_list_says_what_needs_opening() {
    let case = cases().iter().find(|case| case.view.code == "A1a").unwrap();
    let outside = case.engine.audit(Access::Outside).unwrap();
    assert!(outside.checks.iter().all(|check| check.open_first.is_empty()), "{outside:?}");
    assert!(outside.covered < case.view.covered && outside.covered > 0);
    assert_eq!(outside.total, case.view.total);
    assert!(outside.missed.iter().any(|missed| missed.why.contains("closed place")));
}

#[test]
fn the_same_wiring_gives_the_same_list() {
    let case = &cases()[0];
    let again = case.engine.audit(Access::MayOpen).unwrap();
    assert_eq!(again, case.view);
    assert_eq!(AuditRun::new(again).score(), (0, 0));
}
