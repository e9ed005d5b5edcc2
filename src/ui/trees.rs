//! The screen of the trees: which there are, the diagram of one, its steps, and what a check of it found.

use std::rc::Rc;

use egui::{Button, CentralPanel, Frame, Key, Label, Margin, Panel, RichText, ScrollArea, Ui, vec2};

use super::action::{Action, Desk, Spot};
use super::bench::Bench;
use super::theme::{self, tokens};
use super::tree_past::TreePast;
use super::tree_shelf::{TreeChoice, TreeShelf};
use super::tree_view::{Drawn, TreeLook};
use super::widgets::{card, good, key_button, problem, section, small, soft};
use super::{own, tree_findings, tree_past, tree_step, tree_view};
use crate::source::Located;
use crate::workbench::Trail;

/// The width from which list, diagram and step stand side by side, in points.
const WIDE: f32 = 960.0;

/// A part of the screen of the trees.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum TreePane {
    /// The diagram.
    #[default]
    Diagram,
    /// The file's text.
    Text,
    /// The list and the check, when there is no room for all.
    List,
    /// The step, when there is no room for all.
    Step,
}

/// What a tree is written as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TreePaper {
    /// A picture.
    Svg,
    /// Pages to be printed.
    Pdf,
}

impl TreePaper {
    /// Returns the ending of such a file.
    pub(super) const fn ending(self) -> &'static str {
        match self {
            Self::Svg => "svg",
            Self::Pdf => "pdf",
        }
    }
}

/// One thing asked for on the screen of the trees, or about a change of one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TreesAction {
    /// Open the screen.
    Open,
    /// Go back to where one came from.
    Close,
    /// Show this tree.
    Choose(String),
    /// Read this step.
    Step(String),
    /// Read the step before.
    Back,
    /// Show this part.
    Pane(TreePane),
    /// Bring a line of the file and the step it belongs to into view.
    Line(usize, String),
    /// Copy the tree to the person's own.
    Copy,
    /// Ask where, and write the tree.
    Write(TreePaper),
    /// Check it.
    Check,
    /// Give the check up.
    Stop,
    /// Say how the tree would ask from now on what was asked instead of it.
    Propose,
    /// Save that change.
    Save,
    /// Put away what was said about the file of the job's tree.
    LeaveNews,
}

/// What the screen of the trees remembers.
#[derive(Clone, Debug, Default)]
pub struct TreesDesk {
    /// What the tree that is shown is known by.
    pub chosen: String,
    /// The step that is read.
    pub step: Option<String>,
    /// The steps that were read before, the last one last.
    pub behind: Vec<String>,
    /// The part that is shown.
    pub pane: TreePane,
    /// How the diagram is looked at.
    pub look: TreeLook,
    /// Why the last thing asked was refused.
    pub problem: Option<String>,
    /// What was done last.
    pub told: Option<String>,
    /// What past jobs did in it.
    pub past: TreePast,
    /// The line to be brought into view, once.
    pub(super) line: Option<usize>,
    /// The step to be brought into the middle, once.
    pub(super) centre_on: Option<String>,
    /// Whether the keyboard is to go to the ways of the step, once.
    pub(super) to_ways: bool,
    /// The place in the tree of the step that had the keyboard last.
    pub(super) focused: Option<usize>,
    /// The diagram as it was drawn last.
    pub(super) drawn: Option<Rc<Drawn>>,
    /// When the folder is looked at next, in seconds of the window's clock.
    pub(super) next_look: f64,
}

/// What the screen shows, beside what it remembers.
#[derive(Clone, Copy)]
struct Shown<'a> {
    shelf: &'a TreeShelf,
    choice: Option<&'a TreeChoice>,
    trail: Option<&'a Trail>,
}

/// Shows the screen.
pub(super) fn show(ui: &mut Ui, bench: &dyn Bench, desk: &mut Desk, out: &mut Vec<Action>) {
    let focus = desk.overlay.is_none() && desk.takes_focus(Spot::Home);
    let Some(own) = &mut desk.trees else { return };
    let frame = Frame::new().fill(tokens(ui).paper).inner_margin(Margin::symmetric(20, 10));
    if desk.overlay.is_none() && ui.input(|input| input.key_pressed(Key::Escape)) {
        out.push(Action::Trees(TreesAction::Close));
    }
    let (shelf, trail) = (bench.trees(), bench.trail());
    let choice = shelf.find(&own.chosen);
    let trail = trail.as_ref().filter(|trail| trail.tree == own.chosen);
    let shown = Shown { shelf, choice, trail };
    Panel::top("trees head").frame(frame).show(ui, |ui| head(ui, shown, own, focus, out));
    if ui.available_width() < WIDE {
        return narrow(ui, shown, own, out);
    }
    let wide = ui.available_width();
    Panel::left("trees list").resizable(false).exact_size(wide * 0.24).frame(frame).show(ui, |ui| {
        scrolled(ui, "trees list", |ui| list(ui, shown, own, out));
    });
    Panel::right("trees step").resizable(false).exact_size(wide * 0.29).frame(frame).show(ui, |ui| {
        scrolled(ui, "trees step", |ui| step(ui, shown, own, out));
    });
    CentralPanel::default().frame(frame).show(ui, |ui| {
        panes(ui, own.pane, &[(TreePane::Diagram, "Diagram"), (TreePane::Text, "Text")], out);
        middle(ui, shown, own, out);
    });
}

fn narrow(ui: &mut Ui, shown: Shown<'_>, own: &mut TreesDesk, out: &mut Vec<Action>) {
    let frame = Frame::new().fill(tokens(ui).paper).inner_margin(Margin::symmetric(12, 6));
    let all = [
        (TreePane::List, "List"),
        (TreePane::Diagram, "Diagram"),
        (TreePane::Step, "Step"),
        (TreePane::Text, "Text"),
    ];
    CentralPanel::default().frame(frame).show(ui, |ui| {
        panes(ui, own.pane, &all, out);
        match own.pane {
            TreePane::List => scrolled(ui, "trees list", |ui| list(ui, shown, own, out)),
            TreePane::Step => scrolled(ui, "trees step", |ui| step(ui, shown, own, out)),
            TreePane::Diagram | TreePane::Text => middle(ui, shown, own, out),
        }
    });
}

fn scrolled(ui: &mut Ui, name: &str, contents: impl FnOnce(&mut Ui)) {
    ScrollArea::vertical().id_salt(name).auto_shrink([false, false]).show(ui, |ui| {
        ui.set_max_width(ui.available_width() - 8.0);
        contents(ui);
    });
}

fn panes(ui: &mut Ui, now: TreePane, all: &[(TreePane, &str)], out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        for (pane, name) in all {
            if ui.selectable_label(now == *pane, *name).clicked() {
                out.push(Action::Trees(TreesAction::Pane(*pane)));
            }
        }
    });
}

fn head(ui: &mut Ui, shown: Shown<'_>, own: &TreesDesk, focus: bool, out: &mut Vec<Action>) {
    let right = shown.choice.is_some_and(|choice| choice.tree.is_some());
    let built_in = shown.choice.is_some_and(|choice| !choice.is_own());
    ui.horizontal_wrapped(|ui| {
        let back = key_button(ui, "Back", "Esc", true);
        if focus {
            back.request_focus();
        }
        if back.clicked() {
            out.push(Action::Trees(TreesAction::Close));
        }
        ui.label(RichText::new("Trees").text_style(theme::headline()));
        let tools = [
            ("Save as SVG…", right, TreesAction::Write(TreePaper::Svg)),
            ("Print page (PDF)…", right, TreesAction::Write(TreePaper::Pdf)),
            ("Copy to my trees", built_in, TreesAction::Copy),
        ];
        for (name, enabled, action) in tools {
            if key_button(ui, name, "", enabled).clicked() {
                out.push(Action::Trees(action));
            }
        }
    });
    small(ui, format!("Your own are text files in {}.", shown.shelf.folder().display()));
    if let Some(text) = &own.problem {
        problem(ui, text);
    }
    if let Some(text) = &own.told {
        good(ui, text);
    }
}

fn list(ui: &mut Ui, shown: Shown<'_>, own: &TreesDesk, out: &mut Vec<Action>) {
    section(ui, "Which tree");
    if !shown.shelf.all().iter().any(TreeChoice::is_own) {
        card(ui, |ui| soft(ui, "None is your own yet. Copy one of the program, and change the copy."));
    }
    for choice in shown.shelf.all() {
        entry(ui, choice, own.chosen == choice.key, out);
    }
    ui.add_space(8.0);
    if let Some(choice) = shown.choice {
        tree_findings::show(ui, shown.shelf, choice, out);
        tree_past::show(ui, &own.past);
    }
}

/// Shows one tree of the list.
fn entry(ui: &mut Ui, choice: &TreeChoice, chosen: bool, out: &mut Vec<Action>) {
    let whose = if choice.is_own() { "your own" } else { "of the program" };
    let name = format!("{} ({whose})", choice.title());
    let button = Button::selectable(chosen, choice.title()).wrap();
    let response = ui.add(button.min_size(vec2(ui.available_width(), 0.0)));
    if response.accessible_name(&name).clicked() {
        out.push(Action::Trees(TreesAction::Choose(choice.key.clone())));
    }
    ui.indent(&choice.key, |ui| {
        let complaint = choice.tree.as_ref().map_or("", |tree| tree.complaint.title());
        small(ui, if complaint.is_empty() { whose.to_owned() } else { format!("{whose}; {complaint}") });
        let wirings = match choice.wirings.as_slice() {
            [] => "for no wiring of the program".to_owned(),
            [one] => format!("for {one}"),
            all if chosen => format!("for {}", all.join(", ")),
            all => format!("for {} wirings", all.len()),
        };
        small(ui, wirings);
        if !choice.problems.is_empty() {
            problem(ui, &own::mistakes(&choice.problems));
            if choice.tree.is_some() {
                small(ui, "The last text that was right stays in use.");
            }
        }
    });
}

fn middle(ui: &mut Ui, shown: Shown<'_>, own: &mut TreesDesk, out: &mut Vec<Action>) {
    let Some(choice) = shown.choice else {
        soft(ui, "Choose a tree from the list.");
        return;
    };
    mistakes(ui, choice, out);
    match own.pane {
        TreePane::Text => file(ui, shown, choice, own),
        _ if choice.tree.is_none() => {
            soft(ui, "It cannot be drawn until the file is right. See its text.");
        }
        _ => tree_view::show(ui, own, out),
    }
}

/// Shows what is wrong with the file, with a way to each line.
fn mistakes(ui: &mut Ui, choice: &TreeChoice, out: &mut Vec<Action>) {
    for located in choice.problems.iter().take(4) {
        problem(ui, &format!("Line {}: {}", located.line, located.message));
        if let Some(hint) = &located.hint {
            small(ui, hint.as_str());
        }
        if ui.button(format!("Go to line {}", located.line)).clicked() {
            out.push(Action::Trees(TreesAction::Line(located.line, String::new())));
        }
    }
}

/// Shows the file's text, with what is wrong and what a check found below each line.
fn file(ui: &mut Ui, shown: Shown<'_>, choice: &TreeChoice, own: &mut TreesDesk) {
    let found = shown.shelf.checked(&choice.key).map(|checked| checked.findings.as_slice());
    let found = found.unwrap_or_default().iter().map(|finding| Located {
        file: choice.now.name.clone(),
        line: finding.line,
        column: finding.column,
        message: finding.says.clone(),
        hint: Some(finding.hint.clone()).filter(|hint| !hint.is_empty()),
    });
    let all: Vec<Located> =
        if choice.problems.is_empty() { found.collect() } else { choice.problems.clone() };
    let line = own.line.take();
    let area = ScrollArea::both().id_salt(("tree text", &choice.key)).auto_shrink(false);
    area.show(ui, |ui| own::text(ui, &choice.now.text, &all, line));
}

fn step(ui: &mut Ui, shown: Shown<'_>, own: &mut TreesDesk, out: &mut Vec<Action>) {
    match shown.choice {
        Some(choice) => {
            let checked = shown.shelf.checked(&choice.key);
            tree_step::show(ui, choice, checked, shown.trail, own, out);
        }
        None => {
            ui.add(Label::new("No tree is chosen.").wrap());
        }
    }
}
