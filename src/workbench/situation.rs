//! Where a job stands: the belief after all its evidence, where its tree is, what is worth measuring.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::Stage;
use super::doubt::{Doubt, doubt};
use super::engine::{Engine, EngineError};
use super::masked;
use super::walking::walk;
use crate::advisor::{self, Circumstances, Ground, Proposal, Stand};
use crate::belief::{Belief, hidden_by, likely_pairs};
use crate::circuit::PlaceId;
use crate::faults::{FaultId, Form, Kind, NOT_IN_CATALOGUE, SECOND};
use crate::job::{Job, ReadingId, Round};
use crate::prediction::Row;
use crate::readings::{
    Access, Check, Measurement, Mode, Reading, Setting, Shown, Swapped, Symptom, histories_of, swapped_in,
};

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
    /// What was still wrong after a repair.
    Remains,
    /// A proof reading after a repair that did not cure.
    Proof {
        /// Index of the round in [`Job::rounds`].
        round: usize,
        /// Its index in that round.
        index: usize,
    },
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
    /// The doubt about all that is believed, if there is reason for one.
    pub doubt: Option<Doubt>,
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
    /// Works out where a job stands, what is worth measuring next, and whether all that is to be doubted.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when a reading of the job cannot be predicted.
    pub fn new(engine: &Engine, job: &Job) -> Result<Self, EngineError> {
        Self::believing(engine, job)?.proposing(engine, job).doubting(engine, job)
    }

    /// Returns this with the doubt about it while finding.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when a reading of the job cannot be predicted.
    pub fn doubting(mut self, engine: &Engine, job: &Job) -> Result<Self, EngineError> {
        self.doubt = if super::stage(job) == Stage::Finding { doubt(engine, job, &self)? } else { None };
        Ok(self)
    }

    /// Works out what is believed without some readings.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when a reading of the job cannot be predicted.
    pub(super) fn belief_without(
        engine: &Engine,
        job: &Job,
        left_out: &[ReadingId],
    ) -> Result<Belief, EngineError> {
        Ok(gather(Belief::prior(&engine.model), engine, job, left_out)?.0.belief)
    }

    /// Returns what holds for each reading, by its number, from what holds for each that the belief took in.
    pub(super) fn of_readings<T>(&self, each: Vec<T>) -> BTreeMap<ReadingId, T> {
        of_readings(&self.evidence, each).into_iter().collect()
    }

    /// Returns what is believed of a job, with single faults where they explain what was read and with pairs of them
    /// where they do not, and the engine that this takes; `before` is the belief of an engine before any evidence.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when a reading of the job cannot be predicted.
    pub fn settled(
        singles: &Arc<Engine>,
        job: &Job,
        before: &dyn Fn(&Engine) -> Belief,
    ) -> Result<(Arc<Engine>, Self), EngineError> {
        let believed = Self::from(before(singles), singles, job)?;
        if !believed.in_doubt(singles) {
            return Ok((Arc::clone(singles), believed));
        }
        let engine = singles.paired(&believed.pairs(singles, job)?)?;
        let situation = Self::from(before(&engine), &engine, job)?;
        Ok((engine, situation))
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
        self.proposals = advisor::planned(&self.ground(engine));
        self
    }

    /// Returns what looking ahead starts from.
    pub(super) fn ground<'a>(&'a self, engine: &'a Engine) -> Ground<'a> {
        Ground {
            model: &engine.model,
            candidates: &engine.candidates,
            groups: &engine.groups,
            belief: &self.belief,
            meter: engine.meter,
            stand: &self.stand,
            proposals: &self.proposals,
        }
    }

    /// Works out what is believed, without looking for the next measurement.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when a reading of the job cannot be predicted.
    pub fn believing(engine: &Engine, job: &Job) -> Result<Self, EngineError> {
        Self::from(Belief::prior(&engine.model), engine, job)
    }

    /// Works out what is believed, from what was believed before any evidence.
    fn from(before: Belief, engine: &Engine, job: &Job) -> Result<Self, EngineError> {
        let (Gathered { belief, evidence, .. }, tree) = gather(before, engine, job, &[])?;
        let surprising = surprising(&belief, &evidence);
        let (leader, probability) = advisor::leader(&engine.groups, &belief);
        let sure_of_leader = advisor::sure(&engine.groups, leader, probability);
        let stand = stand(engine, job);
        let before = job.live_readings().last().map(|taken| taken.reading.measurement.mode);
        let proposals = Vec::new();
        Ok(Self {
            belief,
            evidence,
            surprising,
            doubt: None,
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
    fn in_doubt(&self, engine: &Engine) -> bool {
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
    fn pairs(&self, engine: &Engine, job: &Job) -> Result<Vec<(Form, Form)>, EngineError> {
        let evidence: Vec<_> = rows(engine, job, &self.evidence)?.into_iter().enumerate().collect();
        Ok(likely_pairs(&engine.model, &self.belief, &evidence))
    }

    /// Returns the hypotheses that the leading one hides from every reading since the last repair, highest prior first.
    ///
    /// # Errors
    ///
    /// Returns [`EngineError`] when a reading of the job cannot be predicted.
    pub fn hidden(&self, engine: &Engine, job: &Job) -> Result<Vec<usize>, EngineError> {
        let weights = self.belief.weights();
        let members = engine.groups.decisions[self.leader].iter().copied();
        let leading = members.max_by(|&a, &b| weights[a].total_cmp(&weights[b]).then(b.cmp(&a)));
        let rows: Vec<Row> = rows(engine, job, &since_repair(job))?.into_iter().flatten().collect();
        let Some(leading) = leading else { return Ok(Vec::new()) };
        let hidden = hidden_by(&engine.model, leading, &rows);
        let readings: Vec<&Reading> = since_repair(job).iter().filter_map(|of| reading(job, of)).collect();
        Ok(masked::possible(engine, leading, &hidden, &readings)?)
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

/// The belief as it is gathered, piece by piece.
pub(super) struct Gathered<'a> {
    pub(super) belief: Belief,
    pub(super) evidence: Vec<Evidence>,
    /// How likely it is under each hypothesis that what the customer tried outside the instrument cured nothing, until
    /// the same is answered at the bench; empty when nothing was tried.
    told: Vec<f64>,
    left_out: &'a [ReadingId],
}

impl Gathered<'_> {
    fn hear(&mut self, engine: &Engine, job: &Job, symptoms: &[Symptom], as_evidence: Evidence) {
        if !symptoms.is_empty() {
            let mut likelihoods = complaint(engine, job, symptoms);
            if as_evidence == Evidence::Complaint {
                likelihoods.iter_mut().zip(&self.told).for_each(|(all, told)| *all *= told);
            }
            self.belief.hear(&likelihoods);
            self.evidence.push(as_evidence);
        }
    }

    /// Takes in an answer given at the bench; one that tells the instrument from what hangs on it takes the place of what
    /// the complaint said.
    pub(super) fn answer(&mut self, mut likelihoods: Vec<f64>) {
        let tells = likelihoods.iter().any(|likelihood| *likelihood < 1.0);
        if tells && !self.told.is_empty() {
            let told = std::mem::take(&mut self.told);
            likelihoods.iter_mut().zip(told).for_each(|(answer, told)| *answer /= told);
            let most = likelihoods.iter().copied().fold(0.0, f64::max);
            likelihoods.iter_mut().for_each(|answer| *answer /= most);
        }
        self.belief.hear(&likelihoods);
        self.evidence.push(Evidence::Answer);
    }

    fn read(&mut self, engine: &Engine, job: &Job, round: usize) -> Result<(), EngineError> {
        for taken in job.readings_of(round).filter(|taken| !self.left_out.contains(&taken.id)) {
            take_in(engine, &mut self.belief, &taken.reading)?;
            self.evidence.push(Evidence::Reading(taken.id));
        }
        Ok(())
    }

    /// Goes over to the mended instrument, of which the proof readings and what remained are the first evidence.
    fn mend(&mut self, engine: &Engine, job: &Job, index: usize, round: &Round) -> Result<(), EngineError> {
        let catalogue = &engine.model.catalogue;
        let repaired: Vec<FaultId> =
            round.concluded.faults.iter().flat_map(|id| catalogue.all_of(id)).collect();
        let rows = rows(engine, job, &self.evidence)?;
        self.belief = self.belief.after_repair(&engine.model, &rows, &repaired);
        if !round.symptoms.is_empty() {
            let mut likelihoods = complaint(engine, job, &round.symptoms);
            likelihoods.iter_mut().zip(cured(engine)).for_each(|(all, cured)| *all *= cured);
            self.belief.hear(&likelihoods);
            self.evidence.push(Evidence::Remains);
        }
        for (proof, proved) in round.proofs.iter().enumerate() {
            take_in(engine, &mut self.belief, &proved.reading)?;
            self.evidence.push(Evidence::Proof { round: index, index: proof });
        }
        Ok(())
    }
}

/// Returns how likely a complaint that remains is beside what it is under each hypothesis by itself: a cured instrument
/// needs something else that is wrong, a second time.
fn cured(engine: &Engine) -> impl Iterator<Item = f64> {
    let catalogue = &engine.model.catalogue;
    let nothing = |fault: &FaultId| catalogue[*fault].kind == Kind::NothingWrong;
    let list = engine.model.hypotheses.list.iter();
    list.map(move |h| if h.faults.iter().any(|(fault, _)| nothing(fault)) { SECOND } else { 1.0 })
}

/// Returns the belief from complaint, readings and answers, and where the tree is; after a repair no tree leads.
fn gather<'a>(
    before: Belief,
    engine: &Engine,
    job: &Job,
    left_out: &'a [ReadingId],
) -> Result<(Gathered<'a>, TreeState), EngineError> {
    let told = told(engine, swapped_in(&job.intake().complaint), !job.intake().symptoms.is_empty());
    let mut gathered = Gathered { belief: before, evidence: Vec::new(), told, left_out };
    gathered.hear(engine, job, &job.intake().symptoms, Evidence::Complaint);
    for known in job.known() {
        if let Some((param, shift, sd)) = engine.shift_of(&known.part, known.dial, known.ohms.get()) {
            gathered.belief.know(known.dial, param, shift, sd);
        }
    }
    gathered.read(engine, job, 0)?;
    let tree = walk(engine, job, &mut gathered);
    for (index, round) in job.rounds().iter().enumerate() {
        gathered.mend(engine, job, index, round)?;
        gathered.read(engine, job, index + 1)?;
    }
    Ok((gathered, if job.rounds().is_empty() { tree } else { TreeState::None }))
}

/// Returns what every state makes each piece of evidence read, where it was read with a meter.
fn rows(engine: &Engine, job: &Job, evidence: &[Evidence]) -> Result<Vec<Option<Row>>, EngineError> {
    let read = |m: &&Measurement| !matches!(m.mode, Mode::Observe(_));
    let row = |of: &Evidence| measured(job, of).filter(read).map(|m| engine.row(m)).transpose();
    evidence.iter().map(row).collect()
}

/// Returns what was measured for a piece of evidence.
fn measured<'j>(job: &'j Job, evidence: &Evidence) -> Option<&'j Measurement> {
    reading(job, evidence).map(|reading| &reading.measurement)
}

/// Returns the reading that a piece of evidence is.
fn reading<'j>(job: &'j Job, evidence: &Evidence) -> Option<&'j Reading> {
    match evidence {
        Evidence::Reading(id) => Some(&job.live_readings().find(|taken| taken.id == *id)?.reading),
        Evidence::Proof { round, index } => Some(&job.rounds().get(*round)?.proofs.get(*index)?.reading),
        Evidence::Complaint | Evidence::Remains | Evidence::Answer => None,
    }
}

/// Returns the readings of the instrument as it is now: the proof of the last repair, and what was read after it.
fn since_repair(job: &Job) -> Vec<Evidence> {
    let rounds = job.rounds();
    let last = rounds.last().map_or(0, |round| round.proofs.len());
    let proofs = (0..last).map(|index| Evidence::Proof { round: rounds.len() - 1, index });
    proofs.chain(job.readings_of(rounds.len()).map(|taken| Evidence::Reading(taken.id))).collect()
}

/// Returns the readings that nothing believed now explains.
fn surprising(belief: &Belief, evidence: &[Evidence]) -> Vec<ReadingId> {
    let all = of_readings(evidence, belief.unexplained());
    all.into_iter().filter(|(_, unexplained)| *unexplained).map(|(id, _)| id).collect()
}

/// Returns the readings with what holds for each, from what holds for each reading and proof reading.
fn of_readings<T>(evidence: &[Evidence], each: Vec<T>) -> Vec<(ReadingId, T)> {
    let taken = evidence.iter().filter(|of| matches!(of, Evidence::Reading(_) | Evidence::Proof { .. }));
    let reading = |(of, value): (&Evidence, T)| match of {
        Evidence::Reading(id) => Some((*id, value)),
        _ => None,
    };
    taken.zip(each).filter_map(reading).collect()
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

/// Returns how likely these symptoms are under each hypothesis, with what was done to the instrument last.
fn complaint(engine: &Engine, job: &Job, symptoms: &[Symptom]) -> Vec<f64> {
    let mut likelihoods = vec![1.0; engine.model.hypotheses.list.len()];
    for &symptom in symptoms {
        let each = engine.complaint(symptom);
        likelihoods.iter_mut().zip(each).for_each(|(all, one)| *all *= one);
    }
    for history in histories_of(&job.intake().last_done, &job.intake().complaint) {
        let each = engine.model.history_likelihood(history);
        likelihoods.iter_mut().zip(each).for_each(|(all, one)| *all *= one);
    }
    likelihoods
}

/// Returns how likely it is under each hypothesis that what the customer tried outside cured nothing; empty when nothing
/// was tried, or nothing is complained of.
///
/// It is trusted nine times out of ten like the same answer at the bench. Where only the cable or only the amplifier was
/// changed, the other is as likely at fault (common practice, no source).
fn told(engine: &Engine, swapped: Swapped, complained: bool) -> Vec<f64> {
    if !swapped.any() || !complained {
        return Vec::new();
    }
    let outside = if swapped.both() { 0.1 } else { 0.5 * 0.1 + 0.5 * 0.9 };
    let nothing = |&(fault, _): &(FaultId, f64)| engine.model.catalogue[fault].kind == Kind::NothingWrong;
    let list = engine.model.hypotheses.list.iter();
    list.map(|h| if h.faults.iter().any(nothing) { outside } else { 0.9 }).collect()
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

/// Returns the measurements that were taken since the last repair that did not cure.
pub(crate) fn spent(job: &Job) -> Vec<Measurement> {
    let taken = job.readings_of(job.rounds().len()).map(|taken| &taken.reading);
    let proved = job.rounds().last().into_iter().flat_map(|round| &round.proofs).map(|proof| &proof.reading);
    let lasting = proved.chain(taken).filter(|reading| !matches!(reading.shown, Shown::Beep(_)));
    lasting.map(|reading| reading.measurement.clone()).collect()
}

/// Returns the measurements that cannot be done with today's access, and what a tree's own question or the complaint has
/// settled.
fn skipped(engine: &Engine, job: &Job) -> Vec<Measurement> {
    let skipped = job.skipped().iter().filter(|skip| !widened(skip.access, job.access()));
    let settled = engine.candidates.questions.iter().map(|q| &q.measurement).filter(|m| cable(m));
    let told = !job.intake().symptoms.is_empty() && swapped_in(&job.intake().complaint).both();
    let settled = settled.filter(|_| told || !job.answers().is_empty());
    skipped.map(|s| &s.measurement).chain(settled).cloned().collect()
}

/// Returns whether it is the swap of cable and amplifier, which a tree's own question may have settled.
fn cable(measurement: &Measurement) -> bool {
    measurement.mode == Mode::Observe(Check::OtherCable)
}

fn widened(then: Access, now: Access) -> bool {
    now > then
}
