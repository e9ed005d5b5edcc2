//! Says during a job that the file of its tree was changed or is wrong now; the job goes on until a person decides.

use egui::{Frame, Label, Margin, Panel, Stroke, Ui};

use super::action::{Action, Desk};
use super::bench::Bench;
use super::theme::tokens;
use super::tree_shelf::TreeChoice;
use super::trees::TreesAction;
use super::widgets::problem;
use crate::source::Located;
use crate::workbench::{Command, Stage, View};

/// What has become of the file of the tree that a job goes by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TreeNews {
    /// What a person calls the tree.
    pub title: String,
    /// Its text as it is now, or the first thing that is wrong with it.
    pub now: Result<String, Located>,
}

impl TreeNews {
    /// Returns what is new of one's own tree; `held` says whether the job has a text already.
    pub(super) fn of(choice: &TreeChoice, held: impl FnOnce(&str) -> bool) -> Option<Self> {
        choice.path.as_ref()?;
        let title = choice.title().to_owned();
        match choice.problems.first() {
            Some(wrong) => Some(Self { title, now: Err(wrong.clone()) }),
            None if held(&choice.source.text) => None,
            None => Some(Self { title, now: Ok(choice.source.text.clone()) }),
        }
    }
}

/// What is new of the tree of the open job, and what of it was put away.
#[derive(Clone, Debug, Default)]
pub struct NewsDesk {
    news: Option<TreeNews>,
    left: Option<TreeNews>,
    /// The revisions of job and trees that this was found for.
    found_for: Option<(u64, u64)>,
}

impl NewsDesk {
    /// Returns what is to be shown.
    pub fn shown(&self) -> Option<&TreeNews> {
        self.news.as_ref().filter(|news| self.left.as_ref() != Some(news))
    }

    /// Puts what is shown away, until the file changes again.
    pub(super) fn leave(&mut self) {
        self.left.clone_from(&self.news);
    }
}

/// Looks for news when the job or a tree has changed; what cannot be asked of a job that is away is asked later.
pub(super) fn refresh(bench: &dyn Bench, desk: &mut Desk) {
    let now = Some((bench.revision(), bench.trees().revision()));
    if desk.tree_news.found_for == now || bench.is_away() {
        return;
    }
    desk.tree_news.news = bench.tree_news();
    desk.tree_news.found_for = now;
}

/// Shows what is new, above the step; the keyboard stays where it is.
pub(super) fn show(ui: &mut Ui, view: &View, desk: &Desk, out: &mut Vec<Action>) {
    let Some(news) = desk.tree_news.shown().filter(|_| view.stage == Stage::Finding) else { return };
    let edge = Stroke::new(1.0, tokens(ui).edge);
    let frame = Frame::new().fill(tokens(ui).tint).stroke(edge).inner_margin(Margin::symmetric(16, 6));
    Panel::top("tree news").frame(frame).show(ui, |ui| {
        if let Err(wrong) = &news.now {
            problem(ui, &wrong.to_string());
        }
        ui.horizontal_wrapped(|ui| match &news.now {
            Ok(text) => changed(ui, &news.title, text, out),
            Err(wrong) => is_wrong(ui, &news.title, wrong, out),
        });
    });
}

fn changed(ui: &mut Ui, title: &str, text: &str, out: &mut Vec<Action>) {
    let said = format!("The file of the tree “{title}” has changed. This job goes by the tree as it was.");
    ui.add(Label::new(said).wrap());
    if ui.button("Use it as it is now").clicked() {
        out.push(Action::Do(Command::UseTree { text: text.to_owned() }));
    }
    not_now(ui, out);
}

fn is_wrong(ui: &mut Ui, title: &str, wrong: &Located, out: &mut Vec<Action>) {
    let said = format!("This job goes on by the tree “{title}” as it was.");
    ui.add(Label::new(said).wrap());
    if ui.button(format!("Go to line {} of the tree", wrong.line)).clicked() {
        out.push(Action::Trees(TreesAction::Open));
        out.push(Action::Trees(TreesAction::Line(wrong.line, String::new())));
    }
    not_now(ui, out);
}

fn not_now(ui: &mut Ui, out: &mut Vec<Action>) {
    if ui.button("Not in this job").clicked() {
        out.push(Action::Trees(TreesAction::LeaveNews));
    }
}
