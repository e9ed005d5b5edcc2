//! None of these: a slip is found and named, and a wiring that does not match its file is told where.

use std::collections::BTreeMap;
use std::sync::Arc;

use lugwise::belief::{Belief, Estimate, Expectation, Posterior, Weighed, conflict, drops, p_value};
use lugwise::circuit::{Change, Control, ControlKind, Harness, TerminalId, built_in};
use lugwise::job::{Intake, ReadingId};
use lugwise::prediction::{Behaviour, Candidate, Hypotheses, Hypothesis, Model, Row, State, shows};
use lugwise::readings::{Access, Dial, Level, Measurement, Meter, Mode, Said, Setting, Shown, Stand};
use lugwise::solver::Values;
use lugwise::source::Source;
use lugwise::trial::drawn;
use lugwise::workbench::{Action, Ask, Command, Engine, Workbench};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use rand_distr::StandardNormal;

const NOW: &str = "2026-03-02T09:00:00Z";

fn wiring_text(wiring: &str) -> &'static str {
    let (_, text) = built_in().iter().find(|(name, _)| name.trim_end_matches(".ron") == wiring).unwrap();
    text
}

fn engine(wiring: &str) -> Arc<Engine> {
    Arc::new(Engine::new(&Source::new(wiring, wiring_text(wiring)), Meter::ordinary(), &[]).unwrap())
}

fn started(engine: &Arc<Engine>, wiring: &str) -> Workbench {
    let intake = Intake {
        wiring: wiring.to_owned(),
        wiring_text: wiring_text(wiring).to_owned(),
        priors_text: None,
        trees_text: Vec::new(),
        instrument: "an invented one".to_owned(),
        customer: String::new(),
        complaint: String::new(),
        symptoms: Vec::new(),
        last_done: String::new(),
        access: Access::MayUnsolder,
        meter: "handheld".to_owned(),
        technician: String::new(),
    };
    let first = Workbench::first_record(engine, intake, NOW).unwrap();
    Workbench::resume(Arc::clone(engine), vec![first]).unwrap()
}

fn does(bench: &mut Workbench, command: &Command) {
    let records = bench.decide(command, NOW).unwrap();
    bench.absorb(records).unwrap();
}

fn record(bench: &mut Workbench, measurement: &Measurement, text: &str) -> ReadingId {
    let measurement = Some(measurement.clone());
    does(bench, &Command::Record { text: text.to_owned(), measurement });
    bench.job().readings().last().unwrap().id
}

fn action(bench: &Workbench) -> Option<Action> {
    bench.situation().doubt.as_ref().map(|doubt| doubt.action.clone())
}

/// Takes pieces of evidence in over two hypotheses that are equally likely, and weighs each.
fn weighed(likelihoods: &[[f64; 2]]) -> (Posterior, Vec<Weighed>) {
    let mut posterior = Posterior::new([0.5, 0.5]);
    let weigh = |(evidence, both): (usize, &[f64; 2])| Weighed {
        evidence,
        alone: (0.5 * (both[0] + both[1])).ln(),
        came: posterior.update(both),
    };
    let all = likelihoods.iter().enumerate().map(weigh).collect();
    (posterior, all)
}

// By hand: P(e1) = P(e2) = (0.9 + 0.1)/2 = 0.5, P(e1, e2) = (0.9·0.1 + 0.1·0.9)/2 = 0.09; ln(0.25/0.09) = 1.0217.
#[test]
fn two_readings_that_contradict_each_other_are_in_conflict() {
    let (_, readings) = weighed(&[[0.9, 0.1], [0.1, 0.9]]);
    assert!((conflict(&readings) - (0.25_f64 / 0.09).ln()).abs() < 1e-12);
}

// By hand: P(e1, e2) = (0.81 + 0.01)/2 = 0.41; ln(0.25/0.41) = -0.4947.
#[test]
fn two_readings_that_agree_are_not_in_conflict() {
    let (_, readings) = weighed(&[[0.9, 0.1], [0.9, 0.1]]);
    assert!((conflict(&readings) - (0.25_f64 / 0.41).ln()).abs() < 1e-12);
}

// By hand: each alone 0.5; all three (0.081 + 0.009)/2 = 0.045, so the conflict is ln(0.125/0.045). Without the third
// it is ln(0.25/0.41), without the first or the second ln(0.25/0.09), which is as much as all three have.
#[test]
fn the_reading_that_contradicts_two_others_makes_the_largest_drop() {
    let (posterior, readings) = weighed(&[[0.9, 0.1], [0.9, 0.1], [0.1, 0.9]]);
    let all = (0.125_f64 / 0.045).ln();
    assert!((conflict(&readings) - all).abs() < 1e-12);
    let without = [0.25 / 0.09, 0.25 / 0.09, 0.25 / 0.41];
    for (found, without) in drops(&posterior, &readings).into_iter().zip(without) {
        assert!((found - (all - f64::ln(without))).abs() < 1e-9, "{found}");
    }
}

// By hand: two hypotheses, 0.9 and 0.1, show three outcomes as (0.7, 0.2, 0.1) and (0.1, 0.2, 0.7); together
// (0.64, 0.2, 0.16). No likelier than the third is itself, than the second these two, than the first all.
#[test]
fn the_p_value_is_the_probability_of_all_that_is_no_likelier() {
    let mixture = [0.9 * 0.7 + 0.1 * 0.1, 0.9 * 0.2 + 0.1 * 0.2, 0.9 * 0.1 + 0.1 * 0.7];
    for (seen, expected) in [1.0, 0.36, 0.16].into_iter().enumerate() {
        assert!((p_value(&mixture, seen..=seen) - expected).abs() < 1e-12, "outcome {seen}");
    }
    assert!((p_value(&mixture, 1..=2) - 0.36).abs() < 1e-12, "a rounded value is as likely as its likeliest");
}

/// Whether a candidate is a still reading in ohms with nothing lifted.
fn still(candidate: &&Candidate) -> bool {
    let asked = &candidate.measurement;
    asked.mode == Mode::Resistance && asked.flex.is_none() && asked.lifted.is_none()
}

/// Draws the state that is read under the priors of all that the catalogue holds.
fn state(model: &Model, rng: &mut StdRng) -> usize {
    let listed = |h: &&Hypothesis| h.behaviour != Behaviour::Anything;
    let total: f64 = model.hypotheses.list.iter().filter(listed).map(|h| h.prior).sum();
    let mut left = total * rng.random_range(0.0..1.0);
    for hypothesis in model.hypotheses.list.iter().filter(listed) {
        left -= hypothesis.prior;
        if left < 0.0 {
            let chance = match &hypothesis.behaviour {
                Behaviour::Steady => 1.0,
                behaviour => shows(&model.harness, behaviour, None),
            };
            return if rng.random_bool(chance) { hypothesis.state } else { 0 };
        }
    }
    0
}

/// Returns the p-value of a first reading of a measurement.
fn p_of(engine: &Engine, row: &Row, level: Level) -> f64 {
    let mut belief = Belief::prior(&engine.model);
    belief.read(&engine.model, engine.meter, None, &[(Shown::Steady(level), row.clone())]);
    belief.p_values()[0]
}

fn level(dial: Dial, scaled: f64, meter: &Meter) -> Level {
    let value = dial.unscaled(scaled);
    if value < meter.most(dial) { Level::of(dial, value, 0.0) } else { Level::OverRange }
}

// The law of p-values: if the model holds, p is below a in no more than a of the cases. With 400 draws and a = 0.01 the
// standard deviation of the share is 0.005, so that 0.03 is four of them. What is spread evenly over the scale is mostly
// improbable: a still reading has a few values under most of what the catalogue holds.
#[test]
fn p_values_are_seldom_small_where_the_model_holds_and_mostly_where_it_does_not() {
    const DRAWS: usize = 400;
    let engine = engine("one-pickup");
    let (model, mut rng) = (&engine.model, StdRng::seed_from_u64(11));
    let prior = Estimate::prior(&model.params);
    let candidates: Vec<_> = engine.candidates.list.iter().filter(still).collect();
    let (mut small, mut small_of_any) = (0, 0);
    for _ in 0..DRAWS {
        let row = &engine.candidates.rows[candidates[rng.random_range(0..candidates.len())].row];
        let expected = Expectation::new(&row[state(model, &mut rng)], &prior, engine.meter);
        let z: f64 = rng.sample(StandardNormal);
        let shown = expected.middle.map_or(Level::OverRange, |middle| {
            level(Dial::Ohms, middle + expected.variance.sqrt() * z, engine.meter)
        });
        small += usize::from(p_of(&engine, row, shown) < 0.01);
        let any = level(Dial::Ohms, rng.random_range(0.0..Dial::END), engine.meter);
        small_of_any += usize::from(p_of(&engine, row, any) < 0.01);
    }
    assert!(small * 100 <= 3 * DRAWS, "{small} of {DRAWS} are below 0.01");
    assert!(small_of_any * 2 >= DRAWS, "of what is spread evenly only {small_of_any} are below 0.01");
}

/// The switch of a wiring, with its positions.
fn switch(harness: &Harness) -> (String, Vec<String>) {
    let switch = |control: &Control| match &control.kind {
        ControlKind::Selector(names) => Some((control.name.clone(), names.clone())),
        ControlKind::Knob => None,
    };
    harness.controls.iter().find_map(switch).unwrap()
}

fn at_the_plug(engine: &Engine, position: &str) -> Measurement {
    let harness = engine.harness();
    let setting = Setting::reference(harness).with(&switch(harness).0, Stand::At(position.to_owned()));
    Measurement::ohms("plug.tip", "plug.sleeve", setting)
}

/// Returns the ohms that a healthy instrument reads.
fn healthy(engine: &Engine, measurement: &Measurement) -> f64 {
    engine.healthy(measurement).unwrap().ohms.unwrap().get()
}

/// Returns a job in which every position was read at the plug of a healthy instrument.
fn read_healthy(engine: &Arc<Engine>, wiring: &str) -> Workbench {
    let mut bench = started(engine, wiring);
    for position in switch(engine.harness()).1 {
        let measurement = at_the_plug(engine, &position);
        record(&mut bench, &measurement, &format!("{:.0} ohm", healthy(engine, &measurement)));
    }
    assert_eq!(action(&bench), None, "a healthy instrument is doubted");
    bench
}

/// Returns the first position's reading at the plug with every knob at 10 but for the last one, which is at 0 and has
/// no say in the ohms of a healthy instrument.
fn with_an_idle_knob(engine: &Engine) -> Measurement {
    let first = at_the_plug(engine, &switch(engine.harness()).1[0]);
    let knobs = engine.harness().controls.iter().filter(|control| control.kind == ControlKind::Knob);
    let idle = |knob: &&Control| {
        let setting = first.setting.clone().with(&knob.name, Stand::Knob(0));
        let moved = Measurement { setting, ..first.clone() };
        (healthy(engine, &moved) / healthy(engine, &first) - 1.0).abs() < 1e-3
    };
    let knob = knobs.rev().find(idle).expect("no knob is idle");
    let setting = first.setting.clone().with(&knob.name, Stand::Knob(0));
    Measurement { setting, ..first }
}

#[test]
fn ohms_typed_for_kilohms_are_to_be_taken_again() {
    let wiring = "two-humbuckers";
    let engine = engine(wiring);
    let mut bench = read_healthy(&engine, wiring);
    let measurement = with_an_idle_knob(&engine);
    let ohms = healthy(&engine, &measurement);
    let slip = record(&mut bench, &measurement, &format!("{:.2} ohm", ohms / 1000.0));
    assert_eq!(action(&bench), Some(Action::Retake(slip)));
    let shown = bench.view().doubt.clone().unwrap();
    assert_eq!(shown.again, Some(slip));
    assert!(shown.sentence.contains("It would fit if the meter meant kilohms"), "{}", shown.sentence);

    does(&mut bench, &Command::TakeAgain { id: slip });
    assert_eq!(
        bench.view().step.as_ref().map(|step| step.ask.clone()),
        Some(Ask::Measure(measurement.clone()))
    );
    let right = record(&mut bench, &measurement, &format!("{ohms:.0} ohm"));
    assert_eq!(action(&bench), Some(Action::Withdraw { reading: slip, other: right }));
    does(&mut bench, &Command::Withdraw { id: slip, reason: "a slip".to_owned() });
    assert_eq!(action(&bench), None);
}

/// An instrument with one change and part values of its own.
struct Instrument<'e> {
    engine: &'e Engine,
    own: Model,
}

impl<'e> Instrument<'e> {
    fn new(engine: &'e Engine, change: &Change, values: Values) -> Self {
        let state = |change: &Change| State { change: change.clone(), spread: 0.0 };
        let states = vec![state(&Change::Nothing), state(change)];
        Self { engine, own: engine.model.instrument(values, Hypotheses { states, list: Vec::new() }) }
    }

    /// Returns what is typed for a measurement, both ends where something is moved.
    fn typed(&self, measurement: &Measurement, hears: bool) -> String {
        let one = self.one_value(measurement, hears);
        let moved = measurement.flex.is_some() && measurement.mode == Mode::Resistance;
        if moved { format!("{one} - {one}") } else { one }
    }

    /// Returns one value; what is heard is as on a healthy instrument, or not known.
    fn one_value(&self, measurement: &Measurement, hears: bool) -> String {
        if let Mode::Observe(_) = measurement.mode {
            let said = self.engine.healthy(measurement).unwrap().said;
            return if hears && said == Some(Said::Yes) {
                "yes"
            } else if hears {
                "no"
            } else {
                "?"
            }
            .to_owned();
        }
        let still = Measurement { flex: None, ..measurement.clone() };
        let row = self.own.row(&still).unwrap().unwrap();
        let reads = row[1].reads.filter(|value| *value < self.engine.meter.most(row[1].dial));
        match (measurement.mode, reads) {
            (Mode::Continuity, Some(ohms)) if ohms < 60.0 => "beep".to_owned(),
            (Mode::Continuity, _) => "no beep".to_owned(),
            (_, None) => "ol".to_owned(),
            (Mode::Capacitance, Some(farads)) => format!("{farads:e} F"),
            (Mode::Volts, Some(volts)) => format!("{volts:.4} V"),
            (Mode::Current, Some(amps)) => format!("{amps:.7} A"),
            (_, Some(ohms)) => format!("{ohms:.4} ohm"),
        }
    }
}

/// Takes what is asked for, and again what is to be taken again, until the wiring is said not to match its file or
/// nothing is asked for; returns what was to be done after every reading.
fn played(bench: &mut Workbench, instrument: &Instrument<'_>, hears: bool) -> Vec<Option<Action>> {
    const MOST: usize = 40;
    let mut all = vec![action(bench)];
    while let Some(asked) = asked(bench).filter(|_| all.len() <= MOST) {
        let text = instrument.typed(&asked, hears);
        record(bench, &asked, &text);
        all.push(action(bench));
    }
    all
}

/// Returns what is to be read next.
fn asked(bench: &Workbench) -> Option<Measurement> {
    let again = match action(bench) {
        Some(Action::Mismatch { .. }) => return None,
        Some(
            Action::Retake(id) | Action::Setting { reading: id, .. } | Action::Probes { reading: id, .. },
        ) => bench.job().live_readings().find(|taken| taken.id == id),
        _ => None,
    };
    match (again, bench.view().reading_asked().map(|step| &step.ask)) {
        (Some(taken), _) => Some(taken.reading.measurement.clone()),
        (None, Some(Ask::Measure(measurement))) => Some(measurement.clone()),
        _ => None,
    }
}

/// Draws two soldered terminals whose conductors are exchanged, such that some reading in ohms tells it from every state
/// of the catalogue.
fn exchanged(engine: &Engine, rng: &mut StdRng) -> (Change, [TerminalId; 2]) {
    let harness = engine.harness();
    let wired: Vec<TerminalId> =
        (0..harness.terminals.len()).map(TerminalId).filter(|t| harness.soldered_ends(*t) > 0).collect();
    loop {
        let [one, other] = [0; 2].map(|_| wired[rng.random_range(0..wired.len())]);
        let change = Change::Exchange(one, other);
        if one != other && reads_like_nothing(engine, &change) {
            return (change, [one, other]);
        }
    }
}

/// Returns whether no state reads within a fifth of a change in every still reading in ohms.
fn reads_like_nothing(engine: &Engine, change: &Change) -> bool {
    let own = Instrument::new(engine, change, engine.model.values.clone()).own;
    let mut by_setting: BTreeMap<&Setting, Vec<&Candidate>> = BTreeMap::new();
    for candidate in engine.candidates.list.iter().filter(still) {
        by_setting.entry(&candidate.measurement.setting).or_default().push(candidate);
    }
    let mut open: Vec<usize> = (0..engine.model.hypotheses.states.len()).collect();
    for (setting, candidates) in by_setting {
        let bench = own.bench(setting).unwrap();
        for candidate in candidates {
            let (red, black) = own.probes(&candidate.measurement).unwrap();
            let reads = bench.cell(1, red, black).scaled();
            let row = &engine.candidates.rows[candidate.row];
            open.retain(|&state| (row[state].scaled() - reads).abs() < 0.2);
        }
    }
    open.is_empty()
}

// Many exchanged conductors read like a fault of the catalogue in the readings that are asked for, and are not doubted.
// Where a place is told, chance would name one of two right parts of nine about every fourth time.
#[test]
fn a_wiring_that_does_not_match_its_file_is_told_where() {
    const CASES: usize = 20;
    let wiring = "two-single-coils";
    let engine = engine(wiring);
    let mut rng = StdRng::seed_from_u64(23);
    let (mut found, mut told, mut others) = (0, 0, Vec::new());
    for _ in 0..CASES {
        let (change, places) = exchanged(&engine, &mut rng);
        let instrument = Instrument::new(&engine, &change, engine.model.values.clone());
        let actions = played(&mut started(&engine, wiring), &instrument, false);
        let harness = engine.harness();
        let at = places.map(|terminal| harness[harness[terminal].part].name.clone());
        let last = actions.last().unwrap();
        if let Some(Action::Mismatch { parts, .. }) = last {
            told += 1;
            found += usize::from(at.iter().any(|part| parts.contains(part)));
        }
        others.push(format!("{at:?}: {last:?}"));
    }
    println!("{wiring}: {found} of {told} told where\n{others:#?}");
    assert!(told >= 3 && found * 5 >= told * 2, "{found} of {told}");
}

// At most 2 % of healthy instruments may be doubted; of 50, one.
#[test]
fn healthy_instruments_are_not_doubted() {
    let wiring = "one-pickup";
    let engine = engine(wiring);
    let mut doubted = Vec::new();
    for seed in 0..50 {
        let values = drawn(&engine.model, &mut StdRng::seed_from_u64(seed));
        let instrument = Instrument::new(&engine, &Change::Nothing, values);
        let mut bench = started(&engine, wiring);
        let first = played(&mut bench, &instrument, true).into_iter().flatten().next();
        doubted.extend(first.map(|action| (seed, action)));
    }
    assert!(doubted.len() <= 1, "{doubted:#?}");
}
