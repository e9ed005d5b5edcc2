//! Whether a file is an archive, and a sound one. Nothing here changes a file.

use std::fmt;
use std::fs::{self, File};
use std::io::Read as _;
use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, OpenFlags, Row};

use super::failure::{Failure, told};
use super::log::mark;
use super::place::has_companions;
use super::store::{CHECKING, OPENING};
use super::{ArchiveError, LeftOut, schema};

/// What every SQLite database begins with.
const MAGIC: &[u8] = b"SQLite format 3\0";
/// A database up to this many bytes is looked through each time it is opened; of a larger one each event is held against
/// its checksum when it is read.
const SMALL: u64 = 32 << 20;
/// How often a database that looks damaged is looked at.
const LOOKS: u32 = 3;

/// How much an archive holds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Jobs.
    pub jobs: u64,
    /// Events of all jobs.
    pub events: u64,
}

impl fmt::Display for Counts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ending = |count: u64| if count == 1 { "" } else { "s" };
        let Self { jobs, events } = *self;
        write!(f, "{jobs} job{} with {events} event{}", ending(jobs), ending(events))
    }
}

/// What was found when a whole archive was looked through.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Looked {
    /// How much it holds.
    pub holds: Counts,
    /// Jobs of which an event is not what was written, in the order they came in.
    pub damaged: Vec<LeftOut>,
    /// What is wrong with the index of words itself.
    pub lists: Option<String>,
    /// A checksum of all jobs and events as they stand.
    content: Option<blake3::Hash>,
}

impl Looked {
    /// Returns whether two archives hold the same jobs and events, byte for byte.
    pub(super) fn holds_the_same(&self, other: &Self) -> bool {
        self.holds == other.holds && self.content == other.content
    }
}

/// Refuses what is no sound archive by its header alone, and looks a small one through.
///
/// Returns whether the database is small and in use, or was not closed cleanly, so that it must be looked through. A
/// window that begins to use it meanwhile makes it look damaged for a moment, so what looks damaged is looked at again.
pub(super) fn file(path: &Path) -> Result<bool, ArchiveError> {
    let mut looks = 1;
    loop {
        match at_rest(path) {
            Err(ArchiveError::Damaged { .. }) if looks < LOOKS => looks += 1,
            done => return done,
        }
        sleep(Duration::from_millis(40));
    }
}

fn at_rest(path: &Path) -> Result<bool, ArchiveError> {
    let refused = |why| ArchiveError::refused(OPENING, path, why);
    let about = fs::metadata(path).map_err(refused)?;
    if !about.is_file() {
        return Err(ArchiveError::Foreign { path: path.to_owned(), found: "this is not a file" });
    }
    let header = header(path).map_err(refused)?;
    let claimed = claims(path, &header)?;
    if has_companions(path) {
        return Ok(about.len() <= SMALL);
    }
    if about.len() < claimed {
        let why = format!("it is cut off: it has {} bytes and should have {claimed}", about.len());
        return Err(ArchiveError::Damaged { path: path.to_owned(), why });
    }
    if about.len() <= SMALL {
        let connection = reading(path)?;
        quickly(&connection, path)?;
    }
    Ok(false)
}

fn header(path: &Path) -> std::io::Result<Vec<u8>> {
    let mut header = Vec::new();
    File::open(path)?.take(100).read_to_end(&mut header)?;
    Ok(header)
}

/// Returns how many bytes the file should have at least.
fn claims(path: &Path, header: &[u8]) -> Result<u64, ArchiveError> {
    let foreign = |found| Err(ArchiveError::Foreign { path: path.to_owned(), found });
    let damaged = |why: &str| Err(ArchiveError::Damaged { path: path.to_owned(), why: why.to_owned() });
    if header.is_empty() {
        return damaged("it is empty");
    }
    if !header.starts_with(MAGIC) && !MAGIC.starts_with(header) {
        return foreign("this is not a database");
    }
    let (Some(pages), Some(version), Some(application)) =
        (number(header, 28), number(header, 60), number(header, 68))
    else {
        return damaged("it is cut off inside its first 100 bytes");
    };
    if application != schema::APPLICATION.cast_unsigned() {
        return foreign("this is a database of another program");
    }
    of_a_known_version(path, i64::from(version))?;
    let page = u64::from(u16::from_be_bytes([header[16], header[17]]));
    Ok(u64::from(pages) * if page == 1 { 65_536 } else { page })
}

fn number(header: &[u8], at: usize) -> Option<u32> {
    header.get(at..at + 4)?.try_into().ok().map(u32::from_be_bytes)
}

fn of_a_known_version(path: &Path, found: i64) -> Result<(), ArchiveError> {
    let (path, known) = (path.to_owned(), schema::known());
    match found {
        1.. if found > known => Err(ArchiveError::Newer { path, found, known }),
        1.. => Ok(()),
        _ => Err(ArchiveError::Damaged { path, why: format!("its version is {found}") }),
    }
}

/// Opens a database for reading, without making a file beside it where that can be helped.
pub(super) fn reading(path: &Path) -> Result<Connection, ArchiveError> {
    let failed = |why| told(OPENING, path, &why);
    match path.to_str() {
        Some(name) if !has_companions(path) => {
            let flags = OpenFlags::SQLITE_OPEN_READ_ONLY
                | OpenFlags::SQLITE_OPEN_URI
                | OpenFlags::SQLITE_OPEN_NO_MUTEX;
            Connection::open_with_flags(unchanging(name), flags).map_err(failed)
        }
        _ => careful(path).map_err(failed),
    }
}

/// Returns the name of a file that is promised not to change, as SQLite takes it.
fn unchanging(name: &str) -> String {
    let mut uri = "file:".to_owned();
    for byte in name.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'.' | b'-' | b'_' | b'~' => {
                uri.push(char::from(byte));
            }
            _ => uri.push_str(&format!("%{byte:02X}")),
        }
    }
    uri + "?immutable=1"
}

/// Opens a database so that closing it does not write what is beside it into it.
pub(super) fn careful(path: &Path) -> rusqlite::Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(path, flags)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
    Ok(connection)
}

/// Refuses a database that is not this program's, is newer, or, when asked for, is damaged.
pub(super) fn database(connection: &Connection, path: &Path, thorough: bool) -> Result<(), ArchiveError> {
    let failed = |why| told(OPENING, path, &why);
    if schema::application(connection).map_err(failed)? != i64::from(schema::APPLICATION) {
        let found = "this is a database of another program";
        return Err(ArchiveError::Foreign { path: path.to_owned(), found });
    }
    of_a_known_version(path, schema::version(connection).map_err(failed)?)?;
    if thorough { quickly(connection, path) } else { Ok(()) }
}

fn quickly(connection: &Connection, path: &Path) -> Result<(), ArchiveError> {
    structure(connection, path, "quick_check").map(|_| ())
}

/// Looks at how a database is built; returns what is wrong with its lists alone, which can be made anew.
fn structure(connection: &Connection, path: &Path, how: &str) -> Result<Option<String>, ArchiveError> {
    match pragma(connection, path, &format!("PRAGMA {how}(1)")) {
        Ok(()) => Ok(None),
        Err(ArchiveError::Damaged { why, .. } | ArchiveError::Lists { why, .. })
            if schema::of_lists(&why) =>
        {
            let of_table = |table: &str| pragma(connection, path, &format!("PRAGMA {how}({table})"));
            schema::RECORD.into_iter().try_for_each(of_table)?;
            Ok(Some(why))
        }
        Err(other) => Err(other),
    }
}

fn pragma(connection: &Connection, path: &Path, sql: &str) -> Result<(), ArchiveError> {
    let said: String =
        connection.query_row(sql, [], |row| row.get(0)).map_err(|why| told(OPENING, path, &why))?;
    match said.as_str() {
        "ok" => Ok(()),
        _ => Err(ArchiveError::Damaged { path: path.to_owned(), why: said.replace('\n', ", ") }),
    }
}

/// Looks a whole database through: its structure, and every event against its checksum; refuses it when a thing is wrong.
pub(super) fn whole(connection: &Connection, path: &Path) -> Result<Counts, ArchiveError> {
    let (looked, first) = look(connection, path)?;
    match (first, looked.lists) {
        (Some(failure), _) => Err(failure.told(CHECKING, path)),
        (None, Some(why)) => Err(ArchiveError::Lists { doing: CHECKING, path: path.to_owned(), why }),
        (None, None) => Ok(looked.holds),
    }
}

/// Does the same, and names every job that is damaged.
pub(super) fn through(connection: &Connection, path: &Path) -> Result<Looked, ArchiveError> {
    Ok(look(connection, path)?.0)
}

/// Looks a database through; also returns why the first damaged job is damaged.
fn look(connection: &Connection, path: &Path) -> Result<(Looked, Option<Failure>), ArchiveError> {
    let lists = structure(connection, path, "integrity_check")?;
    let (looked, first) = events(connection).map_err(|failure| failure.told(CHECKING, path))?;
    let holds = counts(connection).map_err(|why| told(CHECKING, path, &why))?;
    Ok((Looked { holds, lists, ..looked }, first))
}

/// Every job with its events; what makes the chain first.
const EVENTS: &str = "SELECT j.id, j.uid, j.events, e.seq, CAST(e.line AS BLOB), e.mark, e.at, j.diverged_from, \
                      j.removed_at, j.price, j.warranty_of FROM job j \
                      LEFT JOIN event e ON e.job = j.id ORDER BY j.id, e.seq";

fn events(connection: &Connection) -> Result<(Looked, Option<Failure>), Failure> {
    let mut statement = connection.prepare(EVENTS)?;
    let columns = statement.column_count();
    let mut rows = statement.query([])?;
    let mut going = Going::default();
    let mut content = blake3::Hasher::new();
    while let Some(row) = rows.next()? {
        for column in 0..columns {
            add(&mut content, row.get_ref(column)?);
        }
        going.take(row)?;
    }
    going.end()?;
    let content = Some(content.finalize());
    Ok((Looked { damaged: going.damaged, content, ..Looked::default() }, going.first))
}

/// Adds a value to a checksum, with its sort and length.
fn add(content: &mut blake3::Hasher, value: ValueRef<'_>) {
    let number;
    let (sort, bytes): (u8, &[u8]) = match value {
        ValueRef::Null => (0, &[][..]),
        ValueRef::Integer(whole) => {
            number = whole.to_le_bytes();
            (1, &number[..])
        }
        ValueRef::Real(real) => {
            number = real.to_le_bytes();
            (2, &number[..])
        }
        ValueRef::Text(text) => (3, text),
        ValueRef::Blob(blob) => (4, blob),
    };
    content.update(&[sort]);
    content.update(&(bytes.len() as u64).to_le_bytes());
    content.update(bytes);
}

/// All jobs as they are looked through one after the other.
#[derive(Default)]
struct Going {
    job: Option<i64>,
    chain: Chain,
    spoilt: bool,
    damaged: Vec<LeftOut>,
    first: Option<Failure>,
}

impl Going {
    /// Takes the next row of [`EVENTS`].
    fn take(&mut self, row: &Row<'_>) -> Result<(), Failure> {
        let job = Some(row.get(0)?);
        if self.job != job {
            self.end()?;
            (self.job, self.spoilt) = (job, false);
            self.chain = Chain::new(&row.get::<_, String>(1)?, row.get(2)?);
        }
        if self.spoilt {
            return Ok(());
        }
        let taken = self.event(row);
        self.judge(taken)
    }

    fn event(&mut self, row: &Row<'_>) -> Result<(), Failure> {
        match row.get::<_, Option<i64>>(3)? {
            Some(seq) => self.chain.next(
                seq,
                &row.get::<_, Vec<u8>>(4)?,
                &row.get::<_, Vec<u8>>(5).unwrap_or_default(),
            ),
            None => Ok(()),
        }
    }

    /// Ends the job that is being looked through.
    fn end(&mut self) -> Result<(), Failure> {
        if self.spoilt {
            return Ok(());
        }
        let ended = self.chain.ends();
        self.judge(ended)
    }

    /// Notes a damaged job; anything else that is wrong ends it all.
    fn judge(&mut self, result: Result<(), Failure>) -> Result<(), Failure> {
        let Err(failure) = result else { return Ok(()) };
        let Some(why) = failure.one_job() else { return Err(failure) };
        self.spoilt = true;
        self.damaged.push(LeftOut { uid: self.chain.uid.clone(), why });
        self.first = self.first.take().or(Some(failure));
        Ok(())
    }
}

/// The events of one job as they are looked through.
#[derive(Default)]
pub(super) struct Chain {
    uid: String,
    due: i64,
    seen: i64,
    last: [u8; 16],
}

impl Chain {
    /// Begins with a job that should have so many events.
    pub(super) fn new(uid: &str, due: i64) -> Self {
        Self { uid: uid.to_owned(), due, ..Self::default() }
    }

    /// Takes the next event in, unless it is not the one that was written.
    pub(super) fn next(&mut self, seq: i64, line: &[u8], found: &[u8]) -> Result<(), Failure> {
        self.seen += 1;
        self.last = mark(&self.last, line);
        if seq == self.seen && found == self.last { Ok(()) } else { Err(self.damaged(self.seen)) }
    }

    /// Refuses when there are fewer or more events than were written.
    pub(super) fn ends(&self) -> Result<(), Failure> {
        if self.seen == self.due { Ok(()) } else { Err(self.damaged(self.seen.min(self.due) + 1)) }
    }

    fn damaged(&self, event: i64) -> Failure {
        let (uid, event) = (self.uid.clone(), usize::try_from(event).unwrap_or_default());
        Failure::Said(ArchiveError::DamagedJob { uid, event })
    }
}

/// Returns how much a database holds.
pub(super) fn counts(connection: &Connection) -> rusqlite::Result<Counts> {
    let count = |sql: &str| {
        let found: i64 = connection.query_row(sql, [], |row| row.get(0))?;
        Ok::<u64, rusqlite::Error>(found.unsigned_abs())
    };
    Ok(Counts { jobs: count("SELECT count(*) FROM job")?, events: count("SELECT count(*) FROM event")? })
}
