//! Where past jobs are kept, and how the job on the bench gets there.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::now;
use super::own::usual_data;
use crate::archive::{Archive, ArchiveError};
use crate::job::Record;

/// The environment variable that names another archive, or `off`.
pub const ARCHIVE_VARIABLE: &str = "LUGWISE_ARCHIVE";

/// The archive's name in a folder.
const FILE: &str = "jobs.archive";
/// What switches the archive off.
const OFF: &str = "off";

/// Why past jobs cannot be reached. No job file is touched by that.
#[derive(Debug, Error)]
pub enum PastError {
    /// The archive is switched off.
    #[error(
        "there is no archive of past jobs: LUGWISE_ARCHIVE is off\nhint: take LUGWISE_ARCHIVE out of the environment, or let it name a file"
    )]
    Off,
    /// The archive's folder cannot be made.
    #[error("making the folder {} for the archive: {why}\nhint: let LUGWISE_ARCHIVE name a file in a folder that may be written", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// What the system said.
        why: io::Error,
    },
    /// There is a file of that name.
    #[error("writing {}: there is a file of that name\nhint: nothing is ever written over; give another name", .0.display())]
    Taken(PathBuf),
    /// A file could not be read or written.
    #[error("{doing} {}: {why}\nhint: {hint}", path.display())]
    File {
        /// What was being done, such as `reading`.
        doing: &'static str,
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: io::Error,
        /// What would mend it.
        hint: &'static str,
    },
    /// The file that says whether priors are learnt is wrong.
    #[error("{0}")]
    Setting(#[from] crate::source::Located),
    /// The archive refused.
    #[error(transparent)]
    Archive(#[from] ArchiveError),
}

/// Where past jobs are kept. The archive need not exist.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PastJobs {
    path: Option<PathBuf>,
}

impl PastJobs {
    /// Returns the archive that the environment names, or the usual one of this system.
    pub fn usual() -> Self {
        let named = std::env::var_os(ARCHIVE_VARIABLE).filter(|value| !value.is_empty());
        match named {
            Some(value) if value.eq_ignore_ascii_case(OFF) => Self::off(),
            Some(value) => Self::at(PathBuf::from(value)),
            None => Self::at(usual_data().join(FILE)),
        }
    }

    /// Returns an archive by its file, or by the folder that it is in.
    pub fn at(path: impl Into<PathBuf>) -> Self {
        let path = path.into();
        Self { path: Some(if path.is_dir() { path.join(FILE) } else { path }) }
    }

    /// Returns no archive: nothing is kept.
    pub fn off() -> Self {
        Self::default()
    }

    /// Returns the archive's file; `None` when it is switched off.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// Returns the archive's file.
    ///
    /// # Errors
    ///
    /// Returns [`PastError::Off`] when it is switched off.
    pub fn file(&self) -> Result<&Path, PastError> {
        self.path().ok_or(PastError::Off)
    }

    /// Opens the archive; makes it, and its folder, when it is not there yet.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when it is switched off or cannot be opened.
    pub fn open(&self) -> Result<Archive, PastError> {
        let path = self.file()?;
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
        if let Some(folder) = folder {
            let failed = |why| PastError::Folder { path: folder.to_owned(), why };
            fs::create_dir_all(folder).map_err(failed)?;
        }
        Ok(Archive::open(path, &now())?)
    }
}

/// Keeps the job on the bench in the archive too. Nothing that goes wrong with the archive stops the job.
pub(super) struct Keeper {
    place: PastJobs,
    archive: Option<Archive>,
    uid: Option<String>,
    trouble: Option<String>,
}

impl Keeper {
    /// Makes a keeper that has not looked at the archive yet.
    pub(super) fn new(place: PastJobs) -> Self {
        Self { place, archive: None, uid: None, trouble: None }
    }

    /// Returns the archive, once it was opened.
    pub(super) fn archive(&self) -> Option<&Archive> {
        self.archive.as_ref()
    }

    /// Returns the job's name in the archive, once it is in it.
    pub(super) fn uid(&self) -> Option<&str> {
        self.uid.as_deref()
    }

    /// Returns what to tell while the archive lacks events of the job.
    pub(super) fn trouble(&self) -> Option<&str> {
        self.trouble.as_deref()
    }

    /// Takes in all that the job file holds and the archive lacks.
    pub(super) fn catch_up(&mut self, file: &Path) {
        if self.place.path().is_none() {
            return;
        }
        self.trouble = self.take_in(file).err().map(|why| told(&why));
    }

    /// Adds events that were written to the job file after `expected` others.
    pub(super) fn keep(&mut self, file: &Path, expected: usize, records: &[Record]) {
        let added = match (&self.uid, &self.trouble, &mut self.archive) {
            (Some(uid), None, Some(archive)) => archive.append(uid, expected, records).is_ok(),
            _ => false,
        };
        if !added {
            self.catch_up(file);
        }
    }

    fn take_in(&mut self, file: &Path) -> Result<(), PastError> {
        let bytes = fs::read(file).map_err(|why| PastError::File {
            doing: "reading",
            path: file.to_owned(),
            why,
            hint: "the job file was moved or may not be read",
        })?;
        let archive = match self.archive.take() {
            Some(open) => open,
            None => self.place.open()?,
        };
        let archive = self.archive.insert(archive);
        self.uid = Some(archive.import_file(&String::from_utf8_lossy(&bytes))?.uid);
        Ok(())
    }
}

fn told(why: &PastError) -> String {
    let why = why.to_string().replace("\n  hint: ", "; ").replace("\nhint: ", "; ").replace('\n', " ");
    format!(
        "This job is not in the archive of past jobs yet. Nothing is lost: all of it is in its own file, and the archive \
         gets it at the next step or when the job is opened again. Why: {why}"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_stands_for_the_archive_in_it() {
        let home = tempfile::tempdir().unwrap();
        let inside = home.path().join(FILE);
        assert_eq!(PastJobs::at(home.path()).path(), Some(inside.as_path()));
        assert_eq!(PastJobs::at(home.path().join("a")).path(), Some(home.path().join("a").as_path()));
        assert!(matches!(PastJobs::off().open(), Err(PastError::Off)));
    }

    #[test]
    fn the_folder_is_made_and_a_file_in_its_place_is_told() {
        let home = tempfile::tempdir().unwrap();
        let place = PastJobs::at(home.path().join("new").join("jobs.archive"));
        assert_eq!(place.open().unwrap().path(), home.path().join("new").join("jobs.archive"));
        let file = home.path().join("file");
        fs::write(&file, "x").unwrap();
        let refused = PastJobs::at(file.join("jobs.archive")).open().unwrap_err().to_string();
        assert!(refused.contains("making the folder") && refused.contains("hint: "), "{refused}");
    }
}
