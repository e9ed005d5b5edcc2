//! Draws plain shapes on a sheet.

use krilla::color::rgb;
use krilla::geom::{self, Path, PathBuilder};
use krilla::paint::{self, Fill, LineJoin, StrokeDash};
use krilla::surface::Surface;

use super::super::{Anchor, Ink, Palette, Point, Shape, Stroke};
use super::face::Faces;

/// How far from a corner's point a cubic curve's handles lie, so that it is nearly a quarter of a circle.
const ROUND: f32 = 0.552_284_8;
/// Width of the line that makes letters bold, as a share of their size.
const BOLD: f32 = 0.035;

/// How picture units become points on the sheet.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lens {
    pub(super) scale: f32,
    /// Where the picture's origin lies on the sheet.
    pub(super) origin: Point,
}

impl Lens {
    /// Units are points.
    pub(super) const PLAIN: Self = Self { scale: 1.0, origin: (0.0, 0.0) };

    fn at(&self, point: Point) -> Point {
        (self.origin.0 + point.0 * self.scale, self.origin.1 + point.1 * self.scale)
    }
}

/// What draws on a sheet.
pub(super) struct Pen<'a, 's> {
    pub(super) surface: &'a mut Surface<'s>,
    pub(super) faces: &'a Faces,
    pub(super) lens: Lens,
}

impl Pen<'_, '_> {
    /// Draws a shape.
    pub(super) fn draw(&mut self, shape: &Shape) {
        match shape {
            Shape::Line { from, to, stroke } => {
                self.trace(open(&[*from, *to], self.lens), None, Some(*stroke));
            }
            Shape::Polyline { points, stroke } => self.trace(open(points, self.lens), None, Some(*stroke)),
            Shape::Circle { at, radius, stroke, fill } => {
                let (min, size) = ((at.0 - radius, at.1 - radius), (2.0 * radius, 2.0 * radius));
                self.trace(rounded(min, size, *radius, self.lens), *fill, *stroke);
            }
            Shape::Rect { min, size, corner, stroke, fill } => {
                self.trace(rounded(*min, *size, *corner, self.lens), *fill, *stroke);
            }
            Shape::Text { .. } => self.write(shape),
        }
    }

    fn trace(&mut self, path: Option<Path>, inside: Option<Ink>, outline: Option<Stroke>) {
        let Some(path) = path.filter(|_| inside.is_some() || outline.is_some()) else {
            return;
        };
        self.surface.set_fill(inside.map(fill));
        self.surface.set_stroke(outline.map(|stroke| line(stroke, self.lens.scale)));
        self.surface.draw_path(&path);
    }

    fn write(&mut self, shape: &Shape) {
        let Shape::Text { at, text, size, anchor, ink, bold } = shape else {
            return;
        };
        let (at, points) = (self.lens.at((at.0, at.1 + size * 0.35)), size * self.lens.scale);
        let runs = self.faces.runs(text);
        let wide = points * runs.iter().map(|run| run.wide).sum::<f32>();
        let mut x = match anchor {
            Anchor::Start => at.0,
            Anchor::Middle => at.0 - wide / 2.0,
            Anchor::End => at.0 - wide,
        };
        self.surface.set_fill(Some(fill(*ink)));
        let heavy = Stroke::solid(*ink, points * BOLD);
        self.surface.set_stroke(bold.then(|| line(heavy, 1.0)));
        for run in runs {
            let start = geom::Point::from_xy(x, at.1);
            x += run.wide * points;
            self.surface.draw_glyphs(start, &run.glyphs, run.font, &run.text, points, false);
        }
    }
}

/// Returns the colour of an ink on white paper.
fn colour(ink: Ink) -> rgb::Color {
    let [red, green, blue] = if ink == Ink::Paper { [255; 3] } else { Palette::Light.rgb(ink) };
    rgb::Color::new(red, green, blue)
}

fn fill(ink: Ink) -> Fill {
    Fill { paint: colour(ink).into(), ..Fill::default() }
}

fn line(stroke: Stroke, scale: f32) -> paint::Stroke {
    let dash =
        stroke.dash.map(|(dash, gap)| StrokeDash { array: vec![dash * scale, gap * scale], offset: 0.0 });
    paint::Stroke {
        paint: colour(stroke.ink).into(),
        width: stroke.width * scale,
        line_join: LineJoin::Round,
        dash,
        ..paint::Stroke::default()
    }
}

fn open(points: &[Point], lens: Lens) -> Option<Path> {
    let mut path = PathBuilder::new();
    let mut points = points.iter().map(|point| lens.at(*point));
    let first = points.next()?;
    path.move_to(first.0, first.1);
    points.for_each(|(x, y)| path.line_to(x, y));
    path.finish()
}

/// Returns a rectangle with rounded corners; a circle when they meet.
fn rounded(min: Point, size: (f32, f32), corner: f32, lens: Lens) -> Option<Path> {
    let (a, b) = (lens.at(min), lens.at((min.0 + size.0, min.1 + size.1)));
    let round = (corner * lens.scale).min((b.0 - a.0) / 2.0).min((b.1 - a.1) / 2.0).max(0.0);
    let held = round * (1.0 - ROUND);
    let mut path = PathBuilder::new();
    path.move_to(a.0 + round, a.1);
    path.line_to(b.0 - round, a.1);
    path.cubic_to(b.0 - held, a.1, b.0, a.1 + held, b.0, a.1 + round);
    path.line_to(b.0, b.1 - round);
    path.cubic_to(b.0, b.1 - held, b.0 - held, b.1, b.0 - round, b.1);
    path.line_to(a.0 + round, b.1);
    path.cubic_to(a.0 + held, b.1, a.0, b.1 - held, a.0, b.1 - round);
    path.line_to(a.0, a.1 + round);
    path.cubic_to(a.0, a.1 + held, a.0 + held, a.1, a.0 + round, a.1);
    path.close();
    path.finish()
}
