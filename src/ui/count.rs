//! Counting what can be seen: a few questions with large number buttons that leave the wirings which look like it.

use std::time::Duration;

use egui::{Align2, Button, Context, Pos2, Rect, RichText, Stroke, StrokeKind, TextStyle, Ui, pos2, vec2};

use super::action::{Action, Desk, Spot};
use super::bench::{Bench, WiringChoice};
use super::theme::{self, tokens};
use super::widgets::{self, card, narrow, problem, small, soft};
use crate::circuit::{Answer, Fact, MOST_QUESTIONS, Question, Seen, next_question};
use crate::workbench::Telling;

/// How long to wait before asking again whether something is worked out.
const SOON: Duration = Duration::from_millis(50);

/// What was counted so far.
#[derive(Clone, Debug, Default)]
pub struct Counting {
    /// Whether the questions are shown.
    pub open: bool,
    /// What was answered.
    pub seen: Seen,
    /// The wirings that are being told apart.
    pub telling: Option<Vec<String>>,
    /// What tells those apart that are left, once it was asked for and worked out.
    pub told: Option<Result<Vec<Telling>, String>>,
}

/// One thing asked for while counting.
#[derive(Clone, Debug, PartialEq)]
pub enum Count {
    /// Begin, or begin anew.
    Begin,
    /// Show every wiring again.
    End,
    /// Take this number.
    Take(Fact, u32),
    /// This cannot be said.
    Pass(Fact),
    /// Say what tells these wirings apart.
    TellApart(Vec<String>),
}

/// Carries out one thing asked for.
pub(super) fn carry_out(desk: &mut Desk, asked: Count) {
    let Counting { open, seen, .. } = std::mem::take(&mut desk.counting);
    let counting = Counting { open, ..Counting::default() };
    desk.counting = match asked {
        Count::Begin => Counting { open: true, ..counting },
        Count::End => Counting { open: false, ..counting },
        Count::Take(fact, value) => Counting { seen: seen.with(fact, value), ..counting },
        Count::Pass(fact) => Counting { seen: seen.without(fact), ..counting },
        Count::TellApart(names) => Counting { seen, telling: Some(names), ..counting },
    };
    desk.focus = Some(Spot::Start);
}

/// Asks whether what tells the wirings apart is worked out; it is shown by the next frame.
pub(super) fn watch(ctx: &Context, bench: &mut dyn Bench, desk: &mut Desk) {
    let Some(names) = desk.counting.telling.take() else { return };
    desk.counting.told = bench.tell_apart(&names);
    let waits = desk.counting.told.is_none();
    desk.counting.telling = waits.then_some(names);
    ctx.request_repaint_after(if waits { SOON } else { Duration::ZERO });
}

/// Returns the wirings that look like what was counted.
pub(super) fn left<'a>(bench: &'a dyn Bench, counting: &Counting) -> Vec<&'a WiringChoice> {
    bench.wirings().iter().filter(|choice| counting.seen.fits(&choice.looks)).collect()
}

fn next(bench: &dyn Bench, counting: &Counting) -> Option<Question> {
    let all: Vec<_> = bench.wirings().iter().map(|choice| choice.looks.clone()).collect();
    next_question(&all, &counting.seen)
}

/// Shows the questions, above the wirings that are left.
pub(super) fn show(ui: &mut Ui, bench: &dyn Bench, desk: &mut Desk, out: &mut Vec<Action>) {
    if !desk.counting.open {
        if ui.button("Not sure which? Count what you see").clicked() {
            out.push(Action::Count(Count::Begin));
        }
        return;
    }
    card(ui, |ui| {
        ui.label(RichText::new("Count what you see").text_style(TextStyle::Heading));
        said(ui, &desk.counting.seen);
        match next(bench, &desk.counting) {
            Some(question) => {
                let focus = desk.takes_focus(Spot::Start);
                ask(ui, &desk.counting.seen, &question, focus, out);
            }
            None => end(ui, bench, &desk.counting, out),
        }
        ui.horizontal(|ui| {
            if desk.counting.seen.asked() > 0 && ui.button("Count again").clicked() {
                out.push(Action::Count(Count::Begin));
            }
            if ui.button("Show every wiring").clicked() {
                out.push(Action::Count(Count::End));
            }
        });
    });
}

fn said(ui: &mut Ui, seen: &Seen) {
    let answers: Vec<String> = seen.answers().map(|(fact, value)| fact.says(value)).collect();
    if !answers.is_empty() {
        soft(ui, format!("It has {}.", answers.join(", ")));
    }
}

fn ask(ui: &mut Ui, seen: &Seen, question: &Question, focus: bool, out: &mut Vec<Action>) {
    small(ui, format!("Question {} of at most {MOST_QUESTIONS}", seen.asked() + 1));
    ui.label(RichText::new(question.fact.asks()).text_style(theme::lead()));
    soft(ui, question.fact.counts());
    ui.horizontal_wrapped(|ui| {
        for (index, answer) in question.answers.iter().enumerate() {
            let button = number(ui, question.fact, answer);
            if focus && index == 0 {
                button.request_focus();
            }
            if button.clicked() {
                out.push(Action::Count(Count::Take(question.fact, answer.value)));
            }
        }
        if ui.add(Button::new("Cannot say").min_size(vec2(0.0, BUTTON.y))).clicked() {
            out.push(Action::Count(Count::Pass(question.fact)));
        }
    });
}

const BUTTON: egui::Vec2 = vec2(96.0, 78.0);

/// Shows one large number with what is counted drawn above it.
fn number(ui: &mut Ui, fact: Fact, answer: &Answer) -> egui::Response {
    let response = ui.add(Button::new("").min_size(BUTTON)).accessible_name(fact.says(answer.value));
    let rect = response.rect;
    let ink = tokens(ui).ink;
    let icon = Rect::from_min_max(rect.min + vec2(8.0, 8.0), pos2(rect.max.x - 8.0, rect.min.y + 34.0));
    draw(ui, fact, answer.value, icon);
    let word = match (fact, answer.value) {
        (Fact::Battery, 0) => "no".to_owned(),
        (Fact::Battery, _) => "yes".to_owned(),
        (_, 0) => "none".to_owned(),
        (_, number) => number.to_string(),
    };
    let font = theme::lead().resolve(ui.style());
    ui.painter().text(pos2(rect.center().x, rect.min.y + 46.0), Align2::CENTER_CENTER, word, font, ink);
    let font = TextStyle::Small.resolve(ui.style());
    let leaves = format!("leaves {}", answer.left);
    let foot = pos2(rect.center().x, rect.max.y - 12.0);
    ui.painter().text(foot, Align2::CENTER_CENTER, leaves, font, tokens(ui).soft);
    response
}

/// Draws what is counted, as often as it is there.
fn draw(ui: &Ui, fact: Fact, value: u32, area: Rect) {
    let shown = if fact == Fact::Battery { 1 } else { value.max(1) };
    let faint = value == 0;
    let ink = if faint { tokens(ui).line } else { tokens(ui).accent };
    let pen = Stroke::new(1.5, ink);
    let step = (area.width() / narrow(f64::from(shown))).min(20.0);
    for index in 0..shown {
        let along = (narrow(f64::from(index)) - narrow(f64::from(shown - 1)) / 2.0) * step;
        one(ui, fact, area.center() + vec2(along, 0.0), index == 0, pen);
    }
    if faint {
        ui.painter()
            .line_segment([area.left_top() + vec2(24.0, 0.0), area.right_bottom() - vec2(24.0, 0.0)], pen);
    }
}

fn one(ui: &Ui, fact: Fact, at: Pos2, first: bool, pen: Stroke) {
    let painter = ui.painter();
    let boxed = |size: egui::Vec2| Rect::from_center_size(at, size);
    match fact {
        Fact::Pickups => {
            painter.rect_stroke(boxed(vec2(10.0, 24.0)), 4.0, pen, StrokeKind::Inside);
            for row in [-7.0, -2.5, 2.5, 7.0] {
                painter.circle_filled(at + vec2(0.0, row), 1.3, pen.color);
            }
        }
        Fact::Knobs => {
            painter.circle_stroke(at, 7.5, pen);
            painter.line_segment([at, at + vec2(5.0, -5.0)], pen);
        }
        Fact::Switches => {
            painter.rect_stroke(boxed(vec2(9.0, 14.0)), 2.0, pen, StrokeKind::Inside);
            painter.line_segment([at, at + vec2(5.0, -10.0)], Stroke::new(3.0, pen.color));
        }
        Fact::Positions if first => {
            painter.circle_filled(at, 5.0, pen.color);
        }
        Fact::Positions => {
            painter.circle_stroke(at, 4.0, pen);
        }
        Fact::Battery => {
            painter.rect_stroke(boxed(vec2(30.0, 18.0)), 2.0, pen, StrokeKind::Inside);
            painter.circle_stroke(at + vec2(-6.0, -11.0), 2.5, pen);
            painter.circle_stroke(at + vec2(6.0, -11.0), 2.5, pen);
        }
    }
}

/// Shows what is left when nothing more can be counted.
fn end(ui: &mut Ui, bench: &dyn Bench, counting: &Counting, out: &mut Vec<Action>) {
    let left = left(bench, counting);
    match left.len() {
        0 => problem(ui, "No wiring looks like this. Count again, or copy the nearest one and change it."),
        1 => soft(ui, "One wiring looks like this. Choose it below."),
        many => soft(ui, format!("{many} wirings look like this, and look alike from outside.")),
    };
    if left.len() < 2 {
        return;
    }
    match &counting.told {
        None if counting.telling.is_some() => {
            soft(ui, "Working out how to tell them apart…");
        }
        None => {
            if ui.button("Say how to tell them apart").clicked() {
                let names = left.iter().map(|choice| choice.name.clone()).collect();
                out.push(Action::Count(Count::TellApart(names)));
            }
        }
        Some(Err(text)) => {
            problem(ui, text);
        }
        Some(Ok(told)) => told.iter().for_each(|telling| tell(ui, telling, &left)),
    }
}

fn tell(ui: &mut Ui, telling: &Telling, left: &[&WiringChoice]) {
    let what = format!("To tell them apart, {}:", telling.what);
    ui.add(egui::Label::new(what).wrap());
    for (shows, members) in &telling.shows {
        let codes: Vec<&str> =
            members.iter().filter_map(|index| left.get(*index)).map(|choice| choice.code.as_str()).collect();
        widgets::fact(ui, &codes.join(", "), shows);
    }
}
