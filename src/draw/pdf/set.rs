//! Sets the blocks of a document as strips.

use super::super::{Anchor, Ink, Picture, Point, Shape, Stroke};
use super::block::{Block, Table};
use super::paper::Paper;
use super::strip::{Part, Spot, Strip};
use super::wrap::wrap;

/// Room around what is printed, in points.
pub(super) const MARGIN: f32 = 48.0;
/// Room for the foot of a page, inside its lower margin.
const FOOT: f32 = 22.0;
/// The height of a line as a share of its letters' size.
const LEADING: f32 = 1.32;
/// Sizes of letters in points.
const BODY: f32 = 10.0;
const CELL: f32 = 8.5;
/// Room inside a cell, in points.
const INSIDE: f32 = 4.0;
/// Room between lines to write on that lie beside each other.
const BETWEEN: f32 = 24.0;
/// The smallest letters of a picture on a standing page, in points; smaller ones make it lie on a page of its own.
const LEAST: f32 = 6.0;
/// The largest that a picture is printed, in points for each of its units.
const LARGEST: f32 = 0.8;
/// The most of a standing page's height that a picture takes.
const SHARE: f32 = 0.6;

/// The sheets of a document, and the room between their margins.
#[derive(Clone, Copy, Debug)]
pub(super) struct Room {
    sheet: (f32, f32),
}

impl Room {
    pub(super) fn of(paper: Paper) -> Self {
        Self { sheet: paper.size() }
    }

    /// Returns width and height of a whole sheet.
    pub(super) fn sheet(self, lying: bool) -> (f32, f32) {
        if lying { (self.sheet.1, self.sheet.0) } else { self.sheet }
    }

    /// Returns width and height between the margins, without the foot.
    pub(super) fn inner(self, lying: bool) -> (f32, f32) {
        let (wide, high) = self.sheet(lying);
        (wide - 2.0 * MARGIN, high - 2.0 * MARGIN - FOOT)
    }
}

/// How words are set.
#[derive(Clone, Copy)]
struct Style {
    size: f32,
    bold: bool,
}

impl Style {
    const BODY: Self = Self { size: BODY, bold: false };
    const SMALL: Self = Self { size: CELL, bold: false };

    fn heading(level: u8) -> Self {
        Self { size: if level <= 1 { 18.0 } else { 12.0 }, bold: true }
    }

    fn high(self) -> f32 {
        self.size * LEADING
    }
}

/// Sets blocks; `advance` is the width of a letter as a share of its size.
pub(super) fn set(blocks: &[Block], room: Room, advance: &dyn Fn(char) -> f32) -> Vec<Strip> {
    let mut setter = Setter { room, advance, strips: Vec::new(), block: 0, lying: false };
    for (index, block) in blocks.iter().enumerate() {
        (setter.block, setter.lying) = (index, false);
        setter.block(block);
    }
    setter.strips
}

struct Setter<'a> {
    room: Room,
    advance: &'a dyn Fn(char) -> f32,
    strips: Vec<Strip>,
    block: usize,
    lying: bool,
}

impl Setter<'_> {
    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading { level, text } => self.heading(*level, text),
            Block::Words { text, bold } => {
                self.lines(text, Style { bold: *bold, ..Style::BODY }, 0, 6.0, false);
            }
            Block::Table(table) => self.table(table),
            Block::Figure { heading, picture, caption } => self.figure(heading, picture, caption),
            Block::Photo { image, caption, most, .. } => {
                let (wide, high) = self.room.inner(false);
                let size = image.within((most.0.min(wide), most.1.min(high * SHARE)));
                self.drawing(size, 8.0, !caption.is_empty());
                self.caption(caption);
            }
            Block::Sign(names) => self.sign(names),
        }
    }

    fn heading(&mut self, level: u8, text: &str) {
        let above = if level <= 1 { 4.0 } else { 11.0 };
        self.lines(text, Style::heading(level), 0, above, true);
    }

    fn caption(&mut self, caption: &str) {
        if !caption.is_empty() {
            self.lines(caption, Style::SMALL, 2, 3.0, false);
        }
    }

    /// Adds words over the whole width, a strip for each line.
    fn lines(&mut self, text: &str, style: Style, row: usize, above: f32, keep: bool) {
        let wide = self.room.inner(self.lying).0;
        let spot = Spot { block: self.block, row, column: 0 };
        for (index, line) in self.wrapped(text, wide, style).into_iter().enumerate() {
            let lines = written((0.0, 0.0), &[line], style);
            self.strips.push(Strip {
                high: style.high(),
                above: if index == 0 { above } else { 0.0 },
                keep,
                lying: self.lying,
                parts: vec![Part::Words { spot, lines }],
                ..Strip::default()
            });
        }
    }

    fn wrapped(&self, text: &str, wide: f32, style: Style) -> Vec<String> {
        wrap(text, wide / style.size, self.advance)
    }

    fn table(&mut self, table: &Table) {
        if table.rows.is_empty() || table.head.is_empty() {
            return;
        }
        let head = self.strips.len();
        let bold = Style { bold: true, ..Style::SMALL };
        self.row(table, &table.head, 0, bold, None);
        for (index, row) in table.rows.iter().enumerate() {
            self.row(table, row, index + 1, Style::SMALL, Some(head));
        }
    }

    /// Adds a row; one that is higher than half a page is cut between its lines.
    fn row(&mut self, table: &Table, cells: &[String], row: usize, style: Style, head: Option<usize>) {
        let columns = columns(table, self.room.inner(false).0);
        let texts: Vec<Vec<String>> = columns
            .iter()
            .enumerate()
            .map(|(at, (_, wide))| {
                self.wrapped(cells.get(at).map_or("", String::as_str), wide - 2.0 * INSIDE, style)
            })
            .collect();
        let tall = texts.iter().map(Vec::len).max().unwrap_or(0);
        let most = (self.room.inner(false).1 * 0.5 / style.high()).max(1.0) as usize;
        for from in (0..tall).step_by(most) {
            let last = from + most >= tall;
            let count = (tall - from).min(most);
            let part = |(column, lines): (usize, &Vec<String>)| {
                let shown: Vec<String> = lines.iter().skip(from).take(count).cloned().collect();
                let at = (columns[column].0 + INSIDE, INSIDE * 0.6);
                let spot = Spot { block: self.block, row, column };
                Part::Words { spot, lines: written(at, &shown, style) }
            };
            let words: Vec<Part> = texts.iter().enumerate().map(part).collect();
            let high = count as f32 * style.high() + INSIDE * 1.2;
            let paints = ruled(self.room.inner(false).0, high, head.is_none(), last);
            self.strips.push(Strip {
                high,
                above: if head.is_none() { 6.0 } else { 0.0 },
                keep: head.is_none(),
                head,
                parts: paints.into_iter().chain(words).collect(),
                ..Strip::default()
            });
        }
    }

    /// Adds a picture, on a lying page of its own where its letters would get too small.
    fn figure(&mut self, heading: &str, picture: &Picture, caption: &str) {
        let standing = fit(picture, self.room.inner(false), SHARE);
        let lying = fit(picture, self.room.inner(true), 0.8);
        self.lying = smallest(picture).is_some_and(|letters| letters * standing < LEAST) && lying > standing;
        if !heading.is_empty() {
            self.lines(heading, Style::heading(2), 0, 14.0, true);
        }
        let scale = if self.lying { lying } else { standing };
        let size = (picture.size.0 * scale, picture.size.1 * scale);
        self.drawing(size, 4.0, !caption.is_empty());
        self.caption(caption);
    }

    fn drawing(&mut self, size: (f32, f32), above: f32, keep: bool) {
        let spot = Spot { block: self.block, row: 1, column: 0 };
        let parts = vec![Part::Drawing { spot, at: (0.0, 0.0), size }];
        let lying = self.lying;
        self.strips.push(Strip { high: size.1, above, keep, lying, parts, ..Strip::default() });
    }

    /// Adds a line to write on.
    /// Adds lines to write on, beside each other.
    fn sign(&mut self, names: &[String]) {
        let line = 30.0;
        let step = self.room.inner(false).0 / names.len().max(1) as f32;
        let wide = 260.0_f32.min(step - BETWEEN);
        let (mut parts, mut most) = (Vec::new(), 0);
        for (row, name) in names.iter().enumerate() {
            let x = row as f32 * step;
            let stroke = Stroke::solid(Ink::Label, 0.7);
            parts.push(Part::Paint(Shape::Line { from: (x, line), to: (x + wide, line), stroke }));
            let lines: Vec<String> = self.wrapped(name, wide, Style::SMALL);
            most = most.max(lines.len());
            let spot = Spot { block: self.block, row, column: 0 };
            parts.push(Part::Words { spot, lines: written((x, line + 3.0), &lines, Style::SMALL) });
        }
        let high = line + 3.0 + most as f32 * Style::SMALL.high();
        self.strips.push(Strip { high, above: 8.0, parts, ..Strip::default() });
    }
}

/// Returns lines of text, the first below `at`; empty ones are left out.
fn written(at: Point, lines: &[String], style: Style) -> Vec<Shape> {
    let shape = |(index, line): (usize, &String)| Shape::Text {
        at: (at.0, at.1 + (index as f32 + 0.5) * style.high()),
        text: line.clone(),
        size: style.size,
        anchor: Anchor::Start,
        ink: Ink::Label,
        bold: style.bold,
    };
    lines.iter().enumerate().filter(|(_, line)| !line.trim().is_empty()).map(shape).collect()
}

/// Returns where each column begins and how wide it is.
fn columns(table: &Table, wide: f32) -> Vec<(f32, f32)> {
    let share = |column: usize| table.shares.get(column).copied().unwrap_or(1.0).max(0.1);
    let whole: f32 = (0..table.head.len()).map(share).sum();
    let mut x = 0.0;
    let mut all = Vec::new();
    for column in 0..table.head.len() {
        let part = wide * share(column) / whole;
        all.push((x, part));
        x += part;
    }
    all
}

/// Returns the ground and the lines of a row.
fn ruled(wide: f32, high: f32, head: bool, last: bool) -> Vec<Part> {
    let (min, size) = ((0.0, 0.0), (wide, high));
    let ground = Shape::Rect { min, size, corner: 0.0, stroke: None, fill: Some(Ink::PartFill) };
    let stroke = Stroke::solid(Ink::Hatch, 0.6);
    let below = Shape::Line { from: (0.0, high), to: (wide, high), stroke };
    head.then_some(ground).into_iter().chain(last.then_some(below)).map(Part::Paint).collect()
}

/// Returns the scale at which a picture fits the width and a share of the height.
fn fit(picture: &Picture, (wide, high): (f32, f32), share: f32) -> f32 {
    (wide / picture.size.0.max(1.0)).min(high * share / picture.size.1.max(1.0)).min(LARGEST)
}

fn smallest(picture: &Picture) -> Option<f32> {
    let letters = |shape: &Shape| if let Shape::Text { size, .. } = shape { Some(*size) } else { None };
    picture.shapes.iter().filter_map(letters).reduce(f32::min)
}
