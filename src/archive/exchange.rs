//! Jobs as one JSON object a line, for other programs and for merging two archives.

use std::fmt;
use std::io::{self, BufRead, ErrorKind, Read as _, Write};

use rusqlite::{Connection, Statement};
use serde::de::IgnoredAny;
use serde::{Deserialize, Serialize};

use super::failure::Failure;
use super::log::{self as stored, Found, Log};
use super::merge::{Imported, Incoming};
use super::store::READING;
use super::summary::COLUMNS;
use super::{Archive, ArchiveError, Summary};
use crate::source::Located;

const WRITING_OUT: &str = "write the file of jobs";
const READING_IN: &str = "read the file of jobs";
/// How many bytes of a file are read as one line, many times a long job.
const LONGEST: usize = 16 << 20;
/// How many jobs are taken in at once.
const AT_ONCE: usize = 64;

/// What became of a file of jobs.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Merged {
    /// Jobs that were not here.
    pub new: usize,
    /// Jobs that got the events they lacked.
    pub longer: usize,
    /// Jobs that were here with all of their events.
    pub same: usize,
    /// Jobs that went on differently in two places and were kept beside those that were here: their own name and that of
    /// the other.
    pub diverged: Vec<(String, String)>,
    /// Jobs that were damaged here and got their events from the file.
    pub mended: usize,
    /// Jobs that could not be taken in, in the order of the file.
    pub left_out: Vec<LeftOut>,
}

/// What was written of all jobs.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WrittenOut {
    /// How many jobs were written.
    pub jobs: usize,
    /// Jobs that were left out, in the order they came in.
    pub left_out: Vec<LeftOut>,
}

/// A job that is damaged or cannot be taken in, and was left out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOut {
    /// Its name.
    pub uid: String,
    /// Why it cannot be read, without a last full stop.
    pub why: String,
}

impl WrittenOut {
    /// Returns one line for each job that was left out, with its name and why.
    pub fn gaps(&self) -> Vec<String> {
        gaps(&self.left_out)
    }
}

impl fmt::Display for LeftOut {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.uid, self.why)
    }
}

fn gaps(left_out: &[LeftOut]) -> Vec<String> {
    left_out.iter().map(|left| format!("left out: {left}")).collect()
}

/// A line as it is written.
#[derive(Serialize)]
struct Line<'a> {
    uid: &'a str,
    diverged_from: Option<&'a str>,
    removed_at: Option<&'a str>,
    price: Option<i64>,
    warranty_of: Option<&'a str>,
    events: Vec<&'a str>,
    summary: &'a Summary,
}

/// A line as it is read.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawLine {
    uid: String,
    #[serde(default)]
    diverged_from: Option<String>,
    #[serde(default)]
    removed_at: Option<String>,
    #[serde(default)]
    price: Option<i64>,
    #[serde(default)]
    warranty_of: Option<String>,
    events: Vec<String>,
    #[serde(default, rename = "summary")]
    _summary: Option<IgnoredAny>,
}

/// Is told one job after the other, with its lines.
type Telling<'a> = dyn FnMut(&Summary, &[stored::Line]) -> Result<(), ArchiveError> + 'a;

impl Archive {
    /// Writes every whole job as one JSON object a line, with its events as the lines of a job file; one whose events are
    /// not what was written is left out and named.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read any further, or the stream cannot be written.
    pub fn export_ndjson(&self, to: &mut dyn Write) -> Result<WrittenOut, ArchiveError> {
        let stopped = |why| ArchiveError::Stream { doing: WRITING_OUT, why };
        let written = self.each(&mut |summary, lines| {
            let line = serde_json::to_string(&line(summary, lines)).map_err(io::Error::other);
            line.and_then(|line| writeln!(to, "{line}")).map_err(stopped)
        })?;
        to.flush().map_err(stopped)?;
        Ok(written)
    }

    /// Goes through all whole jobs in the order they came in, as they stand at one moment; returns how many there are,
    /// and which are damaged.
    pub(super) fn each(&self, told: &mut Telling<'_>) -> Result<WrittenOut, ArchiveError> {
        self.steady(|| go_through(&self.connection, told))
            .map_err(|failure| failure.told(READING, &self.path))
    }

    /// Takes in what [`Archive::export_ndjson`] wrote; `name` is what messages call the file. A job that is here already
    /// is not added twice: the longer log wins where it goes on from the other, else both are kept. A job that is damaged
    /// here is mended where the file has it whole; one that cannot be taken in is named and stops no other.
    ///
    /// # Errors
    ///
    /// Says which line cannot be taken in; the lines before it are kept, and may be read again.
    pub fn import_ndjson(&mut self, from: &mut dyn BufRead, name: &str) -> Result<Merged, ArchiveError> {
        let mut merged = Merged::default();
        let mut waiting = Vec::new();
        let mut cleaned = false;
        for (line, text) in (1_usize..).zip(std::iter::from_fn(|| next_line(from))) {
            match read(text, line, name) {
                Ok(job) => waiting.extend(job),
                Err(why) => {
                    self.take(&mut waiting, &mut merged)?;
                    return Err(why);
                }
            }
            if waiting.len() >= AT_ONCE {
                cleaned |= self.take(&mut waiting, &mut merged)?;
            }
        }
        cleaned |= self.take(&mut waiting, &mut merged)?;
        if cleaned {
            self.scrub();
        }
        Ok(merged)
    }

    /// Takes in what waits; returns whether the customer was taken out of a job here.
    fn take(&mut self, waiting: &mut Vec<Incoming>, merged: &mut Merged) -> Result<bool, ArchiveError> {
        let jobs = std::mem::take(waiting);
        let done = self.take_each(&jobs)?;
        let cleaned = done.iter().flatten().any(|done| done.cleaned);
        for (job, done) in jobs.iter().zip(done) {
            match done {
                Ok(done) => merged.count(job, done),
                Err(left) => merged.left_out.push(left),
            }
        }
        Ok(cleaned)
    }
}

impl Merged {
    /// Returns one line for each job that could not be taken in, with its name and why.
    pub fn gaps(&self) -> Vec<String> {
        gaps(&self.left_out)
    }

    fn count(&mut self, job: &Incoming, done: Imported) {
        let new = done.added == job.log.lines.len();
        match done.diverged_from {
            _ if done.mended => self.mended += 1,
            Some(other) if done.added > 0 && new => self.diverged.push((done.uid, other)),
            _ if new => self.new += 1,
            _ if done.added > 0 => self.longer += 1,
            _ => self.same += 1,
        }
    }
}

fn go_through(connection: &Connection, told: &mut Telling<'_>) -> Result<WrittenOut, Failure> {
    let mut ask = connection.prepare(stored::LINES)?;
    let sql = format!("SELECT {COLUMNS} FROM job j JOIN summary s ON s.job = j.id WHERE j.id = ?1");
    // Where the list cannot be asked, the events say the same.
    let mut list = connection.prepare(&sql).ok();
    let mut written = WrittenOut::default();
    Found::each(connection, &mut |found| {
        match whole(connection, &found, &mut ask, list.as_mut()) {
            Ok((summary, lines)) => {
                told(&summary, &lines)?;
                written.jobs += 1;
            }
            Err(failure) => {
                written.left_out.push(LeftOut { why: failure.of_one_job()?, uid: found.uid });
            }
        }
        Ok(())
    })?;
    Ok(written)
}

/// Reads a job with its lines, each held against its checksum; what it comes to is in the list, or follows from them.
fn whole(
    connection: &Connection,
    found: &Found,
    ask: &mut Statement<'_>,
    list: Option<&mut Statement<'_>>,
) -> Result<(Summary, Vec<stored::Line>), Failure> {
    let lines = stored::Line::all(ask, found.id, &found.uid, found.events)?;
    let listed = list.and_then(|list| list.query_row([found.id], Summary::row).ok());
    let summary = match listed {
        Some(summary) => summary,
        None => from_events(connection, found)?,
    };
    Ok((summary, lines))
}

/// Returns what a job comes to from its events, and from what is kept with the job itself.
fn from_events(connection: &Connection, found: &Found) -> Result<Summary, Failure> {
    let job = Log::read(connection, found)?.job().map_err(|why| found.log_error(why))?;
    let sql = "SELECT price, warranty_of FROM job WHERE id = ?1";
    let (price, warranty_of) = connection.query_row(sql, [found.id], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let (diverged_from, removed_at) = (found.diverged_from.clone(), found.removed_at.clone());
    Ok(Summary { price, warranty_of, diverged_from, removed_at, ..Summary::of(&found.uid, &job) })
}

fn line<'a>(summary: &'a Summary, lines: &'a [stored::Line]) -> Line<'a> {
    Line {
        uid: &summary.uid,
        diverged_from: summary.diverged_from.as_deref(),
        removed_at: summary.removed_at.as_deref(),
        price: summary.price,
        warranty_of: summary.warranty_of.as_deref(),
        events: lines.iter().map(|line| line.text.as_str()).collect(),
        summary,
    }
}

fn read(text: io::Result<String>, line: usize, name: &str) -> Result<Option<Incoming>, ArchiveError> {
    let wrong = |message: String| Err(ArchiveError::Line(located(name, line, 1, message)));
    match text {
        Ok(text) => incoming(&text, line, name).map_err(ArchiveError::Line),
        Err(why) if why.kind() == ErrorKind::InvalidData => wrong("the line is not text".to_owned()),
        Err(why) if why.kind() == ErrorKind::FileTooLarge => {
            wrong(format!("the line is longer than {} MB, which no job is", LONGEST >> 20))
        }
        Err(why) => Err(ArchiveError::Stream { doing: READING_IN, why }),
    }
}

/// Reads the next line, no further than a line may be long; `None` after the last one.
fn next_line(from: &mut dyn BufRead) -> Option<io::Result<String>> {
    let mut line = Vec::new();
    let most = LONGEST as u64 + 1;
    match (&mut *from).take(most).read_until(b'\n', &mut line) {
        Ok(0) => return None,
        Ok(_) => {}
        Err(why) => return Some(Err(why)),
    }
    let ended = line.pop_if(|last| *last == b'\n').is_some();
    if !ended && line.len() > LONGEST {
        return Some(Err(ErrorKind::FileTooLarge.into()));
    }
    Some(String::from_utf8(line).map_err(|_error| ErrorKind::InvalidData.into()))
}

/// Reads one line; an empty one holds nothing.
fn incoming(text: &str, line: usize, name: &str) -> Result<Option<Incoming>, Located> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    let raw: RawLine = serde_json::from_str(text).map_err(|why| no_json(text, line, name, &why))?;
    if raw.uid.trim().is_empty() {
        return Err(located(name, line, 1, "the job has no name".to_owned()));
    }
    let log = log(&raw).map_err(|why| located(name, line, 1, format!("job {}: {why}", raw.uid)))?;
    Ok(Some(Incoming {
        uid: raw.uid,
        diverged_from: raw.diverged_from,
        removed_at: raw.removed_at,
        price: raw.price,
        warranty_of: raw.warranty_of,
        log,
    }))
}

fn log(raw: &RawLine) -> Result<Log, String> {
    if let Some(index) = raw.events.iter().position(|line| line.contains('\n')) {
        return Err(format!("event {} is more than one line", index + 1));
    }
    let text: String = raw.events.iter().flat_map(|line| [line.as_str(), "\n"]).collect();
    let first_line = |why: &crate::job::JobError| why.to_string().replace('\n', "; ");
    let (log, _) = Log::parsed(&text).map_err(|why| first_line(&why))?;
    log.job().map_err(|why| first_line(&why))?;
    Ok(log)
}

/// Says that a line is no job as this program writes it out, and what to do with a job file.
fn no_json(text: &str, line: usize, name: &str, why: &serde_json::Error) -> Located {
    let mut wrong = located(name, line, why.column(), why.to_string());
    if crate::job::parse(text).is_ok_and(|parsed| !parsed.records.is_empty()) {
        let hint = "this is a job file: `lugwise past import` takes it in";
        wrong.hint = Some(hint.to_owned());
    }
    wrong
}

fn located(name: &str, line: usize, column: usize, message: String) -> Located {
    let hint = "the lines before this one were taken in; mend or take out this line and read the file again";
    Located { file: name.to_owned(), line, column: column.max(1), message, hint: Some(hint.to_owned()) }
}
