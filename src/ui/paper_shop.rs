//! The shop as it stands on printed tickets, and the ticket itself.

use egui::{Label, Ui};

use super::action::{Action, Desk};
use super::paper::{first, record_button};
use super::paper_desk::{PaperAction, PaperDesk, TicketForm};
use super::paper_form::Slot;
use super::past::pick;
use super::widgets::{Field, card, fact, main_button, problem, section, small, soft};
use crate::ticket::{Paper, Shop, TicketCopy};
use crate::units::show_money;

/// What a ticket can be written as, with the words for it.
const FORMS: [(TicketForm, &str); 3] = [
    (TicketForm::Pdf, "PDF file to print"),
    (TicketForm::Html, "web page"),
    (TicketForm::Markdown, "Markdown"),
];

/// Shows the page of the shop.
pub(super) fn shop(ui: &mut Ui, own: &mut PaperDesk, desk: &mut Desk, out: &mut Vec<Action>) {
    section(ui, "The shop on printed tickets");
    match own.shop.as_ref().map(|read| &read.shop) {
        None => {
            soft(
                ui,
                "There is no shop's file: tickets have no letterhead, each estimate its own price of an hour.",
            );
        }
        Some(Ok(shop)) => card(ui, |ui| facts(ui, shop)),
        Some(Err(all)) => {
            for wrong in all {
                problem(ui, &wrong.to_string());
            }
        }
    }
    if own.shop.is_none() {
        fields(ui, own, out);
    }
    let file = own.place.file().display().to_string();
    ui.add(Label::new(format!("Its file: {file}")).wrap());
    ui.horizontal_wrapped(|ui| {
        let again = ui.button("Read the file again");
        if first(desk) {
            again.request_focus();
        }
        if again.clicked() {
            out.push(Action::Paper(PaperAction::LookAtShop));
        }
        if ui.button("Copy the path of the file").clicked() {
            ui.ctx().copy_text(file);
        }
        if own.shop.is_none() && ui.button("Make an example file").clicked() {
            out.push(Action::Paper(PaperAction::CopyShop));
        }
    });
    small(ui, "Change it in any editor. What an estimate says goes before what the shop's file says.");
}

/// Shows the fields that the shop's file is made of while there is none.
fn fields(ui: &mut Ui, own: &mut PaperDesk, out: &mut Vec<Action>) {
    let mut form = own.shop_form.clone();
    let row = |label, hint, rows| Field { label, hint, rows, problem: None };
    row("Name of the shop", "as it is to stand on tickets", 1).show(ui, &mut form.name);
    row("Address and telephone", "a line each", 3).show(ui, &mut form.lines);
    row("Price of an hour", "such as: 60", 1).show(ui, &mut form.per_hour);
    row("Currency of the shop", "such as: EUR", 1).show(ui, &mut form.currency);
    row("Days of warranty", "such as: 90; empty for none", 1).show(ui, &mut form.warranty);
    own.shop_form = form;
    if let Some(text) = own.wrong_at(Slot::Shop) {
        problem(ui, text);
    }
    if main_button(ui, "Write the shop's file", true).clicked() {
        out.push(Action::Paper(PaperAction::WriteShop));
    }
}

/// Says what will be missing on the ticket.
fn missing(ui: &mut Ui, own: &PaperDesk) {
    if own.known_shop().name.trim().is_empty() {
        soft(ui, "It will have no letterhead: no shop's file was read, see Shop.");
    }
    let paper = &own.facts.paper;
    if paper.estimate().is_none() && paper.bill.is_none() {
        soft(ui, "It will have no price: neither an estimate nor a bill is recorded.");
    }
}

fn facts(ui: &mut Ui, shop: &Shop) {
    let hour = shop.labour_per_hour.map_or_else(|| "no price".to_owned(), show_money);
    let hour = format!("{hour} {}", shop.currency);
    let warranty = match shop.warranty_days {
        0 => "none".to_owned(),
        days => format!("{days} days"),
    };
    let rows = [
        ("Name", shop.name.clone()),
        ("Below it", shop.lines.join(", ")),
        ("An hour", hour.trim().to_owned()),
        ("Warranty", warranty),
        ("To be read", shop.cautions.join(" ")),
        ("Paper", shop.paper.map_or("A4", paper_words).to_owned()),
        ("Sign", if shop.logo.is_some() { "yes" } else { "none" }.to_owned()),
    ];
    for (word, text) in rows.iter().filter(|(_, text)| !text.is_empty()) {
        fact(ui, word, text);
    }
}

const fn paper_words(paper: Paper) -> &'static str {
    match paper {
        Paper::A4 => "A4",
        Paper::A3 => "A3",
        Paper::Letter => "Letter",
    }
}

const fn copy_words(copy: TicketCopy) -> &'static str {
    match copy {
        TicketCopy::Customer => "the customer's copy",
        TicketCopy::Bench => "the bench copy",
    }
}

/// Shows the page of the ticket.
pub(super) fn ticket(ui: &mut Ui, own: &mut PaperDesk, desk: &mut Desk, out: &mut Vec<Action>) {
    section(ui, "The ticket as a file");
    soft(ui, "Written as");
    ui.horizontal_wrapped(|ui| {
        for (index, (form, words)) in FORMS.into_iter().enumerate() {
            let radio = ui.radio_value(&mut own.form, form, words);
            if index == 0 && first(desk) {
                radio.request_focus();
            }
        }
    });
    let shops = own.known_shop().paper.unwrap_or(Paper::A4);
    if own.form == TicketForm::Pdf {
        ui.horizontal_wrapped(|ui| {
            pick(ui, "Whose", copy_words(own.copy), |ui| {
                for copy in TicketCopy::ALL {
                    ui.selectable_value(&mut own.copy, copy, copy_words(copy));
                }
            });
            let usual = format!("the shop's: {}", paper_words(shops));
            let shown = own.paper.map_or(usual.as_str(), |paper| paper_words(paper));
            pick(ui, "Paper", shown, |ui| {
                ui.selectable_value(&mut own.paper, None, usual.as_str());
                for paper in Paper::ALL {
                    ui.selectable_value(&mut own.paper, Some(paper), paper_words(paper));
                }
            });
        });
        small(
            ui,
            "The customer's copy has plain words, the price and a line to sign; the bench copy has it all.",
        );
    } else {
        small(ui, "A web page and Markdown hold the whole job, from the complaint to the proof.");
    }
    missing(ui, own);
    record_button(ui, "Write the ticket…", true, out);
}
