//! What to do when finding is over.

use egui::{Label, RichText, Stroke, Ui};

use super::action::{Action, Desk, Overlay, Spot};
use super::paper_desk::{PaperAction, PaperPage};
use super::theme::{self, tokens};
use super::widgets::{fact, framed, key_button, main_button, small, soft};
use super::words;
use crate::workbench::{Command, MaskedView, VerdictView, View};

/// Shows the verdict with the button that names the fault.
pub fn show(ui: &mut Ui, view: &View, verdict: &VerdictView, desk: &mut Desk, out: &mut Vec<Action>) {
    let (tokens, alone) = (tokens(ui), view.step.is_none());
    framed(ui, tokens.card, Stroke::new(2.5, tokens.accent), |ui| {
        soft(
            ui,
            if verdict.sure {
                "Sure enough to repair"
            } else {
                "Nothing better to measure: the best guess is"
            },
        );
        ui.add(
            Label::new(RichText::new(&verdict.sentence).text_style(theme::headline_for(&verdict.sentence)))
                .wrap(),
        );
        soft(ui, format!("Probability {}", words::percent(verdict.probability)));
        small(ui, words::sentence(verdict.stop.says()));
        ui.add_space(4.0);
        if !verdict.inspect.is_empty() {
            fact(ui, "Look first", &verdict.inspect);
        }
        fact(ui, "Repair", &words::sentence(&verdict.repair));
        small(ui, format!("about {}", words::minutes(verdict.minutes)));
        if !view.masked.is_empty() {
            fact(ui, "Masked", &masked(&view.masked));
        }
        ui.add_space(4.0);
        ui.horizontal_wrapped(|ui| {
            let button = main_button(ui, "This is the fault", true);
            if alone && desk.overlay.is_none() && desk.takes_focus(Spot::Home) {
                button.request_focus();
            }
            if button.clicked() {
                out.push(Action::Do(Command::Conclude { faults: verdict.faults.clone() }));
            }
            small(ui, "F7");
            if key_button(ui, "Name another…", "", true).clicked() {
                out.push(Action::Show(Overlay::Name));
            }
            paper(ui, view, out);
        });
    });
    ui.add_space(8.0);
}

/// Shows the button that leads to estimate and consent, until the customer has agreed.
pub(super) fn paper(ui: &mut Ui, view: &View, out: &mut Vec<Action>) {
    let (name, page) = match (&view.paper.estimate, &view.paper.authorised) {
        (_, Some(_)) => return,
        (None, None) => ("Estimate and consent…", PaperPage::Estimate),
        (Some(_), None) => ("Consent…", PaperPage::Consent),
    };
    if key_button(ui, name, "Ctrl+B", true).clicked() {
        out.push(Action::Paper(PaperAction::Page(page)));
    }
}

/// Returns what the fault hides, as a warning.
fn masked(groups: &[MaskedView]) -> String {
    let all: Vec<&str> = groups.iter().map(|group| group.sentence.as_str()).collect();
    format!(
        "{}. No reading so far would tell whether there is besides: {}",
        MaskedView::WARNING,
        all.join("; ")
    )
}
