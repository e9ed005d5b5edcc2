//! Repair, proof, and closing.

use egui::{Button, Label, Response, RichText, Stroke, Ui};

use super::action::{Action, Desk, Overlay, Spot};
use super::app::asked;
use super::paper_desk::{PaperAction, PaperPage};
use super::step::battery;
use super::theme::{self, tokens};
use super::widgets::{
    Field, card, fact, framed, good, key_button, main_button, problem, section, small, soft,
};
use super::{far, verdict, words};
use crate::job::Outcome;
use crate::ticket::TicketCopy;
use crate::workbench::{Command, ProofView, SuspectView, View};

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
    if let Some(suspect) = named(view) {
        proposed(ui, suspect, desk);
    }
    ui.horizontal_wrapped(|ui| verdict::paper(ui, view, out));
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

/// Returns the suspect that was named as the fault.
fn named(view: &View) -> Option<&SuspectView> {
    let first = view.concluded.as_ref().and_then(|named| named.faults.first());
    let holds = |suspect: &&SuspectView| first.is_some_and(|fault| suspect.faults.contains(fault));
    view.suspects.iter().find(holds)
}

/// Shows the repair of the fault as it was named, and offers it to the form.
fn proposed(ui: &mut Ui, suspect: &SuspectView, desk: &mut Desk) {
    card(ui, |ui| {
        fact(ui, "Repair", &words::sentence(&suspect.repair));
        small(ui, format!("about {}", words::minutes(suspect.minutes)));
        let used = ui.button("Use this").on_hover_text("Put it into the form below, to be changed there");
        if used.clicked() {
            desk.repair.what = words::sentence(&suspect.repair);
            desk.repair.minutes = format!("{:.0}", suspect.minutes);
            desk.problem = None;
            desk.focus = Some(Spot::Home);
        }
    });
}

/// Shows the proof readings, the one to take now in large type.
pub fn proof(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    let now = asked(view, desk);
    match view.proof.iter().find(|proof| now == Some(&proof.measurement)) {
        Some(proof) => asking(ui, proof, out),
        None => {
            soft(ui, "All proof readings are taken");
        }
    }
    let rows = |failed: bool| {
        let all = view.proof.iter().enumerate();
        all.filter(move |(_, proof)| (proof.passed == Some(false)) == failed)
    };
    let mut focus = now.is_none() && desk.overlay.is_none() && lacks(view).is_some();
    for (index, proof) in rows(true) {
        let again = row(ui, index, proof, now == Some(&proof.measurement), out);
        if std::mem::take(&mut focus)
            && let Some(again) = again
            && desk.takes_focus(Spot::Home)
        {
            again.request_focus();
        }
    }
    closing(ui, view, desk, now.is_none(), out);
    section(ui, "Proof readings");
    for (index, proof) in rows(false) {
        row(ui, index, proof, now == Some(&proof.measurement), out);
    }
}

/// Shows the proof reading to take now.
fn asking(ui: &mut Ui, proof: &ProofView, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        soft(ui, ASKED);
        far::button(ui, "Far view", out);
    });
    let sentence = RichText::new(&proof.sentence).text_style(theme::headline_for(&proof.sentence));
    ui.add(Label::new(sentence).wrap());
    card(ui, |ui| {
        battery(ui, proof.battery);
        fact(ui, "Healthy", &proof.healthy);
        if !proof.flex.is_empty() {
            fact(ui, "Meanwhile", &format!("{}. Type the lowest and the highest", proof.flex));
        }
    });
}

/// What stands above a proof reading that is to be taken.
pub(super) const ASKED: &str = "To prove the repair, read";

/// Returns the proof reading that comes next; `None` when all are taken.
pub(super) fn next(view: &View) -> Option<usize> {
    view.proof.iter().position(|proof| proof.passed.is_none())
}

/// Returns what is wrong with a proof reading that failed; `None` when it did not.
pub(super) fn failed(view: &View, index: usize) -> Option<String> {
    let proof = view.proof.get(index).filter(|proof| proof.passed == Some(false))?;
    let (number, ProofView { found, healthy, .. }) = (index + 1, proof);
    Some(format!("The proof failed at number {number}: {found}, healthy {healthy}"))
}

/// Shows a proof reading; returns the button that takes it again, once it is taken.
fn row(ui: &mut Ui, index: usize, proof: &ProofView, now: bool, out: &mut Vec<Action>) -> Option<Response> {
    let tokens = tokens(ui);
    let edge = match (now, proof.passed) {
        (true, _) => Stroke::new(2.5, tokens.accent),
        (false, Some(false)) => Stroke::new(2.0, tokens.bad),
        (false, _) => Stroke::new(1.0, tokens.line),
    };
    framed(ui, tokens.card, edge, |ui| {
        ui.add(Label::new(format!("{}. {}", index + 1, proof.sentence)).wrap());
        small(ui, format!("healthy: {}", proof.healthy));
        match proof.passed {
            None => small(ui, if now { "being taken now" } else { "not taken yet" }),
            Some(true) => good(ui, &format!("Passed: {}", proof.found)),
            Some(false) => problem(ui, &format!("Failed: {}", proof.found)),
        };
        proof.passed?;
        let name = format!("Take proof reading {} again", index + 1);
        let button = Button::new("Take again");
        let again = ui.add(if proof.passed == Some(false) { button } else { button.small() });
        let again = again.accessible_name(name);
        if again.clicked() {
            out.push(Action::Reprove(index));
        }
        Some(again)
    })
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
        if key_button(ui, "Close unproven…", "F9", true).clicked() {
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
        if view.paper.bill.is_none() && ui.button("No bill yet: Bill…").clicked() {
            out.push(Action::Paper(PaperAction::Page(PaperPage::Bill)));
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
