//! What following a policy takes on average, in tests and in seconds.

use super::bounds::{least, missing};
use super::policy::Policy;
use super::table::{Stage, Table};

/// What it takes on average.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Effort {
    /// The tests.
    pub tests: f64,
    /// The seconds.
    pub seconds: f64,
}

/// Returns what following a policy takes on average from a stage until a decision is sure.
///
/// A branch of less than the probability `rarest`, and one in which no test is worth taking, counts with what it takes
/// at least. So the whole is never below [`least`] of the stage.
pub fn effort(table: &Table, stage: &Stage, policy: Policy<'_>, rarest: f64) -> Effort {
    if table.ended(stage) {
        return Effort::default();
    }
    let next = if stage.mass() < rarest { None } else { policy(table, stage) };
    next.map_or_else(|| least(table, stage), |test| effort_with(table, stage, test, policy, rarest))
}

/// Returns what it takes when a test is taken first.
fn effort_with(table: &Table, stage: &Stage, test: usize, policy: Policy<'_>, rarest: f64) -> Effort {
    let mut all = Effort { tests: 1.0, seconds: table.seconds(stage, test) };
    for (_, next) in table.after(stage, test) {
        let (share, later) = (next.mass() / stage.mass(), effort(table, &next, policy, rarest));
        all.tests += share * later.tests;
        all.seconds += share * later.seconds;
    }
    all
}

/// What is not followed counts with at most so many times what is followed: where hardly anything is told, most of what
/// is missing cannot be told at all.
const MOST_MORE: f64 = 2.0;

/// Returns what following a policy takes on average from a stage until a decision is sure, as [`effort`] does, but that
/// what is not followed counts with as much for each bit as what is followed. It is never below [`least`] of the stage.
pub fn whole_effort(table: &Table, stage: &Stage, policy: Policy<'_>, rarest: f64) -> Effort {
    let least = least(table, stage);
    let (followed, left) = followed(table, stage, policy, rarest);
    let told = missing(table, stage) - left;
    let more = if told > 0.0 { 1.0 + (left / told).min(MOST_MORE) } else { 1.0 };
    Effort {
        tests: (more * followed.tests).max(least.tests),
        seconds: (more * followed.seconds).max(least.seconds),
    }
}

/// Returns what following a policy takes where it is followed, and the bits that are missing on average where it ends.
fn followed(table: &Table, stage: &Stage, policy: Policy<'_>, rarest: f64) -> (Effort, f64) {
    if table.ended(stage) {
        return (Effort::default(), 0.0);
    }
    let next = if stage.mass() < rarest { None } else { policy(table, stage) };
    let Some(test) = next else { return (Effort::default(), missing(table, stage)) };
    let mut all = Effort { tests: 1.0, seconds: table.seconds(stage, test) };
    let mut left = 0.0;
    for (_, next) in table.after(stage, test) {
        let (share, (later, missing)) = (next.mass() / stage.mass(), followed(table, &next, policy, rarest));
        all.tests += share * later.tests;
        all.seconds += share * later.seconds;
        left += share * missing;
    }
    (all, left)
}
