//! The screen of past jobs: the list, one job step by step, and the figures.

use egui::{
    Button, CentralPanel, ComboBox, Frame, Key, Label, Margin, Modifiers, Panel, RichText, ScrollArea, Ui,
    vec2,
};

use super::action::{Action, Desk, Spot};
use super::bench::Bench;
use super::past_desk::{PastAction, PastDesk, PastForm, PastPage};
use super::past_read::{FoundJob, MOST};
use super::theme::{self, tokens};
use super::widgets::{Field, good, key_button, problem, section, small, soft};
use super::{past_figures, past_files, past_replay, words};

/// The width from which the fields of the form stand side by side, in points.
const WIDE: f32 = 760.0;
/// How many letters of a text are listed.
const LETTERS: usize = 60;

/// Shows the screen.
pub fn show(ui: &mut Ui, bench: &dyn Bench, desk: &mut Desk, out: &mut Vec<Action>) {
    let Some(mut own) = desk.past.take() else { return };
    let frame = Frame::new().fill(tokens(ui).paper).inner_margin(Margin::symmetric(16, 10));
    Panel::top("past head").frame(frame).show(ui, |ui| head(ui, &own, desk, out));
    if own.rerun.is_some() {
        past_replay::keys(ui.ctx(), &own, desk, out);
    }
    CentralPanel::default().frame(frame).show(ui, |ui| {
        if let Some(rerun) = &own.rerun {
            past_replay::show(ui, &own, rerun, desk, out);
        } else {
            ScrollArea::vertical().show(ui, |ui| {
                ui.set_max_width(ui.available_width() - 12.0);
                if own.page != PastPage::Files {
                    form(ui, bench, &mut own, desk, out);
                }
                match own.page {
                    PastPage::Jobs => list(ui, &own, out),
                    PastPage::Figures => past_figures::show(ui, &own, out),
                    PastPage::Files => past_files::show(ui, bench, &own, desk, out),
                }
            });
        }
    });
    desk.past = Some(own);
}

fn head(ui: &mut Ui, own: &PastDesk, desk: &Desk, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new("Past jobs").text_style(theme::lead()));
        let pages = [("Jobs", PastPage::Jobs), ("Figures", PastPage::Figures), ("Archive", PastPage::Files)];
        for (name, page) in pages {
            if ui.add(Button::selectable(own.page == page && own.rerun.is_none(), name)).clicked() {
                out.push(Action::Past(PastAction::Page(page)));
            }
        }
        if own.rerun.is_some() && key_button(ui, "Back to the list", "Escape", true).clicked() {
            out.push(Action::Past(PastAction::Back));
        }
        if key_button(ui, "Back to the first screen", "Ctrl+N", true).clicked() {
            out.push(Action::Past(PastAction::Close));
        }
        if own.is_reading() {
            soft(ui, own.doing());
        }
    });
    if let Some(text) = &desk.problem {
        problem(ui, text);
    }
    if let Some(text) = &desk.told {
        good(ui, text);
    }
}

fn form(ui: &mut Ui, bench: &dyn Bench, own: &mut PastDesk, desk: &mut Desk, out: &mut Vec<Action>) {
    let before = own.form.clone();
    if own.page == PastPage::Jobs {
        let hint = "customer, instrument, complaint, fault, part, what was done";
        let field = Field { label: "Search for words", hint, rows: 1, problem: None };
        let search = field.show(ui, &mut own.form.words);
        if desk.overlay.is_none() && desk.takes_focus(Spot::Home) {
            search.request_focus();
        }
    }
    let count = if ui.available_width() < WIDE { 1 } else { 3 };
    ui.columns(count, |columns| {
        let fields = [
            ("From", "such as 2026-03 or 2026-03-02", &mut own.form.from),
            ("To", "such as 2026-04; the whole month counts", &mut own.form.to),
            ("Technician", "as the jobs have it", &mut own.form.technician),
        ];
        for (index, (label, hint, text)) in fields.into_iter().enumerate() {
            let ui = &mut columns[index % count];
            Field { label, hint, rows: 1, problem: None }.show(ui, text);
        }
    });
    choices(ui, bench, own);
    if own.form != before {
        out.push(Action::Past(PastAction::Look));
    }
}

fn choices(ui: &mut Ui, bench: &dyn Bench, own: &mut PastDesk) {
    let form = &mut own.form;
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
    });
}

/// Shows a word and what is chosen for it beside it.
pub(super) fn pick(ui: &mut Ui, name: &str, shown: &str, contents: impl FnOnce(&mut Ui)) {
    let label = soft(ui, name);
    let combo = ComboBox::from_id_salt(("past", name)).selected_text(shown).width(240.0).truncate();
    let inner = combo.show_ui(ui, contents);
    let _ = inner.response.labelled_by(label.id);
}

fn list(ui: &mut Ui, own: &PastDesk, out: &mut Vec<Action>) {
    let Some((jobs, total)) = &own.found else { return };
    section(ui, "Jobs");
    if jobs.is_empty() {
        soft(ui, nothing(own));
        return;
    }
    for (index, found) in jobs.iter().enumerate() {
        let button = Button::new(line(found)).wrap().min_size(vec2(ui.available_width(), 0.0));
        if ui.add(button).clicked() {
            out.push(Action::Past(PastAction::Pick(index)));
        }
        if let Some(around) = found.1.as_ref().filter(|around| !around.trim().is_empty()) {
            small(ui, format!("… {}", words::shortened(&around.replace('\n', " "), 2 * LETTERS)));
        }
    }
    let more = total.saturating_sub(MOST);
    let jobs = if *total == 1 { "job" } else { "jobs" };
    let text = match more {
        0 => format!("{total} {jobs}"),
        more => format!("{total} {jobs}; the last {more} are not listed: search for words, or set limits"),
    };
    ui.add(Label::new(text).wrap());
}

fn nothing(own: &PastDesk) -> &'static str {
    if own.form == PastForm::default() {
        "There are no past jobs yet. Every job that is started or opened is kept here by itself."
    } else {
        "No job is like that. Take words or limits out."
    }
}

/// Returns a job in one line.
pub(super) fn line((job, _): &FoundJob) -> String {
    let day = job.opened_at.get(..10).unwrap_or(&job.opened_at);
    let name = if job.instrument.trim().is_empty() { job.uid.as_str() } else { job.instrument.as_str() };
    let short = |text: &str| words::shortened(text, LETTERS);
    let customer = Some(short(&job.customer)).filter(|name| !name.is_empty());
    let customer = customer.map(|name| format!(" ({name})")).unwrap_or_default();
    let found = job.last.as_ref().map(|named| format!(", {}", short(&named.fault))).unwrap_or_default();
    format!("{day}  {}{customer}, {}: {}{found}", short(name), short(&job.wiring), job.ending.name())
}

/// Returns whether a key was pressed, which nothing else gets then.
pub(super) fn pressed(ctx: &egui::Context, key: Key) -> bool {
    ctx.input_mut(|input| input.consume_key(Modifiers::NONE, key))
}
