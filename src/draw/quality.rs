//! How well a program finds faults, as two plots: calibration beside the readings it took.

use super::frame::Area;
use super::{Anchor, Ink, Picture, Point, Shape, Stroke};

/// Width and height of the whole.
const SIZE: (f32, f32) = (720.0, 340.0);
/// The two plots' corners.
const LEFT: (Point, Point) = ((54.0, 40.0), (314.0, 290.0));
const RIGHT: (Point, Point) = ((404.0, 40.0), (704.0, 290.0));
/// Letters.
const SMALL: f32 = 13.0;
/// Radius of a point of the calibration.
const DOT: f32 = 4.0;

/// What is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Quality {
    /// Announced probability and the share that was true, in rising order.
    pub points: Vec<(f64, f64)>,
    /// How many cases took so many readings, from none.
    pub readings: Vec<usize>,
}

/// Draws calibration on the left, with the line on which announced and true agree, and the readings on the right.
pub fn quality(title: &str, shown: &Quality) -> Picture {
    let mut shapes = calibration(&shown.points);
    shapes.extend(histogram(&shown.readings));
    let about = format!("{} {}", in_words(&shown.points), counted(&shown.readings));
    Picture { title: title.to_owned(), about, size: SIZE, shapes, hits: Vec::new() }
}

fn in_words(points: &[(f64, f64)]) -> String {
    let told = |&(announced, held): &(f64, f64)| {
        format!("announced {:.0} %, true {:.0} %", 100.0 * announced, 100.0 * held)
    };
    format!("Calibration: {}.", points.iter().map(told).collect::<Vec<_>>().join("; "))
}

fn counted(readings: &[usize]) -> String {
    let cases: usize = readings.iter().sum();
    let all: usize = readings.iter().enumerate().map(|(number, count)| number * count).sum();
    format!("{cases} cases with {:.1} readings on average.", all as f64 / cases.max(1) as f64)
}

fn calibration(points: &[(f64, f64)]) -> Vec<Shape> {
    let area = Area::spanned(LEFT.0, LEFT.1);
    let at = |(x, y): (f64, f64)| place(area, x as f32, y as f32);
    let mut shapes = frame(area, "announced", "true");
    for step in 0..=5_u8 {
        let share = f64::from(step) / 5.0;
        let words = format!("{:.0} %", 100.0 * share);
        shapes.push(text((at((share, 0.0)).0, area.max.1 + 14.0), &words, Anchor::Middle));
        shapes.push(text((area.min.0 - 6.0, at((0.0, share)).1), &words, Anchor::End));
    }
    let agree = Stroke::dashed(Ink::Dimmed, 1.0, 5.0, 4.0);
    shapes.push(Shape::Line { from: at((0.0, 0.0)), to: at((1.0, 1.0)), stroke: agree });
    let line = points.iter().map(|point| at(*point)).collect();
    shapes.push(Shape::Polyline { points: line, stroke: Stroke::solid(Ink::Part, 1.5) });
    shapes.extend(points.iter().map(|point| dot(at(*point))));
    shapes
}

fn histogram(readings: &[usize]) -> Vec<Shape> {
    let area = Area::spanned(RIGHT.0, RIGHT.1);
    let most = readings.iter().copied().max().unwrap_or(0).max(1);
    let slots = readings.len().max(1);
    let mut shapes = frame(area, "readings", "cases");
    shapes.push(text((area.min.0 - 6.0, area.min.1), &most.to_string(), Anchor::End));
    shapes.push(text((area.min.0 - 6.0, area.max.1), "0", Anchor::End));
    shapes.extend(readings.iter().enumerate().filter(|(_, count)| **count > 0).map(|(number, count)| {
        let (left, right) = (number as f32 / slots as f32, (number + 1) as f32 / slots as f32);
        bar(area, left, right, *count as f32 / most as f32)
    }));
    let step = slots.div_ceil(10).max(1);
    shapes.extend((0..slots).step_by(step).map(|number| {
        let (x, _) = place(area, (number as f32 + 0.5) / slots as f32, 0.0);
        text((x, area.max.1 + 14.0), &number.to_string(), Anchor::Middle)
    }));
    shapes
}

/// Returns a point of an area by its shares to the right and upwards.
fn place(area: Area, x: f32, y: f32) -> Point {
    (area.min.0 + x * area.size().0, area.max.1 - y * area.size().1)
}

fn frame(area: Area, across: &str, upwards: &str) -> Vec<Shape> {
    let stroke = Some(Stroke::solid(Ink::Part, 1.0));
    vec![
        Shape::Rect { min: area.min, size: area.size(), corner: 0.0, stroke, fill: None },
        text((area.centre().0, area.max.1 + 34.0), across, Anchor::Middle),
        text((area.min.0, area.min.1 - 16.0), upwards, Anchor::Start),
    ]
}

fn bar(area: Area, left: f32, right: f32, height: f32) -> Shape {
    let (min, max) = (place(area, left, height), place(area, right, 0.0));
    let size = (max.0 - min.0 - 1.0, max.1 - min.1);
    Shape::Rect { min, size, corner: 0.0, stroke: None, fill: Some(Ink::Band) }
}

fn dot(at: Point) -> Shape {
    Shape::Circle { at, radius: DOT, stroke: None, fill: Some(Ink::Needle) }
}

fn text(at: Point, text: &str, anchor: Anchor) -> Shape {
    Shape::Text { at, text: text.to_owned(), size: SMALL, anchor, ink: Ink::Label, bold: false }
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand: 2 cases of 1 reading and 1 of 4 are 2 readings on average; the fullest bar is as high as the frame.
    #[test]
    fn every_count_is_a_bar_and_the_words_say_the_mean() {
        let shown = Quality { points: vec![(0.1, 0.2), (0.9, 0.8)], readings: vec![0, 2, 0, 0, 1] };
        let picture = quality("trial", &shown);
        let bar = |shape: &Shape| match shape {
            Shape::Rect { size, fill: Some(Ink::Band), .. } => Some(size.1),
            _ => None,
        };
        let bars: Vec<f32> = picture.shapes.iter().filter_map(bar).collect();
        assert_eq!(bars, [250.0, 125.0]);
        assert!(picture.about.contains("3 cases with 2.0 readings on average"), "{}", picture.about);
        assert!(picture.about.contains("announced 90 %, true 80 %"), "{}", picture.about);
    }

    #[test]
    fn nothing_can_be_drawn() {
        let picture = quality("trial", &Quality { points: Vec::new(), readings: Vec::new() });
        assert_eq!(picture.size, SIZE);
    }
}
