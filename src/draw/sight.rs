//! From which side, and of which hand, a wiring is drawn.
//!
//! A plan is made as a right-handed instrument is seen from behind; looking from the front and building it left-handed
//! each turn it over once, about its upright middle line. Only places are turned over: letters stay upright.

use super::Point;
use super::layout::Plan;
use super::part::{Lug, Sketch};
use super::wire::Route;

/// How an instrument is looked at.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Sight {
    /// Whether it is seen from the front, as through its top.
    pub from_front: bool,
    /// Whether it is built left-handed: everything lies the other way round, each lug with its function.
    pub left_handed: bool,
}

impl Sight {
    /// Returns whether everything lies the other way round than in a right-handed instrument seen from behind.
    pub const fn mirrored(self) -> bool {
        self.from_front != self.left_handed
    }

    /// Returns it as the legend says it.
    pub(super) const fn drawn(self) -> &'static str {
        match (self.from_front, self.left_handed) {
            (false, false) => "all drawn as seen from behind",
            (true, false) => "all drawn as seen from the front",
            (false, true) => "all drawn left-handed, seen from behind",
            (true, true) => "all drawn left-handed, seen from the front",
        }
    }

    /// Returns it in words, such as `left-handed, seen from behind`.
    pub const fn says(self) -> &'static str {
        match (self.from_front, self.left_handed) {
            (false, false) => "seen from behind",
            (true, false) => "seen from the front",
            (false, true) => "left-handed, seen from behind",
            (true, true) => "left-handed, seen from the front",
        }
    }
}

impl Plan {
    /// Returns the same wiring looked at another way; its wires cross no more and no less.
    pub fn seen(&self, sight: Sight) -> Self {
        let turned = Self { sight, ..self.clone() };
        if sight.mirrored() == self.sight.mirrored() { turned } else { turned.turned_over() }
    }

    fn turned_over(mut self) -> Self {
        let wide = self.size.0;
        self.parts = self.parts.into_iter().map(|part| part.turned_over(wide)).collect();
        self.points.iter_mut().for_each(|point| turn_over(point, wide));
        self.routes.iter_mut().for_each(|route| route.turn_over(wide));
        self
    }
}

impl Sketch {
    fn turned_over(mut self, wide: f32) -> Self {
        self.lugs.iter_mut().for_each(|lug| lug.turn_over(wide));
        self.body = self.body.turned_over(wide);
        self.caption = self.caption.map(|area| area.turned_over(wide));
        self.area = self.area.turned_over(wide);
        for shapes in [&mut self.under, &mut self.over] {
            *shapes = std::mem::take(shapes).into_iter().map(|shape| shape.turned_over(wide)).collect();
        }
        self
    }
}

impl Lug {
    fn turn_over(&mut self, wide: f32) {
        turn_over(&mut self.at, wide);
        self.out.0 = -self.out.0;
    }
}

impl Route {
    fn turn_over(&mut self, wide: f32) {
        let ends = self.sleeve.iter_mut().flat_map(|(sleeve, tail)| [sleeve, tail]);
        let lines = std::iter::once(&mut self.line).chain(ends);
        lines.flatten().for_each(|point| turn_over(point, wide));
    }
}

/// Puts a point as far from the right edge of a picture as it was from the left one.
pub(super) fn turn_over(point: &mut Point, wide: f32) {
    point.0 = wide - point.0;
}
