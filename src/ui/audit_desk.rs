//! Carries out what the audit screen asks for.

use super::action::{AuditAction, AuditDesk, Desk, Look, Spot};
use super::bench::{Bench, Dialogs};
use super::start;
use crate::workbench::{AuditRun, Command};

/// Carries out one action of the audit screen, or the one that opens it.
pub fn carry_out(bench: &mut dyn Bench, dialogs: &mut dyn Dialogs, desk: &mut Desk, action: &AuditAction) {
    match action {
        AuditAction::Begin => begin(bench, desk),
        AuditAction::Record => record(desk),
        AuditAction::Save => save(bench, dialogs, desk),
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
}

fn begin(bench: &mut dyn Bench, desk: &mut Desk) {
    if desk.start.wiring.is_empty() {
        desk.problem = Some("Choose the wiring first: the checks are made for it.".to_owned());
        return;
    }
    match bench.audit(&desk.start) {
        Ok(view) if view.checks.is_empty() => {
            desk.problem =
                Some("Nothing can be checked with this access: allow covers to be opened.".to_owned());
        }
        Ok(view) => {
            change(desk, |_| ());
            desk.audit = Some(AuditDesk { run: AuditRun::new(view), read: 0, picture: None });
        }
        Err(problem) => desk.problem = Some(problem),
    }
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

fn save(bench: &dyn Bench, dialogs: &mut dyn Dialogs, desk: &mut Desk) {
    let Some(audit) = &desk.audit else { return };
    let suggested = format!("{}-audit.html", audit.run.view().wiring);
    let Some(path) = dialogs.save_checklist(&suggested) else { return };
    match bench.save_audit(&audit.run, &path) {
        Ok(()) => desk.told = Some(format!("The list was written to {}", path.display())),
        Err(problem) => desk.problem = Some(problem),
    }
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

/// Records the readings of an audit in the job that was started for it, and returns what to say about that.
pub fn hand_over(bench: &mut dyn Bench, run: Option<&AuditRun>) -> Vec<String> {
    let Some(run) = run else { return Vec::new() };
    let mut taken = 0;
    for reading in run.readings() {
        let measurement = run.view().checks.get(reading.check).map(|check| check.measurement.clone());
        match bench.apply(Command::Record { text: reading.typed.clone(), measurement }) {
            Ok(_) => taken += 1,
            Err(problem) => {
                return vec![format!("Check {} was not taken over: {problem}", reading.check + 1)];
            }
        }
    }
    vec![format!("{taken} of the audit's readings are recorded in this job")]
}
