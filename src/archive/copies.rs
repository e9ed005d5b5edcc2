//! Backups of the archive, and putting one back.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags};

use super::check::{self, through};
use super::failure::told;
use super::place::{discard, draft_for, publish, set_aside};
use super::{Archive, ArchiveError, Counts, LeftOut, Looked};

const BACKING_UP: &str = "back up the archive to";
const RESTORING: &str = "restore the archive";
/// How often a copy is tried while another window keeps the archive busy.
const TRIES: u32 = 50;

/// What was put back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Restored {
    /// How much the archive holds now.
    pub holds: Counts,
    /// Jobs that are damaged in it, as they were in the backup.
    pub damaged: Vec<LeftOut>,
    /// Where the archive is that was there before.
    pub set_aside: Option<PathBuf>,
}

impl Archive {
    /// Copies the archive to a new file while it is in use, looks the copy through, and returns how much it holds. Jobs
    /// that are damaged are copied as they stand, and named.
    ///
    /// # Errors
    ///
    /// When a file with this name is there, or the copy cannot be written or does not hold the same; no file is left then.
    pub fn backup(&self, to: &Path) -> Result<Looked, ArchiveError> {
        let failed = |why| told(BACKING_UP, to, &why);
        refuse_existing(to)?;
        let moment = self.connection.unchecked_transaction().map_err(failed)?;
        let expected = through(&moment, &self.path)?;
        let draft = draft_for(to);
        let copied = copy(&moment, &draft).map_err(failed).and_then(|()| holds(&draft, &expected));
        finish(&draft, to, BACKING_UP, copied)
    }

    /// Returns how many jobs have lost their customer in this archive and have one in a backup of it.
    ///
    /// # Errors
    ///
    /// When either cannot be read.
    pub fn names_in(&self, backup: &Path) -> Result<usize, ArchiveError> {
        let gone: Vec<String> =
            self.rows("SELECT uid FROM job WHERE removed_at IS NOT NULL", &[], |row| row.get(0))?;
        let gone: BTreeSet<String> = gone.into_iter().collect();
        check::file(backup)?;
        let failed = |why| told(RESTORING, backup, &why);
        let source = check::reading(backup)?;
        let sql = "SELECT uid FROM job WHERE removed_at IS NULL";
        let mut named = source.prepare(sql).map_err(failed)?;
        let named = named.query_map([], |row| row.get::<_, String>(0)).map_err(failed)?;
        let named = named.collect::<Result<Vec<_>, _>>().map_err(failed)?;
        Ok(named.iter().filter(|uid| gone.contains(*uid)).count())
    }

    /// Puts a backup in the place of an archive, which is set aside if it is there. The backup is looked through first;
    /// jobs that are damaged in it are named. No window may have the archive open.
    ///
    /// # Errors
    ///
    /// When the backup is no sound archive, when a window has the archive open, or when it cannot be written; the archive
    /// is as before then.
    pub fn restore(from: &Path, to: &Path) -> Result<Restored, ArchiveError> {
        check::file(from)?;
        let source = check::reading(from)?;
        check::database(&source, from, false)?;
        let expected = through(&source, from)?;
        refuse_in_use(to)?;
        let draft = draft_for(to);
        let copied = copy(&source, &draft)
            .map_err(|why| told(RESTORING, to, &why))
            .and_then(|()| holds(&draft, &expected));
        if copied.is_err() {
            discard(&draft);
        }
        let holds = copied?;
        let set_aside = old(to)?;
        let put = finish(&draft, to, RESTORING, Ok(holds));
        if let (Err(_), Some(aside)) = (&put, &set_aside) {
            let _ = std::fs::rename(aside, to);
        }
        put.map(|looked| Restored { holds: looked.holds, damaged: looked.damaged, set_aside })
    }
}

fn refuse_existing(path: &Path) -> Result<(), ArchiveError> {
    match path.try_exists() {
        Ok(false) => Ok(()),
        Ok(true) => Err(ArchiveError::InTheWay { path: path.to_owned() }),
        Err(why) => Err(ArchiveError::refused(BACKING_UP, path, why)),
    }
}

fn refuse_in_use(path: &Path) -> Result<(), ArchiveError> {
    if !path.exists() || alone(path).unwrap_or(true) {
        return Ok(());
    }
    Err(ArchiveError::Locked { doing: RESTORING, path: path.to_owned() })
}

/// Returns whether no window has a database open; an error when it is none.
fn alone(path: &Path) -> rusqlite::Result<bool> {
    let connection = check::careful(path)?;
    connection.busy_timeout(Duration::from_millis(100))?;
    connection.execute_batch("PRAGMA locking_mode = EXCLUSIVE;")?;
    match connection.execute_batch("SELECT count(*) FROM sqlite_schema;") {
        Err(why) if why.sqlite_error_code() == Some(rusqlite::ErrorCode::DatabaseBusy) => Ok(false),
        done => done.map(|()| true),
    }
}

fn old(to: &Path) -> Result<Option<PathBuf>, ArchiveError> {
    if !to.exists() {
        return Ok(None);
    }
    set_aside(to).map(Some).map_err(|why| ArchiveError::refused(RESTORING, to, why))
}

/// Copies a whole database as it stands at one moment.
fn copy(from: &Connection, draft: &Path) -> rusqlite::Result<()> {
    let flags =
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    discard(draft);
    let mut to = Connection::open_with_flags(draft, flags)?;
    {
        let backup = Backup::new(from, &mut to)?;
        let mut tries = 0;
        while backup.step(-1)? != StepResult::Done && tries < TRIES {
            tries += 1;
            sleep(Duration::from_millis(100));
        }
    }
    to.close().map_err(|(_, why)| why)
}

/// Refuses a copy that does not hold the same as the original, byte for byte.
fn holds(draft: &Path, expected: &Looked) -> Result<Looked, ArchiveError> {
    check::file(draft)?;
    let found = through(&check::reading(draft)?, draft)?;
    if found.holds_the_same(expected) {
        return Ok(found);
    }
    Err(ArchiveError::BadCopy { path: draft.to_owned(), found: found.holds, expected: expected.holds })
}

/// Gives a good copy its name; deletes a bad one.
fn finish(
    draft: &Path,
    to: &Path,
    doing: &'static str,
    copied: Result<Looked, ArchiveError>,
) -> Result<Looked, ArchiveError> {
    if copied.is_err() {
        discard(draft);
    }
    let looked = copied?;
    publish(draft, to).map_err(|why| match why.kind() {
        std::io::ErrorKind::AlreadyExists => ArchiveError::InTheWay { path: to.to_owned() },
        _ => ArchiveError::refused(doing, to, why),
    })?;
    Ok(looked)
}
