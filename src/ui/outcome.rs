//! What came of a task that was done here and now, as one answer.

use super::task::Done;
use crate::workbench::AuditView;

/// Returns what a person must know about a job that was opened, or why it was not.
pub(super) fn opened(done: Vec<Done>) -> Result<Vec<String>, String> {
    let found = |done: Done| match done {
        Done::Opened(notices) => Some(Ok(notices)),
        Done::Failed(why) => Some(Err(why)),
        _ => None,
    };
    last(done, found, "the job was not opened")
}

/// Returns what came of a command or a wish, in words.
pub(super) fn outcome(done: Vec<Done>) -> Result<String, String> {
    let said = |done: Done| match done {
        Done::Shown(told) => Some(Ok(told)),
        Done::Refused(why) | Done::Broke(why) | Done::Failed(why) => Some(Err(why)),
        _ => None,
    };
    last(done, said, "nothing was done")
}

/// Returns the checks of a fresh wiring, or why they could not be worked out.
pub(super) fn audited(done: Vec<Done>) -> Result<AuditView, String> {
    let found = |done: Done| match done {
        Done::Audited(view) => Some(Ok(*view)),
        Done::Failed(why) | Done::Broke(why) => Some(Err(why)),
        _ => None,
    };
    last(done, found, "nothing was worked out")
}

/// Returns the last answer among what was done.
fn last<T>(
    done: Vec<Done>,
    answer: impl Fn(Done) -> Option<Result<T, String>>,
    none: &str,
) -> Result<T, String> {
    done.into_iter().rev().find_map(answer).unwrap_or_else(|| Err(none.to_owned()))
}
