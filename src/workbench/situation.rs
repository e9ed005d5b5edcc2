//! Where a job stands: the belief after all its evidence, where its tree is, what is worth measuring.

use std::collections::BTreeSet;

use super::engine::{Engine, EngineError};
use crate::advisor::{self, Circumstances, Proposal, Stand};
use crate::belief::{Belief, likely_pairs};
use crate::circuit::PlaceId;
use crate::faults::{FaultId, Kind, NOT_IN_CATALOGUE};
use crate::job::{Event, Job, ReadingId};
use crate::readings::{Access, Check, Measurement, Mode, Reading, Setting, Shown, histories_in};
use crate::trees::{Fitted, Then, Walk};

/// The answer recorded when a question cannot be answered.
pub const CANNOT_TELL: &str = "can't tell";

/// What moved the belief.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Evidence {
    /// The complaint.
    Complaint,
    /// An answer to a question.
    Answer,
    /// A reading.
    Reading(ReadingId),
}

/// Where the tree is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TreeState {
    /// No tree is for this complaint.
    None,
    /// At a step of the tree with this index.
    At(usize, String),
    /// Left or ended, with what it said last.
    Over(usize, String),
}

/// Where a job stands.
pub struct Situation {
    /// The belief after all evidence.
    pub belief: Belief,
    /// What each piece of evidence was, in order.
    pub evidence: Vec<Evidence>,
    /// Readings that nothing believed now explains better than a slip does.
    pub surprising: Vec<ReadingId>,
    /// Where the tree is.
    pub tree: TreeState,
    /// What is worth measuring, best first.
    pub proposals: Vec<Proposal>,
    /// Where the bench stands.
    pub stand: Stand,
    /// How the last reading was taken.
    pub before: Option<Mode>,
    /// The leading decision.
    pub leader: usize,
    /// Its probability.
    pub probability: f64,
    sure_of_leader: bool,
}

impl Situation {
    /// Works out where a job stands, and what is worth measuring next.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when a reading of the job cannot be predicted.
    pub fn new(engine: &Engine, job: &Job) -> Result<Self, EngineError> {
        Ok(Self::believing(engine, job)?.proposing(engine, job))
    }

    /// Returns this with what is worth measuring next.
    pub fn proposing(mut self, engine: &Engine, job: &Job) -> Self {
        let (spent, skipped) = (spent(job), skipped(engine, job));
        let stand = self.stand.clone();
        let circumstances = Circumstances { access: job.access(), stand, spent: &spent, skipped: &skipped };
        self.proposals = advisor::propose(
            &engine.model,
            &engine.candidates,
            &engine.groups,
            &self.belief,
            engine.meter,
            &circumstances,
        );
        self
    }

    /// Works out what is believed, without looking for the next measurement.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when a reading of the job cannot be predicted.
    pub fn believing(engine: &Engine, job: &Job) -> Result<Self, EngineError> {
        let mut gathered = gather(engine, job)?;
        let tree = walk(engine, job, &mut gathered);
        let Gathered { belief, evidence } = gathered;
        let unexplained =
            job.live_readings().zip(belief.unexplained()).filter(|(_, unexplained)| *unexplained);
        let surprising = unexplained.map(|(taken, _)| taken.id).collect();
        let (leader, probability) = advisor::leader(&engine.groups, &belief);
        let sure_of_leader = advisor::sure(&engine.groups, leader, probability);
        let stand = stand(engine, job);
        let before = job.live_readings().last().map(|taken| taken.reading.measurement.mode);
        let proposals = Vec::new();
        Ok(Self {
            belief,
            evidence,
            surprising,
            tree,
            proposals,
            stand,
            before,
            leader,
            probability,
            sure_of_leader,
        })
    }

    /// Returns whether single faults do not explain what was read, so that pairs are worth a look.
    pub fn in_doubt(&self, engine: &Engine) -> bool {
        const DOUBT: f64 = 0.2;
        let unknown = engine.model.catalogue.find(NOT_IN_CATALOGUE);
        let of_faults = self.belief.fault_probabilities(&engine.model);
        !self.surprising.is_empty() || unknown.is_some_and(|fault| of_faults[fault.0] > DOUBT)
    }

    /// Returns the pairs of faults that may explain what was read.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when a reading of the job cannot be predicted.
    pub fn pairs(&self, engine: &Engine, job: &Job) -> Result<Vec<(FaultId, FaultId)>, EngineError> {
        let row = |evidence: &Evidence| match evidence {
            Evidence::Reading(id) => {
                job.live_readings().find(|taken| taken.id == *id).map_or(Ok(None), |t| {
                    let asked = &t.reading.measurement;
                    if matches!(asked.mode, Mode::Observe(_)) {
                        Ok(None)
                    } else {
                        engine.row(asked).map(Some)
                    }
                })
            }
            Evidence::Complaint | Evidence::Answer => Ok(None),
        };
        let evidence = self.evidence.iter().enumerate();
        let evidence: Vec<_> =
            evidence.map(|(k, of)| Ok((k, row(of)?))).collect::<Result<_, EngineError>>()?;
        Ok(likely_pairs(&engine.model, &self.belief, &evidence))
    }

    /// Returns whether finding is over: sure enough after a reading, or nothing worth measuring.
    pub fn done(&self, job: &Job) -> bool {
        self.sure(job) || (self.proposals.is_empty() && !matches!(self.tree, TreeState::At(..)))
    }

    /// Returns whether the leading decision is sure enough to act on.
    pub fn sure(&self, job: &Job) -> bool {
        self.sure_of_leader && (job.live_readings().next().is_some() || !job.answers().is_empty())
    }
}

struct Gathered {
    belief: Belief,
    evidence: Vec<Evidence>,
}

/// Returns the belief from complaint and readings; answers are added while the tree is walked.
fn gather(engine: &Engine, job: &Job) -> Result<Gathered, EngineError> {
    let mut belief = Belief::prior(&engine.model);
    let mut evidence = Vec::new();
    if !job.intake().symptoms.is_empty() {
        belief.hear(&complaint(engine, job));
        evidence.push(Evidence::Complaint);
    }
    for known in job.known() {
        if let Some((param, shift, sd)) = engine.shift_of(&known.part, known.dial, known.ohms.get()) {
            belief.know(known.dial, param, shift, sd);
        }
    }
    for taken in job.live_readings() {
        take_in(engine, &mut belief, &taken.reading)?;
        evidence.push(Evidence::Reading(taken.id));
    }
    Ok(Gathered { belief, evidence })
}

fn take_in(engine: &Engine, belief: &mut Belief, reading: &Reading) -> Result<(), EngineError> {
    match (reading.measurement.mode, reading.shown) {
        (Mode::Observe(check), Shown::Said(said)) => {
            belief.observe(&engine.chances(check, &reading.measurement)?, said);
        }
        _ => {
            let flex = reading.measurement.flex.as_deref();
            belief.read(&engine.model, engine.meter, flex, &engine.values(reading)?);
        }
    }
    Ok(())
}

fn complaint(engine: &Engine, job: &Job) -> Vec<f64> {
    let mut likelihoods = vec![1.0; engine.model.hypotheses.list.len()];
    for &symptom in &job.intake().symptoms {
        let each = engine.complaint(symptom);
        likelihoods.iter_mut().zip(each).for_each(|(all, one)| *all *= one);
    }
    for history in histories_in(&job.intake().last_done) {
        let each = engine.model.history_likelihood(history);
        likelihoods.iter_mut().zip(each).for_each(|(all, one)| *all *= one);
    }
    likelihoods
}

/// Follows the job's tree through its events.
fn walk(engine: &Engine, job: &Job, gathered: &mut Gathered) -> TreeState {
    let symptoms = &job.intake().symptoms;
    let of = |tree: &Fitted| symptoms.iter().position(|&s| s == tree.tree().complaint);
    let chosen = (0..engine.trees.len())
        .filter(|&t| of(&engine.trees[t]).is_some())
        .min_by_key(|&t| of(&engine.trees[t]));
    let Some(index) = chosen else { return TreeState::None };
    let tree = &engine.trees[index];
    let mut at = tree.start();
    for record in job.counting() {
        at = follow(engine, job, tree, at, &record.event, gathered);
    }
    match settle(engine, job, tree, at) {
        Walk::Step(step) => TreeState::At(index, step),
        Walk::Left { why } => TreeState::Over(index, why),
        Walk::Ended { hint } => TreeState::Over(index, hint),
    }
}

fn follow(
    engine: &Engine,
    job: &Job,
    tree: &Fitted,
    at: Walk,
    event: &Event,
    gathered: &mut Gathered,
) -> Walk {
    let Walk::Step(step) = &at else { return at };
    match event {
        Event::Read { id, .. } => match job.live_readings().find(|taken| taken.id == *id) {
            Some(taken) => after(tree, step, &taken.reading).unwrap_or(at),
            None => at,
        },
        Event::Skipped { measurement, .. } if tree.measurement(step).as_ref() == Some(measurement) => {
            tree.after_cannot(step)
        }
        Event::Answered { tree: name, step: answered, answer, .. }
            if *name == tree.tree().name && answered == step =>
        {
            let index = tree.answers(step).iter().position(|a| a.answer == *answer);
            if let Some(index) = index {
                gathered.belief.hear(&cable_evidence(engine, tree, step, index));
                gathered.evidence.push(Evidence::Answer);
            }
            index.map_or_else(|| tree.after_cannot(step), |index| tree.after_answer(step, index))
        }
        _ => at,
    }
}

/// Returns where a reading leads from a step, also when it passes a question over.
fn after(tree: &Fitted, step: &str, reading: &Reading) -> Option<Walk> {
    let asked = |step: &str| tree.measurement(step).is_some_and(|m| m == reading.measurement);
    if asked(step) {
        return Some(tree.after_reading(step, &reading.shown));
    }
    match tree.after_cannot(step) {
        Walk::Step(next) if tree.measurement(step).is_none() && asked(&next) => {
            Some(tree.after_reading(&next, &reading.shown))
        }
        _ => None,
    }
}

/// Passes over steps that need more access than there is, and those whose reading is already there.
fn settle(engine: &Engine, job: &Job, tree: &Fitted, mut at: Walk) -> Walk {
    while let Walk::Step(step) = &at {
        let Some(measurement) = tree.measurement(step) else { break };
        let known = job.live_readings().find(|taken| taken.reading.measurement == measurement);
        at = match known {
            Some(taken) => tree.after_reading(step, &taken.reading.shown),
            None if !advisor::allowed(engine.harness(), &measurement, job.access()) => {
                tree.after_cannot(step)
            }
            None => break,
        };
    }
    at
}

/// Returns what an answer says of each hypothesis, where the question tells the instrument from what hangs on it.
///
/// Swapping cable and amplifier is trusted nine times out of ten (common practice, no source).
fn cable_evidence(engine: &Engine, tree: &Fitted, step: &str, answer: usize) -> Vec<f64> {
    let answers = tree.answers(step);
    let acquits = |a: &crate::trees::Answer| a.then == Then::NotTheInstrument;
    let (acquitted, tells) = (acquits(&answers[answer]), answers.iter().any(acquits));
    let outside = |&(fault, _): &(FaultId, f64)| engine.model.catalogue[fault].kind == Kind::NothingWrong;
    engine
        .model
        .hypotheses
        .list
        .iter()
        .map(|hypothesis| match (tells, acquitted, hypothesis.faults.iter().any(outside)) {
            (false, ..) => 1.0,
            (true, true, true) | (true, false, false) => 0.9,
            (true, true, false) | (true, false, true) => 0.1,
        })
        .collect()
}

fn stand(engine: &Engine, job: &Job) -> Stand {
    let last = job.live_readings().last().map(|taken| &taken.reading.measurement);
    let named = job.opened().iter().filter_map(|name| engine.harness().place(name));
    let reached = job.live_readings().flat_map(|t| advisor::places(engine.harness(), &t.reading.measurement));
    let opened: BTreeSet<PlaceId> = named.chain(reached).collect();
    Stand {
        setting: last.map_or_else(|| Setting::reference(engine.harness()), |m| m.setting.clone()),
        probes: last.map(|m| (m.red.clone(), m.black.clone())),
        opened,
    }
}

/// Returns the measurements that were taken.
fn spent(job: &Job) -> Vec<Measurement> {
    let taken = job.live_readings().filter(|t| !matches!(t.reading.shown, Shown::Beep(_)));
    taken.map(|t| t.reading.measurement.clone()).collect()
}

/// Returns the measurements that cannot be done with today's access, and what a tree's own question has settled.
fn skipped(engine: &Engine, job: &Job) -> Vec<Measurement> {
    let skipped = job.skipped().iter().filter(|skip| !widened(skip.access, job.access()));
    let settled = engine.candidates.questions.iter().map(|q| &q.measurement).filter(|m| cable(m));
    let settled = settled.filter(|_| !job.answers().is_empty());
    skipped.map(|s| &s.measurement).chain(settled).cloned().collect()
}

/// Returns whether it is the swap of cable and amplifier, which a tree's own question may have settled.
fn cable(measurement: &Measurement) -> bool {
    measurement.mode == Mode::Observe(Check::OtherCable)
}

fn widened(then: Access, now: Access) -> bool {
    now > then
}
