//! The reading of one's own between two probes in the picture: how it is taken, what it would read, what it read.

use egui::{ComboBox, DragValue, Key, Label, Margin, RichText, ScrollArea, TextEdit, Ui};

use super::action::{Action, Desk, Spot};
use super::picture_desk::{Choice, MODES, OwnProbes, Probing, refusal};
use super::scale;
use super::theme;
use super::widgets::{Probe, fact, good, key_button, main_button, probe, problem, section, small, soft};
use crate::readings::{Mode, Stand};
use crate::workbench::{Ask, StepView, View};

/// The dial numbers that a press sets.
const DIALS: [u8; 3] = [0, 5, 10];

/// Shows the reading that the probes in the picture make.
pub(super) fn show(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    let Some(mut own) = desk.own_probes.take() else { return };
    ScrollArea::vertical().id_salt("own reading").auto_shrink([false, false]).show(ui, |ui| {
        ui.set_max_width(ui.available_width() - 6.0);
        section(ui, "Your own reading");
        probes(ui, &own, out);
        if own.complete() {
            reading(ui, view, &mut own, desk, out);
        } else if let Some(text) = &own.problem {
            problem(ui, text);
        }
    });
    desk.own_probes = Some(own);
}

fn probes(ui: &mut Ui, own: &OwnProbes, out: &mut Vec<Action>) {
    let places = [(Probe::Red, &own.red), (Probe::Black, &own.black)];
    for (which, place) in places {
        let shown = if place.is_empty() { "press a terminal in the picture" } else { place.as_str() };
        probe(ui, which, shown);
    }
    ui.horizontal_wrapped(|ui| {
        if key_button(ui, "Swap red and black", "X", own.complete()).clicked() {
            out.push(Action::Probe(Probing::Swap));
        }
        if key_button(ui, "Take the probes off", "Esc", true).clicked() {
            out.push(Action::Probe(Probing::Clear));
        }
    });
}

fn reading(ui: &mut Ui, view: &View, own: &mut OwnProbes, desk: &mut Desk, out: &mut Vec<Action>) {
    dial(ui, own.measurement.mode, out);
    for control in &own.controls {
        self::control(ui, control, own.measurement.setting.0.get(&control.name), out);
    }
    flex(ui, own, out);
    let refusal = refusal(view);
    if let Some(text) = refusal {
        soft(ui, text);
    }
    let seen = view.cautions.is_empty();
    if key_button(ui, "What would this read?", "", seen).clicked() {
        out.push(Action::Probe(Probing::Ask));
    }
    if let Some(step) = own.told.as_deref().filter(|_| seen) {
        foretold(ui, step);
    }
    entry(ui, refusal.is_none(), own, desk, out);
}

fn dial(ui: &mut Ui, now: Mode, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        soft(ui, "Dial");
        for mode in MODES {
            let choice = ui.selectable_label(now == mode, mark(now == mode, mode.title()));
            if choice.accessible_name(format!("Dial at {}", mode.title())).clicked() {
                out.push(Action::Probe(Probing::Mode(mode)));
            }
        }
    });
}

/// Returns the words of a choice; the one that is made is bold, so that it is not told by colour alone.
fn mark(chosen: bool, words: impl Into<String>) -> RichText {
    let words = RichText::new(words);
    if chosen { words.strong().underline() } else { words }
}

fn control(ui: &mut Ui, control: &Choice, stands: Option<&Stand>, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        soft(ui, control.name.as_str());
        let dials = DIALS.map(Stand::Knob).to_vec();
        let at = |position: &String| Stand::At(position.clone());
        let switch: Vec<Stand> = control.positions.iter().map(at).collect();
        let stands_at = if switch.is_empty() { dials } else { switch };
        for stand in stands_at {
            let chosen = stands == Some(&stand);
            let choice = ui.selectable_label(chosen, mark(chosen, stand.to_string()));
            if choice.accessible_name(format!("Own reading: {} at {stand}", control.name)).clicked() {
                out.push(set(control, stand));
            }
        }
        if control.positions.is_empty() {
            number(ui, control, stands, out);
        }
    });
}

/// Shows a knob's dial number, to be typed or dragged.
fn number(ui: &mut Ui, control: &Choice, stands: Option<&Stand>, out: &mut Vec<Action>) {
    let mut dial = match stands {
        Some(Stand::Knob(dial)) => *dial,
        _ => 10,
    };
    let field = ui.add(DragValue::new(&mut dial).range(0..=10).speed(0.05));
    let field = field.accessible_name(format!("Own reading: number of the {}", control.name));
    if field.on_hover_text("0 to 10").changed() {
        out.push(set(control, Stand::Knob(dial)));
    }
}

fn set(control: &Choice, stand: Stand) -> Action {
    Action::Probe(Probing::Set { control: control.name.clone(), stand })
}

fn flex(ui: &mut Ui, own: &OwnProbes, out: &mut Vec<Action>) {
    const STILL: &str = "nothing is moved";
    let now = own.measurement.flex.as_ref();
    let words =
        own.flexes.iter().find(|(name, _)| Some(name) == now).map_or(STILL, |(_, words)| words.as_str());
    ui.horizontal_wrapped(|ui| {
        soft(ui, "Meanwhile");
        let combo = ComboBox::from_id_salt("own flex").selected_text(words).width(170.0);
        let inner = combo.show_ui(ui, |ui| {
            if ui.selectable_label(now.is_none(), STILL).clicked() {
                out.push(Action::Probe(Probing::Flex(None)));
            }
            for (name, words) in &own.flexes {
                if ui.selectable_label(now == Some(name), words.as_str()).clicked() {
                    out.push(Action::Probe(Probing::Flex(Some(name.clone()))));
                }
            }
        });
        let _ = inner.response.accessible_name("What is moved meanwhile");
    });
}

/// Shows what would be read: healthy, and under each leading suspect.
fn foretold(ui: &mut Ui, step: &StepView) {
    fact(ui, "Healthy", &step.healthy);
    if let Some(battery) = step.battery {
        small(ui, format!("{}.", battery.says()));
    }
    for place in &step.open_first {
        small(ui, format!("Open first: {place}"));
    }
    if step.predictions.is_empty() {
        soft(ui, "No suspect is left to foretell anything of.");
        return;
    }
    if let Ask::Measure(asked) = &step.ask
        && scale::fits(asked.mode)
    {
        scale::show(ui, step.healthy_band.as_ref(), &step.predictions, None, 18.0);
    }
    scale::legend(ui, &step.predictions);
}

fn entry(ui: &mut Ui, open: bool, own: &mut OwnProbes, desk: &mut Desk, out: &mut Vec<Action>) {
    let label = ui.label("I measured this");
    let edit = TextEdit::singleline(&mut own.entry)
        .font(theme::entry())
        .margin(Margin::symmetric(8, 4))
        .desired_width(f32::INFINITY);
    let field = ui.add_enabled(open, edit).labelled_by(label.id);
    if desk.overlay.is_none() && desk.takes_focus(Spot::OwnProbes) {
        field.request_focus();
    }
    if field.changed() {
        out.push(Action::Probe(Probing::Typed));
    }
    let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if main_button(ui, "Record your reading", open).clicked() || (entered && open) {
        out.push(Action::Probe(Probing::Record));
    }
    match (&own.problem, &own.echo) {
        (Some(text), _) => problem(ui, text),
        (None, Some(Ok(text))) => good(ui, &format!("Means {text}")),
        (None, Some(Err(text))) => soft(ui, text.as_str()),
        (None, None) => ui.add(Label::new(RichText::new(hint(own)).small()).wrap()),
    };
}

fn hint(own: &OwnProbes) -> &'static str {
    super::entry::example(&own.measurement)
}
