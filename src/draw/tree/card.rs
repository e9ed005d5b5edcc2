//! The box of a step: what is done, how, on paper why, and a row for every way out of it.

use super::super::frame::Area;
use super::super::letters::Letters;
use super::super::part::block;
use super::super::{Anchor, Ink, Point, Shape, Stroke};
use super::marks::Marked;
use super::piece::{Drawing, label};
use super::words;
use crate::trees::{Then, Tree};
use crate::units::show_percent;

/// Width of a step's box.
pub(super) const WIDE: f32 = 400.0;
/// Room between the outline and the words.
const PAD: f32 = 14.0;
/// How far below its top a line comes in.
pub(super) const ENTRY: f32 = 24.0;
/// Letters of the heading, of what is done, and of all else.
const HEAD: Letters = Letters::bold(17.0);
const BODY: Letters = Letters::plain(14.0);
const SMALL: Letters = Letters::plain(13.0);
const STRONG: Letters = Letters::bold(13.0);
/// How far apart lines are, as a share of their letters' size.
const LEADING: f32 = 1.3;
/// The most lines of the heading, of what is done, of how, of a way's words, and of a caution.
const MOST: [usize; 5] = [2, 8, 5, 4, 2];
/// So many lines hold whatever a step says, on paper.
const ALL: usize = 10_000;
/// Room above and below the words of a row together.
const AROUND: f32 = 10.0;
/// Side of the caution's triangle, and radius of a check's number.
const SIGN: f32 = 16.0;
const BADGE: f32 = 11.0;

/// One way out of a step.
pub(super) struct Row {
    /// Its index among the step's ways.
    pub(super) way: usize,
    label: Vec<String>,
    note: Vec<String>,
    /// Whether a line shows where it leads; else its words say so.
    pub(super) led: bool,
    /// The share of faults that go this way, 0 to 1.
    pub(super) share: Option<f64>,
    /// The number of the check that went this way.
    pub(super) check: Option<usize>,
    top: f32,
    high: f32,
}

impl Row {
    /// Returns how far below the top of the box the way leaves.
    pub(super) fn port(&self) -> f32 {
        self.top + self.high / 2.0
    }
}

/// The box of a step.
pub(super) struct Card {
    heading: Vec<String>,
    tag: String,
    body: Vec<String>,
    how: Vec<String>,
    why: Vec<String>,
    caution: Vec<String>,
    /// The ways out, from top to bottom.
    pub(super) rows: Vec<Row>,
    /// Its height.
    pub(super) high: f32,
    check: Option<usize>,
    here: bool,
    faint: bool,
}

impl Card {
    /// Returns the box of the step at this index.
    pub(super) fn of(tree: &Tree, index: usize, marks: &Marked<'_>) -> Self {
        let step = &tree.steps[index];
        let tag = tag(tree, index, marks);
        let room = WIDE - 2.0 * PAD;
        let beside = if tag.is_empty() { 0.0 } else { STRONG.width(&tag) + PAD };
        let mut how = words::asked(&step.ask);
        if let Some(feature) = step.needs {
            how += &format!("; needs {}", feature.words());
        }
        let why = if marks.reasons { format!("Why: {}", step.why) } else { String::new() };
        let caution = words::caution(step).unwrap_or_default();
        let mut card = Self {
            heading: HEAD.wrapped(&format!("{}  {}", index + 1, step.name), room - beside, most(marks, 0)),
            tag,
            body: BODY.wrapped(&step.say, room, most(marks, 1)),
            how: SMALL.wrapped(&how, room, most(marks, 2)),
            why: SMALL.wrapped(&why, room, ALL),
            caution: SMALL.wrapped(&caution, room - 1.5 * SIGN, most(marks, 4)),
            rows: rows(tree, index, marks),
            high: 0.0,
            check: marks.check(index),
            here: marks.here == Some(index),
            faint: marks.passed_over.contains(&index),
        };
        card.stack();
        card
    }

    /// Finds where each row stands, and the height of the whole.
    fn stack(&mut self) {
        let mut top = PAD + lines(&self.heading, HEAD) + lines(&self.body, BODY);
        top += lines(&self.how, SMALL) + lines(&self.why, SMALL);
        top += if self.caution.is_empty() { 0.0 } else { SIGN.max(lines(&self.caution, SMALL)) + 6.0 };
        top += PAD / 2.0;
        for row in &mut self.rows {
            (row.top, row.high) = (top, lines(&row.label, SMALL) + lines(&row.note, SMALL) + AROUND);
            top += row.high;
        }
        self.high = top + if self.rows.is_empty() { PAD / 2.0 } else { 0.0 };
    }

    /// Draws the box with its upper left corner at `at`.
    pub(super) fn draw(&self, at: Point) -> Drawing {
        let mut drawing = Drawing { far: self.outline(at), ..Drawing::default() };
        let left = at.0 + PAD;
        let mut top = at.1 + PAD;
        drawing.middle = paragraph((left, top), &self.heading, HEAD);
        let right = (at.0 + WIDE - PAD, top + HEAD.size * LEADING / 2.0);
        if !self.tag.is_empty() {
            drawing.middle.push(label(right, &self.tag, STRONG, Anchor::End));
        }
        top += lines(&self.heading, HEAD);
        drawing.near = paragraph((left, top), &self.body, BODY);
        top += lines(&self.body, BODY);
        drawing.near.extend(paragraph((left, top), &self.how, SMALL));
        top += lines(&self.how, SMALL);
        drawing.near.extend(paragraph((left, top), &self.why, SMALL));
        top += lines(&self.why, SMALL);
        if !self.caution.is_empty() {
            drawing.near.extend(sign((left, top + 3.0), &self.caution));
        }
        for row in &self.rows {
            drawing.near.extend(row.draw(at));
        }
        drawing.near.extend(self.badges(at));
        if self.faint { drawing.dimmed() } else { drawing }
    }

    fn outline(&self, at: Point) -> Vec<Shape> {
        let area = Area { min: at, max: (at.0 + WIDE, at.1 + self.high) };
        let stroke = match (self.faint, self.here, self.check) {
            (true, ..) => Stroke::dashed(Ink::Part, 1.5, 8.0, 5.0),
            (_, true, _) | (_, _, Some(_)) => Stroke::solid(Ink::Needle, 3.5),
            _ => Stroke::solid(Ink::Part, 1.5),
        };
        let fill = if self.here { Ink::StripFill } else { Ink::PartFill };
        let mut shapes = vec![block(area, 5.0, fill, (!self.faint).then_some(stroke))];
        if self.faint {
            shapes.push(frame(area, stroke));
        }
        if self.here {
            shapes.push(block(area.grown(6.0), 9.0, fill, Some(Stroke::solid(Ink::Needle, 1.5))).hollow());
        }
        shapes
    }

    fn badges(&self, at: Point) -> Vec<Shape> {
        let rows = self.rows.iter().filter_map(|row| {
            let number = row.check?;
            Some(badge((at.0 + WIDE, at.1 + row.port()), number))
        });
        let own = self.check.map(|number| badge(at, number));
        rows.chain(own).flatten().collect()
    }
}

impl Row {
    fn draw(&self, at: Point) -> Vec<Shape> {
        let (top, bottom) = (at.1 + self.top, at.1 + self.top + self.high);
        let (left, right) = (at.0 + PAD, at.0 + WIDE - PAD);
        let rule = Stroke::solid(Ink::Dimmed, 1.0);
        let mut shapes =
            vec![Shape::Line { from: (at.0 + 1.0, top), to: (at.0 + WIDE - 1.0, top), stroke: rule }];
        if self.check.is_some() {
            let area = Area { min: (at.0 + 2.0, top + 1.0), max: (at.0 + WIDE - 2.0, bottom - 2.0) };
            shapes.push(block(area, 2.0, Ink::StripFill, None));
        }
        let words = top + AROUND / 2.0;
        shapes.extend(paragraph((left, words), &self.label, SMALL));
        shapes.extend(paragraph((left, words + lines(&self.label, SMALL)), &self.note, SMALL));
        if let Some(share) = self.share {
            let middle = at.1 + self.port();
            shapes.push(label((right, middle), &show_percent(share), STRONG, Anchor::End));
        }
        shapes
    }
}

/// Returns how many lines a kind of words may have.
fn most(marks: &Marked<'_>, kind: usize) -> usize {
    if marks.reasons { ALL } else { MOST[kind] }
}

/// Returns the words to the right of the heading.
fn tag(tree: &Tree, index: usize, marks: &Marked<'_>) -> String {
    let all = [
        (marks.here == Some(index), "you are here"),
        (marks.passed_over.contains(&index), "passed over"),
        (tree.start == index, "start"),
    ];
    let words: Vec<&str> = all.iter().filter(|(is, _)| *is).map(|(_, words)| *words).collect();
    words.join(", ")
}

/// Returns the rows of a step, one for every way. That of a step that cannot be done says where it leads if that is simply
/// to the advisor, and has no line.
fn rows(tree: &Tree, index: usize, marks: &Marked<'_>) -> Vec<Row> {
    let step = &tree.steps[index];
    let told = words::ways(step).into_iter().zip(words::meanings(step)).map(|(way, means)| match means {
        Some(means) if marks.reasons => format!("{way}: {means}"),
        _ => way,
    });
    let named = told.zip(step.ways()).enumerate();
    let last = step.ways().count().saturating_sub(1);
    let row = |(way, (words, then)): (usize, (String, &Then))| {
        let (share, check) = (marks.share(index, way), marks.went(index, way));
        let plain = way == last && *then == Then::Advisor;
        let note = marks.note(index, way);
        let led = !plain || check.is_some() || share.is_some_and(|share| share > 0.0) || !note.is_empty();
        let room = WIDE - 2.0 * PAD - if share.is_some() { 104.0 } else { BADGE };
        let words = if led { words } else { format!("{words}: the advisor goes on") };
        let label = SMALL.wrapped(&words, room, most(marks, 3));
        let note = if note.is_empty() { Vec::new() } else { SMALL.wrapped(note, room, 1) };
        Row { way, label, note, led, share, check, top: 0.0, high: 0.0 }
    };
    named.map(row).collect()
}

/// Returns the height of lines of text.
pub(super) fn lines(lines: &[String], letters: Letters) -> f32 {
    lines.len() as f32 * letters.size * LEADING
}

/// Returns lines of text below `at`.
pub(super) fn paragraph(at: Point, lines: &[String], letters: Letters) -> Vec<Shape> {
    let step = letters.size * LEADING;
    let line = |(index, words): (usize, &String)| {
        label((at.0, at.1 + step * (index as f32 + 0.5)), words, letters, Anchor::Start)
    };
    lines.iter().enumerate().map(line).collect()
}

/// Returns the four sides of an area as one line, which can be dashed.
pub(super) fn frame(area: Area, stroke: Stroke) -> Shape {
    let (min, max) = (area.min, area.max);
    Shape::Polyline { points: vec![min, (max.0, min.1), max, (min.0, max.1), min], stroke }
}

/// Returns the triangle of a caution and its words.
fn sign(at: Point, words: &[String]) -> Vec<Shape> {
    let (middle, foot) = (at.0 + SIGN / 2.0, at.1 + SIGN);
    let points = vec![(middle, at.1), (at.0 + SIGN, foot), (at.0, foot), (middle, at.1), (at.0 + SIGN, foot)];
    let stroke = Stroke::solid(Ink::Part, 1.8);
    let mut shapes = vec![
        Shape::Polyline { points, stroke },
        Shape::Line { from: (middle, at.1 + 6.0), to: (middle, at.1 + 10.5), stroke },
        Shape::Line { from: (middle, at.1 + 12.0), to: (middle, at.1 + 13.8), stroke },
    ];
    shapes.extend(paragraph((at.0 + 1.5 * SIGN, at.1), words, SMALL));
    shapes
}

fn badge(at: Point, number: usize) -> [Shape; 2] {
    let stroke = Some(Stroke::solid(Ink::Needle, 2.0));
    let circle = Shape::Circle { at, radius: BADGE, stroke, fill: Some(Ink::Paper) };
    [circle, label(at, &number.to_string(), STRONG, Anchor::Middle)]
}
