//! The thin line between the command line and the engine: every call into the rooms that compute goes through here.

use std::path::Path;

use super::failure::Failure;
use crate::circuit::Harness;
use crate::job::{Band, Intake};
use crate::readings::Measurement;
use crate::source::Source;
use crate::trees;
use crate::workbench::{Command, View};

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
}

/// What a ticket is written as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Form {
    /// Markdown.
    Markdown,
    /// One self-contained web page.
    Html,
}

fn not_yet(what: &str) -> Failure {
    Failure::new(format!("cannot {what}: this build lacks that part"))
}

/// Returns the file name and text of every wiring that comes with the program.
pub(super) fn built_in() -> Vec<(&'static str, &'static str)> {
    Vec::new()
}

/// Reads and checks a wiring file.
pub(super) fn read_wiring(source: &Source) -> Result<Harness, Failure> {
    let _ = source;
    Err(not_yet("read a wiring file"))
}

/// Reads and checks a tree file; returns what it holds in a few words.
pub(super) fn check_tree(source: &Source) -> Result<String, Failure> {
    let tree = trees::load(source)?;
    Ok(format!("tree \"{}\", {} steps", tree.name, tree.steps.len()))
}

/// Returns every fault of a wiring.
pub(super) fn faults(harness: &Harness) -> Result<Vec<FaultRow>, Failure> {
    let _ = harness;
    Err(not_yet("derive the faults"))
}

/// Returns what the meter should show, healthy or with one fault.
pub(super) fn predict(
    harness: &Harness,
    measurement: &Measurement,
    fault: Option<&str>,
) -> Result<Band, Failure> {
    let _ = (harness, measurement, fault);
    Err(not_yet("predict a reading"))
}

/// Returns a SPICE deck of a measurement, healthy or with one fault.
pub(super) fn netlist(
    harness: &Harness,
    measurement: &Measurement,
    fault: Option<&str>,
) -> Result<String, Failure> {
    let _ = (harness, measurement, fault);
    Err(not_yet("write a netlist"))
}

/// Makes a job file and returns how the job stands. `now` is RFC 3339 text.
pub(super) fn start(job: &Path, intake: Intake, now: &str) -> Result<View, Failure> {
    let _ = (job, intake, now);
    Err(not_yet("start a job"))
}

/// Opens a job file and returns how the job stands.
pub(super) fn look(job: &Path) -> Result<View, Failure> {
    let _ = job;
    Err(not_yet("open a job"))
}

/// Applies one command to a job file and returns how the job stands then. `now` is RFC 3339 text.
pub(super) fn apply(job: &Path, command: Command, now: &str) -> Result<View, Failure> {
    let _ = (job, command, now);
    Err(not_yet("go on with a job"))
}

/// Returns the ticket of a job file.
pub(super) fn ticket(job: &Path, form: Form) -> Result<String, Failure> {
    let _ = (job, form);
    Err(not_yet("write a ticket"))
}
