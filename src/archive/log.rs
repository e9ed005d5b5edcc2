//! A job's events as lines of text, as they stand in a job file and in the database.

use rusqlite::{Connection, OptionalExtension as _, Statement, params};

use super::ArchiveError;
use super::check::Chain;
use super::failure::Failure;
use crate::job::{Job, JobError, Record, parse, to_line};

/// Returns the name that a job has in every archive: when it began, and a checksum of its first event.
///
/// # Errors
///
/// When the event cannot be written, which no event of this program causes.
pub fn uid_of(first: &Record) -> Result<String, JobError> {
    Ok(uid_with(first, &to_line(first)?))
}

/// Returns the same for a first event whose line is written already.
pub(super) fn uid_with(first: &Record, line: &str) -> String {
    format!("{}-{}", digits(&first.at), short(line.as_bytes()))
}

/// Returns a moment as it stands in the names of jobs.
pub(super) fn digits(moment: &str) -> String {
    moment.chars().filter(char::is_ascii_digit).take(14).collect()
}

/// Returns a checksum of 16 letters and digits.
pub(super) fn short(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex().chars().take(16).collect()
}

/// Returns the checksum of a line and of all before it.
pub(super) fn mark(before: &[u8; 16], line: &[u8]) -> [u8; 16] {
    let mut hasher = blake3::Hasher::new();
    hasher.update(before);
    hasher.update(line);
    let mut mark = [0; 16];
    mark.copy_from_slice(&hasher.finalize().as_bytes()[..16]);
    mark
}

/// A job's events with their lines.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Log {
    /// The lines, without line ends.
    pub lines: Vec<String>,
    /// What they mean.
    pub records: Vec<Record>,
}

impl Log {
    /// Returns the log of these events.
    pub(super) fn of(records: &[Record]) -> Result<Self, JobError> {
        let lines = records.iter().map(to_line).collect::<Result<_, _>>()?;
        Ok(Self { lines, records: records.to_vec() })
    }

    /// Returns the log of a job file's text, and the last line when it is cut off.
    pub(super) fn parsed(text: &str) -> Result<(Self, Option<String>), JobError> {
        let parsed = parse(text)?;
        let whole = text[..parsed.kept].split('\n').filter(|line| !line.trim().is_empty());
        Ok((Self { lines: whole.map(str::to_owned).collect(), records: parsed.records }, parsed.cut))
    }

    /// Returns the log of a job in the database.
    pub(super) fn read(connection: &Connection, at: &Found) -> Result<Self, Failure> {
        let lines = Line::all(&mut connection.prepare(LINES)?, at.id, &at.uid, at.events)?;
        let text: String = lines.iter().flat_map(|line| [line.text.as_str(), "\n"]).collect();
        Ok(Self::parsed(&text).map_err(|why| at.log_error(why))?.0)
    }

    /// Writes the events from the `from`th on.
    pub(super) fn write(&self, connection: &Connection, id: i64, from: usize) -> rusqlite::Result<()> {
        let sql = "INSERT INTO event (job, seq, at, line, mark) VALUES (?1, ?2, ?3, ?4, ?5)";
        let mut statement = connection.prepare(sql)?;
        let mut last = [0; 16];
        let both = self.lines.iter().zip(&self.records);
        for ((seq, index), (line, record)) in (1_i64..).zip(0_usize..).zip(both) {
            last = mark(&last, line.as_bytes());
            if index >= from {
                statement.execute(params![id, seq, record.at, line, last])?;
            }
        }
        connection
            .execute("UPDATE job SET events = ?2 WHERE id = ?1", params![id, count(self.lines.len())])?;
        Ok(())
    }

    /// Returns the text as it stands in a job file.
    pub(super) fn text(&self) -> String {
        self.lines.iter().flat_map(|line| [line.as_str(), "\n"]).collect()
    }

    /// Returns how many lines are the same at the beginning of both.
    pub(super) fn shared(&self, other: &Self) -> usize {
        self.lines.iter().zip(&other.lines).take_while(|(a, b)| a == b).count()
    }

    /// Returns the job that these events make.
    pub(super) fn job(&self) -> Result<Job, JobError> {
        Job::replay(self.records.clone())
    }
}

/// Asks for the lines of a job.
pub(super) const LINES: &str =
    "SELECT seq, CAST(line AS BLOB), mark, at FROM event WHERE job = ?1 ORDER BY seq";

/// A line of a job in the database, not yet read for what it means.
pub(super) struct Line {
    /// When it happened.
    pub at: String,
    /// The line, without line end.
    pub text: String,
}

impl Line {
    /// Returns the lines of a job, each held against its checksum; `ask` is made of [`LINES`].
    pub(super) fn all(
        ask: &mut Statement<'_>,
        id: i64,
        uid: &str,
        events: i64,
    ) -> Result<Vec<Self>, Failure> {
        let mut rows = ask.query([id])?;
        let mut chain = Chain::new(uid, events);
        let mut lines = Vec::new();
        while let Some(row) = rows.next()? {
            let line: Vec<u8> = row.get(1)?;
            // A checksum that is no bytes is a wrong one.
            chain.next(row.get(0)?, &line, &row.get::<_, Vec<u8>>(2).unwrap_or_default())?;
            let text = String::from_utf8_lossy(&line).into_owned();
            lines.push(Self { at: row.get(3)?, text });
        }
        chain.ends()?;
        Ok(lines)
    }
}

/// Returns a length as the database takes it.
pub(super) fn count(length: usize) -> i64 {
    i64::try_from(length).unwrap_or(i64::MAX)
}

/// Where a job is in the database.
#[derive(Clone, Debug)]
pub(super) struct Found {
    /// Its row.
    pub id: i64,
    /// Its name.
    pub uid: String,
    /// How many events it has.
    pub events: i64,
    /// The job whose log this one departs from.
    pub diverged_from: Option<String>,
    /// When the customer was taken out of it.
    pub removed_at: Option<String>,
}

/// The columns that make a [`Found`].
const COLUMNS: &str = "id, uid, events, diverged_from, removed_at";

impl Found {
    fn row(row: &rusqlite::Row<'_>) -> rusqlite::Result<Self> {
        Ok(Self {
            id: row.get(0)?,
            uid: row.get(1)?,
            events: row.get(2)?,
            diverged_from: row.get(3)?,
            removed_at: row.get(4)?,
        })
    }

    /// Finds a job by its name.
    pub(super) fn named(connection: &Connection, uid: &str) -> rusqlite::Result<Option<Self>> {
        let sql = format!("SELECT {COLUMNS} FROM job WHERE uid = ?1");
        connection.query_row(&sql, [uid], Self::row).optional()
    }

    /// Finds a job by its name, or says that there is none.
    pub(super) fn expected(connection: &Connection, uid: &str) -> Result<Self, Failure> {
        let none = || ArchiveError::NoSuchJob { uid: uid.to_owned() };
        Ok(Self::named(connection, uid)?.ok_or_else(none)?)
    }

    /// Finds a job and those whose logs depart from it, the job itself first.
    pub(super) fn family(connection: &Connection, root: &str) -> rusqlite::Result<Vec<Self>> {
        let sql =
            format!("SELECT {COLUMNS} FROM job WHERE uid = ?1 OR diverged_from = ?1 ORDER BY uid <> ?1, uid");
        let mut statement = connection.prepare(&sql)?;
        statement.query_map([root], Self::row)?.collect()
    }

    /// Finds the job whose customer was taken out and that begins with this line now: its name is of the line before.
    pub(super) fn forgotten(connection: &Connection, at: &str, line: &str) -> rusqlite::Result<Option<Self>> {
        let sql = format!(
            "SELECT {COLUMNS} FROM job WHERE removed_at IS NOT NULL AND uid >= ?1 AND uid < ?1 || '~' \
             AND (SELECT line FROM event WHERE event.job = job.id ORDER BY seq LIMIT 1) = ?2 ORDER BY id LIMIT 1"
        );
        connection.query_row(&sql, params![digits(at), line], Self::row).optional()
    }

    /// Finds every job, in the order they came in.
    pub(super) fn all(connection: &Connection) -> rusqlite::Result<Vec<Self>> {
        let mut statement = connection.prepare(&format!("SELECT {COLUMNS} FROM job ORDER BY id"))?;
        statement.query_map([], Self::row)?.collect()
    }

    /// Goes through every job, in the order they came in.
    pub(super) fn each(
        connection: &Connection,
        told: &mut dyn FnMut(Self) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        let mut statement = connection.prepare(&format!("SELECT {COLUMNS} FROM job ORDER BY id"))?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            told(Self::row(row)?)?;
        }
        Ok(())
    }

    /// Makes a job that has no event yet.
    pub(super) fn made(
        connection: &Connection,
        uid: &str,
        diverged_from: Option<&str>,
    ) -> rusqlite::Result<Self> {
        let sql = "INSERT INTO job (uid, diverged_from) VALUES (?1, ?2)";
        connection.execute(sql, params![uid, diverged_from])?;
        Ok(Self {
            id: connection.last_insert_rowid(),
            uid: uid.to_owned(),
            events: 0,
            diverged_from: diverged_from.map(str::to_owned),
            removed_at: None,
        })
    }

    /// Says that this job's events make no job.
    pub(super) fn log_error(&self, why: JobError) -> Failure {
        Failure::Said(ArchiveError::Log { uid: self.uid.clone(), why })
    }
}
