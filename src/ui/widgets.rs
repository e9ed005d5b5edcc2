//! Small pieces that every panel is made of.

use egui::{
    Align, Align2, Button, Color32, Frame, Label, Layout, Margin, Pos2, Rect, Response, RichText, Sense,
    Stroke, TextEdit, TextStyle, Ui, Vec2, vec2,
};

use super::action::{Desk, Spot};
use super::theme::{self, tokens};
use crate::job::Speaker;

/// Shows contents on a card.
pub fn card<R>(ui: &mut Ui, contents: impl FnOnce(&mut Ui) -> R) -> R {
    let tokens = tokens(ui);
    framed(ui, tokens.card, Stroke::new(1.0, tokens.line), contents)
}

/// Shows contents in a frame as wide as there is room.
pub fn framed<R>(ui: &mut Ui, fill: Color32, edge: Stroke, contents: impl FnOnce(&mut Ui) -> R) -> R {
    Frame::new()
        .fill(fill)
        .stroke(edge)
        .corner_radius(8.0)
        .inner_margin(Margin::symmetric(12, 8))
        .show(ui, |ui| {
            ui.take_available_width();
            contents(ui)
        })
        .inner
}

/// Shows the small heading of a section.
pub fn section(ui: &mut Ui, title: &str) -> Response {
    ui.label(RichText::new(title).text_style(TextStyle::Heading).color(tokens(ui).ink))
}

/// Shows text of less weight.
pub fn soft(ui: &mut Ui, text: impl Into<String>) -> Response {
    ui.label(RichText::new(text).color(tokens(ui).soft))
}

/// Shows small text of less weight.
pub fn small(ui: &mut Ui, text: impl Into<String>) -> Response {
    ui.label(RichText::new(text).small().color(tokens(ui).soft))
}

/// Shows a word of less weight and what it stands for beside it.
pub fn fact(ui: &mut Ui, word: &str, text: &str) {
    ui.horizontal_top(|ui| {
        let width = 96.0;
        ui.allocate_ui_with_layout(vec2(width, 18.0), Layout::left_to_right(Align::Min), |ui| {
            ui.set_min_width(width);
            soft(ui, word);
        });
        ui.add(Label::new(text).wrap());
    });
}

/// Shows why something was refused.
pub fn problem(ui: &mut Ui, text: &str) -> Response {
    let tokens = tokens(ui);
    ui.horizontal_top(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(16.0, 18.0), Sense::hover());
        mark(ui, rect.center(), "!", tokens.bad, tokens.card);
        ui.add(Label::new(RichText::new(text).color(tokens.bad)).wrap())
    })
    .inner
}

/// Shows the words of a question, where the keyboard waits for an answer: Enter does nothing there.
pub fn waiting(ui: &mut Ui, label: Label, desk: &mut Desk) -> Response {
    let response = ui.add(label.sense(Sense::focusable_noninteractive()));
    if desk.overlay.is_none() && desk.takes_focus(Spot::Home) {
        response.request_focus();
    }
    response
}

/// Shows that something is in order.
pub fn good(ui: &mut Ui, text: &str) -> Response {
    ui.add(Label::new(RichText::new(text).color(tokens(ui).good)).wrap())
}

/// Paints a pointer to what must not be overlooked.
pub fn pointer(ui: &mut Ui) {
    let (rect, _) = ui.allocate_exact_size(vec2(12.0, 20.0), Sense::hover());
    let tip = rect.center() + vec2(5.0, 0.0);
    let points = vec![tip, tip + vec2(-10.0, -7.0), tip + vec2(-10.0, 7.0)];
    ui.painter().add(egui::Shape::convex_polygon(points, tokens(ui).accent, Stroke::NONE));
}

fn mark(ui: &Ui, centre: Pos2, letter: &str, fill: Color32, text: Color32) {
    ui.painter().circle_filled(centre, 7.5, fill);
    let font = TextStyle::Small.resolve(ui.style());
    ui.painter().text(centre, Align2::CENTER_CENTER, letter, font, text);
}

/// Shows a button with the key that does the same.
pub fn key_button(ui: &mut Ui, text: &str, key: &str, enabled: bool) -> Response {
    let soft = tokens(ui).soft;
    let button = match key {
        "" => Button::new(text),
        key => Button::new(text).shortcut_text(RichText::new(key).small().color(soft)),
    };
    ui.add_enabled(enabled, button).accessible_name(text)
}

/// Shows the button that goes on with the work.
pub fn main_button(ui: &mut Ui, text: &str, enabled: bool) -> Response {
    let tokens = tokens(ui);
    if !enabled {
        return ui.add_enabled(false, Button::new(text).min_size(vec2(0.0, 34.0)));
    }
    ui.scope(|ui| {
        let widgets = &mut ui.visuals_mut().widgets;
        for state in [&mut widgets.inactive, &mut widgets.hovered, &mut widgets.active] {
            state.fg_stroke.color = tokens.on_accent;
            state.weak_bg_fill = tokens.accent;
        }
        widgets.hovered.bg_stroke = Stroke::new(1.0, tokens.ink);
        widgets.active.bg_stroke = Stroke::new(3.0, tokens.ink);
        ui.add(Button::new(text).min_size(vec2(0.0, 34.0)))
    })
    .inner
}

/// A field that text is typed into, with its label above and what is wrong with it below.
#[derive(Clone, Copy, Debug)]
pub struct Field<'a> {
    /// What the field is called.
    pub label: &'a str,
    /// An example, shown while the field is empty.
    pub hint: &'a str,
    /// How many rows it has.
    pub rows: usize,
    /// What is wrong with it.
    pub problem: Option<&'a str>,
}

impl Field<'_> {
    /// Shows the field.
    pub fn show(&self, ui: &mut Ui, text: &mut String) -> Response {
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = 3.0;
            // A click on the label is meant for its field; Tab does not stop there.
            let label = ui.add(Label::new(self.label).sense(Sense::CLICK));
            let edit = match self.rows {
                1 => TextEdit::singleline(text),
                rows => TextEdit::multiline(text).desired_rows(rows).return_key(None),
            };
            let edit = edit.hint_text(self.hint).desired_width(f32::INFINITY).margin(Margin::symmetric(8, 6));
            let response = ui.add(edit).labelled_by(label.id);
            if label.clicked() {
                response.request_focus();
            }
            if let Some(text) = self.problem {
                problem(ui, text);
            }
            response
        })
        .inner
    }
}

/// Shows a share from 0 to 1 as a bar.
pub fn bar(ui: &mut Ui, share: f64, size: Vec2) -> Response {
    let tokens = tokens(ui);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    ui.painter().rect_filled(rect, 3.0, tokens.well);
    let width = rect.width() * narrow(share.clamp(0.0, 1.0));
    let filled = Rect::from_min_size(rect.min, vec2(width, rect.height()));
    ui.painter().rect_filled(filled, 3.0, tokens.bar);
    ui.painter().rect_stroke(rect, 3.0, Stroke::new(1.0, tokens.line), egui::StrokeKind::Inside);
    response
}

/// Returns a screen coordinate; what is drawn needs no more digits than this.
#[expect(clippy::cast_possible_truncation, reason = "a screen coordinate needs no more digits")]
pub fn narrow(value: f64) -> f32 {
    value as f32
}

/// Paints the mark of who is speaking: branches, a star of four, or a person.
pub fn speaker_mark(ui: &mut Ui, speaker: Speaker) {
    let tokens = tokens(ui);
    let (rect, _) = ui.allocate_exact_size(vec2(22.0, 22.0), Sense::hover());
    let stroke = Stroke::new(2.0, tokens.accent);
    let at = |x: f32, y: f32| rect.min + vec2(x, y);
    let painter = ui.painter();
    match speaker {
        Speaker::Tree => {
            for end in [at(4.0, 18.0), at(18.0, 18.0)] {
                painter.line_segment([at(11.0, 5.0), end], stroke);
                painter.circle_filled(end, 3.0, tokens.accent);
            }
            painter.circle_filled(at(11.0, 5.0), 3.5, tokens.accent);
        }
        Speaker::Advisor => {
            let points = vec![at(11.0, 1.0), at(20.0, 11.0), at(11.0, 21.0), at(2.0, 11.0)];
            painter.add(egui::Shape::closed_line(points, stroke));
            painter.circle_filled(at(11.0, 11.0), 3.0, tokens.accent);
        }
        Speaker::Technician => {
            painter.circle_filled(at(11.0, 6.0), 4.5, tokens.accent);
            let body = Rect::from_min_max(at(3.0, 12.0), at(19.0, 21.0));
            painter.rect_filled(body, 5.0, tokens.accent);
        }
    }
}

/// Which of the two probes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Probe {
    /// The red one: a disc with a plus.
    Red,
    /// The black one: a square with a minus.
    Black,
}

/// Shows which terminal a probe is put on.
pub fn probe(ui: &mut Ui, probe: Probe, terminal: &str) {
    ui.horizontal_top(|ui| {
        probe_mark(ui, probe, 24.0);
        let name = if probe == Probe::Red { "Red probe" } else { "Black probe" };
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = 0.0;
            small(ui, name);
            ui.add(Label::new(RichText::new(terminal).text_style(theme::lead())).wrap());
        });
    });
}

/// Paints the mark of a probe: a red disc with a plus, or a black square with a minus.
pub fn probe_mark(ui: &mut Ui, probe: Probe, side: f32) {
    let tokens = tokens(ui);
    let (rect, _) = ui.allocate_exact_size(vec2(side, side), Sense::hover());
    let (edge, painter, middle) = (Stroke::new(1.5, tokens.edge), ui.painter(), rect.center());
    match probe {
        Probe::Red => {
            painter.circle(middle, side / 2.0 - 1.0, tokens.red_probe, edge);
        }
        Probe::Black => {
            painter.rect(rect.shrink(1.0), 3.0, tokens.black_probe, edge, egui::StrokeKind::Inside);
        }
    }
    let (bar, half) = (Stroke::new(side / 9.6, tokens.on_probe), side * 0.23);
    painter.hline(middle.x - half..=middle.x + half, middle.y, bar);
    if probe == Probe::Red {
        painter.vline(middle.x, middle.y - half..=middle.y + half, bar);
    }
}
