//! The suspects, and what moved them.

use egui::{Button, Label, RichText, Stroke, Ui, vec2};

use super::action::{Action, Desk, Overlay, Spot};
use super::theme::{self, tokens};
use super::widgets::{bar, fact, framed, problem, section, small, soft};
use super::{picture, words};
use crate::draw::{Picture, PlotLine, PlotStyle, plot};
use crate::job::ReadingId;
use crate::units::{show_farads, show_ohms};
use crate::workbench::{AgainstView, CaseView, Command, Stage, SuspectView, ToneView, View};

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
                if let Some((number, text)) = would_read(view, suspect) {
                    small(ui, format!("{number}. would read {text} here"));
                }
                if let Some(heard) = view.tone.as_ref().filter(|heard| heard.suspect == suspect.sentence) {
                    small(ui, format!("would sound: {}", heard.tone.sentence));
                }
                if open {
                    details(ui, view, suspect, desk.closer.case_of(&first), out);
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
    if let Some(heard) = view.tone.as_ref().filter(|heard| !shown_open(desk, heard)) {
        sound(ui, heard);
    }
}

/// Returns whether the details of the suspect that is heard are open: they show how it sounds.
fn shown_open(desk: &Desk, heard: &ToneView) -> bool {
    let case = desk.closer.case.as_ref().and_then(|case| case.as_ref().ok());
    case.and_then(|case| case.tone.as_ref()).is_some_and(|tone| tone.suspect == heard.suspect)
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

/// Returns what a suspect predicts for the step on the screen, with its number on the ruler.
fn would_read<'a>(view: &'a View, suspect: &SuspectView) -> Option<(usize, &'a str)> {
    let step = view.step.as_ref().filter(|_| view.cautions.is_empty() && view.stage == Stage::Finding)?;
    let index = step.predictions.iter().position(|p| p.sentence == suspect.sentence)?;
    Some((index + 1, step.predictions[index].text.as_str()))
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

fn details(
    ui: &mut Ui,
    view: &View,
    suspect: &SuspectView,
    case: Option<&Result<CaseView, String>>,
    out: &mut Vec<Action>,
) {
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
        moved(ui, view, *source, *bits);
    }
    match case {
        Some(Ok(case)) => closely(ui, view, case),
        Some(Err(text)) => {
            problem(ui, text);
        }
        None => {}
    }
    if view.stage == Stage::Finding && view.cautions.is_empty() {
        let name = format!("Name as the fault: {}", suspect.sentence);
        if ui.button("Name this as the fault").accessible_name(name).clicked() {
            out.push(Action::Do(Command::Conclude { faults: suspect.faults.clone() }));
        }
    }
}

/// Shows what would prove a suspect wrong, and how it sounds.
fn closely(ui: &mut Ui, view: &View, case: &CaseView) {
    if view.stage == Stage::Finding && view.cautions.is_empty() {
        section(ui, "What would prove it wrong");
        match &case.against {
            Some(against) => self::against(ui, against),
            None => {
                soft(ui, "No reading that is left and allowed would speak against it.");
            }
        }
    }
    if let Some(heard) = &case.tone {
        sound(ui, heard);
    }
}

fn against(ui: &mut Ui, against: &AgainstView) {
    ui.add(Label::new(words::sentence(&against.headline)).wrap());
    fact(ui, "It reads", &format!("{}, and not {}", against.text, against.expects));
    let (before, after) = (words::percent(against.before), words::percent(against.after));
    fact(ui, "Then", &format!("{after} instead of {before}"));
    fact(ui, "It speaks for", &words::sentence(&against.rival));
    let time = format!("about {}", words::seconds(against.seconds));
    let told = [against.setting.as_str(), against.place.as_str(), time.as_str()];
    let told: Vec<&str> = told.into_iter().filter(|text| !text.is_empty()).collect();
    small(ui, told.join(" · "));
}

fn moved(ui: &mut Ui, view: &View, source: Option<ReadingId>, bits: f64) {
    let name = match source {
        None => "the complaint".to_owned(),
        Some(id) => match view.readings.iter().find(|reading| reading.id == id) {
            Some(reading) => format!("reading {}: {}", id.0, reading.found),
            None => format!("reading {}", id.0),
        },
    };
    fact(ui, &words::signed_bits(bits), &name);
}
