//! Puts the plain shapes of [`crate::draw`] on the screen.

use egui::epaint::{CircleShape, PathShape, PathStroke, RectShape};
use egui::{
    Align2, Color32, CornerRadius, FontFamily, FontId, Painter, Pos2, Rect, Response, Role, Sense, Ui, Vec2,
    WidgetInfo, vec2,
};

use super::action::Look;
use crate::draw::{Anchor, Ink, Palette, Picture, Point, Shape, Stroke};

/// How picture units become points on the screen.
#[derive(Clone, Copy, Debug)]
struct Lens {
    scale: f32,
    origin: Pos2,
}

impl Lens {
    fn fitting(size: (f32, f32), area: Rect, look: Look) -> Self {
        let fit = (area.width() / size.0.max(1.0)).min(area.height() / size.1.max(1.0));
        let scale = fit * look.zoom;
        let origin = area.center() + look.shift - vec2(size.0, size.1) * scale / 2.0;
        Self { scale, origin }
    }

    fn point(&self, at: Point) -> Pos2 {
        self.origin + vec2(at.0, at.1) * self.scale
    }

    fn unit(&self, at: Pos2) -> Point {
        let from = (at - self.origin) / self.scale;
        (from.x, from.y)
    }
}

/// Shows a picture that can be moved, magnified and pointed at.
pub fn movable(ui: &mut Ui, picture: &Picture, look: &mut Look, area: Rect) -> Response {
    let response = named(picture, ui.allocate_rect(area, Sense::drag()));
    steer(ui, look, &response);
    let lens = Lens::fitting(picture.size, area.shrink(6.0), *look);
    backdrop(ui, area);
    paint(&ui.painter_at(area), picture, &lens, palette(ui));
    let under = response.hover_pos().and_then(|at| picture.hit(lens.unit(at)));
    match under {
        Some(hit) => response.on_hover_text_at_pointer(hit.label.as_str()),
        None => response,
    }
}

/// Shows a picture as large as it fits into `size`, unmoving.
pub fn fixed(ui: &mut Ui, picture: &Picture, size: Vec2) -> Response {
    let (area, response) = ui.allocate_exact_size(size, Sense::hover());
    let response = named(picture, response);
    backdrop(ui, area);
    let lens = Lens::fitting(picture.size, area.shrink(4.0), Look::default());
    paint(&ui.painter_at(area), picture, &lens, palette(ui));
    response
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
    if ui.visuals().dark_mode {
        Palette::Dark
    } else {
        Palette::Light
    }
}

fn colour(palette: Palette, ink: Ink) -> Color32 {
    let [r, g, b] = palette.rgb(ink);
    Color32::from_rgb(r, g, b)
}

fn backdrop(ui: &Ui, area: Rect) {
    let paper = colour(palette(ui), Ink::Paper);
    let edge = egui::Stroke::new(1.0, super::theme::tokens(ui).line);
    ui.painter()
        .rect(area, 8.0, paper, edge, egui::StrokeKind::Inside);
}

fn paint(painter: &Painter, picture: &Picture, lens: &Lens, palette: Palette) {
    for shape in &picture.shapes {
        paint_shape(painter, shape, lens, palette);
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
            paint_line(
                painter,
                vec![lens.point(*from), lens.point(*to)],
                stroke,
                lens,
                palette,
            );
        }
        Shape::Polyline { points, stroke } => {
            let points = points.iter().map(|p| lens.point(*p)).collect();
            paint_line(painter, points, stroke, lens, palette);
        }
        Shape::Circle {
            at,
            radius,
            stroke,
            fill,
        } => {
            painter.add(CircleShape {
                center: lens.point(*at),
                radius: radius * lens.scale,
                fill: inside(fill),
                stroke: outline(stroke),
            });
        }
        Shape::Rect {
            min,
            size,
            corner,
            stroke,
            fill,
        } => {
            let rect = Rect::from_min_size(lens.point(*min), vec2(size.0, size.1) * lens.scale);
            let corner = CornerRadius::from(corner * lens.scale);
            let kind = egui::StrokeKind::Middle;
            painter.add(RectShape::new(rect, corner, inside(fill), outline(stroke), kind));
        }
        Shape::Text {
            at,
            text,
            size,
            anchor,
            ink,
            bold,
        } => {
            let style = Lettering {
                size: size * lens.scale,
                anchor: *anchor,
                bold: *bold,
            };
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
    if style.bold {
        painter.text(at + vec2(0.4, 0.0), align, text, font, colour);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::pos2;

    #[test]
    fn a_picture_fits_and_points_go_there_and_back() {
        let area = Rect::from_min_size(pos2(100.0, 50.0), vec2(400.0, 300.0));
        let lens = Lens::fitting((800.0, 300.0), area, Look::default());
        assert!((lens.scale - 0.5).abs() < 1e-6);
        assert_eq!(lens.point((400.0, 150.0)), area.center());
        let back = lens.unit(lens.point((123.0, 45.0)));
        assert!((back.0 - 123.0).abs() < 1e-3 && (back.1 - 45.0).abs() < 1e-3);
    }

    #[test]
    fn magnifying_keeps_what_is_under_the_pointer() {
        let area = Rect::from_min_size(pos2(0.0, 0.0), vec2(400.0, 300.0));
        let mut look = Look::default();
        let pointer = pos2(310.0, 80.0);
        let before = Lens::fitting((400.0, 300.0), area, look).unit(pointer);
        zoom_about(&mut look, 2.5, pointer - area.center());
        let after = Lens::fitting((400.0, 300.0), area, look).unit(pointer);
        assert!((before.0 - after.0).abs() < 1e-3 && (before.1 - after.1).abs() < 1e-3);
    }
}
