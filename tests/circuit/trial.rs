//! Trials: what comes out does not depend on the threads, the policies differ as they should, and mistakes are told.

use std::path::Path;
use std::sync::Arc;

use assert_cmd::Command;
use lugwise::archive::Archive;
use lugwise::circuit::{Change, Track, What, built_in};
use lugwise::prediction::{Hypotheses, State};
use lugwise::readings::{Measurement, Meter, Symptom};
use lugwise::source::Source;
use lugwise::trial::{Kind, Outcome, PairFound, Policy, Setup, run};
use lugwise::workbench::Engine;
use rstest::rstest;
use serde_json::Value;

/// What one call of the program gave back.
struct Said {
    code: i32,
    out: String,
    err: String,
}

fn trial(args: &[&str]) -> Said {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lugwise"));
    let output = command.arg("trial").args(args).env_remove("DISPLAY").output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Said { code: output.status.code().unwrap(), out: text(output.stdout), err: text(output.stderr) }
}

fn json(args: &[&str]) -> Value {
    let said = trial(&[args, &["--json"]].concat());
    assert_eq!((said.code, said.err.as_str()), (0, ""), "{}", said.out);
    serde_json::from_str(&said.out).unwrap()
}

fn engine(name: &str) -> Arc<Engine> {
    let (name, text) = built_in().iter().find(|(known, _)| *known == name).unwrap();
    Arc::new(Engine::new(&Source::new(*name, *text), Meter::ordinary(), &[]).unwrap())
}

fn outcomes(engine: &Arc<Engine>, setup: &Setup) -> Vec<Outcome> {
    run(engine, setup, &|_, _| ()).unwrap()
}

const FEW: Setup = Setup {
    policy: Policy::Advisor,
    seed: 7,
    access: lugwise::readings::Access::MayUnsolder,
    singles: Some(8),
    pairs: 2,
    healthy: 2,
    drawn: 2,
    complaint: None,
    outside: 2,
    slips: 0.1,
    priors_off: 10.0,
    threads: 1,
};

// The promise on the command line: the same seed gives the same report, with any number of threads.
#[test]
fn one_thread_and_three_give_the_same_outcomes_and_another_seed_others() {
    let engine = engine("one-pickup.ron");
    let alone = outcomes(&engine, &FEW);
    assert_eq!(alone, outcomes(&engine, &Setup { threads: 3, ..FEW }));
    assert_ne!(alone, outcomes(&engine, &Setup { seed: 8, ..FEW }));
    let kinds: Vec<Kind> = alone.iter().map(|outcome| outcome.kind).collect();
    let many = |kind| kinds.iter().filter(|k| **k == kind).count();
    assert_eq!(Kind::ALL.map(many), [8, 2, 2, 2, 2]);
    assert!(alone.iter().any(|outcome| outcome.slips > 0), "one reading in ten is a slip");
}

/// Makes an archive of invented jobs and returns the jobs as one line each.
fn invented(path: &Path, seed: &str) -> Vec<Value> {
    let asked = [
        "one-pickup-direct",
        "--jobs",
        "40",
        "--pool",
        "4",
        "--seed",
        seed,
        "--until",
        "2025-12-31",
        "--archive",
    ];
    let told = json(&[&asked[..], &[path.to_str().unwrap()]].concat());
    let archive = Archive::open(path, "2026-01-01T00:00:00Z").unwrap();
    assert_eq!((&told["jobs"], &told["pool"]), (&Value::from(40), &Value::from(4)));
    assert_eq!(archive.check().unwrap().events, told["events"].as_u64().unwrap());
    let mut lines = Vec::new();
    assert_eq!(archive.export_ndjson(&mut lines).unwrap().jobs, 40);
    let lines = String::from_utf8(lines).unwrap();
    lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

#[test]
fn an_archive_of_invented_jobs_holds_whole_visits_and_the_same_ones_for_the_same_seed() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    let jobs = invented(&path("a.archive"), "7");
    assert_eq!(jobs, invented(&path("b.archive"), "7"));
    assert_ne!(jobs, invented(&path("c.archive"), "8"));
    let cured = jobs.iter().filter(|job| job["summary"]["ending"] == "cured").count();
    assert!(cured > 0, "no visit ends with its proof");
    let all = |what: &str| {
        let mut all: Vec<String> = jobs.iter().map(|job| job["summary"][what].to_string()).collect();
        all.sort();
        all.dedup();
        all.len()
    };
    assert!(all("customer") > 5 && all("technician") > 2 && all("uid") == 40, "all jobs are of one customer");
    assert!(all("opened_at") == 40 && jobs[0]["summary"]["opened_at"].as_str().unwrap() < "2017");
    let before = std::fs::read(path("a.archive")).unwrap();
    let a = path("a.archive");
    let again = trial(&["one-pickup-direct", "--jobs", "1", "--archive", a.to_str().unwrap()]);
    assert!(again.code == 1 && again.err.contains("something with this name is there"), "{}", again.err);
    assert_eq!(std::fs::read(&a).unwrap(), before);
    assert_eq!(trial(&["one-pickup-direct", "--jobs", "1"]).code, 2, "the archive must be named");
}

#[test]
fn the_report_has_the_same_bytes_with_any_number_of_threads() {
    let few = ["one-pickup", "--singles", "4", "--pairs", "1", "--outside", "1", "--slips", "5", "--json"];
    let one = trial(&[&few[..], &["--threads", "1"]].concat());
    let two = trial(&[&few[..], &["--threads", "2"]].concat());
    assert_eq!((one.code, one.err.as_str()), (0, ""));
    assert_eq!(one.out, two.out);
}

// By hand: at the plug, volume at 10, the pickup lies beside the volume pot's track. With 1 kΩ more in the pickup and
// a track of twice the ohms that is (R + 1 kΩ) beside 2 T; with the lead open as well, 2 T alone.
#[test]
fn several_things_wrong_are_all_in_the_circuit() {
    let model = &engine("one-pickup.ron").model;
    let part = |name: &str| model.harness.part(name).unwrap();
    let find = |what: What| model.network.find(&what).unwrap();
    let coil = find(What::Coil(part("pickup")));
    let track = [Track::Lower, Track::Upper].map(|piece| find(What::Track(part("volume"), piece)));
    let two = vec![Change::Series(coil, 1000.0), Change::Scale(track.to_vec(), 2.0)];
    let three = [two.clone(), vec![Change::Open(coil)]].concat();
    let state = |change| State { change, spread: 0.0 };
    let states = vec![state(Change::Nothing), state(Change::Several(two)), state(Change::Several(three))];
    let own = model.instrument(model.values.clone(), Hypotheses { states, list: Vec::new() });
    let plug = Measurement::at_the_plug(&model.harness);
    let (tip, sleeve) = model.probes(&plug).unwrap();
    let bench = own.bench(&plug.setting).unwrap();
    let ohms = |name: &str| model.values.ohms[part(name).0];
    let (r, t) = (ohms("pickup"), ohms("volume"));
    let beside = |a: f64, b: f64| a * b / (a + b);
    for (state, expected) in [beside(r, t), beside(r + 1000.0, 2.0 * t), 2.0 * t].into_iter().enumerate() {
        let found = bench.ohms(state, tip, sleeve).unwrap();
        assert!((found - expected).abs() < 1.0, "state {state}: {found}, by hand {expected}");
    }
}

// A pair is two faults with different repairs; what is outside the catalogue is not in it.
#[test]
fn pairs_are_two_faults_and_outsiders_are_none() {
    let engine = engine("one-pickup.ron");
    let setup = Setup {
        singles: Some(0),
        pairs: 4,
        healthy: 0,
        drawn: 0,
        outside: 4,
        slips: 0.0,
        priors_off: 1.0,
        ..FEW
    };
    for outcome in outcomes(&engine, &setup) {
        let known: Vec<_> = outcome.truth.iter().filter_map(|id| engine.model.catalogue.find(id)).collect();
        match outcome.kind {
            Kind::Pair => {
                let keys: Vec<&str> =
                    known.iter().map(|f| engine.model.catalogue[*f].repair.key.as_str()).collect();
                assert!(matches!(keys[..], [one, other] if one != other), "{keys:?}");
                assert_eq!(outcome.found, outcome.concluded.iter().any(|id| outcome.truth.contains(id)));
                assert!(outcome.pair.is_some_and(|found| found != PairFound::None || !outcome.found));
            }
            _ => assert!(known.is_empty() && outcome.truth.len() == 1 && outcome.pair.is_none()),
        }
    }
}

// What a measurement tells for its time is what the advisor asks about; chance asks about nothing.
#[test]
fn chance_takes_longer_than_the_advisor() {
    let engine = engine("one-pickup.ron");
    let of = |policy| {
        let setup =
            Setup { policy, pairs: 0, healthy: 0, drawn: 0, outside: 0, slips: 0.0, priors_off: 1.0, ..FEW };
        let all = outcomes(&engine, &setup);
        all.iter().map(|outcome| outcome.minutes).sum::<f64>() / all.len() as f64
    };
    let (advisor, random) = (of(Policy::Advisor), of(Policy::Random));
    assert!(random > advisor, "by chance {random:.1} minutes, advised {advisor:.1}");
    assert!(of(Policy::HalfSplit) > 0.0 && of(Policy::Greedy) > 0.0);
}

#[test]
fn the_report_tells_what_was_tried_and_draws_it() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("trial.svg");
    let path = file.to_str().unwrap();
    let told = json(&["A1a", "--singles", "5", "--healthy", "1", "--plot", path]);
    assert_eq!(told["setup"]["policy"], "advisor");
    assert_eq!(told["wirings"][0]["singles"]["cases"], 5);
    assert_eq!(told["all"]["healthy"]["cases"], 1);
    assert_eq!(told["all"]["pairs"], Value::Null);
    assert_eq!(told["all"]["suspects"].as_array().unwrap().len(), 10);
    let histogram = told["all"]["singles"]["histogram"].as_array().unwrap();
    assert_eq!(histogram.iter().map(|count| count.as_u64().unwrap()).sum::<u64>(), 5);
    assert!(told["wirings"][0]["bound"]["readings"].as_f64().unwrap() > 1.0);
    assert!(std::fs::read_to_string(file).unwrap().contains("trial of "));
}

#[test]
fn a_tree_leads_the_cases_with_its_complaint() {
    let tree = Path::new(env!("CARGO_MANIFEST_DIR")).join("trees/silent.ron");
    let policy = format!("tree:{}", tree.display());
    let told = json(&["one-pickup", "--singles", "12", "--policy", &policy]);
    let led = told["all"]["singles"]["by_tree"].as_u64().unwrap();
    assert!((1..12).contains(&led), "{led} of 12 were led by the tree for silence");
    let named = json(&["one-pickup", "--singles", "1", "--policy", "tree:silent"]);
    assert_eq!(named["setup"]["policy"], "tree:silent", "a tree is also found by its name");
}

#[rstest]
#[case(&["one-pickup", "--policy", "clever"], 2, "expected advisor, half-split, greedy, random or tree:TREE")]
#[case(&["one-pickup", "--singles", "-1"], 2, "expected a whole number from 0 to 1000000")]
#[case(&["one-pickup", "--pairs", "-3"], 2, "expected a whole number from 0 to 1000000")]
#[case(&["one-pickup", "--drawn", "many"], 2, "expected a whole number from 0 to 1000000")]
#[case(&["one-pickup", "--healthy", "1000001"], 2, "expected a whole number from 0 to 1000000")]
#[case(&["one-pickup", "--outside", "1.5"], 2, "expected a whole number from 0 to 1000000")]
#[case(&["one-pickup", "--seed", "-7"], 2, "expected a whole number from 0 to")]
#[case(&["one-pickup", "--slips", "-2"], 2, "expected a number from 0 to 100")]
#[case(&["one-pickup", "--threads", "-2"], 2, "expected a number from 1 to 1024")]
#[case(&["one-pickup", "--slips", "120"], 2, "expected a number from 0 to 100")]
#[case(&["one-pickup", "--priors-off", "0.5"], 2, "expected a number from 1 to 1000")]
#[case(&["one-pickup", "--threads", "0"], 2, "expected a number from 1")]
#[case(&["no-such-wiring"], 1, "cannot find the wiring \"no-such-wiring\"")]
#[case(&["one-pickup", "--policy", "tree:none.ron"], 1, "cannot read none.ron")]
#[case(&["one-pickup", "--policy", "tree:none"], 1, "cannot find the tree \"none\": there are ")]
#[case(&["one-pickup", "--meter", "perfect"], 1, "cannot use the meter \"perfect\"")]
#[case(&["one-pickup", "--plot", "trial.png"], 1, "hint: end it in .svg")]
#[case(&["one-pickup", "--singles", "0"], 1, "cannot hold a trial without an instrument")]
#[case(&[], 2, "required arguments")]
fn mistakes_are_told(#[case] args: &[&str], #[case] code: i32, #[case] words: &str) {
    let said = trial(args);
    assert_eq!((said.code, said.out.as_str()), (code, ""), "{}", said.err);
    assert!(said.err.contains(words), "{}", said.err);
}

#[test]
fn a_tree_that_does_not_fit_is_told_with_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let text = include_str!("../../trees/silent.ron").replacen("plug.tip", "plug.tipp", 1);
    let file = folder.path().join("odd.ron");
    std::fs::write(&file, text).unwrap();
    let said = trial(&["one-pickup", "--policy", &format!("tree:{}", file.display())]);
    assert_eq!(said.code, 1, "{}", said.err);
    assert!(said.err.contains("odd.ron:") && said.err.contains("plug.tipp"), "{}", said.err);
}

#[test]
fn help_says_what_can_be_tried() {
    let said = trial(&["--help"]);
    assert_eq!(said.code, 0);
    for option in
        ["--policy", "--pairs", "--healthy", "--outside", "--slips", "--priors-off", "--plot", "JSON:"]
    {
        assert!(said.out.contains(option), "{option} is missing in\n{}", said.out);
    }
}

#[test]
fn progress_is_told_every_tenth_on_the_error_stream() {
    let said = trial(&["one-pickup", "--singles", "10", "--threads", "1"]);
    assert_eq!(said.code, 0, "{}", said.err);
    let lines: Vec<&str> = said.err.lines().collect();
    assert_eq!((lines[0], lines[9], lines.len()), ("one-pickup: 1 of 10", "one-pickup: 10 of 10", 11));
    assert!(said.out.contains("with one fault") && said.out.contains("false alarms"), "{}", said.out);
}

// What cuts out comes and goes: among what is drawn for that complaint there is more of it than among all that comes in.
#[test]
fn what_is_drawn_for_a_complaint_can_be_behind_it() {
    let engine = engine("one-pickup.ron");
    let coming_and_going = |complaint| {
        let setup = Setup {
            singles: Some(0),
            drawn: 24,
            complaint,
            pairs: 0,
            healthy: 0,
            outside: 0,
            threads: 2,
            ..FEW
        };
        let outcomes = outcomes(&engine, &setup);
        assert_eq!(outcomes.len(), 24);
        outcomes.iter().filter(|outcome| outcome.truth.iter().any(|id| id.contains("intermittent"))).count()
    };
    let (asked, any) = (coming_and_going(Some(Symptom::Intermittent)), coming_and_going(None));
    assert!(asked >= 18 && any <= 16, "{asked} of 24 and {any} of 24");
}
