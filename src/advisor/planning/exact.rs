//! The best plan there is, by dynamic programming over the states that are left.

use std::collections::BTreeMap;

use super::costs::Spot;
use super::table::{Stage, Table};

/// With more states left than this the search would take too long.
const MOST_STATES: usize = 20;

/// What to do from some stage on.
#[derive(Clone, Debug, PartialEq)]
pub enum Plan {
    /// No further test: these states are left.
    Stop(Vec<usize>),
    /// A test, and what to do after each outcome.
    Test(usize, Vec<(usize, Self)>),
}

impl Plan {
    /// Returns the first test; `None` when there is nothing left to do.
    pub fn first(&self) -> Option<usize> {
        match self {
            Self::Stop(_) => None,
            Self::Test(test, _) => Some(*test),
        }
    }
}

/// The best plan with the seconds that it takes on average.
#[derive(Clone, Debug)]
pub struct Exact {
    /// The expected seconds.
    pub seconds: f64,
    /// The plan.
    pub plan: Plan,
}

/// Returns the best plan before any test; `None` with more than twenty states.
///
/// Each state counts as giving each test its likeliest outcome; the plan ends when one decision is left or no test
/// splits what is left.
pub fn exact(table: &Table) -> Option<Exact> {
    exact_from(table, &table.start())
}

/// Returns the best plan from a stage on; `None` with more than twenty states left.
pub(super) fn exact_from(table: &Table, stage: &Stage) -> Option<Exact> {
    let live: Vec<usize> = (0..stage.weights.len()).filter(|&state| stage.weights[state] > 0.0).collect();
    let all = (1_u32 << live.len().min(MOST_STATES)) - 1;
    (live.len() <= MOST_STATES).then(|| {
        let mut search = Search { table, stage, live, known: BTreeMap::new() };
        let seconds = search.solve(all, stage.spot) / stage.mass();
        Exact { seconds, plan: search.plan(all, stage.spot) }
    })
}

/// Sets of states are bits over `live`.
struct Search<'t> {
    table: &'t Table,
    stage: &'t Stage,
    live: Vec<usize>,
    /// The seconds from each set and spot, weighed with the set's probability, and the best test.
    known: BTreeMap<(u32, Spot), (f64, Option<usize>)>,
}

impl Search<'_> {
    fn solve(&mut self, set: u32, spot: Spot) -> f64 {
        if let Some((seconds, _)) = self.known.get(&(set, spot)) {
            return *seconds;
        }
        let best = if self.decided(set) { (0.0, None) } else { self.best(set, spot) };
        self.known.insert((set, spot), best);
        best.0
    }

    fn best(&mut self, set: u32, spot: Spot) -> (f64, Option<usize>) {
        let mut best = (0.0, None);
        for test in 0..self.table.costs.reading.len() {
            let parts = self.split(set, test);
            if parts.len() > 1 {
                let seconds = self.seconds(set, spot, test, &parts);
                if best.1.is_none() || seconds < best.0 - 1e-12 * best.0 {
                    best = (seconds, Some(test));
                }
            }
        }
        best
    }

    fn seconds(&mut self, set: u32, spot: Spot, test: usize, parts: &[(usize, u32)]) -> f64 {
        let next = self.table.costs.after(spot, test);
        let now = self.mass(set) * self.table.costs.seconds(spot, test);
        now + parts.iter().map(|(_, part)| self.solve(*part, next)).sum::<f64>()
    }

    fn plan(&mut self, set: u32, spot: Spot) -> Plan {
        match self.known.get(&(set, spot)) {
            Some((_, Some(test))) => {
                let (test, next) = (*test, self.table.costs.after(spot, *test));
                let parts = self.split(set, test).into_iter();
                Plan::Test(test, parts.map(|(outcome, part)| (outcome, self.plan(part, next))).collect())
            }
            _ => Plan::Stop(self.members(set).collect()),
        }
    }

    fn members(&self, set: u32) -> impl Iterator<Item = usize> {
        self.live.iter().enumerate().filter(move |(bit, _)| set >> bit & 1 == 1).map(|(_, &state)| state)
    }

    fn mass(&self, set: u32) -> f64 {
        self.members(set).map(|state| self.stage.weights[state]).sum()
    }

    fn decided(&self, set: u32) -> bool {
        let mut weights = vec![0.0; self.stage.weights.len()];
        self.members(set).for_each(|state| weights[state] = self.stage.weights[state]);
        self.table.ended(&Stage { weights, taken: Vec::new(), spot: Spot::default() })
    }

    /// Returns the outcomes of a test with the states that give them, in the order of the outcomes.
    fn split(&self, set: u32, test: usize) -> Vec<(usize, u32)> {
        let mut parts = BTreeMap::new();
        for (bit, &state) in self.live.iter().enumerate().filter(|(bit, _)| set >> bit & 1 == 1) {
            *parts.entry(self.table.likeliest(test, state)).or_insert(0) |= 1 << bit;
        }
        parts.into_iter().collect()
    }
}
