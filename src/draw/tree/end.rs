//! The box of an end: each kind has an outline of its own and is named in words.

use super::super::frame::Area;
use super::super::letters::Letters;
use super::super::part::block;
use super::super::{Anchor, Ink, Point, Shape, Stroke};
use super::card::{frame, lines, paragraph};
use super::piece::{Drawing, label};
use super::words;
use crate::trees::Then;

/// Width of an end's box.
pub(super) const WIDE: f32 = 270.0;
/// Width of the hatched edge of a suspect and of the second line of another tree.
const EDGE: f32 = 12.0;
const PAD: f32 = 12.0;
const HEAD: Letters = Letters::bold(14.0);
const BODY: Letters = Letters::plain(13.0);
/// The most lines of what is suspected, and of where.
const MOST: [usize; 2] = [8, 4];

/// What kind of end it is.
#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Advisor,
    Suspect,
    Tree,
    Elsewhere,
}

/// The box of an end.
pub(super) struct End {
    kind: Kind,
    head: &'static str,
    body: Vec<String>,
    /// Its height.
    pub(super) high: f32,
}

impl End {
    /// Returns the box of an end; `None` when the way leads to a step.
    pub(super) fn of(then: &Then) -> Option<Self> {
        let kind = match then {
            Then::Step(_) => return None,
            Then::Advisor => Kind::Advisor,
            Then::Suspect(_) => Kind::Suspect,
            Then::Tree(_) => Kind::Tree,
            Then::NotTheInstrument => Kind::Elsewhere,
        };
        let words = words::end(then)?;
        let room = WIDE - 2.0 * PAD - 2.0 * EDGE;
        let mut body = BODY.wrapped(&words.says, room, MOST[0]);
        if !words.at.is_empty() {
            body.extend(BODY.wrapped(&format!("at: {}", words.at), room, MOST[1]));
        }
        let high = 2.0 * PAD + HEAD.size * 1.3 + lines(&body, BODY);
        Some(Self { kind, head: words.head, body, high })
    }

    /// Draws the box with its upper left corner at `at`.
    pub(super) fn draw(&self, at: Point) -> Drawing {
        let area = Area { min: at, max: (at.0 + WIDE, at.1 + self.high) };
        let (left, top) = (at.0 + PAD + EDGE, at.1 + PAD);
        let head = label((left, top + HEAD.size * 0.65), self.head, HEAD, Anchor::Start);
        let near = paragraph((left, top + HEAD.size * 1.3), &self.body, BODY);
        Drawing { far: self.outline(area), middle: vec![head], near }
    }

    fn outline(&self, area: Area) -> Vec<Shape> {
        let line = Stroke::solid(Ink::Part, 1.8);
        match self.kind {
            Kind::Advisor => {
                let dashes = Stroke::dashed(Ink::Part, 1.5, 6.0, 4.0);
                vec![block(area, 0.0, Ink::Paper, None), frame(area, dashes)]
            }
            Kind::Elsewhere => vec![block(area, area.size().1 / 2.0, Ink::Paper, Some(line))],
            Kind::Tree => {
                let inner = Area { min: (area.min.0 + EDGE / 2.0, area.min.1), max: area.max };
                vec![block(area, 0.0, Ink::Paper, Some(line)), block(inner, 0.0, Ink::Paper, Some(line))]
            }
            Kind::Suspect => {
                let stroke = Stroke::solid(Ink::Suspect, 2.4);
                let mut shapes = vec![block(area, 0.0, Ink::Paper, Some(stroke))];
                shapes.extend(hatching(area));
                shapes
            }
        }
    }
}

/// Returns slanted lines along the left edge of an area.
fn hatching(area: Area) -> Vec<Shape> {
    let stroke = Stroke::solid(Ink::Suspect, 1.0);
    let (left, right) = (area.min.0 + 1.0, area.min.0 + EDGE);
    let count = (area.size().1 / EDGE).floor().max(1.0) as usize;
    let slant = |index: usize| {
        let top = area.min.1 + index as f32 * EDGE;
        Shape::Line { from: (left, top + EDGE), to: (right, top), stroke }
    };
    let edge = Shape::Line { from: (right, area.min.1), to: (right, area.max.1), stroke };
    (0..count).map(slant).chain([edge]).collect()
}
