//! The person's own wiring files, looked at in the background so that a slow disk never holds up the window.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;

use super::bench::{OwnFile, WiringChoice};
use crate::circuit::Harness;
use crate::session::{OwnFolder, OwnPriors, OwnWiring, Stamps};

/// What one look found: the files with their wirings, and the own priors.
type Found = (Stamps, Vec<(OwnFile, Option<Harness>)>, Option<OwnPriors>);

/// The own wirings and priors as they were found last.
pub(super) struct Shelf {
    folder: OwnFolder,
    stamps: Stamps,
    files: Vec<OwnFile>,
    harnesses: Vec<Option<Harness>>,
    priors: Option<OwnPriors>,
    looking: Option<Receiver<Option<Found>>>,
}

impl Shelf {
    /// Reads the folder.
    pub fn new(folder: OwnFolder) -> Self {
        let mut shelf = Self {
            folder,
            stamps: Stamps::default(),
            files: Vec::new(),
            harnesses: Vec::new(),
            priors: None,
            looking: None,
        };
        shelf.read();
        shelf
    }

    /// Returns the folder.
    pub fn folder_of_own(&self) -> OwnFolder {
        self.folder.clone()
    }

    /// Returns where the files are.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Returns the files.
    pub fn files(&self) -> &[OwnFile] {
        &self.files
    }

    /// Returns the own priors, right or wrong.
    pub fn priors(&self) -> Option<&OwnPriors> {
        self.priors.as_ref()
    }

    /// Returns the own wiring of this name, and its text.
    pub fn wiring(&self, name: &str) -> Option<(&Harness, &str)> {
        let all = self.harnesses.iter().zip(&self.files);
        let found = all.filter_map(|(harness, file)| Some((harness.as_ref()?, file.text.as_str())));
        found.into_iter().find(|(harness, _)| harness.name == name)
    }

    /// Makes a new file with a copy of a wiring.
    pub fn copy(&self, wiring: &Harness, text: &str) -> Result<PathBuf, String> {
        self.folder.copy(wiring, text, None).map(|own| own.path).map_err(|error| error.to_string())
    }

    /// Reads the folder now.
    pub fn read(&mut self) {
        self.looking = None;
        let found = read(&self.folder);
        self.put(found);
    }

    /// Takes in what the last look found, and begins another one when none is under way; returns whether something
    /// changed.
    pub fn look(&mut self) -> bool {
        match self.looking.as_ref().map(Receiver::try_recv) {
            Some(Err(TryRecvError::Empty)) => false,
            Some(Ok(Some(found))) => {
                self.looking = None;
                self.put(found);
                true
            }
            Some(Ok(None) | Err(TryRecvError::Disconnected)) => {
                self.looking = None;
                false
            }
            None => {
                self.begin();
                false
            }
        }
    }

    /// Returns whether a look is under way.
    pub fn is_looking(&self) -> bool {
        self.looking.is_some()
    }

    fn begin(&mut self) {
        let (folder, known) = (self.folder.clone(), self.stamps.clone());
        let (sender, receiver) = channel();
        self.looking = Some(receiver);
        thread::spawn(move || {
            let found = (folder.stamps() != known).then(|| read(&folder));
            // Nobody listens any more when the window was closed meanwhile.
            let _ = sender.send(found);
        });
    }

    fn put(&mut self, (stamps, found, priors): Found) {
        (self.stamps, self.priors) = (stamps, priors);
        (self.files, self.harnesses) = found.into_iter().unzip();
    }
}

/// Reads a folder; the stamps are taken first, so that what changes meanwhile is seen by the next look.
fn read(folder: &OwnFolder) -> Found {
    let stamps = folder.stamps();
    let file = |own: OwnWiring| {
        let OwnWiring { path, source, harness } = own;
        let wiring = harness.as_ref().map(|harness| WiringChoice::new(harness, true)).map_err(Clone::clone);
        (OwnFile { path, text: source.text, wiring }, harness.ok())
    };
    (stamps, folder.read().into_iter().map(file).collect(), folder.priors())
}
