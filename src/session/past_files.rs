//! Job files into the archive and out of it, its copies, and taking a customer out; for window and shell alike.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufReader, BufWriter, Write as _};
use std::path::{Path, PathBuf};

use super::whole::is_database;
use super::{PastError, PastJobs, now};
use crate::archive::{Archive, ArchiveError, Imported, Looked, Merged, Removed, Restored, WrittenOut};

/// The endings of job files in a folder.
const ENDINGS: [&str; 2] = [".job", ".job.ron"];

/// A job file, and what came of taking it in, or why it was not.
pub type TakenIn = (PathBuf, Result<Imported, String>);

/// How all jobs are written for other programs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AllJobs {
    /// One JSON object a line.
    Ndjson,
    /// Two Parquet tables, the second with `-events` in its name.
    Columns,
}

impl PastJobs {
    /// Takes job files in, and those of folders in the order of their names.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when the archive is switched off or cannot be opened; a wrong job file stops no other.
    pub fn import(&self, paths: &[PathBuf]) -> Result<Vec<TakenIn>, PastError> {
        let mut archive = self.open()?;
        let files = paths.iter().flat_map(|path| job_files(path));
        Ok(files.map(|file| (file.clone(), taken_in(&mut archive, &file))).collect())
    }

    /// Writes a job as a job file; into a folder under a name of its own. Returns the file.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when there is no such job, or the file exists or cannot be written.
    pub fn export_job(&self, uid: &str, output: &Path) -> Result<PathBuf, PastError> {
        let text = self.open()?.export_file(uid)?;
        let path = if output.is_dir() { output.join(Self::file_name(uid)) } else { output.to_owned() };
        write_new(&path, text.as_bytes())?;
        Ok(path)
    }

    /// Returns a file name for a job. A job that came from elsewhere may have any name; none of it leads out of a folder.
    pub fn file_name(uid: &str) -> String {
        let letter = |c: char| if c.is_ascii_alphanumeric() || c == '-' { c } else { '-' };
        let name: String = uid.chars().map(letter).take(80).collect();
        format!("job-{name}.job.ron")
    }

    /// Writes all whole jobs for other programs; returns what was written and what is damaged and was left out, and the
    /// files.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when the archive cannot be read, or a file exists or cannot be written; none is left then.
    pub fn export_all(&self, form: AllJobs, output: &Path) -> Result<(WrittenOut, Vec<PathBuf>), PastError> {
        let archive = self.open()?;
        match form {
            AllJobs::Ndjson => {
                let mut to = BufWriter::new(make_new(output)?);
                let jobs = undone(archive.export_ndjson(&mut to), &[output])?;
                Ok((jobs, vec![output.to_owned()]))
            }
            AllJobs::Columns => {
                let events = beside(output);
                let to = make_new(output)?;
                let more = make_new(&events).inspect_err(|_| discard(&[output]))?;
                let written = archive.export_parquet(BufWriter::new(to), BufWriter::new(more));
                let jobs = undone(written, &[output, events.as_path()])?;
                Ok((jobs, vec![output.to_owned(), events]))
            }
        }
    }

    /// Takes in the jobs of another archive, from its file of one JSON object a line.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when the file cannot be read or is wrong, or the archive cannot be written.
    pub fn merge(&self, path: &Path) -> Result<Merged, PastError> {
        let failed = |why: io::Error| PastError::File {
            doing: "reading",
            path: path.to_owned(),
            why,
            hint: "name a file that `past export --all` has written",
        };
        let file = File::open(path).map_err(failed)?;
        if !file.metadata().is_ok_and(|about| about.is_file()) {
            return Err(failed(io::Error::other("it is no file")));
        }
        if is_database(path) {
            let why = io::Error::other("it is an archive itself, not a file of jobs");
            return Err(PastError::File { doing: "merging", path: path.to_owned(), why, hint: OF_ARCHIVE });
        }
        let name = path.display().to_string();
        Ok(self.open()?.import_ndjson(&mut BufReader::new(file), &name)?)
    }

    /// Copies the archive to a new file while it is in use, and looks the copy through; damaged jobs are named.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when the file exists, or the copy cannot be written or does not hold the same.
    pub fn backup(&self, to: &Path) -> Result<Looked, PastError> {
        Ok(self.open()?.backup(to)?)
    }

    /// Looks a backup through and puts it in the archive's place; what was there is set aside.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when the backup is no sound archive, or the archive is in use; all is as before then.
    pub fn restore(&self, from: &Path) -> Result<Restored, PastError> {
        Ok(Archive::restore(from, self.file()?)?)
    }

    /// Takes the customer out of a job; its readings stay.
    ///
    /// # Errors
    ///
    /// Returns [`PastError`] when there is no such job, or the archive cannot be written.
    pub fn forget(&self, uid: &str) -> Result<Removed, PastError> {
        Ok(self.open()?.remove_customer(uid, &now())?)
    }
}

/// Returns a file, or the job files of a folder in the order of their names.
fn job_files(path: &Path) -> Vec<PathBuf> {
    if !path.is_dir() {
        return vec![path.to_owned()];
    }
    let is_job = |path: &PathBuf| {
        let name = path.file_name().map(|name| name.to_string_lossy().to_lowercase()).unwrap_or_default();
        path.is_file() && ENDINGS.iter().any(|end| name.ends_with(end))
    };
    let entries = fs::read_dir(path).into_iter().flatten().flatten();
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.path()).filter(is_job).collect();
    files.sort();
    files
}

fn taken_in(archive: &mut Archive, file: &Path) -> Result<Imported, String> {
    if is_database(file) {
        return Err(format!("it is an archive itself, not a job file\nhint: {OF_ARCHIVE}"));
    }
    let bytes = fs::read(file).map_err(|why| format!("the file cannot be read: {why}"))?;
    let text = String::from_utf8_lossy(&bytes);
    archive.import_file(&text).map_err(|why| not_taken_in(&text, &why))
}

/// How the jobs of another archive are taken in.
const OF_ARCHIVE: &str = "write its jobs out with LUGWISE_ARCHIVE naming it, `lugwise past export --all -o all.ndjson`, then \
                          `lugwise past merge all.ndjson` here";

/// Says why a file is no job file, and what to do with a file of all jobs.
fn not_taken_in(text: &str, why: &ArchiveError) -> String {
    let why = why.to_string();
    if !text.trim_start().starts_with('{') {
        return why;
    }
    let first = why.lines().next().unwrap_or_default();
    format!("{first}\nhint: this may be a file of all jobs: `lugwise past merge` takes such a file in")
}

/// Returns the name of the second table: `jobs.parquet` has `jobs-events.parquet` beside it.
fn beside(output: &Path) -> PathBuf {
    let mut name = output.file_stem().unwrap_or_default().to_owned();
    name.push("-events");
    if let Some(ending) = output.extension() {
        name.push(".");
        name.push(ending);
    }
    output.with_file_name(name)
}

/// Takes files away again that were not written whole.
fn undone<T>(written: Result<T, ArchiveError>, files: &[&Path]) -> Result<T, PastError> {
    if written.is_err() {
        discard(files);
    }
    Ok(written?)
}

fn discard(files: &[&Path]) {
    for file in files {
        // What cannot be taken away stays; the message says that it was not written.
        let _ = fs::remove_file(file);
    }
}

/// Makes a file that is not there yet.
///
/// # Errors
///
/// Returns [`PastError`] when it is there, or cannot be made.
pub fn make_new(path: &Path) -> Result<File, PastError> {
    OpenOptions::new().write(true).create_new(true).open(path).map_err(|why| match why.kind() {
        io::ErrorKind::AlreadyExists => PastError::Taken(path.to_owned()),
        _ => refused(path, why),
    })
}

/// Writes a file that is not there yet.
///
/// # Errors
///
/// Returns [`PastError`] when it is there, or cannot be written.
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<(), PastError> {
    let written = make_new(path)?.write_all(bytes);
    written.map_err(|why| {
        discard(&[path]);
        refused(path, why)
    })
}

fn refused(path: &Path, why: io::Error) -> PastError {
    PastError::File { doing: "writing", path: path.to_owned(), why, hint: "choose another folder" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_of_a_job_leads_out_of_a_folder() {
        for uid in ["../../etc/passwd", "/abs", "a\\b", "..", "a\0b", "20260302-ab", "\u{202e}x"] {
            let name = PastJobs::file_name(uid);
            let path = Path::new(&name);
            assert_eq!(path.file_name().unwrap().to_str(), Some(name.as_str()), "{name}");
            assert!(name.starts_with("job-") && !name.contains(['/', '\\', '\0']), "{name}");
        }
        assert!(PastJobs::file_name(&"x".repeat(1 << 20)).len() < 100);
    }

    #[test]
    fn the_second_table_lies_beside_the_first() {
        assert_eq!(beside(Path::new("a/jobs.parquet")), Path::new("a/jobs-events.parquet"));
        assert_eq!(beside(Path::new("jobs")), Path::new("jobs-events"));
    }

    #[test]
    fn nothing_is_written_over() {
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join("a");
        write_new(&file, b"first").unwrap();
        assert!(matches!(write_new(&file, b"second"), Err(PastError::Taken(_))));
        assert_eq!(fs::read(&file).unwrap(), b"first");
    }
}
