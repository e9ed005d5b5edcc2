//! The step in letters that can be read from two metres away: the instruction, the probes, and what must change.

use egui::{Color32, FontId, Label, RichText, Stroke, Ui, Vec2};

use super::action::{Action, Desk};
use super::theme::tokens;
use super::widgets::{self, Probe, framed, key_button, soft, speaker_mark};
use super::{step, words};
use crate::readings::Access;
use crate::workbench::{Ask, Stage, StepView, View};

/// Sizes of the letters, of the instruction and of the rest, in points: the first that all fits in is taken.
const SIZES: [(f32, f32); 11] = [
    (56.0, 38.0),
    (48.0, 34.0),
    (44.0, 30.0),
    (40.0, 28.0),
    (36.0, 26.0),
    (34.0, 24.0),
    (34.0, 20.0),
    (34.0, 17.0),
    (28.0, 17.0),
    (24.0, 16.0),
    (19.0, 15.0),
];
/// Room for who is speaking, for each answer of a question, and around each line.
const HEAD: f32 = 40.0;
const ANSWER: f32 = 46.0;
const AROUND: f32 = 10.0;
/// Room that the frame and the pointer of what must change take.
const FRAME: Vec2 = Vec2::new(52.0, 18.0);

/// What a line is.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Headline,
    Probe(Probe),
    Change,
    Plain,
}

struct Line {
    kind: Kind,
    text: String,
}

/// Returns the step that is shown large now; `None` when the usual view is shown.
pub fn wanted<'a>(view: &'a View, desk: &Desk) -> Option<&'a StepView> {
    let finding = view.stage == Stage::Finding && view.cautions.is_empty() && view.verdict.is_none();
    view.step.as_ref().filter(|_| desk.far && finding && view.access != Access::Telephone)
}

/// Shows the button that goes over to the other view.
pub fn button(ui: &mut Ui, name: &str, out: &mut Vec<Action>) {
    if key_button(ui, name, "Ctrl+F", true).clicked() {
        out.push(Action::Far);
    }
}

/// Shows the step as large as it fits into the room.
pub fn show(ui: &mut Ui, view: &View, step: &StepView, room: Vec2, desk: &mut Desk, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        speaker_mark(ui, step.speaker);
        soft(ui, words::speaker(step));
        button(ui, "Near view", out);
    });
    let mut left = room.y - HEAD;
    if view.doubt.is_some() || !view.notices.is_empty() || !desk.notices.is_empty() {
        soft(ui, "There is something else to read in the near view.");
        left -= 26.0;
    }
    let answers: &[String] = if let Ask::Question { answers } = &step.ask { answers } else { &[] };
    if !answers.is_empty() {
        left -= ANSWER * (count(answers.len()) + 1.0);
    }
    let lines = lines(step);
    let sizes = fitting(ui, &lines, Vec2::new(ui.available_width(), left));
    for line in &lines {
        draw(ui, line, if line.kind == Kind::Headline { sizes.0 } else { sizes.1 });
    }
    if !answers.is_empty() {
        step::show_answers(ui, answers, desk, out);
    }
}

fn count(lines: usize) -> f32 {
    u16::try_from(lines).map_or(0.0, f32::from)
}

/// Returns what is shown, in order: what to do, with what, what must change, what is healthy.
fn lines(step: &StepView) -> Vec<Line> {
    let line = |kind, text: String| Line { kind, text };
    let mut lines = vec![line(Kind::Headline, step.headline.clone())];
    if !step.red.is_empty() {
        lines.push(line(Kind::Probe(Probe::Red), format!("Red: {}", step.red)));
        lines.push(line(Kind::Probe(Probe::Black), format!("Black: {}", step.black)));
    }
    lines.extend(step.open_first.iter().map(|place| line(Kind::Change, format!("Open {place}"))));
    let moved = step.controls.iter().filter(|control| control.moved);
    lines.extend(moved.map(|c| line(Kind::Change, format!("Move {} to {}", c.name, c.stand))));
    let battery = step.battery.filter(|battery| battery.moved);
    lines.extend(battery.map(|battery| line(Kind::Change, battery.says().to_owned())));
    if !step.flex.is_empty() {
        lines.push(line(Kind::Change, format!("Meanwhile: {}", step.flex)));
    }
    if !step.healthy.is_empty() {
        lines.push(line(Kind::Plain, format!("Healthy: {}", step.healthy)));
    }
    lines
}

/// Returns the largest sizes in which all lines fit into the room; the smallest if none do.
fn fitting(ui: &Ui, lines: &[Line], room: Vec2) -> (f32, f32) {
    let tall = |(head, rest): (f32, f32)| {
        let of =
            |line: &Line| height(ui, line, if line.kind == Kind::Headline { head } else { rest }, room.x);
        lines.iter().map(of).sum::<f32>()
    };
    let last = SIZES[SIZES.len() - 1];
    SIZES.into_iter().find(|sizes| tall(*sizes) <= room.y).unwrap_or(last)
}

fn height(ui: &Ui, line: &Line, size: f32, width: f32) -> f32 {
    let (aside, more) = match line.kind {
        Kind::Headline | Kind::Plain => (0.0, 0.0),
        Kind::Probe(_) => (size + 12.0, 0.0),
        Kind::Change => (FRAME.x, FRAME.y),
    };
    let font = FontId::proportional(size);
    let wrap = (width - aside).max(60.0);
    let text = ui.painter().layout(line.text.clone(), font, Color32::PLACEHOLDER, wrap);
    text.size().y + more + AROUND
}

fn draw(ui: &mut Ui, line: &Line, size: f32) {
    let label = Label::new(RichText::new(&line.text).size(size)).wrap();
    match line.kind {
        Kind::Headline | Kind::Plain => {
            ui.add(label);
        }
        Kind::Probe(probe) => {
            ui.horizontal_top(|ui| {
                widgets::probe_mark(ui, probe, size);
                ui.add(label);
            });
        }
        Kind::Change => framed(ui, tokens(ui).tint, Stroke::new(2.5, tokens(ui).accent), |ui| {
            ui.horizontal_top(|ui| {
                widgets::pointer(ui);
                ui.add(label);
            });
        }),
    }
}
