//! Bars that lie, one to a row, each with its name and its value in words, so that nothing is told by colour or length alone.

use super::shape::text_width;
use super::{Anchor, Ink, Picture, Shape, Stroke};

/// Height of a row, and of the bar in it.
const ROW: f32 = 24.0;
const THICK: f32 = 14.0;
/// Letters of names and values.
const SMALL: f32 = 13.0;
/// Room above, at the sides, and between a name and its bar.
const EDGE: f32 = 10.0;
/// The share of the width that names may take, and that values may take.
const NAMES: f32 = 0.42;
const VALUES: f32 = 0.26;
/// How many rows are drawn at most; the rest is counted.
const MOST: usize = 40;

/// One bar.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// What it stands for.
    pub name: String,
    /// How long it is; below zero is drawn as zero.
    pub value: f64,
    /// Its value in words.
    pub words: String,
    /// What it is held against, marked by an upright stroke.
    pub beside: Option<f64>,
    /// Whether it comes from few: it is drawn as a dashed outline and says so.
    pub small: bool,
}

/// Draws bars to one scale, in the order given; `title` and `about` are told to those who cannot see it.
pub fn bars(title: &str, about: &str, bars: &[Bar], width: f32) -> Picture {
    bars_to(title, about, bars, width, None)
}

/// Does the same to a scale that ends at `whole` at least, such as 1 for shares.
pub fn bars_to(title: &str, about: &str, bars: &[Bar], width: f32, whole: Option<f64>) -> Picture {
    let shown = &bars[..bars.len().min(MOST)];
    let scale = Scale::of(shown, width, whole);
    let mut shapes = Vec::new();
    let mut y = EDGE + ROW / 2.0;
    for bar in shown {
        shapes.extend(scale.row(bar, y));
        y += ROW;
    }
    if let Some(more) = bars.len().checked_sub(MOST).filter(|more| *more > 0) {
        shapes.push(words((EDGE, y), format!("and {more} more"), Anchor::Start));
        y += ROW;
    }
    let told = shown.iter().map(said).collect::<Vec<_>>().join("; ");
    let about = format!("{about} {told}").trim().to_owned();
    let size = (width, (y - ROW / 2.0 + EDGE).max(2.0 * EDGE + ROW));
    if bars.is_empty() {
        shapes.push(words((EDGE, EDGE + ROW / 2.0), "no jobs".to_owned(), Anchor::Start));
    }
    Picture { title: title.to_owned(), about, size, shapes, hits: Vec::new() }
}

fn said(bar: &Bar) -> String {
    format!("{}: {}", cut(&bar.name, 80), value(bar))
}

fn value(bar: &Bar) -> String {
    if bar.small { format!("{} (few)", bar.words) } else { bar.words.clone() }
}

fn words(at: (f32, f32), text: String, anchor: Anchor) -> Shape {
    Shape::Text { at, text, size: SMALL, anchor, ink: Ink::Label, bold: false }
}

struct Scale {
    left: f32,
    right: f32,
    most: f64,
    letters: usize,
}

impl Scale {
    fn of(bars: &[Bar], width: f32, whole: Option<f64>) -> Self {
        let one = text_width("m", SMALL);
        let letters = ((width * NAMES) / one) as usize;
        let wide = |text: &str| text_width(text, SMALL);
        let names = bars.iter().map(|bar| wide(&cut(&bar.name, letters))).fold(0.0, f32::max);
        let values = bars.iter().map(|bar| wide(&value(bar))).fold(0.0, f32::max).min(width * VALUES);
        let longest = bars.iter().flat_map(|bar| [Some(bar.value), bar.beside]).chain([whole]).flatten();
        let most = longest.filter(|value| value.is_finite()).fold(0.0, f64::max);
        Self {
            left: EDGE + names + EDGE,
            right: width - EDGE - values - EDGE,
            most: if most > 0.0 { most } else { 1.0 },
            letters,
        }
    }

    fn x(&self, value: f64) -> f32 {
        let share = if value.is_finite() { (value / self.most).clamp(0.0, 1.0) } else { 0.0 };
        self.left + share as f32 * (self.right - self.left)
    }

    fn row(&self, bar: &Bar, y: f32) -> Vec<Shape> {
        let end = self.x(bar.value);
        let stroke =
            if bar.small { Stroke::dashed(Ink::Part, 1.4, 4.0, 3.0) } else { Stroke::solid(Ink::Part, 1.4) };
        let fill = (!bar.small).then_some(Ink::Band);
        let (min, size) = ((self.left, y - THICK / 2.0), (end - self.left, THICK));
        let mut shapes = vec![
            words((self.left - EDGE, y), cut(&bar.name, self.letters), Anchor::End),
            Shape::Rect { min, size, corner: 0.0, stroke: Some(stroke), fill },
        ];
        let marked = bar.beside.map(|beside| self.x(beside));
        shapes.extend(marked.map(|x| Shape::Line {
            from: (x, y - ROW / 2.0 + 2.0),
            to: (x, y + ROW / 2.0 - 2.0),
            stroke: Stroke::solid(Ink::Needle, 2.0),
        }));
        let end = marked.map_or(end, |x| x.max(end));
        shapes.push(words((end + EDGE / 2.0, y), value(bar), Anchor::Start));
        shapes
    }
}

/// Returns where the rows of bars lie in their picture, from the top: the first one's upper edge, and the height of each.
pub fn rows_of_bars(bars: usize) -> impl Iterator<Item = (f32, f32)> {
    (0..bars.min(MOST)).map(|row| (EDGE + row as f32 * ROW, ROW))
}

/// Returns a name on one line with at most so many letters.
fn cut(name: &str, letters: usize) -> String {
    let plain: String =
        name.chars().map(|c| if c.is_control() { ' ' } else { c }).take(letters + 1).collect();
    if plain.chars().count() <= letters {
        return plain;
    }
    plain.chars().take(letters.saturating_sub(1)).chain(['…']).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(value: f64, small: bool) -> Bar {
        Bar { name: "a name".to_owned(), value, words: format!("{value}"), beside: None, small }
    }

    fn widths(picture: &Picture) -> Vec<f32> {
        let width = |shape: &Shape| match shape {
            Shape::Rect { size, .. } => Some(size.0),
            _ => None,
        };
        picture.shapes.iter().filter_map(width).collect()
    }

    #[test]
    fn bars_are_as_long_as_their_values_and_lie_within() {
        let picture = bars(
            "t",
            "about",
            &[bar(4.0, false), bar(1.0, true), bar(-1.0, false), bar(f64::NAN, false)],
            640.0,
        );
        let widths = widths(&picture);
        assert!((widths[0] / widths[1] - 4.0).abs() < 1e-3, "{widths:?}");
        assert_eq!(widths[2..], [0.0, 0.0]);
        assert!(picture.about.contains("a name: 1 (few)"), "{}", picture.about);
        for shape in &picture.shapes {
            if let Shape::Rect { min, size, .. } = shape {
                assert!(min.0 >= 0.0 && min.0 + size.0 <= 640.0 && min.1 + size.1 <= picture.size.1);
            }
        }
    }

    #[test]
    fn shares_are_drawn_to_the_whole() {
        let to = |whole| widths(&bars_to("t", "", &[bar(0.25, false)], 640.0, whole))[0];
        assert!((to(None) / to(Some(1.0)) - 4.0).abs() < 1e-3);
    }

    #[test]
    fn long_names_are_cut_and_many_rows_are_counted() {
        let long = Bar { name: "x".repeat(1 << 20), ..bar(1.0, false) };
        let picture = bars("t", "", &vec![long; 50], 640.0);
        assert_eq!(widths(&picture).len(), MOST);
        let texts = picture.shapes.iter().filter_map(|shape| match shape {
            Shape::Text { text, .. } => Some(text.as_str()),
            _ => None,
        });
        let texts: Vec<&str> = texts.collect();
        assert!(texts.contains(&"and 10 more") && texts[0].ends_with('…') && texts[0].len() < 100);
        assert!(
            bars("t", "", &[], 640.0)
                .shapes
                .iter()
                .any(|s| matches!(s, Shape::Text { text, .. } if text == "no jobs"))
        );
    }
}
