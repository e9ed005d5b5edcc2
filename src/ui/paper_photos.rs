//! Photos of the job, and the earlier job that it is a comeback of.

use egui::{Button, Id, Label, Ui, UiBuilder, vec2};

use super::action::{Action, Desk};
use super::paper::{day, first, record_button};
use super::paper_desk::{PaperAction, PaperDesk, PhotoForm};
use super::paper_form::Slot;
use super::past::line;
use super::past_read::FoundJob;
use super::widgets::{Field, card, section, small, soft};
use crate::job::Photo;

/// How many earlier jobs are listed.
const LISTED: usize = 20;

/// Shows the page of photos.
pub(super) fn photos(ui: &mut Ui, own: &mut PaperDesk, desk: &mut Desk, out: &mut Vec<Action>) {
    section(ui, if own.photo.changed.is_some() { "Change a photo" } else { "Add a photo" });
    let mut form = own.photo.clone();
    if let Some(file) = form.changed.clone() {
        changed(ui, &file, &mut form, desk, out);
        own.photo = form;
        record_button(ui, "Record the change", true, out);
    } else {
        added(ui, own, &mut form, desk, out);
        own.photo = form;
        record_button(ui, "Add the photo", true, out);
    }
    section(ui, "Photos of this job");
    if own.facts.paper.photos.is_empty() {
        soft(ui, "There are none yet.");
    }
    for photo in &own.facts.paper.photos {
        card(ui, |ui| row(ui, photo, out));
    }
}

fn added(ui: &mut Ui, own: &PaperDesk, form: &mut PhotoForm, desk: &mut Desk, out: &mut Vec<Action>) {
    small(ui, "Choose a file, type where it is, or drop it on the window. It is copied beside the job.");
    let (label, hint) = ("Photo file", "such as: cavity.jpg");
    let field = Field { label, hint, rows: 1, problem: own.wrong_at(Slot::File) };
    let response = field.show(ui, &mut form.file);
    if first(desk) {
        response.request_focus();
    }
    if ui.button("Choose a photo…").clicked() {
        out.push(Action::Paper(PaperAction::ChoosePhoto));
    }
    if let Some(note) = &own.photo_note {
        soft(ui, note.as_str());
    }
    caption(ui, form);
}

fn changed(ui: &mut Ui, file: &str, form: &mut PhotoForm, desk: &mut Desk, out: &mut Vec<Action>) {
    ui.add(Label::new(file).wrap());
    let response = caption(ui, form);
    if first(desk) {
        response.request_focus();
    }
    if ui.button("Leave it as it is").clicked() {
        out.push(Action::Paper(PaperAction::AnotherPhoto));
    }
}

fn caption(ui: &mut Ui, form: &mut PhotoForm) -> egui::Response {
    let hint = "such as: the cavity as it came";
    let field = Field { label: "What it shows", hint, rows: 1, problem: None };
    let response = field.show(ui, &mut form.caption);
    ui.checkbox(&mut form.print, "Print it on the ticket (PNG or JPEG)");
    response
}

fn row(ui: &mut Ui, photo: &Photo, out: &mut Vec<Action>) {
    let caption = if photo.caption.is_empty() { "without a caption" } else { photo.caption.as_str() };
    ui.add(Label::new(caption).wrap());
    small(ui, format!("{}, {}, added {}", photo.file, size(photo.size), day(&photo.at)));
    ui.horizontal_wrapped(|ui| {
        let mut print = photo.print;
        let name = format!("Print {} on the ticket", photo.file);
        if ui.checkbox(&mut print, "On the ticket").accessible_name(name).changed() {
            out.push(Action::Paper(PaperAction::Print(photo.file.clone(), print)));
        }
        let name = format!("Change the caption of {}", photo.file);
        if ui.button("Change the caption").accessible_name(name).clicked() {
            out.push(Action::Paper(PaperAction::Recaption(photo.file.clone())));
        }
    });
}

/// Returns a number of bytes in words.
fn size(bytes: u64) -> String {
    const KILO: u64 = 1000;
    match bytes {
        0..1000 => format!("{bytes} bytes"),
        1000..1_000_000 => format!("{} kB", bytes.div_ceil(KILO)),
        _ => format!("{}.{} MB", bytes / (KILO * KILO), bytes % (KILO * KILO) / (100 * KILO)),
    }
}

/// Shows the page of the earlier job.
pub(super) fn comeback(ui: &mut Ui, own: &mut PaperDesk, open: bool, desk: &mut Desk, out: &mut Vec<Action>) {
    section(ui, "A comeback of an earlier job");
    if let Some(known) = &own.facts.paper.warranty {
        let text = format!("{}, opened {}: {}", known.job, day(&known.opened), known.why);
        ui.add(Label::new(text).wrap());
    }
    let mut form = own.comeback.clone();
    let hint = "customer, instrument, fault, or the beginning of its number";
    let field = Field { label: "Look for the earlier job", hint, rows: 1, problem: None };
    let search = field.show(ui, &mut form.words);
    if first(desk) {
        search.request_focus();
    }
    if search.changed() {
        out.push(Action::Paper(PaperAction::Search));
    }
    found(ui, own, out);
    if ui.button("Choose its job file…").clicked() {
        out.push(Action::Paper(PaperAction::ChooseEarlier));
    }
    let chosen = form.earlier.as_ref().map_or("none yet", |(_, line)| line.as_str());
    ui.add(Label::new(format!("Chosen: {chosen}")).wrap());
    if let Some(text) = own.wrong_at(Slot::Earlier) {
        super::widgets::problem(ui, text);
    }
    let (hint, at) = ("such as: same fault, same place", own.wrong_at(Slot::Why));
    Field { label: "Why it belongs to the earlier one", hint, rows: 1, problem: at }.show(ui, &mut form.why);
    own.comeback = form;
    record_button(ui, "Record the comeback", open, out);
}

fn found(ui: &mut Ui, own: &PaperDesk, out: &mut Vec<Action>) {
    let Some(jobs) = &own.found else { return };
    if jobs.is_empty() {
        soft(ui, "No past job is like that.");
    }
    for (index, job) in jobs.iter().take(LISTED).enumerate() {
        if one_found(ui, index, job) {
            out.push(Action::Paper(PaperAction::Pick(index)));
        }
    }
    if jobs.len() > LISTED {
        small(ui, format!("and {} more: type another word", jobs.len() - LISTED));
    }
}

/// Shows a job that was found, and returns whether it was taken. Its button stays the same one when other jobs are found
/// while it is pressed: a press meant for one job takes no other.
fn one_found(ui: &mut Ui, index: usize, job: &FoundJob) -> bool {
    let button = Button::new(line(job)).wrap().min_size(vec2(ui.available_width(), 0.0));
    let name = format!("Take {}. {}", index + 1, line(job));
    let own = UiBuilder::new().scope_id(Id::unique(("earlier job", &job.0.uid)));
    ui.scope_builder(own, |ui| ui.add(button).accessible_name(name).clicked()).inner
}

#[cfg(test)]
mod tests {
    use super::size;
    use rstest::rstest;

    #[rstest]
    #[case(999, "999 bytes")]
    #[case(1001, "2 kB")]
    #[case(2_340_000, "2.3 MB")]
    fn a_size_is_told_in_words(#[case] bytes: u64, #[case] words: &str) {
        assert_eq!(size(bytes), words);
    }
}
