//! The wiring audit as a document.

use std::path::Path;

use super::{Form, SessionError, write_whole};
use crate::ticket::{CheckRow, Checklist, checklist_html, checklist_markdown};
use crate::workbench::{AuditCheck, AuditFlex, AuditRun};

/// Returns the audit as a list to tick off, with the readings taken so far.
pub fn checklist(run: &AuditRun) -> Checklist {
    let view = run.view();
    let moves = |flex: &AuditFlex| [(flex.check + 1).to_string(), lower(&flex.say)];
    Checklist {
        title: view.title.clone(),
        facts: vec![
            ("Wiring", format!("{} ({})", view.wiring, view.code)),
            ("Meter", view.meter.clone()),
            ("Checks", format!("{}. {}", view.checks.len(), view.shortness())),
            ("Time", format!("about {:.0} min, each cover opened once", view.minutes)),
            ("Start with", "every knob at 10 and every switch in its first position".to_owned()),
        ],
        cautions: view.cautions.iter().map(|caution| caution.text.clone()).collect(),
        checks: view.checks.iter().enumerate().map(|(index, check)| row(run, index, check)).collect(),
        coverage: view.coverage().map(|line| format!("{line}.")).to_vec(),
        kinds: view
            .kinds
            .iter()
            .map(|kind| [kind.kind.clone(), kind.covered.to_string(), kind.total.to_string()])
            .collect(),
        moves: view.flexed.iter().map(moves).collect(),
        missed: view.missed.iter().map(|m| [m.sentence.clone(), m.why.clone()]).collect(),
    }
}

fn row(run: &AuditRun, index: usize, check: &AuditCheck) -> CheckRow {
    let reading = run.reading(index);
    CheckRow {
        before: before(check),
        red: check.red.clone(),
        black: check.black.clone(),
        dial: check.dial.clone(),
        healthy: check.healthy.clone(),
        covers: covers(check),
        found: reading.map(|reading| reading.found.clone()).unwrap_or_default(),
        passed: reading.map(|reading| reading.passed),
    }
}

/// Returns what must be opened and moved before a check; empty when nothing.
pub fn before(check: &AuditCheck) -> String {
    let open = check.open_first.iter().cloned();
    let moved = check.controls.iter().filter(|control| control.moved);
    let moves = moved.map(|control| format!("{} to {}", control.name, control.stand));
    open.chain(moves).collect::<Vec<_>>().join("; ")
}

/// Returns what a check shows, in words: how many faults, and one of them.
pub fn covers(check: &AuditCheck) -> String {
    let faults = if check.covers == 1 { "fault" } else { "faults" };
    format!("{} {faults}, such as: {}", check.covers, check.example)
}

fn lower(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// Writes the list in the form that the file name's ending asks for, and returns how many bytes it has.
///
/// # Errors
///
/// Returns [`SessionError`] when the ending is unknown or the file cannot be written.
pub fn write_checklist(run: &AuditRun, path: &Path) -> Result<usize, SessionError> {
    let list = checklist(run);
    let text = match Form::of(path).ok_or_else(|| SessionError::Ending(path.to_owned()))? {
        Form::Markdown => checklist_markdown(&list),
        Form::Html => checklist_html(&list),
    };
    write_whole(path, text.as_bytes()).map_err(|why| SessionError::Write { path: path.to_owned(), why })?;
    Ok(text.len())
}
