//! How something grows, as lines over two logarithmic axes.

use lugwise::draw::{Anchor, Ink, Palette, Picture, Point, Shape, Stroke, svg};

/// Width and height of the whole, and the corners of the axes.
const SIZE: (f32, f32) = (720.0, 400.0);
const MIN: Point = (70.0, 40.0);
const MAX: Point = (560.0, 340.0);
const SMALL: f32 = 13.0;

/// One line: its name, the length of its dashes, and its points in rising order, all above zero.
pub struct Growing {
    pub name: &'static str,
    pub dash: Option<(f32, f32)>,
    pub points: Vec<(f64, f64)>,
}

/// Draws the lines as SVG; `across` and `upwards` name the axes. Every number of the first line is named across, every
/// power of ten upwards.
pub fn growth_plot(title: &str, across: &str, upwards: &str, lines: &[Growing]) -> String {
    let axes = Axes::new(lines);
    let mut shapes = axes.frame(across, upwards);
    shapes.extend(axes.numbers(lines));
    shapes.extend(lines.iter().flat_map(|line| axes.line(line)));
    let about = lines.iter().map(words).collect::<Vec<_>>().join(" ");
    let picture = Picture { title: title.to_owned(), about, size: SIZE, shapes, hits: Vec::new() };
    svg(&picture, &Palette::Light)
}

fn words(line: &Growing) -> String {
    let told = line.points.iter().map(|(x, y)| format!("{x:.0}: {y:.1}")).collect::<Vec<_>>().join(", ");
    format!("{}: {told}.", line.name)
}

/// The ends of both axes, as logarithms to the base of ten.
struct Axes {
    x: (f64, f64),
    y: (f64, f64),
}

impl Axes {
    fn new(lines: &[Growing]) -> Self {
        let all = || lines.iter().flat_map(|line| &line.points);
        let (left, right) = ends(all().map(|point| point.0.log10()));
        let (low, high) = ends(all().map(|point| point.1.log10()));
        Self { x: (left, right.max(left + 0.1)), y: (low.floor(), high.ceil().max(low.floor() + 1.0)) }
    }

    fn at(&self, (x, y): (f64, f64)) -> Point {
        let share = |value: f64, (low, high): (f64, f64)| ((value.log10() - low) / (high - low)) as f32;
        (MIN.0 + share(x, self.x) * (MAX.0 - MIN.0), MAX.1 - share(y, self.y) * (MAX.1 - MIN.1))
    }

    fn frame(&self, across: &str, upwards: &str) -> Vec<Shape> {
        let size = (MAX.0 - MIN.0, MAX.1 - MIN.1);
        let stroke = Some(Stroke::solid(Ink::Part, 1.0));
        vec![
            Shape::Rect { min: MIN, size, corner: 0.0, stroke, fill: None },
            text(((MIN.0 + MAX.0) / 2.0, MAX.1 + 42.0), across, Anchor::Middle),
            text((MIN.0, MIN.1 - 16.0), upwards, Anchor::Start),
        ]
    }

    fn numbers(&self, lines: &[Growing]) -> Vec<Shape> {
        let mut shapes = Vec::new();
        let powers = (0..).map(|step| self.y.0 + f64::from(step)).take_while(|power| *power <= self.y.1);
        for value in powers.map(|power| 10_f64.powi(power as i32)) {
            let y = self.at((1.0, value)).1;
            let stroke = Stroke::solid(Ink::Hatch, 0.8);
            shapes.push(Shape::Line { from: (MIN.0, y), to: (MAX.0, y), stroke });
            shapes.push(text((MIN.0 - 6.0, y), &value.to_string(), Anchor::End));
        }
        for (x, _) in lines.iter().take(1).flat_map(|line| &line.points) {
            let at = (self.at((*x, 1.0)).0, MAX.1 + 16.0);
            shapes.push(text(at, &format!("{x:.0}"), Anchor::Middle));
        }
        shapes
    }

    fn line(&self, line: &Growing) -> Vec<Shape> {
        let points: Vec<Point> = line.points.iter().map(|point| self.at(*point)).collect();
        let Some(&(x, y)) = points.last() else { return Vec::new() };
        let stroke = Stroke { ink: Ink::Part, width: 2.0, dash: line.dash };
        vec![Shape::Polyline { points, stroke }, text((x + 8.0, y), line.name, Anchor::Start)]
    }
}

fn ends(values: impl Iterator<Item = f64> + Clone) -> (f64, f64) {
    (values.clone().fold(f64::INFINITY, f64::min), values.fold(f64::NEG_INFINITY, f64::max))
}

fn text(at: Point, text: &str, anchor: Anchor) -> Shape {
    Shape::Text { at, text: text.to_owned(), size: SMALL, anchor, ink: Ink::Label, bold: false }
}
