//! The screen of past jobs: the list, one job step by step, and the figures.

use egui::{
    Button, CentralPanel, ComboBox, Frame, Key, Label, Margin, Modifiers, Panel, RichText, ScrollArea, Ui,
    vec2,
};

use super::action::{Action, Desk};
use super::bench::Bench;
use super::past_desk::{PastAction, PastDesk, PastPage};
use super::past_form::PastForm;
use super::past_read::{FoundJob, MOST};
use super::theme::{self, tokens};
use super::widgets::{Field, card, good, key_button, problem, section, small, soft};
use super::{past_fields, past_figures, past_files, past_replay, words};
use crate::archive::{Named, Summary};

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
        typed_path(ui, &mut own, out);
        if let Some(rerun) = &own.rerun {
            past_replay::show(ui, &own, rerun, desk, out);
        } else {
            ScrollArea::vertical().show(ui, |ui| {
                ui.set_max_width(ui.available_width() - 12.0);
                if own.page != PastPage::Files {
                    past_fields::show(ui, bench, &mut own, desk, out);
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
    let more = total.saturating_sub(MOST);
    let text = match more {
        0 => own.held.clone(),
        more => format!("{}; the last {more} are not listed: search for words, or set limits", own.held),
    };
    ui.add(Label::new(text).wrap());
    for (index, found) in jobs.iter().enumerate() {
        let button = Button::new(line(found)).wrap().min_size(vec2(ui.available_width(), 0.0));
        if ui.add(button).clicked() {
            out.push(Action::Past(PastAction::Pick(index)));
        }
        if let Some(around) = found.1.as_ref().filter(|around| !around.trim().is_empty()) {
            small(ui, format!("… {}", words::shortened(&around.replace('\n', " "), 2 * LETTERS)));
        }
    }
}

fn nothing(own: &PastDesk) -> &'static str {
    if own.form == PastForm::default() {
        "There are no past jobs yet. Every job that is started or opened is kept here by itself."
    } else {
        "No job is like that. Take words or limits out."
    }
}

/// Returns a job in one line: day, instrument, customer, wiring, how it stands, what was found, by whom, in what time.
pub(super) fn line((job, _): &FoundJob) -> String {
    let day = job.opened_at.get(..10).unwrap_or(&job.opened_at);
    let name = if job.instrument.trim().is_empty() { job.uid.as_str() } else { job.instrument.as_str() };
    let short = |text: &str| words::shortened(text, LETTERS);
    let customer = Some(short(&job.customer)).filter(|name| !name.is_empty());
    let gone = || job.removed_at.as_ref().map(|_| "customer taken out".to_owned());
    let customer = customer.or_else(gone).map(|name| format!(" ({name})")).unwrap_or_default();
    let said = |named: &Named| format!(", {}", words::shortened(named.words(), 2 * LETTERS));
    let found = job.last.as_ref().map(said).unwrap_or_default();
    let (wiring, ending) = (short(&job.wiring), job.ending.name());
    format!("{day}  {}{customer}, {wiring}: {ending}{found}; {}", short(name), by_whom(job))
}

/// Returns who worked on a job and for how long: `bench two, 23 min`.
fn by_whom(job: &Summary) -> String {
    let minutes = format!("{:.0} min", job.minutes());
    match words::shortened(job.technician.trim(), LETTERS) {
        name if name.is_empty() => minutes,
        name => format!("{name}, {minutes}"),
    }
}

/// Shows the field for a path where no file dialog could be opened.
fn typed_path(ui: &mut Ui, own: &mut PastDesk, out: &mut Vec<Action>) {
    let Some(typed) = &mut own.typed else { return };
    card(ui, |ui| {
        let hint = "the whole path";
        Field { label: "Type the path instead", hint, rows: 1, problem: None }.show(ui, &mut typed.text);
        ui.horizontal_wrapped(|ui| {
            let all = [("Go on with this path", PastAction::TakePath), ("Leave it", PastAction::LeavePath)];
            for (name, action) in all {
                if ui.button(name).clicked() {
                    out.push(Action::Past(action));
                }
            }
        });
    });
}

/// Returns whether a key was pressed, which nothing else gets then.
pub(super) fn pressed(ctx: &egui::Context, key: Key) -> bool {
    ctx.input_mut(|input| input.consume_key(Modifiers::NONE, key))
}
