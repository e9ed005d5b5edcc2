//! The one orchestrator, headless: commands in, events out, view data for window and command line alike.
//!
//! A command is first decided, which changes nothing and gives events; the caller puts these on disk; only then
//! are they absorbed and the view shows them. So a reading that the screen has acknowledged is on disk.

mod alike;
mod audit;
mod audit_run;
mod back;
mod battery;
mod case;
mod cautions;
mod command;
mod decide;
mod doubt;
mod doubt_words;
mod engine;
mod error;
mod families;
mod flexed;
mod found;
mod masked;
mod mismatch;
mod notices;
mod outlook;
mod paper;
mod proof;
mod script;
mod situation;
mod steps;
mod suspects;
mod tone;
mod trail;
mod unit;
mod view;
mod walking;
mod words;

use std::slice;
use std::sync::Arc;

pub use alike::{Telling, tell_apart};
pub use audit::{AuditCheck, AuditFlex, AuditMissed, AuditView, KindCoverage};
pub use audit_run::{AuditReading, AuditRun};
pub use back::LookBack;
pub use command::*;
pub use decide::USED_TREE;
pub use doubt::{Action, Doubt};
pub use engine::{Engine, EngineError, Misfit, Workings};
pub use error::WorkbenchError;
pub use families::families_of;
pub use notices::LEFT_OUT;
pub use paper::{PaperView, check_ceiling, check_estimate, check_price_line};
pub(crate) use proof::{band as proof_band, wanted as proof_readings, within as proof_passed};
pub use script::outside_in_words;
pub use situation::{CANNOT_TELL, Evidence, Situation, TreeState};
pub use suspects::{Ranked, ranked_by as suspects_by, sentence as suspect_in_words};
pub use tone::{Listening, in_words as difference_in_words};
pub use trail::{Trail, Trodden};
pub use unit::{UnitDoubt, UnitMeaning};
pub use view::*;
pub use words::{
    answer as answer_in_words, band as band_in_words, headline as headline_in_words, shown as shown_in_words,
};

pub use crate::faults::{Family, Learnt, Priors, STRENGTH as LEARNING_STRENGTH, Tallies, Tally};
pub use crate::prediction::{Difference, Load, Point, Response, grid};

use crate::belief::Belief;
use crate::job::{Answer, Event, Intake, Job, Outcome, Proof, Record, Round};
use crate::readings::{Measurement, Meter, Mode, Reading, histories_of, understood};
use crate::source::{Located, Source};
use crate::trees::{self, Tree};

/// One job on the bench.
pub struct Workbench {
    /// The engine of single faults, with the trees that the job was started with.
    first: Arc<Engine>,
    /// The engine of single faults, with the trees that are in use.
    singles: Arc<Engine>,
    /// The engine in use: with pairs of faults once single ones do not explain what was read.
    engine: Arc<Engine>,
    job: Job,
    situation: Situation,
    view: View,
}

impl Workbench {
    /// Prepares the engine that a job needs.
    ///
    /// # Errors
    ///
    /// Returns [`WorkbenchError`] when the wiring, the own priors, the meter class or a tree is wrong.
    pub fn engine_for(intake: &Intake, trees: &[Tree]) -> Result<Arc<Engine>, WorkbenchError> {
        let meter = Meter::named(&intake.meter).ok_or_else(|| WorkbenchError::Meter {
            name: intake.meter.clone(),
            allowed: Meter::all().iter().map(|meter| meter.name).collect::<Vec<_>>().join(", "),
        })?;
        let source = Source::new(format!("{}.ron", intake.wiring), intake.wiring_text.clone());
        let priors = priors_of(intake).map_err(EngineError::Priors)?;
        let engine = Engine::with_priors(&source, meter, trees, &priors)?;
        let own = read_trees(&intake.trees_text);
        Ok(Arc::new(if own.is_empty() { engine } else { engine.with_own_trees(&own) }))
    }

    /// Returns the first record of a new job.
    ///
    /// # Errors
    ///
    /// Returns [`WorkbenchError`] when the complaint cannot be weighed.
    pub fn first_record(engine: &Engine, intake: Intake, now: &str) -> Result<Record, WorkbenchError> {
        let started = |leaders| Record {
            at: now.to_owned(),
            event: Event::Started { format: 1, intake: Box::new(intake.clone()), leaders },
        };
        let bare = Job::replay(vec![started(Vec::new())])?;
        let situation = Situation::new(engine, &bare)?;
        Ok(started(suspects::standings(engine, &situation)))
    }

    /// Puts a job on the bench from its records.
    ///
    /// # Errors
    ///
    /// Returns [`WorkbenchError`] when the records are no job or its readings cannot be predicted.
    pub fn resume(engine: Arc<Engine>, records: Vec<Record>) -> Result<Self, WorkbenchError> {
        let job = Job::replay(records)?;
        let (first, singles) = (Arc::clone(&engine), with_used_trees(&engine, &job));
        let (engine, situation) = Situation::settled(&singles, &job, &unread)?;
        let situation = situation.proposing(&engine, &job).doubting(&engine, &job)?;
        let view = build(&engine, &job, &situation)?;
        Ok(Self { first, singles, engine, job, situation, view })
    }

    /// Returns what to show.
    pub fn view(&self) -> &View {
        &self.view
    }

    /// Returns the job.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// Returns the engine.
    pub fn engine(&self) -> &Engine {
        &self.engine
    }

    /// Returns the belief and everything else that was worked out from the job.
    pub fn situation(&self) -> &Situation {
        &self.situation
    }

    /// Returns a reading of a person's own as a step: how it is taken, what a healthy instrument reads there, and what
    /// each leading suspect would.
    ///
    /// # Errors
    ///
    /// Returns [`WorkbenchError`] when the measurement makes no sense on the wiring or cannot be predicted.
    pub fn foretold(&self, measurement: &Measurement) -> Result<StepView, WorkbenchError> {
        Ok(steps::own(&self.engine, &self.situation, measurement)?)
    }

    /// Returns the events a command leads to, without carrying it out.
    ///
    /// # Errors
    ///
    /// Returns [`WorkbenchError`] when the command cannot be carried out; nothing has changed then.
    pub fn decide(&self, command: &Command, now: &str) -> Result<Vec<Record>, WorkbenchError> {
        let events = decide::decide(self, command)?;
        let records: Vec<Record> =
            events.into_iter().map(|event| Record { at: now.to_owned(), event }).collect();
        // What the job would refuse must not reach the disk.
        let mut job = self.job.clone();
        records.iter().try_for_each(|record| job.push(record.clone()))?;
        Ok(records)
    }

    /// Takes in events that are on disk, and works everything out anew.
    ///
    /// # Errors
    ///
    /// Returns [`WorkbenchError`] when the events do not follow from the job.
    pub fn absorb(&mut self, records: Vec<Record>) -> Result<(), WorkbenchError> {
        let mut job = self.job.clone();
        for record in records {
            job.push(record)?;
        }
        let singles = self.singles_for(&job);
        let (engine, situation) = Situation::settled(&singles, &job, &unread)?;
        let situation = situation.proposing(&engine, &job).doubting(&engine, &job)?;
        self.view = build(&engine, &job, &situation)?;
        (self.singles, self.engine, self.situation, self.job) = (singles, engine, situation, job);
        Ok(())
    }

    /// Returns the engine of single faults with the trees that a job uses.
    fn singles_for(&self, job: &Job) -> Arc<Engine> {
        let same = job.used_trees() == self.job.used_trees();
        if same { Arc::clone(&self.singles) } else { with_used_trees(&self.first, job) }
    }

    /// Returns where a job stands that is this one with more in it, with the engine that it needs.
    fn foreseen(&self, job: &Job) -> Result<(Arc<Engine>, Situation), EngineError> {
        Situation::settled(&self.singles, job, &unread)
    }
}

/// Returns the priors that a job was started with.
fn priors_of(intake: &Intake) -> Result<Priors, Vec<Located>> {
    let built_in = Priors::built_in();
    match &intake.priors_text {
        Some(text) => built_in.with_own(&Source::new("priors.ron", text.as_str())),
        None => Ok(built_in.clone()),
    }
}

/// Returns the trees of these texts; a text that is no tree was refused when it came into the job.
fn read_trees(texts: &[String]) -> Vec<Tree> {
    let read = |text: &String| trees::load_kept(&Source::new("the job's own tree", text.as_str())).ok();
    texts.iter().filter_map(read).collect()
}

/// Returns an engine with the trees that were put to use in the course of a job, the last of them first.
fn with_used_trees(engine: &Arc<Engine>, job: &Job) -> Arc<Engine> {
    let used = read_trees(job.used_trees());
    let before = |engine: Arc<Engine>, tree: &Tree| Arc::new(engine.with_own_trees(slice::from_ref(tree)));
    used.iter().fold(Arc::clone(engine), before)
}

/// Returns the caution that a tree names by this key.
pub fn caution(key: &str) -> Option<CautionView> {
    cautions::caution(key)
}

/// Returns the belief before any evidence.
fn unread(engine: &Engine) -> Belief {
    Belief::prior(&engine.model)
}

fn stage(job: &Job) -> Stage {
    if job.closed().is_some() {
        Stage::Closed
    } else if job.repaired().is_some() {
        Stage::Proving
    } else if job.concluded().is_some() {
        Stage::Repairing
    } else {
        Stage::Finding
    }
}

fn build(engine: &Engine, job: &Job, situation: &Situation) -> Result<View, WorkbenchError> {
    let stage = stage(job);
    let chosen = job.chosen();
    let done = situation.done(job) && chosen.is_none();
    let (step, alternatives) = match stage {
        Stage::Finding => steps::steps(engine, job, situation, chosen)?,
        _ => (None, Vec::new()),
    };
    let step = step.filter(|_| !done);
    let proof = match stage {
        Stage::Proving | Stage::Closed => proof::views(engine, job)?,
        _ => Vec::new(),
    };
    let (suspects, others) = suspects::views(engine, situation);
    let finding = stage == Stage::Finding && !done;
    let intake = job.intake();
    let verdict = (stage == Stage::Finding && done)
        .then(|| suspects::verdict(engine, situation, situation.sure(job)))
        .flatten()
        .map(|verdict| doubt_words::placed(engine, job, situation, verdict))
        .transpose()?;
    let masked = if verdict.is_some() { masked::views(engine, job, situation)? } else { Vec::new() };
    Ok(View {
        stage,
        instrument: intake.instrument.clone(),
        wiring: intake.wiring.clone(),
        wiring_title: engine.harness().title.clone(),
        complaint: intake.complaint.clone(),
        symptoms: intake.symptoms.clone(),
        understood: understood(&intake.symptoms, &histories_of(&intake.last_done, &intake.complaint)),
        access: job.access(),
        cautions: cautions_due(job, situation, stage, step.as_ref(), &proof, engine),
        step,
        alternatives,
        suspects,
        others,
        outlook: finding.then(|| outlook::view(engine, situation)).flatten(),
        tone: tone::view(engine, job, situation)?,
        readings: readings(engine, job, situation),
        answers: answers(job),
        found: found::found(engine, situation),
        verdict,
        masked,
        rounds: job.rounds().iter().map(|over| round(engine, over)).collect(),
        concluded: job.concluded().map(|c| crate::job::Standing {
            probability: c.probability,
            sentence: c.sentence.clone(),
            faults: c.faults.clone(),
        }),
        repaired: job.repaired().map(|repair| repair.what.clone()),
        proof,
        closed: job.closed().map(|closing| match &closing.outcome {
            Outcome::Cured => "Closed as cured, with every proof reading in its band".to_owned(),
            Outcome::Unproven { reason } => format!("Closed unproven: {reason}"),
        }),
        doubt: situation.doubt.as_ref().map(|doubt| doubt_words::view(engine, job, doubt)),
        paper: paper::view(job),
        notices: notices::notices(engine, job, situation)?,
        minutes: job.live_readings().map(|taken| taken.seconds).sum::<f64>() / 60.0,
        can_undo: job.can_undo(),
        can_redo: job.can_redo(),
    })
}

fn round(engine: &Engine, round: &Round) -> RoundView {
    let failed = round.proofs.iter().filter(|proof| !proof.passed);
    RoundView {
        sentence: round.concluded.sentence.clone(),
        repaired: round.repaired.what.clone(),
        remains: round.remains.clone(),
        after: round.readings,
        failed: failed.map(|proof| failed_proof(engine, proof)).collect(),
    }
}

fn failed_proof(engine: &Engine, proof: &Proof) -> FailedProofView {
    let Reading { measurement, typed, shown } = &proof.reading;
    FailedProofView {
        sentence: measurement.sentence(engine.harness()),
        typed: typed.clone(),
        found: words::shown(shown),
        healthy: words::reads(engine.meter, measurement.mode, &proof.healthy),
    }
}

fn cautions_due(
    job: &Job,
    situation: &Situation,
    stage: Stage,
    step: Option<&StepView>,
    proof: &[ProofView],
    engine: &Engine,
) -> Vec<CautionView> {
    let of_tree = match &situation.tree {
        TreeState::At(tree, step) => engine.trees[*tree].step(step).and_then(|step| step.caution.as_deref()),
        _ => None,
    };
    let of_step = of_tree.filter(|_| step.is_some_and(|step| step.tree.is_some()));
    cautions::due(&cautions::Moment {
        stage,
        complaint: &job.intake().complaint,
        access: job.access(),
        measuring: step.is_some_and(|step| matches!(step.ask, Ask::Measure(_))),
        powering: next_mode(step, proof).filter(|_| stage != Stage::Closed && engine.harness().has_battery()),
        opening: step.is_some_and(|step| !step.open_first.is_empty()),
        of_step,
        seen: job.cautions_seen().iter().map(|seen| seen.key.as_str()).collect(),
    })
}

/// Returns how the next reading is taken: that of the step, or the proof reading that is still to be taken.
fn next_mode(step: Option<&StepView>, proof: &[ProofView]) -> Option<Mode> {
    let of_step = step.and_then(|step| match &step.ask {
        Ask::Measure(measurement) => Some(measurement),
        Ask::Question { .. } => None,
    });
    let of_proof = proof.iter().find(|proof| proof.passed != Some(true)).map(|proof| &proof.measurement);
    of_step.or(of_proof).map(|measurement| measurement.mode)
}

fn answers(job: &Job) -> Vec<AnswerView> {
    let view =
        |answer: &Answer| AnswerView { question: answer.question.clone(), answer: answer.answer.clone() };
    job.answers().iter().map(view).collect()
}

fn readings(engine: &Engine, job: &Job, situation: &Situation) -> Vec<ReadingView> {
    job.readings()
        .iter()
        .map(|taken| ReadingView {
            id: taken.id,
            measurement: taken.reading.measurement.clone(),
            sentence: taken.reading.measurement.sentence(engine.harness()),
            typed: taken.reading.typed.clone(),
            shown: taken.reading.shown,
            found: words::shown(&taken.reading.shown),
            healthy: words::reads(engine.meter, taken.reading.measurement.mode, &taken.healthy),
            fits_healthy: proof::within(&taken.reading.shown, &taken.healthy),
            asked_by: taken.asked_by,
            withdrawn: taken.withdrawn.is_some(),
            surprising: situation.surprising.contains(&taken.id),
        })
        .collect()
}
