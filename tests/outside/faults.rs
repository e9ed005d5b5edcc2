//! The faults that the trade knows, all 101 of them: each is made by the derivation and reads what is known of it, or
//! is not in the wiring and has the observation that finds it.
//!
//! Where the list gives ohms they were computed elsewhere for contacts without any resistance; so are ours here. The
//! span that the program foretells, with the wiring's own contacts and all tolerances, has to hold them too.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

use lugwise::circuit::{Change, Fixing, LinkId, What, built_in, load};
use lugwise::faults::{Kind, NOTHING_WRONG};
use lugwise::job::Band;
use lugwise::prediction::{Behaviour, Model, shows};
use lugwise::readings::{Measurement, Meter, Mode, Said, Setting, Stand};
use lugwise::solver::{Solved, Values};
use lugwise::source::Source;
use lugwise::units::Ohms;
use lugwise::workbench::Engine;

use crate::instrument::IDEAL;
use crate::trade_page::page;
use crate::trade_table::{Expect, Reading, Verdict, table, written};

/// What moving a thing must show of a fault that comes and goes, to be the check for it.
const SHOWN: f64 = 0.5;

#[derive(Default)]
struct Bench {
    engines: BTreeMap<String, Engine>,
}

impl Bench {
    fn engine(&mut self, name: &str) -> &Engine {
        self.engines.entry(name.to_owned()).or_insert_with(|| {
            let file = format!("{name}.ron");
            let (_, text) = built_in().iter().find(|(known, _)| *known == file).unwrap();
            Engine::new(&Source::new(file, *text), Meter::ordinary(), &[]).unwrap()
        })
    }
}

fn measurement(engine: &Engine, reading: &Reading) -> Measurement {
    let harness = engine.harness();
    let mut setting = Setting::reference(harness);
    for (control, stand) in &reading.set.0 {
        assert!(setting.0.contains_key(control), "no control {control} in {:?}", setting.0);
        if let Stand::At(name) = stand {
            let control = harness.control(control).unwrap();
            let lugwise::circuit::ControlKind::Selector(names) = &control.kind else { panic!("{name}") };
            assert!(names.contains(name), "no position {name} in {names:?}");
        }
        setting = setting.with(control, stand.clone());
    }
    if let Some(lead) = &reading.lifted {
        assert!(harness.links.iter().any(|link| link.name == *lead), "no lead {lead}");
    }
    Measurement {
        mode: reading.mode,
        red: reading.red.clone(),
        black: reading.black.clone(),
        setting,
        flex: reading.flex.clone(),
        about: reading.about.clone(),
        lifted: reading.lifted.clone(),
    }
}

/// The change of a fault, of the size that the list gives it, or of its middle one.
fn change(engine: &Engine, fault: &str, size: Option<f64>) -> (usize, Change) {
    let variants = &engine.fault(fault).unwrap().variants;
    let middle = variants[(variants.len() - 1) / 2].change.clone();
    let state = engine.model.hypotheses.states.iter().position(|state| state.change == middle).unwrap();
    let change = match (middle, size) {
        (Change::Series(element, _), Some(ohms)) => Change::Series(element, ohms),
        (Change::Bridge(a, b, _), Some(ohms)) => Change::Bridge(a, b, ohms),
        (Change::Scale(elements, _), Some(factor)) => Change::Scale(elements, factor),
        (change, None) => change,
        (change, Some(_)) => panic!("{fault}: {change:?} has no size"),
    };
    (state, change)
}

/// Ohms with ideal contacts, from scratch: the network with the change written into it.
fn ohms_at(
    engine: &Engine,
    measurement: &Measurement,
    (state, change): &(usize, Change),
    knob: Option<(&str, f64)>,
) -> Option<f64> {
    let model = &engine.model;
    let values = Values { joint: IDEAL, ..model.values.clone() };
    let mut network = model.network_of(*state).as_ref().clone();
    if let Some(lead) = &measurement.lifted {
        let link = LinkId(model.harness.links.iter().position(|link| link.name == *lead).unwrap());
        let element = network.find(&What::Link(link)).unwrap();
        network = network.lifted(element, model.harness[link].to.fixing == Fixing::Solder);
    }
    let mut at = model.positions(&measurement.setting);
    if let Some((knob, rotation)) = knob {
        at.rotation[model.harness.control(knob).unwrap().part.0] = rotation;
    }
    let (red, black) = model.probes(measurement).unwrap();
    let solved =
        Solved::<f64>::changed(&model.harness, &Arc::new(network), &values, &at, 0.0, &[], change).unwrap();
    solved.response(red, black, &Change::Nothing, &[]).map(|response| response.ohms)
}

/// What is read with ideal contacts; what the program says in the modes whose list values are no computed ohms.
fn reads(engine: &Engine, measurement: &Measurement, fault: &str, size: Option<f64>) -> Option<f64> {
    let made = change(engine, fault, size);
    match measurement.mode {
        Mode::Resistance => ohms_at(engine, measurement, &made, None),
        Mode::Sweep => {
            let knob = measurement.about.as_deref().unwrap();
            let at = |step: i32| ohms_at(engine, measurement, &made, Some((knob, f64::from(step) / 1000.0)));
            (0..=1000).filter_map(at).reduce(f64::max)
        }
        _ => {
            let states = &engine.model.hypotheses.states;
            let state = states.iter().position(|state| state.change == made.1).unwrap();
            engine.row(measurement).unwrap()[state].reads
        }
    }
}

fn meets(expect: &Expect, value: Option<f64>) -> bool {
    match (expect, value) {
        (Expect::OverRange, value) => value.is_none(),
        (Expect::Over(bound), None) => written(bound).0 < 1e12,
        (_, None) => false,
        (Expect::Reads(text), Some(value)) => {
            let (listed, half) = written(text);
            (value - listed).abs() <= half * (1.0 + 1e-6)
        }
        (Expect::Under(bound), Some(value)) => value < written(bound).0,
        (Expect::Over(bound), Some(value)) => value > written(bound).0,
        (Expect::Between(low, high), Some(value)) => (written(low).0..=written(high).0).contains(&value),
        (Expect::Yes | Expect::No, Some(_)) => false,
    }
}

/// Whether the span that the program foretells holds what the list says.
fn holds(expect: &Expect, band: &Band) -> bool {
    let low = band.low.map_or(f64::INFINITY, Ohms::get);
    let high = band.high.map_or(f64::INFINITY, Ohms::get);
    match expect {
        Expect::OverRange => band.high.is_none(),
        Expect::Reads(text) => {
            let (listed, half) = written(text);
            low <= listed + half && listed - half <= high
        }
        Expect::Under(bound) => low < written(bound).0,
        Expect::Over(bound) => high > written(bound).0,
        Expect::Between(from, to) => low <= written(to).0 && written(from).0 <= high,
        Expect::Yes => band.said == Some(Said::Yes),
        Expect::No => band.said == Some(Said::No),
    }
}

/// Everything that is wrong with one reading of one fault.
fn offences(engine: &Engine, fault: &str, reading: &Reading) -> Vec<String> {
    let measurement = measurement(engine, reading);
    let mut wrong = Vec::new();
    let mut must = |holds: bool, what: String| {
        if !holds {
            wrong.push(what);
        }
    };
    let (healthy, faulty) =
        (engine.healthy(&measurement).unwrap(), engine.predict(&measurement, fault).unwrap());
    must(holds(&reading.healthy, &healthy), format!("healthy {healthy:?} is not {:?}", reading.healthy));
    must(holds(&reading.faulty, &faulty), format!("faulty {faulty:?} is not {:?}", reading.faulty));
    if !matches!(measurement.mode, Mode::Observe(_)) {
        let sound = reads(engine, &measurement, NOTHING_WRONG, None);
        let broken = reads(engine, &measurement, fault, reading.size);
        must(meets(&reading.healthy, sound), format!("healthy {sound:?} is not {:?}", reading.healthy));
        must(meets(&reading.faulty, broken), format!("faulty {broken:?} is not {:?}", reading.faulty));
    }
    let told_apart = !holds(&reading.faulty, &healthy);
    must(
        told_apart != reading.alike,
        format!("a healthy instrument reads {healthy:?}: alike {}", reading.alike),
    );
    if let Some(flex) = &reading.flex {
        let id = engine.model.catalogue.find(fault).unwrap();
        let hypothesis =
            engine.model.hypotheses.list.iter().find(|h| h.faults.iter().any(|(f, _)| *f == id)).unwrap();
        let comes_and_goes = matches!(hypothesis.behaviour, Behaviour::ComesAndGoes { .. });
        let shown = shows(engine.harness(), &hypothesis.behaviour, Some(flex));
        must(comes_and_goes && shown > SHOWN, format!("moving {flex} shows it in {shown}"));
    }
    wrong
}

// Source of every row: the reference list of faults; common practice without a published source but for the three
// that say otherwise; the ohms in it were computed independently (its tables A.0.3, A.2 and those of its layouts).
#[test]
fn every_fault_of_the_trade_is_made_by_the_derivation_or_is_not_in_the_wiring() {
    let entries = table();
    let ids: Vec<&str> = entries.iter().map(|entry| entry.id.as_str()).collect();
    let wanted: Vec<String> = (1..=101).map(|number| format!("F{number:02}")).collect();
    assert_eq!(ids, wanted);
    let mut bench = Bench::default();
    let (mut made, mut elsewhere, mut compared, mut wrong) = (0, 0, 0, Vec::new());
    for entry in &entries {
        match &entry.verdict {
            Verdict::Wiring(cases) => {
                made += 1;
                assert!(!cases.is_empty(), "{}", entry.id);
                for case in cases {
                    let engine = bench.engine(&case.wiring);
                    if let Err(error) = engine.fault(&case.fault) {
                        wrong.push(format!("{}: {error}", entry.id));
                        continue;
                    }
                    assert!(!case.reads.is_empty(), "{}: {}", entry.id, case.fault);
                    for reading in &case.reads {
                        compared += 1;
                        let of = format!("{} {} {:?} {}", entry.id, case.wiring, reading.mode, case.fault);
                        wrong.extend(
                            offences(engine, &case.fault, reading).iter().map(|w| format!("{of}: {w}")),
                        );
                    }
                }
            }
            Verdict::Elsewhere { check, finds, leads_to } => {
                elsewhere += 1;
                assert!(!finds.is_empty(), "{}", entry.id);
                if let Some(check) = check {
                    let known = bench.engine("one-pickup");
                    let asked = known
                        .candidates
                        .questions
                        .iter()
                        .any(|q| q.measurement.mode == Mode::Observe(*check));
                    assert!(asked, "{}: {check:?} is never asked", entry.id);
                }
                if let Some((wiring, fault)) = leads_to {
                    bench.engine(wiring).fault(fault).unwrap();
                }
            }
        }
    }
    println!(
        "{made} made by the derivation, {compared} readings compared; \
         {elsewhere} not in the wiring"
    );
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(made + elsewhere, 101);
}

// Cable and amplifier: the one suspect outside the instrument is the one that another cable cures.
#[test]
fn what_another_cable_cures_is_the_suspect_outside_the_instrument() {
    let mut bench = Bench::default();
    let engine = bench.engine("one-pickup");
    let reading = Reading::observation(lugwise::readings::Check::OtherCable);
    let measurement = measurement(engine, &reading);
    let outside = engine.predict(&measurement, NOTHING_WRONG).unwrap();
    assert_eq!(outside.said, Some(Said::Yes));
    for fault in engine.model.catalogue.faults.iter().filter(|f| f.kind != Kind::NotInCatalogue) {
        let said = engine.predict(&measurement, &fault.id).unwrap().said;
        assert_eq!(said == Some(Said::Yes), fault.id == NOTHING_WRONG, "{}", fault.id);
    }
}

#[test]
fn every_fault_of_a_wiring_has_an_id_of_its_own() {
    for (name, text) in built_in() {
        let model = Model::new(load(&Source::new(*name, *text)).unwrap());
        let faults = &model.catalogue.faults;
        let ids: BTreeSet<&str> = faults.iter().map(|fault| fault.id.as_str()).collect();
        assert_eq!(ids.len(), faults.len(), "{name}");
    }
}

// The page for readers says what the checked table says. `LUGWISE_WRITE=1` writes it anew.
#[test]
fn the_page_of_the_trades_faults_is_in_step_with_the_table() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/trade-faults.md");
    let page = page(&table());
    if std::env::var("LUGWISE_WRITE").is_ok_and(|value| value == "1") {
        std::fs::write(&path, &page).unwrap();
    }
    let known = std::fs::read_to_string(&path).unwrap();
    assert!(known == page, "assets/trade-faults.md is out of step: run this test with LUGWISE_WRITE=1");
}
