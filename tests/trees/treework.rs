//! Trees held against the circuit: mistakes that were put in by hand are found at their place, and sound trees pass.

use std::cell::RefCell;
use std::sync::{Arc, LazyLock};

use lugwise::circuit;
use lugwise::faults::FaultId;
use lugwise::prediction::Behaviour;
use lugwise::readings::{Check, Meter, Symptom};
use lugwise::source::Source;
use lugwise::trees::{Tree, load, written};
use lugwise::treework::{Checked, Finding, Flaw, check};
use lugwise::workbench::Engine;
use rstest::rstest;

static ONE_PICKUP: LazyLock<Vec<Arc<Engine>>> = LazyLock::new(|| vec![engine("one-pickup.ron")]);

fn engine(file: &str) -> Arc<Engine> {
    let (name, text) =
        circuit::built_in().iter().find(|(name, _)| *name == file).expect("a wiring of this name");
    Arc::new(Engine::new(&Source::new(*name, *text), Meter::ordinary(), &[]).unwrap())
}

/// Returns the text of a tree for silent guitars, a line for its head and one for each step.
fn tree(head: &str, start: &str, steps: &[String]) -> String {
    let steps = steps.concat();
    format!(
        "(format: 1, name: \"own\", title: \"Own\", complaint: Silent, {head} start: \"{start}\", steps: [\n{steps}])\n"
    )
}

/// Returns the line of a step that reads something.
fn reads(name: &str, red: &str, black: &str, more: &str, outcomes: &[(&str, &str)]) -> String {
    let outcome = |(when, then): &(&str, &str)| format!("(when: {when}, means: \"so\", then: {then}), ");
    let outcomes: String = outcomes.iter().map(outcome).collect();
    format!(
        "(name: \"{name}\", say: \"Read it.\", why: \"To know.\", ask: Measure(red: \"{red}\", black: \"{black}\", {more} outcomes: [{outcomes}])),\n"
    )
}

/// Returns the line of a step that reads tip to sleeve with all knobs at 10.
fn at_the_plug(name: &str, outcomes: &[(&str, &str)]) -> String {
    reads(name, "plug.tip", "plug.sleeve", "set: {\"knobs\": 10},", outcomes)
}

fn asks(name: &str, answers: &[(&str, &str)]) -> String {
    let answer =
        |(answer, then): &(&str, &str)| format!("(answer: \"{answer}\", means: \"so\", then: {then}), ");
    let answers: String = answers.iter().map(answer).collect();
    format!("(name: \"{name}\", say: \"Listen.\", why: \"To know.\", ask: Listen([{answers}])),\n")
}

fn suspect(at: &str, how: &str) -> String {
    format!("Suspect(say: \"it is there\", at: [{at}], how: [{how}])")
}

fn held(text: &str) -> Checked {
    check(&Source::new("own.ron", text), &[], &ONE_PICKUP, &|_, _| {})
}

fn of(checked: &Checked, flaw: Flaw) -> Vec<&Finding> {
    checked.findings.iter().filter(|finding| finding.flaw == flaw).collect()
}

const OPEN_COIL: &str = "VolumePotAlone";

#[test]
fn a_reading_that_is_taken_twice_is_redundant_the_second_time() {
    let again = [("NearHealthy", "Advisor"), ("AnythingElse", "Advisor")];
    let steps = [
        at_the_plug("first", &[("NearHealthy", "Step(\"again\")"), ("AnythingElse", "Advisor")]),
        reads("again", "plug.sleeve", "plug.tip", "set: {\"knobs\": 10},", &again),
    ];
    let checked = held(&tree("", "first", &steps));
    let found = of(&checked, Flaw::Redundant);
    assert_eq!(found.len(), 1, "{:#?}", checked.findings);
    assert_eq!((found[0].step.as_str(), found[0].line, found[0].fails), ("again", 3, true));
    assert_eq!(found[0].wirings, ["one-pickup"]);
    assert!(!checked.passes());
}

/// The same reading on one of two ways only is not redundant: the other way does not know it.
#[test]
fn a_reading_that_only_one_way_knows_is_not_redundant() {
    let ends = [("NearHealthy", "Advisor"), ("AnythingElse", "Advisor")];
    let steps = [
        asks("ask", &[("a", "Step(\"first\")"), ("b", "Step(\"again\")")]),
        at_the_plug("first", &[("NearHealthy", "Step(\"again\")"), ("AnythingElse", "Advisor")]),
        at_the_plug("again", &ends),
    ];
    assert_eq!(of(&held(&tree("", "ask", &steps)), Flaw::Redundant), Vec::<&Finding>::new());
}

/// Layout A1a (single-fault table of the trade): with the coil open the plug reads the volume pot's track alone, with hot
/// and ground touching it reads nearly nothing.
#[test]
fn exchanged_conclusions_are_contradicted_and_right_ones_are_not() {
    let steps = |zero: &str, track: &str| {
        let outcomes = [("NearZero", zero), (OPEN_COIL, track), ("AnythingElse", "Advisor")];
        [at_the_plug("all up", &outcomes)]
    };
    let (open, short) =
        (suspect("\"pickup\", \"volume\"", "Open"), suspect("\"jack\", \"volume\", \"pickup\"", "Short"));
    let right = held(&tree("", "all up", &steps(&short, &open)));
    assert_eq!(of(&right, Flaw::Contradicted), Vec::<&Finding>::new());
    let wrong = held(&tree("", "all up", &steps(&open, &short)));
    let found = of(&wrong, Flaw::Contradicted);
    assert_eq!(found.len(), 2, "{:#?}", wrong.findings);
    assert!(found.iter().all(|finding| finding.fails && finding.line == 2));
    assert!(found[0].column < found[1].column, "each is found where it says what it suspects");
    assert!(found.iter().any(|finding| finding.says.contains("(one-pickup)")), "{found:#?}");
}

/// This guitar has no battery, so that nothing is left there.
#[test]
fn a_place_that_is_out_of_the_question_is_named() {
    let open = suspect("\"pickup\", \"volume\", \"battery\"", "Open");
    let steps = [at_the_plug("all up", &[(OPEN_COIL, &open), ("AnythingElse", "Advisor")])];
    let checked = held(&tree("", "all up", &steps));
    let found = of(&checked, Flaw::Contradicted);
    assert_eq!(found.len(), 1, "{:#?}", checked.findings);
    assert!(found[0].says.contains("\"battery\""), "{}", found[0].says);
}

/// Two lugs of the volume pot short the plug as well as the jack does.
#[test]
fn faults_that_an_end_leaves_out_are_named_with_their_wiring() {
    let steps =
        [at_the_plug("all up", &[("NearZero", &suspect("\"jack\"", "Short")), ("AnythingElse", "Advisor")])];
    let checked = held(&tree("", "all up", &steps));
    let found = of(&checked, Flaw::WrongEnd);
    assert_eq!(found.len(), 1, "{:#?}", checked.findings);
    assert!(found[0].says.contains("volume") && found[0].says.contains("(one-pickup)"), "{}", found[0].says);
}

/// Without a battery there is no voltage anywhere (Kirchhoff's laws).
#[test]
fn volts_on_a_guitar_without_a_battery_are_irrelevant_and_never_there() {
    let battery = suspect("\"jack\"", "");
    let outcomes = [("Over(\"1V\")", battery.as_str()), ("AnythingElse", "Advisor")];
    let steps = [reads("volts", "plug.tip", "plug.sleeve", "mode: Volts,", &outcomes)];
    let checked = held(&tree("", "volts", &steps));
    assert_eq!(of(&checked, Flaw::Irrelevant).len(), 1, "{:#?}", checked.findings);
    let never = of(&checked, Flaw::Unreachable);
    assert_eq!(never.len(), 1, "{:#?}", checked.findings);
    assert!(never[0].fails && never[0].says.contains("Over(\"1V\")"), "{never:#?}");
}

#[test]
fn a_step_that_nothing_leads_to_is_unreachable() {
    let outcomes = [("Over(\"1V\")", "Step(\"then\")"), ("AnythingElse", "Advisor")];
    let steps = [
        reads("volts", "plug.tip", "plug.sleeve", "mode: Volts,", &outcomes),
        at_the_plug("then", &[("AnythingElse", "Advisor")]),
    ];
    let checked = held(&tree("", "volts", &steps));
    let found = of(&checked, Flaw::Unreachable);
    assert!(found.iter().any(|finding| finding.step == "then" && finding.fails), "{:#?}", checked.findings);
}

/// A question that the circuit cannot answer splits everything alike: it detects nothing.
#[test]
fn a_question_without_an_answer_from_the_circuit_detects_nothing() {
    let checked = held(&tree("", "ask", &[asks("ask", &[("a", "Advisor"), ("b", "Advisor")])]));
    let figures = &checked.figures[0];
    assert_eq!((figures.wiring.as_str(), figures.detected), ("one-pickup", 0.0));
    assert!((figures.covered - 1.0).abs() < 1e-9 && figures.faults > 20, "{figures:?}");
    let shares = &checked.shares["ask"];
    assert_eq!((shares.len(), shares[2]), (3, 0.0));
    assert!((shares[0] - 0.5).abs() < 0.05 && (shares[0] + shares[1] - 1.0).abs() < 1e-9, "{shares:?}");
}

/// Nine sound instruments of ten are acquitted by another cable, and no other.
#[test]
fn another_cable_acquits_what_is_sound() {
    let answers = [("cured", "NotTheInstrument"), ("not cured", "Advisor")];
    let checked = held(&tree("", "cable", &[asks("cable", &answers)]));
    assert_eq!(of(&checked, Flaw::WrongEnd), Vec::<&Finding>::new());
    let engine = &ONE_PICKUP[0];
    let tree = load(&Source::new("own.ron", tree("", "cable", &[asks("cable", &answers)]))).unwrap();
    let likely = engine.complaint(tree.complaint);
    let of = |id: &str| -> f64 {
        let hypotheses = engine.model.hypotheses.list.iter().zip(&likely);
        let named = |faults: &[(FaultId, f64)]| {
            faults.iter().any(|(fault, _)| engine.model.catalogue[*fault].id.contains(id))
        };
        hypotheses.filter(|(h, _)| named(&h.faults)).map(|(h, likely)| h.prior * likely).sum()
    };
    let (sound, unlisted, all) = (of("nothing wrong"), of("not in the catalogue"), of(""));
    let expected = 0.9 * sound / (all - unlisted);
    assert!(
        (checked.shares["cable"][0] - expected).abs() < 0.06 * expected + 1e-6,
        "{expected}: {:?}",
        checked.shares
    );
}

#[test]
fn the_figures_keep_their_bounds() {
    let open = suspect("\"pickup\", \"volume\"", "Open");
    let steps =
        [at_the_plug("all up", &[(OPEN_COIL, &open), ("NearZero", "Advisor"), ("AnythingElse", "Advisor")])];
    let checked = held(&tree("", "all up", &steps));
    let f = &checked.figures[0];
    assert!(f.detected > 0.05 && f.detected <= 1.0, "an open coil does not read like a sound one: {f:?}");
    assert!(f.isolated_to_one <= f.isolated_to_two && f.isolated_to_two <= 1.0, "{f:?}");
    assert!(f.steps >= 1.0 && f.minutes > 0.0, "{f:?}");
    assert!(f.bound_steps > 0.0 && f.bound_steps <= f.advisor_steps + 1e-9, "{f:?}");
}

#[test]
fn the_same_tree_gives_the_same_findings_and_the_wirings_are_counted() {
    let text = tree(
        "",
        "all up",
        &[at_the_plug("all up", &[("NearHealthy", "Advisor"), ("AnythingElse", "Advisor")])],
    );
    let seen = RefCell::new(Vec::new());
    let watch = |done: usize, all: usize| seen.borrow_mut().push((done, all));
    let first = check(&Source::new("own.ron", text.as_str()), &[], &ONE_PICKUP, &watch);
    assert_eq!(*seen.borrow(), [(0, 1), (1, 1)]);
    assert_eq!(first, held(&text));
}

#[test]
fn a_tree_says_which_guitars_it_is_not_for() {
    let text = tree(
        "only: [Battery], elsewhere: \"go on as for a silent guitar\",",
        "ask",
        &[asks("ask", &[("a", "Advisor")])],
    );
    let checked = held(&text);
    assert_eq!(
        checked.not_for,
        [("one-pickup".to_owned(), "it has no battery: go on as for a silent guitar".to_owned())]
    );
    assert!(checked.figures.is_empty() && checked.passes(), "{checked:?}");
}

#[test]
fn a_tree_goes_on_in_another() {
    let link = |name: &str| tree("", "ask", &[asks("ask", &[("a", &format!("Tree(\"{name}\")"))])]);
    let other = at_the_plug("all up", &[("NearHealthy", "Advisor"), ("AnythingElse", "Advisor")]);
    let other = tree("", "all up", &[other]).replace("\"own\"", "\"other\"");
    let others: Vec<Tree> = vec![load(&Source::new("other.ron", other)).unwrap()];
    let checked = |name: &str| check(&Source::new("own.ron", link(name)), &others, &ONE_PICKUP, &|_, _| {});
    let (good, missing, own) = (checked("other"), checked("othre"), checked("own"));
    assert!(good.findings.iter().all(|finding| finding.flaw != Flaw::DoesNotFit), "{:#?}", good.findings);
    assert!(good.figures[0].detected > 0.1, "what the other tree reads counts: {:?}", good.figures);
    assert_eq!(of(&missing, Flaw::DoesNotFit)[0].hint, "did you mean \"other\"?");
    assert_eq!(of(&own, Flaw::Endless).len(), 1);
}

#[rstest]
#[case("(format: 1,", Flaw::CannotBeRead)]
#[case("((((((((((((((((((((((((((((((((((((((((((((((((((((((((((((((((((((((((", Flaw::CannotBeRead)]
#[case(include_str!("../bad_trees/gap.ron"), Flaw::Gap)]
#[case(include_str!("../bad_trees/overlap_of_values.ron"), Flaw::Overlap)]
#[case(include_str!("../bad_trees/dead_step.ron"), Flaw::Unreachable)]
#[case(include_str!("../bad_trees/endless_step.ron"), Flaw::Endless)]
#[case(include_str!("../bad_trees/unknown_terminal.ron"), Flaw::DoesNotFit)]
#[case(include_str!("../bad_trees/unknown_place.ron"), Flaw::DoesNotFit)]
fn what_the_loader_refuses_is_a_finding_of_its_kind(#[case] text: &str, #[case] flaw: Flaw) {
    let checked = held(text);
    assert!(!checked.passes());
    assert!(
        of(&checked, flaw).iter().any(|finding| finding.fails && !finding.says.is_empty()),
        "{checked:#?}"
    );
}

#[test]
fn every_step_that_cannot_be_read_is_told_and_the_first_twenty_are_enough() {
    let step = |name: &str, then: &str| asks(name, &[("a", then)]);
    let steps = [
        step("a", "Step(\"b\")"),
        step("b", "Step(\"bb\")"),
        step("b", "Advisor"),
        step("c", "Step(\"cc\")"),
    ];
    let checked = held(&tree("", "aa", &steps));
    let says: Vec<&str> = checked.findings.iter().map(|finding| finding.says.as_str()).collect();
    let wanted = ["no step \"aa\"", "no step \"bb\"", "\"b\" is used twice", "no step \"cc\""];
    assert!(
        says.len() == 4 && says.iter().zip(wanted).all(|(said, wanted)| said.contains(wanted)),
        "{says:?}"
    );
    let lost: Vec<String> = (0..50).map(|at| step(&at.to_string(), "Step(\"lost\")")).collect();
    assert_eq!(held(&tree("", "0", &lost)).findings.len(), 20);
}

#[test]
fn two_answers_that_read_the_same_overlap() {
    let answers = [("Yes", "NotTheInstrument"), ("No", "Advisor"), ("yes ", "Advisor")];
    let checked = held(&tree("", "ask", &[asks("ask", &answers)]));
    let found = of(&checked, Flaw::Overlap);
    assert_eq!(found.len(), 1, "{checked:#?}");
    assert!(found[0].fails && found[0].says.contains("\"yes \" stands there twice"), "{checked:#?}");
}

#[test]
fn a_file_that_is_too_large_is_refused_unread() {
    let checked = held(&"(".repeat(16_000_001));
    assert_eq!(checked.findings.len(), 1);
    assert!(checked.findings[0].says.contains("16000001 bytes"), "{:?}", checked.findings[0]);
    assert_eq!((checked.findings[0].flaw, checked.tree), (Flaw::CannotBeRead, None));
}

#[test]
fn a_tree_of_ten_thousand_steps_is_held_against_a_wiring() {
    const STEPS: usize = 10_000;
    let step = |at: usize| {
        let next = format!("Step(\"{}\")", at + 1);
        let next = if at + 1 < STEPS { next.as_str() } else { "Advisor" };
        at_the_plug(&at.to_string(), &[("NearHealthy", next), ("AnythingElse", "Advisor")])
    };
    let checked = held(&tree("", "0", &(0..STEPS).map(step).collect::<Vec<_>>()));
    let redundant = of(&checked, Flaw::Redundant);
    assert_eq!(redundant.len(), STEPS - 1, "every reading but the first is the first again");
    assert_eq!((redundant[0].step.as_str(), redundant[0].line), ("1", 3));
    assert_eq!(checked.figures.len(), 1);
}

/// What stands on several wirings is found once, with all of them named.
#[test]
fn one_mistake_on_two_wirings_is_one_finding() {
    let engines = vec![engine("one-pickup.ron"), engine("two-humbuckers.ron")];
    let ends = [("NearHealthy", "Advisor"), ("AnythingElse", "Advisor")];
    let steps = [
        at_the_plug("first", &[("NearHealthy", "Step(\"again\")"), ("AnythingElse", "Advisor")]),
        at_the_plug("again", &ends),
    ];
    let checked = check(&Source::new("own.ron", tree("", "first", &steps)), &[], &engines, &|_, _| {});
    let found = of(&checked, Flaw::Redundant);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].wirings, ["one-pickup", "two-humbuckers"]);
    assert_eq!(checked.figures.len(), 2);
}

/// Returns a tree of one step that listens whether the volume closes.
fn closes() -> Tree {
    let way = |word: &str| format!("{word}: (means: \"so\", then: Advisor)");
    let hear = format!("Hear(check: Closes, about: \"volume\", {}, {})", way("yes"), way("no"));
    let step = format!("(name: \"ear\", say: \"Listen.\", why: \"To know.\", ask: {hear}),\n");
    let text = tree("", "ear", &[step]).replace("Silent", "VolumeOpen");
    load(&Source::new("own.ron", text)).unwrap_or_else(|error| panic!("{error}"))
}

/// A volume pot whose zero end is off its ground leaves a rest at 0: common practice, no source.
#[test]
fn a_step_that_listens_is_the_advisors_own_question() {
    let engine = &ONE_PICKUP[0];
    let fitted = closes().fit(engine.harness(), &|measurement| engine.expected(measurement)).unwrap();
    let measurement = fitted.measurement("ear").unwrap();
    assert!(engine.candidates.questions.iter().any(|question| question.measurement == measurement));
    let chances = engine.chances(Check::Closes, &measurement).unwrap();
    let list = &engine.model.hypotheses.list;
    let open = |id: &str| {
        let holds = |&(fault, _): &(FaultId, f64)| engine.model.catalogue[fault].id == id;
        list.iter().position(|h| h.behaviour == Behaviour::Steady && h.faults.iter().any(holds)).unwrap()
    };
    for fault in ["volume.case/joint volume-ground-lug open", "volume/track open at lug 1"] {
        assert!(chances[open(fault)] < 0.2, "{fault}: {}", chances[open(fault)]);
    }
}

/// The shares are worked out once more, from the chances alone: 24 instruments stand for each thing that can be wrong.
#[test]
fn a_step_that_listens_splits_as_the_circuit_says() {
    let engine = &ONE_PICKUP[0];
    let own = closes();
    let fitted = own.fit(engine.harness(), &|measurement| engine.expected(measurement)).unwrap();
    let chances = engine.chances(Check::Closes, &fitted.measurement("ear").unwrap()).unwrap();
    let (list, likely) = (&engine.model.hypotheses.list, engine.complaint(Symptom::VolumeOpen));
    let listed = (0..list.len()).filter(|&h| list[h].behaviour != Behaviour::Anything);
    let weights: Vec<(usize, f64)> = listed.map(|h| (h, list[h].prior * likely[h])).collect();
    let total: f64 = weights.iter().map(|(_, weight)| weight).sum();
    let yes: f64 = weights.iter().map(|&(h, weight)| weight * chances[h]).sum::<f64>() / total;
    let checked = held(&written(&own));
    let shares = &checked.shares["ear"];
    assert!(
        (shares[0] - yes).abs() < 0.02 && (shares[0] + shares[1] - 1.0).abs() < 1e-6,
        "{yes}: {shares:?}"
    );
    assert!((0.1..0.9).contains(&yes), "the complaint leaves it open: {yes}");
}

#[test]
fn listening_twice_for_the_same_tells_nothing_new() {
    let hear = |name: &str, then: &str| {
        let way = |word: &str, then: &str| format!("{word}: (means: \"so\", then: {then})");
        let ways = format!("{}, {}", way("yes", then), way("no", "Advisor"));
        format!("(name: \"{name}\", say: \"Listen.\", why: \"To know.\", ask: Hear(check: Sound, {ways})),\n")
    };
    let checked = held(&tree("", "first", &[hear("first", "Step(\"again\")"), hear("again", "Advisor")]));
    assert_eq!(of(&checked, Flaw::Redundant)[0].step, "again");
}

/// What no way leads to does not keep quiet what else is wrong, on the text alone and on a guitar.
#[test]
fn a_gap_is_told_beside_a_step_that_nothing_leads_to() {
    let steps = [
        at_the_plug("first", &[("NearHealthy", "Advisor"), ("AnythingElse", "Advisor")]),
        at_the_plug("dead", &[("Under(\"5 ohm\")", "Advisor"), ("OverRange", "Advisor")]),
    ];
    let checked = held(&tree("", "first", &steps));
    assert_eq!(of(&checked, Flaw::Unreachable).len(), 1, "{:#?}", checked.findings);
    let gaps = of(&checked, Flaw::Gap);
    assert_eq!(gaps.len(), 1, "{:#?}", checked.findings);
    assert_eq!((gaps[0].step.as_str(), gaps[0].line), ("dead", 3));
    assert_eq!(gaps[0].wirings, ["one-pickup"]);
    assert!(checked.tree.as_deref() == Some("own") && checked.figures.is_empty(), "{checked:#?}");
}

#[test]
fn an_overlap_is_told_beside_an_outcome_that_comes_too_late() {
    let outcomes =
        [("Under(\"5 ohm\")", "Advisor"), ("AnythingElse", "Advisor"), ("Under(\"9 ohm\")", "Advisor")];
    let checked = held(&tree("", "only", &[at_the_plug("only", &outcomes)]));
    let flaws: Vec<Flaw> = checked.findings.iter().map(|finding| finding.flaw).collect();
    assert_eq!(flaws, [Flaw::Unreachable, Flaw::Overlap], "{:#?}", checked.findings);
}

/// Answers that the circuit does not know halve the instruments: after so many none is left, and that is no mistake.
#[test]
fn a_long_chain_of_questions_is_said_not_to_be_judged_to_its_end() {
    let step = |at: usize| {
        let next = if at < 33 { format!("Step(\"{}\")", at + 1) } else { "Advisor".to_owned() };
        asks(&at.to_string(), &[("a", next.as_str()), ("b", "Advisor")])
    };
    let steps: Vec<String> = (1..=33).map(step).collect();
    let checked = held(&tree("", "1", &steps));
    let found = of(&checked, Flaw::Unreachable);
    assert_eq!(found.len(), 1, "{:#?}", checked.findings);
    assert!(!found[0].fails && found[0].says.contains("split"), "{found:#?}");
}

/// The wiring has no battery, so the advisor goes on there whatever the tree says.
#[test]
fn a_way_to_a_tree_that_is_for_none_of_its_wirings_is_told_at_its_line() {
    let (name, text) =
        *lugwise::trees::built_in().iter().find(|(name, _)| *name == "battery-drains.ron").unwrap();
    let other = load(&Source::new(name, text)).unwrap();
    let own = tree("", "ask", &[asks("ask", &[("a", "Tree(\"battery-drains\")"), ("b", "Advisor")])]);
    let checked = check(&Source::new("own.ron", own), &[other], &ONE_PICKUP, &|_, _| {});
    let found = of(&checked, Flaw::DoesNotFit);
    assert_eq!(found.len(), 1, "{:#?}", checked.findings);
    assert!(!found[0].fails && found[0].line == 2 && found[0].says.contains("a battery"), "{found:#?}");
    assert_eq!(found[0].wirings, ["one-pickup"]);
}
