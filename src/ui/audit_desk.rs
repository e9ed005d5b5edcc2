//! Carries out what the audit screen asks for.

use std::path::Path;

use super::action::{AuditAction, AuditDesk, Desk, Look, Spot};
use super::bench::Bench;
use super::start;
use super::task::Task;
use crate::workbench::{AuditReading, AuditRun, AuditView, Command};

/// Carries out one action of the audit screen, or the one that opens it; returns what is to be worked out for it.
pub fn carry_out(desk: &mut Desk, action: &AuditAction) -> Option<Task> {
    match action {
        AuditAction::Begin => return begin(desk),
        AuditAction::Record => record(desk),
        AuditAction::Save => {}
        AuditAction::StartJob => start_job(desk),
        AuditAction::Leave => desk.audit = None,
        AuditAction::Read => change(desk, |audit| audit.read += 1),
        AuditAction::Go(check) => change(desk, |audit| audit.run.go(*check)),
        AuditAction::Undo => change(desk, |audit| {
            let _ = audit.run.undo();
        }),
        AuditAction::Redo => change(desk, |audit| {
            let _ = audit.run.redo();
        }),
    }
    desk.focus = Some(if desk.audit.is_some() { Spot::Home } else { Spot::Start });
    None
}

fn begin(desk: &mut Desk) -> Option<Task> {
    desk.focus = Some(Spot::Start);
    if desk.start.wiring.is_empty() {
        desk.problem = Some("Choose the wiring first: the checks are made for it.".to_owned());
        return None;
    }
    Some(Task::Audit(Box::new(desk.start.clone())))
}

/// Opens the checks that were worked out.
pub fn show(desk: &mut Desk, view: AuditView) {
    if view.checks.is_empty() {
        desk.problem = Some("Nothing can be checked with this access: allow covers to be opened.".to_owned());
    } else {
        change(desk, |_| ());
        desk.audit = Some(AuditDesk { run: AuditRun::new(view), read: 0, picture: None });
    }
    desk.focus = Some(if desk.audit.is_some() { Spot::Home } else { Spot::Start });
}

/// Changes the audit and clears what was typed or said for the check before.
fn change(desk: &mut Desk, change: impl FnOnce(&mut AuditDesk)) {
    (desk.problem, desk.told, desk.echo) = (None, None, None);
    desk.entry.clear();
    desk.audit.as_mut().map(change).unwrap_or_default();
}

fn record(desk: &mut Desk) {
    let Some(audit) = &mut desk.audit else { return };
    let text = desk.entry.trim();
    if text.is_empty() {
        desk.problem = Some("Nothing is typed yet. What does the meter show?".to_owned());
        return;
    }
    match audit.run.record(text) {
        Ok(told) => {
            change(desk, |_| ());
            desk.told = Some(told);
        }
        Err(error) => desk.problem = Some(error.question()),
    }
}

/// Writes the list of a wiring's checks, and returns whether they are still open.
pub fn save(bench: &dyn Bench, desk: &mut Desk, wiring: &str, path: &Path) -> bool {
    let Some(audit) = desk.audit.as_ref().filter(|audit| audit.run.view().wiring == wiring) else {
        return false;
    };
    match bench.save_audit(&audit.run, path) {
        Ok(()) => desk.told = Some(format!("The list was written to {}", path.display())),
        Err(problem) => desk.problem = Some(problem),
    }
    desk.focus = Some(Spot::Home);
    true
}

/// Goes to the start form with the wiring chosen; the readings wait until the job is started.
fn start_job(desk: &mut Desk) {
    let Some(audit) = desk.audit.take() else { return };
    desk.start.wiring.clone_from(&audit.run.view().wiring);
    start::FAILED_AUDIT.clone_into(&mut desk.start.complaint);
    desk.audited = Some(audit.run);
    change(desk, |_| ());
}

/// Draws the picture anew when another check is open.
pub fn refresh(bench: &dyn Bench, desk: &mut Desk) {
    let Some(audit) = &mut desk.audit else { return };
    let at = audit.run.at();
    if audit.picture.as_ref().is_some_and(|(drawn, _)| *drawn == at) {
        return;
    }
    let probes = audit.run.check().map(|check| &check.measurement);
    let drawn = probes.and_then(|probes| bench.audit_picture(&audit.run.view().wiring, probes));
    audit.picture = drawn.map(|picture| (at, picture));
    desk.look = Look::at(desk.look.framing);
}

/// Returns the readings of an audit as commands for the job that is started for it, with the number of each check.
pub fn handed_over(run: &AuditRun) -> Vec<(usize, Command)> {
    let command = |reading: &AuditReading| {
        let measurement = run.view().checks.get(reading.check).map(|check| check.measurement.clone());
        (reading.check, Command::Record { text: reading.typed.clone(), measurement })
    };
    run.readings().map(command).collect()
}
