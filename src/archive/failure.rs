//! What stops work inside the archive, before it is said to a person.

use std::path::Path;

use rusqlite::ErrorCode;

use super::{ArchiveError, schema};

/// The code of a damaged index of words, <https://www.sqlite.org/rescode.html#corrupt_vtab>.
const CORRUPT_INDEX: i32 = 267;

/// What the database said, or what is said already.
#[derive(Debug)]
pub(super) enum Failure {
    /// The database refused.
    Sql(rusqlite::Error),
    /// There is nothing to add.
    Said(ArchiveError),
}

impl From<rusqlite::Error> for Failure {
    fn from(why: rusqlite::Error) -> Self {
        Self::Sql(why)
    }
}

impl From<ArchiveError> for Failure {
    fn from(why: ArchiveError) -> Self {
        Self::Said(why)
    }
}

impl Failure {
    /// Returns whether another window or program was at it, so that it is worth trying again.
    pub(super) fn busy(&self) -> bool {
        matches!(self, Self::Sql(why) if is_busy(why))
    }

    /// Returns why one job cannot be read; the failure itself where it is not about that job alone.
    pub(super) fn of_one_job(self) -> Result<String, Self> {
        self.one_job().ok_or(self)
    }

    /// Returns why one job cannot be read; nothing where the failure is not about that job alone.
    pub(super) fn one_job(&self) -> Option<String> {
        match self {
            Self::Said(ArchiveError::DamagedJob { event, .. }) => Some(format!(
                "its event {event} is not what was written, so the disk or another program changed it"
            )),
            Self::Said(ArchiveError::Log { why, .. }) => Some(why.to_string().replace('\n', "; ")),
            Self::Sql(why) if is_spoilt(why) && !of_lists(why) => {
                Some(format!("what is kept of it cannot be read ({why}); making the lists anew may mend it"))
            }
            _ => None,
        }
    }

    /// Returns what the database said of the lists themselves; the failure itself where it is about anything else.
    pub(super) fn of_lists(self) -> Result<String, Self> {
        match self {
            Self::Sql(why) if of_lists(&why) => Ok(format!("cannot be read ({why})")),
            other => Err(other),
        }
    }

    /// Says it to a person.
    pub(super) fn told(self, doing: &'static str, path: &Path) -> ArchiveError {
        match self {
            Self::Said(why) => why,
            Self::Sql(why) => told(doing, path, &why),
        }
    }
}

fn is_busy(why: &rusqlite::Error) -> bool {
    matches!(why.sqlite_error_code(), Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked))
}

/// Returns whether what stands in the database is not what this program writes there.
fn is_spoilt(why: &rusqlite::Error) -> bool {
    use rusqlite::Error::{FromSqlConversionFailure, IntegralValueOutOfRange, InvalidColumnType, Utf8Error};
    let odd = matches!(
        why,
        InvalidColumnType(..) | FromSqlConversionFailure(..) | IntegralValueOutOfRange(..) | Utf8Error(..)
    );
    odd || matches!(why.sqlite_error_code(), Some(ErrorCode::DatabaseCorrupt))
}

/// Returns whether it is a table that follows from the events that is missing or damaged.
fn of_lists(why: &rusqlite::Error) -> bool {
    why.sqlite_extended_error_code() == Some(CORRUPT_INDEX) || schema::of_lists(&why.to_string())
}

/// Says to a person what the database said.
pub(super) fn told(doing: &'static str, path: &Path, why: &rusqlite::Error) -> ArchiveError {
    let (path, said) = (path.to_owned(), why.to_string());
    if of_lists(why) {
        return ArchiveError::Lists { doing, path, why: said };
    }
    match why.sqlite_error_code() {
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => ArchiveError::Locked { doing, path },
        Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied | ErrorCode::CannotOpen) => {
            ArchiveError::Unwritable { doing, path, why: said }
        }
        Some(ErrorCode::DiskFull) => ArchiveError::DiskFull { doing, path },
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => {
            ArchiveError::Damaged { path, why: said }
        }
        _ => ArchiveError::Database { doing, path, why: said },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    /// The result codes are those of <https://www.sqlite.org/rescode.html>.
    #[rstest]
    #[case(5, "another window or program is using it")]
    #[case(6, "another window or program is using it")]
    #[case(8, "may not be written")]
    #[case(14, "may not be written")]
    #[case(13, "the disk is full")]
    #[case(267, "past rebuild")]
    #[case(11, "restore the newest backup")]
    #[case(26, "restore the newest backup")]
    #[case(10, "check the archive")]
    fn each_refusal_says_what_to_do(#[case] code: i32, #[case] says: &str) {
        let why = rusqlite::Error::SqliteFailure(rusqlite::ffi::Error::new(code), None);
        let failure = Failure::from(why);
        assert_eq!(failure.busy(), matches!(code, 5 | 6));
        let message = failure.told("add to the archive", Path::new("jobs.archive")).to_string();
        assert!(message.contains(says) && message.contains("jobs.archive"), "{message}");
        assert!(message.contains("\nhint: "), "{message}");
    }
}
