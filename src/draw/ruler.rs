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
    let mut shapes = scale.axis();
    let top = if needle.is_some() { 24.0 } else { 6.0 };
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

    fn axis(&self) -> Vec<Shape> {
        let line = |from, to, width| Shape::Line { from, to, stroke: Stroke::solid(Ink::Part, width) };
        let mut shapes = vec![line((SIDE, self.axis), (self.width - SIDE, self.axis), 2.0)];
        let decades =
            [(0.1, "0.1 Ω"), (1.0, "1 Ω"), (10.0, "10 Ω"), (100.0, "100 Ω"), (1e3, "1 kΩ"), (1e4, "10 kΩ")];
        let more = [(1e5, "100 kΩ"), (1e6, "1 MΩ"), (1e7, "10 MΩ")];
        let room = (self.end() - SIDE) / 8.3;
        for (index, (value, name)) in decades.into_iter().chain(more).enumerate() {
            let x = self.x(Some(Ohms::new(value)));
            shapes.push(line((x, self.axis), (x, self.axis + 7.0), 1.5));
            if index % 2 == 0 || room > 60.0 {
                shapes.push(label((x, self.axis + 16.0), name, Anchor::Middle));
            }
        }
        let middle = (self.end() + self.width - SIDE) / 2.0;
        shapes.push(label((middle, self.axis + 16.0), "OL", Anchor::Middle));
        let divide = Stroke::dashed(Ink::Part, 1.5, 3.0, 3.0);
        shapes.push(Shape::Line { from: (self.end(), 4.0), to: (self.end(), self.axis), stroke: divide });
        shapes
    }

    fn band(&self, band: &RulerBand, top: f32, row: f32) -> Vec<Shape> {
        let left = if band.low.is_none_or(|o| o.get() > HIGH) { self.end() } else { self.x(band.low) };
        let right = self.x(band.high).max(left + 4.0);
        let bar = row * (0.25 + 0.6 * band.weight.unwrap_or(0.5).clamp(0.0, 1.0) as f32);
        let area = Area::spanned((left, top + (row - bar) / 2.0), (right, top + (row + bar) / 2.0));
        let words = band.words();
        let (at, anchor) = self.beside(left, right, top + row / 2.0, &words);
        vec![
            Shape::Rect {
                min: area.min,
                size: area.size(),
                corner: 2.0,
                stroke: Some(Stroke::solid(Ink::Part, 1.2)),
                fill: band.weight.map(|_| Ink::Band),
            },
            label(at, &words, anchor),
        ]
    }

    /// Returns where the words of a band go: on the side with more room.
    fn beside(&self, left: f32, right: f32, y: f32, words: &str) -> (Point, Anchor) {
        let after = self.width - SIDE - right;
        if text_width(words, SMALL) + 8.0 <= after || after >= left {
            ((right + 6.0, y), Anchor::Start)
        } else {
            ((left - 6.0, y), Anchor::End)
        }
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
