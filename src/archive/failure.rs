//! What stops work inside the archive, before it is said to a person.

use std::path::Path;

use rusqlite::ErrorCode;

use super::ArchiveError;

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

/// Says to a person what the database said.
pub(super) fn told(doing: &'static str, path: &Path, why: &rusqlite::Error) -> ArchiveError {
    let (path, said) = (path.to_owned(), why.to_string());
    match why.sqlite_error_code() {
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => ArchiveError::Locked { doing, path },
        Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied | ErrorCode::CannotOpen) => {
            ArchiveError::Unwritable { doing, path, why: said }
        }
        Some(ErrorCode::DiskFull) => ArchiveError::DiskFull { doing, path },
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => ArchiveError::Damaged { path, why: said },
        _ => ArchiveError::Database { doing, path, why: said },
    }
}
