//! The order within the columns: few crossings, by sweeps that put each node at the mean of its neighbours.

use super::graph::Graph;

/// How often the columns are swept, there and back counted as two.
const SWEEPS: usize = 6;

/// Returns the nodes of each column from top to bottom.
pub(super) fn ordered(graph: &Graph, start: usize) -> Vec<Vec<usize>> {
    let sweeper = Sweeper { graph, leaving: graph.leaving(), arriving: graph.arriving() };
    let mut columns = sweeper.first(start);
    let (mut best, mut fewest) = (columns.clone(), sweeper.crossings(&columns));
    for sweep in 0..SWEEPS {
        if fewest == 0 {
            break;
        }
        sweeper.sweep(&mut columns, sweep % 2 == 0);
        let crossings = sweeper.crossings(&columns);
        if crossings < fewest {
            (best, fewest) = (columns.clone(), crossings);
        }
    }
    best
}

struct Sweeper<'a> {
    graph: &'a Graph,
    leaving: Vec<Vec<usize>>,
    arriving: Vec<Vec<usize>>,
}

impl Sweeper<'_> {
    /// Returns the nodes in the order in which the ways lead to them, the upper way first.
    fn first(&self, start: usize) -> Vec<Vec<usize>> {
        let count = self.graph.nodes.len();
        let (mut columns, mut seen) = (vec![Vec::new(); self.graph.columns()], vec![false; count]);
        let mut open: Vec<usize> = (0..count).rev().chain([start.min(count.saturating_sub(1))]).collect();
        while let Some(node) = open.pop() {
            if count == 0 || std::mem::replace(&mut seen[node], true) {
                continue;
            }
            columns[self.graph.nodes[node].rank].push(node);
            open.extend(self.leaving[node].iter().rev().map(|link| self.graph.links[*link].to));
        }
        columns
    }

    fn sweep(&self, columns: &mut [Vec<usize>], forward: bool) {
        let mut places = self.places(columns);
        let count = columns.len();
        for step in 1..count {
            let rank = if forward { step } else { count - 1 - step };
            let mut keyed: Vec<(f64, usize)> =
                columns[rank].iter().map(|node| (self.mean(*node, &places, forward), *node)).collect();
            keyed.sort_by(|a, b| a.0.total_cmp(&b.0));
            columns[rank] = keyed.into_iter().map(|(_, node)| node).collect();
            for (place, node) in columns[rank].iter().enumerate() {
                places[*node] = place as f64;
            }
        }
    }

    /// Returns the mean place of a node's neighbours on one side; its own place when it has none.
    fn mean(&self, node: usize, places: &[f64], forward: bool) -> f64 {
        let links = if forward { &self.arriving[node] } else { &self.leaving[node] };
        let place = |link: &usize| {
            let link = &self.graph.links[*link];
            if forward { places[link.from] + self.share(link.from, link.port) } else { places[link.to] }
        };
        if links.is_empty() {
            return places[node];
        }
        links.iter().map(place).sum::<f64>() / links.len() as f64
    }

    /// Returns how far down a node a line leaves it, as a share of its height.
    fn share(&self, node: usize, port: f32) -> f64 {
        f64::from(port / self.graph.nodes[node].high.max(1.0)).clamp(0.0, 0.99)
    }

    fn places(&self, columns: &[Vec<usize>]) -> Vec<f64> {
        let mut places = vec![0.0; self.graph.nodes.len()];
        for column in columns {
            for (place, node) in column.iter().enumerate() {
                places[*node] = place as f64;
            }
        }
        places
    }

    /// Returns how many pairs of lines between neighbouring columns cross.
    fn crossings(&self, columns: &[Vec<usize>]) -> usize {
        let places = self.places(columns);
        let mut gaps: Vec<Vec<(f64, usize)>> = vec![Vec::new(); columns.len()];
        for link in &self.graph.links {
            let (from, to) = (&self.graph.nodes[link.from], &self.graph.nodes[link.to]);
            if to.rank == from.rank + 1 {
                let leaves = places[link.from] + self.share(link.from, link.port);
                gaps[from.rank].push((leaves, places[link.to] as usize));
            }
        }
        gaps.iter_mut().map(|gap| inversions(gap)).sum()
    }
}

/// Returns how many pairs of lines, given by where they leave and where they arrive, cross.
fn inversions(lines: &mut [(f64, usize)]) -> usize {
    lines.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let most = lines.iter().map(|(_, to)| to + 1).max().unwrap_or(0);
    let mut counts = vec![0_usize; most + 1];
    let mut crossed = 0;
    for (before, (_, to)) in lines.iter().enumerate() {
        let mut index = to + 1;
        let mut above = 0;
        while index > 0 {
            above += counts[index];
            index &= index - 1;
        }
        crossed += before - above;
        index = to + 1;
        while index <= most {
            counts[index] += 1;
            index += index & index.wrapping_neg();
        }
    }
    crossed
}

#[cfg(test)]
mod tests {
    use super::inversions;
    use proptest::prelude::{prop_assert_eq, proptest};

    proptest! {
        #[test]
        fn crossings_are_the_pairs_that_change_sides(ends in proptest::collection::vec(0_usize..9, 0..40)) {
            let mut lines: Vec<(f64, usize)> =
                ends.iter().enumerate().map(|(index, to)| (index as f64, *to)).collect();
            let pairs = (0..ends.len()).flat_map(|a| (a + 1..ends.len()).map(move |b| (a, b)));
            let crossed = pairs.filter(|(a, b)| ends[*a] > ends[*b]).count();
            prop_assert_eq!(inversions(&mut lines), crossed);
        }
    }
}
