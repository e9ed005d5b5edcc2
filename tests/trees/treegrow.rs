//! Trees grown for two of the wirings: they can be read, they fit, they keep their size, and what they suspect is true.

use std::collections::BTreeSet;
use std::sync::Arc;

use lugwise::circuit::{built_in, load as load_wiring};
use lugwise::faults::{Fault, FaultId, Kind};
use lugwise::prediction::Behaviour;
use lugwise::readings::{Level, Measurement, Meter, Mode, Said, Shown, Symptom};
use lugwise::source::Source;
use lugwise::trees::{Ask, Fitted, Step, Suspicion, Then, Tree, Walk, When, load, written};
use lugwise::treework::{Finding, Flaw, GrowError, check, grow};
use lugwise::workbench::Engine;
use rstest::rstest;

const SIZE: usize = 30;
/// So many of the likeliest faults of a complaint are walked through the tree.
const WALKED: usize = 8;

fn engine(wiring: &str) -> Engine {
    let (name, text) = built_in().iter().find(|(name, _)| name.trim_end_matches(".ron") == wiring).unwrap();
    Engine::new(&Source::new(*name, *text), Meter::ordinary(), &[]).unwrap()
}

fn grown(engine: &Engine, complaint: Symptom, size: usize) -> Tree {
    grow(engine, complaint, size, &|_| ()).unwrap_or_else(|error| panic!("{error}"))
}

fn fitted(engine: &Engine, tree: &Tree) -> Fitted {
    let expected = |measurement: &Measurement| engine.expected(measurement);
    tree.fit(engine.harness(), &expected).unwrap_or_else(|errors| panic!("{}", errors[0]))
}

#[rstest]
#[case("one-pickup", Symptom::Silent)]
#[case("two-humbuckers", Symptom::Hum)]
fn a_grown_tree_is_a_tree_and_keeps_its_size(#[case] wiring: &str, #[case] complaint: Symptom) {
    let engine = engine(wiring);
    let tree = grown(&engine, complaint, SIZE);
    let text = written(&tree);
    let read =
        load(&Source::new("grown.ron", text.as_str())).unwrap_or_else(|error| panic!("{error}\n{text}"));
    assert_eq!(written(&read), text);
    assert_eq!(written(&grown(&engine, complaint, SIZE)), text, "not the same twice");
    let name = format!("grown-{}-{wiring}", complaint.name());
    assert_eq!((read.complaint, read.name.as_str()), (complaint, name.as_str()));
    assert!(
        read.title.ends_with(&engine.harness().title) && read.applies(engine.harness()),
        "{}",
        read.title
    );
    assert!((2..=SIZE).contains(&read.steps.len()), "{} steps", read.steps.len());
    assert!(matches!(fitted(&engine, &tree).start(), Walk::Step(_)));
    let names: BTreeSet<&str> = tree.steps.iter().map(|step| step.name.as_str()).collect();
    assert_eq!(names.len(), tree.steps.len());
}

/// No step leads to one end whatever it shows, and no two steps ask the same and lead to the same.
#[rstest]
#[case("one-pickup", Symptom::Silent)]
#[case("two-humbuckers", Symptom::Hum)]
fn nothing_in_it_is_idle(#[case] wiring: &str, #[case] complaint: Symptom) {
    let engine = engine(wiring);
    let tree = grown(&engine, complaint, SIZE);
    let fitted = fitted(&engine, &tree);
    let mut seen = Vec::new();
    for step in &tree.steps {
        let ways: Vec<&Then> = step.ways().collect();
        assert!(ways.iter().any(|way| *way != ways[0]), "{} leads to one end", step.name);
        let shows: Vec<String> = match &step.ask {
            Ask::Measure(probe) => probe.outcomes.iter().map(|outcome| outcome.written.clone()).collect(),
            Ask::Question { .. } => vec![step.say.clone()],
        };
        let asked = (fitted.measurement(&step.name), shows, format!("{ways:?}"));
        assert!(!seen.contains(&asked), "{} is there twice", step.name);
        seen.push(asked);
    }
}

#[test]
fn a_smaller_limit_is_kept_too_and_is_told_of() {
    let engine = engine("one-pickup");
    let told = std::cell::RefCell::new(Vec::new());
    let tree = grow(&engine, Symptom::Silent, 12, &|steps| told.borrow_mut().push(steps)).unwrap();
    assert!((1..=12).contains(&tree.steps.len()));
    let told = told.into_inner();
    assert!((1..=12).contains(&told.len()), "{told:?}");
    assert_eq!(told, (1..=told.len()).collect::<Vec<usize>>());
    assert_eq!(grow(&engine, Symptom::Silent, 1, &|_| ()).unwrap().steps.len(), 1);
    assert!(matches!(grow(&engine, Symptom::Silent, 0, &|_| ()), Err(GrowError::NoRoom)));
}

/// Returns the likeliest hypotheses of a complaint: those that are steady and at some place.
fn likeliest(engine: &Engine, complaint: Symptom) -> Vec<usize> {
    let likelihoods = engine.complaint(complaint);
    let list = &engine.model.hypotheses.list;
    let wrong = |&(fault, _): &(FaultId, f64)| engine.model.catalogue[fault].kind != Kind::NothingWrong;
    let placed = |h: &usize| list[*h].behaviour == Behaviour::Steady && list[*h].faults.iter().all(wrong);
    let mut order: Vec<usize> = (0..list.len()).filter(placed).collect();
    let weight = |h: usize| list[h].prior * likelihoods[h];
    order.sort_by(|&a, &b| weight(b).total_cmp(&weight(a)));
    order.truncate(WALKED);
    order
}

/// Walks through a tree with what an instrument of nominal parts reads in a state; returns the last words.
fn walked(engine: &Engine, tree: &Fitted, hypothesis: usize) -> Walk {
    let state = engine.model.hypotheses.list[hypothesis].state;
    let mut at = tree.start();
    while let Walk::Step(step) = &at {
        at = match tree.measurement(step) {
            Some(measurement) => match measurement.mode {
                Mode::Observe(check) => {
                    let yes = engine.chances(check, &measurement).unwrap()[hypothesis] >= 0.5;
                    tree.after_reading(step, &Shown::Said(if yes { Said::Yes } else { Said::No }))
                }
                _ => tree.after_reading(step, &reading(engine, &measurement, state)),
            },
            None => tree.after_answer(step, usize::from(!says_yes(engine, tree, step, hypothesis))),
        };
    }
    at
}

fn reading(engine: &Engine, measurement: &Measurement, state: usize) -> Shown {
    let row = engine.row(measurement).unwrap();
    let dial = measurement.mode.dial();
    let seen = row[state].reads.filter(|value| *value < engine.meter.most(dial));
    let level =
        seen.map_or(Level::OverRange, |value| Level::of(dial, value, engine.meter.last_digit(dial, value)));
    match measurement.flex {
        Some(_) => Shown::Range { low: level, high: level },
        None => Shown::Steady(level),
    }
}

/// A question is known by its words: those that the program asks it with.
fn says_yes(engine: &Engine, tree: &Fitted, step: &str, hypothesis: usize) -> bool {
    let say = &tree.step(step).unwrap().say;
    let asked = |question: &&lugwise::prediction::Question| {
        let measurement = &question.measurement;
        let setting = measurement.setting.sentence(engine.harness()).to_lowercase();
        let words = lugwise::workbench::headline_in_words(engine.harness(), measurement);
        matches!(measurement.mode, Mode::Observe(_))
            && say.ends_with(&words)
            && say.to_lowercase().starts_with(&setting)
    };
    engine.candidates.questions.iter().find(asked).unwrap().chances[hypothesis] >= 0.5
}

fn suspicion<'t>(tree: &'t Tree, hint: &str) -> Option<&'t Suspicion> {
    tree.steps.iter().flat_map(Step::ways).find_map(|then| match then {
        Then::Suspect(suspicion) if suspicion.say == hint => Some(suspicion),
        _ => None,
    })
}

/// Returns the parts that a fault is at, as a tree names them.
fn parts(engine: &Engine, fault: &Fault) -> BTreeSet<String> {
    let harness = engine.harness();
    let ends = fault.links.iter().flat_map(|&link| [harness[link].from.terminal, harness[link].to.terminal]);
    let terminals = fault.terminals.iter().copied().chain(ends);
    let names = terminals.map(|terminal| harness[harness[terminal].part].name.clone());
    names.map(|name| if name == "plug" { "jack".to_owned() } else { name }).collect()
}

/// A fault whose readings are taken from the circuit is suspected where it is, or is left to the advisor; and most of
/// them are suspected.
#[rstest]
#[case("one-pickup", Symptom::Silent)]
#[case("two-humbuckers", Symptom::Hum)]
fn what_is_suspected_is_true(#[case] wiring: &str, #[case] complaint: Symptom) {
    let engine = engine(wiring);
    let tree = grown(&engine, complaint, SIZE);
    let fitted = fitted(&engine, &tree);
    let mut suspected = 0;
    for hypothesis in likeliest(&engine, complaint) {
        let Walk::Ended { hint } = walked(&engine, &fitted, hypothesis) else { continue };
        let faults = engine.model.hypotheses.list[hypothesis].faults.iter();
        for fault in faults.map(|(fault, _)| &engine.model.catalogue[*fault]) {
            assert!(!hint.starts_with("not the instrument"), "{} is acquitted", fault.id);
            let suspicion = suspicion(&tree, &hint).unwrap();
            let (at, there) = (suspicion.at.iter().cloned().collect::<BTreeSet<_>>(), parts(&engine, fault));
            assert!(!at.is_disjoint(&there), "{}: {} is at {at:?}, not {there:?}", fault.id, suspicion.say);
        }
        suspected += 1;
    }
    assert!(2 * suspected >= WALKED, "{suspected} of {WALKED} are suspected");
}

/// Every place that a tree suspects is one of the wiring's own.
#[rstest]
#[case("one-pickup", Symptom::Silent)]
#[case("two-humbuckers", Symptom::Hum)]
fn every_place_is_a_part_of_the_wiring(#[case] wiring: &str, #[case] complaint: Symptom) {
    let (name, text) = built_in().iter().find(|(name, _)| name.trim_end_matches(".ron") == wiring).unwrap();
    let harness = load_wiring(&Source::new(*name, *text)).unwrap();
    let tree = grown(&engine(wiring), complaint, SIZE);
    let mut ends = 0;
    for then in tree.steps.iter().flat_map(Step::ways) {
        if let Then::Suspect(suspicion) = then {
            assert!(!suspicion.at.is_empty() && !suspicion.how.is_empty(), "{}", suspicion.say);
            assert!(suspicion.at.iter().all(|part| harness.part(part).is_some()), "{:?}", suspicion.at);
            ends += 1;
        }
    }
    assert!(ends > 1, "{ends} ends suspect something");
}

/// A grown tree has nothing in it that its own check fails it for; how long it takes is judged by played jobs.
#[rstest]
#[case("one-pickup", Symptom::Silent, 60)]
#[case("one-pickup", Symptom::Muffled, SIZE)]
fn it_passes_its_own_check(#[case] wiring: &str, #[case] complaint: Symptom, #[case] size: usize) {
    let engine = Arc::new(engine(wiring));
    let text = written(&grown(&engine, complaint, size));
    let checked = check(&Source::new("grown.ron", text.as_str()), &[], &[engine], &|_, _| ());
    let failing: Vec<&Finding> =
        checked.findings.iter().filter(|found| found.fails && found.flaw != Flaw::Slow).collect();
    assert!(failing.is_empty(), "{failing:?}\n{text}");
    assert_eq!(checked.figures.len(), 1, "it was held against the wiring: {:?}", checked.not_for);
}

/// Another guitar, without what the tree's steps are about, is told so and named nothing that it lacks.
#[test]
fn another_kind_of_guitar_is_refused_politely() {
    let tree = grown(&engine("two-humbuckers"), Symptom::Hum, SIZE);
    let other = engine("one-pickup-direct");
    assert!(!tree.applies(other.harness()), "{:?}", tree.only);
    assert!(tree.elsewhere.is_some_and(|elsewhere| elsewhere.contains("grow one")));
}

/// What a reading means is said by what it makes likelier, and the unknown and the sound are named nowhere.
#[test]
fn what_outcomes_mean_names_suspects_of_the_instrument() {
    let tree = grown(&engine("one-pickup"), Symptom::Silent, SIZE);
    let text = written(&tree);
    for word in ["nothing is wrong", "not in the catalogue"] {
        assert!(!text.contains(word), "{word}");
    }
    assert!(text.contains("as likely as before"), "{text}");
}

/// A battery is drained, a volume fails to close and one position is bad where there is such a thing.
#[rstest]
#[case("one-pickup", Symptom::BatteryDrains, "it takes a battery;")]
#[case("one-pickup-direct", Symptom::VolumeOpen, "it takes a volume knob;")]
#[case("one-pickup", Symptom::OnePosition, "it takes a switch that selects;")]
fn a_complaint_without_a_cause_in_the_wiring_grows_no_tree(
    #[case] wiring: &str,
    #[case] complaint: Symptom,
    #[case] needs: &str,
) {
    let refused = grow(&engine(wiring), complaint, 12, &|_| ()).unwrap_err();
    assert!(matches!(refused, GrowError::NoCause { .. }), "{refused}");
    assert!(refused.to_string().contains(needs), "{refused}");
}

/// Returns what a reason can name: the outcomes of its own step, as they begin a sentence.
fn ranges(step: &Step) -> Vec<String> {
    let Ask::Measure(probe) = &step.ask else { return vec!["Yes".to_owned(), "No".to_owned()] };
    let value = |value: f64| Level::of(probe.mode.dial(), value, 0.0).words();
    let words = |when: When| match when {
        When::Number { low, high: Some(high) } if low <= 0.0 => format!("Less than {}", value(high)),
        When::Number { low, high: Some(high) } => format!("Between {} and {}", value(low), value(high)),
        When::Number { low, high: None } => format!("More than {}", value(low)),
        When::NearHealthy => "A reading as it should be".to_owned(),
        When::Unstable => "A reading that moves".to_owned(),
        When::OverRange => "Over range".to_owned(),
        When::Yes => "Yes".to_owned(),
        When::No => "No".to_owned(),
        other => format!("{other:?}"),
    };
    probe.outcomes.iter().map(|outcome| words(outcome.when)).collect()
}

/// Returns what each way but the last means, with where it leads.
fn meanings(step: &Step) -> Vec<(&str, &Then)> {
    match &step.ask {
        Ask::Measure(probe) => probe.outcomes.iter().map(|way| (way.means.as_str(), &way.then)).collect(),
        Ask::Question { answers, .. } => answers.iter().map(|way| (way.means.as_str(), &way.then)).collect(),
    }
}

/// A reason names only outcomes that its step has, what to open is told so for every name of a place, and an outcome
/// that leads to a suspicion says nothing against it.
#[rstest]
#[case("one-pickup", Symptom::Silent)]
#[case("one-pickup", Symptom::Muffled)]
#[case("two-humbuckers", Symptom::Hum)]
fn what_a_step_says_goes_with_its_outcomes(#[case] wiring: &str, #[case] complaint: Symptom) {
    let tree = grown(&engine(wiring), complaint, SIZE);
    for step in &tree.steps {
        let mut named: Vec<&str> = step.why.split(" speaks for this: ").collect();
        named.pop();
        for reason in named {
            let range = reason.rsplit(". ").next().unwrap_or_default();
            assert!(ranges(step).iter().any(|known| known == range), "{}: {range}", step.name);
        }
        assert!(!step.say.contains("the under"), "{}", step.say);
        for (means, then) in meanings(step) {
            let firm = matches!(then, Then::Suspect(_) | Then::NotTheInstrument);
            assert!(!(firm && means.contains("no suspect")), "{}: {means}", step.name);
        }
    }
}
