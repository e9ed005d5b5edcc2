//! What a diagram is made of: pieces that are drawn the fuller, the nearer they are seen.

use super::super::frame::Area;
use super::super::letters::Letters;
use super::super::{Anchor, Ink, Point, Shape};

/// How much of a diagram is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Detail {
    /// Boxes and ways alone.
    Boxes,
    /// Headings too.
    Headings,
    /// Everything.
    Everything,
}

impl Detail {
    /// Returns what can be made out where one unit of the picture is so many points on the screen.
    pub fn at_scale(scale: f32) -> Self {
        match scale {
            s if s < 0.25 => Self::Boxes,
            s if s < 0.45 => Self::Headings,
            _ => Self::Everything,
        }
    }
}

/// A part of a diagram that is drawn as a whole: a line, a step's box, an end's box.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    pub(super) area: Area,
    pub(super) shapes: Vec<Shape>,
    far: usize,
    middle: usize,
}

impl Piece {
    pub(super) fn new(area: Area, drawing: Drawing) -> Self {
        let (far, middle) = (drawing.far.len(), drawing.far.len() + drawing.middle.len());
        let mut shapes = drawing.far;
        shapes.extend(drawing.middle);
        shapes.extend(drawing.near);
        Self { area, shapes, far, middle }
    }

    /// Returns the area within which it is drawn.
    pub fn area(&self) -> Area {
        self.area
    }

    /// Returns its shapes, the lowest first.
    pub fn shapes(&self, detail: Detail) -> &[Shape] {
        let count = match detail {
            Detail::Boxes => self.far,
            Detail::Headings => self.middle,
            Detail::Everything => self.shapes.len(),
        };
        self.shapes.get(..count).unwrap_or(&[])
    }
}

/// Shapes by how near they must be to be worth drawing.
#[derive(Default)]
pub(super) struct Drawing {
    pub(super) far: Vec<Shape>,
    pub(super) middle: Vec<Shape>,
    pub(super) near: Vec<Shape>,
}

impl Drawing {
    /// Returns it as something looks that is not used.
    pub(super) fn dimmed(self) -> Self {
        let dim = |shapes: Vec<Shape>| shapes.into_iter().map(Shape::dimmed).collect();
        Self { far: dim(self.far), middle: dim(self.middle), near: dim(self.near) }
    }
}

/// Returns one line of text.
pub(super) fn label(at: Point, words: &str, letters: Letters, anchor: Anchor) -> Shape {
    let text = words.to_owned();
    Shape::Text { at, text, size: letters.size, anchor, ink: Ink::Label, bold: letters.bold }
}
