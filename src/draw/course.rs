//! What is still unknown over the minutes of work: a line for each way, each with its own stroke and name.

use super::frame::Area;
use super::plot::{PlotStyle, ink, stroke};
use super::shape::text_width;
use super::{Anchor, Ink, Picture, Point, Shape, Stroke};

/// Letters of the plot.
const SMALL: f32 = 13.0;
/// Room for the axes' numbers and names.
const LEFT: f32 = 46.0;
const ABOVE: f32 = 24.0;
const BELOW: f32 = 58.0;
const RIGHT: f32 = 16.0;
/// Length of a stroke in the legend.
const SAMPLE: f32 = 34.0;
/// An axis has about so many numbers.
const NUMBERS: f64 = 5.0;

/// One way of a course.
#[derive(Clone, Debug, PartialEq)]
pub struct CourseLine {
    /// Its name.
    pub label: String,
    /// How it is drawn.
    pub style: PlotStyle,
    /// Its points: minutes and bits, in the order of time.
    pub points: Vec<(f64, f64)>,
}

/// Draws what is unknown in bits, upwards, over hands-on minutes; between two points nothing changes.
///
/// `title` is told to those who cannot see it; where each line begins and ends is added in words.
pub fn course(title: &str, lines: &[CourseLine], width: f32, height: f32) -> Picture {
    let axes = Axes::new(lines, width, height);
    let mut shapes = axes.grid();
    shapes.extend(lines.iter().flat_map(|line| axes.line(line)));
    shapes.extend(axes.legend(lines));
    let about = lines.iter().map(words).collect::<Vec<_>>().join(" ");
    Picture { title: title.to_owned(), about, size: (width, height), shapes, hits: Vec::new() }
}

fn words(line: &CourseLine) -> String {
    match (line.points.first(), line.points.last()) {
        (Some(first), Some(last)) => format!(
            "{}: from {:.1} bits to {:.1} bits in {:.1} min.",
            line.label,
            first.1,
            last.1,
            last.0 - first.0
        ),
        _ => format!("{}: nothing.", line.label),
    }
}

struct Axes {
    area: Area,
    minutes: f64,
    bits: f64,
}

impl Axes {
    fn new(lines: &[CourseLine], width: f32, height: f32) -> Self {
        let points = || lines.iter().flat_map(|line| &line.points);
        let most = |of: fn(&(f64, f64)) -> f64| points().map(of).fold(1.0, f64::max);
        let area = Area::spanned((LEFT, ABOVE), (width - RIGHT, height - BELOW));
        Self { area, minutes: most(|point| point.0), bits: most(|point| point.1) * 1.05 }
    }

    fn point(&self, &(minutes, bits): &(f64, f64)) -> Point {
        let share = |value: f64, most: f64| (value / most).clamp(0.0, 1.0) as f32;
        let (x, y) = (share(minutes, self.minutes), share(bits, self.bits));
        (self.area.min.0 + x * self.area.size().0, self.area.max.1 - y * self.area.size().1)
    }

    fn grid(&self) -> Vec<Shape> {
        let mut shapes = Vec::new();
        for bits in marks(self.bits) {
            let (from, to) = (self.point(&(0.0, bits)), self.point(&(self.minutes, bits)));
            shapes.push(rule(from, to));
            shapes.push(label((from.0 - 6.0, from.1), &number(bits), Anchor::End));
        }
        for minutes in marks(self.minutes) {
            let (from, to) = (self.point(&(minutes, 0.0)), self.point(&(minutes, self.bits)));
            shapes.push(rule(from, to));
            shapes.push(label((from.0, from.1 + 11.0), &number(minutes), Anchor::Middle));
        }
        let (min, size) = (self.area.min, self.area.size());
        let frame = Some(Stroke::solid(Ink::Part, 1.2));
        shapes.push(Shape::Rect { min, size, corner: 0.0, stroke: frame, fill: None });
        shapes.push(label((4.0, ABOVE / 2.0), "bits unknown", Anchor::Start));
        shapes.push(label((self.area.max.0, self.area.max.1 + 27.0), "hands-on minutes", Anchor::End));
        shapes
    }

    /// Draws a way as steps, with a dot where something was done.
    fn line(&self, line: &CourseLine) -> Vec<Shape> {
        let mut points: Vec<Point> = Vec::new();
        for pair in line.points.windows(2) {
            points.extend([self.point(&pair[0]), self.point(&(pair[1].0, pair[0].1))]);
        }
        points.extend(line.points.last().map(|last| self.point(last)));
        let dot = |at: &(f64, f64)| {
            let (at, filled) = (self.point(at), line.style == PlotStyle::Solid);
            let fill = Some(if filled { ink(line.style) } else { Ink::Paper });
            Shape::Circle { at, radius: 3.5, stroke: Some(Stroke::solid(ink(line.style), 1.6)), fill }
        };
        let drawn = (points.len() > 1).then(|| Shape::Polyline { points, stroke: stroke(line.style) });
        drawn.into_iter().chain(line.points.iter().map(dot)).collect()
    }

    fn legend(&self, lines: &[CourseLine]) -> Vec<Shape> {
        let y = self.area.max.1 + 46.0;
        let mut x = self.area.min.0;
        let mut shapes = Vec::new();
        for line in lines {
            let how = if line.style == PlotStyle::Solid { "unbroken" } else { "dashed" };
            let words = format!("{}: {how}", line.label);
            shapes.push(Shape::Line { from: (x, y), to: (x + SAMPLE, y), stroke: stroke(line.style) });
            shapes.push(label((x + SAMPLE + 6.0, y), &words, Anchor::Start));
            x += SAMPLE + text_width(&words, SMALL) + 24.0;
        }
        shapes
    }
}

/// Returns round numbers from 0 up to a value.
fn marks(most: f64) -> Vec<f64> {
    let rough = most / NUMBERS;
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].map(|part| part * power).into_iter().find(|step| *step >= rough);
    let step = step.unwrap_or(most);
    (0..).map(|index| step * f64::from(index)).take_while(|mark| *mark <= most).collect()
}

fn number(value: f64) -> String {
    if value.fract().abs() < 1e-6 { format!("{value:.0}") } else { format!("{value:.1}") }
}

fn rule(from: Point, to: Point) -> Shape {
    Shape::Line { from, to, stroke: Stroke::solid(Ink::Hatch, 0.8) }
}

fn label(at: Point, text: &str, anchor: Anchor) -> Shape {
    Shape::Text { at, text: text.to_owned(), size: SMALL, anchor, ink: Ink::Label, bold: false }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn two() -> Vec<CourseLine> {
        let line = |label: &str, style, points: &[(f64, f64)]| CourseLine {
            label: label.to_owned(),
            style,
            points: points.to_vec(),
        };
        vec![
            line("you", PlotStyle::Solid, &[(0.0, 5.0), (2.0, 4.0), (7.5, 1.0)]),
            line("the advisor", PlotStyle::Dashed, &[(0.0, 5.0), (1.0, 2.0), (3.0, 0.1)]),
        ]
    }

    #[test]
    fn more_unknown_is_higher_and_later_is_farther_right() {
        let axes = Axes::new(&two(), 500.0, 300.0);
        let (early, late) = (axes.point(&(1.0, 4.0)), axes.point(&(6.0, 1.0)));
        assert!(early.0 < late.0 && early.1 < late.1);
        let middle = axes.point(&(3.5, 4.0));
        assert!((middle.0 - early.0 - (late.0 - middle.0)).abs() < 1e-3, "minutes are evenly spaced");
    }

    #[test]
    fn the_ways_differ_without_colour_and_are_told_in_words() {
        let picture = course("unknown", &two(), 500.0, 300.0);
        let dashes: Vec<bool> = picture
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Polyline { stroke, .. } => Some(stroke.dash.is_some()),
                _ => None,
            })
            .collect();
        assert_eq!(dashes, [false, true]);
        let told =
            "you: from 5.0 bits to 1.0 bits in 7.5 min. the advisor: from 5.0 bits to 0.1 bits in 3.0 min.";
        assert_eq!(picture.about, told);
        assert!(course("unknown", &[], 500.0, 300.0).about.is_empty());
    }

    #[test]
    fn the_numbers_of_an_axis_are_round() {
        assert_eq!(marks(7.5), [0.0, 2.0, 4.0, 6.0]);
        assert_eq!(marks(1.0), [0.0, 0.2, 0.4, 0.2 * 3.0, 0.8, 1.0]);
    }
}
