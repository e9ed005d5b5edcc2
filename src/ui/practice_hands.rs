//! Where probes, dial and controls are to be at the practice bench, and what can be looked at and listened to.

use egui::{DragValue, Label, RichText, Ui, vec2};

use super::action::Action;
use super::picture_desk::MODES;
use super::practice::{pick, title};
use super::practice_desk::PracticeAction;
use super::practice_hold::{Hold, NextProbe};
use super::theme::tokens;
use super::widgets::small;
use super::words;
use crate::circuit::{ControlKind, Harness};
use crate::practice::Practice;
use crate::readings::{Mode, RangeChoice, Stand};

/// Shows where probes, dial and controls are to be.
pub(super) fn hands(ui: &mut Ui, game: &Practice, hands: &mut Hold) {
    let harness = game.harness();
    let next = if hands.next == NextProbe::Red { "red" } else { "black" };
    terminal(ui, game, "Red probe", &mut hands.red);
    terminal(ui, game, "Black probe", &mut hands.black);
    ui.horizontal_wrapped(|ui| {
        small(ui, format!("A click in the picture puts the {next} probe on."));
        if ui.small_button("The other one").accessible_name("Put the other probe on next").clicked() {
            hands.next = if hands.next == NextProbe::Red { NextProbe::Black } else { NextProbe::Red };
        }
    });
    pick(ui, "Dial", hands.mode.title(), |ui| {
        for mode in MODES {
            ui.selectable_value(&mut hands.mode, mode, mode.title());
        }
    });
    ranges(ui, game, hands);
    for control in &harness.controls {
        match &control.kind {
            ControlKind::Knob => knob(ui, hands, &control.name),
            ControlKind::Selector(positions) => switch(ui, hands, &control.name, positions),
        }
    }
    optional(ui, harness, "Move it", "nothing is moved", &game.flexes(), &mut hands.flex);
    optional(ui, harness, "Lift an end", "nothing is lifted", &game.lifts(), &mut hands.lifted);
}

/// Shows the ranges of a meter that has them on its dial.
fn ranges(ui: &mut Ui, game: &Practice, hands: &mut Hold) {
    let (meter, ohms) = (game.meter(), hands.mode == Mode::Resistance);
    let Some(at) = hands.range.filter(|_| ohms && meter.choice == RangeChoice::Dial) else { return };
    let shown = meter.ranges.get(at).map_or("", |range| range.label);
    pick(ui, "Range", shown, |ui| {
        for (index, range) in meter.ranges.iter().enumerate() {
            ui.selectable_value(&mut hands.range, Some(index), range.label);
        }
    });
}

fn terminal(ui: &mut Ui, game: &Practice, name: &str, chosen: &mut String) {
    let harness = game.harness();
    let known = harness.terminal(chosen).map(|id| harness[id].title.as_str());
    pick(ui, name, known.unwrap_or("on the bench"), |ui| {
        for id in game.terminals() {
            let terminal = &harness[id];
            ui.selectable_value(chosen, terminal.name.clone(), terminal.title.as_str());
        }
    });
}

fn knob(ui: &mut Ui, hands: &mut Hold, name: &str) {
    let mut dial = match hands.setting.0.get(name) {
        Some(Stand::Knob(dial)) => *dial,
        _ => 10,
    };
    ui.horizontal(|ui| {
        let text = Label::new(RichText::new(name).color(tokens(ui).soft)).truncate();
        let label = ui.add_sized(vec2(96.0, 20.0), text);
        let value = ui.add(DragValue::new(&mut dial).range(0..=10).speed(0.1));
        if value.labelled_by(label.id).changed() {
            hands.setting.0.insert(name.to_owned(), Stand::Knob(dial));
        }
    });
}

fn switch(ui: &mut Ui, hands: &mut Hold, name: &str, positions: &[String]) {
    let shown = hands.setting.0.get(name).map(ToString::to_string).unwrap_or_default();
    pick(ui, name, &shown, |ui| {
        for position in positions {
            if ui.selectable_label(*position == shown, position.as_str()).clicked() {
                hands.setting.0.insert(name.to_owned(), Stand::At(position.clone()));
            }
        }
    });
}

fn optional(
    ui: &mut Ui,
    harness: &Harness,
    name: &str,
    none: &str,
    all: &[String],
    chosen: &mut Option<String>,
) {
    let shown = chosen.as_deref().map_or(none, |chosen| title(harness, chosen)).to_owned();
    pick(ui, name, &shown, |ui| {
        ui.selectable_value(chosen, None, none);
        for known in all {
            ui.selectable_value(chosen, Some(known.clone()), title(harness, known));
        }
    });
}

/// Shows what can be looked at and listened to.
pub(super) fn senses(ui: &mut Ui, game: &Practice, hands: &mut Hold, out: &mut Vec<Action>) {
    let harness = game.harness();
    pick(ui, "Part", title(harness, &hands.part.clone()), |ui| {
        for part in &harness.parts {
            ui.selectable_value(&mut hands.part, part.name.clone(), part.title.as_str());
        }
    });
    if ui.button("Look at it").clicked() {
        out.push(Action::Practice(PracticeAction::Look(hands.part.clone())));
    }
    if let Some(minutes) = game.look_minutes(&hands.part) {
        small(ui, format!("takes {}; a look finds some faults and acquits none", words::minutes(minutes)));
    }
    let questions = game.questions();
    let shown = questions.get(hands.question).map_or("", |(words, _)| words.as_str());
    pick(ui, "By ear", shown, |ui| {
        for (index, (words, _)) in questions.iter().enumerate() {
            ui.selectable_value(&mut hands.question, index, words.as_str());
        }
    });
    if ui.button("Listen").clicked() {
        out.push(Action::Practice(PracticeAction::Listen(hands.question)));
    }
}
