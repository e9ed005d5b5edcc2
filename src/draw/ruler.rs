//! A logarithmic ohm scale with the bands that suspects predict and the reading as a needle.

use super::frame::Area;
use super::shape::text_width;
use super::{Anchor, Ink, Picture, Point, Shape, Stroke};
use crate::units::{Ohms, show_percent};

/// The lower end of the scale, in ohms.
const LOW: f64 = 0.1;
/// The upper end of the scale, in ohms.
const HIGH: f64 = 20e6;
/// Share of the width that over range takes at the right end.
const OVER: f32 = 0.09;
/// Free room at both sides.
const SIDE: f32 = 26.0;
/// Letters on the ruler.
const SMALL: f32 = 13.0;

/// A span of readings on the ruler.
#[derive(Clone, Debug, PartialEq)]
pub struct RulerBand {
    /// What would read so.
    pub label: String,
    /// Its lower end; `None` when even that is over range.
    pub low: Option<Ohms>,
    /// Its upper end; `None` when it is over range.
    pub high: Option<Ohms>,
    /// How probable it is, 0 to 1: shown by the height of the band and in words; `None` for what is no suspect but what a
    /// healthy instrument reads, drawn as an outline.
    pub weight: Option<f64>,
}

impl RulerBand {
    /// Returns what is written beside it: its label, and how probable it is.
    fn words(&self) -> String {
        self.weight.map_or_else(|| self.label.clone(), |w| format!("{} ({})", self.label, show_percent(w)))
    }
}

/// A reading on the ruler.
#[derive(Clone, Debug, PartialEq)]
pub struct RulerNeedle {
    /// The value, or the lowest and the highest that were seen; `None` for over range.
    pub values: Vec<Option<Ohms>>,
    /// The values in words, such as `7.42 kΩ`.
    pub label: String,
}

/// Draws bands and a needle on a logarithmic scale from 0.1 Ω to 20 MΩ with over range (OL) at its right end.
pub fn ruler(bands: &[RulerBand], needle: Option<RulerNeedle>, width: f32, height: f32) -> Picture {
    let scale = Scale { width, axis: height - 26.0 };
    let top = if needle.is_some() { 24.0 } else { 6.0 };
    let mut shapes = scale.axis(top - 2.0);
    let row = (scale.axis - 4.0 - top) / bands.len().max(1) as f32;
    for (index, band) in bands.iter().enumerate() {
        shapes.extend(scale.band(band, top + index as f32 * row, row));
    }
    let about = words(bands, needle.as_ref());
    shapes.extend(needle.iter().flat_map(|needle| scale.needle(needle)));
    let title = "what each suspect would read".to_owned();
    Picture { title, about, size: (width, height), shapes, hits: Vec::new() }
}

fn words(bands: &[RulerBand], needle: Option<&RulerNeedle>) -> String {
    let band = |b: &RulerBand| match b.weight {
        Some(weight) => format!("{}: {}.", b.label, show_percent(weight)),
        None => format!("{}.", b.label),
    };
    let reading = needle.map(|n| format!("Reading: {}.", n.label));
    bands.iter().map(band).chain(reading).collect::<Vec<_>>().join(" ")
}

struct Scale {
    width: f32,
    axis: f32,
}

impl Scale {
    /// Returns where the scale ends and over range begins.
    fn end(&self) -> f32 {
        self.width - SIDE - (self.width - 2.0 * SIDE) * OVER
    }

    /// Returns where a value lies; too small a value lies at the left end.
    fn x(&self, ohms: Option<Ohms>) -> f32 {
        let Some(ohms) = ohms.filter(|o| o.get() <= HIGH) else {
            return self.width - SIDE;
        };
        let share = (ohms.get().max(LOW) / LOW).log10() / (HIGH / LOW).log10();
        SIDE + share as f32 * (self.end() - SIDE)
    }

    /// Returns the scale with its marks; over range is parted off from `top` on, below the words of a needle.
    fn axis(&self, top: f32) -> Vec<Shape> {
        let line = |from, to, width| Shape::Line { from, to, stroke: Stroke::solid(Ink::Part, width) };
        let mut shapes = vec![line((SIDE, self.axis), (self.width - SIDE, self.axis), 2.0)];
        let decades =
            [(0.1, "0.1 Ω"), (1.0, "1 Ω"), (10.0, "10 Ω"), (100.0, "100 Ω"), (1e3, "1 kΩ"), (1e4, "10 kΩ")];
        let more = [(1e5, "100 kΩ"), (1e6, "1 MΩ"), (1e7, "10 MΩ")];
        let room = (self.end() - SIDE) / 8.3;
        let middle = (self.end() + self.width - SIDE) / 2.0;
        let free = middle - text_width("OL", SMALL) / 2.0 - 4.0;
        for (index, (value, name)) in decades.into_iter().chain(more).enumerate() {
            let x = self.x(Some(Ohms::new(value)));
            shapes.push(line((x, self.axis), (x, self.axis + 7.0), 1.5));
            let ends = x + text_width(name, SMALL) / 2.0;
            if ends <= free && (index % 2 == 0 || room > 60.0) {
                shapes.push(label((x, self.axis + 16.0), name, Anchor::Middle));
            }
        }
        shapes.push(label((middle, self.axis + 16.0), "OL", Anchor::Middle));
        let divide = Stroke::dashed(Ink::Part, 1.5, 3.0, 3.0);
        shapes.push(Shape::Line { from: (self.end(), top), to: (self.end(), self.axis), stroke: divide });
        shapes
    }

    fn band(&self, band: &RulerBand, top: f32, row: f32) -> Vec<Shape> {
        let left = if band.low.is_none_or(|o| o.get() > HIGH) { self.end() } else { self.x(band.low) };
        let right = self.x(band.high).max(left + 4.0);
        let bar = row * (0.25 + 0.6 * band.weight.unwrap_or(0.5).clamp(0.0, 1.0) as f32);
        let area = Area::spanned((left, top + (row - bar) / 2.0), (right, top + (row + bar) / 2.0));
        let words = band.words();
        let at = (self.beside(left, right, &words), top + row / 2.0);
        let mut shapes = vec![Shape::Rect {
            min: area.min,
            size: area.size(),
            corner: 2.0,
            stroke: Some(Stroke::solid(Ink::Part, 1.2)),
            fill: band.weight.map(|_| Ink::Band),
        }];
        shapes.extend(self.cleared(at, (left, right), &words, row));
        shapes.push(label(at, &words, Anchor::Start));
        shapes
    }

    /// Returns where the words of a band begin: behind it, before it, or in its middle where neither side has room.
    fn beside(&self, left: f32, right: f32, words: &str) -> f32 {
        let wide = text_width(words, SMALL);
        if right + 6.0 + wide <= self.width {
            right + 6.0
        } else if left - 6.0 - wide >= 0.0 {
            left - 6.0 - wide
        } else {
            ((left + right - wide) / 2.0).min(self.width - wide).max(0.0)
        }
    }

    /// Returns the paper under words that lie on their band, or on the line before over range.
    fn cleared(&self, at: Point, band: (f32, f32), words: &str, row: f32) -> Option<Shape> {
        let (from, to) = (at.0 - 2.0, at.0 + text_width(words, SMALL) + 2.0);
        let crosses = from < self.end() && to > self.end();
        let lies = from < band.1 && to > band.0;
        let (tall, fill) = (row.min(SMALL + 3.0), Some(Ink::Paper));
        let (min, size) = ((from, at.1 - tall / 2.0), (to - from, tall));
        (crosses || lies).then_some(Shape::Rect { min, size, corner: 0.0, stroke: None, fill })
    }

    /// Returns where the point of a needle is.
    fn point(&self, ohms: Option<Ohms>) -> f32 {
        let over = ohms.is_none_or(|o| o.get() > HIGH);
        if over { (self.end() + self.width - SIDE) / 2.0 } else { self.x(ohms) }
    }

    fn needle(&self, needle: &RulerNeedle) -> Vec<Shape> {
        let points: Vec<f32> = needle.values.iter().map(|ohms| self.point(*ohms)).collect();
        let (Some(first), Some(last)) = (points.first(), points.last()) else { return Vec::new() };
        let half = text_width(&needle.label, SMALL + 2.0) / 2.0 + 4.0;
        let middle = (first + last) / 2.0;
        let at = (middle.clamp(half, (self.width - half).max(half)), 12.0);
        let (text, ink) = (needle.label.clone(), Ink::Needle);
        let mut shapes: Vec<Shape> = points.iter().flat_map(|x| self.pointer(*x)).collect();
        if first != last {
            shapes.push(stroke((*first, 22.0), (*last, 22.0)));
        }
        shapes.push(Shape::Text { at, text, size: SMALL + 2.0, anchor: Anchor::Middle, ink, bold: true });
        shapes
    }

    fn pointer(&self, x: f32) -> [Shape; 3] {
        let tip = (x, self.axis);
        let barb = |off: f32| stroke((x + off, self.axis - 10.0), tip);
        [stroke((x, 22.0), tip), barb(-6.0), barb(6.0)]
    }
}

fn stroke(from: Point, to: Point) -> Shape {
    Shape::Line { from, to, stroke: Stroke::solid(Ink::Needle, 3.0) }
}

fn label(at: Point, text: &str, anchor: Anchor) -> Shape {
    Shape::Text { at, text: text.to_owned(), size: SMALL, anchor, ink: Ink::Label, bold: false }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    /// Returns the words on a ruler with where they begin and end.
    fn words(picture: &Picture) -> Vec<(String, f32, f32)> {
        let span = |shape: &Shape| match shape {
            Shape::Text { at, text, size, anchor, .. } => {
                let wide = text_width(text, *size);
                let from = match anchor {
                    Anchor::Start => at.0,
                    Anchor::Middle => at.0 - wide / 2.0,
                    Anchor::End => at.0 - wide,
                };
                Some((text.clone(), from, from + wide))
            }
            _ => None,
        };
        picture.shapes.iter().filter_map(span).collect()
    }

    #[rstest]
    fn no_words_are_cut_at_the_edges(#[values(220.0, 300.0, 380.0, 700.0)] width: f32) {
        let ohms = |value: f64| Some(Ohms::new(value));
        let ends = [(ohms(0.1), None), (ohms(0.1), ohms(1e6)), (ohms(7e3), ohms(8e3)), (None, None)];
        let bands =
            ends.map(|(low, high)| RulerBand { label: "1".to_owned(), low, high, weight: Some(0.21) });
        let needle = RulerNeedle { values: vec![None], label: "over range".to_owned() };
        let drawn = ruler(&bands, Some(needle), width, 106.0);
        for (text, from, to) in words(&drawn) {
            assert!(from >= 0.0 && to <= width, "{text} lies from {from} to {to} of {width}");
        }
    }

    #[rstest]
    fn the_last_mark_and_over_range_are_told_apart(#[values(220.0, 300.0, 380.0, 700.0)] width: f32) {
        let all = words(&ruler(&[], None, width, 60.0));
        let over = all.iter().find(|(text, _, _)| text == "OL").unwrap();
        let last = all.iter().filter(|(text, _, _)| text != "OL").map(|(_, _, to)| *to).fold(0.0, f32::max);
        assert!(last < over.1, "the last mark ends at {last}, OL begins at {}", over.1);
    }

    #[test]
    fn the_line_before_over_range_leaves_the_words_of_the_needle_alone() {
        let needle = RulerNeedle { values: vec![None], label: "over range".to_owned() };
        let drawn = ruler(&[], Some(needle), 380.0, 60.0);
        let top = |shape: &Shape| match shape {
            Shape::Line { from, to, stroke } if stroke.ink == Ink::Part && from.0 == to.0 => {
                Some(from.1.min(to.1))
            }
            _ => None,
        };
        let highest = drawn.shapes.iter().filter_map(top).fold(f32::INFINITY, f32::min);
        assert!(highest >= 12.0 + (SMALL + 2.0) / 2.0, "{highest}");
    }
}
