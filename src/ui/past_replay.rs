//! One past job, step by step: what was asked, by whom, what was read, and how the suspects stood.

use egui::{Button, Context, EventFilter, Key, Label, RichText, ScrollArea, Ui, vec2};

use super::action::{Action, Desk, Spot};
use super::past::pressed;
use super::past_desk::{PastAction, PastDesk, Rerun};
use super::past_files;
use super::theme;
use super::widgets::{bar, card, fact, key_button, section, small, soft};
use super::words;
use crate::job::Standing;
use crate::session::ReplayStep;

/// How many suspects are shown at a step.
const LEADERS: usize = 5;

/// Turns the keys of this page into actions.
pub(super) fn keys(ctx: &Context, own: &PastDesk, desk: &Desk, out: &mut Vec<Action>) {
    let Some(rerun) = own.rerun.as_ref().filter(|_| desk.overlay.is_none()) else { return };
    if pressed(ctx, Key::ArrowLeft) {
        out.push(step_to(rerun.at.saturating_sub(1)));
    }
    if pressed(ctx, Key::ArrowRight) {
        out.push(step_to(rerun.at + 1));
    }
    if pressed(ctx, Key::Escape) {
        out.push(Action::Past(PastAction::Back));
    }
}

fn step_to(step: usize) -> Action {
    Action::Past(PastAction::Step(step))
}

/// Shows the job.
pub(super) fn show(ui: &mut Ui, own: &PastDesk, rerun: &Rerun, desk: &mut Desk, out: &mut Vec<Action>) {
    let steps = &rerun.replay.steps;
    ui.add(Label::new(super::past::line(&(rerun.job.clone(), None))).wrap());
    buttons(ui, rerun, desk, out);
    ScrollArea::vertical().show(ui, |ui| {
        ui.set_max_width(ui.available_width() - 12.0);
        past_files::one(ui, own, rerun, out);
        match steps.get(rerun.at) {
            Some(step) => one(ui, step, steps.len()),
            None => {
                soft(ui, "The events of this job cannot be gone through.");
            }
        }
        all(ui, rerun, out);
    });
}

fn buttons(ui: &mut Ui, rerun: &Rerun, desk: &mut Desk, out: &mut Vec<Action>) {
    let last = rerun.replay.steps.len().saturating_sub(1);
    let home = desk.overlay.is_none() && desk.takes_focus(Spot::Home);
    ui.horizontal_wrapped(|ui| {
        let previous = key_button(ui, "Previous step", "Left", rerun.at > 0);
        let next = key_button(ui, "Next step", "Right", rerun.at < last);
        if home {
            if rerun.at < last { next.request_focus() } else { previous.request_focus() }
        }
        let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
        for button in [&previous, &next].into_iter().filter(|button| button.has_focus()) {
            ui.memory_mut(|memory| memory.set_focus_lock_filter(button.id, filter));
        }
        if previous.clicked() {
            out.push(step_to(rerun.at.saturating_sub(1)));
        }
        if next.clicked() {
            out.push(step_to(rerun.at + 1));
        }
    });
}

fn one(ui: &mut Ui, step: &ReplayStep, of: usize) {
    small(ui, format!("Step {} of {of}, {}", step.number, moment(step)));
    ui.add(Label::new(RichText::new(words::sentence(&step.said)).text_style(theme::lead())).wrap());
    if !step.counts {
        soft(ui, "It was taken back later and does not count at the end.");
    }
    let tree = step.tree.as_ref().map(|place| format!("{}, step {}", place.tree, place.step));
    let facts: [(&str, &str); 7] = [
        ("Asked by", step.asked_by.map_or("", words::asked_by)),
        ("Tree", tree.as_deref().unwrap_or_default()),
        ("Asked", &step.asked),
        ("Typed", &step.typed),
        ("Means", &step.found),
        ("Healthy", &step.healthy),
        ("Passed", step.passed.map_or("", |passed| if passed { "yes" } else { "no" })),
    ];
    if facts.iter().any(|(_, text)| !text.is_empty()) || !step.later.is_empty() {
        card(ui, |ui| {
            for (name, text) in facts.into_iter().filter(|(_, text)| !text.is_empty()) {
                fact(ui, name, text);
            }
            for later in &step.later {
                fact(ui, "Later", later);
            }
        });
    }
    suspects(ui, step);
}

fn moment(step: &ReplayStep) -> String {
    step.at.replace('T', " ").trim_end_matches('Z').to_owned()
}

fn suspects(ui: &mut Ui, step: &ReplayStep) {
    if step.after.is_empty() {
        return;
    }
    section(ui, "How the suspects stood");
    for suspect in step.after.iter().take(LEADERS) {
        ui.horizontal_top(|ui| {
            bar(ui, suspect.probability, vec2(90.0, 14.0));
            ui.add(Label::new(stood(suspect, &step.before)).wrap());
        });
    }
    let more = step.after.len().saturating_sub(LEADERS);
    if more > 0 {
        small(ui, format!("and {more} more"));
    }
}

/// Returns a suspect with its probability, and the one before where it was another.
fn stood(suspect: &Standing, before: &[Standing]) -> String {
    let earlier = before.iter().find(|earlier| earlier.faults == suspect.faults);
    let now = words::percent(suspect.probability);
    let was = earlier.map(|earlier| words::percent(earlier.probability)).filter(|was| *was != now);
    let was = was.map(|was| format!(", {was} before")).unwrap_or_default();
    format!("{now}{was}: {}", suspect.sentence)
}

fn all(ui: &mut Ui, rerun: &Rerun, out: &mut Vec<Action>) {
    section(ui, "All steps");
    for (index, step) in rerun.replay.steps.iter().enumerate() {
        let mark = if step.counts { "" } else { " (taken back)" };
        let text = format!("{}. {}{mark}", step.number, words::shortened(&step.said, 120));
        let button = Button::selectable(index == rerun.at, text).wrap();
        let response = ui.add(button.min_size(vec2(ui.available_width(), 0.0)));
        if response.accessible_name(format!("Go to step {}: {}", step.number, step.said)).clicked() {
            out.push(step_to(index));
        }
    }
}
