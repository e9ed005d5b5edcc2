//! Steps that tell nothing, nothing new or nothing yet, ways that nothing takes, and steps that others beat.

use super::flow::{QUIET, Visit};
use super::passed::Passed;
use super::turns::in_order;
use super::{Finding, Flaw};
use crate::advisor::Proposal;
use crate::trees::{Ask, Landing, Outcome, Then, Tree, When};
use crate::units::{Seconds, show_seconds};

/// A step that tells so many bits later on its path stands too early (this and the limits below: our choice, no source).
const LATER: f64 = 0.05;
/// A step that is reached by less is not judged.
const JUDGED: f64 = 1e-4;
/// Of fewer instruments it may be chance that none is heard to do otherwise.
const FEW: usize = 48;
/// A step is beaten by a reading that tells so many times as much for its time.
const BEATEN: f64 = 4.0;

/// The tree and what came of it on every wiring.
#[derive(Clone, Copy)]
pub(super) struct Ground<'a> {
    pub tree: &'a Tree,
    pub passed: &'a [Passed<'a>],
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
        let used = self.passed.iter().filter(move |passed| !passed.fitted.passes_over(step));
        used.map(move |passed| (passed, &passed.flowed.visits[step]))
    }
}

/// Returns what is found at all steps.
pub(super) fn at_steps(ground: &Ground<'_>) -> Vec<Finding> {
    let beyond = beyond(ground);
    let each = |step: usize| {
        let unreached = unreached(ground, step);
        match (unreached.is_empty(), beyond[step]) {
            (true, _) => judged(ground, step),
            (false, true) => Vec::new(),
            (false, false) => unreached,
        }
    };
    (0..ground.tree.steps.len()).flat_map(each).chain(unjudged(ground, &beyond)).collect()
}

/// Returns for each step whether instruments of some wiring would come to it if there were more of them.
fn beyond(ground: &Ground<'_>) -> Vec<bool> {
    let mut all = vec![false; ground.tree.steps.len()];
    for passed in ground.passed {
        all.iter_mut().zip(ran_out(passed)).for_each(|(all, here)| *all |= here);
    }
    all
}

/// Returns for each step whether nothing comes to it only because what is asked and heard before it has split the
/// instruments until none was left: there are a few of each thing that can be the matter.
fn ran_out(passed: &Passed<'_>) -> Vec<bool> {
    let (tree, visits) = (passed.fitted.tree(), &passed.flowed.visits);
    let mut out = vec![false; tree.steps.len()];
    for step in in_order(tree) {
        let few = (1..FEW).contains(&visits[step].count);
        let splits = match &tree.steps[step].ask {
            Ask::Question { .. } => visits[step].count > 0,
            Ask::Measure(probe) => probe.heard().is_some() && few,
        };
        let ways = if out[step] || splits { tree.steps[step].cannot_way() } else { 0 };
        for way in 0..ways {
            if let Landing::Step(next) = passed.fitted.landing(step, way) {
                out[next] |= visits[next].count == 0;
            }
        }
    }
    out
}

/// Returns what is said of the steps that were not judged because the instruments ran out, at the first of them.
fn unjudged(ground: &Ground<'_>, beyond: &[bool]) -> Option<Finding> {
    let nobody = |step: &usize| beyond[*step] && !unreached(ground, *step).is_empty();
    let steps: Vec<usize> = (0..beyond.len()).filter(nobody).collect();
    let first = *steps.first()?;
    let says = format!(
        "none of the instruments that are sent through comes as far as the step \"{}\": the questions before it have split \
         them too often; of {} in all it is not known what comes to them",
        ground.tree.steps[first].name,
        if steps.len() == 1 { "one step".to_owned() } else { format!("{} steps", steps.len()) }
    );
    let hint = "nothing need be changed for that; a step that reads or hears instead of asking splits them less blindly";
    let found = ground.finding(Flaw::Unreachable, first, None, says, hint);
    Some(Finding { fails: false, wirings: names(&ground.using(first).collect::<Vec<_>>()), ..found })
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
    match idle(&reached.iter().map(|(_, visit)| *visit).collect::<Vec<_>>()) {
        Some(flaw) => {
            found.push(Finding { wirings: names(&reached), ..idling(ground, step, flaw, &reached) });
        }
        None => found.extend(beaten(ground, step)),
    }
    found
}

/// Returns in which way a step is of no use on all wirings that reach it.
fn idle(visits: &[&Visit]) -> Option<Flaw> {
    if visits.iter().all(|visit| visit.redundant) {
        return Some(Flaw::Redundant);
    }
    if !visits.iter().all(|visit| visit.redundant || (visit.one_place && visit.bits < QUIET)) {
        return None;
    }
    if visits.iter().any(|visit| visit.later > LATER) {
        return Some(Flaw::Premature);
    }
    agree(visits).then_some(Flaw::Irrelevant)
}

/// Returns whether all wirings take the same way.
fn agree(visits: &[&Visit]) -> bool {
    let main = |visit: &Visit| {
        let most = visit.ways.iter().copied().fold(0.0, f64::max);
        visit.ways.iter().position(|mass| *mass >= most)
    };
    visits.windows(2).all(|two| main(two[0]) == main(two[1]))
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
    if probe.heard().is_some() {
        return Vec::new();
    }
    let reached: Vec<(&Passed<'_>, &Visit)> =
        ground.using(step).filter(|(_, visit)| visit.count > 0).collect();
    let taken = |way: usize| reached.iter().any(|(_, visit)| visit.counts.get(way).is_some_and(|n| *n > 0));
    let outcomes = probe.outcomes.iter().enumerate().filter(|(way, _)| !reached.is_empty() && !taken(*way));
    let finding = |(way, outcome): (usize, &Outcome)| {
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
    let asked = ground.passed.iter().filter(|passed| passed.proposals.iter().any(|(at, ..)| *at == step));
    let all = asked.count();
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

#[cfg(test)]
mod tests {
    use super::*;

    fn visit(bits: f64, later: f64, ways: &[f64]) -> Visit {
        Visit { bits, later, one_place: true, ways: ways.to_vec(), asked: Some(0), ..Visit::default() }
    }

    // IT0338: irrelevant is outside the brackets, redundant is repeated, premature lacks information.
    #[test]
    fn a_step_is_of_no_use_in_one_of_three_ways() {
        let (none, early) = (visit(0.0, 0.0, &[1.0, 0.0]), visit(0.001, 0.4, &[0.6, 0.4]));
        let again = Visit { redundant: true, ..visit(0.5, 0.0, &[0.5, 0.5]) };
        assert_eq!(idle(&[&none, &none]), Some(Flaw::Irrelevant));
        assert_eq!(idle(&[&early, &none]), Some(Flaw::Premature));
        assert_eq!(idle(&[&again]), Some(Flaw::Redundant));
        assert_eq!(idle(&[&again, &none]), Some(Flaw::Irrelevant));
    }

    #[test]
    fn a_step_that_tells_or_branches_by_wiring_is_of_use() {
        let (none, other) = (visit(0.0, 0.0, &[1.0, 0.0]), visit(0.0, 0.0, &[0.0, 1.0]));
        let tells = visit(0.2, 0.0, &[0.5, 0.5]);
        let branches = Visit { one_place: false, ..visit(0.0, 0.0, &[0.5, 0.5]) };
        for visits in [[&none, &other], [&none, &tells], [&none, &branches]] {
            assert_eq!(idle(&visits), None);
        }
    }
}
