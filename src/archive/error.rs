//! What can go wrong with a job on disk.

use std::io;
use std::path::{Path, PathBuf};

use crate::job::JobError;

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
