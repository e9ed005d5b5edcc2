//! The line a reading is typed into, with what it would mean.

use egui::{Key, Margin, Stroke, TextEdit, Ui, vec2};

use super::action::{Action, Desk, Overlay, Spot};
use super::app::asked;
use super::theme::{self, tokens};
use super::widgets::{framed, good, key_button, main_button, problem, soft};
use super::{keys, scale, telephone};
use crate::readings::{Access, Measurement, Mode};
use crate::workbench::{Stage, UnitDoubt, View};

/// Returns whether there is something to type or to refuse now.
pub fn shown(view: &View, desk: &Desk) -> bool {
    asked(view, desk).is_some() || desk.problem.is_some() || desk.told.is_some()
}

/// Shows the entry line, or only the answer to what was last asked when there is nothing to type.
pub fn show(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    let tokens = tokens(ui);
    framed(ui, tokens.card, Stroke::new(1.5, tokens.edge), |ui| {
        if let Some(measurement) = asked(view, desk) {
            landing(ui, view, desk, measurement);
            line(ui, desk, Action::Record, out);
            match desk.unit.clone().filter(|_| desk.overlay.is_none()) {
                Some(doubt) => which_unit(ui, &doubt, out),
                None => answer(ui, desk, Some(measurement)),
            }
            if on_telephone(view) {
                telephone::answers(ui, measurement, desk, out);
            } else if ui.ctx().content_rect().height() > 340.0 {
                typing_keys(ui, view, measurement, desk, out);
            }
        } else {
            answer(ui, desk, None);
        }
    });
}

/// Returns whether there is room for the ohm ruler above the entry line.
pub(super) fn has_ruler(ui: &Ui, desk: &Desk) -> bool {
    let room = ui.ctx().content_rect().size();
    room.y >= 760.0 && room.x >= 900.0 && !desk.far
}

/// Returns whether a script is read out to the customer, and needs the room.
fn on_telephone(view: &View) -> bool {
    view.access == Access::Telephone && view.stage == Stage::Finding
}

/// Shows where on the ohm ruler what is typed lands.
fn landing(ui: &mut Ui, view: &View, desk: &Desk, measurement: &Measurement) {
    let calling = on_telephone(view);
    if calling || !has_ruler(ui, desk) || !scale::fits(measurement.mode) {
        return;
    }
    let shown = desk.shown.as_ref();
    match (view.stage, &view.step) {
        (Stage::Finding, Some(step)) => {
            scale::show(ui, step.healthy_band.as_ref(), &step.predictions, shown, 13.0);
        }
        (Stage::Proving, _) => {
            let proof = view.proof.iter().find(|proof| proof.measurement == *measurement);
            scale::show(ui, proof.map(|proof| &proof.band), &[], shown, 16.0);
        }
        _ => {}
    }
}

/// Shows the line to type into; `record` is what Enter and the button do.
pub(super) fn line(ui: &mut Ui, desk: &mut Desk, record: Action, out: &mut Vec<Action>) {
    let label = ui.label("What the meter shows");
    ui.horizontal(|ui| {
        let width = ui.available_width() - 88.0;
        let edit = TextEdit::singleline(&mut desk.entry)
            .font(theme::entry())
            .margin(Margin::symmetric(10, 5))
            .desired_width(width);
        let response = ui.add(edit).labelled_by(label.id);
        if desk.overlay.is_none() && desk.takes_focus(Spot::Home) {
            response.request_focus();
        }
        if response.changed() {
            desk.problem = None;
            out.push(Action::Typed);
        }
        let entered = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        if main_button(ui, "Record", true).clicked() || entered {
            out.push(record);
        }
    });
}

/// The keys of the two units that may be meant.
pub(super) const UNIT_KEYS: [&str; 2] = ["F2", "F3"];

/// Asks which unit was meant, with a key for each.
fn which_unit(ui: &mut Ui, doubt: &UnitDoubt, out: &mut Vec<Action>) {
    problem(ui, &doubt.question);
    ui.horizontal_wrapped(|ui| {
        for (meaning, key) in doubt.meanings.iter().zip(UNIT_KEYS) {
            if key_button(ui, &format!("It is {}", meaning.words), key, true).clicked() {
                out.push(Action::RecordAs(meaning.text.clone()));
            }
        }
        soft(ui, "Enter again takes it as it was typed");
    });
}

/// Shows what the typed text would mean, why it was refused, or what was last recorded.
pub(super) fn answer(ui: &mut Ui, desk: &Desk, measurement: Option<&Measurement>) {
    let here = desk.overlay.is_none();
    let refused = desk.problem.as_ref().filter(|_| here);
    let meant = desk.echo.as_ref().filter(|_| here);
    match (refused, meant, &desk.told) {
        (Some(text), _, _) => problem(ui, text),
        (None, Some(Ok(text)), _) => good(ui, &format!("Means {text}")),
        (None, Some(Err(text)), _) => soft(ui, text),
        (None, None, Some(told)) => good(ui, told),
        (None, None, None) => soft(ui, measurement.map_or("", example)),
    };
    if (refused.is_some() || (meant.is_none() && desk.told.is_some()))
        && let Some(moved) = measurement.filter(|asked| asked.flex.is_some())
    {
        soft(ui, example(moved));
    }
}

/// Returns what can be typed for a measurement.
pub(super) fn example(measurement: &Measurement) -> &'static str {
    match (measurement.mode, &measurement.flex) {
        (Mode::Continuity, _) => "Type beep or no beep, or the number with its letter",
        (Mode::Resistance, None) => "Type the number with its letter: 7.49k, 812 ohm, 1.2M, or OL",
        (Mode::Resistance, Some(_)) => "Type two values, lowest-highest: 7.4k-OL, OL-OL",
        (Mode::Sweep, _) => "Type the highest number with its letter: 64.1k, or OL",
        (Mode::Capacitance, _) => "Type the number with its letter: 22n, 470p, or OL",
        (Mode::Volts, _) => "Type the number with its unit: 9.1 V, -8.98 V, 12 mV",
        (Mode::Current, _) => "Type the number with its unit: 0.5 mA, 500 uA",
        (Mode::Observe(_), _) => "Type yes or no, or ? when it cannot be told",
    }
}

fn typing_keys(ui: &mut Ui, view: &View, measurement: &Measurement, desk: &Desk, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing = vec2(6.0, 6.0);
        let insert = match measurement.mode {
            Mode::Observe(_) => vec![("yes", "F2"), ("no", "F3"), ("can't tell", "F4")],
            Mode::Continuity => vec![("OL", "F2"), ("beep", "F3"), ("no beep", "F4")],
            _ => vec![("OL", "F2")],
        };
        let throughout = keys::over_range_throughout(measurement, desk);
        for (word, key) in insert {
            let (name, letters) = match word {
                "OL" if throughout => ("OL throughout", keys::THROUGHOUT),
                word => (word, word),
            };
            if key_button(ui, name, key, true).clicked() {
                out.push(Action::Insert(letters));
            }
        }
        if view.stage == Stage::Finding && key_button(ui, "Cannot do that…", "F5", true).clicked() {
            out.push(Action::Show(Overlay::Cannot));
        }
    });
}
