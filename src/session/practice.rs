//! What was practised so far, kept in a small file of the person's own.

use std::fs;
use std::path::{Path, PathBuf};

use super::OwnFolder;
use crate::practice::Progress;
use crate::source::Source;

/// The name of the file, beside the folder of own wirings.
pub const PRACTICE_FILE: &str = "practice.ron";

/// The file of what was practised. It need not exist.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PracticeFile {
    path: PathBuf,
    /// Why it is not written to, though there is something in it that cannot be read.
    kept: Option<String>,
}

impl PracticeFile {
    /// Returns the file beside a folder of own wirings.
    pub fn beside(wirings: &OwnFolder) -> Self {
        Self::at(wirings.path().with_file_name(PRACTICE_FILE))
    }

    /// Returns a file.
    pub fn at(path: impl Into<PathBuf>) -> Self {
        Self { path: path.into(), kept: None }
    }

    /// Returns where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Reads it. A file that cannot be read is moved aside, and what is to be said about that comes with nothing played.
    pub fn read(&mut self) -> (Progress, Option<String>) {
        let text = match fs::read(&self.path) {
            Ok(bytes) => String::from_utf8_lossy(&bytes).into_owned(),
            Err(why) if why.kind() == std::io::ErrorKind::NotFound => return (Progress::default(), None),
            Err(why) => return self.aside(&format!("{}: {why}", self.path.display())),
        };
        match Progress::read(&Source::new(self.path.display().to_string(), text)) {
            Ok(progress) => (progress, None),
            Err(wrong) => self.aside(&wrong.to_string()),
        }
    }

    /// Moves the file aside under a name that is free.
    fn aside(&mut self, wrong: &str) -> (Progress, Option<String>) {
        let name = |number: u32| self.path.with_extension(format!("broken-{number}.ron"));
        let free = (1..).map(name).find(|path| !path.exists()).unwrap_or_else(|| name(1));
        let said = match fs::rename(&self.path, &free) {
            Ok(()) => format!("{wrong}\nIt was moved to {}; practice is counted anew", free.display()),
            Err(why) => {
                let said = format!("{wrong}\nIt cannot be moved aside ({why}); nothing is written to it");
                self.kept = Some(said.clone());
                said
            }
        };
        (Progress::default(), Some(said))
    }

    /// Writes what was played: first beside the file, then in its place, so that a cut leaves the old one.
    ///
    /// # Errors
    ///
    /// Returns the message to show; the file is as it was.
    pub fn write(&self, progress: &Progress) -> Result<(), String> {
        if let Some(why) = &self.kept {
            return Err(why.clone());
        }
        let text = progress.text()?;
        let refused = |why: std::io::Error| format!("writing {}: {why}", self.path.display());
        if let Some(folder) = self.path.parent() {
            fs::create_dir_all(folder).map_err(refused)?;
        }
        let new = self.path.with_extension("ron.new");
        fs::write(&new, text).map_err(refused)?;
        fs::rename(&new, &self.path).map_err(refused)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::practice::{Difficulty, Played};

    fn played(found: bool) -> Played {
        Played { wiring: "one-pickup".to_owned(), found, minutes: 4.5, bits: 5.25, hints: 1 }
    }

    #[test]
    fn what_was_played_is_there_again() {
        let home = tempfile::tempdir().unwrap();
        let mut file = PracticeFile::beside(&OwnFolder::at(home.path().join("data/wirings")));
        assert_eq!(file.read(), (Progress::default(), None));
        let mut progress = Progress::default();
        for found in [true, false, true] {
            progress.add(Difficulty::Hard, played(found));
            progress.add(Difficulty::First, played(found));
        }
        file.write(&progress).unwrap();
        assert_eq!(file.read(), (progress.clone(), None));
        let tally = progress.of(Difficulty::First).unwrap();
        assert_eq!((tally.played, tally.found, tally.minutes, tally.lately()), (3, 2, 13.5, (2, 3)));
        assert!(progress.of(Difficulty::Bench).is_none());
    }

    #[test]
    fn a_broken_file_is_moved_aside_whole() {
        let home = tempfile::tempdir().unwrap();
        let mut file = PracticeFile::at(home.path().join(PRACTICE_FILE));
        for (number, text) in
            ["(format: 1, levels: [], score: 3)", "(format: 2, levels: [])"].iter().enumerate()
        {
            fs::write(file.path(), text).unwrap();
            let (progress, said) = file.read();
            let said = said.unwrap();
            assert_eq!(progress, Progress::default());
            assert!(said.contains("practice.ron:1:"), "{said}");
            let aside = home.path().join(format!("practice.broken-{}.ron", number + 1));
            assert_eq!(fs::read_to_string(aside).unwrap(), *text);
            assert!(!file.path().exists());
        }
        file.write(&Progress::default()).unwrap();
        assert_eq!(file.read(), (Progress::default(), None));
    }

    #[test]
    fn only_the_last_twenty_are_kept_and_all_are_counted() {
        let mut progress = Progress::default();
        (0..30).for_each(|number| progress.add(Difficulty::Two, played(number >= 10)));
        let tally = progress.of(Difficulty::Two).unwrap();
        assert_eq!((tally.played, tally.found, tally.lately()), (30, 20, (20, 20)));
    }
}
