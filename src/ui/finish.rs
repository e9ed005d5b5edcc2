//! Repair, proof, and closing.

use egui::{Label, RichText, Stroke, Ui};

use super::action::{Action, Desk, Overlay, Spot};
use super::app::asked;
use super::step::battery;
use super::theme::{self, tokens};
use super::widgets::{
    Field, card, fact, framed, good, key_button, main_button, problem, section, small, soft,
};
use super::words;
use crate::job::Outcome;
use crate::ticket::TicketCopy;
use crate::workbench::{Command, ProofView, View};

/// Shows the fault that was named and the form for what was done about it.
pub fn repair(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    soft(ui, "The fault as it was named");
    if let Some(fault) = &view.concluded {
        ui.add(
            Label::new(RichText::new(&fault.sentence).text_style(theme::headline_for(&fault.sentence)))
                .wrap(),
        );
        soft(ui, format!("Probability {} when it was named", words::percent(fault.probability)));
    }
    if let Some(suspect) = view.suspects.first() {
        card(ui, |ui| {
            fact(ui, "Repair", &words::sentence(&suspect.repair));
            small(ui, format!("about {}", words::minutes(suspect.minutes)));
        });
    }
    section(ui, "What was done");
    card(ui, |ui| {
        let what = Field {
            label: "Repair, as it is to stand on the ticket",
            hint: "such as: resoldered the ground wire at the jack",
            rows: 2,
            problem: None,
        };
        let response = what.show(ui, &mut desk.repair.what);
        if desk.overlay.is_none() && desk.takes_focus(Spot::Home) {
            response.request_focus();
        }
        let minutes = Field { label: "Minutes it took", hint: "such as: 12", rows: 1, problem: None };
        let last = minutes.show(ui, &mut desk.repair.minutes);
        let entered = last.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Enter));
        if main_button(ui, "Record the repair", true).clicked() || entered {
            out.push(Action::Repair);
        }
    });
    small(
        ui,
        "Wrong fault? Undo takes back one thing after the other, the last first; once the naming is back, finding goes on.",
    );
}

/// Shows the proof readings, the one to take now in large type.
pub fn proof(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    let now = asked(view, desk);
    match view.proof.iter().find(|proof| now == Some(&proof.measurement)) {
        Some(proof) => {
            soft(ui, "To prove the repair, read");
            ui.add(
                Label::new(RichText::new(&proof.sentence).text_style(theme::headline_for(&proof.sentence)))
                    .wrap(),
            );
            card(ui, |ui| {
                battery(ui, proof.battery);
                fact(ui, "Healthy", &proof.healthy);
                if !proof.flex.is_empty() {
                    fact(ui, "Meanwhile", &format!("{}. Type the lowest and the highest", proof.flex));
                }
            });
        }
        None => {
            soft(ui, "All proof readings are taken");
        }
    }
    closing(ui, view, desk, now.is_none(), out);
    section(ui, "Proof readings");
    for (index, proof) in view.proof.iter().enumerate() {
        row(ui, index, proof, now == Some(&proof.measurement), out);
    }
}

fn row(ui: &mut Ui, index: usize, proof: &ProofView, now: bool, out: &mut Vec<Action>) {
    let tokens = tokens(ui);
    let edge = if now { Stroke::new(2.5, tokens.accent) } else { Stroke::new(1.0, tokens.line) };
    framed(ui, tokens.card, edge, |ui| {
        ui.add(Label::new(format!("{}. {}", index + 1, proof.sentence)).wrap());
        small(ui, format!("healthy: {}", proof.healthy));
        match proof.passed {
            None => small(ui, if now { "being taken now" } else { "not taken yet" }),
            Some(true) => good(ui, &format!("Passed: {}", proof.found)),
            Some(false) => problem(ui, &format!("Failed: {}", proof.found)),
        };
        if proof.passed.is_some() {
            let name = format!("Take proof reading {} again", index + 1);
            if ui.small_button("Take again").accessible_name(name).clicked() {
                out.push(Action::Reprove(index));
            }
        }
    });
}

/// Returns why the job cannot be closed as cured; `None` when it can.
pub fn lacks(view: &View) -> Option<String> {
    let missing = view.proof.iter().filter(|proof| proof.passed.is_none()).count();
    let failed = view.proof.iter().filter(|proof| proof.passed == Some(false)).count();
    match (view.proof.len(), missing, failed) {
        (0, _, _) => Some("There is no proof reading yet.".to_owned()),
        (_, 0, 0) => None,
        (_, 0, failed) => Some(format!(
            "{} outside the healthy band.",
            count(failed, "proof reading is", "proof readings are")
        )),
        (_, missing, 0) => {
            Some(format!("{} still to be taken.", count(missing, "proof reading is", "proof readings are")))
        }
        (_, missing, failed) => {
            Some(format!("{missing} still to be taken, {failed} outside the healthy band."))
        }
    }
}

fn count(number: usize, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}

fn closing(ui: &mut Ui, view: &View, desk: &mut Desk, done: bool, out: &mut Vec<Action>) {
    let lacks = lacks(view);
    ui.horizontal_wrapped(|ui| {
        let cured = main_button(ui, "Close as cured", lacks.is_none());
        if done && lacks.is_none() && desk.overlay.is_none() && desk.takes_focus(Spot::Home) {
            cured.request_focus();
        }
        if cured.clicked() {
            out.push(Action::Do(Command::Close(Outcome::Cured)));
        }
        let unproven = key_button(ui, "Close unproven…", "F9", true);
        if done && lacks.is_some() && desk.overlay.is_none() && desk.takes_focus(Spot::Home) {
            unproven.request_focus();
        }
        if unproven.clicked() {
            out.push(Action::Show(Overlay::Unproven));
        }
        if key_button(ui, "It is not cured: search on…", "F11", true).clicked() {
            out.push(Action::Show(Overlay::SearchOn));
        }
    });
    if let Some(text) = lacks {
        soft(ui, format!("Not yet closed as cured: {text}"));
    }
}

/// The copies of the ticket that can be printed, with what their buttons say.
const PRINTED: [(&str, TicketCopy); 2] = [
    ("Customer's copy to print (PDF)…", TicketCopy::Customer),
    ("Bench copy to print (PDF)…", TicketCopy::Bench),
];

/// Shows how the job was closed.
pub fn closed(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    let how = view.closed.as_deref().unwrap_or("The job is closed");
    ui.add(Label::new(RichText::new(how).text_style(theme::headline_for(how))).wrap());
    card(ui, |ui| {
        for round in &view.rounds {
            fact(ui, "Fault before", &round.sentence);
            fact(ui, "Its repair", &round.repaired);
        }
        if let Some(fault) = &view.concluded {
            fact(ui, "Fault", &fault.sentence);
        }
        if let Some(repair) = &view.repaired {
            fact(ui, "Repair", repair);
        }
        let passed = view.proof.iter().filter(|proof| proof.passed == Some(true)).count();
        fact(ui, "Proof", &format!("{passed} of {} readings passed", view.proof.len()));
    });
    ui.horizontal_wrapped(|ui| {
        let ticket = main_button(ui, "Save the ticket", true);
        if desk.overlay.is_none() && desk.takes_focus(Spot::Home) {
            ticket.request_focus();
        }
        if ticket.clicked() {
            out.push(Action::Ticket);
        }
        for (name, copy) in PRINTED {
            if ui.button(name).clicked() {
                out.push(Action::TicketPdf(copy));
            }
        }
        if key_button(ui, "Next job", "Ctrl+N", true).clicked() {
            out.push(Action::Leave);
        }
    });
}
