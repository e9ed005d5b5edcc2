//! One job file: made, opened, added to, never rewritten.

use std::fs::{File, OpenOptions};
use std::io::{Read as _, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};

use super::ArchiveError;
use super::error::MAKING;
use super::place::sync_folder;
use crate::job::{JobError, Record, parse, to_line};

const ADDING: &str = "add to the job file";
const OPENING: &str = "open the job file";
const SETTING_ASIDE: &str = "set aside the cut-off line in";

/// A job's events on disk. What [`JobFile::append`] was given is on the disk when it returns.
///
/// The file is opened anew for each change, so that a file that was moved or written to by another program
/// is noticed instead of overwritten.
#[derive(Debug)]
pub struct JobFile {
    path: PathBuf,
    length: u64,
    end: End,
}

/// How the file ends.
#[derive(Debug, PartialEq)]
enum End {
    /// With a whole line.
    Whole,
    /// With a whole line that lacks its line end.
    Unended,
    /// With a line that was cut off while it was written.
    Cut(Vec<u8>),
}

impl JobFile {
    /// Makes a new job file with its first event.
    ///
    /// # Errors
    ///
    /// When a file with this name is there already, or when it cannot be written.
    pub fn create(path: &Path, first: &Record) -> Result<Self, ArchiveError> {
        let text = lines(path, std::slice::from_ref(first))?;
        let mut file =
            OpenOptions::new().write(true).create_new(true).open(path).map_err(|why| match why.kind() {
                std::io::ErrorKind::AlreadyExists => ArchiveError::Exists { path: path.to_owned() },
                _ => ArchiveError::refused(MAKING, path, why),
            })?;
        if let Err(why) = file.write_all(text.as_bytes()).and_then(|()| file.sync_data()) {
            let _ = std::fs::remove_file(path);
            return Err(ArchiveError::refused(MAKING, path, why));
        }
        sync_folder(path);
        Ok(Self { path: path.to_owned(), length: text.len() as u64, end: End::Whole })
    }

    /// Opens a job file: the file, its events, and a notice when its last line is cut off.
    ///
    /// Nothing is changed on the disk. A cut-off line is set aside in a file of its own at the next
    /// [`JobFile::append`].
    ///
    /// # Errors
    ///
    /// When the file cannot be read, when it ends inside its first line, or when a line other than a cut-off last one cannot be understood.
    pub fn open(path: &Path) -> Result<(Self, Vec<Record>, Option<String>), ArchiveError> {
        let bytes = read(path)?;
        let text = text_of(path, &bytes)?;
        let parsed = parse(text).map_err(|why| ArchiveError::Job { path: path.to_owned(), why })?;
        let tail = &bytes[parsed.kept..];
        if parsed.records.is_empty() && begins_a_job(tail) {
            return Err(ArchiveError::FirstLineCut { path: path.to_owned(), bytes: bytes.len() });
        }
        let notice = (!tail.is_empty()).then(|| notice(tail));
        let end = match tail {
            [] if bytes.is_empty() || bytes.ends_with(b"\n") => End::Whole,
            [] => End::Unended,
            tail => End::Cut(tail.to_vec()),
        };
        let file = Self { path: path.to_owned(), length: bytes.len() as u64, end };
        Ok((file, parsed.records, notice))
    }

    /// Returns where the file is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Adds events, all in one write, and waits until they are on the disk.
    ///
    /// # Errors
    ///
    /// When the file is gone or was changed by another program, or when it cannot be written; then nothing
    /// was added.
    pub fn append(&mut self, records: &[Record]) -> Result<(), ArchiveError> {
        let text = lines(&self.path, records)?;
        let mut file = self.locked()?;
        self.unchanged(&file)?;
        self.mend(&file)?;
        let start = self.length;
        let text = if self.end == End::Unended { format!("\n{text}") } else { text };
        let written = write_at(&mut file, start, text.as_bytes());
        if let Err(why) = written {
            let _ = file.set_len(start);
            return Err(ArchiveError::refused(ADDING, &self.path, why));
        }
        self.length = start + text.len() as u64;
        if !text.is_empty() {
            self.end = End::Whole;
        }
        Ok(())
    }

    /// Opens the file for writing and keeps other copies of this program out until it is closed.
    fn locked(&self) -> Result<File, ArchiveError> {
        let refused = |why| ArchiveError::refused(ADDING, &self.path, why);
        let file = OpenOptions::new().read(true).write(true).open(&self.path).map_err(refused)?;
        match file.lock() {
            Err(why) if why.kind() != std::io::ErrorKind::Unsupported => Err(refused(why)),
            _ => Ok(file),
        }
    }

    fn unchanged(&self, file: &File) -> Result<(), ArchiveError> {
        let about = file.metadata().map_err(|why| ArchiveError::refused(ADDING, &self.path, why))?;
        let (path, had, has) = (self.path.clone(), self.length, about.len());
        if had == has { Ok(()) } else { Err(ArchiveError::Changed { path, had, has }) }
    }

    /// Copies a cut-off last line to a file of its own, then takes it out of this one.
    fn mend(&mut self, file: &File) -> Result<(), ArchiveError> {
        let End::Cut(tail) = &self.end else {
            return Ok(());
        };
        let refused = |why| ArchiveError::refused(SETTING_ASIDE, &self.path, why);
        set_aside(&self.path, tail).map_err(refused)?;
        let kept = self.length - tail.len() as u64;
        file.set_len(kept).map_err(refused)?;
        self.length = kept;
        self.end = End::Whole;
        Ok(())
    }
}

fn lines(path: &Path, records: &[Record]) -> Result<String, ArchiveError> {
    let line = |record| to_line(record).map(|line| line + "\n");
    let text: Result<String, JobError> = records.iter().map(line).collect();
    text.map_err(|why| ArchiveError::Job { path: path.to_owned(), why })
}

fn write_at(file: &mut File, start: u64, bytes: &[u8]) -> std::io::Result<()> {
    file.seek(SeekFrom::Start(start))?;
    file.write_all(bytes)?;
    file.sync_data()
}

fn read(path: &Path) -> Result<Vec<u8>, ArchiveError> {
    let refused = |why| ArchiveError::refused(OPENING, path, why);
    if !std::fs::metadata(path).map_err(refused)?.is_file() {
        return Err(ArchiveError::NotAFile { path: path.to_owned() });
    }
    let mut bytes = Vec::new();
    let mut file = File::open(path).map_err(refused)?;
    file.read_to_end(&mut bytes).map_err(refused)?;
    Ok(bytes)
}

/// Returns the file's text; bytes that are not text are left out when they are in a cut-off last line.
fn text_of<'a>(path: &Path, bytes: &'a [u8]) -> Result<&'a str, ArchiveError> {
    let error = match std::str::from_utf8(bytes) {
        Ok(text) => return Ok(text),
        Err(error) => error,
    };
    let (good, bad) = bytes.split_at(error.valid_up_to());
    let line = good.iter().filter(|byte| **byte == b'\n').count() + 1;
    let whole_lines = good.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
    match std::str::from_utf8(&good[..whole_lines]) {
        Ok(text) if !bad.contains(&b'\n') => Ok(text),
        _ => Err(ArchiveError::NotText { path: path.to_owned(), line }),
    }
}

/// Returns whether these bytes are the beginning of a job's first line, and not just anything.
fn begins_a_job(tail: &[u8]) -> bool {
    const BEGINNING: &[u8] = b"(at:\"";
    !tail.is_empty() && tail.iter().zip(BEGINNING).all(|(found, expected)| found == expected)
}

fn notice(tail: &[u8]) -> String {
    const SHOWN: usize = 120;
    let text = String::from_utf8_lossy(tail);
    let held: String = text.chars().take(SHOWN).flat_map(char::escape_debug).collect();
    let more = if text.chars().count() > SHOWN { "…" } else { "" };
    format!("the last line is cut off; everything before it is kept. It held: {held}{more}")
}

/// Writes the bytes to the first free name of the form `<name>.cut-<n>`.
fn set_aside(path: &Path, tail: &[u8]) -> std::io::Result<()> {
    let mut number = 1_u32;
    let mut file = loop {
        let mut name = path.as_os_str().to_owned();
        name.push(format!(".cut-{number}"));
        match OpenOptions::new().write(true).create_new(true).open(&name) {
            Err(why) if why.kind() == std::io::ErrorKind::AlreadyExists => number += 1,
            opened => break opened?,
        }
    };
    file.write_all(tail)?;
    file.sync_data()?;
    sync_folder(path);
    Ok(())
}
