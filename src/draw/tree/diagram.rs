//! A tree laid out once, to be drawn whole or through a window.

use std::collections::BTreeMap;

use super::super::frame::Area;
use super::super::letters::Letters;
use super::super::{Anchor, Picture, Point, Shape};
use super::graph::{Graph, What};
use super::grid::Grid;
use super::marks::Marked;
use super::piece::{Detail, Drawing, Piece, label};
use super::{TreeMarks, order, place, way, words};
use crate::trees::{Then, Tree};

/// Room around the whole, and above the boxes for the title.
const MARGIN: f32 = 40.0;
const ABOVE: f32 = 110.0;
/// The most lines of what to do with other guitars, and how far apart lines of the heading are.
const ELSEWHERE: usize = 2;
const NEXT: f32 = 20.0;
/// Room around a box for what stands over its outline.
const OVER: f32 = 14.0;
/// Letters of the title and of the line below it.
const TITLE: Letters = Letters::bold(24.0);
const BELOW: Letters = Letters::plain(14.0);
/// The least width, for the title.
const LEAST: f32 = 500.0;

/// A tree as pieces to draw: boxes for its steps and ends, lines for its ways.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagram {
    title: String,
    about: String,
    size: (f32, f32),
    /// Lines, then boxes, then the title.
    pieces: Vec<Piece>,
    grid: Grid,
    boxes: BTreeMap<String, Area>,
    /// The name of the step whose box a piece is.
    steps: BTreeMap<usize, String>,
}

impl Diagram {
    /// Lays a tree out, with the marks of a job.
    pub fn of(tree: &Tree, shown: &TreeMarks) -> Self {
        Self::laid(tree, shown, &Marked::new(tree, shown))
    }

    /// Lays a tree out for paper: as [`of`](Self::of) does, with the reason of every step and what each of its ways
    /// means, and with all the words of a step.
    pub fn printed(tree: &Tree, shown: &TreeMarks) -> Self {
        Self::laid(tree, shown, &Marked::new(tree, shown).with_reasons())
    }

    fn laid(tree: &Tree, shown: &TreeMarks, marked: &Marked<'_>) -> Self {
        let (graph, size) = laid_out(tree, marked);
        let mut diagram = Self {
            title: tree.title.clone(),
            about: about(tree, shown),
            size,
            pieces: Vec::with_capacity(graph.links.len() + graph.nodes.len()),
            grid: Grid::default(),
            boxes: BTreeMap::new(),
            steps: BTreeMap::new(),
        };
        for link in &graph.links {
            diagram.pieces.push(way::way(link, &graph.nodes[link.from], &graph.nodes[link.to]));
        }
        diagram.add_boxes(tree, &graph);
        diagram.pieces.push(heading(tree, &shown.told, size.0));
        diagram.grid = Grid::of(diagram.pieces.iter().map(|piece| piece.area));
        diagram
    }

    fn add_boxes(&mut self, tree: &Tree, graph: &Graph) {
        for node in &graph.nodes {
            let area = Area { min: node.at, max: (node.at.0 + node.wide, node.at.1 + node.high) };
            let drawing = match node.what {
                What::Bend => continue,
                What::End(index) => graph.ends[index].draw(node.at),
                What::Step(index) => {
                    let name = &tree.steps[index].name;
                    self.boxes.insert(name.clone(), area);
                    self.steps.insert(self.pieces.len(), name.clone());
                    graph.cards[index].draw(node.at)
                }
            };
            self.pieces.push(Piece::new(area.grown(OVER), drawing));
        }
    }

    /// Returns the width and height of the whole.
    pub fn size(&self) -> (f32, f32) {
        self.size
    }

    /// Returns the pieces that lie in a window, the lowest first.
    pub fn within(&self, window: Area) -> impl Iterator<Item = &Piece> {
        let pieces = self.grid.within(window).into_iter().filter_map(move |index| self.pieces.get(index));
        pieces.filter(move |piece| touches(piece.area, window))
    }

    /// Returns the name of the step whose box lies under a point.
    pub fn step_at(&self, at: Point) -> Option<&str> {
        let near = self.grid.within(Area { min: at, max: at });
        let names = near.iter().filter_map(|piece| self.steps.get(piece));
        names.map(String::as_str).find(|name| self.boxes.get(*name).is_some_and(|area| area.holds(at)))
    }

    /// Returns the box of the step with this name.
    pub fn box_of(&self, step: &str) -> Option<Area> {
        self.boxes.get(step).copied()
    }

    /// Returns the whole as a picture.
    pub fn picture(&self) -> Picture {
        let shapes: Vec<Shape> =
            self.pieces.iter().flat_map(|piece| piece.shapes(Detail::Everything)).cloned().collect();
        let (title, about) = (self.title.clone(), self.about.clone());
        Picture { title, about, size: self.size, shapes, hits: Vec::new() }
    }
}

/// Returns the graph of a tree with every node at its place, and the size of the whole.
pub(super) fn laid_out(tree: &Tree, marked: &Marked<'_>) -> (Graph, (f32, f32)) {
    let mut graph = Graph::of(tree, marked);
    let columns = order::ordered(&graph, tree.start);
    let (right, bottom) = place::place(&mut graph, &columns, (MARGIN, above(tree)));
    (graph, ((right + MARGIN).max(LEAST), bottom + MARGIN))
}

fn touches(a: Area, b: Area) -> bool {
    let (x, y) = a.overlap(b);
    x >= 0.0 && y >= 0.0
}

/// Returns the room above the steps: with more of it where a line says what to do with other guitars.
fn above(tree: &Tree) -> f32 {
    if tree.elsewhere.is_some() { ABOVE + NEXT * ELSEWHERE as f32 } else { ABOVE }
}

fn heading(tree: &Tree, told: &str, wide: f32) -> Piece {
    let room = wide - 2.0 * MARGIN;
    let lines = |words: &str, letters: Letters, y: f32, most: usize| {
        let lines = letters.wrapped(words, room, most);
        let at = |index: usize| (MARGIN, y + NEXT * index as f32);
        let line = |(index, line): (usize, &String)| label(at(index), line, letters, Anchor::Start);
        lines.iter().enumerate().map(line).collect::<Vec<Shape>>()
    };
    let mut below = format!("Complaint: {}", tree.complaint.title());
    if let Some(guitars) = tree.meant_for() {
        below += &format!("; {guitars}");
    }
    let middle = lines(&tree.title, TITLE, 40.0, 1);
    let mut near = lines(&below, BELOW, 68.0, 1);
    if let Some(elsewhere) = &tree.elsewhere {
        near.extend(lines(&format!("Other guitars: {elsewhere}"), BELOW, 90.0, ELSEWHERE));
    }
    if !told.is_empty() {
        near.extend(lines(told, BELOW, above(tree) - 20.0, 1));
    }
    let area = Area { min: (0.0, 0.0), max: (wide, above(tree)) };
    Piece::new(area, Drawing { far: Vec::new(), middle, near })
}

/// Says in words what the marks show.
fn about(tree: &Tree, shown: &TreeMarks) -> String {
    let mut parts = vec![format!("A tree of {} steps.", tree.steps.len())];
    for (index, (name, way)) in shown.path.iter().enumerate() {
        let gone = way.and_then(|way| gone(tree, name, way)).unwrap_or_default();
        parts.push(format!("Check {}: {name}{gone}.", index + 1));
    }
    parts.extend(shown.here.iter().map(|name| format!("You are here: {name}.")));
    if !shown.passed_over.is_empty() {
        parts.push(format!("Passed over: {}.", shown.passed_over.join(", ")));
    }
    parts.extend(Some(shown.told.clone()).filter(|told| !told.is_empty()));
    parts.join(" ")
}

/// Returns what a way of a step is called and where it leads.
fn gone(tree: &Tree, step: &str, way: usize) -> Option<String> {
    let step = tree.step(step)?;
    let words = words::ways(step).into_iter().nth(way)?;
    let to = match step.ways().nth(way)? {
        Then::Step(index) => tree.steps.get(*index).map_or("", |step| step.name.as_str()),
        end => words::end(end).map_or("", |end| end.head),
    };
    Some(format!(": {words}, which leads to {to}"))
}
