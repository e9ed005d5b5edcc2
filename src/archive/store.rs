//! The archive: one database of all jobs. What was acknowledged is on the disk.

use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags, Row, Transaction, TransactionBehavior, params, params_from_iter};

use super::failure::{Failure, told};
use super::log::{Found, Log, count};
use super::place::{discard, draft_for, frozen, has_companions, publish};
use super::{ArchiveError, Counts, LeftOut, Looked, check, kept, schema};
use crate::job::{Job, Record};

pub(super) const MAKING: &str = "make the archive";
pub(super) const OPENING: &str = "open the archive";
pub(super) const CHECKING: &str = "check the archive";
pub(super) const READING: &str = "read the archive";
const ADDING: &str = "add to the archive";
const REBUILDING: &str = "rebuild the archive";

/// How long one attempt waits for another window.
const PATIENCE: Duration = Duration::from_secs(2);
/// How often a write is tried again when another window was at it.
const TRIES: u32 = 1;
/// Bytes in a page of a new archive: an event that does not fit into a quarter of a page takes whole pages of its own.
const PAGE: i64 = 16_384;
/// What each connection is told. What is deleted is overwritten, and a commit waits for the disk.
const MANNERS: &str = "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON; \
                       PRAGMA secure_delete = ON; PRAGMA trusted_schema = OFF; PRAGMA cache_size = -65536; \
                       PRAGMA wal_autocheckpoint = 250;";

/// The same for an archive that is only read.
const READING_MANNERS: &str = "PRAGMA trusted_schema = OFF; PRAGMA cache_size = -65536;";

/// The archive of past jobs, open for reading and writing.
///
/// Several windows may have the same archive open: each write is one transaction that waits for the others, and
/// [`Archive::append`] notices when another window added to the same job.
#[derive(Debug)]
pub struct Archive {
    pub(super) path: PathBuf,
    pub(super) connection: Connection,
}

impl Archive {
    /// Opens an archive, or makes a new one where there is no file yet; `now` is kept as when it was made. One that may
    /// not be written, or whose folder may not, is opened for reading alone: each write is refused then.
    ///
    /// # Errors
    ///
    /// When the file is no archive, is damaged, was written by a newer program, cannot be made, or cannot be read; it is
    /// not changed then.
    pub fn open(path: &Path, now: &str) -> Result<Self, ArchiveError> {
        if !path.try_exists().map_err(|why| ArchiveError::refused(OPENING, path, why))? {
            make(path, now)?;
        }
        let look_through = check::file(path)?;
        if frozen(path) {
            return Self::for_reading(path);
        }
        match Self::for_writing(path, look_through) {
            Err(ArchiveError::Unwritable { .. }) if !has_companions(path) => Self::for_reading(path),
            opened => opened,
        }
    }

    fn for_writing(path: &Path, look_through: bool) -> Result<Self, ArchiveError> {
        let failed = |why| told(OPENING, path, &why);
        let mut connection = check::careful(path).map_err(failed)?;
        connection.busy_timeout(PATIENCE).map_err(failed)?;
        check::database(&connection, path, look_through)?;
        settle(&mut connection).map_err(failed)?;
        let mut archive = Self { path: path.to_owned(), connection };
        archive.catch_up()?;
        Ok(archive)
    }

    /// Makes anew what follows from the events where an older program kept less of it. A job that is damaged stays as it
    /// is.
    fn catch_up(&mut self) -> Result<(), ArchiveError> {
        let kept = schema::kept_for(&self.connection).map_err(|why| told(OPENING, &self.path, &why))?;
        if kept == schema::known() {
            return Ok(());
        }
        let caught_up = self.write(OPENING, |transaction| {
            if schema::kept_for(transaction)? == schema::known() {
                return Ok(());
            }
            for found in Found::all(transaction)? {
                let made =
                    Log::read(transaction, &found).and_then(|log| kept::renew(transaction, &found, &log));
                made.or_else(|failure| failure.of_one_job().map(drop))?;
            }
            Ok(schema::keeps(transaction)?)
        });
        match caught_up {
            Err(ArchiveError::Lists { .. }) => self.rebuild().map(drop),
            done => done,
        }
    }

    fn for_reading(path: &Path) -> Result<Self, ArchiveError> {
        let connection = check::reading(path)?;
        check::database(&connection, path, false)?;
        connection.execute_batch(READING_MANNERS).map_err(|why| told(OPENING, path, &why))?;
        Ok(Self { path: path.to_owned(), connection })
    }

    /// Returns where the archive is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Adds events to a job, all or none; when it returns they are on the disk. A new job is begun with `expected` 0 and
    /// the name that [`super::uid_of`] gives to its first event.
    ///
    /// # Errors
    ///
    /// When the job has not `expected` events, since another window added to it, when the events do not fit it, or when
    /// the archive cannot be written; then nothing was added.
    pub fn append(&mut self, uid: &str, expected: usize, events: &[Record]) -> Result<(), ArchiveError> {
        let new = Log::of(events).map_err(|why| ArchiveError::Log { uid: uid.to_owned(), why })?;
        if events.is_empty() {
            return Ok(());
        }
        self.write(ADDING, |transaction| {
            let found = for_adding(transaction, uid, expected)?;
            let mut log = Log::read(transaction, &found)?;
            log.lines.extend(new.lines.iter().cloned());
            log.records.extend(new.records.iter().cloned());
            log.write(transaction, found.id, expected)?;
            kept::renew(transaction, &found, &log)
        })
    }

    /// Returns a job by folding its events.
    ///
    /// # Errors
    ///
    /// When there is no such job, or its events are not what was written.
    pub fn job(&self, uid: &str) -> Result<Job, ArchiveError> {
        let log = self.log(uid)?;
        log.job().map_err(|why| ArchiveError::Log { uid: uid.to_owned(), why })
    }

    /// Returns how many events a job has; none when there is no such job.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read.
    pub fn events(&self, uid: &str) -> Result<usize, ArchiveError> {
        let found = Found::named(&self.connection, uid).map_err(|why| told(READING, &self.path, &why))?;
        Ok(found.and_then(|found| usize::try_from(found.events).ok()).unwrap_or(0))
    }

    /// Returns a job as the text of a job file.
    ///
    /// # Errors
    ///
    /// When there is no such job, or its events are not what was written.
    pub fn export_file(&self, uid: &str) -> Result<String, ArchiveError> {
        Ok(self.log(uid)?.text())
    }

    /// Keeps what a job's repair cost, in the smallest unit of the shop's money; `None` when it is not known. The bill of a
    /// job that has one takes its place at the job's next event.
    ///
    /// # Errors
    ///
    /// When there is no such job, or the archive cannot be written.
    pub fn set_price(&mut self, uid: &str, price: Option<i64>) -> Result<(), ArchiveError> {
        self.write(ADDING, |transaction| {
            let id = Found::expected(transaction, uid)?.id;
            transaction.execute("UPDATE job SET price = ?2 WHERE id = ?1", params![id, price])?;
            Ok(())
        })
    }

    /// Keeps that a job is done under the warranty of an earlier one; `None` takes that back. The earlier job that the
    /// events name takes its place at the job's next event.
    ///
    /// # Errors
    ///
    /// When there is no such job, or the archive cannot be written.
    pub fn set_warranty(&mut self, uid: &str, earlier: Option<&str>) -> Result<(), ArchiveError> {
        self.write(ADDING, |transaction| {
            let id = Found::expected(transaction, uid)?.id;
            if let Some(earlier) = earlier {
                Found::expected(transaction, earlier)?;
            }
            transaction.execute("UPDATE job SET warranty_of = ?2 WHERE id = ?1", params![id, earlier])?;
            Ok(())
        })
    }

    /// Makes everything anew that follows from the events: the tables themselves, lists, figures and the index of words.
    /// Returns the jobs whose events are not what was written; lists and search are without these.
    ///
    /// # Errors
    ///
    /// When the archive cannot be written; then nothing was changed.
    pub fn rebuild(&mut self) -> Result<Vec<LeftOut>, ArchiveError> {
        self.write(REBUILDING, |transaction| {
            schema::renew(transaction)?;
            let mut damaged = Vec::new();
            for found in Found::all(transaction)? {
                let read = Log::read(transaction, &found);
                if let Err(failure) = read.and_then(|log| kept::renew(transaction, &found, &log)) {
                    damaged.push(LeftOut { why: failure.of_one_job()?, uid: found.uid });
                }
            }
            schema::keeps(transaction)?;
            Ok(damaged)
        })
    }

    /// Looks the whole archive through: its structure, and every event against its checksum.
    ///
    /// # Errors
    ///
    /// When it is damaged, with the first thing that is wrong.
    pub fn check(&self) -> Result<Counts, ArchiveError> {
        check::whole(&self.connection, &self.path)
    }

    /// Does the same, but names every job that is damaged instead of stopping at the first.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read, or its structure is damaged.
    pub fn look_through(&self) -> Result<Looked, ArchiveError> {
        check::through(&self.connection, &self.path)
    }

    fn log(&self, uid: &str) -> Result<Log, ArchiveError> {
        let read = || Log::read(&self.connection, &Found::expected(&self.connection, uid)?);
        self.steady(read).map_err(|failure| failure.told(READING, &self.path))
    }

    /// Reads several things as they stand at one moment.
    pub(super) fn steady<T>(&self, read: impl FnOnce() -> Result<T, Failure>) -> Result<T, Failure> {
        let moment = self.connection.unchecked_transaction()?;
        let found = read()?;
        moment.commit()?;
        Ok(found)
    }

    /// Does work on the archive, all or nothing, alone, and again when another window was at it.
    pub(super) fn write<T>(
        &mut self,
        doing: &'static str,
        work: impl Fn(&Transaction<'_>) -> Result<T, Failure>,
    ) -> Result<T, ArchiveError> {
        let mut tries = 0;
        loop {
            match once(&mut self.connection, &work) {
                Err(failure) if failure.busy() && tries < TRIES => tries += 1,
                done => return done.map_err(|failure| failure.told(doing, &self.path)),
            }
            sleep(Duration::from_millis(50) * tries);
        }
    }

    /// Returns every row that a query finds.
    pub(super) fn rows<T>(
        &self,
        sql: &str,
        values: &[String],
        read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Vec<T>, ArchiveError> {
        let all = || -> rusqlite::Result<Vec<T>> {
            let mut statement = self.connection.prepare(sql)?;
            statement.query_map(params_from_iter(values), read)?.collect()
        };
        all().map_err(|why| told(READING, &self.path, &why))
    }
}

fn once<T>(
    connection: &mut Connection,
    work: &impl Fn(&Transaction<'_>) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let done = work(&transaction)?;
    transaction.commit()?;
    Ok(done)
}

fn settle(connection: &mut Connection) -> rusqlite::Result<()> {
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false)?;
    connection.execute_batch(MANNERS)?;
    schema::migrate(connection)
}

/// Finds the job to add to, or begins it.
fn for_adding(transaction: &Transaction<'_>, uid: &str, expected: usize) -> Result<Found, Failure> {
    let found = match Found::named(transaction, uid)? {
        None if expected == 0 => Found::made(transaction, uid, None)?,
        None => return Err(ArchiveError::NoSuchJob { uid: uid.to_owned() }.into()),
        Some(found) => found,
    };
    if found.removed_at.is_some() {
        return Err(ArchiveError::CustomerGone { uid: uid.to_owned() }.into());
    }
    if found.events == count(expected) {
        return Ok(found);
    }
    let (uid, has) = (uid.to_owned(), usize::try_from(found.events).unwrap_or_default());
    Err(ArchiveError::Moved { uid, expected, found: has }.into())
}

/// Makes a new archive under another name and gives it its own when it is complete.
fn make(path: &Path, now: &str) -> Result<(), ArchiveError> {
    let draft = draft_for(path);
    discard(&draft);
    let filled = fill(&draft, now).map_err(|why| told(MAKING, path, &why));
    if filled.is_err() {
        discard(&draft);
    }
    filled?;
    match publish(&draft, path) {
        Err(why) if why.kind() != std::io::ErrorKind::AlreadyExists => {
            Err(ArchiveError::refused(MAKING, path, why))
        }
        _ => Ok(()),
    }
}

fn fill(draft: &Path, now: &str) -> rusqlite::Result<()> {
    let flags =
        OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut connection = Connection::open_with_flags(draft, flags)?;
    connection.pragma_update(None, "page_size", PAGE)?;
    connection.pragma_update(None, "application_id", schema::APPLICATION)?;
    schema::migrate(&mut connection)?;
    schema::keeps(&connection)?;
    connection.execute("INSERT INTO about (name, said) VALUES ('made_at', ?1)", [now])?;
    connection.execute_batch("PRAGMA journal_mode = WAL;")?;
    connection.close().map_err(|(_, why)| why)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Event;

    const DEMO: &str = include_str!("../../assets/demo/school-loan-guitar.job.ron");

    /// An archive with the first event of a job, and the job's name.
    fn begun(folder: &Path) -> (Archive, String) {
        let mut archive = Archive::open(&folder.join("jobs.archive"), "2026-03-02T09:00:00Z").unwrap();
        let first = DEMO.lines().next().unwrap().to_owned() + "\n";
        let uid = archive.import_file(&first).unwrap().uid;
        (archive, uid)
    }

    fn opened(place: &str) -> [Record; 1] {
        let event = Event::Opened { place: place.to_owned() };
        [Record { at: "2026-03-02T10:00:00Z".to_owned(), event }]
    }

    /// SQLite itself refuses to grow further, with the code of a full disk,
    /// <https://www.sqlite.org/pragma.html#pragma_max_page_count>.
    #[test]
    fn a_full_disk_is_told_and_loses_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let (mut archive, uid) = begun(folder.path());
        let before = archive.export_file(&uid).unwrap();
        let pages: i64 = archive.connection.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
        archive.connection.execute_batch(&format!("PRAGMA max_page_count = {pages}")).unwrap();
        let long = opened(&"x".repeat(1 << 20));
        let full = |why: ArchiveError| {
            assert!(matches!(why, ArchiveError::DiskFull { .. }), "{why}");
            assert!(why.to_string().contains("everything recorded so far is kept"), "{why}");
        };
        full(archive.append(&uid, 1, &long).unwrap_err());
        full(
            archive
                .add_jobs(&[vec![crate::job::parse(DEMO).unwrap().records[0].clone(), long[0].clone()]])
                .unwrap_err(),
        );
        assert_eq!(archive.export_file(&uid).unwrap(), before);
        assert_eq!(archive.check().unwrap(), Counts { jobs: 1, events: 1 });
        archive.connection.execute_batch("PRAGMA max_page_count = 1000000").unwrap();
        archive.append(&uid, 1, &long).unwrap();
        assert_eq!(archive.check().unwrap(), Counts { jobs: 1, events: 2 });
    }

    #[test]
    fn an_archive_that_may_only_be_read_is_told_and_loses_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let (archive, uid) = begun(folder.path());
        let path = archive.path.clone();
        drop(archive);
        let mut archive = Archive { connection: check::reading(&path).unwrap(), path: path.clone() };
        let told = archive.append(&uid, 1, &opened("cavity")).unwrap_err();
        assert!(matches!(told, ArchiveError::Unwritable { .. }), "{told}");
        assert!(
            told.to_string().contains("may not be written") && told.to_string().contains("hint: "),
            "{told}"
        );
        assert_eq!(archive.events(&uid).unwrap(), 1);
        drop(archive);
        let mut archive = Archive::open(&path, "2026-03-02T09:00:00Z").unwrap();
        archive.append(&uid, 1, &opened("cavity")).unwrap();
    }
}
