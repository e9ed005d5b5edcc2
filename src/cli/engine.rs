//! The thin line between the command line and the engine: every call into the rooms that compute goes through here.

use std::sync::Arc;

use std::path::Path;

use super::failure::Failure;
use crate::circuit::{self, Harness};
use crate::draw::Sight;
use crate::job::{Band, Intake, Job, Record};
use crate::readings::{Access, Measurement, Meter, Symptom};
use crate::session::{self, Form, PastJobs, PrintedTicket, Session, SessionError};
use crate::source::{Located, Source};
use crate::ticket::{Paper, TicketCopy};
use crate::trees;
use crate::treework::{self, Checked, Played};
use crate::trial::{self, Bound, Outcome, Setup, TrialError};
use crate::units::Hertz;
use crate::workbench::{
    AuditView, Command, Engine, EngineError, Listening, Priors, Response, Telling, View, WorkbenchError,
    tell_apart as tell_apart_with,
};

/// A fault as `faults` lists it.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub(super) struct FaultRow {
    /// The id, which reads like a place.
    pub id: String,
    /// A plain sentence.
    pub sentence: String,
    /// Probability before anything is known.
    pub prior: f64,
    /// The ambiguity group: faults with one group can be told apart by no measurement.
    pub group: String,
    /// Where the prior comes from.
    pub source: String,
    /// What mends it.
    pub repair: String,
    /// Hands-on minutes of the repair once its place is open.
    pub minutes: u32,
}

impl From<EngineError> for Failure {
    fn from(error: EngineError) -> Self {
        match error {
            EngineError::Wiring(located) | EngineError::Priors(located) | EngineError::Tree(located) => {
                located.into()
            }
            other => Self::told(&other),
        }
    }
}

impl From<WorkbenchError> for Failure {
    fn from(error: WorkbenchError) -> Self {
        SessionError::from(error).into()
    }
}

impl From<SessionError> for Failure {
    fn from(error: SessionError) -> Self {
        match error {
            SessionError::Tree(located) => located.into(),
            SessionError::Shop(located) => located.into(),
            SessionError::Workbench(WorkbenchError::Engine(error)) => error.into(),
            other => Self::told(&other),
        }
    }
}

/// Returns the file name and text of every wiring that comes with the program.
pub(super) fn built_in() -> Vec<(&'static str, &'static str)> {
    circuit::built_in().to_vec()
}

/// Reads and checks a wiring file.
pub(super) fn read_wiring(source: &Source) -> Result<Harness, Failure> {
    Ok(circuit::load(source)?)
}

/// Returns what tells wirings apart that look alike from outside.
pub(super) fn tell_apart(wirings: &[Harness]) -> Result<Vec<Telling>, Failure> {
    tell_apart_with(wirings, Meter::ordinary()).map_err(|error| Failure::told(&error))
}

/// Reads and checks a tree file against every wiring that comes with the program; returns what it holds.
pub(super) fn check_tree(source: &Source) -> Result<String, Failure> {
    let tree = match trees::examine(source) {
        Ok((tree, mistakes)) if mistakes.is_empty() => tree,
        Ok((_, mistakes)) | Err(mistakes) => {
            return Err(mistakes.into_iter().map(|mistake| mistake.at).collect::<Vec<Located>>().into());
        }
    };
    for (name, text) in circuit::built_in() {
        engine(&Source::new(*name, *text), std::slice::from_ref(&tree))?;
    }
    Ok(format!("tree \"{}\", {} steps", tree.name, tree.steps.len()))
}

/// Returns every fault of a wiring.
pub(super) fn faults(wiring: &Source, priors: &Priors) -> Result<Vec<FaultRow>, Failure> {
    let engine = prepared(wiring, Meter::ordinary(), &[], priors)?;
    let rows = engine.model.catalogue.faults.iter().zip(&engine.groups.of_fault);
    Ok(rows
        .map(|(fault, group)| FaultRow {
            id: fault.id.clone(),
            sentence: fault.sentence.clone(),
            prior: fault.prior,
            group: format!("G{}", group + 1),
            source: fault.source.clone(),
            repair: fault.repair.text.clone(),
            minutes: fault.repair.minutes,
        })
        .collect())
}

/// Returns the smallest list of checks that proves a wiring whole.
pub(super) fn audit(wiring: &Source, access: Access) -> Result<AuditView, Failure> {
    Ok(engine(wiring, &[])?.audit(access)?)
}

/// What the meter should show.
pub(super) struct Foretold {
    /// The reading.
    pub band: Band,
    /// What is read at 0 and at 10 of a swept knob.
    pub ends: Option<[Band; 2]>,
}

/// Returns what the meter should show, healthy or with one fault.
pub(super) fn predict(
    wiring: &Source,
    measurement: &Measurement,
    fault: Option<&str>,
) -> Result<Foretold, Failure> {
    let engine = engine(wiring, &[])?;
    let reads = |asked: &Measurement| match fault {
        Some(fault) => engine.predict(asked, fault),
        None => engine.healthy(asked),
    };
    let band = reads(measurement)?;
    let ends = match measurement.ends() {
        Some([from, to]) => Some([reads(&from)?, reads(&to)?]),
        None => None,
    };
    Ok(Foretold { band, ends })
}

/// Returns a SPICE deck of a measurement, healthy or with one fault.
pub(super) fn netlist(
    wiring: &Source,
    measurement: &Measurement,
    fault: Option<&str>,
) -> Result<String, Failure> {
    let engine = engine(wiring, &[])?;
    engine.netlist(measurement, fault)?.ok_or_else(|| {
        Failure::new("cannot write a deck: there is no path between the probes, the meter shows over range")
            .with_hint(
                "a circuit simulator cannot solve what floats; `lugwise predict` says the same without one",
            )
    })
}

/// What reaches the cable's end, and between which frequencies the healthy peak of such instruments lies.
pub(super) struct Heard {
    /// What a healthy instrument gives.
    pub healthy: Response,
    /// Between which frequencies the peaks of healthy ones lie.
    pub peaks: Option<[Hertz; 2]>,
    /// What it gives with the fault.
    pub faulty: Option<Response>,
}

/// Returns what reaches the cable's end of a healthy instrument, and of one with a fault if one is named.
pub(super) fn heard(wiring: &Source, listening: &Listening, fault: Option<&str>) -> Result<Heard, Failure> {
    let engine = engine(wiring, &[])?;
    let healthy = engine.response(listening, None)?;
    let peaks = healthy.peak.map(|peak| engine.peak_band(listening, peak)).transpose()?.flatten();
    let faulty = fault.map(|fault| engine.response(listening, Some(fault))).transpose()?;
    Ok(Heard { healthy, peaks, faulty })
}

fn engine(wiring: &Source, trees: &[trees::Tree]) -> Result<Engine, Failure> {
    prepared(wiring, Meter::ordinary(), trees, Priors::built_in())
}

/// Returns the engine of a wiring, a class of meter, some trees and priors.
pub(super) fn prepared(
    wiring: &Source,
    meter: &'static Meter,
    trees: &[trees::Tree],
    priors: &Priors,
) -> Result<Engine, Failure> {
    Ok(Engine::with_priors(wiring, meter, trees, priors)?)
}

/// Plays the bench for simulated instruments; `progress` is told how many of how many are done.
pub(super) fn trial(
    engine: &Arc<Engine>,
    setup: &Setup,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Result<Vec<Outcome>, Failure> {
    trial::run(engine, setup, progress).map_err(untried)
}

/// Plays whole visits of simulated instruments; `progress` is told how many of how many are done.
pub(super) fn visits(
    engine: &Arc<Engine>,
    intake: &Intake,
    seeds: &[u64],
    threads: usize,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Result<Vec<Vec<Record>>, Failure> {
    trial::visits(engine, intake, seeds, threads, progress).map_err(untried)
}

fn untried(error: TrialError) -> Failure {
    match error {
        TrialError::Engine(error) => error.into(),
        other => Failure::told(&other),
    }
}

/// Returns what no way of working can do better than.
pub(super) fn trial_bound(engine: &Engine) -> Bound {
    trial::bound(engine)
}

/// Returns the engine of a wiring that trees are held against.
pub(super) fn tree_engine(wiring: &Source) -> Result<Arc<Engine>, Failure> {
    engine(wiring, &[]).map(Arc::new)
}

/// Holds a tree against circuits; `others` are the trees that it may lead to.
pub(super) fn tree_checked(
    tree: &Source,
    others: &[trees::Tree],
    engines: &[Arc<Engine>],
    watch: &dyn Fn(usize, usize),
) -> Checked {
    treework::check(tree, others, engines, watch)
}

/// Returns whether a tree's text is right enough for circuits to say more about it.
pub(super) fn tree_can_be_held(tree: &Source) -> bool {
    treework::can_be_held(tree)
}

/// Plays jobs with a tree and with the advisor alone.
pub(super) fn tree_played(
    tree: &trees::Tree,
    engine: &Arc<Engine>,
    jobs_and_threads: (usize, usize),
    watch: &(dyn Fn(usize, usize) + Sync),
) -> Result<Played, Failure> {
    treework::play(tree, engine, jobs_and_threads, watch).map_err(untried)
}

/// Judges a tree that is slow by estimates by a few played jobs.
pub(super) fn tree_settled(
    checked: Checked,
    tree: &trees::Tree,
    engines: &[Arc<Engine>],
    threads: usize,
    watch: &(dyn Fn(usize, usize) + Sync),
) -> Result<Checked, Failure> {
    treework::settled(checked, tree, engines, threads, watch).map_err(untried)
}

/// Grows a tree of so many steps at most for a complaint.
pub(super) fn tree_grown(
    engine: &Engine,
    complaint: Symptom,
    steps: usize,
    watch: &dyn Fn(usize),
) -> Result<trees::Tree, Failure> {
    treework::grow(engine, complaint, steps, watch).map_err(|error| Failure::told(&error))
}

/// Makes a job file and returns how the job stands.
pub(super) fn start(job: &Path, intake: Intake) -> Result<View, Failure> {
    Ok(Session::start(job, intake)?.kept_in(&PastJobs::usual()).view().clone())
}

/// Opens a job file and keeps the job among past jobs too.
fn open(job: &Path) -> Result<(Session, Vec<String>), Failure> {
    let (session, notices) = Session::open(job)?;
    Ok((session.kept_in(&PastJobs::usual()), notices))
}

/// Opens a job file and returns how the job stands.
pub(super) fn look(job: &Path) -> Result<View, Failure> {
    let (session, notices) = open(job)?;
    Ok(noticed(session.view(), notices))
}

/// Applies one command to a job file and returns how the job stands then.
///
/// Whoever records a reading from the shell has had the cautions printed with the step before: they count as read.
pub(super) fn apply(job: &Path, command: &Command) -> Result<View, Failure> {
    let (mut session, notices) = open(job)?;
    if matches!(
        command,
        Command::Record { .. } | Command::Answer { .. } | Command::Repair { .. } | Command::Prove { .. }
    ) {
        // A command that is refused leaves the file as it was.
        session.bench().decide(command, "")?;
        for caution in session.view().cautions.clone() {
            session.apply(&Command::SeeCaution { key: caution.key })?;
        }
    }
    session.apply(command)?;
    Ok(noticed(session.view(), notices))
}

fn noticed(view: &View, notices: Vec<String>) -> View {
    let mut view = view.clone();
    view.notices.extend(notices);
    view
}

/// Does something to a job file and returns how the job stands then.
pub(super) fn change(
    job: &Path,
    change: impl FnOnce(&mut Session) -> Result<(), SessionError>,
) -> Result<View, Failure> {
    let (mut session, notices) = open(job)?;
    change(&mut session)?;
    Ok(noticed(session.view(), notices))
}

/// Returns the job of a job file.
pub(super) fn job(job: &Path) -> Result<Job, Failure> {
    Ok(open(job)?.0.bench().job().clone())
}

/// Returns the ticket of a job file as a PDF file, with the shop's own letterhead.
pub(super) fn ticket_pdf(
    job: &Path,
    copy: TicketCopy,
    paper: Option<Paper>,
    sight: Sight,
) -> Result<PrintedTicket, Failure> {
    Ok(open(job)?.0.ticket_pdf(copy, paper, &session::shop()?, sight)?)
}

/// Returns the ticket of a job file.
pub(super) fn ticket(job: &Path, form: Form, sight: Sight) -> Result<String, Failure> {
    Ok(open(job)?.0.ticket_seen(form, sight)?)
}
