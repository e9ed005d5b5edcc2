//! The step in letters that can be read from two metres away: the instruction, the probes, and what must change.

use egui::{Color32, FontId, Label, RichText, Stroke, Ui, Vec2};

use super::action::{Action, Desk};
use super::app::asked;
use super::theme::tokens;
use super::widgets::{self, Probe, framed, key_button, soft, speaker_mark};
use super::{finish, step, words};
use crate::readings::Access;
use crate::workbench::{Ask, ProofView, Stage, StepView, View};

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

/// What is shown large.
#[derive(Clone, Copy, Debug)]
pub enum Large<'a> {
    /// A step of the search.
    Step(&'a StepView),
    /// A proof reading.
    Proof(&'a ProofView),
}

/// Returns what is shown large now; `None` when the usual view is shown.
pub fn wanted<'a>(view: &'a View, desk: &Desk) -> Option<Large<'a>> {
    if !desk.far || !view.cautions.is_empty() {
        return None;
    }
    match view.stage {
        Stage::Finding if view.verdict.is_none() && view.access != Access::Telephone => {
            view.step.as_ref().map(Large::Step)
        }
        Stage::Proving => {
            let now = asked(view, desk)?;
            view.proof.iter().find(|proof| proof.measurement == *now).map(Large::Proof)
        }
        _ => None,
    }
}

/// Shows the button that goes over to the other view.
pub fn button(ui: &mut Ui, name: &str, out: &mut Vec<Action>) {
    if key_button(ui, name, "Ctrl+F", true).clicked() {
        out.push(Action::Far);
    }
}

/// Shows the step as large as it fits into the room.
pub fn show(ui: &mut Ui, view: &View, large: Large<'_>, room: Vec2, desk: &mut Desk, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        if let Large::Step(step) = large {
            speaker_mark(ui, step.speaker);
            soft(ui, words::speaker(step));
        } else {
            soft(ui, finish::ASKED);
        }
        button(ui, "Near view", out);
    });
    let mut left = room.y - HEAD;
    if has_more(view, desk) {
        soft(ui, "There is something else to read in the near view.");
        left -= 26.0;
    }
    let answers = answers(large);
    if !answers.is_empty() {
        left -= ANSWER * (count(answers.len()) + 1.0);
    }
    let lines = match large {
        Large::Step(step) => lines(step, desk),
        Large::Proof(proof) => proof_lines(proof),
    };
    let sizes = fitting(ui, &lines, Vec2::new(ui.available_width(), left));
    for line in &lines {
        let waits = (line.kind == Kind::Headline && !answers.is_empty()).then_some(&mut *desk);
        draw(ui, line, if line.kind == Kind::Headline { sizes.0 } else { sizes.1 }, waits);
    }
    if !answers.is_empty() {
        step::show_answers(ui, answers, out);
    }
}

/// Returns whether the usual view tells more than how to take the reading.
fn has_more(view: &View, desk: &Desk) -> bool {
    let failed = view.stage == Stage::Proving && view.proof.iter().any(|proof| proof.passed == Some(false));
    failed || view.doubt.is_some() || !view.notices.is_empty() || !desk.notices.is_empty()
}

fn answers(large: Large<'_>) -> &[String] {
    match large {
        Large::Step(StepView { ask: Ask::Question { answers }, .. }) => answers,
        _ => &[],
    }
}

/// Returns what is shown of a proof reading.
fn proof_lines(proof: &ProofView) -> Vec<Line> {
    let line = |kind, text: String| Line { kind, text };
    let mut lines = vec![line(Kind::Headline, proof.sentence.clone())];
    let battery = proof.battery.filter(|battery| battery.moved);
    lines.extend(battery.map(|battery| line(Kind::Change, battery.says().to_owned())));
    if !proof.flex.is_empty() {
        lines.push(line(Kind::Change, format!("Meanwhile: {}", proof.flex)));
    }
    lines.push(line(Kind::Plain, format!("Healthy: {}", proof.healthy)));
    lines
}

fn count(lines: usize) -> f32 {
    u16::try_from(lines).map_or(0.0, f32::from)
}

/// Returns what is shown, in order: what to do, with what, what must change, what is healthy.
fn lines(step: &StepView, desk: &Desk) -> Vec<Line> {
    let line = |kind, text: String| Line { kind, text };
    let mut lines = vec![line(Kind::Headline, step.headline.clone())];
    if !step.red.is_empty() {
        lines.push(line(Kind::Probe(Probe::Red), format!("Red: {}", step.red)));
        lines.push(line(Kind::Probe(Probe::Black), format!("Black: {}", step.black)));
    }
    if !step.dial.is_empty() {
        let turned = desk.dialled.as_ref() != Some(&step.dial);
        let kind = if turned { Kind::Change } else { Kind::Plain };
        lines.push(line(kind, format!("Dial: {}", step.dial)));
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

/// Shows a line; the keyboard waits for an answer at a question.
fn draw(ui: &mut Ui, line: &Line, size: f32, waits: Option<&mut Desk>) {
    let label = Label::new(RichText::new(&line.text).size(size)).wrap();
    match line.kind {
        Kind::Headline | Kind::Plain => {
            match waits {
                Some(desk) => widgets::waiting(ui, label, desk),
                None => ui.add(label),
            };
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
