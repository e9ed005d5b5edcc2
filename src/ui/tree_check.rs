//! A tree held against the wirings that it is for, beside the window, with its progress; it can be given up.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

use super::tree_shelf::TreeChoice;
use crate::circuit::{self, Harness};
use crate::readings::Meter;
use crate::source::Source;
use crate::trees::{self, Tree};
use crate::treework::{self, Checked};
use crate::workbench::Engine;

/// So many threads play jobs: the window needs some of the machine too.
const THREADS: usize = 2;

/// How far a check has come, seen from both sides.
#[derive(Default)]
struct Shared {
    done: AtomicUsize,
    of: AtomicUsize,
    stopped: AtomicBool,
}

/// A check that is under way; it is given up when this is dropped.
pub(super) struct Checking {
    key: String,
    text: String,
    shared: Arc<Shared>,
    found: Receiver<Checked>,
}

impl Checking {
    /// Begins to check a tree against the wirings that come with the program.
    pub fn new(choice: &TreeChoice, others: Vec<Tree>, harnesses: &[Harness]) -> Self {
        let shared = Arc::new(Shared::default());
        let (sender, found) = channel();
        let job = Job {
            source: choice.source.clone(),
            others,
            wirings: wirings(choice.tree.as_ref(), harnesses),
            shared: Arc::clone(&shared),
        };
        thread::spawn(move || job.run(&sender));
        Self { key: choice.key.clone(), text: choice.source.text.clone(), shared, found }
    }

    /// Returns what the tree is known by.
    pub fn key(&self) -> &str {
        &self.key
    }

    /// Returns the text that is checked.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Returns how much is done, and of how much.
    pub fn progress(&self) -> (usize, usize) {
        (self.shared.done.load(Ordering::Relaxed), self.shared.of.load(Ordering::Relaxed))
    }

    /// Returns what was found once it is over, nothing within when it broke off; `None` while it goes on.
    pub fn found(&self) -> Option<Option<Checked>> {
        match self.found.try_recv() {
            Ok(checked) => Some(Some(checked)),
            Err(TryRecvError::Disconnected) => Some(None),
            Err(TryRecvError::Empty) => None,
        }
    }
}

impl Drop for Checking {
    fn drop(&mut self) {
        self.shared.stopped.store(true, Ordering::Relaxed);
    }
}

/// What one check works on.
struct Job {
    source: Source,
    others: Vec<Tree>,
    wirings: Vec<Source>,
    shared: Arc<Shared>,
}

impl Job {
    fn run(self, sender: &Sender<Checked>) {
        let wirings = self.wirings.len();
        self.shared.of.store(2 * wirings, Ordering::Relaxed);
        let mut engines = Vec::new();
        for wiring in &self.wirings {
            engines.extend(engine(wiring));
            self.shared.done.fetch_add(1, Ordering::Relaxed);
            if self.shared.stopped.load(Ordering::Relaxed) {
                return;
            }
        }
        let watch = |done: usize, of: usize| {
            self.shared.done.store(wirings + done * wirings / of.max(1), Ordering::Relaxed);
        };
        let checked = treework::check(&self.source, &self.others, &engines, &watch);
        if self.shared.stopped.load(Ordering::Relaxed) {
            return;
        }
        let checked = self.settled(checked, &engines);
        // Nobody listens any more when the check was given up.
        let _ = sender.send(checked);
    }
}

impl Job {
    /// Judges a tree that is slow by estimates by a few played jobs; the estimates stand where none can be played.
    fn settled(&self, checked: Checked, engines: &[Arc<Engine>]) -> Checked {
        let Ok(tree) = trees::load(&self.source) else { return checked };
        let watch = |done: usize, of: usize| {
            self.shared.of.store(of, Ordering::Relaxed);
            self.shared.done.store(done, Ordering::Relaxed);
        };
        let estimated = checked.clone();
        treework::settled(checked, &tree, engines, THREADS, &watch).unwrap_or(estimated)
    }
}

/// The engines that were needed so far, by the name of the wiring.
static KEPT: Mutex<Vec<(String, Arc<Engine>)>> = Mutex::new(Vec::new());

/// Returns the engine of a wiring; each is worked out once.
fn engine(wiring: &Source) -> Option<Arc<Engine>> {
    let known = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
    let found = known.iter().find(|(name, _)| *name == wiring.name).map(|(_, engine)| Arc::clone(engine));
    drop(known);
    if found.is_some() {
        return found;
    }
    let made = Arc::new(Engine::new(wiring, Meter::ordinary(), &[]).ok()?);
    KEPT.lock().unwrap_or_else(PoisonError::into_inner).push((wiring.name.clone(), Arc::clone(&made)));
    Some(made)
}

/// Returns the wirings of the program that a tree is for; all of them when the tree cannot be read.
fn wirings(tree: Option<&Tree>, harnesses: &[Harness]) -> Vec<Source> {
    let meant = |name: &str| {
        let harness = harnesses.iter().find(|harness| format!("{}.ron", harness.name) == name);
        tree.is_none_or(|tree| harness.is_none_or(|harness| tree.applies(harness)))
    };
    let all = circuit::built_in().iter().filter(|(name, _)| meant(name));
    all.map(|(name, text)| Source::new(*name, *text)).collect()
}
