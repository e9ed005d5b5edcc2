//! Ways to pick the next test, and what following one costs.

use super::exact::exact_from;
use super::table::{Stage, Table};

/// A way to pick the next test at a stage; `None` when no test is worth taking.
pub type Policy<'p> = &'p dyn Fn(&Table, &Stage) -> Option<usize>;

/// Returns the test that is expected to tell most bits about the decision per second.
pub fn greedy(table: &Table, stage: &Stage) -> Option<usize> {
    by_rate(table, stage).first().copied()
}

/// Returns the test that cuts most edges between states of different decisions per second (EC², Golovin, Krause and
/// Ray 2010).
pub fn edge_cutting(table: &Table, stage: &Stage) -> Option<usize> {
    highest(table, stage, |test| table.edges_cut(stage, test) / table.seconds(stage, test))
}

/// Returns the test whose likeliest outcome is the least likely: the classic bracketing, blind to costs.
pub fn half_split(table: &Table, stage: &Stage) -> Option<usize> {
    let largest = |test| table.after(stage, test).iter().map(|(_, next)| next.mass()).fold(0.0, f64::max);
    highest(table, stage, |test| -largest(test) / stage.mass())
}

/// Returns up to `width` tests with the seconds from here to the end when each is taken first and the greedy policy
/// follows, least first. They are those that tell most bits per second.
pub fn look_ahead(table: &Table, stage: &Stage, width: usize) -> Vec<(usize, f64)> {
    let tests = by_rate(table, stage).into_iter().take(width);
    let mut scored: Vec<(usize, f64)> =
        tests.map(|test| (test, seconds_with(table, stage, test, &greedy))).collect();
    scored.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    scored
}

/// Returns the test with which the greedy policy comes to the end soonest (rollout, Tu and Pattipati 2003).
pub fn rollout(table: &Table, stage: &Stage) -> Option<usize> {
    look_ahead(table, stage, usize::MAX).first().map(|(test, _)| *test)
}

/// Returns the best first test by exact search where that is feasible, and by [`rollout`] otherwise.
pub fn recommended(table: &Table, stage: &Stage) -> Option<usize> {
    let exact = table.is_certain().then(|| exact_from(table, stage)).flatten();
    exact.map_or_else(|| rollout(table, stage), |found| found.plan.first())
}

/// Returns the seconds that a policy takes on average from a stage to the end, every outcome followed.
///
/// A branch in which no test tells anything more ends undecided.
pub fn expected_seconds(table: &Table, stage: &Stage, policy: Policy<'_>) -> f64 {
    if table.ended(stage) {
        return 0.0;
    }
    policy(table, stage).map_or(0.0, |test| seconds_with(table, stage, test, policy))
}

/// Returns the seconds to the end when a test is taken first and a policy follows.
fn seconds_with(table: &Table, stage: &Stage, test: usize, policy: Policy<'_>) -> f64 {
    let after = table.after(stage, test);
    let later: f64 = after.iter().map(|(_, next)| next.mass() * expected_seconds(table, next, policy)).sum();
    table.seconds(stage, test) + later / stage.mass()
}

/// Returns the tests that tell something, most bits per second first.
fn by_rate(table: &Table, stage: &Stage) -> Vec<usize> {
    let rate = |(test, bits)| (rounded(bits / table.seconds(stage, test)), test);
    let mut rated: Vec<(i64, usize)> = table.telling(stage).into_iter().map(rate).collect();
    rated.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    rated.into_iter().map(|(_, test)| test).collect()
}

/// Returns the test with the highest score, the first of equal ones.
fn highest(table: &Table, stage: &Stage, score: impl Fn(usize) -> f64) -> Option<usize> {
    let scored = table.telling(stage).into_iter().map(|(test, _)| (rounded(score(test)), test));
    scored.max_by(|a, b| a.0.cmp(&b.0).then(b.1.cmp(&a.1))).map(|(_, test)| test)
}

/// Returns a score as a whole number, so that rounding does not choose among equals.
fn rounded(score: f64) -> i64 {
    const STEPS: f64 = 1e12;
    (score * STEPS).round() as i64
}
