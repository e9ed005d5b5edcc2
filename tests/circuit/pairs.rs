//! Two faults at once: both come to be among the likeliest suspects, together or one after the other's repair.

use std::sync::Arc;

use lugwise::circuit::built_in;
use lugwise::readings::Meter;
use lugwise::source::Source;
use lugwise::trial::{Kind, PairFound, Setup, run};
use lugwise::workbench::Engine;

const PAIRS: usize = 40;

// Ninety in a hundred are what was asked for beforehand. A pair of which one is repaired, and the instrument passes every
// proof reading with nothing left to complain of, cannot be found by anyone and counts neither way.
#[test]
fn both_of_two_faults_are_among_the_three_likeliest() {
    let (name, text) = built_in().iter().find(|(name, _)| *name == "one-pickup.ron").unwrap();
    let engine = Arc::new(Engine::new(&Source::new(*name, *text), Meter::ordinary(), &[]).unwrap());
    let setup = Setup { singles: Some(0), pairs: PAIRS, threads: 2, ..Setup::default() };
    let outcomes = run(&engine, &setup, &|_, _| ()).unwrap();
    assert!(outcomes.len() == PAIRS && outcomes.iter().all(|outcome| outcome.kind == Kind::Pair));
    let count = |found| outcomes.iter().filter(|outcome| outcome.pair == Some(found)).count();
    let (both, cured) = (count(PairFound::Both), count(PairFound::OneAndCured));
    println!("{both} of {PAIRS} pairs, {cured} cured by one repair");
    assert!(both * 10 >= (PAIRS - cured) * 9, "{both} of {}", PAIRS - cured);
    assert!(cured * 2 < PAIRS, "{cured} of {PAIRS} are cured by one repair");
}
