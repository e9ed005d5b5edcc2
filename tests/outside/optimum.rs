//! How near the advisor's way comes to the best there is, on the tables that it looks ahead on.
//!
//! The bound is exact dynamic programming on the same table (Pattipati and Alexandridis 1990, from memory). Readings
//! err, so it runs over the outcomes so far in place of sets of states, of which it goes through all; and what is met
//! less often than once in fifty times counts with its bound, in the optimum and in the advisor's way alike.

use std::sync::Arc;

use lugwise::advisor::planning::{
    Costs, Limits, Policy, Stage, Table, effort, exact, least, seconds_with_each,
};
use lugwise::advisor::{Ground, ordered, sketch, worth_taking};
use lugwise::circuit::built_in;
use lugwise::faults::NOT_IN_CATALOGUE;
use lugwise::readings::Symptom;
use lugwise::workbench::{Ask, Command, Engine, Situation, Workbench};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use crate::asked::{NOW, intake, typed};
use crate::sequences::six_states;

/// A state counts while so many decisions hold so much.
const FEW: usize = 5;
const NEARLY_ALL: f64 = 0.97;
const RAREST: f64 = 0.02;
const READINGS: usize = 6;
/// One instrument with a fault of the catalogue for each.
const COMPLAINTS: [Symptom; 3] = [Symptom::Weak, Symptom::Silent, Symptom::Intermittent];

fn limits(table: &Table) -> Limits {
    Limits { rarest: RAREST * table.start().mass(), stages: 50_000 }
}

/// The seconds of the best plan; `None` when it is too long to work out or nothing is worth taking.
fn optimum(table: &Table) -> Option<f64> {
    let start = table.start();
    let tests = worth_taking(table, &start);
    let seconds = seconds_with_each(table, &start, &tests, &worth_taking, limits(table))?;
    seconds.into_iter().min_by(f64::total_cmp)
}

fn seconds(table: &Table, policy: Policy<'_>) -> f64 {
    effort(table, &table.start(), policy, limits(table).rarest).seconds
}

fn entropy(stage: &Stage) -> f64 {
    let mass: f64 = stage.weights.iter().sum();
    stage.weights.iter().filter(|w| **w > 0.0).map(|w| -w / mass * (w / mass).log2()).sum()
}

/// The seconds of the best plan once more: nothing is remembered and nothing is left out.
fn tried(table: &Table, stage: &Stage, tests: usize, rarest: f64) -> f64 {
    const WORTHLESS: f64 = 0.004;
    if table.ended(stage) {
        return 0.0;
    }
    let mut best = f64::INFINITY;
    for test in (0..tests).filter(|test| stage.mass() >= rarest && !stage.taken.contains(test)) {
        let after = table.after(stage, test);
        let mean = |of: &dyn Fn(&Stage) -> f64| -> f64 {
            after.iter().map(|(_, next)| next.mass() * of(next)).sum::<f64>() / stage.mass()
        };
        if entropy(stage) - mean(&entropy) > WORTHLESS {
            let later = mean(&|next: &Stage| tried(table, next, tests, rarest));
            best = best.min(table.seconds(stage, test) + later);
        }
    }
    if best.is_finite() { best } else { least(table, stage).seconds }
}

/// What came of all states.
#[derive(Default)]
struct Ratios {
    advisor: Vec<f64>,
    greedy: Vec<f64>,
    tried: usize,
    too_long: usize,
}

impl Ratios {
    fn take(&mut self, engine: &Engine, situation: &Situation) {
        let ground = Ground {
            model: &engine.model,
            candidates: &engine.candidates,
            groups: &engine.groups,
            belief: &situation.belief,
            meter: engine.meter,
            stand: &situation.stand,
            proposals: &situation.proposals,
        };
        if !few(engine, situation) {
            return;
        }
        if let Some(small) = sketch(&Ground { proposals: first(&situation.proposals, 4), ..ground }) {
            self.try_all(&small.table, small.proposals.len());
        }
        if let Some(sketch) = sketch(&ground) {
            self.compare(&sketch.table);
        }
    }

    fn try_all(&mut self, table: &Table, tests: usize) {
        let start = table.start();
        if let Some(best) = optimum(table).filter(|_| !table.ended(&start)) {
            let again = tried(table, &start, tests, limits(table).rarest);
            assert!((again - best).abs() <= 1e-9 * best, "{again} s by trying all, {best} s by the search");
            self.tried += 1;
        }
    }

    fn compare(&mut self, table: &Table) {
        let start = table.start();
        if table.ended(&start) || worth_taking(table, &start).is_empty() {
            return;
        }
        let Some(best) = optimum(table) else {
            self.too_long += 1;
            return;
        };
        let own = |tests: Vec<usize>| tests.first().copied();
        let advisor = seconds(table, &|table: &Table, stage: &Stage| own(ordered(table, stage)));
        let greedy = seconds(table, &|table: &Table, stage: &Stage| own(worth_taking(table, stage)));
        for (ratios, seconds) in [(&mut self.advisor, advisor), (&mut self.greedy, greedy)] {
            assert!(seconds >= best * (1.0 - 1e-9), "{seconds} s undercut the optimum of {best} s");
            ratios.push(seconds / best);
        }
    }
}

fn first<T>(all: &[T], most: usize) -> &[T] {
    &all[..most.min(all.len())]
}

fn few(engine: &Engine, situation: &Situation) -> bool {
    let mut probabilities = engine.groups.probabilities(&situation.belief.weights());
    probabilities.sort_by(|a, b| b.total_cmp(a));
    first(&probabilities, FEW).iter().sum::<f64>() >= NEARLY_ALL
}

fn told(name: &str, ratios: &[f64]) -> f64 {
    let mean = ratios.iter().sum::<f64>() / ratios.len() as f64;
    let worst = ratios.iter().copied().fold(0.0, f64::max);
    println!("{name}: {mean:.4} times the optimum on average, {worst:.3} at worst, {} states", ratios.len());
    mean
}

/// Takes the readings that are asked for while the instrument has a fault.
fn play(engine: &Arc<Engine>, mut bench: Workbench, fault: &str, ratios: &mut Ratios) {
    for _ in 0..READINGS {
        let asked = bench.view().reading_asked().map(|step| step.ask.clone());
        let Some(Ask::Measure(measurement)) = asked else { return };
        let text = typed(engine, &measurement, fault);
        let command = Command::Record { text, measurement: Some(measurement) };
        let records = bench.decide(&command, NOW).unwrap();
        bench.absorb(records).unwrap();
        if bench.view().verdict.is_some() {
            return;
        }
        ratios.take(bench.engine(), bench.situation());
    }
}

// Five in a hundred above the optimum on average is what is asked for (no source).
#[test]
fn the_advisor_is_near_the_optimum_on_every_wiring() {
    let mut rng = StdRng::seed_from_u64(11);
    let mut ratios = Ratios::default();
    for (name, text) in built_in() {
        let engine = Workbench::engine_for(&intake(name, text), &[]).unwrap();
        let listed = engine.model.catalogue.faults.iter().map(|fault| fault.id.clone());
        let faults: Vec<String> = listed.filter(|id| id != NOT_IN_CATALOGUE).collect();
        for symptom in COMPLAINTS {
            let mut intake = intake(name, text);
            intake.symptoms = vec![symptom];
            let record = Workbench::first_record(&engine, intake, NOW).unwrap();
            let bench = Workbench::resume(Arc::clone(&engine), vec![record]).unwrap();
            ratios.take(bench.engine(), bench.situation());
            play(&engine, bench, &faults[rng.random_range(0..faults.len())], &mut ratios);
        }
    }
    let (advisor, greedy) = (told("the advisor", &ratios.advisor), told("bits per second", &ratios.greedy));
    println!("{} tried in full; {} too long for the optimum", ratios.tried, ratios.too_long);
    assert!(ratios.advisor.len() >= 50 && ratios.tried >= 20, "only {} states", ratios.advisor.len());
    assert!(ratios.too_long * 20 <= ratios.advisor.len(), "{} are too long", ratios.too_long);
    assert!(advisor <= 1.05, "{advisor} times the optimum");
    assert!(advisor <= greedy, "looking ahead gains nothing over bits per second, {greedy}");
}

/// The seconds of the best plan when nothing is left out.
fn in_full(table: &Table) -> f64 {
    let telling = |table: &Table, stage: &Stage| -> Vec<usize> {
        table.telling(stage).into_iter().map(|(test, _)| test).collect()
    };
    let (start, limits) = (table.start(), Limits { rarest: 0.0, stages: 1_000_000 });
    let tests = telling(table, &start);
    let all = seconds_with_each(table, &start, &tests, &telling, limits).unwrap();
    all.into_iter().fold(f64::INFINITY, f64::min)
}

// The optimum of 2.18 tests is published, the others are computed by independent programs.
#[test]
fn the_standard_example_has_its_published_optimum() {
    for (costs, expected) in
        [([1.0; 5], 2.18), ([1.0, 2.0, 3.0, 1.0, 4.0], 3.18), ([3.0, 1.0, 1.0, 2.0, 1.0], 2.78)]
    {
        let found = in_full(&six_states(costs));
        assert!((found - expected).abs() < 1e-9, "{found} is not {expected}");
    }
}

// Two searches of different kinds: over outcomes, and over sets of states.
#[test]
fn both_searches_agree_where_no_test_errs() {
    let mut rng = StdRng::seed_from_u64(5);
    for _ in 0..40 {
        let mut rows: Vec<Vec<usize>> =
            (0..7).map(|_| (0..6).map(|_| rng.random_range(0..3)).collect()).collect();
        rows.sort();
        rows.dedup();
        let priors = rows.iter().map(|_| rng.random_range(0.01..1.0)).collect();
        let costs = Costs::constant((0..6).map(|_| rng.random_range(1.0..5.0)).collect());
        let table = Table::certain(priors, &rows, costs);
        let (found, best) = (in_full(&table), exact(&table).unwrap().seconds);
        assert!((found - best).abs() <= 1e-9 * best, "{found} s by outcomes, {best} s by sets");
    }
}
