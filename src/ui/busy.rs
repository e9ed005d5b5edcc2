//! The strip that says what is being done beside the window, and gives it up.

use std::time::Duration;

use egui::{Context, Frame, Key, Label, Margin, Modifiers, Panel, RichText, Stroke, Ui};

use super::action::{Action, Desk};
use super::task::Busy;
use super::theme::{self, tokens};
use super::widgets::key_button;

/// What is done sooner than this is not worth a word.
const SHORT: Duration = Duration::from_millis(150);
/// How much of its colour the rest of the window keeps meanwhile.
const PALE: f32 = 0.8;

/// Shows what is being done, and makes the rest of the window pale: it shows what was before.
pub fn show(ui: &mut Ui, busy: Option<&Busy>, out: &mut Vec<Action>) {
    let Some(busy) = busy.filter(|busy| busy.since.elapsed() >= SHORT) else { return };
    let edge = Stroke::new(1.0, tokens(ui).edge);
    let frame = Frame::new().fill(tokens(ui).tint).stroke(edge).inner_margin(Margin::symmetric(16, 8));
    Panel::bottom("busy").frame(frame).show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            if busy.can_be_given_up && key_button(ui, "Give it up", "Escape", true).clicked() {
                out.push(Action::GiveUp);
            }
            ui.add(Label::new(RichText::new(sentence(busy)).text_style(theme::lead())).wrap());
        });
    });
    ui.multiply_opacity(PALE);
}

/// Gives it up at the press of Escape, when that closes nothing else.
pub fn keys(ctx: &Context, busy: Option<&Busy>, desk: &Desk, out: &mut Vec<Action>) {
    let can = busy.is_some_and(|busy| busy.can_be_given_up) && desk.overlay.is_none();
    if can && ctx.input_mut(|input| input.consume_key(Modifiers::NONE, Key::Escape)) {
        out.push(Action::GiveUp);
    }
}

fn sentence(busy: &Busy) -> String {
    let phase = busy.phase.map(|phase| format!(", {}", phase.says())).unwrap_or_default();
    let waiting =
        if busy.waiting > 0 { format!("; {} more to do after it", busy.waiting) } else { String::new() };
    format!("Working: {}{phase}, for {} s{waiting}", busy.doing, busy.since.elapsed().as_secs())
}
