//! From columns to places: every node as near to where its lines lead as the others in its column let it.

use super::graph::{Graph, What};

/// Room between two boxes of a column.
const BETWEEN: f64 = 30.0;
/// Room between two columns: at least, more for every line between them, and at most.
const GAP: (f32, f32, f32) = (90.0, 2.0, 220.0);
/// How often nodes are moved towards those before them; towards those behind them once less.
const ROUNDS: usize = 3;

/// Gives every node its place; the upper left corner of the whole is at `corner`. Returns the lower right corner.
pub(super) fn place(graph: &mut Graph, columns: &[Vec<usize>], corner: (f32, f32)) -> (f32, f32) {
    let right = set_columns(graph, columns, corner.0);
    let mut placer = Placer { tops: stacked(graph, columns), columns, graph };
    placer.settle();
    let tops = placer.tops;
    let least = tops.iter().copied().fold(f64::INFINITY, f64::min);
    let mut bottom = corner.1;
    for (node, top) in graph.nodes.iter_mut().zip(tops) {
        node.at.1 = (top - least) as f32 + corner.1;
        bottom = bottom.max(node.at.1 + node.high);
    }
    (right, bottom)
}

/// Puts the columns side by side and lets lines pass them in their full width.
fn set_columns(graph: &mut Graph, columns: &[Vec<usize>], left: f32) -> f32 {
    let mut lines = vec![0_usize; columns.len()];
    for link in &graph.links {
        lines[graph.nodes[link.from].rank] += 1;
    }
    let (mut x, mut right) = (left, left);
    for (column, lines) in columns.iter().zip(lines) {
        let wide = column.iter().map(|node| graph.nodes[*node].wide).fold(0.0, f32::max);
        for node in column {
            let node = &mut graph.nodes[*node];
            node.at.0 = x;
            if node.what == What::Bend {
                node.wide = wide;
            }
        }
        right = x + wide;
        x = right + (GAP.0 + GAP.1 * lines as f32).min(GAP.2);
    }
    right
}

/// Returns the tops of the nodes, one below the other in each column.
fn stacked(graph: &Graph, columns: &[Vec<usize>]) -> Vec<f64> {
    let mut tops = vec![0.0; graph.nodes.len()];
    for column in columns {
        let mut top = 0.0;
        for node in column {
            tops[*node] = top;
            top += f64::from(graph.nodes[*node].high) + BETWEEN;
        }
    }
    tops
}

struct Placer<'a> {
    graph: &'a Graph,
    columns: &'a [Vec<usize>],
    tops: Vec<f64>,
}

impl Placer<'_> {
    fn settle(&mut self) {
        let (leaving, arriving) = (self.graph.leaving(), self.graph.arriving());
        for round in 0..ROUNDS {
            if round > 0 {
                (0..self.columns.len()).rev().for_each(|rank| self.column(rank, &leaving, false));
            }
            (0..self.columns.len()).for_each(|rank| self.column(rank, &arriving, true));
        }
    }

    /// Moves the nodes of a column towards where their lines come from or lead to.
    fn column(&mut self, rank: usize, links: &[Vec<usize>], forward: bool) {
        let column = &self.columns[rank];
        let wished: Vec<f64> = column.iter().map(|node| self.wished(*node, &links[*node], forward)).collect();
        let heights: Vec<f64> = column.iter().map(|node| f64::from(self.graph.nodes[*node].high)).collect();
        for (node, top) in column.iter().zip(settled(&wished, &heights)) {
            self.tops[*node] = top;
        }
    }

    fn wished(&self, node: usize, links: &[usize], forward: bool) -> f64 {
        let nodes = &self.graph.nodes;
        let wish = |link: &usize| {
            let link = &self.graph.links[*link];
            let down = f64::from(nodes[link.to].entry() - link.port);
            if forward { self.tops[link.from] - down } else { self.tops[link.to] + down }
        };
        if links.is_empty() {
            return self.tops[node];
        }
        links.iter().map(wish).sum::<f64>() / links.len() as f64
    }
}

/// Returns tops in this order, with room between, whose squared distances from the wished ones are least:
/// neighbours that would touch are moved as one.
fn settled(wished: &[f64], heights: &[f64]) -> Vec<f64> {
    let mut offsets = Vec::with_capacity(wished.len());
    let mut offset = 0.0;
    for height in heights {
        offsets.push(offset);
        offset += height + BETWEEN;
    }
    let mut groups: Vec<(f64, usize)> = Vec::new();
    for (wish, offset) in wished.iter().zip(&offsets) {
        let mut group = (wish - offset, 1);
        while let Some(&(mean, count)) = groups.last().filter(|last| last.0 > group.0) {
            groups.pop();
            let all = count + group.1;
            group = ((mean * count as f64 + group.0 * group.1 as f64) / all as f64, all);
        }
        groups.push(group);
    }
    let shifts = groups.iter().flat_map(|(mean, count)| std::iter::repeat_n(*mean, *count));
    shifts.zip(offsets).map(|(shift, offset)| shift + offset).collect()
}

#[cfg(test)]
mod tests {
    use super::{BETWEEN, settled};
    use proptest::prelude::{prop_assert, proptest};

    // By hand: two boxes of height 10 that wish for the same place share the way they must give.
    #[test]
    fn neighbours_give_way_by_the_same() {
        let half = (10.0 + BETWEEN) / 2.0;
        assert_eq!(settled(&[100.0, 100.0], &[10.0, 10.0]), [100.0 - half, 100.0 + half]);
        assert_eq!(settled(&[0.0, 500.0], &[10.0, 10.0]), [0.0, 500.0]);
    }

    proptest! {
        #[test]
        fn nothing_touches_and_nothing_could_stand_better(
            wished in proptest::collection::vec(0.0_f64..1000.0, 1..20),
            nudge in -5.0_f64..5.0,
        ) {
            let heights = vec![20.0; wished.len()];
            let tops = settled(&wished, &heights);
            prop_assert!(tops.windows(2).all(|pair| pair[1] - pair[0] > 20.0 + BETWEEN - 1e-6));
            let cost = |tops: &[f64]| tops.iter().zip(&wished).map(|(a, b)| (a - b).powi(2)).sum::<f64>();
            for split in 0..tops.len() {
                let (mut upper, mut lower) = (tops.clone(), tops.clone());
                upper[..=split].iter_mut().for_each(|top| *top -= nudge.abs());
                lower[split..].iter_mut().for_each(|top| *top += nudge.abs());
                prop_assert!(cost(&upper) > cost(&tops) - 1e-6);
                prop_assert!(cost(&lower) > cost(&tops) - 1e-6);
            }
        }
    }
}
