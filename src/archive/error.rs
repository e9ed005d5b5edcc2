//! What can go wrong with a job on disk.

use std::io;
use std::path::{Path, PathBuf};

use crate::job::JobError;
use crate::source::Located;

/// Why a job file could not be made, opened or added to.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ArchiveError {
    /// A file with this name is there already.
    #[error("cannot make the job file {}: a file with this name is there already\nhint: choose another name, or open that job", path.display())]
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// The system refused.
    #[error("cannot {doing} {}: {why}\nhint: {hint}", path.display())]
    Refused {
        /// What was being done, such as `open the job file`.
        doing: &'static str,
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: io::Error,
        /// What would mend it.
        hint: &'static str,
    },
    /// The file's length is not what this program left.
    #[error(
        "cannot add to the job file {}: it was {had} bytes long when it was last read or written here and is {has} bytes now\n\
         hint: another program wrote to it; nothing was added; open the job again to go on from what it holds",
        path.display()
    )]
    Changed {
        /// The file.
        path: PathBuf,
        /// Length this program left, in bytes.
        had: u64,
        /// Length found, in bytes.
        has: u64,
    },
    /// The file is not text.
    #[error("cannot open the job file {}: line {line} is not text\nhint: this is not a job file, or it was damaged; put it back from a copy", path.display())]
    NotText {
        /// The file.
        path: PathBuf,
        /// Line number; the first is 1.
        line: usize,
    },
    /// The file ends inside its first line.
    #[error(
        "cannot open the job file {}: its first line was cut off while it was written; the file holds {bytes} bytes \
         and nothing else\nhint: no reading was in it yet: start the job again under another name, then delete this file",
        path.display()
    )]
    FirstLineCut {
        /// The file.
        path: PathBuf,
        /// Length of the file, in bytes.
        bytes: usize,
    },
    /// The name belongs to something that is not a file.
    #[error("cannot open the job file {}: this is not a file\nhint: give the name of a job file", path.display())]
    NotAFile {
        /// The path.
        path: PathBuf,
    },
    /// The events cannot be understood or written.
    #[error("the job file {}: {why}", path.display())]
    Job {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        why: JobError,
    },
    /// Another window or program holds the archive.
    #[error(
        "cannot {doing} {}: another window or program is using it\n\
         hint: nothing was changed; wait a moment and try again, or close the other windows",
        path.display()
    )]
    Locked {
        /// What was being done, such as `add to the archive`.
        doing: &'static str,
        /// The archive.
        path: PathBuf,
    },
    /// The archive or its folder may not be written.
    #[error(
        "cannot {doing} {}: {why}\n\
         hint: the file or its folder is missing or may not be written; change its rights or choose another folder",
        path.display()
    )]
    Unwritable {
        /// What was being done.
        doing: &'static str,
        /// The archive.
        path: PathBuf,
        /// What the database said.
        why: String,
    },
    /// There is no room left.
    #[error(
        "cannot {doing} {}: the disk is full\n\
         hint: make room and try again; everything recorded so far is kept",
        path.display()
    )]
    DiskFull {
        /// What was being done.
        doing: &'static str,
        /// The archive.
        path: PathBuf,
    },
    /// The archive is damaged.
    #[error(
        "cannot use the archive {}: it is damaged: {why}\n\
         hint: nothing in it was changed; restore the newest backup, and keep this file beside it",
        path.display()
    )]
    Damaged {
        /// The archive.
        path: PathBuf,
        /// What is wrong.
        why: String,
    },
    /// A table that follows from the events is missing or damaged.
    #[error(
        "cannot {doing} {}: its lists are damaged: {why}\n\
         hint: `lugwise past rebuild` makes the lists anew; no event is lost",
        path.display()
    )]
    Lists {
        /// What was being done.
        doing: &'static str,
        /// The archive.
        path: PathBuf,
        /// What the database said.
        why: String,
    },
    /// One job's events are not what was written.
    #[error(
        "cannot read the job {uid}: its event {event} is not what was written, so the disk or another program changed it\n\
         hint: take in its job file (`past import`), or the file of all jobs of a whole copy (`past merge`): that mends it; \
         the others can be read"
    )]
    DamagedJob {
        /// The job.
        uid: String,
        /// Which event; the first is 1.
        event: usize,
    },
    /// The archive was written by a newer program.
    #[error(
        "cannot open the archive {}: its version is {found}, this program knows up to {known}\n\
         hint: nothing in it was changed; open it with a newer program, or restore a backup from before",
        path.display()
    )]
    Newer {
        /// The archive.
        path: PathBuf,
        /// The version found.
        found: i64,
        /// The newest version this program knows.
        known: i64,
    },
    /// The file is something else.
    #[error(
        "cannot open the archive {}: {found}\n\
         hint: nothing in it was changed; give the name of an archive, or of a file that is not there yet",
        path.display()
    )]
    Foreign {
        /// The file.
        path: PathBuf,
        /// What it is.
        found: &'static str,
    },
    /// A file has the name that was to be written.
    #[error(
        "cannot write {}: a file with this name is there already\n\
         hint: choose another name; nothing was written",
        path.display()
    )]
    InTheWay {
        /// The file.
        path: PathBuf,
    },
    /// A copy does not hold what it was made from.
    #[error(
        "cannot trust the copy {}: it holds {found} and should hold {expected}, byte for byte\n\
         hint: the copy was thrown away; check the disk and try again",
        path.display()
    )]
    BadCopy {
        /// The copy.
        path: PathBuf,
        /// What it holds.
        found: super::Counts,
        /// What it should hold.
        expected: super::Counts,
    },
    /// The archive has no such job.
    #[error("the archive has no job {uid}\nhint: list or search the jobs for the right one")]
    NoSuchJob {
        /// What was asked for.
        uid: String,
    },
    /// Another window added to the job in between.
    #[error(
        "cannot add to the job {uid}: it had {expected} events when it was last read here and has {found} now\n\
         hint: another window wrote to it; nothing was added; open the job again to go on from what it holds"
    )]
    Moved {
        /// The job.
        uid: String,
        /// How many events were expected.
        expected: usize,
        /// How many there are.
        found: usize,
    },
    /// The customer was taken out of the job, and events by themselves do not say whom they may name.
    #[error(
        "cannot add to the job {uid}: its customer was taken out of the archive\n\
         hint: take the whole job file in again; what it adds is cleaned like the rest"
    )]
    CustomerGone {
        /// The job.
        uid: String,
    },
    /// A job's events do not make a job.
    #[error("the job {uid}: {why}")]
    Log {
        /// The job.
        uid: String,
        /// What is wrong.
        why: JobError,
    },
    /// A line of a file of jobs cannot be taken in.
    #[error("{0}")]
    Line(Located),
    /// A stream of jobs could not be read or written.
    #[error("cannot {doing}: {why}\nhint: what was taken in before is kept; try again")]
    Stream {
        /// What was being done, such as `read the file of jobs`.
        doing: &'static str,
        /// What the system said.
        why: io::Error,
    },
    /// The database refused for another reason.
    #[error("cannot {doing} {}: {why}\nhint: nothing was changed; try again, and if it goes on check the archive", path.display())]
    Database {
        /// What was being done.
        doing: &'static str,
        /// The archive.
        path: PathBuf,
        /// What the database said.
        why: String,
    },
}

/// What is being done while a new file is made.
pub(super) const MAKING: &str = "make the job file";

impl ArchiveError {
    pub(super) fn refused(doing: &'static str, path: &Path, why: io::Error) -> Self {
        let hint = hint(doing, why.kind(), path);
        Self::Refused { doing, path: path.to_owned(), why, hint }
    }
}

fn hint(doing: &str, kind: io::ErrorKind, path: &Path) -> &'static str {
    let folder_missing =
        || path.parent().is_some_and(|folder| folder.file_name().is_some() && !folder.is_dir());
    match kind {
        io::ErrorKind::NotFound if folder_missing() => "the folder is missing; make it first",
        io::ErrorKind::NotFound if doing == MAKING => {
            "no file can be made in this folder; choose another one"
        }
        io::ErrorKind::NotFound => "the file is missing; it was moved, renamed or deleted",
        io::ErrorKind::NotADirectory => "a part of the path is a file, not a folder",
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            "the file or its folder may not be written or read; choose another folder or change its rights"
        }
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
            "the disk is full; make room and try again, everything recorded so far is kept"
        }
        io::ErrorKind::IsADirectory => "this is a folder; give the name of a file in it",
        _ => "try again, or choose another folder",
    }
}
