//! Priors as data: the file that comes with the program, files of one's own, and jobs that keep them.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use lugwise::circuit::{built_in, load};
use lugwise::faults::{Family, Kind, LEAST, Priors};
use lugwise::prediction::Model;
use lugwise::readings::History;
use lugwise::source::{Located, Source};
use rstest::rstest;
use serde_json::Value;

use crate::shell::{json, lugwise};

fn own(text: &str) -> Result<Priors, Vec<Located>> {
    Priors::built_in().with_own(&Source::new("own.ron", text))
}

#[track_caller]
fn right(text: &str) -> Priors {
    own(text).unwrap_or_else(|wrong| panic!("{wrong:#?}"))
}

fn one_rate(family: &str, per_thousand: f64) -> String {
    format!("(format: 1, rates: [(family: {family}, per_thousand: {per_thousand:?}, source: \"a test\")])")
}

fn model(name: &str, priors: &Priors) -> Model {
    let (_, text) = built_in().iter().find(|(known, _)| *known == name).unwrap();
    Model::with_priors(load(&Source::new(name, *text)).unwrap(), priors)
}

fn said(wrong: &[Located]) -> String {
    wrong.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

#[test]
fn the_file_that_comes_with_the_program_is_right_and_whole() {
    let source = Source::new("priors.ron", Priors::TEXT);
    let priors = Priors::load(&source).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
    assert_eq!(&priors, Priors::built_in());
    let families: Vec<Family> = priors.rates().map(|(family, _)| family).collect();
    assert_eq!(families, Family::ALL);
    assert_eq!(priors.histories().count(), History::ALL.len());
    assert!(priors.rates().all(|(_, rate)| !rate.own && !rate.source.is_empty()));
    let named = |name: &str| Priors::TEXT.matches(&format!(": {name},")).count();
    for (family, _) in priors.rates() {
        assert!(named(family.name()) >= 1, "{family:?} is called {}", family.name());
    }
    for history in History::ALL {
        assert_eq!(named(history.name()), 1, "{history:?} is called {}", history.name());
    }
}

// The second file leaves the faults inside the least that a file can: one thousandth, shared.
#[rstest]
#[case("(format: 1)")]
#[case(
    "(format: 1, rates: [
        (family: OutsideTheInstrument, per_thousand: 998, source: \"a\"),
        (family: OutsideTheCatalogue, per_thousand: 1, source: \"a\"),
        (family: CoilOpen, per_thousand: 0.001, source: \"a\"),
        (family: JointOpen, per_thousand: 1000, source: \"a\"),
    ])"
)]
fn the_priors_of_every_wiring_add_up_to_one_and_none_is_zero(#[case] text: &str) {
    let priors = right(text);
    for (name, _) in built_in() {
        let faults = model(name, &priors).catalogue.faults;
        let total: f64 = faults.iter().map(|fault| fault.prior).sum();
        assert!((total - 1.0).abs() < 1e-9, "{name}: {total}");
        for fault in &faults {
            assert!(fault.prior > 0.0 && !fault.source.is_empty(), "{name}: {}", fault.id);
        }
    }
}

#[rstest]
#[case("CoilOpen", Kind::CoilOpen, Kind::WrongPot)]
#[case("WrongPot", Kind::WrongPot, Kind::CoilHalf)]
#[case("CoilHalf", Kind::CoilHalf, Kind::CoilOpen)]
fn twice_the_rate_is_twice_the_odds_against_another_family(
    #[case] family: &str,
    #[case] kind: Kind,
    #[case] other: Kind,
) {
    let odds = |rate: f64| {
        let model = model("two-humbuckers.ron", &right(&one_rate(family, rate)));
        let of = |kind: Kind| model.catalogue.faults.iter().filter(move |fault| fault.kind == kind);
        let total = |kind: Kind| of(kind).map(|fault| fault.prior).sum::<f64>();
        total(kind) / total(other)
    };
    for rate in [LEAST, 1.0, 7.5, 400.0] {
        assert!((odds(2.0 * rate) / odds(rate) - 2.0).abs() < 1e-9, "{family} at {rate}");
    }
}

/// What is outside counts whatever the wiring: its share is its rate.
#[test]
fn the_share_of_what_is_outside_is_its_rate() {
    for rate in [1.0, 100.0, 700.0] {
        let priors = right(&one_rate("OutsideTheInstrument", rate));
        for (name, _) in built_in() {
            let faults = model(name, &priors).catalogue.faults;
            let sound = faults.iter().find(|fault| fault.kind == Kind::NothingWrong).unwrap();
            assert!((sound.prior - rate / 1000.0).abs() < 1e-12, "{name}");
        }
    }
}

#[test]
fn an_own_file_changes_only_what_it_names() {
    let text = "(format: 1,
        rates: [(family: CoilOpen, per_thousand: 33.5, source: \"our tickets\")],
        histories: [(history: Played, makes: [(kinds: [ContactDirty], times: 1, source: \"our tickets\")])])";
    let (mine, theirs) = (right(text), Priors::built_in());
    for ((family, own), (_, known)) in mine.rates().zip(theirs.rates()) {
        if family == Family::CoilOpen {
            assert_eq!((own.per_thousand, own.source.as_str(), own.own), (33.5, "our tickets", true));
        } else {
            assert_eq!(own, known, "{family:?}");
        }
    }
    for ((history, own), (_, known)) in mine.histories().zip(theirs.histories()) {
        if history == History::Played {
            assert!(own.own && own.makes.len() == 1);
            assert_eq!(mine.times(history, Kind::ContactDirty), 1.0);
        } else {
            assert_eq!(own, known, "{history:?}");
        }
    }
    let model = model("one-pickup.ron", &mine);
    let coil = model.catalogue.faults.iter().find(|fault| fault.kind == Kind::CoilOpen).unwrap();
    assert_eq!(coil.source, "our tickets");
    assert_eq!(right("(format: 1)"), *theirs);
}

#[rstest]
#[case(
    "(format: 1, rates: [\n(family: CoilOpen, per_thousand: 0, source: \"a\")])",
    "own.ron:2:34: a rate of 0 per thousand is not allowed\n  hint: write 0.001 to 1000: what seldom fails may still have failed, so never 0"
)]
#[case(
    "(format: 1, rates: [\n(family: CoilOpen, per_thousand: -1, source: \"a\")])",
    "own.ron:2:34: a rate of -1 per thousand is not allowed\n  hint: write 0.001 to 1000: what seldom fails may still have failed, so never 0"
)]
#[case(
    "(format: 1, rates: [\n(family: CoilOpen, per_thousand: 0.0009, source: \"a\")])",
    "own.ron:2:34: a rate of 0.0009 per thousand is not allowed\n  hint: write 0.001 to 1000: what seldom fails may still have failed, so never 0"
)]
#[case(
    "(format: 1, rates: [\n(family: CoilOpen, per_thousand: 1000.5, source: \"a\")])",
    "own.ron:2:34: a rate of 1000.5 per thousand is not allowed\n  hint: write 0.001 to 1000: what seldom fails may still have failed, so never 0"
)]
#[case(
    "(format: 1, rates: [\n(family: CoilOpen, per_thousand: NaN, source: \"a\")])",
    "own.ron:2:34: a rate of NaN per thousand is not allowed\n  hint: write 0.001 to 1000: what seldom fails may still have failed, so never 0"
)]
#[case(
    "(format: 1, rates: [\n(family: CoilOpen, per_thousand: inf, source: \"a\")])",
    "own.ron:2:34: a rate of inf per thousand is not allowed\n  hint: write 0.001 to 1000: what seldom fails may still have failed, so never 0"
)]
#[case(
    "(format: 1, rates: [\n(family: CoilOpen, per_thousand: \"4\", source: \"a\")])",
    "own.ron:2:34: a number was expected\n  hint: write it without quotes"
)]
#[case(
    "(format: 1, rates: [\n(family: CoilOpn, per_thousand: 4, source: \"a\")])",
    "own.ron:2:10: unknown word `CoilOpn` in `family`\n  hint: did you mean `CoilOpen`?"
)]
#[case(
    "(format: 1, rates: [\n(family: CoilOpen, per_thousand: 4, source: \"a\"),\n(family: CoilOpen, per_thousand: 5, source: \"a\")])",
    "own.ron:3:10: CoilOpen is given twice, first in line 2\n  hint: keep one of the two"
)]
#[case(
    "(format: 1, rates: [\n(family: CoilOpen, per_thousand: 4, source: \"\")])",
    "own.ron:2:45: the source is empty\n  hint: say where the figure comes from, such as \"our tickets of one year\""
)]
#[case(
    "(format: 1, rates: [\n(family: CoilOpen, per_thousand: 4)])",
    "own.ron:2:1: field `source` is missing in `rate`\n  hint: add `source: ...`"
)]
#[case(
    "(format: 1, rates: [\n(family: CoilOpen, often: 4, source: \"a\")])",
    "own.ron:2:20: unknown field `often` in `rate`\n  hint: the fields are `family`, `per_thousand`, `source`"
)]
#[case(
    "(format: 1, rates: [\n(family: OutsideTheInstrument, per_thousand: 990, source: \"a\")])",
    "own.ron:2:10: what is outside the instrument and the catalogue takes 1010 of a thousand\n  hint: OutsideTheInstrument and OutsideTheCatalogue may take 999 together"
)]
#[case(
    "(format: 1, histories: [\n(history: Old, makes: [(kinds: [CoilOpen], times: 0, source: \"a\")])])",
    "own.ron:2:51: 0 times likelier is not allowed\n  hint: write 0.01 to 100: 2 is twice as likely, 0.5 half as likely"
)]
#[case(
    "(format: 1, histories: [\n(history: Old, makes: [(kinds: [CoilOpen], times: 0.009, source: \"a\")])])",
    "own.ron:2:51: 0.009 times likelier is not allowed\n  hint: write 0.01 to 100: 2 is twice as likely, 0.5 half as likely"
)]
#[case(
    "(format: 1, histories: [\n(history: Old, makes: [(kinds: [CoilOpen], times: 100.5, source: \"a\")])])",
    "own.ron:2:51: 100.5 times likelier is not allowed\n  hint: write 0.01 to 100: 2 is twice as likely, 0.5 half as likely"
)]
#[case(
    "(format: 1, histories: [\n(history: Old, makes: [(kinds: [CoilOpen], times: NaN, source: \"a\")])])",
    "own.ron:2:51: NaN times likelier is not allowed\n  hint: write 0.01 to 100: 2 is twice as likely, 0.5 half as likely"
)]
#[case(
    "(format: 1, histories: [\n(history: Odl, makes: [(kinds: [CoilOpen], times: 2, source: \"a\")])])",
    "own.ron:2:11: unknown word `Odl` in `history`\n  hint: the words are `Rewired`, `Dropped`, `Played`, `Old`"
)]
#[case(
    "(format: 1, histories: [\n(history: Old, makes: [(kinds: [CoilOpn], times: 2, source: \"a\")])])",
    "own.ron:2:33: unknown word `CoilOpn` in `kind`\n  hint: did you mean `CoilOpen`?"
)]
#[case(
    "(format: 1, histories: [\n(history: Old, makes: [(kinds: [CoilOpen], times: 2, source: \"a\")]),\n(history: Old, makes: [(kinds: [CoilOpen], times: 2, source: \"a\")])])",
    "own.ron:3:11: Old is given twice, first in line 2\n  hint: keep one of the two"
)]
#[case(
    "(format: 1, histories: [\n(history: Old, makes: [(kinds: [CoilOpen], times: 2, source: \"a\"),\n(kinds: [CoilOpen], times: 2, source: \"a\")])])",
    "own.ron:3:10: CoilOpen is given twice, first in line 2\n  hint: keep one of the two"
)]
#[case(
    "(format: 1, histories: [\n(history: Old, makes: [(kinds: [CoilOpen], times: 2, source: \" \")])])",
    "own.ron:2:62: the source is empty\n  hint: say where the figure comes from, such as \"our tickets of one year\""
)]
#[case(
    "(format: 1, histories: [\n(history: Old, makes: [(kinds: [], times: 2, source: \"a\")])])",
    "own.ron:2:32: `kinds` is empty\n  hint: name at least one kind of fault, or take the entry out"
)]
#[case(
    "(format: 1, histories: [\n(history: Old, makes: [])])",
    "own.ron:2:23: what the history Old makes likelier is empty\n  hint: add `(kinds: [..], times: .., source: \"..\")`, with `times: 1` where it moves nothing"
)]
#[case(
    "(\nformat: 2, rate: [])",
    "own.ron:2:9: the priors are of format 2, this program reads format 1\n  hint: write `format: 1` if it follows that format"
)]
#[case("(rates: [])", "own.ron:1:1: field `format` is missing in `priors`\n  hint: add `format: ...`")]
#[case(
    "(format: 1, rate: [])",
    "own.ron:1:13: unknown field `rate` in `priors`\n  hint: did you mean `rates`?"
)]
fn every_kind_of_mistake_is_told_with_its_place(#[case] text: &str, #[case] expected: &str) {
    assert_eq!(said(&own(text).unwrap_err()), expected);
}

#[test]
fn every_mistake_of_a_file_is_told_in_its_order() {
    let text = "(format: 1, rates: [
        (family: CoilOpen, per_thousand: 0, source: \"a\"),
        (family: CoilHalf, per_thousand: 1001, source: \" \"),
    ], histories: [(history: Old, makes: [(kinds: [], times: 101, source: \"a\")])])";
    let lines: Vec<usize> = own(text).unwrap_err().iter().map(|located| located.line).collect();
    assert_eq!(lines, [2, 3, 3, 4, 4]);
}

#[test]
fn a_whole_file_that_lacks_something_is_refused() {
    let line = Priors::TEXT.lines().position(|line| line.ends_with("rates: [")).unwrap() + 1;
    let lacking = |start: &str| {
        let lines = Priors::TEXT.lines().filter(|line| !line.trim_start().starts_with(start));
        let text = lines.collect::<Vec<_>>().join("\n");
        Priors::load(&Source::new("priors.ron", text)).unwrap_err()
    };
    assert_eq!(
        said(&lacking("(family: CoilOpen,")),
        format!(
            "priors.ron:{line}:12: the family CoilOpen is missing\n  \
             hint: add `(family: CoilOpen, per_thousand: ..., source: \"...\")`"
        )
    );
    let bare = Priors::load(&Source::new("priors.ron", "(format: 1)")).unwrap_err();
    assert_eq!(bare.len(), Family::ALL.len() + History::ALL.len());
    assert!(
        said(&bare)
            .contains("the history Dropped is missing\n  hint: add `(history: Dropped, makes: [(kinds:")
    );
}

/// Returns the weight that a history gives to a hypothesis of one kind alone.
#[track_caller]
fn weight(model: &Model, history: History, kind: Kind) -> f64 {
    let pure = |faults: &[(lugwise::faults::FaultId, f64)]| {
        faults.iter().all(|(fault, _)| model.catalogue[*fault].kind == kind)
    };
    let index = model.hypotheses.list.iter().position(|hypothesis| pure(&hypothesis.faults)).unwrap();
    model.history_likelihood(history)[index]
}

// How many times likelier: common practice, no source. A half-shorted coil is in no history's list.
#[rstest]
#[case(History::Rewired, Kind::LugsExchanged, 8.0)]
#[case(History::Rewired, Kind::WrongPot, 2.0)]
#[case(History::Rewired, Kind::CoilOpen, 1.0)]
#[case(History::Dropped, Kind::ContactOpen, 2.0)]
#[case(History::Played, Kind::WireIntermittent, 2.0)]
#[case(History::Old, Kind::CoilOpen, 2.0)]
#[case(History::Old, Kind::WrongPot, 1.0)]
fn histories_move_what_the_file_says(#[case] history: History, #[case] kind: Kind, #[case] times: f64) {
    let model = model("two-humbuckers.ron", Priors::built_in());
    let ratio = weight(&model, history, kind) / weight(&model, history, Kind::CoilHalf);
    assert!((ratio - times).abs() < 1e-9, "{ratio}");
    assert!(model.history_likelihood(history).iter().all(|weight| (0.0..=1.0 + 1e-12).contains(weight)));
}

#[rstest]
#[case(50.0)]
#[case(1.0)]
#[case(0.25)]
fn an_own_history_moves_as_written(#[case] times: f64) {
    let makes = format!("(kinds: [CoilOpen, WrongPot], times: {times:?}, source: \"a test\")");
    let priors = right(&format!("(format: 1, histories: [(history: Old, makes: [{makes}])])"));
    let model = model("two-humbuckers.ron", &priors);
    for kind in [Kind::CoilOpen, Kind::WrongPot] {
        let ratio = weight(&model, History::Old, kind) / weight(&model, History::Old, Kind::CoilHalf);
        assert!((ratio - times).abs() < 1e-9 * times, "{ratio}");
    }
    assert!(model.history_likelihood(History::Old).iter().all(|weight| *weight <= 1.0 + 1e-12));
}

/// What the complaint itself tells of the time before counts like what was done last, and is said back.
#[test]
fn a_history_in_the_complaint_counts_and_is_said() {
    let home = tempfile::tempdir().unwrap();
    let start = |name: &str, complaint: &str, last: &str| {
        let job = home.path().join(name).display().to_string();
        json(home.path(), &["start", "one-pickup", "--complaint", complaint, "--last-done", last, "-o", &job])
    };
    let plain = start("plain.job", "no sound", "");
    let told = start("told.job", "no sound since I swapped the pickup", "");
    let last = start("last.job", "no sound", "swapped the pickup");
    let strings = start("strings.job", "no sound since I changed the strings", "strings changed");
    assert_eq!(told["suspects"], last["suspects"]);
    assert_eq!(strings["suspects"], plain["suspects"]);
    assert_ne!(told["suspects"], plain["suspects"]);
    let understood = [&plain, &told, &last, &strings].map(|state| state["understood"].as_str().unwrap());
    let rewired = "no sound; just rewired, or a part changed";
    assert_eq!(understood, ["no sound", rewired, rewired, "no sound"]);
    let job = home.path().join("told.job").display().to_string();
    let (_, out, _) = lugwise(home.path(), &["next", &job]);
    assert!(out.contains(&format!("understood: {rewired}")), "{out}");
}

#[test]
fn a_job_keeps_the_priors_it_was_started_with() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("priors.ron");
    let job = |name: &str| home.path().join(name).display().to_string();
    let start =
        |name: &str| json(home.path(), &["start", "one-pickup", "--complaint", "silent", "-o", &job(name)]);
    let plain = start("plain.job");
    assert!(!fs::read_to_string(job("plain.job")).unwrap().contains("priors_text"));
    fs::write(&file, one_rate("CoilOpen", 900.0)).unwrap();
    let mine = start("mine.job");
    assert_ne!(mine["suspects"], plain["suspects"]);
    for changed in [one_rate("CoilOpen", LEAST), "nonsense".to_owned()] {
        fs::write(&file, changed).unwrap();
        assert_eq!(json(home.path(), &["next", &job("mine.job")])["suspects"], mine["suspects"]);
        assert_eq!(json(home.path(), &["next", &job("plain.job")])["suspects"], plain["suspects"]);
    }
}

#[test]
fn priors_are_listed_copied_and_never_written_over() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("not/there/yet");
    let listed = json(&folder, &["priors"]);
    assert_eq!(listed["file"], Value::Null);
    assert_eq!(listed["families"].as_array().unwrap().len(), Family::ALL.len());
    assert!(listed["families"].as_array().unwrap().iter().all(|family| family["own"] == false));
    let copied = json(&folder, &["priors", "--copy"]);
    let file = copied["file"].as_str().unwrap();
    assert_eq!(fs::read_to_string(file).unwrap(), Priors::TEXT);
    let own = json(&folder, &["priors"]);
    assert_eq!(own["file"], copied["file"]);
    assert!(own["families"].as_array().unwrap().iter().all(|family| family["own"] == true));
    let wirings = json(&folder, &["wirings"]);
    assert_eq!(wirings.as_array().unwrap().len(), built_in().len(), "priors are no wiring");
    let (code, _, err) = lugwise(&folder, &["priors", "--copy"]);
    assert_eq!(code, 1);
    assert!(err.contains("there is a file of that name"), "{err}");
    assert_eq!(lugwise(&folder, &["priors", "-o", "a.ron"]).0, 2, "-o is for a copy");
}

#[test]
fn wrong_own_priors_are_refused_where_priors_matter() {
    let home = tempfile::tempdir().unwrap();
    fs::write(home.path().join("priors.ron"), one_rate("CoilOpen", 0.0)).unwrap();
    let job = home.path().join("a.job").display().to_string();
    let start = ["start", "one-pickup", "--complaint", "silent", "-o", &job];
    for args in [&["priors"][..], &["faults", "one-pickup"], &["trial", "one-pickup"], &start] {
        let (code, _, err) = lugwise(home.path(), args);
        assert_eq!(code, 1, "{args:?}");
        assert!(err.contains("priors.ron:1:54: a rate of 0 per thousand is not allowed"), "{args:?}: {err}");
    }
    assert!(!Path::new(&job).exists());
    let elsewhere = home.path().join("mine.ron").display().to_string();
    fs::write(&elsewhere, one_rate("CoilOpen", 900.0)).unwrap();
    let prior = |args: &[&str]| {
        let faults = json(home.path(), args);
        let all = faults.as_array().unwrap().clone();
        let coil = all.iter().find(|fault| fault["id"] == "pickup/coil open").unwrap();
        coil["prior"].as_f64().unwrap()
    };
    let foretold = model("one-pickup.ron", &right(&one_rate("CoilOpen", 900.0))).catalogue;
    let coil = foretold.faults.iter().find(|fault| fault.kind == Kind::CoilOpen).unwrap();
    let listed = prior(&["faults", "one-pickup", "--priors", &elsewhere]);
    assert!((listed - coil.prior).abs() < 1e-12, "{listed}");
    let missing = lugwise(home.path(), &["faults", "one-pickup", "--priors", "nowhere.ron"]);
    assert_eq!(missing.0, 1);
    assert!(missing.2.contains("error: nowhere.ron: the file cannot be read"), "{}", missing.2);
}

/// A file that is not there has no lines: what can be done is said instead.
#[test]
fn a_file_of_priors_that_is_named_and_not_there_says_what_to_do() {
    let home = tempfile::tempdir().unwrap();
    let nowhere = home.path().join("nowhere.ron");
    let mut command = Command::new(env!("CARGO_BIN_EXE_lugwise"));
    command.args(["priors"]).env("LUGWISE_WIRINGS", home.path()).env("LUGWISE_PRIORS", &nowhere);
    let output = command.output().unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1), "{err}");
    assert!(err.contains(&format!("{}: the file cannot be read", nowhere.display())), "{err}");
    assert!(!err.contains(":1:1"), "{err}");
    assert!(err.contains("hint: ") && err.contains("--priors") && err.contains("LUGWISE_PRIORS"), "{err}");
    let told = lugwise(home.path(), &["priors", "--priors", &nowhere.display().to_string(), "--json"]);
    let told: Value = serde_json::from_str(&told.1).unwrap();
    assert!(told["error"]["line"].is_null() && told["error"]["hint"].is_string(), "{told}");
}

#[test]
fn a_file_of_priors_is_checked_like_any_other() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("mine.ron").display().to_string();
    fs::write(&file, one_rate("CoilOpen", 9.5)).unwrap();
    assert_eq!(json(home.path(), &["check", &file])[0]["says"], "priors, 1 rates and 0 histories");
    fs::write(&file, one_rate("CoilOpen", 0.0)).unwrap();
    let (code, out, _) = lugwise(home.path(), &["check", &file]);
    assert_eq!(code, 1);
    assert!(out.contains("mine.ron:1:54: a rate of 0 per thousand is not allowed"), "{out}");
}

#[test]
fn the_environment_may_name_another_file() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("mine.ron");
    fs::write(&file, one_rate("CoilOpen", 9.5)).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_lugwise"));
    command.args(["priors", "--json"]).env("LUGWISE_WIRINGS", home.path()).env("LUGWISE_PRIORS", &file);
    let told: Value = serde_json::from_slice(&command.output().unwrap().stdout).unwrap();
    assert_eq!(told["file"], file.display().to_string());
    let families = told["families"].as_array().unwrap();
    let own: Vec<&Value> = families.iter().filter(|family| family["own"] == true).collect();
    assert_eq!(own.len(), 1);
    assert_eq!((&own[0]["family"], &own[0]["per_thousand"]), (&Value::from("CoilOpen"), &Value::from(9.5)));
}
