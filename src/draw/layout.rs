//! Places the parts of a harness so that wires fit between them.

use super::Point;
use super::frame::{Area, GRID, round_up};
use super::part::{Sketch, sketch};
use super::sight::Sight;
use super::wire::{Route, routes};
use crate::circuit::{Harness, Lifted, LinkId, TerminalId};

/// Free room kept between two parts.
const GAP: f32 = 56.0;
/// Free room kept around the whole picture.
const MARGIN: f32 = 60.0;
/// Rounds of pushing overlapping parts apart.
const ROUNDS: usize = 200;

/// Where everything in a picture lies: made once for a harness, the same for all marks.
#[derive(Clone, Debug)]
pub struct Plan {
    pub(super) parts: Vec<Sketch>,
    pub(super) points: Vec<Point>,
    pub(super) routes: Vec<Route>,
    pub(super) size: (f32, f32),
    pub(super) sight: Sight,
}

impl Plan {
    /// Places the parts of a harness and routes its wires, as a right-handed instrument is seen from behind.
    pub fn new(harness: &Harness) -> Self {
        let (parts, size) = placed(harness);
        let points = points(harness, &parts);
        let routes = routes(harness, &parts, size);
        Self { parts, points, routes, size, sight: Sight::default() }
    }

    /// Returns where a terminal lies, in picture units; the origin for an unknown one.
    pub fn terminal_point(&self, terminal: TerminalId) -> Point {
        self.points.get(terminal.0).copied().unwrap_or_default()
    }

    /// Returns where a link runs, an end that is lifted drawn back from its terminal.
    pub(super) fn route(&self, id: LinkId, lifted: Option<Lifted>) -> Route {
        let route = self.routes.get(id.0).cloned().unwrap_or_default();
        match lifted.filter(|lifted| lifted.link == id) {
            Some(lifted) => route.drawn_back(lifted.second),
            None => route,
        }
    }

    /// Returns where the free end of a lifted conductor is.
    pub(super) fn free_end(&self, lifted: Lifted) -> Point {
        self.route(lifted.link, Some(lifted)).end(lifted.second)
    }

    /// Returns what a probe touches that is asked for on a terminal: the terminal, or the free end of what is lifted.
    pub(super) fn touched(&self, terminal: TerminalId, lifted: Option<Lifted>) -> Point {
        let free = lifted.filter(|lifted| lifted.stands_for == Some(terminal));
        free.map_or_else(|| self.terminal_point(terminal), |lifted| self.free_end(lifted))
    }
}

/// Returns where a terminal lies in the picture of its harness, in picture units; the origin for an unknown one.
pub fn terminal_point(harness: &Harness, terminal: TerminalId) -> (f32, f32) {
    let (parts, _) = placed(harness);
    points(harness, &parts).get(terminal.0).copied().unwrap_or_default()
}

fn points(harness: &Harness, parts: &[Sketch]) -> Vec<Point> {
    let mut points = vec![Point::default(); harness.terminals.len()];
    for lug in parts.iter().flat_map(|part| &part.lugs) {
        if let Some(point) = points.get_mut(lug.terminal.0) {
            *point = lug.at;
        }
    }
    points
}

fn placed(harness: &Harness) -> (Vec<Sketch>, (f32, f32)) {
    let sketches: Vec<Sketch> = harness.parts.iter().map(|part| sketch(harness, part)).collect();
    let at: Vec<Point> = harness.parts.iter().map(|part| part.at).collect();
    let areas: Vec<Area> = sketches.iter().map(|s| s.area.grown(GAP / 2.0)).collect();
    let scale = scale(&at, &areas);
    let mut at: Vec<Point> = at.iter().map(|p| (p.0 * scale, p.1 * scale)).collect();
    push_apart(&mut at, &areas);
    let whole = sketches
        .iter()
        .zip(&at)
        .map(|(s, by)| s.area.moved(*by))
        .reduce(Area::union)
        .unwrap_or(Area::around((0.0, 0.0), 0.0, 0.0));
    let origin = (whole.min.0 - MARGIN, whole.min.1 - MARGIN);
    let snap = |v: f32| (v / GRID).round() * GRID;
    let moved = |(s, p): (Sketch, &Point)| moved(s, (snap(p.0 - origin.0), snap(p.1 - origin.1)));
    let (w, h) = whole.size();
    let size = (round_up(w + 2.0 * MARGIN, GRID), round_up(h + 2.0 * MARGIN, GRID));
    (sketches.into_iter().zip(&at).map(moved).collect(), size)
}

/// Returns the factor from file positions to picture units: tight, so that parts still need pushing apart.
fn scale(at: &[Point], areas: &[Area]) -> f32 {
    let mut demands: Vec<f32> = (0..at.len())
        .filter_map(|i| {
            (0..at.len()).filter(|j| *j != i).filter_map(|j| demand(at, areas, i, j)).reduce(f32::max)
        })
        .collect();
    demands.sort_by(f32::total_cmp);
    demands.get(demands.len() * 3 / 10).copied().unwrap_or(1.0)
}

/// Returns the scale at which two parts just clear each other; `None` when they share one spot.
fn demand(at: &[Point], areas: &[Area], i: usize, j: usize) -> Option<f32> {
    let ((wi, hi), (wj, hj)) = (areas[i].size(), areas[j].size());
    let (dx, dy) = ((at[i].0 - at[j].0).abs(), (at[i].1 - at[j].1).abs());
    let demand = ((wi + wj) / 2.0 / dx).min((hi + hj) / 2.0 / dy);
    demand.is_finite().then_some(demand)
}

/// Moves overlapping parts apart, each pair along the axis where it overlaps least.
fn push_apart(at: &mut [Point], areas: &[Area]) {
    for _ in 0..ROUNDS {
        let mut moved = false;
        for i in 0..at.len() {
            for j in i + 1..at.len() {
                moved |= part_ways(at, areas, i, j);
            }
        }
        if !moved {
            break;
        }
    }
}

fn part_ways(at: &mut [Point], areas: &[Area], i: usize, j: usize) -> bool {
    let (x, y) = areas[i].moved(at[i]).overlap(areas[j].moved(at[j]));
    if x <= 0.5 || y <= 0.5 {
        return false;
    }
    let side = |a: f32, b: f32| if a <= b { -0.5 } else { 0.5 };
    let step = if x < y { (side(at[i].0, at[j].0) * x, 0.0) } else { (0.0, side(at[i].1, at[j].1) * y) };
    at[i] = (at[i].0 + step.0, at[i].1 + step.1);
    at[j] = (at[j].0 - step.0, at[j].1 - step.1);
    true
}

fn moved(mut sketch: Sketch, by: Point) -> Sketch {
    for lug in &mut sketch.lugs {
        lug.at = (lug.at.0 + by.0, lug.at.1 + by.1);
    }
    sketch.body = sketch.body.moved(by);
    sketch.caption = sketch.caption.map(|area| area.moved(by));
    sketch.area = sketch.area.moved(by);
    let shift = |shapes: Vec<super::Shape>| shapes.into_iter().map(|s| s.moved(by)).collect();
    sketch.under = shift(sketch.under);
    sketch.over = shift(sketch.over);
    sketch
}
