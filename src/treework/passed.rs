//! A tree that was held against one wiring: what came to its steps and ends, and what the advisor says there.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use super::cells::Cells;
use super::counsel::{Counsel, Occasion};
use super::flow::{End, Flowed, Point, flow};
use super::sample::{Sample, Subject};
use crate::advisor::{Proposal, Stand};
use crate::faults::{FaultId, Kind};
use crate::readings::{Measurement, Setting};
use crate::trees::{Ask, Fitted, Step, Then, Tree, TreeError};
use crate::workbench::{Engine, EngineError};

/// At so many ends, the heaviest, the advisor is asked.
const ENDS: usize = 12;
/// An end with less is not worth asking at.
const END_SHARE: f64 = 0.002;

/// What came of holding a tree against one wiring.
pub(super) enum Held<'e> {
    /// It went through.
    Passed(Box<Passed<'e>>),
    /// It does not fit.
    Misfit(Vec<TreeError>),
}

/// A tree that went through on one wiring.
pub(super) struct Passed<'e> {
    pub engine: &'e Engine,
    pub fitted: Fitted,
    pub subjects: Vec<Subject>,
    pub draws: usize,
    pub flowed: Flowed,
    /// What the advisor says before anything is done, and at some of the ends, by their index.
    pub start: Counsel,
    pub counsels: BTreeMap<usize, Counsel>,
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
    let cable_known = tree.steps.iter().any(|step| asks_after_the_cable(&step.ask));
    Ok(match gone(tree, others, engine)? {
        Ok(gone) => Held::Passed(Box::new(passed(gone, cable_known))),
        Err(errors) => Held::Misfit(errors),
    })
}

/// Holds a tree that leads to no other against one wiring, and asks the advisor nothing.
///
/// # Errors
///
/// Returns [`EngineError`] when a measurement cannot be predicted.
pub(super) fn hold_unadvised<'e>(tree: &Tree, engine: &'e Engine) -> Result<Held<'e>, EngineError> {
    Ok(match gone(tree, &[], engine)? {
        Ok(gone) => Held::Passed(Box::new(unadvised(gone))),
        Err(errors) => Held::Misfit(errors),
    })
}

/// What went through a tree.
struct Gone<'e> {
    sample: Sample<'e>,
    fitted: Fitted,
    flowed: Flowed,
}

/// Sends everything that can be the matter through a tree; returns what of the tree does not fit.
fn gone<'e>(
    tree: &Tree,
    others: &[Tree],
    engine: &'e Engine,
) -> Result<Result<Gone<'e>, Vec<TreeError>>, EngineError> {
    let cells = RefCell::new(Cells::new(engine));
    let expected = |measurement: &Measurement| cells.borrow_mut().expected(measurement);
    let fitted = match tree.fitted(engine.harness(), &expected) {
        Ok(fitted) => fitted,
        Err(errors) => return Ok(Err(errors)),
    };
    let mut trees = vec![fitted];
    for other in linked(tree, others).into_iter().filter(|other| other.applies(engine.harness())) {
        trees.extend(other.fitted(engine.harness(), &expected));
    }
    let steps = trees.iter().map(|tree| tree.tree().steps.len()).max().unwrap_or(0);
    let mut sample = Sample::new(engine, tree.complaint, steps, cells.into_inner());
    let flowed = flow(&mut sample, &trees)?;
    Ok(Ok(Gone { sample, fitted: trees.swap_remove(0), flowed }))
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

fn unadvised(gone: Gone<'_>) -> Passed<'_> {
    let Gone { sample, fitted, flowed } = gone;
    let (engine, subjects, draws) = (sample.engine, sample.subjects, sample.draws);
    let (start, counsels, proposals) = (Counsel::default(), BTreeMap::new(), Vec::new());
    Passed { engine, fitted, subjects, draws, flowed, start, counsels, proposals }
}

fn passed(gone: Gone<'_>, cable_known: bool) -> Passed<'_> {
    let Gone { sample, fitted, flowed } = gone;
    let engine = sample.engine;
    let at = Advice { sample: &sample, cable_known };
    let start = at.start();
    let counsels = heaviest(&sample, &flowed.ends).into_iter();
    let counsels = counsels.map(|end| (end, at.counsel(&flowed.ends[end].point))).collect();
    let proposals = flowed.points.iter().filter_map(|(step, point)| {
        let measurement = fitted.measured(*step)?;
        let seconds = crate::advisor::seconds(engine.harness(), measurement, &point.stand(&sample));
        Some((*step, seconds, at.proposals(point)))
    });
    let proposals = proposals.collect();
    let (subjects, draws) = (sample.subjects, sample.draws);
    Passed { engine, fitted, subjects, draws, flowed, start, counsels, proposals }
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
