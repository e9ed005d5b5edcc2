//! One step of a tree, read whole: what to do, how, why, and where each way leads.

use egui::{Button, Label, RichText, Stroke, Ui, vec2};

use super::action::Action;
use super::theme::{self, tokens};
use super::tree_shelf::TreeChoice;
use super::trees::{TreesAction, TreesDesk};
use super::widgets::{Probe as Lead, card, fact, framed, probe, section, small, soft};
use super::words;
use crate::readings::Mode;
use crate::session::PastStep;
use crate::trees::{Ask, Probe, Sense, Step, Then, Tree};
use crate::treework::Checked;
use crate::workbench::{Trail, caution};

/// What is known of the ways of a step beside the tree itself.
#[derive(Clone, Copy)]
struct Known<'a> {
    shares: Option<&'a [f64]>,
    past: Option<&'a PastStep>,
    /// The way that the job took.
    went: Option<usize>,
}

/// Shows the step that is chosen.
pub(super) fn show(
    ui: &mut Ui,
    choice: &TreeChoice,
    checked: Option<&Checked>,
    trail: Option<&Trail>,
    own: &mut TreesDesk,
    out: &mut Vec<Action>,
) {
    let Some(tree) = &choice.tree else { return };
    let Some(step) = own.step.as_deref().and_then(|name| tree.step(name)) else {
        section(ui, "Step");
        soft(ui, "Press a step in the diagram to read it here.");
        return;
    };
    let shares = checked.and_then(|checked| checked.shares.get(&step.name)).map(Vec::as_slice);
    let trodden = trail.and_then(|trail| trail.behind.iter().find(|trodden| trodden.step == step.name));
    let past = own.past.step(&step.name).cloned();
    let known = Known { shares, past: past.as_ref(), went: trodden.map(|trodden| trodden.way) };
    head(ui, step, trail, own, out);
    told(ui, step);
    asked(ui, &step.ask);
    ways(ui, tree, step, known, own, out);
}

fn head(ui: &mut Ui, step: &Step, trail: Option<&Trail>, own: &TreesDesk, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        section(ui, &step.name);
        let back = ui.add_enabled(!own.behind.is_empty(), Button::new("Step before"));
        if back.accessible_name("Go back to the step before").clicked() {
            out.push(Action::Trees(TreesAction::Back));
        }
    });
    if trail.is_some_and(|trail| trail.at.as_ref() == Some(&step.name)) {
        small(ui, "The job is at this step.");
    }
    ui.add(Label::new(RichText::new(&step.say).text_style(theme::lead())).wrap());
}

fn told(ui: &mut Ui, step: &Step) {
    if let Some(key) = &step.caution {
        let tokens = tokens(ui);
        let text = caution(key).map_or_else(|| key.clone(), |caution| caution.text);
        framed(ui, tokens.caution, Stroke::new(1.5, tokens.on_caution), |ui| {
            let text = RichText::new(format!("Caution: {text}")).color(tokens.on_caution);
            ui.add(Label::new(text).wrap());
        });
    }
    card(ui, |ui| {
        fact(ui, "Why", &step.why);
        if let Some(telephone) = &step.telephone {
            fact(ui, "Telephone", telephone);
        }
        if let Some(feature) = step.needs {
            fact(ui, "Needs", &format!("a guitar with {}", feature.words()));
        }
    });
}

fn asked(ui: &mut Ui, ask: &Ask) {
    card(ui, |ui| match ask {
        Ask::Measure(asked) => measured(ui, asked),
        Ask::Question { sense: Sense::Look, .. } => fact(ui, "How", "Look."),
        Ask::Question { sense: Sense::Listen, .. } => fact(ui, "How", "Listen."),
        Ask::Question { sense: Sense::Ask, .. } => fact(ui, "How", "Ask the customer."),
    });
}

fn measured(ui: &mut Ui, asked: &Probe) {
    match asked.heard() {
        Some(check) => {
            let about = asked.about.as_deref().unwrap_or_default();
            fact(ui, "Listen", format!("{} {about}", check.title()).trim_end());
        }
        None => fact(ui, "Dial", dial(asked.mode)),
    }
    for (control, place) in asked.stands() {
        fact(ui, "Set", &format!("{control} at {place}"));
    }
    if let Some(flex) = &asked.flex {
        fact(ui, "Meanwhile", &format!("move the {flex} and watch the lowest and the highest value"));
    }
    if asked.heard().is_none() {
        probe(ui, Lead::Red, &asked.red);
        probe(ui, Lead::Black, &asked.black);
    }
}

fn dial(mode: Mode) -> &'static str {
    match mode {
        Mode::Continuity => "beeper",
        Mode::Volts => "volts, direct, with the battery in",
        Mode::Current => "amperes, direct, with the battery in",
        _ => "ohms",
    }
}

fn ways(ui: &mut Ui, tree: &Tree, step: &Step, known: Known<'_>, own: &mut TreesDesk, out: &mut Vec<Action>) {
    section(ui, "Where each way leads");
    let focus = std::mem::take(&mut own.to_ways);
    for (index, ((when, means), then)) in said(step).into_iter().zip(step.ways()).enumerate() {
        let means = means.map_or(String::new(), |means| format!(": {}", words::sentence(means)));
        let text = format!("{}. {when}{means} {}", index + 1, leads(tree, then));
        let button = Button::new(text.as_str()).wrap().min_size(vec2(ui.available_width(), 0.0));
        let response = ui.add(button).accessible_name(format!("Way {text}"));
        if focus && index == 0 {
            response.request_focus();
        }
        if response.clicked() {
            out.extend(follow(tree, then).map(Action::Trees));
        }
        beside(ui, known, index);
    }
}

/// Shows what is known of a way: its share of the faults, how many past jobs went it, and whether the job took it.
fn beside(ui: &mut Ui, known: Known<'_>, index: usize) {
    let share = known.shares.and_then(|shares| shares.get(index));
    let share = share.map(|share| format!("{} of the faults go this way", words::percent(*share)));
    let past = known.past.map(|past| past.words(index)).filter(|words| !words.is_empty());
    let past = past.map(|words| format!("past: {words}"));
    let went = (known.went == Some(index)).then(|| "the job went this way".to_owned());
    let told: Vec<String> = share.into_iter().chain(past).chain(went).collect();
    if !told.is_empty() {
        small(ui, told.join("; "));
    }
}

/// Returns what is shown when a way is pressed; `None` at an end.
fn follow(tree: &Tree, then: &Then) -> Option<TreesAction> {
    match then {
        Then::Step(index) => Some(TreesAction::Step(tree.steps.get(*index)?.name.clone())),
        Then::Tree(name) => Some(TreesAction::Choose(name.clone())),
        Then::Advisor | Then::Suspect(_) | Then::NotTheInstrument => None,
    }
}

/// Returns what takes each way and what it means, in the order of [`Step::ways`].
fn said(step: &Step) -> Vec<(String, Option<&str>)> {
    let mut said: Vec<(String, Option<&str>)> = match &step.ask {
        Ask::Measure(asked) => {
            asked.outcomes.iter().map(|outcome| (outcome.says(), Some(outcome.means.as_str()))).collect()
        }
        Ask::Question { answers, .. } => {
            answers.iter().map(|answer| (answer.answer.clone(), Some(answer.means.as_str()))).collect()
        }
    };
    said.push(("It cannot be done.".to_owned(), None));
    said
}

/// Returns where a way leads, in words.
fn leads(tree: &Tree, then: &Then) -> String {
    match then {
        Then::Step(index) => {
            format!("Go to “{}”.", tree.steps.get(*index).map_or("", |step| step.name.as_str()))
        }
        Then::Advisor => "The advisor goes on.".to_owned(),
        Then::Suspect(suspicion) => words::sentence(&format!("Suspect: {}", suspicion.say)),
        Then::Tree(name) => format!("The tree “{name}” goes on."),
        Then::NotTheInstrument => "It is not the instrument.".to_owned(),
    }
}
