//! Levels over frequency as lines: each with its own stroke and its own name, so that colour is never needed.

use super::frame::Area;
use super::shape::text_width;
use super::{Anchor, Ink, Picture, Point, Shape, Stroke};
use crate::units::Hertz;

/// The ends of the frequency axis, in hertz.
const LOW: f64 = 40.0;
const HIGH: f64 = 15_000.0;
/// The least and the most that the level axis spans, in decibels; what lies lower runs along the lower edge.
const LEAST: f64 = 20.0;
const MOST: f64 = 70.0;
/// Two numbers of the level axis stand at least this far apart.
const ROW: f32 = 18.0;
/// Letters of the plot.
const SMALL: f32 = 13.0;
/// Room for the axes' numbers, and above for the names of the two places that are judged.
const LEFT: f32 = 46.0;
const ABOVE: f32 = 24.0;
const BELOW: f32 = 44.0;
/// The frequencies with a line, their names, and whether the name stands there also when room is short.
const TICKS: [(f64, &str, bool); 8] = [
    (50.0, "50", false),
    (100.0, "100", true),
    (200.0, "200", false),
    (500.0, "500", true),
    (1e3, "1 k", true),
    (2e3, "2 k", false),
    (5e3, "5 k", false),
    (1e4, "10 k", true),
];
/// Two names stand at least this far apart.
const APART: f32 = 16.0;
/// How far above the lower edge the lowest name stays, so that it does not touch the unit below.
const ABOVE_HERTZ: f32 = 5.0;
/// Length of a stroke in the legend.
const SAMPLE: f32 = 34.0;

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlotStyle {
    /// Unbroken: what it should be.
    Solid,
    /// Dashed: what is suspected.
    Dashed,
}

/// One line of a plot.
#[derive(Clone, Debug, PartialEq)]
pub struct PlotLine {
    /// Its name, which stands at its end.
    pub label: String,
    /// How it is drawn.
    pub style: PlotStyle,
    /// Its points: frequency and decibels, in rising order.
    pub points: Vec<(Hertz, f64)>,
}

/// Draws lines over a logarithmic frequency axis from 40 Hz to 15 kHz, with decibels upwards.
///
/// `title` and `about` are told to those who cannot see it; the peaks of the lines are added in words.
pub fn plot(title: &str, about: &str, lines: &[PlotLine], width: f32, height: f32) -> Picture {
    let axes = Axes::new(lines, width, height);
    let mut shapes = axes.grid();
    shapes.extend(axes.places());
    shapes.extend(lines.iter().filter_map(|line| axes.line(line)));
    shapes.extend(axes.names(lines));
    shapes.extend(axes.legend(lines, width));
    let told = lines.iter().map(words).collect::<Vec<_>>().join(" ");
    let about = format!("{about} {told}").trim().to_owned();
    Picture { title: title.to_owned(), about, size: (width, height), shapes, hits: Vec::new() }
}

/// Returns a frequency as people say it: `250 Hz`, `3.71 kHz`.
pub fn hertz_in_words(hertz: Hertz) -> String {
    let value = hertz.get();
    let figures = |number: f64| {
        let decimals = if number < 9.995 { 2 } else { usize::from(number < 99.95) };
        let text = format!("{number:.decimals$}");
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
    };
    if value < 999.5 { format!("{} Hz", figures(value)) } else { format!("{} kHz", figures(value / 1e3)) }
}

/// Says where a line is highest and where it ends.
fn words(line: &PlotLine) -> String {
    let top = line.points.iter().max_by(|a, b| a.1.total_cmp(&b.1));
    let Some((top, last)) = top.zip(line.points.last()) else { return format!("{}: nothing.", line.label) };
    let at = |point: &(Hertz, f64)| format!("{:.1} dB at {}", point.1, hertz_in_words(point.0));
    format!("{}: highest {}, {}.", line.label, at(top), at(last))
}

struct Axes {
    area: Area,
    top: f64,
    bottom: f64,
    /// Whether something lies below the axis.
    cut: bool,
}

impl Axes {
    fn new(lines: &[PlotLine], width: f32, height: f32) -> Self {
        let levels = || lines.iter().flat_map(|line| &line.points).map(|point| point.1);
        let highest = levels().fold(f64::NEG_INFINITY, f64::max);
        let lowest = levels().fold(f64::INFINITY, f64::min);
        let top = if highest.is_finite() { ((highest + 1.0) / 10.0).ceil() * 10.0 } else { 10.0 };
        let span = ((top - lowest) / 10.0).ceil() * 10.0;
        let bottom = top - if span.is_finite() { span.clamp(LEAST, MOST) } else { LEAST };
        let names = lines.iter().map(|line| text_width(&line.label, SMALL)).fold(0.0, f32::max);
        let right = (width - names - 14.0).max(width / 2.0);
        let area = Area::spanned((LEFT, ABOVE), (right, height - BELOW));
        Self { area, top, bottom, cut: lowest < bottom }
    }

    fn x(&self, hertz: f64) -> f32 {
        let share = (hertz.clamp(LOW, HIGH) / LOW).ln() / (HIGH / LOW).ln();
        self.area.min.0 + share as f32 * self.area.size().0
    }

    /// Returns the height of a level; what lies beyond the axis lies on its edge.
    fn y(&self, decibels: f64) -> f32 {
        let share = (self.top - decibels.clamp(self.bottom, self.top)) / (self.top - self.bottom);
        self.area.min.1 + share as f32 * self.area.size().1
    }

    fn grid(&self) -> Vec<Shape> {
        let mut shapes = Vec::new();
        let rows = ((self.top - self.bottom) / 10.0) as f32;
        let step = if self.area.size().1 / rows < ROW { 20.0 } else { 10.0 };
        let up = |k: i32| self.bottom + step * f64::from(k);
        for level in (0..).map(up).take_while(|&level| level <= self.top + 0.1) {
            let y = self.y(level);
            shapes.push(rule((self.area.min.0, y), (self.area.max.0, y), 0.8));
            let sign = if self.cut && level == self.bottom { "≤ " } else { "" };
            let number = format!("{sign}{level:.0}").replace('-', "−");
            shapes.push(label((self.area.min.0 - 6.0, y), &number, Anchor::End));
        }
        shapes.push(label((self.area.min.0 - 6.0, ABOVE / 2.0), "dB", Anchor::End));
        let roomy = self.area.size().0 > 300.0;
        for (hertz, name, always) in TICKS {
            let x = self.x(hertz);
            shapes.push(rule((x, self.area.min.1), (x, self.area.max.1), if always { 0.8 } else { 0.4 }));
            if always || roomy {
                shapes.push(label((x, self.area.max.1 + 11.0), name, Anchor::Middle));
            }
        }
        shapes.push(label((self.area.max.0 + 6.0, self.area.max.1 + 11.0), "Hz", Anchor::Start));
        let frame = Stroke::solid(Ink::Part, 1.2);
        let (min, size) = (self.area.min, self.area.size());
        shapes.push(Shape::Rect { min, size, corner: 0.0, stroke: Some(frame), fill: None });
        shapes
    }

    /// Marks the two places where the sound is judged.
    fn places(&self) -> Vec<Shape> {
        let place = |(hertz, name): (f64, &str)| {
            let x = self.x(hertz);
            let stroke = Stroke::dashed(Ink::Part, 1.2, 2.0, 4.0);
            let line = Shape::Line { from: (x, self.area.min.1 - 4.0), to: (x, self.area.max.1), stroke };
            [line, label((x, ABOVE / 2.0), name, Anchor::Middle)]
        };
        [(250.0, "level"), (3000.0, "treble")].into_iter().flat_map(place).collect()
    }

    fn line(&self, line: &PlotLine) -> Option<Shape> {
        let points: Vec<Point> = line.points.iter().map(|p| (self.x(p.0.get()), self.y(p.1))).collect();
        (points.len() > 1).then(|| Shape::Polyline { points, stroke: stroke(line.style) })
    }

    /// Writes the names at the ends of their lines, moved apart where they would touch.
    fn names(&self, lines: &[PlotLine]) -> Vec<Shape> {
        let end = |line: &PlotLine| line.points.last().map_or(self.area.max.1, |point| self.y(point.1));
        let mut order: Vec<(f32, &PlotLine)> = lines.iter().map(|line| (end(line), line)).collect();
        order.sort_by(|a, b| a.0.total_cmp(&b.0));
        let lowest = self.area.max.1 - ABOVE_HERTZ - APART * (order.len().saturating_sub(1)) as f32;
        let mut next = f32::NEG_INFINITY;
        let mut shapes = Vec::new();
        for (index, (y, line)) in order.into_iter().enumerate() {
            let y = y.max(next).min(lowest + APART * index as f32);
            next = y + APART;
            let (at, text) = ((self.area.max.0 + 6.0, y), line.label.clone());
            let (ink, bold) = (ink(line.style), true);
            shapes.push(Shape::Text { at, text, size: SMALL, anchor: Anchor::Start, ink, bold });
        }
        shapes
    }

    /// Explains the strokes below the axis; in so many words where there is room.
    fn legend(&self, lines: &[PlotLine], width: f32) -> Vec<Shape> {
        let wide = |words: &String| SAMPLE + 6.0 + text_width(words, SMALL) + 18.0;
        let mut told: Vec<String> = lines.iter().map(stroke_in_words).collect();
        if self.area.min.0 + told.iter().map(wide).sum::<f32>() > width {
            told = lines.iter().map(|line| line.label.clone()).collect();
        }
        let y = self.area.max.1 + 31.0;
        let mut x = self.area.min.0;
        let mut shapes = Vec::new();
        for (line, words) in lines.iter().zip(&told) {
            shapes.push(Shape::Line { from: (x, y), to: (x + SAMPLE, y), stroke: stroke(line.style) });
            shapes.push(label((x + SAMPLE + 6.0, y), words, Anchor::Start));
            x += wide(words);
        }
        shapes
    }
}

fn stroke_in_words(line: &PlotLine) -> String {
    match line.style {
        PlotStyle::Solid => format!("{}: unbroken", line.label),
        PlotStyle::Dashed => format!("{}: dashed", line.label),
    }
}

pub(super) fn ink(style: PlotStyle) -> Ink {
    match style {
        PlotStyle::Solid => Ink::Label,
        PlotStyle::Dashed => Ink::Suspect,
    }
}

pub(super) fn stroke(style: PlotStyle) -> Stroke {
    match style {
        PlotStyle::Solid => Stroke::solid(ink(style), 2.2),
        PlotStyle::Dashed => Stroke::dashed(ink(style), 2.8, 9.0, 5.0),
    }
}

fn rule(from: Point, to: Point, width: f32) -> Shape {
    Shape::Line { from, to, stroke: Stroke::solid(Ink::Hatch, width) }
}

fn label(at: Point, text: &str, anchor: Anchor) -> Shape {
    Shape::Text { at, text: text.to_owned(), size: SMALL, anchor, ink: Ink::Label, bold: false }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn line(label: &str, style: PlotStyle, points: &[(f64, f64)]) -> PlotLine {
        let points = points.iter().map(|&(hertz, level)| (Hertz::new(hertz), level)).collect();
        PlotLine { label: label.to_owned(), style, points }
    }

    fn two() -> Vec<PlotLine> {
        vec![
            line("healthy", PlotStyle::Solid, &[(40.0, -0.5), (400.0, -0.4), (3707.0, 3.7), (15e3, -27.0)]),
            line("suspect", PlotStyle::Dashed, &[(40.0, -0.1), (367.0, 1.8), (3707.0, -36.2), (15e3, -90.0)]),
        ]
    }

    /// Returns the points of the lines drawn with this ink.
    fn drawn(picture: &Picture, ink: Ink) -> Vec<Point> {
        let of = |shape: &Shape| match shape {
            Shape::Polyline { points, stroke } if stroke.ink == ink => Some(points.clone()),
            _ => None,
        };
        picture.shapes.iter().find_map(of).unwrap()
    }

    #[test]
    fn equal_ratios_are_equally_far_apart() {
        let points = [40.0, 400.0, 4000.0].map(|hertz| (hertz, 0.0));
        let picture = plot("t", "", &[line("a", PlotStyle::Solid, &points)], 600.0, 300.0);
        let x: Vec<f32> = drawn(&picture, Ink::Label).iter().map(|p| p.0).collect();
        assert!(((x[1] - x[0]) - (x[2] - x[1])).abs() < 0.01, "{x:?}");
    }

    #[rstest]
    #[case(640.0, 300.0)]
    #[case(330.0, 190.0)]
    fn everything_stays_inside_and_louder_is_higher(#[case] width: f32, #[case] height: f32) {
        let picture = plot("sound", "", &two(), width, height);
        let inside = |p: &Point| (0.0..=width).contains(&p.0) && (0.0..=height).contains(&p.1);
        for shape in &picture.shapes {
            let ok = match shape {
                Shape::Line { from, to, .. } => inside(from) && inside(to),
                Shape::Polyline { points, .. } => points.iter().all(inside),
                Shape::Text { at, text, size, anchor, .. } => {
                    let wide = text_width(text, *size);
                    let left = match anchor {
                        Anchor::Start => at.0,
                        Anchor::Middle => at.0 - wide / 2.0,
                        Anchor::End => at.0 - wide,
                    };
                    inside(&(left, at.1)) && inside(&(left + wide, at.1))
                }
                _ => true,
            };
            assert!(ok, "{shape:?} leaves {width} x {height}");
        }
        let healthy = drawn(&picture, Ink::Label);
        assert!(healthy[2].1 < healthy[1].1 && healthy[1].1 < healthy[3].1, "{healthy:?}");
    }

    #[test]
    fn the_lines_differ_without_colour_and_carry_their_names() {
        let picture = plot("sound", "treble down.", &two(), 640.0, 300.0);
        let dash = |ink| {
            picture.shapes.iter().find_map(|shape| match shape {
                Shape::Polyline { stroke, .. } if stroke.ink == ink => Some(stroke.dash.is_some()),
                _ => None,
            })
        };
        assert_eq!((dash(Ink::Label), dash(Ink::Suspect)), (Some(false), Some(true)));
        let texts: Vec<&str> = picture
            .shapes
            .iter()
            .filter_map(|shape| if let Shape::Text { text, .. } = shape { Some(text.as_str()) } else { None })
            .collect();
        for words in ["healthy", "suspect", "healthy: unbroken", "suspect: dashed", "treble", "level"] {
            assert!(texts.contains(&words), "{words} is missing in {texts:?}");
        }
        assert!(
            picture.about.starts_with("treble down. healthy: highest 3.7 dB at 3.71 kHz"),
            "{}",
            picture.about
        );
    }

    #[test]
    fn names_at_one_height_are_moved_apart() {
        let mut lines = two();
        lines[1].points = lines[0].points.clone();
        let picture = plot("sound", "", &lines, 640.0, 300.0);
        let heights: Vec<f32> = picture
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Text { at, bold: true, .. } => Some(at.1),
                _ => None,
            })
            .collect();
        assert!((heights[1] - heights[0]).abs() >= APART - 0.01, "{heights:?}");
    }

    #[test]
    fn the_name_of_a_line_on_the_lower_edge_does_not_touch_the_unit() {
        let silent = line("suspect", PlotStyle::Dashed, &[(40.0, -120.0), (15e3, -120.0)]);
        let picture = plot("sound", "", &[two().remove(0), silent], 640.0, 300.0);
        let height = |words: &str| {
            let found = |shape: &Shape| match shape {
                Shape::Text { at, text, anchor: Anchor::Start, .. } if text == words => Some(at.1),
                _ => None,
            };
            picture.shapes.iter().find_map(found).unwrap()
        };
        assert!(height("Hz") - height("suspect") >= SMALL, "{} {}", height("Hz"), height("suspect"));
    }

    #[test]
    fn what_lies_below_the_axis_is_told_at_its_lowest_number() {
        let texts = |picture: &Picture| -> Vec<String> {
            let text =
                |shape: &Shape| if let Shape::Text { text, .. } = shape { Some(text.clone()) } else { None };
            picture.shapes.iter().filter_map(text).collect()
        };
        assert!(texts(&plot("sound", "", &two(), 640.0, 300.0)).contains(&"≤ −60".to_owned()));
        let above = texts(&plot("sound", "", &two()[..1], 640.0, 300.0));
        assert!(above.contains(&"−30".to_owned()) && !above.iter().any(|t| t.starts_with('≤')), "{above:?}");
    }

    #[test]
    fn a_plot_of_nothing_is_a_plot() {
        let picture = plot("sound", "", &[line("healthy", PlotStyle::Solid, &[])], 300.0, 200.0);
        assert!(picture.about.contains("healthy: nothing"));
    }

    #[rstest]
    #[case(82.4, "82.4 Hz")]
    #[case(40.0, "40 Hz")]
    #[case(250.0, "250 Hz")]
    #[case(3707.0, "3.71 kHz")]
    #[case(10_000.0, "10 kHz")]
    #[case(999.7, "1 kHz")]
    fn frequencies_are_told_to_three_figures(#[case] hertz: f64, #[case] words: &str) {
        assert_eq!(hertz_in_words(Hertz::new(hertz)), words);
    }
}
