//! Priors of one's own: a file that takes the place of the rates and histories that it names.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::own::{CopyError, OwnFolder, make_folder_of, read_text, write_new};
use crate::source::{Located, Source};
use crate::workbench::Priors;

/// The environment variable that names another file of own priors.
pub const PRIORS_VARIABLE: &str = "LUGWISE_PRIORS";

/// The name of the file of own priors in the folder of own wirings.
pub const PRIORS_FILE: &str = "priors.ron";

/// A file of one's own priors.
#[derive(Clone, Debug)]
pub struct OwnPriors {
    /// Its text, named after the file.
    pub source: Source,
    /// The program's priors with what the file changes, or everything that is wrong with the file.
    pub priors: Result<Priors, Vec<Located>>,
}

impl OwnPriors {
    /// Reads a file, right or wrong.
    pub fn read(path: &Path) -> Self {
        if let Err(why) = fs::read(path) {
            let source = Source::new(path.display().to_string(), "");
            return Self { priors: Err(vec![unreadable(&source, &why)]), source };
        }
        let (source, wrong) = read_text(path);
        let priors = wrong.map_or_else(|| Priors::built_in().with_own(&source), |wrong| Err(vec![wrong]));
        Self { source, priors }
    }

    /// Returns the text to keep in a job; `None` when the file is wrong.
    pub fn text(&self) -> Option<String> {
        self.priors.is_ok().then(|| self.source.text.clone())
    }
}

fn unreadable(source: &Source, why: &io::Error) -> Located {
    let hint = format!(
        "give `--priors` or {PRIORS_VARIABLE} a file that is there, or leave it out; `lugwise priors --copy -o FILE` \
         makes one to change"
    );
    Located {
        file: source.name.clone(),
        line: 0,
        column: 0,
        message: format!("the file cannot be read: {why}"),
        hint: Some(hint),
    }
}

impl OwnFolder {
    /// Returns where the own priors are looked for.
    pub fn priors_file(&self) -> PathBuf {
        self.named_priors.clone().unwrap_or_else(|| self.path().join(PRIORS_FILE))
    }

    /// Reads the own priors, right or wrong; `None` when there are none. A file that the environment names must be there.
    pub fn priors(&self) -> Option<OwnPriors> {
        let path = self.priors_file();
        (self.named_priors.is_some() || path.exists()).then(|| OwnPriors::read(&path))
    }

    /// Copies the priors that come with the program to a new file, where the own ones are looked for if none is named.
    ///
    /// # Errors
    ///
    /// Returns [`CopyError`] when the file exists or cannot be made.
    pub fn copy_priors(&self, to: Option<&Path>) -> Result<PathBuf, CopyError> {
        let path = to.map_or_else(|| self.priors_file(), Path::to_owned);
        if to.is_none() {
            make_folder_of(&path)?;
        }
        write_new(&path, Priors::TEXT)?;
        Ok(path)
    }
}
