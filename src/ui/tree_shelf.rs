//! The trees behind the window: those of the program and one's own, read and checked beside the window.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;

use super::tree_check::Checking;
use crate::circuit::Harness;
use crate::session::{OwnTree, OwnTrees, TreeStamps};
use crate::source::{Located, Source};
use crate::trees::{self, Tree};
use crate::treework::Checked;

/// One tree as it is offered.
#[derive(Clone, Debug)]
pub struct TreeChoice {
    /// What it is known by here: its name, or its file when the file is wrong and has none.
    pub key: String,
    /// The file, when it is one of the person's own.
    pub path: Option<PathBuf>,
    /// The text that is in use: the last one that was right.
    pub source: Source,
    /// The tree that is in use; `None` while the file was never right.
    pub tree: Option<Tree>,
    /// The text as it is in the file now.
    pub now: Source,
    /// What is wrong with the file now.
    pub problems: Vec<Located>,
    /// The codes of the wirings that it is for.
    pub wirings: Vec<String>,
}

impl TreeChoice {
    /// Returns whether it is one of the person's own files.
    pub fn is_own(&self) -> bool {
        self.path.is_some()
    }

    /// Returns what a person calls it.
    pub fn title(&self) -> &str {
        self.tree.as_ref().map_or(&self.key, |tree| &tree.title)
    }
}

/// What one look found.
type Found = (TreeStamps, Vec<OwnTree>);

/// The trees as they were found last.
pub struct TreeShelf {
    folder: OwnTrees,
    harnesses: Arc<[Harness]>,
    built_in: Vec<TreeChoice>,
    stamps: TreeStamps,
    all: Vec<TreeChoice>,
    revision: u64,
    looking: Option<Receiver<Option<Found>>>,
    checking: Option<Checking>,
    checked: BTreeMap<String, (String, Checked)>,
}

impl TreeShelf {
    /// Reads the trees; `harnesses` are the wirings that they may be for.
    pub fn new(folder: OwnTrees, harnesses: Vec<Harness>) -> Self {
        let mut shelf = Self {
            folder,
            built_in: built_in(&harnesses),
            harnesses: harnesses.into(),
            stamps: TreeStamps::default(),
            all: Vec::new(),
            revision: 0,
            looking: None,
            checking: None,
            checked: BTreeMap::new(),
        };
        shelf.read();
        shelf
    }

    /// Returns where the person's own trees are.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Returns every tree: the person's own first, then those of the program that none of them replaces.
    pub fn all(&self) -> &[TreeChoice] {
        &self.all
    }

    /// Returns the tree that is known by this.
    pub fn find(&self, key: &str) -> Option<&TreeChoice> {
        self.all.iter().find(|choice| choice.key == key)
    }

    /// Returns a number that changes whenever a tree or what is known of one does.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Returns what the last check of a tree found, unless its text has changed since.
    pub fn checked(&self, key: &str) -> Option<&Checked> {
        let (text, checked) = self.checked.get(key)?;
        self.find(key).filter(|choice| choice.source.text == *text).map(|_| checked)
    }

    /// Returns how far the check of a tree has come, done and of how many, while it is under way.
    pub fn progress(&self, key: &str) -> Option<(usize, usize)> {
        self.checking.as_ref().filter(|checking| checking.key() == key).map(Checking::progress)
    }

    /// Begins to check a tree; one that is under way is given up.
    pub fn check(&mut self, key: &str) {
        let Some(choice) = self.find(key).cloned() else { return };
        let others = self.all.iter().filter(|other| other.key != key);
        let others = others.filter_map(|other| other.tree.clone()).collect();
        self.checking = Some(Checking::new(&choice, others, &self.harnesses));
        self.revision += 1;
    }

    /// Gives up the check that is under way.
    pub fn stop_checking(&mut self) {
        self.checking = None;
        self.revision += 1;
    }

    /// Takes in what was found since the last call, and looks at the folder again when nothing is under way; returns
    /// whether something still is.
    pub fn look(&mut self) -> bool {
        self.take_in_check();
        match self.looking.as_ref().map(Receiver::try_recv) {
            Some(Err(TryRecvError::Empty)) => {}
            Some(Ok(found)) => {
                self.looking = None;
                found.into_iter().for_each(|found| self.put(found));
            }
            Some(Err(TryRecvError::Disconnected)) => self.looking = None,
            None => self.begin(),
        }
        self.looking.is_some() || self.checking.is_some()
    }

    /// Returns whether a look at the folder is under way.
    pub(super) fn is_looking(&self) -> bool {
        self.looking.is_some()
    }

    fn take_in_check(&mut self) {
        let Some(found) = self.checking.as_ref().and_then(Checking::found) else { return };
        if let (Some(checking), Some(checked)) = (self.checking.take(), found) {
            self.checked.insert(checking.key().to_owned(), (checking.text().to_owned(), checked));
        }
        self.revision += 1;
    }

    fn begin(&mut self) {
        let (folder, known) = (self.folder.clone(), self.stamps.clone());
        let (sender, receiver) = channel();
        self.looking = Some(receiver);
        thread::spawn(move || {
            let stamps = folder.stamps();
            let found = (stamps != known).then(|| (stamps, folder.read()));
            // Nobody listens any more when the window was closed meanwhile.
            let _ = sender.send(found);
        });
    }

    /// Reads the folder now.
    fn read(&mut self) {
        self.looking = None;
        let stamps = self.folder.stamps();
        let found = (stamps, self.folder.read());
        self.put(found);
    }

    fn put(&mut self, (stamps, own): Found) {
        self.stamps = stamps;
        let own: Vec<TreeChoice> = own.into_iter().map(|own| self.choice(own)).collect();
        let taken: BTreeSet<String> = own.iter().map(|choice| choice.key.clone()).collect();
        let rest = self.built_in.iter().filter(|choice| !taken.contains(&choice.key)).cloned();
        self.all = own.into_iter().chain(rest).collect();
        self.revision += 1;
    }

    /// Returns an own file as a choice; one that is wrong now keeps the tree that it held before.
    fn choice(&self, own: OwnTree) -> TreeChoice {
        let OwnTree { path, source, tree } = own;
        let before = self.all.iter().find(|known| known.path.as_ref() == Some(&path));
        match (tree, before) {
            (Ok(tree), _) => TreeChoice { path: Some(path), ..choice(source, tree, &self.harnesses) },
            (Err(problems), Some(before)) => TreeChoice { now: source, problems, ..before.clone() },
            (Err(problems), None) => TreeChoice {
                key: path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default(),
                path: Some(path),
                source: source.clone(),
                tree: None,
                now: source,
                problems,
                wirings: Vec::new(),
            },
        }
    }

    /// Copies a tree of the program to a file of the person's own, which then takes its place.
    ///
    /// # Errors
    ///
    /// Returns the message to show when there is no such tree, it is an own one, or the file cannot be made.
    pub fn copy(&mut self, key: &str) -> Result<PathBuf, String> {
        let choice = self.find(key).ok_or_else(|| format!("there is no tree \"{key}\""))?;
        if choice.is_own() {
            return Err(format!("the tree \"{key}\" is one of your own already"));
        }
        let text = choice.source.text.clone();
        self.make(key, &text)
    }

    /// Saves the changed text of a tree: an own file is replaced, one of the program is copied first. `before` is the
    /// text that the change was made of.
    ///
    /// # Errors
    ///
    /// Returns the message to show when the text is no tree, the file was changed meanwhile, or cannot be written;
    /// nothing was changed then.
    pub fn save(&mut self, key: &str, before: &str, text: &str) -> Result<PathBuf, String> {
        let choice = self.find(key).ok_or_else(|| format!("there is no tree \"{key}\""))?;
        let name = choice.source.name.clone();
        trees::load(&Source::new(name, text)).map_err(|located| located.to_string())?;
        let Some(path) = choice.path.clone() else { return self.make(key, text) };
        let now = fs::read_to_string(&path).map_err(|why| format!("reading {}: {why}", path.display()))?;
        if now != before {
            let hint = "look at the change again before it is saved";
            return Err(format!("{} was changed meanwhile: {hint}", path.display()));
        }
        replace(&path, text)?;
        self.read();
        Ok(path)
    }

    /// Makes a new file of the person's own.
    fn make(&mut self, name: &str, text: &str) -> Result<PathBuf, String> {
        let path = self.folder.path().join(format!("{name}.ron"));
        let failed = |why: std::io::Error| format!("writing {}: {why}", path.display());
        fs::create_dir_all(self.folder.path()).map_err(failed)?;
        let made = fs::OpenOptions::new().write(true).create_new(true).open(&path);
        made.and_then(|mut file| std::io::Write::write_all(&mut file, text.as_bytes())).map_err(failed)?;
        self.read();
        Ok(path)
    }

    /// Returns the wirings that a tree may be for.
    pub(super) fn harnesses(&self) -> Arc<[Harness]> {
        Arc::clone(&self.harnesses)
    }
}

/// Writes a text beside a file and puts it in its place, so that the file is never half written.
fn replace(path: &Path, text: &str) -> Result<(), String> {
    let beside = path.with_extension("ron.new");
    let written = fs::write(&beside, text).and_then(|()| fs::rename(&beside, path));
    written.map_err(|why| format!("writing {}: {why}", path.display()))
}

fn choice(source: Source, tree: Tree, harnesses: &[Harness]) -> TreeChoice {
    let of_tree = harnesses.iter().filter(|harness| tree.applies(harness));
    TreeChoice {
        key: tree.name.clone(),
        path: None,
        now: source.clone(),
        wirings: of_tree.map(|harness| harness.code.clone()).collect(),
        source,
        tree: Some(tree),
        problems: Vec::new(),
    }
}

/// Returns the trees that come with the program.
fn built_in(harnesses: &[Harness]) -> Vec<TreeChoice> {
    let load = |(name, text): &(&str, &'static str)| {
        let source = Source::new(format!("trees/{name}"), *text);
        let tree = trees::load(&source).ok()?;
        Some(choice(source, tree, harnesses))
    };
    trees::built_in().iter().filter_map(load).collect()
}
