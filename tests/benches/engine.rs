//! How long the engine takes to be ready, to propose a reading, and to predict one beside a circuit simulator.

use std::hint::black_box;
use std::process::{Command, Stdio};

use criterion::{Criterion, criterion_group, criterion_main};
use lugwise::advisor::{self, Circumstances};
use lugwise::belief::Belief;
use lugwise::circuit::built_in;
use lugwise::readings::{Access, Level, Measurement, Meter, Shown};
use lugwise::source::Source;
use lugwise::units::Ohms;
use lugwise::workbench::Engine;

fn engine((name, text): &(&str, &str)) -> Engine {
    Engine::new(&Source::new(*name, *text), Meter::ordinary(), &[]).unwrap()
}

fn at_the_jack(engine: &Engine) -> Measurement {
    Measurement::at_the_plug(engine.harness())
}

fn ready(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("ready");
    group.sample_size(10);
    for wiring in built_in() {
        group.bench_function(wiring.0, |bench| bench.iter(|| engine(black_box(wiring))));
    }
    group.finish();
}

/// The next reading after one that came out far too low.
fn propose(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("propose");
    group.sample_size(10);
    for wiring in built_in() {
        let engine = engine(wiring);
        let measurement = at_the_jack(&engine);
        let shown = Shown::Steady(Level::Ohms { value: Ohms::new(0.4), resolution: Ohms::new(0.1) });
        let mut belief = Belief::prior(&engine.model);
        belief.read(&engine.model, engine.meter, None, &[(shown, engine.row(&measurement).unwrap())]);
        let spent = [measurement];
        let circumstances = Circumstances {
            access: Access::MayOpen,
            stand: advisor::Stand::default(),
            spent: &spent,
            skipped: &[],
        };
        let next = || {
            let (model, candidates, groups, meter) =
                (&engine.model, &engine.candidates, &engine.groups, &engine.meter);
            advisor::propose(model, candidates, groups, black_box(&belief), meter, &circumstances)
        };
        assert!(!next().is_empty());
        group.bench_function(wiring.0, |bench| bench.iter(next));
    }
    group.finish();
}

/// One measurement under every state of the wiring by our solver, beside one under one state by ngspice.
fn solve(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("solve");
    group.sample_size(10);
    let engine = engine(&built_in()[built_in().len() - 1]);
    let measurement = at_the_jack(&engine);
    let (red, black) = engine.model.probes(&measurement).unwrap();
    group.bench_function("every state, ours", |bench| {
        bench.iter(|| engine.model.bench(&measurement.setting).unwrap().row(red, black));
    });
    let folder = tempfile::tempdir().unwrap();
    let (deck, raw) = (folder.path().join("deck.cir"), folder.path().join("deck.raw"));
    std::fs::write(&deck, engine.netlist(&measurement, None).unwrap().unwrap()).unwrap();
    let simulate = || {
        let status = Command::new("ngspice")
            .args(["-b", "-r"])
            .args([&raw, &deck])
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .unwrap_or_else(|e| panic!("running ngspice: {e}; install the package `ngspice`"));
        assert!(status.success() && raw.exists());
    };
    group.bench_function("one state, ngspice", |bench| bench.iter(simulate));
    group.finish();
}

criterion_group!(benches, ready, propose, solve);
criterion_main!(benches);
