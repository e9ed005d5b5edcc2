//! The lines between the boxes: smooth, the thicker the more faults go along them.

use super::super::frame::Area;
use super::super::{Ink, Point, Shape, Stroke};
use super::graph::{Link, Node, What};
use super::piece::{Drawing, Piece};

/// Width of a line: without a share or with none, what a whole adds, and what the job's own way adds.
const WIDTH: (f32, f32, f32) = (1.6, 10.0, 3.0);
/// So many straight stretches make a bow.
const STRETCHES: usize = 12;
/// Length of an arrow's head and half its height.
const HEAD: (f32, f32) = (9.0, 5.0);

/// Draws a line between two places.
pub(super) fn way(link: &Link, from: &Node, to: &Node) -> Piece {
    let points = points(link, from, to);
    let stroke = stroke(link);
    let near = if to.what == What::Bend { Vec::new() } else { vec![head(&points, stroke)] };
    let area = around(&points).grown(HEAD.0 + stroke.width);
    Piece::new(area, Drawing { far: vec![Shape::Polyline { points, stroke }], middle: Vec::new(), near })
}

fn stroke(link: &Link) -> Stroke {
    let width = WIDTH.0 + WIDTH.1 * link.share.unwrap_or(0.0).clamp(0.0, 1.0) as f32;
    if link.taken { Stroke::solid(Ink::Needle, width + WIDTH.2) } else { Stroke::solid(Ink::Wire, width) }
}

/// Returns the points of a line: level at both ends, and level through a column that it passes.
fn points(link: &Link, from: &Node, to: &Node) -> Vec<Point> {
    let begin = (from.at.0 + from.wide, from.at.1 + link.port);
    let end = (to.at.0, to.at.1 + to.entry());
    let mut points = Vec::new();
    if from.what == What::Bend {
        points.push((from.at.0, begin.1));
    }
    points.push(begin);
    if (begin.1 - end.1).abs() > 0.5 || end.0 < begin.0 {
        points.extend((1..STRETCHES).map(|step| bow(begin, end, step as f32 / STRETCHES as f32)));
    }
    points.push(end);
    points
}

/// Returns the point at a share of a cubic curve that leaves and arrives level.
fn bow(begin: Point, end: Point, share: f32) -> Point {
    let reach = ((end.0 - begin.0) / 2.0).clamp(40.0, 400.0);
    let (t, u) = (share, 1.0 - share);
    let [a, b, c, d] = [u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t];
    let x = a * begin.0 + b * (begin.0 + reach) + c * (end.0 - reach) + d * end.0;
    (x, (a + b) * begin.1 + (c + d) * end.1)
}

/// Returns the head of an arrow at the last of these points.
fn head(points: &[Point], stroke: Stroke) -> Shape {
    let (x, y) = points.last().copied().unwrap_or((0.0, 0.0));
    let points = vec![(x - HEAD.0, y - HEAD.1), (x, y), (x - HEAD.0, y + HEAD.1)];
    Shape::Polyline { points, stroke: Stroke { width: 2.0, ..stroke } }
}

fn around(points: &[Point]) -> Area {
    let first = points.first().copied().unwrap_or((0.0, 0.0));
    let spot = |point: &Point| Area { min: *point, max: *point };
    points.iter().map(spot).fold(Area { min: first, max: first }, Area::union)
}
