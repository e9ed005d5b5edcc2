//! Puts the plain shapes of [`crate::draw`] on the screen.

use egui::epaint::{CircleShape, PathShape, PathStroke, RectShape};
use egui::{
    Align2, Color32, CornerRadius, FontFamily, FontId, Mesh, Painter, Pos2, Rect, Response, Role, Sense, Ui,
    Vec2, WidgetInfo, vec2,
};

use super::action::{Framing, Look};
use super::picture_letters;
use crate::draw::{Anchor, Hit, Ink, Palette, Picture, Point, Shape, Stroke};

/// The scale from which the letters of a picture can be read, in points per picture unit.
const READABLE: f32 = 0.8;
/// Room left around the marks, in picture units.
const AROUND: f32 = 110.0;
/// Room left around a part that a probe is on, in picture units.
const BESIDE: f32 = 30.0;

/// The size from which bold letters are drawn bold, in pixels; smaller ones would run together.
const BOLD: f32 = 11.0;

/// How picture units become points on the screen.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lens {
    scale: f32,
    origin: Pos2,
}

impl Lens {
    /// Returns the lens through which `look` sees a picture on an area of the screen.
    fn new(picture: &Picture, area: Rect, look: Look) -> Self {
        let whole = Rect::from_min_size(Pos2::ZERO, vec2(picture.size.0, picture.size.1));
        match look.framing {
            Framing::Whole => Self::showing(whole, fit(whole, area), area, look),
            Framing::Marks => {
                let least = fit(whole, area);
                let marks = close_marks(picture, area).unwrap_or(whole);
                let scale = fit(marks, area).min(READABLE).max(least);
                Self::showing(within(marks.center(), whole, area.size() / scale), scale, area, look)
            }
        }
    }

    /// Returns the lens that puts the middle of `part` into the middle of the area, moved as the person likes.
    fn showing(part: Rect, scale: f32, area: Rect, look: Look) -> Self {
        let scale = scale * look.zoom;
        let origin = area.center() + look.shift - part.center().to_vec2() * scale;
        Self { scale, origin }
    }

    /// Returns the look that keeps what is seen through this lens, whatever is marked in the picture later.
    fn held(&self, picture: &Picture, area: Rect) -> Look {
        let whole = Rect::from_min_size(Pos2::ZERO, vec2(picture.size.0, picture.size.1));
        let shift = self.origin + whole.center().to_vec2() * self.scale - area.center();
        Look { framing: Framing::Whole, zoom: self.scale / fit(whole, area), shift }
    }

    /// Returns the length of a picture unit, in points.
    pub(super) fn scale(&self) -> f32 {
        self.scale
    }

    /// Returns where a point of the picture is on the screen.
    pub(super) fn point(&self, at: Point) -> Pos2 {
        self.origin + vec2(at.0, at.1) * self.scale
    }

    /// Returns which point of the picture is here on the screen.
    pub(super) fn unit(&self, at: Pos2) -> Point {
        let from = (at - self.origin) / self.scale;
        (from.x, from.y)
    }
}

fn fit(part: Rect, area: Rect) -> f32 {
    (area.width() / part.width().max(1.0)).min(area.height() / part.height().max(1.0))
}

/// Returns a window of this size around `centre`, moved so that it does not leave the picture without need.
fn within(centre: Pos2, whole: Rect, size: Vec2) -> Rect {
    let along = |centre: f32, low: f32, high: f32, size: f32| {
        let (low, high) = (low + size / 2.0, high - size / 2.0);
        if low > high { f32::midpoint(low, high) } else { centre.clamp(low, high) }
    };
    let x = along(centre.x, whole.min.x, whole.max.x, size.x);
    let y = along(centre.y, whole.min.y, whole.max.y, size.y);
    Rect::from_center_size(egui::pos2(x, y), size)
}

/// Returns where the probes with their parts and the suspects are, with some room around; the probes alone if all cannot
/// be shown at a readable scale.
fn close_marks(picture: &Picture, area: Rect) -> Option<Rect> {
    let inks = [Ink::RedProbe, Ink::BlackProbe, Ink::Suspect];
    let parts = probed_parts(picture);
    let whole = |rect: Rect| parts.iter().fold(rect.expand(AROUND), |all, part| all.union(*part));
    let (probes, all) = (marked(picture, &inks[..2]).map(whole), marked(picture, &inks).map(whole));
    let readable = |rect: &Rect| fit(*rect, area) >= 0.75 * READABLE;
    all.filter(readable).or(probes).or(all)
}

/// Returns where the parts are whose terminals the probes are on, each whole.
fn probed_parts(picture: &Picture) -> Vec<Rect> {
    let probe = |stroke: &Stroke| matches!(stroke.ink, Ink::RedProbe | Ink::BlackProbe);
    let tip = |shape: &Shape| match shape {
        Shape::Circle { at, stroke: Some(stroke), fill: None, .. } if probe(stroke) => Some(*at),
        _ => None,
    };
    let touched = |at: Point| picture.hits.iter().find(move |hit| hit.terminal.is_some() && hit.at == at);
    let named = |hit: &Hit| hit.name.split('.').next().map(str::to_owned);
    let body = |name: String| {
        let part = picture.hits.iter().find(|hit| hit.part.is_some() && hit.name == name)?;
        let (wide, high) = part.half?;
        let size = vec2(2.0 * wide, 2.0 * high);
        Some(Rect::from_center_size(egui::pos2(part.at.0, part.at.1), size).expand(BESIDE))
    };
    picture.shapes.iter().filter_map(tip).filter_map(touched).filter_map(named).filter_map(body).collect()
}

fn marked(picture: &Picture, inks: &[Ink]) -> Option<Rect> {
    let mut found: Option<Rect> = None;
    for shape in &picture.shapes {
        let (ink, area) = extent(shape);
        if ink.is_some_and(|ink| inks.contains(&ink)) {
            found = Some(found.map_or(area, |rect| rect.union(area)));
        }
    }
    found
}

/// Returns the ink of a shape and where it lies.
fn extent(shape: &Shape) -> (Option<Ink>, Rect) {
    let at = |point: &Point| egui::pos2(point.0, point.1);
    let line = |stroke: &Option<Stroke>| stroke.map(|stroke| stroke.ink);
    match shape {
        Shape::Line { from, to, stroke } => (Some(stroke.ink), Rect::from_two_pos(at(from), at(to))),
        Shape::Polyline { points, stroke } => {
            let corners: Vec<_> = points.iter().map(at).collect();
            (Some(stroke.ink), Rect::from_points(&corners))
        }
        Shape::Circle { at: centre, radius, stroke, fill } => {
            let size = Vec2::splat(2.0 * radius);
            (fill.or(line(stroke)), Rect::from_center_size(at(centre), size))
        }
        Shape::Rect { min, size, stroke, fill, .. } => {
            (fill.or(line(stroke)), Rect::from_min_size(at(min), vec2(size.0, size.1)))
        }
        Shape::Text { at: point, ink, .. } => (Some(*ink), Rect::from_center_size(at(point), Vec2::ZERO)),
    }
}

/// Room left between a picture and the edge of its area, in points.
const EDGE: f32 = 6.0;

/// Shows a picture that can be moved, magnified and pointed at.
pub fn movable(ui: &mut Ui, picture: &Picture, look: &mut Look, area: Rect) -> Response {
    sensed(ui, picture, look, area, Sense::drag()).0
}

/// Shows a picture as [`movable`] does, and returns the spot that was clicked.
pub fn clickable(ui: &mut Ui, picture: &Picture, look: &mut Look, area: Rect) -> Option<Hit> {
    let (response, lens) = sensed(ui, picture, look, area, Sense::CLICK | Sense::DRAG);
    let at = response.interact_pointer_pos().filter(|_| response.clicked())?;
    picture.hit(lens.unit(at)).cloned()
}

fn sensed(ui: &mut Ui, picture: &Picture, look: &mut Look, area: Rect, sense: Sense) -> (Response, Lens) {
    let (response, lens) = canvas(ui, picture, look, area, sense);
    let under = response.hover_pos().and_then(|at| picture.hit(lens.unit(at)));
    match under {
        Some(hit) => (response.on_hover_text_at_pointer(hit.told()), lens),
        None => (response, lens),
    }
}

/// Shows a picture that can be moved and magnified, and returns the lens that it is seen through.
pub(super) fn canvas(
    ui: &mut Ui,
    picture: &Picture,
    look: &mut Look,
    area: Rect,
    sense: Sense,
) -> (Response, Lens) {
    let response = named(picture, ui.allocate_rect(area, sense));
    steer(ui, look, &response);
    let lens = Lens::new(picture, area.shrink(EDGE), *look);
    backdrop(ui, area);
    paint_legibly(&ui.painter_at(area), picture, &lens, palette(ui));
    (response, lens)
}

/// Keeps what is seen of a picture now, whatever is marked in it later.
pub(super) fn hold(picture: &Picture, look: &mut Look, area: Rect) {
    let area = area.shrink(EDGE);
    *look = Lens::new(picture, area, *look).held(picture, area);
}

/// Paints shapes on an area: `scale` points to a picture unit, the corner of the picture at `origin`.
pub(super) fn shapes<'a>(
    ui: &Ui,
    area: Rect,
    shapes: impl Iterator<Item = &'a Shape>,
    origin: Pos2,
    scale: f32,
) {
    backdrop(ui, area);
    let (lens, painter) = (Lens { scale, origin }, ui.painter_at(area));
    shapes.for_each(|shape| paint_shape(&painter, shape, &lens, palette(ui)));
}

/// Shows shapes that are many and small, as one mesh: bows become two straight lines, letters are left out.
pub(super) fn from_far<'a>(
    ui: &Ui,
    area: Rect,
    shapes: impl Iterator<Item = &'a Shape>,
    origin: Pos2,
    scale: f32,
) {
    backdrop(ui, area);
    let (lens, palette, mut mesh) = (Lens { scale, origin }, palette(ui), Mesh::default());
    shapes.for_each(|shape| add_small(&mut mesh, shape, &lens, palette));
    ui.painter_at(area).add(mesh);
}

fn add_small(mesh: &mut Mesh, shape: &Shape, lens: &Lens, palette: Palette) {
    match shape {
        Shape::Line { from, to, stroke } => add_line(mesh, &[*from, *to], stroke, lens, palette),
        Shape::Polyline { points, stroke } => {
            let some = [points.first(), points.get(points.len() / 2), points.last()];
            let some: Vec<Point> = some.into_iter().flatten().copied().collect();
            add_line(mesh, &some, stroke, lens, palette);
        }
        Shape::Circle { at, radius, stroke, fill } => {
            let (min, size) = ((at.0 - radius, at.1 - radius), (2.0 * radius, 2.0 * radius));
            add_box(mesh, min, size, (*stroke, *fill), lens, palette);
        }
        Shape::Rect { min, size, stroke, fill, .. } => {
            add_box(mesh, *min, *size, (*stroke, *fill), lens, palette);
        }
        Shape::Text { .. } => {}
    }
}

fn add_box(
    mesh: &mut Mesh,
    min: Point,
    size: (f32, f32),
    (stroke, fill): (Option<Stroke>, Option<Ink>),
    lens: &Lens,
    palette: Palette,
) {
    if let Some(ink) = fill {
        let rect = Rect::from_min_size(lens.point(min), vec2(size.0, size.1) * lens.scale);
        mesh.add_colored_rect(rect, colour(palette, ink));
    }
    if let Some(stroke) = stroke {
        let (right, bottom) = (min.0 + size.0, min.1 + size.1);
        let corners = [min, (right, min.1), (right, bottom), (min.0, bottom), min];
        add_line(mesh, &corners, &stroke, lens, palette);
    }
}

fn add_line(mesh: &mut Mesh, points: &[Point], stroke: &Stroke, lens: &Lens, palette: Palette) {
    let pen = pen(stroke, lens, palette);
    for (from, to) in points.iter().zip(points.iter().skip(1)) {
        let (from, to) = (lens.point(*from), lens.point(*to));
        let across = (to - from).normalized().rot90() * (pen.width / 2.0);
        let first = u32::try_from(mesh.vertices.len()).unwrap_or(u32::MAX - 3);
        for at in [from + across, from - across, to + across, to - across] {
            mesh.colored_vertex(at, pen.color);
        }
        mesh.add_triangle(first, first + 1, first + 2);
        mesh.add_triangle(first + 1, first + 2, first + 3);
    }
}

/// Shows a picture as large as it fits into `size`, unmoving.
pub fn fixed(ui: &mut Ui, picture: &Picture, size: Vec2) -> Response {
    let (area, response) = ui.allocate_exact_size(size, Sense::hover());
    let response = named(picture, response);
    if ui.is_rect_visible(area) {
        backdrop(ui, area);
        let lens = Lens::new(picture, area.shrink(2.0), Look::at(Framing::Whole));
        paint(&ui.painter_at(area), picture, &lens, palette(ui));
    }
    response
}

/// Shows the place of a picture that is not there yet.
pub(super) fn empty(ui: &mut Ui, name: &str, size: Vec2) {
    let (area, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, name));
    backdrop(ui, area);
}

fn named(picture: &Picture, response: Response) -> Response {
    let name = if picture.about.is_empty() {
        picture.title.clone()
    } else {
        format!("{}: {}", picture.title, picture.about)
    };
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &name));
    response
}

fn steer(ui: &Ui, look: &mut Look, response: &Response) {
    look.shift += response.drag_delta();
    let Some(pointer) = response.hover_pos() else {
        return;
    };
    let (pinch, wheel) = ui.input(|input| (input.zoom_delta(), input.smooth_scroll_delta().y));
    let factor = pinch * (wheel / 300.0).exp();
    if (factor - 1.0).abs() > f32::EPSILON {
        zoom_about(look, factor, pointer - response.rect.center());
    }
}

/// Magnifies by `factor` so that the point at `offset` from the middle stays where it is.
pub fn zoom_about(look: &mut Look, factor: f32, offset: Vec2) {
    let zoom = (look.zoom * factor).clamp(0.5, 8.0);
    let factor = zoom / look.zoom;
    look.shift = offset - (offset - look.shift) * factor;
    look.zoom = zoom;
}

fn palette(ui: &Ui) -> Palette {
    if ui.visuals().dark_mode { Palette::Dark } else { Palette::Light }
}

fn colour(palette: Palette, ink: Ink) -> Color32 {
    let [r, g, b] = palette.rgb(ink);
    Color32::from_rgb(r, g, b)
}

fn backdrop(ui: &Ui, area: Rect) {
    let paper = colour(palette(ui), Ink::Paper);
    let edge = egui::Stroke::new(1.0, super::theme::tokens(ui).line);
    ui.painter().rect(area, 8.0, paper, edge, egui::StrokeKind::Inside);
}

fn paint(painter: &Painter, picture: &Picture, lens: &Lens, palette: Palette) {
    for shape in &picture.shapes {
        paint_shape(painter, shape, lens, palette);
    }
}

/// Paints a picture with letters that can be read, however small it is; those that find no room stay as they are drawn.
fn paint_legibly(painter: &Painter, picture: &Picture, lens: &Lens, palette: Palette) {
    let small = |shape: &&Shape| picture_letters::is_small(shape, lens.scale);
    for shape in picture.shapes.iter().filter(|shape| !small(shape)) {
        paint_shape(painter, shape, lens, palette);
    }
    let wide = |line: &str| {
        let font = FontId::new(picture_letters::LEAST, FontFamily::Proportional);
        painter.layout_no_wrap(line.to_owned(), font, Color32::BLACK).size().x
    };
    let blocks = picture_letters::blocks(picture.shapes.iter().filter(small));
    for (block, place) in picture_letters::placed(&blocks, |at| lens.point(at), wide) {
        match place {
            Some(area) => paint_block(painter, block, area, palette),
            None => block.shapes.iter().for_each(|shape| paint_shape(painter, shape, lens, palette)),
        }
    }
}

fn paint_block(painter: &Painter, block: &picture_letters::Block<'_>, area: Rect, palette: Palette) {
    if block.ink != Ink::Suspect {
        painter.rect_filled(area, 2.0, colour(palette, Ink::Paper).gamma_multiply(0.8));
    }
    for (at, line) in block.lines(area) {
        let style = Lettering { size: picture_letters::LEAST, anchor: block.anchor, bold: false };
        paint_text(painter, at, line, &style, colour(palette, block.ink));
    }
}

fn pen(stroke: &Stroke, lens: &Lens, palette: Palette) -> egui::Stroke {
    egui::Stroke::new((stroke.width * lens.scale).max(0.75), colour(palette, stroke.ink))
}

fn paint_shape(painter: &Painter, shape: &Shape, lens: &Lens, palette: Palette) {
    let outline = |stroke: &Option<Stroke>| stroke.map_or(egui::Stroke::NONE, |s| pen(&s, lens, palette));
    let inside = |fill: &Option<Ink>| fill.map_or(Color32::TRANSPARENT, |ink| colour(palette, ink));
    match shape {
        Shape::Line { from, to, stroke } => {
            paint_line(painter, vec![lens.point(*from), lens.point(*to)], stroke, lens, palette);
        }
        Shape::Polyline { points, stroke } => {
            let points = points.iter().map(|p| lens.point(*p)).collect();
            paint_line(painter, points, stroke, lens, palette);
        }
        Shape::Circle { at, radius, stroke, fill } => {
            painter.add(CircleShape {
                center: lens.point(*at),
                radius: radius * lens.scale,
                fill: inside(fill),
                stroke: outline(stroke),
            });
        }
        Shape::Rect { min, size, corner, stroke, fill } => {
            let rect = Rect::from_min_size(lens.point(*min), vec2(size.0, size.1) * lens.scale);
            let corner = CornerRadius::from(corner * lens.scale);
            let kind = egui::StrokeKind::Middle;
            let dashed = stroke.filter(|stroke| stroke.dash.is_some());
            let plain = if dashed.is_some() { egui::Stroke::NONE } else { outline(stroke) };
            painter.add(RectShape::new(rect, corner, inside(fill), plain, kind));
            if let Some(stroke) = dashed {
                let corners = [
                    rect.left_top(),
                    rect.right_top(),
                    rect.right_bottom(),
                    rect.left_bottom(),
                    rect.left_top(),
                ];
                paint_line(painter, corners.to_vec(), &stroke, lens, palette);
            }
        }
        Shape::Text { at, text, size, anchor, ink, bold } => {
            let style = Lettering { size: size * lens.scale, anchor: *anchor, bold: *bold };
            paint_text(painter, lens.point(*at), text, &style, colour(palette, *ink));
        }
    }
}

fn paint_line(painter: &Painter, points: Vec<Pos2>, stroke: &Stroke, lens: &Lens, palette: Palette) {
    let pen = pen(stroke, lens, palette);
    match stroke.dash {
        Some((dash, gap)) => {
            let (dash, gap) = ((dash * lens.scale).max(1.0), (gap * lens.scale).max(1.0));
            painter.extend(egui::Shape::dashed_line(&points, pen, dash, gap));
        }
        None => {
            painter.add(PathShape::line(points, PathStroke::from(pen)));
        }
    }
}

struct Lettering {
    size: f32,
    anchor: Anchor,
    bold: bool,
}

fn paint_text(painter: &Painter, at: Pos2, text: &str, style: &Lettering, colour: Color32) {
    if style.size < 4.0 {
        return;
    }
    let align = match style.anchor {
        Anchor::Start => Align2::LEFT_CENTER,
        Anchor::Middle => Align2::CENTER_CENTER,
        Anchor::End => Align2::RIGHT_CENTER,
    };
    let font = FontId::new(style.size, FontFamily::Proportional);
    painter.text(at, align, text, font.clone(), colour);
    // Letters are put on whole pixels: a shift by one pixel makes every letter bolder by the same.
    let pixel = painter.pixels_per_point().recip();
    if style.bold && style.size >= BOLD * pixel {
        painter.text(at + vec2(pixel, 0.0), align, text, font, colour);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::pos2;

    fn blank(size: (f32, f32), shapes: Vec<Shape>) -> Picture {
        Picture { title: String::new(), about: String::new(), size, shapes, hits: Vec::new() }
    }

    fn probe(at: Point) -> Shape {
        Shape::Circle { at, radius: 10.0, stroke: None, fill: Some(Ink::RedProbe) }
    }

    #[test]
    fn the_whole_picture_fits_and_points_go_there_and_back() {
        let area = Rect::from_min_size(pos2(100.0, 50.0), vec2(400.0, 300.0));
        let lens = Lens::new(&blank((800.0, 300.0), Vec::new()), area, Look::at(Framing::Whole));
        assert!((lens.scale - 0.5).abs() < 1e-6);
        assert_eq!(lens.point((400.0, 150.0)), area.center());
        let back = lens.unit(lens.point((123.0, 45.0)));
        assert!((back.0 - 123.0).abs() < 1e-3 && (back.1 - 45.0).abs() < 1e-3);
    }

    #[test]
    fn magnifying_keeps_what_is_under_the_pointer() {
        let area = Rect::from_min_size(pos2(0.0, 0.0), vec2(400.0, 300.0));
        let picture = blank((400.0, 300.0), Vec::new());
        let mut look = Look::default();
        let pointer = pos2(310.0, 80.0);
        let before = Lens::new(&picture, area, look).unit(pointer);
        zoom_about(&mut look, 2.5, pointer - area.center());
        let after = Lens::new(&picture, area, look).unit(pointer);
        assert!((before.0 - after.0).abs() < 1e-3 && (before.1 - after.1).abs() < 1e-3);
    }

    #[test]
    fn letters_near_the_probes_can_be_read_and_both_probes_are_seen() {
        let area = Rect::from_min_size(pos2(0.0, 0.0), vec2(600.0, 320.0));
        let picture = blank((1650.0, 1132.0), vec![probe((1560.0, 1000.0)), probe((1400.0, 940.0))]);
        let lens = Lens::new(&picture, area, Look::default());
        assert!(lens.scale >= 0.99 * READABLE, "{}", lens.scale);
        for at in [(1560.0, 1000.0), (1400.0, 940.0)] {
            assert!(area.contains(lens.point(at)), "{at:?} is at {:?}", lens.point(at));
        }
        assert!(lens.point((1650.0, 1132.0)).x >= area.max.x - 0.1, "the view leaves the picture");
    }

    #[test]
    fn a_held_look_shows_the_same_whatever_is_marked_then() {
        let area = Rect::from_min_size(pos2(40.0, 20.0), vec2(600.0, 320.0));
        let marked = blank((1650.0, 1132.0), vec![probe((1560.0, 1000.0))]);
        let mut look = Look { zoom: 1.3, shift: vec2(-12.0, 7.0), ..Look::default() };
        let before = Lens::new(&marked, area.shrink(EDGE), look);
        hold(&marked, &mut look, area);
        let elsewhere = blank((1650.0, 1132.0), vec![probe((10.0, 10.0))]);
        let after = Lens::new(&elsewhere, area.shrink(EDGE), look);
        for at in [(0.0, 0.0), (1560.0, 1000.0)] {
            assert!((before.point(at) - after.point(at)).length() < 0.05, "{at:?}");
        }
    }

    #[test]
    fn probes_far_apart_are_both_seen() {
        let area = Rect::from_min_size(pos2(0.0, 0.0), vec2(600.0, 320.0));
        let picture = blank((1650.0, 1132.0), vec![probe((100.0, 100.0)), probe((1560.0, 1000.0))]);
        let lens = Lens::new(&picture, area, Look::default());
        for at in [(100.0, 100.0), (1560.0, 1000.0)] {
            assert!(area.contains(lens.point(at)), "{at:?} is at {:?}", lens.point(at));
        }
    }
}
