//! What a check of a tree found, and the button that begins it.

use egui::{Button, ProgressBar, RichText, Ui, vec2};

use super::action::Action;
use super::theme::tokens;
use super::tree_shelf::{TreeChoice, TreeShelf};
use super::trees::TreesAction;
use super::widgets::{good, main_button, narrow, problem, section, small};
use super::words;
use crate::treework::{Checked, Figures, Finding};

/// Shows the check of a tree: not begun, under way, or what it found.
pub(super) fn show(ui: &mut Ui, shelf: &TreeShelf, choice: &TreeChoice, out: &mut Vec<Action>) {
    section(ui, "Check");
    if let Some((done, of)) = shelf.progress(&choice.key) {
        return under_way(ui, done, of, out);
    }
    match shelf.checked(&choice.key) {
        Some(checked) => found(ui, checked, out),
        None => {
            small(ui, "Holds the tree against every fault of the wirings that it is for.");
            if main_button(ui, "Check it", !choice.source.text.is_empty()).clicked() {
                out.push(Action::Trees(TreesAction::Check));
            }
        }
    }
}

fn under_way(ui: &mut Ui, done: usize, of: usize, out: &mut Vec<Action>) {
    let share = if of == 0 { 0.0 } else { share(done) / share(of) };
    ui.add(ProgressBar::new(narrow(share)).text(format!("{done} of {of}")));
    if ui.button("Stop the check").clicked() {
        out.push(Action::Trees(TreesAction::Stop));
    }
}

fn share(count: usize) -> f64 {
    u32::try_from(count).map_or(f64::from(u32::MAX), f64::from)
}

fn found(ui: &mut Ui, checked: &Checked, out: &mut Vec<Action>) {
    if checked.passes() {
        good(ui, "It passes.");
    } else {
        problem(ui, "It does not pass.");
    }
    if checked.findings.is_empty() {
        small(ui, "Nothing was found.");
    }
    for (index, finding) in checked.findings.iter().enumerate() {
        one(ui, index, finding, out);
    }
    if let Some(judged) = &checked.judged {
        small(ui, format!("How long it takes, {judged}."));
    }
    for (wiring, why) in &checked.not_for {
        small(ui, format!("Not for {wiring}: {why}"));
    }
    figures(ui, &checked.figures);
    if ui.button("Check it again").clicked() {
        out.push(Action::Trees(TreesAction::Check));
    }
}

/// Shows one finding; pressed, it brings its step into the middle.
fn one(ui: &mut Ui, index: usize, finding: &Finding, out: &mut Vec<Action>) {
    let (mark, ink) = if finding.fails { ("Error", tokens(ui).bad) } else { ("Advice", tokens(ui).soft) };
    let text = format!("{mark}, line {}, {}: {}", finding.line, finding.flaw.name(), finding.says);
    let button = Button::new(RichText::new(&text).color(ink)).wrap();
    let response = ui.add(button.min_size(vec2(ui.available_width(), 0.0)));
    let response = response.on_hover_text(finding.flaw.term());
    if response.accessible_name(format!("Finding {}: {text}", index + 1)).clicked() {
        out.push(Action::Trees(TreesAction::Line(finding.line, finding.step.clone())));
    }
    if !finding.hint.is_empty() {
        small(ui, finding.hint.as_str());
    }
    if !finding.wirings.is_empty() {
        small(ui, format!("on {}", finding.wirings.join(", ")));
    }
}

fn figures(ui: &mut Ui, figures: &[Figures]) {
    for one in figures {
        small(
            ui,
            format!(
                "{}: {} of {} faults covered, {} left with one place, {} with two; {:.1} steps and {:.1} min, \
                 the advisor {:.1} and {:.1}.",
                one.wiring,
                words::percent(one.covered),
                one.faults,
                words::percent(one.isolated_to_one),
                words::percent(one.isolated_to_two),
                one.steps,
                one.minutes,
                one.advisor_steps,
                one.advisor_minutes,
            ),
        );
    }
}
