//! The examples in DEVELOPERS.md are real: they load, and one is the file that the tests use.

use std::fs;
use std::path::{Path, PathBuf};

use lugwise::circuit;
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
