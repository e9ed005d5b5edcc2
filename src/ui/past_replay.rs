//! One past job, step by step: what was asked, by whom, what was read, and how the suspects stood.

use egui::{Button, Context, EventFilter, Id, Key, Label, RichText, ScrollArea, Ui, vec2};

use super::action::{Action, Desk, Spot};
use super::past::pressed;
use super::past_care::Sure;
use super::past_desk::{PastAction, PastDesk, Rerun};
use super::past_files;
use super::theme;
use super::widgets::{bar, card, fact, key_button, section, small, soft};
use super::words;
use crate::archive::{Named, Summary};
use crate::job::Standing;
use crate::session::ReplayStep;

/// The width from which the steps stand beside the one that is looked at, in points.
const WIDE: f32 = 860.0;
/// How high the list of steps is where they stand below it, in points.
const LIST: f32 = 280.0;
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
        let asked = own.sure == Some(Sure::Forget);
        out.push(Action::Past(if asked { PastAction::Unsure } else { PastAction::Back }));
    }
}

fn step_to(step: usize) -> Action {
    Action::Past(PastAction::Step(step))
}

/// Shows the job.
pub(super) fn show(ui: &mut Ui, own: &PastDesk, rerun: &Rerun, desk: &mut Desk, out: &mut Vec<Action>) {
    ui.add(Label::new(super::past::line(&(rerun.job.clone(), None))).wrap());
    buttons(ui, rerun, desk, out);
    if ui.available_width() < WIDE {
        ScrollArea::vertical().show(ui, |ui| {
            ui.set_max_width(ui.available_width() - 12.0);
            about(ui, own, rerun, out);
            ScrollArea::vertical().id_salt("all steps").max_height(LIST).show(ui, |ui| all(ui, rerun, out));
        });
        return;
    }
    ui.columns(2, |columns| {
        ScrollArea::vertical().id_salt("all steps").show(&mut columns[0], |ui| all(ui, rerun, out));
        ScrollArea::vertical().id_salt("one step").show(&mut columns[1], |ui| {
            ui.set_max_width(ui.available_width() - 12.0);
            about(ui, own, rerun, out);
        });
    });
}

/// Shows what the job came to, and the step that is looked at.
fn about(ui: &mut Ui, own: &PastDesk, rerun: &Rerun, out: &mut Vec<Action>) {
    head(ui, &rerun.job);
    past_files::one(ui, own, rerun, out);
    match rerun.replay.steps.get(rerun.at) {
        Some(step) => one(ui, step, rerun.replay.steps.len()),
        None => {
            soft(ui, "The events of this job cannot be gone through.");
        }
    }
}

/// Shows what a job came to: by whom, in what time, with how many readings.
fn head(ui: &mut Ui, job: &Summary) {
    let minutes = format!("{:.0} of search, {:.0} of repair", job.search_minutes, job.repair_minutes);
    let readings = format!("{}, {} skipped", job.readings, job.skipped);
    let named = |named: &Option<Named>| named.as_ref().map(|it| it.words().to_owned()).unwrap_or_default();
    let last = named(&job.last);
    let first = if job.renamed { named(&job.first) } else { String::new() };
    let facts: [(&str, &str); 7] = [
        ("Technician", job.technician.trim()),
        ("Minutes", &minutes),
        ("Readings", &readings),
        ("Complaint", job.complaint.trim()),
        ("Found", &last),
        ("Named first", &first),
        ("Not proven", job.reason.trim()),
    ];
    card(ui, |ui| {
        for (name, text) in facts.into_iter().filter(|(_, text)| !text.is_empty()) {
            fact(ui, name, text);
        }
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
        if let Some((step, _)) = rerun.found
            && ui.button("Go to the reading that found it").clicked()
        {
            out.push(step_to(step));
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

/// Returns a suspect with its probability, and the one before.
fn stood(suspect: &Standing, before: &[Standing]) -> String {
    let now = words::percent(suspect.probability);
    format!("{now}{}: {}", earlier(suspect, before, &now), suspect.sentence)
}

/// Returns how a suspect stood before, in words: one with the same faults, or with some of them.
fn earlier(suspect: &Standing, before: &[Standing], now: &str) -> String {
    let same = before.iter().find(|one| one.faults == suspect.faults);
    let shares = |one: &&Standing| one.faults.iter().any(|fault| suspect.faults.contains(fault));
    match same.or_else(|| before.iter().find(shares)).map(|one| words::percent(one.probability)) {
        Some(was) if was == now => ", as before".to_owned(),
        Some(was) => format!(", {was} before"),
        None if before.is_empty() => String::new(),
        None => ", not among the likeliest before".to_owned(),
    }
}

fn all(ui: &mut Ui, rerun: &Rerun, out: &mut Vec<Action>) {
    section(ui, "All steps");
    let turned = turned_to(ui, rerun);
    for (index, step) in rerun.replay.steps.iter().enumerate() {
        let mark = if step.counts { "" } else { " (taken back)" };
        let found = rerun.found.filter(|(found, _)| *found == index);
        let found = found.map(|(_, bits)| format!(" (found it: {bits:+.1} bits)")).unwrap_or_default();
        let said = told(step);
        let text = format!("{}. {}{mark}{found}", step.number, words::shortened(&said, 160));
        let button = Button::selectable(index == rerun.at, text).wrap();
        let response = ui.add(button.min_size(vec2(ui.available_width(), 0.0)));
        if turned && index == rerun.at {
            response.scroll_to_me(None);
        }
        if response.accessible_name(format!("Go to step {}: {said}{found}", step.number)).clicked() {
            out.push(step_to(index));
        }
    }
}

/// Returns what happened at a step, with the place that was measured.
fn told(step: &ReplayStep) -> String {
    let asked = step.asked.trim();
    if asked.is_empty() || step.said.contains(asked) {
        return step.said.clone();
    }
    format!("{}, {asked}", step.said)
}

/// Returns whether another step is shown than in the frame before.
fn turned_to(ui: &Ui, rerun: &Rerun) -> bool {
    let (key, now) = (Id::unique("step that was scrolled to"), (rerun.job.uid.clone(), rerun.at));
    ui.data_mut(|data| {
        let last = data.get_temp_mut_or_default::<(String, usize)>(key);
        let turned = *last != now;
        *last = now;
        turned
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(fault: &str, probability: f64) -> Standing {
        Standing { probability, sentence: fault.to_owned(), faults: vec![fault.to_owned()] }
    }

    #[test]
    fn each_suspect_says_how_it_stood_before() {
        let before = [Standing { faults: vec!["a".to_owned(), "b".to_owned()], ..one("a", 0.3) }];
        assert_eq!(stood(&one("a", 0.9), &before), "90 %, 30 % before: a");
        assert_eq!(stood(&one("b", 0.3), &before), "30 %, as before: b");
        assert_eq!(stood(&one("c", 0.1), &before), "10 %, not among the likeliest before: c");
        assert_eq!(stood(&one("c", 0.1), &[]), "10 %: c");
    }
}
