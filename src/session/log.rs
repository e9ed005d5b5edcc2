//! A log of what went wrong and what took long: plain text, one file a day, few files and small ones.

use std::ffi::OsString;
use std::fmt;
use std::fs::{self, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use super::places::{self, Keeps, System};

/// The environment variable that names another folder.
pub const LOG_VARIABLE: &str = "LUGWISE_LOG";
/// How many files are kept.
pub const MOST_FILES: usize = 10;
/// How long a file may become, in bytes.
pub const MOST_BYTES: u64 = 1_000_000;

/// One thing to write down. It holds nothing that a person typed, and no path of theirs.
#[derive(Clone, Debug, PartialEq)]
pub enum LogLine {
    /// Something was refused or failed.
    Failed {
        /// What was being done.
        doing: &'static str,
        /// What sort of mistake it was.
        sort: &'static str,
    },
    /// Something took long.
    Long {
        /// What was being done.
        doing: &'static str,
        /// How long it took, in seconds.
        seconds: f64,
    },
    /// The program broke off at a line of its own source.
    Broke {
        /// The source file.
        file: String,
        /// The line in it.
        line: u32,
    },
}

impl fmt::Display for LogLine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Failed { doing, sort } => write!(f, "failed: {doing}: {sort}"),
            Self::Long { doing, seconds } => write!(f, "long: {doing}: {seconds:.2} s"),
            Self::Broke { file, line } => write!(f, "broke off: {file}:{line}"),
        }
    }
}

/// The folder of the log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DayLog {
    folder: PathBuf,
}

impl DayLog {
    /// Returns the one that the environment names, or the usual one of this system.
    pub fn usual() -> Self {
        Self { folder: usual(System::here(), &|name| std::env::var_os(name)) }
    }

    /// Returns one in a folder.
    pub fn at(folder: impl Into<PathBuf>) -> Self {
        Self { folder: folder.into() }
    }

    /// Returns where the files are.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Adds a line. A log that cannot be written is no reason to disturb the work.
    pub fn add(&self, line: &LogLine) {
        let _ = self.add_at(line, &super::now());
    }

    /// Adds a line of a moment such as `2026-03-02T09:14:05Z`.
    fn add_at(&self, line: &LogLine, now: &str) -> io::Result<()> {
        let day = now.split('T').next().unwrap_or(now);
        let path = self.folder.join(format!("lugwise-{day}.log"));
        let text = format!("{now} {line}\n");
        fs::create_dir_all(&self.folder)?;
        let length = fs::metadata(&path).map(|about| about.len()).ok();
        if length.unwrap_or(0) + text.len() as u64 > MOST_BYTES {
            return Ok(());
        }
        OpenOptions::new().create(true).append(true).open(&path)?.write_all(text.as_bytes())?;
        if length.is_none() { self.drop_old() } else { Ok(()) }
    }

    /// Removes the oldest files of those that are too many.
    fn drop_old(&self) -> io::Result<()> {
        let files = self.files()?;
        let too_many = files.len().saturating_sub(MOST_FILES);
        files.iter().take(too_many).try_for_each(fs::remove_file)
    }

    /// Returns the files, the oldest first.
    fn files(&self) -> io::Result<Vec<PathBuf>> {
        let all: io::Result<Vec<PathBuf>> =
            fs::read_dir(&self.folder)?.map(|entry| entry.map(|entry| entry.path())).collect();
        let mut files: Vec<PathBuf> = all?.into_iter().filter(|path| is_ours(path)).collect();
        files.sort();
        Ok(files)
    }
}

fn is_ours(path: &Path) -> bool {
    let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default();
    name.strip_prefix("lugwise-")
        .and_then(|rest| rest.strip_suffix(".log"))
        .is_some_and(|day| day.len() == 10)
}

fn usual(system: System, variable: &dyn Fn(&str) -> Option<OsString>) -> PathBuf {
    places::named(LOG_VARIABLE, variable)
        .unwrap_or_else(|| places::folder(system, Keeps::State, variable).join("log"))
}

#[cfg(test)]
mod tests {
    use super::*;

    const LONG: LogLine = LogLine::Long { doing: "opening a job", seconds: 2.5 };

    #[test]
    fn one_file_a_day_and_ten_days() {
        let home = tempfile::tempdir().unwrap();
        let log = DayLog::at(home.path().join("log"));
        fs::create_dir_all(log.folder()).unwrap();
        fs::write(log.folder().join("notes.log"), "not ours").unwrap();
        for day in 1..=12 {
            for hour in 0..2 {
                log.add_at(&LONG, &format!("2026-03-{day:02}T0{hour}:00:00Z")).unwrap();
            }
        }
        let files = log.files().unwrap();
        assert_eq!(files.len(), MOST_FILES);
        assert!(files[0].ends_with("lugwise-2026-03-03.log"), "{files:?}");
        let text = fs::read_to_string(&files[9]).unwrap();
        let expected = "2026-03-12T00:00:00Z long: opening a job: 2.50 s";
        assert_eq!(text.lines().collect::<Vec<_>>(), [expected, &expected.replace("T00", "T01")]);
        assert!(log.folder().join("notes.log").exists());
    }

    #[test]
    fn a_file_ends_before_it_is_too_long() {
        let home = tempfile::tempdir().unwrap();
        let log = DayLog::at(home.path());
        let file = home.path().join("lugwise-2026-03-02.log");
        fs::write(&file, "x".repeat(usize::try_from(MOST_BYTES).unwrap() - 60)).unwrap();
        for _ in 0..5 {
            log.add_at(&LONG, "2026-03-02T09:14:05Z").unwrap();
        }
        let length = fs::metadata(&file).unwrap().len();
        assert!(length > MOST_BYTES - 60 && length <= MOST_BYTES, "{length}");
    }

    #[test]
    fn the_environment_names_another_folder() {
        let set = |name: &str| (name == LOG_VARIABLE).then(|| "/mine".into());
        assert_eq!(usual(System::Other, &set), PathBuf::from("/mine"));
        let home = |name: &str| (name == "HOME").then(|| "/h".into());
        assert_eq!(usual(System::Other, &home), PathBuf::from("/h/.local/state/lugwise/log"));
    }
}
