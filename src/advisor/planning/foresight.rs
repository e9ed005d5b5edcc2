//! The best plan where tests may err: every outcome of every test that may be taken is followed.

use std::collections::BTreeMap;

use super::bounds::least;
use super::costs::Spot;
use super::table::{Stage, Table};

/// The tests that a plan may take at a stage; with one at most the plan is a policy.
pub type Choice<'p> = &'p dyn Fn(&Table, &Stage) -> Vec<usize>;

/// How far a plan is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// A stage of less than this probability is not followed.
    pub rarest: f64,
    /// So many stages are followed at most.
    pub stages: usize,
}

/// Returns the seconds to the end on average when each of these tests is taken first and the best of the choices
/// follow; `None` when more stages would have to be followed than the limit.
///
/// It is the recursion of exact dynamic programming (Pattipati and Alexandridis 1990, from memory) over stages in place
/// of sets of states. As in [`effort`](super::effort()), what is too rare and what no choice settles counts with what
/// it takes at least.
pub fn seconds_with_each(
    table: &Table,
    stage: &Stage,
    tests: &[usize],
    choice: Choice<'_>,
    limits: Limits,
) -> Option<Vec<f64>> {
    let left = limits.stages;
    let mut search = Search { table, choice, rarest: limits.rarest, left, known: BTreeMap::new() };
    tests.iter().map(|&test| search.seconds_with(stage, &[], test)).collect()
}

/// The outcomes so far with their tests, in the order of the tests.
type Seen = Vec<(usize, usize)>;

struct Search<'t> {
    table: &'t Table,
    choice: Choice<'t>,
    rarest: f64,
    /// How many stages may still be followed.
    left: usize,
    /// The seconds from each stage on: it does not matter in which order its outcomes came.
    known: BTreeMap<(Seen, Spot), f64>,
}

impl Search<'_> {
    fn seconds(&mut self, stage: &Stage, seen: Seen) -> Option<f64> {
        if self.table.ended(stage) {
            return Some(0.0);
        }
        if stage.mass() < self.rarest {
            return Some(least(self.table, stage).seconds);
        }
        let key = (seen, stage.spot);
        if let Some(seconds) = self.known.get(&key) {
            return Some(*seconds);
        }
        self.left = self.left.checked_sub(1)?;
        let seconds = self.best(stage, &key.0)?;
        self.known.insert(key, seconds);
        Some(seconds)
    }

    /// Returns the seconds with the best choice; one that cannot be better is not followed.
    fn best(&mut self, stage: &Stage, seen: &[(usize, usize)]) -> Option<f64> {
        let mut best = f64::INFINITY;
        for test in (self.choice)(self.table, stage) {
            if self.least_with(stage, test) < best {
                best = best.min(self.seconds_with(stage, seen, test)?);
            }
        }
        Some(if best.is_finite() { best } else { least(self.table, stage).seconds })
    }

    fn seconds_with(&mut self, stage: &Stage, seen: &[(usize, usize)], test: usize) -> Option<f64> {
        let mut later = 0.0;
        for (outcome, next) in self.table.after(stage, test) {
            let mut seen: Seen = seen.iter().copied().chain([(test, outcome)]).collect();
            seen.sort_unstable();
            later += next.mass() * self.seconds(&next, seen)?;
        }
        Some(self.table.seconds(stage, test) + later / stage.mass())
    }

    /// Returns the seconds that no plan with this test first can be below.
    fn least_with(&self, stage: &Stage, test: usize) -> f64 {
        let after = self.table.after(stage, test);
        let later: f64 = after.iter().map(|(_, next)| next.mass() * least(self.table, next).seconds).sum();
        self.table.seconds(stage, test) + later / stage.mass()
    }
}
