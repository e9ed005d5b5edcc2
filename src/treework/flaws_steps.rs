//! Steps that tell nothing, nothing new or nothing yet, ways that nothing takes, and steps that others beat.

use super::flow::{QUIET, Visit};
use super::passed::Passed;
use super::{Finding, Flaw};
use crate::advisor::Proposal;
use crate::trees::{Ask, Then, Tree, When};
use crate::units::{Seconds, show_seconds};

/// A step that tells so many bits later on its path stands too early.
const LATER: f64 = 0.05;
/// A step that is reached by less is not judged.
const JUDGED: f64 = 1e-4;
/// A step is beaten by a reading that tells so many times as much for its time.
const BEATEN: f64 = 4.0;

/// The tree and what came of it on every wiring.
#[derive(Clone, Copy)]
pub(super) struct Ground<'a> {
    pub tree: &'a Tree,
    pub passed: &'a [Box<Passed<'a>>],
}

impl<'a> Ground<'a> {
    /// Returns a finding at a step, or at one of its ways.
    pub fn finding(&self, flaw: Flaw, step: usize, way: Option<usize>, says: String, hint: &str) -> Finding {
        let (line, column) = self.tree.position(step, way);
        let name = self.tree.steps[step].name.clone();
        let (wirings, hint) = (Vec::new(), hint.to_owned());
        Finding { flaw, fails: flaw.fails(), line, column, step: name, wirings, says, hint }
    }

    /// Returns the wirings that use a step, with what happened there.
    fn using(&self, step: usize) -> impl Iterator<Item = (&'a Passed<'a>, &'a Visit)> {
        let all = self.passed.iter().map(|passed| &**passed);
        let used = all.filter(move |passed| !passed.fitted.passes_over(step));
        used.map(move |passed| (passed, &passed.flowed.visits[step]))
    }
}

/// Returns what is found at all steps.
pub(super) fn at_steps(ground: &Ground<'_>) -> Vec<Finding> {
    let each = |step| {
        let unreached = unreached(ground, step);
        if unreached.is_empty() { judged(ground, step) } else { unreached }
    };
    (0..ground.tree.steps.len()).flat_map(each).collect()
}

fn names(wirings: &[(&Passed<'_>, &Visit)]) -> Vec<String> {
    wirings.iter().map(|(passed, _)| passed.wiring().to_owned()).collect()
}

/// Returns a step that nothing comes to on any wiring that uses it.
fn unreached(ground: &Ground<'_>, step: usize) -> Vec<Finding> {
    let using: Vec<(&Passed<'_>, &Visit)> = ground.using(step).collect();
    if using.is_empty() || using.iter().any(|(_, visit)| visit.count > 0) {
        return Vec::new();
    }
    let says =
        format!("nothing that can be the matter leads to the step \"{}\"", ground.tree.steps[step].name);
    let hint = "take it out, or change the outcomes that lead to it";
    let found = ground.finding(Flaw::Unreachable, step, None, says, hint);
    vec![Finding { wirings: names(&using), ..found }]
}

fn judged(ground: &Ground<'_>, step: usize) -> Vec<Finding> {
    let mut found = ways_not_taken(ground, step);
    let reached: Vec<(&Passed<'_>, &Visit)> =
        ground.using(step).filter(|(_, visit)| visit.mass >= JUDGED).collect();
    if reached.is_empty() || reached.iter().any(|(_, visit)| visit.asked.is_none()) {
        return found;
    }
    match idle(&reached) {
        Some(flaw) => {
            found.push(Finding { wirings: names(&reached), ..idling(ground, step, flaw, &reached) })
        }
        None => found.extend(beaten(ground, step)),
    }
    found
}

/// Returns in which way a step is of no use on all wirings that reach it.
fn idle(reached: &[(&Passed<'_>, &Visit)]) -> Option<Flaw> {
    let quiet = |visit: &Visit| visit.one_place && visit.bits < QUIET;
    if reached.iter().all(|(_, visit)| visit.redundant) {
        return Some(Flaw::Redundant);
    }
    if !reached.iter().all(|(_, visit)| quiet(visit) || visit.redundant) {
        return None;
    }
    if reached.iter().any(|(_, visit)| visit.later > LATER) {
        return Some(Flaw::Premature);
    }
    agree(reached).then_some(Flaw::Irrelevant)
}

/// Returns whether all wirings take the same way.
fn agree(reached: &[(&Passed<'_>, &Visit)]) -> bool {
    let main = |visit: &Visit| {
        let most = visit.ways.iter().copied().fold(0.0, f64::max);
        visit.ways.iter().position(|mass| *mass >= most)
    };
    reached.windows(2).all(|two| main(two[0].1) == main(two[1].1))
}

fn idling(ground: &Ground<'_>, step: usize, flaw: Flaw, reached: &[(&Passed<'_>, &Visit)]) -> Finding {
    let reading = reached.first().and_then(|(passed, _)| {
        let measurement = passed.fitted.measured(step)?;
        Some(measurement.sentence(passed.engine.harness()))
    });
    let reading = reading.unwrap_or_default();
    let later = reached.iter().map(|(_, visit)| visit.later).fold(0.0, f64::max);
    let (says, hint) = match flaw {
        Flaw::Redundant => (
            format!("{reading}: it was read already on every path that leads here"),
            "take the step out, and lead to where its outcome leads",
        ),
        Flaw::Premature => (
            format!("{reading}: it tells nothing here, and {later:.2} bits after a reading that comes later"),
            "move the step behind the readings that follow it",
        ),
        _ => (
            format!("{reading}: it reads the same whatever is left here, and tells nothing later either"),
            "take the step out, or ask it where something else can still be the matter",
        ),
    };
    ground.finding(flaw, step, None, says, hint)
}

/// Returns the outcomes of a step that nothing takes on any wiring.
fn ways_not_taken(ground: &Ground<'_>, step: usize) -> Vec<Finding> {
    let Ask::Measure(probe) = &ground.tree.steps[step].ask else { return Vec::new() };
    let reached: Vec<(&Passed<'_>, &Visit)> =
        ground.using(step).filter(|(_, visit)| visit.count > 0).collect();
    let taken = |way: usize| reached.iter().any(|(_, visit)| visit.counts.get(way).is_some_and(|n| *n > 0));
    let outcomes = probe.outcomes.iter().enumerate().filter(|(way, _)| !reached.is_empty() && !taken(*way));
    let finding = |(way, outcome): (usize, &crate::trees::Outcome)| {
        let says = format!("nothing that can be the matter reads {} here", outcome.written);
        let hint = "take the outcome out if `AnythingElse` can take it, or change its limits";
        let found = ground.finding(Flaw::Unreachable, step, Some(way), says, hint);
        let concludes = matches!(outcome.then, Then::Suspect(_)) && outcome.when != When::AnythingElse;
        Finding { fails: concludes, wirings: names(&reached), ..found }
    };
    outcomes.map(finding).collect()
}

/// Returns a step that another reading beats by far on most of the wirings where the advisor was asked.
fn beaten(ground: &Ground<'_>, step: usize) -> Option<Finding> {
    let asked = |passed: &&'_ Box<Passed<'_>>| passed.proposals.iter().any(|(at, ..)| *at == step);
    let all = ground.passed.iter().filter(asked).count();
    let by: Vec<(String, String)> = ground.passed.iter().filter_map(|passed| better(passed, step)).collect();
    let (_, first) = by.first().filter(|_| 2 * by.len() >= all)?;
    let found =
        ground.finding(Flaw::AgainstTheAdvisor, step, None, first.clone(), "put it first, or keep the order");
    Some(Finding { wirings: by.iter().map(|(wiring, _)| wiring.clone()).collect(), ..found })
}

/// Returns the wiring and what beats a step on it.
fn better(passed: &Passed<'_>, step: usize) -> Option<(String, String)> {
    let (_, seconds, proposals) = passed.proposals.iter().find(|(at, ..)| *at == step)?;
    let measurement = passed.fitted.measured(step)?;
    let same = proposals.iter().find(|proposal| proposal.measurement.reads_the_same(measurement));
    let bits = same.map_or(0.0, |same| same.bits).max(passed.flowed.visits[step].bits);
    let rate = |proposal: &Proposal| proposal.bits / proposal.seconds;
    let best = proposals.iter().max_by(|a, b| rate(a).total_cmp(&rate(b)))?;
    if rate(best) <= BEATEN * bits / seconds {
        return None;
    }
    let reading = best.measurement.sentence(passed.engine.harness());
    let time = |seconds: f64| show_seconds(Seconds::new(seconds.round()));
    let says = format!(
        "{reading}: it would tell {:.2} bits in {}, this step tells {bits:.2} in {}",
        best.bits,
        time(best.seconds),
        time(*seconds)
    );
    Some((passed.wiring().to_owned(), says))
}
