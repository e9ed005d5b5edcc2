//! The wiring picture on the job screen: its tools, its keys, and every terminal, wire and part in it with its name.

use egui::{
    Align, Button, CentralPanel, EventFilter, Frame, Id, Key, Label, Layout, Margin, Modifiers, Panel, Popup,
    Pos2, Rect, Response, RichText, Role, Sense, Stroke, StrokeKind, TextStyle, Ui, Vec2, WidgetInfo, pos2,
    vec2,
};

use super::action::{Action, Desk, Framing, Look, Spot};
use super::picture::{self, Lens};
use super::picture_desk::{OwnProbes, Probing};
use super::picture_own;
use super::theme::tokens;
use super::widgets::soft;
use crate::draw::{Hit, Picture, Point, Sight};
use crate::workbench::View;

/// The width from which the own reading stands beside the picture and not below it, in points.
const BESIDE: f32 = 480.0;
/// The least half size of what can be pressed, in points.
const LEAST: f32 = 6.0;

/// Shows the wiring picture, with the reading of one's own beside it while there are probes in it.
pub(super) fn show(
    ui: &mut Ui,
    view: &View,
    image: Option<&Picture>,
    desk: &mut Desk,
    out: &mut Vec<Action>,
) {
    let Some(image) = image else {
        soft(ui, "There is no picture of this wiring.");
        return;
    };
    let head = Panel::top("picture tools").frame(Frame::new()).show_separator_line(false);
    head.show(ui, |ui| tools(ui, desk, out));
    if desk.own_probes.is_some() {
        beside(ui, view, desk, out);
    }
    CentralPanel::default().frame(Frame::new()).show(ui, |ui| {
        let area = Rect::from_min_size(ui.cursor().min, ui.available_size());
        plan(ui, image, desk, area, out);
    });
}

fn beside(ui: &mut Ui, view: &View, desk: &mut Desk, out: &mut Vec<Action>) {
    let room = ui.available_size();
    let frame = Frame::new().inner_margin(Margin::symmetric(8, 0));
    let panel = if room.x >= BESIDE {
        Panel::right("own reading").exact_size((room.x * 0.48).clamp(230.0, 380.0))
    } else {
        Panel::bottom("own reading below").exact_size(room.y * 0.6)
    };
    panel.resizable(false).frame(frame).show(ui, |ui| picture_own::show(ui, view, desk, out));
}

fn tools(ui: &mut Ui, desk: &mut Desk, out: &mut Vec<Action>) {
    ui.horizontal(|ui| {
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            zoom_buttons(ui, desk);
            sight_buttons(ui, desk.sight, out);
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                let title = RichText::new(format!("Wiring, {}", desk.sight.says()));
                ui.add(Label::new(title.text_style(TextStyle::Heading)).truncate());
            });
        });
    });
}

fn sight_buttons(ui: &mut Ui, sight: Sight, out: &mut Vec<Action>) {
    if hand_switch(ui, sight).on_hover_text("L, in the picture").clicked() {
        out.push(look(other_hand(sight)));
    }
    if side_switch(ui, sight).on_hover_text("V, in the picture").clicked() {
        out.push(look(other_side(sight)));
    }
}

/// Shows the switch that leads to [`other_hand`].
pub(super) fn hand_switch(ui: &mut Ui, sight: Sight) -> Response {
    ui.add(Button::new("Left-handed").selected(sight.left_handed)).accessible_name("Draw it left-handed")
}

/// Shows the switch that leads to [`other_side`].
pub(super) fn side_switch(ui: &mut Ui, sight: Sight) -> Response {
    ui.add(Button::new("Front").selected(sight.from_front)).accessible_name("See it from the front")
}

fn look(sight: Sight) -> Action {
    Action::Probe(Probing::Look(sight))
}

/// Returns how the same is seen from the other side.
pub(super) fn other_side(sight: Sight) -> Sight {
    Sight { from_front: !sight.from_front, ..sight }
}

/// Returns how it is seen drawn for the other hand.
pub(super) fn other_hand(sight: Sight) -> Sight {
    Sight { left_handed: !sight.left_handed, ..sight }
}

fn zoom_buttons(ui: &mut Ui, desk: &mut Desk) {
    if ui.button("+").on_hover_text("Larger").accessible_name("Enlarge the picture").clicked() {
        picture::zoom_about(&mut desk.look, 1.25, Vec2::ZERO);
    }
    if ui.button("−").on_hover_text("Smaller").accessible_name("Shrink the picture").clicked() {
        picture::zoom_about(&mut desk.look, 0.8, Vec2::ZERO);
    }
    if ui.button("Whole").accessible_name("Show the whole picture").clicked() {
        desk.look = Look::at(Framing::Whole);
    }
    if ui.button("Probes").accessible_name("Show the part with the probes").clicked() {
        desk.look = Look::at(Framing::Marks);
    }
}

fn plan(ui: &mut Ui, image: &Picture, desk: &mut Desk, area: Rect, out: &mut Vec<Action>) {
    let scope = ui.scope_id();
    let focused = ui.memory(egui::Memory::focused);
    let current = image.named().find(|hit| Some(spot_id(scope, hit)) == focused);
    let (canvas, lens) = picture::canvas(ui, image, &mut desk.look, area, Sense::click_and_drag());
    if canvas.clicked() || (desk.overlay.is_none() && desk.takes_focus(Spot::Picture)) {
        canvas.request_focus();
    }
    let active = held(ui, scope, canvas.has_focus() || current.is_some());
    escape(ui, desk, out);
    if active {
        keys(ui, desk, out);
        hold_arrows(ui, focused);
        let from = current.map_or_else(|| lens.unit(area.center()), |hit| hit.at);
        if let Some(next) = arrow(ui).and_then(|way| image.next_terminal(from, way)) {
            ui.memory_mut(|memory| memory.request_focus(spot_id(scope, next)));
        }
    }
    if canvas.has_focus() {
        ui.painter().rect_stroke(area, 8.0, Stroke::new(2.5, tokens(ui).accent), StrokeKind::Inside);
    }
    let stage = Stage { image, lens, area, active };
    let terminals = image.named().filter(|hit| hit.probe);
    for hit in terminals.chain(image.named().filter(|hit| !hit.probe)) {
        spot(ui, &stage, hit, desk, out);
    }
    // Asked for after the spots are there: a press beside a spot takes the keyboard from it.
    if let Some(part) = pressed_part(&stage, &canvas) {
        ui.memory_mut(|memory| memory.request_focus(spot_id(scope, part)));
    }
    labels(ui, &stage, &canvas, current);
}

/// Returns the part whose body is clicked; a click gives it the keyboard.
fn pressed_part<'a>(stage: &Stage<'a>, canvas: &Response) -> Option<&'a Hit> {
    let at = canvas.interact_pointer_pos().filter(|_| canvas.clicked())?;
    stage.image.hit(stage.lens.unit(at)).filter(|hit| hit.part.is_some())
}

/// Returns all that is told of a part: what a person calls it, where it is reached, and its terminals.
fn whole_part(image: &Picture, part: &Hit) -> String {
    let own = |hit: &&Hit| hit.terminal.is_some() && hit.name.split('.').next() == Some(part.name.as_str());
    let terminals: Vec<_> = image.named().filter(own).map(|hit| hit.label.as_str()).collect();
    format!("{}\nWhere: {}\nTerminals: {}", part.told(), part.place, terminals.join(", "))
}

/// Returns whether the picture has the keyboard, or had it in the frame before: in the frame in which Tab leaves the
/// canvas its spots must be there to be gone to.
fn held(ui: &Ui, scope: Id, now: bool) -> bool {
    let id = scope.with("wiring keyboard");
    let before = ui.data_mut(|data| data.get_temp::<bool>(id).unwrap_or(false));
    ui.data_mut(|data| data.insert_temp(id, now));
    now || before
}

/// What the spots of a picture lie on.
struct Stage<'a> {
    image: &'a Picture,
    lens: Lens,
    area: Rect,
    active: bool,
}

fn spot_id(scope: Id, hit: &Hit) -> Id {
    scope.with(("wiring spot", hit.link.is_some(), hit.part.is_some(), &hit.name))
}

/// Takes the probes off when Escape is pressed and nothing else is to be closed.
fn escape(ui: &Ui, desk: &Desk, out: &mut Vec<Action>) {
    let free = desk.own_probes.is_some() && desk.overlay.is_none() && !Popup::is_any_open(ui.ctx());
    if free && pressed(ui, Key::Escape) {
        out.push(Action::Probe(Probing::Clear));
    }
}

fn pressed(ui: &Ui, key: Key) -> bool {
    ui.input_mut(|input| input.consume_key(Modifiers::NONE, key))
}

fn keys(ui: &Ui, desk: &mut Desk, out: &mut Vec<Action>) {
    if pressed(ui, Key::V) {
        out.push(look(other_side(desk.sight)));
    }
    if pressed(ui, Key::L) {
        out.push(look(other_hand(desk.sight)));
    }
    if pressed(ui, Key::X) && desk.own_probes.as_ref().is_some_and(OwnProbes::complete) {
        out.push(Action::Probe(Probing::Swap));
    }
    if pressed(ui, Key::Num0) || pressed(ui, Key::Home) {
        desk.look = Look::at(Framing::Whole);
    }
    for (key, factor) in [(Key::Plus, 1.25), (Key::Equals, 1.25), (Key::Minus, 0.8)] {
        if pressed(ui, key) {
            picture::zoom_about(&mut desk.look, factor, Vec2::ZERO);
        }
    }
}

/// Keeps the arrow keys from leading out of the picture.
fn hold_arrows(ui: &Ui, focused: Option<Id>) {
    let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
    if let Some(id) = focused {
        ui.memory_mut(|memory| memory.set_focus_lock_filter(id, filter));
    }
}

fn arrow(ui: &Ui) -> Option<Point> {
    let ways = [
        (Key::ArrowLeft, (-1.0, 0.0)),
        (Key::ArrowRight, (1.0, 0.0)),
        (Key::ArrowUp, (0.0, -1.0)),
        (Key::ArrowDown, (0.0, 1.0)),
    ];
    ways.into_iter().find(|(key, _)| pressed(ui, *key)).map(|(_, way)| way)
}

/// Makes one thing in the picture known by its name; a terminal can be pressed.
fn spot(ui: &Ui, stage: &Stage<'_>, hit: &Hit, desk: &mut Desk, out: &mut Vec<Action>) {
    let centre = stage.lens.point(hit.at);
    let response = ui.interact(seen(stage, hit), spot_id(ui.scope_id(), hit), sense(hit, stage.active));
    let name = if response.has_focus() && hit.part.is_some() {
        format!("Part: {}", whole_part(stage.image, hit).replace('\n', "; "))
    } else {
        spoken(hit, desk.own_probes.as_ref())
    };
    let role = if hit.probe { Role::Button } else { Role::Label };
    response.widget_info(|| WidgetInfo::labeled(role, true, &name));
    if response.clicked() && hit.probe {
        response.request_focus();
        let framing = desk.look.framing;
        picture::hold(stage.image, &mut desk.look, stage.area);
        out.push(Action::Probe(Probing::Pick { terminal: hit.name.clone(), framing }));
    } else if response.gained_focus() && !stage.area.contains(centre) {
        desk.look.shift += stage.area.center() - centre;
    }
}

/// Returns what a spot answers to; only while the picture has the keyboard does Tab stop at its spots.
fn sense(hit: &Hit, active: bool) -> Sense {
    match (hit.probe, active) {
        (true, true) => Sense::click(),
        (true, false) => Sense::CLICK,
        (false, true) => Sense::focusable_noninteractive(),
        (false, false) => Sense::hover(),
    }
}

/// Returns where on the screen a spot is; what lies outside is a point on the edge.
fn seen(stage: &Stage<'_>, hit: &Hit) -> Rect {
    let half = (hit.radius.min(16.0) * stage.lens.scale()).max(LEAST);
    let centre = stage.lens.point(hit.at);
    let whole = Rect::from_center_size(centre, Vec2::splat(2.0 * half));
    if stage.area.intersects(whole) {
        stage.area.intersect(whole)
    } else {
        Rect::from_min_size(stage.area.clamp(centre), Vec2::ZERO)
    }
}

/// Returns what a spot is called, with what kind of thing it is and the probe on it.
fn spoken(hit: &Hit, own: Option<&OwnProbes>) -> String {
    let on = |probe: fn(&OwnProbes) -> &String| own.is_some_and(|own| *probe(own) == hit.name);
    let kind = match (hit.terminal, hit.link) {
        (Some(_), _) => "Terminal",
        (None, Some(_)) => "Wire",
        (None, None) => "Part",
    };
    let state = match hit.terminal {
        None => "",
        Some(_) if on(|own| &own.measurement.red) => "; your red probe is here",
        Some(_) if on(|own| &own.measurement.black) => "; your black probe is here",
        Some(_) if !hit.probe => "; no probe reaches it",
        Some(_) => "",
    };
    format!("{kind}: {}{state}", hit.label)
}

/// Names what is under the pointer, or else what has the keyboard, which is ringed too.
fn labels(ui: &Ui, stage: &Stage<'_>, canvas: &Response, current: Option<&Hit>) {
    let painter = ui.painter_at(stage.area);
    if let Some(hit) = current {
        let ring = (hit.radius.min(16.0) * stage.lens.scale()).max(LEAST) + 3.0;
        let at = stage.lens.point(hit.at);
        painter.circle_stroke(at, ring + 2.5, Stroke::new(2.5, tokens(ui).card));
        painter.circle_stroke(at, ring, Stroke::new(2.5, tokens(ui).accent));
    }
    let pointer =
        ui.input(|input| input.pointer.hover_pos()).filter(|_| ui.rect_contains_pointer(canvas.rect));
    let under = pointer.and_then(|at| Some((at, stage.image.hit(stage.lens.unit(at))?)));
    let named = under.or_else(|| current.map(|hit| (stage.lens.point(hit.at), hit)));
    if let Some((at, hit)) = named {
        let asked = hit.part.is_some() && current.is_some_and(|current| current.part == hit.part);
        let text = if asked { whole_part(stage.image, hit) } else { hit.told() };
        plate(ui, stage.area, at, &text);
    }
}

/// Paints a small label beside a point, within the picture.
fn plate(ui: &Ui, area: Rect, at: Pos2, text: &str) {
    let (tokens, painter) = (tokens(ui), ui.painter_at(area));
    let font = TextStyle::Body.resolve(ui.style());
    let galley = painter.layout(text.to_owned(), font, tokens.ink, (area.width() - 24.0).clamp(80.0, 300.0));
    let size = galley.size() + vec2(12.0, 8.0);
    let below = at.y + 18.0 + size.y <= area.max.y;
    let top = if below { at.y + 18.0 } else { (at.y - 14.0 - size.y).max(area.min.y) };
    let left = (at.x + 10.0).min(area.max.x - size.x).max(area.min.x);
    let rect = Rect::from_min_size(pos2(left, top), size);
    painter.rect(rect, 4.0, tokens.card, Stroke::new(1.0, tokens.edge), StrokeKind::Inside);
    painter.galley(rect.min + vec2(6.0, 4.0), galley, tokens.ink);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_switch_turns_one_thing_over_and_back() {
        let plain = Sight::default();
        assert_eq!(other_side(other_side(plain)), plain);
        assert_eq!(other_hand(other_hand(plain)), plain);
        assert!(other_side(plain).mirrored() && other_hand(plain).mirrored());
        assert!(!other_hand(other_side(plain)).mirrored());
    }
}
