//! Which pieces lie in a window, without looking at all of them.

use std::collections::BTreeMap;

use super::super::frame::Area;

/// Side of a cell, in picture units.
const CELL: f32 = 600.0;
/// A piece in more cells than this is kept in a list of its own.
const MANY: i64 = 64;

type Cell = (i64, i64);

/// Pieces by the cells they lie in.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Grid {
    cells: BTreeMap<Cell, Vec<usize>>,
    large: Vec<usize>,
    count: usize,
}

impl Grid {
    /// Makes the grid of pieces that lie in these areas.
    pub(super) fn of(areas: impl Iterator<Item = Area>) -> Self {
        let mut grid = Self::default();
        for (index, area) in areas.enumerate() {
            let (first, last) = span(area);
            if number(first, last) > MANY {
                grid.large.push(index);
            } else {
                let cells = (first.0..=last.0).flat_map(|x| (first.1..=last.1).map(move |y| (x, y)));
                cells.for_each(|cell| grid.cells.entry(cell).or_default().push(index));
            }
            grid.count = index + 1;
        }
        grid
    }

    /// Returns the pieces that may lie in a window, in rising order.
    pub(super) fn within(&self, window: Area) -> Vec<usize> {
        let (first, last) = span(window);
        if number(first, last) > self.cells.len() as i64 {
            return (0..self.count).collect();
        }
        let mut found = self.large.clone();
        for x in first.0..=last.0 {
            let column = self.cells.range((x, first.1)..=(x, last.1));
            column.for_each(|(_, pieces)| found.extend(pieces));
        }
        found.sort_unstable();
        found.dedup();
        found
    }
}

/// Returns the first and the last cell of an area.
fn span(area: Area) -> (Cell, Cell) {
    let cell = |at: f32| (at / CELL).floor() as i64;
    let last = |low: i64, at: f32| cell(at).max(low);
    let first = (cell(area.min.0), cell(area.min.1));
    (first, (last(first.0, area.max.0), last(first.1, area.max.1)))
}

/// Returns how many cells lie between two.
fn number(first: Cell, last: Cell) -> i64 {
    let wide = last.0.saturating_sub(first.0).saturating_add(1);
    wide.saturating_mul(last.1.saturating_sub(first.1).saturating_add(1))
}
