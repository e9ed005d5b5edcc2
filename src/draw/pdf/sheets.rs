//! How a picture lies on paper: on one sheet, or cut into several that overlap.

use std::collections::BTreeMap;

use super::super::frame::Area;
use super::super::letters::Letters;
use super::super::{Anchor, Picture, Point, Shape};
use super::pen::Lens;
use super::{Paper, PdfError};

/// Room around the picture, in points, and above it for the words of a sheet of several.
const EDGE: f32 = 30.0;
const ABOVE: f32 = 14.0;
/// The smallest letters that are printed, in points.
const LEAST: f32 = 7.0;
/// The largest that a picture is printed, in points for each of its units.
const LARGEST: f32 = 0.8;
/// How far neighbouring sheets overlap, in points.
const OVERLAP: f32 = 24.0;
/// The most sheets.
const SHEETS: usize = 100;

/// A sheet: where it belongs, and what is drawn on it.
pub(super) struct Sheet {
    row: usize,
    column: usize,
    /// The shapes, by their index in the picture.
    pub(super) shapes: Vec<usize>,
}

/// How a picture lies on paper.
pub(super) struct Plan {
    /// Width and height of every sheet, in points.
    pub(super) size: (f32, f32),
    scale: f32,
    cut: bool,
    /// The sheets in reading order; those without anything on them are left out.
    pub(super) sheets: Vec<Sheet>,
    numbers: BTreeMap<(usize, usize), usize>,
}

/// Marks where sheets overlap.
pub(super) struct Overlaps {
    pub(super) lines: Vec<(Point, Point)>,
    pub(super) crosses: Vec<Point>,
}

impl Plan {
    /// Plans the sheets of a picture: one if its letters stay large enough, else as few as hold it.
    pub(super) fn of(picture: &Picture, paper: Paper) -> Result<Self, PdfError> {
        let (short, long) = paper.size();
        let smallest = smallest(&picture.shapes);
        let fits = [(short, long), (long, short)].map(|size| (fit(picture, size), size));
        let (scale, size) = if fits[1].0 > fits[0].0 { fits[1] } else { fits[0] };
        if smallest.is_none_or(|letters| letters * scale >= LEAST) {
            let shapes = (0..picture.shapes.len()).collect();
            let sheets = vec![Sheet { row: 0, column: 0, shapes }];
            return Ok(Self { size, scale, cut: false, sheets, numbers: BTreeMap::new() });
        }
        let scale = LEAST / smallest.unwrap_or(LEAST);
        let counts = [(short, long), (long, short)].map(|size| (count(picture, size, scale), size));
        let product = |(columns, rows): (usize, usize)| columns.saturating_mul(rows);
        let lying = product(counts[1].0) < product(counts[0].0);
        let (count, size) = if lying { counts[1] } else { counts[0] };
        if product(count) > SHEETS {
            return Err(PdfError::TooLarge { paper: paper.name(), needed: product(count), most: SHEETS });
        }
        Ok(Self::cut(picture, size, scale, count))
    }

    fn cut(picture: &Picture, size: (f32, f32), scale: f32, (columns, rows): (usize, usize)) -> Self {
        let mut plan = Self { size, scale, cut: true, sheets: Vec::new(), numbers: BTreeMap::new() };
        let extents: Vec<Area> = picture.shapes.iter().map(extent).collect();
        for (row, column) in (0..rows).flat_map(|row| (0..columns).map(move |column| (row, column))) {
            let sheet = Sheet { row, column, shapes: Vec::new() };
            let seen = plan.seen(&sheet);
            let touched = |extent: &Area| {
                let (x, y) = extent.overlap(seen);
                x >= 0.0 && y >= 0.0
            };
            let shapes: Vec<usize> = (0..extents.len()).filter(|index| touched(&extents[*index])).collect();
            if !shapes.is_empty() {
                plan.numbers.insert((row, column), plan.sheets.len() + 1);
                plan.sheets.push(Sheet { shapes, ..sheet });
            }
        }
        plan
    }

    /// Returns the part of a sheet that the picture is drawn on.
    pub(super) fn inner(&self) -> Area {
        inner(self.size, self.cut)
    }

    /// Returns how the picture is seen on a sheet.
    pub(super) fn lens(&self, sheet: &Sheet) -> Lens {
        let inner = self.inner();
        let (wide, high) = inner.size();
        let (x, y) = (sheet.column as f32 * (wide - OVERLAP), sheet.row as f32 * (high - OVERLAP));
        Lens { scale: self.scale, origin: (inner.min.0 - x, inner.min.1 - y) }
    }

    /// Returns the part of the picture that is on a sheet.
    fn seen(&self, sheet: &Sheet) -> Area {
        let (inner, lens) = (self.inner(), self.lens(sheet));
        let unit = |at: Point| ((at.0 - lens.origin.0) / lens.scale, (at.1 - lens.origin.1) / lens.scale);
        Area { min: unit(inner.min), max: unit(inner.max) }
    }

    /// Says where a sheet of several belongs: `2 of 6, goes right of page 1`.
    pub(super) fn place(&self, sheet: &Sheet) -> Option<String> {
        let number = self.numbers.get(&(sheet.row, sheet.column))?;
        let left = sheet.column.checked_sub(1).and_then(|column| self.numbers.get(&(sheet.row, column)));
        let above = sheet.row.checked_sub(1).and_then(|row| self.numbers.get(&(row, sheet.column)));
        let beside = match (left, above) {
            (Some(left), Some(above)) => format!("goes right of page {left} and below page {above}"),
            (Some(left), None) => format!("goes right of page {left}"),
            (None, Some(above)) => format!("goes below page {above}"),
            (None, None) => format!("row {}, column {}", sheet.row + 1, sheet.column + 1),
        };
        Some(format!("{number} of {}, {beside}", self.sheets.len()))
    }

    /// Returns the marks of a sheet, in points.
    pub(super) fn marks(&self, sheet: &Sheet) -> Overlaps {
        let inner = self.inner();
        let has = |row: Option<usize>, column: Option<usize>| {
            row.zip(column).is_some_and(|at| self.numbers.contains_key(&at))
        };
        let (row, column) = (sheet.row, sheet.column);
        let mut marks = Overlaps { lines: Vec::new(), crosses: Vec::new() };
        let (first, last) = (inner.min, inner.max);
        let thirds = |low: f32, high: f32| [low + (high - low) / 3.0, low + (high - low) / 1.5];
        if has(Some(row), column.checked_sub(1)) {
            let x = first.0 + OVERLAP;
            marks.lines.push(((x, first.1), (x, last.1)));
            marks.crosses.extend(thirds(first.1, last.1).map(|y| (first.0 + OVERLAP / 2.0, y)));
        }
        if has(Some(row), column.checked_add(1)) {
            marks.crosses.extend(thirds(first.1, last.1).map(|y| (last.0 - OVERLAP / 2.0, y)));
        }
        if has(row.checked_sub(1), Some(column)) {
            let y = first.1 + OVERLAP;
            marks.lines.push(((first.0, y), (last.0, y)));
            marks.crosses.extend(thirds(first.0, last.0).map(|x| (x, first.1 + OVERLAP / 2.0)));
        }
        if has(row.checked_add(1), Some(column)) {
            marks.crosses.extend(thirds(first.0, last.0).map(|x| (x, last.1 - OVERLAP / 2.0)));
        }
        marks
    }
}

/// Returns the part of a sheet that a picture is drawn on.
fn inner(size: (f32, f32), cut: bool) -> Area {
    let above = if cut { ABOVE } else { 0.0 };
    Area { min: (EDGE, EDGE + above), max: (size.0 - EDGE, size.1 - EDGE) }
}

/// Returns the scale at which the whole picture fits a sheet.
fn fit(picture: &Picture, size: (f32, f32)) -> f32 {
    let (wide, high) = inner(size, false).size();
    (wide / picture.size.0.max(1.0)).min(high / picture.size.1.max(1.0)).min(LARGEST)
}

/// Returns how many columns and rows of sheets hold a picture.
fn count(picture: &Picture, size: (f32, f32), scale: f32) -> (usize, usize) {
    let (wide, high) = inner(size, true).size();
    let along =
        |whole: f32, sheet: f32| (((whole * scale - OVERLAP) / (sheet - OVERLAP)).ceil().max(1.0)) as usize;
    (along(picture.size.0, wide), along(picture.size.1, high))
}

fn smallest(shapes: &[Shape]) -> Option<f32> {
    let letters = |shape: &Shape| match shape {
        Shape::Text { size, .. } => Some(*size),
        _ => None,
    };
    shapes.iter().filter_map(letters).reduce(f32::min)
}

/// Returns the area in which a shape lies.
fn extent(shape: &Shape) -> Area {
    match shape {
        Shape::Line { from, to, stroke } => Area::spanned(*from, *to).grown(stroke.width),
        Shape::Polyline { points, stroke } => {
            let first = points.first().copied().unwrap_or((0.0, 0.0));
            let spot = |point: &Point| Area { min: *point, max: *point };
            let whole = points.iter().map(spot).fold(Area { min: first, max: first }, Area::union);
            whole.grown(stroke.width)
        }
        Shape::Circle { at, radius, .. } => Area::around(*at, 2.0 * radius, 2.0 * radius),
        Shape::Rect { min, size, .. } => Area { min: *min, max: (min.0 + size.0, min.1 + size.1) },
        Shape::Text { at, text, size, anchor, bold, .. } => {
            let wide = Letters { size: *size, bold: *bold }.width(text);
            let left = match anchor {
                Anchor::Start => at.0,
                Anchor::Middle => at.0 - wide / 2.0,
                Anchor::End => at.0 - wide,
            };
            Area { min: (left, at.1 - size / 2.0), max: (left + wide, at.1 + size / 2.0) }
        }
    }
}
