//! Naming what is wrong at the practice bench: a list that is searched by words or by a place in the picture.

use egui::{Button, Label, Ui, vec2};

use super::action::{Action, Desk};
use super::practice::title;
use super::practice_desk::{Bout, PracticeAction};
use super::widgets::{Field, main_button, problem, section, small, soft};
use crate::practice::{Choice, Practice};

/// So many of the faults that match a search are listed.
const LISTED: usize = 60;

/// Asks once more before what is named counts.
fn sure(ui: &mut Ui, game: &Practice, chosen: &[String], out: &mut Vec<Action>) {
    let named: Vec<String> = game
        .choices()
        .into_iter()
        .filter(|choice| chosen.contains(&choice.id))
        .map(|choice| format!("{} ({})", choice.sentence, choice.kind))
        .collect();
    ui.add(Label::new(format!("You name: {}. Sure?", named.join("; "))).wrap());
    ui.horizontal_wrapped(|ui| {
        if main_button(ui, "Yes, name it", true).clicked() {
            out.push(Action::Practice(PracticeAction::Conclude));
        }
        if ui.button("No, choose again").clicked() {
            out.push(Action::Practice(PracticeAction::Naming(true)));
        }
    });
}

/// Shows what may be wrong, to choose from.
pub(super) fn show(ui: &mut Ui, game: &Practice, bout: &mut Bout, desk: &mut Desk, out: &mut Vec<Action>) {
    let Some(naming) = &mut bout.naming else { return };
    let many = game.level().faults();
    section(ui, if many == 1 { "What is wrong?" } else { "What are the two faults?" });
    let search = Field { label: "Search", hint: "a part, a lug, open, short…", rows: 1, problem: None };
    search.show(ui, &mut naming.search);
    match naming.place.clone() {
        Some(place) => {
            ui.horizontal_wrapped(|ui| {
                soft(ui, format!("Only at: {}", title(game.harness(), &place)));
                if ui.button("Anywhere").clicked() {
                    naming.place = None;
                }
            });
        }
        None => {
            small(ui, "A click in the picture leaves what can be wrong there.");
        }
    }
    if naming.sure {
        return sure(ui, game, &naming.chosen, out);
    }
    ui.horizontal_wrapped(|ui| {
        if main_button(ui, "Name it", !naming.chosen.is_empty()).clicked() {
            out.push(Action::Practice(PracticeAction::Conclude));
        }
        if ui.button("Go on measuring").clicked() {
            out.push(Action::Practice(PracticeAction::Naming(false)));
        }
    });
    if let Some(text) = &desk.problem {
        problem(ui, text);
    }
    let choices = game.choices();
    let here = |choice: &&Choice| {
        let at = |place: &String| choice.terminals.contains(place) || choice.links.contains(place);
        choice.matches(&naming.search) && naming.place.as_ref().is_none_or(at)
    };
    let found: Vec<_> = choices.iter().filter(here).collect();
    if found.is_empty() {
        soft(ui, "No fault is called so. Try fewer words, or another place.");
    }
    for choice in found.iter().take(LISTED) {
        let chosen = naming.chosen.contains(&choice.id);
        let text = format!("{} ({})", choice.sentence, choice.kind);
        let mark = if chosen { "chosen: " } else { "" };
        let button = Button::selectable(chosen, format!("{mark}{text}")).wrap();
        let response = ui.add(button.min_size(vec2(ui.available_width(), 0.0)));
        if response.accessible_name(format!("{mark}{text}")).clicked() {
            out.push(Action::Practice(PracticeAction::Choose(choice.id.clone())));
        }
    }
    if found.len() > LISTED {
        small(ui, format!("and {} more: type another word", found.len() - LISTED));
    }
}
