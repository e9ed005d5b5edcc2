//! A new archive that is there only once everything is in it.

use std::path::Path;

use super::failure::told;
use super::place::{discard, draft_for, publish};
use super::store::MAKING;
use super::{Archive, ArchiveError};

impl Archive {
    /// Makes a new archive, fills it under another name beside its own, and gives it its name when it is complete; `now`
    /// is kept as when it was made. Where that is broken off, no file of that name is there.
    ///
    /// # Errors
    ///
    /// When it cannot be made or filled, or a file has its name by then; nothing of it is left then.
    pub fn filled<T, E: From<ArchiveError>>(
        path: &Path,
        now: &str,
        fill: impl FnOnce(&mut Self) -> Result<T, E>,
    ) -> Result<T, E> {
        let draft = draft_for(path);
        discard(&draft);
        let filled = Self::open(&draft, now).map_err(E::from).and_then(|mut archive| {
            path.clone_into(&mut archive.path);
            let filled = fill(&mut archive)?;
            close(archive)?;
            Ok(filled)
        });
        if filled.is_err() {
            discard(&draft);
        }
        let filled = filled?;
        publish(&draft, path).map_err(|why| match why.kind() {
            std::io::ErrorKind::AlreadyExists => ArchiveError::InTheWay { path: path.to_owned() },
            _ => ArchiveError::refused(MAKING, path, why),
        })?;
        Ok(filled)
    }
}

/// Closes an archive with all of it in the one file.
fn close(archive: Archive) -> Result<(), ArchiveError> {
    let Archive { path, connection } = archive;
    let failed = |why| told(MAKING, &path, &why);
    connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).map_err(failed)?;
    connection.close().map_err(|(_, why)| failed(why))
}
