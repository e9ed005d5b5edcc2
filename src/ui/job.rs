//! The job screen: one screen when there is room, parts to choose from when there is not.

use egui::{
    Align, CentralPanel, ComboBox, Frame, Key, Label, Layout, Margin, Panel, RichText, ScrollArea, Ui,
};

use super::action::{Action, Desk, Overlay, Pane, Spot};
use super::hands_free::Switch;
use super::paper_desk::PaperAction;
use super::theme::{self, next_theme, tokens};
use super::trees::TreesAction;
use super::widgets::{key_button, section, small, soft};
use super::{entry, far, hands_free, picture_view, readings, step, suspects, telephone, tree_news, words};
use crate::draw::Picture;
use crate::readings::Access;
use crate::workbench::{Command, Stage, View};

/// The width from which everything fits side by side, in points.
const WIDE: f32 = 900.0;

/// Shows the job screen.
pub fn show(ui: &mut Ui, view: &View, image: Option<&Picture>, desk: &mut Desk, out: &mut Vec<Action>) {
    if desk.hands.on {
        return without_hands(ui, view, desk, out);
    }
    let fill = tokens(ui).paper;
    let head_frame = Frame::new().fill(tokens(ui).card).inner_margin(Margin::symmetric(16, 8));
    Panel::top("head").frame(head_frame).show(ui, |ui| head(ui, view, desk, out));
    tree_news::show(ui, view, desk, out);
    let room = ui.available_size();
    if room.x >= WIDE && room.y >= 380.0 {
        wide(ui, view, image, desk, out);
    } else {
        let frame = Frame::new().fill(fill).inner_margin(Margin::symmetric(12, 6));
        Panel::top("panes").frame(frame).show(ui, |ui| panes(ui, desk, out));
        CentralPanel::default().frame(frame).show(ui, |ui| match desk.pane {
            Pane::Step => left(ui, view, desk, out),
            Pane::Picture => picture_view::show(ui, view, image, desk, out),
            Pane::Suspects => suspect_list(ui, view, desk, out),
            Pane::Readings => reading_list(ui, view, desk, out),
        });
    }
}

/// Shows the step alone, as wide as the window.
fn without_hands(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    let head = Frame::new().fill(tokens(ui).card).inner_margin(Margin::symmetric(16, 8));
    Panel::top("hands").frame(head).show(ui, |ui| hands_free::bar(ui, view, desk, out));
    let frame = Frame::new().fill(tokens(ui).paper).inner_margin(Margin::symmetric(16, 8));
    CentralPanel::default().frame(frame).show(ui, |ui| left(ui, view, desk, out));
}

fn wide(ui: &mut Ui, view: &View, image: Option<&Picture>, desk: &mut Desk, out: &mut Vec<Action>) {
    let room = ui.available_size();
    let frame =
        Frame::new().fill(tokens(ui).paper).inner_margin(Margin { left: 16, right: 8, top: 10, bottom: 10 });
    let large = far::wanted(view, desk).is_some();
    let left_size = if large { room.x / 2.0 } else { (room.x * 0.385).clamp(380.0, 680.0) };
    Panel::left("left")
        .resizable(false)
        .exact_size(left_size)
        .frame(frame)
        .show(ui, |ui| left(ui, view, desk, out));
    let upper = room.y * 0.52;
    Panel::top("picture")
        .resizable(false)
        .exact_size(upper)
        .frame(frame)
        .show(ui, |ui| picture_view::show(ui, view, image, desk, out));
    let half = (room.x - left_size) / 2.0;
    Panel::left("suspects").resizable(false).exact_size(half).frame(frame).show(ui, |ui| {
        suspect_list(ui, view, desk, out);
    });
    CentralPanel::default().frame(frame).show(ui, |ui| reading_list(ui, view, desk, out));
}

fn suspect_list(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    section(ui, "Suspects");
    scrolled(ui, "suspect list", keyed(desk, Spot::Suspects), false, |ui| {
        suspects::show(ui, view, desk, out);
    });
}

fn reading_list(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    ui.horizontal(|ui| {
        ui.set_row_height(20.0);
        section(ui, "Readings");
        small(ui, format!("hands-on so far: {}", words::minutes(view.minutes)));
    });
    scrolled(ui, "reading list", keyed(desk, Spot::Readings), false, |ui| {
        readings::show(ui, view, desk, out);
    });
}

/// Shows contents that may be taller than their room, from their top when that is wanted; the page keys scroll them when
/// the keyboard is there.
fn scrolled(ui: &mut Ui, name: &str, keyed: bool, top: bool, contents: impl FnOnce(&mut Ui)) {
    let area = ScrollArea::vertical().id_salt(name).auto_shrink([false, false]);
    let area = if top { area.vertical_scroll_offset(0.0) } else { area };
    area.show(ui, |ui| {
        if keyed {
            let pages = ui.input(|input| {
                let pressed = |key| if input.key_pressed(key) { 1.0 } else { 0.0 };
                pressed(Key::PageUp) - pressed(Key::PageDown)
            });
            ui.scroll_with_delta(egui::vec2(0.0, pages * 0.8 * ui.clip_rect().height()));
        }
        ui.set_max_width(ui.available_width() - 4.0);
        contents(ui);
    });
}

/// Returns whether the keyboard is in this part of the screen.
fn keyed(desk: &Desk, spot: Spot) -> bool {
    desk.overlay.is_none() && desk.spot == spot
}

fn left(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    if entry::shown(view, desk) {
        let frame = Frame::new().inner_margin(Margin { top: 8, ..Margin::ZERO });
        Panel::bottom("entry").frame(frame).show(ui, |ui| entry::show(ui, view, desk, out));
    }
    CentralPanel::default().frame(Frame::new()).show(ui, |ui| {
        let room = ui.available_size();
        let top = std::mem::take(&mut desk.top);
        scrolled(ui, "step", keyed(desk, Spot::Home), top, |ui| match far::wanted(view, desk) {
            Some(shown) => far::show(ui, view, shown, room, desk, out),
            None => step::show(ui, view, desk, out),
        });
    });
}

fn panes(ui: &mut Ui, desk: &Desk, out: &mut Vec<Action>) {
    let all = [
        (Pane::Step, "Step"),
        (Pane::Picture, "Picture"),
        (Pane::Suspects, "Suspect list"),
        (Pane::Readings, "Reading list"),
    ];
    ui.horizontal_wrapped(|ui| {
        for (pane, name) in all {
            if ui.selectable_label(desk.pane == pane, name).clicked() {
                out.push(Action::Pane(pane));
            }
        }
    });
}

/// Returns whether there is so little room that the head must fit in one line.
fn cramped(ui: &Ui) -> bool {
    let screen = ui.ctx().content_rect();
    screen.height() < 480.0 || screen.width() < 760.0
}

fn head(ui: &mut Ui, view: &View, desk: &Desk, out: &mut Vec<Action>) {
    let cramped = cramped(ui);
    ui.horizontal(|ui| {
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if cramped {
                ui.menu_button("Menu", |ui| {
                    tools(ui, view, desk, out);
                    access(ui, view, out);
                    ways(ui, view, desk, out);
                });
            } else {
                tools(ui, view, desk, out);
            }
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                if cramped {
                    let stage = words::STAGES.iter().find(|(stage, _)| *stage == view.stage);
                    soft(ui, stage.map_or("", |(_, name)| *name));
                }
                let name = RichText::new(words::shortened(&view.instrument, NAMED))
                    .text_style(egui::TextStyle::Heading);
                ui.add(Label::new(name).truncate()).on_hover_text(&view.wiring_title);
            });
        });
    });
    if !cramped {
        ui.horizontal(|ui| {
            stages(ui, view.stage);
            ui.add_space(6.0);
            access(ui, view, out);
            ways(ui, view, desk, out);
            ui.add_space(6.0);
            story(ui, view);
        });
    }
}

/// From this width on, in points, the tools show their keys and still leave room for the instrument's name.
const ROOMY: f32 = 1500.0;

/// So many letters of an instrument's name and of a complaint are shown.
const NAMED: usize = 200;
const TOLD: usize = 1_000;

fn story(ui: &mut Ui, view: &View) {
    let story = format!("“{}”", words::shortened(&view.complaint, TOLD));
    let parts = [story.as_str(), view.understood.as_str(), view.wiring_title.as_str()];
    let hint = parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(". ");
    ui.add(Label::new(RichText::new(story).color(tokens(ui).soft)).truncate()).on_hover_text(hint);
}

fn tools(ui: &mut Ui, view: &View, desk: &Desk, out: &mut Vec<Action>) {
    let theme = next_theme(ui.ctx().options(|options| options.theme_preference));
    let tools = [
        ("Keys", "F1", true, Action::Show(Overlay::Help)),
        ("Light or dark", "F10", true, Action::Theme(theme)),
        ("Trees", "F12", true, Action::Trees(TreesAction::Open)),
        ("Leave", "Ctrl+N", true, Action::Leave),
        ("Save the ticket…", "Ctrl+E", true, Action::Ticket),
        ("Estimate and bill", "Ctrl+B", true, Action::Paper(PaperAction::Open)),
        ("Redo", "Ctrl+Y", view.can_redo, Action::Do(Command::Redo)),
        ("Undo", "Ctrl+Z", view.can_undo, Action::Do(Command::Undo)),
    ];
    let roomy = ui.ctx().content_rect().width() > ROOMY;
    for (name, key, enabled, action) in tools {
        let shown = if roomy { key } else { "" };
        if key_button(ui, name, shown, enabled && desk.overlay.is_none()).on_hover_text(key).clicked() {
            out.push(action);
        }
    }
}

/// Shows the switches to other ways of working.
fn ways(ui: &mut Ui, view: &View, desk: &Desk, out: &mut Vec<Action>) {
    let here = desk.overlay.is_none();
    let call = if view.access == Access::Telephone { "Off the telephone" } else { "Telephone" };
    let calling = here && view.stage == Stage::Finding;
    if key_button(ui, call, "", calling).on_hover_text("Ctrl+T").clicked() {
        out.push(telephone::switched(view, desk));
    }
    if key_button(ui, "Hands-free", "", here).on_hover_text("Ctrl+H").clicked() {
        out.push(Action::Hands(Switch::HandsFree));
    }
}

fn stages(ui: &mut Ui, now: Stage) {
    let tokens = tokens(ui);
    for (index, (stage, name)) in words::STAGES.into_iter().enumerate() {
        if index > 0 {
            soft(ui, "›");
        }
        if stage == now {
            let text = RichText::new(format!(" {}. {name} ", index + 1)).color(tokens.on_accent);
            ui.label(text.background_color(tokens.accent).text_style(theme::lead()));
        } else {
            soft(ui, format!("{}. {name}", index + 1));
        }
    }
}

fn access(ui: &mut Ui, view: &View, out: &mut Vec<Action>) {
    let combo = ComboBox::from_id_salt("access").selected_text(words::access(view.access)).width(170.0);
    let inner = combo.show_ui(ui, |ui| {
        for access in words::ACCESSES {
            let chosen = ui.selectable_label(view.access == access, words::access(access));
            if chosen.clicked() && view.access != access {
                out.push(Action::Do(Command::SetAccess(access)));
            }
        }
    });
    let _ = inner.response.accessible_name("How far you may go").on_hover_text("How far you may go");
}
