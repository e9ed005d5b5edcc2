//! The examples in DEVELOPERS.md and the walk in README.md are real: they load, and they run word for word.

use std::fs;
use std::path::{Path, PathBuf};

use lugwise::circuit;
use lugwise::faults::Priors;
use lugwise::job;
use lugwise::source::Source;
use lugwise::trees;

fn at(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// Returns the first RON example below a heading of DEVELOPERS.md.
fn example(heading: &str) -> String {
    let page = fs::read_to_string(at("DEVELOPERS.md")).unwrap();
    let section = page.split_once(&format!("\n{heading}\n")).unwrap().1;
    let example = section.split_once("```ron\n").unwrap().1;
    example.split_once("```").unwrap().0.to_owned()
}

#[test]
fn the_wiring_example_is_the_small_wiring_and_loads() {
    let text = example("### Wiring files");
    assert_eq!(text, fs::read_to_string(at("tests/small_wiring.ron")).unwrap());
    let harness = circuit::load(&Source::new("example.ron", text)).unwrap();
    assert_eq!(harness.name, "small");
}

#[test]
fn the_example_of_blocks_is_a_whole_guitar() {
    let text = example("#### Blocks");
    assert!(text.lines().count() < 60);
    let harness = circuit::load(&Source::new("example.ron", text)).unwrap_or_else(|e| panic!("{e:#?}"));
    let looks = circuit::Looks { pickups: 2, knobs: 2, switches: vec![3], battery: false };
    assert_eq!(circuit::Looks::of(&harness), looks);
}

#[test]
fn the_pickup_types_example_loads() {
    let types = circuit::load_pickup_types(&Source::new("example.ron", example("### Pickup types"))).unwrap();
    assert_eq!(types.iter().map(|kind| kind.name.as_str()).collect::<Vec<_>>(), ["single coil"]);
}

#[test]
fn the_priors_examples_load() {
    let readme = fs::read_to_string(at("README.md")).unwrap();
    let own = readme.split_once("a job keeps the priors it was started with:\n\n```ron\n").unwrap().1;
    for text in [example("### Priors"), own.split_once("```").unwrap().0.to_owned()] {
        let own = Priors::built_in().with_own(&Source::new("example.ron", text));
        let own = own.unwrap_or_else(|wrong| panic!("{wrong:#?}"));
        assert_eq!(own.rates().filter(|(_, rate)| rate.own).count(), 1);
    }
}

#[test]
fn every_type_of_pickup_is_named_where_a_coil_is_described() {
    let page = fs::read_to_string(at("DEVELOPERS.md")).unwrap();
    let parts = page.split_once("#### Parts\n").unwrap().1.split_once("#### Wires\n").unwrap().0;
    for kind in circuit::pickup_types() {
        assert!(parts.contains(&format!("`{}`", kind.name)), "{}", kind.name);
    }
}

#[test]
fn the_tree_example_loads_and_fits_the_small_wiring() {
    let tree = trees::load(&Source::new("example.ron", example("### Tree files"))).unwrap();
    assert_eq!((tree.name.as_str(), tree.steps.len()), ("small", 2));
    let wiring = Source::new("small.ron", example("### Wiring files"));
    let engine = lugwise::workbench::Engine::new(&wiring, lugwise::readings::Meter::ordinary(), &[tree]);
    assert_eq!(engine.map(|engine| engine.trees.len()).map_err(|error| error.to_string()), Ok(1));
}

#[test]
fn the_job_example_replays() {
    let parsed = job::parse(&example("### Job files")).unwrap();
    assert_eq!((parsed.records.len(), parsed.cut), (4, None));
    let job = job::Job::replay(parsed.records).unwrap();
    assert_eq!(job.live_readings().count(), 0, "its only reading is undone");
    assert!(job.can_redo());
}

#[test]
fn the_walk_in_the_readme_runs_word_for_word() {
    let page = fs::read_to_string(at("README.md")).unwrap();
    let section = page.split_once("\n## The same from the shell\n").unwrap().1;
    let walk = section.split_once("```sh\n").unwrap().1.split_once("```").unwrap().0;
    assert!(walk.lines().count() > 8, "{walk}");
    let folder = tempfile::tempdir().unwrap();
    let program = Path::new(env!("CARGO_BIN_EXE_lugwise"));
    std::os::unix::fs::symlink(program, folder.path().join("lugwise")).unwrap();
    let path = format!("{}:/usr/bin:/bin", folder.path().display());
    let mut shell = std::process::Command::new("sh");
    shell.env("LUGWISE_ARCHIVE", folder.path().join("jobs.archive"));
    let said = shell.args(["-e", "-c", walk]).current_dir(folder.path()).env("PATH", path).output().unwrap();
    let told = format!("{}{}", String::from_utf8_lossy(&said.stdout), String::from_utf8_lossy(&said.stderr));
    assert!(said.status.success(), "{told}");
    assert!(told.contains("  repair: Re-solder the joint of the ground wire"), "{told}");
    assert!(told.contains("closed: Closed as cured"), "{told}");
    assert!(fs::read_to_string(folder.path().join("ticket.html")).unwrap().contains("<svg"));
}

/// Returns every key in a JSON value, but for the controls of a setting, which have names of their own.
fn keys(value: &serde_json::Value, found: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(map) => {
            for (key, value) in map {
                found.push(key.clone());
                if key != "settings" && key != "measurement" {
                    keys(value, found);
                }
            }
        }
        serde_json::Value::Array(list) => list.iter().for_each(|value| keys(value, found)),
        _ => {}
    }
}

#[test]
fn every_key_of_the_state_is_on_the_page() {
    let page = fs::read_to_string(at("DEVELOPERS.md")).unwrap();
    let section = page.split_once("\n## JSON\n").unwrap().1.split_once("\n## ").unwrap().0;
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("a.job").display().to_string();
    let run = |args: &[&str]| {
        let mut program = std::process::Command::new(env!("CARGO_BIN_EXE_lugwise"));
        let said = program.args(args).arg("--json").env("LUGWISE_ARCHIVE", "off").output();
        serde_json::from_slice::<serde_json::Value>(&said.unwrap().stdout).unwrap()
    };
    let mut found = Vec::new();
    keys(&run(&["start", "A1a", "--complaint", "it hums", "-o", &job]), &mut found);
    keys(&run(&["record", &job, "OL", "--flex", "nothing"]), &mut found);
    keys(&run(&["conclude", &job, "1"]), &mut found);
    keys(&run(&["repair", &job, "soldered", "--minutes", "5"]), &mut found);
    keys(&run(&["faults", "A1a"]), &mut found);
    keys(&run(&["predict", "A1a", "--red", "plug.tip", "--black", "plug.sleeve"]), &mut found);
    keys(&run(&["coil", "6.3k", "--at", "35C", "--expect", "5C", "--gauge", "42"]), &mut found);
    keys(&run(&["check", concat!(env!("CARGO_MANIFEST_DIR"), "/tests/small_wiring.ron")]), &mut found);
    keys(&run(&["response", "A1a", "--fault", "pickup/coil half shorted"]), &mut found);
    found.sort();
    found.dedup();
    assert!(found.len() > 40, "{found:?}");
    let word = |key: &str| section.split(|c: char| !c.is_alphanumeric() && c != '_').any(|w| w == key);
    let missing: Vec<&String> = found.iter().filter(|key| !word(key)).collect();
    assert!(missing.is_empty(), "DEVELOPERS.md does not tell of {missing:?}");
}
