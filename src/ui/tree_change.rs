//! "Always ask this next here": what was asked instead of what a tree says, put into the tree's file.

use std::path::PathBuf;
use std::sync::Arc;

use egui::{Frame, Label, RichText, ScrollArea, Ui};

use super::action::{Action, Desk, Spot};
use super::theme::tokens;
use super::tree_shelf::{TreeChoice, TreeShelf};
use super::trees::TreesAction;
use super::widgets::{good, main_button, problem, section, small, soft};
use crate::circuit::Harness;
use crate::readings::{Measurement, Mode, Setting};
use crate::source::{DiffKind, DiffLine, differences};
use crate::trees::{self, Ask, Outcome, Probe, Step, Then, Tree, Way, When};
use crate::workbench::{self, Command, Stage, Trail, View};

/// A step that is on the screen instead of what the job's tree says.
#[derive(Clone, Debug, PartialEq)]
pub struct Detour {
    /// The tree's name.
    pub tree: String,
    /// The step that the job was at last.
    pub step: String,
    /// The way that it took from there: an index into the step's ways.
    pub way: usize,
    /// What is measured instead.
    pub measurement: Measurement,
    /// What to do.
    pub say: String,
    /// Why.
    pub why: String,
}

impl Detour {
    /// Returns the detour that a job is on; `None` when its tree speaks, when it has no step behind it, and when no
    /// reading is asked for.
    pub fn of(view: &View, trail: Option<&Trail>) -> Option<Self> {
        let (step, trail) = (view.step.as_ref()?, trail?);
        let instead = view.stage == Stage::Finding && step.tree.is_none() && view.cautions.is_empty();
        let workbench::Ask::Measure(measurement) = &step.ask else { return None };
        let instead = instead && trail.asks.as_ref() != Some(measurement);
        let last = trail.behind.last().filter(|_| instead)?;
        Some(Self {
            tree: trail.tree.clone(),
            step: last.step.clone(),
            way: last.way,
            measurement: measurement.clone(),
            say: step.headline.clone(),
            why: step.why.clone(),
        })
    }
}

/// A tree's file as it would be, beside what it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// What the tree is known by.
    pub key: String,
    /// The file that will be written.
    pub file: PathBuf,
    /// Whether the tree comes with the program, so that it is copied first.
    pub copied: bool,
    /// The text as it is.
    pub before: String,
    /// The text as it would be.
    pub after: String,
    /// The codes of the wirings that the tree is for and that lack a terminal of the new step.
    pub lacking: Vec<String>,
}

/// The change of a tree that is looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// The change, or why there is none.
    pub proposal: Result<Proposal, String>,
    /// Where it was saved.
    pub saved: Option<PathBuf>,
}

/// Returns how a tree would ask from now on what was asked instead of it.
///
/// # Errors
///
/// Returns the message to show when a tree cannot ask for it, or the file would be no tree any more, with its line.
pub fn propose(shelf: &TreeShelf, harness: &Harness, detour: &Detour) -> Result<Proposal, String> {
    Grounds::of(shelf, harness, detour.clone()).propose()
}

/// All that is needed to work out a change of a tree, wherever that is done.
pub(super) struct Grounds {
    /// What is asked instead of what the tree says.
    pub detour: Detour,
    choice: Option<TreeChoice>,
    folder: PathBuf,
    harness: Harness,
    /// The wirings that a tree may be for.
    harnesses: Arc<[Harness]>,
}

impl Grounds {
    /// Gathers them.
    pub fn of(shelf: &TreeShelf, harness: &Harness, detour: Detour) -> Self {
        Self {
            choice: shelf.find(&detour.tree).cloned(),
            detour,
            folder: shelf.folder().to_owned(),
            harness: harness.clone(),
            harnesses: shelf.harnesses(),
        }
    }

    /// Works the change out.
    pub fn propose(&self) -> Result<Proposal, String> {
        let detour = &self.detour;
        let gone = || format!("the tree \"{}\" is not there any more", detour.tree);
        let choice = self.choice.as_ref().ok_or_else(gone)?;
        if !choice.problems.is_empty() {
            return Err("the tree's file is wrong now; mend it first, see the trees".to_owned());
        }
        let tree = choice.tree.as_ref().ok_or_else(gone)?;
        Ok(Proposal {
            key: choice.key.clone(),
            file: choice.path.clone().unwrap_or_else(|| self.folder.join(format!("{}.ron", choice.key))),
            copied: !choice.is_own(),
            before: choice.source.text.clone(),
            after: self.after(choice, tree)?,
            lacking: self.lacking(tree),
        })
    }

    /// Returns the tree's text with the new step in it.
    fn after(&self, choice: &TreeChoice, tree: &Tree) -> Result<String, String> {
        let detour = &self.detour;
        let lost = || format!("the tree has no step \"{}\" with that way any more", detour.step);
        let step = tree.step(&detour.step).ok_or_else(lost)?;
        let went = step.ways().nth(detour.way).cloned().ok_or_else(lost)?;
        let new = new_step(tree, &self.harness, detour, went)?;
        trees::with_step_after(&choice.source, &detour.step, way(step, detour.way), &new)
            .map_err(|located| located.to_string())
    }

    /// Returns the codes of the wirings that the tree is for and that lack a terminal of the new step.
    fn lacking(&self, tree: &Tree) -> Vec<String> {
        let terminals = [self.detour.measurement.red.as_str(), self.detour.measurement.black.as_str()];
        let lacks = |harness: &&Harness| terminals.iter().any(|name| harness.terminal(name).is_none());
        let of_tree = self.harnesses.iter().filter(|harness| tree.applies(harness));
        of_tree.filter(lacks).map(|harness| harness.code.clone()).collect()
    }
}

fn way(step: &Step, index: usize) -> Way {
    match &step.ask {
        Ask::Measure(probe) if index < probe.outcomes.len() => Way::Outcome(index),
        Ask::Question { answers, .. } if index < answers.len() => Way::Answer(index),
        _ => Way::Cannot,
    }
}

/// Returns the new step: as a healthy guitar reads, it goes on where the tree went before; else the advisor does.
fn new_step(tree: &Tree, harness: &Harness, detour: &Detour, went: Then) -> Result<Step, String> {
    let asked = &detour.measurement;
    if asked.about.is_some() || asked.lifted.is_some() || !COMPARED.contains(&asked.mode) {
        return Err(NOT_ASKED.to_owned());
    }
    let outcome = |when, means, then| Outcome::new(when, asked.mode, means, then);
    let mut probe =
        Probe::new(asked.mode, &asked.red, &asked.black, &moved(harness, asked), asked.flex.as_deref());
    probe.outcomes = vec![
        outcome(When::NearHealthy, "as a healthy guitar reads", went.clone()),
        outcome(When::AnythingElse, "not as a healthy guitar reads", Then::Advisor),
    ];
    Ok(Step {
        name: free_name(tree, &detour.say),
        say: detour.say.clone(),
        why: detour.why.clone(),
        telephone: None,
        caution: None,
        needs: None,
        ask: Ask::Measure(probe),
        cannot: went,
    })
}

/// The modes whose reading is compared with what a healthy guitar reads.
const COMPARED: [Mode; 3] = [Mode::Resistance, Mode::Volts, Mode::Current];

const NOT_ASKED: &str = "a tree is not given this: what is added here compares ohms, volts or amperes \
                         with those of a healthy guitar, with every wire in its place";

/// Returns the controls that stand elsewhere than where a tree leaves them, so that the step is for other guitars too.
fn moved(harness: &Harness, asked: &Measurement) -> Setting {
    let reference = Setting::reference(harness);
    let all = asked.setting.0.iter().filter(|(name, stand)| reference.0.get(*name) != Some(*stand));
    Setting(all.map(|(name, stand)| (name.clone(), stand.clone())).collect())
}

/// Returns a name for a step that the tree does not have: the first words of what to do.
fn free_name(tree: &Tree, say: &str) -> String {
    const WORDS: usize = 7;
    let words: Vec<&str> = say.split_whitespace().take(WORDS).collect();
    let stem = words.join(" ").trim_end_matches(['.', ',', ':', ';']).to_lowercase();
    let name = |number: u32| if number == 1 { stem.clone() } else { format!("{stem} {number}") };
    (1..).map(name).find(|name| tree.step(name).is_none()).unwrap_or(stem.clone())
}

/// Shows the button that proposes the change, when there is a detour.
pub(super) fn offer(ui: &mut Ui, desk: &Desk, out: &mut Vec<Action>) {
    if desk.detour.is_some() && ui.button("Always ask this next here…").clicked() {
        out.push(Action::Trees(TreesAction::Propose));
    }
}

/// Shows the change, and what can be done with it.
pub(super) fn show(ui: &mut Ui, desk: &mut Desk, out: &mut Vec<Action>) {
    section(ui, "Always ask this next here");
    let focus = desk.takes_focus(Spot::Overlay);
    let Some(change) = &desk.change else { return };
    if let Some(text) = &desk.problem {
        problem(ui, text);
    }
    match (&change.proposal, &change.saved) {
        (Err(text), _) => {
            problem(ui, text);
        }
        (Ok(proposal), None) => proposed(ui, proposal, focus, out),
        (Ok(proposal), Some(path)) => {
            good(ui, &format!("Saved to {}", path.display()));
            soft(ui, "This job still goes by the tree that it began with.");
            let used = main_button(ui, "Use the changed tree in this job", true);
            if focus {
                used.request_focus();
            }
            if used.clicked() {
                out.push(Action::Do(Command::UseTree { text: proposal.after.clone() }));
            }
        }
    }
    let name = if change.saved.is_some() { "Leave it for the next job" } else { "Cancel" };
    let cancel = ui.button(name);
    if focus && change.proposal.is_err() {
        cancel.request_focus();
    }
    if cancel.clicked() {
        out.push(Action::Close);
    }
}

fn proposed(ui: &mut Ui, proposal: &Proposal, focus: bool, out: &mut Vec<Action>) {
    let from = if proposal.copied { "The tree of the program is copied to" } else { "This changes" };
    soft(ui, format!("{from} {}:", proposal.file.display()));
    let room = (ui.ctx().content_rect().height() - 300.0).max(100.0);
    ScrollArea::both().id_salt("tree change").max_height(room).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 1.0;
        for line in differences(&proposal.before, &proposal.after) {
            line_of(ui, &line);
        }
    });
    if !proposal.lacking.is_empty() {
        let codes = proposal.lacking.join(", ");
        problem(
            ui,
            &format!("The tree will no longer be for {codes}: they lack a terminal of the new step."),
        );
    }
    small(ui, "+ comes in, - goes out. The file can be changed in any text editor afterwards.");
    let save = main_button(ui, "Save to my trees", true);
    if focus {
        save.request_focus();
    }
    if save.clicked() {
        out.push(Action::Trees(TreesAction::Save));
    }
}

/// Shows one line of the difference with its number and its sign.
fn line_of(ui: &mut Ui, line: &DiffLine) {
    let tokens = tokens(ui);
    let (sign, ink, fill) = match line.kind {
        DiffKind::Same => (' ', tokens.soft, egui::Color32::TRANSPARENT),
        DiffKind::In => ('+', tokens.good, tokens.well),
        DiffKind::Out => ('-', tokens.bad, tokens.well),
    };
    let number = line.new.or(line.old).unwrap_or_default();
    let text = RichText::new(format!("{number:>4} {sign} {}", line.text)).monospace().color(ink);
    Frame::new().fill(fill).show(ui, |ui| ui.add(Label::new(text).extend()));
}
