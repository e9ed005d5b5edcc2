//! scratch
use lugwise::audit::Audit;
use lugwise::circuit::{self, built_in};
use lugwise::prediction::Model;
use lugwise::readings::{Access, Meter};
use lugwise::source::Source;

#[test]
fn figures() {
    for (name, text) in built_in() {
        let t = std::time::Instant::now();
        let model = Model::new(circuit::load(&Source::new(*name, *text)).unwrap());
        let audit = Audit::new(&model, Meter::ordinary(), Access::MayOpen).unwrap();
        println!(
            "{name}: {} states, {} terminals {} checks at least {}, of {}, covered {} missed {} flexed {} unflexed {}, {:.0} s; {:?}",
            model.hypotheses.states.len(),
            model.harness.terminals.len(),
            audit.checks.len(),
            audit.at_least,
            audit.considered,
            audit.covered.len(),
            audit.missed.len(),
            audit.flexed.len(),
            audit.unflexed.len(),
            audit.seconds,
            t.elapsed()
        );
        for c in &audit.checks {
            println!(
                "  {:?} {} {:?} {}",
                c.measurement.mode,
                c.measurement.sentence(&model.harness),
                c.sound,
                c.faults.len()
            );
        }
        for (f, w) in &audit.missed {
            println!("  missed {} {w:?}", model.catalogue[*f].id);
        }
        for f in &audit.unflexed {
            println!("  unflexed {}", model.catalogue[*f].id);
        }
    }
}
