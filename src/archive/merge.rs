//! Taking a job in that another archive or a file holds too.

use std::borrow::Cow;

use rusqlite::{Connection, params};

use super::failure::Failure;
use super::kept;
use super::log::{Found, Log, short, uid_of, uid_with};
use super::remains::Remains;
use super::removal::{self, Names};
use super::{Archive, ArchiveError, LeftOut};
use crate::job::{JobError, Record};

const TAKING_IN: &str = "take jobs into the archive";

/// What became of a job that was taken in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Imported {
    /// The job's name in this archive.
    pub uid: String,
    /// How many events were added; none when the archive held all of them.
    pub added: usize,
    /// The name of the job from whose log it departs, when it was kept beside it.
    pub diverged_from: Option<String>,
    /// What the person must know about the file.
    pub notice: Option<String>,
    /// Whether the job was damaged here and was mended: it got every event that was not what was written.
    pub mended: bool,
    /// Whether the customer was taken out of a job here, as it was where this one comes from.
    pub(super) cleaned: bool,
}

impl Imported {
    fn of(found: &Found, added: usize) -> Self {
        let (uid, diverged_from) = (found.uid.clone(), found.diverged_from.clone());
        Self { uid, added, diverged_from, notice: None, mended: false, cleaned: false }
    }
}

/// A job as it comes in.
#[derive(Clone, Debug, Default)]
pub(super) struct Incoming {
    pub uid: String,
    pub diverged_from: Option<String>,
    pub removed_at: Option<String>,
    pub price: Option<i64>,
    pub warranty_of: Option<String>,
    pub log: Log,
}

impl Incoming {
    fn whole(records: &[Record]) -> Result<Self, JobError> {
        let log = Log::of(records)?;
        let (first, line) = records.first().zip(log.lines.first()).ok_or(JobError::Empty)?;
        Ok(Self { uid: uid_with(first, line), log, ..Self::default() })
    }
}

impl Archive {
    /// Takes the text of a job file in. A job that is here already gets the events that it lacks; where both went on
    /// differently, both are kept. One that is damaged here is mended when the file has at least as many events and agrees
    /// with all that are whole.
    ///
    /// # Errors
    ///
    /// When the text is no job, or the archive cannot be written; then nothing was added.
    pub fn import_file(&mut self, text: &str) -> Result<Imported, ArchiveError> {
        let refused = |why| ArchiveError::Log { uid: "in the file".to_owned(), why };
        let (log, cut) = Log::parsed(text).map_err(refused)?;
        let first = log.records.first().ok_or(JobError::Empty).map_err(refused)?;
        let incoming = Incoming { uid: uid_of(first).map_err(refused)?, log, ..Incoming::default() };
        let mut imported = self.write(TAKING_IN, |transaction| merge(transaction, &incoming))?;
        imported.notice =
            cut.map(|_| "the last line is cut off; everything before it was taken in".to_owned());
        Ok(imported)
    }

    /// Takes whole jobs in, all or none, and returns how many were not here or got longer.
    ///
    /// # Errors
    ///
    /// When one of them is no job, or the archive cannot be written; then nothing was added.
    pub fn add_jobs(&mut self, jobs: &[Vec<Record>]) -> Result<usize, ArchiveError> {
        let refused = |why| ArchiveError::Log { uid: "that was to be added".to_owned(), why };
        let incoming: Result<Vec<Incoming>, JobError> = jobs.iter().map(|job| Incoming::whole(job)).collect();
        let done = self.take_in(&incoming.map_err(refused)?)?;
        Ok(done.iter().filter(|one| one.added > 0).count())
    }

    /// Takes several jobs in, all or none.
    pub(super) fn take_in(&mut self, jobs: &[Incoming]) -> Result<Vec<Imported>, ArchiveError> {
        self.write(TAKING_IN, |transaction| jobs.iter().map(|job| merge(transaction, job)).collect())
    }

    /// Takes several jobs in, each by itself; one that cannot be taken in stops no other.
    pub(super) fn take_each(
        &mut self,
        jobs: &[Incoming],
    ) -> Result<Vec<Result<Imported, LeftOut>>, ArchiveError> {
        self.write(TAKING_IN, |transaction| jobs.iter().map(|job| alone(transaction, job)).collect())
    }
}

/// Takes a job in, or leaves all as it was and says why it cannot be taken in.
fn alone(connection: &Connection, incoming: &Incoming) -> Result<Result<Imported, LeftOut>, Failure> {
    connection.execute_batch("SAVEPOINT alone")?;
    let done = match merge(connection, incoming) {
        Ok(done) => Ok(done),
        Err(failure) => {
            let why = failure.of_one_job()?;
            connection.execute_batch("ROLLBACK TO alone")?;
            Err(LeftOut { uid: incoming.uid.clone(), why })
        }
    };
    connection.execute_batch("RELEASE alone")?;
    Ok(done)
}

/// Takes a job in: the longer log wins where one begins the other; else both are kept.
fn merge(connection: &Connection, incoming: &Incoming) -> Result<Imported, Failure> {
    let root = incoming.diverged_from.as_deref().unwrap_or(&incoming.uid);
    let mut family = Found::family(connection, root)?;
    if family.is_empty() {
        let (first, line) = (incoming.log.records.first(), incoming.log.lines.first());
        let begun = first.zip(line);
        let known = begun.map(|(first, line)| Found::forgotten(connection, &first.at, line)).transpose()?;
        family.extend(known.flatten());
    }
    let removed_at = removed_at(&family, incoming);
    let mine: Result<Vec<Mine>, Failure> =
        family.iter().map(|found| here(connection, found, removed_at)).collect();
    let log = match removed_at {
        Some(_) => Cow::Owned(without_customer(&incoming.log)),
        None => Cow::Borrowed(&incoming.log),
    };
    let mut done = placed(connection, &family, &mine?, &log, incoming)?;
    done.cleaned = removed_at.is_some() && family.iter().any(|found| found.removed_at.is_none());
    let sql = "UPDATE job SET price = coalesce(price, ?2), warranty_of = coalesce(warranty_of, ?3), \
               removed_at = coalesce(removed_at, ?4) WHERE uid = ?1";
    connection.execute(sql, params![done.uid, incoming.price, incoming.warranty_of, removed_at])?;
    Ok(done)
}

/// Mends or adds to the job here that the log goes on from, or keeps it as a job of its own.
fn placed(
    connection: &Connection,
    family: &[Found],
    mine: &[Mine],
    log: &Log,
    incoming: &Incoming,
) -> Result<Imported, Failure> {
    let here = || family.iter().zip(mine);
    if let Some((found, _)) = here().find(|(_, mine)| mine.holds(log)) {
        return Ok(Imported::of(found, 0));
    }
    let mut damaged: Vec<_> =
        here().filter_map(|(found, mine)| Some((found, mine.mended_by(log)?))).collect();
    damaged.sort_by_key(|(found, _)| found.uid != incoming.uid);
    if let Some((found, remains)) = damaged.first() {
        return mend(connection, found, remains, log);
    }
    for (found, mine) in here() {
        if let Mine::Whole(mine) = mine
            && let Some(added) = joined(connection, found, mine, log)?
        {
            return Ok(Imported::of(found, added));
        }
    }
    let (uid, diverged_from) = name(connection, family, incoming)?;
    let made = Found::made(connection, &uid, diverged_from)?;
    log.write(connection, made.id, 0)?;
    kept::renew(connection, &made, log)?;
    Ok(Imported::of(&made, log.lines.len()))
}

/// Returns when the customer was taken out of the job, here or where it comes from.
fn removed_at<'a>(family: &'a [Found], incoming: &'a Incoming) -> Option<&'a str> {
    let here = family.iter().find_map(|found| found.removed_at.as_deref());
    here.or(incoming.removed_at.as_deref())
}

fn without_customer(log: &Log) -> Log {
    removal::cleaned(log, &Names::of(log)).unwrap_or_else(|_| log.clone())
}

/// Puts a whole log in the place of a damaged job.
fn mend(
    connection: &Connection,
    found: &Found,
    remains: &Remains,
    theirs: &Log,
) -> Result<Imported, Failure> {
    connection.execute("DELETE FROM event WHERE job = ?1", [found.id])?;
    theirs.write(connection, found.id, 0)?;
    let known = Found { events: found.events.max(1), ..found.clone() };
    kept::renew(connection, &known, theirs)?;
    let added = theirs.lines.len().saturating_sub(remains.whole());
    Ok(Imported { mended: true, ..Imported::of(found, added) })
}

/// A job that is here, as far as it can be read.
enum Mine {
    Whole(Log),
    Damaged(Remains),
}

impl Mine {
    /// Returns whether a log is here with all of its events.
    fn holds(&self, log: &Log) -> bool {
        matches!(self, Self::Whole(mine) if mine.shared(log) == log.lines.len())
    }

    /// Returns what is left of a damaged job that this log mends.
    fn mended_by(&self, log: &Log) -> Option<&Remains> {
        match self {
            Self::Damaged(remains) => Some(remains).filter(|remains| remains.agree(log)),
            Self::Whole(_) => None,
        }
    }
}

/// Returns a job that is here, after the customer was taken out of it where that was done elsewhere.
fn here(connection: &Connection, found: &Found, removed_at: Option<&str>) -> Result<Mine, Failure> {
    let elsewhere = removed_at.filter(|_| found.removed_at.is_none());
    match (Log::read(connection, found), elsewhere) {
        (Ok(log), None) => Ok(Mine::Whole(log)),
        (Ok(_), Some(at)) => removal::remove(connection, found, at).map(|(log, _)| Mine::Whole(log)),
        (Err(failure), _) if failure.one_job().is_none() => Err(failure),
        (Err(_), None) => Ok(Mine::Damaged(Remains::read(connection, found)?)),
        (Err(_), Some(_)) => Ok(Mine::Damaged(Remains::read(connection, found)?.without_customer())),
    }
}

/// Adds what the job here lacks; returns how many events that were, or nothing when the logs went on differently.
fn joined(
    connection: &Connection,
    found: &Found,
    mine: &Log,
    theirs: &Log,
) -> Result<Option<usize>, Failure> {
    let shared = mine.shared(theirs);
    if shared < mine.lines.len().min(theirs.lines.len()) {
        return Ok(None);
    }
    if shared < theirs.lines.len() {
        theirs.write(connection, found.id, shared)?;
        kept::renew(connection, found, theirs)?;
    }
    Ok(Some(theirs.lines.len() - shared))
}

/// Returns the name to keep a log under that is not here, and the job it departs from.
fn name<'a>(
    connection: &Connection,
    family: &[Found],
    incoming: &'a Incoming,
) -> Result<(String, Option<&'a str>), Failure> {
    let from = incoming.diverged_from.as_deref();
    let taken = Found::named(connection, &incoming.uid)?.is_some();
    if !taken && (family.is_empty() || from.is_some()) {
        return Ok((incoming.uid.clone(), from));
    }
    let root = from.unwrap_or(&incoming.uid);
    let whole = short(incoming.log.text().as_bytes());
    Ok((format!("{root}-{whole}"), Some(root)))
}
