//! The screen of estimate and bill: prices, the customer's consent, photos, an earlier job, the shop and the ticket.

use egui::{Button, CentralPanel, Frame, Label, Margin, Panel, RichText, ScrollArea, Ui};

use super::action::{Action, Desk, Spot};
use super::paper_desk::{PaperAction, PaperDesk, PaperPage};
use super::paper_form::Slot;
use super::past::pick;
use super::theme::{self, tokens};
use super::widgets::{Field, good, key_button, main_button, problem, section, small, soft};
use super::{paper_lines, paper_photos, paper_shop};
use crate::job::Consent;
use crate::units::show_price;
use crate::workbench::{Command, Stage, View};

/// The pages with their names.
const PAGES: [(PaperPage, &str); 7] = [
    (PaperPage::Estimate, "Estimate"),
    (PaperPage::Consent, "Consent"),
    (PaperPage::Bill, "Bill"),
    (PaperPage::Photos, "Photos"),
    (PaperPage::Comeback, "Comeback"),
    (PaperPage::Shop, "Shop"),
    (PaperPage::Ticket, "Ticket"),
];

/// Shows the screen.
pub fn show(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    let Some(mut own) = desk.paper.take() else { return };
    let frame = Frame::new().fill(tokens(ui).paper).inner_margin(Margin::symmetric(16, 10));
    Panel::top("paper head").frame(frame).show(ui, |ui| head(ui, view, &own, desk, out));
    CentralPanel::default().frame(frame).show(ui, |ui| {
        ScrollArea::vertical().id_salt(("paper", own.page as u8)).show(ui, |ui| {
            ui.set_max_width((ui.available_width() - 12.0).min(900.0));
            said(ui, desk);
            page(ui, view, &mut own, desk, out);
        });
    });
    desk.paper = Some(own);
}

fn head(ui: &mut Ui, view: &View, own: &PaperDesk, desk: &Desk, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new("Estimate and bill").text_style(theme::lead()));
        for (page, name) in PAGES {
            if ui.add(Button::selectable(own.page == page, name)).clicked() {
                out.push(Action::Paper(PaperAction::Page(page)));
            }
        }
        let tools = [
            ("Undo", "Ctrl+Z", view.can_undo, Action::Do(Command::Undo)),
            ("Redo", "Ctrl+Y", view.can_redo, Action::Do(Command::Redo)),
            ("Back to the job", "Ctrl+B", true, Action::Paper(PaperAction::Close)),
        ];
        for (name, key, enabled, action) in tools {
            if key_button(ui, name, key, enabled && desk.overlay.is_none()).clicked() {
                out.push(action);
            }
        }
        if own.is_reading() {
            soft(ui, "Reading…");
        }
    });
}

/// Shows what was done last, or why it was refused.
fn said(ui: &mut Ui, desk: &Desk) {
    if let Some(text) = &desk.problem {
        problem(ui, text);
    }
    if let Some(text) = &desk.told {
        good(ui, text);
    }
}

fn page(ui: &mut Ui, view: &View, own: &mut PaperDesk, desk: &mut Desk, out: &mut Vec<Action>) {
    let open = view.stage != Stage::Closed;
    if !open && matches!(own.page, PaperPage::Estimate | PaperPage::Consent | PaperPage::Comeback) {
        soft(
            ui,
            "The job is closed: only a bill and photos can still be added. Undo takes the closing back.",
        );
    }
    match own.page {
        PaperPage::Estimate => estimate(ui, own, open, desk, out),
        PaperPage::Consent => consent(ui, own, open, desk, out),
        PaperPage::Bill => bill(ui, own, desk, out),
        PaperPage::Photos => paper_photos::photos(ui, own, desk, out),
        PaperPage::Comeback => paper_photos::comeback(ui, own, open, desk, out),
        PaperPage::Shop => paper_shop::shop(ui, own, desk, out),
        PaperPage::Ticket => paper_shop::ticket(ui, own, desk, out),
    }
}

/// Returns whether the first thing on the page is to get the keyboard.
pub(super) fn first(desk: &mut Desk) -> bool {
    desk.overlay.is_none() && desk.takes_focus(Spot::Home)
}

/// Shows the button that records the form of the page.
pub(super) fn record_button(ui: &mut Ui, name: &str, enabled: bool, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        if main_button(ui, name, enabled).clicked() {
            out.push(Action::Paper(PaperAction::Record));
        }
        small(ui, "Ctrl+Enter");
    });
}

fn estimate(ui: &mut Ui, own: &mut PaperDesk, open: bool, desk: &mut Desk, out: &mut Vec<Action>) {
    section(ui, "What the work will cost");
    if let Some(made) = own.facts.paper.estimate() {
        small(ui, format!("The last estimate is of {}.", day(&made.at)));
    } else if own.facts.advised.is_none() {
        soft(
            ui,
            "No fault is named and there is no verdict yet, so no work can be proposed: write the lines.",
        );
    }
    paper_lines::show(ui, own, first(desk), out);
    let ceiling = Field {
        label: "Ceiling: what is not gone beyond without a call",
        hint: "the sum of the lines when empty",
        rows: 1,
        problem: own.wrong_at(Slot::Ceiling),
    };
    let mut form = own.estimate.now.clone();
    ceiling.show(ui, &mut form.ceiling);
    let hint = "such as: the jack may have to be replaced";
    Field { label: "What was said to the customer", hint, rows: 2, problem: None }.show(ui, &mut form.said);
    own.estimate.now = form;
    record_button(ui, "Record the estimate", open, out);
    let recorded = own.facts.paper.estimate().is_some() && !own.estimate.touched();
    if open && recorded && ui.button("Consent next").clicked() {
        out.push(Action::Paper(PaperAction::Page(PaperPage::Consent)));
    }
}

fn consent(ui: &mut Ui, own: &mut PaperDesk, open: bool, desk: &mut Desk, out: &mut Vec<Action>) {
    section(ui, "What the customer agrees to");
    for agreed in &own.facts.paper.authorised {
        let ceiling = show_price(agreed.ceiling, &agreed.currency);
        let text = format!("{}: {} agreed {} to {ceiling}", day(&agreed.at), agreed.by, agreed.how.words());
        ui.add(Label::new(text).wrap());
    }
    over(ui, own.facts.paper.over(own.facts.minutes));
    let mut form = own.consent.now.clone();
    let (at_ceiling, at_by) = (own.wrong_at(Slot::Ceiling), own.wrong_at(Slot::By));
    let ceiling = Field { label: "May be spent at most", hint: "such as: 80", rows: 1, problem: at_ceiling };
    let response = ceiling.show(ui, &mut form.ceiling);
    if first(desk) {
        response.request_focus();
    }
    let by = Field { label: "Who agrees", hint: "such as: the owner", rows: 1, problem: at_by };
    by.show(ui, &mut form.by);
    ui.horizontal_wrapped(|ui| {
        pick(ui, "How", form.how.map_or("not chosen yet", Consent::words), |ui| {
            for how in Consent::ALL {
                ui.selectable_value(&mut form.how, Some(how), how.words());
            }
        });
    });
    if let Some(text) = own.wrong_at(Slot::How) {
        problem(ui, text);
    }
    own.consent.now = form;
    record_button(ui, "Record the consent", open, out);
}

fn bill(ui: &mut Ui, own: &mut PaperDesk, desk: &mut Desk, out: &mut Vec<Action>) {
    section(ui, "What is to be paid");
    if let Some(bill) = &own.facts.paper.bill {
        small(ui, format!("The last bill is of {}; recording another one takes its place.", day(&bill.at)));
    } else if own.facts.done.is_none() {
        soft(ui, "No repair is recorded yet, so no work can be proposed: write the lines.");
    }
    paper_lines::show(ui, own, first(desk), out);
    over(ui, own.bill.now.total().and_then(|total| own.facts.paper.beyond(total)));
    record_button(ui, "Record the bill", true, out);
}

/// Warns of what is over the ceiling.
fn over(ui: &mut Ui, said: Option<String>) {
    if let Some(said) = said {
        problem(ui, &format!("Money: {said}"));
    }
}

/// Returns the day of a moment.
pub(super) fn day(moment: &str) -> &str {
    moment.get(..10).unwrap_or(moment)
}
