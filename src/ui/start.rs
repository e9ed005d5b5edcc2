//! The first screen: what is known when the instrument comes in.

use egui::{CentralPanel, Frame, Margin, Panel, Response, RichText, ScrollArea, TextStyle, Ui, vec2};

use super::action::{Action, AuditAction, Desk, Spot};
use super::bench::{Bench, StartForm, WiringChoice};
use super::own::Own;
use super::past_desk::PastAction;
use super::practice_desk::PracticeAction;
use super::theme::{self, tokens};
use super::trees::TreesAction;
use super::widgets::{self, Field, card, key_button, main_button, problem, section, small, soft};
use super::{count, gallery, own, recall, words};
use crate::readings::{histories_of, understood};

/// The complaint of a job that is started because a check of a fresh wiring failed: nobody has heard it yet.
pub const FAILED_AUDIT: &str = "failed its wiring audit";

/// A field of the start form that must be filled in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Missing {
    /// No wiring is chosen.
    Wiring,
    /// The instrument has no name.
    Instrument,
    /// There is no complaint.
    Complaint,
    /// It is not said what the complaint means.
    Symptoms,
}

impl Missing {
    const fn text(self) -> &'static str {
        match self {
            Self::Wiring => "Choose the wiring that comes closest.",
            Self::Instrument => "Give the instrument a name, so that the ticket can be told from others.",
            Self::Complaint => "What does the customer say? A few words are enough.",
            Self::Symptoms => "Tick at least one: the suspects are weighed by it.",
        }
    }
}

/// Returns the fields that are still missing, in the order of the screen.
pub fn missing(form: &StartForm) -> Vec<Missing> {
    let checks = [
        (Missing::Wiring, form.wiring.is_empty()),
        (Missing::Instrument, form.instrument.trim().is_empty()),
        (Missing::Complaint, form.complaint.trim().is_empty()),
        (Missing::Symptoms, form.symptoms.is_empty() && form.complaint.trim() != FAILED_AUDIT),
    ];
    checks.into_iter().filter(|(_, lacks)| *lacks).map(|(field, _)| field).collect()
}

fn complaint_about(desk: &Desk, field: Missing) -> Option<&'static str> {
    (desk.start_tried && missing(&desk.start).contains(&field)).then(|| field.text())
}

/// Sends the keyboard to a field that is the first of those that lack something.
fn goes_to(desk: &mut Desk, field: Missing, response: &Response) {
    if desk.start_tried && missing(&desk.start).first() == Some(&field) && desk.takes_focus(Spot::Start) {
        response.request_focus();
    }
}

/// Shows the first screen.
pub fn show(ui: &mut Ui, bench: &dyn Bench, desk: &mut Desk, out: &mut Vec<Action>) {
    if desk.own.is_some() {
        return own::show(ui, bench, desk, out);
    }
    let fill = tokens(ui).paper;
    let frame = Frame::new().fill(fill).inner_margin(Margin::symmetric(24, 14));
    Panel::top("start head").frame(frame).show(ui, |ui| head(ui, desk, out));
    Panel::bottom("start foot").frame(frame).show(ui, |ui| foot(ui, desk, out));
    CentralPanel::default().frame(frame).show(ui, |ui| {
        if ui.available_width() < 860.0 {
            ScrollArea::vertical().show(ui, |ui| {
                wirings(ui, bench, desk, out);
                ui.add_space(14.0);
                form(ui, bench, desk, out);
            });
        } else {
            side_by_side(ui, bench, desk, out);
        }
    });
}

fn side_by_side(ui: &mut Ui, bench: &dyn Bench, desk: &mut Desk, out: &mut Vec<Action>) {
    let wide = ui.available_width();
    let clear = Frame::new();
    Panel::left("start wirings").resizable(false).exact_size(wide * 0.42).frame(clear).show(ui, |ui| {
        ScrollArea::vertical().show(ui, |ui| {
            ui.set_max_width(ui.available_width() - 14.0);
            wirings(ui, bench, desk, out);
        });
    });
    CentralPanel::default().frame(clear.inner_margin(Margin { left: 22, ..Margin::ZERO })).show(ui, |ui| {
        ScrollArea::vertical().show(ui, |ui| {
            ui.set_max_width(ui.available_width() - 12.0);
            form(ui, bench, desk, out);
        });
    });
}

fn head(ui: &mut Ui, desk: &Desk, out: &mut Vec<Action>) {
    let width = ui.available_width();
    let (roomy, wide) = if desk.last.is_some() { (1355.0, 1780.0) } else { (1075.0, 1500.0) };
    let (roomy, wide) = (width > roomy, width > wide);
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new("Lugwise").text_style(theme::headline()));
        if let Some(last) = &desk.last {
            let name = format!("Go on with {}", words::shortened(&last.instrument, 40));
            if ui.button(name).clicked() {
                out.push(Action::GoOn);
            }
        }
        if wide {
            ui.add_space(12.0);
            soft(ui, "One reading at a time, to the one joint that is at fault");
        }
        if roomy {
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| doors(ui, out));
        } else {
            doors(ui, out);
        }
    });
}

fn doors(ui: &mut Ui, out: &mut Vec<Action>) {
    if key_button(ui, "Open a job file…", "Ctrl+O", true).clicked() {
        out.push(Action::OpenJob);
    }
    if ui.button("Your wirings…").clicked() {
        out.push(Action::Own(Own::Open));
    }
    if key_button(ui, "Trees…", "F12", true).clicked() {
        out.push(Action::Trees(TreesAction::Open));
    }
    if ui.button("Try the demonstration job").clicked() {
        out.push(Action::Demonstrate);
    }
    if ui.button("Check a fresh wiring").clicked() {
        out.push(Action::Audit(AuditAction::Begin));
    }
    if ui.button("Past jobs").clicked() {
        out.push(Action::Past(PastAction::Open));
    }
    if ui.button("Practise").clicked() {
        out.push(Action::Practice(PracticeAction::Open));
    }
}

fn foot(ui: &mut Ui, desk: &Desk, out: &mut Vec<Action>) {
    if let Some(text) = &desk.problem {
        problem(ui, text);
    }
    ui.horizontal(|ui| {
        if main_button(ui, "Start the job", true).clicked() {
            out.push(Action::Start);
        }
        small(ui, "Ctrl+Enter");
        ui.separator();
        if ui.button("Choose another place…").clicked() {
            out.push(Action::ChooseFile);
        }
        let place = format!("Saved as {}", desk.start.file.display());
        ui.add(egui::Label::new(RichText::new(place).color(tokens(ui).soft)).truncate());
    });
}

fn wirings(ui: &mut Ui, bench: &dyn Bench, desk: &mut Desk, out: &mut Vec<Action>) {
    section(ui, "Wiring");
    soft(ui, "Choose the one that comes closest to the instrument on the bench.");
    if let Some(text) = complaint_about(desk, Missing::Wiring) {
        problem(ui, text);
    }
    if bench.wirings().is_empty() {
        card(ui, |ui| soft(ui, "There is no wiring file here. A job file can still be opened."));
    }
    count::show(ui, bench, desk, out);
    broken(ui, bench);
    own_priors(ui, bench);
    let here = !desk.start_tried || desk.start.wiring.is_empty();
    let focus = here && desk.takes_focus(Spot::Start);
    for (index, choice) in count::left(bench, &desk.counting).into_iter().enumerate() {
        wiring(ui, bench, choice, desk, out, focus && index == 0);
    }
}

/// Shows which own files cannot be offered.
fn broken(ui: &mut Ui, bench: &dyn Bench) {
    for file in bench.own_files().iter().filter(|file| !file.problems().is_empty()) {
        problem(ui, &format!("{}: {}. See your wirings.", file.name(), own::mistakes(file.problems())));
    }
}

/// Shows that own priors are in use, or what is wrong with them.
fn own_priors(ui: &mut Ui, bench: &dyn Bench) {
    let Some(own) = bench.own_priors() else { return };
    let Err(wrong) = &own.priors else {
        soft(ui, format!("Your own priors are in use, from {}.", own.source.name));
        return;
    };
    for located in wrong {
        problem(ui, &located.to_string());
    }
    soft(ui, "Until that is mended, the priors that come with the program are in use.");
}

fn wiring(
    ui: &mut Ui,
    bench: &dyn Bench,
    choice: &WiringChoice,
    desk: &mut Desk,
    out: &mut Vec<Action>,
    focus: bool,
) {
    let chosen = desk.start.wiring == choice.name;
    let tokens = tokens(ui);
    let (fill, edge) = match chosen {
        true => (tokens.tint, egui::Stroke::new(2.0, tokens.accent)),
        false => (tokens.card, egui::Stroke::new(1.0, tokens.line)),
    };
    widgets::framed(ui, fill, edge, |ui| {
        ui.horizontal_top(|ui| {
            gallery::show(ui, bench, &choice.picture, vec2(190.0, 132.0), out);
            ui.vertical(|ui| {
                let title = RichText::new(&choice.title).text_style(theme::lead());
                let button = ui.radio(chosen, title);
                if focus {
                    button.request_focus();
                }
                if button.clicked() {
                    desk.start.wiring.clone_from(&choice.name);
                    out.push(Action::Typed);
                }
                let own = if choice.own { ", one of your own" } else { "" };
                small(ui, format!("Code {}{own}", choice.code));
                soft(ui, if chosen { choice.about.as_str() } else { words::first_sentence(&choice.about) });
                if chosen && ui.button("Check this wiring as a fresh one").clicked() {
                    out.push(Action::Audit(AuditAction::Begin));
                }
            });
        });
    });
}

fn form(ui: &mut Ui, bench: &dyn Bench, desk: &mut Desk, out: &mut Vec<Action>) {
    section(ui, "Job");
    ui.spacing_mut().item_spacing.y = 10.0;
    let instrument = Field {
        label: "Instrument",
        hint: "as the shop calls it, such as: loan guitar no. 4",
        rows: 1,
        problem: complaint_about(desk, Missing::Instrument),
    };
    let response = instrument.show(ui, &mut desk.start.instrument);
    goes_to(desk, Missing::Instrument, &response);
    let mut changed = response.changed();
    let complaint = Field {
        label: "Complaint, in the customer's words",
        hint: "such as: it hums when I touch the lead",
        rows: 2,
        problem: complaint_about(desk, Missing::Complaint),
    };
    let response = complaint.show(ui, &mut desk.start.complaint);
    goes_to(desk, Missing::Complaint, &response);
    changed |= response.changed();
    symptoms(ui, desk);
    let last = Field {
        label: "What was done to it last",
        hint: "such as: new strings; may stay empty",
        rows: 1,
        problem: None,
    };
    changed |= last.show(ui, &mut desk.start.last_done).changed();
    histories(ui, &desk.start);
    access(ui, desk);
    meter(ui, bench, desk);
    people(ui, desk);
    recall::show(ui, bench, desk);
    if changed {
        out.push(Action::Typed);
    }
}

/// Says what is taken into account of what was done to the instrument.
fn histories(ui: &mut Ui, form: &StartForm) {
    let all = histories_of(&form.last_done, &form.complaint);
    if !all.is_empty() {
        soft(ui, format!("Understood: {}.", understood(&[], &all)));
    }
}

fn choices(ui: &mut Ui, title: &str, contents: impl FnOnce(&mut Ui)) {
    ui.vertical(|ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        ui.spacing_mut().interact_size.y = 24.0;
        ui.label(title);
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 14.0;
            contents(ui);
        });
    });
}

fn symptoms(ui: &mut Ui, desk: &mut Desk) {
    choices(ui, "What it means", |ui| {
        for symptom in words::SYMPTOMS {
            let mut ticked = desk.start.symptoms.contains(&symptom);
            let response = ui.checkbox(&mut ticked, words::symptom(symptom));
            goes_to(desk, Missing::Symptoms, &response);
            if response.changed() {
                desk.symptoms_touched = true;
                if ticked {
                    desk.start.symptoms.push(symptom);
                } else {
                    desk.start.symptoms.retain(|s| *s != symptom);
                }
            }
        }
    });
    if let Some(text) = complaint_about(desk, Missing::Symptoms) {
        problem(ui, text);
    }
}

fn access(ui: &mut Ui, desk: &mut Desk) {
    choices(ui, "How far you may go", |ui| {
        for access in words::ACCESSES {
            ui.radio_value(&mut desk.start.access, access, words::access(access));
        }
    });
}

fn meter(ui: &mut Ui, bench: &dyn Bench, desk: &mut Desk) {
    choices(ui, "Meter", |ui| {
        for meter in bench.meters() {
            ui.radio_value(&mut desk.start.meter, meter.name.clone(), meter.title.as_str());
        }
    });
}

fn people(ui: &mut Ui, desk: &mut Desk) {
    ui.columns(2, |columns| {
        let customer = Field { label: "Customer", hint: "may stay empty", rows: 1, problem: None };
        customer.show(&mut columns[0], &mut desk.start.customer);
        let technician = Field { label: "Technician", hint: "may stay empty", rows: 1, problem: None };
        technician.show(&mut columns[1], &mut desk.start.technician);
    });
    ui.label(RichText::new("Everything stays on this computer.").text_style(TextStyle::Small));
}
