//! The suspects, and what moved them.

use egui::{Button, Label, RichText, Stroke, Ui, vec2};

use super::action::{Action, Desk, Overlay, Spot};
use super::theme::{self, tokens};
use super::widgets::{bar, fact, framed, section, small, soft};
use super::{picture, words};
use crate::draw::{Picture, PlotLine, PlotStyle, plot};
use crate::job::ReadingId;
use crate::units::{show_farads, show_ohms};
use crate::workbench::{Command, Stage, SuspectView, ToneView, View};

/// Shows the suspects, the most probable first.
pub fn show(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    let focus = desk.overlay.is_none() && desk.takes_focus(Spot::Suspects);
    for (index, suspect) in view.suspects.iter().enumerate() {
        let first = suspect.faults.first().cloned().unwrap_or_default();
        let open = desk.unfolded.as_ref() == Some(&first);
        let tokens = tokens(ui);
        let edge = if open { Stroke::new(2.0, tokens.accent) } else { Stroke::new(1.0, tokens.line) };
        framed(ui, tokens.card, edge, |ui| {
            ui.push_id(&first, |ui| {
                let pressed = headline(ui, suspect, open, focus && index == 0);
                if pressed {
                    out.push(Action::Unfold(first.clone()));
                }
                if let Some(text) = would_read(view, suspect) {
                    small(ui, format!("would read {text} here"));
                }
                if let Some(heard) = view.tone.as_ref().filter(|heard| heard.suspect == suspect.sentence) {
                    small(ui, format!("would sound: {}", heard.tone.sentence));
                }
                if open {
                    details(ui, view, suspect, out);
                }
            });
        });
    }
    if view.others > 0.0 {
        soft(ui, format!("Everything else together: {}", words::percent(view.others)));
    }
    if let Some(outlook) = &view.outlook {
        small(ui, words::left(outlook))
            .on_hover_text(words::sentence(&format!("On average {}", outlook.sentence)));
    }
    found(ui, view);
    if view.stage == Stage::Finding && ui.button("Known value…").clicked() {
        out.push(Action::Show(Overlay::Know));
    }
    if let Some(heard) = &view.tone {
        sound(ui, heard);
    }
}

/// Shows the part values that the readings have found.
fn found(ui: &mut Ui, view: &View) {
    if view.found.is_empty() {
        return;
    }
    section(ui, "Part values found");
    for value in &view.found {
        let name = format!("{}, {}", value.title, value.what);
        fact(ui, &name, &format!("{} ({} to {})", value.value, value.low, value.high));
    }
}

/// Shows how the leading suspect sounds beside a healthy instrument.
fn sound(ui: &mut Ui, heard: &ToneView) {
    let tone = &heard.tone;
    ui.add_space(4.0);
    section(ui, "How it would sound");
    ui.add(Label::new(words::sentence(&format!("{}: {}", heard.suspect, tone.sentence))).wrap());
    let width = ui.available_width();
    let size = vec2(width, (width * 0.5).clamp(170.0, 260.0));
    picture::fixed(ui, &curves(heard, size.x, size.y), size);
    let (cable, input) = (show_farads(tone.cable), show_ohms(tone.input));
    small(ui, format!("{}; {cable} of cable into {input}", tone.setting));
}

fn curves(heard: &ToneView, width: f32, height: f32) -> Picture {
    let line = |label: &str, style, points| PlotLine { label: label.to_owned(), style, points };
    let lines = [
        line("healthy", PlotStyle::Solid, heard.tone.healthy()),
        line("suspect", PlotStyle::Dashed, heard.tone.faulty()),
    ];
    plot("Sound of the suspect", &words::sentence(&heard.tone.sentence), &lines, width, height)
}

/// Returns what a suspect predicts for the step on the screen.
fn would_read<'a>(view: &'a View, suspect: &SuspectView) -> Option<&'a str> {
    let step = view.step.as_ref().filter(|_| view.cautions.is_empty() && view.stage == Stage::Finding)?;
    let prediction = step.predictions.iter().find(|p| p.sentence == suspect.sentence)?;
    Some(&prediction.text)
}

fn headline(ui: &mut Ui, suspect: &SuspectView, open: bool, focus: bool) -> bool {
    ui.spacing_mut().item_spacing.y = 2.0;
    ui.horizontal(|ui| {
        ui.spacing_mut().interact_size.y = 20.0;
        ui.label(RichText::new(words::percent(suspect.probability)).text_style(theme::lead()));
        bar(ui, suspect.probability, vec2(ui.available_width(), 10.0));
    });
    ui.spacing_mut().button_padding = vec2(4.0, 3.0);
    let sign = if open { "–" } else { "+" };
    let mark = RichText::new(sign).color(tokens(ui).accent);
    let button = Button::new(suspect.sentence.as_str()).right_text(mark).wrap().frame_when_inactive(false);
    let response = ui.add(button.min_size(vec2(ui.available_width(), 0.0)));
    if focus {
        response.request_focus();
    }
    let told = if open { "Hide" } else { "Show" };
    response.accessible_name(format!("{told} details of: {}", suspect.sentence)).clicked()
}

fn details(ui: &mut Ui, view: &View, suspect: &SuspectView, out: &mut Vec<Action>) {
    if suspect.members.len() > 1 {
        soft(ui, "No reading tells these apart:");
        for member in &suspect.members {
            ui.add(Label::new(format!("• {member}")).wrap());
        }
    }
    fact(ui, "Repair", &words::sentence(&suspect.repair));
    small(ui, format!("about {}", words::minutes(suspect.minutes)));
    section(ui, "What moved it");
    for (source, bits) in &suspect.moved_by {
        moved(ui, *source, *bits);
    }
    if view.stage == Stage::Finding && view.cautions.is_empty() {
        let name = format!("Name as the fault: {}", suspect.sentence);
        if ui.button("Name this as the fault").accessible_name(name).clicked() {
            out.push(Action::Do(Command::Conclude { faults: suspect.faults.clone() }));
        }
    }
}

fn moved(ui: &mut Ui, source: Option<ReadingId>, bits: f64) {
    let name = source.map_or("the complaint".to_owned(), |id| format!("reading {}", id.0));
    fact(ui, &words::signed_bits(bits), &name);
}

/// Returns the suspects that the picture marks: the one that is open, or those that lead; none once it is repaired.
pub(super) fn marked(view: &View, unfolded: Option<&str>) -> Vec<SuspectView> {
    if view.repaired.is_some() {
        return Vec::new();
    }
    let holds = |suspect: &&SuspectView| suspect.faults.first().map(String::as_str) == unfolded;
    match view.suspects.iter().find(holds) {
        Some(open) if unfolded.is_some() => vec![open.clone()],
        _ => view.suspects.iter().take(3).cloned().collect(),
    }
}
