//! Holds a grown tree against its own wiring and takes out what does not hold, until nothing is left to take out.
//!
//! A step that tells nothing gives way to where most of it leads, an outcome that nothing reads is left out, and an end
//! that the circuit contradicts is left to the advisor. Every round takes away a step, an outcome or an end.

use super::super::checked::check_on;
use super::super::{Checked, Finding, Flaw};
use super::cut::covers;
use super::merge::{self, Ends};
use super::words::{Grown, OTHER};
use super::{GrowError, place};
use crate::readings::Symptom;
use crate::trees::{Ask, Outcome, Step, Then, Tree, When};
use crate::workbench::Engine;

/// Returns the tree that is left of some steps, the first of which it begins with; `None` when nothing of it holds.
///
/// # Errors
///
/// When the steps are no tree.
pub(super) fn pruned(
    engine: &Engine,
    complaint: Symptom,
    grown: Vec<Grown>,
    ends: Ends,
) -> Result<Option<Tree>, GrowError> {
    let mut left = Some(grown);
    while let Some(grown) = left {
        let steps: Vec<Step> = grown.iter().map(Grown::worded).collect();
        let title = place::title(engine, complaint, &steps);
        let tree = Tree::made(title, steps).map_err(|located| GrowError::Tree(vec![located]))?;
        let mut shears = Shears::new(grown);
        if !shears.cut(&tree, &check_on(&tree, engine)) {
            return Ok(Some(tree));
        }
        left = shears.tidied(ends);
    }
    Ok(None)
}

/// The steps of a tree that is cut back.
struct Shears {
    steps: Vec<Grown>,
    /// Where the steps led that are taken out.
    gone: Vec<Option<Then>>,
}

impl Shears {
    fn new(steps: Vec<Grown>) -> Self {
        Self { gone: vec![None; steps.len()], steps }
    }

    /// Mends what was found; returns whether anything could be mended.
    fn cut(&mut self, tree: &Tree, checked: &Checked) -> bool {
        let mut mended = false;
        for finding in &checked.findings {
            mended |= self.mend(tree, checked, finding);
        }
        mended
    }

    fn mend(&mut self, tree: &Tree, checked: &Checked, finding: &Finding) -> bool {
        let Some(step) = tree.steps.iter().position(|step| step.name == finding.step) else { return false };
        let there = |way: &usize| tree.position(step, Some(*way)) == (finding.line, finding.column);
        let way = (0..tree.steps[step].cannot_way()).find(there);
        match (finding.flaw, way) {
            (Flaw::Irrelevant | Flaw::Redundant | Flaw::Premature, _) | (Flaw::Unreachable, None) => {
                self.gone[step] = Some(mostly(tree, checked, step));
                true
            }
            (Flaw::Unreachable, Some(way)) => self.leave_out(step, written(&tree.steps[step], way)),
            (Flaw::Contradicted | Flaw::WrongEnd, Some(way)) if finding.fails => {
                self.leave_to_the_advisor(step, way, written(&tree.steps[step], way))
            }
            _ => false,
        }
    }

    /// Leaves out an outcome; what no other takes is left to the advisor.
    fn leave_out(&mut self, step: usize, written: Option<String>) -> bool {
        let (Ask::Measure(probe), Some(written)) = (&mut self.steps[step].step.ask, written) else {
            return false;
        };
        let mut left = probe.outcomes.clone();
        left.retain(|outcome| outcome.written != written);
        let whens: Vec<When> = left.iter().map(|outcome| outcome.when).collect();
        let all_taken = covers(probe.mode, probe.flex.is_some(), &whens);
        let last = Outcome::new(When::AnythingElse, probe.mode, OTHER, Then::Advisor);
        if !whens.contains(&When::AnythingElse) && !all_taken {
            if written == last.written {
                return false;
            }
            left.push(last);
        }
        probe.outcomes = left;
        true
    }

    fn leave_to_the_advisor(&mut self, step: usize, way: usize, written: Option<String>) -> bool {
        let named = |outcome: &&mut Outcome| Some(&outcome.written) == written.as_ref();
        let then = match &mut self.steps[step].step.ask {
            Ask::Measure(probe) => probe.outcomes.iter_mut().find(named).map(|outcome| &mut outcome.then),
            Ask::Question { answers, .. } => answers.get_mut(way).map(|answer| &mut answer.then),
        };
        let Some(then) = then.filter(|then| **then != Then::Advisor) else { return false };
        *then = Then::Advisor;
        true
    }

    /// Returns the steps that are left, in order, without those that lead to one end and those that are there twice.
    fn tidied(mut self, ends: Ends) -> Option<Vec<Grown>> {
        loop {
            self.lead_past();
            let Some((step, led)) = self.one_end(ends).or_else(|| self.twice()) else { break };
            self.gone[step] = Some(led);
        }
        match self.past(Then::Step(0)) {
            Then::Step(start) => Some(merge::named(merge::ordered(start, &self.steps))),
            _ => None,
        }
    }

    /// Returns where a way leads past the steps that are taken out; ends because no tree leads back to a step.
    fn past(&self, then: Then) -> Then {
        let mut then = then;
        while let Then::Step(step) = then {
            let Some(led) = &self.gone[step] else { break };
            then = led.clone();
        }
        then
    }

    fn lead_past(&mut self) {
        let mut steps = std::mem::take(&mut self.steps);
        for Grown { step, .. } in &mut steps {
            match &mut step.ask {
                Ask::Measure(probe) => {
                    probe.outcomes.iter_mut().for_each(|way| way.then = self.past(way.then.clone()));
                }
                Ask::Question { answers, .. } => {
                    answers.iter_mut().for_each(|way| way.then = self.past(way.then.clone()));
                }
            }
            step.cannot = self.past(step.cannot.clone());
        }
        self.steps = steps;
    }

    fn left(&self) -> impl Iterator<Item = usize> {
        (0..self.steps.len()).filter(move |step| self.gone[*step].is_none())
    }

    /// Returns a step that leads to one end whatever it shows, and that end.
    fn one_end(&self, ends: Ends) -> Option<(usize, Then)> {
        let joined = |then: &Then| *then != Then::Advisor || ends == Ends::Joined;
        self.left().find_map(|step| Some((step, one_way(&self.steps[step].step).filter(joined)?)))
    }

    /// Returns a step that asks what one before it asks and leads to the same, and that one.
    fn twice(&self) -> Option<(usize, Then)> {
        let mut known: Vec<(String, usize)> = Vec::new();
        for step in self.left() {
            let shape = shape(&self.steps[step].step);
            if let Some((_, first)) = known.iter().find(|(of, _)| *of == shape) {
                return Some((step, Then::Step(*first)));
            }
            known.push((shape, step));
        }
        None
    }
}

/// Returns where most of what comes to a step goes; the advisor when nothing comes.
fn mostly(tree: &Tree, checked: &Checked, step: usize) -> Then {
    let named = &tree.steps[step];
    let shares = checked.shares.get(&named.name).map(Vec::as_slice).unwrap_or_default();
    let taken = shares.iter().enumerate().rev().filter(|(_, share)| **share > 0.0);
    let most = taken.max_by(|a, b| a.1.total_cmp(b.1));
    most.and_then(|(way, _)| named.way(way)).cloned().unwrap_or(Then::Advisor)
}

/// Returns how an outcome is written; `None` for the answer to a question.
fn written(step: &Step, way: usize) -> Option<String> {
    match &step.ask {
        Ask::Measure(probe) => probe.outcomes.get(way).map(|outcome| outcome.written.clone()),
        Ask::Question { .. } => None,
    }
}

/// Returns where a step leads whatever it shows, but for what nothing that is suspected reads.
fn one_way(step: &Step) -> Option<Then> {
    let ways: Vec<&Then> = match &step.ask {
        Ask::Measure(probe) => {
            let told = probe.outcomes.iter().filter(|outcome| outcome.when != When::AnythingElse);
            told.map(|outcome| &outcome.then).collect()
        }
        Ask::Question { answers, .. } => answers.iter().map(|answer| &answer.then).collect(),
    };
    let Some((first, others)) = ways.split_first() else { return Some(Then::Advisor) };
    others.iter().all(|way| way == first).then(|| (*first).clone())
}

/// Returns what a step asks and where it leads, without its words.
fn shape(step: &Step) -> String {
    let ways: Vec<&Then> = step.ways().collect();
    match &step.ask {
        Ask::Measure(probe) => {
            let stands: Vec<(&str, String)> = probe.stands().collect();
            let shows: Vec<&str> = probe.outcomes.iter().map(|outcome| outcome.written.as_str()).collect();
            let probes = (probe.mode, &probe.red, &probe.black, &probe.flex, &probe.about);
            format!("{probes:?} {stands:?} {shows:?} {ways:?}")
        }
        Ask::Question { .. } => format!("{} {ways:?}", step.say),
    }
}
