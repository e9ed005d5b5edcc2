//! The fields that say which past jobs are looked for.

use egui::Ui;

use super::action::{Action, Desk, Spot};
use super::bench::Bench;
use super::past::pick;
use super::past_desk::{PastAction, PastDesk, PastPage};
use super::past_form::PastForm;
use super::widgets::{Field, soft};
use super::words;
use crate::archive::Ending;
use crate::session::{Span, moment};

/// The width from which the fields stand side by side, in points.
const WIDE: f32 = 760.0;

/// Shows the fields, and asks for the jobs or figures anew when they change.
pub(super) fn show(
    ui: &mut Ui,
    bench: &dyn Bench,
    own: &mut PastDesk,
    desk: &mut Desk,
    out: &mut Vec<Action>,
) {
    let before = own.form.clone();
    if own.page == PastPage::Jobs {
        let hint = "customer, instrument, complaint, fault, part, what was done";
        let field = Field { label: "Search for words", hint, rows: 1, problem: None };
        let search = field.show(ui, &mut own.form.words);
        if desk.overlay.is_none() && desk.takes_focus(Spot::Home) {
            search.request_focus();
        }
    }
    spans(ui, &mut own.form);
    limits(ui, &mut own.form);
    choices(ui, bench, own);
    marks(ui, &mut own.form);
    if own.form != before {
        out.push(Action::Past(PastAction::Look));
    }
    if own.form.is_wrong() {
        soft(ui, "Nothing is listed or counted while a date is wrong.");
    }
}

fn spans(ui: &mut Ui, form: &mut PastForm) {
    ui.horizontal_wrapped(|ui| {
        for span in Span::ALL {
            if ui.button(span.name()).clicked() {
                let date = span.date(&moment());
                (form.from, form.to) = (date.clone(), date);
            }
        }
    });
}

fn limits(ui: &mut Ui, form: &mut PastForm) {
    let [from, to] = form.problems();
    let count = if ui.available_width() < WIDE { 1 } else { 3 };
    ui.columns(count, |columns| {
        let fields = [
            ("From", "such as 2026-03 or 2026-03-02", &mut form.from, from),
            ("To", "such as 2026-04; the whole month counts", &mut form.to, to),
            ("Technician", "as the jobs have it", &mut form.technician, None),
        ];
        for (index, (label, hint, text, wrong)) in fields.into_iter().enumerate() {
            let ui = &mut columns[index % count];
            Field { label, hint, rows: 1, problem: wrong.as_deref() }.show(ui, text);
        }
    });
}

fn choices(ui: &mut Ui, bench: &dyn Bench, own: &mut PastDesk) {
    let PastDesk { form, technicians, .. } = own;
    ui.horizontal_wrapped(|ui| {
        let shown = if form.wiring.is_empty() { "every wiring" } else { form.wiring.as_str() }.to_owned();
        pick(ui, "Wiring", &shown, |ui| {
            ui.selectable_value(&mut form.wiring, String::new(), "every wiring");
            for choice in bench.wirings() {
                ui.selectable_value(&mut form.wiring, choice.name.clone(), choice.title.as_str());
            }
        });
        let shown = form.complaint.map_or("every complaint", words::symptom);
        pick(ui, "Complaint", shown, |ui| {
            ui.selectable_value(&mut form.complaint, None, "every complaint");
            for symptom in words::SYMPTOMS {
                ui.selectable_value(&mut form.complaint, Some(symptom), words::symptom(symptom));
            }
        });
        if !technicians.is_empty() {
            let named = form.technician.as_str();
            let shown = if named.is_empty() { "everybody" } else { named }.to_owned();
            pick(ui, "Technicians in the archive", &shown, |ui| {
                ui.selectable_value(&mut form.technician, String::new(), "everybody");
                for name in &*technicians {
                    ui.selectable_value(&mut form.technician, name.clone(), name.as_str());
                }
            });
        }
    });
}

fn marks(ui: &mut Ui, form: &mut PastForm) {
    ui.horizontal_wrapped(|ui| {
        let shown = form.ending.map_or("every ending", ending);
        pick(ui, "Ending", shown, |ui| {
            ui.selectable_value(&mut form.ending, None, "every ending");
            for one in Ending::ALL {
                ui.selectable_value(&mut form.ending, Some(one), ending(one));
            }
        });
        ui.checkbox(&mut form.came_back, "Only those that came back");
        ui.checkbox(&mut form.renamed, "Only those where another fault was named first");
        if let Some(words) = form.common.as_ref().map(|common| common.words.clone()) {
            soft(ui, format!("Only: {words}"));
            if ui.button("Take this limit out").clicked() {
                form.common = None;
            }
        }
    });
}

fn ending(ending: Ending) -> &'static str {
    match ending {
        Ending::Open => "not closed",
        Ending::Cured => "cured and proven",
        Ending::Unproven => "closed without full proof",
    }
}
