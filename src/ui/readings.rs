//! All readings, expected against found; each can be corrected or withdrawn.

use egui::{Button, Label, RichText, Stroke, Ui, vec2};

use super::action::{Action, Desk, Overlay, Spot};
use super::theme::tokens;
use super::widgets::{framed, good, problem, small, soft};
use super::words;
use crate::readings::Shown;
use crate::workbench::{ReadingView, Stage, View};

/// Shows all readings, the last one first.
pub fn show(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    if view.readings.is_empty() && view.rounds.iter().all(|round| round.failed.is_empty()) {
        soft(ui, "None yet. Each reading will be listed here with what was expected.");
        let _ = desk.takes_focus(Spot::Readings);
        return;
    }
    let mut focus = desk.overlay.is_none() && desk.takes_focus(Spot::Readings);
    failed(ui, view, view.readings.len());
    for (at, reading) in view.readings.iter().enumerate().rev() {
        let tokens = tokens(ui);
        framed(ui, tokens.card, Stroke::new(1.0, tokens.line), |ui| {
            row(ui, reading);
            if !reading.withdrawn && view.stage != Stage::Closed {
                buttons(ui, reading, std::mem::take(&mut focus), out);
            }
        });
        failed(ui, view, at);
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

fn row(ui: &mut Ui, reading: &ReadingView) {
    let line = format!("{}. {}", reading.id.0, reading.sentence);
    if reading.withdrawn {
        ui.add(Label::new(RichText::new(line).strikethrough().color(tokens(ui).soft)).wrap());
        soft(ui, format!("Withdrawn: {}", reading.found));
        return;
    }
    ui.add(Label::new(line).wrap());
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

fn buttons(ui: &mut Ui, reading: &ReadingView, focus: bool, out: &mut Vec<Action>) {
    let id = reading.id;
    ui.horizontal(|ui| {
        ui.spacing_mut().button_padding.y = 2.0;
        ui.spacing_mut().interact_size.y = 24.0;
        let correct = ui.add(small_text("Correct…")).accessible_name(format!("Correct reading {}", id.0));
        if focus {
            correct.request_focus();
        }
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
