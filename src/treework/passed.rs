//! A tree that was held against one wiring: what came to its steps and ends, and what the advisor says there.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use super::cells::Cells;
use super::counsel::{Counsel, Occasion};
use super::flow::{End, Flowed, Point, flow};
use super::grow::grow;
use super::sample::{Sample, Subject};
use crate::advisor::{Proposal, Stand};
use crate::faults::{FaultId, Kind};
use crate::readings::{Measurement, Setting, Symptom};
use crate::trees::{Ask, Expected, Fitted, Step, Then, Tree, TreeError};
use crate::workbench::{Engine, EngineError};

/// At so many ends, the heaviest, the advisor is asked.
const ENDS: usize = 12;
/// So many steps of the advisor's own way are gone through.
const PLANNED: usize = 12;
/// An end with less is not worth asking at.
const END_SHARE: f64 = 0.002;

/// What came of holding a tree against one wiring.
pub(super) enum Held<'e> {
    /// It went through.
    Passed(Box<Passed<'e>>),
    /// It does not fit.
    Misfit(Vec<TreeError>),
}

/// What finding takes on average.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Effort {
    /// Readings and questions.
    pub steps: f64,
    /// Hands-on minutes.
    pub minutes: f64,
}

/// A tree that went through on one wiring.
pub(super) struct Passed<'e> {
    pub engine: &'e Engine,
    pub fitted: Fitted,
    pub subjects: Vec<Subject>,
    pub flowed: Flowed,
    /// What the advisor says at some of the ends, by their index.
    pub counsels: BTreeMap<usize, Counsel>,
    /// What the tree and the advisor after it take, and the advisor by itself.
    pub effort: Effort,
    pub alone: Effort,
    /// The readings that no way of working can be below.
    pub least_steps: f64,
    /// What the advisor proposes at some of the steps, and the seconds of the step's own reading there.
    pub proposals: Vec<(usize, f64, Vec<Proposal>)>,
}

impl Passed<'_> {
    /// Returns the name of the wiring.
    pub fn wiring(&self) -> &str {
        &self.engine.harness().name
    }

    /// Returns the probability of what is at a point.
    pub fn mass(&self, point: &Point) -> f64 {
        point.shares.iter().map(|(subject, share)| self.subjects[*subject].weight * share).sum()
    }

    /// Returns the probability of each fault at a point, that nothing is wrong among them.
    pub fn faults(&self, point: &Point) -> BTreeMap<FaultId, f64> {
        let mut faults = BTreeMap::new();
        for (subject, share) in &point.shares {
            let subject = &self.subjects[*subject];
            for &(fault, of) in self.members(subject) {
                *faults.entry(fault).or_insert(0.0) += subject.weight * share * of;
            }
        }
        faults
    }

    /// Returns the faults of a subject with their shares.
    pub fn members(&self, subject: &Subject) -> &[(FaultId, f64)] {
        let list = &self.engine.model.hypotheses.list;
        match subject.hypothesis {
            Some(hypothesis) => &list[hypothesis].faults,
            None => &[],
        }
    }

    /// Returns whether a fault is one of the instrument.
    pub fn is_real(&self, fault: FaultId) -> bool {
        self.engine.model.catalogue[fault].kind != Kind::NothingWrong
    }
}

/// Holds a tree against one wiring; `others` are the trees that it may lead to.
///
/// # Errors
///
/// Returns [`EngineError`] when a measurement cannot be predicted.
pub(super) fn hold<'e>(tree: &Tree, others: &[Tree], engine: &'e Engine) -> Result<Held<'e>, EngineError> {
    let cells = RefCell::new(Cells::new(engine));
    let expected = |measurement: &Measurement| cells.borrow_mut().expected(measurement);
    let fitted = match tree.fitted(engine.harness(), &expected) {
        Ok(fitted) => fitted,
        Err(errors) => return Ok(Held::Misfit(errors)),
    };
    let mut trees = vec![fitted];
    for other in linked(tree, others).into_iter().filter(|other| other.applies(engine.harness())) {
        trees.extend(other.fitted(engine.harness(), &expected));
    }
    let steps = trees.iter().map(|tree| tree.tree().steps.len()).max().unwrap_or(0);
    let plan = plan(tree.complaint, engine, &expected);
    let mut sample = Sample::new(engine, tree.complaint, steps, cells.into_inner());
    let flowed = flow(&mut sample, &trees)?;
    let planned = plan.map(|plan| flow(&mut sample, &[plan])).transpose()?;
    let cable_known = tree.steps.iter().any(|step| asks_after_the_cable(&step.ask));
    Ok(Held::Passed(Box::new(passed(sample, trees.swap_remove(0), (flowed, planned), cable_known))))
}

/// Returns the first steps of the advisor's own way; `None` when a tree has no words for any of them.
///
/// What the advisor takes is worked out as what a tree takes: step by step for these, and from what it foretells after
/// them. At the start it would foretell too little, since it looks at the likeliest suspects.
fn plan(complaint: Symptom, engine: &Engine, expected: &dyn Fn(&Measurement) -> Expected) -> Option<Fitted> {
    grow(engine, complaint, PLANNED, &|_| ()).ok()?.fitted(engine.harness(), expected).ok()
}

/// Returns what of a tree does not fit one wiring, whether or not its ways can be followed.
pub(super) fn unfit(tree: &Tree, engine: &Engine) -> Vec<TreeError> {
    let cells = RefCell::new(Cells::new(engine));
    let expected = |measurement: &Measurement| cells.borrow_mut().expected(measurement);
    tree.fitted(engine.harness(), &expected).err().unwrap_or_default()
}

fn asks_after_the_cable(ask: &Ask) -> bool {
    match ask {
        Ask::Question { answers, .. } => answers.iter().any(|answer| answer.then == Then::NotTheInstrument),
        Ask::Measure(_) => false,
    }
}

/// Returns the trees that a tree leads to, and those that these lead to.
fn linked<'t>(tree: &'t Tree, others: &'t [Tree]) -> Vec<&'t Tree> {
    let (mut found, mut seen) = (Vec::new(), BTreeSet::from([tree.name.as_str()]));
    let mut open = vec![tree];
    while let Some(tree) = open.pop() {
        for name in links(tree) {
            let known = others.iter().find(|other| other.name == name);
            if let Some(other) = known.filter(|_| seen.insert(name)) {
                found.push(other);
                open.push(other);
            }
        }
    }
    found
}

/// Returns the names of the trees that a tree leads to.
fn links(tree: &Tree) -> impl Iterator<Item = &str> {
    tree.steps.iter().flat_map(Step::ways).filter_map(|then| match then {
        Then::Tree(name) => Some(name.as_str()),
        _ => None,
    })
}

fn passed<'e>(
    sample: Sample<'e>,
    fitted: Fitted,
    (flowed, planned): (Flowed, Option<Flowed>),
    cable_known: bool,
) -> Passed<'e> {
    let engine = sample.engine;
    let at = Advice { sample: &sample, cable_known };
    let start = at.start();
    let counsels = at.counsels(&flowed);
    let effort = effort_of(&sample, &flowed, &counsels);
    let foretold = Effort { steps: start.steps, minutes: start.minutes };
    let without = Advice { sample: &sample, cable_known: false };
    let by_plan = |planned: Flowed| effort_of(&sample, &planned, &without.counsels(&planned));
    let alone = planned.map_or(foretold, by_plan);
    let proposals = flowed.points.iter().filter_map(|(step, point)| {
        let measurement = fitted.measured(*step)?;
        let seconds = crate::advisor::seconds(engine.harness(), measurement, &point.stand(&sample));
        Some((*step, seconds, at.proposals(point)))
    });
    let proposals = proposals.collect();
    let subjects = sample.subjects;
    let least_steps = start.least_steps;
    Passed { engine, fitted, subjects, flowed, counsels, effort, alone, least_steps, proposals }
}

/// Returns what finding takes: the steps that were gone through, and what the advisor needs after them.
///
/// Where the advisor was not asked it counts with what it needs on average elsewhere.
fn effort_of(sample: &Sample<'_>, flowed: &Flowed, counsels: &BTreeMap<usize, Counsel>) -> Effort {
    let mean = |each: &[f64]| {
        each.iter().enumerate().map(|(index, value)| sample.weight(index) * value).sum::<f64>()
    };
    let (mut asked, mut steps, mut minutes) = (0.0, 0.0, 0.0);
    for (end, counsel) in counsels {
        let mass = flowed.ends[*end].point.mass(sample);
        asked += mass;
        steps += mass * counsel.steps;
        minutes += mass * counsel.minutes;
    }
    let each = |sum: f64| if asked > 0.0 { sum / asked } else { 0.0 };
    Effort { steps: mean(&flowed.steps) + each(steps), minutes: mean(&flowed.seconds) / 60.0 + each(minutes) }
}

/// Returns the indices of the heaviest ends.
fn heaviest(sample: &Sample<'_>, ends: &[End]) -> Vec<usize> {
    let mut masses: Vec<(usize, f64)> =
        ends.iter().enumerate().map(|(index, end)| (index, end.point.mass(sample))).collect();
    masses.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    masses.into_iter().filter(|(_, mass)| *mass >= END_SHARE).take(ENDS).map(|(index, _)| index).collect()
}

/// The advisor, to be asked somewhere in a tree.
struct Advice<'s, 'e> {
    sample: &'s Sample<'e>,
    cable_known: bool,
}

impl Advice<'_, '_> {
    fn start(&self) -> Counsel {
        let weights = self.weights(|_| 1.0);
        let stand = Stand { setting: Setting::reference(self.sample.engine.harness()), ..Stand::default() };
        let occasion = Occasion { weights: &weights, stand, spent: &[], cable_known: false };
        occasion.counsel(self.sample.engine)
    }

    /// Returns what the advisor says at the heaviest ends, by their index.
    fn counsels(&self, flowed: &Flowed) -> BTreeMap<usize, Counsel> {
        let heaviest = heaviest(self.sample, &flowed.ends).into_iter();
        heaviest.map(|end| (end, self.counsel(&flowed.ends[end].point))).collect()
    }

    fn counsel(&self, point: &Point) -> Counsel {
        self.at(point, |occasion| occasion.counsel(self.sample.engine))
    }

    fn proposals(&self, point: &Point) -> Vec<Proposal> {
        self.at(point, |occasion| occasion.proposals(self.sample.engine))
    }

    fn at<T>(&self, point: &Point, ask: impl Fn(&Occasion<'_>) -> T) -> T {
        let weights = self.weights(|subject| point.shares.get(&subject).copied().unwrap_or(0.0));
        let (stand, spent) = (point.stand(self.sample), point.spent(self.sample));
        ask(&Occasion { weights: &weights, stand, spent: &spent, cable_known: self.cable_known })
    }

    /// Returns the probability of each hypothesis of which such a share is left.
    fn weights(&self, share: impl Fn(usize) -> f64) -> Vec<f64> {
        let mut weights = vec![0.0; self.sample.engine.model.hypotheses.list.len()];
        for (index, subject) in self.sample.subjects.iter().enumerate() {
            if let Some(hypothesis) = subject.hypothesis {
                weights[hypothesis] = subject.weight * share(index);
            }
        }
        weights
    }
}
