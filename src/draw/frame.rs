//! Areas, and the four ways a part can face.

use super::Point;

/// The pitch of the grid that lugs and wires lie on, in picture units.
pub(super) const GRID: f32 = 10.0;

/// Returns `value` rounded up to whole steps.
pub(super) fn round_up(value: f32, step: f32) -> f32 {
    (value / step).ceil() * step
}

/// An upright rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Its upper left corner.
    pub min: Point,
    /// Its lower right corner.
    pub max: Point,
}

impl Area {
    /// Returns the rectangle with these two opposite corners.
    pub(super) fn spanned(a: Point, b: Point) -> Self {
        Self { min: (a.0.min(b.0), a.1.min(b.1)), max: (a.0.max(b.0), a.1.max(b.1)) }
    }

    pub(super) fn around(at: Point, width: f32, height: f32) -> Self {
        let (w, h) = (width / 2.0, height / 2.0);
        Self { min: (at.0 - w, at.1 - h), max: (at.0 + w, at.1 + h) }
    }

    pub(super) fn moved(self, by: Point) -> Self {
        let shift = |p: Point| (p.0 + by.0, p.1 + by.1);
        Self { min: shift(self.min), max: shift(self.max) }
    }

    /// Returns the rectangle as far from the right edge of a picture as it was from the left one.
    pub(super) fn turned_over(self, wide: f32) -> Self {
        Self { min: (wide - self.max.0, self.min.1), max: (wide - self.min.0, self.max.1) }
    }

    pub(super) fn grown(self, by: f32) -> Self {
        Self { min: (self.min.0 - by, self.min.1 - by), max: (self.max.0 + by, self.max.1 + by) }
    }

    pub(super) fn union(self, other: Self) -> Self {
        Self {
            min: (self.min.0.min(other.min.0), self.min.1.min(other.min.1)),
            max: (self.max.0.max(other.max.0), self.max.1.max(other.max.1)),
        }
    }

    pub(super) fn size(self) -> (f32, f32) {
        (self.max.0 - self.min.0, self.max.1 - self.min.1)
    }

    pub(super) fn centre(self) -> Point {
        ((self.min.0 + self.max.0) / 2.0, (self.min.1 + self.max.1) / 2.0)
    }

    pub(super) fn holds(self, p: Point) -> bool {
        p.0 > self.min.0 && p.0 < self.max.0 && p.1 > self.min.1 && p.1 < self.max.1
    }

    /// Returns by how much two areas overlap in x and in y; nothing overlaps unless both are positive.
    pub(super) fn overlap(self, other: Self) -> (f32, f32) {
        let x = self.max.0.min(other.max.0) - self.min.0.max(other.min.0);
        let y = self.max.1.min(other.max.1) - self.min.1.max(other.min.1);
        (x, y)
    }

    /// Returns the area that two areas share.
    pub(super) fn shared(self, other: Self) -> f32 {
        let (x, y) = self.overlap(other);
        x.max(0.0) * y.max(0.0)
    }
}

/// The way a part's lugs face: down, left, up or right.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Facing {
    along: Point,
    out: Point,
}

impl Facing {
    /// Returns the facing nearest to a clockwise turn in degrees; unturned lugs face down.
    pub(super) fn turned(degrees: f32) -> Self {
        let quarter = (degrees / 90.0).round().rem_euclid(4.0);
        let (along, out) = match quarter as u8 {
            0 => ((1.0, 0.0), (0.0, 1.0)),
            1 => ((0.0, 1.0), (-1.0, 0.0)),
            2 => ((-1.0, 0.0), (0.0, -1.0)),
            _ => ((0.0, -1.0), (1.0, 0.0)),
        };
        Self { along, out }
    }

    /// Returns the facing nearest to a direction.
    pub(super) fn towards(way: Point) -> Self {
        let sideways = if way.0 > 0.0 { 270.0 } else { 90.0 };
        let upright = if way.1 < 0.0 { 180.0 } else { 0.0 };
        Self::turned(if way.0.abs() >= way.1.abs() { sideways } else { upright })
    }

    /// Whether lugs stand side by side, so that their names need room sideways.
    pub(super) fn upright(self) -> bool {
        self.out.0 == 0.0
    }

    /// Returns the point `along` the row of lugs and `out` towards where they face.
    pub(super) fn at(self, along: f32, out: f32) -> Point {
        (self.along.0 * along + self.out.0 * out, self.along.1 * along + self.out.1 * out)
    }

    /// Returns the area between two points given as `(along, out)`.
    pub(super) fn area(self, a: Point, b: Point) -> Area {
        Area::spanned(self.at(a.0, a.1), self.at(b.0, b.1))
    }
}
