//! What lies over the job screen: the keys, and the small forms that ask for a reason or a correction.

use egui::{Button, Context, Frame, Id, Label, Margin, Modal, RichText, ScrollArea, Ui, vec2};

use super::action::{Action, Desk, Overlay, RepairForm, Spot};
use super::keys::SHORTCUTS;
use super::theme::{self, tokens};
use super::widgets::{Field, fact, good, main_button, problem, section, small, soft};
use super::{hands_free, tree_change, words};
use crate::session::DayLog;
use crate::workbench::{Command, View};

/// Said when a reason is asked for and none is given.
pub(super) const NO_REASON: &str = "Write the reason: it stands on the ticket.";

/// Said when a value that is known is not a part and its value.
pub(super) const NO_VALUE: &str = "Type the part and its value, such as neck-pickup 8.1k.";

/// Reads a part and its value at 20 °C, such as `neck pickup 8.1k`.
pub(super) fn known(text: &str) -> Option<Command> {
    let (part, value) = text.rsplit_once(' ')?;
    let part = part.split_whitespace().collect::<Vec<_>>().join("-");
    Some(Command::Know { part, text: value.to_owned(), celsius: 20.0 })
}

/// Shows what lies over the screen.
pub fn show(ctx: &Context, view: Option<&View>, desk: &mut Desk, out: &mut Vec<Action>) {
    let Some(overlay) = desk.overlay else { return };
    let frame = Frame::popup(&ctx.style_of(ctx.theme())).inner_margin(Margin::same(20));
    let id = Id::unique("overlay");
    let area = Modal::default_area(id).default_size(ctx.content_rect().size());
    let response = Modal::new(id).area(area).frame(frame).show(ctx, |ui| {
        let wide = match overlay {
            Overlay::Large => f32::INFINITY,
            Overlay::Change => 900.0,
            _ => 580.0,
        };
        ui.set_width((ctx.content_rect().width() - 80.0).min(wide));
        match (overlay, view) {
            (Overlay::Help, _) => help(ui, desk, out),
            (Overlay::Change, _) => tree_change::show(ui, desk, out),
            (Overlay::Name, Some(view)) => name(ui, view, desk, out),
            (Overlay::Large, Some(view)) => hands_free::large(ui, view, desk, out),
            _ => form(ui, overlay, desk, out),
        }
    });
    if response.should_close() {
        out.push(Action::Close);
    }
}

fn help(ui: &mut Ui, desk: &mut Desk, out: &mut Vec<Action>) {
    section(ui, "What the keys do");
    soft(ui, "A whole job can be done without the mouse.");
    let room = (ui.ctx().content_rect().height() - 250.0).max(90.0);
    ScrollArea::vertical().max_height(room).show(ui, |ui| {
        for shortcut in SHORTCUTS {
            fact(ui, shortcut.key, shortcut.meaning);
        }
    });
    log_folder(ui);
    close_button(ui, desk, out, "Close the list of keys");
}

/// Says where the log is.
fn log_folder(ui: &mut Ui) {
    let folder = DayLog::usual().folder().display().to_string();
    small(ui, "Errors and long computations are written to a log, with nothing about customers. Its folder:");
    ui.horizontal_wrapped(|ui| {
        if ui.button("Copy the path of the log folder").clicked() {
            ui.ctx().copy_text(folder.clone());
        }
        ui.add(Label::new(folder.as_str()).truncate());
    });
}

fn close_button(ui: &mut Ui, desk: &mut Desk, out: &mut Vec<Action>, name: &str) {
    let button = ui.button("Close").accessible_name(name);
    if desk.takes_focus(Spot::Overlay) {
        button.request_focus();
    }
    if button.clicked() {
        out.push(Action::Close);
    }
}

fn name(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    section(ui, "Which is the fault?");
    if let Some(text) = &desk.problem {
        problem(ui, text);
    }
    let focus = desk.takes_focus(Spot::Overlay);
    let room = (ui.ctx().content_rect().height() - 220.0).max(120.0);
    ScrollArea::vertical().max_height(room).show(ui, |ui| {
        for (index, suspect) in view.suspects.iter().enumerate() {
            let text = format!("{}  ·  {}", suspect.sentence, words::percent(suspect.probability));
            let number = if index < 9 { format!("{}", index + 1) } else { String::new() };
            let key = RichText::new(number).color(tokens(ui).soft);
            let button =
                Button::new(text).shortcut_text(key).wrap().min_size(vec2(ui.available_width(), 34.0));
            let response = ui.add(button).accessible_name(format!("The fault is: {}", suspect.sentence));
            if focus && index == 0 {
                response.request_focus();
            }
            if response.clicked() {
                out.push(Action::Do(Command::Conclude { faults: suspect.faults.clone() }));
            }
        }
    });
    if ui.button("Cancel").clicked() {
        out.push(Action::Close);
    }
}

/// What a small form says.
struct Says {
    title: String,
    label: &'static str,
    hint: &'static str,
    button: &'static str,
    note: &'static str,
}

fn says(overlay: Overlay) -> Says {
    match overlay {
        Overlay::Cannot => Says {
            title: "This step cannot be done".to_owned(),
            label: "Why not",
            hint: "such as: the cover's screws are stuck",
            button: "Leave the step out",
            note: "It will not be asked again, and the best of the other steps comes instead.",
        },
        Overlay::Correct { id, .. } => Says {
            title: format!("Correct reading {}", id.0),
            label: "What the meter showed",
            hint: "such as: 7.49k",
            button: "Replace the reading",
            note: "The old text stays in the job file; the suspects are weighed anew.",
        },
        Overlay::Know => Says {
            title: "A part's own value is known".to_owned(),
            label: "Part and value",
            hint: "such as: neck-pickup 8.1k",
            button: "Take it as known",
            note: "From an earlier job, a data sheet or a reading of the part alone; a coil at 20 °C. It moves what is \
                   expected, not what is suspected.",
        },
        Overlay::Withdraw(id) => Says {
            title: format!("Withdraw reading {}", id.0),
            label: "Why",
            hint: "such as: the probe was on the wrong lug",
            button: "Withdraw the reading",
            note: "It stays in the list, crossed out, and no longer counts.",
        },
        Overlay::SearchOn => Says {
            title: "The repair did not cure it".to_owned(),
            label: "What is still wrong",
            hint: "such as: still silent in the neck position",
            button: "Search on",
            note: "It may stay empty when a proof reading failed. What was read before the repair still counts, with the \
                   repaired fault in the instrument.",
        },
        _ => Says {
            title: "Close without full proof".to_owned(),
            label: "Why the proof is missing",
            hint: "such as: the customer wants it back today",
            button: "Close the job unproven",
            note: "The ticket says that the cure is not proven, and why.",
        },
    }
}

fn form(ui: &mut Ui, overlay: Overlay, desk: &mut Desk, out: &mut Vec<Action>) {
    let says = says(overlay);
    ui.label(RichText::new(&says.title).text_style(theme::headline()));
    let refused = desk.problem.clone();
    let field = Field { label: says.label, hint: says.hint, rows: 1, problem: refused.as_deref() };
    let response = field.show(ui, &mut desk.draft);
    if desk.takes_focus(Spot::Overlay) {
        response.request_focus();
    }
    if response.changed() {
        desk.problem = None;
        out.push(Action::Typed);
    }
    match &desk.echo {
        Some(Ok(text)) => good(ui, &format!("Means {text}")),
        Some(Err(text)) => soft(ui, text),
        None => small(ui, says.note),
    };
    let entered = response.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Enter));
    ui.horizontal(|ui| {
        if main_button(ui, says.button, true).clicked() || entered {
            if overlay == Overlay::SearchOn {
                desk.repair = RepairForm::default();
            }
            out.push(Action::Submit);
        }
        if ui.button("Cancel").clicked() {
            out.push(Action::Close);
        }
    });
}
