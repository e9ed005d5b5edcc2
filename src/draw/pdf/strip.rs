//! What a document is set as: strips from margin to margin that are never cut.

use super::super::{Point, Shape};

/// A piece of a document that stays on one page.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Strip {
    /// Its height in points.
    pub(super) high: f32,
    /// Room above it, which is left out at the top of a page.
    pub(super) above: f32,
    /// Whether it must not be the last on its page.
    pub(super) keep: bool,
    /// The strip that is printed again above it when it is the first on its page.
    pub(super) head: Option<usize>,
    /// Whether it is on a lying page.
    pub(super) lying: bool,
    /// What is on it, in reading order.
    pub(super) parts: Vec<Part>,
}

/// Where something belongs in the document: which block, and which row and column of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Spot {
    pub(super) block: usize,
    pub(super) row: usize,
    pub(super) column: usize,
}

/// One thing on a strip; points count from the strip's upper left corner.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Part {
    /// Lines and grounds that only help the eye.
    Paint(Shape),
    /// Words, one shape a line.
    Words {
        /// Where they belong.
        spot: Spot,
        /// The lines.
        lines: Vec<Shape>,
    },
    /// The picture or the image of a block.
    Drawing {
        /// Where it belongs; its block holds it.
        spot: Spot,
        /// Its upper left corner.
        at: Point,
        /// Its width and height in points.
        size: (f32, f32),
    },
}
