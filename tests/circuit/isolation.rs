//! Every fault of a small built-in wiring and every second of a large one is put into a simulated instrument once, with
//! seeded part values, seeded meter error and full access, and the advisor has to find it.

use std::sync::Arc;

use lugwise::circuit::built_in;
use lugwise::readings::Meter;
use lugwise::source::Source;
use lugwise::trial::{Outcome, Report, Setup, WiringReport, bound, run};
use lugwise::workbench::Engine;

const TRIED: [&str; 2] = ["one-pickup.ron", "two-humbuckers.ron"];

fn told(report: &WiringReport) {
    let (singles, bound) = (report.singles.as_ref().unwrap(), report.bound.unwrap());
    println!(
        "{}.ron: {} faults, {:.1} % in the final group, {:.2} readings on average (bound {:.2}), {:.1} minutes, {:.1} faults in the group",
        report.wiring,
        singles.cases,
        100.0 * singles.share,
        singles.readings,
        bound.readings,
        singles.minutes,
        singles.group,
    );
    let missed: Vec<&str> = report.misses.iter().map(|miss| miss.truth[0].as_str()).collect();
    println!("  missed: {missed:?}");
}

#[test]
fn the_true_fault_is_in_the_final_group() {
    let setup = Setup { threads: 2, singles: Some(160), ..Setup::default() };
    let mut trials = Vec::new();
    for (name, text) in built_in().iter().filter(|(name, _)| TRIED.contains(name)) {
        let engine = Arc::new(Engine::new(&Source::new(*name, *text), Meter::ordinary(), &[]).unwrap());
        let outcomes: Vec<Outcome> = run(&engine, &setup, &|_, _| ()).unwrap();
        trials.push((engine.harness().name.clone(), bound(&engine), outcomes));
    }
    let report = Report::new(&trials);
    report.wirings.iter().for_each(told);
    let singles = report.all.singles.unwrap();
    println!("both: {} faults, {:.1} % in the final group", singles.cases, 100.0 * singles.share);
    assert!(
        singles.share >= 0.97,
        "only {:.3} of the {} faults end in the final group",
        singles.share,
        singles.cases
    );
}
