//! What past jobs did in the tree that is shown, counted beside the window.

use std::rc::Rc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::thread;

use egui::Ui;

use super::tree_shelf::TreeChoice;
use super::widgets::{problem, section, small};
use crate::session::{PastJobs, PastStep, PastWays};
use crate::trees::Tree;

/// What was counted, or the message to show.
type Counted = Result<PastWays, String>;

/// What is known of the past jobs of one tree.
#[derive(Clone, Debug, Default)]
pub struct TreePast {
    /// The text of the tree whose jobs are counted.
    of: Option<String>,
    off: bool,
    counting: Option<Rc<Receiver<Counted>>>,
    found: Option<Counted>,
}

impl TreePast {
    /// Returns what was counted.
    pub fn ways(&self) -> Option<&PastWays> {
        self.found.as_ref()?.as_ref().ok()
    }

    /// Returns what past jobs did at a step.
    pub fn step(&self, name: &str) -> Option<&PastStep> {
        self.ways()?.steps.get(name)
    }

    /// Returns whether the jobs are still being counted.
    pub fn is_counting(&self) -> bool {
        self.counting.is_some()
    }

    /// Begins to count when another text of a tree is shown, and takes in what was counted; returns whether what a drawing
    /// says of it has changed.
    pub(super) fn watch(&mut self, place: PastJobs, choice: Option<&TreeChoice>) -> bool {
        let before = self.says_something();
        self.follow(place, choice) && (before || self.says_something())
    }

    fn says_something(&self) -> bool {
        self.ways().is_some_and(|ways| ways.n > 0)
    }

    fn follow(&mut self, place: PastJobs, choice: Option<&TreeChoice>) -> bool {
        let text = choice.and_then(|choice| choice.tree.as_ref().map(|_| &choice.source.text));
        if self.of.as_ref() != text {
            let off = place.path().is_none();
            let tree = choice.and_then(|choice| choice.tree.clone()).filter(|_| !off);
            let counting = tree.map(|tree| Rc::new(begin(place, tree)));
            *self = Self { of: text.cloned(), off, counting, found: None };
            return true;
        }
        self.take_in()
    }

    fn take_in(&mut self) -> bool {
        let Some(counting) = &self.counting else { return false };
        self.found = Some(match counting.try_recv() {
            Ok(counted) => counted,
            Err(TryRecvError::Disconnected) => Err("counting past jobs broke off".to_owned()),
            Err(TryRecvError::Empty) => return false,
        });
        self.counting = None;
        true
    }
}

/// Begins to count beside the window.
fn begin(place: PastJobs, tree: Tree) -> Receiver<Counted> {
    let (sender, counted) = channel();
    thread::spawn(move || {
        // Nobody listens any more when another tree was chosen.
        let _ = sender.send(PastWays::at(&place, &tree).map_err(|why| why.to_string()));
    });
    counted
}

/// Shows how many past jobs went by the tree.
pub(super) fn show(ui: &mut Ui, past: &TreePast) {
    section(ui, "Past jobs");
    match &past.found {
        Some(Ok(ways)) => {
            small(ui, ways.sentence());
            if ways.n > 0 {
                small(ui, "How many went each way stands beside it; (few) marks fewer than ten.");
            }
        }
        Some(Err(why)) => {
            problem(ui, why);
        }
        None if past.off => {
            small(ui, "Past jobs are not kept: the archive is switched off.");
        }
        None if past.is_counting() => {
            small(ui, "Past jobs are being counted…");
        }
        None => {}
    }
}
