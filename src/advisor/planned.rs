//! Looking ahead: which of the best measurements brings the end soonest, and which can change nothing.

use super::outlook::{Ground, Size, Sketch};
use super::planning::{Limits, Stage, Table, seconds_with_each};
use super::{Proposal, SMALL_SHARE, WORTHLESS};

/// What is looked at: a plan is worked out anew after every reading, in a few milliseconds.
const SIZE: Size = Size { decisions: 12, tests: 10, by_time: 6, by_bits: 3 };
/// The best plan is looked for while so many decisions hold this share of what is left.
const MOST_FEW: usize = 5;
const NEARLY_ALL: f64 = 0.97;
/// How far the best plan and a rollout are followed; what is rare is a share of the stage that they start from.
const EXACT: Limits = Limits { rarest: 0.02, stages: 300 };
const ROLLOUT: Limits = Limits { rarest: 0.05, stages: 150 };
/// With more decisions so many measurements are tried as the first: those that tell most for their time, and those
/// that tell most.
const FIRST_BY_TIME: usize = 4;
const FIRST_BY_BITS: usize = 2;
/// An outcome that is met less often than this changes nothing.
const NOTICEABLE: f64 = 1e-3;
/// A reading may need so many others after it before something changes.
const FURTHER: usize = 2;

/// Returns the table that [`planned`] looks ahead on; `None` without a proposal.
pub fn sketch<'a>(ground: &Ground<'a>) -> Option<Sketch<'a>> {
    Sketch::new(ground, SIZE)
}

/// Returns the proposals with those first that bring the end soonest, and without those that can change nothing.
///
/// What can change something is judged where nearly all that is believed is on the table. Nothing is left when none of
/// the best can.
pub fn planned(ground: &Ground<'_>) -> Vec<Proposal> {
    let sketch = sketch(ground).filter(|sketch| !sketch.table.ended(&sketch.table.start()));
    let Some(Sketch { proposals, table, covered }) = sketch else { return ground.proposals.to_vec() };
    let start = table.start();
    let idle: Vec<bool> = (0..proposals.len())
        .map(|test| covered >= NEARLY_ALL && !can_change(&table, &start, &start, test, FURTHER))
        .collect();
    if idle.iter().all(|idle| *idle) {
        return Vec::new();
    }
    let first: Vec<&Proposal> = ordered(&table, &start).into_iter().map(|test| proposals[test]).collect();
    let useless = |proposal: &&Proposal| proposals.iter().zip(&idle).any(|(p, idle)| *idle && p == proposal);
    let rest = ground.proposals.iter().filter(|proposal| !first.contains(proposal));
    first.iter().copied().chain(rest).filter(|proposal| !useless(proposal)).cloned().collect()
}

/// Returns the tests that are worth taking at a stage, the advisor's own choice first: those that it looks ahead from
/// by the whole seconds to the end, the others as they are ranked.
pub fn ordered(table: &Table, stage: &Stage) -> Vec<usize> {
    let mut planned = foretold(table, stage).unwrap_or_default();
    planned.sort_by_key(|(_, seconds)| seconds.round() as i64);
    let first: Vec<usize> = planned.into_iter().map(|(test, _)| test).collect();
    let rest = worth_taking(table, stage).into_iter().filter(|test| !first.contains(test));
    first.iter().copied().chain(rest).collect()
}

/// Returns the seconds to the end with each of the tests that are looked ahead from: by the best plan with few
/// decisions left, by one-step rollout otherwise (Tu and Pattipati 2003); `None` when that would take too long.
fn foretold(table: &Table, stage: &Stage) -> Option<Vec<(usize, f64)>> {
    let exact = || followed(table, stage, worth_taking(table, stage), EXACT, usize::MAX);
    let rollout = || followed(table, stage, hopeful(table, stage), ROLLOUT, 1);
    few(table, stage).then(exact).flatten().or_else(rollout)
}

/// Returns the seconds to the end with each of some tests first and the best of the `width` that rank first at every
/// later stage.
fn followed(
    table: &Table,
    stage: &Stage,
    tests: Vec<usize>,
    limits: Limits,
    width: usize,
) -> Option<Vec<(usize, f64)>> {
    let choice = |table: &Table, stage: &Stage| {
        let mut tests = worth_taking(table, stage);
        tests.truncate(width);
        tests
    };
    let limits = Limits { rarest: limits.rarest * stage.mass(), ..limits };
    let seconds = seconds_with_each(table, stage, &tests, &choice, limits)?;
    Some(tests.into_iter().zip(seconds).collect())
}

/// Returns whether few decisions hold nearly all that is left.
fn few(table: &Table, stage: &Stage) -> bool {
    let mut shares = table.shares(stage);
    shares.sort_by(|a, b| b.total_cmp(a));
    shares.iter().take(MOST_FEW).sum::<f64>() >= NEARLY_ALL * stage.mass()
}

/// Returns the tests that a plan may best begin with.
fn hopeful(table: &Table, stage: &Stage) -> Vec<usize> {
    let mut tests = worth_taking(table, stage);
    let mut by_bits: Vec<(usize, f64)> = tests.iter().map(|&test| (test, table.bits(stage, test))).collect();
    by_bits.sort_by(|a, b| b.1.total_cmp(&a.1));
    by_bits.truncate(FIRST_BY_BITS);
    tests.truncate(FIRST_BY_TIME);
    let others: Vec<usize> =
        by_bits.into_iter().map(|(test, _)| test).filter(|test| !tests.contains(test)).collect();
    tests.extend(others);
    tests
}

/// Returns the tests that are worth taking at a stage, ranked as [`propose`](super::propose) ranks measurements.
pub fn worth_taking(table: &Table, stage: &Stage) -> Vec<usize> {
    let small = SMALL_SHARE * table.unknown(stage);
    let rank = |(test, bits): (usize, f64)| (bits >= small, bits / table.seconds(stage, test));
    let mut worth = table.telling(stage);
    worth.retain(|(_, bits)| *bits > WORTHLESS);
    worth.sort_by(|a, b| {
        let (one, other) = (rank(*a), rank(*b));
        other.0.cmp(&one.0).then(other.1.total_cmp(&one.1)).then(a.0.cmp(&b.0))
    });
    worth.into_iter().map(|(test, _)| test).collect()
}

/// Returns the test that tells most for its time.
pub(super) fn advised(table: &Table, stage: &Stage) -> Option<usize> {
    worth_taking(table, stage).first().copied()
}

/// Returns whether some outcome of a test, or of `further` more after it, makes a decision sure or lets another lead
/// than at the start.
fn can_change(table: &Table, start: &Stage, stage: &Stage, test: usize, further: usize) -> bool {
    let after = table.after(stage, test);
    let mut noticeable =
        after.iter().map(|(_, next)| next).filter(|next| next.mass() >= NOTICEABLE * start.mass());
    noticeable.any(|next| {
        let changed = table.ended(next) || leading(table, next) != leading(table, start);
        let goes_on = || advised(table, next).filter(|_| further > 0);
        changed || goes_on().is_some_and(|test| can_change(table, start, next, test, further - 1))
    })
}

/// Returns the decision that leads, the first of equal ones.
fn leading(table: &Table, stage: &Stage) -> usize {
    let shares = table.shares(stage);
    let best = (0..shares.len()).max_by(|&a, &b| shares[a].total_cmp(&shares[b]).then(b.cmp(&a)));
    best.unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advisor::planning::Costs;

    /// Two decisions, and tests that are right so often.
    fn erring(right: &[f64]) -> Table {
        let deal = |right: f64, state: usize| vec![(state, right), (1 - state, 1.0 - right)];
        let tests = right.iter().map(|&right| vec![deal(right, 0), deal(right, 1)]).collect();
        let costs = Costs::constant(vec![60.0; right.len()]);
        Table::new(vec![0.9, 0.1], vec![0, 1], tests, costs, 0.985)
    }

    fn changes(table: &Table, further: usize) -> bool {
        let start = table.start();
        can_change(table, &start, &start, 0, further)
    }

    // By hand: 0.9 grows to 0.81 of 0.82, which is 0.988; the leader stays the leader whatever is read.
    #[test]
    fn a_reading_that_only_makes_the_leader_sure_changes_something() {
        assert!(changes(&erring(&[0.9]), 0));
    }

    // By hand: odds of 9 to 1 grow to 30.4 or fall to 2.7 in three readings; 0.985 is 65.7 to 1.
    #[test]
    fn a_reading_that_leaves_everything_as_it_is_changes_nothing() {
        assert!(!changes(&erring(&[0.6]), FURTHER) && !changes(&erring(&[0.6; 3]), FURTHER));
    }

    // By hand: odds of 9 to 1 grow three times, to 27, and then to 81; 0.985 is 65.7 to 1.
    #[test]
    fn two_readings_may_change_together_what_one_does_not() {
        let table = erring(&[0.75; 2]);
        assert!(!changes(&table, 0) && changes(&table, 1));
    }

    // The figures of an independent program: 1.55, and 2.00 with the greedy choice first; 1.80 and 3.90 for the other two
    // by a second one. Times of a minute.
    #[test]
    fn the_test_that_brings_the_end_soonest_comes_first() {
        let outcomes = [
            [1, 2, 0, 2, 1],
            [1, 2, 2, 1, 0],
            [2, 2, 1, 0, 2],
            [2, 1, 0, 0, 0],
            [0, 2, 0, 0, 1],
            [2, 0, 1, 1, 2],
        ];
        let priors = [4.0, 1.0, 1.0, 6.0, 2.0, 6.0].map(|n| n / 20.0).to_vec();
        let costs = Costs::constant([3.0, 1.0, 3.0, 1.0, 1.0].map(|minutes| 60.0 * minutes).to_vec());
        let table = Table::certain(priors, &outcomes.map(|state| state.to_vec()), costs);
        assert_eq!(worth_taking(&table, &table.start()), [4, 1, 3, 0, 2]);
        assert_eq!(ordered(&table, &table.start()), [1, 3, 4, 0, 2]);
    }
}
