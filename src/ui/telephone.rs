//! The customer is on the telephone: the step is a script to read out, the answers are large buttons.

use egui::{Button, Label, RichText, Stroke, Ui, vec2};

use super::action::{Action, Desk, Overlay};
use super::hands_free::TARGET;
use super::theme::{self, tokens};
use super::widgets::{self, fact, framed, section, small, soft, speaker_mark};
use super::{keys, words};
use crate::readings::{Access, Dial, Measurement, Mode};
use crate::workbench::{Ask, Command, StepView, View};

/// Why a step is left out on the telephone.
const UNABLE: &str = "the customer cannot do it";
const UNKNOWN: &str = "the customer does not know";

/// From this height on, in points, there is room for the number pad when it is asked for.
const ROOM: f32 = 620.0;
/// From this height on, in points, there is room for it beside the whole script.
const BOTH: f32 = 760.0;

/// Returns what goes to the telephone or back from it, to where the technician was before.
pub fn switched(view: &View, desk: &Desk) -> Action {
    let back = desk.before_call.unwrap_or(Access::Outside);
    let access = if view.access == Access::Telephone { back } else { Access::Telephone };
    Action::Do(Command::SetAccess(access))
}

/// Shows the script of a step and, when it is a question, its answers.
pub fn show(ui: &mut Ui, step: &StepView, desk: &mut Desk, out: &mut Vec<Action>) {
    ui.horizontal(|ui| {
        speaker_mark(ui, step.speaker);
        soft(ui, words::speaker(step));
    });
    let question = matches!(step.ask, Ask::Question { .. });
    if step.script.is_empty() {
        closed(ui, step);
    } else {
        script(ui, &step.script, question.then_some(desk));
    }
    if let Ask::Question { answers } = &step.ask {
        offered(ui, answers, out);
    }
    if !step.healthy.is_empty() {
        fact(ui, "Healthy", &step.healthy);
    }
    if !step.why.is_empty() {
        fact(ui, "Why", &step.why);
    }
}

/// Shows what is read out; where a question ends it, the keyboard waits at its first line, where Enter answers nothing.
fn script(ui: &mut Ui, lines: &[String], mut waits: Option<&mut Desk>) {
    framed(ui, tokens(ui).card, Stroke::new(2.0, tokens(ui).accent), |ui| {
        section(ui, "Read this out to the customer");
        for line in lines {
            ui.horizontal_top(|ui| {
                soft(ui, "Say:");
                let label = Label::new(RichText::new(line).text_style(theme::lead())).wrap();
                match waits.take() {
                    Some(desk) => widgets::waiting(ui, label, desk),
                    None => ui.add(label),
                };
            });
        }
    });
}

/// Shows a step that no customer can do, and what to do instead.
fn closed(ui: &mut Ui, step: &StepView) {
    ui.add(Label::new(RichText::new(&step.headline).text_style(theme::headline_for(&step.headline))).wrap());
    soft(
        ui,
        "This cannot be done on the telephone: the instrument has to be opened. Leave it out with \u{201c}Can't\u{201d}, \
         or ask for the instrument to be brought in.",
    );
}

fn offered(ui: &mut Ui, answers: &[String], out: &mut Vec<Action>) {
    for (index, answer) in answers.iter().enumerate() {
        let number = RichText::new(format!("{}", index + 1)).color(tokens(ui).soft);
        let text = RichText::new(answer).text_style(theme::lead());
        let button = Button::new(text).shortcut_text(number).wrap();
        let response = ui.add(button.min_size(vec2(ui.available_width(), TARGET)));
        if response.accessible_name(answer.as_str()).clicked() {
            out.push(Action::Do(Command::Answer { answer: index }));
        }
    }
    ui.horizontal_wrapped(|ui| refusals(ui, out));
}

/// Shows the two buttons that leave a step out.
fn refusals(ui: &mut Ui, out: &mut Vec<Action>) {
    for (name, reason) in [("Don't know", UNKNOWN), ("Can't", UNABLE)] {
        if target(ui, name, name) {
            out.push(Action::Do(Command::Skip { reason: reason.to_owned() }));
        }
    }
    if target(ui, "Can't, because…", "Can't, because…") {
        out.push(Action::Show(Overlay::Cannot));
    }
}

/// Shows the answers to a reading: words of the meter, a number pad, and why there is none.
pub fn answers(ui: &mut Ui, measurement: &Measurement, desk: &mut Desk, out: &mut Vec<Action>) {
    let height = ui.ctx().content_rect().height();
    let roomy = height >= BOTH || (height >= ROOM && desk.number_keys);
    ui.horizontal_wrapped(|ui| {
        for (name, text) in whole(measurement.mode) {
            if target(ui, name, name) {
                out.push(at_once(measurement, desk, text));
            }
        }
        if measurement.flex.is_some() && target(ui, "It changes when moved", "It changes when moved") {
            out.push(Action::Press(" to "));
        }
        if !roomy {
            letters(ui, measurement.mode, out);
        }
        if (ROOM..BOTH).contains(&height) && numbers(measurement.mode) {
            fold(ui, desk);
        }
        refusals(ui, out);
    });
    if roomy && numbers(measurement.mode) {
        pad(ui, measurement.mode, out);
    }
    if measurement.flex.is_some() {
        small(ui, "Lowest number first, then \u{201c}It changes when moved\u{201d}, then the highest");
    }
}

/// Shows the button that unfolds the number pad where the script needs the room, or folds it away again.
fn fold(ui: &mut Ui, desk: &mut Desk) {
    let text = RichText::new("Number keys").text_style(theme::lead());
    let button = Button::new(text).selected(desk.number_keys).min_size(vec2(TARGET, TARGET));
    if ui.add(button).clicked() {
        desk.number_keys = !desk.number_keys;
        ui.ctx().request_repaint();
    }
}

/// Returns the answers that are no number: what the button says, and what is recorded.
fn whole(mode: Mode) -> Vec<(&'static str, &'static str)> {
    match mode {
        Mode::Observe(_) => vec![("Yes", "yes"), ("No", "no"), ("Can't tell", "can't tell")],
        Mode::Continuity => vec![("It beeps", "beep"), ("No beep", "no beep")],
        Mode::Volts | Mode::Current => Vec::new(),
        _ => vec![("Over range", "OL")],
    }
}

fn numbers(mode: Mode) -> bool {
    !matches!(mode, Mode::Observe(_) | Mode::Continuity)
}

/// Returns what a whole answer does: it is recorded at once, or is the end of a span that is being typed.
fn at_once(measurement: &Measurement, desk: &Desk, text: &'static str) -> Action {
    let alone = desk.entry.trim().is_empty() && measurement.flex.is_none();
    match text {
        _ if alone => Action::RecordAs(text.to_owned()),
        "OL" if keys::over_range_throughout(measurement, desk) => Action::Press(keys::THROUGHOUT),
        text => Action::Press(text),
    }
}

/// Returns the letters behind a number on a dial.
const fn units(mode: Mode) -> [(&'static str, &'static str); 2] {
    match mode {
        Mode::Capacitance => [("n", "n"), ("p", "p")],
        Mode::Volts => [("V", " V"), ("mV", " mV")],
        Mode::Current => [("mA", " mA"), ("µA", " uA")],
        _ => [("k", "k"), ("M", "M")],
    }
}

fn letters(ui: &mut Ui, mode: Mode, out: &mut Vec<Action>) {
    for (name, text) in units(mode).into_iter().filter(|_| numbers(mode)) {
        if target(ui, name, &format!("Type {name}")) {
            out.push(Action::Press(text));
        }
    }
}

fn pad(ui: &mut Ui, mode: Mode, out: &mut Vec<Action>) {
    let [first, second] = units(mode);
    let third = match mode.dial() {
        Dial::Ohms => ("ohms", "r"),
        Dial::Farads => ("µ", "u"),
        Dial::Volts | Dial::Amps => ("-", "-"),
    };
    let rows = [
        vec![("7", "7"), ("8", "8"), ("9", "9"), first, second, third],
        vec![("4", "4"), ("5", "5"), ("6", "6"), ("0", "0"), (".", "."), ("Wipe", WIPE)],
        vec![("1", "1"), ("2", "2"), ("3", "3"), ("Record", RECORD)],
    ];
    for row in rows {
        ui.horizontal(|ui| {
            ui.spacing_mut().button_padding.x = 2.0;
            let gap = ui.spacing().item_spacing.x;
            let one = (ui.available_width() - 5.0 * gap) / 6.0;
            for (name, text) in row {
                let width = if text == RECORD { 3.0 * one + 2.0 * gap } else { one };
                if key(ui, name, text, width) {
                    out.push(pressed(text));
                }
            }
        });
    }
}

const WIPE: &str = "wipe";
const RECORD: &str = "record";

fn pressed(text: &'static str) -> Action {
    match text {
        WIPE => Action::Wipe,
        RECORD => Action::Record,
        text => Action::Press(text),
    }
}

fn key(ui: &mut Ui, name: &str, text: &str, width: f32) -> bool {
    let told = match text {
        WIPE => "Wipe the last letter".to_owned(),
        RECORD => "Record what is typed".to_owned(),
        _ => format!("Type {name}"),
    };
    let button = Button::new(RichText::new(name).text_style(theme::lead())).min_size(vec2(width, TARGET));
    ui.add(button).accessible_name(told).clicked()
}

fn target(ui: &mut Ui, text: &str, name: &str) -> bool {
    let button = Button::new(RichText::new(text).text_style(theme::lead())).min_size(vec2(TARGET, TARGET));
    ui.add(button).accessible_name(name).clicked()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::{Check, Setting, parse_entry};

    /// Whatever the buttons write must be read back as an answer to their own mode.
    #[test]
    fn every_button_writes_what_its_mode_understands() {
        let modes = [
            Mode::Resistance,
            Mode::Continuity,
            Mode::Capacitance,
            Mode::Volts,
            Mode::Current,
            Mode::Sweep,
            Mode::Observe(Check::Sound),
        ];
        for mode in modes {
            for (name, text) in whole(mode) {
                assert!(parse_entry(text, mode, false).is_ok(), "{name} in {mode:?}");
            }
            for (name, text) in units(mode).into_iter().filter(|_| numbers(mode)) {
                assert!(parse_entry(&format!("7.6{text}"), mode, false).is_ok(), "{name} in {mode:?}");
            }
        }
        assert!(parse_entry("7.4k to OL", Mode::Resistance, true).is_ok());
    }

    #[test]
    fn one_end_of_a_span_is_not_recorded_by_itself() {
        let still = Measurement::ohms("plug.tip", "plug.sleeve", Setting::default());
        let moved = Measurement { flex: Some("plug".to_owned()), ..still.clone() };
        let mut desk = Desk::default();
        assert_eq!(at_once(&still, &desk, "OL"), Action::RecordAs("OL".to_owned()));
        assert_eq!(at_once(&moved, &desk, "OL"), Action::Press("OL-OL"), "over range throughout");
        desk.entry = "7.4k to ".to_owned();
        assert_eq!(at_once(&moved, &desk, "OL"), Action::Press("OL"));
    }
}
