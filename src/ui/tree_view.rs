//! The diagram of a tree: moved, magnified, and every step in it pressed and read.

use std::rc::Rc;

use egui::{
    EventFilter, Key, Modifiers, Pos2, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, Vec2, WidgetInfo,
    pos2, vec2,
};

use super::action::Action;
use super::picture;
use super::theme::tokens;
use super::tree_shelf::TreeChoice;
use super::trees::{TreesAction, TreesDesk};
use crate::draw::{self, Detail, Diagram, Piece, TreeMarks};
use crate::session::PastWays;
use crate::treework::Checked;
use crate::workbench::Trail;

/// The scale from which the letters of a diagram can be read, in points per unit.
const READABLE: f32 = 0.8;
/// The least and the greatest scale, in points per unit.
const SCALES: (f32, f32) = (0.05, 4.0);
/// With more pieces in view than this, those that show no letters are drawn together.
const MANY: usize = 600;
/// So many steps are all offered to the pointer, to Tab and to screen readers, whether they are in view or not.
const ALL_OFFERED: usize = 300;
/// The least height of a step that can be pressed, in points.
const PRESSED: f32 = 6.0;
/// How far one arrow key moves the diagram, in points.
const NUDGE: f32 = 60.0;

/// How the diagram is looked at.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TreeLook {
    /// Points per unit of the diagram; `None` shows the whole of it.
    pub scale: Option<f32>,
    /// The point of the diagram in the middle; `None` is its own middle.
    pub centre: Option<(f32, f32)>,
    /// The scale that shows the whole of it, as it was drawn last.
    fit: f32,
}

/// How units of the diagram become points on the screen.
#[derive(Clone, Copy, Debug)]
struct Lens {
    scale: f32,
    origin: Pos2,
}

impl Lens {
    fn rect(&self, rect: Rect) -> Rect {
        let min = self.origin + rect.min.to_vec2() * self.scale;
        Rect::from_min_size(min, rect.size() * self.scale)
    }

    fn unit(&self, at: Pos2) -> Pos2 {
        ((at - self.origin) / self.scale).to_pos2()
    }
}

impl TreeLook {
    fn lens(&mut self, size: Vec2, area: Rect) -> Lens {
        self.fit = (area.width() / size.x.max(1.0)).min(area.height() / size.y.max(1.0)).min(1.5);
        let scale = self.scale.unwrap_or(self.fit);
        let centre = self.centre.map_or(size / 2.0, |(x, y)| vec2(x, y));
        Lens { scale, origin: area.center() - centre * scale }
    }

    /// Brings a part of the diagram into the middle, large enough to be read.
    fn go_to(&mut self, rect: Rect) {
        self.centre = Some((rect.center().x, rect.center().y));
        self.scale = Some(self.scale.unwrap_or(self.fit).max(READABLE));
    }

    /// Moves the diagram by some points of the screen.
    fn shift(&mut self, by: Vec2, lens: &Lens, area: Rect) {
        if by != Vec2::ZERO {
            let centre = lens.unit(area.center() - by);
            self.centre = Some((centre.x, centre.y));
            self.scale = Some(lens.scale);
        }
    }

    /// Magnifies so that what is under a point of the screen stays there.
    fn zoom(&mut self, factor: f32, at: Pos2, lens: &Lens, area: Rect) {
        let scale = (lens.scale * factor).clamp(SCALES.0, SCALES.1);
        let centre = lens.unit(at) + (area.center() - at) / scale;
        self.centre = Some((centre.x, centre.y));
        self.scale = Some(scale);
    }

    /// Shows the whole of it.
    pub fn whole(&mut self) {
        (self.scale, self.centre) = (None, None);
    }
}

/// One step in the diagram.
#[derive(Clone, Debug)]
struct StepBox {
    name: String,
    label: String,
    rect: Rect,
}

/// A diagram with what it was drawn of.
#[derive(Debug)]
pub struct Drawn {
    shows: (String, u64, u64),
    title: String,
    diagram: Diagram,
    boxes: Vec<StepBox>,
}

impl Drawn {
    /// Returns whether it was drawn of this: the tree, the revision of the trees and that of the job.
    pub fn shows(&self, shows: &(String, u64, u64)) -> bool {
        self.shows == *shows
    }

    /// Draws a tree; `None` when it was never right.
    pub fn of(
        shows: (String, u64, u64),
        choice: &TreeChoice,
        marks: &TreeMarks,
        trail: Option<&Trail>,
    ) -> Option<Self> {
        let tree = choice.tree.as_ref()?;
        let diagram = Diagram::of(tree, marks);
        let boxes = tree.steps.iter().filter_map(|step| {
            let label = format!("Step {}: {}{}", step.name, step.say, passed(trail, &step.name));
            Some(StepBox { name: step.name.clone(), label, rect: box_of(&diagram, &step.name)? })
        });
        let boxes = boxes.collect();
        Some(Self { shows, title: tree.title.clone(), diagram, boxes })
    }

    fn size(&self) -> Vec2 {
        let (width, height) = self.diagram.size();
        vec2(width, height)
    }
}

/// Returns what a diagram is to show beside the tree itself.
pub(super) fn marks(trail: Option<&Trail>, checked: Option<&Checked>, past: Option<&PastWays>) -> TreeMarks {
    let went = trail.into_iter().flat_map(|trail| &trail.behind);
    TreeMarks {
        path: went.map(|trodden| (trodden.step.clone(), Some(trodden.way))).collect(),
        here: trail.and_then(|trail| trail.at.clone()),
        shares: checked.map(|checked| checked.shares.clone()).unwrap_or_default(),
        notes: past.map(PastWays::notes).unwrap_or_default(),
        told: past.filter(|past| past.n > 0).map(PastWays::sentence).unwrap_or_default(),
        ..TreeMarks::default()
    }
}

/// Returns what is said of a step that the job went through or is at.
fn passed(trail: Option<&Trail>, step: &str) -> &'static str {
    match trail {
        Some(trail) if trail.at.as_deref() == Some(step) => " (this job is here)",
        Some(trail) if trail.behind.iter().any(|trodden| trodden.step == step) => " (this job went here)",
        _ => "",
    }
}

fn box_of(diagram: &Diagram, step: &str) -> Option<Rect> {
    let draw::Rect { min, max } = diagram.box_of(step)?;
    Some(Rect::from_min_max(pos2(min.0, min.1), pos2(max.0, max.1)))
}

/// Shows the diagram with its tools.
pub(super) fn show(ui: &mut Ui, own: &mut TreesDesk, out: &mut Vec<Action>) {
    let Some(drawn) = own.drawn.clone() else { return };
    let mut factor = 1.0;
    ui.horizontal_wrapped(|ui| {
        if ui.button("Fit").on_hover_text("0 or Home").accessible_name("Show the whole tree").clicked() {
            own.look.whole();
        }
        if ui.button("+").on_hover_text("+").accessible_name("Enlarge the tree").clicked() {
            factor *= 1.25;
        }
        if ui.button("−").on_hover_text("-").accessible_name("Shrink the tree").clicked() {
            factor *= 0.8;
        }
        super::widgets::small(ui, "Drag to move, turn the wheel to enlarge. Tab goes from step to step.");
    });
    let area = Rect::from_min_size(ui.cursor().min, ui.available_size().max(vec2(40.0, 40.0)));
    factor *= keyed_zoom(ui, &mut own.look);
    canvas(ui, &drawn, own, area, factor, out);
}

/// Reads the keys that magnify, and the one that shows the whole; returns the magnification.
fn keyed_zoom(ui: &Ui, look: &mut TreeLook) -> f32 {
    let pressed = |key: Key| ui.input_mut(|input| input.consume_key(Modifiers::NONE, key));
    if pressed(Key::Num0) || pressed(Key::Home) {
        look.whole();
    }
    match (pressed(Key::Plus) || pressed(Key::Equals), pressed(Key::Minus)) {
        (true, _) => 1.25,
        (_, true) => 0.8,
        _ => 1.0,
    }
}

fn canvas(
    ui: &mut Ui,
    drawn: &Rc<Drawn>,
    own: &mut TreesDesk,
    area: Rect,
    factor: f32,
    out: &mut Vec<Action>,
) {
    let response = ui.allocate_rect(area, Sense::click_and_drag());
    let name = format!("Diagram of “{}”, {} steps", drawn.title, drawn.boxes.len());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &name));
    if let Some(step) = own.centre_on.take().and_then(|step| drawn.boxes.iter().find(|b| b.name == step)) {
        own.look.go_to(step.rect);
    }
    steer(ui, &mut own.look, &response, drawn.size(), factor);
    let lens = own.look.lens(drawn.size(), area.shrink(8.0));
    let seen = Rect::from_two_pos(lens.unit(area.min), lens.unit(area.max));
    let window = draw::Rect { min: (seen.min.x, seen.min.y), max: (seen.max.x, seen.max.y) };
    let detail = Detail::at_scale(lens.scale);
    let pieces: Vec<&Piece> = drawn.diagram.within(window).collect();
    let shapes = pieces.iter().flat_map(|piece| piece.shapes(detail));
    if detail == Detail::Boxes && pieces.len() > MANY {
        picture::from_far(ui, area, shapes, lens.origin, lens.scale);
    } else {
        picture::shapes(ui, area, shapes, lens.origin, lens.scale);
    }
    if response.has_focus() {
        ui.painter().rect_stroke(area, 8.0, Stroke::new(2.5, tokens(ui).accent), StrokeKind::Inside);
    }
    for index in offered(&drawn.boxes, &lens, area, own) {
        step_box(ui, index, &drawn.boxes[index], lens.rect(drawn.boxes[index].rect), area, own, out);
    }
}

/// Returns the steps that can be pressed and reached with Tab now: of a large tree those in view, the first, the last, the
/// one that is read, and those beside the one that has the keyboard, so that Tab still goes from each to the next.
fn offered(boxes: &[StepBox], lens: &Lens, area: Rect, own: &TreesDesk) -> Vec<usize> {
    if boxes.len() <= ALL_OFFERED {
        return (0..boxes.len()).collect();
    }
    let beside = own.focused.map(|at| at.saturating_sub(1)..=at + 1);
    let last = boxes.len() - 1;
    let seen =
        |step: &StepBox| step.rect.height() * lens.scale >= PRESSED && area.intersects(lens.rect(step.rect));
    let wanted = |index: usize, step: &StepBox| {
        index == 0
            || index == last
            || beside.as_ref().is_some_and(|beside| beside.contains(&index))
            || own.step.as_deref() == Some(step.name.as_str())
            || seen(step)
    };
    boxes.iter().enumerate().filter(|(index, step)| wanted(*index, step)).map(|(index, _)| index).collect()
}

fn steer(ui: &Ui, look: &mut TreeLook, response: &Response, size: Vec2, factor: f32) {
    let area = response.rect.shrink(8.0);
    if response.clicked() {
        response.request_focus();
    }
    let lens = look.lens(size, area);
    look.shift(response.drag_delta() + arrows(ui, response), &lens, area);
    let pointer = response.hover_pos();
    let turned = pointer.map_or(1.0, |_| {
        let (pinch, wheel) = ui.input(|input| (input.zoom_delta(), input.smooth_scroll_delta().y));
        pinch * (wheel / 300.0).exp()
    });
    for (factor, at) in [(turned, pointer.unwrap_or(area.center())), (factor, area.center())] {
        if (factor - 1.0).abs() > f32::EPSILON {
            let lens = look.lens(size, area);
            look.zoom(factor, at, &lens, area);
        }
    }
}

/// Returns how far the arrow keys move the diagram while it has the keyboard.
fn arrows(ui: &Ui, response: &Response) -> Vec2 {
    if !response.has_focus() {
        return Vec2::ZERO;
    }
    let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
    ui.input(|input| {
        let pressed = |key| if input.key_pressed(key) { NUDGE } else { 0.0 };
        vec2(
            pressed(Key::ArrowLeft) - pressed(Key::ArrowRight),
            pressed(Key::ArrowUp) - pressed(Key::ArrowDown),
        )
    })
}

fn step_box(
    ui: &Ui,
    index: usize,
    step: &StepBox,
    rect: Rect,
    area: Rect,
    own: &mut TreesDesk,
    out: &mut Vec<Action>,
) {
    let seen = if area.intersects(rect) {
        area.intersect(rect)
    } else {
        Rect::from_min_size(area.clamp(rect.center()), Vec2::ZERO)
    };
    let response = ui.interact(seen, ui.scope_id().with(("step", &step.name)), Sense::click());
    let chosen = own.step.as_deref() == Some(step.name.as_str());
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, chosen, &step.label));
    let painter = ui.painter_at(area);
    if chosen {
        let mark = Stroke::new(3.0, tokens(ui).accent);
        painter.rect_stroke(rect.expand(2.0), 4.0, mark, StrokeKind::Outside);
    }
    if response.has_focus() {
        own.focused = Some(index);
        let mark = Stroke::new(1.5, tokens(ui).ink);
        painter.rect_stroke(rect.expand(6.0), 6.0, mark, StrokeKind::Outside);
    }
    if response.clicked() {
        out.push(Action::Trees(TreesAction::Step(step.name.clone())));
    } else if response.gained_focus() && !area.contains_rect(rect) {
        own.centre_on = Some(step.name.clone());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area() -> Rect {
        Rect::from_min_size(pos2(100.0, 50.0), vec2(400.0, 300.0))
    }

    #[test]
    fn the_whole_diagram_fits_and_stands_in_the_middle() {
        let mut look = TreeLook::default();
        let lens = look.lens(vec2(1600.0, 600.0), area());
        assert!((lens.scale - 0.25).abs() < 1e-6);
        let whole = lens.rect(Rect::from_min_size(Pos2::ZERO, vec2(1600.0, 600.0)));
        assert!(area().expand(1e-3).contains_rect(whole), "{whole:?}");
        assert!((whole.center() - area().center()).length() < 1e-3);
    }

    #[test]
    fn what_is_under_the_pointer_stays_there() {
        let (mut look, size, at) = (TreeLook::default(), vec2(1600.0, 600.0), pos2(410.0, 80.0));
        let lens = look.lens(size, area());
        look.zoom(2.5, at, &lens, area());
        let after = look.lens(size, area());
        assert!((lens.unit(at) - after.unit(at)).length() < 1e-2);
        assert!((after.scale - 2.5 * lens.scale).abs() < 1e-6);
    }

    #[test]
    fn a_step_is_brought_into_the_middle_at_a_size_that_can_be_read() {
        let (mut look, size) = (TreeLook::default(), vec2(16_000.0, 6000.0));
        look.lens(size, area());
        let step = Rect::from_min_size(pos2(15_000.0, 100.0), vec2(200.0, 80.0));
        look.go_to(step);
        let lens = look.lens(size, area());
        assert!((lens.rect(step).center() - area().center()).length() < 1e-2);
        assert!(lens.scale >= READABLE);
    }

    #[test]
    fn moving_goes_along_with_the_pointer() {
        let (mut look, size) = (TreeLook::default(), vec2(1600.0, 600.0));
        let before = look.lens(size, area());
        look.shift(vec2(30.0, -20.0), &before, area());
        let after = look.lens(size, area());
        assert!((after.origin - before.origin - vec2(30.0, -20.0)).length() < 1e-3);
    }
}
