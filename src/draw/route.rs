//! Finds ways for wires on a grid: few bends, around parts, beside other wires rather than on top of them.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::Point;
use super::frame::{Area, GRID};

/// Cost of one step on free ground.
const STEP: u32 = 10;
/// Cost of a bend.
const BEND: u32 = 40;
/// Extra cost of a step across a part.
const ACROSS: u32 = 400;
/// Extra cost of a step past another part's lug.
const LUG: u32 = 250;
/// Extra cost of a step along another wire.
const ALONG: u32 = 160;
/// Extra cost of crossing another wire.
const CROSS: u32 = 25;

/// The four directions in which a wire can run.
const WAYS: [(i32, i32); 4] = [(1, 0), (0, 1), (-1, 0), (0, -1)];

/// One end of a wire: where it is and which way the wire leaves, if that matters.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stop {
    pub(super) at: Point,
    pub(super) out: Option<Point>,
}

/// The ground on which wires are laid: what each cell costs, and which wires it already carries.
#[derive(Clone, Debug)]
pub(super) struct Field {
    wide: i32,
    high: i32,
    thick: bool,
    ground: Vec<u32>,
    used: Vec<[bool; 2]>,
}

impl Field {
    /// Makes a free field of this size in picture units.
    pub(super) fn new(size: (f32, f32)) -> Self {
        let (wide, high) = ((size.0 / GRID) as i32 + 1, (size.1 / GRID) as i32 + 1);
        let cells = (wide * high) as usize;
        Self { wide, high, thick: false, ground: vec![0; cells], used: vec![[false; 2]; cells] }
    }

    /// Makes an area dear to cross.
    pub(super) fn block(&mut self, area: Area) {
        for cell in 0..self.ground.len() {
            if area.grown(1.0).holds(self.point(cell)) {
                self.ground[cell] += ACROSS;
            }
        }
    }

    /// Makes a lug and the ground just outside it dear for wires that end elsewhere.
    pub(super) fn guard(&mut self, at: Point, out: Point) {
        for reach in [-1.0, 0.0, 1.0, 2.0] {
            let spot = (at.0 + out.0 * GRID * reach, at.1 + out.1 * GRID * reach);
            if let Some(cell) = self.cell(spot) {
                self.ground[cell] += LUG;
            }
        }
    }

    /// Finds a way between two stops and marks it as used; the straight line when there is none.
    /// A `thick` line keeps the tracks on both its sides free as well.
    pub(super) fn lay(&mut self, from: Stop, to: Stop, thick: bool) -> Vec<Point> {
        self.thick = thick;
        let found = self.cells(from).zip(self.cells(to)).and_then(|(a, b)| self.search(a, b));
        let Some(cells) = found else {
            return vec![from.at, to.at];
        };
        self.mark(&cells);
        let mut points = vec![from.at];
        points.extend(cells.iter().map(|cell| self.point(*cell)));
        points.push(to.at);
        straightened(points)
    }

    /// Marks the tracks of a line as used.
    fn mark(&mut self, cells: &[usize]) {
        for pair in cells.windows(2) {
            let axis = usize::from(pair[0].abs_diff(pair[1]) != 1);
            let cells: Vec<usize> = pair.iter().flat_map(|cell| self.tracks(*cell, axis)).collect();
            for cell in cells {
                self.used[cell][axis] = true;
            }
        }
    }

    /// Returns a cell and, for a thick line, its neighbours to both sides of a line along `axis`.
    fn tracks(&self, cell: usize, axis: usize) -> Vec<usize> {
        let beside = if axis == 0 { self.wide as usize } else { 1 };
        if !self.thick {
            return vec![cell];
        }
        let more = [cell.checked_sub(beside), Some(cell + beside).filter(|c| *c < self.used.len())];
        std::iter::once(cell).chain(more.into_iter().flatten()).collect()
    }

    /// Returns the cell of a stop and the way in which a wire must leave it.
    fn cells(&self, stop: Stop) -> Option<(usize, Option<usize>)> {
        let way = stop.out.and_then(|out| {
            WAYS.iter().position(|w| (w.0 as f32 - out.0).abs() + (w.1 as f32 - out.1).abs() < 0.5)
        });
        self.cell(stop.at).map(|cell| (cell, way))
    }

    fn search(&self, from: (usize, Option<usize>), to: (usize, Option<usize>)) -> Option<Vec<usize>> {
        let mut best = vec![u32::MAX; self.ground.len() * 4];
        let mut came = vec![usize::MAX; self.ground.len() * 4];
        let mut open = BinaryHeap::new();
        for way in (0..4).filter(|way| from.1.is_none_or(|w| w == *way)) {
            let state = from.0 * 4 + way;
            best[state] = 0;
            open.push(Reverse((self.left(from.0, to.0), state)));
        }
        while let Some(Reverse((_, state))) = open.pop() {
            let (cell, way) = (state / 4, state % 4);
            if cell == to.0 && to.1.is_none_or(|w| (w + 2) % 4 == way) {
                return Some(trail(&came, state));
            }
            for next in (0..4).filter(|next| (next + 2) % 4 != way) {
                let Some((reached, cost)) = self.step(cell, way, next, (from.0, to.0)) else {
                    continue;
                };
                let (index, total) = (reached * 4 + next, best[state] + cost);
                if (cell != from.0 || next == way) && total < best[index] {
                    best[index] = total;
                    came[index] = state;
                    open.push(Reverse((total + self.left(reached, to.0), index)));
                }
            }
        }
        None
    }

    /// Returns the cell one step `next` of `cell` and what the step costs.
    fn step(&self, cell: usize, way: usize, next: usize, ends: (usize, usize)) -> Option<(usize, u32)> {
        let (x, y) = (cell as i32 % self.wide + WAYS[next].0, cell as i32 / self.wide + WAYS[next].1);
        if x < 0 || y < 0 || x >= self.wide || y >= self.high {
            return None;
        }
        let reached = (y * self.wide + x) as usize;
        let bend = if next == way { 0 } else { BEND };
        let near = |end: usize| self.steps(reached, end) <= 2;
        let axis = next % 2;
        let tracks = self.tracks(reached, axis);
        let dear = tracks.iter().map(|cell| self.ground[*cell]).max().unwrap_or(0);
        let ground = if near(ends.0) || near(ends.1) { 0 } else { dear };
        let same = tracks.iter().any(|cell| self.used[*cell][axis]);
        let other = self.used[reached][1 - axis];
        let wires = u32::from(same) * ALONG + u32::from(other) * CROSS;
        Some((reached, STEP + bend + ground + wires))
    }

    fn steps(&self, a: usize, b: usize) -> i32 {
        let (a, b) = (a as i32, b as i32);
        (a % self.wide - b % self.wide).abs() + (a / self.wide - b / self.wide).abs()
    }

    fn left(&self, cell: usize, to: usize) -> u32 {
        self.steps(cell, to) as u32 * STEP
    }

    fn cell(&self, p: Point) -> Option<usize> {
        let (x, y) = ((p.0 / GRID).round() as i32, (p.1 / GRID).round() as i32);
        let inside = x >= 0 && y >= 0 && x < self.wide && y < self.high;
        inside.then_some((y * self.wide + x) as usize)
    }

    fn point(&self, cell: usize) -> Point {
        let cell = cell as i32;
        ((cell % self.wide) as f32 * GRID, (cell / self.wide) as f32 * GRID)
    }
}

fn trail(came: &[usize], end: usize) -> Vec<usize> {
    let mut cells = vec![end / 4];
    let mut state = end;
    while came[state] != usize::MAX {
        state = came[state];
        cells.push(state / 4);
    }
    cells.reverse();
    cells
}

/// Drops repeated points and those on a straight stretch.
fn straightened(points: Vec<Point>) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::with_capacity(points.len());
    for p in points {
        if kept.last().is_some_and(|last| super::shape::distance(*last, p) < 0.01) {
            continue;
        }
        if let [.., a, b] = kept[..] {
            let bend = (b.0 - a.0) * (p.1 - b.1) - (b.1 - a.1) * (p.0 - b.0);
            if bend.abs() < 0.01 {
                kept.pop();
            }
        }
        kept.push(p);
    }
    kept
}
