//! The lines of an estimate or a bill, each with its price.

use egui::{Label, RichText, Ui};

use super::action::Action;
use super::paper_desk::{PaperAction, PaperDesk};
use super::paper_form::{LineForm, PriceForm, Slot};
use super::theme;
use super::widgets::{Field, card, problem, soft};
use crate::session::Rate;
use crate::units::{show_money, show_price};

/// The width from which the fields of a line stand side by side, in points.
const WIDE: f32 = 560.0;

/// Shows the price of an hour, the lines of the page and their sum; `first` puts the keyboard into the first line.
pub(super) fn show(ui: &mut Ui, own: &mut PaperDesk, first: bool, out: &mut Vec<Action>) {
    let Some(mut form) = own.lines().map(std::mem::take) else { return };
    prices(ui, own, &mut form);
    let (rate, fresh) = (form.rate().unwrap_or_default(), own.fresh.take());
    for (index, line) in form.lines.iter_mut().enumerate() {
        let keyed = (first && fresh.is_none() && index == 0) || fresh == Some(index);
        card(ui, |ui| one(ui, own, (index, line), &rate, (keyed, &mut *out)));
    }
    if let Some(text) = own.wrong_at(Slot::Lines) {
        problem(ui, text);
    }
    let empty = form.lines.is_empty();
    buttons(ui, first && empty, out);
    let total = match form.total() {
        Some(total) => format!("Together: {}", show_price(total, &form.currency)),
        None => "Together: not known while a line is wrong or has no price".to_owned(),
    };
    ui.add(Label::new(RichText::new(total).text_style(theme::lead())).wrap());
    own.lines().into_iter().for_each(|kept| *kept = std::mem::take(&mut form));
}

fn prices(ui: &mut Ui, own: &PaperDesk, form: &mut PriceForm) {
    let count = if ui.available_width() < WIDE { 1 } else { 2 };
    let at = own.wrong_at(Slot::PerHour);
    ui.columns(count, |columns| {
        let per_hour = Field { label: "Price of an hour of work", hint: "such as: 60", rows: 1, problem: at };
        per_hour.show(&mut columns[0], &mut form.per_hour);
        let currency = Field { label: "Currency", hint: "such as: EUR", rows: 1, problem: None };
        currency.show(&mut columns[count - 1], &mut form.currency);
    });
}

fn one(
    ui: &mut Ui,
    own: &PaperDesk,
    (index, line): (usize, &mut LineForm),
    rate: &Rate,
    (first, out): (bool, &mut Vec<Action>),
) {
    let number = index + 1;
    let sort = if line.part { "part" } else { "work" };
    let label = format!("Line {number}: {sort}");
    let hint = if line.part { "such as: jack" } else { "such as: solder the jack" };
    let at = own.wrong_at(Slot::What(index));
    let what = Field { label: &label, hint, rows: 1, problem: at }.show(ui, &mut line.what);
    if first {
        what.request_focus();
    }
    numbers(ui, own, (index, line), rate);
    let button = ui.button("Remove").accessible_name(format!("Remove line {number}"));
    if button.clicked() {
        out.push(Action::Paper(PaperAction::Remove(index)));
    }
}

/// Shows the minutes and the price of a line.
fn numbers(ui: &mut Ui, own: &PaperDesk, (index, line): (usize, &mut LineForm), rate: &Rate) {
    let number = index + 1;
    let count = if ui.available_width() < WIDE || line.part { 1 } else { 2 };
    let usual = line.usual(rate).map(show_money).unwrap_or_default();
    ui.columns(count, |columns| {
        if !line.part {
            let (label, at) = (format!("Line {number}: minutes"), own.wrong_at(Slot::Minutes(index)));
            let minutes = Field { label: &label, hint: "such as: 20", rows: 1, problem: at };
            minutes.show(&mut columns[0], &mut line.minutes);
        }
        let (label, at) = (format!("Line {number}: price"), own.wrong_at(Slot::Price(index)));
        let hint = if line.part { "such as: 8.50" } else { usual.as_str() };
        let ui = &mut columns[count - 1];
        Field { label: &label, hint, rows: 1, problem: at }.show(ui, &mut line.price);
        if !line.part {
            soft(ui, priced(&usual, line.price.trim().is_empty()));
        }
    });
}

/// Says where the price of work comes from; it says so always, so that nothing below moves while one types.
fn priced(usual: &str, empty: bool) -> String {
    match (usual, empty) {
        ("", true) => "by its minutes at the price of an hour".to_owned(),
        (usual, true) => format!("{usual} by its minutes, unless typed"),
        (_, false) => "as typed; empty for its minutes".to_owned(),
    }
}

fn buttons(ui: &mut Ui, first: bool, out: &mut Vec<Action>) {
    let all = [
        ("Add work", PaperAction::Add { part: false }),
        ("Add a part", PaperAction::Add { part: true }),
        ("Propose the lines anew", PaperAction::Propose),
    ];
    ui.horizontal_wrapped(|ui| {
        for (index, (name, action)) in all.into_iter().enumerate() {
            let button = ui.button(name);
            if first && index == 0 {
                button.request_focus();
            }
            if button.clicked() {
                out.push(Action::Paper(action));
            }
        }
    });
}
