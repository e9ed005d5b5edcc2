//! All readings, expected against found; each can be corrected or withdrawn.

use egui::{Button, EventFilter, Key, Label, Response, RichText, Stroke, Ui, vec2};

use super::action::{Action, Desk, Overlay, Spot};
use super::theme::tokens;
use super::widgets::{card, fact, framed, good, problem, section, small, soft};
use super::{scale, words};
use crate::job::{ReadingId, Standing};
use crate::readings::Shown;
use crate::workbench::{Ask, LookBack, ReadingView, Stage, View};

/// So many suspects are shown with how they stood before and after a reading.
const STOOD: usize = 4;

/// Shows all readings, the last one first.
pub fn show(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    let failed_none = view.rounds.iter().all(|round| round.failed.is_empty());
    if view.readings.is_empty() && failed_none && view.answers.is_empty() {
        soft(ui, "None yet. Each reading will be listed here with what was expected.");
        let _ = desk.takes_focus(Spot::Readings);
        return;
    }
    let focus = desk.overlay.is_none() && desk.takes_focus(Spot::Readings);
    let first = first(view, desk.closer.reading);
    failed(ui, view, view.readings.len());
    for (at, reading) in view.readings.iter().enumerate().rev() {
        let tokens = tokens(ui);
        let open = desk.closer.reading == Some(reading.id);
        let edge = if open { Stroke::new(2.0, tokens.accent) } else { Stroke::new(1.0, tokens.line) };
        framed(ui, tokens.card, edge, |ui| {
            let line = line(ui, reading, open);
            if focus && first == Some(reading.id) {
                line.request_focus();
            }
            answer(ui, &line, view, at, out);
            row(ui, reading);
            if open {
                opened(ui, desk);
            }
            if !reading.withdrawn && view.stage != Stage::Closed {
                buttons(ui, reading, out);
            }
        });
        failed(ui, view, at);
    }
    answered(ui, view);
}

/// Shows the questions that were answered, the last one first.
fn answered(ui: &mut Ui, view: &View) {
    if view.answers.is_empty() {
        return;
    }
    section(ui, "Questions answered");
    for answer in view.answers.iter().rev() {
        card(ui, |ui| {
            ui.add(Label::new(&answer.question).wrap());
            soft(ui, format!("Answer: {}", answer.answer));
        });
    }
}

/// Shows the proof readings that failed when so many readings had been taken, the last one first.
fn failed(ui: &mut Ui, view: &View, taken: usize) {
    let rounds = view.rounds.iter().rev().filter(|round| round.after == taken);
    for proof in rounds.flat_map(|round| round.failed.iter().rev()) {
        let tokens = tokens(ui);
        framed(ui, tokens.card, Stroke::new(1.0, tokens.line), |ui| {
            ui.add(Label::new(format!("Proof that failed: {}", proof.sentence)).wrap());
            let found = RichText::new(format!("{}, not healthy", proof.found)).color(tokens.bad);
            ui.add(Label::new(found).wrap());
            small(ui, format!("healthy {} · typed “{}”", proof.healthy, proof.typed));
        });
    }
}

/// Returns the reading that the keyboard goes to: the one that is looked at, or the last.
fn first(view: &View, looked: Option<ReadingId>) -> Option<ReadingId> {
    let known = looked.filter(|id| view.readings.iter().any(|reading| reading.id == *id));
    known.or_else(|| view.readings.last().map(|reading| reading.id))
}

/// Shows what was read, as the button that looks back at it.
fn line(ui: &mut Ui, reading: &ReadingView, open: bool) -> Response {
    let line = format!("{}. {}", reading.id.0, reading.sentence);
    let text = RichText::new(line.as_str());
    let text = if reading.withdrawn { text.strikethrough().color(tokens(ui).soft) } else { text };
    let mark = RichText::new(if open { "–" } else { "+" }).color(tokens(ui).accent);
    let button = Button::new(text).right_text(mark).wrap().frame_when_inactive(false);
    let told = if open { "Put away" } else { "Look back at" };
    let pressed = |ui: &mut Ui| {
        ui.spacing_mut().button_padding = vec2(4.0, 3.0);
        ui.add(button.min_size(vec2(ui.available_width(), 0.0)))
    };
    ui.scope(pressed).inner.accessible_name(format!("{told} {line}"))
}

/// Looks back at a reading that is pressed; the arrow keys go on to the one above or below.
fn answer(ui: &Ui, line: &Response, view: &View, at: usize, out: &mut Vec<Action>) {
    if line.clicked() {
        line.request_focus();
        out.push(Action::LookBack(view.readings[at].id));
    }
    if !line.has_focus() {
        return;
    }
    let filter = EventFilter { vertical_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(line.id, filter));
    let pressed = |key| ui.input(|input| input.key_pressed(key));
    // The last reading stands first, so that down is back in time.
    let next = match (pressed(Key::ArrowUp), pressed(Key::ArrowDown)) {
        (true, false) => view.readings.get(at + 1),
        (false, true) => at.checked_sub(1).and_then(|before| view.readings.get(before)),
        _ => None,
    };
    out.extend(next.map(|reading| Action::LookOn(reading.id)));
}

/// Shows the reading that is looked at as it was taken.
fn opened(ui: &mut Ui, desk: &Desk) {
    match &desk.closer.back {
        Some(Ok(back)) => looked_back(ui, back),
        Some(Err(text)) => {
            problem(ui, text);
        }
        None => {}
    }
}

fn looked_back(ui: &mut Ui, back: &LookBack) {
    soft(ui, "What was to be expected then:");
    if let Ask::Measure(asked) = &back.ask
        && scale::fits(asked.mode)
    {
        scale::show(ui, Some(&back.healthy), &back.bands, Some(&back.shown), 16.0);
    }
    scale::legend(ui, &back.bands);
    fact(ui, "It told", &format!("{:.1} bits about what to repair", back.bits));
    for after in back.after.iter().take(STOOD) {
        stood(ui, &back.before, after);
    }
}

/// Shows how a suspect stood before and after the reading.
fn stood(ui: &mut Ui, before: &[Standing], after: &Standing) {
    let same = |standing: &&Standing| standing.faults.first() == after.faults.first();
    let was = before.iter().find(same).map_or("less".to_owned(), |known| words::percent(known.probability));
    let now = words::percent(after.probability);
    small(ui, format!("{now}, before it {was}: {}", after.sentence));
}

fn row(ui: &mut Ui, reading: &ReadingView) {
    if reading.withdrawn {
        soft(ui, format!("Withdrawn: {}", reading.found));
        return;
    }
    if reading.fits_healthy {
        good(ui, &format!("{}, as it should be", reading.found));
    } else {
        ui.add(
            Label::new(RichText::new(format!("{}, not healthy", reading.found)).color(tokens(ui).bad)).wrap(),
        );
    }
    let asked = words::asked_by(reading.asked_by);
    small(ui, format!("healthy {} · typed “{}” · {asked}", reading.healthy, reading.typed));
    if reading.surprising {
        problem(ui, "Fits none of the suspects well. Take it again, or correct it.");
    }
}

fn small_text(text: &str) -> Button<'_> {
    Button::new(RichText::new(text).small()).min_size(vec2(0.0, 24.0))
}

fn buttons(ui: &mut Ui, reading: &ReadingView, out: &mut Vec<Action>) {
    let id = reading.id;
    ui.horizontal(|ui| {
        ui.spacing_mut().button_padding.y = 2.0;
        ui.spacing_mut().interact_size.y = 24.0;
        let correct = ui.add(small_text("Correct…")).accessible_name(format!("Correct reading {}", id.0));
        if correct.clicked() {
            let flexed = matches!(reading.shown, Shown::Range { .. });
            let mode = reading.measurement.mode;
            out.push(Action::Show(Overlay::Correct { id, flexed, mode }));
        }
        let withdraw = ui.add(small_text("Withdraw…")).accessible_name(format!("Withdraw reading {}", id.0));
        if withdraw.clicked() {
            out.push(Action::Show(Overlay::Withdraw(id)));
        }
    });
}
