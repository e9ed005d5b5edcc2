//! The practice bench: the program hides a fault and becomes the meter.

use egui::{
    Align, CentralPanel, ComboBox, Frame, Grid, Key, Label, Margin, Panel, Rect, RichText, ScrollArea,
    TextEdit, Ui, Vec2, vec2,
};

use super::action::{Action, Desk, Framing, Look, Spot};
use super::bench::Bench;
use super::practice_desk::{Bout, PracticeAction, PracticeDesk};
use super::practice_hold::Hold;
use super::theme::{self, tokens};
use super::widgets::{
    Field, card, fact, framed, good, key_button, main_button, problem, section, small, soft,
};
use super::{picture, picture_view, practice_hands, practice_naming, practice_review, words};
use crate::circuit::Harness;
use crate::practice::{Difficulty, Practice, Progress};

/// The width from which the meter and the picture stand side by side, in points.
const WIDE: f32 = 860.0;
/// The size of the meter's digits, in points.
const DIGITS: f32 = 44.0;

/// Shows the practice bench.
pub fn show(ui: &mut Ui, bench: &dyn Bench, desk: &mut Desk, out: &mut Vec<Action>) {
    let Some(mut own) = desk.practice.take() else { return };
    let frame = Frame::new().fill(tokens(ui).paper).inner_margin(Margin::symmetric(16, 10));
    Panel::top("practice head").frame(frame).show(ui, |ui| head(ui, &own, out));
    match own.bout.take() {
        None => {
            CentralPanel::default().frame(frame).show(ui, |ui| {
                ScrollArea::vertical().show(ui, |ui| setup(ui, bench, &mut own, desk, out));
            });
        }
        Some(mut bout) => {
            let over = bout.game.borrow().verdict().is_some();
            if over {
                CentralPanel::default().frame(frame).show(ui, |ui| {
                    practice_review::show(ui, &bout, &own.progress, desk, out);
                });
            } else {
                play(ui, &mut bout, desk, frame, out);
            }
            own.bout = Some(bout);
        }
    }
    desk.practice = Some(own);
}

fn head(ui: &mut Ui, own: &PracticeDesk, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new("Practise").text_style(theme::lead()));
        if let Some(bout) = &own.bout {
            let game = bout.game.borrow();
            soft(ui, format!("{}: {}", game.level().title(), game.harness().title));
        }
        if key_button(ui, "Back to the first screen", "Ctrl+N", true).clicked() {
            out.push(Action::Practice(PracticeAction::Close));
        }
        if (own.bout.is_some() || own.is_making()) && ui.button("Another instrument").clicked() {
            out.push(Action::Practice(PracticeAction::Again));
        }
    });
}

fn setup(ui: &mut Ui, bench: &dyn Bench, own: &mut PracticeDesk, desk: &mut Desk, out: &mut Vec<Action>) {
    soft(
        ui,
        "A fault is hidden in a wiring. You put the probes on and read the meter; nothing is real but the way.",
    );
    if let Some(text) = &desk.problem {
        problem(ui, text);
    }
    if own.is_making() {
        soft(ui, "The instrument is being wired up…");
        return;
    }
    section(ui, "How difficult");
    for level in Difficulty::ALL {
        if ui.radio(own.level() == level, format!("{}: {}", level.title(), level.about())).clicked() {
            own.level = Some(level);
        }
    }
    section(ui, "Wiring and meter");
    wiring(ui, bench, own);
    meter(ui, bench, own);
    let number = Field {
        label: "Number of the instrument",
        hint: "may stay empty; the same number hides the same fault",
        rows: 1,
        problem: None,
    };
    number.show(ui, &mut own.seed);
    let button = main_button(ui, "Hide a fault", true);
    if desk.overlay.is_none() && desk.takes_focus(Spot::Home) {
        button.request_focus();
    }
    if button.clicked() {
        out.push(Action::Practice(PracticeAction::Begin));
    }
    progress(ui, &own.progress);
}

fn wiring(ui: &mut Ui, bench: &dyn Bench, own: &mut PracticeDesk) {
    const ANY: &str = "one that suits the level";
    let known = bench.wirings().iter().find(|choice| choice.name == own.wiring);
    let shown = known.map_or(ANY, |choice| choice.title.as_str());
    pick(ui, "Wiring", shown, |ui| {
        ui.selectable_value(&mut own.wiring, String::new(), ANY);
        for choice in bench.wirings() {
            ui.selectable_value(&mut own.wiring, choice.name.clone(), choice.title.as_str());
        }
    });
}

fn meter(ui: &mut Ui, bench: &dyn Bench, own: &mut PracticeDesk) {
    let known = bench.meters().iter().find(|meter| meter.name == own.meter);
    let shown = known.map_or("the ordinary one", |meter| meter.title.as_str());
    pick(ui, "Meter", shown, |ui| {
        for meter in bench.meters() {
            ui.selectable_value(&mut own.meter, meter.name.clone(), meter.title.as_str());
        }
    });
}

/// Shows a word and what is chosen for it beside it.
pub(super) fn pick(ui: &mut Ui, name: &str, shown: &str, contents: impl FnOnce(&mut Ui)) {
    ui.horizontal_wrapped(|ui| {
        let label = ui.add_sized(vec2(96.0, 20.0), Label::new(RichText::new(name).color(tokens(ui).soft)));
        let room = (ui.available_width() - 12.0).clamp(140.0, 420.0);
        let combo = ComboBox::from_id_salt(("practice", name)).selected_text(shown).width(room).truncate();
        let inner = combo.show_ui(ui, contents);
        let _ = inner.response.labelled_by(label.id).on_hover_text(shown);
    });
}

/// Shows what was played so far.
pub(super) fn progress(ui: &mut Ui, progress: &Progress) {
    section(ui, "So far");
    if progress.levels.is_empty() {
        soft(ui, "Nothing has been played yet.");
        return;
    }
    small(ui, "A bit is what halves what may be wrong: 3 bits leave one of 8.");
    Grid::new("practice progress").striped(true).spacing(vec2(18.0, 4.0)).show(ui, |ui| {
        for word in ["Level", "Played", "Found", "Minutes", "Bits a minute", "Found of the last"] {
            soft(ui, word);
        }
        ui.end_row();
        for tally in &progress.levels {
            let (found, last) = tally.lately();
            ui.label(tally.level.title());
            ui.label(tally.played.to_string());
            ui.label(tally.found.to_string());
            ui.label(format!("{:.0}", tally.minutes));
            ui.label(format!("{:.2}", tally.per_minute()));
            ui.label(format!("{found} of {last}"));
            ui.end_row();
        }
    });
}

fn play(ui: &mut Ui, bout: &mut Bout, desk: &mut Desk, frame: Frame, out: &mut Vec<Action>) {
    let game = std::rc::Rc::clone(&bout.game);
    let game = game.borrow();
    if ui.available_width() < WIDE {
        CentralPanel::default().frame(frame).show(ui, |ui| {
            ScrollArea::vertical().show(ui, |ui| {
                ui.set_max_width(ui.available_width() - 12.0);
                bench(ui, &game, bout, desk, out);
                let area = Rect::from_min_size(ui.cursor().min, vec2(ui.available_width(), 300.0));
                drawing(ui, bout, desk, area, out);
                beside(ui, &game, bout, desk, out);
            });
        });
        return;
    }
    let wide = ui.available_width() * 0.44;
    Panel::left("practice bench").resizable(false).exact_size(wide).frame(frame).show(ui, |ui| {
        ScrollArea::vertical().show(ui, |ui| {
            ui.set_max_width(ui.available_width() - 12.0);
            bench(ui, &game, bout, desk, out);
        });
    });
    CentralPanel::default().frame(frame).show(ui, |ui| {
        let size = vec2(ui.available_width(), ui.available_height() * 0.5);
        let area = Rect::from_min_size(ui.cursor().min, size);
        drawing(ui, bout, desk, area, out);
        ScrollArea::vertical().id_salt("practice beside").show(ui, |ui| {
            ui.set_max_width(ui.available_width() - 12.0);
            beside(ui, &game, bout, desk, out);
        });
    });
}

/// Shows the complaint, the meter and what can be done beside it.
fn bench(ui: &mut Ui, game: &Practice, bout: &mut Bout, desk: &mut Desk, out: &mut Vec<Action>) {
    fact(ui, "Customer", &format!("“{}”", game.complaint()));
    fact(ui, "Hands-on", &words::minutes(game.minutes()));
    display(ui, game, bout);
    note(ui, bout.shows_now(), desk, out);
    put_on(ui, game, bout, out);
    card(ui, |ui| practice_hands::hands(ui, game, &mut bout.hands));
    card(ui, |ui| practice_hands::senses(ui, game, &mut bout.hands, out));
    ui.horizontal_wrapped(|ui| {
        if ui
            .button("Hint")
            .on_hover_text("First what a healthy one reads, then the suspects; it is counted")
            .clicked()
        {
            out.push(Action::Practice(PracticeAction::Hint));
        }
        if key_button(ui, "Name the fault…", "F7", bout.naming.is_none()).clicked() {
            out.push(Action::Practice(PracticeAction::Naming(true)));
        }
        if ui.button("Give up").clicked() {
            out.push(Action::Practice(PracticeAction::GiveUp));
        }
    });
    if !bout.hints.is_empty() {
        let mut last = section(ui, &format!("Hint {}", game.hints()));
        for hint in &bout.hints {
            last = ui.add(Label::new(hint).wrap());
        }
        if std::mem::take(&mut bout.hinted) {
            last.scroll_to_me(Some(Align::Max));
        }
    }
}

/// Shows the button that reads, and why it is to be pressed when it is.
fn put_on(ui: &mut Ui, game: &Practice, bout: &Bout, out: &mut Vec<Action>) {
    let pressed = key_button(ui, "Put the probes on", "Ctrl+Enter", true).clicked();
    if pressed || bout.unread() {
        out.push(Action::Practice(PracticeAction::Measure));
    }
    let placed = game.placed().filter(|_| bout.shows_now());
    if !bout.hands.complete() {
        small(ui, "Click two terminals in the picture, or choose them from the lists: it is read at once.");
    } else if placed.is_some_and(|(measurement, _)| *measurement != bout.hands.measurement()) {
        small(ui, "The dial, a control or something else is set anew: put the probes on again to read so.");
    }
}

fn display(ui: &mut Ui, game: &Practice, bout: &Bout) {
    let edge = egui::Stroke::new(1.5, tokens(ui).edge);
    framed(ui, tokens(ui).well, edge, |ui| {
        let Some((measurement, shown)) = game.placed().filter(|_| bout.shows_now()) else {
            soft(ui, resting(&bout.hands));
            return;
        };
        small(ui, measurement.sentence(game.harness()));
        let now = ui.input(|input| input.time);
        let ms = millis(now - bout.since.unwrap_or(now));
        ui.add(Label::new(RichText::new(shown.at(ms)).size(DIGITS).color(tokens(ui).ink)).wrap());
        if let Some((low, high)) = shown.recorded(ms) {
            let steady = low == high;
            let all = format!("Recorded: lowest {low}, highest {high}");
            soft(ui, if steady { format!("Recorded: {low} all the time") } else { all });
        } else if ms < shown.settled_after() {
            small(ui, "The digits have not settled yet.");
        }
    });
}

/// Says which probes lie on the bench.
fn resting(hands: &Hold) -> &'static str {
    match (hands.red.is_empty(), hands.black.is_empty()) {
        (true, true) => "The meter is on; the probes lie on the bench.",
        (true, false) => "The meter is on; the red probe lies on the bench.",
        (false, true) => "The meter is on; the black probe lies on the bench.",
        (false, false) => "The meter is on; nothing was read here.",
    }
}

/// Returns seconds as whole milliseconds; nothing for a time to come.
fn millis(seconds: f64) -> u64 {
    let since = std::time::Duration::from_secs_f64(seconds.max(0.0));
    u64::try_from(since.as_millis()).unwrap_or(u64::MAX)
}

fn note(ui: &mut Ui, measured: bool, desk: &mut Desk, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        let label = ui.label("I note");
        let width = (ui.available_width() - 96.0).max(120.0);
        let edit = TextEdit::singleline(&mut desk.entry).font(theme::entry()).desired_width(width);
        let response = ui.add(edit.margin(Margin::symmetric(10, 5))).labelled_by(label.id);
        if desk.overlay.is_none() && desk.takes_focus(Spot::Home) {
            response.request_focus();
        }
        if response.changed() {
            desk.problem = None;
            out.push(Action::Typed);
        }
        let entered = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        if key_button(ui, "Note it", "", measured).clicked() || entered {
            out.push(Action::Practice(PracticeAction::Note));
        }
    });
    match (&desk.problem, &desk.echo, &desk.told) {
        (Some(text), _, _) => problem(ui, text),
        (None, Some(Ok(text)), _) => good(ui, &format!("Means {text}")),
        (None, Some(Err(text)), _) => soft(ui, text),
        (None, None, Some(told)) => good(ui, told),
        (None, None, None) => small(ui, "Type what you read: 7.49k, OL, beep, 7.4k to OL"),
    };
}

/// Returns what a person calls a part, a terminal or a conductor.
pub(super) fn title<'a>(harness: &'a Harness, name: &'a str) -> &'a str {
    let part = harness.part(name).map(|id| harness[id].title.as_str());
    let terminal = || harness.terminal(name).map(|id| harness[id].title.as_str());
    let link = || harness.links.iter().find(|link| link.name == name).map(|link| link.title.as_str());
    part.or_else(terminal).or_else(link).unwrap_or(name)
}

fn drawing(ui: &mut Ui, bout: &Bout, desk: &mut Desk, area: Rect, out: &mut Vec<Action>) {
    let Some((_, image)) = &bout.picture else { return };
    views(ui, bout, desk, out);
    let top = ui.cursor().min;
    let size = vec2(area.width(), (area.max.y - top.y).max(120.0));
    let area = Rect::from_min_size(top, size);
    let Some(hit) = picture::clickable(ui, image, &mut desk.look, area) else { return };
    let game = bout.game.borrow();
    let terminal = hit.terminal.map(|id| PracticeAction::Touch(game.harness()[id].name.clone()));
    let link = hit.link.map(|id| PracticeAction::Point(game.harness()[id].name.clone()));
    let part = hit.part.map(|id| PracticeAction::Offer(game.harness()[id].name.clone()));
    out.extend(terminal.or(link).or(part).map(Action::Practice));
}

/// Shows how the picture can be looked at.
fn views(ui: &mut Ui, bout: &Bout, desk: &mut Desk, out: &mut Vec<Action>) {
    ui.horizontal_wrapped(|ui| {
        if ui.button("Whole").accessible_name("Show the whole picture").clicked() {
            desk.look = Look::at(Framing::Whole);
        }
        if ui.button("Probes").accessible_name("Show the part with the probes").clicked() {
            desk.look = Look::at(Framing::Marks);
        }
        for (name, factor) in [("Larger", 1.25), ("Smaller", 0.8)] {
            if ui.button(name).clicked() {
                picture::zoom_about(&mut desk.look, factor, Vec2::ZERO);
            }
        }
        let sight = bout.sight;
        let mut see = |sight| out.push(Action::Practice(PracticeAction::See(sight)));
        if picture_view::side_switch(ui, sight).clicked() {
            see(picture_view::other_side(sight));
        }
        if picture_view::hand_switch(ui, sight).clicked() {
            see(picture_view::other_hand(sight));
        }
    });
}

/// Offers the lugs of the part that was clicked in the picture.
fn offered(ui: &mut Ui, game: &Practice, bout: &Bout, out: &mut Vec<Action>) {
    let harness = game.harness();
    let Some(part) = bout.offered.as_deref().and_then(|name| harness.part(name)) else { return };
    section(ui, &format!("Lugs of the {}", harness[part].title));
    ui.horizontal_wrapped(|ui| {
        for id in harness[part].terminals.iter().filter(|id| harness[**id].probe) {
            if ui.button(harness[*id].title.as_str()).clicked() {
                out.push(Action::Practice(PracticeAction::Touch(harness[*id].name.clone())));
            }
        }
    });
    if !harness[part].terminals.iter().any(|id| harness[*id].probe) {
        soft(ui, "No probe reaches any of them.");
    }
}

/// Shows the choice of faults while one is named, and what was done so far otherwise.
fn beside(ui: &mut Ui, game: &Practice, bout: &mut Bout, desk: &mut Desk, out: &mut Vec<Action>) {
    offered(ui, game, bout, out);
    if bout.naming.is_some() {
        return practice_naming::show(ui, game, bout, desk, out);
    }
    section(ui, "Noted so far");
    if game.steps().is_empty() {
        soft(ui, "Nothing yet. What is noted moves the suspects; what is only looked at does not.");
    }
    for (index, step) in game.steps().iter().enumerate() {
        let line = format!("{}. {}: {} ({})", index + 1, step.what, step.found, words::minutes(step.at));
        ui.add(Label::new(line).wrap());
    }
}
