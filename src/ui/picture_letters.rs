//! The letters of a picture that is shown small: large enough to be read where there is room, as drawn where there is not.

use egui::{Pos2, Rect, pos2, vec2};

use crate::draw::{Anchor, Ink, Point, Shape};

/// The least size of letters that can be read, in points.
pub(super) const LEAST: f32 = 10.0;
/// The distance of two lines, in sizes of their letters.
const LEADING: f32 = 1.15;

/// Lines of text that belong together, one below the other.
#[derive(Clone, Debug)]
pub(super) struct Block<'a> {
    /// Its lines as they are drawn.
    pub(super) shapes: Vec<&'a Shape>,
    /// Which point of it lies at its place.
    pub(super) anchor: Anchor,
    /// Its ink.
    pub(super) ink: Ink,
    texts: Vec<&'a str>,
    from: Point,
    to: Point,
    size: f32,
    bold: bool,
}

/// Returns whether a shape is text that cannot be read at a scale; the letters in the signs of probes stay as they are.
pub(super) fn is_small(shape: &Shape, scale: f32) -> bool {
    matches!(shape, Shape::Text { size, ink, .. } if *ink != Ink::ProbeLabel && size * scale < LEAST)
}

/// Returns texts in blocks: lines that follow one another, one right below the other, are one block.
pub(super) fn blocks<'a>(shapes: impl Iterator<Item = &'a Shape>) -> Vec<Block<'a>> {
    let mut blocks: Vec<Block<'a>> = Vec::new();
    for line in shapes.filter_map(Block::of) {
        match blocks.last_mut() {
            Some(block) if block.goes_on_with(&line) => {
                block.to = line.to;
                block.texts.extend(line.texts);
                block.shapes.extend(line.shapes);
            }
            _ => blocks.push(line),
        }
    }
    blocks
}

impl<'a> Block<'a> {
    fn of(shape: &'a Shape) -> Option<Self> {
        let Shape::Text { at, text, size, anchor, ink, bold } = shape else { return None };
        Some(Self {
            shapes: vec![shape],
            anchor: *anchor,
            ink: *ink,
            texts: vec![text.as_str()],
            from: *at,
            to: *at,
            size: *size,
            bold: *bold,
        })
    }

    fn goes_on_with(&self, line: &Self) -> bool {
        let below = line.from.1 - self.to.1;
        let alike = self.bold == line.bold && self.ink == line.ink && self.anchor == line.anchor;
        alike && (line.from.0 - self.to.0).abs() < 0.1 && below > 0.0 && below < 1.5 * self.size
    }

    /// Returns whether it begins at its place: the words of the legend.
    pub(super) fn begins(&self) -> bool {
        self.anchor == Anchor::Start
    }

    /// Returns whether it is the name of a lug.
    fn is_of_a_lug(&self) -> bool {
        self.rank() == 2 && !self.begins()
    }

    /// Returns what gets its room first: shares, then names of parts, then the rest.
    fn rank(&self) -> u8 {
        match (self.ink, self.bold) {
            (Ink::Suspect, _) => 0,
            (_, true) => 1,
            (_, false) => 2,
        }
    }

    fn area(&self, point: impl Fn(Point) -> Pos2, wide: impl Fn(&str) -> f32) -> Rect {
        let middle = point((f32::midpoint(self.from.0, self.to.0), f32::midpoint(self.from.1, self.to.1)));
        let width = self.texts.iter().map(|text| wide(text)).fold(0.0, f32::max);
        let size = vec2(width, self.texts.len() as f32 * LEAST * LEADING);
        let shift = match self.anchor {
            Anchor::Start => width / 2.0,
            Anchor::Middle => 0.0,
            Anchor::End => -width / 2.0,
        };
        Rect::from_center_size(middle + vec2(shift, 0.0), size)
    }

    /// Returns its lines, each with the point where its anchor lies, in the room that it got.
    pub(super) fn lines(&self, area: Rect) -> impl Iterator<Item = (Pos2, &'a str)> {
        let x = match self.anchor {
            Anchor::Start => area.min.x,
            Anchor::Middle => area.center().x,
            Anchor::End => area.max.x,
        };
        let top = area.min.y;
        let at = move |index: usize| pos2(x, top + (index as f32 + 0.5) * LEAST * LEADING);
        let texts: Vec<&'a str> = self.texts.clone();
        texts.into_iter().enumerate().map(move |(index, text)| (at(index), text))
    }
}

/// Returns the blocks with the room that each gets on the screen; `None` for one that would lie on another.
///
/// The words of the legend, and the names of lugs, get theirs all together or not at all: half of them misleads.
pub(super) fn placed<'b, 'a>(
    blocks: &'b [Block<'a>],
    point: impl Fn(Point) -> Pos2,
    wide: impl Fn(&str) -> f32,
) -> Vec<(&'b Block<'a>, Option<Rect>)> {
    let mut order: Vec<&Block<'a>> = blocks.iter().collect();
    order.sort_by_key(|block| block.rank());
    let mut taken: Vec<Rect> = Vec::new();
    let mut all = Vec::new();
    for block in order {
        let area = block.area(&point, &wide);
        let free = !taken.iter().any(|other| other.intersects(area));
        taken.extend(free.then_some(area));
        all.push((block, free.then_some(area)));
    }
    together(&mut all, Block::begins);
    together(&mut all, Block::is_of_a_lug);
    all
}

/// Takes the room of all blocks of a group where one of them has none.
fn together<'a>(all: &mut [(&Block<'a>, Option<Rect>)], is_one: impl Fn(&Block<'a>) -> bool) {
    if all.iter().any(|(block, place)| place.is_none() && is_one(block)) {
        all.iter_mut().filter(|(block, _)| is_one(block)).for_each(|(_, place)| *place = None);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(at: Point, text: &str, bold: bool) -> Shape {
        Shape::Text { at, text: text.to_owned(), size: 19.0, anchor: Anchor::Middle, ink: Ink::Label, bold }
    }

    /// A name in two lines, one lug right below it and one far away, at a third of their size.
    #[test]
    fn what_has_room_can_be_read_and_lugs_are_named_alike() {
        let shapes = [
            text((100.0, 100.0), "neck", true),
            text((100.0, 121.0), "volume", true),
            text((100.0, 135.0), "1 ground", false),
            text((400.0, 135.0), "tip", false),
        ];
        assert!(is_small(&shapes[0], 0.3) && !is_small(&shapes[0], 0.8));
        let blocks = blocks(shapes.iter());
        assert_eq!(blocks.len(), 3, "two lines are one name");
        let point = |at: Point| pos2(at.0 * 0.3, at.1 * 0.3);
        let placed = placed(&blocks, point, |line| line.len() as f32 * 5.0);
        let room: Vec<bool> = placed.iter().map(|(_, area)| area.is_some()).collect();
        assert_eq!(room, [true, false, false]);
        let lines: Vec<f32> = placed[0].0.lines(placed[0].1.unwrap()).map(|(at, _)| at.y).collect();
        assert!((lines[1] - lines[0] - LEAST * LEADING).abs() < 0.01, "{lines:?}");
    }
}
