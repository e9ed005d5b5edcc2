//! A tree as a graph in columns: steps, ends, and the bends of lines that pass a column.

use std::collections::BTreeMap;

use super::super::Point;
use super::card::{self, Card};
use super::end::{self, End};
use super::marks::Marked;
use crate::trees::{Then, Tree};

/// Height of the lane in which a line passes a column.
const LANE: f32 = 12.0;
/// So many bends for every box are laid; lines beyond run straight to their step, under what lies between.
const BENDS: usize = 4;

/// What stands at a place of the layout.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum What {
    /// The step at this index.
    Step(usize),
    /// The end at this index of the graph's ends.
    End(usize),
    /// A line passes.
    Bend,
}

/// A place of the layout.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub(super) what: What,
    /// Its column.
    pub(super) rank: usize,
    /// Its upper left corner, once it is placed.
    pub(super) at: Point,
    pub(super) wide: f32,
    pub(super) high: f32,
}

impl Node {
    /// Returns how far below its top a line comes in.
    pub(super) fn entry(&self) -> f32 {
        match self.what {
            What::Step(_) => card::ENTRY,
            _ => self.high / 2.0,
        }
    }
}

/// A line from one place to another.
#[derive(Clone, Copy, Debug)]
pub(super) struct Link {
    pub(super) from: usize,
    /// How far below the top of where it begins it leaves.
    pub(super) port: f32,
    pub(super) to: usize,
    /// The share of faults that go along it.
    pub(super) share: Option<f64>,
    /// Whether the job went along it.
    pub(super) taken: bool,
}

impl Link {
    /// Lets another way go along this line too.
    fn join(&mut self, other: &Self) {
        self.share = match (self.share, other.share) {
            (None, None) => None,
            (a, b) => Some(a.unwrap_or(0.0) + b.unwrap_or(0.0)),
        };
        self.taken |= other.taken;
    }
}

/// All that is laid out; the first nodes are the steps in the order of the file.
pub(super) struct Graph {
    pub(super) cards: Vec<Card>,
    pub(super) ends: Vec<End>,
    pub(super) nodes: Vec<Node>,
    pub(super) links: Vec<Link>,
}

impl Graph {
    /// Makes the graph of a tree; nothing is ordered or placed yet.
    pub(super) fn of(tree: &Tree, marks: &Marked<'_>) -> Self {
        let cards: Vec<Card> = (0..tree.steps.len()).map(|index| Card::of(tree, index, marks)).collect();
        let ranks = ranks(tree);
        let step = |(index, card): (usize, &Card)| Node {
            what: What::Step(index),
            rank: ranks[index],
            at: (0.0, 0.0),
            wide: card::WIDE,
            high: card.high,
        };
        let nodes = cards.iter().enumerate().map(step).collect();
        let mut graph = Self { cards, ends: Vec::new(), nodes, links: Vec::new() };
        let far = graph.near_links(tree);
        graph.far_links(far);
        graph
    }

    /// Adds the ends and the lines to them and to the next column; returns the lines that go further, by their step.
    fn near_links(&mut self, tree: &Tree) -> BTreeMap<usize, Vec<Link>> {
        let mut far: BTreeMap<usize, Vec<Link>> = BTreeMap::new();
        for index in 0..self.cards.len() {
            let mut ends: Vec<(&Then, usize)> = Vec::new();
            for (link, then) in self.ways(tree, index) {
                match then {
                    Then::Step(to) if self.nodes[*to].rank > self.nodes[index].rank + 1 => {
                        far.entry(*to).or_default().push(Link { to: *to, ..link });
                    }
                    Then::Step(to) => self.links.push(Link { to: *to, ..link }),
                    _ => {
                        let known = ends.iter().find(|(end, _)| *end == then).map(|(_, node)| *node);
                        let Some(to) = known.or_else(|| self.add_end(index, then)) else {
                            continue;
                        };
                        ends.push((then, to));
                        self.links.push(Link { to, ..link });
                    }
                }
            }
        }
        far
    }

    /// Returns the ways out of a step that have a line, each as a line that leads nowhere yet.
    fn ways<'t>(&self, tree: &'t Tree, index: usize) -> Vec<(Link, &'t Then)> {
        let all: Vec<&Then> = tree.steps[index].ways().collect();
        let way = |row: &card::Row| {
            let taken = row.check.is_some();
            let link = Link { from: index, port: row.port(), to: index, share: row.share, taken };
            Some((link, *all.get(row.way)?))
        };
        self.cards[index].rows.iter().filter(|row| row.led).filter_map(way).collect()
    }

    fn add_end(&mut self, from: usize, then: &Then) -> Option<usize> {
        let end = End::of(then)?;
        let (what, high) = (What::End(self.ends.len()), end.high);
        let rank = self.nodes[from].rank + 1;
        self.ends.push(end);
        Some(self.add(Node { what, rank, at: (0.0, 0.0), wide: end::WIDE, high }))
    }

    fn add(&mut self, node: Node) -> usize {
        self.nodes.push(node);
        self.nodes.len() - 1
    }

    /// Adds the lines that pass other columns: those to one step become one, and the shortest are laid first.
    fn far_links(&mut self, far: BTreeMap<usize, Vec<Link>>) {
        let mut all: Vec<(usize, Vec<Link>)> = Vec::new();
        for (to, mut ways) in far {
            ways.sort_by_key(|way| self.nodes[way.from].rank);
            let first = ways.first().map_or(0, |way| self.nodes[way.from].rank + 1);
            all.push((self.nodes[to].rank.saturating_sub(first), ways));
        }
        all.sort_by_key(|(span, _)| *span);
        let mut left = BENDS * self.nodes.len();
        for (span, ways) in all {
            if span <= left {
                left -= span;
                self.chain(&ways);
            } else {
                self.links.extend(ways);
            }
        }
    }

    /// Lays one line through all columns to the step that all these ways lead to.
    fn chain(&mut self, ways: &[Link]) {
        let Some(first) = ways.first() else {
            return;
        };
        let (to, last) = (first.to, self.nodes[first.to].rank);
        let mut waiting = ways.iter().peekable();
        let mut tail: Option<Link> = None;
        for rank in self.nodes[first.from].rank + 1..last {
            let bend = self.add(Node { what: What::Bend, rank, at: (0.0, 0.0), wide: 0.0, high: LANE });
            let mut flow = Link { from: bend, port: LANE / 2.0, to, share: None, taken: false };
            if let Some(before) = tail {
                flow.join(&before);
                self.links.push(Link { to: bend, ..before });
            }
            while let Some(way) = waiting.next_if(|way| self.nodes[way.from].rank < rank) {
                flow.join(way);
                self.links.push(Link { to: bend, ..*way });
            }
            tail = Some(flow);
        }
        self.links.extend(tail);
        self.links.extend(waiting);
    }

    /// Returns how many columns there are.
    pub(super) fn columns(&self) -> usize {
        self.nodes.iter().map(|node| node.rank + 1).max().unwrap_or(0)
    }

    /// Returns for each node the lines that begin there, from top to bottom.
    pub(super) fn leaving(&self) -> Vec<Vec<usize>> {
        let mut all = vec![Vec::new(); self.nodes.len()];
        for (index, link) in self.links.iter().enumerate() {
            all[link.from].push(index);
        }
        for links in &mut all {
            links.sort_by(|a: &usize, b: &usize| self.links[*a].port.total_cmp(&self.links[*b].port));
        }
        all
    }

    /// Returns for each node the lines that end there.
    pub(super) fn arriving(&self) -> Vec<Vec<usize>> {
        let mut all = vec![Vec::new(); self.nodes.len()];
        for (index, link) in self.links.iter().enumerate() {
            all[link.to].push(index);
        }
        all
    }
}

/// Returns the column of each step: the length of the longest way to it.
fn ranks(tree: &Tree) -> Vec<usize> {
    let next = |step: usize| {
        tree.steps[step].ways().filter_map(|then| match then {
            Then::Step(to) => Some(*to),
            _ => None,
        })
    };
    let count = tree.steps.len();
    let (mut ranks, mut before) = (vec![0; count], vec![0_usize; count]);
    (0..count).flat_map(next).for_each(|to| before[to] += 1);
    let mut ready: Vec<usize> = (0..count).filter(|step| before[*step] == 0).collect();
    while let Some(step) = ready.pop() {
        for to in next(step) {
            ranks[to] = ranks[to].max(ranks[step] + 1);
            before[to] -= 1;
            if before[to] == 0 {
                ready.push(to);
            }
        }
    }
    ranks
}
