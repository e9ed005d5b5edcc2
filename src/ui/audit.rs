//! The screen on which a fresh wiring is checked, one check at a time.

use egui::{Button, CentralPanel, Frame, Label, Margin, Panel, Rect, RichText, ScrollArea, Ui, vec2};

use super::action::{Action, AuditAction, AuditDesk, Desk};
use super::theme::{self, tokens};
use super::widgets::{Probe, card, fact, framed, good, key_button, probe, problem, section, small, soft};
use super::{entry, picture, step};
use crate::draw::Picture;
use crate::readings::Mode;
use crate::workbench::{AuditCheck, AuditRun};

/// The width from which the check and the list stand side by side, in points.
const WIDE: f32 = 860.0;

/// Shows the screen.
pub fn show(ui: &mut Ui, audit: &AuditDesk, desk: &mut Desk, out: &mut Vec<Action>) {
    let frame = Frame::new().fill(tokens(ui).paper).inner_margin(Margin::symmetric(16, 10));
    Panel::top("audit head").frame(frame).show(ui, |ui| head(ui, &audit.run, desk, out));
    if let Some(caution) = audit.run.view().cautions.get(audit.read) {
        let left = audit.run.view().cautions.len() - audit.read;
        CentralPanel::default().frame(frame).show(ui, |ui| {
            ScrollArea::vertical().show(ui, |ui| {
                step::caution(ui, caution, left, desk, Action::Audit(AuditAction::Read), out);
            });
        });
        return;
    }
    Panel::bottom("audit entry").frame(frame).show(ui, |ui| entry_line(ui, &audit.run, desk, out));
    if ui.available_width() >= WIDE {
        let wide = ui.available_width();
        Panel::left("audit check").resizable(false).exact_size(wide * 0.5).frame(frame).show(ui, |ui| {
            ScrollArea::vertical().show(ui, |ui| check(ui, &audit.run, out));
        });
    }
    CentralPanel::default().frame(frame).show(ui, |ui| {
        let beside = ui.available_width() < WIDE * 0.8;
        let image = audit.picture.as_ref().map(|(_, picture)| picture).filter(|_| beside);
        if let Some(image) = image.filter(|_| ui.available_height() > 300.0) {
            drawing(ui, image, desk);
        }
        ScrollArea::vertical().show(ui, |ui| {
            ui.set_max_width(ui.available_width() - 12.0);
            if ui.ctx().content_rect().width() < WIDE {
                check(ui, &audit.run, out);
            }
            list(ui, &audit.run, out);
        });
    });
}

fn head(ui: &mut Ui, run: &AuditRun, desk: &Desk, out: &mut Vec<Action>) {
    let view = run.view();
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new("Check a fresh wiring").text_style(theme::lead()));
        soft(ui, format!("{} ({})", view.title, view.code));
    });
    let (passed, failed) = run.score();
    let covered = format!("Coverage so far: {} of {} steady faults", run.covered(), view.total);
    let score = format!("{passed} of {} checks passed, {failed} failed. {covered}.", view.checks.len());
    ui.add(Label::new(score).wrap());
    let (undo, redo) = run.steps();
    let tools = [
        ("Back to the first screen", "Ctrl+N", true, AuditAction::Leave),
        ("Save the list…", "Ctrl+E", true, AuditAction::Save),
        ("Undo", "Ctrl+Z", undo, AuditAction::Undo),
        ("Redo", "Ctrl+Y", redo, AuditAction::Redo),
    ];
    ui.horizontal_wrapped(|ui| {
        for (name, key, enabled, action) in tools {
            if key_button(ui, name, key, enabled && desk.overlay.is_none()).clicked() {
                out.push(Action::Audit(action));
            }
        }
    });
}

fn check(ui: &mut Ui, run: &AuditRun, out: &mut Vec<Action>) {
    let Some(check) = run.check() else { return };
    ui.set_max_width(ui.available_width() - 12.0);
    soft(ui, format!("Check {} of {}", run.at() + 1, run.view().checks.len()));
    ui.add(Label::new(RichText::new(&check.headline).text_style(theme::headline())).wrap());
    instructions(ui, check);
    outcome(ui, run, out);
    small(ui, format!("Shows {} faults, such as: {}", check.covers, check.example));
    flexes(ui, run);
}

fn instructions(ui: &mut Ui, check: &AuditCheck) {
    card(ui, |ui| {
        fact(ui, "Where", &check.place);
        for place in &check.open_first {
            fact(ui, "Open first", place);
        }
        fact(ui, "Dial", &check.dial);
        step::controls(ui, &check.controls);
    });
    card(ui, |ui| {
        probe(ui, Probe::Red, &check.red);
        probe(ui, Probe::Black, &check.black);
    });
    card(ui, |ui| fact(ui, "Healthy", &check.healthy));
}

/// Shows whether the check passed; one that failed offers to start a job.
fn outcome(ui: &mut Ui, run: &AuditRun, out: &mut Vec<Action>) {
    match run.reading(run.at()) {
        None if run.done() => {}
        None => {
            small(ui, "Not taken yet");
        }
        Some(reading) if reading.passed => {
            good(ui, &format!("Passed: {}", reading.found));
        }
        Some(reading) => {
            problem(ui, &format!("Failed: {}", reading.found));
            soft(
                ui,
                "Take it again if a probe may have slipped. If it stays, a job finds the place at fault.",
            );
            if ui.button("Start a job with this wiring").clicked() {
                out.push(Action::Audit(AuditAction::StartJob));
            }
        }
    }
    if run.done() && run.score().1 == 0 {
        good(ui, &format!("Every check passed. {}.", run.view().coverage()[0]));
    }
}

fn flexes(ui: &mut Ui, run: &AuditRun) {
    let moves: Vec<_> = run.view().flexed_at(run.at()).collect();
    if moves.is_empty() {
        return;
    }
    section(ui, "Hold the probes on and move");
    small(ui, "For faults that come and go: the reading must keep still meanwhile.");
    for flex in moves {
        ui.add(Label::new(format!("· {}", flex.say)).wrap());
    }
}

fn drawing(ui: &mut Ui, image: &Picture, desk: &mut Desk) {
    let size = vec2(ui.available_width(), ui.available_height() * 0.5);
    let area = Rect::from_min_size(ui.cursor().min, size);
    picture::movable(ui, image, &mut desk.look, area);
}

fn list(ui: &mut Ui, run: &AuditRun, out: &mut Vec<Action>) {
    section(ui, "All checks");
    small(ui, format!("{}.", run.view().shortness()));
    for (index, check) in run.view().checks.iter().enumerate() {
        let mark = match run.reading(index).map(|reading| reading.passed) {
            None => "to do",
            Some(true) => "passed",
            Some(false) => "failed",
        };
        let moved = check.controls.iter().filter(|control| control.moved);
        let moved: String = moved.map(|c| format!(", {} to {}", c.name, c.stand)).collect();
        let text = format!("{}. {} – {}{moved} ({mark})", index + 1, check.red, check.black);
        let button = Button::selectable(index == run.at(), text).wrap();
        let response = ui.add(button.min_size(vec2(ui.available_width(), 0.0)));
        if response.accessible_name(format!("Go to check {}, {mark}", index + 1)).clicked() {
            out.push(Action::Audit(AuditAction::Go(index)));
        }
    }
    for missed in &run.view().missed {
        small(ui, format!("Not shown: {}: {}.", missed.sentence, missed.why));
    }
}

fn entry_line(ui: &mut Ui, run: &AuditRun, desk: &mut Desk, out: &mut Vec<Action>) {
    let Some(check) = run.check() else { return };
    framed(ui, tokens(ui).card, egui::Stroke::new(1.5, tokens(ui).edge), |ui| {
        entry::line(ui, desk, Action::Audit(AuditAction::Record), out);
        entry::answer(ui, desk, Some(&check.measurement));
        if ui.ctx().content_rect().height() > 340.0 {
            ui.horizontal_wrapped(|ui| keys(ui, run, check, out));
        }
    });
}

fn keys(ui: &mut Ui, run: &AuditRun, check: &AuditCheck, out: &mut Vec<Action>) {
    let mut insert = vec![("OL", "F2")];
    if check.measurement.mode == Mode::Continuity {
        insert.extend([("beep", "F3"), ("no beep", "F4")]);
    }
    for (word, key) in insert {
        if key_button(ui, word, key, true).clicked() {
            out.push(Action::Insert(word));
        }
    }
    let (at, last) = (run.at(), run.view().checks.len().saturating_sub(1));
    if key_button(ui, "Previous check", "", at > 0).clicked() {
        out.push(Action::Audit(AuditAction::Go(at.saturating_sub(1))));
    }
    if key_button(ui, "Next check", "", at < last).clicked() {
        out.push(Action::Audit(AuditAction::Go(at + 1)));
    }
}
